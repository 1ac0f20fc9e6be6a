//! What a forecast of a day's high and low leaves open.

use rayon::prelude::*;

use crate::house::{Assumption, House, HouseFile, Spread};
use crate::run::RunError;
use crate::units::show::{self, System};
use crate::units::{Dimension, celsius};
use crate::weather::MadeWeek;

use super::effects::{Effect, Measures, Other, effects_of, run};

/// Wind that a fine hot day may have, m/s.
const WIND_M_S: [f64; 2] = [1.0, 5.0];

/// Least share of a clear sky's sun on a day that is forecast as fine.
const HAZE: f64 = 0.75;

/// Wind that was forecast, as a share of it: how far it may be off either way.
const WIND_SHARE: [f64; 2] = [0.7, 1.3];

/// How far the dew point may be off, K.
const DEW_K: f64 = 6.0;

/// What is not known of a house and of the weather on the last day of a made week: each varied by
/// itself, the strongest on the attic's high first. A wind that was forecast varies less than one
/// that was taken. A week from which no weather can be made gives
/// nothing.
///
/// # Errors
/// [`RunError`] if the house as it is cannot be run.
pub fn forecast_effects(
    file: &HouseFile,
    house: &House,
    week: &MadeWeek,
    wind_is_forecast: bool,
) -> Result<Vec<Effect>, RunError> {
    let Ok(weather) = week.weather() else {
        return Ok(Vec::new());
    };
    let end = weather.intervals();
    let day = end.saturating_sub(24)..end;
    let mut all = effects_of(file, house, &weather, &day)?;
    let base = match all.first() {
        Some(effect) => effect.base.clone(),
        None => run(house, &weather, &day)?,
    };
    let own: Vec<Effect> = unknowns(week, wind_is_forecast)
        .into_par_iter()
        .map(|(assumption, weeks)| {
            let change = |week: &MadeWeek| -> Option<Measures> {
                let weather = week.weather().ok()?;
                Some(run(house, &weather, &day).ok()?.less(&base))
            };
            let others = assumption.range.iter().zip(&weeks);
            let others = others
                .map(|(value, week)| Other {
                    value: value.clone(),
                    change: change(week),
                })
                .collect();
            Effect {
                assumption,
                design: house.design.clone(),
                base: base.clone(),
                others,
            }
        })
        .collect();
    all.extend(own);
    all.sort_by(|a, b| b.attic_k().total_cmp(&a.attic_k()));
    Ok(all)
}

/// What such a forecast does not tell, and the weeks with the ends of it.
fn unknowns(week: &MadeWeek, wind_is_forecast: bool) -> Vec<(Assumption, [MadeWeek; 2])> {
    let assumption = |name: &str, texts: [String; 3], spread: Spread| {
        let [value, low, high] = texts;
        Assumption {
            field: format!("forecast.{name}"),
            value,
            range: [low, high],
            source: "a high and a low do not tell it; common practice, no source".to_owned(),
            spread,
            together: Vec::new(),
        }
    };
    let number = |dimension, value: f64, [low, high]: [f64; 2]| Spread::Number {
        dimension,
        value,
        low: low.min(value),
        high: high.max(value),
    };
    let with = |edit: &dyn Fn(&mut MadeWeek)| {
        let mut own = week.clone();
        edit(&mut own);
        own
    };
    let winds_m_s = if wind_is_forecast {
        WIND_SHARE.map(|share| share * week.wind_speed_m_s)
    } else {
        WIND_M_S
    };
    let speed = |m_s: f64| show::speed(System::Us, m_s);
    let wind = assumption(
        "wind",
        [week.wind_speed_m_s, winds_m_s[0], winds_m_s[1]].map(speed),
        number(Dimension::Speed, week.wind_speed_m_s, winds_m_s),
    );
    let share = |share: f64| format!("{share}");
    let least = HAZE.min(week.clearness);
    let sky = assumption(
        "clearness",
        [week.clearness, least, 1.0].map(share),
        number(Dimension::Fraction, week.clearness, [least, 1.0]),
    );
    let dew_k = [week.dew_point_k - DEW_K, week.dew_point_k + DEW_K]
        .map(|dew_k| dew_k.min(week.high_k - 1.0));
    let temp = |temp_k: f64| show::temperature(System::Us, celsius(temp_k));
    let dew = assumption(
        "dew_point",
        [week.dew_point_k, dew_k[0], dew_k[1]].map(temp),
        number(
            Dimension::Temperature,
            celsius(week.dew_point_k),
            dew_k.map(celsius),
        ),
    );
    vec![
        (
            wind,
            winds_m_s.map(|wind_m_s| with(&|own| own.wind_speed_m_s = wind_m_s)),
        ),
        (
            sky,
            [least, 1.0].map(|clearness| with(&|own| own.clearness = clearness)),
        ),
        (dew, dew_k.map(|dew_k| with(&|own| own.dew_point_k = dew_k))),
    ]
}
