//! Readings of loggers: what a file holds, brought to one clock and to SI, and screened.
//!
//! [`LogColumns`] says which column of a delimited file is what; [`LogColumns::guess`] proposes one
//! from the header, for a person to accept. [`Readings::read`] reads a file by it. Nothing is
//! repaired: what cannot be believed is dropped, and [`Readings::notices`] says what and why.

mod check;
mod clock;
mod decode;
mod description;
mod guess;
mod notice;
mod outdoors;
mod read;
mod screen;

pub use clock::{Clock, Zone};
pub use decode::Encoding;
pub use description::{At, LogColumn, LogColumns, LogColumnsError, Role, Taken};
pub use guess::{Guess, GuessError};
pub use notice::{Notice, TimeFault};
pub use outdoors::outdoor_weather;
pub use read::{Readings, ReadingsError, Series};
