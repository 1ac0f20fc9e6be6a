//! What codes and the ventilating trade ask of vents and fans: rules, not physics.
//!
//! The ratio of 1/300 dates from a lender's rule of 1942 and has no measurement behind it (W. B.
//! Rose, on the early history of attic ventilation). Inspectors hold houses to these rules all the
//! same, so they are worked out exactly as written. Local codes prevail.

use std::f64::consts::FRAC_PI_2;

use crate::house::{Direction, FanGroup, House, Opening, Place};

/// One foot, m.
const FOOT_M: f64 = 0.3048;
/// One square foot, m².
const FOOT2_M2: f64 = FOOT_M * FOOT_M;
/// One cubic foot a minute, m³/s.
const CFM_M3_S: f64 = FOOT_M * FOOT_M * FOOT_M / 60.0;

/// Floor for one part of vents, the general rule (IRC R806.2).
const FLOOR_PER_VENT: f64 = 150.0;
/// The same where vents are balanced (IRC R806.2).
const FLOOR_PER_BALANCED_VENT: f64 = 300.0;
/// Share of the vents that is to be high up for that (IRC R806.2, 2012).
const BALANCED_SHARE: [f64; 2] = [0.4, 0.5];
/// The same in older texts.
const OLDER_BALANCED_SHARE: [f64; 2] = [0.5, 0.8];
/// How far high vents are to be above the eave vents in older texts, m.
const OLDER_RISE_M: f64 = 3.0 * FOOT_M;
/// Fan flow for each floor area, m³/s for 1 m²: 0.7 cfm for 1 ft² (Home Ventilating Institute).
const FLOW_PER_FLOOR_M_S: f64 = 0.7 * CFM_M3_S / FOOT2_M2;
/// What a dark or steep roof adds to it (Home Ventilating Institute).
const DARK_OR_STEEP: f64 = 1.15;
/// Air changes that the same source asks for, 1/s.
const AIR_CHANGES_PER_S: f64 = 10.0 / 3600.0;
/// Absorptance from which a roof is taken as dark (a judgement; the rule names no figure).
const DARK_ABSORPTANCE: f64 = 0.8;
/// Pitch from which a roof is taken as steep, rise over run (a judgement; the rule names no figure).
const STEEP_RISE: f64 = 8.0 / 12.0;
/// Vents for each flow of fans, m² for 1 m³/s: 1 ft² for 300 cfm (Home Ventilating Institute).
const INLET_PER_FLOW: f64 = FOOT2_M2 / (300.0 * CFM_M3_S);
/// Exits for each flow of a whole-house fan: 1 ft² for 500 cfm at top speed (a maker's manual, at
/// second hand).
const EXIT_PER_FLOW: f64 = FOOT2_M2 / (500.0 * CFM_M3_S);
/// The same by other makers: 1 ft² for 750 cfm (from memory).
const SMALLER_EXIT_PER_FLOW: f64 = FOOT2_M2 / (750.0 * CFM_M3_S);
/// Difference of height below which a fan and a vent are at one height, m.
const SAME_HEIGHT_M: f64 = 0.3;

/// Clear way for air between insulation and deck at the eave, m: 1 in (IRC R806.3).
pub const AIR_PATH_M: f64 = FOOT_M / 12.0;
/// Least and largest opening of a vent or of the mesh over it, m: 1/16 to 1/4 in (IRC R806.1).
pub const MESH_M: [f64; 2] = [FOOT_M / 12.0 / 16.0, FOOT_M / 12.0 / 4.0];

/// Mean height of an attic at which the two ways of stating a fan's size agree, m: 4.2 ft.
pub const AGREEING_HEIGHT_M: f64 = FLOW_PER_FLOOR_M_S / AIR_CHANGES_PER_S;

/// A rule of a code or of the trade.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Rule {
    /// Vents of 1/150 of the attic floor (IRC R806.2, 2012).
    VentRatio,
    /// Vents of 1/300, 40 to 50 % of them within 3 ft of the ridge (IRC R806.2, 2012; by later
    /// editions, from memory, also a vapour retarder in climate zones 6 to 8).
    BalancedVentRatio,
    /// Vents of 1/300, 50 to 80 % of them 3 ft above the eave vents (older editions).
    OlderVentRatio,
    /// Low vents not less than high ones (the trade, at second hand).
    IntakeNotLess,
    /// An inch of clear air path above the insulation at the eave (IRC R806.3).
    AirPath,
    /// Openings or mesh of 1/16 to 1/4 in (IRC R806.1).
    Mesh,
    /// Fan flow by floor area: 0.7 cfm for 1 ft², 0.805 for a dark or steep roof (Home Ventilating
    /// Institute).
    FanFlowByFloor,
    /// Fan flow of ten air changes an hour of the attic's true volume (Home Ventilating Institute).
    FanFlowByVolume,
    /// Vents of 1 ft² for 300 cfm of fans (Home Ventilating Institute).
    FanInlet,
    /// No vents beside fans (common practice, no source).
    FanAwayFromVents,
    /// Exits out of the attic of 1 ft² for 500 cfm of a whole-house fan (a maker's manual, at second
    /// hand).
    WholeHouseExit,
    /// The same with 1 ft² for 750 cfm (from memory).
    SmallerWholeHouseExit,
}

impl Rule {
    /// Name in machine-readable output.
    pub fn code(self) -> &'static str {
        match self {
            Self::VentRatio => "vents_1_150",
            Self::BalancedVentRatio => "vents_1_300",
            Self::OlderVentRatio => "vents_1_300_older",
            Self::IntakeNotLess => "intake_not_less",
            Self::AirPath => "air_path",
            Self::Mesh => "mesh",
            Self::FanFlowByFloor => "fan_flow_by_floor",
            Self::FanFlowByVolume => "fan_flow_by_volume",
            Self::FanInlet => "fan_inlet",
            Self::FanAwayFromVents => "fan_away_from_vents",
            Self::WholeHouseExit => "whole_house_exit",
            Self::SmallerWholeHouseExit => "whole_house_exit_smaller",
        }
    }

    /// Where it is written.
    pub fn source(self) -> &'static str {
        match self {
            Self::VentRatio | Self::BalancedVentRatio => "IRC R806.2 (2012)",
            Self::OlderVentRatio => "older editions of IRC R806",
            Self::IntakeNotLess => "the trade, at second hand",
            Self::AirPath => "IRC R806.3",
            Self::Mesh => "IRC R806.1 (2012)",
            Self::FanFlowByFloor | Self::FanFlowByVolume | Self::FanInlet => {
                "Home Ventilating Institute"
            }
            Self::FanAwayFromVents => "common practice, no source",
            Self::WholeHouseExit => "a maker's manual, at second hand",
            Self::SmallerWholeHouseExit => "other makers, from memory",
        }
    }
}

/// What a rule is about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// m².
    Area(f64),
    /// m³/s.
    Flow(f64),
}

impl Amount {
    /// Its value in SI units.
    pub fn value(self) -> f64 {
        match self {
            Self::Area(value) | Self::Flow(value) => value,
        }
    }
}

/// Whether a house meets a rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// It does.
    Met,
    /// It does not.
    NotMet,
    /// The house file does not say: look on site.
    Look,
}

/// A rule as it applies to a house.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ruling {
    /// Which.
    pub rule: Rule,
    /// What it asks for at least, where it asks for an amount.
    pub asked: Option<Amount>,
    /// What there is.
    pub there: Option<Amount>,
    /// Of the vents, the share that counts as high by this rule, where that matters.
    pub high_share: Option<f64>,
    /// Whether that is enough.
    pub verdict: Verdict,
}

impl Ruling {
    fn amounts(rule: Rule, asked: Amount, there: Amount) -> Self {
        Self {
            rule,
            asked: Some(asked),
            there: Some(there),
            high_share: None,
            verdict: verdict(there.value() >= asked.value()),
        }
    }

    fn plain(rule: Rule, verdict: Verdict) -> Self {
        Self {
            rule,
            asked: None,
            there: None,
            high_share: None,
            verdict,
        }
    }

    fn balanced(self, share: f64, [least, most]: [f64; 2]) -> Self {
        let is_met = self.verdict == Verdict::Met && (least..=most).contains(&share);
        Self {
            high_share: Some(share),
            verdict: verdict(is_met),
            ..self
        }
    }
}

/// Vents that the general rule asks for under a floor, both m².
pub fn vents_at_150_m2(floor_m2: f64) -> f64 {
    floor_m2 / FLOOR_PER_VENT
}

/// Vents that the rule for balanced ones asks for under a floor, both m².
pub fn vents_at_300_m2(floor_m2: f64) -> f64 {
    floor_m2 / FLOOR_PER_BALANCED_VENT
}

/// Fan flow that the trade asks for over a floor in m², m³/s.
pub fn fan_flow_by_floor_m3_s(floor_m2: f64, is_dark_or_steep: bool) -> f64 {
    let usual = floor_m2 * FLOW_PER_FLOOR_M_S;
    usual * if is_dark_or_steep { DARK_OR_STEEP } else { 1.0 }
}

/// Fan flow that the trade asks for in an attic of a volume in m³, m³/s.
pub fn fan_flow_by_volume_m3_s(volume_m3: f64) -> f64 {
    volume_m3 * AIR_CHANGES_PER_S
}

/// Vents that the trade asks for with fans of a flow in m³/s, m².
pub fn fan_inlet_m2(flow_m3_s: f64) -> f64 {
    flow_m3_s * INLET_PER_FLOW
}

/// Exits out of the attic that whole-house fans of a flow in m³/s ask for, m².
pub fn whole_house_exit_m2(flow_m3_s: f64) -> f64 {
    flow_m3_s * EXIT_PER_FLOW
}

/// Whether the trade counts a roof as dark or steep.
pub fn is_dark_or_steep(house: &House) -> bool {
    house.roof.solar_absorptance >= DARK_ABSORPTANCE
        || house.roof.pitch_rad.min(FRAC_PI_2).tan() >= STEEP_RISE
}

/// Fan groups between attic and outdoors that have fans.
fn attic_fans(house: &House) -> impl Iterator<Item = &FanGroup> {
    let fans = house.fans.iter();
    fans.filter(|group| group.count > 0 && group.place != Place::Ceiling)
}

/// Whether a fan blows out close to a vent of the same side and height, which may feed it.
pub(super) fn fan_is_beside_vent(house: &House) -> bool {
    let near = |group: &FanGroup, opening: &Opening| {
        opening.place == group.place
            && opening.place != Place::Soffit
            && (opening.azimuth_rad - group.azimuth_rad).cos() > 0.99
            && (opening.height_m - group.height_m).abs() < SAME_HEIGHT_M
    };
    attic_fans(house).any(|group| {
        let mut openings = house.openings.iter();
        openings.any(|opening| near(group, opening))
    })
}

/// The rules that apply to a house, in the order of the code and then of the trade.
pub fn rulings(house: &House) -> Vec<Ruling> {
    let mut all = Vec::new();
    if !house.attic.sealed {
        vent_rulings(house, &mut all);
        fan_rulings(house, &mut all);
    }
    let whole_house_m3_s = house.whole_house_flow_m3_s();
    if whole_house_m3_s > 0.0 {
        let there = Amount::Area(house.vent_area().total_m2);
        for (rule, per_flow) in [
            (Rule::WholeHouseExit, EXIT_PER_FLOW),
            (Rule::SmallerWholeHouseExit, SMALLER_EXIT_PER_FLOW),
        ] {
            let asked = Amount::Area(whole_house_m3_s * per_flow);
            all.push(Ruling::amounts(rule, asked, there));
        }
    }
    all
}

fn vent_rulings(house: &House, all: &mut Vec<Ruling>) {
    let vents = house.vent_area();
    let there = Amount::Area(vents.total_m2);
    let asked_150 = Amount::Area(vents_at_150_m2(vents.floor_m2));
    let asked_300 = Amount::Area(vents_at_300_m2(vents.floor_m2));
    all.push(Ruling::amounts(Rule::VentRatio, asked_150, there));
    let balanced = Ruling::amounts(Rule::BalancedVentRatio, asked_300, there);
    all.push(balanced.balanced(vents.high_share(), BALANCED_SHARE));
    let older = Ruling::amounts(Rule::OlderVentRatio, asked_300, there);
    all.push(older.balanced(share_above_eave_vents(house), OLDER_BALANCED_SHARE));
    if vents.total_m2 > 0.0 {
        let high = Amount::Area(vents.high_m2);
        let low = Amount::Area(vents.total_m2 - vents.high_m2);
        all.push(Ruling::amounts(Rule::IntakeNotLess, high, low));
    }
    if house.openings.iter().any(|one| one.place == Place::Soffit) {
        all.push(Ruling::plain(Rule::AirPath, Verdict::Look));
    }
    if vents.total_m2 > 0.0 {
        all.push(Ruling::plain(Rule::Mesh, Verdict::Look));
    }
}

fn fan_rulings(house: &House, all: &mut Vec<Ruling>) {
    if attic_fans(house).next().is_none() {
        return;
    }
    let flow_m3_s = house.fan_label_flow_m3_s();
    let (shape, there) = (house.attic_shape(), Amount::Flow(flow_m3_s));
    let floor_m2 = shape.floor_area_m2();
    let by_floor = fan_flow_by_floor_m3_s(floor_m2, is_dark_or_steep(house));
    let by_volume = fan_flow_by_volume_m3_s(shape.volume_m3());
    for (rule, asked) in [
        (Rule::FanFlowByFloor, by_floor),
        (Rule::FanFlowByVolume, by_volume),
    ] {
        all.push(Ruling::amounts(rule, Amount::Flow(asked), there));
    }
    let exhausts = attic_fans(house).any(|group| group.direction == Direction::Exhaust);
    let asked = Amount::Area(fan_inlet_m2(flow_m3_s));
    let vents = Amount::Area(house.vent_area().total_m2);
    all.push(Ruling::amounts(Rule::FanInlet, asked, vents));
    if exhausts {
        let apart = verdict(!fan_is_beside_vent(house));
        all.push(Ruling::plain(Rule::FanAwayFromVents, apart));
    }
}

/// Share of the vents that is at least 3 ft above the lowest of them, as older texts count.
fn share_above_eave_vents(house: &House) -> f64 {
    let lowest_m = house
        .openings
        .iter()
        .map(|opening| opening.height_m)
        .fold(f64::INFINITY, f64::min);
    let (mut above, mut whole) = (0.0, 0.0);
    for opening in &house.openings {
        whole += opening.net_free_area_m2;
        if opening.height_m - lowest_m >= OLDER_RISE_M {
            above += opening.net_free_area_m2;
        }
    }
    if whole > 0.0 { above / whole } else { 0.0 }
}

fn verdict(is_met: bool) -> Verdict {
    if is_met {
        Verdict::Met
    } else {
        Verdict::NotMet
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, wanted: f64) {
        assert!((found / wanted - 1.0).abs() < 1e-12, "{found} for {wanted}");
    }

    /// IRC R806.2 (2012): 1,500 ft² asks for 10 ft² = 1,440 in² (0.929 m²).
    #[test]
    fn published_one_in_a_hundred_and_fifty() {
        let asked = vents_at_150_m2(1500.0 * FOOT2_M2);
        near(asked / FOOT2_M2, 10.0);
        near(asked / (FOOT2_M2 / 144.0), 1440.0);
        assert!((asked - 0.929).abs() < 5e-4);
    }

    /// IRC R806.2 (2012): 1,500 ft² asks for 5 ft² = 720 in², of which 288 to 360 in² are high.
    #[test]
    fn published_one_in_three_hundred() {
        let asked = vents_at_300_m2(1500.0 * FOOT2_M2);
        let in2 = asked / (FOOT2_M2 / 144.0);
        near(asked / FOOT2_M2, 5.0);
        near(in2, 720.0);
        near(BALANCED_SHARE[0] * in2, 288.0);
        near(BALANCED_SHARE[1] * in2, 360.0);
    }

    /// Home Ventilating Institute: 1,000, 2,000 and 3,000 ft² ask for 700, 1,400 and 2,100 cfm, and
    /// for 805, 1,610 and 2,415 cfm under a dark or steep roof; 0.7 cfm/ft² is 3.56 L/s for 1 m².
    #[test]
    fn published_fan_flow_by_floor() {
        for (floor_ft2, usual_cfm, dark_cfm) in [
            (1000.0, 700.0, 805.0),
            (2000.0, 1400.0, 1610.0),
            (3000.0, 2100.0, 2415.0),
        ] {
            let floor_m2 = floor_ft2 * FOOT2_M2;
            near(
                fan_flow_by_floor_m3_s(floor_m2, false) / CFM_M3_S,
                usual_cfm,
            );
            near(fan_flow_by_floor_m3_s(floor_m2, true) / CFM_M3_S, dark_cfm);
        }
        assert!((FLOW_PER_FLOOR_M_S * 1e3 - 3.56).abs() < 5e-3);
    }

    /// Home Ventilating Institute: 805 cfm ask for 386 in² of vents (805/300 × 144 = 386.4).
    #[test]
    fn published_inlet_of_fans() {
        let in2 = fan_inlet_m2(805.0 * CFM_M3_S) / (FOOT2_M2 / 144.0);
        near(in2, 386.4);
    }

    /// 0.7 cfm/ft² is ten air changes an hour only in an attic 4.2 ft high on average (derived).
    #[test]
    fn published_fan_flow_by_floor_and_by_volume_agree_at_four_feet_two() {
        near(AGREEING_HEIGHT_M / FOOT_M, 4.2);
        let floor_m2 = 1000.0 * FOOT2_M2;
        near(
            fan_flow_by_volume_m3_s(floor_m2 * 4.2 * FOOT_M),
            fan_flow_by_floor_m3_s(floor_m2, false),
        );
    }

    /// IRC R806.1 and R806.3: 1/16 to 1/4 in, and 1 in (25 mm).
    #[test]
    fn published_air_path_and_mesh() {
        near(AIR_PATH_M, 0.0254);
        near(MESH_M[0], 0.0254 / 16.0);
        near(MESH_M[1], 0.00635);
    }

    /// A maker's manual, at second hand: 4,500 cfm ask for 9 ft²; by others (from memory) for 6 ft².
    #[test]
    fn published_exits_of_a_whole_house_fan() {
        let flow = 4500.0 * CFM_M3_S;
        near(whole_house_exit_m2(flow) / FOOT2_M2, 9.0);
        near(flow * SMALLER_EXIT_PER_FLOW / FOOT2_M2, 6.0);
    }
}
