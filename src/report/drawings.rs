//! Which drawings a run or a comparison has, and the files that they make.

use std::ops::Range;

use crate::run::Outcome;
use crate::units::System;

use super::case::Case;
use super::chart::{
    ChartError, DayChart, FanChart, Frame, HeatChart, Section, TemperatureChart, standalone,
};

const DAY_S: f64 = 86_400.0;

/// Drawings of one design as SVG files: names and texts.
///
/// # Errors
/// [`ChartError`] if the drawing library fails.
pub fn case_drawings(system: System, case: &Case) -> Result<Vec<(String, String)>, ChartError> {
    let Case { house, outcome, .. } = case;
    let frame = Frame::Wide;
    let heat = HeatChart::of_run(house, outcome, hottest_day(outcome));
    let mut files = vec![
        (
            "temperatures.svg".to_owned(),
            TemperatureChart::of_run(outcome).draw(frame, system)?,
        ),
        (
            "heat.svg".to_owned(),
            heat.draw(frame, system, &heat.extent_w())?,
        ),
        (
            "air.svg".to_owned(),
            Section::of_run(house, outcome, &peak_hour(case)).draw(frame, system)?,
        ),
        (
            "days.svg".to_owned(),
            DayChart::of_cases(std::slice::from_ref(case)).draw(frame, system)?,
        ),
    ];
    for (index, fan) in fan_charts(case).iter().enumerate() {
        files.push((format!("fan-{}.svg", index + 1), fan.draw(frame, system)?));
    }
    Ok(styled(files))
}

/// Drawings of designs against one another as SVG files: names and texts.
///
/// # Errors
/// [`ChartError`] if the drawing library fails.
pub fn compare_drawings(
    system: System,
    cases: &[Case],
) -> Result<Vec<(String, String)>, ChartError> {
    let Some(first) = cases.first() else {
        return Ok(Vec::new());
    };
    let outcomes: Vec<&Outcome> = cases.iter().map(|case| &case.outcome).collect();
    let week = TemperatureChart::of_designs(&outcomes);
    let day = week.within(hottest_day(&first.outcome));
    let frame = Frame::Wide;
    Ok(styled(vec![
        ("temperatures.svg".to_owned(), week.draw(frame, system)?),
        ("hottest-day.svg".to_owned(), day.draw(frame, system)?),
        (
            "days.svg".to_owned(),
            DayChart::of_cases(cases).draw(frame, system)?,
        ),
    ]))
}

fn styled(files: Vec<(String, String)>) -> Vec<(String, String)> {
    files
        .into_iter()
        .map(|(name, drawing)| (name, standalone(&drawing)))
        .collect()
}

/// Charts of the fan groups of a design.
pub(super) fn fan_charts(case: &Case) -> Vec<FanChart> {
    let groups = 0..case.house.fans.len();
    alike_once(
        groups
            .filter_map(|index| FanChart::of_run(&case.house, &case.outcome, index))
            .collect(),
    )
}

/// The hour of the heat account of a run's peak, s from its start.
pub(super) fn peak_hour(case: &Case) -> Range<f64> {
    let account = &case.assessment.accounts.attic_peak_hour;
    account.from_s..account.to_s
}

/// Fan groups that work alike (such as one in each gable) are drawn once.
fn alike_once(fans: Vec<FanChart>) -> Vec<FanChart> {
    let mut shown: Vec<FanChart> = Vec::new();
    for fan in fans {
        let is_like = |known: &&FanChart| match (known.working, fan.working) {
            (Some(a), Some(b)) => {
                (known.label_m3_s - fan.label_m3_s).abs() < 1e-9
                    && (a.flow_m3_s / b.flow_m3_s - 1.0).abs() < 0.06
            }
            (None, None) => (known.label_m3_s - fan.label_m3_s).abs() < 1e-9,
            _ => false,
        };
        if !shown.iter().any(|known| is_like(&known)) {
            shown.push(fan);
        }
    }
    shown
}

/// The day from midnight with the hottest attic air; all of a run of less than a day.
pub(super) fn hottest_day(outcome: &Outcome) -> Range<f64> {
    let trace = &outcome.trace;
    let end_s = trace.times_s.last().copied().unwrap_or(0.0);
    let start = outcome.start;
    let into_day_s = f64::from(start.hour()) * 3_600.0 + f64::from(start.minute()) * 60.0;
    let at_s = hottest_s(&trace.times_s, &trace.attic_air_k, &(0.0..end_s));
    let from_s = ((at_s + into_day_s) / DAY_S).floor() * DAY_S - into_day_s;
    from_s.max(0.0)..(from_s + DAY_S).min(end_s)
}

fn hottest_s(times_s: &[f64], temps_k: &[f64], within_s: &Range<f64>) -> f64 {
    let inside = times_s
        .iter()
        .zip(temps_k)
        .filter(|(t, k)| **t >= within_s.start && **t < within_s.end && k.is_finite());
    inside
        .max_by(|a, b| a.1.total_cmp(b.1))
        .map_or(within_s.start, |(t, _)| *t)
}
