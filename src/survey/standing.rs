//! The epochs of a log to shots: where the rover stood still its epochs are averaged.
//!
//! A rover stands while its epochs stay within 50 mm of their running mean (a pole held by hand wanders 10 to 20 mm) for a
//! second and three epochs at least, without a gap of half a minute; common practice, no source. Solutions of different
//! kinds are never averaged together. Averaging takes away noise but not the slow errors of a visit, so the mean keeps the
//! stated sigma of one epoch, or the scatter where that is larger.

use super::{Fix, Moment, Position, Quality, Record};

/// What is made of the epochs of a log.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Epochs {
    /// A shot wherever the rover stood still; epochs on the move are left out and counted.
    #[default]
    Standing,
    /// Every epoch is a shot.
    Every,
}

impl Epochs {
    /// Its names as settings write them.
    pub const NAMES: [(&'static str, Self); 2] = [("standing", Self::Standing), ("every", Self::Every)];
}

/// A rover stands while it is this near to the running mean, metres.
const STILL: f64 = 0.05;
/// For this long, seconds.
const HOLD: f64 = 1.0;
/// With this many epochs.
const FEWEST: usize = 3;
/// A longer gap begins another visit, seconds.
const GAP: f64 = 30.0;

/// What became of a log's epochs.
#[derive(Debug, Clone, PartialEq)]
pub struct Occupations {
    /// One shot for each time the rover stood, numbered from 1, in the order of the log.
    pub records: Vec<Record>,
    /// Epochs on the move, or too few or short to be a stand.
    pub moving: usize,
}

/// Averages the epochs of a log, which are in metres or in degrees.
#[must_use]
pub fn occupations(epochs: &[Record]) -> Occupations {
    let mut found = Occupations { records: Vec::new(), moving: 0 };
    for fix in [Fix::Fixed, Fix::Float, Fix::Coarse, Fix::Unknown] {
        let mut run = Run::default();
        for epoch in epochs.iter().filter(|epoch| epoch.quality.fix == fix) {
            if !run.takes(epoch) {
                std::mem::take(&mut run).close(&mut found);
            }
            run.add(epoch);
        }
        run.close(&mut found);
    }
    found.records.sort_by_key(|record| record.line);
    for (index, record) in found.records.iter_mut().enumerate() {
        record.id = (index + 1).to_string();
    }
    found
}

/// Epochs at one place so far.
#[derive(Default)]
struct Run<'a> {
    epochs: Vec<&'a Record>,
    /// Each epoch from the first one, metres east and north.
    steps: Vec<[f64; 2]>,
    sum: [f64; 2],
}

impl<'a> Run<'a> {
    fn takes(&self, epoch: &Record) -> bool {
        let Some((first, last)) = self.epochs.first().zip(self.epochs.last()) else { return true };
        let count = self.steps.len() as f64;
        let [east, north] = step(first.position, epoch.position);
        let near = (east - self.sum[0] / count).hypot(north - self.sum[1] / count) <= STILL;
        near && span(last, epoch).is_none_or(|gap| (0.0..=GAP).contains(&gap))
    }

    fn add(&mut self, epoch: &'a Record) {
        let taken = step(self.epochs.first().unwrap_or(&epoch).position, epoch.position);
        self.sum = [self.sum[0] + taken[0], self.sum[1] + taken[1]];
        self.steps.push(taken);
        self.epochs.push(epoch);
    }

    fn close(self, found: &mut Occupations) {
        let (Some(first), Some(last)) = (self.epochs.first(), self.epochs.last()) else { return };
        let long = span(first, last).is_none_or(|span| span >= HOLD);
        if self.epochs.len() < FEWEST || !long {
            found.moving += self.epochs.len();
            return;
        }
        found.records.push(self.mean(first, last));
    }

    fn mean(&self, first: &Record, last: &Record) -> Record {
        let all = |of: fn(&Record) -> Option<f64>| -> Vec<f64> { self.epochs.iter().filter_map(|e| of(e)).collect() };
        let whole = |of: fn(&Record) -> Option<f64>| Some(all(of)).filter(|values| values.len() == self.epochs.len());
        let elevations = whole(|epoch| epoch.elevation);
        let heights = whole(|epoch| epoch.ellipsoid_height);
        let east: Vec<f64> = self.steps.iter().map(|step| step[0]).collect();
        let north: Vec<f64> = self.steps.iter().map(|step| step[1]).collect();
        let horizontal_scatter = deviation(&east).hypot(deviation(&north));
        let vertical_scatter = elevations.as_deref().or(heights.as_deref()).map(deviation);
        let greatest = |values: Vec<f64>| values.into_iter().reduce(f64::max);
        let least = |values: Vec<f64>| values.into_iter().reduce(f64::min);
        let sigma = |values: Vec<f64>, scatter: Option<f64>| {
            let squares: f64 = values.iter().map(|value| value * value).sum();
            let stated = (!values.is_empty()).then(|| (squares / values.len() as f64).sqrt());
            stated.map(|stated| stated.max(scatter.unwrap_or_default()))
        };
        let quality = Quality {
            horizontal_sigma: sigma(all(|epoch| epoch.quality.horizontal_sigma), Some(horizontal_scatter)),
            vertical_sigma: sigma(all(|epoch| epoch.quality.vertical_sigma), vertical_scatter),
            pdop: greatest(all(|epoch| epoch.quality.pdop)),
            hdop: greatest(all(|epoch| epoch.quality.hdop)),
            satellites: self.epochs.iter().filter_map(|epoch| epoch.quality.satellites).min(),
            age: greatest(all(|epoch| epoch.quality.age)),
            ratio: least(all(|epoch| epoch.quality.ratio)),
            epochs: u32::try_from(self.epochs.len()).ok(),
            horizontal_scatter: Some(horizontal_scatter),
            vertical_scatter,
            ..first.quality
        };
        let mut record = Record {
            position: moved(first.position, [average(&east), average(&north)]),
            elevation: elevations.as_deref().map(average),
            ellipsoid_height: heights.as_deref().map(average),
            quality,
            ..first.clone()
        };
        record.setup.until = last.time.clone().unwrap_or_default();
        record
    }
}

/// Seconds between two epochs, as far as their times tell.
fn span(earlier: &Record, later: &Record) -> Option<f64> {
    let moment = |record: &Record| record.time.as_deref().and_then(Moment::read);
    moment(later)?.since(&moment(earlier)?)
}

/// Mean, from the first value on so that no digit is lost.
fn average(values: &[f64]) -> f64 {
    let first = values.first().copied().unwrap_or_default();
    first + values.iter().map(|value| value - first).sum::<f64>() / values.len().max(1) as f64
}

/// Sample standard deviation.
fn deviation(values: &[f64]) -> f64 {
    let mean = average(values);
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    (squares / (values.len().max(2) - 1) as f64).sqrt()
}

/// Metres in one degree of longitude and of latitude, from the radii of curvature of GRS 80.
fn metres_in_a_degree(latitude: f64) -> [f64; 2] {
    const A: f64 = 6_378_137.0;
    const E2: f64 = 0.006_694_380_022_90;
    let (sin, cos) = latitude.to_radians().sin_cos();
    let root = (1.0 - E2 * sin * sin).sqrt();
    let (along_parallel, along_meridian) = (A / root * cos, A * (1.0 - E2) / root.powi(3));
    [along_parallel.to_radians(), along_meridian.to_radians()]
}

/// From one position to another, metres east and north; for places near each other.
#[must_use]
pub fn step(from: Position, to: Position) -> [f64; 2] {
    match (from, to) {
        (Position::Grid { easting: e0, northing: n0 }, Position::Grid { easting, northing }) => {
            [easting - e0, northing - n0]
        }
        (Position::Geographic { longitude: l0, latitude: b0 }, Position::Geographic { longitude, latitude }) => {
            let [east, north] = metres_in_a_degree(b0);
            let turn = (longitude - l0 + 540.0).rem_euclid(360.0) - 180.0;
            [turn * east, (latitude - b0) * north]
        }
        _ => [f64::INFINITY; 2],
    }
}

fn moved(from: Position, [east, north]: [f64; 2]) -> Position {
    match from {
        Position::Grid { easting, northing } => Position::Grid { easting: easting + east, northing: northing + north },
        Position::Geographic { longitude, latitude } => {
            let [by_longitude, by_latitude] = metres_in_a_degree(latitude);
            Position::Geographic {
                longitude: longitude + if by_longitude > 0.0 { east / by_longitude } else { 0.0 },
                latitude: latitude + north / by_latitude,
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Setup;
    use super::*;

    fn epoch(line: u64, seconds: f64, east: f64, north: f64, up: f64, fix: Fix) -> Record {
        Record {
            line,
            id: String::new(),
            position: Position::Grid { easting: east, northing: north },
            elevation: Some(up),
            ellipsoid_height: None,
            code: String::new(),
            quality: Quality { fix, vertical_sigma: Some(0.010), ..Quality::default() },
            time: Some(format!("10:00:{seconds:04.1}")),
            setup: Setup::default(),
        }
    }

    #[test]
    fn a_stand_a_walk_and_a_stand() {
        let mut epochs: Vec<Record> = Vec::new();
        let mut at = |seconds: f64, east: f64, up: f64| {
            let line = epochs.len() as u64 + 1;
            epochs.push(epoch(line, seconds, east, 5.0, up, Fix::Fixed));
        };
        [0.0, 1.0, 2.0, 3.0].into_iter().zip([0.00, 0.02, 0.02, 0.00]).for_each(|(s, east)| at(s, east, 10.0 + east));
        [4.0, 5.0, 6.0].into_iter().zip([1.0, 2.0, 3.0]).for_each(|(s, east)| at(s, east, 11.0));
        for second in [7.0, 8.0, 9.0] {
            at(second, 4.0, 12.0);
        }
        let found = occupations(&epochs);
        assert_eq!(found.moving, 3);
        let [a, b] = found.records.as_slice() else { panic!("{found:?}") };
        assert_eq!((a.position, a.elevation), (Position::Grid { easting: 0.01, northing: 5.0 }, Some(10.01)));
        // Deviations of 10 mm each way: the sample deviation is 10 mm times the root of 4/3.
        let due = 0.01 * (4.0_f64 / 3.0).sqrt();
        assert!((a.quality.horizontal_scatter.unwrap() - due).abs() < 1e-12);
        assert!((a.quality.vertical_sigma.unwrap() - due).abs() < 1e-12, "the scatter is above the stated 10 mm");
        assert_eq!((a.quality.epochs, a.setup.until.as_str(), a.id.as_str()), (Some(4), "10:00:03.0", "1"));
        assert_eq!((b.line, b.quality.vertical_sigma, b.id.as_str()), (8, Some(0.010), "2"));
    }

    #[test]
    fn kinds_of_solution_are_kept_apart_and_a_gap_parts_visits() {
        let line = |i: u64| i + 1;
        let mut epochs: Vec<Record> = (0..8)
            .map(|i| {
                let fix = if i % 2 == 0 { Fix::Fixed } else { Fix::Float };
                epoch(line(i), i as f64, 0.0, 0.0, if i % 2 == 0 { 1.0 } else { 2.0 }, fix)
            })
            .collect();
        epochs.extend((0..4).map(|i| epoch(line(8 + i), 50.0 + i as f64, 0.0, 0.0, 1.0, Fix::Fixed)));
        let found = occupations(&epochs);
        let told: Vec<_> = found.records.iter().map(|r| (r.quality.fix, r.elevation, r.quality.epochs)).collect();
        let fixed = (Fix::Fixed, Some(1.0), Some(4));
        assert_eq!(told, [fixed, (Fix::Float, Some(2.0), Some(4)), fixed]);
    }

    #[test]
    fn degrees_in_metres() {
        // Closed forms on GRS 80: at the equator a (1 - e2) and a along meridian and parallel.
        let [east, north] = metres_in_a_degree(0.0);
        assert!((east - 111_319.490_793).abs() < 1e-5, "{east}");
        assert!((north - 110_574.275_822).abs() < 1e-5, "{north}");
        let west = Position::Geographic { longitude: 179.999_999, latitude: 0.0 };
        let [east, _] = step(west, Position::Geographic { longitude: -179.999_999, latitude: 0.0 });
        assert!((east - 0.222_639).abs() < 1e-4, "across 180 degrees");
    }
}
