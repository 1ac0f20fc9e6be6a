//! Rooms, walls, windows and ground as nodes and links.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::elementary::cos;
use crate::house::{Floor, GivenRooms, House, Soil, Window};
use crate::ode::Real;
use crate::physics::conduction::Layer;
use crate::physics::convection::{Plate, Roughness, STANDARD_PRESSURE_PA};
use crate::physics::ground::{CLAY, GroundFloor, ROCK, SAND, SoilProperties};

use super::AssemblyError;
use super::attic::{AtticNodes, Outer, outer_links};
use super::builder::{Builder, End};
use super::forcing::Input;
use super::links::{Film, Law, Speed};
use super::shape::{compass, nearest_wall};

/// Share of the sun through windows that reaches the floor, light furnishings and, at once, the
/// air (common practice, no source).
const SUN_TO_FLOOR: f64 = 0.6;
const SUN_TO_FURNITURE: f64 = 0.3;
const SUN_TO_AIR: f64 = 0.1;

/// Share of the heat of people, lamps and appliances that warms the air at once; the rest is
/// radiant (ASHRAE Handbook—Fundamentals, nonresidential loads; from memory).
const GAIN_TO_AIR: f64 = 0.6;

/// Emittance product of room surfaces and the things they see.
const ROOM_EXCHANGE: f64 = 0.85;

/// Depth of soil that is modelled as stores below a floor, m, and how it is cut: the day's wave
/// reaches 0.12 m in clay and 0.17 m in sand.
const SOIL_SLICES_M: [f64; 4] = [0.06, 0.10, 0.14, 0.20];

/// Nodes of the rooms that other parts need.
pub(super) struct RoomNodes {
    pub(super) living: usize,
    pub(super) crawl: Option<usize>,
    /// Light furnishings: they stand for what a person in the room sees.
    pub(super) furniture: usize,
    /// Share of the outdoor yearly swing felt below the modelled soil.
    pub(super) ground_swing_share: f64,
}

/// Nodes of the rooms' air and of what stands for all that is seen there.
pub(super) fn begin<R: Real>(house: &House, builder: &mut Builder<R>) -> [usize; 2] {
    let living = &house.living;
    let plan = &house.plan;
    let floor_m2 = plan.length_m * plan.width_m;
    if living.given.is_some() {
        let air = builder.node("living_air", floor_m2 * HELD_J_M2K, 0.0);
        return [air, air];
    }
    let height_m = f64::from(plan.storeys) * plan.storey_height_m;
    // Air at 27 °C and sea level, 1.177 kg/m³ · 1006 J/(kg K).
    let air = builder.node("living_air", floor_m2 * height_m * 1184.0, 0.0);
    let furniture = builder.node("furniture", living.fast_mass_j_k, living.fast_mass_area_m2);
    [air, furniture]
}

/// Joins the rooms to the attic; `begun` are the nodes of [`begin`] where the attic needed them.
pub(super) fn build<R: Real>(
    house: &House,
    attic: &AtticNodes,
    begun: Option<[usize; 2]>,
    builder: &mut Builder<R>,
) -> Result<RoomNodes, AssemblyError> {
    let living = &house.living;
    let plan = &house.plan;
    let floor_m2 = plan.length_m * plan.width_m;
    let [air, furniture] = begun.unwrap_or_else(|| begin(house, builder));
    if let Some(rooms) = &living.given {
        return given(house, rooms, air, attic, builder);
    }
    let height_m = f64::from(plan.storeys) * plan.storey_height_m;
    let mut rooms = Rooms {
        air,
        furniture,
        floor_m2,
        builder,
    };
    rooms.surface(furniture, living.fast_mass_area_m2, FRAC_PI_2, 1.0, false);
    for &(underside, area) in &attic.undersides {
        rooms.surface(underside, area, PI, plan.width_m, true);
    }
    if living.slow_mass_j_k > 0.0 {
        let node = rooms
            .builder
            .node("masonry", living.slow_mass_j_k, living.slow_mass_area_m2);
        rooms.surface(node, living.slow_mass_area_m2, FRAC_PI_2, 1.0, true);
    }
    rooms.walls(house, height_m)?;
    rooms.without_attic(house)?;
    let (floor_top, crawl, ground_swing_share) = rooms.floor(house)?;
    rooms.gains(house, floor_top);
    rooms.plants(house);
    Ok(RoomNodes {
        living: air,
        crawl,
        furniture,
        ground_swing_share,
    })
}

/// Heat capacity and coupling by which given rooms are held at their temperature, for each m² of
/// floor: they follow within 30 s, and the heat of a ceiling moves them by hundredths of a kelvin.
const HELD_J_M2K: f64 = 60_000.0;
const HELD_W_M2K: f64 = 2000.0;

/// Rooms whose temperature is given: one node, held at it, in place of all that is in them. What
/// the rest of the house must bring or take for that is a flow like others, so that the books
/// close.
fn given<R: Real>(
    house: &House,
    rooms: &GivenRooms,
    air: usize,
    attic: &AtticNodes,
    builder: &mut Builder<R>,
) -> Result<RoomNodes, AssemblyError> {
    let floor_m2 = house.plan.length_m * house.plan.width_m;
    let temp = builder.input(match rooms {
        GivenRooms::Outdoors => Input::OutdoorTemp,
        _ => Input::Rooms,
    });
    let law = Law::ToBoundary {
        w_k: R::splat(floor_m2 * HELD_W_M2K),
        temp,
    };
    builder.link(&End::Node(air), &End::Outside("given_rooms"), law);
    let mut rooms = Rooms {
        air,
        furniture: air,
        floor_m2,
        builder,
    };
    for &(underside, area) in &attic.undersides {
        rooms.surface(underside, area, PI, house.plan.width_m, true);
    }
    rooms.without_attic(house)?;
    Ok(RoomNodes {
        living: air,
        crawl: None,
        furniture: air,
        ground_swing_share: 0.0,
    })
}

struct Rooms<'a, R> {
    air: usize,
    furniture: usize,
    floor_m2: f64,
    builder: &'a mut Builder<R>,
}

impl<R: Real> Rooms<'_, R> {
    /// Convection to the rooms' air, and radiation to the furnishings that stand for all that the
    /// surface sees.
    fn surface(&mut self, node: usize, area_m2: f64, facing_rad: f64, length_m: f64, sees: bool) {
        let per_perimeter = (area_m2.sqrt() / 4.0).min(2.0);
        let plate = Plate::new(facing_rad, length_m, per_perimeter, STANDARD_PRESSURE_PA);
        let film = Film::new(plate, length_m);
        let law = Law::Film {
            area_m2: R::splat(area_m2),
            film,
            speed: Speed::Still,
        };
        self.builder
            .link(&End::Node(node), &End::Node(self.air), law);
        if sees {
            let law = Law::Radiate {
                area_m2: R::splat(area_m2 * ROOM_EXCHANGE),
            };
            self.builder
                .link(&End::Node(node), &End::Node(self.furniture), law);
        }
    }

    /// The part of the plan whose ceiling is the roof: from the rooms to outdoors on each of the
    /// roof's long slopes. An air space under its covering is left out.
    fn without_attic(&mut self, house: &House) -> Result<(), AssemblyError> {
        let Some(part) = &house.attic.excluded else {
            return Ok(());
        };
        let roof = &house.roof;
        let slopes = house.attic_shape().slopes;
        let count = slopes.len().min(2);
        let layers = part.layers.iter().chain(&roof.underside);
        let layers = layers.chain(&roof.deck).chain(&roof.covering);
        let layers: Vec<Layer> = layers.copied().collect();
        for slope in slopes.iter().take(count) {
            let area = part.area_m2 / count as f64 / cos(slope.tilt_rad);
            let stem = format!("cathedral_{}", compass(slope.azimuth_rad));
            let chain = self
                .builder
                .chain(&layers, area, [&stem, "underside", "skin"])?;
            self.surface(chain[0], area, PI - slope.tilt_rad, slope.run_m, true);
            let outer = Outer {
                plate: Plate::new(slope.tilt_rad, slope.run_m, 1.0, STANDARD_PRESSURE_PA),
                area_m2: area,
                length_m: slope.run_m,
                tilt_rad: slope.tilt_rad,
                azimuth_rad: slope.azimuth_rad,
                absorptance: roof.solar_absorptance,
                emittance: roof.emittance,
                roughness: roof.roughness,
            };
            outer_links(self.builder, chain[chain.len() - 1], &outer);
        }
        Ok(())
    }

    fn walls(&mut self, house: &House, height_m: f64) -> Result<(), AssemblyError> {
        let living = &house.living;
        let plan = &house.plan;
        let windows: f64 = living.windows.iter().map(|w| w.area_m2).sum();
        let gross: f64 = house.walls().iter().map(|(_, area)| area).sum();
        let area = gross - windows;
        let chain = self
            .builder
            .chain(&living.wall, area, ["wall", "inside", "outside"])?;
        self.surface(chain[0], area, FRAC_PI_2, height_m, true);
        let outside = chain[chain.len() - 1];
        for (index, (azimuth_rad, gross_m2)) in house.walls().into_iter().enumerate() {
            let facing = |w: &&Window| nearest_wall(house, w.azimuth_rad) == index;
            let glass: f64 = living
                .windows
                .iter()
                .filter(facing)
                .map(|w| w.area_m2)
                .sum();
            let sun_m2 = (gross_m2 - glass).max(0.0);
            let sun = self.builder.input(Input::Sun {
                tilt_rad: FRAC_PI_2,
                azimuth_rad,
            });
            let law = Law::Gain {
                input: sun,
                scale: R::splat(sun_m2 * living.wall_absorptance),
            };
            self.builder
                .link(&End::Outside("sun"), &End::Node(outside), law);
        }
        let outer = Outer {
            plate: Plate::new(FRAC_PI_2, height_m, 1.0, STANDARD_PRESSURE_PA),
            area_m2: area,
            length_m: plan.length_m.midpoint(plan.width_m),
            tilt_rad: FRAC_PI_2,
            azimuth_rad: 0.0,
            absorptance: 0.0,
            emittance: 0.9,
            roughness: Roughness::MediumRough,
        };
        outer_links(self.builder, outside, &outer);
        let outdoor = self.builder.input(Input::OutdoorTemp);
        let glass_w_k: f64 = living.windows.iter().map(|w| w.area_m2 * w.u_w_m2k).sum();
        let law = Law::ToBoundary {
            w_k: R::splat(glass_w_k),
            temp: outdoor,
        };
        let glass = End::Beyond("outdoors_through_glass".to_owned());
        self.builder.link(&End::Node(self.air), &glass, law);
        Ok(())
    }

    /// Lowest floor and the ground below it; returns its top, the crawl space's air and the share
    /// of the outdoor yearly swing that is felt below.
    fn floor(&mut self, house: &House) -> Result<(usize, Option<usize>, f64), AssemblyError> {
        let soil = match house.site.soil {
            Soil::Clay => CLAY,
            Soil::Sand => SAND,
            Soil::Rock => ROCK,
        };
        let plan = &house.plan;
        let perimeter_m = 2.0 * (plan.length_m + plan.width_m);
        let resistance = |layers: &[Layer]| layers.iter().map(Layer::resistance_m2k_w).sum::<f64>();
        match &house.living.floor {
            // Never of rooms that are worked out.
            Floor::LeftOut => Ok((self.furniture, None, 0.0)),
            Floor::Slab {
                layers,
                wall_thickness_m,
            } => {
                let chain = self
                    .builder
                    .chain(layers, self.floor_m2, ["slab", "top", "bottom"])?;
                self.surface(chain[0], self.floor_m2, 0.0, plan.width_m, true);
                let floor = GroundFloor {
                    area_m2: self.floor_m2,
                    perimeter_m,
                    wall_thickness_m: *wall_thickness_m,
                    resistance_m2k_w: 0.17 + resistance(layers) + 0.04,
                    soil,
                };
                let above = 0.17 + resistance(layers);
                self.soil(chain[chain.len() - 1], floor, above);
                Ok((chain[0], None, floor.swing_share()))
            }
            Floor::Crawl {
                layers,
                height_m,
                wall_u_w_m2k,
                ..
            } => {
                let chain =
                    self.builder
                        .chain(layers, self.floor_m2, ["floor", "top", "underside"])?;
                self.surface(chain[0], self.floor_m2, 0.0, plan.width_m, true);
                let crawl = self
                    .builder
                    .node("crawl_air", self.floor_m2 * height_m * 1184.0, 0.0);
                let plate = Plate::new(PI, plan.width_m, 1.5, STANDARD_PRESSURE_PA);
                let film = Film::new(plate, plan.width_m);
                let area_m2 = R::splat(self.floor_m2);
                let law = Law::Film {
                    area_m2,
                    film,
                    speed: Speed::Still,
                };
                let underside = chain[chain.len() - 1];
                self.builder
                    .link(&End::Node(underside), &End::Node(crawl), law);
                let outdoor = self.builder.input(Input::OutdoorTemp);
                let w_k = R::splat(perimeter_m * height_m * wall_u_w_m2k);
                let law = Law::ToBoundary { w_k, temp: outdoor };
                let wall = End::Beyond("outdoors_through_crawl_walls".to_owned());
                self.builder.link(&End::Node(crawl), &wall, law);
                // The earth floor: a skin of soil in contact with the crawl space's air and seen
                // by the floor above.
                let skin_m = 0.02;
                let skin = self.builder.node(
                    "crawl_earth",
                    self.floor_m2 * skin_m * soil.capacity_j_m3k,
                    self.floor_m2,
                );
                let plate = Plate::new(0.0, plan.width_m, 1.5, STANDARD_PRESSURE_PA);
                let film = Film::new(plate, plan.width_m);
                let law = Law::Film {
                    area_m2,
                    film,
                    speed: Speed::Still,
                };
                self.builder.link(&End::Node(skin), &End::Node(crawl), law);
                let law = Law::Radiate {
                    area_m2: R::splat(self.floor_m2 * ROOM_EXCHANGE),
                };
                self.builder
                    .link(&End::Node(underside), &End::Node(skin), law);
                let floor = GroundFloor {
                    area_m2: self.floor_m2,
                    perimeter_m,
                    wall_thickness_m: 0.2,
                    resistance_m2k_w: 0.17 + 0.04,
                    soil,
                };
                self.soil(skin, floor, 0.17);
                Ok((chain[0], Some(crawl), floor.swing_share()))
            }
        }
    }

    /// Half a metre of soil as stores, then what is left of the standard's resistance to a ground
    /// that follows the year: `R_v = 1/U − R_above − 0.5/λ` (ISO 13370, dynamic annex; from
    /// memory).
    fn soil(&mut self, top: usize, floor: GroundFloor, above_m2k_w: f64) {
        let soil: SoilProperties = floor.soil;
        let mut last = top;
        let mut last_half = 0.0;
        for (index, slice) in SOIL_SLICES_M.into_iter().enumerate() {
            let capacity = self.floor_m2 * slice * soil.capacity_j_m3k;
            let node = self
                .builder
                .node(format!("soil_{}", index + 1), capacity, self.floor_m2);
            let half = 0.5 * slice / soil.conductivity_w_mk;
            self.builder
                .conduct(last, node, self.floor_m2 / (last_half + half));
            (last, last_half) = (node, half);
        }
        let depth: f64 = SOIL_SLICES_M.iter().sum();
        let whole = 1.0 / floor.transmittance_w_m2k();
        let rest = (whole - above_m2k_w - depth / soil.conductivity_w_mk).max(0.05) + last_half;
        let ground = self.builder.input(Input::Ground);
        let law = Law::ToBoundary {
            w_k: R::splat(self.floor_m2 / rest),
            temp: ground,
        };
        self.builder
            .link(&End::Node(last), &End::Outside("ground"), law);
    }

    /// Sun through windows, people, lamps and appliances.
    fn gains(&mut self, house: &House, floor_top: usize) {
        let targets = [
            (floor_top, SUN_TO_FLOOR),
            (self.furniture, SUN_TO_FURNITURE),
            (self.air, SUN_TO_AIR),
        ];
        for window in &house.living.windows {
            let input = self.builder.input(Input::Window {
                azimuth_rad: window.azimuth_rad,
            });
            let glass_m2 = window.area_m2 * window.solar_heat_gain * window.shading;
            for (node, share) in targets {
                let law = Law::Gain {
                    input,
                    scale: R::splat(glass_m2 * share),
                };
                let sun = End::Beyond(format!("sun_through_{}", window.name.replace('.', "_")));
                self.builder.link(&sun, &End::Node(node), law);
            }
        }
        let one = self.builder.input(Input::One);
        for (node, share) in [(self.air, GAIN_TO_AIR), (self.furniture, 1.0 - GAIN_TO_AIR)] {
            let scale = R::splat(house.living.internal_gain_w * share);
            let law = Law::Gain { input: one, scale };
            self.builder.link(
                &End::Outside("people_and_appliances"),
                &End::Node(node),
                law,
            );
        }
    }

    fn plants(&mut self, house: &House) {
        let node = End::Node(self.air);
        if let Some(plant) = &house.living.cooling {
            let law = Law::Cooling {
                capacity_w: R::splat(plant.capacity_w),
                set_point_k: R::splat(plant.set_point_c + 273.15),
            };
            self.builder
                .link(&node, &End::Outside("cooling_plant"), law);
        }
        if let Some(plant) = &house.living.heating {
            let law = Law::Heating {
                capacity_w: R::splat(plant.capacity_w),
                set_point_k: R::splat(plant.set_point_c + 273.15),
            };
            self.builder
                .link(&End::Outside("heating_plant"), &node, law);
        }
    }
}
