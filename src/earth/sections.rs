//! The same earth by cross sections: the prismoidal formula with the line's curvature, and average end areas.
//!
//! Each section is cut exactly: both profiles have a point at every edge they cross, between two points their
//! difference is linear. Sections stand square to the line, and where the line ends straight on across it, over
//! everything dug or filled. One stands at every place where a part of the work begins or ends, and between those at even
//! steps, as a handbook has them pegged. The prismoidal formula takes a true middle section between each two. A section
//! that is carried round a bend sweeps `A (1 - e / R) ds` (Pappus; e the offset of its centroid towards the centre),
//! summed here as the turn between two sections times the section's moment about the line. Where a bend is tighter than
//! the work is wide, sections cross, and what stands there is told as a difference between the methods.

use super::formulas::{end_area, prismoidal};
use super::quantities::{SectionVolumes, ThreeWays};
use crate::geom::{CompensatedSum, Polygon, Polyline, Vector};
use crate::notes::Note;
use crate::surface::{CutFill, Locator, ProfilePoint, Tin, profile};
use crate::units::Station;
use crate::works::{Kind, Work};

/// Greatest distance between sections, metres; common practice, no source.
const STEP: f64 = 5.0;
/// The line's direction is taken over this length either way, so that it turns at no one vertex, metres.
const ALONG: f64 = 1.0;
/// Greatest turn between sections, radians: 20 degrees.
const TURN: f64 = 0.35;
/// Sections nearer to each other than this are one, metres.
const SAME: f64 = 0.05;
/// How far a section reaches beyond everything dug or filled near it, metres.
const BEYOND: f64 = 1.0;
/// Steps along an outline, metres.
const OUTLINE_STEP: f64 = 2.0;
/// By this share of the overlay's volume another method may differ before it is told; common practice, no source.
const MUCH: f64 = 0.05;
/// Differences below this are not told, cubic metres.
const LITTLE: f64 = 5.0;

/// The earth of a work by sections beside the overlay's; `None` for a pit, whose line is its rim.
pub(super) fn three_ways(work: &Work, before: &Tin, after: &Tin, overlay: &CutFill) -> Option<ThreeWays> {
    if matches!(work, Work::Pit(_)) {
        return None;
    }
    let shared = work.shared();
    // A wall's spillway does not run along its line: only what is filled does.
    let dug_along = matches!(shared.kind, Kind::Swale | Kind::Drain);
    let along = if dug_along { shared.cut_footprint } else { &[] };
    let outline = Outline::of(shared.line, along.iter().chain(shared.fill_footprint))?;
    let mut breaks = vec![outline.first, 0.0, shared.line.length(), outline.last];
    breaks.extend(shared.spillways.iter().flat_map(|s| [s.from.in_metres(), s.to.in_metres()]));
    if let Work::Drain(drain) = work {
        breaks.extend([drain.bed.0, drain.bed.1].map(Station::in_metres));
        // The bed ends in a half round as wide as its cut, and so does the berm.
        let round = drain.top_offset.max(drain.sizes.depth).in_metres();
        breaks.extend([drain.bed.0.in_metres() - round, drain.bed.1.in_metres() + round]);
        let berms = drain.berm.iter().flat_map(|berm| [berm.axis.first(), berm.axis.last()]);
        breaks.extend(berms.map(|end| shared.line.foot(end).station));
        let outs = drain.run_out.iter().flat_map(|out| out.axis.points());
        breaks.extend(outs.map(|&place| shared.line.foot(place).station));
    }
    if let Work::Swale(swale) = work {
        breaks.extend([swale.bed_axis.first(), swale.bed_axis.last()].map(|end| shared.line.foot(end).station));
        breaks.extend(swale.wanted.section_breaks());
        // A berm that turns uphill lies along a section: one stands at each edge of its crest and at each toe.
        let rise = (swale.crest.built - swale.water_level).in_metres();
        for (piece, axis) in swale.crest_axes.iter().enumerate() {
            breaks.extend(swale.crest_bends(piece).iter().map(|&bend| shared.line.foot(axis.at(bend)).station));
        }
        let seat = |station: f64| {
            let sizes = swale.wanted.sizes_at(Station::metres(station));
            let crest = sizes.crest.in_metres() / 2.0;
            [crest, crest + rise * sizes.berm_batter.in_horizontal_per_vertical()]
        };
        let beside = |s: &crate::works::Spillway| {
            let [from, to] = [s.from, s.to].map(Station::in_metres);
            [from - seat(from)[1], to + seat(to)[1]]
        };
        let turned: Vec<f64> =
            [0.0, shared.line.length()].into_iter().chain(swale.spillways.iter().flat_map(beside)).collect();
        breaks.extend(swale.crossings.iter().flat_map(|crossing| {
            let (at, half) = (crossing.wanted.at.in_metres(), crossing.wanted.width.in_metres() / 2.0);
            let side = half + rise * crossing.wanted.batter.in_horizontal_per_vertical();
            let [from, to] = [crossing.undug.0, crossing.undug.1].map(Station::in_metres);
            [from, at - side, at - half, at, at + half, at + side, to]
        }));
        breaks.extend(turned.iter().flat_map(|&at| {
            let [crest, seat] = seat(at);
            [at - seat, at - crest, at, at + crest, at + seat]
        }));
    }
    let (before, after) = (Locator::new(before), Locator::new(after));
    let between = |station: f64, ahead: Vector| {
        let (low, high) = outline.reach(station);
        let ends = [low, high].map(|offset| shared.line.at(station) + ahead.left() * offset);
        let section = Polyline::new(ends.to_vec())?;
        Some(Areas::between(&profile(&before, &section), &profile(&after, &section), low))
    };
    let stations = stations(shared.line, breaks, (outline.first, outline.last));
    let [cut, fill] = volumes(shared.line, &stations, &between)?;
    let volumes = |exact: f64, by: [f64; 3]| SectionVolumes {
        overlay_m3: exact,
        prismoidal_m3: by[0],
        of_it_curvature_m3: by[1],
        end_area_m3: by[2],
    };
    Some(ThreeWays {
        works: shared.name.to_owned(),
        sections: stations.len(),
        cut: dug_along.then(|| volumes(overlay.cut, cut)),
        fill: volumes(overlay.fill, fill),
    })
}

/// Told where another method is far off the overlay.
pub(super) fn differ_note(found: &ThreeWays) -> Option<Note> {
    let far = |value: f64, exact: f64| (value - exact).abs() > (MUCH * exact).max(LITTLE);
    let apart = found
        .cut
        .iter()
        .chain([&found.fill])
        .any(|by| [by.prismoidal_m3, by.end_area_m3].into_iter().any(|value| far(value, by.overlay_m3)));
    let say =
        |by: &SectionVolumes| format!("{:.1}, {:.1} and {:.1} m3", by.overlay_m3, by.prismoidal_m3, by.end_area_m3);
    apart.then(|| {
        let cut = found.cut.as_ref().map_or_else(String::new, |cut| format!("cut {}, ", say(cut)));
        let text = format!(
            "`{}` by exact overlay, prismoidal sections and average end areas: {cut}fill {}; the overlay is what counts (in bends tighter than the work is wide sections cross); the others are \
             what a quote may be reckoned by",
            found.works,
            say(&found.fill)
        );
        Note::new("earth::methods-differ", text)
    })
}

/// Where everything dug or filled lies along and beside a line.
struct Outline {
    /// Stations between which it lies; beyond the line's ends they count straight on.
    first: f64,
    last: f64,
    /// Station and offset of its places.
    places: Vec<(f64, f64)>,
}

impl Outline {
    fn of<'a>(line: &Polyline, regions: impl Iterator<Item = &'a Polygon>) -> Option<Self> {
        let rings = regions.flat_map(|region| std::iter::once(&region.outer).chain(&region.holes));
        let closed = rings.filter_map(|ring| Polyline::new(ring.iter().chain(ring.first()).copied().collect()));
        let places: Vec<(f64, f64)> = closed
            .flat_map(|ring| {
                ring.resampled(OUTLINE_STEP).points().iter().chain(ring.points()).copied().collect::<Vec<_>>()
            })
            .map(|place| {
                let foot = line.foot(place);
                for (end, sign) in [(0.0, -1.0), (line.length(), 1.0)] {
                    let (from, ahead) = (line.at(end), line.direction(end) * sign);
                    let beyond = (place - from).dot(ahead);
                    if foot.station == end && beyond > 0.0 {
                        return (end + sign * beyond, line.direction(end).cross(place - from));
                    }
                }
                (foot.station, foot.offset)
            })
            .collect();
        let first = places.iter().map(|place| place.0).reduce(f64::min)?;
        let last = places.iter().map(|place| place.0).reduce(f64::max)?;
        Some(Self { first, last, places })
    }

    /// Offsets between which a section holds everything near its station.
    fn reach(&self, station: f64) -> (f64, f64) {
        let near = self.places.iter().filter(|place| (place.0 - station).abs() <= STEP).map(|place| place.1);
        let (low, high) = near.fold((0.0_f64, 0.0_f64), |(low, high), offset| (low.min(offset), high.max(offset)));
        (low - BEYOND, high + BEYOND)
    }
}

/// Stations of sections: the breaks, and even steps between them, shorter in bends.
fn stations(line: &Polyline, mut breaks: Vec<f64>, (first, last): (f64, f64)) -> Vec<f64> {
    breaks.retain(|station| (first..=last).contains(station));
    breaks.sort_by(f64::total_cmp);
    breaks.dedup_by(|later, earlier| *later - *earlier < SAME);
    let turning = |from: f64, to: f64| -> f64 {
        let piece = line.between(from, to).filter(|piece| piece.points().len() > 2);
        piece.map_or(0.0, |piece| {
            piece.points().windows(3).map(|trio| turn(trio[1] - trio[0], trio[2] - trio[1]).abs()).sum()
        })
    };
    let mut all: Vec<f64> = breaks.first().copied().into_iter().collect();
    for pair in breaks.windows(2) {
        let length = pair[1] - pair[0];
        let steps = (length / STEP).max(turning(pair[0], pair[1]) / TURN).min(length / SAME).ceil().max(1.0);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of steps along a work")]
        let count = steps as u32;
        all.extend((1..=count).map(|i| pair[0] + length * f64::from(i) / steps));
    }
    all
}

/// The turn from one direction to another, radians, positive to the left.
fn turn(from: Vector, to: Vector) -> f64 {
    from.cross(to).atan2(from.dot(to))
}

/// Cut and fill over sections: by the prismoidal formula with curvature, how much of that is curvature, and by average end
/// areas.
fn volumes(line: &Polyline, stations: &[f64], section: &dyn Fn(f64, Vector) -> Option<Areas>) -> Option<[[f64; 3]; 2]> {
    let ahead = |station: f64| (line.at(station + ALONG) - line.at(station - ALONG)).unit();
    let ends: Vec<Areas> = stations.iter().map(|&station| section(station, ahead(station))).collect::<Option<_>>()?;
    let mut sums = [[CompensatedSum::default(); 3]; 2];
    for (pair, areas) in stations.windows(2).zip(ends.windows(2)) {
        let length = pair[1] - pair[0];
        let [from, to] = [pair[0], pair[1]].map(ahead);
        // Evenly turned from the one to the other, so that the formula holds for the turn as for the length.
        let middle = section(f64::midpoint(pair[0], pair[1]), (from + to).unit())?;
        // To the left, where offsets are positive, a bend to the left is short.
        let turn = turn(from, to);
        let trio = [areas[0], middle, areas[1]];
        for (sums, part) in sums.iter_mut().zip([trio.map(|a| a.cut), trio.map(|a| a.fill)]) {
            let curvature = -prismoidal(turn, part[0].moment, part[1].moment, part[2].moment);
            sums[0].add(prismoidal(length, part[0].area, part[1].area, part[2].area) + curvature);
            sums[1].add(curvature);
            sums[2].add(end_area(length, part[0].area, part[2].area));
        }
    }
    Some(sums.map(|sums| sums.map(CompensatedSum::total)))
}

/// An area of a section and its moment about the line, square and cubic metres.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Moments {
    area: f64,
    moment: f64,
}

/// Cut and fill of one section.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Areas {
    cut: Moments,
    fill: Moments,
}

impl Areas {
    /// Between two profiles along one section, which begins at an offset from the line.
    fn between(before: &[ProfilePoint], after: &[ProfilePoint], start: f64) -> Self {
        let mut stations: Vec<f64> = before.iter().chain(after).map(|point| point.station).collect();
        stations.sort_by(f64::total_cmp);
        stations.dedup();
        let mut sums = [CompensatedSum::default(); 4];
        for pair in stations.windows(2) {
            let (Some(from), Some(to)) = (over(before, pair[0], pair[1]), over(after, pair[0], pair[1])) else {
                continue;
            };
            let [below, above] = parts(start + pair[0], pair[1] - pair[0], to.0 - from.0, to.1 - from.1);
            for (sum, value) in sums.iter_mut().zip([below.area, below.moment, above.area, above.moment]) {
                sum.add(value);
            }
        }
        let [cut, cut_moment, fill, fill_moment] = sums.map(CompensatedSum::total);
        Self { cut: Moments { area: cut, moment: cut_moment }, fill: Moments { area: fill, moment: fill_moment } }
    }
}

/// Elevations at both ends of a piece that lies between two neighbouring points of the profile; `None` where there is
/// no surface.
fn over(profile: &[ProfilePoint], start: f64, end: f64) -> Option<(f64, f64)> {
    let after = profile.partition_point(|point| point.station <= start);
    let (a, b) = (profile.get(after.checked_sub(1)?)?, profile.get(after)?);
    let (za, zb) = (a.elevation?, b.elevation?);
    let at = |station: f64| za + (zb - za) * (station - a.station) / (b.station - a.station);
    Some((at(start), at(end)))
}

/// Under and over zero of a difference that runs straight from `first` to `last` along `length`, beginning at an offset.
fn parts(offset: f64, length: f64, first: f64, last: f64) -> [Moments; 2] {
    // A straight piece of one sign: its area, and its moment by Simpson's rule, exact for a parabola.
    let piece = |offset: f64, length: f64, first: f64, last: f64| {
        let middle = f64::midpoint(first, last);
        let by = |share: f64, height: f64| (offset + share * length) * height.abs();
        Moments {
            area: length * middle.abs(),
            moment: prismoidal(length, by(0.0, first), by(0.5, middle), by(1.0, last)),
        }
    };
    if first * last >= 0.0 {
        let whole = piece(offset, length, first, last);
        return if first + last < 0.0 { [whole, Moments::default()] } else { [Moments::default(), whole] };
    }
    let share = first / (first - last);
    let head = piece(offset, length * share, first, 0.0);
    let tail = piece(offset + length * share, length * (1.0 - share), 0.0, last);
    if first < 0.0 { [head, tail] } else { [tail, head] }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Point;
    use crate::surface::cut_and_fill;
    use std::f64::consts::FRAC_PI_2;

    fn areas([below, above]: [Moments; 2]) -> (f64, f64) {
        (below.area, above.area)
    }

    #[test]
    fn a_piece_that_crosses_zero_has_both_parts() {
        assert_eq!(areas(parts(0.0, 3.0, 1.0, -2.0)), (2.0, 0.5));
        assert_eq!(areas(parts(0.0, 3.0, -2.0, 1.0)), (2.0, 0.5));
        assert_eq!(areas(parts(0.0, 2.0, 0.0, 1.0)), (0.0, 1.0));
        assert_eq!(areas(parts(0.0, 2.0, -1.0, -1.0)), (2.0, 0.0));
        // Centroids of triangles lie a third from the upright side.
        let [below, above] = parts(7.0, 3.0, 1.0, -2.0);
        assert!((above.moment - 0.5 * (7.0 + 1.0 / 3.0)).abs() < 1e-12);
        assert!((below.moment - 2.0 * (10.0 - 2.0 / 3.0)).abs() < 1e-12);
    }

    #[test]
    fn no_area_where_one_surface_is_missing() {
        let point = |station: f64, elevation| ProfilePoint { station, place: Point::new(station, 0.0), elevation };
        let flat = [point(0.0, Some(10.0)), point(10.0, Some(10.0))];
        let gap = [
            point(0.0, Some(9.0)),
            point(4.0, Some(9.0)),
            point(5.0, None),
            point(6.0, Some(12.0)),
            point(10.0, Some(12.0)),
        ];
        let found = Areas::between(&flat, &gap, 0.0);
        assert_eq!((found.cut.area, found.fill.area), (4.0, 8.0));
        assert_eq!((found.cut.moment, found.fill.moment), (8.0, 64.0));
    }

    /// A right triangle 3 m wide and 1 m deep outside a line of radius 50 m, its deep side on the line, through a quarter
    /// circle of `steps` facets: the line, the flat ground and the cut.
    fn bend(steps: u32) -> (Polyline, Tin, Tin) {
        let radii = [44.0, 50.0 - 1e-5, 50.0, 53.0, 60.0];
        let angles = || (0..=steps).map(|k| FRAC_PI_2 * f64::from(k) / f64::from(steps));
        let place = |radius: f64, angle: f64| Point::new(radius * angle.cos(), radius * angle.sin());
        let ring = |levels: [f64; 5]| {
            let at = |angle: f64| radii.into_iter().zip(levels).map(move |(r, z)| place(r, angle).at(z));
            let quads = (0..steps).flat_map(|k| (0..4).map(move |i| 5 * k + i));
            let triangles = quads.flat_map(|a| [[a, a + 1, a + 6], [a, a + 6, a + 5]]).collect();
            Tin::from_triangles(angles().flat_map(at).collect(), triangles).unwrap()
        };
        let line = Polyline::new(angles().map(|angle| place(50.0, angle)).collect()).unwrap();
        (line, ring([10.0; 5]), ring([10.0, 10.0, 9.0, 10.0, 10.0]))
    }

    /// 1.5 m2 with its centroid 1 m outside the line: 1.5 x 51 x pi / 2 = 120.16592 m3 by Pappus, and 117.80972 without
    /// curvature.
    #[test]
    fn a_curved_cut_is_that_of_pappus() {
        let (line, before, after) = bend(720);
        let (from, to) = (Locator::new(&before), Locator::new(&after));
        let section = |station: f64, ahead: Vector| {
            let ends = [-9.0, 5.0].map(|offset| line.at(station) + ahead.left() * offset);
            let across = Polyline::new(ends.to_vec())?;
            Some(Areas::between(&profile(&from, &across), &profile(&to, &across), -9.0))
        };
        // Clear of the ends, where the line stops turning: seven ninths of the bend.
        let (first, last) = (line.length() / 9.0, line.length() * 8.0 / 9.0);
        let stations = stations(&line, vec![first, last], (first, last));
        let [[prismoidal, curvature, end_area], fill] = volumes(&line, &stations, &section).unwrap();
        let close = |found: f64, closed: f64| assert!((found / closed - 1.0).abs() < 1e-4, "{found} {closed}");
        close(cut_and_fill(&before, &after, None).cut, 120.16592);
        close(prismoidal, 120.16592 * 7.0 / 9.0);
        close(end_area, 117.80972 * 7.0 / 9.0);
        close(curvature, (120.16592 - 117.80972) * 7.0 / 9.0);
        assert!(fill.into_iter().all(|value| value.abs() < 1e-9));
    }
}
