//! Each module names only the modules before it, and only some make text for people.

use std::fs;
use std::path::{Path, PathBuf};

/// Lowest first.
const LAYERS: &[&str] = &[
    "elementary",
    "units",
    "ode",
    "physics",
    "sun",
    "weather",
    "readings",
    "equipment",
    "catalog",
    "house",
    "network",
    "run",
    "assess",
    "study",
    "report",
    "live",
    "cli",
];

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
}

fn files() -> Vec<(usize, PathBuf, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut paths = Vec::new();
    sources(&root, &mut paths);
    paths.sort();
    let mut files = Vec::new();
    for path in paths {
        let inside = path.strip_prefix(&root).unwrap();
        let first = inside
            .components()
            .next()
            .unwrap()
            .as_os_str()
            .to_str()
            .unwrap();
        let module = first.trim_end_matches(".rs");
        if module == "lib" || module == "main" {
            continue;
        }
        let layer = LAYERS.iter().position(|l| *l == module);
        let layer = layer.unwrap_or_else(|| panic!("{} is in no layer", inside.display()));
        files.push((layer, inside.to_owned(), fs::read_to_string(&path).unwrap()));
    }
    assert!(files.len() > 20, "the scan found too little");
    files
}

/// Names after each `crate::`, those in braces too.
fn named(text: &str) -> Vec<String> {
    let word = |s: &str| -> String {
        s.trim_start()
            .chars()
            .take_while(|c| c.is_alphanumeric() || *c == '_')
            .collect()
    };
    let mut names = Vec::new();
    for after in text.split("crate::").skip(1) {
        if let Some(list) = after.strip_prefix('{') {
            let list = list.split_once("};").map_or(list, |(inside, _)| inside);
            names.extend(
                list.split(',')
                    .map(word)
                    .filter(|w| LAYERS.contains(&w.as_str())),
            );
        } else {
            names.push(word(after));
        }
    }
    names
}

#[test]
fn a_module_names_only_the_modules_before_it() {
    let mut faults = Vec::new();
    for (layer, path, text) in files() {
        for name in named(&text) {
            match LAYERS.iter().position(|l| *l == name) {
                Some(other) if other > layer => {
                    faults.push(format!(
                        "{} names {name}, which is above it",
                        path.display()
                    ));
                }
                Some(_) => {}
                None => faults.push(format!("{} names {name}, not a layer", path.display())),
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_name_above_would_be_caught() {
    assert_eq!(named("use crate::{cli as _};"), ["cli"]);
    assert_eq!(
        named("use crate::house::House; crate::run::simulate()"),
        ["house", "run"]
    );
}

#[test]
fn only_the_command_line_prints() {
    for (layer, path, text) in files() {
        let prints = ["println!", "eprintln!", "print!(", "eprint!("];
        let code = text.split("#[cfg(test)]").next().unwrap();
        let found = code
            .lines()
            .filter(|line| !line.trim_start().starts_with("//"))
            .any(|line| prints.iter().any(|p| line.contains(p)));
        assert!(
            !found || LAYERS[layer] == "cli",
            "{} prints",
            path.display()
        );
    }
}

/// Products of matrices of more than five rows and columns go to code that is chosen by what the
/// processor offers; `a.tr_mul(&b)` and `a.transpose().tr_mul(&b)` are the same everywhere. A text scan:
/// it sees products of what is borrowed or turned over, which all have been.
#[test]
fn products_of_matrices_are_the_same_on_any_processor() {
    for (_, path, text) in files() {
        for (number, line) in text.lines().enumerate() {
            let product = line.contains("* &") || line.contains(".transpose() *");
            assert!(!product, "{}:{}", path.display(), number + 1);
        }
    }
}
