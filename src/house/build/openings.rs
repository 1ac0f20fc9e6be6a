//! Openings and holes.

use std::f64::consts::PI;

use crate::catalog::{self, LOUVRES, Mesh, SCREENS};
use crate::elementary::{cos, sin};
use crate::house::clash::Clash;
use crate::house::form::Form;
use crate::house::geometry::AtticShape;
use crate::house::parts::{Opening, Place, RoofForm};
use crate::house::walk::Found;
use crate::units::Dimension;
use crate::units::show::direction;

use super::attic::is_sealed;

/// The openings of one table, a part for each side that they are on.
pub(super) struct Vent {
    /// Name in the file without its group.
    pub(super) name: String,
    /// What it is in.
    pub(super) place: Place,
    /// Net free share of the holes, where it is known.
    pub(super) free_share: Option<f64>,
    /// One for each side.
    pub(super) parts: Vec<Opening>,
}

/// A hole as measured.
#[derive(Clone, Copy)]
pub(super) struct Hole {
    /// Area, m².
    pub(super) area_m2: f64,
    /// From lower to upper edge where it is upright, m.
    pub(super) extent_m: f64,
    /// Longest side, m.
    pub(super) length_m: f64,
}

pub(super) fn openings(form: &mut Form<'_>, shape: &AtticShape) -> Vec<Vent> {
    let names = form.names("openings");
    names
        .iter()
        .filter_map(|name| opening(form, shape, name))
        .collect()
}

fn opening(form: &mut Form<'_>, shape: &AtticShape, name: &str) -> Option<Vent> {
    let table = format!("openings.{name}");
    let key = |key: &str| format!("{table}.{key}");
    let place = place(form.word(&key("place"))?)?;
    let sides = sides(form, shape, &table, place);
    let hole = hole(form, &table);
    let unsaid = form.answer(&key("net_area")).is_some() && hole.is_none();
    let net_m2 = match form.given(&key("net_area")) {
        None if unsaid && !form.is_faulty(&table) => Some(likely_net_m2(form, shape, &table)?),
        given => given,
    };
    let free_share = match (net_m2, hole) {
        (Some(_), _) => {
            for covers in ["screen", "louvre", "open_share"] {
                if form.is_with(&key(covers), &key("net_area")) {
                    form.clash(&key(covers), Clash::Beside { other: "net_area" });
                }
            }
            None
        }
        (None, Some(_)) => Some(free_share(form, &table)),
        (None, None) => {
            if !form.has_table(&key("hole")) {
                form.clash(
                    &key("net_area"),
                    Clash::OneOf {
                        keys: &["net_area", "hole"],
                    },
                );
            }
            return None;
        }
    };
    let count = f64::from(form.count(&key("count"))?);
    let each_m2 = net_m2.or_else(|| Some(hole?.area_m2 * free_share?))?;
    // Where only the net area is known, a square hole that is half free stands for its height.
    let square_m = (each_m2 / 0.5).sqrt();
    let hole = hole.unwrap_or(Hole {
        area_m2: each_m2,
        extent_m: square_m,
        length_m: square_m,
    });
    let turbine = turbine(form, &table, place, each_m2)?;
    let discharge = if turbine.is_some() {
        let source = "discharge coefficients of ventilators' throats, by judgement";
        let likely = [0.55, 0.5, 0.6];
        form.likely(&key("discharge"), likely, Dimension::Fraction, source)
    } else {
        form.number(&key("discharge"))?
    };
    let sides = sides?;
    let blocked = form.number(&key("blocked"))?;
    let described = ["place", "net_area", "count", "hole.shape"].map(key);
    let described = described.each_ref().map(String::as_str);
    let last = form.latest(&described).to_owned();
    let free = if count > 0.0 && is_sealed(form, &last) {
        0.0
    } else {
        1.0 - blocked
    };
    // Vents stand evenly along the eaves, so that a longer eave has more of them.
    let shares = shares(shape, place, &sides);
    let extent_m = upright_m(place, hole, shape);
    let mut parts = Vec::new();
    for (&azimuth_rad, share) in sides.iter().zip(shares) {
        let per_side = count * share;
        let height_m = height(form, shape, &table, place, azimuth_rad, extent_m);
        let fits = fits(form, shape, &table, place, azimuth_rad, hole, per_side);
        let (Some(height_m), Some(())) = (height_m, fits) else {
            return None;
        };
        let full = format!("openings.{name}");
        parts.push(Opening {
            name: if sides.len() > 1 {
                format!("{full}.{}", direction(azimuth_rad))
            } else {
                full
            },
            place,
            azimuth_rad,
            net_free_area_m2: each_m2 * per_side * free,
            height_m,
            extent_m,
            discharge_coefficient: discharge,
            turbine,
            mesh_m: mesh_m(form, &table),
        });
    }
    Some(Vent {
        name: name.to_owned(),
        place,
        free_share,
        parts,
    })
}

/// The flow coefficient of a wind turbine; `Some(None)` of a plain hole.
///
/// A rated point gives it: `C_f = V̇/(A V)`. More than 1 is more air than the wind itself would
/// carry through the throat: brochures print such points, and no turbine keeps them.
#[expect(
    clippy::option_option,
    reason = "nothing where there is a fault, none where the house has none"
)]
fn turbine(form: &mut Form<'_>, table: &str, place: Place, each_m2: f64) -> Option<Option<f64>> {
    let key = |key: &str| format!("{table}.{key}");
    let own = ["flow_coefficient", "rated_flow", "rated_wind"].map(key);
    if form.given_word(&key("kind")) != Some("turbine") {
        for other in &own {
            if !form.is_given(other) {
                continue;
            }
            let (choice, value) = ("kind", "hole".to_owned());
            form.clash(other, Clash::NotWith { choice, value });
        }
        return Some(None);
    }
    if !matches!(place, Place::Ridge | Place::Slope) {
        form.clash(&key("place"), Clash::TurbineBelowRoof);
        return None;
    }
    let [coefficient, flow, wind] = own;
    if let Some(given) = form.given(&coefficient) {
        for rated in [&flow, &wind] {
            if form.is_with(rated, &coefficient) {
                let other = "flow_coefficient";
                form.clash(rated, Clash::Beside { other });
            }
        }
        return Some(Some(given));
    }
    let judged = [0.3, 0.2, 0.4];
    let rated = match (form.given(&flow), form.given(&wind)) {
        (Some(flow_m3_s), Some(wind_m_s)) => Some(flow_m3_s / (each_m2 * wind_m_s)),
        (None, None) => None,
        (Some(_), None) => {
            form.missing(&wind);
            return None;
        }
        (None, Some(_)) => {
            form.missing(&flow);
            return None;
        }
    };
    match rated {
        Some(rated) if rated <= 1.0 => Some(Some(rated)),
        Some(rated) => {
            let source = format!(
                "the rated point would be {rated:.1} times what the wind itself carries through the \
                 throat, as brochures print it and no turbine does: set aside for a coefficient by \
                 judgement"
            );
            let value = form.assume(&coefficient, judged, Dimension::Fraction, &source);
            Some(Some(value))
        }
        None => {
            let source = "flow coefficients of turbines without a test sheet, by judgement";
            let value = form.assume(&coefficient, judged, Dimension::Fraction, source);
            Some(Some(value))
        }
    }
}

/// The net free area of one vent of a table whose owner does not know it.
fn likely_net_m2(form: &mut Form<'_>, shape: &AtticShape, table: &str) -> Option<f64> {
    let count = f64::from(form.count(&format!("{table}.count"))?.max(1));
    let source =
        "a group of vents has 1/2000 to 1/200 of the attic floor; common practice, no source";
    let likely = [600.0, 2000.0, 200.0].map(|part| shape.floor_area_m2() / part / count);
    Some(form.likely(
        &format!("{table}.net_area"),
        likely,
        Dimension::Area,
        source,
    ))
}

pub(super) fn place(word: &str) -> Option<Place> {
    Some(match word {
        "soffit" => Place::Soffit,
        "ridge" => Place::Ridge,
        "gable" => Place::Gable,
        "slope" => Place::Slope,
        "ceiling" => Place::Ceiling,
        _ => return None,
    })
}

/// A word for a place, for messages.
fn within(place: Place) -> &'static str {
    match place {
        Place::Soffit => "eave",
        Place::Ridge => "ridge",
        Place::Gable => "gable",
        Place::Slope => "slope",
        Place::Ceiling => "ceiling",
    }
}

/// The directions in which a table's holes are, as the house has them, rad.
pub(super) fn sides(
    form: &mut Form<'_>,
    shape: &AtticShape,
    table: &str,
    place: Place,
) -> Option<Vec<f64>> {
    let key = format!("{table}.faces");
    let all = shape.sides_rad(place);
    if place == Place::Gable && shape.form == RoofForm::Hip {
        form.clash(&format!("{table}.place"), Clash::NoGable);
        return None;
    }
    match (place, form.answer(&key).map(|answer| &answer.found)) {
        (Place::Ridge | Place::Ceiling, _) => Some(vec![0.0]),
        (_, Some(Found::All)) => Some(all),
        (_, Some(Found::Both)) => Some(all.into_iter().take(2).collect()),
        (_, Some(Found::Number(azimuth_rad))) => {
            let side = nearest_side(&all, *azimuth_rad);
            if side.is_none() {
                form.clash(
                    &key,
                    Clash::NoSuchSide {
                        within: within(place),
                        sides_rad: all,
                    },
                );
            }
            side.map(|side| vec![side])
        }
        (Place::Slope, None) if all.len() == 1 => Some(all),
        _ => {
            form.missing(&key);
            None
        }
    }
}

/// Share of a group of vents on each of its sides: by the length of the eaves, else alike.
fn shares(shape: &AtticShape, place: Place, sides_rad: &[f64]) -> Vec<f64> {
    let weights: Vec<f64> = sides_rad
        .iter()
        .map(|&side| match place {
            Place::Soffit => shape.eave_length_m(side),
            _ => 1.0,
        })
        .collect();
    let sum: f64 = weights.iter().sum();
    weights.into_iter().map(|weight| weight / sum).collect()
}

/// The side that faces within 50° of a direction; half way between two, the first of them.
pub(super) fn nearest_side(sides_rad: &[f64], azimuth_rad: f64) -> Option<f64> {
    sides_rad
        .iter()
        .copied()
        .filter(|side| cos(side - azimuth_rad) > cos(50.0_f64.to_radians()))
        .max_by(|a, b| cos(a - azimuth_rad).total_cmp(&cos(b - azimuth_rad)))
}

/// The hole of a table, if it is described without fault.
pub(super) fn hole(form: &mut Form<'_>, table: &str) -> Option<Hole> {
    let key = |key: &str| format!("{table}.hole.{key}");
    let shape = form.word(&key("shape"))?;
    let needed: [&'static str; 2] = match shape {
        "round" => ["diameter", "diameter"],
        "strip" => ["length", "width"],
        _ => ["width", "height"],
    };
    for other in ["diameter", "width", "height", "length"] {
        if !needed.contains(&other) && form.is_with(&key(other), &key("shape")) {
            form.clash(
                &key(other),
                Clash::NotWith {
                    choice: "shape",
                    value: shape.to_owned(),
                },
            );
        }
    }
    let mut sizes = needed.map(|size| form.given(&key(size)));
    for (at, size) in needed.iter().enumerate() {
        if sizes.get(at).is_some_and(Option::is_none) && (at == 0 || needed[0] != needed[1]) {
            form.missing(&key(size));
        }
    }
    let [first, second] = [sizes[0].take()?, sizes[1].take()?];
    Some(match shape {
        "round" | "oval" => Hole {
            area_m2: PI / 4.0 * first * second,
            extent_m: second,
            length_m: first,
        },
        "strip" => Hole {
            area_m2: first * second,
            extent_m: second,
            length_m: first,
        },
        _ => Hole {
            area_m2: first * second,
            extent_m: second,
            length_m: first.max(second),
        },
    })
}

/// Clear width of one opening of the mesh that a table names, m.
pub(super) fn mesh_m(form: &Form<'_>, table: &str) -> Option<f64> {
    let word = form.given_word(&format!("{table}.screen"))?;
    catalog::find(SCREENS, word)?.opening_m
}

/// The net free share of a table's holes: given, or of its screen and louvre, or assumed.
pub(super) fn free_share(form: &mut Form<'_>, table: &str) -> f64 {
    let key = |key: &str| format!("{table}.{key}");
    let given = form.given(&key("open_share"));
    let known = |form: &Form<'_>, name: &str, rows: &'static [Mesh]| {
        form.given_word(&key(name))
            .and_then(|word| catalog::find(rows, word))
            .map(|row| row.free_share[0])
    };
    let screen = known(form, "screen", SCREENS);
    let louvre = known(form, "louvre", LOUVRES);
    if let Some(share) = given {
        for covers in ["screen", "louvre"] {
            if form.is_with(&key(covers), &key("open_share")) {
                form.clash(
                    &key(covers),
                    Clash::Beside {
                        other: "open_share",
                    },
                );
            }
        }
        return share;
    }
    if form.is_given(&key("screen")) || form.is_given(&key("louvre")) {
        let is_asked = form.answer(&key("screen")).is_some() && !form.is_given(&key("screen"));
        let screen = screen.or_else(|| is_asked.then(|| likely_screen(form, &key("screen")))?);
        return screen.unwrap_or(1.0) * louvre.unwrap_or(1.0);
    }
    let source = "half of the gross area where nothing is known, fan makers' manuals; range from louvre with insect mesh to coarse mesh, from memory";
    form.assume(
        &key("open_share"),
        [0.5, 0.33, 0.8],
        Dimension::Fraction,
        source,
    )
}

/// The free share of the mesh that is likely behind a louvre, where it is not known.
fn likely_screen(form: &mut Form<'_>, key: &str) -> Option<f64> {
    let source =
        "most louvres have a screen against insects behind them; common practice, no source";
    let likely = ["insect-mesh", "eighth-inch-mesh", "none"];
    let word = form.assume_word(key, likely, source);
    Some(catalog::find(SCREENS, word)?.free_share[0])
}

/// Height from lower to upper edge as it stands in the house, m.
pub(super) fn upright_m(place: Place, hole: Hole, shape: &AtticShape) -> f64 {
    match place {
        Place::Soffit | Place::Ridge | Place::Ceiling => 0.0,
        Place::Gable => hole.extent_m,
        Place::Slope => {
            hole.extent_m
                * shape
                    .slopes
                    .first()
                    .map_or(0.0, |slope| sin(slope.tilt_rad))
        }
    }
}

/// The height of the middle of a table's holes above the attic floor.
pub(super) fn height(
    form: &mut Form<'_>,
    shape: &AtticShape,
    table: &str,
    place: Place,
    azimuth_rad: f64,
    extent_m: f64,
) -> Option<f64> {
    let key = format!("{table}.height");
    let ridge_m = shape.ridge_height_m;
    let height_m = match (form.given(&key), place) {
        (_, Place::Ceiling) => 0.0,
        (Some(height_m), _) => height_m,
        (None, Place::Soffit) => shape.eave_height_m(azimuth_rad),
        (None, Place::Ridge) => ridge_m,
        (None, Place::Gable | Place::Slope) => {
            let source = "mostly in the upper half; common practice, no source";
            let likely = [0.6, 0.4, 0.8].map(|share| share * ridge_m);
            form.assume(&key, likely, Dimension::Length, source)
        }
    };
    let top_m = height_m + extent_m / 2.0;
    if top_m > ridge_m + 0.05 && form.is_given(&key) {
        form.clash(
            &key,
            Clash::TooHigh {
                height_m: top_m,
                top: "ridge",
                top_m: ridge_m,
            },
        );
        return None;
    }
    Some(height_m)
}

/// Whether holes fit into the side they are in.
pub(super) fn fits(
    form: &mut Form<'_>,
    shape: &AtticShape,
    table: &str,
    place: Place,
    azimuth_rad: f64,
    hole: Hole,
    count: f64,
) -> Option<()> {
    let key = if form.has_table(&format!("{table}.hole")) {
        format!("{table}.hole")
    } else {
        format!("{table}.net_area")
    };
    let room_m2 = shape.room_m2(place, azimuth_rad);
    let area_m2 = hole.area_m2 * count;
    if area_m2 > room_m2 {
        form.clash(
            &key,
            Clash::HolesTooLarge {
                area_m2,
                within: within(place),
                room_m2,
            },
        );
        return None;
    }
    let (length_m, room_m) = match place {
        Place::Gable => (hole.extent_m, shape.ridge_height_m),
        Place::Soffit => (hole.length_m, shape.eave_length_m(azimuth_rad)),
        Place::Ridge => (hole.length_m, shape.ridge_length_m()),
        Place::Slope | Place::Ceiling => return Some(()),
    };
    if length_m > room_m + 1e-9 && form.has_table(&key) {
        form.clash(
            &key,
            Clash::TooLong {
                length_m,
                within: within(place),
                room_m,
            },
        );
        return None;
    }
    Some(())
}
