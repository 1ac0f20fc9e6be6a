//! A unit as text, and its factor to SI.

use super::dimension::Dimension;
use super::error::{Reason, shortened};
use super::symbols;

/// Factor from a unit to SI.
pub(super) fn factor(unit: &str, dimension: Dimension) -> Result<f64, Reason> {
    let spec = dimension.spec();
    if unit.is_empty() {
        return Err(Reason::NoUnit);
    }
    let unknown = || unknown_unit(unit, dimension);
    let unit = match dimension {
        Dimension::AirFlowAt50Pa => at_50_pa(unit).ok_or_else(unknown)?,
        Dimension::LeakageArea => {
            strip_end(unit, &["at 4 Pa", "at 4Pa", "@ 4 Pa", "@4 Pa", "@4Pa"]).unwrap_or(unit)
        }
        _ => unit,
    };
    let key = key(unit);
    if let Some((_, factor)) = spec.aliases.iter().find(|(name, _)| *name == key) {
        return Ok(*factor);
    }
    match (symbols::expression(unit), spec.exponents) {
        (Some((factor, found)), Some(wanted)) if found == wanted => Ok(factor),
        (Some(_), _) => Err(Reason::OtherDimension {
            unit: shortened(unit),
        }),
        (None, _) => Err(unknown()),
    }
}

/// The unit of flow in `cfm50` or `m3/h at 50 Pa`; `None` if no pressure is said.
fn at_50_pa(unit: &str) -> Option<&str> {
    if let Some(head) = strip_end(unit, &["at 50 Pa", "at 50Pa", "@ 50 Pa", "@50 Pa", "@50Pa"]) {
        return Some(head);
    }
    let head = unit.strip_suffix("50")?.trim_end();
    head.eq_ignore_ascii_case("cfm").then_some(head)
}

fn strip_end<'a>(text: &'a str, ends: &[&str]) -> Option<&'a str> {
    ends.iter().find_map(|end| {
        let at = text.len().checked_sub(end.len())?;
        let tail = text.get(at..)?;
        tail.eq_ignore_ascii_case(end)
            .then(|| text[..at].trim_end())
    })
}

/// The error of a unit that is not known, with the one that was probably meant.
pub(super) fn unknown_unit(unit: &str, dimension: Dimension) -> Reason {
    Reason::UnknownUnit {
        unit: shortened(unit),
        near: near(unit, dimension),
    }
}

/// Brings typographic characters to plain ones.
pub(super) fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.trim().chars() {
        match c {
            '²' | '₂' => out.push('2'),
            '³' => out.push('3'),
            '¹' => out.push('1'),
            '°' | 'º' => out.push_str("deg"),
            '·' | '⋅' | '∙' | '•' | '×' => out.push('*'),
            '−' | '–' | '‐' | '‑' | '⁻' => out.push('-'),
            '′' | '’' | '‘' => out.push('\''),
            '″' | '”' | '“' => out.push('"'),
            c if c.is_whitespace() => out.push(' '),
            c => out.push(c),
        }
    }
    if out.contains("''") {
        out = out.replace("''", "\"");
    }
    if out.contains(" per ") {
        out = out.replace(" per ", "/");
    }
    // Most quantities have no degrees, which shows at once.
    if out.contains("deg") {
        for word in ["deg", "degree", "degrees"] {
            for letter in ["F", "C", "K", "f", "c"] {
                out = out.replace(&format!("{word} {letter}"), &format!("deg{letter}"));
            }
        }
    }
    out.trim().to_owned()
}

/// A unit without case, spaces, points and hyphens.
pub(super) fn key(unit: &str) -> String {
    unit.chars()
        .filter(|c| !matches!(c, ' ' | '.' | '-' | '_'))
        .flat_map(char::to_lowercase)
        .collect()
}

/// The accepted unit that is spelled most like `unit`, if one is near.
fn near(unit: &str, dimension: Dimension) -> Option<&'static str> {
    let written = key(&shortened(unit));
    let length = written.chars().count();
    dimension
        .accepted()
        .iter()
        .filter(|name| !name.contains('…'))
        .map(|name| {
            (
                strsim::damerau_levenshtein(&written, &key(&plain(name))),
                *name,
            )
        })
        .filter(|(distance, _)| *distance < length && *distance * 3 <= length.max(3))
        .min_by_key(|(distance, name)| (*distance, usize::MAX - name.len()))
        .map(|(_, name)| name)
}
