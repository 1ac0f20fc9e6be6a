//! The house cut open, with pressures and the air through each opening.
//!
//! Two sections, across the ridge and along it, each with the openings that lie in it. They are
//! drawn to one pattern and not to scale: the roof's form and the arrows' widths tell.

use std::fmt::Write as _;

use crate::elementary::hypot;
use crate::units::System;

use super::air::{Arrow, Section, Spot};
use super::scale::{self, plain};
use super::svg::{Anchor, Point, Svg, Type, width};
use super::{ChartError, Frame, Tint};

impl Section {
    /// The two sections as SVG, side by side or one above the other.
    ///
    /// # Errors
    /// [`ChartError`]; none today.
    pub fn draw(&self, frame: Frame, system: System) -> Result<String, ChartError> {
        let wide = frame.is_wide();
        let mut svg = Svg::new(
            frame.width(),
            if wide { HEIGHT } else { 2.0 * HEIGHT + 18.0 },
        );
        self.across(&mut svg, (0.0, 0.0), system);
        let second = if wide {
            (frame.width() - WIDTH, 0.0)
        } else {
            (0.0, HEIGHT + 18.0)
        };
        self.along(&mut svg, second, system);
        Ok(svg.finish(&self.title, &self.in_words(system)))
    }

    /// What the drawing shows, in words.
    fn in_words(&self, system: System) -> String {
        let mut words = format!(
            "Attic {} against outdoors, rooms {}.",
            pascals(self.attic_pa),
            pascals(self.living_pa)
        );
        for arrow in self.shown() {
            let side = self.side_of(arrow.spot);
            let gap = if side.is_empty() { "" } else { " " };
            let flow = flow_words(system, arrow);
            let _ = write!(words, " {side}{gap}{}: {flow}.", arrow.label);
        }
        words
    }

    fn side_of(&self, spot: Spot) -> &'static str {
        match spot {
            Spot::Eave(right) | Spot::Slope(right) | Spot::SideWall(right) => {
                self.sides[usize::from(right)]
            }
            Spot::Gable(right) | Spot::EndWall(right) => self.sides[2 + usize::from(right)],
            Spot::HighWall => self.sides[0],
            Spot::Ridge | Spot::Ceiling => "",
        }
    }

    /// Arrows that are large enough to matter.
    fn shown(&self) -> impl Iterator<Item = &Arrow> {
        let largest = self.largest_m3_s();
        self.arrows.iter().filter(move |arrow| {
            arrow.into_m3_s.is_finite() && arrow.into_m3_s.abs() >= 0.004 * largest && largest > 0.0
        })
    }

    fn largest_m3_s(&self) -> f64 {
        let sizes = self.arrows.iter().map(|arrow| arrow.into_m3_s.abs());
        sizes.filter(|size| size.is_finite()).fold(0.0, f64::max)
    }

    /// Width of an arrow's shaft, px.
    fn shaft_px(&self, arrow: &Arrow) -> f64 {
        2.0 + 9.0 * arrow.into_m3_s.abs() / self.largest_m3_s()
    }

    fn across(&self, svg: &mut Svg, at: Point, system: System) {
        let (left, right) = (at.0 + WALL_LEFT, at.0 + WALL_RIGHT);
        let (eave, floor) = (at.1 + EAVE_Y, at.1 + FLOOR_Y);
        let top = at.1 + RIDGE_Y;
        let peak = if self.is_one_slope {
            left
        } else {
            left.midpoint(right)
        };
        let drop = |run: f64| run * (eave - top) / (right - peak);
        let right_end = (right + OVERHANG, eave + drop(OVERHANG));
        let left_end = if self.is_one_slope {
            (left - OVERHANG, top - drop(OVERHANG))
        } else {
            (left - OVERHANG, eave + drop(OVERHANG))
        };
        let title = if self.is_one_slope {
            "across"
        } else {
            "across the ridge"
        };
        heading(svg, at, title, self.sides[0], self.sides[1]);
        rooms(svg, left, right, eave, floor);
        svg.line(&[left_end, (peak, top), right_end], Tint::Ink, 3.0, "");
        if self.is_one_slope {
            svg.line(&[(left, top), (left, eave)], Tint::Ink, 2.0, "");
        }
        let attic_x = if self.is_one_slope { left + 44.0 } else { peak };
        self.zone_words(
            svg,
            (attic_x, eave - 22.0),
            (left.midpoint(right), floor),
            system,
        );
        let mut eaves = [0.0; 2];
        let mut walls = [0.0; 2];
        for arrow in self.shown() {
            let to_right = |right: bool| if right { 1.0 } else { -1.0 };
            match arrow.spot {
                Spot::Eave(is_right) => {
                    let slot = &mut eaves[usize::from(is_right)];
                    let wall = if is_right { right } else { left };
                    let out = to_right(is_right);
                    let y = eave + 1.0;
                    let outside = (wall + out * 30.0, y + 27.0);
                    let inside = (wall - out * 14.0, y - 9.0);
                    self.arrow(svg, arrow, outside, inside);
                    let beside = (wall + out * 35.0, y + 32.0 + *slot);
                    *slot += 34.0;
                    Self::words(svg, arrow, beside, out, system);
                }
                Spot::Slope(is_right) => {
                    let out = to_right(is_right);
                    let edge = if is_right { right } else { left };
                    let foot = (peak.midpoint(edge), top.midpoint(eave));
                    let outside = (foot.0 + out * 24.0, foot.1 - 26.0);
                    let inside = (foot.0 - out * 12.0, foot.1 + 14.0);
                    self.arrow(svg, arrow, outside, inside);
                    Self::words(
                        svg,
                        arrow,
                        (outside.0 + out * 6.0, outside.1 - 4.0),
                        out,
                        system,
                    );
                }
                Spot::Ridge => {
                    self.arrow(svg, arrow, (peak, top - 36.0), (peak, top + 14.0));
                    Self::words(svg, arrow, (peak + 12.0, top - 26.0), 1.0, system);
                }
                Spot::HighWall => {
                    let y = top.midpoint(eave);
                    self.arrow(svg, arrow, (left - 40.0, y), (left + 16.0, y));
                    Self::words(svg, arrow, (left - 46.0, y - 6.0), -1.0, system);
                }
                Spot::Ceiling => {
                    // Under one slope the name of the attic stands on the left.
                    let (x, out) = if self.is_one_slope {
                        (right - 28.0, -1.0)
                    } else {
                        (left + 25.0, 1.0)
                    };
                    self.arrow(svg, arrow, (x, eave + 28.0), (x, eave - 14.0));
                    Self::words(svg, arrow, (x + 12.0 * out, eave + 18.0), out, system);
                }
                Spot::SideWall(is_right) => {
                    let slot = &mut walls[usize::from(is_right)];
                    let out = to_right(is_right);
                    let wall = if is_right { right } else { left };
                    let y = floor - 18.0 - *slot;
                    *slot += 34.0;
                    self.arrow(svg, arrow, (wall + out * 30.0, y), (wall - out * 16.0, y));
                    Self::words(svg, arrow, (wall + out * 35.0, y - 3.0), out, system);
                }
                Spot::Gable(_) | Spot::EndWall(_) => {}
            }
        }
    }

    fn along(&self, svg: &mut Svg, at: Point, system: System) {
        let (left, right) = (at.0 + WALL_LEFT, at.0 + WALL_RIGHT);
        let (top, eave, floor) = (at.1 + RIDGE_Y, at.1 + EAVE_Y, at.1 + FLOOR_Y);
        heading(svg, at, "along the ridge", self.sides[2], self.sides[3]);
        rooms(svg, left, right, eave, floor);
        svg.line(&[(left, top), (left, eave)], Tint::Ink, 2.0, "");
        svg.line(&[(right, top), (right, eave)], Tint::Ink, 2.0, "");
        svg.line(
            &[(left - 10.0, top), (right + 10.0, top)],
            Tint::Ink,
            3.0,
            "",
        );
        self.zone_words(
            svg,
            (left.midpoint(right), eave - 34.0),
            (left.midpoint(right), floor),
            system,
        );
        let mut gables = [0.0; 2];
        let mut walls = [0.0; 2];
        for arrow in self.shown() {
            let (is_right, y) = match arrow.spot {
                Spot::Gable(is_right) => {
                    let slot = &mut gables[usize::from(is_right)];
                    let y = top + 24.0 + *slot;
                    *slot += 36.0;
                    (is_right, y)
                }
                Spot::EndWall(is_right) => {
                    let slot = &mut walls[usize::from(is_right)];
                    let y = floor - 18.0 - *slot;
                    *slot += 34.0;
                    (is_right, y)
                }
                _ => continue,
            };
            let out = if is_right { 1.0 } else { -1.0 };
            let wall = if is_right { right } else { left };
            self.arrow(svg, arrow, (wall + out * 30.0, y), (wall - out * 18.0, y));
            Self::words(svg, arrow, (wall + out * 35.0, y - 3.0), out, system);
        }
    }

    /// Names, temperatures and pressures of attic and rooms.
    fn zone_words(&self, svg: &mut Svg, attic: Point, rooms: Point, system: System) {
        let name = Type::new(Tint::Ink, Anchor::Middle).bold();
        let value = Type::new(Tint::Ink, Anchor::Middle).small();
        let [attic_k, living_k, _] = self.temps_k;
        for (at, title, temp_k, pressure) in [
            (attic, "attic", attic_k, self.attic_pa),
            ((rooms.0, rooms.1 - 30.0), "rooms", living_k, self.living_pa),
        ] {
            let text = format!("{title} {}", scale::whole_degrees(system, temp_k));
            svg.text(at, &text, name);
            svg.text((at.0, at.1 + 15.0), &pascals(pressure), value);
        }
    }

    fn arrow(&self, svg: &mut Svg, arrow: &Arrow, outside: Point, inside: Point) {
        let (from, to) = if arrow.into_m3_s >= 0.0 {
            (outside, inside)
        } else {
            (inside, outside)
        };
        let tint = tint(arrow);
        let shaft = self.shaft_px(arrow) / 2.0;
        let head = shaft + 4.0;
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let length = hypot(dx, dy);
        let (ux, uy) = (dx / length, dy / length);
        let head_length = (1.5 * head).min(0.6 * length);
        let at = |along: f64, across: f64| {
            (
                from.0 + ux * along - uy * across,
                from.1 + uy * along + ux * across,
            )
        };
        let neck = length - head_length;
        let outline = [
            at(0.0, -shaft),
            at(neck, -shaft),
            at(neck, -head),
            at(length, 0.0),
            at(neck, head),
            at(neck, shaft),
            at(0.0, shaft),
        ];
        svg.polygon(&outline, tint, 1.0);
    }

    /// Two lines beside an arrow: what it is and how much.
    fn words(svg: &mut Svg, arrow: &Arrow, at: Point, out: f64, system: System) {
        let anchor = if out > 0.0 {
            Anchor::Start
        } else {
            Anchor::End
        };
        let style = Type::new(tint(arrow), anchor).small().halo();
        svg.text(at, &arrow.label, style.bold());
        svg.text((at.0, at.1 + 13.0), &flow_words(system, arrow), style);
    }
}

/// Room of one section, px.
const WIDTH: f64 = 336.0;
const HEIGHT: f64 = 292.0;
/// Places in it.
const WALL_LEFT: f64 = 104.0;
const WALL_RIGHT: f64 = 232.0;
const RIDGE_Y: f64 = 74.0;
const EAVE_Y: f64 = 158.0;
const FLOOR_Y: f64 = 262.0;
const OVERHANG: f64 = 13.0;

fn tint(arrow: &Arrow) -> Tint {
    if arrow.spot == Spot::Ceiling {
        Tint::Green
    } else if arrow.is_fan {
        Tint::Vermilion
    } else {
        Tint::Blue
    }
}

fn flow_words(system: System, arrow: &Arrow) -> String {
    let flow = scale::air_flow(system, arrow.into_m3_s.abs());
    let decimals = usize::from(flow < 9.95);
    let flow = format!("{} {}", plain(flow, decimals), scale::air_flow_unit(system));
    let way = match (arrow.spot, arrow.into_m3_s >= 0.0) {
        (Spot::Ceiling, true) => "up",
        (Spot::Ceiling, false) => "down",
        (_, true) => "in",
        (_, false) => "out",
    };
    format!("{flow} {way}")
}

/// A pressure in Pa, to a hundredth where it is small.
fn pascals(pressure_pa: f64) -> String {
    let decimals = if pressure_pa.abs() < 1.0 { 2 } else { 1 };
    let figure = plain(pressure_pa, decimals);
    let is_above = pressure_pa > 0.0 && figure.contains(|c: char| matches!(c, '1'..='9'));
    format!("{}{figure} Pa", if is_above { "+" } else { "" })
}

fn heading(svg: &mut Svg, at: Point, title: &str, left: &str, right: &str) {
    let middle = Type::new(Tint::Muted, Anchor::Middle).small();
    svg.text((at.0 + WIDTH / 2.0, at.1 + 12.0), title, middle);
    let side = Type::new(Tint::Muted, Anchor::Start).small();
    svg.text((at.0, at.1 + 12.0), left, side);
    svg.text(
        (at.0 + WIDTH, at.1 + 12.0),
        right,
        Type {
            anchor: Anchor::End,
            ..side
        },
    );
    debug_assert!(width(title, middle) < WIDTH);
}

/// Walls, ceiling, floor and ground.
fn rooms(svg: &mut Svg, left: f64, right: f64, eave: f64, floor: f64) {
    svg.rect((left - 3.0, eave), (left, floor), Tint::Solid, 1.0);
    svg.rect((right, eave), (right + 3.0, floor), Tint::Solid, 1.0);
    svg.rect(
        (left - 3.0, floor),
        (right + 3.0, floor + 4.0),
        Tint::Solid,
        1.0,
    );
    svg.rect((left, eave - 5.0), (right, eave), Tint::Solid, 1.0);
    let ground = floor + 16.0;
    svg.line(
        &[
            (left - WALL_LEFT, ground),
            (left - WALL_LEFT + WIDTH, ground),
        ],
        Tint::Muted,
        1.0,
        "",
    );
    for x in [left + 10.0, right - 14.0] {
        svg.rect((x, floor + 4.0), (x + 4.0, ground), Tint::Solid, 1.0);
    }
}
