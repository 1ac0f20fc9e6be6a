//! Collects nodes, links, inputs and air paths while a house is put together.

use crate::house::House;
use crate::ode::{Ends, Real};
use crate::physics::conduction::{Films, Layer};
use crate::physics::convection::FilmShares;
use crate::physics::insulation::{Insulating, growths_per_k};
use crate::physics::lumping::{Chain, LumpingError, even_slices, slices};
use crate::physics::pressure_network::Path;

use super::air::{Channel, PathPlan, Place, Riser};
use super::common::Common;
use super::forcing::Input;
use super::links::{FilmsAsTheyAre, Law, Link};

/// A store of heat.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// Name in output, such as `slope_s_underside`.
    pub name: String,
    /// Heat capacity, J/K.
    pub capacity_j_k: f64,
    /// Surface or plan area, m²; 0 for air.
    pub area_m2: f64,
}

/// Where a flow's end is.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum End {
    Node(usize),
    /// Part of the surroundings, by name.
    Outside(&'static str),
    /// As above with a name made from the house.
    Beyond(String),
}

/// Least capacity of a surface node, J/(m² K): a skin so thin that its temperature follows within
/// seconds, kept above zero so that every node is a store.
const LEAST_CAPACITY_J_M2K: f64 = 60.0;

/// Films that a chain is judged between while it is cut into lumps, m²K/W.
const USUAL_FILMS: Films = Films {
    side_1_m2k_w: 0.1,
    side_2_m2k_w: 0.1,
};

/// Most resistance of one slice of a coarse chain, m²K/W: 35 mm of softwood.
const COARSE_SLICE_M2K_W: f64 = 0.3;

/// How finely a house is cut into stores, and by whose films.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Detail {
    /// As few lumps as answer daily swings, the usual films.
    #[default]
    Usual,
    /// Every layer in four slices and films by other authors: dearer, to see how much results hang on
    /// these choices.
    Finer,
}

/// Slices of a layer in the finer network.
const FINER_SLICES: usize = 4;

/// What has been collected so far.
pub(super) struct Builder<R> {
    detail: Detail,
    films: FilmsAsTheyAre,
    pub(super) common: Common,
    pub(super) nodes: Vec<Node>,
    pub(super) links: Vec<Link<R>>,
    pub(super) flow_names: Vec<String>,
    pub(super) inputs: Vec<Input>,
    pub(super) paths: Vec<Path<R>>,
    pub(super) plans: Vec<PathPlan>,
    pub(super) risers: Vec<Riser<R>>,
    pub(super) channels: Vec<Channel<R>>,
}

impl<R: Real> Builder<R> {
    pub(super) fn new(house: &House, detail: Detail, common: &Common) -> Self {
        Self {
            common: common.clone(),
            detail,
            films: FilmsAsTheyAre {
                outside: FilmShares {
                    natural: house.site.natural_film,
                    forced: house.site.wind_film,
                },
                attic: house.attic.film,
            },
            nodes: Vec::new(),
            links: Vec::new(),
            flow_names: Vec::new(),
            inputs: Vec::new(),
            paths: Vec::new(),
            plans: Vec::new(),
            risers: Vec::new(),
            channels: Vec::new(),
        }
    }

    pub(super) fn node(
        &mut self,
        name: impl Into<String>,
        capacity_j_k: f64,
        area_m2: f64,
    ) -> usize {
        self.nodes.push(Node {
            name: name.into(),
            capacity_j_k,
            area_m2,
        });
        self.nodes.len() - 1
    }

    /// Gives a node another name, in the names of its flows too.
    pub(super) fn rename(&mut self, node: usize, name: &str) {
        let old = std::mem::replace(&mut self.nodes[node].name, name.to_owned());
        for (link, flow) in self.links.iter().zip(&mut self.flow_names) {
            if link.ends.to == Some(node)
                && let Some(stem) = flow.strip_suffix(&old)
            {
                *flow = format!("{stem}{name}");
            } else if link.ends.from == Some(node)
                && let Some(rest) = flow.strip_prefix(&old)
            {
                *flow = format!("{name}{rest}");
            }
        }
    }

    /// Index of an input, added if it is new.
    pub(super) fn input(&mut self, input: Input) -> usize {
        if let Some(index) = self.inputs.iter().position(|known| *known == input) {
            return index;
        }
        self.inputs.push(input);
        self.inputs.len() - 1
    }

    pub(super) fn link(&mut self, from: &End, to: &End, law: Law<R>) {
        let law = match self.detail {
            Detail::Usual => law,
            Detail::Finer => law.with_other_films(),
        }
        .with_films(self.films);
        let index = |end: &End| match end {
            End::Node(node) => Some(*node),
            _ => None,
        };
        let name = |end: &End| match end {
            End::Node(node) => self.nodes[*node].name.clone(),
            End::Outside(name) => (*name).to_owned(),
            End::Beyond(name) => name.clone(),
        };
        let mut flow_name = format!("{}_to_{}", name(from), name(to));
        let taken = |candidate: &str, names: &[String]| names.iter().any(|n| n == candidate);
        if taken(&flow_name, &self.flow_names) {
            let base = flow_name.clone();
            let mut number = 2;
            while taken(&flow_name, &self.flow_names) {
                flow_name = format!("{base}_{number}");
                number += 1;
            }
        }
        self.flow_names.push(flow_name);
        self.links.push(Link {
            ends: Ends {
                from: index(from),
                to: index(to),
            },
            law,
        });
    }

    /// Solid conduction between two nodes.
    pub(super) fn conduct(&mut self, from: usize, to: usize, w_k: f64) {
        self.link(
            &End::Node(from),
            &End::Node(to),
            Law::Conduct { w_k: R::splat(w_k) },
        );
    }

    /// Conduction through insulation, which grows by a share per kelvin.
    fn insulate(&mut self, from: usize, to: usize, label_w_k: f64, growth_per_k: f64) {
        let by = Insulating::new(R::splat(label_w_k), R::splat(growth_per_k));
        self.link(&End::Node(from), &End::Node(to), Law::Insulate { by });
    }

    /// Cuts layers into lumps and strings them as nodes; the first and last are the surfaces.
    pub(super) fn chain(
        &mut self,
        layers: &[Layer],
        area_m2: f64,
        names: [&str; 3],
    ) -> Result<Vec<usize>, LumpingError> {
        self.chain_with_place(layers, area_m2, names, layers.len())
            .map(|(nodes, _)| nodes)
    }

    /// As [`Self::chain`], keeping a node at the far side of layer `place`; gives that node too.
    pub(super) fn chain_with_place(
        &mut self,
        layers: &[Layer],
        area_m2: f64,
        names: [&str; 3],
        place: usize,
    ) -> Result<(Vec<usize>, usize), LumpingError> {
        let (chain, places) = match self.detail {
            Detail::Usual => self.common.lumps(layers, USUAL_FILMS, place)?,
            Detail::Finer => slices(layers, FINER_SLICES, &[place])?,
        };
        let nodes = self.string(layers, &chain, area_m2, names);
        let kept = nodes[places.first().copied().unwrap_or(0)];
        Ok((nodes, kept))
    }

    /// Strings layers cut into a few even slices each: for a side path that carries a small share
    /// of the heat, where the last minutes of its delay do not matter.
    pub(super) fn coarse_chain(
        &mut self,
        layers: &[Layer],
        area_m2: f64,
        names: [&str; 3],
        place: usize,
    ) -> Result<(Vec<usize>, usize), LumpingError> {
        let (chain, kept) = even_slices(layers, COARSE_SLICE_M2K_W, place)?;
        let nodes = self.string(layers, &chain, area_m2, names);
        let kept = nodes[kept];
        Ok((nodes, kept))
    }

    fn string(
        &mut self,
        layers: &[Layer],
        chain: &Chain,
        area_m2: f64,
        names: [&str; 3],
    ) -> Vec<usize> {
        let [stem, first, last] = names;
        let count = chain.capacities_j_m2k.len();
        let nodes: Vec<usize> = chain
            .capacities_j_m2k
            .iter()
            .enumerate()
            .map(|(index, &capacity)| {
                let name = if index + 1 == count {
                    format!("{stem}_{last}")
                } else if index == 0 {
                    format!("{stem}_{first}")
                } else {
                    format!("{stem}_{}", index + 1)
                };
                self.node(name, capacity.max(LEAST_CAPACITY_J_M2K) * area_m2, area_m2)
            })
            .collect();
        let growths = growths_per_k(layers, &chain.resistances_m2k_w);
        let sections = chain.resistances_m2k_w.iter().zip(growths);
        for (pair, (&resistance, growth_per_k)) in nodes.windows(2).zip(sections) {
            let w_k = area_m2 / resistance;
            if growth_per_k > 0.0 {
                self.insulate(pair[0], pair[1], w_k, growth_per_k);
            } else {
                self.conduct(pair[0], pair[1], w_k);
            }
        }
        nodes
    }

    /// Adds a way for air and returns its index.
    pub(super) fn path(
        &mut self,
        plan: PathPlan,
        element: crate::physics::airflow::Element<R>,
    ) -> usize {
        let zone = |place: Place| match place {
            Place::Outdoors { .. } => None,
            Place::Zone { zone, .. } => Some(zone),
        };
        self.paths.push(Path {
            from: zone(plan.from),
            to: zone(plan.to),
            element,
        });
        self.plans.push(plan);
        self.paths.len() - 1
    }
}
