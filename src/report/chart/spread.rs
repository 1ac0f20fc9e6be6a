//! How values are spread in classes, such as hours of the day: median, middle half, nine in ten.

use super::label::{self, EndLabel};
use super::plot::{Field, Stroke};
use super::scale::{round_range, ticks};
use super::svg::{Anchor, Point, Svg, Type, left_of_units, width};
use super::{ChartError, Frame, Tint};

/// Fewest values that are shown as spread; of fewer nothing is told.
const FEWEST: usize = 5;

/// How values are spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Limits of nine in ten.
    pub nine_in_ten: [f64; 2],
    /// Limits of the middle half.
    pub half: [f64; 2],
    /// The middle value.
    pub median: f64,
    /// How many there are.
    pub count: usize,
}

impl Spread {
    /// Of values; `None` of fewer than five, since so few tell no spread.
    pub fn of(mut values: Vec<f64>) -> Option<Self> {
        values.retain(|value| value.is_finite());
        if values.len() < FEWEST {
            return None;
        }
        values.sort_by(f64::total_cmp);
        let at = |share: f64| {
            let place = share * (values.len() - 1) as f64;
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "between zero and the number of values"
            )]
            let below = place.floor() as usize;
            let above = (below + 1).min(values.len() - 1);
            values[below] + (place - place.floor()) * (values[above] - values[below])
        };
        Some(Self {
            nine_in_ten: [at(0.05), at(0.95)],
            half: [at(0.25), at(0.75)],
            median: at(0.5),
            count: values.len(),
        })
    }
}

/// Values of one sort, in the chart's classes.
#[derive(Debug, Clone, PartialEq)]
pub struct SpreadGroup {
    /// Name.
    pub name: String,
    /// Colour.
    pub tint: Tint,
    /// Spread in each class, where enough is there.
    pub classes: Vec<Option<Spread>>,
}

/// One field of a chart.
#[derive(Debug, Clone, PartialEq)]
pub struct SpreadPanel {
    /// Heading; may be empty.
    pub title: String,
    /// Unit of the values.
    pub unit: &'static str,
    /// Groups, the first with its bands.
    pub groups: Vec<SpreadGroup>,
}

/// What goes across.
#[derive(Debug, Clone, PartialEq)]
pub enum Across {
    /// Classes that follow one another evenly: places between the classes, counted in classes, and
    /// what is written there.
    Even(Vec<(f64, String)>),
    /// Classes by their names.
    Named(Vec<String>),
}

/// Spread in classes.
#[derive(Debug, Clone, PartialEq)]
pub struct SpreadChart {
    /// Title, for people who cannot see the chart.
    pub title: String,
    /// What goes across, with its unit.
    pub what: String,
    /// Number of classes.
    pub classes: usize,
    /// What goes across.
    pub across: Across,
    /// Fields from the top.
    pub panels: Vec<SpreadPanel>,
}

/// Least distance of level lines, px.
const PER_TICK_PX: f64 = 34.0;

impl SpreadChart {
    /// The chart as SVG; what it shows is told in `words` for those who cannot see it.
    ///
    /// # Errors
    /// [`ChartError`] if the drawing library fails.
    pub fn draw(&self, frame: Frame, words: &str) -> Result<String, ChartError> {
        let wide = frame.is_wide();
        let bold = Type::new(Tint::Ink, Anchor::Start).bold();
        let groups = || self.panels.iter().flat_map(|panel| &panel.groups);
        let label_px = groups()
            .map(|group| width(&group.name, bold))
            .fold(0.0, f64::max);
        let field_px = if wide { 190.0 } else { 160.0 };
        let has_titles = self.panels.iter().any(|panel| !panel.title.is_empty());
        let head_px = if has_titles { 52.0 } else { 22.0 };
        let unit = Type::new(Tint::Muted, Anchor::End).small();
        let left = left_of_units(self.panels.iter().map(|panel| panel.unit), unit);
        let foot_px = match self.across {
            Across::Even(_) => 40.0,
            Across::Named(_) => 54.0,
        };
        let count = self.panels.len().max(1) as f64;
        let mut svg = Svg::new(frame.width(), count * (field_px + head_px + foot_px));
        for (index, panel) in self.panels.iter().enumerate() {
            let top = head_px + index as f64 * (field_px + head_px + foot_px);
            let field = Field {
                left,
                top,
                right: frame.width() - label_px - 18.0,
                bottom: top + field_px,
                x: 0.0..self.classes.max(1) as f64,
                y: round_range(panel.extent(), field_px / PER_TICK_PX),
            };
            if !panel.title.is_empty() {
                svg.text((0.0, top - 26.0), &panel.title, bold);
            }
            svg.text((field.left - 7.0, top - 8.0), panel.unit, unit);
            let levels = ticks(&field.y, field_px / PER_TICK_PX);
            for &value in &levels.values {
                let tint = if value.abs() < 1e-9 * levels.step {
                    Tint::Muted
                } else {
                    Tint::Grid
                };
                field.level(&mut svg, value, &levels.label(value), tint)?;
            }
            let labels = match &self.across {
                Across::Even(marks) => {
                    across_marks(&mut svg, &field, marks)?;
                    panel.bands(&mut svg, &field)?
                }
                Across::Named(names) => {
                    across_names(&mut svg, &field, names, panel);
                    panel.boxes(&mut svg, &field)?
                }
            };
            let end = Type::new(Tint::Muted, Anchor::End).small();
            let below = field.bottom + foot_px - 8.0;
            svg.text((field.right, below), &self.what, end);
            let between = (field.top + 4.0, field.bottom - 4.0);
            label::write(&mut svg, &labels, field.right + 10.0, between);
        }
        Ok(svg.finish(&self.title, words))
    }
}

fn across_marks(svg: &mut Svg, field: &Field, marks: &[(f64, String)]) -> Result<(), ChartError> {
    let middle = Type::new(Tint::Muted, Anchor::Middle).small();
    for (at, word) in marks {
        let ends = [(*at, field.y.start), (*at, field.y.end)];
        field.line(svg, &ends, Stroke::solid(Tint::Grid, 1.0))?;
        svg.text((field.x_px(*at), field.bottom + 16.0), word, middle);
    }
    Ok(())
}

/// Names of the classes, and below them how many values each has.
fn across_names(svg: &mut Svg, field: &Field, names: &[String], panel: &SpreadPanel) {
    let middle = Type::new(Tint::Muted, Anchor::Middle).small();
    for (class, name) in names.iter().enumerate() {
        let x = field.x_px(class as f64 + 0.5);
        let strong = Type::new(Tint::Ink, Anchor::Middle).small();
        svg.text((x, field.bottom + 16.0), name, strong);
        let spreads = panel
            .groups
            .iter()
            .filter_map(|group| *group.classes.get(class)?);
        let count: usize = spreads.map(|spread| spread.count).sum();
        let count = if count > 0 {
            count.to_string()
        } else {
            "–".to_owned()
        };
        svg.text((x, field.bottom + 30.0), &count, middle);
    }
}

impl SpreadPanel {
    /// Values that must be inside the field.
    fn extent(&self) -> impl Iterator<Item = f64> {
        let spreads = self
            .groups
            .iter()
            .flat_map(|group| group.classes.iter().flatten());
        let ends = spreads.flat_map(|spread| [spread.nine_in_ten[0], spread.nine_in_ten[1]]);
        ends.chain([0.0])
    }

    /// Bands of the first group and lines of all.
    fn bands(&self, svg: &mut Svg, field: &Field) -> Result<Vec<EndLabel>, ChartError> {
        let mut labels = Vec::new();
        for (index, group) in self.groups.iter().enumerate() {
            let places: Vec<(f64, Option<Spread>)> = group
                .classes
                .iter()
                .enumerate()
                .map(|(class, spread)| (class as f64 + 0.5, *spread))
                .collect();
            if index == 0 {
                for run in places.split(|place| place.1.is_none()) {
                    let edges = |of: fn(&Spread) -> [f64; 2]| -> Vec<Point> {
                        let spread = |place: &(f64, Option<Spread>)| Some((place.0, of(&place.1?)));
                        let known: Vec<(f64, [f64; 2])> = run.iter().filter_map(spread).collect();
                        let low = known.iter().map(|(x, [low, _])| (*x, *low));
                        let high = known.iter().rev().map(|(x, [_, high])| (*x, *high));
                        low.chain(high).collect()
                    };
                    field.area(svg, &edges(|spread| spread.nine_in_ten), group.tint, 0.14)?;
                    field.area(svg, &edges(|spread| spread.half), group.tint, 0.26)?;
                }
            }
            let median = |place: &(f64, Option<Spread>)| {
                (place.0, place.1.map_or(f64::NAN, |spread| spread.median))
            };
            let points: Vec<Point> = places.iter().map(median).collect();
            field.line(svg, &points, Stroke::solid(group.tint, 1.9))?;
            let mut known = points.iter().filter(|point| point.1.is_finite());
            if index > 0 {
                for (x, y) in known.clone() {
                    svg.circle(field.at(*x, *y), 2.2, group.tint);
                }
            }
            if let Some((x, y)) = known.next_back() {
                labels.push(EndLabel {
                    end: field.at(*x, *y),
                    text: group.name.clone(),
                    tint: group.tint,
                });
            }
        }
        Ok(labels)
    }

    /// Bars of the groups side by side in each class.
    fn boxes(&self, svg: &mut Svg, field: &Field) -> Result<Vec<EndLabel>, ChartError> {
        let mut labels = Vec::new();
        let count = self.groups.len().max(1) as f64;
        let per_class = field.x_px(1.0) - field.x_px(0.0);
        let slot = f64::min(0.8 / count, 20.0 / per_class.max(1.0));
        for (index, group) in self.groups.iter().enumerate() {
            let mut end = None;
            for (class, spread) in group.classes.iter().enumerate() {
                let Some(spread) = spread else {
                    continue;
                };
                let middle = class as f64 + 0.5 + (index as f64 + 0.5 - 0.5 * count) * slot;
                let about = |half: f64| middle - half * slot..middle + half * slot;
                let [low, high] = spread.nine_in_ten;
                field.bar(svg, about(0.38), low..high, group.tint, 0.2)?;
                let [low, high] = spread.half;
                field.bar(svg, about(0.38), low..high, group.tint, 0.4)?;
                let across = about(0.38);
                let ends = [(across.start, spread.median), (across.end, spread.median)];
                field.line(svg, &ends, Stroke::solid(group.tint, 2.4))?;
                end = Some(field.at(across.end, spread.median));
            }
            if let Some(end) = end {
                labels.push(EndLabel {
                    end,
                    text: group.name.clone(),
                    tint: group.tint,
                });
            }
        }
        Ok(labels)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_spread_of_even_numbers_is_known() {
        let spread = Spread::of((0..=100).rev().map(f64::from).collect()).unwrap();
        let [[low, high], [first, third]] = [spread.nine_in_ten, spread.half];
        let pairs = [
            (low, 5.0),
            (first, 25.0),
            (spread.median, 50.0),
            (third, 75.0),
            (high, 95.0),
        ];
        assert!(
            pairs
                .iter()
                .all(|(found, known)| (found - known).abs() < 1e-12)
        );
        assert_eq!(spread.count, 101);
        assert_eq!(Spread::of(vec![1.0, 2.0, 3.0, 4.0, f64::NAN]), None);
    }

    #[test]
    fn classes_without_values_leave_gaps() {
        let some = |at: f64| Spread::of((0..9).map(|i| at + f64::from(i)).collect());
        let group = |name: &str, tint| SpreadGroup {
            name: name.to_owned(),
            tint,
            classes: vec![some(-4.0), None, some(2.0), some(0.0)],
        };
        for across in [
            Across::Even(vec![(0.0, "0".to_owned()), (4.0, "4".to_owned())]),
            Across::Named(["N", "E", "S", "W"].map(str::to_owned).to_vec()),
        ] {
            let chart = SpreadChart {
                title: "t".to_owned(),
                what: "hour".to_owned(),
                classes: 4,
                across,
                panels: vec![SpreadPanel {
                    title: "ridge".to_owned(),
                    unit: "K",
                    groups: vec![
                        group("fitted", Tint::Vermilion),
                        group("kept out", Tint::Blue),
                    ],
                }],
            };
            for frame in [Frame::Wide, Frame::Narrow] {
                let svg = chart.draw(frame, "words").unwrap();
                assert!(!svg.contains("NaN"));
                assert!(svg.contains(">fitted<") && svg.contains(">kept out<"));
            }
        }
    }
}
