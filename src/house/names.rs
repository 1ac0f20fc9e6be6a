//! The catalogues by which a house file calls things.

use crate::catalog;
use crate::catalog::Row;

/// A table of names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Catalogue {
    Barrier,
    Covering,
    Dust,
    Floor,
    GableWall,
    Glazing,
    Insulation,
    Louvre,
    Mass,
    Material,
    Screen,
    Soil,
    Terrain,
    Wall,
}

impl Catalogue {
    /// What its rows are, for a message.
    pub(super) fn what(self) -> &'static str {
        match self {
            Self::Barrier => "barrier product",
            Self::Covering => "roof covering",
            Self::Dust => "amount of dust",
            Self::Floor => "floor covering",
            Self::GableWall => "gable wall",
            Self::Glazing => "kind of window",
            Self::Insulation => "insulation",
            Self::Louvre => "louvre",
            Self::Mass => "mass class",
            Self::Material => "material",
            Self::Screen => "screen",
            Self::Soil => "soil",
            Self::Terrain => "terrain",
            Self::Wall => "wall",
        }
    }

    /// Whether the file's own `[materials]` may stand in.
    pub(super) fn takes_materials(self) -> bool {
        matches!(self, Self::Covering | Self::Insulation | Self::Material)
    }

    /// Its names.
    pub(super) fn names(self) -> Vec<&'static str> {
        fn of<R: Row>(rows: &'static [R]) -> Vec<&'static str> {
            catalog::names(rows).collect()
        }
        match self {
            Self::Barrier => of(catalog::BARRIERS),
            Self::Covering => of(catalog::COVERINGS),
            Self::Dust => of(catalog::DUSTS),
            Self::Floor => of(catalog::FLOORS),
            Self::GableWall => of(catalog::GABLE_WALLS),
            Self::Glazing => of(catalog::GLAZINGS),
            Self::Insulation => of(catalog::INSULATIONS),
            Self::Louvre => of(catalog::LOUVRES),
            Self::Mass => of(catalog::MASSES),
            Self::Material => of(catalog::MATERIALS),
            Self::Screen => of(catalog::SCREENS),
            Self::Soil => of(catalog::SOILS),
            Self::Terrain => of(catalog::TERRAINS),
            Self::Wall => of(catalog::WALLS),
        }
    }

    /// The name in the table that a typed one stands for: letters in either case, spaces or
    /// underscores for hyphens.
    pub(super) fn canonical(self, typed: &str) -> Option<&'static str> {
        let plain = plain(typed);
        self.names().into_iter().find(|name| *name == plain)
    }

    /// Whether a name is in the table.
    #[cfg(test)]
    pub(super) fn has(self, name: &str) -> bool {
        self.canonical(name).is_some()
    }
}

/// A name in lower case with hyphens.
pub(super) fn plain(typed: &str) -> String {
    typed.trim().to_lowercase().replace([' ', '_'], "-")
}
