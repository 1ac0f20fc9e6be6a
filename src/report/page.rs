//! One page with everything in it: tables, drawings, typeface. It needs no network and no script.

use std::ops::Range;

use maud::{Markup, html};

use crate::assess::Caution;
use crate::house::House;
use crate::run::Outcome;
use crate::study::Difference;
use crate::units::{System, show};

use super::case::Case;
use super::cautions::cautions_markup;
use super::chart::{self, ChartError, DayChart, HeatChart, Section, TemperatureChart, Tint};
use super::compare::{doubt_note, doubt_rows};
use super::document::{document, rows_markup};
use super::drawings::{fan_charts, hottest_day, peak_hour};
use super::figure::figure_markup;
use super::notices::capital;
use super::trade_rules::trade_rules_markup;
use super::words;

/// What a page is made of.
#[derive(Debug, Clone, Copy)]
pub struct PageInput<'a> {
    /// Heading, such as `A hot week`.
    pub title: &'a str,
    /// Units.
    pub system: System,
    /// Designs in the same weather, the one that others are held against first; one for a single
    /// run.
    pub cases: &'a [Case],
    /// How sure the differences between the designs are, as far as it was worked out.
    pub doubts: &'a [Difference],
}

/// The page as HTML.
///
/// # Errors
/// [`ChartError`] if the drawing library fails.
pub fn page(input: &PageInput<'_>) -> Result<String, ChartError> {
    let body = if let Some(first) = input.cases.first() {
        Body {
            input,
            first,
            hottest_s: hottest_day(&first.outcome),
        }
        .markup()?
    } else {
        html! { h1 { (input.title) } p { "There is no result to show." } }
    };
    Ok(document(input.title, "", &body))
}

struct Body<'a> {
    input: &'a PageInput<'a>,
    first: &'a Case,
    /// The day with the hottest attic of the first design, s from the start.
    hottest_s: Range<f64>,
}

impl Body<'_> {
    fn markup(&self) -> Result<Markup, ChartError> {
        let cases = self.input.cases;
        let mut sections = Vec::new();
        for (index, case) in cases.iter().enumerate() {
            sections.push(self.design(index, case)?);
        }
        Ok(html! {
            (self.head())
            @if cases.len() > 1 {
                nav aria-label="Designs" {
                    @for (index, case) in cases.iter().enumerate() {
                        a href={ "#design-" (index + 1) } { (capital(case.design())) }
                    }
                }
            }
            (self.table())
            (self.doubts())
            @if cases.len() > 1 {
                (self.comparison()?)
            }
            @for section in sections { (section) }
            (self.rules())
            (self.cautions())
            (self.foot())
        })
    }

    fn head(&self) -> Markup {
        let outcome = &self.first.outcome;
        html! {
            h1 { (self.input.title) }
            p.lead {
                (capital(&self.first.house.name)) ", "
                (words::days(outcome.start, outcome.end, outcome.weather.kind))
                ". Weather of " (outcome.weather.place) ", " (words::kind(outcome.weather.kind)) "."
            }
        }
    }

    /// Peaks of each design.
    fn table(&self) -> Markup {
        let system = self.input.system;
        let base = Peaks::of(self.first);
        let compares = self.input.cases.len() > 1;
        let temp = |temp_c: f64, base_c: f64, index: usize| {
            html! {
                td {
                    (minus(&words::temp(system, temp_c)))
                    @if index > 0 { small { (minus(&words::change(system, temp_c - base_c))) } }
                }
            }
        };
        let (_, heat_unit) = words::heat_number(system, base.ceiling_w);
        html! {
            div.table {
                table {
                    thead {
                        tr {
                            th scope="col" { "highest, " (words::degree(system)) }
                            th scope="col" { "roof deck" }
                            th scope="col" { "attic air" }
                            th scope="col" { "rooms" }
                            th scope="col" { "through ceiling, " (heat_unit) }
                        }
                    }
                    tbody {
                        @for (index, case) in self.input.cases.iter().enumerate() {
                            @let peaks = Peaks::of(case);
                            tr {
                                th scope="row" {
                                    @if compares {
                                        i.dot.(Tint::of_design(index).class()) {}
                                    }
                                    (capital(case.design()))
                                }
                                (temp(peaks.deck_c, base.deck_c, index))
                                (temp(peaks.attic_c, base.attic_c, index))
                                (temp(peaks.living_c, base.living_c, index))
                                td {
                                    (minus(&words::heat_number(system, peaks.ceiling_w).0))
                                    @if index > 0 {
                                        small {
                                            (minus(&words::percent_change(peaks.ceiling_w / base.ceiling_w - 1.0)))
                                        }
                                    }
                                }
                            }
                        }
                    }
                }
            }
            p.note {
                "Outdoors at most " (show::temperature(system, base.outdoor_c))
                ". Roof deck: its underside."
                @if compares {
                    " Small figures: against “" (self.first.design()) "”."
                }
            }
        }
    }

    /// How sure the differences are.
    fn doubts(&self) -> Markup {
        let input = self.input;
        let Some((header, rows)) = doubt_rows(input.system, input.cases, input.doubts) else {
            return html! {};
        };
        html! {
            h2 { "How sure the differences are" }
            (rows_markup(&header, &rows))
            p.note { (doubt_note(self.first)) }
        }
    }

    fn comparison(&self) -> Result<Markup, ChartError> {
        let outcomes: Vec<&Outcome> = self.input.cases.iter().map(|case| &case.outcome).collect();
        let week = TemperatureChart::of_designs(&outcomes);
        let day = week.within(self.hottest_s.clone());
        let days = DayChart::of_cases(self.input.cases);
        let system = self.input.system;
        Ok(html! {
            h2 { "Design against design" }
            h3 { "The hottest day, " (self.hottest_name()) }
            (figure_markup(|frame| day.draw(frame, system), "")?)
            h3 { "The whole time" }
            (figure_markup(|frame| week.draw(frame, system), "")?)
            h3 { "Day by day" }
            (figure_markup(|frame| days.draw(frame, system), "")?)
        })
    }

    fn design(&self, index: usize, case: &Case) -> Result<Markup, ChartError> {
        let (house, outcome) = (&case.house, &case.outcome);
        let system = self.input.system;
        let temperatures = TemperatureChart::of_run(outcome);
        let heat = HeatChart::of_run(house, outcome, self.hottest_s.clone());
        let extent = self.heat_extent();
        let peak_s = peak_hour(case);
        let section = Section::of_run(house, outcome, &peak_s);
        let peak = chart::after(outcome.start, peak_s.start);
        let mut fan_figures = Vec::new();
        for fan in fan_charts(case) {
            fan_figures.push(figure_markup(
                |frame| fan.draw(frame, system),
                &fan.in_words(system),
            )?);
        }
        let mut day_figure = None;
        if self.input.cases.len() == 1 {
            let days = DayChart::of_cases(self.input.cases);
            day_figure = Some(figure_markup(|frame| days.draw(frame, system), "")?);
        }
        Ok(html! {
            section id={ "design-" (index + 1) } {
                h2 { (capital(case.design())) }
                h3 { "Temperatures" }
                (figure_markup(
                    |frame| temperatures.draw(frame, system),
                    "The band about the attic air reaches from just above its floor to just below the ridge.",
                )?)
                @if let Some(days) = day_figure {
                    h3 { "Day by day" }
                    (days)
                }
                h3 { "Where the attic’s heat comes from and goes, " (self.hottest_name()) }
                (figure_markup(
                    |frame| heat.draw(frame, system, &extent),
                    "Heat that reaches the attic’s air, timber and floor from the roof slopes, end walls \
                     and ceiling around them. What air carries is counted against outdoor air.",
                )?)
                h3 {
                    "Air and pressures, " (chart::day_name(peak)) ", "
                    (chart::hour_name(system, peak)) " to "
                    (chart::hour_name(system, chart::after(outcome.start, peak_s.end)))
                }
                (figure_markup(
                    |frame| section.draw(frame, system),
                    "The hour with the hottest attic. Pressures are against still air outdoors, at the \
                     floors of attic and rooms; vents and the leaks beside them are one arrow, as wide as \
                     its flow. Not to scale.",
                )?)
                @if !fan_figures.is_empty() {
                    h3 { "What each fan is up against" }
                    @for figure in fan_figures { (figure) }
                }
            }
        })
    }

    /// Extent of the heat of all designs, so that their axes agree.
    fn heat_extent(&self) -> Range<f64> {
        let charts = self.input.cases.iter().map(|case| {
            HeatChart::of_run(&case.house, &case.outcome, self.hottest_s.clone()).extent_w()
        });
        charts.fold(0.0..0.0, |all, one| {
            all.start.min(one.start)..all.end.max(one.end)
        })
    }

    fn hottest_name(&self) -> String {
        let middle = self.hottest_s.start.midpoint(self.hottest_s.end);
        chart::day_name(chart::after(self.first.outcome.start, middle))
    }

    /// What codes and the trade ask of vents and fans.
    fn rules(&self) -> Markup {
        let houses: Vec<&House> = self.input.cases.iter().map(|case| &case.house).collect();
        trade_rules_markup(self.input.system, &houses)
    }

    /// Cautions of all designs, each kind once in its gravest form, the pressing ones first.
    fn cautions(&self) -> Markup {
        let mut cautions: Vec<&Caution> = Vec::new();
        for caution in self
            .input
            .cases
            .iter()
            .flat_map(|case| &case.assessment.cautions)
        {
            match cautions
                .iter_mut()
                .find(|known| known.code() == caution.code())
            {
                Some(known) if caution.is_graver_than(known) => *known = caution,
                Some(_) => {}
                None => cautions.push(caution),
            }
        }
        cautions.sort_by_key(|caution| !caution.is_pressing());
        cautions_markup(self.input.system, &cautions)
    }

    fn foot(&self) -> Markup {
        html! {
            footer {
                p {
                    "Weather: " (self.first.outcome.weather.source) ". Times are local standard time. \
                     In every part of the house the heat that comes, goes and stays adds up to better than \
                     one part in a million, or there would be no page."
                }
            }
        }
    }
}

/// Highest values of a run.
struct Peaks {
    outdoor_c: f64,
    deck_c: f64,
    attic_c: f64,
    living_c: f64,
    ceiling_w: f64,
}

impl Peaks {
    fn of(case: &Case) -> Self {
        let readings = &case.assessment.readings;
        Self {
            outdoor_c: readings.outdoor.peak.temp_c,
            deck_c: readings.deck_underside.peak.temp_c,
            attic_c: readings.attic_air.peak.temp_c,
            living_c: readings.living_air.peak.temp_c,
            ceiling_w: case.assessment.heat.ceiling_peak_w_m2 * case.outcome.landmarks.floor_m2,
        }
    }
}

/// With a true minus sign.
fn minus(number: &str) -> String {
    number.replacen('-', "−", 1)
}
