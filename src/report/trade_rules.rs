//! Rules of codes and trade for vents and fans, as a table.

use maud::{Markup, html};

use crate::assess::{
    AGREEING_HEIGHT_M, AIR_PATH_M, Amount, MESH_M, Rule, Ruling, Unmet, Verdict, is_dark_or_steep,
    rulings,
};
use crate::house::House;
use crate::units::show::{self, System};

use super::layout::{heading, paragraph, table};
use super::words::{joined, percent};

const HEADING: &str = "Rules of codes and trade";
const HEADER: [&str; 4] = ["rule", "asks for", "there is", "met"];

/// What stands below the rules, in text and in JSON.
pub(super) const NOTE: &str = "These are rules, not physics: 1/300 was set in 1942 without a measurement behind it. Editions \
     differ and local codes prevail. \"Look\" is what the file does not say: `attic.air_path`, each \
     vent's `screen`, and, as 1/300 asks in cold climates for a vapour retarder on the warm side of \
     the ceiling beside the share high up or, by some editions, in its place, \
     `site.climate_zone` and `ceiling.vapour_retarder`. Ask too before a fan on mains \
     power goes in: Georgia, for one, forbade those in attics in 2009.";

/// Rules of some designs, as cells of the table's columns.
struct Group {
    /// Names of the designs; nothing for the house as it stands.
    designs: Vec<String>,
    rows: Vec<[String; 4]>,
}

impl Group {
    fn heading(&self) -> Option<String> {
        let names: Vec<String> = self.designs.iter().map(|n| format!("\"{n}\"")).collect();
        (!names.is_empty()).then(|| format!("with {}:", joined(&names)))
    }
}

/// The rules for the first house, and what comes out otherwise for its designs.
fn groups(system: System, houses: &[&House]) -> Vec<Group> {
    let Some((first, designs)) = houses.split_first() else {
        return Vec::new();
    };
    let base = rows(system, first);
    let mut groups = vec![Group {
        designs: Vec::new(),
        rows: base,
    }];
    for house in designs {
        let mut own = rows(system, house);
        own.retain(|row| !groups[0].rows.contains(row));
        if own.is_empty() {
            continue;
        }
        match groups.iter_mut().skip(1).find(|group| group.rows == own) {
            Some(group) => group.designs.push(house.design.clone()),
            None => groups.push(Group {
                designs: vec![house.design.clone()],
                rows: own,
            }),
        }
    }
    groups.retain(|group| !group.rows.is_empty());
    groups
}

/// The rules for a house and, where they come out otherwise, for its designs.
pub(super) fn trade_rules_text(system: System, houses: &[&House]) -> String {
    let groups = groups(system, houses);
    if groups.is_empty() {
        return String::new();
    }
    let mut rows: Vec<Vec<String>> = Vec::new();
    for group in groups {
        rows.extend(group.heading().map(|words| {
            let mut row = vec![String::new(); HEADER.len()];
            row[0] = words;
            row
        }));
        rows.extend(group.rows.into_iter().map(Vec::from));
    }
    let mut text = heading(HEADING);
    text.push_str(&table(&HEADER.map(str::to_owned), &rows));
    text.push_str(&paragraph("", 2, NOTE));
    if let Some(words) = two_ways(system, houses) {
        text.push_str(&paragraph("", 2, &words));
    }
    text
}

/// The same as a part of the page.
pub(super) fn trade_rules_markup(system: System, houses: &[&House]) -> Markup {
    let groups = groups(system, houses);
    html! {
        @if !groups.is_empty() {
            h2 { (HEADING) }
            div.table {
                table {
                    thead { tr { @for name in HEADER { th { (name) } } } }
                    tbody {
                        @for group in &groups {
                            @if let Some(words) = group.heading() {
                                tr { th colspan="4" scope="rowgroup" { (words) } }
                            }
                            @for [name, asked, there, met] in &group.rows {
                                tr {
                                    th scope="row" { (name) }
                                    td { (asked) }
                                    td { (there) }
                                    td { (met) }
                                }
                            }
                        }
                    }
                }
            }
            p { (NOTE) }
            @if let Some(words) = two_ways(system, houses) {
                p { (words) }
            }
        }
    }
}

/// Why the two ways to say what fans are to move differ.
fn two_ways(system: System, houses: &[&House]) -> Option<String> {
    let is_fan_rule = |ruling: &Ruling| ruling.rule == Rule::FanFlowByVolume;
    let house = houses
        .iter()
        .find(|one| rulings(one).iter().any(is_fan_rule))?;
    let shape = house.attic_shape();
    let mean_m = shape.volume_m3() / shape.floor_area_m2();
    Some(format!(
        "What fans are to move is told by floor or as ten air changes an hour; the two agree only \
         where an attic is {} high on average. This one is {}.",
        show::length(system, AGREEING_HEIGHT_M),
        show::length(system, mean_m)
    ))
}

fn rows(system: System, house: &House) -> Vec<[String; 4]> {
    let own = rulings(house);
    own.iter().map(|one| row(system, house, one)).collect()
}

fn row(system: System, house: &House, ruling: &Ruling) -> [String; 4] {
    let shown = |amount: Option<Amount>| amount.map_or(String::new(), |one| in_words(system, one));
    let asked = match ruling.rule {
        Rule::AirPath => match system {
            System::Us => format!("{:.0} in clear", AIR_PATH_M / 0.0254),
            System::Si => format!("{:.0} mm clear", AIR_PATH_M * 1e3),
        },
        Rule::Mesh => match system {
            System::Us => "1/16 to 1/4 in".to_owned(),
            System::Si => format!("{:.2} to {:.2} mm", MESH_M[0] * 1e3, MESH_M[1] * 1e3),
        },
        Rule::FanAwayFromVents => "none near".to_owned(),
        Rule::MainsFanAllowed => "local code".to_owned(),
        _ => shown(ruling.asked),
    };
    [
        name(house, ruling.rule).to_owned(),
        asked,
        shown(ruling.there),
        met(system, ruling),
    ]
}

fn in_words(system: System, amount: Amount) -> String {
    match amount {
        Amount::Length(m) => show::length(system, m),
        Amount::Area(m2) => show::vent_area(system, m2),
        Amount::Flow(m3_s) => show::air_flow(system, m3_s),
    }
}

/// Whether a rule is met and, where not, by how much or why.
fn met(system: System, ruling: &Ruling) -> String {
    match ruling.verdict {
        Verdict::Met => "yes".to_owned(),
        Verdict::Look => "look".to_owned(),
        Verdict::NotMet => match (ruling.short_by(), ruling.unmet) {
            (Some(missing), _) => format!("no: {} short", in_words(system, missing)),
            (None, Some(Unmet::Share)) => {
                format!("no: {} high", percent(ruling.high_share.unwrap_or(0.0)))
            }
            (None, Some(Unmet::RestNotLow)) => "no: rest not low".to_owned(),
            (None, Some(Unmet::Retarder)) => "no: no retarder".to_owned(),
            (None, None) => "no".to_owned(),
        },
    }
}

/// A rule in a few words.
fn name(house: &House, rule: Rule) -> &'static str {
    match rule {
        Rule::VentRatio => "vents, 1/150 of the floor",
        Rule::BalancedVentRatio => "or 1/300, 40-50 % near ridge",
        Rule::LaterVentRatio => "  later: and a retarder",
        Rule::OlderVentRatio => "  older: 50-80 % high",
        Rule::IntakeNotLess => "low vents not less than high",
        Rule::AirPath => "air path above insulation",
        Rule::Mesh => "openings or mesh of vents",
        Rule::FanFlowByFloor if is_dark_or_steep(house) => "fans, dark or steep roof",
        Rule::FanFlowByFloor => "fans, by floor area",
        Rule::FanFlowByVolume => "or ten air changes an hour",
        Rule::FanInlet => "vents for fans",
        Rule::FanAwayFromVents => "ridge or gable vent near a fan",
        Rule::MainsFanAllowed => "fans on mains power",
        Rule::WholeHouseExit => "exits of a whole-house fan",
        Rule::SmallerWholeHouseExit => "or, by other makers",
    }
}
