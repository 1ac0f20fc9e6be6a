//! Colours by meaning, for light and dark ground.
//!
//! Hues are those of Okabe and Ito (2008), which people with any common kind of colour blindness
//! tell apart; text is set in a darker or lighter tone of the same hue so that it stays readable.

use std::fmt::Write as _;

/// What a colour stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tint {
    /// Text and outlines.
    Ink,
    /// Second-rank text, axes.
    Muted,
    /// Grid lines.
    Grid,
    /// The page itself.
    Ground,
    /// Blue: outdoors.
    Blue,
    /// Vermilion: the attic.
    Vermilion,
    /// Purple: the deck.
    Purple,
    /// Green: the rooms.
    Green,
    /// Orange.
    Orange,
    /// Sky blue.
    Sky,
    /// Grey of things as they stand.
    Slate,
    /// Solid parts of a house.
    Solid,
}

/// Name, then fill and text on light ground, fill and text on dark ground.
const COLOURS: [(Tint, &str, [&str; 4]); 12] = [
    (
        Tint::Ink,
        "ink",
        ["#1b1f24", "#1b1f24", "#e8eaed", "#e8eaed"],
    ),
    (
        Tint::Muted,
        "muted",
        ["#8b929b", "#5c636c", "#838b95", "#a3abb5"],
    ),
    (
        Tint::Grid,
        "grid",
        ["#e4e7eb", "#5c636c", "#2d3238", "#a3abb5"],
    ),
    (
        Tint::Ground,
        "ground",
        ["#ffffff", "#ffffff", "#15181c", "#15181c"],
    ),
    (
        Tint::Blue,
        "blue",
        ["#0072b2", "#005d91", "#4aa8e0", "#74bdea"],
    ),
    (
        Tint::Vermilion,
        "vermilion",
        ["#d55e00", "#b04d00", "#f07f2e", "#f79a58"],
    ),
    (
        Tint::Purple,
        "purple",
        ["#cc79a7", "#9c4a78", "#d98fb8", "#e5aacb"],
    ),
    (
        Tint::Green,
        "green",
        ["#009e73", "#00704f", "#22bd91", "#4fd0aa"],
    ),
    (
        Tint::Orange,
        "orange",
        ["#e69f00", "#8a5f00", "#f0b236", "#f5c568"],
    ),
    (
        Tint::Sky,
        "sky",
        ["#56b4e9", "#1b6f9f", "#7cc6ee", "#9dd4f2"],
    ),
    (
        Tint::Slate,
        "slate",
        ["#59616b", "#454c55", "#aab2bc", "#bcc3cc"],
    ),
    (
        Tint::Solid,
        "solid",
        ["#cfd4da", "#5c636c", "#41474f", "#a3abb5"],
    ),
];

impl Tint {
    /// Name in the style sheet.
    pub(super) fn class(self) -> &'static str {
        COLOURS[self as usize].1
    }

    /// Number under which the drawing back end knows it.
    pub(super) fn number(self) -> u8 {
        self as u8
    }

    pub(super) fn from_number(number: u8) -> Self {
        COLOURS
            .get(usize::from(number))
            .map_or(Self::Ink, |row| row.0)
    }

    /// Its fill on light ground, as in a style sheet.
    pub(in crate::report) fn on_light(self) -> &'static str {
        COLOURS[self as usize].2[0]
    }

    /// Of the designs that are compared, in their order; they repeat after six.
    pub fn of_design(index: usize) -> Self {
        const ORDER: [Tint; 6] = [
            Tint::Slate,
            Tint::Orange,
            Tint::Purple,
            Tint::Green,
            Tint::Blue,
            Tint::Vermilion,
        ];
        ORDER[index % ORDER.len()]
    }
}

/// Style sheet of all drawings.
pub(in crate::report) fn css() -> String {
    let rules = |fill: usize, text: usize| {
        COLOURS.iter().fold(String::new(), |mut css, (_, name, tones)| {
            let (fill, text) = (tones[fill], tones[text]);
            let _ = write!(
                css,
                ".rh .l.{name}{{stroke:{fill}}}.rh .a.{name}{{fill:{fill}}}.rh .t.{name}{{fill:{text}}}"
            );
            css
        })
    };
    format!(
        ".rh{{font-family:'{}',{};font-size:12px;font-variant-numeric:tabular-nums}}\
         .rh .l{{fill:none;stroke-linejoin:round;stroke-linecap:round}}\
         .rh .h{{paint-order:stroke;stroke:#fff;stroke-width:3.5px;stroke-linejoin:round}}\
         .rh .b{{font-weight:600}}.rh .s{{font-size:11px}}{}\
         @media (prefers-color-scheme:dark){{.rh .h{{stroke:#15181c}}{}}}\
         @media print{{.rh .h{{stroke:#fff}}{}}}",
        super::super::font::FAMILY,
        super::super::font::FALLBACK,
        rules(0, 1),
        rules(2, 3),
        rules(0, 1),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::elementary::power;

    /// Relative luminance of a colour, WCAG 2.2.
    fn luminance(colour: &str) -> f64 {
        let part = |at: usize| {
            let value = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
            if value <= 0.040_45 {
                value / 12.92
            } else {
                power((value + 0.055) / 1.055, 2.4)
            }
        };
        0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
    }

    #[test]
    fn text_stands_out_from_its_ground() {
        for (tint, name, tones) in COLOURS {
            if tint == Tint::Ground {
                continue;
            }
            for (text, ground) in [(tones[1], "#ffffff"), (tones[3], "#15181c")] {
                let (a, b) = (luminance(text), luminance(ground));
                let contrast = (a.max(b) + 0.05) / (a.min(b) + 0.05);
                assert!(contrast >= 4.5, "{name} {text} on {ground}: {contrast:.2}");
            }
        }
    }

    #[test]
    fn a_tint_is_found_by_its_number() {
        for (index, (tint, ..)) in COLOURS.into_iter().enumerate() {
            assert_eq!(usize::from(tint.number()), index);
            assert_eq!(Tint::from_number(tint.number()), tint);
        }
    }
}
