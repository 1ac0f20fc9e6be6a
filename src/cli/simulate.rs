//! `simulate`: one design, one period.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::catalog::nearest;
use crate::house::{House, HouseFile};
use crate::report::{case_json, results_folder, summary_text};
use crate::study::effects_of;

use super::common::{Common, run_all, weigh};
use super::failure::Failure;
use super::period::When;

/// Simulate one design of a house through days of weather
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    rafterheat simulate house.toml --weather summer.csv --design fans --out results\n\n\
    With --out the folder gets a page with charts (report.html), summary.txt, results.json, and \
    timeline.csv and nodes.csv with every temperature and flow.")]
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
        let effects = weigh(common, || effects_of(&file, &case.house, &weather, &period))?;
        let effects = Some(effects.as_slice());
        let (text, json) = (
            summary_text(system, case, effects),
            case_json(case, effects),
        );
        common.finish(out, common.out.as_ref(), &text, &json, |folder| {
            Ok(results_folder(folder, &case.house.name, system, &cases)?)
        })
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
