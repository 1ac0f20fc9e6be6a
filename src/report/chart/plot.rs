//! Plots on two axes: plotters' coordinates and series, drawn into our SVG.
//!
//! Back ends work in whole pixels, so ours counts tenths; and it reads colours as numbers of
//! [`Tint`]s, so that light and dark are left to the style sheet.

use std::convert::Infallible;
use std::ops::Range;

use plotters::coord::Shift;
use plotters::coord::cartesian::Cartesian2d;
use plotters::coord::types::RangedCoordf64;
use plotters::drawing::{DrawingArea, IntoDrawingArea};
use plotters::element::{PathElement, Polygon, Rectangle};
use plotters::style::{Color, RGBColor, ShapeStyle};
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind,
};

use super::ChartError;
use super::palette::Tint;
use super::svg::{Anchor, DASHED, Point, Svg, Type};

/// Backend pixels in one of the drawing.
const FINE: f64 = 10.0;

/// A field between two axes.
#[derive(Debug, Clone)]
pub(super) struct Field {
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
    pub(super) x: Range<f64>,
    pub(super) y: Range<f64>,
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stroke {
    pub(super) tint: Tint,
    pub(super) px: f64,
    pub(super) dashed: bool,
}

impl Stroke {
    pub(super) fn solid(tint: Tint, px: f64) -> Self {
        Self {
            tint,
            px,
            dashed: false,
        }
    }

    pub(super) fn dashed(tint: Tint, px: f64) -> Self {
        Self {
            tint,
            px,
            dashed: true,
        }
    }
}

impl Field {
    pub(super) fn x_px(&self, x: f64) -> f64 {
        self.left + (x - self.x.start) / (self.x.end - self.x.start) * (self.right - self.left)
    }

    pub(super) fn y_px(&self, y: f64) -> f64 {
        self.bottom - (y - self.y.start) / (self.y.end - self.y.start) * (self.bottom - self.top)
    }

    pub(super) fn at(&self, x: f64, y: f64) -> Point {
        (self.x_px(x), self.y_px(y))
    }

    pub(super) fn height(&self) -> f64 {
        self.bottom - self.top
    }

    /// A line; points that are not finite break it.
    pub(super) fn line(
        &self,
        svg: &mut Svg,
        points: &[Point],
        stroke: Stroke,
    ) -> Result<(), ChartError> {
        let columns = ((self.right - self.left) * 2.0).max(1.0);
        let per_px = columns / (self.x.end - self.x.start);
        for run in points.split(|point| !(point.0.is_finite() && point.1.is_finite())) {
            let style = style(stroke.tint, 1.0, stroke.px, stroke.dashed);
            self.draw(svg, |area| {
                area.draw(&PathElement::new(thinned(run, per_px), style))
            })?;
        }
        Ok(())
    }

    /// A filled outline.
    pub(super) fn area(
        &self,
        svg: &mut Svg,
        points: &[Point],
        tint: Tint,
        opacity: f64,
    ) -> Result<(), ChartError> {
        if points.len() < 3 || points.iter().any(|p| !(p.0.is_finite() && p.1.is_finite())) {
            return Ok(());
        }
        let style = style(tint, opacity, 0.0, false);
        self.draw(svg, |area| area.draw(&Polygon::new(points.to_vec(), style)))
    }

    /// A filled rectangle.
    pub(super) fn bar(
        &self,
        svg: &mut Svg,
        x: Range<f64>,
        y: Range<f64>,
        tint: Tint,
        opacity: f64,
    ) -> Result<(), ChartError> {
        if ![x.start, x.end, y.start, y.end]
            .iter()
            .all(|v| v.is_finite())
        {
            return Ok(());
        }
        let style = style(tint, opacity, 0.0, false).filled();
        self.draw(svg, |area| {
            area.draw(&Rectangle::new([(x.start, y.start), (x.end, y.end)], style))
        })
    }

    /// Level line with its figure beside it.
    pub(super) fn level(
        &self,
        svg: &mut Svg,
        value: f64,
        text: &str,
        tint: Tint,
    ) -> Result<(), ChartError> {
        let ends = [(self.x.start, value), (self.x.end, value)];
        self.line(svg, &ends, Stroke::solid(tint, 1.0))?;
        let label = Type::new(Tint::Muted, Anchor::End).small();
        svg.text_about((self.left - 7.0, self.y_px(value)), text, label);
        Ok(())
    }

    fn draw(
        &self,
        svg: &mut Svg,
        draw: impl FnOnce(&DrawingArea<Plotter<'_>, Axes>) -> Drawn,
    ) -> Result<(), ChartError> {
        let (x, y) = (
            fine(self.left)..fine(self.right),
            fine(self.bottom)..fine(self.top),
        );
        let axes = Axes::new(self.x.clone(), self.y.clone(), (x, y));
        let area: DrawingArea<_, Shift> = Plotter(svg).into_drawing_area();
        let area = area.apply_coord_spec(axes);
        draw(&area)?;
        Ok(())
    }
}

type Axes = Cartesian2d<RangedCoordf64, RangedCoordf64>;
type Drawn = Result<(), plotters::drawing::DrawingAreaErrorKind<Infallible>>;

#[expect(
    clippy::cast_possible_truncation,
    reason = "drawings are some hundred pixels wide"
)]
fn fine(px: f64) -> i32 {
    (px * FINE).round() as i32
}

/// The style of a tint: its number as red, whether the line is dashed as green.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "strokes are a few pixels wide"
)]
fn style(tint: Tint, opacity: f64, stroke_px: f64, dashed: bool) -> ShapeStyle {
    let color = RGBColor(tint.number(), u8::from(dashed), 0).mix(opacity);
    Color::stroke_width(&color, (stroke_px * FINE).round() as u32)
}

/// First, lowest, highest and last point of each column; `per_x` columns to a unit of x.
fn thinned(points: &[Point], per_x: f64) -> Vec<Point> {
    let mut thin: Vec<Point> = Vec::new();
    for column in points.chunk_by(|a, b| (a.0 * per_x).floor() >= (b.0 * per_x).floor()) {
        if column.len() <= 4 {
            thin.extend_from_slice(column);
            continue;
        }
        let by_y = |a: &&Point, b: &&Point| a.1.total_cmp(&b.1);
        let mut chosen: Vec<Point> = [
            column.first(),
            column.iter().min_by(by_y),
            column.iter().max_by(by_y),
            column.last(),
        ]
        .into_iter()
        .flatten()
        .copied()
        .collect();
        chosen.sort_by(|a, b| a.0.total_cmp(&b.0));
        thin.extend(chosen);
    }
    thin
}

/// Our SVG as a back end of plotters.
struct Plotter<'a>(&'a mut Svg);

type Done = Result<(), DrawingErrorKind<Infallible>>;

fn tint_of(color: BackendColor) -> Tint {
    Tint::from_number(color.rgb.0)
}

fn point_of(at: BackendCoord) -> Point {
    (f64::from(at.0) / FINE, f64::from(at.1) / FINE)
}

impl DrawingBackend for Plotter<'_> {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        let size = |px| u32::try_from(fine(px)).unwrap_or(0);
        (size(self.0.width()), size(self.0.height()))
    }

    fn ensure_prepared(&mut self) -> Done {
        Ok(())
    }

    fn present(&mut self) -> Done {
        Ok(())
    }

    fn draw_pixel(&mut self, at: BackendCoord, color: BackendColor) -> Done {
        self.0.circle(point_of(at), 0.5, tint_of(color));
        Ok(())
    }

    fn draw_line<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
    ) -> Done {
        self.draw_path([from, to], style)
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        one: BackendCoord,
        other: BackendCoord,
        style: &S,
        fill: bool,
    ) -> Done {
        let (left, right) = (one.0.min(other.0), one.0.max(other.0));
        let (top, bottom) = (one.1.min(other.1), one.1.max(other.1));
        let color = style.color();
        if fill {
            let (from, to) = (point_of((left, top)), point_of((right, bottom)));
            self.0.rect(from, to, tint_of(color), color.alpha);
            return Ok(());
        }
        let corners = [
            (left, top),
            (right, top),
            (right, bottom),
            (left, bottom),
            (left, top),
        ];
        self.draw_path(corners, style)
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Done {
        let points: Vec<Point> = path.into_iter().map(point_of).collect();
        let color = style.color();
        let extra = if color.rgb.1 == 1 { DASHED } else { "" };
        self.0.line(
            &points,
            tint_of(color),
            f64::from(style.stroke_width()) / FINE,
            extra,
        );
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        at: BackendCoord,
        radius: u32,
        style: &S,
        _fill: bool,
    ) -> Done {
        self.0.circle(
            point_of(at),
            f64::from(radius) / FINE,
            tint_of(style.color()),
        );
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Done {
        let points: Vec<Point> = path.into_iter().map(point_of).collect();
        self.0
            .polygon(&points, tint_of(style.color()), style.color().alpha);
        Ok(())
    }

    fn draw_text<S: BackendTextStyle>(&mut self, text: &str, style: &S, at: BackendCoord) -> Done {
        let look = Type::new(tint_of(style.color()), Anchor::Start);
        self.0.text(point_of(at), text, look);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::elementary::sin;

    fn field() -> Field {
        Field {
            left: 10.0,
            top: 0.0,
            right: 110.0,
            bottom: 50.0,
            x: 0.0..10.0,
            y: 0.0..5.0,
        }
    }

    #[test]
    fn plotters_and_our_own_labels_share_one_scale() {
        let mut svg = Svg::new(120.0, 60.0);
        field()
            .line(
                &mut svg,
                &[(0.0, 0.0), (5.0, 5.0), (10.0, 1.0)],
                Stroke::dashed(Tint::Blue, 1.6),
            )
            .unwrap();
        let text = svg.finish("", "");
        assert!(text.contains("d=\"M10 50L60 0 110 40\""), "{text}");
        assert!(text.contains("class=\"l blue\" stroke-width=\"1.6\" stroke-dasharray"));
        assert_eq!(field().at(5.0, 5.0), (60.0, 0.0));
    }

    #[test]
    fn a_crowd_of_points_keeps_its_extremes() {
        let points: Vec<Point> = (0..10_000)
            .map(|i| {
                (
                    f64::from(i) / 1_000.0,
                    if i == 4_321 { 9.0 } else { sin(f64::from(i)) },
                )
            })
            .collect();
        let thin = thinned(&points, 20.0);
        assert!(thin.len() <= 4 * 201);
        assert!(thin.contains(&points[4_321]));
        assert!(thin.is_sorted_by(|a, b| a.0 <= b.0));
    }
}
