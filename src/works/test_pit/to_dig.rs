//! Where test pits are still wanted, and how deep: few pits from which all that nobody has seen yet could be proven.
//!
//! Invariant: together they have within their reach every place of a work that no pit speaks for, each as deep as the deepest dig
//! there. Again and again the first place that is left is taken, and within reach of it the pit that proves most of what is left: along a
//! straight line no fewer would do.

use super::pit::TestPit;
use crate::geom::Point;
use crate::units::{Length, Station};
use crate::works::Kind;

/// Share of a pit's reach that is counted on: nobody digs just where the list says. A choice of this program.
const COUNTED_ON: f64 = 0.9;
/// A pit that would prove no more than this share of any part is left to its neighbours, if all of it lies in their whole reach.
const LITTLE: f64 = 0.05;
/// Pits are dug to a tenth of a metre.
const TO: f64 = 0.1;
/// Places of a part at which a pit is tried, about.
const TRIED: usize = 200;
/// Shares that differ by less are alike, and the first place is taken.
const ALIKE: f64 = 1e-9;

/// A test pit to dig.
#[derive(Debug, Clone, PartialEq)]
pub struct PitToDig {
    /// A short name that no test pit of the site has.
    pub name: String,
    /// The work in whose line or dig it stands.
    pub works: String,
    /// Which part of that.
    pub part: &'static str,
    /// Where along the work's line.
    pub station: Station,
    /// That place.
    pub place: Point,
    /// How deep the works go within its reach, to the next tenth of a metre.
    pub depth: Length,
    /// What it would prove: work, part, and the share of that part that no pit before it on the list does.
    pub proves: Vec<(String, &'static str, f64)>,
    /// It stands under a wall, or in a floor that holds water: it is filled again in rolled layers.
    pub put_back: bool,
}

/// A place of a work that no test pit speaks for.
#[derive(Debug, Clone)]
pub(super) struct Unseen<'a> {
    pub works: &'a str,
    pub kind: Kind,
    pub part: &'static str,
    pub place: Point,
    pub station: f64,
    /// How deep the work goes there, metres.
    pub depth: f64,
    /// Share of its part that it stands for.
    pub share: f64,
}

/// The pits that prove what is unseen; those of `dug` keep their names for themselves.
pub(super) fn to_dig(unseen: &[Unseen<'_>], dug: &[TestPit], reach: Length) -> Vec<PitToDig> {
    let mut names = (1..).map(|k| format!("T{k}")).filter(|name| dug.iter().all(|pit| pit.name != *name));
    let pits = without_little_ones(unseen, cover(unseen, COUNTED_ON * reach.in_metres()), reach.in_metres());
    let one = |(at, shown): (usize, Vec<usize>)| {
        let deepest = shown.iter().map(|&j| unseen[j].depth).fold(0.0, f64::max);
        let (proves, at) = (shares(unseen, &shown), &unseen[at]);
        PitToDig {
            name: names.next().unwrap_or_default(),
            works: at.works.to_owned(),
            part: at.part,
            station: Station::metres(at.station),
            place: at.place,
            depth: Length::metres((deepest / TO - 1e-6).ceil() * TO),
            proves: proves.into_iter().map(|(works, part, share)| (works.to_owned(), part, share)).collect(),
            put_back: matches!(at.kind, Kind::Dam | Kind::Pond),
        }
    };
    pits.into_iter().map(one).collect()
}

/// Where a pit is dug, and which places it speaks for, as indices of what is unseen.
type Dug = (usize, Vec<usize>);

fn cover(unseen: &[Unseen<'_>], reach: f64) -> Vec<Dug> {
    let mut tried: Vec<usize> = Vec::new();
    let mut from = 0;
    for part in unseen.chunk_by(|a, b| (a.works, a.part) == (b.works, b.part)) {
        tried.extend((from..from + part.len()).step_by(part.len().div_ceil(TRIED).max(1)));
        from += part.len();
    }
    let within = |a: usize, b: usize| unseen[a].place.distance(unseen[b].place) <= reach;
    let mut open = vec![true; unseen.len()];
    let mut found = Vec::new();
    while let Some(next) = open.iter().position(|&open| open) {
        let shown = |k: usize| -> Vec<usize> { (0..unseen.len()).filter(|&j| open[j] && within(k, j)).collect() };
        let mut best = (next, 0.0);
        for k in tried.iter().copied().filter(|&k| within(k, next)) {
            let share: f64 = shown(k).into_iter().map(|j| unseen[j].share).sum();
            if share > best.1 + ALIKE {
                best = (k, share);
            }
        }
        let shown = shown(best.0);
        shown.iter().for_each(|&j| open[j] = false);
        found.push((best.0, shown));
    }
    found
}

/// A corner or two that a wide dig leaves over is no reason for a hole of its own.
fn without_little_ones(unseen: &[Unseen<'_>], mut pits: Vec<Dug>, reach: f64) -> Vec<Dug> {
    let mut k = 0;
    while k < pits.len() {
        let far = |other: usize, j: usize| unseen[pits[other].0].place.distance(unseen[j].place);
        let nearest = |j: usize| {
            let others = (0..pits.len()).filter(|&other| other != k && far(other, j) <= reach);
            others.min_by(|&a, &b| far(a, j).total_cmp(&far(b, j)))
        };
        let little = shares(unseen, &pits[k].1).iter().all(|(_, _, share)| *share < LITTLE);
        let moved: Option<Vec<(usize, usize)>> =
            if little { pits[k].1.iter().map(|&j| Some((nearest(j)?, j))).collect() } else { None };
        match moved {
            Some(moved) => {
                moved.into_iter().for_each(|(other, j)| pits[other].1.push(j));
                pits.remove(k);
            }
            None => k += 1,
        }
    }
    pits
}

/// Work, part and share of it that some places stand for.
fn shares<'a>(unseen: &[Unseen<'a>], places: &[usize]) -> Vec<(&'a str, &'static str, f64)> {
    let mut found: Vec<(&str, &'static str, f64)> = Vec::new();
    for place in places.iter().map(|&j| &unseen[j]) {
        match found.iter_mut().find(|(works, part, _)| *works == place.works && *part == place.part) {
            Some(known) => known.2 += place.share,
            None => found.push((place.works, place.part, place.share)),
        }
    }
    found
}
