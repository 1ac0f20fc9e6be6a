//! The page of a fit. It needs no network and no script.

use maud::{Markup, html};

use super::super::calibration::{difference, found_table, quality_rows};
use super::super::chart::ChartError;
use super::super::clock::clock_words;
use super::super::document::{breakable, document, minus, rows_markup};
use super::super::words::{self, civil};
use super::FitInput;
use super::charts::{Charts, span_s};
use crate::study::calibrate::{Compared, meaning};
use crate::weather::Kind;

/// The page as HTML.
pub(super) fn page(input: &FitInput<'_>, charts: &Charts) -> Result<String, ChartError> {
    let title = format!("{}, fitted to its log", input.house);
    let (quality_header, quality) = quality_rows(input.system, input.fit);
    let (found_header, found) = found_table(input.system, input.fit);
    let main = html! {
        h1 { (title) }
        (lead(input))
        @if let Some(clock) = input.clock {
            p { strong { (clock_words(input.system, clock)) } }
        }
        (verdict(input))
        h2 { "How well the readings are met" }
        (rows_markup(&quality_header, &quality))
        p.note {
            "NMBE and CV(RMSE) are shares of the mean reading in °C, for those who ask for them; \
             bias and spread say more."
        }
        (charts.gain.markup()?)
        h2 { "Measured and worked out" }
        @for one in &charts.courses { (one.markup()?) }
        h2 { "What is left between them" }
        p {
            "Worked out less measured. A fit that has found the house leaves no pattern: the middle \
             values lie about zero at any hour and in any wind."
        }
        @for one in &charts.left { (one.markup()?) }
        h2 { "What was found" }
        (found_markup(&found_header, &found))
        p.note {
            "From and to: limits between which nine in ten lie. Doubt left: of the doubt before any \
             reading, how much is left."
        }
        (held_markup(input))
        h2 { "All that is told" }
        pre { (input.text) }
        footer {
            p {
                "Weather: " (weather_name(input)) ". Times are local standard time. Every pair \
                 of readings is in residuals.csv."
            }
        }
    };
    // Narrow enough that all columns of figures are seen on a phone.
    let more_css = "pre{overflow-x:auto;font-size:13px;line-height:1.4}tbody th{min-width:8em}\
                    .found thead th,.found td{width:20%}\
                    .found td:first-child{text-align:right}\
                    .found thead th:first-child{text-align:right}\
                    .found tbody th{border-bottom:0;padding-bottom:0;white-space:normal}\
                    small{color:var(--soft);font-weight:400;font-size:13px}\
                    @media (max-width:640px){table{font-size:12px}th,td{padding-left:5px}\
                    tbody th{min-width:5em}}";
    Ok(document(&title, more_css, &main))
}

/// What was found, each unknown with what it is on a line above its figures, so that all columns are
/// seen on a phone.
fn found_markup(header: &[String], rows: &[Vec<String>]) -> Markup {
    html! {
        div.table {
            table.found {
                thead { tr { @for cell in header.iter().skip(1) { th scope="col" { (cell.replace('\n', " ")) } } } }
                @for row in rows {
                    tbody {
                        @if let Some((name, figures)) = row.split_first() {
                            tr {
                                th scope="rowgroup" colspan=(figures.len()) {
                                    (breakable(name))
                                    @if let Some(words) = meaning(name) { br; small { (words) } }
                                }
                            }
                            tr { @for figure in figures { td { (minus(figure)) } } }
                        }
                    }
                }
            }
        }
    }
}

/// What was held at what was likely, each with what it is.
fn held_markup(input: &FitInput<'_>) -> Markup {
    let names = input.fit.held.iter().map(|one| one.prior.name());
    html! {
        @if !input.fit.held.is_empty() {
            h3 { "What the readings say nothing of" }
            p { "Held at what was likely, with all their doubt." }
            ul.keys {
                @for name in names {
                    li { (breakable(name)) @if let Some(words) = meaning(name) { br; small { (words) } } }
                }
            }
        }
    }
}

/// Who recorded the weather, or where it was.
fn weather_name<'a>(input: &FitInput<'a>) -> &'a str {
    let weather = input.weather;
    match weather.source() {
        "" => &weather.place().name,
        source => source,
    }
}

/// The days of columns.
fn days(columns: &[Compared]) -> Option<String> {
    let [from_s, to_s] = span_s(columns)?;
    Some(words::days(civil(from_s), civil(to_s), Kind::Measured))
}

fn lead(input: &FitInput<'_>) -> Markup {
    html! {
        p.lead {
            (input.log)
            @if let Some(days) = days(&input.fit.fitted) { "; fitted: " (days) }
            @if let Some(days) = days(&input.fit.kept_out) { "; kept out of the fit: " (days) }
            "."
        }
    }
}

/// How good it is, a sentence a column.
fn verdict(input: &FitInput<'_>) -> Markup {
    let fit = input.fit;
    let told = |one: &Compared| {
        let quality = one.quality();
        let by = |by: f64| difference(input.system, one.measure, by);
        let kept = fit.kept_out.iter().any(|other| std::ptr::eq(other, one));
        let before = fit.before.iter().find(|other| other.name == one.name);
        let before = before.map(|before| by(before.quality().rmse));
        html! {
            li {
                (one.name.replace('_', " ")) ": "
                @if kept {
                    "on days that the fit has not seen, "
                } @else {
                    "on the fitted days, "
                }
                "worked-out readings are " b { (by(quality.rmse)) } " from the log’s (RMSE), on the mean "
                (by(quality.bias.abs()))
                @if quality.bias >= 0.0 { " too high" } @else { " too low" }
                @if quality.days > 0 { ", the daily peak by " (by(quality.peak_off)) }
                @if let Some(before) = before {
                    ". Before the fit it was " (before) " on the fitted days"
                }
                "."
            }
        }
    };
    let columns = if fit.kept_out.is_empty() {
        &fit.fitted
    } else {
        &fit.kept_out
    };
    html! { ul { @for one in columns { (told(one)) } } }
}
