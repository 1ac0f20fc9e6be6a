//! Irradiance of tilted planes.

use std::f64::consts::FRAC_PI_2;

use crate::elementary::{cos, sin_cos};

use super::position::{SunPosition, relative_air_mass};

/// How the diffuse light is spread over the sky.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum SkyModel {
    /// Perez et al. 1990, coefficients of all sites: bright round the sun and at the horizon.
    #[default]
    Perez1990,
    /// Hay & Davies 1980: bright round the sun.
    HayDavies,
    /// Equally bright everywhere.
    Isotropic,
}

/// Irradiance as weather records give it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Horizontal {
    /// From sky and sun on the horizontal, W/m².
    pub global_w_m2: f64,
    /// From the sun on a plane facing it, W/m².
    pub direct_normal_w_m2: f64,
    /// From the sky on the horizontal, W/m².
    pub diffuse_w_m2: f64,
}

/// A plane's orientation, with what follows from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plane {
    normal: [f64; 3],
    sin_tilt: f64,
    sees_sky: f64,
    sees_ground: f64,
}

impl Plane {
    /// A plane tilted from the horizontal, facing an azimuth clockwise from north.
    pub fn new(tilt_rad: f64, azimuth_rad: f64) -> Self {
        let (sin_tilt, cos_tilt) = sin_cos(tilt_rad);
        let (sin_azimuth, cos_azimuth) = sin_cos(azimuth_rad);
        Self {
            normal: [sin_tilt * sin_azimuth, sin_tilt * cos_azimuth, cos_tilt],
            sin_tilt,
            sees_sky: f64::midpoint(1.0, cos_tilt),
            sees_ground: f64::midpoint(1.0, -cos_tilt),
        }
    }

    /// Share of the sky hemisphere in the plane's view, `(1 + cos tilt)/2`.
    pub fn sees_sky(&self) -> f64 {
        self.sees_sky
    }

    /// Share of the ground in the plane's view, `(1 − cos tilt)/2`.
    pub fn sees_ground(&self) -> f64 {
        self.sees_ground
    }

    /// Cosine of the angle between the plane's normal and the sun; below zero behind the plane.
    pub fn cos_incidence(&self, sun: &SunPosition) -> f64 {
        dot(&self.normal, &direction(sun))
    }
}

/// What reaches a plane, by where it comes from.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PlaneIrradiance {
    /// Straight from the sun, W/m².
    pub beam_w_m2: f64,
    /// Diffuse from the sky, W/m².
    pub sky_w_m2: f64,
    /// Reflected from the ground, W/m².
    pub ground_w_m2: f64,
    /// Cosine of the angle of incidence of the beam, 0 where none falls.
    pub cos_incidence: f64,
}

impl PlaneIrradiance {
    /// All of it, W/m².
    pub fn total_w_m2(&self) -> f64 {
        self.beam_w_m2 + self.sky_w_m2 + self.ground_w_m2
    }
}

/// The sky at one instant: what all planes share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sky {
    sun: [f64; 3],
    direct_normal: f64,
    global: f64,
    /// Diffuse from the whole sky, per share of it in view.
    even: f64,
    /// Diffuse from round the sun, on a plane facing it.
    circumsolar: f64,
    /// Diffuse from the horizon, on an upright plane.
    horizon: f64,
}

impl Sky {
    /// Prepares the sky at an instant.
    ///
    /// With the sun below the horizon there is no beam. Diffuse light that a record still has then
    /// is spread evenly, but dropped by the model of Perez et al., which defines nothing there.
    ///
    /// * `extraterrestrial_w_m2`: on a plane facing the sun, above the atmosphere
    ///
    /// Sources: Perez et al. 1990, Solar Energy 44(5), equations 1 and 9, tables 1 and 6;
    /// Hay & Davies 1980.
    pub fn new(
        model: SkyModel,
        sun: &SunPosition,
        horizontal: Horizontal,
        extraterrestrial_w_m2: f64,
    ) -> Self {
        let Horizontal {
            global_w_m2,
            direct_normal_w_m2,
            diffuse_w_m2: diffuse,
        } = horizontal;
        let up = sun.zenith_rad < FRAC_PI_2;
        let direct_normal = if up { direct_normal_w_m2 } else { 0.0 };
        let cos_zenith = cos(sun.zenith_rad);
        let (even, circumsolar, horizon) = match model {
            SkyModel::Isotropic => (diffuse, 0.0, 0.0),
            SkyModel::HayDavies => {
                let share = direct_normal / extraterrestrial_w_m2;
                // The lower limit of the cosine is that of 89°.
                let round_sun = (diffuse * share / cos_zenith.max(0.017_45)).max(0.0);
                ((diffuse * (1.0 - share)).max(0.0), round_sun, 0.0)
            }
            SkyModel::Perez1990 => perez(
                sun.zenith_rad,
                direct_normal,
                diffuse,
                extraterrestrial_w_m2,
            ),
        };
        Self {
            sun: direction(sun),
            direct_normal,
            global: global_w_m2,
            even,
            circumsolar,
            horizon,
        }
    }

    /// The same with a share of the sun's disc and of the brightness round it let through by what
    /// stands in front of it.
    #[must_use]
    pub fn behind(mut self, let_through: f64) -> Self {
        let beam = self.direct_normal * self.sun[2].max(0.0);
        self.global -= beam.min(self.global) * (1.0 - let_through);
        self.direct_normal *= let_through;
        self.circumsolar *= let_through;
        self
    }

    /// What reaches a plane over ground that reflects the share `albedo` of what falls on it.
    #[inline]
    pub fn on_plane(&self, plane: &Plane, albedo: f64) -> PlaneIrradiance {
        let cos_incidence = dot(&plane.normal, &self.sun).max(0.0);
        let sky = self.even * plane.sees_sky
            + self.circumsolar * cos_incidence
            + self.horizon * plane.sin_tilt;
        PlaneIrradiance {
            beam_w_m2: self.direct_normal * cos_incidence,
            sky_w_m2: sky.max(0.0),
            ground_w_m2: self.global * albedo * plane.sees_ground,
            cos_incidence: if self.direct_normal > 0.0 {
                cos_incidence
            } else {
                0.0
            },
        }
    }
}

/// Upper limits of the clearness classes; Perez et al. 1990, table 1.
const CLEARNESS: [f64; 7] = [1.065, 1.23, 1.5, 1.95, 2.8, 4.5, 6.2];
/// Brightness round the sun; Perez et al. 1990, table 6, F11 to F13.
const F1: [[f64; 3]; 8] = [
    [-0.008, 0.588, -0.062],
    [0.130, 0.683, -0.151],
    [0.330, 0.487, -0.221],
    [0.568, 0.187, -0.295],
    [0.873, -0.392, -0.362],
    [1.132, -1.237, -0.412],
    [1.060, -1.600, -0.359],
    [0.678, -0.327, -0.250],
];
/// Brightness at the horizon; Perez et al. 1990, table 6, F21 to F23.
const F2: [[f64; 3]; 8] = [
    [-0.060, 0.072, -0.022],
    [-0.019, 0.066, -0.029],
    [0.055, -0.064, -0.026],
    [0.109, -0.152, -0.014],
    [0.226, -0.462, 0.001],
    [0.288, -0.823, 0.056],
    [0.264, -1.127, 0.131],
    [0.156, -1.377, 0.251],
];

/// Even, circumsolar and horizon terms.
fn perez(zenith: f64, direct_normal: f64, diffuse: f64, outside: f64) -> (f64, f64, f64) {
    let Some(air_mass) = relative_air_mass(zenith) else {
        return (0.0, 0.0, 0.0);
    };
    if diffuse <= 0.0 {
        return (0.0, 0.0, 0.0);
    }
    let brightness = diffuse * air_mass / outside;
    let cubed = 1.041 * zenith.powi(3);
    let clearness = ((diffuse + direct_normal) / diffuse + cubed) / (1.0 + cubed);
    let class = CLEARNESS
        .iter()
        .filter(|limit| clearness >= **limit)
        .count();
    let value = |c: &[f64; 3]| c[0] + c[1] * brightness + c[2] * zenith;
    let round_sun = value(&F1[class]).max(0.0);
    let horizon = value(&F2[class]);
    let cos_zenith = cos(zenith).max(cos(85_f64.to_radians()));
    (
        diffuse * (1.0 - round_sun),
        diffuse * round_sun / cos_zenith,
        diffuse * horizon,
    )
}

/// Unit vector to the sun: east, north, up.
fn direction(sun: &SunPosition) -> [f64; 3] {
    let (sin_zenith, cos_zenith) = sin_cos(sun.zenith_rad);
    let (sin_azimuth, cos_azimuth) = sin_cos(sun.azimuth_rad);
    [
        sin_zenith * sin_azimuth,
        sin_zenith * cos_azimuth,
        cos_zenith,
    ]
}

fn dot(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const MODELS: [SkyModel; 3] = [
        SkyModel::Perez1990,
        SkyModel::HayDavies,
        SkyModel::Isotropic,
    ];

    fn sun(zenith_rad: f64, azimuth_rad: f64) -> SunPosition {
        SunPosition {
            zenith_rad,
            azimuth_rad,
            distance_au: 1.0,
        }
    }

    #[test]
    fn a_plane_facing_the_sun_gets_the_whole_beam() {
        let sun = sun(0.7, 2.0);
        let horizontal = Horizontal {
            global_w_m2: 700.0,
            direct_normal_w_m2: 800.0,
            diffuse_w_m2: 90.0,
        };
        for model in MODELS {
            let sky = Sky::new(model, &sun, horizontal, 1_361.0);
            let facing = sky.on_plane(&Plane::new(0.7, 2.0), 0.2);
            assert!((facing.beam_w_m2 - 800.0).abs() < 1e-9);
            let behind = sky.on_plane(&Plane::new(1.5, 2.0 + std::f64::consts::PI), 0.2);
            assert!(behind.beam_w_m2 == 0.0 && behind.sky_w_m2 > 0.0);
        }
    }

    proptest! {
        #[test]
        fn a_level_plane_gets_what_the_horizontal_gets(
            zenith in 0.0..1.48f64, azimuth in 0.0..std::f64::consts::TAU, direct in 0.0..1_000.0f64,
            diffuse in 0.0..500.0f64, albedo in 0.0..1.0f64,
        ) {
            let global_w_m2 = direct * cos(zenith) + diffuse;
            let horizontal =
                Horizontal { global_w_m2, direct_normal_w_m2: direct, diffuse_w_m2: diffuse };
            for model in MODELS {
                let sky = Sky::new(model, &sun(zenith, azimuth), horizontal, 1_361.0);
                let level = sky.on_plane(&Plane::new(0.0, azimuth + 1.0), albedo);
                prop_assert!((level.total_w_m2() - global_w_m2).abs() < 1e-9, "{model:?}");
            }
        }

        #[test]
        fn no_beam_comes_from_below_the_horizon(
            zenith in FRAC_PI_2..3.1f64, tilt in 0.0..3.1f64, azimuth in 0.0..std::f64::consts::TAU,
        ) {
            let horizontal =
                Horizontal { global_w_m2: 0.0, direct_normal_w_m2: 50.0, diffuse_w_m2: 0.0 };
            for model in MODELS {
                let sky = Sky::new(model, &sun(zenith, 1.0), horizontal, 1_361.0);
                let plane = sky.on_plane(&Plane::new(tilt, azimuth), 0.2);
                prop_assert!(plane.total_w_m2() == 0.0 && plane.cos_incidence == 0.0);
            }
        }
    }
}
