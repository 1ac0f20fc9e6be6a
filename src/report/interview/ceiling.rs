//! The attic floor: insulation, parts without attic, foam under the roof, no ceiling at all.

use std::fmt::Write as _;

use crate::units::Dimension;

use super::Answers;
use super::phrase::{self, Item, Words, Wrong, both, once, within};
use super::question::Question;
use super::writing::Page;

/// What is between the rooms and the attic.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Ceiling {
    none: bool,
    resistance: Option<String>,
    thickness: Option<String>,
    kind: Option<&'static str>,
    /// `garage` or `porch`, of which the roof is the ceiling.
    open: Option<&'static str>,
    /// Insulated under the roof and closed to outdoors.
    foamed: bool,
    /// Part of the plan without attic.
    cathedral: Option<String>,
}

impl Ceiling {
    /// Whether the attic is closed to outdoors on purpose.
    pub(super) fn is_sealed(&self) -> bool {
        self.foamed
    }

    /// Whether there are no rooms below, but outdoors.
    pub(super) fn is_porch(&self) -> bool {
        self.open == Some("porch")
    }
}

pub(super) const CEILING: Question = Question::at(
    "the attic floor",
    "insulation",
    "What insulation lies on the attic floor, and how much? Push a ruler down to the ceiling board, \
     or read the R-value on it. Flakes like small pebbles may hold asbestos: do not touch them.",
    "\"R-19 batts\", \"6 in cellulose\", \"none\"",
    read,
)
.choosing(&[
    ("fibreglass-batt", "yellow or pink blankets"),
    ("fibreglass-loose", "fluffy and loose"),
    ("cellulose", "grey, like shredded paper"),
    ("mineral-wool", "brown or grey wool"),
    ("garage, porch", "no ceiling: one sees the roof from below"),
    ("R-20 foam", "under the roof, the attic closed on purpose"),
    ("200 ft2 cathedral", "beside the rest: a part without attic"),
]);

const WORDS: &Words = &[
    (
        "none",
        &["no", "nothing", "bare", "uninsulated", "no insulation"],
    ),
    (
        "fibreglass-batt",
        &[
            "batt",
            "batting",
            "blanket",
            "pink",
            "yellow",
            "fibreglass",
            "fiberglass",
            "glass wool",
            "fiberglass batt",
            "pink batt",
        ],
    ),
    (
        "fibreglass-loose",
        &[
            "loose fibreglass",
            "loose fiberglass",
            "blown fibreglass",
            "blown fiberglass",
            "blown in fiberglass",
            "fiberglass loose",
            "loose",
            "fluffy",
            "blown in",
            "blown",
        ],
    ),
    (
        "cellulose",
        &[
            "shredded paper",
            "paper",
            "blown cellulose",
            "loose cellulose",
            "blown in cellulose",
        ],
    ),
    (
        "mineral-wool",
        &["rock wool", "rockwool", "stone wool", "wool"],
    ),
    (
        "garage",
        &[
            "no ceiling garage",
            "garage no ceiling",
            "no ceiling",
            "no ceiling in garage",
            "open",
            "workshop",
            "barn",
        ],
    ),
    (
        "porch",
        &[
            "no ceiling porch",
            "porch no ceiling",
            "carport",
            "open porch",
        ],
    ),
    (
        "foam",
        &[
            "spray foam",
            "sprayed foam",
            "foamed",
            "sealed",
            "foam under the roof",
            "foam under roof",
            "spray foam under the roof",
            "spray foam on the roof",
        ],
    ),
    (
        "cathedral",
        &[
            "without attic",
            "knee wall",
            "knee walls",
            "vaulted",
            "no attic",
            "cathedral ceiling",
            "cathedral ceilings",
        ],
    ),
    (
        "",
        &[
            "insulation",
            "thick",
            "deep",
            "under the roof",
            "under roof",
            "ceiling",
            "rafters",
            "between",
            "deck",
            "closed",
            "attic",
            "laid",
            "between joists",
        ],
    ),
];

fn read(typed: &str, answers: &mut Answers) -> Result<String, Wrong> {
    let mut ceiling = Ceiling::default();
    let dimensions = [
        Dimension::ThermalResistance,
        Dimension::Length,
        Dimension::Area,
    ];
    for piece in phrase::pieces(typed) {
        for item in phrase::items(&piece.text, WORDS, &dimensions)? {
            match item {
                Item::Quantity(Dimension::ThermalResistance, text) => {
                    let text = within(&text, Dimension::ThermalResistance, [0.1, 17.0])?;
                    once(&mut ceiling.resistance, text, "the R-value")?;
                }
                Item::Quantity(Dimension::Length, text) => {
                    let text = within(&text, Dimension::Length, [0.01, 1.0])?;
                    once(&mut ceiling.thickness, text, "the thickness")?;
                }
                Item::Quantity(_, text) => {
                    let text = within(&text, Dimension::Area, [0.1, 2000.0])?;
                    once(&mut ceiling.cathedral, text, "the part without attic")?;
                }
                Item::Word("none") => ceiling.none = true,
                Item::Word("foam") => ceiling.foamed = true,
                Item::Word(open @ ("garage" | "porch")) => {
                    if ceiling.open.is_none() || open == "porch" {
                        ceiling.open = Some(open);
                    }
                }
                Item::Word("cathedral") => {}
                Item::Word(kind) => once(&mut ceiling.kind, kind, "the kind")?,
                Item::Number(number) if number < f64::EPSILON => ceiling.none = true,
                _ => return Err("a thickness, an R-value or none is needed".into()),
            }
        }
    }
    let any = ceiling.resistance.is_some() || ceiling.thickness.is_some();
    if ceiling == Ceiling::default() {
        return Err("a thickness, an R-value or none is needed".into());
    }
    if (ceiling.none || ceiling.open.is_some()) && (any || ceiling.kind.is_some()) {
        return Err("insulation does not go with none, or with no ceiling".into());
    }
    if ceiling.foamed && ceiling.resistance.is_none() {
        return Err("how much foam, as an R-value: 3 in are about R-11 or R-20 by its kind".into());
    }
    let echo = ceiling.said();
    answers.ceiling = Some(ceiling);
    Ok(echo)
}

impl Ceiling {
    fn said(&self) -> String {
        let resistance = self.resistance.as_ref();
        let mut said = match (self.open, self.foamed) {
            (Some("porch"), _) => "no ceiling, and outdoors below".to_owned(),
            (Some(_), _) => "no ceiling: the roof is seen from below".to_owned(),
            (None, true) => "foam under the roof, attic closed to outdoors; floor bare".to_owned(),
            _ if self.none => "none".to_owned(),
            _ => {
                let thickness = self.thickness.as_ref();
                let much = [
                    resistance.map(|text| both(text, Dimension::ThermalResistance)),
                    thickness.map(|text| both(text, Dimension::Length)),
                ];
                let much: Vec<String> = much.into_iter().flatten().collect();
                let much = if much.is_empty() {
                    "amount not known".to_owned()
                } else {
                    much.join(", ")
                };
                format!("{much}, {}", self.kind.unwrap_or("kind not known"))
            }
        };
        if self.foamed
            && let Some(resistance) = resistance
        {
            let _ = write!(said, ", {}", both(resistance, Dimension::ThermalResistance));
        }
        if let Some(area) = &self.cathedral {
            let _ = write!(said, "; {} without attic", both(area, Dimension::Area));
        }
        said
    }
}

/// What belongs to the table of the roof.
pub(super) fn write_under_roof(page: &mut Page<'_>) {
    if let Some(ceiling) = page.answers.ceiling.clone()
        && ceiling.foamed
    {
        page.maybe("underside_insulation", ceiling.resistance.as_deref());
        page.pair("underside_material", "spray-foam");
    }
}

/// Attic and ceiling.
pub(super) fn write(page: &mut Page<'_>) {
    page.table("attic");
    let ceiling = page.answers.ceiling.clone().unwrap_or_default();
    if page.answers.roof.as_ref().and_then(|roof| roof.form) == Some("hip") {
        page.remark("A hip roof has no gable walls.");
    } else {
        page.remark("Taken as the walls below.");
        let wall = super::walls::gable(page.answers);
        page.maybe("gable_wall", wall);
    }
    if ceiling.foamed {
        page.bare("sealed", "true");
    }
    if let Some(area) = &ceiling.cathedral {
        page.pair("excluded_area", area);
    }
    page.table("ceiling");
    page.asked("insulation");
    if ceiling.open.is_some() {
        page.bare("open", "true");
    } else if ceiling.none || ceiling.foamed {
        page.pair("insulation", "none");
    } else {
        match (&ceiling.resistance, &ceiling.thickness) {
            (Some(text), None) => page.pair("insulation", text),
            (None, Some(text)) => page.pair("insulation_thickness", text),
            (Some(resistance), Some(thickness)) => {
                page.pair("insulation", resistance);
                page.pair("insulation_thickness", thickness);
            }
            (None, None) => page.maybe("insulation", None),
        }
        page.maybe("insulation_material", ceiling.kind);
    }
}
