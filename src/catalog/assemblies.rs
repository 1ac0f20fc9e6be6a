//! Walls, floors and inner mass by name.

use super::rows;

/// A wall or floor as layers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayerRow {
    /// Name.
    pub name: &'static str,
    /// Layers by material name and thickness in m, inner surface first.
    pub layers: &'static [(&'static str, f64)],
    /// Source.
    pub source: &'static str,
}

/// What holds a wall up and where its insulation goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Wall {
    /// Studs with a cavity: depth in m and share of the wall that is stud.
    Studs {
        /// Depth of the cavity, m.
        depth_m: f64,
        /// Share of the wall that is stud and plate.
        share: f64,
    },
    /// Solid; insulation, if any, lies on the inside.
    Solid,
}

/// An outer wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallRow {
    /// Name.
    pub name: &'static str,
    /// Layers inside the cavity, room side first.
    pub inside: &'static [(&'static str, f64)],
    /// Structure.
    pub structure: Wall,
    /// Layers outside the cavity, outermost last.
    pub outside: &'static [(&'static str, f64)],
    /// Source.
    pub source: &'static str,
}

const USUAL: &str = "usual construction; common practice, no source";

const STUDS_4: Wall = Wall::Studs {
    depth_m: 0.089,
    share: 0.2,
};
const STUDS_6: Wall = Wall::Studs {
    depth_m: 0.14,
    share: 0.2,
};
const GYPSUM: &[(&str, f64)] = &[("gypsum-board", 0.0127)];

const fn w(
    name: &'static str,
    inside: &'static [(&'static str, f64)],
    structure: Wall,
    outside: &'static [(&'static str, f64)],
) -> WallRow {
    WallRow {
        name,
        inside,
        structure,
        outside,
        source: USUAL,
    }
}

/// Outer walls, sorted by name.
pub const WALLS: &[WallRow] = &[
    w(
        "brick-veneer-frame",
        GYPSUM,
        STUDS_4,
        &[("osb", 0.0111), ("brick", 0.1)],
    ),
    w(
        "concrete-block",
        &[("gypsum-board", 0.0127)],
        Wall::Solid,
        &[("concrete-block", 0.2), ("stucco", 0.022)],
    ),
    w(
        "solid-brick",
        &[("plaster", 0.015)],
        Wall::Solid,
        &[("brick", 0.2)],
    ),
    w("stucco-frame", GYPSUM, STUDS_4, &[("stucco", 0.022)]),
    w(
        "stucco-frame-6in",
        GYPSUM,
        STUDS_6,
        &[("osb", 0.0111), ("stucco", 0.022)],
    ),
    w(
        "wood-siding-frame",
        GYPSUM,
        STUDS_4,
        &[("osb", 0.0111), ("wood-siding", 0.015)],
    ),
    w(
        "wood-siding-frame-6in",
        GYPSUM,
        STUDS_6,
        &[("osb", 0.0111), ("wood-siding", 0.015)],
    ),
];

/// Gable walls of an attic, sorted by name.
pub const GABLE_WALLS: &[LayerRow] = &[
    LayerRow {
        name: "block",
        layers: &[("concrete-block", 0.2)],
        source: USUAL,
    },
    LayerRow {
        name: "brick",
        layers: &[("brick", 0.1)],
        source: USUAL,
    },
    LayerRow {
        name: "plywood-siding",
        layers: &[("plywood", 0.0127)],
        source: USUAL,
    },
    LayerRow {
        name: "stucco",
        layers: &[("stucco", 0.022)],
        source: USUAL,
    },
    LayerRow {
        name: "wood-siding",
        layers: &[("wood-siding", 0.015)],
        source: USUAL,
    },
    LayerRow {
        name: "wood-siding-sheathed",
        layers: &[("osb", 0.0111), ("wood-siding", 0.015)],
        source: USUAL,
    },
];

/// Lowest floors, room side first, sorted by name; the same names serve slab and crawl space.
pub const FLOORS: &[LayerRow] = &[
    LayerRow {
        name: "carpet",
        layers: &[("carpet", 0.013)],
        source: USUAL,
    },
    LayerRow {
        name: "tile",
        layers: &[("clay-tile", 0.01)],
        source: USUAL,
    },
    LayerRow {
        name: "vinyl",
        layers: &[("membrane", 0.003)],
        source: USUAL,
    },
    LayerRow {
        name: "wood",
        layers: &[("hardwood", 0.019)],
        source: USUAL,
    },
];

/// Heat that furniture, partitions and inner masonry hold, per floor area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MassClass {
    /// Name.
    pub name: &'static str,
    /// Light mass: heat capacity, J/(m² K), least and most of it, and its surface per floor area.
    pub fast_j_m2k: [f64; 3],
    /// Surface of the light mass per floor area.
    pub fast_area: f64,
    /// Heavy mass: heat capacity, J/(m² K).
    pub slow_j_m2k: f64,
    /// Surface of the heavy mass per floor area.
    pub slow_area: f64,
    /// Source.
    pub source: &'static str,
}

const INNER: &str = "partitions, furniture and inner masonry beside outer walls, ceiling and floor, \
                     which are counted by their own layers; common practice, no source";

/// Mass classes, sorted by name.
pub const MASSES: &[MassClass] = &[
    MassClass {
        name: "heavy",
        fast_j_m2k: [60e3, 40e3, 90e3],
        fast_area: 2.0,
        slow_j_m2k: 150e3,
        slow_area: 1.0,
        source: INNER,
    },
    MassClass {
        name: "light",
        fast_j_m2k: [50e3, 30e3, 80e3],
        fast_area: 2.0,
        slow_j_m2k: 0.0,
        slow_area: 0.0,
        source: INNER,
    },
    MassClass {
        name: "medium",
        fast_j_m2k: [60e3, 40e3, 90e3],
        fast_area: 2.0,
        slow_j_m2k: 50e3,
        slow_area: 0.5,
        source: INNER,
    },
];

rows!(LayerRow, WallRow, MassClass);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::{MATERIALS, find};

    #[test]
    fn assemblies_are_made_of_known_materials() {
        let walls = WALLS
            .iter()
            .flat_map(|row| row.inside.iter().chain(row.outside));
        let rest = GABLE_WALLS.iter().chain(FLOORS).flat_map(|row| row.layers);
        for (material, thickness_m) in walls.chain(rest) {
            assert!(find(MATERIALS, material).is_some(), "{material}");
            assert!((0.001..0.4).contains(thickness_m), "{material}");
        }
    }

    #[test]
    fn stud_shares_and_masses_are_physical() {
        for row in WALLS {
            if let Wall::Studs { depth_m, share } = row.structure {
                assert!((0.05..0.3).contains(&depth_m) && (0.05..0.4).contains(&share));
            }
        }
        for row in MASSES {
            let [usual, least, most] = row.fast_j_m2k;
            assert!(0.0 < least && least <= usual && usual <= most);
            assert!((row.slow_j_m2k > 0.0) == (row.slow_area > 0.0));
        }
    }
}
