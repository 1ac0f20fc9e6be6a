//! Which air passes where in a house over a short time, and the pressures that go with it.

use std::f64::consts::{FRAC_PI_2, PI};
use std::ops::Range;

use crate::elementary::cos;
use crate::house::{House, Place, RoofForm};
use crate::run::Outcome;

use super::vents::{Through, plain, through};

/// Where an arrow stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spot {
    /// Under an eave; `true` is the right-hand one.
    Eave(bool),
    /// In a slope.
    Slope(bool),
    /// At the ridge.
    Ridge,
    /// In the high wall under a one-slope roof.
    HighWall,
    /// In an end wall.
    Gable(bool),
    /// In a side wall of the rooms.
    SideWall(bool),
    /// In an end wall of the rooms.
    EndWall(bool),
    /// Through the ceiling.
    Ceiling,
}

/// Air through openings of one kind at one spot.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrow {
    /// Label.
    pub label: String,
    /// Where it is.
    pub spot: Spot,
    /// Flow into the attic, or into the rooms through their walls, m³/s.
    pub into_m3_s: f64,
    /// Whether fans drive it.
    pub is_fan: bool,
}

impl Arrow {
    /// Whether it passes an outer wall of the rooms, not a border of the attic.
    pub fn is_of_rooms(&self) -> bool {
        matches!(self.spot, Spot::SideWall(_) | Spot::EndWall(_))
    }
}

/// Air and pressures of a house over a short time.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// Title, for people who cannot see the chart.
    pub title: String,
    /// Whether one slope only.
    pub is_one_slope: bool,
    /// Directions in words: left and right side, left and right end.
    pub sides: [&'static str; 4],
    /// Air.
    pub arrows: Vec<Arrow>,
    /// Pressure of the attic at its floor against outdoors, Pa.
    pub attic_pa: f64,
    /// Pressure of the rooms at their floor against outdoors, Pa.
    pub living_pa: f64,
    /// Mean temperatures of attic, rooms and outdoors, K.
    pub temps_k: [f64; 3],
}

impl Section {
    /// Means over `span_s` of a run. Mass flows are shown as volumes of attic air.
    pub fn of_run(house: &House, outcome: &Outcome, span_s: &Range<f64>) -> Self {
        let through = through(house, outcome);
        let mean = Means::over(outcome, span_s);
        let ridge = house.roof.ridge_azimuth_rad;
        let right = ridge + FRAC_PI_2;
        let mut arrows: Vec<Arrow> = Vec::new();
        for (path, kind) in outcome.paths.iter().zip(&through) {
            let Some((label, spot, is_fan)) = place(house, &path.name, *kind, ridge, right) else {
                continue;
            };
            let inward = match spot {
                Spot::SideWall(_) | Spot::EndWall(_) => path.to == "living",
                _ => path.to == "attic",
            };
            let flow = mean.flows_kg_s[path.meter] / mean.density_kg_m3;
            let into_m3_s = if inward { flow } else { -flow };
            let same = |known: &&mut Arrow| known.spot == spot && known.label == label;
            match arrows.iter_mut().find(same) {
                Some(known) => known.into_m3_s += into_m3_s,
                None => arrows.push(Arrow {
                    label,
                    spot,
                    into_m3_s,
                    is_fan,
                }),
            }
        }
        let turned = |turn: f64| crate::units::show::direction(ridge + turn);
        Self {
            title: format!("Air and pressures in the house, {}", outcome.design),
            is_one_slope: house.roof.form == RoofForm::OneSlope,
            sides: [
                turned(-FRAC_PI_2),
                turned(FRAC_PI_2),
                turned(PI),
                turned(0.0),
            ],
            arrows,
            attic_pa: mean.of(&outcome.trace.attic_pressure_pa),
            living_pa: mean.of(&outcome.trace.living_pressure_pa),
            temps_k: [
                mean.of(&outcome.trace.attic_air_k),
                mean.of(&outcome.trace.living_air_k),
                mean.of(&outcome.trace.outdoor_k),
            ],
        }
    }
}

/// Label and place of a path; nothing for those that are not drawn.
fn place(
    house: &House,
    name: &str,
    kind: Through,
    ridge_rad: f64,
    right_rad: f64,
) -> Option<(String, Spot, bool)> {
    let is_right = |azimuth: f64| cos(azimuth - right_rad) > 0.0;
    let is_right_end = |azimuth: f64| cos(azimuth - ridge_rad) > 0.0;
    let faces_end = |azimuth: f64| cos(azimuth - ridge_rad).abs() > 0.71;
    let spot = |where_: Place, azimuth: f64| match where_ {
        Place::Soffit => Spot::Eave(is_right(azimuth)),
        Place::Ridge => Spot::Ridge,
        Place::Slope => Spot::Slope(is_right(azimuth)),
        Place::Gable if faces_end(azimuth) => Spot::Gable(is_right_end(azimuth)),
        Place::Gable => Spot::HighWall,
        Place::Ceiling => Spot::Ceiling,
    };
    let wall = |azimuth: f64| {
        if faces_end(azimuth) {
            Spot::EndWall(is_right_end(azimuth))
        } else {
            Spot::SideWall(is_right(azimuth))
        }
    };
    // Vents, spare holes and leaks of one place are one arrow.
    let still = |spot: Spot| {
        let label = match spot {
            Spot::Eave(false) if house.roof.form == RoofForm::OneSlope => "high side",
            Spot::Eave(_) => "eaves",
            Spot::Slope(_) => "roof vents",
            Spot::Ridge => "ridge",
            Spot::HighWall => "high wall",
            _ => "gable",
        };
        Some((label.to_owned(), spot, false))
    };
    match kind {
        Through::Opening(index) => {
            let opening = house.openings.get(index)?;
            still(spot(opening.place, opening.azimuth_rad))
        }
        Through::Fans(index) => {
            let group = house.fans.get(index)?;
            let label = if group.count == 1 {
                "fan".to_owned()
            } else {
                format!("{} fans", group.count)
            };
            Some((label, spot(group.place, group.azimuth_rad), true))
        }
        Through::SpareHoles => {
            let stem = name.strip_suffix("-unused")?;
            let group = house.fans.iter().find(|group| plain(&group.name) == stem)?;
            still(spot(group.place, group.azimuth_rad))
        }
        Through::Ceiling => Some(("ceiling leaks".to_owned(), Spot::Ceiling, false)),
        Through::AtticLeak => {
            let side = name.strip_prefix("attic-leak-")?;
            let spot = if side == "ridge" {
                Spot::Ridge
            } else {
                let azimuth = azimuth_of(side)?;
                if faces_end(azimuth) {
                    Spot::Gable(is_right_end(azimuth))
                } else {
                    Spot::Eave(is_right(azimuth))
                }
            };
            still(spot)
        }
        Through::Wall => {
            let side = name.strip_prefix("wall-leak-")?.split('-').next()?;
            Some(("leaks".to_owned(), wall(azimuth_of(side)?), false))
        }
        Through::Window => {
            let airing = house.living.airing.as_ref()?;
            let turn = if name.contains("-b-") { PI } else { 0.0 };
            Some(("windows".to_owned(), wall(airing.azimuth_rad + turn), false))
        }
        Through::Crawl | Through::Channel => None,
    }
}

/// Direction of one of the sixteen points of the compass, rad.
fn azimuth_of(point: &str) -> Option<f64> {
    const POINTS: [&str; 16] = [
        "n", "nne", "ne", "ene", "e", "ese", "se", "sse", "s", "ssw", "sw", "wsw", "w", "wnw",
        "nw", "nnw",
    ];
    let index = POINTS.iter().position(|known| *known == point)?;
    Some(index as f64 * PI / 8.0)
}

/// Means over a part of a run.
struct Means {
    flows_kg_s: Vec<f64>,
    /// Of the attic's air.
    density_kg_m3: f64,
    /// Readings of the trace that lie in the part.
    readings: Range<usize>,
}

impl Means {
    fn over(outcome: &Outcome, span_s: &Range<f64>) -> Self {
        let mut flows_kg_s = vec![0.0; outcome.flow_names.len()];
        let mut length_s = 0.0;
        for row in 0..outcome.times_s.len() {
            let part_s = outcome.interval_s(row);
            let middle_s = outcome.times_s[row] - 0.5 * part_s;
            if span_s.contains(&middle_s) {
                length_s += part_s;
                for (sum, flow) in flows_kg_s.iter_mut().zip(outcome.flow_row(row)) {
                    *sum += flow * part_s;
                }
            }
        }
        if length_s > 0.0 {
            for flow in &mut flows_kg_s {
                *flow /= length_s;
            }
        }
        let times_s = &outcome.trace.times_s;
        // A reading is the mean of the part that it ends.
        let first = times_s.partition_point(|t| *t < span_s.start + 1e-6);
        let end = times_s.partition_point(|t| *t <= span_s.end + 1e-6);
        let mut means = Self {
            flows_kg_s,
            density_kg_m3: USUAL_DENSITY_KG_M3,
            readings: first..end.max(first),
        };
        let entering: f64 = outcome
            .paths
            .iter()
            .map(|path| {
                let flow = means.flows_kg_s[path.meter];
                match (path.from, path.to) {
                    ("attic", "attic") => 0.0,
                    (_, "attic") => flow.max(0.0),
                    ("attic", _) => (-flow).max(0.0),
                    _ => 0.0,
                }
            })
            .sum();
        // What enters by mass and what it is by volume give the density that the run had.
        let volume =
            means.of(&outcome.trace.attic_ach) / 3_600.0 * outcome.landmarks.attic_volume_m3;
        let density = entering / volume;
        if (0.6..1.5).contains(&density) {
            means.density_kg_m3 = density;
        }
        means
    }

    fn of(&self, column: &[f64]) -> f64 {
        let values = column.get(self.readings.start..self.readings.end.min(column.len()));
        match values {
            Some(values) if !values.is_empty() => values.iter().sum::<f64>() / values.len() as f64,
            _ => f64::NAN,
        }
    }
}

/// Of air near 20 °C at sea level, where a run tells none, kg/m³.
const USUAL_DENSITY_KG_M3: f64 = 1.2;
