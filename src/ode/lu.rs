//! Sparse LU without pivoting on a pattern that never changes.
//!
//! The pattern is analysed once: an elimination order of minimum degree (Tinney & Walker 1967,
//! scheme 2; from memory), the fill that it causes, and the list of updates that each factorisation replays.
//! No pivoting is sound for the matrices of this program: capacities over a step less the
//! derivatives of conductive flows are diagonally dominant. A zero pivot shows up as values that
//! are not finite, which the caller checks.

use std::collections::BTreeSet;

use super::Real;

/// Factors of one matrix on a fixed pattern, with the program that renews them.
#[derive(Debug, Clone)]
pub(crate) struct SparseLu<R> {
    /// Row of the factors → row of the caller.
    order: Vec<usize>,
    /// Caller's row → row of the factors.
    place: Vec<usize>,
    /// Start of each row in `columns` and `values`; the row's diagonal is at `diagonal`.
    starts: Vec<usize>,
    diagonal: Vec<usize>,
    columns: Vec<u32>,
    /// For each entry left of a diagonal, in row order: where in its row (from the row's start)
    /// the pivot row's entries right of the diagonal land.
    targets: Vec<u32>,
    values: Vec<R>,
    inverse_diagonal: Vec<R>,
    work: Vec<R>,
    /// What is left of the diagonal, from the first column on, and what is right of it, from the last
    /// on and over the diagonal of its column.
    lower: Substitution<R>,
    upper: Substitution<R>,
}

/// Entries of one half of the factors in the order in which solving takes them: column by column, so that
/// hardly anything waits for what was found just before.
#[derive(Debug, Clone)]
struct Substitution<R> {
    entries: Vec<Entry>,
    values: Vec<R>,
}

#[derive(Debug, Clone, Copy)]
struct Entry {
    /// Where it is among the values of the factors.
    slot: u32,
    row: u32,
    column: u32,
}

impl<R: Real> Substitution<R> {
    fn new(entries: Vec<Entry>) -> Self {
        let values = vec![R::splat(0.0); entries.len()];
        Self { entries, values }
    }

    #[inline(always)]
    fn take_off(&self, work: &mut [R]) {
        for (entry, &value) in self.entries.iter().zip(&self.values) {
            R::apart();
            let change = value * work[entry.column as usize];
            work[entry.row as usize] -= change;
        }
    }
}

impl<R: Real> SparseLu<R> {
    /// Analyses a square pattern of `size` rows; diagonals are always part of it, and it is made
    /// symmetric.
    pub(crate) fn new(size: usize, pattern: &[(usize, usize)]) -> Self {
        let mut neighbours = vec![BTreeSet::new(); size];
        for &(row, column) in pattern {
            if row != column {
                neighbours[row].insert(column);
                neighbours[column].insert(row);
            }
        }
        let (order, upper) = minimum_degree(neighbours);
        let mut place = vec![0; size];
        for (row, &original) in order.iter().enumerate() {
            place[original] = row;
        }
        let mut rows: Vec<BTreeSet<usize>> = (0..size).map(|row| BTreeSet::from([row])).collect();
        for (pivot, later) in upper.iter().enumerate() {
            for &original in later {
                let row = place[original];
                rows[pivot].insert(row);
                rows[row].insert(pivot);
            }
        }
        let mut starts = Vec::with_capacity(size + 1);
        let (mut columns, mut diagonal) = (Vec::new(), Vec::new());
        for (row, entries) in rows.iter().enumerate() {
            starts.push(columns.len());
            for &column in entries {
                if column == row {
                    diagonal.push(columns.len());
                }
                columns.push(index(column));
            }
        }
        starts.push(columns.len());
        let mut targets = Vec::new();
        for (row, entries) in rows.iter().enumerate() {
            for &pivot in entries.range(..row) {
                for column in rows[pivot].range(pivot + 1..) {
                    targets.push(index(entries.range(..column).count()));
                }
            }
        }
        let half = |is_in: fn(u32, u32) -> bool| {
            let mut entries = Vec::new();
            for row in 0..size {
                for slot in starts[row]..starts[row + 1] {
                    let (slot, row, column) = (index(slot), index(row), columns[slot]);
                    if is_in(row, column) {
                        entries.push(Entry { slot, row, column });
                    }
                }
            }
            entries
        };
        let mut lower = half(|row, column| column < row);
        lower.sort_by_key(|entry| entry.column);
        let mut upper = half(|row, column| column > row);
        upper.sort_by_key(|entry| std::cmp::Reverse(entry.column));
        Self {
            lower: Substitution::new(lower),
            upper: Substitution::new(upper),
            values: vec![R::splat(0.0); columns.len()],
            inverse_diagonal: vec![R::splat(0.0); size],
            work: vec![R::splat(0.0); size],
            order,
            place,
            starts,
            diagonal,
            columns,
            targets,
        }
    }

    /// Where the entry of the caller's `row` and `column` is in [`Self::values_mut`].
    pub(crate) fn slot(&self, row: usize, column: usize) -> Option<usize> {
        let (row, column) = (self.place[row], index(self.place[column]));
        let start = self.starts[row];
        self.columns[start..self.starts[row + 1]]
            .binary_search(&column)
            .ok()
            .map(|at| start + at)
    }

    /// The matrix to write before [`Self::factor`], which overwrites it with its factors.
    pub(crate) fn values_mut(&mut self) -> &mut [R] {
        &mut self.values
    }

    /// Replaces the matrix by its factors.
    #[inline(always)]
    pub(crate) fn factor(&mut self) {
        let mut targets = self.targets.as_slice();
        for row in 0..self.order.len() {
            let start = self.starts[row];
            let (done, rest) = self.values.split_at_mut(start);
            let current = &mut rest[..self.starts[row + 1] - start];
            let lower = self.diagonal[row] - start;
            for at in 0..lower {
                let pivot = self.columns[start + at] as usize;
                let multiplier = current[at] * self.inverse_diagonal[pivot];
                current[at] = multiplier;
                let upper = &done[self.diagonal[pivot] + 1..self.starts[pivot + 1]];
                let (now, later) = targets.split_at(upper.len());
                targets = later;
                for (&value, &target) in upper.iter().zip(now) {
                    current[target as usize] -= multiplier * value;
                }
            }
            self.inverse_diagonal[row] = R::splat(1.0) / current[lower];
        }
        let lower = &mut self.lower;
        for (value, entry) in lower.values.iter_mut().zip(&lower.entries) {
            R::apart();
            *value = self.values[entry.slot as usize];
        }
        let upper = &mut self.upper;
        for (value, entry) in upper.values.iter_mut().zip(&upper.entries) {
            R::apart();
            let inverse = self.inverse_diagonal[entry.column as usize];
            *value = self.values[entry.slot as usize] * inverse;
        }
    }

    /// Solves for `x` in place of the right-hand side.
    #[inline(always)]
    pub(crate) fn solve(&mut self, x: &mut [R]) {
        for (work, &original) in self.work.iter_mut().zip(&self.order) {
            R::apart();
            *work = x[original];
        }
        self.lower.take_off(&mut self.work);
        self.upper.take_off(&mut self.work);
        let parts = self.work.iter().zip(&self.inverse_diagonal);
        for ((&work, &inverse), &original) in parts.zip(&self.order) {
            R::apart();
            x[original] = work * inverse;
        }
    }
}

/// Patterns have far fewer entries than `u32` holds.
fn index(value: usize) -> u32 {
    u32::try_from(value).unwrap_or(u32::MAX)
}

/// Eliminates the node with the fewest neighbours again and again; returns the order and, for each
/// pivot, its neighbours at that moment.
fn minimum_degree(mut neighbours: Vec<BTreeSet<usize>>) -> (Vec<usize>, Vec<BTreeSet<usize>>) {
    let mut left: BTreeSet<usize> = (0..neighbours.len()).collect();
    let (mut order, mut upper) = (Vec::new(), Vec::new());
    while let Some(pivot) = left
        .iter()
        .copied()
        .min_by_key(|&node| neighbours[node].len())
    {
        left.remove(&pivot);
        let around = std::mem::take(&mut neighbours[pivot]);
        for &node in &around {
            neighbours[node].remove(&pivot);
            neighbours[node].extend(around.iter().copied().filter(|&other| other != node));
        }
        order.push(pivot);
        upper.push(around);
    }
    (order, upper)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// Chains of layers that meet in a dense block of surfaces, as in an attic.
    fn attic_pattern(chains: usize, length: usize) -> (usize, Vec<(usize, usize)>) {
        let mut pattern = Vec::new();
        for a in 0..chains {
            for b in 0..chains {
                pattern.push((a * length, b * length));
            }
            for layer in 1..length {
                pattern.push((a * length + layer, a * length + layer - 1));
                pattern.push((a * length + layer - 1, a * length + layer));
            }
        }
        (chains * length, pattern)
    }

    fn dominant(size: usize, pattern: &[(usize, usize)]) -> nalgebra::DMatrix<f64> {
        let mut matrix = nalgebra::DMatrix::zeros(size, size);
        for (k, &(row, column)) in pattern.iter().enumerate() {
            if row != column {
                let value = 0.1 + ((k * 37) % 11) as f64 / 7.0;
                matrix[(row, column)] -= value;
                matrix[(row, row)] += value;
            }
        }
        for row in 0..size {
            matrix[(row, row)] += 0.01 + row as f64 * 0.3;
        }
        matrix
    }

    #[test]
    fn solution_agrees_with_dense_lu_with_pivoting() {
        for (chains, length) in [(1, 1), (3, 2), (8, 5), (12, 5)] {
            let (size, pattern) = attic_pattern(chains, length);
            let matrix = dominant(size, &pattern);
            let mut lu = SparseLu::<f64>::new(size, &pattern);
            for row in 0..size {
                for column in 0..size {
                    match lu.slot(row, column) {
                        Some(slot) => lu.values_mut()[slot] = matrix[(row, column)],
                        None => assert!(matrix[(row, column)].abs() < 1e-300),
                    }
                }
            }
            lu.factor();
            let right: Vec<f64> = (0..size)
                .map(|row| crate::elementary::sin(row as f64) + 2.0)
                .collect();
            let mut x = right.clone();
            lu.solve(&mut x);
            let exact = matrix
                .lu()
                .solve(&nalgebra::DVector::from_vec(right))
                .unwrap();
            for (found, wanted) in x.iter().zip(exact.iter()) {
                assert!((found - wanted).abs() < 1e-11 * wanted.abs().max(1.0));
            }
        }
    }

    #[test]
    fn chains_that_meet_in_a_dense_block_fill_nothing_in() {
        let (size, pattern) = attic_pattern(8, 5);
        let lu = SparseLu::<f64>::new(size, &pattern);
        // 40 diagonals, 8 chains of 4 links and 28 pairs of the dense block, both ways.
        assert_eq!(lu.columns.len(), 40 + 2 * (8 * 4 + 28));
    }

    #[test]
    fn a_star_is_eliminated_from_its_tips() {
        let pattern: Vec<_> = (1..30).map(|tip| (0, tip)).collect();
        let lu = SparseLu::<f64>::new(30, &pattern);
        assert_eq!(lu.columns.len(), 30 + 2 * 29);
    }
}
