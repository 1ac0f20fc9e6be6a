//! What is wrong with a quantity, said so that it can be mended.

use std::fmt;

use super::dimension::Dimension;

/// Longest piece of the text that an error repeats, characters.
const FOUND_LIMIT: usize = 60;

/// A quantity that could not be read.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error(
    "expected {}, such as \"{}\" or \"{}\"; found {found:?}{reason}",
    dimension.expected(), dimension.examples()[0], dimension.examples()[1]
)]
pub struct QuantityError {
    /// What was written, cut short if it is long.
    pub found: String,
    /// What it should have been.
    pub dimension: Dimension,
    /// What is wrong with it.
    pub reason: Reason,
}

impl QuantityError {
    /// Units that would be accepted.
    pub fn accepted(&self) -> &'static [&'static str] {
        self.dimension.accepted()
    }

    /// The accepted unit that was probably meant, if the one written looks mistyped.
    pub fn near(&self) -> Option<&'static str> {
        match self.reason {
            Reason::UnknownUnit { near, .. } => near,
            _ => None,
        }
    }
}

/// What is wrong with a quantity.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum Reason {
    /// There is no text.
    Empty,
    /// It does not start with a number.
    NoNumber,
    /// There is a number and no unit.
    NoUnit,
    /// The unit is not known.
    UnknownUnit {
        /// The unit as written.
        unit: String,
        /// An accepted unit that is spelled almost like it.
        near: Option<&'static str>,
    },
    /// The unit is one of something else.
    OtherDimension {
        /// The unit as written.
        unit: String,
    },
    /// A comma that may part thousands or decimals, as in `1,350`.
    AmbiguousComma,
    /// Too large to be a number.
    NotFinite,
    /// It has not the form of such a quantity.
    Malformed,
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty | Self::Malformed => Ok(()),
            Self::NoNumber => write!(f, ", which does not start with a number"),
            Self::NoUnit => write!(f, ", which has no unit"),
            Self::UnknownUnit {
                unit,
                near: Some(near),
            } => {
                write!(
                    f,
                    ": the unit {unit:?} is not known; did you mean \"{near}\"?"
                )
            }
            Self::UnknownUnit { unit, near: None } => write!(f, ": the unit {unit:?} is not known"),
            Self::OtherDimension { unit } => {
                write!(f, ": {unit:?} is a unit of something else")
            }
            Self::AmbiguousComma => {
                write!(
                    f,
                    ": the comma may part thousands or decimals; write it with a point or not at all"
                )
            }
            Self::NotFinite => write!(f, ", which is too large"),
        }
    }
}

/// The text, cut short if it is long.
pub(super) fn shortened(text: &str) -> String {
    if text.chars().count() <= FOUND_LIMIT {
        return text.to_owned();
    }
    text.chars().take(FOUND_LIMIT).chain(['…']).collect()
}
