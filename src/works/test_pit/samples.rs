//! Where a work goes into the ground and how deep: places along its line, or over the area that it digs.
//!
//! Depths are those of the surface that the work leaves under natural ground, and of the trench that is dug under a berm or wall and
//! filled again.

use crate::geom::{Bounds, Point};
use crate::surface::Locator;
use crate::units::Station;
use crate::works::dam::{Dam, KeyWanted};
use crate::works::drain::Drain;
use crate::works::pit::Pit;
use crate::works::{Spillway, Swale, Work};

/// Ground under the seat of a wall without a cutoff that a pit is to show, metres: as deep as a usual cutoff, NRCS Code 378, from
/// memory.
const UNDER_SEAT: f64 = 0.6;
/// Distance of the places along a line, metres.
const STEP: f64 = 1.0;
/// Distance of the columns across a channel, metres.
const ACROSS: f64 = 0.25;
/// About how many places an area is asked at.
const PLACES: f64 = 2500.0;

/// How a part of a work is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Extent {
    /// Along a line.
    Length,
    /// Over an area.
    Area,
}

/// A part of a work as the ground sees it.
#[derive(Debug, Clone)]
pub(super) struct Part {
    /// Such as "channel".
    pub name: &'static str,
    /// How it is measured.
    pub by: Extent,
    /// Its places.
    pub samples: Vec<Sample>,
}

/// A place of a part.
#[derive(Debug, Clone)]
pub(super) struct Sample {
    /// In the middle of what it stands for.
    pub place: Point,
    /// Where it lies along the work's line, metres.
    pub station: f64,
    /// Length or area that it stands for.
    pub weight: f64,
    /// The dig there: depth below natural ground, and area in plan.
    pub columns: Vec<(f64, f64)>,
}

impl Sample {
    /// How deep the work goes there.
    pub(super) fn depth(&self) -> f64 {
        self.columns.iter().map(|column| column.0).fold(0.0, f64::max)
    }
}

/// Everything a work digs, part by part; `after` is the surface that it leaves.
pub(super) fn parts(work: &Work, natural: &Locator<'_>, after: &Locator<'_>) -> Vec<Part> {
    let ground = Grounds { natural, after };
    let parts = match work {
        Work::Swale(swale) => vec![channel(swale, &ground)],
        Work::Drain(drain) => vec![along(drain, &ground)],
        Work::Pit(pit) => vec![whole(pit, &ground)],
        Work::Dam(dam) => {
            let cuts = dam.spillways.iter().filter_map(|spillway| cut(dam, spillway, &ground));
            std::iter::once(seat(dam)).chain(cuts).collect()
        }
    };
    parts.into_iter().filter(|part| !part.samples.is_empty()).collect()
}

/// Natural ground and what a work makes of it.
struct Grounds<'a> {
    natural: &'a Locator<'a>,
    after: &'a Locator<'a>,
}

impl Grounds<'_> {
    /// How far below natural ground the work leaves the surface; `None` where it does not dig.
    fn dug(&self, place: Point) -> Option<f64> {
        let depth = self.natural.elevation(place)? - self.after.elevation(place)?;
        (depth > 1e-3).then_some(depth)
    }

    /// The dig across a channel between two offsets, for a length along it.
    fn columns(&self, (from, to): (f64, f64), length: f64, place: &dyn Fn(f64) -> Point) -> Vec<(f64, f64)> {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a handful of columns")]
        let count = ((to - from) / ACROSS).ceil().max(1.0) as u32;
        let wide = (to - from) / f64::from(count);
        let offsets = (0..count).map(|k| from + (f64::from(k) + 0.5) * wide);
        offsets.filter_map(|offset| Some((self.dug(place(offset))?, wide * length))).collect()
    }
}

/// The channel of a swale from its line, and the key under its berm; crossings stand on ground that is not dug.
fn channel(swale: &Swale, ground: &Grounds<'_>) -> Part {
    let trench = swale.wanted.key.map(|key| trench(key, swale.wanted.topsoil.in_metres(), STEP));
    let undug = |station: f64| {
        swale.crossings.iter().any(|c| station > c.undug.0.in_metres() && station < c.undug.1.in_metres())
    };
    let stations = steps(swale.line.length()).filter(|&(station, _)| !undug(station));
    let samples = stations.filter_map(|(station, weight)| {
        let section = swale.section_at(Station::metres(station));
        let reach = (section.lip_offset.in_metres() - 1.0, section.top_offset.in_metres() + 1.0);
        let mut columns = ground.columns(reach, weight, &|offset| swale.line.at_offset(station, offset));
        // Beyond the turned ends of the bed there is a berm and no channel.
        if columns.is_empty() {
            return None;
        }
        columns.extend(trench.iter().flatten().copied());
        let place = swale.line.at_offset(station, section.bed_offset.in_metres());
        Some(Sample { place, station, weight, columns })
    });
    Part { name: "channel", by: Extent::Length, samples: samples.collect() }
}

/// The channel of a drain; its run-out is shallower.
fn along(drain: &Drain, ground: &Grounds<'_>) -> Part {
    let (from, to) = (drain.bed.0.in_metres(), drain.bed.1.in_metres());
    let samples = steps(to - from).filter_map(|(along, weight)| {
        let station = from + along;
        let reach = (drain.lip_offset.in_metres() - 1.0, drain.top_offset.in_metres() + 1.0);
        let columns = ground.columns(reach, weight, &|offset| drain.place(station, offset));
        let place = drain.place(station, drain.bed_offset.in_metres());
        (!columns.is_empty()).then_some(Sample { place, station, weight, columns })
    });
    Part { name: "channel", by: Extent::Length, samples: samples.collect() }
}

/// The seat of a wall with the cutoff under it; without a cutoff as much of the ground under the stripped seat.
fn seat(dam: &Dam) -> Part {
    let topsoil = dam.wanted.topsoil.in_metres();
    let samples = steps(dam.line.length()).map(|(station, weight)| {
        let columns = match dam.wanted.key {
            Some(key) => trench(key, topsoil, weight).to_vec(),
            None => vec![(topsoil + UNDER_SEAT, 0.0)],
        };
        Sample { place: dam.line.at(station), station, weight, columns }
    });
    let name = if dam.wanted.key.is_some() { "cutoff" } else { "seat" };
    Part { name, by: Extent::Length, samples: samples.collect() }
}

/// A trench under a stripped seat: its bottom, and both its sides at half its depth, which is their mean.
fn trench(key: KeyWanted, topsoil: f64, length: f64) -> [(f64, f64); 2] {
    let (depth, batter) = (key.depth.in_metres(), key.batter.in_horizontal_per_vertical());
    [(topsoil + depth, key.width.in_metres() * length), (topsoil + depth / 2.0, 2.0 * depth * batter * length)]
}

/// Everything that a pit digs, its spillway with it.
fn whole(pit: &Pit, ground: &Grounds<'_>) -> Part {
    let station = |place| pit.rim.foot(place).station;
    Part { name: "dig", by: Extent::Area, samples: over(&pit.cut_footprint, ground, &station) }
}

/// The cut of a dam's spillway.
fn cut(dam: &Dam, spillway: &Spillway, ground: &Grounds<'_>) -> Option<Part> {
    let outlet = spillway.outlet.as_ref()?;
    let station = |place| dam.line.foot(place).station;
    Some(Part { name: "spillway", by: Extent::Area, samples: over(&outlet.footprint, ground, &station) })
}

/// Middles of equal steps along a line, each with the length that it stands for.
fn steps(length: f64) -> impl Iterator<Item = (f64, f64)> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of metres")]
    let count = (length / STEP).round().max(1.0) as u32;
    let step = length / f64::from(count);
    (0..count).map(move |k| ((f64::from(k) + 0.5) * step, step))
}

/// Places over what is dug within some outlines, on a square grid.
fn over(outlines: &[crate::geom::Polygon], ground: &Grounds<'_>, station: &dyn Fn(Point) -> f64) -> Vec<Sample> {
    let area: f64 = outlines.iter().map(crate::geom::Polygon::area).sum();
    let step = (area / PLACES).sqrt().max(0.25);
    let Some(Bounds { low, high }) = Bounds::around(outlines.iter().flat_map(|outline| &outline.outer).copied()) else {
        return Vec::new();
    };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of places")]
    let count = |from: f64, to: f64| ((to - from) / step).ceil() as u32;
    let places = (0..count(low.y, high.y)).flat_map(|row| {
        let y = low.y + (f64::from(row) + 0.5) * step;
        (0..count(low.x, high.x)).map(move |column| Point::new(low.x + (f64::from(column) + 0.5) * step, y))
    });
    let inside = places.filter(|&place| outlines.iter().any(|outline| outline.contains(place)));
    inside
        .filter_map(|place| {
            let columns = vec![(ground.dug(place)?, step * step)];
            Some(Sample { place, station: station(place), weight: step * step, columns })
        })
        .collect()
}
