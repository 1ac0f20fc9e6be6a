//! Many runs that answer one question.

mod band;
pub mod calibrate;
mod differences;
mod effects;
mod forecast;
mod least_squares;
mod side_by_side;
pub mod sweep;
pub mod verify;

pub use band::{Band, band, narrowest};
pub use differences::{Difference, differences};
pub use effects::{Effect, Measures, Other, effects, effects_of};
pub use forecast::forecast_effects;
pub use least_squares::{Minimum, Residuals, Search, Unknown, minimise};
