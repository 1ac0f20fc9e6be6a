//! Doubt that a fit to readings has left, carried by the house file into later results.

use rafterheat::assess::assess;
use rafterheat::house::{HouseError, HouseFile, STARTER, Spread};
use rafterheat::run::{RunOptions, simulate};
use rafterheat::study::{Band, Effect, Measures, band, effects_of, narrowest};
use rafterheat::weather::{MadeWeek, Weather};

use crate::golden::check;

/// Two numbers of the starter as a fit may leave them, hanging together by a correlation.
fn fitted(correlation: f64) -> String {
    let text = STARTER
        .replacen("shelter = \"unknown\" ", "shelter = 0.6 ", 1)
        .replacen("\nabsorptance = \"unknown\" ", "\nabsorptance = 0.85 ", 1);
    assert_ne!(text, STARTER);
    format!(
        "{text}\n\
         [fitted.site-shelter]\nkey = \"site.shelter\"\nlow = \"0.5\"\nhigh = \"0.7\"\n\
         from = \"attic.csv\"\n\
         [fitted.roof-absorptance]\nkey = \"roof.absorptance\"\nlow = \"0.79\"\nhigh = \"0.91\"\n\
         with = \"site.shelter {correlation}\"\nfrom = \"attic.csv\"\n"
    )
}

fn read(text: &str) -> HouseFile {
    HouseFile::from_text(text, "house.toml").unwrap()
}

#[test]
fn a_fitted_number_keeps_its_doubt_until_it_is_changed() {
    let file = read(&fitted(0.8));
    let own = file.base.assumed.iter();
    let own: Vec<_> = own
        .filter(|one| one.source == "fitted to attic.csv")
        .collect();
    assert_eq!(own.len(), 2, "{own:?}");
    let shelter = own.iter().find(|one| one.field == "site.shelter").unwrap();
    let Spread::Number {
        value, low, high, ..
    } = shelter.spread
    else {
        panic!("{shelter:?}")
    };
    assert!((value - 0.6).abs() < 1e-12 && (low - 0.5).abs() < 1e-12 && (high - 0.7).abs() < 1e-12);
    let roof = own.iter().find(|one| one.field == "roof.absorptance");
    assert_eq!(roof.unwrap().together, [("site.shelter".to_owned(), 0.8)]);
    // A roof painted white is no longer the one that was fitted; nor is one typed anew.
    let white = file.with(&[("roof.absorptance", "0.3")]).unwrap();
    let is_roof = |file: &HouseFile| {
        let mut assumed = file.base.assumed.iter();
        assumed.any(|one| one.field == "roof.absorptance")
    };
    assert!(is_roof(&file) && !is_roof(&white));
    let typed = fitted(0.8).replacen("absorptance = 0.85 ", "absorptance = 0.6 ", 1);
    assert!(!is_roof(&read(&typed)));
}

/// What a design says of a number, or lets follow from another answer, is not what was fitted of the
/// house.
#[test]
fn a_design_agrees_on_what_it_neither_states_nor_changes() {
    let pale = "\n[designs.pale.roof]\ncolour = \"white\"\n[designs.pale.ceiling]\n\
                insulation = \"R-38\"\n";
    let file = read(&format!("{STARTER}{pale}"));
    let design = file.as_design("pale").unwrap();
    let agrees = |key: &str| file.agrees_on(&design, key);
    assert!(agrees("site.shelter") && agrees("openings.soffit.net_area"));
    assert!(!agrees("ceiling.insulation"), "stated");
    assert!(!agrees("roof.absorptance"), "follows from the colour");
    assert!(file.as_design("no such design").is_none());
}

#[test]
fn broken_doubt_is_refused_with_what_was_meant() {
    let broken = [
        ("key = \"site.shelter\"", "key = \"site.sheltr\""),
        ("high = \"0.91\"", "high = \"7 ft\""),
        ("with = \"site.shelter 0.8\"", "with = \"site.shelter 1.8\""),
    ];
    let mut text = fitted(0.8);
    for (from, to) in broken {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    text.push_str("[fitted.more]\nkey = \"site.shelter\"\nhigh = \"0.7\"\n");
    let error: HouseError = HouseFile::from_text(&text, "house.toml").unwrap_err();
    check("houses/fitted-broken.txt", &format!("{error}\n"));
}

fn scene(correlation: f64) -> (HouseFile, Weather, Vec<Effect>) {
    let file = read(&fitted(correlation));
    let weather = MadeWeek::default().weather().unwrap();
    let day = 72..96;
    let mut effects = effects_of(&file, &file.base, &weather, &day).unwrap();
    effects.retain(|one| one.assumption.source == "fitted to attic.csv");
    assert_eq!(effects.len(), 2);
    (file, weather, effects)
}

fn high(measures: &Measures) -> f64 {
    measures.attic_high
}

fn band_of(effects: &[Effect]) -> Band {
    band(&effects.iter().collect::<Vec<_>>(), high)
}

/// More sun taken up makes the attic hotter, more wind cooler: if the readings told only their
/// difference (both more or both less), the result is surer than either.
#[test]
fn what_hangs_together_is_counted_so() {
    let [apart, alike, unlike] = [0.0, 0.9, -0.9].map(|correlation| {
        let (_, _, effects) = scene(correlation);
        band_of(&effects).half_width()
    });
    // The wider band ends where both together end.
    let both: f64 = scene(0.0).2.iter().map(Effect::attic_k).sum();
    let names = format!("{alike} {apart} {unlike} {both}");
    assert!(alike < 0.75 * apart && 1.05 * apart < unlike, "{names}");
    assert!(unlike <= both, "{names}");
    let (_, _, effects) = scene(0.9);
    let all: Vec<&Effect> = effects.iter().collect();
    let (_, rest) = narrowest(&all, high).unwrap();
    assert!(rest.half_width() <= band_of(&effects).half_width());
}

/// The band against runs of houses drawn from the very doubt that the file states.
#[test]
fn the_band_is_that_of_houses_drawn_from_the_doubt() {
    let correlation = 0.7;
    let (file, weather, effects) = scene(correlation);
    let band = band_of(&effects);
    let options = RunOptions {
        warm_up_days: 2,
        ..RunOptions::default()
    };
    // Limits between which nine in ten lie are 1.645 deviations away.
    let [shelter, roof] = [0.1 / 1.645, 0.06 / 1.645];
    // Normal numbers that fill the plane evenly: radius by shares, angle by the golden ratio.
    let count = 48;
    let highs: Vec<f64> = (0..count)
        .map(|index| {
            let share = (f64::from(index) + 0.5) / f64::from(count);
            let angle = f64::from(index) * std::f64::consts::TAU * 0.618_033_988_749_895;
            let radius = (-2.0 * share.ln()).sqrt();
            let (one, other) = (radius * angle.cos(), radius * angle.sin());
            let other = correlation * one + (1.0_f64 - correlation * correlation).sqrt() * other;
            let values = [0.6 + shelter * one, 0.85 + roof * other].map(|value| value.to_string());
            let drawn = [
                ("site.shelter", values[0].as_str()),
                ("roof.absorptance", values[1].as_str()),
            ];
            let house = file.with(&drawn).unwrap().base;
            let outcome = simulate(&house, &weather, 72..96, &options).unwrap();
            Measures::of(&assess(&house, &weather, &outcome)).attic_high
        })
        .collect();
    let mean = highs.iter().sum::<f64>() / highs.len() as f64;
    let square = highs.iter().map(|high| (high - mean).powi(2)).sum::<f64>();
    let deviation = (square / (highs.len() - 1) as f64).sqrt();
    // The band is two deviations of an even spread over the limits: 0.95 of the normal one's.
    let ratio = band.half_width() / (2.0 * deviation);
    println!(
        "band ± {:.3} K, drawn ± {:.3} K",
        band.half_width(),
        2.0 * deviation
    );
    assert!((0.8..1.1).contains(&ratio), "{ratio}");
}
