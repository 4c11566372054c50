//! A vehicle crossing of a swale: a level top at built crest elevation over channel and berm, and a ramp down to natural ground
//! at both ends.
//!
//! Invariant: the channel is not dug under it. Natural ground and the fill on it part the swale into pools at one level;
//! each needs a sill of its own, and one without is told with the place where it would spill.

use super::WorksError;
use super::along::Along;
use super::apply::{Laid, Owner, lay};
use super::layout::{Base, Sill, wing_half_width};
use super::plan::{Crossing, Storage, SwalePool};
use super::section;
use super::strip::{Profile, Sense};
use super::wanted::{CrossingWanted, Entry};
use crate::geom::{Point, Point3, Polyline};
use crate::surface::{Locator, Tin, cut_and_fill, standing_to};
use crate::units::{Area, Elevation, Station, Volume};

/// Steps in which the foot of a ramp is looked for, and how far, metres.
const STEP: f64 = 0.5;
const FARTHEST: f64 = 100.0;
/// A ramp is carried on until it lies this far under natural ground, metres.
const UNDER: f64 = 0.3;
/// Least bed on either side of a crossing, metres.
const LEAST_BED: f64 = 2.0;
/// A pool spills at its sill when the lowest way out is within this of it, metres.
pub(super) const AT_SILL: f64 = 0.005;

/// Where no bed is dug, by station.
pub(super) type Gap = (f64, f64);

/// The stretches without a bed at crossings, in order; refused where one leaves no bed beside it or meets a sill.
pub(super) fn gaps(
    along: Along<'_>,
    sills: &[Sill],
    crest_above_water: f64,
    bed: (f64, f64),
) -> Result<Vec<Gap>, WorksError> {
    let wanted = along.wanted;
    let mut gaps: Vec<Gap> = Vec::new();
    for (k, crossing) in wanted.crossings.iter().enumerate() {
        let entry = Entry::Crossing(k);
        section::meets(
            wanted.ditch(),
            (entry, "crossing's ramp"),
            crossing.ramp.in_horizontal_per_vertical(),
            along.fall.abs(),
        )?;
        let station = crossing.at.in_metres();
        let side = crossing.batter.in_horizontal_per_vertical() * crest_above_water;
        // A bed ends in a half round as wide as itself, and its sides beyond that.
        let round = along.sizes(station).bed_width(&wanted.shape).in_metres() / 2.0 + along.channel(station).end;
        let half = crossing.width.in_metres() / 2.0 + side + wanted.ledge.in_metres() + round;
        let (from, to) = (station - half, station + half);
        let free = gaps.last().map_or(bed.0, |before| before.1);
        let meets = |sill: &&Sill| {
            let wing = 2.0 * wing_half_width(&along.sizes(sill.from), crest_above_water);
            from < sill.to + wing && to > sill.from - wing
        };
        let why = if from < free + LEAST_BED || to > bed.1 - LEAST_BED {
            format!("it wants {LEAST_BED} m of bed on either side, and the bed runs from {free:.1} to {:.1} m", bed.1)
        } else if let Some(sill) = sills.iter().find(meets) {
            format!("a sill stands from {:.1} to {:.1} m with the ends of the berm beside it", sill.from, sill.to)
        } else {
            gaps.push((from, to));
            continue;
        };
        return Err(WorksError::PartDoesNotFit {
            swale: wanted.name.clone(),
            entry,
            what: "no crossing can stand",
            from,
            to,
            why,
        });
    }
    Ok(gaps)
}

/// The stretches of bed between gaps.
pub(super) fn pieces(bed: (f64, f64), gaps: &[Gap]) -> Vec<Gap> {
    let starts = std::iter::once(bed.0).chain(gaps.iter().map(|gap| gap.1));
    let ends = gaps.iter().map(|gap| gap.0).chain([bed.1]);
    starts.zip(ends).collect()
}

/// The middle of a crossing from uphill to downhill, with the level at each place: foot, top, top, foot.
pub(super) fn axis(
    base: Base<'_>,
    wanted: &CrossingWanted,
    crest_above_water: f64,
    water: f64,
) -> Result<(Polyline, Vec<f64>), WorksError> {
    let Base { line, natural, along, .. } = base;
    let station = wanted.at.in_metres();
    let (crest, ramp) = (water + crest_above_water, wanted.ramp.in_horizontal_per_vertical());
    let berm = along.berm(station, crest_above_water);
    let top = [along.channel(station).top, berm.crest - along.sizes(station).crest.in_metres() / 2.0];
    let foot = |from: f64, way: f64| {
        let mut gone = STEP;
        loop {
            let level = crest - gone / ramp;
            match natural.elevation(line.at_offset(station, from + way * gone)) {
                Some(ground) if level > ground - UNDER && gone < FARTHEST => gone += STEP,
                // Off the survey the surface itself says that it ends.
                _ => return (from + way * gone, level),
            }
        }
    };
    let (uphill, downhill) = (foot(top[0], 1.0), foot(top[1], -1.0));
    let offsets = [uphill.0, top[0], top[1], downhill.0];
    let points = offsets.map(|offset| line.at_offset(station, offset)).to_vec();
    let axis = Polyline::new(points).filter(|axis| axis.points().len() == offsets.len());
    let levels = vec![uphill.1, crest, crest, downhill.1];
    let number = || base.wanted.crossings.iter().position(|other| other == wanted).unwrap_or_default();
    axis.map(|axis| (axis, levels)).ok_or_else(|| WorksError::PartDoesNotFit {
        swale: base.wanted.name.clone(),
        entry: Entry::Crossing(number()),
        what: "no crossing can stand",
        from: station,
        to: station,
        why: "it has no length across".to_owned(),
    })
}

/// Raises a crossing.
pub(super) fn raise(
    surface: &Tin,
    wanted: &CrossingWanted,
    (axis, levels): (&Polyline, &[f64]),
    height: f64,
    owner: Owner<'_>,
) -> Result<Laid, WorksError> {
    let batter = wanted.batter.in_horizontal_per_vertical();
    let half = wanted.width.in_metres() / 2.0;
    let roof = Profile { rounded: false, ..Profile::even(Sense::Roof, half, batter, height * 1.3 + 1.0) };
    lay(surface, axis, levels, &roof, owner)
}

/// A crossing as it was raised, with what it takes beyond the berm.
pub(super) fn finish(
    wanted: &CrossingWanted,
    (axis, levels): (Polyline, Vec<f64>),
    gap: Gap,
    natural: &Locator<'_>,
    [before, after]: [&Tin; 2],
) -> Crossing {
    Crossing {
        wanted: *wanted,
        undug: (Station::metres(gap.0), Station::metres(gap.1)),
        feet: feet(&axis, &levels, natural),
        axis,
        levels,
        fill: Volume::cubic_metres(cut_and_fill(before, after, None).fill),
    }
}

/// The pools that crossings part a swale into, along the line; one without any.
pub(super) fn pools(
    after: &Tin,
    bed_axis: &Polyline,
    at: &[f64],
    pieces: &[Gap],
    sills: &[Sill],
    water: f64,
) -> Vec<SwalePool> {
    let one = |&(from, to): &Gap| {
        let stations = bed_axis.points().iter().zip(at);
        let seeds: Vec<Point> = stations.filter(|(_, s)| (from..=to).contains(s)).map(|(&place, _)| place).collect();
        let has_sill = sills.iter().any(|sill| (from..=to).contains(&f64::midpoint(sill.from, sill.to)));
        SwalePool {
            from: Station::metres(from),
            to: Station::metres(to),
            has_sill,
            storage: storage(after, &seeds, has_sill, water),
        }
    };
    pieces.iter().map(one).collect()
}

/// Water held below the lower of sill and true spill.
fn storage(after: &Tin, seeds: &[Point], has_sill: bool, water: f64) -> Storage {
    // A micrometre below, so that the sill itself, cut to exactly the water level, counts as dry.
    let held = standing_to(after, seeds, water - 1e-6);
    let spill_place = held.spill_place.map(Point3::plan).or_else(|| seeds.first().copied());
    let spill = if held.spill.is_finite() { held.spill } else { water };
    Storage {
        volume: Volume::cubic_metres(held.volume),
        area: Area::square_metres(held.area),
        spill: Elevation::metres(spill),
        spill_place: spill_place.unwrap_or(Point::new(0.0, 0.0)),
        at_sill: has_sill && (spill - water).abs() <= AT_SILL,
    }
}

/// All pools as one: what they hold together, and the lowest way out of any.
pub(super) fn together(pools: &[SwalePool], bed: Point, water: f64) -> Storage {
    let dry = Storage {
        volume: Volume::ZERO,
        area: Area::ZERO,
        spill: Elevation::metres(water),
        spill_place: bed,
        at_sill: false,
    };
    let lowest = pools.iter().min_by(|a, b| a.storage.spill.in_metres().total_cmp(&b.storage.spill.in_metres()));
    Storage {
        volume: pools.iter().map(|pool| pool.storage.volume).sum(),
        area: pools.iter().map(|pool| pool.storage.area).sum(),
        ..lowest.map_or(dry, |pool| pool.storage)
    }
}

/// The places at which a ramp's middle comes out of natural ground, uphill and downhill.
fn feet(axis: &Polyline, levels: &[f64], natural: &Locator<'_>) -> Vec<Point> {
    let points = axis.points();
    [(points[1], points[0]), (points[2], points[3])]
        .into_iter()
        .filter_map(|(top, end)| {
            let above = |share: f64| {
                let place = top.towards(end, share);
                Some(axis.interpolated(levels, axis.foot(place).station) - natural.elevation(place)?)
            };
            let (mut low, mut high) = (0.0, 1.0);
            for _ in 0..40 {
                let middle = f64::midpoint(low, high);
                if above(middle)? > 0.0 { low = middle } else { high = middle }
            }
            Some(top.towards(end, low))
        })
        .collect()
}

impl Crossing {
    /// Corners of its level top: uphill left and right, downhill left and right, seen uphill.
    #[must_use]
    pub fn corners(&self) -> [Point; 4] {
        let points = self.axis.points();
        let aside = (points[2] - points[1]).unit().left() * (self.wanted.width.in_metres() / 2.0);
        [points[1] + aside, points[1] + aside * -1.0, points[2] + aside, points[2] + aside * -1.0]
    }

    /// The level of its top.
    #[must_use]
    pub fn level(&self) -> Elevation {
        Elevation::metres(self.levels[1])
    }

    /// The middle of its level top, from uphill to downhill.
    #[must_use]
    pub fn top(&self) -> [Point; 2] {
        [self.axis.points()[1], self.axis.points()[2]]
    }
}
