//! Points, vectors and boxes in the local frame, metres.

use std::ops::{Add, Mul, Neg, Sub};

/// A place in plan: x east, y north, metres in the local frame.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Point {
    /// East.
    #[serde(rename = "x_m")]
    pub x: f64,
    /// North.
    #[serde(rename = "y_m")]
    pub y: f64,
}

/// A direction and length in plan, metres.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Vector {
    /// East.
    pub x: f64,
    /// North.
    pub y: f64,
}

/// A place with its elevation, metres.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Point3 {
    /// East.
    #[serde(rename = "x_m")]
    pub x: f64,
    /// North.
    #[serde(rename = "y_m")]
    pub y: f64,
    /// Elevation above the site's datum.
    #[serde(rename = "z_m")]
    pub z: f64,
}

impl Point {
    /// From east and north.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// Distance to another place.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (other - self).length()
    }

    /// The place a part of the way to another (0 here, 1 there).
    #[must_use]
    pub fn towards(self, other: Self, part: f64) -> Self {
        Self::new(self.x + (other.x - self.x) * part, self.y + (other.y - self.y) * part)
    }

    /// With an elevation.
    #[must_use]
    pub const fn at(self, z: f64) -> Point3 {
        Point3 { x: self.x, y: self.y, z }
    }
}

impl Point3 {
    /// From east, north and elevation.
    #[must_use]
    pub const fn new(x: f64, y: f64, z: f64) -> Self {
        Self { x, y, z }
    }

    /// Its place in plan.
    #[must_use]
    pub const fn plan(self) -> Point {
        Point { x: self.x, y: self.y }
    }
}

impl Vector {
    /// From east and north.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// Its length.
    #[must_use]
    pub fn length(self) -> f64 {
        (self.x * self.x + self.y * self.y).sqrt()
    }

    /// The same direction at length one; zero stays zero.
    #[must_use]
    pub fn unit(self) -> Self {
        let length = self.length();
        if length > 0.0 { self * (1.0 / length) } else { self }
    }

    /// Turned a quarter to the left.
    #[must_use]
    pub const fn left(self) -> Self {
        Self { x: -self.y, y: self.x }
    }

    /// Scalar product.
    #[must_use]
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// The z part of the vector product: positive when `other` turns left of `self`.
    #[must_use]
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }
}

impl Sub for Point {
    type Output = Vector;
    fn sub(self, other: Self) -> Vector {
        Vector::new(self.x - other.x, self.y - other.y)
    }
}

impl Add<Vector> for Point {
    type Output = Self;
    fn add(self, step: Vector) -> Self {
        Self::new(self.x + step.x, self.y + step.y)
    }
}

impl Add for Vector {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y)
    }
}

impl Sub for Vector {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.x - other.x, self.y - other.y)
    }
}

impl Neg for Vector {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y)
    }
}

impl Mul<f64> for Vector {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::new(self.x * factor, self.y * factor)
    }
}

/// An upright box in plan.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Bounds {
    /// South-west corner.
    pub low: Point,
    /// North-east corner.
    pub high: Point,
}

impl Bounds {
    /// The least box around points; `None` when there are none.
    pub fn around(points: impl IntoIterator<Item = Point>) -> Option<Self> {
        points.into_iter().fold(None, |bounds: Option<Self>, point| {
            Some(bounds.map_or(Self { low: point, high: point }, |b| Self {
                low: Point::new(b.low.x.min(point.x), b.low.y.min(point.y)),
                high: Point::new(b.high.x.max(point.x), b.high.y.max(point.y)),
            }))
        })
    }

    /// Grown by a margin on every side.
    #[must_use]
    pub fn grown(self, margin: f64) -> Self {
        Self {
            low: Point::new(self.low.x - margin, self.low.y - margin),
            high: Point::new(self.high.x + margin, self.high.y + margin),
        }
    }

    /// The box that both have in common; `None` when there is none.
    #[must_use]
    pub fn shared(self, other: Self) -> Option<Self> {
        self.meets(other).then(|| Self {
            low: Point::new(self.low.x.max(other.low.x), self.low.y.max(other.low.y)),
            high: Point::new(self.high.x.min(other.high.x), self.high.y.min(other.high.y)),
        })
    }

    /// True when the boxes share a place.
    #[must_use]
    pub fn meets(self, other: Self) -> bool {
        self.low.x <= other.high.x
            && other.low.x <= self.high.x
            && self.low.y <= other.high.y
            && other.low.y <= self.high.y
    }

    /// True when the place lies in the box or on its edge.
    #[must_use]
    pub fn contains(self, point: Point) -> bool {
        point.x >= self.low.x && point.x <= self.high.x && point.y >= self.low.y && point.y <= self.high.y
    }

    /// Width from west to east.
    #[must_use]
    pub fn width(self) -> f64 {
        self.high.x - self.low.x
    }

    /// Height from south to north.
    #[must_use]
    pub fn height(self) -> f64 {
        self.high.y - self.low.y
    }
}
