//! The contour line of a swale before fairing: traced at the water level, limited by a region or by two ends, and kept
//! clear of the survey's rim.
//!
//! Invariant: higher ground lies to the left of the line, so its first end is where one starts walking with uphill on
//! the left.

use super::WorksError;
use super::wanted::SwaleWanted;
use crate::geom::{Point, Polygon, Polyline};
use crate::ground::Ground;
use crate::notes::{Note, Place};
use crate::surface::{Locator, contour};

/// Steps in which an end is moved back from the survey's rim, metres.
const BACK_STEP: f64 = 0.5;

/// A stretch with room shorter than this is none, metres.
const SHORTEST_STRETCH: f64 = 10.0;

/// How far the works reach from the line, metres; the survey must hold all of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Reach {
    pub uphill: f64,
    pub downhill: f64,
}

/// How the survey's edge is kept away from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Room {
    /// At both ends of the line, by the section's reach as it is guessed before anything is designed.
    AtEnds,
    /// All along it, by so many times that reach: a line that runs too near is ended there.
    AllAlong(f64),
}

impl Room {
    /// How much farther from the edge a line is tried all along, until a whole design stands on the survey.
    pub(super) const FARTHER: [f64; 5] = [1.0, 1.5, 2.25, 3.5, 5.0];
}

/// A traced line.
#[derive(Debug, Clone)]
pub(super) struct Traced {
    pub line: Polyline,
    /// True when the line runs from the second of two given ends to the first.
    pub turned: bool,
}

/// Traces the line of a swale at an elevation.
pub(super) fn trace(
    ground: &Ground,
    locator: &Locator<'_>,
    wanted: &SwaleWanted,
    level: f64,
    (reach, room): (Reach, Room),
    notes: &mut Vec<Note>,
) -> Result<Traced, WorksError> {
    let pieces: Vec<Polyline> = contour(&ground.tin, level)
        .into_iter()
        .filter_map(|line| {
            let mut points = line.points;
            if line.closed {
                points.extend(points.first().copied());
            }
            Polyline::new(points)
        })
        .collect();
    if pieces.is_empty() {
        let (lowest, highest) = ground.tin.elevation_range().unwrap_or((f64::NAN, f64::NAN));
        let swale = wanted.name.clone();
        return Err(WorksError::WaterLevelOffGround { swale, water_level: level, lowest, highest });
    }
    let pieces = match &wanted.within {
        None => pieces,
        Some(region) => pieces.iter().flat_map(|piece| clipped(piece, region)).collect(),
    };
    let none =
        |why: &str| WorksError::NoLineInRegion { swale: wanted.name.clone(), water_level: level, why: why.to_owned() };
    if pieces.is_empty() {
        return Err(none("the region that `within` names holds no ground at that elevation"));
    }
    let chosen = chosen(&pieces, wanted);
    tell_others(&pieces, chosen, ground, wanted, notes);
    let mut line = pieces[chosen].clone();
    let mut turned = false;
    if let Some((from, to)) = wanted.between {
        let (first, second) = (line.foot(from), line.foot(to));
        for (end, foot) in [(from, first), (to, second)] {
            let off = end.distance(foot.point);
            if off > 1.0 && !wanted.water_level.is_sought() {
                notes.push(at(ground, end, Note::new("works::end-off-line", format!(
                    "swale `{}`: the end given in `between` lies {off:.1} m from the contour line; the nearest place on the line is taken",
                    wanted.name
                ))));
            }
        }
        turned = second.station < first.station;
        let (low, high) = (first.station.min(second.station), first.station.max(second.station));
        line = line.between(low, high).ok_or_else(|| none(&one_place([from, to], [first.point, second.point])))?;
    }
    let no_room = || WorksError::NoRoomAcross {
        swale: wanted.name.clone(),
        water_level: level,
        uphill: reach.uphill,
        downhill: reach.downhill,
        edge: ground.edge_near(line.at(line.length() / 2.0)),
    };
    let (kept, moved) = match room {
        Room::AtEnds => back_from_rim(&line, locator, reach).ok_or_else(no_room)?,
        Room::AllAlong(times) => {
            let reach = Reach { uphill: times * reach.uphill, downhill: times * reach.downhill };
            let parts = with_room(&line, locator, reach);
            let pieces: Vec<Polyline> = parts.iter().filter_map(|&(from, to)| line.between(from, to)).collect();
            if pieces.is_empty() {
                return Err(no_room());
            }
            let taken = self::chosen(&pieces, wanted);
            tell_parts(&pieces, taken, ground, wanted, notes);
            (pieces[taken].clone(), [parts[taken].0, line.length() - parts[taken].1])
        }
    };
    for (moved, end) in moved.into_iter().zip([kept.first(), kept.last()]) {
        if moved > 0.0 {
            notes.push(at(ground, end, Note::new("works::end-moved-back", format!(
                "swale `{}`: the line is ended {moved:.1} m before {}, so that its section stands on surveyed ground",
                wanted.name,
                ground.edge_near(end)
            ))));
        }
    }
    Ok(Traced { line: kept, turned })
}

/// The stretches of a line beside which too little is surveyed, told with the one that is taken.
fn tell_parts(pieces: &[Polyline], taken: usize, ground: &Ground, wanted: &SwaleWanted, notes: &mut Vec<Note>) {
    let others: Vec<String> = (0..pieces.len())
        .filter(|&i| i != taken)
        .map(|i| {
            let (easting, northing) = ground.frame.to_frame(pieces[i].at(pieces[i].length() / 2.0));
            format!("{:.1} m about E {easting:.0} N {northing:.0}", pieces[i].length())
        })
        .collect();
    if others.is_empty() {
        return;
    }
    notes.push(at(ground, pieces[taken].at(pieces[taken].length() / 2.0), Note::new("works::line-parted", format!(
        "swale `{}`: between its ends the line runs too near to the edge of the survey for its section, which parts it: the stretch of {:.1} m is taken, the others are {}; dig those as swales of their own (`between`), or survey on",
        wanted.name,
        pieces[taken].length(),
        others.join(", ")
    ))));
}

/// Why two ends that were given leave no line between them.
fn one_place(ends: [Point; 2], feet: [Point; 2]) -> String {
    let off = [0, 1].map(|k| ends[k].distance(feet[k]));
    let ends_apart = ends[0].distance(ends[1]);
    if off[0].min(off[1]) > ends_apart.max(1.0) {
        format!(
            "the two ends given in `between` lie {:.0} m and {:.0} m from the nearest contour line, and nearest to one place of it; \
             are their easting and northing right",
            off[0], off[1]
        )
    } else {
        "the two ends given in `between` are nearest to one place of the contour line".to_owned()
    }
}

/// A note at a place of the local frame.
pub(super) fn at(ground: &Ground, place: Point, note: Note) -> Note {
    let (easting, northing) = ground.frame.to_frame(place);
    note.at(Place::Ground { easting, northing })
}

/// The piece nearest to both ends, or to the place that the water level is taken from, else the longest.
fn chosen(pieces: &[Polyline], wanted: &SwaleWanted) -> usize {
    let nearest = |places: &[Point]| {
        let distance = |piece: &Polyline| places.iter().map(|&p| piece.foot(p).offset.abs()).sum::<f64>();
        (0..pieces.len()).min_by(|&i, &j| distance(&pieces[i]).total_cmp(&distance(&pieces[j])))
    };
    let by_place = match (wanted.between, wanted.water_level.place()) {
        (Some((from, to)), _) => nearest(&[from, to]),
        (None, Some(place)) => nearest(&[place]),
        (None, None) => None,
    };
    by_place
        .or_else(|| (0..pieces.len()).max_by(|&i, &j| pieces[i].length().total_cmp(&pieces[j].length())))
        .unwrap_or(0)
}

fn tell_others(pieces: &[Polyline], chosen: usize, ground: &Ground, wanted: &SwaleWanted, notes: &mut Vec<Note>) {
    let mut others: Vec<f64> =
        pieces.iter().enumerate().filter(|&(i, _)| i != chosen).map(|(_, piece)| piece.length()).collect();
    if others.is_empty() {
        return;
    }
    others.sort_by(|a, b| b.total_cmp(a));
    let shown: Vec<String> = others.iter().take(5).map(|length| format!("{length:.1} m")).collect();
    let more = if others.len() > shown.len() { ", ..." } else { "" };
    notes.push(at(ground, pieces[chosen].at(pieces[chosen].length() / 2.0), Note::new("works::more-lines", format!(
        "swale `{}`: {} pieces of contour line stand at this elevation; the one of {:.1} m is taken, the others are {}{more}",
        wanted.name,
        pieces.len(),
        pieces[chosen].length(),
        shown.join(", ")
    ))));
}

/// The parts of a line inside a region.
pub(super) fn clipped(line: &Polyline, region: &Polygon) -> Vec<Polyline> {
    let mut cuts = vec![0.0, line.length()];
    let rings = std::iter::once(&region.outer).chain(&region.holes);
    for ring in rings {
        for k in 0..ring.len() {
            let (c, d) = (ring[k], ring[(k + 1) % ring.len()]);
            for (i, pair) in line.points().windows(2).enumerate() {
                let (along, across) = (pair[1] - pair[0], d - c);
                let det = along.cross(across);
                if det == 0.0 {
                    continue;
                }
                let (t, u) = ((c - pair[0]).cross(across) / det, (c - pair[0]).cross(along) / det);
                if (0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u) {
                    cuts.push(line.stations()[i] + t * along.length());
                }
            }
        }
    }
    cuts.sort_by(f64::total_cmp);
    let mut parts: Vec<(f64, f64)> = Vec::new();
    for pair in cuts.windows(2) {
        if pair[1] - pair[0] > 1e-6 && region.contains(line.at(f64::midpoint(pair[0], pair[1]))) {
            match parts.last_mut() {
                Some(last) if pair[0] - last.1 <= 1e-6 => last.1 = pair[1],
                _ => parts.push((pair[0], pair[1])),
            }
        }
    }
    parts.into_iter().filter_map(|(from, to)| line.between(from, to)).collect()
}

/// The line without what is too near the survey's rim at its two ends, and how much each end was moved.
pub(super) fn back_from_rim(line: &Polyline, locator: &Locator<'_>, reach: Reach) -> Option<(Polyline, [f64; 2])> {
    let length = line.length();
    let steps = |from_start: bool| {
        let mut moved = 0.0;
        while moved < length {
            if clear_of_rim(line, locator, reach, if from_start { moved } else { length - moved }) {
                return Some(moved);
            }
            moved += BACK_STEP;
        }
        None
    };
    let (start, end) = (steps(true)?, steps(false)?);
    Some((line.between(start, length - end)?, [start, end]))
}

/// The stretches of a line along which a section that reaches so far stands on the survey; short ones only where no other is.
fn with_room(line: &Polyline, locator: &Locator<'_>, reach: Reach) -> Vec<(f64, f64)> {
    let count = (line.length() / BACK_STEP).ceil().max(1.0);
    let mut parts: Vec<(f64, f64)> = Vec::new();
    let mut inside = false;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a line's length over half a metre")]
    for k in 0..=count as u32 {
        let station = line.length() * f64::from(k) / count;
        let clear = clear_of_rim(line, locator, reach, station);
        match parts.last_mut() {
            Some(last) if clear && inside => last.1 = station,
            _ if clear => parts.push((station, station)),
            _ => {}
        }
        inside = clear;
    }
    parts.retain(|(from, to)| to > from);
    let long = |&(from, to): &(f64, f64)| to - from >= SHORTEST_STRETCH;
    if parts.iter().any(long) {
        parts.retain(long);
    }
    parts
}

/// True where the whole section at a station stands on the survey, and the same a little before and behind it.
fn clear_of_rim(line: &Polyline, locator: &Locator<'_>, reach: Reach, station: f64) -> bool {
    let (place, direction) = (line.at(station), line.direction(station));
    let ahead = reach.uphill.max(reach.downhill);
    [0.0, reach.uphill / 2.0, reach.uphill, -reach.downhill / 2.0, -reach.downhill].into_iter().all(|offset| {
        [-ahead / 2.0, 0.0, ahead / 2.0]
            .into_iter()
            .all(|along| locator.find(place + direction.left() * offset + direction * along).is_some())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_cut_where_it_leaves_the_region() {
        let line = Polyline::new(vec![Point::new(0.0, 0.0), Point::new(30.0, 0.0)]).unwrap();
        let square = |west: f64, east: f64| {
            vec![Point::new(west, -5.0), Point::new(east, -5.0), Point::new(east, 5.0), Point::new(west, 5.0)]
        };
        let region = Polygon { outer: square(5.0, 25.0), holes: vec![square(10.0, 12.0)] };
        let parts = clipped(&line, &region);
        let ends: Vec<(f64, f64)> = parts.iter().map(|part| (part.first().x, part.last().x)).collect();
        assert_eq!(ends, vec![(5.0, 10.0), (12.0, 25.0)]);
    }
}
