//! `swalewright on-contour`

use super::Told;
use crate::exit::Exit;
use serde_json::{Value as Json, json};
use std::path::Path;
use swalewright::pipeline::{self, PipelineError, PointOptions};
use swalewright::units::{Elevation, Length};

pub(super) fn run(
    line: &Path,
    ground: &str,
    at: Option<Elevation>,
    tolerance: Option<Length>,
    points: &PointOptions,
    told: &Told,
) -> Result<Exit, PipelineError> {
    let found = pipeline::on_contour(line, ground, at, tolerance.unwrap_or(Length::metres(0.05)), points)?;
    told.notes(&found.notes);
    let (level, check) = (found.value.level, &found.value.check);
    let fails = check.worst.abs() > check.tolerance;
    let frame = &found.value.frame;
    let unit = frame.unit.suffix();
    let stations: Vec<Json> = check
        .stations
        .iter()
        .map(|station| {
            let (easting, northing) = frame.to_frame(station.place);
            json!({
                "station_m": station.station,
                format!("easting_{unit}"): easting,
                format!("northing_{unit}"): northing,
                "ground_m": station.ground,
                "deviation_m": station.deviation,
            })
        })
        .collect();
    let verdict = if fails { "fail" } else { "pass" };
    let json = json!({
        "verdict": verdict,
        "worst_m": check.worst,
        "rms_m": check.rms,
        "tolerance_m": check.tolerance,
        "elevation_m": level,
        "length_m": check.stations.last().map_or(0.0, |last| last.station),
        "stations": stations,
        "frame": frame,
        "notes": found.notes,
    });
    let mut lines = vec![format!(
        "{verdict}: worst {:+.0} mm, rms {:.0} mm against {level:.3} m, {} mm allowed (positive is high)",
        check.worst * 1000.0,
        check.rms * 1000.0,
        check.tolerance * 1000.0
    )];
    let out = check.stations.iter().filter(|station| station.deviation.abs() > check.tolerance).count();
    lines.push(format!(
        "{out} of {} stations out; length {:.1} m; the worst first:",
        check.stations.len(),
        check.stations.last().map_or(0.0, |last| last.station)
    ));
    let mut worst: Vec<_> = check.stations.iter().collect();
    worst.sort_by(|a, b| b.deviation.abs().total_cmp(&a.deviation.abs()).then(a.station.total_cmp(&b.station)));
    lines.extend(worst.iter().take(SHOWN).map(|station| {
        let mark = if station.deviation.abs() > check.tolerance { "  <-- out" } else { "" };
        // Adding zero takes the sign off a zero.
        let deviation = (station.deviation * 1000.0).round() / 1000.0 + 0.0;
        format!("  {:8.1} m  ground {:.3} m  {deviation:+.3} m{mark}", station.station, station.ground)
    }));
    if worst.len() > SHOWN {
        lines.push(format!("  and {} more, all of them with --json", worst.len() - SHOWN));
    }
    told.result(&json, &lines);
    Ok(Exit::of_check(fails))
}

/// Most stations on the screen.
const SHOWN: usize = 12;
