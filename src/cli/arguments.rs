use super::budget::Budget;
use super::check::Check;
use super::curves::Curves;
use super::new::New;
use super::pilot::Pilot;
use super::view::View;
use clap::{Args, Parser, Subcommand};
use std::path::PathBuf;

/// Plans reef surveys: how many sites, lines and dives does it take to see the change you care about, and what do you
/// see with the dives you have?
///
/// Without a command, the built-in demo expedition is run and its report written.
#[derive(Debug, Parser)]
#[command(version, max_term_width = 100)]
pub struct Arguments {
    #[command(subcommand)]
    pub command: Option<Command>,
    #[command(flatten)]
    pub shared: Shared,
}

#[derive(Debug, Subcommand)]
pub enum Command {
    New(New),
    Check(Check),
    Curves(Curves),
    Budget(Budget),
    View(View),
    Pilot(Box<Pilot>),
    /// Print the JSON Schema of a scenario, for editors
    Schema,
}

/// What all commands understand.
#[derive(Clone, Debug, Args)]
#[command(next_help_heading = "Options of all commands")]
pub struct Shared {
    /// Start of all random numbers: the same seed gives the same bytes
    #[arg(long, global = true, default_value_t = 1, value_name = "NUMBER")]
    pub seed: u64,
    /// Simulated surveys for each design, instead of --error
    #[arg(long, global = true, value_name = "NUMBER", conflicts_with = "error",
          value_parser = clap::value_parser!(u64).range(20..=100_000_000))]
    pub trials: Option<u64>,
    /// Largest simulation error (one standard error) of a power; 0.01 when left out
    #[arg(long, global = true, value_name = "NUMBER", value_parser = parse_error)]
    pub error: Option<f64>,
    /// Threads to work with; all cores when left out. The result does not depend on it
    #[arg(long, global = true, value_name = "NUMBER", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,
    /// Print the result as one JSON object
    #[arg(long, global = true)]
    pub json: bool,
    /// Folder to write the report into
    #[arg(long, global = true, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Say nothing on standard error but errors
    #[arg(long, global = true)]
    pub quiet: bool,
}

fn parse_error(text: &str) -> Result<f64, String> {
    let error: f64 = text.parse().map_err(|_| "write a number such as 0.01".to_owned())?;
    if (0.0005..=0.2).contains(&error) { Ok(error) } else { Err("must be from 0.0005 to 0.2".to_owned()) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_arguments_are_consistent() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn shared_options_stand_before_or_after_the_command() {
        for line in [["reefwright", "--seed", "7", "schema"], ["reefwright", "schema", "--seed", "7"]] {
            assert_eq!(Arguments::try_parse_from(line).unwrap().shared.seed, 7);
        }
        let neither = ["reefwright", "--trials", "100", "--error", "0.01"];
        assert!(Arguments::try_parse_from(neither).is_err());
        assert!(Arguments::try_parse_from(["reefwright", "--error", "NaN"]).is_err());
    }
}
