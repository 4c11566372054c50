//! Which control marks live through the dig and stay dry after it, and are there enough of them.
//!
//! A mark is doomed when it stands where the works dig, heap or haul, or within ten metres of it. One that stands in the water of the
//! finished works, or on its way below a spillway, serves for the dig but not for the checks after it. Numbers asked for are common
//! practice, no source: three on a site, two near a work, one within a laser's reach of each sill.
//!
//! Earth is hauled over the ground between a pit and the wall that it is dug for; other hauls are not known here. The flood of a dam is
//! looked for with its spillway closed, else the water beyond the sill would count too, and no higher than its lowest other way out.

use super::work::{Shared, SitePlan, Work};
use crate::geom::{Bounds, Point, Polygon};
use crate::notes::Note;
use crate::surface::{Tin, standing_to};
use geo::{Closest, ClosestPoint};

/// A mark nearer than this to dig, heaps, haul or water does not count on living, metres.
pub const CLEAR_OF_WORKS: f64 = 10.0;
/// A laser is set up with a mark within this distance of the sill, metres.
pub const LASER_REACH: f64 = 100.0;
/// A mark within this distance of a work's line serves it, metres.
const SERVES: f64 = 200.0;
/// Marks wanted on a site, and near a work.
const WANTED: (usize, usize) = (3, 2);
/// A vertex so near to the outline of a cut stands on it, metres.
const ON_EDGE: f64 = 0.01;
/// A cut is closed by raising it so far, metres: above any flood.
const CLOSED: f64 = 1000.0;

/// What a mark may stand in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Hazard {
    /// What is dug or heaped.
    Dig,
    /// The ground between a pit and the wall that it is dug for.
    Haul,
    /// The water of a swale or pond when it is full.
    Water,
    /// A reservoir in the design flood.
    Flood,
    /// The way of the water below a spillway.
    Outflow,
}

impl Hazard {
    /// True for what happens during the dig.
    const fn in_the_dig(self) -> bool {
        matches!(self, Self::Dig | Self::Haul)
    }
}

/// An area that a mark stands in, or within [`CLEAR_OF_WORKS`] of.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Near {
    /// What it is.
    pub hazard: Hazard,
    /// Whose.
    pub works: String,
    /// Metres to it; zero inside.
    pub clear_m: f64,
    /// The wall that earth is hauled to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub to: Option<String>,
}

impl std::fmt::Display for Near {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let works = &self.works;
        match self.clear_m {
            0.0 => f.write_str("inside ")?,
            clear => write!(f, "{clear:.1} m from ")?,
        }
        match (self.hazard, &self.to) {
            (Hazard::Dig, _) => write!(f, "the works of `{works}`"),
            (Hazard::Haul, None) => write!(f, "the haul from `{works}`"),
            (Hazard::Haul, Some(to)) => write!(f, "the haul from `{works}` to `{to}`"),
            (Hazard::Water, _) => write!(f, "the full water of `{works}`"),
            (Hazard::Flood, _) => write!(f, "the water of `{works}` in its design flood"),
            (Hazard::Outflow, _) => write!(f, "the way of the water below the spillway of `{works}`"),
        }
    }
}

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
    /// True when it stands too near to dig, heaps or haul to live.
    pub doomed: bool,
    /// What it stands in or near to, the nearest first. Water is left out where the dig of the same work comes as near.
    pub near: Vec<Near>,
}

/// Each mark against everything that is dug, heaped, hauled over or put under water; nothing without works.
#[must_use]
pub fn mark_fates(marks: &[(String, Point)], plan: &SitePlan) -> Vec<MarkFate> {
    if marks.is_empty() {
        return Vec::new();
    }
    let waters: Vec<(Hazard, &str, Vec<Polygon>)> = match plan.surfaces.last() {
        Some(surface) => plan.works.iter().map(|work| water(work, surface)).collect(),
        None => Vec::new(),
    };
    let fate = |(name, place): &(String, Point)| {
        let (works, clear_m) =
            plan.shared().map(|work| (work.name, clear_of(work, *place))).min_by(|a, b| a.1.total_cmp(&b.1))?;
        let mut near = in_the_dig(plan, *place);
        for (hazard, works, areas) in &waters {
            let clear_m = areas.iter().map(|area| distance(area, *place)).fold(f64::INFINITY, f64::min);
            near.push(Near { hazard: *hazard, works: (*works).to_owned(), clear_m, to: None });
        }
        for work in plan.shared() {
            let ways = work.spillways.iter().filter_map(|spillway| {
                let exit = spillway.exit.as_ref()?;
                let away = exit.foot(*place).point.distance(*place) - spillway.sill_length.in_metres() / 2.0;
                Some(away.max(0.0))
            });
            let clear_m = ways.fold(f64::INFINITY, f64::min);
            near.push(Near { hazard: Hazard::Outflow, works: work.name.to_owned(), clear_m, to: None });
        }
        near.retain(|near| near.clear_m < CLEAR_OF_WORKS);
        let dug = |works: &str| plan.named(works).map_or(f64::INFINITY, |work| clear_of(work, *place));
        near.retain(|near| near.hazard.in_the_dig() || near.clear_m < dug(&near.works));
        near.sort_by(|a, b| a.clear_m.total_cmp(&b.clear_m).then(a.hazard.cmp(&b.hazard)));
        Some(MarkFate {
            name: name.clone(),
            place: *place,
            works: works.to_owned(),
            clear_m,
            doomed: near.iter().any(|near| near.hazard.in_the_dig()),
            near,
        })
    };
    marks.iter().filter_map(fate).collect()
}

/// True when a place stands where the works dig, heap or haul, or within [`CLEAR_OF_WORKS`] of it.
#[must_use]
pub fn lost_in_the_dig(plan: &SitePlan, place: Point) -> bool {
    in_the_dig(plan, place).iter().any(|near| near.clear_m < CLEAR_OF_WORKS)
}

/// How far a place is from each dig and haul.
fn in_the_dig(plan: &SitePlan, place: Point) -> Vec<Near> {
    let dug = plan.shared().map(|work| Near {
        hazard: Hazard::Dig,
        works: work.name.to_owned(),
        clear_m: clear_of(work, place),
        to: None,
    });
    let hauled = plan.works.iter().filter_map(|work| {
        let (pit, wall) = (work.shared(), plan.named(work.yields_for()?)?);
        let between = pit.cut_footprint.iter().map(|dig| {
            // The wall is filled from end to end: from the middle of the pit that is a fan.
            let count = dig.outer.len().max(1) as f64;
            let sum = dig.outer.iter().fold((0.0, 0.0), |sum, p| (sum.0 + p.x, sum.1 + p.y));
            let fan = [Point::new(sum.0 / count, sum.1 / count)].into_iter().chain(wall.line.points().iter().copied());
            distance(&Polygon::simple(fan.collect()), place)
        });
        let clear_m = between.fold(f64::INFINITY, f64::min);
        Some(Near { hazard: Hazard::Haul, works: pit.name.to_owned(), clear_m, to: Some(wall.name.to_owned()) })
    });
    dug.chain(hauled).collect()
}

/// Where the water of a work stands on the finished surface: full, of a dam in its design flood; nowhere in a drain.
fn water<'a>(work: &'a Work, surface: &Tin) -> (Hazard, &'a str, Vec<Polygon>) {
    let shared = work.shared();
    let Some(pool) = shared.pool else { return (Hazard::Water, shared.name, Vec::new()) };
    let (hazard, level) = match work {
        Work::Dam(dam) => (Hazard::Flood, dam.flood_level()),
        Work::Swale(_) | Work::Pit(_) | Work::Drain(_) => (Hazard::Water, pool.water_level),
    };
    let cuts: Vec<&Polygon> = shared
        .spillways
        .iter()
        .filter_map(|spillway| spillway.outlet.as_ref())
        .flat_map(|cut| &cut.footprint)
        .collect();
    let boxes: Vec<Option<Bounds>> = cuts.iter().map(|cut| cut.bounds()).collect();
    let in_cut = |place: Point| {
        let at = |bounds: &Option<Bounds>| bounds.is_some_and(|all| all.grown(ON_EDGE).contains(place));
        cuts.iter().zip(&boxes).any(|(cut, bounds)| at(bounds) && distance(cut, place) <= ON_EDGE)
    };
    let shore = if hazard == Hazard::Flood && !cuts.is_empty() {
        let closed = surface.with_elevations(|v| if in_cut(v.plan()) { v.z + CLOSED } else { v.z });
        standing_to(&closed, pool.seeds, level.in_metres()).shore
    } else {
        standing_to(surface, pool.seeds, level.in_metres()).shore
    };
    // Islands count as water: a mark on one cannot be reached.
    (hazard, shared.name, shore.into_iter().map(Polygon::simple).collect())
}

/// Metres from a place to what a work digs or heaps; zero inside.
#[must_use]
pub fn clear_of(work: Shared<'_>, place: Point) -> f64 {
    work.footprints().map(|area| distance(area, place)).fold(f64::INFINITY, f64::min)
}

/// Tells doomed marks, those that will stand in water, and where too few are left.
#[must_use]
pub fn mark_notes(fates: &[MarkFate], plan: &SitePlan) -> Vec<Note> {
    let mut notes = Vec::new();
    let told = |wanted: &dyn Fn(&MarkFate) -> bool, of_the_dig: bool| -> Vec<String> {
        let fates = fates.iter().filter(|fate| wanted(fate));
        fates
            .map(|fate| {
                let near = fate.near.iter().filter(|near| near.hazard.in_the_dig() == of_the_dig);
                format!("{} ({})", fate.name, near.map(ToString::to_string).collect::<Vec<_>>().join("; "))
            })
            .collect()
    };
    let doomed = told(&|fate| fate.doomed, true);
    if !doomed.is_empty() {
        let text = format!(
            "marks that may not live through the dig: {}; carry each to a safe place first, {CLEAR_OF_WORKS} m and more from dig, \
             heaps and haul",
            doomed.join(", ")
        );
        notes.push(Note::new("works::mark-in-the-dig", text));
    }
    let wet = told(&|fate| !fate.doomed && !fate.near.is_empty(), false);
    if !wet.is_empty() {
        let text = format!(
            "marks in the way of the water once the works are made: {}; they serve for the dig, but checks after it want marks {CLEAR_OF_WORKS} m \
             and more from the water",
            wet.join(", ")
        );
        notes.push(Note::new("works::mark-in-the-water", text));
    }
    let safe: Vec<&MarkFate> = fates.iter().filter(|fate| fate.near.is_empty()).collect();
    if safe.len() < WANTED.0 {
        let text = format!(
            "{} clear of works and water, {} are wanted on a site: a disturbed one shows only against others",
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
                "{} clear of works and water within {SERVES} m of `{name}`, {} are wanted: one to work from, one to check it",
                counted(near),
                WANTED.1
            );
            notes.push(Note::new("works::few-marks-near", text));
        }
        for spillway in work.spillways {
            let sill = spillway.lip.at(spillway.lip.length() / 2.0);
            let live = fates.iter().filter(|fate| !fate.doomed);
            let nearest = live.map(|fate| fate.place.distance(sill)).fold(f64::INFINITY, f64::min);
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Vector;
    use crate::notes::Silent;
    use crate::units::Length;
    use crate::works::dam::spillway_tests::with_sill;
    use crate::works::dam::tests::{valley, wanted as wall};
    use crate::works::pit::tests::{ground, rectangle, wanted as pit};
    use crate::works::pit::{PitDepth, PitWanted, PitWater, Purpose};
    use crate::works::{Wanted, design};

    fn fate(plan: &SitePlan, place: Point) -> MarkFate {
        mark_fates(&[("M".to_owned(), place)], plan).remove(0)
    }

    fn named(places: &[(&str, Point)]) -> Vec<(String, Point)> {
        places.iter().map(|&(name, place)| (name.to_owned(), place)).collect()
    }

    /// On the western side of the valley, z = 100 + 0.015 y - 0.06 x, a mark that stands h over the flood is h / 0.0618 m from its
    /// water, with a spillway at the wall's end as without one.
    #[test]
    fn a_mark_by_a_reservoir_is_held_against_its_flood() {
        let ground = valley(0.015, 0.06, 0.08);
        let with_sill = with_sill(102.0, 8.0);
        for asked in [wall(102.0), with_sill] {
            let plan = design(&ground, &[asked], &Silent).unwrap().value;
            let Work::Dam(dam) = &plan.works[0] else { panic!("a dam") };
            let flood = dam.flood_level().in_metres();
            assert!(flood > 102.05, "{flood}");
            let y = 80.0;
            let at = |over: f64| Point::new(-(flood + over - 100.0 - 0.015 * y) / 0.06, y);
            let steep = 0.06_f64.hypot(0.015);
            for over in [0.1, 0.3, 0.6] {
                let found = fate(&plan, at(over));
                let [near] = &found.near[..] else { panic!("{found:?}") };
                assert!(near.hazard == Hazard::Flood && !found.doomed, "{found:?}");
                assert!((near.clear_m - over / steep).abs() < 1e-3, "{} {}", near.clear_m, over / steep);
            }
            assert_eq!(fate(&plan, at(0.65)).near, [], "10.5 m off");
            // Between full supply and flood it stands in the flood's water.
            assert_eq!(fate(&plan, at(-0.01)).near[0].clear_m, 0.0);
        }
    }

    #[test]
    fn a_mark_on_the_way_of_the_water_below_a_spillway_is_told() {
        let asked = with_sill(102.0, 8.0);
        let plan = design(&valley(0.015, 0.06, 0.08), &[asked], &Silent).unwrap().value;
        let spillway = plan.shared().next().unwrap().spillways[0].clone();
        let exit = spillway.exit.unwrap();
        let end = exit.length() - 1.0;
        let place = exit.at_offset(end, spillway.sill_length.in_metres() / 2.0 + 3.0);
        let found = fate(&plan, place);
        let near = found.near.iter().find(|near| near.hazard == Hazard::Outflow).unwrap_or_else(|| panic!("{found:?}"));
        assert!((near.clear_m - 3.0).abs() < 0.2, "{near:?}");
        let notes = mark_notes(&mark_fates(&named(&[("E", place)]), &plan), &plan);
        let told = notes.iter().find(|note| note.code == "works::mark-in-the-water").unwrap();
        assert!(told.text.contains("m from the way of the water below the spillway of `wall`"), "{}", told.text);
    }

    /// A pond of 20 m by 12 m, 2 m deep with sides of 2:1, filled to 1 m: its shore is 22 m by 14 m, within its dig, and needs no word of
    /// its own. What is dug for a wall is hauled over the ground between.
    #[test]
    fn water_inside_a_dig_is_not_told_twice_and_hauls_are() {
        let level = ground(|_, _| 100.0);
        let half = PitWater::Freeboard(Length::metres(1.0));
        let asked = PitWanted { water: half, ..pit(rectangle(20.0, 12.0), 2.0, PitDepth::Below(Length::metres(2.0))) };
        let plan = design(&level, &[asked], &Silent).unwrap().value;
        let found = fate(&plan, Point::new(14.0 + 2.5, 0.0));
        let [near] = &found.near[..] else { panic!("{found:?}") };
        assert!(near.hazard == Hazard::Dig && (near.clear_m - 2.5).abs() < 1e-5 && found.doomed, "{near:?}");
        assert_eq!(near.to_string(), "2.5 m from the works of `tank`");

        // A pit far up the valley, dug for the wall.
        let floor = rectangle(20.0, 12.0).into_iter().map(|p| p + Vector::new(-70.0, 90.0)).collect();
        let borrow = PitWanted {
            name: "pit".to_owned(),
            purpose: Purpose::Borrow,
            ..pit(floor, 2.0, PitDepth::FillOf("wall".to_owned()))
        };
        let works: [Wanted; 2] = [wall(102.0).into(), borrow.into()];
        let plan = design(&valley(0.015, 0.06, 0.08), &works, &Silent).unwrap().value;
        let wall = plan.named("wall").unwrap();
        let place = Point::new(-70.0, 90.0).towards(wall.line.at(wall.line.length() / 2.0), 0.5);
        let found = fate(&plan, place);
        assert!(found.doomed && found.near[0].hazard == Hazard::Haul && found.near[0].clear_m == 0.0, "{found:?}");
        assert_eq!(found.near[0].to_string(), "inside the haul from `pit` to `wall`");
        assert!(lost_in_the_dig(&plan, place) && clear_of(plan.named("wall").unwrap(), place) > CLEAR_OF_WORKS);
        let notes = mark_notes(&mark_fates(&named(&[("H", place)]), &plan), &plan);
        assert!(notes[0].text.contains("H (inside the haul from `pit` to `wall`)"), "{}", notes[0].text);
    }
}
