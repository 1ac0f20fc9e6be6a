//! A house as stores of heat joined by flows, with its air.
//!
//! [`Network::assemble`] turns a valid house into nodes, links and paths; [`Network`] then is an
//! [`ode::System`](crate::ode::System) that any integrator can march. Each phenomenon's formulas
//! are in `physics`; here they are joined, so that they act on one another only through the
//! network.

mod air;
mod assembly;
mod attic;
mod builder;
mod common;
mod control;
mod ducts;
mod forcing;
mod links;
mod pack;
mod rooms;
mod sensor;
mod shape;
mod short_circuit;
mod vents;

use std::ops::Range;

use crate::ode::{Ends, Fault, Mask, Real, System, Work};
use crate::physics::lumping::LumpingError;
use crate::physics::pressure_network::Closing;
use crate::physics::radiation::{ExchangeError, emissive_power_w_m2};
use crate::physics::view_factors::ViewFactorError;
use crate::weather::Weather;

use air::{Air, AirState};
use control::Switches;
pub(crate) use forcing::Exposure;
use forcing::Stretch;
use links::{Link, Scene};
use vents::Switched;

pub use builder::{Detail, Node};
pub use common::Common;
pub use forcing::{Forcing, GRID_S};
pub(crate) use pack::{Form, Pack};
pub use sensor::Thermometer;

/// Why a house cannot be assembled.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum AssemblyError {
    /// Layers that cannot be turned into lumps.
    #[error("layers of the house: {0}")]
    Conduction(#[from] LumpingError),
    /// The attic's faces do not close.
    #[error("faces of the attic: {0}")]
    Faces(#[from] ViewFactorError),
    /// Its surfaces do not exchange.
    #[error("radiation in the attic: {0}")]
    Exchange(#[from] ExchangeError),
}

/// Nodes that results are read from.
#[derive(Debug, Clone, PartialEq)]
pub struct Landmarks {
    /// Lower layer of attic air.
    pub attic_lower: usize,
    /// Upper layer of attic air.
    pub attic_upper: usize,
    /// Undersides of the decks.
    pub decks: Vec<usize>,
    /// Attic floor, beside and at the joists, with their areas, m².
    pub floors: Vec<(usize, f64)>,
    /// Underside of the ceiling, beside and at the joists, with their areas, m².
    pub ceilings: Vec<(usize, f64)>,
    /// Flows through the top of the ceiling board into it, positive down.
    pub ceiling_flows: Vec<(usize, f64)>,
    /// Rooms' air.
    pub living: usize,
    /// Light furnishings.
    pub furniture: usize,
    /// Share of the volume of attic air in its lower layer.
    pub lower_volume_share: f64,
    /// Heights of the middles of the layers and of the ridge above the attic floor, m.
    pub layer_heights_m: [f64; 3],
    /// Attic volume, m³.
    pub attic_volume_m3: f64,
    /// Attic floor area, m².
    pub floor_m2: f64,
}

impl Landmarks {
    /// Weight of the upper layer at a height above the attic floor: temperatures lie on a straight
    /// line through the layers' middles.
    pub fn upper_weight(&self, height_m: f64) -> f64 {
        let [low, high, _] = self.layer_heights_m;
        (height_m - low) / (high - low)
    }
}

/// A way for air, as results name it.
#[derive(Debug, Clone, PartialEq)]
pub struct AirPath {
    /// Name, such as `soffit-s`.
    pub name: String,
    /// Column name of its flow, such as `outdoors_to_attic_by_soffit-s`.
    pub flow: String,
    /// Zone it leaves when positive: `attic`, `living`, `crawl` or `outdoors`.
    pub from: &'static str,
    /// Zone it enters when positive.
    pub to: &'static str,
    /// Index of its mass flow among the flows.
    pub meter: usize,
    /// Index of its volume flow at the density of the air that a fan moves, where there is one.
    pub volume: Option<usize>,
    /// Fan group that blows through it, and the number of its fans on this path.
    pub fans: Option<(usize, f64)>,
}

impl AirPath {
    /// How it brings air into the attic; a channel that loops within the attic brings nothing in.
    pub fn inlet(&self) -> Option<Inlet> {
        let (sign, other) = match (self.from, self.to) {
            ("attic", "attic") => return None,
            (other, "attic") => (1.0, other),
            ("attic", other) => (-1.0, other),
            _ => return None,
        };
        Some(Inlet {
            meter: self.meter,
            sign,
            is_from_living: other == "living",
        })
    }
}

/// A way into the attic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inlet {
    meter: usize,
    sign: f64,
    /// Whether from the rooms.
    pub is_from_living: bool,
}

impl Inlet {
    /// What enters by it, kg/s; nothing while air leaves by it.
    pub fn inward_kg_s(&self, flows: &[f64]) -> f64 {
        (flows[self.meter] * self.sign).max(0.0)
    }
}

/// Where among the flows the air's state is metered: like a flow it is integrated over each step, so
/// that readings are means and need no balance of their own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Meters {
    /// Pressure of the attic at its floor against outdoors, Pa.
    pub attic_pressure: usize,
    /// Pressure of the rooms at their floor against outdoors, Pa.
    pub living_pressure: usize,
    /// Density of the attic's air, its volume mean, kg/m³.
    pub attic_density: usize,
    /// Largest share of any fan's flow that comes straight from a vent beside it.
    pub short_circuit: usize,
}

/// The flows that readings need: all that is metered, which stand in a row, and the heat through the
/// ceiling.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct ReadFlows {
    meters: Range<usize>,
    ceiling: Vec<usize>,
}

impl ReadFlows {
    fn list(&self) -> Vec<usize> {
        let ceiling = self.ceiling.iter().copied();
        self.meters.clone().chain(ceiling).collect()
    }

    /// Does something to each of them, given what stands in its place elsewhere.
    pub(crate) fn each<A, B>(&self, to: &mut [A], from: &[B], mut act: impl FnMut(&mut A, &B)) {
        let meters = self.meters.clone();
        for (to, from) in to[meters.clone()].iter_mut().zip(&from[meters]) {
            act(to, from);
        }
        for &flow in &self.ceiling {
            act(&mut to[flow], &from[flow]);
        }
    }
}

/// An assembled house.
#[derive(Debug, Clone)]
pub struct Network<R: Real = f64> {
    nodes: Vec<Node>,
    capacities: Vec<R>,
    links: Vec<Link<R>>,
    ends: Vec<Ends>,
    flow_names: Vec<String>,
    pattern: Vec<(usize, usize)>,
    /// Number of partial derivatives of each flow.
    widths: Vec<usize>,
    /// Films of the links that have one, W/(m² K), from the last evaluation of the flows.
    films: Vec<R>,
    air: Air<R>,
    now: AirState<R>,
    exposure: Exposure,
    /// Lane by lane.
    stretches: Vec<Option<Stretch>>,
    /// Lanes that evaluations are for.
    attending: R::Mask,
    /// How the last balance of air ended.
    closing: Closing<R>,
    inputs: Vec<R>,
    /// Inputs of the evaluation before, while they are compared.
    inputs_before: Vec<R>,
    /// Lanes in which more than the inputs may have changed since the flows were evaluated last.
    renewed: R::Mask,
    emission: Vec<R>,
    emission_slopes: Vec<R>,
    switched: Vec<Switched<R>>,
    /// Which of these run.
    running: Vec<bool>,
    switches: Switches,
    landmarks: Landmarks,
    paths: Vec<AirPath>,
    meters: Meters,
    thermometers: Vec<Thermometer>,
}

impl<R: Real> Network<R> {
    /// Stores of heat, in the order of the state.
    pub fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    /// Names of the flows, `<from>_to_<to>`, in the order of the flows.
    pub fn flow_names(&self) -> &[String] {
        &self.flow_names
    }

    /// Ways for air.
    pub fn paths(&self) -> &[AirPath] {
        &self.paths
    }

    /// Nodes that results are read from.
    pub fn landmarks(&self) -> &Landmarks {
        &self.landmarks
    }

    /// Where the state of the air is metered.
    pub fn meters(&self) -> Meters {
        self.meters
    }

    /// Thermometers of the house.
    pub fn thermometers(&self) -> &[Thermometer] {
        &self.thermometers
    }

    /// What this house takes of the weather.
    pub(crate) fn exposure(&self) -> &Exposure {
        &self.exposure
    }

    /// Turns intervals of weather into what drives this house.
    pub fn forcing(&self, weather: &Weather, intervals: Range<usize>) -> Forcing {
        self.exposure.forcing(weather, intervals)
    }

    /// Enters short intervals of the forcing, one or several on end (see
    /// [`Forcing::stretches`]), and returns the start of the first and the end of the last, s.
    pub fn enter(&mut self, forcing: &Forcing, intervals: Range<usize>) -> (f64, f64) {
        let last = intervals.end.saturating_sub(1).max(intervals.start);
        let span_s = (forcing.span(intervals.start).0, forcing.span(last).1);
        self.set_stretch(forcing.stretch(intervals.start..last + 1));
        span_s
    }

    /// Enters weather that stays for all time what it is on average over short intervals of the
    /// forcing.
    pub fn enter_mean(&mut self, forcing: &Forcing, intervals: &Range<usize>) {
        self.switches.set_start_of_day(forcing.start_of_day_s());
        self.set_stretch(forcing.mean_stretch(intervals));
    }

    /// Outdoor temperature at an instant of the interval entered, K.
    pub fn outdoor_k(&self, time_s: f64) -> f64 {
        self.input_at(self.air.outdoor, time_s)
    }

    /// Whether each control is on.
    pub fn controls_on(&self) -> &[bool] {
        self.switches.controls_on()
    }

    /// Forgets what was on, before a forcing is marched from its start.
    pub fn reset(&mut self, forcing: &Forcing) {
        self.switches.set_start_of_day(forcing.start_of_day_s());
        self.switches.reset(forcing.span(0).0);
        self.apply_switches();
    }

    /// Sets the clocks to the start of a forcing and keeps what else is on: for a march that goes
    /// on where another ended.
    pub fn resume(&mut self, forcing: &Forcing) {
        self.switches.set_start_of_day(forcing.start_of_day_s());
        self.switches.resume(forcing.span(0).0);
        self.apply_switches();
    }

    /// Turns a switch over.
    pub fn toggle(&mut self, switch: usize, time_s: f64) {
        self.switches.toggle(switch, time_s);
        self.apply_switches();
    }

    /// A mean temperature to start from, K: outdoors over the forcing.
    pub fn start_k(&self, forcing: &Forcing) -> f64 {
        forcing.mean(self.air.outdoor)
    }

    fn apply_switches(&mut self) {
        let on = self.switches.controls_on();
        for (switched, running) in self.switched.iter().zip(&mut self.running) {
            let runs = switched.control.is_none_or(|control| on[control]);
            let element = if runs { &switched.on } else { &switched.off };
            self.air.paths[switched.path].element = element.clone();
            if *running != runs {
                *running = runs;
                self.renewed = R::Mask::ALL;
            }
        }
    }

    fn input_at(&self, input: usize, time_s: f64) -> f64 {
        let stretch = self.stretches.first().and_then(Option::as_ref);
        stretch.map_or(f64::NAN, |stretch| stretch.input(input, time_s))
    }

    fn set_stretch(&mut self, stretch: Stretch) {
        self.stretches.fill(Some(stretch));
    }

    #[inline(always)]
    fn take_inputs(&mut self, time_s: R) {
        for (lane, stretch) in self.stretches.iter().enumerate() {
            if let Some(stretch) = stretch
                && self.attending.has(lane)
            {
                stretch.inputs(time_s.lane(lane), lane, &mut self.inputs);
            }
        }
    }

    /// Balances the air at a state.
    ///
    /// # Errors
    /// If there is one lane alone and its balance does not close; among others it has no numbers.
    #[inline(always)]
    fn balance_air(&mut self, time_s: R, state: &[R]) -> Result<(), Fault> {
        self.take_inputs(time_s);
        self.closing = self
            .air
            .balance(self.attending, state, &self.inputs, &mut self.now);
        match self.fault(0, time_s.lane(0)) {
            Some(fault) if R::WIDTH == 1 => Err(fault),
            _ => Ok(()),
        }
    }

    /// Evaluates what readings need and nothing more: what is metered of the air and the heat through
    /// the ceiling. The other flows are left as they are.
    ///
    /// # Errors
    /// As [`System::flows`].
    pub fn observe(&mut self, time_s: R, state: &[R], flows: &mut [R]) -> Result<(), Fault> {
        self.renewed = self.renewed.or(self.attending);
        R::wide(Evaluation {
            network: self,
            time_s,
            state,
            wanted: Wanted::Readings(flows),
        })
    }

    /// Meters follow the flows of heat.
    fn first_meter(&self) -> usize {
        self.paths
            .first()
            .map_or(self.meters.attic_pressure, |path| path.meter)
    }

    #[inline(always)]
    fn readings(&mut self, time_s: R, state: &[R], flows: &mut [R]) -> Result<(), Fault> {
        self.balance_air(time_s, state)?;
        let scene = Scene {
            state,
            emission: &self.emission,
            emission_slopes: &self.emission_slopes,
            inputs: &self.inputs,
            air: &self.now,
        };
        let meters = self.first_meter()..self.links.len();
        let ceiling = self.landmarks.ceiling_flows.iter().map(|&(flow, _)| flow);
        for flow in meters.chain(ceiling) {
            flows[flow] = self.links[flow].flow(&scene, &mut self.films[flow]);
        }
        Ok(())
    }

    /// The flows that [`Self::observe`] evaluates.
    pub(crate) fn observed(&self) -> ReadFlows {
        let ceiling = self.landmarks.ceiling_flows.iter();
        ReadFlows {
            meters: self.first_meter()..self.links.len(),
            ceiling: ceiling.map(|&(flow, _)| flow).collect(),
        }
    }
}

impl<R: Real> System<R> for Network<R> {
    fn capacities(&self) -> &[R] {
        &self.capacities
    }

    fn ends(&self) -> &[Ends] {
        &self.ends
    }

    fn gradient_pattern(&self) -> &[(usize, usize)] {
        &self.pattern
    }

    fn flows(&mut self, time_s: R, state: &[R], flows: &mut [R]) -> Result<(), Fault> {
        self.renewed = self.renewed.and(self.attending.not());
        R::wide(Evaluation {
            network: self,
            time_s,
            state,
            wanted: Wanted::Flows(flows),
        })
    }

    fn gradients(&mut self, time_s: R, state: &[R], values: &mut [R]) {
        // Derivatives are always defined where the flows are.
        let _ = R::wide(Evaluation {
            network: self,
            time_s,
            state,
            wanted: Wanted::Gradients(values),
        });
    }

    /// From one interval of the weather to the next the sun jumps, and nothing else does: what it gives
    /// is taken anew, in whatever lanes all else is as it was.
    fn bring_over(&mut self, time_s: R, flows: &mut [R]) -> R::Mask {
        R::wide(Resumption {
            network: self,
            time_s,
            flows,
        })
    }

    fn switch_count(&self) -> usize {
        self.switches.count()
    }

    fn watched(&self) -> Vec<usize> {
        self.switches.watched()
    }

    fn told(&self) -> Vec<usize> {
        self.observed().list()
    }

    fn may_run_away(&self) -> bool {
        self.air.may_run_away()
    }

    fn switches(&self, time_s: f64, state: &[R], values: &mut [R]) {
        let outdoor = R::splat(self.outdoor_k(time_s));
        self.switches.values(time_s, state, outdoor, values);
    }

    fn attend(&mut self, lanes: R::Mask) {
        self.attending = lanes;
    }

    fn fault(&self, lane: usize, time_s: f64) -> Option<Fault> {
        self.closing.open.has(lane).then(|| Fault::NoConvergence {
            what: "the air balance",
            time_s,
            residual: self.closing.residual_kg_s.lane(lane),
        })
    }
}

/// An evaluation of a network.
struct Evaluation<'a, R: Real> {
    network: &'a mut Network<R>,
    time_s: R,
    state: &'a [R],
    wanted: Wanted<'a, R>,
}

/// Flows brought over what has changed since they were evaluated.
struct Resumption<'a, R: Real> {
    network: &'a mut Network<R>,
    time_s: R,
    flows: &'a mut [R],
}

impl<R: Real> Work for Resumption<'_, R> {
    type Output = R::Mask;

    #[inline(always)]
    fn run(self) -> R::Mask {
        /// Inputs that are so much alike, relative, are the same but for rounding.
        const ALIKE: f64 = 1e-9;
        let Self {
            network,
            time_s,
            flows,
        } = self;
        network.inputs_before.copy_from_slice(&network.inputs);
        network.take_inputs(time_s);
        let pairs = network.inputs.iter().zip(&network.inputs_before);
        let mut apart = R::splat(0.0);
        for ((&now, &before), input) in pairs.zip(&network.exposure.inputs) {
            R::apart();
            if !input.may_jump() {
                let change = (now - before).abs() - before.abs() * ALIKE;
                apart = apart.max(change);
            }
        }
        let alike = apart.at_most(R::splat(f64::MIN_POSITIVE));
        let same = network.attending.and(network.renewed.not()).and(alike);
        for (flow, link) in flows.iter_mut().zip(&network.links) {
            if let Some(given) = link.given(&network.inputs) {
                *flow = R::select(same, given, *flow);
            }
        }
        same
    }
}

/// What the air carries, as work of its own.
struct Exchange<'a, R: Real> {
    air: &'a Air<R>,
    state: &'a [R],
    inputs: &'a [R],
    now: &'a mut AirState<R>,
}

impl<R: Real> Work for Exchange<'_, R> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        self.air.exchange(self.state, self.inputs, self.now);
    }
}

/// How what the air carries changes with the temperatures, as work of its own.
struct Slopes<'a, R: Real> {
    air: &'a Air<R>,
    state: &'a [R],
    now: &'a mut AirState<R>,
}

impl<R: Real> Work for Slopes<'_, R> {
    type Output = ();

    #[inline(always)]
    fn run(self) {
        self.air.slopes(self.state, self.now);
    }
}

/// What of it is wanted, and where it goes.
enum Wanted<'a, R> {
    Flows(&'a mut [R]),
    Gradients(&'a mut [R]),
    Readings(&'a mut [R]),
}

impl<R: Real> Work for Evaluation<'_, R> {
    type Output = Result<(), Fault>;

    #[inline(always)]
    fn run(self) -> Self::Output {
        let Self {
            network,
            time_s,
            state,
            wanted,
        } = self;
        match wanted {
            Wanted::Flows(flows) => network.all_flows(time_s, state, flows),
            Wanted::Readings(flows) => network.readings(time_s, state, flows),
            Wanted::Gradients(values) => {
                network.all_gradients(state, values);
                Ok(())
            }
        }
    }
}

impl<R: Real> Network<R> {
    #[inline(always)]
    fn all_flows(&mut self, time_s: R, state: &[R], flows: &mut [R]) -> Result<(), Fault> {
        for (emission, &temp) in self.emission.iter_mut().zip(state) {
            R::apart();
            *emission = emissive_power_w_m2(temp);
        }
        self.balance_air(time_s, state)?;
        R::wide(Exchange {
            air: &self.air,
            state,
            inputs: &self.inputs,
            now: &mut self.now,
        });
        let scene = Scene {
            state,
            emission: &self.emission,
            emission_slopes: &self.emission_slopes,
            inputs: &self.inputs,
            air: &self.now,
        };
        let links = self.links.iter().zip(&mut self.films);
        for (flow, (link, film)) in flows.iter_mut().zip(links) {
            *flow = link.flow(&scene, film);
        }
        Ok(())
    }

    #[inline(always)]
    fn all_gradients(&mut self, state: &[R], values: &mut [R]) {
        R::wide(Slopes {
            air: &self.air,
            state,
            now: &mut self.now,
        });
        let emitting = self.emission.iter().zip(state);
        for (slope, (&emission, &temp)) in self.emission_slopes.iter_mut().zip(emitting) {
            R::apart();
            *slope = emission * 4.0 / temp;
        }
        let scene = Scene {
            state,
            emission: &self.emission,
            emission_slopes: &self.emission_slopes,
            inputs: &self.inputs,
            air: &self.now,
        };
        let mut rest = values;
        for ((link, &film), &width) in self.links.iter().zip(&self.films).zip(&self.widths) {
            let (out, later) = rest.split_at_mut(width);
            link.gradient(&scene, film, out);
            rest = later;
        }
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::{PI, TAU};

    use super::forcing::Input;
    use super::*;
    use crate::elementary::cos;
    use crate::house::HouseFile;
    use crate::ode::{Advance, Integrator, Rosenbrock};
    use crate::weather::MadeWeek;

    #[test]
    fn flows_are_brought_over_a_jump_of_the_sun_and_over_no_switch() {
        let file = HouseFile::from_text(crate::house::DEMO, "demo").unwrap();
        let house = file.find("fans").unwrap();
        let week = MadeWeek {
            days: 1,
            ..MadeWeek::default()
        };
        let weather = week.weather().unwrap();
        let mut network = Network::<f64>::assemble(house).unwrap();
        let forcing = network.forcing(&weather, 0..24);
        network.reset(&forcing);
        let stretches: Vec<_> = forcing.stretches(0..forcing.len()).collect();
        let state = vec![300.0; network.nodes().len()];
        let mut before = vec![0.0; network.ends().len()];
        let mut now = before.clone();
        // Ten in the morning.
        let (_, time_s) = network.enter(&forcing, stretches[9].clone());
        network.flows(time_s, &state, &mut before).unwrap();
        network.enter(&forcing, stretches[10].clone());
        let mut brought = before.clone();
        assert!(network.bring_over(time_s, &mut brought));
        network.flows(time_s, &state, &mut now).unwrap();
        let most = |a: &[f64], b: &[f64]| {
            let pairs = a.iter().zip(b);
            pairs.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
        };
        assert!(most(&before, &now) > 10.0, "the sun does not jump");
        assert!(most(&brought, &now) < 1e-4, "{}", most(&brought, &now));
        // At another time of the same stretch the air outdoors is another.
        assert!(!network.bring_over(time_s + 600.0, &mut brought));
        network.flows(time_s, &state, &mut now).unwrap();
        assert!(network.bring_over(time_s, &mut brought));
        let on = network.controls_on().to_vec();
        for switch in 0..network.switch_count() {
            network.toggle(switch, time_s);
        }
        assert!(network.controls_on() != on);
        assert!(!network.bring_over(time_s, &mut brought));
    }

    #[test]
    fn an_inlet_is_what_enters_the_attic_from_elsewhere() {
        let inlet = |from, to| {
            let path = AirPath {
                name: String::new(),
                flow: String::new(),
                from,
                to,
                meter: 1,
                volume: None,
                fans: None,
            };
            path.inlet()
        };
        let of = |from, to, flow| {
            let inlet = inlet(from, to).unwrap();
            (inlet.inward_kg_s(&[9.0, flow]), inlet.is_from_living)
        };
        assert_eq!(of("outdoors", "attic", 0.5), (0.5, false));
        assert_eq!(of("outdoors", "attic", -0.5), (0.0, false));
        assert_eq!(of("attic", "living", -0.5), (0.5, true));
        assert_eq!(of("attic", "living", 0.5), (0.0, true));
        assert_eq!(inlet("attic", "attic"), None);
        assert_eq!(inlet("outdoors", "living"), None);
    }

    fn turned(azimuth_rad: &mut f64, ridge_rad: f64) {
        *azimuth_rad = (2.0 * ridge_rad - *azimuth_rad).rem_euclid(TAU);
    }

    /// What an input is called on the other side of the mirror.
    fn mirrored(input: &Input, ridge_rad: f64) -> Input {
        let mut input = input.clone();
        match &mut input {
            Input::WallPressure { azimuth_rad }
            | Input::SlopePressure { azimuth_rad, .. }
            | Input::Sun { azimuth_rad, .. }
            | Input::Window { azimuth_rad } => turned(azimuth_rad, ridge_rad),
            _ => {}
        }
        input
    }

    fn is_same(a: &Input, b: &Input) -> bool {
        let near = |a: f64, b: f64| cos(a - b) > 1.0 - 1e-12;
        match (a, b) {
            (Input::WallPressure { azimuth_rad: a }, Input::WallPressure { azimuth_rad: b })
            | (Input::Window { azimuth_rad: a }, Input::Window { azimuth_rad: b })
            | (
                Input::SlopePressure { azimuth_rad: a, .. },
                Input::SlopePressure { azimuth_rad: b, .. },
            ) => near(*a, *b),
            (
                Input::Sun {
                    tilt_rad: s,
                    azimuth_rad: a,
                },
                Input::Sun {
                    tilt_rad: t,
                    azimuth_rad: b,
                },
            ) => (s - t).abs() < 1e-12 && near(*a, *b),
            _ => a == b,
        }
    }

    fn march(network: &mut Network, forcing: &Forcing) -> Vec<f64> {
        let mut method = Rosenbrock::new(vec![3e-4; network.nodes().len()]);
        let mut state = vec![298.15; network.nodes().len()];
        let mut totals = vec![0.0; network.ends().len()];
        network.reset(forcing);
        for index in 0..forcing.len() {
            let (mut from_s, to_s) = network.enter(forcing, index..index + 1);
            while let Advance::Switched { time_s, switch } = method
                .advance(network, from_s, to_s, &mut state, &mut totals)
                .unwrap()
            {
                network.toggle(switch, time_s);
                from_s = time_s;
            }
        }
        state
    }

    /// The real sun cannot be mirrored: each plane of the mirrored house is given the sun, and each
    /// opening the wind, of the one it mirrors.
    #[test]
    fn a_house_mirrored_along_its_ridge_in_mirrored_sun_is_the_mirror_image() {
        let file = HouseFile::from_text(crate::house::DEMO, "demo").unwrap();
        let house = file.find("fans and barrier").unwrap().clone();
        let ridge_rad = house.roof.ridge_azimuth_rad;
        let mut image = house.clone();
        for opening in &mut image.openings {
            turned(&mut opening.azimuth_rad, ridge_rad);
        }
        for fan in &mut image.fans {
            turned(&mut fan.azimuth_rad, ridge_rad);
        }
        for window in &mut image.living.windows {
            turned(&mut window.azimuth_rad, ridge_rad);
        }
        if let Some(airing) = &mut image.living.airing {
            turned(&mut airing.azimuth_rad, ridge_rad);
        }
        let week = MadeWeek {
            days: 2,
            wind_direction_rad: 0.8 * PI,
            ..MadeWeek::default()
        };
        let weather = week.weather().unwrap();
        let mut real = Network::<f64>::assemble(&house).unwrap();
        let mut other = Network::<f64>::assemble(&image).unwrap();
        // Until the afternoon, when the sun is on one side.
        let forcing = real.forcing(&weather, 0..40);
        let places: Vec<usize> = other
            .exposure
            .inputs
            .iter()
            .map(|input| {
                let wanted = mirrored(input, ridge_rad);
                let known = &real.exposure.inputs;
                known
                    .iter()
                    .position(|known| is_same(known, &wanted))
                    .unwrap()
            })
            .collect();
        let given = forcing.with_inputs(&places);
        let (a, b) = (march(&mut real, &forcing), march(&mut other, &given));
        let marks = [real.landmarks(), other.landmarks()];
        let mut pairs = vec![
            (marks[0].decks[0], marks[1].decks[1]),
            (marks[0].decks[1], marks[1].decks[0]),
            (marks[0].attic_lower, marks[1].attic_lower),
            (marks[0].attic_upper, marks[1].attic_upper),
            (marks[0].living, marks[1].living),
        ];
        pairs.extend(
            marks[0]
                .floors
                .iter()
                .zip(&marks[1].floors)
                .map(|(a, b)| (a.0, b.0)),
        );
        for (i, j) in pairs {
            let far: f64 = (a[i] - b[j]).abs();
            assert!(
                far < 5e-3,
                "{}: {} against {}",
                real.nodes()[i].name,
                a[i],
                b[j]
            );
        }
        // The two sides do differ, so that a swapped side would show.
        let decks = &marks[0].decks;
        assert!((a[decks[0]] - a[decks[1]]).abs() > 0.03);
    }
}
