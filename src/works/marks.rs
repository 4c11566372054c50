//! Which control marks live through the dig, and are there enough of them.
//!
//! A mark is doomed when it stands where the works dig or heap, or within ten metres of it. A level swale's water stands
//! inside its cut, so it needs no area of its own. Numbers asked for are common practice, no source: three on a site, two
//! near a work, one within a laser's reach of each sill.

use super::work::{Shared, SitePlan};
use crate::geom::{Point, Polygon};
use crate::notes::Note;
use geo::{Closest, ClosestPoint};

/// A mark nearer to dig or berm than this does not count on living, metres.
pub const CLEAR_OF_WORKS: f64 = 10.0;
/// A laser is set up with a mark within this distance of the sill, metres.
pub const LASER_REACH: f64 = 100.0;
/// A mark within this distance of a work's line serves it, metres.
const SERVES: f64 = 200.0;
/// Marks wanted on a site, and near a work.
const WANTED: (usize, usize) = (3, 2);

/// A control mark against the works.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct MarkFate {
    /// Its name.
    pub name: String,
    /// Local frame, metres.
    #[serde(skip)]
    pub place: Point,
    /// The nearest work.
    pub works: String,
    /// Metres to what it digs or heaps; zero inside.
    pub clear_m: f64,
    /// True when it stands too near to live.
    pub doomed: bool,
}

/// Each mark against everything that is dug or heaped; nothing without works.
#[must_use]
pub fn mark_fates(marks: &[(String, Point)], plan: &SitePlan) -> Vec<MarkFate> {
    let fate = |(name, place): &(String, Point)| {
        let (works, clear) =
            plan.shared().map(|work| (work.name, clear_of(work, *place))).min_by(|a, b| a.1.total_cmp(&b.1))?;
        Some(MarkFate {
            name: name.clone(),
            place: *place,
            works: works.to_owned(),
            clear_m: clear,
            doomed: clear < CLEAR_OF_WORKS,
        })
    };
    marks.iter().filter_map(fate).collect()
}

/// Metres from a place to what a work digs or heaps; zero inside.
#[must_use]
pub fn clear_of(work: Shared<'_>, place: Point) -> f64 {
    work.footprints().map(|area| distance(area, place)).fold(f64::INFINITY, f64::min)
}

/// Tells doomed marks and where too few are left.
#[must_use]
pub fn mark_notes(fates: &[MarkFate], plan: &SitePlan) -> Vec<Note> {
    let mut notes = Vec::new();
    let doomed: Vec<String> = fates
        .iter()
        .filter(|fate| fate.doomed)
        .map(|fate| match fate.clear_m {
            0.0 => format!("{} (inside the works of `{}`)", fate.name, fate.works),
            clear => format!("{} ({clear:.1} m from the works of `{}`)", fate.name, fate.works),
        })
        .collect();
    if !doomed.is_empty() {
        let text = format!(
            "marks that may not live through the dig: {}; carry each to a safe place first, {CLEAR_OF_WORKS} m and more from dig \
             and heaps",
            doomed.join(", ")
        );
        notes.push(Note::new("works::mark-in-the-dig", text));
    }
    let safe: Vec<&MarkFate> = fates.iter().filter(|fate| !fate.doomed).collect();
    if safe.len() < WANTED.0 {
        let text = format!(
            "{} clear of the works, {} are wanted on a site: a disturbed one shows only against others",
            counted(safe.len()),
            WANTED.0
        );
        notes.push(Note::new("works::few-marks", text));
    }
    for work in plan.shared() {
        let name = work.name;
        let to_line =
            |fate: &&&MarkFate| work.line.at(work.line.foot(fate.place).station).distance(fate.place) <= SERVES;
        let near = safe.iter().filter(to_line).count();
        if near < WANTED.1 {
            let text = format!(
                "{} clear of the works within {SERVES} m of `{name}`, {} are wanted: one to work from, one to check it",
                counted(near),
                WANTED.1
            );
            notes.push(Note::new("works::few-marks-near", text));
        }
        for spillway in work.spillways {
            let sill = spillway.lip.at(spillway.lip.length() / 2.0);
            let nearest = safe.iter().map(|fate| fate.place.distance(sill)).fold(f64::INFINITY, f64::min);
            if nearest > LASER_REACH {
                let far = if nearest.is_finite() {
                    format!("the nearest is {nearest:.0} m away")
                } else {
                    "there is none".to_owned()
                };
                let text = format!(
                    "no mark clear of the works within {LASER_REACH} m of the sill of `{name}` ({far}): set one, the laser for the \
                     sill needs it"
                );
                notes.push(Note::new("works::no-mark-near-sill", text));
            }
        }
    }
    notes
}

/// `no mark`, `1 mark`, `2 marks`.
fn counted(marks: usize) -> String {
    match marks {
        0 => "no mark".to_owned(),
        1 => "1 mark".to_owned(),
        more => format!("{more} marks"),
    }
}

/// Distance from a place to an area, metres; zero inside it.
#[must_use]
pub fn distance(area: &Polygon, place: Point) -> f64 {
    if area.contains(place) {
        return 0.0;
    }
    let ring = geo::LineString::from(area.outer.iter().map(|p| (p.x, p.y)).collect::<Vec<_>>());
    let polygon = geo::Polygon::new(ring, Vec::new());
    match polygon.closest_point(&geo::Point::new(place.x, place.y)) {
        Closest::SinglePoint(near) => (near.x() - place.x).hypot(near.y() - place.y),
        Closest::Intersection(_) => 0.0,
        Closest::Indeterminate => f64::INFINITY,
    }
}
