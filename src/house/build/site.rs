//! Place and plan.

use crate::house::form::Form;
use crate::house::parts::{Plan, Site, Soil, Terrain};

pub(super) fn site(form: &mut Form<'_>) -> Option<Site> {
    let terrain = match form.word("site.terrain")? {
        "open" => Terrain::Open,
        "city" => Terrain::City,
        _ => Terrain::Suburban,
    };
    let soil = match form.word("site.soil")? {
        "sand" => Soil::Sand,
        "rock" => Soil::Rock,
        _ => Soil::Clay,
    };
    Some(Site {
        latitude_deg: form.given("site.latitude"),
        longitude_deg: form.given("site.longitude"),
        terrain,
        shelter: form.number("site.shelter")?,
        north_wind: form.number("site.north_wind")?,
        east_wind: form.number("site.east_wind")?,
        natural_film: form.number("site.natural_film")?,
        wind_film: form.number("site.wind_film")?,
        skyline_rad: form.number("site.skyline")?,
        ground_albedo: form.number("site.ground_reflectance")?,
        soil,
        wind_height_m: form.given("site.wind_height"),
        annual_mean_c: form.given("site.annual_mean"),
        climate_zone: match form.given("site.climate_zone") {
            Some(_) => form.count("site.climate_zone"),
            None => None,
        },
    })
}

pub(super) fn plan(form: &mut Form<'_>) -> Option<Plan> {
    Some(Plan {
        length_m: form.number("house.length")?,
        width_m: form.number("house.width")?,
        storeys: form.count("house.storeys")?,
        storey_height_m: form.number("house.ceiling_height")?,
        floor_height_m: form.number("house.floor_height")?,
    })
}
