//! A table of numbers whose cells are tinted by them: two fields varied together.

use super::scale::plain;
use super::svg::{Anchor, SMALL_PX, Svg, Type, width};
use super::{ChartError, Frame, Tint};

/// Numbers over two lists of values.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatMap {
    /// Title, for people who cannot see the chart.
    pub title: String,
    /// What the numbers are, with their unit.
    pub what: String,
    /// What goes across, and its values.
    pub across: (String, Vec<String>),
    /// What goes down, and its values.
    pub down: (String, Vec<String>),
    /// Numbers, row by row; none where there is no result.
    pub values: Vec<Option<f64>>,
    /// Digits behind the point.
    pub decimals: usize,
    /// Colour of the highest.
    pub tint: Tint,
}

/// Height of a row, px.
const ROW_PX: f64 = 28.0;
/// Widest column, px.
const COLUMN_PX: f64 = 130.0;
/// How strongly the lowest and the highest are tinted; text stays readable on either.
const TINTED: [f64; 2] = [0.04, 0.55];

impl HeatMap {
    /// What the chart tells, in a sentence.
    pub fn in_words(&self) -> String {
        let name = |at: usize| {
            let across = self.across.1.get(at % self.across.1.len().max(1));
            let down = self.down.1.get(at / self.across.1.len().max(1));
            let named = |key: &str, value: Option<&String>| match value {
                Some(value) => format!("{} {value}", last(key)),
                None => String::new(),
            };
            let down = named(&self.down.0, down);
            if self.across.0.is_empty() {
                down
            } else {
                format!("{down}, {}", named(&self.across.0, across))
            }
        };
        let Some((low, high)) = self.ends() else {
            return format!("{}: no result.", self.what);
        };
        let number = |value: f64| plain(value, self.decimals);
        format!(
            "{}: lowest {} with {}, highest {} with {}.",
            self.what,
            number(low.1),
            name(low.0),
            number(high.1),
            name(high.0),
        )
    }

    /// Where the lowest and the highest are.
    fn ends(&self) -> Option<((usize, f64), (usize, f64))> {
        let known = self.values.iter().enumerate();
        let known = known.filter_map(|(at, value)| Some((at, (*value)?)));
        let known: Vec<(usize, f64)> = known.filter(|(_, value)| value.is_finite()).collect();
        let by = |a: &&(usize, f64), b: &&(usize, f64)| a.1.total_cmp(&b.1);
        Some((*known.iter().min_by(by)?, *known.iter().max_by(by)?))
    }

    /// The chart as SVG.
    ///
    /// # Errors
    /// None at present; [`ChartError`] as the other charts have.
    pub fn draw(&self, frame: Frame) -> Result<String, ChartError> {
        let label = Type::new(Tint::Ink, Anchor::End);
        let head = Type::new(Tint::Ink, Anchor::Middle);
        let soft = Type::new(Tint::Muted, Anchor::Start).small();
        let widest = self.down.1.iter().map(|text| width(text, label));
        let most = frame.width() * 0.34;
        let margin = widest.fold(0.0, f64::max).min(most);
        let left = margin + 10.0;
        let columns = self.across.1.len().max(1);
        let column = ((frame.width() - left - 2.0) / columns as f64).min(COLUMN_PX);
        let has_across = !self.across.0.is_empty();
        let top = if has_across { 56.0 } else { 36.0 };
        let bottom = top + ROW_PX * self.down.1.len() as f64;
        let mut svg = Svg::new(frame.width(), bottom + 4.0);
        svg.text((0.0, 11.0), &cut(&self.what, frame.width(), soft), soft);
        let axes = if has_across {
            format!("{} down, {} across", self.down.0, self.across.0)
        } else {
            self.down.0.clone()
        };
        svg.text((0.0, 27.0), &cut(&axes, frame.width(), soft), soft);
        if has_across {
            for (at, text) in self.across.1.iter().enumerate() {
                let x = left + column * (at as f64 + 0.5);
                svg.text((x, top - 8.0), &cut(text, column - 4.0, head), head);
            }
        }
        for (at, text) in self.down.1.iter().enumerate() {
            let y = top + ROW_PX * (at as f64 + 0.5);
            svg.text_about((left - 8.0, y), &cut(text, margin, label), label);
        }
        let ends = self.ends();
        for (at, value) in self.values.iter().enumerate() {
            let (row, col) = (at / columns, at % columns);
            let from = (left + column * col as f64, top + ROW_PX * row as f64);
            let to = (from.0 + column - 2.0, from.1 + ROW_PX - 2.0);
            let middle = (from.0.midpoint(to.0), from.1.midpoint(to.1));
            let Some(value) = value.filter(|value| value.is_finite()) else {
                svg.rect(from, to, Tint::Grid, 0.5);
                svg.text_about(middle, "–", Type::new(Tint::Muted, Anchor::Middle));
                continue;
            };
            let (mut share, mut is_end) = (0.0, false);
            if let Some((low, high)) = ends {
                let span = high.1 - low.1;
                share = if span > 0.0 {
                    (value - low.1) / span
                } else {
                    0.0
                };
                is_end = span > 0.0 && (at == low.0 || at == high.0);
            }
            let opacity = TINTED[0] + share * (TINTED[1] - TINTED[0]);
            svg.rect(from, to, self.tint, opacity);
            let style = Type::new(Tint::Ink, Anchor::Middle);
            let style = if is_end { style.bold() } else { style };
            let text = plain(value, self.decimals);
            // Columns too narrow for figures are told by their tint alone.
            if width(&text, style) <= column - 2.0 {
                svg.text_about(middle, &text, style);
            } else if let text = plain(value, 0)
                && width(&text, style.small()) <= column - 2.0
            {
                svg.text_about(middle, &text, style.small());
            }
        }
        Ok(svg.finish(&self.title, &self.in_words()))
    }
}

/// The last part of a key.
pub(super) fn last(key: &str) -> &str {
    key.rsplit('.').next().unwrap_or(key)
}

/// A text cut to a width.
pub(super) fn cut(text: &str, room_px: f64, style: Type) -> String {
    if width(text, style) <= room_px {
        return text.to_owned();
    }
    let mut short: Vec<char> = text.chars().collect();
    while short.len() > 1 {
        short.pop();
        let text: String = short.iter().collect::<String>().trim_end().to_owned() + "…";
        if width(&text, style) <= room_px.max(SMALL_PX) {
            return text;
        }
    }
    String::new()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ends_are_told_and_what_is_missing_is_marked() {
        let map = HeatMap {
            title: "t".to_owned(),
            what: "attic air, highest, °F".to_owned(),
            across: (
                "barrier.place".to_owned(),
                vec!["none".to_owned(), "deck".to_owned()],
            ),
            down: (
                "fans.gable.count".to_owned(),
                vec!["0".to_owned(), "8".to_owned()],
            ),
            values: vec![Some(131.0), Some(124.5), None, Some(116.4)],
            decimals: 1,
            tint: Tint::Vermilion,
        };
        let words = map.in_words();
        assert!(
            words.contains("lowest 116.4 with count 8, place deck"),
            "{words}"
        );
        assert!(
            words.contains("highest 131.0 with count 0, place none"),
            "{words}"
        );
        for frame in [Frame::Wide, Frame::Narrow] {
            let svg = map.draw(frame).unwrap();
            assert_eq!(svg.matches("<rect").count(), 4);
            assert!(svg.contains("131.0") && svg.contains('–') && !svg.contains("NaN"));
        }
    }

    #[test]
    fn long_texts_are_cut() {
        let style = Type::new(Tint::Ink, Anchor::Start);
        assert_eq!(cut("deck", 100.0, style), "deck");
        let short = cut("a very long name of some weather", 80.0, style);
        assert!(
            short.ends_with('…') && width(&short, style) <= 80.0,
            "{short}"
        );
    }
}
