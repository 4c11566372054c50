//! Between the local frame and longitude and latitude.
//!
//! Invariant: what comes out is finite and lies in the frame's area of use, or it is an error. The way between two
//! datums is never an approximate one. Heights are not touched: conversion is in plan.
//! A [`Projector`] holds PROJ's own context, so it belongs to one thread; make one for each.

use super::definition::{Known, look_up, resolve_known, short};
use super::{FrameDefinition, FrameError, SiteFrame};
use crate::geom::Point;
use proj::{Area, Proj};

/// Which longitude and latitude are meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Geographic {
    /// WGS 84, as GeoJSON and KML ask for it.
    Wgs84,
    /// The frame's own datum, so that nothing but the projection is between them: what a receiver shows beside its
    /// grid coordinates.
    OwnDatum,
    /// A geographic system by code or definition, such as `EPSG:7844`.
    Named(String),
}

/// Places may lie this far outside the area of use, in degrees (about 1 km): the boxes are drawn roughly.
const MARGIN: f64 = 0.01;

/// Converts between a site's local frame and longitude and latitude.
#[derive(Debug)]
pub struct Projector {
    frame: SiteFrame,
    definition: FrameDefinition,
    /// From the geographic system (longitude first) to the frame's own axes.
    way: Proj,
    latitude_first: bool,
}

impl Projector {
    /// Between this frame and longitude and latitude of the kind that is meant.
    ///
    /// # Errors
    /// [`FrameError::Local`] for a site grid, [`FrameError::NoTrustedWay`] when only an approximate change of datum is
    /// known, and what [`resolve`](super::resolve) says.
    pub fn new(frame: &SiteFrame, geographic: &Geographic) -> Result<Self, FrameError> {
        if frame.is_local() {
            return Err(FrameError::Local);
        }
        let (definition, to) = resolve_known(&frame.crs)?;
        let named = match geographic {
            Geographic::Wgs84 => "OGC:CRS84".to_owned(),
            Geographic::OwnDatum => definition.base.clone().ok_or(FrameError::Local)?,
            Geographic::Named(name) => name.clone(),
        };
        let Known { json, system: from } = look_up(&named)?;
        if json["type"] != "GeographicCRS" {
            return Err(FrameError::Unknown { found: format!("{} as longitude and latitude", short(&named)) });
        }
        let latitude_first = json["coordinate_system"]["axis"][0]["direction"] == "north";
        let no_way = || FrameError::NoTrustedWay { from: short(&named), to: definition.name.clone() };
        if *geographic == Geographic::Wgs84 && !definition.datum_known {
            return Err(no_way());
        }
        let area = definition.area.as_ref().map(|a| Area::new(a.west, a.south, a.east, a.north));
        // Asked at once with ALLOW_BALLPARK=NO, PROJ gives nothing where there is no trusted way, and the wrapper then
        // stops the program; so the name of the best way is looked at first.
        let way = from.create_crs_to_crs_from_pj(&to, area, None).map_err(|_| no_way())?;
        let projector = Self { frame: frame.clone(), definition, way, latitude_first };
        projector.try_way()?;
        Ok(projector)
    }

    /// The frame's definition.
    #[must_use]
    pub const fn definition(&self) -> &FrameDefinition {
        &self.definition
    }

    /// The names of the steps between the two systems, as PROJ tells them after a conversion.
    #[must_use]
    pub fn steps(&self) -> String {
        self.way.proj_info().description.unwrap_or_default()
    }

    /// Longitude and latitude, degrees, of a local place.
    ///
    /// # Errors
    /// [`FrameError::NotConverted`] and [`FrameError::OutsideArea`].
    pub fn to_lonlat(&self, local: Point) -> Result<(f64, f64), FrameError> {
        let (easting, northing) = self.frame.to_frame(local);
        let (longitude, latitude) = self.inverse(easting, northing)?;
        self.check_area(longitude, latitude)?;
        Ok((longitude, latitude))
    }

    /// The local place of a longitude and latitude in degrees.
    ///
    /// # Errors
    /// [`FrameError::NotOnEarth`], [`FrameError::OutsideArea`] and [`FrameError::NotConverted`].
    pub fn to_site(&self, longitude: f64, latitude: f64) -> Result<Point, FrameError> {
        let (easting, northing) = self.to_grid(longitude, latitude)?;
        Ok(self.frame.to_local(easting, northing))
    }

    /// Easting and northing, in the frame's unit, of a longitude and latitude in degrees.
    ///
    /// # Errors
    /// As [`Self::to_site`].
    pub fn to_grid(&self, longitude: f64, latitude: f64) -> Result<(f64, f64), FrameError> {
        if !((-180.0..=180.0).contains(&longitude) && (-90.0..=90.0).contains(&latitude)) {
            return Err(FrameError::NotOnEarth { longitude, latitude });
        }
        self.check_area(longitude, latitude)?;
        self.forward(longitude, latitude)
    }

    fn forward(&self, longitude: f64, latitude: f64) -> Result<(f64, f64), FrameError> {
        let place = ordered((longitude, latitude), self.latitude_first);
        let out = self.way.project(place, false).map_err(|why| self.not_converted(longitude, latitude, &why))?;
        self.finite(ordered(out, self.definition.northing_first), longitude, latitude)
    }

    fn inverse(&self, easting: f64, northing: f64) -> Result<(f64, f64), FrameError> {
        let place = ordered((easting, northing), self.definition.northing_first);
        let out = self.way.project(place, true).map_err(|why| self.not_converted(easting, northing, &why))?;
        self.finite(ordered(out, self.latitude_first), easting, northing)
    }

    /// Converts one place, at the site where that is known, and refuses when the way there is an approximate one.
    fn try_way(&self) -> Result<(), FrameError> {
        let unit = self.frame.unit.metres();
        let at_site = self.inverse(self.frame.origin.x / unit, self.frame.origin.y / unit);
        let (longitude, latitude) = match (at_site, &self.definition.area) {
            (Ok((longitude, latitude)), Some(area)) if area.contains(longitude, latitude, MARGIN) => {
                (longitude, latitude)
            }
            (_, Some(area)) => area.middle(),
            (at_site, None) => at_site?,
        };
        self.forward(longitude, latitude)?;
        if self.steps().to_ascii_lowercase().contains("ballpark") {
            return Err(FrameError::NoTrustedWay {
                from: "longitude and latitude".into(),
                to: self.definition.name.clone(),
            });
        }
        Ok(())
    }

    fn check_area(&self, longitude: f64, latitude: f64) -> Result<(), FrameError> {
        match &self.definition.area {
            Some(area) if !area.contains(longitude, latitude, MARGIN) => Err(FrameError::OutsideArea {
                frame: self.definition.name.clone(),
                longitude,
                latitude,
                area: area.name.clone(),
                west: area.west,
                south: area.south,
                east: area.east,
                north: area.north,
            }),
            _ => Ok(()),
        }
    }

    fn finite(&self, out: (f64, f64), first: f64, second: f64) -> Result<(f64, f64), FrameError> {
        if out.0.is_finite() && out.1.is_finite() {
            Ok(out)
        } else {
            Err(self.not_converted(first, second, &"the result is not a finite number"))
        }
    }

    fn not_converted(&self, first: f64, second: f64, why: &dyn std::fmt::Display) -> FrameError {
        FrameError::NotConverted { frame: self.definition.name.clone(), first, second, why: why.to_string() }
    }
}

const fn ordered(pair: (f64, f64), swapped: bool) -> (f64, f64) {
    if swapped { (pair.1, pair.0) } else { pair }
}

#[cfg(test)]
#[path = "projector_tests.rs"]
mod tests;
