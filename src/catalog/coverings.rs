//! Roof coverings and what their colours do with sunlight.

use super::rows;
use crate::physics::convection::Roughness;

/// What a covering's colour table is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Surface {
    /// Mineral-granule shingle or sheet.
    Shingle,
    /// Clay or concrete tile, slate.
    Tile,
    /// Sheet metal.
    Metal,
    /// Smooth membrane or coating.
    Membrane,
    /// Wood.
    Wood,
}

/// A roof covering.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoveringRow {
    /// Name.
    pub name: &'static str,
    /// Layers by material name and thickness in m, outermost last.
    pub layers: &'static [(&'static str, f64)],
    /// Which colours it comes in.
    pub surface: Surface,
    /// Roughness of its outer surface.
    pub roughness: Roughness,
    /// Whether it usually lies on battens with an air space below.
    pub on_battens: bool,
    /// Emittance of its underside, for an air space below it.
    pub underside_emittance: f64,
    /// Source.
    pub source: &'static str,
}

const ROUGHNESS: &str =
    "layers: material table; roughness class: ASHRAE, Clear et al. 2003, from memory";

const fn c(
    name: &'static str,
    layers: &'static [(&'static str, f64)],
    surface: Surface,
    roughness: Roughness,
    on_battens: bool,
    underside_emittance: f64,
) -> CoveringRow {
    CoveringRow {
        name,
        layers,
        surface,
        roughness,
        on_battens,
        underside_emittance,
        source: ROUGHNESS,
    }
}

/// Roof coverings, sorted by name.
pub const COVERINGS: &[CoveringRow] = &[
    c(
        "aluminium-sheet",
        &[("aluminium-sheet", 0.0007)],
        Surface::Metal,
        Roughness::Smooth,
        true,
        0.1,
    ),
    c(
        "asphalt-shingle",
        &[("roofing-felt", 0.001), ("asphalt-shingle", 0.006)],
        Surface::Shingle,
        Roughness::Rough,
        false,
        0.9,
    ),
    c(
        "clay-tile",
        &[("clay-tile", 0.016)],
        Surface::Tile,
        Roughness::Rough,
        true,
        0.9,
    ),
    c(
        "concrete-tile",
        &[("concrete-tile", 0.02)],
        Surface::Tile,
        Roughness::Rough,
        true,
        0.9,
    ),
    c(
        "membrane",
        &[("membrane", 0.0015)],
        Surface::Membrane,
        Roughness::Smooth,
        false,
        0.9,
    ),
    c(
        "roll-roofing",
        &[("roofing-felt", 0.001), ("asphalt-shingle", 0.003)],
        Surface::Shingle,
        Roughness::MediumRough,
        false,
        0.9,
    ),
    c(
        "slate",
        &[("slate", 0.006)],
        Surface::Tile,
        Roughness::MediumRough,
        true,
        0.9,
    ),
    c(
        "steel-sheet",
        &[("steel-sheet", 0.0005)],
        Surface::Metal,
        Roughness::Smooth,
        true,
        0.3,
    ),
    c(
        "tar-and-gravel",
        &[("bitumen", 0.01)],
        Surface::Membrane,
        Roughness::VeryRough,
        false,
        0.9,
    ),
    c(
        "wood-shake",
        &[("wood-shake", 0.012)],
        Surface::Wood,
        Roughness::VeryRough,
        true,
        0.9,
    ),
];

/// What a colour does with sunlight and infrared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Colour {
    /// Which surface.
    pub surface: Surface,
    /// Name.
    pub name: &'static str,
    /// Share of sunlight taken up: usual, least, most.
    pub absorptance: [f64; 3],
    /// Thermal emittance: usual, least, most.
    pub emittance: [f64; 3],
    /// Source.
    pub source: &'static str,
}

const LAB: &str = "reflectance table of ORNL, LBNL and FSEC; emittance from memory";
const LBNL: &str = "LBNL roofing definitions and measured membranes";
const MEMORY: &str = "from memory";
const COMMON: &str = "common practice, no source";

const fn k(
    surface: Surface,
    name: &'static str,
    absorptance: [f64; 3],
    emittance: [f64; 3],
    source: &'static str,
) -> Colour {
    Colour {
        surface,
        name,
        absorptance,
        emittance,
        source,
    }
}

const SHINGLE_E: [f64; 3] = [0.91, 0.88, 0.94];
const TILE_E: [f64; 3] = [0.9, 0.85, 0.94];
const PAINT_E: [f64; 3] = [0.85, 0.8, 0.9];

/// Colours, those of one surface together; the row `unknown` of a surface stands for an owner's
/// "unknown".
pub const COLOURS: &[Colour] = &[
    k(
        Surface::Shingle,
        "black",
        [0.95, 0.92, 0.97],
        SHINGLE_E,
        LAB,
    ),
    k(Surface::Shingle, "dark", [0.88, 0.81, 0.95], SHINGLE_E, LAB),
    k(Surface::Shingle, "brown", [0.85, 0.8, 0.92], SHINGLE_E, LAB),
    k(
        Surface::Shingle,
        "light-brown",
        [0.8, 0.75, 0.85],
        SHINGLE_E,
        LAB,
    ),
    k(Surface::Shingle, "grey", [0.8, 0.75, 0.88], SHINGLE_E, LAB),
    k(
        Surface::Shingle,
        "red",
        [0.85, 0.78, 0.9],
        SHINGLE_E,
        COMMON,
    ),
    k(
        Surface::Shingle,
        "green",
        [0.86, 0.8, 0.92],
        SHINGLE_E,
        COMMON,
    ),
    k(Surface::Shingle, "white", [0.75, 0.65, 0.8], SHINGLE_E, LAB),
    k(
        Surface::Shingle,
        "bright-white",
        [0.65, 0.6, 0.75],
        SHINGLE_E,
        LAB,
    ),
    k(
        Surface::Shingle,
        "unknown",
        [0.88, 0.75, 0.97],
        SHINGLE_E,
        LAB,
    ),
    k(Surface::Tile, "black", [0.92, 0.88, 0.96], TILE_E, COMMON),
    k(Surface::Tile, "brown", [0.85, 0.78, 0.9], TILE_E, COMMON),
    k(Surface::Tile, "grey", [0.78, 0.7, 0.85], TILE_E, COMMON),
    k(Surface::Tile, "red", [0.75, 0.67, 0.82], TILE_E, LAB),
    k(Surface::Tile, "white", [0.3, 0.25, 0.45], TILE_E, MEMORY),
    k(Surface::Tile, "unknown", [0.78, 0.6, 0.92], TILE_E, COMMON),
    k(
        Surface::Metal,
        "bare-new",
        [0.4, 0.35, 0.45],
        [0.1, 0.05, 0.13],
        "LBNL roofing definitions; emittance from memory",
    ),
    k(
        Surface::Metal,
        "bare-weathered",
        [0.7, 0.6, 0.8],
        [0.4, 0.28, 0.5],
        "LBNL roofing definitions; emittance from memory",
    ),
    k(Surface::Metal, "black", [0.93, 0.88, 0.96], PAINT_E, COMMON),
    k(Surface::Metal, "dark", [0.88, 0.8, 0.93], PAINT_E, COMMON),
    k(Surface::Metal, "light", [0.6, 0.5, 0.7], PAINT_E, COMMON),
    k(Surface::Metal, "white", [0.35, 0.3, 0.5], PAINT_E, LAB),
    k(
        Surface::Metal,
        "unknown",
        [0.7, 0.35, 0.93],
        [0.8, 0.2, 0.9],
        COMMON,
    ),
    k(
        Surface::Membrane,
        "black",
        [0.94, 0.9, 0.96],
        [0.86, 0.82, 0.92],
        LBNL,
    ),
    k(
        Surface::Membrane,
        "gravel",
        [0.66, 0.6, 0.75],
        [0.9, 0.85, 0.94],
        LBNL,
    ),
    k(
        Surface::Membrane,
        "white",
        [0.25, 0.2, 0.45],
        [0.9, 0.85, 0.94],
        LBNL,
    ),
    k(
        Surface::Membrane,
        "aluminium",
        [0.45, 0.4, 0.6],
        [0.45, 0.3, 0.6],
        "LBNL roofing definitions; emittance from memory",
    ),
    k(
        Surface::Membrane,
        "unknown",
        [0.7, 0.25, 0.95],
        [0.88, 0.8, 0.94],
        COMMON,
    ),
    k(Surface::Wood, "new", [0.6, 0.5, 0.7], TILE_E, MEMORY),
    k(
        Surface::Wood,
        "weathered",
        [0.78, 0.7, 0.88],
        TILE_E,
        MEMORY,
    ),
    k(Surface::Wood, "unknown", [0.78, 0.5, 0.9], TILE_E, COMMON),
];

/// The colour of a surface by its name.
pub fn colour(surface: Surface, name: &str) -> Option<&'static Colour> {
    COLOURS
        .iter()
        .find(|row| row.surface == surface && row.name == name)
}

/// The names of the colours of a surface, without "unknown".
pub fn colours_of(surface: Surface) -> impl Iterator<Item = &'static str> {
    COLOURS
        .iter()
        .filter(move |row| row.surface == surface && row.name != "unknown")
        .map(|row| row.name)
}

rows!(CoveringRow);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::{MATERIALS, find};

    #[test]
    fn coverings_are_made_of_known_materials_and_have_colours() {
        for row in COVERINGS {
            for (material, thickness_m) in row.layers {
                assert!(find(MATERIALS, material).is_some(), "{material}");
                assert!((1e-4..0.05).contains(thickness_m));
            }
            assert!(colour(row.surface, "unknown").is_some(), "{}", row.name);
            assert!((0.05..=0.95).contains(&row.underside_emittance));
        }
    }

    #[test]
    fn colours_are_physical_sourced_and_named_once() {
        for (i, row) in COLOURS.iter().enumerate() {
            for [usual, least, most] in [row.absorptance, row.emittance] {
                assert!(
                    0.0 < least && least <= usual && usual <= most && most < 1.0,
                    "{}",
                    row.name
                );
            }
            assert!(row.source.len() > 8);
            let twin = |other: &Colour| other.surface == row.surface && other.name == row.name;
            assert!(!COLOURS[..i].iter().any(twin), "{} twice", row.name);
        }
    }
}
