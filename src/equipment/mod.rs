//! What is bought and mounted: fans and their controls.

mod control;
mod fan;

pub use control::{Condition, Control};
pub use fan::{Fan, FanCurve};
