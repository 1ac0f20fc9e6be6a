//! `new`: a house of one's own to start from.

use std::fmt::Write as _;
use std::io::IsTerminal as _;
use std::io::{BufRead, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use jiff::SignedDuration;

use crate::house::{HouseFile, STARTER};
use crate::report::{Folder, Interview, Reply};
use crate::run::{Outcome, RunOptions, simulate};
use crate::units::celsius;
use crate::weather::Weather;

use super::common::Common;
use super::demo::SUMMER;
use super::failure::Failure;

/// Files that may be written.
const FILES: [&str; 3] = ["house.toml", "weather.csv", "log.csv"];

/// Days of the example log.
const LOG_DAYS: usize = 3;

/// Start a house of your own: a house file to change, weather to try it with, an example log
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  rafterheat new my-house\n  \
    rafterheat compare my-house/house.toml\n\n\
    With --ask the questions come one by one in the terminal, or are answered from a pipe, a line \
    each. Nothing that is there is overwritten.")]
pub(super) struct New {
    /// Folder to write
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// Ask about the house, question by question; "don't know" is an answer
    #[arg(long)]
    ask: bool,
}

impl New {
    pub(super) fn run(self, common: &Common, out: &mut dyn Write) -> Result<(), Failure> {
        // Before anyone has answered a dozen questions for nothing.
        for name in FILES {
            let path = self.folder.join(name);
            if path.exists() {
                return Err(Failure::Exists { path });
            }
        }
        let talk = if self.ask {
            let answers = std::io::stdin().lock();
            // With --json nothing but the document may stand on standard output.
            let talk = if common.json {
                interview(answers, &mut anstream::stderr(), &self.folder)?
            } else {
                interview(answers, out, &self.folder)?
            };
            match talk {
                Some(talk) => Some(talk),
                None => return Ok(()),
            }
        } else {
            None
        };
        let (house, week) = match &talk {
            Some(talk) => (talk.house_file(), talk.week()),
            None => (STARTER.to_owned(), None),
        };
        let made = week.is_some();
        let weather_text = match week {
            Some(week) => week.weather()?.to_text(),
            None => SUMMER.to_owned(),
        };
        let file = HouseFile::from_text(&house, "house.toml")?;
        let weather = Weather::parse(weather_text.as_bytes(), Path::new("weather.csv"), None)?;
        let mut folder = Folder::default();
        folder.add("house.toml", house);
        folder.add("weather.csv", weather_text);
        if !file.base.sensors.is_empty() {
            folder.add("log.csv", log(&file, &weather)?);
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
            let whose = if talk.is_some() {
                "your house, with every question as a remark"
            } else {
                "a house to change into yours, every line explained"
            };
            let weather = if made {
                "a week of days like the one you gave, made up, not measured"
            } else {
                "a measured hot month in California, until you have your own"
            };
            write!(
                out,
                "Written to {}:\n  house.toml   {whose}\n  weather.csv  {weather}\n",
                self.folder.display()
            )?;
            if !file.base.sensors.is_empty() {
                writeln!(
                    out,
                    "  log.csv      what a log of thermometers looks like (worked out, not measured)"
                )?;
            }
            writeln!(
                out,
                "\nIt runs as it is:\n  rafterheat check {house}\n  rafterheat compare {house}"
            )?;
        }
        Ok(())
    }
}

/// Asks until all is answered or the owner leaves.
fn interview(
    mut answers: impl BufRead,
    out: &mut dyn Write,
    folder: &Path,
) -> Result<Option<Interview>, Failure> {
    writeln!(
        out,
        "A walk round your house: about a dozen questions, each answered in a line as\n\
         you would say it. Use either system of units, and say as much as you know.\n\
         Enter alone means \"don't know\"; back goes back; quit leaves and writes nothing."
    )?;
    let name = folder.file_name().map(|name| name.to_string_lossy());
    let mut talk = name.map_or_else(Interview::new, Interview::named);
    let mut fresh = true;
    let at_a_terminal = std::io::stdin().is_terminal();
    for line in 1.. {
        if fresh {
            write!(out, "{}", talk.ask())?;
        }
        write!(out, "   ? ")?;
        out.flush()?;
        let mut typed = String::new();
        let read = answers.read_line(&mut typed).map_err(Failure::Answers)?;
        if read == 0 {
            writeln!(out)?;
            return Err(Failure::BrokenOff);
        }
        fresh = true;
        match talk.answer(&typed) {
            Reply::Taken(words) => write!(out, "{words}")?,
            Reply::Again(words) => {
                write!(out, "{words}")?;
                fresh = false;
                // Nobody is there to say it otherwise, and the next line answers another question.
                if !at_a_terminal {
                    return Err(Failure::Refused { line });
                }
            }
            Reply::Back => {}
            Reply::Done => {
                writeln!(out)?;
                return Ok(Some(talk));
            }
            Reply::Quit => {
                writeln!(out, "Left; nothing was written.")?;
                return Ok(None);
            }
        }
    }
    Err(Failure::BrokenOff)
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
