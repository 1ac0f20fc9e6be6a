//! The typeface of charts and pages: Inter in two weights, carried in the program so that a page
//! looks and measures the same everywhere.
//!
//! The files are subsets (see `font/OFL.txt` for the licence, OFL-1.1).

use plotters::style::{FontDesc, FontFamily, FontStyle, register_font};

/// Name under which the program's own copy is known in style sheets.
pub(super) const FAMILY: &str = "Rafterheat Inter";

/// What to fall back on where the page's own font is not allowed to load.
pub(super) const FALLBACK: &str = "system-ui, -apple-system, 'Segoe UI', Roboto, sans-serif";

const REGULAR: &[u8] = include_bytes!("font/inter-regular.otf");
const SEMIBOLD: &[u8] = include_bytes!("font/inter-semibold.otf");

/// Ascent and descent of the font over its em, from its `hhea` table: (2728 + 680) / 2816.
const LINE_PER_EM: f64 = 3_408.0 / 2_816.0;

/// Width that an unreadable font is taken to have, em a letter.
const USUAL_LETTER_EM: f64 = 0.6;

/// Width of a text at a size of 1, so in em.
pub(super) fn width_em(text: &str, bold: bool) -> f64 {
    // Measured large, since widths come back as whole pixels.
    const LARGE: f64 = 1_000.0;
    let known = register_font(FAMILY, FontStyle::Normal, REGULAR)
        .and_then(|()| register_font(FAMILY, FontStyle::Bold, SEMIBOLD))
        .is_ok();
    let style = if bold {
        FontStyle::Bold
    } else {
        FontStyle::Normal
    };
    let font = FontDesc::new(FontFamily::Name(FAMILY), LARGE * LINE_PER_EM, style);
    let measured = if known {
        font.box_size(text).ok()
    } else {
        None
    };
    measured.map_or(
        USUAL_LETTER_EM * text.chars().count() as f64,
        |(width, _)| f64::from(width) / LARGE,
    )
}

/// `@font-face` rules with both weights inside.
pub(super) fn faces_css() -> String {
    [(400, REGULAR), (600, SEMIBOLD)]
        .map(|(weight, bytes)| {
            format!(
                "@font-face{{font-family:'{FAMILY}';font-weight:{weight};font-display:block;\
                 src:url(data:font/otf;base64,{}) format('opentype')}}",
                base64(bytes)
            )
        })
        .concat()
}

/// RFC 4648 section 4.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for group in bytes.chunks(3) {
        let byte = |i: usize| u32::from(group.get(i).copied().unwrap_or(0));
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for place in 0..4 {
            if place <= group.len() {
                let six = bits >> (18 - 6 * place) & 63;
                text.push(char::from(LETTERS[six as usize]));
            } else {
                text.push('=');
            }
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_is_that_of_the_standard() {
        // RFC 4648 section 10.
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    #[test]
    fn texts_are_measured_in_the_font_itself() {
        // Advance of "0" in Inter: 1760 of 2816 units; of "M" 2528.
        assert!(
            (width_em("0000000000", false) - 6.36).abs() < 0.3,
            "{}",
            width_em("0000000000", false)
        );
        assert!(width_em("MMMM", true) > width_em("iiii", true) * 2.5);
        assert!(width_em("attic", true) > width_em("attic", false));
    }

    #[test]
    fn every_sign_that_charts_use_is_in_the_subset() {
        // A missing glyph has the width of the box that stands for it.
        let missing = width_em("\u{4e00}", false);
        for sign in "°²³·×–—−→←↑↓≈≥≤ΔεÄéß’“”…".chars() {
            let width = width_em(&sign.to_string(), false);
            assert!((width - missing).abs() > 1e-6, "{sign} is missing");
        }
    }
}
