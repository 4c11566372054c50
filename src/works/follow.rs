//! A crest that follows the local cut: high where the ditch gives much, low where it gives little, so that earth is moved across
//! the berm and not along it.
//!
//! Method: cut and fill of exact surfaces in strips across the line. Heights stand at even stations; each is raised by what its
//! stretch has left over its seat, all are lowered by one amount so that the whole still balances (as water finds its level over
//! the least crest), and the berm is raised and measured anew. What is moved along the line is the area under the mass-haul
//! curve: the sum over strips of what has passed so far times the strip's length. A trial that moves more than the best so far
//! is not taken.

use super::WorksError;
use super::along::{Along, CrestLine};
use super::balance::{CREST_STEP, Raised, round_down, short_on};
use super::layout::wing_half_width;
use super::plan::Haul;
use crate::geom::{Polygon, Polyline};
use crate::surface::{Tin, cut_and_fill};

/// Length of a strip, metres.
const STRIP: f64 = 2.5;
/// How far strips reach beyond channel and berm, and at the two ends beyond the line and to its sides, metres.
const BESIDE: f64 = 3.0;
const END: f64 = 100.0;
/// A crest stands nowhere higher than this above its least, metres; common practice, no source.
const MOST: f64 = 0.5;
/// Berms raised at most.
const TRIALS: usize = 5;

/// What a crest is to follow.
#[derive(Debug, Clone, Copy)]
pub(super) struct Site<'a> {
    pub line: &'a Polyline,
    pub along: Along<'a>,
    /// Stations between which there is bed.
    pub bed: (f64, f64),
    pub before: &'a Tin,
    /// With channel, sills and exits.
    pub dug: &'a Tin,
    /// What those give, in the bank.
    pub bank: f64,
    /// The least crest above the water level.
    pub required: f64,
}

/// What one strip across the line gives and takes, bank cubic metres, and the berm's seat in it.
#[derive(Debug, Clone, Copy, Default)]
struct Strip {
    middle: f64,
    length: f64,
    gives: f64,
    takes: f64,
    seat: f64,
}

/// Lets the crest follow the cut over a length, from a berm with one crest that balances; and what that saves.
pub(super) fn cut(
    site: &Site<'_>,
    raise: &dyn Fn(&CrestLine) -> Result<Raised, WorksError>,
    level: Raised,
    over: f64,
) -> Result<(Raised, Haul), WorksError> {
    let wanted = site.along.wanted;
    let placed = wanted.soil.placed_per_bank;
    let regions = regions(site, level.crest.least());
    let stripped = site.before.raised_by(-wanted.topsoil.in_metres());
    let gives: Vec<f64> = regions.iter().map(|region| cut_and_fill(&stripped, site.dug, Some(&region.2)).cut).collect();
    let measured = |raised: &Raised| -> Vec<Strip> {
        let strips = regions.iter().zip(&gives);
        strips.map(|((from, to, region), &gives)| site.strip((*from, *to), region, gives, raised)).collect()
    };
    let stations = even(site.bed, over);
    let line = |heights: &[f64]| CrestLine::through(stations.iter().copied().zip(heights.iter().copied()).collect());
    let short = |raised: &Raised| short_on(site.dug, raised, wanted.earth(), site.bank).0 * placed;
    let strips = measured(&level);
    let first = haul(&strips);
    let start = vec![level.crest.least(); stations.len()];
    let mut heights = site.heights(&stations, &start, &strips, short(&level));
    let mut best: Option<(f64, Vec<f64>)> = None;
    for _ in 0..TRIALS {
        let raised = raise(&line(&heights))?;
        let strips = measured(&raised);
        let moved = haul(&strips);
        if moved < best.as_ref().map_or(first, |best| best.0) {
            best = Some((moved, heights.clone()));
        }
        let next = site.heights(&stations, &heights, &strips, short(&raised));
        if next.iter().zip(&heights).all(|(a, b)| (a - b).abs() < CREST_STEP / 2.0) {
            break;
        }
        heights = next;
    }
    let Some((_, mut heights)) = best else { return Ok((level, Haul { level: first, following: first })) };
    // All lowered or raised together until the whole balances.
    let mut raised = raise(&line(&heights))?;
    for _ in 0..TRIALS {
        let (short, seat) = (short(&raised), site.shared(&stations, &measured(&raised)).1);
        let next = site.balanced(&heights, &heights, &seat, short);
        if next.iter().zip(&heights).all(|(a, b)| (a - b).abs() < CREST_STEP / 2.0) {
            break;
        }
        heights = next;
        raised = raise(&line(&heights))?;
    }
    let following = haul(&measured(&raised));
    if following >= first {
        return Ok((level, Haul { level: first, following: first }));
    }
    Ok((raised, Haul { level: first, following }))
}

/// What is moved along the line, bank cubic metres times metres; what is left over or short in all counts as spread evenly.
fn haul(strips: &[Strip]) -> f64 {
    let length: f64 = strips.iter().map(|strip| strip.length).sum();
    let left: f64 = strips.iter().map(|strip| strip.gives - strip.takes).sum();
    let (mut passed, mut moved) = (0.0_f64, 0.0);
    for strip in strips {
        let after = passed + strip.gives - strip.takes - left * strip.length / length;
        // Under a straight piece of the curve, which may cross nothing.
        moved += if passed * after >= 0.0 {
            f64::midpoint(passed.abs(), after.abs())
        } else {
            (passed * passed + after * after) / (2.0 * (passed.abs() + after.abs()))
        } * strip.length;
        passed = after;
    }
    moved
}

/// Stations from one end of the bed to the other, no farther apart than a length.
fn even((from, to): (f64, f64), over: f64) -> Vec<f64> {
    let count = ((to - from) / over).ceil().max(1.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of steps along a line")]
    let steps = count as u32;
    (0..=steps).map(|k| from + (to - from) * f64::from(k) / count).collect()
}

/// Strips across the line, with the stations between which each lies.
fn regions(site: &Site<'_>, crest: f64) -> Vec<(f64, f64, Polygon)> {
    // Beyond the ends of the bed there is berm only, most of it turned uphill at the ends of the line: a strip that held some of
    // both would hide what goes there from the bed.
    let turned = |station: f64| wing_half_width(&site.along.sizes(station), crest + MOST);
    let before = even((-turned(0.0), site.bed.0), STRIP);
    let after = even((site.bed.1, site.line.length() + turned(site.line.length())), STRIP);
    let mut ends: Vec<f64> = before.into_iter().chain(even(site.bed, STRIP)).chain(after).collect();
    ends.dedup();
    let wanted = site.along.wanted;
    let breadth = wanted.spillways.iter().map(|spillway| 2.0 * spillway.sill_breadth.in_metres()).fold(0.0, f64::max);
    let reach = |station: f64| {
        let (channel, berm) = (site.along.channel(station), site.along.berm(station, crest + MOST));
        [channel.top + breadth + BESIDE, berm.toe - BESIDE]
    };
    let last = ends.len() - 2;
    let one = |(i, pair): (usize, &[f64])| {
        let (from, to) = (pair[0], pair[1]);
        let outside = i == 0 || i == last;
        let [up, down] = if outside { [END, -END] } else { reach(f64::midpoint(from, to)) };
        let along = [if i == 0 { from - END } else { from }, if i == last { to + END } else { to }];
        let corners = [(along[0], up), (along[0], down), (along[1], down), (along[1], up)];
        let ring = corners.map(|(station, offset)| site.line.at_offset(station, offset)).to_vec();
        (from, to, Polygon::simple(ring))
    };
    ends.windows(2).enumerate().map(one).collect()
}

impl Site<'_> {
    fn strip(&self, (from, to): (f64, f64), region: &Polygon, gives: f64, raised: &Raised) -> Strip {
        let wanted = self.along.wanted;
        let volumes = cut_and_fill(self.dug, &raised.tin, Some(region));
        let placed = volumes.fill + wanted.topsoil.in_metres() * volumes.fill_area;
        Strip {
            middle: f64::midpoint(from, to),
            length: to - from,
            gives,
            takes: placed / wanted.soil.placed_per_bank,
            seat: volumes.fill_area,
        }
    }

    /// What is missing about each station, placed cubic metres, and the seat about it.
    fn shared(&self, stations: &[f64], strips: &[Strip]) -> (Vec<f64>, Vec<f64>) {
        let placed = self.along.wanted.soil.placed_per_bank;
        let (mut missing, mut seats) = (vec![0.0; stations.len()], vec![0.0; stations.len()]);
        for strip in strips {
            // Shared between the two stations beside it.
            let after = stations.partition_point(|&station| station < strip.middle).clamp(1, stations.len() - 1);
            let (from, to) = (stations[after - 1], stations[after]);
            let share = ((strip.middle - from) / (to - from)).clamp(0.0, 1.0);
            for (k, share) in [(after - 1, 1.0 - share), (after, share)] {
                missing[k] += share * (strip.takes - strip.gives) * placed;
                seats[k] += share * strip.seat;
            }
        }
        (missing, seats)
    }

    /// The next heights: each stretch takes what it gives, and all together what there is; `short` placed cubic metres are
    /// missing in all at the heights so far.
    fn heights(&self, stations: &[f64], heights: &[f64], strips: &[Strip], short: f64) -> Vec<f64> {
        let (missing, seats) = self.shared(stations, strips);
        let free: Vec<f64> = (0..stations.len()).map(|k| heights[k] - missing[k] / seats[k].max(1.0)).collect();
        self.balanced(&free, heights, &seats, short)
    }

    /// Heights lowered or raised by one amount, within the bounds of a crest, so that what is missing at the heights `now` is
    /// made up.
    fn balanced(&self, free: &[f64], now: &[f64], seats: &[f64], short: f64) -> Vec<f64> {
        let held = |height: f64, lower: f64| (height - lower).clamp(self.required, self.required + MOST);
        let over = |lower: f64| -> f64 {
            let rises = free.iter().zip(now).zip(seats);
            rises.map(|((&free, &now), seat)| seat * (held(free, lower) - now)).sum::<f64>() + short
        };
        let (mut low, mut high) = (-3.0, 3.0);
        for _ in 0..50 {
            let middle = f64::midpoint(low, high);
            if over(middle) > 0.0 { low = middle } else { high = middle }
        }
        free.iter().map(|&free| round_down(held(free, high)).max(self.required)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ten cubic metres dug in the first of three strips of 5 m and placed in the last: from the middle of the first to that of
    /// the last it goes 10 m.
    #[test]
    fn what_is_moved_is_volume_times_distance() {
        let strip = |gives: f64, takes: f64| Strip { length: 5.0, gives, takes, ..Strip::default() };
        assert!((haul(&[strip(10.0, 0.0), strip(0.0, 0.0), strip(0.0, 10.0)]) - 100.0).abs() < 1e-9);
        // Both ways: 10 m3 over 5 m each, from the middle outwards.
        assert!((haul(&[strip(0.0, 10.0), strip(20.0, 0.0), strip(0.0, 10.0)]) - 2.0 * 10.0 * 3.75).abs() < 1e-9);
        assert_eq!(haul(&[strip(4.0, 4.0), strip(7.0, 7.0)]), 0.0);
        assert!(haul(&[strip(4.0, 2.0), strip(4.0, 2.0)]).abs() < 1e-12, "left over evenly");
    }
}
