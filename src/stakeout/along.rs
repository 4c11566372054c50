//! Stations to stake along a line.

use crate::geom::Polyline;

/// Bends and intervals closer than this to another station are one stake, metres.
const SAME: f64 = 1.0;

/// Even steps from zero, both ends, and every `bend_interval` where the line bends tighter than `bend_radius`.
pub(super) fn stations(line: &Polyline, interval: f64, bend_interval: f64, bend_radius: f64) -> Vec<f64> {
    let length = line.length();
    let mut stations = steps(0.0, length, interval);
    let bends = steps(0.0, length, bend_interval);
    stations.extend(bends.into_iter().filter(|&station| radius_at(line, station, bend_interval) < bend_radius));
    stations.sort_by(f64::total_cmp);
    merged(stations, length)
}

/// From `from` to `to` at whole multiples of `step` after `from`, and `to` itself.
pub(super) fn steps(from: f64, to: f64, step: f64) -> Vec<f64> {
    let count = ((to - from) / step).floor().max(0.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count bounded by the line's length")]
    let count = count as u32;
    let mut stations: Vec<f64> = (0..=count).map(|i| from + step * f64::from(i)).collect();
    if to - stations.last().copied().unwrap_or(from) > 1e-6 {
        stations.push(to);
    }
    stations
}

/// Stations with others that must have a stake: those stay, and even ones that stand within [`SAME`] of one go.
pub(super) fn with(mut stations: Vec<f64>, must: &[f64], length: f64) -> Vec<f64> {
    let must: Vec<f64> = must.iter().copied().filter(|&station| station > SAME && station < length - SAME).collect();
    stations.retain(|station| must.iter().all(|kept| (kept - station).abs() >= SAME));
    stations.extend(must);
    stations.sort_by(f64::total_cmp);
    stations
}

/// Drops stations that stand within [`SAME`] of the one before; the last station of the line always stays.
fn merged(stations: Vec<f64>, length: f64) -> Vec<f64> {
    let mut kept: Vec<f64> = Vec::new();
    for station in stations {
        match kept.last() {
            Some(&last) if station - last < SAME => {
                if station >= length && kept.len() > 1 {
                    kept.pop();
                    kept.push(station);
                }
            }
            _ => kept.push(station),
        }
    }
    kept
}

/// Radius of the line about a station, from its turn over `span` either side of it: length over turn. Infinite where it
/// is straight. A circle through three places would be fooled by one vertex.
fn radius_at(line: &Polyline, station: f64, span: f64) -> f64 {
    let (from, to) = ((station - span).max(0.0), (station + span).min(line.length()));
    let middle = line.at(station);
    let (before, after) = (middle - line.at(from), line.at(to) - middle);
    if before.length() == 0.0 || after.length() == 0.0 {
        return f64::INFINITY;
    }
    // The chords' directions are those of the arc half way along each, (to - from) / 2 apart.
    let turn = before.cross(after).atan2(before.dot(after)).abs();
    if turn == 0.0 { f64::INFINITY } else { (to - from) / 2.0 / turn }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Point;

    #[test]
    fn straight_line_at_the_interval_with_both_ends() {
        let line = Polyline::new(vec![Point::new(0.0, 0.0), Point::new(70.0, 0.0)]).unwrap();
        assert_eq!(stations(&line, 20.0, 10.0, 30.0), [0.0, 20.0, 40.0, 60.0, 70.0]);
        let line = Polyline::new(vec![Point::new(0.0, 0.0), Point::new(60.5, 0.0)]).unwrap();
        assert_eq!(stations(&line, 20.0, 10.0, 30.0), [0.0, 20.0, 40.0, 60.5], "the end replaces a near station");
    }

    #[test]
    fn a_stake_stands_where_the_section_changes() {
        assert_eq!(with(vec![0.0, 20.0, 40.0, 60.0], &[20.4, 30.0, 59.5], 60.0), [0.0, 20.4, 30.0, 40.0, 60.0]);
        assert_eq!(with(vec![0.0, 20.0], &[], 20.0), [0.0, 20.0]);
    }

    #[test]
    fn closer_on_a_bend() {
        // 60 m straight, a quarter of a circle of 25 m radius, 60 m straight.
        let arc = (0..=45)
            .map(|i| f64::from(2 * i).to_radians())
            .map(|t| Point::new(60.0 + 25.0 * t.sin(), 25.0 - 25.0 * t.cos()));
        let points = std::iter::once(Point::new(0.0, 0.0)).chain(arc).chain([Point::new(85.0, 85.0)]).collect();
        let line = Polyline::new(points).unwrap();
        let stations = stations(&line, 20.0, 10.0, 30.0);
        assert_eq!(stations[..4], [0.0, 20.0, 40.0, 60.0]);
        assert!(stations.contains(&70.0) && stations.contains(&90.0), "{stations:?}");
        assert!(!stations.contains(&30.0) && !stations.contains(&130.0), "{stations:?}");
    }

    #[test]
    fn radius_of_a_circle() {
        let points = (0..=180).map(|i| f64::from(i).to_radians()).map(|t| Point::new(40.0 * t.cos(), 40.0 * t.sin()));
        let line = Polyline::new(points.collect()).unwrap();
        assert!((radius_at(&line, 50.0, 10.0) - 40.0).abs() < 0.1, "chords of one degree");
    }
}
