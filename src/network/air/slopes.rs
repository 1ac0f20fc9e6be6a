//! How what the air carries changes with the temperatures, for the implicit steps.

use crate::ode::Real;
use crate::physics::airflow::GRAVITY_M_S2;
use crate::physics::pressure_network::Factors;

use super::{Air, AirState};

impl<R: Real> AirState<R> {
    /// Works out how the flows answer to the changes of what drives them.
    #[inline(always)]
    fn answer(&mut self, factors: &Factors<R>) {
        self.solution
            .answer(factors, &self.changes_pa, &mut self.changes_kg_s);
    }
}

impl<R: Real> Air<R> {
    /// Derivatives of what [`Self::exchange`] has worked out for the interface and the channels, with
    /// the changes of the flows by buoyancy: a layer or a channel that warms changes what drives the
    /// paths, and the pressures of the zones answer so that air still balances. Without that answer a
    /// channel would seem to draw many times as much more.
    #[inline(always)]
    pub(in crate::network) fn slopes(&self, state: &[R], now: &mut AirState<R>) {
        let mut into_attic = 0;
        for (channel, at) in self.channels.iter().zip(&mut now.channels) {
            let own = if channel.opens_into_attic() {
                into_attic += 1;
                1 + into_attic
            } else {
                0
            };
            at.begin_slopes(channel, own, self.lower);
        }
        let factors = now.solution.factored();
        let weight = |density: R, node: usize| density / state[node] * GRAVITY_M_S2;
        for layer in 0..2 {
            let node = [self.lower, self.upper][layer];
            let lightness = weight(now.layers_kg_m3[layer], node);
            for (change, pull) in now.changes_pa.iter_mut().zip(&self.pulls) {
                R::apart();
                *change = lightness * pull.columns_m[layer];
            }
            now.answer(&factors);
            self.count_changes(layer, now);
            now.interface_by_w_k[layer] += now.interface_alone_w_k[layer];
        }
        let mut slot = 2;
        for (index, channel) in self.channels.iter().enumerate() {
            let density = now.drives[channel.path].density_from;
            let change = weight(density, channel.node) * self.plans[channel.path].rise_m;
            if channel.opens_into_attic() {
                now.changes_pa.fill(R::splat(0.0));
                now.changes_pa[channel.path] = change;
                now.answer(&factors);
                self.count_changes(slot, now);
                slot += 1;
            } else {
                let slope = now.solution.slopes_kg_s_pa[channel.path];
                now.channels[index].count_flow(0, slope * change);
            }
        }
    }

    /// Counts the flows' changes by one node in what depends on it.
    #[inline(always)]
    fn count_changes(&self, slot: usize, now: &mut AirState<R>) {
        now.interface_by_w_k[slot] = self.leaving_w_k(now);
        for (channel, at) in self.channels.iter().zip(&mut now.channels) {
            if channel.opens_into_attic() {
                at.count_flow(slot, now.changes_kg_s[channel.path]);
            }
        }
    }

    /// What the flows' changes at hand, kg/(s K), add to the derivative of the interface, W/K.
    #[inline(always)]
    fn leaving_w_k(&self, now: &AirState<R>) -> R {
        let zero = R::splat(0.0);
        let mut leaving = zero;
        for end in &self.attic_ends {
            if end.upper <= 0.0 {
                continue;
            }
            let change = now.changes_kg_s[end.path] * (end.outward * end.upper);
            let out = now.sweeping_kg_s[end.path] * end.outward;
            // Outdoor air that enters high falls through the upper layer.
            leaving += if end.is_channel {
                change
            } else {
                out.where_positive(change, zero)
            };
        }
        leaving * now.interface_by_leaving_j_kg
    }
}
