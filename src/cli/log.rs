//! Which log, and which column of it is what.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;

use crate::house::{HouseFile, SensorZone};
use crate::readings::{LogColumns, Readings, outdoor_weather};
use crate::report::guess_text;
use crate::weather::{Place, Weather};

use super::failure::Failure;

/// How a log is read.
#[derive(Debug, Clone, Args)]
pub(super) struct LogFile {
    /// Description of the log's columns, if the log does not describe itself in "#:" lines
    #[arg(long, value_name = "FILE")]
    log_columns: Option<PathBuf>,
    /// Take the description that is guessed from the log's header, as it is shown without this
    #[arg(long, conflicts_with = "log_columns")]
    accept_guess: bool,
    /// Clock of the log for the guess, such as America/New_York, or -5 for one that never changes
    /// [default: the weather's standard time]
    #[arg(long, value_name = "ZONE", allow_hyphen_values = true)]
    zone: Option<String>,
}

impl LogFile {
    /// Reads a log on the standard time of the place. Without a description the guess is shown and
    /// nothing is read.
    pub(super) fn read(
        &self,
        path: &Path,
        file: &HouseFile,
        utc_offset_h: Option<f64>,
    ) -> Result<Readings, Failure> {
        let columns = match &self.log_columns {
            Some(described) => {
                let text = std::fs::read_to_string(described).map_err(|source| Failure::Read {
                    path: described.clone(),
                    source,
                })?;
                LogColumns::parse(&text).map_err(|source| Failure::LogColumns {
                    path: described.clone(),
                    source,
                })?
            }
            None => self.embedded_or_guessed(path, file, utc_offset_h)?,
        };
        let readings = Readings::read(path, &columns)?;
        Ok(match utc_offset_h {
            Some(utc_offset_h) => readings.on_standard_time(utc_offset_h),
            None => readings,
        })
    }

    fn embedded_or_guessed(
        &self,
        path: &Path,
        file: &HouseFile,
        utc_offset_h: Option<f64>,
    ) -> Result<LogColumns, Failure> {
        let bytes = std::fs::read(path).map_err(|source| Failure::Read {
            path: path.to_owned(),
            source,
        })?;
        let text = String::from_utf8_lossy(&bytes);
        let embedded = LogColumns::embedded(&text).map_err(|source| Failure::LogColumns {
            path: path.to_owned(),
            source,
        })?;
        if let Some(columns) = embedded {
            return Ok(columns);
        }
        let sensors: Vec<&str> = file.base.sensors.iter().map(|s| s.name.as_str()).collect();
        let zone = self.zone.clone();
        let zone = zone.unwrap_or_else(|| utc_offset_h.unwrap_or(0.0).to_string());
        let in_attic = file.base.sensors.iter();
        let mut in_attic = in_attic.filter(|sensor| sensor.zone == SensorZone::Attic);
        let only = match (in_attic.next(), in_attic.next()) {
            (Some(sensor), None) => Some(sensor.name.as_str()),
            _ => None,
        };
        let guess = LogColumns::guess_of(&bytes, path, &sensors, only, &zone)?;
        if self.accept_guess {
            return Ok(guess.columns);
        }
        let mut stderr = anstream::stderr();
        // If standard error is gone, the exit status still tells.
        let _ = write!(stderr, "{}", guess_text(&guess));
        Err(Failure::GuessNotAccepted {
            path: path.to_owned(),
        })
    }
}

/// The weather of a log's days.
pub(super) fn weather_of(
    readings: &Readings,
    file: &HouseFile,
    weather: Option<&Weather>,
    house: &Path,
) -> Result<Weather, Failure> {
    let place = if let Some(weather) = weather {
        weather.place().clone()
    } else {
        let site = &file.base.site;
        let (Some(latitude_deg), Some(longitude_deg)) = (site.latitude_deg, site.longitude_deg)
        else {
            return Err(Failure::NoPlace {
                house: house.to_owned(),
            });
        };
        Place {
            name: file.base.name.clone(),
            latitude_deg,
            longitude_deg,
            utc_offset_h: readings.utc_offset_h,
            altitude_m: 0.0,
        }
    };
    Ok(outdoor_weather(readings, weather, &place)?)
}
