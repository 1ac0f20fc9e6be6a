//! Text with a unit to SI.

use super::ZERO_CELSIUS_K;
use super::dimension::Dimension;
use super::error::{QuantityError, Reason, shortened};
use super::forms::{clock, compass, count, energy_price, length, money, slope};
use super::number::number;
use super::symbols::{self, BTU_J, FAHRENHEIT_K, FOOT_M};
use super::unit::{factor, key, plain, unknown_unit};

/// Units like h·ft²·°F/Btu, in m² K/W.
const R_VALUE: f64 = 3_600.0 * FOOT_M * FOOT_M * FAHRENHEIT_K / BTU_J;

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
        _ => Err(unknown_unit(unit, Dimension::Temperature)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::elementary::atan;
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
            (D::TemperatureDifference, "9 degrees Fahrenheit", 5.0),
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
            (D::Slope, "4:12", atan(1.0_f64 / 3.0)),
            (D::Slope, "4/12", atan(1.0_f64 / 3.0)),
            (D::Slope, "4 in 12", atan(1.0_f64 / 3.0)),
            (D::Slope, "18°", 18_f64.to_radians()),
            (D::Slope, "33 %", atan(0.33_f64)),
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
        assert_eq!(parse("24 x", Dimension::Length).unwrap_err().near(), None);
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
