//! Rooms.

use std::f64::consts::{FRAC_PI_2, PI};
use std::path::Path;

use crate::catalog::{self, FLOORS, GLAZINGS, MASSES, WALLS, Wall};
use crate::elementary::cos;
use crate::house::clash::Clash;
use crate::house::form::{Form, Stuff};
use crate::house::geometry::AtticShape;
use crate::house::parts::{
    Airing, Ducts, Floor, GivenRooms, Living, NamedControl, Plan, Plant, Window,
};
use crate::house::rooms_log::RoomsLog;
use crate::house::walk::{Answer, Found};
use crate::physics::conduction::Layer;
use crate::units::{Dimension, kelvin};

use super::attic::{flow_at_1_pa, house_leakage_m2};
use super::fans::control;
use super::openings::nearest_side;

/// R-1 in m² K/W.
const R: f64 = 0.176_110_18;
/// Resistance of an empty wall cavity, m² K/W. Source: wide unventilated air layer of ISO 6946,
/// from memory.
const CAVITY_R: f64 = 0.18;
/// Best conductivity that fills a cavity, W/(m K): closed-cell foam, from memory.
const BEST_FILL: f64 = 0.022;

pub(super) fn living(
    form: &mut Form<'_>,
    plan: &Plan,
    shape: &AtticShape,
    controls: &[NamedControl],
    folder: &Path,
) -> Option<Living> {
    if let Some(given) = given_rooms(form, folder)? {
        return given_living(form, given, plan, shape, controls);
    }
    let wall = wall(form);
    let windows = windows(form, plan, shape);
    let floor = floor(form, plan);
    let airing = airing(form, shape, controls);
    let cooling = plant(form, "house.cooling");
    let heating = plant(form, "house.heating");
    let ducts = ducts(form, plan);
    let floors_m2 = plan.length_m * plan.width_m * f64::from(plan.storeys);
    let leakage = leakage(form, floors_m2 * plan.storey_height_m);
    let gains = [4.0, 2.0, 7.0].map(|each| each * floors_m2);
    let source = "2 to 7 W a m² of floor; common practice, no source";
    let internal_gain_w = form.likely("house.internal_gain", gains, Dimension::Power, source);
    let mass = mass(form, floors_m2)?;
    let (leakage_m3_s, leakage_exponent) = leakage?;
    Some(Living {
        given: None,
        wall: wall?,
        wall_absorptance: form.number("house.wall_absorptance")?,
        windows: windows?,
        leakage_m3_s,
        leakage_exponent,
        internal_gain_w,
        fast_mass_j_k: mass[0],
        fast_mass_area_m2: mass[1],
        slow_mass_j_k: mass[2],
        slow_mass_area_m2: mass[3],
        floor: floor?,
        airing: airing?,
        cooling: cooling?,
        heating: heating?,
        ducts: ducts?,
    })
}

/// The temperature of rooms that are given; `Some(None)` of those that are worked out.
#[expect(
    clippy::option_option,
    reason = "nothing where there is a fault, none where the house has none"
)]
fn given_rooms(form: &mut Form<'_>, folder: &Path) -> Option<Option<GivenRooms>> {
    let (temperature, log) = ("house.rooms_temperature", "house.rooms_log");
    let rooms = form.given_word("house.rooms");
    if rooms != Some("given") {
        for key in [temperature, log, "house.rooms_column"] {
            if form.is_given(key) && form.is_with(key, "house.rooms") {
                let (choice, value) = ("rooms", rooms.unwrap_or("simulated").to_owned());
                form.clash(key, Clash::NotWith { choice, value });
            }
        }
        return Some((rooms == Some("outdoors")).then_some(GivenRooms::Outdoors));
    }
    let column = form.text("house.rooms_column").map(str::to_owned);
    match (form.given(temperature), form.text(log)) {
        (Some(_), Some(_))
            if form.latest(&[temperature, log]) == log && form.is_with(temperature, log) =>
        {
            let other = "rooms_log";
            form.clash(temperature, Clash::Beside { other });
            None
        }
        (Some(temp_c), None) => Some(Some(GivenRooms::Constant {
            temp_k: kelvin(temp_c),
        })),
        (Some(temp_c), Some(_)) if form.latest(&[log, temperature]) == temperature => {
            Some(Some(GivenRooms::Constant {
                temp_k: kelvin(temp_c),
            }))
        }
        (_, Some(name)) => match RoomsLog::read(&folder.join(name), column.as_deref()) {
            Ok(log) => Some(Some(GivenRooms::Logged(log))),
            Err(fault) => {
                form.clash(log, Clash::RoomsLog(fault));
                None
            }
        },
        (None, None) => {
            let keys = &["rooms_temperature", "rooms_log"];
            form.clash(log, Clash::OneOf { keys });
            None
        }
    }
}

/// Rooms of which only the temperature and the leaks are known.
fn given_living(
    form: &mut Form<'_>,
    given: GivenRooms,
    plan: &Plan,
    shape: &AtticShape,
    controls: &[NamedControl],
) -> Option<Living> {
    let floors_m2 = plan.length_m * plan.width_m * f64::from(plan.storeys);
    let (leakage_m3_s, leakage_exponent) = match given {
        // Its sides are open.
        GivenRooms::Outdoors => (0.0, 0.5),
        _ => leakage(form, floors_m2 * plan.storey_height_m)?,
    };
    Some(Living {
        given: Some(given),
        wall: Vec::new(),
        wall_absorptance: 0.0,
        windows: Vec::new(),
        leakage_m3_s,
        leakage_exponent,
        internal_gain_w: 0.0,
        fast_mass_j_k: 0.0,
        fast_mass_area_m2: 0.0,
        slow_mass_j_k: 0.0,
        slow_mass_area_m2: 0.0,
        floor: Floor::LeftOut,
        airing: airing(form, shape, controls)?,
        cooling: None,
        heating: None,
        ducts: None,
    })
}

/// Flow at 1 Pa through all leaks but the ceiling's, and its exponent.
fn leakage(form: &mut Form<'_>, volume_m3: f64) -> Option<(f64, f64)> {
    let exponent = form.number("house.leakage_exponent")?;
    let house_m2 = house_leakage_m2(form, volume_m3, exponent);
    let assumed_m2 = form
        .assumed
        .iter()
        .find(|note| note.field == "ceiling.leakage")
        .and_then(|note| crate::units::parse(&note.value, Dimension::LeakageArea).ok());
    let ceiling_m2 = form.given("ceiling.leakage").or(assumed_m2).unwrap_or(0.0);
    if form.is_given("house.leakage") && ceiling_m2 >= house_m2 {
        form.clash(
            "ceiling.leakage",
            Clash::LeakyCeiling {
                ceiling_m2,
                house_m2,
            },
        );
        return None;
    }
    let rest_m2 = (house_m2 - ceiling_m2).max(0.2 * house_m2);
    Some((flow_at_1_pa(rest_m2, exponent), exponent))
}

fn mass(form: &mut Form<'_>, floors_m2: f64) -> Option<[f64; 4]> {
    let keys = [
        "house.fast_mass",
        "house.fast_mass_area",
        "house.slow_mass",
        "house.slow_mass_area",
    ];
    let given = keys.map(|key| form.given(key));
    if let [Some(fast), Some(fast_m2), Some(slow), Some(slow_m2)] = given {
        return Some([fast, fast_m2, slow, slow_m2]);
    }
    let row = catalog::find(MASSES, form.word("house.mass")?)?;
    let class = [
        row.fast_j_m2k[0],
        row.fast_area,
        row.slow_j_m2k,
        row.slow_area,
    ]
    .map(|each| each * floors_m2);
    if given[0].is_none() {
        let range =
            [row.fast_j_m2k[0], row.fast_j_m2k[1], row.fast_j_m2k[2]].map(|each| each * floors_m2);
        form.assume(
            "house.fast_mass",
            range,
            Dimension::HeatCapacity,
            row.source,
        );
    }
    let mut at = 0;
    Some(class.map(|value| {
        let value = given.get(at).copied().flatten().unwrap_or(value);
        at += 1;
        value
    }))
}

fn wall(form: &mut Form<'_>) -> Option<Vec<Layer>> {
    if let Some(Answer {
        found: Found::Layers(layers),
        ..
    }) = form.answer("house.wall")
    {
        if form.is_with("house.wall_insulation", "house.wall") {
            form.clash(
                "house.wall_insulation",
                Clash::NotWithLayers { list: "wall" },
            );
        }
        return form.stack(
            layers
                .iter()
                .map(|(name, thickness_m)| (name.as_str(), *thickness_m)),
        );
    }
    let row = catalog::find(WALLS, form.word("house.wall")?)?;
    let likely = match row.structure {
        Wall::Studs { .. } => [11.0 * R, 0.0, 13.0 * R],
        Wall::Solid => [0.0, 0.0, 5.0 * R],
    };
    let source = "usual fill of such walls; common practice, no source";
    let resistance = form.likely(
        "house.wall_insulation",
        likely,
        Dimension::ThermalResistance,
        source,
    );
    let mut layers = form.stack(row.inside.iter().copied())?;
    match row.structure {
        Wall::Studs { depth_m, share } => {
            if resistance > depth_m / BEST_FILL {
                let needs_m = resistance * BEST_FILL;
                form.clash(
                    "house.wall_insulation",
                    Clash::CavityFull {
                        needs_m,
                        cavity_m: depth_m,
                    },
                );
                return None;
            }
            layers.push(cavity(form, depth_m, share, resistance)?);
        }
        Wall::Solid if resistance > 1e-6 => {
            layers.push(
                form.material("mineral-wool")?
                    .layer_of_resistance(resistance),
            );
        }
        Wall::Solid => {}
    }
    layers.extend(form.stack(row.outside.iter().copied())?);
    Some(layers)
}

/// Studs and fill side by side as one layer: conductances and heat capacities add by their shares.
fn cavity(form: &Form<'_>, depth_m: f64, share: f64, resistance: f64) -> Option<Layer> {
    let stud = form.material("softwood")?;
    let fill = form.material("fibreglass-batt")?;
    let fill_r = resistance.max(CAVITY_R);
    let (fill_density, fill_growth) = if resistance > CAVITY_R {
        (fill.density_kg_m3, fill.growth_per_k)
    } else {
        (1.2, 0.0)
    };
    let through_fill = (1.0 - share) / fill_r;
    let conductance = share * stud.conductivity_w_mk / depth_m + through_fill;
    let density_kg_m3 = share * stud.density_kg_m3 + (1.0 - share) * fill_density;
    let capacity = share * stud.density_kg_m3 * stud.specific_heat_j_kgk
        + (1.0 - share) * fill_density * fill.specific_heat_j_kgk;
    let both = Stuff {
        conductivity_w_mk: conductance * depth_m,
        density_kg_m3,
        specific_heat_j_kgk: capacity / density_kg_m3,
        growth_per_k: fill_growth * through_fill / conductance,
    };
    Some(both.layer(depth_m))
}

/// The four sides of the house, rad, and the areas of their walls, m².
fn house_sides(plan: Option<&Plan>, shape: &AtticShape) -> [(f64, f64); 4] {
    let slope = shape.slopes.first().map_or(0.0, |slope| slope.azimuth_rad);
    let height_m = plan.map_or(0.0, |plan| plan.storey_height_m * f64::from(plan.storeys));
    let (long, short) = plan.map_or((0.0, 0.0), |plan| {
        (plan.length_m * height_m, plan.width_m * height_m)
    });
    let around = |by: f64| (slope + by).rem_euclid(std::f64::consts::TAU);
    [
        (slope, long),
        (around(PI), long),
        (around(FRAC_PI_2), short),
        (around(-FRAC_PI_2), short),
    ]
}

/// The side of the house that a key names.
fn side(form: &mut Form<'_>, shape: &AtticShape, key: &str) -> Option<f64> {
    let sides = house_sides(None, shape).map(|(side, _)| side);
    match form.answer(key)?.found {
        Found::Number(azimuth_rad) => nearest_side(&sides, azimuth_rad),
        _ => None,
    }
}

fn windows(form: &mut Form<'_>, plan: &Plan, shape: &AtticShape) -> Option<Vec<Window>> {
    let names = form.names("house.windows");
    let count = names.len();
    let windows: Vec<Window> = names
        .into_iter()
        .filter_map(|name| window(form, shape, &name))
        .collect();
    let mut too_large = false;
    for (side, wall_m2) in house_sides(Some(plan), shape) {
        let here: Vec<&Window> = windows
            .iter()
            .filter(|w| cos(w.azimuth_rad - side) > 0.99)
            .collect();
        let windows_m2: f64 = here.iter().map(|window| window.area_m2).sum();
        if let Some(last) = here.last().filter(|_| windows_m2 > wall_m2) {
            let key = format!("house.windows.{}.area", last.name);
            form.clash(
                &key,
                Clash::WindowsTooLarge {
                    windows_m2,
                    wall_m2,
                },
            );
            too_large = true;
        }
    }
    (windows.len() == count && !too_large).then_some(windows)
}

fn window(form: &mut Form<'_>, shape: &AtticShape, name: &str) -> Option<Window> {
    let key = |key: &str| format!("house.windows.{name}.{key}");
    let azimuth = side(form, shape, &key("faces"));
    let word = match form.answer(&key("glazing")).map(|answer| &answer.found) {
        Some(Found::Unknown) => form.word(&key("glazing")),
        _ => form.given_word(&key("glazing")),
    };
    let row = word.and_then(|word| catalog::find(GLAZINGS, word));
    let u = form.given(&key("u")).or(row.map(|row| row.u_w_m2k));
    let gain = form
        .given(&key("solar_gain"))
        .or(row.map(|row| row.solar_heat_gain));
    match (u, gain) {
        (None, None) => form.clash(
            &key("glazing"),
            Clash::OneOf {
                keys: &["glazing", "u"],
            },
        ),
        (None, Some(_)) => form.missing(&key("u")),
        (Some(_), None) => form.missing(&key("solar_gain")),
        _ => {}
    }
    let shade = form.number(&key("shade"))?;
    let area_m2 = form.number(&key("area"))?;
    Some(Window {
        name: name.to_owned(),
        azimuth_rad: azimuth?,
        area_m2,
        u_w_m2k: u?,
        solar_heat_gain: gain?,
        shading: 1.0 - shade,
    })
}

fn floor(form: &mut Form<'_>, plan: &Plan) -> Option<Floor> {
    let key = |key: &str| format!("house.floor.{key}");
    let kind = form.word(&key("kind"))?;
    let other: &[&str] = match kind {
        "slab" => &["crawl_height", "vent_area", "wall_u", "insulation"],
        _ => &["slab_thickness"],
    };
    for other in other {
        if form.is_with(&key(other), &key("kind")) {
            form.clash(
                &key(other),
                Clash::NotWith {
                    choice: "kind",
                    value: kind.to_owned(),
                },
            );
        }
    }
    let covering = catalog::find(FLOORS, form.word(&key("covering"))?)?;
    let mut layers = form.stack(covering.layers.iter().copied())?;
    if kind == "slab" {
        let slab_m = form.number(&key("slab_thickness"))?;
        layers.push(form.layer("concrete", slab_m)?);
        return Some(Floor::Slab {
            layers,
            wall_thickness_m: form.number(&key("wall_thickness"))?,
        });
    }
    layers.push(form.layer("plywood", 0.019)?);
    let resistance = form.number(&key("insulation"))?;
    if resistance > 1e-6 {
        layers.push(
            form.material("fibreglass-batt")?
                .layer_of_resistance(resistance),
        );
    }
    let source = "1/150 of the floor, IRC R408, from memory; 1/1500 with a ground cover";
    let likely = [150.0, 1500.0, 150.0].map(|part| plan.length_m * plan.width_m / part);
    let vent_area_m2 = form.likely(&key("vent_area"), likely, Dimension::Area, source);
    Some(Floor::Crawl {
        layers,
        height_m: form.number(&key("crawl_height"))?,
        vent_area_m2,
        wall_u_w_m2k: form.number(&key("wall_u"))?,
    })
}

#[expect(
    clippy::option_option,
    reason = "nothing where there is a fault, none where the house has none"
)]
fn airing(
    form: &mut Form<'_>,
    shape: &AtticShape,
    controls: &[NamedControl],
) -> Option<Option<Airing>> {
    if !form.has_table("house.airing") {
        return Some(None);
    }
    let control = control(form, "house.airing.control", controls);
    let azimuth = side(form, shape, "house.airing.faces");
    Some(Some(Airing {
        area_m2: form.number("house.airing.area")?,
        azimuth_rad: azimuth?,
        control: control??,
    }))
}

/// Ducts in the attic: `Some(None)` if nothing is said of them.
#[expect(
    clippy::option_option,
    reason = "nothing where there is a fault, none where the house has none"
)]
fn ducts(form: &mut Form<'_>, plan: &Plan) -> Option<Option<Ducts>> {
    let table = "house.ducts";
    if !form.has_table(table) {
        return Some(None);
    }
    if !form.has_table("house.cooling") {
        form.clash(&format!("{table}.area"), Clash::DuctsWithoutPlant);
        return None;
    }
    let source = "a tenth to a quarter of the floor; ASHRAE 152 default areas, from memory";
    let floor_m2 = plan.length_m * plan.width_m;
    let likely = [0.2, 0.1, 0.27].map(|share| share * floor_m2);
    let area_m2 = form.likely("house.ducts.area", likely, Dimension::Area, source);
    let mut get = |key: &str| form.number(&format!("{table}.{key}"));
    Some(Some(Ducts {
        area_m2,
        resistance_m2k_w: get("insulation")?,
        leakage: get("leakage")?,
        idle_leak_m2: get("idle_leak")?,
    }))
}

#[expect(
    clippy::option_option,
    reason = "nothing where there is a fault, none where the house has none"
)]
fn plant(form: &mut Form<'_>, table: &str) -> Option<Option<Plant>> {
    if !form.has_table(table) {
        return Some(None);
    }
    let mut get = |key: &str| form.number(&format!("{table}.{key}"));
    Some(Some(Plant {
        set_point_c: get("set_point")?,
        capacity_w: get("capacity")?,
        performance: get("performance")?,
        performance_per_k: get("performance_per_degree")?,
    }))
}
