//! A house as one network: its parts joined by the air that passes between them.

use crate::house::House;
use crate::ode::{Ends, Mask, Real};
use crate::physics::pressure_network::Closing;

use super::air::{self, Air, AirState, Carrier, Place};
use super::attic::{self, Heights};
use super::builder::{Builder, Detail, End};
use super::common::Common;
use super::control::Switches;
use super::forcing::{Exposure, Input};
use super::links::{Law, Link, Meter};
use super::shape::Shape;
use super::vents::{self, Switched};
use super::{AirPath, AssemblyError, Landmarks, Meters, Network, ducts, rooms, sensor};

impl<R: Real> Network<R> {
    /// Assembles a house.
    ///
    /// # Errors
    /// [`AssemblyError`] if its layers or faces cannot be computed, which a valid house's can.
    pub fn assemble(house: &House) -> Result<Self, AssemblyError> {
        Self::assemble_in(house, Detail::Usual, &Common::default())
    }

    /// Assembles a house in more detail, among others with which it may have much in common.
    ///
    /// # Errors
    /// As [`Self::assemble`].
    pub fn assemble_in(
        house: &House,
        detail: Detail,
        common: &Common,
    ) -> Result<Self, AssemblyError> {
        let shape = Shape::of(house);
        let plan = &house.plan;
        let attic_floor_m = house.attic_floor_height_m();
        let heights = Heights {
            attic_floor_m,
            ridge_m: house.ridge_height_m(),
        };
        let mut builder = Builder::new(house, detail, common);
        let open = house.ceiling.open;
        let below = open.then(|| rooms::begin(house, &mut builder));
        let attic = attic::build(house, &shape, heights, below, &mut builder)?;
        let rooms = rooms::build(house, &attic, below, &mut builder)?;
        let (switched, neighbours) = vents::build(house, heights, &mut builder);
        let plant = house.living.cooling.as_ref().zip(house.living.ducts);
        let ends = [attic.lower, rooms.living];
        let spill = plant.and_then(|(plant, ducts)| {
            ducts::build(ducts, plant, ends, attic_floor_m, &mut builder)
        });
        let [outdoor, humidity, pressure] =
            [Input::OutdoorTemp, Input::HumidityRatio, Input::Pressure].map(|it| builder.input(it));
        let wind = builder.input(Input::RoofWind);
        let mut air = Air {
            lower: attic.lower,
            upper: attic.upper,
            living: rooms.living,
            crawl: rooms.crawl,
            attic_floor_m,
            living_floor_m: plan.floor_height_m,
            interface_m: shape.interface_height_m,
            interface_area_m2: R::splat(shape.interface_area_m2),
            lower_share: shape.lower_volume_m3 / shape.volume_m3,
            attic_section_m2: R::splat(shape.volume_m3 / shape.length_m),
            paths: std::mem::take(&mut builder.paths),
            plans: std::mem::take(&mut builder.plans),
            carriers: Vec::new(),
            pulls: Vec::new(),
            attic_ends: Vec::new(),
            spill,
            neighbours,
            risers: std::mem::take(&mut builder.risers),
            channels: std::mem::take(&mut builder.channels),
            outdoor,
            humidity,
            pressure,
            wind,
        };
        air.pulls = air.plans.iter().map(|plan| air.pull(plan)).collect();
        air.attic_ends = (0..air.plans.len())
            .flat_map(|path| air.attic_ends(path))
            .collect();
        let (paths, meters) = air_links(&mut air, &switched, &mut builder);
        let landmarks = landmarks(&shape, &attic, &rooms, &builder);
        let thermometers = sensor::thermometers(house, &shape, &attic, &landmarks, rooms.furniture);
        let exposure = Exposure::new(
            builder.inputs,
            &house.site,
            heights.ridge_m,
            rooms.ground_swing_share,
            house.living.given.as_ref(),
        );
        let mut pattern = Vec::new();
        let mut widths = Vec::new();
        for (flow, link) in builder.links.iter().enumerate() {
            let first = pattern.len();
            pattern.extend(link.depends_on(&air).into_iter().map(|node| (flow, node)));
            widths.push(pattern.len() - first);
        }
        let now = AirState::new(&air);
        let switches = Switches::new(house, &landmarks);
        let capacities = builder.nodes.iter().map(|n| R::splat(n.capacity_j_k));
        let mut network = Self {
            capacities: capacities.collect(),
            ends: builder.links.iter().map(|link| link.ends).collect(),
            emission: vec![R::splat(0.0); builder.nodes.len()],
            emission_slopes: vec![R::splat(0.0); builder.nodes.len()],
            inputs: vec![R::splat(0.0); exposure.inputs.len()],
            inputs_before: vec![R::splat(0.0); exposure.inputs.len()],
            renewed: R::Mask::ALL,
            nodes: builder.nodes,
            links: builder.links,
            flow_names: builder.flow_names,
            pattern,
            films: vec![R::splat(0.0); widths.len()],
            widths,
            air,
            now,
            exposure,
            stretches: vec![None; R::WIDTH],
            attending: R::Mask::ALL,
            closing: Closing::closed(),
            running: vec![false; switched.len()],
            switched,
            switches,
            landmarks,
            paths,
            meters,
            thermometers,
        };
        network.apply_switches();
        Ok(network)
    }
}

/// Enthalpy and mass of each path as links, and the meters; returns what results need of them.
fn air_links<R: Real>(
    air: &mut Air<R>,
    switched: &[Switched<R>],
    builder: &mut Builder<R>,
) -> (Vec<AirPath>, Meters) {
    let mut paths = Vec::new();
    let mut carriers = Vec::new();
    for (index, plan) in air.plans.iter().enumerate() {
        if plan.channel.is_none() {
            for (from, from_share) in air.nodes_at(plan.from) {
                for (to, to_share) in air.nodes_at(plan.to) {
                    let outside = || End::Beyond(format!("outdoors_by_{}", plan.name));
                    let end = |node: Option<usize>| node.map_or_else(outside, End::Node);
                    let carrier = carriers.len();
                    builder.link(&end(from), &end(to), Law::Carry { carrier });
                    carriers.push(Carrier {
                        path: index,
                        share: from_share * to_share,
                        from,
                        to,
                    });
                }
            }
        }
        let zone = |place: Place| match place {
            Place::Outdoors { .. } => "outdoors",
            Place::Zone {
                zone: air::ATTIC, ..
            } => "attic",
            Place::Zone {
                zone: air::LIVING, ..
            } => "living",
            Place::Zone { .. } => "crawl",
        };
        let (from, to) = (zone(plan.from), zone(plan.to));
        let fans = switched
            .iter()
            .find(|s| s.path == index)
            .and_then(|s| s.fans);
        paths.push(AirPath {
            name: plan.name.clone(),
            flow: format!("{from}_to_{to}_by_{}", plan.name),
            from,
            to,
            meter: 0,
            volume: None,
            fans,
        });
    }
    air.carriers = carriers;
    builder.link(&End::Node(air.lower), &End::Node(air.upper), Law::Interface);
    for (index, path) in paths.iter_mut().enumerate() {
        path.meter = meter(builder, Meter::Mass { path: index });
        builder.flow_names.push(path.flow.clone());
    }
    // What has no name of its own in the results comes last.
    for (index, path) in paths.iter_mut().enumerate() {
        let volume = Meter::Volume { path: index };
        path.volume = path.fans.map(|_| meter(builder, volume));
    }
    let meters = Meters {
        attic_pressure: meter(builder, Meter::Pressure { zone: air::ATTIC }),
        living_pressure: meter(builder, Meter::Pressure { zone: air::LIVING }),
        attic_density: meter(builder, Meter::AtticDensity),
        short_circuit: meter(builder, Meter::ShortCircuit),
    };
    (paths, meters)
}

/// Adds a meter; returns its place among the flows.
fn meter<R: Real>(builder: &mut Builder<R>, meter: Meter) -> usize {
    builder.links.push(Link {
        ends: Ends {
            from: None,
            to: None,
        },
        law: Law::AirMeter { meter },
    });
    builder.links.len() - 1
}

fn landmarks<R>(
    shape: &Shape,
    attic: &attic::AtticNodes,
    rooms: &rooms::RoomNodes,
    builder: &Builder<R>,
) -> Landmarks {
    // Heat is read as it enters the board from above: between the node at its top and the next
    // one up. Without anything above the board, between it and its last inner node.
    let conducts = |near: &dyn Fn(&Ends) -> Option<usize>, node: usize| {
        builder.links.iter().position(|link| {
            matches!(link.law, Law::Conduct { .. } | Law::Insulate { .. })
                && near(&link.ends) == Some(node)
        })
    };
    let mut ceiling_flows: Vec<(usize, f64)> = attic
        .board_tops
        .iter()
        .filter_map(|&top| {
            conducts(&|ends| ends.from, top).or_else(|| conducts(&|ends| ends.to, top))
        })
        // Chains run upward, so that heat down is negative.
        .map(|flow| (flow, -1.0))
        .collect();
    // Where there is no ceiling: what the air carries down.
    let is_open = |link: &Link<R>| matches!(link.law, Law::OpenPlane { .. });
    ceiling_flows.extend(
        builder
            .links
            .iter()
            .position(is_open)
            .map(|flow| (flow, 1.0)),
    );
    let ceilings = if attic.undersides.is_empty() {
        &attic.floor_tops
    } else {
        &attic.undersides
    };
    Landmarks {
        attic_lower: attic.lower,
        attic_upper: attic.upper,
        decks: attic.deck_undersides.clone(),
        floors: attic.floor_tops.clone(),
        ceilings: ceilings.clone(),
        ceiling_flows,
        living: rooms.living,
        furniture: rooms.furniture,
        lower_volume_share: shape.lower_volume_m3 / shape.volume_m3,
        layer_heights_m: [
            shape.lower_centroid_m,
            shape.upper_centroid_m,
            shape.ridge_height_m,
        ],
        attic_volume_m3: shape.volume_m3,
        floor_m2: shape.floor_area_m2,
    }
}
