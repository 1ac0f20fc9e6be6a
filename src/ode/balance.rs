//! Net rates of stores from the flows that join them.

use super::{Ends, Real};

/// Adds flows up store by store, in the order of the flows.
#[derive(Debug, Clone)]
pub(super) struct Balance<R> {
    /// Flows at each store, −1 where they leave it and 1 where they enter.
    parts: Vec<(u32, f64)>,
    /// Where the parts of each store end.
    bounds: Vec<u32>,
    per_capacity: Vec<R>,
}

impl<R: Real> Balance<R> {
    pub(super) fn new(stores: usize, ends: &[Ends]) -> Self {
        let short = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
        let (mut parts, mut bounds) = (Vec::new(), Vec::new());
        for store in 0..stores {
            for (flow, ends) in ends.iter().enumerate() {
                for (end, sign) in [(ends.from, -1.0), (ends.to, 1.0)] {
                    if end == Some(store) {
                        parts.push((short(flow), sign));
                    }
                }
            }
            bounds.push(short(parts.len()));
        }
        Self {
            parts,
            bounds,
            per_capacity: vec![R::splat(0.0); stores],
        }
    }

    pub(super) fn set_capacities(&mut self, capacities: &[R]) {
        for (per, &capacity) in self.per_capacity.iter_mut().zip(capacities) {
            *per = R::splat(1.0) / capacity;
        }
    }

    /// One over each capacity.
    pub(super) fn per_capacity(&self) -> &[R] {
        &self.per_capacity
    }

    /// Rate of each store from flows, or change of each from totals.
    #[inline(always)]
    pub(super) fn rates(&self, flows: &[R], rates: &mut [R]) {
        let mut parts = self.parts.as_slice();
        let mut done = 0;
        let stores = self.bounds.iter().zip(&self.per_capacity);
        for (rate, (&bound, &per)) in rates.iter_mut().zip(stores) {
            let (now, later) = parts.split_at((bound - done) as usize);
            (parts, done) = (later, bound);
            let mut net = R::splat(0.0);
            for &(flow, sign) in now {
                net += flows[flow as usize] * sign;
            }
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
