//! How steep natural ground is across a line.

use crate::geom::Polyline;
use crate::surface::Locator;
use crate::units::{Fall, Station};

/// Fall of natural ground across the line, positive rising uphill, with its station.
pub(super) fn cross_slopes(line: &Polyline, natural: &Locator<'_>) -> Vec<(f64, f64)> {
    line.stations()
        .iter()
        .filter_map(|&s| {
            let normal = line.direction(s).left();
            let rise = |offset: f64| natural.elevation(line.at(s) + normal * offset);
            Some((s, (rise(3.0)? - rise(-3.0)?) / 6.0))
        })
        .collect()
}

/// The steepest place: the greatest mean over 5 m of line either way, so that a rut is no hillside.
pub(super) fn steepest(slopes: &[(f64, f64)]) -> (Fall, Station) {
    let mean_near = |station: f64| {
        let near = slopes.iter().filter(|&&(other, _)| (other - station).abs() <= 5.0).map(|&(_, slope)| slope);
        near.clone().sum::<f64>() / near.count().max(1) as f64
    };
    let all = slopes.iter().map(|&(station, _)| (mean_near(station), station));
    let (slope, station) = all.max_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or((0.0, 0.0));
    (Fall::ratio(slope), Station::metres(station))
}
