//! The command line: one file a command.

mod calibrate;
mod check;
mod common;
mod compare;
mod completions;
mod demo;
mod failure;
mod help;
mod log;
mod man;
mod merge;
mod new;
mod period;
mod progress;
mod simulate;
mod sweep;
mod sweep_input;
mod verify;
mod weather;

use std::ffi::OsString;
use std::io::Write;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

use common::Common;
use failure::Failure;

/// What attic fans, more vents, foil, insulation or a lighter roof really do to your attic and
/// your rooms.
#[derive(Debug, Parser)]
#[command(
    name = "rafterheat",
    version,
    after_help = "Start with\n  rafterheat demo            a built-in house in a measured hot week\n  \
                  rafterheat new my-house    files of your own to change",
    max_term_width = 80,
    subcommand_required = true,
    arg_required_else_help = true,
    disable_help_subcommand = true
)]
struct Cli {
    #[command(flatten)]
    common: Common,
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Demo(demo::Demo),
    New(new::New),
    Check(check::Check),
    Weather(weather::Weather),
    Simulate(simulate::Simulate),
    Compare(compare::Compare),
    Sweep(sweep::Sweep),
    Merge(merge::Merge),
    Calibrate(calibrate::Calibrate),
    Verify(verify::Verify),
    Help(help::Help),
    #[command(hide = true)]
    Completions(completions::Completions),
    #[command(hide = true)]
    Man(man::Man),
}

/// Runs the command line of this process.
pub fn main() -> ExitCode {
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    let code = run(std::env::args_os(), &mut out);
    ExitCode::from(code)
}

/// Runs a command line and gives its exit status: 0 done, 1 it ran and failed, 2 the input or the
/// command line is wrong. Results go to `out`, everything else to standard error.
pub fn run(args: impl IntoIterator<Item = OsString>, out: &mut dyn Write) -> u8 {
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version are errors to the parser only.
            let _ = error.print();
            return u8::from(error.use_stderr()) * 2;
        }
    };
    let common = cli.common;
    let result = common.start().and_then(|()| match cli.command {
        Command::Demo(command) => command.run(&common, out),
        Command::New(command) => command.run(&common, out),
        Command::Check(command) => command.run(&common, out),
        Command::Weather(command) => command.run(&common, out),
        Command::Simulate(command) => command.run(&common, out),
        Command::Compare(command) => command.run(&common, out),
        Command::Sweep(command) => command.run(&common, out),
        Command::Merge(command) => command.run(&common, out),
        Command::Calibrate(command) => command.run(&common, out),
        Command::Verify(command) => command.run(&common, out),
        Command::Help(command) => command.run(out),
        Command::Completions(command) => command.run(out),
        Command::Man(command) => command.run(out),
    });
    let result = result.and_then(|()| out.flush().map_err(Failure::Print));
    match result {
        Ok(()) => 0,
        // Whoever read the output has seen enough.
        Err(Failure::Print(error)) if error.kind() == std::io::ErrorKind::BrokenPipe => 0,
        Err(failure) => {
            failure.tell();
            failure.exit_code()
        }
    }
}
