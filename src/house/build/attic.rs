//! Attic and ceiling.

use crate::catalog::{self, GABLE_WALLS, MATERIALS};
use crate::elementary::power;
use crate::house::clash::Clash;
use crate::house::form::{Form, Stuff};
use crate::house::geometry::AtticShape;
use crate::house::parts::{Attic, Ceiling, Excluded, Plan, Roof, VapourRetarder};
use crate::house::walk::{Answer, Found, Leakage};
use crate::physics::conduction::Layer;
use crate::units::Dimension;

/// Density of the air in which leaks are measured, kg/m³.
const AIR_KG_M3: f64 = 1.2;
/// R-1 in m² K/W.
const R: f64 = 0.176_110_18;
/// Exponent of ceiling leaks. Source: ceilings 0.6 to 0.75, ASHRAE and Sherman, from memory.
const CEILING_EXPONENT: f64 = 0.65;

/// Share of the plan that must stay under an attic.
const LEAST_ATTIC: f64 = 0.1;

/// Area of the plan without attic, m²; what is too much is told and not taken.
pub(super) fn excluded_m2(form: &mut Form<'_>, sized: Option<(&Plan, &Roof)>) -> f64 {
    let key = "attic.excluded_area";
    let Some(area_m2) = form.given(key).filter(|area_m2| *area_m2 > 0.0) else {
        return 0.0;
    };
    let Some((plan, roof)) = sized else {
        return 0.0;
    };
    let whole = AtticShape::new(plan, roof, 0.0);
    let least_m = (2.0 * whole.hip_m).max(LEAST_ATTIC * plan.length_m);
    let most_m2 = (plan.length_m - least_m).max(0.0) * plan.width_m;
    if area_m2 > most_m2 {
        form.clash(key, Clash::NoAtticLeft { area_m2, most_m2 });
        return 0.0;
    }
    area_m2
}

/// Ceiling and insulation of the part of the plan without attic.
#[expect(
    clippy::option_option,
    reason = "nothing where there is a fault, none where the house has none"
)]
fn excluded(form: &mut Form<'_>, area_m2: f64) -> Option<Option<Excluded>> {
    if area_m2 <= 0.0 {
        return Some(None);
    }
    let mut layers = form.board("ceiling.board", "ceiling.board_thickness")?;
    let resistance = form.number("attic.excluded_insulation")?;
    if resistance > 1e-6 {
        let stuff = form.material("fibreglass-batt")?;
        layers.push(stuff.layer_of_resistance(resistance));
    }
    Some(Some(Excluded { area_m2, layers }))
}

/// Whether there is no ceiling below the attic.
pub(super) fn is_open_below(form: &Form<'_>) -> bool {
    form.flag("ceiling.open") == Some(true)
}

/// What closes the attic to outdoors on purpose, if anything does.
pub(super) fn sealed_by(form: &Form<'_>) -> Option<&'static str> {
    let foam = "roof.underside_insulation";
    if form.flag("attic.sealed") == Some(true) {
        Some("attic.sealed")
    } else if form.given(foam).is_some_and(|resistance| resistance > 1e-6) {
        Some(foam)
    } else {
        None
    }
}

/// Whether an opening or fan is void because the attic was sealed later than it was described;
/// one that was described with or after the sealing does not go with it and is told.
pub(super) fn is_sealed(form: &mut Form<'_>, key: &str) -> bool {
    let Some(by) = sealed_by(form) else {
        return false;
    };
    if form.is_with(key, by) {
        form.clash(key, Clash::SealedAttic { by });
    }
    true
}

pub(super) fn attic(form: &mut Form<'_>, shape: &AtticShape, excluded_m2: f64) -> Option<Attic> {
    let gable_wall = gable_wall(form);
    let floor_m2 = shape.floor_area_m2();
    let shell_m2: f64 = shape.slopes.iter().map(|slope| slope.area_m2).sum::<f64>()
        + shape.walls.iter().map(|wall| wall.area_m2).sum::<f64>();
    let framing =
        "rafters, struts and ties of usual house roofs per floor area; common practice, no source";
    let leaks = "leakage areas of attics without vents: a few air changes an hour in wind (Walker and Forest 1995, from memory), for each area of roof and gables";
    let excluded = excluded(form, excluded_m2);
    // A shell that was closed on purpose keeps its small cracks.
    let (leak_m2_m2, leaks) = if sealed_by(form).is_some() {
        let source = "a tenth of a usual shell where the attic was sealed, by judgement";
        ([2e-5, 0.5e-5, 8e-5], source)
    } else {
        ([2e-4, 0.5e-4, 8e-4], leaks)
    };
    Some(Attic {
        sealed: sealed_by(form).is_some(),
        excluded: excluded?,
        gable_wall: gable_wall?,
        gable_absorptance: form.number("attic.gable_absorptance")?,
        gable_emittance: form.number("attic.gable_emittance")?,
        film: form.number("attic.film")?,
        air_error_k: form.number("attic.air_error")?,
        framing_mass_kg: derived(
            form,
            "attic.framing_mass",
            Dimension::Mass,
            [8.0, 5.0, 14.0],
            floor_m2,
            framing,
        ),
        framing_area_m2: derived(
            form,
            "attic.framing_area",
            Dimension::Area,
            [0.7, 0.4, 1.2],
            floor_m2,
            framing,
        ),
        framing_specific_heat_j_kgk: catalog::find(MATERIALS, "softwood")?.specific_heat_j_kgk,
        leakage_area_m2: derived(
            form,
            "attic.leakage",
            Dimension::LeakageArea,
            leak_m2_m2,
            shell_m2,
            leaks,
        ),
        air_path_m: form.given("attic.air_path"),
    })
}

/// Layers of the attic's upright walls; a hip roof has none.
fn gable_wall(form: &mut Form<'_>) -> Option<Vec<Layer>> {
    let key = "attic.gable_wall";
    if form.given_word("roof.form") == Some("hip") {
        if form.is_with(key, "roof.form") {
            let (choice, value) = ("form", "hip".to_owned());
            form.clash(key, Clash::NotWith { choice, value });
        }
        return Some(Vec::new());
    }
    match form.answer(key) {
        Some(Answer {
            found: Found::Layers(layers),
            ..
        }) => form.stack(
            layers
                .iter()
                .map(|(name, thickness_m)| (name.as_str(), *thickness_m)),
        ),
        Some(_) => form
            .word(key)
            .and_then(|name| catalog::find(GABLE_WALLS, name))
            .and_then(|row| form.stack(row.layers.iter().copied())),
        None => {
            if form.has_table("attic") {
                form.missing(key);
            }
            None
        }
    }
}

/// A value that was given, or a likely one per area times the area.
pub(super) fn derived(
    form: &mut Form<'_>,
    key: &str,
    dimension: Dimension,
    per_area: [f64; 3],
    area_m2: f64,
    source: &str,
) -> f64 {
    form.likely(key, per_area.map(|each| each * area_m2), dimension, source)
}

pub(super) fn ceiling(form: &mut Form<'_>, shape: &AtticShape, plan_m2: f64) -> Option<Ceiling> {
    if is_open_below(form) {
        for key in [
            "insulation",
            "insulation_thickness",
            "board",
            "leakage",
            "air_sealing",
            "vapour_retarder",
        ] {
            let key = format!("ceiling.{key}");
            if form.is_with(&key, "ceiling.open") {
                form.clash(&key, Clash::OpenBelow);
            }
        }
        return Some(Ceiling {
            open: true,
            board: Vec::new(),
            insulation: Vec::new(),
            joist_path: Vec::new(),
            joist_share: 0.0,
            floor_emittance: 1.0,
            leakage_area_m2: 0.0,
            vapour_retarder: None,
        });
    }
    let board = form.board("ceiling.board", "ceiling.board_thickness");
    let insulation = insulation(form);
    let depth_m = form.number("ceiling.joist_depth");
    let width_m = form.number("ceiling.joist_width")?;
    let spacing_m = form.number("ceiling.joist_spacing")?;
    if width_m >= spacing_m {
        form.clash("ceiling.joist_width", Clash::JoistsTouch);
        return None;
    }
    let insulation = insulation?;
    let joist = form.layer("softwood", depth_m?)?;
    let mut joist_path = vec![joist];
    let mut fill = Vec::new();
    if let Some((stuff, thickness_m)) = insulation {
        fill.push(stuff.layer(thickness_m));
        let above_m = thickness_m - depth_m?;
        if above_m > 1e-3 {
            joist_path.push(stuff.layer(above_m));
        }
    }
    Some(Ceiling {
        open: false,
        board: board?,
        insulation: fill,
        joist_path,
        joist_share: width_m / spacing_m,
        floor_emittance: form.number("ceiling.floor_emittance")?,
        leakage_area_m2: ceiling_leakage(form, shape, plan_m2)
            * (1.0 - form.number("ceiling.air_sealing")?),
        vapour_retarder: form
            .given_word("ceiling.vapour_retarder")
            .map(|word| match word {
                "class-1" => VapourRetarder::ClassI,
                "class-2" => VapourRetarder::ClassII,
                _ => VapourRetarder::None,
            }),
    })
}

/// The insulation and its thickness in m: by R-value, by thickness, or by both; `Some(None)` if
/// there is none.
#[expect(
    clippy::option_option,
    reason = "nothing where there is a fault, none where the house has none"
)]
fn insulation(form: &mut Form<'_>) -> Option<Option<(Stuff, f64)>> {
    let given_r = form.given("ceiling.insulation");
    let given_m = form.given("ceiling.insulation_thickness");
    let resistance = match (given_r, given_m) {
        (None, None) => {
            let source = "older houses have R-5 to R-30, many R-11; common practice, no source";
            let likely = [11.0 * R, 5.0 * R, 30.0 * R];
            Some(form.assume(
                "ceiling.insulation",
                likely,
                Dimension::ThermalResistance,
                source,
            ))
        }
        (given, _) => given,
    };
    if resistance.is_some_and(|r| r < 1e-6) || given_m.is_some_and(|m| m < 1e-4) {
        return Some(None);
    }
    let name = form
        .text("ceiling.insulation_material")
        .or_else(|| form.word("ceiling.insulation_material"))?
        .to_owned();
    let stuff = form.material(&name)?;
    Some(Some(match (resistance, given_m) {
        (Some(r), Some(thickness_m)) => {
            let conductivity_w_mk = thickness_m / r;
            if !(0.015..=0.2).contains(&conductivity_w_mk) {
                form.clash(
                    "ceiling.insulation",
                    Clash::Insulation { conductivity_w_mk },
                );
                return None;
            }
            (
                Stuff {
                    conductivity_w_mk,
                    ..stuff
                },
                thickness_m,
            )
        }
        (Some(r), None) => (stuff, r * stuff.conductivity_w_mk),
        (None, thickness_m) => (stuff, thickness_m?),
    }))
}

/// Leakage area of the whole house from its blower-door result, if there is one, m².
pub(super) fn house_leakage_m2(form: &mut Form<'_>, volume_m3: f64, exponent: f64) -> f64 {
    let flow = match form.answer("house.leakage").map(|answer| &answer.found) {
        Some(Found::Leakage(Leakage::Area(area_m2))) => return *area_m2,
        Some(Found::Leakage(Leakage::Flow(flow))) => *flow,
        Some(Found::Leakage(Leakage::AirChanges(changes))) => changes * volume_m3 / 3600.0,
        _ => {
            let source = "older houses 4 to 18 air changes at 50 Pa; common practice, no source";
            let changes = form.assume(
                "house.leakage",
                [9.0, 4.0, 18.0],
                Dimension::AirChangeRate,
                source,
            );
            changes * volume_m3 / 3600.0
        }
    };
    // Flow at 4 Pa through an area with a discharge coefficient of 1: Q = A √(2 Δp/ρ).
    let at_4_pa = flow * power(4.0_f64 / 50.0, exponent);
    at_4_pa / (8.0 / AIR_KG_M3).sqrt()
}

/// Flow at 1 Pa of a leakage area at 4 Pa, m³/s.
pub(super) fn flow_at_1_pa(area_m2: f64, exponent: f64) -> f64 {
    area_m2 * (8.0 / AIR_KG_M3).sqrt() / power(4.0_f64, exponent)
}

/// Leakage of the ceiling: given, else the usual, but never more than two fifths of what a blower
/// door found in the whole house.
fn ceiling_leakage(form: &mut Form<'_>, shape: &AtticShape, plan_m2: f64) -> f64 {
    if let Some(area_m2) = form.given("ceiling.leakage") {
        return area_m2;
    }
    let limit_m2 = match form.answer("house.leakage").map(|answer| &answer.found) {
        Some(Found::Leakage(_)) => {
            let storeys = form.number("house.storeys").unwrap_or(1.0);
            let volume_m3 = plan_m2 * form.given("house.ceiling_height").unwrap_or(2.4) * storeys;
            0.4 * house_leakage_m2(form, volume_m3, CEILING_EXPONENT)
        }
        _ => f64::INFINITY,
    };
    let source = "0.5 to 5 cm² of leak a m² of ceiling, typically 2, from memory, low confidence; at most two fifths of what the blower door found";
    let likely = [2e-4, 0.5e-4, 5e-4].map(|each| (each * shape.floor_area_m2()).min(limit_m2));
    form.assume("ceiling.leakage", likely, Dimension::LeakageArea, source)
}
