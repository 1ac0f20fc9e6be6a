//! `check`: what was understood of a house file.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::house::House;
use crate::report::{check_json, check_text};
use crate::study::effects;

use super::common::{Common, weigh};
use super::failure::Failure;
use super::period::WeatherFile;

/// Check a house file: what was understood, what was assumed, what looks wrong
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  rafterheat check house.toml --weather summer.csv\n\n\
    With weather, what was assumed is told in the order of what it does to the attic."
)]
pub(super) struct Check {
    /// House file
    #[arg(value_name = "HOUSE")]
    house: PathBuf,
    #[command(flatten)]
    source: WeatherFile,
}

impl Check {
    pub(super) fn run(self, common: &Common, out: &mut dyn Write) -> Result<(), Failure> {
        let file = House::read(&self.house)?;
        let system = common.system();
        let effects = match self.source.read(&self.house)? {
            Some(weather) => Some(weigh(common, || effects(&file, &weather))?),
            None => None,
        };
        let effects = effects.as_deref();
        let text = check_text(system, &file.base, &file.designs, effects);
        let json = check_json(&file.base, &file.designs, effects);
        common.finish(out, common.out.as_ref(), &text, &json, |_| Ok(()))
    }
}
