//! TMY3: a typical year of hourly records.
//!
//! Source: Wilcox & Marion 2008, Users Manual for TMY3 Data Sets, NREL/TP-581-43156 (from
//! memory; checked against a file as distributed). Stamps mark the end of the hour, `24:00` ends
//! the day, months come from different years, −9900 is missing, and an albedo of 0 from source
//! `?` is missing.

use jiff::civil::Date;

use super::column_map::{Readings, Stamp};
use super::column_map_text::USUAL_WIND_HEIGHT_M;
use super::problem::{Problem, Problems, shorten};
use super::raw::{QUANTITIES, Raw, Row, midnight};
use super::{ColumnUnit, Kind, Place, Quantity};

/// How the second line of every TMY3 file begins.
const HEADER: &str = "Date (MM/DD/YYYY),Time (HH:MM)";
const STATION: &str = "number, name, state, UTC offset, latitude, longitude, altitude";

/// Column in the header, unit of it, and what it holds. Opaque cover is read, not total cover.
const COLUMNS: [(&str, &str, Quantity); 11] = [
    ("GHI (W/m^2)", "W/m2", Quantity::Global),
    ("DNI (W/m^2)", "W/m2", Quantity::DirectNormal),
    ("DHI (W/m^2)", "W/m2", Quantity::Diffuse),
    ("OpqCld (tenths)", "tenths", Quantity::CloudCover),
    ("Dry-bulb (C)", "C", Quantity::DryBulb),
    ("Dew-point (C)", "C", Quantity::DewPoint),
    ("RHum (%)", "%", Quantity::RelativeHumidity),
    ("Pressure (mbar)", "mbar", Quantity::Pressure),
    ("Wdir (degrees)", "deg", Quantity::WindDirection),
    ("Wspd (m/s)", "m/s", Quantity::WindSpeed),
    ("Alb (unitless)", "1", Quantity::Albedo),
];

/// Whether a text is a TMY3 file; `#` lines may come first.
pub(super) fn is_tmy3(text: &str) -> bool {
    text.lines()
        .filter(|line| !line.starts_with('#'))
        .nth(1)
        .is_some_and(|l| l.starts_with(HEADER))
}

/// Reads a TMY3 file.
pub(super) fn read(text: &str, problems: &mut Problems) -> Option<Raw> {
    let mut lines = text
        .lines()
        .enumerate()
        .map(|(i, line)| (i + 1, line))
        .filter(|l| !l.1.starts_with('#'));
    let (station_line, station) = lines.next()?;
    let place = station_place(station_line, station, problems);
    let (_, header) = lines.next()?;
    let names: Vec<&str> = header.split(',').map(str::trim).collect();
    let mut columns = std::array::from_fn(|_| None);
    let mut places = [usize::MAX; QUANTITIES];
    for (name, unit, quantity) in COLUMNS {
        let found = names.iter().position(|&found| found == name);
        if let (Some(i), Some(unit_found)) = (found, ColumnUnit::find(quantity, unit)) {
            places[quantity as usize] = i;
            columns[quantity as usize] = Some((name.to_owned(), unit_found, unit.to_owned()));
        }
    }
    let albedo_source = names.iter().position(|&found| found == "Alb source");
    let needed = places
        .iter()
        .filter(|&&i| i != usize::MAX)
        .max()
        .map_or(2, |i| i + 1);
    let mut rows = Vec::new();
    for (line, text) in lines {
        if text.trim().is_empty() {
            continue;
        }
        let fields: Vec<&str> = text.split(',').map(str::trim).collect();
        if fields.len() < needed.max(2) {
            problems.push(Problem::ShortRow {
                line,
                found: fields.len(),
                needed: needed.max(2),
            });
            continue;
        }
        let Some(at_s) = stamp(fields[0], fields[1]) else {
            problems.push(Problem::Stamp {
                line,
                found: shorten(&format!("{} {}", fields[0], fields[1])),
                expected: "MM/DD/YYYY HH:MM".into(),
            });
            continue;
        };
        let mut values = [f64::NAN; QUANTITIES];
        for (q, column) in columns.iter().enumerate() {
            let Some((name, unit, _)) = column else {
                continue;
            };
            let field = fields[places[q]];
            match field.parse::<f64>() {
                Ok(number) if number.is_finite() => {
                    if number > -9899.0 {
                        values[q] = unit.to_si(number);
                    }
                }
                _ if field.is_empty() => {}
                _ => problems.push(Problem::Number {
                    line,
                    column: name.clone(),
                    found: shorten(field),
                }),
            }
        }
        let no_albedo = albedo_source
            .and_then(|i| fields.get(i))
            .is_some_and(|&s| s == "?");
        if no_albedo || values[Quantity::Albedo as usize] <= 0.0 {
            values[Quantity::Albedo as usize] = f64::NAN;
        }
        rows.push(Row { line, at_s, values });
    }
    Some(Raw {
        source: said(text, "source").unwrap_or_else(|| format!("TMY3 {}", place.name)),
        licence: said(text, "licence").unwrap_or_default(),
        place,
        kind: Kind::Typical,
        stamp: Stamp::End,
        readings: Readings::AtStamp,
        radiation_offset_s: None,
        columns,
        rows,
        wind_height_m: USUAL_WIND_HEIGHT_M,
        albedo: None,
        range_coefficient: None,
        notices: Vec::new(),
    })
}

/// What a `# word: …` line before the station line says.
fn said(text: &str, word: &str) -> Option<String> {
    text.lines()
        .map_while(|line| line.strip_prefix('#'))
        .filter_map(|line| line.split_once(':'))
        .find(|(name, _)| name.trim().eq_ignore_ascii_case(word))
        .map(|(_, said)| said.trim().to_owned())
}

fn station_place(line: usize, text: &str, problems: &mut Problems) -> Place {
    let fields: Vec<&str> = text
        .split(',')
        .map(|f| f.trim().trim_matches('"'))
        .collect();
    // A name may hold commas: the numbers are counted from the end.
    let numbers: Vec<f64> = fields
        .iter()
        .rev()
        .take(4)
        .map_while(|field| field.parse::<f64>().ok().filter(|x| x.is_finite()))
        .collect();
    let in_range = |place: &Place| {
        place.latitude_deg.abs() <= 90.0
            && place.longitude_deg.abs() <= 180.0
            && place.utc_offset_h.abs() <= 14.0
            && (-450.0..=6000.0).contains(&place.altitude_m)
    };
    let place = match (numbers.as_slice(), fields.len()) {
        (&[altitude_m, longitude_deg, latitude_deg, utc_offset_h], 7..) => Place {
            name: fields[1..fields.len() - 4].join(", "),
            latitude_deg,
            longitude_deg,
            utc_offset_h,
            altitude_m,
        },
        _ => Place {
            name: String::new(),
            latitude_deg: f64::NAN,
            longitude_deg: 0.0,
            utc_offset_h: 0.0,
            altitude_m: 0.0,
        },
    };
    if !in_range(&place) {
        problems.push(Problem::Station {
            line,
            expected: STATION,
            found: shorten(text),
        });
    }
    place
}

/// Seconds since 1970 of a stamp such as `12/31/1980 24:00`.
fn stamp(date: &str, time: &str) -> Option<i64> {
    let mut date = date.splitn(3, '/');
    let (month, day, year) = (date.next()?, date.next()?, date.next()?);
    let date = Date::new(year.parse().ok()?, month.parse().ok()?, day.parse().ok()?).ok()?;
    let (hour, minute) = time.split_once(':')?;
    let (hour, minute): (i64, i64) = (hour.parse().ok()?, minute.parse().ok()?);
    ((0..=24).contains(&hour) && (0..60).contains(&minute))
        .then(|| midnight(date) + hour * 3600 + minute * 60)
}

#[cfg(test)]
mod tests {
    use super::super::raw::civil_time;
    use super::*;

    #[test]
    fn the_last_hour_of_a_day_ends_at_midnight() {
        let at = civil_time(stamp("12/31/1980", "24:00").unwrap());
        assert_eq!(at.to_string(), "1981-01-01T00:00:00");
        assert_eq!(stamp("02/30/1980", "01:00"), None);
        assert_eq!(stamp("01/01/1980", "25:00"), None);
    }

    #[test]
    fn a_station_name_may_hold_commas() {
        let mut problems = Problems::default();
        let place = station_place(1, "1,\"A, B\",NC,-5.0,36.1,-79.95,273", &mut problems);
        assert!(problems.is_empty());
        assert_eq!((place.name.as_str(), place.altitude_m), ("A, B, NC", 273.0));
    }

    #[test]
    fn a_station_line_out_of_range_is_a_problem() {
        let mut problems = Problems::default();
        station_place(1, "1,X,NC,-5.0,136.1,-79.95,273", &mut problems);
        assert!(!problems.is_empty());
    }
}
