//! Why a command ends without its result.

use std::error::Error;
use std::io::{self, Write};
use std::path::PathBuf;

use crate::house::{HouseError, RewriteError};
use crate::readings::{GuessError, LogColumnsError, ReadingsError};
use crate::report::FolderError;
use crate::report::chart::ChartError;
use crate::report::sweep::SweepFileError;
use crate::run::RunError;
use crate::study::calibrate::CalibrationError;
use crate::study::sweep::{AxisError, PlanError, RowError};
use crate::study::verify::VerifyError;
use crate::units::QuantityError;
use crate::weather::{ColumnMapError, MadeError, WeatherError};

/// Why a command ends without its result.
#[derive(Debug, thiserror::Error)]
pub(super) enum Failure {
    #[error(transparent)]
    House(#[from] HouseError),
    #[error(transparent)]
    Weather(#[from] WeatherError),
    #[error("{} cannot be used as a description of columns", path.display())]
    Columns {
        path: PathBuf,
        source: ColumnMapError,
    },
    #[error("cannot read {}", path.display())]
    Read { path: PathBuf, source: io::Error },
    #[error(
        "there is no weather: give a file with --weather FILE, or put one named weather.csv beside \
         {}", house.display()
    )]
    NoWeather { house: PathBuf },
    #[error(
        "every seven days of this weather miss something; choose others with --period, such as \
         --period 2026-07-01..2026-07-14"
    )]
    NoWholeWeek,
    #[error("the weather covers {days} days, and --period year needs 365")]
    NoYear { days: usize },
    #[error(
        "--period {found}: not a period; it is hot-week, year, a day such as 2026-07-10, or days \
         such as 2026-07-01..2026-07-14"
    )]
    Period { found: String },
    #[error("--period {found}: the last day comes before the first")]
    PeriodBackwards { found: String },
    #[error("there is no design \"{found}\" in {}{}; there is {}", house.display(), meant(near.as_ref()), quoted(there))]
    NoDesign {
        found: String,
        house: PathBuf,
        near: Option<String>,
        there: Vec<String>,
    },
    #[error(
        "there is no weather \"{found}\"{}; there is {}\n  \
         weathers go by the names of the files given with --weather, without their folders; several \
         of them are varied by themselves",
        meant(near.as_ref()), quoted(there)
    )]
    NoWeatherNamed {
        found: String,
        near: Option<String>,
        there: Vec<String>,
    },
    #[error("there is no page of help \"{found}\"{}; there is {}", meant(near.as_ref()), quoted(there))]
    NoTopic {
        found: String,
        near: Option<String>,
        there: Vec<String>,
    },
    #[error("there is no command \"{found}\"; there is {}", quoted(there))]
    NoCommand { found: String, there: Vec<String> },
    #[error("--{option}: {source}")]
    Quantity {
        option: &'static str,
        source: QuantityError,
    },
    #[error("--date {found}: not a date; write it as 2026-07-10")]
    Day { found: String },
    #[error("--from {found}: not a date; write it as 2026-07-10")]
    Date { found: String },
    #[error("--tomorrow {found}: {wrong}; it takes a high and a low such as \"97 F / 64 F\"")]
    Forecast { found: String, wrong: String },
    #[error("no weather can be made of these numbers:\n  {}", faults.join("\n  "))]
    Made { faults: Vec<String> },
    #[error("{} is there already; nothing was written", path.display())]
    Exists { path: PathBuf },
    #[error(
        "{} is there already; nothing was written\n  \
         --overwrite replaces it, and --write FILE writes another",
        path.display()
    )]
    CalibratedExists { path: PathBuf },
    #[error(
        "{} is there already, of another run; nothing was written\n  \
         --overwrite replaces what verify has written there, and --out DIR takes another folder",
        path.display()
    )]
    ProofExists { path: PathBuf },
    #[error("cannot read the answers")]
    Answers(#[source] io::Error),
    #[error("the answers ended before the questions did; nothing was written")]
    BrokenOff,
    #[error("line {line} of the answers is not understood, as told above; nothing was written")]
    Refused { line: u32 },
    #[error("--vary {found}: {source}")]
    Vary { found: String, source: AxisError },
    #[error("--vary: there is no {found}{}; there is {}", meant(near.as_ref()), quoted(there))]
    NoTable {
        found: String,
        near: Option<String>,
        there: Vec<String>,
    },
    #[error("the house cannot be varied so\n\n{}", faults.join("\n\n"))]
    Variation { faults: Vec<String> },
    #[error("{0}")]
    Plan(#[from] PlanError),
    #[error("--shard {found}: write it as I/N, such as 1/4 for the first of four parts")]
    Shard { found: String },
    #[error("--shard needs --out DIR: a part is of use as a file only")]
    ShardWithoutOut,
    #[error(
        "merge writes into the first folder it is given, and takes no --out\n  \
         write it like rafterheat merge whole part-1 part-2"
    )]
    MergeOut,
    #[error("--weather: two files are called {name}; give them different names")]
    TwoWeathers { name: String },
    #[error("there is nothing to vary by itself: the house has no fans; say what with --vary")]
    NothingToVary,
    #[error("line {line} of the input: {reason}")]
    InputLine { line: u64, reason: String },
    #[error("line {line} of the input cannot be used")]
    Input { line: u64, source: Box<RowError> },
    #[error("cannot read the input")]
    ReadInput(#[source] io::Error),
    #[error(transparent)]
    SweepFile(#[from] SweepFileError),
    #[error("{count} of the rows did not come to an end; the first is row {row}")]
    Rows {
        count: u64,
        row: u64,
        source: Box<RowError>,
    },
    #[error("--threads 0: at least one thread is needed")]
    NoThreads,
    #[error("the threads cannot be started")]
    Threads(#[from] rayon::ThreadPoolBuildError),
    #[error("the design \"{design}\" did not come to an end")]
    Run { design: String, source: RunError },
    #[error("what was assumed could not be weighed")]
    Weigh(#[source] RunError),
    #[error(transparent)]
    Folder(#[from] FolderError),
    #[error("the charts cannot be drawn")]
    Chart(#[from] ChartError),
    #[error("the results cannot be written as JSON")]
    Json(#[from] serde_json::Error),
    #[error("cannot print the results")]
    Print(#[from] io::Error),
    #[error("{} cannot be used as a description of a log", path.display())]
    LogColumns {
        path: PathBuf,
        source: LogColumnsError,
    },
    #[error(transparent)]
    Log(#[from] ReadingsError),
    #[error(transparent)]
    Guess(#[from] GuessError),
    #[error("nothing says which column of {} is what, and the guess above was not accepted", path.display())]
    GuessNotAccepted { path: PathBuf },
    #[error(
        "there is neither a weather file nor latitude and longitude under [site] in {}: the sun's \
         place is not known", house.display()
    )]
    NoPlace { house: PathBuf },
    #[error("log and weather have no day in common")]
    NoCommonDays,
    #[error(
        "--also {found}: it takes a key of the house file and the ends of what is likely, such as \
         roof.pitch=4:12..6:12"
    )]
    Also { found: String },
    #[error("the fit failed")]
    Calibrate(#[source] Box<CalibrationError>),
    #[error("nothing was fitted and nothing written\n{told}")]
    Exchanged { told: String },
    #[error("what the change did cannot be told\n{told}")]
    NotTold { told: String },
    #[error("what the change did cannot be told")]
    Verify(#[source] Box<VerifyError>),
    #[error("the calibrated house file cannot be written")]
    Rewrite(#[from] RewriteError),
    #[error("a built-in file of this program is damaged")]
    BuiltIn,
}

fn meant(near: Option<&String>) -> String {
    near.map_or_else(String::new, |near| format!(" (did you mean \"{near}\"?)"))
}

fn quoted(names: &[String]) -> String {
    let names: Vec<String> = names.iter().map(|name| format!("\"{name}\"")).collect();
    names.join(", ")
}

impl From<MadeError> for Failure {
    fn from(error: MadeError) -> Self {
        let faults = error.faults.iter().map(ToString::to_string).collect();
        Self::Made { faults }
    }
}

impl Failure {
    /// 2 if input or command line are wrong, 1 if the work failed.
    pub(super) fn exit_code(&self) -> u8 {
        match self {
            Self::Run { .. }
            | Self::Weigh(_)
            | Self::Answers(_)
            | Self::Folder(_)
            | Self::Print(_)
            | Self::Chart(_)
            | Self::Json(_)
            | Self::Threads(_)
            | Self::BuiltIn
            | Self::Rows { .. }
            | Self::ReadInput(_)
            | Self::SweepFile(SweepFileError::Write { .. })
            | Self::Weather(WeatherError::Write { .. }) => 1,
            _ => 2,
        }
    }

    /// Writes the failure and what caused it to standard error.
    pub(super) fn tell(&self) {
        let mut stderr = anstream::stderr();
        // If standard error is gone too, there is nobody to tell.
        let _ = write!(stderr, "{}", self.words());
    }

    /// The failure and the chain of its causes, a line each.
    fn words(&self) -> String {
        let mut text = format!("\u{1b}[1;31merror:\u{1b}[0m {self}\n");
        let mut cause = self.source();
        while let Some(error) = cause {
            let words = error.to_string();
            // A quantity's fault is said in the first line already.
            if !text.contains(&words) {
                for line in words.lines() {
                    text.push_str("  because: ");
                    text.push_str(line);
                    text.push('\n');
                }
            }
            cause = error.source();
        }
        text
    }
}
