//! Soil below and terrain around a house.

use super::rows;

/// A class of soil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoilRow {
    /// Name.
    pub name: &'static str,
    /// Conductivity, W/(m K).
    pub conductivity_w_mk: f64,
    /// Heat capacity, J/(m³ K).
    pub capacity_j_m3k: f64,
    /// Source.
    pub source: &'static str,
}

const ISO: &str = "ISO 13370 soil classes";

/// Clay or silt.
pub(crate) const CLAY: SoilRow = SoilRow {
    name: "clay",
    conductivity_w_mk: 1.5,
    capacity_j_m3k: 3.0e6,
    source: ISO,
};
/// Homogeneous rock.
pub(crate) const ROCK: SoilRow = SoilRow {
    name: "rock",
    conductivity_w_mk: 3.5,
    capacity_j_m3k: 2.0e6,
    source: ISO,
};
/// Sand or gravel.
pub(crate) const SAND: SoilRow = SoilRow {
    name: "sand",
    conductivity_w_mk: 2.0,
    capacity_j_m3k: 2.0e6,
    source: ISO,
};

/// Soils, sorted by name.
pub const SOILS: &[SoilRow] = &[CLAY, ROCK, SAND];

impl SoilRow {
    /// Depth to which the wave of a year reaches, m: `√(λ · 1 year / (π ρc))` (ISO 13370).
    pub fn year_depth_m(&self) -> f64 {
        (self.conductivity_w_mk * 3.15e7 / (std::f64::consts::PI * self.capacity_j_m3k)).sqrt()
    }
}

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
pub(crate) const CITY: TerrainRow = TerrainRow {
    name: "city",
    exponent: 0.33,
    layer_m: 460.0,
    source: ASHRAE,
};
/// Flat open country.
pub(crate) const OPEN: TerrainRow = TerrainRow {
    name: "open",
    exponent: 0.14,
    layer_m: 270.0,
    source: ASHRAE,
};
/// Towns, suburbs, woods.
pub(crate) const SUBURBAN: TerrainRow = TerrainRow {
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

    #[test]
    fn the_year_wave_reaches_as_deep_as_the_standard_says() {
        // ISO 13370: 2.2 m clay, 3.2 m sand, 4.2 m rock.
        for (row, depth_m) in [(CLAY, 2.2), (SAND, 3.2), (ROCK, 4.2)] {
            assert!((row.year_depth_m() - depth_m).abs() < 0.06, "{}", row.name);
        }
    }

    #[test]
    fn rougher_terrain_slows_the_wind_more() {
        let rows = [OPEN, SUBURBAN, CITY];
        assert!(rows.is_sorted_by(|a, b| a.exponent < b.exponent && a.layer_m < b.layer_m));
    }
}
