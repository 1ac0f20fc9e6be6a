//! `simulate`: one design, one period.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use jiff::civil::Date;

use crate::catalog::nearest;
use crate::house::{House, HouseFile};
use crate::report::{
    Case, case_json, read_high_low, results_folder, summary_text, tomorrow_json, tomorrow_text,
};
use crate::study::{effects_of, forecast_effects};
use crate::units::{Dimension, kelvin, parse};
use crate::weather::{MadeWeek, Place};

use super::common::{Common, run_all, weigh};
use super::failure::Failure;
use super::period::When;

/// Simulate one design of a house through days of weather
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    rafterheat simulate house.toml --weather summer.csv --design fans --out results\n\n\
    With --out the folder gets a page with charts (report.html), summary.txt, results.json, and \
    timeline.csv and nodes.csv with every temperature and flow.\n\n\
    What your loggers should read tomorrow:\n  \
    rafterheat simulate house.toml --tomorrow \"97 F / 64 F\"")]
pub(super) struct Simulate {
    /// House file
    #[arg(value_name = "HOUSE")]
    house: PathBuf,
    /// Design of the file to simulate [default: the house as it stands]
    #[arg(long, value_name = "NAME")]
    design: Option<String>,
    #[command(flatten)]
    when: When,
    /// A day's high and low from a forecast, such as "97 F / 64 F": what each thermometer of the
    /// house file should read tomorrow
    #[arg(long, value_name = "HIGH/LOW", conflicts_with_all = ["period", "weather"])]
    tomorrow: Option<String>,
    /// Wind of the forecast, by day in the open
    #[arg(long, value_name = "SPEED", requires = "tomorrow")]
    wind: Option<String>,
    /// Day that the forecast is for [default: tomorrow by this computer's clock]
    #[arg(long, value_name = "DATE", requires = "tomorrow")]
    date: Option<String>,
}

impl Simulate {
    pub(super) fn run(self, common: &Common, out: &mut dyn Write) -> Result<(), Failure> {
        let file = House::read(&self.house)?;
        let house = match &self.design {
            Some(name) => design(&file, name, &self.house)?,
            None => file.base.clone(),
        };
        if let Some(forecast) = &self.tomorrow {
            let place = self.when.place(&self.house)?;
            let mut week = made_week(forecast, self.date.as_deref(), &house, place)?;
            if let Some(wind) = &self.wind {
                week.wind_speed_m_s = quantity("wind", wind, Dimension::Speed)?;
            }
            return tomorrow(common, out, &file, house, &week, self.wind.is_some());
        }
        let (weather, period) = self.when.read(&self.house)?;
        let cases = run_all(common, vec![house], &weather, &period)?;
        let [case] = cases.as_slice() else {
            return Err(Failure::BuiltIn);
        };
        let system = common.system();
        let effects = weigh(common, || effects_of(&file, &case.house, &weather, &period))?;
        let effects = Some(effects.as_slice());
        let (text, json) = (
            summary_text(system, case, effects),
            case_json(case, effects),
        );
        finish(common, out, &cases, &text, &json)
    }
}

/// Share of a clear sky's sun on a day that is forecast as fine.
const FINE_DAY: f64 = 0.92;

/// A quantity of an option.
fn quantity(option: &'static str, text: &str, dimension: Dimension) -> Result<f64, Failure> {
    parse(text, dimension).map_err(|source| Failure::Quantity { option, source })
}

/// Days before the forecast one that are made like it.
const DAYS_BEFORE: i32 = 3;

/// Days that end with the one that is forecast.
fn made_week(
    forecast: &str,
    date: Option<&str>,
    house: &House,
    place: Option<Place>,
) -> Result<MadeWeek, Failure> {
    let texts = read_high_low(forecast).map_err(|wrong| Failure::Forecast {
        found: forecast.to_owned(),
        wrong,
    })?;
    let temp_k = |text: &str| quantity("tomorrow", text, Dimension::Temperature).map(kelvin);
    let mut week = MadeWeek {
        high_k: temp_k(&texts[0])?,
        low_k: temp_k(&texts[1])?,
        clearness: FINE_DAY,
        ..MadeWeek::default()
    };
    if let Some(place) = place {
        week.place = place;
    }
    if let Some(latitude_deg) = house.site.latitude_deg {
        week.place.latitude_deg = latitude_deg;
    }
    if let Some(longitude_deg) = house.site.longitude_deg {
        // Another place than the file's: its clock is not known, so the nearest zone's.
        if (longitude_deg - week.place.longitude_deg).abs() > 7.5 {
            week.place.utc_offset_h = (longitude_deg / 15.0).round();
        }
        week.place.longitude_deg = longitude_deg;
    }
    // A night that cools below the dew point would be fog.
    week.dew_point_k = week.dew_point_k.min(week.low_k - 2.0);
    let day = if let Some(text) = date {
        text.parse::<Date>().map_err(|_| Failure::Day {
            found: text.to_owned(),
        })?
    } else {
        let ahead_s = week.place.utc_offset_h * 3600.0 + 86_400.0;
        #[expect(clippy::cast_possible_truncation, reason = "a day and a few hours")]
        let tomorrow_s = jiff::Timestamp::now().as_second() + ahead_s as i64;
        let days = i32::try_from(tomorrow_s.div_euclid(86_400)).unwrap_or(0);
        Date::constant(1970, 1, 1).saturating_add(jiff::Span::new().days(days))
    };
    week.first_day = day.saturating_sub(jiff::Span::new().days(DAYS_BEFORE));
    week.days = 4;
    Ok(week)
}

/// What each thermometer should read on the last day of a made week.
fn tomorrow(
    common: &Common,
    out: &mut dyn Write,
    file: &HouseFile,
    house: House,
    week: &MadeWeek,
    wind_is_forecast: bool,
) -> Result<(), Failure> {
    let weather = week.weather()?;
    let end = weather.intervals();
    let cases = run_all(
        common,
        vec![house],
        &weather,
        &(end.saturating_sub(24)..end),
    )?;
    let [case] = cases.as_slice() else {
        return Err(Failure::BuiltIn);
    };
    let effects = weigh(common, || {
        forecast_effects(file, &case.house, week, wind_is_forecast)
    })?;
    let system = common.system();
    let text = tomorrow_text(system, case, week, &effects);
    let mut json = case_json(case, Some(&effects));
    json["tomorrow"] = tomorrow_json(case, week, &effects);
    finish(common, out, &cases, &text, &json)
}

/// Tells a design's results, and writes them into a folder if one was named.
fn finish(
    common: &Common,
    out: &mut dyn Write,
    cases: &[Case],
    text: &str,
    json: &serde_json::Value,
) -> Result<(), Failure> {
    let name = cases.first().map_or("", |case| &case.house.name);
    common.finish(out, common.out.as_ref(), text, json, |folder| {
        Ok(results_folder(folder, name, common.system(), cases, &[])?)
    })
}

/// The design of a name.
fn design(file: &HouseFile, name: &str, path: &std::path::Path) -> Result<House, Failure> {
    let there: Vec<String> = file.all().map(|house| house.design.clone()).collect();
    file.find(name).cloned().ok_or_else(|| Failure::NoDesign {
        found: name.to_owned(),
        house: path.to_owned(),
        near: nearest(name, there.iter().map(String::as_str)).map(str::to_owned),
        there,
    })
}
