//! Works on the ground: contour lines, swales and spillways, designed to hold and to balance.
//!
//! Invariant: every elevation in a design is said to be one of water level, sill, bed, crest or natural ground; a work
//! changes the surface only inside its own footprint.

mod apply;
mod balance;
mod check;
mod error;
mod fair;
mod hold;
mod layout;
pub mod limits;
mod line;
mod marks;
mod plan;
mod second_pass;
mod section;
mod spillway;
mod strip;
mod swale;
mod tell;
mod wanted;

pub use check::contour_check;
pub use error::WorksError;
pub use marks::{CLEAR_OF_WORKS, LASER_REACH, MarkFate, clear_of, distance, mark_fates, mark_notes};
pub use plan::{ContourCheck, ContourStation, CrestLevels, End, Section, SitePlan, Spillway, Storage, Swale};
pub use second_pass::{ShotToTake, second_pass};
pub use tell::too_narrow_to_drive;
pub use wanted::{Berm, Ends, LineEdge, SillLength, SpillwayPlace, SpillwayWanted, SwaleWanted, WaterLevel};

#[cfg(test)]
mod tests;

use crate::geom::Polygon;
use crate::ground::Ground;
use crate::notes::{Note, Noted, Reporter};
use crate::surface::{Locator, Tin};

/// Designs all swales of a site, in order: each stands on the surface that the ones before it leave.
///
/// # Errors
/// [`WorksError`] for the first swale that cannot be designed as asked.
pub fn design(ground: &Ground, wanted: &[SwaleWanted], reporter: &dyn Reporter) -> Result<Noted<SitePlan>, WorksError> {
    let natural = Locator::new(&ground.tin);
    let mut notes = Vec::new();
    let mut plan = SitePlan { swales: Vec::new(), surfaces: Vec::new() };
    for asked in wanted {
        let before: &Tin = plan.surfaces.last().unwrap_or(&ground.tin);
        let (swale, after) = swale::design(ground, &natural, before, asked, reporter, &mut notes)?;
        clear_of_earlier(&swale, &plan.swales)?;
        tell_exit_onto_others(&swale, &plan.swales, &mut notes);
        plan.swales.push(swale);
        plan.surfaces.push(after);
    }
    Ok(Noted { value: plan, notes })
}

/// A channel may not be dug into the fill of an earlier work.
fn clear_of_earlier(swale: &Swale, earlier: &[Swale]) -> Result<(), WorksError> {
    for other in earlier {
        let inside = |fill: &[Polygon], axis: &crate::geom::Polyline| {
            axis.stations().iter().copied().find(|&s| fill.iter().any(|polygon| polygon.contains(axis.at(s))))
        };
        let met = inside(&other.fill_footprint, &swale.bed_axis)
            .or_else(|| swale.crest_axes.iter().find_map(|axis| inside(&other.cut_footprint, axis)));
        if let Some(station) = met {
            return Err(WorksError::CutsEarlierWork {
                swale: swale.wanted.name.clone(),
                earlier: other.wanted.name.clone(),
                station,
            });
        }
    }
    Ok(())
}

/// Tells where the water of one spillway runs onto the berm of another work.
fn tell_exit_onto_others(swale: &Swale, earlier: &[Swale], notes: &mut Vec<Note>) {
    let pairs = earlier.iter().flat_map(|other| [(swale, other), (other, swale)]);
    for (from, onto) in pairs {
        for path in from.spillways.iter().filter_map(|spillway| spillway.exit.as_ref()) {
            let met = path.points().iter().any(|&p| onto.fill_footprint.iter().any(|polygon| polygon.contains(p)));
            if met {
                notes.push(Note::new(
                    "works::exit-onto-work",
                    format!(
                        "the water from the spillway of `{}` runs onto the berm of `{}`: lead it past, or into that swale's channel",
                        from.wanted.name, onto.wanted.name
                    ),
                ));
            }
        }
    }
}
