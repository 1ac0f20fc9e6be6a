//! Reading single values of the kinds that the schema names.

use crate::catalog::nearest;
use crate::elementary::cos;
use crate::units::{Dimension, parse};

use super::clash::{Clash, CurveFault};
use super::document::{Node, Value};
use super::fault::FaultKind;
use super::names::plain;
use super::schema::{Field, Kind, Need};
use super::walk::{Found, Leakage};
use super::written::{self, in_both, listed};

/// Thickness of a layer.
pub(super) const LAYER: Field = Field {
    key: "thickness",
    kind: Kind::Quantity(Dimension::Length),
    low: 1e-4,
    high: 1.0,
    need: Need::Required,
    help: "how thick the layer is",
    why: None,
};

/// What a field accepts, for a message.
pub(super) fn accepts(field: &Field) -> String {
    let range = if field.low.is_finite() && field.high.is_finite() {
        match field.kind {
            Kind::Quantity(dimension) => {
                format!(
                    " from {} to {}",
                    in_both(field.low, dimension),
                    in_both(field.high, dimension)
                )
            }
            Kind::Insulation => format!(
                " up to {}",
                in_both(field.high, Dimension::ThermalResistance)
            ),
            _ => format!(" from {} to {}", field.low, field.high),
        }
    } else {
        String::new()
    };
    let what = match field.kind {
        Kind::Quantity(dimension) => {
            format!(
                "{}, such as \"{}\",",
                dimension.expected(),
                dimension.examples()[0]
            )
        }
        Kind::Number => "a number without a unit".to_owned(),
        Kind::Insulation => "\"none\" or an R-value, such as \"R-19\",".to_owned(),
        Kind::Leakage => {
            "\"9 ACH50\", \"1500 cfm50\" or a leakage area such as \"100 in2\"".to_owned()
        }
        Kind::Words(words) => listed(words),
        Kind::Name(catalogue) => format!(
            "the name of a {}: {}",
            catalogue.what(),
            listed(&catalogue.names())
        ),
        Kind::Layers(catalogue) => format!(
            "the name of a {}, or a list like [{{ material = \"osb\", thickness = \"7/16 in\" }}]",
            catalogue.what()
        ),
        Kind::Text => "text in quotes".to_owned(),
        Kind::Flag => "true or false, without quotes".to_owned(),
        Kind::Direction => "a compass direction, such as \"south\" or \"200 deg\"".to_owned(),
        Kind::Faces => {
            "a compass direction, such as \"south\" or \"200 deg\", or \"both\" or \"all\""
                .to_owned()
        }
        Kind::Line => {
            "\"east-west\", \"north-south\" or an angle from north, such as \"80 deg\"".to_owned()
        }
        Kind::Degrees([plus, minus]) => {
            format!("degrees, such as \"38.1 {plus}\" or \"121.6 {minus}\"")
        }
        Kind::Curve => {
            "a list like [[\"0 cfm\", \"0.1 in w.g.\"], [\"75 cfm\", \"0 Pa\"]]".to_owned()
        }
        Kind::Times => "two times of day, like [\"08:00\", \"20:00\"]".to_owned(),
        Kind::Texts => "a list of names, like [\"fans\", \"barrier\"]".to_owned(),
    };
    let unknown = if field.may_be_unknown() {
        ", or \"unknown\""
    } else {
        ""
    };
    format!("{what}{range}{unknown}")
        .replace(",,", ",")
        .trim_end_matches(',')
        .to_owned()
}

pub(super) fn unknown_word(text: &str, what: &'static str, known: Vec<String>) -> FaultKind {
    let near = nearest(&plain(text), known.iter().map(String::as_str)).map(str::to_owned);
    FaultKind::UnknownWord {
        found: text.trim().chars().take(60).collect(),
        what,
        near,
        known,
    }
}

pub(super) fn ranged(field: &Field, text: &str, dimension: Dimension) -> Result<f64, FaultKind> {
    let value = parse(text, dimension).map_err(FaultKind::Quantity)?;
    // A hair of room, so that a limit typed in other units is inside.
    let room = 1e-9 * (field.high - field.low);
    if value < field.low - room || value > field.high + room {
        return Err(FaultKind::OutOfRange {
            found: text.trim().to_owned(),
            low: in_both(field.low, dimension),
            high: in_both(field.high, dimension),
            note: range_note(field, dimension, value),
        });
    }
    Ok(value)
}

pub(super) fn number(field: &Field, text: &str) -> Result<f64, FaultKind> {
    let typed = text.trim().replace('_', "");
    let value: f64 = typed.parse().map_err(|_| FaultKind::WrongKind {
        found: "this text",
        accepts: accepts(field),
    })?;
    if (field.low..=field.high).contains(&value) {
        return Ok(value);
    }
    let [low, high] = [field.low, field.high].map(written::number);
    Err(FaultKind::OutOfRange {
        found: text.trim().to_owned(),
        low,
        high,
        note: None,
    })
}

/// What to write instead, or why nothing outside the range makes sense.
fn range_note(field: &Field, dimension: Dimension, value: f64) -> Option<String> {
    if let Some(why) = field.why {
        return Some(why.to_owned());
    }
    let percent = value / 100.0;
    let is_percent = dimension == Dimension::Fraction && value > 1.0 && percent <= field.high;
    is_percent.then(|| {
        let share = written::number(percent);
        format!(
            "a share is at most 1: {} percent is {share}",
            written::number(value)
        )
    })
}

pub(super) fn leakage(text: &str) -> Result<Leakage, FaultKind> {
    let changes = ranged(&range(0.05, 100.0), text, Dimension::AirChangeRate);
    let flow = ranged(&range(1e-3, 20.0), text, Dimension::AirFlowAt50Pa);
    let area = ranged(&range(1e-4, 5.0), text, Dimension::LeakageArea);
    match (changes, flow, area) {
        (Ok(value), _, _) => Ok(Leakage::AirChanges(value)),
        (_, Ok(value), _) => Ok(Leakage::Flow(value)),
        (_, _, Ok(value)) => Ok(Leakage::Area(value)),
        (changes, flow, area) => {
            let known = ["9 ACH50", "1500 cfm50", "100 in2"]
                .map(str::to_owned)
                .to_vec();
            let errors = [changes, flow, area].into_iter().filter_map(Result::err);
            let range = errors
                .into_iter()
                .find(|kind| matches!(kind, FaultKind::OutOfRange { .. }));
            Err(range.unwrap_or_else(|| unknown_word(text, "leakage", known)))
        }
    }
}

fn range(low: f64, high: f64) -> Field {
    Field { low, high, ..LAYER }
}

pub(super) fn direction(text: &str) -> Result<f64, FaultKind> {
    parse(text, Dimension::Angle)
        .map(|angle| angle.rem_euclid(std::f64::consts::TAU))
        .map_err(FaultKind::Quantity)
}

/// A line runs both ways: of `east-west` the first direction is taken.
pub(super) fn line(text: &str) -> Result<f64, FaultKind> {
    let first = text.split_once(['-', '–']).filter(|(first, second)| {
        let compass =
            |word: &str| word.trim().chars().all(char::is_alphabetic) && !word.trim().is_empty();
        compass(first) && compass(second)
    });
    let angle = match first {
        Some((first, second)) => {
            let opposite = direction(second)?;
            let angle = direction(first)?;
            if cos(angle - opposite) > -0.99 {
                return Err(unknown_word(
                    text,
                    "line",
                    ["east-west", "north-south", "northeast-southwest", "80 deg"]
                        .map(str::to_owned)
                        .to_vec(),
                ));
            }
            angle
        }
        None => direction(text)?,
    };
    Ok(angle.rem_euclid(std::f64::consts::PI))
}

pub(super) fn degrees(field: &Field, text: &str, [plus, minus]: [char; 2]) -> Option<f64> {
    let text = text.trim().to_uppercase();
    let (body, sign) = if let Some(body) = text.strip_suffix(plus) {
        (body, 1.0)
    } else if let Some(body) = text.strip_suffix(minus) {
        (body, -1.0)
    } else {
        (text.as_str(), 1.0)
    };
    let body = body
        .trim()
        .trim_end_matches("DEGREES")
        .trim_end_matches("DEG")
        .trim_end_matches('°')
        .trim();
    let value: f64 = body.parse().ok()?;
    let value = value * sign;
    (field.low..=field.high).contains(&value).then_some(value)
}

pub(super) fn curve(field: &Field, items: &[Node]) -> Result<Found, FaultKind> {
    let wrong = |node: &Node| FaultKind::WrongKind {
        found: node.value.kind(),
        accepts: accepts(field),
    };
    let mut points = Vec::new();
    for item in items {
        let Value::List(pair) = &item.value else {
            return Err(wrong(item));
        };
        let [flow, pressure] = pair.as_slice() else {
            return Err(wrong(item));
        };
        let number = |node: &Node, dimension| match &node.value {
            Value::Text(text) | Value::Number(text) => {
                parse(text, dimension).map_err(FaultKind::Quantity)
            }
            _ => Err(wrong(node)),
        };
        points.push([
            number(flow, Dimension::AirFlow)?,
            number(pressure, Dimension::Pressure)?,
        ]);
    }
    let fault = if points.len() < 2 {
        Some(CurveFault::TooFew)
    } else if points.first().is_some_and(|point| point[0].abs() > 1e-9) {
        Some(CurveFault::StartsLate)
    } else if points
        .windows(2)
        .any(|pair| pair[1][0] <= pair[0][0] || pair[1][1] >= pair[0][1])
    {
        Some(CurveFault::NotFalling)
    } else {
        None
    };
    match fault {
        Some(fault) => Err(FaultKind::Clash(Clash::Curve(fault))),
        None => Ok(Found::Pairs(points)),
    }
}

pub(super) fn times(field: &Field, items: &[Node]) -> Result<Found, FaultKind> {
    let wrong = |found: &'static str| FaultKind::WrongKind {
        found,
        accepts: accepts(field),
    };
    let [from, to] = items else {
        return Err(wrong("a list without two times"));
    };
    let time = |node: &Node| match &node.value {
        Value::Text(text) | Value::Date(text) => {
            let minutes = if text.matches(':').count() == 2 {
                text.trim_end_matches(":00")
            } else {
                text
            };
            parse(minutes, Dimension::ClockTime).map_err(FaultKind::Quantity)
        }
        other => Err(wrong(other.kind())),
    };
    let (from, to) = (time(from)?, time(to)?);
    if (from - to).abs() < 1.0 {
        return Err(FaultKind::Clash(Clash::NoTime));
    }
    Ok(Found::Pairs(vec![[from, to]]))
}
