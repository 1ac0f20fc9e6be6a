//! Means over the rows of a sweep, kept while they pass: the memory does not grow with the rows.

use super::axis::Axis;
use super::figures::{COLUMNS, Figures};
use super::fit::{Fit, place};
use super::plan::{Cell, Order, Plan};

/// Most values of an axis, and most pairs of two axes, of which means are kept.
const MOST: usize = 10_000;

/// Means over some rows.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Mean {
    /// Rows.
    pub count: u64,
    sums: [f64; COLUMNS.len()],
}

impl Mean {
    fn add(&mut self, figures: &Figures) {
        self.count += 1;
        for (sum, value) in self.sums.iter_mut().zip(figures.0) {
            *sum += value;
        }
    }

    /// Mean of a column; nothing of no rows.
    pub fn of(&self, column: usize) -> Option<f64> {
        let sum = self.sums.get(column)?;
        (self.count > 0).then(|| sum / self.count as f64)
    }
}

/// Means over all rows, over those of each value of an axis, and over those of each pair of values
/// of two.
#[derive(Debug, Clone, PartialEq)]
pub struct Tally {
    /// Over all rows.
    pub all: Mean,
    /// Rows whose house cannot be so.
    pub refused: u64,
    /// Rows whose run failed.
    pub failed: u64,
    /// Of samples.
    fit: Option<Fit>,
    by_axis: Vec<Vec<Mean>>,
    pairs: Option<Pairs>,
}

#[derive(Debug, Clone, PartialEq)]
struct Pairs {
    axes: [usize; 2],
    width: usize,
    means: Vec<Mean>,
}

/// How a row ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ending {
    /// With results.
    Done(Figures),
    /// The house cannot be so.
    Refused,
    /// The run failed.
    Failed,
}

impl Tally {
    /// Nothing yet.
    pub fn new(plan: &Plan) -> Self {
        let axes = plan.axes();
        let bins: Vec<usize> = axes.iter().map(Axis::bins).collect();
        let varied: Vec<usize> = (0..axes.len()).filter(|at| bins[*at] > 1).collect();
        let pairs = match varied.as_slice() {
            [a, b] if bins[*a].saturating_mul(bins[*b]) <= MOST => Some(Pairs {
                axes: [*a, *b],
                width: bins[*b],
                means: vec![Mean::default(); bins[*a] * bins[*b]],
            }),
            _ => None,
        };
        let kept = |bins: &usize| if *bins <= MOST { *bins } else { 0 };
        Self {
            all: Mean::default(),
            refused: 0,
            failed: 0,
            fit: match plan.order() {
                Order::Grid => None,
                Order::Sample { .. } => Fit::new(plan),
            },
            by_axis: bins
                .iter()
                .map(|bins| vec![Mean::default(); kept(bins)])
                .collect(),
            pairs,
        }
    }

    /// Counts a row.
    pub fn add(&mut self, cells: &[Cell], ending: &Ending) {
        let figures = match ending {
            Ending::Done(figures) => figures,
            Ending::Refused => {
                self.refused += 1;
                return;
            }
            Ending::Failed => {
                self.failed += 1;
                return;
            }
        };
        self.all.add(figures);
        if let Some(fit) = &mut self.fit {
            fit.add(cells, figures);
        }
        for (means, cell) in self.by_axis.iter_mut().zip(cells) {
            if let Some(mean) = means.get_mut(cell.bin) {
                mean.add(figures);
            }
        }
        if let Some(pairs) = &mut self.pairs {
            let [a, b] = pairs.axes.map(|axis| cells.get(axis).map(|cell| cell.bin));
            if let (Some(a), Some(b)) = (a, b)
                && let Some(mean) = pairs.means.get_mut(a * pairs.width + b)
            {
                mean.add(figures);
            }
        }
    }

    /// Means by the values of an axis; none where it has too many.
    pub fn by_value(&self, axis: usize) -> &[Mean] {
        self.by_axis.get(axis).map_or(&[], Vec::as_slice)
    }

    /// The two axes that alone vary, if they are two.
    pub fn pair(&self) -> Option<[usize; 2]> {
        self.pairs.as_ref().map(|pairs| pairs.axes)
    }

    /// Mean of a pair of values of those two axes.
    pub fn of_pair(&self, a: usize, b: usize) -> Option<&Mean> {
        let pairs = self.pairs.as_ref()?;
        pairs.means.get(a * pairs.width + b)
    }

    /// What each axis of a plan does to a column, the strongest first.
    ///
    /// In a grid these are means over all else. Of samples they are straight lines fitted to all
    /// fields together, where there are enough rows for it, since plain means still have the other
    /// fields' chance in them.
    pub fn swings(&self, plan: &Plan, column: usize) -> Swings {
        let solved = self.fit.as_ref().and_then(|fit| fit.solve(column));
        let is_sample = plan.order() != Order::Grid;
        let axes = plan.axes().iter().enumerate();
        let mut all: Vec<Swing> = axes
            .filter_map(|(at, axis)| {
                let ends = |levels: &[(Place, f64)]| {
                    let low = levels.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
                    let high = levels.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
                    (levels.len() > 1).then_some((*low, *high))
                };
                if let Some((effects, _)) = &solved {
                    let effect = effects.get(at)?.as_ref()?;
                    let by = |a: &usize, b: &usize| effect.levels[*a].total_cmp(&effect.levels[*b]);
                    let low = (0..effect.levels.len()).min_by(by)?;
                    let high = (0..effect.levels.len()).max_by(by)?;
                    let end = |level: usize| (place(axis, level), effect.levels[level]);
                    let span = effect.levels[high] - effect.levels[low];
                    return Some(Swing {
                        axis: at,
                        low: end(low),
                        high: end(high),
                        // Two standard errors: wrong in one of twenty fields that do nothing.
                        may_be_chance: span < 2.0 * effect.standard_error(low, high),
                    });
                }
                let means = self.by_value(at).iter().enumerate();
                let levels =
                    means.filter_map(|(bin, mean)| Some((Place::Value(bin), mean.of(column)?)));
                let (low, high) = ends(&levels.collect::<Vec<_>>())?;
                Some(Swing {
                    axis: at,
                    low,
                    high,
                    may_be_chance: is_sample,
                })
            })
            .collect();
        all.sort_by(|a, b| b.span().total_cmp(&a.span()));
        Swings {
            all,
            accounted: solved.map(|(_, share)| share),
        }
    }
}

/// A value of an axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// One of its values, or a part of what lies between its ends.
    Value(usize),
    /// Its lower end.
    Start,
    /// Its upper end.
    End,
}

impl Place {
    /// What it is called.
    pub fn name(self, axis: &Axis) -> String {
        match self {
            Self::Value(bin) => axis.bin_name(bin),
            Self::Start => axis.at(0.0),
            Self::End => axis.at(1.0),
        }
    }
}

/// What axes do to a column.
#[derive(Debug, Clone, PartialEq)]
pub struct Swings {
    /// Axis by axis, the strongest first.
    pub all: Vec<Swing>,
    /// Share of all differences that straight lines account for, if they were fitted.
    pub accounted: Option<f64>,
}

/// Where an axis takes a column lowest and highest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swing {
    /// Which axis.
    pub axis: usize,
    /// With which value, and the column there.
    pub low: (Place, f64),
    /// With which value, and the column there.
    pub high: (Place, f64),
    /// Whether samples may differ so by chance.
    pub may_be_chance: bool,
}

impl Swing {
    /// From lowest to highest.
    pub fn span(&self) -> f64 {
        self.high.1 - self.low.1
    }
}

#[cfg(test)]
mod tests {
    use super::super::axis::Reading;
    use super::*;

    #[test]
    fn means_are_kept_by_value_and_by_pair() {
        let parse = |text| Axis::parse(text, |_| Reading::default()).unwrap();
        let axes = vec![parse("a=0..2"), parse("c=7"), parse("b=x,y")];
        let plan = Plan::new(axes, Order::Grid).unwrap();
        let mut tally = Tally::new(&plan);
        for row in 0..plan.rows() {
            let cells = plan.cells(row);
            let mut figures = Figures([0.0; COLUMNS.len()]);
            figures.0[0] = 10.0 * cells[0].bin as f64 + cells[2].bin as f64;
            tally.add(&cells, &Ending::Done(figures));
        }
        tally.add(&plan.cells(0), &Ending::Refused);
        assert_eq!((tally.all.count, tally.refused), (6, 1));
        assert_eq!(tally.all.of(0), Some(10.5));
        assert_eq!(tally.by_value(0)[2].of(0), Some(20.5));
        assert_eq!(tally.pair(), Some([0, 2]));
        assert_eq!(tally.of_pair(1, 1).unwrap().of(0), Some(11.0));
        let swings = tally.swings(&plan, 0);
        let first = swings.all[0];
        assert_eq!(first.low, (Place::Value(0), 0.5));
        assert_eq!(first.high, (Place::Value(2), 20.5));
        assert!(!first.may_be_chance && swings.accounted.is_none());
        // The field with one value does nothing.
        let axes: Vec<usize> = swings.all.iter().map(|swing| swing.axis).collect();
        assert_eq!(axes, [0, 2]);
    }
}
