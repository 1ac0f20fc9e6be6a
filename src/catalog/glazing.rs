//! Windows.

use super::rows;

/// A kind of window.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Glazing {
    /// Name.
    pub name: &'static str,
    /// Transmittance of the whole window, W/(m² K), with usual films.
    pub u_w_m2k: f64,
    /// Solar heat gain coefficient of the whole window at normal incidence.
    pub solar_heat_gain: f64,
    /// Source.
    pub source: &'static str,
}

const MEMORY: &str =
    "whole-window values of ASHRAE Fundamentals fenestration tables, rounded, from memory";

const fn g(name: &'static str, u_w_m2k: f64, solar_heat_gain: f64) -> Glazing {
    Glazing {
        name,
        u_w_m2k,
        solar_heat_gain,
        source: MEMORY,
    }
}

/// Windows, sorted by name.
pub const GLAZINGS: &[Glazing] = &[
    g("double", 3.2, 0.6),
    g("double-aluminium-frame", 4.3, 0.62),
    g("double-low-e", 2.0, 0.35),
    g("single", 5.6, 0.7),
    g("single-aluminium-frame", 6.8, 0.72),
    g("triple-low-e", 1.2, 0.28),
];

rows!(Glazing);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn windows_are_physical() {
        for row in GLAZINGS {
            assert!((0.5..8.0).contains(&row.u_w_m2k), "{}", row.name);
            assert!((0.1..0.9).contains(&row.solar_heat_gain), "{}", row.name);
        }
    }
}
