//! How far fitted readings are from logged ones, and how many of them say something of their own.

use super::compare::Measure;

/// How well readings are met.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Quality {
    /// Number of readings.
    pub count: usize,
    /// Mean of worked out less logged, K or W/m².
    pub bias: f64,
    /// Root of the mean square, K or W/m².
    pub rmse: f64,
    /// Mean distance of the days' highest readings, K or W/m².
    pub peak_off: f64,
    /// Standard deviation of how far the days' highest readings are off, K or W/m².
    pub peak_spread: f64,
    /// Number of days of which the highest is known.
    pub days: usize,
    /// Bias against the mean logged reading (°C or W/m²): normalised mean bias error.
    pub nmbe: f64,
    /// Root mean square against the mean logged reading (°C or W/m²).
    pub cv_rmse: f64,
}

/// Readings of a day that it must have for its highest to count.
const LEAST_A_DAY: usize = 18;
const DAY_S: i64 = 86_400;

impl Quality {
    /// Of readings at times, s local standard time.
    pub fn of(measure: Measure, times_s: &[i64], worked_out: &[f64], logged: &[f64]) -> Self {
        let count = logged.len();
        if count == 0 {
            return Self::default();
        }
        let n = count as f64;
        let errors = || worked_out.iter().zip(logged).map(|(a, b)| a - b);
        let bias = errors().sum::<f64>() / n;
        let rmse = (errors().map(|e| e * e).sum::<f64>() / n).sqrt();
        let mean = logged.iter().sum::<f64>() / n;
        let mean = match measure {
            Measure::Temperature => crate::units::celsius(mean),
            Measure::HeatFlux => mean,
        };
        let mut peaks: std::collections::BTreeMap<i64, (f64, f64, usize)> =
            std::collections::BTreeMap::new();
        for (at_s, (a, b)) in times_s.iter().zip(worked_out.iter().zip(logged)) {
            let day = peaks.entry(at_s.div_euclid(DAY_S)).or_insert((
                f64::NEG_INFINITY,
                f64::NEG_INFINITY,
                0,
            ));
            *day = (day.0.max(*a), day.1.max(*b), day.2 + 1);
        }
        let told = peaks.values().filter(|day| day.2 >= LEAST_A_DAY);
        let apart: Vec<f64> = told.map(|day| day.0 - day.1).collect();
        let peaks = apart.len().max(1) as f64;
        let middle = apart.iter().sum::<f64>() / peaks;
        let squares = apart.iter().map(|apart| (apart - middle).powi(2));
        Self {
            count,
            bias,
            rmse,
            peak_off: apart.iter().map(|apart| apart.abs()).sum::<f64>() / peaks,
            peak_spread: (squares.sum::<f64>() / (peaks - 1.0).max(1.0)).sqrt(),
            days: apart.len(),
            nmbe: bias / mean,
            cv_rmse: rmse / mean.abs(),
        }
    }
}

/// Most time over which residuals are taken to hang together, s.
const LONGEST_S: i64 = 48 * 3600;

/// How many independent readings have the information of these: `N / (1 + 2 Σ ρ_k)`, the sum cut
/// where pairs of neighbouring correlations turn negative (Geyer 1992, initial positive sequence) or
/// after two days. Readings are taken as evenly spaced.
pub fn effective_count(residuals: &[f64], step_s: i64) -> f64 {
    let n = residuals.len();
    if n < 4 {
        return n as f64;
    }
    let mean = residuals.iter().sum::<f64>() / n as f64;
    let centred: Vec<f64> = residuals.iter().map(|r| r - mean).collect();
    let variance: f64 = centred.iter().map(|r| r * r).sum();
    if variance <= 0.0 {
        return n as f64;
    }
    let correlation = |lag: usize| -> f64 {
        let pairs = centred.iter().zip(centred.iter().skip(lag));
        pairs.map(|(a, b)| a * b).sum::<f64>() / variance
    };
    let most = usize::try_from(LONGEST_S / step_s.max(1))
        .unwrap_or(n)
        .min(n / 2);
    let mut sum = 0.0;
    let mut lag = 1;
    while lag < most {
        let pair = correlation(lag) + correlation(lag + 1);
        if pair <= 0.0 {
            break;
        }
        sum += pair;
        lag += 2;
    }
    (n as f64 / (1.0 + 2.0 * sum)).max(1.0)
}

/// Half of nine in ten, in standard deviations of a normal law.
pub(in crate::study) const NINE_IN_TEN: f64 = 1.645;

/// Half of nine in ten of Student's law: the first terms of its expansion about the normal one
/// (Abramowitz & Stegun 26.7.5), within 2 % from two degrees of freedom on.
pub(in crate::study) fn student(freedom: f64) -> f64 {
    let z = NINE_IN_TEN;
    let v = freedom.max(1.0);
    let first = (z.powi(3) + z) / 4.0;
    let second = (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / 96.0;
    let third = (3.0 * z.powi(7) + 19.0 * z.powi(5) + 17.0 * z.powi(3) - 15.0 * z) / 384.0;
    z + first / v + second / (v * v) + third / (v * v * v)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_that_repeat_one_another_count_less() {
        // An autoregressive series with ρ = 0.9: N_eff = N (1 − ρ)/(1 + ρ) = N/19.
        let mut state = 12_345_u64;
        let mut noise = || {
            let mut sum = 0.0;
            for _ in 0..12 {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1_442_695_040_888_963_407);
                sum += (state >> 11) as f64 / (1_u64 << 53) as f64;
            }
            sum - 6.0
        };
        let mut now = 0.0;
        let series: Vec<f64> = (0..20_000)
            .map(|_| {
                now = 0.9 * now + noise();
                now
            })
            .collect();
        let share = effective_count(&series, 600) / 20_000.0;
        assert!((share * 19.0 - 1.0).abs() < 0.15, "{share}");
        let white: Vec<f64> = (0..20_000).map(|_| noise()).collect();
        assert!(effective_count(&white, 600) > 17_000.0);
    }

    #[test]
    fn bias_spread_and_peaks_are_what_they_are() {
        let times: Vec<i64> = (0..48).map(|h| h * 3600).collect();
        let logged: Vec<f64> = (0..48).map(|h| 293.15 + f64::from(h % 24)).collect();
        let worked: Vec<f64> = logged.iter().map(|k| k + 2.0).collect();
        let quality = Quality::of(Measure::Temperature, &times, &worked, &logged);
        assert!((quality.bias - 2.0).abs() < 1e-9 && (quality.rmse - 2.0).abs() < 1e-9);
        assert!((quality.peak_off - 2.0).abs() < 1e-9 && quality.days == 2);
        assert!((quality.nmbe - 2.0 / 31.5).abs() < 1e-9);
    }

    /// One side 0.95 of the usual tables of Student's law, from memory.
    #[test]
    fn students_law_is_that_of_its_tables() {
        for (freedom, quantile) in [(2.0, 2.920), (3.0, 2.353), (5.0, 2.015), (10.0, 1.812)] {
            let off = student(freedom) / quantile - 1.0;
            assert!(off.abs() < 0.02, "{freedom}: {off}");
        }
        assert!((student(f64::INFINITY) - NINE_IN_TEN).abs() < 1e-12);
    }
}
