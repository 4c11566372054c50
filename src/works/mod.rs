//! Works on the ground: contour lines, swales and spillways, designed to hold and to balance.
//!
//! Invariant: every elevation in a design is said to be one of water level, sill, bed, crest or natural ground; a work
//! changes the surface only inside its own footprint.

mod along;
mod apply;
mod asked;
mod balance;
mod below;
mod channel;
mod check;
mod codes;
mod crossing;
pub mod dam;
pub mod drain;
mod error;
mod fair;
mod fall_line;
mod follow;
mod hold;
mod keep;
mod key;
mod layout;
mod level;
pub mod limits;
mod line;
mod low_ground;
mod marks;
mod mesh;
mod natural;
mod outflow;
mod outlet;
mod parts;
pub mod pit;
mod plan;
mod prove;
mod reach;
mod second_pass;
mod section;
mod sizes;
mod slopes;
mod solve;
mod spacing;
mod spillway;
mod strip;
mod swale;
mod swale_line;
mod tell;
mod test_pit;
mod together;
mod topsoil;
mod trial;
mod unstable;
mod unsurveyed;
mod wanted;
mod work;

pub use asked::Wanted;
pub use check::contour_check;
pub use error::WorksError;
pub use fall_line::{FallLine, FallWanted, fall_lines};
pub use marks::{
    CLEAR_OF_WORKS, Hazard, LASER_REACH, MarkFate, Near, clear_of, distance, lost_in_the_dig, mark_fates, mark_notes,
};
pub use natural::natural_ground;
pub use plan::{
    ContourCheck, ContourStation, CrestLevels, Crossing, End, Haul, LineWithin, LowGround, Outlet, Proof, Section,
    Spillway, Storage, Swale, SwalePool, Trial,
};
pub use prove::{contour_line, prove, prove_fall_lines};
pub use second_pass::{ShotToTake, second_pass};
pub use sizes::Sizes;
pub use tell::too_narrow_to_drive;
pub use test_pit::{
    Crumb, Extent, Layer, Met, Odds, PartProof, PitToDig, PitWord, SoilProof, SoilStanding, TestPit, prove_soil,
};
pub use together::exits_onto_others;
pub(crate) use topsoil::{Stripped, Topsoil};
pub use unstable::{Approach, NearUnstable, Unstable, UnstableArea, UnstableGround, tell_unstable};
pub use wanted::{
    Berm, ChannelShape, CrossingWanted, EndShape, Ends, Entry, LineEdge, LineEnd, Measure, PlaceAmong, SectionChange,
    SillLength, Spacing, SpillwayPlace, SpillwayWanted, SwaleLevel, SwaleWanted, Thing, ThingHeight, WaterLevel,
};
pub use work::{Kind, Pooled, Shared, SitePlan, Subject, Work, WorkLine};

#[cfg(test)]
mod balance_tests;
#[cfg(test)]
mod change_tests;
#[cfg(test)]
mod compose_tests;
#[cfg(test)]
mod crossing_tests;
#[cfg(test)]
mod ends_tests;
#[cfg(test)]
mod room_tests;
#[cfg(test)]
mod shape_tests;
#[cfg(test)]
mod tests;

use crate::ground::Ground;
use crate::notes::{Noted, Reporter};
use crate::surface::{Locator, Tin};

/// Designs all works of a site, in order: each stands on the surface that the ones before it leave.
///
/// # Errors
/// [`WorksError`] for the first work that cannot be designed as asked.
pub fn design<W: Clone + Into<Wanted>>(
    ground: &Ground,
    wanted: &[W],
    reporter: &dyn Reporter,
) -> Result<Noted<SitePlan>, WorksError> {
    let natural = Locator::new(&ground.tin);
    let mut notes = Vec::new();
    let mut plan = SitePlan::default();
    for asked in wanted {
        let before: &Tin = plan.surfaces.last().unwrap_or(&ground.tin);
        let (work, after) = match &asked.clone().into() {
            Wanted::Swale(asked) => {
                let (swale, after) = swale::design(ground, &natural, before, asked, reporter, &mut notes)?;
                (Work::Swale(swale), after)
            }
            Wanted::Pit(asked) => {
                let (pit, after) = pit::design(ground, before, &plan, asked, reporter, &mut notes)?;
                (Work::Pit(pit), after)
            }
            Wanted::Drain(line) => {
                let Some(channel) = &line.wanted.channel else { continue };
                let (drain, after) = drain::design(ground, before, &plan, line, channel, reporter, &mut notes)?;
                (Work::Drain(drain), after)
            }
            Wanted::Dam(asked) => {
                let (dam, after) = dam::design(ground, before, &plan, asked, reporter, &mut notes)?;
                (Work::Dam(dam), after)
            }
        };
        together::clear_of_earlier(ground, &work, &plan)?;
        plan.push(work, after);
    }
    dam::measure_again(ground, &mut plan, &mut notes);
    together::tell(ground, &plan, &mut notes);
    Ok(Noted { value: plan, notes })
}
