//! Net rates of stores from the flows that join them.

use super::{Ends, Real};

/// Adds flows up by store, without branches: the surroundings are one more store.
#[derive(Debug, Clone)]
pub(super) struct Balance<R> {
    ends: Vec<[u32; 2]>,
    per_capacity: Vec<R>,
    nets: Vec<R>,
}

impl<R: Real> Balance<R> {
    pub(super) fn new(stores: usize, ends: &[Ends]) -> Self {
        let place = |end: Option<usize>| u32::try_from(end.unwrap_or(stores)).unwrap_or(u32::MAX);
        Self {
            ends: ends
                .iter()
                .map(|end| [place(end.from), place(end.to)])
                .collect(),
            per_capacity: vec![R::splat(0.0); stores],
            nets: vec![R::splat(0.0); stores + 1],
        }
    }

    pub(super) fn set_capacities(&mut self, capacities: &[R]) {
        for (per, &capacity) in self.per_capacity.iter_mut().zip(capacities) {
            *per = R::splat(1.0) / capacity;
        }
    }

    /// Rate of each store from flows, or change of each from totals.
    pub(super) fn rates(&mut self, flows: &[R], rates: &mut [R]) {
        self.nets.fill(R::splat(0.0));
        for (&[from, to], &flow) in self.ends.iter().zip(flows) {
            self.nets[from as usize] -= flow;
            self.nets[to as usize] += flow;
        }
        for ((rate, &net), &per) in rates.iter_mut().zip(&self.nets).zip(&self.per_capacity) {
            *rate = net * per;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_leaves_one_store_enters_the_other_or_the_surroundings() {
        let ends = [
            Ends {
                from: Some(0),
                to: Some(1),
            },
            Ends {
                from: None,
                to: Some(0),
            },
            Ends {
                from: Some(1),
                to: None,
            },
        ];
        let mut balance = Balance::<f64>::new(2, &ends);
        balance.set_capacities(&[2.0, 4.0]);
        let mut rates = [f64::NAN; 2];
        balance.rates(&[1.0, 8.0, 5.0], &mut rates);
        assert!(
            (rates[0] - 3.5).abs() < 1e-15 && (rates[1] + 1.0).abs() < 1e-15,
            "{rates:?}"
        );
    }
}
