//! Values as a person would write them in a house file.

use crate::elementary::{log10, tan};
use crate::units::Dimension;
use crate::units::show::{self, System};

/// A quantity as text that [`crate::units::parse`] reads back.
pub(super) fn quantity(value: f64, dimension: Dimension) -> String {
    use Dimension as D;
    match dimension {
        D::Length => show::length(System::Us, value),
        D::Area | D::LeakageArea => show::area(System::Us, value),
        D::Volume => show::volume(System::Us, value),
        D::Temperature => show::temperature(System::Us, value),
        D::TemperatureDifference => show::temperature_difference(System::Us, value),
        D::AirFlow => show::air_flow(System::Us, value),
        D::Pressure => show::pressure(System::Si, value),
        D::Power => show::power(value),
        D::ThermalResistance => show::resistance(System::Us, value),
        D::Mass => show::mass(System::Us, value),
        D::Speed => show::speed(System::Us, value),
        D::Slope => format!("{}:12", number((tan(value) * 1200.0).round() / 100.0)),
        D::Angle => format!("{} deg", number(value.to_degrees())),
        D::AirChangeRate => format!("{} ACH50", number(value)),
        D::Duration if value >= 60.0 => format!("{} min", number(value / 60.0)),
        D::Duration => format!("{} s", number(value)),
        D::TemperatureCoefficient => format!("{} /K", number(value)),
        D::Fraction | D::Count => number(value),
        D::HeatCapacity => format!("{} MJ/K", number(value / 1e6)),
        _ => format!("{} {}", number(value), dimension.unit()),
    }
}

/// A range as text: both systems where they differ.
pub(super) fn in_both(value: f64, dimension: Dimension) -> String {
    use Dimension as D;
    match dimension {
        D::Length => both_lengths(value),
        D::Area | D::LeakageArea => both_areas(value),
        D::Temperature => both_temperatures(value),
        D::TemperatureDifference => {
            format!(
                "{} ({})",
                show::temperature_difference(System::Us, value),
                show::temperature_difference(System::Si, value)
            )
        }
        D::AirFlow => format!(
            "{} ({})",
            show::air_flow(System::Us, value),
            show::air_flow(System::Si, value)
        ),
        D::Pressure => format!(
            "{} ({})",
            show::pressure(System::Us, value),
            show::pressure(System::Si, value)
        ),
        D::Mass => format!(
            "{} ({})",
            show::mass(System::Us, value),
            show::mass(System::Si, value)
        ),
        _ => quantity(value, dimension),
    }
}

/// A length in both systems.
pub(super) fn both_lengths(length_m: f64) -> String {
    format!(
        "{} ({})",
        show::length(System::Us, length_m),
        show::length(System::Si, length_m)
    )
}

/// An area in both systems.
pub(super) fn both_areas(area_m2: f64) -> String {
    format!(
        "{} ({})",
        show::area(System::Us, area_m2),
        show::area(System::Si, area_m2)
    )
}

/// A temperature in both systems.
pub(super) fn both_temperatures(temp_c: f64) -> String {
    format!(
        "{} ({})",
        show::temperature(System::Us, temp_c),
        show::temperature(System::Si, temp_c)
    )
}

/// A number to four figures without trailing noughts.
pub(super) fn number(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".to_owned();
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0 to 8"
    )]
    let decimals = (3.0 - log10(value.abs()).floor()).clamp(0.0, 8.0) as usize;
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// Words in a row: `a, b or c`; a long row is cut.
pub(super) fn listed<T: AsRef<str>>(words: &[T]) -> String {
    let quoted: Vec<String> = words
        .iter()
        .map(|word| format!("`{}`", word.as_ref()))
        .collect();
    match quoted.as_slice() {
        [] => "nothing".to_owned(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} or {last}", rest.join(", ")),
    }
}

/// Words in a row: `a`, `b`, `c`.
pub(super) fn row<T: AsRef<str>>(words: &[T]) -> String {
    let quoted: Vec<String> = words
        .iter()
        .map(|word| format!("`{}`", word.as_ref()))
        .collect();
    quoted.join(", ")
}

/// A key as it stands in the file: parts with spaces are in quotes.
pub(super) fn key(key: &str) -> String {
    let part = |part: &str| {
        if part.contains(' ') {
            format!("\"{part}\"")
        } else {
            part.to_owned()
        }
    };
    key.split('.').map(part).collect::<Vec<_>>().join(".")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::parse;

    #[test]
    fn what_is_written_is_read_back() {
        for &dimension in Dimension::ALL {
            use Dimension as D;
            if matches!(
                dimension,
                D::ClockTime
                    | D::Money
                    | D::EnergyPrice
                    | D::MoistureRate
                    | D::Charge
                    | D::AirFlowAt50Pa
                    | D::NaturalAirChangeRate
            ) {
                continue;
            }
            let value = if dimension == D::Count { 3.0 } else { 0.75 };
            let text = quantity(value, dimension);
            let back = parse(&text, dimension).unwrap_or_else(|error| panic!("{text}: {error}"));
            assert!(
                (back / value - 1.0).abs() < 0.05,
                "{dimension:?} {text} {back}"
            );
        }
    }

    #[test]
    fn directions_and_numbers_are_plain() {
        assert_eq!(show::direction(-0.1), "north");
        assert_eq!(show::direction(4.0), "southwest");
        assert_eq!(number(0.65), "0.65");
        assert_eq!(number(1234.56), "1235");
        assert_eq!(listed(&["a", "b", "c"]), "`a`, `b` or `c`");
    }
}
