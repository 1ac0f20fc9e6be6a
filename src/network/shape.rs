//! The attic as a solid: its faces, volumes and the plane that parts its two layers of air.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::house::{House, RoofForm};
use crate::physics::view_factors::Face;

/// What a face of the attic is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum FaceKind {
    /// Attic floor.
    Floor,
    /// Roof slope.
    Slope,
    /// Gable wall, or the high wall under a one-slope roof.
    Wall,
}

/// One face of the attic.
#[derive(Debug, Clone)]
pub(super) struct AtticFace {
    pub(super) kind: FaceKind,
    /// Name for nodes, such as `slope_s`.
    pub(super) name: String,
    /// Direction it faces outdoors, rad.
    pub(super) azimuth_rad: f64,
    /// Tilt of the outdoor side from horizontal, rad.
    pub(super) tilt_rad: f64,
    pub(super) polygon: Face,
    pub(super) area_m2: f64,
    /// Share of the area below the interface of the two layers of air.
    pub(super) lower_share: f64,
    /// Length along the slope, or height of a wall, m.
    pub(super) length_m: f64,
}

/// The solid under the roof.
#[derive(Debug, Clone)]
pub(super) struct Shape {
    pub(super) faces: Vec<AtticFace>,
    pub(super) volume_m3: f64,
    pub(super) ridge_height_m: f64,
    pub(super) floor_area_m2: f64,
    /// Height of the interface above the attic floor, m: half the ridge height.
    pub(super) interface_height_m: f64,
    pub(super) interface_area_m2: f64,
    pub(super) lower_volume_m3: f64,
    pub(super) lower_centroid_m: f64,
    pub(super) upper_centroid_m: f64,
}

/// Directions of the four outer walls, rad.
pub(super) fn wall_azimuths(house: &House) -> [f64; 4] {
    let ridge = house.roof.ridge_azimuth_rad;
    [ridge, ridge + FRAC_PI_2, ridge + PI, ridge + 1.5 * PI].map(|a| a.rem_euclid(2.0 * PI))
}

/// Index of the wall that faces a direction most nearly.
pub(super) fn nearest_wall(house: &House, azimuth_rad: f64) -> usize {
    let walls = wall_azimuths(house);
    let turn = |i: usize| -(walls[i] - azimuth_rad).cos();
    (0..4).fold(
        0,
        |best, i| if turn(i) < turn(best) - 1e-9 { i } else { best },
    )
}

/// Point of the compass nearest to a direction, in lower case.
pub(super) fn compass(azimuth_rad: f64) -> &'static str {
    const POINTS: [&str; 16] = [
        "n", "nne", "ne", "ene", "e", "ese", "se", "sse", "s", "ssw", "sw", "wsw", "w", "wnw",
        "nw", "nnw",
    ];
    let turns = (azimuth_rad / (PI / 8.0)).round().rem_euclid(16.0);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "in 0 to 16"
    )]
    POINTS[turns as usize % 16]
}

impl Shape {
    pub(super) fn of(house: &House) -> Self {
        let (length, width) = (house.plan.length_m, house.plan.width_m);
        let ridge = house.roof.ridge_azimuth_rad;
        let pitch = house.roof.pitch_rad;
        let (across, height) = match house.roof.form {
            RoofForm::Gable => (width / 2.0, width / 2.0 * pitch.tan()),
            RoofForm::OneSlope => (width, width * pitch.tan()),
        };
        // x along the ridge, y towards the first slope's eave, z up; y = 0 is the far eave of a
        // gable roof or the foot of the high wall.
        let top = match house.roof.form {
            RoofForm::Gable => width / 2.0,
            RoofForm::OneSlope => 0.0,
        };
        let slope_length = across / pitch.cos();
        let at = |x: f64, y: f64, z: f64| [x, y, z];
        let mut faces = vec![
            face(
                FaceKind::Floor,
                0.0,
                PI,
                slope_length,
                vec![
                    at(0.0, 0.0, 0.0),
                    at(length, 0.0, 0.0),
                    at(length, width, 0.0),
                    at(0.0, width, 0.0),
                ],
            ),
            face(
                FaceKind::Slope,
                ridge + FRAC_PI_2,
                pitch,
                slope_length,
                vec![
                    at(0.0, width, 0.0),
                    at(length, width, 0.0),
                    at(length, top, height),
                    at(0.0, top, height),
                ],
            ),
        ];
        let far = ridge - FRAC_PI_2;
        let (kind, tilt, far_length) = match house.roof.form {
            RoofForm::Gable => (FaceKind::Slope, pitch, slope_length),
            RoofForm::OneSlope => (FaceKind::Wall, FRAC_PI_2, height),
        };
        faces.push(face(
            kind,
            far,
            tilt,
            far_length,
            vec![
                at(0.0, 0.0, 0.0),
                at(0.0, top, height),
                at(length, top, height),
                at(length, 0.0, 0.0),
            ],
        ));
        for (x, azimuth) in [(length, ridge), (0.0, ridge + PI)] {
            faces.push(face(
                FaceKind::Wall,
                azimuth,
                FRAC_PI_2,
                height,
                vec![at(x, 0.0, 0.0), at(x, width, 0.0), at(x, top, height)],
            ));
        }
        let volume_m3 = 0.5 * width * height * length;
        // A section that narrows evenly from floor to ridge: three quarters lie below mid-height.
        Self {
            faces,
            volume_m3,
            ridge_height_m: height,
            floor_area_m2: length * width,
            interface_height_m: height / 2.0,
            interface_area_m2: length * width / 2.0,
            lower_volume_m3: 0.75 * volume_m3,
            lower_centroid_m: height * 2.0 / 9.0,
            upper_centroid_m: height * 2.0 / 3.0,
        }
    }
}

fn face(
    kind: FaceKind,
    azimuth_rad: f64,
    tilt_rad: f64,
    length_m: f64,
    vertices: Vec<[f64; 3]>,
) -> AtticFace {
    let azimuth_rad = azimuth_rad.rem_euclid(2.0 * PI);
    let name = match kind {
        FaceKind::Floor => "attic_floor".to_owned(),
        FaceKind::Slope => format!("slope_{}", compass(azimuth_rad)),
        FaceKind::Wall => format!("gable_{}", compass(azimuth_rad)),
    };
    let lower_share = match (kind, vertices.len()) {
        (FaceKind::Floor, _) => 1.0,
        (FaceKind::Wall, 3) => 0.75,
        _ => 0.5,
    };
    let polygon = Face { vertices };
    let area_m2 = polygon.area_m2();
    AtticFace {
        kind,
        name,
        azimuth_rad,
        tilt_rad,
        polygon,
        area_m2,
        lower_share,
        length_m,
    }
}
