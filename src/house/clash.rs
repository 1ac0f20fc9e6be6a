//! Answers that do not fit together.

use std::fmt;

use super::rooms_log::LogFault;
use super::written::{both_areas, both_lengths, both_temperatures, listed};

/// Answers that do not fit together.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Clash {
    /// "No" to a table that is there.
    Denied {
        /// The table.
        table: &'static str,
    },
    /// One of several keys is needed.
    OneOf {
        /// The keys.
        keys: &'static [&'static str],
    },
    /// A key that another key makes pointless.
    Beside {
        /// The other key.
        other: &'static str,
    },
    /// A key that means nothing with this choice.
    NotWith {
        /// The key of the choice.
        choice: &'static str,
        /// The choice.
        value: String,
    },
    /// A key that means nothing beside a list of layers.
    NotWithLayers {
        /// The key of the list.
        list: &'static str,
    },
    /// A key that this choice needs.
    NeededWith {
        /// The key that is missing.
        missing: &'static str,
        /// The choice.
        value: String,
    },
    /// Holes larger than what they are in.
    HolesTooLarge {
        /// Area of the holes on one side, m².
        area_m2: f64,
        /// What they are in.
        within: &'static str,
        /// Its area, m².
        room_m2: f64,
    },
    /// Taller or longer than what it is in.
    TooLong {
        /// Length of it, m.
        length_m: f64,
        /// What it is in.
        within: &'static str,
        /// Length of that, m.
        room_m: f64,
    },
    /// Higher than the space goes.
    TooHigh {
        /// Height, m.
        height_m: f64,
        /// What the space ends at.
        top: &'static str,
        /// Height of that, m.
        top_m: f64,
    },
    /// It faces where the house has no such side.
    NoSuchSide {
        /// What it is in.
        within: &'static str,
        /// Directions that there are, rad.
        sides_rad: Vec<f64>,
    },
    /// A log of the rooms' temperature that cannot be used.
    RoomsLog(LogFault),
    /// Something of the ceiling where there is none.
    OpenBelow,
    /// Ducts without the plant that they belong to.
    DuctsWithoutPlant,
    /// A part of the plan without attic that leaves no attic.
    NoAtticLeft {
        /// Its area, m².
        area_m2: f64,
        /// Most that can be, m².
        most_m2: f64,
    },
    /// A way to outdoors in an attic that is closed on purpose.
    SealedAttic {
        /// Key that closes it.
        by: &'static str,
    },
    /// A wind turbine that is not on the roof.
    TurbineBelowRoof,
    /// The shutter of a whole-house fan, of a fan that is none.
    NotWholeHouse,
    /// In a gable, of which a hip roof has none.
    NoGable,
    /// The end slopes of a hip roof meet before they reach the ridge.
    HipsMeet {
        /// Length that the two ends need, m.
        needs_m: f64,
        /// Length of the house, m.
        length_m: f64,
    },
    /// "both" or "all" where one side is needed.
    NotBoth,
    /// Fans that do not fit into the holes.
    TooManyFans {
        /// Number of fans.
        fans: u32,
        /// Number of holes.
        holes: u32,
        /// Fans a hole takes.
        per_hole: u32,
    },
    /// Fans whose holes are larger than the vent they stand in.
    FansFillOpening {
        /// Free area of the holes of the fans, m².
        holes_m2: f64,
        /// Free area of the vent, m².
        opening_m2: f64,
    },
    /// It switches off at a temperature that is not below the one at which it switches on.
    OffNotBelowOn {
        /// On, °C.
        on_c: f64,
        /// Off, °C.
        off_c: f64,
    },
    /// The two times are the same.
    NoTime,
    /// A curve with too few points or of the wrong course.
    Curve(CurveFault),
    /// The ceiling leaks more than the whole house.
    LeakyCeiling {
        /// Leakage area of the ceiling, m².
        ceiling_m2: f64,
        /// Leakage area of the house, m².
        house_m2: f64,
    },
    /// Windows larger than the wall.
    WindowsTooLarge {
        /// Area of the windows of that side, m².
        windows_m2: f64,
        /// Area of the wall, m².
        wall_m2: f64,
    },
    /// R-value and thickness give no possible insulation.
    Insulation {
        /// Conductivity that follows, W/(m K).
        conductivity_w_mk: f64,
    },
    /// Insulation thicker than the wall's cavity.
    CavityFull {
        /// Thickness that the insulation would need, m.
        needs_m: f64,
        /// Depth of the cavity, m.
        cavity_m: f64,
    },
    /// Joists as wide as their distance.
    JoistsTouch,
    /// A design that starts from itself.
    DesignLoop,
    /// A design that changes nothing.
    NothingChanged,
    /// A setting that is not `key=value` with a known kind of key.
    Setting,
    /// The sheet would fill its whole channel.
    DeepChannel {
        /// Gap, m.
        gap_m: f64,
        /// Height of the attic, m.
        attic_m: f64,
    },
}

/// What is wrong with a fan's curve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum CurveFault {
    /// Fewer than two points.
    TooFew,
    /// The first flow is not zero.
    StartsLate,
    /// Flow does not rise or pressure does not fall from point to point.
    NotFalling,
}

impl Clash {
    /// A few words for the mark under the line.
    pub(super) fn label(&self) -> String {
        match self {
            Self::OneOf { .. } => "one of these should be here".to_owned(),
            Self::Beside { other } => format!("give either this or `{other}`"),
            Self::NotWith { choice, value } => format!("means nothing with {choice} = \"{value}\""),
            Self::Denied { table } => format!("but there is [{table}]"),
            Self::NotWithLayers { list } => format!("the layers of `{list}` say it already"),
            Self::NeededWith { missing, .. } => format!("`{missing}` should be here too"),
            Self::HolesTooLarge {
                within, room_m2, ..
            } => format!("the {within} has {}", both_areas(*room_m2)),
            Self::TooLong { within, room_m, .. } => {
                format!("the {within} has {}", both_lengths(*room_m))
            }
            Self::TooHigh { top, top_m, .. } => format!("the {top} is at {}", both_lengths(*top_m)),
            Self::NoSuchSide { sides_rad, .. } => format!("accepts {}", sides(sides_rad)),
            Self::RoomsLog(fault) => fault.to_string(),
            Self::OpenBelow => "`ceiling.open` says that there is no ceiling".to_owned(),
            Self::DuctsWithoutPlant => "there is no [house.cooling]".to_owned(),
            Self::NoAtticLeft { most_m2, .. } => format!("accepts up to {}", both_areas(*most_m2)),
            Self::SealedAttic { by } => format!("`{by}` closes this attic to outdoors"),
            Self::TurbineBelowRoof => "accepts `ridge` or `slope`".to_owned(),
            Self::NotWholeHouse => "only fans with place = \"ceiling\" have one".to_owned(),
            Self::NoGable => "a hip roof has no gables".to_owned(),
            Self::HipsMeet { length_m, .. } => {
                format!("the house is {} long", both_lengths(*length_m))
            }
            Self::NotBoth => "one direction is needed here".to_owned(),
            Self::TooManyFans {
                holes, per_hole, ..
            } => format!(
                "{} for {} each",
                counted(*holes, "hole"),
                counted(*per_hole, "fan")
            ),
            Self::FansFillOpening { opening_m2, .. } => {
                format!("the vent has {} free", both_areas(*opening_m2))
            }
            Self::OffNotBelowOn { .. } => "must be below `on`".to_owned(),
            Self::NoTime => "the two times are the same".to_owned(),
            Self::Curve(fault) => fault.to_string(),
            Self::LeakyCeiling { house_m2, .. } => format!(
                "the blower door found {} in the whole house",
                both_areas(*house_m2)
            ),
            Self::WindowsTooLarge { wall_m2, .. } => {
                format!("that wall has {}", both_areas(*wall_m2))
            }
            Self::Insulation { conductivity_w_mk } => {
                format!("this would be a conductivity of {conductivity_w_mk:.3} W/mK")
            }
            Self::CavityFull { cavity_m, .. } => {
                format!("the cavity is {} deep", both_lengths(*cavity_m))
            }
            Self::JoistsTouch => "must be less than joist_spacing".to_owned(),
            Self::DesignLoop => "leads back here".to_owned(),
            Self::NothingChanged => "no change in here".to_owned(),
            Self::Setting => "not a key that can be set".to_owned(),
            Self::DeepChannel { attic_m, .. } => {
                format!("the attic is {} high", both_lengths(*attic_m))
            }
        }
    }

    /// A sentence of help, where the title does not say all.
    pub(super) fn note(&self) -> Option<String> {
        let note = match self {
            Self::Insulation { .. } => {
                "real insulations have 0.015 to 0.2 W/mK: check R-value and thickness, or give only one of them"
            }
            Self::LeakyCeiling { .. } => {
                "a blower-door test finds the ceiling's leaks too, so the ceiling can only be a part of it"
            }
            Self::FansFillOpening { .. } => {
                "fans with in_opening stand inside that vent and take up part of its area"
            }
            Self::NoSuchSide {
                within: "eave" | "slope",
                ..
            } => "eaves and slopes face across the ridge, the gables along it",
            Self::NoSuchSide {
                within: "gable", ..
            } => "gables face along the ridge, the eaves across it",
            Self::RoomsLog(LogFault::NoColumn { known }) => {
                return Some(format!(
                    "`rooms_column` names one of its columns: {}",
                    known.join(", ")
                ));
            }
            Self::RoomsLog(LogFault::NoUnit { .. }) => {
                "let it end in its unit, such as hall_c or hall_f"
            }
            Self::RoomsLog(_) => {
                "the first column is the time, like 2017-07-01 14:00, standard time; another is the temperature, like hall_f"
            }
            Self::SealedAttic {
                by: "roof.underside_insulation",
            } => {
                "insulation under the roof keeps the heat out only where no outdoor air blows in below it: close the vents, or insulate the ceiling instead"
            }
            Self::SealedAttic { .. } => {
                "a sealed attic belongs to the rooms: outdoor air would bring heat and moisture behind its insulation, and a fan would draw on the rooms"
            }
            Self::TurbineBelowRoof => {
                "a turbine is turned by the wind above the roof, and draws there"
            }
            Self::NoGable => {
                "its ends are slopes too: put vents in the soffit, at the ridge or in a slope"
            }
            Self::HipsMeet { .. } => {
                "the ridge runs along `length`, which is the longer side of a hip roof; turn length, width and ridge round, or give the ends a steeper hip_pitch"
            }
            Self::NotWith {
                choice: "place",
                value,
            } if value == "deck" || value == "floor" => {
                "only a sheet hung under the rafters has an air space behind it"
            }
            Self::Beside { other: "net_area" } => {
                "the net free area printed on a vent already counts its screen and louvre"
            }
            Self::Beside {
                other: "in_opening",
            } => "the vent that in_opening names already says this",
            Self::OneOf {
                keys: ["net_area", "hole"],
            } => {
                "give the net free area printed on the vent, or measure the hole and say what covers it"
            }
            Self::OneOf {
                keys: ["flow", "curve"],
            } => "the label of a fan says its flow in free air; the maker's sheet may have a curve",
            Self::Setting => {
                "settings look like fans.gable.count=4; designs cannot be set from outside"
            }
            Self::CavityFull { .. } => "choose a wall with deeper studs, or a smaller R-value",
            _ => return None,
        };
        Some(note.to_owned())
    }
}

impl fmt::Display for Clash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OneOf { keys } => write!(f, "needs {}", listed(keys)),
            Self::Beside { other } => write!(f, "says again what `{other}` says"),
            Self::NotWith { choice, value } => write!(f, "does not go with {choice} = \"{value}\""),
            Self::Denied { table } => write!(f, "says no to what [{table}] describes"),
            Self::NotWithLayers { .. } => write!(f, "does not go with a list of layers"),
            Self::NeededWith { missing, value } => write!(f, "\"{value}\" needs `{missing}`"),
            Self::HolesTooLarge {
                area_m2, within, ..
            } => write!(f, "is larger than the {within}: {}", both_areas(*area_m2)),
            Self::TooLong {
                length_m, within, ..
            } => write!(
                f,
                "does not fit into the {within}: {}",
                both_lengths(*length_m)
            ),
            Self::TooHigh { height_m, top, .. } => {
                write!(f, "reaches above the {top}: {}", both_lengths(*height_m))
            }
            Self::NoSuchSide { within, .. } => {
                write!(f, "is a direction in which this house has no {within}")
            }
            Self::RoomsLog(_) => write!(f, "names a log that cannot be used"),
            Self::OpenBelow => write!(f, "needs a ceiling"),
            Self::DuctsWithoutPlant => write!(f, "needs the cooling plant whose air it carries"),
            Self::NoAtticLeft { area_m2, .. } => {
                write!(f, "leaves no attic: {}", both_areas(*area_m2))
            }
            Self::SealedAttic { .. } => write!(f, "does not go with a sealed attic"),
            Self::TurbineBelowRoof => write!(f, "is no place for a turbine"),
            Self::NotWholeHouse => write!(f, "is of whole-house fans only"),
            Self::NoGable => write!(f, "cannot be in a gable"),
            Self::HipsMeet { needs_m, .. } => write!(
                f,
                "gives end slopes that meet below the ridge: they need {}",
                both_lengths(*needs_m)
            ),
            Self::NotBoth => write!(f, "cannot be \"both\" or \"all\""),
            Self::TooManyFans { fans, .. } => {
                write!(f, "gives too few holes for {}", counted(*fans, "fan"))
            }
            Self::FansFillOpening { holes_m2, .. } => write!(
                f,
                "needs more of the vent than there is: {}",
                both_areas(*holes_m2)
            ),
            Self::OffNotBelowOn { on_c, off_c } => {
                write!(
                    f,
                    "would switch off at {} what came on at {}",
                    both_temperatures(*off_c),
                    both_temperatures(*on_c)
                )
            }
            Self::NoTime => write!(f, "leaves no time to run"),
            Self::Curve(_) => write!(f, "is no fan curve"),
            Self::LeakyCeiling { ceiling_m2, .. } => write!(
                f,
                "is more than the whole house leaks: {}",
                both_areas(*ceiling_m2)
            ),
            Self::WindowsTooLarge { windows_m2, .. } => write!(
                f,
                "is more than the wall of that side: {}",
                both_areas(*windows_m2)
            ),
            Self::Insulation { .. } => write!(f, "and `insulation_thickness` do not fit together"),
            Self::CavityFull { needs_m, .. } => write!(
                f,
                "does not fit into the wall: it would need {}",
                both_lengths(*needs_m)
            ),
            Self::JoistsTouch => write!(f, "leaves no space between the joists"),
            Self::DesignLoop => write!(f, "starts from itself"),
            Self::NothingChanged => write!(f, "is the house as it stands"),
            Self::Setting => write!(f, "cannot be set"),
            Self::DeepChannel { gap_m, .. } => {
                write!(f, "is too deep for this attic: {}", both_lengths(*gap_m))
            }
        }
    }
}

impl fmt::Display for LogFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable { reason } => write!(f, "cannot be read: {reason}"),
            Self::NoTable => write!(f, "it is no table"),
            Self::NoColumn { .. } => write!(f, "which column is the rooms' temperature?"),
            Self::NoUnit { column } => write!(f, "the unit of the column {column:?} is not known"),
            Self::BadLine { line } => write!(f, "line {line} has no time or no temperature"),
            Self::NotLater { line } => write!(f, "line {line} is not later than the line before"),
            Self::TooShort => write!(f, "it has fewer than two readings"),
        }
    }
}

impl fmt::Display for CurveFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::TooFew => "a curve has at least two points",
            Self::StartsLate => "the first point must have no flow",
            Self::NotFalling => "flow must rise and pressure must fall from point to point",
        })
    }
}

fn counted(count: u32, what: &str) -> String {
    if count == 1 {
        format!("1 {what}")
    } else {
        format!("{count} {what}s")
    }
}

fn sides(sides_rad: &[f64]) -> String {
    let words: Vec<String> = sides_rad
        .iter()
        .map(|&side| format!("\"{}\"", crate::units::show::direction(side)))
        .collect();
    words.join(" or ")
}
