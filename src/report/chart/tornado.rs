//! How far each of many fields moves a result, the strongest on top.

use std::fmt::Write as _;

use super::heat_map::cut;
use super::plot::{Field, Stroke};
use super::scale::{plain, ticks};
use super::svg::{Anchor, Svg, Type, width};
use super::{ChartError, Frame, Tint};

/// Bars from the lowest to the highest mean over each field's values.
#[derive(Debug, Clone, PartialEq)]
pub struct Tornado {
    /// Title, for people who cannot see the chart.
    pub title: String,
    /// What is moved, with its unit.
    pub what: String,
    /// Mean over everything.
    pub mean: f64,
    /// Bars, the longest first.
    pub bars: Vec<Bar>,
    /// Digits behind the point.
    pub decimals: usize,
}

/// One field.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// Its key.
    pub name: String,
    /// Value at which the mean is lowest, and that mean.
    pub low: (String, f64),
    /// Value at which it is highest, and that mean.
    pub high: (String, f64),
    /// Whether it may be so long through chance alone.
    pub is_chance: bool,
}

/// Height of a bar with its name, px.
const ROW_PX: f64 = 40.0;
/// What figures of one width take more than they are measured.
const SLACK: f64 = 1.06;

impl Tornado {
    /// What the chart tells, in a sentence or two.
    pub fn in_words(&self) -> String {
        let number = |value: f64| plain(value, self.decimals);
        let mut words = format!("{}, mean {}.", self.what, number(self.mean));
        for bar in &self.bars {
            let _ = write!(
                words,
                " {}: {} with {}, {} with {}.",
                bar.name,
                number(bar.low.1),
                bar.low.0,
                number(bar.high.1),
                bar.high.0
            );
        }
        words
    }

    /// The chart as SVG.
    ///
    /// # Errors
    /// [`ChartError`] if the drawing library fails.
    pub fn draw(&self, frame: Frame) -> Result<String, ChartError> {
        let soft = Type::new(Tint::Muted, Anchor::Start).small();
        let number = |value: f64| plain(value, self.decimals);
        let text = Type::new(Tint::Ink, Anchor::Start);
        // Names of values that leave no room for bars are cut, their means never.
        let most = frame.width() * 0.36;
        let words = |(name, value): &(String, f64)| {
            let value = number(*value);
            let room = most - width(&format!(": {value}"), text);
            format!("{}: {value}", cut(name, room, text))
        };
        let widest = |of: &dyn Fn(&Bar) -> String| {
            let texts = self.bars.iter().map(of);
            texts.map(|words| width(&words, text)).fold(0.0, f64::max)
        };
        let left_px = widest(&|bar| words(&bar.low));
        let right_px = widest(&|bar| words(&bar.high));
        let ends = self.bars.iter().flat_map(|bar| [bar.low.1, bar.high.1]);
        let (low, high) = ends
            .chain([self.mean])
            .filter(|value| value.is_finite())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                (low.min(value), high.max(value))
            });
        let x = if high > low { low..high } else { 0.0..1.0 };
        let field = Field {
            left: left_px * SLACK + 8.0,
            top: 24.0,
            right: frame.width() - right_px * SLACK - 8.0,
            bottom: 24.0 + ROW_PX * self.bars.len() as f64,
            x,
            y: 0.0..(self.bars.len().max(1)) as f64,
        };
        let mut svg = Svg::new(frame.width(), field.bottom + 26.0);
        svg.text((0.0, 11.0), &cut(&self.what, frame.width(), soft), soft);
        self.axis(&mut svg, &field)?;
        let count = self.bars.len() as f64;
        for (index, bar) in self.bars.iter().enumerate() {
            let y = count - index as f64;
            let (blue, red) = if bar.is_chance {
                (Tint::Muted, Tint::Muted)
            } else {
                (Tint::Blue, Tint::Vermilion)
            };
            let band = (y - 0.86)..(y - 0.46);
            field.bar(&mut svg, bar.low.1..self.mean, band.clone(), blue, 0.85)?;
            field.bar(&mut svg, self.mean..bar.high.1, band, red, 0.85)?;
            let middle_px = field.y_px(y - 0.66);
            let name = Type::new(Tint::Ink, Anchor::Middle).bold().halo();
            let half = width(&bar.name, name) / 2.0 + 1.0;
            let x = field.x_px(self.mean);
            let x = x.clamp(half.min(svg.width() / 2.0), (svg.width() - half).max(half));
            svg.text((x, field.y_px(y - 0.38)), &bar.name, name);
            let at = (field.x_px(bar.low.1) - 6.0, middle_px);
            svg.text_about(
                at,
                &words(&bar.low),
                Type::new(Tint::Ink, Anchor::End).halo(),
            );
            let at = (field.x_px(bar.high.1) + 6.0, middle_px);
            svg.text_about(at, &words(&bar.high), text.halo());
        }
        Ok(svg.finish(&self.title, &self.in_words()))
    }

    /// Round numbers and the mean, each with a line.
    fn axis(&self, svg: &mut Svg, field: &Field) -> Result<(), ChartError> {
        let middle = Type::new(Tint::Muted, Anchor::Middle).small();
        let upright = |value: f64| [(value, field.y.start), (value, field.y.end)];
        let mean = format!("mean {}", plain(self.mean, self.decimals));
        let mean_px = field.x_px(self.mean);
        let marks = ticks(&field.x, ((field.right - field.left) / 60.0).max(1.0));
        for &value in &marks.values {
            let (x, label) = (field.x_px(value), marks.label(value));
            field.line(svg, &upright(value), Stroke::solid(Tint::Grid, 1.0))?;
            let apart = 0.5 * (width(&label, middle) + width(&mean, middle)) + 6.0;
            if (x - mean_px).abs() > apart {
                svg.text((x, field.bottom + 18.0), &label, middle);
            }
        }
        field.line(svg, &upright(self.mean), Stroke::solid(Tint::Ink, 1.0))?;
        let ink = Type::new(Tint::Ink, Anchor::Middle).small();
        svg.text((mean_px, field.bottom + 18.0), &mean, ink);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn means_are_always_told_and_names_cut_before_them() {
        let bar = |name: &str, is_chance| Bar {
            name: name.to_owned(),
            low: ("a value with a very long name of its own".to_owned(), 116.4),
            high: ("none".to_owned(), 131.0),
            is_chance,
        };
        let chart = Tornado {
            title: "t".to_owned(),
            what: "attic air, highest, °F".to_owned(),
            mean: 123.0,
            bars: vec![bar("barrier.place", false), bar("site.shelter", true)],
            decimals: 1,
        };
        for frame in [Frame::Wide, Frame::Narrow] {
            let svg = chart.draw(frame).unwrap();
            assert!(svg.contains("116.4<") && svg.contains("none: 131.0<"));
            assert!(svg.contains("mean 123.0") && !svg.contains("NaN"));
        }
        let flat = Tornado {
            bars: Vec::new(),
            ..chart
        };
        assert!(!flat.draw(Frame::Narrow).unwrap().contains("NaN"));
    }
}
