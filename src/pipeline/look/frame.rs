//! In which frame a looked-at file stands, in words: as said, as it names it, else what its numbers look like.
//!
//! Invariant: a likeness is never used for anything but words and a drawing; a run goes by what its pipeline file says.

use crate::frame::SiteFrame;
use crate::stats::median;
use crate::survey::{PointFile, Position};

/// A known frame in a few words.
pub(super) fn known(frame: &SiteFrame) -> String {
    if frame.is_local() {
        format!("a site grid, unit {}", frame.unit.name())
    } else {
        format!("{} ({}), unit {}", frame.crs, frame.name, frame.unit.name())
    }
}

/// The UTM zone on WGS 84 in which a longitude and latitude lie; `None` beyond its latitudes. The zones widened in the north
/// of Europe are left alone: PROJ takes a place beside a zone as well.
pub(super) fn utm_zone(longitude: f64, latitude: f64) -> Option<String> {
    if !((-180.0..=180.0).contains(&longitude) && (-80.0..=84.0).contains(&latitude)) {
        return None;
    }
    #[expect(clippy::cast_possible_truncation, reason = "0 to 60, by the line above")]
    let zone = ((longitude + 180.0) / 6.0).floor() as i32 % 60 + 1;
    Some(format!("EPSG:{}", if latitude < 0.0 { 32_700 } else { 32_600 } + zone))
}

/// Rectangles this narrow that fit on a map of the world may be degrees.
const DEGREES: f64 = 3.0;

/// True where the numbers of a rectangle fit degrees of longitude and latitude.
pub(super) fn like_degrees([west, south]: [f64; 2], [east, north]: [f64; 2]) -> bool {
    let within = |low: f64, high: f64, most: f64| low >= -most && high <= most && high - low < DEGREES;
    within(west, east, 180.0) && within(south, north, 90.0)
}

/// What numbers look like that no frame is known for.
pub(super) fn likeness(low: [f64; 2], high: [f64; 2]) -> &'static str {
    if like_degrees(low, high) { "degrees, or a site grid near its zero" } else { "a projected grid" }
}

/// The frame of point files of which none names one and for which none was said.
pub(super) fn of_points(files: &[PointFile]) -> String {
    let (mut degrees, mut grid) = ((Vec::new(), Vec::new()), (Vec::new(), Vec::new()));
    for record in files.iter().flat_map(|file| &file.records) {
        let ((across, up), (x, y)) = match record.position {
            Position::Geographic { longitude, latitude } => (&mut degrees, (longitude, latitude)),
            Position::Grid { easting, northing } => (&mut grid, (easting, northing)),
        };
        across.push(x);
        up.push(y);
    }
    if let (Some(longitude), Some(latitude)) = (median(&degrees.0), median(&degrees.1)) {
        let such =
            utm_zone(longitude, latitude).map_or(String::new(), |zone| format!(", such as {zone}, its UTM zone"));
        return format!("longitude and latitude; a run needs a projected system{such}");
    }
    let least = |values: &[f64]| values.iter().copied().fold(f64::INFINITY, f64::min);
    let most = |values: &[f64]| values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let (low, high) = ([least(&grid.0), least(&grid.1)], [most(&grid.0), most(&grid.1)]);
    format!("not named; the numbers look like {}: say which (--crs)", likeness(low, high))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Zones as IOGP's register has them: 55 south from 144 to 150 east, 32 north from 6 to 12.
    #[test]
    fn zones() {
        let zone = |longitude, latitude| utm_zone(longitude, latitude);
        assert_eq!(zone(146.0, -34.4).as_deref(), Some("EPSG:32755"));
        assert_eq!(zone(6.0, 51.0).as_deref(), Some("EPSG:32632"));
        assert_eq!(zone(-180.0, 1.0).as_deref(), Some("EPSG:32601"));
        assert_eq!(zone(180.0, 1.0).as_deref(), Some("EPSG:32601"));
        assert_eq!(zone(179.9, -1.0).as_deref(), Some("EPSG:32760"));
        assert_eq!((zone(10.0, 85.0), zone(f64::NAN, 1.0)), (None, None));
    }
}
