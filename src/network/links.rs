//! Every way in which heat passes between nodes, and its partial derivatives.
//!
//! A flow is positive from its `from` end to its `to` end. The derivatives leave out how films
//! and air flows change with temperature where that change is mild; the solver keeps its order
//! with them so (it is built for approximate ones).

use crate::ode::{Ends, Real, smoothstep};
use crate::physics::air_space::AirSpace;
use crate::physics::attic_layers::interface_w_k;
use crate::physics::convection::{
    FilmShares, ForcedPlate, OutsidePlate, Plate, STANDARD_PRESSURE_PA, Stream,
};
use crate::physics::insulation::Insulating;

use super::air::AirState;
use super::forcing::taken_in;

/// One way for heat, W.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Link<R> {
    pub(super) ends: Ends,
    pub(super) law: Law<R>,
}

/// Law of a link.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Law<R> {
    /// Solid conduction, W/K.
    Conduct { w_k: R },
    /// Conduction through insulation, which grows as it warms.
    Insulate { by: Insulating<R> },
    /// Grey-diffuse exchange, area with all reflections counted, m².
    Radiate { area_m2: R },
    /// Convection from a surface to air inside.
    Film {
        area_m2: R,
        film: Film,
        speed: Speed,
    },
    /// Convection from a surface to the air of a channel.
    ChannelFilm { area_m2: R, channel: usize },
    /// Convection across a closed air space, from its lower to its upper surface.
    AirSpace { area_m2: R, space: AirSpace },
    /// Share of a slope's lower-half convection that stays in the lower layer.
    RiseToLower { riser: usize },
    /// Share of it that rises into the upper layer.
    RiseToUpper { riser: usize },
    /// Air and heat exchanged between the two layers.
    Interface,
    /// Convection from an outer surface to outdoors.
    OuterFilm {
        /// Input: share that snow leaves of it.
        past_snow: usize,
        area_m2: R,
        film: OutsidePlate,
        shares: FilmShares<R>,
        outdoor: usize,
    },
    /// Long-wave exchange of an outer surface with sky, ground and air.
    Longwave {
        past_snow: usize,
        emitting_m2: R,
        incoming: usize,
    },
    /// Sun that a roof takes in, which snow may cover.
    RoofSun {
        sun: usize,
        snow_cover: usize,
        past_snow: usize,
        area_m2: R,
        absorptance: R,
    },
    /// Heat that arrives from the surroundings: input times scale.
    Gain { input: usize, scale: R },
    /// Conduction to a temperature of the surroundings.
    ToBoundary { w_k: R, temp: usize },
    /// Enthalpy of the air along a path, against outdoors.
    Carry { carrier: usize },
    /// Enthalpy at the lower end of an air channel.
    ChannelFoot { channel: usize },
    /// Enthalpy at the upper end of an air channel.
    ChannelHead { channel: usize },
    /// Cooling plant: rises from none to all of its capacity across a narrow band.
    Cooling { capacity_w: R, set_point_k: R },
    /// What the supply ducts of a cooling plant trade with the attic, from its air to the rooms: see
    /// [`super::ducts`].
    Ducts {
        w_k: R,
        drop_k: R,
        leak_w: R,
        set_point_k: R,
    },
    /// Air that mixes between the attic and the space below it where there is no ceiling, from the
    /// attic down.
    OpenPlane { area_m2: R },
    /// Heating plant.
    Heating { capacity_w: R, set_point_k: R },
    /// Not heat but something of the air: measured by the solver with the heat.
    AirMeter { meter: Meter },
}

/// What is measured of the air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Meter {
    /// Mass flow along a path, kg/s.
    Mass { path: usize },
    /// Volume flow along a path at the density of the air at its `from` end, m³/s.
    Volume { path: usize },
    /// Pressure of a zone against outdoors at the same height, Pa.
    Pressure { zone: usize },
    /// Density of the attic's air, its volume mean, kg/m³.
    AtticDensity,
    /// Largest share of any fan's flow that comes straight from a vent beside it.
    ShortCircuit,
}

impl Meter {
    #[inline(always)]
    fn reading<R: Real>(self, air: &AirState<R>) -> R {
        match self {
            Self::Mass { path } => air.solution.flows_kg_s[path],
            Self::Volume { path } => air.solution.flows_kg_s[path] / air.density_from_kg_m3(path),
            Self::Pressure { zone } => air.solution.pressures_pa[zone],
            Self::AtticDensity => air.density_kg_m3,
            Self::ShortCircuit => air.short_circuit,
        }
    }
}

/// Natural convection on a plate, helped by air that moves along it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Film {
    plate: Plate,
    forced: ForcedPlate,
}

impl Film {
    pub(super) fn new(plate: Plate, length_m: f64) -> Self {
        Self {
            plate,
            forced: ForcedPlate::new(length_m, STANDARD_PRESSURE_PA),
        }
    }

    /// W/(m² K).
    #[inline(always)]
    fn coefficient<R: Real>(&self, surface_k: R, air_k: R, stream: Option<Stream<R>>) -> R {
        match stream {
            None => self.plate.natural_w_m2k(surface_k, air_k),
            Some(stream) => self
                .plate
                .helped_w_m2k(surface_k, air_k, &self.forced, stream),
        }
    }
}

/// Films as they are against those worked out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct FilmsAsTheyAre {
    pub(super) outside: FilmShares<f64>,
    pub(super) attic: f64,
}

impl<R: Real> Law<R> {
    /// The same with the films of other authors, see [`Plate::by_walton`].
    pub(super) fn with_other_films(mut self) -> Self {
        match &mut self {
            Self::Film { film, .. } => film.plate = film.plate.by_walton(),
            Self::OuterFilm { film, .. } => *film = film.by_others(),
            _ => {}
        }
        self
    }

    /// The same with films that are so much stronger; in the attic what passes is in proportion to the
    /// area.
    pub(super) fn with_films(mut self, films: FilmsAsTheyAre) -> Self {
        match &mut self {
            Self::Film {
                area_m2,
                speed: Speed::Attic,
                ..
            } => *area_m2 = *area_m2 * films.attic,
            Self::OuterFilm { shares, .. } => *shares = films.outside.map(R::splat),
            _ => {}
        }
        self
    }
}

/// Air speed that helps a film.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Speed {
    /// Still air.
    Still,
    /// Ventilation through the attic.
    Attic,
}

/// Band across which a plant's output rises, K: narrow against what people notice.
const PLANT_BAND_K: f64 = 0.4;

/// Growth of a natural film with the temperature difference: h ∝ ΔT^(1/3) gives 4/3; forced and
/// mixed films lie between that and 1.
const FILM_GROWTH: f64 = 1.25;

/// The same outside, where wind makes most of the film.
const OUTER_FILM_GROWTH: f64 = 1.15;

/// What links are evaluated in.
pub(super) struct Scene<'a, R: Real> {
    pub(super) state: &'a [R],
    /// σT⁴ of every node, W/m².
    pub(super) emission: &'a [R],
    /// 4σT³ of every node, W/(m² K), for derivatives.
    pub(super) emission_slopes: &'a [R],
    pub(super) inputs: &'a [R],
    pub(super) air: &'a AirState<R>,
}

impl<R: Real> Scene<'_, R> {
    #[inline(always)]
    fn drop(&self, ends: Ends) -> R {
        match (ends.from, ends.to) {
            (Some(a), Some(b)) => self.state[a] - self.state[b],
            _ => R::splat(0.0),
        }
    }
}

impl<R: Real> Link<R> {
    /// Nodes that the flow depends on, in the order of [`Self::gradient`].
    pub(super) fn depends_on(&self, air: &super::air::Air<R>) -> Vec<usize> {
        let Ends { from, to } = self.ends;
        let both = || from.into_iter().chain(to).collect();
        match &self.law {
            Law::Conduct { .. }
            | Law::Insulate { .. }
            | Law::Radiate { .. }
            | Law::Film { .. }
            | Law::ChannelFilm { .. }
            | Law::AirSpace { .. }
            | Law::Ducts { .. }
            | Law::OpenPlane { .. }
            | Law::Carry { .. } => both(),
            Law::RiseToLower { riser } | Law::RiseToUpper { riser } => {
                vec![air.risers[*riser].surface, air.lower, air.upper]
            }
            Law::Interface => air.interface_nodes(),
            Law::OuterFilm { .. }
            | Law::Longwave { .. }
            | Law::ToBoundary { .. }
            | Law::Cooling { .. } => from.into_iter().collect(),
            Law::Heating { .. } => to.into_iter().collect(),
            Law::Gain { .. } | Law::RoofSun { .. } | Law::AirMeter { .. } => Vec::new(),
            Law::ChannelFoot { channel } | Law::ChannelHead { channel } => {
                air.channel_nodes(*channel)
            }
        }
    }

    /// The flow, W (what a meter reads in its own unit); `kept` is set to the film of a link that has
    /// one, W/(m² K).
    #[inline(always)]
    #[expect(
        clippy::too_many_lines,
        reason = "one arm for each law, to be read side by side"
    )]
    pub(super) fn flow(&self, scene: &Scene<'_, R>, kept: &mut R) -> R {
        let (state, inputs, air) = (scene.state, scene.inputs, scene.air);
        match (&self.law, self.ends.from, self.ends.to) {
            (Law::Conduct { w_k }, ..) => *w_k * scene.drop(self.ends),
            (Law::Insulate { by }, Some(a), Some(b)) => by.flow_w(state[a], state[b]),
            (Law::Radiate { area_m2 }, Some(a), Some(b)) => {
                *area_m2 * (scene.emission[a] - scene.emission[b])
            }
            (
                Law::Film {
                    area_m2,
                    film,
                    speed,
                },
                Some(surface),
                Some(space),
            ) => {
                let h = film.coefficient(state[surface], state[space], air.stream(*speed));
                *kept = h;
                *area_m2 * h * scene.drop(self.ends)
            }
            (Law::ChannelFilm { area_m2, channel }, ..) => {
                *area_m2 * air.channels[*channel].film_w_m2k * scene.drop(self.ends)
            }
            (Law::AirSpace { area_m2, space }, Some(lower), Some(upper)) => {
                let h = space.conductance_w_m2k(state[lower], state[upper]);
                *kept = h;
                *area_m2 * h * scene.drop(self.ends)
            }
            (Law::RiseToLower { riser }, ..) => {
                let riser = &air.rising[*riser];
                riser.heat_w - riser.heat_w * riser.rise.share
            }
            (Law::RiseToUpper { riser }, ..) => {
                let riser = &air.rising[*riser];
                riser.heat_w * riser.rise.share
            }
            (Law::Interface, ..) => air.interface_w,
            (
                Law::OuterFilm {
                    past_snow,
                    area_m2,
                    film,
                    shares,
                    outdoor,
                },
                Some(surface),
                _,
            ) => {
                let outdoor_k = inputs[*outdoor];
                let h = film.film_w_m2k(state[surface], outdoor_k, air.wind, *shares)
                    * inputs[*past_snow];
                *kept = h;
                *area_m2 * h * (state[surface] - outdoor_k)
            }
            (
                Law::Longwave {
                    past_snow,
                    emitting_m2,
                    incoming,
                },
                Some(surface),
                _,
            ) => *emitting_m2 * inputs[*past_snow] * (scene.emission[surface] - inputs[*incoming]),
            (Law::RoofSun { .. } | Law::Gain { .. }, ..) => {
                self.given(inputs).unwrap_or(R::splat(f64::NAN))
            }
            (Law::ToBoundary { w_k, temp }, Some(node), _) => *w_k * (state[node] - inputs[*temp]),
            (Law::Carry { carrier }, ..) => air.enthalpy_w[*carrier],
            (Law::ChannelFoot { channel }, ..) => air.channels[*channel].foot_w,
            (Law::ChannelHead { channel }, ..) => air.channels[*channel].head_w,
            (
                Law::Cooling {
                    capacity_w,
                    set_point_k,
                },
                Some(node),
                _,
            ) => *capacity_w * plant_share(state[node], *set_point_k),
            (Law::OpenPlane { area_m2 }, Some(attic), Some(rooms)) => {
                let (mixing, _) = interface_w_k(*area_m2, state[rooms], state[attic]);
                mixing * (state[attic] - state[rooms])
            }
            (
                Law::Ducts {
                    w_k,
                    drop_k,
                    leak_w,
                    set_point_k,
                },
                Some(attic),
                Some(rooms),
            ) => {
                let running = plant_share(state[rooms], *set_point_k);
                running * (*w_k * (state[attic] - state[rooms] + *drop_k) + *leak_w)
            }
            (
                Law::Heating {
                    capacity_w,
                    set_point_k,
                },
                _,
                Some(node),
            ) => *capacity_w * smoothstep((*set_point_k - state[node]) / PLANT_BAND_K + 0.5),
            (Law::AirMeter { meter }, ..) => meter.reading(air),
            _ => R::splat(f64::NAN),
        }
    }

    /// The flow of a link that hangs on inputs alone, W.
    #[inline(always)]
    pub(super) fn given(&self, inputs: &[R]) -> Option<R> {
        match &self.law {
            Law::RoofSun {
                sun,
                snow_cover,
                past_snow,
                area_m2,
                absorptance,
            } => {
                let share = taken_in(*absorptance, inputs[*snow_cover], inputs[*past_snow]);
                Some(inputs[*sun] * *area_m2 * share)
            }
            Law::Gain { input, scale } => Some(inputs[*input] * *scale),
            _ => None,
        }
    }

    /// Partial derivatives, W/K, in the order of [`Self::depends_on`], with the film that
    /// [`Self::flow`] has kept.
    #[inline(always)]
    pub(super) fn gradient(&self, scene: &Scene<'_, R>, film_w_m2k: R, out: &mut [R]) {
        let (state, air) = (scene.state, scene.air);
        let pair = |out: &mut [R], slope: R| {
            out[0] = slope;
            out[1] = R::splat(0.0) - slope;
        };
        match (&self.law, self.ends.from, self.ends.to) {
            (Law::Conduct { w_k }, ..) => pair(out, *w_k),
            (Law::Insulate { by }, Some(a), Some(b)) => {
                out.copy_from_slice(&by.slopes_w_k(state[a], state[b]));
            }
            (Law::Radiate { area_m2 }, Some(a), Some(b)) => {
                out[0] = *area_m2 * scene.emission_slopes[a];
                out[1] = -*area_m2 * scene.emission_slopes[b];
            }
            (Law::Film { area_m2, .. }, ..) => pair(out, *area_m2 * film_w_m2k * FILM_GROWTH),
            (Law::ChannelFilm { area_m2, channel }, ..) => {
                pair(out, *area_m2 * air.channels[*channel].film_w_m2k);
            }
            (Law::AirSpace { area_m2, .. }, ..) => pair(out, *area_m2 * film_w_m2k),
            (Law::RiseToLower { riser }, ..) => {
                let r = &air.rising[*riser];
                let stays = R::splat(1.0) - r.rise.share;
                let slope = r.film_w_k * FILM_GROWTH * stays;
                out[0] = slope - r.heat_w * r.rise.by_surface;
                out[1] = R::splat(0.0) - slope - r.heat_w * r.rise.by_lower;
                out[2] = R::splat(0.0) - r.heat_w * r.rise.by_upper;
            }
            (Law::RiseToUpper { riser }, ..) => {
                let r = &air.rising[*riser];
                let slope = r.film_w_k * FILM_GROWTH * r.rise.share;
                out[0] = slope + r.heat_w * r.rise.by_surface;
                out[1] = r.heat_w * r.rise.by_lower - slope;
                out[2] = r.heat_w * r.rise.by_upper;
            }
            (Law::Interface, ..) => out.copy_from_slice(&air.interface_by_w_k),
            (Law::OuterFilm { area_m2, .. }, ..) => {
                out[0] = *area_m2 * film_w_m2k * OUTER_FILM_GROWTH;
            }
            (
                Law::Longwave {
                    past_snow,
                    emitting_m2,
                    ..
                },
                Some(surface),
                _,
            ) => {
                let emitting_m2 = *emitting_m2 * scene.inputs[*past_snow];
                out[0] = emitting_m2 * scene.emission_slopes[surface];
            }
            (Law::ToBoundary { w_k, .. }, ..) => out[0] = *w_k,
            (Law::Carry { carrier }, ..) => air.carry_gradient(*carrier, out),
            (Law::ChannelFoot { channel }, ..) => {
                out.copy_from_slice(&air.channels[*channel].foot_by_w_k);
            }
            (Law::ChannelHead { channel }, ..) => {
                out.copy_from_slice(&air.channels[*channel].head_by_w_k);
            }
            (
                Law::Cooling {
                    capacity_w,
                    set_point_k,
                },
                Some(node),
                _,
            ) => {
                out[0] = plant_slope(*capacity_w, state[node] - *set_point_k);
            }
            (Law::OpenPlane { area_m2 }, Some(attic), Some(rooms)) => {
                let (mixing, slope) = interface_w_k(*area_m2, state[rooms], state[attic]);
                pair(out, mixing + slope * (state[rooms] - state[attic]));
            }
            (
                Law::Ducts {
                    w_k,
                    drop_k,
                    leak_w,
                    set_point_k,
                },
                Some(attic),
                Some(rooms),
            ) => {
                let conducted = *w_k * plant_share(state[rooms], *set_point_k);
                let whole = *w_k * (state[attic] - state[rooms] + *drop_k) + *leak_w;
                out[0] = conducted;
                out[1] = plant_slope(whole, state[rooms] - *set_point_k) - conducted;
            }
            (
                Law::Heating {
                    capacity_w,
                    set_point_k,
                },
                _,
                Some(node),
            ) => {
                let slope = plant_slope(*capacity_w, *set_point_k - state[node]);
                out[0] = R::splat(0.0) - slope;
            }
            _ => {}
        }
    }
}

/// Share of its capacity at which a cooling plant runs.
#[inline(always)]
pub(super) fn plant_share<R: Real>(rooms_k: R, set_point_k: R) -> R {
    smoothstep((rooms_k - set_point_k) / PLANT_BAND_K + 0.5)
}

#[inline(always)]
fn plant_slope<R: Real>(capacity_w: R, excess_k: R) -> R {
    let x = (excess_k / PLANT_BAND_K + 0.5)
        .max(R::splat(0.0))
        .min(R::splat(1.0));
    capacity_w * x * (R::splat(1.0) - x) * (6.0 / PLANT_BAND_K)
}
