//! What was repaired, assumed or derived, in words.

use crate::run::Notice as RunNotice;
use crate::units::celsius;
use crate::units::show::{self, System};
use crate::weather::{Notice, Quantity};

use super::layout::paragraph;

/// What a quantity of weather is called in text.
pub(super) fn quantity(quantity: Quantity) -> String {
    match quantity {
        Quantity::DryBulb => "air temperature".to_owned(),
        Quantity::Global => "sunshine on the flat".to_owned(),
        Quantity::DirectNormal => "direct sun".to_owned(),
        Quantity::Diffuse => "diffuse light".to_owned(),
        Quantity::InfraredDown => "infrared from the sky".to_owned(),
        other => other.key().replace('_', " "),
    }
}

/// A notice of the weather in words.
#[expect(clippy::too_many_lines, reason = "one arm a notice")]
pub fn notice_text(system: System, notice: &Notice) -> String {
    let difference = |k: f64| show::temperature_difference(system, k);
    match notice {
        Notice::GapsBridged {
            quantity: q,
            gaps,
            values,
        } => format!(
            "{}: {gaps} short gap(s), {values} value(s) in all, bridged.",
            quantity(*q)
        ),
        Notice::GapsFromNeighbourDays {
            quantity: q,
            gaps,
            values,
        } => format!(
            "{}: {gaps} longer gap(s), {values} value(s) in all, filled with the same hours of \
             the days around.",
            quantity(*q)
        ),
        Notice::Hole {
            from,
            to,
            quantity: q,
        } => format!(
            "{} is missing from {} to {}: that span cannot be simulated.",
            quantity(*q),
            from.strftime("%Y-%m-%d %H:%M"),
            to.strftime("%Y-%m-%d %H:%M")
        ),
        Notice::MeasuredAtHouse {
            quantity: q,
            values,
            of,
        } => format!(
            "{}: {values} of {of} value(s) are those measured at the house.",
            quantity(*q)
        ),
        Notice::UnbelievableDropped {
            quantity: q,
            values,
            first_line,
        } => format!(
            "{}: {values} unbelievable value(s) taken as missing, the first on line {first_line}.",
            quantity(*q)
        ),
        Notice::NightOffsetsClipped {
            quantity: q,
            values,
            lowest_w_m2,
        } => format!(
            "{}: {values} value(s) a little below zero at night (down to {lowest_w_m2:.1} W/m²), \
             as instruments have, set to zero.",
            quantity(*q)
        ),
        Notice::SunBelowHorizon {
            intervals,
            highest_w_m2,
        } => format!(
            "Sun was recorded in {intervals} interval(s) while it was below the horizon (up to \
             {highest_w_m2:.0} W/m²) and left out. Many of these mean that the clock or the time \
             zone of the file is wrong."
        ),
        Notice::BrighterThanPossible {
            intervals,
            highest_w_m2,
        } => format!(
            "In {intervals} interval(s) the sun was brighter than it can be (by up to \
             {highest_w_m2:.0} W/m²) and was brought down."
        ),
        Notice::ComponentsDisagree {
            mean_w_m2,
            rms_w_m2,
        } => format!(
            "Direct and diffuse light do not add up to the sunshine on the flat (mean \
             {mean_w_m2:.0}, spread {rms_w_m2:.0} W/m²); the latter and diffuse are used."
        ),
        Notice::GlobalFromComponents => {
            "Sunshine on the flat is the sum of direct and diffuse.".to_owned()
        }
        Notice::GlobalFromCloud {
            hour_percent,
            day_percent,
        } => format!(
            "Sunshine was worked out from cloud cover: ±{hour_percent:.0} % in an hour, \
             ±{day_percent:.0} % over a day."
        ),
        Notice::GlobalFromTemperatureRange {
            day_percent,
            month_percent,
            ..
        } => format!(
            "Sunshine was worked out from each day's high and low, clouds from hours that were cooler \
             and damper than usual: ±{day_percent:.0} % over a day, ±{month_percent:.0} % over a month."
        ),
        Notice::DiffuseFromGlobal => {
            "Direct and diffuse light were split by a usual rule (Erbs et al. 1982).".to_owned()
        }
        Notice::DiffuseFromDirect => {
            "Diffuse light is what direct sun leaves of the whole.".to_owned()
        }
        Notice::InfraredFromCloud { uncertainty_w_m2 } => format!(
            "Infrared from the sky was worked out from humidity and clouds: \
             ±{uncertainty_w_m2:.0} W/m²."
        ),
        Notice::InfraredFromClearness { uncertainty_w_m2 } => format!(
            "Infrared from the sky was worked out from humidity and how clear the days were: \
             ±{uncertainty_w_m2:.0} W/m²."
        ),
        Notice::DerivedWhereMissing {
            quantity: q,
            intervals,
        } => format!(
            "{}: worked out from other readings in {intervals} interval(s) where it was missing.",
            quantity(*q)
        ),
        Notice::DewPointFromRelativeHumidity => {
            "Dew point was worked out from relative humidity.".to_owned()
        }
        Notice::DewPointFromDailyLow { uncertainty_k } => format!(
            "There was no humidity: the dew point is taken as each day's low, ±{}.",
            difference(*uncertainty_k)
        ),
        Notice::PressureFromAltitude => {
            "There was no air pressure: the usual one at that altitude is taken.".to_owned()
        }
        Notice::WindSpeedAssumed { speed_m_s } => format!(
            "There was no wind: a steady {} is taken.",
            show::speed(system, *speed_m_s)
        ),
        Notice::WindDirectionAssumed { direction_deg } => {
            format!("There was no wind direction: a steady one from {direction_deg:.0}° is taken.")
        }
        Notice::AlbedoAssumed { albedo } => format!(
            "How much the ground reflects was not recorded: {} is taken.",
            show::fraction(*albedo)
        ),
        Notice::Averaged {
            from_step_s,
            to_step_s,
        } => format!(
            "Rows every {} min were averaged to {} min.",
            from_step_s / 60,
            to_step_s / 60
        ),
        Notice::Realigned { by_s } => format!(
            "The rows do not begin on the clock's steps; they were moved by {} min.",
            by_s / 60
        ),
        Notice::MonthsFromDifferentYears { shown_as } => {
            format!("The months come from different years; they are shown as {shown_as}.")
        }
        Notice::LeapDayLeftOut { rows } => {
            format!("29 February was left out ({rows} row(s)).")
        }
        Notice::Made { days, .. } => format!(
            "These {days} day(s) were made from a daily high and low. They are no measurement."
        ),
    }
}

/// A notice of a run in words.
fn run_notice(system: System, notice: &RunNotice) -> String {
    match notice {
        RunNotice::Weather(notice) => notice_text(system, notice),
        RunNotice::WarmedUpOnItself { days } => format!(
            "The weather does not reach back before the period: {days} of its own day(s) were \
             run first to warm the house up."
        ),
        RunNotice::FarFromWeather { distance_km } => format!(
            "The house file places the house about {} from where this weather is from. Its sun and \
             air are taken as they are, as if the house stood there.",
            match system {
                System::Us => format!("{:.0} miles", distance_km / 1.609_344),
                System::Si => format!("{distance_km:.0} km"),
            }
        ),
    }
}

/// Notices of a run, one to a paragraph, with the first letter large.
pub fn notices_text(system: System, notices: &[RunNotice]) -> String {
    notices
        .iter()
        .map(|notice| paragraph("  -", 4, &capital(&run_notice(system, notice))))
        .collect()
}

/// Text with its first letter large.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// The lowest, mean and highest temperature of some days, such as `56 to 103 °F, mean 77 °F`.
pub(super) fn span_text(system: System, low_k: f64, high_k: f64, mean_k: f64) -> String {
    let of = |temp_k: f64| show::temperature(system, celsius(temp_k));
    format!(
        "{} to {}, mean {}",
        super::words::temp(system, celsius(low_k)),
        of(high_k),
        of(mean_k)
    )
}
