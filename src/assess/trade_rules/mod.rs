//! What codes and the ventilating trade ask of vents and fans: rules, not physics.
//!
//! The ratio of 1/300 dates from a lender's rule of 1942 and has no measurement behind it (W. B.
//! Rose, on the early history of attic ventilation). Inspectors hold houses to these rules all the
//! same, so they are worked out exactly as written. Local codes prevail.

mod asked;

pub use asked::{
    AGREEING_HEIGHT_M, AIR_PATH_M, MESH_M, fan_flow_by_floor_m3_s, fan_flow_by_volume_m3_s,
    fan_inlet_m2, is_dark_or_steep, vents_at_150_m2, vents_at_300_m2, whole_house_exit_m2,
};

use crate::elementary::{cos, sin};
use crate::house::{Direction, FanGroup, House, Opening, Place, Spread, VapourRetarder};

use asked::{BALANCED_SHARE, COLD_ZONE, NEARBY_M, OLDER_BALANCED_SHARE, OLDER_RISE_M};

/// Difference of height below which a fan and a vent are at one height, m.
const SAME_HEIGHT_M: f64 = 0.3;

/// A rule of a code or of the trade.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Rule {
    /// Vents of 1/150 of the attic floor.
    VentRatio,
    /// Vents of 1/300, where 40 to 50 % of them are within 3 ft of the ridge and the rest low or, in
    /// climate zones 6 to 8, a vapour retarder is on the warm side: the text of 2012 asks for one of
    /// the two.
    BalancedVentRatio,
    /// The same where both are asked for.
    LaterVentRatio,
    /// Vents of 1/300, where 50 to 80 % of them are 3 ft above the eave vents or the ceiling has a
    /// retarder of 1 perm.
    OlderVentRatio,
    /// Low vents not less than high ones.
    IntakeNotLess,
    /// An inch of clear air path above the insulation at the eave.
    AirPath,
    /// Openings of 1/16 to 1/4 in, or mesh of such openings over larger ones.
    Mesh,
    /// Fan flow by floor area: 0.7 cfm for 1 ft², 0.805 for a dark or steep roof.
    FanFlowByFloor,
    /// Fan flow of ten air changes an hour of the attic's true volume: the other way to say it.
    FanFlowByVolume,
    /// Vents of 1 ft² for 300 cfm of fans.
    FanInlet,
    /// No ridge or gable vent near a fan that blows out.
    FanAwayFromVents,
    /// Where the house stands, a fan on mains power is allowed in an attic.
    MainsFanAllowed,
    /// Exits out of the attic of 1 ft² for 500 cfm of a whole-house fan at top speed.
    WholeHouseExit,
    /// The same with 1 ft² for 750 cfm.
    SmallerWholeHouseExit,
}

impl Rule {
    /// Name in machine-readable output.
    pub fn code(self) -> &'static str {
        match self {
            Self::VentRatio => "vents_1_150",
            Self::BalancedVentRatio => "vents_1_300",
            Self::LaterVentRatio => "vents_1_300_later",
            Self::OlderVentRatio => "vents_1_300_older",
            Self::IntakeNotLess => "intake_not_less",
            Self::AirPath => "air_path",
            Self::Mesh => "mesh",
            Self::FanFlowByFloor => "fan_flow_by_floor",
            Self::FanFlowByVolume => "fan_flow_by_volume",
            Self::FanInlet => "fan_inlet",
            Self::FanAwayFromVents => "fan_away_from_vents",
            Self::MainsFanAllowed => "mains_fan_allowed",
            Self::WholeHouseExit => "whole_house_exit",
            Self::SmallerWholeHouseExit => "whole_house_exit_smaller",
        }
    }

    /// Where it is written.
    pub fn source(self) -> &'static str {
        match self {
            Self::VentRatio | Self::BalancedVentRatio => "IRC R806.2 (2012)",
            Self::LaterVentRatio => "IRC R806.2, later editions, from memory",
            Self::OlderVentRatio => "older editions of IRC R806",
            Self::IntakeNotLess => "the trade, at second hand",
            Self::AirPath => "IRC R806.3",
            Self::Mesh => "IRC R806.1 (2012)",
            Self::FanFlowByFloor | Self::FanFlowByVolume | Self::FanInlet => {
                "Home Ventilating Institute"
            }
            Self::FanAwayFromVents => "common practice, no source",
            Self::MainsFanAllowed => {
                "Georgia's supplement to the code of 2009 forbade them, trade press, at second hand"
            }
            Self::WholeHouseExit => "a maker's manual, at second hand",
            Self::SmallerWholeHouseExit => "other makers, from memory",
        }
    }

    /// What it comes to by way of example: for what, and what it asks for at least.
    pub fn worked(self) -> Option<[&'static str; 2]> {
        match self {
            Self::VentRatio => Some(["1500 ft2", "1440 in2"]),
            Self::BalancedVentRatio | Self::LaterVentRatio | Self::OlderVentRatio => {
                Some(["1500 ft2", "720 in2"])
            }
            Self::FanFlowByFloor => Some(["1000 ft2", "700 cfm"]),
            Self::FanFlowByVolume => Some(["4200 ft3", "700 cfm"]),
            Self::FanInlet => Some(["805 cfm", "386.4 in2"]),
            Self::WholeHouseExit => Some(["4500 cfm", "9 ft2"]),
            Self::SmallerWholeHouseExit => Some(["4500 cfm", "6 ft2"]),
            Self::IntakeNotLess
            | Self::AirPath
            | Self::Mesh
            | Self::FanAwayFromVents
            | Self::MainsFanAllowed => None,
        }
    }
}

/// What a rule is about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// m.
    Length(f64),
    /// m².
    Area(f64),
    /// m³/s.
    Flow(f64),
}

impl Amount {
    /// Its value in SI units.
    pub fn value(self) -> f64 {
        match self {
            Self::Length(value) | Self::Area(value) | Self::Flow(value) => value,
        }
    }

    fn with(self, value: f64) -> Self {
        match self {
            Self::Length(_) => Self::Length(value),
            Self::Area(_) => Self::Area(value),
            Self::Flow(_) => Self::Flow(value),
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

impl Verdict {
    fn of(is_met: bool) -> Self {
        if is_met { Self::Met } else { Self::NotMet }
    }

    /// Of two conditions of which one is enough.
    fn or(self, other: Self) -> Self {
        match (self, other) {
            (Self::Met, _) | (_, Self::Met) => Self::Met,
            (Self::NotMet, Self::NotMet) => Self::NotMet,
            _ => Self::Look,
        }
    }

    /// Of two conditions that are both asked for.
    fn and(self, other: Self) -> Self {
        match (self, other) {
            (Self::NotMet, _) | (_, Self::NotMet) => Self::NotMet,
            (Self::Met, Self::Met) => Self::Met,
            _ => Self::Look,
        }
    }
}

/// Why vents that are large enough for 1/300 do not meet its conditions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unmet {
    /// Too little or too much of them is high.
    Share,
    /// The rest is not low enough: what is in the middle does not count.
    RestNotLow,
    /// There is no vapour retarder.
    Retarder,
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
    /// Which condition is not met, where the amount is enough and the verdict is still no.
    pub unmet: Option<Unmet>,
    /// Whether that is enough.
    pub verdict: Verdict,
}

/// Relative difference below which an amount is what is asked for: quantities of a file, such as
/// `"1.25 ft2"`, are not exact in SI units.
const ROUNDING: f64 = 1e-9;

impl Ruling {
    fn amounts(rule: Rule, asked: Amount, there: Amount) -> Self {
        let is_met = there.value() >= asked.value() * (1.0 - ROUNDING);
        Self {
            rule,
            asked: Some(asked),
            there: Some(there),
            high_share: None,
            unmet: None,
            verdict: Verdict::of(is_met),
        }
    }

    fn plain(rule: Rule, verdict: Verdict) -> Self {
        Self {
            rule,
            asked: None,
            there: None,
            high_share: None,
            unmet: None,
            verdict,
        }
    }

    /// Of a rule of amount that asks for more: too small an amount is too small whatever else there
    /// is, and `unmet` tells what else is missing.
    fn with(self, high_share: f64, conditions: Verdict, unmet: Option<Unmet>) -> Self {
        let verdict = self.verdict.and(conditions);
        let is_other = verdict == Verdict::NotMet && self.verdict == Verdict::Met;
        Self {
            high_share: Some(high_share),
            unmet: unmet.filter(|_| is_other),
            verdict,
            ..self
        }
    }

    /// What is missing of the amount asked for, where it falls short.
    pub fn short_by(&self) -> Option<Amount> {
        let (asked, there) = (self.asked?, self.there?);
        let missing = asked.value() - there.value();
        (missing > asked.value() * ROUNDING).then(|| asked.with(missing))
    }
}

/// Fan groups between attic and outdoors that have fans.
fn attic_fans(house: &House) -> impl Iterator<Item = &FanGroup> {
    let fans = house.fans.iter();
    fans.filter(|group| group.count > 0 && group.place != Place::Ceiling)
}

/// Whether an opening is in the side of the house that a fan is in.
fn is_beside(group: &FanGroup, opening: &Opening) -> bool {
    opening.place == group.place
        && opening.place != Place::Soffit
        && cos(opening.azimuth_rad - group.azimuth_rad) > 0.99
}

/// Whether a fan blows out close to a vent of the same side and height, which may feed it.
pub(super) fn fan_is_beside_vent(house: &House) -> bool {
    let near = |group: &FanGroup, opening: &Opening| {
        is_beside(group, opening) && (opening.height_m - group.height_m).abs() < SAME_HEIGHT_M
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
        for (rule, asked_m2) in [
            (Rule::WholeHouseExit, whole_house_exit_m2(whole_house_m3_s)),
            (
                Rule::SmallerWholeHouseExit,
                asked::smaller_whole_house_exit_m2(whole_house_m3_s),
            ),
        ] {
            all.push(Ruling::amounts(rule, Amount::Area(asked_m2), there));
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
    let is_cold = house.site.climate_zone.map(|zone| zone >= COLD_ZONE);
    let retarder = house.ceiling.vapour_retarder;
    let has_retarder = match retarder.map(|class| class != VapourRetarder::None) {
        Some(has) => Verdict::of(has),
        None => Verdict::Look,
    };
    let [cold, mild] = match is_cold {
        Some(cold) => [cold, !cold].map(Verdict::of),
        None => [Verdict::Look; 2],
    };
    let above_eaves_m2 = above_eave_vents_m2(house);
    for (rule, high_m2, range) in [
        (Rule::BalancedVentRatio, vents.high_m2, BALANCED_SHARE),
        (Rule::LaterVentRatio, vents.high_m2, BALANCED_SHARE),
        (Rule::OlderVentRatio, above_eaves_m2, OLDER_BALANCED_SHARE),
    ] {
        let low_m2 = vents.low_m2.min(vents.total_m2 - high_m2);
        let (share, unmet) = balance(high_m2, low_m2, range, asked_300.value());
        let balanced = Verdict::of(unmet.is_none());
        let (conditions, unmet) = match rule {
            Rule::LaterVentRatio => {
                let wanted = mild.or(has_retarder);
                (balanced.and(wanted), unmet.or(Some(Unmet::Retarder)))
            }
            // Only in cold zones is the retarder an alternative of that text.
            Rule::BalancedVentRatio => (balanced.or(cold.and(has_retarder)), unmet),
            _ => (balanced.or(has_retarder), unmet),
        };
        let ruling = Ruling::amounts(rule, asked_300, there);
        all.push(ruling.with(share, conditions, unmet));
    }
    if vents.total_m2 <= 0.0 {
        return;
    }
    let high = Amount::Area(vents.high_m2);
    let low = Amount::Area(vents.low_m2);
    all.push(Ruling::amounts(Rule::IntakeNotLess, high, low));
    if house.openings.iter().any(|one| one.place == Place::Soffit) {
        all.push(match house.attic.air_path_m.map(Amount::Length) {
            Some(there) => Ruling::amounts(Rule::AirPath, Amount::Length(AIR_PATH_M), there),
            None => Ruling::plain(Rule::AirPath, Verdict::Look),
        });
    }
    all.push(mesh(house));
}

/// Whether the mesh over the vents is neither too fine nor too coarse, and the finest that is not
/// right or, where all are, the finest.
fn mesh(house: &House) -> Ruling {
    let [finest_m, coarsest_m] = MESH_M;
    let meshes = || house.openings.iter().map(|opening| opening.mesh_m);
    let finest = |range: &dyn Fn(&f64) -> bool| {
        let known = meshes().flatten().filter(range);
        known.min_by(f64::total_cmp).map(Amount::Length)
    };
    let wrong = finest(&|mesh_m| !(finest_m..=coarsest_m).contains(mesh_m));
    let verdict = match wrong {
        Some(_) => Verdict::NotMet,
        None if meshes().any(|mesh_m| mesh_m.is_none()) => Verdict::Look,
        None => Verdict::Met,
    };
    Ruling {
        there: wrong.or_else(|| finest(&|_| true)),
        ..Ruling::plain(Rule::Mesh, verdict)
    }
}

fn fan_rulings(house: &House, all: &mut Vec<Ruling>) {
    if attic_fans(house).next().is_none() {
        return;
    }
    let flow_m3_s = house.fan_label_flow_m3_s();
    let (shape, there) = (house.attic_shape(), Amount::Flow(flow_m3_s));
    let by_floor = fan_flow_by_floor_m3_s(shape.floor_area_m2(), is_dark_or_steep(house));
    let by_volume = fan_flow_by_volume_m3_s(shape.volume_m3());
    for (rule, asked) in [
        (Rule::FanFlowByFloor, by_floor),
        (Rule::FanFlowByVolume, by_volume),
    ] {
        all.push(Ruling::amounts(rule, Amount::Flow(asked), there));
    }
    let asked = Amount::Area(fan_inlet_m2(flow_m3_s));
    let vents = Amount::Area(house.vent_area().total_m2);
    all.push(Ruling::amounts(Rule::FanInlet, asked, vents));
    if let Some(apart) = apart_from_vents(house) {
        all.push(Ruling::plain(Rule::FanAwayFromVents, apart));
    }
    all.push(Ruling::plain(Rule::MainsFanAllowed, Verdict::Look));
}

/// Whether no fan that blows out has a ridge vent or a vent of its own side nearby: the worst of
/// them, where there is one.
fn apart_from_vents(house: &House) -> Option<Verdict> {
    let exhausts = attic_fans(house).filter(|group| group.direction == Direction::Exhaust);
    let each = exhausts.map(|group| {
        let ridge = distance_to_ridge_vent_m(house, group);
        let beside = distance_to_side_vent_m(house, group);
        let distances = || [ridge, beside].into_iter().flatten();
        if distances().any(|[_, farthest_m]| farthest_m <= NEARBY_M) {
            Verdict::NotMet
        } else if distances().any(|[nearest_m, _]| nearest_m <= NEARBY_M) {
            Verdict::Look
        } else {
            Verdict::Met
        }
    });
    each.max_by_key(|verdict| match verdict {
        Verdict::Met => 0,
        Verdict::Look => 1,
        Verdict::NotMet => 2,
    })
}

/// Least and most distance from a fan to a ridge vent above it, m, where there is one.
fn distance_to_ridge_vent_m(house: &House, group: &FanGroup) -> Option<[f64; 2]> {
    let mut openings = house.openings.iter();
    let ridge = openings.find(|opening| opening.place == Place::Ridge)?;
    let rise_m = (ridge.height_m - group.height_m).max(0.0);
    let distance_m = match group.place {
        Place::Slope => rise_m / sin(house.roof.pitch_rad).max(1e-3),
        _ => rise_m,
    };
    Some([distance_m; 2])
}

/// Least and most distance from a fan to a vent in its side of the house, m, where there is one: a
/// range where the owner did not measure it.
fn distance_to_side_vent_m(house: &House, group: &FanGroup) -> Option<[f64; 2]> {
    let distance_m = group.vent_distance_m?;
    let openings = &house.openings;
    openings.iter().find(|opening| is_beside(group, opening))?;
    let assumed = house.assumed.iter().find(|note| {
        let table = note.field.strip_suffix(".vent_distance");
        table.is_some_and(|table| is_of_table(&group.name, table))
    });
    match assumed.map(|note| &note.spread) {
        Some(Spread::Number { low, high, .. }) => Some([*low, *high]),
        _ => Some([distance_m; 2]),
    }
}

/// Whether a group is of a table: `fans.gable` and `fans.gable.e` are of `fans.gable`.
fn is_of_table(name: &str, table: &str) -> bool {
    let rest = name.strip_prefix(table);
    rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

/// The high share of high and low vents, and what about it is not as asked: the share is to be in a
/// range, and what is neither high nor low does not count for the area.
fn balance(
    high_m2: f64,
    low_m2: f64,
    [least, most]: [f64; 2],
    asked_m2: f64,
) -> (f64, Option<Unmet>) {
    let counted_m2 = high_m2 + low_m2;
    let share = if counted_m2 > 0.0 {
        high_m2 / counted_m2
    } else {
        0.0
    };
    let unmet = if !(least - ROUNDING..=most + ROUNDING).contains(&share) {
        Some(Unmet::Share)
    } else if counted_m2 < asked_m2 * (1.0 - ROUNDING) {
        Some(Unmet::RestNotLow)
    } else {
        None
    };
    (share, unmet)
}

/// Vents that are at least 3 ft above the lowest of them, as older texts count high ones, m².
fn above_eave_vents_m2(house: &House) -> f64 {
    let heights_m = house.openings.iter().map(|opening| opening.height_m);
    let lowest_m = heights_m.fold(f64::INFINITY, f64::min);
    let openings = house.openings.iter();
    let above = openings.filter(|opening| opening.height_m - lowest_m >= OLDER_RISE_M);
    above.fold(0.0, |sum, opening| sum + opening.net_free_area_m2)
}
