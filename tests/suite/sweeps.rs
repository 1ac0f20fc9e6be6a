//! Sweeps: which rows there are, in what order, and that their bytes do not depend on how they were
//! worked out.

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::sync::OnceLock;

use rafterheat::house::{HouseFile, STARTER};
use serde_json::Value;

use crate::cli::{Ran, new_starter, run, run_with};
use crate::golden;

/// A day of a starter folder: short runs are enough here.
const DAY: [&str; 2] = ["--period", "2017-06-18"];
/// Two fields.
const VARY: [&str; 4] = [
    "--vary",
    "fans.gable.count=0..4:2",
    "--vary",
    "barrier.place=none,rafters",
];

fn starter() -> &'static Path {
    static STARTER: OnceLock<PathBuf> = OnceLock::new();
    STARTER.get_or_init(new_starter)
}

/// A sweep of the starter house.
fn sweep(more: &[&str]) -> Ran {
    let mut args = vec!["sweep", "house.toml"];
    args.extend(DAY);
    args.extend(more);
    run(starter(), &args)
}

fn sweep_into(out: &Path, more: &[&str]) -> Ran {
    let mut args = VARY.to_vec();
    args.extend(["--out", out.to_str().unwrap()]);
    args.extend(more);
    sweep(&args)
}

fn bytes(folder: &Path) -> String {
    std::fs::read_to_string(folder.join("sweep.csv")).unwrap()
}

/// The whole sweep, run once on one thread.
fn whole() -> &'static (PathBuf, String) {
    static WHOLE: OnceLock<(PathBuf, String)> = OnceLock::new();
    WHOLE.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap().keep();
        let ran = sweep_into(&folder, &["--threads", "1"]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        let text = bytes(&folder);
        (folder, text)
    })
}

fn rows(text: &str) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let rows = reader.records().map(|row| row.unwrap());
    rows.map(|row| row.iter().map(str::to_owned).collect())
        .collect()
}

#[test]
fn a_grid_has_every_value_with_every_other_the_last_field_turning_fastest() {
    let (folder, text) = whole();
    let rows = rows(text);
    let begin: Vec<String> = rows.iter().map(|row| row[..3].join(" ")).collect();
    assert_eq!(
        begin,
        [
            "1 0 none",
            "2 0 rafters",
            "3 2 none",
            "4 2 rafters",
            "5 4 none",
            "6 4 rafters"
        ]
    );
    assert!(rows.iter().all(|row| row.last().unwrap() == "ok"));
    let header = text.lines().find(|line| !line.starts_with('#')).unwrap();
    assert!(header.starts_with("row,fans.gable.count,barrier.place,attic_ridge_high_c,"));
    assert!(text.lines().filter(|line| line.starts_with('#')).count() > 5);
    for name in [
        "heat-map-attic.svg",
        "lines-ceiling-phone.svg",
        "report.html",
    ] {
        assert!(folder.join(name).is_file(), "{name}");
    }
    assert!(!folder.join("sweep.csv.part").exists());
}

/// A row is the run that `simulate` makes of the same house.
#[test]
fn a_row_is_the_run_of_that_house() {
    let (_, text) = whole();
    let rows = rows(text);
    let mut house = STARTER.replace("place = \"none\" ", "place = \"rafters\" ");
    assert_ne!(house, STARTER);
    let fans = house.replacen("count = 0\n", "count = 4\n", 1);
    assert_ne!(house, fans);
    house = fans;
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("house.toml"), house).unwrap();
    std::fs::copy(
        starter().join("weather.csv"),
        folder.path().join("weather.csv"),
    )
    .unwrap();
    let mut args = vec!["simulate", "house.toml", "--json"];
    args.extend(DAY);
    let ran = run(folder.path(), &args);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let document: Value = serde_json::from_str(&ran.out).unwrap();
    let attic = document["peaks"]["attic_air"]["c"].as_f64().unwrap();
    let ceiling = document["heat"]["ceiling_gain_kwh"].as_f64().unwrap();
    let row = &rows[5];
    let of = |at: usize| row[at].parse::<f64>().unwrap();
    assert!((of(4) - attic).abs() < 0.01, "{} {attic}", of(4));
    assert!((of(8) - ceiling).abs() < 0.01, "{} {ceiling}", of(8));
}

#[test]
fn bytes_are_the_same_for_one_thread_and_two() {
    let (_, text) = whole();
    let folder = tempfile::tempdir().unwrap();
    let ran = sweep_into(folder.path(), &["--threads", "2"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(&bytes(folder.path()), text);
}

#[test]
fn shards_merge_to_the_bytes_of_one_piece_and_misfits_are_refused() {
    let (whole_folder, text) = whole();
    let place = tempfile::tempdir().unwrap();
    let part = |name: &str, shard: &str, more: &[&str]| {
        let out = place.path().join(name);
        let mut args = vec!["--shard", shard];
        args.extend(more);
        let ran = sweep_into(&out, &args);
        assert_eq!(ran.code, 0, "{}", ran.err);
    };
    for (name, shard) in [("1", "1/4"), ("2", "2/4"), ("3", "3/4"), ("4", "4/4")] {
        part(name, shard, &[]);
    }
    part("half", "2/2", &[]);
    part("other", "2/4", &["--design", "barrier"]);
    let merge = |out: &str, parts: &[&str]| {
        let mut args = vec!["merge", out];
        args.extend(parts);
        run(place.path(), &args)
    };
    // In any order.
    let ran = merge("all", &["3", "1", "4/sweep.csv", "2"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(&bytes(&place.path().join("all")), text);
    for name in ["summary.txt", "results.json", "heat-map-attic.svg"] {
        let of = |folder: &Path| std::fs::read_to_string(folder.join(name)).unwrap();
        assert_eq!(of(&place.path().join("all")), of(whole_folder), "{name}");
    }
    let cut = std::fs::read_to_string(place.path().join("2/sweep.csv")).unwrap();
    let cut: Vec<&str> = cut.lines().collect();
    std::fs::create_dir(place.path().join("cut")).unwrap();
    let begun = place.path().join("cut/sweep.csv");
    std::fs::write(&begun, cut[..cut.len() - 1].join("\n") + "\n").unwrap();
    for (parts, told) in [
        (&["1", "2", "4"][..], "rows 4 to 4 are in none of the parts"),
        (&["1", "2", "3"], "rows 5 to 6 are in none of the parts"),
        (&["1", "2", "3", "half"], "row 4 is in"),
        (&["1", "other", "3", "4"], "from another design"),
        (&["1", "cut", "3", "4"], "of its 2 rows"),
        (&["1", "nowhere"], "cannot read"),
    ] {
        let ran = merge("none", parts);
        assert_eq!(ran.code, 2, "{parts:?}: {}", ran.err);
        assert!(ran.err.contains(told), "{parts:?}: {}", ran.err);
        let left = place.path().join("none");
        let left = left.is_dir() && std::fs::read_dir(left).unwrap().count() > 0;
        assert!(!left, "{parts:?}");
    }
}

#[test]
fn a_sweep_goes_on_where_it_was_cut_and_only_there() {
    let (_, text) = whole();
    let place = tempfile::tempdir().unwrap();
    let first_row = text.find("\n1,").unwrap() + 1;
    let cuts = [
        0,
        40,
        first_row - 3,
        first_row,
        first_row + 20,
        text.len() - 5,
        text.len(),
    ];
    for (index, cut) in cuts.into_iter().enumerate() {
        for name in ["sweep.csv", "sweep.csv.part"] {
            let folder = place.path().join(format!("{index}{name}"));
            std::fs::create_dir(&folder).unwrap();
            std::fs::write(folder.join(name), &text[..cut]).unwrap();
            let ran = sweep_into(&folder, &[]);
            assert_eq!(ran.code, 0, "{cut}: {}", ran.err);
            assert_eq!(&bytes(&folder), text, "{cut} {name}");
            assert!(!folder.join("sweep.csv.part").exists());
        }
    }
    // What is there is not run again: a row that was changed stays, one that cannot be is told.
    let folder = place.path().join("changed");
    std::fs::create_dir(&folder).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    let row = lines
        .iter()
        .position(|line| line.starts_with("2,"))
        .unwrap();
    let fields: Vec<&str> = lines[row].split(',').collect();
    let changed = text.replace(fields[3], "99.1234");
    let end = changed.find("\n3,").unwrap();
    std::fs::write(folder.join("sweep.csv"), &changed[..end]).unwrap();
    // The last row there lacks its end and is run again.
    let ran = sweep_into(&folder, &[]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(&bytes(&folder), text);
    std::fs::write(folder.join("sweep.csv"), &changed[..=end]).unwrap();
    let ran = sweep_into(&folder, &[]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(bytes(&folder), changed);
    std::fs::write(
        folder.join("sweep.csv"),
        changed.replace("\n2,0,", "\n2,1,"),
    )
    .unwrap();
    let ran = sweep_into(&folder, &[]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains(&format!("line {}", row + 1)),
        "{}",
        ran.err
    );

    // Another sweep's file is left alone.
    std::fs::write(folder.join("sweep.csv"), text).unwrap();
    for (more, told) in [
        (&["--design", "fans"][..], "from another design"),
        (
            &["--vary", "roof.colour=dark,white"],
            "with other values varied",
        ),
        (&["--shard", "1/2"], "another part of the rows"),
    ] {
        let ran = sweep_into(&folder, more);
        assert_eq!(ran.code, 2);
        assert!(ran.err.contains(told), "{}", ran.err);
        assert_eq!(&bytes(&folder), text);
    }
}

#[test]
fn samples_are_the_same_every_time_and_fields_of_every_kind_vary() {
    let ran = |method: &str, seed: &str| {
        let folder = tempfile::tempdir().unwrap();
        let args = [
            "--sample",
            "6",
            "--method",
            method,
            "--seed",
            seed,
            "--vary",
            "fans.gable.count=0..8",
            "--vary",
            "roof.absorptance=0.5..0.9",
            "--vary",
            "ceiling.insulation=R-11..R-38",
            "--vary",
            "design=as it stands,barrier",
            "--out",
            folder.path().to_str().unwrap(),
        ];
        let ran = sweep(&args);
        assert_eq!(ran.code, 0, "{}", ran.err);
        for name in ["tornado-attic.svg", "tornado-ceiling-phone.svg"] {
            assert!(folder.path().join(name).is_file());
        }
        bytes(folder.path())
    };
    let one = ran("latin-hypercube", "1");
    assert_eq!(one, ran("latin-hypercube", "1"));
    assert_ne!(one, ran("latin-hypercube", "2"));
    assert_ne!(one, ran("sobol", "1"));
    for row in rows(&one) {
        assert!((0..=8).contains(&row[1].parse::<i32>().unwrap()));
        assert!((0.5..0.9).contains(&row[2].parse::<f64>().unwrap()));
        assert!(row[3].starts_with("R-") && row.last().unwrap() == "ok");
    }
    let designs = rows(&one);
    let barrier = designs.iter().filter(|row| row[4] == "barrier").count();
    assert_eq!(barrier, 3);
}

#[test]
fn weather_and_designs_are_fields_too() {
    let place = tempfile::tempdir().unwrap();
    let (one, two) = (place.path().join("one.csv"), place.path().join("two.csv"));
    std::fs::copy(starter().join("weather.csv"), &one).unwrap();
    std::fs::copy(starter().join("weather.csv"), &two).unwrap();
    let both = format!("{},{}", one.display(), two.display());
    let out = place.path().join("out");
    let ran = sweep(&[
        "--weather",
        &both,
        "--design",
        "fans,barrier",
        "--vary",
        "roof.pitch=4:12,6:12",
        "--out",
        out.to_str().unwrap(),
        "--json",
    ]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let rows = rows(&bytes(&out));
    assert_eq!(rows.len(), 8);
    assert_eq!(rows[1][1..4], ["one.csv", "fans", "6:12"]);
    assert_eq!(rows[6][1..4], ["two.csv", "barrier", "4:12"]);
    // The same weather twice gives the same results.
    assert_eq!(rows[0][4..], rows[4][4..]);
    assert_ne!(rows[0][4..], rows[2][4..]);
    let document: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(document["rows"]["ok"], 8);
    assert_eq!(document["axes"][0]["key"], "weather");
}

#[test]
fn each_line_of_the_input_is_answered_in_order() {
    let mut args = vec!["sweep", "house.toml", "--from-stdin"];
    args.extend(DAY);
    let input = "{\"id\": \"a\", \"fans.gable.count\": 4, \"barrier\": {\"place\": \"rafters\"}}\n\
                 \n{\"id\": 2, \"design\": \"barrier\"}\n\
                 {\"id\": 3, \"fans.gable.count\": 400}\n{\"roof.pitch\": \"5:12\"}\n";
    let ran = run_with(starter(), &args, input);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let lines: Vec<&str> = ran.out.lines().collect();
    assert_eq!(lines.len(), 4);
    let (_, text) = whole();
    let last = text.lines().last().unwrap();
    assert_eq!(
        lines[0].strip_prefix("a,"),
        last.strip_prefix("6,4,rafters,")
    );
    assert!(lines[1].starts_with("2,") && lines[1].ends_with(",ok"));
    assert!(lines[2].starts_with("3,,") && lines[2].ends_with(",refused"));
    assert!(lines[3].starts_with(','));
    args.push("--json");
    let ran = run_with(starter(), &args, input);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let documents: Vec<Value> = ran
        .out
        .lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    assert_eq!(documents[0]["id"], "a");
    assert_eq!(documents[0]["barrier"]["place"], "rafters");
    assert!(documents[0]["attic_air_high_c"].as_f64().unwrap() > 20.0);
    assert_eq!(documents[2]["outcome"], "refused");
    assert!(!documents[2]["reason"].as_str().unwrap().is_empty());
    for (line, told) in [
        ("{\"fans.gable.cuont\": 4}", "did you mean `count`?"),
        ("{\"design\": \"fan\"}", "no design \"fan\""),
        ("count=4", "line 2"),
    ] {
        let input = format!("{{}}\n{line}\n{{}}\n");
        let ran = run_with(starter(), &args, &input);
        assert_eq!(ran.code, 2, "{line}");
        assert!(ran.err.contains(told), "{line}: {}", ran.err);
        assert_eq!(ran.out.lines().count(), 1, "{line}");
    }
}

/// A program may write a line and wait for the answer before it writes the next.
#[test]
fn a_line_is_answered_before_the_next_comes() {
    use std::io::BufRead as _;
    let mut child = std::process::Command::new(assert_cmd::cargo::cargo_bin!("rafterheat"))
        .args(["sweep", "house.toml", "--from-stdin"])
        .args(DAY)
        .current_dir(starter())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut input = child.stdin.take().unwrap();
    let mut answers = std::io::BufReader::new(child.stdout.take().unwrap()).lines();
    for id in 0..3 {
        writeln!(input, "{{\"id\": {id}}}").unwrap();
        let answer = answers.next().unwrap().unwrap();
        assert!(answer.starts_with(&format!("{id},")), "{answer}");
    }
    drop(input);
    assert!(answers.next().is_none());
    assert!(child.wait().unwrap().success());
}

/// As an engine on many machines would: lumps of lines go to programs side by side, one of them is
/// killed with its lump half answered, and that lump is given to another.
#[test]
fn rows_of_several_programs_are_those_of_one_though_one_is_killed() {
    use std::io::{BufRead as _, Read as _};
    let lumps: Vec<String> = (0..4)
        .map(|lump| {
            let line = |at: usize| {
                let id = 4 * lump + at;
                let absorptance = 0.5 + 0.02 * id as f64;
                format!("{{\"id\": {id}, \"roof.absorptance\": {absorptance}}}\n")
            };
            (0..4).map(line).collect()
        })
        .collect();
    let program = |threads: &str| {
        let mut command = std::process::Command::new(assert_cmd::cargo::cargo_bin!("rafterheat"));
        command
            .args(["sweep", "house.toml", "--from-stdin", "--threads", threads])
            .args(DAY)
            .current_dir(starter())
            .stdin(Stdio::piped())
            .stdout(Stdio::piped());
        command.spawn().unwrap()
    };
    let feed = |program: &mut std::process::Child, lump: &str| {
        // Dropped at the end: that was all.
        let mut input = program.stdin.take().unwrap();
        input.write_all(lump.as_bytes()).unwrap();
    };
    let answers = |mut program: std::process::Child| {
        let mut rows = String::new();
        let mut out = program.stdout.take().unwrap();
        out.read_to_string(&mut rows).unwrap();
        assert!(program.wait().unwrap().success());
        rows
    };
    let mut programs: Vec<_> = lumps.iter().map(|_| program("1")).collect();
    // This one waits for more when it is killed.
    let mut lost = programs.remove(2);
    let mut input = lost.stdin.take().unwrap();
    let first = lumps[2].lines().next().unwrap();
    writeln!(input, "{first}").unwrap();
    let mut answered = String::new();
    let mut out = std::io::BufReader::new(lost.stdout.take().unwrap());
    out.read_line(&mut answered).unwrap();
    lost.kill().unwrap();
    assert!(!lost.wait().unwrap().success());
    assert!(answered.starts_with("8,"), "{answered}");
    programs.insert(2, program("2"));
    for (program, lump) in programs.iter_mut().zip(&lumps) {
        feed(program, lump);
    }
    let many: String = programs.into_iter().map(answers).collect();
    let mut one = program("2");
    feed(&mut one, &lumps.concat());
    assert_eq!(many, answers(one));
    assert_eq!(many.lines().filter(|row| row.ends_with(",ok")).count(), 16);
    // The answer that was lost is given again.
    assert!(many.contains(&answered));
}

#[test]
fn parts_that_do_not_go_together_are_rows_without_result() {
    let ran = sweep(&["--vary", "openings.gable.height=3 ft,30 ft", "--json"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let document: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(document["rows"]["refused"], 1);
    assert!(ran.err.contains("row 2"), "{}", ran.err);
    // Shingles' colours are not those of tiles: here the rest of the house is at fault.
    let ran = sweep(&[
        "--vary",
        "roof.covering=asphalt-shingle,clay-tile",
        "--json",
    ]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let document: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(document["rows"]["refused"], 1);
}

#[test]
fn what_cannot_be_varied_is_told_at_once() {
    use std::fmt::Write as _;
    let cases: [&[&str]; 16] = [
        &["--vary", "fans.gable.cuont=0..8"],
        &["--vary", "fans.gabel.count=0..8"],
        &["--vary", "barrier.place=none,rafter"],
        &["--vary", "fans.gable.count"],
        &["--vary", "fans.gable.count=8..0"],
        &["--vary", "barrier.coverage=0.5..0.9"],
        &["--vary", "barrier.coverage=0.5..1.5:0.5"],
        &["--vary", "roof.pitch=10 deg..20 ft:5"],
        &["--vary", "roof.pitch=10..20:5"],
        &["--vary", "designs.fans.barrier.place=deck,none"],
        &["--vary", "design=fans,barier"],
        &["--vary", "weather=h/weather.csv"],
        &["--vary", "roof.colour=dark", "--vary", "roof.colour=white"],
        &["--vary", "fans.gable.count=0..8", "--sample", "0"],
        &["--shard", "3/2", "--out", "x"],
        &["--shard", "1/2"],
    ];
    let mut told = String::new();
    for args in cases {
        let ran = sweep(args);
        assert_eq!(ran.code, 2, "{args:?}: {}{}", ran.out, ran.err);
        assert_eq!(ran.out, "", "{args:?}");
        let _ = writeln!(told, "== {}\n{}", args.join(" "), ran.err);
    }
    golden::check("sweep-refusals.txt", &told);
}

/// A field that does nothing is no finding, and work up there has its dangers.
#[test]
fn what_does_nothing_is_told_and_cautions_come_last() {
    let ran = sweep(&["--vary", "fans.gable.flow=75 m3/h..150 m3/h:75"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let told = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        told.contains("fans.gable.flow makes no difference here"),
        "{told}"
    );
    assert!(
        told.contains("Fumes") && told.ends_with("anything said here."),
        "{told}"
    );
}

#[test]
fn results_of_another_command_are_not_written_over() {
    let place = tempfile::tempdir().unwrap();
    let results = place.path().join("results.json");
    std::fs::write(&results, "{}").unwrap();
    let ran = sweep_into(place.path(), &[]);
    assert_ne!(ran.code, 0);
    assert!(ran.err.contains("is of another command"), "{}", ran.err);
    assert_eq!(std::fs::read_to_string(&results).unwrap(), "{}");
    let merged = run(
        place.path(),
        &["merge", "whole", "part-1", "--out", "other"],
    );
    assert_eq!(merged.code, 2);
    assert!(merged.err.contains("takes no --out"), "{}", merged.err);
}

#[test]
fn tables_fit_80_columns() {
    let wide = "ceiling.insulation=R-11,R-13,R-15,R-19,R-21,R-25,R-30,R-38,R-49,R-60";
    for (args, told) in [
        (&VARY[..], "fans.gable.count down, barrier.place across"),
        (
            &["--vary", "fans.gable.count=0..4:2"],
            "Over fans.gable.count",
        ),
        (
            &["--vary", wide, "--vary", "fans.gable.count=0..2:2"],
            "insulation",
        ),
    ] {
        for units in ["us", "si"] {
            let mut all = args.to_vec();
            all.extend(["--units", units]);
            let ran = sweep(&all);
            assert_eq!(ran.code, 0, "{}", ran.err);
            assert!(ran.out.contains(told), "{}", ran.out);
            for line in ran.out.lines() {
                assert!(line.chars().count() <= 80, "{line}");
            }
        }
    }
}

/// One design built by itself is the one that is built with all others.
#[test]
fn a_design_by_itself_is_the_same_house() {
    let file = HouseFile::from_text(STARTER, "house.toml").unwrap();
    for house in file.all() {
        assert_eq!(&file.design_with(&house.design, &[]).unwrap(), house);
        let setting = [("roof.pitch", "7:12"), ("fans.gable.count", "3")];
        let all = file.with(&setting).unwrap();
        let one = file.design_with(&house.design, &setting).unwrap();
        assert_eq!(all.find(&house.design), Some(&one));
    }
    let alone = file.design_with("barrier", &[("roof.pitsh", "7:12")]);
    let alone = alone.unwrap_err().to_string();
    assert!(alone.contains("did you mean `pitch`?"), "{alone}");
}

/// The C library chooses its sines by what the processor offers, which must not matter.
#[cfg(all(target_os = "linux", target_arch = "x86_64"))]
#[test]
fn bytes_do_not_depend_on_what_the_processor_offers() {
    let ran = |hidden: Option<&str>| {
        let folder = tempfile::tempdir().unwrap();
        let mut command = std::process::Command::new(assert_cmd::cargo::cargo_bin!("rafterheat"));
        command
            .args(["sweep", "house.toml", "--sample", "120", "--quiet"])
            .args(["--vary", "fans.gable.count=0..8"])
            .args(["--vary", "roof.absorptance=0.4..0.95"])
            .args(DAY)
            .args(["--out", folder.path().to_str().unwrap()])
            .current_dir(starter())
            .stdout(Stdio::null());
        if let Some(hidden) = hidden {
            command.env("GLIBC_TUNABLES", format!("glibc.cpu.hwcaps={hidden}"));
        }
        assert!(command.status().unwrap().success());
        bytes(folder.path())
    };
    let all = ran(None);
    for hidden in ["-FMA", "-AVX2,-AVX,-FMA,-AVX512F"] {
        let less = ran(Some(hidden));
        let differ = all
            .lines()
            .zip(less.lines())
            .filter(|(a, b)| a != b)
            .count();
        assert_eq!(differ, 0, "{hidden}: of {} lines", all.lines().count());
    }
}
