//! Which part of the house each way for air is, in words.

use crate::house::{House, Opening, Place};
use crate::network::AirPath;
use crate::run::Outcome;

/// What a way for air leads through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Through {
    /// An opening of the attic, by its index in the house.
    Opening(usize),
    /// Fans, by the index of their group.
    Fans(usize),
    /// Holes of a fan group without fans.
    SpareHoles,
    /// Leaks of the attic's shell.
    AtticLeak,
    /// Leaks of the ceiling.
    Ceiling,
    /// Leaks of the rooms' outer walls.
    Wall,
    /// Windows opened by rule.
    Window,
    /// Vents of the crawl space.
    Crawl,
    /// The channel behind a hung foil or under a covering.
    Channel,
}

/// For each path of a run what it leads through. Paths of openings follow the order of the house's
/// openings, one or two each.
pub(super) fn through(house: &House, outcome: &Outcome) -> Vec<Through> {
    let mut next = 0;
    outcome
        .paths
        .iter()
        .map(|path| {
            if let Some((group, _)) = path.fans {
                return Through::Fans(group);
            }
            let name = path.name.as_str();
            match (path.from, path.to) {
                _ if name.starts_with("attic-leak") => Through::AtticLeak,
                ("living", _) | (_, "living") if name.starts_with("ceiling") => Through::Ceiling,
                _ if name.ends_with("-channel") || name.ends_with("-space") => Through::Channel,
                (_, "crawl") | ("crawl", _) => Through::Crawl,
                (_, "living") | ("living", _) if name.starts_with("windows") => Through::Window,
                (_, "living") | ("living", _) => Through::Wall,
                _ if name.ends_with("-unused") => Through::SpareHoles,
                _ => {
                    let found = (next..house.openings.len())
                        .find(|index| is_path_of(path, &house.openings[*index]));
                    match found {
                        Some(index) => {
                            // The lower half of a tall opening is followed by its upper half.
                            next = if name.ends_with("-low") {
                                index
                            } else {
                                index + 1
                            };
                            Through::Opening(index)
                        }
                        None => Through::SpareHoles,
                    }
                }
            }
        })
        .collect()
}

/// Whether a path is named after an opening.
fn is_path_of(path: &AirPath, opening: &Opening) -> bool {
    let stem = path.name.as_str();
    let half = stem
        .strip_suffix("-low")
        .or_else(|| stem.strip_suffix("-high"));
    let name = plain(&opening.name);
    name == stem || half == Some(name.as_str())
}

/// A name in the house file as names of paths have it: without its table, with hyphens.
pub(super) fn plain(name: &str) -> String {
    let own = name.split_once('.').map_or(name, |(_, own)| own);
    own.replace(['_', '.', ' '], "-")
}

/// Where an opening is, in the plural.
pub(super) fn place_words(place: Place) -> &'static str {
    match place {
        Place::Soffit => "eave vents",
        Place::Ridge => "ridge vent",
        Place::Gable => "gable vents",
        Place::Slope => "roof vents",
        Place::Ceiling => "ceiling",
    }
}
