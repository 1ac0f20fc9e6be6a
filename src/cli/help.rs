//! `help`: pages on measuring a house and reading results.

use std::io::Write;

use clap::{Args, CommandFactory};

use crate::catalog::nearest;
use crate::report::{TOPICS, topics_text};

use super::Cli;
use super::failure::Failure;

/// Pages on measuring an attic, fans and batteries, placing loggers and reading results
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  rafterheat help attic\n\nWithout a topic, the list of them.")]
pub(super) struct Help {
    /// Page to show, or a command
    #[arg(value_name = "TOPIC")]
    topic: Option<String>,
}

impl Help {
    pub(super) fn run(self, out: &mut dyn Write) -> Result<(), Failure> {
        let Some(name) = self.topic else {
            out.write_all(topics_text().as_bytes())?;
            return Ok(());
        };
        let wanted = name.to_lowercase().replace([' ', '_'], "-");
        if let Some(topic) = TOPICS.iter().find(|topic| topic.name == wanted) {
            out.write_all(topic.text.as_bytes())?;
            return Ok(());
        }
        let mut commands = Cli::command();
        // Gives the commands their full names and the options that all take.
        commands.build();
        if let Some(command) = commands.find_subcommand_mut(&wanted) {
            write!(out, "{}", command.render_long_help())?;
            return Ok(());
        }
        let there: Vec<String> = TOPICS.iter().map(|topic| topic.name.to_owned()).collect();
        Err(Failure::NoTopic {
            near: nearest(&wanted, there.iter().map(String::as_str)).map(str::to_owned),
            found: name,
            there,
        })
    }
}
