//! `verify`: what a finished change did, from a log before it and one after it.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;
use jiff::civil::DateTime;

use crate::assess::Caution;
use crate::catalog::nearest;
use crate::house::{House, HouseFile};
use crate::readings::{Readings, Role};
use crate::report::{
    Folder, LogInput, ProofInput, VERIFIED_FILES, readings_text, refused_folder, refused_json,
    refused_text, verified_folder, verified_json, verified_text,
};
use crate::study::calibrate::{Prior, Task, priors};
use crate::study::verify::{Change, DRAWS, VerifyError, verify};
use crate::weather::Weather;

use super::common::Common;
use super::failure::Failure;
use super::log::{LogFile, weather_of};
use super::period::WeatherFile;
use super::progress::Progress;

/// Prove what a finished change did, from logs before and after it
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    rafterheat verify house.toml --before june.csv --after july.csv --change \"fans\"\n\n\
    The house file describes the house as it was; a design of it may describe the change. Both logs \
    are read alike (calibrate --help tells how), from thermometers left where they were, for three \
    days or more each; a week of each is better. The result is at equal weather: hotter days after \
    the change do not hide it, cooler ones do not flatter it.")]
pub(super) struct Verify {
    /// House file of the house as it was
    #[arg(value_name = "HOUSE")]
    house: PathBuf,
    /// Log before the change
    #[arg(long, value_name = "LOG")]
    before: PathBuf,
    /// Log after it
    #[arg(long, value_name = "LOG")]
    after: PathBuf,
    /// Design of the house file that describes the change
    #[arg(long, value_name = "DESIGN")]
    change: Option<String>,
    #[command(flatten)]
    columns: LogFile,
    #[command(flatten)]
    weather: WeatherFile,
    /// Replace the files of an earlier run in the folder of --out
    #[arg(long)]
    overwrite: bool,
}

/// A log with its weather and the days that it covers.
struct Logged {
    readings: Readings,
    weather: Weather,
    days: [DateTime; 2],
}

impl Logged {
    /// The house against this log.
    fn task<'a>(&'a self, file: &'a HouseFile, priors: &[Prior]) -> Task<'a> {
        Task {
            file,
            readings: &self.readings,
            weather: &self.weather,
            priors: priors.to_vec(),
            fit: self.days,
            kept_out: None,
            starts: 2,
        }
    }
}

impl Verify {
    pub(super) fn run(self, common: &Common, out: &mut dyn Write) -> Result<(), Failure> {
        if let (Some(folder), false) = (&common.out, self.overwrite) {
            let mut known = VERIFIED_FILES.iter().map(|name| folder.join(name));
            if let Some(path) = known.find(|path| path.exists()) {
                return Err(Failure::ProofExists { path });
            }
        }
        let file = House::read(&self.house)?;
        let changed = self
            .change
            .as_deref()
            .map(|design| changed(&file, &self.house, design))
            .transpose()?;
        let from_file = self.weather.read(&self.house)?;
        let before = self.logged(&self.before, &file, from_file.as_ref())?;
        let after = self.logged(&self.after, &file, from_file.as_ref())?;
        let all = priors(&file, &before.weather, &before.readings);
        let span_s = before.days[1].duration_since(before.days[0]).as_secs();
        let kept_s = span_s / 86_400 / 4 * 86_400;
        let split = before.days[1].saturating_sub(jiff::SignedDuration::from_secs(kept_s));
        let change = Change {
            before: Task {
                fit: [before.days[0], split],
                kept_out: (kept_s > 0).then_some([split, before.days[1]]),
                ..before.task(&file, &all)
            },
            after: after.task(&file, &all),
            draws: DRAWS,
            file: from_file.as_ref(),
            changed: changed.as_ref().map(|file| after.task(file, &all)),
        };
        let progress = Progress::start(common.quiet, "fitting: runs", usize::MAX);
        let result = verify(&change, &|| progress.step());
        progress.end();
        let system = common.system();
        let (name, design) = (file.base.name.as_str(), self.change.as_deref());
        let as_it_is = changed.as_ref().unwrap_or(&file);
        let cautions = Caution::of_house(&as_it_is.base);
        let input = ProofInput {
            system,
            house: name,
            change: design,
            logs: [&before, &after].map(|logged| LogInput {
                readings: &logged.readings,
                weather: &logged.weather,
            }),
            cautions: &cautions,
        };
        let found = match result {
            Ok(found) => found,
            Err(error) => {
                refused(common, out, &input, &error)?;
                return Err(match refused_text(system, &error) {
                    Some(told) => Failure::NotTold { told },
                    None => Failure::Verify(Box::new(error)),
                });
            }
        };
        let mut text = String::new();
        for logged in [&before, &after] {
            text.push_str(&readings_text(system, &logged.readings));
            text.push('\n');
        }
        text.push_str(&verified_text(system, name, design, &found));
        let json = verified_json(name, design, &found);
        common.finish(out, common.out.as_ref(), &text, &json, |folder| {
            Ok(verified_folder(folder, &input, &found)?)
        })
    }

    fn logged(
        &self,
        path: &Path,
        file: &HouseFile,
        from_file: Option<&Weather>,
    ) -> Result<Logged, Failure> {
        let offset_h = from_file.map(|weather| weather.place().utc_offset_h);
        let mut readings = self.columns.read(path, file, offset_h)?;
        if let Some(weather) = from_file {
            readings.drop_sun_touched(weather);
        }
        let weather = weather_of(&readings, file, from_file, &self.house)?;
        let days = days(&readings, &weather)?;
        Ok(Logged {
            readings,
            weather,
            days,
        })
    }
}

/// Writes the page of a change that cannot be told, if a folder is wanted, and says where it is.
fn refused(
    common: &Common,
    out: &mut dyn Write,
    input: &ProofInput<'_>,
    error: &VerifyError,
) -> Result<(), Failure> {
    let mut folder = Folder::default();
    let (Some(path), true) = (&common.out, refused_folder(&mut folder, input, error)) else {
        return Ok(());
    };
    let json = refused_json(input.house, input.change, error);
    folder.add("results.json", serde_json::to_string_pretty(&json)? + "\n");
    folder.write(path)?;
    if !common.json && !common.quiet {
        let page = path.join("verification.html");
        writeln!(out, "Why nothing can be told is in {}.", page.display())?;
    }
    Ok(())
}

/// The file of the house with the change.
fn changed(file: &HouseFile, house: &Path, design: &str) -> Result<HouseFile, Failure> {
    file.as_design(design).ok_or_else(|| {
        let known: Vec<String> = file.all().map(|house| house.design.clone()).collect();
        let near = nearest(design, known.iter().map(String::as_str)).map(str::to_owned);
        Failure::NoDesign {
            found: design.to_owned(),
            house: house.to_owned(),
            near,
            there: known,
        }
    })
}

/// The time that log and weather have in common.
fn days(readings: &Readings, weather: &Weather) -> Result<[DateTime; 2], Failure> {
    let epoch = DateTime::constant(1970, 1, 1, 0, 0, 0, 0);
    let mut span_s = [weather.start(), weather.end()].map(|at| at.duration_since(epoch).as_secs());
    for one in &readings.series {
        if let (Role::Inside(_), Some(first), Some(last)) =
            (&one.role, one.times_s.first(), one.times_s.last())
        {
            span_s = [span_s[0].max(*first), span_s[1].min(*last)];
        }
    }
    if span_s[1] - span_s[0] < 86_400 {
        return Err(Failure::NoCommonDays);
    }
    Ok(span_s.map(|at_s| epoch.saturating_add(jiff::SignedDuration::from_secs(at_s))))
}
