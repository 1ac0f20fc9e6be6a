//! Air flow against closed forms and a general root finder (tables `c6_*`, SciPy 1.17.1).

use crate::table;
use rafterheat::physics::airflow::{Element, GRAVITY_M_S2, density_kg_m3};
use rafterheat::physics::pressure_network::{Drive, Path, solve};

const CLOSE: f64 = 1e-6;

fn close(got: f64, want: f64, what: &str) {
    assert!(
        (got - want).abs() <= CLOSE * want.abs().max(1e-3),
        "{what}: {got} against {want}"
    );
}

fn path(from: Option<usize>, to: Option<usize>, element: Element) -> Path {
    Path { from, to, element }
}

fn orifice(area_m2: f64, cd: f64) -> Element {
    Element::Orifice {
        cd_area_m2: cd * area_m2,
    }
}

#[test]
fn openings_and_cracks_match_the_closed_forms() {
    let table = table::read("c6_orifice_powerlaw.csv");
    for row in 0..table.len() {
        let f = |c: &str| table.f64(row, c);
        let density = density_kg_m3(f("pressure_pa"), f("t_k"), 0.0);
        let element = if table.text(row, "kind") == "orifice" {
            orifice(f("net_free_area_m2"), f("cd"))
        } else {
            Element::Crack {
                flow_at_1_pa_m3_s: f("c_coef"),
                exponent: f("n_exp"),
            }
        };
        let (mass, _) = element.mass_flow(f("dp_pa"), density, density);
        close(mass, f("mass_kg_s"), &format!("row {row} mass"));
        close(mass / density, f("flow_m3_s"), &format!("row {row} volume"));
    }
}

#[test]
fn stack_and_wind_through_two_openings_match_the_closed_form() {
    let table = table::read("c6_stack_two_openings.csv");
    for row in 0..table.len() {
        let f = |c: &str| table.f64(row, c);
        let outside = density_kg_m3(f("pressure_pa"), f("t_out_k"), 0.0);
        let inside = density_kg_m3(f("pressure_pa"), f("t_in_k"), 0.0);
        let dynamic = 0.5 * outside * f("wind_m_s").powi(2);
        let stack = (outside - inside) * GRAVITY_M_S2 * f("height_between_m");
        let paths = [
            path(None, Some(0), orifice(f("area_low_m2"), f("cd_low"))),
            path(Some(0), None, orifice(f("area_high_m2"), f("cd_high"))),
        ];
        let drives = [
            Drive {
                pressure_pa: dynamic * f("cp_low"),
                density_from: outside,
                density_to: inside,
            },
            Drive {
                pressure_pa: stack - dynamic * f("cp_high"),
                density_from: inside,
                density_to: outside,
            },
        ];
        let (mut pressure, mut flows) = ([0.0], [0.0; 2]);
        solve(&paths, &drives, &mut pressure, &mut flows).unwrap();
        close(flows[0], f("mass_flow_kg_s"), &format!("row {row}"));
        close(flows[1], f("mass_flow_kg_s"), &format!("row {row}"));
        close(
            pressure[0],
            f("p_in_minus_out_at_low_pa"),
            &format!("row {row} pressure"),
        );
    }
}

#[test]
fn an_attic_with_vents_ceiling_leak_and_fan_matches_a_general_root_finder() {
    let table = table::read("c6_network3.csv");
    for row in 0..table.len() {
        let f = |c: &str| table.f64(row, c);
        let density = |t: &str| density_kg_m3(101_325.0, f(t), 0.0);
        let (outside, attic, living) = (
            density("t_out_k"),
            density("t_attic_k"),
            density("t_living_k"),
        );
        let dynamic = 0.5 * outside * f("wind_m_s").powi(2);
        let stack = (outside - attic) * GRAVITY_M_S2 * f("height_m");
        let leak = Element::Crack {
            flow_at_1_pa_m3_s: f("leak_c"),
            exponent: f("leak_n"),
        };
        let paths = [
            path(None, Some(0), orifice(f("a_low_m2"), f("cd"))),
            path(None, Some(0), orifice(f("a_high_m2"), f("cd"))),
            path(None, Some(0), leak),
            path(
                Some(0),
                None,
                Element::Fixed {
                    flow_m3_s: f("fan_m3_s"),
                },
            ),
        ];
        let drive = |pressure_pa, density_from| Drive {
            pressure_pa,
            density_from,
            density_to: attic,
        };
        let drives = [
            drive(dynamic * f("cp_low"), outside),
            drive(dynamic * f("cp_high") - stack, outside),
            drive(f("p_living_pa"), living),
            Drive {
                pressure_pa: 0.0,
                density_from: attic,
                density_to: outside,
            },
        ];
        let (mut pressure, mut flows) = ([0.0], [0.0; 4]);
        solve(&paths, &drives, &mut pressure, &mut flows).unwrap();
        close(pressure[0], f("p_attic_pa"), &format!("row {row} pressure"));
        close(flows[0], f("m_low"), &format!("row {row} low"));
        close(flows[1], f("m_high"), &format!("row {row} high"));
        close(flows[2], f("m_ceiling"), &format!("row {row} ceiling"));
        close(-flows[3], f("m_fan"), &format!("row {row} fan"));
    }
}

#[test]
fn a_fan_behind_an_inlet_works_where_its_curve_meets_the_inlet() {
    let table = table::read("c6_fan_operating_point.csv");
    for row in 0..table.len() {
        let f = |c: &str| table.f64(row, c);
        let (p0, q0, speed) = (f("p0_pa"), f("qmax_m3_s"), f("speed_ratio"));
        let density = f("rho");
        let cd_area_m2 = f("cd") * f("inlet_nfa_m2");
        let fan = if table.text(row, "curve") == "quadratic" {
            Element::QuadraticFan {
                shut_off_per_density: p0 * speed * speed / density,
                curvature_per_density: p0 / (q0 * q0) / density,
                cd_area_m2,
                count: 1.0,
            }
        } else {
            Element::PolygonFan {
                points: vec![[0.0, p0 * speed * speed / density], [q0 * speed, 0.0]],
                cd_area_m2,
                count: 1.0,
            }
        };
        let (mass, _) = fan.mass_flow(0.0, density, density);
        close(mass / density, f("flow_m3_s"), &format!("row {row}"));
    }
}

/// Stack flow alone, worked by the orifice series formula: floor 92.9 m², vents of 1/300 and 1/150
/// split evenly high and low 1.5 m apart, Cd 0.6, attic warmer by 5, 10, 20 and 25 K. The textbook
/// form takes one density at the intake; the network takes each opening's own.
#[test]
fn published_stack_flow_rule_is_met_within_five_percent() {
    for (ratio, rises) in [
        (
            300.0,
            [(5.0, 95.0), (10.0, 134.0), (20.0, 186.0), (25.0, 207.0)],
        ),
        (
            150.0,
            [(5.0, 191.0), (10.0, 268.0), (20.0, 373.0), (25.0, 414.0)],
        ),
    ] {
        for (rise_k, cfm) in rises {
            let outside = density_kg_m3(101_325.0, 303.15, 0.0);
            let inside = density_kg_m3(101_325.0, 303.15 + rise_k, 0.0);
            let area = 92.9 / ratio / 2.0;
            let paths = [
                path(None, Some(0), orifice(area, 0.6)),
                path(Some(0), None, orifice(area, 0.6)),
            ];
            let stack = (outside - inside) * GRAVITY_M_S2 * 1.5;
            let drives = [
                Drive {
                    pressure_pa: 0.0,
                    density_from: outside,
                    density_to: inside,
                },
                Drive {
                    pressure_pa: stack,
                    density_from: inside,
                    density_to: outside,
                },
            ];
            let (mut pressure, mut flows) = ([0.0], [0.0; 2]);
            solve(&paths, &drives, &mut pressure, &mut flows).unwrap();
            let got = flows[0] / outside / 0.000_471_947;
            assert!(
                (got / cfm - 1.0).abs() <= 0.05,
                "1:{ratio} {rise_k} K: {got} cfm, {cfm}"
            );
        }
    }
}

/// Wind alone, same attic at 1/300, pressure coefficients 0.5 and 0.2 apart; linear in the wind.
#[test]
fn published_wind_flow_rule_is_met_within_one_percent() {
    for (spread, winds) in [
        (0.5, [(1.0, 98.0), (2.0, 197.0), (4.0, 394.0)]),
        (0.2, [(1.0, 62.0), (2.0, 124.0), (4.0, 249.0)]),
    ] {
        for (wind_m_s, cfm) in winds {
            let density = 1.15;
            let area = 92.9 / 300.0 / 2.0;
            let paths = [
                path(None, Some(0), orifice(area, 0.6)),
                path(Some(0), None, orifice(area, 0.6)),
            ];
            let dynamic = 0.5 * density * wind_m_s * wind_m_s;
            let drives = [
                Drive {
                    pressure_pa: dynamic * spread,
                    density_from: density,
                    density_to: density,
                },
                Drive {
                    pressure_pa: 0.0,
                    density_from: density,
                    density_to: density,
                },
            ];
            let (mut pressure, mut flows) = ([0.0], [0.0; 2]);
            solve(&paths, &drives, &mut pressure, &mut flows).unwrap();
            let got = flows[0] / density / 0.000_471_947;
            assert!(
                (got / cfm - 1.0).abs() <= 0.01,
                "{spread} {wind_m_s}: {got} cfm, {cfm}"
            );
        }
    }
}

/// Inlet rule of the ventilating trade, one square foot of net inlet for each 300 cfm: it implies
/// 3.7 Pa across the inlets at Cd 0.6 and 3.2 Pa at 0.65, density 1.15 kg/m³.
#[test]
fn published_inlet_rule_implies_its_pressure_within_one_percent() {
    for (cd, pascals) in [(0.6, 3.72), (0.65, 3.17)] {
        let density = 1.15;
        let flow_m3_s = 300.0 * 0.000_471_947;
        let paths = [
            path(None, Some(0), orifice(0.092_903, cd)),
            path(Some(0), None, Element::Fixed { flow_m3_s }),
        ];
        let drive = Drive {
            pressure_pa: 0.0,
            density_from: density,
            density_to: density,
        };
        let (mut pressure, mut flows) = ([0.0], [0.0; 2]);
        solve(&paths, &[drive; 2], &mut pressure, &mut flows).unwrap();
        assert!(
            (-pressure[0] / pascals - 1.0).abs() <= 0.01,
            "{cd}: {pressure:?}"
        );
    }
}
