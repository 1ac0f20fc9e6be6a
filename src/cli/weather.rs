//! `weather`: what a weather file holds; `weather make`: a week from a forecast.

use std::io::Write;
use std::path::PathBuf;

use clap::{Args, Subcommand};
use jiff::civil::Date;

use crate::report::{weather_json, weather_text};
use crate::units::{Dimension, kelvin, parse};
use crate::weather::{MadeError, MadeFault, MadeWeek};

use super::common::Common;
use super::failure::Failure;
use super::period::read_weather;

/// Describe a weather file, or make one from a forecast
#[derive(Debug, Args)]
#[command(
    args_conflicts_with_subcommands = true,
    subcommand_negates_reqs = true,
    after_help = "Examples:\n  rafterheat weather summer.csv\n  \
        rafterheat weather make july.csv --high \"104 F\" --low \"66 F\" --latitude 38.1 \
        --longitude=-121.6 --utc-offset=-8"
)]
pub(super) struct Weather {
    /// Weather file: TMY3, or any table with a description of its columns
    #[arg(value_name = "FILE", required = true)]
    file: Option<PathBuf>,
    /// Description of the file's columns, if the file does not describe itself
    #[arg(long, value_name = "FILE")]
    columns: Option<PathBuf>,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    Make(Make),
}

/// Make days of weather, all alike, from a daily high and low
///
/// For someone who has nothing but a forecast. Such weather is marked as made wherever it is used.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    rafterheat weather make july.csv --high \"104 F\" --low \"66 F\" --latitude 38.1 \
    --longitude=-121.6 --utc-offset=-8 --from 2026-07-10")]
struct Make {
    /// File to write; one that is there is not overwritten
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Each day's high, such as "104 F" or "40 C"
    #[arg(long, value_name = "TEMPERATURE")]
    high: String,
    /// Each day's low
    #[arg(long, value_name = "TEMPERATURE")]
    low: String,
    /// Degrees north
    #[arg(long, value_name = "DEGREES", allow_negative_numbers = true)]
    latitude: f64,
    /// Degrees east; west is negative
    #[arg(long, value_name = "DEGREES", allow_negative_numbers = true)]
    longitude: f64,
    /// Standard time less universal time, hours: -8 on the US Pacific coast
    #[arg(long, value_name = "HOURS", allow_negative_numbers = true)]
    utc_offset: f64,
    /// Height above the sea
    #[arg(long, default_value = "0 ft", value_name = "LENGTH")]
    altitude: String,
    /// Name of the place
    #[arg(long, default_value = "made place", value_name = "NAME")]
    place: String,
    /// First day
    #[arg(long, default_value = "2026-07-10", value_name = "DATE")]
    from: String,
    /// Number of days
    #[arg(long, default_value_t = 7, value_name = "N")]
    days: u16,
    /// Dew point
    #[arg(long, default_value = "55 F", value_name = "TEMPERATURE")]
    dew_point: String,
    /// Wind speed
    #[arg(long, default_value = "6 mph", value_name = "SPEED")]
    wind: String,
    /// Direction the wind blows from, such as SW or "225 deg"
    #[arg(long, default_value = "SW", value_name = "DIRECTION")]
    wind_from: String,
    /// Share of a clear sky's sun, 0.25 (overcast) to 1
    #[arg(long, default_value_t = 1.0, value_name = "SHARE")]
    clearness: f64,
}

impl Weather {
    pub(super) fn run(self, common: &Common, out: &mut dyn Write) -> Result<(), Failure> {
        match (self.command, self.file) {
            (Some(Command::Make(make)), _) => make.run(common, out),
            (None, Some(file)) => {
                let weather = read_weather(&file, self.columns.as_deref())?;
                describe(&weather, common, out)
            }
            // The parser asks for one of the two.
            (None, None) => Err(Failure::BuiltIn),
        }
    }
}

fn describe(
    weather: &crate::weather::Weather,
    common: &Common,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let description = weather.describe();
    let text = weather_text(common.system(), &description);
    let json = weather_json(&description);
    common.finish(out, common.out.as_ref(), &text, &json, |_| Ok(()))
}

impl Make {
    fn run(self, common: &Common, out: &mut dyn Write) -> Result<(), Failure> {
        let quantity = |option: &'static str, text: &str, dimension| {
            parse(text, dimension).map_err(|source| Failure::Quantity { option, source })
        };
        let temp_k = |option: &'static str, text: &str| {
            quantity(option, text, Dimension::Temperature).map(kelvin)
        };
        let defaults = MadeWeek::default();
        let mut place = defaults.place;
        place.name.clone_from(&self.place);
        place.latitude_deg = self.latitude;
        place.longitude_deg = self.longitude;
        place.utc_offset_h = self.utc_offset;
        place.altitude_m = quantity("altitude", &self.altitude, Dimension::Length)?;
        let first_day: Date = self.from.parse().map_err(|_| Failure::Date {
            found: self.from.clone(),
        })?;
        let week = MadeWeek {
            place,
            first_day,
            days: self.days,
            high_k: temp_k("high", &self.high)?,
            low_k: temp_k("low", &self.low)?,
            dew_point_k: temp_k("dew-point", &self.dew_point)?,
            wind_speed_m_s: quantity("wind", &self.wind, Dimension::Speed)?,
            wind_direction_rad: quantity("wind-from", &self.wind_from, Dimension::Angle)?,
            clearness: self.clearness,
        };
        let weather = week.weather().map_err(|error| Failure::Made {
            faults: self.faults(&error),
        })?;
        if self.file.exists() {
            return Err(Failure::Exists { path: self.file });
        }
        weather.write(&self.file)?;
        describe(&weather, common, out)?;
        if !common.json && !common.quiet {
            writeln!(out, "\nwritten to {}", self.file.display())?;
        }
        Ok(())
    }
    /// The faults with what was typed.
    fn faults(&self, error: &MadeError) -> Vec<String> {
        let typed = |what: &str| match what {
            "high" => Some(("--high", self.high.clone())),
            "low" => Some(("--low", self.low.clone())),
            "dew point" => Some(("--dew-point", self.dew_point.clone())),
            "wind" => Some(("--wind", self.wind.clone())),
            "wind direction" => Some(("--wind-from", self.wind_from.clone())),
            "altitude" => Some(("--altitude", self.altitude.clone())),
            "latitude" => Some(("--latitude", self.latitude.to_string())),
            "longitude" => Some(("--longitude", self.longitude.to_string())),
            "UTC offset" => Some(("--utc-offset", self.utc_offset.to_string())),
            "days" => Some(("--days", self.days.to_string())),
            "clearness" => Some(("--clearness", self.clearness.to_string())),
            _ => None,
        };
        let words = |fault: &MadeFault| match typed(fault.what) {
            Some((option, text)) => format!("{option} {text}: accepts {}", fault.accepts),
            None => fault.to_string(),
        };
        error.faults.iter().map(words).collect()
    }
}
