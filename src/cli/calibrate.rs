//! `calibrate`: what is not known of a house, fitted to its log.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;
use jiff::civil::DateTime;
use serde_json::Value;

use crate::house::{House, HouseFile};
use crate::readings::{Readings, Role};
use crate::report::{
    FitInput, Folder, advice_json, advice_text, calibration_json, calibration_text, clock_json,
    clock_text, exchanged_text, fit_folder, notices_text, readings_text,
};
use crate::run::Notice;
use crate::study::calibrate::{
    CalibrationError, Prior, Target, Task, advise, calibrate, clock_error, priors, refuse_exchanged,
};
use crate::units::parse;
use crate::weather::Weather;

use super::common::Common;
use super::failure::Failure;
use super::log::{LogFile, weather_of};
use super::period::{WeatherFile, dates};
use super::progress::Progress;

/// Fit what you do not know of a house to logged temperatures
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    rafterheat calibrate house.toml --log attic.csv --weather summer.csv\n\n\
    The log is any delimited file with a header. Tell what its columns are in a file given with \
    --log-columns:\n  \
    zone = \"America/Los_Angeles\"       # or hours such as -8, for a clock that never changes\n  \
    time = { column = \"Timestamp\", format = \"%m/%d/%Y %H:%M\" }\n  \
    [columns]\n  \
    ridge = { column = \"Attic\", unit = \"F\" }      # a thermometer of the house file\n  \
    outdoor = { column = \"Yard\", unit = \"F\" }     # goes before the weather file's\n  \
    rooms = { column = \"Hall\", unit = \"F\" }       # drives the rooms in place of working them out\n\n\
    Without it a description is guessed and shown, and used only with --accept-guess. Other names: \
    attic_ridge, attic_air, attic_low, deck_underside, attic_floor, ceiling_underside, living_air; \
    outdoor_humidity, wind_speed, wind_direction, global and the other quantities of a weather \
    file.\n\n\
    With --out the folder gets a page that shows how good the fit is (calibration.html), its charts, \
    summary.txt, results.json, and residuals.csv with every reading beside what was worked out.")]
pub(super) struct Calibrate {
    /// House file
    #[arg(value_name = "HOUSE")]
    house: PathBuf,
    /// Log to fit to
    #[arg(long, value_name = "LOG")]
    log: PathBuf,
    #[command(flatten)]
    columns: LogFile,
    #[command(flatten)]
    weather: WeatherFile,
    /// Days to fit, from..to with both days [default: the first four fifths of the log]
    #[arg(long, value_name = "DAYS")]
    fit: Option<String>,
    /// Days kept out of the fit, to see how good it is [default: the last fifth]
    #[arg(long, value_name = "DAYS")]
    keep_out: Option<String>,
    /// Fit a key of the house file too, within what is likely, such as "roof.pitch=4:12..6:12"
    #[arg(long, value_name = "KEY=LOW..HIGH")]
    also: Vec<String>,
    /// Number of starts of the search
    #[arg(long, value_name = "N", default_value_t = 3)]
    starts: usize,
    /// Calibrated house file to write [default: beside the house file, with -calibrated in its name]
    #[arg(long, value_name = "FILE")]
    write: Option<PathBuf>,
    /// Replace the calibrated house file if it is there
    #[arg(long)]
    overwrite: bool,
}

impl Calibrate {
    pub(super) fn run(self, common: &Common, out: &mut dyn Write) -> Result<(), Failure> {
        let file = House::read(&self.house)?;
        let target = self.target();
        if target.exists() && !self.overwrite {
            return Err(Failure::CalibratedExists { path: target });
        }
        let from_file = self.weather.read(&self.house)?;
        let offset_h = from_file
            .as_ref()
            .map(|weather| weather.place().utc_offset_h);
        let mut readings = self.columns.read(&self.log, &file, offset_h)?;
        if let Some(weather) = &from_file {
            readings.drop_sun_touched(weather);
        }
        let weather = weather_of(&readings, &file, from_file.as_ref(), &self.house)?;
        let (fit, kept_out) = self.periods(&readings, &weather)?;
        let mut all = priors(&file, &weather, &readings);
        for text in &self.also {
            let own = varied(&file, text)?;
            all.retain(|prior| prior.name() != own.name());
            all.push(own);
        }
        let task = Task {
            file: &file,
            readings: &readings,
            weather: &weather,
            priors: all,
            fit,
            kept_out,
            starts: self.starts,
        };
        let progress = Progress::start(common.quiet, "fitting: runs", usize::MAX);
        let result = calibrate(&task, &|| progress.step()).and_then(|found| {
            let step = || progress.step();
            // Poorly met as it is, the clock need not be looked at first.
            refuse_exchanged(&task, &found, None)?;
            let clock = clock_error(&task, &found, true, from_file.as_ref(), &step)?;
            refuse_exchanged(&task, &found, clock.as_ref())?;
            let advice = advise(&task, Some(&found), &step)?;
            Ok((found, clock, advice))
        });
        progress.end();
        let (found, clock, advice) = result.map_err(refused)?;
        let system = common.system();
        let name = &file.base.name;
        let mut text = readings_text(system, &readings);
        text.push_str("\nWeather\n");
        let notices: Vec<Notice> = weather
            .notices()
            .iter()
            .cloned()
            .map(Notice::Weather)
            .collect();
        text.push_str(&notices_text(system, &notices));
        if let Some(clock) = &clock {
            text.push_str(&clock_text(system, clock));
        }
        text.push('\n');
        text.push_str(&calibration_text(system, name, &found));
        text.push_str(&advice.as_ref().map_or_else(String::new, advice_text));
        let names: Vec<&str> = task.priors.iter().map(Prior::name).collect();
        let log = self.log.file_name().unwrap_or_default().to_string_lossy();
        let readings = format!("{log}, {} to {}", fit[0].date(), fit[1].date());
        let calibrated = file.rewritten(&found.settings_with_doubt(&file, &names, &readings))?;
        write_file(&target, &calibrated)?;
        text.push_str("\nThe calibrated house file is ");
        text.push_str(&target.display().to_string());
        text.push_str(".\n");
        let mut json = calibration_json(name, &found);
        json["clock"] = clock.as_ref().map_or(Value::Null, clock_json);
        json["log_next"] = advice.as_ref().map_or(Value::Null, advice_json);
        common.finish(out, common.out.as_ref(), &text, &json, |folder| {
            let input = FitInput {
                system,
                house: name,
                log: &log,
                fit: &found,
                clock: clock.as_ref(),
                weather: &weather,
                text: &text,
            };
            Ok(fit_folder(folder, &input)?)
        })
    }

    fn target(&self) -> PathBuf {
        self.write.clone().unwrap_or_else(|| {
            let stem = self.house.file_stem().unwrap_or_default().to_string_lossy();
            self.house.with_file_name(format!("{stem}-calibrated.toml"))
        })
    }

    /// The days that are fitted and those that are kept out.
    fn periods(
        &self,
        readings: &Readings,
        weather: &Weather,
    ) -> Result<([DateTime; 2], Option<[DateTime; 2]>), Failure> {
        let given = |text: &Option<String>| text.as_deref().map(dates).transpose();
        let (fit, kept_out) = (given(&self.fit)?, given(&self.keep_out)?);
        if let Some(fit) = fit {
            return Ok((fit, kept_out));
        }
        let epoch = DateTime::constant(1970, 1, 1, 0, 0, 0, 0);
        let start_s = weather.start().duration_since(epoch).as_secs();
        let end_s = weather.end().duration_since(epoch).as_secs();
        let inside = readings
            .series
            .iter()
            .filter(|one| matches!(one.role, Role::Inside(_)));
        let spans = inside.filter_map(|one| Some([*one.times_s.first()?, *one.times_s.last()?]));
        let span = spans.reduce(|a, b| [a[0].min(b[0]), a[1].max(b[1])]);
        let [first_s, last_s] = span.unwrap_or([start_s, end_s]);
        let first_s = first_s.max(start_s);
        let last_s = last_s.min(end_s);
        let day_s = 86_400;
        let days = (last_s - first_s) / day_s;
        if days < 1 {
            return Err(Failure::NoCommonDays);
        }
        let kept = if kept_out.is_some() || days < 5 {
            0
        } else {
            (days / 5).max(1)
        };
        let at = |seconds: i64| epoch.saturating_add(jiff::SignedDuration::from_secs(seconds));
        let split_s = last_s - kept * day_s;
        let own = (kept > 0).then(|| [at(split_s), at(last_s)]);
        Ok(([at(first_s), at(split_s)], kept_out.or(own)))
    }
}

/// Why nothing was fitted, with what to do if the log's columns are exchanged.
fn refused(error: CalibrationError) -> Failure {
    match error {
        CalibrationError::Exchanged(exchanged) => Failure::Exchanged {
            told: exchanged_text(&exchanged),
        },
        error => Failure::Calibrate(Box::new(error)),
    }
}

/// An unknown of the command line.
fn varied(file: &HouseFile, text: &str) -> Result<Prior, Failure> {
    let wrong = || Failure::Also {
        found: text.to_owned(),
    };
    let (key, range) = text.split_once('=').ok_or_else(wrong)?;
    let (low, high) = range.split_once("..").ok_or_else(wrong)?;
    let (dimension, limits) = file.limits(key.trim()).ok_or_else(wrong)?;
    let quantity = |text: &str| {
        parse(text, dimension).map_err(|source| Failure::Quantity {
            option: "also",
            source,
        })
    };
    let (low, high) = (quantity(low)?, quantity(high)?);
    let middle = if low > 0.0 && high > 3.0 * low {
        (low * high).sqrt()
    } else {
        f64::midpoint(low, high)
    };
    if high <= low {
        return Err(wrong());
    }
    let target = Target::Key {
        key: key.trim().to_owned(),
        dimension,
    };
    Ok(Prior::new(
        target,
        [middle, low, high],
        limits,
        "given on the command line",
    ))
}

/// Writes a file whole or not at all.
fn write_file(path: &Path, text: &str) -> Result<(), Failure> {
    let mut folder = Folder::default();
    folder.add(path.file_name().unwrap_or_default(), text);
    Ok(folder.write(path.parent().unwrap_or_else(|| Path::new("")))?)
}
