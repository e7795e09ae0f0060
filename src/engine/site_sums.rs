//! From the sheets of the sites to estimates: sums over sites that any number of sites can be read from on the way.

/// Sums over the sites seen so far, for one reading and one number of units, in every state.
#[derive(Clone, Copy, Debug)]
pub struct SiteSums<'a> {
    pub sites: f64,
    pub states: &'a [StateSums],
}

/// The sums of one state; "mean" is the mean over the units of a site.
#[derive(Clone, Copy, Debug, Default)]
pub struct StateSums {
    pub mean: f64,
    pub mean_square: f64,
    /// Of the difference to the first visit at the same site, where both were seen.
    pub difference_square: f64,
    /// Variance of the site's mean as its own units tell it, and its square.
    pub within: f64,
    pub within_square: f64,
    /// The same for differences unit by unit.
    pub within_difference: f64,
    pub within_difference_square: f64,
}

/// What one site contributes: the mean over its first n units and the variance of that mean, for each state.
#[derive(Clone, Copy, Debug, Default)]
pub struct SiteMeans {
    pub mean: f64,
    pub variance: f64,
    pub difference_variance: f64,
}

/// Adds a site to the sums of its states; `differences`: the site was seen at both visits.
#[inline]
pub fn add_means(states: &mut [StateSums], means: &[SiteMeans], differences: bool) {
    let first = means[0].mean;
    for (s, (sums, site)) in states.iter_mut().zip(means).enumerate() {
        sums.mean += site.mean;
        sums.mean_square += site.mean * site.mean;
        if differences && s > 0 {
            let difference = site.mean - first;
            sums.difference_square += difference * difference;
            sums.within_difference += site.difference_variance;
            sums.within_difference_square += site.difference_variance * site.difference_variance;
        }
        sums.within += site.variance;
        sums.within_square += site.variance * site.variance;
    }
}

/// Running sums over the units of one site.
#[derive(Clone, Copy, Debug, Default)]
pub struct UnitSums {
    sum: f64,
    square: f64,
    difference: f64,
    difference_square: f64,
    /// Units that have a value, and those that have one at both visits.
    known: f64,
    both: f64,
}

impl UnitSums {
    /// A unit without a value (NaN: the mean size of no colonies) is left out.
    #[inline]
    pub fn add(&mut self, value: f64, first: f64) {
        if value.is_nan() {
            return;
        }
        self.known += 1.0;
        self.sum += value;
        self.square += value * value;
        let difference = value - first;
        if !difference.is_nan() {
            self.both += 1.0;
            self.difference += difference;
            self.difference_square += difference * difference;
        }
    }

    /// Mean of the units added and the variance of that mean (NaN for one unit); all NaN where no unit had a value.
    #[inline]
    pub fn means(&self) -> SiteMeans {
        let of = |sum: f64, square: f64, n: f64| {
            if n < 2.0 { f64::NAN } else { ((square - sum * sum / n) / (n * (n - 1.0))).max(0.0) }
        };
        SiteMeans {
            mean: self.sum / self.known,
            variance: of(self.sum, self.square, self.known),
            difference_variance: of(self.difference, self.difference_square, self.both),
        }
    }
}
