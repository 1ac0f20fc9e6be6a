//! Straight lines through samples: what each field does by itself, all others held still.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

use super::axis::Axis;
use super::figures::{COLUMNS, Figures};
use super::plan::{Cell, Plan};

/// Most unknowns of a fit.
const MOST: usize = 300;

/// Sums of a least-squares fit: a line over each field of numbers, a level for each value of any
/// other, added up. They are kept while rows pass.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Fit {
    /// Where each axis's unknowns begin, and how many it has.
    parts: Vec<Part>,
    unknowns: usize,
    rows: u64,
    /// Products of the unknowns' factors, row-major.
    products: Vec<f64>,
    /// Products of the factors with each column.
    with_columns: Vec<[f64; COLUMNS.len()]>,
    squares: [f64; COLUMNS.len()],
}

#[derive(Debug, Clone, PartialEq)]
struct Part {
    first: usize,
    kind: Kind,
}

#[derive(Debug, Clone, PartialEq)]
enum Kind {
    Still,
    /// A line over the way between the ends.
    Line,
    /// A level for each value but the first.
    Levels(usize),
}

/// What a field does to a column.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Effect {
    /// For a line its two ends, else each value's level.
    pub(super) levels: Vec<f64>,
    /// Variances and covariances of the differences of levels from the first.
    covariance: DMatrix<f64>,
}

impl Effect {
    /// Standard error of the difference of two levels.
    pub(super) fn standard_error(&self, a: usize, b: usize) -> f64 {
        let of = |a: usize, b: usize| match (a.checked_sub(1), b.checked_sub(1)) {
            (Some(a), Some(b)) => self.covariance[(a, b)],
            _ => 0.0,
        };
        (of(a, a) + of(b, b) - 2.0 * of(a, b)).max(0.0).sqrt()
    }
}

impl Fit {
    /// Nothing yet; `None` where there are too many unknowns.
    pub(super) fn new(plan: &Plan) -> Option<Self> {
        let mut unknowns = 1;
        let mut parts = Vec::new();
        for axis in plan.axes() {
            let kind = match axis.bins() {
                0 | 1 => Kind::Still,
                _ if axis.is_ordered() => Kind::Line,
                bins => Kind::Levels(bins),
            };
            let first = unknowns;
            unknowns += match kind {
                Kind::Still => 0,
                Kind::Line => 1,
                Kind::Levels(bins) => bins - 1,
            };
            if unknowns > MOST {
                return None;
            }
            parts.push(Part { first, kind });
        }
        Some(Self {
            parts,
            unknowns,
            rows: 0,
            products: vec![0.0; unknowns * unknowns],
            with_columns: vec![[0.0; COLUMNS.len()]; unknowns],
            squares: [0.0; COLUMNS.len()],
        })
    }

    /// Counts a row.
    pub(super) fn add(&mut self, cells: &[Cell], figures: &Figures) {
        self.rows += 1;
        // Factors that are not nought.
        let mut factors = vec![(0, 1.0)];
        for (part, cell) in self.parts.iter().zip(cells) {
            match part.kind {
                Kind::Line => factors.push((part.first, cell.way - 0.5)),
                Kind::Levels(_) if cell.bin > 0 => factors.push((part.first + cell.bin - 1, 1.0)),
                _ => {}
            }
        }
        for &(a, x) in &factors {
            for &(b, y) in &factors {
                self.products[a * self.unknowns + b] += x * y;
            }
            for (sum, value) in self.with_columns[a].iter_mut().zip(figures.0) {
                *sum += x * value;
            }
        }
        for (sum, value) in self.squares.iter_mut().zip(figures.0) {
            *sum += value * value;
        }
    }

    /// What each axis does to a column, and the share of the column's differences that all
    /// together account for. `None` where there are too few rows for it.
    pub(super) fn solve(&self, column: usize) -> Option<(Vec<Option<Effect>>, f64)> {
        let spare = self.rows.checked_sub(self.unknowns as u64 + 2)? as f64;
        let n = self.unknowns;
        let matrix = DMatrix::from_row_slice(n, n, &self.products);
        let right = DVector::from_iterator(n, self.with_columns.iter().map(|sums| sums[column]));
        let whole: Cholesky<f64, Dyn> = Cholesky::new(matrix.clone())?;
        let found = whole.solve(&right);
        let inverse = whole.inverse();
        if !found.iter().chain(inverse.iter()).all(|x| x.is_finite()) {
            return None;
        }
        let count = self.rows as f64;
        let mean = self.with_columns.first()?[column] / count;
        let total = self.squares[column] - count * mean * mean;
        let left = (self.squares[column] - found.dot(&right)).max(0.0);
        let variance = left / spare;
        let share = if total > 0.0 { 1.0 - left / total } else { 1.0 };
        let effects = self.parts.iter().map(|part| {
            // Means of the factors, about which a level is told.
            let mean_of = |at: usize| self.products[at] / count;
            match part.kind {
                Kind::Still => None,
                Kind::Line => {
                    let at = part.first;
                    let level = |way: f64| mean + found[at] * (way - mean_of(at));
                    Some(Effect {
                        levels: vec![level(-0.5), level(0.5)],
                        covariance: DMatrix::from_element(1, 1, variance * inverse[(at, at)]),
                    })
                }
                Kind::Levels(bins) => {
                    let others = part.first..part.first + bins - 1;
                    let usual: f64 = others.clone().map(|at| found[at] * mean_of(at)).sum();
                    let mut levels = vec![mean - usual];
                    levels.extend(others.clone().map(|at| mean - usual + found[at]));
                    let first = part.first;
                    let covariance = inverse.view((first, first), (bins - 1, bins - 1));
                    Some(Effect {
                        levels,
                        covariance: covariance * variance,
                    })
                }
            }
        });
        Some((effects.collect(), share))
    }
}

/// Which value of an axis a level of an [`Effect`] is of: for a line, the least or the greatest.
pub(super) fn place(axis: &Axis, level: usize) -> super::tally::Place {
    use super::tally::Place;
    if !axis.is_ordered() {
        return Place::Value(level);
    }
    let Some(numbers) = axis.numbers() else {
        return if level == 0 { Place::Start } else { Place::End };
    };
    let places = numbers.iter().enumerate();
    let by = |a: &(usize, &f64), b: &(usize, &f64)| a.1.total_cmp(b.1);
    let found = if level == 0 {
        places.min_by(by)
    } else {
        places.max_by(by)
    };
    Place::Value(found.map_or(0, |(at, _)| at))
}

#[cfg(test)]
mod tests {
    use super::super::axis::Reading;
    use super::super::plan::{Method, Order};
    use super::*;

    #[test]
    fn what_was_put_in_comes_out() {
        let reading = |_: &str| Reading {
            is_count: false,
            is_sampled: true,
        };
        let parse = |text| Axis::parse(text, reading).unwrap();
        let axes = vec![
            parse("a=10..20"),
            parse("b=x,y,z"),
            parse("c=5"),
            parse("d=1,3,2"),
        ];
        let order = Order::Sample {
            rows: 200,
            method: Method::LatinHypercube,
            seed: 1,
        };
        let plan = Plan::new(axes, order).unwrap();
        let mut fit = Fit::new(&plan).unwrap();
        for row in 0..plan.rows() {
            let cells = plan.cells(row);
            let a: f64 = cells[0].way;
            let b = [0.0, -2.0, 5.0][cells[1].bin];
            let d: f64 = cells[3].text.parse().unwrap();
            let mut figures = Figures([0.0; COLUMNS.len()]);
            figures.0[1] = 50.0 + 7.0 * a + b - 3.0 * d;
            fit.add(&cells, &figures);
        }
        let (effects, share) = fit.solve(1).unwrap();
        assert!((share - 1.0).abs() < 1e-9);
        let apart = |at: usize, a: usize, b: usize| {
            let levels = &effects[at].as_ref().unwrap().levels;
            levels[a] - levels[b]
        };
        assert!((apart(0, 1, 0) - 7.0).abs() < 1e-6);
        assert!((apart(1, 1, 0) + 2.0).abs() < 1e-6);
        assert!((apart(1, 2, 1) - 7.0).abs() < 1e-6);
        assert!(effects[2].is_none());
        assert!((apart(3, 1, 0) + 6.0).abs() < 1e-6);
        let error = effects[1].as_ref().unwrap().standard_error(1, 2);
        assert!(error < 1e-3, "{error}");
    }

    #[test]
    fn too_few_rows_are_no_fit() {
        let parse = |text| Axis::parse(text, |_| Reading::default()).unwrap();
        let plan = Plan::new(vec![parse("a=x,y,z")], Order::Grid).unwrap();
        let mut fit = Fit::new(&plan).unwrap();
        for row in 0..plan.rows() {
            fit.add(&plan.cells(row), &Figures([1.0; COLUMNS.len()]));
        }
        assert!(fit.solve(0).is_none());
    }
}
