//! What every page is: typeface, colours and size in it, no network and no script.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::{chart, font};

/// A whole page with a title; `more_css` is laid over what all pages share.
pub(super) fn document(title: &str, more_css: &str, main: &Markup) -> String {
    let css = format!(
        "{}{}body{{font-family:'{}',{}}}{}{more_css}",
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
                title { (title) }
                style { (PreEscaped(css)) }
            }
            body { main { (main) } }
        }
    };
    page.into_string()
}
