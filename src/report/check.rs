//! What was understood of a house file, in words.

use crate::assess::{Caution, Inspection, Warning, inspect};
use crate::house::{Assumption, BarrierPlace, Channel, House, RoofForm};
use crate::study::Effect;
use crate::units::show::{self, System};

use super::cautions::cautions_text;
use super::layout::{heading, paragraph, table};
use super::notices::capital;
use super::trade_rules::trade_rules_text;
use super::uncertain::{assumed_by_effect, assumed_unweighed};
use super::words::{joined, percent};

/// What was understood of a house and its designs, what was assumed, and what looks wrong.
/// `effects` orders what was assumed by what it does, where weather was there to find that out.
pub fn check_text(
    system: System,
    house: &House,
    designs: &[House],
    effects: Option<&[Effect]>,
) -> String {
    let mut text = format!("{}\n", house.name);
    text.push_str(&sizes(system, house));
    let all: Vec<(&House, Inspection)> = std::iter::once(house)
        .chain(designs)
        .map(|one| (one, inspect(one)))
        .collect();
    text.push_str(&vents(system, &all));
    let houses: Vec<&House> = all.iter().map(|(one, _)| *one).collect();
    text.push_str(&trade_rules_text(system, &houses));
    text.push_str(&barriers(&all));
    text.push_str(&warnings(system, &all));
    text.push_str(&match effects {
        Some(effects) => assumed_by_effect(system, effects, &house.design),
        None => assumed(house, designs),
    });
    let mut cautions: Vec<Caution> = Vec::new();
    for (one, _) in &all {
        for caution in Caution::of_house(one) {
            if !cautions.contains(&caution) {
                cautions.push(caution);
            }
        }
    }
    text.push_str(&cautions_text(system, &cautions));
    text
}

fn sizes(system: System, house: &House) -> String {
    let shape = house.attic_shape();
    let area = |m2: f64| show::area(system, m2);
    let form = match house.roof.form {
        RoofForm::Gable => "gable roof",
        RoofForm::Hip => "hip roof",
        RoofForm::OneSlope => "one-slope roof",
    };
    let slopes: f64 = shape.slopes.iter().map(|slope| slope.area_m2).sum();
    let glass: f64 = house.living.windows.iter().map(|w| w.area_m2).sum();
    let joists = house.ceiling.joist_share;
    let insulation: f64 = house
        .ceiling
        .insulation
        .iter()
        .map(crate::physics::conduction::Layer::resistance_m2k_w)
        .sum();
    let rows = [
        (
            "attic",
            format!(
                "{} of floor, {} high at the ridge, {} of air",
                area(shape.floor_area_m2()),
                show::length(system, shape.ridge_height_m),
                show::volume(system, shape.volume_m3())
            ),
        ),
        (
            "roof",
            format!(
                "{form}, {} of slopes, takes up {} of the sun",
                area(slopes),
                percent(house.roof.solar_absorptance)
            ),
        ),
        (
            "ceiling",
            if house.ceiling.open {
                "none: the attic is open to what is below".to_owned()
            } else {
                format!(
                    "{} of insulation between joists, which are {} of it",
                    show::resistance(system, insulation),
                    percent(joists)
                )
            },
        ),
        (
            "rooms",
            format!(
                "{} of floor, {} of air, {} of windows",
                area(house.floor_area_m2()),
                show::volume(system, house.living_volume_m3()),
                area(glass)
            ),
        ),
    ];
    rows.iter()
        .map(|(name, words)| paragraph(&format!("  {name}"), 12, words))
        .collect()
}

fn vents(system: System, all: &[(&House, Inspection)]) -> String {
    let mut text = heading("Vents and fans");
    let area = |m2: f64| show::vent_area(system, m2);
    let header = [
        "design",
        "vents,\nnet free",
        "floor for\n1 of vent",
        "high up",
        "fans",
        "by their\nlabels",
        "vents asked\nfor them",
    ]
    .map(str::to_owned);
    let rows: Vec<Vec<String>> = all
        .iter()
        .map(|(house, own)| {
            let some = own.vents.total_m2 > 0.0;
            vec![
                house.design.clone(),
                area(own.vents.total_m2),
                if some {
                    format!("{:.0}", own.vents.ratio())
                } else {
                    "-".to_owned()
                },
                format!("{:.0} %", own.vents.high_share() * 100.0),
                if own.fans > 0 {
                    own.fans.to_string()
                } else {
                    "none".to_owned()
                },
                if own.fans > 0 {
                    show::air_flow(system, own.fan_label_m3_s)
                } else {
                    "-".to_owned()
                },
                if own.fans > 0 {
                    area(own.inlet_asked_m2)
                } else {
                    "-".to_owned()
                },
            ]
        })
        .collect();
    text.push_str(&table(&header, &rows));
    text
}

/// Where the barriers of the designs hang.
fn barriers(all: &[(&House, Inspection)]) -> String {
    let mut text = String::new();
    for (house, _) in all {
        let Some(barrier) = &house.barrier else {
            continue;
        };
        let place = match barrier.place {
            BarrierPlace::Deck => "on the underside of the roof deck",
            BarrierPlace::Floor => "on the attic floor",
            BarrierPlace::Rafters { channel, .. } => match channel {
                Channel::Closed => "hung under the rafters, the air behind it closed in",
                Channel::Attic => "hung under the rafters, the air behind it open to the attic",
                Channel::Outdoors => {
                    "hung under the rafters, the air behind it open to outdoors at eave and ridge"
                }
                Channel::EaveToAttic => {
                    "hung under the rafters, air from the eave behind it and into the attic"
                }
            },
        };
        let words = format!(
            "\"{}\": {place}; covers {}, emittance {:.2}",
            house.design,
            percent(barrier.coverage),
            barrier.emittance_attic
        );
        text.push_str(&paragraph("  -", 4, &words));
    }
    if text.is_empty() {
        text
    } else {
        heading("Barrier") + &text
    }
}

/// A warning in words.
pub(super) fn warning_text(system: System, warning: &Warning) -> String {
    let area = |m2: f64| show::vent_area(system, m2);
    match warning {
        Warning::NoVents => {
            "the attic has no vents at all, only leaks. Is that so, or are they missing from the \
             file?"
                .to_owned()
        }
        Warning::VentsBelow300 => {
            "the vents are smaller than any common rule asks for. More of them is often the first \
             thing to do."
                .to_owned()
        }
        Warning::VentsBelow150 => {
            "the vents are smaller than 1/150 of the floor, and too few or too many of them are \
             high up for the 1/300 rule."
                .to_owned()
        }
        Warning::VentsAtOneHeight => {
            "all vents are at about one height, so warm air has little reason to rise out of them; \
             wind must do the work."
                .to_owned()
        }
        Warning::InletsTooSmall { there_m2, asked_m2 } => format!(
            "the fans have {} of vents to draw from, where the trade asks for {}: they will move \
             less than their labels say, and pull more from the rooms.",
            area(*there_m2),
            area(*asked_m2)
        ),
        Warning::ExitsTooSmall { there_m2, asked_m2 } => format!(
            "the whole-house fan has {} of vents to blow out through, where makers ask for {} (1 ft² \
             for 500 cfm): it will press on the attic, move less than its label says, and push attic \
             air back into the rooms.",
            area(*there_m2),
            area(*asked_m2)
        ),
        Warning::FansWithoutInlets => {
            "the fans have no vent to draw from: what they move comes from leaks and from the \
             rooms."
                .to_owned()
        }
        Warning::FanBesideVent => {
            "fans blow out beside a vent on the same side and height: part of what they move may \
             come straight from it. The results say how much; `vent_distance` says how near."
                .to_owned()
        }
        Warning::DullBarrier { emittance } => format!(
            "a barrier with emittance {emittance:.2} is no radiant barrier by the usual standards \
             (0.1 or less; paint 0.25)."
        ),
        Warning::ChannelIntoAttic => {
            "the air behind the foil opens into the attic, so that part of the deck's heat loops \
             back in. A way out at the ridge is better."
                .to_owned()
        }
        Warning::BareSensors { count } => format!(
            "{count} thermometer(s) in the attic without a shield: they read off the air by \
             several degrees in the sun's hours. The simulation tells the same reading."
        ),
        Warning::DuctsUnsaid => {
            "there is a cooling plant, but nothing is said of its ducts: what a cooler attic saves \
             through ducts is left out. Describe them in [house.ducts], with area = 0 if none run \
             through the attic."
                .to_owned()
        }
        Warning::NoInsulation => {
            "the ceiling has no insulation: it is where most of the heat comes in, and insulation \
             mends that better than anything on the roof side."
                .to_owned()
        }
    }
}

fn warnings(system: System, all: &[(&House, Inspection)]) -> String {
    let mut found: Vec<(&Warning, Vec<&str>)> = Vec::new();
    for (house, inspection) in all {
        for warning in &inspection.warnings {
            match found.iter_mut().find(|(known, _)| *known == warning) {
                Some((_, designs)) => designs.push(&house.design),
                None => found.push((warning, vec![&house.design])),
            }
        }
    }
    if found.is_empty() {
        return String::new();
    }
    let mut text = heading("Worth a look");
    for (warning, designs) in found {
        let whose = if designs.len() == all.len() {
            String::new()
        } else {
            let names: Vec<String> = designs.iter().map(|name| format!("\"{name}\"")).collect();
            format!("In {}: ", joined(&names))
        };
        let words = capital(&format!("{whose}{}", warning_text(system, warning)));
        text.push_str(&paragraph("  -", 4, &words));
    }
    text
}

/// Assumptions in the order of their effect.
fn assumed(house: &House, designs: &[House]) -> String {
    let mut all: Vec<&Assumption> = Vec::new();
    for one in std::iter::once(house).chain(designs) {
        for assumption in &one.assumed {
            if !all.contains(&assumption) {
                all.push(assumption);
            }
        }
    }
    assumed_unweighed(&all)
}
