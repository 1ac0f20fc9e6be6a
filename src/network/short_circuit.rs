//! Vents beside fans: what a fan draws straight through them leaves the attic's air alone.

use crate::elementary::cos;
use crate::house::{Direction, FanGroup, House, Opening, Place as Where};
use crate::ode::Real;
use crate::physics::short_circuit::{caught_share, reach_m};

/// A fan and the vents on its side of the house.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Neighbours<R> {
    /// Path of the fan, out of the attic.
    pub(super) fan: usize,
    /// Holes through which it blows.
    pub(super) holes: R,
    /// Paths of the vents, into the attic, and their distances, m.
    pub(super) vents: Vec<(usize, f64)>,
}

/// The vents near a group of fans, of those with their paths.
pub(super) fn near(
    house: &House,
    group: &FanGroup,
    opening_paths: &[(usize, usize)],
) -> Vec<(usize, f64)> {
    let Some(distance_m) = group.vent_distance_m else {
        return Vec::new();
    };
    let beside = opening_paths.iter().filter_map(|&(index, path)| {
        let opening = house.openings.get(index)?;
        let away_m = (opening.height_m - group.height_m).abs().max(distance_m);
        is_beside(group, opening).then_some((path, away_m))
    });
    beside.collect()
}

/// Whether a fan blows out of the side of the house that a vent is in.
fn is_beside(group: &FanGroup, opening: &Opening) -> bool {
    group.direction == Direction::Exhaust
        && opening.place == group.place
        && opening.turbine.is_none()
        && (opening.place == Where::Ridge || cos(opening.azimuth_rad - group.azimuth_rad) > 0.99)
}

/// Takes what the fans catch out of the flows that sweep the attic; returns the largest share of
/// any fan's flow that it is.
#[inline(always)]
pub(super) fn bypass<R: Real>(
    neighbours: &[Neighbours<R>],
    density_kg_m3: R,
    inside_k: R,
    outdoor_k: R,
    sweeping_kg_s: &mut [R],
) -> R {
    let zero = R::splat(0.0);
    let mut most = zero;
    for beside in neighbours {
        let blown = sweeping_kg_s[beside.fan].max(zero);
        let reach = reach_m(blown / (density_kg_m3 * beside.holes), inside_k, outdoor_k);
        let caught = |vent: usize, distance_m: f64, flows: &[R]| {
            flows[vent].max(zero) * caught_share(distance_m, reach)
        };
        let all = beside.vents.iter().fold(zero, |sum, &(vent, distance_m)| {
            sum + caught(vent, distance_m, sweeping_kg_s)
        });
        // No fan catches more than it blows.
        let kept = blown / all.max(blown).max(R::splat(1e-9));
        for &(vent, distance_m) in &beside.vents {
            let part = caught(vent, distance_m, sweeping_kg_s) * kept;
            sweeping_kg_s[vent] -= part;
            sweeping_kg_s[beside.fan] -= part;
        }
        most = most.max(all * kept / blown.max(R::splat(1e-6)));
    }
    most
}
