//! `merge`: the parts of a sweep into one.

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use crate::report::sweep::merge;
use crate::study::sweep::Tally;

use super::common::Common;
use super::failure::Failure;
use super::sweep::finish;

/// Join the parts of a sweep that --shard made into one: the same files as a sweep in one piece
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  rafterheat merge whole part-1 part-2 part-3")]
pub(super) struct Merge {
    /// Folder to write
    #[arg(value_name = "OUT")]
    into: PathBuf,
    /// The parts: folders, or the sweep.csv in them, in any order
    #[arg(value_name = "SHARD", required = true)]
    shards: Vec<PathBuf>,
}

impl Merge {
    pub(super) fn run(self, common: &Common, out: &mut dyn Write) -> Result<(), Failure> {
        if common.out.is_some() {
            return Err(Failure::MergeOut);
        }
        let mut tally: Option<Tally> = None;
        let head = merge(&self.into, &self.shards, |plan, cells, ending| {
            let tally = tally.get_or_insert_with(|| Tally::new(plan));
            tally.add(cells, ending);
        })?;
        let tally = tally.unwrap_or_else(|| Tally::new(&head.plan));
        finish(common, out, Some(&self.into), &head, &tally)
    }
}
