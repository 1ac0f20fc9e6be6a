//! Lines over a field that is varied, one for each value of another.

use std::fmt::Write as _;

use super::heat_map::{cut, last};
use super::label::{self, EndLabel};
use super::plot::{Field, Stroke};
use super::scale::{plain, round_range, ticks};
use super::svg::{Anchor, Svg, Type, width};
use super::{ChartError, Frame, Tint};

/// Lines over one axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Families {
    /// Title, for people who cannot see the chart.
    pub title: String,
    /// What goes up, with its unit.
    pub what: String,
    /// What goes across, with its unit.
    pub across: String,
    /// Where the points are across.
    pub x: Vec<f64>,
    /// What the lines differ in; empty of a single line.
    pub family: String,
    /// Names and points of the lines.
    pub lines: Vec<(String, Vec<Option<f64>>)>,
    /// Digits behind the point.
    pub decimals: usize,
}

impl Families {
    /// What the chart tells, in a sentence or two.
    pub fn in_words(&self) -> String {
        let number = |value: f64| plain(value, self.decimals);
        let mut words = format!("{} over {}.", self.what, self.across);
        for (name, points) in &self.lines {
            let known: Vec<f64> = points.iter().copied().flatten().collect();
            if let (Some(first), Some(last)) = (known.first(), known.last()) {
                let name = if name.is_empty() { "It" } else { name };
                let (first, last) = (number(*first), number(*last));
                let _ = write!(words, " {name}: {first} to {last}.");
            }
        }
        words
    }

    /// The chart as SVG.
    ///
    /// # Errors
    /// [`ChartError`] if the drawing library fails.
    pub fn draw(&self, frame: Frame) -> Result<String, ChartError> {
        let wide = frame.is_wide();
        let bold = Type::new(Tint::Ink, Anchor::Start).bold();
        let soft = Type::new(Tint::Muted, Anchor::Start).small();
        let most = frame.width() * 0.3;
        let names = self.lines.iter().map(|(name, _)| width(name, bold));
        let labels_px = names.fold(0.0, f64::max).min(most);
        let values = self.lines.iter().flat_map(|(_, points)| points);
        let y = round_range(values.copied().flatten(), 5.0);
        let finite = self.x.iter().copied().filter(|x| x.is_finite());
        let (low, high) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| {
            (low.min(x), high.max(x))
        });
        let x = if high > low { low..high } else { 0.0..1.0 };
        let field = Field {
            left: if wide { 48.0 } else { 36.0 },
            top: 26.0,
            right: frame.width() - labels_px - if labels_px > 0.0 { 22.0 } else { 12.0 },
            bottom: if wide { 286.0 } else { 236.0 },
            x,
            y,
        };
        let mut svg = Svg::new(frame.width(), field.bottom + 40.0);
        svg.text((0.0, 11.0), &cut(&self.what, frame.width(), soft), soft);
        let levels = ticks(&field.y, field.height() / 44.0);
        for &value in &levels.values {
            field.level(&mut svg, value, &levels.label(value), Tint::Grid)?;
        }
        let middle = Type::new(Tint::Muted, Anchor::Middle).small();
        let marks = ticks(&field.x, (field.right - field.left) / 48.0);
        for &value in &marks.values {
            let at = (field.x_px(value), field.bottom + 16.0);
            svg.text(at, &marks.label(value), middle);
        }
        let end = Type::new(Tint::Muted, Anchor::End).small();
        svg.text((field.right, field.bottom + 33.0), &self.across, end);
        if !self.family.is_empty() {
            let at = (field.right + 14.0, field.bottom + 33.0);
            let room = frame.width() - at.0;
            svg.text(at, &cut(last(&self.family), room, soft), soft);
        }
        let mut labels = Vec::new();
        for (index, (name, values)) in self.lines.iter().enumerate() {
            let tint = if self.lines.len() == 1 {
                Tint::Vermilion
            } else {
                Tint::of_design(index)
            };
            let points: Vec<(f64, f64)> = self
                .x
                .iter()
                .zip(values)
                .map(|(x, value)| (*x, value.unwrap_or(f64::NAN)))
                .collect();
            field.line(&mut svg, &points, Stroke::solid(tint, 2.0))?;
            let dots = points.len() <= 24;
            for (x, y) in points.iter().filter(|point| point.1.is_finite()) {
                let at = field.at(*x, *y);
                if dots {
                    svg.circle(at, 2.6, tint);
                }
            }
            if let Some((x, y)) = points.iter().rev().find(|point| point.1.is_finite()) {
                labels.push(EndLabel {
                    end: field.at(*x, *y),
                    text: cut(name, labels_px, bold),
                    tint,
                });
            }
        }
        if labels_px > 0.0 {
            let between = (field.top + 4.0, field.bottom - 2.0);
            label::write(&mut svg, &labels, field.right + 14.0, between);
        }
        Ok(svg.finish(&self.title, &self.in_words()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_breaks_where_a_result_is_missing() {
        let chart = Families {
            title: "t".to_owned(),
            what: "attic".to_owned(),
            across: "count".to_owned(),
            x: vec![0.0, 1.0, 2.0, 3.0, 4.0],
            family: "place".to_owned(),
            lines: vec![
                ("none".to_owned(), [5.0, 4.0].map(Some).to_vec()),
                (
                    "deck".to_owned(),
                    vec![Some(3.0), Some(2.0), None, Some(1.0), None],
                ),
            ],
            decimals: 1,
        };
        for frame in [Frame::Wide, Frame::Narrow] {
            let svg = chart.draw(frame).unwrap();
            assert!(!svg.contains("NaN"));
            assert!(svg.contains(">none<") && svg.contains(">deck<"));
        }
        assert!(chart.in_words().contains("deck: 3.0 to 1.0"));
        let empty = Families {
            lines: vec![(String::new(), vec![None])],
            x: vec![1.0],
            ..chart
        };
        assert!(!empty.draw(Frame::Narrow).unwrap().contains("NaN"));
    }
}
