//! Supply ducts of a cooling plant in the attic.
//!
//! While the plant runs, its air passes the ducts `ΔT` cooler than the rooms. Air that enters a
//! duct of conductance `UA` at `T_s` leaves it at `T_a − (T_a − T_s) e^(−UA/ṁc_p)` (plug flow
//! through surroundings at `T_a`; the form of ASHRAE 152, from memory), so that the attic's air
//! gives the rooms `ṁc_p (1 − e^(−UA/ṁc_p)) (T_a − T_s)` of heat. The share `f` that leaks
//! out cools the attic, is missed in the rooms, and is drawn in again through the house's leaks.
//! Return ducts are left out.

use crate::elementary::exp;
use crate::house::{Ducts, Plant};
use crate::ode::Real;
use crate::physics::airflow::{Element, flow_at_1_pa_m3_s};

use super::air::{ATTIC, LIVING, PathPlan, Place};
use super::builder::{Builder, End};
use super::links::Law;

/// How much cooler the plant's air is than the rooms, K: 20 °F (common practice, no source).
const SUPPLY_DROP_K: f64 = 11.0;

/// Films inside and outside of a duct, m² K/W (common practice, no source).
const FILMS_M2K_W: f64 = 0.17;

/// Heat that a volume of the plant's air holds, J/(m³ K): 1.2 kg/m³ · 1006 J/(kg K).
const AIR_J_M3K: f64 = 1207.0;

/// Exponent of leaks between rooms and attic (ASHRAE, Sherman; from memory).
const LEAK_EXPONENT: f64 = 0.65;

/// Path of the air that the ducts lose: it flows as the plant runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spill<R> {
    /// Index of the path.
    pub(super) path: usize,
    /// Set-point of the plant, K.
    pub(super) set_point_k: R,
}

/// Joins the ducts to the lower attic air and the rooms' air; returns the path of what they lose.
pub(super) fn build<R: Real>(
    ducts: Ducts,
    plant: &Plant,
    [attic, rooms]: [usize; 2],
    attic_floor_m: f64,
    builder: &mut Builder<R>,
) -> Option<Spill<R>> {
    if ducts.area_m2 <= 0.0 {
        return None;
    }
    let set_point_k = R::splat(plant.set_point_c + 273.15);
    let stream_w_k = plant.capacity_w / SUPPLY_DROP_K;
    let conductance_w_k = ducts.area_m2 / (ducts.resistance_m2k_w + FILMS_M2K_W);
    let law = Law::Ducts {
        w_k: R::splat(stream_w_k * (1.0 - exp(-conductance_w_k / stream_w_k))),
        drop_k: R::splat(SUPPLY_DROP_K),
        leak_w: R::splat(ducts.leakage * plant.capacity_w),
        set_point_k,
    };
    builder.link(&End::Node(attic), &End::Node(rooms), law);
    let mut path = |name: &str, element: Element<R>| {
        let zone = |zone: usize| Place::Zone {
            zone,
            height_m: attic_floor_m,
        };
        let plan = PathPlan {
            name: name.to_owned(),
            from: zone(LIVING),
            to: zone(ATTIC),
            channel: None,
            rise_m: 0.0,
        };
        builder.path(plan, element)
    };
    if ducts.idle_leak_m2 > 0.0 {
        let flow = flow_at_1_pa_m3_s(ducts.idle_leak_m2, LEAK_EXPONENT);
        path(
            "ducts-idle",
            Element::Crack {
                flow_at_1_pa_m3_s: R::splat(flow),
                exponent: LEAK_EXPONENT,
            },
        );
    }
    (ducts.leakage > 0.0).then(|| Spill {
        path: path(
            "ducts-running",
            Element::Fixed {
                flow_m3_s: R::splat(ducts.leakage * stream_w_k / AIR_J_M3K),
            },
        ),
        set_point_k,
    })
}
