//! What each unknown of a fit is, in plain words.

use crate::house::explained;

/// Unknowns by table and key. Tables with names of the owner's own, such as `fans.gable`, go by
/// their first word.
const MEANINGS: &[(&str, &str)] = &[
    (
        "attic.air_error",
        "what the fitted house still gets wrong of the attic's air",
    ),
    (
        "attic.film",
        "how readily attic surfaces give heat to still air; 1 is as published",
    ),
    (
        "attic.framing_area",
        "surface of rafters, struts and ties in the attic air",
    ),
    (
        "attic.framing_mass",
        "timber in the attic air: more of it delays and dampens",
    ),
    (
        "attic.gable_absorptance",
        "share of sunlight that the end walls take up",
    ),
    (
        "attic.gable_emittance",
        "how well the inner side of the end walls sends out infrared",
    ),
    (
        "attic.leakage",
        "leaks of roof and end walls beside the vents, as an area",
    ),
    (
        "barrier.coverage",
        "share of its surface that the foil covers",
    ),
    (
        "barrier.emittance",
        "how well the foil sends out infrared towards the attic; bright is low",
    ),
    ("barrier.gap", "depth of the air space behind the foil"),
    (
        "barrier.open_share",
        "share of the air space behind the foil that is open at its ends",
    ),
    (
        "barrier.other_face",
        "how well the foil's other face sends out infrared",
    ),
    (
        "ceiling.air_sealing",
        "share of the ceiling's leaks that was closed",
    ),
    (
        "ceiling.floor_emittance",
        "how well the top of the insulation sends out infrared",
    ),
    (
        "ceiling.insulation",
        "insulation on the attic floor as it works at 75 °F (24 °C)",
    ),
    (
        "ceiling.insulation_thickness",
        "depth of the insulation on the attic floor",
    ),
    (
        "ceiling.leakage",
        "leaks from the rooms: hatch, lights, pipes, as an area",
    ),
    (
        "controls.height",
        "height of the switch's sensor above the floor",
    ),
    (
        "fans.discharge",
        "how freely air passes the fans' hole; 0.6 is a plain hole",
    ),
    ("fans.flow", "flow of one fan in free air"),
    ("fans.open_share", "share of the fans' hole that is open"),
    (
        "fans.shut_off",
        "pressure at which a fan moves nothing any more",
    ),
    (
        "fans.vent_distance",
        "from the fans to the nearest vent that they may draw on",
    ),
    (
        "house.fast_mass",
        "what furniture and partitions store of heat within hours",
    ),
    (
        "house.internal_gain",
        "mean heat from people, lamps and appliances",
    ),
    (
        "house.leakage",
        "how leaky the rooms are, as a blower door tells it",
    ),
    (
        "house.leakage_exponent",
        "how the rooms' leaks grow with pressure; 0.5 to 1",
    ),
    (
        "house.slow_mass",
        "what heavy walls and floors in the rooms store of heat",
    ),
    (
        "house.wall_absorptance",
        "share of sunlight that the outer walls take up",
    ),
    (
        "house.ducts.area",
        "outer surface of the ducts in the attic",
    ),
    (
        "house.ducts.idle_leak",
        "way for air that the ducts' leaks leave while nothing runs",
    ),
    (
        "house.ducts.insulation",
        "insulation around the ducts in the attic",
    ),
    (
        "house.ducts.leakage",
        "share of the cooled air that the ducts lose in the attic",
    ),
    (
        "house.floor.insulation",
        "insulation under the lowest floor",
    ),
    (
        "house.floor.vent_area",
        "free area of the crawl space's vents",
    ),
    (
        "house.floor.wall_u",
        "how much heat the crawl space's walls let through",
    ),
    ("openings.blocked", "share of the vents that is blocked"),
    (
        "openings.discharge",
        "how freely air passes the vents; 0.6 is a plain hole",
    ),
    (
        "openings.flow_coefficient",
        "how much of the wind a turbine turns into flow",
    ),
    ("openings.net_area", "free area of one vent as built"),
    (
        "roof.absorptance",
        "share of sunlight that the roof takes up",
    ),
    ("roof.battens.gap", "air space under a covering on battens"),
    (
        "roof.battens.open",
        "share of the space between battens that is open at eave and ridge",
    ),
    (
        "roof.deck_emittance",
        "how well the underside of the roof boards sends out infrared",
    ),
    (
        "roof.deck_thickness",
        "roof boards, by what they and the rafters store of heat",
    ),
    (
        "roof.emittance",
        "how well the roof sends out infrared to the sky",
    ),
    ("roof.pitch", "how steep the roof is"),
    ("sensors.diameter", "thickness of the thermometer"),
    (
        "sensors.height",
        "height of the thermometer above its floor",
    ),
    (
        "sensors.shielding",
        "share of radiation that is kept off the thermometer; bare is 0",
    ),
    (
        "sensors.time_constant",
        "how long the thermometer takes to follow the air",
    ),
    (
        "site.east_wind",
        "how much more wind comes through from the east than from all round",
    ),
    (
        "site.ground_reflectance",
        "share of sunlight that the ground reflects",
    ),
    (
        "site.natural_film",
        "how readily outer surfaces give heat to air in a calm; 1 is as published",
    ),
    (
        "site.north_wind",
        "how much more wind comes through from the north than from all round",
    ),
    (
        "site.shelter",
        "share of the wind that trees and houses close by let through",
    ),
    (
        "site.skyline",
        "how high trees, hills or houses stand before a low sun",
    ),
    (
        "site.wind_film",
        "how readily wind cools outer surfaces; 1 is as published",
    ),
    (
        "weather.air_offset",
        "how much warmer the air at the house is than the weather file's",
    ),
    (
        "weather.calm_wind",
        "wind at the house when the weather file has none",
    ),
    (
        "weather.infrared",
        "warmth from the sky beyond what was worked out",
    ),
    (
        "weather.snow",
        "snow on the roof in frost, as a multiple of what is usual",
    ),
    ("weather.sun", "sun, as a multiple of what was worked out"),
    (
        "weather.sun_contrast",
        "how plainly clouds show in damp and cool hours; 1 is usual",
    ),
    (
        "weather.sun_spread",
        "how far passing clouds are other here than at the station; 0 is alike",
    ),
];

/// What an unknown is, by its name: a line in plain words. Of a key that is hardly ever fitted, what the
/// house file's own list of keys says; none where there is no such key.
pub fn meaning(name: &str) -> Option<&'static str> {
    let known = |name: &str| {
        let found = MEANINGS.iter().find(|(known, _)| *known == name);
        found.map(|(_, words)| *words)
    };
    let table = name.split_once('.').map(|(table, _)| table);
    let key = name.rsplit_once('.').map(|(_, key)| key);
    known(name)
        .or_else(|| known(&format!("{}.{}", table?, key?)))
        .or_else(|| explained(name))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::{Assumption, DEMO, HouseFile, STARTER, Spread};

    fn is_number(one: &Assumption) -> bool {
        matches!(one.spread, Spread::Number { .. })
    }

    #[test]
    fn every_meaning_is_a_short_line() {
        for (at, (name, words)) in MEANINGS.iter().enumerate() {
            assert!(
                words.chars().count() <= 76 && !words.ends_with('.'),
                "{name}"
            );
            assert!(MEANINGS[..at].iter().all(|(other, _)| other != name));
        }
    }

    #[test]
    fn what_is_assumed_of_a_house_has_a_meaning() {
        for text in [DEMO, STARTER] {
            let file = HouseFile::from_text(text, "house.toml").unwrap();
            for house in file.all() {
                for assumed in house.assumed.iter().filter(|one| is_number(one)) {
                    assert!(meaning(&assumed.field).is_some(), "{}", assumed.field);
                }
            }
        }
        assert!(meaning("openings.gable.discharge").is_some());
        assert_eq!(
            meaning("house.floor.slab_thickness"),
            Some("thickness of the slab")
        );
        assert_eq!(meaning("house.no_such_key"), None);
    }
}
