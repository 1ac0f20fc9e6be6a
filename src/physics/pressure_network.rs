//! Mass balance of air in zones joined by paths.
//!
//! Each zone has one unknown pressure at its reference height, each path a monotone law, so the
//! solution is unique: it is the minimum of a convex function of the zone pressures. Newton's
//! method finds it; a step that overshoots is halved, since the square-root law makes plain
//! Newton swing for ever (method: Feustel & Rayner-Hooson 1990 discuss the same damping; from
//! memory).

use super::airflow::Element;
use crate::ode::Real;

/// Most zones a network may have.
pub const MOST_ZONES: usize = 4;

/// One way for air between two zones, or a zone and outdoors.
#[derive(Debug, Clone, PartialEq)]
pub struct Path<R = f64> {
    /// Zone it leaves when its flow is positive; `None` is outdoors.
    pub from: Option<usize>,
    /// Zone it enters when its flow is positive; `None` is outdoors.
    pub to: Option<usize>,
    /// Law of flow.
    pub element: Element<R>,
}

/// What drives one path at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drive<R> {
    /// Pressure along the path beside the zone pressures (stack, wind), Pa.
    pub pressure_pa: R,
    /// Density of the air at the `from` end, kg/m³.
    pub density_from: R,
    /// Density of the air at the `to` end, kg/m³.
    pub density_to: R,
}

/// The balance could not be closed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NotBalanced {
    /// Largest mass imbalance of a zone, kg/s.
    pub residual_kg_s: f64,
}

/// Largest imbalance of a zone that counts as closed, kg/s.
pub const CLOSED_KG_S: f64 = 1e-9;

/// Solves the zone pressures; `pressures_pa` holds a guess and then the answer, `flows_kg_s` the
/// mass flow along each path.
///
/// # Errors
/// [`NotBalanced`] if a zone's imbalance stays above [`CLOSED_KG_S`] (scaled by the flows where
/// they are large), which takes a zone without any path or an input that is not a number.
pub fn solve<R: Real>(
    paths: &[Path<R>],
    drives: &[Drive<R>],
    pressures_pa: &mut [R],
    flows_kg_s: &mut [R],
) -> Result<(), NotBalanced> {
    const MOST_ROUNDS: usize = 200;
    let zones = pressures_pa.len();
    let mut last = [R::splat(0.0); MOST_ZONES];
    let mut direction = [R::splat(0.0); MOST_ZONES];
    let mut last_slope = R::splat(0.0);
    let mut worst = f64::INFINITY;
    for round in 0..MOST_ROUNDS {
        let (residual, mut matrix, throughput) = balance(paths, drives, pressures_pa, flows_kg_s);
        worst = residual[..zones]
            .iter()
            .fold(R::splat(0.0), |a, r| a.max(r.abs()))
            .largest();
        if worst <= CLOSED_KG_S.max(1e-13 * throughput.largest()) {
            return Ok(());
        }
        if !worst.is_finite() {
            break;
        }
        // Along the last direction the excess must have shrunk to less than half its opposite.
        let along = (0..zones).fold(R::splat(0.0), |a, z| a + residual[z] * direction[z]);
        let overshoot = if round == 0 {
            R::splat(-1.0)
        } else {
            R::splat(0.0) - along - last_slope * 0.5
        };
        let newton = solve_symmetric(&mut matrix, &residual, zones);
        let mut slope = R::splat(0.0);
        for z in 0..zones {
            slope += residual[z] * newton[z];
        }
        for z in 0..zones {
            let step = overshoot.where_positive(last[z] * -0.5, newton[z]);
            pressures_pa[z] += step;
            last[z] = overshoot.where_positive(last[z] * 0.5, newton[z]);
            direction[z] = overshoot.where_positive(direction[z], newton[z]);
        }
        last_slope = overshoot.where_positive(last_slope, slope);
    }
    Err(NotBalanced {
        residual_kg_s: worst,
    })
}

type Vector<R> = [R; MOST_ZONES];
type Matrix<R> = [[R; MOST_ZONES]; MOST_ZONES];

/// Net inflow of each zone, its negative derivative by the pressures, and the sum of all flows.
fn balance<R: Real>(
    paths: &[Path<R>],
    drives: &[Drive<R>],
    pressures_pa: &[R],
    flows_kg_s: &mut [R],
) -> (Vector<R>, Matrix<R>, R) {
    let zero = R::splat(0.0);
    let mut residual = [zero; MOST_ZONES];
    let mut matrix = [[zero; MOST_ZONES]; MOST_ZONES];
    let mut throughput = zero;
    for ((path, drive), flow_out) in paths.iter().zip(drives).zip(flows_kg_s.iter_mut()) {
        let mut pressure = drive.pressure_pa;
        if let Some(z) = path.from {
            pressure += pressures_pa[z];
        }
        if let Some(z) = path.to {
            pressure -= pressures_pa[z];
        }
        let (flow, slope) = path
            .element
            .mass_flow(pressure, drive.density_from, drive.density_to);
        *flow_out = flow;
        throughput += flow.abs();
        if let Some(z) = path.from {
            residual[z] -= flow;
            matrix[z][z] += slope;
        }
        if let Some(z) = path.to {
            residual[z] += flow;
            matrix[z][z] += slope;
        }
        if let (Some(a), Some(b)) = (path.from, path.to) {
            matrix[a][b] -= slope;
            matrix[b][a] -= slope;
        }
    }
    (residual, matrix, throughput)
}

/// Solves a symmetric positive definite system by elimination without pivoting.
fn solve_symmetric<R: Real>(matrix: &mut Matrix<R>, right: &Vector<R>, size: usize) -> Vector<R> {
    let mut x = *right;
    for k in 0..size {
        let pivot = R::splat(1.0) / (matrix[k][k] + f64::MIN_POSITIVE);
        for i in k + 1..size {
            let factor = matrix[i][k] * pivot;
            for j in k..size {
                let change = factor * matrix[k][j];
                matrix[i][j] -= change;
            }
            let change = factor * x[k];
            x[i] -= change;
        }
    }
    for k in (0..size).rev() {
        for j in k + 1..size {
            let change = matrix[k][j] * x[j];
            x[k] -= change;
        }
        x[k] = x[k] / (matrix[k][k] + f64::MIN_POSITIVE);
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn orifice(from: Option<usize>, to: Option<usize>, cd_area_m2: f64) -> Path {
        Path {
            from,
            to,
            element: Element::Orifice { cd_area_m2 },
        }
    }

    proptest! {
        #[test]
        fn the_solution_is_found_from_any_start_and_is_the_same(
            areas in proptest::array::uniform5(1e-4..1.0f64),
            drives in proptest::array::uniform5(-30.0..30.0f64),
            start in proptest::array::uniform2(-1e4..1e4f64),
        ) {
            let paths = [
                orifice(None, Some(0), areas[0]),
                orifice(Some(0), None, areas[1]),
                Path { from: Some(1), to: Some(0),
                    element: Element::Crack { flow_at_1_pa_m3_s: areas[2] * 0.1, exponent: 0.65 } },
                orifice(None, Some(1), areas[3]),
                orifice(Some(1), None, areas[4]),
            ];
            let drives = drives.map(|pressure_pa| Drive {
                pressure_pa, density_from: 1.2, density_to: 1.1 });
            let mut flows = [0.0; 5];
            let mut first = [0.0; 2];
            solve(&paths, &drives, &mut first, &mut flows).unwrap();
            let mut second = start;
            solve(&paths, &drives, &mut second, &mut flows).unwrap();
            for (a, b) in first.iter().zip(second) {
                prop_assert!((a - b).abs() < 1e-4 * a.abs().max(1.0), "{a} {b}");
            }
        }
    }

    #[test]
    fn a_zone_that_no_air_reaches_is_refused_not_guessed() {
        let paths = [orifice(None, Some(0), f64::NAN)];
        let drive = [Drive {
            pressure_pa: 1.0,
            density_from: 1.2,
            density_to: 1.2,
        }];
        assert!(solve(&paths, &drive, &mut [0.0], &mut [0.0]).is_err());
    }
}
