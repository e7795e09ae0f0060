//! Sizes of colonies: classes, distributions of sites, and how far two of them are apart.

use super::degenerate::Degenerate;

/// Size classes by the limits between them: class 0 is below the first limit, class i from limit i - 1 up to but without limit
/// i, the last from the last limit on.
#[derive(Clone, Debug, PartialEq)]
pub struct SizeClasses {
    limits: Vec<f64>,
}

impl SizeClasses {
    /// `limits` rise strictly; at least one.
    pub fn new(limits: Vec<f64>) -> Result<Self, Degenerate> {
        let rising = limits.windows(2).all(|pair| pair[0] < pair[1]) && limits.iter().all(|limit| limit.is_finite());
        if limits.is_empty() || !rising {
            return Err(Degenerate::BadValue);
        }
        Ok(Self { limits })
    }

    /// Classes for sizes that are whole multiples of a ruler, up to a largest size; what is larger is in the last. Limits lie
    /// between two marks of the ruler. The first classes hold one mark each, later ones are a seventh wider each than the one
    /// before: some thirty in all, so that distances are nearly those of the sizes themselves and cheap.
    pub fn of_ruler(ruler: f64, largest: f64) -> Result<Self, Degenerate> {
        if !(ruler > 0.0 && largest.is_finite()) {
            return Err(Degenerate::BadValue);
        }
        let most = (largest / ruler + 0.5).floor().max(2.0) as u64;
        let next = |mark: &u64| Some((mark + mark / 7).max(mark + 1));
        let marks = std::iter::successors(Some(1), next).take_while(|mark| *mark < most);
        Self::new(marks.map(|mark| (mark as f64 + 0.5) * ruler).collect())
    }

    /// A class for every size that occurs, so that distances are those of the sizes themselves; refused when all are alike.
    pub fn of_every_size<'a>(sizes: impl IntoIterator<Item = &'a f64>) -> Result<Self, Degenerate> {
        let mut limits: Vec<f64> = sizes.into_iter().copied().collect();
        if !limits.iter().all(|size| size.is_finite()) {
            return Err(Degenerate::BadValue);
        }
        limits.sort_unstable_by(f64::total_cmp);
        limits.dedup();
        if limits.len() < 2 {
            return Err(Degenerate::NothingVaries);
        }
        limits.remove(0);
        Ok(Self { limits })
    }

    pub fn count(&self) -> usize {
        self.limits.len() + 1
    }

    pub fn limits(&self) -> &[f64] {
        &self.limits
    }

    pub fn class_of(&self, size: f64) -> usize {
        self.limits.partition_point(|limit| *limit <= size)
    }

    /// How many of the sizes are in each class.
    pub fn counts(&self, sizes: &[f64]) -> SizeCounts {
        let mut counts = SizeCounts::none(self.count());
        sizes.iter().for_each(|&size| counts.add_one(self.class_of(size)));
        counts
    }
}

/// Colonies in each size class, of a site or of several together.
#[derive(Clone, Debug, PartialEq)]
pub struct SizeCounts {
    counts: Vec<f64>,
}

/// What has one vote in a distribution of several sites.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weighting {
    /// Every colony: sites with many count more.
    Colonies,
    /// Every site that has colonies.
    Sites,
}

impl SizeCounts {
    /// Counts, or any weights, per class.
    pub fn new(counts: Vec<f64>) -> Result<Self, Degenerate> {
        let sound = !counts.is_empty() && counts.iter().all(|&count| 0.0 <= count && count < f64::INFINITY);
        sound.then_some(Self { counts }).ok_or(Degenerate::BadValue)
    }

    /// No colonies in so many classes.
    pub fn none(classes: usize) -> Self {
        Self { counts: vec![0.0; classes] }
    }

    /// Back to no colonies.
    pub fn clear(&mut self) {
        self.counts.fill(0.0);
    }

    /// One more colony in a class.
    pub fn add_one(&mut self, class: usize) {
        self.counts[class] += 1.0;
    }

    /// Adds `factor` times the colonies of others, class by class.
    pub fn add(&mut self, others: &Self, factor: f64) {
        self.counts.iter_mut().zip(&others.counts).for_each(|(sum, count)| *sum += factor * count);
    }

    pub fn classes(&self) -> usize {
        self.counts.len()
    }

    pub fn counts(&self) -> &[f64] {
        &self.counts
    }

    pub fn total(&self) -> f64 {
        self.counts.iter().sum()
    }

    /// The share of each class; `None` without colonies.
    pub fn shares(&self) -> Option<Vec<f64>> {
        let total = self.total();
        (total > 0.0).then(|| self.counts.iter().map(|count| count / total).collect())
    }

    /// Sites together, all with the same classes: counts added, or shares averaged over the sites that have colonies (the
    /// result then adds up to 1). `None` without sites or without colonies.
    pub fn pooled(sites: &[Self], weighting: Weighting) -> Option<Self> {
        let mut counts = vec![0.0; sites.first()?.classes()];
        let with_colonies = sites.iter().filter(|site| site.total() > 0.0).count() as f64;
        for site in sites {
            let weight = match weighting {
                Weighting::Colonies => 1.0,
                Weighting::Sites if site.total() > 0.0 => 1.0 / (site.total() * with_colonies),
                Weighting::Sites => 0.0,
            };
            counts.iter_mut().zip(&site.counts).for_each(|(sum, count)| *sum += weight * count);
        }
        (with_colonies > 0.0).then_some(Self { counts })
    }

    /// Colonies (or the share of them) in a class and all below it; the last number is the total (or 1, or nil without
    /// colonies).
    pub(super) fn cumulative(&self, weighting: Weighting) -> impl Iterator<Item = f64> + '_ {
        let total = self.total();
        let scale = if weighting == Weighting::Sites && total > 0.0 { 1.0 / total } else { 1.0 };
        self.counts.iter().scan(0.0, move |below, count| {
            *below += count;
            Some(*below * scale)
        })
    }

    /// The largest distance between two distribution functions (of Kolmogorov and Smirnov), 0 to 1; `None` when one has no
    /// colonies or the classes differ.
    ///
    /// An average of this over sites is no measure of change: it is never negative and large where colonies are few. Take the
    /// distance of pooled distributions, and [`super::permutation::size_distance`] to judge it.
    pub fn distance(&self, other: &Self) -> Option<f64> {
        if self.classes() != other.classes() || self.total() == 0.0 || other.total() == 0.0 {
            return None;
        }
        let pairs = self.cumulative(Weighting::Sites).zip(other.cumulative(Weighting::Sites));
        Some(pairs.map(|(one, another)| (one - another).abs()).fold(0.0, f64::max))
    }
}

/// Mean of ln size: the natural mean of sizes that are spread by factors. `None` without colonies or with a size that is not
/// above nil.
pub fn mean_log(sizes: &[f64]) -> Option<f64> {
    let sound = !sizes.is_empty() && sizes.iter().all(|&size| 0.0 < size && size < f64::INFINITY);
    sound.then(|| sizes.iter().map(|&size| libm::log(size)).sum::<f64>() / sizes.len() as f64)
}

/// The middle size, or the mean of the two in the middle; `None` without colonies or with a size that is not a number.
pub fn median(sizes: &[f64]) -> Option<f64> {
    if sizes.is_empty() || sizes.iter().any(|size| size.is_nan()) {
        return None;
    }
    let mut sizes = sizes.to_vec();
    let middle = sizes.len() / 2;
    let even = sizes.len().is_multiple_of(2);
    let (below, at, _) = sizes.select_nth_unstable_by(middle, f64::total_cmp);
    let at = *at;
    if !even {
        return Some(at);
    }
    Some(0.5 * (at + below.iter().copied().fold(f64::NEG_INFINITY, f64::max)))
}

/// What must be said beside every index of age.
pub const AGE_CAUTION: &str = "Size is a poor clock: colonies shrink, break and fuse, and grow at rates that differ by place and \
                               kind. The index is a diameter in units of a year's growth, not an age.";

/// Years that a colony of this diameter would have grown at a steady increase of diameter, both in one unit of length (common
/// practice, no source; slow massive corals grow 1-2 cm a year across). `None` unless the growth is above nil. Never without
/// [`AGE_CAUTION`].
pub fn index_of_age(diameter: f64, growth_per_year: f64) -> Option<f64> {
    (growth_per_year > 0.0 && growth_per_year < f64::INFINITY && diameter >= 0.0).then(|| diameter / growth_per_year)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FIRST: [f64; 6] = [3.0, 8.0, 8.0, 15.0, 40.0, 22.0];
    const SECOND: [f64; 5] = [5.0, 8.0, 9.0, 30.0, 80.0];

    /// Slow twin: the distance over all places, from the sizes themselves.
    fn distance_by_hand(first: &[f64], second: &[f64]) -> f64 {
        let share =
            |sizes: &[f64], at: f64| sizes.iter().filter(|size| **size <= at).count() as f64 / sizes.len() as f64;
        first.iter().chain(second).map(|&at| (share(first, at) - share(second, at)).abs()).fold(0.0, f64::max)
    }

    fn distance(first: &[f64], second: &[f64]) -> f64 {
        let classes = SizeClasses::of_every_size(first.iter().chain(second)).unwrap();
        classes.counts(first).distance(&classes.counts(second)).unwrap()
    }

    #[test]
    fn classes_hold_their_lower_limit() {
        let classes = SizeClasses::new(vec![5.0, 10.0, 20.0]).unwrap();
        assert_eq!([0.0, 5.0, 9.99, 10.0, 20.0, 900.0].map(|size| classes.class_of(size)), [0, 1, 1, 2, 3, 3]);
        let counts = classes.counts(&FIRST);
        assert_eq!(counts.counts(), [1.0, 2.0, 1.0, 2.0]);
        assert_eq!(counts.shares().unwrap().iter().sum::<f64>(), 1.0);
        assert_eq!(classes.counts(&[]).shares(), None);
        for bad in [vec![], vec![1.0, 1.0], vec![2.0, 1.0], vec![f64::NAN], vec![1.0, f64::INFINITY]] {
            assert!(SizeClasses::new(bad).is_err());
        }
    }

    #[test]
    fn classes_of_a_ruler_hold_whole_marks() {
        let classes = SizeClasses::of_ruler(0.01, 2.0).unwrap();
        assert!((25..40).contains(&classes.count()), "{}", classes.count());
        // A mark in single precision lies in the class of its own.
        for mark in 1..=200u32 {
            let size = f64::from(mark as f32 * 0.01f32);
            let class = classes.class_of(size);
            assert_eq!(class, classes.class_of(f64::from(mark) * 0.01), "{mark}");
            assert!(mark > 7 || class == mark as usize - 1);
        }
        assert_eq!(classes.class_of(50.0), classes.count() - 1);
        assert_eq!(
            SizeClasses::of_ruler(0.5, 0.1).unwrap().count(),
            2,
            "a ruler too coarse has two classes all the same"
        );
        assert!(SizeClasses::of_ruler(0.0, 1.0).is_err() && SizeClasses::of_ruler(0.01, f64::NAN).is_err());
    }

    #[test]
    fn the_distance_is_that_of_the_sizes() {
        let apart = distance(&FIRST, &SECOND);
        assert!((apart - distance_by_hand(&FIRST, &SECOND)).abs() < 1e-15);
        assert_eq!(distance(&[1.0, 2.0], &[3.0, 4.0]), 1.0);
        assert_eq!(distance(&FIRST, &FIRST), 0.0);
    }

    #[test]
    fn the_distance_is_symmetric_and_blind_to_the_scale_of_size() {
        let apart = distance(&FIRST, &SECOND);
        assert_eq!(apart, distance(&SECOND, &FIRST));
        let (log_first, log_second) = (FIRST.map(libm::log), SECOND.map(libm::log));
        assert_eq!(apart, distance(&log_first, &log_second));
        assert_eq!(apart, distance(&FIRST.map(|x| x * x * x), &SECOND.map(|x| x * x * x)));
        // Coarser classes can hide a difference, never make one.
        let coarse = SizeClasses::new(vec![10.0, 25.0]).unwrap();
        assert!(coarse.counts(&FIRST).distance(&coarse.counts(&SECOND)).unwrap() <= apart);
    }

    #[test]
    fn sites_pooled_by_colony_and_by_site() {
        let site = |counts: &[f64]| SizeCounts::new(counts.to_vec()).unwrap();
        let sites = [site(&[8.0, 2.0]), site(&[0.0, 2.0]), site(&[0.0, 0.0])];
        assert_eq!(SizeCounts::pooled(&sites, Weighting::Colonies).unwrap().counts(), [8.0, 4.0]);
        let by_site = SizeCounts::pooled(&sites, Weighting::Sites).unwrap();
        assert!((by_site.counts()[0] - 0.4).abs() < 1e-15 && (by_site.counts()[1] - 0.6).abs() < 1e-15);
        assert_eq!(SizeCounts::pooled(&sites[2..], Weighting::Sites), None);
        assert_eq!(SizeCounts::pooled(&[], Weighting::Colonies), None);
        assert_eq!(sites[0].distance(&sites[2]), None);
    }

    #[test]
    fn middle_and_mean_sizes() {
        assert_eq!((median(&FIRST), median(&SECOND), median(&[])), (Some(11.5), Some(9.0), None));
        assert_eq!(median(&[1.0, f64::NAN]), None);
        let mean = mean_log(&[2.0, 8.0]).unwrap();
        assert!((libm::exp(mean) - 4.0).abs() < 1e-14, "the geometric mean");
        assert!(mean_log(&[]).is_none() && mean_log(&[1.0, 0.0]).is_none());
    }

    #[test]
    fn age_is_diameter_over_growth() {
        assert_eq!(index_of_age(30.0, 1.5), Some(20.0));
        assert!(index_of_age(30.0, 0.0).is_none() && index_of_age(f64::NAN, 1.0).is_none());
    }
}
