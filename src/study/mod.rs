//! Many runs that answer one question.

mod band;
mod effects;
mod forecast;
pub mod sweep;

pub use band::{Band, band, narrowest};
pub use effects::{Effect, Measures, Other, effects, effects_of};
pub use forecast::forecast_effects;
