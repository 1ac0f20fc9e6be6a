//! `man`: manual pages.

use std::io::Write;

use clap::{Args, CommandFactory};

use super::Cli;
use super::failure::Failure;

/// Print a manual page, of the program or of one of its commands
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  rafterheat man simulate > rafterheat-simulate.1")]
pub(super) struct Man {
    /// Command; left out, the program
    command: Option<String>,
}

impl Man {
    pub(super) fn run(self, out: &mut dyn Write) -> Result<(), Failure> {
        let mut program = Cli::command();
        program.build();
        let page = if let Some(name) = &self.command {
            let Some(command) = program.find_subcommand(name) else {
                let there = program
                    .get_subcommands()
                    .filter(|command| !command.is_hide_set());
                return Err(Failure::NoCommand {
                    found: name.clone(),
                    there: there.map(|command| command.get_name().to_owned()).collect(),
                });
            };
            command.clone()
        } else {
            program
        };
        let mut text = Vec::new();
        clap_mangen::Man::new(page).render(&mut text)?;
        out.write_all(&text)?;
        Ok(())
    }
}
