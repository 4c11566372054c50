//! Where a reservoir lets its water out beside its spillway before the settled crest is reached.
//!
//! Invariant: looked for on the final surface with every wall settled, so that a saddle which a later work closes is none and
//! one which a later dig opens is told.

use super::Dam;
use crate::geom::{Point, Polygon};
use crate::ground::Ground;
use crate::notes::Note;
use crate::surface::{Tin, ways_out};
use crate::units::Elevation;
use crate::works::distance;
use crate::works::line::at;

/// A way out this much under the crest is told, metres.
const AT_CREST: f64 = 0.005;
/// A place so near to the outline of a cut is in it, metres.
const ON_EDGE: f64 = 0.01;

/// A way out of a reservoir beside its spillway, below its crest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WayOut {
    /// The level at which water leaves there.
    pub level: Elevation,
    /// Where.
    pub place: Point,
    /// True where the survey ends there, and with it what is known.
    pub at_survey_edge: bool,
}

/// The ways out below the settled crest on a surface, but for the sill's own cut.
pub(super) fn beside_spillway(dam: &Dam, surface: &Tin) -> Vec<WayOut> {
    let cuts: Vec<&Polygon> =
        dam.spillways.iter().filter_map(|spillway| spillway.outlet.as_ref()).flat_map(|cut| &cut.footprint).collect();
    let in_cut = |place: Point| cuts.iter().any(|&cut| distance(cut, place) <= ON_EDGE);
    let below = dam.crest.settled_required().in_metres() - AT_CREST;
    let ways = ways_out(surface, &dam.seeds, below, &|a, b| in_cut(a) && in_cut(b));
    let told = |way: &crate::surface::WayOut| WayOut {
        level: Elevation::metres(way.level),
        place: way.place.plan(),
        at_survey_edge: way.at_rim,
    };
    ways.iter().map(told).collect()
}

pub(super) fn tell(ground: &Ground, dam: &Dam, notes: &mut Vec<Note>) {
    for way in &dam.ways_out {
        let what = if way.at_survey_edge {
            format!("past {}", ground.edge_near(way.place))
        } else {
            "over a saddle".to_owned()
        };
        let over = (dam.flood_level() - way.level).in_metres();
        let flood = if over > 0.0 {
            format!(
                "in the design flood {over:.2} m of water stand over it, on ground that nobody shaped or grassed for it"
            )
        } else {
            format!("the design flood stays {:.2} m below it, a larger one runs there", -over)
        };
        notes.push(at(ground, way.place, Note::new("works::other-way-out", format!(
            "dam `{}`: before its crest is reached water leaves {what} at {:.3} m, {:.2} m above full supply and {:.2} m below the settled crest: {flood}; look at where it would run, close it with a wall of its own, or lower full supply",
            dam.wanted.name,
            way.level.in_metres(),
            (way.level - dam.crest.water_level).in_metres(),
            (dam.crest.settled_required() - way.level).in_metres()
        ))));
    }
}
