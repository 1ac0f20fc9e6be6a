//! The units that each dimension accepts, how they are spelled, and examples.

use super::dimension::Dimension;
use super::symbols::{BTU_J, Exponents, FOOT_M, INCH_M, INCH_WATER_PA};

/// What one dimension accepts.
pub(super) struct Spec {
    /// "a length with its unit".
    pub(super) expected: &'static str,
    pub(super) examples: [&'static str; 2],
    /// Unit of what `parse` returns.
    pub(super) unit: &'static str,
    /// Dimensions that a unit expression must have; `None` where only `aliases` are read.
    pub(super) exponents: Option<Exponents>,
    /// Accepted units to list for people and to look for near misses in.
    pub(super) accepted: &'static [&'static str],
    /// Spellings that are not expressions: lower case without spaces, points, hyphens; factor.
    pub(super) aliases: &'static [(&'static str, f64)],
}

const TON_W: f64 = 12_000.0 * BTU_J / 3_600.0;
const BTU_H_W: f64 = BTU_J / 3_600.0;
const FT2: f64 = FOOT_M * FOOT_M;
const IN2: f64 = INCH_M * INCH_M;
const DEGREE: f64 = std::f64::consts::PI / 180.0;
const DAY: f64 = 86_400.0;
/// US liquid pint of water at 1 kg/L.
const PINT_KG: f64 = 231.0 / 8.0 * INCH_M * INCH_M * INCH_M * 1e3;
const AREA_ALIASES: &[(&str, f64)] = &[
    ("sqft", FT2),
    ("sqfeet", FT2),
    ("squarefoot", FT2),
    ("squarefeet", FT2),
    ("sf", FT2),
    ("sqin", IN2),
    ("sqinch", IN2),
    ("sqinches", IN2),
    ("squareinch", IN2),
    ("squareinches", IN2),
    ("sqm", 1.0),
    ("squaremetres", 1.0),
    ("squaremeters", 1.0),
    ("sqcm", 1e-4),
];

impl Dimension {
    /// What this dimension accepts.
    #[expect(clippy::too_many_lines, reason = "a table, one entry a dimension")]
    pub(super) const fn spec(self) -> Spec {
        match self {
            Self::Length => spec(
                "a length with its unit",
                ["24 ft", "7.3 m"],
                "m",
                Some([1, 0, 0, 0, 0]),
                &["ft", "in", "m", "cm", "mm", "feet", "inches", "yd"],
                &[("'", FOOT_M), ("\"", INCH_M)],
            ),
            Self::Area => spec(
                "an area with its unit",
                ["1350 ft2", "125 m2"],
                "m2",
                Some([2, 0, 0, 0, 0]),
                &["ft2", "sq ft", "in2", "sq in", "m2", "cm2"],
                AREA_ALIASES,
            ),
            Self::Volume => spec(
                "a volume with its unit",
                ["900 ft3", "25 m3"],
                "m3",
                Some([3, 0, 0, 0, 0]),
                &["ft3", "m3", "L", "gal"],
                &[
                    ("cuft", FOOT_M * FT2),
                    ("cubicfeet", FOOT_M * FT2),
                    ("cf", FOOT_M * FT2),
                    ("cum", 1.0),
                ],
            ),
            Self::Temperature => spec(
                "a temperature with its unit",
                ["95 F", "35 C"],
                "°C",
                None,
                &["F", "C", "K", "°F", "°C"],
                &[],
            ),
            Self::TemperatureDifference => spec(
                "a temperature difference with its unit",
                ["9 F", "5 K"],
                "K",
                Some([0, 0, 0, 1, 0]),
                &["F", "K", "C"],
                &[],
            ),
            Self::AirFlow => spec(
                "an air flow with its unit",
                ["75 cfm", "127 m3/h"],
                "m3/s",
                Some([3, 0, -1, 0, 0]),
                &["cfm", "m3/h", "L/s", "m3/s", "ft3/min"],
                &[],
            ),
            Self::AirFlowAt50Pa => spec(
                "a leakage flow at 50 Pa with its unit",
                ["1500 cfm50", "2500 m3/h at 50 Pa"],
                "m3/s",
                Some([3, 0, -1, 0, 0]),
                &["cfm50", "m3/h at 50 Pa", "L/s at 50 Pa"],
                &[],
            ),
            Self::Pressure => spec(
                "a pressure with its unit",
                ["0.1 in w.g.", "25 Pa"],
                "Pa",
                Some([-1, 1, -2, 0, 0]),
                &["Pa", "hPa", "kPa", "mbar", "in w.g.", "inH2O", "inHg"],
                &[
                    ("inwg", INCH_WATER_PA),
                    ("inwc", INCH_WATER_PA),
                    ("\"wg", INCH_WATER_PA),
                    ("\"wc", INCH_WATER_PA),
                    ("inchesofwater", INCH_WATER_PA),
                    ("inh2o", INCH_WATER_PA),
                ],
            ),
            Self::ThermalResistance => spec(
                "a thermal resistance with its unit",
                ["R-19", "3.35 m2K/W"],
                "m2K/W",
                Some([0, -1, 3, 1, 0]),
                &["R-…", "RSI …", "m2K/W", "h ft2 F/Btu"],
                &[],
            ),
            Self::Transmittance => spec(
                "a transmittance with its unit",
                ["U-0.35", "2.0 W/m2K"],
                "W/m2K",
                Some([0, 1, -3, -1, 0]),
                &["U-…", "W/m2K", "Btu/h ft2 F"],
                &[],
            ),
            Self::ThermalConductance => spec(
                "a thermal conductance with its unit",
                ["150 W/K", "280 Btu/h F"],
                "W/K",
                Some([2, 1, -3, -1, 0]),
                &["W/K", "Btu/h F"],
                &[],
            ),
            Self::Conductivity => spec(
                "a conductivity with its unit",
                ["0.04 W/mK", "0.28 Btu in/h ft2 F"],
                "W/mK",
                Some([1, 1, -3, -1, 0]),
                &["W/mK", "Btu in/h ft2 F", "Btu/h ft F"],
                &[],
            ),
            Self::Density => spec(
                "a density with its unit",
                ["0.5 lb/ft3", "8 kg/m3"],
                "kg/m3",
                Some([-3, 1, 0, 0, 0]),
                &["kg/m3", "lb/ft3", "pcf"],
                &[],
            ),
            Self::SpecificHeat => spec(
                "a specific heat with its unit",
                ["0.29 Btu/lb F", "1200 J/kgK"],
                "J/kgK",
                Some([2, 0, -2, -1, 0]),
                &["J/kgK", "kJ/kgK", "Btu/lb F", "Wh/kgK"],
                &[],
            ),
            Self::HeatCapacity => spec(
                "a heat capacity with its unit",
                ["5 MJ/K", "2600 Btu/F"],
                "J/K",
                Some([2, 1, -2, -1, 0]),
                &["J/K", "kJ/K", "MJ/K", "Wh/K", "Btu/F"],
                &[],
            ),
            Self::ArealHeatCapacity => spec(
                "a heat capacity per area with its unit",
                ["100 kJ/m2K", "5 Btu/ft2F"],
                "J/m2K",
                Some([0, 1, -2, -1, 0]),
                &["J/m2K", "kJ/m2K", "Wh/m2K", "Btu/ft2F"],
                &[],
            ),
            Self::Power => spec(
                "a power with its unit",
                ["40 W", "36000 Btu/h"],
                "W",
                Some([2, 1, -3, 0, 0]),
                &["W", "kW", "Btu/h", "ton", "hp"],
                &[("btuh", BTU_H_W), ("ton", TON_W), ("tons", TON_W)],
            ),
            Self::Energy => spec(
                "an energy with its unit",
                ["1.2 kWh", "4.3 MJ"],
                "J",
                Some([2, 1, -2, 0, 0]),
                &["kWh", "Wh", "J", "kJ", "MJ", "Btu"],
                &[],
            ),
            Self::Speed => spec(
                "a speed with its unit",
                ["7 mph", "3 m/s"],
                "m/s",
                Some([1, 0, -1, 0, 0]),
                &["m/s", "mph", "km/h", "kn", "ft/min"],
                &[],
            ),
            Self::Angle => spec(
                "an angle or a compass direction",
                ["225 deg", "SW"],
                "rad",
                None,
                &["deg", "rad", "N", "NE", "E", "SE", "S", "SW", "W", "NW"],
                &[
                    ("deg", DEGREE),
                    ("degree", DEGREE),
                    ("degrees", DEGREE),
                    ("rad", 1.0),
                    ("radians", 1.0),
                ],
            ),
            Self::Slope => spec(
                "a roof pitch",
                ["4:12", "18 deg"],
                "rad",
                None,
                &["…:12", "deg", "%"],
                &[
                    ("deg", DEGREE),
                    ("degree", DEGREE),
                    ("degrees", DEGREE),
                    ("rad", 1.0),
                    ("radians", 1.0),
                ],
            ),
            Self::Fraction => spec(
                "a fraction",
                ["0.04", "4 %"],
                "",
                None,
                &["%", "percent"],
                &[("%", 0.01), ("percent", 0.01)],
            ),
            Self::AirChangeRate => spec(
                "air changes an hour at 50 Pa",
                ["7 ACH50", "7 /h at 50 Pa"],
                "1/h",
                None,
                &["ACH50", "/h at 50 Pa"],
                &[
                    ("ach50", 1.0),
                    ("ach@50pa", 1.0),
                    ("achat50pa", 1.0),
                    ("/hat50pa", 1.0),
                    ("1/hat50pa", 1.0),
                    ("/h@50pa", 1.0),
                ],
            ),
            Self::NaturalAirChangeRate => spec(
                "air changes an hour",
                ["0.5 ACH", "0.5 /h"],
                "1/h",
                None,
                &["ACH", "/h"],
                &[
                    ("ach", 1.0),
                    ("/h", 1.0),
                    ("1/h", 1.0),
                    ("/hr", 1.0),
                    ("/hour", 1.0),
                    ("h^1", 1.0),
                ],
            ),
            Self::Duration => spec(
                "a duration with its unit",
                ["5 min", "1 h"],
                "s",
                Some([0, 0, 1, 0, 0]),
                &["s", "min", "h", "days", "hours", "minutes", "seconds"],
                &[],
            ),
            Self::Irradiance => spec(
                "a heat flux with its unit",
                ["800 W/m2", "250 Btu/h ft2"],
                "W/m2",
                Some([0, 1, -3, 0, 0]),
                &["W/m2", "kW/m2", "Btu/h ft2"],
                &[("w/sqft", 1.0 / FT2)],
            ),
            Self::Voltage => spec(
                "a voltage with its unit",
                ["12.8 V", "24 V"],
                "V",
                Some([2, 1, -3, 0, -1]),
                &["V", "volts"],
                &[("vdc", 1.0), ("vac", 1.0)],
            ),
            Self::Current => spec(
                "a current with its unit",
                ["2.5 A", "300 mA"],
                "A",
                Some([0, 0, 0, 0, 1]),
                &["A", "mA", "amps"],
                &[],
            ),
            Self::Charge => spec(
                "a charge with its unit",
                ["100 Ah", "7.2 Ah"],
                "C",
                Some([0, 0, 1, 0, 1]),
                &["Ah", "mAh"],
                &[],
            ),
            Self::Mass => spec(
                "a mass with its unit",
                ["400 lb", "180 kg"],
                "kg",
                Some([0, 1, 0, 0, 0]),
                &["kg", "g", "lb", "oz", "t"],
                &[],
            ),
            Self::Count => spec("a whole number", ["3", "12"], "", None, &[], &[]),
            Self::ClockTime => spec(
                "a time of day",
                ["21:30", "9:30 pm"],
                "s",
                None,
                &["am", "pm"],
                &[],
            ),
            Self::Money => spec(
                "an amount of money with its currency",
                ["$120", "120 EUR"],
                "",
                None,
                &[
                    "$", "EUR", "€", "GBP", "USD", "CAD", "AUD", "dollars", "euros",
                ],
                &[
                    ("$", 1.0),
                    ("€", 1.0),
                    ("£", 1.0),
                    ("usd", 1.0),
                    ("eur", 1.0),
                    ("gbp", 1.0),
                    ("cad", 1.0),
                    ("aud", 1.0),
                    ("nzd", 1.0),
                    ("chf", 1.0),
                    ("dollar", 1.0),
                    ("dollars", 1.0),
                    ("euro", 1.0),
                    ("euros", 1.0),
                ],
            ),
            Self::EnergyPrice => spec(
                "a price of energy with its currency",
                ["0.32 $/kWh", "0.30 EUR/kWh"],
                "1/J",
                None,
                &["$/kWh", "EUR/kWh"],
                &[],
            ),
            Self::LeakageArea => spec(
                "a leakage area at 4 Pa with its unit",
                ["100 in2", "650 cm2"],
                "m2",
                Some([2, 0, 0, 0, 0]),
                &["in2", "cm2", "m2", "sq in"],
                AREA_ALIASES,
            ),
            Self::MoistureRate => spec(
                "a rate of moisture with its unit",
                ["5 kg/day", "10 pints/day"],
                "kg/s",
                Some([0, 1, -1, 0, 0]),
                &["kg/day", "kg/h", "g/h", "lb/day", "pints/day"],
                &[
                    ("pints/day", PINT_KG / DAY),
                    ("pint/day", PINT_KG / DAY),
                    ("l/day", 1.0 / DAY),
                    ("litres/day", 1.0 / DAY),
                    ("liters/day", 1.0 / DAY),
                ],
            ),
            Self::Permeance => spec(
                "a vapour permeance with its unit",
                ["1 perm", "57 ng/s m2 Pa"],
                "kg/s m2 Pa",
                Some([-1, 0, 1, 0, 0]),
                &["perm", "ng/s m2 Pa"],
                &[],
            ),
            Self::TemperatureCoefficient => spec(
                "a change with temperature",
                ["-0.4 %/K", "-0.0035 /K"],
                "1/K",
                Some([0, 0, 0, -1, 0]),
                &["%/K", "/K", "%/C"],
                &[],
            ),
        }
    }
}

const fn spec(
    expected: &'static str,
    examples: [&'static str; 2],
    unit: &'static str,
    exponents: Option<Exponents>,
    accepted: &'static [&'static str],
    aliases: &'static [(&'static str, f64)],
) -> Spec {
    Spec {
        expected,
        examples,
        unit,
        exponents,
        accepted,
        aliases,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn aliases_are_spelled_as_they_are_looked_up() {
        for &dimension in Dimension::ALL {
            for (name, factor) in dimension.spec().aliases {
                assert!(!name.contains([' ', '.', '-', '_']), "{name}");
                assert_eq!(name.to_lowercase(), **name);
                assert!(*factor > 0.0);
            }
        }
    }
}
