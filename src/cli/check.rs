//! `check`: what was understood of a house file.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::house::House;
use crate::report::{Folder, check_json, check_text};

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
        let mut folder = Folder::default();
        folder.add("check.txt", text.clone());
        folder.add("check.json", serde_json::to_string_pretty(&json)? + "\n");
        let wanted = common.out.as_ref().map(|path| (path, &folder));
        common.finish(out, wanted, || text, || json)
    }
}
