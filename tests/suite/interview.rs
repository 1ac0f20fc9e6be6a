//! The interview: ten households as written scenarios, every kind of answer, and what comes of it.

use std::path::Path;

use rafterheat::assess::assess;
use rafterheat::house::{BarrierPlace, Channel, Floor, House, HouseFile, Place, RoofForm};
use rafterheat::report::{Interview, Reply};
use rafterheat::run::{RunOptions, simulate};
use rafterheat::weather::{MadeWeek, Weather};

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

/// A dark gable roof in US units, with fans and a logger.
const STREET: Household = &[
    ("do you call", "the house on the street"),
    ("Where is it?", "38.1, -121.6"),
    ("high and low", "104 F / 66 F"),
    ("around the house", "2"),
    ("Length and width", "50 ft x 27 ft"),
    ("How many storeys", "1 x 8 ft"),
    ("lowest floor", "slab"),
    ("Which form", "1"),
    ("ridge run", "e-w"),
    ("How steep", "4:12"),
    ("covered with", "1"),
    ("Which colour", "dark"),
    ("Which vents", "soffit, gable"),
    ("under the eaves", "10 of 16 in x 8 in"),
    ("in the end walls", "2 of 14 x 18 in"),
    ("covers those holes", "wood-louvre"),
    ("How much insulation", "R-19"),
    ("What is it?", "1"),
    ("Is there foil", "none"),
    ("How many fans", "8"),
    ("How much air", "75 cfm"),
    ("How much power", "5 W"),
    ("How wide", "6 in"),
    ("blow out?", "gable"),
    ("switch on", "105 F"),
    ("outer walls", "stucco"),
    ("How much window", "south 70 ft2, north 60 ft2"),
    ("Which kind", "double"),
    ("How heavy", "light"),
    ("summer nights", "yes"),
    ("air conditioning", "78 F"),
    ("How large is it", "3 tons"),
    ("burn gas", "no"),
    ("thermometer in the attic", "4 ft"),
    ("Is it bare", "bare"),
];

/// The same in metric units.
const STRASSE: Household = &[
    ("Where is it?", "38.1 N 121.6 W"),
    ("high and low", "40 C / 18.9 C"),
    ("Length and width", "15.24 m x 8.23 m"),
    ("How many storeys", "1 x 2.44 m"),
    ("lowest floor", "1"),
    ("Which form", "gable"),
    ("ridge run", "90 deg"),
    ("How steep", "18.4 deg"),
    ("covered with", "asphalt-shingle"),
    ("Which colour", "2"),
    ("Which vents", "1 3"),
    ("under the eaves", "10 of 406 mm x 203 mm"),
    ("in the end walls", "2 of 356 mm x 457 mm"),
    ("covers those holes", "4"),
    ("How much insulation", "150 mm"),
    ("How many fans", "8"),
    ("How much air", "127.4 m3/h"),
    ("How wide", "152 mm"),
    ("switch on", "40.6 C"),
    ("How much window", "s 6.5 m2, n 5.6 m2"),
    ("air conditioning", "25.6 C"),
    ("How large is it", "10.55 kW"),
    ("thermometer in the attic", "1.22 m"),
];

/// A hip roof of tile with foil whose channel has a way out.
const HIP: Household = &[
    ("Length and width", "18 m by 11 m"),
    ("Which form", "hip"),
    ("ridge run", "n-s"),
    ("covered with", "clay tile"),
    ("Which colour", "red"),
    ("Which vents", "soffit and roof"),
    ("under the eaves", "12 of 170 cm2"),
    ("on the slopes", "4 of 8 in round"),
    ("covers those holes", "insect-mesh"),
    ("Is there foil", "rafters"),
    ("channel behind", "outdoors"),
    ("How many fans", "none"),
];

/// One slope facing south-west, a sheet roof, no insulation, no vents.
const SHED: Household = &[
    ("Length and width", "24 ft x 16 ft"),
    ("Which form", "one-slope"),
    ("slope face", "220 deg"),
    ("How steep", "2:12"),
    ("covered with", "steel-sheet"),
    ("Which colour", "white"),
    ("Which vents", "none"),
    ("How much insulation", "none"),
    ("How much window", "none"),
    ("air conditioning", "none"),
    ("thermometer in the attic", "none"),
];

/// Nobody knows anything.
const NOTHING: Household = &[];

/// Two storeys, brick, crawl space, a ridge slot, cellulose.
const BRICK: Household = &[
    ("around the house", "closed-in"),
    ("Length and width", "12 m x 9 m"),
    ("How many storeys", "2 x 2.6 m"),
    ("lowest floor", "crawl"),
    ("Which vents", "ridge, soffit"),
    ("slot along the ridge", "30 ft"),
    ("under the eaves", "2 of 30 ft x 2 in"),
    ("How much insulation", "10 in"),
    ("What is it?", "cellulose"),
    ("outer walls", "solid-brick"),
    ("How heavy", "heavy"),
    ("burn gas", "yes"),
];

/// Farther south than the equator.
const SOUTHERN: Household = &[
    ("Where is it?", "-33.9, 151.2"),
    ("high and low", "38 C / 21 C"),
    ("around the house", "open"),
    (
        "How much window",
        "north 8 m2; south 5 m2; east 2 m2; west 2 m2",
    ),
    ("summer nights", "no"),
];

/// Foil that somebody laid on the floor, and a roof fan that always runs.
const FLOOR_FOIL: Household = &[
    ("Which vents", "gable"),
    ("in the end walls", "1 of 12 in round"),
    ("Is there foil", "4"),
    ("How many fans", "1"),
    ("How much air", "1000 cfm"),
    ("How wide", "14 in"),
    ("blow out?", "slope"),
    ("switch on", "always"),
];

/// Foil whose channel nobody has looked into, and fans nobody can read.
const UNSEEN: Household = &[
    ("How steep", "9:12"),
    ("Is there foil", "2"),
    ("channel behind", "?"),
    ("How many fans", "2"),
    ("thermometer in the attic", "5' 6\""),
];

/// A city house with feet and inches.
const CITY: Household = &[
    ("around the house", "city"),
    ("Length and width", "40' x 25' 6\""),
    ("Which vents", "roof"),
    ("on the slopes", "3 of 50 in2"),
    ("Is there foil", "deck"),
];

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
    assert_eq!(us.name, "the house on the street");
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
    assert!(fields.contains(&"barrier.channel") && fields.contains(&"fans.attic.flow"));
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
    for household in [STREET, HIP, SHED, NOTHING, BRICK, FLOOR_FOIL] {
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
                .filter(|part| !part.contains(" of 12: ") && !part.is_empty())
                .collect();
            let sentence = first[0].split_inclusive(['?', '.']).next().unwrap();
            let sentence = sentence.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(remarks.contains(&sentence), "{sentence}\n{remarks}");
            talk.answer(known.map_or("", |(_, typed)| typed));
        }
    }
}

#[test]
fn answers_are_said_back_in_both_systems() {
    let mut talk = Interview::new();
    let mut said = String::new();
    for typed in ["", "", "97 F/64 F", "", "50 ft x 27 ft"] {
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
fn garbage_is_told_what_is_accepted_and_changes_nothing() {
    let mut talk = Interview::new();
    let garbage: &[(&str, &[&str])] = &[
        ("a house", &[]),
        ("38 N 121 W", &["here", "1 2 3", "91, 0", "N", "nan"]),
        (
            "97 F / 64 F",
            &["hot", "97", "64 F / 97 F", "97 F / 64 kg", "900 F / 64 F"],
        ),
        ("2", &["0", "9", "subburban", "-1"]),
        (
            "50 ft x 27 ft",
            &["50 ft", "50 x 27", "big", "1 ft x 2 ft", "x", "50 F x 27 F"],
        ),
        ("1 x 8 ft", &["0 x 8 ft", "1", "1 x 80 ft", "two of 8 ft"]),
        ("slab", &["3", "mud"]),
        ("hip", &["flat", "7"]),
        ("east-west", &["up", "east-up"]),
        ("4:12", &["steep", "40:12", "4"]),
        ("1", &["11", "straw"]),
        ("dark", &["purple", "0"]),
        // A hip roof has no end walls: what does not go with answers before is refused too.
        ("soffit", &["attic", "none, soffit", ","]),
        (
            "10 of 26 in2",
            &["0 of 26 in2", "ten", "10 of", "10 of 26", "10 of 99999 ft2"],
        ),
        ("R-19", &["thick", "R-500", "9 ft", "-2 in"]),
        ("", &["hay"]),
        ("none", &["some", "5"]),
        ("0", &["-1", "many", "1.5", "9999"]),
    ];
    for (right, wrong) in garbage {
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
    for typed in [
        "",
        "",
        "",
        "",
        "20 ft x 19 ft",
        "",
        "",
        "hip",
        "east-west",
        "4:12",
        "",
        "gable",
    ] {
        let reply = talk.answer(typed);
        let refused = typed == "gable";
        match reply {
            Reply::Again(words) if refused => {
                assert!(
                    words.contains("does not go with the answers before"),
                    "{words}"
                );
            }
            Reply::Taken(_) => {
                // The vents are only named here; their size decides.
                assert!(!refused || talk.ask().contains("end walls"));
            }
            other => panic!("{typed}: {other:?}"),
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
    for typed in ["", "", "", "", "", "", "", "one-slope"] {
        talk.answer(typed);
    }
    assert!(talk.ask().contains("slope face"));
    assert_eq!(talk.answer("b"), Reply::Back);
    talk.answer("gable");
    assert!(talk.ask().contains("ridge run"));
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
    loop {
        let question = talk.ask().replace('\n', " ");
        let known = household.iter().find(|(words, _)| question.contains(words));
        let done = question.contains("That is all");
        let line = known.map_or(if done { "yes" } else { "" }, |(_, typed)| typed);
        lines.push_str(line);
        lines.push('\n');
        if talk.answer(line) == Reply::Done {
            return lines;
        }
    }
}

fn program(folder: &Path) -> assert_cmd::Command {
    let mut command = assert_cmd::Command::new(assert_cmd::cargo::cargo_bin!("rafterheat"));
    command.current_dir(folder);
    command
}

#[test]
fn a_pipe_can_answer_and_what_comes_out_is_checked_clean() {
    let folder = tempfile::tempdir().unwrap();
    for (name, household) in [("street", STREET), ("nothing", NOTHING)] {
        let output = program(folder.path())
            .args(["new", name, "--ask"])
            .write_stdin(typed(household))
            .output()
            .unwrap();
        assert!(output.status.success(), "{output:?}");
        let house = format!("{name}/house.toml");
        for command in ["check", "simulate"] {
            let output = program(folder.path())
                .args([command, &house])
                .output()
                .unwrap();
            assert!(output.status.success(), "{output:?}");
        }
    }
    let text = std::fs::read(folder.path().join("street/weather.csv")).unwrap();
    let weather = Weather::parse(&text, Path::new("weather.csv"), None).unwrap();
    let high_k = weather.hottest_week().unwrap().highest_dry_bulb_k;
    near(high_k - 273.15, 40.0);
}

#[test]
fn nothing_is_written_unless_the_interview_ends() {
    let folder = tempfile::tempdir().unwrap();
    for (answers, code) in [("\n\nquit\n", 0), ("\n\n", 2), ("", 2)] {
        let output = program(folder.path())
            .args(["new", "house", "--ask"])
            .write_stdin(answers)
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(code), "{output:?}");
        assert!(!folder.path().join("house").exists());
    }
}

/// A terminal of which the test is the other end.
#[cfg(unix)]
#[test]
fn a_person_at_a_terminal_is_asked_and_answered() {
    use std::fs::{File, OpenOptions};
    use std::io::{Read, Write};
    use std::process::{Command, Stdio};
    use std::sync::mpsc::channel;
    use std::time::Duration;

    use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};

    let ours = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
    grantpt(&ours).unwrap();
    unlockpt(&ours).unwrap();
    let name = ptsname(&ours, Vec::new()).unwrap().into_string().unwrap();
    let theirs = || {
        Stdio::from(
            OpenOptions::new()
                .read(true)
                .write(true)
                .open(&name)
                .unwrap(),
        )
    };
    let folder = tempfile::tempdir().unwrap();
    let mut child = Command::new(assert_cmd::cargo::cargo_bin!("rafterheat"))
        .args(["new", "house", "--ask"])
        .current_dir(folder.path())
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
    let mut lines = vec!["no such house", "back", "another house", "nowhere", "back"];
    let typed = typed(STREET);
    lines.extend(typed.lines());
    let mut lines = lines.into_iter();
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
    for words in [
        "Written to house",
        "12 of 12: thermometers",
        "104.0 °F (40.0 °C)",
    ] {
        assert!(all.contains(words), "{words}\n{all}");
    }
    let text = std::fs::read_to_string(folder.path().join("house/house.toml")).unwrap();
    assert!(
        text.contains("name = \"the house on the street\""),
        "{text}"
    );
}
