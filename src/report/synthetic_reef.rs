//! The pictures and sizes of colonies of the invented reports.

use crate::planner::{ClassShare, ColonySizes, Fate, PictureColony, PictureSet, PictureUnit, ReefPicture, SizeClass};
use crate::random::{Key, Purpose};
use crate::survey::Dimensions;

/// A site with clumps of discs: denser where a slow wave is high.
pub(super) fn picture(zone: &str, colonies: usize) -> ReefPicture {
    let key = Key::seed(zone.len() as u64);
    let draw = |index: usize, part: u64| key.uniform(Purpose::Test, 8 * index as u64 + part);
    let mut discs = Vec::new();
    for index in 0..3 * colonies {
        let (x, y) = (100.0 * draw(index, 0), 20.0 * draw(index, 1));
        let wave = (x * 1.3).sin() * (y * 1.1 + x * 0.31).cos() + 0.6 * (x * 0.11).sin();
        if draw(index, 2) < 0.33 * (1.0 + 0.9 * wave) {
            let diameter = (0.10 * (1.5 * (draw(index, 3) + draw(index, 4) + draw(index, 5) - 1.5)).exp()).min(0.8);
            let is_covered = draw(index, 6) < 0.2;
            discs.push(PictureColony {
                x: x as f32,
                y: y as f32,
                radius: diameter as f32 / 2.0,
                is_covered,
                fate: Fate::There,
                id: index as u64,
            });
        }
    }
    let columns = 400;
    let grid = (0..80 * columns)
        .map(|cell| {
            let (x, y) = ((cell % columns) as f64 * 0.25, (cell / columns) as f64 * 0.25);
            let first = (x * 0.9 + (y * 0.8).sin()).sin() + (y * 0.7 + (x * 0.4).cos()).sin();
            let second = (x * 0.35 - y * 0.5).cos() + (y * 1.9 + x * 1.7).sin() * 0.5;
            match (first > 0.5, second > 0.6, first + second < -1.4) {
                (_, _, true) => 2,
                (true, true, _) => 1,
                (true, false, _) => 3,
                (false, true, _) => 4,
                _ => 0,
            }
        })
        .collect();
    let unit = |number: usize, x: f64, y: f64, width_m: f64| PictureUnit {
        on: None,
        set: 0,
        frames: vec![],
        from: (x, y),
        to: (x + 10.0, y),
        width_m,
        label: if width_m > 0.0 { format!("belt {number}") } else { format!("line {number}") },
    };
    ReefPicture {
        zone: zone.into(),
        length_m: 100.0,
        width_m: 20.0,
        colonies: discs,
        grid_m: 0.25,
        grid_columns: columns,
        grid,
        second: None,
        is_a_map: false,
        legend: Vec::new(),
        categories: ["turf", "macroalgae", "sand", "coralline crust", "rubble"].map(String::from).to_vec(),
        units: vec![
            unit(1, 6.2, 14.3, 0.0),
            unit(2, 21.0, 5.1, 0.0),
            unit(3, 38.5, 16.9, 0.0),
            unit(4, 44.0, 15.8, 0.0),
            unit(5, 60.4, 9.7, 0.0),
            unit(6, 84.1, 3.3, 0.0),
        ],
        caption: "On these six lines 174 of 600 points lie on coral (29 %).".into(),
        assumed: String::new(),
        sets: vec![PictureSet {
            on: None,
            methods: vec![("point_intercept".into(), Dimensions::PointIntercept { length_m: 10.0, spacing_m: 0.1 })],
        }],
        animals: vec![],
        recruits: vec![],
        fish: vec![],
    }
}

/// Shares of a law of sizes, as belts that miss the smallest see them.
pub(super) fn sizes(zone: &str) -> ColonySizes {
    let limits = [0.01, 0.02, 0.05, 0.1, 0.2, 0.4, 0.8];
    let shares = [0.02, 0.16, 0.32, 0.32, 0.15, 0.03];
    let classes = limits.windows(2).zip(shares).map(|(pair, truth)| SizeClass {
        from_m: pair[0],
        to_m: pair[1],
        before: ClassShare {
            truth,
            written: if pair[0] < 0.02 { 0.0 } else { truth / 0.98 },
            error: (truth * (1.0 - truth) / 600.0f64).sqrt(),
        },
        after: None,
    });
    ColonySizes {
        zone: zone.into(),
        dimensions: Dimensions::CoralBelt { length_m: 10.0, width_m: 1.0 },
        units: 6,
        change: None,
        classes: classes.collect(),
    }
}
