//! Stand-in until moist air lands.
pub(super) fn saturation_pa(temp_k: f64) -> f64 { let t = temp_k - 273.15; 611.2 * (17.62 * t / (243.12 + t)).exp() }
pub(super) fn dew_point_k(pv: f64) -> f64 { let x = (pv / 611.2).ln(); 243.12 * x / (17.62 - x) + 273.15 }
pub(super) fn humidity_ratio(dew: f64, p: f64) -> f64 { let pv = saturation_pa(dew); 0.621_945 * pv / (p - pv) }
