//! The attic as the network sees it: its faces with names, and the plane that parts its two layers
//! of air.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::elementary::cos;
use crate::house::{AtticSurface, House};
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
    /// Length and width of the attic floor, m.
    pub(super) length_m: f64,
    pub(super) width_m: f64,
    pub(super) volume_m3: f64,
    pub(super) ridge_height_m: f64,
    pub(super) floor_area_m2: f64,
    /// Height of the interface above the attic floor, m: half the ridge height.
    pub(super) interface_height_m: f64,
    pub(super) interface_area_m2: f64,
    pub(super) lower_volume_m3: f64,
    /// Middle of the lower layer above the attic floor, m.
    pub(super) lower_centroid_m: f64,
    pub(super) upper_centroid_m: f64,
}

impl Shape {
    pub(super) fn of(house: &House) -> Self {
        let attic = house.attic_shape();
        let interface_m = attic.mid_height_m();
        let [lower, upper] = attic.split(interface_m);
        let faces = attic.faces().into_iter().map(|(surface, polygon)| {
            let area_m2 = polygon.area_m2();
            let (kind, azimuth_rad, tilt_rad, lower_m2, length_m) = match surface {
                AtticSurface::Floor => (FaceKind::Floor, 0.0, PI, area_m2, attic.width_m),
                AtticSurface::Slope(index) => {
                    let slope = attic.slopes[index];
                    let lower_m2 = lower.slopes_m2[index];
                    (
                        FaceKind::Slope,
                        slope.azimuth_rad,
                        slope.tilt_rad,
                        lower_m2,
                        slope.run_m,
                    )
                }
                AtticSurface::Wall(index) => {
                    let wall = attic.walls[index];
                    let lower_m2 = lower.walls_m2[index];
                    let height_m = attic.ridge_height_m;
                    (
                        FaceKind::Wall,
                        wall.azimuth_rad,
                        FRAC_PI_2,
                        lower_m2,
                        height_m,
                    )
                }
            };
            let name = match kind {
                FaceKind::Floor => "attic_floor".to_owned(),
                FaceKind::Slope => format!("slope_{}", compass(azimuth_rad)),
                FaceKind::Wall => format!("gable_{}", compass(azimuth_rad)),
            };
            let lower_share = lower_m2 / area_m2;
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
        });
        let volume_m3 = attic.volume_m3();
        let height_m = attic.ridge_height_m;
        Self {
            faces: faces.collect(),
            length_m: attic.length_m,
            width_m: attic.width_m,
            volume_m3,
            ridge_height_m: height_m,
            floor_area_m2: attic.floor_area_m2(),
            interface_height_m: interface_m,
            interface_area_m2: attic.section_m2(interface_m),
            lower_volume_m3: lower.volume_m3,
            lower_centroid_m: lower.centroid_m,
            upper_centroid_m: upper.centroid_m,
        }
    }
}

/// Index of the outer wall that faces a direction most nearly.
pub(super) fn nearest_wall(house: &House, azimuth_rad: f64) -> usize {
    let walls = house.walls();
    let turn = |i: usize| -cos(walls[i].0 - azimuth_rad);
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
