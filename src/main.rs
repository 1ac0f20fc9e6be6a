//! The `rafterheat` command.

fn main() -> std::process::ExitCode {
    rafterheat::cli::main()
}
