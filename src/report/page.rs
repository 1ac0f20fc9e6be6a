//! One page with everything in it: tables, drawings, typeface. It needs no network and no script.

use std::ops::Range;

use jiff::civil::DateTime;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::house::House;
use crate::run::Outcome;
use crate::units::{System, celsius, show};
use crate::weather::Kind;

use super::chart::{
    self, ChartError, DayChart, FanChart, Frame, HeatChart, Section, TemperatureChart, Tint,
};
use super::font;

const DAY_S: f64 = 86_400.0;
const HOUR_S: f64 = 3_600.0;

/// A design and what it did.
#[derive(Debug, Clone, Copy)]
pub struct DesignRun<'a> {
    /// The house in this design.
    pub house: &'a House,
    /// Its run.
    pub outcome: &'a Outcome,
}

/// What a page is made of.
#[derive(Debug, Clone, Copy)]
pub struct PageInput<'a> {
    /// Heading, such as `A hot week`.
    pub title: &'a str,
    /// Units.
    pub system: System,
    /// Designs in the same weather, that of the others' comparison first; one for a single run.
    pub designs: &'a [DesignRun<'a>],
}

/// The page as HTML.
///
/// # Errors
/// [`ChartError`] if the drawing library fails.
pub fn page(input: &PageInput<'_>) -> Result<String, ChartError> {
    let body = if let Some(first) = input.designs.first() {
        Body {
            input,
            first: *first,
            hottest_s: hottest_day(first.outcome),
        }
        .markup()?
    } else {
        html! { h1 { (input.title) } p { "There is no result to show." } }
    };
    let css = format!(
        "{}{}body{{font-family:'{}',{}}}{}",
        font::faces_css(),
        chart::css(),
        font::FAMILY,
        font::FALLBACK,
        include_str!("page.css"),
    );
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (input.title) }
                style { (PreEscaped(css)) }
            }
            body { main { (body) } }
        }
    };
    Ok(page.into_string())
}

struct Body<'a> {
    input: &'a PageInput<'a>,
    first: DesignRun<'a>,
    /// The day with the hottest attic of the first design, s from the start.
    hottest_s: Range<f64>,
}

impl Body<'_> {
    fn markup(&self) -> Result<Markup, ChartError> {
        let designs = self.input.designs;
        let compares = designs.len() > 1;
        let mut sections = Vec::new();
        for (index, design) in designs.iter().enumerate() {
            sections.push(self.design(index, *design)?);
        }
        Ok(html! {
            (self.head())
            @if compares {
                nav {
                    @for (index, design) in designs.iter().enumerate() {
                        a href={ "#design-" (index + 1) } { (design.outcome.design) }
                    }
                }
            }
            (self.table())
            @if compares {
                (self.comparison()?)
            }
            @for section in sections { (section) }
            (self.foot())
        })
    }

    fn head(&self) -> Markup {
        let outcome = self.first.outcome;
        let kind = match outcome.weather.kind {
            Kind::Measured => "measured",
            Kind::Typical => "typical-year",
            Kind::Made => "made",
        };
        html! {
            h1 { (self.input.title) }
            p.lead {
                (self.first.house.name) ", "
                (chart::day_name(outcome.start)) " to " (chart::day_name(last_day(outcome))) ", "
                (kind) " weather of " (outcome.weather.place) "."
            }
        }
    }

    /// Peaks of each design.
    fn table(&self) -> Markup {
        let system = self.input.system;
        let base = Peaks::of(self.first.outcome);
        let temp = |temp_k: f64, base_k: f64, is_first: bool| {
            html! {
                td {
                    (show::temperature(system, celsius(temp_k)))
                    @if !is_first { small { (signed_difference(system, temp_k - base_k)) } }
                }
            }
        };
        html! {
            div.table {
                table {
                    thead {
                        tr {
                            th scope="col" { "highest of the week" }
                            th scope="col" { "deck underside" }
                            th scope="col" { "attic air" }
                            th scope="col" { "rooms" }
                            th scope="col" { "heat through ceiling" }
                        }
                    }
                    tbody {
                        @for (index, design) in self.input.designs.iter().enumerate() {
                            @let peaks = Peaks::of(design.outcome);
                            tr {
                                th scope="row" {
                                    @if self.input.designs.len() > 1 {
                                        span.dot style={ "background:" (Tint::of_design(index).on_light()) } {}
                                    }
                                    (design.outcome.design)
                                }
                                (temp(peaks.deck_k, base.deck_k, index == 0))
                                (temp(peaks.attic_k, base.attic_k, index == 0))
                                (temp(peaks.living_k, base.living_k, index == 0))
                                td {
                                    (show::heat_flow(system, peaks.ceiling_w))
                                    @if index > 0 {
                                        small { (signed_percent(peaks.ceiling_w / base.ceiling_w - 1.0)) }
                                    }
                                }
                            }
                        }
                    }
                }
            }
            p.note {
                "Outdoors at most " (show::temperature(system, celsius(base.outdoor_k))) "."
                @if self.input.designs.len() > 1 {
                    " Small figures: against " (self.first.outcome.design) "."
                }
            }
        }
    }

    fn comparison(&self) -> Result<Markup, ChartError> {
        let outcomes: Vec<&Outcome> = self
            .input
            .designs
            .iter()
            .map(|design| design.outcome)
            .collect();
        let week = TemperatureChart::of_designs(&outcomes);
        let day = week.within(self.hottest_s.clone());
        let days = DayChart::of_designs(&outcomes);
        let system = self.input.system;
        Ok(html! {
            h2 { "Design by design" }
            h3 { "The hottest day, " (self.hottest_name()) }
            (figure(|frame| day.draw(frame, system), "")?)
            h3 { "The whole time" }
            (figure(|frame| week.draw(frame, system), "")?)
            h3 { "Day by day" }
            (figure(|frame| days.draw(frame, system), "")?)
        })
    }

    fn design(&self, index: usize, design: DesignRun<'_>) -> Result<Markup, ChartError> {
        let DesignRun { house, outcome } = design;
        let system = self.input.system;
        let temperatures = TemperatureChart::of_run(outcome);
        let heat = HeatChart::of_run(house, outcome, self.hottest_s.clone());
        let extent = self.heat_extent();
        let peak_s = peak_hour(outcome, &self.hottest_s);
        let section = Section::of_run(house, outcome, &peak_s);
        let peak = chart::after(outcome.start, peak_s.start);
        let fans: Vec<FanChart> = (0..house.fans.len())
            .filter_map(|index| FanChart::of_run(house, outcome, index))
            .collect();
        let mut fan_figures = Vec::new();
        for fan in alike_once(&fans) {
            fan_figures.push(figure(
                |frame| fan.draw(frame, system),
                &fan.in_words(system),
            )?);
        }
        let single = self.input.designs.len() == 1;
        let days = DayChart::of_designs(&[outcome]);
        let mut day_figure = None;
        if single {
            day_figure = Some(figure(|frame| days.draw(frame, system), "")?);
        }
        Ok(html! {
            section id={ "design-" (index + 1) } {
                h2 { (capital(&outcome.design)) }
                h3 { "Temperatures" }
                (figure(
                    |frame| temperatures.draw(frame, system),
                    "The band about the attic air reaches from just above its floor to just below the ridge.",
                )?)
                @if let Some(days) = day_figure {
                    h3 { "Day by day" }
                    (days)
                }
                h3 { "Where the attic's heat comes from and goes, " (self.hottest_name()) }
                (figure(
                    |frame| heat.draw(frame, system, &extent),
                    "Into the attic's air, timber and floor from the roof slopes and end walls around them; \
                     what air carries is counted against outdoor air.",
                )?)
                h3 {
                    "Air and pressures, " (chart::day_name(peak)) ", "
                    (chart::hour_name(system, peak)) " to "
                    (chart::hour_name(system, chart::after(outcome.start, peak_s.end)))
                }
                (figure(
                    |frame| section.draw(frame, system),
                    "The hour with the hottest attic. Pressures are against still air outdoors, at the floors \
                     of attic and rooms; vents and the leaks beside them are one arrow, as wide as its \
                     flow. Not to scale.",
                )?)
                @if !fan_figures.is_empty() {
                    h3 { "What the fans are up against" }
                    @for figure in fan_figures { (figure) }
                }
            }
        })
    }

    /// Extent of the heat of all designs, so that their axes agree.
    fn heat_extent(&self) -> Range<f64> {
        let charts = self.input.designs.iter().map(|design| {
            HeatChart::of_run(design.house, design.outcome, self.hottest_s.clone()).extent_w()
        });
        charts.fold(0.0..0.0, |all, one| {
            all.start.min(one.start)..all.end.max(one.end)
        })
    }

    fn hottest_name(&self) -> String {
        let middle = self.hottest_s.start.midpoint(self.hottest_s.end);
        chart::day_name(chart::after(self.first.outcome.start, middle))
    }

    fn foot(&self) -> Markup {
        let worst = self
            .input
            .designs
            .iter()
            .map(|design| design.outcome.balance.energy_relative)
            .fold(0.0, f64::max);
        html! {
            footer {
                p {
                    "Weather: " (self.first.outcome.weather.source) ". Times are local standard time. "
                    "The books of heat close to " (format!("{worst:.0e}")) " of what passed."
                }
            }
        }
    }
}

/// Both layouts of a drawing with a line below it.
fn figure(
    draw: impl Fn(Frame) -> Result<String, ChartError>,
    caption: &str,
) -> Result<Markup, ChartError> {
    let (wide, narrow) = (draw(Frame::Wide)?, draw(Frame::Narrow)?);
    Ok(html! {
        figure {
            div.wide { (PreEscaped(wide)) }
            div.narrow { (PreEscaped(narrow)) }
            @if !caption.is_empty() { figcaption { (caption) } }
        }
    })
}

/// With its first letter large.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// Fan groups that work alike (such as one in each gable) are drawn once.
fn alike_once(fans: &[FanChart]) -> Vec<&FanChart> {
    let mut shown: Vec<&FanChart> = Vec::new();
    for fan in fans {
        let is_like = |known: &&&FanChart| match (known.working, fan.working) {
            (Some(a), Some(b)) => {
                (known.label_m3_s - fan.label_m3_s).abs() < 1e-9
                    && (a.flow_m3_s / b.flow_m3_s - 1.0).abs() < 0.06
            }
            (None, None) => (known.label_m3_s - fan.label_m3_s).abs() < 1e-9,
            _ => false,
        };
        if !shown.iter().any(|known| is_like(&known)) {
            shown.push(fan);
        }
    }
    shown
}

/// Highest values of a run.
struct Peaks {
    outdoor_k: f64,
    deck_k: f64,
    attic_k: f64,
    living_k: f64,
    ceiling_w: f64,
}

impl Peaks {
    fn of(outcome: &Outcome) -> Self {
        let trace = &outcome.trace;
        let high = |column: &[f64]| column.iter().copied().fold(f64::NAN, f64::max);
        Self {
            outdoor_k: high(&trace.outdoor_k),
            deck_k: high(&trace.deck_underside_k),
            attic_k: high(&trace.attic_air_k),
            living_k: high(&trace.living_air_k),
            ceiling_w: high(&trace.ceiling_gain_w),
        }
    }
}

fn signed_difference(system: System, difference_k: f64) -> String {
    with_sign(&show::temperature_difference(system, difference_k))
}

fn signed_percent(share: f64) -> String {
    if share.is_finite() {
        with_sign(&format!("{:.0} %", share * 100.0))
    } else {
        String::new()
    }
}

fn with_sign(text: &str) -> String {
    let is_zero = !text.contains(|c: char| matches!(c, '1'..='9'));
    match text.strip_prefix('-') {
        Some(rest) if is_zero => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None if is_zero => text.to_owned(),
        None => format!("+{text}"),
    }
}

/// The day from midnight with the hottest attic air; all of a run of less than a day.
fn hottest_day(outcome: &Outcome) -> Range<f64> {
    let trace = &outcome.trace;
    let end_s = trace.times_s.last().copied().unwrap_or(0.0);
    let start = outcome.start;
    let into_day_s = f64::from(start.hour()) * HOUR_S + f64::from(start.minute()) * 60.0;
    let at_s = hottest_s(&trace.times_s, &trace.attic_air_k, &(0.0..end_s));
    let from_s = ((at_s + into_day_s) / DAY_S).floor() * DAY_S - into_day_s;
    from_s.max(0.0)..(from_s + DAY_S).min(end_s)
}

/// The hour about the hottest attic air within a part of a run.
fn peak_hour(outcome: &Outcome, within_s: &Range<f64>) -> Range<f64> {
    let at_s = hottest_s(&outcome.trace.times_s, &outcome.trace.attic_air_k, within_s);
    let from_s = ((at_s - 0.5 * HOUR_S) / HOUR_S).round() * HOUR_S;
    let from_s = from_s.clamp(within_s.start, (within_s.end - HOUR_S).max(within_s.start));
    from_s..(from_s + HOUR_S).min(within_s.end)
}

fn hottest_s(times_s: &[f64], temps_k: &[f64], within_s: &Range<f64>) -> f64 {
    let inside = times_s
        .iter()
        .zip(temps_k)
        .filter(|(t, k)| **t >= within_s.start && **t < within_s.end && k.is_finite());
    inside
        .max_by(|a, b| a.1.total_cmp(b.1))
        .map_or(within_s.start, |(t, _)| *t)
}

/// The last day that a run reaches into.
fn last_day(outcome: &Outcome) -> DateTime {
    let end_s = outcome.trace.times_s.last().copied().unwrap_or(0.0);
    chart::after(outcome.start, (end_s - 1.0).max(0.0))
}
