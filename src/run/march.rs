//! Marches a warmed-up house through its period and writes down what happens.

use std::ops::Range;

use crate::elementary::{asin, cos, sin};
use crate::equipment::Fan;
use crate::house::{FanGroup, House};
use crate::network::{AirPath, Forcing, Inlet, Network, ReadFlows};
use crate::ode::{Advance, System};
use crate::weather::Weather;

use super::balance;
use super::course::{Course, Drivers, Observed, Purpose};
use super::outcome::{Columns, FanRun, Notice, Outcome, Switching, Trace, WeatherOrigin};
use super::warm_up::MOST_SWITCHES;
use super::{RunError, RunOptions};

/// Height of the ridge reading and the low reading as shares of the ridge height.
const RIDGE_READING: f64 = 0.9;
const LOW_READING: f64 = 0.1;

/// Marches through the period from the state in place.
pub(super) async fn march<C: Course>(
    house: &House,
    course: &mut C,
    drivers: &Drivers<'_>,
    period: Range<usize>,
    mut notices: Vec<Notice>,
    options: &RunOptions,
    columns: Columns,
) -> Result<Outcome, RunError> {
    let weather = drivers.weather();
    notices.splice(0..0, weather.notices().iter().cloned().map(Notice::Weather));
    notices.extend(far_from_weather(house, weather));
    let forcing = drivers.forcing(course.network(), &period);
    let origin_s = forcing.span(0).0;
    course.change(|network| {
        network.resume(&forcing);
        network.enter(&forcing, 0..1);
    });
    course.observe(origin_s).await?;
    // What flowed before the period is no part of it.
    course.forget_sums();
    let observed = course.observed();
    let mut log = Log::new(house, course.network(), &forcing, options.output_s, columns);
    log.state_k.extend_from_slice(observed.state);
    let none = vec![false; house.controls.len()];
    log.switched(house, &none, course.network().controls_on(), 0.0);
    log.read(course.network(), &observed, 0.0, origin_s);
    for stretch in forcing.stretches(0..forcing.len()) {
        let (_, smooth_until_s) = course.change(|network| network.enter(&forcing, stretch.clone()));
        for index in stretch {
            let (mut from_s, to_s) = forcing.span(index);
            let mut switches = 0;
            let closes = loop {
                let due = log.is_due(to_s - from_s) || index + 1 == forcing.len();
                let purpose = if due { Purpose::Close } else { Purpose::Read };
                let part_s = [from_s, to_s];
                let advance = course.advance(part_s, smooth_until_s, purpose).await?;
                let reached_s = match advance {
                    Advance::Completed => to_s,
                    Advance::Switched { time_s, .. } => time_s,
                };
                let closes = due && matches!(advance, Advance::Completed);
                course.read(closes).await;
                let controls = course.network().controls_on();
                log.stretch(controls, course.observed().flows, reached_s - from_s);
                let Advance::Switched { switch, .. } = advance else {
                    break closes;
                };
                let before = controls.to_vec();
                course.change(|network| network.toggle(switch, reached_s));
                let now = course.network().controls_on();
                log.switched(house, &before, now, reached_s - origin_s);
                from_s = reached_s;
                switches += 1;
                if switches > MOST_SWITCHES {
                    return Err(RunError::Chattering {
                        times: switches,
                        time_s: reached_s - origin_s,
                    });
                }
            };
            let state = course.observed().state;
            log.read_part(course.network(), state, to_s - origin_s, to_s);
            if closes {
                log.state_k.extend_from_slice(state);
                log.row(course.closed_sums(), to_s - origin_s);
            }
        }
    }
    let network = course.network();
    let start = weather.interval_start(period.start);
    let end = weather.interval_start(period.end);
    let mut outcome = Outcome {
        design: house.design.clone(),
        start,
        end,
        weather: WeatherOrigin {
            source: weather.source().to_owned(),
            place: weather.place().name.clone(),
            kind: weather.kind(),
        },
        nodes: network.nodes().to_vec(),
        flow_names: network.flow_names().to_vec(),
        flow_ends: network
            .ends()
            .iter()
            .take(network.flow_names().len())
            .map(|ends| (ends.from, ends.to))
            .collect(),
        paths: network.paths().to_vec(),
        times_s: log.times_s,
        state_k: log.state_k,
        flows: log.flows,
        fan_share: log.fan_share,
        fans: log.fans.into_iter().map(FanLog::finish).collect(),
        switches: log.switches,
        trace: log.trace,
        landmarks: network.landmarks().clone(),
        balance: super::Balance::default(),
        stats: course.stats(),
        notices,
    };
    outcome.balance = balance::check(&outcome)?;
    Ok(outcome)
}

/// Distance from the weather's place beyond which a reader is told, km (a judgement: about where
/// one region's summer stops being another's).
const FAR_KM: f64 = 150.0;

/// A notice if the house file places the house far from the weather: the sun of the records is
/// that of their own place, so that the house is run as if it stood there.
fn far_from_weather(house: &House, weather: &Weather) -> Option<Notice> {
    let (latitude_deg, longitude_deg) = (house.site.latitude_deg?, house.site.longitude_deg?);
    let here = weather.place();
    // Great circle by haversines, mean radius of the earth 6371 km.
    let half = |degrees: f64| sin(degrees.to_radians() / 2.0).powi(2);
    let share = half(latitude_deg - here.latitude_deg)
        + cos(latitude_deg.to_radians())
            * cos(here.latitude_deg.to_radians())
            * half(longitude_deg - here.longitude_deg);
    let distance_km = 2.0 * 6371.0 * asin(share.sqrt().min(1.0));
    (distance_km > FAR_KM).then_some(Notice::FarFromWeather { distance_km })
}

/// What a fan group has done so far.
struct FanLog {
    run: FanRun,
    fan: Fan,
    control: Option<usize>,
    power_w: f64,
    /// Volume flows of its paths.
    volumes: Vec<usize>,
    was_running: bool,
    volume_m3: f64,
    /// Time running in the output interval that is being filled, s.
    pending_s: f64,
}

impl FanLog {
    fn new(group: &FanGroup, index: usize, network: &Network) -> Self {
        let count = f64::from(group.count);
        let paths = network.paths().iter();
        let own = paths.filter(|path| path.fans.is_some_and(|(group, _)| group == index));
        let volumes = own.filter_map(|path| path.volume).collect();
        Self {
            run: FanRun {
                name: group.name.clone(),
                count: group.count,
                free_air_m3_s: group.fan.curve.free_air_m3_s() * count,
                delivered_m3_s: 0.0,
                working_pressure_pa: 0.0,
                run_s: 0.0,
                starts: 0,
                energy_j: 0.0,
            },
            fan: group.fan.clone(),
            control: group.control,
            power_w: group.fan.running_power_w() * count,
            volumes,
            was_running: false,
            volume_m3: 0.0,
            pending_s: 0.0,
        }
    }

    fn add(&mut self, controls: &[bool], totals: &[f64], length_s: f64) {
        let running = self.run.count > 0 && self.control.is_none_or(|control| controls[control]);
        if running {
            self.volume_m3 += self
                .volumes
                .iter()
                .map(|&volume| totals[volume])
                .sum::<f64>();
            self.run.run_s += length_s;
            self.run.energy_j += self.power_w * length_s;
            self.pending_s += length_s;
            self.run.starts += u32::from(!self.was_running);
        }
        self.was_running = running;
    }

    fn finish(mut self) -> FanRun {
        if self.run.run_s > 0.0 {
            self.run.delivered_m3_s = self.volume_m3 / self.run.run_s;
            let each = self.run.delivered_m3_s / f64::from(self.run.count.max(1));
            self.run.working_pressure_pa = self.fan.pressure_pa(each);
        }
        self.run
    }
}

/// Everything that is written down.
struct Log {
    output_s: f64,
    /// Flows that have a name.
    named: usize,
    times_s: Vec<f64>,
    state_k: Vec<f64>,
    flows: Vec<f64>,
    fan_share: Vec<f64>,
    fans: Vec<FanLog>,
    switches: Vec<Switching>,
    trace: Trace,
    /// Length so far of the output interval that is being filled, s.
    pending_s: f64,
    /// Flows that readings need, what of them has flowed in the fine interval that is being filled, and
    /// its length so far, s.
    read: ReadFlows,
    part: Vec<f64>,
    part_s: f64,
    /// The same on the mean of the interval before.
    part_means: Vec<f64>,
    inlets: Vec<Inlet>,
}

impl Log {
    /// With room for all that will be written down, in columns that were used before.
    fn new(
        house: &House,
        network: &Network,
        forcing: &Forcing,
        output_s: f64,
        columns: Columns,
    ) -> Self {
        let readings = forcing.len() + 1;
        let part_s = forcing.span(0).1 - forcing.span(0).0;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "casts saturate"
        )]
        let parts = (output_s / part_s).max(1.0) as usize;
        let rows = forcing.len() / parts + 1;
        let room = |mut column: Vec<f64>, width: usize| {
            column.clear();
            column.reserve_exact(rows * width);
            column
        };
        let names = network.thermometers().iter().map(|it| it.name.clone());
        let fans = house.fans.iter().enumerate();
        Self {
            output_s,
            named: network.flow_names().len(),
            times_s: room(columns.times_s, 1),
            state_k: room(columns.state_k, network.nodes().len() + 1),
            flows: room(columns.flows, network.flow_names().len()),
            fan_share: room(columns.fan_share, house.fans.len()),
            fans: fans
                .map(|(index, group)| FanLog::new(group, index, network))
                .collect(),
            switches: Vec::new(),
            trace: columns.trace.emptied(readings, names),
            pending_s: 0.0,
            read: network.observed(),
            part: vec![0.0; network.ends().len()],
            part_s: 0.0,
            part_means: vec![0.0; network.ends().len()],
            inlets: network.paths().iter().filter_map(AirPath::inlet).collect(),
        }
    }

    /// Adds a stretch between switches.
    fn stretch(&mut self, controls: &[bool], totals: &[f64], length_s: f64) {
        self.pending_s += length_s;
        self.part_s += length_s;
        let add = |part: &mut f64, total: &f64| *part += total;
        self.read.each(&mut self.part, totals, add);
        for fan in &mut self.fans {
            fan.add(controls, totals, length_s);
        }
    }

    /// Notes controls that have turned over.
    fn switched(&mut self, house: &House, before: &[bool], after: &[bool], time_s: f64) {
        for ((named, before), &on) in house.controls.iter().zip(before).zip(after) {
            if *before != on {
                self.switches.push(Switching {
                    time_s,
                    control: named.name.clone(),
                    on,
                });
            }
        }
    }

    /// Whether an output interval is full with a stretch more.
    fn is_due(&self, length_s: f64) -> bool {
        self.pending_s + length_s + 1e-6 >= self.output_s
    }

    /// Closes an output interval with what has flowed in it.
    fn row(&mut self, sums: &[f64], time_s: f64) {
        let length_s = self.pending_s;
        self.times_s.push(time_s);
        let named = sums.iter().take(self.named);
        self.flows.extend(named.map(|total| total / length_s));
        self.fan_share
            .extend(self.fans.iter().map(|fan| fan.pending_s / length_s));
        self.pending_s = 0.0;
        for fan in &mut self.fans {
            fan.pending_s = 0.0;
        }
    }

    /// Takes the readings at the end of a fine interval.
    fn read_part(&mut self, network: &Network, state: &[f64], time_s: f64, at_s: f64) {
        let mut means = std::mem::take(&mut self.part_means);
        let length_s = self.part_s;
        let divide = |mean: &mut f64, part: &f64| *mean = part / length_s;
        self.read.each(&mut means, &self.part, divide);
        let observed = Observed {
            state,
            flows: &means,
        };
        self.read(network, &observed, time_s, at_s);
        self.part_means = means;
        self.part.fill(0.0);
        self.part_s = 0.0;
    }

    /// Takes readings at an instant: the state then, and flows then or on the mean before.
    fn read(&mut self, network: &Network, observed: &Observed<'_>, time_s: f64, at_s: f64) {
        let (state, flows) = (observed.state, observed.flows);
        let marks = network.landmarks();
        let layers = |weight: f64| {
            let (lower, upper) = (state[marks.attic_lower], state[marks.attic_upper]);
            lower + (upper - lower) * weight
        };
        let mean = |parts: &[(usize, f64)]| {
            let area: f64 = parts.iter().map(|(_, area)| area).sum();
            parts
                .iter()
                .map(|&(node, area)| state[node] * area)
                .sum::<f64>()
                / area
        };
        let ridge_m = marks.layer_heights_m[2];
        let trace = &mut self.trace;
        let step_s = trace.times_s.last().map_or(0.0, |before| time_s - before);
        trace.times_s.push(time_s);
        trace.outdoor_k.push(network.outdoor_k(at_s));
        trace
            .attic_ridge_k
            .push(layers(marks.upper_weight(RIDGE_READING * ridge_m)));
        trace
            .attic_air_k
            .push(layers(1.0 - marks.lower_volume_share));
        trace
            .attic_low_k
            .push(layers(marks.upper_weight(LOW_READING * ridge_m)));
        let hottest = marks
            .decks
            .iter()
            .map(|&node| state[node])
            .fold(f64::MIN, f64::max);
        trace.deck_underside_k.push(hottest);
        trace.attic_floor_k.push(mean(&marks.floors));
        trace.ceiling_underside_k.push(mean(&marks.ceilings));
        trace.living_air_k.push(state[marks.living]);
        let gain: f64 = marks
            .ceiling_flows
            .iter()
            .map(|&(flow, sign)| sign * flows[flow])
            .sum();
        trace.ceiling_gain_w.push(gain);
        let (mut entering, mut from_living) = (0.0, 0.0);
        for inlet in &self.inlets {
            let inward = inlet.inward_kg_s(flows);
            entering += inward;
            from_living += if inlet.is_from_living { inward } else { 0.0 };
        }
        let meters = network.meters();
        let density = flows[meters.attic_density];
        trace
            .attic_ach
            .push(entering / density / marks.attic_volume_m3 * 3600.0);
        trace.short_circuit_share.push(flows[meters.short_circuit]);
        trace.from_living_share.push(if entering > 0.0 {
            from_living / entering
        } else {
            0.0
        });
        trace.attic_pressure_pa.push(flows[meters.attic_pressure]);
        trace.living_pressure_pa.push(flows[meters.living_pressure]);
        for (thermometer, column) in network.thermometers().iter().zip(&mut trace.sensors_k) {
            let reading = match column.reading_k.last() {
                Some(&before) => thermometer.reading_k(before, state, step_s),
                None => thermometer.settled_k(state),
            };
            column.reading_k.push(reading);
            column.air_k.push(thermometer.air_k(state));
        }
    }
}
