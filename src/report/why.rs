//! Why the designs do what they do, from their heat accounts.

use crate::assess::{Account, Item, attic_account_at};
use crate::units::show::{self, System};

use super::account::groups_text;
use super::case::Case;
use super::layout::{heading, paragraph};
use super::words::{difference, heat, joined, moment, percent};

/// Change of the rooms' highest temperature below which a roof measure is said not to matter
/// there, K.
const HARDLY_FELT_K: f64 = 1.0;

/// Designs whose accounts stand side by side in one table.
const ABREAST: usize = 4;

/// Why: the heat accounts of one hour side by side, that in which the first design's attic is
/// hottest, and what they say.
pub fn why_text(system: System, cases: &[Case]) -> String {
    let Some(first) = cases.first() else {
        return String::new();
    };
    let at_s = first.assessment.readings.attic_air.peak.time_s;
    let accounts: Vec<Account> = cases
        .iter()
        .map(|case| attic_account_at(&case.outcome, at_s))
        .collect();
    let [base, ..] = accounts.as_slice() else {
        return String::new();
    };
    let mut text = heading(&format!(
        "Why: the whole attic, roof skin to ceiling, {} to {}",
        moment(first.time(base.from_s)),
        first.time(base.to_s).strftime("%H:%M")
    ));
    for (cases, accounts) in cases.chunks(ABREAST).zip(accounts.chunks(ABREAST)) {
        let designs: Vec<&str> = cases.iter().map(Case::design).collect();
        text.push_str(&groups_text(system, &designs, accounts));
        text.push('\n');
    }
    text.push_str(&paragraph(
        "",
        2,
        &as_it_stands(system, first.design(), base),
    ));
    for (case, own) in cases.iter().zip(&accounts).skip(1) {
        let sentences = design(system, first, case, base, own);
        if !sentences.is_empty() {
            text.push_str(&paragraph("", 2, &sentences));
        }
    }
    if let Some(sentence) = rooms(system, cases) {
        text.push_str(&paragraph("", 2, &sentence));
    }
    text
}

/// Mean of some lines, W.
fn flow(account: &Account, belongs: fn(&Item) -> bool) -> f64 {
    account.mean_w(belongs)
}

fn is_sun(item: &Item) -> bool {
    matches!(item, Item::Sun(_))
}

fn is_outside(item: &Item) -> bool {
    matches!(item, Item::OutdoorAir(_) | Item::Sky(_))
}

fn is_fan(item: &Item) -> bool {
    matches!(item, Item::Fan(_))
}

/// Air of any kind between attic and outdoors.
fn is_air(item: &Item) -> bool {
    is_vent(item) || is_fan(item)
}

fn is_vent(item: &Item) -> bool {
    matches!(
        item,
        Item::Vent(_) | Item::Leaks | Item::FoilChannelOutdoors(_) | Item::BattenSpace(_)
    )
}

fn is_ceiling(item: &Item) -> bool {
    matches!(item, Item::Ceiling)
}

fn as_it_stands(system: System, design: &str, account: &Account) -> String {
    let sun = flow(account, is_sun);
    if sun <= 0.0 {
        return String::new();
    }
    format!(
        "{design}: in that hour roof and gables take up {} of sun. {} of it goes straight back \
         outside from the roofing; air carries off {}, and {} passes the ceiling.",
        heat(system, sun),
        percent(-flow(account, is_outside) / sun),
        heat(system, -flow(account, is_air)),
        heat(system, -flow(account, is_ceiling)),
    )
}

fn design(system: System, first: &Case, case: &Case, base: &Account, own: &Account) -> String {
    let mut parts = Vec::new();
    let air = &case.assessment.air;
    if air.fan_free_air_m3_s > 0.0 {
        parts.push(format!(
            "the fans move {} of the {} on their labels, since what they blow through holds them \
             back. They carry off {}, but the other vents only {} where it was {}",
            show::air_flow(system, air.fan_delivered_m3_s),
            show::air_flow(system, air.fan_free_air_m3_s),
            heat(system, -flow(own, is_fan)),
            heat(system, -flow(own, is_vent)),
            heat(system, -flow(base, is_vent)),
        ));
    }
    if case.house.barrier.is_some() && first.house.barrier.is_none() {
        let floor = |case: &Case| case.assessment.readings.attic_floor.peak.temp_c;
        let deck = |case: &Case| case.assessment.readings.deck_underside.peak.temp_c;
        let turn = |k: f64| if k < 0.0 { "cooler" } else { "hotter" };
        let (floor_k, deck_k) = (floor(case) - floor(first), deck(case) - deck(first));
        parts.push(format!(
            "{} barrier keeps the hot deck from shining on the attic floor, whose peak is {} {}, \
             while the deck's is {} {}",
            if parts.is_empty() { "the" } else { "The" },
            difference(system, floor_k),
            turn(floor_k),
            difference(system, deck_k),
            turn(deck_k),
        ));
    }
    if parts.is_empty() {
        return String::new();
    }
    format!(
        "{}: {}. {} passes the ceiling instead of {}.",
        case.design(),
        parts.join(". "),
        heat(system, -flow(own, is_ceiling)),
        heat(system, -flow(base, is_ceiling)),
    )
}

/// What the rooms feel of it, said plainly when it is little.
fn rooms(system: System, cases: &[Case]) -> Option<String> {
    let (first, others) = cases.split_first()?;
    let peak = |case: &Case| case.assessment.readings.living_air.peak.temp_c;
    let best = others.iter().min_by(|a, b| peak(a).total_cmp(&peak(b)))?;
    let drop_k = peak(first) - peak(best);
    if drop_k >= HARDLY_FELT_K {
        return None;
    }
    let mut weighs = vec!["shade on windows and walls".to_owned()];
    if first.house.living.airing.is_none() {
        weighs.push("night air through open windows".to_owned());
    }
    weighs.push("more insulation".to_owned());
    Some(format!(
        "In the rooms the hottest hour changes by {} at most: these measures matter more for the \
         attic than for the rooms here. For the rooms, look at {} too.",
        difference(system, drop_k),
        joined(&weighs)
    ))
}
