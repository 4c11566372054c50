//! The depth at which a swale holds the water asked for: the whole design is made at each trial depth and its pool measured
//! on the designed surface, so that turned ends, sills and the true spill count.

use super::WorksError;
use super::plan::Swale;
use super::solve::{Found, Sought, find};
use super::work::{Kind, Subject};
use crate::surface::Tin;
use crate::units::{Length, Volume};

/// How near the volume held must come, as a share of it.
const NEAR: f64 = 1e-4;
/// Shallowest and deepest bed below water level that is tried, metres.
const DEPTHS: (f64, f64) = (0.05, 5.0);

/// Finds the depth at which a design holds `asked`; `guess` is tried first.
///
/// # Errors
/// The design's own error where no deeper bed can be designed; [`WorksError::CannotHold`] when the depth would leave
/// what can be tried.
pub(super) fn to_hold(
    name: &str,
    asked: Volume,
    guess: Length,
    design: &mut dyn FnMut(Length) -> Result<(Swale, Tin), WorksError>,
) -> Result<(Swale, Tin), WorksError> {
    let wanted = asked.in_cubic_metres();
    let sought = Sought { wanted, near: NEAR, guess: guess.in_metres(), range: DEPTHS };
    let found = find(sought, &mut |depth| {
        let made = design(Length::metres(depth))?;
        let held = made.0.storage.volume.in_cubic_metres();
        Ok::<_, WorksError>((made, held))
    })?;
    match found {
        Found::Design(made) => Ok(made),
        Found::Nothing { tried: depth, gave: held } => {
            Err(WorksError::CannotHold { works: Subject::new(Kind::Swale, name), wanted, held, depth })
        }
    }
}
