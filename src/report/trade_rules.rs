//! Rules of codes and trade for vents and fans, as a table.

use crate::assess::{AIR_PATH_M, Amount, MESH_M, Rule, Ruling, Verdict, is_dark_or_steep, rulings};
use crate::house::House;
use crate::units::show::{self, System};

use super::layout::{heading, paragraph, table};
use super::words::percent;

/// The rules for a house and, where they come out otherwise, for its designs.
pub(super) fn trade_rules_text(system: System, houses: &[&House]) -> String {
    let Some((first, designs)) = houses.split_first() else {
        return String::new();
    };
    let base = rulings(first);
    let mut rows: Vec<Vec<String>> = base.iter().map(|one| row(system, first, one)).collect();
    let mut told: Vec<Ruling> = base;
    for house in designs {
        let own = rulings(house);
        let new: Vec<Ruling> = own
            .into_iter()
            .filter(|ruling| !told.contains(ruling))
            .collect();
        if new.is_empty() {
            continue;
        }
        rows.push(vec![
            format!("with \"{}\":", house.design),
            String::new(),
            String::new(),
            String::new(),
        ]);
        rows.extend(new.iter().map(|one| row(system, house, one)));
        told.extend(new);
    }
    if rows.is_empty() {
        return String::new();
    }
    let header = ["rule", "asks for", "there is", "met"].map(str::to_owned);
    let mut text = heading("Rules of codes and trade");
    text.push_str(&table(&header, &rows));
    text.push_str(&paragraph(
        "",
        2,
        "These are rules, not physics: 1/300 was set in 1942 without a measurement behind it. \
         Editions differ and local codes prevail; by later ones 1/300 also asks for a vapour \
         retarder on the warm side in cold climates. Ask too before a fan on mains power goes in: \
         at least one US state has forbidden those in attics.",
    ));
    text
}

fn row(system: System, house: &House, ruling: &Ruling) -> Vec<String> {
    let amount = |amount: Option<Amount>| match amount {
        Some(Amount::Area(m2)) => show::area(system, m2),
        Some(Amount::Flow(m3_s)) => show::air_flow(system, m3_s),
        None => String::new(),
    };
    let there = match ruling.high_share {
        Some(share) => format!("{}, {} high", amount(ruling.there), percent(share)),
        None => amount(ruling.there),
    };
    let asked = match ruling.rule {
        Rule::AirPath => match system {
            System::Us => "1 in clear".to_owned(),
            System::Si => format!("{:.0} mm clear", AIR_PATH_M * 1e3),
        },
        Rule::Mesh => match system {
            System::Us => "1/16 to 1/4 in".to_owned(),
            System::Si => format!("{:.1} to {:.1} mm", MESH_M[0] * 1e3, MESH_M[1] * 1e3),
        },
        _ => amount(ruling.asked),
    };
    let met = match ruling.verdict {
        Verdict::Met => "yes",
        Verdict::NotMet => "no",
        Verdict::Look => "look",
    };
    vec![name(house, ruling.rule), asked, there, met.to_owned()]
}

/// A rule in a few words.
fn name(house: &House, rule: Rule) -> String {
    let words = match rule {
        Rule::VentRatio => "vents, 1/150 of the floor",
        Rule::BalancedVentRatio => "or 1/300, 40-50 % near the ridge",
        Rule::OlderVentRatio => "or, older, 1/300, 50-80 % high",
        Rule::IntakeNotLess => "low vents not less than high",
        Rule::AirPath => "air path above insulation",
        Rule::Mesh => "openings or mesh of vents",
        Rule::FanFlowByFloor if is_dark_or_steep(house) => "fans, dark or steep roof",
        Rule::FanFlowByFloor => "fans, by floor area",
        Rule::FanFlowByVolume => "fans, ten air changes an hour",
        Rule::FanInlet => "vents for fans",
        Rule::FanAwayFromVents => "no vent beside a fan",
        Rule::WholeHouseExit => "exits of a whole-house fan",
        Rule::SmallerWholeHouseExit => "or, by other makers",
    };
    words.to_owned()
}
