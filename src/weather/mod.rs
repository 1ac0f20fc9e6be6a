//! Weather: readers, repairs, what is derived, and the conditions inside an interval.
//!
//! [`Weather::read`] brings a TMY3 file or any delimited file with a [`ColumnMap`] to a regular
//! series in local standard time; [`Weather::within`] gives the conditions at instants inside one
//! of its intervals. What was repaired, assumed or derived stands in [`Weather::notices`].

mod column_map;
mod column_map_text;
mod delimited;
mod derive;
mod describe;
mod dew_point;
mod grid;
mod infrared;
mod made;
mod measured;
mod notice;
mod problem;
mod quantity;
mod raw;
mod read;
mod record;
mod repair;
mod snow;
mod solar;
mod sun_from_air;
mod sunlight;
mod tmy3;
mod within;
mod write;

pub use column_map::{
    Column, ColumnMap, ColumnMapError, ColumnRef, MapFault, Readings, Stamp, TimeColumns,
};
pub use describe::{Description, Month, Stretch};
pub use made::{DULLEST, MadeError, MadeFault, MadeWeek};
pub use measured::Adjustment;
pub use notice::Notice;
pub use problem::{LISTED_PROBLEMS, Problem, WeatherError};
pub use quantity::{ColumnUnit, Quantity};
pub use record::{Air, Hole, Kind, Place, Radiation, Weather};
pub use within::Conditions;

/// The year that a typical year is shown as; it has no leap day.
pub const TYPICAL_YEAR: i16 = 2001;
