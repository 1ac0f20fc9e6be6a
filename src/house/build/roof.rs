//! Roof.

use std::f64::consts::{FRAC_PI_2, TAU};

use crate::catalog::{self, COVERINGS, Colour, CoveringRow};
use crate::elementary::tan;
use crate::house::clash::Clash;
use crate::house::fault::FaultKind;
use crate::house::form::Form;
use crate::house::geometry::hip_run_m;
use crate::house::names::plain;
use crate::house::parts::{Battens, Roof, RoofForm};
use crate::house::values::{direction, line};
use crate::physics::conduction::Layer;
use crate::physics::convection::Roughness;
use crate::units::Dimension;

/// Emittance of bare wood and boards; general, 0.8 to 0.9.
const WOOD_EMITTANCE: f64 = 0.9;

pub(super) fn roof(form: &mut Form<'_>) -> Option<Roof> {
    let shape = match form.word("roof.form") {
        Some("one-slope") => Some(RoofForm::OneSlope),
        Some("hip") => Some(RoofForm::Hip),
        Some(_) => Some(RoofForm::Gable),
        None => None,
    };
    let ridge_azimuth_rad = shape.and_then(|shape| ridge(form, shape));
    let covering = covering(form);
    let battens = covering.as_ref().and_then(|(_, row)| battens(form, *row));
    let deck = form.board("roof.deck", "roof.deck_thickness");
    let underside = underside(form);
    let finish = covering.as_ref().and_then(|(_, row)| finish(form, *row));
    let pitch_rad = form.number("roof.pitch");
    let hip_pitch_rad = hip_pitch(form, shape, pitch_rad);
    let roof = Roof {
        form: shape?,
        ridge_azimuth_rad: ridge_azimuth_rad?,
        pitch_rad: pitch_rad?,
        hip_pitch_rad: hip_pitch_rad?,
        covering: covering.as_ref()?.0.clone(),
        solar_absorptance: finish?[0],
        emittance: finish?[1],
        roughness: covering?
            .1
            .map_or(Roughness::MediumRough, |row| row.roughness),
        battens: battens?,
        underside: underside?,
        deck: deck?,
        deck_emittance: form.number("roof.deck_emittance")?,
        overhang_m: form.number("roof.overhang")?,
        rafter_depth_m: form.number("roof.rafter_depth")?,
    };
    Some(roof)
}

/// Insulation on the underside of the deck.
fn underside(form: &mut Form<'_>) -> Option<Vec<Layer>> {
    let (resistance_key, material_key) = ("roof.underside_insulation", "roof.underside_material");
    let Some(resistance) = form.given(resistance_key).filter(|r| *r > 1e-6) else {
        if form.is_given(material_key) && form.given(resistance_key).is_none() {
            form.missing(resistance_key);
            return None;
        }
        return Some(Vec::new());
    };
    let name = form
        .text(material_key)
        .or_else(|| form.word(material_key))?
        .to_owned();
    Some(vec![form.material(&name)?.layer_of_resistance(resistance)])
}

/// The pitch of the end slopes of a hip roof; they must not meet before the ridge.
fn hip_pitch(form: &mut Form<'_>, shape: Option<RoofForm>, pitch_rad: Option<f64>) -> Option<f64> {
    let key = "roof.hip_pitch";
    if shape != Some(RoofForm::Hip) {
        if shape.is_some() && form.is_with(key, "roof.form") {
            let value = form.given_word("roof.form").unwrap_or_default().to_owned();
            let choice = "form";
            form.clash(key, Clash::NotWith { choice, value });
        }
        return pitch_rad;
    }
    let hip_rad = form.given(key).or(pitch_rad)?;
    if let (Some(length_m), Some(width_m), Some(pitch_rad)) = (
        form.given("house.length"),
        form.given("house.width"),
        pitch_rad,
    ) {
        let needs_m = 2.0 * hip_run_m(width_m / 2.0 * tan(pitch_rad), hip_rad);
        if needs_m > length_m * (1.0 + 1e-6) {
            let at = if form.is_given(key) { key } else { "roof.form" };
            form.clash(at, Clash::HipsMeet { needs_m, length_m });
            return None;
        }
    }
    Some(hip_rad)
}

/// The ridge's direction; of one slope such that the slope faces a right angle clockwise from it.
fn ridge(form: &mut Form<'_>, shape: RoofForm) -> Option<f64> {
    let (needed, other, word) = match shape {
        RoofForm::Gable => ("roof.ridge", "roof.faces", "gable"),
        RoofForm::Hip => ("roof.ridge", "roof.faces", "hip"),
        RoofForm::OneSlope => ("roof.faces", "roof.ridge", "one-slope"),
    };
    if form.is_with(other, "roof.form") {
        form.clash(
            other,
            Clash::NotWith {
                choice: "form",
                value: word.to_owned(),
            },
        );
    }
    let direction = match form.given(needed) {
        Some(direction) => direction,
        None if form.answer(needed).is_some() => {
            let word = form.word(needed)?;
            line(word).or_else(|_| direction(word)).ok()?
        }
        None => {
            form.missing(needed);
            return None;
        }
    };
    Some(match shape {
        RoofForm::Gable | RoofForm::Hip => direction,
        RoofForm::OneSlope => (direction - FRAC_PI_2).rem_euclid(TAU),
    })
}

/// The covering's layers and, unless it is the file's own material, its row.
fn covering(form: &mut Form<'_>) -> Option<(Vec<Layer>, Option<&'static CoveringRow>)> {
    if let Some(name) = form.text("roof.covering").map(str::to_owned) {
        let Some(thickness_m) = form.given("roof.covering_thickness") else {
            form.missing("roof.covering_thickness");
            return None;
        };
        return Some((vec![form.layer(&name, thickness_m)?], None));
    }
    let name = form.word("roof.covering")?;
    if form.is_with("roof.covering_thickness", "roof.covering") {
        form.clash(
            "roof.covering_thickness",
            Clash::NotWith {
                choice: "covering",
                value: name.to_owned(),
            },
        );
    }
    let row = catalog::find(COVERINGS, name)?;
    Some((form.stack(row.layers.iter().copied())?, Some(row)))
}

/// Absorptance and emittance: given, or of the colour, or of the covering in any colour.
fn finish(form: &mut Form<'_>, row: Option<&'static CoveringRow>) -> Option<[f64; 2]> {
    let colour = match (row, form.text("roof.colour").map(str::to_owned)) {
        (Some(row), Some(typed)) if plain(&typed) != "unknown" => {
            let Some(colour) = catalog::colour(row.surface, &plain(&typed)) else {
                let known: Vec<String> = catalog::colours_of(row.surface)
                    .map(str::to_owned)
                    .collect();
                let near = catalog::nearest(&plain(&typed), known.iter().map(String::as_str))
                    .map(str::to_owned);
                let what = "colour of that covering";
                form.trouble(
                    "roof.colour",
                    FaultKind::UnknownWord {
                        found: typed,
                        what,
                        near,
                        known,
                    },
                );
                return None;
            };
            Some(colour)
        }
        (Some(row), _) => catalog::colour(row.surface, "unknown"),
        (None, _) => None,
    };
    let own = Colour {
        surface: catalog::Surface::Tile,
        name: "own",
        absorptance: [0.8, 0.3, 0.95],
        emittance: [0.9, 0.2, 0.95],
        source: "most roofs; common practice, no source",
    };
    let colour = colour.copied().unwrap_or(own);
    let mut value =
        |key: &str, likely| form.likely(key, likely, Dimension::Fraction, colour.source);
    let absorptance = value("roof.absorptance", colour.absorptance);
    Some([absorptance, value("roof.emittance", colour.emittance)])
}

/// The air space below the covering, if there is one.
#[expect(
    clippy::option_option,
    reason = "nothing where there is a fault, none where the house has none"
)]
fn battens(form: &mut Form<'_>, row: Option<&'static CoveringRow>) -> Option<Option<Battens>> {
    let described = form.has_table("roof.battens");
    let on_battens = match form.flag("roof.on_battens") {
        Some(false)
            if ["roof.battens.gap", "roof.battens.open"]
                .iter()
                .any(|key| form.is_with(key, "roof.on_battens")) =>
        {
            form.clash(
                "roof.on_battens",
                Clash::Denied {
                    table: "roof.battens",
                },
            );
            return None;
        }
        Some(flag) => flag,
        None if described => true,
        None => {
            let usual = row.is_some_and(|row| row.on_battens);
            if usual {
                let source = "such coverings mostly lie on battens; common practice, no source";
                form.assume_word("roof.on_battens", ["true", "false", "true"], source);
            }
            usual
        }
    };
    if !on_battens {
        return Some(None);
    }
    Some(Some(Battens {
        gap_m: form.number("roof.battens.gap")?,
        open_share: form.number("roof.battens.open")?,
        covering_emittance: row.map_or(WOOD_EMITTANCE, |row| row.underside_emittance),
        deck_emittance: WOOD_EMITTANCE,
    }))
}
