//! Many runs that answer one question.

mod effects;

pub use effects::{Effect, effects};
