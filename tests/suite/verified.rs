//! `verify`: what a change did, on houses of which that is known.

use jiff::civil::{DateTime, date};

use rafterheat::house::{House, HouseFile, STARTER};
use rafterheat::readings::{Readings, Role, Series};
use rafterheat::run::{Choice, Outcome, RunOptions, simulate};
use rafterheat::study::calibrate::{Prior, Target, Task, calibrate, priors};
use rafterheat::study::verify::{Change, Mimic, Verified, VerifyError, verify, verify_fitted};
use rafterheat::weather::{Quantity, Weather};

use crate::twins::{LOGGER_K, LOGGER_STEP_K, Noise, drawn_house, later, nothing_logged, seconds};

/// Unknowns of the twins: the strongest, so that a fit takes seconds.
const WANTED: [&str; 3] = [
    "site.shelter",
    "roof.absorptance",
    "openings.soffit.net_area",
];

/// A house drawn from what is likely, and its month.
pub(crate) struct Scene {
    pub(crate) file: HouseFile,
    pub(crate) weather: Weather,
    pub(crate) priors: Vec<Prior>,
    settings: Vec<(String, String)>,
    pub(crate) start: DateTime,
}

impl Scene {
    /// With some of what may be not known; all of it if none is named.
    pub(crate) fn new(noise: &mut Noise, wanted: &[&str]) -> Self {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
        let sample = "weather-samples/delta-california-2017-summer.csv";
        let weather = Weather::read(&root.join(sample), None).unwrap();
        let file = HouseFile::from_text(STARTER, "house.toml").unwrap();
        let mut all = priors(&file, &weather, &nothing_logged(&weather));
        all.retain(|prior| matches!(prior.target, Target::Key { .. }));
        all.retain(|prior| wanted.is_empty() || wanted.contains(&prior.name()));
        let (values, _) = drawn_house(noise, &file, &all);
        let pairs = all.iter().zip(&values);
        let settings = pairs.filter_map(|(prior, x)| prior.setting(*x)).collect();
        Self {
            start: date(2017, 6, 12).at(0, 0, 0, 0),
            file,
            weather,
            priors: all,
            settings,
        }
    }

    /// The true house as a design of its file.
    pub(crate) fn truth(&self, design: &str) -> House {
        self.truth_with(design, &[])
    }

    /// The same with something else in it that the owner does not tell.
    fn truth_with(&self, design: &str, more: &[(&str, &str)]) -> House {
        let own = self.settings.iter();
        let mut settings: Vec<(&str, &str)> = own
            .map(|(key, value)| (key.as_str(), value.as_str()))
            .collect();
        settings.extend(more);
        self.file.design_with(design, &settings).unwrap()
    }

    /// What a consumer's logger near the ridge reads in a house for some days, and what one without
    /// error would; `shift_k` is what the logger reads off.
    pub(crate) fn log(
        &self,
        noise: &mut Noise,
        house: &House,
        days: [i64; 2],
        shift_k: f64,
    ) -> (Readings, Vec<f64>) {
        let outcome = self.run(house, days);
        let exact: Vec<f64> = outcome.trace.sensors_k[0].reading_k.clone();
        let off: Vec<f64> = exact.iter().map(|k| k + shift_k).collect();
        let series = self.logged(noise, "ridge", &off, days[0]);
        let readings = Readings {
            series: vec![series],
            ..nothing_logged(&self.weather)
        };
        (readings, every_ten_minutes(&exact))
    }

    fn run(&self, house: &House, [from, days]: [i64; 2]) -> Outcome {
        let start = later(self.start, from);
        let span = self.weather.span(start, later(start, days)).unwrap();
        let options = RunOptions {
            integrator: Choice::Default { tolerance_k: 0.002 },
            output_s: 300.0,
            ..RunOptions::default()
        };
        simulate(house, &self.weather, span, &options).unwrap()
    }

    /// What a consumer's logger makes of a temperature every five minutes from a day on.
    fn logged(&self, noise: &mut Noise, name: &str, exact_k: &[f64], from: i64) -> Series {
        let start_s = seconds(later(self.start, from));
        let keep = (-1.0_f64 / 6.0).exp();
        let mut drift = 0.0;
        let exact_k = every_ten_minutes(exact_k);
        let values = exact_k.iter().map(|exact_k| {
            drift = keep * drift + (1.0 - keep * keep).sqrt() * LOGGER_K * noise.normal();
            ((exact_k + drift) / LOGGER_STEP_K).round() * LOGGER_STEP_K
        });
        Series {
            role: Role::Inside(name.to_owned()),
            values: values.collect(),
            times_s: (start_s..).step_by(600).take(exact_k.len()).collect(),
        }
    }

    /// What two loggers read, one in the attic and one in the rooms.
    fn log_with_rooms(&self, noise: &mut Noise, house: &House, days: [i64; 2]) -> Readings {
        let trace = self.run(house, days).trace;
        let ridge = self.logged(noise, "ridge", &trace.sensors_k[0].reading_k, days[0]);
        let rooms = self.logged(noise, "living_air", &trace.living_air_k, days[0]);
        Readings {
            series: vec![ridge, rooms],
            ..nothing_logged(&self.weather)
        }
    }

    /// What a logger reads that was hung near the attic floor.
    fn log_near_floor(&self, noise: &mut Noise, house: &House, days: [i64; 2]) -> Readings {
        let trace = self.run(house, days).trace;
        Readings {
            series: vec![self.logged(noise, "ridge", &trace.attic_low_k, days[0])],
            ..nothing_logged(&self.weather)
        }
    }

    /// Six days before against six after.
    fn change<'a>(
        &'a self,
        [before, after]: [&'a Readings; 2],
        [from_before, from_after]: [i64; 2],
        changed: Option<&'a HouseFile>,
        draws: u64,
    ) -> Change<'a> {
        let at = |days: i64| later(self.start, days);
        let task = |file, readings, fit, kept_out| Task {
            file,
            readings,
            weather: &self.weather,
            priors: self.priors.clone(),
            fit,
            kept_out,
            starts: 1,
        };
        let (a, b) = (from_before, from_after);
        let days_after = [at(b), at(b + 6)];
        let kept_out = Some([at(a + 5), at(a + 6)]);
        Change {
            before: task(&self.file, before, [at(a), at(a + 5)], kept_out),
            after: task(&self.file, after, days_after, None),
            draws,
            file: None,
            changed: changed.map(|file| task(file, after, days_after, None)),
        }
    }

    /// Judges it.
    fn judge(
        &self,
        readings: [&Readings; 2],
        days: [i64; 2],
        draws: u64,
    ) -> Result<Verified, VerifyError> {
        verify(&self.change(readings, days, None, draws), &|| {})
    }
}

fn every_ten_minutes(exact_k: &[f64]) -> Vec<f64> {
    exact_k.iter().copied().step_by(2).collect()
}

/// Mean of the daily highs of readings every ten minutes.
fn highs(exact: &[f64]) -> f64 {
    let days: Vec<f64> = exact
        .chunks_exact(144)
        .map(|day| day.iter().copied().fold(0.0, f64::max))
        .collect();
    days.iter().sum::<f64>() / days.len() as f64
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Verdict {
    Told,
    /// On the strength of the readings.
    Doubted,
    Refused,
}

/// What was said of one log after a change whose true drop is known.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Said {
    /// Whether the interval of the drop of the daily highs holds the true one.
    holds: bool,
    /// Width of the interval, K.
    wide_k: f64,
    verdict: Verdict,
    /// Share of the days and of the readings after whose own limits, without the change, hold them.
    days_hold: f64,
    readings_hold: f64,
    /// Whether what could look alike, as large as it was told, makes up for what is missing.
    covered: bool,
}

impl Said {
    fn of(what: &str, found: Result<Verified, VerifyError>, true_k: f64) -> Self {
        let found = match found {
            Ok(found) => found,
            Err(error) => {
                println!("  {what}: refused: {error}");
                return Self {
                    holds: false,
                    wide_k: f64::NAN,
                    verdict: Verdict::Refused,
                    days_hold: f64::NAN,
                    readings_hold: f64::NAN,
                    covered: true,
                };
            }
        };
        let drop = &found.drops[0];
        let [low, high] = drop.highs.interval;
        let doubted =
            drop.shape.is_some() || !found.rooms_otherwise.is_empty() || !found.clocks.is_empty();
        println!(
            "  {what}: {:.2} [{low:.2}, {high:.2}] true {true_k:.2}, {:.2?}, expected {:.2?}, {:?}, \
             rooms {:?}, {:.1?}",
            drop.highs.value,
            drop.doubt,
            drop.expected.map(|all| all[0].value),
            drop.shape,
            found.rooms_otherwise,
            found.mimics,
        );
        let told = found.mimics.iter().map(|mimic| match mimic {
            Mimic::LoggerElsewhere {
                at_floor_k,
                at_ridge_k,
                ..
            } => [*at_floor_k, *at_ridge_k],
            Mimic::CoolerRooms { highs_k, .. } => [*highs_k, -highs_k],
        });
        let (mut least, mut most) = (low - true_k, high - true_k);
        for ends in told {
            least -= ends[0].max(ends[1]).max(0.0);
            most -= ends[0].min(ends[1]).min(0.0);
        }
        let share = |held: &mut dyn Iterator<Item = bool>| {
            let (held, all) = held.fold((0.0, 0.0), |(held, all), one| {
                (held + f64::from(u8::from(one)), all + 1.0)
            });
            held / f64::max(all, 1.0)
        };
        let after = &drop.days.after;
        let mean_k = after.iter().map(|(_, day)| day.value).sum::<f64>() / after.len() as f64;
        assert!(
            (mean_k - drop.highs.value).abs() < 1e-9,
            "days make up the whole"
        );
        let without = &drop.without;
        let mut readings = without.logged_k.iter().zip(&without.limits_k);
        let mut readings = readings
            .by_ref()
            .map(|(k, [low, high])| low <= k && k <= high);
        Self {
            days_hold: share(&mut after.iter().map(|(_, day)| !day.is_sure())),
            readings_hold: share(&mut readings),
            holds: (low..=high).contains(&true_k),
            wide_k: high - low,
            verdict: if doubted {
                Verdict::Doubted
            } else {
                Verdict::Told
            },
            covered: least <= 0.0 && most >= 0.0,
        }
    }
}

/// What was said of a house in which nothing was changed, of one that got fans, and of both where
/// something else changed too: the logger was hung near the floor, or windows were used otherwise.
#[derive(Debug, Clone, Copy)]
struct Twin {
    nothing: Said,
    fans: Said,
    undescribed: Said,
    moved: Said,
    fans_moved: Said,
    windows: Said,
}

/// Windows as they were used after the change, in place of 8 ft² that stand open by night.
const WINDOWS: [&str; 2] = ["0 ft2", "20 ft2"];

fn twin(seed: u64, draws: u64) -> Twin {
    let mut noise = Noise::new(seed);
    let scene = Scene::new(&mut noise, &WANTED);
    let as_it_was = scene.truth("as it stands");
    let fans = scene.truth("fans");
    let area = WINDOWS[(seed % 2) as usize];
    let aired = scene.truth_with("fans", &[("house.airing.area", area)]);
    let design = scene.file.as_design("fans").unwrap();
    let after = [6, 6];
    let (before, _) = scene.log(&mut noise, &as_it_was, [0, 6], 0.0);
    let (placebo, without) = scene.log(&mut noise, &as_it_was, after, 0.0);
    let (changed, with) = scene.log(&mut noise, &fans, after, 0.0);
    let moved = scene.log_near_floor(&mut noise, &as_it_was, after);
    let fans_moved = scene.log_near_floor(&mut noise, &fans, after);
    let (windows, _) = scene.log(&mut noise, &aired, after, 0.0);
    let true_k = highs(&without) - highs(&with);
    println!("{seed}: windows {area}");
    let first = scene.change([&before, &placebo], [0, 6], None, draws);
    let fit = calibrate(&first.before, &|| {}).unwrap();
    let said = |what: &str, log: &Readings, design: Option<&HouseFile>, true_k: f64| {
        let change = scene.change([&before, log], [0, 6], design, draws);
        Said::of(what, verify_fitted(&change, fit.clone(), &|| {}), true_k)
    };
    Twin {
        nothing: said("nothing", &placebo, None, 0.0),
        fans: said("fans", &changed, Some(&design), true_k),
        undescribed: said("fans, not described", &changed, None, true_k),
        moved: said("logger moved", &moved, None, 0.0),
        fans_moved: said("fans, logger moved", &fans_moved, Some(&design), true_k),
        windows: said("fans, windows", &windows, Some(&design), true_k),
    }
}

#[test]
fn a_change_is_told_and_no_change_is_not() {
    for seed in 1..=2 {
        let twin = twin(seed, 8);
        assert!(twin.nothing.holds && twin.fans.holds, "{twin:?}");
        println!(
            "{seed}: of days {:.2} and of readings {:.2} are held where nothing changed",
            twin.nothing.days_hold, twin.nothing.readings_hold
        );
        assert!(twin.nothing.readings_hold >= 0.8, "{twin:?}");
        let plain = |said: Said| said.verdict == Verdict::Told;
        assert!(plain(twin.nothing) && plain(twin.fans), "{twin:?}");
        assert!(twin.fans.wide_k < 6.0, "{twin:?}");
    }
}

/// Which log of a twin.
type Which = fn(&Twin) -> &Said;

fn count() -> u64 {
    let count = std::env::var("RAFTERHEAT_TWINS");
    count.ok().and_then(|text| text.parse().ok()).unwrap_or(100)
}

#[test]
#[ignore = "takes long; RAFTERHEAT_TWINS tells how many, 100 unless given"]
fn nine_in_ten_intervals_hold_what_was_done() {
    let count = count();
    let twins: Vec<Twin> = (1..=count).map(|seed| twin(seed, 8)).collect();
    let share = |of: &dyn Fn(&Said) -> bool, which: Which| {
        twins.iter().filter(|one| of(which(one))).count() as f64 / count as f64
    };
    let is_fair = |said: &Said| said.holds || said.covered || said.verdict != Verdict::Told;
    let kinds: [(&str, Which); 6] = [
        ("nothing", |one| &one.nothing),
        ("fans", |one| &one.fans),
        ("fans, not described", |one| &one.undescribed),
        ("logger moved", |one| &one.moved),
        ("fans, logger moved", |one| &one.fans_moved),
        ("fans, windows", |one| &one.windows),
    ];
    for (name, which) in kinds {
        let told: Vec<f64> = twins
            .iter()
            .map(|one| which(one).wide_k)
            .filter(|wide_k| wide_k.is_finite())
            .collect();
        println!(
            "{name}: holds {:.3}, refused {:.3}, doubted {:.3}, covered {:.3}; width {:.2} K",
            share(&|said| said.holds, which),
            share(&|said| said.verdict == Verdict::Refused, which),
            share(&|said| said.verdict == Verdict::Doubted, which),
            share(&is_fair, which),
            told.iter().sum::<f64>() / told.len().max(1) as f64
        );
    }
    for (what, of) in [
        ("days", (|said: &Said| said.days_hold) as fn(&Said) -> f64),
        ("readings", |said| said.readings_hold),
    ] {
        let all = twins.iter().map(|twin| of(&twin.nothing));
        let all: Vec<f64> = all.filter(|share| share.is_finite()).collect();
        let held = all.iter().sum::<f64>() / all.len() as f64;
        println!("nothing: {held:.3} of {what} inside their own limits");
        assert!(held >= 0.85, "{what}: {held}");
    }
    for (_, which) in &kinds[..3] {
        assert!(share(&|said| said.holds, *which) >= 0.9);
        assert!(share(&|said| said.verdict != Verdict::Told, *which) <= 0.05);
    }
    for (name, which) in &kinds[3..] {
        assert!(share(&is_fair, *which) >= 0.9, "{name}");
    }
}

/// A logger that reads three kelvin less after than before, a week ten kelvin hotter, and two days
/// are refused, each by its name.
#[test]
fn what_the_data_cannot_carry_is_refused() {
    let mut noise = Noise::new(11);
    let scene = Scene::new(&mut noise, &WANTED);
    let house = scene.truth("as it stands");
    let (before, _) = scene.log(&mut noise, &house, [0, 6], 0.0);
    let (moved, _) = scene.log(&mut noise, &house, [6, 6], -3.0);
    let refused = scene.judge([&before, &moved], [0, 6], 4).unwrap_err();
    assert!(
        matches!(refused, VerifyError::LoggerMoved { .. }),
        "{refused}"
    );
    let (short, _) = scene.log(&mut noise, &house, [6, 2], 0.0);
    let refused = scene.judge([&before, &short], [0, 6], 4).unwrap_err();
    assert!(
        matches!(refused, VerifyError::TooFewDays { after: 2, .. }),
        "{refused}"
    );
    let other = Readings {
        series: vec![Series {
            role: Role::Inside("attic_low".to_owned()),
            ..before.series[0].clone()
        }],
        ..nothing_logged(&scene.weather)
    };
    let refused = scene.judge([&before, &other], [0, 0], 4).unwrap_err();
    assert!(matches!(refused, VerifyError::NothingInCommon), "{refused}");
    let outdoors = nothing_logged(&scene.weather);
    assert!(outdoors.find(&Role::Outdoors(Quantity::DryBulb)).is_some());
}

/// Windows that were used otherwise after the change show in a logger in the rooms.
#[test]
#[ignore = "takes long; RAFTERHEAT_TWINS tells how many, 100 unless given"]
fn a_logger_in_the_rooms_tells_of_other_habits() {
    let (mut told, mut false_alarms) = (0, 0);
    let count = count();
    for seed in 1..=count {
        let mut noise = Noise::new(seed);
        let scene = Scene::new(&mut noise, &WANTED);
        let area = WINDOWS[(seed % 2) as usize];
        let design = scene.file.as_design("fans").unwrap();
        let before = scene.log_with_rooms(&mut noise, &scene.truth("as it stands"), [0, 6]);
        let fans = scene.log_with_rooms(&mut noise, &scene.truth("fans"), [6, 6]);
        let aired = scene.truth_with("fans", &[("house.airing.area", area)]);
        let aired = scene.log_with_rooms(&mut noise, &aired, [6, 6]);
        let change = |log| scene.change([&before, log], [0, 6], Some(&design), 8);
        let fit = calibrate(&change(&fans).before, &|| {}).unwrap();
        let [fair, other] = [&fans, &aired].map(|log| {
            let found = verify_fitted(&change(log), fit.clone(), &|| {});
            let said = found.as_ref().map(|found| found.rooms_otherwise.clone());
            println!("{seed} {area}: {said:?}");
            let found = found.expect("habits are no moved logger");
            found.rooms_otherwise.is_empty()
        });
        told += u64::from(!other);
        false_alarms += u64::from(!fair);
    }
    println!("{count} twins: told {told}, false alarms {false_alarms}");
    assert!(10 * told >= 9 * count && 20 * false_alarms <= count);
}
