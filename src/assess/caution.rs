//! Where the work that a design asks for can hurt someone.

use crate::house::{BarrierPlace, Direction, House, Place};
use crate::run::Outcome;
use crate::units::celsius;

use super::air::running_share;
use super::{Readings, smallest};

/// Attic air above which nobody should go in, °C: about 120 °F (common practice, no source).
const NO_ENTRY_C: f64 = 49.0;

/// Emittance below which a barrier is foil or metal, which conducts.
const METAL_EMITTANCE: f64 = 0.15;

/// A caution, with what it depends on.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Caution {
    /// Working in a hot attic.
    HeatIllness {
        /// Highest attic air of the period, °C.
        attic_high_c: f64,
        /// Earliest and latest hour of the day at which the attic was above 49 °C, if it was.
        no_entry_hours: Option<(u32, u32)>,
    },
    /// Stepping through a ceiling.
    FallThroughCeiling,
    /// Loose-fill insulation that may hold asbestos.
    OldInsulation,
    /// Wiring under insulation, foil or fans.
    OldWiring,
    /// Metal foil near live wires.
    FoilAndWires,
    /// Foil on the floor holds back vapour in cold weather.
    FoilAndVapour,
    /// Fans feed a fire.
    FansAndFire,
    /// Direct current, fuses and batteries.
    DirectCurrent,
    /// Fans that lower the pressure in a house with a flue.
    Combustion {
        /// How far.
        level: Depressurised,
        /// Lowest pressure of the rooms while fans ran, Pa.
        pressure_pa: f64,
    },
    /// The same where nothing was run that tells how far.
    Fumes,
    /// Embers, and flame, through vents.
    Embers,
    /// Work on a roof.
    RoofWork,
    /// An old flue as a hole for a fan.
    OldFlue,
}

/// How far the pressure in the rooms falls against what natural-draught appliances bear.
///
/// Limits of −2 Pa (a natural-draught water heater alone on its chimney) and −5 Pa (a furnace, or
/// a draught with a damper) from technical standards of a building trade body before 2014, from
/// memory. Powered attic ventilators measured alone lowered houses by 0.5 to 2.5 Pa, so half the
/// first limit is where to begin to look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Depressurised {
    /// Less than 1 Pa below outdoors.
    Little,
    /// From 1 Pa.
    Watch,
    /// From 2 Pa: more than a natural-draught water heater bears.
    WaterHeater,
    /// From 5 Pa: more than a natural-draught furnace bears.
    Furnace,
}

impl Depressurised {
    fn of(pressure_pa: f64) -> Self {
        match -pressure_pa {
            p if p >= 5.0 => Self::Furnace,
            p if p >= 2.0 => Self::WaterHeater,
            p if p >= 1.0 => Self::Watch,
            _ => Self::Little,
        }
    }
}

impl Caution {
    /// Code by which outputs name it.
    pub fn code(&self) -> &'static str {
        match self {
            Self::HeatIllness { .. } => "heat_illness",
            Self::FallThroughCeiling => "fall_through_ceiling",
            Self::OldInsulation => "old_insulation",
            Self::OldWiring => "old_wiring",
            Self::FoilAndWires => "foil_and_wires",
            Self::FoilAndVapour => "foil_and_vapour",
            Self::FansAndFire => "fans_and_fire",
            Self::DirectCurrent => "direct_current",
            Self::Combustion { .. } | Self::Fumes => "combustion_appliances",
            Self::Embers => "embers_at_vents",
            Self::RoofWork => "roof_work",
            Self::OldFlue => "old_flue",
        }
    }

    /// Whether the numbers of this run, not only the kind of work, call for it.
    pub fn is_pressing(&self) -> bool {
        match self {
            Self::HeatIllness { no_entry_hours, .. } => no_entry_hours.is_some(),
            Self::Combustion { level, .. } => *level >= Depressurised::Watch,
            _ => false,
        }
    }

    /// Whether the numbers of this one are graver than those of another of its kind.
    pub fn is_graver_than(&self, other: &Self) -> bool {
        match (self, other) {
            (
                Self::HeatIllness {
                    attic_high_c: a, ..
                },
                Self::HeatIllness {
                    attic_high_c: b, ..
                },
            ) => a > b,
            (Self::Combustion { pressure_pa: a, .. }, Self::Combustion { pressure_pa: b, .. }) => {
                a < b
            }
            _ => false,
        }
    }

    /// Those that follow from a house without a run.
    pub fn of_house(house: &House) -> Vec<Self> {
        let fans = house.fans.iter().any(|group| group.count > 0);
        let mut cautions = vec![Self::FallThroughCeiling, Self::OldInsulation];
        if let Some(barrier) = &house.barrier {
            if barrier.emittance_attic < METAL_EMITTANCE {
                cautions.push(Self::FoilAndWires);
            }
            if barrier.place == BarrierPlace::Floor {
                cautions.push(Self::FoilAndVapour);
            }
        }
        cautions.push(Self::OldWiring);
        if draws_out(house) {
            cautions.push(Self::Fumes);
        }
        if fans {
            cautions.extend([Self::FansAndFire, Self::DirectCurrent]);
        }
        let on_roof = |place: Place| matches!(place, Place::Ridge | Place::Slope);
        if house.fans.iter().any(|g| g.count > 0 && on_roof(g.place))
            || house.openings.iter().any(|opening| on_roof(opening.place))
        {
            cautions.push(Self::RoofWork);
        }
        if house.fans.iter().any(|g| g.name.contains("flue")) {
            cautions.push(Self::OldFlue);
        }
        if fans || !house.openings.is_empty() {
            cautions.push(Self::Embers);
        }
        cautions
    }

    /// Those that follow from what is varied of a house, by keys of the house file, without a run.
    pub fn of_fields<'a>(keys: impl IntoIterator<Item = &'a str>) -> Vec<Self> {
        let keys: Vec<&str> = keys.into_iter().collect();
        // A design may hold any of them.
        let varies = |table: &str| {
            let is_of = |key: &&str| *key == "design" || key.split('.').next() == Some(table);
            keys.iter().any(is_of)
        };
        let mut cautions = vec![
            Self::FallThroughCeiling,
            Self::OldInsulation,
            Self::OldWiring,
        ];
        if varies("barrier") {
            cautions.extend([Self::FoilAndWires, Self::FoilAndVapour]);
        }
        if varies("fans") {
            cautions.extend([Self::Fumes, Self::FansAndFire, Self::DirectCurrent]);
        }
        if varies("roof") {
            cautions.push(Self::RoofWork);
        }
        if varies("fans") || varies("openings") {
            cautions.push(Self::Embers);
        }
        cautions
    }
}

pub(super) fn cautions(house: &House, outcome: &Outcome, readings: &Readings) -> Vec<Caution> {
    let mut cautions = vec![Caution::HeatIllness {
        attic_high_c: readings.attic_air.peak.temp_c,
        no_entry_hours: no_entry_hours(outcome),
    }];
    if draws_out(house) {
        let pressure_pa = lowest_with_fans_pa(outcome);
        cautions.push(Caution::Combustion {
            level: Depressurised::of(pressure_pa),
            pressure_pa,
        });
    }
    let of_house = Caution::of_house(house).into_iter();
    cautions.extend(of_house.filter(|one| *one != Caution::Fumes));
    cautions
}

/// Whether fans draw air out of the attic, and with it out of the rooms.
fn draws_out(house: &House) -> bool {
    let mut groups = house.fans.iter();
    groups.any(|group| group.count > 0 && group.direction == Direction::Exhaust)
}

/// First and last whole hour of the day in which the attic's air was ever too hot to enter.
fn no_entry_hours(outcome: &Outcome) -> Option<(u32, u32)> {
    let start = outcome.start.time();
    let start_s = f64::from(start.hour()) * 3600.0 + f64::from(start.minute()) * 60.0;
    let mut span: Option<(u32, u32)> = None;
    for (&time_s, &air_k) in outcome.trace.times_s.iter().zip(&outcome.trace.attic_air_k) {
        if celsius(air_k) < NO_ENTRY_C {
            continue;
        }
        let hour_of_day = (start_s + time_s).rem_euclid(86_400.0) / 3600.0;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "hours of a day"
        )]
        let hour = hour_of_day as u32;
        span = Some(span.map_or((hour, hour + 1), |(from, to)| {
            (from.min(hour), to.max(hour + 1))
        }));
    }
    span
}

/// Lowest pressure of the rooms in output intervals in which a fan ran, Pa.
fn lowest_with_fans_pa(outcome: &Outcome) -> f64 {
    let mut row = 0;
    let mut seen = Vec::new();
    let trace = &outcome.trace;
    for (&time_s, &pressure_pa) in trace.times_s.iter().zip(&trace.living_pressure_pa) {
        while row + 1 < outcome.times_s.len() && outcome.times_s[row] < time_s - 1e-6 {
            row += 1;
        }
        // Only where they ran throughout.
        if !outcome.times_s.is_empty() && running_share(outcome, row) > 0.999 {
            seen.push(pressure_pa);
        }
    }
    let lowest = smallest(&seen);
    if lowest.is_nan() { 0.0 } else { lowest }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_varied_brings_its_cautions() {
        let of = |keys: &[&'static str]| Caution::of_fields(keys.iter().copied());
        assert!(of(&["fans.gable.count"]).contains(&Caution::Fumes));
        assert!(of(&["design"]).contains(&Caution::Fumes));
        let insulation = of(&["ceiling.insulation"]);
        assert!(insulation.contains(&Caution::FallThroughCeiling));
        assert!(!insulation.contains(&Caution::Fumes) && !insulation.contains(&Caution::RoofWork));
        assert!(of(&["roof.absorptance"]).contains(&Caution::RoofWork));
    }

    #[test]
    fn levels_follow_the_limits() {
        assert_eq!(Depressurised::of(0.5), Depressurised::Little);
        assert_eq!(Depressurised::of(-0.99), Depressurised::Little);
        assert_eq!(Depressurised::of(-1.0), Depressurised::Watch);
        assert_eq!(Depressurised::of(-2.1), Depressurised::WaterHeater);
        assert_eq!(Depressurised::of(-7.0), Depressurised::Furnace);
    }
}
