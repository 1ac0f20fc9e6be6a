//! Fans, and the vents that they leave.

use crate::catalog::nearest;
use crate::elementary::cos;
use crate::equipment::{Fan, FanCurve};
use crate::house::clash::Clash;
use crate::house::fault::FaultKind;
use crate::house::form::Form;
use crate::house::geometry::AtticShape;
use crate::house::parts::{Direction, FanGroup, NamedControl, Opening, Place};
use crate::house::walk::{Answer, Found};
use crate::units::Dimension;
use crate::units::show::direction;

use super::attic::{is_open_below, is_sealed};
use super::openings::{
    Hole, Vent, fits, free_share, height, hole, mesh_m, place, sides, upright_m,
};

/// Where the fans of a table are.
struct Seat {
    place: Place,
    /// Direction, height, discharge coefficient and, for fans in an opening, its index.
    sides: Vec<(f64, f64, Option<usize>)>,
    /// The opening's free share, if they are in one.
    free_share: Option<f64>,
}

/// All fans, and the openings with what the fans take of them.
pub(super) fn fans(
    form: &mut Form<'_>,
    shape: &AtticShape,
    mut vents: Vec<Vent>,
    controls: &[NamedControl],
) -> Option<(Vec<Opening>, Vec<FanGroup>)> {
    let mut groups = Vec::new();
    let mut spare = Vec::new();
    let mut whole = vents.len() == form.names("openings").len();
    for name in form.names("fans") {
        match group(form, shape, &mut vents, controls, &name) {
            Some((fans, holes)) => {
                if fans.is_empty() && holes.is_empty() {
                    // What is guessed about fans that are not there changes nothing.
                    let table = format!("fans.{name}.");
                    form.assumed.retain(|note| !note.field.starts_with(&table));
                }
                groups.extend(fans);
                spare.extend(holes);
            }
            None => whole = false,
        }
    }
    let openings = vents.into_iter().flat_map(|vent| vent.parts).chain(spare);
    let openings = openings
        .filter(|opening| opening.net_free_area_m2 > 1e-9)
        .collect();
    whole.then_some((openings, groups))
}

fn group(
    form: &mut Form<'_>,
    shape: &AtticShape,
    vents: &mut [Vent],
    controls: &[NamedControl],
    name: &str,
) -> Option<(Vec<FanGroup>, Vec<Opening>)> {
    let table = format!("fans.{name}");
    let key = |key: &str| format!("{table}.{key}");
    let measured = hole(form, &table);
    let fan = fan(form, &table, measured);
    let control = control(form, &key("control"), controls);
    if measured.is_none() && !form.has_table(&key("hole")) {
        let help = "shape and size of the hole that the fans blow through";
        let accepts = "a table like { shape = \"round\", diameter = \"6 in\" }".to_owned();
        form.trouble(&key("hole"), FaultKind::Missing { help, accepts });
    }
    let numbers = numbers(form, &table);
    let seat = seat(form, shape, vents, &table, measured);
    let direction = match form.given_word(&key("direction")) {
        Some("supply") => Direction::Supply,
        _ => Direction::Exhaust,
    };
    let (measured, seat, mut numbers) = (measured?, seat?, numbers?);
    let described = ["flow", "curve", "place", "in_opening", "count"].map(key);
    let described = described.each_ref().map(String::as_str);
    let last = form.latest(&described).to_owned();
    if numbers.fans > 0 && is_sealed(form, &last) {
        numbers.fans = 0;
        numbers.holes = 0;
    }
    let shutter_leak_m2 = if seat.place == Place::Ceiling {
        if is_open_below(form) {
            form.clash(&key("place"), Clash::OpenBelow);
        }
        for other in ["direction", "damper", "holes", "height", "faces"] {
            let usual = other == "direction" && direction == Direction::Exhaust;
            if form.is_with(&key(other), &key("place")) && !usual {
                let (choice, value) = ("place", "ceiling".to_owned());
                form.clash(&key(other), Clash::NotWith { choice, value });
            }
        }
        form.number(&key("shutter_leak"))? * f64::from(numbers.fans)
    } else {
        if form.is_with(&key("shutter_leak"), &key("place")) {
            form.clash(&key("shutter_leak"), Clash::NotWholeHouse);
        }
        0.0
    };
    let covers = ["screen", "louvre", "open_share"];
    let own_share = covers.iter().any(|cover| form.is_given(&key(cover)));
    let share = match seat.free_share {
        Some(share) if !own_share => share,
        _ => free_share(form, &table),
    };
    let each = FanGroup {
        name: table.clone(),
        fan: fan?,
        count: 0,
        place: seat.place,
        azimuth_rad: 0.0,
        hole_net_area_m2: measured.area_m2 * share,
        holes: 0,
        fans_per_hole: numbers.per_hole,
        height_m: 0.0,
        discharge_coefficient: form.number(&key("discharge"))?,
        direction,
        damper: form.flag(&key("damper")).unwrap_or(false),
        vent_distance_m: None,
        shutter_leak_m2,
        control: control?,
    };
    let (mut groups, spare) = spread(form, shape, vents, &seat, numbers, measured, &each)?;
    for group in &mut groups {
        group.vent_distance_m = vent_distance(form, vents, &spare, &seat, &table, group);
    }
    Some((groups, spare))
}

/// Distance from a group of fans to the nearest vent on its side, where there is one.
fn vent_distance(
    form: &mut Form<'_>,
    vents: &[Vent],
    spare: &[Opening],
    seat: &Seat,
    table: &str,
    group: &FanGroup,
) -> Option<f64> {
    let is_near = |opening: &&Opening| {
        let same_side = cos(opening.azimuth_rad - group.azimuth_rad) > 0.99;
        opening.place == group.place && same_side && opening.net_free_area_m2 > 1e-9
    };
    let parts = vents.iter().flat_map(|vent| &vent.parts);
    let vent = parts.chain(spare).find(is_near)?;
    if group.direction != Direction::Exhaust {
        return None;
    }
    let (likely, source) = if seat.sides.iter().any(|(.., index)| index.is_some()) {
        let size_m = vent.extent_m.max(0.1);
        let source =
            "the fans stand in the vent: about half its height; common practice, no source";
        ([0.5, 0.3, 1.0].map(|share| share * size_m), source)
    } else {
        let source = "vents and fans of one gable or slope stand a few feet apart; common practice, no source";
        ([1.0, 0.3, 3.0], source)
    };
    let key = format!("{table}.vent_distance");
    Some(form.likely(&key, likely, Dimension::Length, source))
}

/// How many fans and holes.
#[derive(Clone, Copy)]
struct Numbers {
    fans: u32,
    holes: u32,
    per_hole: u32,
}

fn numbers(form: &mut Form<'_>, table: &str) -> Option<Numbers> {
    let key = |key: &str| format!("{table}.{key}");
    let fans = form.count(&key("count"))?;
    let per_hole = form.count(&key("fans_per_hole"))?.max(1);
    let needed = fans.div_ceil(per_hole);
    let holes = if form.is_given(&key("holes")) {
        form.count(&key("holes"))?
    } else {
        needed
    };
    if holes < needed {
        let (holes_key, count_key) = (key("holes"), key("count"));
        let at = form.latest(&[&holes_key, &count_key]);
        form.clash(
            at,
            Clash::TooManyFans {
                fans,
                holes,
                per_hole,
            },
        );
        return None;
    }
    Some(Numbers {
        fans,
        holes,
        per_hole,
    })
}

/// Spreads fans and holes evenly over the sides; the first sides get what is left over.
fn spread(
    form: &mut Form<'_>,
    shape: &AtticShape,
    vents: &mut [Vent],
    seat: &Seat,
    numbers: Numbers,
    measured: Hole,
    each: &FanGroup,
) -> Option<(Vec<FanGroup>, Vec<Opening>)> {
    let table = &each.name;
    let mut groups = Vec::new();
    let mut spare = Vec::new();
    let sides = u32::try_from(seat.sides.len()).unwrap_or(1).max(1);
    for (at, &(azimuth_rad, height_m, vent)) in (0_u32..).zip(&seat.sides) {
        let here = |total: u32| total / sides + u32::from(at < total % sides);
        let count = here(numbers.fans);
        let holes = count.div_ceil(numbers.per_hole);
        let name = if sides > 1 {
            format!("{table}.{}", direction(azimuth_rad))
        } else {
            table.clone()
        };
        if let Some(index) = vent {
            let taken_m2 = each.hole_net_area_m2 * f64::from(holes);
            take(form, vents, index, azimuth_rad, taken_m2, table)?;
        } else {
            let all = match seat.place {
                Place::Ceiling => holes,
                _ => here(numbers.holes).max(holes),
            };
            fits(
                form,
                shape,
                table,
                seat.place,
                azimuth_rad,
                measured,
                f64::from(all),
            )?;
            if all > holes {
                spare.push(Opening {
                    name: format!("{name}.spare"),
                    place: seat.place,
                    azimuth_rad,
                    net_free_area_m2: each.hole_net_area_m2 * f64::from(all - holes),
                    height_m,
                    extent_m: upright_m(seat.place, measured, shape),
                    discharge_coefficient: each.discharge_coefficient,
                    turbine: None,
                    mesh_m: mesh_m(form, table),
                });
            }
        }
        if count > 0 {
            groups.push(FanGroup {
                name,
                count,
                azimuth_rad,
                holes,
                height_m,
                ..each.clone()
            });
        }
    }
    Some((groups, spare))
}

/// Takes the area of the fans' holes out of the opening that they stand in.
fn take(
    form: &mut Form<'_>,
    vents: &mut [Vent],
    index: usize,
    azimuth_rad: f64,
    taken_m2: f64,
    table: &str,
) -> Option<()> {
    let parts = &mut vents.get_mut(index)?.parts;
    let here = |part: &&mut Opening| cos(part.azimuth_rad - azimuth_rad) > 0.99;
    let part = parts.iter_mut().find(here)?;
    if taken_m2 > part.net_free_area_m2 * (1.0 + 1e-6) {
        let clash = Clash::FansFillOpening {
            holes_m2: taken_m2,
            opening_m2: part.net_free_area_m2,
        };
        let [opening, count] = ["in_opening", "count"].map(|key| format!("{table}.{key}"));
        let at = form.latest(&[&opening, &count]);
        form.clash(at, clash);
        return None;
    }
    part.net_free_area_m2 = (part.net_free_area_m2 - taken_m2).max(0.0);
    Some(())
}

fn seat(
    form: &mut Form<'_>,
    shape: &AtticShape,
    vents: &[Vent],
    table: &str,
    hole: Option<Hole>,
) -> Option<Seat> {
    let key = |key: &str| format!("{table}.{key}");
    if let Some(name) = form.text(&key("in_opening")) {
        for other in ["place", "faces", "height", "holes"] {
            if form.is_with(&key(other), &key("in_opening")) {
                form.clash(
                    &key(other),
                    Clash::Beside {
                        other: "in_opening",
                    },
                );
            }
        }
        let index = vents.iter().position(|vent| vent.name == name)?;
        let vent = vents.get(index)?;
        let sides = vent
            .parts
            .iter()
            .map(|part| (part.azimuth_rad, part.height_m, Some(index)))
            .collect();
        return Some(Seat {
            place: vent.place,
            sides,
            free_share: vent.free_share,
        });
    }
    let Some(word) = form.given_word(&key("place")) else {
        if !form.is_given(&key("place")) {
            form.clash(
                &key("place"),
                Clash::OneOf {
                    keys: &["in_opening", "place"],
                },
            );
        }
        return None;
    };
    let place = place(word)?;
    let extent_m = hole.map_or(0.0, |hole| upright_m(place, hole, shape));
    let mut seats = Vec::new();
    for azimuth_rad in sides(form, shape, table, place)? {
        seats.push((
            azimuth_rad,
            height(form, shape, table, place, azimuth_rad, extent_m)?,
            None,
        ));
    }
    Some(Seat {
        place,
        sides: seats,
        free_share: None,
    })
}

fn fan(form: &mut Form<'_>, table: &str, hole: Option<Hole>) -> Option<Fan> {
    let key = |key: &str| format!("{table}.{key}");
    let curve = if let Some(Answer {
        found: Found::Pairs(points),
        ..
    }) = form.answer(&key("curve"))
    {
        for other in ["flow", "shut_off"] {
            if form.is_with(&key(other), &key("curve")) {
                form.clash(&key(other), Clash::Beside { other: "curve" });
            }
        }
        FanCurve::Points(points.clone())
    } else {
        let free_air_m3_s = match form.given(&key("flow")) {
            Some(flow) => flow,
            None if form.answer(&key("flow")).is_some() => {
                let source = "air leaves a fan's hole at 1.5 to 5 m/s; common practice, no source";
                let flows = [3.0, 1.5, 5.0].map(|speed| speed * hole.map_or(0.05, |h| h.area_m2));
                form.likely(&key("flow"), flows, Dimension::AirFlow, source)
            }
            None => {
                form.clash(
                    &key("flow"),
                    Clash::OneOf {
                        keys: &["flow", "curve"],
                    },
                );
                return None;
            }
        };
        FanCurve::Quadratic {
            shut_off_pa: form.number(&key("shut_off"))?,
            free_air_m3_s,
        }
    };
    let flow = curve.free_air_m3_s();
    let source =
        "small direct-current to large mains fans, for each flow; common practice, no source";
    let powers = [150.0, 80.0, 600.0].map(|each| each * flow);
    let power_w = form.likely(&key("power"), powers, Dimension::Power, source);
    Some(Fan {
        curve,
        curve_density_kg_m3: form.number(&key("curve_density"))?,
        power_w,
        speed: form.number(&key("speed"))?,
    })
}

/// The control that a key names: `Some(None)` if it names none.
#[expect(
    clippy::option_option,
    reason = "nothing where there is a fault, none where the house has none"
)]
pub(super) fn control(
    form: &Form<'_>,
    key: &str,
    controls: &[NamedControl],
) -> Option<Option<usize>> {
    match form.text(key) {
        Some(name) => controls
            .iter()
            .position(|control| control.name == name)
            .map(Some),
        None => Some(None),
    }
}

/// Whether all that names a control or an opening names one that is there.
pub(super) fn references(form: &mut Form<'_>) {
    let mut keys = vec![("house.airing.control".to_owned(), "controls")];
    for name in form.names("fans") {
        keys.push((format!("fans.{name}.control"), "controls"));
        keys.push((format!("fans.{name}.in_opening"), "openings"));
    }
    for (key, group) in keys {
        if let Some(name) = form.text(&key) {
            undefined(form, &key, name, group);
        }
    }
}

fn undefined(form: &mut Form<'_>, key: &str, name: &str, group: &'static str) {
    if form.has_table(&format!("{group}.{name}")) {
        return;
    }
    let defined = form.names(group);
    let near = nearest(name, defined.iter().map(String::as_str)).map(str::to_owned);
    form.trouble(
        key,
        FaultKind::Undefined {
            found: name.to_owned(),
            group,
            defined,
            near,
        },
    );
}
