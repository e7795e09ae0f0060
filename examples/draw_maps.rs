//! Draws the two maps of the examples: a mosaic of kinds of bottom (PNG) and a list of colonies and urchins (CSV), both of
//! an invented terrace, as if somebody had mapped a virtual site.
//!
//! `cargo run --release --example draw_maps -- examples`

use reefwright::engine::Plan;
use reefwright::planner::{ReefPicture, UnitsDrawn, picture};
use reefwright::scenario::load_text;
use reefwright::theory::ReefTheory;
use std::io::Write;
use std::path::PathBuf;

const TERRACE: &str = r#"
statement_about = "all_such_reefs"
[[zone]]
sites = 8
reef = "patchy_fore_reef"
length_m = 40
width_m = 16
cover_percent = 22
[[zone.category]]
name = "sand"
cover_percent = 18
patch_m = 1.2
[[zone.category]]
name = "macroalgae"
cover_percent = 14
patch_m = 0.5
[[zone.category]]
name = "turf"
cover_percent = 46
patch_m = 0.4
[[zone.animal]]
name = "slate_urchin"
density_per_100_m2 = 25
group_size = 4
[[method.invertebrate_belt]]
"#;

fn main() {
    let folder = PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| "examples".into()));
    let study = load_text("terrace.toml", TERRACE).expect("a scenario").study;
    let theory = ReefTheory::new(&study, &study.zones[0]).expect("a reef");
    let plan = Plan::new(study, vec![theory]);
    let site = picture(&plan, 0, 11, UnitsDrawn::OfEach(0));
    write_mosaic(&site, &folder.join("terrace_mosaic.png"));
    write_list(&site, &folder.join("terrace_colonies.csv"));
}

/// Hard coral, then the categories in the order of the scenario.
const COLOURS: [[u8; 3]; 4] = [[0xB8, 0x4A, 0x2B], [0xF5, 0xEB, 0xD3], [0x6E, 0x8B, 0x3D], [0x9F, 0xB8, 0x94]];

fn write_mosaic(site: &ReefPicture, path: &std::path::Path) {
    let rows = site.grid.len() / site.grid_columns;
    let mut pixels = Vec::with_capacity(site.grid.len());
    for row in (0..rows).rev() {
        for column in 0..site.grid_columns {
            let (x, y) = ((column as f64 + 0.5) * site.grid_m, (row as f64 + 0.5) * site.grid_m);
            let is_over = |disc: &reefwright::planner::PictureColony| {
                (f64::from(disc.x) - x).hypot(f64::from(disc.y) - y) < f64::from(disc.radius)
            };
            let covered = site.colonies.iter().any(is_over);
            pixels.push(if covered { 0 } else { 1 + site.grid[row * site.grid_columns + column] });
        }
    }
    let file = std::fs::File::create(path).expect("a file");
    let mut encoder = png::Encoder::new(std::io::BufWriter::new(file), site.grid_columns as u32, rows as u32);
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(COLOURS.concat());
    encoder.set_compression(png::Compression::High);
    encoder.write_header().and_then(|mut writer| writer.write_image_data(&pixels)).expect("a picture");
}

/// The corner of the terrace whose colonies were mapped, m, and the smallest of them, m across.
const CORNER: (f64, f64) = (24.0, 12.0);
const SMALLEST: f32 = 0.08;

fn write_list(site: &ReefPicture, path: &std::path::Path) {
    let mut file = std::fs::File::create(path).expect("a file");
    let mut line = |text: String| writeln!(file, "{text}").expect("a line");
    line("x,y,diameter,name".into());
    let inside = |x: f32, y: f32| (0.0..CORNER.0).contains(&f64::from(x)) && (0.0..CORNER.1).contains(&f64::from(y));
    for disc in
        site.colonies.iter().filter(|disc| !disc.is_covered && 2.0 * disc.radius >= SMALLEST && inside(disc.x, disc.y))
    {
        line(format!("{:.2},{:.2},{:.2},", disc.x, disc.y, 2.0 * disc.radius));
    }
    for kind in &site.animals {
        for place in kind.places.iter().filter(|place| inside(place.x, place.y)) {
            line(format!("{:.2},{:.2},,{}", place.x, place.y, kind.name));
        }
    }
}
