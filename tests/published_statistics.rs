//! Published worked examples and tables of the statistics, each with its source.
//!
//! "From memory" marks a value that was not read again in its source; "computed" one that no publication prints. The names
//! T1, V4 ... number the checks.

mod published {
    pub mod components;
    pub mod counts;
    pub mod power;
    pub mod precision;
}
