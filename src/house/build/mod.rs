//! From answers to a house: one file a part.

mod attic;
mod barrier;
mod controls;
mod fans;
mod living;
mod openings;
mod roof;
mod site;

use super::House;
use super::form::Form;
use super::geometry::AtticShape;
use super::parts::Assumption;
use super::walk::{Answers, Trouble};

/// Makes a house of answers that have no fault by themselves.
pub(super) fn build(answers: &Answers, design: &str, name: &str) -> (Option<House>, Vec<Trouble>) {
    let mut form = Form::new(answers);
    let site = site::site(&mut form);
    let plan = site::plan(&mut form);
    let roof = roof::roof(&mut form);
    let shape = plan
        .as_ref()
        .zip(roof.as_ref())
        .map(|(plan, roof)| AtticShape::new(plan, roof));
    let controls = controls::controls(&mut form, shape.as_ref());
    let attic = shape
        .as_ref()
        .and_then(|shape| attic::attic(&mut form, shape));
    let ceiling = shape
        .as_ref()
        .and_then(|shape| attic::ceiling(&mut form, shape));
    let vents = shape
        .as_ref()
        .map(|shape| openings::openings(&mut form, shape));
    let fans = shape
        .as_ref()
        .zip(vents)
        .and_then(|(shape, vents)| fans::fans(&mut form, shape, vents, &controls));
    let barrier = shape
        .as_ref()
        .zip(roof.as_ref())
        .and_then(|(shape, roof)| barrier::barrier(&mut form, shape, roof));
    let living = plan
        .as_ref()
        .zip(shape.as_ref())
        .and_then(|(plan, shape)| living::living(&mut form, plan, shape, &controls));
    let sensors = plan
        .as_ref()
        .zip(shape.as_ref())
        .map(|(plan, shape)| controls::sensors(&mut form, plan, shape));
    let mut assumed = std::mem::take(&mut form.assumed);
    let troubles = std::mem::take(&mut form.troubles);
    let house = (|| {
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
            sensors: sensors?,
            assumed: {
                sort(&mut assumed);
                assumed
            },
        })
    })();
    (house, troubles)
}

fn sort(assumed: &mut [Assumption]) {
    assumed.sort_by(|a, b| a.field.cmp(&b.field));
}
