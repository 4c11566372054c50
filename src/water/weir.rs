//! The broad-crested weir: flow over a level sill, `Q = C L H^1.5`.
//!
//! `Q` in cubic metres a second, `L` the sill's length along the crest and `H` the head over it in metres, velocity of
//! approach left out. In SI the critical-depth crest has C = (2/3) sqrt(2 g / 3) = 1.705 and no broad crest passes
//! more; field values are lower (1.38 to 1.55 in published records), so the default is 1.5 and what 10 % more or less
//! of it does is told. The formula holds for a crest 2 to 20 heads broad and a head of at least 60 mm (after Casey).

use crate::notes::Note;
use crate::units::{Flow, Length};

/// Standard gravity, metres a second squared.
const GRAVITY: f64 = 9.806_65;

/// Least and greatest breadth of the crest along the flow, in heads.
const BREADTH_IN_HEADS: (f64, f64) = (2.0, 20.0);

/// Least head at which the formula holds, metres.
const LEAST_HEAD: f64 = 0.06;

/// The part by which the default coefficient may be wrong either way.
pub const COEFFICIENT_UNCERTAINTY: f64 = 0.10;

/// A coefficient or a quantity that the formula does not take.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum WeirError {
    /// Above the critical-depth limit, or not above zero.
    #[error(
        "weir coefficient {found} is out of range: above 0 and at most {limit:.3} (SI, critical depth on the crest)"
    )]
    Coefficient {
        /// As given.
        found: f64,
        /// The greatest that is physical.
        limit: f64,
    },
    /// A length, head or flow that is not above zero.
    #[error("{what} of a weir must be above zero, found {found}")]
    NotAboveZero {
        /// Which quantity.
        what: &'static str,
        /// As given, SI.
        found: f64,
    },
}

/// A discharge coefficient in SI, above zero and at most [`Coefficient::limit`].
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, serde::Serialize)]
#[serde(transparent)]
pub struct Coefficient(f64);

impl Coefficient {
    /// A coefficient, SI.
    ///
    /// # Errors
    /// [`WeirError::Coefficient`] when it is not above zero or more than critical depth allows.
    pub fn new(value: f64) -> Result<Self, WeirError> {
        let limit = Self::limit().0;
        // The limit is quoted to three decimals; so given, it is the limit.
        if value > 0.0 && value <= limit.max(1.705) {
            Ok(Self(value))
        } else {
            Err(WeirError::Coefficient { found: value, limit })
        }
    }

    /// The greatest: critical depth on the crest, (2/3) sqrt(2 g / 3).
    #[must_use]
    pub fn limit() -> Self {
        Self(2.0 / 3.0 * (2.0 * GRAVITY / 3.0).sqrt())
    }

    /// As a number, SI.
    #[must_use]
    pub const fn value(self) -> f64 {
        self.0
    }
}

impl Default for Coefficient {
    /// 1.5: a conservative field value for a level earth sill.
    fn default() -> Self {
        Self(1.5)
    }
}

/// Flow over a sill of a length at a head; nothing at or below the crest.
#[must_use]
pub fn flow(length: Length, head: Length, coefficient: Coefficient) -> Flow {
    Flow::cubic_metres_per_second(coefficient.0 * length.in_metres().max(0.0) * head.in_metres().max(0.0).powf(1.5))
}

/// Head at which a flow passes a sill of a length.
///
/// # Errors
/// [`WeirError::NotAboveZero`] when length or flow is not above zero.
pub fn head(flow: Flow, length: Length, coefficient: Coefficient) -> Result<Length, WeirError> {
    let flow = above_zero("the flow", flow.in_cubic_metres_per_second())?;
    let length = above_zero("the sill length", length.in_metres())?;
    Ok(Length::metres((flow / (coefficient.0 * length)).powf(2.0 / 3.0)))
}

/// Length of sill at which a flow passes with a head.
///
/// # Errors
/// [`WeirError::NotAboveZero`] when flow or head is not above zero.
pub fn length(flow: Flow, head: Length, coefficient: Coefficient) -> Result<Length, WeirError> {
    let flow = above_zero("the flow", flow.in_cubic_metres_per_second())?;
    let head = above_zero("the head", head.in_metres())?;
    Ok(Length::metres(flow / (coefficient.0 * head.powf(1.5))))
}

fn above_zero(what: &'static str, found: f64) -> Result<f64, WeirError> {
    if found > 0.0 { Ok(found) } else { Err(WeirError::NotAboveZero { what, found }) }
}

/// Flow over a metre of sill that lies `low` too low (negative: too high) at a head, as a multiple of the flow over a
/// metre of true sill: ((H + low) / H)^1.5.
#[must_use]
pub fn flow_share(head: Length, low: Length) -> f64 {
    ((head.in_metres() + low.in_metres()).max(0.0) / head.in_metres()).powf(1.5)
}

/// How level a sill must be: the lesser of 15 mm and a tenth of the design head. Common practice, no source: no
/// standard with a number for a level sill was found.
#[must_use]
pub fn sill_tolerance(head: Length) -> Length {
    Length::metres(0.015).min(head * 0.1)
}

/// What is to be told of a sill's size: outside the range of the formula, and how far the answer moves with the
/// coefficient.
#[must_use]
pub fn notes(length: Length, head: Length, breadth: Length, coefficient: Coefficient) -> Vec<Note> {
    let mut notes = Vec::new();
    let (h, b) = (head.in_metres(), breadth.in_metres());
    let (least, most) = BREADTH_IN_HEADS;
    if h < LEAST_HEAD {
        notes.push(Note::new(
            "weir::shallow",
            format!("the head over the sill is {h:.3} m: the broad-crested formula holds from {LEAST_HEAD} m up"),
        ));
    }
    if b < least * h {
        notes.push(Note::new(
            "weir::narrow-crest",
            format!(
                "the sill is {b:.2} m broad along the flow: the formula wants at least {:.2} m, two heads",
                least * h
            ),
        ));
    }
    if b > most * h {
        notes.push(Note::new(
            "weir::long-crest",
            format!(
                "the sill is {b:.2} m broad along the flow, more than {:.2} m, twenty heads: it runs as a channel, \
                 and passes less than the weir formula says",
                most * h
            ),
        ));
    }
    let at = |factor: f64| flow(length, head, Coefficient(coefficient.0 * factor)).in_cubic_metres_per_second();
    notes.push(Note::new(
        "weir::coefficient",
        format!(
            "the sill passes {:.3} m3/s at {h:.2} m head with a coefficient of {:.2}; between {:.3} and {:.3} m3/s if \
             that is wrong by {:.0} %",
            at(1.0),
            coefficient.0,
            at(1.0 - COEFFICIENT_UNCERTAINTY),
            at(1.0 + COEFFICIENT_UNCERTAINTY)
                .min(flow(length, head, Coefficient::limit()).in_cubic_metres_per_second()),
            COEFFICIENT_UNCERTAINTY * 100.0
        ),
    ));
    notes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::METRES_PER_FOOT;

    /// US coefficients (feet, cubic feet a second) times sqrt(0.3048) are SI ones.
    fn from_us(value: f64) -> f64 {
        value * METRES_PER_FOOT.sqrt()
    }

    fn cubic_feet_per_second(flow: Flow) -> f64 {
        flow.in_cubic_metres_per_second() / METRES_PER_FOOT.powi(3)
    }

    fn feet(value: f64) -> Length {
        Length::metres(value * METRES_PER_FOOT)
    }

    /// San Diego State University, CIVE 530 midterm solution: C = 3.087 (US) from critical depth; with C rounded to
    /// 3.09, 20 ft of crest at 0.8 ft pass 44.22 ft3/s.
    #[test]
    fn critical_depth_crest() {
        assert!((Coefficient::limit().value() - 1.705).abs() < 5e-4);
        assert!((Coefficient::limit().value() - from_us(3.087)).abs() < 5e-4);
        let rounded = Coefficient(from_us(3.09));
        let passed = cubic_feet_per_second(flow(feet(20.0), feet(0.8), rounded));
        assert!((passed - 44.22).abs() < 5e-3, "{passed}");
    }

    /// Colorado Division of Reclamation, Mining and Safety, record document 438933 page 3: 5.7 ft3/s over 12 ft with
    /// C 2.5 stand 0.33 ft over the crest at 97.67, water at 98.00, bank with 1 ft freeboard at 99.00.
    #[test]
    fn pond_spillway_with_freeboard() {
        let coefficient = Coefficient::new(from_us(2.5)).unwrap();
        let design = Flow::cubic_metres_per_second(5.7 * METRES_PER_FOOT.powi(3));
        let over = head(design, feet(12.0), coefficient).unwrap();
        let over_feet = over.in_metres() / METRES_PER_FOOT;
        assert!((over_feet - 0.33).abs() < 1e-3, "{over_feet}");
        assert!((97.67 + over_feet - 98.00).abs() < 5e-3 && (97.67 + over_feet + 1.0 - 99.00).abs() < 5e-3);
    }

    #[test]
    fn head_and_length_undo_flow() {
        let coefficient = Coefficient::default();
        let (sill, over) = (Length::metres(6.0), Length::metres(0.1));
        let passed = flow(sill, over, coefficient);
        assert!((passed.in_cubic_metres_per_second() - 1.5 * 6.0 * 0.1_f64.powf(1.5)).abs() < 1e-15);
        assert!((head(passed, sill, coefficient).unwrap() - over).in_metres().abs() < 1e-12);
        assert!((length(passed, over, coefficient).unwrap() - sill).in_metres().abs() < 1e-12);
        assert_eq!(flow(sill, Length::metres(-0.2), coefficient), Flow::ZERO, "dry below the crest");
        assert!(head(Flow::ZERO, sill, coefficient).is_err());
        assert!(length(passed, Length::ZERO, coefficient).is_err());
    }

    #[test]
    fn no_coefficient_beyond_critical_depth() {
        assert!(Coefficient::new(1.705).is_ok());
        for wrong in [1.71, 3.09, 0.0, -1.0, f64::NAN] {
            assert!(Coefficient::new(wrong).is_err(), "{wrong}");
        }
    }

    /// Per-metre share through a spot 10 mm low and high: 1.31 and 0.72 at 50 mm head, 1.15 and 0.85 at 100 mm.
    #[test]
    fn share_through_a_low_spot() {
        for (head, low, share) in [(0.05, 0.01, 1.31), (0.05, -0.01, 0.72), (0.1, 0.01, 1.15), (0.1, -0.01, 0.85)] {
            assert!((flow_share(Length::metres(head), Length::metres(low)) - share).abs() < 5e-3);
        }
        assert_eq!(flow_share(Length::metres(0.05), Length::metres(-0.06)), 0.0);
    }

    #[test]
    fn tolerance_is_the_lesser_of_two() {
        assert_eq!(sill_tolerance(Length::metres(0.10)), Length::metres(0.10 * 0.1));
        assert_eq!(sill_tolerance(Length::metres(0.30)), Length::metres(0.015));
    }

    #[test]
    fn outside_the_range_is_told() {
        let codes = |head: f64, breadth: f64| -> Vec<String> {
            notes(Length::metres(6.0), Length::metres(head), Length::metres(breadth), Coefficient::default())
                .into_iter()
                .map(|note| note.code)
                .collect()
        };
        assert_eq!(codes(0.1, 1.5), ["weir::coefficient"]);
        assert_eq!(codes(0.05, 1.5), ["weir::shallow", "weir::long-crest", "weir::coefficient"]);
        assert_eq!(codes(0.3, 0.5), ["weir::narrow-crest", "weir::coefficient"]);
    }
}
