//! Writes `examples/pilot_colonies.csv`: belts of 10 x 1 m read on ten sites of a virtual fore reef, every colony of which any part
//! lies in the belt and that is at least 4 cm long written to the centimetre. Invented: nobody has dived there.
//!
//! `cargo run --release --example draw_colonies -- examples`

use reefwright::random::{Key, Purpose};
use reefwright::reef::{CoralReef, NamedReef, SiteReef, Visit, Walk};
use reefwright::survey::coral_belt::{BeltFrame, BeltReader, CoralBelt, Detection, EdgeRule};
use reefwright::theory::{CoralAsked, Kernels, Shape, calibrate};

const SITES: [&str; 10] = [
    "Anvil Rock",
    "Basalt Arch",
    "Cinder Wall",
    "Drift Corner",
    "Ember Point",
    "Fathom Step",
    "Gannet Ledge",
    "Hollow Bank",
    "Iron Shelf",
    "Jetty Slope",
];
const BELTS: u64 = 2;
const SITE_M: (f64, f64) = (100.0, 20.0);
const BELT_M: (f64, f64) = (10.0, 1.0);

fn main() -> std::io::Result<()> {
    let spec = NamedReef::ForeReef.spec();
    let largest_m = spec.sizes.max_m;
    let shape = Shape::new(&spec, &Kernels::of_cells(&spec));
    let asked = CoralAsked {
        spec,
        cover: 0.12,
        between_sites_sd: 0.04,
        site_year_sd: 0.0,
        site: SITE_M,
        field_memory: 1.0,
        yearly_memory: 1.0,
        same_colonies: 1.0,
        changes: vec![],
    };
    let law = calibrate(&asked, &shape).expect("a fore reef can have this cover and spread").law;
    let reef = CoralReef::new(law, |_| 0.0);
    let belt = CoralBelt { edge: EdgeRule::AnyPartIn, detection: Detection::From { least_m: 0.04 }, ruler_m: 0.01 };
    let margin_m = belt.edge.margin_m(largest_m);
    let (mut walk, mut reader) = (Walk::default(), BeltReader::default());
    let mut text = String::from("site,belt,length_cm,width_cm,recent,old\n");
    for (number, name) in SITES.iter().enumerate() {
        let key = Key::seed(2031).child(Purpose::Site, number as u64);
        let mut site = SiteReef::new(&reef, key);
        for unit in 0..BELTS {
            let uniform = |k| key.uniform(Purpose::Placement, 2 * unit + k);
            let start = (uniform(0) * (SITE_M.0 - BELT_M.0), 0.5 * BELT_M.1 + uniform(1) * (SITE_M.1 - BELT_M.1));
            let line = site.frame_line((start.0 - margin_m, start.1), (1.0, 0.0), BELT_M.0 + 2.0 * margin_m);
            walk.read(&mut site, &line, (0.5 * BELT_M.1 + margin_m) as f32, Visit::First);
            let frame = BeltFrame { from_m: margin_m as f32, length_m: BELT_M.0 as f32, width_m: BELT_M.1 as f32 };
            reader.read(&belt, &frame, &walk.colonies, Visit::First);
            let written = &reader.written;
            for at in 0..written.len() {
                let percent = |share: f32| (100.0 * share).round();
                text += &format!(
                    "{name},{},{:.0},{:.0},{},{}\n",
                    unit + 1,
                    100.0 * written.longest_m[at],
                    (100.0 * written.across_m[at]).max(1.0),
                    percent(written.dead[at].recent),
                    percent(written.dead[at].old)
                );
            }
        }
    }
    let folder = std::env::args().nth(1).unwrap_or_else(|| "examples".to_owned());
    std::fs::write(std::path::Path::new(&folder).join("pilot_colonies.csv"), text)
}
