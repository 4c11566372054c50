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
    let reach = COUNTED_ON * reach.in_metres();
    let mut tried: Vec<usize> = Vec::new();
    let mut from = 0;
    for part in unseen.chunk_by(|a, b| (a.works, a.part) == (b.works, b.part)) {
        tried.extend((from..from + part.len()).step_by(part.len().div_ceil(TRIED).max(1)));
        from += part.len();
    }
    let within = |a: usize, b: usize| unseen[a].place.distance(unseen[b].place) <= reach;
    let mut open = vec![true; unseen.len()];
    let mut names = (1..).map(|k| format!("T{k}")).filter(|name| dug.iter().all(|pit| pit.name != *name));
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
        let at = &unseen[best.0];
        let shown = shown(best.0);
        let mut proves: Vec<(String, &'static str, f64)> = Vec::new();
        for place in shown.iter().map(|&j| &unseen[j]) {
            match proves.iter_mut().find(|(works, part, _)| works == place.works && *part == place.part) {
                Some(known) => known.2 += place.share,
                None => proves.push((place.works.to_owned(), place.part, place.share)),
            }
        }
        let deepest = shown.iter().map(|&j| unseen[j].depth).fold(0.0, f64::max);
        found.push(PitToDig {
            name: names.next().unwrap_or_default(),
            works: at.works.to_owned(),
            part: at.part,
            station: Station::metres(at.station),
            place: at.place,
            depth: Length::metres((deepest / TO - 1e-6).ceil() * TO),
            proves,
            put_back: matches!(at.kind, Kind::Dam | Kind::Pond),
        });
        shown.into_iter().for_each(|j| open[j] = false);
    }
    found
}
