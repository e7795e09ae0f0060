//! Sites of two zones that lie at one place, such as the slope and the crest above it: their effects are alike.

use crate::random::{Key, Purpose, normal_from_uniform};

/// What a site shares with that of another zone at its place: effects are `r N' + sqrt(1 - r^2) N`, N' being the other
/// site's and N its own, so that each zone by itself has the law it had.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SamePlace {
    /// Key of the other site, or of what has the same effects below it.
    pub key: Key,
    /// Correlation r of the effects, 0 to 1.
    pub correlation: f64,
}

impl SamePlace {
    /// The same below the other site.
    pub fn child(self, purpose: Purpose, index: u64) -> Self {
        Self { key: self.key.child(purpose, index), ..self }
    }

    /// An effect from the other site's standard normal and its own.
    pub fn mixed(self, other: f64, own: f64) -> f64 {
        self.correlation * other + libm::sqrt(1.0 - self.correlation * self.correlation) * own
    }
}

/// The standard normals behind the effects of a site.
#[derive(Clone, Copy, Debug)]
pub(super) struct Effects {
    pub own: Key,
    pub place: Option<SamePlace>,
}

impl Effects {
    pub fn normal(&self, purpose: Purpose, index: u64) -> f64 {
        let of = |key: Key| normal_from_uniform(key.uniform(purpose, index));
        match self.place {
            None => of(self.own),
            Some(place) => place.mixed(of(place.key), of(self.own)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measures::simulated::assert_mean;

    #[test]
    fn effects_are_standard_normal_and_correlated() {
        for correlation in [0.0, 0.6, 1.0] {
            let pairs = (0..20_000).map(|site| {
                let other = Key::seed(1).child(Purpose::Site, site);
                let place = Some(SamePlace { key: other, correlation });
                let own = Effects { own: Key::seed(2).child(Purpose::Site, site), place };
                let of = |effects: &Effects| effects.normal(Purpose::SiteEffect, 0);
                (of(&Effects { own: other, place: None }), of(&own))
            });
            let (others, own): (Vec<f64>, Vec<f64>) = pairs.unzip();
            assert_mean(&own.iter().map(|x| x * x).collect::<Vec<_>>(), 1.0);
            assert_mean(&own.iter().zip(&others).map(|(x, y)| x * y).collect::<Vec<_>>(), correlation);
        }
    }
}
