//! Sourced tables of what houses are made of.
//!
//! Every row names its source. "From memory" and "common practice, no source" are said where
//! they are so.

mod assemblies;
mod barriers;
mod coverings;
mod glazing;
mod ground;
mod materials;
mod vents;

pub use assemblies::{FLOORS, GABLE_WALLS, LayerRow, MASSES, MassClass, WALLS, Wall, WallRow};
pub use barriers::{BARRIERS, BarrierRow, DUSTS, Dust};
pub use coverings::{COLOURS, COVERINGS, Colour, CoveringRow, Surface, colour, colours_of};
pub use glazing::{GLAZINGS, Glazing};
pub use ground::{CITY, OPEN, SOILS, SUBURBAN, SoilRow, TERRAINS, TerrainRow};
pub use materials::{INSULATIONS, Insulation, MATERIALS, Material};
pub use vents::{LOUVRES, Mesh, SCREENS};

/// A named and sourced row of a table.
pub trait Row {
    /// Name by which a house file calls it.
    fn name(&self) -> &'static str;
    /// Where its numbers come from.
    fn source(&self) -> &'static str;
}

macro_rules! rows {
    ($($row:ty),*) => {$(
        impl crate::catalog::Row for $row {
            fn name(&self) -> &'static str { self.name }
            fn source(&self) -> &'static str { self.source }
        }
    )*};
}
use rows;

/// The row of a sorted table with a name.
pub fn find<R: Row>(rows: &'static [R], name: &str) -> Option<&'static R> {
    let at = rows.binary_search_by(|row| row.name().cmp(name)).ok()?;
    rows.get(at)
}

/// The names of a table.
pub fn names<R: Row>(rows: &'static [R]) -> impl Iterator<Item = &'static str> {
    rows.iter().map(Row::name)
}

/// The candidate most like a word that was typed, if any is like it enough to be meant.
pub fn nearest<'a>(typed: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let typed = typed.to_lowercase();
    candidates
        .into_iter()
        .map(|name| {
            let parts = name.split(['-', '_', ' ']).filter(|part| part.len() > 2);
            let part = parts
                .map(|part| strsim::jaro_winkler(&typed, part) - 0.05)
                .fold(0.0, f64::max);
            let slip = typed.len() > 2 && strsim::osa_distance(&typed, name) == 1;
            let slip = if slip { 0.85 } else { 0.0 };
            (name, strsim::jaro_winkler(&typed, name).max(part).max(slip))
        })
        .filter(|&(_, score)| score >= 0.8)
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(name, _)| name)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check<R: Row>(rows: &'static [R]) {
        assert!(!rows.is_empty());
        assert!(
            rows.is_sorted_by(|a, b| a.name() < b.name()),
            "not sorted by name"
        );
        for row in rows {
            assert!(row.source().len() > 8, "{} has no source", row.name());
            let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
            assert!(
                row.name().chars().all(plain),
                "{} is not a plain name",
                row.name()
            );
            assert_eq!(find(rows, row.name()).map(Row::name), Some(row.name()));
        }
        assert!(find(rows, "no such thing").is_none());
    }

    #[test]
    fn every_table_is_sorted_named_and_sourced() {
        check(MATERIALS);
        check(INSULATIONS);
        check(COVERINGS);
        check(WALLS);
        check(GABLE_WALLS);
        check(FLOORS);
        check(MASSES);
        check(BARRIERS);
        check(DUSTS);
        check(GLAZINGS);
        check(SOILS);
        check(TERRAINS);
        check(SCREENS);
        check(LOUVRES);
    }

    #[test]
    fn the_nearest_name_is_found_or_none() {
        assert_eq!(
            nearest("asfalt-shingle", names(COVERINGS)),
            Some("asphalt-shingle")
        );
        assert_eq!(
            nearest("shingles", names(COVERINGS)),
            Some("asphalt-shingle")
        );
        assert_eq!(nearest("hieght", ["height", "width"]), Some("height"));
        assert_eq!(nearest("cmf", ["L/s", "cfm"]), Some("cfm"));
        assert_eq!(nearest("zzz", ["height", "width"]), None);
    }
}
