//! `demo`: the main job on a house and a week that are built in.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;

use crate::house::{DEMO, HouseFile};
use crate::report::{cautions_text, compare_json, compare_text, results_folder, why_text};
use crate::weather::Weather;

use super::common::{Common, run_all};
use super::compare::all_cautions;
use super::failure::Failure;

/// Measured summer weather that is built in.
pub(super) const SUMMER: &str =
    include_str!("../../weather-samples/delta-california-2017-summer.csv");

/// Folder that the demo writes if none is named.
const FOLDER: &str = "hot-week";

/// Show what fans, a barrier, and both do in a hot week, for a house that is built in
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  rafterheat demo --units si\n\n\
    Writes the folder hot-week, or another with --out.")]
pub(super) struct Demo {}

impl Demo {
    #[expect(clippy::unused_self, reason = "commands are run alike")]
    pub(super) fn run(self, common: &Common, out: &mut dyn Write) -> Result<(), Failure> {
        let file = HouseFile::from_text(DEMO, "demo.toml")?;
        let weather = Weather::parse(SUMMER.as_bytes(), Path::new("built-in weather"), None)?;
        let week = weather.hottest_week().ok_or(Failure::NoWholeWeek)?;
        let houses = file.all().cloned().collect();
        let cases = run_all(common, houses, &weather, &week.intervals)?;
        let system = common.system();
        let text = format!(
            "Four designs of one house in one hot week. The house is invented, the weather\n\
             was measured.\n\n{}{}{}",
            compare_text(system, &cases, &[]),
            why_text(system, &cases),
            cautions_text(system, &all_cautions(&cases)),
        );
        let json = compare_json(&cases, &[]);
        let path = common.out.clone().unwrap_or_else(|| PathBuf::from(FOLDER));
        common.finish(out, Some(&path), &text, &json, |folder| {
            folder.add("house.toml", DEMO);
            Ok(results_folder(folder, "A hot week", system, &cases, &[])?)
        })
    }
}
