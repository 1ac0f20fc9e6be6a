//! Radiant barrier.

use crate::catalog::{self, BARRIERS, DUSTS};
use crate::house::clash::Clash;
use crate::house::form::Form;
use crate::house::geometry::AtticShape;
use crate::house::parts::{Barrier, BarrierPlace, Channel};
use crate::units::Dimension;

use super::attic::is_open_below;

/// Emittance of dust. Source: organic and mineral dust, general, from memory.
const DUST_EMITTANCE: f64 = 0.9;
/// Clean foil that the dust table is made for.
const CLEAN_EMITTANCE: f64 = 0.04;

/// The barrier: `Some(None)` if there is none.
#[expect(
    clippy::option_option,
    reason = "nothing where there is a fault, none where the house has none"
)]
pub(super) fn barrier(
    form: &mut Form<'_>,
    shape: &AtticShape,
    rafters_m: f64,
) -> Option<Option<Barrier>> {
    if !form.has_table("barrier") {
        return Some(None);
    }
    let place = form.word("barrier.place")?;
    if place == "none" {
        return Some(None);
    }
    if place == "floor" && is_open_below(form) {
        form.clash("barrier.place", Clash::OpenBelow);
        return None;
    }
    if place != "rafters" {
        for key in ["barrier.channel", "barrier.gap", "barrier.open_share"] {
            if form.is_with(key, "barrier.place") {
                form.clash(
                    key,
                    Clash::NotWith {
                        choice: "place",
                        value: place.to_owned(),
                    },
                );
            }
        }
    }
    let row = catalog::find(BARRIERS, form.word("barrier.product")?)?;
    let clean = form.likely(
        "barrier.emittance",
        row.emittance,
        Dimension::Fraction,
        row.source,
    );
    let emittance_attic = dusty(form, place, clean)?;
    let emittance_other = match form.given("barrier.other_face") {
        Some(emittance) => emittance,
        None if place == "rafters" => {
            let other = row.other_face;
            let likely = [other, (other * 0.8).max(0.02), (other * 1.5).min(0.95)];
            form.assume(
                "barrier.other_face",
                likely,
                Dimension::Fraction,
                row.source,
            )
        }
        None => row.other_face,
    };
    let coverage = form.number("barrier.coverage")?;
    let place = match place {
        "deck" => BarrierPlace::Deck,
        "floor" => BarrierPlace::Floor,
        _ => hung(form, shape, rafters_m)?,
    };
    Some(Some(Barrier {
        place,
        coverage,
        emittance_attic,
        emittance_other,
        capacity_j_m2k: row.capacity_j_m2k,
    }))
}

/// Emittance with dust: linear in the share that dust covers (Noboa, thesis, Texas A&M).
fn dusty(form: &mut Form<'_>, place: &str, clean: f64) -> Option<f64> {
    let word = match form.given_word("barrier.dust") {
        Some(word) => {
            if place != "floor" && word != "none" && form.is_with("barrier.dust", "barrier.place") {
                form.clash(
                    "barrier.dust",
                    Clash::NotWith {
                        choice: "place",
                        value: place.to_owned(),
                    },
                );
            }
            word
        }
        None if place == "floor" => {
            let source = "a bright face that looks up gathers dust within years, from memory";
            form.assume_word("barrier.dust", ["light", "none", "heavy"], source)
        }
        None => "none",
    };
    let row = catalog::find(DUSTS, word)?;
    let Some([emittance, ..]) = row.emittance.filter(|_| place == "floor") else {
        return Some(clean);
    };
    let covered = (emittance - CLEAN_EMITTANCE) / (DUST_EMITTANCE - CLEAN_EMITTANCE);
    Some(clean.max((1.0 - covered) * clean + covered * DUST_EMITTANCE))
}

fn hung(form: &mut Form<'_>, shape: &AtticShape, depth_m: f64) -> Option<BarrierPlace> {
    let channel = match form.word("barrier.channel")? {
        "closed" => Channel::Closed,
        "outdoors" => Channel::Outdoors,
        "eave-to-attic" => Channel::EaveToAttic,
        _ => Channel::Attic,
    };
    let likely = [depth_m, depth_m * 0.5, depth_m * 1.2];
    let source = "the depth of the rafters under which it hangs; common practice, no source";
    let gap_m = form.likely("barrier.gap", likely, Dimension::Length, source);
    if gap_m > shape.ridge_height_m / 3.0 {
        form.clash(
            "barrier.gap",
            Clash::DeepChannel {
                gap_m,
                attic_m: shape.ridge_height_m,
            },
        );
        return None;
    }
    let open_share = match channel {
        Channel::Closed => {
            if form.is_with("barrier.open_share", "barrier.channel") {
                let closed = "closed".to_owned();
                let clash = Clash::NotWith {
                    choice: "channel",
                    value: closed,
                };
                form.clash("barrier.open_share", clash);
            }
            0.0
        }
        _ => form.number("barrier.open_share")?,
    };
    Some(BarrierPlace::Rafters {
        gap_m,
        channel,
        open_share,
    })
}
