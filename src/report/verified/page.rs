//! The page of a finished change, for an owner to show. It needs no network and no script.

use maud::{Markup, html};

use crate::assess::Caution;
use crate::study::verify::Verified;
use crate::units::System;
use crate::weather::Kind;

use super::super::calibration::quality_rows;
use super::super::cautions::cautions_markup;
use super::super::chart::ChartError;
use super::super::document::{document, rows_markup};
use super::super::figure::Figure;
use super::super::layout::held;
use super::super::notices::{capital, notice_text};
use super::super::readings::{notice_words, readings_rows};
use super::super::refusal::Refusal;
use super::super::words::{self, civil};
use super::charts::Charts;
use super::text::{self, Points};
use super::{LogInput, OTHERS_DECIDE, ProofInput, named};

/// Headline in large letters; columns of figures stay on a phone.
const MORE_CSS: &str = ".headline{font-size:20px;line-height:1.35;font-weight:600;margin:20px 0 12px}\
                        tbody th{min-width:6em}\
                        @media (max-width:640px){.headline{font-size:18px}\
                        table{font-size:12px}th,td{padding-left:5px}\
                        tbody th{min-width:5em}}";

/// The page as HTML.
pub(super) fn page(
    input: &ProofInput<'_>,
    found: &Verified,
    charts: &Charts,
) -> Result<String, ChartError> {
    let system = input.system;
    let points = Points::of(system, found);
    let (header, rows) = text::drops_rows(system, found);
    let (headline, others) = points
        .highs_and_means
        .split_first()
        .map_or(("", &[][..]), |(first, rest)| (first.as_str(), rest));
    let is_expected = found.drops.iter().any(|drop| drop.expected.is_some());
    let (quality_header, quality) = quality_rows(system, &found.fit);
    let mut figures = Vec::new();
    for figure in &charts.after {
        figures.push(figure.markup()?);
    }
    let expected = charts.expected.as_ref().map(Figure::markup);
    let expected = expected.transpose()?;
    let main = html! {
        h1 { (title(input)) }
        (lead(input))
        p.headline { (held(headline)) }
        (list("", others))
        (list("Look at this first", &points.doubts))
        h2 { "In the same weather, with the change and without" }
        @for figure in figures { (figure) }
        h2 { "Day by day" }
        (charts.days.markup()?)
        h2 { "The figures" }
        (rows_markup(&header, &rows))
        p.note { "Lower by: likeliest; from and to: limits between which nine in ten lie. Below zero is \
                  higher than without the change." @if is_expected { " Expected: of the design, in \
                  the same weather." } }
        @if let Some(expected) = expected { (expected) }
        (list("", std::slice::from_ref(&points.ceiling)))
        (list("What else could look like that change", &points.mimics))
        (list("How that was found", &points.notes))
        h3 { "How well the house as it was is met" }
        (rows_markup(&quality_header, &quality))
        p.note {
            "Before: the house as described, before it was fitted. Days kept out: days before the change \
             that the fit has not seen."
        }
        h2 { "What it rests on" }
        (rests_on(input))
        (cautions(input))
        (foot("Every reading after the change and every day are in after.csv and days.csv."))
    };
    Ok(document(&title(input), MORE_CSS, &main))
}

/// The page of a change of which nothing can be told.
pub(super) fn refused(input: &ProofInput<'_>, refusal: &Refusal) -> String {
    let main = html! {
        h1 { (title(input)) }
        (lead(input))
        p.headline { (Refusal::headline(input)) }
        p { (held(&refusal.why)) }
        h2 { "What to do" }
        p { (refusal.what_to_do) }
        h2 { "What the logs hold" }
        (rests_on(input))
        (cautions(input))
        (foot("No drop is shown here, since none can be told."))
    };
    document(&title(input), MORE_CSS, &main)
}

fn title(input: &ProofInput<'_>) -> String {
    format!("{}: what {} did", input.house, named(input.change))
}

/// The logs and their days.
fn lead(input: &ProofInput<'_>) -> Markup {
    let [before, after] = input.logs.map(|log| {
        let series = || log.readings.series.iter();
        let first = series().filter_map(|one| one.times_s.first()).min();
        let last = series().filter_map(|one| one.times_s.last()).max();
        let days = first
            .zip(last)
            .map(|(first, last)| words::days(civil(*first), civil(*last), Kind::Measured));
        (&log.readings.source, days.unwrap_or_default())
    });
    html! {
        p.lead {
            "Before: " (before.0) ", " (before.1) ". After: " (after.0) ", " (after.1) "."
        }
    }
}

/// Points under a heading, if there are any.
fn list(heading: &str, points: &[String]) -> Markup {
    html! {
        @if !points.is_empty() {
            @if !heading.is_empty() { h2 { (heading) } }
            ul { @for words in points { li { (held(words)) } } }
        }
    }
}

/// What each log holds, what was dropped of it and why, and where the weather is from.
fn rests_on(input: &ProofInput<'_>) -> Markup {
    let [before, after] = input.logs;
    let is_one_weather = before.weather.source() == after.weather.source()
        && before.weather.notices() == after.weather.notices();
    html! {
        (log("Before", input.system, before))
        (log("After", input.system, after))
        @if is_one_weather {
            (weather("Weather of both", input.system, before))
        } @else {
            (weather("Weather before", input.system, before))
            (weather("Weather after", input.system, after))
        }
    }
}

fn log(side: &str, system: System, log: LogInput<'_>) -> Markup {
    let (header, rows) = readings_rows(log.readings);
    let notices = log.readings.notices.iter();
    let dropped: Vec<String> = notices
        .map(|notice| capital(&notice_words(system, notice)))
        .collect();
    html! {
        h3 { (side) ": " (log.readings.source) }
        (rows_markup(&header, &rows))
        p.note { "Dropped or doubtful:" @if dropped.is_empty() { " nothing." } }
        (list("", &dropped))
    }
}

fn weather(title: &str, system: System, log: LogInput<'_>) -> Markup {
    let source = match log.weather.source() {
        "" => &log.weather.place().name,
        source => source,
    };
    let notices = log.weather.notices().iter();
    let derived: Vec<String> = notices
        .map(|notice| capital(&notice_text(system, notice)))
        .collect();
    html! {
        h3 { (title) }
        p { (source) "." }
        (list("", &derived))
    }
}

/// Cautions, the pressing ones first.
fn cautions(input: &ProofInput<'_>) -> Markup {
    let mut all: Vec<&Caution> = input.cautions.iter().collect();
    all.sort_by_key(|caution| !caution.is_pressing());
    cautions_markup(input.system, &all)
}

fn foot(files: &str) -> Markup {
    html! {
        footer {
            p { (OTHERS_DECIDE) " Local codes and licensed practice go before anything said here." }
            p { (files) " Times are local standard time." }
        }
    }
}
