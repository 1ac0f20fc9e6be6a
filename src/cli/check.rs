//! `check`: what was understood of a house file.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::house::{House, HouseFile};
use crate::report::{check_json, check_text};

use crate::study::{Effect, effects};
use crate::weather::Weather;

use super::common::Common;
use super::failure::Failure;
use super::period::WeatherFile;
use super::progress::Progress;

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
            Some(weather) => Some(weigh(common, &file, &weather)?),
            None => None,
        };
        let effects = effects.as_deref();
        let text = check_text(system, &file.base, &file.designs, effects);
        let json = check_json(&file.base, &file.designs, effects);
        common.finish(out, common.out.as_ref(), &text, &json, |_| Ok(()))
    }
}

/// How much each assumption moves the result.
fn weigh(common: &Common, file: &HouseFile, weather: &Weather) -> Result<Vec<Effect>, Failure> {
    let progress = Progress::start(common.quiet, "weighing what was assumed", 0);
    let result = effects(file, weather);
    progress.end();
    result.map_err(|source| Failure::Run {
        design: file.base.design.clone(),
        source,
    })
}
