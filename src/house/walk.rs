//! From the tree as typed to answers of the right kind, unit and range.

use std::collections::BTreeMap;

use crate::catalog::nearest;
use crate::units::{Dimension, parse};

use super::clash::{Clash, CurveFault};
use super::document::{Entry, Node, Spot, Value};
use super::fault::FaultKind;
use super::names::{Catalogue, plain};
use super::schema::{self, Field, Kind, Need, Section};
use super::written::{in_both, listed};

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
        if !path.is_empty() {
            self.out.tables.insert(path.join("."), spot.clone());
        }
        for entry in entries {
            let mut below = path.to_vec();
            below.push(entry.key.clone());
            let key = below.join(".");
            let field = section.and_then(|s| s.fields.iter().find(|field| field.key == entry.key));
            let is_table = schema::section(&below).is_some() || schema::begins(&below);
            if path.is_empty() && entry.key == "designs" {
                continue;
            }
            if let Some(field) = field {
                self.value(field, &key, &entry.node);
            } else if schema::is_group(path) && !is_name(&entry.key) {
                self.trouble(
                    &entry.key_spot,
                    &key,
                    FaultKind::BadName {
                        name: entry.key.clone(),
                    },
                );
            } else if is_table {
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
            (Kind::Faces, Value::Text(text)) if plain(text) == "both" => Ok(Found::Both),
            (Kind::Faces, Value::Text(text)) => direction(text).map(Found::Number),
            (Kind::Line, Value::Text(text)) => line(text).map(Found::Number),
            (Kind::Degrees(letters), Value::Text(text) | Value::Number(text)) => {
                degrees(field, text, letters)
                    .ok_or_else(|| FaultKind::OutOfRange {
                        found: text.clone(),
                        low: format!("{} deg", field.low),
                        high: format!("{} deg", field.high),
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
            if let Some(entry) = entries
                .iter()
                .find(|entry| !known.contains(&entry.key.as_str()))
            {
                let near = nearest(&entry.key, known).map(str::to_owned);
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
                if node.is_none() {
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
        for section in schema::SECTIONS.iter().chain([&schema::ROOT]) {
            for path in self.present(section) {
                let spot = self.out.tables.get(&path).cloned().unwrap_or_default();
                for field in section
                    .fields
                    .iter()
                    .filter(|field| field.need == Need::Required)
                {
                    let key = join(&path, field.key);
                    let faulty = self.out.troubles.iter().any(|trouble| trouble.key == key);
                    if !self.out.by_key.contains_key(&key) && !faulty {
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
            if section.required && !there && !wrong {
                missing.push(Trouble {
                    spot: Spot::default(),
                    key: section.path.to_owned(),
                    kind: FaultKind::MissingTable { help: section.help },
                });
            }
        }
        self.out.troubles.extend(missing);
    }

    /// The paths of the tables that a section describes in this file.
    fn present(&self, section: &Section) -> Vec<String> {
        self.out
            .tables
            .keys()
            .filter(|path| {
                let parts: Vec<String> = path.split('.').map(str::to_owned).collect();
                schema::section(&parts).is_some_and(|found| found.path == section.path)
            })
            .cloned()
            .collect()
    }
}

/// Thickness of a layer.
const LAYER: Field = Field {
    key: "thickness",
    kind: Kind::Quantity(Dimension::Length),
    low: 1e-4,
    high: 1.0,
    need: Need::Required,
    help: "how thick the layer is",
};

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

/// What a field accepts, for a message.
pub(super) fn accepts(field: &Field) -> String {
    let range = if field.low.is_finite() && field.high.is_finite() {
        match field.kind {
            Kind::Quantity(dimension) => {
                format!(
                    " from {} to {}",
                    in_both(field.low, dimension),
                    in_both(field.high, dimension)
                )
            }
            Kind::Insulation => format!(
                " up to {}",
                in_both(field.high, Dimension::ThermalResistance)
            ),
            _ => format!(" from {} to {}", field.low, field.high),
        }
    } else {
        String::new()
    };
    let what = match field.kind {
        Kind::Quantity(dimension) => {
            format!(
                "{}, such as \"{}\",",
                dimension.expected(),
                dimension.examples()[0]
            )
        }
        Kind::Number => "a number without a unit".to_owned(),
        Kind::Insulation => "\"none\" or an R-value, such as \"R-19\",".to_owned(),
        Kind::Leakage => {
            "\"9 ACH50\", \"1500 cfm50\" or a leakage area such as \"100 in2\"".to_owned()
        }
        Kind::Words(words) => listed(words),
        Kind::Name(catalogue) => format!(
            "the name of a {}: {}",
            catalogue.what(),
            listed(&catalogue.names())
        ),
        Kind::Layers(catalogue) => format!(
            "the name of a {}, or a list like [{{ material = \"osb\", thickness = \"7/16 in\" }}]",
            catalogue.what()
        ),
        Kind::Text => "text in quotes".to_owned(),
        Kind::Flag => "true or false, without quotes".to_owned(),
        Kind::Faces => {
            "a compass direction, such as \"south\" or \"200 deg\", or \"both\"".to_owned()
        }
        Kind::Line => {
            "\"east-west\", \"north-south\" or an angle from north, such as \"80 deg\"".to_owned()
        }
        Kind::Degrees([plus, minus]) => {
            format!("degrees, such as \"38.1 {plus}\" or \"121.6 {minus}\"")
        }
        Kind::Curve => {
            "a list like [[\"0 cfm\", \"0.1 in w.g.\"], [\"75 cfm\", \"0 Pa\"]]".to_owned()
        }
        Kind::Times => "two times of day, like [\"08:00\", \"20:00\"]".to_owned(),
        Kind::Texts => "a list of names, like [\"fans\", \"barrier\"]".to_owned(),
    };
    let unknown = if field.may_be_unknown() {
        ", or \"unknown\""
    } else {
        ""
    };
    format!("{what}{range}{unknown}")
        .replace(",,", ",")
        .trim_end_matches(',')
        .to_owned()
}

fn unknown_word(text: &str, what: &'static str, known: Vec<String>) -> FaultKind {
    let near = nearest(&plain(text), known.iter().map(String::as_str)).map(str::to_owned);
    FaultKind::UnknownWord {
        found: text.trim().chars().take(60).collect(),
        what,
        near,
        known,
    }
}

fn ranged(field: &Field, text: &str, dimension: Dimension) -> Result<f64, FaultKind> {
    let value = parse(text, dimension).map_err(FaultKind::Quantity)?;
    // A hair of room, so that a limit typed in other units is inside.
    let room = 1e-9 * (field.high - field.low);
    if value < field.low - room || value > field.high + room {
        return Err(FaultKind::OutOfRange {
            found: text.trim().to_owned(),
            low: in_both(field.low, dimension),
            high: in_both(field.high, dimension),
        });
    }
    Ok(value)
}

fn number(field: &Field, text: &str) -> Result<f64, FaultKind> {
    let typed = text.trim().replace('_', "");
    let value: f64 = typed.parse().map_err(|_| FaultKind::WrongKind {
        found: "this text",
        accepts: accepts(field),
    })?;
    if (field.low..=field.high).contains(&value) {
        return Ok(value);
    }
    let [low, high] = [field.low, field.high].map(super::written::number);
    Err(FaultKind::OutOfRange {
        found: text.trim().to_owned(),
        low,
        high,
    })
}

fn leakage(text: &str) -> Result<Leakage, FaultKind> {
    let changes = ranged(&range(0.05, 100.0), text, Dimension::AirChangeRate);
    let flow = ranged(&range(1e-3, 20.0), text, Dimension::AirFlowAt50Pa);
    let area = ranged(&range(1e-4, 5.0), text, Dimension::LeakageArea);
    let out_of_range =
        |result: &Result<f64, FaultKind>| matches!(result, Err(FaultKind::OutOfRange { .. }));
    match (changes, flow, area) {
        (Ok(value), _, _) => Ok(Leakage::AirChanges(value)),
        (_, Ok(value), _) => Ok(Leakage::Flow(value)),
        (_, _, Ok(value)) => Ok(Leakage::Area(value)),
        (changes, flow, area) => {
            let mut errors = [changes, flow, area];
            let at = errors.iter().position(out_of_range).unwrap_or(0);
            errors.swap(0, at);
            let [first, ..] = errors;
            match first {
                Err(kind) => Err(kind),
                Ok(value) => Ok(Leakage::AirChanges(value)),
            }
        }
    }
}

fn range(low: f64, high: f64) -> Field {
    Field { low, high, ..LAYER }
}

fn direction(text: &str) -> Result<f64, FaultKind> {
    parse(text, Dimension::Angle)
        .map(|angle| angle.rem_euclid(std::f64::consts::TAU))
        .map_err(FaultKind::Quantity)
}

/// A line runs both ways: of `east-west` the first direction is taken.
fn line(text: &str) -> Result<f64, FaultKind> {
    let first = text.split_once(['-', '–']).filter(|(first, second)| {
        let compass =
            |word: &str| word.trim().chars().all(char::is_alphabetic) && !word.trim().is_empty();
        compass(first) && compass(second)
    });
    let angle = match first {
        Some((first, second)) => {
            let opposite = direction(second)?;
            let angle = direction(first)?;
            if (angle - opposite).cos() > -0.99 {
                return Err(unknown_word(
                    text,
                    "line",
                    ["east-west", "north-south", "northeast-southwest", "80 deg"]
                        .map(str::to_owned)
                        .to_vec(),
                ));
            }
            angle
        }
        None => direction(text)?,
    };
    Ok(angle.rem_euclid(std::f64::consts::PI))
}

fn degrees(field: &Field, text: &str, [plus, minus]: [char; 2]) -> Option<f64> {
    let text = text.trim().to_uppercase();
    let (body, sign) = if let Some(body) = text.strip_suffix(plus) {
        (body, 1.0)
    } else if let Some(body) = text.strip_suffix(minus) {
        (body, -1.0)
    } else {
        (text.as_str(), 1.0)
    };
    let body = body
        .trim()
        .trim_end_matches("DEGREES")
        .trim_end_matches("DEG")
        .trim_end_matches('°')
        .trim();
    let value: f64 = body.parse().ok()?;
    let value = value * sign;
    (field.low..=field.high).contains(&value).then_some(value)
}

fn curve(field: &Field, items: &[Node]) -> Result<Found, FaultKind> {
    let wrong = |node: &Node| FaultKind::WrongKind {
        found: node.value.kind(),
        accepts: accepts(field),
    };
    let mut points = Vec::new();
    for item in items {
        let Value::List(pair) = &item.value else {
            return Err(wrong(item));
        };
        let [flow, pressure] = pair.as_slice() else {
            return Err(wrong(item));
        };
        let number = |node: &Node, dimension| match &node.value {
            Value::Text(text) | Value::Number(text) => {
                parse(text, dimension).map_err(FaultKind::Quantity)
            }
            _ => Err(wrong(node)),
        };
        points.push([
            number(flow, Dimension::AirFlow)?,
            number(pressure, Dimension::Pressure)?,
        ]);
    }
    let fault = if points.len() < 2 {
        Some(CurveFault::TooFew)
    } else if points.first().is_some_and(|point| point[0].abs() > 1e-9) {
        Some(CurveFault::StartsLate)
    } else if points
        .windows(2)
        .any(|pair| pair[1][0] <= pair[0][0] || pair[1][1] >= pair[0][1])
    {
        Some(CurveFault::NotFalling)
    } else {
        None
    };
    match fault {
        Some(fault) => Err(FaultKind::Clash(Clash::Curve(fault))),
        None => Ok(Found::Pairs(points)),
    }
}

fn times(field: &Field, items: &[Node]) -> Result<Found, FaultKind> {
    let wrong = |found: &'static str| FaultKind::WrongKind {
        found,
        accepts: accepts(field),
    };
    let [from, to] = items else {
        return Err(wrong("a list without two times"));
    };
    let time = |node: &Node| match &node.value {
        Value::Text(text) | Value::Date(text) => {
            let minutes = if text.matches(':').count() == 2 {
                text.trim_end_matches(":00")
            } else {
                text
            };
            parse(minutes, Dimension::ClockTime).map_err(FaultKind::Quantity)
        }
        other => Err(wrong(other.kind())),
    };
    let (from, to) = (time(from)?, time(to)?);
    if (from - to).abs() < 1.0 {
        return Err(FaultKind::Clash(Clash::NoTime));
    }
    Ok(Found::Pairs(vec![[from, to]]))
}
