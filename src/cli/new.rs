//! `new`: a house of one's own to start from.

use std::fmt::Write as _;
use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;
use jiff::SignedDuration;

use crate::house::{HouseFile, STARTER};
use crate::report::Folder;
use crate::run::{Outcome, RunOptions, simulate};
use crate::units::celsius;
use crate::weather::Weather;

use super::common::Common;
use super::demo::SUMMER;
use super::failure::Failure;

/// Days of the example log.
const LOG_DAYS: usize = 3;

/// Start a house of your own: a house file to change, weather to try it with, an example log
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  rafterheat new my-house\n  \
    rafterheat compare my-house/house.toml\n\nNothing that is there is overwritten.")]
pub(super) struct New {
    /// Folder to write
    #[arg(value_name = "DIR")]
    folder: PathBuf,
}

impl New {
    pub(super) fn run(self, common: &Common, out: &mut dyn Write) -> Result<(), Failure> {
        let file = HouseFile::from_text(STARTER, "house.toml")?;
        let weather = Weather::parse(SUMMER.as_bytes(), Path::new("weather.csv"), None)?;
        let mut folder = Folder::default();
        folder.add("house.toml", STARTER);
        folder.add("weather.csv", SUMMER);
        folder.add("log.csv", log(&file, &weather)?);
        for path in folder.paths() {
            let path = self.folder.join(path);
            if path.exists() {
                return Err(Failure::Exists { path });
            }
        }
        folder.write(&self.folder)?;
        if common.json {
            let files: Vec<String> = folder
                .paths()
                .map(|path| self.folder.join(path).display().to_string())
                .collect();
            let document = serde_json::json!({"schema": 1, "written": files});
            writeln!(out, "{}", serde_json::to_string_pretty(&document)?)?;
        } else if !common.quiet {
            let house = self.folder.join("house.toml");
            let house = house.display();
            writeln!(
                out,
                "Written to {}:\n  house.toml   a house to change into yours, every line explained\n  \
                 weather.csv  a measured hot month in California, until you have your own\n  \
                 log.csv      what a log of thermometers looks like (worked out, not measured)\n\n\
                 It runs as it is:\n  rafterheat check {house}\n  rafterheat compare {house}",
                self.folder.display()
            )?;
        }
        Ok(())
    }
}

/// A log such as thermometers write, worked out for the house as it stands.
fn log(file: &HouseFile, weather: &Weather) -> Result<String, Failure> {
    let week = weather
        .hottest_week()
        .ok_or(Failure::NoWholeWeek)?
        .intervals;
    let per_day = (86_400 / weather.step_s().max(1)) as usize;
    let days = week.start..(week.start + LOG_DAYS * per_day).min(week.end);
    let outcome: Outcome =
        simulate(&file.base, weather, days, &RunOptions::default()).map_err(|source| {
            Failure::Run {
                design: file.base.design.clone(),
                source,
            }
        })?;
    let mut text = String::from(
        "# Readings of thermometers, as an example of a log: worked out for the house beside it, not measured.\n\
         # Temperatures in degrees F; clock time with daylight saving, an hour ahead of standard time.\n\
         time,outdoors",
    );
    for sensor in &outcome.trace.sensors_k {
        let _ = write!(text, ",{}", sensor.name);
    }
    text.push('\n');
    let fahrenheit = |temp_k: f64| celsius(temp_k) * 1.8 + 32.0;
    // Every other reading of the fine grid: ten minutes.
    for index in (0..outcome.trace.times_s.len()).step_by(2) {
        #[expect(clippy::cast_possible_truncation, reason = "seconds of three days")]
        let ahead = SignedDuration::from_secs(outcome.trace.times_s[index] as i64 + 3600);
        let at = outcome.start.saturating_add(ahead);
        let _ = write!(
            text,
            "{},{:.1}",
            at.strftime("%Y-%m-%d %H:%M"),
            fahrenheit(outcome.trace.outdoor_k[index])
        );
        for sensor in &outcome.trace.sensors_k {
            let _ = write!(text, ",{:.1}", fahrenheit(sensor.reading_k[index]));
        }
        text.push('\n');
    }
    Ok(text)
}
