//! Quantities with a form of their own: feet and inches, pitches, directions, clock times, money.

use crate::elementary::atan;

use super::dimension::Dimension;
use super::error::Reason;
use super::number::{mixed, number};
use super::symbols::{self, FOOT_M, INCH_M};
use super::unit::{factor, key, unknown_unit};

/// The sixteen points, clockwise from north.
const COMPASS: [&str; 16] = [
    "n", "nne", "ne", "ene", "e", "ese", "se", "sse", "s", "ssw", "sw", "wsw", "w", "wnw", "nw",
    "nnw",
];

/// A length with one unit, or in feet and inches; inches may have a fraction.
pub(super) fn length(text: &str) -> Result<f64, Reason> {
    let (value, rest) = mixed(text)?;
    if let Some(at) = rest.find(|c: char| c.is_ascii_digit()) {
        let (feet, inches) = rest.split_at(at);
        let is_foot = factor(feet.trim_end_matches(['-', ' ', ',']), Dimension::Length)
            .is_ok_and(|f| same(f, FOOT_M));
        let (more, unit) = mixed(inches)?;
        if !is_foot || !(0.0..12.0).contains(&more) || value.fract() != 0.0 {
            return Err(Reason::Malformed);
        }
        if !same(factor(unit, Dimension::Length)?, INCH_M) {
            return Err(Reason::Malformed);
        }
        let inches_m = more * INCH_M;
        let sign = if text.starts_with('-') { -1.0 } else { 1.0 };
        return Ok(value * FOOT_M + sign * inches_m);
    }
    Ok(value * factor(rest, Dimension::Length)?)
}

pub(super) fn compass(text: &str) -> Option<f64> {
    let short = key(text)
        .replace("north", "n")
        .replace("east", "e")
        .replace("south", "s")
        .replace("west", "w");
    let index = COMPASS.iter().position(|point| *point == short)?;
    Some((index as f64 * 22.5).to_radians())
}

pub(super) fn slope(text: &str) -> Result<f64, Reason> {
    if text.eq_ignore_ascii_case("flat") {
        return Ok(0.0);
    }
    let lower = text.to_ascii_lowercase();
    for mark in [":", "/", "-in-", " in "] {
        let Some((rise, run)) = lower.split_once(mark) else {
            continue;
        };
        let (rise, after_rise) = number(rise.trim(), false)?;
        let (run, after_run) = number(run.trim(), false)?;
        if !after_rise.is_empty() || !after_run.is_empty() || run <= 0.0 {
            return Err(Reason::Malformed);
        }
        return Ok(atan(rise / run));
    }
    let (value, unit) = number(text, false)?;
    if matches!(key(unit).as_str(), "%" | "percent") {
        return Ok(atan(value / 100.0));
    }
    Ok(value * factor(unit, Dimension::Slope)?)
}

pub(super) fn count(text: &str) -> Result<f64, Reason> {
    let (value, rest) = number(text, false)?;
    let whole = rest.is_empty() && value >= 0.0 && value.fract() == 0.0 && value < 1e9;
    if whole {
        Ok(value)
    } else {
        Err(Reason::Malformed)
    }
}

pub(super) fn clock(text: &str) -> Option<f64> {
    let lower = text.to_ascii_lowercase().replace('.', "");
    let (digits, half) = if let Some(head) = lower.strip_suffix("am") {
        (head.trim_end(), Some(0))
    } else if let Some(head) = lower.strip_suffix("pm") {
        (head.trim_end(), Some(12))
    } else {
        (lower.as_str(), None)
    };
    let parts: Vec<u32> = digits
        .split(':')
        .map(|part| {
            let plain = (1..=2).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit());
            plain.then(|| part.parse().ok()).flatten()
        })
        .collect::<Option<_>>()?;
    let (hour, minute, second) = match parts[..] {
        [h] if half.is_some() => (h, 0, 0),
        [h, m] => (h, m, 0),
        [h, m, s] => (h, m, s),
        _ => return None,
    };
    let hour = match half {
        Some(half) if (1..=12).contains(&hour) => hour % 12 + half,
        Some(_) => return None,
        None => hour,
    };
    let total = f64::from(hour * 3_600 + minute * 60 + second);
    (minute < 60 && second < 60 && total <= 86_400.0).then_some(total)
}

/// Splits a currency sign off the front.
fn currency_first(text: &str) -> (bool, &str) {
    ["US$", "C$", "A$", "$", "€", "£"]
        .iter()
        .find_map(|sign| text.strip_prefix(sign))
        .map_or((false, text), |rest| (true, rest.trim_start()))
}

pub(super) fn money(text: &str) -> Result<f64, Reason> {
    let (signed, rest) = currency_first(text);
    let (value, unit) = number(rest, true)?;
    if signed && unit.is_empty() {
        return Ok(value);
    }
    Ok(value * factor(unit, Dimension::Money)?)
}

pub(super) fn energy_price(text: &str) -> Result<f64, Reason> {
    let (signed, rest) = currency_first(text);
    let (value, unit) = number(rest, false)?;
    if unit.is_empty() {
        return Err(Reason::NoUnit);
    }
    let unknown = || unknown_unit(unit, Dimension::EnergyPrice);
    let (currency, energy) = unit.split_once('/').ok_or_else(unknown)?;
    let money = match key(currency).as_str() {
        "" if signed => 1.0,
        "ct" | "cent" | "cents" | "c" | "¢" if !signed => 0.01,
        _ => factor(currency.trim(), Dimension::Money)?,
    };
    let wanted = Dimension::Energy.spec().exponents;
    match symbols::expression(energy) {
        Some((joule, found)) if Some(found) == wanted => Ok(value * money / joule),
        _ => Err(unknown()),
    }
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-12
}
