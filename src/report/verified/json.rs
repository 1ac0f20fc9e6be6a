//! What a finished change did as JSON.

use serde_json::{Value, json};

use crate::study::verify::{ByDay, Mimic, OTHER_ROOMS_K, Told, Verified, VerifyError};
use crate::units::System;

use super::super::clock::clock_json;
use super::text::doubts;

/// What a change did as JSON, SI.
pub fn verified_json(house: &str, change: Option<&str>, found: &Verified) -> Value {
    let told = |told: Told| json!({"value": told.value, "interval_90": told.interval, "sure": told.is_sure()});
    let by_day = |days: &ByDay| {
        json!({
            "before": days.before.iter().map(|(date, k)| json!({"date": date.to_string(), "k": k})).collect::<Vec<_>>(),
            "after": days.after.iter().map(|(date, one)| json!({
                "date": date.to_string(), "k": one.value, "interval_90": one.interval,
            })).collect::<Vec<_>>(),
        })
    };
    let drops: Vec<Value> = found
        .drops
        .iter()
        .map(|drop| {
            json!({
                "name": drop.column,
                "highs_k": told(drop.highs),
                "mean_k": told(drop.mean),
                "expected_highs_k": drop.expected.map(|all| told(all[0])),
                "days": by_day(&drop.days),
                "expected_mean_k": drop.expected.map(|all| told(all[1])),
                "deviations_k": {
                    "days": drop.doubt.days_k, "house": drop.doubt.house_k,
                    "weather": drop.doubt.weather_k,
                },
                "other_course": drop.shape.map(|shape| json!({
                    "from_h": shape.hours[0], "to_h": shape.hours[1],
                    "measured_k": shape.measured_k, "expected_k": shape.expected_k,
                })),
            })
        })
        .collect();
    json!({
        "schema": 1, "house": house, "change": change, "drops": drops,
        "ceiling_kwh_day": found.ceiling_kwh_day.map(told),
        "ceiling_promised_kwh_day": found.ceiling_expected_kwh_day.map(told),
        "measured_share": found.measured_share,
        "days": {"before": found.days[0], "after": found.days[1]},
        "outdoors_warmer_k": found.warmer_k, "rooms_logged": found.rooms_logged,
        "clocks": found.clocks.iter().map(clock_json).collect::<Vec<_>>(),
        "cautions": doubts(System::Si, found),
        "could_look_alike": found.mimics.iter().map(mimic_json).collect::<Vec<_>>(),
    })
}

fn mimic_json(mimic: &Mimic) -> Value {
    match mimic {
        Mimic::LoggerElsewhere {
            column,
            likely_share,
            at_floor_k,
            at_ridge_k,
        } => json!({
            "what": "logger_elsewhere", "name": column, "highs_at_floor_k": at_floor_k,
            "highs_at_ridge_k": at_ridge_k, "likely_share": likely_share,
        }),
        Mimic::CoolerRooms {
            column,
            highs_k,
            mean_k,
        } => json!({
            "what": "cooler_rooms", "name": column, "rooms_k": OTHER_ROOMS_K, "highs_k": highs_k,
            "mean_k": mean_k,
        }),
    }
}

/// That nothing can be told of a change, and why.
pub fn refused_json(house: &str, change: Option<&str>, error: &VerifyError) -> Value {
    json!({"schema": 1, "house": house, "change": change, "refused": error.to_string()})
}
