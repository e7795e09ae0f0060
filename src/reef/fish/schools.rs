use serde::Serialize;

/// How many fish swim together. Sizes are whole numbers from 1.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SchoolLaw {
    /// Each on its own.
    Alone,
    /// Always two.
    Pairs,
    /// A lognormal size rounded to a whole number, at least 1.
    LogNormal { median: f64, ln_sd: f64 },
    /// The logarithmic series, `P(n)` in proportion to `p^n / n`: many alone, few in large schools.
    Logarithmic { p: f64 },
    /// Poisson around a mean (a school may then have no fish): the Neyman-Scott process of the textbooks.
    Poisson { mean: f64 },
}
