//! Sizes and directions that follow from the answers.
//!
//! Attic coordinates, m: origin at a corner of the attic floor, x along the ridge, y across it, z
//! up; x points along the ridge's direction, and seen from above y points to its left. The first
//! slope of a gable roof lies over the half from y = 0 and faces a right angle clockwise from the
//! ridge; the one slope of a one-slope roof falls towards y = 0.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use crate::physics::view_factors::Face;

use super::House;
use super::parts::{Opening, Place, Plan, Roof, RoofForm};

/// A slope of the roof.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slope {
    /// Direction that it faces, rad from north.
    pub azimuth_rad: f64,
    /// Tilt from horizontal, rad.
    pub tilt_rad: f64,
    /// Area above the attic, without overhang, m².
    pub area_m2: f64,
    /// Length from eave to top along the slope, without overhang, m.
    pub run_m: f64,
}

/// An upright wall of the attic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtticWall {
    /// Direction that it faces, rad from north.
    pub azimuth_rad: f64,
    /// Area, m².
    pub area_m2: f64,
    /// Whether it closes an end of the ridge (a gable); else it is the high wall of a one-slope
    /// roof.
    pub is_gable: bool,
}

/// A surface of the attic.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AtticSurface {
    /// The attic floor.
    Floor,
    /// A slope, by its index in [`AtticShape::slopes`].
    Slope(usize),
    /// A wall, by its index in [`AtticShape::walls`].
    Wall(usize),
}

/// The part of the attic below or above a height.
#[derive(Debug, Clone, PartialEq)]
pub struct AtticPart {
    /// Volume, m³.
    pub volume_m3: f64,
    /// Area of each slope in it, m², in the order of [`AtticShape::slopes`].
    pub slopes_m2: Vec<f64>,
    /// Area of each wall in it, m², in the order of [`AtticShape::walls`].
    pub walls_m2: Vec<f64>,
}

/// The prism under the roof.
#[derive(Debug, Clone, PartialEq)]
pub struct AtticShape {
    /// Form of the roof.
    pub form: RoofForm,
    /// Length along the ridge, m.
    pub length_m: f64,
    /// Width across the ridge, m.
    pub width_m: f64,
    /// Height of the ridge or of the high wall above the attic floor, m.
    pub ridge_height_m: f64,
    /// Slopes.
    pub slopes: Vec<Slope>,
    /// Upright walls: first the gables at the ridge's start and end, then the high wall of a
    /// one-slope roof.
    pub walls: Vec<AtticWall>,
}

impl AtticShape {
    /// The prism of a plan and a roof.
    pub fn new(plan: &Plan, roof: &Roof) -> Self {
        Self::of(
            plan.length_m,
            plan.width_m,
            roof.form,
            roof.ridge_azimuth_rad,
            roof.pitch_rad,
        )
    }

    /// The prism of a length along the ridge and a width across it, m; angles in rad.
    pub fn of(
        length_m: f64,
        width_m: f64,
        form: RoofForm,
        ridge_azimuth_rad: f64,
        pitch_rad: f64,
    ) -> Self {
        let count = match form {
            RoofForm::Gable => 2,
            RoofForm::OneSlope => 1,
        };
        let half_m = width_m / f64::from(count);
        let height_m = half_m * pitch_rad.tan();
        let run_m = half_m / pitch_rad.cos();
        let slopes = (0..count)
            .map(|i| Slope {
                azimuth_rad: turned(ridge_azimuth_rad, FRAC_PI_2 + PI * f64::from(i)),
                tilt_rad: pitch_rad,
                area_m2: length_m * run_m,
                run_m,
            })
            .collect();
        let gable = |by_rad: f64| AtticWall {
            azimuth_rad: turned(ridge_azimuth_rad, by_rad),
            area_m2: width_m * height_m / 2.0,
            is_gable: true,
        };
        let mut walls = vec![gable(PI), gable(0.0)];
        if form == RoofForm::OneSlope {
            walls.push(AtticWall {
                azimuth_rad: turned(ridge_azimuth_rad, -FRAC_PI_2),
                area_m2: length_m * height_m,
                is_gable: false,
            });
        }
        Self {
            form,
            length_m,
            width_m,
            ridge_height_m: height_m,
            slopes,
            walls,
        }
    }

    /// Area of the attic floor, m².
    pub fn floor_area_m2(&self) -> f64 {
        self.length_m * self.width_m
    }

    /// Volume, m³.
    pub fn volume_m3(&self) -> f64 {
        self.floor_area_m2() * self.ridge_height_m / 2.0
    }

    /// Half the ridge's height, m.
    pub fn mid_height_m(&self) -> f64 {
        self.ridge_height_m / 2.0
    }

    /// Perimeter of the plan, m.
    pub fn perimeter_m(&self) -> f64 {
        2.0 * (self.length_m + self.width_m)
    }

    /// Horizontal section of the attic at a height, m².
    pub fn section_m2(&self, height_m: f64) -> f64 {
        let share = (1.0 - height_m / self.ridge_height_m.max(1e-9)).clamp(0.0, 1.0);
        self.floor_area_m2() * share
    }

    /// The attic below a height (first) and above it (second), m from the floor.
    pub fn split(&self, height_m: f64) -> [AtticPart; 2] {
        let h = (height_m / self.ridge_height_m.max(1e-9)).clamp(0.0, 1.0);
        let upper_square = (1.0 - h) * (1.0 - h);
        let wall_above = |wall: &AtticWall| if wall.is_gable { upper_square } else { 1.0 - h };
        let part = |volume: f64, slope: f64, wall: &dyn Fn(&AtticWall) -> f64| AtticPart {
            volume_m3: self.volume_m3() * volume,
            slopes_m2: self.slopes.iter().map(|s| s.area_m2 * slope).collect(),
            walls_m2: self.walls.iter().map(|w| w.area_m2 * wall(w)).collect(),
        };
        [
            part(1.0 - upper_square, h, &|wall| 1.0 - wall_above(wall)),
            part(upper_square, 1.0 - h, &wall_above),
        ]
    }

    /// The closed prism as polygons: the floor, the slopes, the walls.
    pub fn faces(&self) -> Vec<(AtticSurface, Face)> {
        let (l, w, h) = (self.length_m, self.width_m, self.ridge_height_m);
        let face = |vertices: &[[f64; 3]]| Face {
            vertices: vertices.to_vec(),
        };
        let mut faces = vec![(
            AtticSurface::Floor,
            face(&[[0.0, 0.0, 0.0], [l, 0.0, 0.0], [l, w, 0.0], [0.0, w, 0.0]]),
        )];
        let top = match self.form {
            RoofForm::Gable => w / 2.0,
            RoofForm::OneSlope => w,
        };
        let near = face(&[[0.0, 0.0, 0.0], [0.0, top, h], [l, top, h], [l, 0.0, 0.0]]);
        let start = face(&[[0.0, 0.0, 0.0], [0.0, w, 0.0], [0.0, top, h]]);
        let end = face(&[[l, 0.0, 0.0], [l, top, h], [l, w, 0.0]]);
        let far = face(&[[0.0, w, 0.0], [l, w, 0.0], [l, top, h], [0.0, top, h]]);
        faces.push((AtticSurface::Slope(0), near));
        if self.form == RoofForm::Gable {
            faces.push((AtticSurface::Slope(1), far.clone()));
        }
        faces.push((AtticSurface::Wall(0), start));
        faces.push((AtticSurface::Wall(1), end));
        if self.form == RoofForm::OneSlope {
            faces.push((AtticSurface::Wall(2), far));
        }
        faces
    }

    /// Directions of the sides of the house that openings of a place can be in, rad.
    pub fn sides_rad(&self, place: Place) -> Vec<f64> {
        let ridge = self
            .slopes
            .first()
            .map_or(0.0, |slope| slope.azimuth_rad - FRAC_PI_2);
        match place {
            Place::Soffit => [FRAC_PI_2, -FRAC_PI_2].map(|by| turned(ridge, by)).to_vec(),
            Place::Gable => self.walls.iter().map(|wall| wall.azimuth_rad).collect(),
            Place::Slope => self.slopes.iter().map(|slope| slope.azimuth_rad).collect(),
            Place::Ridge => Vec::new(),
        }
    }

    /// Area that openings of a place have on the side that faces a direction, m²: the wall or
    /// slope; for soffits and ridges, a strip as long as the house and 1 m wide.
    pub fn room_m2(&self, place: Place, azimuth_rad: f64) -> f64 {
        let is_here = |other: f64| (other - azimuth_rad).cos() > 0.99;
        match place {
            Place::Soffit | Place::Ridge => self.length_m,
            Place::Gable => self
                .walls
                .iter()
                .filter(|w| is_here(w.azimuth_rad))
                .map(|w| w.area_m2)
                .sum(),
            Place::Slope => self
                .slopes
                .iter()
                .filter(|s| is_here(s.azimuth_rad))
                .map(|s| s.area_m2)
                .sum(),
        }
    }

    /// Height above the attic floor at which the eave of a side lies, m.
    pub fn eave_height_m(&self, azimuth_rad: f64) -> f64 {
        let low = self
            .slopes
            .iter()
            .any(|slope| (slope.azimuth_rad - azimuth_rad).cos() > 0.5);
        if low { 0.0 } else { self.ridge_height_m }
    }
}

/// Net free area of the vents against the rule of the International Residential Code.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VentArea {
    /// All openings, fans' holes not counted, m².
    pub total_m2: f64,
    /// Those not more than 3 ft (0.91 m) below the ridge, m².
    pub high_m2: f64,
    /// The attic floor, m².
    pub floor_m2: f64,
}

impl VentArea {
    /// What 1/150 of the floor asks for, m². Source: IRC R806.2.
    pub fn at_150_m2(&self) -> f64 {
        self.floor_m2 / 150.0
    }

    /// What 1/300 of the floor asks for, m², where the conditions of the rule allow it.
    /// Source: IRC R806.2.
    pub fn at_300_m2(&self) -> f64 {
        self.floor_m2 / 300.0
    }

    /// Floor area for each area of vent; infinite without vents.
    pub fn ratio(&self) -> f64 {
        self.floor_m2 / self.total_m2
    }

    /// Share of the area that is high; zero without vents.
    pub fn high_share(&self) -> f64 {
        if self.total_m2 > 0.0 {
            self.high_m2 / self.total_m2
        } else {
            0.0
        }
    }

    /// Whether 40 to 50 % of the area is high, which 1/300 asks for. Source: IRC R806.2 (2012).
    pub fn is_balanced(&self) -> bool {
        (0.4..=0.5).contains(&self.high_share())
    }
}

impl House {
    /// The prism under the roof.
    pub fn attic_shape(&self) -> AtticShape {
        AtticShape::new(&self.plan, &self.roof)
    }

    /// Height of the attic floor above the ground, m.
    pub fn attic_floor_height_m(&self) -> f64 {
        self.plan.floor_height_m + f64::from(self.plan.storeys) * self.plan.storey_height_m
    }

    /// Height of the eaves above the ground, m: the attic floor less what the overhang drops.
    pub fn eave_height_m(&self) -> f64 {
        self.attic_floor_height_m() - self.roof.overhang_m * self.roof.pitch_rad.tan()
    }

    /// Height of the ridge above the ground, m.
    pub fn ridge_height_m(&self) -> f64 {
        self.attic_floor_height_m() + self.attic_shape().ridge_height_m
    }

    /// Area of all floors, m².
    pub fn floor_area_m2(&self) -> f64 {
        self.plan.length_m * self.plan.width_m * f64::from(self.plan.storeys)
    }

    /// Volume of the rooms, m³.
    pub fn living_volume_m3(&self) -> f64 {
        self.floor_area_m2() * self.plan.storey_height_m
    }

    /// Directions of the four outer walls, rad: the low eave or first slope, its opposite, then
    /// the ridge's start and end; and their areas with windows, m².
    pub fn walls(&self) -> [(f64, f64); 4] {
        let ridge = self.roof.ridge_azimuth_rad;
        let height_m = f64::from(self.plan.storeys) * self.plan.storey_height_m;
        let (long, short) = (self.plan.length_m * height_m, self.plan.width_m * height_m);
        [
            (turned(ridge, FRAC_PI_2), long),
            (turned(ridge, -FRAC_PI_2), long),
            (turned(ridge, PI), short),
            (turned(ridge, 0.0), short),
        ]
    }

    /// The vents against the rule, fans' holes not counted.
    pub fn vent_area(&self) -> VentArea {
        let ridge_m = self.attic_shape().ridge_height_m;
        let sum = |keep: &dyn Fn(&&Opening) -> bool| {
            self.openings
                .iter()
                .filter(keep)
                .map(|opening| opening.net_free_area_m2)
                .sum()
        };
        VentArea {
            total_m2: sum(&|_| true),
            high_m2: sum(&|opening| opening.height_m >= ridge_m - 0.914),
            floor_m2: self.plan.length_m * self.plan.width_m,
        }
    }

    /// What the labels of all fans say together, m³/s in free air.
    pub fn fan_label_flow_m3_s(&self) -> f64 {
        self.fans
            .iter()
            .map(|group| group.fan.curve.free_air_m3_s() * group.fan.speed * f64::from(group.count))
            .sum()
    }

    /// Vent area for each flow of the fans' labels, m² for 1 m³/s; infinite without fans. The
    /// trade asks for 1 ft² for 300 cfm, 0.656 m² for 1 m³/s (Home Ventilating Institute).
    pub fn inlet_per_fan_flow(&self) -> f64 {
        self.vent_area().total_m2 / self.fan_label_flow_m3_s()
    }
}

/// An azimuth turned clockwise, 0 to 2π.
fn turned(azimuth_rad: f64, by_rad: f64) -> f64 {
    let turned = (azimuth_rad + by_rad).rem_euclid(TAU);
    if turned > TAU - 1e-9 { 0.0 } else { turned }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::view_factors::view_factors;

    fn shape(form: RoofForm) -> AtticShape {
        AtticShape::of(15.0, 8.0, form, FRAC_PI_2, (4.0_f64 / 12.0).atan())
    }

    #[test]
    fn a_gable_attic_has_the_areas_of_a_prism() {
        let attic = shape(RoofForm::Gable);
        assert!((attic.ridge_height_m - 4.0 / 3.0).abs() < 1e-12);
        assert!((attic.volume_m3() - 15.0 * 8.0 * 4.0 / 3.0 / 2.0).abs() < 1e-9);
        assert!(
            (attic.slopes[0].azimuth_rad - PI).abs() < 1e-12,
            "first slope faces south"
        );
        assert!(
            attic.slopes[1].azimuth_rad.abs() < 1e-12,
            "second slope faces north"
        );
        assert!(
            (attic.walls[0].azimuth_rad - 1.5 * PI).abs() < 1e-12,
            "ridge starts in the west"
        );
        assert!((attic.walls[0].area_m2 - 8.0 * 4.0 / 3.0 / 2.0).abs() < 1e-12);
    }

    #[test]
    fn faces_close_and_have_the_areas_that_are_told() {
        for form in [RoofForm::Gable, RoofForm::OneSlope] {
            let attic = shape(form);
            let faces = attic.faces();
            for (surface, face) in &faces {
                let area_m2 = match surface {
                    AtticSurface::Floor => attic.floor_area_m2(),
                    AtticSurface::Slope(i) => attic.slopes[*i].area_m2,
                    AtticSurface::Wall(i) => attic.walls[*i].area_m2,
                };
                assert!((face.area_m2() - area_m2).abs() < 1e-9, "{surface:?}");
            }
            let polygons: Vec<_> = faces.into_iter().map(|(_, face)| face).collect();
            let factors = view_factors(&polygons).unwrap();
            for row in factors.row_iter() {
                assert!((row.sum() - 1.0).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn normals_turned_to_the_compass_give_the_azimuths() {
        for form in [RoofForm::Gable, RoofForm::OneSlope] {
            let ridge = 0.7;
            let attic = AtticShape::of(15.0, 8.0, form, ridge, 0.4);
            for (surface, face) in attic.faces() {
                let told = match surface {
                    AtticSurface::Floor => continue,
                    AtticSurface::Slope(i) => attic.slopes[i].azimuth_rad,
                    AtticSurface::Wall(i) => attic.walls[i].azimuth_rad,
                };
                // Outward: away from the middle of the floor, a little above it.
                let [nx, ny, _] = face.normal();
                let corner = face.vertices[0];
                let away = nx * (corner[0] - 7.5)
                    + ny * (corner[1] - 4.0)
                    + face.normal()[2] * (corner[2] - 0.1);
                let sign = if away > 0.0 { 1.0 } else { -1.0 };
                let (east, north) = (
                    sign * (nx * ridge.sin() + ny * (ridge - FRAC_PI_2).sin()),
                    sign * (nx * ridge.cos() + ny * (ridge - FRAC_PI_2).cos()),
                );
                assert!((east.atan2(north) - told).cos() > 0.999_999, "{surface:?}");
            }
        }
    }

    #[test]
    fn the_two_parts_make_the_whole() {
        for form in [RoofForm::Gable, RoofForm::OneSlope] {
            let attic = shape(form);
            for height_m in [0.0, 0.3, attic.mid_height_m(), 1.0, 9.0] {
                let [low, high] = attic.split(height_m);
                assert!((low.volume_m3 + high.volume_m3 - attic.volume_m3()).abs() < 1e-9);
                for i in 0..attic.slopes.len() {
                    assert!(
                        (low.slopes_m2[i] + high.slopes_m2[i] - attic.slopes[i].area_m2).abs()
                            < 1e-9
                    );
                }
                for i in 0..attic.walls.len() {
                    assert!(
                        (low.walls_m2[i] + high.walls_m2[i] - attic.walls[i].area_m2).abs() < 1e-9
                    );
                }
            }
            let [low, high] = attic.split(attic.mid_height_m());
            assert!(
                (high.volume_m3 / low.volume_m3 - 1.0 / 3.0).abs() < 1e-9,
                "a quarter is above"
            );
        }
    }

    #[test]
    fn published_vent_rule_example() {
        // IRC R806.2 worked: 1,500 ft² asks for 10 ft² at 1/150 and 5 ft² at 1/300.
        let ft2 = 0.3048_f64.powi(2);
        let vents = VentArea {
            total_m2: 5.0 * ft2,
            high_m2: 2.2 * ft2,
            floor_m2: 1500.0 * ft2,
        };
        assert!((vents.at_150_m2() / ft2 - 10.0).abs() < 1e-9);
        assert!((vents.at_300_m2() / ft2 - 5.0).abs() < 1e-9);
        assert!((vents.ratio() - 300.0).abs() < 1e-9 && vents.is_balanced());
    }
}
