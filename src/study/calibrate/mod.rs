//! Fitting what is not known of a house to logged readings.
//!
//! The most likely values are those that least-squares finds when the readings and the prior (the
//! likely range of each unknown) are weighed against one another. Residuals of a log hang together
//! from hour to hour, so that readings are counted by their effective number: intervals are wider by
//! the root of how many readings say the same. What the readings cannot tell stays at its prior, and
//! its doubt is carried into every interval.

mod advice;
mod clock;
mod compare;
mod daily;
mod exchanged;
mod fit;
mod found;
mod meaning;
mod model;
mod statistics;
mod unknowns;
mod weights;

pub use advice::{Advice, Days, Goal, NextReading, Reading, advise};
pub use clock::{ClockError, clock_error};
pub(super) use compare::seconds;
pub use compare::{CompareError, Compared, Measure, Where};
pub use daily::DailyError;
pub use exchanged::{ColumnsExchanged, WORST_FIT_K, refuse_exchanged};
pub use fit::calibrate;
pub use found::{Calibration, Direction, Finding, Held};
pub use meaning::meaning;
pub(super) use model::Model;
pub use model::{CalibrationError, Task, predict, predict_all};
pub(super) use statistics::{NINE_IN_TEN, student};
pub use statistics::{Quality, effective_count};
pub use unknowns::{Prior, Target, priors};
pub use weights::Weight;
