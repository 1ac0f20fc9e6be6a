//! The interview: households as written scenarios, every kind of answer, and what comes of it.

use std::path::Path;

use rafterheat::assess::assess;
use rafterheat::house::{
    BarrierPlace, Channel, Direction, Floor, House, HouseFile, Place, RoofForm,
};
use rafterheat::report::{Interview, Reply};
use rafterheat::run::{RunOptions, simulate};
use rafterheat::study::calibrate::priors;
use rafterheat::weather::{MadeWeek, Weather};

use crate::twins::nothing_logged;

/// Answers by a few words of the question; what is not among them is not known.
type Household = &'static [(&'static str, &'static str)];

/// Interviews a household to the end.
fn interviewed(household: Household) -> Interview {
    let mut talk = Interview::new();
    let mut used = vec![false; household.len()];
    for _ in 0..60 {
        let question = talk.ask();
        let plain = question.replace('\n', " ");
        assert!(
            question.lines().all(|line| line.chars().count() <= 80),
            "{question}"
        );
        let known = household
            .iter()
            .position(|(words, _)| plain.contains(words));
        let typed = match known {
            Some(at) => {
                used[at] = true;
                household[at].1
            }
            None if plain.contains("That is all") => "yes",
            None => "don't know",
        };
        match talk.answer(typed) {
            Reply::Taken(words) => {
                assert!(
                    words.lines().all(|line| line.chars().count() <= 80),
                    "{words}"
                );
            }
            Reply::Done => {
                let idle: Vec<_> = household.iter().zip(&used).filter(|(_, u)| !**u).collect();
                assert!(idle.is_empty(), "never asked: {idle:?}");
                return talk;
            }
            other => panic!("{question}\n{typed}: {other:?}"),
        }
    }
    panic!("the interview does not end");
}

/// The house of a household; its file reads clean, and it runs.
fn house(household: Household) -> House {
    let talk = interviewed(household);
    let text = talk.house_file();
    let file =
        HouseFile::from_text(&text, "house.toml").unwrap_or_else(|error| panic!("{error}\n{text}"));
    let week = talk.week().unwrap_or_default();
    let weather = MadeWeek { days: 2, ..week }.weather().unwrap();
    for design in file.all() {
        let outcome = simulate(design, &weather, 24..48, &RunOptions::default())
            .unwrap_or_else(|error| panic!("{}: {error}\n{text}", design.design));
        let high_c = assess(design, &weather, &outcome)
            .readings
            .attic_air
            .peak
            .temp_c;
        assert!((15.0..90.0).contains(&high_c), "{high_c}\n{text}");
    }
    file.base
}

fn near(found: f64, wanted: f64) {
    assert!(
        (found / wanted - 1.0).abs() < 2e-3,
        "{found} is not {wanted}"
    );
}

/// A dark gable roof in US units, with fans and loggers.
const STREET: Household = &[
    ("Where is the house", "38.1, -121.6, some trees"),
    ("open to the wind", "open west, trees close on the north"),
    ("count fists", "half a fist"),
    ("hot day of your", "104 F / 66 F"),
    ("how wide across", "50 x 27 ft, 1 storey, 8 ft rooms, slab"),
    ("Which form", "gable, 4:12, e-w"),
    ("covered with", "dark shingles"),
    ("Which vents", "10 soffit 16x8 in, 2 gable 14 x 18 in"),
    ("covers those holes", "wood-louvre"),
    ("insulation lies", "R-19 batts"),
    ("Is there foil", "none"),
    (
        "fans at the attic",
        "8 fans in the end walls, 75 cfm, 5 W, 6 in hole, on at 105 F",
    ),
    (
        "outer walls",
        "stucco, double windows south 70 ft2, north 60 ft2, light",
    ),
    ("rooms cool", "windows at night, AC 78 F, 3 tons, no ducts"),
    ("burn gas", "no"),
    ("thermometers", "4 ft, bare, 1 ft shielded, rooms 5 ft"),
];

/// The same in metric units, in other words, with one thing after the other.
const STRASSE: Household = &[
    ("Where is the house", "38.1 N 121.6 W"),
    ("open to the wind", "W open; N hill"),
    ("count fists", "5 deg"),
    ("hot day of your", "40 C / 18.9 C"),
    (
        "how wide across",
        "15.24 m x 8.23 m; 1 storey 2.44 m high; concrete slab",
    ),
    ("Which form", "Gabled roof, 18.4 deg, ridge 90 deg"),
    ("covered with", "asphalt-shingle, dark"),
    (
        "Which vents",
        "ten soffit vents of 406 mm by 203 mm and two gable vents 356 mm × 457 mm",
    ),
    ("covers those holes", "4"),
    ("insulation lies", "150 mm"),
    ("fans at the attic", "8"),
    ("label of one fan", "127.4 m3/h, 12.5 V 0.4 A, 152 mm"),
    ("When do they run", "40.6 C"),
    ("outer walls", "s 6.5 m2, n 5.6 m2"),
    ("rooms cool", "25.6 C, 10.55 kW"),
    ("thermometers", "1.22 m"),
];

/// A hip roof of tile with foil whose channel has a way out.
const HIP: Household = &[
    ("how wide across", "18 m by 11 m"),
    ("Which form", "hip, ridge n-s"),
    ("covered with", "red clay tile"),
    ("Which vents", "12 soffit 170 cm2; 4 roof vents 8 in round"),
    ("covers those holes", "insect-mesh"),
    ("Is there foil", "rafters"),
    ("channel behind", "outdoors"),
    ("fans at the attic", "none"),
];

/// One slope facing south-west, a sheet roof, no insulation, no vents.
const SHED: Household = &[
    ("how wide across", "24 ft x 16 ft"),
    ("Which form", "one-slope, 2:12, faces 220 deg"),
    ("covered with", "white steel sheet"),
    ("Which vents", "none"),
    ("insulation lies", "none"),
    ("outer walls", "no windows"),
    ("rooms cool", "none"),
    ("thermometers", "none"),
];

/// Nobody knows anything.
const NOTHING: Household = &[];

/// Two storeys, brick, crawl space, a ridge slot, cellulose.
const BRICK: Household = &[
    ("Where is the house", "trees close by"),
    (
        "how wide across",
        "12 m x 9 m, 2 storeys, 2.6 m, crawl space",
    ),
    (
        "Which vents",
        "30 ft ridge, 2 soffit strips 30 ft x 2 in insect mesh",
    ),
    ("insulation lies", "10 in of cellulose"),
    ("outer walls", "solid brick, heavy inside"),
    ("burn gas", "yes"),
];

/// Farther south than the equator.
const SOUTHERN: Household = &[
    ("Where is the house", "-33.9, 151.2, open fields"),
    ("hot day of your", "38 C / 21 C"),
    (
        "outer walls",
        "north 8 m2; south 5 m2; 2 m2 east; west 2 m2",
    ),
    ("rooms cool", "none"),
];

/// Foil that somebody laid on the floor, and a roof fan that always runs.
const FLOOR_FOIL: Household = &[
    ("Which vents", "1 gable 12 in round"),
    ("Is there foil", "4"),
    (
        "fans at the attic",
        "1 roof fan, 1000 cfm, 14 in, day and night",
    ),
];

/// Foil whose channel nobody has looked into, and fans nobody can read.
const UNSEEN: Household = &[
    ("Which form", "9:12"),
    ("Is there foil", "2"),
    ("channel behind", "?"),
    ("fans at the attic", "2 fans"),
    ("thermometers", "5' 6\""),
];

/// A city house with feet and inches, over a basement.
const CITY: Household = &[
    ("Where is the house", "city"),
    ("how wide across", "40' x 25' 6\", basement"),
    ("Which vents", "3 roof 50 in2, half blocked"),
    ("Is there foil", "paint"),
];

/// Wind turbines, one with its sheet, and a part of the plan without attic.
const TURBINES: Household = &[
    ("how wide across", "48 x 30 ft"),
    ("Which form", "gable, 5 in 12, slopes face north"),
    (
        "Which vents",
        "2 turbines 12 in 180 cfm at 7 mph, 12 soffit 4 x 16 in fine mesh",
    ),
    (
        "insulation lies",
        "R-30 loose fiberglass, 200 ft2 cathedral",
    ),
];

/// A whole-house fan, and windows opened for it.
const WHOLE_HOUSE: Household = &[
    ("how wide across", "44 x 28 ft"),
    (
        "Which vents",
        "2 gable 24 x 30 in metal louvre, 40 ft ridge",
    ),
    (
        "fans at the attic",
        "whole-house fan 3200 cfm, 400 W, 24x24 in, 8 pm to 8 am",
    ),
    ("rooms cool", "open windows at night"),
];

/// Several groups of fans: in the vent that is there, blowing in, on the roof; ducts in the attic.
const GROUPS: Household = &[
    ("how wide across", "50 x 30 ft"),
    (
        "Which vents",
        "2 gable 20 x 24 in insect mesh, 14 soffit 40 in2",
    ),
    (
        "fans at the attic",
        "4 fans in the gable vents 75 cfm 5 W 6 in on at 100 F; 2 supply fans in the soffit, \
         110 cfm, 8 in, always; 1 roof fan 900 cfm 0.3 in w.g. 14 in, 108 F",
    ),
    (
        "rooms cool",
        "AC 76 F, 42000 Btu/h, ducts in the attic R-6 250 ft2",
    ),
];

/// A garage whose roof is seen from below.
const GARAGE: Household = &[
    ("how wide across", "24 x 22 ft, slab"),
    ("Which vents", "2 gable 12 x 12 in wood louvre"),
    ("insulation lies", "no ceiling, garage"),
];

/// A porch: nothing but outdoors below, so that rooms are not asked about.
const PORCH: Household = &[
    ("how wide across", "20 x 10 ft"),
    ("Which form", "one-slope, 3:12, faces south"),
    ("covered with", "bare weathered metal"),
    ("insulation lies", "porch"),
];

/// Foam under the roof.
const FOAM: Household = &[
    ("how wide across", "45 x 30 ft"),
    ("Which vents", "none"),
    ("insulation lies", "R-20 spray foam under the roof"),
];

/// All, by name, with the number of questions each is asked.
const ALL: &[(&str, Household, usize)] = &[
    ("street", STREET, 16),
    ("strasse", STRASSE, 18),
    ("hip", HIP, 16),
    ("shed", SHED, 14),
    ("nothing", NOTHING, 14),
    ("brick", BRICK, 15),
    ("southern", SOUTHERN, 14),
    ("floor foil", FLOOR_FOIL, 15),
    ("unseen", UNSEEN, 17),
    ("city", CITY, 15),
    ("turbines", TURBINES, 14),
    ("whole house", WHOLE_HOUSE, 14),
    ("groups", GROUPS, 14),
    ("garage", GARAGE, 14),
    ("porch", PORCH, 12),
    ("foam", FOAM, 14),
];

#[test]
fn about_a_dozen_questions_are_asked() {
    for (name, household, count) in ALL {
        assert_eq!(interviewed(household).answered(), *count, "{name}");
    }
}

#[test]
fn the_same_house_in_either_units_is_the_same() {
    let (us, si) = (house(STREET), house(STRASSE));
    near(us.plan.length_m, 15.24);
    near(us.roof.pitch_rad, (4.0_f64 / 12.0).atan());
    near(us.roof.solar_absorptance, 0.88);
    for house in [&us, &si] {
        near(house.plan.length_m, 15.24);
        near(house.plan.width_m, 8.23);
        near(
            house
                .fans
                .iter()
                .map(|f| f.fan.curve.free_air_m3_s())
                .sum::<f64>(),
            2.0 * 0.0354,
        );
        assert_eq!(house.fans.iter().map(|f| f.count).sum::<u32>(), 8);
        near(house.living.windows.iter().map(|w| w.area_m2).sum(), 12.08);
        near(house.living.cooling.as_ref().unwrap().capacity_w, 10_550.0);
        near(house.sensors[0].height_m, 1.22);
        near(house.fans[0].fan.power_w, 5.0);
        near(house.site.latitude_deg.unwrap(), 38.1);
    }
    let vents = |house: &House| {
        house
            .openings
            .iter()
            .map(|o| o.net_free_area_m2)
            .sum::<f64>()
    };
    assert!((vents(&us) / vents(&si) - 1.0).abs() < 0.01);
    assert_eq!(us.sensors.len(), 3);
    assert!(us.living.airing.is_some() && si.living.airing.is_none());
}

#[test]
fn other_roofs_and_foils_come_out_as_told() {
    let hip = house(HIP);
    assert_eq!(hip.roof.form, RoofForm::Hip);
    let barrier = hip.barrier.unwrap().place;
    let is_out = matches!(
        barrier,
        BarrierPlace::Rafters {
            channel: Channel::Outdoors,
            ..
        }
    );
    assert!(is_out, "{barrier:?}");
    let shed = house(SHED);
    assert_eq!(shed.roof.form, RoofForm::OneSlope);
    assert!(shed.openings.is_empty() && shed.ceiling.insulation.is_empty());
    assert!(shed.living.windows.is_empty() && shed.sensors.is_empty());
    assert_eq!(
        house(FLOOR_FOIL).barrier.unwrap().place,
        BarrierPlace::Floor
    );
    assert_eq!(house(CITY).barrier.unwrap().place, BarrierPlace::Deck);
    let unseen = house(UNSEEN);
    let fields: Vec<&str> = unseen
        .assumed
        .iter()
        .map(|one| one.field.as_str())
        .collect();
    assert!(fields.contains(&"barrier.channel") && fields.contains(&"fans.gable.flow"));
}

#[test]
fn houses_that_are_not_textbook_come_through_the_same_questions() {
    let turbines = house(TURBINES);
    let turbine = turbines.openings.iter().find(|o| o.turbine.is_some());
    assert_eq!(turbine.unwrap().place, Place::Slope);
    near(turbines.attic.excluded.as_ref().unwrap().area_m2, 18.58);
    let whole = house(WHOLE_HOUSE);
    assert_eq!(whole.fans[0].place, Place::Ceiling);
    assert!(whole.living.airing.is_some());
    let groups = house(GROUPS);
    let supply: u32 = groups
        .fans
        .iter()
        .filter(|fans| fans.direction == Direction::Supply)
        .map(|fans| fans.count)
        .sum();
    assert_eq!(
        (
            groups.fans.iter().map(|fans| fans.count).sum::<u32>(),
            supply
        ),
        (7, 2)
    );
    let ducts = groups.living.ducts.unwrap();
    near(ducts.area_m2, 23.226);
    let garage = house(GARAGE);
    assert!(garage.ceiling.open && garage.living.given.is_none());
    assert!(house(PORCH).living.given.is_some());
    assert!(house(FOAM).attic.sealed);
    let Floor::Crawl { .. } = house(CITY).living.floor else {
        panic!("a basement is reckoned as a tall crawl space");
    };
}

#[test]
fn rooms_and_climates_come_out_as_told() {
    let brick = house(BRICK);
    assert_eq!(brick.plan.storeys, 2);
    assert!(matches!(brick.living.floor, Floor::Crawl { .. }));
    near(brick.site.shelter, 0.4);
    let ridge = brick
        .openings
        .iter()
        .find(|o| o.place == Place::Ridge)
        .unwrap();
    near(ridge.net_free_area_m2, 540.0 * 0.0254 * 0.0254);
    let talk = interviewed(SOUTHERN);
    let week = talk.week().unwrap();
    near(-week.place.latitude_deg, 33.9);
    assert_eq!(
        (week.first_day.month(), week.place.utc_offset_h as i32),
        (1, 10)
    );
    assert_eq!(house(SOUTHERN).living.windows.len(), 4);
}

/// Length and width as people say them, whichever comes first.
#[test]
fn sides_are_told_apart_by_words_or_by_their_order() {
    const SAID: [Household; 4] = [
        &[(
            "How long is the house",
            "46 ft long, 28 ft wide, 8 ft rooms",
        )],
        &[("How long is the house", "28 ft wide and 46 ft long")],
        &[(
            "How long is the house",
            "46 ft along the street, 28 ft along the side, one storey on a slab",
        )],
        &[("How long is the house", "46 x 28 ft")],
    ];
    for said in SAID {
        let told = house(said);
        near(told.plan.length_m, 46.0 * 0.3048);
        near(told.plan.width_m, 28.0 * 0.3048);
    }
}

#[test]
fn a_house_of_which_nothing_is_known_runs_and_assumes_it_all() {
    let nothing = house(NOTHING);
    for field in [
        "house.length",
        "roof.form",
        "roof.covering",
        "barrier.place",
        "openings.somewhere.net_area",
    ] {
        assert!(
            nothing.assumed.iter().any(|one| one.field == field),
            "{field}"
        );
    }
    assert!(interviewed(NOTHING).week().is_none());
}

#[test]
fn every_question_that_was_asked_is_a_remark_in_the_file() {
    for (_, household, _) in ALL {
        let remarks: String = interviewed(household)
            .house_file()
            .lines()
            .filter_map(|line| line.strip_prefix('#'))
            .collect();
        let mut talk = Interview::new();
        loop {
            let question = talk.ask();
            if question.contains("That is all") {
                break;
            }
            let plain = question.replace('\n', " ");
            let known = household.iter().find(|(words, _)| plain.contains(words));
            // The question's first paragraph, after the stop's heading.
            let first: Vec<&str> = question
                .split("\n\n")
                .map(|part| part.trim_start_matches('\n'))
                .filter(|part| !part.contains(" of 13: ") && !part.is_empty())
                .collect();
            let sentence = first[0].split_inclusive(['?', '.']).next().unwrap();
            let sentence = sentence.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(remarks.contains(&sentence), "{sentence}\n{remarks}");
            let reply = talk.answer(known.map_or("", |(_, typed)| typed));
            assert!(matches!(reply, Reply::Taken(_)), "{question}{reply:?}");
        }
    }
}

#[test]
fn answers_are_said_back_in_both_systems() {
    let mut talk = Interview::new();
    let mut said = String::new();
    for typed in ["", "", "97 F/64 F", "50 ft x 27 ft"] {
        match talk.answer(typed) {
            Reply::Taken(words) => said.push_str(&words),
            other => panic!("{other:?}"),
        }
    }
    for words in [
        "97.0 °F (36.1 °C)",
        "64.0 °F (17.8 °C)",
        "50.0 ft (15.2 m)",
        "27.0 ft (8.23 m)",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
}

#[test]
fn what_an_owner_sees_around_is_taken_by_a_fit_as_told_and_never_as_exact() {
    let file = HouseFile::from_text(&interviewed(STREET).house_file(), "house.toml").unwrap();
    let weather = MadeWeek::default().weather().unwrap();
    let all = priors(&file, &weather, &nothing_logged(&weather));
    // Shares let through: north 0.4, west 0.85, others 0.6; their mean is 0.6125.
    for (key, told) in [
        ("site.north_wind", -0.1 / 0.6125),
        ("site.east_wind", -0.125 / 0.6125),
        ("site.skyline", 5.0_f64.to_radians()),
    ] {
        let prior = all.iter().find(|prior| prior.name() == key).unwrap();
        assert!((prior.value - told).abs() < 0.006, "{key} {}", prior.value);
        assert!(prior.low < told && told < prior.high, "{key}");
    }
}

/// Right answers in their order, each after wrong ones.
const GARBAGE: &[(&str, &[&str])] = &[
    (
        "38 N 121 W, suburban",
        &[
            "here",
            "1 2 3",
            "91, 0",
            "N",
            "nan",
            "subburban",
            "city, open",
        ],
    ),
    (
        "open west, hill north",
        &[
            "open",
            "west",
            "open west, hill west",
            "none, hill north",
            "3 west",
            "open moor",
        ],
    ),
    ("1 fist", &["high", "2", "9 fists", "5 ft", "1 fist, 8 deg"]),
    (
        "97 F / 64 F",
        &["hot", "97", "64 F / 97 F", "97 F / 64 kg", "900 F / 64 F"],
    ),
    (
        "50 ft x 27 ft",
        &[
            "big",
            "50 x 27",
            "1 ft x 2 ft",
            "x",
            "50 F x 27 F",
            "50 ft x 27 ft, 0 storeys",
            "50 ft x 27 ft, 80 ft rooms",
            "50 ft x 27 ft, not slab",
            "50 ft x 27 ft, 40 ft x 20 ft",
        ],
    ),
    (
        "hip, 4:12, east-west",
        &[
            "flat",
            "up",
            "steep",
            "40:12",
            "4",
            "gable, hip",
            "one-slope, east-west",
        ],
    ),
    (
        "dark shingles",
        &["1", "straw", "dark", "purple shingles", "dark slate"],
    ),
    (
        // A hip roof has no end walls: what does not go with answers before is refused too.
        "10 soffit 26 in2",
        &[
            "attic",
            "none, 2 soffit",
            ",,",
            "0 soffit 26 in2",
            "ten",
            "10 soffit 26",
            "10 soffit 99999 ft2",
            "2 gable 12 x 12 in",
            "10 sofit 26 in2",
            "soffit 30 ft",
            "2 soffit ridge",
        ],
    ),
    (
        "R-19",
        &["thick", "R-500", "9 ft", "-2 in", "none, R-19", "foam"],
    ),
    ("rafters", &["some", "9"]),
    ("3", &["up", "0", "5"]),
    (
        "0",
        &[
            "-1 fans",
            "many",
            "1.5 fans",
            "9999 fans",
            "2 fans 6 gallons",
            "2 fans 75 cfm 80 cfm",
            "1 fan 8 pm",
            "2 fans in the gable",
        ],
    ),
    (
        "stucco, south 70 ft2",
        &[
            "hay",
            "70 ft2",
            "south",
            "south 70",
            "south 70 ft2, south 3 ft2",
            "stucco, brick",
        ],
    ),
    ("none", &["fridge", "78", "500 F", "none, AC", "ducts"]),
    ("no", &["perhaps", "3"]),
    ("none", &["high", "4", "40 ft", "none, 4 ft"]),
];

#[test]
fn garbage_is_told_what_is_accepted_and_changes_nothing() {
    let mut talk = Interview::new();
    for (right, wrong) in GARBAGE {
        let question = talk.ask();
        let file = talk.house_file();
        for typed in *wrong {
            match talk.answer(typed) {
                Reply::Again(words) => {
                    assert!(
                        words.contains("takes") && words.contains("Enter"),
                        "{words}"
                    );
                    assert!(
                        words.lines().all(|line| line.chars().count() <= 80),
                        "{words}"
                    );
                }
                other => panic!("{question}{typed:?}: {other:?}"),
            }
            assert_eq!(
                (talk.ask(), talk.house_file()),
                (question.clone(), file.clone())
            );
        }
        let reply = talk.answer(right);
        assert!(
            matches!(reply, Reply::Taken(_)),
            "{question}{right}: {reply:?}"
        );
    }
}

#[test]
fn what_does_not_go_with_the_answers_before_is_refused() {
    let mut talk = Interview::new();
    for typed in ["", "", "", "20 ft x 19 ft", "hip, 4:12, east-west", ""] {
        assert!(matches!(talk.answer(typed), Reply::Taken(_)), "{typed}");
    }
    for typed in ["2 gable 12 x 12 in", "2 gable"] {
        match talk.answer(typed) {
            Reply::Again(words) => assert!(words.contains("does not go with"), "{words}"),
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn an_answer_may_be_said_in_many_ways() {
    let same: &[(usize, &[&str])] = &[
        (
            3,
            &[
                "50 x 27 ft, 1 storey, 8 ft rooms, slab",
                "50 ft long by 27 ft wide; one story; rooms 8 ft high; on a concrete slab",
                "slab, 50' x 27', 8 ft ceilings, 1 level",
            ],
        ),
        (
            4,
            &[
                "gable, 4:12, east-west",
                "E-W ridge, gabled, 4 in 12",
                "gable 4/12 slopes face south",
            ],
        ),
        (
            5,
            &[
                "dark grey asphalt shingles",
                "dark shingles",
                "asphalt-shingle, dark",
            ],
        ),
        (
            6,
            &[
                "2 gable 12x18 in wood louvre, 10 soffit 64 in2",
                "two end wall vents 12 x 18 in with wooden slats; ten eave vents of 64 in2",
                "2 gables (12 in × 18 in, wood louvres) and 10 soffits 64 in2 free",
            ],
        ),
        (
            7,
            &[
                "6 in cellulose",
                "cellulose, 6 in thick",
                "about 6\" of shredded paper",
            ],
        ),
        (
            9,
            &[
                "2 fans in the gable, 12 V 1.2 A, 80 cfm, 6 in hole, always",
                "two gable fans 80 cfm 14.4 W 6\" round running day and night",
            ],
        ),
    ];
    for (at, ways) in same {
        let mut files = ways.iter().map(|way| {
            let mut talk = Interview::new();
            for _ in 0..*at {
                talk.answer("");
            }
            let reply = talk.answer(way);
            assert!(matches!(reply, Reply::Taken(_)), "{way}: {reply:?}");
            let file = HouseFile::from_text(&talk.house_file(), "house.toml").unwrap();
            let weather = MadeWeek {
                days: 2,
                ..MadeWeek::default()
            }
            .weather()
            .unwrap();
            let outcome = simulate(&file.base, &weather, 24..48, &RunOptions::default()).unwrap();
            outcome.trace.attic_air_k
        });
        let first = files.next().unwrap();
        for (way, other) in ways.iter().skip(1).zip(files) {
            let apart = first.iter().zip(&other).map(|(a, b)| (a - b).abs());
            assert!(apart.fold(0.0, f64::max) < 1e-6, "{way}");
        }
    }
}

#[test]
fn back_goes_to_the_question_before_and_quit_ends_at_any_time() {
    let mut talk = Interview::new();
    let first = talk.ask();
    assert_eq!(talk.answer("back"), Reply::Back);
    assert_eq!(talk.ask(), first);
    let mut asked = vec![first];
    for _ in 0..12 {
        assert!(matches!(talk.answer(""), Reply::Taken(_)));
        asked.push(talk.ask());
    }
    for question in asked.iter().rev().skip(1) {
        assert_eq!(talk.answer(" BACK "), Reply::Back);
        assert_eq!(talk.ask(), *question);
    }
    // A branch that an answer opened is closed again.
    for typed in ["", "", "", "", "", "", "", "", "rafters"] {
        talk.answer(typed);
    }
    assert!(talk.ask().contains("channel behind"));
    assert_eq!(talk.answer("b"), Reply::Back);
    talk.answer("deck");
    assert!(talk.ask().contains("fans at the attic"));
    for _ in 0..40 {
        assert_eq!(talk.clone().answer("quit"), Reply::Quit);
        if !matches!(talk.answer(""), Reply::Taken(_)) {
            break;
        }
    }
    assert!(talk.ask().contains("That is all"));
    assert!(matches!(talk.answer("perhaps"), Reply::Again(_)));
    assert_eq!(talk.answer("yes"), Reply::Done);
}

/// What a pipe would type for a household.
fn typed(household: Household) -> String {
    let mut talk = Interview::new();
    let mut lines = String::new();
    for _ in 0..60 {
        let question = talk.ask().replace('\n', " ");
        let known = household.iter().find(|(words, _)| question.contains(words));
        let done = question.contains("That is all");
        let line = known.map_or(if done { "yes" } else { "" }, |(_, typed)| typed);
        lines.push_str(line);
        lines.push('\n');
        match talk.answer(line) {
            Reply::Done => return lines,
            Reply::Taken(_) => {}
            other => panic!("{question}{line}: {other:?}"),
        }
    }
    panic!("the interview does not end");
}

fn program(folder: &Path) -> assert_cmd::Command {
    let mut command = assert_cmd::Command::new(assert_cmd::cargo::cargo_bin!("rafterheat"));
    command.current_dir(folder);
    command
}

#[test]
fn a_pipe_can_answer() {
    let folder = tempfile::tempdir().unwrap();
    let output = program(folder.path())
        .args(["new", "street", "--ask"])
        .write_stdin(typed(STREET))
        .output()
        .unwrap();
    assert!(output.status.success(), "{output:?}");
    let text = std::fs::read(folder.path().join("street/weather.csv")).unwrap();
    let weather = Weather::parse(&text, Path::new("weather.csv"), None).unwrap();
    let high_k = weather.hottest_week().unwrap().highest_dry_bulb_k;
    near(high_k - 273.15, 40.0);
    let text = std::fs::read_to_string(folder.path().join("street/house.toml")).unwrap();
    assert!(text.contains("name = \"street\""), "{text}");
}

#[test]
fn nothing_is_written_unless_the_interview_ends() {
    let folder = tempfile::tempdir().unwrap();
    let refused = "\n\n46 ft by what\nhip\n";
    for (answers, code) in [("\n\nquit\n", 0), ("\n\n", 2), ("", 2), (refused, 2)] {
        let output = program(folder.path())
            .args(["new", "house", "--ask"])
            .write_stdin(answers)
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(code), "{output:?}");
        // A pipe cannot say it otherwise, and its next line answers another question.
        let told = String::from_utf8_lossy(&output.stderr).contains("line 3 of the answers");
        assert_eq!(told, answers == refused, "{output:?}");
        assert!(!folder.path().join("house").exists());
    }
}

/// What stands on the screen of a terminal at which somebody types these lines, the test being at
/// its other end.
#[cfg(unix)]
fn at_a_terminal(folder: &Path, name: &str, lines: &[&str]) -> String {
    use std::fs::{File, OpenOptions};
    use std::io::{Read, Write};
    use std::process::{Command, Stdio};
    use std::sync::mpsc::channel;
    use std::time::Duration;

    use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};

    let ours = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
    grantpt(&ours).unwrap();
    unlockpt(&ours).unwrap();
    let terminal = ptsname(&ours, Vec::new()).unwrap().into_string().unwrap();
    let theirs = || {
        Stdio::from(
            OpenOptions::new()
                .read(true)
                .write(true)
                .open(&terminal)
                .unwrap(),
        )
    };
    let mut child = Command::new(assert_cmd::cargo::cargo_bin!("rafterheat"))
        .args(["new", name, "--ask"])
        .current_dir(folder)
        .stdin(theirs())
        .stdout(theirs())
        .stderr(theirs())
        .spawn()
        .unwrap();
    let mut keyboard = File::from(ours);
    let mut screen = keyboard.try_clone().unwrap();
    let (send, seen) = channel();
    std::thread::spawn(move || {
        let mut bytes = [0; 4096];
        // The terminal ends with an error when nobody is at its other end any more.
        while let Ok(count) = screen.read(&mut bytes) {
            if count == 0 || send.send(bytes[..count].to_vec()).is_err() {
                break;
            }
        }
    });
    let mut lines = lines.iter();
    let mut all = String::new();
    let mut fresh = String::new();
    while let Ok(bytes) = seen.recv_timeout(Duration::from_secs(20)) {
        let text = String::from_utf8_lossy(&bytes).into_owned();
        all.push_str(&text);
        fresh.push_str(&text);
        if fresh.ends_with("   ? ")
            && let Some(line) = lines.next()
        {
            fresh.clear();
            writeln!(keyboard, "{line}").unwrap();
        }
    }
    let status = child.wait().unwrap();
    assert!(status.success(), "{all}");
    assert!(lines.next().is_none(), "{all}");
    all
}

#[cfg(unix)]
#[test]
fn people_at_a_terminal_are_asked_and_what_comes_out_is_checked_clean() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let run = |(name, household): (&str, Household)| {
        let mut lines = vec!["no such house", "open", "back", "nowhere", "back"];
        let typed = typed(household);
        lines.extend(typed.lines());
        let screen = at_a_terminal(folder, name, &lines);
        for words in ["Written to", "13 of 13: thermometers", "Sorry, "] {
            assert!(screen.contains(words), "{words}\n{screen}");
        }
        let text = std::fs::read_to_string(folder.join(name).join("house.toml")).unwrap();
        assert!(text.contains(&format!("name = \"{name}\"")), "{text}");
        let output = program(folder)
            .args(["check", &format!("{name}/house.toml")])
            .output()
            .unwrap();
        assert!(output.status.success(), "{text}\n{output:?}");
    };
    std::thread::scope(|scope| {
        for start in 0..2 {
            scope.spawn(move || {
                for (name, household, _) in ALL.iter().skip(start).step_by(2) {
                    run((name, household));
                }
            });
        }
    });
}
