//! Weather for the days of a log: what was measured at the house goes before any other source.

use std::path::Path;

use crate::elementary::{atan2, cos, sin};
use crate::weather::{ColumnMap, Place, Quantity, Weather, WeatherError};

use super::description::Role;
use super::read::{Readings, Series, civil};
use super::screen::is_smooth;

/// Readings are bridged over at most so long, s.
const BRIDGED_S: i64 = 3 * 3600;

/// The weather of a log's days: readings taken outdoors, and for the rest a weather file of the
/// same days; without a file everything else is derived as for any weather file with few columns.
/// The log must be on the standard time of the place.
///
/// # Errors
/// [`WeatherError`] if the log holds no outdoor temperature and there is no file, or if what it
/// holds makes no weather.
pub fn outdoor_weather(
    readings: &Readings,
    file: Option<&Weather>,
    place: &Place,
) -> Result<Weather, WeatherError> {
    let outdoors: Vec<(Quantity, &Series)> = readings
        .series
        .iter()
        .filter_map(|series| match series.role {
            Role::Outdoors(quantity) => Some((quantity, series)),
            Role::Inside(_) => None,
        })
        .collect();
    let Some(file) = file else {
        return alone(readings, &outdoors, place);
    };
    let start_s = file.start().duration_since(civil(0)).as_secs();
    let step_s = i64::from(file.step_s());
    let columns: Vec<(Quantity, Vec<f64>)> = outdoors
        .into_iter()
        .map(|(quantity, series)| {
            let count = file.intervals() + usize::from(quantity.is_of_air());
            (quantity, on_grid(quantity, series, start_s, step_s, count))
        })
        .collect();
    Ok(file.with_measured(&columns))
}

/// Weather from nothing but the log.
fn alone(
    readings: &Readings,
    outdoors: &[(Quantity, &Series)],
    place: &Place,
) -> Result<Weather, WeatherError> {
    let step_s = grid_step_s(outdoors);
    let [first_s, last_s] = readings.span_s();
    let start_s = first_s.div_euclid(step_s) * step_s;
    let count = usize::try_from((last_s - start_s) / step_s + 1).unwrap_or(0);
    let columns: Vec<(Quantity, Vec<f64>)> = outdoors
        .iter()
        .map(|(quantity, series)| {
            (
                *quantity,
                on_grid(*quantity, series, start_s, step_s, count),
            )
        })
        .collect();
    let mut text = String::from("time");
    for (quantity, _) in &columns {
        text.push(',');
        text.push_str(quantity.key());
    }
    text.push('\n');
    for row in 0..count {
        use std::fmt::Write as _;
        let at = civil(start_s + i64::try_from(row).unwrap_or(0) * step_s);
        let _ = write!(text, "{}", at.strftime("%Y-%m-%d %H:%M"));
        for (quantity, column) in &columns {
            // A mean is written at the end of its interval.
            let value = if quantity.is_of_air() {
                column.get(row)
            } else {
                row.checked_sub(1).and_then(|before| column.get(before))
            };
            match value.filter(|value| value.is_finite()) {
                Some(value) => {
                    let _ = write!(text, ",{value}");
                }
                None => text.push(','),
            }
        }
        text.push('\n');
    }
    let mut map = ColumnMap::parse(&description(place, &columns)).map_err(|source| {
        WeatherError::Description {
            path: readings.source.clone().into(),
            source,
        }
    })?;
    map.place = place.clone();
    map.source = format!("outdoor readings in {}", readings.source);
    Weather::parse(text.as_bytes(), Path::new(&readings.source), Some(&map))
}

fn description(place: &Place, columns: &[(Quantity, Vec<f64>)]) -> String {
    use std::fmt::Write as _;
    let mut text = format!(
        "place = \"\"\nlatitude_deg = {}\nlongitude_deg = {}\naltitude_m = {}\nutc_offset_h = {}\n\
         stamp = \"end\"\nreadings = \"instant\"\n\
         time = {{ column = \"time\", format = \"%Y-%m-%d %H:%M\" }}\n[columns]\n",
        place.latitude_deg, place.longitude_deg, place.altitude_m, place.utc_offset_h
    );
    for (quantity, _) in columns {
        let unit = match quantity {
            Quantity::DryBulb | Quantity::DewPoint => "K",
            Quantity::Pressure => "Pa",
            Quantity::WindSpeed => "m/s",
            Quantity::WindDirection => "rad",
            Quantity::RelativeHumidity | Quantity::CloudCover | Quantity::Albedo => "1",
            _ => "W/m2",
        };
        let key = quantity.key();
        let _ = writeln!(text, "{key} = {{ column = \"{key}\", unit = \"{unit}\" }}");
    }
    text
}

/// A step of weather near that of the readings, s.
fn grid_step_s(outdoors: &[(Quantity, &Series)]) -> i64 {
    let mut steps: Vec<i64> = outdoors
        .iter()
        .flat_map(|(_, series)| series.times_s.windows(2).map(|pair| pair[1] - pair[0]))
        .collect();
    steps.sort_unstable();
    match steps.get(steps.len() / 2) {
        Some(..=900) => 900,
        Some(..=1800) => 1800,
        _ => 3600,
    }
}

/// A series on a regular grid; what it does not tell is not a number. Means over intervals start
/// with the interval at `start_s`.
fn on_grid(
    quantity: Quantity,
    series: &Series,
    start_s: i64,
    step_s: i64,
    count: usize,
) -> Vec<f64> {
    let half_s = step_s / 2;
    (0..count)
        .map(|index| {
            let at_s = start_s + i64::try_from(index).unwrap_or(0) * step_s;
            let middle_s = if quantity.is_of_air() {
                at_s
            } else {
                at_s + half_s
            };
            let from = series.times_s.partition_point(|t| *t < middle_s - half_s);
            let to = series.times_s.partition_point(|t| *t < middle_s + half_s);
            let inside = &series.values[from..to];
            if inside.len() > 1 || (!is_smooth(quantity) && inside.len() == 1) {
                if quantity == Quantity::WindDirection {
                    return mean_direction(inside);
                }
                return inside.iter().sum::<f64>() / inside.len() as f64;
            }
            let next = series.times_s.partition_point(|t| *t < middle_s);
            if let Some(exact) = series.times_s.get(next).filter(|t| **t == middle_s) {
                debug_assert_eq!(*exact, middle_s);
                return series.values[next];
            }
            if !is_smooth(quantity) {
                return f64::NAN;
            }
            let pair = next
                .checked_sub(1)
                .and_then(|before| Some((before, *series.times_s.get(next)?)));
            match pair {
                Some((before, next_s)) if next_s - series.times_s[before] <= BRIDGED_S => {
                    let before_s = series.times_s[before];
                    let share = (middle_s - before_s) as f64 / (next_s - before_s) as f64;
                    series.values[before] + share * (series.values[next] - series.values[before])
                }
                _ => f64::NAN,
            }
        })
        .collect()
}

fn mean_direction(angles_rad: &[f64]) -> f64 {
    let (sine, cosine) = angles_rad.iter().fold((0.0, 0.0), |(s, c), angle| {
        (s + sin(*angle), c + cos(*angle))
    });
    atan2(sine, cosine).rem_euclid(std::f64::consts::TAU)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_land_on_the_grid_and_gaps_stay_open() {
        let minutes = |minute: i64| minute * 60;
        let series = Series {
            role: Role::Outdoors(Quantity::DryBulb),
            times_s: [-30, 30, 90, 400, 460].map(minutes).to_vec(),
            values: vec![290.0, 292.0, 294.0, 300.0, 302.0],
        };
        let grid = on_grid(Quantity::DryBulb, &series, 0, 3600, 8);
        assert!((grid[0] - 291.0).abs() < 1e-12 && (grid[1] - 293.0).abs() < 1e-12);
        assert!(grid[2..7].iter().all(|value| value.is_nan()), "{grid:?}");
        assert!((grid[7] - 300.0 - 2.0 / 3.0).abs() < 1e-9, "{grid:?}");
    }

    #[test]
    fn directions_are_averaged_round_north() {
        let mean = mean_direction(&[6.2, 0.08]);
        assert!(!(0.1..6.2).contains(&mean), "{mean}");
    }
}
