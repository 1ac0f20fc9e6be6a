//! What each rule asks for, in figures: formulas, their sources, their worked examples.

use std::f64::consts::FRAC_PI_2;

use crate::elementary::tan;
use crate::house::House;

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
pub(super) const BALANCED_SHARE: [f64; 2] = [0.4, 0.5];
/// Climate zone from which on a vapour retarder matters to it (IRC R806.2, 2012).
pub(super) const COLD_ZONE: u32 = 6;
/// The same in older texts.
pub(super) const OLDER_BALANCED_SHARE: [f64; 2] = [0.5, 0.8];
/// How far high vents are to be above the eave vents in older texts, m.
pub(super) const OLDER_RISE_M: f64 = 3.0 * FOOT_M;
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
/// What counts as nearby where a fan is to be away from vents, m: the 3 ft by which the code tells
/// what is near a ridge (a judgement; the rule names no figure).
pub(super) const NEARBY_M: f64 = 3.0 * FOOT_M;

/// Clear way for air between insulation and deck at the eave, m: 1 in (IRC R806.3).
pub const AIR_PATH_M: f64 = FOOT_M / 12.0;
/// Least and largest opening of a vent or of the mesh over it, m: 1/16 to 1/4 in (IRC R806.1).
pub const MESH_M: [f64; 2] = [FOOT_M / 12.0 / 16.0, FOOT_M / 12.0 / 4.0];

/// Mean height of an attic at which the two ways of stating a fan's size agree, m: 4.2 ft.
pub const AGREEING_HEIGHT_M: f64 = FLOW_PER_FLOOR_M_S / AIR_CHANGES_PER_S;

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

/// The same by other makers, m².
pub(super) fn smaller_whole_house_exit_m2(flow_m3_s: f64) -> f64 {
    flow_m3_s * SMALLER_EXIT_PER_FLOW
}

/// Whether the trade counts a roof as dark or steep.
pub fn is_dark_or_steep(house: &House) -> bool {
    house.roof.solar_absorptance >= DARK_ABSORPTANCE
        || tan(house.roof.pitch_rad.min(FRAC_PI_2)) >= STEEP_RISE
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
        near(
            FLOW_PER_FLOOR_M_S * DARK_OR_STEEP * FOOT2_M2 / CFM_M3_S,
            0.805,
        );
    }

    /// Home Ventilating Institute: 805 cfm ask for 386 in² of vents (805/300 × 144 = 386.4).
    #[test]
    fn published_inlet_of_fans() {
        let in2 = fan_inlet_m2(805.0 * CFM_M3_S) / (FOOT2_M2 / 144.0);
        near(in2, 386.4);
        near(in2.floor(), 386.0);
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
        near(smaller_whole_house_exit_m2(flow) / FOOT2_M2, 6.0);
    }
}
