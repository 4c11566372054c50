//! The spillway of a swale: its sill sized by the broad-crested formula, placed on the line, cut level into natural
//! ground, and the way its water takes from there.

use super::WorksError;
use super::below::{Below, HOLLOW, STEP, way_below};
use super::layout::{Base, Sill};
use super::line::at;
use super::plan::Spillway;
use super::unsurveyed::unsurveyed;
use super::wanted::{Entry, SillLength, SpillwayPlace, SpillwayWanted, SwaleWanted};
use super::work::{Kind, Subject};
use crate::geom::{Point, Polygon, Polyline};
use crate::ground::Ground;
use crate::notes::{Note, Place};
use crate::surface::{Locator, WayEnd};
use crate::units::{Elevation, Fall, Flow, Length, Station};
use crate::water::weir;
use std::fmt::Write as _;

/// Head over the sill of a swale when nothing says one, metres; common practice, no source.
pub(super) const DEFAULT_HEAD: f64 = 0.10;
/// Ground this much below the sill is told as fill, metres.
pub(super) const FILL_LIMIT: f64 = 0.015;
/// A sill shorter than this is told, metres: a bucket's width; common practice, no source.
const LEAST_SILL: f64 = 1.0;
/// Ground less than this above the exit's floor is left as it is, metres.
const EXIT_CUT_LEAST: f64 = 0.02;
/// How far the way out is looked at, metres.
pub(super) const EXIT_LENGTH: f64 = 30.0;
/// A hollow on the way out less deep than this is not told, metres: less than ground is known to.
const HOLLOW_TOLD: f64 = 0.05;

/// Stations nearer to each other than this are one, metres.
const SAME: f64 = 1e-6;

/// Length, head and flow of a sill.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sized {
    pub length: Length,
    pub head: Length,
    pub flow: Flow,
    /// What is asked of all sills under its water together, where they share it and its own flow is a part of that.
    pub together: Option<Flow>,
}

/// Sizes a sill from what is given of length, head and flow; `usual` is the head where nothing says one.
pub(super) fn size(wanted: &SpillwayWanted, works: &Subject, usual: Option<Length>) -> Result<Sized, WorksError> {
    let c = weir::Coefficient::default();
    let failed = |cause| WorksError::Weir { works: works.clone(), cause };
    let usual = || usual.ok_or_else(|| WorksError::NoFloodRise { works: works.clone() });
    let long_enough = |flow: Flow| -> Result<Sized, WorksError> {
        let head = wanted.head.map_or_else(usual, Ok)?;
        Ok(Sized { length: weir::length(flow, head, c).map_err(failed)?, head, flow, together: None })
    };
    Ok(match (&wanted.sill_length, wanted.head, wanted.flow) {
        (SillLength::ForFlow(flow), ..) => long_enough(*flow)?,
        (SillLength::ForStorm(storm), ..) => long_enough(storm.peak())?,
        (&SillLength::Length(length), None, Some(flow)) => {
            Sized { length, head: weir::head(flow, length, c).map_err(failed)?, flow, together: None }
        }
        (&SillLength::Length(length), head, _) => {
            let head = head.map_or_else(usual, Ok)?;
            Sized { length, head, flow: weir::flow(length, head, c), together: None }
        }
    })
}

/// Tells the storm that a sill is sized for, every number in and out.
pub(super) fn tell_storm(works: &Subject, spillway: &Spillway, place: &Place, notes: &mut Vec<Note>) {
    let Some(storm) = &spillway.storm else { return };
    for mut note in storm.notes() {
        note.text = format!("{works}: {}", note.text);
        if note.code == "water::storm" {
            let (length, head) = (spillway.sill_length.in_metres(), spillway.head.in_metres());
            let _ = match (spillway.together, spillway.flow) {
                (Some(together), Some(flow)) => write!(
                    note.text,
                    ". It runs with what is asked of the other sills under this water, {:.3} m3/s together, over all of them; over this one, {length:.2} m long, {:.3} m3/s at a head of {head:.2} m",
                    together.in_cubic_metres_per_second(),
                    flow.in_cubic_metres_per_second()
                ),
                _ => write!(note.text, ". Its sill passes that {length:.2} m long at a head of {head:.2} m"),
            };
        }
        notes.push(note.at(place.clone()));
    }
}

/// Sizes the sill of a swale.
pub(super) fn size_of_swale(wanted: &SpillwayWanted, swale: &str) -> Result<Sized, WorksError> {
    size(wanted, &Subject::new(Kind::Swale, swale), Some(Length::metres(DEFAULT_HEAD)))
}

/// The sills of a swale, each in the pool that `pools` tells. Those of one pool stand under one water: what is asked of them
/// together runs over all of them at one head, each taking its share by length, where they are not asked at one head anyway.
/// Nothing of it runs into another pool.
pub(super) fn of_swale(wanted: &SwaleWanted, pools: &[usize]) -> Result<Vec<Sized>, WorksError> {
    let alone: Vec<Sized> =
        wanted.spillways.iter().map(|s| size_of_swale(s, &wanted.name)).collect::<Result<_, _>>()?;
    let c = weir::Coefficient::default();
    let together = |(own, pool): (&Sized, usize)| {
        let beside = || alone.iter().zip(pools).filter(|(_, other)| **other == pool).map(|(sized, _)| sized);
        if !beside().any(|other| (other.head - own.head).in_metres().abs() > 1e-6) {
            return Ok(*own);
        }
        let flow = Flow::cubic_metres_per_second(beside().map(|s| s.flow.in_cubic_metres_per_second()).sum());
        let length = Length::metres(beside().map(|s| s.length.in_metres()).sum());
        let works = Subject::new(Kind::Swale, &wanted.name);
        let head = weir::head(flow, length, c).map_err(|cause| WorksError::Weir { works, cause })?;
        Ok(Sized { length: own.length, head, flow: weir::flow(own.length, head, c), together: Some(flow) })
    };
    alone.iter().zip(pools.iter().copied()).map(together).collect()
}

/// The pool in which each sill stands, by how many crossings lie before it on a line.
pub(super) fn pools(wanted: &SwaleWanted, line: &Polyline, turned: bool) -> Vec<usize> {
    let before = |station: f64| wanted.crossings.iter().filter(|crossing| crossing.at.in_metres() < station).count();
    let pool = |spillway: &SpillwayWanted| match (&spillway.at, turned) {
        // A rim is refused where the sill is placed.
        (SpillwayPlace::First, false) | (SpillwayPlace::Last, true) | (SpillwayPlace::LowRim, _) => 0,
        (SpillwayPlace::Last, false) | (SpillwayPlace::First, true) => wanted.crossings.len(),
        (SpillwayPlace::Station(station), _) => before(station.in_metres()),
        (SpillwayPlace::Through(place), _) => before(line.foot(*place).station),
    };
    wanted.spillways.iter().map(pool).collect()
}

/// Pools under which the greatest head is never less than under those that a line will tell, before it is known: with crossings
/// one for each sill, as no water that is shared stands deeper than the deepest that was asked of it.
pub(super) fn pools_at_worst(wanted: &SwaleWanted) -> Vec<usize> {
    (0..wanted.spillways.len()).map(|sill| if wanted.crossings.is_empty() { 0 } else { sill }).collect()
}

/// Where the sill stands on the line: its stations, between the ends of the bed.
pub(super) fn place(
    wanted: &SpillwayWanted,
    base: Base<'_>,
    turned: bool,
    length: f64,
    (from, to): (f64, f64),
    end_margin: f64,
) -> Result<(f64, f64), WorksError> {
    let centre = match (&wanted.at, turned) {
        (SpillwayPlace::First, false) | (SpillwayPlace::Last, true) => from + end_margin + length / 2.0,
        (SpillwayPlace::Last, false) | (SpillwayPlace::First, true) => to - end_margin - length / 2.0,
        (SpillwayPlace::Station(station), _) => station.in_metres(),
        (SpillwayPlace::Through(place), _) => base.line.foot(*place).station,
        (SpillwayPlace::LowRim, _) => {
            let works = Subject::new(Kind::Swale, &base.wanted.name);
            let why = "a swale has no rim: say one of its ends, a station, or a place";
            return Err(WorksError::NoSpillwayThere { works, why });
        }
    };
    let (low, high) = (centre - length / 2.0, centre + length / 2.0);
    // At an end that is left open it ends with the bed, to the last bit or nearly.
    if low < from - SAME || high > to + SAME {
        return Err(WorksError::SillDoesNotFit {
            swale: base.wanted.name.clone(),
            entry: Entry::Sill(base.wanted.spillways.iter().position(|other| other == wanted).unwrap_or_default()),
            sill_length: length,
            station: centre,
            from,
            to,
        });
    }
    Ok((low, high))
}

/// Ground minus sill along the lip of a strip that is moved uphill by `shift`: least and greatest over the whole strip,
/// and least along its downhill edge. `None` off the survey.
fn above_sill(base: Base<'_>, sill: &Sill, level: f64) -> Option<(f64, f64, f64)> {
    let mut all = (f64::INFINITY, f64::NEG_INFINITY);
    let mut edge = f64::INFINITY;
    for (place, at_lip) in sill_places(base, sill) {
        let d = base.natural.elevation(place)? - level;
        all = (all.0.min(d), all.1.max(d));
        if at_lip {
            edge = edge.min(d);
        }
    }
    Some((all.0, all.1, edge))
}

/// Places all over the strip of a sill, each with whether it lies on its downhill edge.
fn sill_places(base: Base<'_>, sill: &Sill) -> impl Iterator<Item = (Point, bool)> {
    let (line, lip) = (base.line, base.along.channel(sill.from).lip);
    let steps = ((sill.to - sill.from) / 0.25).ceil().max(1.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of steps along a sill")]
    let count = steps as usize;
    (0..=count).flat_map(move |i| {
        let station = sill.from + (sill.to - sill.from) * i as f64 / steps;
        (0..=4).map(move |j| (line.at_offset(station, lip + sill.shift + sill.breadth * f64::from(j) / 4.0), j == 0))
    })
}

/// How far uphill the strip must be moved so that its downhill edge nowhere stands on fill; at most its breadth.
pub(super) fn shift(base: Base<'_>, sill: &Sill, level: f64, fall: f64) -> f64 {
    let mut moved = Sill { shift: 0.0, ..*sill };
    for _ in 0..8 {
        let Some((_, _, edge)) = above_sill(base, &moved, level) else { return moved.shift };
        if edge >= 0.0 || fall <= 0.0 {
            break;
        }
        moved.shift = (moved.shift - edge / fall * 1.05 + 0.005).min(sill.breadth);
    }
    moved.shift
}

/// A sill where it stands: its strip, the natural ground under it, and the way its water takes.
#[derive(Debug, Clone)]
pub(super) struct Standing {
    /// Middle line of the strip.
    pub middle: Polyline,
    /// Its downhill edge.
    lip: Polyline,
    outline: Polygon,
    /// Least and greatest natural ground minus sill over the strip, metres.
    above: (f64, f64),
    /// Down the natural ground from the middle of the lip.
    exit: Below,
}

/// Stands a sill on the ground. Refused where its strip lies off the survey: nobody knows what it would stand on.
pub(super) fn stand(ground: &Ground, base: Base<'_>, sill: &Sill, level: f64) -> Result<Standing, WorksError> {
    let line = base.line;
    let off = || WorksError::PlaceOffSurvey {
        works: Subject::new(Kind::Swale, &base.wanted.name),
        what: format!("part of the sill between stations {:.1} and {:.1} m", sill.from, sill.to),
        beyond: unsurveyed(ground, base.natural, sill_places(base, sill).map(|(place, _)| place)),
    };
    let (least, most, _) = above_sill(base, sill, level).ok_or_else(off)?;
    let steps = (sill.to - sill.from).ceil().max(1.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of steps along a sill")]
    let count = steps as usize;
    let along = |offset: f64| -> Vec<Point> {
        (0..=count).map(|i| line.at_offset(sill.from + (sill.to - sill.from) * i as f64 / steps, offset)).collect()
    };
    let low = base.along.channel(sill.from).lip + sill.shift;
    let (lip_line, top) = (along(low), along(low + sill.breadth));
    let outline = lip_line.iter().copied().chain(top.iter().rev().copied()).collect();
    let polyline = |points: Vec<Point>| Polyline::new(points).unwrap_or_else(|| line.clone());
    let lip = polyline(lip_line);
    Ok(Standing {
        middle: polyline(along(low + sill.breadth / 2.0)),
        exit: way_below(base.drainage, lip.at(lip.length() / 2.0), EXIT_LENGTH),
        lip,
        outline: Polygon::simple(outline),
        above: (least, most),
    })
}

/// The floor of an exit channel: its axis from the sill's lip and the elevation at each vertex.
#[derive(Debug, Clone)]
pub(super) struct ExitFloor {
    pub axis: Polyline,
    pub levels: Vec<f64>,
}

/// The exit channel that must be cut: the floor falls at `fall` from the sill down the natural way out, as far as
/// natural ground stands above it. `None` where natural ground falls away faster than asked, as it mostly does.
pub(super) fn exit_floor(natural: &Locator<'_>, standing: &Standing, level: f64, fall: f64) -> Option<ExitFloor> {
    let path = standing.exit.path.as_ref()?;
    let floor = |station: f64| level - fall * station;
    let above = |station: f64| natural.elevation(path.at(station)).is_some_and(|z| z > floor(station) + EXIT_CUT_LEAST);
    let last = path.stations().iter().copied().filter(|&s| above(s)).fold(0.0, f64::max);
    if last <= 0.0 {
        return None;
    }
    let axis = path.between(0.0, last + STEP)?.resampled(2.0);
    let levels = axis.stations().iter().map(|&s| floor(s)).collect();
    Some(ExitFloor { axis, levels })
}

/// Where the water from a sill does not simply run off.
fn tell_exit(swale: &str, ground: &Ground, exit: &Below, notes: &mut Vec<Note>) {
    let Some(path) = &exit.path else { return };
    let far = path.length();
    match exit.end {
        WayEnd::Far => {}
        WayEnd::Rim => notes.push(at(ground, path.last(), Note::new("works::exit-off-survey", format!(
            "swale `{swale}`: the water from the spillway reaches {} {far:.1} m from the sill; where it goes from there is not known",
            ground.edge_near(path.last())
        )))),
        WayEnd::Hollow => notes.push(at(ground, path.last(), Note::new("works::exit-in-hollow", format!(
            "swale `{swale}`: the water from the spillway comes into a hollow more than {HOLLOW} m deep {far:.1} m from the sill, and stands there: look what it wets, or lead it past"
        )))),
    }
    if let Some((deep, place)) = exit.deepest.filter(|(deep, _)| deep.in_metres() >= HOLLOW_TOLD) {
        notes.push(at(ground, place, Note::new("works::exit-fills-hollow", format!(
            "swale `{swale}`: the water from the spillway fills a hollow {:.2} m deep on its way, and runs on over the brim",
            deep.in_metres()
        ))));
    }
}

/// The spillway as designed, with what is to be told of it.
pub(super) fn finish(
    wanted: &SpillwayWanted,
    ground: &Ground,
    base: Base<'_>,
    (sill, standing): (&Sill, Standing),
    sized: Sized,
    level: f64,
    notes: &mut Vec<Note>,
) -> Spillway {
    let (swale, natural) = (base.wanted, base.natural);
    let Standing { lip, outline, exit, above: (least, most), .. } = standing;
    let on_fill = least < -FILL_LIMIT;
    let place = Place::Station { works: swale.name.clone(), station_m: f64::midpoint(sill.from, sill.to) };
    if on_fill {
        notes.push(
            Note::new("works::sill-on-fill", format!(
                "swale `{}`: natural ground lies up to {:.0} mm below the sill, so part of it would stand on fill and may wash out: move the spillway to firm natural ground, or the water level down",
                swale.name,
                -least * 1000.0
            ))
            .at(place.clone()),
        );
    }
    if sized.length.in_metres() < LEAST_SILL {
        notes.push(
            Note::new("works::short-sill", format!(
                "swale `{}`: a sill {:.2} m long passes what is asked of it, but a bucket cannot cut one shorter than {LEAST_SILL} m, and a tuft of grass blocks it: cut it at least so long, and higher water finds more room",
                swale.name,
                sized.length.in_metres()
            ))
            .at(place.clone()),
        );
    }
    for mut note in weir::notes(sized.length, sized.head, wanted.sill_breadth, weir::Coefficient::default()) {
        note.text = format!("swale `{}`: {}", swale.name, note.text);
        notes.push(note.at(place.clone()));
    }
    let natural_fall = exit.path.as_ref().and_then(|path| {
        let run = path.length().min(10.0);
        Some((natural.elevation(path.first())? - natural.elevation(path.at(run))?) / run)
    });
    tell_exit(&swale.name, ground, &exit, notes);
    let spillway = Spillway {
        from: Station::metres(sill.from),
        to: Station::metres(sill.to),
        sill: Elevation::metres(level),
        sill_length: sized.length,
        sill_breadth: wanted.sill_breadth,
        head: sized.head,
        flow: Some(sized.flow),
        together: sized.together,
        coefficient: weir::Coefficient::default().value(),
        lip,
        strip: outline,
        ground_above_sill: (Length::metres(most), Length::metres(least)),
        on_fill,
        exit: exit.path,
        exit_fall: wanted.exit_fall_or_usual(),
        natural_exit_fall: Fall::ratio(natural_fall.unwrap_or(0.0)),
        outlet: None,
        storm: wanted.storm().cloned(),
    };
    tell_storm(&Subject::new(Kind::Swale, &swale.name), &spillway, &place, notes);
    spillway
}
