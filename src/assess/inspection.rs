//! What a house is, before any run: sizes, vents against the rules, and what looks wrong.

use crate::house::{Barrier, BarrierPlace, Channel, Direction, FanGroup, House, Place, VentArea};

use super::trade_rules::{
    Rule, Ruling, Verdict, fan_inlet_m2, fan_is_beside_vent, rulings, whole_house_exit_m2,
};

/// A house in numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Inspection {
    /// Vents of the attic, fans' holes not counted, against the rule.
    pub vents: VentArea,
    /// Number of fans.
    pub fans: u32,
    /// What their labels say together, m³/s in free air.
    pub fan_label_m3_s: f64,
    /// Vent area that the trade asks for with such fans, m².
    pub inlet_asked_m2: f64,
    /// What the labels of whole-house fans say together, m³/s in free air at top speed.
    pub whole_house_m3_s: f64,
    /// Exit area of the attic that whole-house fans ask for, m².
    pub exit_asked_m2: f64,
    /// What looks wrong.
    pub warnings: Vec<Warning>,
}

/// Something about a house that its owner should look at.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Warning {
    /// The attic has no vents.
    NoVents,
    /// The vents are less than 1/300 of the attic floor.
    VentsBelow300,
    /// The vents are between 1/300 and 1/150, but not balanced between low and high.
    VentsBelow150,
    /// All vents are at one height.
    VentsAtOneHeight,
    /// Fans with less inlet area than the trade asks for.
    InletsTooSmall {
        /// There is, m².
        there_m2: f64,
        /// Asked for, m².
        asked_m2: f64,
    },
    /// A whole-house fan with less exit area out of the attic than its makers ask for.
    ExitsTooSmall {
        /// There is, m².
        there_m2: f64,
        /// Asked for, m².
        asked_m2: f64,
    },
    /// Exhaust fans that have no vent to draw from.
    FansWithoutInlets,
    /// A fan blows out close to a vent of the same side and height, which may feed it.
    FanBesideVent,
    /// A foil whose face to the attic is not bright.
    DullBarrier {
        /// Emittance.
        emittance: f64,
    },
    /// The channel behind a hung foil leads hot air back into the attic.
    ChannelIntoAttic,
    /// A thermometer with no shield.
    BareSensors {
        /// How many.
        count: usize,
    },
    /// The ceiling has no insulation.
    NoInsulation,
    /// A cooling plant of whose ducts nothing is said.
    DuctsUnsaid,
}

/// Difference of height below which two things are at one height, m.
const SAME_HEIGHT_M: f64 = 0.3;

/// Looks at a house.
pub fn inspect(house: &House) -> Inspection {
    let vents = house.vent_area();
    let in_attic = |group: &&FanGroup| group.place != Place::Ceiling;
    let fans = house.fans.iter().filter(in_attic);
    let fans = fans.map(|group| group.count).sum();
    let whole_house_m3_s = house.whole_house_flow_m3_s();
    let exit_asked_m2 = whole_house_exit_m2(whole_house_m3_s);
    let fan_label_m3_s = house.fan_label_flow_m3_s();
    let inlet_asked_m2 = fan_inlet_m2(fan_label_m3_s);
    let mut warnings = Vec::new();
    let rules = rulings(house);
    vent_warnings(house, &vents, &rules, &mut warnings);
    fan_warnings(house, &vents, &rules, &mut warnings);
    if let Some([there_m2, asked_m2]) = shortfall(&rules, Rule::WholeHouseExit) {
        warnings.push(Warning::ExitsTooSmall { there_m2, asked_m2 });
    }
    if house.ceiling.insulation.is_empty() && !house.ceiling.open {
        warnings.push(Warning::NoInsulation);
    }
    if house.living.cooling.is_some() && house.living.ducts.is_none() {
        warnings.push(Warning::DuctsUnsaid);
    }
    if let Some(barrier) = &house.barrier {
        barrier_warnings(barrier, &mut warnings);
    }
    let bare = house
        .sensors
        .iter()
        .filter(|sensor| sensor.zone == crate::house::SensorZone::Attic && sensor.shielding < 0.5);
    let count = bare.count();
    if count > 0 {
        warnings.push(Warning::BareSensors { count });
    }
    Inspection {
        vents,
        fans,
        fan_label_m3_s,
        inlet_asked_m2,
        whole_house_m3_s,
        exit_asked_m2,
        warnings,
    }
}

/// What there is and what a rule asks for, where it is not met.
fn shortfall(rules: &[Ruling], rule: Rule) -> Option<[f64; 2]> {
    let ruling = rules.iter().find(|one| one.rule == rule)?;
    ruling.short_by()?;
    Some([ruling.there?.value(), ruling.asked?.value()])
}

fn vent_warnings(house: &House, vents: &VentArea, rules: &[Ruling], warnings: &mut Vec<Warning>) {
    if house.attic.sealed {
        return;
    }
    if vents.total_m2 <= 0.0 {
        warnings.push(Warning::NoVents);
        return;
    }
    let is_met = |rule| {
        let mut met = rules.iter().filter(|one| one.verdict == Verdict::Met);
        met.any(|one| one.rule == rule)
    };
    if shortfall(rules, Rule::BalancedVentRatio).is_some() {
        warnings.push(Warning::VentsBelow300);
    } else if !is_met(Rule::VentRatio) && !is_met(Rule::BalancedVentRatio) {
        warnings.push(Warning::VentsBelow150);
    }
    let heights = || house.openings.iter().map(|opening| opening.height_m);
    let low = heights().fold(f64::INFINITY, f64::min);
    let high = heights().fold(f64::NEG_INFINITY, f64::max);
    if high - low < SAME_HEIGHT_M {
        warnings.push(Warning::VentsAtOneHeight);
    }
}

fn fan_warnings(house: &House, vents: &VentArea, rules: &[Ruling], warnings: &mut Vec<Warning>) {
    let running = || {
        let fans = house.fans.iter();
        fans.filter(|group| group.count > 0 && group.place != Place::Ceiling)
    };
    if running().next().is_none() {
        return;
    }
    if vents.total_m2 <= 0.0 {
        if running().any(|group| group.direction == Direction::Exhaust) {
            warnings.push(Warning::FansWithoutInlets);
        }
    } else if let Some([there_m2, asked_m2]) = shortfall(rules, Rule::FanInlet) {
        warnings.push(Warning::InletsTooSmall { there_m2, asked_m2 });
    }
    if fan_is_beside_vent(house) {
        warnings.push(Warning::FanBesideVent);
    }
}

fn barrier_warnings(barrier: &Barrier, warnings: &mut Vec<Warning>) {
    // A radiant barrier by name has an emittance of 0.1 or less (ASTM C1313, from memory); paints
    // reach 0.25 or less (ASTM C1321).
    if barrier.emittance_attic > 0.25 {
        warnings.push(Warning::DullBarrier {
            emittance: barrier.emittance_attic,
        });
    }
    if let BarrierPlace::Rafters {
        channel: Channel::Attic | Channel::EaveToAttic,
        ..
    } = barrier.place
    {
        warnings.push(Warning::ChannelIntoAttic);
    }
}
