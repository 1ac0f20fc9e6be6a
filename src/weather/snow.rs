//! Snow on a roof by the air's temperature, for weather that has no record of it.
//!
//! Snow falls as evenly as winters are wet and goes by degree-days: a rough guess, so that what lies
//! is multiplied with a factor that a fit to readings finds.

use super::Weather;

/// Water that falls as snow on a day that freezes, kg/m²: 40 a month, common for places with a winter
/// (common practice, no source).
const FALL_KG_M2_DAY: f64 = 1.3;
/// Air below which what falls is snow, K.
const SNOW_BELOW_K: f64 = 274.0;
/// Water that melts on a day for each kelvin above freezing, kg/(m² K): 2 to 6 for open ground, Hock
/// 2003, Journal of Hydrology 282, 104 (from memory).
const MELT_KG_M2_DAY_K: f64 = 3.0;
/// Most that stays on a roof, kg/m²: wind and slides take the rest (common practice, no source).
const MOST_KG_M2: f64 = 100.0;
/// Resistance of a kilogram of it on a square metre, m⁴ K/(W kg): 200 kg/m³ at 0.14 W/(m K), Sturm et
/// al. 1997, Journal of Glaciology 43, 26 (from memory).
const RESISTANCE_M4K_W_KG: f64 = 1.0 / (200.0 * 0.14);

const FREEZING_K: f64 = 273.15;
const DAY_S: f64 = 86_400.0;

impl Weather {
    /// Thermal resistance of the snow that likely lies on a roof at the ends of the intervals, m²K/W;
    /// there is none before the first.
    pub fn likely_snow_m2k_w(&self) -> Vec<f64> {
        let days = f64::from(self.step_s) / DAY_S;
        let mut water_kg_m2 = 0.0_f64;
        self.air
            .iter()
            .map(|air| {
                if air.dry_bulb_k < SNOW_BELOW_K {
                    water_kg_m2 += FALL_KG_M2_DAY * days;
                }
                let melts = (air.dry_bulb_k - FREEZING_K).max(0.0) * MELT_KG_M2_DAY_K * days;
                water_kg_m2 = (water_kg_m2 - melts).clamp(0.0, MOST_KG_M2);
                water_kg_m2 * RESISTANCE_M4K_W_KG
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use crate::weather::{Adjustment, MadeWeek};

    #[test]
    fn snow_gathers_in_frost_and_goes_in_a_thaw() {
        let summer = MadeWeek::default().weather().unwrap();
        assert!(summer.likely_snow_m2k_w().iter().all(|snow| *snow <= 0.0));
        let frost = summer.adjusted(&Adjustment {
            air_k: -60.0,
            ..Adjustment::default()
        });
        let snow = frost.likely_snow_m2k_w();
        let days = f64::from(frost.step_s()) * frost.intervals() as f64 / 86_400.0;
        let last = snow[snow.len() - 1];
        assert!((last / (1.3 * days / 28.0) - 1.0).abs() < 0.03, "{last}");
        let mut thaw = frost.clone();
        for air in &mut thaw.air[snow.len() - 25..] {
            air.dry_bulb_k = 280.0;
        }
        let left = thaw.likely_snow_m2k_w();
        assert!(left[left.len() - 1] < last);
    }
}
