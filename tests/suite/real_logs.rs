//! Fits to logs of real attics. They are not part of the program: a user fetches them from their owners.

use std::path::PathBuf;

use jiff::civil::{DateTime, date};

use rafterheat::house::{House, HouseFile};
use rafterheat::readings::{LogColumns, Readings, Role, outdoor_weather};
use rafterheat::study::calibrate::{
    Calibration, Compared, Prior, Quality, Target, Task, calibrate, clock_error, predict_all,
    priors,
};
use rafterheat::study::{Search, Unknown, minimise};
use rafterheat::weather::{ColumnMap, Weather};

use super::twins::{Noise, drawn_with_errors};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Folder of the logs, from the environment variable RAFTERHEAT_LOGS.
///
/// `trh1_R2_espoo_hourly.csv` and its like: the merged hourly tables of the TRH database of Tampere
/// University (repository anssilaukkarinen/trh-1, CC BY 4.0) with the weather columns of the Finnish
/// Meteorological Institute (CC BY 4.0), stamps UTC+2. `attic_us_10min_open.csv`: ten-minute means of
/// the two loggers in repository swharden/govee-plot (MIT), °C.
fn logs() -> PathBuf {
    PathBuf::from(std::env::var("RAFTERHEAT_LOGS").expect("RAFTERHEAT_LOGS names a folder of logs"))
}

struct RealHouse {
    name: &'static str,
    file: &'static str,
    house: &'static str,
    place: (f64, f64, f64),
    /// RMSE of summer, good and stretch, K.
    bars: [f64; 2],
}

const NORTHERN: [RealHouse; 3] = [
    RealHouse {
        name: "R2",
        file: "trh1_R2_espoo_hourly.csv",
        house: "northern-vented",
        place: (60.18, 24.75, 20.0),
        bars: [1.6, 1.3],
    },
    RealHouse {
        name: "R4",
        file: "trh1_R4_tampere1_hourly.csv",
        house: "northern-low-attic",
        place: (61.5, 23.8, 100.0),
        bars: [1.5, 1.35],
    },
    RealHouse {
        name: "R6",
        file: "trh1_R6_valkeakoski_hourly.csv",
        house: "northern-steel-roof",
        place: (61.26, 24.03, 90.0),
        bars: [2.2, 1.9],
    },
];

fn northern_weather(one: &RealHouse, hidden: bool) -> Weather {
    let (latitude, longitude, altitude) = one.place;
    let more = if hidden {
        ""
    } else {
        "wind_speed = { column = \"ws\", unit = \"m/s\" }\n\
         wind_direction = { column = \"wd\", unit = \"deg\" }\n\
         global = { column = \"Rglob\", unit = \"W/m2\" }\n\
         diffuse = { column = \"Rdif\", unit = \"W/m2\" }\n"
    };
    let map = format!(
        "place = \"{}\"\nlatitude_deg = {latitude}\nlongitude_deg = {longitude}\n\
         altitude_m = {altitude}\nutc_offset_h = 2\nstamp = \"middle\"\nradiation_offset_h = 0\n\
         readings = \"instant\"\ntime = {{ column = \"t_UTC+2\", format = \"%Y-%m-%d %H:%M:%S\" }}\n\
         [columns]\ndry_bulb = {{ column = \"Te\", unit = \"C\" }}\n\
         relative_humidity = {{ column = \"RHe\", unit = \"%\" }}\n{more}",
        one.name
    );
    let map = ColumnMap::parse(&map).unwrap();
    Weather::read(&logs().join(one.file), Some(&map)).unwrap()
}

fn northern_log(one: &RealHouse) -> Readings {
    let columns = LogColumns::parse(
        "zone = 2\ntime = { column = \"t_UTC+2\", format = \"%Y-%m-%d %H:%M:%S\" }\n[columns]\n\
         mid = { column = \"roofmiddle_airmiddle_T\", unit = \"C\" }\n\
         rooms = { column = \"indoor1_T\", unit = \"C\" }\n",
    )
    .unwrap();
    Readings::read(&logs().join(one.file), &columns).unwrap()
}

/// What an analyst of a house of unknown geometry leaves open beside what the file assumes.
fn open_geometry(file: &HouseFile) -> Vec<Prior> {
    use std::f64::consts::PI;
    let [low, high] = [12.0_f64, 35.0].map(f64::to_radians);
    let mut all = Vec::new();
    let mut add = |key: &str, value: f64, low: f64, high: f64| {
        let (dimension, limits) = file.limits(key).unwrap();
        let key = key.to_owned();
        let target = Target::Key { key, dimension };
        all.push(Prior::new(
            target,
            [value, low, high],
            limits,
            "not published",
        ));
    };
    add("roof.pitch", file.base.roof.pitch_rad, low, high);
    add("roof.ridge", 0.5 * PI, 0.1 * PI, 0.9 * PI);
    add("roof.absorptance", 0.75, 0.5, 0.95);
    for table in file.tables("openings") {
        // Of one vent; how large they are is told nowhere.
        let key = format!("openings.{table}.net_area");
        let typed = file.typed(&key).unwrap();
        let area = rafterheat::units::parse(typed, rafterheat::units::Dimension::Area).unwrap();
        add(&key, area, area / 4.0, area * 4.0);
    }
    all
}

fn errors(compared: &[Compared]) -> Quality {
    compared[0].quality()
}

fn day(year: i16, month: i8, day: i8) -> DateTime {
    date(year, month, day).at(0, 0, 0, 0)
}

fn fit_real<'a>(
    file: &'a HouseFile,
    readings: &'a Readings,
    weather: &'a Weather,
    fit: [DateTime; 2],
    test: [DateTime; 2],
    more: Vec<Prior>,
) -> (Calibration, f64) {
    let mut all = priors(file, weather, readings);
    all.retain(|one| more.iter().all(|other| other.name() != one.name()));
    all.extend(more);
    let task = Task {
        file,
        readings,
        weather,
        priors: all,
        fit,
        kept_out: Some(test),
        starts: 3,
    };
    let began = std::time::Instant::now();
    let found = calibrate(&task, &|| {}).unwrap();
    let seconds = began.elapsed().as_secs_f64();
    // Owners' clocks are taken as right: anything told here is a false alarm.
    let clock = clock_error(&task, &found, true, None, &|| {}).unwrap();
    highs_held(&task, &found);
    println!(
        "clock {clock:?}; errors of the daily highs kept out hang together by {:.2} from day to day",
        memory(&found.kept_out[0])
    );
    (found, seconds)
}

/// Of how many of the days kept out the predicted limits of the high hold the logged one.
fn highs_held(task: &Task, found: &Calibration) {
    const DRAWS: usize = 40;
    let mut noise = Noise::new(1);
    let kept_out = &found.kept_out[0];
    let (sets, errors) = drawn_with_errors(task, found, DRAWS, &mut noise);
    let mut days: std::collections::BTreeMap<i64, (f64, Vec<f64>)> =
        std::collections::BTreeMap::new();
    let drawn = predict_all(task, &sets, task.kept_out.unwrap()).unwrap();
    for (row, at_s) in kept_out.times_s.iter().enumerate() {
        let (high, highs) = days
            .entry(at_s.div_euclid(86_400))
            .or_insert((f64::MIN, vec![f64::MIN; DRAWS]));
        *high = high.max(kept_out.logged[row]);
        for (draw, highest) in highs.iter_mut().enumerate() {
            *highest = highest.max(drawn[draw][0].worked_out[row] + errors[draw][row]);
        }
    }
    let (mut held, mut width) = (0, 0.0);
    for (high, highs) in days.values_mut() {
        highs.sort_by(f64::total_cmp);
        let [low, most] = [0.05, 0.95].map(|s| highs[(s * (DRAWS - 1) as f64).round() as usize]);
        held += usize::from((low..=most).contains(high));
        width += most - low;
    }
    println!(
        "limits of the high hold that of {held} of {} days, {:.1} K wide",
        days.len(),
        width / days.len() as f64
    );
}

/// Correlation of the errors of the daily highs from one day to the next.
fn memory(kept_out: &Compared) -> f64 {
    let mut highs: std::collections::BTreeMap<i64, [f64; 2]> = std::collections::BTreeMap::new();
    let pairs = kept_out.worked_out.iter().zip(&kept_out.logged);
    for (at_s, (worked_out, logged)) in kept_out.times_s.iter().zip(pairs) {
        let day = highs
            .entry(at_s.div_euclid(86_400))
            .or_insert([f64::NEG_INFINITY; 2]);
        *day = [day[0].max(*worked_out), day[1].max(*logged)];
    }
    let errors: Vec<f64> = highs.values().map(|[a, b]| a - b).collect();
    let mean = errors.iter().sum::<f64>() / errors.len() as f64;
    let whole: f64 = errors.iter().map(|e| (e - mean).powi(2)).sum();
    let next = errors.windows(2).map(|e| (e[0] - mean) * (e[1] - mean));
    next.sum::<f64>() / whole
}

/// Residuals of one set of values, for several.
fn each(of: &dyn Fn(&[f64]) -> Vec<f64>) -> impl Fn(&[Vec<f64>]) -> Vec<Option<Vec<f64>>> {
    move |sets| sets.iter().map(|values| Some(of(values))).collect()
}

/// What simpler models make of the same days: outdoors itself, a regression on six hours of outdoor
/// air and sun, and one store of heat. RMSE on the days kept out, K.
fn simpler(
    weather: &Weather,
    readings: &Readings,
    fit: [DateTime; 2],
    test: [DateTime; 2],
) -> [f64; 3] {
    let role = Role::Inside("mid".to_owned());
    let attic = readings
        .find(&role)
        .or(readings.find(&Role::Inside("attic".to_owned())));
    let attic = attic.unwrap();
    let start = weather.start();
    let epoch = date(1970, 1, 1).at(0, 0, 0, 0);
    let start_s = start.duration_since(epoch).as_secs();
    let step_s = i64::from(weather.step_s());
    let hour = (3600 / step_s) as usize;
    let row = |at_s: i64| -> Option<usize> { usize::try_from((at_s - start_s) / step_s).ok() };
    let of = |period: [DateTime; 2]| -> Vec<(usize, f64)> {
        let [from_s, to_s] = period.map(|at| at.duration_since(epoch).as_secs());
        let pairs = attic.times_s.iter().zip(&attic.values);
        pairs
            .filter(|(at_s, _)| (from_s..=to_s).contains(*at_s))
            .filter_map(|(at_s, value)| Some((row(*at_s)?, *value)))
            .filter(|(row, _)| *row > 6 * hour && *row < weather.intervals())
            .collect()
    };
    let out = |row: usize| weather.air()[row].dry_bulb_k;
    let sun = |row: usize| {
        0.5 * (weather.radiation()[row - 1].global_w_m2 + weather.radiation()[row].global_w_m2)
    };
    let rmse = |pairs: &[(f64, f64)]| {
        (pairs.iter().map(|(a, b)| (a - b).powi(2)).sum::<f64>() / pairs.len() as f64).sqrt()
    };
    let (fitted, kept) = (of(fit), of(test));
    let outdoors: Vec<(f64, f64)> = kept
        .iter()
        .map(|(row, value)| (out(*row), *value))
        .collect();
    // Six lags of outdoor air and of sun.
    let features = |row: usize| -> Vec<f64> {
        let lags = (0..6).map(|lag| row - lag * hour);
        let pairs = lags.flat_map(|row| [out(row) - 280.0, sun(row) / 100.0]);
        std::iter::once(1.0).chain(pairs).collect()
    };
    let design = nalgebra::DMatrix::from_rows(
        &fitted
            .iter()
            .map(|(row, _)| nalgebra::RowDVector::from_vec(features(*row)))
            .collect::<Vec<_>>(),
    );
    let target = nalgebra::DVector::from_iterator(fitted.len(), fitted.iter().map(|one| one.1));
    let weights = design.svd(true, true).solve(&target, 1e-9).unwrap();
    let sum = |row: usize| -> f64 {
        let features = features(row);
        let pairs = features.iter().zip(weights.iter());
        pairs.map(|(a, b)| a * b).sum()
    };
    let regressed: Vec<(f64, f64)> = kept
        .iter()
        .map(|(row, value)| (sum(*row), *value))
        .collect();
    // One store: its time constant, the sun's warming, and an offset.
    let store = |values: &[f64], from: usize, to: usize| -> Vec<f64> {
        let (tau_h, per_sun, offset) = (values[0].exp(), values[1], values[2]);
        let keep = (-(step_s as f64) / 3600.0 / tau_h).exp();
        let mut now = out(from);
        let mut all = vec![now];
        for row in from + 1..=to {
            let aim = out(row) + per_sun * sun(row) / 100.0 + offset;
            now = aim + (now - aim) * keep;
            all.push(now);
        }
        all
    };
    let through = |values: &[f64], rows: &[(usize, f64)]| -> Vec<f64> {
        let from = rows[0].0.saturating_sub(48 * hour).max(7 * hour);
        let line = store(values, from, rows[rows.len() - 1].0);
        rows.iter()
            .filter(|(row, _)| *row >= from)
            .map(|(row, value)| line[row - from] - value)
            .collect()
    };
    let unknown = |start: f64, low: f64, high: f64| Unknown { start, low, high };
    let unknowns = [
        unknown(0.5, -2.0, 4.0),
        unknown(1.0, -1.0, 10.0),
        unknown(0.0, -5.0, 15.0),
    ];
    let search = Search {
        step: 1e-4,
        both_ways: true,
        tolerance: 1e-8,
        patience: 100,
        renew_after: 0,
    };
    let one = minimise(
        &unknowns,
        &each(&|values| through(values, &fitted)),
        &search,
    )
    .unwrap();
    let stored = through(&one.values, &kept);
    let stored = (stored.iter().map(|e| e * e).sum::<f64>() / stored.len() as f64).sqrt();
    [rmse(&outdoors), rmse(&regressed), stored]
}

fn report(what: &str, bars: [f64; 2], found: &Calibration, seconds: f64, simpler: [f64; 3]) -> f64 {
    let (fitted, kept) = (errors(&found.fitted), errors(&found.kept_out));
    println!(
        "{what}: fitted {:.2} K; kept out RMSE {:.2} (bars {} / {}), bias {:+.2}, peak {:.2}; \
         outdoors {:.2}, regression {:.2}, one store {:.2}; {} runs, {seconds:.1} s",
        fitted.rmse,
        kept.rmse,
        bars[0],
        bars[1],
        kept.bias,
        kept.peak_off,
        simpler[0],
        simpler[1],
        simpler[2],
        found.runs
    );
    let weight = &found.weights[0];
    let kept_out = &found.kept_out[0];
    let daily = found.daily[0].likeliest(&kept_out.times_s);
    let square: f64 = kept_out
        .worked_out
        .iter()
        .zip(&kept_out.logged)
        .zip(&daily)
        .map(|((a, b), daily)| (a + daily - b).powi(2))
        .sum();
    println!(
        "    daily {:.2}, spread {:.2}, {:.0} of {}; with the daily error kept out RMSE {:.2}",
        weight.daily,
        weight.spread,
        weight.effective,
        weight.count,
        (square / daily.len() as f64).sqrt()
    );
    for one in &found.findings {
        println!(
            "    {} {:.4} [{:.4}, {:.4}] pull {:+.1} doubt left {:.2}",
            one.prior.name(),
            one.value,
            one.interval[0],
            one.interval[1],
            one.pull,
            one.doubt_left
        );
    }
    kept.rmse
}

fn real_case(
    one: &RealHouse,
    what: &str,
    hidden: bool,
    bars: [f64; 2],
    fit: [DateTime; 2],
    test: [DateTime; 2],
) -> f64 {
    let path = root().join(format!("tests/houses/{}.toml", one.house));
    let file = House::read(&path).unwrap();
    let weather = northern_weather(one, hidden);
    let readings = northern_log(one);
    let more = open_geometry(&file);
    let (found, seconds) = fit_real(&file, &readings, &weather, fit, test, more);
    let simple = simpler(&weather, &readings, fit, test);
    report(
        &format!("{} {what}", one.name),
        bars,
        &found,
        seconds,
        simple,
    )
}

/// Four weeks of June fitted, eight weeks after it worked out.
#[test]
#[ignore = "needs logs that are fetched from their owners, see `logs`"]
fn real_attics_in_summer() {
    let fit = [day(2011, 6, 1), day(2011, 6, 29)];
    let test = [day(2011, 6, 29), day(2011, 8, 24)];
    for one in &NORTHERN {
        real_case(one, "summer", false, one.bars, fit, test);
    }
}

/// The same without sun and wind: air and humidity only.
#[test]
#[ignore = "needs logs that are fetched from their owners, see `logs`"]
fn real_attics_in_summer_without_sun_and_wind() {
    let fit = [day(2011, 6, 1), day(2011, 6, 29)];
    let test = [day(2011, 6, 29), day(2011, 8, 24)];
    for one in &NORTHERN[..2] {
        real_case(
            one,
            "summer, sun and wind hidden",
            true,
            one.bars,
            fit,
            test,
        );
    }
}

/// Four weeks of winter fitted and eight worked out; June fitted and January worked out.
#[test]
#[ignore = "needs logs that are fetched from their owners, see `logs`"]
fn real_attics_in_winter() {
    for one in &NORTHERN {
        let (fit, test, bars) = if one.name == "R6" {
            (
                [day(2011, 2, 2), day(2011, 3, 2)],
                [day(2011, 3, 2), day(2011, 4, 27)],
                [2.0, 1.4],
            )
        } else {
            (
                [day(2010, 12, 1), day(2010, 12, 29)],
                [day(2010, 12, 29), day(2011, 2, 23)],
                [1.2, 0.85],
            )
        };
        real_case(one, "winter", false, bars, fit, test);
        let june = [day(2011, 6, 1), day(2011, 6, 29)];
        let january = [day(2012, 1, 1), day(2012, 1, 31)];
        real_case(one, "June to January", false, [1.5, 1.0], june, january);
    }
}

/// One week of a hot and humid attic fitted, the next worked out: air and humidity outdoors only.
#[test]
#[ignore = "needs logs that are fetched from their owners, see `logs`"]
fn a_real_hot_and_humid_attic() {
    let file = House::read(&root().join("tests/houses/southern-attic.toml")).unwrap();
    let columns = LogColumns::parse(
        "zone = \"America/New_York\"\nstamp = \"start\"\n\
         time = { column = \"local_time_start\", format = \"%Y-%m-%d %H:%M:%S\" }\n[columns]\n\
         attic = { column = \"attic_c\", unit = \"C\" }\n\
         outdoor = { column = \"outdoor_c\", unit = \"C\" }\n\
         outdoor_humidity = { column = \"outdoor_rh_pct\", unit = \"%\" }\n",
    )
    .unwrap();
    let readings = Readings::read(&logs().join("attic_us_10min_open.csv"), &columns).unwrap();
    println!("{:?}", readings.notices);
    let place = rafterheat::weather::Place {
        name: "unknown".to_owned(),
        latitude_deg: 28.5,
        longitude_deg: -81.4,
        utc_offset_h: readings.utc_offset_h,
        altitude_m: 20.0,
    };
    let weather = outdoor_weather(&readings, None, &place).unwrap();
    let fit = [day(2022, 7, 2), day(2022, 7, 9)];
    let test = [day(2022, 7, 9), day(2022, 7, 16)];
    let more = open_geometry(&file);
    let (found, seconds) = fit_real(&file, &readings, &weather, fit, test, more);
    let simple = simpler(&weather, &readings, fit, test);
    report("hot and humid", [2.2, 1.7], &found, seconds, simple);
}
