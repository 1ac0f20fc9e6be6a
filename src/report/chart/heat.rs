//! Where heat enters the attic and where it leaves, hour by hour.

use std::fmt::Write as _;
use std::ops::Range;

use jiff::civil::DateTime;

use crate::house::House;
use crate::report::words;
use crate::run::Outcome;
use crate::units::System;

use super::plot::{Field, Stroke};
use super::scale::{self, heat, heat_unit, ticks};
use super::svg::{Anchor, Svg, Type, width};
use super::vents::{self, Through};
use super::{ChartError, Frame, Tint};

/// One way for heat.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatPart {
    /// Label.
    pub label: String,
    /// Colour.
    pub tint: Tint,
    /// Strength of the colour, 0 to 1.
    pub strength: f64,
    /// Mean heat flow in each bar, W; positive into the attic.
    pub into_w: Vec<f64>,
}

/// Heat into and out of an attic over some hours.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatChart {
    /// Title, for people who cannot see the chart.
    pub title: String,
    /// Local standard time of the first bar.
    pub start: DateTime,
    /// Length of a bar, s.
    pub bar_s: f64,
    /// Ways for heat, in the order they are stacked from zero.
    pub parts: Vec<HeatPart>,
}

/// The kinds of ways, in the order they are stacked.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Way {
    Slope(String),
    Gables,
    Ceiling,
    RoomAir,
    Vents(&'static str),
    Fans,
    Leaks,
    Channel,
    Store,
}

impl Way {
    fn label(&self) -> String {
        match self {
            Self::Slope(side) => format!("{} slope", words::compass(side)),
            Self::Gables => "end walls".to_owned(),
            Self::Ceiling => "ceiling".to_owned(),
            Self::RoomAir => "air from the rooms".to_owned(),
            Self::Vents(place) => format!("air, {place}"),
            Self::Fans => "air, fans".to_owned(),
            Self::Leaks => "air, leaks".to_owned(),
            Self::Channel => "air behind the foil".to_owned(),
            Self::Store => "stored, given back".to_owned(),
        }
    }
}

impl HeatChart {
    /// The air, timber, floor and foil of the attic as one body: what passes between it and the
    /// slopes, the end walls, the ceiling and the air that comes and goes, over `span_s` in hours.
    pub fn of_run(house: &House, outcome: &Outcome, span_s: Range<f64>) -> Self {
        let bar_s = 3_600.0;
        let bars = bars_in(&span_s, bar_s);
        let inside = inside(outcome);
        let ways = ways(house, outcome, &inside);
        let mut found: Vec<(Way, Vec<f64>)> = Vec::new();
        let mut covered_s = vec![0.0; bars];
        for row in 0..outcome.times_s.len() {
            let length_s = outcome.interval_s(row);
            let middle_s = outcome.times_s[row] - 0.5 * length_s;
            let Some(bar) = bar_at(middle_s, &span_s, bar_s, bars) else {
                continue;
            };
            covered_s[bar] += length_s;
            let flows = outcome.flow_row(row);
            let mut net_j = 0.0;
            for (way, flow, sign) in &ways {
                let heat_j = sign * flows[*flow] * length_s;
                net_j += heat_j;
                add(&mut found, way, bar, bars, heat_j);
            }
            add(&mut found, &Way::Store, bar, bars, -net_j);
        }
        found.sort_by(|a, b| a.0.cmp(&b.0));
        let mut slopes = 0;
        let mut vents = 0;
        let parts = found.into_iter().map(|(way, heat_j)| {
            let (tint, strength) = match &way {
                Way::Slope(_) => {
                    slopes += 1;
                    if slopes == 1 {
                        (Tint::Vermilion, 1.0)
                    } else {
                        (Tint::Orange, 1.0)
                    }
                }
                Way::Gables => (Tint::Purple, 1.0),
                Way::Ceiling => (Tint::Green, 1.0),
                Way::RoomAir => (Tint::Green, 0.5),
                Way::Vents(_) => {
                    vents += 1;
                    (Tint::Blue, (1.15 - 0.3 * f64::from(vents)).clamp(0.25, 1.0))
                }
                Way::Fans => (Tint::Sky, 1.0),
                Way::Leaks => (Tint::Sky, 0.45),
                Way::Channel => (Tint::Blue, 0.3),
                Way::Store => (Tint::Slate, 0.55),
            };
            HeatPart {
                label: way.label(),
                tint,
                strength,
                into_w: heat_j
                    .iter()
                    .zip(&covered_s)
                    .map(|(j, s)| if *s > 0.0 { j / s } else { 0.0 })
                    .collect(),
            }
        });
        Self {
            title: format!("Heat into and out of the attic, {}", outcome.design),
            start: scale::after(outcome.start, span_s.start),
            bar_s,
            parts: parts.collect(),
        }
    }

    /// Heat that enters and heat that leaves in the hour that has most of it, W.
    pub fn extent_w(&self) -> Range<f64> {
        let bars = self
            .parts
            .iter()
            .map(|part| part.into_w.len())
            .max()
            .unwrap_or(0);
        let mut range = 0.0..0.0;
        for bar in 0..bars {
            let values = || {
                self.parts
                    .iter()
                    .filter_map(|p| p.into_w.get(bar))
                    .filter(|v| v.is_finite())
            };
            range.start = f64::min(range.start, values().map(|v| v.min(0.0)).sum());
            range.end = f64::max(range.end, values().map(|v| v.max(0.0)).sum());
        }
        range
    }

    /// The chart as SVG, its axis holding at least `extent_w`, so that several compare.
    ///
    /// # Errors
    /// [`ChartError`] if the drawing library fails.
    pub fn draw(
        &self,
        frame: Frame,
        system: System,
        extent_w: &Range<f64>,
    ) -> Result<String, ChartError> {
        let extent = self.extent_w();
        let ends = [extent.start, extent.end, extent_w.start, extent_w.end];
        let y = scale::round_range(ends.into_iter().map(|w| heat(system, w)), 7.0);
        let rows = self.parts.len() as f64;
        let wide = frame.is_wide();
        let (top, field_px) = (34.0, if wide { 260.0 } else { 220.0 });
        let below = if wide { 28.0 } else { 72.0 + rows * 18.0 };
        let bars = self
            .parts
            .iter()
            .map(|part| part.into_w.len())
            .max()
            .unwrap_or(0);
        let length_s = (bars.max(1)) as f64 * self.bar_s;
        let field = Field {
            left: 36.0,
            top,
            right: frame.width() - if wide { 248.0 } else { 8.0 },
            bottom: top + field_px,
            x: 0.0..length_s,
            y,
        };
        let mut svg = Svg::new(frame.width(), top + field_px + below);
        let marks = scale::time_marks(system, self.start, &field.x, field.right - field.left);
        let own = ticks(&field.y, field_px / 34.0);
        for &value in &own.values {
            // Above zero heat comes in, below it goes out: neither is negative.
            field.level(&mut svg, value, &own.label(value.abs()), Tint::Grid)?;
        }
        let unit = Type::new(Tint::Muted, Anchor::Start).small();
        svg.text((0.0, 12.0), heat_unit(system), unit);
        self.bars(&mut svg, &field, system)?;
        let zero = [(field.x.start, 0.0), (field.x.end, 0.0)];
        field.line(&mut svg, &zero, Stroke::solid(Tint::Ink, 1.0))?;
        let side = Type::new(Tint::Ink, Anchor::Start).small().bold().halo();
        svg.text((field.left + 4.0, field.top + 14.0), "into the attic", side);
        svg.text((field.left + 4.0, field.bottom - 7.0), "out of it", side);
        for (at, word) in &marks.words {
            let style = Type::new(Tint::Muted, Anchor::Middle).small();
            let half = width(word, style) / 2.0;
            let x = field.x_px(*at).min(frame.width() - half - 2.0);
            svg.text((x, field.bottom + 16.0), word, style);
        }
        let key = if wide {
            (field.right + 24.0, top + 6.0)
        } else {
            (0.0, field.bottom + 46.0)
        };
        self.key(&mut svg, key, frame.width(), system);
        Ok(svg.finish(&self.title, &self.in_words(system)))
    }

    fn bars(&self, svg: &mut Svg, field: &Field, system: System) -> Result<(), ChartError> {
        let bars = self
            .parts
            .iter()
            .map(|part| part.into_w.len())
            .max()
            .unwrap_or(0);
        let gap_s = 0.05 * self.bar_s;
        for bar in 0..bars {
            let (mut above, mut under) = (0.0, 0.0);
            let left = bar as f64 * self.bar_s;
            for part in &self.parts {
                let value = part
                    .into_w
                    .get(bar)
                    .copied()
                    .filter(|v| v.is_finite())
                    .unwrap_or(0.0);
                let level: &mut f64 = if value >= 0.0 { &mut above } else { &mut under };
                let from = *level;
                *level += heat(system, value);
                let x = left + gap_s..left + self.bar_s - gap_s;
                field.bar(svg, x, from..*level, part.tint, part.strength)?;
            }
        }
        Ok(())
    }

    /// Each way with its colour and what passed in all.
    fn key(&self, svg: &mut Svg, at: (f64, f64), right: f64, system: System) {
        let head = Type::new(Tint::Muted, Anchor::Start).small();
        let end = Type::new(Tint::Muted, Anchor::End).small();
        svg.text((at.0, at.1), "in all", head);
        svg.text((right - 52.0, at.1), "in", end);
        svg.text((right, at.1), "out", end);
        let mut y = at.1 + 20.0;
        for part in &self.parts {
            svg.rect(
                (at.0, y - 9.0),
                (at.0 + 10.0, y + 1.0),
                part.tint,
                part.strength,
            );
            svg.text(
                (at.0 + 17.0, y),
                &part.label,
                Type::new(Tint::Ink, Anchor::Start),
            );
            let figure = Type::new(Tint::Ink, Anchor::End);
            let (entered, left) = self.totals_j(part);
            for (x, heat_j) in [(right - 52.0, entered), (right, left)] {
                let text = scale::heat_total(system, heat_j);
                // A dash says more plainly than a zero that nothing passed.
                let is_none = !text.contains(|c: char| matches!(c, '1'..='9'));
                let shown = if is_none { "–" } else { text.as_str() };
                svg.text((x, y), shown, figure);
            }
            y += 18.0;
        }
        svg.text((right, y), scale::heat_total_unit(system), end);
    }

    /// Heat that entered and that left by one way, J.
    fn totals_j(&self, part: &HeatPart) -> (f64, f64) {
        let values = || part.into_w.iter().filter(|v| v.is_finite());
        let entered: f64 = values().map(|w| w.max(0.0)).sum();
        let left: f64 = values().map(|w| (-w).max(0.0)).sum();
        (entered * self.bar_s, left * self.bar_s)
    }

    fn in_words(&self, system: System) -> String {
        let unit = scale::heat_total_unit(system);
        self.parts.iter().fold(String::new(), |mut words, part| {
            let (entered, left) = self.totals_j(part);
            let (entered, left) = (
                scale::heat_total(system, entered),
                scale::heat_total(system, left),
            );
            let gap = if words.is_empty() { "" } else { " " };
            let _ = write!(
                words,
                "{gap}{}: {entered} {unit} in, {left} {unit} out.",
                part.label
            );
            words
        })
    }
}

fn bars_in(span_s: &Range<f64>, bar_s: f64) -> usize {
    let bars = ((span_s.end - span_s.start) / bar_s - 1e-9).ceil();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped; 0 where it is not a number"
    )]
    let bars = bars.clamp(0.0, 10_000.0) as usize;
    bars
}

fn bar_at(time_s: f64, span_s: &Range<f64>, bar_s: f64, bars: usize) -> Option<usize> {
    if !span_s.contains(&time_s) {
        return None;
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "not negative and checked against the count"
    )]
    let bar = ((time_s - span_s.start) / bar_s) as usize;
    (bar < bars).then_some(bar)
}

fn add(found: &mut Vec<(Way, Vec<f64>)>, way: &Way, bar: usize, bars: usize, heat_j: f64) {
    let index = found
        .iter()
        .position(|(known, _)| known == way)
        .unwrap_or_else(|| {
            found.push((way.clone(), vec![0.0; bars]));
            found.len() - 1
        });
    found[index].1[bar] += heat_j;
}

/// Whether each node belongs to the body whose heat is counted.
fn inside(outcome: &Outcome) -> Vec<bool> {
    let marks = &outcome.landmarks;
    let is_inside = |(index, node): (usize, &crate::network::Node)| {
        index == marks.attic_lower
            || index == marks.attic_upper
            || marks.floors.iter().any(|(floor, _)| *floor == index)
            || node.name == "framing"
            || node.name.ends_with("_foil")
    };
    outcome.nodes.iter().enumerate().map(is_inside).collect()
}

/// Flows across the border of that body: by what way, which flow, and its sign into the body.
fn ways(house: &House, outcome: &Outcome, inside: &[bool]) -> Vec<(Way, usize, f64)> {
    let through = vents::through(house, outcome);
    let mut seen: Vec<usize> = vec![0; outcome.paths.len()];
    let mut ways = Vec::new();
    for (flow, &(from, to)) in outcome.flow_ends.iter().enumerate() {
        if outcome.is_air(flow) {
            continue;
        }
        let is_in = |end: Option<usize>| end.is_some_and(|node| inside[node]);
        let (other, sign) = match (is_in(from), is_in(to)) {
            (false, true) => (from, 1.0),
            (true, false) => (to, -1.0),
            _ => continue,
        };
        let name = other.map_or("", |node| outcome.nodes[node].name.as_str());
        let way = if let Some(rest) = name.strip_prefix("slope_") {
            Way::Slope(rest.split('_').next().unwrap_or(rest).to_owned())
        } else if name.starts_with("gable_") {
            Way::Gables
        } else if other == Some(outcome.landmarks.living) {
            Way::RoomAir
        } else if other.is_some() {
            Way::Ceiling
        } else {
            by_air(
                house,
                outcome,
                &through,
                &mut seen,
                &outcome.flow_names[flow],
            )
        };
        ways.push((way, flow, sign));
    }
    ways
}

/// The way of heat that air carries from or to outdoors, by the name of its path in its own name.
fn by_air(
    house: &House,
    outcome: &Outcome,
    through: &[Through],
    seen: &mut [usize],
    flow: &str,
) -> Way {
    let Some((_, rest)) = flow.split_once("outdoors_by_") else {
        return Way::Channel;
    };
    let name = rest.split('_').next().unwrap_or(rest);
    // Of paths with one name each heat flow takes the next.
    let path = (0..outcome.paths.len())
        .filter(|index| outcome.paths[*index].name == name)
        .min_by_key(|index| seen[*index]);
    let Some(path) = path else {
        return Way::Leaks;
    };
    seen[path] += 1;
    match through[path] {
        Through::Opening(index) => Way::Vents(vents::place_words(house.openings[index].place)),
        Through::Fans(_) => Way::Fans,
        Through::Channel => Way::Channel,
        Through::SpareHoles => Way::Vents("spare fan holes"),
        _ => Way::Leaks,
    }
}
