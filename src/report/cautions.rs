//! Cautions in words. They point at the hazard and leave the work to local codes and licensed
//! practice.

use maud::{Markup, html};

use crate::assess::{Caution, Depressurised};
use crate::units::show::{self, System};

use super::layout::{heading, paragraph};
use super::words;

/// A caution in words.
pub fn caution_text(system: System, caution: &Caution) -> String {
    match caution {
        Caution::HeatIllness {
            attic_high_c,
            no_entry_hours,
        } => {
            let high = show::temperature(system, *attic_high_c);
            let limit = match system {
                System::Us => "120 °F",
                System::Si => "49 °C",
            };
            let when = no_entry_hours.map_or_else(
                || format!("It stays below {limit}, but heat can still make you ill."),
                |(from, to)| {
                    format!(
                        "Stay out from {from}:00 to {to}:00, when it passes {limit} on some day."
                    )
                },
            );
            format!(
                "Heat: the attic's air reaches {high}, surfaces more. {when} Work early in the \
                 morning, a quarter of an hour at a time, with water and a second person. \
                 Confusion or hot dry skin is heat stroke: call emergency help at once."
            )
        }
        Caution::FallThroughCeiling => "Falls: a ceiling does not carry a person. Stand on joists \
             or boards laid across them, and secure the ladder."
            .to_owned(),
        Caution::OldInsulation => "Old loose insulation that looks like pebbly flakes \
             (vermiculite) may hold asbestos: do not touch it, and have it tested first."
            .to_owned(),
        Caution::OldWiring => {
            "Wiring: old single wires on porcelain knobs, brittle insulation and \
             open joints must be seen to by an electrician before anything is laid on or fixed \
             near them. Keep the makers' distance from recessed lights and flues."
                .to_owned()
        }
        Caution::FoilAndWires => {
            "Foil carries current: switch the circuits off at the panel while \
             you hang it, put no staple into a cable, and keep it off bare joints. Ask for foil \
             with the fire rating that your code wants."
                .to_owned()
        }
        Caution::FoilAndVapour => "Foil on the attic floor holds back moisture in cold weather: \
             use a perforated one, and in a cold climate rather another place. Dust takes away \
             its effect over the years."
            .to_owned(),
        Caution::FansAndFire => "Fire: fans feed it. Codes may ask for a cut-off that stops them \
             in heat or smoke; it must be a listed device. The thermostat of this simulation is \
             not one."
            .to_owned(),
        Caution::DirectCurrent => "If the fans run from a battery or a solar module: direct \
             current keeps an arc burning. Use switches and fuses rated for it, a fuse close to \
             the battery, and no battery in the attic's heat."
            .to_owned(),
        Caution::Combustion { level, pressure_pa } => {
            let pressure = words::draught(system, -pressure_pa);
            let found = match level {
                Depressurised::Little => format!(
                    "With the fans running the rooms are at most {pressure} below outdoors here"
                ),
                Depressurised::Watch => format!(
                    "With the fans running the rooms fall to {pressure} below outdoors, close to \
                     what a water heater with a plain flue bears (about 2 Pa)"
                ),
                Depressurised::WaterHeater => format!(
                    "STOP if there is a water heater with a plain flue: with the fans running the \
                     rooms fall to {pressure} below outdoors, and about 2 Pa can pull its fumes \
                     into the house"
                ),
                Depressurised::Furnace => format!(
                    "STOP if there is any appliance with a plain flue: with the fans running the \
                     rooms fall to {pressure} below outdoors, and 2 to 5 Pa can pull fumes into \
                     the house"
                ),
            };
            format!(
                "Fumes: fans draw air from the rooms. {found}. Where anything burns gas, oil or \
                 wood in house, attic, closet or garage, have its draught tested with all fans \
                 on, and keep a carbon monoxide alarm."
            )
        }
        Caution::Fumes => "Fumes: fans that draw air out of the attic draw some out of the rooms too. \
             simulate and compare tell how far the rooms' pressure falls; a water heater with a plain \
             flue bears about 2 Pa. Where anything burns gas, oil or wood in house, attic, closet or \
             garage, have its draught tested with all fans on, and keep a carbon monoxide alarm."
            .to_owned(),
        Caution::Embers => "Wildfire: embers enter at vents. Where that threatens, codes ask for \
             fine metal mesh or listed vents; finer mesh lets less air through, so put its net \
             free area into the house file."
            .to_owned(),
        Caution::RoofWork => "Work on the roof: falls kill. Above 6 ft (1.8 m) use fall \
             protection, or leave it to a roofer."
            .to_owned(),
        Caution::OldFlue => "An old flue: prove that nothing uses it before a fan goes in. Old \
             flue pipes may be asbestos cement: do not cut or drill them."
            .to_owned(),
    }
}

/// Cautions under a heading, as they come.
pub(super) fn cautions_markup(system: System, cautions: &[&Caution]) -> Markup {
    html! {
        @if !cautions.is_empty() {
            h2 { "Before any work up there" }
            ul {
                @for caution in cautions {
                    li.pressing[caution.is_pressing()] { (caution_text(system, caution)) }
                }
            }
        }
    }
}

/// All cautions under a heading; the pressing ones first.
pub fn cautions_text(system: System, cautions: &[Caution]) -> String {
    if cautions.is_empty() {
        return String::new();
    }
    let mut text = heading("Before any work up there");
    let (pressing, usual): (Vec<_>, Vec<_>) = cautions.iter().partition(|c| c.is_pressing());
    for caution in pressing {
        text.push_str(&paragraph("  !", 4, &caution_text(system, caution)));
    }
    for caution in usual {
        text.push_str(&paragraph("  -", 4, &caution_text(system, caution)));
    }
    text.push_str(&paragraph(
        "",
        2,
        "Local codes and licensed practice go before anything said here.",
    ));
    text
}
