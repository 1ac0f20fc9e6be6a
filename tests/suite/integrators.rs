//! Both integrators against exact solutions.

use rafterheat::ode::problems::{
    ATTIC_STORES, FanAttic, LinearNetwork, Signal, SquareLoss, Threshold, Wave, attic, closed_form,
    one_store, two_stores,
};
use rafterheat::ode::{
    Advance, Ends, Fault, Integrator, Method, OdeError, Reference, Rosenbrock, System,
};

use crate::table::{self, Table};

const CASES: usize = 6;
const INTERVAL_S: f64 = 300.0;
const TOLERANCE_K: f64 = 0.005;

fn default_method(stores: usize) -> Rosenbrock<f64> {
    Rosenbrock::new(vec![TOLERANCE_K; stores])
}

/// Advances without a switch and checks that each store's balance closes to rounding.
fn advance<I: Integrator<f64>, S: System<f64>>(
    method: &mut I,
    system: &mut S,
    from_s: f64,
    to_s: f64,
    state: &mut [f64],
) {
    let before = state.to_vec();
    let mut totals = vec![0.0; system.ends().len()];
    let advance = method
        .advance(system, from_s, to_s, state, &mut totals)
        .unwrap();
    assert_eq!(advance, Advance::Completed);
    assert_balanced(system, &before, state, &totals);
}

fn assert_balanced<S: System<f64>>(system: &S, before: &[f64], after: &[f64], totals: &[f64]) {
    for (store, &capacity) in system.capacities().iter().enumerate() {
        let (mut sum, mut magnitude) = (0.0, capacity * after[store].abs());
        for (end, &total) in system.ends().iter().zip(totals) {
            let sign = f64::from(i8::from(end.to == Some(store)))
                - f64::from(i8::from(end.from == Some(store)));
            sum += sign * total;
            magnitude += (sign * total).abs();
        }
        let stored = capacity * (after[store] - before[store]);
        assert!(
            (stored - sum).abs() < 1e-12 * magnitude.max(1.0),
            "store {store}: {stored} stored, {sum} flowed"
        );
    }
}

fn network(params: &Table, row: usize) -> (LinearNetwork, Vec<f64>) {
    let value = |column: &str| params.f64(row, column);
    let capacities = ATTIC_STORES.map(|store| value(&format!("c_{store}")));
    let links = [
        "deck_attic",
        "deck_barrier",
        "deck_ceiling",
        "attic_barrier",
        "attic_ceiling",
        "barrier_ceiling",
        "ceiling_living",
        "living_mass",
        "out_deck",
        "out_attic",
        "out_living",
    ];
    let mut network = attic(capacities, links.map(|link| value(&format!("k_{link}"))));
    let daily = std::f64::consts::TAU / 86_400.0;
    let wave = |amplitude: &str, phase: &str, multiple: f64| Wave {
        amplitude: value(amplitude),
        frequency_rad_s: daily * multiple,
        phase_rad: value(phase),
    };
    network.outdoor = Signal {
        level: value("tout_mean"),
        waves: vec![wave("tout_a24", "tout_p24", 1.0)],
        ..Signal::default()
    };
    network.gains[0] = Signal {
        level: value("sol_mean"),
        waves: vec![
            wave("sol_a24", "sol_p24", 1.0),
            wave("sol_a12", "sol_p12", 2.0),
        ],
        ..Signal::default()
    };
    network.gains[3] = Signal::constant(value("living_gain"));
    network.gains[4] = Signal::constant(value("mass_gain"));
    let start = ATTIC_STORES.map(|store| value(&format!("t0_{store}")));
    (network, start.to_vec())
}

/// How many intervals make up a time.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn whole(count: f64) -> u32 {
    count.round() as u32
}

/// How a run compared with a table.
#[derive(Default, Debug)]
struct Misfit {
    attic_k: f64,
    any_k: f64,
    intervals: u64,
    steps: u64,
    flow_evaluations: u64,
    rejected: u64,
}

/// Runs all cases and hours; `set` writes the forcing of the hour that starts at a row.
fn against_hours<I: Integrator<f64>>(
    name: &str,
    prefix: &str,
    interval_s: f64,
    method: impl Fn(usize) -> I,
    set: impl Fn(&mut LinearNetwork, &Table, usize),
) -> Misfit {
    let params = table::read("c9_rc_params.csv");
    let series = table::read(name);
    let hours = series.len() / CASES;
    assert_eq!(params.len(), CASES);
    let mut misfit = Misfit::default();
    for case in 0..CASES {
        let (mut network, mut state) = network(&params, case);
        let mut method = method(state.len());
        for hour in 1..hours {
            let row = case * hours + hour;
            set(&mut network, &series, row - 1);
            let start_s = 3600.0 * (hour - 1) as f64;
            let intervals = whole(3600.0 / interval_s);
            for interval in 0..intervals {
                let from_s = start_s + interval_s * f64::from(interval);
                advance(
                    &mut method,
                    &mut network,
                    from_s,
                    from_s + interval_s,
                    &mut state,
                );
                misfit.intervals += 1;
            }
            for (store, &found) in ATTIC_STORES.iter().zip(&state) {
                let error = (found - series.f64(row, &format!("{prefix}{store}"))).abs();
                misfit.any_k = misfit.any_k.max(error);
                if *store == "attic" {
                    misfit.attic_k = misfit.attic_k.max(error);
                }
            }
        }
        misfit.steps += method.stats().steps;
        misfit.flow_evaluations += method.stats().flow_evaluations;
        misfit.rejected += method.stats().rejected_by_error;
    }
    misfit
}

fn held(network: &mut LinearNetwork, series: &Table, row: usize) {
    network.outdoor = Signal::constant(series.f64(row, "t_out"));
    network.gains[0] = Signal::constant(series.f64(row, "solar_w"));
}

fn ramped(network: &mut LinearNetwork, series: &Table, row: usize) {
    let ramp = |column: &str| Signal {
        level: series.f64(row, column),
        slope_per_s: (series.f64(row + 1, column) - series.f64(row, column)) / 3600.0,
        from_s: 3600.0 * series.f64(row, "hour"),
        waves: Vec::new(),
    };
    (network.outdoor, network.gains[0]) = (ramp("t_out"), ramp("solar_w"));
}

#[test]
fn default_follows_the_exact_attic_within_a_fiftieth_of_a_kelvin() {
    let misfit = against_hours(
        "c9_rc_series.csv",
        "",
        INTERVAL_S,
        default_method,
        |_, _, _| {},
    );
    assert!(misfit.any_k < 0.02, "{misfit:?}");
    // About one step an interval and two evaluations a step where the forcing is smooth.
    assert!(misfit.steps < misfit.intervals * 11 / 10, "{misfit:?}");
    assert!(
        misfit.flow_evaluations < misfit.steps * 22 / 10,
        "{misfit:?}"
    );
}

#[test]
fn default_follows_held_hourly_values_within_a_fiftieth_of_a_kelvin() {
    let misfit = against_hours("c9_rc_hourly.csv", "zoh_", INTERVAL_S, default_method, held);
    assert!(misfit.any_k < 0.02, "{misfit:?}");
}

/// Where every hour begins with a jump, the first step of the hour before tells how long one may be: less
/// than one step an hour is tried in vain.
#[test]
fn default_learns_how_long_a_step_may_be_after_a_jump() {
    let misfit = against_hours("c9_rc_hourly.csv", "zoh_", 3600.0, default_method, held);
    assert!(misfit.any_k < 0.02, "{misfit:?}");
    assert!(misfit.rejected < misfit.intervals, "{misfit:?}");
}

#[test]
fn default_follows_ramped_hourly_values_within_a_fiftieth_of_a_kelvin() {
    let misfit = against_hours(
        "c9_rc_hourly.csv",
        "foh_",
        INTERVAL_S,
        default_method,
        ramped,
    );
    assert!(misfit.any_k < 0.02, "{misfit:?}");
}

#[test]
fn default_is_as_accurate_in_intervals_of_an_hour() {
    let misfit = against_hours("c9_rc_series.csv", "", 3600.0, default_method, |_, _, _| {});
    assert!(misfit.any_k < 0.02, "{misfit:?}");
}

#[test]
fn reference_follows_the_exact_attic_within_a_ten_thousandth_of_a_kelvin() {
    let method = |_| Reference::default();
    let misfit = against_hours("c9_rc_series.csv", "", 3600.0, method, |_, _, _| {});
    assert!(misfit.any_k < 1e-4, "{misfit:?}");
}

#[test]
fn reference_follows_hourly_values_within_a_ten_thousandth_of_a_kelvin() {
    let method = |_| Reference::default();
    let held = against_hours("c9_rc_hourly.csv", "zoh_", 3600.0, method, held);
    let ramped = against_hours("c9_rc_hourly.csv", "foh_", 3600.0, method, ramped);
    assert!(
        held.any_k < 1e-4 && ramped.any_k < 1e-4,
        "{held:?} {ramped:?}"
    );
}

#[test]
fn both_follow_closed_solutions() {
    for problem in closed_form() {
        for (tolerance, is_reference) in [(0.01, false), (1e-7, true)] {
            let (mut network, mut state) = (problem.network.clone(), problem.start.clone());
            let mut fast = default_method(state.len());
            let mut slow = Reference::default();
            for interval in 0..48 {
                let (from_s, to_s) = (
                    INTERVAL_S * f64::from(interval),
                    INTERVAL_S * f64::from(interval + 1),
                );
                if is_reference {
                    advance(&mut slow, &mut network, from_s, to_s, &mut state);
                } else {
                    advance(&mut fast, &mut network, from_s, to_s, &mut state);
                }
                for (found, exact) in state.iter().zip((problem.exact)(to_s)) {
                    assert!(
                        (found - exact).abs() < tolerance,
                        "{} {found} {exact}",
                        problem.name
                    );
                }
            }
        }
    }
}

/// Error at 60 s of a square loss in steps of one length.
fn square_loss_error(gradient_scale: f64, steps: u32) -> f64 {
    let mut system = SquareLoss {
        scale: 1200.0,
        gradient_scale,
    };
    let mut method = Rosenbrock::new(vec![1e9]);
    let (mut state, mut totals) = ([40.0], [0.0]);
    let step_s = 60.0 / f64::from(steps);
    for step in 0..steps {
        let from_s = step_s * f64::from(step);
        let to_s = from_s + step_s;
        let done = method.advance(&mut system, from_s, to_s, &mut state, &mut totals);
        assert_eq!(done, Ok(Advance::Completed));
    }
    assert_eq!(method.stats().steps, u64::from(steps));
    (state[0] - 40.0 / (1.0 + 40.0 * 60.0 / 1200.0)).abs()
}

#[test]
fn default_is_of_second_order_with_right_and_with_rough_derivatives() {
    for gradient_scale in [1.0, 0.7, 1.3, 0.0] {
        let errors: Vec<f64> = [16, 32, 64, 128]
            .map(|steps| square_loss_error(gradient_scale, steps))
            .to_vec();
        let orders: Vec<f64> = errors.windows(2).map(|e| (e[0] / e[1]).log2()).collect();
        for order in orders {
            assert!(
                order > 1.85,
                "derivatives times {gradient_scale}: {order}, {errors:?}"
            );
        }
    }
}

/// Time, switch and state at which a cooling store passes the first of two levels.
fn crossing<I: Integrator<f64>>(method: &mut I, level: f64) -> (f64, usize, f64) {
    let mut problem = one_store();
    let network = &mut problem.network;
    network.thresholds = [level - 1.0, level]
        .map(|level| Threshold {
            store: 0,
            level,
            rising: false,
        })
        .to_vec();
    let (mut state, mut totals) = (problem.start, vec![0.0; 2]);
    for interval in 0..20 {
        let from_s = INTERVAL_S * f64::from(interval);
        let before = state.clone();
        let done = method.advance(
            network,
            from_s,
            from_s + INTERVAL_S,
            &mut state,
            &mut totals,
        );
        assert_balanced(network, &before, &state, &totals);
        if let Advance::Switched { time_s, switch } = done.unwrap() {
            assert_eq!(method.stats().switches, 1);
            return (time_s, switch, state[0]);
        }
    }
    panic!("never crossed {level}");
}

#[test]
fn both_locate_the_instant_at_which_a_decay_crosses_a_level() {
    for level in [59.9, 55.0, 37.0, 25.0] {
        let exact_s = 2000.0 * (40.0 / (level - 20.0_f64)).ln();
        // An error of the state moves the instant by that error over the slope, so that the
        // instant is as good as the tolerance: both are tried.
        let mut fine = Rosenbrock::new(vec![1e-5]);
        for (found, allowed_s) in [
            (crossing(&mut Reference::default(), level), 0.02),
            (crossing(&mut fine, level), 0.1),
            (crossing(&mut default_method(1), level), 1.0),
        ] {
            let (time_s, switch, state) = found;
            assert_eq!(switch, 1, "the level that is passed first");
            assert!(
                (time_s - exact_s).abs() < allowed_s,
                "{level}: {time_s} {exact_s}"
            );
            // 0.05 s at the steepest, 0.02 K/s, unless the level itself is met more closely.
            assert!((state - level).abs() < 1e-3, "{state} {level}");
        }
        assert!(fine.stats().locating_steps < 8, "{:?}", fine.stats());
    }
}

/// States at the ends of 300 s intervals and instants of switching of the attic with a fan.
fn fan_attic_course<I: Integrator<f64>>(
    method: &mut I,
    interval_s: f64,
    days: f64,
) -> (Vec<[f64; 4]>, Vec<f64>) {
    let mut attic = FanAttic::default();
    let (mut state, mut totals) = (FanAttic::START, [0.0; 8]);
    let (mut states, mut instants) = (Vec::new(), Vec::new());
    for interval in 0..whole(days * 86_400.0 / interval_s) {
        let mut from_s = interval_s * f64::from(interval);
        let to_s = interval_s * f64::from(interval + 1);
        loop {
            let before = state;
            let done = method
                .advance(&mut attic, from_s, to_s, &mut state, &mut totals)
                .unwrap();
            assert_balanced(&attic, &before, &state, &totals);
            let Advance::Switched { time_s, .. } = done else {
                break;
            };
            assert!(
                time_s > from_s,
                "the fan was turned over already at {from_s} s"
            );
            instants.push(time_s);
            attic.fan_on = !attic.fan_on;
            from_s = time_s;
        }
        states.push(state);
    }
    (states, instants)
}

#[test]
fn default_agrees_with_the_reference_on_an_attic_with_a_thermostat() {
    let (exact, exact_instants) = fan_attic_course(&mut Reference::default(), INTERVAL_S, 3.0);
    let mut method = default_method(4);
    let (states, instants) = fan_attic_course(&mut method, INTERVAL_S, 3.0);
    assert!(exact_instants.len() >= 6, "{exact_instants:?}");
    assert_eq!(instants.len(), exact_instants.len());
    let late = instants
        .iter()
        .zip(&exact_instants)
        .map(|(a, b)| (a - b).abs())
        .fold(0.0, f64::max);
    let misfit = |store: usize| {
        states
            .iter()
            .zip(&exact)
            .map(|(a, b)| (a[store] - b[store]).abs())
            .fold(0.0, f64::max)
    };
    let misfits = [misfit(0), misfit(1), misfit(2), misfit(3)];
    eprintln!(
        "{late} s, {misfits:?} K, {} {:?}",
        instants.len(),
        method.stats()
    );
    assert!(late < 15.0, "{late} s");
    assert!(misfits.iter().all(|&misfit| misfit < 0.02), "{misfits:?}");
}

#[test]
fn a_switch_that_has_fallen_already_is_returned_at_once() {
    let mut problem = one_store();
    problem.network.thresholds = vec![Threshold {
        store: 0,
        level: 60.0,
        rising: false,
    }];
    let (mut state, mut totals) = (problem.start.clone(), vec![1.0; 2]);
    let wanted = Ok(Advance::Switched {
        time_s: 7.0,
        switch: 0,
    });
    let network = &mut problem.network;
    assert_eq!(
        default_method(1).advance(network, 7.0, 300.0, &mut state, &mut totals),
        wanted
    );
    assert_eq!(totals, [0.0; 2]);
    assert_eq!(
        Reference::default().advance(network, 7.0, 300.0, &mut state, &mut totals),
        wanted
    );
    assert_eq!(state, problem.start);
}

#[test]
fn a_store_that_settles_within_seconds_follows_its_driver_without_overshoot() {
    // Time constant 5 s behind a ramp of 6 degrees an hour; starts 20 degrees off.
    let mut network = LinearNetwork::new(vec![500.0], vec![(None, 0, 100.0)]);
    let slope_per_s = 6.0 / 3600.0;
    network.outdoor = Signal {
        level: 20.0,
        slope_per_s,
        ..Signal::default()
    };
    let mut method = default_method(1);
    let mut state = vec![40.0];
    for interval in 0..24 {
        let from_s = INTERVAL_S * f64::from(interval);
        advance(
            &mut method,
            &mut network,
            from_s,
            from_s + INTERVAL_S,
            &mut state,
        );
        let exact = 20.0 + slope_per_s * (from_s + INTERVAL_S - 5.0);
        assert!((state[0] - exact).abs() < 1e-3, "{} {exact}", state[0]);
    }
    let late = method.stats().steps;
    assert!(late < 24 + 30, "{late} steps");
}

#[test]
fn one_long_step_over_a_settling_store_damps_it() {
    let mut network = LinearNetwork::new(vec![500.0], vec![(None, 0, 100.0)]);
    // A tolerance that never refuses lets the steps grow to the whole interval.
    let mut method = Rosenbrock::new(vec![1e9]);
    let mut state = vec![0.0];
    advance(&mut method, &mut network, 0.0, 300.0, &mut state);
    advance(&mut method, &mut network, 300.0, 600.0, &mut state);
    let steps = method.stats().steps;
    state[0] = 20.0;
    advance(&mut method, &mut network, 600.0, 900.0, &mut state);
    assert_eq!(method.stats().steps, steps + 1);
    // The stability function at −60 is 0.0818; a method that is not L-stable would leave all of it.
    assert!((state[0] / 20.0).abs() < 0.082, "{}", state[0]);
}

/// Inside a step only the first flow is told, and all once it has ended.
#[test]
fn a_glance_inside_a_step_tells_what_a_whole_look_does() {
    struct Told(LinearNetwork);
    impl System<f64> for Told {
        fn capacities(&self) -> &[f64] {
            self.0.capacities()
        }
        fn ends(&self) -> &[Ends] {
            self.0.ends()
        }
        fn gradient_pattern(&self) -> &[(usize, usize)] {
            self.0.gradient_pattern()
        }
        fn flows(&mut self, time_s: f64, state: &[f64], flows: &mut [f64]) -> Result<(), Fault> {
            self.0.flows(time_s, state, flows)
        }
        fn gradients(&mut self, time_s: f64, state: &[f64], values: &mut [f64]) {
            self.0.gradients(time_s, state, values);
        }
        fn told(&self) -> Vec<usize> {
            vec![0]
        }
    }
    let params = table::read("c9_rc_params.csv");
    let course = |glances: bool| {
        let (network, mut state) = network(&params, 0);
        let mut system = Told(network);
        let mut method = default_method(state.len());
        method.set_glances(glances);
        let mut totals = vec![0.0; system.ends().len()];
        let mut sums = totals.clone();
        let mut told = Vec::new();
        let end_s = 7200.0;
        for minute in 0..120 {
            let part_s = [0, 1].map(|later| 60.0 * f64::from(minute + later));
            let advance =
                method.advance_within(&mut system, part_s, end_s, &mut state, &mut totals);
            assert_eq!(advance.unwrap(), Advance::Completed);
            for (sum, total) in sums.iter_mut().zip(&totals) {
                *sum += total;
            }
            told.extend_from_slice(&state);
            told.push(sums[0]);
        }
        (told, sums, method.stats())
    };
    let [(told, sums, stats), (glanced, in_the_end, _)] = [false, true].map(course);
    // Most of the parts end inside a step.
    assert!(stats.steps < 60, "{stats:?}");
    let near = |a: f64, b: f64| (a - b).abs() < 1e-9 * a.abs().max(1.0);
    assert!(told.iter().zip(&glanced).all(|(&a, &b)| near(a, b)));
    assert!(sums.iter().zip(&in_the_end).all(|(&a, &b)| near(a, b)));
}

#[test]
fn halving_the_tolerance_changes_the_course_little_and_halving_the_interval_too() {
    let params = table::read("c9_rc_params.csv");
    let run = |tolerance: f64, interval_s: f64| {
        let (mut network, mut state) = network(&params, 0);
        let mut method = Rosenbrock::new(vec![tolerance; 6]);
        for interval in 0..whole(86_400.0 / interval_s) {
            let from_s = interval_s * f64::from(interval);
            advance(
                &mut method,
                &mut network,
                from_s,
                from_s + interval_s,
                &mut state,
            );
        }
        state
    };
    let base = run(TOLERANCE_K, INTERVAL_S);
    for other in [
        run(TOLERANCE_K / 2.0, INTERVAL_S),
        run(TOLERANCE_K, INTERVAL_S / 2.0),
    ] {
        for (a, b) in base.iter().zip(&other) {
            assert!((a - b).abs() < 0.01);
        }
    }
}

/// Flows that stop being numbers, or fail, below a level of the state.
struct Broken {
    level: f64,
    fault: Option<Fault>,
}

impl System<f64> for Broken {
    fn capacities(&self) -> &[f64] {
        &[1e4]
    }
    fn ends(&self) -> &[Ends] {
        &[Ends {
            from: Some(0),
            to: None,
        }]
    }
    fn gradient_pattern(&self) -> &[(usize, usize)] {
        &[(0, 0)]
    }
    fn flows(&mut self, _time_s: f64, state: &[f64], flows: &mut [f64]) -> Result<(), Fault> {
        flows[0] = 100.0;
        if state[0] < self.level {
            flows[0] = f64::NAN;
            if let Some(fault) = &self.fault {
                return Err(fault.clone());
            }
        }
        Ok(())
    }
    fn gradients(&mut self, _time_s: f64, _state: &[f64], values: &mut [f64]) {
        values[0] = 0.0;
    }
}

#[test]
fn flows_that_stop_being_numbers_end_in_a_typed_error() {
    let mut totals = [0.0];
    // At the start.
    let mut broken = Broken {
        level: 100.0,
        fault: None,
    };
    let wanted = Err(OdeError::Flows(Fault::NotFinite { time_s: 0.0 }));
    assert_eq!(
        default_method(1).advance(&mut broken, 0.0, 300.0, &mut [20.0], &mut totals),
        wanted
    );
    let found = Reference::default().advance(&mut broken, 0.0, 300.0, &mut [20.0], &mut totals);
    assert_eq!(found, wanted);
    // On the way: 20 degrees are lost at 0.01 K/s, so 19 are reached at 100 s.
    let fault = Fault::NoConvergence {
        what: "test",
        time_s: 1.0,
        residual: 2.0,
    };
    for fault in [None, Some(fault)] {
        let mut broken = Broken { level: 19.0, fault };
        let found = default_method(1).advance(&mut broken, 0.0, 300.0, &mut [20.0], &mut totals);
        match found {
            Err(OdeError::StepUnderflow {
                time_s,
                fault: Some(_),
                ..
            }) => {
                assert!((time_s - 100.0).abs() < 0.01);
            }
            other => panic!("{other:?}"),
        }
        let found = Reference::default().advance(&mut broken, 0.0, 300.0, &mut [20.0], &mut totals);
        assert!(matches!(found, Err(OdeError::Flows(_))), "{found:?}");
    }
}

#[test]
fn slices_that_do_not_fit_are_refused() {
    let mut network = two_stores().network;
    let mut totals = vec![0.0; network.ends().len()];
    let shape = |what, expected, found| {
        Err(OdeError::Shape {
            what,
            expected,
            found,
        })
    };
    let found = default_method(2).advance(&mut network, 0.0, 1.0, &mut [0.0], &mut totals);
    assert_eq!(found, shape("stores", 2, 1));
    let found = default_method(1).advance(&mut network, 0.0, 1.0, &mut [0.0; 2], &mut totals);
    assert_eq!(found, shape("tolerances", 2, 1));
    let found = Reference::default().advance(&mut network, 0.0, 1.0, &mut [0.0; 2], &mut []);
    assert_eq!(found, shape("flows", 3, 0));
}

/// A store that is held at nothing until 4000 s and then drives itself on, up to where a cube holds
/// it: `y' = (t − 4000)/200 000 y − y³/200 + 2e-6`.
struct TurnsOver;

impl System<f64> for TurnsOver {
    fn capacities(&self) -> &[f64] {
        &[1.0]
    }
    fn ends(&self) -> &[Ends] {
        &[Ends {
            from: None,
            to: Some(0),
        }]
    }
    fn gradient_pattern(&self) -> &[(usize, usize)] {
        &[(0, 0)]
    }
    fn flows(&mut self, time_s: f64, state: &[f64], flows: &mut [f64]) -> Result<(), Fault> {
        let y = state[0];
        flows[0] = (time_s - 4000.0) / 200_000.0 * y - y.powi(3) / 200.0 + 2e-6;
        Ok(())
    }
    fn gradients(&mut self, time_s: f64, state: &[f64], values: &mut [f64]) {
        values[0] = (time_s - 4000.0) / 200_000.0 - 0.015 * state[0].powi(2);
    }
    fn may_run_away(&self) -> bool {
        true
    }
}

/// A long implicit step holds down what grows, and nothing in it tells.
#[test]
fn what_turns_over_by_itself_does_so_when_it_should() {
    let passes_one_k = |mut method: Method| {
        let (mut state, mut totals) = ([0.0], [0.0]);
        let mut last = 0.0;
        for tenth in 0..800 {
            let from_s = f64::from(tenth) * 10.0;
            let part_s = [from_s, from_s + 10.0];
            let advance =
                method.advance_within(&mut TurnsOver, part_s, 8000.0, &mut state, &mut totals);
            assert_eq!(advance, Ok(Advance::Completed));
            if state[0] >= 1.0 {
                return from_s + 10.0 * (1.0 - last) / (state[0] - last);
            }
            last = state[0];
        }
        f64::INFINITY
    };
    let exact_s = passes_one_k(Method::Reference(Reference::new(1e-10, 1e-10)));
    assert!(exact_s > 4500.0 && exact_s < 7000.0, "{exact_s}");
    let found_s = passes_one_k(Method::Default(Box::new(default_method(1))));
    assert!((found_s - exact_s).abs() < 20.0, "{found_s} {exact_s}");
}

/// A store that counts seconds beside one that follows a driver within a second, and a switch that
/// falls only while a wave of time is above a level.
struct Clock {
    capacities: [f64; 2],
    ends: [Ends; 2],
    level: f64,
}

impl System<f64> for Clock {
    fn capacities(&self) -> &[f64] {
        &self.capacities
    }
    fn ends(&self) -> &[Ends] {
        &self.ends
    }
    fn gradient_pattern(&self) -> &[(usize, usize)] {
        &[(1, 1)]
    }
    fn flows(&mut self, time_s: f64, state: &[f64], flows: &mut [f64]) -> Result<(), Fault> {
        flows[0] = 1.0;
        flows[1] = 100.0 * (0.05 * time_s).sin() - state[1];
        Ok(())
    }
    fn gradients(&mut self, _time_s: f64, _state: &[f64], values: &mut [f64]) {
        values[0] = -1.0;
    }
    fn switch_count(&self) -> usize {
        1
    }
    fn switches(&self, time_s: f64, _state: &[f64], values: &mut [f64]) {
        values[0] = (0.4 * time_s).sin() - self.level;
    }
}

/// A switch may fall for a moment between two looks; wherever an integrator then stops, its state
/// is that of the instant it names.
#[test]
fn the_state_returned_is_that_of_the_time_returned() {
    let into = |store| Ends {
        from: None,
        to: Some(store),
    };
    for step in 0..400 {
        let level = 0.9 + 0.000_25 * f64::from(step);
        for reference in [false, true] {
            let mut system = Clock {
                capacities: [1.0, 1.0],
                ends: [into(0), into(1)],
                level,
            };
            let (mut state, mut totals) = ([0.0, 0.0], [0.0, 0.0]);
            let mut method = if reference {
                Method::Reference(Reference::new(1e-7, 1e-7))
            } else {
                Method::Default(Box::new(Rosenbrock::new(vec![1e-3; 2])))
            };
            let advance = method
                .advance(&mut system, 0.0, 40.0, &mut state, &mut totals)
                .unwrap();
            let reached_s = match advance {
                Advance::Completed => 40.0,
                Advance::Switched { time_s, .. } => time_s,
            };
            let off_s: f64 = state[0] - reached_s;
            assert!(
                off_s.abs() < 1e-6,
                "level {level}: off by {off_s} s at {reached_s} s"
            );
        }
    }
}
