//! Sun and sky against tables made with pvlib 0.16.1, named in the header of each.

use rafterheat::sun::{
    self, Horizontal, Plane, Sky, SkyModel, SunPosition, ashrae_incidence_modifier,
    physical_incidence_modifier,
};

use crate::table;

/// Largest of the values, each with its row, so that a failure names the row.
struct Worst(f64, usize);

impl Worst {
    fn new() -> Self {
        Self(0.0, 0)
    }

    fn add(&mut self, value: f64, row: usize) {
        assert!(!value.is_nan(), "row {row} is not a number");
        if value > self.0 {
            *self = Self(value, row);
        }
    }

    fn within(&self, what: &str, limit: f64) {
        assert!(
            self.0 <= limit,
            "{what}: {:e} in row {} is above {limit:e}",
            self.0,
            self.1
        );
    }
}

fn relative(value: f64, expected: f64) -> f64 {
    (value - expected).abs() / expected.abs().max(1.0)
}

/// Angle between two directions as seen on the azimuth circle, degrees.
fn around(a_deg: f64, b_deg: f64) -> f64 {
    let difference = (a_deg - b_deg).rem_euclid(360.0);
    difference.min(360.0 - difference)
}

fn check_positions(name: &str) {
    let table = table::read(name);
    let [
        mut zenith,
        mut azimuth,
        mut estimated_zenith,
        mut estimated_azimuth,
    ] = [const { Worst(0.0, 0) }; 4];
    for row in 0..table.len() {
        let [unix, lat, lon, alt, delta_t_s] =
            ["unix", "latitude", "longitude", "elevation_m", "delta_t_s"]
                .map(|c| table.f64(row, c));
        let off = |sun: &SunPosition| {
            let zenith = sun.zenith_rad.to_degrees() - table.f64(row, "true_zenith_deg");
            let azimuth = sun.azimuth_rad.to_degrees();
            (zenith.abs(), around(azimuth, table.f64(row, "azimuth_deg")))
        };
        let (dz, da) = off(&sun::position_with_delta_t(unix, delta_t_s, lat, lon, alt).unwrap());
        zenith.add(dz, row);
        azimuth.add(da, row);
        let (dz, da) = off(&sun::position(unix, lat, lon, alt).unwrap());
        estimated_zenith.add(dz, row);
        estimated_azimuth.add(da, row);
    }
    // The same algorithm with the same rotation of the earth agrees far closer than asked for.
    zenith.within(&format!("{name} zenith, degrees"), 1e-5);
    azimuth.within(&format!("{name} azimuth, degrees"), 1e-4);
    estimated_zenith.within(&format!("{name} zenith, own rotation, degrees"), 0.01);
    estimated_azimuth.within(&format!("{name} azimuth, own rotation, degrees"), 0.01);
}

#[test]
fn the_sun_stands_where_the_position_algorithm_says() {
    check_positions("c1_solar_position.csv");
}

#[test]
fn the_sun_stands_right_from_1950_to_2050() {
    check_positions("c1_years.csv");
}

#[test]
fn the_suns_distance_and_refraction_agree_with_the_algorithm() {
    let table = table::read("c1_solar_position.csv");
    let (mut distance, mut refracted) = (Worst::new(), Worst::new());
    for row in 0..table.len() {
        let [unix, lat, lon, alt] =
            ["unix", "latitude", "longitude", "elevation_m"].map(|c| table.f64(row, c));
        let sun = sun::position(unix, lat, lon, alt).unwrap();
        distance.add(
            (sun.distance_au - table.f64(row, "earth_sun_au")).abs(),
            row,
        );
        let zenith = table.f64(row, "true_zenith_deg").to_radians();
        let apparent = sun::apparent_zenith_rad(
            zenith,
            table.f64(row, "pressure_pa"),
            table.f64(row, "temperature_c"),
        );
        let expected = table.f64(row, "apparent_zenith_deg");
        refracted.add((apparent.to_degrees() - expected).abs(), row);
    }
    distance.within("distance, au", 1e-6);
    refracted.within("apparent zenith, degrees", 1e-6);
}

#[test]
fn the_extraterrestrial_irradiance_is_that_of_spencer() {
    let table = table::read("c1_solar_position.csv");
    let mut worst = Worst::new();
    for row in 0..table.len() {
        let date: jiff::civil::Date = table.text(row, "time_utc")[..10].parse().unwrap();
        let day = date.day_of_year();
        let value = sun::spencer_extraterrestrial_w_m2(u16::try_from(day).unwrap(), 1_367.0);
        worst.add(relative(value, table.f64(row, "dni_extra_spencer")), row);
    }
    worst.within("Spencer", 1e-9);
}

#[test]
fn the_sun_rises_and_sets_within_half_a_minute() {
    let table = table::read("c1_sunrise_sunset.csv");
    let (mut rise, mut set) = (Worst::new(), Worst::new());
    for row in 0..table.len() {
        let [lat, lon] = ["latitude", "longitude"].map(|c| table.f64(row, c));
        // The events are those of the UTC day given. Where one is stamped on the day before or
        // after, its clock time is still that of the day given: a day's motion of the sun (up to
        // two minutes) would be missing otherwise, as the sun's height at the stamp shows.
        let day: jiff::Timestamp = format!("{}T00:00:00Z", table.text(row, "date_utc"))
            .parse()
            .unwrap();
        let on_day = |column: &str| {
            let stamp: jiff::Timestamp = table.text(row, column).parse().unwrap();
            let seconds = stamp.as_second() - day.as_second();
            let clock = f64::from(i32::try_from(seconds.rem_euclid(86_400)).unwrap());
            day.as_second() as f64 + clock + f64::from(stamp.subsec_nanosecond()) * 1e-9
        };
        let (rises, sets) = (on_day("sunrise_utc"), on_day("sunset_utc"));
        let found = sun::rise_and_set(rises - 7_200.0, rises + 7_200.0, lat, lon).unwrap();
        assert_eq!(found.rises_utc_unix_s.len(), 1, "row {row}");
        rise.add((found.rises_utc_unix_s[0] - rises).abs(), row);
        let found = sun::rise_and_set(sets - 7_200.0, sets + 7_200.0, lat, lon).unwrap();
        assert_eq!(found.sets_utc_unix_s.len(), 1, "row {row}");
        set.add((found.sets_utc_unix_s[0] - sets).abs(), row);
    }
    rise.within("sunrise, s", 30.0);
    set.within("sunset, s", 30.0);
}

#[test]
fn tilted_planes_get_what_each_model_says() {
    let table = table::read("c2_transposition.csv");
    let models = [
        (SkyModel::Isotropic, "isotropic"),
        (SkyModel::HayDavies, "haydavies"),
        (SkyModel::Perez1990, "perez1990"),
    ];
    let mut twilight = 0;
    for (model, name) in models {
        let [mut beam, mut sky_part, mut ground, mut total, mut aoi] = [const { Worst(0.0, 0) }; 5];
        for row in 0..table.len() {
            let number = |column: &str| table.f64(row, column);
            let angle = |column: &str| number(column).to_radians();
            let sun = SunPosition {
                zenith_rad: angle("zenith_deg"),
                azimuth_rad: angle("sun_azimuth_deg"),
                distance_au: 1.0,
            };
            let horizontal = Horizontal {
                global_w_m2: number("ghi"),
                direct_normal_w_m2: number("dni"),
                diffuse_w_m2: number("dhi"),
            };
            let sky = Sky::new(model, &sun, horizontal, number("dni_extra"));
            let plane = Plane::new(angle("tilt_deg"), angle("surface_azimuth_deg"));
            let got = sky.on_plane(&plane, number("albedo"));
            beam.add(relative(got.beam_w_m2, number("poa_beam")), row);
            ground.add(relative(got.ground_w_m2, number("poa_ground")), row);
            // The table has no number where beam and diffuse are both nothing.
            let expected = number(&format!("sky_{name}"));
            if expected.is_nan() {
                assert!(number("dhi") == 0.0 && number("dni") == 0.0 && got.sky_w_m2 == 0.0);
            } else {
                sky_part.add(relative(got.sky_w_m2, expected), row);
                total.add(
                    relative(got.total_w_m2(), number(&format!("poa_{name}"))),
                    row,
                );
            }
            let cos = plane.cos_incidence(&sun);
            aoi.add((cos - angle("aoi_deg").cos()).abs(), row);
            twilight += usize::from(!sun.is_up());
        }
        beam.within(&format!("{name} beam"), 1e-6);
        sky_part.within(&format!("{name} sky"), 1e-6);
        ground.within(&format!("{name} ground"), 1e-6);
        total.within(&format!("{name} total"), 1e-6);
        aoi.within(&format!("{name} cosine of incidence"), 1e-6);
    }
    assert!(
        twilight > 0,
        "no row with the sun below the horizon was tried"
    );
}

#[test]
fn global_irradiance_is_split_as_erbs_says() {
    let table = table::read("c2_erbs.csv");
    let [mut direct, mut diffuse, mut clearness, mut outside] = [const { Worst(0.0, 0) }; 4];
    for row in 0..table.len() {
        let number = |column: &str| table.f64(row, column);
        let split = sun::erbs(
            number("ghi"),
            number("zenith_deg").to_radians(),
            number("dni_extra"),
        );
        direct.add(relative(split.direct_normal_w_m2, number("dni")), row);
        diffuse.add(relative(split.diffuse_w_m2, number("dhi")), row);
        clearness.add((split.clearness - number("kt")).abs(), row);
        let day = table.text(row, "day_of_year").parse().unwrap();
        let spencer = sun::spencer_extraterrestrial_w_m2(day, 1_366.1);
        outside.add(relative(spencer, number("dni_extra")), row);
    }
    direct.within("Erbs direct", 1e-6);
    diffuse.within("Erbs diffuse", 1e-6);
    clearness.within("clearness index", 1e-6);
    outside.within("extraterrestrial", 1e-6);
}

#[test]
fn a_clear_sky_gives_what_each_model_says() {
    let table = table::read("c2_clearsky.csv");
    let [mut haurwitz, mut global, mut direct, mut diffuse, mut mass] =
        [const { Worst(0.0, 0) }; 5];
    for row in 0..table.len() {
        let number = |column: &str| table.f64(row, column);
        let zenith = number("apparent_zenith_deg").to_radians();
        haurwitz.add(
            relative(sun::haurwitz_global_w_m2(zenith), number("haurwitz_ghi")),
            row,
        );
        let relative_mass = sun::relative_air_mass(zenith);
        let air_mass = relative_mass.map_or(f64::NAN, |m| {
            sun::absolute_air_mass(m, number("pressure_pa"))
        });
        if number("airmass_abs").is_nan() {
            assert!(air_mass.is_nan(), "row {row}");
        } else {
            mass.add(relative(air_mass, number("airmass_abs")), row);
        }
        let sky = sun::ineichen(
            zenith,
            air_mass,
            number("linke_turbidity"),
            number("altitude_m"),
            number("dni_extra"),
        );
        global.add(relative(sky.global_w_m2, number("ineichen_ghi")), row);
        direct.add(
            relative(sky.direct_normal_w_m2, number("ineichen_dni")),
            row,
        );
        diffuse.add(relative(sky.diffuse_w_m2, number("ineichen_dhi")), row);
    }
    haurwitz.within("Haurwitz", 1e-6);
    global.within("Ineichen global", 1e-6);
    direct.within("Ineichen direct", 1e-6);
    diffuse.within("Ineichen diffuse", 1e-6);
    mass.within("absolute air mass", 1e-6);
}

#[test]
fn glass_passes_what_each_model_says() {
    let table = table::read("c7_iam.csv");
    let (mut ashrae, mut physical) = (Worst::new(), Worst::new());
    for row in 0..table.len() {
        let cos = table.f64(row, "aoi_deg").to_radians().cos();
        let value = ashrae_incidence_modifier(cos, 0.05);
        ashrae.add((value - table.f64(row, "iam_ashrae_b005")).abs(), row);
        let value = physical_incidence_modifier(cos);
        physical.add((value - table.f64(row, "iam_physical")).abs(), row);
    }
    ashrae.within("incidence modifier, b0", 1e-8);
    physical.within("incidence modifier, physical", 1e-8);
}
