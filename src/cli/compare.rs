//! `compare`: all designs of a file, side by side.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::house::House;
use crate::report::{
    cautions_text, compare_json, compare_text, notices_text, results_folder, why_text,
};
use crate::study::differences;

use super::common::{Common, run_all, weigh};
use super::failure::Failure;
use super::period::When;

/// Compare all designs of a house file, each against the house as it stands
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  \
    rafterheat compare house.toml --period 2026-07-01..2026-07-14 --units si\n\n\
    With --out the folder gets a page with charts (report.html), summary.txt, results.json, and a \
    folder for each design with every temperature and flow.")]
pub(super) struct Compare {
    /// House file
    #[arg(value_name = "HOUSE")]
    house: PathBuf,
    #[command(flatten)]
    when: When,
}

impl Compare {
    pub(super) fn run(self, common: &Common, out: &mut dyn Write) -> Result<(), Failure> {
        let file = House::read(&self.house)?;
        let (weather, period) = self.when.read(&self.house)?;
        let cases = run_all(common, file.all().cloned().collect(), &weather, &period)?;
        let doubts = weigh(common, || differences(&file, &weather, &period))?;
        let system = common.system();
        let mut text = compare_text(system, &cases, &doubts);
        text.push_str(&why_text(system, &cases));
        if let Some(first) = cases.first()
            && !first.outcome.notices.is_empty()
        {
            text.push_str("\nAbout the weather\n");
            text.push_str(&notices_text(system, &first.outcome.notices));
        }
        let cautions = all_cautions(&cases);
        text.push_str(&cautions_text(system, &cautions));
        let json = compare_json(&cases, &doubts);
        common.finish(out, common.out.as_ref(), &text, &json, |folder| {
            Ok(results_folder(
                folder,
                &file.base.name,
                system,
                &cases,
                &doubts,
            )?)
        })
    }
}

/// The cautions of all designs, each kind once: the gravest of it.
pub(super) fn all_cautions(cases: &[crate::report::Case]) -> Vec<crate::assess::Caution> {
    let mut all: Vec<crate::assess::Caution> = Vec::new();
    for caution in cases.iter().flat_map(|case| &case.assessment.cautions) {
        match all.iter_mut().find(|known| known.code() == caution.code()) {
            Some(known) if caution.is_graver_than(known) => *known = *caution,
            Some(_) => {}
            None => all.push(*caution),
        }
    }
    all
}
