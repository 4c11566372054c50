//! Elevations on a grid of nodes, and the surface through them.
//!
//! Invariant: every node with an elevation that has two neighbours round a corner of a cell is a vertex; a cell with four
//! such nodes is two triangles, one with three is one, and where a node has none there is no surface. Of the two diagonals
//! of a cell the one whose ends differ less in elevation is taken, so that ridges and gullies run along edges; where two grids
//! are compared node by node, all diagonals run one way.

use super::tin::{Tin, TinError};
use crate::geom::{Point, Point3, Vector, snap};

/// Where the nodes of a grid stand.
#[derive(Debug, Clone, PartialEq)]
pub enum Nodes {
    /// Evenly.
    Even {
        /// The south-western node.
        low: Point,
        /// From node to node, east and north; both above a millimetre.
        step: Vector,
    },
    /// Each in a place of its own, row by row as the elevations: a grid that is even in another system, such as in degrees.
    Each(Vec<Point>),
}

/// Elevations on a grid in the local frame, metres.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    /// Where its nodes stand.
    pub nodes: Nodes,
    /// Nodes from west to east.
    pub columns: usize,
    /// Row by row from the south, each from the west; not a number where there is none.
    pub elevations: Vec<f64>,
}

impl Grid {
    /// Rows from south to north.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.elevations.len().checked_div(self.columns).unwrap_or(0)
    }

    /// The nodes that have an elevation, row by row from the south.
    pub fn points(&self) -> impl Iterator<Item = Point3> + '_ {
        (0..self.elevations.len()).filter(|&node| self.elevations[node].is_finite()).map(|node| self.node(node))
    }

    fn node(&self, node: usize) -> Point3 {
        let (row, column) = (node / self.columns, node % self.columns);
        let (x, y) = match &self.nodes {
            Nodes::Even { low, step } => (low.x + column as f64 * step.x, low.y + row as f64 * step.y),
            Nodes::Each(places) => (places[node].x, places[node].y),
        };
        Point3::new(snap(x), snap(y), self.elevations[node])
    }

    /// True when another grid has its nodes in the same places.
    #[must_use]
    pub fn same_nodes(&self, other: &Self) -> bool {
        (&self.nodes, self.columns, self.rows()) == (&other.nodes, other.columns, other.rows())
    }

    /// The surface through the nodes.
    ///
    /// # Errors
    /// [`TinError::TooFewPoints`] when no cell has three nodes with an elevation.
    pub fn tin(&self) -> Result<Tin, TinError> {
        self.parted(|from, to| (self.elevations[from] - self.elevations[to]).abs())
    }

    /// The surface through the nodes with every diagonal from south-west to north-east. Every node inside then stands for the
    /// area of one cell, so that between two grids on the same nodes net volumes are those of the cells.
    ///
    /// # Errors
    /// As [`Self::tin`].
    pub fn tin_one_way(&self) -> Result<Tin, TinError> {
        self.parted(|_, _| 0.0)
    }

    /// The surface with the diagonal that is lower by a measure of its two ends.
    fn parted(&self, across: impl Fn(usize, usize) -> f64) -> Result<Tin, TinError> {
        let z = &self.elevations;
        let mut triangles: Vec<[u32; 3]> = Vec::with_capacity(2 * z.len());
        let id = |node: usize| u32::try_from(node).unwrap_or(u32::MAX);
        for row in 0..self.rows().saturating_sub(1) {
            for column in 0..self.columns - 1 {
                let a = row * self.columns + column;
                // Anticlockwise from the south-west.
                let corners = [a, a + 1, a + 1 + self.columns, a + self.columns];
                let [sw, se, ne, nw] = corners.map(id);
                let there = corners.map(|node| z[node].is_finite());
                match there {
                    [true, true, true, true] => {
                        if across(corners[0], corners[2]) <= across(corners[1], corners[3]) {
                            triangles.extend([[sw, se, ne], [sw, ne, nw]]);
                        } else {
                            triangles.extend([[sw, se, nw], [se, ne, nw]]);
                        }
                    }
                    [true, true, true, false] => triangles.push([sw, se, ne]),
                    [true, true, false, true] => triangles.push([sw, se, nw]),
                    [true, false, true, true] => triangles.push([sw, ne, nw]),
                    [false, true, true, true] => triangles.push([se, ne, nw]),
                    _ => {}
                }
            }
        }
        if triangles.is_empty() {
            return Err(TinError::TooFewPoints { found: self.points().count() });
        }
        let breaks = vec![[false; 3]; triangles.len()];
        Tin::compacted((0..z.len()).map(|node| self.node(node)).collect(), triangles, breaks)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surface::Locator;
    use crate::surface::sound::assert_sound;
    use proptest::prelude::*;

    fn grid(columns: usize, elevations: Vec<f64>) -> Grid {
        let nodes = Nodes::Even { low: Point::new(-3.0, 20.0), step: Vector::new(2.0, 3.0) };
        Grid { nodes, columns, elevations }
    }

    #[test]
    fn a_cell_is_parted_along_its_ridge_or_gully() {
        // Ridges from south-west to north-east and the other way, and a gully.
        let cases = [([5.0, 1.0, 1.5, 5.0], 5.0), ([1.0, 5.0, 5.0, 1.5], 5.0), ([1.0, 5.0, 4.0, 1.0], 1.0)];
        for (elevations, middle) in cases {
            let elevations = elevations.to_vec();
            let tin = grid(2, elevations).tin().unwrap();
            assert_sound(&tin);
            assert_eq!(tin.plan_area(), 6.0);
            assert_eq!(Locator::new(&tin).elevation(Point::new(-2.0, 21.5)), Some(middle));
        }
    }

    #[test]
    fn no_surface_where_there_is_no_node() {
        let mut elevations = vec![1.0; 12];
        elevations[0] = f64::NAN;
        let tin = grid(4, elevations.clone()).tin().unwrap();
        assert_sound(&tin);
        assert_eq!(tin.plan_area(), 6.0 * 6.0 - 3.0, "half a cell less");
        assert_eq!(tin.vertices().len(), 11);
        // A row of nodes alone, or none at all, is no surface.
        elevations[4..].fill(f64::NAN);
        assert_eq!(grid(4, elevations).tin(), Err(TinError::TooFewPoints { found: 3 }));
        assert!(grid(1, vec![1.0; 5]).tin().is_err() && grid(4, Vec::new()).tin().is_err());
    }

    /// Nodes that stand apart are a surface of the same cells.
    #[test]
    fn nodes_in_places_of_their_own_keep_their_cells() {
        let even = grid(4, (0..12).map(|i| f64::from(i * i % 7)).collect());
        let places: Vec<Point> = (0..12).map(|node| even.node(node).plan()).collect();
        let each = Grid { nodes: Nodes::Each(places.clone()), ..even.clone() };
        assert_eq!(each.tin(), even.tin());
        assert!(!each.same_nodes(&even) && each.same_nodes(&each.clone()));
        let turned = places.iter().map(|p| Point::new(0.8 * p.x - 0.6 * p.y, 0.6 * p.x + 0.8 * p.y)).collect();
        let turned = Grid { nodes: Nodes::Each(turned), ..even.clone() }.tin().unwrap();
        assert_sound(&turned);
        assert!((turned.plan_area() - even.tin().unwrap().plan_area()).abs() < 1e-4, "{}", turned.plan_area());
    }

    #[test]
    fn two_grids_parted_one_way_differ_by_their_cells() {
        let before = grid(4, (0..16).map(|i| f64::from(i * i % 7)).collect());
        let mut after = before.clone();
        for (node, dz) in [(5, 1.0), (6, -2.5), (10, 0.5)] {
            after.elevations[node] += dz;
        }
        assert!(before.same_nodes(&after) && !before.same_nodes(&grid(8, before.elevations.clone())));
        let (one, other) = (before.tin_one_way().unwrap(), after.tin_one_way().unwrap());
        assert_sound(&one);
        assert_eq!(one.triangles(), other.triangles());
        let found = crate::surface::cut_and_fill(&one, &other, None);
        assert!((found.fill - found.cut + 6.0).abs() < 1e-6, "a metre less on one cell of 6 m2 in all");
        after.elevations[15] = f64::NAN;
        assert_eq!(after.tin_one_way().unwrap().triangles().len(), 17);
    }

    proptest! {
        #[test]
        fn a_plane_on_any_grid_is_that_plane(
            columns in 2..9_usize,
            holes in prop::collection::vec(prop::bool::weighted(0.2), 8..60),
            step in prop::sample::select(vec![0.002, 0.5, 6.096_012_192_020_037, 90.0]),
            low in (-60_000.0..60_000.0_f64, -60_000.0..60_000.0_f64),
        ) {
            let count = holes.len() / columns * columns;
            let mut grid = Grid {
                nodes: Nodes::Even { low: Point::new(low.0, low.1), step: Vector::new(step, 1.5 * step) },
                columns,
                elevations: vec![0.0; count],
            };
            for (node, _) in holes.iter().take(count).enumerate() {
                let place = grid.node(node);
                grid.elevations[node] = 100.0 + 0.03 * place.x - 0.02 * place.y;
            }
            let whole: f64 = grid.tin().map_or(0.0, |tin| tin.plan_area());
            let cells = (columns - 1) * grid.rows().saturating_sub(1);
            prop_assert!((whole - cells as f64 * 1.5 * step * step).abs() <= 1e-5 * step * cells as f64);
            for (node, _) in holes.iter().take(count).enumerate().filter(|(_, hole)| **hole) {
                grid.elevations[node] = f64::NAN;
            }
            if let Ok(tin) = grid.tin() {
                assert_sound(&tin);
                for t in tin.ids() {
                    let slope = crate::surface::gradient(tin.corners(t));
                    let rounding = 1e-9 / step;
                    prop_assert!((slope.x - 0.03).abs() < rounding && (slope.y + 0.02).abs() < rounding, "{slope:?}");
                }
            }
        }
    }
}
