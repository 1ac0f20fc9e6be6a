//! Air of the house: zones, paths, what drives them and the heat they carry.
//!
//! Heat carried by air is counted against outdoor air, so that a path's flow is what its air
//! brings in or takes away: `c_p ṁ (T_upstream − T_outdoors)`. With the mass balance closed this
//! moves the same heat between nodes as any other reference.

mod channels;
mod slopes;

use crate::ode::{Mask, Real, smoothstep};
use crate::physics::airflow::{GRAVITY_M_S2, density_kg_m3};
use crate::physics::attic_layers::{Rise, entrained_kg_s, interface_w_k, rise, rising_kg_s};
use crate::physics::moist_air::specific_heat_j_kgk;
use crate::physics::pressure_network::{Closing, Drive, Path, Solution};

use super::ducts::Spill;
use super::links::{Speed, plant_share};
use super::short_circuit::{Neighbours, bypass};
use crate::physics::convection::{Plate, Stream, Wind};

pub(super) use channels::{Channel, ChannelState};

/// Zones of the pressure network in their order.
pub(super) const ATTIC: usize = 0;
/// Rooms.
pub(super) const LIVING: usize = 1;
/// Crawl space, where there is one.
pub(super) const CRAWL: usize = 2;

/// Where one end of a path is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Place {
    /// Outdoors, at a surface whose wind pressure is an input.
    Outdoors { wind: usize },
    /// In a zone, at a height above the ground.
    Zone { zone: usize, height_m: f64 },
}

/// What a path is, beside its law.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PathPlan {
    /// Name for output, such as `soffit-s`.
    pub(super) name: String,
    pub(super) from: Place,
    pub(super) to: Place,
    /// Channel that the path runs through.
    pub(super) channel: Option<usize>,
    /// Height of the `to` end above the `from` end, m: only a channel's is not zero.
    pub(super) rise_m: f64,
}

/// What drives a path by wind and buoyancy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pull {
    /// Inputs: wind pressure at either end, where that is outdoors.
    winds: [Option<usize>; 2],
    /// Air columns from the zones' reference heights to the `from` end less those to the `to` end:
    /// lower and upper layer, rooms, crawl space, m.
    columns_m: [f64; 4],
    /// Air at either end: outdoors, then in the order of the columns.
    airs: [usize; 2],
    /// Share of the upper layer in the air at either end, where that is in the attic.
    upper_shares: [f64; 2],
}

/// An end of a path in the attic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct AtticEnd {
    path: usize,
    /// 1 where a positive flow leaves the attic here, else −1.
    outward: f64,
    /// Share of it that the upper layer gives or takes.
    upper: f64,
    /// Height above the interface of the layers, m.
    height_m: f64,
    /// Node that air comes from; `None` is outdoors.
    beyond: Option<usize>,
    is_channel: bool,
}

/// Part of a path's air that passes between two nodes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Carrier {
    pub(super) path: usize,
    /// Share of the path's flow.
    pub(super) share: f64,
    /// Node it leaves when positive; `None` is outdoors.
    pub(super) from: Option<usize>,
    /// Node it enters when positive; `None` is outdoors.
    pub(super) to: Option<usize>,
}

/// Lower part of a slope, foil or wall facing the attic.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Riser<R> {
    pub(super) surface: usize,
    pub(super) area_m2: R,
    pub(super) plate: Plate,
}

/// Air of a house.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Air<R> {
    /// Node of the lower layer of attic air.
    pub(super) lower: usize,
    /// Node of the upper layer.
    pub(super) upper: usize,
    /// Node of the rooms' air.
    pub(super) living: usize,
    /// Node of the crawl space's air.
    pub(super) crawl: Option<usize>,
    /// Height of the attic floor above the ground, m.
    pub(super) attic_floor_m: f64,
    /// Height of the rooms' lowest floor above the ground, m.
    pub(super) living_floor_m: f64,
    /// Height of the interface of the layers above the attic floor, m.
    pub(super) interface_m: f64,
    /// Area of the interface, m².
    pub(super) interface_area_m2: R,
    /// Share of the lower layer in the attic's air.
    pub(super) lower_share: f64,
    /// Section of the attic that ventilation passes, m².
    pub(super) attic_section_m2: R,
    pub(super) paths: Vec<Path<R>>,
    pub(super) plans: Vec<PathPlan>,
    pub(super) pulls: Vec<Pull>,
    pub(super) attic_ends: Vec<AtticEnd>,
    pub(super) carriers: Vec<Carrier>,
    pub(super) risers: Vec<Riser<R>>,
    pub(super) channels: Vec<Channel<R>>,
    /// Fans with vents beside them.
    pub(super) neighbours: Vec<Neighbours<R>>,
    /// What ducts lose while a plant runs.
    pub(super) spill: Option<Spill<R>>,
    /// Input: outdoor temperature, K.
    pub(super) outdoor: usize,
    /// Input: humidity ratio, kg/kg.
    pub(super) humidity: usize,
    /// Input: pressure, Pa.
    pub(super) pressure: usize,
    /// Input: wind at the roof and the walls, m/s.
    pub(super) wind: usize,
}

/// What rises along one slope at an instant.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rising<R> {
    pub(super) heat_w: R,
    pub(super) film_w_k: R,
    pub(super) rise: Rise<R>,
}

/// Air flows and what follows from them at an instant; pressures are kept as the next guess.
#[derive(Debug, Clone)]
pub(super) struct AirState<R: Real> {
    pub(super) solution: Solution<R>,
    /// Mass flows along the paths without what fans take straight from vents beside them, kg/s.
    sweeping_kg_s: Vec<R>,
    /// Largest share of any fan's flow that is taken so.
    pub(super) short_circuit: R,
    pub(super) enthalpy_w: Vec<R>,
    carry: Vec<[R; 2]>,
    drives: Vec<Drive<R>>,
    /// Densities of the attic's lower and upper layer.
    layers_kg_m3: [R; 2],
    pub(super) rising: Vec<Rising<R>>,
    pub(super) channels: Vec<ChannelState<R>>,
    pub(super) interface_w: R,
    /// Its derivatives by the two layers at even flows through openings, W/K, and by what leaves the
    /// upper layer through them, J/kg.
    interface_alone_w_k: [R; 2],
    interface_by_leaving_j_kg: R,
    /// Its derivatives in the order of [`Air::interface_nodes`], W/K; from [`Air::slopes`].
    pub(super) interface_by_w_k: Vec<R>,
    /// Room for [`Air::slopes`]: changes of what drives the paths, and of their flows.
    changes_pa: Vec<R>,
    changes_kg_s: Vec<R>,
    /// Ventilation along the attic.
    attic_stream: Stream<R>,
    /// Wind along the roof and the walls.
    pub(super) wind: Wind<R>,
    /// Of the attic's air, its volume mean.
    pub(super) density_kg_m3: R,
}

impl<R: Real> AirState<R> {
    pub(super) fn new(air: &Air<R>) -> Self {
        let zero = R::splat(0.0);
        let zones = if air.crawl.is_some() { 3 } else { 2 };
        let still = Rise {
            share: zero,
            by_surface: zero,
            by_lower: zero,
            by_upper: zero,
        };
        Self {
            solution: Solution::new(zones, &air.paths),
            sweeping_kg_s: vec![zero; air.paths.len()],
            short_circuit: zero,
            enthalpy_w: vec![zero; air.carriers.len()],
            carry: vec![[zero; 2]; air.carriers.len()],
            drives: vec![
                Drive {
                    pressure_pa: zero,
                    density_from: zero,
                    density_to: zero
                };
                air.paths.len()
            ],
            layers_kg_m3: [zero; 2],
            rising: vec![
                Rising {
                    heat_w: zero,
                    film_w_k: zero,
                    rise: still
                };
                air.risers.len()
            ],
            channels: (0..air.channels.len())
                .map(|channel| ChannelState::new(air.channel_nodes(channel).len()))
                .collect(),
            interface_w: zero,
            interface_alone_w_k: [zero; 2],
            interface_by_leaving_j_kg: zero,
            interface_by_w_k: vec![zero; air.interface_nodes().len()],
            changes_pa: vec![zero; air.paths.len()],
            changes_kg_s: vec![zero; air.paths.len()],
            attic_stream: Stream::of(zero),
            wind: Wind::of(zero),
            density_kg_m3: zero,
        }
    }

    #[inline(always)]
    pub(super) fn stream(&self, speed: Speed) -> Option<Stream<R>> {
        match speed {
            Speed::Still => None,
            Speed::Attic => Some(self.attic_stream),
        }
    }

    /// Density of the air at the `from` end of a path, kg/m³.
    #[inline(always)]
    pub(super) fn density_from_kg_m3(&self, path: usize) -> R {
        self.drives[path].density_from
    }

    /// By the node a carrier leaves, then by the node it enters, where they exist.
    #[inline(always)]
    pub(super) fn carry_gradient(&self, carrier: usize, out: &mut [R]) {
        for (slot, value) in out.iter_mut().zip(self.carry[carrier]) {
            *slot = value;
        }
    }
}

impl<R: Real> Air<R> {
    /// Nodes of the air at an end of a path with their shares; no node is outdoors.
    pub(super) fn nodes_at(&self, place: Place) -> Vec<(Option<usize>, f64)> {
        match place {
            Place::Outdoors { .. } => vec![(None, 1.0)],
            Place::Zone {
                zone: ATTIC,
                height_m,
            } => {
                let upper = self.upper_share(height_m);
                let parts = [(self.lower, 1.0 - upper), (self.upper, upper)];
                let parts = parts.into_iter().filter(|(_, share)| *share > 0.0);
                parts.map(|(node, share)| (Some(node), share)).collect()
            }
            Place::Zone { zone: LIVING, .. } => vec![(Some(self.living), 1.0)],
            Place::Zone { .. } => vec![(self.crawl, 1.0)],
        }
    }

    /// Share of the upper layer in the air that leaves the attic at a height above the ground: 0
    /// or 1 away from the interface and even in between over three tenths of the ridge height,
    /// since an opening near the interface draws from both sides. That is about the reach of
    /// selective withdrawal by a few small fans, `0.69 (V̇²/g′)^(1/5)`, 0.3 to 0.5 m (Lubin &
    /// Springer 1967, from memory).
    #[inline(always)]
    fn upper_share(&self, height_m: f64) -> f64 {
        let reach = 0.3 * self.interface_m;
        let above = height_m - self.attic_floor_m - self.interface_m;
        smoothstep(above / (2.0 * reach) + 0.5)
    }

    /// Nodes on which the enthalpy at an end of a channel depends: if it opens into the attic, those
    /// on which the interface does, else its air alone.
    pub(super) fn channel_nodes(&self, channel: usize) -> Vec<usize> {
        let channel = &self.channels[channel];
        if channel.opens_into_attic() {
            self.interface_nodes()
        } else {
            vec![channel.node]
        }
    }

    /// Whether a flow may turn over by itself: the warmer the air of a channel into the attic, the more
    /// it draws.
    pub(super) fn may_run_away(&self) -> bool {
        self.channels.iter().any(Channel::opens_into_attic)
    }

    /// Nodes on which the interface between the layers depends: they and the air of the channels
    /// that open into the attic.
    pub(super) fn interface_nodes(&self) -> Vec<usize> {
        let into_attic = self.channels.iter().filter(|c| c.opens_into_attic());
        let channels = into_attic.map(|channel| channel.node);
        [self.lower, self.upper]
            .into_iter()
            .chain(channels)
            .collect()
    }

    /// Solves the air flows of some lanes at a state; where they cannot be closed they are no
    /// numbers.
    #[inline(always)]
    pub(super) fn balance(
        &self,
        lanes: R::Mask,
        state: &[R],
        inputs: &[R],
        now: &mut AirState<R>,
    ) -> Closing<R> {
        let outdoor_k = inputs[self.outdoor];
        let humidity = inputs[self.humidity];
        let pressure_pa = inputs[self.pressure];
        let outside = density_kg_m3(pressure_pa, outdoor_k, humidity);
        let mean_k =
            state[self.lower] * self.lower_share + state[self.upper] * (1.0 - self.lower_share);
        now.density_kg_m3 = density_kg_m3(pressure_pa, mean_k, humidity);
        self.set_drives(lanes, state, inputs, outside, now);
        let closing = now.solution.close(lanes, &self.paths, &now.drives);
        if closing.open.any() {
            // The next try starts afresh.
            now.solution.restart(closing.open);
            for flow in &mut now.solution.flows_kg_s {
                *flow = R::select(closing.open, R::splat(f64::NAN), *flow);
            }
        }
        now.sweeping_kg_s.copy_from_slice(&now.solution.flows_kg_s);
        let sweeping = &mut now.sweeping_kg_s;
        let density = now.density_kg_m3;
        now.short_circuit = bypass(&self.neighbours, density, mean_k, outdoor_k, sweeping);
        closing
    }

    /// Works out what the air flows of [`Self::balance`] carry.
    #[inline(always)]
    pub(super) fn exchange(&self, state: &[R], inputs: &[R], now: &mut AirState<R>) {
        let outdoor_k = inputs[self.outdoor];
        let humidity = inputs[self.humidity];
        let outside = density_kg_m3(inputs[self.pressure], outdoor_k, humidity);
        let lower = now.layers_kg_m3[0];
        // The formula is for a kilogram of dry air, the flows are of moist air.
        let heat_capacity = specific_heat_j_kgk(humidity) / (humidity + 1.0);
        self.carry_heat(state, outdoor_k, heat_capacity, now);
        self.pass_channels(state, outdoor_k, heat_capacity, outside, now);
        self.move_layers(state, outdoor_k, heat_capacity, lower, now);
        now.wind = Wind::of(inputs[self.wind]);
    }

    #[inline(always)]
    fn set_drives(
        &self,
        lanes: R::Mask,
        state: &[R],
        inputs: &[R],
        outside: R,
        now: &mut AirState<R>,
    ) {
        let (pressure_pa, humidity) = (inputs[self.pressure], inputs[self.humidity]);
        let [lower, upper, living] = [self.lower, self.upper, self.living]
            .map(|node| density_kg_m3(pressure_pa, state[node], humidity));
        now.layers_kg_m3 = [lower, upper];
        let crawl = match self.crawl {
            Some(node) => density_kg_m3(pressure_pa, state[node], humidity),
            None => outside,
        };
        let densities = [outside, lower, upper, living, crawl];
        let lightness = [lower, upper, living, crawl].map(|here| (outside - here) * GRAVITY_M_S2);
        for (pull, drive) in self.pulls.iter().zip(now.drives.iter_mut()) {
            let mut pressure_pa = lightness[0] * pull.columns_m[0]
                + lightness[1] * pull.columns_m[1]
                + lightness[2] * pull.columns_m[2]
                + lightness[3] * pull.columns_m[3];
            if let Some(wind) = pull.winds[0] {
                pressure_pa += inputs[wind];
            }
            if let Some(wind) = pull.winds[1] {
                pressure_pa -= inputs[wind];
            }
            let density_from = densities[pull.airs[0]] + (upper - lower) * pull.upper_shares[0];
            *drive = Drive {
                pressure_pa,
                // Read when the flows have been put to use, perhaps long after.
                density_from: R::select(lanes, density_from, drive.density_from),
                density_to: densities[pull.airs[1]] + (upper - lower) * pull.upper_shares[1],
            };
        }
        if let Some(spill) = &self.spill {
            // A fixed volume flow of air that is thinned to the share of time it flows.
            let running = plant_share(state[self.living], spill.set_point_k);
            now.drives[spill.path].density_from = living * running;
        }
        for channel in &self.channels {
            let inside = density_kg_m3(pressure_pa, state[channel.node], humidity);
            let drive = &mut now.drives[channel.path];
            let rise_m = self.plans[channel.path].rise_m;
            drive.pressure_pa += (outside - inside) * (rise_m * GRAVITY_M_S2);
            drive.density_from = inside;
            drive.density_to = inside;
        }
    }

    /// What drives a path, sorted out once.
    pub(super) fn pull(&self, plan: &PathPlan) -> Pull {
        let mut pull = Pull {
            winds: [None; 2],
            columns_m: [0.0; 4],
            airs: [0; 2],
            upper_shares: [0.0; 2],
        };
        for (end, (place, sign)) in [(plan.from, 1.0), (plan.to, -1.0)].into_iter().enumerate() {
            match place {
                Place::Outdoors { wind } => pull.winds[end] = Some(wind),
                Place::Zone {
                    zone: ATTIC,
                    height_m,
                } => {
                    let [below, above] = self.columns_m(place);
                    pull.columns_m[0] += sign * below;
                    pull.columns_m[1] += sign * above;
                    pull.airs[end] = 1;
                    pull.upper_shares[end] = self.upper_share(height_m);
                }
                Place::Zone {
                    zone: LIVING,
                    height_m,
                } => {
                    pull.columns_m[2] += sign * (height_m - self.living_floor_m);
                    pull.airs[end] = 3;
                }
                Place::Zone { height_m, .. } => {
                    pull.columns_m[3] += sign * height_m;
                    pull.airs[end] = 4;
                }
            }
        }
        pull
    }

    /// The ends of a path that open into the attic.
    pub(super) fn attic_ends(&self, path: usize) -> impl Iterator<Item = AtticEnd> {
        let plan = &self.plans[path];
        let ends = [(plan.from, plan.to, 1.0), (plan.to, plan.from, -1.0)];
        ends.into_iter().filter_map(move |(place, other, sign)| {
            let Place::Zone {
                zone: ATTIC,
                height_m,
            } = place
            else {
                return None;
            };
            Some(AtticEnd {
                path,
                outward: sign,
                upper: self.upper_share(height_m),
                height_m: height_m - self.attic_floor_m - self.interface_m,
                beyond: match other {
                    Place::Zone { zone: LIVING, .. } => Some(self.living),
                    _ => None,
                },
                is_channel: plan.channel.is_some(),
            })
        })
    }

    #[inline(always)]
    fn carry_heat(&self, state: &[R], outdoor_k: R, heat_capacity: R, now: &mut AirState<R>) {
        let zero = R::splat(0.0);
        for (index, carrier) in self.carriers.iter().enumerate() {
            let flow = now.sweeping_kg_s[carrier.path] * heat_capacity * carrier.share;
            let mut heat = zero;
            let mut slot = 0;
            for (node, rate) in [(carrier.from, flow.max(zero)), (carrier.to, flow.min(zero))] {
                if let Some(node) = node {
                    heat += rate * (state[node] - outdoor_k);
                    now.carry[index][slot] = rate;
                    slot += 1;
                }
            }
            now.enthalpy_w[index] = heat;
        }
    }

    /// Exchange between the layers: see [`crate::physics::attic_layers`].
    #[inline(always)]
    fn move_layers(
        &self,
        state: &[R],
        outdoor_k: R,
        heat_capacity: R,
        density: R,
        now: &mut AirState<R>,
    ) {
        let zero = R::splat(0.0);
        let (lower_k, upper_k) = (state[self.lower], state[self.upper]);
        let mut rising = zero;
        let (mut by_lower, mut by_upper) = (zero, zero);
        for (riser, out) in self.risers.iter().zip(now.rising.iter_mut()) {
            let surface_k = state[riser.surface];
            let film_w_k = riser.plate.natural_w_m2k(surface_k, lower_k) * riser.area_m2;
            let lift = rise(surface_k, lower_k, upper_k);
            *out = Rising {
                heat_w: film_w_k * (surface_k - lower_k),
                film_w_k,
                rise: lift,
            };
            rising += rising_kg_s(lift.share, film_w_k, heat_capacity);
            by_lower += rising_kg_s(lift.by_lower, film_w_k, heat_capacity);
            by_upper += rising_kg_s(lift.by_upper, film_w_k, heat_capacity);
        }
        let (mut leaving_upper, mut entering_upper, mut dragged) = (zero, zero, zero);
        let mut through = zero;
        for end in &self.attic_ends {
            let out = now.sweeping_kg_s[end.path] * end.outward;
            let inflow = (-out).max(zero);
            through += inflow;
            if end.upper <= 0.0 {
                continue;
            }
            leaving_upper += out.max(zero) * end.upper;
            if end.is_channel {
                entering_upper += inflow * end.upper;
                continue;
            }
            // Most of the time air leaves by an opening that is high, and drags nothing.
            if inflow.largest() <= 0.0 {
                continue;
            }
            let arriving_k = end.beyond.map_or(outdoor_k, |node| state[node]);
            let falls = smoothstep((upper_k - arriving_k) / 0.5);
            entering_upper += inflow * (R::splat(1.0) - falls) * end.upper;
            let falling = entrained_kg_s(inflow, density, end.height_m, upper_k, arriving_k);
            dragged += inflow.where_positive(falling, zero);
        }
        // What must cross the interface so that the upper layer keeps its mass.
        let net_up = leaving_upper + dragged - rising - entering_upper;
        let up = (net_up.max(zero) + rising) * heat_capacity;
        let down = ((-net_up).max(zero) + dragged) * heat_capacity;
        let (mixing, mixing_slope) = interface_w_k(self.interface_area_m2, lower_k, upper_k);
        let excess = lower_k - upper_k;
        now.interface_w =
            up * (lower_k - outdoor_k) - down * (upper_k - outdoor_k) + mixing * excess;
        let with_rise = net_up.where_positive(zero, excess * heat_capacity);
        now.interface_alone_w_k = [
            up + mixing + mixing_slope * excess + with_rise * by_lower,
            -down - mixing - mixing_slope * excess + with_rise * by_upper,
        ];
        // What leaves the upper layer by an opening must cross the interface.
        now.interface_by_leaving_j_kg =
            (net_up.where_positive(lower_k, upper_k) - outdoor_k) * heat_capacity;
        now.attic_stream = Stream::of(through / (self.attic_section_m2 * density));
    }

    /// How much of each layer lies below a place in the attic, m; nothing for places elsewhere.
    #[inline(always)]
    fn columns_m(&self, place: Place) -> [f64; 2] {
        let Place::Zone {
            zone: ATTIC,
            height_m,
        } = place
        else {
            return [0.0; 2];
        };
        let height = height_m - self.attic_floor_m;
        [
            height.min(self.interface_m),
            (height - self.interface_m).max(0.0),
        ]
    }
}
