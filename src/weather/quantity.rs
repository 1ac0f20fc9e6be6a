//! What a column of a weather file can hold, and the units it may be written in.

use crate::units::{Dimension, parse};

/// A quantity that a weather file can hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Quantity {
    /// Air temperature.
    DryBulb,
    /// Dew-point temperature.
    DewPoint,
    /// Relative humidity.
    RelativeHumidity,
    /// Station pressure, not reduced to sea level.
    Pressure,
    /// Wind speed.
    WindSpeed,
    /// Direction that the wind blows from, clockwise from north.
    WindDirection,
    /// Global irradiance on the horizontal.
    Global,
    /// Direct irradiance on a plane that faces the sun.
    DirectNormal,
    /// Diffuse irradiance on the horizontal.
    Diffuse,
    /// Infrared irradiance from the sky on the horizontal.
    InfraredDown,
    /// Share of the sky that is covered by cloud; opaque cover if the file tells both.
    CloudCover,
    /// Share of the sun's light that the ground reflects.
    Albedo,
}

/// What a unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Measure {
    Temperature,
    Share,
    Pressure,
    Speed,
    Angle,
    Flux,
}

impl Quantity {
    /// Whether it is one of the air, kept at the ends of intervals and not as a mean over them.
    pub fn is_of_air(self) -> bool {
        matches!(
            self,
            Self::DryBulb
                | Self::DewPoint
                | Self::RelativeHumidity
                | Self::Pressure
                | Self::WindSpeed
                | Self::WindDirection
        )
    }

    /// All quantities, in the order of the enumeration.
    pub const ALL: [Self; 12] = [
        Self::DryBulb,
        Self::DewPoint,
        Self::RelativeHumidity,
        Self::Pressure,
        Self::WindSpeed,
        Self::WindDirection,
        Self::Global,
        Self::DirectNormal,
        Self::Diffuse,
        Self::InfraredDown,
        Self::CloudCover,
        Self::Albedo,
    ];

    /// Name in a column description.
    pub fn key(self) -> &'static str {
        match self {
            Self::DryBulb => "dry_bulb",
            Self::DewPoint => "dew_point",
            Self::RelativeHumidity => "relative_humidity",
            Self::Pressure => "pressure",
            Self::WindSpeed => "wind_speed",
            Self::WindDirection => "wind_direction",
            Self::Global => "global",
            Self::DirectNormal => "direct_normal",
            Self::Diffuse => "diffuse",
            Self::InfraredDown => "infrared_down",
            Self::CloudCover => "cloud_cover",
            Self::Albedo => "albedo",
        }
    }

    /// The quantity of that name in a column description.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|quantity| quantity.key() == key)
    }

    /// Units that a column of this quantity may be written in.
    pub fn accepted_units(self) -> &'static str {
        match self.measure() {
            Measure::Temperature => "C, F or K",
            Measure::Share => "%, tenths, oktas or 1",
            Measure::Pressure => "Pa, hPa, mbar, kPa or inHg",
            Measure::Speed => "m/s, km/h, mph, kn or ft/min",
            Measure::Angle => "deg or rad",
            Measure::Flux => "W/m2, kW/m2 or Btu/(h·ft2)",
        }
    }

    /// Range outside of which a reading is not believed, SI.
    ///
    /// Common practice, no source: a little wider than the world's records.
    pub fn believable(self) -> (f64, f64) {
        match self {
            Self::DryBulb => (183.0, 333.0),
            Self::DewPoint => (173.0, 309.0),
            Self::RelativeHumidity => (0.0, 1.1),
            Self::Pressure => (45_000.0, 110_000.0),
            Self::WindSpeed => (0.0, 75.0),
            Self::WindDirection => (-0.01, std::f64::consts::TAU + 0.01),
            Self::Global => (-15.0, 1700.0),
            Self::DirectNormal => (-15.0, 1300.0),
            Self::Diffuse => (-15.0, 1100.0),
            Self::InfraredDown => (50.0, 700.0),
            Self::CloudCover => (0.0, 1.13),
            Self::Albedo => (0.0, 1.0),
        }
    }

    /// The bounds to which a believable reading is brought, SI.
    pub(super) fn settle(self, value: f64) -> f64 {
        match self {
            Self::Global | Self::DirectNormal | Self::Diffuse => value.max(0.0),
            Self::RelativeHumidity | Self::CloudCover => value.clamp(0.0, 1.0),
            Self::WindDirection => value.rem_euclid(std::f64::consts::TAU),
            _ => value,
        }
    }

    fn measure(self) -> Measure {
        match self {
            Self::DryBulb | Self::DewPoint => Measure::Temperature,
            Self::RelativeHumidity | Self::CloudCover | Self::Albedo => Measure::Share,
            Self::Pressure => Measure::Pressure,
            Self::WindSpeed => Measure::Speed,
            Self::WindDirection => Measure::Angle,
            Self::Global | Self::DirectNormal | Self::Diffuse | Self::InfraredDown => Measure::Flux,
        }
    }
}

/// Turns the number in a column into SI: `value × scale + offset`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ColumnUnit {
    scale: f64,
    offset: f64,
}

impl ColumnUnit {
    /// The unit of that name, if a column of `quantity` may be written in it.
    ///
    /// `hPa` and `mbar` are the same; `1` is a share from 0 to 1; an okta is an eighth of the sky.
    pub fn find(quantity: Quantity, text: &str) -> Option<Self> {
        let text: String = text
            .chars()
            .filter(|c| !c.is_whitespace() && !matches!(c, '°' | '^'))
            .map(|c| if c == '²' { '2' } else { c })
            .collect::<String>()
            .to_ascii_lowercase();
        let plain = |scale| Some(Self { scale, offset: 0.0 });
        match quantity.measure() {
            Measure::Temperature => Self::known(&text, Dimension::Temperature).map(|unit| Self {
                offset: unit.offset + crate::units::ZERO_CELSIUS_K,
                ..unit
            }),
            Measure::Share => match text.as_str() {
                "%" | "percent" => plain(0.01),
                "tenths" => plain(0.1),
                "oktas" | "eighths" => plain(0.125),
                "1" | "" => plain(1.0),
                _ => None,
            },
            Measure::Pressure if matches!(text.as_str(), "mb") => plain(100.0),
            Measure::Pressure => Self::known(&text, Dimension::Pressure),
            Measure::Speed => Self::known(&text, Dimension::Speed),
            Measure::Angle => match text.as_str() {
                "deg" | "degrees" | "" => plain(std::f64::consts::PI / 180.0),
                "rad" => plain(1.0),
                _ => None,
            },
            Measure::Flux => Self::known(&text, Dimension::Irradiance),
        }
    }

    /// A unit that every quantity of the program may be written in.
    fn known(unit: &str, dimension: Dimension) -> Option<Self> {
        let at = |number: u32| parse(&format!("{number} {unit}"), dimension).ok();
        // 300 and 400 are above absolute zero in every unit of temperature.
        let (low, high) = (at(300)?, at(400)?);
        let scale = (high - low) / 100.0;
        let offset = low - 300.0 * scale;
        // Rounding must not turn a calm of 0 into less than nothing.
        let offset = if offset.abs() < 1e-9 * low {
            0.0
        } else {
            offset
        };
        Some(Self { scale, offset })
    }

    /// The number of a column in SI.
    pub fn to_si(self, value: f64) -> f64 {
        value * self.scale + self.offset
    }

    /// An SI value as the column would hold it.
    pub fn from_si(self, value: f64) -> f64 {
        (value - self.offset) / self.scale
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_of_the_trade_reach_si() {
        for (quantity, unit, written, si) in [
            (Quantity::DryBulb, "°F", 95.0, 308.15),
            (Quantity::DryBulb, "C", 35.0, 308.15),
            (Quantity::Pressure, "kPa", 101.325, 101_325.0),
            (Quantity::Pressure, "inHg", 29.921_25, 101_325.0),
            (Quantity::WindSpeed, "mph", 10.0, 4.4704),
            (Quantity::WindSpeed, "kn", 10.0, 5.144_444),
            (Quantity::CloudCover, "oktas", 4.0, 0.5),
            (Quantity::CloudCover, "tenths", 5.0, 0.5),
            (Quantity::Global, "W/m²", 1000.0, 1000.0),
            (Quantity::Global, "Btu/(h·ft²)", 317.0, 1000.005),
        ] {
            let got = ColumnUnit::find(quantity, unit).unwrap().to_si(written);
            assert!(
                (got / si - 1.0).abs() < 1e-5,
                "{quantity:?} {unit}: {got} instead of {si}"
            );
        }
    }

    #[test]
    fn nothing_is_nothing_in_every_unit() {
        for unit in ["m/s", "mph", "km/h", "kn", "ft/min"] {
            let unit = ColumnUnit::find(Quantity::WindSpeed, unit).unwrap();
            assert!(unit.to_si(0.0).abs() <= 0.0, "{unit:?}");
        }
    }

    #[test]
    fn a_unit_of_another_quantity_is_refused() {
        assert_eq!(ColumnUnit::find(Quantity::DryBulb, "W/m2"), None);
        assert_eq!(ColumnUnit::find(Quantity::Global, "C"), None);
    }

    #[test]
    fn every_quantity_is_found_by_its_key() {
        for quantity in Quantity::ALL {
            assert_eq!(Quantity::from_key(quantity.key()), Some(quantity));
        }
    }
}
