//! The physics formulas against tables made with general-purpose libraries and closed forms.
//!
//! Each table names the libraries and versions it was made with in its first lines.

use nalgebra::DMatrix;
use rafterheat::physics::conduction::{Films, Layer, periodic_response};
use rafterheat::physics::lumping::lumps;
use rafterheat::physics::moist_air;
use rafterheat::physics::radiation::{STEFAN_BOLTZMANN_W_M2K4, emissive_power_w_m2, exchange};
use rafterheat::physics::view_factors::{Face, crossed_strings, exchange_area_m2, view_factors};

use crate::table::{self, Table};

const FACES: [&str; 5] = [
    "floor",
    "roof_left",
    "roof_right",
    "gable_front",
    "gable_back",
];

/// The faces of a gable prism, in the order of [`FACES`].
fn gable_prism(width: f64, length: f64, left_deg: f64, right_deg: f64) -> Vec<Face> {
    let (left, right) = (left_deg.to_radians().tan(), right_deg.to_radians().tan());
    let ridge = width * right / (left + right);
    let height = ridge * left;
    [
        vec![
            [0.0, 0.0, 0.0],
            [width, 0.0, 0.0],
            [width, length, 0.0],
            [0.0, length, 0.0],
        ],
        vec![
            [0.0, 0.0, 0.0],
            [0.0, length, 0.0],
            [ridge, length, height],
            [ridge, 0.0, height],
        ],
        vec![
            [width, 0.0, 0.0],
            [ridge, 0.0, height],
            [ridge, length, height],
            [width, length, 0.0],
        ],
        vec![[0.0, 0.0, 0.0], [ridge, 0.0, height], [width, 0.0, 0.0]],
        vec![
            [0.0, length, 0.0],
            [width, length, 0.0],
            [ridge, length, height],
        ],
    ]
    .map(|vertices| Face { vertices })
    .to_vec()
}

fn face_index(name: &str) -> usize {
    FACES.iter().position(|&face| face == name).unwrap()
}

/// Rows of a table that share a `case`, first row and the number of rows.
fn cases(table: &Table) -> Vec<std::ops::Range<usize>> {
    let mut found: Vec<std::ops::Range<usize>> = Vec::new();
    for row in 0..table.len() {
        match found.last_mut() {
            Some(last) if table.text(last.start, "case") == table.text(row, "case") => {
                last.end = row + 1;
            }
            _ => found.push(row..row + 1),
        }
    }
    found
}

#[test]
fn finite_prism_view_factors_match_graded_quadrature() {
    let table = table::read("c5_finite_prism.csv");
    let mut worst = 0.0_f64;
    for rows in cases(&table) {
        let first = rows.start;
        let faces = gable_prism(
            table.f64(first, "width_m"),
            table.f64(first, "length_m"),
            table.f64(first, "pitch_left_deg"),
            table.f64(first, "pitch_right_deg"),
        );
        let factors = view_factors(&faces).unwrap();
        assert_eq!(rows.len(), 20);
        for row in rows {
            let from = face_index(table.text(row, "from_face"));
            let to = face_index(table.text(row, "to_face"));
            let area = table.f64(row, "area_from");
            assert!((faces[from].area_m2() / area - 1.0).abs() < 1e-9);
            let error = (factors[(from, to)] - table.f64(row, "f")).abs();
            worst = worst.max(error);
            let allowed = table.f64(row, "f_err") + 1e-9;
            assert!(error <= allowed, "row {row}: {error:e} > {allowed:e}");
            let drift = (factors[(from, to)] - table.f64(row, "f_mc")).abs();
            let spread = table.f64(row, "f_mc_se");
            assert!(drift <= 5.0 * spread, "row {row}: {drift:e} by ray tracing");
        }
    }
    println!("finite prism, worst error {worst:e}");
}

#[test]
fn rectangle_view_factors_match_closed_forms() {
    let table = table::read("c5_rectangles.csv");
    let mut worst = 0.0_f64;
    for row in 0..table.len() {
        let [a, b, c] = ["a_m", "b_m", "c_m"].map(|column| table.f64(row, column));
        let (depth, other) = match table.text(row, "kind") {
            "parallel_aligned" => (b, vec![[0.0, 0.0, c], [a, 0.0, c], [a, b, c], [0.0, b, c]]),
            "perpendicular_common_edge" => {
                (c, vec![[0.0; 3], [a, 0.0, 0.0], [a, 0.0, b], [0.0, 0.0, b]])
            }
            kind => panic!("unknown kind {kind}"),
        };
        let first = Face {
            vertices: vec![[0.0; 3], [a, 0.0, 0.0], [a, depth, 0.0], [0.0, depth, 0.0]],
        };
        let area = exchange_area_m2(&first, &Face { vertices: other }).unwrap();
        let error = (area / (a * depth) - table.f64(row, "f12")).abs();
        worst = worst.max(error);
        assert!(error < 1e-9, "row {row}: {error:e}");
    }
    println!("rectangles, worst error {worst:e}");
}

#[test]
fn long_triangles_match_crossed_strings() {
    let table = table::read("c5_long_triangle.csv");
    for row in 0..table.len() {
        let width = table.f64(row, "width_m");
        let [left, right] = ["pitch_left_deg", "pitch_right_deg"]
            .map(|column| table.f64(row, column).to_radians().tan());
        let ridge = width * right / (left + right);
        let factors = crossed_strings(&[[0.0, 0.0], [width, 0.0], [ridge, ridge * left]]);
        for (from, to, column) in [
            (0, 2, "f_floor_left"),
            (0, 1, "f_floor_right"),
            (2, 0, "f_left_floor"),
            (2, 1, "f_left_right"),
            (1, 0, "f_right_floor"),
            (1, 2, "f_right_left"),
        ] {
            let error = (factors[(from, to)] - table.f64(row, column)).abs();
            assert!(error < 1e-9, "row {row} {column}: {error:e}");
        }
    }
}

#[test]
fn long_polygons_match_crossed_strings() {
    let table = table::read("c5_long_polygons.csv");
    for rows in cases(&table) {
        let section: Vec<[f64; 2]> = table
            .text(rows.start, "vertices")
            .split_whitespace()
            .map(|vertex| {
                let (x, z) = vertex.split_once(':').unwrap();
                [x.parse().unwrap(), z.parse().unwrap()]
            })
            .collect();
        let sides: &[&str] = if section.len() == 4 {
            &["floor", "right_slope", "collar_ceiling", "left_slope"]
        } else {
            &[
                "floor",
                "right_wall",
                "right_slope",
                "left_slope",
                "left_wall",
            ]
        };
        let index = |name: &str| sides.iter().position(|&side| side == name).unwrap();
        let factors = crossed_strings(&section);
        assert_eq!(rows.len(), section.len() * (section.len() - 1));
        for row in rows {
            let from = index(table.text(row, "from_side"));
            let to = index(table.text(row, "to_side"));
            let error = (factors[(from, to)] - table.f64(row, "f")).abs();
            assert!(error < 1e-9, "row {row}: {error:e}");
        }
    }
}

#[test]
fn a_very_long_prism_tends_to_the_crossed_strings_of_its_section() {
    let (width, pitch) = (8.0, 30.0_f64);
    let long = view_factors(&gable_prism(width, 2.0e5, pitch, pitch)).unwrap();
    let height = 0.5 * width * pitch.to_radians().tan();
    let section = crossed_strings(&[[0.0, 0.0], [width, 0.0], [0.5 * width, height]]);
    assert!((long[(0, 1)] - section[(0, 2)]).abs() < 1e-4);
    assert!((long[(1, 2)] - section[(2, 1)]).abs() < 1e-4);
}

/// Largest difference of radiosities and net fluxes from a table, as a fraction of the largest
/// flux that leaves or arrives.
fn radiosity_error(
    areas: &[f64],
    emittances: &[f64],
    temps_k: &[f64],
    factors: &DMatrix<f64>,
    radiosities: &[f64],
    net_fluxes: &[f64],
) -> f64 {
    let solved = exchange(areas, emittances, factors).unwrap();
    let count = areas.len();
    let emissions: Vec<f64> = temps_k.iter().map(|&t| emissive_power_w_m2(t)).collect();
    let mut worst = 0.0_f64;
    for i in 0..count {
        let radiosity: f64 = (0..count)
            .map(|j| solved.radiosity[(i, j)] * emissions[j])
            .sum();
        let net: f64 = (0..count)
            .map(|j| solved.conductance_area_m2[(i, j)] * (emissions[i] - emissions[j]))
            .sum::<f64>()
            / areas[i];
        worst = worst
            .max((radiosity - radiosities[i]).abs())
            .max((net - net_fluxes[i]).abs());
    }
    let largest = net_fluxes.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    // A room at one temperature has no flux: compare with what its surfaces emit.
    worst
        / if largest > 1e-9 {
            largest
        } else {
            STEFAN_BOLTZMANN_W_M2K4 * temps_k[0].powi(4)
        }
}

#[test]
fn radiosity_of_three_surfaces_matches_the_direct_solution() {
    let table = table::read("c5_radiosity3.csv");
    let mut worst = 0.0_f64;
    for row in 0..table.len() {
        let get = |prefix: &str| {
            ["floor", "right", "left"].map(|s| table.f64(row, &format!("{prefix}_{s}")))
        };
        let width = table.f64(row, "width_m");
        let [left, right] = ["pitch_left_deg", "pitch_right_deg"]
            .map(|column| table.f64(row, column).to_radians().tan());
        let ridge = width * right / (left + right);
        let factors = crossed_strings(&[[0.0, 0.0], [width, 0.0], [ridge, ridge * left]]);
        let temps = ["floor", "right", "left"].map(|s| table.f64(row, &format!("t_{s}_k")));
        let error = radiosity_error(
            &get("area"),
            &get("eps"),
            &temps,
            &factors,
            &get("j"),
            &get("q"),
        );
        worst = worst.max(error);
        assert!(error < 1e-6, "row {row}: {error:e}");
    }
    println!("radiosity of 3, worst error {worst:e} of the largest flux");
}

#[test]
fn radiosity_of_a_finite_attic_matches_the_direct_solution() {
    let table = table::read("c5_radiosity5.csv");
    let mut worst = 0.0_f64;
    for rows in cases(&table) {
        let first = rows.start;
        let pitch = table.f64(first, "pitch_deg");
        let faces = gable_prism(
            table.f64(first, "width_m"),
            table.f64(first, "length_m"),
            pitch,
            pitch,
        );
        let column =
            |name: &str| -> Vec<f64> { rows.clone().map(|row| table.f64(row, name)).collect() };
        let order: Vec<&str> = rows.clone().map(|row| table.text(row, "face")).collect();
        assert_eq!(order, FACES);
        let error = radiosity_error(
            &column("area"),
            &column("eps"),
            &column("t_k"),
            &view_factors(&faces).unwrap(),
            &column("j"),
            &column("q_leaving"),
        );
        worst = worst.max(error);
        assert!(error < 1e-6, "case {first}: {error:e}");
    }
    println!("radiosity of 5, worst error {worst:e} of the largest flux");
}

/// The layers of an assembly of the conduction table, and its films.
fn assembly(name: &str) -> (Vec<Layer>, Films) {
    let table = table::read("c4_assemblies.csv");
    let rows: Vec<usize> = (0..table.len())
        .filter(|&row| table.text(row, "assembly") == name)
        .collect();
    let layers = rows
        .iter()
        .map(|&row| {
            let resistance_m2k_w = table.f64(row, "resistance");
            if resistance_m2k_w.is_nan() {
                Layer::Solid {
                    thickness_m: table.f64(row, "thickness_m"),
                    conductivity_w_mk: table.f64(row, "conductivity"),
                    density_kg_m3: table.f64(row, "density"),
                    specific_heat_j_kgk: table.f64(row, "spec_heat"),
                    growth_per_k: 0.0,
                }
            } else {
                Layer::Resistance { resistance_m2k_w }
            }
        })
        .collect();
    let films = Films {
        side_1_m2k_w: table.f64(rows[0], "rsi_side1"),
        side_2_m2k_w: table.f64(rows[0], "rse_side2"),
    };
    (layers, films)
}

#[test]
fn periodic_response_matches_the_fifty_digit_transfer_matrices() {
    let table = table::read("c4_periodic_response.csv");
    let mut worst = 0.0_f64;
    for row in 0..table.len() {
        let (layers, films) = assembly(table.text(row, "assembly"));
        let period_s = 3600.0 * table.f64(row, "period_h");
        let got = periodic_response(&layers, films, period_s).unwrap();
        let through = got.periodic_transmittance();
        let [y11, y22] = got.admittances();
        let [kappa1, kappa2] = got.areal_capacities_j_m2k(period_s);
        let z = got.transfer;
        for (value, column) in [
            (got.transmittance_w_m2k, "u_steady"),
            (got.decrement_factor, "decrement_factor"),
            (got.time_lag_s / 3600.0, "time_lag_h"),
            (through.norm(), "y12_abs"),
            (through.arg(), "y12_arg_rad"),
            (y11.norm(), "y11_abs"),
            (y11.arg(), "y11_arg_rad"),
            (y22.norm(), "y22_abs"),
            (y22.arg(), "y22_arg_rad"),
            (kappa1, "kappa1_j_m2k"),
            (kappa2, "kappa2_j_m2k"),
            (z[(0, 0)].re, "z11_re"),
            (z[(0, 0)].im, "z11_im"),
            (z[(0, 1)].re, "z12_re"),
            (z[(0, 1)].im, "z12_im"),
            (z[(1, 0)].re, "z21_re"),
            (z[(1, 0)].im, "z21_im"),
            (z[(1, 1)].re, "z22_re"),
            (z[(1, 1)].im, "z22_im"),
        ] {
            let expected = table.f64(row, column);
            let error = (value - expected).abs() / expected.abs().max(1e-3);
            worst = worst.max(error);
            assert!(error < 1e-8, "row {row} {column}: {value} for {expected}");
        }
    }
    println!("transfer matrices, worst relative error {worst:e}");
}

#[test]
fn lumped_chains_keep_decrement_and_lag_of_every_assembly() {
    let table = table::read("c4_periodic_response.csv");
    for row in 0..table.len() {
        let name = table.text(row, "assembly");
        let (layers, films) = assembly(name);
        let chain = lumps(&layers, films).unwrap();
        let period_h = table.f64(row, "period_h");
        let z12 = chain.transfer(films, 3600.0 * period_h)[(0, 1)];
        let decrement = 1.0 / (z12.norm() * table.f64(row, "u_steady"));
        let decrement_error = decrement / table.f64(row, "decrement_factor") - 1.0;
        let turns = ((-z12).arg() / std::f64::consts::TAU
            - table.f64(row, "time_lag_h") / period_h)
            .rem_euclid(1.0);
        let lag_error_min = 60.0 * period_h * (turns - turns.round());
        println!(
            "{name} {period_h:2} h: {} nodes, decrement {:+.2} %, lag {lag_error_min:+.2} min",
            chain.capacities_j_m2k.len(),
            100.0 * decrement_error
        );
        let (most, most_min) = if period_h > 12.5 {
            (0.02, 5.0)
        } else {
            (0.05, 10.0)
        };
        assert!(
            decrement_error.abs() <= most,
            "{name} {period_h} h: {decrement_error}"
        );
        assert!(
            lag_error_min.abs() <= most_min,
            "{name} {period_h} h: {lag_error_min} min"
        );
    }
}

/// psychrolib 2.5.0 columns of the table, which holds the ASHRAE 2017 formulas.
#[test]
fn moist_air_matches_the_psychrometric_library() {
    let table = table::read("c3_psychrometrics.csv");
    let mut worst = [0.0_f64; 2];
    let mut skipped = 0;
    for row in 0..table.len() {
        let get = |column: &str| table.f64(row, column);
        let temp_k = get("t_dry_c") + 273.15;
        let pressure = get("pressure_pa");
        let saturation = moist_air::saturation_pressure_pa(temp_k);
        let vapour = get("rel_hum") * saturation;
        let ratio = moist_air::humidity_ratio(vapour, pressure);
        for (value, column) in [
            (saturation, "sat_vap_pres_pa"),
            (vapour, "vap_pres_pa"),
            (ratio, "hum_ratio"),
            (moist_air::enthalpy_j_kg(temp_k, ratio), "enthalpy_j_per_kg"),
            (
                moist_air::specific_volume_m3_kg(temp_k, ratio, pressure),
                "volume_m3_per_kg",
            ),
            (
                moist_air::density_kg_m3(temp_k, ratio, pressure),
                "density_kg_per_m3",
            ),
            (
                moist_air::vapour_pressure_pa(ratio, pressure),
                "vap_pres_pa",
            ),
            (
                moist_air::relative_humidity(temp_k, ratio, pressure),
                "rel_hum",
            ),
        ] {
            let error = (value / get(column) - 1.0).abs();
            worst[0] = worst[0].max(error);
            assert!(error < 1e-6, "row {row} {column}: {value} is {error:e} off");
        }
        let dew = moist_air::dew_point_k(vapour) - 273.15 - get("t_dew_root_c");
        worst[1] = worst[1].max(dew.abs());
        assert!(dew.abs() < 1e-6, "row {row}: dew point {dew:e} K off");
        // Near 0 °C both an ice and a water bulb are roots; the table marks those rows.
        if table.text(row, "wet_bulb_two_valued") == "1" {
            skipped += 1;
            continue;
        }
        let wet = moist_air::wet_bulb_k(temp_k, ratio, pressure) - 273.15 - get("t_wet_root_c");
        worst[1] = worst[1].max(wet.abs());
        assert!(wet.abs() < 1e-6, "row {row}: wet bulb {wet:e} K off");
    }
    assert!(skipped < table.len() / 10, "{skipped} rows skipped");
    println!(
        "psychrometrics, worst {:e} relative, {:e} K; {skipped} of {} wet bulbs skipped",
        worst[0],
        worst[1],
        table.len()
    );
}
