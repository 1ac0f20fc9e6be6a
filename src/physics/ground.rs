//! Heat to the ground under a slab or a crawl space.
//!
//! Source: ISO 13370 (1998 and later): transmittance formulas and soil table as seen in two code
//! copies; periodic part, simple values (from memory). Symbols are the standard's.

use std::f64::consts::PI;

use crate::elementary::ln;

/// A soil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoilProperties {
    /// Conductivity λ, W/(m K).
    pub conductivity_w_mk: f64,
    /// Heat capacity per volume ρc, J/(m³ K).
    pub capacity_j_m3k: f64,
}

/// Clay or silt, ISO 13370 table.
pub const CLAY: SoilProperties = SoilProperties {
    conductivity_w_mk: 1.5,
    capacity_j_m3k: 3.0e6,
};
/// Sand or gravel, ISO 13370 table.
pub const SAND: SoilProperties = SoilProperties {
    conductivity_w_mk: 2.0,
    capacity_j_m3k: 2.0e6,
};
/// Homogeneous rock, ISO 13370 table.
pub const ROCK: SoilProperties = SoilProperties {
    conductivity_w_mk: 3.5,
    capacity_j_m3k: 2.0e6,
};

impl SoilProperties {
    /// Depth to which the year's swing reaches, m: `δ = √(3.15·10⁷ λ/(π ρc))`.
    pub fn yearly_depth_m(&self) -> f64 {
        (3.15e7 * self.conductivity_w_mk / (PI * self.capacity_j_m3k)).sqrt()
    }
}

/// A floor on or over the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroundFloor {
    /// Area A, m².
    pub area_m2: f64,
    /// Exposed perimeter P, m.
    pub perimeter_m: f64,
    /// Thickness of the outer walls w, m.
    pub wall_thickness_m: f64,
    /// Resistance of the floor with its films, `R_si + R_f + R_se`, m² K/W.
    pub resistance_m2k_w: f64,
    /// Soil.
    pub soil: SoilProperties,
}

impl GroundFloor {
    /// Total equivalent thickness `d_t = w + λ (R_si + R_f + R_se)`, m.
    pub fn equivalent_thickness_m(&self) -> f64 {
        self.wall_thickness_m + self.soil.conductivity_w_mk * self.resistance_m2k_w
    }

    /// Characteristic dimension `B' = A/(P/2)`, m.
    pub fn characteristic_m(&self) -> f64 {
        self.area_m2 / (0.5 * self.perimeter_m)
    }

    /// Transmittance, W/(m² K).
    ///
    /// `d_t < B'`: `U = 2λ/(πB' + d_t) ln(πB'/d_t + 1)`, else `U = λ/(0.457 B' + d_t)`.
    pub fn transmittance_w_m2k(&self) -> f64 {
        let (b, d) = (self.characteristic_m(), self.equivalent_thickness_m());
        let lambda = self.soil.conductivity_w_mk;
        if d < b {
            2.0 * lambda / (PI * b + d) * ln(PI * b / d + 1.0)
        } else {
            lambda / (0.457 * b + d)
        }
    }

    /// Share of the outdoor temperature's yearly swing that is felt below the floor:
    /// `H_pe/(A U)`, `H_pe = 0.37 P λ ln(δ/d_t + 1)`; it lags the air by a month.
    pub fn swing_share(&self) -> f64 {
        let lambda = self.soil.conductivity_w_mk;
        let depth = self.soil.yearly_depth_m() / self.equivalent_thickness_m();
        let external = 0.37 * self.perimeter_m * lambda * ln(depth + 1.0);
        external / (self.area_m2 * self.transmittance_w_m2k())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked figures of a 15.2 m × 8.25 m slab, carpet 0.15 m²K/W, walls 0.3 m.
    #[test]
    fn a_slab_has_the_worked_transmittances() {
        for (soil, transmittance, external) in [(CLAY, 0.518, 34.0), (SAND, 0.642, 49.0)] {
            let floor = GroundFloor {
                area_m2: 15.2 * 8.25,
                perimeter_m: 2.0 * (15.2 + 8.25),
                wall_thickness_m: 0.3,
                resistance_m2k_w: 0.17 + 0.15 + 0.04,
                soil,
            };
            assert!((floor.characteristic_m() - 5.35).abs() < 0.01);
            let u = floor.transmittance_w_m2k();
            assert!((u - transmittance).abs() < 0.002, "{u}");
            let h = floor.swing_share() * floor.area_m2 * u;
            assert!((h - external).abs() < 1.0, "{h}");
        }
    }

    #[test]
    fn the_year_reaches_two_metres_into_clay() {
        assert!((CLAY.yearly_depth_m() - 2.2).abs() < 0.1);
        assert!((SAND.yearly_depth_m() - 3.2).abs() < 0.1);
    }
}
