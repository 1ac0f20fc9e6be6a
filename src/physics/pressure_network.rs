//! Mass balance of air in zones joined by paths.
//!
//! Each zone has one unknown pressure at its reference height, each path a monotone law, so the
//! solution is unique: it is the minimum of a convex function of the zone pressures. Newton's
//! method finds it; a step that overshoots is halved, since the square-root law makes plain
//! Newton swing for ever (method: Feustel & Rayner-Hooson 1990 discuss the same damping; from
//! memory).

use super::airflow::Element;
use crate::ode::{Mask, Real, Work};

/// Most zones a network may have.
pub const MOST_ZONES: usize = 3;

/// Place of outdoors, after all zones.
const OUTDOORS: usize = MOST_ZONES;

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

/// How a balance ended, lane by lane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Closing<R: Real> {
    /// Lanes in which it could not be closed.
    pub open: R::Mask,
    /// Largest mass imbalance of a zone at the end, kg/s.
    pub residual_kg_s: R,
}

impl<R: Real> Closing<R> {
    /// Of a balance that closed in every lane.
    pub(crate) fn closed() -> Self {
        Self {
            open: R::Mask::NONE,
            residual_kg_s: R::splat(0.0),
        }
    }
}

/// What a flow may be off its law when the zones balance, as a share of all flows together.
const OFF_LAW: f64 = 3e-8;

/// As above, kg/s: so little that no share of it matters.
const OFF_LAW_KG_S: f64 = 1e-10;

/// Pressures and flows of a network; the next solution starts from them.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution<R: Real> {
    /// Pressure of each zone at its reference height, Pa.
    pub pressures_pa: Vec<R>,
    /// Mass flow along each path, kg/s.
    pub flows_kg_s: Vec<R>,
    /// Change of each mass flow with what drives it, kg/(s Pa).
    pub slopes_kg_s_pa: Vec<R>,
    /// What drove the paths beside the zone pressures, Pa.
    drives_pa: Vec<R>,
    /// Zones at the ends of each path, outdoors as one more.
    ends: Vec<[usize; 2]>,
    joints: Joints,
    /// Lanes in which flows and slopes are those of a solution.
    solved: R::Mask,
}

/// Which paths meet in each zone.
#[derive(Debug, Clone, PartialEq)]
struct Joints {
    /// For each zone its paths, −1 where they leave it and 1 where they enter.
    zones: Vec<Vec<(usize, f64)>>,
    /// Paths between two zones.
    between: Vec<(usize, [usize; 2])>,
}

impl Joints {
    fn new(zones: usize, ends: &[[usize; 2]]) -> Self {
        let at = |zone: usize| {
            let paths = ends.iter().enumerate();
            let signs = paths.flat_map(move |(path, &[from, to])| {
                let leaves = (from == zone).then_some((path, -1.0));
                leaves
                    .into_iter()
                    .chain((to == zone).then_some((path, 1.0)))
            });
            signs.collect()
        };
        let inside = |&(_, &[from, to]): &(usize, &[usize; 2])| from != OUTDOORS && to != OUTDOORS;
        let between = ends.iter().enumerate().filter(inside);
        Self {
            zones: (0..zones).map(at).collect(),
            between: between.map(|(path, &ends)| (path, ends)).collect(),
        }
    }
}

impl<R: Real> Solution<R> {
    /// A start for a number of zones, joined by paths that may change their laws but not their
    /// ends.
    pub fn new(zones: usize, paths: &[Path<R>]) -> Self {
        let zero = R::splat(0.0);
        let slot = |zone: Option<usize>| zone.unwrap_or(OUTDOORS);
        let ends: Vec<_> = paths
            .iter()
            .map(|path| [slot(path.from), slot(path.to)])
            .collect();
        Self {
            joints: Joints::new(zones, &ends),
            pressures_pa: vec![zero; zones],
            flows_kg_s: vec![zero; paths.len()],
            slopes_kg_s_pa: vec![zero; paths.len()],
            drives_pa: vec![zero; paths.len()],
            ends,
            solved: R::Mask::NONE,
        }
    }

    /// Forgets all but the form in some lanes.
    pub fn restart(&mut self, lanes: R::Mask) {
        for pressure in &mut self.pressures_pa {
            *pressure = R::select(lanes, R::splat(0.0), *pressure);
        }
        self.solved = self.solved.and(lanes.not());
    }

    /// Solves the zone pressures for new drives.
    ///
    /// First the last solution is followed along its slopes to the new drives. Newton's method
    /// then goes on until its next step would leave the flows off their laws by no more than
    /// 3e-8 of all flows (the second order of that step); with it taken along the slopes, each
    /// zone's flows add up to nothing but rounding.
    ///
    /// # Errors
    /// [`NotBalanced`] if that is not reached, which takes a zone without any path or an input
    /// that is not a number.
    pub fn solve(&mut self, paths: &[Path<R>], drives: &[Drive<R>]) -> Result<(), NotBalanced> {
        let closing = self.close(R::Mask::ALL, paths, drives);
        if closing.open.any() {
            return Err(NotBalanced {
                residual_kg_s: closing.residual_kg_s.largest(),
            });
        }
        Ok(())
    }

    /// As [`Self::solve`] for some lanes; in the others nothing changes. A lane that has found its
    /// solution stays there while others go on, so that none depends on another.
    pub fn close(&mut self, lanes: R::Mask, paths: &[Path<R>], drives: &[Drive<R>]) -> Closing<R> {
        R::wide(Close {
            solution: self,
            lanes,
            paths,
            drives,
        })
    }

    #[inline(always)]
    fn newton(&mut self, lanes: R::Mask, paths: &[Path<R>], drives: &[Drive<R>]) -> Closing<R> {
        const MOST_ROUNDS: usize = 200;
        let zones = self.pressures_pa.len();
        let zero = R::splat(0.0);
        let known = lanes.and(self.solved);
        if known.any() {
            self.follow(known, drives);
        }
        for (kept, drive) in self.drives_pa.iter_mut().zip(drives) {
            R::apart();
            *kept = R::select(lanes, drive.pressure_pa, *kept);
        }
        let mut last = [zero; MOST_ZONES];
        let mut direction = [zero; MOST_ZONES];
        let mut last_slope = zero;
        let mut open = lanes;
        let mut worst = R::splat(f64::INFINITY);
        for round in 0..MOST_ROUNDS {
            let throughput = self.pass(open, paths, drives);
            let residual = self.residual();
            let newton = self.factored().solve(&residual);
            let largest = residual[..zones].iter().fold(zero, |a, r| a.max(r.abs()));
            worst = R::select(open, largest, worst);
            let least = (throughput * OFF_LAW).max(R::splat(OFF_LAW_KG_S));
            let too_much = self.beyond(least, &newton);
            let closed = open.and(largest.finite()).and(too_much.at_most(zero));
            self.step(closed, &newton);
            open = open.and(closed.not());
            let hopeful = largest
                .finite()
                .and(too_much.at_most(R::splat(f64::INFINITY)));
            if !open.and(hopeful).any() {
                break;
            }
            // Along the last direction the excess must have shrunk to less than half its opposite.
            let along = (0..zones).fold(zero, |a, z| a + residual[z] * direction[z]);
            let overshoot = if round == 0 {
                R::splat(-1.0)
            } else {
                zero - along - last_slope * 0.5
            };
            let mut slope = zero;
            for z in 0..zones {
                slope += residual[z] * newton[z];
            }
            for z in 0..zones {
                let step = overshoot.where_positive(last[z] * -0.5, newton[z]);
                let pressure = self.pressures_pa[z];
                self.pressures_pa[z] = R::select(open, pressure + step, pressure);
                last[z] = overshoot.where_positive(last[z] * 0.5, newton[z]);
                direction[z] = overshoot.where_positive(direction[z], newton[z]);
            }
            last_slope = overshoot.where_positive(last_slope, slope);
        }
        self.solved = self.solved.or(lanes).and(open.not());
        Closing {
            open,
            residual_kg_s: worst,
        }
    }

    /// Moves the pressures along the slopes of the last solution to new drives.
    #[inline(always)]
    fn follow(&mut self, lanes: R::Mask, drives: &[Drive<R>]) {
        let changes = self.slopes_kg_s_pa.iter().zip(&self.drives_pa).zip(drives);
        for (flow, ((&slope, &before), drive)) in self.flows_kg_s.iter_mut().zip(changes) {
            R::apart();
            let followed = *flow + slope * (drive.pressure_pa - before);
            *flow = R::select(lanes, followed, *flow);
        }
        let newton = self.factored().solve(&self.residual());
        for (pressure, step) in self.pressures_pa.iter_mut().zip(newton) {
            *pressure = R::select(lanes, *pressure + step, *pressure);
        }
    }

    /// Changes of the mass flows when what drives the paths changes by little, Pa, and the pressures
    /// of the zones answer so that air still balances; `factors` are those of [`Self::factored`].
    #[inline(always)]
    pub fn answer(&self, factors: &Factors<R>, changes_pa: &[R], changes_kg_s: &mut [R]) {
        let mut right = [R::splat(0.0); OUTDOORS + 1];
        let paths = self.ends.iter().zip(&self.slopes_kg_s_pa);
        for ((&[from, to], &slope), (&change, out)) in
            paths.zip(changes_pa.iter().zip(&mut *changes_kg_s))
        {
            R::apart();
            *out = slope * change;
            right[from] -= *out;
            right[to] += *out;
        }
        let pressures = factors.solve(&right);
        let paths = self.ends.iter().zip(&self.slopes_kg_s_pa);
        for ((&ends, &slope), out) in paths.zip(changes_kg_s) {
            R::apart();
            *out += slope * along(&pressures, ends);
        }
    }

    /// Flows and slopes at the pressures in place; returns the sum of all flows.
    #[inline(always)]
    fn pass(&mut self, lanes: R::Mask, paths: &[Path<R>], drives: &[Drive<R>]) -> R {
        let pressures = self.with_outdoors();
        let mut throughput = R::splat(0.0);
        let out = self.flows_kg_s.iter_mut().zip(&mut self.slopes_kg_s_pa);
        let paths = paths.iter().zip(drives).zip(&self.ends);
        for (((path, drive), &ends), (flow, slope)) in paths.zip(out) {
            R::apart();
            let pressure = drive.pressure_pa + along(&pressures, ends);
            let (new_flow, new_slope) =
                path.element
                    .mass_flow(pressure, drive.density_from, drive.density_to);
            *flow = R::select(lanes, new_flow, *flow);
            *slope = R::select(lanes, new_slope, *slope);
            throughput += new_flow.abs();
        }
        throughput
    }

    /// Pressures of the zones and of outdoors, Pa.
    #[inline(always)]
    fn with_outdoors(&self) -> Vector<R> {
        let mut pressures = [R::splat(0.0); OUTDOORS + 1];
        pressures[..self.pressures_pa.len()].copy_from_slice(&self.pressures_pa);
        pressures
    }

    /// Net inflow of each zone.
    #[inline(always)]
    fn residual(&self) -> Vector<R> {
        let mut residual = [R::splat(0.0); OUTDOORS + 1];
        for (net, paths) in residual.iter_mut().zip(&self.joints.zones) {
            for &(path, sign) in paths {
                *net += self.flows_kg_s[path] * sign;
            }
        }
        residual
    }

    /// The negative derivative of the zones' net inflow by the pressures, ready to solve with.
    #[inline(always)]
    pub fn factored(&self) -> Factors<R> {
        let zero = R::splat(0.0);
        let mut matrix = [[zero; OUTDOORS + 1]; OUTDOORS + 1];
        for (zone, paths) in self.joints.zones.iter().enumerate() {
            let mut sum = zero;
            for &(path, _) in paths {
                sum += self.slopes_kg_s_pa[path];
            }
            matrix[zone][zone] = sum;
        }
        for &(path, [from, to]) in &self.joints.between {
            let slope = self.slopes_kg_s_pa[path];
            matrix[from][to] -= slope;
            matrix[to][from] -= slope;
        }
        Factors::of(matrix, self.pressures_pa.len())
    }

    /// By how much the flows would be off their laws after a step of the pressures taken along the
    /// slopes, `¼ m' d²/|Δp|` for a root, no law bends more, and not more than `m' d`: what is beyond
    /// `least`, times a pressure; not above zero where none is.
    #[inline(always)]
    fn beyond(&self, least: R, step: &Vector<R>) -> R {
        let pressures = self.with_outdoors();
        let mut worst = R::splat(f64::NEG_INFINITY);
        let values = self.slopes_kg_s_pa.iter().zip(&self.drives_pa);
        for (&ends, (&slope, &drive)) in self.ends.iter().zip(values) {
            R::apart();
            let change = along(step, ends).abs();
            let pressure = (drive + along(&pressures, ends)).abs();
            // A femtopascal keeps a path defined along which nothing presses or changes.
            let room = least * (pressure * 4.0 + change + 1e-15);
            worst = worst.max(slope * change * change - room);
        }
        worst
    }

    /// Takes a step of the pressures along the slopes.
    #[inline(always)]
    fn step(&mut self, lanes: R::Mask, step: &Vector<R>) {
        if !lanes.any() {
            return;
        }
        let values = self.flows_kg_s.iter_mut().zip(&self.slopes_kg_s_pa);
        for (&ends, (flow, &slope)) in self.ends.iter().zip(values) {
            R::apart();
            *flow = R::select(lanes, *flow + slope * along(step, ends), *flow);
        }
        for (pressure, &step) in self.pressures_pa.iter_mut().zip(step) {
            *pressure = R::select(lanes, *pressure + step, *pressure);
        }
    }
}

/// [`Solution::close`] as work of its own: what is compiled in one piece must not grow too large, or
/// lanes are torn apart in it.
struct Close<'a, R: Real> {
    solution: &'a mut Solution<R>,
    lanes: R::Mask,
    paths: &'a [Path<R>],
    drives: &'a [Drive<R>],
}

impl<R: Real> Work for Close<'_, R> {
    type Output = Closing<R>;

    #[inline(always)]
    fn run(self) -> Closing<R> {
        self.solution.newton(self.lanes, self.paths, self.drives)
    }
}

/// Pressure that the zones put along a path, Pa.
#[inline(always)]
fn along<R: Real>(pressures_pa: &Vector<R>, [from, to]: [usize; 2]) -> R {
    pressures_pa[from] - pressures_pa[to]
}

/// Solves the zone pressures; `pressures_pa` holds a guess and then the answer, `flows_kg_s` the
/// mass flow along each path.
///
/// # Errors
/// See [`Solution::solve`].
pub fn solve<R: Real>(
    paths: &[Path<R>],
    drives: &[Drive<R>],
    pressures_pa: &mut [R],
    flows_kg_s: &mut [R],
) -> Result<(), NotBalanced> {
    let mut solution = Solution::new(pressures_pa.len(), paths);
    solution.pressures_pa.copy_from_slice(pressures_pa);
    solution.solve(paths, drives)?;
    pressures_pa.copy_from_slice(&solution.pressures_pa);
    flows_kg_s.copy_from_slice(&solution.flows_kg_s);
    Ok(())
}

type Vector<R> = [R; OUTDOORS + 1];
type Matrix<R> = [[R; OUTDOORS + 1]; OUTDOORS + 1];

/// Factors of the first rows of a symmetric positive definite matrix, by elimination without pivoting.
#[derive(Debug, Clone, Copy)]
pub struct Factors<R> {
    size: usize,
    /// Right of the diagonal what is left of the matrix, left of it the multipliers.
    matrix: Matrix<R>,
    inverse_pivots: Vector<R>,
}

impl<R: Real> Factors<R> {
    #[inline(always)]
    fn of(matrix: Matrix<R>, size: usize) -> Self {
        let mut factors = Self {
            size,
            matrix,
            inverse_pivots: [R::splat(0.0); OUTDOORS + 1],
        };
        match size {
            1 => factors.eliminate::<1>(),
            2 => factors.eliminate::<2>(),
            _ => factors.eliminate::<MOST_ZONES>(),
        }
        factors
    }

    /// Loops of a fixed length stay in registers.
    #[inline(always)]
    fn eliminate<const SIZE: usize>(&mut self) {
        let matrix = &mut self.matrix;
        for k in 0..SIZE {
            let inverse = R::splat(1.0) / (matrix[k][k] + f64::MIN_POSITIVE);
            for i in k + 1..SIZE {
                let factor = matrix[i][k] * inverse;
                matrix[i][k] = factor;
                for j in k + 1..SIZE {
                    let change = factor * matrix[k][j];
                    matrix[i][j] -= change;
                }
            }
            self.inverse_pivots[k] = inverse;
        }
    }

    /// The solution in the first rows; the others are nothing, as the change of pressure outdoors is.
    #[inline(always)]
    fn solve(&self, right: &Vector<R>) -> Vector<R> {
        match self.size {
            1 => self.substitute::<1>(right),
            2 => self.substitute::<2>(right),
            _ => self.substitute::<MOST_ZONES>(right),
        }
    }

    #[inline(always)]
    fn substitute<const SIZE: usize>(&self, right: &Vector<R>) -> Vector<R> {
        let mut x = [R::splat(0.0); OUTDOORS + 1];
        x[..SIZE].copy_from_slice(&right[..SIZE]);
        for k in 0..SIZE {
            for i in k + 1..SIZE {
                let change = self.matrix[i][k] * x[k];
                x[i] -= change;
            }
        }
        for k in (0..SIZE).rev() {
            for j in k + 1..SIZE {
                let change = self.matrix[k][j] * x[j];
                x[k] -= change;
            }
            x[k] = x[k] * self.inverse_pivots[k];
        }
        x
    }
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

    #[test]
    fn flows_answer_to_a_change_of_one_drive_as_they_do_when_solved_anew() {
        let paths = [
            orifice(None, Some(0), 0.2),
            orifice(Some(0), None, 0.1),
            orifice(Some(1), Some(0), 0.01),
            orifice(None, Some(1), 0.05),
        ];
        let drive = |pressure_pa| Drive {
            pressure_pa,
            density_from: 1.2,
            density_to: 1.1,
        };
        let drives = [3.0, -1.0, 2.0, 0.5].map(drive);
        let solved = |drives: &[Drive<f64>]| {
            let mut solution = Solution::new(2, &paths);
            solution.solve(&paths, drives).unwrap();
            solution
        };
        let solution = solved(&drives);
        for path in 0..paths.len() {
            let mut told = [0.0; 4];
            let mut change_pa = [0.0; 4];
            change_pa[path] = 1.0;
            solution.answer(&solution.factored(), &change_pa, &mut told);
            let flows = [1e-4, -1e-4].map(|by| {
                let mut moved = drives;
                moved[path].pressure_pa += by;
                solved(&moved).flows_kg_s
            });
            for (at, told) in told.iter().enumerate() {
                let seen = (flows[0][at] - flows[1][at]) / 2e-4;
                assert!((seen - told).abs() < 1e-5, "{path} {at}: {seen} {told}");
            }
            // What one path brings into a zone the others take out.
            assert!((told[0] - told[1] + told[2]).abs() < 1e-12);
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
