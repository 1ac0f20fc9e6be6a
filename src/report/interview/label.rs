//! What stands on a fan's label, and the hole that the fan blows through.

use std::fmt::Write as _;

use crate::units::{Dimension, parse};

use super::phrase::{Item, both, once, within};
use super::writing::Page;

/// What stands on a fan's label, and the hole it blows through.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Label {
    flow: Option<String>,
    power: Option<String>,
    volts: Option<f64>,
    amps: Option<f64>,
    shut_off: Option<String>,
    hole: Option<Hole>,
}

#[derive(Debug, Clone, PartialEq)]
enum Hole {
    Round(String),
    Sides(String, String),
}

impl Label {
    /// Takes a part of what was said.
    ///
    /// # Errors
    /// What is wrong, in a few words.
    pub(super) fn fill(&mut self, item: &Item) -> Result<(), String> {
        use Dimension as D;
        match item {
            Item::Quantity(D::AirFlow, text) => once(
                &mut self.flow,
                within(text, D::AirFlow, [0.001, 5.0])?,
                "the flow",
            ),
            Item::Quantity(D::Power, text) => once(
                &mut self.power,
                within(text, D::Power, [0.1, 5000.0])?,
                "the power",
            ),
            Item::Quantity(D::Voltage, text) => {
                once(&mut self.volts, number(text, D::Voltage), "V")
            }
            Item::Quantity(D::Current, text) => once(&mut self.amps, number(text, D::Current), "A"),
            Item::Quantity(D::Pressure, text) => {
                let text = within(text, D::Pressure, [1.0, 1000.0])?;
                once(&mut self.shut_off, text, "the pressure")
            }
            Item::Quantity(D::Length, text) => {
                let hole = Hole::Round(within(text, D::Length, [0.03, 1.5])?);
                once(&mut self.hole, hole, "the hole")
            }
            Item::Size(width, height) => {
                let side = |text: &str| within(text, D::Length, [0.03, 2.0]);
                once(
                    &mut self.hole,
                    Hole::Sides(side(width)?, side(height)?),
                    "the hole",
                )
            }
            Item::Word(_) => Ok(()),
            Item::Number(number) => Err(format!("{number} has no unit")),
            Item::Quantity(_, text) => Err(format!("{text} does not belong on a label")),
        }
    }

    /// Volts times amps, where no power was said.
    pub(super) fn settle(&mut self) -> Result<(), String> {
        if self.power.is_none()
            && let (Some(volts), Some(amps)) = (self.volts, self.amps)
        {
            let text = format!("{:.3}", volts * amps);
            let text = text.trim_end_matches('0').trim_end_matches('.');
            self.power = Some(within(
                &format!("{text} W"),
                Dimension::Power,
                [0.1, 5000.0],
            )?);
        }
        Ok(())
    }

    /// Said back, in both systems of units.
    pub(super) fn said(&self) -> String {
        let mut said = match &self.flow {
            Some(flow) => both(flow, Dimension::AirFlow),
            None => "flow not known".to_owned(),
        };
        if let Some(power) = &self.power {
            let _ = write!(said, ", {}", both(power, Dimension::Power));
        }
        if let Some(pressure) = &self.shut_off {
            let _ = write!(said, ", up to {}", both(pressure, Dimension::Pressure));
        }
        let length = |text: &str| both(text, Dimension::Length);
        match &self.hole {
            Some(Hole::Round(across)) => {
                let _ = write!(said, ", hole of {}", length(across));
            }
            Some(Hole::Sides(width, height)) => {
                let _ = write!(said, ", hole of {} x {}", length(width), length(height));
            }
            None => said.push_str(", hole not known"),
        }
        said
    }

    /// Whether flow or hole are missing.
    pub(super) fn is_partial(&self) -> bool {
        self.flow.is_none() || self.hole.is_none()
    }

    /// Takes what is missing from another label.
    pub(super) fn fill_up(&mut self, other: &Self) {
        let had = std::mem::take(self);
        *self = Self {
            flow: had.flow.or_else(|| other.flow.clone()),
            power: had.power.or_else(|| other.power.clone()),
            shut_off: had.shut_off.or_else(|| other.shut_off.clone()),
            hole: had.hole.or_else(|| other.hole.clone()),
            ..Self::default()
        };
    }

    /// Writes it down; a hole that is not known is as wide as usual.
    pub(super) fn write(&self, page: &mut Page<'_>, usual: &str) {
        page.maybe("flow", self.flow.as_deref());
        page.maybe("shut_off", self.shut_off.as_deref());
        page.maybe("power", self.power.as_deref());
        match &self.hole {
            Some(Hole::Round(across)) => {
                page.inline("hole", &[("shape", "round"), ("diameter", across)]);
            }
            Some(Hole::Sides(width, height)) => {
                let hole = [("shape", "rectangle"), ("width", width), ("height", height)];
                page.inline("hole", &hole);
            }
            None => {
                page.remark(&format!("Not known; a hole of {usual} stands in."));
                page.inline("hole", &[("shape", "round"), ("diameter", usual)]);
            }
        }
    }
}

fn number(text: &str, dimension: Dimension) -> f64 {
    parse(text, dimension).unwrap_or(0.0)
}
