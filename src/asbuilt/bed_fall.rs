//! Does a bed that leads water fall all the way as it was shot: every shot may lie within its tolerance, and water still stand.
//!
//! Water stands over a shot as deep as the highest shot further along is above it. That is told where it is more than the two
//! shots' own scatter makes likely (95 %).

use super::design::Design;
use super::grade::Part;
use super::matching::Matched;
use crate::notes::{Note, Place};
use crate::stats::NORMAL_95;

/// Where water stands deepest on the bed of each work that leads it.
pub(super) fn notes(design: &Design, matched: &[Matched]) -> Vec<Note> {
    let works = design.works.iter().enumerate().filter(|(_, work)| work.leads_water);
    works.filter_map(|(index, work)| hollow(&work.name, index, matched)).collect()
}

fn hollow(name: &str, index: usize, matched: &[Matched]) -> Option<Note> {
    let of_bed = matched.iter().filter(|shot| shot.work == index && shot.check.part == Part::Bed);
    let mut bed: Vec<_> = of_bed.map(|shot| &shot.check).collect();
    bed.sort_by(|a, b| a.station_m.total_cmp(&b.station_m));
    let mut deepest: Option<(f64, f64, f64)> = None;
    let mut highest = *bed.last()?;
    for shot in bed.iter().rev() {
        let depth = highest.measured_m - shot.measured_m;
        let sure = depth > NORMAL_95 * shot.sigma_m.hypot(highest.sigma_m);
        if sure && deepest.is_none_or(|found| depth > found.0) {
            deepest = Some((depth, shot.station_m, highest.station_m));
        }
        if shot.measured_m > highest.measured_m {
            highest = shot;
        }
    }
    let (depth, low, high) = deepest?;
    let text = format!(
        "as shot the bed of `{name}` does not fall all the way: at station {high:.1} m it lies {:.0} mm higher than at {low:.1} m, and water stands so deep there; take the hump off, whatever each shot is off its own level",
        1000.0 * depth
    );
    Some(Note::new("asbuilt::bed-rises", text).at(Place::Station { works: name.to_owned(), station_m: low }))
}
