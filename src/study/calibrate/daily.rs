//! What a worked-out house gets wrong every day alike.
//!
//! A model's own error (films of air, air that is less mixed than thought) comes back day after day. It
//! does not wear off with the number of days as a logger's errors do, and what the unknowns take up of it
//! shows in no residual. It is taken for waves of a day and of its parts, of which each has a deviation;
//! they stand beside the unknowns.
//!
//! Source of the idea: the difference between model and reality as a random function with a prior of its
//! own (Kennedy & O'Hagan 2001, Journal of the Royal Statistical Society B 63, 425; from memory).

use std::collections::BTreeMap;
use std::f64::consts::TAU;

use nalgebra::{DMatrix, DVector, SMatrix, SVector};

use crate::elementary::{cos, sin};

use super::compare::Measure;
use super::statistics::{NINE_IN_TEN, student};

/// The mean and four waves, of a day down to a quarter of one, each as cosine and sine.
const PARTS: usize = 9;
/// Shares of the mean and of the waves in the error's mean square. Judgement, after what three measured
/// attics of the north left: waves of a day and half a day alike, a quarter of a day less.
const SHARES: [f64; 5] = [0.35, 0.30, 0.17, 0.12, 0.06];
/// Deviation of the error where residuals do not tell: the root of the mean square over the same three,
/// K.
const USUAL_K: f64 = 0.5;
/// The same of a heat flux, W/m²: as much less than a plate's own error as above.
const USUAL_W_M2: f64 = 0.75;
/// So many independent waves that is worth against those that residuals show. Judgement.
const USUAL_COUNTS: f64 = 4.0;
const DAY_S: i64 = 86_400;
/// Whole days without which residuals do not tell, and readings of such a day.
const LEAST_DAYS: usize = 3;
const LEAST_A_DAY: usize = 18;

type Part = SVector<f64, PARTS>;
type Square = SMatrix<f64, PARTS, PARTS>;

/// The deviation that a daily error usually has, K or W/m².
pub(super) fn usual(measure: Measure) -> f64 {
    match measure {
        Measure::Temperature => USUAL_K,
        Measure::HeatFlux => USUAL_W_M2,
    }
}

/// The waves at a time, s since midnight of any day; their squares come to one at any time.
fn waves(at_s: i64) -> Part {
    let angle = TAU * at_s.rem_euclid(DAY_S) as f64 / DAY_S as f64;
    Part::from_fn(|part, _| {
        let height = height(part);
        let turned = part.div_ceil(2) as f64 * angle;
        match part {
            0 => height,
            _ if part % 2 == 1 => height * cos(turned),
            _ => height * sin(turned),
        }
    })
}

fn height(part: usize) -> f64 {
    SHARES[part.div_ceil(2)].sqrt()
}

/// The waves of a column's readings, a row each.
pub(super) fn waves_of(times_s: &[i64]) -> DMatrix<f64> {
    let mut all = DMatrix::zeros(times_s.len(), PARTS);
    for (row, at_s) in times_s.iter().enumerate() {
        all.row_mut(row).copy_from(&waves(*at_s).transpose());
    }
    all
}

/// Deviation of a column's daily error, K or W/m²: from what of it shows in the residuals, where
/// `taken` is what the unknowns have taken up of each wave, and from what is usual.
pub(super) fn deviation(
    measure: Measure,
    times_s: &[i64],
    residuals: &[f64],
    taken: &DMatrix<f64>,
) -> f64 {
    let usual = usual(measure);
    let (Some((mean, doubt)), Some(left)) = (repeated(times_s, residuals), left_of(times_s, taken))
    else {
        return usual;
    };
    // Mean square of what an error of deviation one leaves in the waves, by parts.
    let shown = left.transpose().tr_mul(&left.transpose());
    let trace = shown.trace().max(1e-9);
    // As many independent parts as the spread of such a sum of squares has.
    let expected = shown * usual.powi(2) + doubt;
    let counts = (usual.powi(2) * trace).powi(2) / expected.norm_squared().max(1e-300);
    let square = ((mean.norm_squared() - doubt.trace()) / trace).max(0.0);
    ((USUAL_COUNTS * usual.powi(2) + counts * square) / (USUAL_COUNTS + counts)).sqrt()
}

/// How high each wave stands in the residuals for one of each in the error.
fn left_of(times_s: &[i64], taken: &DMatrix<f64>) -> Option<Square> {
    let all = waves_of(times_s);
    let root = all.tr_mul(&all).cholesky()?;
    let left = root.solve(&all.tr_mul(&(&all - taken)));
    Some(Square::from_fn(|a, b| height(a) * left[(a, b)]))
}

/// Heights of the waves that whole days have in common, K or W/m², and the covariance of that mean.
fn repeated(times_s: &[i64], residuals: &[f64]) -> Option<(Part, Square)> {
    let days = by_day(times_s, residuals)?;
    let mean = days.iter().sum::<Part>() / days.len() as f64;
    let heights = |of: &Part| Part::from_fn(|part, _| height(part) * of[part]);
    let mut doubt = Square::zeros();
    for day in &days {
        let off = heights(&(day - mean));
        doubt += off * off.transpose();
    }
    let count = days.len() as f64;
    Some((heights(&mean), doubt / (count * (count - 1.0))))
}

/// The waves of each day that has enough readings; nothing if there are too few of them.
fn by_day(times_s: &[i64], residuals: &[f64]) -> Option<Vec<Part>> {
    let mut days: BTreeMap<i64, Vec<(i64, f64)>> = BTreeMap::new();
    for (at_s, value) in times_s.iter().zip(residuals) {
        let day = days.entry(at_s.div_euclid(DAY_S)).or_default();
        day.push((*at_s, *value));
    }
    let days: Vec<Part> = days.values().filter_map(|day| of_day(day)).collect();
    (days.len() >= LEAST_DAYS).then_some(days)
}

fn of_day(day: &[(i64, f64)]) -> Option<Part> {
    if day.len() < LEAST_A_DAY {
        return None;
    }
    let mut square = Square::zeros();
    let mut side = Part::zeros();
    for (at_s, value) in day {
        let own = waves(*at_s);
        square += own * own.transpose();
        side += own * *value;
    }
    Some(square.cholesky()?.solve(&side))
}

/// A column's daily error beside errors of its readings that are independent of one another.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Beside {
    waves: DMatrix<f64>,
    /// The same, a column each.
    across: DMatrix<f64>,
    /// Of one reading.
    unit: f64,
    /// Of the daily error.
    deviation: f64,
    /// Eigenvectors and eigenvalues of the waves' sums of squares, in deviations.
    vectors: DMatrix<f64>,
    vectors_across: DMatrix<f64>,
    values: DVector<f64>,
}

impl Beside {
    /// Of readings at times with deviations of one of them and of the daily error.
    pub(super) fn new(times_s: &[i64], unit: f64, deviation: f64) -> Self {
        let waves = waves_of(times_s);
        let scale = deviation / unit;
        let eigen = (waves.tr_mul(&waves) * (scale * scale)).symmetric_eigen();
        Self {
            across: waves.transpose(),
            waves,
            unit,
            deviation,
            vectors_across: eigen.eigenvectors.transpose(),
            vectors: eigen.eigenvectors,
            values: eigen.eigenvalues,
        }
    }

    /// Residuals, K or W/m², in such combinations that each has a deviation of one and none hangs
    /// together with another: the root of the inverse of `1 + D Dᵀ`, with the waves `D`, before them.
    pub(super) fn whitened(&self, residuals: &[f64]) -> Vec<f64> {
        let share = |value: f64| {
            if value > 1e-12 {
                (1.0 - (1.0 + value).sqrt().recip()) / value
            } else {
                0.5
            }
        };
        let scale = self.deviation / self.unit;
        let off = DVector::from_column_slice(residuals) / self.unit;
        let mut inner = self.vectors.tr_mul(&(self.waves.tr_mul(&off) * scale));
        for (one, value) in inner.iter_mut().zip(self.values.iter()) {
            *one *= share(*value);
        }
        let heights = self.vectors_across.tr_mul(&inner) * scale;
        let waves = self.across.tr_mul(&heights);
        (off - waves).iter().copied().collect()
    }

    /// The likeliest daily error in residuals, reading by reading, K or W/m².
    pub(super) fn likeliest(&self, residuals: &[f64]) -> Vec<f64> {
        let heights = self.heights(&DVector::from_column_slice(residuals));
        self.across.tr_mul(&heights).iter().copied().collect()
    }

    /// Likeliest heights of the waves in residuals, K or W/m².
    fn heights(&self, residuals: &DVector<f64>) -> DVector<f64> {
        let square = (self.deviation / self.unit).powi(2);
        let mut inner = self.vectors.tr_mul(&self.waves.tr_mul(residuals));
        for (one, value) in inner.iter_mut().zip(self.values.iter()) {
            *one *= square / (1.0 + value.max(0.0));
        }
        self.vectors_across.tr_mul(&inner)
    }
}

/// What is known of a column's daily error after a fit.
#[derive(Debug, Clone, PartialEq)]
pub struct DailyError {
    /// The column.
    pub name: String,
    /// Likeliest heights of the waves, K or W/m²: logged less worked out.
    mean: DVector<f64>,
    /// By how much each moves with each of the task's unknowns on its scale, transposed.
    moves: DMatrix<f64>,
    /// Root of the heights' covariance for given unknowns, transposed.
    root: DMatrix<f64>,
    /// How far the heights of each fitted day are off their mean, a row each, so scaled that their
    /// squares come to the variance from day to day.
    days: DMatrix<f64>,
}

impl DailyError {
    pub(super) fn new(
        name: &str,
        times_s: &[i64],
        beside: &Beside,
        residuals: &[f64],
        jacobian: &DMatrix<f64>,
    ) -> Self {
        let columns: Vec<DVector<f64>> = jacobian
            .column_iter()
            .map(|column| -beside.heights(&column.into_owned()))
            .collect();
        let mut root = beside.vectors.clone();
        for (mut column, value) in root.column_iter_mut().zip(beside.values.iter()) {
            column.scale_mut(beside.deviation / (1.0 + value.max(0.0)).sqrt());
        }
        let days = match by_day(times_s, residuals) {
            Some(days) => {
                let mean = days.iter().sum::<Part>() / days.len() as f64;
                // So few days tell of others no better than Student's law has it.
                let freedom = days.len() as f64 - 1.0;
                let scale = student(freedom) / NINE_IN_TEN / freedom.sqrt();
                DMatrix::from_fn(days.len(), PARTS, |day, part| {
                    (days[day][part] - mean[part]) * scale
                })
            }
            None => DMatrix::identity(PARTS, PARTS) * beside.deviation,
        };
        Self {
            name: name.to_owned(),
            mean: -beside.heights(&DVector::from_column_slice(residuals)),
            moves: DMatrix::from_columns(&columns).transpose(),
            root: root.transpose(),
            days,
        }
    }

    /// The likeliest error at times of any day, s, K or W/m²: logged less worked out.
    pub fn likeliest(&self, times_s: &[i64]) -> Vec<f64> {
        times_s.iter().map(|at_s| at(*at_s, &self.mean)).collect()
    }

    /// Root of the mean square of the error that a day may have in the hours of highs, K or W/m².
    pub fn of_afternoons(&self) -> f64 {
        /// Noon to six, standard time.
        const HOURS: [i64; 7] = [12, 13, 14, 15, 16, 17, 18];
        let square = |hour: &i64| {
            let waves = DVector::from_column_slice(waves(hour * 3600).as_slice());
            let own = |rows: &DMatrix<f64>| rows.transpose().tr_mul(&waves).norm_squared();
            waves.dot(&self.mean).powi(2) + own(&self.root) + own(&self.days)
        };
        (HOURS.iter().map(square).sum::<f64>() / HOURS.len() as f64).sqrt()
    }

    /// An error as likely as others at times, s since 1970 local standard time, for unknowns that differ
    /// from the likeliest by `moved` on their scales: what comes back every day, and what is each day's
    /// own. `normal` gives independent standard normal numbers.
    pub fn drawn(
        &self,
        moved: &[f64],
        normal: &mut dyn FnMut() -> f64,
        times_s: &[i64],
    ) -> Vec<f64> {
        let moved = DVector::from_column_slice(moved);
        let every = DVector::from_fn(PARTS, |_, _| normal());
        let every = &self.mean + self.moves.tr_mul(&moved) + self.root.tr_mul(&every);
        let mut days: BTreeMap<i64, DVector<f64>> = BTreeMap::new();
        let mut of = |at_s: &i64| {
            let day = days.entry(at_s.div_euclid(DAY_S)).or_insert_with(|| {
                let own = DVector::from_fn(self.days.nrows(), |_, _| normal());
                &every + self.days.tr_mul(&own)
            });
            at(*at_s, day)
        };
        times_s.iter().map(&mut of).collect()
    }
}

/// Waves of some heights at a time.
fn at(at_s: i64, heights: &DVector<f64>) -> f64 {
    let waves = waves(at_s);
    let pairs = waves.iter().zip(heights);
    pairs.map(|(wave, height)| wave * height).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    const STEP_S: i64 = 3600;

    fn times(days: i64) -> Vec<i64> {
        (0..days * DAY_S / STEP_S).map(|at| at * STEP_S).collect()
    }

    /// Numbers that look random, from −1 to 1.
    fn noise(count: usize) -> Vec<f64> {
        let mut state = 7_u64;
        let mut next = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
        };
        (0..count).map(|_| next()).collect()
    }

    #[test]
    fn waves_have_a_square_of_one_at_any_time() {
        for at_s in (0..DAY_S).step_by(1000) {
            assert!((waves(at_s).norm_squared() - 1.0).abs() < 1e-12);
        }
    }

    /// Whitening twice is the inverse of the errors' covariance, `u² + s² W Wᵀ`, as a general
    /// inverse has it.
    #[test]
    fn whitening_twice_is_the_inverse_of_the_covariance() {
        let times_s = times(3);
        let (unit, deviation) = (1.3, 0.7);
        let beside = Beside::new(&times_s, unit, deviation);
        let across = waves_of(&times_s).transpose();
        let count = times_s.len();
        let covariance = DMatrix::identity(count, count) * (unit * unit)
            + across.tr_mul(&across) * (deviation * deviation);
        let off = noise(count);
        let once: Vec<f64> = beside.whitened(&off).iter().map(|v| v * unit).collect();
        let twice = beside.whitened(&once);
        let wanted = covariance
            .cholesky()
            .unwrap()
            .solve(&DVector::from_vec(off));
        for (found, wanted) in twice.iter().zip(wanted.iter()) {
            assert!((found / unit - wanted).abs() < 1e-10, "{found} {wanted}");
        }
    }

    /// What is common to all readings is told no better than its daily error allows, in a week or in a
    /// year: the information is that of one number with the deviation of the mean.
    #[test]
    fn more_days_do_not_wear_the_daily_error_off() {
        let told = |days: i64| -> f64 {
            let times_s = times(days);
            let constant = vec![1.0; times_s.len()];
            let white = Beside::new(&times_s, 1.0, 0.5).whitened(&constant);
            white.iter().map(|v| v * v).sum()
        };
        let limit = 1.0 / (0.25 * SHARES[0]);
        assert!(
            told(7) > 0.9 * limit && told(365) < limit,
            "{} {limit}",
            told(365)
        );
        assert!(told(365) / told(28) < 1.05);
    }

    #[test]
    fn an_error_that_comes_back_is_seen_and_noise_is_not() {
        let times_s = times(28);
        let nothing = DMatrix::zeros(times_s.len(), PARTS);
        let jitter = noise(times_s.len());
        let of = |high_k: f64, jitter_k: f64, taken: &DMatrix<f64>| {
            let pairs = times_s.iter().zip(&jitter);
            let residuals: Vec<f64> = pairs
                .map(|(at_s, jitter)| {
                    let angle = TAU * *at_s as f64 / DAY_S as f64;
                    high_k * cos(2.0 * angle) + jitter_k * jitter
                })
                .collect();
            deviation(Measure::Temperature, &times_s, &residuals, taken)
        };
        let still = of(0.0, 0.2, &nothing);
        let strong = of(3.0, 0.2, &nothing);
        assert!(still < USUAL_K && strong > 1.0, "{still} {strong}");
        // Days of noise alone do not pass for it.
        assert!(of(0.0, 4.0, &nothing) < 1.2 * USUAL_K);
        // What the unknowns have taken up most of tells of more than is seen.
        let most = waves_of(&times_s) * 0.8;
        assert!(of(0.6, 0.2, &most) > of(0.6, 0.2, &nothing));
        // Too few days tell nothing.
        let nothing = DMatrix::zeros(24, PARTS);
        let short = deviation(
            Measure::Temperature,
            &times_s[..24],
            &jitter[..24],
            &nothing,
        );
        assert!((short - USUAL_K).abs() < 1e-12);
    }

    /// Draws have the mean and the spread that the error has.
    #[test]
    fn draws_spread_as_far_as_the_error_may() {
        let times_s = times(10);
        let beside = Beside::new(&times_s, 1.0, 0.5);
        let residuals: Vec<f64> = noise(times_s.len()).iter().map(|v| 0.5 + v).collect();
        let unmoved = DMatrix::zeros(times_s.len(), 1);
        let error = DailyError::new("ridge", &times_s, &beside, &residuals, &unmoved);
        let mut numbers = noise(400 * 2 * (PARTS + 20)).into_iter();
        // Sums of twelve are near enough to normal; of three even ones, scaled, too.
        let mut normal = || numbers.by_ref().take(3).sum::<f64>();
        let at = [15 * 3600];
        let draws: Vec<f64> = (0..200)
            .map(|_| error.drawn(&[0.0], &mut normal, &at)[0])
            .collect();
        let mean = draws.iter().sum::<f64>() / 200.0;
        let square = draws.iter().map(|d| d * d).sum::<f64>() / 200.0;
        assert!((mean - error.likeliest(&at)[0]).abs() < 0.15, "{mean}");
        assert!(
            (square.sqrt() / error.of_afternoons() - 1.0).abs() < 0.3,
            "{square}"
        );
    }
}
