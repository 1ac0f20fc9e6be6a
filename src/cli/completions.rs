//! `completions`: for a shell.

use std::io::Write;

use clap::{Args, CommandFactory};
use clap_complete::Shell;

use super::Cli;
use super::failure::Failure;

/// Print completions for a shell
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  rafterheat completions bash > ~/.local/share/bash-completion/completions/rafterheat"
)]
pub(super) struct Completions {
    /// Shell
    #[arg(value_enum)]
    shell: Shell,
}

impl Completions {
    pub(super) fn run(self, out: &mut dyn Write) -> Result<(), Failure> {
        let mut text = Vec::new();
        clap_complete::generate(self.shell, &mut Cli::command(), "rafterheat", &mut text);
        out.write_all(&text)?;
        Ok(())
    }
}
