//! From the numbers of a map file to the local frame.

use super::ReadError;
use crate::frame::{FrameError, Geographic, Projector, SiteFrame, resolve};
use crate::geom::{LIMIT, Point};

/// What a map file's numbers are.
#[derive(Debug)]
pub(super) enum Placing {
    /// Easting and northing of the site's frame, in its unit.
    Site(SiteFrame),
    /// Longitude and latitude, degrees.
    Degrees(Box<Projector>),
}

impl Placing {
    pub(super) fn site(frame: &SiteFrame) -> Self {
        Self::Site(frame.clone())
    }

    pub(super) fn degrees(frame: &SiteFrame, geographic: &Geographic) -> Result<Self, FrameError> {
        Ok(Self::Degrees(Box::new(Projector::new(frame, geographic)?)))
    }

    /// For numbers in a system that the file names.
    pub(super) fn named(crs: &str, frame: &SiteFrame, path: &str) -> Result<Self, ReadError> {
        match resolve(crs) {
            Ok(own) if own.crs == frame.crs || frame.is_local() => Ok(Self::site(frame)),
            Ok(own) => Err(ReadError::Lacks {
                path: path.to_owned(),
                why: format!(
                    "it stands in {} ({}), the site in {} ({}): convert it first, or save it in longitude and latitude",
                    own.crs, own.name, frame.crs, frame.name
                ),
            }),
            Err(FrameError::Geographic { .. }) => Self::degrees(frame, &Geographic::Named(crs.to_owned()))
                .map_err(|source| ReadError::Frame { path: path.to_owned(), source }),
            Err(source) => Err(ReadError::Frame { path: path.to_owned(), source }),
        }
    }

    /// The local place; refused where the local frame ends.
    pub(super) fn place(&self, x: f64, y: f64, path: &str) -> Result<Point, ReadError> {
        let place = match self {
            Self::Site(frame) => frame.to_local(x, y),
            Self::Degrees(projector) => {
                projector.to_site(x, y).map_err(|source| ReadError::Frame { path: path.to_owned(), source })?
            }
        };
        if place.x.abs() <= LIMIT && place.y.abs() <= LIMIT {
            Ok(place)
        } else {
            Err(ReadError::Lacks {
                path: path.to_owned(),
                why: format!("the place {x}, {y} lies more than 65 km from the site: is its frame the site's?"),
            })
        }
    }
}
