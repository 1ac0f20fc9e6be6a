//! Soil below and terrain around a house.

use super::rows;
use crate::physics::ground::{CLAY, ROCK, SAND, SoilProperties};

/// A class of soil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoilRow {
    /// Name.
    pub name: &'static str,
    /// What it is.
    pub properties: SoilProperties,
    /// Source.
    pub source: &'static str,
}

const ISO: &str = "ISO 13370 soil classes";

const fn soil(name: &'static str, properties: SoilProperties) -> SoilRow {
    SoilRow {
        name,
        properties,
        source: ISO,
    }
}

/// Soils, sorted by name.
pub const SOILS: &[SoilRow] = &[soil("clay", CLAY), soil("rock", ROCK), soil("sand", SAND)];

/// A class of terrain, for the power law of the wind profile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TerrainRow {
    /// Name.
    pub name: &'static str,
    /// Exponent.
    pub exponent: f64,
    /// Height of the boundary layer, m.
    pub layer_m: f64,
    /// Source.
    pub source: &'static str,
}

const ASHRAE: &str = "ASHRAE Fundamentals, airflow around buildings, from memory";

/// Large city centres.
pub const CITY: TerrainRow = TerrainRow {
    name: "city",
    exponent: 0.33,
    layer_m: 460.0,
    source: ASHRAE,
};
/// Flat open country.
pub const OPEN: TerrainRow = TerrainRow {
    name: "open",
    exponent: 0.14,
    layer_m: 270.0,
    source: ASHRAE,
};
/// Towns, suburbs, woods.
pub const SUBURBAN: TerrainRow = TerrainRow {
    name: "suburban",
    exponent: 0.22,
    layer_m: 370.0,
    source: ASHRAE,
};

/// Terrains, sorted by name.
pub const TERRAINS: &[TerrainRow] = &[CITY, OPEN, SUBURBAN];

rows!(SoilRow, TerrainRow);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::find;

    #[test]
    fn the_year_wave_reaches_as_deep_as_the_standard_says() {
        // ISO 13370: 2.2 m clay, 3.2 m sand, 4.2 m rock.
        for (name, depth_m) in [("clay", 2.2), ("sand", 3.2), ("rock", 4.2)] {
            let row = find(SOILS, name).unwrap();
            assert!(
                (row.properties.yearly_depth_m() - depth_m).abs() < 0.06,
                "{name}"
            );
        }
    }

    #[test]
    fn rougher_terrain_slows_the_wind_more() {
        let rows = [OPEN, SUBURBAN, CITY];
        assert!(rows.is_sorted_by(|a, b| a.exponent < b.exponent && a.layer_m < b.layer_m));
    }
}
