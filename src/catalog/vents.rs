//! Screens and louvres: the share of a hole that stays free.

use super::rows;

/// A screen or louvre over a hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mesh {
    /// Name.
    pub name: &'static str,
    /// Net free share of the hole's area: usual, least, most.
    pub free_share: [f64; 3],
    /// Clear width of one opening of a mesh, m: its pitch less its wire.
    pub opening_m: Option<f64>,
    /// Source.
    pub source: &'static str,
}

const TABLE: &str = "free-area factors of an old handbook and FHA table, from memory";
const SPLIT: &str =
    "louvre with screen of the same table, divided by the screen alone, from memory";
const NO_VENT: &str = "nothing in the way; common practice, no source";

const fn v(name: &'static str, free_share: [f64; 3], source: &'static str) -> Mesh {
    Mesh {
        name,
        free_share,
        opening_m: None,
        source,
    }
}

/// A mesh of so many openings to the inch, of wire of that gauge in inches; wires from memory.
const fn mesh(row: Mesh, per_inch: f64, wire_in: f64) -> Mesh {
    Mesh {
        opening_m: Some((1.0 / per_inch - wire_in) * 0.0254),
        ..row
    }
}

/// Screens, sorted by name.
pub const SCREENS: &[Mesh] = &[
    mesh(v("eighth-inch-mesh", [0.8, 0.7, 0.85], TABLE), 8.0, 0.017),
    mesh(v("insect-mesh", [0.5, 0.4, 0.6], TABLE), 16.0, 0.011),
    v("none", [1.0, 1.0, 1.0], NO_VENT),
    mesh(v("quarter-inch-mesh", [1.0, 0.9, 1.0], TABLE), 4.0, 0.025),
];

/// Louvres and grilles, sorted by name.
pub const LOUVRES: &[Mesh] = &[
    v("metal", [0.62, 0.5, 0.75], SPLIT),
    v("none", [1.0, 1.0, 1.0], NO_VENT),
    v("wire-guard", [0.9, 0.8, 0.95], "common practice, no source"),
    v("wood", [0.66, 0.45, 0.75], SPLIT),
];

rows!(Mesh);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::find;

    #[test]
    fn free_shares_are_shares() {
        for [usual, least, most] in SCREENS.iter().chain(LOUVRES).map(|row| row.free_share) {
            assert!(0.0 < least && least <= usual && usual <= most && most <= 1.0);
        }
    }

    #[test]
    fn louvre_and_screen_together_give_the_table() {
        let share = |rows, name| find::<Mesh>(rows, name).unwrap().free_share[0];
        let wood = share(LOUVRES, "wood") * share(SCREENS, "insect-mesh");
        let metal = share(LOUVRES, "metal") * share(SCREENS, "eighth-inch-mesh");
        assert!((wood - 0.33).abs() < 0.01 && (metal - 0.5).abs() < 0.01);
    }
}
