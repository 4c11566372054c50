//! Which parts that must be proven were shot, and over how much of their length.
//!
//! A shot speaks for one and a half of the intervals that shots were asked for to either side, and towards an end of the part
//! for no more than a third of it, so that one shot proves no line; on a floor it speaks for as far all round, and for no more than
//! six tenths of the floor's widest. What no shot speaks for is not proven, however well the shots lie. Common practice, no source.
//!
//! Invariant: a part without a gap here has shots near both its ends and none farther apart than three intervals. Shots at
//! the places asked for, interval by interval and at the end, leave no gap.

use super::design::{Design, WorkDesign};
use super::grade::{Gap, Part, Unmatched};
use super::matching::{Lines, Matched};
use super::settings::GradeSettings;
use crate::geom::{Point, Polyline};

/// How many asked intervals a shot speaks for, to either side.
const SPEAKS_FOR: f64 = 1.5;
/// The most of a line's length that one shot speaks for towards its end.
const MOST_OF_LINE: f64 = 1.0 / 3.0;
/// The most of a floor's widest that one shot speaks for: one in the middle speaks for all corners.
const MOST_OF_FLOOR: f64 = 0.6;
/// Shots stand beside the places asked for by this much, metres.
const BESIDE_THE_PLACE: f64 = 0.3;

/// A piece of a part, and where it lacks shots.
pub(super) struct Piece {
    pub(super) work: usize,
    pub(super) part: Part,
    /// Which sill or piece of crest.
    pub(super) index: usize,
    shot: bool,
    /// Along the piece, metres.
    gaps: Vec<[f64; 2]>,
    line: Option<Polyline>,
}

impl Piece {
    pub(super) const fn is_covered(&self) -> bool {
        self.shot && self.gaps.is_empty()
    }
}

/// Every piece that must be proven: sills, crests and floors of all works.
pub(super) fn pieces(design: &Design, matched: &[Matched], settings: &GradeSettings) -> Vec<Piece> {
    design.works.iter().enumerate().flat_map(|(i, work)| of_work(i, work, matched, settings)).collect()
}

fn of_work(index: usize, work: &WorkDesign, matched: &[Matched], settings: &GradeSettings) -> Vec<Piece> {
    let lines = Lines::of(work);
    let on = |part: Part, piece: usize| {
        let on = move |shot: &&Matched| shot.work == index && shot.check.part == part && shot.piece == piece;
        matched.iter().filter(on)
    };
    let along = |part: Part, piece: usize, line: Option<&Polyline>, interval: f64| {
        let mut shots: Vec<f64> = on(part, piece).map(|shot| shot.along).collect();
        shots.sort_by(f64::total_cmp);
        let gaps = line.map_or_else(Vec::new, |line| gaps(&shots, line.length(), interval));
        Piece { work: index, part, index: piece, shot: !shots.is_empty(), gaps, line: line.cloned() }
    };
    let sills = (0..work.sills.len()).map(|piece| {
        let line = lines.as_ref().and_then(|lines| lines.sills.get(piece));
        along(Part::Sill, piece, line, settings.sill_interval_m)
    });
    let crests = (0..work.crest_axes.len()).map(|piece| {
        let line = lines.as_ref().and_then(|lines| lines.crests.iter().find(|(i, _)| *i == piece));
        along(Part::Crest, piece, line.map(|(_, line)| line), settings.interval_m)
    });
    let mut all: Vec<Piece> = sills.chain(crests).collect();
    if !work.floor.is_empty() {
        let shots: Vec<Point> = on(Part::Bed, 0).map(|shot| shot.check.place).collect();
        let whole = covers_floor(&work.floor, &shots, settings.interval_m);
        let gaps = if whole { Vec::new() } else { vec![[0.0, 0.0]] };
        all.push(Piece { work: index, part: Part::Bed, index: 0, shot: !shots.is_empty(), gaps, line: None });
    }
    all
}

/// Stretches of a line that shots do not cover, from the shot before to the one after; a lone shot within is no end of them.
fn gaps(shots: &[f64], length: f64, interval: f64) -> Vec<[f64; 2]> {
    let reach = SPEAKS_FOR * interval;
    let to_end = reach.min(length * MOST_OF_LINE) + BESIDE_THE_PLACE;
    let mut gaps: Vec<[f64; 2]> = Vec::new();
    let mut add = |from: f64, to: f64| match gaps.last_mut() {
        Some(last) if last[1] >= from => last[1] = to,
        _ => gaps.push([from, to]),
    };
    let (mut from, mut most) = (0.0, to_end);
    for &shot in shots {
        if shot - from > most {
            add(from, shot);
        }
        (from, most) = (shot, 2.0 * reach + BESIDE_THE_PLACE);
    }
    if shots.is_empty() || length - from > to_end {
        add(from, length);
    }
    gaps
}

/// Does every corner and the middle of every side of a floor have a shot near enough.
fn covers_floor(ring: &[Point], shots: &[Point], interval: f64) -> bool {
    let widest = ring.iter().flat_map(|a| ring.iter().map(move |b| a.distance(*b))).fold(0.0, f64::max);
    let reach = (SPEAKS_FOR * interval).min(MOST_OF_FLOOR * widest) + BESIDE_THE_PLACE;
    let sides = ring.iter().zip(ring.iter().cycle().skip(1));
    let mut places = sides.flat_map(|(&a, b)| {
        let count = (a.distance(*b) / interval).ceil().max(2.0);
        (0..).map(f64::from).take_while(move |k| *k < count).map(move |k| a.towards(*b, k / count))
    });
    places.all(|place| shots.iter().any(|shot| shot.distance(place) <= reach))
}

/// What the pieces lack, part by part; a part of which nothing was shot is one gap.
pub(super) fn lacking(design: &Design, pieces: &[Piece]) -> Vec<Gap> {
    let mut found = Vec::new();
    for (index, work) in design.works.iter().enumerate() {
        let stations = Polyline::new(work.line.clone());
        for part in [Part::Sill, Part::Crest, Part::Bed] {
            let of_part = || pieces.iter().filter(move |piece| piece.work == index && piece.part == part);
            if of_part().next().is_none() {
                continue;
            }
            let gap = |shot: bool, stretch_m| Gap { works: work.name.clone(), part, shot, stretch_m };
            if of_part().all(|piece| !piece.shot) {
                found.push(gap(false, None));
                continue;
            }
            for piece in of_part() {
                for [from, to] in &piece.gaps {
                    let stretch = piece.line.as_ref().zip(stations.as_ref()).and_then(|(line, stations)| {
                        let ends = [*from, *to].map(|along| stations.foot(line.at(along)).station);
                        let [first, last] = [ends[0].min(ends[1]), ends[0].max(ends[1])];
                        // A sill beside the end of a wall has no stretch of the wall's own stations.
                        (last - first > (to - from) / 2.0).then_some([first, last])
                    });
                    found.push(gap(true, stretch));
                }
            }
        }
    }
    found
}

/// Did fewer than half of what was meant for the works find its part.
pub(super) fn most_are_strange(compared: usize, unmatched: &[Unmatched]) -> bool {
    unmatched.iter().filter(|shot| shot.meant).count() > compared
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_lies_between_shots_too_far_apart_is_a_gap() {
        let every = |step: f64, count: u32| (0..count).map(|i| step * f64::from(i)).collect::<Vec<_>>();
        assert!(gaps(&every(10.0, 21), 200.0, 10.0).is_empty());
        assert!(gaps(&every(30.0, 8), 210.0, 10.0).is_empty());
        assert_eq!(gaps(&[0.0, 10.0, 60.0, 75.0], 80.0, 10.0), [[10.0, 60.0]]);
        assert_eq!(gaps(&[20.0, 40.0, 60.0], 80.0, 10.0), [[0.0, 20.0], [60.0, 80.0]]);
        assert_eq!(gaps(&[20.0, 50.0, 80.0, 140.0, 150.0], 160.0, 10.0), [[0.0, 20.0], [80.0, 140.0]]);
        assert_eq!(gaps(&[], 80.0, 10.0), [[0.0, 80.0]]);
        // One shot proves no line, however short it is or far apart shots were asked for.
        assert_eq!(gaps(&[5.0], 10.0, 1000.0), [[0.0, 10.0]]);
    }

    #[test]
    fn a_floor_needs_shots_all_over_it() {
        let ring = [(0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (0.0, 20.0)].map(|(x, y)| Point::new(x, y));
        let row = |from: u32, to: u32| (from..=to).map(|i| Point::new(10.0 * f64::from(i), 10.0)).collect::<Vec<_>>();
        assert!(covers_floor(&ring, &row(1, 3), 10.0));
        assert!(!covers_floor(&ring, &row(1, 2), 10.0));
        assert!(!covers_floor(&ring, &[], 10.0));
        let small = ring.map(|place| Point::new(place.x / 5.0, place.y / 5.0));
        assert!(covers_floor(&small, &[Point::new(4.0, 2.0)], 10.0));
        assert!(!covers_floor(&small, &[Point::new(0.5, 0.5)], 10.0));
    }

    proptest! {
        /// Shots at the places asked for cover every part, however long: interval by interval, and at its end.
        #[test]
        fn the_shots_asked_for_leave_no_gap(length in 0.5..300.0_f64, interval in 0.5..40.0_f64) {
            let asked = (0..).map(|i| interval * f64::from(i)).take_while(|place| *place < length).chain([length]);
            prop_assert!(gaps(&asked.collect::<Vec<_>>(), length, interval).is_empty());
            // The middle alone never does.
            prop_assume!(length > 2.0);
            prop_assert!(!gaps(&[length / 2.0], length, interval).is_empty());
        }

        /// A shot more never makes a gap longer in all.
        #[test]
        fn more_shots_leave_no_more_uncovered(
            mut shots in proptest::collection::vec(0.0..100.0_f64, 0..12), more in 0.0..100.0_f64, interval in 1.0..20.0_f64,
        ) {
            let open = |shots: &[f64]| gaps(shots, 100.0, interval).iter().map(|[from, to]| to - from).sum::<f64>();
            shots.sort_by(f64::total_cmp);
            let before = open(&shots);
            shots.push(more);
            shots.sort_by(f64::total_cmp);
            prop_assert!(open(&shots) <= before + 1e-9);
        }
    }
}
