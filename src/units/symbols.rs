//! Unit expressions such as `h·ft²·°F/Btu`, read by their dimensions.
//!
//! Factors: exact by the international yard and pound agreement (1959) for foot, inch, mile and
//! pound; Btu is the International Table one, and the conventional inch of water and inch of
//! mercury, the refrigeration ton, the horsepower and the perm are those of NIST SP 811
//! (2008), appendix B.

/// Exponents of metre, kilogram, second, kelvin and ampere.
pub(super) type Exponents = [i8; 5];

/// Btu (International Table), J.
pub(super) const BTU_J: f64 = 1_055.055_852_62;
/// Foot, m.
pub(super) const FOOT_M: f64 = 0.304_8;
/// Inch, m.
pub(super) const INCH_M: f64 = 0.025_4;
/// Pound, kg.
pub(super) const POUND_KG: f64 = 0.453_592_37;
/// Conventional inch of water, Pa.
pub(super) const INCH_WATER_PA: f64 = 249.088_91;
/// Mile, m.
pub(super) const MILE_M: f64 = 1_609.344;
/// Degree Fahrenheit as a difference, K.
pub(super) const FAHRENHEIT_K: f64 = 5.0 / 9.0;
/// US gallon, m³.
const GALLON_M3: f64 = 231.0 * INCH_M * INCH_M * INCH_M;
/// Cubic foot, m³.
const CUBIC_FOOT_M3: f64 = FOOT_M * FOOT_M * FOOT_M;

const NONE: Exponents = [0, 0, 0, 0, 0];
const M: Exponents = [1, 0, 0, 0, 0];
const M3: Exponents = [3, 0, 0, 0, 0];
const KG: Exponents = [0, 1, 0, 0, 0];
const S: Exponents = [0, 0, 1, 0, 0];
const K: Exponents = [0, 0, 0, 1, 0];
const A: Exponents = [0, 0, 0, 0, 1];
const FLOW: Exponents = [3, 0, -1, 0, 0];
const SPEED: Exponents = [1, 0, -1, 0, 0];
const DENSITY: Exponents = [-3, 1, 0, 0, 0];
const PRESSURE: Exponents = [-1, 1, -2, 0, 0];
const ENERGY: Exponents = [2, 1, -2, 0, 0];
const POWER: Exponents = [2, 1, -3, 0, 0];
const VOLT: Exponents = [2, 1, -3, 0, -1];
/// kg/(s m² Pa), which is s/m.
const PERMEANCE: Exponents = [-1, 0, 1, 0, 0];

/// Name, factor to SI and dimensions. A name is matched in any case unless it is in [`EXACT`].
const SYMBOLS: &[(&str, f64, Exponents)] = &[
    ("%", 0.01, NONE),
    // Length
    ("m", 1.0, M),
    ("metre", 1.0, M),
    ("metres", 1.0, M),
    ("meter", 1.0, M),
    ("meters", 1.0, M),
    ("mm", 1e-3, M),
    ("cm", 1e-2, M),
    ("km", 1e3, M),
    ("ft", FOOT_M, M),
    ("foot", FOOT_M, M),
    ("feet", FOOT_M, M),
    ("in", INCH_M, M),
    ("inch", INCH_M, M),
    ("inches", INCH_M, M),
    ("yd", 3.0 * FOOT_M, M),
    ("mi", MILE_M, M),
    ("mile", MILE_M, M),
    ("miles", MILE_M, M),
    // Volume and flow
    ("L", 1e-3, M3),
    ("litre", 1e-3, M3),
    ("litres", 1e-3, M3),
    ("liter", 1e-3, M3),
    ("liters", 1e-3, M3),
    ("gal", GALLON_M3, M3),
    ("gallon", GALLON_M3, M3),
    ("gallons", GALLON_M3, M3),
    ("cfm", CUBIC_FOOT_M3 / 60.0, FLOW),
    // Time
    ("s", 1.0, S),
    ("sec", 1.0, S),
    ("secs", 1.0, S),
    ("second", 1.0, S),
    ("seconds", 1.0, S),
    ("min", 60.0, S),
    ("mins", 60.0, S),
    ("minute", 60.0, S),
    ("minutes", 60.0, S),
    ("h", 3_600.0, S),
    ("hr", 3_600.0, S),
    ("hrs", 3_600.0, S),
    ("hour", 3_600.0, S),
    ("hours", 3_600.0, S),
    ("d", 86_400.0, S),
    ("day", 86_400.0, S),
    ("days", 86_400.0, S),
    ("week", 604_800.0, S),
    ("weeks", 604_800.0, S),
    // Mass
    ("kg", 1.0, KG),
    ("g", 1e-3, KG),
    ("ng", 1e-12, KG),
    ("t", 1e3, KG),
    ("tonne", 1e3, KG),
    ("tonnes", 1e3, KG),
    ("lb", POUND_KG, KG),
    ("lbs", POUND_KG, KG),
    ("lbm", POUND_KG, KG),
    ("pound", POUND_KG, KG),
    ("pounds", POUND_KG, KG),
    ("oz", POUND_KG / 16.0, KG),
    ("pcf", POUND_KG / CUBIC_FOOT_M3, DENSITY),
    // Temperature difference
    ("K", 1.0, K),
    ("C", 1.0, K),
    ("degC", 1.0, K),
    ("degK", 1.0, K),
    ("F", FAHRENHEIT_K, K),
    ("degF", FAHRENHEIT_K, K),
    ("kelvin", 1.0, K),
    ("celsius", 1.0, K),
    ("degCelsius", 1.0, K),
    ("fahrenheit", FAHRENHEIT_K, K),
    ("degFahrenheit", FAHRENHEIT_K, K),
    // Speed
    ("mph", MILE_M / 3_600.0, SPEED),
    ("kph", 1.0 / 3.6, SPEED),
    ("kmh", 1.0 / 3.6, SPEED),
    ("fpm", FOOT_M / 60.0, SPEED),
    ("kn", 1_852.0 / 3_600.0, SPEED),
    ("kt", 1_852.0 / 3_600.0, SPEED),
    ("knot", 1_852.0 / 3_600.0, SPEED),
    ("knots", 1_852.0 / 3_600.0, SPEED),
    // Pressure
    ("Pa", 1.0, PRESSURE),
    ("pascal", 1.0, PRESSURE),
    ("pascals", 1.0, PRESSURE),
    ("hPa", 100.0, PRESSURE),
    ("kPa", 1e3, PRESSURE),
    ("mbar", 100.0, PRESSURE),
    ("bar", 1e5, PRESSURE),
    ("psi", 6_894.757_293_168, PRESSURE),
    ("inH2O", INCH_WATER_PA, PRESSURE),
    ("mmH2O", 9.806_65, PRESSURE),
    ("inHg", 3_386.389, PRESSURE),
    // Energy and power
    ("J", 1.0, ENERGY),
    ("kJ", 1e3, ENERGY),
    ("MJ", 1e6, ENERGY),
    ("GJ", 1e9, ENERGY),
    ("Wh", 3_600.0, ENERGY),
    ("kWh", 3.6e6, ENERGY),
    ("MWh", 3.6e9, ENERGY),
    ("Btu", BTU_J, ENERGY),
    ("kBtu", 1e3 * BTU_J, ENERGY),
    ("therm", 1e5 * BTU_J, ENERGY),
    ("therms", 1e5 * BTU_J, ENERGY),
    ("W", 1.0, POWER),
    ("watt", 1.0, POWER),
    ("watts", 1.0, POWER),
    ("kW", 1e3, POWER),
    ("hp", 745.699_871_582, POWER),
    // Electricity
    ("A", 1.0, A),
    ("amp", 1.0, A),
    ("amps", 1.0, A),
    ("ampere", 1.0, A),
    ("amperes", 1.0, A),
    ("mA", 1e-3, A),
    ("V", 1.0, VOLT),
    ("volt", 1.0, VOLT),
    ("volts", 1.0, VOLT),
    // Vapour permeance
    ("perm", 5.721_35e-11, PERMEANCE),
    ("perms", 5.721_35e-11, PERMEANCE),
];

/// Names whose case carries meaning (mega or milli), so that another case is not read.
const EXACT: &[&str] = &["MJ", "MWh", "mA"];

/// Reads a unit expression already brought to plain characters.
///
/// Everything after a `/` divides, up to the end of its bracket: `W/m2 K` is W/(m² K), which is
/// how people write it. Returns `None` if a part of it is not a unit.
pub(super) fn expression(text: &str) -> Option<(f64, Exponents)> {
    let mut factor = 1.0;
    let mut total = NONE;
    let mut rest = text
        .strip_prefix('1')
        .filter(|r| r.starts_with('/'))
        .unwrap_or(text);
    // For each bracket that is open: whether it divides as a whole, and whether a `/` was met in it.
    let mut outer: Vec<(bool, bool)> = Vec::new();
    let mut here = (false, false);
    let mut complete = false;
    while let Some(first) = rest.chars().next() {
        match first {
            '/' => {
                complete = false;
                rest = rest[1..].trim_start();
                if let Some(inside) = rest.strip_prefix('(') {
                    outer.push(here);
                    here = (!here.0, false);
                    rest = inside;
                } else {
                    here.1 = true;
                }
            }
            '(' => {
                outer.push(here);
                here = (here.0 != here.1, false);
                rest = &rest[1..];
            }
            ')' => {
                here = outer.pop()?;
                rest = &rest[1..];
            }
            ' ' | '*' | '-' | '.' => rest = &rest[1..],
            _ => {
                let (name, unit_factor, exponents) = longest(rest)?;
                let (power, after) = exponent(&rest[name.len()..])?;
                rest = after;
                let power = if here.0 == here.1 { power } else { -power };
                factor *= unit_factor.powi(i32::from(power));
                for (sum, e) in total.iter_mut().zip(exponents) {
                    *sum = sum.checked_add(e.checked_mul(power)?)?;
                }
                complete = true;
            }
        }
    }
    (complete && outer.is_empty() && factor.is_finite() && factor > 0.0).then_some((factor, total))
}

/// The longest symbol that `text` starts with; a name in its own case goes before another.
fn longest(text: &str) -> Option<&'static (&'static str, f64, Exponents)> {
    SYMBOLS
        .iter()
        .filter(|(name, ..)| {
            text.get(..name.len()).is_some_and(|head| {
                head == *name || (head.eq_ignore_ascii_case(name) && !EXACT.contains(name))
            })
        })
        .max_by_key(|(name, ..)| (name.len(), text.starts_with(name)))
}

/// An exponent (`2`, `^2`, `-1`, `^-1`) at the start of `text`, 1 if there is none, and the rest.
fn exponent(text: &str) -> Option<(i8, &str)> {
    let raised = text.strip_prefix('^');
    let body = raised.unwrap_or(text);
    let (sign, digits) = body.strip_prefix('-').map_or((1, body), |d| (-1, d));
    match digits.chars().next() {
        Some(c @ '1'..='4') => {
            let after = &digits[1..];
            let more = after.starts_with(|c: char| c.is_ascii_digit());
            let value = i8::try_from(c.to_digit(10)?).ok()?;
            (!more).then_some((sign * value, after))
        }
        Some(c) if c.is_ascii_digit() => None,
        _ if raised.is_some() => None,
        _ => Some((1, text)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_resistance_reads_the_same_in_any_spelling() {
        let expected = 3_600.0 * FOOT_M * FOOT_M * FAHRENHEIT_K / BTU_J;
        for text in [
            "h ft2 F/Btu",
            "ft2 h degF/BTU",
            "hr-ft2-F/Btu",
            "hft2F/Btu",
            "h*ft^2*F/btu",
            "(h ft2 F)/Btu",
            "F/(Btu/(h ft2))",
        ] {
            let (factor, exponents) = expression(text).unwrap();
            assert!((factor / expected - 1.0).abs() < 1e-12, "{text}: {factor}");
            assert_eq!(exponents, [0, -1, 3, 1, 0], "{text}");
        }
        // h·ft²·°F/Btu is 0.176 110 2 m² K/W: NIST SP 811 (2008), appendix B.8.
        assert!((expected - 0.176_110_2).abs() < 5e-8);
    }

    #[test]
    fn mega_and_milli_are_kept_apart() {
        assert!((expression("MJ").unwrap().0 - 1e6).abs() < 1e-6);
        assert_ne!(expression("mJ"), expression("MJ"));
        assert_ne!(expression("MA"), expression("mA"));
    }

    #[test]
    fn what_is_not_a_unit_is_refused() {
        for text in ["", "furlong", "m2)", "(m", "m^", "m9", "m22", "/", "W/"] {
            assert!(expression(text).is_none(), "{text}");
        }
    }
}
