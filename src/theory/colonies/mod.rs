//! Belts of visible colonies in closed form.
//!
//! **The rule.** Discs (germs) are Poisson given the density; a germ is visible where its centre lies under no germ of
//! higher rank. With u discs over a point in the mean and ranks uniform, a centre is free with probability
//! `int_0^1 exp(-t u) dt = (1 - exp(-u)) / u`: visible colonies have the density cover / (mean area of a disc), whatever
//! their own size, so that sizes are as drawn and the areas of visible colonies sum to the cover.
//!
//! **Two colonies** at distance h with `t1`, `t2` the shares of germs of higher rank: others leave both free with
//! probability `exp(-t1 u1 - t2 u2 + min(t1, t2) g(h) (u1 + u2) / 2)`, because germs that lie over both centres and above
//! both count once; and the higher of the two must not reach the centre of the other, which it does with probability
//! P(R > h). Averaged over ranks and over the lognormal intensities. The density of *centres* is not the density *over*
//! a point (which is averaged over discs): where patches are not much larger than colonies the two are correlated
//! lognormals, and weighting by the density of centres shifts the mean of ln u by their covariance (an exact property of
//! normals).
//!
//! **Across visits** a germ lives at both with the shared density m: common germs enter the overlap in place of all, the
//! higher of two colonies hides the other only where it lives at that visit too, and a germ visible at both is the same
//! colony twice.
//!
//! What is approximated: fields are lognormal at the second moment (as everywhere in `theory`); the sizes of visible
//! colonies are taken as independent of one another (a large colony of high rank leaves fewer neighbours; the effect is
//! of the order of P(R > h) at the distances between neighbours); ratios by the delta method, with 1 / n
//! of a negative binomial count; edge rules other than the centre's as weights on colonies, not as wider belts.
//! Simulated with 40,000 sites (`tests/colonies.rs`): densities and covers and their variances and covariances within 1.5 %
//! (pairs of belts 4 %, where the error is 2 %), also where colonies are large against patches; variances of means over
//! colonies within 5 %, their covariances at the same marks up to 11 % too low in a dense garden; after a storm
//! in patches up to 5 % on a fore reef, and in a dense garden variances up to 23 % too low.
//!
//! **Sizes between visits.** A colony keeps its size, and those that settle are drawn from the same law of sizes, so
//! that sizes are stationary when nothing is imposed. A growing colony would need growth and death by size that keep the
//! calibrated law of the cover; nothing is known that would. So sizes say nothing about growth here, and tests of sizes
//! apply to imposed change only.

mod between_sites;
mod centres;
mod distribution;
mod edge;
mod hit_share;
mod moments;
mod sizes;
mod visible;

pub use between_sites::SiteValues;
pub use distribution::SizeDistribution;
pub use edge::{EdgeCounts, counting_area, edge_counts};
pub use moments::ColonyTheory;
pub use sizes::MeasuredSizes;
