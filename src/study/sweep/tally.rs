//! Means over the rows of a sweep, kept while they pass: the memory does not grow with the rows.

use super::figures::{COLUMNS, Figures};
use super::plan::{Cell, Plan};

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
    squares: [f64; COLUMNS.len()],
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
        let bins: Vec<usize> = axes.iter().map(super::axis::Axis::bins).collect();
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
            squares: [0.0; COLUMNS.len()],
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
        for (sum, value) in self.squares.iter_mut().zip(figures.0) {
            *sum += value * value;
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

    /// What a column's means over the values of an axis differ by from lowest to highest, with
    /// where they are.
    pub fn swing(&self, axis: usize, column: usize) -> Option<Swing> {
        let means = self.by_value(axis);
        let known = means.iter().enumerate();
        let known = known.filter_map(|(at, mean)| Some((at, mean.of(column)?)));
        let known: Vec<(usize, f64)> = known.collect();
        let low = known.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
        let high = known.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        (known.len() > 1).then_some(Swing {
            low: *low,
            high: *high,
        })
    }

    /// What two means over `rows` rows each may differ by through chance alone, at two standard
    /// deviations, if the rows are drawn at random.
    pub fn chance(&self, column: usize, rows: f64) -> Option<f64> {
        let mean = self.all.of(column)?;
        let variance = self.squares.get(column)? / self.all.count as f64 - mean * mean;
        (rows > 0.0).then(|| 2.0 * (2.0 * variance.max(0.0) / rows).sqrt())
    }
}

/// Where the means of a column over an axis are lowest and highest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swing {
    /// Which value, and its mean.
    pub low: (usize, f64),
    /// Which value, and its mean.
    pub high: (usize, f64),
}

impl Swing {
    /// From lowest to highest.
    pub fn span(&self) -> f64 {
        self.high.1 - self.low.1
    }
}

#[cfg(test)]
mod tests {
    use super::super::axis::{Axis, Reading};
    use super::super::plan::Order;
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
        let swing = tally.swing(0, 0).unwrap();
        assert_eq!((swing.low, swing.high), ((0, 0.5), (2, 20.5)));
        assert!(tally.swing(1, 0).is_none());
    }
}
