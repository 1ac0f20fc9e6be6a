//! `simulate`: one design, one period.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::catalog::nearest;
use crate::house::{House, HouseFile};
use crate::report::{COLUMNS_NOTE, Case, Folder, case_json, nodes_csv, summary_text, timeline_csv};
use crate::units::show::System;

use super::common::{Common, run_all};
use super::failure::Failure;
use super::period::When;

/// Simulate one design of a house through days of weather
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    rafterheat simulate house.toml --weather summer.csv --design fans --out results\n\n\
    With --out the folder gets summary.txt, results.json, and timeline.csv and nodes.csv with every \
    temperature and flow.")]
pub(super) struct Simulate {
    /// House file
    #[arg(value_name = "HOUSE")]
    house: PathBuf,
    /// Design of the file to simulate [default: the house as it stands]
    #[arg(long, value_name = "NAME")]
    design: Option<String>,
    #[command(flatten)]
    when: When,
}

impl Simulate {
    pub(super) fn run(self, common: &Common, out: &mut dyn Write) -> Result<(), Failure> {
        let file = House::read(&self.house)?;
        let house = match &self.design {
            Some(name) => design(&file, name, &self.house)?,
            None => file.base.clone(),
        };
        let (weather, period) = self.when.read(&self.house)?;
        let cases = run_all(common, vec![house], &weather, &period)?;
        let [case] = cases.as_slice() else {
            return Err(Failure::BuiltIn);
        };
        let system = common.system();
        let mut folder = Folder::default();
        if common.out.is_some() {
            folder.add("summary.txt", summary_text(system, case));
            let json = serde_json::to_string_pretty(&case_json(case))?;
            folder.add("results.json", json + "\n");
            add_columns(&mut folder, case, "");
        }
        common.finish(
            out,
            common.out.as_ref().map(|path| (path, &folder)),
            || summary_text(system, case),
            || case_json(case),
        )
    }
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

/// Adds a run's columns to a folder, under `inside`.
pub(super) fn add_columns(folder: &mut Folder, case: &Case, inside: &str) {
    let inside = PathBuf::from(inside);
    folder.add(inside.join("timeline.csv"), timeline_csv(&case.outcome));
    folder.add(inside.join("nodes.csv"), nodes_csv(&case.outcome));
    folder.add(inside.join("columns.txt"), COLUMNS_NOTE);
}

/// What goes into a folder for several designs.
pub(super) fn designs_folder(
    system: System,
    cases: &[Case],
    text: &str,
    json: &serde_json::Value,
) -> Result<Folder, Failure> {
    let mut folder = Folder::default();
    folder.add("summary.txt", text);
    folder.add("results.json", serde_json::to_string_pretty(json)? + "\n");
    let mut names: Vec<String> = Vec::new();
    for case in cases {
        let mut name: String = case
            .design()
            .chars()
            .map(|c| if c.is_alphanumeric() { c } else { '-' })
            .collect();
        while names.contains(&name) {
            name.push('-');
        }
        folder.add(
            PathBuf::from(&name).join("summary.txt"),
            summary_text(system, case),
        );
        add_columns(&mut folder, case, &name);
        names.push(name);
    }
    Ok(folder)
}
