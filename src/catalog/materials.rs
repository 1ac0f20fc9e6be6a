//! Building materials and insulations.

use super::rows;

/// A homogeneous material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// Name.
    pub name: &'static str,
    /// Conductivity, W/(m K).
    pub conductivity_w_mk: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Specific heat, J/(kg K).
    pub specific_heat_j_kgk: f64,
    /// Thickness that is usual where the owner gives none, m.
    pub usual_thickness_m: f64,
    /// Source.
    pub source: &'static str,
}

const fn m(
    name: &'static str,
    conductivity_w_mk: f64,
    density_kg_m3: f64,
    specific_heat_j_kgk: f64,
    usual_thickness_m: f64,
    source: &'static str,
) -> Material {
    Material {
        name,
        conductivity_w_mk,
        density_kg_m3,
        specific_heat_j_kgk,
        usual_thickness_m,
        source,
    }
}

const ASHRAE: &str = "ASHRAE Fundamentals materials table, from memory";
const CIBSE: &str = "CIBSE Guide A, thermal properties of building materials";
const MEMORY: &str = "usual design values, from memory";

/// Materials, sorted by name.
pub const MATERIALS: &[Material] = &[
    m("aluminium-sheet", 230.0, 2700.0, 880.0, 0.0007, CIBSE),
    m(
        "asphalt-shingle",
        0.078,
        1000.0,
        1260.0,
        0.006,
        "ASHRAE Fundamentals: R-0.44, 2.0 to 2.5 lb/ft2, from memory; split into thickness here",
    ),
    m("bitumen", 1.15, 2330.0, 840.0, 0.019, CIBSE),
    m(
        "boards",
        0.121,
        593.0,
        1630.0,
        0.019,
        "softwood: ASHRAE Fundamentals 1989 layer codes; specific heat of newer lists, from memory",
    ),
    m("brick", 0.72, 1920.0, 840.0, 0.1, ASHRAE),
    m("carpet", 0.06, 200.0, 1300.0, 0.013, MEMORY),
    m(
        "clay-tile",
        0.85,
        1900.0,
        840.0,
        0.016,
        "tile values, from memory",
    ),
    m("concrete", 1.7, 2300.0, 900.0, 0.1, MEMORY),
    m("concrete-block", 0.7, 1400.0, 900.0, 0.2, ASHRAE),
    m(
        "concrete-tile",
        1.5,
        2100.0,
        1000.0,
        0.02,
        "tile values, from memory",
    ),
    m("fibre-cement", 0.25, 1400.0, 840.0, 0.008, MEMORY),
    m(
        "gypsum-board",
        0.16,
        811.0,
        1070.0,
        0.0127,
        "half-inch board of ASHRAE Fundamentals 1997: R-0.45, 2.1 lb/ft2, 0.54 Btu/ft2F",
    ),
    m("hardwood", 0.16, 700.0, 1630.0, 0.019, ASHRAE),
    m("membrane", 0.19, 1150.0, 1400.0, 0.0015, MEMORY),
    m("osb", 0.11, 650.0, 1880.0, 0.0111, ASHRAE),
    m(
        "plaster",
        0.5,
        1300.0,
        1000.0,
        0.02,
        "lath and plaster, usual design values, from memory",
    ),
    m(
        "plywood",
        0.116,
        537.0,
        1240.0,
        0.0127,
        "half-inch board of ASHRAE Fundamentals 1997: R-0.62, 1.4 lb/ft2, 0.41 Btu/ft2F",
    ),
    m("roofing-felt", 0.19, 960.0, 840.0, 0.001, CIBSE),
    m("slate", 2.0, 2700.0, 800.0, 0.006, MEMORY),
    m(
        "softwood",
        0.121,
        593.0,
        1630.0,
        0.038,
        "ASHRAE Fundamentals 1989 layer codes; specific heat of newer lists, from memory",
    ),
    m("steel-sheet", 45.0, 7800.0, 480.0, 0.0005, CIBSE),
    m("stucco", 0.72, 1860.0, 840.0, 0.022, ASHRAE),
    m("wood-shake", 0.115, 450.0, 1630.0, 0.012, ASHRAE),
    m("wood-siding", 0.115, 500.0, 1630.0, 0.015, ASHRAE),
];

/// An insulation as it lies on an attic floor or fills a wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Insulation {
    /// Name.
    pub name: &'static str,
    /// Conductivity in place, W/(m K).
    pub conductivity_w_mk: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Specific heat, J/(kg K).
    pub specific_heat_j_kgk: f64,
    /// Emittance of its upper surface.
    pub emittance: f64,
    /// Source.
    pub source: &'static str,
}

const fn i(
    name: &'static str,
    conductivity_w_mk: f64,
    density_kg_m3: f64,
    specific_heat_j_kgk: f64,
    source: &'static str,
) -> Insulation {
    Insulation {
        name,
        conductivity_w_mk,
        density_kg_m3,
        specific_heat_j_kgk,
        emittance: 0.9,
        source,
    }
}

/// Insulations, sorted by name.
pub const INSULATIONS: &[Insulation] = &[
    i(
        "cellulose",
        0.040,
        40.0,
        1380.0,
        "loose-fill cellulose of ASHRAE Fundamentals, from memory",
    ),
    i(
        "fibreglass-batt",
        0.043,
        13.0,
        800.0,
        "glass-fibre batts of ASHRAE Fundamentals 2017, 0.037 to 0.048 W/mK",
    ),
    i(
        "fibreglass-loose",
        0.053,
        9.0,
        800.0,
        "blown glass fibre, about R-2.7 an inch, from memory",
    ),
    i(
        "mineral-wool",
        0.038,
        35.0,
        840.0,
        "stone-wool batts, usual design values, from memory",
    ),
    i(
        "polystyrene",
        0.036,
        20.0,
        1450.0,
        "expanded polystyrene, usual design values, from memory",
    ),
    i(
        "spray-foam",
        0.025,
        30.0,
        1470.0,
        "closed-cell polyurethane, usual design values, from memory",
    ),
    i(
        "wood-fibre",
        0.042,
        50.0,
        2100.0,
        "wood-fibre fill, usual design values, from memory",
    ),
];

rows!(Material, Insulation);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::find;

    #[test]
    fn materials_are_physical() {
        let rows = MATERIALS.iter().map(|r| {
            (
                r.name,
                r.conductivity_w_mk,
                r.density_kg_m3,
                r.specific_heat_j_kgk,
            )
        });
        let more = INSULATIONS.iter().map(|r| {
            (
                r.name,
                r.conductivity_w_mk,
                r.density_kg_m3,
                r.specific_heat_j_kgk,
            )
        });
        for (name, conductivity, density, specific_heat) in rows.chain(more) {
            assert!((0.02..=250.0).contains(&conductivity), "{name}");
            assert!((5.0..=8000.0).contains(&density), "{name}");
            assert!((400.0..=2600.0).contains(&specific_heat), "{name}");
        }
        for row in MATERIALS {
            assert!(
                (0.0004..=0.3).contains(&row.usual_thickness_m),
                "{}",
                row.name
            );
        }
    }

    #[test]
    fn published_board_resistances_and_capacities_come_back() {
        // ASHRAE Fundamentals 1997 ch. 24: half-inch plywood R 0.109, 8.4 kJ/m2K; gypsum board
        // R 0.079, 11.0 kJ/m2K.
        for (name, resistance, capacity) in
            [("plywood", 0.109, 8.4e3), ("gypsum-board", 0.079, 11.0e3)]
        {
            let row = find(MATERIALS, name).unwrap();
            let r = row.usual_thickness_m / row.conductivity_w_mk;
            let c = row.usual_thickness_m * row.density_kg_m3 * row.specific_heat_j_kgk;
            assert!((r / resistance - 1.0).abs() < 0.01, "{name} {r}");
            assert!((c / capacity - 1.0).abs() < 0.01, "{name} {c}");
        }
    }
}
