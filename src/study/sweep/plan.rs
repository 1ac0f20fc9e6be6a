//! Which values each row of a sweep has.

use super::axis::{Axis, Values};
use super::sample::{SOBOL_AXES, latin_hypercube, sobol};

/// How the rows go through the axes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// Every value with every other; the last axis turns fastest.
    Grid,
    /// A number of points spread evenly.
    Sample {
        /// How many.
        rows: u64,
        /// How they are spread.
        method: Method,
        /// Which of many such spreads.
        seed: u64,
    },
}

/// How samples are spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// One in each of as many slices of each axis as there are points.
    LatinHypercube,
    /// A Sobol sequence: any power of two of points in line is spread evenly.
    Sobol,
}

/// Rows of a sweep.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    axes: Vec<Axis>,
    order: Order,
    rows: u64,
}

/// A value of an axis in a row.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// As a house file would have it.
    pub text: String,
    /// Which of the axis's values, or which part of what lies between its ends.
    pub bin: usize,
    /// Share of the way from the least to the greatest, where values are numbers; else 0.
    pub way: f64,
}

/// Why axes make no sweep.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum PlanError {
    /// Nothing is varied.
    #[error("nothing is varied")]
    NoAxis,
    /// An axis that is there twice.
    #[error("{key} is varied twice")]
    Twice {
        /// Its key.
        key: String,
    },
    /// More rows than can be counted.
    #[error("these axes have more rows together than can be counted")]
    TooManyRows,
    /// A sample without rows.
    #[error("a sample needs at least one row")]
    NoRows,
    /// More axes or rows than the Sobol points go to.
    #[error("a Sobol sequence goes to {axes} axes and 4294967296 rows here; take latin-hypercube")]
    SobolLimit {
        /// Most axes.
        axes: usize,
    },
    /// A range without steps in a grid.
    #[error("{key} needs a step in a grid")]
    NoStep {
        /// Its key.
        key: String,
    },
}

/// Most rows of a sweep: they can still be told apart in a spreadsheet's numbers.
const MOST_ROWS: u64 = 1 << 53;

impl Plan {
    /// Rows through axes.
    ///
    /// # Errors
    /// [`PlanError`] if they make no sweep.
    pub fn new(axes: Vec<Axis>, order: Order) -> Result<Self, PlanError> {
        if axes.is_empty() {
            return Err(PlanError::NoAxis);
        }
        for (at, axis) in axes.iter().enumerate() {
            if axes[..at].iter().any(|other| other.key == axis.key) {
                let key = axis.key.clone();
                return Err(PlanError::Twice { key });
            }
        }
        let rows = match order {
            Order::Grid => {
                let mut rows = 1u64;
                for axis in &axes {
                    if matches!(axis.values, Values::Between { .. }) {
                        let key = axis.key.clone();
                        return Err(PlanError::NoStep { key });
                    }
                    rows = rows
                        .checked_mul(axis.texts().len() as u64)
                        .filter(|rows| *rows <= MOST_ROWS)
                        .ok_or(PlanError::TooManyRows)?;
                }
                rows
            }
            Order::Sample { rows, method, .. } => {
                if rows == 0 {
                    return Err(PlanError::NoRows);
                }
                if rows > MOST_ROWS {
                    return Err(PlanError::TooManyRows);
                }
                let past = axes.len() > SOBOL_AXES || rows > 1 << 32;
                if method == Method::Sobol && past {
                    return Err(PlanError::SobolLimit { axes: SOBOL_AXES });
                }
                rows
            }
        };
        Ok(Self { axes, order, rows })
    }

    /// The axes.
    pub fn axes(&self) -> &[Axis] {
        &self.axes
    }

    /// How the rows go through them.
    pub fn order(&self) -> Order {
        self.order
    }

    /// Number of rows.
    pub fn rows(&self) -> u64 {
        self.rows
    }

    /// The rows of part `part` (from 1) of `parts` of about equal length.
    pub fn shard(&self, part: u64, parts: u64) -> std::ops::Range<u64> {
        let end = |part: u64| {
            let product = u128::from(self.rows) * u128::from(part) / u128::from(parts.max(1));
            u64::try_from(product).unwrap_or(self.rows)
        };
        end(part.saturating_sub(1))..end(part)
    }

    /// The values of a row, counted from 0, axis by axis.
    pub fn cells(&self, row: u64) -> Vec<Cell> {
        match self.order {
            Order::Grid => {
                let mut left = row;
                let mut cells: Vec<Cell> = Vec::with_capacity(self.axes.len());
                for axis in self.axes.iter().rev() {
                    let count = axis.texts().len().max(1) as u64;
                    let bin = usize::try_from(left % count).unwrap_or(0);
                    left /= count;
                    cells.push(Cell {
                        text: axis.texts().get(bin).cloned().unwrap_or_default(),
                        bin,
                        way: axis.way(bin, 0.0),
                    });
                }
                cells.reverse();
                cells
            }
            Order::Sample { rows, method, seed } => {
                let share = |at: usize| match method {
                    Method::LatinHypercube => latin_hypercube(row, rows, at, seed),
                    Method::Sobol => sobol(row, at, seed),
                };
                let axes = self.axes.iter().enumerate();
                axes.map(|(at, axis)| {
                    let share = share(at);
                    let bin = axis.index_at(share);
                    Cell {
                        text: axis.at(share),
                        bin,
                        way: axis.way(bin, share),
                    }
                })
                .collect()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::axis::Reading;
    use super::*;

    fn axes(texts: &[&str], is_sampled: bool) -> Vec<Axis> {
        let reading = |_: &str| Reading {
            is_count: false,
            is_sampled,
        };
        let parse = |text: &&str| Axis::parse(text, reading).unwrap();
        texts.iter().map(parse).collect()
    }

    #[test]
    fn the_last_axis_turns_fastest() {
        let plan = Plan::new(axes(&["a=0..2", "b=x,y"], false), Order::Grid).unwrap();
        let rows: Vec<String> = (0..plan.rows())
            .map(|row| {
                let cells = plan.cells(row);
                cells.iter().map(|cell| cell.text.as_str()).collect()
            })
            .collect();
        assert_eq!(rows, ["0x", "0y", "1x", "1y", "2x", "2y"]);
    }

    #[test]
    fn shards_are_all_rows_once_in_order() {
        let plan = Plan::new(axes(&["a=0..9"], false), Order::Grid).unwrap();
        for parts in 1..13 {
            let mut next = 0;
            for part in 1..=parts {
                let rows = plan.shard(part, parts);
                assert_eq!(rows.start, next);
                next = rows.end;
            }
            assert_eq!(next, 10);
        }
    }

    #[test]
    fn samples_depend_on_row_and_seed_alone() {
        let of = |method, seed| {
            let order = Order::Sample {
                rows: 100,
                method,
                seed,
            };
            Plan::new(axes(&["a=0..1", "b=x,y"], true), order).unwrap()
        };
        for method in [Method::LatinHypercube, Method::Sobol] {
            let plan = of(method, 1);
            assert_eq!(plan.cells(42), of(method, 1).cells(42));
            assert_ne!(plan.cells(42), of(method, 2).cells(42));
            let first = (0..100).filter(|row| plan.cells(*row)[1].bin == 0).count();
            assert!((45..=55).contains(&first), "{first}");
        }
    }

    #[test]
    fn what_makes_no_sweep_is_refused() {
        let grid = |texts: &[&str]| Plan::new(axes(texts, false), Order::Grid).unwrap_err();
        assert_eq!(grid(&[]), PlanError::NoAxis);
        assert!(matches!(grid(&["a=1,2", "a=3"]), PlanError::Twice { .. }));
        let huge = ["a=0..999999", "b=0..999999", "c=0..999999"];
        assert_eq!(grid(&huge), PlanError::TooManyRows);
        let many: Vec<String> = (0..22).map(|i| format!("k{i}=0..1")).collect();
        let many: Vec<&str> = many.iter().map(String::as_str).collect();
        let order = Order::Sample {
            rows: 8,
            method: Method::Sobol,
            seed: 1,
        };
        let error = Plan::new(axes(&many, true), order).unwrap_err();
        assert!(matches!(error, PlanError::SobolLimit { axes: 21 }));
    }
}
