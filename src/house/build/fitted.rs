//! What a fit to readings has left in doubt of what the file gives.

use crate::units::{Dimension, parse};

use crate::house::document::split_key;
use crate::house::fault::FaultKind;
use crate::house::form::{Form, field};
use crate::house::parts::{Assumption, Spread};
use crate::house::schema::Kind;
use crate::house::values::unknown_word;

/// Notes the doubt of each `[fitted.NAME]` of the file. A value that a design, or a hand, has since
/// put out of its likely range is no longer the fitted one, and is left alone.
pub(super) fn fitted(form: &mut Form<'_>) {
    for name in form.names("fitted") {
        let own = |key: &str| format!("fitted.{name}.{key}");
        let (Some(key), Some(low), Some(high)) = (
            form.text(&own("key")),
            form.text(&own("low")),
            form.text(&own("high")),
        ) else {
            continue;
        };
        let Some(dimension) = dimension(key) else {
            let known = near_keys(form.number_keys(), key);
            form.trouble(&own("key"), unknown_word(key, "key of a number", known));
            continue;
        };
        let mut limits = [f64::NAN; 2];
        for (limit, (at, text)) in limits.iter_mut().zip([("low", low), ("high", high)]) {
            match parse(text, dimension) {
                Ok(value) => *limit = value,
                Err(fault) => form.trouble(&own(at), FaultKind::Quantity(fault)),
            }
        }
        let Some(value) = form.given(key) else {
            continue;
        };
        let is_within = limits[0] <= value && value <= limits[1];
        if !is_within || !form.is_of_layer(key, &own("key")) {
            continue;
        }
        let (with, faulty) = form.text(&own("with")).map_or((Vec::new(), None), together);
        if let Some(part) = faulty {
            let known = vec!["site.shelter -0.4".to_owned()];
            form.trouble(
                &own("with"),
                unknown_word(&part, "key and correlation", known),
            );
        }
        let from = form.text(&own("from")).unwrap_or("readings");
        form.assumed.retain(|one| one.field != key);
        form.assumed.push(Assumption {
            field: key.to_owned(),
            value: form.typed(key).unwrap_or_default(),
            range: [low.to_owned(), high.to_owned()],
            source: format!("fitted to {from}"),
            spread: Spread::Number {
                dimension,
                value,
                low: limits[0],
                high: limits[1],
            },
            together: with,
        });
    }
}

/// Those keys that stand in the table of a misspelt one; all where none does.
fn near_keys(keys: Vec<String>, misspelt: &str) -> Vec<String> {
    let table = misspelt.split('.').next().unwrap_or(misspelt);
    let of_table = |key: &&String| key.split('.').next() == Some(table);
    let own: Vec<String> = keys.iter().filter(of_table).cloned().collect();
    if own.is_empty() { keys } else { own }
}

/// What a key measures, if it is that of a number.
fn dimension(key: &str) -> Option<Dimension> {
    split_key(key)?;
    match field(key)?.kind {
        Kind::Quantity(dimension) => Some(dimension),
        Kind::Insulation => Some(Dimension::ThermalResistance),
        Kind::Number => Some(Dimension::Fraction),
        Kind::Direction | Kind::Line => Some(Dimension::Angle),
        _ => None,
    }
}

/// Keys and correlations of a list such as `site.shelter -0.4, roof.absorptance 0.3`, and the first
/// part that is none.
fn together(text: &str) -> (Vec<(String, f64)>, Option<String>) {
    let (mut pairs, mut faulty) = (Vec::new(), None);
    for part in text
        .split(',')
        .map(str::trim)
        .filter(|part| !part.is_empty())
    {
        let pair = part.rsplit_once(' ').and_then(|(key, number)| {
            let correlation: f64 = number.parse().ok()?;
            let is_one = (-1.0..=1.0).contains(&correlation);
            is_one.then(|| (key.trim().to_owned(), correlation))
        });
        match pair {
            Some(pair) => pairs.push(pair),
            None => faulty = faulty.or_else(|| Some(part.to_owned())),
        }
    }
    (pairs, faulty)
}
