mod rule;

pub use rule::{CountingRule, Watch, Watched};
