//! An SVG drawing as it is written: shapes with classes, coordinates to a tenth of a pixel.

use std::fmt::Write as _;

use crate::elementary::hypot;
use crate::report::font;

use super::palette::Tint;

/// Size of normal text and of small text, px.
pub(super) const TEXT_PX: f64 = 12.0;
pub(super) const SMALL_PX: f64 = 11.0;

/// A point, px.
pub(super) type Point = (f64, f64);

/// Which point of a text is placed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// Look of a text.
#[derive(Debug, Clone, Copy)]
pub(super) struct Type {
    pub(super) tint: Tint,
    pub(super) anchor: Anchor,
    pub(super) bold: bool,
    pub(super) small: bool,
    /// Whether a rim of the ground's colour keeps it readable over lines.
    pub(super) halo: bool,
}

impl Type {
    pub(super) const fn new(tint: Tint, anchor: Anchor) -> Self {
        Self {
            tint,
            anchor,
            bold: false,
            small: false,
            halo: false,
        }
    }

    pub(super) const fn bold(self) -> Self {
        Self { bold: true, ..self }
    }

    pub(super) const fn small(self) -> Self {
        Self {
            small: true,
            ..self
        }
    }

    pub(super) const fn halo(self) -> Self {
        Self { halo: true, ..self }
    }
}

/// Width of a text, px.
pub(super) fn width(text: &str, style: Type) -> f64 {
    font::width_em(text, style.bold) * if style.small { SMALL_PX } else { TEXT_PX }
}

/// Room that the units above several axes take on their left, px.
pub(super) fn left_of_units<'a>(units: impl Iterator<Item = &'a str>, style: Type) -> f64 {
    units
        .map(|unit| width(unit, style) + 8.0)
        .fold(40.0, f64::max)
}

/// Half the height of a figure, to set text about a middle line, px.
pub(super) fn half_height(style: Type) -> f64 {
    // Figures of the font are 0.727 em tall.
    0.727 / 2.0 * if style.small { SMALL_PX } else { TEXT_PX }
}

/// A drawing that is being written.
#[derive(Debug)]
pub(super) struct Svg {
    width: f64,
    height: f64,
    body: String,
}

impl Svg {
    pub(super) fn new(width: f64, height: f64) -> Self {
        Self {
            width,
            height,
            body: String::new(),
        }
    }

    pub(super) fn width(&self) -> f64 {
        self.width
    }

    pub(super) fn height(&self) -> f64 {
        self.height
    }

    /// The drawing with what it shows in words.
    pub(super) fn finish(self, title: &str, description: &str) -> String {
        let (width, height) = (number(self.width), number(self.height));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"rh\" role=\"img\" \
             aria-label=\"{title}\" width=\"{width}\" height=\"{height}\" \
             viewBox=\"0 0 {width} {height}\"><title>{title}</title><desc>{}</desc>{}</svg>",
            escape(description),
            self.body,
            title = escape(title),
        )
    }

    /// A line through points; one that is not finite breaks it.
    pub(super) fn line(&mut self, points: &[Point], tint: Tint, stroke_px: f64, extra: &str) {
        let mut path = String::new();
        for run in points.split(|point| !(point.0.is_finite() && point.1.is_finite())) {
            trace(&mut path, &simplified(run));
        }
        if !path.is_empty() {
            let _ = write!(
                self.body,
                "<path class=\"l {}\" stroke-width=\"{}\"{extra} d=\"{path}\"/>",
                tint.class(),
                number(stroke_px)
            );
        }
    }

    pub(super) fn polygon(&mut self, points: &[Point], tint: Tint, opacity: f64) {
        if points.len() < 3 || points.iter().any(|p| !(p.0.is_finite() && p.1.is_finite())) {
            return;
        }
        let mut path = String::new();
        trace(&mut path, &simplified(points));
        let _ = write!(
            self.body,
            "<path class=\"a {}\"{} d=\"{path}Z\"/>",
            tint.class(),
            fill_opacity(opacity)
        );
    }

    pub(super) fn rect(&mut self, from: Point, to: Point, tint: Tint, opacity: f64) {
        let (width, height) = (to.0 - from.0, to.1 - from.1);
        if !(width > 0.0 && height > 0.0) {
            return;
        }
        let _ = write!(
            self.body,
            "<rect class=\"a {}\"{} x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
            tint.class(),
            fill_opacity(opacity),
            number(from.0),
            number(from.1),
            number(width),
            number(height)
        );
    }

    pub(super) fn circle(&mut self, at: Point, radius_px: f64, tint: Tint) {
        if at.0.is_finite() && at.1.is_finite() {
            let _ = write!(
                self.body,
                "<circle class=\"a {}\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
                tint.class(),
                number(at.0),
                number(at.1),
                number(radius_px)
            );
        }
    }

    /// Text with its baseline at a point.
    pub(super) fn text(&mut self, at: Point, text: &str, style: Type) {
        if !(at.0.is_finite() && at.1.is_finite()) || text.is_empty() {
            return;
        }
        let anchor = match style.anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let mut class = format!("t {}", style.tint.class());
        for (on, name) in [(style.bold, " b"), (style.small, " s"), (style.halo, " h")] {
            if on {
                class.push_str(name);
            }
        }
        let _ = write!(
            self.body,
            "<text class=\"{class}\"{anchor} x=\"{}\" y=\"{}\">{}</text>",
            number(at.0),
            number(at.1),
            escape(text)
        );
    }

    /// Text with the middle of its figures at a point.
    pub(super) fn text_about(&mut self, at: Point, text: &str, style: Type) {
        self.text((at.0, at.1 + half_height(style)), text, style);
    }
}

/// Style of a dashed line.
pub(super) const DASHED: &str = " stroke-dasharray=\"4 3.5\"";

fn fill_opacity(opacity: f64) -> String {
    if opacity < 1.0 {
        format!(" fill-opacity=\"{}\"", hundredths(opacity))
    } else {
        String::new()
    }
}

fn trace(path: &mut String, points: &[Point]) {
    for (index, point) in points.iter().enumerate() {
        let letter = match index {
            0 => "M",
            1 => "L",
            _ => " ",
        };
        let _ = write!(path, "{letter}{} {}", number(point.0), number(point.1));
    }
}

/// A length to a tenth of a pixel without needless digits.
pub(super) fn number(value: f64) -> String {
    let text = format!("{value:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

fn hundredths(value: f64) -> String {
    format!("{value:.2}")
}

pub(super) fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '&' => escaped.push_str("&amp;"),
            '"' => escaped.push_str("&quot;"),
            // XML 1.0 allows no other control characters.
            '\u{0}'..='\u{8}' | '\u{b}' | '\u{c}' | '\u{e}'..='\u{1f}' => escaped.push('\u{fffd}'),
            _ => escaped.push(letter),
        }
    }
    escaped
}

/// Leaves out points that lie within an eighth of a pixel of the line without them
/// (Douglas and Peucker, 1973).
fn simplified(points: &[Point]) -> Vec<Point> {
    const WITHIN_PX: f64 = 0.125;
    if points.len() < 3 {
        return points.to_vec();
    }
    let mut keep = vec![false; points.len()];
    keep[0] = true;
    keep[points.len() - 1] = true;
    let mut open = vec![(0, points.len() - 1)];
    while let Some((first, last)) = open.pop() {
        let (a, b) = (points[first], points[last]);
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let length = hypot(dx, dy);
        let mut farthest = (WITHIN_PX, None);
        for index in first + 1..last {
            let (x, y) = (points[index].0 - a.0, points[index].1 - a.1);
            let away = if length > 1e-9 {
                (x * dy - y * dx).abs() / length
            } else {
                hypot(x, y)
            };
            if away > farthest.0 {
                farthest = (away, Some(index));
            }
        }
        if let (_, Some(index)) = farthest {
            keep[index] = true;
            open.push((first, index));
            open.push((index, last));
        }
    }
    points
        .iter()
        .zip(keep)
        .filter(|(_, keep)| *keep)
        .map(|(point, _)| *point)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_keeps_its_ends_and_a_corner_stays() {
        let straight: Vec<Point> = (0..100)
            .map(|i| (f64::from(i), 2.0 * f64::from(i)))
            .collect();
        assert_eq!(simplified(&straight), [(0.0, 0.0), (99.0, 198.0)]);
        let corner = [(0.0, 0.0), (5.0, 5.0), (10.0, 0.0)];
        assert_eq!(simplified(&corner), corner);
    }

    #[test]
    fn what_is_not_finite_breaks_a_line_and_is_never_written() {
        let mut svg = Svg::new(10.0, 10.0);
        let gap = (f64::NAN, 1.0);
        svg.line(
            &[(0.0, 0.0), (1.0, 0.0), gap, (3.0, 0.0), (4.0, 0.0)],
            Tint::Ink,
            1.0,
            "",
        );
        svg.circle(gap, 1.0, Tint::Ink);
        svg.text(gap, "x", Type::new(Tint::Ink, Anchor::Start));
        svg.polygon(&[(0.0, 0.0), gap, (1.0, 1.0)], Tint::Ink, 1.0);
        svg.rect((0.0, 0.0), gap, Tint::Ink, 1.0);
        let text = svg.finish("t", "d");
        assert!(!text.contains("NaN"));
        assert!(text.contains("d=\"M0 0L1 0M3 0L4 0\""), "{text}");
    }

    #[test]
    fn text_is_escaped() {
        assert_eq!(
            escape("a<b & \"c\"\u{1}"),
            "a&lt;b &amp; &quot;c&quot;\u{fffd}"
        );
    }
}
