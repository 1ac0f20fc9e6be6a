//! Rules of the trade for fans through house files, with the worked results of their sources.

use rafterheat::assess::{Rule, Ruling, Verdict, Warning, inspect, rulings};
use rafterheat::house::House;
use rafterheat::report::check_json;

use crate::published_rules::{FT2_M2, IN2_M2, assert_amounts, line, of_1500_ft2, shown, verdict};

const CFM_M3_S: f64 = 0.3048 * 0.3048 * 0.3048 / 60.0;

/// A fan in the east gable of so many cfm, so far above the attic floor.
fn gable_fan(flow_cfm: f64, height: &str) -> String {
    format!(
        "\n[fans.east]\nplace = \"gable\"\nfaces = \"east\"\nheight = \"{height}\"\n\
         flow = \"{flow_cfm} cfm\"\nhole = {{ shape = \"round\", diameter = \"16 in\" }}\n"
    )
}

const LIGHT: (&str, &str) = (
    "absorptance = 0.85\nemittance",
    "absorptance = 0.5\nemittance",
);

/// Home Ventilating Institute: 0.7 cfm for 1 ft² of floor, 0.805 under a dark or steep roof: 1,000,
/// 2,000 and 3,000 ft² ask for 700 / 1,400 / 2,100 and 805 / 1,610 / 2,415 cfm.
#[test]
fn published_fan_flow_of_whole_houses() {
    for (length, usual_cfm, more_cfm) in [
        ("40 ft", 700.0, 805.0),
        ("80 ft", 1400.0, 1610.0),
        ("120 ft", 2100.0, 2415.0),
    ] {
        let with = |edits: &[(&str, &str)]| {
            let mut all = vec![
                ("length = \"50 ft\"", length),
                ("width = \"30 ft\"", "width = \"25 ft\""),
            ];
            let length = format!("length = \"{length}\"");
            all[0].1 = &length;
            all.extend(edits);
            of_1500_ft2(&gable_fan(805.0, "3 ft"), &all)
        };
        let rule = Rule::FanFlowByFloor;
        let short = |asked: f64| (asked > 805.0).then_some(asked - 805.0);
        let light = with(&[LIGHT]);
        let wanted = [Some(usual_cfm), Some(805.0), short(usual_cfm)];
        assert_amounts(&light, rule, CFM_M3_S, wanted);
        let dark = with(&[]);
        let wanted = [Some(more_cfm), Some(805.0), short(more_cfm)];
        assert_amounts(&dark, rule, CFM_M3_S, wanted);
        let steep = with(&[LIGHT, ("pitch = \"5:12\"", "pitch = \"9:12\"")]);
        assert_amounts(&steep, rule, CFM_M3_S, wanted);
    }
}

/// The other way to say it, ten air changes an hour, is the same only where the attic is 4.2 ft high
/// on average (derived): under a gable, 8.4 ft at the ridge, of any length.
#[test]
fn published_two_ways_to_say_fan_flow_agree_at_a_mean_height_of_4_2_ft() {
    // 30 ft wide at 6.72 in 12 rises to 8.4 ft.
    let edits = [LIGHT, ("pitch = \"5:12\"", "pitch = \"6.72:12\"")];
    let level = of_1500_ft2(&gable_fan(805.0, "3 ft"), &edits);
    let wanted = [Some(1050.0), Some(805.0), Some(245.0)];
    assert_amounts(&level, Rule::FanFlowByFloor, CFM_M3_S, wanted);
    assert_amounts(&level, Rule::FanFlowByVolume, CFM_M3_S, wanted);
    // 5 in 12 rises to 6.25 ft: 50 × 30 × 6.25/2 = 4,687.5 ft³, ten times an hour.
    let low = of_1500_ft2(&gable_fan(805.0, "3 ft"), &[LIGHT]);
    let wanted = [Some(4687.5 / 6.0), Some(805.0), None];
    assert_amounts(&low, Rule::FanFlowByVolume, CFM_M3_S, wanted);
    assert_eq!(verdict(&low, Rule::FanFlowByVolume), Verdict::Met);
    let text = shown(&low).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("an attic is 4.20 ft high on average. This one is 3.13 ft."),
        "{text}"
    );
}

/// Home Ventilating Institute: 1 ft² of inlets for 300 cfm, so that 805 cfm ask for 386 in².
#[test]
fn published_805_cfm_ask_for_386_in2_of_inlets() {
    let ample = of_1500_ft2(&gable_fan(805.0, "3 ft"), &[]);
    assert_amounts(
        &ample,
        Rule::FanInlet,
        IN2_M2,
        [Some(386.4), Some(720.0), None],
    );
    assert_eq!(
        line(&ample, "vents for fans"),
        "vents for fans 386 in² 720 in² yes"
    );
    let edits = [
        ("net_area = \"1.4 ft2\"", "net_area = \"100 in2\""),
        ("net_area = \"2.2 ft2\"", "net_area = \"100 in2\""),
    ];
    let starved = of_1500_ft2(&gable_fan(805.0, "3 ft"), &edits);
    assert_amounts(
        &starved,
        Rule::FanInlet,
        IN2_M2,
        [Some(386.4), Some(300.0), Some(86.4)],
    );
    assert_eq!(
        line(&starved, "vents for fans"),
        "vents for fans 386 in² 300 in² no: 86 in² short"
    );
}

/// Never a fan with a ridge or gable vent nearby, block or distance it (common practice, no source).
/// Nearby is 3 ft here, a judgement.
#[test]
fn published_no_ridge_or_gable_vent_near_a_fan() {
    let rule = Rule::FanAwayFromVents;
    // The ridge is 6.25 ft up.
    let by_ridge = of_1500_ft2(&gable_fan(805.0, "3.5 ft"), &[]);
    assert_eq!(verdict(&by_ridge, rule), Verdict::NotMet);
    let below = of_1500_ft2(&gable_fan(805.0, "3 ft"), &[]);
    assert_eq!(verdict(&below, rule), Verdict::Met);
    let blocked = ("place = \"ridge\"", "place = \"ridge\"\nblocked = 1");
    let closed = of_1500_ft2(&gable_fan(805.0, "3.5 ft"), &[blocked]);
    assert_eq!(verdict(&closed, rule), Verdict::Met, "the ridge is blocked");
    // What blows in is not fed by a vent beside it.
    let inward = format!("{}direction = \"supply\"\n", gable_fan(805.0, "3.5 ft"));
    let inward = of_1500_ft2(&inward, &[]);
    assert!(rulings(&inward).iter().all(|one| one.rule != rule));
    // A vent in the fan's own gable: as far as was measured, or not known.
    let beside = |fan: &str, faces: &str| {
        let vent = format!(
            "\n[openings.gable]\nplace = \"gable\"\nfaces = \"{faces}\"\nheight = \"3 ft\"\n\
             net_area = \"1 ft2\"\n"
        );
        let fan = format!("{}{fan}", gable_fan(805.0, "3 ft"));
        verdict(&of_1500_ft2(&format!("{fan}{vent}"), &[]), rule)
    };
    assert_eq!(
        beside("", "west"),
        Verdict::Met,
        "the other gable is the inlet"
    );
    assert_eq!(beside("", "east"), Verdict::Look);
    assert_eq!(
        beside("vent_distance = \"3 ft\"\n", "east"),
        Verdict::NotMet
    );
    assert_eq!(beside("vent_distance = \"4 ft\"\n", "east"), Verdict::Met);
}

/// Georgia's supplement to the code of 2009 forbade attic fans on mains power (trade press, at second
/// hand): no more than a reason to ask, and none for a house without such fans.
#[test]
fn published_mains_fans_are_a_matter_of_local_code() {
    let fan = of_1500_ft2(&gable_fan(805.0, "3 ft"), &[]);
    assert_eq!(verdict(&fan, Rule::MainsFanAllowed), Verdict::Look);
    let text = shown(&fan).split_whitespace().collect::<Vec<_>>().join(" ");
    for wanted in [
        "rules, not physics",
        "1942",
        "local codes prevail",
        "Georgia",
    ] {
        assert!(text.contains(wanted), "{wanted} in {text}");
    }
    let none = of_1500_ft2("", &[]);
    let is_of_fans = |one: &Ruling| one.rule == Rule::MainsFanAllowed || one.rule == Rule::FanInlet;
    assert!(!rulings(&none).iter().any(is_of_fans));
}

/// Exit area of a whole-house fan: 1 ft² for 500 cfm at top speed (a maker's manual, at second
/// hand), so that 4,500 cfm ask for 9 ft²; 750 cfm by other makers (from memory), 6 ft².
#[test]
fn published_exit_area_of_a_whole_house_fan() {
    let fan = |more: &str| {
        format!(
            "\n[fans.whole]\nplace = \"ceiling\"\nflow = \"4500 cfm\"\n\
             hole = {{ shape = \"rectangle\", width = \"30 in\", height = \"30 in\" }}\n\
             shutter_leak = \"10 in2\"\n{more}"
        )
    };
    let small = of_1500_ft2(&fan(""), &[]);
    assert_amounts(
        &small,
        Rule::WholeHouseExit,
        FT2_M2,
        [Some(9.0), Some(5.0), Some(4.0)],
    );
    let other = Rule::SmallerWholeHouseExit;
    assert_amounts(&small, other, FT2_M2, [Some(6.0), Some(5.0), Some(1.0)]);
    assert_eq!(
        line(&small, "exits of"),
        "exits of a whole-house fan 1296 in² 720 in² no: 576 in² short"
    );
    let is_warned = |house: &House| {
        let warnings = inspect(house).warnings;
        warnings
            .iter()
            .any(|one| matches!(one, Warning::ExitsTooSmall { .. }))
    };
    assert!(is_warned(&small));
    // Its low speed asks for no less.
    let slow = of_1500_ft2(&fan("speed = 0.5\n"), &[]);
    assert_amounts(
        &slow,
        Rule::WholeHouseExit,
        FT2_M2,
        [Some(9.0), Some(5.0), Some(4.0)],
    );
    let between = of_1500_ft2(&fan(""), &[("\"2.2 ft2\"", "\"4 ft2\"")]);
    let found = [Rule::WholeHouseExit, other].map(|rule| verdict(&between, rule));
    assert_eq!(found, [Verdict::NotMet, Verdict::Met]);
    let large = of_1500_ft2(&fan(""), &[("\"2.2 ft2\"", "\"6.2 ft2\"")]);
    assert_eq!(verdict(&large, Rule::WholeHouseExit), Verdict::Met);
    assert!(!is_warned(&large));
    let attic_fans = inspect(&small).fans;
    assert_eq!(attic_fans, 0, "it is no attic fan");
}

#[test]
fn rules_are_told_to_programs_with_units_in_their_names() {
    let house = of_1500_ft2(&gable_fan(805.0, "3.5 ft"), &[]);
    let document = check_json(&house, &[], None);
    assert!(
        document["rules_note"]
            .as_str()
            .unwrap()
            .contains("local codes prevail")
    );
    let rules = document["designs"][0]["rules"].as_array().unwrap();
    let of = |code: &str| rules.iter().find(|one| one["rule"] == code).unwrap();
    let ratio = of("vents_1_150");
    assert_eq!(ratio["met"], false);
    for (key, wanted_ft2) in [("asked_m2", 10.0), ("there_m2", 5.0), ("short_by_m2", 5.0)] {
        let found = ratio[key].as_f64().unwrap();
        assert!((found - wanted_ft2 * FT2_M2).abs() < 1e-6, "{key}: {found}");
    }
    assert_eq!(ratio["source"], "IRC R806.2 (2012)");
    assert_eq!(of("vents_1_300")["met"], true);
    assert_eq!(of("vents_1_300")["high_share"], 0.44);
    assert!(of("vents_1_300_later")["met"].is_null());
    let flow = of("fan_flow_by_floor")["short_by_m3_s"].as_f64().unwrap();
    assert!((flow - 402.5 * CFM_M3_S).abs() < 1e-6, "{flow}");
    assert_eq!(of("fan_away_from_vents")["met"], false);
    assert_eq!(
        of("fan_away_from_vents")["source"],
        "common practice, no source"
    );
    assert!(of("mains_fan_allowed")["met"].is_null());
}
