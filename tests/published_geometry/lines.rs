//! Rows 1-24, 113-117, 131, 135, 136 and the 162 variances of one line: a thresholded Gaussian field.

use crate::double::{Field, Place, covariance_agrees, distance, grid, line, share_above, variance_agrees};
use crate::{nearly, printed};
use reefwright::random::{Key, Purpose, stream};
use reefwright::theory::pairs::{Unit, covariance_of_two_units};
use reefwright::theory::placement::{
    variance_of_intercept, variance_of_points, variance_of_random_points, variance_of_rectangle,
    variance_of_stratified_points,
};
use reefwright::theory::smooth::{exponential, matern_three_halves};
use reefwright::theory::threshold::{covariance, covariance_of_two, threshold_of};

type Correlation = fn(f64, f64) -> f64;

/// A thresholded field: correlation, scale, cover.
#[derive(Clone, Copy)]
struct Cover(Correlation, f64, f64);

impl Cover {
    fn at(self, h: f64) -> f64 {
        covariance(self.2, self.0(h, self.1))
    }

    fn rho(self, h: f64) -> f64 {
        self.0(h, self.1)
    }

    fn at_zero(self) -> f64 {
        self.2 * (1.0 - self.2)
    }

    fn points(self, number: usize, spacing: f64) -> f64 {
        variance_of_points(self.at_zero(), number, spacing, |h| self.at(h))
    }

    /// Means of the indicator over the places, one per realisation.
    fn simulated(self, places: &[Place], seed: u64, trials: usize) -> Vec<f64> {
        let field = Field::new(places, |h| self.rho(h));
        let mut random = stream(Key::seed(seed));
        let threshold = threshold_of(self.2);
        (0..trials).map(|_| share_above(&field.draw(&mut random), threshold)).collect()
    }
}

#[test]
fn covariance_of_two_indicators() {
    printed(1, covariance(0.05, 0.5), "0.0096894288");
    printed(2, covariance(0.2, 0.9), "0.10993244");
    printed(3, covariance(0.4, 0.3), "0.045849272");
    printed(4, covariance(0.5, 0.5), "0.083333333");
    let rhos = [0.1, 0.3, 0.5, 0.7, 0.9, 0.99];
    let tables = [
        (0.05, [".0012128", ".0046346", ".0096894", ".0170993", ".0293678", ".0416895"]),
        (0.2, [".0081178", ".0261457", ".0471506", ".0729018", ".1099324", ".1442010"]),
        (0.4, [".0149962", ".0458493", ".0791272", ".1176275", ".1705226", ".2181859"]),
    ];
    for (cover, values) in tables {
        for (rho, value) in rhos.into_iter().zip(values) {
            printed(1, covariance(cover, rho), value);
        }
    }
}

#[test]
fn indicators_by_simulation() {
    for (row, cover, rho) in [(1, 0.05, 0.5), (2, 0.2, 0.9), (3, 0.4, 0.3)] {
        let field = Field::new(&[(0.0, 0.0), (1.0, 0.0)], |h| if h == 0.0 { 1.0 } else { rho });
        let mut random = stream(Key::seed(1000 + row as u64));
        let threshold = threshold_of(cover);
        let pairs: Vec<(f64, f64)> = (0..200_000)
            .map(|_| {
                let z = field.draw(&mut random);
                (f64::from(z[0] > threshold), f64::from(z[1] > threshold))
            })
            .collect();
        covariance_agrees(row, &pairs, covariance(cover, rho));
    }
}

/// Row, field, points, spacing, printed variance, trials of the twin.
const POINTS: [(u32, Cover, usize, f64, &str); 8] = [
    (5, Cover(exponential, 0.5, 0.2), 100, 0.1, "0.0096994798"),
    (6, Cover(exponential, 2.0, 0.2), 20, 0.5, "0.034158037"),
    (7, Cover(exponential, 2.0, 0.05), 40, 0.5, "0.0042082766"),
    (8, Cover(exponential, 5.0, 0.4), 50, 1.0, "0.030657276"),
    (9, Cover(matern_three_halves, 0.5, 0.4), 20, 0.5, "0.021683197"),
    (10, Cover(matern_three_halves, 2.0, 0.2), 40, 0.5, "0.023271651"),
    (11, Cover(matern_three_halves, 5.0, 0.05), 50, 1.0, "0.0055582575"),
    (12, Cover(matern_three_halves, 2.0, 0.4), 100, 0.1, "0.068194955"),
];

#[test]
fn lines_of_points() {
    for (row, cover, number, spacing, value) in POINTS {
        let exact = cover.points(number, spacing);
        printed(row, exact, value);
        let trials = 2_000_000 / (number * number).max(400);
        variance_agrees(row, &cover.simulated(&line(number, spacing, 0.0), 1000 + row as u64, trials), exact);
    }
}

#[test]
fn whole_lines() {
    let rows = [
        (13, Cover(exponential, 2.0, 0.2), "0.032471523"),
        (14, Cover(matern_three_halves, 2.0, 0.2), "0.042423389"),
        (15, Cover(matern_three_halves, 0.5, 0.4), "0.019422109"),
    ];
    for (row, cover, value) in rows {
        printed(row, variance_of_intercept(10.0, |h| cover.at(h)), value);
    }
    // Row 16: the integral scale of an exponential field at a cover of one half is ln 2 of its scale. A line of length L
    // has the variance p (1 - p) 2 l / L (1 - of order a / L).
    let half = Cover(exponential, 1.0, 0.5);
    let of_length = |length: f64| variance_of_intercept(length, |h| half.at(h)) * length / 0.5;
    // Two lengths take the term in 1 / L away.
    nearly(16, 2.0 * of_length(200.0) - of_length(100.0), std::f64::consts::LN_2, 1e-6);
}

#[test]
fn areas() {
    let grids = [
        (17, Cover(exponential, 2.0, 0.2), (20, 20), (1.0, 1.0), "0.08703165"),
        (18, Cover(matern_three_halves, 0.5, 0.2), (20, 20), (1.0, 1.0), "0.051653017"),
        (19, Cover(matern_three_halves, 2.0, 0.4), (60, 6), (10.0, 1.0), "0.064490808"),
        (20, Cover(exponential, 0.5, 0.05), (60, 6), (10.0, 1.0), "0.0012906282"),
    ];
    for (row, cover, (columns, rows), size, value) in grids {
        let places = grid(columns, rows, size, (0.0, 0.0));
        let pairs = places.iter().flat_map(|&a| places.iter().map(move |&b| cover.at(distance(a, b))));
        let exact = pairs.sum::<f64>() / (places.len() * places.len()) as f64;
        printed(row, exact, value);
        variance_agrees(row, &cover.simulated(&places, 1000 + row as u64, 1_200), exact);
    }
    let rectangles = [
        (17, Cover(exponential, 2.0, 0.2), (1.0, 1.0), "0.0869617"),
        (18, Cover(matern_three_halves, 0.5, 0.2), (1.0, 1.0), "0.0515821"),
        (20, Cover(exponential, 0.5, 0.05), (10.0, 1.0), "0.00123555"),
        (21, Cover(matern_three_halves, 2.0, 0.4), (10.0, 1.0), "0.064394089"),
        (22, Cover(exponential, 2.0, 0.2), (1.0, 1.0), "0.086961668"),
        (23, Cover(exponential, 2.0, 0.2), (30.0, 2.0), "0.010369315"),
        (24, Cover(exponential, 2.0, 0.2), (0.25, 0.25), "0.1216571"),
    ];
    for (row, cover, (length, width), value) in rectangles {
        printed(row, variance_of_rectangle(length, width, |h| cover.at(h)), value);
    }
}

/// Two readings of one line, thresholds of two covers on one field, the second displaced.
fn two_visits(row: u32, cover: Cover, later: f64, (number, spacing): (usize, f64), moved: Place) -> f64 {
    let first = line(number, spacing, 0.0);
    let second: Vec<Place> = first.iter().map(|place| (place.0 + moved.0, place.1 + moved.1)).collect();
    let pairs = first.iter().flat_map(|&a| second.iter().map(move |&b| distance(a, b)));
    let exact = pairs.map(|h| covariance_of_two(cover.2, later, cover.rho(h))).sum::<f64>() / (number * number) as f64;
    let places = if moved == (0.0, 0.0) { first } else { [first, second].concat() };
    let field = Field::new(&places, |h| cover.rho(h));
    let mut random = stream(Key::seed(1000 + row as u64));
    let pairs: Vec<(f64, f64)> = (0..2_000_000 / (places.len() * places.len()).max(400))
        .map(|_| {
            let z = field.draw(&mut random);
            (share_above(&z[..number], threshold_of(cover.2)), share_above(&z[z.len() - number..], threshold_of(later)))
        })
        .collect();
    covariance_agrees(row, &pairs, exact);
    exact
}

#[test]
fn lines_on_the_same_marks_after_a_loss() {
    let rows = [
        (113, Cover(exponential, 2.0, 0.3), 0.21, (100, 0.1), (0.0, 0.0), "0.038227333"),
        (114, Cover(matern_three_halves, 2.0, 0.3), 0.21, (20, 0.5), (0.0, 0.0), "0.048132089"),
        (115, Cover(exponential, 0.5, 0.2), 0.1, (40, 0.5), (0.0, 0.0), "0.0035774714"),
        (135, Cover(exponential, 2.0, 0.3), 0.21, (20, 0.5), (0.3, 0.0), "0.037888443"),
        (136, Cover(exponential, 2.0, 0.3), 0.21, (20, 0.5), (0.0, 0.3), "0.036264351"),
    ];
    for (row, cover, later, points, moved, value) in rows {
        let exact = two_visits(row, cover, later, points, moved);
        printed(row, exact, value);
        if moved == (0.0, 0.0) {
            let at_zero = covariance_of_two(cover.2, later, 1.0);
            let sum =
                variance_of_points(at_zero, points.0, points.1, |h| covariance_of_two(cover.2, later, cover.rho(h)));
            nearly(row, sum, exact, 1e-12);
        }
    }
}

#[test]
fn correlation_of_lines_on_the_same_marks() {
    // Computed: exponential of scale 2, .3 to .21, 10 m at .1 m: .9688 with the whole memory of the field, .7348 with .8.
    let rows = [
        (113, Cover(exponential, 2.0, 0.3), 0.21, (100, 0.1), "0.9688", "0.7348"),
        (114, Cover(matern_three_halves, 2.0, 0.3), 0.21, (20, 0.5), "0.9376", "0.6959"),
        (115, Cover(exponential, 0.5, 0.2), 0.1, (40, 0.5), "0.7759", "0.5886"),
    ];
    for (row, cover, later, (number, spacing), whole, faded) in rows {
        let spread = (cover.points(number, spacing) * Cover(cover.0, cover.1, later).points(number, spacing)).sqrt();
        for (memory, value) in [(1.0, whole), (0.8, faded)] {
            let c = |h| covariance_of_two(cover.2, later, memory * cover.rho(h));
            printed(row, variance_of_points(c(0.0), number, spacing, c) / spread, value);
        }
    }
}

#[test]
fn points_in_a_quadrat() {
    let photo = Cover(exponential, 2.0, 0.2);
    let random_points = variance_of_random_points(photo.at_zero(), 25, (1.0, 1.0), |h| photo.at(h));
    printed(116, random_points, "0.089883201");
    let strata = Cover(exponential, 0.5, 0.2);
    let stratified = variance_of_stratified_points(strata.at_zero(), (5, 5), (1.0, 1.0), |h| strata.at(h));
    printed(131, stratified, "0.040474379");
    for (row, cover, exact, cells) in [(116, photo, random_points, 1), (131, strata, stratified, 5)] {
        let key = Key::seed(1000 + row as u64);
        let means: Vec<f64> = (0..8_000)
            .map(|trial| {
                let trial = key.child(Purpose::Trial, trial);
                let place = |i: u64| {
                    let (column, line) = ((i % cells) as f64, (i / cells % cells) as f64);
                    let within = |k| trial.uniform(Purpose::PhotoPoint, 2 * i + k);
                    ((column + within(0)) / cells as f64, (line + within(1)) / cells as f64)
                };
                let places: Vec<Place> = (0..25).map(place).collect();
                let field = Field::new(&places, |h| cover.rho(h));
                share_above(&field.draw(&mut stream(trial)), threshold_of(cover.2))
            })
            .collect();
        variance_agrees(row, &means, exact);
    }
}

#[test]
fn a_line_and_a_quadrat_beside_it() {
    let cover = Cover(exponential, 2.0, 0.2);
    // The quadrat lies 1 m beside the line, from 4 to 5 m along it; the line's points are centred in their intervals.
    let (points, quadrat) = (line(20, 0.5, 0.25), grid(5, 5, (1.0, 1.0), (4.0, 1.0)));
    let pairs = points.iter().flat_map(|&a| quadrat.iter().map(move |&b| cover.at(distance(a, b))));
    let exact = pairs.sum::<f64>() / 500.0;
    printed(117, exact, "0.022451407");
    let field = Field::new(&[points, quadrat].concat(), |h| cover.rho(h));
    let mut random = stream(Key::seed(1117));
    let threshold = threshold_of(0.2);
    let means: Vec<(f64, f64)> = (0..20_000)
        .map(|_| {
            let z = field.draw(&mut random);
            (share_above(&z[..20], threshold), share_above(&z[20..], threshold))
        })
        .collect();
    covariance_agrees(117, &means, exact);
}

#[test]
fn two_lines_at_random_in_a_small_site() {
    // Computed by simulation, .003881 with an error of .000026: two random parallel 10 m lines wholly inside 30 x 30 m.
    let cover = Cover(exponential, 2.0, 0.3);
    let pair = covariance_of_two_units((30.0, 30.0), Unit::Line { length_m: 10.0 }, |h| cover.at(h));
    assert!((pair - 0.003881).abs() < 4.0 * 0.000026, "{pair}");
    printed(0, variance_of_rectangle(30.0, 30.0, |h| cover.at(h)), "0.0029984");
}

#[test]
fn all_162_variances_of_one_line() {
    let table = include_str!("../reference/line_variances.tsv");
    let mut lines = table.lines();
    assert_eq!(lines.next(), Some("kind\ta\tp\tL\td\tn\tV\tSD\tn_eff\tV_line\tneff_line"));
    let mut rows = 0;
    for text in lines {
        let cells: Vec<&str> = text.split('\t').collect();
        let number = |k: usize| cells[k].parse::<f64>().unwrap();
        let correlation: Correlation = if cells[0] == "exp" { exponential } else { matern_three_halves };
        let cover = Cover(correlation, number(1), number(2));
        let points = cover.points(number(5) as usize, number(4));
        let whole = variance_of_intercept(number(3), |h| cover.at(h));
        rows += 1;
        for (ours, cell) in
            [(points, 6), (points.sqrt(), 7), (cover.at_zero() / points, 8), (whole, 9), (cover.at_zero() / whole, 10)]
        {
            printed(rows, ours, cells[cell]);
        }
    }
    assert_eq!(rows, 162);
}
