//! Options that every command takes, and how results leave it.

use std::fmt::Write as _;
use std::io::Write;
use std::path::PathBuf;

use clap::{Args, ValueEnum};
use rayon::prelude::*;
use serde_json::Value;

use crate::assess::assess;
use crate::house::House;
use crate::report::{Case, Folder};
use crate::run::{RunError, RunOptions, simulate};
use crate::units::show::System;
use crate::weather::Weather;

use super::failure::Failure;
use super::progress::Progress;

/// Options that every command takes.
#[derive(Debug, Clone, Args)]
pub(super) struct Common {
    /// Units to print; input may use either
    #[arg(long, global = true, value_enum, default_value = "us")]
    units: UnitsArg,
    /// Print one JSON document (in SI units) and nothing else
    #[arg(long, global = true)]
    pub(super) json: bool,
    /// Write the results into a folder too
    #[arg(long, global = true, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// Print no progress and no remarks
    #[arg(long, short, global = true)]
    pub(super) quiet: bool,
    /// Number of threads [default: all processors]
    #[arg(long, global = true, value_name = "N")]
    threads: Option<usize>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum UnitsArg {
    /// °F, ft, cfm, Btu/h
    Us,
    /// °C, m, m³/h, W
    Si,
}

impl Common {
    /// Sets up what is set up once.
    pub(super) fn start(&self) -> Result<(), Failure> {
        match self.threads {
            Some(0) => Err(Failure::NoThreads),
            Some(threads) => {
                let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
                // In one process a second start is a second command of a test: the first holds.
                let _ = pool.build_global();
                Ok(())
            }
            None => Ok(()),
        }
    }

    pub(super) fn system(&self) -> System {
        match self.units {
            UnitsArg::Us => System::Us,
            UnitsArg::Si => System::Si,
        }
    }

    /// Writes the folder, if one is wanted, and then prints the result: files first, so that what
    /// is printed is never of a run whose files failed. The folder has the text and the JSON, and
    /// what `more` adds.
    pub(super) fn finish(
        &self,
        out: &mut dyn Write,
        path: Option<&PathBuf>,
        text: &str,
        json: &Value,
        more: impl FnOnce(&mut Folder) -> Result<(), Failure>,
    ) -> Result<(), Failure> {
        let document = serde_json::to_string_pretty(json)? + "\n";
        let mut written = String::new();
        if let Some(path) = path {
            let mut folder = Folder::default();
            folder.add("summary.txt", text);
            folder.add("results.json", document.as_str());
            more(&mut folder)?;
            folder.write(path)?;
            let count = folder.paths().count();
            written = format!("\n{count} files are in {}", path.display());
            let pages = ["report.html", "calibration.html", "verification.html"];
            for page in pages.map(std::path::Path::new) {
                if folder.paths().any(|inside| inside == page) {
                    let name = page.display();
                    let _ = write!(written, ", the page with the charts is {name}");
                }
            }
            written.push_str(".\n");
        }
        if self.json {
            out.write_all(document.as_bytes())?;
        } else {
            out.write_all(text.as_bytes())?;
            if !self.quiet {
                out.write_all(written.as_bytes())?;
            }
        }
        Ok(())
    }
}

/// Runs designs side by side, in their order.
pub(super) fn run_all(
    common: &Common,
    houses: Vec<House>,
    weather: &Weather,
    period: &std::ops::Range<usize>,
) -> Result<Vec<Case>, Failure> {
    let progress = Progress::start(common.quiet, "simulating", houses.len());
    let cases = houses
        .into_par_iter()
        .map(|house| {
            let outcome = simulate(&house, weather, period.clone(), &RunOptions::default())
                .map_err(|source| Failure::Run {
                    design: house.design.clone(),
                    source,
                })?;
            let assessment = assess(&house, weather, &outcome);
            progress.step();
            Ok(Case {
                house,
                outcome,
                assessment,
            })
        })
        .collect::<Result<Vec<Case>, Failure>>();
    progress.end();
    cases
}

/// Weighs what was assumed.
pub(super) fn weigh<T>(
    common: &Common,
    work: impl FnOnce() -> Result<T, RunError>,
) -> Result<T, Failure> {
    let progress = Progress::start(common.quiet, "weighing what was assumed", 0);
    let result = work();
    progress.end();
    result.map_err(Failure::Weigh)
}
