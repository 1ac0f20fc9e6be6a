//! The heat account in words: what warms the attic and where it goes.

use crate::assess::{Account, Item, Side, Surface};
use crate::units::show::System;

use super::case::Case;
use super::layout::{heading, paragraph, table};
use super::words::{compass, heat_number, kwh, moment, own_name};

/// What a line of an account is called.
pub(super) fn item_name(item: &Item) -> String {
    match item {
        Item::Sun(surface) => format!("sun on the {}", surface_name(surface)),
        Item::OutdoorAir(surface) => format!("{} to outdoor air", surface_name(surface)),
        Item::Sky(surface) => format!("{} to sky and ground", surface_name(surface)),
        Item::Inside(surface) => surface_name(surface),
        Item::Foil(surface) => format!("foil under the {}", surface_name(surface)),
        Item::FoilChannel(surface) => {
            format!("air from behind the foil, {}", surface_name(surface))
        }
        Item::FoilChannelOutdoors(surface) => {
            format!("outdoor air behind the foil, {}", surface_name(surface))
        }
        Item::BattenSpace(surface) => format!("air under the battens, {}", surface_name(surface)),
        Item::Floor => "attic floor".to_owned(),
        Item::Framing => "framing".to_owned(),
        Item::Vent(name) => format!("air through vent {}", name.replace('-', " ")),
        Item::Fan(name) => format!("air through fans {}", own_name(name)),
        Item::Leaks => "air through leaks of the shell".to_owned(),
        Item::CeilingLeaks => "air from the rooms, by ceiling leaks".to_owned(),
        Item::Ceiling => "through the ceiling".to_owned(),
        Item::Other(name) => name.replace('_', " "),
    }
}

fn surface_name(surface: &Surface) -> String {
    let side = match surface.side {
        Side::Slope => "slope",
        Side::Gable => "gable",
    };
    format!("{} {side}", compass(&surface.faces))
}

/// Whether a line belongs to a group.
type Belongs = fn(&Item) -> bool;

/// A few lines that a person can hold in mind.
const GROUPS: [(&str, Belongs); 9] = [
    ("sun taken up by roof and gables", |item| {
        matches!(item, Item::Sun(_))
    }),
    ("lost from their outside to outdoor air", |item| {
        matches!(item, Item::OutdoorAir(_))
    }),
    ("lost from their outside to the sky", |item| {
        matches!(item, Item::Sky(_))
    }),
    ("carried off by air under the roofing", |item| {
        matches!(item, Item::BattenSpace(_) | Item::FoilChannelOutdoors(_))
    }),
    ("carried off by air through vents and leaks", |item| {
        matches!(item, Item::Vent(_) | Item::Leaks)
    }),
    ("carried off by the fans' air", |item| {
        matches!(item, Item::Fan(_))
    }),
    ("carried by air from the rooms", |item| {
        matches!(item, Item::CeilingLeaks)
    }),
    ("passed on through the ceiling", |item| {
        matches!(item, Item::Ceiling)
    }),
    ("other", |item| matches!(item, Item::Other(_))),
];

/// The heat accounts of one design: its attic's air and the whole attic, in the hottest hour and
/// over the period.
pub fn account_text(system: System, case: &Case) -> String {
    let accounts = &case.assessment.accounts;
    let mut text = heading("Where the attic's heat comes from and where it goes");
    let hour = format!(
        "{} to {}",
        moment(case.time(accounts.air_peak_hour.from_s)),
        case.time(accounts.air_peak_hour.to_s).strftime("%H:%M")
    );
    text.push_str(&paragraph(
        "",
        2,
        &format!(
            "Plus warms the attic, minus takes heat away. Hottest hour of the attic's air: {hour}."
        ),
    ));
    text.push('\n');
    text.push_str(&side_by_side(
        system,
        "whole attic, roof skin to ceiling",
        &accounts.attic_peak_hour,
        &accounts.attic_period,
    ));
    text.push('\n');
    text.push_str(&side_by_side(
        system,
        "the attic's air alone",
        &accounts.air_peak_hour,
        &accounts.air_period,
    ));
    text
}

fn side_by_side(system: System, title: &str, hour: &Account, period: &Account) -> String {
    let (_, unit) = heat_number(system, 0.0);
    let header = [
        title.to_owned(),
        format!("hottest hour\n{unit}"),
        "period\nkWh".to_owned(),
    ];
    let row = |name: String, hour_w: f64, period_j: f64| {
        vec![name, heat_number(system, hour_w).0, kwh(period_j / 3.6e6)]
    };
    let mut rows: Vec<Vec<String>> = hour
        .lines
        .iter()
        .map(|line| {
            row(
                item_name(&line.item),
                line.heat_j / hour.length_s(),
                period.heat_j(|item| *item == line.item),
            )
        })
        .collect();
    rows.push(row(
        "stays, and warms what is there".to_owned(),
        hour.stored_j / hour.length_s(),
        period.stored_j,
    ));
    table(&header, &rows)
}

/// Accounts of the whole attic in one hour, a few lines for several designs side by side.
pub(super) fn groups_text(system: System, designs: &[&str], accounts: &[Account]) -> String {
    let (_, unit) = heat_number(system, 0.0);
    let mut header = vec![unit.to_owned()];
    header.extend(designs.iter().map(|&design| design.to_owned()));
    let mut rows = Vec::new();
    let mut add = |name: &str, of: &dyn Fn(&Account) -> f64| {
        let values: Vec<f64> = accounts
            .iter()
            .map(|account| of(account) / account.length_s())
            .collect();
        if values.iter().any(|value| value.abs() >= 1.0) {
            let mut row = vec![name.to_owned()];
            row.extend(values.iter().map(|&w| heat_number(system, w).0));
            rows.push(row);
        }
    };
    for (name, belongs) in GROUPS {
        add(name, &|account| account.heat_j(belongs));
    }
    add("stays, and warms the attic", &|account| account.stored_j);
    table(&header, &rows)
}
