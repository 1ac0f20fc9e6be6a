//! A sweep as a table that fits 80 columns.

use std::fmt::Write as _;

use crate::study::sweep::{Axis, COLUMNS, DELIVERED, LIVING, Order, RUN_HOURS};
use crate::units::show::{self, System};
use crate::weather::Kind;

use super::super::cautions::cautions_text;
use super::super::layout::{WIDTH, heading, paragraph, table};
use super::super::words;
use super::head::method_name;
use super::{Summary, Told};

/// Most lines of a table.
const MOST_LINES: usize = 40;
/// Most fields whose effects are listed.
const MOST_FIELDS: usize = 30;

/// What a sweep found.
pub fn sweep_text(system: System, summary: &Summary<'_>) -> String {
    let mut text = opening(summary);
    if summary.tally.all.count > 0 {
        match summary.varied().as_slice() {
            [] => text.push_str(&list(system, summary, 0)),
            [one] => text.push_str(&list(system, summary, *one)),
            _ if summary.pair().is_some() => {
                for told in Told::BOTH {
                    text.push_str(&grid(system, summary, told));
                }
            }
            _ => {
                for told in Told::BOTH {
                    text.push_str(&effects(system, summary, told));
                }
            }
        }
    }
    text.push_str(&idle(summary));
    text.push_str(&lost(summary));
    text.push_str(&cautions_text(system, &summary.cautions()));
    text
}

fn opening(summary: &Summary<'_>) -> String {
    let head = summary.head;
    let rows = head.rows.end - head.rows.start;
    let mut words = match head.plan.order() {
        Order::Grid => format!("{rows} variations"),
        Order::Sample { method, seed, .. } => {
            format!("{rows} samples ({}, seed {seed})", method_name(method))
        }
    };
    if rows < head.plan.rows() {
        words = format!(
            "{words} of {}: rows {} to {}",
            head.plan.rows(),
            head.rows.start + 1,
            head.rows.end
        );
    }
    let axis = |key: &str| head.plan.axes().iter().any(|axis| axis.key == key);
    if !axis("design") {
        let _ = write!(words, " of \"{}\"", head.design);
    }
    let _ = match head.weather.as_slice() {
        [one] => {
            let days = words::days(one.from, one.to, Kind::Measured);
            write!(words, ", {days}, weather {}", one.name)
        }
        many => write!(words, ", {} weathers", many.len()),
    };
    format!(
        "{}\n{}",
        head.house_name,
        paragraph("", 2, &format!("{words}."))
    )
}

/// Places evenly spread over `count`, both ends among them.
fn spread(count: usize, most: usize) -> Vec<usize> {
    if count <= most || most < 2 {
        return (0..count.min(most.max(1))).collect();
    }
    (0..most)
        .map(|at| (at * (count - 1) + (most - 1) / 2) / (most - 1))
        .collect()
}

fn list(system: System, summary: &Summary<'_>, axis: usize) -> String {
    let Some(own) = summary.head.plan.axes().get(axis) else {
        return String::new();
    };
    let means = summary.tally.by_value(axis);
    let unit = words::degree(system);
    let mut header = vec![
        own.key.clone(),
        format!("attic air\nhighest, {unit}"),
        format!("rooms\nhighest, {unit}"),
        "through the\nceiling, kWh".to_owned(),
    ];
    let fans = summary
        .tally
        .all
        .of(DELIVERED)
        .is_some_and(|flow| flow > 0.0);
    if fans {
        header.push("fans\nmove".to_owned());
        header.push("fans\nrun".to_owned());
    }
    let shown = spread(means.len(), MOST_LINES);
    let rows: Vec<Vec<String>> = shown
        .iter()
        .map(|&at| {
            let cell = |column: usize, show: &dyn Fn(f64) -> String| {
                let value = means.get(at).and_then(|mean| mean.of(column));
                value.map_or_else(|| "–".to_owned(), show)
            };
            let mut row = vec![
                own.bin_name(at),
                cell(Told::Attic.column(), &|c| words::temp(system, c)),
                cell(LIVING, &|c| words::temp(system, c)),
                cell(Told::Ceiling.column(), &words::kwh),
            ];
            if fans {
                row.push(cell(DELIVERED, &|flow| show::air_flow(system, flow)));
                row.push(cell(RUN_HOURS, &words::hours));
            }
            row
        })
        .collect();
    let mut text = heading(&format!("Over {}", own.key));
    text.push_str(&table(&header, &rows));
    if shown.len() < means.len() {
        text.push_str(&thinned(shown.len(), means.len()));
    }
    text
}

fn thinned(shown: usize, all: usize) -> String {
    paragraph(
        "",
        2,
        &format!("{shown} of {all} values are shown; --out writes all into sweep.csv."),
    )
}

/// Which values of an axis a table leaves out.
fn left_out(axis: &Axis, kept: &[usize]) -> String {
    const NAMED: usize = 8;
    let missing: Vec<usize> = (0..axis.bins()).filter(|at| !kept.contains(at)).collect();
    if missing.is_empty() {
        return String::new();
    }
    let names = missing.iter().take(NAMED).map(|at| axis.bin_name(*at));
    let mut names = names.collect::<Vec<_>>().join(", ");
    if missing.len() > NAMED {
        let _ = write!(names, " and {} more", missing.len() - NAMED);
    }
    paragraph("", 2, &format!("Left out of {}: {names}.", axis.key))
}

fn grid(system: System, summary: &Summary<'_>, told: Told) -> String {
    let axes = summary.head.plan.axes();
    let Some((down, across)) = summary
        .pair()
        .and_then(|[a, b]| Some((axes.get(a)?, axes.get(b)?)))
    else {
        return String::new();
    };
    let column = told.column();
    let lines = spread(down.bins(), MOST_LINES);
    let names = |axis: &Axis, at: &usize| axis.bin_name(*at);
    let first = lines.iter().map(|at| names(down, at).chars().count());
    let first = first
        .max()
        .unwrap_or(0)
        .max(last(&down.key).chars().count());
    let most = across.bins();
    // As many columns as fit, spread evenly.
    let mut columns = spread(most, most);
    loop {
        let wide = |at: &usize| names(across, at).chars().count().max(6) + 2;
        let total = first + 4 + columns.iter().map(wide).sum::<usize>();
        if total <= WIDTH || columns.len() <= 2 {
            break;
        }
        columns = spread(most, columns.len() - 1);
    }
    let mut header = vec![last(&down.key).to_owned()];
    header.extend(columns.iter().map(|at| names(across, at)));
    let rows: Vec<Vec<String>> = lines
        .iter()
        .map(|&line| {
            let mut row = vec![names(down, &line)];
            row.extend(columns.iter().map(|&at| {
                let value = summary.of_pair(line, at, column);
                value.map_or_else(|| "–".to_owned(), |value| told.number(system, value))
            }));
            row
        })
        .collect();
    let title = format!(
        "{}: {} down, {} across",
        told.title(system),
        down.key,
        across.key
    );
    let mut text = format!("\n{}", paragraph("", 0, &title));
    text.push_str(&table(&header, &rows));
    let (shown, all) = (lines.len() * columns.len(), down.bins() * most);
    if shown < all {
        text.push_str(&thinned(shown, all));
        for (axis, kept) in [(down, &lines), (across, &columns)] {
            text.push_str(&left_out(axis, kept));
        }
    }
    if matches!(summary.head.plan.order(), Order::Sample { .. }) {
        let each = summary.tally.all.count as f64 / all.max(1) as f64;
        let words = format!(
            "Each number is the mean of the samples that fall there, {each:.1} of them on the mean: \
             they differ inside their ranges too."
        );
        text.push_str(&paragraph("", 2, &words));
    }
    text
}

fn last(key: &str) -> &str {
    key.rsplit('.').next().unwrap_or(key)
}

fn effects(system: System, summary: &Summary<'_>, told: Told) -> String {
    let plan = &summary.head.plan;
    let swings = summary.tally.swings(plan, told.column());
    // The end of a line is no mean of rows.
    let told_as = if swings.accounted.is_some() {
        "about"
    } else {
        "mean"
    };
    let header = [
        "field",
        "lowest with",
        told_as,
        "highest with",
        told_as,
        "apart",
    ];
    let header = header.map(str::to_owned);
    let rows: Vec<Vec<String>> = swings
        .all
        .iter()
        .take(MOST_FIELDS)
        .filter_map(|swing| {
            let axis = plan.axes().get(swing.axis)?;
            let mark = if swing.may_be_chance { "?" } else { "" };
            Some(vec![
                axis.key.clone(),
                swing.low.0.name(axis),
                told.number(system, swing.low.1),
                swing.high.0.name(axis),
                told.number(system, swing.high.1),
                format!("{:.1}{mark}", told.span(system, swing.span())),
            ])
        })
        .collect();
    let title = match swings.accounted {
        Some(_) => format!("{}: what each field does by itself", told.title(system)),
        None => format!("{}: means over all else", told.title(system)),
    };
    let mut text = heading(&title);
    text.push_str(&table(&header, &rows));
    let is_chance = swings.all.iter().any(|swing| swing.may_be_chance);
    let mut words = String::new();
    if let Some(share) = swings.accounted {
        let _ = write!(
            words,
            "Ends of straight lines through the samples (of an R-value by what it lets through); \
             they account for {} of all differences. ",
            words::percent(share).replace(' ', "\u{a0}")
        );
    }
    if is_chance {
        words.push_str("? so few samples may differ as much by chance.");
    }
    if !words.is_empty() {
        text.push_str(&paragraph("", 2, &words));
    }
    text
}

/// Fields of a grid that made no difference: a reader may take that for a finding.
fn idle(summary: &Summary<'_>) -> String {
    let plan = &summary.head.plan;
    if !matches!(plan.order(), Order::Grid) {
        return String::new();
    }
    let is_idle = |at: &usize| {
        let means = summary.tally.by_value(*at);
        let alike = |column: usize| {
            let mut values = means.iter().filter_map(|mean| mean.of(column));
            let first = values.next();
            values.all(|value| first.is_some_and(|first| (value - first).abs() < 1e-9))
        };
        means.iter().filter(|mean| mean.count > 0).count() > 1 && (0..COLUMNS.len()).all(alike)
    };
    let mut text = String::new();
    for at in summary.varied().iter().filter(|at| is_idle(at)) {
        if let Some(axis) = plan.axes().get(*at) {
            let words = format!(
                "{} makes no difference here: what it belongs to may not be there (no fans, no foil), \
                 or another field that is varied decides in its place.",
                axis.key
            );
            let _ = write!(text, "\n{}", paragraph("", 2, &words));
        }
    }
    text
}

fn lost(summary: &Summary<'_>) -> String {
    let tally = summary.tally;
    let mut text = String::new();
    let rows = |count: u64| {
        if count == 1 {
            "1 row".to_owned()
        } else {
            format!("{count} rows")
        }
    };
    if tally.refused > 0 {
        let words = format!(
            "{} no result: such a house cannot be, for its parts do not go together.",
            has(&rows(tally.refused), tally.refused)
        );
        let _ = write!(text, "\n{}", paragraph("", 2, &words));
    }
    if tally.failed > 0 {
        let words = format!(
            "{} no result: the run did not come to an end.",
            has(&rows(tally.failed), tally.failed)
        );
        let _ = write!(text, "\n{}", paragraph("", 2, &words));
    }
    text
}

fn has(rows: &str, count: u64) -> String {
    let verb = if count == 1 { "has" } else { "have" };
    format!("{rows} {verb}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_table_leaves_out_is_named() {
        let axis = Axis::parse("a=0..20", |_| crate::study::sweep::Reading::default()).unwrap();
        let kept: Vec<usize> = (0..axis.bins()).filter(|at| *at != 3 && *at != 7).collect();
        assert_eq!(left_out(&axis, &kept).trim(), "Left out of a: 3, 7.");
        assert!(left_out(&axis, &[0, 20]).contains("8 and 11 more"));
        let all: Vec<usize> = (0..axis.bins()).collect();
        assert_eq!(left_out(&axis, &all), "");
    }

    #[test]
    fn a_spread_keeps_both_ends() {
        assert_eq!(spread(4, 10), [0, 1, 2, 3]);
        let few = spread(101, 5);
        assert_eq!(few, [0, 25, 50, 75, 100]);
        assert_eq!(spread(3, 1), [0]);
        assert_eq!(spread(3, 2), [0, 2]);
    }
}
