//! The same network over the same week by the default integrator, by Dopri5 of `ode_solvers` and by the
//! methods of `diffsol`, in one run: CPU time of the thread, medians, and how far each is from the
//! reference at 1e-10.
//!
//! Every one is given the instants of the switches and starts again at each. What is handed over are the
//! temperatures every five minutes; the default integrator alone also gives every flow's integral.
#![allow(clippy::expect_used, clippy::print_stdout)]

use std::cell::RefCell;

use diffsol::{
    NalgebraLU, NalgebraMat, OdeBuilder, OdeSolverMethod, OdeSolverStopReason, Vector as _,
};
use nalgebra::DVector;
use ode_solvers::continuous_output_model::ContinuousOutputModel;
use ode_solvers::dop_shared::OutputType;
use ode_solvers::dopri5::Dopri5;
use rafterheat::ode::{Integrator as _, Rosenbrock, System as _};
use rivals::scene::{DAYS, Rates, Scene, Segment, Unswitched, cpu_s, demo, weather};

const DESIGNS: [&str; 4] = ["as it stands", "fans", "barrier", "fans and barrier"];

/// Runs of the quick ones, and of the slow ones.
const MANY: usize = 9;
const FEW: usize = 3;

/// What an integrator did.
struct Done {
    course: Vec<Vec<f64>>,
    evaluations: u64,
}

struct Line {
    name: String,
    cpu_ms: f64,
    air_k: f64,
    gain: f64,
    evaluations: u64,
}

fn main() {
    let weather = weather();
    println!("CPU ms of a thread for {DAYS} days, median; error against the reference at 1e-10");
    for design in DESIGNS {
        let scene = Scene::new(&demo(design), &weather, DAYS);
        println!(
            "\n{design}: {} stores, {} switches",
            scene.size(),
            scene.turns.len()
        );
        let default = line(&scene, "default integrator, 0.008 K", MANY, || {
            by_default(&scene, 0.008)
        });
        tell(&default, None);
        let mut rivals = Vec::new();
        for at_records in [false, true] {
            let cut = if at_records {
                ", from record to record"
            } else {
                ""
            };
            for tolerance in [1e-4, 3e-5, 1e-5, 1e-6] {
                let name = format!("Dopri5 {tolerance:e}{cut}");
                rivals.push(line(&scene, &name, FEW, || {
                    by_dopri5(&scene, tolerance, at_records)
                }));
            }
            for method in [Method::Bdf, Method::TrBdf2, Method::Esdirk34] {
                for by_differences in [true, false] {
                    for tolerance in [1e-4, 1e-5, 1e-6, 1e-7] {
                        let slopes = if by_differences { "" } else { ", own slopes" };
                        let name = format!("diffsol {method:?} {tolerance:e}{slopes}{cut}");
                        let run =
                            || by_diffsol(&scene, method, tolerance, by_differences, at_records);
                        if run().is_none() {
                            println!("{name}: gave up");
                            continue;
                        }
                        rivals.push(line(&scene, &name, FEW, || run().expect("as before")));
                    }
                }
            }
        }
        rivals.sort_by(|a, b| a.cpu_ms.total_cmp(&b.cpu_ms));
        for rival in &rivals {
            tell(rival, Some(&default));
        }
        for family in ["Dopri5", "diffsol"] {
            for (bar, words) in [
                (default.air_k, "no worse an error than the default's"),
                (0.02, "attic air within 0.02 K"),
            ] {
                let able = |line: &&Line| line.name.starts_with(family) && line.air_k <= bar;
                if let Some(best) = rivals.iter().find(able) {
                    println!(
                        "quickest {family} with {words}: {}, {:.1} times the default",
                        best.name,
                        best.cpu_ms / default.cpu_ms
                    );
                }
            }
        }
    }
}

fn tell(line: &Line, default: Option<&Line>) {
    let times = default.map_or(1.0, |default| line.cpu_ms / default.cpu_ms);
    println!(
        "| {} | {:.1} | {times:.1} | {:.4} | {:.4} | {} |",
        line.name,
        line.cpu_ms,
        line.air_k,
        100.0 * line.gain,
        line.evaluations
    );
}

fn line(scene: &Scene, name: &str, runs: usize, run: impl Fn() -> Done) -> Line {
    let mut times = Vec::new();
    let mut done = run();
    for _ in 0..runs {
        let before = cpu_s();
        done = run();
        times.push(cpu_s() - before);
    }
    times.sort_by(f64::total_cmp);
    let (air_k, gain) = scene.apart(&done.course);
    Line {
        name: name.to_owned(),
        cpu_ms: 1e3 * times[times.len() / 2],
        air_k,
        gain,
        evaluations: done.evaluations,
    }
}

/// The default integrator with the tolerances that `simulate` gives it.
fn by_default(scene: &Scene, tolerance_k: f64) -> Done {
    let mut network = scene.network.clone();
    let leeway = |area_m2: f64| if area_m2 <= 0.0 { 1.0 } else { 3.0 };
    let tolerances = network
        .nodes()
        .iter()
        .map(|node| tolerance_k * leeway(node.area_m2));
    let mut method = Rosenbrock::new(tolerances.collect());
    let mut state = scene.start_k.clone();
    let mut totals = vec![0.0; network.ends().len()];
    let mut course = Vec::with_capacity(scene.exact.len());
    let mut turns = scene.turns.iter().peekable();
    for stretch in scene.forcing.stretches(0..scene.forcing.len()) {
        let (_, smooth_s) = network.enter(&scene.forcing, stretch.clone());
        for interval in stretch {
            let (mut from_s, to_s) = scene.forcing.span(interval);
            loop {
                let turn = turns.next_if(|turn| turn.time_s <= to_s);
                let until_s = turn.map_or(to_s, |turn| turn.time_s);
                // Nothing beyond a switch is to be looked at.
                let next_s = turns.peek().map_or(f64::INFINITY, |turn| turn.time_s);
                let smooth_s = if turn.is_some() {
                    until_s
                } else {
                    smooth_s.min(next_s)
                };
                let part_s = [from_s, until_s];
                let mut system = Unswitched(&mut network);
                let _ = method
                    .advance_within(&mut system, part_s, smooth_s, &mut state, &mut totals)
                    .expect("it runs");
                let Some(turn) = turn else { break };
                network.toggle(turn.switch, turn.time_s);
                method.restart();
                from_s = until_s;
            }
            course.push(state.clone());
        }
    }
    let evaluations = method.stats().flow_evaluations;
    Done {
        course,
        evaluations,
    }
}

/// Instants at which the course is wanted inside a segment, s.
fn wanted<'a>(
    scene: &'a Scene,
    course: &[Vec<f64>],
    segment: Segment,
) -> impl Iterator<Item = f64> + 'a {
    let ends = (course.len()..scene.forcing.len()).map(|interval| scene.forcing.span(interval).1);
    ends.take_while(move |&end_s| end_s <= segment.span_s[1] + 1e-9)
}

struct Dormand<'a, 'b>(&'a RefCell<Rates<'b>>, f64);

impl ode_solvers::System<f64, DVector<f64>> for Dormand<'_, '_> {
    fn system(&self, local_s: f64, state: &DVector<f64>, rates: &mut DVector<f64>) {
        let mut system = self.0.borrow_mut();
        system.rates(self.1 + local_s, state.as_slice(), rates.as_mut_slice());
    }
}

/// `ode_solvers` with its interpolation; its own dense output extrapolates to the end of a piece before
/// it has got there.
fn by_dopri5(scene: &Scene, tolerance: f64, at_records: bool) -> Done {
    let rates = RefCell::new(Rates::new(scene));
    let mut state = DVector::from_column_slice(&scene.start_k);
    let mut course: Vec<Vec<f64>> = Vec::with_capacity(scene.exact.len());
    for segment in scene.segments(at_records) {
        let [from_s, to_s] = segment.span_s;
        let length_s = to_s - from_s;
        let instants: Vec<f64> = wanted(scene, &course, segment)
            .map(|t| t - from_s)
            .collect();
        // Nothing happens in a millisecond, and the crate finds no step so short.
        if length_s < 1e-3 {
            course.extend(instants.iter().map(|_| state.as_slice().to_vec()));
        } else {
            let mut stepper = Dopri5::from_param(
                Dormand(&rates, from_s),
                0.0,
                length_s,
                length_s,
                state.clone(),
                tolerance,
                tolerance,
                0.9,
                0.04,
                0.2,
                10.0,
                length_s,
                length_s.min(1.0),
                10_000_000,
                u32::MAX,
                OutputType::Continuous,
            );
            let mut between = ContinuousOutputModel::default();
            stepper
                .integrate_with_continuous_output_model(&mut between)
                .expect("Dopri5 runs");
            state.copy_from(stepper.y_out().last().expect("an end"));
            for instant_s in instants {
                let at = between.evaluate(instant_s.min(length_s));
                course.push(at.unwrap_or_else(|| state.clone()).as_slice().to_vec());
            }
        }
        if let Some(switch) = segment.then {
            rates.borrow_mut().network.toggle(switch, to_s);
        }
    }
    let evaluations = rates.borrow().evaluations;
    Done {
        course,
        evaluations,
    }
}

#[derive(Debug, Clone, Copy)]
enum Method {
    Bdf,
    TrBdf2,
    Esdirk34,
}

/// `diffsol` with dense matrices: the network has some forty stores.
fn by_diffsol(
    scene: &Scene,
    method: Method,
    tolerance: f64,
    by_differences: bool,
    at_records: bool,
) -> Option<Done> {
    let rates = RefCell::new(Rates::new(scene));
    rates.borrow_mut().by_differences = by_differences;
    let size = scene.size();
    let mut state = scene.start_k.clone();
    let mut course: Vec<Vec<f64>> = Vec::with_capacity(scene.exact.len());
    for segment in scene.segments(at_records) {
        let [from_s, to_s] = segment.span_s;
        let instants: Vec<f64> = wanted(scene, &course, segment)
            .map(|t| t - from_s)
            .collect();
        if to_s < from_s + 1e-3 {
            course.extend(instants.iter().map(|_| state.clone()));
        } else {
            let start = &state;
            let mut problem = OdeBuilder::<NalgebraMat<f64>>::new()
                .rtol(tolerance)
                .atol([tolerance])
                .h0(10.0_f64.min(0.5 * (to_s - from_s)))
                .rhs_implicit(
                    |x: &[f64], _p: &[f64], t: f64, y: &mut [f64]| {
                        rates.borrow_mut().rates(from_s + t, x, y);
                    },
                    |x: &[f64], _p: &[f64], t: f64, v: &[f64], y: &mut [f64]| {
                        rates.borrow_mut().jacobian_times(from_s + t, x, v, y);
                    },
                )
                .init(
                    |_p: &[f64], _t: f64, y: &mut [f64]| y.copy_from_slice(start),
                    size,
                )
                .build()
                .ok()?;
            // It counts over a whole run what is meant for a step.
            problem.ode_options.max_nonlinear_solver_failures = 1_000_000;
            problem.ode_options.max_error_test_failures = 1_000_000;
            let length_s = to_s - from_s;
            let end = match method {
                Method::Bdf => march(
                    problem.bdf::<NalgebraLU<f64>>().ok()?,
                    length_s,
                    &instants,
                    &mut course,
                ),
                Method::TrBdf2 => march(
                    problem.tr_bdf2::<NalgebraLU<f64>>().ok()?,
                    length_s,
                    &instants,
                    &mut course,
                ),
                Method::Esdirk34 => march(
                    problem.esdirk34::<NalgebraLU<f64>>().ok()?,
                    length_s,
                    &instants,
                    &mut course,
                ),
            }?;
            state = end;
        }
        if let Some(switch) = segment.then {
            rates.borrow_mut().network.toggle(switch, to_s);
            rates.borrow_mut().forget();
        }
    }
    let evaluations = rates.borrow().evaluations;
    Some(Done {
        course,
        evaluations,
    })
}

/// Steps to the end and takes the course down at some instants.
fn march<'a, Eqn, S>(
    mut solver: S,
    length_s: f64,
    instants: &[f64],
    course: &mut Vec<Vec<f64>>,
) -> Option<Vec<f64>>
where
    Eqn: diffsol::OdeEquations<T = f64> + 'a,
    S: OdeSolverMethod<'a, Eqn>,
{
    solver.set_stop_time(length_s).ok()?;
    let mut instants = instants.iter().peekable();
    loop {
        let reason = solver.step().ok()?;
        let reached_s = solver.state().t;
        while let Some(&&instant_s) = instants.peek() {
            if instant_s > reached_s + 1e-9 {
                break;
            }
            let at = solver.interpolate(instant_s.min(reached_s)).ok()?;
            course.push(at.clone_as_vec());
            instants.next();
        }
        if matches!(reason, OdeSolverStopReason::TstopReached) {
            return Some(solver.state().y.clone_as_vec());
        }
    }
}
