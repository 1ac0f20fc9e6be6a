//! What a finished change did: in words, as JSON, and in files with a page to show to others.

mod charts;
mod csv;
mod json;
mod page;
mod refused;
mod text;

use crate::assess::Caution;
use crate::readings::Readings;
use crate::study::verify::{Verified, VerifyError};
use crate::units::System;
use crate::weather::Weather;

use super::chart::ChartError;
use super::figure::add_figures;
use super::folder::Folder;
use super::refusal::Refusal;
use charts::Charts;

pub use json::{refused_json, verified_json};
pub use refused::refused_text;
pub use text::verified_text;

/// A log with the weather of its days.
#[derive(Debug, Clone, Copy)]
pub struct LogInput<'a> {
    /// What was read.
    pub readings: &'a Readings,
    /// Weather of its days.
    pub weather: &'a Weather,
}

/// What a judgement of a change was made from.
#[derive(Debug, Clone, Copy)]
pub struct ProofInput<'a> {
    /// Units.
    pub system: System,
    /// Name of the house.
    pub house: &'a str,
    /// Name of the design that describes the change, if one does.
    pub change: Option<&'a str>,
    /// The logs before and after.
    pub logs: [LogInput<'a>; 2],
    /// Cautions for whoever goes up there.
    pub cautions: &'a [Caution],
}

/// Names of all files that a folder of `verify` may have.
pub const VERIFIED_FILES: [&str; 14] = [
    "verification.html",
    "summary.txt",
    "results.json",
    "after.csv",
    "days.csv",
    "columns.txt",
    "days-after.svg",
    "days-after-phone.svg",
    "hottest-day-after.svg",
    "hottest-day-after-phone.svg",
    "day-by-day.svg",
    "day-by-day-phone.svg",
    "against-design.svg",
    "against-design-phone.svg",
];

/// Adds what is told of a change in files: the page `verification.html`, the charts by themselves,
/// every reading after the change as `after.csv`, and every day as `days.csv`.
///
/// # Errors
/// [`ChartError`] if the drawing library fails.
pub fn verified_folder(
    folder: &mut Folder,
    input: &ProofInput<'_>,
    found: &Verified,
) -> Result<(), ChartError> {
    folder.replace(&VERIFIED_FILES);
    let charts = Charts::of(input, found);
    folder.add("verification.html", page::page(input, found, &charts)?);
    add_figures(folder, charts.all())?;
    folder.add("after.csv", csv::readings_csv(found));
    folder.add("days.csv", csv::days_csv(found));
    folder.add("columns.txt", csv::COLUMNS);
    Ok(())
}

/// Adds the page of a change that cannot be told from the logs: why, what to do, and what they hold.
/// Nothing is charted, and no chart of an earlier run stays beside it. Returns whether there is
/// anything to tell beside the error itself: a log or a house file that is wrong is no such thing.
pub fn refused_folder(folder: &mut Folder, input: &ProofInput<'_>, error: &VerifyError) -> bool {
    let Some(refusal) = Refusal::of(input.system, error) else {
        return false;
    };
    folder.replace(&VERIFIED_FILES);
    folder.add("verification.html", page::refused(input, &refusal));
    folder.add("summary.txt", refusal.text(input));
    true
}

/// What is told of every change, at the end.
const OTHERS_DECIDE: &str = "Whether this counts as proof for a rebate is for the programme's own rules: ask which readings, \
     how many days and which method it takes.";

/// Name of a change in a sentence.
fn named(change: Option<&str>) -> String {
    change.map_or("the change".to_owned(), |name| format!("\"{name}\""))
}
