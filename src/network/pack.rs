//! Several houses of one form side by side in lanes.
//!
//! Two networks have the same form if they differ in nothing but the numbers that are written `R`:
//! all those are set to nought in both, and what is left must be equal. A number that is written `f64`
//! therefore never differs between lanes, whatever it is.

use crate::ode::{Ends, Lanes, Mask, Real};
use crate::physics::airflow::{ChannelResistance, Element};
use crate::physics::pressure_network::{Closing, Path};

use super::air::{Air, AirState, Channel, Riser};
use super::ducts::Spill;
use super::links::{Law, Link};
use super::short_circuit::Neighbours;
use super::{Network, ReadFlows, System};

/// Everything of a network that lanes must share, with noughts in place of what they need not.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Form {
    links: Vec<Link<f64>>,
    air: Air<f64>,
    stores: usize,
    inputs: usize,
    observed: ReadFlows,
}

/// Networks of one form, a lane each, to be evaluated together.
#[derive(Debug, Clone)]
pub(crate) struct Pack {
    network: Network<Lanes>,
}

impl Pack {
    /// A pack for networks of the form of this one, which stands in every lane until others do.
    pub(crate) fn new(first: &Network) -> Self {
        let mut splat = |value: f64| Lanes::splat(value);
        let links: Vec<_> = first
            .links
            .iter()
            .map(|link| link.map(&mut splat))
            .collect();
        let air = first.air_of_both_ways().map(&mut splat);
        let zero = Lanes::splat(0.0);
        let now = AirState::new(&air);
        let network = Network {
            nodes: first.nodes.clone(),
            capacities: first.capacities.iter().map(|c| Lanes::splat(*c)).collect(),
            ends: first.ends.clone(),
            flow_names: Vec::new(),
            pattern: first.pattern.clone(),
            widths: first.widths.clone(),
            films: vec![zero; first.films.len()],
            links,
            air,
            now,
            exposure: first.exposure.clone(),
            stretches: vec![None; Lanes::WIDTH],
            attending: <Lanes as Real>::Mask::NONE,
            closing: Closing::closed(),
            inputs: vec![zero; first.inputs.len()],
            inputs_before: vec![zero; first.inputs.len()],
            renewed: <Lanes as Real>::Mask::ALL,
            emission: vec![zero; first.emission.len()],
            emission_slopes: vec![zero; first.emission.len()],
            switched: Vec::new(),
            running: Vec::new(),
            switches: first.switches.clone(),
            landmarks: first.landmarks.clone(),
            paths: first.paths.clone(),
            meters: first.meters,
            thermometers: Vec::new(),
        };
        Self { network }
    }

    /// The lanes together.
    pub(crate) fn network(&mut self) -> &mut Network<Lanes> {
        &mut self.network
    }

    /// Stores of heat of each lane, in all lanes' order.
    pub(crate) fn capacities(&self) -> &[Lanes] {
        self.network.capacities()
    }

    /// Gives a lane to a network; its form must be this pack's.
    pub(crate) fn put(&mut self, lane: usize, one: &Network) {
        let mut values = Vec::new();
        let mut list = |value: f64| values.push(value);
        for link in &one.links {
            link.map(&mut list);
        }
        one.air_of_both_ways().map(&mut list);
        let mut values = values.into_iter();
        let mut place = |mut lanes: Lanes| {
            lanes.set_lane(lane, values.next().unwrap_or(f64::NAN));
            lanes
        };
        let network = &mut self.network;
        for link in &mut network.links {
            *link = link.map(&mut place);
        }
        network.air = network.air.map(&mut place);
        for (capacity, one) in network.capacities.iter_mut().zip(&one.capacities) {
            capacity.set_lane(lane, *one);
        }
        let only = <Lanes as Real>::Mask::NONE.with(lane);
        network.now.solution.restart(only);
        network.renewed = network.renewed.or(only);
        self.follow(lane, one);
    }

    /// Takes over what a lane's network has entered and switched.
    pub(crate) fn follow(&mut self, lane: usize, one: &Network) {
        let stretch = one.stretches.first().cloned().flatten();
        if let Some(slot) = self.network.stretches.get_mut(lane) {
            *slot = stretch;
        }
        let on = one.switches.controls_on();
        for switched in &one.switched {
            let path = self.network.air.paths.get_mut(switched.path);
            if let Some(path) = path
                && let Element::Either { running, .. } = &mut path.element
            {
                let runs = running_of(switched.control, on);
                if (running.lane(lane) - runs).abs() > 0.0 {
                    running.set_lane(lane, runs);
                    self.network.renewed = self.network.renewed.with(lane);
                }
            }
        }
    }
}

fn running_of(control: Option<usize>, on: &[bool]) -> f64 {
    let runs = control.is_none_or(|control| on.get(control).copied().unwrap_or(false));
    f64::from(u8::from(runs))
}

impl Network {
    /// Whether another house may stand beside this one: they differ in nothing but numbers that lanes
    /// need not share.
    pub fn shares_form(&self, other: &Self) -> bool {
        self.form() == other.form()
    }

    /// What of this network lanes must share.
    pub(crate) fn form(&self) -> Form {
        let mut nought = |_: f64| 0.0;
        Form {
            links: self
                .links
                .iter()
                .map(|link| link.map(&mut nought))
                .collect(),
            air: self.air_of_both_ways().map(&mut nought),
            stores: self.nodes.len(),
            inputs: self.inputs.len(),
            observed: self.observed(),
        }
    }

    /// The air with both laws on each path that something switches.
    fn air_of_both_ways(&self) -> Air<f64> {
        let mut air = self.air.clone();
        let on = self.switches.controls_on();
        for switched in &self.switched {
            if let Some(path) = air.paths.get_mut(switched.path) {
                path.element = if switched.control.is_some() {
                    Element::Either {
                        on: Box::new(switched.on.clone()),
                        off: Box::new(switched.off.clone()),
                        running: running_of(switched.control, on),
                    }
                } else {
                    switched.on.clone()
                };
            }
        }
        air
    }
}

impl<R: Copy> Link<R> {
    fn map<Q>(&self, f: &mut impl FnMut(R) -> Q) -> Link<Q> {
        let Ends { from, to } = self.ends;
        Link {
            ends: Ends { from, to },
            law: self.law.map(f),
        }
    }
}

impl<R: Copy> Law<R> {
    fn map<Q>(&self, f: &mut impl FnMut(R) -> Q) -> Law<Q> {
        match *self {
            Self::Conduct { w_k } => Law::Conduct { w_k: f(w_k) },
            Self::Insulate { by } => Law::Insulate { by: by.map(f) },
            Self::Radiate { area_m2 } => Law::Radiate {
                area_m2: f(area_m2),
            },
            Self::Film {
                area_m2,
                film,
                speed,
            } => Law::Film {
                area_m2: f(area_m2),
                film,
                speed,
            },
            Self::ChannelFilm { area_m2, channel } => Law::ChannelFilm {
                area_m2: f(area_m2),
                channel,
            },
            Self::AirSpace { area_m2, space } => Law::AirSpace {
                area_m2: f(area_m2),
                space,
            },
            Self::RiseToLower { riser } => Law::RiseToLower { riser },
            Self::RiseToUpper { riser } => Law::RiseToUpper { riser },
            Self::Interface => Law::Interface,
            Self::OuterFilm {
                area_m2,
                film,
                shares,
                outdoor,
                past_snow,
            } => Law::OuterFilm {
                past_snow,
                area_m2: f(area_m2),
                film,
                shares: shares.map(&mut *f),
                outdoor,
            },
            Self::Longwave {
                emitting_m2,
                incoming,
                past_snow,
            } => Law::Longwave {
                past_snow,
                emitting_m2: f(emitting_m2),
                incoming,
            },
            Self::RoofSun {
                sun,
                snow_cover,
                past_snow,
                area_m2,
                absorptance,
            } => Law::RoofSun {
                sun,
                snow_cover,
                past_snow,
                area_m2: f(area_m2),
                absorptance: f(absorptance),
            },
            Self::Gain { input, scale } => Law::Gain {
                input,
                scale: f(scale),
            },
            Self::ToBoundary { w_k, temp } => Law::ToBoundary { w_k: f(w_k), temp },
            Self::Carry { carrier } => Law::Carry { carrier },
            Self::ChannelFoot { channel } => Law::ChannelFoot { channel },
            Self::ChannelHead { channel } => Law::ChannelHead { channel },
            Self::Cooling {
                capacity_w,
                set_point_k,
            } => Law::Cooling {
                capacity_w: f(capacity_w),
                set_point_k: f(set_point_k),
            },
            Self::Ducts {
                w_k,
                drop_k,
                leak_w,
                set_point_k,
            } => Law::Ducts {
                w_k: f(w_k),
                drop_k: f(drop_k),
                leak_w: f(leak_w),
                set_point_k: f(set_point_k),
            },
            Self::OpenPlane { area_m2 } => Law::OpenPlane {
                area_m2: f(area_m2),
            },
            Self::Heating {
                capacity_w,
                set_point_k,
            } => Law::Heating {
                capacity_w: f(capacity_w),
                set_point_k: f(set_point_k),
            },
            Self::AirMeter { meter } => Law::AirMeter { meter },
        }
    }
}

impl<R: Copy> Air<R> {
    fn map<Q>(&self, f: &mut impl FnMut(R) -> Q) -> Air<Q> {
        Air {
            lower: self.lower,
            upper: self.upper,
            living: self.living,
            crawl: self.crawl,
            attic_floor_m: self.attic_floor_m,
            living_floor_m: self.living_floor_m,
            interface_m: self.interface_m,
            interface_area_m2: f(self.interface_area_m2),
            lower_share: self.lower_share,
            attic_section_m2: f(self.attic_section_m2),
            paths: self
                .paths
                .iter()
                .map(|path| Path {
                    from: path.from,
                    to: path.to,
                    element: mapped(&path.element, f),
                })
                .collect(),
            plans: self.plans.clone(),
            pulls: self.pulls.clone(),
            attic_ends: self.attic_ends.clone(),
            carriers: self.carriers.clone(),
            risers: self
                .risers
                .iter()
                .map(|riser| Riser {
                    surface: riser.surface,
                    area_m2: f(riser.area_m2),
                    plate: riser.plate,
                })
                .collect(),
            channels: self
                .channels
                .iter()
                .map(|channel| Channel {
                    node: channel.node,
                    lower_surface: channel.lower_surface,
                    upper_surface: channel.upper_surface,
                    area_m2: f(channel.area_m2),
                    section_m2: f(channel.section_m2),
                    film: channel.film,
                    path: channel.path,
                    foot: channel.foot,
                    head: channel.head,
                })
                .collect(),
            neighbours: self
                .neighbours
                .iter()
                .map(|beside| Neighbours {
                    fan: beside.fan,
                    holes: f(beside.holes),
                    vents: beside.vents.clone(),
                })
                .collect(),
            spill: self.spill.as_ref().map(|spill| Spill {
                path: spill.path,
                set_point_k: f(spill.set_point_k),
            }),
            outdoor: self.outdoor,
            humidity: self.humidity,
            pressure: self.pressure,
            wind: self.wind,
        }
    }
}

fn mapped<R: Copy, Q>(element: &Element<R>, f: &mut impl FnMut(R) -> Q) -> Element<Q> {
    match element {
        Element::Orifice { cd_area_m2 } => Element::Orifice {
            cd_area_m2: f(*cd_area_m2),
        },
        Element::Crack {
            flow_at_1_pa_m3_s,
            exponent,
        } => Element::Crack {
            flow_at_1_pa_m3_s: f(*flow_at_1_pa_m3_s),
            exponent: *exponent,
        },
        Element::QuadraticFan {
            shut_off_per_density,
            curvature_per_density,
            cd_area_m2,
            count,
        } => Element::QuadraticFan {
            shut_off_per_density: f(*shut_off_per_density),
            curvature_per_density: f(*curvature_per_density),
            cd_area_m2: f(*cd_area_m2),
            count: f(*count),
        },
        Element::PolygonFan {
            points,
            cd_area_m2,
            count,
        } => Element::PolygonFan {
            points: points.clone(),
            cd_area_m2: f(*cd_area_m2),
            count: f(*count),
        },
        Element::Fixed { flow_m3_s } => Element::Fixed {
            flow_m3_s: f(*flow_m3_s),
        },
        Element::Channel(resistance) => Element::Channel(ChannelResistance {
            laminar_pa_s_m3: f(resistance.laminar_pa_s_m3),
            quadratic_per_density: f(resistance.quadratic_per_density),
        }),
        Element::Shut => Element::Shut,
        Element::Either { on, off, running } => Element::Either {
            on: Box::new(mapped(on, f)),
            off: Box::new(mapped(off, f)),
            running: f(*running),
        },
    }
}
