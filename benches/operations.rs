//! Floating-point operations of a house-week: the engine run on a number that counts.
//!
//! `cargo bench --bench operations`. The counts are those of the formulas; the integrator's march alone
//! is counted, without weather, assembly and warm-up. Results are kept in `benches/runs`.
#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a bench talks to who runs it"
)]

use std::cell::Cell;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};
use std::path::Path;

use rafterheat::house::{DEMO, HouseFile};
use rafterheat::network::Network;
use rafterheat::ode::{Advance, Integrator, Real, Rosenbrock, System, Work};
use rafterheat::run::{RunOptions, simulate};
use rafterheat::weather::Weather;

const DESIGNS: [&str; 4] = ["as it stands", "fans", "barrier", "fans and barrier"];

/// Kinds of operations, and how many additions, multiplications and divisions one of them is in
/// `ode/elementary.rs`; a root is one instruction.
const KINDS: [(&str, f64); 12] = [
    ("add", 1.0),
    ("multiply", 1.0),
    ("divide", 1.0),
    ("square root", 1.0),
    ("cube root", 23.0),
    ("exponential", 24.0),
    ("logarithm", 30.0),
    ("power", 55.0),
    ("compare", 1.0),
    ("inverse fourth root", 22.0),
    ("inverse 24th root", 33.0),
    ("inverse fortieth root", 34.0),
];

const ADD: usize = 0;
const MULTIPLY: usize = 1;
const DIVIDE: usize = 2;
const ROOT: usize = 3;
const CUBE_ROOT: usize = 4;
const EXPONENTIAL: usize = 5;
const LOGARITHM: usize = 6;
const POWER: usize = 7;
const COMPARE: usize = 8;
const INVERSE_FOURTH_ROOT: usize = 9;
const INVERSE_24TH_ROOT: usize = 10;
const INVERSE_FORTIETH_ROOT: usize = 11;

thread_local! {
    static COUNTS: [Cell<u64>; 12] = const { [const { Cell::new(0) }; 12] };
}

fn count(kind: usize) {
    COUNTS.with(|counts| counts[kind].set(counts[kind].get() + 1));
}

fn counts() -> [u64; 12] {
    COUNTS.with(|counts| std::array::from_fn(|kind| counts[kind].get()))
}

/// A number that counts what is done with it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Counted(f64);

macro_rules! operator {
    ($trait:ident, $method:ident, $kind:ident) => {
        impl $trait for Counted {
            type Output = Self;
            fn $method(self, other: Self) -> Self {
                count($kind);
                Self($trait::$method(self.0, other.0))
            }
        }
        impl $trait<f64> for Counted {
            type Output = Self;
            fn $method(self, other: f64) -> Self {
                count($kind);
                Self($trait::$method(self.0, other))
            }
        }
    };
}

operator!(Add, add, ADD);
operator!(Sub, sub, ADD);
operator!(Mul, mul, MULTIPLY);
operator!(Div, div, DIVIDE);

impl Neg for Counted {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl AddAssign for Counted {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl SubAssign for Counted {
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl Real for Counted {
    const WIDTH: usize = 1;
    type Mask = bool;
    fn lane(self, _lane: usize) -> f64 {
        self.0
    }
    fn set_lane(&mut self, _lane: usize, value: f64) {
        self.0 = value;
    }
    fn select(mask: bool, if_true: Self, if_false: Self) -> Self {
        if mask { if_true } else { if_false }
    }
    fn at_most(self, other: Self) -> bool {
        count(COMPARE);
        self.0 <= other.0
    }
    fn inverse_fourth_root(self) -> Self {
        count(INVERSE_FOURTH_ROOT);
        Self(self.0.inverse_fourth_root())
    }
    fn inverse_twenty_fourth_root(self) -> Self {
        count(INVERSE_24TH_ROOT);
        Self(self.0.inverse_twenty_fourth_root())
    }
    fn inverse_fortieth_root(self) -> Self {
        count(INVERSE_FORTIETH_ROOT);
        Self(self.0.inverse_fortieth_root())
    }
    fn apart() {}
    fn wide<W: Work>(work: W) -> W::Output {
        work.run()
    }
    fn splat(value: f64) -> Self {
        Self(value)
    }
    fn alone(value: f64) -> Self {
        Self(value)
    }
    fn sqrt(self) -> Self {
        count(ROOT);
        Self(Real::sqrt(self.0))
    }
    fn cbrt(self) -> Self {
        count(CUBE_ROOT);
        Self(Real::cbrt(self.0))
    }
    fn exp(self) -> Self {
        count(EXPONENTIAL);
        Self(Real::exp(self.0))
    }
    fn ln(self) -> Self {
        count(LOGARITHM);
        Self(Real::ln(self.0))
    }
    fn powf(self, exponent: f64) -> Self {
        count(POWER);
        Self(Real::powf(self.0, exponent))
    }
    fn abs(self) -> Self {
        Self(self.0.abs())
    }
    fn max(self, other: Self) -> Self {
        count(COMPARE);
        Self(Real::max(self.0, other.0))
    }
    fn min(self, other: Self) -> Self {
        count(COMPARE);
        Self(Real::min(self.0, other.0))
    }
    fn where_positive(self, if_true: Self, if_false: Self) -> Self {
        count(COMPARE);
        if self.0 > 0.0 { if_true } else { if_false }
    }
    fn largest(self) -> f64 {
        self.0
    }
}

fn main() {
    let file = HouseFile::from_text(DEMO, "demo.toml").expect("the demo");
    let sample = Path::new("weather-samples/delta-california-2017-summer.csv");
    let weather = Weather::read(sample, None).expect("the sample");
    for design in DESIGNS {
        let house = file.find(design).expect("a design");
        let week = weather.hottest_week().expect("a week").intervals;
        let first = week.start..week.start + 1;
        let warm = simulate(house, &weather, first, &RunOptions::default()).expect("it runs");
        let mut network = Network::<Counted>::assemble(house).expect("it assembles");
        let forcing = network.forcing(&weather, week);
        let mut state: Vec<Counted> = warm.state_row(0).iter().map(|&t| Counted(t)).collect();
        let mut totals = vec![Counted(0.0); network.ends().len()];
        let leeway = |area_m2: f64| if area_m2 <= 0.0 { 1.0 } else { 3.0 };
        let tolerances = network
            .nodes()
            .iter()
            .map(|node| 0.008 * leeway(node.area_m2));
        let mut method = Rosenbrock::<Counted>::new(tolerances.collect());
        network.reset(&forcing);
        let before = counts();
        for stretch in forcing.stretches(0..forcing.len()) {
            let (_, smooth_s) = network.enter(&forcing, stretch.clone());
            for interval in stretch {
                let (mut from_s, to_s) = forcing.span(interval);
                while let Advance::Switched { time_s, switch } = method
                    .advance_within(
                        &mut network,
                        [from_s, to_s],
                        smooth_s,
                        &mut state,
                        &mut totals,
                    )
                    .expect("it runs")
                {
                    network.toggle(switch, time_s);
                    from_s = time_s;
                }
            }
        }
        let done = counts();
        let week: Vec<u64> = done
            .iter()
            .zip(before)
            .map(|(after, before)| after - before)
            .collect();
        let stats = Integrator::<Counted>::stats(&method);
        // One evaluation by itself.
        let mut flows = vec![Counted(0.0); totals.len()];
        let to_s = forcing.span(forcing.len() - 1).1;
        let before = counts();
        network
            .flows(Counted(to_s), &state, &mut flows)
            .expect("flows");
        let one: Vec<u64> = counts()
            .iter()
            .zip(before)
            .map(|(after, before)| after - before)
            .collect();
        let weigh = |counts: &[u64]| -> f64 {
            counts
                .iter()
                .zip(KINDS)
                .map(|(&n, (_, each))| n as f64 * each)
                .sum()
        };
        println!(
            "{design}: {:.1} million in the week, {:.0} a step ({} steps), {:.0} an evaluation ({})",
            1e-6 * weigh(&week),
            weigh(&week) / stats.steps as f64,
            stats.steps,
            weigh(&one),
            stats.flow_evaluations,
        );
        let each = week.iter().zip(KINDS).map(|(&n, (name, each))| {
            let per_step = n as f64 / stats.steps as f64;
            format!(
                "{name} {per_step:.0} ({:.0} %)",
                100.0 * n as f64 * each / weigh(&week)
            )
        });
        println!("  a step: {}", each.collect::<Vec<_>>().join(", "));
    }
}
