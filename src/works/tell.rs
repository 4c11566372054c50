//! What is to be told of a designed swale: where it leaves its level, its slope, where its water runs.

use super::line::at;
use super::plan::{ContourCheck, Spillway};
use super::wanted::SwaleWanted;
use crate::geom::{Polygon, Polyline};
use crate::ground::Ground;
use crate::notes::{Note, Place};

/// Slope across the line above which a note warns (contour works are usual on 2 to 10 %: grade banks 2-10 %, contour
/// bunds 2-6 %, secondary transcriptions of extension texts).
const STEEP: f64 = 0.10;
/// Slope above which soaking water into the ground may start a slide; common practice, no source.
const TOO_STEEP: f64 = 0.15;

/// Where the line leaves its level or bends tighter than asked.
pub(super) fn line(
    ground: &Ground,
    wanted: &SwaleWanted,
    line: &Polyline,
    contour: &ContourCheck,
    notes: &mut Vec<Note>,
) {
    let worst = contour.stations.iter().max_by(|a, b| a.deviation.abs().total_cmp(&b.deviation.abs()));
    if let Some(worst) = worst.filter(|worst| worst.deviation.abs() > contour.tolerance) {
        notes.push(at(ground, worst.place, Note::new("works::off-contour", format!(
            "swale `{}`: under a bend radius of {:.1} m the line leaves the water level by {:+.0} mm at station {:.1} m (tolerance {:.0} mm); a smaller bend radius or a second pass of shots there would bring it nearer",
            wanted.name,
            wanted.bend_radius.in_metres(),
            worst.deviation * 1000.0,
            worst.station,
            contour.tolerance * 1000.0
        ))));
    }
    let (radius, station) = contour.least_radius;
    if radius < wanted.bend_radius.in_metres() * 0.999 {
        notes.push(at(ground, line.at(station), Note::new("works::bend-too-tight", format!(
            "swale `{}`: the line still bends at {radius:.1} m radius at station {station:.1} m, tighter than the {:.1} m asked for",
            wanted.name,
            wanted.bend_radius.in_metres()
        ))));
    }
}

/// Slopes on which contour works are unusual or dangerous.
pub(super) fn slope(wanted: &SwaleWanted, fall: f64, notes: &mut Vec<Note>) {
    if fall > TOO_STEEP {
        notes.push(Note::new("works::too-steep", format!(
            "swale `{}`: the slope is {:.0} % on average; water soaked into ground this steep can start a slide: take geotechnical advice before digging",
            wanted.name,
            fall * 100.0
        )));
    } else if fall > STEEP {
        notes.push(Note::new(
            "works::steep",
            format!(
                "swale `{}`: the slope is {:.0} % on average; contour banks are usual on 2 to 10 %",
                wanted.name,
                fall * 100.0
            ),
        ));
    }
}

/// The water from a sill must not run along the berm's own toe.
pub(super) fn exits(wanted: &SwaleWanted, spillways: &[Spillway], fill: &[Polygon], notes: &mut Vec<Note>) {
    for spillway in spillways {
        let station_m = f64::midpoint(spillway.from.in_metres(), spillway.to.in_metres());
        let place = || Place::Station { works: wanted.name.clone(), station_m };
        let touches = spillway.exit.as_ref().is_some_and(|path| {
            path.stations().iter().any(|&s| s > 1.0 && fill.iter().any(|polygon| polygon.contains(path.at(s))))
        });
        if touches {
            notes.push(Note::new("works::exit-along-toe", format!(
                "swale `{}`: the water from the spillway runs against the toe of the berm: turn it away or move the spillway",
                wanted.name
            )).at(place()));
        }
    }
}
