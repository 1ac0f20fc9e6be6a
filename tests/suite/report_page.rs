//! The page and its drawings, made from real runs of the demo house.

use std::path::Path;
use std::sync::OnceLock;

use rafterheat::assess::assess;
use rafterheat::house::{DEMO, House, HouseFile};
use rafterheat::report::chart::{DayChart, FanChart, Frame, HeatChart, Section, TemperatureChart};
use rafterheat::report::page::{PageInput, page};
use rafterheat::report::{Case, case_drawings, compare_drawings};
use rafterheat::run::{Outcome, RunOptions, simulate};
use rafterheat::units::System;
use rafterheat::weather::Weather;

use crate::golden;

const DAY_S: f64 = 86_400.0;

/// Two days of each design of the demo, run once.
fn cases() -> &'static [Case] {
    static RUNS: OnceLock<Vec<Case>> = OnceLock::new();
    RUNS.get_or_init(|| {
        let file = HouseFile::from_text(DEMO, "demo.toml").unwrap();
        let path = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("weather-samples/delta-california-2017-summer.csv");
        let weather = Weather::read(&path, None).unwrap();
        let first = weather.hottest_week().unwrap().intervals.start;
        let two_days = usize::try_from(2 * 86_400 / weather.step_s()).unwrap();
        let period = first..first + two_days;
        let options = RunOptions {
            warm_up_days: 2,
            ..RunOptions::default()
        };
        let run = |house: &House| {
            let outcome = simulate(house, &weather, period.clone(), &options).unwrap();
            Case {
                assessment: assess(house, &weather, &outcome),
                house: house.clone(),
                outcome,
            }
        };
        file.all().map(run).collect()
    })
}

fn page_of(cases: &[Case], system: System) -> String {
    let title = "Two hot days";
    let input = PageInput {
        doubts: &[],
        title,
        system,
        cases,
    };
    page(&input).unwrap()
}

/// Checks that every tag is closed in its turn, every attribute quoted, every `&` an entity, and
/// that no figure went wrong.
pub(crate) fn assert_well_formed(drawing: &str) {
    let mut open: Vec<&str> = Vec::new();
    let mut rest = drawing;
    while let Some(at) = rest.find('<') {
        let text = &rest[..at];
        assert!(!text.contains('>'), "stray bracket in {text:?}");
        for part in text.split('&').skip(1) {
            let entity = part.split(';').next().unwrap();
            assert!(["lt", "gt", "amp", "quot"].contains(&entity), "{text:?}");
        }
        let end = at + rest[at..].find('>').expect("a tag ends");
        let tag = &rest[at + 1..end];
        rest = &rest[end + 1..];
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name));
            continue;
        }
        assert_eq!(tag.matches('"').count() % 2, 0, "{tag}");
        for wrong in ["NaN", "inf", "=\"\"", "n/a"] {
            assert!(!tag.contains(wrong), "{wrong} in <{tag}>");
        }
        if !tag.ends_with('/') {
            open.push(tag.split(' ').next().unwrap());
        }
    }
    assert_eq!(open, Vec::<&str>::new());
    assert!(rest.trim().is_empty());
}

/// The drawings of a page.
fn drawings(page: &str) -> Vec<&str> {
    page.match_indices("<svg")
        .map(|(from, _)| &page[from..from + page[from..].find("</svg>").unwrap() + 6])
        .collect()
}

/// Whether a drawing has a text, at whatever place.
fn says(drawing: &str, text: &str) -> bool {
    drawing.contains(&format!(">{text}</text>"))
}

/// Whether a drawing says in words what it shows.
pub(crate) fn assert_told_in_words(drawing: &str) {
    let words = drawing.split("<desc>").nth(1).unwrap();
    let words = words.split("</desc>").next().unwrap();
    assert!(words.len() > 40, "{words}");
}

#[test]
fn every_drawing_of_a_page_is_well_formed_and_told_in_words() {
    for system in [System::Us, System::Si] {
        let page = page_of(cases(), system);
        let drawings = drawings(&page);
        // Three that compare; of each design temperatures, heat, air; of two designs one fan: each
        // twice.
        assert_eq!(drawings.len(), 2 * (3 + 4 * 3 + 2));
        for drawing in drawings {
            assert_well_formed(drawing);
            assert_told_in_words(drawing);
            assert!(drawing.contains("role=\"img\" aria-label=\""));
        }
    }
}

#[test]
fn a_page_needs_nothing_from_elsewhere_and_no_script() {
    let page = page_of(cases(), System::Us);
    let without_names = page.replace("http://www.w3.org/2000/svg", "");
    for outside in [
        "http:", "https:", "<script", "<link", "@import", "src=", "url(\"",
    ] {
        assert!(!without_names.contains(outside), "{outside}");
    }
    assert!(
        page.contains("url(data:font/otf;base64,T1RUTw"),
        "the typeface is inside"
    );
    assert!(page.contains("prefers-color-scheme:dark"));
    assert!(page.contains("@media print"));
}

#[test]
fn the_same_runs_give_the_same_bytes() {
    assert_eq!(page_of(cases(), System::Us), page_of(cases(), System::Us));
}

#[test]
fn a_page_names_every_design_and_the_units_asked_for() {
    let us = page_of(cases(), System::Us);
    let si = page_of(cases(), System::Si);
    for case in cases() {
        let label = format!(">{}</text>", case.design());
        assert!(us.contains(&label), "{label}");
    }
    assert!(us.contains(" cfm</text>") && us.contains("Btu/h"));
    assert!(si.contains(" m³/h</text>") && !si.contains("Btu"));
}

#[test]
fn a_page_holds_the_vents_to_the_rules_of_codes_and_trade() {
    for (system, asked) in [
        (System::Us, "1/16 to 1/4 in"),
        (System::Si, "1.59 to 6.35 mm"),
    ] {
        let page = page_of(cases(), system);
        let (_, rules) = page.split_once("Rules of codes and trade").unwrap();
        let (rules, _) = rules.split_once("Before any work up there").unwrap();
        assert!(rules.contains("vents, 1/150 of the floor") && rules.contains(asked));
        assert!(rules.contains("local codes prevail"));
    }
}

#[test]
fn one_design_and_one_day_make_a_page_too() {
    let mut one = vec![cases()[0].clone()];
    let page = page_of(&one, System::Si);
    assert_eq!(
        drawings(&page).len(),
        2 * 4,
        "temperatures, days, heat, air"
    );
    assert!(!page.contains("<nav>"));
    cut(&mut one[0].outcome, 0.25 * DAY_S);
    for drawing in drawings(&page_of(&one, System::Us)) {
        assert_well_formed(drawing);
    }
    cut(&mut one[0].outcome, 0.0);
    for drawing in drawings(&page_of(&one, System::Us)) {
        assert_well_formed(drawing);
    }
    assert!(page_of(&[], System::Us).contains("no result"));
}

/// Keeps what a run did up to a time.
fn cut(outcome: &mut Outcome, end_s: f64) {
    let rows = outcome
        .times_s
        .iter()
        .filter(|t| **t <= end_s + 1.0)
        .count();
    outcome.times_s.truncate(rows);
    outcome.flows.truncate(rows * outcome.flow_names.len());
    outcome.state_k.truncate((rows + 1) * outcome.nodes.len());
    outcome.fan_share.truncate(rows * outcome.fans.len());
    let trace = &mut outcome.trace;
    let readings = trace.times_s.iter().filter(|t| **t <= end_s + 1.0).count();
    for column in [
        &mut trace.times_s,
        &mut trace.outdoor_k,
        &mut trace.attic_ridge_k,
        &mut trace.attic_air_k,
        &mut trace.attic_low_k,
        &mut trace.deck_underside_k,
        &mut trace.attic_floor_k,
        &mut trace.ceiling_underside_k,
        &mut trace.living_air_k,
        &mut trace.ceiling_gain_w,
        &mut trace.attic_ach,
        &mut trace.from_living_share,
        &mut trace.attic_pressure_pa,
        &mut trace.living_pressure_pa,
    ] {
        column.truncate(readings);
    }
}

#[test]
fn a_reading_that_is_not_a_number_is_a_gap() {
    let mut outcome = cases()[0].outcome.clone();
    for index in 100..120 {
        outcome.trace.attic_air_k[index] = f64::NAN;
        outcome.trace.outdoor_k[index] = f64::INFINITY;
    }
    let drawing = TemperatureChart::of_run(&outcome)
        .draw(Frame::Wide, System::Us)
        .unwrap();
    assert_well_formed(&drawing);
}

#[test]
fn what_enters_the_attic_leaves_it_or_stays() {
    for Case { house, outcome, .. } in cases() {
        let chart = HeatChart::of_run(house, outcome, 0.0..DAY_S);
        assert!(chart.parts.iter().all(|part| part.into_w.len() == 24));
        for hour in 0..24 {
            let sum: f64 = chart.parts.iter().map(|part| part.into_w[hour]).sum();
            assert!(sum.abs() < 1e-6, "{hour}: {sum}");
        }
        // What stays must be what warms the body: the change of its heat, from the states alone.
        let stored: f64 = outcome
            .nodes
            .iter()
            .enumerate()
            .filter(|(index, node)| {
                let marks = &outcome.landmarks;
                node.name == "framing"
                    || node.name.ends_with("_foil")
                    || [marks.attic_lower, marks.attic_upper].contains(index)
                    || marks.floors.iter().any(|(floor, _)| floor == index)
            })
            .map(|(index, node)| {
                let (first, last) = (outcome.state_row(0), outcome.state_row(144));
                node.capacity_j_k * (last[index] - first[index])
            })
            .sum();
        let store = chart.parts.last().unwrap();
        assert_eq!(store.label, "stored, given back");
        let taken: f64 = store.into_w.iter().sum::<f64>() * -3_600.0;
        let passed: f64 = chart
            .parts
            .iter()
            .flat_map(|p| &p.into_w)
            .map(|w| w.abs() * 3_600.0)
            .sum();
        assert!(
            (taken - stored).abs() < 2e-6 * passed,
            "{taken} against {stored} of {passed}"
        );
    }
}

#[test]
fn sun_on_the_slopes_brings_the_heat_and_shows_above_zero() {
    let Case { house, outcome, .. } = &cases()[0];
    let chart = HeatChart::of_run(house, outcome, 0.0..DAY_S);
    let at_13 = |label: &str| {
        chart
            .parts
            .iter()
            .find(|p| p.label == label)
            .unwrap()
            .into_w[13]
    };
    assert!(at_13("south slope") > 1_000.0 && at_13("north slope") > 500.0);
    assert!(at_13("ceiling") < 0.0 && at_13("air, gable vents") < 0.0);
    let drawing = chart.draw(Frame::Wide, System::Us, &(0.0..0.0)).unwrap();
    for label in [
        "into the attic",
        "out of it",
        "south slope",
        "thousand Btu/h",
    ] {
        assert!(says(&drawing, label), "{label}");
    }
}

#[test]
fn a_fan_works_on_its_curve_below_its_label() {
    let Case { house, outcome, .. } = &cases()[1];
    let chart = FanChart::of_run(house, outcome, 0).unwrap();
    let working = chart.working.unwrap();
    assert!(working.flow_m3_s < 0.9 * chart.label_m3_s && working.flow_m3_s > 0.0);
    let pair = chart
        .curve
        .windows(2)
        .find(|pair| pair[1][0] >= working.flow_m3_s)
        .unwrap();
    let share = (working.flow_m3_s - pair[0][0]) / (pair[1][0] - pair[0][0]);
    let on_curve = pair[0][1] + share * (pair[1][1] - pair[0][1]);
    assert!((working.pressure_pa / on_curve - 1.0).abs() < 0.01);
    // Hot air is thinner than that of the label: the curve is lower by as much.
    let fan = &house.fans[0].fan;
    let thinner = chart.curve[0][1] / fan.curve.shut_off_pa();
    assert!((0.85..0.97).contains(&thinner), "{thinner}");
    let drawing = chart.draw(Frame::Narrow, System::Us).unwrap();
    for label in ["75.0 cfm", "grille and inlets", "what the fan can do"] {
        assert!(says(&drawing, label), "{label}");
    }
    assert!(FanChart::of_run(house, outcome, 99).is_none());
    assert!(
        FanChart::of_run(&cases()[0].house, &cases()[0].outcome, 0).is_none(),
        "no fans, no chart"
    );
}

#[test]
fn a_fan_that_never_ran_says_so() {
    let Case { house, outcome, .. } = &cases()[1];
    let mut idle = outcome.clone();
    idle.fans[0].run_s = 0.0;
    idle.fans[0].delivered_m3_s = 0.0;
    let chart = FanChart::of_run(house, &idle, 0).unwrap();
    assert_eq!(chart.working, None);
    let drawing = chart.draw(Frame::Wide, System::Si).unwrap();
    assert_well_formed(&drawing);
    assert!(says(&drawing, "did not run in this time"));
}

#[test]
fn air_that_enters_the_attic_leaves_it_in_the_section_too() {
    for Case { house, outcome, .. } in cases() {
        let section = Section::of_run(house, outcome, &(15.0 * 3_600.0..16.0 * 3_600.0));
        let attic = section.arrows.iter().filter(|arrow| !arrow.is_of_rooms());
        let (sum, size) = attic.fold((0.0, 0.0), |(sum, size), arrow| {
            (sum + arrow.into_m3_s, size + arrow.into_m3_s.abs())
        });
        assert!(size > 0.05, "{size}");
        assert!(sum.abs() < 1e-3 * size, "{sum} of {size}");
        let drawing = section.draw(Frame::Wide, System::Si).unwrap();
        assert!(says(&drawing, "eaves") && says(&drawing, "ceiling leaks"));
        let fans = outcome.fans.iter().any(|fan| fan.count > 0);
        assert_eq!(says(&drawing, "4 fans"), fans);
    }
}

#[test]
fn days_show_their_highs_and_the_hours_of_the_fans() {
    let outcomes: Vec<&Outcome> = cases().iter().map(|case| &case.outcome).collect();
    let chart = DayChart::of_cases(cases());
    assert_eq!(chart.days.len(), 2);
    assert_eq!(chart.panels.len(), 3);
    let hours: f64 = chart.panels[2].columns[0].values.iter().sum();
    assert!((hours - outcomes[1].fans[0].run_s).abs() < 1.0);
    let attic = &chart.panels[0].columns[1].values;
    let high = outcomes[0]
        .trace
        .attic_air_k
        .iter()
        .copied()
        .fold(0.0, f64::max);
    assert!((attic.iter().copied().fold(0.0, f64::max) - high).abs() < 1e-9);
    let without = DayChart::of_cases(&cases()[..1]);
    assert_eq!(without.panels.len(), 2, "no fans, no hours");
    assert_well_formed(
        &DayChart::of_cases(&[])
            .draw(Frame::Wide, System::Us)
            .unwrap(),
    );
}

#[test]
fn drawings_of_their_own_carry_their_style() {
    let one = case_drawings(System::Us, &cases()[1]).unwrap();
    let all = compare_drawings(System::Us, cases()).unwrap();
    let names = |files: &[(String, String)]| -> Vec<String> {
        files.iter().map(|(name, _)| name.clone()).collect()
    };
    assert_eq!(
        names(&one),
        [
            "temperatures.svg",
            "heat.svg",
            "air.svg",
            "days.svg",
            "fan-1.svg"
        ]
    );
    assert_eq!(
        names(&all),
        ["temperatures.svg", "hottest-day.svg", "days.svg"]
    );
    for (name, file) in one.iter().chain(&all) {
        assert!(file.starts_with("<svg xmlns="), "{name}");
        assert!(file.contains("<style>@font-face"), "{name}");
        assert_well_formed(file);
    }
    assert!(compare_drawings(System::Us, &[]).unwrap().is_empty());
}

/// The README shows this drawing.
#[test]
fn the_readme_shows_the_hottest_day_of_the_demo() {
    let drawings = compare_drawings(System::Us, cases()).unwrap();
    let (_, hottest) = drawings
        .iter()
        .find(|(name, _)| name == "hottest-day.svg")
        .unwrap();
    golden::check("hottest-day.svg", hottest);
}

#[test]
fn each_kind_of_caution_is_told_once() {
    let page = page_of(cases(), System::Us);
    assert_eq!(page.matches("Before any work up there").count(), 1);
    let kinds: std::collections::BTreeSet<&str> = cases()
        .iter()
        .flat_map(|case| &case.assessment.cautions)
        .map(rafterheat::assess::Caution::code)
        .collect();
    assert!(kinds.len() > 2);
    assert_eq!(page.matches("<li").count(), kinds.len());
}
