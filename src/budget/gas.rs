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

    #[test]
    fn a_cylinder_that_ends_before_the_dive_is_flagged() {
        // 36 minutes at 15 m; ascent and stop take 4.67.
        let of = |bottom: f64| flag_gas(&gas(20.0, 12.0, 50.0), 15.0, bottom);
        assert_eq!(of(31.0), None);
        let text = of(32.0).unwrap();
        assert!(text.contains("36 minutes") && text.contains("take 37") && text.contains("no reserve"), "{text}");
    }
}
