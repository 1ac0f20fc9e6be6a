//! Text with a unit to SI.

use std::fmt;

use super::ZERO_CELSIUS_K;
use super::dimension::{Dimension, Spec};
use super::symbols::{self, BTU_J, Exponents, FAHRENHEIT_K, FOOT_M, INCH_M};

/// Longest piece of the text that an error repeats, characters.
const FOUND_LIMIT: usize = 60;
/// Units like h·ft²·°F/Btu, in m² K/W.
const R_VALUE: f64 = 3_600.0 * FOOT_M * FOOT_M * FAHRENHEIT_K / BTU_J;
/// The sixteen points, clockwise from north.
const COMPASS: [&str; 16] = [
    "n", "nne", "ne", "ene", "e", "ese", "se", "sse", "s", "ssw", "sw", "wsw", "w", "wnw", "nw",
    "nnw",
];

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

/// Reads a quantity and converts it to the unit that [`Dimension::unit`] names: SI, but °C for a
/// temperature and 1/h for air changes.
///
/// A number without a unit is refused, except where the quantity has none (a fraction, a count).
/// Letters may be in either case unless that changes the meaning (`MJ`). A decimal comma is read;
/// one that may part thousands (`1,350`) is refused, since it cannot be told which is meant.
///
/// # Errors
/// [`QuantityError`] if the text is not such a quantity; it says what would be.
///
/// ```
/// use rafterheat::units::{Dimension, parse};
/// assert!((parse("R-19", Dimension::ThermalResistance).unwrap() - 3.346).abs() < 1e-3);
/// assert!((parse("75 cfm", Dimension::AirFlow).unwrap() - 0.0354).abs() < 1e-4);
/// assert!(parse("24", Dimension::Length).is_err());
/// ```
pub fn parse(text: &str, dimension: Dimension) -> Result<f64, QuantityError> {
    let plain = plain(text);
    let value = if plain.is_empty() {
        Err(Reason::Empty)
    } else {
        read(&plain, dimension)
    };
    value
        .and_then(|v| {
            if v.is_finite() {
                Ok(v)
            } else {
                Err(Reason::NotFinite)
            }
        })
        .map_err(|reason| QuantityError {
            found: shortened(text.trim()),
            dimension,
            reason,
        })
}

fn read(text: &str, dimension: Dimension) -> Result<f64, Reason> {
    match dimension {
        Dimension::Length => length(text),
        Dimension::Temperature => temperature(text),
        Dimension::ThermalResistance => labelled(text, dimension, &[("rsi", 1.0), ("r", R_VALUE)]),
        Dimension::Transmittance => labelled(text, dimension, &[("u", 1.0 / R_VALUE)]),
        Dimension::Angle => compass(text).map_or_else(|| with_unit(text, dimension), Ok),
        Dimension::Slope => slope(text),
        Dimension::Count => count(text),
        Dimension::ClockTime => clock(text).ok_or(Reason::Malformed),
        Dimension::Money => money(text),
        Dimension::EnergyPrice => energy_price(text),
        _ => with_unit(text, dimension),
    }
}

/// A number and its unit, and nothing else.
fn with_unit(text: &str, dimension: Dimension) -> Result<f64, Reason> {
    let (value, unit) = number(text, false)?;
    if unit.is_empty() && dimension == Dimension::Fraction {
        return Ok(value);
    }
    Ok(value * factor(unit, dimension)?)
}

/// Factor from a unit to SI.
fn factor(unit: &str, dimension: Dimension) -> Result<f64, Reason> {
    let spec = dimension.spec();
    if unit.is_empty() {
        return Err(Reason::NoUnit);
    }
    let unknown = || Reason::UnknownUnit {
        unit: shortened(unit),
        near: near(unit, &spec),
    };
    let unit = match dimension {
        Dimension::AirFlowAt50Pa => at_50_pa(unit).ok_or_else(unknown)?,
        Dimension::LeakageArea => {
            strip_end(unit, &["at 4 Pa", "at 4Pa", "@ 4 Pa", "@4 Pa", "@4Pa"]).unwrap_or(unit)
        }
        _ => unit,
    };
    let key = key(unit);
    if let Some((_, factor)) = spec.aliases.iter().find(|(name, _)| *name == key) {
        return Ok(*factor);
    }
    match (symbols::expression(unit), spec.exponents) {
        (Some((factor, found)), Some(wanted)) if found == wanted => Ok(factor),
        (Some(_), _) => Err(Reason::OtherDimension {
            unit: shortened(unit),
        }),
        (None, _) => Err(unknown()),
    }
}

/// The unit of flow in `cfm50` or `m3/h at 50 Pa`; `None` if no pressure is said.
fn at_50_pa(unit: &str) -> Option<&str> {
    if let Some(head) = strip_end(unit, &["at 50 Pa", "at 50Pa", "@ 50 Pa", "@50 Pa", "@50Pa"]) {
        return Some(head);
    }
    let head = unit.strip_suffix("50")?.trim_end();
    head.eq_ignore_ascii_case("cfm").then_some(head)
}

fn strip_end<'a>(text: &'a str, ends: &[&str]) -> Option<&'a str> {
    ends.iter().find_map(|end| {
        let at = text.len().checked_sub(end.len())?;
        let tail = text.get(at..)?;
        tail.eq_ignore_ascii_case(end)
            .then(|| text[..at].trim_end())
    })
}

/// A resistance or transmittance with its letter in front (`R-19`), or with a unit.
fn labelled(text: &str, dimension: Dimension, labels: &[(&str, f64)]) -> Result<f64, Reason> {
    for &(label, factor_of_label) in labels {
        let Some(head) = text.get(..label.len()) else {
            continue;
        };
        if !head.eq_ignore_ascii_case(label) {
            continue;
        }
        let rest = text[label.len()..].trim_start();
        let rest = rest
            .strip_prefix(['-', '=', ':'])
            .unwrap_or(rest)
            .trim_start();
        if !rest.starts_with(|c: char| c.is_ascii_digit() || c == '.') {
            return Err(Reason::Malformed);
        }
        let (value, unit) = number(rest, false)?;
        let factor = if unit.is_empty() {
            factor_of_label
        } else {
            factor(unit, dimension)?
        };
        return Ok(value * factor);
    }
    with_unit(text, dimension)
}

fn temperature(text: &str) -> Result<f64, Reason> {
    let (value, unit) = number(text, false)?;
    let key = key(unit).replace("degrees", "deg");
    match key.strip_prefix("deg").unwrap_or(&key) {
        "f" | "fahrenheit" => Ok((value - 32.0) * FAHRENHEIT_K),
        "c" | "celsius" => Ok(value),
        "k" | "kelvin" | "kelvins" => Ok(value - ZERO_CELSIUS_K),
        "" if unit.is_empty() => Err(Reason::NoUnit),
        _ if symbols::expression(unit).is_some() => Err(Reason::OtherDimension {
            unit: shortened(unit),
        }),
        _ => Err(Reason::UnknownUnit {
            unit: shortened(unit),
            near: near(unit, &Dimension::Temperature.spec()),
        }),
    }
}

/// A length with one unit, or in feet and inches; inches may have a fraction.
fn length(text: &str) -> Result<f64, Reason> {
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

/// A number that may end in a fraction: `7 1/4`, `5-1/2`, `3/4`, `7.25`.
fn mixed(text: &str) -> Result<(f64, &str), Reason> {
    let (whole, rest) = number(text, false)?;
    let digits = |t: &str| t.bytes().take_while(u8::is_ascii_digit).count();
    let parted = |t: &str| -> Option<(f64, usize)> {
        let n = digits(t);
        let over = t.get(n..)?.strip_prefix('/')?;
        let d = digits(over);
        let (top, bottom) = (t[..n].parse::<f64>().ok()?, over[..d].parse::<f64>().ok()?);
        (bottom > 0.0).then_some((top / bottom, n + 1 + d))
    };
    if let Some(over) = rest.strip_prefix('/') {
        let d = digits(over);
        let bottom: f64 = over[..d].parse().map_err(|_| Reason::Malformed)?;
        if bottom <= 0.0 {
            return Err(Reason::Malformed);
        }
        return Ok((whole / bottom, over[d..].trim_start()));
    }
    let tail = rest.trim_start_matches([' ', '-']);
    if let Some((fraction, used)) = parted(tail) {
        let sign = if text.starts_with('-') { -1.0 } else { 1.0 };
        return Ok((whole + sign * fraction, tail[used..].trim_start()));
    }
    Ok((whole, rest))
}

fn compass(text: &str) -> Option<f64> {
    let short = key(text)
        .replace("north", "n")
        .replace("east", "e")
        .replace("south", "s")
        .replace("west", "w");
    let index = COMPASS.iter().position(|point| *point == short)?;
    Some((index as f64 * 22.5).to_radians())
}

fn slope(text: &str) -> Result<f64, Reason> {
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
        return Ok((rise / run).atan());
    }
    let (value, unit) = number(text, false)?;
    if matches!(key(unit).as_str(), "%" | "percent") {
        return Ok((value / 100.0).atan());
    }
    Ok(value * factor(unit, Dimension::Slope)?)
}

fn count(text: &str) -> Result<f64, Reason> {
    let (value, rest) = number(text, false)?;
    let whole = rest.is_empty() && value >= 0.0 && value.fract() == 0.0 && value < 1e9;
    if whole {
        Ok(value)
    } else {
        Err(Reason::Malformed)
    }
}

fn clock(text: &str) -> Option<f64> {
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

fn money(text: &str) -> Result<f64, Reason> {
    let (signed, rest) = currency_first(text);
    let (value, unit) = number(rest, true)?;
    if signed && unit.is_empty() {
        return Ok(value);
    }
    Ok(value * factor(unit, Dimension::Money)?)
}

fn energy_price(text: &str) -> Result<f64, Reason> {
    let (signed, rest) = currency_first(text);
    let (value, unit) = number(rest, false)?;
    if unit.is_empty() {
        return Err(Reason::NoUnit);
    }
    let unknown = || Reason::UnknownUnit {
        unit: shortened(unit),
        near: near(unit, &Dimension::EnergyPrice.spec()),
    };
    let (currency, energy) = unit.split_once('/').ok_or_else(unknown)?;
    let money = match key(currency).as_str() {
        "" if signed => 1.0,
        "ct" | "cent" | "cents" | "c" | "¢" if !signed => 0.01,
        _ => factor(currency.trim(), Dimension::Money)?,
    };
    let wanted: Option<Exponents> = Dimension::Energy.spec().exponents;
    match symbols::expression(energy) {
        Some((joule, found)) if Some(found) == wanted => Ok(value * money / joule),
        _ => Err(unknown()),
    }
}

/// The number at the start of `text`, and what follows it.
fn number(text: &str, grouped: bool) -> Result<(f64, &str), Reason> {
    let bytes = text.as_bytes();
    let mut end = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    while bytes
        .get(end)
        .is_some_and(|b| b.is_ascii_digit() || matches!(b, b'.' | b','))
    {
        end += 1;
    }
    let literal = text[..end].trim_end_matches(',');
    end = literal.len();
    if !literal.bytes().any(|b| b.is_ascii_digit()) {
        return Err(Reason::NoNumber);
    }
    let mut plain = without_commas(literal, grouped)?;
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let start = end + 1 + sign;
        let digits = bytes[start.min(bytes.len())..]
            .iter()
            .take_while(|b| b.is_ascii_digit())
            .count();
        if digits > 0 {
            plain.push_str(&text[end..start + digits]);
            end = start + digits;
        }
    }
    let value: f64 = plain.parse().map_err(|_| Reason::NoNumber)?;
    if value.is_finite() {
        Ok((value, text[end..].trim_start()))
    } else {
        Err(Reason::NotFinite)
    }
}

/// The literal with a decimal point and no commas. `grouped` says that a lone comma before three
/// digits parts thousands, as in an amount of money.
fn without_commas(literal: &str, grouped: bool) -> Result<String, Reason> {
    if !literal.contains(',') {
        return Ok(literal.to_owned());
    }
    let (whole, decimals) = literal.split_once('.').unwrap_or((literal, ""));
    let mut groups = whole.trim_start_matches(['+', '-']).split(',');
    let first = groups.next().unwrap_or_default();
    let rest: Vec<&str> = groups.collect();
    let in_threes = (1..=3).contains(&first.len()) && rest.iter().all(|g| g.len() == 3);
    if decimals.contains(['.', ',']) || rest.is_empty() {
        return Err(Reason::NoNumber);
    }
    let certain = literal.contains('.') || rest.len() > 1 || grouped;
    if in_threes && certain {
        return Ok(literal.replace(',', ""));
    }
    if certain && !(grouped && rest.len() == 1 && !literal.contains('.')) {
        return Err(Reason::NoNumber);
    }
    if in_threes && !first.starts_with('0') {
        return Err(Reason::AmbiguousComma);
    }
    Ok(literal.replace(',', "."))
}

/// Brings typographic characters to plain ones.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.trim().chars() {
        match c {
            '²' | '₂' => out.push('2'),
            '³' => out.push('3'),
            '¹' => out.push('1'),
            '°' | 'º' => out.push_str("deg"),
            '·' | '⋅' | '∙' | '•' | '×' => out.push('*'),
            '−' | '–' | '‐' | '‑' | '⁻' => out.push('-'),
            '′' | '’' | '‘' => out.push('\''),
            '″' | '”' | '“' => out.push('"'),
            c if c.is_whitespace() => out.push(' '),
            c => out.push(c),
        }
    }
    let mut out = out.replace("''", "\"").replace(" per ", "/");
    for letter in ["F", "C", "K", "f", "c"] {
        out = out.replace(&format!("deg {letter}"), &format!("deg{letter}"));
    }
    out.trim().to_owned()
}

/// A unit without case, spaces, points and hyphens.
fn key(unit: &str) -> String {
    unit.chars()
        .filter(|c| !matches!(c, ' ' | '.' | '-' | '_'))
        .flat_map(char::to_lowercase)
        .collect()
}

/// The accepted unit that is spelled most like `unit`, if one is near.
fn near(unit: &str, spec: &Spec) -> Option<&'static str> {
    let written = key(&shortened(unit));
    spec.accepted
        .iter()
        .filter(|name| !name.contains('…'))
        .map(|name| {
            (
                strsim::damerau_levenshtein(&written, &key(&plain(name))),
                *name,
            )
        })
        .filter(|(distance, _)| *distance * 3 <= written.chars().count().max(3))
        .min_by_key(|(distance, name)| (*distance, usize::MAX - name.len()))
        .map(|(_, name)| name)
}

fn shortened(text: &str) -> String {
    if text.chars().count() <= FOUND_LIMIT {
        return text.to_owned();
    }
    text.chars().take(FOUND_LIMIT).chain(['…']).collect()
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-12
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn reason(text: &str, dimension: Dimension) -> Reason {
        parse(text, dimension).unwrap_err().reason
    }

    #[test]
    #[expect(clippy::too_many_lines, reason = "a table of cases")]
    fn quantities_are_read_as_people_write_them() {
        use Dimension as D;
        let ft2 = 0.092_903_04;
        // Conversions from NIST SP 811 (2008), appendix B, unless exact by definition.
        let cases = [
            (D::Length, "24 ft", 7.315_2),
            (D::Length, "24ft.", 7.315_2),
            (D::Length, "5' 6\"", 1.676_4),
            (D::Length, "5′6″", 1.676_4),
            (D::Length, "5'6''", 1.676_4),
            (D::Length, "5 ft 6 in", 1.676_4),
            (D::Length, "5 ft 6 1/2 in", 1.689_1),
            (D::Length, "-5 ft 6 in", -1.676_4),
            (D::Length, "7 1/4 in", 0.184_15),
            (D::Length, "5-1/2\"", 0.139_7),
            (D::Length, "3/4 in", 0.019_05),
            (D::Length, "7,3 m", 7.3),
            (D::Length, "730 cm", 7.3),
            (D::Length, "120 MM", 0.12),
            (D::Area, "1350 ft2", 1350.0 * ft2),
            (D::Area, "1350 sq ft", 1350.0 * ft2),
            (D::Area, "1350 sq. ft.", 1350.0 * ft2),
            (D::Area, "1350sqft", 1350.0 * ft2),
            (D::Area, "1,234,567 ft²", 1_234_567.0 * ft2),
            (D::Area, "1,350.5 ft2", 1350.5 * ft2),
            (D::Area, "144 in2", ft2),
            (D::Area, "144 sq in", ft2),
            (D::Area, "50 cm²", 5e-3),
            (D::Volume, "1 ft3", 0.028_316_846_592),
            (D::Temperature, "95 F", 35.0),
            (D::Temperature, "95°F", 35.0),
            (D::Temperature, "95 deg F", 35.0),
            (D::Temperature, "95 degrees Fahrenheit", 35.0),
            (D::Temperature, "-40f", -40.0),
            (D::Temperature, "35 °C", 35.0),
            (D::Temperature, "−5 C", -5.0),
            (D::Temperature, "300 K", 26.85),
            (D::TemperatureDifference, "9 °F", 5.0),
            (D::TemperatureDifference, "5 K", 5.0),
            (D::AirFlow, "75 cfm", 0.035_396_058_24),
            (D::AirFlow, "75 ft3/min", 0.035_396_058_24),
            (D::AirFlow, "36 m³/h", 0.01),
            (D::AirFlow, "10 L/s", 0.01),
            (D::AirFlow, "10 l/s", 0.01),
            (D::AirFlowAt50Pa, "1000 CFM50", 0.471_947_443_2),
            (D::AirFlowAt50Pa, "3600 m3/h @ 50 Pa", 1.0),
            (D::Pressure, "0.1 in w.g.", 24.908_891),
            (D::Pressure, "0.1 inH2O", 24.908_891),
            (D::Pressure, "0.1\" w.c.", 24.908_891),
            (D::Pressure, "1013.25 hPa", 101_325.0),
            (D::Pressure, "3 mbar", 300.0),
            (D::ThermalResistance, "R-19", 3.346_093_49),
            (D::ThermalResistance, "r19", 3.346_093_49),
            (D::ThermalResistance, "19 h ft2 F/Btu", 3.346_093_49),
            (D::ThermalResistance, "19 h·ft²·°F/Btu", 3.346_093_49),
            (D::ThermalResistance, "RSI 3.35", 3.35),
            (D::ThermalResistance, "3.35 m²·K/W", 3.35),
            (D::Transmittance, "U-0.35", 1.987_392_1),
            (D::Transmittance, "0.35 Btu/(h ft2 F)", 1.987_392_1),
            (D::Transmittance, "2 W/(m² K)", 2.0),
            (D::Transmittance, "2 W m⁻² K⁻¹", 2.0),
            (D::ThermalConductance, "1 Btu/h F", 0.527_527_926_31),
            (D::Conductivity, "1 Btu in/h ft2 F", 0.144_227_889_2),
            (D::Conductivity, "0.04 W/m K", 0.04),
            (D::Density, "1 lb/ft3", 16.018_463_37),
            (D::SpecificHeat, "1 Btu/lb F", 4_186.8),
            (D::SpecificHeat, "1.2 kJ/kg.K", 1_200.0),
            (D::HeatCapacity, "1 kWh/K", 3.6e6),
            (D::ArealHeatCapacity, "100 kJ/m2K", 1e5),
            (D::Power, "3 ton", 10_550.558_526_2),
            (D::Power, "3 kW", 3_000.0),
            (D::Power, "36000 BTU/hr", 10_550.558_526_2),
            (D::Power, "36000 Btuh", 10_550.558_526_2),
            (D::Energy, "1.2 kWh", 4.32e6),
            (D::Energy, "4.3 MJ", 4.3e6),
            (D::Speed, "10 mph", 4.470_4),
            (D::Speed, "36 km/h", 10.0),
            (D::Speed, "1 kn", 1_852.0 / 3_600.0),
            (D::Angle, "180 deg", std::f64::consts::PI),
            (D::Angle, "SSW", 202.5_f64.to_radians()),
            (D::Angle, "north-west", 315_f64.to_radians()),
            (D::Angle, "N", 0.0),
            (D::Slope, "4:12", (1.0_f64 / 3.0).atan()),
            (D::Slope, "4/12", (1.0_f64 / 3.0).atan()),
            (D::Slope, "4 in 12", (1.0_f64 / 3.0).atan()),
            (D::Slope, "18°", 18_f64.to_radians()),
            (D::Slope, "33 %", 0.33_f64.atan()),
            (D::Fraction, "0.04", 0.04),
            (D::Fraction, "4 %", 0.04),
            (D::AirChangeRate, "7 ACH50", 7.0),
            (D::NaturalAirChangeRate, "0.5 1/h", 0.5),
            (D::Duration, "5 min", 300.0),
            (D::Duration, "1 h", 3_600.0),
            (D::Duration, "1.5e3 s", 1_500.0),
            (D::Irradiance, "800 W/m²", 800.0),
            (D::Irradiance, "1 Btu/h·ft²", 3.154_590_745),
            (D::Voltage, "12.8V", 12.8),
            (D::Current, "300 mA", 0.3),
            (D::Charge, "100 Ah", 3.6e5),
            (D::Mass, "1 lb", 0.453_592_37),
            (D::Count, "3", 3.0),
            (D::ClockTime, "21:30", 77_400.0),
            (D::ClockTime, "9:30 pm", 77_400.0),
            (D::ClockTime, "12 a.m.", 0.0),
            (D::ClockTime, "24:00", 86_400.0),
            (D::Money, "$1,200", 1_200.0),
            (D::Money, "120 EUR", 120.0),
            (D::EnergyPrice, "0.36 $/kWh", 1e-7),
            (D::EnergyPrice, "$0.36/kWh", 1e-7),
            (D::EnergyPrice, "36 ct/kWh", 1e-7),
            (D::LeakageArea, "650 cm2 at 4 Pa", 0.065),
            (D::MoistureRate, "86.4 kg/day", 1e-3),
            (D::Permeance, "1 perm", 5.721_35e-11),
            (D::Permeance, "57.2135 ng/s m2 Pa", 5.721_35e-11),
            (D::TemperatureCoefficient, "-0.4 %/K", -0.004),
            (D::TemperatureCoefficient, "-0.4 %/°C", -0.004),
        ];
        for (dimension, text, expected) in cases {
            let value = parse(text, dimension).unwrap_or_else(|e| panic!("{text}: {e}"));
            let error = (value - expected).abs();
            assert!(
                error <= 1e-7 * expected.abs().max(1e-15),
                "{text}: {value}, not {expected}"
            );
        }
    }

    #[test]
    fn a_unit_is_never_guessed() {
        for &dimension in Dimension::ALL {
            let bare = matches!(dimension, Dimension::Fraction | Dimension::Count);
            assert_eq!(parse("24", dimension).is_ok(), bare, "{dimension:?}");
        }
        assert_eq!(reason("24", Dimension::Length), Reason::NoUnit);
        assert_eq!(
            reason("24 ft", Dimension::Area),
            Reason::OtherDimension {
                unit: "ft".to_owned()
            }
        );
        assert_eq!(reason("1,350 ft2", Dimension::Area), Reason::AmbiguousComma);
        assert!(parse("0,625 m", Dimension::Length).is_ok());
        // A flow at an unstated pressure is not one at 50 Pa, nor an air change rate.
        assert!(parse("1000 cfm", Dimension::AirFlowAt50Pa).is_err());
        assert!(parse("7 ACH", Dimension::AirChangeRate).is_err());
        assert!(parse("7 ACH50", Dimension::NaturalAirChangeRate).is_err());
    }

    #[test]
    fn what_is_not_a_quantity_is_refused() {
        use Dimension as D;
        let cases = [
            (D::Length, ""),
            (D::Length, "ft"),
            (D::Length, "nan ft"),
            (D::Length, "inf m"),
            (D::Length, "1e999 m"),
            (D::Length, "5 ft 14 in"),
            (D::Length, "5.5 ft 6 in"),
            (D::Length, "5 m 6 in"),
            (D::Length, "3/0 in"),
            (D::Length, "1.2.3 m"),
            (D::Length, "1,23,456 m"),
            (D::ThermalResistance, "R--19"),
            (D::ThermalResistance, "R"),
            (D::ThermalResistance, "R-19 ft"),
            (D::Energy, "4 mJ"),
            (D::Slope, "4:0"),
            (D::Slope, "4:"),
            (D::Slope, "4:12:3"),
            (D::Angle, "up"),
            (D::Count, "2.5"),
            (D::Count, "-1"),
            (D::ClockTime, "25:00"),
            (D::ClockTime, "24:01"),
            (D::ClockTime, "13:00 pm"),
            (D::ClockTime, "9:60"),
            (D::ClockTime, "9"),
            (D::ClockTime, "4294967295:00"),
            (D::Money, "120 pesetas"),
            (D::EnergyPrice, "0.3 $/kW"),
        ];
        for (dimension, text) in cases {
            assert!(
                parse(text, dimension).is_err(),
                "{text}: {:?}",
                parse(text, dimension)
            );
        }
    }

    #[test]
    fn an_error_says_what_to_write() {
        let error = parse("24 fet", Dimension::Length).unwrap_err();
        assert_eq!(error.near(), Some("feet"));
        assert_eq!(
            error.to_string(),
            "expected a length with its unit, such as \"24 ft\" or \"7.3 m\"; found \"24 fet\": \
             the unit \"fet\" is not known; did you mean \"feet\"?"
        );
        assert_eq!(
            parse("75 cfn", Dimension::AirFlow).unwrap_err().near(),
            Some("cfm")
        );
        assert_eq!(
            parse("75 furlong", Dimension::AirFlow).unwrap_err().near(),
            None
        );
        let long = parse(&"é".repeat(5_000), Dimension::AirFlow).unwrap_err();
        assert!(long.found.chars().count() < 100);
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in ".{0,40}") {
            for &dimension in Dimension::ALL {
                if let Ok(value) = parse(&text, dimension) {
                    prop_assert!(value.is_finite());
                }
            }
        }

        #[test]
        fn any_text_like_a_quantity_is_read_or_refused(
            text in "[-+RU$]{0,2}[0-9.,e/' :-]{0,8}[ a-zA-Z0-9²°/()^*\"'%·-]{0,12}",
        ) {
            for &dimension in Dimension::ALL {
                if let Ok(value) = parse(&text, dimension) {
                    prop_assert!(value.is_finite());
                }
            }
        }
    }
}
