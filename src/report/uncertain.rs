//! What was assumed, by what it does, and how sure the result is.

use crate::house::{Assumption, Spread};
use crate::study::{Band, Effect, Measures, band, narrowest};
use crate::units::show::{self, System};

use super::layout::{heading, paragraph, unbroken};
use super::words::{change, degree, kwh, percent_change};

/// Change of the attic's high below which an assumption hardly matters to it, K.
const HARDLY_ANY_K: f64 = 0.1;

/// Change of the attic's high from which cases decide so much that each is told, K.
const DECIDES_K: f64 = 1.0;

/// Assumptions that are told of one run, one by one.
const MOST_LISTED: usize = 8;

/// Share of the heat through the ceiling below which an assumption hardly matters to it.
const HARDLY_ANY_SHARE: f64 = 0.01;

/// What was assumed, the weightiest first, with sources, and how sure the result of the house as it
/// stands is.
pub(super) fn assumed_by_effect(system: System, effects: &[Effect], design: &str) -> String {
    if effects.is_empty() {
        return String::new();
    }
    let mut text = heading("Assumed for lack of an answer, the weightiest first");
    text.push_str(&paragraph(
        "",
        2,
        &format!(
            "In brackets what another value would do on the hottest day of the weather file to the \
             attic air's high in {}, and to the heat through the ceiling.",
            degree(system)
        ),
    ));
    text.push_str(&list(system, effects, true));
    let own: Vec<&Effect> = effects.iter().filter(|one| one.design == design).collect();
    let Some(first) = own.first() else {
        return text;
    };
    let base = first.base.clone();
    text.push_str(&heading("How sure that makes the result"));
    let words = format!("\"{design}\" on the hottest day of the weather file: the");
    let ceiling_kwh = base.ceiling_kwh;
    text.push_str(&sure(system, &words, &own, base.attic_high, ceiling_kwh));
    text
}

/// What the run of a design does not know, the weightiest first, and how sure its result is.
pub(super) fn uncertainty_text(
    system: System,
    effects: &[Effect],
    attic_high_c: f64,
    ceiling_kwh: f64,
) -> String {
    let own: Vec<&Effect> = effects.iter().collect();
    if own.is_empty() {
        return String::new();
    }
    let mut text = heading("How sure the result is");
    text.push_str(&sure(system, "The", &own, attic_high_c, ceiling_kwh));
    text.push_str(&paragraph(
        "",
        2,
        &format!(
            "What was assumed, the weightiest first. In brackets what another value would do on \
             the hottest day of these to the attic air's high in {}, and to the heat through the \
             ceiling; check HOUSE tells sources.",
            degree(system)
        ),
    ));
    text.push_str(&list(system, effects, false));
    text
}

/// The shift of the heat through the ceiling as a share of it.
pub(super) fn ceiling_share(effects: &[&Effect]) -> impl Fn(&Measures) -> f64 + use<> {
    let base_kwh = effects.first().map_or(0.0, |one| one.base.ceiling_kwh);
    // A ceiling that takes in next to nothing has no share worth telling.
    let scale = if base_kwh > 0.05 { 1.0 / base_kwh } else { 0.0 };
    move |change| change.ceiling_kwh * scale
}

/// The band of the attic's high, K.
pub(super) fn attic_band(effects: &[&Effect]) -> Band {
    band(effects, |change| change.attic_high)
}

/// The limits of a heat through the ceiling, kWh.
pub(super) fn ceiling_limits_kwh(effects: &[&Effect], ceiling_kwh: f64) -> [f64; 2] {
    let share = band(effects, ceiling_share(effects));
    [share.low, share.high].map(|change| ceiling_kwh * (1.0 + change).max(0.0))
}

fn sure(
    system: System,
    words: &str,
    effects: &[&Effect],
    attic_high_c: f64,
    ceiling_kwh: f64,
) -> String {
    let band = attic_band(effects);
    let temp = |temp_c: f64| unbroken(&show::temperature(system, temp_c));
    let [low_kwh, high_kwh] = ceiling_limits_kwh(effects, ceiling_kwh);
    let mut text = paragraph(
        "",
        2,
        &format!(
            "{words} attic air's high comes out at {}; with what is not known it is very likely \
             between {} and {}. The heat through the ceiling comes out at {} kWh, very likely \
             between {} and {}.",
            temp(attic_high_c),
            temp(attic_high_c + band.low),
            temp(attic_high_c + band.high),
            kwh(ceiling_kwh),
            kwh(low_kwh),
            kwh(high_kwh),
        ),
    );
    let named = narrowest(effects, |change| change.attic_high)
        .filter(|(first, _)| first.attic_k() >= HARDLY_ANY_K);
    if let Some((first, rest)) = named {
        let half = |band: &Band| unbroken(&show::temperature_difference(system, band.half_width()));
        text.push_str(&paragraph(
            "",
            2,
            &format!(
                "Worth finding out first: {}. It alone would narrow the attic's high from about ± \
                 {} to ± {}. {}",
                first.assumption.field,
                half(&band),
                half(&rest),
                how(&first.assumption.field)
            ),
        ));
    }
    for effect in effects {
        if let (Spread::Cases(cases), true) =
            (&effect.assumption.spread, effect.attic_k() >= DECIDES_K)
            && cases.len() > 2
        {
            let each: Vec<String> = std::iter::once(format!(
                "{} {}",
                effect.assumption.value,
                temp(attic_high_c)
            ))
            .chain(effect.others.iter().filter_map(|other| {
                let change = other.change.as_ref()?;
                Some(format!(
                    "{} {}",
                    other.value,
                    temp(attic_high_c + change.attic_high)
                ))
            }))
            .collect();
            let words = format!(
                "Attic air's high by {}: {}.",
                effect.assumption.field,
                each.join(", ")
            );
            text.push_str(&paragraph("", 2, &words));
        }
    }
    text
}

fn list(system: System, effects: &[Effect], sources: bool) -> String {
    let mut text = String::new();
    let matters = |effect: &&Effect| {
        effect.attic_k() >= HARDLY_ANY_K || effect.ceiling_share() >= HARDLY_ANY_SHARE
    };
    let (weighty, idle): (Vec<_>, Vec<_>) = effects.iter().partition(matters);
    let shown = if sources { weighty.len() } else { MOST_LISTED };
    let (weighty, rest) = weighty.split_at(shown.min(weighty.len()));
    for effect in weighty {
        let one = &effect.assumption;
        let words = format!("{} = {}; {}", one.field, one.value, ends(system, effect));
        text.push_str(&paragraph("  -", 4, &words));
        if sources {
            text.push_str(&paragraph("", 6, &one.source));
        }
    }
    if !rest.is_empty() {
        let fields: Vec<&str> = rest
            .iter()
            .map(|effect| effect.assumption.field.as_str())
            .collect();
        let words = format!("Less than these: {}.", fields.join(", "));
        text.push_str(&paragraph("  -", 4, &words));
    }
    if !idle.is_empty() {
        let values: Vec<String> = idle
            .iter()
            .map(|effect| {
                let one = &effect.assumption;
                format!("{} = {}", one.field, one.value)
            })
            .collect();
        let words = format!("Hardly any effect: {}.", values.join(", "));
        text.push_str(&paragraph("  -", 4, &words));
    }
    text
}

/// The other values with what they do.
fn ends(system: System, effect: &Effect) -> String {
    let share = ceiling_share(&[effect]);
    let each: Vec<String> = effect
        .others
        .iter()
        .map(|other| {
            let told = other.change.as_ref().map_or_else(
                || "not with the rest of the house".to_owned(),
                |own| {
                    format!(
                        "{}, {}",
                        change(system, own.attic_high),
                        unbroken(&percent_change(share(own)))
                    )
                },
            );
            format!("{} ({told})", other.value)
        })
        .collect();
    match effect.assumption.spread {
        Spread::Number { .. } => format!("likely {}", each.join(" to ")),
        Spread::Cases(_) => format!("or {}", each.join(", ")),
    }
}

/// How an owner finds something out.
fn how(field: &str) -> &'static str {
    let last = field.rsplit('.').next().unwrap_or(field);
    match (field.split('.').next().unwrap_or(field), last) {
        ("site", "shelter") => {
            "Look round: open ground on all sides 0.9, houses and trees at some distance 0.6, \
             closed in by them 0.35. A reading of an attic logger on a windy and on a still day \
             tells more."
        }
        ("site", "terrain") => "Choose by what is within half a mile of the house.",
        ("roof", "absorptance" | "colour") => {
            "The maker's sheet of that colour gives the solar reflectance; this is 1 less it."
        }
        ("roof", "pitch") => "Hold a level of 12 in against a rafter and measure the drop.",
        ("roof", "ridge" | "faces") => "A map from above shows it; see help azimuth.",
        ("roof", "open" | "gap" | "on_battens") => {
            "Look under the lowest row of the covering at the eave."
        }
        ("roof", _) => "It shows at the eave and from inside the attic.",
        ("house", "leakage") => "A blower-door test finds it.",
        ("house", "length" | "width") => "A tape measure along the outside walls finds it.",
        ("attic", "framing_mass" | "framing_area") => {
            "Count the timbers and measure one of each kind; see help attic."
        }
        ("attic", "leakage") => "Look for daylight in the dark attic; see help attic.",
        ("ceiling", "insulation") => "Push a ruler down to the ceiling board; see help attic.",
        ("ceiling", "leakage") => "A blower-door test with the hatch open and shut finds it.",
        ("openings", _) => "Measure the holes and what covers them; see help attic.",
        ("fans", "flow") => "Read the label, or time a bag; see help fan-label and help bag.",
        ("fans", _) => "The maker's sheet has it; see help fan-label.",
        ("barrier", "channel" | "gap" | "open_share") => {
            "Shine a torch along the rafters behind the sheet, at the eave and at the ridge: \
             where is it open, and to what?"
        }
        ("barrier", _) => "The product's sheet, or a look into the attic, tells it.",
        ("forecast", "wind") => "Most forecasts tell it: add --wind \"8 mph\".",
        ("sensors", _) => "See help loggers.",
        _ => "",
    }
}

/// What was assumed, as it is where no weather was there to weigh it.
pub(super) fn assumed_unweighed(all: &[&Assumption]) -> String {
    if all.is_empty() {
        return String::new();
    }
    let mut text = heading("Assumed for lack of an answer");
    for assumption in all {
        text.push_str(&paragraph(
            "  -",
            4,
            &format!(
                "{} = {} (likely {} to {})",
                assumption.field, assumption.value, assumption.range[0], assumption.range[1]
            ),
        ));
        text.push_str(&paragraph("", 6, &assumption.source));
    }
    text
}
