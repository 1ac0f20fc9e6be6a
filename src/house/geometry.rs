//! Sizes and directions that follow from the answers.
//!
//! Attic coordinates, m: origin at a corner of the attic floor, x along the ridge, y across it, z
//! up; x points along the ridge's direction, and seen from above y points to its left. The first
//! slope of a gable or hip roof lies over the half from y = 0 and faces a right angle clockwise from
//! the ridge; the one slope of a one-slope roof falls towards y = 0. The end slopes of a hip roof
//! come last: at the ridge's start (x = 0), then at its end.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use crate::elementary::{atan2, cos, hypot, tan};
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
    /// Height of its middle above the attic floor, m.
    pub centroid_m: f64,
    /// Area of each slope in it, m², in the order of [`AtticShape::slopes`].
    pub slopes_m2: Vec<f64>,
    /// Area of each wall in it, m², in the order of [`AtticShape::walls`].
    pub walls_m2: Vec<f64>,
}

/// Thickness below which a ridge counts as a point, as a share of the length.
const POINT_RIDGE: f64 = 1e-6;

/// The space under the roof.
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
    /// Length of the plan over which each end slope of a hip roof rises, m; 0 of other forms.
    pub hip_m: f64,
    /// Slopes.
    pub slopes: Vec<Slope>,
    /// Upright walls: first the gables at the ridge's start and end, then the high wall of a
    /// one-slope roof.
    pub walls: Vec<AtticWall>,
}

impl AtticShape {
    /// The space of a plan and a roof. A part of the plan without attic, `excluded_m2`, is cut off
    /// across the ridge, so that floor, slopes and volume lose their share of it.
    pub fn new(plan: &Plan, roof: &Roof, excluded_m2: f64) -> Self {
        Self::of(
            plan.length_m - excluded_m2 / plan.width_m,
            plan.width_m,
            roof.form,
            roof.ridge_azimuth_rad,
            [roof.pitch_rad, roof.hip_pitch_rad],
        )
    }

    /// As [`Self::new`] with the pitches of the slopes and of a hip roof's ends.
    pub(super) fn of(
        length_m: f64,
        width_m: f64,
        form: RoofForm,
        ridge_azimuth_rad: f64,
        [pitch_rad, hip_pitch_rad]: [f64; 2],
    ) -> Self {
        let count: u32 = match form {
            RoofForm::Gable | RoofForm::Hip => 2,
            RoofForm::OneSlope => 1,
        };
        let half_m = width_m / f64::from(count);
        let height_m = half_m * tan(pitch_rad);
        let run_m = half_m / cos(pitch_rad);
        let hip_m = match form {
            RoofForm::Hip => hip_run_m(height_m, hip_pitch_rad).min(length_m / 2.0),
            _ => 0.0,
        };
        let mut slopes: Vec<Slope> = (0..count)
            .map(|i| Slope {
                azimuth_rad: turned(ridge_azimuth_rad, FRAC_PI_2 + PI * f64::from(i)),
                tilt_rad: pitch_rad,
                area_m2: (length_m - hip_m) * run_m,
                run_m,
            })
            .collect();
        let gable = |by_rad: f64| AtticWall {
            azimuth_rad: turned(ridge_azimuth_rad, by_rad),
            area_m2: width_m * height_m / 2.0,
            is_gable: true,
        };
        let mut walls = Vec::new();
        if form == RoofForm::Hip {
            let run_m = hypot(height_m, hip_m);
            slopes.extend([PI, 0.0].map(|by_rad| Slope {
                azimuth_rad: turned(ridge_azimuth_rad, by_rad),
                tilt_rad: atan2(height_m, hip_m),
                area_m2: width_m * run_m / 2.0,
                run_m,
            }));
        } else {
            walls.extend([PI, 0.0].map(gable));
        }
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
            hip_m,
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
        self.moments(0.0, self.ridge_height_m)[0]
    }

    /// Half the ridge's height, m.
    pub fn mid_height_m(&self) -> f64 {
        self.ridge_height_m / 2.0
    }

    /// Length of the ridge or of the top of the high wall, m.
    pub fn ridge_length_m(&self) -> f64 {
        (self.length_m - 2.0 * self.hip_m).max(0.0)
    }

    /// Perimeter of the plan, m.
    pub fn perimeter_m(&self) -> f64 {
        2.0 * (self.length_m + self.width_m)
    }

    /// Horizontal section of the attic at a height, m².
    pub fn section_m2(&self, height_m: f64) -> f64 {
        let up = (height_m / self.ridge_height_m.max(1e-9)).clamp(0.0, 1.0);
        (self.length_m - 2.0 * self.hip_m * up) * self.width_m * (1.0 - up)
    }

    /// Volume between two heights, m³, and its moment about the floor, m⁴. The section is a
    /// polynomial of second degree in the height, so that Simpson's rule is exact for both.
    fn moments(&self, from_m: f64, to_m: f64) -> [f64; 2] {
        let middle_m = f64::midpoint(from_m, to_m);
        let sixth = (to_m - from_m) / 6.0;
        let rule = |f: &dyn Fn(f64) -> f64| sixth * (f(from_m) + 4.0 * f(middle_m) + f(to_m));
        [
            rule(&|z| self.section_m2(z)),
            rule(&|z| z * self.section_m2(z)),
        ]
    }

    /// The attic below a height (first) and above it (second), m from the floor.
    pub fn split(&self, height_m: f64) -> [AtticPart; 2] {
        let cut_m = height_m.clamp(0.0, self.ridge_height_m);
        let faces = self.faces();
        let below = |surface: AtticSurface| {
            let face = faces.iter().find(|(other, _)| *other == surface);
            face.map_or(0.0, |(_, face)| area_below_m2(face, cut_m))
        };
        let slopes: Vec<f64> = (0..self.slopes.len())
            .map(|i| below(AtticSurface::Slope(i)))
            .collect();
        let walls: Vec<f64> = (0..self.walls.len())
            .map(|i| below(AtticSurface::Wall(i)))
            .collect();
        let upper_slopes = self.slopes.iter().zip(&slopes);
        let upper_walls = self.walls.iter().zip(&walls);
        let part = |from_m: f64, to_m: f64, slopes_m2, walls_m2| {
            let [volume_m3, moment_m4] = self.moments(from_m, to_m);
            let centroid_m = if volume_m3 > 0.0 {
                moment_m4 / volume_m3
            } else {
                f64::midpoint(from_m, to_m)
            };
            AtticPart {
                volume_m3,
                centroid_m,
                slopes_m2,
                walls_m2,
            }
        };
        let upper_slopes = upper_slopes.map(|(all, low)| all.area_m2 - low).collect();
        let upper_walls = upper_walls.map(|(all, low)| all.area_m2 - low).collect();
        [
            part(0.0, cut_m, slopes, walls),
            part(cut_m, self.ridge_height_m, upper_slopes, upper_walls),
        ]
    }

    /// The closed space as polygons: the floor, the slopes, the walls.
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
            RoofForm::Gable | RoofForm::Hip => w / 2.0,
            RoofForm::OneSlope => w,
        };
        let is_point = self.ridge_length_m() <= POINT_RIDGE * l;
        let (first, last) = if is_point {
            (l / 2.0, l / 2.0)
        } else {
            (self.hip_m, l - self.hip_m)
        };
        let (start, end) = ([first, top, h], [last, top, h]);
        let long = |y: f64| {
            let mut corners = vec![[0.0, y, 0.0], start];
            if !is_point {
                corners.push(end);
            }
            corners.push([l, y, 0.0]);
            face(&corners)
        };
        let at_start = face(&[[0.0, 0.0, 0.0], [0.0, w, 0.0], start]);
        let at_end = face(&[[l, 0.0, 0.0], end, [l, w, 0.0]]);
        faces.push((AtticSurface::Slope(0), long(0.0)));
        match self.form {
            RoofForm::Hip => {
                faces.push((AtticSurface::Slope(1), long(w)));
                faces.push((AtticSurface::Slope(2), at_start));
                faces.push((AtticSurface::Slope(3), at_end));
            }
            RoofForm::Gable => {
                faces.push((AtticSurface::Slope(1), long(w)));
                faces.push((AtticSurface::Wall(0), at_start));
                faces.push((AtticSurface::Wall(1), at_end));
            }
            RoofForm::OneSlope => {
                faces.push((AtticSurface::Wall(0), at_start));
                faces.push((AtticSurface::Wall(1), at_end));
                faces.push((AtticSurface::Wall(2), long(w)));
            }
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
            Place::Soffit => {
                let sides = [FRAC_PI_2, -FRAC_PI_2, PI, 0.0].map(|by| turned(ridge, by));
                let count = if self.form == RoofForm::Hip { 4 } else { 2 };
                sides.into_iter().take(count).collect()
            }
            Place::Gable => self.walls.iter().map(|wall| wall.azimuth_rad).collect(),
            Place::Slope => self.slopes.iter().map(|slope| slope.azimuth_rad).collect(),
            Place::Ridge | Place::Ceiling => Vec::new(),
        }
    }

    /// Area that openings of a place have on the side that faces a direction, m²: the wall or
    /// slope; for soffits and ridges, a strip as long as they are and 1 m wide.
    pub fn room_m2(&self, place: Place, azimuth_rad: f64) -> f64 {
        let is_here = |other: f64| cos(other - azimuth_rad) > 0.99;
        match place {
            Place::Soffit => self.eave_length_m(azimuth_rad),
            Place::Ridge => self.ridge_length_m(),
            Place::Ceiling => self.floor_area_m2(),
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

    /// Length of the eave of a side, m.
    pub fn eave_length_m(&self, azimuth_rad: f64) -> f64 {
        let across = self
            .slopes
            .first()
            .is_some_and(|slope| cos(slope.azimuth_rad - azimuth_rad).abs() < 0.5);
        if across { self.width_m } else { self.length_m }
    }

    /// Height above the attic floor at which the eave of a side lies, m.
    pub fn eave_height_m(&self, azimuth_rad: f64) -> f64 {
        let low = self
            .slopes
            .iter()
            .any(|slope| cos(slope.azimuth_rad - azimuth_rad) > 0.5);
        if low { 0.0 } else { self.ridge_height_m }
    }
}

/// Net free area of the vents against the rule of the International Residential Code.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VentArea {
    /// All openings, fans' holes not counted, m².
    pub total_m2: f64,
    /// Those not more than 3 ft below the ridge, m²; of a low attic, only those of its upper half,
    /// as eave vents are never upper ones.
    pub high_m2: f64,
    /// Eave vents and others in the lower third of the attic, m².
    pub low_m2: f64,
    /// The attic floor, m².
    pub floor_m2: f64,
}

impl VentArea {
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
}

impl House {
    /// The space under the roof.
    pub fn attic_shape(&self) -> AtticShape {
        let excluded = self.attic.excluded.as_ref();
        let excluded_m2 = excluded.map_or(0.0, |part| part.area_m2);
        AtticShape::new(&self.plan, &self.roof, excluded_m2)
    }

    /// Height of the attic floor above the ground, m.
    pub fn attic_floor_height_m(&self) -> f64 {
        self.plan.floor_height_m + f64::from(self.plan.storeys) * self.plan.storey_height_m
    }

    /// Height of the eaves above the ground, m: the attic floor less what the overhang drops.
    pub fn eave_height_m(&self) -> f64 {
        self.attic_floor_height_m() - self.roof.overhang_m * tan(self.roof.pitch_rad)
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
                .fold(0.0, |sum: f64, area| sum + area)
        };
        VentArea {
            total_m2: sum(&|_| true),
            high_m2: sum(&|opening| is_high(opening, ridge_m)),
            low_m2: sum(&|opening| opening.is_low(ridge_m)),
            floor_m2: self.attic_shape().floor_area_m2(),
        }
    }

    /// What the labels of all fans between attic and outdoors say together, m³/s in free air.
    pub fn fan_label_flow_m3_s(&self) -> f64 {
        self.label_flow_m3_s(false)
    }

    /// What the labels of all whole-house fans say together, m³/s in free air at top speed.
    pub fn whole_house_flow_m3_s(&self) -> f64 {
        self.label_flow_m3_s(true)
    }

    fn label_flow_m3_s(&self, in_ceiling: bool) -> f64 {
        self.fans
            .iter()
            .filter(|group| (group.place == Place::Ceiling) == in_ceiling)
            .map(|group| {
                let speed = if in_ceiling { 1.0 } else { group.fan.speed };
                group.fan.curve.free_air_m3_s() * speed * f64::from(group.count)
            })
            .sum()
    }
}

/// Whether a vent is not more than 3 ft below a ridge and in the attic's upper half.
fn is_high(opening: &Opening, ridge_m: f64) -> bool {
    opening.height_m >= (ridge_m - 0.9144).max(0.5 * ridge_m)
}

impl Opening {
    /// Whether codes count it as a low vent under a ridge at a height in m: eave vents (IRC R806.2,
    /// 2012), and what is in the bottom third of the attic (later editions, from memory).
    pub(crate) fn is_low(&self, ridge_m: f64) -> bool {
        let is_in_bottom_third = self.height_m <= ridge_m / 3.0;
        !is_high(self, ridge_m) && (self.place == Place::Soffit || is_in_bottom_third)
    }
}

/// Length of the plan over which an end slope of a hip roof rises to a height, m.
pub(super) fn hip_run_m(height_m: f64, hip_pitch_rad: f64) -> f64 {
    height_m / tan(hip_pitch_rad)
}

/// Area of the part of a face that lies below a height, m²: the outline is cut at that height.
fn area_below_m2(face: &Face, height_m: f64) -> f64 {
    let corners = &face.vertices;
    let mut kept = Vec::with_capacity(corners.len() + 1);
    for (index, &here) in corners.iter().enumerate() {
        let next = corners[(index + 1) % corners.len()];
        let (below, next_below) = (here[2] <= height_m, next[2] <= height_m);
        if below {
            kept.push(here);
        }
        if below != next_below {
            let share = (height_m - here[2]) / (next[2] - here[2]);
            kept.push([0, 1, 2].map(|axis| here[axis] + share * (next[axis] - here[axis])));
        }
    }
    if kept.len() < 3 {
        return 0.0;
    }
    Face { vertices: kept }.area_m2()
}

/// An azimuth turned clockwise, 0 to 2π.
fn turned(azimuth_rad: f64, by_rad: f64) -> f64 {
    let turned = (azimuth_rad + by_rad).rem_euclid(TAU);
    if turned > TAU - 1e-9 { 0.0 } else { turned }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::elementary::{atan, sin};
    use crate::physics::view_factors::view_factors;

    const FORMS: [RoofForm; 3] = [RoofForm::Gable, RoofForm::Hip, RoofForm::OneSlope];

    fn shape(form: RoofForm) -> AtticShape {
        let pitch_rad = atan(4.0_f64 / 12.0);
        AtticShape::of(15.0, 8.0, form, FRAC_PI_2, [pitch_rad, pitch_rad])
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
        for form in FORMS {
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
        for form in FORMS {
            let ridge = 0.7;
            let attic = AtticShape::of(15.0, 8.0, form, ridge, [0.4, 0.6]);
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
                    sign * (nx * sin(ridge) + ny * sin(ridge - FRAC_PI_2)),
                    sign * (nx * cos(ridge) + ny * cos(ridge - FRAC_PI_2)),
                );
                assert!(cos(atan2(east, north) - told) > 0.999_999, "{surface:?}");
            }
        }
    }

    #[test]
    fn the_two_parts_make_the_whole() {
        for form in FORMS {
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
            if form != RoofForm::Hip {
                let ratio = high.volume_m3 / low.volume_m3;
                assert!((ratio - 1.0 / 3.0).abs() < 1e-9, "a quarter is above");
                let [low_m, high_m] = [low, high].map(|p| p.centroid_m / attic.ridge_height_m);
                assert!((low_m - 2.0 / 9.0).abs() < 1e-9 && (high_m - 2.0 / 3.0).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn a_hip_attic_is_a_wedge_between_two_half_pyramids() {
        let attic = shape(RoofForm::Hip);
        let (l, w, h) = (15.0, 8.0, 4.0 / 3.0);
        // Equal pitches: the two ends make one pyramid on a square.
        assert!((attic.hip_m - w / 2.0).abs() < 1e-9);
        assert!((attic.ridge_length_m() - (l - w)).abs() < 1e-9);
        let volume = (l - w) * w * h / 2.0 + w * w * h / 3.0;
        assert!((attic.volume_m3() - volume).abs() < 1e-9);
        let steep = cos(atan(4.0_f64 / 12.0));
        let roof: f64 = attic.slopes.iter().map(|slope| slope.area_m2).sum();
        assert!((roof - l * w / steep).abs() < 1e-9, "plan over the cosine");
        assert!(attic.walls.is_empty());
    }

    #[test]
    fn a_square_hip_roof_is_a_pyramid() {
        let attic = AtticShape::of(8.0, 8.0, RoofForm::Hip, 0.3, [0.4, 0.4]);
        assert!(attic.ridge_length_m().abs() < 1e-9);
        let [low, high] = attic.split(attic.mid_height_m());
        assert!((low.volume_m3 / high.volume_m3 - 7.0).abs() < 1e-9);
        // A cone's middle is a quarter of the way up.
        let quarter = attic.mid_height_m() * 1.25;
        assert!((high.centroid_m - quarter).abs() < 1e-9);
        let polygons: Vec<_> = attic.faces().into_iter().map(|(_, face)| face).collect();
        let factors = view_factors(&polygons).unwrap();
        for row in factors.row_iter() {
            assert!((row.sum() - 1.0).abs() < 1e-9);
        }
        assert!(
            (factors[(0, 1)] - factors[(0, 3)]).abs() < 1e-6,
            "four alike"
        );
    }
}
