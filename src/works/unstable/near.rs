//! How near the works and their water come to unstable ground.

use super::ground::{Approach, NearUnstable, Shape, UnstableGround};
use crate::geom::{Point, Polygon};
use crate::ground::Ground;
use crate::notes::{Note, Noted, Place};
use crate::surface::{Tin, pool};
use crate::units::{Length, Station};
use crate::works::{Pooled, Shared, SitePlan};

/// Tells of every work how near it and its water come to unstable ground.
pub fn tell_unstable(plan: &mut Noted<SitePlan>, ground: &Ground, areas: Vec<UnstableGround>) {
    let found: Vec<NearUnstable> = plan
        .value
        .shared()
        .flat_map(|work| {
            let parts = parts(&plan.value, work);
            areas.iter().flat_map(move |area| near(work, &parts, area)).collect::<Vec<_>>()
        })
        .collect();
    plan.value.near_unstable = found;
    let names: Vec<String> = plan.value.shared().map(|work| work.name.to_owned()).collect();
    let near = names.iter().flat_map(|name| plan.value.unstable_near(name));
    let notes: Vec<Note> = near.filter_map(|parts| note(&plan.value, parts, ground)).collect();
    plan.notes.extend(notes);
    plan.notes.extend(areas.iter().filter(|area| area.area.misses(ground)).map(|area| {
        let text = format!(
            "{} `{}` lies wholly off the survey: how near the works come to it is told all the same, but look whether its coordinates are right",
            area.kind.words(),
            area.name
        );
        Note::new("works::unstable-off-survey", text)
    }));
    plan.value.unstable = areas;
}

/// What a work does to the ground, part by part.
type Parts = [(Approach, Vec<Vec<Point>>); 5];

fn parts(plan: &SitePlan, work: Shared<'_>) -> Parts {
    let rings = |areas: &[Polygon]| areas.iter().map(|area| area.outer.clone()).collect::<Vec<_>>();
    let shore = |(surface, full): (&Tin, Pooled<'_>)| pool(surface, full.seeds, full.water_level.in_metres()).shore;
    let ways = work.spillways.iter().filter_map(|spillway| spillway.exit.as_ref());
    let water = plan.surfaces.last().zip(work.pool).map(shore).unwrap_or_default();
    [
        (Approach::Dig, rings(work.cut_footprint)),
        (Approach::Fill, rings(work.fill_footprint)),
        (Approach::Water, water),
        (Approach::Outflow, ways.map(|way| way.points().to_vec()).collect()),
        (Approach::End, work.below.iter().map(|way| way.points().to_vec()).collect()),
    ]
}

fn near(work: Shared<'_>, parts: &Parts, area: &UnstableGround) -> Vec<NearUnstable> {
    let nearest = |(by, shapes): &(Approach, Vec<Vec<Point>>)| {
        let shape = |points| {
            if matches!(by, Approach::Outflow | Approach::End) { Shape::Line(points) } else { Shape::Area(points) }
        };
        let all = shapes.iter().filter_map(|points| area.area.nearest(&shape(points)));
        let (away, place) = all.min_by(|a, b| a.0.total_cmp(&b.0))?;
        (away <= area.clearance.in_metres()).then(|| NearUnstable {
            works: work.name.to_owned(),
            ground: area.name.clone(),
            kind: area.kind,
            by: *by,
            away: Length::metres(away),
            place,
            station: Station::metres(work.line.foot(place).station),
        })
    };
    parts.iter().filter_map(nearest).collect()
}

fn note(plan: &SitePlan, parts: &[NearUnstable], ground: &Ground) -> Option<Note> {
    let nearest = parts.iter().min_by(|a, b| a.away.in_metres().total_cmp(&b.away.in_metres()))?;
    let kind = plan.named(&nearest.works).map_or("work", |work| work.kind.name());
    let one = |near: &NearUnstable| {
        let away = match near.away.in_metres() {
            away if away > 0.0 => format!("comes within {away:.1} m of it"),
            _ => "lies on it".to_owned(),
        };
        let (by, means) = (near.by.words(), near.kind.means(near.by));
        format!("its {by} {away} at station {:.1} m ({means})", near.station.in_metres())
    };
    let (easting, northing) = ground.frame.to_frame(nearest.place);
    let text = format!(
        "{kind} `{}`, {} `{}`: {}. Nothing is begun there before someone licensed to judge such ground has done so",
        nearest.works,
        nearest.kind.words(),
        nearest.ground,
        parts.iter().map(one).collect::<Vec<_>>().join("; ")
    );
    Some(Note::new("works::near-unstable-ground", text).at(Place::Ground { easting, northing }))
}
