//! Every pair of readings as CSV, so that all figures of a fit can be added up again.

use std::fmt::Write as _;

use crate::study::calibrate::{Calibration, Compared, Measure};
use crate::units::celsius;
use crate::weather::Weather;

use super::super::layout::csv_field;
use super::super::words::civil;
use super::left::Wind;

/// What the columns of `residuals.csv` mean: goes with it.
pub(super) const RESIDUALS_NOTE: &str = "\
residuals.csv: one row for each reading that was compared, in SI units whatever was asked for on
the screen.
  time             when it was taken, local standard time
  column           name of the log's column
  unit             C (degrees Celsius) or W/m2
  logged           the reading
  worked_out       what the fitted house has at that time, at the thermometer
  before           what the house had with the likeliest values, before the fit; fitted days only
  days             fitted, or kept_out of the fit
  wind_speed_m_s   wind of the weather at that time; empty where it was not told
  wind_from_deg    where it came from, degrees clockwise from north; empty where it was not told or
                   too weak to turn a vane

worked_out - logged is what the charts show: above zero what is worked out is too high. Its mean
over the rows of a column and of its fitted or kept-out days is the bias that is told, the root of
its mean square the spread (RMSE).
";

/// Every pair of readings.
pub(super) fn residuals_csv(fit: &Calibration, weather: &Weather) -> String {
    let mut text = String::from(
        "time,column,unit,logged,worked_out,before,days,wind_speed_m_s,wind_from_deg\n",
    );
    let wind = Wind::of(weather);
    for (days, columns) in [("fitted", &fit.fitted), ("kept_out", &fit.kept_out)] {
        for one in columns {
            let before = fit.before.iter().find(|other| other.name == one.name);
            let before = before.filter(|_| days == "fitted");
            rows(&mut text, &wind, days, one, before);
        }
    }
    text
}

fn rows(text: &mut String, wind: &Wind<'_>, days: &str, one: &Compared, before: Option<&Compared>) {
    let (unit, value): (&str, fn(f64) -> f64) = match one.measure {
        Measure::Temperature => ("C", celsius),
        Measure::HeatFlux => ("W/m2", |flux| flux),
    };
    let name = csv_field(&one.name);
    for (index, at_s) in one.times_s.iter().enumerate() {
        let at = civil(*at_s).strftime("%Y-%m-%dT%H:%M:%S");
        let _ = write!(text, "{at},{name},{unit}");
        let pair = [one.logged.get(index), one.worked_out.get(index)];
        let before = before.and_then(|before| before.worked_out.get(index));
        for number in [pair[0], pair[1], before] {
            text.push(',');
            if let Some(number) = number {
                let _ = write!(text, "{:.4}", value(*number));
            }
        }
        let _ = write!(text, ",{days},");
        if let Some(speed) = wind.speed_m_s(*at_s) {
            let _ = write!(text, "{speed:.2}");
        }
        text.push(',');
        if let Some(from) = wind.comes_from_deg(*at_s) {
            let _ = write!(text, "{from:.0}");
        }
        text.push('\n');
    }
}
