//! Results as JSON: SI, with the documented keys; parts that there are not are left out.

use serde_json::{Map, Value, json};

use crate::assess::{
    Account, Amount, Caution, Inspection, Item, Peak, Ruling, Verdict, inspect, rulings,
    vents_at_150_m2, vents_at_300_m2,
};
use crate::house::{Assumption, House};
use crate::study::{Difference, Effect};
use crate::units::celsius;
use crate::units::show::System;
use crate::weather::{Description, Kind, Stretch};

use super::account::item_name;
use super::case::Case;
use super::cautions::caution_text;
use super::check::warning_text;
use super::compare::Limits;
use super::notices::{capital, notices_text};
use super::trade_rules::NOTE;
use super::uncertain::{attic_band, ceiling_limits_kwh, ceiling_share};

/// Version of the documents' layout.
const SCHEMA: u32 = 1;

/// A number with so many decimals; what is not finite is left empty.
fn number(value: f64, decimals: i32) -> Value {
    let scale = 10f64.powi(decimals);
    let rounded = (value * scale).round() / scale;
    if rounded.is_finite() {
        // Minus nothing is nothing.
        json!(rounded + 0.0)
    } else {
        Value::Null
    }
}

fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Measured => "measured",
        Kind::Typical => "typical",
        Kind::Made => "made",
    }
}

fn time(at: jiff::civil::DateTime) -> String {
    at.strftime("%Y-%m-%dT%H:%M:%S").to_string()
}

/// One design's results; with `effects`, what each assumption does to them and the bands they lie
/// in.
pub fn case_json(case: &Case, effects: Option<&[Effect]>) -> Value {
    let (outcome, own) = (&case.outcome, &case.assessment);
    let peak =
        |peak: &Peak| json!({"c": number(peak.temp_c, 3), "at": time(case.time(peak.time_s))});
    let mut peaks = Map::new();
    let mut means = Map::new();
    for (name, reading) in crate::assess::PLACES.iter().zip(own.readings.all()) {
        peaks.insert((*name).to_owned(), peak(&reading.peak));
        means.insert((*name).to_owned(), json!({"c": number(reading.mean_c, 3)}));
    }
    let days: Vec<Value> = own
        .days
        .iter()
        .map(|day| {
            json!({
                "date": day.date.to_string(),
                "outdoor_high_c": number(day.outdoor_high_c, 3),
                "attic_high_c": number(day.attic_high_c, 3),
                "living_high_c": number(day.living_high_c, 3),
                "fan_hours": number(day.fan_hours, 4),
                "ceiling_gain_kwh": number(day.ceiling_gain_kwh, 4),
            })
        })
        .collect();
    let sensors: Map<String, Value> = own
        .sensors
        .iter()
        .map(|sensor| {
            let value = json!({
                "high_c": number(sensor.high.temp_c, 3),
                "low_c": number(sensor.low_c, 3),
                "offset_from_air_c": number(sensor.offset_at_high_k, 3),
                "high_at": time(case.time(sensor.high.time_s)),
                "offset_from_air_mean_c": number(sensor.offset_mean_k, 3),
            });
            (sensor.name.clone(), value)
        })
        .collect();
    let mut comfort = Map::new();
    let above = number(own.comfort.hours_above_limit, 3);
    comfort.insert("hours_above_26_7_c".to_owned(), above);
    if let Some(hours) = own.comfort.hours_above_adaptive {
        comfort.insert("hours_above_adaptive_limit".to_owned(), number(hours, 3));
    }
    if let Some(limit_c) = own.comfort.adaptive_limit_mean_c {
        comfort.insert("adaptive_limit_mean_c".to_owned(), number(limit_c, 2));
    }
    let notices: Vec<String> = outcome
        .notices
        .iter()
        .map(|notice| sentence(&notices_text(System::Si, std::slice::from_ref(notice))))
        .collect();
    let mut document = json!({
        "schema": SCHEMA,
        "house": case.house.name,
        "design": case.design(),
        "period": {"from": time(outcome.start), "to": time(outcome.end)},
        "weather": {
            "source": outcome.weather.source,
            "place": outcome.weather.place,
            "kind": kind(outcome.weather.kind),
        },
        "peaks": peaks,
        "means": means,
        "heat": {
            "ceiling_gain_kwh": number(own.heat.ceiling_gain_kwh, 4),
            "ceiling_net_kwh": number(own.heat.ceiling_net_kwh, 4),
            "ceiling_peak_w_m2": number(own.heat.ceiling_peak_w_m2, 4),
            "solar_absorbed_kwh": number(own.heat.solar_absorbed_kwh, 4),
        },
        "account": account_json(case),
        "air": air_json(case),
        "fan": {
            "run_hours": number(own.fan.run_hours, 4),
            "energy_kwh": number(own.fan.energy_kwh, 5),
            "starts": own.fan.starts,
        },
        "days": days,
        "sensors": sensors,
        "assumed": assumed_json(&case.house.assumed, effects),
        "comfort": comfort,
        "balance": {
            "energy_relative": outcome.balance.energy_relative.max(outcome.balance.whole_relative),
            "air_kg_s": outcome.balance.air_kg_s,
        },
        "notices": notices,
        "cautions": cautions_json(&own.cautions),
    });
    if let Some(effects) = effects {
        let all: Vec<&Effect> = effects.iter().collect();
        let attic = attic_band(&all);
        let high_c = own.readings.attic_air.peak.temp_c;
        let ceiling = ceiling_limits_kwh(&all, own.heat.ceiling_gain_kwh);
        document["bands"] = json!({
            "attic_high_c": [number(high_c + attic.low, 2), number(high_c + attic.high, 2)],
            "ceiling_gain_kwh": ceiling.map(|kwh| number(kwh, 3)),
        });
    }
    document
}

/// A paragraph without its layout.
fn sentence(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    words.join(" ").trim_start_matches("- ").to_owned()
}

fn air_json(case: &Case) -> Value {
    let air = &case.assessment.air;
    let groups: Vec<Value> = case
        .outcome
        .fans
        .iter()
        .map(|fan| {
            json!({
                "name": fan.name,
                "count": fan.count,
                "free_air_m3_s": number(fan.free_air_m3_s, 6),
                "delivered_m3_s": number(fan.delivered_m3_s, 6),
                "working_pressure_pa": number(fan.working_pressure_pa, 3),
                "run_hours": number(fan.run_s / 3600.0, 4),
                "starts": fan.starts,
            })
        })
        .collect();
    json!({
        "attic_ach_mean": number(air.attic_ach_mean, 4),
        "attic_ach_max": number(air.attic_ach_max, 4),
        "fan_free_air_m3_s": number(air.fan_free_air_m3_s, 6),
        "fan_delivered_m3_s": number(air.fan_delivered_m3_s, 6),
        "from_living_share_max": number(air.from_living_share_max, 5),
        "short_circuit_share_max": number(air.short_circuit_share_max, 5),
        "from_living_share_mean": number(air.from_living_share_mean, 5),
        "living_pressure_min_pa": number(air.living_pressure_min_pa, 4),
        "attic_pressure_min_pa": number(air.attic_pressure_min_pa, 4),
        "fan_groups": groups,
    })
}

fn account_json(case: &Case) -> Value {
    let accounts = &case.assessment.accounts;
    let book = |account: &Account| {
        let lines: Vec<Value> = account
            .lines
            .iter()
            .map(|line| {
                json!({
                    "code": item_code(&line.item),
                    "name": item_name(&line.item),
                    "kwh": number(line.heat_j / 3.6e6, 6),
                })
            })
            .collect();
        json!({
            "from": time(case.time(account.from_s)),
            "to": time(case.time(account.to_s)),
            "lines": lines,
            "stored_kwh": number(account.stored_j / 3.6e6, 6),
            "imbalance_relative": account.imbalance(),
        })
    };
    json!({
        "attic_peak_hour": book(&accounts.attic_peak_hour),
        "attic_period": book(&accounts.attic_period),
        "attic_air_peak_hour": book(&accounts.air_peak_hour),
        "attic_air_period": book(&accounts.air_period),
    })
}

fn item_code(item: &Item) -> &'static str {
    match item {
        Item::Sun(_) => "sun",
        Item::OutdoorAir(_) => "outdoor_air",
        Item::Sky(_) => "sky",
        Item::Inside(_) => "inside_surface",
        Item::Foil(_) => "foil",
        Item::FoilChannel(_) | Item::FoilChannelOutdoors(_) => "foil_channel",
        Item::BattenSpace(_) => "batten_space",
        Item::Floor => "attic_floor",
        Item::Framing => "framing",
        Item::Vent(_) => "vent",
        Item::Fan(_) => "fan",
        Item::Leaks => "leaks",
        Item::CeilingLeaks => "ceiling_leaks",
        Item::Ceiling => "ceiling",
        _ => "other",
    }
}

fn assumed_json(assumed: &[Assumption], effects: Option<&[Effect]>) -> Value {
    let all = assumed.iter().map(|one| {
        let mut value = json!({
            "field": one.field,
            "value": one.value,
            "range": one.range,
            "source": one.source,
        });
        let known = effects.and_then(|all| all.iter().find(|e| e.assumption.field == one.field));
        if let Some(effect) = known {
            let share = ceiling_share(&[effect]);
            let others = effect.others.iter().map(|other| {
                json!({
                    "value": other.value,
                    "attic_high_change_c":
                        other.change.as_ref().map(|own| number(own.attic_high, 3)),
                    "ceiling_gain_change_share":
                        other.change.as_ref().map(|own| number(share(own), 4)),
                })
            });
            value["effect_on_attic_high_c"] = number(effect.attic_k(), 3);
            value["effect_on_ceiling_gain_share"] = number(effect.ceiling_share(), 4);
            value["others"] = Value::Array(others.collect());
        }
        value
    });
    Value::Array(all.collect())
}

fn cautions_json(cautions: &[Caution]) -> Value {
    let all = cautions.iter().map(|caution| {
        json!({
            "code": caution.code(),
            "pressing": caution.is_pressing(),
            "text": caution_text(System::Si, caution),
        })
    });
    Value::Array(all.collect())
}

/// Several designs: each as [`case_json`] tells it, and how it differs from the first; with
/// `doubts`, the bands that the differences lie in.
pub fn compare_json(cases: &[Case], doubts: &[Difference]) -> Value {
    let designs: Vec<Value> = cases.iter().map(|case| case_json(case, None)).collect();
    let mut differences = Vec::new();
    if let Some((first, others)) = cases.split_first() {
        let base = &first.assessment;
        for case in others {
            let own = &case.assessment;
            let peak = |of: fn(&crate::assess::Readings) -> f64| {
                number(of(&own.readings) - of(&base.readings), 3)
            };
            let mut difference = json!({
                "design": case.design(),
                "against": first.design(),
                "attic_high_k": peak(|r| r.attic_air.peak.temp_c),
                "attic_ridge_high_k": peak(|r| r.attic_ridge.peak.temp_c),
                "living_high_k": peak(|r| r.living_air.peak.temp_c),
                "ceiling_gain_kwh": number(
                    own.heat.ceiling_gain_kwh - base.heat.ceiling_gain_kwh, 4),
                "ceiling_gain_share": number(
                    own.heat.ceiling_gain_kwh / base.heat.ceiling_gain_kwh - 1.0, 5),
                "hours_above_26_7_c": number(
                    own.comfort.hours_above_limit - base.comfort.hours_above_limit, 3),
            });
            if let Some(doubt) = doubts.iter().find(|doubt| doubt.design == case.design()) {
                difference["bands"] = bands_json(&Limits::of(case, first, doubt));
            }
            differences.push(difference);
        }
    }
    json!({"schema": SCHEMA, "designs": designs, "differences": differences})
}

/// Bands of a difference between designs.
fn bands_json(limits: &Limits) -> Value {
    let of = |ends: [f64; 2], digits| ends.map(|end| number(end, digits));
    let mut bands = json!({
        "attic_high_k": of(limits.attic_high_k, 3),
        "living_high_k": of(limits.living_high_k, 3),
    });
    if let Some([kwh, shares]) = limits.ceiling {
        bands["ceiling_gain_kwh"] = json!(of(kwh, 4));
        bands["ceiling_gain_share"] = json!(of(shares, 5));
    }
    bands
}

/// A rule of a code or the trade, its amounts named after their unit.
fn ruling_json(ruling: &Ruling) -> Value {
    let mut document = Map::new();
    let mut set = |key: &str, value: Value| {
        document.insert(key.to_owned(), value);
    };
    set("rule", json!(ruling.rule.code()));
    set(
        "met",
        json!(match ruling.verdict {
            Verdict::Met => Some(true),
            Verdict::NotMet => Some(false),
            Verdict::Look => None,
        }),
    );
    for (key, amount) in [
        ("asked", ruling.asked),
        ("there", ruling.there),
        ("short_by", ruling.short_by()),
    ] {
        match amount {
            Some(Amount::Length(m)) => set(&format!("{key}_m"), number(m, 6)),
            Some(Amount::Area(m2)) => set(&format!("{key}_m2"), number(m2, 6)),
            Some(Amount::Flow(m3_s)) => set(&format!("{key}_m3_s"), number(m3_s, 6)),
            None => {}
        }
    }
    if let Some(share) = ruling.high_share {
        set("high_share", number(share, 5));
    }
    if let Some([of, asks]) = ruling.rule.worked() {
        set("example", json!({"for": of, "asks": asks}));
    }
    set("source", json!(ruling.rule.source()));
    Value::Object(document)
}

/// What was understood of a house and its designs.
pub fn check_json(house: &House, designs: &[House], effects: Option<&[Effect]>) -> Value {
    let shape = house.attic_shape();
    let all: Vec<Value> = std::iter::once(house)
        .chain(designs)
        .map(|one| {
            let own: Inspection = inspect(one);
            let warnings: Vec<String> = own
                .warnings
                .iter()
                .map(|warning| capital(&warning_text(System::Si, warning)))
                .collect();
            json!({
                "design": one.design,
                "vents_net_free_m2": number(own.vents.total_m2, 5),
                "vents_high_m2": number(own.vents.high_m2, 5),
                "vents_asked_150_m2": number(vents_at_150_m2(own.vents.floor_m2), 5),
                "vents_asked_300_m2": number(vents_at_300_m2(own.vents.floor_m2), 5),
                "fans": own.fans,
                "fan_label_m3_s": number(own.fan_label_m3_s, 6),
                "fan_inlet_asked_m2": number(own.inlet_asked_m2, 5),
                "rules": rulings(one).iter().map(ruling_json).collect::<Vec<_>>(),
                "warnings": warnings,
                "assumed": assumed_json(&one.assumed, effects),
                "cautions": cautions_json(&Caution::of_house(one)),
            })
        })
        .collect();
    json!({
        "schema": SCHEMA,
        "house": house.name,
        "attic": {
            "floor_m2": number(shape.floor_area_m2(), 4),
            "volume_m3": number(shape.volume_m3(), 4),
            "ridge_height_m": number(shape.ridge_height_m, 4),
        },
        "rooms": {
            "floor_m2": number(house.floor_area_m2(), 4),
            "volume_m3": number(house.living_volume_m3(), 4),
        },
        "rules_note": NOTE,
        "designs": all,
    })
}

/// What a weather file holds.
pub fn weather_json(description: &Description) -> Value {
    let stretch = |stretch: &Stretch| {
        json!({
            "from": time(stretch.from),
            "to": time(stretch.to),
            "mean_c": number(celsius(stretch.mean_dry_bulb_k), 3),
            "high_c": number(celsius(stretch.highest_dry_bulb_k), 3),
            "low_c": number(celsius(stretch.lowest_dry_bulb_k), 3),
            "wind_m_s": number(stretch.mean_wind_speed_m_s, 3),
            "global_w_m2": number(stretch.mean_global_w_m2, 2),
            "infrared_down_w_m2": number(stretch.mean_infrared_down_w_m2, 2),
            "humidity_ratio": number(stretch.mean_humidity_ratio, 6),
        })
    };
    let mut document = Map::new();
    let mut set = |key: &str, value: Value| {
        document.insert(key.to_owned(), value);
    };
    set("schema", json!(SCHEMA));
    set("place", json!(description.place));
    set("kind", json!(kind(description.kind)));
    set("source", json!(description.source));
    set("licence", json!(description.licence));
    set(
        "period",
        json!({"from": time(description.from), "to": time(description.to)}),
    );
    set("step_s", json!(description.step_s));
    for (key, week) in [
        ("hottest_week", &description.hottest_week),
        ("coldest_week", &description.coldest_week),
        ("most_humid_week", &description.most_humid_week),
    ] {
        if let Some(week) = week {
            set(key, stretch(week));
        }
    }
    let months: Vec<Value> = description
        .months
        .iter()
        .map(|month| json!({"year": month.year, "month": month.month, "means": stretch(&month.stretch)}))
        .collect();
    set("months", Value::Array(months));
    set("holes", json!(description.holes));
    set("notices", json!(description.notices));
    Value::Object(document)
}
