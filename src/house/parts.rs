//! The parts of a house as the engine needs them: SI, complete, consistent with one another.

use super::rooms_log::RoomsLog;
use crate::catalog::{self, TerrainRow};
use crate::equipment::{Control, Fan};
use crate::physics::conduction::Layer;
use crate::physics::convection::Roughness;
use crate::units::Dimension;

use super::written;

/// Where the house stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    /// Degrees north, where made weather is to stand; a weather file brings its own place.
    pub latitude_deg: Option<f64>,
    /// Degrees east, as above.
    pub longitude_deg: Option<f64>,
    /// Terrain around the house, for wind.
    pub terrain: Terrain,
    /// Share of the terrain's wind that neighbouring houses and trees let through, 0.2 to 1.
    pub shelter: f64,
    /// How much more of the wind comes through from the north than from all round, and as much less
    /// from the south, −0.8 to 0.8.
    pub north_wind: f64,
    /// The same from the east and the west.
    pub east_wind: f64,
    /// What still air takes from outer surfaces by rising along them against what is worked out:
    /// fitted, 1 otherwise.
    pub natural_film: f64,
    /// What the wind takes from outer surfaces against what is worked out: fitted, 1 otherwise.
    pub wind_film: f64,
    /// Height of houses, trees and hills around, as an angle above the level: the sun is behind them
    /// below it.
    pub skyline_rad: f64,
    /// Share of sunlight that the ground reflects.
    pub ground_albedo: f64,
    /// Soil under the house.
    pub soil: Soil,
    /// Height above ground at which the weather file's wind was measured, m; `None` takes the
    /// file's own statement.
    pub wind_height_m: Option<f64>,
    /// Mean outdoor temperature of the year, °C, where the owner gives it.
    pub annual_mean_c: Option<f64>,
    /// Climate zone of the energy code, 1 (hot) to 8 (cold), where the owner gives it: only rules
    /// of codes ask for it.
    pub climate_zone: Option<u32>,
}

/// Terrain classes of the power-law wind profile.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Terrain {
    /// Flat open country, few obstacles.
    Open,
    /// Towns, suburbs, woods.
    Suburban,
    /// Large city centres.
    City,
}

impl Terrain {
    /// The wind profile of this terrain.
    pub const fn profile(self) -> TerrainRow {
        match self {
            Self::Open => catalog::OPEN,
            Self::Suburban => catalog::SUBURBAN,
            Self::City => catalog::CITY,
        }
    }
}

/// Soil classes of ISO 13370.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Soil {
    /// Clay or silt.
    Clay,
    /// Sand or gravel.
    Sand,
    /// Homogeneous rock.
    Rock,
}

/// Rectangular plan of the house.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Outside length along the ridge, m.
    pub length_m: f64,
    /// Outside width across the ridge, m.
    pub width_m: f64,
    /// Number of storeys.
    pub storeys: u32,
    /// Clear height of a storey, m.
    pub storey_height_m: f64,
    /// Height of the lowest floor above the ground, m.
    pub floor_height_m: f64,
}

/// Roof form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RoofForm {
    /// Two slopes that meet at a ridge, a gable wall at each end.
    Gable,
    /// Four slopes; the ridge is shorter than the house, or a point.
    Hip,
    /// One slope from a low eave to a high wall.
    OneSlope,
}

/// Roof from outside to the underside of the deck.
#[derive(Debug, Clone, PartialEq)]
pub struct Roof {
    /// Form.
    pub form: RoofForm,
    /// Direction of the ridge line, rad from north: 0 to π of a gable roof. Of one slope, the
    /// direction along the high wall, 0 to 2π, such that the slope faces `ridge + π/2`, as does
    /// the first slope of a gable roof.
    pub ridge_azimuth_rad: f64,
    /// Pitch of the slopes from horizontal, rad.
    pub pitch_rad: f64,
    /// Pitch of the two end slopes of a hip roof, rad; without meaning for other forms.
    pub hip_pitch_rad: f64,
    /// Covering, inner surface first, outer surface last.
    pub covering: Vec<Layer>,
    /// Share of sunlight that the covering takes up.
    pub solar_absorptance: f64,
    /// Thermal emittance of the outer surface.
    pub emittance: f64,
    /// Roughness of the outer surface, for its film.
    pub roughness: Roughness,
    /// Air space between covering and deck.
    pub battens: Option<Battens>,
    /// Insulation on the underside of the deck, inner surface first; may be empty.
    pub underside: Vec<Layer>,
    /// Deck, inner surface first.
    pub deck: Vec<Layer>,
    /// Emittance of the bare underside of the deck.
    pub deck_emittance: f64,
    /// Overhang of the eaves, m.
    pub overhang_m: f64,
    /// Depth of the rafters below the deck, m.
    pub rafter_depth_m: f64,
}

/// Air space under a covering laid on battens.
#[derive(Debug, Clone, PartialEq)]
pub struct Battens {
    /// Depth of the air space, m.
    pub gap_m: f64,
    /// Share of the gap's cross-section that is open at eave and at ridge; 0 is closed.
    pub open_share: f64,
    /// Emittance of the covering's underside.
    pub covering_emittance: f64,
    /// Emittance of the deck's upper side.
    pub deck_emittance: f64,
}

/// Part of the plan that has no attic: the roof is its ceiling (cathedral ceilings, rooms behind
/// knee walls).
#[derive(Debug, Clone, PartialEq)]
pub struct Excluded {
    /// Its area in the plan, m².
    pub area_m2: f64,
    /// Ceiling and insulation between the rooms and the roof's deck, room side first.
    pub layers: Vec<Layer>,
}

/// Attic above the ceiling.
#[derive(Debug, Clone, PartialEq)]
pub struct Attic {
    /// Whether it was closed to outdoors on purpose.
    pub sealed: bool,
    /// Part of the plan without attic.
    pub excluded: Option<Excluded>,
    /// Gable walls, inner surface first.
    pub gable_wall: Vec<Layer>,
    /// Share of sunlight that the gable walls take up.
    pub gable_absorptance: f64,
    /// Emittance of the gable walls' inner side.
    pub gable_emittance: f64,
    /// Films of air at the attic's surfaces against those worked out: what is fitted, 1 otherwise.
    pub film: f64,
    /// How much warmer the air is on a hot afternoon than any run has it, K: 0, but for its limits after
    /// a fit.
    pub air_error_k: f64,
    /// Mass of framing timber in the attic air, kg.
    pub framing_mass_kg: f64,
    /// Surface of the framing timber in the attic air, m².
    pub framing_area_m2: f64,
    /// Specific heat of the framing timber, J/(kg K).
    pub framing_specific_heat_j_kgk: f64,
    /// Background leakage of the attic shell: effective leakage area at 4 Pa with a discharge
    /// coefficient of 1, m².
    pub leakage_area_m2: f64,
    /// Clear way for air between insulation and deck above the eave vents, m, where the owner
    /// gives it: only rules of codes ask for it.
    pub air_path_m: Option<f64>,
}

/// Vapour retarder on the side of a ceiling that is warm in winter, by the classes of the
/// International Residential Code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum VapourRetarder {
    /// None, or one of class III: more than 1 perm.
    None,
    /// More than 0.1 and not more than 1 perm, as kraft facing.
    ClassII,
    /// Not more than 0.1 perm, as polythene.
    ClassI,
}

/// Ceiling between rooms and attic.
#[derive(Debug, Clone, PartialEq)]
pub struct Ceiling {
    /// Whether there is none, as over many garages and porches: then the rest is empty.
    pub open: bool,
    /// Board, room side first.
    pub board: Vec<Layer>,
    /// Insulation between and above the joists, lower side first; may be empty.
    pub insulation: Vec<Layer>,
    /// Path through the joists, lower side first: joist, and what insulation lies above it.
    pub joist_path: Vec<Layer>,
    /// Share of the ceiling that is joist.
    pub joist_share: f64,
    /// Emittance of the attic floor.
    pub floor_emittance: f64,
    /// Leakage between rooms and attic: effective leakage area at 4 Pa with a discharge
    /// coefficient of 1, m².
    pub leakage_area_m2: f64,
    /// Its vapour retarder, where the owner gives it: only rules of codes ask for it.
    pub vapour_retarder: Option<VapourRetarder>,
}

/// What an opening is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Under the eave.
    Soffit,
    /// Along the ridge.
    Ridge,
    /// In a gable wall.
    Gable,
    /// In a roof slope.
    Slope,
    /// In the ceiling between rooms and attic: only of fans.
    Ceiling,
}

/// An opening between attic and outdoors.
#[derive(Debug, Clone, PartialEq)]
pub struct Opening {
    /// Name in the file, such as `openings.soffit`.
    pub name: String,
    /// What it is in.
    pub place: Place,
    /// Direction that its side of the house faces, rad; without meaning at the ridge.
    pub azimuth_rad: f64,
    /// Net free area of all openings of this group, m².
    pub net_free_area_m2: f64,
    /// Height of the centre above the attic floor, m.
    pub height_m: f64,
    /// Height of the opening from its lower to its upper edge, m.
    pub extent_m: f64,
    /// Discharge coefficient.
    pub discharge_coefficient: f64,
    /// Of a wind turbine on its throat, the flow coefficient `C_f = V̇/(A V)` by which wind alone
    /// draws air through it.
    pub turbine: Option<f64>,
    /// Clear width of one opening of the mesh over it, m, where the file names a mesh.
    pub mesh_m: Option<f64>,
}

/// Fans of one kind in holes of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct FanGroup {
    /// Name in the file, such as `fans.gable`.
    pub name: String,
    /// The fan.
    pub fan: Fan,
    /// Number of fans.
    pub count: u32,
    /// What the holes are in.
    pub place: Place,
    /// Direction that their side of the house faces, rad.
    pub azimuth_rad: f64,
    /// Net free area of one hole with its grille and screen, m².
    pub hole_net_area_m2: f64,
    /// Number of holes that have a fan; spare holes are openings of their own.
    pub holes: u32,
    /// Fans that one hole takes; holes are filled in turn.
    pub fans_per_hole: u32,
    /// Height of the holes above the attic floor, m.
    pub height_m: f64,
    /// Discharge coefficient of hole and grille.
    pub discharge_coefficient: f64,
    /// Direction.
    pub direction: Direction,
    /// Whether a stopped fan closes its hole.
    pub damper: bool,
    /// Distance from the fans to the nearest vent on their side of the house, m; `None` where there
    /// is none.
    pub vent_distance_m: Option<f64>,
    /// What the closed shutter of a whole-house fan leaks, all of the group: effective leakage
    /// area at 4 Pa with a discharge coefficient of 1, m².
    pub shutter_leak_m2: f64,
    /// Index of the control in [`super::House::controls`]; `None` runs always.
    pub control: Option<usize>,
}

/// Which way a fan blows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// From attic to outdoors.
    Exhaust,
    /// From outdoors into the attic.
    Supply,
}

/// Radiant barrier.
#[derive(Debug, Clone, PartialEq)]
pub struct Barrier {
    /// Where it is.
    pub place: BarrierPlace,
    /// Share of the surface that it covers.
    pub coverage: f64,
    /// Emittance of the face to the attic space (dust included).
    pub emittance_attic: f64,
    /// Emittance of the other face; matters only where it faces an air space.
    pub emittance_other: f64,
    /// Heat capacity of a hung sheet, J/(m² K).
    pub capacity_j_m2k: f64,
}

/// Where a barrier is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BarrierPlace {
    /// Hung under the rafters with an air channel behind it.
    Rafters {
        /// Depth of the channel between sheet and deck, m.
        gap_m: f64,
        /// Where the channel opens.
        channel: Channel,
        /// Share of the channel's cross-section open at its ends.
        open_share: f64,
    },
    /// On the underside of the deck.
    Deck,
    /// On top of the attic floor.
    Floor,
}

/// Where the channel behind a hanging barrier opens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Channel {
    /// Closed and still.
    Closed,
    /// To the attic at both ends.
    Attic,
    /// To outdoors at eave and ridge.
    Outdoors,
    /// Eave from outdoors, top into the attic.
    EaveToAttic,
}

/// Temperature of rooms that are not worked out.
#[derive(Debug, Clone, PartialEq)]
pub enum GivenRooms {
    /// That of outdoor air: a porch or another roof over open ground.
    Outdoors,
    /// Always the same.
    Constant {
        /// Temperature, K.
        temp_k: f64,
    },
    /// As logged.
    Logged(RoomsLog),
}

/// Rooms below the attic.
#[derive(Debug, Clone, PartialEq)]
pub struct Living {
    /// Temperature of the rooms where it is given: then of all below only the leakage and the
    /// airing matter, and the rest is empty.
    pub given: Option<GivenRooms>,
    /// Outer walls without windows, room side first.
    pub wall: Vec<Layer>,
    /// Share of sunlight that the walls take up.
    pub wall_absorptance: f64,
    /// Windows.
    pub windows: Vec<Window>,
    /// Leakage of the whole envelope: volume flow at 1 Pa, m³/s, without the ceiling.
    pub leakage_m3_s: f64,
    /// Exponent of the leakage.
    pub leakage_exponent: f64,
    /// Heat from people, lamps and appliances, W.
    pub internal_gain_w: f64,
    /// Heat capacity of furniture, partitions and other light mass, J/K.
    pub fast_mass_j_k: f64,
    /// Surface of the light mass, m².
    pub fast_mass_area_m2: f64,
    /// Heavy mass inside (masonry, stone floors), J/K; may be zero.
    pub slow_mass_j_k: f64,
    /// Surface of the heavy mass, m².
    pub slow_mass_area_m2: f64,
    /// Lowest floor.
    pub floor: Floor,
    /// Opening of windows for night air.
    pub airing: Option<Airing>,
    /// Cooling plant.
    pub cooling: Option<Plant>,
    /// Heating plant.
    pub heating: Option<Plant>,
    /// Supply ducts of the cooling plant in the attic, where they are described; of no area, there
    /// are none.
    pub ducts: Option<Ducts>,
}

/// Supply ducts of a cooling plant in the attic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ducts {
    /// Outer surface, m².
    pub area_m2: f64,
    /// Resistance of their insulation without films, m² K/W.
    pub resistance_m2k_w: f64,
    /// Share of the plant's air that they lose to the attic while it runs.
    pub leakage: f64,
    /// Way that they leave between rooms and attic: effective leakage area at 4 Pa with a discharge
    /// coefficient of 1, m².
    pub idle_leak_m2: f64,
}

/// Windows of one direction.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    /// Name in the file.
    pub name: String,
    /// Direction they face, rad.
    pub azimuth_rad: f64,
    /// Area, m².
    pub area_m2: f64,
    /// Transmittance, W/(m² K), with usual films.
    pub u_w_m2k: f64,
    /// Solar heat gain coefficient at normal incidence.
    pub solar_heat_gain: f64,
    /// Share of sunlight that shade from outside lets through.
    pub shading: f64,
}

/// Rule for opening windows.
#[derive(Debug, Clone, PartialEq)]
pub struct Airing {
    /// Open area on each of two opposite sides, m².
    pub area_m2: f64,
    /// Direction that the first side faces, rad.
    pub azimuth_rad: f64,
    /// Index of the control in [`super::House::controls`].
    pub control: usize,
}

/// Plant that holds a temperature as far as its capacity goes.
#[derive(Debug, Clone, PartialEq)]
pub struct Plant {
    /// Temperature to hold, °C.
    pub set_point_c: f64,
    /// Sensible capacity, W.
    pub capacity_w: f64,
    /// Sensible heat moved per electricity, at 35 °C (cooling) or 8 °C (heating) outdoors.
    pub performance: f64,
    /// Change of the performance per K of outdoor temperature, 1/K.
    pub performance_per_k: f64,
}

/// Lowest floor.
#[derive(Debug, Clone, PartialEq)]
pub enum Floor {
    /// Of rooms whose temperature is given.
    LeftOut,
    /// Slab on the ground.
    Slab {
        /// Slab and covering, room side first.
        layers: Vec<Layer>,
        /// Thickness of the outer walls, m.
        wall_thickness_m: f64,
    },
    /// Floor over a crawl space.
    Crawl {
        /// Floor, room side first.
        layers: Vec<Layer>,
        /// Height of the crawl space, m.
        height_m: f64,
        /// Net free area of the crawl space's vents, m².
        vent_area_m2: f64,
        /// Transmittance of the crawl space's walls, W/(m² K).
        wall_u_w_m2k: f64,
    },
}

/// A thermometer.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensor {
    /// Name in the file.
    pub name: String,
    /// Where it hangs.
    pub zone: SensorZone,
    /// Height above the floor of its zone, m.
    pub height_m: f64,
    /// Share of radiation that its shield keeps off.
    pub shielding: f64,
    /// Time constant in still air, s.
    pub time_constant_s: f64,
    /// Diameter of its body, m.
    pub diameter_m: f64,
}

/// Where a thermometer hangs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SensorZone {
    /// Attic, middle of the plan.
    Attic,
    /// Rooms.
    Living,
}

/// An input that the owner did not know.
#[derive(Debug, Clone, PartialEq)]
pub struct Assumption {
    /// Key in the file.
    pub field: String,
    /// Value taken, as a person would write it.
    pub value: String,
    /// Low and high end of what is likely, as a person would write them.
    pub range: [String; 2],
    /// Where value and range come from.
    pub source: String,
    /// The same as numbers or cases, for a study that varies it.
    pub spread: Spread,
    /// Other keys whose doubt hangs together with this one's after a fit to readings, with the
    /// correlations.
    pub together: Vec<(String, f64)>,
}

impl Assumption {
    /// Correlation with another one that a fit to readings has found; either may name it. 0 if none.
    pub fn correlation(&self, other: &Self) -> f64 {
        let named = |a: &Self, b: &Self| {
            let mut pairs = a.together.iter();
            let pair = pairs.find(|(key, _)| *key == b.field);
            pair.map(|(_, correlation)| *correlation)
        };
        let own = named(self, other).or_else(|| named(other, self));
        own.unwrap_or(0.0)
    }

    /// A value of the likely range, `share` of the way from its low to its high end, as a person
    /// would write it; of cases, the one that is so far along.
    pub fn at(&self, share: f64) -> String {
        let share = share.clamp(0.0, 1.0);
        match &self.spread {
            Spread::Number {
                dimension,
                low,
                high,
                ..
            } => written::quantity(low + (high - low) * share, *dimension),
            Spread::Cases(cases) => {
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "a share of a short list"
                )]
                let index = (share * cases.len() as f64) as usize;
                let last = cases.len().saturating_sub(1);
                cases.get(index.min(last)).cloned().unwrap_or_default()
            }
        }
    }
}

/// What may be in place of a value that was assumed.
#[derive(Debug, Clone, PartialEq)]
pub enum Spread {
    /// Anything from `low` to `high`.
    Number {
        /// What it measures; the numbers are in its unit.
        dimension: Dimension,
        /// Value taken.
        value: f64,
        /// Least of what is likely.
        low: f64,
        /// Most of what is likely.
        high: f64,
    },
    /// One of these, the one taken first.
    Cases(Vec<String>),
}

/// Control and the name it has in the file.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedControl {
    /// Name in the file.
    pub name: String,
    /// The control.
    pub control: Control,
}
