//! The depth at which a swale holds the water asked for.
//!
//! The whole design is made at each trial depth and its pool measured on the designed surface, so that turned ends, sills
//! and the true spill count. Between two depths that hold too little and too much the next trial is where a straight
//! line through both would hold it (regula falsi, the older end's weight halved: Dowell and Jarratt 1971, "Illinois").

use super::WorksError;
use super::plan::Swale;
use crate::surface::Tin;
use crate::units::{Length, Volume};

/// How near the volume held must come, as a share of it.
const NEAR: f64 = 1e-4;
/// Shallowest and deepest bed below water level that is tried, metres.
const DEPTHS: (f64, f64) = (0.05, 5.0);
/// Designs made at most.
const TRIALS: usize = 30;

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
    let mut depth = guess.in_metres().clamp(DEPTHS.0, DEPTHS.1);
    // Depth and volume above what is wanted, on both sides of it.
    let (mut low, mut high): (Option<[f64; 2]>, Option<[f64; 2]>) = (None, None);
    let mut last_side = None;
    for _ in 0..TRIALS {
        let (swale, surface) = design(Length::metres(depth))?;
        let over = swale.storage.volume.in_cubic_metres() - wanted;
        if over.abs() <= NEAR * wanted {
            return Ok((swale, surface));
        }
        let side = over > 0.0;
        if side {
            high = Some([depth, over]);
        } else {
            low = Some([depth, over]);
        }
        depth = match (low.as_mut(), high.as_mut()) {
            (Some(low), Some(high)) => {
                if last_side == Some(side) {
                    if side { low[1] /= 2.0 } else { high[1] /= 2.0 }
                }
                low[0] - low[1] * (high[0] - low[0]) / (high[1] - low[1])
            }
            (Some(_), None) if depth < DEPTHS.1 => (depth * 1.6).min(DEPTHS.1),
            (None, Some(_)) if depth > DEPTHS.0 => (depth / 1.6).max(DEPTHS.0),
            _ => break,
        };
        last_side = Some(side);
    }
    let [depth, over] = low.or(high).unwrap_or([depth, 0.0]);
    Err(WorksError::CannotHold { swale: name.to_owned(), wanted, held: wanted + over, depth })
}
