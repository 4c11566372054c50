//! What readers and writers of maps pass on: features with a geometry and attributes, in layers.
//!
//! Invariant: geometry is in the local frame, metres. A layer's features have one value for each of its columns, and
//! all have the layer's kind of geometry. Rings do not repeat their first place.

use crate::geom::{Point, Point3, Polygon};

/// The kinds of geometry that a layer can hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GeometryKind {
    /// Single places.
    Point,
    /// Lines of two places or more.
    Line,
    /// Regions with holes.
    Polygon,
}

/// A place, a line or a region, with elevations in metres (which a layer without elevations ignores).
#[derive(Debug, Clone, PartialEq)]
pub enum Geometry {
    /// A place.
    Point(Point3),
    /// A line.
    Line(Vec<Point3>),
    /// A region: its outer ring first, then its holes.
    Polygon(Vec<Vec<Point3>>),
}

impl Geometry {
    /// Its kind.
    #[must_use]
    pub const fn kind(&self) -> GeometryKind {
        match self {
            Self::Point(_) => GeometryKind::Point,
            Self::Line(_) => GeometryKind::Line,
            Self::Polygon(_) => GeometryKind::Polygon,
        }
    }

    /// A place without an elevation.
    #[must_use]
    pub const fn place(place: Point) -> Self {
        Self::Point(place.at(0.0))
    }

    /// A line without elevations.
    #[must_use]
    pub fn line(points: &[Point]) -> Self {
        Self::Line(points.iter().map(|point| point.at(0.0)).collect())
    }

    /// A line at one elevation.
    #[must_use]
    pub fn line_at(points: &[Point], elevation: f64) -> Self {
        Self::Line(points.iter().map(|point| point.at(elevation)).collect())
    }

    /// A region without elevations.
    #[must_use]
    pub fn polygon(region: &Polygon) -> Self {
        let rings = std::iter::once(&region.outer).chain(&region.holes);
        Self::Polygon(rings.map(|ring| ring.iter().map(|point| point.at(0.0)).collect()).collect())
    }

    /// Every place of it.
    pub fn points(&self) -> impl Iterator<Item = Point3> + '_ {
        let (single, rings): (Option<Point3>, &[Vec<Point3>]) = match self {
            Self::Point(point) => (Some(*point), &[]),
            Self::Line(line) => (None, std::slice::from_ref(line)),
            Self::Polygon(rings) => (None, rings),
        };
        single.into_iter().chain(rings.iter().flatten().copied())
    }
}

/// What a column holds, and so how it is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColumnKind {
    /// Text; in CSV a cell that a spreadsheet would take for a formula gets an apostrophe.
    Text,
    /// A whole number.
    Integer,
    /// A number written as it is, with so many decimals; its unit belongs in the column's name.
    Number(usize),
    /// Yes or no.
    Flag,
    /// Local x in metres: written as easting in the frame's unit, which is added to the column's name.
    Easting,
    /// Local y in metres: written as northing in the frame's unit, which is added to the column's name.
    Northing,
    /// Metres above datum: written in the frame's unit, which is added to the column's name.
    Elevation,
}

/// A named column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its name in `snake_case`; without the unit where the kind adds it.
    pub name: String,
    /// What it holds.
    pub kind: ColumnKind,
}

impl Column {
    /// A column.
    #[must_use]
    pub fn new(name: &str, kind: ColumnKind) -> Self {
        Self { name: name.to_owned(), kind }
    }

    /// A column of text.
    #[must_use]
    pub fn text(name: &str) -> Self {
        Self::new(name, ColumnKind::Text)
    }

    /// A number with three decimals, its unit in the name (`cut_m3`).
    #[must_use]
    pub fn number(name: &str) -> Self {
        Self::new(name, ColumnKind::Number(3))
    }

    /// An elevation: `ground` becomes `ground_m`, `ground_ft` or `ground_usft`.
    #[must_use]
    pub fn elevation(name: &str) -> Self {
        Self::new(name, ColumnKind::Elevation)
    }
}

/// One value of a feature or of a row.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Not known: an empty cell, null.
    Nothing,
    /// Text.
    Text(String),
    /// A whole number.
    Integer(i64),
    /// A number; lengths and elevations in metres.
    Number(f64),
    /// Yes or no.
    Flag(bool),
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<String> for Value {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<f64> for Value {
    fn from(number: f64) -> Self {
        Self::Number(number)
    }
}

impl From<Option<f64>> for Value {
    fn from(number: Option<f64>) -> Self {
        number.map_or(Self::Nothing, Self::Number)
    }
}

impl From<bool> for Value {
    fn from(flag: bool) -> Self {
        Self::Flag(flag)
    }
}

impl From<usize> for Value {
    fn from(number: usize) -> Self {
        i64::try_from(number).map_or(Self::Nothing, Self::Integer)
    }
}

/// One thing on a map.
#[derive(Debug, Clone, PartialEq)]
pub struct Feature {
    /// Where it is.
    pub geometry: Geometry,
    /// One value for each of the layer's columns.
    pub values: Vec<Value>,
}

/// Features of one kind with the same columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// Its name: a table in GeoPackage, a `layer` property in GeoJSON, a folder in KML. Lower case, no spaces.
    pub name: String,
    /// One sentence on what it holds.
    pub description: String,
    /// The kind of geometry.
    pub kind: GeometryKind,
    /// True when the geometry's elevations are meant.
    pub with_elevation: bool,
    /// The attributes.
    pub columns: Vec<Column>,
    /// The features.
    pub features: Vec<Feature>,
}

impl Layer {
    /// An empty layer.
    #[must_use]
    pub fn new(name: &str, description: &str, kind: GeometryKind, with_elevation: bool, columns: Vec<Column>) -> Self {
        Self {
            name: name.to_owned(),
            description: description.to_owned(),
            kind,
            with_elevation,
            columns,
            features: Vec::new(),
        }
    }

    /// Adds a feature.
    ///
    /// # Panics
    /// When the geometry is of another kind or the values do not match the columns: our fault.
    pub fn push(&mut self, geometry: Geometry, values: Vec<Value>) {
        assert_eq!(geometry.kind(), self.kind, "layer {} holds one kind of geometry", self.name);
        assert_eq!(values.len(), self.columns.len(), "layer {} needs one value a column", self.name);
        self.features.push(Feature { geometry, values });
    }
}
