//! The least squares behind `calibrate` on certified regressions.

use std::path::PathBuf;

use rafterheat::study::{Search, Unknown, minimise};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// A regression of NIST's Statistical Reference Datasets.
struct Certified {
    starts: [Vec<f64>; 2],
    values: Vec<f64>,
    x: Vec<f64>,
    y: Vec<f64>,
}

fn certified(name: &str) -> Certified {
    let path = root().join(format!("tests/data/nist/{name}.dat"));
    let text = std::fs::read_to_string(path).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    let range = |what: &str| -> (usize, usize) {
        let line = lines.iter().find(|line| line.contains(what)).unwrap();
        let inside = &line[line.find("(lines").unwrap() + 6..line.rfind(')').unwrap()];
        let (from, to) = inside.split_once("to").unwrap();
        (from.trim().parse().unwrap(), to.trim().parse().unwrap())
    };
    let numbers = |line: &str| -> Vec<f64> {
        let words = line.split_whitespace();
        words.filter_map(|word| word.parse().ok()).collect()
    };
    let (from, to) = range("Starting Values");
    let rows: Vec<Vec<f64>> = lines[from - 1..to]
        .iter()
        .filter(|line| line.contains('='))
        .map(|line| numbers(line.split_once('=').unwrap().1))
        .collect();
    let (from, to) = range("Data  ");
    let data: Vec<Vec<f64>> = lines[from - 1..to]
        .iter()
        .map(|line| numbers(line))
        .collect();
    let column = |rows: &[Vec<f64>], at: usize| rows.iter().map(|row| row[at]).collect();
    Certified {
        starts: [column(&rows, 0), column(&rows, 1)],
        values: column(&rows, 2),
        x: column(&data, 1),
        y: column(&data, 0),
    }
}

type Formula = fn(&[f64], f64) -> f64;

fn cubics(b: &[f64], x: f64) -> f64 {
    (b[0] + x * (b[1] + x * (b[2] + x * b[3]))) / (1.0 + x * (b[4] + x * (b[5] + x * b[6])))
}

const REGRESSIONS: [(&str, Formula); 14] = [
    ("Kirby2", |b, x| {
        (b[0] + x * (b[1] + x * b[2])) / (1.0 + x * (b[3] + x * b[4]))
    }),
    ("Hahn1", cubics),
    ("MGH17", |b, x| {
        b[0] + b[1] * (-x * b[3]).exp() + b[2] * (-x * b[4]).exp()
    }),
    ("ENSO", |b, x| {
        let turn = |period: f64| std::f64::consts::TAU * x / period;
        b[0] + b[1] * turn(12.0).cos()
            + b[2] * turn(12.0).sin()
            + b[4] * turn(b[3]).cos()
            + b[5] * turn(b[3]).sin()
            + b[7] * turn(b[6]).cos()
            + b[8] * turn(b[6]).sin()
    }),
    ("Gauss3", |b, x| {
        let bell = |at: f64, wide: f64| (-((x - at) / wide).powi(2)).exp();
        b[0] * (-b[1] * x).exp() + b[2] * bell(b[3], b[4]) + b[5] * bell(b[6], b[7])
    }),
    ("Roszman1", |b, x| {
        b[0] - b[1] * x - (b[2] / (x - b[3])).atan() / std::f64::consts::PI
    }),
    ("MGH09", |b, x| {
        b[0] * (x * x + x * b[1]) / (x * x + x * b[2] + b[3])
    }),
    ("MGH10", |b, x| b[0] * (b[1] / (x + b[2])).exp()),
    ("Thurber", cubics),
    ("BoxBOD", |b, x| b[0] * (1.0 - (-b[1] * x).exp())),
    ("Rat42", |b, x| b[0] / (1.0 + (b[1] - b[2] * x).exp())),
    ("Rat43", |b, x| {
        b[0] / (1.0 + (b[1] - b[2] * x).exp()).powf(1.0 / b[3])
    }),
    ("Eckerle4", |b, x| {
        b[0] / b[1] * (-0.5 * ((x - b[2]) / b[1]).powi(2)).exp()
    }),
    ("Bennett5", |b, x| b[0] * (b[1] + x).powf(-1.0 / b[2])),
];

/// Correct digits of the worst value: −log₁₀ of the relative error, from one of the two starts.
fn digits(name: &str, formula: Formula, start: usize) -> f64 {
    let case = certified(name);
    let unknowns: Vec<Unknown> = case.starts[start]
        .iter()
        .map(|start| Unknown {
            start: *start,
            low: f64::NEG_INFINITY,
            high: f64::INFINITY,
        })
        .collect();
    let of = |b: &Vec<f64>| {
        let pairs = case.x.iter().zip(&case.y);
        Some(pairs.map(|(x, y)| formula(b, *x) - y).collect())
    };
    let residuals = |sets: &[Vec<f64>]| sets.iter().map(of).collect();
    let search = Search {
        step: 6e-6,
        both_ways: true,
        tolerance: 1e-15,
        patience: 2000,
        renew_after: 0,
    };
    let Some(found) = minimise(&unknowns, &residuals, &search) else {
        return 0.0;
    };
    let pairs = found.values.iter().zip(&case.values);
    let errors = pairs.map(|(a, b)| ((a - b) / b).abs().max(1e-11));
    -errors.fold(0.0, f64::max).log10()
}

/// NIST Statistical Reference Datasets, nonlinear regression, average and higher difficulty; data
/// files as distributed with lmfit 1.3.4 (BSD-3-Clause), certified values in them.
#[test]
fn published_regressions_of_nist_come_out_to_six_digits() {
    let mut faults = Vec::new();
    for (name, formula) in REGRESSIONS {
        let both = [0, 1].map(|start| digits(name, formula, start));
        println!("{name:10} {:4.1} {:4.1}", both[0], both[1]);
        for (start, digits) in both.iter().enumerate() {
            if *digits < 6.0 {
                faults.push(format!("{name} from start {}: {digits:.1}", start + 1));
            }
        }
    }
    assert!(faults.is_empty(), "{faults:?}");
}
