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

    /// Pressure at a volume flow (m³/s), Pa.
    pub fn pressure_pa(&self, flow_m3_s: f64) -> f64 {
        match self {
            Self::Quadratic {
                shut_off_pa,
                free_air_m3_s,
            } => shut_off_pa * (1.0 - (flow_m3_s / free_air_m3_s).powi(2)),
            Self::Points(points) => points
                .windows(2)
                .find(|pair| flow_m3_s <= pair[1][0])
                .or(points.windows(2).last())
                .map_or(0.0, |pair| {
                    let [[q0, p0], [q1, p1]] = [pair[0], pair[1]];
                    p0 + (p1 - p0) * (flow_m3_s - q0) / (q1 - q0)
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

impl Fan {
    /// Electric power at the speed of use, W: `P ∝ N³`.
    pub fn running_power_w(&self) -> f64 {
        self.power_w * self.speed.powi(3)
    }

    /// Pressure that the fan adds at a volume flow, at the speed of use and the density of its
    /// curve, Pa.
    pub fn pressure_pa(&self, flow_m3_s: f64) -> f64 {
        let full_speed = flow_m3_s / self.speed;
        self.speed * self.speed * self.curve.pressure_pa(full_speed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_curve_passes_through_its_ends() {
        let quadratic = FanCurve::Quadratic {
            shut_off_pa: 20.0,
            free_air_m3_s: 0.04,
        };
        let points = FanCurve::Points(vec![[0.0, 20.0], [0.03, 8.0], [0.035, 4.0]]);
        for curve in [quadratic, points] {
            assert!((curve.pressure_pa(0.0) - 20.0).abs() < 1e-12);
            assert!(curve.pressure_pa(curve.free_air_m3_s()).abs() < 1e-9);
            assert!((curve.free_air_m3_s() - 0.04).abs() < 1e-12);
        }
    }

    #[test]
    fn half_speed_is_half_the_flow_a_quarter_of_the_pressure_and_an_eighth_of_the_power() {
        let curve = FanCurve::Quadratic {
            shut_off_pa: 20.0,
            free_air_m3_s: 0.04,
        };
        let fan = Fan {
            curve,
            curve_density_kg_m3: 1.2,
            power_w: 8.0,
            speed: 0.5,
        };
        assert!((fan.pressure_pa(0.0) - 5.0).abs() < 1e-12);
        assert!(fan.pressure_pa(0.02).abs() < 1e-12);
        assert!((fan.running_power_w() - 1.0).abs() < 1e-12);
    }
}
