//! `check`: what was understood of a house file.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::house::House;
use crate::report::{check_json, check_text};

use super::common::Common;
use super::failure::Failure;

/// Check a house file: what was understood, what was assumed, what looks wrong
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  rafterheat check house.toml")]
pub(super) struct Check {
    /// House file
    #[arg(value_name = "HOUSE")]
    house: PathBuf,
}

impl Check {
    pub(super) fn run(self, common: &Common, out: &mut dyn Write) -> Result<(), Failure> {
        let file = House::read(&self.house)?;
        let system = common.system();
        let text = check_text(system, &file.base, &file.designs);
        let json = check_json(&file.base, &file.designs);
        common.finish(out, common.out.as_ref(), &text, &json, |_| Ok(()))
    }
}
