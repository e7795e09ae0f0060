use crate::scenario::ScenarioError;
use std::process::ExitCode;

/// Why a command ended without its result.
#[derive(Debug)]
pub struct Failure {
    pub message: String,
    bad_input: bool,
}

impl Failure {
    /// What the user gave cannot be used: exit code 2, nothing was written.
    pub fn bad_input(message: impl Into<String>) -> Self {
        Failure { message: message.into(), bad_input: true }
    }

    /// Anything else: exit code 1.
    pub fn other(message: impl Into<String>) -> Self {
        Failure { message: message.into(), bad_input: false }
    }

    pub fn exit_code(&self) -> ExitCode {
        ExitCode::from(if self.bad_input { 2 } else { 1 })
    }
}

impl From<ScenarioError> for Failure {
    fn from(error: ScenarioError) -> Self {
        Failure::bad_input(error.render())
    }
}
