//! Controls and sensors.

use crate::equipment::{Condition, Control};
use crate::house::clash::Clash;
use crate::house::form::Form;
use crate::house::geometry::AtticShape;
use crate::house::parts::{NamedControl, Plan, Sensor, SensorZone};
use crate::house::walk::{Answer, Found};
use crate::units::{Dimension, kelvin};

pub(super) fn controls(form: &mut Form<'_>, shape: &AtticShape) -> Vec<NamedControl> {
    let names = form.names("controls");
    names
        .into_iter()
        .filter_map(|name| {
            let control = control(form, shape, &name)?;
            Some(NamedControl { name, control })
        })
        .collect()
}

fn control(form: &mut Form<'_>, shape: &AtticShape, name: &str) -> Option<Control> {
    let key = |key: &str| format!("controls.{name}.{key}");
    let kind = form.word(&key("kind"))?;
    let in_attic = form.given_word(&key("sensor")) != Some("living");
    let mut all_of = Vec::new();
    if kind == "thermostat" {
        all_of.push(thermostat(form, shape, &key, in_attic)?);
    } else {
        for other in ["on", "off", "differential", "height"] {
            if form.is_with(&key(other), &key("kind")) {
                form.clash(
                    &key(other),
                    Clash::NotWith {
                        choice: "kind",
                        value: kind.to_owned(),
                    },
                );
            }
        }
    }
    if let Some(margin_k) = form.given(&key("only_if_outdoors_cooler")) {
        all_of.push(if in_attic {
            Condition::OutdoorsCoolerThanAttic { margin_k }
        } else {
            Condition::OutdoorsCoolerThanLiving { margin_k }
        });
    }
    match form.answer(&key("between")) {
        Some(Answer {
            found: Found::Pairs(pairs),
            ..
        }) => {
            if let Some(&[from_s, to_s]) = pairs.first() {
                all_of.push(Condition::Daily { from_s, to_s });
            }
        }
        _ if kind == "timer" => {
            form.missing(&key("between"));
            return None;
        }
        _ => {}
    }
    Some(Control { all_of })
}

fn thermostat(
    form: &mut Form<'_>,
    shape: &AtticShape,
    key: &dyn Fn(&str) -> String,
    in_attic: bool,
) -> Option<Condition> {
    let on = form.given(&key("on"));
    if on.is_none() {
        form.missing(&key("on"));
    }
    let on_c = on?;
    let off_c = match (form.given(&key("off")), form.given(&key("differential"))) {
        (Some(off_c), None) => off_c,
        (None, Some(differential_k)) => on_c - differential_k,
        (Some(_), Some(_)) => {
            let off_is_newer = !form.is_with(&key("differential"), &key("off"));
            let differential_is_newer = !form.is_with(&key("off"), &key("differential"));
            match (off_is_newer, differential_is_newer) {
                (true, false) => form.given(&key("off"))?,
                (false, true) => on_c - form.given(&key("differential"))?,
                _ => {
                    form.clash(&key("differential"), Clash::Beside { other: "off" });
                    return None;
                }
            }
        }
        (None, None) => {
            form.clash(
                &key("off"),
                Clash::OneOf {
                    keys: &["off", "differential"],
                },
            );
            return None;
        }
    };
    if off_c >= on_c {
        form.clash(&key("off"), Clash::OffNotBelowOn { on_c, off_c });
        return None;
    }
    let (on_k, off_k) = (kelvin(on_c), kelvin(off_c));
    if !in_attic {
        if form.is_with(&key("height"), &key("sensor")) {
            form.clash(
                &key("height"),
                Clash::NotWith {
                    choice: "sensor",
                    value: "living".to_owned(),
                },
            );
        }
        return Some(Condition::LivingAbove { on_k, off_k });
    }
    let ridge_m = shape.ridge_height_m;
    let height_m = match form.given(&key("height")) {
        Some(height_m) if height_m > ridge_m => {
            form.clash(
                &key("height"),
                Clash::TooHigh {
                    height_m,
                    top: "ridge",
                    top_m: ridge_m,
                },
            );
            return None;
        }
        Some(height_m) => height_m,
        None => {
            let source = "beside the fans in the upper half; common practice, no source";
            let likely = [0.6, 0.4, 0.9].map(|share| share * ridge_m);
            form.assume(&key("height"), likely, Dimension::Length, source)
        }
    };
    Some(Condition::AtticAbove {
        on_k,
        off_k,
        height_m,
    })
}

pub(super) fn sensors(form: &mut Form<'_>, plan: &Plan, shape: &AtticShape) -> Vec<Sensor> {
    let names = form.names("sensors");
    names
        .into_iter()
        .filter_map(|name| sensor(form, plan, shape, name))
        .collect()
}

fn sensor(form: &mut Form<'_>, plan: &Plan, shape: &AtticShape, name: String) -> Option<Sensor> {
    let key = |key: &str| format!("sensors.{name}.{key}");
    let zone = match form.word(&key("zone"))? {
        "living" => SensorZone::Living,
        _ => SensorZone::Attic,
    };
    let (top, top_m) = match zone {
        SensorZone::Attic => ("ridge", shape.ridge_height_m),
        SensorZone::Living => ("ceiling", plan.storey_height_m * f64::from(plan.storeys)),
    };
    let height_m = match form.given(&key("height")) {
        Some(height_m) => height_m,
        None if form.answer(&key("height")).is_some() => {
            let source = "attic loggers hang high, room loggers at breast height; common practice, no source";
            let likely = match zone {
                SensorZone::Attic => [0.75, 0.5, 0.95].map(|share| share * top_m),
                SensorZone::Living => [1.5, 1.0, 1.8].map(|height_m: f64| height_m.min(top_m)),
            };
            form.assume(&key("height"), likely, Dimension::Length, source)
        }
        None => {
            form.missing(&key("height"));
            return None;
        }
    };
    if height_m > top_m {
        form.clash(
            &key("height"),
            Clash::TooHigh {
                height_m,
                top,
                top_m,
            },
        );
        return None;
    }
    let shielding = form.number(&key("shielding"))?;
    let time_constant_s = form.number(&key("time_constant"))?;
    let diameter_m = form.number(&key("diameter"))?;
    Some(Sensor {
        name,
        zone,
        height_m,
        shielding,
        time_constant_s,
        diameter_m,
    })
}
