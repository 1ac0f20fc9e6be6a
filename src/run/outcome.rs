//! What a run leaves behind: columns with units, and what happened on the way.

use jiff::civil::DateTime;

use crate::network::{AirPath, Landmarks, Node};
use crate::ode::Stats;
use crate::weather::{Kind, Notice as WeatherNotice};

/// Results of one design over one period.
///
/// Rows are output intervals: states at their ends, flows as means over them. `state_k` has one
/// row more, the start.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Name of the design.
    pub design: String,
    /// Start of the period, local standard time.
    pub start: DateTime,
    /// End of the period.
    pub end: DateTime,
    /// The weather it was run in.
    pub weather: WeatherOrigin,
    /// Stores of heat: the columns of `state_k`.
    pub nodes: Vec<Node>,
    /// Names of heat flows, `<from>_to_<to>`, the first columns of `flows`, W; and the air paths'
    /// mass flows, kg/s, where `paths` says.
    pub flow_names: Vec<String>,
    /// For each flow its two nodes; `None` is the surroundings (a mass flow has neither).
    pub flow_ends: Vec<(Option<usize>, Option<usize>)>,
    /// Ways for air.
    pub paths: Vec<AirPath>,
    /// Ends of the output intervals, s from the start.
    pub times_s: Vec<f64>,
    /// Temperatures, K; row-major, `times_s.len() + 1` rows of `nodes.len()`.
    pub state_k: Vec<f64>,
    /// Mean flows, W or kg/s; row-major, `times_s.len()` rows of `flow_names.len()`.
    pub flows: Vec<f64>,
    /// Share of each output interval that each fan group ran; row-major.
    pub fan_share: Vec<f64>,
    /// Fan groups.
    pub fans: Vec<FanRun>,
    /// Every time that a control turned over, in order; one that is on from the start of the period
    /// comes first, at 0 s.
    pub switches: Vec<Switching>,
    /// Readings on the fine grid.
    pub trace: Trace,
    /// Nodes that results are read from.
    pub landmarks: Landmarks,
    /// How well the balances close.
    pub balance: Balance,
    /// Cost of the solution.
    pub stats: Stats,
    /// What a reader ought to know.
    pub notices: Vec<Notice>,
}

/// The weather a run used.
#[derive(Debug, Clone, PartialEq)]
pub struct WeatherOrigin {
    /// Where the file says it is from.
    pub source: String,
    /// Place.
    pub place: String,
    /// Measured, typical or made.
    pub kind: Kind,
}

/// What a fan group did.
#[derive(Debug, Clone, PartialEq)]
pub struct FanRun {
    /// Name in the file.
    pub name: String,
    /// Number of fans.
    pub count: u32,
    /// What the labels promise together at no pressure, m³/s.
    pub free_air_m3_s: f64,
    /// Mean volume flow while running, at the density of the air that enters, m³/s.
    pub delivered_m3_s: f64,
    /// Mean pressure that a fan works against while running, its grille included, Pa.
    pub working_pressure_pa: f64,
    /// Time running, s.
    pub run_s: f64,
    /// Number of starts.
    pub starts: u32,
    /// Electricity, J.
    pub energy_j: f64,
}

/// A control that turned over.
#[derive(Debug, Clone, PartialEq)]
pub struct Switching {
    /// Time, s from the start.
    pub time_s: f64,
    /// Name of the control in the file.
    pub control: String,
    /// Whether it is on from now on.
    pub on: bool,
}

/// Readings at the start and at the ends of the fine intervals of the forcing: temperatures then, what
/// flows and what drives it on the mean of the interval.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Trace {
    /// Times, s from the start.
    pub times_s: Vec<f64>,
    /// Columns, each as long as `times_s`.
    pub outdoor_k: Vec<f64>,
    /// Attic air nine tenths of the way up to the ridge.
    pub attic_ridge_k: Vec<f64>,
    /// Mean of all attic air.
    pub attic_air_k: Vec<f64>,
    /// Attic air a tenth of the way up.
    pub attic_low_k: Vec<f64>,
    /// Underside of the hottest deck.
    pub deck_underside_k: Vec<f64>,
    /// Attic floor, area mean.
    pub attic_floor_k: Vec<f64>,
    /// Underside of the ceiling, area mean.
    pub ceiling_underside_k: Vec<f64>,
    /// Rooms' air.
    pub living_air_k: Vec<f64>,
    /// Heat through the ceiling into the rooms at its board, W.
    pub ceiling_gain_w: Vec<f64>,
    /// Air change of the attic: all that enters it, 1/h.
    pub attic_ach: Vec<f64>,
    /// Share of what enters the attic that comes from the rooms.
    pub from_living_share: Vec<f64>,
    /// Largest share of any fan's flow that it takes straight from a vent beside it.
    pub short_circuit_share: Vec<f64>,
    /// Pressure of the attic at its floor against outdoors, Pa.
    pub attic_pressure_pa: Vec<f64>,
    /// Pressure of the rooms at their floor against outdoors, Pa.
    pub living_pressure_pa: Vec<f64>,
    /// Readings of the thermometers, K, one column each.
    pub sensors_k: Vec<SensorTrace>,
}

impl Trace {
    /// Emptied, with room for so many readings and a column for each thermometer.
    pub(super) fn emptied(mut self, readings: usize, names: impl Iterator<Item = String>) -> Self {
        for column in self.columns() {
            column.clear();
            column.reserve_exact(readings);
        }
        let room = || Vec::with_capacity(readings);
        let sensors = names.map(|name| SensorTrace {
            name,
            reading_k: room(),
            air_k: room(),
        });
        self.sensors_k = sensors.collect();
        self
    }

    /// All columns but the thermometers'.
    fn columns(&mut self) -> [&mut Vec<f64>; 15] {
        [
            &mut self.times_s,
            &mut self.outdoor_k,
            &mut self.attic_ridge_k,
            &mut self.attic_air_k,
            &mut self.attic_low_k,
            &mut self.deck_underside_k,
            &mut self.attic_floor_k,
            &mut self.ceiling_underside_k,
            &mut self.living_air_k,
            &mut self.ceiling_gain_w,
            &mut self.attic_ach,
            &mut self.from_living_share,
            &mut self.short_circuit_share,
            &mut self.attic_pressure_pa,
            &mut self.living_pressure_pa,
        ]
    }
}

/// Columns of an outcome that is done with. Those of the next run are written into their place, since
/// to ask the system for new memory takes longer than to fill it.
#[derive(Debug, Default)]
pub(super) struct Columns {
    pub(super) times_s: Vec<f64>,
    pub(super) state_k: Vec<f64>,
    pub(super) flows: Vec<f64>,
    pub(super) fan_share: Vec<f64>,
    pub(super) trace: Trace,
}

/// Readings of one thermometer.
#[derive(Debug, Clone, PartialEq)]
pub struct SensorTrace {
    /// Name in the file.
    pub name: String,
    /// What it reads, K.
    pub reading_k: Vec<f64>,
    /// The air about it, K.
    pub air_k: Vec<f64>,
}

/// How well a run's books close.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Balance {
    /// Largest imbalance of a node over an output interval against what passed through it.
    pub energy_relative: f64,
    /// Largest imbalance of the whole house over the period against what passed through it.
    pub whole_relative: f64,
    /// Largest imbalance of a zone's air, mean over an output interval, kg/s.
    pub air_kg_s: f64,
}

/// What a reader of the results ought to know.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Notice {
    /// Something about the weather.
    Weather(WeatherNotice),
    /// The period had to start without days before it to warm up on: its own first days stood in.
    WarmedUpOnItself {
        /// Number of days that stood in.
        days: u32,
    },
    /// The house file places the house far from the weather's place, whose sun and records are
    /// taken all the same.
    FarFromWeather {
        /// Distance, km.
        distance_km: f64,
    },
}

impl Outcome {
    /// Its columns, to be used again.
    pub(super) fn into_columns(self) -> Columns {
        Columns {
            times_s: self.times_s,
            state_k: self.state_k,
            flows: self.flows,
            fan_share: self.fan_share,
            trace: self.trace,
        }
    }

    /// Length of output interval `row`, s.
    pub fn interval_s(&self, row: usize) -> f64 {
        let before = if row == 0 { 0.0 } else { self.times_s[row - 1] };
        self.times_s[row] - before
    }

    /// Mean flows of an output interval.
    pub fn flow_row(&self, row: usize) -> &[f64] {
        let width = self.flow_names.len();
        &self.flows[row * width..(row + 1) * width]
    }

    /// Mean heat through the ceiling into the rooms over an output interval, W.
    pub fn ceiling_gain_w(&self, row: usize) -> f64 {
        let flows = self.flow_row(row);
        let reads = self.landmarks.ceiling_flows.iter();
        reads.map(|&(flow, sign)| sign * flows[flow]).sum()
    }

    /// Temperatures at the end of output interval `row − 1`; row 0 is the start, K.
    pub fn state_row(&self, row: usize) -> &[f64] {
        let width = self.nodes.len();
        &self.state_k[row * width..(row + 1) * width]
    }

    /// Whether a flow is a mass flow of air.
    pub fn is_air(&self, flow: usize) -> bool {
        self.flow_ends[flow] == (None, None)
    }
}
