//! Drops day by day, of days before a change and after it, about the line of nothing.

use super::label::{self, EndLabel};
use super::plot::{Field, Stroke};
use super::scale::{self, plain, round_range, ticks};
use super::svg::{Anchor, Svg, Type, left_of_units, width};
use super::{ChartError, Frame, Tint};

use jiff::civil::Date;

/// A day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DropDay {
    /// Date.
    pub date: Date,
    /// Drop, in the unit shown.
    pub value: f64,
    /// Limits of it by itself, where they are told.
    pub limits: Option<[f64; 2]>,
}

/// One field of a chart.
#[derive(Debug, Clone, PartialEq)]
pub struct DropPanel {
    /// Heading; may be empty.
    pub title: String,
    /// Days before.
    pub before: Vec<DropDay>,
    /// Days after.
    pub after: Vec<DropDay>,
    /// The drop over all days after.
    pub all: f64,
    /// Its limits.
    pub all_limits: [f64; 2],
}

/// Drops day by day.
#[derive(Debug, Clone, PartialEq)]
pub struct DropChart {
    /// Title, for people who cannot see the chart.
    pub title: String,
    /// What it tells, in a few sentences.
    pub words: String,
    /// Unit of the drops.
    pub unit: &'static str,
    /// Fields from the top.
    pub panels: Vec<DropPanel>,
}

/// Least distance of level lines, px.
const PER_TICK_PX: f64 = 34.0;
/// Room between the days before and those after, in days.
const BETWEEN: f64 = 1.0;
/// Names of the two lines that others are held against.
const ALL: &str = "all days";
const NOTHING: &str = "no change";

impl DropChart {
    /// The chart as SVG.
    ///
    /// # Errors
    /// [`ChartError`] if the drawing library fails.
    pub fn draw(&self, frame: Frame) -> Result<String, ChartError> {
        let bold = Type::new(Tint::Ink, Anchor::Start).bold();
        let small = Type::new(Tint::Muted, Anchor::End).small();
        let label_px = width(ALL, bold).max(width(NOTHING, bold));
        let field_px = if frame.is_wide() { 220.0 } else { 190.0 };
        let has_titles = self.panels.iter().any(|panel| !panel.title.is_empty());
        let head_px = if has_titles { 58.0 } else { 26.0 };
        let foot_px = 24.0;
        let each_px = field_px + head_px + foot_px;
        let mut svg = Svg::new(frame.width(), each_px * self.panels.len().max(1) as f64);
        let left = left_of_units(std::iter::once(self.unit), small);
        for (index, panel) in self.panels.iter().enumerate() {
            let top = head_px + index as f64 * each_px;
            let field = Field {
                left,
                top,
                right: frame.width() - label_px - 18.0,
                bottom: top + field_px,
                x: 0.0..panel.last_x(),
                y: round_range(panel.extent(), field_px / PER_TICK_PX),
            };
            if !panel.title.is_empty() {
                svg.text((0.0, top - 32.0), &panel.title, bold);
            }
            svg.text((field.left - 7.0, top - 9.0), self.unit, small);
            panel.draw(&mut svg, &field)?;
        }
        Ok(svg.finish(&self.title, &self.words))
    }
}

impl DropPanel {
    /// Where the days after begin.
    fn after_x(&self) -> f64 {
        if self.before.is_empty() {
            0.0
        } else {
            self.before.len() as f64 + BETWEEN
        }
    }

    fn last_x(&self) -> f64 {
        (self.after_x() + self.after.len() as f64).max(1.0)
    }

    /// Values that must be inside the field.
    fn extent(&self) -> impl Iterator<Item = f64> {
        let days = self.before.iter().chain(&self.after);
        let days = days.flat_map(|day| {
            let [low, high] = day.limits.unwrap_or([day.value; 2]);
            [day.value, low, high]
        });
        days.chain([0.0, self.all, self.all_limits[0], self.all_limits[1]])
    }

    fn draw(&self, svg: &mut Svg, field: &Field) -> Result<(), ChartError> {
        let levels = ticks(&field.y, field.height() / PER_TICK_PX);
        for &value in &levels.values {
            field.level(svg, value, &levels.label(value), Tint::Grid)?;
        }
        let after = self.after_x()..field.x.end;
        let [low, high] = self.all_limits;
        field.bar(svg, after.clone(), low..high, Tint::Vermilion, 0.16)?;
        let nothing = [(field.x.start, 0.0), (field.x.end, 0.0)];
        field.line(svg, &nothing, Stroke::solid(Tint::Ink, 1.3))?;
        let all = [(after.start, self.all), (after.end, self.all)];
        field.line(svg, &all, Stroke::solid(Tint::Vermilion, 1.6))?;
        for (days, from, tint, name) in [
            (&self.before, 0.0, Tint::Slate, "before the change"),
            (&self.after, after.start, Tint::Vermilion, "after it"),
        ] {
            days_of(svg, field, days, from, (tint, name))?;
        }
        let end = |value: f64, text: &str, tint| EndLabel {
            end: field.at(field.x.end, value),
            text: text.to_owned(),
            tint,
        };
        let labels = [
            end(self.all, ALL, Tint::Vermilion),
            end(0.0, NOTHING, Tint::Ink),
        ];
        label::write(svg, &labels, field.right + 10.0, (field.top, field.bottom));
        Ok(())
    }
}

/// The days of one side, its name above them and their dates below.
fn days_of(
    svg: &mut Svg,
    field: &Field,
    days: &[DropDay],
    from: f64,
    (tint, name): (Tint, &str),
) -> Result<(), ChartError> {
    if days.is_empty() {
        return Ok(());
    }
    let start = Type::new(tint, Anchor::Start).bold();
    svg.text((field.x_px(from), field.top - 9.0), name, start);
    let per_day = field.x_px(1.0) - field.x_px(0.0);
    let middle = Type::new(Tint::Muted, Anchor::Middle).small();
    let every = day_step(per_day);
    for (index, day) in days.iter().enumerate() {
        let x = from + index as f64 + 0.5;
        if let Some([low, high]) = day.limits {
            field.line(svg, &[(x, low), (x, high)], Stroke::solid(tint, 1.2))?;
        }
        svg.circle(field.at(x, day.value), f64::min(3.5, 0.4 * per_day), tint);
        if index % every == 0 {
            let at = day.date.at(12, 0, 0, 0);
            let word = if per_day >= 48.0 {
                format!("{} {}", day.date.day(), scale::month(at))
            } else {
                day.date.day().to_string()
            };
            svg.text((field.x_px(x), field.bottom + 16.0), &word, middle);
        }
    }
    Ok(())
}

/// Every how many days a date has room.
fn day_step(per_day_px: f64) -> usize {
    [1, 2, 5, 7, 14, 28]
        .into_iter()
        .find(|days| *days as f64 * per_day_px >= 18.0)
        .unwrap_or(56)
}

/// A drop with its limits, such as `7.4 (5.1 to 9.7)`, without the unit.
pub(in crate::report) fn within_limits(value: f64, [low, high]: [f64; 2]) -> String {
    let one = |value: f64| plain(value, 1);
    format!("{} ({} to {})", one(value), one(low), one(high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::ToSpan as _;
    use jiff::civil::date;

    fn panel(before: usize, after: usize) -> DropPanel {
        let days = |count: usize, value: f64, limits: Option<[f64; 2]>| -> Vec<DropDay> {
            let day = |at: usize| DropDay {
                date: date(2026, 7, 1) + i64::try_from(at).unwrap().days(),
                value,
                limits,
            };
            (0..count).map(day).collect()
        };
        DropPanel {
            title: "ridge".to_owned(),
            before: days(before, 0.4, None),
            after: days(after, 5.0, Some([2.0, 8.0])),
            all: 5.0,
            all_limits: [4.0, 6.0],
        }
    }

    #[test]
    fn nothing_is_always_in_the_field_and_all_is_named() {
        for (before, after) in [(0, 0), (6, 6), (1, 60)] {
            let one = panel(before, after);
            assert!(one.extent().any(|value| value == 0.0));
            let chart = DropChart {
                title: "t".to_owned(),
                words: "w".to_owned(),
                unit: "K",
                panels: vec![one],
            };
            for frame in [Frame::Wide, Frame::Narrow] {
                let svg = chart.draw(frame).unwrap();
                assert!(!svg.contains("NaN"), "{svg}");
                assert!(svg.contains(">no change<") && svg.contains(">all days<"));
            }
        }
    }

    #[test]
    fn dates_never_crowd() {
        assert_eq!([40.0, 10.0, 2.0].map(day_step), [1, 2, 14]);
    }
}
