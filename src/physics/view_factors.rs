//! View factors between planar polygons in space, for any convex enclosure.
//!
//! The double area integral is turned into a double line integral over both outlines (Stokes'
//! theorem twice; Sparrow 1963, "A new and simpler formulation for radiative angle factors",
//! J. Heat Transfer 85):
//!
//! `A₁ F₁₂ = 1/(2π) |∮∮ ln r  dr₁·dr₂|`
//!
//! The inner integral along an edge has a closed form and the outer one is done by adaptive
//! Gauss–Legendre quadrature after a change of variable that flattens the ends, where edges that
//! share a corner have a logarithm. An edge shared by both outlines is exact.

use std::f64::consts::PI;

use nalgebra::{DMatrix, DVector, Vector3};

use crate::elementary::{atan2, exp, hypot, ln};

/// A planar convex polygon, seen from the side on which its radiation leaves.
#[derive(Debug, Clone, PartialEq)]
pub struct Face {
    /// Corners in order around the outline, m. Both senses are accepted.
    pub vertices: Vec<[f64; 3]>,
}

/// Why view factors cannot be computed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ViewFactorError {
    /// Fewer than three corners.
    #[error("face {face} has {corners} corners; it needs three or more")]
    TooFewCorners {
        /// Index of the face.
        face: usize,
        /// Corners it has.
        corners: usize,
    },
    /// A coordinate is not finite or the face has no area.
    #[error("face {face} has no area")]
    NoArea {
        /// Index of the face.
        face: usize,
    },
    /// The corners do not lie in one plane.
    #[error("a corner of face {face} lies {distance_m} m outside its plane")]
    NotPlanar {
        /// Index of the face.
        face: usize,
        /// Distance of the worst corner from the plane, m.
        distance_m: f64,
    },
    /// What leaves a face does not all arrive: the faces leave a gap, overlap or hide each other.
    #[error("the faces do not form a closed convex room: face {face} sees {row_sum} of it")]
    NotEnclosed {
        /// Index of the face.
        face: usize,
        /// Sum of its view factors; 1 for a closed convex room.
        row_sum: f64,
    },
}

/// How far a sum of view factors may be from 1 before the faces are said not to enclose a room.
const ENCLOSURE_TOLERANCE: f64 = 1e-6;
/// Error allowed to a line integral, as a fraction of the product of both edges.
const QUADRATURE_TOLERANCE: f64 = 1e-11;
/// Halvings of a quadrature interval.
const DEPTH_LIMIT: u32 = 14;

/// Positive abscissas of the ten-point Gauss–Legendre rule on [−1, 1] (Abramowitz & Stegun 1964,
/// table 25.4).
const ABSCISSAS: [f64; 5] = [
    0.148_874_338_981_631_2,
    0.433_395_394_129_247_2,
    0.679_409_568_299_024_4,
    0.865_063_366_688_984_5,
    0.973_906_528_517_171_7,
];
/// Weights that go with [`ABSCISSAS`].
const WEIGHTS: [f64; 5] = [
    0.295_524_224_714_752_9,
    0.269_266_719_309_996_4,
    0.219_086_362_515_982,
    0.149_451_349_150_580_6,
    0.066_671_344_308_688_1,
];

impl Face {
    /// Vector area, m²: normal to the face, right-handed with the order of its corners.
    fn vector_area(&self) -> Vector3<f64> {
        let first = self.corner(0);
        let spokes = (1..self.vertices.len()).map(|i| self.corner(i) - first);
        spokes
            .clone()
            .zip(spokes.skip(1))
            .map(|(a, b)| a.cross(&b))
            .sum::<Vector3<f64>>()
            * 0.5
    }

    /// Area, m².
    pub fn area_m2(&self) -> f64 {
        self.vector_area().norm()
    }

    /// Unit normal, right-handed with the order of the corners; NaN without area.
    pub fn normal(&self) -> [f64; 3] {
        let area = self.vector_area();
        (area / area.norm()).into()
    }

    fn corner(&self, index: usize) -> Vector3<f64> {
        self.vertices
            .get(index)
            .copied()
            .map_or_else(Vector3::zeros, Vector3::from)
    }

    fn edges(&self) -> impl Iterator<Item = Edge> + '_ {
        let count = self.vertices.len();
        (0..count).map(move |i| Edge::new(self.corner(i), self.corner((i + 1) % count)))
    }

    fn check(&self, face: usize) -> Result<(), ViewFactorError> {
        let corners = self.vertices.len();
        if corners < 3 {
            return Err(ViewFactorError::TooFewCorners { face, corners });
        }
        let area = self.vector_area();
        if !(area.norm() > 0.0 && area.norm().is_finite()) {
            return Err(ViewFactorError::NoArea { face });
        }
        let normal = area.normalize();
        let distance_m = (0..corners)
            .map(|i| (self.corner(i) - self.corner(0)).dot(&normal).abs())
            .fold(0.0, f64::max);
        if distance_m > 1e-6 * area.norm().sqrt() {
            return Err(ViewFactorError::NotPlanar { face, distance_m });
        }
        Ok(())
    }
}

/// A straight edge: `start + s·direction`, `0 ≤ s ≤ length`.
#[derive(Debug, Clone, Copy)]
struct Edge {
    start: Vector3<f64>,
    direction: Vector3<f64>,
    length: f64,
}

impl Edge {
    fn new(start: Vector3<f64>, end: Vector3<f64>) -> Self {
        let length = (end - start).norm();
        let direction = if length > 0.0 {
            (end - start) / length
        } else {
            Vector3::zeros()
        };
        Self {
            start,
            direction,
            length,
        }
    }

    fn end(&self) -> Vector3<f64> {
        self.start + self.direction * self.length
    }

    fn is_same_line_as(&self, other: &Self) -> bool {
        let near =
            |a: Vector3<f64>, b: Vector3<f64>| (a - b).norm() <= 1e-12 * self.length.max(1e-300);
        (near(self.start, other.start) && near(self.end(), other.end()))
            || (near(self.start, other.end()) && near(self.end(), other.start))
    }

    /// `∫ ln r ds` along this edge, r the distance to `point`.
    fn log_distance_integral(&self, point: &Vector3<f64>) -> f64 {
        let to_start = self.start - point;
        let low = to_start.dot(&self.direction);
        let high = low + self.length;
        let off2 = to_start.cross(&self.direction).norm_squared();
        let off = off2.sqrt();
        let part = |s: f64| {
            let r2 = s * s + off2;
            if r2 > 0.0 { 0.5 * s * ln(r2) } else { 0.0 }
        };
        let angle = atan2(off * self.length, off2 + low * high);
        part(high) - part(low) - self.length + off * angle
    }
}

/// `∫∫ ln r ds₁ ds₂` over two edges.
fn log_distance_double_integral(first: &Edge, second: &Edge) -> f64 {
    if first.is_same_line_as(second) {
        return first.length * first.length * (ln(first.length) - 1.5);
    }
    let (outer, inner) = if first.length <= second.length {
        (first, second)
    } else {
        (second, first)
    };
    // x = t³(10 − 15t + 6t²) has zero slope and curvature at both ends.
    let integrand = |t: f64| {
        let x = t * t * t * (10.0 - t * (15.0 - 6.0 * t));
        let slope = 30.0 * t * t * (1.0 - t) * (1.0 - t);
        let point = outer.start + outer.direction * (x * outer.length);
        slope * inner.log_distance_integral(&point)
    };
    let tolerance = QUADRATURE_TOLERANCE * inner.length;
    let whole = gauss(&integrand, 0.0, 1.0);
    outer.length * refine(&integrand, 0.0, 1.0, whole, tolerance, DEPTH_LIMIT)
}

fn gauss(integrand: &impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    let (middle, half) = (0.5 * (low + high), 0.5 * (high - low));
    half * ABSCISSAS
        .iter()
        .zip(&WEIGHTS)
        .map(|(x, w)| w * (integrand(middle - half * x) + integrand(middle + half * x)))
        .sum::<f64>()
}

fn refine(
    integrand: &impl Fn(f64) -> f64,
    low: f64,
    high: f64,
    whole: f64,
    tolerance: f64,
    depth: u32,
) -> f64 {
    let middle = 0.5 * (low + high);
    let (left, right) = (
        gauss(integrand, low, middle),
        gauss(integrand, middle, high),
    );
    if depth == 0 || (left + right - whole).abs() <= tolerance {
        return left + right;
    }
    refine(integrand, low, middle, left, 0.5 * tolerance, depth - 1)
        + refine(integrand, middle, high, right, 0.5 * tolerance, depth - 1)
}

/// Exchange area `A₁F₁₂ = A₂F₂₁` of two planar faces, m². Each face must lie wholly in front of
/// the other, and nothing may stand between them.
///
/// # Errors
/// [`ViewFactorError`] when a face is not a planar polygon with an area; `face` is 0 or 1.
///
/// Source: contour integral of Sparrow 1963 (see the module).
pub fn exchange_area_m2(first: &Face, second: &Face) -> Result<f64, ViewFactorError> {
    first.check(0)?;
    second.check(1)?;
    Ok(exchange_area(first, second))
}

fn exchange_area(first: &Face, second: &Face) -> f64 {
    let mut sum = 0.0;
    for a in first.edges() {
        for b in second.edges() {
            let along = a.direction.dot(&b.direction);
            if along.abs() > 1e-14 {
                sum += along * log_distance_double_integral(&a, &b);
            }
        }
    }
    sum.abs() / (2.0 * PI)
}

/// View factors `F[(i, j)]` of the faces of a closed convex room, from face i to face j.
///
/// Reciprocity `A_i F_ij = A_j F_ji` holds by construction. What quadrature leaves of the row sums
/// is closed by the smallest symmetric correction in proportion to the exchange areas (idea of van
/// Leersum 1989, "A method for determining a consistent set of radiation view factors", from
/// memory).
///
/// # Errors
/// [`ViewFactorError`] when a face is not a planar polygon with an area, or the faces do not close
/// a convex room.
pub fn view_factors(faces: &[Face]) -> Result<DMatrix<f64>, ViewFactorError> {
    for (index, face) in faces.iter().enumerate() {
        face.check(index)?;
    }
    let count = faces.len();
    let areas = DVector::from_iterator(count, faces.iter().map(Face::area_m2));
    let mut exchange = DMatrix::zeros(count, count);
    for i in 0..count {
        for j in 0..i {
            let area = exchange_area(&faces[i], &faces[j]);
            exchange[(i, j)] = area;
            exchange[(j, i)] = area;
        }
    }
    let row_sums = exchange.column_sum();
    for face in 0..count {
        let row_sum = row_sums[face] / areas[face];
        if (row_sum - 1.0).abs() > ENCLOSURE_TOLERANCE {
            return Err(ViewFactorError::NotEnclosed { face, row_sum });
        }
    }
    close_rows(&mut exchange, &areas);
    Ok(DMatrix::from_fn(count, count, |i, j| {
        exchange[(i, j)] / areas[i]
    }))
}

/// Scales `S_ij` by `1 + λ_i + λ_j` so that each row sums to its area.
fn close_rows(exchange: &mut DMatrix<f64>, areas: &DVector<f64>) {
    let row_sums = exchange.column_sum();
    let system = &*exchange + DMatrix::from_diagonal(&row_sums);
    // A singular system (two faces only) keeps the rows that quadrature gave.
    if let Some(factors) = system.lu().solve(&(areas - &row_sums)) {
        let count = areas.len();
        for i in 0..count {
            for j in 0..count {
                exchange[(i, j)] *= 1.0 + factors[i] + factors[j];
            }
        }
    }
}

/// View factors between the sides of an infinitely long room of convex section, by Hottel's
/// crossed strings (Hottel & Sarofim 1967). Side i runs from vertex i to vertex i + 1; vertices
/// are in order around the section, m.
pub fn crossed_strings(section: &[[f64; 2]]) -> DMatrix<f64> {
    let count = section.len();
    let distance = |a: usize, b: usize| {
        let ([xa, za], [xb, zb]) = (section[a % count], section[b % count]);
        hypot(xa - xb, za - zb)
    };
    DMatrix::from_fn(count, count, |i, j| {
        if i == j {
            return 0.0;
        }
        let crossed = distance(i, j) + distance(i + 1, j + 1);
        let straight = distance(i + 1, j) + distance(i, j + 1);
        (crossed - straight) / (2.0 * distance(i, i + 1))
    })
}

/// Areas and view factors of facets: parts of a face that are spread evenly over it and differ in
/// emittance only, such as foil and the bare deck beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Facets {
    /// Face that each facet is part of.
    pub faces: Vec<usize>,
    /// Area of each facet, m².
    pub areas_m2: Vec<f64>,
    /// View factors between facets.
    pub view_factors: DMatrix<f64>,
}

/// Splits faces into facets: `fractions[i]` holds the area fractions of face i and adds up to 1.
///
/// Facets of one plane see nothing of each other, and each has its face's view of all others.
pub fn split_faces(
    areas_m2: &[f64],
    view_factors: &DMatrix<f64>,
    fractions: &[Vec<f64>],
) -> Facets {
    let parts: Vec<(usize, f64)> = fractions
        .iter()
        .enumerate()
        .flat_map(|(face, shares)| shares.iter().map(move |&share| (face, share)))
        .collect();
    Facets {
        faces: parts.iter().map(|&(face, _)| face).collect(),
        areas_m2: parts
            .iter()
            .map(|&(face, share)| areas_m2[face] * share)
            .collect(),
        view_factors: DMatrix::from_fn(parts.len(), parts.len(), |i, j| {
            view_factors[(parts[i].0, parts[j].0)] * parts[j].1
        }),
    }
}

/// Share of radiation that bodies spread through a convex room let pass from wall to wall.
///
/// A convex body turned anyhow shows a quarter of its surface (Cauchy 1841), so that along a way L
/// the share `exp(−A_b L/4V)` gets through; the mean chord of a convex room is 4V/S (Cauchy,
/// Crofton). Both together leave `exp(−A_b/S)`. Treating many small bodies as a grey medium with
/// its mean beam length is textbook (Hottel & Sarofim 1967).
///
/// * `bodies_m2`: surface of all bodies; `walls_m2`: surface of the room
pub fn passing_share(bodies_m2: f64, walls_m2: f64) -> f64 {
    exp(-bodies_m2 / walls_m2)
}

/// View factors of a closed convex room with bodies spread evenly through it; the bodies are the
/// last row and column.
///
/// Walls see one another through the [`passing_share`] and the bodies for the rest; the bodies see
/// the walls by reciprocity, and one another for what is left, which is never negative.
pub fn with_bodies(areas_m2: &[f64], view_factors: &DMatrix<f64>, bodies_m2: f64) -> DMatrix<f64> {
    let count = areas_m2.len();
    let walls_m2: f64 = areas_m2.iter().sum();
    let passing = passing_share(bodies_m2, walls_m2);
    DMatrix::from_fn(count + 1, count + 1, |i, j| match (i < count, j < count) {
        (true, true) => passing * view_factors[(i, j)],
        (true, false) => 1.0 - passing,
        (false, true) => (1.0 - passing) * areas_m2[j] / bodies_m2,
        (false, false) => 1.0 - (1.0 - passing) * walls_m2 / bodies_m2,
    })
}

/// Share of all directions in which a point sees a convex polygon: solid angle / 4π.
///
/// The polygon is cut into triangles. Source: Van Oosterom & Strackee 1983, "The solid angle of a
/// plane triangle", IEEE Trans. Biomed. Eng. 30, eq. 8.
pub fn solid_angle_fraction(point: [f64; 3], face: &Face) -> f64 {
    let point = Vector3::from(point);
    let count = face.vertices.len();
    let to = |i: usize| face.corner(i) - point;
    let total: f64 = (1..count.saturating_sub(1))
        .map(|i| {
            let (a, b, c) = (to(0), to(i), to(i + 1));
            let (ra, rb, rc) = (a.norm(), b.norm(), c.norm());
            let volume = a.dot(&b.cross(&c));
            let denominator = ra * rb * rc + a.dot(&b) * rc + a.dot(&c) * rb + b.dot(&c) * ra;
            2.0 * atan2(volume, denominator)
        })
        .sum();
    total.abs() / (4.0 * PI)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::elementary::tan;

    fn gable_prism(width: f64, length: f64, pitch_deg: f64) -> Vec<Face> {
        let ridge = 0.5 * width * tan(pitch_deg.to_radians());
        let at = |x: f64, y: f64, z: f64| [x * width, y * length, z * ridge];
        [
            vec![
                at(0., 0., 0.),
                at(1., 0., 0.),
                at(1., 1., 0.),
                at(0., 1., 0.),
            ],
            vec![
                at(0., 0., 0.),
                at(0., 1., 0.),
                at(0.5, 1., 1.),
                at(0.5, 0., 1.),
            ],
            vec![
                at(1., 0., 0.),
                at(0.5, 0., 1.),
                at(0.5, 1., 1.),
                at(1., 1., 0.),
            ],
            vec![at(0., 0., 0.), at(0.5, 0., 1.), at(1., 0., 0.)],
            vec![at(0., 1., 0.), at(1., 1., 0.), at(0.5, 1., 1.)],
        ]
        .map(|vertices| Face { vertices })
        .to_vec()
    }

    fn hip_roof() -> Vec<Face> {
        let (w, l, h) = (9.0, 14.0, 2.5);
        let (front, back) = (4.5, 9.5);
        [
            vec![[0., 0., 0.], [w, 0., 0.], [w, l, 0.], [0., l, 0.]],
            vec![
                [0., 0., 0.],
                [0., l, 0.],
                [w / 2., back, h],
                [w / 2., front, h],
            ],
            vec![
                [w, 0., 0.],
                [w / 2., front, h],
                [w / 2., back, h],
                [w, l, 0.],
            ],
            vec![[0., 0., 0.], [w / 2., front, h], [w, 0., 0.]],
            vec![[0., l, 0.], [w, l, 0.], [w / 2., back, h]],
        ]
        .map(|vertices| Face { vertices })
        .to_vec()
    }

    #[test]
    fn rows_sum_to_one_and_exchange_is_mutual_in_gable_and_hip_roofs() {
        for faces in [
            gable_prism(8.0, 12.0, 22.0),
            gable_prism(4.0, 40.0, 8.0),
            hip_roof(),
        ] {
            let factors = view_factors(&faces).unwrap();
            for (i, a) in faces.iter().enumerate() {
                assert!((factors.row(i).sum() - 1.0).abs() < 1e-13);
                for (j, b) in faces.iter().enumerate() {
                    let there = a.area_m2() * factors[(i, j)];
                    assert!((there - b.area_m2() * factors[(j, i)]).abs() < 1e-12 * there.max(1.0));
                }
            }
        }
    }

    #[test]
    fn rows_already_close_before_the_correction() {
        for faces in [
            gable_prism(8.0, 12.0, 22.0),
            gable_prism(4.0, 40.0, 8.0),
            hip_roof(),
        ] {
            for (i, a) in faces.iter().enumerate() {
                let sum: f64 = (0..faces.len())
                    .filter(|&j| j != i)
                    .map(|j| exchange_area(a, &faces[j]))
                    .sum();
                assert!((sum / a.area_m2() - 1.0).abs() < 1e-10, "{i}: {sum}");
            }
        }
    }

    #[test]
    fn a_cube_has_the_textbook_view_factors() {
        // Opposite faces 0.1998, adjacent 0.2000 (Howell's catalogue, closed form).
        let unit = |axis: usize, side: f64| Face {
            vertices: [[0., 0.], [1., 0.], [1., 1.], [0., 1.]]
                .map(|[u, v]| {
                    let mut p = [0.0; 3];
                    p[axis] = side;
                    p[(axis + 1) % 3] = u;
                    p[(axis + 2) % 3] = v;
                    p
                })
                .to_vec(),
        };
        let faces: Vec<Face> = (0..3)
            .flat_map(|axis| [unit(axis, 0.0), unit(axis, 1.0)])
            .collect();
        let factors = view_factors(&faces).unwrap();
        assert!((factors[(0, 1)] - 0.199_824_895_7).abs() < 1e-9);
        assert!((factors[(0, 2)] - 0.200_043_776_1).abs() < 1e-9);
        for face in &faces {
            assert!((solid_angle_fraction([0.5; 3], face) - 1.0 / 6.0).abs() < 1e-14);
        }
    }

    #[test]
    fn a_face_may_be_given_in_pieces() {
        let whole = gable_prism(8.0, 12.0, 25.0);
        let mut pieces = whole.clone();
        let cut = |low: f64, high: f64| Face {
            vertices: vec![[0., low, 0.], [8., low, 0.], [8., high, 0.], [0., high, 0.]],
        };
        pieces[0] = cut(0.0, 5.0);
        pieces.push(cut(5.0, 12.0));
        let (one, two) = (
            view_factors(&whole).unwrap(),
            view_factors(&pieces).unwrap(),
        );
        assert!(two[(0, 5)].abs() < 1e-9);
        for i in 1..5 {
            assert!((two[(i, 0)] + two[(i, 5)] - one[(i, 0)]).abs() < 1e-9);
        }
    }

    #[test]
    fn a_point_inside_sees_the_whole_room_once() {
        for point in [[4.0, 6.0, 0.5], [1.0, 0.2, 0.1]] {
            let sum: f64 = gable_prism(8.0, 12.0, 30.0)
                .iter()
                .map(|face| solid_angle_fraction(point, face))
                .sum();
            assert!((sum - 1.0).abs() < 1e-13);
        }
    }

    #[test]
    fn facets_keep_row_sums_and_reciprocity() {
        let faces = gable_prism(8.0, 12.0, 30.0);
        let areas: Vec<f64> = faces.iter().map(Face::area_m2).collect();
        let factors = view_factors(&faces).unwrap();
        let shares = [
            vec![1.0],
            vec![0.9, 0.1],
            vec![0.7, 0.3],
            vec![1.0],
            vec![1.0],
        ];
        let facets = split_faces(&areas, &factors, &shares);
        assert_eq!(facets.faces, [0, 1, 1, 2, 2, 3, 4]);
        for i in 0..7 {
            assert!((facets.view_factors.row(i).sum() - 1.0).abs() < 1e-13);
            for j in 0..7 {
                let there = facets.areas_m2[i] * facets.view_factors[(i, j)];
                let back = facets.areas_m2[j] * facets.view_factors[(j, i)];
                assert!((there - back).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn faces_that_leave_a_gap_or_have_no_area_are_refused() {
        let mut faces = gable_prism(8.0, 12.0, 30.0);
        faces.pop();
        assert!(matches!(
            view_factors(&faces),
            Err(ViewFactorError::NotEnclosed { .. })
        ));
        faces[1].vertices.truncate(2);
        assert!(matches!(
            view_factors(&faces),
            Err(ViewFactorError::TooFewCorners {
                face: 1,
                corners: 2
            })
        ));
        faces[0].vertices[2][2] = 0.3;
        assert!(matches!(
            view_factors(&faces),
            Err(ViewFactorError::NotPlanar { face: 0, .. })
        ));
        faces[0].vertices = vec![[0.0; 3]; 3];
        assert_eq!(
            view_factors(&faces),
            Err(ViewFactorError::NoArea { face: 0 })
        );
    }

    #[test]
    fn bodies_in_a_room_keep_the_sums_and_reciprocity_of_view_factors() {
        let areas = [8.0, 20f64.sqrt(), 20f64.sqrt()];
        let room = crossed_strings(&[[0.0, 0.0], [8.0, 0.0], [4.0, 2.0]]);
        for bodies in [1e-3, 1.0, 10.0, 300.0] {
            let got = with_bodies(&areas, &room, bodies);
            let all = [areas[0], areas[1], areas[2], bodies];
            for i in 0..4 {
                assert!((got.row(i).sum() - 1.0).abs() < 1e-12);
                for j in 0..4 {
                    let (there, back) = (all[i] * got[(i, j)], all[j] * got[(j, i)]);
                    assert!(got[(i, j)] >= 0.0 && (there - back).abs() < 1e-12 * (1.0 + there));
                }
            }
        }
    }

    #[test]
    fn few_bodies_are_not_noticed_and_many_fill_the_view() {
        let areas = [8.0, 20f64.sqrt(), 20f64.sqrt()];
        let room = crossed_strings(&[[0.0, 0.0], [8.0, 0.0], [4.0, 2.0]]);
        let few = with_bodies(&areas, &room, 1e-6);
        assert!((few[(0, 1)] - room[(0, 1)]).abs() < 1e-6 && few[(3, 3)] < 1e-6);
        let many = with_bodies(&areas, &room, 1e3);
        assert!(many[(0, 3)] > 0.999_999);
        // A single small convex body sees the walls only, each by its share of their surface.
        assert!((few[(3, 0)] - 8.0 / areas.iter().sum::<f64>()).abs() < 1e-6);
    }
}
