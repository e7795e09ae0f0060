/// Stands on every output that shows minutes of work under water.
pub const CAUTION: &str = "Minutes are for planning work; this is no dive plan. The diving officer on site, local rules \
                           and law, and licensed practice decide every dive.";
