//! Rules of codes and trade for vents through house files, with the worked results of their sources.

use rafterheat::assess::{
    Rule, Ruling, Unmet, Verdict, fan_flow_by_floor_m3_s, fan_flow_by_volume_m3_s, fan_inlet_m2,
    rulings, vents_at_150_m2, vents_at_300_m2, whole_house_exit_m2,
};
use rafterheat::house::{House, HouseFile};
use rafterheat::report::check_text;
use rafterheat::units::show::System;
use rafterheat::units::{Dimension, parse};

use crate::houses::{PLAIN, house};

pub(crate) const FT2_M2: f64 = 0.3048 * 0.3048;
pub(crate) const IN2_M2: f64 = 0.0254 * 0.0254;

/// A house of 50 by 30 ft, 1,500 ft² of attic floor: 1.4 ft² of vents under each eave and 2.2 ft²
/// along the ridge, 5 ft² in all, 44 % of them high.
pub(crate) fn of_1500_ft2(more: &str, edits: &[(&str, &str)]) -> House {
    let mut all = vec![
        ("length = \"14 m\"", "length = \"50 ft\""),
        ("width = \"9 m\"", "width = \"30 ft\""),
        (
            "net_area = \"0.1 m2\"\ncount = 2",
            "net_area = \"1.4 ft2\"\ncount = 2",
        ),
        ("net_area = \"0.2 m2\"", "net_area = \"2.2 ft2\""),
    ];
    all.extend(edits);
    house(&format!("{PLAIN}{more}"), &all)
}

/// The ruling that must be there.
pub(crate) fn of(house: &House, rule: Rule) -> Ruling {
    let all = rulings(house);
    *all.iter().find(|one| one.rule == rule).unwrap()
}

pub(crate) fn verdict(house: &House, rule: Rule) -> Verdict {
    of(house, rule).verdict
}

/// What a rule asks for, what there is and what is missing, in a unit of so many SI units.
fn amounts(house: &House, rule: Rule, unit: f64) -> [Option<f64>; 3] {
    let ruling = of(house, rule);
    [ruling.asked, ruling.there, ruling.short_by()].map(|one| one.map(|a| a.value() / unit))
}

pub(crate) fn assert_amounts(house: &House, rule: Rule, unit: f64, wanted: [Option<f64>; 3]) {
    let found = amounts(house, rule, unit);
    for (found, wanted) in found.iter().zip(wanted) {
        let is_near = match (found, wanted) {
            (Some(found), Some(wanted)) => (found - wanted).abs() < 1e-9 * wanted,
            (found, wanted) => found.is_none() && wanted.is_none(),
        };
        assert!(is_near, "{rule:?}: {found:?} for {wanted:?}");
    }
}

/// `check` of a house in the units of the trade: lines of at most 80 columns.
pub(crate) fn shown(house: &House) -> String {
    let text = check_text(System::Us, house, &[], None);
    assert!(text.lines().all(|line| line.chars().count() <= 80));
    text
}

/// The line of `check` about a rule, its columns held apart by one space.
pub(crate) fn line(house: &House, name: &str) -> String {
    let text = shown(house);
    let found = text.lines().find(|line| line.trim().starts_with(name));
    let found = found.unwrap_or_else(|| panic!("{name} in\n{text}"));
    found.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// IRC R806.2 (2012): 1,500 ft² of floor ask for 10 ft² = 1,440 in² = 0.929 m² of vents.
#[test]
fn published_one_in_150_of_1500_ft2_is_1440_in2() {
    let half = of_1500_ft2("", &[]);
    assert_amounts(
        &half,
        Rule::VentRatio,
        FT2_M2,
        [Some(10.0), Some(5.0), Some(5.0)],
    );
    assert_amounts(
        &half,
        Rule::VentRatio,
        IN2_M2,
        [Some(1440.0), Some(720.0), Some(720.0)],
    );
    let asked_m2 = amounts(&half, Rule::VentRatio, 1.0)[0].unwrap();
    assert_eq!(format!("{asked_m2:.3}"), "0.929");
    assert_eq!(verdict(&half, Rule::VentRatio), Verdict::NotMet);
    assert_eq!(
        line(&half, "vents, 1/150"),
        "vents, 1/150 of the floor 1440 in² 720 in² no: 720 in² short"
    );
    // Exactly ten square feet are enough, wherever they are; a hundredth less is not.
    let enough = of_1500_ft2("", &[("net_area = \"1.4 ft2\"", "net_area = \"3.9 ft2\"")]);
    assert_eq!(verdict(&enough, Rule::VentRatio), Verdict::Met);
    assert!(of(&enough, Rule::VentRatio).short_by().is_none());
    let less = of_1500_ft2(
        "",
        &[("net_area = \"1.4 ft2\"", "net_area = \"3.895 ft2\"")],
    );
    assert_eq!(verdict(&less, Rule::VentRatio), Verdict::NotMet);
}

/// IRC R806.2 (2012): or 5 ft² = 720 in², of which 40 to 50 % = 288 to 360 in² are within 3 ft of
/// the ridge, or with a vapour retarder in zones 6 to 8. Later editions, from memory: with both.
#[test]
fn published_one_in_300_of_1500_ft2_is_720_in2_with_288_to_360_in2_high() {
    let with_high_in2 = |high: f64| {
        let each = format!("net_area = \"{} in2\"", (720.0 - high) / 2.0);
        let ridge = format!("net_area = \"{high} in2\"");
        of_1500_ft2(
            "",
            &[
                ("net_area = \"1.4 ft2\"", &each),
                ("net_area = \"2.2 ft2\"", &ridge),
            ],
        )
    };
    for (high_in2, by_2012, later) in [
        (287.0, Verdict::Look, Verdict::NotMet),
        (288.0, Verdict::Met, Verdict::Look),
        (324.0, Verdict::Met, Verdict::Look),
        (360.0, Verdict::Met, Verdict::Look),
        (361.0, Verdict::Look, Verdict::NotMet),
    ] {
        let house = with_high_in2(high_in2);
        let wanted = [Some(720.0), Some(720.0), None];
        assert_amounts(&house, Rule::BalancedVentRatio, IN2_M2, wanted);
        let share = of(&house, Rule::BalancedVentRatio).high_share.unwrap();
        assert!((share - high_in2 / 720.0).abs() < 1e-9);
        let found = [Rule::BalancedVentRatio, Rule::LaterVentRatio].map(|r| verdict(&house, r));
        assert_eq!(found, [by_2012, later], "{high_in2} in² high");
    }
    // The right share of too little is too little, whatever else there is.
    let little = of_1500_ft2("", &[("net_area = \"2.2 ft2\"", "net_area = \"2.1 ft2\"")]);
    for rule in [
        Rule::BalancedVentRatio,
        Rule::LaterVentRatio,
        Rule::OlderVentRatio,
    ] {
        assert_amounts(
            &little,
            rule,
            IN2_M2,
            [Some(720.0), Some(705.6), Some(14.4)],
        );
        assert_eq!(verdict(&little, rule), Verdict::NotMet);
    }
}

/// Older texts: 50 to 80 % high, at least 3 ft above the eave vents, or a retarder of 1 perm.
#[test]
fn published_older_one_in_300_wants_half_to_four_fifths_high() {
    let with_share = |share: f64| {
        let each = format!("net_area = \"{} ft2\"", 2.5 * (1.0 - share));
        let ridge = format!("net_area = \"{} ft2\"", 5.0 * share);
        of_1500_ft2(
            "",
            &[
                ("net_area = \"1.4 ft2\"", &each),
                ("net_area = \"2.2 ft2\"", &ridge),
            ],
        )
    };
    for (share, wanted) in [
        (0.49, Verdict::Look),
        (0.5, Verdict::Met),
        (0.8, Verdict::Met),
        (0.81, Verdict::Look),
    ] {
        let house = with_share(share);
        assert_eq!(verdict(&house, Rule::OlderVentRatio), wanted, "{share}");
    }
    // Under a flat roof the ridge is less than 3 ft above the eaves: nothing counts as high.
    let low = of_1500_ft2("", &[("pitch = \"5:12\"", "pitch = \"2:12\"")]);
    assert_eq!(of(&low, Rule::OlderVentRatio).high_share, Some(0.0));
    // Nor do eave vents become upper ones there by being within 3 ft of the ridge.
    let share = of(&low, Rule::BalancedVentRatio).high_share.unwrap();
    assert!((share - 0.44).abs() < 1e-9, "{share}");
}

/// IRC R806.2 (2012): the balance of what is not high is low; later editions, from memory: in the
/// bottom third of the attic. What hangs in the middle counts for neither.
#[test]
fn published_one_in_300_wants_the_rest_low() {
    let cold = ("[house]", "[site]\nclimate_zone = 3\n[house]");
    // 324 in² high and 396 in² in both gables: the ridge is 75 in up, its bottom third 25 in.
    let gables_at = |height: &str| {
        let gables = format!("place = \"gable\"\nheight = \"{height}\"\nfaces = \"all\"");
        let edits = [
            cold,
            ("place = \"soffit\"\nfaces = \"both\"", &gables),
            ("net_area = \"1.4 ft2\"", "net_area = \"198 in2\""),
            ("net_area = \"2.2 ft2\"", "net_area = \"324 in2\""),
        ];
        of_1500_ft2("", &edits)
    };
    let low = gables_at("24 in");
    let middle = gables_at("30 in");
    for rule in [Rule::BalancedVentRatio, Rule::LaterVentRatio] {
        assert_eq!(verdict(&low, rule), Verdict::Met);
        let ruling = of(&middle, rule);
        assert_eq!(
            (ruling.verdict, ruling.unmet),
            (Verdict::NotMet, Some(Unmet::Share)),
            "all that counts is high"
        );
        assert_amounts(&middle, rule, IN2_M2, [Some(720.0), Some(720.0), None]);
    }
    // Some of it low is the right share of too little.
    let eaves = "\n[openings.eave]\nplace = \"soffit\"\nfaces = \"both\"\nnet_area = \"360 in2\"\n";
    let gables = "place = \"gable\"\nheight = \"30 in\"\nfaces = \"all\"";
    let edits = [
        cold,
        ("place = \"soffit\"\nfaces = \"both\"", gables),
        ("net_area = \"2.2 ft2\"", "net_area = \"288 in2\""),
    ];
    let little = of_1500_ft2(eaves, &edits);
    let ruling = of(&little, Rule::BalancedVentRatio);
    assert_eq!(ruling.unmet, Some(Unmet::RestNotLow));
    assert!((ruling.high_share.unwrap() - 288.0 / 648.0).abs() < 1e-9);
    assert_eq!(
        line(&little, "or 1/300"),
        "or 1/300, 40-50 % near ridge 720 in² 1051 in² no: rest not low"
    );
    // The middle vents are no intake either.
    assert_amounts(
        &little,
        Rule::IntakeNotLess,
        IN2_M2,
        [Some(288.0), Some(360.0), None],
    );
}

/// IRC R806.2 (2012): a retarder of class I or II on the warm side is the other way to 1/300, in
/// zones 6 to 8 only; later editions, from memory, ask for it there beside the share; older texts
/// take 1 perm in place of the share anywhere.
#[test]
fn published_one_in_300_by_zone_and_vapour_retarder() {
    use Verdict::{Look, Met, NotMet};
    let with = |zone: Option<u32>, retarder: Option<&str>, high_in2: f64| {
        let site = zone.map_or(String::new(), |zone| {
            format!("[site]\nclimate_zone = {zone}\n")
        });
        let class = retarder.map_or(String::new(), |class| {
            format!("\nvapour_retarder = \"{class}\"")
        });
        let each = format!("net_area = \"{} in2\"", (720.0 - high_in2) / 2.0);
        let edits = [
            ("[house]", &*format!("{site}[house]")),
            ("[ceiling]", &*format!("[ceiling]{class}")),
            ("net_area = \"1.4 ft2\"", &each),
            (
                "net_area = \"2.2 ft2\"",
                &format!("net_area = \"{high_in2} in2\""),
            ),
        ];
        let house = of_1500_ft2("", &edits);
        [
            Rule::BalancedVentRatio,
            Rule::LaterVentRatio,
            Rule::OlderVentRatio,
        ]
        .map(|rule| of(&house, rule))
    };
    // 324 of 720 in² high are 45 %, 200 are 28 %.
    for (zone, retarder, high_in2, wanted) in [
        (None, None, 324.0, [Met, Look, Look]),
        (None, Some("class-1"), 324.0, [Met, Met, Met]),
        (None, Some("class-3"), 324.0, [Met, Look, NotMet]),
        (Some(5), None, 324.0, [Met, Met, Look]),
        (Some(6), None, 324.0, [Met, Look, Look]),
        (Some(6), Some("class-2"), 324.0, [Met, Met, Met]),
        (Some(6), Some("class-3"), 324.0, [Met, NotMet, NotMet]),
        (None, None, 200.0, [Look, NotMet, Look]),
        (None, Some("class-1"), 200.0, [Look, NotMet, Met]),
        (Some(5), None, 200.0, [NotMet, NotMet, Look]),
        (Some(5), Some("class-1"), 200.0, [NotMet, NotMet, Met]),
        (Some(8), Some("class-1"), 200.0, [Met, NotMet, Met]),
        (Some(8), Some("none"), 200.0, [NotMet, NotMet, NotMet]),
    ] {
        let found = with(zone, retarder, high_in2).map(|ruling| ruling.verdict);
        assert_eq!(found, wanted, "zone {zone:?}, {retarder:?}, {high_in2} in²");
    }
    let [_, later, _] = with(Some(7), Some("none"), 324.0);
    assert_eq!(later.unmet, Some(Unmet::Retarder));
    let [_, later, _] = with(Some(7), Some("none"), 200.0);
    assert_eq!(later.unmet, Some(Unmet::Share));
}

/// Each rule's own example comes out of what the rule works out.
#[test]
fn published_examples_of_the_rules_are_what_they_work_out() {
    type Asks = fn(f64) -> f64;
    let si = |text: &str| {
        let read = [Dimension::Area, Dimension::Volume, Dimension::AirFlow]
            .map(|dimension| parse(text, dimension).ok());
        read.into_iter().flatten().next().unwrap()
    };
    let rules: [(Rule, Asks); 7] = [
        (Rule::VentRatio, vents_at_150_m2),
        (Rule::BalancedVentRatio, vents_at_300_m2),
        (Rule::LaterVentRatio, vents_at_300_m2),
        (Rule::OlderVentRatio, vents_at_300_m2),
        (Rule::FanFlowByFloor, |m2| fan_flow_by_floor_m3_s(m2, false)),
        (Rule::FanFlowByVolume, fan_flow_by_volume_m3_s),
        (Rule::FanInlet, fan_inlet_m2),
    ];
    for (rule, asks) in rules {
        let [of, wanted] = rule.worked().unwrap().map(si);
        let found = asks(of);
        assert!((found / wanted - 1.0).abs() < 1e-9, "{rule:?}: {found}");
    }
    let [of, wanted] = Rule::WholeHouseExit.worked().unwrap().map(si);
    assert!((whole_house_exit_m2(of) / wanted - 1.0).abs() < 1e-9);
    let [same, wanted] = Rule::SmallerWholeHouseExit.worked().unwrap().map(si);
    assert!((same - of).abs() < 1e-12 && (whole_house_exit_m2(of) / wanted - 1.5).abs() < 1e-9);
}

/// The trade, at second hand: intake not less than exhaust.
#[test]
fn published_intake_is_not_less_than_exhaust() {
    let with_ridge = |area: &str| of_1500_ft2("", &[("\"2.2 ft2\"", area)]);
    let level = with_ridge("\"2.8 ft2\"");
    assert_amounts(
        &level,
        Rule::IntakeNotLess,
        FT2_M2,
        [Some(2.8), Some(2.8), None],
    );
    assert_eq!(verdict(&level, Rule::IntakeNotLess), Verdict::Met);
    let top = with_ridge("\"3 ft2\"");
    assert_amounts(
        &top,
        Rule::IntakeNotLess,
        FT2_M2,
        [Some(3.0), Some(2.8), Some(0.2)],
    );
    assert_eq!(verdict(&top, Rule::IntakeNotLess), Verdict::NotMet);
}

/// IRC R806.3: 1 in of clear air path at eave vents. IRC R806.1 (2012): openings or mesh of 1/16 to
/// 1/4 in, so that by the letter an insect screen of 16 to the inch is too fine.
#[test]
fn published_air_path_and_mesh() {
    let unsaid = of_1500_ft2("", &[]);
    assert_eq!(verdict(&unsaid, Rule::AirPath), Verdict::Look);
    assert_eq!(verdict(&unsaid, Rule::Mesh), Verdict::Look);
    for (inches, wanted) in [
        (0.5, Verdict::NotMet),
        (1.0, Verdict::Met),
        (2.0, Verdict::Met),
    ] {
        let path = format!("[attic]\nair_path = \"{inches} in\"");
        let said = of_1500_ft2("", &[("[attic]", &path)]);
        let short = (inches < 1.0).then_some(1.0 - inches);
        let wanted_in = [Some(1.0), Some(inches), short];
        assert_amounts(&said, Rule::AirPath, 0.0254, wanted_in);
        assert_eq!(verdict(&said, Rule::AirPath), wanted);
    }
    assert_eq!(
        line(&unsaid, "air path"),
        "air path above insulation 1 in clear look"
    );
    assert_eq!(
        line(&unsaid, "openings or mesh"),
        "openings or mesh of vents 1/16 to 1/4 in look"
    );
    let hole = |size: &str, screen: &str| {
        format!("hole = {{ shape = \"rectangle\", {size} }}\nscreen = \"{screen}\"")
    };
    let with = |soffit: &str, ridge: &str| {
        let soffit = hole("width = \"16 in\", height = \"8 in\"", soffit);
        let ridge = hole("width = \"2 in\", height = \"40 ft\"", ridge);
        let ridge = ridge
            .replace("rectangle", "strip")
            .replace("height", "length");
        of_1500_ft2(
            "",
            &[
                ("net_area = \"1.4 ft2\"", &soffit),
                ("net_area = \"2.2 ft2\"", &ridge),
            ],
        )
    };
    for (soffit, ridge, wanted) in [
        ("quarter-inch-mesh", "eighth-inch-mesh", Verdict::Met),
        ("insect-mesh", "eighth-inch-mesh", Verdict::NotMet),
        ("quarter-inch-mesh", "none", Verdict::Look),
        ("insect-mesh", "none", Verdict::NotMet),
    ] {
        let house = with(soffit, ridge);
        assert_eq!(verdict(&house, Rule::Mesh), wanted, "{soffit} and {ridge}");
        // An inch holds 16 openings and 16 wires: the openings are less than 1/16 in.
        let finest_m = of(&house, Rule::Mesh).there.unwrap().value();
        assert_eq!(finest_m < 0.0254 / 16.0, soffit == "insect-mesh");
    }
    let no_eave = (
        "place = \"soffit\"\nfaces = \"both\"",
        "place = \"gable\"\nfaces = \"east\"",
    );
    let gable = of_1500_ft2("", &[no_eave]);
    assert!(rulings(&gable).iter().all(|one| one.rule != Rule::AirPath));
}

#[test]
fn a_sealed_attic_is_held_to_no_rule_of_vents() {
    let sealed = r#"
[designs.foamed]
attic.sealed = true
roof.underside_insulation = "R-20"
"#;
    let file = HouseFile::from_text(&format!("{PLAIN}{sealed}"), "house.toml").unwrap();
    assert!(rulings(file.find("foamed").unwrap()).is_empty());
    assert!(!rulings(&file.base).is_empty());
}

#[test]
fn designs_that_come_out_alike_are_told_together_and_others_apart() {
    let designs = r#"
[designs.a]
openings.ridge.net_area = "1 m2"
[designs.b]
openings.ridge.net_area = "1 m2"
[designs.c]
roof.absorptance = 0.3
"#;
    let file = HouseFile::from_text(&format!("{PLAIN}{designs}"), "house.toml").unwrap();
    let text = check_text(System::Us, &file.base, &file.designs, None);
    assert!(text.contains("with \"a\" and \"b\":"), "{text}");
    assert!(!text.contains("with \"c\""), "{text}");
}
