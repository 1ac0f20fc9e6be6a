//! Channels of air behind a foil or under a covering.

use crate::ode::Real;
use crate::physics::air_space::ChannelFilm;

use super::{Air, AirState};

/// Air channel behind a foil or under a covering.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::network) struct Channel<R> {
    pub(in crate::network) node: usize,
    pub(in crate::network) lower_surface: usize,
    pub(in crate::network) upper_surface: usize,
    pub(in crate::network) area_m2: R,
    pub(in crate::network) section_m2: R,
    pub(in crate::network) film: ChannelFilm,
    pub(in crate::network) path: usize,
    /// Node at the foot; `None` is outdoors.
    pub(in crate::network) foot: Option<usize>,
    /// Node at the head; `None` is outdoors.
    pub(in crate::network) head: Option<usize>,
}

impl<R> Channel<R> {
    pub(super) fn opens_into_attic(&self) -> bool {
        self.foot.is_some() || self.head.is_some()
    }
}

/// State of one channel at an instant.
#[derive(Debug, Clone)]
pub(in crate::network) struct ChannelState<R> {
    /// Film on either plate, W/(m² K).
    pub(in crate::network) film_w_m2k: R,
    pub(in crate::network) foot_w: R,
    pub(in crate::network) head_w: R,
    /// Heat capacity flow up and down, W/K; the latter is not above zero.
    streams_w_k: [R; 2],
    /// Share of the way from the entry to twice the mean that air goes: see [`Air::pass_channels`].
    ratio: R,
    /// Derivatives of the heat at the foot and the head by the mass flow, J/kg.
    by_flow_j_kg: [R; 2],
    /// Derivatives of the heat at the foot and the head in the order of [`Air::channel_nodes`], W/K;
    /// from [`Air::slopes`].
    pub(in crate::network) foot_by_w_k: Vec<R>,
    pub(in crate::network) head_by_w_k: Vec<R>,
}

impl<R: Real> ChannelState<R> {
    /// Of a channel that depends on so many nodes, before anything has been worked out.
    pub(super) fn new(nodes: usize) -> Self {
        let zero = R::splat(0.0);
        Self {
            film_w_m2k: zero,
            foot_w: zero,
            head_w: zero,
            streams_w_k: [zero; 2],
            ratio: zero,
            by_flow_j_kg: [zero; 2],
            foot_by_w_k: vec![zero; nodes],
            head_by_w_k: vec![zero; nodes],
        }
    }

    /// Derivatives at an even flow.
    #[inline(always)]
    pub(super) fn begin_slopes(&mut self, channel: &Channel<R>, own: usize, lower: usize) {
        let [forward, backward] = self.streams_w_k;
        let rest = R::splat(1.0) - self.ratio;
        self.foot_by_w_k.fill(R::splat(0.0));
        self.head_by_w_k.fill(R::splat(0.0));
        self.foot_by_w_k[own] = backward * self.ratio;
        self.head_by_w_k[own] = forward * self.ratio;
        let slot = |node| usize::from(node != lower);
        if let Some(foot) = channel.foot {
            self.foot_by_w_k[slot(foot)] += forward;
            self.head_by_w_k[slot(foot)] += forward * rest;
        }
        if let Some(head) = channel.head {
            self.foot_by_w_k[slot(head)] += backward * rest;
            self.head_by_w_k[slot(head)] += backward;
        }
    }

    /// Adds what a change of the flow, kg/(s K), brings.
    #[inline(always)]
    pub(super) fn count_flow(&mut self, slot: usize, change_kg_s_k: R) {
        self.foot_by_w_k[slot] += self.by_flow_j_kg[0] * change_kg_s_k;
        self.head_by_w_k[slot] += self.by_flow_j_kg[1] * change_kg_s_k;
    }
}

impl<R: Real> Air<R> {
    /// Air that warms along a channel between two plates, steady along its length: the mean
    /// `T_m`, the entry `T_i` and the exit `T_e` of an exponential profile obey
    /// `T_e − T_i = r (T_m − T_i)`, `r = (1 − e^−N)/(1 − (1 − e^−N)/N)`, `N = 2hA/ṁc_p`
    /// (plug flow between plates of even temperature; derived). `T_m` is the channel's node.
    #[inline(always)]
    pub(super) fn pass_channels(
        &self,
        state: &[R],
        outdoor_k: R,
        heat_capacity: R,
        outside: R,
        now: &mut AirState<R>,
    ) {
        let zero = R::splat(0.0);
        let one = R::splat(1.0);
        for (index, channel) in self.channels.iter().enumerate() {
            let flow = now.solution.flows_kg_s[channel.path];
            let speed = flow.abs() / (channel.section_m2 * outside);
            let out = &mut now.channels[index];
            out.film_w_m2k = channel.film.film_w_m2k(
                state[channel.lower_surface],
                state[channel.upper_surface],
                state[channel.node],
                speed,
            );
            let units = out.film_w_m2k * channel.area_m2 * 2.0
                / (flow.abs() * heat_capacity).max(R::splat(1e-9));
            let units = units.max(R::splat(1e-3)).min(R::splat(500.0));
            let left = (-units).exp();
            let gone = one - left;
            let spread = one - gone / units;
            let ratio = gone / spread;
            // N dr/dN.
            let ratio_slope =
                (left * units * spread - gone * (gone / units - left)) / (spread * spread);
            let forward = flow.max(zero) * heat_capacity;
            let backward = flow.min(zero) * heat_capacity;
            let mean_k = state[channel.node];
            let foot_k = channel.foot.map_or(outdoor_k, |node| state[node]);
            let head_k = channel.head.map_or(outdoor_k, |node| state[node]);
            let exit_up_k = foot_k + ratio * (mean_k - foot_k);
            let exit_down_k = head_k + ratio * (mean_k - head_k);
            out.foot_w = forward * (foot_k - outdoor_k) + backward * (exit_down_k - outdoor_k);
            out.head_w = forward * (exit_up_k - outdoor_k) + backward * (head_k - outdoor_k);
            // More flow leaves less time to warm: at an even film N falls as 1/ṁ.
            let up = exit_up_k - outdoor_k - ratio_slope * (mean_k - foot_k);
            let down = exit_down_k - outdoor_k - ratio_slope * (mean_k - head_k);
            out.by_flow_j_kg = [
                flow.where_positive(foot_k - outdoor_k, down) * heat_capacity,
                flow.where_positive(up, head_k - outdoor_k) * heat_capacity,
            ];
            out.streams_w_k = [forward, backward];
            out.ratio = ratio;
        }
    }
}
