//! Geoid grids: how high the geoid stands above the ellipsoid, so that ellipsoidal heights become elevations.
//!
//! Invariant: between the nodes of a grid the value is bilinear, as in PROJ; outside the grid, or next to a node that has no
//! value, the next grid is asked, and without one there is an error and never a number (PROJ would go on with the nodes that are
//! left). Elevation is ellipsoidal height minus geoid height. Reading nodes is the grid's own business: see [`io`](crate::io).
//! Source: PROJ's grid interpolation, as its regression values in test/gie show it.

use super::FrameError;

/// Geoid heights stay within 110 m on earth; a larger value means another kind of grid.
const HIGHEST: f64 = 120.0;

/// Where the nodes of a grid lie: row zero in the south, column zero in the west, degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GridLayout {
    /// Longitude of column zero.
    pub west: f64,
    /// Latitude of row zero.
    pub south: f64,
    /// Degrees between two columns.
    pub step_east: f64,
    /// Degrees between two rows.
    pub step_north: f64,
    /// Columns.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
}

impl GridLayout {
    /// True when it goes round the world, so that the last column is beside the first.
    fn goes_round(&self) -> bool {
        (self.columns as f64 * self.step_east - 360.0).abs() < self.step_east / 10.0
    }

    /// Column, row and fractions of a place; `None` outside.
    fn cell(&self, longitude: f64, latitude: f64) -> Option<[(usize, usize, f64); 2]> {
        // Rounding of a place on the rim must not put it outside.
        let slack = 1e-9;
        let mut x = (longitude - self.west) / self.step_east;
        let round = 360.0 / self.step_east;
        if self.goes_round() {
            x = x.rem_euclid(self.columns as f64);
        } else if x < -slack {
            x += round;
        } else if x > (self.columns - 1) as f64 + slack {
            x -= round;
        }
        let y = (latitude - self.south) / self.step_north;
        let part = |value: f64, count: usize, round: bool| {
            let last = (count - 1) as f64;
            let value =
                if round { value } else { (-slack..=last + slack).contains(&value).then(|| value.clamp(0.0, last))? };
            let low = below(value).min(count - 1);
            let high = if low + 1 < count {
                low + 1
            } else if round {
                0
            } else {
                low
            };
            Some((low, high, value - low as f64))
        };
        Some([part(x, self.columns, self.goes_round())?, part(y, self.rows, false)?])
    }
}

/// The whole number below a value of zero or more.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the grid before; saturates")]
fn below(value: f64) -> usize {
    value.floor() as usize
}

/// A geoid grid that gives its nodes one by one.
pub trait GeoidGrid: std::fmt::Debug {
    /// Its name, for messages and outputs.
    fn name(&self) -> &str;

    /// Where its nodes lie.
    fn layout(&self) -> GridLayout;

    /// The geoid's height above the ellipsoid at a node, metres; `None` where the grid has no value.
    ///
    /// # Errors
    /// In words, when the node cannot be read.
    fn node(&self, column: usize, row: usize) -> Result<Option<f64>, String>;
}

/// Geoid grids in order of preference: at each place the first that has a height there answers. A file may bring several, the
/// finer before those that they lie in.
#[derive(Debug)]
pub struct Geoids {
    grids: Vec<Box<dyn GeoidGrid>>,
}

impl Geoids {
    /// These grids, in this order.
    #[must_use]
    pub const fn new(grids: Vec<Box<dyn GeoidGrid>>) -> Self {
        Self { grids }
    }

    /// Their names, for messages and outputs: `state.tif, else world.gtx`.
    #[must_use]
    pub fn name(&self) -> String {
        self.names().join(", else ")
    }

    /// Their names in order, each once: a file may hold several.
    #[must_use]
    pub fn names(&self) -> Vec<&str> {
        let mut names: Vec<&str> = Vec::new();
        for grid in &self.grids {
            if !names.contains(&grid.name()) {
                names.push(grid.name());
            }
        }
        names
    }

    /// The geoid's height above the ellipsoid at a place, metres, and the name of the grid that gave it.
    ///
    /// # Errors
    /// [`FrameError::Geoid`] where no grid has a height, when one gives what cannot be a geoid height, or cannot be read.
    pub fn height(&self, longitude: f64, latitude: f64) -> Result<(f64, &str), FrameError> {
        let fault = |grid: String, why: String| FrameError::Geoid { grid, longitude, latitude, why };
        let mut nowhere: Vec<(&str, String)> = Vec::new();
        for grid in &self.grids {
            match in_grid(grid.as_ref(), longitude, latitude).map_err(|why| fault(grid.name().to_owned(), why))? {
                Ok(height) => return Ok((height, grid.name())),
                Err(why) => {
                    // Of several grids in one file the last is the widest, and says most.
                    nowhere.pop_if(|(name, _)| *name == grid.name());
                    nowhere.push((grid.name(), why));
                }
            }
        }
        let why = match &nowhere[..] {
            [(_, why)] => why.clone(),
            several => several.iter().map(|(name, why)| format!("{name}: {why}")).collect::<Vec<_>>().join("; "),
        };
        Err(fault(self.name(), why))
    }
}

/// The geoid's height above the ellipsoid at a place of one grid, metres; `Err` inside where the grid has none there.
fn in_grid(grid: &dyn GeoidGrid, longitude: f64, latitude: f64) -> Result<Result<f64, String>, String> {
    let layout = grid.layout();
    let Some([(west, east, x), (south, north, y)]) = layout.cell(longitude, latitude) else {
        return Ok(Err(format!(
            "it lies outside the grid, which covers {:.3} to {:.3} degrees east and {:.3} to {:.3} degrees north",
            layout.west,
            layout.west + (layout.columns - 1) as f64 * layout.step_east,
            layout.south,
            layout.south + (layout.rows - 1) as f64 * layout.step_north
        )));
    };
    let mut height = 0.0;
    for (column, row, weight) in [
        (west, south, (1.0 - x) * (1.0 - y)),
        (east, south, x * (1.0 - y)),
        (west, north, (1.0 - x) * y),
        (east, north, x * y),
    ] {
        if weight <= 0.0 {
            continue;
        }
        let Some(node) = grid.node(column, row)? else {
            return Ok(Err("the grid has no value beside it".to_owned()));
        };
        if !node.is_finite() || node.abs() > HIGHEST {
            return Err(format!("the grid says {node} m, which no geoid height can be: is it a geoid grid?"));
        }
        height += weight * node;
    }
    Ok(Ok(height))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn geoid_height(grid: &Formula, longitude: f64, latitude: f64) -> Result<f64, FrameError> {
        let grids = Geoids::new(vec![Box::new(grid.clone())]);
        grids.height(longitude, latitude).map(|(height, _)| height)
    }

    /// A grid from a formula, without a value where that says so.
    #[derive(Debug, Clone)]
    struct Formula(GridLayout, fn(f64, f64) -> Option<f64>, &'static str);

    impl GeoidGrid for Formula {
        fn name(&self) -> &'static str {
            self.2
        }

        fn layout(&self) -> GridLayout {
            self.0
        }

        fn node(&self, column: usize, row: usize) -> Result<Option<f64>, String> {
            let layout = self.0;
            Ok(self.1(layout.west + column as f64 * layout.step_east, layout.south + row as f64 * layout.step_north))
        }
    }

    const SMALL: GridLayout =
        GridLayout { west: 140.0, south: -40.0, step_east: 0.25, step_north: 0.5, columns: 41, rows: 13 };

    /// A bilinear function is its own interpolation.
    #[test]
    fn bilinear_is_exact() {
        let truth =
            |lon: f64, lat: f64| 3.0 + 0.5 * (lon - 145.0) - 0.25 * (lat + 37.0) + 0.1 * (lon - 145.0) * (lat + 37.0);
        let grid = Formula(
            SMALL,
            |lon, lat| Some(3.0 + 0.5 * (lon - 145.0) - 0.25 * (lat + 37.0) + 0.1 * (lon - 145.0) * (lat + 37.0)),
            "formula",
        );
        for (lon, lat) in [(146.1, -34.45), (140.0, -40.0), (150.0, -34.0), (143.333, -37.777)] {
            assert!((geoid_height(&grid, lon, lat).unwrap() - truth(lon, lat)).abs() < 1e-10);
        }
        for outside in [(139.99, -36.0), (150.01, -36.0), (145.0, -40.01), (145.0, -33.99), (f64::NAN, -36.0)] {
            let told = geoid_height(&grid, outside.0, outside.1).unwrap_err().to_string();
            assert!(told.contains("outside the grid"), "{told}");
        }
    }

    #[test]
    fn a_world_grid_goes_round_and_one_at_the_date_line_is_met_from_both_sides() {
        let world = GridLayout { west: -180.0, south: -90.0, step_east: 1.0, step_north: 1.0, columns: 360, rows: 181 };
        let grid = Formula(world, |lon, _| Some(lon.to_radians().cos() * 30.0), "formula");
        let at = |lon: f64| geoid_height(&grid, lon, 10.0).unwrap();
        assert!((at(179.5) - at(-180.5)).abs() < 1e-12);
        assert!(
            (at(180.0) + 30.0).abs() < 1e-12 && (at(-180.0) + 30.0).abs() < 1e-12 && (at(540.0) + 30.0).abs() < 1e-12
        );
        let line = GridLayout { west: 179.0, south: 50.0, step_east: 0.5, step_north: 0.5, columns: 5, rows: 5 };
        let grid = Formula(line, |lon, _| Some(lon - 180.0), "formula");
        for (lon, value) in [(179.9, -0.1), (-179.9, 0.1), (180.0, 0.0)] {
            assert!((geoid_height(&grid, lon, 51.0).unwrap() - value).abs() < 1e-12, "{lon}");
        }
    }

    /// The first grid that has a height at a place answers, also beside its holes; where none has, one message says why of each file.
    #[test]
    fn the_first_grid_that_covers_a_place_answers() {
        let wide = GridLayout { west: 135.0, columns: 81, ..SMALL };
        let fine = Formula(SMALL, |lon, _| (lon != 146.0).then_some(5.0), "state.tif");
        let inner = GridLayout { west: 142.0, south: -38.0, step_east: 0.1, step_north: 0.1, columns: 11, rows: 11 };
        let nested = Formula(inner, |_, _| Some(4.0), "state.tif");
        let world = Formula(wide, |_, _| Some(7.0), "world.gtx");
        let grids = Geoids::new(vec![Box::new(nested), Box::new(fine), Box::new(world)]);
        assert_eq!(grids.name(), "state.tif, else world.gtx");
        for (lon, lat, height, name) in [
            (142.5, -37.5, 4.0, "state.tif"),
            (143.0, -37.0, 4.0, "state.tif"),
            (143.01, -37.0, 5.0, "state.tif"),
            (145.9, -36.2, 7.0, "world.gtx"),
            (138.0, -36.2, 7.0, "world.gtx"),
        ] {
            assert_eq!(grids.height(lon, lat).unwrap(), (height, name), "{lon} {lat}");
        }
        let told = grids.height(120.0, -36.0).unwrap_err().to_string();
        assert!(told.contains("state.tif, else world.gtx gives no height at longitude 120.00000"), "{told}");
        assert!(told.contains("state.tif: it lies outside the grid, which covers 140.000 to 150.000"), "{told}");
        assert!(told.contains("; world.gtx: it lies outside the grid, which covers 135.000 to 155.000"), "{told}");
        assert_eq!(told.matches("state.tif: ").count(), 1, "{told}");
        // What is no geoid is refused, and not passed over.
        let terrain = Formula(SMALL, |_, _| Some(431.0), "terrain.tif");
        let grids = Geoids::new(vec![Box::new(terrain), Box::new(Formula(wide, |_, _| Some(7.0), "world.gtx"))]);
        assert!(grids.height(146.0, -36.0).unwrap_err().to_string().contains("is it a geoid grid"));
        assert_eq!(grids.height(136.0, -36.0).unwrap().0, 7.0);
    }

    #[test]
    fn holes_and_other_kinds_of_grid_are_refused() {
        let hole = Formula(SMALL, |lon, _| (lon != 146.0).then_some(5.0), "formula");
        assert!(geoid_height(&hole, 145.9, -36.2).unwrap_err().to_string().contains("no value beside it"));
        // On a line of nodes the hole's weight is nothing.
        assert!((geoid_height(&hole, 145.75, -36.2).unwrap() - 5.0).abs() < 1e-12);
        let terrain = Formula(SMALL, |_, _| Some(431.0), "formula");
        assert!(geoid_height(&terrain, 146.0, -36.0).unwrap_err().to_string().contains("is it a geoid grid"));
    }
}
