//! A fan: what it moves against a pressure.
//!
//! Fan similarity laws at fixed diameter: `Q ∝ N`, `Δp ∝ ρ N²`, `P ∝ ρ N³` (AMCA/ISO 5801, common
//! textbook form; common practice).

/// Pressure that a fan adds at a volume flow, full speed and reference density.
#[derive(Debug, Clone, PartialEq)]
pub enum FanCurve {
    /// `Δp = p0 (1 − (Q/Q0)²)`.
    Quadratic {
        /// Pressure at no flow, Pa.
        shut_off_pa: f64,
        /// Flow at no pressure, m³/s.
        free_air_m3_s: f64,
    },
    /// Straight lines between points of rising flow (m³/s) and falling pressure (Pa); the last
    /// line goes on beyond its end, the first flow is zero.
    Points(Vec<[f64; 2]>),
}

impl FanCurve {
    /// Flow at no pressure, m³/s.
    pub fn free_air_m3_s(&self) -> f64 {
        match self {
            Self::Quadratic { free_air_m3_s, .. } => *free_air_m3_s,
            Self::Points(points) => points
                .windows(2)
                .find(|pair| pair[1][1] <= 0.0)
                .or(points.windows(2).last())
                .map_or(0.0, |pair| {
                    let [[q0, p0], [q1, p1]] = [pair[0], pair[1]];
                    q0 + (q1 - q0) * p0 / (p0 - p1)
                }),
        }
    }

    /// Pressure at no flow, Pa.
    pub fn shut_off_pa(&self) -> f64 {
        match self {
            Self::Quadratic { shut_off_pa, .. } => *shut_off_pa,
            Self::Points(points) => points.first().map_or(0.0, |point| point[1]),
        }
    }
}

/// A fan as its data sheet or label describes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Fan {
    /// Pressure against flow at full speed.
    pub curve: FanCurve,
    /// Density at which the curve was measured, kg/m³.
    pub curve_density_kg_m3: f64,
    /// Electric power at full speed, W.
    pub power_w: f64,
    /// Speed against full speed, 0 to 1 (fan laws), such as from a lower voltage.
    pub speed: f64,
}
