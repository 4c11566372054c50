//! Grid against ground: how long a metre of ground is on the grid, from the projection's scale and the height.
//!
//! Combined factor = point scale x R / (R + h): ground length = grid length / factor. R is the mean radius of curvature
//! of the frame's ellipsoid at the place. With an elevation for the ellipsoidal height the factor is off by the geoid
//! height over R, 5 ppm for 30 m.
//! Source: common practice of grid to ground; the point scale is found from PROJ's own projection over 100 m of meridian.

use super::{FrameError, Projector};
use crate::geom::Point;

/// Half of the meridian over which the scale is found, degrees: about 55 m.
const HALF_STEP: f64 = 0.0005;

/// The factors at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GridFactor {
    /// Grid length over length on the ellipsoid.
    pub point_scale: f64,
    /// Length on the ellipsoid over length on the ground.
    pub height_factor: f64,
}

impl GridFactor {
    /// Grid length over ground length.
    #[must_use]
    pub fn combined(&self) -> f64 {
        self.point_scale * self.height_factor
    }
}

/// The factors at a local place and a height in metres. The projector must be that of the frame's own datum; the scale
/// is that along the meridian, which is that of every direction in the conformal projections that sites stand in.
///
/// # Errors
/// [`FrameError`] when the place cannot be converted, or the frame has no ellipsoid.
pub fn grid_factor(projector: &Projector, place: Point, height: f64) -> Result<GridFactor, FrameError> {
    let ellipsoid = projector.definition().ellipsoid.ok_or(FrameError::Local)?;
    let unit = projector.definition().unit.metres();
    let (longitude, latitude) = projector.to_lonlat(place)?;
    let south = projector.to_grid(longitude, latitude - HALF_STEP)?;
    let north = projector.to_grid(longitude, latitude + HALF_STEP)?;
    let (meridian, across) = ellipsoid.radii(latitude.to_radians());
    let grid = (north.0 - south.0).hypot(north.1 - south.1) * unit;
    let radius = (meridian * across).sqrt();
    Ok(GridFactor {
        point_scale: grid / ((2.0 * HALF_STEP).to_radians() * meridian),
        height_factor: radius / (radius + height),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::{Geographic, resolve};

    /// Closed forms: 0.9996 on the central meridian of a UTM zone; away from it k0 (1 + x^2 / (2 k0^2 rho nu)) to second
    /// order. R / (R + h) with R = 6372 km: 0.99992154 at 500 m, 0.99984309 at 1000 m (recomputed).
    #[test]
    fn factors_of_a_utm_zone() {
        let frame = resolve("EPSG:32755").unwrap().site_frame((412_350.0, 6_187_220.0), None);
        let projector = Projector::new(&frame, &Geographic::OwnDatum).unwrap();
        let at = |easting: f64, height| grid_factor(&projector, frame.to_local(easting, 6_187_220.0), height).unwrap();
        assert!((at(500_000.0, 0.0).point_scale - 0.9996).abs() < 2e-9);
        let (meridian, across) = crate::frame::Ellipsoid::WGS84
            .radii(projector.to_lonlat(frame.to_local(412_350.0, 6_187_220.0)).unwrap().1.to_radians());
        let x = 500_000.0 - 412_350.0;
        let expected = 0.9996 * (1.0 + x * x / (2.0 * 0.9996 * 0.9996 * meridian * across));
        assert!((at(412_350.0, 0.0).point_scale - expected).abs() < 5e-8, "{}", at(412_350.0, 0.0).point_scale);
        for (height, factor) in [(0.0, 1.0), (500.0, 0.999_921_54), (1000.0, 0.999_843_09)] {
            assert!((at(412_350.0, height).height_factor - factor).abs() < 1e-7, "{height}");
        }
        assert!((at(500_000.0, 1000.0).combined() - 0.9996 * 0.999_843_09).abs() < 2e-7);
    }

    /// A printed case, read in a public forum: k = 0.999981 at 500 ft with a radius of 20 906 000 ft gives 0.999957.
    #[test]
    fn printed_combined_factor() {
        let factor = GridFactor { point_scale: 0.999_981, height_factor: 20_906_000.0 / 20_906_500.0 };
        assert!((factor.combined() - 0.999_957).abs() < 5e-7);
    }

    /// A state plane system in US survey feet: the scale does not depend on the unit.
    #[test]
    fn the_unit_of_the_frame_does_not_matter() {
        let definition = resolve("EPSG:3568").unwrap();
        let frame = definition.site_frame((2_054_432.46, 3_527_295.67), None);
        let projector = Projector::new(&frame, &Geographic::OwnDatum).unwrap();
        let found = grid_factor(&projector, frame.to_local(2_054_432.46, 3_527_295.67), 0.0).unwrap();
        // Lambert with two standard parallels: a little below one between them (40 43' and 41 47').
        assert!((0.9998..1.0).contains(&found.point_scale), "{}", found.point_scale);
    }
}
