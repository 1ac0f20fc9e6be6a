//! Where the sun stands, and what reaches a tilted plane.
//!
//! The order of use: [`position`] at an instant, the horizontal components (measured, or split by
//! [`erbs`], or of a clear sky), [`Sky::new`] once an instant, and [`Sky::on_plane`] for each plane.

mod clear_sky;
mod glass;
mod position;
mod split;
mod tilted;

pub use clear_sky::{ClearSky, haurwitz_global_w_m2, ineichen};
pub use glass::{ashrae_incidence_modifier, physical_incidence_modifier};
pub use position::{
    SOLAR_CONSTANT_W_M2, SunError, SunPosition, SunTimes, absolute_air_mass, apparent_zenith_rad,
    position, position_with_delta_t, relative_air_mass, rise_and_set,
    spencer_extraterrestrial_w_m2,
};
pub use split::{Split, erbs};
pub use tilted::{Horizontal, Plane, PlaneIrradiance, Sky, SkyModel};
