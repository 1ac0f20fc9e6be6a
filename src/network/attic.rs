//! Roof, gables, attic floor and barrier as nodes and links.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::elementary::sin;
use crate::house::{Barrier, BarrierPlace, Channel as Opens, House};
use crate::ode::Real;
use crate::physics::air_space::{AirSpace, ChannelFilm};
use crate::physics::airflow::{ChannelResistance, Element};
use crate::physics::conduction::Layer;
use crate::physics::convection::{
    FilmShares, OutsidePlate, Plate, Roughness, STANDARD_PRESSURE_PA,
};
use crate::physics::radiation::{exchange, parallel_planes_emittance};
use crate::physics::view_factors::{split_faces, with_bodies};

use super::AssemblyError;
use super::air::{ATTIC, Channel, PathPlan, Place, Riser};
use super::builder::{Builder, End};
use super::forcing::Input;
use super::links::{Film, Law, Speed};
use super::shape::{AtticFace, FaceKind, Shape, compass};

/// Emittance of the gable walls' outer side and of other outer walls (usual paint, from memory).
const OUTER_WALL_EMITTANCE: f64 = 0.9;

/// Emittance of an open plane with a room behind it: a cavity is nearly black.
const CAVITY_EMITTANCE: f64 = 0.97;

/// Part of an attic face that radiates with one emittance and belongs to one node.
#[derive(Debug, Clone)]
pub(super) struct Facet {
    pub(super) node: usize,
    pub(super) face: usize,
    pub(super) share: f64,
    pub(super) emittance: f64,
}

/// Rafters, struts and ties as one body spread through the attic.
#[derive(Debug, Clone, Copy)]
pub(super) struct Framing {
    pub(super) node: usize,
    pub(super) area_m2: f64,
    emittance: f64,
}

/// Nodes of the attic that other parts need.
pub(super) struct AtticNodes {
    pub(super) lower: usize,
    pub(super) upper: usize,
    /// Undersides of the ceiling, with their areas, m².
    pub(super) undersides: Vec<(usize, f64)>,
    /// Tops of the ceiling board on each path through it: where the ceiling's heat is read.
    pub(super) board_tops: Vec<usize>,
    pub(super) facets: Vec<Facet>,
    /// Timber in the attic air, if there is any.
    pub(super) framing: Option<Framing>,
    /// Radiosity of each facet per σT⁴ of each, for thermometers; the last row and column are the
    /// timber's, if there is any.
    pub(super) radiosity: nalgebra::DMatrix<f64>,
    /// Underside of the deck of each slope.
    pub(super) deck_undersides: Vec<usize>,
    pub(super) floor_tops: Vec<(usize, f64)>,
}

/// Heights above the ground.
#[derive(Debug, Clone, Copy)]
pub(super) struct Heights {
    /// Of the attic floor, m.
    pub(super) attic_floor_m: f64,
    /// Of the ridge, m.
    pub(super) ridge_m: f64,
}

pub(super) fn build<R: Real>(
    house: &House,
    shape: &Shape,
    heights: Heights,
    below: Option<[usize; 2]>,
    builder: &mut Builder<R>,
) -> Result<AtticNodes, AssemblyError> {
    // Air at 40 °C and sea level, 1.127 kg/m³ · 1006 J/(kg K): its few kJ/K set no result.
    let air_j_m3k = 1134.0;
    let lower = builder.node("attic_lower_air", shape.lower_volume_m3 * air_j_m3k, 0.0);
    let upper_volume = shape.volume_m3 - shape.lower_volume_m3;
    let upper = builder.node("attic_upper_air", upper_volume * air_j_m3k, 0.0);
    let mut attic = Attic {
        house,
        shape,
        heights,
        lower,
        upper,
        facets: Vec::new(),
        builder,
    };
    let mut deck_undersides = Vec::new();
    for (index, face) in shape.faces.iter().enumerate() {
        match face.kind {
            FaceKind::Slope => deck_undersides.push(attic.slope(index, face)?),
            FaceKind::Wall => attic.wall(index, face)?,
            FaceKind::Floor => {}
        }
    }
    let CeilingNodes {
        undersides,
        floor_tops,
        board_tops,
    } = match below {
        Some(below) => attic.open_floor(below),
        None => attic.floor()?,
    };
    let framing = attic.framing();
    let facets = attic.facets;
    let radiosity = radiate(shape, &facets, framing, builder)?;
    Ok(AtticNodes {
        lower,
        upper,
        undersides,
        board_tops,
        facets,
        framing,
        radiosity,
        deck_undersides,
        floor_tops,
    })
}

struct Attic<'a, R> {
    house: &'a House,
    shape: &'a Shape,
    heights: Heights,
    lower: usize,
    upper: usize,
    facets: Vec<Facet>,
    builder: &'a mut Builder<R>,
}

impl<R: Real> Attic<'_, R> {
    /// One roof slope with its covering, deck and foil; returns the underside of its deck.
    fn slope(&mut self, index: usize, face: &AtticFace) -> Result<usize, AssemblyError> {
        let roof = &self.house.roof;
        let area = face.area_m2;
        let below: Vec<Layer> = roof.underside.iter().chain(&roof.deck).copied().collect();
        let (underside, skin) = if let Some(battens) = &roof.battens {
            let stem = format!("{}_deck", face.name);
            let deck = self
                .builder
                .chain(&below, area, [&stem, "underside", "top"])?;
            let stem = format!("{}_covering", face.name);
            let covering = self
                .builder
                .chain(&roof.covering, area, [&stem, "back", "skin"])?;
            let (top, back) = (deck[deck.len() - 1], covering[0]);
            let emittance =
                parallel_planes_emittance(battens.deck_emittance, battens.covering_emittance);
            self.builder.link(
                &End::Node(top),
                &End::Node(back),
                Law::Radiate {
                    area_m2: R::splat(area * emittance),
                },
            );
            let gap = Gap {
                name: format!("{}_batten_space", face.name),
                tilt_rad: face.tilt_rad,
                depth_m: battens.gap_m,
                length_m: face.length_m,
                area_m2: area,
                open_share: battens.open_share,
                lower_surface: top,
                upper_surface: back,
            };
            let opens = if battens.open_share > 0.0 {
                Opens::Outdoors
            } else {
                Opens::Closed
            };
            self.channel(&gap, opens, face.azimuth_rad);
            (deck[0], covering[covering.len() - 1])
        } else {
            let layers: Vec<Layer> = below.iter().chain(&roof.covering).copied().collect();
            let chain = self
                .builder
                .chain(&layers, area, [&face.name, "underside", "skin"])?;
            (chain[0], chain[chain.len() - 1])
        };
        self.outer_surface(
            skin,
            face,
            roof.solar_absorptance,
            roof.emittance,
            roof.roughness,
        );
        self.underside(index, face, underside);
        Ok(underside)
    }

    /// What the attic sees of a slope: bare deck, foil on it, or foil hung below it.
    fn underside(&mut self, index: usize, face: &AtticFace, deck: usize) {
        let bare = self.house.roof.deck_emittance;
        match &self.house.barrier {
            Some(barrier) if matches!(barrier.place, BarrierPlace::Rafters { .. }) => {
                self.hung_foil(index, face, deck, barrier);
                if barrier.coverage < 1.0 {
                    self.facing(index, face, deck, 1.0 - barrier.coverage, bare);
                }
            }
            Some(barrier) if barrier.place == BarrierPlace::Deck => {
                self.facets.push(Facet {
                    node: deck,
                    face: index,
                    share: barrier.coverage,
                    emittance: barrier.emittance_attic,
                });
                self.facets.push(Facet {
                    node: deck,
                    face: index,
                    share: 1.0 - barrier.coverage,
                    emittance: bare,
                });
                self.convect(face, deck, 1.0);
            }
            _ => self.facing(index, face, deck, 1.0, bare),
        }
    }

    fn facing(&mut self, index: usize, face: &AtticFace, node: usize, share: f64, emittance: f64) {
        self.facets.push(Facet {
            node,
            face: index,
            share,
            emittance,
        });
        self.convect(face, node, share);
    }

    /// Convection of the inner side of a slope or wall with both layers of air.
    fn convect(&mut self, face: &AtticFace, node: usize, share: f64) {
        let lower_area = face.area_m2 * share * face.lower_share;
        let upper_area = face.area_m2 * share - lower_area;
        let plate = inner_plate(face, self.shape);
        let (surface, lower, upper) = (
            End::Node(node),
            End::Node(self.lower),
            End::Node(self.upper),
        );
        // A warm gable lifts air as a warm slope does: the profiles are those of an upright plate.
        let riser = self.builder.risers.len();
        self.builder.risers.push(Riser {
            surface: node,
            area_m2: R::splat(lower_area),
            plate,
        });
        self.builder
            .link(&surface, &lower, Law::RiseToLower { riser });
        self.builder
            .link(&surface, &upper, Law::RiseToUpper { riser });
        let film = Film::new(plate, face.length_m);
        let law = Law::Film {
            area_m2: R::splat(upper_area),
            film,
            speed: Speed::Attic,
        };
        self.builder.link(&surface, &upper, law);
    }

    fn hung_foil(&mut self, index: usize, face: &AtticFace, deck: usize, barrier: &Barrier) {
        let BarrierPlace::Rafters {
            gap_m,
            channel,
            open_share,
        } = barrier.place
        else {
            return;
        };
        let area = face.area_m2 * barrier.coverage;
        let foil = self.builder.node(
            format!("{}_foil", face.name),
            barrier.capacity_j_m2k * area,
            area,
        );
        self.facing(index, face, foil, barrier.coverage, barrier.emittance_attic);
        let emittance =
            parallel_planes_emittance(barrier.emittance_other, self.house.roof.deck_emittance);
        self.builder.link(
            &End::Node(deck),
            &End::Node(foil),
            Law::Radiate {
                area_m2: R::splat(area * emittance),
            },
        );
        let gap = Gap {
            name: format!("{}_foil_channel", face.name),
            tilt_rad: face.tilt_rad,
            depth_m: gap_m,
            length_m: face.length_m,
            area_m2: area,
            open_share,
            lower_surface: foil,
            upper_surface: deck,
        };
        self.channel(&gap, channel, face.azimuth_rad);
    }

    /// Air space between two surfaces of a slope: closed, or a channel in the pressure network.
    fn channel(&mut self, gap: &Gap, opens: Opens, azimuth_rad: f64) {
        let pressure = STANDARD_PRESSURE_PA;
        let (lower, upper) = (End::Node(gap.lower_surface), End::Node(gap.upper_surface));
        if opens == Opens::Closed {
            let space = AirSpace::new(gap.tilt_rad, gap.depth_m, gap.length_m, pressure);
            let law = Law::AirSpace {
                area_m2: R::splat(gap.area_m2),
                space,
            };
            self.builder.link(&lower, &upper, law);
            return;
        }
        let node = self
            .builder
            .node(gap.name.clone(), gap.area_m2 * gap.depth_m * 1134.0, 0.0);
        let index = self.builder.channels.len();
        let law = || Law::ChannelFilm {
            area_m2: R::splat(gap.area_m2),
            channel: index,
        };
        self.builder.link(&upper, &End::Node(node), law());
        self.builder.link(&lower, &End::Node(node), law());
        let rise_m = gap.length_m * sin(gap.tilt_rad);
        let eave = self.builder.input(Input::WallPressure { azimuth_rad });
        let ridge = self.builder.input(Input::RidgePressure);
        // The ends in the attic stand just inside the eave and just below the ridge.
        let inside = |share: f64| Place::Zone {
            zone: ATTIC,
            height_m: self.heights.attic_floor_m + share * rise_m,
        };
        let (from, foot) = match opens {
            Opens::Attic => (inside(0.02), Some(self.lower)),
            _ => (Place::Outdoors { wind: eave }, None),
        };
        let (to, head) = match opens {
            Opens::Outdoors => (Place::Outdoors { wind: ridge }, None),
            _ => (inside(0.98), Some(self.upper)),
        };
        let rise_m = match (from, to) {
            (Place::Zone { height_m: a, .. }, Place::Zone { height_m: b, .. }) => b - a,
            _ => rise_m,
        };
        let width_m = gap.area_m2 / gap.length_m;
        let splat = R::splat;
        let resistance = ChannelResistance::new(
            splat(gap.length_m),
            splat(width_m),
            splat(gap.depth_m),
            splat(gap.open_share),
        );
        let name = gap.name.replace('_', "-");
        let plan = PathPlan {
            name,
            from,
            to,
            channel: Some(index),
            rise_m,
        };
        let path = self.builder.path(plan, Element::Channel(resistance));
        self.builder.channels.push(Channel {
            node,
            lower_surface: gap.lower_surface,
            upper_surface: gap.upper_surface,
            area_m2: splat(gap.area_m2),
            section_m2: splat(width_m * gap.depth_m),
            film: ChannelFilm::new(gap.tilt_rad, gap.depth_m, gap.length_m, pressure),
            path,
            foot,
            head,
        });
        let side = compass(azimuth_rad);
        let end = |node: Option<usize>, what: &str| {
            node.map_or_else(
                || End::Beyond(format!("outdoors_at_{what}_{side}")),
                End::Node,
            )
        };
        let law = Law::ChannelFoot { channel: index };
        self.builder.link(&end(foot, "eave"), &End::Node(node), law);
        let law = Law::ChannelHead { channel: index };
        self.builder
            .link(&End::Node(node), &end(head, "ridge"), law);
    }

    /// Sun, wind and sky on an outer surface.
    fn outer_surface(
        &mut self,
        skin: usize,
        face: &AtticFace,
        absorptance: f64,
        emittance: f64,
        roughness: Roughness,
    ) {
        let perimeter = 2.0 * (face.length_m + face.area_m2 / face.length_m);
        let plate = Plate::new(
            face.tilt_rad,
            face.length_m,
            face.area_m2 / perimeter,
            STANDARD_PRESSURE_PA,
        );
        outer_links(
            self.builder,
            skin,
            &Outer {
                plate,
                area_m2: face.area_m2,
                length_m: face.length_m,
                tilt_rad: face.tilt_rad,
                azimuth_rad: face.azimuth_rad,
                absorptance,
                emittance,
                roughness,
            },
        );
    }

    fn wall(&mut self, index: usize, face: &AtticFace) -> Result<(), AssemblyError> {
        let attic = &self.house.attic;
        let chain = self.builder.chain(
            &attic.gable_wall,
            face.area_m2,
            [&face.name, "inside", "outside"],
        )?;
        let outside = chain[chain.len() - 1];
        self.outer_surface(
            outside,
            face,
            attic.gable_absorptance,
            OUTER_WALL_EMITTANCE,
            Roughness::MediumRough,
        );
        self.facing(index, face, chain[0], 1.0, attic.gable_emittance);
        Ok(())
    }

    /// No ceiling: the attic's air mixes with that of the space below as two layers do, and its
    /// faces see what stands there, as through a hole.
    fn open_floor(&mut self, [air, seen]: [usize; 2]) -> CeilingNodes {
        let area = self.shape.floor_area_m2;
        let is_floor = |face: &AtticFace| face.kind == FaceKind::Floor;
        self.facets.push(Facet {
            node: seen,
            face: self.shape.faces.iter().position(is_floor).unwrap_or(0),
            share: 1.0,
            emittance: CAVITY_EMITTANCE,
        });
        let law = Law::OpenPlane {
            area_m2: R::splat(area),
        };
        self.builder
            .link(&End::Node(self.lower), &End::Node(air), law);
        CeilingNodes {
            undersides: Vec::new(),
            floor_tops: vec![(seen, area)],
            board_tops: Vec::new(),
        }
    }

    /// Ceiling from the rooms' side to the attic floor: insulation and joists side by side.
    fn floor(&mut self) -> Result<CeilingNodes, AssemblyError> {
        let ceiling = &self.house.ceiling;
        let area = self.shape.floor_area_m2;
        let floor_face = self
            .shape
            .faces
            .iter()
            .position(|f| f.kind == FaceKind::Floor);
        let face = floor_face.unwrap_or(0);
        let mut undersides = Vec::new();
        let mut floor_tops = Vec::new();
        let mut board_tops = Vec::new();
        for (layers, share, stem, first) in [
            (
                &ceiling.insulation,
                1.0 - ceiling.joist_share,
                "ceiling",
                "attic_floor",
            ),
            (
                &ceiling.joist_path,
                ceiling.joist_share,
                "joist",
                "attic_floor_at_joists",
            ),
        ] {
            if share <= 0.0 {
                continue;
            }
            let path: Vec<Layer> = ceiling.board.iter().chain(layers.iter()).copied().collect();
            let (area_here, names) = (area * share, [stem, "underside", "top"]);
            let board = ceiling.board.len() - 1;
            let (chain, board_top) = if stem == "joist" {
                self.builder.coarse_chain(&path, area_here, names, board)?
            } else {
                self.builder
                    .chain_with_place(&path, area_here, names, board)?
            };
            board_tops.push(board_top);
            let top = chain[chain.len() - 1];
            self.builder.rename(top, first);
            undersides.push((chain[0], area * share));
            floor_tops.push((top, area * share));
            let foil = match &self.house.barrier {
                Some(barrier) if barrier.place == BarrierPlace::Floor => {
                    (barrier.coverage, barrier.emittance_attic)
                }
                _ => (0.0, 1.0),
            };
            for (part, emittance) in [(foil.0, foil.1), (1.0 - foil.0, ceiling.floor_emittance)] {
                if part > 0.0 {
                    let share = share * part;
                    self.facets.push(Facet {
                        node: top,
                        face,
                        share,
                        emittance,
                    });
                }
            }
            let perimeter = 2.0 * (self.shape.length_m + self.shape.width_m);
            let plate = Plate::new(
                0.0,
                self.shape.width_m,
                area / perimeter,
                STANDARD_PRESSURE_PA,
            );
            let film = Film::new(plate, self.shape.width_m);
            let law = Law::Film {
                area_m2: R::splat(area * share),
                film,
                speed: Speed::Attic,
            };
            self.builder
                .link(&End::Node(top), &End::Node(self.lower), law);
        }
        Ok(CeilingNodes {
            undersides,
            floor_tops,
            board_tops,
        })
    }

    /// Timber that stands in the attic air: it stores heat, takes up radiation between the faces and
    /// gives it to both layers of air.
    fn framing(&mut self) -> Option<Framing> {
        let attic = &self.house.attic;
        let capacity = attic.framing_mass_kg * attic.framing_specific_heat_j_kgk;
        if capacity <= 0.0 || attic.framing_area_m2 <= 0.0 {
            return None;
        }
        let area = attic.framing_area_m2;
        let node = self.builder.node("framing", capacity, area);
        let film = Film::new(Plate::new(FRAC_PI_2, 0.1, 0.03, STANDARD_PRESSURE_PA), 0.1);
        let lower_share = self.shape.lower_volume_m3 / self.shape.volume_m3;
        for (air, share) in [(self.lower, lower_share), (self.upper, 1.0 - lower_share)] {
            let law = Law::Film {
                area_m2: R::splat(area * share),
                film,
                speed: Speed::Attic,
            };
            self.builder.link(&End::Node(node), &End::Node(air), law);
        }
        Some(Framing {
            node,
            area_m2: area,
            emittance: self.house.roof.deck_emittance,
        })
    }
}

/// Nodes of the ceiling, one of each kind for each path through it, with areas, m².
struct CeilingNodes {
    undersides: Vec<(usize, f64)>,
    floor_tops: Vec<(usize, f64)>,
    board_tops: Vec<usize>,
}

struct Gap {
    name: String,
    tilt_rad: f64,
    depth_m: f64,
    length_m: f64,
    area_m2: f64,
    open_share: f64,
    lower_surface: usize,
    upper_surface: usize,
}

/// The attic side of a face.
fn inner_plate(face: &AtticFace, shape: &Shape) -> Plate {
    let facing = match face.kind {
        FaceKind::Slope => PI - face.tilt_rad,
        FaceKind::Wall => FRAC_PI_2,
        FaceKind::Floor => 0.0,
    };
    let width = face.area_m2 / face.length_m;
    let per_perimeter = face.area_m2 / (2.0 * (face.length_m + width));
    Plate::new(
        facing,
        face.length_m.min(shape.ridge_height_m / sin(face.tilt_rad)),
        per_perimeter,
        STANDARD_PRESSURE_PA,
    )
}

/// An outer surface.
pub(super) struct Outer {
    pub(super) plate: Plate,
    pub(super) area_m2: f64,
    pub(super) length_m: f64,
    pub(super) tilt_rad: f64,
    pub(super) azimuth_rad: f64,
    pub(super) absorptance: f64,
    pub(super) emittance: f64,
    pub(super) roughness: Roughness,
}

/// Tilt beyond which snow slides off: 60° (EN 1991-1-3, its shape coefficient is 0 from there).
const STEEPEST_WITH_SNOW_RAD: f64 = PI / 3.0;

/// Sun, wind and sky on an outer surface.
pub(super) fn outer_links<R: Real>(builder: &mut Builder<R>, skin: usize, outer: &Outer) {
    let &Outer {
        area_m2,
        tilt_rad,
        azimuth_rad,
        ..
    } = outer;
    // On a steep face no snow stays.
    let carries_snow = tilt_rad < STEEPEST_WITH_SNOW_RAD;
    let sun = builder.input(Input::Sun {
        tilt_rad,
        azimuth_rad,
    });
    let past_snow = builder.input(if carries_snow {
        Input::PastSnow
    } else {
        Input::One
    });
    let outdoor = builder.input(Input::OutdoorTemp);
    let incoming = builder.input(Input::Longwave { tilt_rad });
    let film = OutsidePlate::new(
        outer.plate,
        outer.length_m,
        outer.roughness,
        STANDARD_PRESSURE_PA,
    );
    let node = End::Node(skin);
    let law = if carries_snow {
        Law::RoofSun {
            sun,
            snow_cover: builder.input(Input::SnowCover),
            past_snow,
            area_m2: R::splat(area_m2),
            absorptance: R::splat(outer.absorptance),
        }
    } else {
        Law::Gain {
            input: sun,
            scale: R::splat(area_m2 * outer.absorptance),
        }
    };
    builder.link(&End::Outside("sun"), &node, law);
    let law = Law::OuterFilm {
        past_snow,
        area_m2: R::splat(area_m2),
        film,
        shares: FilmShares::one(),
        outdoor,
    };
    builder.link(&node, &End::Outside("outdoors"), law);
    let law = Law::Longwave {
        past_snow,
        emitting_m2: R::splat(area_m2 * outer.emittance),
        incoming,
    };
    builder.link(&node, &End::Outside("sky"), law);
}

/// Exact exchange of all facets and the timber between them, with the facets of one node joined;
/// returns the radiosity matrix.
fn radiate<R: Real>(
    shape: &Shape,
    facets: &[Facet],
    framing: Option<Framing>,
    builder: &mut Builder<R>,
) -> Result<nalgebra::DMatrix<f64>, AssemblyError> {
    let polygons: Vec<_> = shape
        .faces
        .iter()
        .map(|face| face.polygon.clone())
        .collect();
    let areas: Vec<f64> = shape.faces.iter().map(|face| face.area_m2).collect();
    let mut fractions = vec![Vec::new(); polygons.len()];
    let mut order = Vec::new();
    for face in 0..polygons.len() {
        for (index, facet) in facets.iter().enumerate().filter(|(_, f)| f.face == face) {
            fractions[face].push(facet.share);
            order.push(index);
        }
    }
    let split = split_faces(&areas, &builder.common.view_factors(&polygons)?, &fractions);
    let mut factors = split.view_factors;
    let mut areas_m2 = split.areas_m2;
    let mut emittances: Vec<f64> = order.iter().map(|&index| facets[index].emittance).collect();
    let mut nodes: Vec<usize> = order.iter().map(|&index| facets[index].node).collect();
    if let Some(framing) = framing {
        factors = with_bodies(&areas_m2, &factors, framing.area_m2);
        areas_m2.push(framing.area_m2);
        emittances.push(framing.emittance);
        nodes.push(framing.node);
        order.push(facets.len());
    }
    let factors = exchange(&areas_m2, &emittances, &factors)?;
    let count = order.len();
    let mut joined: Vec<(usize, usize, f64)> = Vec::new();
    for i in 0..count {
        for j in i + 1..count {
            let (a, b) = (nodes[i], nodes[j]);
            let (a, b) = (a.min(b), a.max(b));
            let area = factors.conductance_area_m2[(i, j)];
            if a == b || area <= 0.0 {
                continue;
            }
            match joined.iter_mut().find(|(x, y, _)| (*x, *y) == (a, b)) {
                Some((_, _, sum)) => *sum += area,
                None => joined.push((a, b, area)),
            }
        }
    }
    for (a, b, area) in joined {
        let law = Law::Radiate {
            area_m2: R::splat(area),
        };
        builder.link(&End::Node(a), &End::Node(b), law);
    }
    // Back to the order of the facets.
    let mut radiosity = nalgebra::DMatrix::zeros(count, count);
    for i in 0..count {
        for j in 0..count {
            radiosity[(order[i], order[j])] = factors.radiosity[(i, j)];
        }
    }
    Ok(radiosity)
}
