//! From the tree as typed to answers of the right kind, unit and range.

use std::collections::BTreeMap;

use crate::catalog::nearest;
use crate::units::Dimension;

use super::clash::Clash;
use super::document::{Entry, Node, Spot, Value};
use super::fault::FaultKind;
use super::names::{Catalogue, plain};
use super::schema::{self, Field, Kind, Section};
use super::values::{
    LAYER, accepts, curve, degrees, direction, leakage, line, number, ranged, times, unknown_word,
};

/// A fault and where it is, before its line is looked up.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Trouble {
    /// Where.
    pub(super) spot: Spot,
    /// Key.
    pub(super) key: String,
    /// What.
    pub(super) kind: FaultKind,
}

/// What an answer says.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Found {
    /// A quantity in the unit of its dimension, a count, a direction in rad.
    Number(f64),
    /// A word or a name of a catalogue.
    Word(&'static str),
    /// Text, or the name of a material of the file's own.
    Text(String),
    /// `true` or `false`.
    Flag(bool),
    /// "both" sides.
    Both,
    /// "all" sides.
    All,
    /// Pairs of numbers.
    Pairs(Vec<[f64; 2]>),
    /// Layers: material and thickness in m.
    Layers(Vec<(String, f64)>),
    /// A blower-door result.
    Leakage(Leakage),
    /// "unknown".
    Unknown,
}

/// How a leak was given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Leakage {
    /// Air changes at 50 Pa, 1/h.
    AirChanges(f64),
    /// Flow at 50 Pa, m³/s.
    Flow(f64),
    /// Effective leakage area at 4 Pa, m².
    Area(f64),
}

/// An answer.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Answer {
    /// What it says.
    pub(super) found: Found,
    /// As typed.
    pub(super) typed: String,
    /// Where it stands.
    pub(super) spot: Spot,
    /// Layer of the design or setting it comes from.
    pub(super) layer: u32,
}

/// Everything that a file answers.
#[derive(Debug, Clone, Default)]
pub(super) struct Answers {
    /// Answers by path.
    pub(super) by_key: BTreeMap<String, Answer>,
    /// Tables by path, and where they stand.
    pub(super) tables: BTreeMap<String, Spot>,
    /// Faults.
    pub(super) troubles: Vec<Trouble>,
}

impl Answers {
    /// The names in a group of tables, in the order of the file.
    pub(super) fn names(&self, group: &str) -> Vec<String> {
        let mut names: Vec<(&Spot, String)> = self
            .tables
            .iter()
            .filter_map(|(path, spot)| {
                let name = path.strip_prefix(group)?.strip_prefix('.')?;
                (!name.contains('.')).then(|| (spot, name.to_owned()))
            })
            .collect();
        names.sort();
        names.into_iter().map(|(_, name)| name).collect()
    }
}

struct Walker {
    out: Answers,
    materials: Vec<String>,
}

/// Reads a tree against the schema. `whole` also reports what is missing.
pub(super) fn walk(root: &[Entry], whole: bool) -> Answers {
    let materials = root
        .iter()
        .filter(|entry| entry.key == "materials")
        .filter_map(|entry| match &entry.node.value {
            Value::Table(entries) => Some(entries),
            _ => None,
        })
        .flatten()
        .map(|entry| entry.key.clone())
        .collect();
    let mut walker = Walker {
        out: Answers::default(),
        materials,
    };
    walker.table(&[], &Spot::default(), root);
    if whole {
        walker.missing();
    }
    walker.out
}

impl Walker {
    fn trouble(&mut self, spot: &Spot, key: &str, kind: FaultKind) {
        self.out.troubles.push(Trouble {
            spot: spot.clone(),
            key: key.to_owned(),
            kind,
        });
    }

    fn table(&mut self, path: &[String], spot: &Spot, entries: &[Entry]) {
        let section = schema::section(path);
        let group = schema::is_group(path);
        let above = path.join(".");
        if !path.is_empty() {
            self.out.tables.insert(above.clone(), spot.clone());
        }
        let mut unnamed = false;
        for entry in entries {
            if path.is_empty() && entry.key == "designs" {
                continue;
            }
            if group && !matches!(entry.node.value, Value::Table(_)) {
                if !unnamed {
                    self.trouble(&entry.key_spot, &above, FaultKind::Unnamed);
                }
                unnamed = true;
                continue;
            }
            let key = join(&above, &entry.key);
            let field = section.and_then(|s| s.fields.iter().find(|field| field.key == entry.key));
            if let Some(field) = field {
                self.value(field, &key, &entry.node);
                continue;
            }
            let mut below = path.to_vec();
            below.push(entry.key.clone());
            if group && !is_name(&entry.key) {
                self.trouble(
                    &entry.key_spot,
                    &key,
                    FaultKind::BadName {
                        name: entry.key.clone(),
                    },
                );
            } else if schema::section(&below).is_some() || schema::begins(&below) {
                match &entry.node.value {
                    Value::Table(inner) => self.table(&below, &entry.node.spot, inner),
                    other => {
                        let kind = FaultKind::WrongKind {
                            found: other.kind(),
                            accepts: table_hint(&below),
                        };
                        self.trouble(&entry.node.spot, &key, kind);
                    }
                }
            } else {
                self.unknown_key(path, section, entry, &key);
            }
        }
    }

    fn unknown_key(
        &mut self,
        path: &[String],
        section: Option<&'static Section>,
        entry: &Entry,
        key: &str,
    ) {
        let mut known: Vec<String> = section
            .map(|s| s.fields.iter().map(|field| field.key.to_owned()).collect())
            .unwrap_or_default();
        known.extend(schema::tables_below(path).into_iter().map(str::to_owned));
        if path.is_empty() {
            known.push("designs".to_owned());
        }
        let elsewhere = schema::elsewhere(&entry.key);
        let typed = plain(&entry.key).replace('-', "_");
        let near = nearest(&typed, known.iter().map(String::as_str))
            .filter(|_| elsewhere.is_none())
            .map(str::to_owned);
        let kind = FaultKind::UnknownKey {
            near,
            elsewhere,
            known,
        };
        self.trouble(&entry.key_spot, key, kind);
    }

    fn value(&mut self, field: &'static Field, key: &str, node: &Node) {
        let unknown =
            matches!(&node.value, Value::Text(text) if text.trim().eq_ignore_ascii_case("unknown"));
        let found = if unknown {
            if field.may_be_unknown() {
                Ok(Found::Unknown)
            } else {
                Err(FaultKind::NotUnknowable {
                    help: field.help,
                    accepts: accepts(field),
                })
            }
        } else {
            self.read(field, key, node)
        };
        match found {
            Ok(found) => {
                let answer = Answer {
                    found,
                    typed: typed(&node.value),
                    spot: node.spot.clone(),
                    layer: node.layer,
                };
                self.out.by_key.insert(key.to_owned(), answer);
            }
            Err(kind) => self.trouble(&node.spot, key, kind),
        }
    }

    fn read(&mut self, field: &'static Field, key: &str, node: &Node) -> Result<Found, FaultKind> {
        let wrong = || FaultKind::WrongKind {
            found: node.value.kind(),
            accepts: accepts(field),
        };
        match (field.kind, &node.value) {
            (Kind::Quantity(dimension), Value::Text(text) | Value::Number(text)) => {
                ranged(field, text, dimension).map(Found::Number)
            }
            (Kind::Number, Value::Text(text) | Value::Number(text)) => {
                number(field, text).map(Found::Number)
            }
            (Kind::Insulation, Value::Text(text)) if plain(text) == "none" => {
                Ok(Found::Number(0.0))
            }
            (Kind::Insulation, Value::Text(text) | Value::Number(text)) => {
                ranged(field, text, Dimension::ThermalResistance).map(Found::Number)
            }
            (Kind::Leakage, Value::Text(text) | Value::Number(text)) => {
                leakage(text).map(Found::Leakage)
            }
            (Kind::Words(words), Value::Text(text)) => {
                let word = words.iter().find(|word| **word == plain(text));
                word.map(|word| Found::Word(word)).ok_or_else(|| {
                    unknown_word(
                        text,
                        "choice",
                        words.iter().map(|word| (*word).to_owned()).collect(),
                    )
                })
            }
            (Kind::Name(catalogue) | Kind::Layers(catalogue), Value::Text(text)) => {
                self.name(catalogue, text)
            }
            (Kind::Layers(_), Value::List(items)) => self.layers(field, key, items),
            (Kind::Text, Value::Text(text)) if !text.trim().is_empty() => {
                Ok(Found::Text(text.trim().to_owned()))
            }
            (Kind::Flag, Value::Flag(flag)) => Ok(Found::Flag(*flag)),
            (Kind::Direction, Value::Text(text))
                if matches!(plain(text).as_str(), "both" | "all") =>
            {
                Err(FaultKind::Clash(Clash::NotBoth))
            }
            (Kind::Faces, Value::Text(text)) if plain(text) == "both" => Ok(Found::Both),
            (Kind::Faces, Value::Text(text)) if plain(text) == "all" => Ok(Found::All),
            (Kind::Direction | Kind::Faces, Value::Text(text)) => {
                direction(text).map(Found::Number)
            }
            (Kind::Line, Value::Text(text)) => line(text).map(Found::Number),
            (Kind::Degrees(letters), Value::Text(text) | Value::Number(text)) => {
                degrees(field, text, letters)
                    .ok_or_else(|| FaultKind::OutOfRange {
                        found: text.clone(),
                        low: format!("{} deg", field.low),
                        high: format!("{} deg", field.high),
                        note: None,
                    })
                    .map(Found::Number)
            }
            (Kind::Curve, Value::List(items)) => curve(field, items),
            (Kind::Times, Value::List(items)) => times(field, items),
            _ => Err(wrong()),
        }
    }

    fn name(&self, catalogue: Catalogue, text: &str) -> Result<Found, FaultKind> {
        if catalogue.takes_materials() && self.materials.iter().any(|name| name == text.trim()) {
            return Ok(Found::Text(text.trim().to_owned()));
        }
        if let Some(name) = catalogue.canonical(text) {
            return Ok(Found::Word(name));
        }
        let mut known: Vec<String> = catalogue.names().into_iter().map(str::to_owned).collect();
        if catalogue.takes_materials() {
            known.extend(self.materials.iter().cloned());
        }
        Err(unknown_word(text, catalogue.what(), known))
    }

    fn layers(
        &mut self,
        field: &'static Field,
        key: &str,
        items: &[Node],
    ) -> Result<Found, FaultKind> {
        let wrong = |node: &Node| FaultKind::WrongKind {
            found: node.value.kind(),
            accepts: accepts(field),
        };
        let mut layers = Vec::new();
        for item in items {
            let Value::Table(entries) = &item.value else {
                return Err(wrong(item));
            };
            let get = |key: &str| {
                entries
                    .iter()
                    .find(|entry| entry.key == key)
                    .map(|entry| &entry.node)
            };
            let known = ["material", "thickness"];
            let mut meant = Vec::new();
            if let Some(entry) = entries
                .iter()
                .find(|entry| !known.contains(&entry.key.as_str()))
            {
                let near = nearest(&entry.key, known);
                meant.extend(near);
                let near = near.map(str::to_owned);
                let known = known.map(str::to_owned).to_vec();
                let kind = FaultKind::UnknownKey {
                    near,
                    elsewhere: None,
                    known,
                };
                self.trouble(&entry.key_spot, &format!("{key}.{}", entry.key), kind);
            }
            let mut part = |name: &'static str, help: &'static str, accepts: &str| {
                let node = get(name);
                if node.is_none() && !meant.contains(&name) {
                    let kind = FaultKind::Missing {
                        help,
                        accepts: accepts.to_owned(),
                    };
                    self.out.troubles.push(Trouble {
                        spot: item.spot.clone(),
                        key: format!("{key}.{name}"),
                        kind,
                    });
                }
                node
            };
            let material = part(
                "material",
                "what the layer is made of",
                "the name of a material",
            );
            let thickness = part(
                "thickness",
                "how thick the layer is",
                "a length with its unit",
            );
            let (Some(material), Some(thickness)) = (material, thickness) else {
                continue;
            };
            let name = match &material.value {
                Value::Text(text) => self.name(Catalogue::Material, text),
                _ => Err(wrong(material)),
            };
            let depth = match &thickness.value {
                Value::Text(text) | Value::Number(text) => ranged(&LAYER, text, Dimension::Length),
                _ => Err(wrong(thickness)),
            };
            match (name, depth) {
                (Ok(Found::Word(name)), Ok(depth)) => layers.push((name.to_owned(), depth)),
                (Ok(Found::Text(name)), Ok(depth)) => layers.push((name, depth)),
                (name, depth) => {
                    if let Err(kind) = name {
                        self.trouble(&material.spot, &format!("{key}.material"), kind);
                    }
                    if let Err(kind) = depth {
                        self.trouble(&thickness.spot, &format!("{key}.thickness"), kind);
                    }
                }
            }
        }
        if items.is_empty() {
            return Err(FaultKind::WrongKind {
                found: "an empty list",
                accepts: accepts(field),
            });
        }
        Ok(Found::Layers(layers))
    }

    fn missing(&mut self) {
        let mut missing = Vec::new();
        let rooms = self.out.by_key.get("house.rooms");
        let is_given =
            rooms.is_some_and(|answer| matches!(answer.found, Found::Word("given" | "outdoors")));
        // Of given rooms neither wall nor floor is asked for.
        let is_left_out =
            |key: &str| is_given && (key == "house.wall" || key.starts_with("house.floor"));
        let present = self.present();
        for section in schema::SECTIONS.iter().chain([&schema::ROOT]) {
            let of_it = present.iter().filter(|(found, ..)| *found == section.path);
            for &(_, path, spot) in of_it {
                for field in section.fields.iter().filter(|field| field.must_be_stated()) {
                    let key = join(path, field.key);
                    if self.out.by_key.contains_key(&key) {
                        continue;
                    }
                    let faulty = self.is_meant(path, field.key)
                        || self.out.troubles.iter().any(|trouble| trouble.key == key);
                    if !faulty && !is_left_out(&key) {
                        let kind = FaultKind::Missing {
                            help: field.help,
                            accepts: accepts(field),
                        };
                        missing.push(Trouble {
                            spot: spot.clone(),
                            key,
                            kind,
                        });
                    }
                }
            }
            let there = self.out.tables.contains_key(section.path) || section.path.is_empty();
            let wrong = self
                .out
                .troubles
                .iter()
                .any(|trouble| trouble.key == section.path);
            let parent = section.path.rsplit_once('.').map(|(parent, _)| parent);
            let orphan = parent.is_some_and(|parent| !self.out.tables.contains_key(parent));
            let (above, last) = section.path.rsplit_once('.').unwrap_or(("", section.path));
            let meant = self.is_meant(above, last);
            let is_left_out = is_left_out(section.path);
            if section.required && !there && !wrong && !orphan && !meant && !is_left_out {
                missing.push(Trouble {
                    spot: Spot::default(),
                    key: section.path.to_owned(),
                    kind: FaultKind::MissingTable { help: section.help },
                });
            }
        }
        self.out.troubles.extend(missing);
    }

    /// Whether a key of a table was probably meant by one that is not known there.
    fn is_meant(&self, table: &str, key: &str) -> bool {
        self.out.troubles.iter().any(|trouble| {
            let (above, _) = trouble.key.rsplit_once('.').unwrap_or(("", &trouble.key));
            let near = match &trouble.kind {
                FaultKind::UnknownKey { near, .. } => near.as_deref(),
                _ => None,
            };
            above == table && near == Some(key)
        })
    }

    /// The tables of this file that a section describes: its path, theirs, and where they stand.
    fn present(&self) -> Vec<(&'static str, &str, &Spot)> {
        let tables = self.out.tables.iter();
        tables
            .filter_map(|(path, spot)| {
                let parts: Vec<&str> = path.split('.').collect();
                Some((schema::section(&parts)?.path, path.as_str(), spot))
            })
            .collect()
    }
}

fn join(path: &str, key: &str) -> String {
    if path.is_empty() {
        key.to_owned()
    } else {
        format!("{path}.{key}")
    }
}

fn is_name(name: &str) -> bool {
    let inside = |c: char| c.is_alphanumeric() || c == '-' || c == '_' || c == ' ';
    !name.trim().is_empty() && name.len() <= 60 && name.chars().all(inside)
}

fn table_hint(path: &[String]) -> String {
    if schema::is_group(path) {
        format!(
            "tables with names of your own, like [{}.NAME]",
            path.join(".")
        )
    } else {
        format!("a table, like [{}]", path.join("."))
    }
}

fn typed(value: &Value) -> String {
    match value {
        Value::Text(text) | Value::Number(text) | Value::Date(text) => text.trim().to_owned(),
        Value::Flag(flag) => flag.to_string(),
        Value::List(_) | Value::Table(_) => String::new(),
    }
}
