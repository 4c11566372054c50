//! How far a swale reaches from its line before it is designed.

use super::along::Along;
use super::line::Reach;
use super::wanted::SwaleWanted;
use super::{WorksError, section, spillway};
use crate::units::Length;

/// How far the works reach from the line before anything of them is known.
pub(super) fn reach(wanted: &SwaleWanted) -> Result<Reach, WorksError> {
    let sized = spillway::of_swale(wanted, &spillway::pools_at_worst(wanted))?;
    let head = sized.iter().map(|s| s.head).fold(Length::ZERO, Length::max);
    let least_crest = (head + wanted.freeboard).in_metres();
    let along = Along::new(wanted, 0.04)?;
    let top = along.greatest(|sizes| section::channel(wanted.ditch(), sizes, along.fall).top);
    let batter = along.greatest(|sizes| sizes.berm_batter.in_horizontal_per_vertical());
    Ok(Reach { uphill: top + 2.0, downhill: 3.0 + 4.0 * batter * least_crest })
}
