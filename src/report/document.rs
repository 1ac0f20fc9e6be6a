//! What every page is: typeface, colours and size in it, no network and no script.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::{chart, font};

/// A whole page with a title; `more_css` is laid over what all pages share.
pub(super) fn document(title: &str, more_css: &str, main: &Markup) -> String {
    let css = format!(
        "{}{}{}body{{font-family:'{}',{}}}{}{more_css}",
        font::faces_css(),
        chart::css(),
        chart::dots_css(),
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
                title { (title) }
                style { (PreEscaped(css)) }
            }
            body { main { (main) } }
        }
    };
    page.into_string()
}

/// A table whose first column is text and whose others are numbers.
pub(super) fn rows_markup(header: &[String], rows: &[Vec<String>]) -> Markup {
    html! {
        div.table {
            table {
                thead { tr { @for cell in header { th scope="col" { (cell.replace('\n', " ")) } } } }
                tbody {
                    @for row in rows {
                        tr {
                            @for (index, cell) in row.iter().enumerate() {
                                @if index == 0 {
                                    th scope="row" { (breakable(cell)) }
                                } @else {
                                    td { (minus(cell)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A name that may break behind a point or a low line, so that a long key takes two lines on a phone.
pub(super) fn breakable(name: &str) -> Markup {
    html! {
        @for part in name.split_inclusive(['.', '_']) { (part) wbr; }
    }
}

/// With a true minus sign in front of negative numbers.
pub(super) fn minus(numbers: &str) -> String {
    let words = numbers.split(' ').map(|word| match word.strip_prefix('-') {
        Some(rest) if !rest.is_empty() => format!("−{rest}"),
        _ => word.to_owned(),
    });
    words.collect::<Vec<_>>().join(" ")
}
