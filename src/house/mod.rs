//! A house: as typed, checked, and then only valid.

mod build;
mod clash;
mod document;
mod fault;
mod file;
mod form;
mod geometry;
mod names;
mod parts;
mod rewrite;
mod rooms_log;
mod schema;
mod values;
mod walk;
mod written;

pub use clash::{Clash, CurveFault};
pub use fault::{Fault, FaultKind, Hint, HouseError};
pub use file::HouseFile;
pub use form::explained;
pub use geometry::{AtticPart, AtticShape, AtticSurface, AtticWall, Slope, VentArea};
pub use parts::{
    Airing, Assumption, Attic, Barrier, BarrierPlace, Battens, Ceiling, Channel, Direction, Ducts,
    FanGroup, Floor, GivenRooms, Living, NamedControl, Opening, Place, Plan, Plant, Roof, RoofForm,
    Sensor, SensorZone, Site, Soil, Spread, Terrain, VapourRetarder, Window,
};
pub use rewrite::{RewriteError, as_written, setting};
pub use rooms_log::{LogFault, RoomsLog};
pub use schema::{group_and_name, is_count};

/// A house file to start from, every key explained.
pub const STARTER: &str = include_str!("starter.toml");

/// The house of the demo: invented, typical, with four designs.
pub const DEMO: &str = include_str!("demo.toml");

/// A complete, consistent house in SI units; one that exists is valid.
#[derive(Debug, Clone, PartialEq)]
pub struct House {
    /// Name of the design.
    pub design: String,
    /// Name of the house.
    pub name: String,
    /// Where it stands.
    pub site: Site,
    /// Plan and storeys.
    pub plan: Plan,
    /// Roof.
    pub roof: Roof,
    /// Attic.
    pub attic: Attic,
    /// Ceiling.
    pub ceiling: Ceiling,
    /// Openings of the attic to outdoors.
    pub openings: Vec<Opening>,
    /// Fans.
    pub fans: Vec<FanGroup>,
    /// Radiant barrier.
    pub barrier: Option<Barrier>,
    /// Controls of fans and windows.
    pub controls: Vec<NamedControl>,
    /// Rooms.
    pub living: Living,
    /// Thermometers.
    pub sensors: Vec<Sensor>,
    /// What was assumed for lack of an answer.
    pub assumed: Vec<Assumption>,
}
