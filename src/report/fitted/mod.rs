//! A fit in files: a page that shows how good it is, charts of what is left between measured and
//! worked out, and every pair of readings as CSV.

mod charts;
mod csv;
mod left;
mod page;

use crate::study::calibrate::{Calibration, ClockError, Measure};
use crate::units::{System, celsius};
use crate::weather::Weather;

use super::chart::ChartError;
use super::figure::add_figures;
use super::folder::Folder;
use charts::Charts;

/// A fit and what it was made from.
#[derive(Debug, Clone, Copy)]
pub struct FitInput<'a> {
    /// Units.
    pub system: System,
    /// Name of the house.
    pub house: &'a str,
    /// Name of the log.
    pub log: &'a str,
    /// The fit.
    pub fit: &'a Calibration,
    /// What is wrong with the log's clock, if anything is.
    pub clock: Option<&'a ClockError>,
    /// Weather of its days.
    pub weather: &'a Weather,
    /// What is told of it as text.
    pub text: &'a str,
}

/// Adds what is told of a fit in files: the page `calibration.html`, the charts by themselves, and
/// `residuals.csv`.
///
/// # Errors
/// [`ChartError`] if the drawing library fails.
pub fn fit_folder(folder: &mut Folder, input: &FitInput<'_>) -> Result<(), ChartError> {
    let charts = Charts::of(input);
    folder.add("calibration.html", page::page(input, &charts)?);
    add_figures(folder, charts.all())?;
    folder.add(
        "residuals.csv",
        csv::residuals_csv(input.fit, input.weather),
    );
    folder.add("columns.txt", csv::RESIDUALS_NOTE);
    Ok(())
}

/// W/m² in one Btu/h·ft²: 1055.056 J (International Table) an hour on a square of 0.3048 m.
const BTU_H_FT2_W_M2: f64 = 1_055.055_852_62 / 3600.0 / (0.304_8 * 0.304_8);

/// A reading in the unit that is shown.
fn shown(system: System, measure: Measure, value: f64) -> f64 {
    match (measure, system) {
        (Measure::Temperature, System::Us) => celsius(value) * 1.8 + 32.0,
        (Measure::Temperature, System::Si) => celsius(value),
        (Measure::HeatFlux, System::Us) => value / BTU_H_FT2_W_M2,
        (Measure::HeatFlux, System::Si) => value,
    }
}

/// A difference of readings in the unit that is shown.
pub(super) fn shown_difference(system: System, measure: Measure, by: f64) -> f64 {
    match (measure, system) {
        (Measure::Temperature, System::Us) => by * 1.8,
        (Measure::HeatFlux, System::Us) => by / BTU_H_FT2_W_M2,
        (_, System::Si) => by,
    }
}

/// Unit of readings.
fn unit(system: System, measure: Measure) -> &'static str {
    match (measure, system) {
        (Measure::Temperature, System::Us) => "°F",
        (Measure::Temperature, System::Si) => "°C",
        (Measure::HeatFlux, System::Us) => "Btu/h·ft²",
        (Measure::HeatFlux, System::Si) => "W/m²",
    }
}

/// Unit of differences of readings.
pub(super) fn difference_unit(system: System, measure: Measure) -> &'static str {
    match (measure, system) {
        (Measure::Temperature, System::Si) => "K",
        _ => unit(system, measure),
    }
}
