//! Which weather, and which days of it.

use std::ops::Range;
use std::path::{Path, PathBuf};

use clap::Args;
use jiff::civil::{Date, DateTime};

use crate::weather::{ColumnMap, Place, Weather};

use super::failure::Failure;

/// Name of the weather file that is looked for beside a house file.
pub(super) const BESIDE: &str = "weather.csv";

/// Days of a year.
const YEAR_DAYS: usize = 365;

/// Which weather.
#[derive(Debug, Clone, Args)]
pub(super) struct WeatherFile {
    /// Weather file; left out, weather.csv beside the house file
    #[arg(long, value_name = "FILE")]
    weather: Option<PathBuf>,
    /// Description of the weather file's columns, if the file does not describe itself
    #[arg(long, value_name = "FILE", requires = "weather")]
    columns: Option<PathBuf>,
}

impl WeatherFile {
    /// Reads the weather, if any is named or lies beside the house file.
    pub(super) fn read(&self, house: &Path) -> Result<Option<Weather>, Failure> {
        let path = self.weather.clone().or_else(|| {
            let beside = house.with_file_name(BESIDE);
            beside.is_file().then_some(beside)
        });
        path.map(|path| read_weather(&path, self.columns.as_deref()))
            .transpose()
    }
}

/// Which weather, and which days of it.
#[derive(Debug, Clone, Args)]
pub(super) struct When {
    #[command(flatten)]
    source: WeatherFile,
    /// Days to run: hot-week, year, a day, or from..to with both days
    #[arg(long, default_value = "hot-week", value_name = "PERIOD")]
    period: String,
}

impl When {
    /// The place of the weather beside the house file, if there is any.
    pub(super) fn place(&self, house: &Path) -> Result<Option<Place>, Failure> {
        let weather = self.source.read(house)?;
        Ok(weather.map(|weather| weather.place().clone()))
    }

    /// Reads the weather and finds the period in it.
    pub(super) fn read(&self, house: &Path) -> Result<(Weather, Range<usize>), Failure> {
        let period = Period::parse(&self.period)?;
        let weather = self.source.read(house)?;
        let weather = weather.ok_or_else(|| Failure::NoWeather {
            house: house.to_owned(),
        })?;
        let intervals = period.find(&weather)?;
        Ok((weather, intervals))
    }
}

/// Reads a weather file, with the description of its columns if there is one.
pub(super) fn read_weather(path: &Path, columns: Option<&Path>) -> Result<Weather, Failure> {
    let map = columns
        .map(|path| {
            let text = std::fs::read_to_string(path).map_err(|source| Failure::Read {
                path: path.to_owned(),
                source,
            })?;
            ColumnMap::parse(&text).map_err(|source| Failure::Columns {
                path: path.to_owned(),
                source,
            })
        })
        .transpose()?;
    Ok(Weather::read(path, map.as_ref())?)
}

/// Days such as `2026-07-01..2026-07-14`, from the start of the first to the end of the last.
pub(super) fn dates(text: &str) -> Result<[DateTime; 2], Failure> {
    match Period::parse(text)? {
        Period::Days(first, last) => {
            let midnight = jiff::civil::Time::midnight();
            let after = last.tomorrow().unwrap_or(last);
            Ok([first.to_datetime(midnight), after.to_datetime(midnight)])
        }
        _ => Err(Failure::Period {
            found: text.to_owned(),
        }),
    }
}

/// Days to run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Period {
    HotWeek,
    Year,
    /// Both days included.
    Days(Date, Date),
}

impl Period {
    pub(super) fn parse(text: &str) -> Result<Self, Failure> {
        let fault = || Failure::Period {
            found: text.to_owned(),
        };
        match text {
            "hot-week" => return Ok(Self::HotWeek),
            "year" => return Ok(Self::Year),
            _ => {}
        }
        let (first, last) = text.split_once("..").unwrap_or((text, text));
        let date = |text: &str| text.trim().parse::<Date>().map_err(|_| fault());
        let (first, last) = (date(first)?, date(last)?);
        if last < first {
            return Err(Failure::PeriodBackwards {
                found: text.to_owned(),
            });
        }
        Ok(Self::Days(first, last))
    }

    pub(super) fn find(self, weather: &Weather) -> Result<Range<usize>, Failure> {
        match self {
            Self::HotWeek => weather
                .hottest_week()
                .map(|week| week.intervals)
                .ok_or(Failure::NoWholeWeek),
            Self::Year => {
                let per_day = (86_400 / weather.step_s().max(1)) as usize;
                let days = weather.intervals() / per_day;
                if days < YEAR_DAYS {
                    return Err(Failure::NoYear { days });
                }
                let to = weather.interval_start(YEAR_DAYS * per_day);
                Ok(weather.span(weather.start(), to)?)
            }
            Self::Days(first, last) => {
                let midnight = jiff::civil::Time::midnight();
                let after = last.tomorrow().unwrap_or(last);
                Ok(weather.span(first.to_datetime(midnight), after.to_datetime(midnight))?)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn periods_are_read() {
        let days = |a, b| Period::Days(a, b);
        for (text, period) in [
            ("hot-week", Period::HotWeek),
            ("year", Period::Year),
            ("2026-07-10", days(date(2026, 7, 10), date(2026, 7, 10))),
            (
                "2026-07-01..2026-07-14",
                days(date(2026, 7, 1), date(2026, 7, 14)),
            ),
        ] {
            assert_eq!(Period::parse(text).unwrap(), period);
        }
        for text in [
            "",
            "summer",
            "2026-07-14..2026-07-01",
            "2026-13-01",
            "2026-07-01..",
        ] {
            assert!(Period::parse(text).is_err(), "{text}");
        }
    }
}
