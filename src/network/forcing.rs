//! What drives a house from outside: weather turned into numbers at each surface, on a grid of
//! short intervals inside which all of them change evenly.

use std::f64::consts::PI;
use std::ops::Range;
use std::sync::Arc;

use crate::elementary::{cos, power, sin};
use crate::house::{GivenRooms, Site, Terrain};
use crate::ode::{Real, smoothstep};
use crate::physics::radiation::{emissive_power_w_m2, outward_view};
use crate::sun::{Horizontal, Plane, Sky, SkyModel, physical_incidence_modifier};
use crate::weather::{Conditions, Weather};

/// Shortest usual interval of the grid, s.
pub const GRID_S: f64 = 300.0;

/// One input of the network.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Input {
    /// Outdoor air temperature, K.
    OutdoorTemp,
    /// Outdoor humidity ratio, kg/kg.
    HumidityRatio,
    /// Pressure, Pa.
    Pressure,
    /// Wind at the roof, m/s.
    RoofWind,
    /// Wind pressure on a wall that faces a direction, Pa.
    WallPressure { azimuth_rad: f64 },
    /// Wind pressure on a roof slope, Pa.
    SlopePressure { azimuth_rad: f64, pitch_rad: f64 },
    /// Wind pressure along a ridge, Pa.
    RidgePressure,
    /// Pressure above a wind turbine, a multiple of the dynamic pressure and negative, Pa.
    TurbineSuction { per_dynamic: f64 },
    /// Sun on a plane, W/m².
    Sun { tilt_rad: f64, azimuth_rad: f64 },
    /// Share of a roof that snow hides.
    SnowCover,
    /// Share of a bare roof's exchange with outdoors and sky that snow leaves.
    PastSnow,
    /// Sun through a window per m² of glass at a solar heat gain coefficient of 1, W/m².
    Window { azimuth_rad: f64 },
    /// Long-wave radiation that arrives at a plane, W/m².
    Longwave { tilt_rad: f64 },
    /// Temperature below the soil that is modelled, K.
    Ground,
    /// Temperature of rooms that are given, K.
    Rooms,
    /// Always 1.
    One,
}

impl Input {
    /// Whether it jumps from one interval of the weather to the next; what does gives heat as it is.
    pub(super) fn may_jump(&self) -> bool {
        matches!(self, Self::Sun { .. } | Self::Window { .. })
    }
}

/// Inputs at both ends of each short interval: numbers that change evenly in between.
#[derive(Debug, Clone, PartialEq)]
pub struct Forcing {
    width: usize,
    /// Short intervals in one of the weather.
    parts: usize,
    part_s: f64,
    spans_s: Vec<(f64, f64)>,
    /// First and then last inputs of each short interval.
    edges: Arc<[f64]>,
    start_of_day_s: f64,
}

/// Several short intervals on end, inside which no input jumps.
#[derive(Debug, Clone)]
pub(super) struct Stretch {
    pub(super) from_s: f64,
    width: usize,
    part_s: f64,
    intervals: Range<usize>,
    edges: Arc<[f64]>,
}

impl Stretch {
    /// Place in the edges of the short interval that holds a time, and the share of it gone by.
    #[inline(always)]
    fn place(&self, time_s: f64) -> (usize, f64) {
        let position = (time_s - self.from_s) / self.part_s;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "casts saturate, and the few intervals of a stretch are far from it"
        )]
        let part = (position as usize).min(self.intervals.len() - 1);
        let start = (self.intervals.start + part) * 2 * self.width;
        (start, position - part as f64)
    }

    /// One input at a time.
    pub(super) fn input(&self, input: usize, time_s: f64) -> f64 {
        let (start, share) = self.place(time_s);
        let first = self.edges[start + input];
        first + (self.edges[start + self.width + input] - first) * share
    }

    /// All inputs at a time, in one lane.
    #[inline(always)]
    pub(super) fn inputs<R: Real>(&self, time_s: f64, lane: usize, inputs: &mut [R]) {
        let (start, share) = self.place(time_s);
        let (firsts, lasts) = self.edges[start..start + 2 * self.width].split_at(self.width);
        for ((input, &first), &last) in inputs.iter_mut().zip(firsts).zip(lasts) {
            input.set_lane(lane, first + (last - first) * share);
        }
    }
}

impl Forcing {
    /// Number of short intervals.
    pub fn len(&self) -> usize {
        self.spans_s.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.spans_s.is_empty()
    }

    /// Start and end of a short interval, s from the start of the weather.
    pub fn span(&self, index: usize) -> (f64, f64) {
        self.spans_s[index]
    }

    /// Runs of short intervals in which no input jumps, in order: those of one interval of the
    /// weather each, as far as they lie in `intervals`.
    pub fn stretches(&self, intervals: Range<usize>) -> impl Iterator<Item = Range<usize>> {
        let parts = self.parts;
        let first = intervals.start / parts;
        (first..intervals.end.div_ceil(parts)).map(move |whole| {
            (whole * parts).max(intervals.start)..((whole + 1) * parts).min(intervals.end)
        })
    }

    /// The same on longer intervals that end where this one does, each the straight line of least
    /// squares through what it stands for; short ones at the start that do not fill one are left
    /// out. Good for stores that feel the mean of some hours, not for what is felt at an instant.
    pub fn coarse(&self, interval_s: f64) -> Self {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "casts saturate"
        )]
        let joined = ((interval_s / self.part_s).round() as usize).clamp(1, self.len().max(1));
        if joined == 1 {
            return self.clone();
        }
        let skipped = self.len() % joined;
        let middle = (joined as f64 - 1.0) / 2.0;
        // Σ (i − middle)² over the joined intervals.
        let spread = (joined * (joined * joined - 1)) as f64 / 12.0;
        let mut edges = Vec::with_capacity(2 * self.width * (self.len() / joined));
        let rows = &self.edges[2 * self.width * skipped..];
        for rows in rows.chunks(2 * self.width * joined) {
            let line = |input: usize| {
                let (mut mean, mut rise) = (0.0, 0.0);
                for (at, row) in rows.chunks(2 * self.width).enumerate() {
                    let value = 0.5 * (row[input] + row[self.width + input]);
                    mean += value / joined as f64;
                    rise += value * (at as f64 - middle);
                }
                // What is never negative, such as sun and wind, stays so.
                let half_rise = 0.5 * joined as f64 * rise / spread;
                (mean, half_rise.clamp(-mean.abs(), mean.abs()))
            };
            let lines: Vec<(f64, f64)> = (0..self.width).map(line).collect();
            edges.extend(lines.iter().map(|(mean, half_rise)| mean - half_rise));
            edges.extend(lines.iter().map(|(mean, half_rise)| mean + half_rise));
        }
        let spans = self.spans_s[skipped..].chunks(joined);
        Self {
            width: self.width,
            parts: 1,
            part_s: self.part_s * joined as f64,
            spans_s: spans
                .filter_map(|spans| Some((spans.first()?.0, spans.last()?.1)))
                .collect(),
            edges: edges.into(),
            start_of_day_s: self.start_of_day_s,
        }
    }

    /// The mean of the first inputs of some short intervals, for all time.
    pub(super) fn mean_stretch(&self, intervals: &Range<usize>) -> Stretch {
        let mut mean = vec![0.0; 2 * self.width];
        for interval in intervals.clone() {
            let start = interval * 2 * self.width;
            for input in 0..self.width {
                mean[input] += self.edges[start + input] / intervals.len() as f64;
            }
        }
        let (first, last) = mean.split_at_mut(self.width);
        last.copy_from_slice(first);
        Stretch {
            from_s: self.spans_s[intervals.start].0,
            width: self.width,
            part_s: f64::MAX,
            intervals: 0..1,
            edges: mean.into(),
        }
    }

    /// Short intervals to be marched as one; `intervals` holds at least one.
    pub(super) fn stretch(&self, intervals: Range<usize>) -> Stretch {
        Stretch {
            from_s: self.spans_s[intervals.start].0,
            width: self.width,
            part_s: self.part_s,
            intervals,
            edges: Arc::clone(&self.edges),
        }
    }

    /// The short intervals that lie in the first `length_s` seconds.
    pub fn first_seconds(&self, length_s: f64) -> Range<usize> {
        let start = self.spans_s.first().map_or(0.0, |span| span.0);
        let inside = self
            .spans_s
            .iter()
            .take_while(|span| span.1 <= start + length_s + 1e-6);
        0..inside.count()
    }

    /// Second of the day at which the weather starts.
    pub(super) fn start_of_day_s(&self) -> f64 {
        self.start_of_day_s
    }

    /// The same with its inputs taken from other places.
    #[cfg(test)]
    pub(super) fn with_inputs(&self, places: &[usize]) -> Self {
        let rows = self.edges.chunks(self.width);
        let picked = rows.flat_map(|row| places.iter().map(|&place| row[place]));
        Self {
            width: places.len(),
            edges: picked.collect(),
            ..self.clone()
        }
    }

    /// Mean of an input.
    pub(super) fn mean(&self, input: usize) -> f64 {
        let values = self.edges.iter().skip(input).step_by(2 * self.width);
        values.sum::<f64>() / self.len().max(1) as f64
    }
}

/// Temperature of the ground through the year, below the soil that the network holds.
#[derive(Debug, Clone, Copy, PartialEq)]
struct GroundTemp {
    mean_k: f64,
    swing_k: f64,
    /// Day of the year on which it is warmest.
    warmest_day: f64,
}

/// Yearly swing of the outdoor monthly means about the year's mean where the weather file does not
/// cover a year, K (middle of 3 to 13 K over warm and temperate climates; judgement).
const USUAL_SWING_K: f64 = 8.0;

/// Day on which the outdoor monthly means peak in the north: late July.
const WARMEST_DAY_NORTH: f64 = 205.0;

impl GroundTemp {
    /// The year's mean and the share of its swing that is felt below the floor, a month late
    /// (ISO 13370, simple values).
    fn of(weather: &Weather, annual_mean_c: Option<f64>, swing_share: f64) -> Self {
        let north = weather.place().latitude_deg >= 0.0;
        let warmest = if north {
            WARMEST_DAY_NORTH
        } else {
            WARMEST_DAY_NORTH - 182.5
        };
        let mut sum = 0.0;
        let mut count = 0.0;
        let (mut in_phase, mut phase_weight, mut phase_sum) = (0.0, 0.0, 0.0);
        let start = f64::from(weather.start().day_of_year());
        for (interval, air) in weather.air().iter().enumerate() {
            let temp = air.dry_bulb_k;
            if !temp.is_finite() {
                continue;
            }
            let day = start + interval as f64 * f64::from(weather.step_s()) / 86_400.0;
            let phase = cos(2.0 * PI * (day - warmest) / 365.25);
            sum += temp;
            count += 1.0;
            in_phase += temp * phase;
            phase_weight += phase * phase;
            phase_sum += phase;
        }
        let mean_here = sum / f64::max(count, 1.0);
        let days = count * f64::from(weather.step_s()) / 86_400.0;
        let (mean_k, swing) = if days >= 300.0 {
            (
                mean_here,
                ((in_phase - mean_here * phase_sum) / phase_weight).clamp(0.0, 25.0),
            )
        } else {
            (
                mean_here - USUAL_SWING_K * phase_sum / f64::max(count, 1.0),
                USUAL_SWING_K,
            )
        };
        Self {
            mean_k: annual_mean_c.map_or(mean_k, |mean_c| mean_c + 273.15),
            swing_k: swing * swing_share,
            warmest_day: warmest + 30.0,
        }
    }
}

/// Turns weather into inputs.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Exposure {
    pub(super) inputs: Vec<Input>,
    planes: Vec<Option<Plane>>,
    site: Site,
    roof_height_m: f64,
    ground_swing_share: f64,
    rooms: Option<GivenRooms>,
}

impl Exposure {
    pub(super) fn new(
        inputs: Vec<Input>,
        site: &Site,
        roof_height_m: f64,
        ground_swing_share: f64,
        rooms: Option<&GivenRooms>,
    ) -> Self {
        let planes = inputs
            .iter()
            .map(|input| match *input {
                Input::Sun {
                    tilt_rad,
                    azimuth_rad,
                } => Some(Plane::new(tilt_rad, azimuth_rad)),
                Input::Window { azimuth_rad } => Some(Plane::new(PI / 2.0, azimuth_rad)),
                _ => None,
            })
            .collect();
        Self {
            inputs,
            planes,
            site: Site {
                // No input hangs on them: houses that differ in them are driven alike.
                natural_film: 1.0,
                wind_film: 1.0,
                ..site.clone()
            },
            roof_height_m,
            ground_swing_share,
            rooms: rooms.cloned(),
        }
    }

    /// Inputs over intervals of the weather, on a grid of [`GRID_S`] or the weather's own step
    /// where that is shorter.
    pub(super) fn forcing(&self, weather: &Weather, intervals: Range<usize>) -> Forcing {
        let step_s = f64::from(weather.step_s());
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "1 to 288"
        )]
        let parts = (step_s / GRID_S).round().max(1.0) as usize;
        let part_s = step_s / parts as f64;
        let ground = GroundTemp::of(weather, self.site.annual_mean_c, self.ground_swing_share);
        let gauge_m = self.site.wind_height_m.unwrap_or(weather.wind_height_m());
        let wind_factor = wind_factor(&self.site, self.roof_height_m, gauge_m);
        let start = weather.start();
        let time = start.time();
        let width = self.inputs.len();
        let mut spans_s = Vec::with_capacity(intervals.len() * parts);
        let mut edges = Vec::with_capacity(intervals.len() * parts * 2 * width);
        for interval in intervals {
            let instants = weather.within(interval, parts);
            let rows: Vec<Vec<f64>> = instants
                .iter()
                .map(|now| {
                    let day = f64::from(start.day_of_year()) + now.time_s / 86_400.0;
                    let turn = 2.0 * PI * (day - ground.warmest_day) / 365.25;
                    self.at(
                        now,
                        wind_factor,
                        ground.mean_k + ground.swing_k * cos(turn),
                        match &self.rooms {
                            Some(GivenRooms::Constant { temp_k }) => *temp_k,
                            Some(GivenRooms::Outdoors) => now.dry_bulb_k,
                            Some(GivenRooms::Logged(log)) => log.temp_k(start, now.time_s),
                            None => f64::NAN,
                        },
                    )
                })
                .collect();
            for (part, pair) in rows.windows(2).enumerate() {
                let from_s = interval as f64 * step_s + part as f64 * part_s;
                let to_s = interval as f64 * step_s + (part + 1) as f64 * part_s;
                spans_s.push((from_s, to_s));
                edges.extend_from_slice(&pair[0]);
                edges.extend_from_slice(&pair[1]);
            }
        }
        Forcing {
            width,
            parts,
            part_s,
            spans_s,
            edges: edges.into(),
            start_of_day_s: f64::from(time.hour()) * 3600.0
                + f64::from(time.minute()) * 60.0
                + f64::from(time.second()),
        }
    }

    /// Inputs at an instant.
    fn at(&self, now: &Conditions, wind_factor: f64, ground_k: f64, rooms_k: f64) -> Vec<f64> {
        let wind = now.wind_speed_m_s * wind_factor * self.site.let_through(now.wind_direction_rad);
        let density = crate::physics::airflow::density_kg_m3(
            now.pressure_pa,
            now.dry_bulb_k,
            now.humidity_ratio,
        );
        let dynamic = 0.5 * density * wind * wind;
        let horizontal = Horizontal {
            global_w_m2: now.global_w_m2,
            direct_normal_w_m2: now.direct_normal_w_m2,
            diffuse_w_m2: now.diffuse_w_m2,
        };
        let sky = Sky::new(
            SkyModel::Perez1990,
            &now.sun,
            horizontal,
            now.extraterrestrial_normal_w_m2,
        )
        .behind(skyline_lets_through(
            self.site.skyline_rad,
            now.sun.zenith_rad,
        ));
        let from = now.wind_direction_rad;
        let values =
            self.inputs
                .iter()
                .zip(&self.planes)
                .map(|(input, plane)| match (input, plane) {
                    (Input::OutdoorTemp, _) => now.dry_bulb_k,
                    (Input::HumidityRatio, _) => now.humidity_ratio,
                    (Input::Pressure, _) => now.pressure_pa,
                    (Input::RoofWind, _) => wind,
                    (Input::WallPressure { azimuth_rad }, _) => {
                        dynamic * wall_pressure_coefficient(from - azimuth_rad)
                    }
                    (
                        Input::SlopePressure {
                            azimuth_rad,
                            pitch_rad,
                        },
                        _,
                    ) => dynamic * slope_pressure_coefficient(from - azimuth_rad, *pitch_rad),
                    (Input::TurbineSuction { per_dynamic }, _) => -dynamic * per_dynamic,
                    (Input::RidgePressure, _) => dynamic * RIDGE_PRESSURE_COEFFICIENT,
                    (Input::Sun { .. }, Some(plane)) => {
                        sky.on_plane(plane, self.site.ground_albedo).total_w_m2()
                    }
                    (Input::SnowCover, _) => snow_cover(now.snow_m2k_w),
                    (Input::PastSnow, _) => past_snow(now.snow_m2k_w),
                    (Input::Window { .. }, Some(plane)) => {
                        let sun = sky.on_plane(plane, self.site.ground_albedo);
                        let diffuse = DIFFUSE_INCIDENCE_MODIFIER * (sun.sky_w_m2 + sun.ground_w_m2);
                        sun.beam_w_m2 * physical_incidence_modifier(sun.cos_incidence) + diffuse
                    }
                    (Input::Longwave { tilt_rad }, _) => {
                        let view = outward_view(*tilt_rad);
                        view.sky * now.infrared_down_w_m2
                            + (view.air + view.ground) * emissive_power_w_m2(now.dry_bulb_k)
                    }
                    (Input::Ground, _) => ground_k,
                    (Input::Rooms, _) => rooms_k,
                    _ => 1.0,
                });
        values.collect()
    }
}

/// Incidence-angle modifier of glass for light from all over a hemisphere: that of a beam at 60°,
/// the effective angle of Brandemuehl & Beckman 1980 (from memory).
const DIFFUSE_INCIDENCE_MODIFIER: f64 = 0.93;

/// Mean pressure coefficient at a ridge vent for any wind: −0.3 to −0.6 (from memory).
const RIDGE_PRESSURE_COEFFICIENT: f64 = -0.45;

/// Share of the weather station's wind that reaches the height of the roof.
///
/// `U = U_met (δ_met/h_met)^a_met (H/δ)^a` (ASHRAE Handbook—Fundamentals, air flow around
/// buildings; exponents and layer depths from memory), times the shelter of what stands near.
fn wind_factor(site: &Site, roof_height_m: f64, gauge_m: f64) -> f64 {
    let (met, here) = (Terrain::Open.profile(), site.terrain.profile());
    let station = power(met.layer_m / gauge_m, met.exponent);
    station * power(roof_height_m / here.layer_m, here.exponent) * site.shelter
}

/// Share of a bare surface's exchange with air and sky that a layer of snow over it leaves, when its
/// own surface exchanges 5 W/(m² K) by radiation and 10 by convection (round values).
fn past_snow(snow_m2k_w: f64) -> f64 {
    const SURFACE_W_M2K: f64 = 15.0;
    1.0 / (1.0 + snow_m2k_w * SURFACE_W_M2K)
}

/// Share of a roof that a layer of snow hides.
fn snow_cover(snow_m2k_w: f64) -> f64 {
    // A layer that hides the roof: some centimetres.
    const COVERED_M2K_W: f64 = 0.2;
    (snow_m2k_w / COVERED_M2K_W).min(1.0)
}

/// Share of the sun that warms a roof: its absorptance or, through snow, what that takes in at its
/// surface and does not give off again. Old snow reflects 0.5 to 0.8 (Oke 1987, from memory).
#[inline(always)]
pub(super) fn taken_in<R: Real>(absorptance: R, snow_cover: R, past_snow: R) -> R {
    const SNOW_ABSORPTANCE: f64 = 0.3;
    let hidden = R::splat(SNOW_ABSORPTANCE) - absorptance;
    (absorptance + hidden * snow_cover) * past_snow
}

impl Site {
    /// Share of the mean wind that comes through from a direction.
    fn let_through(&self, from_rad: f64) -> f64 {
        const LEAST: f64 = 0.1;
        let more = self.north_wind * cos(from_rad) + self.east_wind * sin(from_rad);
        (1.0 + more).max(LEAST)
    }
}

/// Share of the sun's beam that passes over a skyline. Its tops are uneven: half as high in places,
/// and half as high again in others.
fn skyline_lets_through(skyline_rad: f64, zenith_rad: f64) -> f64 {
    if skyline_rad <= 0.0 {
        return 1.0;
    }
    smoothstep((0.5 * PI - zenith_rad) / skyline_rad - 0.5)
}

/// Mean pressure coefficient of a wall by the angle between wind and its outward normal.
///
/// Swami & Chandra 1987, equal walls, at 0°, 30°, … 180°.
fn wall_pressure_coefficient(angle_rad: f64) -> f64 {
    const AT_30_DEGREES: [f64; 7] = [0.603, 0.469, 0.119, -0.443, -0.681, -0.390, -0.364];
    along(&AT_30_DEGREES, angle_rad, 30.0)
}

/// Mean pressure coefficient of a roof slope by the angle between wind and the direction in which
/// it falls, and by its pitch.
///
/// Up to 30°: averages of the whole roof, exposed, length twice the width (Liddament 1986 tables as
/// printed in a government coefficient library). Steeper: windward +0.2, leeward −0.6 (from
/// memory). Between the classes' middles by straight lines.
fn slope_pressure_coefficient(angle_rad: f64, pitch_rad: f64) -> f64 {
    const FLAT: [f64; 5] = [-0.7, -0.7, -0.8, -0.7, -0.7];
    const MIDDLE: [f64; 5] = [-0.6, -0.65, -0.7, -0.65, -0.6];
    const STEEP: [f64; 5] = [0.2, 0.1, -0.6, -0.6, -0.6];
    let pitch = pitch_rad.to_degrees();
    let at = |table: &[f64; 5]| along(table, angle_rad, 45.0);
    if pitch < 20.0 {
        let share = ((pitch - 5.0) / 15.0).clamp(0.0, 1.0);
        at(&FLAT) * (1.0 - share) + at(&MIDDLE) * share
    } else {
        let share = ((pitch - 20.0) / 20.0).clamp(0.0, 1.0);
        at(&MIDDLE) * (1.0 - share) + at(&STEEP) * share
    }
}

/// Value at an angle of a table from 0° to 180°, the same on both sides, by straight lines.
fn along(table: &[f64], angle_rad: f64, step_deg: f64) -> f64 {
    let turned = angle_rad.to_degrees().rem_euclid(360.0);
    let position = turned.min(360.0 - turned) / step_deg;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "0 to 6"
    )]
    let index = (position as usize).min(table.len() - 2);
    let share = position - index as f64;
    table[index] * (1.0 - share) + table[index + 1] * share
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wind_presses_on_the_wall_it_meets_and_pulls_at_the_others() {
        assert!((wall_pressure_coefficient(0.0) - 0.603).abs() < 1e-12);
        assert!((wall_pressure_coefficient(PI) + 0.364).abs() < 1e-12);
        let (left, right) = (
            wall_pressure_coefficient(1.2),
            wall_pressure_coefficient(-1.2),
        );
        assert!((left - right).abs() < 1e-12 && left < 0.0);
    }

    #[test]
    fn a_steep_slope_is_pressed_where_a_flat_one_is_lifted() {
        assert!(slope_pressure_coefficient(0.0, 45_f64.to_radians()) > 0.0);
        assert!(slope_pressure_coefficient(0.0, 5_f64.to_radians()) < 0.0);
    }

    #[test]
    fn coarse_intervals_keep_the_mean_and_the_sign_and_end_where_the_fine_ones_do() {
        let site = crate::house::HouseFile::from_text(crate::house::STARTER, "house.toml")
            .unwrap()
            .base
            .site;
        let inputs = vec![
            Input::OutdoorTemp,
            Input::RoofWind,
            Input::Sun {
                tilt_rad: 0.4,
                azimuth_rad: PI,
            },
        ];
        let weather = crate::weather::MadeWeek::default().weather().unwrap();
        let exposure = Exposure::new(inputs, &site, 5.0, 1.0, None);
        // Three records that fill no coarse interval are left out at the start.
        let fine = exposure.forcing(&weather, 21..96);
        let coarse = fine.coarse(4.0 * 3600.0);
        assert_eq!(coarse.len(), 18);
        assert!((coarse.span(17).1 - fine.span(fine.len() - 1).1).abs() < 1e-6);
        assert!((coarse.span(0).0 - f64::from(weather.step_s()) * 24.0).abs() < 1e-6);
        let kept = exposure.forcing(&weather, 24..96);
        for input in 0..3 {
            // Both ends of every interval, since the inputs change evenly in between.
            let mean = |forcing: &Forcing| {
                let rows = forcing.edges.chunks(forcing.width);
                rows.map(|row| row[input]).sum::<f64>() / (2 * forcing.len()) as f64
            };
            assert!((mean(&coarse) / mean(&kept) - 1.0).abs() < 1e-12);
            assert!(coarse.edges.iter().all(|&edge| edge >= 0.0));
        }
        assert_eq!(fine.coarse(1.0), fine);
    }

    #[test]
    fn trees_and_houses_slow_the_wind() {
        let site = |terrain, shelter| Site {
            latitude_deg: None,
            longitude_deg: None,
            terrain,
            shelter,
            north_wind: 0.0,
            east_wind: 0.0,
            natural_film: 1.0,
            wind_film: 1.0,
            skyline_rad: 0.0,
            ground_albedo: 0.2,
            soil: crate::house::Soil::Clay,
            wind_height_m: None,
            annual_mean_c: None,
            climate_zone: None,
        };
        let open = wind_factor(&site(Terrain::Open, 1.0), 10.0, 10.0);
        assert!((open - 1.0).abs() < 1e-12);
        assert!(wind_factor(&site(Terrain::Suburban, 1.0), 5.0, 10.0) < 0.62);
        assert!(wind_factor(&site(Terrain::Open, 0.5), 10.0, 10.0) < 0.51);
    }

    #[test]
    fn wind_comes_through_more_on_the_open_side_and_no_less_than_a_tenth() {
        let mut site = crate::house::HouseFile::from_text(crate::house::STARTER, "house.toml")
            .unwrap()
            .base
            .site;
        assert!((site.let_through(1.0) - 1.0).abs() < 1e-15);
        site.north_wind = 0.3;
        site.east_wind = -0.8;
        assert!((site.let_through(0.0) - 1.3).abs() < 1e-12);
        assert!((site.let_through(PI) - 0.7).abs() < 1e-12);
        assert!((site.let_through(1.5 * PI) - 1.8).abs() < 1e-12);
        site.north_wind = 0.8;
        assert!((site.let_through(0.75 * PI) - 0.1).abs() < 1e-12);
    }

    #[test]
    fn a_skyline_hides_a_low_sun_only() {
        let zenith = |height_deg: f64| (90.0 - height_deg).to_radians();
        let skyline = 10.0_f64.to_radians();
        assert!(skyline_lets_through(skyline, zenith(4.9)) <= 0.0);
        assert!((skyline_lets_through(skyline, zenith(10.0)) - 0.5).abs() < 1e-9);
        assert!(skyline_lets_through(skyline, zenith(15.1)) >= 1.0);
        assert!(skyline_lets_through(0.0, zenith(0.1)) >= 1.0);
    }

    #[test]
    fn snow_holds_back_heat_in_series_with_the_surface_and_hides_its_colour() {
        assert!((past_snow(0.0) - 1.0).abs() < 1e-15);
        // 1/15 of the surface and 1 of the snow.
        assert!((past_snow(1.0) - (1.0 / 15.0) / (1.0 / 15.0 + 1.0)).abs() < 1e-12);
        let taken_in = |absorptance: f64, snow: f64| {
            super::taken_in(absorptance, snow_cover(snow), past_snow(snow))
        };
        assert!((taken_in(0.9, 0.0) - 0.9).abs() < 1e-15);
        assert!((taken_in(0.9, 1.0) - taken_in(0.2, 1.0)).abs() < 1e-15);
        assert!(taken_in(0.9, 0.1) < 0.9);
    }
}
