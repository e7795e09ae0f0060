//! Gas as a count of cylinders: what divers use in the mean, by the numbers of the user. Nothing here says whether gas is
//! enough, for whom or for how long; the plan of the gas is the diving officer's.

use super::diving::ascent_and_stop;
use crate::design::Gas;

/// Stands beside every count.
pub const GAS_CAUTION: &str =
    "Gas minutes are an average-use estimate to count cylinders; they are no reserve calculation.";

/// Absolute pressure in sea water, bar: one at the surface and one more for every 10 m (common practice in metric units;
/// US Navy Diving Manual: one atmosphere more for every 33 feet).
pub fn ambient_bar(depth_m: f64) -> f64 {
    depth_m / 10.0 + 1.0
}

/// Litres at the surface that a diver uses in so many minutes at a depth.
pub fn litres(depth_m: f64, minutes: f64, litres_a_minute: f64) -> f64 {
    ambient_bar(depth_m) * minutes * litres_a_minute
}

/// Minutes at a depth after which a full cylinder holds what the user keeps in it.
pub fn gas_minutes(gas: &Gas, depth_m: f64) -> f64 {
    gas.cylinder_litres * (gas.fill_bar - gas.reserve_bar) / (gas.litres_a_minute * ambient_bar(depth_m))
}

/// What must be said where one cylinder does not last as long as a dive, its ascent and a stop, all counted as at the
/// deepest point.
pub fn flag_gas(gas: &Gas, depth_m: f64, bottom_minutes: f64) -> Option<String> {
    let (lasts, takes) = (gas_minutes(gas, depth_m), bottom_minutes + ascent_and_stop(depth_m));
    (lasts < takes).then(|| {
        format!(
            "one cylinder is used down to {} bar after about {lasts:.0} minutes at {depth_m} m; bottom time, ascent and a stop \
             take {takes:.0}. {GAS_CAUTION} Take this to the diving officer.",
            gas.reserve_bar
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gas(litres_a_minute: f64, cylinder_litres: f64, reserve_bar: f64) -> Gas {
        Gas { litres_a_minute, cylinder_litres, fill_bar: 200.0, reserve_bar }
    }

    /// Computed; 20 litres a minute from 10 l x 20 bar in 2.5 minutes at 30 m, 1680 litres in 30 minutes at 18 m and an hour
    /// of 12 l x 200 bar at 10 m are published worked examples.
    #[test]
    fn minutes_of_a_cylinder() {
        for (gas, depth, minutes) in [
            (gas(20.0, 12.0, 50.0), 10.0, 45.0),
            (gas(20.0, 12.0, 50.0), 15.0, 36.0),
            (gas(20.0, 11.1, 50.0), 18.0, 29.732),
            (gas(25.0, 15.0, 50.0), 10.0, 45.0),
            // A third kept, a third out, a third back.
            (gas(20.0, 12.0, 200.0 / 3.0), 10.0, 40.0),
            (gas(20.0, 12.0, 0.0), 10.0, 60.0),
            (Gas { fill_bar: 20.0, ..gas(20.0, 10.0, 0.0) }, 30.0, 2.5),
        ] {
            assert!((gas_minutes(&gas, depth) - minutes).abs() < 1e-3, "{depth} {minutes}");
        }
        assert!((litres(18.0, 30.0, 20.0) - 1680.0).abs() < 1e-9);
    }

    /// Published worked examples of the US Navy Diving Manual (its pages on air supply, as quoted), in its own units: cubic feet and
    /// atmospheres of 14.7 psi take the place of litres and bar, and 33 feet are one atmosphere. A diver at 70 feet uses 4.3697
    /// cubic feet a minute of 1.4 at the surface; two cylinders of .420 hold 100.000 between 2250 and 500 psi, which last 22.885
    /// minutes, and 114.286 down to 250, for 26.154; an ascent from 190 feet in 7 minutes takes 38.0121, and with 28.38 more a
    /// cylinder of .399 must begin at 2581.0 psi to end at 135 (the manual, rounding, has 2580.95).
    #[test]
    fn the_formulas_are_those_of_the_manual() {
        let at_feet = |feet: f64| 10.0 * feet / 33.0;
        assert!((litres(at_feet(70.0), 1.0, 1.4) - 4.3697).abs() < 1e-4);
        let psi = |pounds: f64| pounds / 14.7;
        let twin = |reserve: f64| Gas {
            litres_a_minute: 1.4,
            cylinder_litres: 2.0 * 0.420,
            fill_bar: psi(2250.0),
            reserve_bar: psi(reserve),
        };
        for (reserve, volume, minutes) in [(500.0, 100.0, 22.885), (250.0, 114.286, 26.154)] {
            let lasts = gas_minutes(&twin(reserve), at_feet(70.0));
            assert!((lasts - minutes).abs() < 1e-3, "{lasts} {minutes}");
            assert!((litres(at_feet(70.0), lasts, 1.4) - volume).abs() < 1e-3, "{reserve}");
        }
        let ascent = litres(at_feet(95.0), 7.0, 1.4);
        assert!((ascent - 38.0121).abs() < 1e-4, "{ascent}");
        let gas = Gas { litres_a_minute: 1.4, cylinder_litres: 0.399, fill_bar: psi(2581.0), reserve_bar: psi(135.0) };
        let holds = litres(at_feet(95.0), gas_minutes(&gas, at_feet(95.0)), 1.4);
        assert!((holds - (ascent + 28.38)).abs() < 1e-3, "{holds}");
        // 1.4 cubic feet are 39.64 litres.
        assert!((1.4 * 0.3048f64.powi(3) * 1000.0 - 39.64).abs() < 5e-3);
    }

    /// Computed: two divers at 30 litres a minute, a minute at 20 m, the ascent at a mean of 10 m and three minutes at 5 m use 716.7
    /// litres, 59.7 bar of 12 litres: more than the 50 bar that are often kept.
    #[test]
    fn what_two_divers_use_on_the_way_up() {
        let up = ascent_and_stop(20.0) - ascent_and_stop(0.0);
        let all = litres(20.0, 1.0, 60.0) + litres(10.0, up, 60.0) + litres(5.0, ascent_and_stop(0.0), 60.0);
        assert!((all - 716.67).abs() < 0.01 && (all / 12.0 - 59.72).abs() < 0.01, "{all}");
    }

    #[test]
    fn a_cylinder_that_ends_before_the_dive_is_flagged() {
        // 36 minutes at 15 m; ascent and stop take 4.67.
        let of = |bottom: f64| flag_gas(&gas(20.0, 12.0, 50.0), 15.0, bottom);
        assert_eq!(of(31.0), None);
        let text = of(32.0).unwrap();
        assert!(text.contains("36 minutes") && text.contains("take 37") && text.contains("no reserve"), "{text}");
    }
}
