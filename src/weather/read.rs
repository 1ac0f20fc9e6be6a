//! From a file to weather: one reader, screening, a regular step, gaps, what is missing.

use std::path::Path;

use crate::physics::moist_air;

use super::derive;
use super::dew_point;
use super::problem::{Problems, shorten};
use super::raw::{Raw, civil_time};
use super::solar::Site;
use super::{ColumnMap, Kind, Notice, Problem, Quantity, Weather, WeatherError};
use super::{delimited, grid, repair, tmy3};

/// Largest file that is read, MB: a year of minutes has some 60 MB.
const LARGEST_MB: u64 = 200;

impl Weather {
    /// Reads a weather file: TMY3, or any delimited file that describes itself in `#:` lines or
    /// through `map`.
    ///
    /// # Errors
    /// Anything that makes the file unusable, with all faults of its rows at once.
    pub fn read(path: &Path, map: Option<&ColumnMap>) -> Result<Self, WeatherError> {
        let read = |source| WeatherError::Read {
            path: path.into(),
            source,
        };
        let megabytes = std::fs::metadata(path).map_err(read)?.len() >> 20;
        if megabytes >= LARGEST_MB {
            let path = path.into();
            return Err(WeatherError::TooLarge {
                path,
                megabytes,
                limit_megabytes: LARGEST_MB,
            });
        }
        Self::parse(&std::fs::read(path).map_err(read)?, path, map)
    }

    /// Reads the bytes of a weather file; `path` is used in messages only.
    ///
    /// # Errors
    /// As [`Weather::read`].
    pub fn parse(bytes: &[u8], path: &Path, map: Option<&ColumnMap>) -> Result<Self, WeatherError> {
        if let Some(byte) = bytes.iter().position(|&byte| byte == 0) {
            return Err(WeatherError::NotText {
                path: path.into(),
                byte,
            });
        }
        // A degree sign in another encoding spoils a name, never a number.
        let text = String::from_utf8_lossy(bytes);
        let text = text.trim_start_matches('\u{feff}');
        if text.trim().is_empty() {
            return Err(WeatherError::Empty { path: path.into() });
        }
        let mut problems = Problems::default();
        let raw = match map {
            Some(map) => delimited::read(text, map, &mut problems),
            None if tmy3::is_tmy3(text) => tmy3::read(text, &mut problems),
            None => {
                let description = delimited::embedded_description(text)
                    .ok_or_else(|| needs_description(text, path))?;
                let map =
                    ColumnMap::parse(&description).map_err(|source| WeatherError::Description {
                        path: path.into(),
                        source,
                    })?;
                delimited::read(text, &map, &mut problems)
            }
        };
        let weather = raw.and_then(|raw| finish(raw, &mut problems));
        problems.check(path)?;
        weather.ok_or_else(|| WeatherError::Empty { path: path.into() })
    }
}

fn needs_description(text: &str, path: &Path) -> WeatherError {
    let first = text
        .lines()
        .find(|line| !line.trim().is_empty())
        .unwrap_or_default();
    WeatherError::NeedsDescription {
        path: path.into(),
        first_line: shorten(first),
    }
}

/// From rows to weather.
fn finish(mut raw: Raw, problems: &mut Problems) -> Option<Weather> {
    raw.screen(problems);
    if !raw.has(Quantity::DryBulb) {
        problems.push(Problem::Missing {
            quantity: Quantity::DryBulb,
        });
    }
    dew_point_of_rows(&mut raw);
    let series = grid::regular(&mut raw, problems)?;
    if !problems.is_empty() {
        return None;
    }
    let (from_s, to_s) = series.covers();
    let site = Site::new(&raw.place, from_s - 86_400, to_s + 86_400);
    let mut notices = std::mem::take(&mut raw.notices);
    let mut grid = series.on_clock(raw.kind == Kind::Typical, &site, &mut notices);
    if grid.intervals == 0 {
        problems.push(Problem::TooFewRows {
            rows: raw.rows.len(),
        });
        return None;
    }
    let holes = repair::fill(&mut grid, &site, &mut notices);
    let altitude_m = raw.place.altitude_m;
    let options = derive::Options {
        altitude_m,
        albedo: raw.albedo,
        range_coefficient: raw.range_coefficient,
    };
    let (air, radiation) = derive::complete(&grid, &site, &options, &mut notices);
    Some(Weather {
        place: raw.place,
        kind: raw.kind,
        source: raw.source,
        licence: raw.licence,
        start: civil_time(grid.start_s),
        step_s: u32::try_from(grid.step_s).unwrap_or(3600),
        wind_height_m: raw.wind_height_m,
        air,
        radiation,
        snow_m2k_w: Vec::new(),
        site,
        holes,
        notices,
    })
}

/// Dew points brought to frost points below freezing, and from relative humidity where a row has
/// none of its own.
fn dew_point_of_rows(raw: &mut Raw) {
    let (dry, dew, humid) = (
        Quantity::DryBulb as usize,
        Quantity::DewPoint as usize,
        Quantity::RelativeHumidity as usize,
    );
    let mut derived = false;
    let had_dew_point = raw.has(Quantity::DewPoint);
    for row in &mut raw.rows {
        let (temp_k, share) = (row.values[dry], row.values[humid]);
        row.values[dew] = dew_point::kept_k(row.values[dew]);
        if row.values[dew].is_nan() && !temp_k.is_nan() && !share.is_nan() {
            // Below 1 % an instrument says nothing, and zero has no dew point.
            let vapour_pa = share.max(0.01) * dew_point::over_water_pa(temp_k);
            row.values[dew] = moist_air::dew_point_k(vapour_pa);
            derived = true;
        }
    }
    if derived && !had_dew_point {
        raw.notices.push(Notice::DewPointFromRelativeHumidity);
    }
}
