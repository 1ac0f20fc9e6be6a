//! Drawings of results as SVG.
//!
//! A drawing takes plain data made for it, and a [`Frame`]: every chart is laid out twice, for a
//! page and for a phone, since shrunken letters cannot be read. Colours are classes, so that light
//! and dark differ only in the style sheet; [`standalone`] puts it into a drawing that is kept as a
//! file of its own.

mod air;
mod bars;
mod days;
mod drops;
mod families;
mod fan_curve;
mod heat;
mod heat_map;
mod label;
mod limits;
mod over_time;
mod palette;
mod plot;
mod scale;
mod section;
mod spread;
mod svg;
mod temperatures;
mod tornado;
mod vents;

pub use air::{Arrow, Section, Spot};
pub use bars::{BarGroups, Row, RowGroup};
pub use days::{DayChart, DayColumn, DayPanel, Quantity};
pub use drops::{DropChart, DropDay, DropPanel};
pub use families::Families;
pub use fan_curve::{FanChart, Working};
pub use heat::{HeatChart, HeatPart};
pub use heat_map::HeatMap;
pub use limits::{LimitChart, LimitGroup, LimitRow};
pub use over_time::{Curve, Naming, OverTime, Stretch, TimeBand, TimePanel};
pub use palette::Tint;
pub use spread::{Across, Spread, SpreadChart, SpreadGroup, SpreadPanel};
pub use temperatures::{Band, Line, Mark, Panel, TemperatureChart};
pub use tornado::{Bar, Tornado};

pub(super) use drops::within_limits;
pub(super) use over_time::gapped;
pub(super) use palette::{css, dots_css};
pub(super) use scale::{after, day_name, degree_sign, degrees, hour_name};

/// Room that a drawing is laid out for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Frame {
    /// A page or a screen, 720 px.
    Wide,
    /// A phone, 336 px.
    Narrow,
}

impl Frame {
    /// Width, px.
    pub(super) fn width(self) -> f64 {
        match self {
            Self::Wide => 720.0,
            Self::Narrow => 336.0,
        }
    }

    fn is_wide(self) -> bool {
        self == Self::Wide
    }
}

/// Why a drawing failed.
#[derive(Debug, thiserror::Error)]
#[error("cannot draw: {0}")]
pub struct ChartError(#[from] plotters::drawing::DrawingAreaErrorKind<std::convert::Infallible>);

/// A drawing with its style sheet, fit to be kept as a file.
pub fn standalone(drawing: &str) -> String {
    match drawing.find('>') {
        Some(end) => format!(
            "{}<style>{}{}</style>{}",
            &drawing[..=end],
            super::font::faces_css(),
            css(),
            &drawing[end + 1..]
        ),
        None => drawing.to_owned(),
    }
}
