//! A sweep for people and programs: its file, a table, JSON, charts and a page.

mod charts;
mod file;
mod head;
mod json;
mod rows;
mod text;

use crate::assess::Caution;
use crate::study::sweep::{ATTIC_AIR, Axis, CEILING, Tally};
use crate::units::show::System;

use super::words;

pub use charts::{sweep_drawings, sweep_page};
pub use file::{FILE, SweepFile, SweepFileError, merge};
pub use head::{Difference, Head, WeatherLine};
pub use json::{row_json, sweep_json};
pub use rows::{column_names, ending_line, row_line};
pub use text::sweep_text;

/// A sweep that is done: what it was made of, and its means.
#[derive(Debug, Clone, Copy)]
pub struct Summary<'a> {
    /// What it was made of.
    pub head: &'a Head,
    /// Means.
    pub tally: &'a Tally,
}

/// What is told first of each sweep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Told {
    /// Highest mean temperature of the attic's air.
    Attic,
    /// Heat through the ceiling.
    Ceiling,
}

impl Told {
    const BOTH: [Self; 2] = [Self::Attic, Self::Ceiling];

    fn column(self) -> usize {
        match self {
            Self::Attic => ATTIC_AIR,
            Self::Ceiling => CEILING,
        }
    }

    /// With its unit.
    fn title(self, system: System) -> String {
        match self {
            Self::Attic => format!("Attic air, highest, {}", words::degree(system)),
            Self::Ceiling => "Heat through the ceiling, kWh".to_owned(),
        }
    }

    /// A value in the unit that is shown.
    fn shown(self, system: System, value: f64) -> f64 {
        match (self, system) {
            (Self::Attic, System::Us) => value * 1.8 + 32.0,
            _ => value,
        }
    }

    /// A difference in the unit that is shown.
    fn span(self, system: System, span: f64) -> f64 {
        match (self, system) {
            (Self::Attic, System::Us) => span * 1.8,
            _ => span,
        }
    }

    /// A value in words, without its unit.
    fn number(self, system: System, value: f64) -> String {
        match self {
            Self::Attic => words::temp(system, value),
            Self::Ceiling => words::kwh(value),
        }
    }
}

impl Summary<'_> {
    /// Cautions for the work that what is varied stands for.
    fn cautions(&self) -> Vec<Caution> {
        let keys = self.head.plan.axes().iter().map(|axis| axis.key.as_str());
        Caution::of_fields(keys)
    }

    /// The two axes that alone vary, the longer one first: it goes down, the other across.
    fn pair(&self) -> Option<[usize; 2]> {
        let [a, b] = self.tally.pair()?;
        let axes = self.head.plan.axes();
        let length = |at: usize| axes.get(at).map_or(0, Axis::bins);
        Some(if length(a) >= length(b) {
            [a, b]
        } else {
            [b, a]
        })
    }

    /// Mean of a column for a value of each of the pair's axes, in that order.
    fn of_pair(&self, down: usize, across: usize, column: usize) -> Option<f64> {
        let turned = self.pair()? != self.tally.pair()?;
        let (a, b) = if turned {
            (across, down)
        } else {
            (down, across)
        };
        self.tally.of_pair(a, b)?.of(column)
    }

    /// The axes with more than one value.
    fn varied(&self) -> Vec<usize> {
        let axes = self.head.plan.axes().iter().enumerate();
        let varied = axes.filter(|(_, axis)| axis.bins() > 1);
        varied.map(|(at, _)| at).collect()
    }
}
