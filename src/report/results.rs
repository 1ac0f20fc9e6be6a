//! What goes into the folder of a run, beside its text and its JSON.

use std::path::PathBuf;

use crate::study::Difference;
use crate::units::show::System;

use super::case::Case;
use super::chart::ChartError;
use super::drawings::{case_drawings, compare_drawings};
use super::folder::Folder;
use super::page::{PageInput, page};
use super::summary::summary_text;
use super::timeline::{COLUMNS_NOTE, nodes_csv, timeline_csv};

/// Adds what is told of the designs in files: a page with charts, the charts by themselves, and
/// every temperature and flow of one design; of several, a folder for each, with its summary too, and
/// how sure their differences are where `doubts` tell.
///
/// # Errors
/// [`ChartError`] if the drawing library fails.
pub fn results_folder(
    folder: &mut Folder,
    title: &str,
    system: System,
    cases: &[Case],
    doubts: &[Difference],
) -> Result<(), ChartError> {
    folder.add(
        "report.html",
        page(&PageInput {
            title,
            system,
            cases,
            doubts,
        })?,
    );
    if cases.len() > 1 {
        for (name, drawing) in compare_drawings(system, cases)? {
            folder.add(name, drawing);
        }
    }
    let mut names: Vec<String> = Vec::new();
    for case in cases {
        let mut inside = PathBuf::new();
        if cases.len() > 1 {
            let mut name = file_name(case.design());
            while names.contains(&name) {
                name.push('-');
            }
            inside.push(&name);
            names.push(name);
            folder.add(inside.join("summary.txt"), summary_text(system, case, None));
        }
        for (name, drawing) in case_drawings(system, case)? {
            folder.add(inside.join(name), drawing);
        }
        folder.add(inside.join("timeline.csv"), timeline_csv(&case.outcome));
        folder.add(inside.join("nodes.csv"), nodes_csv(&case.outcome));
    }
    folder.add("columns.txt", COLUMNS_NOTE);
    Ok(())
}

/// A design's name as the name of a folder on any system.
fn file_name(design: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() { c } else { '-' };
    design.to_lowercase().chars().map(plain).collect()
}
