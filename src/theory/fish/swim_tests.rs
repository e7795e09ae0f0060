//! What `survey::swim` draws against the closed forms, and what both say of published and computed values.

use super::{Counted, belt_inflation, counted_area_m2, entries_m2, point_inflation};
use crate::random::{Key, Purpose, stream};
use crate::reef::fish::Movement;
use crate::survey::swim::{CountingRule, Shape, Swim, Swum, Watch, Watched};
use rand::{Rng, RngExt};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Exp1, Poisson, StandardNormal};

fn rng(number: u64) -> ChaCha8Rng {
    stream(Key::seed(41).child(Purpose::Test, number))
}

fn straight(speed_m_s: f64) -> Movement {
    Movement::Straight { speed_m_s }
}

/// Mean of a number of swims with its standard error, and variance over mean with its (from 20 parts).
struct Seen {
    mean: f64,
    error: f64,
    ratio: f64,
    ratio_error: f64,
}

fn seen(swims: usize, mut count: impl FnMut() -> f64) -> Seen {
    let counts: Vec<f64> = (0..swims).map(|_| count()).collect();
    let of = |counts: &[f64]| {
        let n = counts.len() as f64;
        let mean = counts.iter().sum::<f64>() / n;
        (mean, counts.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / (n - 1.0))
    };
    let (mean, variance) = of(&counts);
    let parts: Vec<f64> = counts.chunks(swims / 20).map(of).map(|(mean, variance)| variance / mean).collect();
    let (_, spread) = of(&parts);
    let errors = [variance / swims as f64, spread / parts.len() as f64].map(f64::sqrt);
    Seen { mean, error: errors[0], ratio: variance / mean, ratio_error: errors[1] }
}

/// Independent fish, `per_swim` of them counted on average if `area` is right.
fn independent(watch: Watch, movement: Movement, area: f64, swims: usize, number: u64) -> Seen {
    let (swim, density) = (Swim::new(watch, movement, 0.0), 20.0 / area);
    let (mut rng, mut counted) = (rng(number), Vec::new());
    let mut seen = seen(swims, || {
        swim.draw(density, |_| 1, &mut rng, &mut counted);
        counted.len() as f64
    });
    seen.mean /= density;
    seen.error /= density;
    seen
}

fn near(value: f64, expected: f64, error: f64, what: impl std::fmt::Debug) {
    assert!((value - expected).abs() < 4.0 * error, "{what:?}: {value} +- {error}, not {expected}");
}

/// The whole swim, the window and the line abreast, for fish slower and faster than the diver, point counts (McCauley et
/// al. 2012) and a disc that moves: 40,000 fish each. Independent fish are Poisson.
#[test]
fn straight_fish_come_in_by_the_closed_form() {
    use CountingRule::{Abreast, MovingWindow, WholeSwim};
    let belt = |rule| Watch::belt(30.0, 2.0, 480.0, rule);
    let window = MovingWindow { depth_m: 2.0 };
    let mut cases: Vec<(Watch, f64)> = [0.01, 0.05, 0.1].map(|u| (belt(WholeSwim), u)).to_vec();
    cases.push((Watch::belt(50.0, 5.0, 600.0, WholeSwim), 0.1));
    cases.push((Watch::point(7.5, 300.0), 0.1));
    cases.extend([0.0625, 0.2].map(|u| (belt(window), u)));
    cases.extend([0.03, 0.0625, 0.125, 0.3125].map(|u| (belt(Abreast), u)));
    cases.push((Watch { watched: Watched::Disc { radius_m: 4.0 }, speed_m_s: 0.2, seconds: 100.0 }, 0.3));
    cases.push((belt(MovingWindow { depth_m: 30.0 }), 0.2));
    cases.push((Watch::belt(30.0, 2.0, 0.0, window), 0.2));
    cases.push((Watch::point(7.5, 0.0), 0.2));
    for (number, (watch, u)) in cases.into_iter().enumerate() {
        let area = entries_m2(watch, straight(u));
        let seen = independent(watch, straight(u), area, 2_000, number as u64);
        near(seen.mean, area, seen.error, (watch, u));
        assert!(seen.error < 0.01 * area);
        near(seen.ratio, 1.0, seen.ratio_error, (watch, u));
    }
    // What the cases above are, computed.
    let f = |rule, u| belt_inflation(30.0, 2.0, 480.0, rule, straight(u));
    for (value, known) in [
        (f(WholeSwim, 0.05), 9.149),
        (f(window, 0.0625), 1.5942),
        (f(window, 0.2), 3.963),
        (f(Abreast, 0.0625), 1.0),
        (f(Abreast, 0.125), 1.436),
        (f(Abreast, 0.3125), 3.247),
        (point_inflation(7.5, 300.0, straight(0.1)), 3.547),
    ] {
        assert!((value / known - 1.0).abs() < 4e-4, "{value} {known}");
    }
}

/// Still fish that are counted are those of the belt, whatever the rule.
#[test]
fn still_fish_are_those_of_the_belt() {
    for (number, rule) in [CountingRule::WholeSwim, CountingRule::MovingWindow { depth_m: 4.0 }, CountingRule::Abreast]
        .into_iter()
        .enumerate()
    {
        let watch = Watch::belt(25.0, 5.0, 600.0, rule);
        let seen = independent(watch, Movement::Still, 125.0, 2_000, 50 + number as u64);
        near(seen.mean, 125.0, seen.error, rule);
        near(seen.ratio, 1.0, seen.ratio_error, rule);
    }
}

#[test]
fn no_schools_no_fish() {
    let swim = Swim::new(Watch::point(7.5, 300.0), straight(0.1), 1.0);
    let mut counted = vec![Swum { school: 0, nearest_m: 0.0 }];
    assert_eq!(swim.draw(0.0, |_| 5, &mut rng(60), &mut counted), 0);
    assert!(counted.is_empty());
}

/// Chances that a fish that is counted came within some distances of the middle.
#[test]
fn nearest_distances_have_their_law() {
    let window = Watch::belt(30.0, 6.0, 480.0, CountingRule::MovingWindow { depth_m: 3.0 });
    let moving = Watch { watched: Watched::Disc { radius_m: 3.0 }, speed_m_s: 0.1, seconds: 60.0 };
    for (number, watch) in
        [window, Watch::belt(30.0, 6.0, 480.0, CountingRule::WholeSwim), moving, Watch::point(3.0, 60.0)]
            .into_iter()
            .enumerate()
    {
        let movement = straight(0.08);
        let swim = Swim::new(watch, movement, 0.0);
        let (mut rng, mut counted) = (rng(70 + number as u64), Vec::new());
        swim.draw(40_000.0 / entries_m2(watch, movement), |_| 1, &mut rng, &mut counted);
        let n = counted.len() as f64;
        for within in [0.0f32, 0.2, 1.0, 2.0, 2.9] {
            let narrow = match watch.watched {
                Watched::Rectangle { length_m, .. } => {
                    Watched::Rectangle { length_m, width_m: 2.0 * f64::from(within) }
                }
                Watched::Disc { .. } => Watched::Disc { radius_m: f64::from(within) },
            };
            let share = entries_m2(Watch { watched: narrow, ..watch }, movement) / entries_m2(watch, movement);
            let found = counted.iter().filter(|fish| fish.nearest_m <= within).count() as f64 / n;
            let error = (share * (1.0 - share) / n).sqrt() + 1e-12;
            near(found, share, error, (watch, within));
        }
        let seen = |x: f64| libm::exp(-0.5 * x * x / 1.44);
        let chances: Vec<f64> = counted.iter().map(|fish| seen(f64::from(fish.nearest_m))).collect();
        let mean = chances.iter().sum::<f64>() / n;
        let spread = (chances.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / n).sqrt();
        near(mean, counted_area_m2(watch, movement, seen) / entries_m2(watch, movement), spread / n.sqrt(), watch);
    }
}

/// Turns change who comes again, not how often anything comes in: entries have the closed form whatever the time between
/// turns. Unique fish against other simulations (in steps of time, their standard error in the third column; computed).
fn turning(swims: usize) {
    let short = Watch::belt(30.0, 2.0, 480.0, CountingRule::WholeSwim);
    let wide = Watch::belt(25.0, 5.0, 900.0, CountingRule::WholeSwim);
    let rows = [
        (short, 0.1, [(2.0, 3.61, 0.06), (10.0, 6.60, 0.05), (60.0, 11.7, 0.2)], 17.297),
        (short, 0.05, [(2.0, 2.25, 0.02), (10.0, 3.64, 0.03), (60.0, 6.14, 0.08)], 9.149),
        (wide, 0.05, [(2.0, 1.84, 0.03), (10.0, 2.79, 0.05), (60.0, 4.80, 0.08)], 7.875),
    ];
    for (number, (watch, speed_m_s, by_tau, entries)) in rows.into_iter().enumerate() {
        let Watched::Rectangle { length_m, width_m } = watch.watched else { unreachable!() };
        let area = length_m * width_m;
        for (tau_s, unique, error) in by_tau {
            let movement = Movement::Turning { speed_m_s, tau_s };
            let number = 100 + 10 * number as u64 + tau_s as u64 * 1_000;
            let seen = independent(watch, movement, unique * area, swims, number);
            let both = libm::hypot(seen.error / area, error);
            near(seen.mean / area, unique, both, (watch, movement));
            near(seen.ratio, 1.0, seen.ratio_error, (watch, movement));
            assert!((seen.mean / area / unique - 1.0).abs() < 0.04, "{}", seen.mean / area);
            let (swim, mut rng, density) = (Swim::new(watch, movement, 0.0), rng(number + 1), 20.0 / (unique * area));
            let comings = self::seen(swims, || swim.entries(density, &mut rng) as f64);
            near(comings.mean / density / area, entries, comings.error / density / area, (watch, movement));
        }
    }
}

#[test]
fn turns_leave_entries_and_lower_fish() {
    turning(400);
}

#[test]
#[ignore = "long"]
fn turns_leave_entries_and_lower_fish_long() {
    turning(30_000);
}

/// In the moving window, in a disc and within home ranges entries are those of straight fish too.
#[test]
fn entries_do_not_know_of_turns_and_homes() {
    let window = Watch::belt(30.0, 4.0, 480.0, CountingRule::MovingWindow { depth_m: 5.0 });
    let moving = Watch { watched: Watched::Disc { radius_m: 3.0 }, speed_m_s: 0.1, seconds: 200.0 };
    for (number, watch) in [window, moving, Watch::point(5.0, 300.0)].into_iter().enumerate() {
        for (other, movement) in [
            Movement::Turning { speed_m_s: 0.1, tau_s: 4.0 },
            Movement::HomeRange { speed_m_s: 0.1, tau_s: 15.0, radius_m: 2.0 },
            Movement::HomeRange { speed_m_s: 0.05, tau_s: 1_000.0, radius_m: 6.0 },
        ]
        .into_iter()
        .enumerate()
        {
            let area = entries_m2(watch, movement);
            let (swim, mut rng) = (Swim::new(watch, movement, 0.0), rng(200 + 10 * number as u64 + other as u64));
            let comings = seen(1_000, || swim.entries(20.0 / area, &mut rng) as f64 * area / 20.0);
            near(comings.mean, area, comings.error, (watch, movement));
        }
    }
}

/// Slow twin of home ranges: homes anywhere near, each fish run forwards from the start in small steps, which only sees
/// who is inside at the end of a step.
fn homes_forward(watch: Watch, movement: Movement, fish: usize, step: f64, rng: &mut impl Rng) -> (f64, f64) {
    let Movement::HomeRange { speed_m_s, tau_s, radius_m } = movement else { unreachable!() };
    let shape = Shape::of(watch.watched);
    let way = watch.speed_m_s * watch.seconds;
    let Shape::Rectangle { half_length, half_width } = shape else { unreachable!() };
    let (ahead, reach) = (half_length + radius_m, half_width + radius_m);
    let area = 2.0 * reach * (2.0 * ahead + way);
    let mut hits = 0;
    for _ in 0..fish {
        let home = [(2.0 * ahead + way) * rng.random::<f64>() - ahead, reach * (2.0 * rng.random::<f64>() - 1.0)];
        let (distance, angle) = (radius_m * rng.random::<f64>().sqrt(), std::f64::consts::TAU * rng.random::<f64>());
        let mut at = [distance * angle.cos(), distance * angle.sin()];
        let mut heading = std::f64::consts::TAU * rng.random::<f64>();
        let (mut clock, mut turn) = (0.0, tau_s * Distribution::<f64>::sample(&Exp1, rng));
        loop {
            if shape.holds([home[0] + at[0] - watch.speed_m_s * clock, home[1] + at[1]]) {
                hits += 1;
                break;
            }
            if clock >= watch.seconds {
                break;
            }
            clock += step;
            let next = [at[0] + speed_m_s * step * heading.cos(), at[1] + speed_m_s * step * heading.sin()];
            if next[0].hypot(next[1]) > radius_m {
                // It comes back to the edge and leaves it by the cosine law.
                let inward = at[1].atan2(at[0]) + std::f64::consts::PI;
                heading = inward + (2.0 * rng.random::<f64>() - 1.0).asin();
            } else {
                at = next;
            }
            turn -= step;
            if turn < 0.0 {
                turn = tau_s * Distribution::<f64>::sample(&Exp1, rng);
                heading = std::f64::consts::TAU * rng.random::<f64>();
            }
        }
    }
    let share = hits as f64 / fish as f64;
    (area * share, area * (share * (1.0 - share) / fish as f64).sqrt())
}

#[test]
fn home_ranges_are_those_of_fish_run_forwards() {
    let window = Watch::belt(20.0, 4.0, 200.0, CountingRule::MovingWindow { depth_m: 4.0 });
    let whole = Watch::belt(10.0, 2.0, 200.0, CountingRule::WholeSwim);
    for (number, (watch, radius_m)) in [(window, 3.0), (whole, 4.0)].into_iter().enumerate() {
        let movement = Movement::HomeRange { speed_m_s: 0.1, tau_s: 10.0, radius_m };
        let mut rng = rng(300 + number as u64);
        let (slow, slow_error) = homes_forward(watch, movement, 6_000, 0.1, &mut rng);
        let seen = independent(watch, movement, slow, 2_000, 310 + number as u64);
        // Steps of 1 cm miss who is inside for less: a few in a thousand.
        near(seen.mean, slow, libm::hypot(libm::hypot(seen.error, slow_error), 0.001 * slow), movement);
        assert!(seen.mean < 0.9 * entries_m2(watch, movement));
    }
}

/// Neyman-Scott schools, Poisson sizes of mean 20, in snapshots of belts: computed by the formula of the pairs, and 10.38 by
/// another simulation of 30 x 2 m.
#[test]
fn still_schools_vary_by_the_formula() {
    let rows = [
        (30.0, 2.0, [15.10, 10.36, 6.01, 2.82]),
        (25.0, 5.0, [18.34, 15.79, 11.30, 5.20]),
        (50.0, 5.0, [18.54, 16.14, 11.81, 5.81]),
    ];
    for (length, width, ratios) in rows {
        for (spread, known) in [0.5, 1.0, 2.0, 5.0].into_iter().zip(ratios) {
            let counted =
                Counted::of(Watch::belt(length, width, 0.0, CountingRule::WholeSwim), Movement::Still, spread, |_| 1.0);
            let ratio = 1.0 + 20.0 * counted.pair_m2 / counted.area_m2;
            assert!((ratio - known).abs() < 0.006, "{length} {spread}: {ratio} {known}");
        }
    }
    for (number, (length, width, spread, known)) in
        [(30.0, 2.0, 1.0, 10.36), (25.0, 5.0, 2.0, 11.30), (50.0, 5.0, 5.0, 5.81)].into_iter().enumerate()
    {
        let watch = Watch::belt(length, width, 480.0, CountingRule::Abreast);
        let case = (watch, Movement::Still, spread);
        let seen = schools(case, length * width, |_| 1.0, 20_000, 400 + number as u64);
        near(seen.mean, 20.0, seen.error, length);
        near(seen.ratio, known, seen.ratio_error, length);
        assert!(seen.ratio_error < 0.03 * known);
    }
}

/// Schools of a Poisson number of fish, 20 on average, so many that 20 fish are counted and seen on average if `area` is
/// right.
fn schools(
    (watch, movement, spread): (Watch, Movement, f64),
    area: f64,
    chance: impl Fn(f64) -> f64,
    swims: usize,
    number: u64,
) -> Seen {
    let swim = Swim::new(watch, movement, spread);
    let (mut rng, mut counted, law) = (rng(number), Vec::new(), Poisson::new(20.0).unwrap());
    seen(swims, || {
        swim.draw(
            1.0 / area,
            |rng: &mut ChaCha8Rng| Distribution::<f64>::sample(&law, rng) as usize,
            &mut rng,
            &mut counted,
        );
        counted.iter().filter(|fish| rng.random::<f64>() < chance(f64::from(fish.nearest_m))).count() as f64
    })
}

/// Mean and variance of counts of schools seen under a half-normal, of all kinds of movement and shape.
fn counts_of_schools(swims: usize) {
    let whole = Watch::belt(30.0, 4.0, 480.0, CountingRule::WholeSwim);
    let window = Watch::belt(30.0, 4.0, 480.0, CountingRule::MovingWindow { depth_m: 3.0 });
    let point = Watch::point(5.0, 120.0);
    let cases = [
        (whole, Movement::Still, 0.0),
        (whole, straight(0.05), 0.0),
        (whole, straight(0.02), 0.8),
        (window, straight(0.1), 1.5),
        (point, Movement::Still, 1.0),
        (point, straight(0.1), 1.0),
        (window, Movement::Turning { speed_m_s: 0.1, tau_s: 10.0 }, 0.8),
        (point, Movement::Turning { speed_m_s: 0.2, tau_s: 5.0 }, 0.0),
        (window, Movement::HomeRange { speed_m_s: 0.1, tau_s: 20.0, radius_m: 3.0 }, 1.0),
    ];
    for (number, (watch, movement, spread)) in cases.into_iter().enumerate() {
        let chance = |x: f64| libm::exp(-0.5 * x * x / 2.25);
        let counted = Counted::of(watch, movement, spread, chance);
        assert!(counted.relative_error < 0.01, "{movement:?}: {}", counted.relative_error);
        let seen = schools((watch, movement, spread), counted.area_m2, chance, swims, 500 + number as u64);
        near(seen.mean, 20.0, libm::hypot(seen.error, 20.0 * counted.relative_error), (watch, movement));
        let ratio = 1.0 + 20.0 * counted.pair_m2 / counted.area_m2;
        let error = libm::hypot(seen.ratio_error, 1.5 * ratio * counted.relative_error);
        near(seen.ratio, ratio, error, (watch, movement));
        assert!(counted.area_m2 < 1.03 * counted_area_m2(watch, movement, chance));
    }
}

#[test]
fn counts_of_schools_have_the_mean_and_variance() {
    counts_of_schools(4_000);
}

#[test]
#[ignore = "long"]
fn counts_of_schools_have_the_mean_and_variance_long() {
    counts_of_schools(400_000);
}

/// Slow twin of everything: a sea so large that no fish from beyond comes in, all its schools run forwards in small steps.
#[test]
#[ignore = "long"]
fn turning_in_a_moving_window_as_in_a_whole_sea() {
    let watch = Watch::belt(12.0, 3.0, 60.0, CountingRule::MovingWindow { depth_m: 3.0 });
    let (speed, tau, spread, step) = (0.2, 6.0, 0.7, 0.02);
    let shape = Shape::of(watch.watched);
    let half = [1.5 + speed * watch.seconds + 5.0 * spread, 1.5 + speed * watch.seconds + 5.0 * spread];
    let way = watch.speed_m_s * watch.seconds;
    let sea = (2.0 * half[0] + way) * 2.0 * half[1];
    let mut rng = rng(900);
    let (mut near_m, mut pairs) = (Vec::new(), 0.0);
    let schools = 150_000;
    for _ in 0..schools {
        let mut at =
            [(2.0 * half[0] + way) * rng.random::<f64>() - half[0], half[1] * (2.0 * rng.random::<f64>() - 1.0)];
        let aside: [[f64; 2]; 2] = std::array::from_fn(|_| {
            std::array::from_fn(|_| spread * Distribution::<f64>::sample(&StandardNormal, &mut rng))
        });
        let mut heading = std::f64::consts::TAU * rng.random::<f64>();
        let mut turn = tau * Distribution::<f64>::sample(&Exp1, &mut rng);
        let mut nearest = [f64::INFINITY; 2];
        for i in 0..=(watch.seconds / step) as usize {
            let diver = watch.speed_m_s * step * i as f64;
            for (nearest, aside) in nearest.iter_mut().zip(aside) {
                let place = [at[0] + aside[0] - diver, at[1] + aside[1]];
                if shape.holds(place) {
                    *nearest = nearest.min(place[1].abs());
                }
            }
            turn -= step;
            if turn < 0.0 {
                turn = tau * Distribution::<f64>::sample(&Exp1, &mut rng);
                heading = std::f64::consts::TAU * rng.random::<f64>();
            }
            at = [at[0] + speed * step * heading.cos(), at[1] + speed * step * heading.sin()];
        }
        let chances = nearest.map(|x| libm::exp(-0.5 * x * x));
        pairs += chances[0] * chances[1];
        near_m.extend(chances);
    }
    let movement = Movement::Turning { speed_m_s: speed, tau_s: tau };
    let counted = Counted::of(watch, movement, spread, |x| libm::exp(-0.5 * x * x));
    let all = Counted::of(watch, movement, spread, |_| 1.0);
    let n = f64::from(schools);
    let seen = sea * near_m.iter().sum::<f64>() / (2.0 * n);
    let inside = sea * near_m.iter().filter(|&&chance| chance > 0.0).count() as f64 / (2.0 * n);
    // Of some 10,000 schools that are met; steps of 4 mm.
    for (slow, exact) in [(seen, counted.area_m2), (inside, all.area_m2), (sea * pairs / n, counted.pair_m2)] {
        assert!((slow / exact - 1.0).abs() < 4.0 * 0.013, "{slow} {exact}");
    }
}
