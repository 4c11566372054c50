//! The one unknown of a design at which something measured on the whole design comes to what was asked for.
//!
//! The design is made at each trial. Between two trials that give too little and too much the next is where a straight line
//! through both would give it (regula falsi, the older end's weight halved: Dowell and Jarratt 1971, "Illinois").

/// Designs made at most.
const TRIALS: usize = 30;
/// How much farther the next trial goes while both are on one side.
const FURTHER: f64 = 1.6;

/// What is looked for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sought {
    /// What the design is to give, above zero.
    pub wanted: f64,
    /// How near it must come, as a share of that.
    pub near: f64,
    /// Tried first.
    pub guess: f64,
    /// Least and greatest value that may be tried, above zero; more of it gives more.
    pub range: (f64, f64),
}

/// How the search ended.
pub(super) enum Found<T> {
    /// The design that gives what was asked for.
    Design(T),
    /// None does: a value that was tried and what it gave.
    Nothing { tried: f64, gave: f64 },
}

/// Finds the value at which `trial` gives what is wanted; it returns a design and what that gives.
///
/// # Errors
/// Those of `trial`.
pub(super) fn find<T, E>(sought: Sought, trial: &mut dyn FnMut(f64) -> Result<(T, f64), E>) -> Result<Found<T>, E> {
    let Sought { wanted, near, guess, range } = sought;
    let mut value = guess.clamp(range.0, range.1);
    // Value and what it gave beyond what is wanted, on both sides of it.
    let (mut low, mut high): (Option<[f64; 2]>, Option<[f64; 2]>) = (None, None);
    let mut last_side = None;
    for _ in 0..TRIALS {
        let (design, gave) = trial(value)?;
        let over = gave - wanted;
        if over.abs() <= near * wanted {
            return Ok(Found::Design(design));
        }
        let side = over > 0.0;
        if side {
            high = Some([value, over]);
        } else {
            low = Some([value, over]);
        }
        value = match (low.as_mut(), high.as_mut()) {
            (Some(low), Some(high)) => {
                if last_side == Some(side) {
                    if side { low[1] /= 2.0 } else { high[1] /= 2.0 }
                }
                low[0] - low[1] * (high[0] - low[0]) / (high[1] - low[1])
            }
            (Some(_), None) if value < range.1 => (value * FURTHER).min(range.1),
            (None, Some(_)) if value > range.0 => (value / FURTHER).max(range.0),
            _ => break,
        };
        last_side = Some(side);
    }
    let [tried, over] = low.or(high).unwrap_or([value, 0.0]);
    Ok(Found::Nothing { tried, gave: wanted + over })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cube_is_found_and_a_wall_is_told() {
        let sought = Sought { wanted: 8.0, near: 1e-9, guess: 0.1, range: (0.05, 5.0) };
        let found = find::<f64, ()>(sought, &mut |x| Ok((x, x.powi(3)))).unwrap();
        assert!(matches!(found, Found::Design(x) if (x - 2.0).abs() < 1e-9));
        let found = find::<f64, ()>(sought, &mut |x| Ok((x, x.min(3.0)))).unwrap();
        assert!(matches!(found, Found::Nothing { tried, gave } if tried == 5.0 && gave == 3.0));
    }
}
