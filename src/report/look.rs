//! For people who change the look: writes the synthetic report to a folder.

use super::{files, synthetic};

#[test]
#[ignore = "writes files to look at: cargo test --lib report::look -- --ignored"]
fn writes_the_synthetic_report() {
    let folder = std::env::temp_dir().join("reefwright-look");
    std::fs::create_dir_all(folder.join("figures")).unwrap();
    let files = files(&synthetic::report()).unwrap();
    assert!(files.len() > 20);
    for (name, bytes) in files {
        std::fs::write(folder.join(name), bytes).unwrap();
    }
}
