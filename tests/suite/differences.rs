//! How sure the difference between two designs is.

use std::ops::Range;

use rafterheat::assess::assess;
use rafterheat::house::{Assumption, House, HouseFile, STARTER, Spread, setting};
use rafterheat::run::{RunOptions, simulate_each};
use rafterheat::study::{Band, Difference, Measures, differences};
use rafterheat::weather::{MadeWeek, Weather};

const DAY: Range<usize> = 72..96;

/// Designs that leave most as it is, one that states what was assumed, and one with an assumption
/// of its own.
const DESIGNS: &str = "\n[designs.pale.roof]\ncolour = \"white\"\n\
    [designs.deep.ceiling]\ninsulation = \"R-38\"\n";

fn scene() -> (HouseFile, Weather) {
    let text = format!("{STARTER}{DESIGNS}");
    let file = HouseFile::from_text(&text, "house.toml").unwrap();
    (file, MadeWeek::default().weather().unwrap())
}

/// Numbers that look random (SplitMix64, Steele, Lea and Flood 2014): a draw takes some fifty, and a
/// plain congruence would not be even over every fiftieth.
struct Noise(u64);

impl Noise {
    fn even(&mut self) -> f64 {
        let Self(state) = self;
        *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = *state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((mixed ^ (mixed >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// A value of an assumption, each as likely as any other.
fn drawn(noise: &mut Noise, one: &Assumption) -> String {
    let share = noise.even();
    match &one.spread {
        Spread::Number {
            dimension,
            low,
            high,
            ..
        } => setting(low + share * (high - low), *dimension),
        Spread::Cases(cases) => cases[(share * cases.len() as f64) as usize].clone(),
    }
}

fn alike(a: &Assumption, b: &Assumption) -> bool {
    a.field == b.field && a.value == b.value && a.range == b.range
}

/// Two designs of a house drawn from what is not known: the same where both assume the same.
fn drawn_pair(noise: &mut Noise, file: &HouseFile, designs: [&House; 2]) -> [House; 2] {
    loop {
        let mut set: [Vec<(String, String)>; 2] = [Vec::new(), Vec::new()];
        for one in &designs[0].assumed {
            let value = drawn(noise, one);
            if designs[1].assumed.iter().any(|other| alike(one, other)) {
                set[1].push((one.field.clone(), value.clone()));
            }
            set[0].push((one.field.clone(), value));
        }
        for one in &designs[1].assumed {
            if !designs[0].assumed.iter().any(|other| alike(one, other)) {
                set[1].push((one.field.clone(), drawn(noise, one)));
            }
        }
        let made = [0, 1].map(|at| {
            let all = set[at]
                .iter()
                .map(|(key, value)| (key.as_str(), value.as_str()));
            file.design_with(&designs[at].design, &all.collect::<Vec<_>>())
        });
        if let [Ok(first), Ok(other)] = made {
            return [first, other];
        }
    }
}

fn share_inside(values: &[f64], base: f64, band: Band) -> f64 {
    let inside = |value: &&f64| (base + band.low..=base + band.high).contains(*value);
    values.iter().filter(inside).count() as f64 / values.len() as f64
}

/// What is told of the two designs of a house.
type Measure<'a> = &'a dyn Fn(&[Measures]) -> f64;

/// Houses drawn from what was assumed, with the design and without: nine in ten of their differences
/// lie inside the limits, and the limits are not those of two houses that have nothing in common.
#[test]
fn nine_in_ten_differences_of_drawn_houses_lie_inside() {
    let (file, weather) = scene();
    let found = differences(&file, &weather, &DAY).unwrap();
    assert_eq!(found.len(), file.all().count() - 1);
    let options = RunOptions {
        warm_up_days: 2,
        ..RunOptions::default()
    };
    let first = file.all().next().unwrap();
    let mut noise = Noise(7);
    let mut shares: Vec<[f64; 4]> = Vec::new();
    for (doubt, other) in found.iter().zip(file.all().skip(1)) {
        assert_eq!(doubt.design, other.design);
        let pairs: Vec<[House; 2]> = (0..40)
            .map(|_| drawn_pair(&mut noise, &file, [first, other]))
            .collect();
        let drawn = pairs.iter().flatten().chain([first, other]);
        let all: Vec<(&House, &Weather)> = drawn.map(|house| (house, &weather)).collect();
        let runs = simulate_each(&all, &DAY, &options, |at, outcome| {
            Measures::of(&assess(all[at].0, &weather, &outcome.unwrap()))
        });
        let of = |measure: &dyn Fn(&[Measures]) -> f64| -> (Vec<f64>, f64) {
            let mut all: Vec<f64> = runs.chunks(2).map(measure).collect();
            let base = all.pop().unwrap();
            (all, base)
        };
        let [heat, relative] = doubt.ceiling.unwrap();
        let first_kwh = runs[runs.len() - 2].ceiling_kwh;
        let measures: [(&str, Measure, Band); 4] = [
            (
                "attic",
                &|m| m[1].attic_high - m[0].attic_high,
                doubt.attic_high,
            ),
            (
                "rooms",
                &|m| m[1].living_high - m[0].living_high,
                doubt.living_high,
            ),
            (
                "heat",
                &|m| (m[1].ceiling_kwh - m[0].ceiling_kwh) / first_kwh,
                heat,
            ),
            (
                "share",
                &|m| m[1].ceiling_kwh / m[0].ceiling_kwh - 1.0,
                relative,
            ),
        ];
        let mut own = [0.0; 4];
        for ((name, measure, band), share) in measures.into_iter().zip(&mut own) {
            let (values, base) = of(measure);
            *share = share_inside(&values, base, band);
            let mut sorted = values.clone();
            sorted.sort_by(f64::total_cmp);
            let at = |share: f64| sorted[(share * (sorted.len() - 1) as f64).round() as usize];
            println!(
                "{}: {name} {base:.3} [{:.3}, {:.3}], {share:.2} inside; drawn {:.3} [{:.3}, {:.3}]",
                doubt.design,
                base + band.low,
                base + band.high,
                at(0.5),
                at(0.05),
                at(0.95)
            );
        }
        shares.push(own);
        assert_surer(&runs[..runs.len() - 2], doubt);
    }
    // Forty draws tell a share to a twentieth: each may be twice that below nine in ten, all designs
    // together may not be below.
    for at in 0..4 {
        let of = || shares.iter().map(|own| own[at]);
        let mean = of().sum::<f64>() / shares.len() as f64;
        println!("{at}: {mean:.3} inside over all designs");
        assert!(mean >= 0.9 && of().all(|share| share >= 0.8), "{shares:?}");
    }
}

/// What both share cancels: the difference is surer than if the two houses had nothing in common.
fn assert_surer(runs: &[Measures], doubt: &Difference) {
    let reach = |at: usize| {
        let drawn = runs.chunks(2).map(|pair| pair[at].attic_high);
        let values: Vec<f64> = drawn.collect();
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let square = values.iter().map(|value| (value - mean).powi(2));
        2.0 * (square.sum::<f64>() / (values.len() - 1) as f64).sqrt()
    };
    let apart = reach(0).hypot(reach(1));
    let own = doubt.attic_high.half_width();
    println!(
        "{}: ± {own:.2} K against ± {apart:.2} K apart",
        doubt.design
    );
    assert!(own < 0.9 * apart, "{}: {own} {apart}", doubt.design);
}
