//! The ellipsoid under a frame: radii of curvature, and geocentric coordinates.

/// An ellipsoid of revolution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ellipsoid {
    /// Semi-major axis, metres.
    pub semi_major: f64,
    /// Flattening.
    pub flattening: f64,
}

impl Ellipsoid {
    /// WGS 84 (NIMA TR8350.2): GRS 80 is 0.1 mm away at the poles.
    pub const WGS84: Self = Self { semi_major: 6_378_137.0, flattening: 1.0 / 298.257_223_563 };

    /// True when it is GRS 80 or WGS 84, to less than a millimetre.
    #[must_use]
    pub fn is_modern(&self) -> bool {
        (self.semi_major - Self::WGS84.semi_major).abs() < 1e-3
            && (self.flattening - Self::WGS84.flattening).abs() * self.semi_major < 1e-3
    }

    /// First eccentricity, squared.
    fn eccentricity_squared(&self) -> f64 {
        self.flattening * (2.0 - self.flattening)
    }

    /// Radii of curvature along the meridian and across it at a latitude in radians, metres.
    #[must_use]
    pub fn radii(&self, latitude: f64) -> (f64, f64) {
        let e2 = self.eccentricity_squared();
        let w2 = 1.0 - e2 * latitude.sin() * latitude.sin();
        (self.semi_major * (1.0 - e2) / (w2 * w2.sqrt()), self.semi_major / w2.sqrt())
    }

    /// Geocentric coordinates of a longitude and latitude in degrees and an ellipsoidal height, metres.
    #[must_use]
    pub fn to_geocentric(&self, longitude: f64, latitude: f64, height: f64) -> [f64; 3] {
        let (lambda, phi) = (longitude.to_radians(), latitude.to_radians());
        let (_, across) = self.radii(phi);
        let out = (across + height) * phi.cos();
        [out * lambda.cos(), out * lambda.sin(), (across * (1.0 - self.eccentricity_squared()) + height) * phi.sin()]
    }

    /// Longitude and latitude in degrees and ellipsoidal height of geocentric coordinates, metres; `None` within 1000 km of
    /// the earth's centre, where no survey stands.
    #[must_use]
    pub fn from_geocentric(&self, [x, y, z]: [f64; 3]) -> Option<(f64, f64, f64)> {
        let far = x.hypot(y).hypot(z);
        if far.is_nan() || far < 1e6 {
            return None;
        }
        let e2 = self.eccentricity_squared();
        let out = x.hypot(y);
        // Each step takes the error down by the square of the eccentricity, so eight are below rounding.
        let mut phi = z.atan2(out * (1.0 - e2));
        for _ in 0..8 {
            let (_, across) = self.radii(phi);
            phi = (z + e2 * across * phi.sin()).atan2(out);
        }
        let (_, across) = self.radii(phi);
        // Along the normal, which is steady at the poles and at the equator.
        let height = out * phi.cos() + z * phi.sin() - across * (1.0 - e2 * phi.sin() * phi.sin());
        Some((y.atan2(x).to_degrees(), phi.to_degrees(), height))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GRS80: Ellipsoid = Ellipsoid { semi_major: 6_378_137.0, flattening: 1.0 / 298.257_222_101 };

    /// PROJ `test/gie/epsg_no_grid.gie`, EPSG:4979 to EPSG:4978, and IOGP 373-7-2, geographic to geocentric (from memory).
    #[test]
    fn published_geocentric_places() {
        for (longitude, latitude, height, wanted) in [
            (12.0, 55.0, 10.0, [3_586_475.267_2, 762_328.851_3, 5_201_391.714_7]),
            (
                2.0 + 7.0 / 60.0 + 46.38 / 3600.0,
                53.0 + 48.0 / 60.0 + 33.82 / 3600.0,
                73.0,
                [3_771_793.968, 140_253.342, 5_124_304.349],
            ),
        ] {
            let found = Ellipsoid::WGS84.to_geocentric(longitude, latitude, height);
            for (found, wanted) in found.iter().zip(wanted) {
                assert!((found - wanted).abs() < 6e-4, "{found} against {wanted}");
            }
            let (lon, lat, h) = Ellipsoid::WGS84.from_geocentric(wanted).unwrap();
            assert!((lon - longitude).abs() < 1e-8 && (lat - latitude).abs() < 1e-8 && (h - height).abs() < 1e-3);
        }
    }

    #[test]
    fn there_and_back_everywhere() {
        for latitude in [-90.0, -89.999, -34.5, 0.0, 1e-9, 45.0, 90.0] {
            for height in [-400.0, 0.0, 431.0, 9000.0] {
                let there = GRS80.to_geocentric(146.0, latitude, height);
                let (longitude, back, up) = GRS80.from_geocentric(there).unwrap();
                let metres = (back - latitude).to_radians() * 6.37e6;
                assert!(metres.abs() < 1e-7 && (up - height).abs() < 1e-7, "{latitude} {height}");
                assert!((longitude - 146.0).abs() < 1e-12 || latitude.abs() == 90.0);
            }
        }
        assert_eq!(GRS80.from_geocentric([0.0, 0.0, 0.0]), None);
        assert_eq!(GRS80.from_geocentric([f64::NAN, 0.0, 0.0]), None);
        assert!(
            GRS80.is_modern() && !Ellipsoid { semi_major: 6_377_563.396, flattening: 1.0 / 299.324_964_6 }.is_modern()
        );
    }

    /// IOGP 373-7-2, vertical offset and slope: radii at 46 degrees 55 minutes on GRS 80 as recomputed from the formulas.
    #[test]
    fn radii_of_curvature() {
        let (meridian, across) = GRS80.radii((46.0_f64 + 55.0 / 60.0).to_radians());
        assert!((meridian - 6_369_526.880).abs() < 2e-3, "{meridian}");
        assert!((across - 6_389_555.641).abs() < 2e-3, "{across}");
    }
}
