//! Openings, leaks, fans and windows as paths for air.

use crate::equipment::FanCurve;
use crate::house::{Direction, FanGroup, Floor, GivenRooms, House, Place as Where};
use crate::ode::Real;
use crate::physics::airflow::{Element, flow_at_1_pa_m3_s};

use super::air::{ATTIC, CRAWL, LIVING, PathPlan, Place};
use super::attic::Heights;
use super::builder::Builder;
use super::forcing::Input;
use super::shape::{compass, nearest_wall};
use super::short_circuit::{Neighbours, near};

/// Exponent of leaks through attic shell and ceiling (ASHRAE, Sherman; from memory).
const LEAK_EXPONENT: f64 = 0.65;

/// Openings taller than this are cut in two, so that air can pass both ways, m.
const TALL_M: f64 = 0.3;

/// Area that stands for a side or floor that is not there, m²: so wide that its loss is nothing
/// beside any vent's, and no wider, for the solution's sake.
const WIDE_OPEN_M2: f64 = 3.0;

/// A path whose law changes with a control.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Switched<R> {
    pub(super) path: usize,
    pub(super) on: Element<R>,
    pub(super) off: Element<R>,
    /// Index of the control; `None` is always on.
    pub(super) control: Option<usize>,
    /// Index of the fan group, if it is one, and the number of fans on this path.
    pub(super) fans: Option<(usize, f64)>,
}

pub(super) fn build<R: Real>(
    house: &House,
    heights: Heights,
    builder: &mut Builder<R>,
) -> (Vec<Switched<R>>, Vec<Neighbours<R>>) {
    let mut vents = Vents {
        house,
        heights,
        builder,
        switched: Vec::new(),
        neighbours: Vec::new(),
        opening_paths: Vec::new(),
    };
    for (index, opening) in house.openings.iter().enumerate() {
        let first = vents.builder.paths.len();
        let name = plain(&opening.name);
        let from = match opening.turbine {
            None => vents.outdoors(opening.place, opening.azimuth_rad),
            Some(flow_coefficient) => {
                vents.turbine(flow_coefficient, opening.discharge_coefficient)
            }
        };
        vents.opening(
            &name,
            from,
            opening.height_m,
            opening.extent_m,
            opening.discharge_coefficient * opening.net_free_area_m2,
        );
        let paths = first..vents.builder.paths.len();
        vents.opening_paths.extend(paths.map(|path| (index, path)));
    }
    for (index, group) in house.fans.iter().enumerate() {
        vents.fans(index, group);
    }
    vents.attic_leaks();
    vents.ceiling();
    vents.walls();
    vents.airing();
    vents.crawl_space();
    (vents.switched, vents.neighbours)
}

/// A dotted name without its section, safe in a column name: `fans.gable.west` is `gable-west`.
fn plain(name: &str) -> String {
    name.split_once('.')
        .map_or(name, |(_, rest)| rest)
        .replace(['_', '.', ' '], "-")
}

struct Vents<'a, R> {
    house: &'a House,
    heights: Heights,
    builder: &'a mut Builder<R>,
    switched: Vec<Switched<R>>,
    neighbours: Vec<Neighbours<R>>,
    /// Openings of the house, by index, with their paths.
    opening_paths: Vec<(usize, usize)>,
}

impl<R: Real> Vents<'_, R> {
    fn attic(&self, height_m: f64) -> Place {
        Place::Zone {
            zone: ATTIC,
            height_m: self.heights.attic_floor_m + height_m,
        }
    }

    fn outdoors(&mut self, place: Where, azimuth_rad: f64) -> Place {
        let walls = self.house.walls();
        let pitch_rad = self.house.roof.pitch_rad;
        let wind = match place {
            // Under an eave the pressure is that of the wall below it.
            Where::Soffit | Where::Gable => {
                let (azimuth_rad, _) = walls[nearest_wall(self.house, azimuth_rad)];
                self.builder.input(Input::WallPressure { azimuth_rad })
            }
            // Nothing in the ceiling is outdoors; a fan there has its own places.
            Where::Ridge | Where::Ceiling => self.builder.input(Input::RidgePressure),
            Where::Slope => self.builder.input(Input::SlopePressure {
                azimuth_rad,
                pitch_rad,
            }),
        };
        Place::Outdoors { wind }
    }

    /// Above a wind turbine: `−(C_f/C_d)² ρV²/2`, so that wind alone draws `C_f A V` through the
    /// throat and still air finds a plain hole.
    ///
    /// Both limits of discharge and flow coefficient as AS/NZS 4740 defines them (Revel & Huynh
    /// 2004, opening seen) joined in one element; derived. `V` is the wind at ridge height.
    fn turbine(&mut self, flow_coefficient: f64, discharge_coefficient: f64) -> Place {
        let per_dynamic = (flow_coefficient / discharge_coefficient).powi(2);
        let wind = self.builder.input(Input::TurbineSuction { per_dynamic });
        Place::Outdoors { wind }
    }

    /// In the rooms, right under the ceiling.
    fn rooms_top(&self) -> Place {
        Place::Zone {
            zone: LIVING,
            height_m: self.heights.attic_floor_m,
        }
    }

    fn opening(&mut self, name: &str, from: Place, height_m: f64, extent_m: f64, cd_area_m2: f64) {
        if cd_area_m2 <= 0.0 {
            return;
        }
        let parts: &[(f64, &str)] = if extent_m > TALL_M {
            &[(-0.25, "-low"), (0.25, "-high")]
        } else {
            &[(0.0, "")]
        };
        for &(shift, suffix) in parts {
            let cd_area_m2 = R::splat(cd_area_m2 / parts.len() as f64);
            let plan = PathPlan {
                name: format!("{name}{suffix}"),
                from,
                to: self.attic(height_m + shift * extent_m),
                channel: None,
                rise_m: 0.0,
            };
            self.builder.path(plan, Element::Orifice { cd_area_m2 });
        }
    }

    /// Fans fill their holes in turn; fans of one hole share its area, and an unused hole is a
    /// hole.
    fn fans(&mut self, index: usize, group: &FanGroup) {
        let name = plain(&group.name);
        let hole = group.discharge_coefficient * group.hole_net_area_m2;
        let per_hole = group.fans_per_hole.max(1);
        let full = group.count / per_hole;
        let left = group.count % per_hole;
        let used = full + u32::from(left > 0);
        let open = group.holes.saturating_sub(used);
        for (fans_in_hole, holes, suffix) in
            [(per_hole, full, ""), (left, u32::from(left > 0), "-rest")]
        {
            if fans_in_hole == 0 || holes == 0 {
                continue;
            }
            let count = f64::from(fans_in_hole * holes);
            let (on, off) = elements(group, hole / f64::from(fans_in_hole), count);
            let inside = self.attic(group.height_m);
            let outside = if group.place == Where::Ceiling {
                self.rooms_top()
            } else {
                self.outdoors(group.place, group.azimuth_rad)
            };
            // A whole-house fan blows into the attic.
            let (from, to) = match (group.direction, group.place) {
                (Direction::Supply, _) | (_, Where::Ceiling) => (outside, inside),
                (Direction::Exhaust, _) => (inside, outside),
            };
            let plan = PathPlan {
                name: format!("{name}{suffix}"),
                from,
                to,
                channel: None,
                rise_m: 0.0,
            };
            let path = self.builder.path(plan, on.clone());
            let near = near(self.house, group, &self.opening_paths);
            if !near.is_empty() {
                self.neighbours.push(Neighbours {
                    fan: path,
                    holes: R::splat(f64::from(holes)),
                    vents: near,
                });
            }
            self.switched.push(Switched {
                path,
                on,
                off,
                control: group.control,
                fans: Some((index, count)),
            });
        }
        if open > 0 {
            let name = format!("{name}-unused");
            let area = hole * f64::from(open);
            let from = self.outdoors(group.place, group.azimuth_rad);
            self.opening(&name, from, group.height_m, 0.0, area);
        }
    }

    /// Background leaks of the attic shell: half round the eaves, half at the ridge.
    fn attic_leaks(&mut self) {
        let area = self.house.attic.leakage_area_m2;
        if area <= 0.0 {
            return;
        }
        let whole = flow_at_1_pa_m3_s(area, LEAK_EXPONENT);
        let crack = |share: f64| Element::Crack {
            flow_at_1_pa_m3_s: R::splat(whole * share),
            exponent: LEAK_EXPONENT,
        };
        for (azimuth_rad, _) in self.house.walls() {
            let plan = PathPlan {
                name: format!("attic-leak-{}", compass(azimuth_rad)),
                from: self.outdoors(Where::Soffit, azimuth_rad),
                to: self.attic(0.05),
                channel: None,
                rise_m: 0.0,
            };
            self.builder.path(plan, crack(0.125));
        }
        let ridge = self.heights.ridge_m - self.heights.attic_floor_m;
        let plan = PathPlan {
            name: "attic-leak-ridge".to_owned(),
            from: self.outdoors(Where::Ridge, 0.0),
            to: self.attic(0.95 * ridge),
            channel: None,
            rise_m: 0.0,
        };
        self.builder.path(plan, crack(0.5));
    }

    fn ceiling(&mut self) {
        if self.house.ceiling.open {
            let plan = PathPlan {
                name: "open-ceiling".to_owned(),
                from: self.rooms_top(),
                to: self.attic(0.0),
                channel: None,
                rise_m: 0.0,
            };
            let cd_area_m2 = R::splat(0.6 * WIDE_OPEN_M2);
            self.builder.path(plan, Element::Orifice { cd_area_m2 });
        }
        let area = self.house.ceiling.leakage_area_m2;
        if area <= 0.0 {
            return;
        }
        let plan = PathPlan {
            name: "ceiling-leak".to_owned(),
            from: self.rooms_top(),
            to: self.attic(0.0),
            channel: None,
            rise_m: 0.0,
        };
        let flow_at_1_pa_m3_s = R::splat(flow_at_1_pa_m3_s(area, LEAK_EXPONENT));
        self.builder.path(
            plan,
            Element::Crack {
                flow_at_1_pa_m3_s,
                exponent: LEAK_EXPONENT,
            },
        );
    }

    /// Leaks of the outer walls, spread over four sides and two heights.
    fn walls(&mut self) {
        let house = self.house;
        let living = &house.living;
        if living.given == Some(GivenRooms::Outdoors) {
            self.open_sides();
        }
        if living.leakage_m3_s <= 0.0 {
            return;
        }
        let plan = &house.plan;
        let tall = f64::from(plan.storeys) * plan.storey_height_m;
        let walls = house.walls();
        let all: f64 = walls.iter().map(|(_, area)| area).sum();
        for (azimuth_rad, area) in walls {
            for (share, level) in [(0.25, "low"), (0.75, "high")] {
                let place = Place::Zone {
                    zone: LIVING,
                    height_m: plan.floor_height_m + share * tall,
                };
                let path = PathPlan {
                    name: format!("wall-leak-{}-{level}", compass(azimuth_rad)),
                    from: self.outdoors(Where::Gable, azimuth_rad),
                    to: place,
                    channel: None,
                    rise_m: 0.0,
                };
                let flow = living.leakage_m3_s * 0.5 * area / all;
                let flow_at_1_pa_m3_s = R::splat(flow);
                let exponent = living.leakage_exponent;
                self.builder.path(
                    path,
                    Element::Crack {
                        flow_at_1_pa_m3_s,
                        exponent,
                    },
                );
            }
        }
    }

    /// The open sides of a porch.
    fn open_sides(&mut self) {
        let plan = &self.house.plan;
        let middle_m = 0.5 * f64::from(plan.storeys) * plan.storey_height_m;
        for (azimuth_rad, _) in self.house.walls() {
            let path = PathPlan {
                name: format!("open-side-{}", compass(azimuth_rad)),
                from: self.outdoors(Where::Gable, azimuth_rad),
                to: Place::Zone {
                    zone: LIVING,
                    height_m: plan.floor_height_m + middle_m,
                },
                channel: None,
                rise_m: 0.0,
            };
            let cd_area_m2 = R::splat(0.6 * WIDE_OPEN_M2);
            self.builder.path(path, Element::Orifice { cd_area_m2 });
        }
    }

    /// Windows opened by rule, on two opposite sides, each as an upper and a lower half.
    fn airing(&mut self) {
        let Some(airing) = &self.house.living.airing else {
            return;
        };
        let plan = &self.house.plan;
        // Sills at 0.9 m, openings 1 m tall (common practice, no source).
        for (turn, side) in [(0.0, "a"), (std::f64::consts::PI, "b")] {
            for (height, level) in [(1.15, "low"), (1.65, "high")] {
                let azimuth_rad = airing.azimuth_rad + turn;
                let path = PathPlan {
                    name: format!("windows-{side}-{level}"),
                    from: self.outdoors(Where::Gable, azimuth_rad),
                    to: Place::Zone {
                        zone: LIVING,
                        height_m: plan.floor_height_m + height,
                    },
                    channel: None,
                    rise_m: 0.0,
                };
                let on = Element::Orifice {
                    cd_area_m2: R::splat(0.6 * airing.area_m2 / 2.0),
                };
                let path = self.builder.path(path, on.clone());
                let control = Some(airing.control);
                self.switched.push(Switched {
                    path,
                    on,
                    off: Element::Shut,
                    control,
                    fans: None,
                });
            }
        }
    }

    fn crawl_space(&mut self) {
        let Floor::Crawl {
            height_m,
            vent_area_m2,
            ..
        } = &self.house.living.floor
        else {
            return;
        };
        // A crawl space always leaks a little: 5 cm² a side stand for cracks.
        let area = vent_area_m2.max(0.002) / 4.0;
        for (azimuth_rad, _) in self.house.walls() {
            let path = PathPlan {
                name: format!("crawl-vent-{}", compass(azimuth_rad)),
                from: self.outdoors(Where::Gable, azimuth_rad),
                to: Place::Zone {
                    zone: CRAWL,
                    height_m: 0.5 * height_m,
                },
                channel: None,
                rise_m: 0.0,
            };
            self.builder.path(
                path,
                Element::Orifice {
                    cd_area_m2: R::splat(0.6 * area),
                },
            );
        }
    }
}

/// Laws of a group of fans running and stopped, `cd_area_m2` the share of hole of one fan.
fn elements<R: Real>(group: &FanGroup, cd_area_m2: f64, count: f64) -> (Element<R>, Element<R>) {
    let fan = &group.fan;
    let (speed, density) = (fan.speed, fan.curve_density_kg_m3);
    let (shut_off, free) = (fan.curve.shut_off_pa(), fan.curve.free_air_m3_s());
    let splat = R::splat;
    let on = match &fan.curve {
        FanCurve::Quadratic { .. } => Element::QuadraticFan {
            shut_off_per_density: splat(shut_off * speed * speed / density),
            curvature_per_density: splat(shut_off / (free * free) / density),
            cd_area_m2: splat(cd_area_m2),
            count: splat(count),
        },
        FanCurve::Points(points) => Element::PolygonFan {
            points: points
                .iter()
                .map(|[flow, pressure]| [flow * speed, pressure * speed * speed / density])
                .collect(),
            cd_area_m2: splat(cd_area_m2),
            count: splat(count),
        },
    };
    let off = if group.place == Where::Ceiling {
        // The closed shutter is a crack like the ceiling's others.
        let share = count / f64::from(group.count.max(1));
        Element::Crack {
            flow_at_1_pa_m3_s: splat(flow_at_1_pa_m3_s(
                group.shutter_leak_m2 * share,
                LEAK_EXPONENT,
            )),
            exponent: LEAK_EXPONENT,
        }
    } else if group.damper {
        Element::Shut
    } else {
        // Air that is pushed through a still wheel meets about the loss that the running wheel
        // makes up for at free flow.
        Element::QuadraticFan {
            shut_off_per_density: splat(0.0),
            curvature_per_density: splat(shut_off / (free * free) / density),
            cd_area_m2: splat(cd_area_m2),
            count: splat(count),
        }
    };
    (on, off)
}
