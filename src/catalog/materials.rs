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
    /// By what share of the conductivity it grows, 1/K; the conductivity is that at 24 °C.
    pub growth_per_k: f64,
    /// Source of the growth.
    pub growth_source: &'static str,
}

const fn i(
    name: &'static str,
    conductivity_w_mk: f64,
    density_kg_m3: f64,
    specific_heat_j_kgk: f64,
    source: &'static str,
    (growth_per_k, growth_source): (f64, &'static str),
) -> Insulation {
    Insulation {
        name,
        conductivity_w_mk,
        density_kg_m3,
        specific_heat_j_kgk,
        emittance: 0.9,
        source,
        growth_per_k,
        growth_source,
    }
}

/// Temperature coefficients of ISO 10456:2007, Annex A, from memory: there by conductivity at 10 °C,
/// taken here at what the row's is at 10 °C.
const WOOL_GROWTH: &str = "ISO 10456:2007 table A.1, batts, mats and loose fill (0.0046 at 0.035 \
                           W/mK, 0.0056 at 0.040, 0.0062 at 0.045, 0.0069 at 0.050), from memory; \
                           0.040 at 10 °C and 0.050 at 50 °C by a maker's page on that standard";
const EPS_GROWTH: &str = "ISO 10456:2007 table A.2, expanded polystyrene (0.0033 at 0.035 W/mK), \
                          from memory";
const PU_GROWTH: &str = "ISO 10456:2007 table A.4, polyurethane foam without facings (0.0046 at \
                         0.025 W/mK), from memory";
const FIBRE_GROWTH: &str = "ISO 10456:2007, loose-fill cellulose fibre (0.0040), from memory";

/// Insulations, sorted by name.
pub const INSULATIONS: &[Insulation] = &[
    i(
        "cellulose",
        0.040,
        40.0,
        1380.0,
        "loose-fill cellulose of ASHRAE Fundamentals, from memory",
        (0.0040, FIBRE_GROWTH),
    ),
    i(
        "fibreglass-batt",
        0.043,
        13.0,
        800.0,
        "glass-fibre batts of ASHRAE Fundamentals 2017, 0.037 to 0.048 W/mK",
        (0.0056, WOOL_GROWTH),
    ),
    i(
        "fibreglass-loose",
        0.053,
        9.0,
        800.0,
        "blown glass fibre, about R-2.7 an inch, from memory",
        (0.0067, WOOL_GROWTH),
    ),
    i(
        "mineral-wool",
        0.038,
        35.0,
        840.0,
        "stone-wool batts, usual design values, from memory",
        (0.0047, WOOL_GROWTH),
    ),
    i(
        "polystyrene",
        0.036,
        20.0,
        1450.0,
        "expanded polystyrene, usual design values, from memory",
        (0.0033, EPS_GROWTH),
    ),
    i(
        "spray-foam",
        0.025,
        30.0,
        1470.0,
        "closed-cell polyurethane, usual design values, from memory",
        (0.0046, PU_GROWTH),
    ),
    i(
        "wood-fibre",
        0.042,
        50.0,
        2100.0,
        "wood-fibre fill, usual design values, from memory",
        (0.0040, FIBRE_GROWTH),
    ),
];

rows!(Material, Insulation);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::find;
    use crate::physics::insulation::Insulating;

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
    fn every_insulations_growth_is_sourced_and_of_its_kind() {
        for row in INSULATIONS {
            assert!((0.003..=0.007).contains(&row.growth_per_k), "{}", row.name);
            assert!(!row.growth_source.is_empty(), "{}", row.name);
        }
    }

    /// How an insulation's conductivity at one mean temperature, °C, stands to that at another.
    fn ratio(name: &str, at_c: f64, to_c: f64) -> f64 {
        let growth = find(INSULATIONS, name).unwrap().growth_per_k;
        let path = Insulating::new(1.0, growth);
        let at = |mean_c: f64| path.flow_w(mean_c + 283.15, mean_c + 263.15);
        at(at_c) / at(to_c)
    }

    /// A maker's page on EN ISO 10456: mineral wool of 0.040 W/mK at 10 °C has 0.050 at 50 °C.
    #[test]
    fn published_wool_at_fifty_degrees_conducts_a_quarter_more() {
        let got = ratio("fibreglass-batt", 50.0, 10.0);
        assert!((got / 1.25 - 1.0).abs() < 0.01, "{got}");
    }

    /// Building Science Corporation's measurements, as two trade pages tell them: from −30 °F to
    /// 150 °F outside an R-13 glass-fibre batt falls from, a polystyrene board from
    /// Inside 72 °F (from memory), so that the means are −6 and 44 °C.
    #[test]
    fn published_batts_and_boards_lose_resistance_as_measured() {
        for (name, cold_r, hot_r) in [
            ("fibreglass-batt", 15.0, 11.25),
            ("polystyrene", 17.25, 14.75),
        ] {
            let got = ratio(name, 43.9, -6.1);
            assert!((got / (cold_r / hot_r) - 1.0).abs() < 0.03, "{name}: {got}");
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
