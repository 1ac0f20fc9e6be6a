//! The charts of a sweep, as files and on a page.

use maud::{PreEscaped, html};

use crate::study::sweep::{Axis, Place};
use crate::units::show::System;

use super::super::chart::{Bar, ChartError, Families, Frame, HeatMap, Tint, Tornado, standalone};
use super::super::document::document;
use super::text::sweep_text;
use super::{Summary, Told};

/// Most rows and columns of a heat map.
const MOST_CELLS: [usize; 2] = [60, 16];
/// Most lines of a family.
const MOST_LINES: usize = 6;
/// Most bars of a tornado.
const MOST_BARS: usize = 20;

enum Drawing {
    Heat(HeatMap),
    Lines(Families),
    Tornado(Tornado),
}

impl Drawing {
    fn draw(&self, frame: Frame) -> Result<String, ChartError> {
        match self {
            Self::Heat(chart) => chart.draw(frame),
            Self::Lines(chart) => chart.draw(frame),
            Self::Tornado(chart) => chart.draw(frame),
        }
    }

    fn in_words(&self) -> String {
        match self {
            Self::Heat(chart) => chart.in_words(),
            Self::Lines(chart) => chart.in_words(),
            Self::Tornado(chart) => chart.in_words(),
        }
    }

    fn name(&self) -> &'static str {
        match self {
            Self::Heat(_) => "heat-map",
            Self::Lines(_) => "lines",
            Self::Tornado(_) => "tornado",
        }
    }
}

/// Charts of a sweep as SVG files, laid out for a page and, as `-phone`, for a phone: names and
/// texts. Of two fields a heat map and lines, of one lines, of many a tornado.
///
/// # Errors
/// [`ChartError`] if the drawing library fails.
pub fn sweep_drawings(
    system: System,
    summary: &Summary<'_>,
) -> Result<Vec<(String, String)>, ChartError> {
    let mut files = Vec::new();
    for (told, drawing) in drawings(system, summary) {
        let of = match told {
            Told::Attic => "attic",
            Told::Ceiling => "ceiling",
        };
        for (frame, suffix) in [(Frame::Wide, ""), (Frame::Narrow, "-phone")] {
            let name = format!("{}-{of}{suffix}.svg", drawing.name());
            files.push((name, standalone(&drawing.draw(frame)?)));
        }
    }
    Ok(files)
}

/// A page with the charts of a sweep and its table.
///
/// # Errors
/// [`ChartError`] if the drawing library fails.
pub fn sweep_page(system: System, summary: &Summary<'_>) -> Result<String, ChartError> {
    let mut figures = Vec::new();
    for (_, drawing) in drawings(system, summary) {
        figures.push((
            drawing.draw(Frame::Wide)?,
            drawing.draw(Frame::Narrow)?,
            drawing.in_words(),
        ));
    }
    let keys = summary.head.plan.axes().iter().map(|axis| &axis.key);
    let keys: Vec<&str> = keys.map(String::as_str).collect();
    let title = format!("{}: {}", summary.head.house_name, keys.join(", "));
    let main = html! {
        h1 { (summary.head.house_name) }
        p.lead { "What varies: " (keys.join(", ")) "." }
        @for (wide, narrow, words) in &figures {
            figure {
                div.wide { (PreEscaped(wide)) }
                div.narrow { (PreEscaped(narrow)) }
                @if words.chars().count() < 300 { figcaption { (words) } }
            }
        }
        h2 { "As a table" }
        pre { (sweep_text(system, summary)) }
    };
    Ok(document(
        &title,
        "pre{overflow-x:auto;font-size:13px}",
        &main,
    ))
}

fn drawings(system: System, summary: &Summary<'_>) -> Vec<(Told, Drawing)> {
    let mut all = Vec::new();
    if summary.tally.all.count == 0 {
        return all;
    }
    for told in Told::BOTH {
        let varied = summary.varied();
        match varied.as_slice() {
            [] => {}
            [one] => {
                if let Some(lines) = single_line(system, summary, *one, told) {
                    all.push((told, Drawing::Lines(lines)));
                } else if let Some(map) = single_map(system, summary, *one, told) {
                    all.push((told, Drawing::Heat(map)));
                }
            }
            _ if summary.pair().is_some() => {
                if let Some(map) = pair_map(system, summary, told) {
                    all.push((told, Drawing::Heat(map)));
                }
                if let Some(lines) = pair_lines(system, summary, told) {
                    all.push((told, Drawing::Lines(lines)));
                }
            }
            _ => {
                if let Some(tornado) = tornado(system, summary, told) {
                    all.push((told, Drawing::Tornado(tornado)));
                }
            }
        }
    }
    all
}

fn bin_names(axis: &Axis) -> Vec<String> {
    (0..axis.bins()).map(|bin| axis.bin_name(bin)).collect()
}

fn tint(told: Told) -> Tint {
    match told {
        Told::Attic => Tint::Vermilion,
        Told::Ceiling => Tint::Blue,
    }
}

fn title(told: Told, system: System, keys: &[&str]) -> String {
    format!("{} over {}", told.title(system), keys.join(" and "))
}

fn pair_map(system: System, summary: &Summary<'_>, told: Told) -> Option<HeatMap> {
    let [a, b] = summary.pair()?;
    let axes = summary.head.plan.axes();
    let (down, across) = (axes.get(a)?, axes.get(b)?);
    if down.bins() > MOST_CELLS[0] || across.bins() > MOST_CELLS[1] {
        return None;
    }
    let cells = (0..down.bins()).flat_map(|row| (0..across.bins()).map(move |at| (row, at)));
    let value = |(row, at)| {
        let value = summary.of_pair(row, at, told.column())?;
        Some(told.shown(system, value))
    };
    Some(HeatMap {
        title: title(told, system, &[&down.key, &across.key]),
        what: told.title(system),
        across: (across.key.clone(), bin_names(across)),
        down: (down.key.clone(), bin_names(down)),
        values: cells.map(value).collect(),
        decimals: 1,
        tint: tint(told),
    })
}

fn single_map(system: System, summary: &Summary<'_>, at: usize, told: Told) -> Option<HeatMap> {
    let axis = summary.head.plan.axes().get(at)?;
    if axis.bins() > MOST_CELLS[0] {
        return None;
    }
    let means = summary.tally.by_value(at).iter();
    let value = |mean: &crate::study::sweep::Mean| {
        let value = mean.of(told.column())?;
        Some(told.shown(system, value))
    };
    Some(HeatMap {
        title: title(told, system, &[&axis.key]),
        what: told.title(system),
        across: (String::new(), vec![String::new()]),
        down: (axis.key.clone(), bin_names(axis)),
        values: means.map(value).collect(),
        decimals: 1,
        tint: tint(told),
    })
}

/// The key with the unit of its values, if they have one.
fn across(axis: &Axis) -> String {
    let unit = axis.texts().iter().find_map(|text| {
        let digits = text.trim_start_matches(['-', '+']);
        let after = digits.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
        let is_number = after.len() < digits.len();
        (is_number && !after.trim().is_empty()).then(|| after.trim().to_owned())
    });
    match unit {
        Some(unit) => format!("{}, {unit}", axis.key),
        None => axis.key.clone(),
    }
}

fn single_line(system: System, summary: &Summary<'_>, at: usize, told: Told) -> Option<Families> {
    let axis = summary.head.plan.axes().get(at)?;
    let x = axis.numbers()?.to_vec();
    let means = summary.tally.by_value(at).iter();
    let points = means.map(|mean| {
        let value = mean.of(told.column())?;
        Some(told.shown(system, value))
    });
    let points: Vec<Option<f64>> = points.collect();
    (points.len() == x.len()).then(|| Families {
        title: title(told, system, &[&axis.key]),
        what: told.title(system),
        across: across(axis),
        x,
        family: String::new(),
        lines: vec![(String::new(), points)],
        decimals: 1,
    })
}

fn pair_lines(system: System, summary: &Summary<'_>, told: Told) -> Option<Families> {
    let pair = summary.pair()?;
    let axes = summary.head.plan.axes();
    // Along numbers; of two such axes along the one with more.
    let along = *pair.iter().find(|at| {
        axes.get(**at)
            .and_then(Axis::numbers)
            .is_some_and(|x| x.len() > 2)
    })?;
    let is_down = along == pair[0];
    let family = if is_down { pair[1] } else { pair[0] };
    let (own, family) = (axes.get(along)?, axes.get(family)?);
    if family.bins() > MOST_LINES {
        return None;
    }
    let x = own.numbers()?.to_vec();
    let lines = (0..family.bins()).map(|line| {
        let points = (0..x.len()).map(|at| {
            let (row, column) = if is_down { (at, line) } else { (line, at) };
            let value = summary.of_pair(row, column, told.column())?;
            Some(told.shown(system, value))
        });
        (family.bin_name(line), points.collect())
    });
    Some(Families {
        title: title(told, system, &[&own.key, &family.key]),
        what: told.title(system),
        across: across(own),
        lines: lines.collect(),
        x,
        family: family.key.clone(),
        decimals: 1,
    })
}

fn tornado(system: System, summary: &Summary<'_>, told: Told) -> Option<Tornado> {
    let (plan, column) = (&summary.head.plan, told.column());
    let swings = summary.tally.swings(plan, column);
    let bars = swings.all.iter().take(MOST_BARS).filter_map(|swing| {
        let axis = plan.axes().get(swing.axis)?;
        let end = |(place, value): (Place, f64)| (place.name(axis), told.shown(system, value));
        Some(Bar {
            name: axis.key.clone(),
            low: end(swing.low),
            high: end(swing.high),
            is_chance: swing.may_be_chance,
        })
    });
    Some(Tornado {
        title: title(told, system, &["what varies"]),
        what: told.title(system),
        mean: told.shown(system, summary.tally.all.of(column)?),
        bars: bars.collect(),
        decimals: 1,
    })
}
