//! What may be fitted, and what is likely before any reading.

use crate::elementary::{exp, ln};
use crate::house::{HouseFile, Opening, Spread, setting};
use crate::readings::{Readings, Role};
use crate::study::least_squares::Unknown;
use crate::units::{Dimension, parse};
use crate::weather::{Adjustment, Notice, Quantity, Weather};

/// What a fitted number changes.
#[derive(Debug, Clone, PartialEq)]
pub enum Target {
    /// A key of the house file.
    Key {
        /// The key.
        key: String,
        /// What it measures.
        dimension: Dimension,
    },
    /// Temperature of the air at the house against the weather's, K.
    AirOffset,
    /// Factor of the sun's radiation where it was derived.
    Sun,
    /// Infrared from the sky where it was derived: added, W/m².
    Infrared,
    /// How far the sun's clearness goes to the mean of its neighbours, 0 to 1.
    SunSpread,
    /// How much more of clouds the air tells than is usual, where the sun was derived from it.
    SunContrast,
    /// Wind at the house when there is none where it was measured, m/s.
    WindInCalm,
    /// Factor of the snow that likely lies on the roof in frost.
    Snow,
}

/// A number that is not known, and what is likely.
#[derive(Debug, Clone, PartialEq)]
pub struct Prior {
    /// What it changes.
    pub target: Target,
    /// The likeliest value.
    pub value: f64,
    /// Least of what is likely: one in twenty lies below.
    pub low: f64,
    /// Most of what is likely: one in twenty lies above.
    pub high: f64,
    /// Bounds of the search.
    pub bounds: [f64; 2],
    /// Whether likelihood is even in factors and not in differences.
    pub is_ratio: bool,
    /// Where the range comes from.
    pub source: String,
}

/// Standard deviations on either side of the likeliest value that a likely range spans: one in
/// twenty lies below it and one in twenty above.
const LIKELY: f64 = 1.645;
/// How far beyond the likely range the search goes on either side, as a share of its width.
const BEYOND: f64 = 0.5;
/// Ranges whose ends are further apart than this factor are even in factors.
const WIDE: f64 = 3.0;

impl Prior {
    /// A prior from a likely range and the bounds that the input has.
    pub fn new(
        target: Target,
        [value, low, high]: [f64; 3],
        limits: [f64; 2],
        source: &str,
    ) -> Self {
        let is_ratio = low > 0.0 && high / low > WIDE;
        let mut own = Self {
            target,
            value,
            low,
            high,
            bounds: [low, high],
            is_ratio,
            source: source.to_owned(),
        };
        let [z_low, z_high] = [own.z(low), own.z(high)];
        let room = BEYOND * (z_high - z_low);
        own.bounds = [
            own.x(z_low - room).max(limits[0]),
            own.x(z_high + room).min(limits[1]),
        ];
        own
    }

    /// Its name: the key, or of the weather `weather.…`.
    pub fn name(&self) -> &str {
        match &self.target {
            Target::Key { key, .. } => key,
            Target::AirOffset => "weather.air_offset",
            Target::Sun => "weather.sun",
            Target::Infrared => "weather.infrared",
            Target::SunSpread => "weather.sun_spread",
            Target::SunContrast => "weather.sun_contrast",
            Target::WindInCalm => "weather.calm_wind",
            Target::Snow => "weather.snow",
        }
    }

    /// The scale on which its likelihood is normal.
    pub fn z(&self, value: f64) -> f64 {
        if self.is_ratio {
            ln(value.max(1e-300))
        } else {
            value
        }
    }

    /// Back from that scale.
    pub fn x(&self, z: f64) -> f64 {
        if self.is_ratio { exp(z) } else { z }
    }

    /// Standard deviation on that scale.
    pub fn deviation(&self) -> f64 {
        (self.z(self.high) - self.z(self.low)) / (2.0 * LIKELY)
    }

    /// What the search is to know of it, on that scale.
    pub(super) fn unknown(&self, start: f64) -> Unknown {
        Unknown {
            start,
            low: self.z(self.bounds[0]),
            high: self.z(self.bounds[1]),
        }
    }

    /// The setting of the house file for a value; nothing for those of the weather.
    pub fn setting(&self, value: f64) -> Option<(String, String)> {
        match &self.target {
            Target::Key { key, dimension } => Some((key.clone(), setting(value, *dimension))),
            _ => None,
        }
    }
}

/// Values at points on the priors' scales. What is not moved keeps its very value, so that it is not
/// set at all.
pub(super) fn moved(priors: &[Prior], values: &[f64], to: &[f64]) -> Vec<f64> {
    let all = priors.iter().zip(values).zip(to);
    all.map(|((prior, x), z)| {
        if (prior.z(*x) - z).abs() > 0.0 {
            prior.x(*z)
        } else {
            *x
        }
    })
    .collect()
}

/// The weather with the values of those unknowns that belong to it.
pub(super) fn adjustment(priors: &[Prior], values: &[f64]) -> Adjustment {
    let mut own = Adjustment::default();
    for (prior, value) in priors.iter().zip(values) {
        match prior.target {
            Target::AirOffset => own.air_k = *value,
            Target::Sun => own.sun = *value,
            Target::Infrared => own.infrared_w_m2 = *value,
            Target::SunSpread => own.sun_spread = *value,
            Target::SunContrast => own.sun_contrast = *value,
            Target::WindInCalm => own.wind_in_calm_m_s = *value,
            Target::Snow => own.snow = *value,
            Target::Key { .. } => {}
        }
    }
    own
}

/// Everything that may be fitted of a house: what was assumed and has a range; of what is stated,
/// that which is never as stated (vents as built, insulation as laid, the deck's mass); and of the
/// weather, what was not measured at the house.
pub fn priors(file: &HouseFile, weather: &Weather, readings: &Readings) -> Vec<Prior> {
    let mut all: Vec<Prior> = Vec::new();
    for assumption in &file.base.assumed {
        let Spread::Number {
            dimension,
            value,
            low,
            high,
        } = assumption.spread
        else {
            continue;
        };
        if is_vent_discharge(&assumption.field) || high <= low {
            continue;
        }
        let limits = file.limits(&assumption.field);
        let limits = limits.map_or([low, high], |(_, limits)| limits);
        let target = Target::Key {
            key: assumption.field.clone(),
            dimension,
        };
        all.push(Prior::new(
            target,
            [value, low, high],
            limits,
            &assumption.source,
        ));
    }
    all.extend(stated(file));
    all.extend(of_films(file));
    all.extend(of_weather(weather, readings));
    all
}

fn is_vent_discharge(key: &str) -> bool {
    key.starts_with("openings.") && key.ends_with(".discharge")
}

/// Vents as built against vents as drawn, and why.
const AS_BUILT: [f64; 2] = [0.5, 1.6];
const VENTS: &str = "vents as built against vents as drawn: dust, screens, paint, and the coefficient of \
                     their flow; common practice, no source";

/// Stated, and yet not known well.
fn stated(file: &HouseFile) -> Vec<Prior> {
    let mut all = surroundings(file);
    let mut add = |key: String, value: f64, [low, high]: [f64; 2], source: &str| {
        all.extend(of_key(
            file,
            key,
            [value, low * value, high * value],
            source,
        ));
    };
    for table in file.tables("openings") {
        let table = format!("openings.{table}");
        let side = format!("{table}.");
        let is_of = |one: &&Opening| one.name == table || one.name.starts_with(&side);
        let Some(opening) = file.base.openings.iter().find(is_of) else {
            continue;
        };
        if opening.turbine.is_some() || opening.net_free_area_m2 <= 0.0 {
            continue;
        }
        let area = format!("{table}.net_area");
        let typed = file.typed(&area);
        match typed.and_then(|typed| parse(typed, Dimension::Area).ok()) {
            Some(area_m2) => add(area, area_m2, AS_BUILT, VENTS),
            None if file.base.assumed.iter().any(|one| one.field == area) => {}
            None => {
                let coefficient = opening.discharge_coefficient;
                add(format!("{table}.discharge"), coefficient, AS_BUILT, VENTS);
            }
        }
    }
    let quantity = |key: &str, dimension| {
        let typed = file.typed(key)?;
        parse(typed, dimension).ok()
    };
    if let Some(value) = quantity("ceiling.insulation", Dimension::ThermalResistance) {
        add(
            "ceiling.insulation".to_owned(),
            value,
            [0.6, 1.2],
            "insulation as laid against its label: gaps, compression and by-passing air; common \
             practice, no source",
        );
    }
    if let Some(value) = quantity("roof.deck_thickness", Dimension::Length) {
        add(
            "roof.deck_thickness".to_owned(),
            value,
            [0.8, 1.3],
            "mass of deck and rafters; common practice, no source",
        );
    }
    all
}

/// A prior of a key of the house file: likeliest, least and most likely value. None where the key is
/// not one of the file's or nothing is open.
fn of_key(
    file: &HouseFile,
    key: String,
    [value, low, high]: [f64; 3],
    source: &str,
) -> Option<Prior> {
    let (dimension, limits) = file.limits(&key)?;
    let range = [value, low.max(limits[0]), high.min(limits[1])];
    let target = Target::Key { key, dimension };
    (range[2] > range[1]).then(|| Prior::new(target, range, limits, source))
}

/// Films of air, unless the file tells: no two published laws agree on them.
fn of_films(file: &HouseFile) -> Vec<Prior> {
    const WIND: &str = "published films of wind at outer surfaces: in light wind ISO 6946 has half \
         as much for a rough roof as what is worked out here, others up to twice (surveys: Palyvos \
         2008, Applied Thermal Engineering 28, 801; Mirsadeghi and others 2013, Building and \
         Environment 66, 134; from memory)";
    const STILL: &str = "published films of natural convection differ by a third about their \
         middle (Khalifa 2001, Energy Conversion and Management 42, 491; from memory)";
    let own = [
        ("site.wind_film", [1.0, 0.5, 2.0], WIND),
        ("site.natural_film", [1.0, 0.65, 1.5], STILL),
        ("attic.film", [1.0, 0.65, 1.5], STILL),
    ];
    own.into_iter()
        .filter(|(key, ..)| file.typed(key).is_none())
        .filter_map(|(key, range, source)| of_key(file, key.to_owned(), range, source))
        .collect()
}

/// What stands around the house: where the file tells, never just as it tells.
fn surroundings(file: &HouseFile) -> Vec<Prior> {
    const SIDES: &str =
        "trees and houses stand on one side more than on another; common practice, no source";
    const SKYLINE: &str =
        "trees and houses around a house among others; common practice, no source";
    const SIDES_TOLD: &str =
        "what stands on each side, as its owner sees it; a judgement, no source";
    const SKYLINE_TOLD: &str =
        "tops are half as high in places, and half as high again in others; a judgement, no source";
    let high_rad = 12.0_f64.to_radians();
    let told = |key: &str, dimension| parse(file.typed(key)?, dimension).ok();
    let side = |key: &'static str| match told(key, Dimension::Fraction) {
        Some(more) => (key, [more, more - 0.25, more + 0.25], SIDES_TOLD),
        None => (key, [0.0, -0.35, 0.35], SIDES),
    };
    let skyline = match told("site.skyline", Dimension::Angle) {
        Some(high_rad) => ([high_rad, 0.5 * high_rad, 1.5 * high_rad], SKYLINE_TOLD),
        None => ([0.0, 0.0, high_rad], SKYLINE),
    };
    let own = [
        side("site.north_wind"),
        side("site.east_wind"),
        ("site.skyline", skyline.0, skyline.1),
    ];
    own.into_iter()
        .filter_map(|(key, range, source)| of_key(file, key.to_owned(), range, source))
        .collect()
}

/// Snow that is worth an unknown, m²K/W: more than a dusting.
const LITTLE_SNOW_M2K_W: f64 = 0.1;

/// Of the weather, what was not measured at the house.
fn of_weather(weather: &Weather, readings: &Readings) -> Vec<Prior> {
    let measured = |quantity| readings.find(&Role::Outdoors(quantity)).is_some();
    let mut all = Vec::new();
    if !measured(Quantity::DryBulb) {
        all.push(Prior::new(
            Target::AirOffset,
            [0.0, -1.5, 1.5],
            [-4.0, 4.0],
            "a garden against a station some miles off; common practice, no source",
        ));
    }
    if !measured(Quantity::WindSpeed) {
        all.push(Prior::new(
            Target::WindInCalm,
            [0.7, 0.2, 2.0],
            [0.02, 5.0],
            "wind comes and goes between a station and a house some miles off, so that the house has \
             some when the station has none; common practice, no source",
        ));
    }
    let snow = weather.likely_snow_m2k_w();
    if snow.iter().any(|here| *here > LITTLE_SNOW_M2K_W) {
        all.push(Prior::new(
            Target::Snow,
            [0.0, 0.0, 3.0],
            [0.0, 10.0],
            "snow on a roof, by the air's temperature alone, and none where the readings do not tell of \
             it; common practice, no source",
        ));
    }
    let notices = weather.notices();
    let sun = notices.iter().find_map(|notice| match notice {
        Notice::GlobalFromCloud { day_percent, .. } => Some(day_percent / 2.0),
        Notice::GlobalFromTemperatureRange { month_percent, .. } => Some(*month_percent),
        _ => None,
    });
    if let Some(percent) = sun.filter(|_| !measured(Quantity::Global)) {
        let share = LIKELY * percent / 100.0;
        all.push(Prior::new(
            Target::Sun,
            [1.0, 1.0 - share, 1.0 + share],
            [0.4, 1.8],
            "sun that was derived, over weeks",
        ));
    }
    let is_from_air = notices
        .iter()
        .any(|notice| matches!(notice, Notice::GlobalFromTemperatureRange { .. }));
    if is_from_air && !measured(Quantity::Global) {
        all.push(Prior::new(
            Target::SunContrast,
            [1.0, 0.4, 1.8],
            [0.0, 3.0],
            "how plainly clouds show in damp and cool hours: single months at the places of the weather \
             samples that ship, best met by 0.2 to 1.8",
        ));
    }
    if sun.is_none() && !measured(Quantity::Global) {
        all.push(Prior::new(
            Target::SunSpread,
            [0.5, 0.1, 0.9],
            [0.0, 1.0],
            "a cloud over a station is later or never over a house some miles off; common practice, \
             no source",
        ));
    }
    let infrared = notices.iter().find_map(|notice| match notice {
        Notice::InfraredFromCloud { uncertainty_w_m2 }
        | Notice::InfraredFromClearness { uncertainty_w_m2 } => Some(*uncertainty_w_m2),
        _ => None,
    });
    if let Some(spread) = infrared.filter(|_| !measured(Quantity::InfraredDown)) {
        // Over weeks half of an hour's error is left; from the bias found on shipped samples.
        let reach = 0.5 * LIKELY * spread;
        all.push(Prior::new(
            Target::Infrared,
            [0.0, -reach, reach],
            [-60.0, 60.0],
            "infrared from the sky that was derived, over weeks",
        ));
    }
    all
}
