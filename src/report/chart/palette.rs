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
        ["#0072b2", "#005d91", "#4ca8e3", "#74bdea"],
    ),
    (
        Tint::Vermilion,
        "vermilion",
        ["#d55e00", "#b04d00", "#eb7128", "#f79a58"],
    ),
    (
        Tint::Purple,
        "purple",
        ["#cc79a7", "#9c4a78", "#ce74a2", "#e5aacb"],
    ),
    (
        Tint::Green,
        "green",
        ["#009e73", "#00704f", "#21866e", "#4fd0aa"],
    ),
    (
        Tint::Orange,
        "orange",
        ["#e69f00", "#8a5f00", "#f19f12", "#f5c568"],
    ),
    (
        Tint::Sky,
        "sky",
        ["#56b4e9", "#1b6f9f", "#9dceed", "#9dd4f2"],
    ),
    (
        Tint::Slate,
        "slate",
        ["#59616b", "#454c55", "#b9c0c8", "#bcc3cc"],
    ),
    (
        Tint::Solid,
        "solid",
        ["#cfd4da", "#5c636c", "#41474f", "#a3abb5"],
    ),
];

impl Tint {
    /// Name in the style sheet.
    pub(in crate::report) fn class(self) -> &'static str {
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

/// Style sheet of the dots that stand for series in tables, of the colours of the drawings.
pub(in crate::report) fn dots_css() -> String {
    let rules = |fill: usize| {
        COLOURS
            .iter()
            .fold(String::new(), |mut css, (_, name, tones)| {
                let _ = write!(css, ".dot.{name}{{background:{}}}", tones[fill]);
                css
            })
    };
    format!(
        "{}@media (prefers-color-scheme:dark){{{}}}@media print{{{}}}",
        rules(0),
        rules(2),
        rules(0)
    )
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

    /// The linear parts of a colour (sRGB, IEC 61966-2-1).
    fn linear(colour: &str) -> [f64; 3] {
        [1, 3, 5].map(|at| {
            let value = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
            if value <= 0.040_45 {
                value / 12.92
            } else {
                power((value + 0.055) / 1.055, 2.4)
            }
        })
    }

    /// Relative luminance of a colour, WCAG 2.2.
    fn luminance(colour: &str) -> f64 {
        let [red, green, blue] = linear(colour);
        0.2126 * red + 0.7152 * green + 0.0722 * blue
    }

    type Matrix = [[f64; 3]; 3];

    fn times(matrix: &Matrix, parts: [f64; 3]) -> [f64; 3] {
        matrix.map(|row| row.iter().zip(parts).map(|(a, b)| a * b).sum())
    }

    /// CIELAB of linear parts, white of D65 (CIE 15).
    fn lab(parts: [f64; 3]) -> [f64; 3] {
        const XYZ: Matrix = [
            [0.4124, 0.3576, 0.1805],
            [0.2126, 0.7152, 0.0722],
            [0.0193, 0.1192, 0.9505],
        ];
        let [x, y, z] = times(&XYZ, parts);
        let root = |t: f64| {
            if t > 0.008_856 {
                power(t, 1.0 / 3.0)
            } else {
                7.787 * t + 16.0 / 116.0
            }
        };
        let [x, y, z] = [x / 0.9505, y, z / 1.089].map(|t| root(t.max(0.0)));
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    }

    /// What people without one kind of cone see of a colour: Machado, Oliveira and Fernandes (2009), A
    /// physiologically-based model for simulation of color vision deficiency, full severity (from
    /// memory). About 2.3 of CIELAB is a difference that is just seen (Mahy et al. 1994, from memory);
    /// lines a pixel wide need several times that.
    #[test]
    fn published_colour_blindness_leaves_series_apart() {
        const SEEN: [(&str, Matrix); 4] = [
            (
                "all cones",
                [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
            ),
            (
                "protan",
                [
                    [0.152_286, 1.052_583, -0.204_868],
                    [0.114_503, 0.786_281, 0.099_216],
                    [-0.003_882, -0.048_116, 1.051_998],
                ],
            ),
            (
                "deutan",
                [
                    [0.367_322, 0.860_646, -0.227_968],
                    [0.280_085, 0.672_501, 0.047_413],
                    [-0.011_820, 0.042_940, 0.968_881],
                ],
            ),
            (
                "tritan",
                [
                    [1.255_528, -0.076_749, -0.178_779],
                    [-0.078_411, 0.930_809, 0.147_602],
                    [0.004_733, 0.691_367, 0.303_900],
                ],
            ),
        ];
        let is_ground = |tint| [Tint::Muted, Tint::Grid, Tint::Ground, Tint::Solid].contains(&tint);
        let series = || COLOURS.iter().filter(|row| !is_ground(row.0));
        for (kind, matrix) in SEEN {
            for fill in [0, 2] {
                let seen =
                    |tone: &str| lab(times(&matrix, linear(tone)).map(|p| p.clamp(0.0, 1.0)));
                for (index, (_, one, tones)) in series().enumerate() {
                    for (_, other, others) in series().skip(index + 1) {
                        let (a, b) = (seen(tones[fill]), seen(others[fill]));
                        let apart = a.iter().zip(b).map(|(a, b)| (a - b) * (a - b));
                        let apart = apart.sum::<f64>().sqrt();
                        assert!(apart >= 14.0, "{kind}, {one} and {other}: {apart:.1}");
                    }
                }
            }
        }
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
