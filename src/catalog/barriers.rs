//! Radiant barriers and dust.

use super::rows;

/// A barrier product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BarrierRow {
    /// Name.
    pub name: &'static str,
    /// Emittance of the bright face when clean: usual, least, most.
    pub emittance: [f64; 3],
    /// Emittance of the other face.
    pub other_face: f64,
    /// Heat capacity of a hung sheet, J/(m² K).
    pub capacity_j_m2k: f64,
    /// Source.
    pub source: &'static str,
}

const fn b(
    name: &'static str,
    emittance: [f64; 3],
    other_face: f64,
    capacity_j_m2k: f64,
    source: &'static str,
) -> BarrierRow {
    BarrierRow {
        name,
        emittance,
        other_face,
        capacity_j_m2k,
        source,
    }
}

/// Products, sorted by name. Sheet capacities are mass per area times specific heat, from memory.
pub const BARRIERS: &[BarrierRow] = &[
    b(
        "foil",
        [0.04, 0.03, 0.05],
        0.04,
        200.0,
        "clean aluminium foil, both faces bright: ASHRAE and makers; 0.05 from memory",
    ),
    b(
        "foil-on-kraft",
        [0.04, 0.03, 0.06],
        0.9,
        300.0,
        "clean aluminium foil on paper: ASHRAE and makers; paper 0.9",
    ),
    b(
        "paint",
        [0.25, 0.2, 0.4],
        0.9,
        300.0,
        "ASTM C1321 asks at most 0.25; many products measured 0.25 to 0.35 in a trade association's test, from memory",
    ),
    b(
        "perforated-foil",
        [0.06, 0.05, 0.1],
        0.06,
        200.0,
        "foil emittance plus open share times (0.9 minus it), 1 to 5 % open, from memory; ASTM C1313 asks at most 0.10",
    ),
];

/// How dusty the face that looks up has become.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dust {
    /// Name.
    pub name: &'static str,
    /// Emittance that a foil face of 0.04 takes on: usual, least, most; `None` if it stays clean.
    pub emittance: Option<[f64; 3]>,
    /// Source.
    pub source: &'static str,
}

/// Dust, sorted by name.
pub const DUSTS: &[Dust] = &[
    Dust {
        name: "heavy",
        emittance: Some([0.5, 0.35, 0.7]),
        source: "ORNL and TVA dust tests around 1989, from memory",
    },
    Dust {
        name: "light",
        emittance: Some([0.2, 0.1, 0.35]),
        source: "ORNL and TVA dust tests around 1989, from memory",
    },
    Dust {
        name: "none",
        emittance: None,
        source: "clean, as sold; common practice, no source",
    },
];

rows!(BarrierRow, Dust);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn emittances_are_between_nought_and_one() {
        let dust = DUSTS.iter().filter_map(|row| row.emittance);
        for [usual, least, most] in BARRIERS.iter().map(|row| row.emittance).chain(dust) {
            assert!(0.0 < least && least <= usual && usual <= most && most < 1.0);
        }
        assert!(
            BARRIERS
                .iter()
                .all(|row| row.other_face > 0.0 && row.capacity_j_m2k > 0.0)
        );
    }
}
