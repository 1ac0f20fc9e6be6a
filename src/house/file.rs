//! Reading a house file: the house as it stands and its designs.

use std::path::{Path, PathBuf};

use super::House;
use super::build::build;
use super::clash::Clash;
use super::document::{self, Entry, Node, Spot, SyntaxFault, Value};
use super::fault::{Fault, FaultKind, Hint, HouseError};
use super::schema::DESIGN_WITH;
use super::values::accepts;
use super::walk::{Trouble, walk};
use crate::catalog::nearest;

/// Largest file that is read, bytes.
const LIMIT: u64 = 1_000_000;
/// Layer of settings, above that of any design.
const SETTINGS: u32 = u32::MAX;
/// Name of the house where the file gives none.
const NAMELESS: &str = "house";
/// Name of the house as it stands where the file gives none.
const AS_IT_STANDS: &str = "as it stands";

/// A house as it stands, and its designs.
#[derive(Debug, Clone, PartialEq)]
pub struct HouseFile {
    /// As it stands.
    pub base: House,
    /// Designs, in the order of the file.
    pub designs: Vec<House>,
    source: Source,
}

/// The texts and trees of a file, kept so that settings can be laid over it.
#[derive(Debug, Clone, PartialEq)]
struct Source {
    path: PathBuf,
    texts: Vec<Text>,
    base: Vec<Entry>,
    designs: Vec<Design>,
    /// Settings laid over the house and every design, last of all.
    settings: Vec<Entry>,
}

/// Settings to be laid over a house, with the texts they were typed in, and what is wrong with their
/// keys.
struct Laid {
    texts: Vec<Text>,
    entries: Vec<Entry>,
    troubles: Vec<Trouble>,
}

/// A text and what to call it in messages.
#[derive(Debug, Clone, PartialEq)]
struct Text {
    name: String,
    text: String,
}

/// A design as typed.
#[derive(Debug, Clone, PartialEq)]
struct Design {
    name: String,
    spot: Spot,
    with: Vec<(String, Spot)>,
    changes: Vec<Entry>,
}

impl House {
    /// Reads a house file.
    ///
    /// # Errors
    /// [`HouseError`] when the file cannot be read, or with every fault it has.
    pub fn read(path: &Path) -> Result<HouseFile, HouseError> {
        HouseFile::read(path)
    }
}

impl HouseFile {
    /// Reads a house file.
    ///
    /// # Errors
    /// [`HouseError`] when the file cannot be read, or with every fault it has.
    pub fn read(path: &Path) -> Result<Self, HouseError> {
        let read = |source| HouseError::Read {
            path: path.to_owned(),
            source,
        };
        let size = std::fs::metadata(path).map_err(read)?.len();
        if size > LIMIT {
            return Err(HouseError::TooLarge {
                path: path.to_owned(),
                size,
                limit: LIMIT,
            });
        }
        let bytes = std::fs::read(path).map_err(read)?;
        let text = String::from_utf8(bytes).map_err(|error| {
            let good = error.utf8_error().valid_up_to();
            let line = 1 + error
                .as_bytes()
                .iter()
                .take(good)
                .filter(|byte| **byte == b'\n')
                .count();
            HouseError::NotText {
                path: path.to_owned(),
                line,
            }
        })?;
        Self::from_text(&text, path)
    }

    /// Reads a house from text; the path only names it in messages.
    ///
    /// ```
    /// use rafterheat::house::HouseFile;
    /// let error = HouseFile::from_text("[roof]\npitch = \"steep\"", "my.toml").unwrap_err();
    /// assert!(error.to_string().contains("my.toml:2:9"));
    /// ```
    ///
    /// # Errors
    /// [`HouseError::Invalid`] with every fault of the text.
    pub fn from_text(text: &str, path: impl Into<PathBuf>) -> Result<Self, HouseError> {
        let path = path.into();
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let (root, broken) = document::read(text, 0);
        let Value::Table(mut base) = root.value else {
            return Err(HouseError::Invalid {
                path,
                faults: Vec::new(),
            });
        };
        let name = path.display().to_string();
        let texts = vec![Text {
            name,
            text: text.to_owned(),
        }];
        let mut troubles: Vec<Trouble> = broken.iter().map(|fault| notation(fault, text)).collect();
        let designs = take_designs(&mut base, &mut troubles);
        let source = Source {
            path,
            texts,
            base,
            designs,
            settings: Vec::new(),
        };
        source.house_file(troubles, broken.is_empty())
    }

    /// The same file with settings such as `("fans.gable.count", "4")` laid over the house and all
    /// its designs.
    ///
    /// ```
    /// use rafterheat::house::HouseFile;
    /// let starter = HouseFile::from_text(rafterheat::house::STARTER, "house.toml").unwrap();
    /// let steep = starter.with(&[("roof.pitch", "9:12")]).unwrap();
    /// assert!(steep.base.roof.pitch_rad > starter.base.roof.pitch_rad);
    /// ```
    ///
    /// # Errors
    /// [`HouseError::Invalid`] with every fault that the settings bring.
    pub fn with(&self, settings: &[(&str, &str)]) -> Result<Self, HouseError> {
        let Laid {
            texts,
            entries,
            troubles,
        } = self.source.laid(settings);
        let mut source = self.source.clone();
        source.texts.extend(texts);
        source.settings = entries;
        source.house_file(troubles, true)
    }

    /// One design of the file, or the house as it stands where no design has that name, with
    /// settings laid over it; the other designs are not looked at.
    ///
    /// # Errors
    /// [`HouseError::Invalid`] with every fault that the settings bring.
    pub fn design_with(
        &self,
        design: &str,
        settings: &[(&str, &str)],
    ) -> Result<House, HouseError> {
        self.source.house(design, self.source.laid(settings))
    }

    /// The file of a house that stands as a design of this one describes it; nothing if there is no
    /// such design.
    pub fn as_design(&self, design: &str) -> Option<Self> {
        let mut source = self.source.clone();
        let at = source.designs.iter().position(|one| one.name == design)?;
        let mut entries = source.base.clone();
        let own = source.designs.get(at)?;
        source.lay(own, &mut entries, &mut vec![at], &mut 1, &mut Vec::new());
        source.base = entries;
        source.designs = Vec::new();
        source.house_file(Vec::new(), true).ok()
    }

    /// Whether another file says the same of a number as this one: as typed or, where it is not
    /// typed, as assumed. What hangs on another answer (the sun that a colour takes up) may differ
    /// without being typed in either.
    pub fn agrees_on(&self, other: &Self, key: &str) -> bool {
        let assumed = |file: &Self| -> Option<(String, [String; 2])> {
            let mut all = file.base.assumed.iter();
            let own = all.find(|one| one.field == key)?;
            Some((own.value.clone(), own.range.clone()))
        };
        self.typed(key) == other.typed(key) && assumed(self) == assumed(other)
    }

    /// The house as it stands, then its designs.
    pub fn all(&self) -> impl Iterator<Item = &House> {
        std::iter::once(&self.base).chain(&self.designs)
    }

    /// The house or design of a name.
    pub fn find(&self, design: &str) -> Option<&House> {
        self.all().find(|house| house.design == design)
    }

    /// The names of the owner's own in a group of tables, such as `fans` or `house.windows`, of the
    /// house and its designs.
    pub fn tables(&self, group: &str) -> Vec<String> {
        let changes = self.source.designs.iter().map(|design| &design.changes);
        let mut names: Vec<String> = Vec::new();
        for root in std::iter::once(&self.source.base).chain(changes) {
            for name in document::tables(root, group) {
                if !names.iter().any(|known| known == name) {
                    names.push(name.to_owned());
                }
            }
        }
        names
    }

    /// The file's path, as it was given.
    pub(super) fn path(&self) -> &Path {
        &self.source.path
    }

    /// The tree of the file without its designs.
    pub(super) fn entries(&self) -> &[Entry] {
        &self.source.base
    }

    /// The text of the file as typed.
    pub fn text(&self) -> &str {
        self.source.texts.first().map_or("", |text| &text.text)
    }
}

impl Source {
    /// Settings laid over those there are.
    fn laid(&self, settings: &[(&str, &str)]) -> Laid {
        let mut laid = Laid {
            texts: Vec::new(),
            entries: self.settings.clone(),
            troubles: Vec::new(),
        };
        for (key, value) in settings {
            let index = self.texts.len() + laid.texts.len();
            let text = format!("{key}={value}");
            laid.texts.push(Text {
                name: text.clone(),
                text: text.clone(),
            });
            let spot = Spot::new(index, 0..key.len());
            let path = document::split_key(key)
                .filter(|path| path.first().is_some_and(|first| first != "designs"));
            let Some(path) = path else {
                laid.troubles.push(Trouble {
                    spot,
                    key: (*key).to_owned(),
                    kind: FaultKind::Clash(Clash::Setting),
                });
                continue;
            };
            let node = document::read_setting(&text, key.len() + 1, index, 0);
            let over = document::nest(&path, &spot, node);
            document::overlay(&mut laid.entries, &over, SETTINGS);
        }
        laid
    }

    /// A text at the top of the file.
    fn text_of(&self, key: &str) -> Option<&str> {
        let entry = self.base.iter().find(|entry| entry.key == key)?;
        match &entry.node.value {
            Value::Text(text) if !text.trim().is_empty() => Some(text.trim()),
            _ => None,
        }
    }

    /// Checks and builds one design, or the house as it stands, with settings laid over it. Only what
    /// is wrong needs the texts, so that they are not copied for what is right.
    fn house(&self, design: &str, laid: Laid) -> Result<House, HouseError> {
        let Laid {
            texts,
            entries: settings,
            mut troubles,
        } = laid;
        let folder = self.path.parent().unwrap_or_else(|| Path::new(""));
        let name = self.text_of("name").unwrap_or(NAMELESS);
        let mut entries = self.base.clone();
        let at = self.designs.iter().position(|other| other.name == design);
        let at = at.and_then(|at| Some((at, self.designs.get(at)?)));
        let title = match at {
            Some((at, design)) => {
                self.lay(design, &mut entries, &mut vec![at], &mut 1, &mut troubles);
                design.name.as_str()
            }
            None => self.text_of("design").unwrap_or(AS_IT_STANDS),
        };
        document::overlay(&mut entries, &settings, SETTINGS);
        let (house, found) = one(&entries, title, name, true, folder);
        troubles.extend(found);
        if let Some(house) = house
            && troubles.is_empty()
        {
            return Ok(house);
        }
        let mut source = self.clone();
        source.texts.extend(texts);
        Err(HouseError::Invalid {
            faults: troubles.iter().map(|one| source.fault(one, None)).collect(),
            path: source.path,
        })
    }

    /// Checks and builds the house and every design; all faults of all of them come out together.
    fn house_file(self, mut troubles: Vec<Trouble>, whole: bool) -> Result<HouseFile, HouseError> {
        let folder = self.path.parent().unwrap_or_else(|| Path::new(""));
        let name = self.text_of("name").unwrap_or(NAMELESS).to_owned();
        let base_name = self.text_of("design").unwrap_or(AS_IT_STANDS).to_owned();
        let set = |mut entries: Vec<Entry>| {
            document::overlay(&mut entries, &self.settings, SETTINGS);
            entries
        };
        let (base, of_base) = one(&set(self.base.clone()), &base_name, &name, whole, folder);
        // What is read into a broken line is not worth telling.
        let line = |spot: &Spot| {
            let text = self.texts.get(spot.text).map_or("", |text| &text.text);
            (
                spot.text,
                Line::at(text, spot.range.start, spot.range.end).number,
            )
        };
        let broken: Vec<_> = troubles
            .iter()
            .filter(|t| t.key.is_empty())
            .map(|t| line(&t.spot))
            .collect();
        troubles.extend(
            of_base
                .into_iter()
                .filter(|trouble| !broken.contains(&line(&trouble.spot))),
        );
        let mut faults: Vec<Fault> = troubles
            .iter()
            .map(|trouble| self.fault(trouble, None))
            .collect();
        let mut designs = Vec::new();
        for (at, design) in self.designs.iter().enumerate() {
            let mut entries = self.base.clone();
            let mut seen = vec![at];
            let mut loops = Vec::new();
            let mut layer = 1;
            self.lay(design, &mut entries, &mut seen, &mut layer, &mut loops);
            let (house, found) = one(&set(entries), &design.name, &name, whole, folder);
            for trouble in loops.iter().chain(&found).filter(|trouble| {
                !troubles.contains(trouble) && !broken.contains(&line(&trouble.spot))
            }) {
                let fault = self.fault(trouble, Some(&design.name));
                let same = |other: &Fault| {
                    Fault {
                        design: fault.design.clone(),
                        ..other.clone()
                    } == fault
                };
                if !faults.iter().any(same) {
                    faults.push(fault);
                }
            }
            designs.extend(house);
        }
        faults.sort_by_key(|fault| {
            (
                fault.file != self.texts.first().map_or(String::new(), |t| t.name.clone()),
                fault.line,
                fault.column,
            )
        });
        match base {
            Some(base) if faults.is_empty() && designs.len() == self.designs.len() => {
                Ok(HouseFile {
                    base,
                    designs,
                    source: self,
                })
            }
            _ => Err(HouseError::Invalid {
                path: self.path,
                faults,
            }),
        }
    }

    /// Lays a design, after those it starts from, over the house.
    fn lay(
        &self,
        design: &Design,
        entries: &mut Vec<Entry>,
        seen: &mut Vec<usize>,
        layer: &mut u32,
        troubles: &mut Vec<Trouble>,
    ) {
        for (name, spot) in &design.with {
            let key = format!("designs.{}.with", design.name);
            match self.designs.iter().position(|other| other.name == *name) {
                Some(at) if seen.contains(&at) => {
                    troubles.push(Trouble {
                        spot: spot.clone(),
                        key,
                        kind: FaultKind::Clash(Clash::DesignLoop),
                    });
                }
                Some(at) => {
                    seen.push(at);
                    if let Some(other) = self.designs.get(at) {
                        self.lay(other, entries, seen, layer, troubles);
                    }
                    seen.pop();
                }
                None => {
                    let defined: Vec<String> = self
                        .designs
                        .iter()
                        .map(|other| other.name.clone())
                        .collect();
                    let near = nearest(name, defined.iter().map(String::as_str)).map(str::to_owned);
                    let kind = FaultKind::Undefined {
                        found: name.clone(),
                        group: "designs",
                        defined,
                        near,
                    };
                    troubles.push(Trouble {
                        spot: spot.clone(),
                        key,
                        kind,
                    });
                }
            }
        }
        document::overlay(entries, &design.changes, *layer);
        *layer += 1;
    }

    /// A trouble with its line looked up.
    fn fault(&self, trouble: &Trouble, design: Option<&str>) -> Fault {
        let empty = Text {
            name: String::new(),
            text: String::new(),
        };
        let text = self.texts.get(trouble.spot.text).unwrap_or(&empty);
        let line = Line::at(&text.text, trouble.spot.range.start, trouble.spot.range.end);
        Fault {
            key: trouble.key.clone(),
            kind: trouble.kind.clone(),
            file: text.name.clone(),
            line: line.number,
            column: line.column,
            design: design.map(str::to_owned),
            source_line: line.text,
            marked: line.marked,
        }
    }
}

/// One house: walked and, if every answer is sound by itself, built.
fn one(
    entries: &[Entry],
    design: &str,
    name: &str,
    whole: bool,
    folder: &Path,
) -> (Option<House>, Vec<Trouble>) {
    let answers = walk(entries, whole);
    let mut troubles = answers.troubles.clone();
    if !whole {
        return (None, troubles);
    }
    let (house, clashes) = build(&answers, design, name, folder);
    for clash in clashes {
        if !troubles.contains(&clash) {
            troubles.push(clash);
        }
    }
    (house, troubles)
}

/// Takes the designs out of the tree.
fn take_designs(base: &mut Vec<Entry>, troubles: &mut Vec<Trouble>) -> Vec<Design> {
    let Some(at) = base.iter().position(|entry| entry.key == "designs") else {
        return Vec::new();
    };
    let entry = base.remove(at);
    let mut trouble = |node: &Node, key: String, accepts: &str| {
        let kind = FaultKind::WrongKind {
            found: node.value.kind(),
            accepts: accepts.to_owned(),
        };
        troubles.push(Trouble {
            spot: node.spot.clone(),
            key,
            kind,
        });
    };
    let Value::Table(tables) = entry.node.value else {
        trouble(
            &entry.node,
            "designs".to_owned(),
            "tables with names of your own, like [designs.fans]",
        );
        return Vec::new();
    };
    let mut designs = Vec::new();
    for table in tables {
        let key = format!("designs.{}", table.key);
        let Value::Table(mut changes) = table.node.value else {
            trouble(
                &table.node,
                key,
                "a table that states only what differs from the house",
            );
            continue;
        };
        let mut with = Vec::new();
        if let Some(at) = changes
            .iter()
            .position(|entry| entry.key == DESIGN_WITH.key)
        {
            let entry = changes.remove(at);
            let key = format!("{key}.{}", DESIGN_WITH.key);
            let items = match entry.node.value {
                Value::List(items) => items,
                _ => vec![entry.node],
            };
            for item in items {
                match item.value {
                    Value::Text(name) => with.push((name, item.spot)),
                    _ => trouble(&item, key.clone(), &accepts(&DESIGN_WITH)),
                }
            }
        }
        designs.push(Design {
            name: table.key,
            spot: table.key_spot,
            with,
            changes,
        });
    }
    for design in designs
        .iter()
        .filter(|design| design.with.is_empty() && design.changes.is_empty())
    {
        let key = format!("designs.{}", design.name);
        let kind = FaultKind::Clash(Clash::NothingChanged);
        troubles.push(Trouble {
            spot: design.spot.clone(),
            key,
            kind,
        });
    }
    designs
}

/// A fault of the notation with what was probably meant.
fn notation(fault: &SyntaxFault, text: &str) -> Trouble {
    let line = Line::at(text, fault.spot.range.start, fault.spot.range.end);
    let value = line.text.split_once('=').map(|(_, value)| value);
    let value = value.map(|value| value.split('#').next().unwrap_or_default().trim());
    let message = &fault.message;
    let hint = if line.text.contains(['“', '”', '„', '‘', '’']) {
        Some(Hint::CurlyQuotes)
    } else if message.contains("duplicate") {
        Some(Hint::Twice)
    } else if value == Some("") {
        Some(Hint::NoValue)
    } else if value.is_some_and(is_decimal_comma) {
        Some(Hint::Comma)
    } else if message.contains("must be quoted") {
        Some(Hint::Quotes)
    } else if message.contains("unclosed table") {
        Some(Hint::Bracket)
    } else if message.contains("string") && message.ends_with("expected `\"`") {
        Some(Hint::OpenQuote)
    } else if message.contains("key with no value") {
        Some(Hint::NoEquals)
    } else {
        None
    };
    Trouble {
        spot: fault.spot.clone(),
        key: String::new(),
        kind: FaultKind::Notation {
            message: message.clone(),
            hint,
        },
    }
}

fn is_decimal_comma(value: &str) -> bool {
    let digits = |text: &str| !text.is_empty() && text.chars().all(|c| c.is_ascii_digit());
    value
        .split_once(',')
        .is_some_and(|(whole, part)| digits(whole) && digits(part))
}

/// A line of a text and a part of it.
struct Line {
    number: usize,
    column: usize,
    text: String,
    marked: (usize, usize),
}

impl Line {
    /// The line in which a byte range begins; the range is cut at the line's end.
    fn at(text: &str, start: usize, end: usize) -> Self {
        let mut start = start.min(text.len());
        while !text.is_char_boundary(start) {
            start -= 1;
        }
        let before = text.get(..start).unwrap_or_default();
        let begin = before.rfind('\n').map_or(0, |at| at + 1);
        let rest = text.get(begin..).unwrap_or_default();
        let line = rest
            .split('\n')
            .next()
            .unwrap_or_default()
            .trim_end_matches('\r');
        let from = (start - begin).min(line.len());
        let mut to = end.saturating_sub(begin).clamp(from, line.len());
        while !line.is_char_boundary(to) {
            to -= 1;
        }
        let to = if to > from {
            to
        } else {
            line.get(from..)
                .and_then(|rest| rest.chars().next())
                .map_or(from, |c| from + c.len_utf8())
        };
        Self {
            number: before.matches('\n').count() + 1,
            column: line.get(..from).unwrap_or_default().chars().count() + 1,
            text: line.to_owned(),
            marked: (from, to),
        }
    }
}
