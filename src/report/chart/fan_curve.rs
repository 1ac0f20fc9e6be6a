//! What a fan is asked to do: its curve, what grille and inlets take, and where the two meet.

use crate::equipment::FanCurve;
use crate::house::House;
use crate::report::words;
use crate::run::Outcome;
use crate::units::{System, show};

use super::label::{EndLabel, write};
use super::plot::{Field, Stroke};
use super::scale::{self, INCH_WATER_PA, air_flow, air_flow_unit, plain, ticks};
use super::svg::{Anchor, Svg, Type, width};
use super::{ChartError, Frame, Tint};

/// Where a fan works.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Working {
    /// Flow of one fan, m³/s.
    pub flow_m3_s: f64,
    /// Pressure it works against, its grille included, Pa.
    pub pressure_pa: f64,
}

/// One fan of a group with its curve and its load.
#[derive(Debug, Clone, PartialEq)]
pub struct FanChart {
    /// Title, for people who cannot see the chart.
    pub title: String,
    /// Number of fans in the group.
    pub count: u32,
    /// What the label promises for one fan, m³/s.
    pub label_m3_s: f64,
    /// Curve of one fan at the density it works at: flow in m³/s, pressure in Pa.
    pub curve: Vec<[f64; 2]>,
    /// Pressure that one fan's share of hole and grille takes, over the flow squared, Pa s²/m⁶.
    pub grille_pa_s2_m6: f64,
    /// Where it works; `None` if it did not run.
    pub working: Option<Working>,
}

impl FanChart {
    /// Fan group `index` of a house in a run; nothing if there is no such group or no fan in it.
    pub fn of_run(house: &House, outcome: &Outcome, index: usize) -> Option<Self> {
        let (group, run) = (house.fans.get(index)?, outcome.fans.get(index)?);
        if group.count == 0 {
            return None;
        }
        let fan = &group.fan;
        let rated = fan.curve_density_kg_m3;
        let each_m3_s = run.delivered_m3_s / f64::from(run.count.max(1));
        let ran = run.run_s > 0.0 && each_m3_s > 0.0;
        let density = if ran {
            density_kg_m3(outcome, index).unwrap_or(rated)
        } else {
            rated
        };
        // Fan laws: at a flow the pressure goes with the density.
        let pressure_pa = |flow: f64| fan.pressure_pa(flow) * density / rated;
        let free_m3_s = fan.curve.free_air_m3_s() * fan.speed;
        let flows: Vec<f64> = match &fan.curve {
            FanCurve::Quadratic { .. } => {
                (0..=40).map(|i| free_m3_s * f64::from(i) / 40.0).collect()
            }
            FanCurve::Points(points) => points
                .iter()
                .map(|point| point[0] * fan.speed)
                .filter(|flow| *flow < free_m3_s)
                .chain([free_m3_s])
                .collect(),
        };
        let in_hole = f64::from(group.fans_per_hole.max(1).min(group.count));
        let cd_area_m2 = group.discharge_coefficient * group.hole_net_area_m2 / in_hole;
        Some(Self {
            title: format!(
                "Fan curve of {}, {}",
                words::own_name(&group.name),
                outcome.design
            ),
            count: group.count,
            label_m3_s: fan.curve.free_air_m3_s(),
            curve: flows
                .into_iter()
                .map(|flow| [flow, pressure_pa(flow)])
                .collect(),
            grille_pa_s2_m6: 0.5 * density / (cd_area_m2 * cd_area_m2),
            working: ran.then(|| Working {
                flow_m3_s: each_m3_s,
                pressure_pa: pressure_pa(each_m3_s),
            }),
        })
    }

    /// What the chart tells, in a sentence or two.
    pub fn in_words(&self, system: System) -> String {
        let label = show::air_flow(system, self.label_m3_s);
        let Some(working) = self.working else {
            return format!("The label promises {label} with nothing in the way. It did not run.");
        };
        let delivered = show::air_flow(system, working.flow_m3_s);
        let pressure = show::pressure(system, working.pressure_pa);
        let share = plain(working.flow_m3_s / self.label_m3_s * 100.0, 0);
        let grille_pa = self.grille_pa_s2_m6 * working.flow_m3_s.powi(2);
        let grille = plain(grille_pa / working.pressure_pa * 100.0, 0);
        format!(
            "The label promises {label} with nothing in the way. Behind its grille, drawing its air \
             through the vents, each fan moves {delivered} against {pressure}: {share} % of the \
             label. The grille takes {grille} % of that pressure."
        )
    }

    /// The chart as SVG.
    ///
    /// # Errors
    /// [`ChartError`] if the drawing library fails.
    pub fn draw(&self, frame: Frame, system: System) -> Result<String, ChartError> {
        let wide = frame.is_wide();
        let highest_pa = self.curve.iter().map(|point| point[1]).fold(0.0, f64::max);
        let widest = self
            .curve
            .iter()
            .map(|point| point[0])
            .fold(self.label_m3_s, f64::max);
        let own = |pa: f64| pressure(system, pa);
        let y = scale::round_range([0.0, own(highest_pa) * 1.02].into_iter(), 5.0);
        let x_end = air_flow(system, widest) * if wide { 1.35 } else { 1.6 };
        let field = Field {
            left: if wide { 84.0 } else { 40.0 },
            top: 34.0,
            right: frame.width() - if wide { 40.0 } else { 4.0 },
            bottom: if wide { 274.0 } else { 234.0 },
            x: 0.0..if x_end > 0.0 { x_end } else { 1.0 },
            y,
        };
        let mut svg = Svg::new(frame.width(), field.bottom + if wide { 54.0 } else { 40.0 });
        Self::axes(&mut svg, &field, system, wide)?;
        self.loads(&mut svg, &field, system)?;
        let curve: Vec<(f64, f64)> = self
            .curve
            .iter()
            .map(|[flow, pa]| (air_flow(system, *flow), own(*pa)))
            .collect();
        field.line(&mut svg, &curve, Stroke::solid(Tint::Ink, 2.0))?;
        if let Some(&(x, y)) = curve.first() {
            let (x, y) = field.at(x, y);
            let style = Type::new(Tint::Ink, Anchor::Start).bold().halo();
            svg.text((x + 8.0, y - 6.0), "what the fan can do", style);
        }
        self.promise(&mut svg, &field, system);
        self.point(&mut svg, &field, system);
        Ok(svg.finish(&self.title, &self.in_words(system)))
    }

    fn axes(svg: &mut Svg, field: &Field, system: System, wide: bool) -> Result<(), ChartError> {
        let unit = Type::new(Tint::Muted, Anchor::End).small();
        let own = ticks(&field.y, field.height() / 40.0);
        for &value in &own.values {
            field.level(svg, value, &own.label(value), Tint::Grid)?;
        }
        svg.text((field.left - 7.0, 14.0), pressure_unit(system), unit);
        let middle = Type::new(Tint::Muted, Anchor::Middle).small();
        let flows = ticks(&field.x, (field.right - field.left) / 70.0);
        for &value in &flows.values {
            svg.text(
                (field.x_px(value), field.bottom + 16.0),
                &flows.label(value),
                middle,
            );
        }
        let base = [(field.x.start, 0.0), (field.x.end, 0.0)];
        field.line(svg, &base, Stroke::solid(Tint::Muted, 1.0))?;
        svg.text(
            (field.right, field.bottom + 32.0),
            &format!("{} of one fan", air_flow_unit(system)),
            unit,
        );
        if wide {
            let second = scale::other(system);
            let to = |value: f64| pressure(second, pascals(system, value));
            let marks = ticks(&(to(field.y.start)..to(field.y.end)), field.height() / 40.0);
            let x = field.left - 48.0;
            svg.text((x, 14.0), pressure_unit(second), unit);
            for &value in &marks.values {
                let y = field.y_px(pressure(system, pascals(second, value)));
                svg.text_about((x, y), &marks.label(value), unit);
            }
        }
        Ok(())
    }

    /// What grille and inlets take at each flow: both go with the square of the flow.
    fn loads(&self, svg: &mut Svg, field: &Field, system: System) -> Result<(), ChartError> {
        let grille = self.grille_pa_s2_m6;
        let mut loads = vec![(grille, Tint::Sky, "grille alone")];
        if let Some(working) = self.working {
            let whole = working.pressure_pa / working.flow_m3_s.powi(2);
            if (grille / whole - 1.0).abs() < 0.04 {
                loads.clear();
            }
            loads.insert(0, (whole, Tint::Blue, "grille and inlets"));
        }
        let top_pa = 0.97 * pascals(system, field.y.end);
        let mut labels = Vec::new();
        for (pa_s2_m6, tint, words) in loads {
            if !(pa_s2_m6.is_finite() && pa_s2_m6 > 0.0) {
                continue;
            }
            let last = (top_pa / pa_s2_m6).sqrt().min(self.label_m3_s * 1.1);
            let points: Vec<(f64, f64)> = (0..=40)
                .map(|i| last * f64::from(i) / 40.0)
                .map(|flow| {
                    (
                        air_flow(system, flow),
                        pressure(system, pa_s2_m6 * flow * flow),
                    )
                })
                .collect();
            field.line(svg, &points, Stroke::solid(tint, 1.6))?;
            if let Some(&(x, y)) = points.last() {
                labels.push(EndLabel {
                    end: field.at(x, y),
                    text: words.to_owned(),
                    tint,
                });
            }
        }
        let bold = Type::new(Tint::Ink, Anchor::Start).bold();
        let widest = |of: &dyn Fn(&EndLabel) -> f64| labels.iter().map(of).fold(0.0, f64::max);
        let text_px = widest(&|label| width(&label.text, bold));
        let x = (widest(&|label| label.end.0) + 12.0).min(svg.width() - text_px - 1.0);
        write(svg, &labels, x, (field.top + 4.0, field.bottom));
        Ok(())
    }

    /// What the label says: a flow at no pressure.
    fn promise(&self, svg: &mut Svg, field: &Field, system: System) {
        let (x, y) = field.at(air_flow(system, self.label_m3_s), 0.0);
        svg.circle((x, y), 4.0, Tint::Ink);
        svg.circle((x, y), 2.4, Tint::Ground);
        let style = Type::new(Tint::Ink, Anchor::Start).halo();
        svg.text((x + 8.0, y - 20.0), "label:", style);
        svg.text(
            (x + 8.0, y - 6.0),
            &show::air_flow(system, self.label_m3_s),
            style.bold(),
        );
    }

    fn point(&self, svg: &mut Svg, field: &Field, system: System) {
        let style = Type::new(Tint::Vermilion, Anchor::Start).halo();
        let Some(working) = self.working else {
            let (x, y) = field.at(field.x.end * 0.45, field.y.end * 0.8);
            svg.text((x, y), "did not run in this time", style);
            return;
        };
        let at = field.at(
            air_flow(system, working.flow_m3_s),
            pressure(system, working.pressure_pa),
        );
        svg.circle(at, 5.0, Tint::Vermilion);
        let share = plain(working.flow_m3_s / self.label_m3_s * 100.0, 0);
        let flow = show::air_flow(system, working.flow_m3_s);
        let pressure = show::pressure(system, working.pressure_pa);
        let lines = [
            (format!("at work: {flow}"), style.bold()),
            (format!("against {pressure}"), style),
            (format!("{share} % of the label"), style),
        ];
        let widest = lines
            .iter()
            .map(|(text, style)| width(text, *style))
            .fold(0.0, f64::max);
        // To the right of the point the two curves part and leave room.
        let x = (at.0 + if svg.width() > 500.0 { 58.0 } else { 32.0 }).min(svg.width() - widest);
        svg.line(
            &[(at.0 + 7.0, at.1), (x - 5.0, at.1)],
            Tint::Vermilion,
            0.8,
            "",
        );
        for (index, (text, style)) in lines.iter().enumerate() {
            svg.text_about((x, at.1 - 15.0 + 15.0 * index as f64), text, *style);
        }
    }
}

/// Density of the air that a fan group moves: mass over volume.
fn density_kg_m3(outcome: &Outcome, index: usize) -> Option<f64> {
    let run = outcome.fans.get(index)?;
    let meters = outcome
        .paths
        .iter()
        .filter(|path| path.fans.is_some_and(|(group, _)| group == index))
        .map(|path| path.meter);
    let groups = outcome.fans.len();
    let mut mass_kg = 0.0;
    let mut run_s = 0.0;
    for meter in meters {
        for row in 0..outcome.times_s.len() {
            // Where it ran all the time no draught through the still wheel is counted.
            if outcome
                .fan_share
                .get(row * groups + index)
                .is_some_and(|share| *share > 0.999)
            {
                mass_kg += outcome.flow_row(row)[meter] * outcome.interval_s(row);
            }
        }
    }
    for row in 0..outcome.times_s.len() {
        if outcome
            .fan_share
            .get(row * groups + index)
            .is_some_and(|share| *share > 0.999)
        {
            run_s += outcome.interval_s(row);
        }
    }
    let density = mass_kg / (run.delivered_m3_s * run_s);
    (0.5..2.0).contains(&density).then_some(density)
}

fn pressure(system: System, pa: f64) -> f64 {
    match system {
        System::Us => pa / INCH_WATER_PA,
        System::Si => pa,
    }
}

fn pascals(system: System, pressure: f64) -> f64 {
    match system {
        System::Us => pressure * INCH_WATER_PA,
        System::Si => pressure,
    }
}

fn pressure_unit(system: System) -> &'static str {
    match system {
        System::Us => "in w.g.",
        System::Si => "Pa",
    }
}
