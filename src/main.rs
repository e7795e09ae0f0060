fn main() -> std::process::ExitCode {
    reefwright::cli::run()
}
