//! What a quantity measures, and which units are accepted for it.

/// What a quantity measures. [`Dimension::unit`] says in which unit [`super::parse`] returns it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Dimension {
    /// A length: `"24 ft"`, `"5' 6\""`, `"7 1/4 in"`, `"7.3 m"`.
    Length,
    /// An area: `"1350 ft2"`, `"125 m2"`.
    Area,
    /// A volume: `"900 ft3"`, `"25 m3"`, `"12 L"`.
    Volume,
    /// A temperature, returned in **°C**: `"95 F"`, `"35 °C"`.
    Temperature,
    /// A difference of temperatures: `"9 F"`, `"5 K"`.
    TemperatureDifference,
    /// An air flow: `"75 cfm"`, `"127 m3/h"`, `"35 L/s"`.
    AirFlow,
    /// A leakage flow at 50 Pa: `"1500 cfm50"`, `"2500 m3/h at 50 Pa"`.
    AirFlowAt50Pa,
    /// A pressure: `"0.1 in w.g."`, `"25 Pa"`.
    Pressure,
    /// A thermal resistance of an area: `"R-19"`, `"RSI 3.35"`, `"3.35 m2K/W"`.
    ThermalResistance,
    /// A thermal transmittance or surface coefficient: `"U-0.35"`, `"2 W/m2K"`.
    Transmittance,
    /// A thermal conductance: `"150 W/K"`, `"280 Btu/h F"`.
    ThermalConductance,
    /// A conductivity: `"0.04 W/mK"`, `"0.28 Btu in/h ft2 F"`.
    Conductivity,
    /// A density: `"0.5 lb/ft3"`, `"8 kg/m3"`.
    Density,
    /// A specific heat: `"0.29 Btu/lb F"`, `"1200 J/kgK"`.
    SpecificHeat,
    /// A heat capacity: `"5 MJ/K"`, `"2600 Btu/F"`.
    HeatCapacity,
    /// A heat capacity of an area: `"100 kJ/m2K"`, `"5 Btu/ft2F"`.
    ArealHeatCapacity,
    /// A power: `"40 W"`, `"3 ton"`, `"36000 Btu/h"`.
    Power,
    /// An energy: `"1.2 kWh"`, `"500 Wh"`, `"4.3 MJ"`.
    Energy,
    /// A speed: `"7 mph"`, `"3 m/s"`.
    Speed,
    /// An angle, or a direction clockwise from north, returned in **radians**: `"225 deg"`, `"SW"`.
    Angle,
    /// A roof pitch, returned in **radians** from horizontal: `"4:12"`, `"18 deg"`, `"33 %"`.
    Slope,
    /// A fraction: `"0.04"`, `"4 %"`.
    Fraction,
    /// Air changes an hour at 50 Pa: `"7 ACH50"`, returned in 1/h.
    AirChangeRate,
    /// Air changes an hour as they occur: `"0.5 ACH"`, `"0.5 /h"`, returned in 1/h.
    NaturalAirChangeRate,
    /// A duration: `"5 min"`, `"1 h"`, `"3 days"`.
    Duration,
    /// A heat flow through, or radiation on, an area: `"800 W/m2"`, `"250 Btu/h ft2"`.
    Irradiance,
    /// A voltage: `"12.8 V"`.
    Voltage,
    /// A current: `"2.5 A"`, `"300 mA"`.
    Current,
    /// An electric charge: `"100 Ah"`, returned in **coulomb** (3600 to the Ah).
    Charge,
    /// A mass: `"400 lb"`, `"180 kg"`.
    Mass,
    /// A whole number of things: `"3"`.
    Count,
    /// A time of day: `"21:30"`, `"9:30 pm"`, returned in seconds after midnight.
    ClockTime,
    /// An amount of money: `"$120"`, `"120 EUR"`; the currency is not kept.
    Money,
    /// A price of energy: `"0.32 $/kWh"`, returned in money per joule.
    EnergyPrice,
    /// An effective leakage area at 4 Pa: `"100 in2"`, `"650 cm2 at 4 Pa"`.
    LeakageArea,
    /// A rate at which moisture is given off: `"5 kg/day"`, `"10 pints/day"`.
    MoistureRate,
    /// A vapour permeance: `"1 perm"`, `"57 ng/s m2 Pa"`.
    Permeance,
    /// A change with temperature: `"-0.4 %/K"`.
    TemperatureCoefficient,
}

impl Dimension {
    /// Every dimension.
    pub const ALL: &'static [Self] = &[
        Self::Length,
        Self::Area,
        Self::Volume,
        Self::Temperature,
        Self::TemperatureDifference,
        Self::AirFlow,
        Self::AirFlowAt50Pa,
        Self::Pressure,
        Self::ThermalResistance,
        Self::Transmittance,
        Self::ThermalConductance,
        Self::Conductivity,
        Self::Density,
        Self::SpecificHeat,
        Self::HeatCapacity,
        Self::ArealHeatCapacity,
        Self::Power,
        Self::Energy,
        Self::Speed,
        Self::Angle,
        Self::Slope,
        Self::Fraction,
        Self::AirChangeRate,
        Self::NaturalAirChangeRate,
        Self::Duration,
        Self::Irradiance,
        Self::Voltage,
        Self::Current,
        Self::Charge,
        Self::Mass,
        Self::Count,
        Self::ClockTime,
        Self::Money,
        Self::EnergyPrice,
        Self::LeakageArea,
        Self::MoistureRate,
        Self::Permeance,
        Self::TemperatureCoefficient,
    ];

    /// What is expected, for a message: "a length with its unit".
    pub fn expected(self) -> &'static str {
        self.spec().expected
    }

    /// Two ways to write such a quantity.
    pub fn examples(self) -> [&'static str; 2] {
        self.spec().examples
    }

    /// The unit in which [`super::parse`] returns the quantity; empty if it has none.
    pub fn unit(self) -> &'static str {
        self.spec().unit
    }

    /// Units that are accepted, as people write them. Spellings of the same unit are left out.
    pub fn accepted(self) -> &'static [&'static str] {
        self.spec().accepted
    }
}

#[cfg(test)]
mod tests {
    use super::super::parse;
    use super::*;

    #[test]
    fn every_example_is_read_and_every_accepted_unit_is_accepted() {
        for &dimension in Dimension::ALL {
            for example in dimension.examples() {
                parse(example, dimension).unwrap();
            }
            let as_number = !matches!(
                dimension,
                Dimension::Angle | Dimension::ClockTime | Dimension::EnergyPrice
            );
            for unit in dimension
                .accepted()
                .iter()
                .filter(|u| as_number && !u.contains('…'))
            {
                parse(&format!("2 {unit}"), dimension).unwrap();
                parse(&format!("2{unit}"), dimension).unwrap();
            }
        }
    }
}
