//! From answers to a house: one file a part.

mod attic;
mod barrier;
mod controls;
mod fans;
mod fitted;
mod living;
mod openings;
mod roof;
mod site;

use std::path::Path;

use super::House;
use super::clash::Clash;
use super::fault::FaultKind;
use super::form::Form;
use super::geometry::AtticShape;
use super::parts::{Assumption, Plan, RoofForm};
use super::walk::{Answers, Trouble};

/// Makes a house of answers that have no fault by themselves; other files that they name stand in
/// `folder` unless their path is whole.
pub(super) fn build(
    answers: &Answers,
    design: &str,
    name: &str,
    folder: &Path,
) -> (Option<House>, Vec<Trouble>) {
    let mut form = Form::new(answers);
    fans::references(&mut form);
    let site = site::site(&mut form);
    let plan = site::plan(&mut form);
    let roof = roof::roof(&mut form);
    let sized = plan.as_ref().zip(roof.as_ref());
    let excluded_m2 = attic::excluded_m2(&mut form, sized);
    let real = sized.map(|(plan, roof)| AtticShape::new(plan, roof, excluded_m2));
    let has_shape = real.is_some();
    let shape = &real.unwrap_or_else(stand_in);
    let controls = controls::controls(&mut form, shape);
    let attic = attic::attic(&mut form, shape, excluded_m2);
    let plan_m2 = shape.floor_area_m2() + excluded_m2;
    let ceiling = attic::ceiling(&mut form, shape, plan_m2);
    let vents = openings::openings(&mut form, shape);
    let fans = fans::fans(&mut form, shape, vents, &controls);
    let rafters_m = roof.as_ref().map_or(0.14, |roof| roof.rafter_depth_m);
    let barrier = barrier::barrier(&mut form, shape, rafters_m);
    let rooms = plan.clone().unwrap_or(Plan {
        length_m: shape.length_m,
        width_m: shape.width_m,
        storeys: 1,
        storey_height_m: 3.0,
        floor_height_m: 0.3,
    });
    let living = living::living(&mut form, &rooms, shape, &controls, folder);
    let sensors = controls::sensors(&mut form, &rooms, shape);
    fitted::fitted(&mut form);
    // Nothing may be lost without a word.
    let whole = controls.len() == form.names("controls").len()
        && sensors.len() == form.names("sensors").len();
    let mut assumed = std::mem::take(&mut form.assumed);
    let mut troubles = std::mem::take(&mut form.troubles);
    if !has_shape {
        troubles.retain(|trouble| !is_of_shape(&trouble.kind));
    }
    let house = (|| {
        if !whole {
            return None;
        }
        let (openings, fans) = fans?;
        let (ceiling, living) = (ceiling?, living?);
        Some(House {
            design: design.to_owned(),
            name: name.to_owned(),
            site: site?,
            plan: plan?,
            roof: roof?,
            attic: attic?,
            ceiling,
            openings,
            fans,
            barrier: barrier?,
            controls,
            living,
            sensors,
            assumed: {
                sort(&mut assumed);
                assumed
            },
        })
    })();
    (house, troubles)
}

/// An attic in which everything fits, so that the rest of a file is checked although its own attic
/// is not known yet.
fn stand_in() -> AtticShape {
    AtticShape::of(1e3, 1e3, RoofForm::Gable, 0.0, [0.8, 0.8])
}

/// Whether a fault hangs on the shape of the house.
fn is_of_shape(kind: &FaultKind) -> bool {
    let FaultKind::Clash(clash) = kind else {
        return false;
    };
    matches!(
        clash,
        Clash::HolesTooLarge { .. }
            | Clash::TooLong { .. }
            | Clash::TooHigh { .. }
            | Clash::NoSuchSide { .. }
            | Clash::FansFillOpening { .. }
            | Clash::LeakyCeiling { .. }
            | Clash::WindowsTooLarge { .. }
            | Clash::DeepChannel { .. }
            | Clash::NoAtticLeft { .. }
    )
}

fn sort(assumed: &mut [Assumption]) {
    assumed.sort_by(|a, b| a.field.cmp(&b.field));
}
