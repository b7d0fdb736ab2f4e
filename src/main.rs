//! The `loamledger` program: parse, run, exit status.

fn main() -> std::process::ExitCode {
    std::process::ExitCode::SUCCESS
}
