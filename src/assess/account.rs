//! Where the attic's heat comes from and where it goes: for its air, and for the whole of it from
//! the roof's skin to the ceiling board.
//!
//! Every line is added up from the run's own flow columns, and storage from its states, so that
//! whether they meet is a check and not a construction.

use std::ops::Range;

use crate::run::Outcome;

/// Where a line of an account comes from.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Item {
    /// Sun taken up by an outer surface.
    Sun(Surface),
    /// Outdoor air along an outer surface.
    OutdoorAir(Surface),
    /// Infrared between an outer surface and sky, ground and air.
    Sky(Surface),
    /// An inner surface that warms or cools the attic's air.
    Inside(Surface),
    /// Foil hung under a slope.
    Foil(Surface),
    /// Air of the channel behind a foil, where it enters the attic.
    FoilChannel(Surface),
    /// Outdoor air through a channel behind a foil.
    FoilChannelOutdoors(Surface),
    /// Outdoor air through the space under a covering on battens.
    BattenSpace(Surface),
    /// Attic floor.
    Floor,
    /// Timber in the attic air.
    Framing,
    /// Outdoor air through a vent.
    Vent(String),
    /// Outdoor air through fans, running or not.
    Fan(String),
    /// Outdoor air through leaks of the attic's shell.
    Leaks,
    /// Air from the rooms through leaks of the ceiling.
    CeilingLeaks,
    /// Conduction through the ceiling board.
    Ceiling,
    /// Anything else.
    Other(String),
}

/// A surface of the attic.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Surface {
    /// Slope or wall.
    pub side: Side,
    /// Point of the compass that it faces, such as `s`.
    pub faces: String,
}

/// Kind of surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// Roof slope.
    Slope,
    /// Gable or other wall of the attic.
    Gable,
}

/// One line of an account.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// What brings or takes the heat.
    pub item: Item,
    /// Heat brought, J; negative if it is taken away.
    pub heat_j: f64,
}

/// Where heat came from and went to over some time.
#[derive(Debug, Clone, PartialEq)]
pub struct Account {
    /// Start, s from the start of the period.
    pub from_s: f64,
    /// End, s from the start of the period.
    pub to_s: f64,
    /// What brings heat and what takes it, in the order of the house.
    pub lines: Vec<Line>,
    /// Heat that stayed: the stores at the end less those at the start, J.
    pub stored_j: f64,
    /// All that came and went without regard to sign, J.
    pub throughput_j: f64,
}

impl Account {
    /// What does not add up, against the throughput.
    pub fn imbalance(&self) -> f64 {
        let sum: f64 = self.lines.iter().map(|line| line.heat_j).sum();
        (sum - self.stored_j).abs() / self.throughput_j.max(1e-9)
    }

    /// Heat of all lines of a kind, J.
    pub fn heat_j(&self, wanted: impl Fn(&Item) -> bool) -> f64 {
        let lines = self.lines.iter().filter(|line| wanted(&line.item));
        lines.map(|line| line.heat_j).sum()
    }

    /// Mean of all lines of a kind, W.
    pub fn mean_w(&self, wanted: impl Fn(&Item) -> bool) -> f64 {
        self.heat_j(wanted) / self.length_s()
    }

    /// Length, s.
    pub fn length_s(&self) -> f64 {
        self.to_s - self.from_s
    }
}

/// The accounts of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Accounts {
    /// The attic's air in the hour about its peak.
    pub air_peak_hour: Account,
    /// The attic's air over the period.
    pub air_period: Account,
    /// The whole attic, from the roof's skin to the ceiling board, in the same hour.
    pub attic_peak_hour: Account,
    /// The whole attic over the period.
    pub attic_period: Account,
}

/// The account of the whole attic, from the roof's skin to the ceiling board, in the hour about an
/// instant of the run, s: so that designs can be held against one another in the same hour.
pub fn attic_account_at(outcome: &Outcome, time_s: f64) -> Account {
    let rows = hour_about(outcome, time_s);
    add_up(outcome, &whole_attic(outcome), rows, attic_item)
}

/// Output intervals of the hour about an instant.
fn hour_about(outcome: &Outcome, time_s: f64) -> Range<usize> {
    let rows = outcome.times_s.len();
    let near = |row: &usize| {
        let end_s = outcome.times_s[*row];
        end_s > time_s - 1800.0 + 1.0 && end_s < time_s + 1800.0 + 1.0
    };
    let first = (0..rows).find(near).unwrap_or(0);
    first..(first + (first..rows).take_while(near).count().max(1)).min(rows)
}

pub(super) fn accounts(outcome: &Outcome, peak_s: f64) -> Accounts {
    let rows = outcome.times_s.len();
    let peak = hour_about(outcome, peak_s);
    let marks = &outcome.landmarks;
    let mut air = vec![false; outcome.nodes.len()];
    air[marks.attic_lower] = true;
    air[marks.attic_upper] = true;
    let attic = whole_attic(outcome);
    let book =
        |inside: &[bool], rows: Range<usize>, item: Sorter| add_up(outcome, inside, rows, item);
    Accounts {
        air_peak_hour: book(&air, peak.clone(), air_item),
        air_period: book(&air, 0..rows, air_item),
        attic_peak_hour: book(&attic, peak, attic_item),
        attic_period: book(&attic, 0..rows, attic_item),
    }
}

/// Nodes from the roof's skin to the top of the ceiling board: all that the attic's air reaches
/// without passing the ceiling or entering the rooms.
fn whole_attic(outcome: &Outcome) -> Vec<bool> {
    let marks = &outcome.landmarks;
    let ceiling: Vec<usize> = marks.ceiling_flows.iter().map(|&(flow, _)| flow).collect();
    let mut inside = vec![false; outcome.nodes.len()];
    inside[marks.attic_lower] = true;
    let links: Vec<(usize, usize)> = outcome
        .flow_ends
        .iter()
        .enumerate()
        .filter(|(flow, _)| !ceiling.contains(flow))
        .filter_map(|(_, &(from, to))| from.zip(to))
        .filter(|&(a, b)| ![a, b].contains(&marks.living) && ![a, b].contains(&marks.furniture))
        .collect();
    let mut growing = true;
    while growing {
        growing = false;
        for &(a, b) in &links {
            if inside[a] != inside[b] {
                inside[a] = true;
                inside[b] = true;
                growing = true;
            }
        }
    }
    inside
}

/// Names what a flow across the boundary is: the flow, its inner and its outer node.
type Sorter = fn(&Outcome, usize, usize, Option<usize>) -> Item;

fn add_up(outcome: &Outcome, inside: &[bool], rows: Range<usize>, item: Sorter) -> Account {
    let mut lines: Vec<Line> = Vec::new();
    // For each flow across the boundary its line and its sign.
    let crossing: Vec<(usize, usize, f64)> = outcome
        .flow_ends
        .iter()
        .enumerate()
        .filter_map(|(flow, &(from, to))| {
            let is_in = |end: Option<usize>| end.is_some_and(|node| inside[node]);
            let (inner, outer, sign) = match (is_in(from), is_in(to)) {
                (false, true) => (to?, from, 1.0),
                (true, false) => (from?, to, -1.0),
                _ => return None,
            };
            let item = item(outcome, flow, inner, outer);
            let known = lines.iter().position(|line| line.item == item);
            let line = known.unwrap_or_else(|| {
                lines.push(Line { item, heat_j: 0.0 });
                lines.len() - 1
            });
            Some((flow, line, sign))
        })
        .collect();
    let mut throughput_j = 0.0;
    for row in rows.clone() {
        let step_s = outcome.interval_s(row);
        let flows = outcome.flow_row(row);
        for &(flow, line, sign) in &crossing {
            let heat_j = sign * flows[flow] * step_s;
            lines[line].heat_j += heat_j;
            throughput_j += heat_j.abs();
        }
    }
    let (before, after) = (outcome.state_row(rows.start), outcome.state_row(rows.end));
    let stored_j = (0..inside.len())
        .filter(|&node| inside[node])
        .map(|node| outcome.nodes[node].capacity_j_k * (after[node] - before[node]))
        .sum();
    let end_of = |row: usize| {
        if row == 0 {
            0.0
        } else {
            outcome.times_s[row - 1]
        }
    };
    Account {
        from_s: end_of(rows.start),
        to_s: end_of(rows.end),
        lines,
        stored_j,
        throughput_j,
    }
}

fn air_item(outcome: &Outcome, flow: usize, _inner: usize, outer: Option<usize>) -> Item {
    let Some(outer) = outer else {
        return through_shell(outcome, outside_name(&outcome.flow_names[flow]));
    };
    if outer == outcome.landmarks.living {
        return Item::CeilingLeaks;
    }
    let name = outcome.nodes[outer].name.as_str();
    match (surface(name), name) {
        (Some(surface), _) if name.ends_with("_foil_channel") => Item::FoilChannel(surface),
        (Some(surface), _) if name.ends_with("_foil") => Item::Foil(surface),
        (Some(surface), _) => Item::Inside(surface),
        (None, "framing") => Item::Framing,
        (None, _) if name.starts_with("attic_floor") => Item::Floor,
        (None, _) => Item::Other(name.to_owned()),
    }
}

fn attic_item(outcome: &Outcome, flow: usize, inner: usize, outer: Option<usize>) -> Item {
    let marks = &outcome.landmarks;
    let is_air = inner == marks.attic_lower || inner == marks.attic_upper;
    match outer {
        Some(outer) if outer == marks.living && is_air => return Item::CeilingLeaks,
        Some(_) => return Item::Ceiling,
        None => {}
    }
    let outside = outside_name(&outcome.flow_names[flow]);
    let node = outcome.nodes[inner].name.as_str();
    match (outside, surface(node)) {
        ("sun", Some(surface)) => Item::Sun(surface),
        ("outdoors", Some(surface)) => Item::OutdoorAir(surface),
        ("sky", Some(surface)) => Item::Sky(surface),
        (_, Some(surface)) if node.ends_with("_foil_channel") => Item::FoilChannelOutdoors(surface),
        (_, Some(surface)) if node.ends_with("_batten_space") => Item::BattenSpace(surface),
        _ => through_shell(outcome, outside),
    }
}

/// A way for outdoor air, by the name of its outer end.
fn through_shell(outcome: &Outcome, outside: &str) -> Item {
    let Some(name) = outside.strip_prefix("outdoors_by_") else {
        return Item::Other(outside.to_owned());
    };
    let path = outcome.paths.iter().find(|path| path.name == name);
    if let Some((group, _)) = path.and_then(|path| path.fans) {
        return Item::Fan(outcome.fans[group].name.clone());
    }
    if name.starts_with("attic-leak-") {
        return Item::Leaks;
    }
    // Tall openings are cut in two.
    let whole = name.strip_suffix("-low").or(name.strip_suffix("-high"));
    Item::Vent(whole.unwrap_or(name).to_owned())
}

/// The end of a flow that is part of the surroundings, by the flow's name.
fn outside_name(flow: &str) -> &str {
    let is_outside = |end: &str| ["sun", "sky"].contains(&end) || end.starts_with("outdoors");
    match flow.split_once("_to_") {
        Some((from, _)) if is_outside(from) => from,
        Some((_, to)) => match to.rsplit_once('_') {
            // A second flow between the same ends.
            Some((stem, number)) if number.bytes().all(|b| b.is_ascii_digit()) => stem,
            _ => to,
        },
        None => flow,
    }
}

/// The surface that a node belongs to, by its name.
fn surface(node: &str) -> Option<Surface> {
    let mut parts = node.split('_');
    let side = match parts.next()? {
        "slope" => Side::Slope,
        "gable" => Side::Gable,
        _ => return None,
    };
    let faces = parts.next()?.to_owned();
    Some(Surface { side, faces })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_are_read_from_names() {
        for (flow, end) in [
            ("sun_to_slope_s_skin", "sun"),
            ("slope_s_skin_to_sky", "sky"),
            ("slope_s_skin_to_outdoors_2", "outdoors"),
            (
                "outdoors_by_gable-east-low_to_attic_upper_air",
                "outdoors_by_gable-east-low",
            ),
            ("attic_upper_air_to_outdoors_by_flue", "outdoors_by_flue"),
        ] {
            assert_eq!(outside_name(flow), end);
        }
        assert_eq!(surface("slope_sse_foil").unwrap().faces, "sse");
        assert_eq!(surface("attic_floor"), None);
    }
}
