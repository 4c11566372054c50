//! What works do to each other: what may not be dug or heaped where, and what is told of their water when all of them stand.

use super::WorksError;
use super::apply::overlap;
use super::line::at;
use super::work::{Kind, Pooled, Shared, SitePlan, Work};
use crate::geom::Point;
use crate::ground::Ground;
use crate::notes::Note;
use crate::surface::pool;

/// Water is held by ground that is no more than this too low, metres.
const LEAKS: f64 = 0.005;

/// Tells what is known only when all works stand.
pub(super) fn tell(ground: &Ground, plan: &SitePlan, notes: &mut Vec<Note>) {
    tell_exits_onto_others(plan, notes);
    tell_pits_overflow(ground, plan, notes);
    tell_one_water(plan, notes);
}

/// Nothing may be dug into the fill of an earlier work unless it says so, or heaped into the dig of one.
pub(super) fn clear_of_earlier(ground: &Ground, work: &Work, earlier: &SitePlan) -> Result<(), WorksError> {
    let (own, works) = (work.shared(), work.subject());
    let frame = &ground.frame;
    for other in earlier.shared() {
        let earlier = other.name.to_owned();
        if work.through() != Some(other.name)
            && let Some(place) = overlap(own.cut_footprint, other.fill_footprint)
        {
            let (easting, northing) = frame.to_frame(place);
            return Err(WorksError::CutsEarlierWork { works, earlier, easting, northing });
        }
        if let Some(place) = overlap(own.fill_footprint, other.cut_footprint) {
            let (easting, northing) = frame.to_frame(place);
            return Err(WorksError::FillsEarlierDig { works, earlier, easting, northing });
        }
    }
    Ok(())
}

/// Tells where the water of one work stands in another: what each holds is told for itself, and is not to be added.
fn tell_one_water(plan: &SitePlan, notes: &mut Vec<Note>) {
    let Some(surface) = plan.surfaces.last().filter(|_| plan.works.len() > 1) else { return };
    for (k, work) in plan.works.iter().enumerate() {
        let Some(full) = work.shared().pool else { continue };
        let level = full.water_level.in_metres();
        let under = full.covers(surface);
        // Told once of a pair: by the one that holds the more.
        let volume = |pool: Pooled<'_>| pool.storage.volume;
        for (other, held) in plan.works.iter().enumerate() {
            let Some(its) = held.shared().pool else { continue };
            let first = volume(full) > volume(its) || (volume(full) == volume(its) && k < other);
            if other != k && first && its.seeds.iter().any(|&seed| under(seed)) {
                // Where the ground lets it away lower down there is no such volume.
                let both = pool(surface, full.seeds, level);
                let both = if both.spill >= level - LEAKS {
                    format!(
                        "; on the ground as all works leave it they hold {:.1} m3 together up to that level",
                        both.volume
                    )
                } else {
                    String::new()
                };
                notes.push(Note::new("works::one-water", format!(
                    "{}: when it is full at {level:.3} m its water stands in {} too: what each holds is told for itself, and is not to be added{both}",
                    work.subject(),
                    held.subject()
                )));
            }
        }
    }
}

/// Works whose water from a sill or a lower end runs onto the fill of another, with that other; each pair once, whatever its sills.
#[must_use]
pub fn exits_onto_others(plan: &SitePlan) -> Vec<(Shared<'_>, Shared<'_>)> {
    let onto = |from: Shared<'_>, other: Shared<'_>| {
        let on_fill = |p: &Point| other.fill_footprint.iter().any(|area| area.contains(*p));
        from.name != other.name && from.ways().any(|path| path.points().iter().any(on_fill))
    };
    let pairs = plan.shared().flat_map(|from| plan.shared().map(move |other| (from, other)));
    pairs.filter(|&(from, other)| onto(from, other)).collect()
}

fn tell_exits_onto_others(plan: &SitePlan, notes: &mut Vec<Note>) {
    for (from, onto) in exits_onto_others(plan) {
        notes.push(Note::new(
            "works::exit-onto-work",
            format!(
                "the water from the {} of `{}` runs onto the berm of `{}`: lead it past, or into that work's channel",
                if from.kind == Kind::Drain { "lower end" } else { "spillway" },
                from.name,
                onto.name
            ),
        ));
    }
}

/// Tells where a pit without a spillway runs over, or that another work's water stands over it before it can.
fn tell_pits_overflow(ground: &Ground, plan: &SitePlan, notes: &mut Vec<Note>) {
    let pits = plan.works.iter().filter_map(|work| match work {
        Work::Pit(pit) if pit.spillways.is_empty() => Some((work.subject(), pit)),
        Work::Pit(_) | Work::Swale(_) | Work::Dam(_) | Work::Drain(_) => None,
    });
    for (works, pit) in pits {
        let (code, what) = match works.kind {
            Kind::Borrow => ("works::pit-holds-water", "it is a hole that fills with water, and then runs over"),
            Kind::Pond | Kind::Swale | Kind::Dam | Kind::Drain => {
                ("works::pond-overflow", "more than it holds runs over")
            }
        };
        let (low, place) = pit.low_rim;
        let note = match plan.flooded_by(&works.name, place) {
            Some(over) => Note::new(
                "works::pit-under-water",
                format!(
                    "{works}: the full water of `{}` stands {:.2} m over the lowest place of its rim: dig it before that water is let in",
                    over.name,
                    (over.zero - low).in_metres()
                ),
            ),
            None => Note::new(
                code,
                format!(
                    "{works}: {what} at {:.3} m, the lowest place of its rim; see that the way from there is grassed and leads onto nothing that water harms",
                    pit.storage.spill.in_metres()
                ),
            ),
        };
        notes.push(at(ground, place, note));
    }
}
