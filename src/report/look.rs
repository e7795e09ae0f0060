//! For people who change the look: writes synthetic reports to folders.

use super::{Report, files, synthetic};

fn write(name: &str, report: &Report) -> usize {
    let folder = std::env::temp_dir().join("reefwright-look").join(name);
    std::fs::create_dir_all(folder.join("figures")).unwrap();
    let files = files(report).unwrap();
    for (name, bytes) in &files {
        std::fs::write(folder.join(name), bytes).unwrap();
    }
    files.len()
}

#[test]
#[ignore = "writes files to look at: cargo test --lib report::look -- --ignored"]
fn writes_the_synthetic_reports() {
    assert!(write("usual", &synthetic::report()) > 20);
    assert!(write("crowded", &synthetic::crowded_report()) > 10);
    assert!(write("single", &synthetic::single_row_report()) >= 5);
}
