//! SI values as text for people, in the units of their trade.
//!
//! Digits are as many as mean something: tenths of a degree, three figures elsewhere. What these
//! functions write, [`super::parse`] reads. A value that is not finite is written as `n/a`.

use super::symbols::{BTU_J, FAHRENHEIT_K, FOOT_M, INCH_M, INCH_WATER_PA, MILE_M, POUND_KG};

/// The units to print.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum System {
    /// °F, ft, cfm, Btu/h, R-values.
    #[default]
    Us,
    /// °C, m, m³/h, W.
    Si,
}

/// A temperature given in °C, to a tenth of a degree.
pub fn temperature(system: System, temp_c: f64) -> String {
    match system {
        System::Us => fixed(temp_c / FAHRENHEIT_K + 32.0, 1, "°F"),
        System::Si => fixed(temp_c, 1, "°C"),
    }
}

/// A difference of temperatures given in K, to a tenth of a degree.
pub fn temperature_difference(system: System, difference_k: f64) -> String {
    match system {
        System::Us => fixed(difference_k / FAHRENHEIT_K, 1, "°F"),
        System::Si => fixed(difference_k, 1, "K"),
    }
}

/// A length given in m: inches or millimetres where it is short.
pub fn length(system: System, length_m: f64) -> String {
    match system {
        System::Us if length_m.abs() < FOOT_M => figures(length_m / INCH_M, "in"),
        System::Us => figures(length_m / FOOT_M, "ft"),
        System::Si if length_m.abs() < 1.0 => figures(length_m * 1e3, "mm"),
        System::Si => figures(length_m, "m"),
    }
}

/// An area given in m²: square inches or square centimetres where it is small.
pub fn area(system: System, area_m2: f64) -> String {
    match system {
        System::Us if area_m2.abs() < FOOT_M * FOOT_M => figures(area_m2 / INCH_M.powi(2), "in²"),
        System::Us => figures(area_m2 / FOOT_M.powi(2), "ft²"),
        System::Si if area_m2.abs() < 0.1 => figures(area_m2 * 1e4, "cm²"),
        System::Si => figures(area_m2, "m²"),
    }
}

/// Net free area of vents, in whole square inches as vents are sold, or as any area.
pub fn vent_area(system: System, area_m2: f64) -> String {
    match system {
        System::Us if area_m2.is_finite() => format!("{:.0} in²", area_m2 / INCH_M.powi(2)),
        _ => area(system, area_m2),
    }
}

/// A volume given in m³.
pub fn volume(system: System, volume_m3: f64) -> String {
    match system {
        System::Us => figures(volume_m3 / FOOT_M.powi(3), "ft³"),
        System::Si => figures(volume_m3, "m³"),
    }
}

/// An air flow given in m³/s.
pub fn air_flow(system: System, flow_m3_s: f64) -> String {
    match system {
        System::Us => figures(flow_m3_s / FOOT_M.powi(3) * 60.0, "cfm"),
        System::Si => figures(flow_m3_s * 3_600.0, "m³/h"),
    }
}

/// A pressure difference given in Pa.
pub fn pressure(system: System, pressure_pa: f64) -> String {
    match system {
        System::Us => figures(pressure_pa / INCH_WATER_PA, "in w.g."),
        System::Si => figures(pressure_pa, "Pa"),
    }
}

/// An electric power given in W, which both systems write in watts.
pub fn power(power_w: f64) -> String {
    if power_w.abs() < 1_000.0 {
        figures(power_w, "W")
    } else {
        figures(power_w / 1e3, "kW")
    }
}

/// A flow of heat given in W.
pub fn heat_flow(system: System, heat_w: f64) -> String {
    match system {
        System::Us => figures(heat_w * 3_600.0 / BTU_J, "Btu/h"),
        System::Si => power(heat_w),
    }
}

/// A flow of heat through an area, given in W/m².
pub fn heat_flux(system: System, flux_w_m2: f64) -> String {
    match system {
        System::Us => figures(flux_w_m2 * 3_600.0 / BTU_J * FOOT_M.powi(2), "Btu/h·ft²"),
        System::Si => figures(flux_w_m2, "W/m²"),
    }
}

/// An energy given in J, which both systems write in watt-hours.
pub fn energy(energy_j: f64) -> String {
    let wh = energy_j / 3_600.0;
    if wh.abs() < 1_000.0 {
        figures(wh, "Wh")
    } else {
        figures(wh / 1e3, "kWh")
    }
}

/// A thermal resistance of an area, given in m² K/W.
pub fn resistance(system: System, resistance_m2k_w: f64) -> String {
    match system {
        System::Us if resistance_m2k_w >= 0.0 && resistance_m2k_w.is_finite() => {
            let r = resistance_m2k_w * BTU_J / (3_600.0 * FOOT_M.powi(2) * FAHRENHEIT_K);
            format!("R-{}", significant(r))
        }
        System::Us => "n/a".to_owned(),
        System::Si => figures(resistance_m2k_w, "m²K/W"),
    }
}

/// A speed given in m/s.
pub fn speed(system: System, speed_m_s: f64) -> String {
    match system {
        System::Us => figures(speed_m_s * 3_600.0 / MILE_M, "mph"),
        System::Si => figures(speed_m_s, "m/s"),
    }
}

/// A mass given in kg.
pub fn mass(system: System, mass_kg: f64) -> String {
    match system {
        System::Us => figures(mass_kg / POUND_KG, "lb"),
        System::Si => figures(mass_kg, "kg"),
    }
}

/// A fraction, in percent.
pub fn fraction(fraction: f64) -> String {
    figures(fraction * 100.0, "%")
}

/// The eight points of the compass, clockwise from north.
pub const COMPASS: [&str; 8] = [
    "north",
    "northeast",
    "east",
    "southeast",
    "south",
    "southwest",
    "west",
    "northwest",
];

/// The nearest of the eight points of the compass in words, of a direction clockwise from north,
/// rad.
pub fn direction(azimuth_rad: f64) -> &'static str {
    let turns = (azimuth_rad / std::f64::consts::FRAC_PI_4)
        .round()
        .rem_euclid(8.0);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0 to 7, and 0 where it is not a number"
    )]
    COMPASS[turns as usize % 8]
}

fn fixed(value: f64, decimals: usize, unit: &str) -> String {
    if !value.is_finite() {
        return "n/a".to_owned();
    }
    format!("{} {unit}", unsigned_zero(format!("{value:.decimals$}")))
}

fn figures(value: f64, unit: &str) -> String {
    if value.is_finite() {
        format!("{} {unit}", significant(value))
    } else {
        "n/a".to_owned()
    }
}

/// Three significant figures without an exponent; whole numbers from 100 up are kept whole.
/// Below a millionth it is nothing.
fn significant(value: f64) -> String {
    let mut decimals = 0;
    let mut scaled = value.abs();
    // 99.95 would be written as 100.0: the rounded value decides.
    while scaled < 99.95 && decimals < 8 {
        scaled *= 10.0;
        decimals += 1;
    }
    if value.abs() < 1e-6 {
        return "0".to_owned();
    }
    unsigned_zero(format!("{value:.decimals$}"))
}

fn unsigned_zero(text: String) -> String {
    let zero = text.starts_with('-') && !text.contains(|c: char| matches!(c, '1'..='9'));
    if zero { text[1..].to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::super::{Dimension, parse};
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn values_are_written_with_the_digits_that_mean_something() {
        let us = System::Us;
        let si = System::Si;
        for (text, expected) in [
            (temperature(us, 35.0), "95.0 °F"),
            (temperature(si, -0.01), "0.0 °C"),
            (temperature_difference(us, 5.0), "9.0 °F"),
            (length(us, 7.315_2), "24.0 ft"),
            (length(us, 0.1397), "5.50 in"),
            (length(si, 0.0999), "99.9 mm"),
            (area(us, 125.419), "1350 ft²"),
            (air_flow(us, 0.035_396), "75.0 cfm"),
            (air_flow(si, 0.035_396), "127 m³/h"),
            (pressure(us, 24.908_891), "0.100 in w.g."),
            (power(999.6), "1000 W"),
            (power(1_234.0), "1.23 kW"),
            (heat_flow(us, 1_000.0), "3412 Btu/h"),
            (heat_flux(si, 9.996), "10.0 W/m²"),
            (energy(4.32e6), "1.20 kWh"),
            (resistance(us, 3.346), "R-19.0"),
            (resistance(si, 3.346), "3.35 m²K/W"),
            (speed(us, 4.470_4), "10.0 mph"),
            (fraction(0.04), "4.00 %"),
            (power(0.0), "0 W"),
            (power(f64::NAN), "n/a"),
            (resistance(us, f64::INFINITY), "n/a"),
        ] {
            assert_eq!(text, expected);
        }
    }

    type Show = fn(System, f64) -> String;
    const SHOWN: &[(Show, Dimension)] = &[
        (temperature, Dimension::Temperature),
        (temperature_difference, Dimension::TemperatureDifference),
        (length, Dimension::Length),
        (area, Dimension::Area),
        (volume, Dimension::Volume),
        (air_flow, Dimension::AirFlow),
        (pressure, Dimension::Pressure),
        (|_, x| power(x), Dimension::Power),
        (heat_flow, Dimension::Power),
        (heat_flux, Dimension::Irradiance),
        (|_, x| energy(x), Dimension::Energy),
        (resistance, Dimension::ThermalResistance),
        (speed, Dimension::Speed),
        (mass, Dimension::Mass),
        (|_, x| fraction(x), Dimension::Fraction),
    ];

    proptest! {
        #[test]
        fn what_is_written_is_read_back(magnitude in -2.0..5.0f64, negative: bool, si: bool) {
            let value = crate::elementary::power(10.0, magnitude) * if negative { -1.0 } else { 1.0 };
            let system = if si { System::Si } else { System::Us };
            for &(show, dimension) in SHOWN {
                if negative && dimension == Dimension::ThermalResistance {
                    continue;
                }
                let text = show(system, value);
                let read = parse(&text, dimension).unwrap_or_else(|e| panic!("{e}"));
                // Three figures, or a tenth of a degree.
                let tolerance = match dimension {
                    Dimension::Temperature | Dimension::TemperatureDifference => 0.051,
                    _ => 0.0051 * value.abs(),
                };
                prop_assert!((read - value).abs() <= tolerance, "{value} as {text:?} is {read}");
            }
        }

        #[test]
        fn any_number_is_written(value in proptest::num::f64::ANY, si: bool) {
            let system = if si { System::Si } else { System::Us };
            for &(show, _) in SHOWN {
                prop_assert!(!show(system, value).is_empty());
            }
        }
    }
}
