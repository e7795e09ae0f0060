//! For people who change the look: writes the synthetic report to a folder.

use super::{figures, png, synthetic};

#[test]
#[ignore = "writes files to look at: cargo test --lib report::look -- --ignored"]
fn writes_the_synthetic_report() {
    let folder = std::env::temp_dir().join("reefwright-look");
    std::fs::create_dir_all(&folder).unwrap();
    for figure in figures::figures(&synthetic::report()) {
        std::fs::write(folder.join(format!("{}.png", figure.name)), png::png(&figure.svg).unwrap()).unwrap();
        std::fs::write(folder.join(format!("{}.svg", figure.name)), &figure.svg).unwrap();
    }
}
