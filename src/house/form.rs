//! Asking the answers: what was given, and what is assumed where nothing was.

use crate::catalog;
use crate::catalog::MATERIALS;
use crate::physics::conduction::Layer;
use crate::units::Dimension;

use super::clash::Clash;
use super::document::Spot;
use super::fault::FaultKind;
use super::parts::{Assumption, Spread};
use super::schema::{self, Field, Kind, Need};
use super::walk::{Answer, Answers, Found, Trouble};
use super::written;

/// What a layer is made of.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stuff {
    /// Conductivity, W/(m K).
    pub(super) conductivity_w_mk: f64,
    /// Density, kg/m³.
    pub(super) density_kg_m3: f64,
    /// Specific heat, J/(kg K).
    pub(super) specific_heat_j_kgk: f64,
    /// By what share of the conductivity it grows, 1/K.
    pub(super) growth_per_k: f64,
}

impl Stuff {
    /// A layer of it.
    pub(super) fn layer(self, thickness_m: f64) -> Layer {
        let Self {
            conductivity_w_mk,
            density_kg_m3,
            specific_heat_j_kgk,
            growth_per_k,
        } = self;
        Layer::Solid {
            thickness_m,
            conductivity_w_mk,
            density_kg_m3,
            specific_heat_j_kgk,
            growth_per_k,
        }
    }

    /// A layer of a resistance, m² K/W.
    pub(super) fn layer_of_resistance(self, resistance_m2k_w: f64) -> Layer {
        self.layer(resistance_m2k_w * self.conductivity_w_mk)
    }
}

/// Answers that are being made into a house.
pub(super) struct Form<'a> {
    answers: &'a Answers,
    /// What does not fit together.
    pub(super) troubles: Vec<Trouble>,
    /// What was assumed.
    pub(super) assumed: Vec<Assumption>,
}

impl<'a> Form<'a> {
    pub(super) fn new(answers: &'a Answers) -> Self {
        Self {
            answers,
            troubles: Vec::new(),
            assumed: Vec::new(),
        }
    }

    /// The names of the tables in a group, in the order of the file.
    pub(super) fn names(&self, group: &str) -> Vec<String> {
        self.answers.names(group)
    }

    /// Whether a table is there.
    pub(super) fn has_table(&self, path: &str) -> bool {
        self.answers.tables.contains_key(path)
    }

    /// The answer to a key, "unknown" included.
    pub(super) fn answer(&self, key: &str) -> Option<&'a Answer> {
        self.answers.by_key.get(key)
    }

    /// Whether a key has an answer other than "unknown".
    pub(super) fn is_given(&self, key: &str) -> bool {
        self.answer(key)
            .is_some_and(|answer| answer.found != Found::Unknown)
    }

    /// Whether an answer was given with, or after, another: an answer laid over the house by a
    /// design makes older answers that do not go with it void, not wrong.
    pub(super) fn is_with(&self, key: &str, other: &str) -> bool {
        let layer = |key: &str| self.answer(key).map(|answer| answer.layer);
        self.is_given(key) && layer(key) >= layer(other)
    }

    /// What was typed at a key.
    pub(super) fn typed(&self, key: &str) -> Option<String> {
        Some(self.answer(key)?.typed.clone())
    }

    /// Whether a key was answered in the very layer of another: by the house, or by the same design.
    pub(super) fn is_of_layer(&self, key: &str, other: &str) -> bool {
        let layer = |key: &str| self.answer(key).map(|answer| answer.layer);
        layer(key) == layer(other)
    }

    /// The keys at which numbers were given.
    pub(super) fn number_keys(&self) -> Vec<String> {
        let is_number = |(key, answer): (&String, &Answer)| {
            matches!(answer.found, Found::Number(_)).then(|| key.clone())
        };
        self.answers.by_key.iter().filter_map(is_number).collect()
    }

    /// A number that was given.
    pub(super) fn given(&self, key: &str) -> Option<f64> {
        match self.answer(key)?.found {
            Found::Number(value) => Some(value),
            _ => None,
        }
    }

    /// A number: given, else the schema's default, else the schema's guess, which is noted.
    pub(super) fn number(&mut self, key: &str) -> Option<f64> {
        if let Some(value) = self.given(key) {
            return Some(value);
        }
        if self.is_faulty(key) {
            return None;
        }
        let field = field(key)?;
        let stated = self.answer(key).is_some();
        match field.need {
            Need::Default(value) => Some(value),
            Need::Stated(_) if !stated => None,
            Need::Guess(guess) | Need::Stated(guess) => {
                let dimension = match field.kind {
                    Kind::Quantity(dimension) => dimension,
                    Kind::Insulation => Dimension::ThermalResistance,
                    _ => Dimension::Fraction,
                };
                Some(self.assume(key, guess.likely, dimension, guess.source))
            }
            _ => None,
        }
    }

    /// A whole number.
    pub(super) fn count(&mut self, key: &str) -> Option<u32> {
        let value = self.number(key)?.round();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "within the range"
        )]
        (0.0..1e6).contains(&value).then_some(value as u32)
    }

    /// A word that was given.
    pub(super) fn given_word(&self, key: &str) -> Option<&'static str> {
        match self.answer(key)?.found {
            Found::Word(word) => Some(word),
            _ => None,
        }
    }

    /// A word: given, else the schema's guess, which is noted.
    pub(super) fn word(&mut self, key: &str) -> Option<&'static str> {
        if let Some(word) = self.given_word(key) {
            return Some(word);
        }
        if self.is_given(key) || self.is_faulty(key) {
            return None;
        }
        let stated = self.answer(key).is_some();
        match field(key)?.need {
            Need::StatedWord(_) if !stated => None,
            Need::GuessWord(guess) | Need::StatedWord(guess) => {
                Some(self.assume_word(key, guess.likely, guess.source))
            }
            _ => None,
        }
    }

    /// Text that was given.
    pub(super) fn text(&self, key: &str) -> Option<&'a str> {
        match &self.answer(key)?.found {
            Found::Text(text) => Some(text),
            _ => None,
        }
    }

    /// A flag that was given.
    pub(super) fn flag(&self, key: &str) -> Option<bool> {
        match self.answer(key)?.found {
            Found::Flag(flag) => Some(flag),
            _ => None,
        }
    }

    /// A number that was given, else what is likely, which is noted.
    pub(super) fn likely(
        &mut self,
        key: &str,
        likely: [f64; 3],
        dimension: Dimension,
        source: &str,
    ) -> f64 {
        self.given(key)
            .unwrap_or_else(|| self.assume(key, likely, dimension, source))
    }

    /// Notes an assumption and returns its value.
    pub(super) fn assume(
        &mut self,
        key: &str,
        [value, low, high]: [f64; 3],
        dimension: Dimension,
        source: &str,
    ) -> f64 {
        let text = |value: f64| written::quantity(value, dimension);
        let spread = Spread::Number {
            dimension,
            value,
            low,
            high,
        };
        self.note(key, text(value), [text(low), text(high)], source, spread);
        value
    }

    /// Notes an assumption that is a word and returns it. Where the key takes one of a few words,
    /// any of them may be true; of a longer list, these.
    pub(super) fn assume_word(
        &mut self,
        key: &str,
        [value, low, high]: [&'static str; 3],
        source: &str,
    ) -> &'static str {
        let words = match field(key).map(|field| field.kind) {
            Some(Kind::Words(words)) => words,
            _ => &[],
        };
        let mut cases: Vec<String> = Vec::new();
        for word in [value, low, high].iter().chain(words) {
            if !cases.iter().any(|case| case == word) {
                cases.push((*word).to_owned());
            }
        }
        self.note(
            key,
            value.to_owned(),
            [low.to_owned(), high.to_owned()],
            source,
            Spread::Cases(cases),
        );
        value
    }

    fn note(&mut self, key: &str, value: String, range: [String; 2], source: &str, spread: Spread) {
        if self.assumed.iter().any(|note| note.field == key) {
            return;
        }
        let source = source.to_owned();
        self.assumed.push(Assumption {
            field: key.to_owned(),
            value,
            range,
            source,
            spread,
            together: Vec::new(),
        });
    }

    /// Notes a fault at a key, or at its table where the key has no answer.
    pub(super) fn trouble(&mut self, key: &str, kind: FaultKind) {
        let spot = self.spot(key);
        self.troubles.push(Trouble {
            spot,
            key: key.to_owned(),
            kind,
        });
    }

    /// Notes answers that do not fit together, unless one of them has a fault by itself.
    pub(super) fn clash(&mut self, key: &str, clash: Clash) {
        let table = key.rsplit_once('.').map_or("", |(table, _)| table);
        if let Clash::OneOf { keys } = &clash {
            if !keys
                .iter()
                .any(|other| self.is_faulty(&format!("{table}.{other}")))
            {
                self.trouble(table, FaultKind::Clash(clash));
            }
        } else if !self.is_faulty(key) {
            self.trouble(key, FaultKind::Clash(clash));
        }
    }

    /// Of several keys, the one that was answered last: by the design rather than by the house.
    pub(super) fn latest<'k>(&self, keys: &[&'k str]) -> &'k str {
        let layer = |key: &&&str| self.answer(key).map(|answer| answer.layer);
        keys.iter().rev().max_by_key(layer).copied().unwrap_or("")
    }

    /// Whether a key, or one below it, was found faulty by itself.
    pub(super) fn is_faulty(&self, key: &str) -> bool {
        self.answers.troubles.iter().any(|trouble| {
            let rest = trouble.key.strip_prefix(key);
            rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        })
    }

    /// Notes that a key is missing which another choice makes necessary.
    pub(super) fn missing(&mut self, key: &str) {
        let faulty = self.is_faulty(key);
        if let Some(field) = field(key).filter(|_| !faulty) {
            let kind = FaultKind::Missing {
                help: field.help,
                accepts: super::values::accepts(field),
            };
            self.trouble(key, kind);
        }
    }

    fn spot(&self, key: &str) -> Spot {
        if let Some(answer) = self.answer(key) {
            return answer.spot.clone();
        }
        if let Some(spot) = self.answers.tables.get(key) {
            return spot.clone();
        }
        let mut path = key;
        while let Some((table, _)) = path.rsplit_once('.') {
            if let Some(spot) = self.answers.tables.get(table) {
                return spot.clone();
            }
            path = table;
        }
        self.answers.tables.get(path).cloned().unwrap_or_default()
    }

    /// A layer of a material by name: the file's own, an insulation, or one of the table.
    pub(super) fn layer(&self, name: &str, thickness_m: f64) -> Option<Layer> {
        Some(self.material(name)?.layer(thickness_m))
    }

    /// A material by name.
    pub(super) fn material(&self, name: &str) -> Option<Stuff> {
        if self.has_table(&format!("materials.{name}")) {
            let get = |key: &str| self.given(&format!("materials.{name}.{key}"));
            return Some(Stuff {
                conductivity_w_mk: get("conductivity")?,
                density_kg_m3: get("density")?,
                specific_heat_j_kgk: get("specific_heat")?,
                growth_per_k: 0.0,
            });
        }
        let material = catalog::find(MATERIALS, name).map(|row| Stuff {
            conductivity_w_mk: row.conductivity_w_mk,
            density_kg_m3: row.density_kg_m3,
            specific_heat_j_kgk: row.specific_heat_j_kgk,
            growth_per_k: 0.0,
        });
        let insulation = || {
            catalog::find(catalog::INSULATIONS, name).map(|row| Stuff {
                conductivity_w_mk: row.conductivity_w_mk,
                density_kg_m3: row.density_kg_m3,
                specific_heat_j_kgk: row.specific_heat_j_kgk,
                growth_per_k: row.growth_per_k,
            })
        };
        material.or_else(insulation)
    }

    /// Layers from a list of material names and thicknesses.
    pub(super) fn stack<'b>(
        &self,
        layers: impl IntoIterator<Item = (&'b str, f64)>,
    ) -> Option<Vec<Layer>> {
        layers
            .into_iter()
            .map(|(name, thickness_m)| self.layer(name, thickness_m))
            .collect()
    }

    /// A board: a list of layers, or a material with the thickness of another key.
    pub(super) fn board(&mut self, key: &str, thickness_key: &str) -> Option<Vec<Layer>> {
        if let Some(Answer {
            found: Found::Layers(layers),
            ..
        }) = self.answer(key)
        {
            if self.is_with(thickness_key, key) {
                self.clash(thickness_key, Clash::NotWithLayers { list: last(key) });
            }
            return self.stack(
                layers
                    .iter()
                    .map(|(name, thickness_m)| (name.as_str(), *thickness_m)),
            );
        }
        let name = self.text(key).or_else(|| self.word(key))?.to_owned();
        let thickness_m = match (self.given(thickness_key), catalog::find(MATERIALS, &name)) {
            (Some(thickness_m), _) => thickness_m,
            (None, Some(row)) => {
                let usual_m = row.usual_thickness_m;
                let likely = [usual_m, usual_m * 0.75, usual_m * 1.5];
                let source = "usual thickness of that board; common practice, no source";
                self.assume(thickness_key, likely, Dimension::Length, source)
            }
            (None, None) => {
                self.missing(thickness_key);
                return None;
            }
        };
        Some(vec![self.layer(&name, thickness_m)?])
    }
}

/// The schema's field of a key.
pub(super) fn field(key: &str) -> Option<&'static Field> {
    let mut path: Vec<&str> = key.split('.').collect();
    let last = path.pop()?;
    schema::section(&path)?
        .fields
        .iter()
        .find(|field| field.key == last)
}

/// What a key of the house file means, as a house file's remarks and the list of keys tell it.
pub fn explained(key: &str) -> Option<&'static str> {
    field(key).map(|field| field.help)
}

/// The last part of a key, as the schema spells it.
fn last(key: &str) -> &'static str {
    field(key).map_or("this", |field| field.key)
}
