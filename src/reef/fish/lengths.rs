use serde::Serialize;

/// Total lengths of the fish of a group: lognormal.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FishLengths {
    /// Mean length, cm.
    pub mean_cm: f64,
    /// SD of the length over its mean.
    pub cv: f64,
    /// Share of the variance of ln length that the fish of one school have in common (fish of one school are of one
    /// size): 0 to 1.
    pub alike_in_school: f64,
}
