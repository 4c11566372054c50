//! The peak flow of a small catchment in a storm by the rational method, `Q = C i A`.
//!
//! `C` is the share of the rain that runs off at the peak, `i` the mean intensity of a rain that lasts as long as the
//! catchment takes to answer (its time of concentration), `A` the catchment. Invariant: SI throughout, so that no factor
//! stands between them; with `i` in mm/h and `A` in hectares the same is `Q = C i A / 360` in m3/s (K.A.R. 5-45-9 writes it
//! in inches an hour and acres). Intensity, catchment and coefficient are what the user says: none is guessed.

use crate::notes::Note;
use crate::units::{Area, Flow, METRES_PER_FOOT, RainRate};

/// The largest catchment that the method is published for without more ado, square metres: 200 acres (hydraulics manual of
/// Oregon, 2014); others go to 640.
const LARGEST: f64 = 200.0 * 43_560.0 * METRES_PER_FOOT * METRES_PER_FOOT;
/// Least and greatest coefficient of the table for woodland, pasture and cultivated ground of Training Module 206D.
const TABLE: (f64, f64) = (0.10, 0.82);

/// A storm over a catchment, as its user states it.
#[derive(Debug, Clone, PartialEq)]
pub struct Storm {
    /// What it is called, such as `25-year`.
    pub name: String,
    /// Mean intensity of the rain.
    pub intensity: RainRate,
    /// What drains to the sill.
    pub catchment: Area,
    /// Share of the rain that runs off at the peak, above 0 and at most 1.
    pub coefficient: f64,
}

impl Storm {
    /// The peak flow.
    #[must_use]
    pub fn peak(&self) -> Flow {
        let rain = self.intensity.in_metres_per_second() * self.catchment.in_square_metres();
        Flow::cubic_metres_per_second(self.coefficient * rain)
    }

    /// In words with every number, `80.0 mm/h on 3.20 ha of which 0.40 runs off: 0.284 m3/s`.
    #[must_use]
    pub fn in_words(&self) -> String {
        format!(
            "storm `{}`, {:.1} mm/h on {:.2} ha with a runoff coefficient of {:.2}, Q = C i A = {:.3} m3/s",
            self.name,
            self.intensity.in_millimetres_per_hour(),
            self.catchment.in_square_metres() / 10_000.0,
            self.coefficient,
            self.peak().in_cubic_metres_per_second()
        )
    }

    /// What is to be told of it, every number in and out.
    #[must_use]
    pub fn notes(&self) -> Vec<Note> {
        let mut notes = vec![Note::new(
            "water::storm",
            format!(
                "{}: all three as you state them; the intensity must be that of a rain as long as the catchment takes to answer. A larger storm stands higher",
                self.in_words()
            ),
        )];
        if self.catchment.in_square_metres() > LARGEST {
            notes.push(Note::new("water::large-catchment", format!(
                "a catchment of {:.1} ha is larger than the {:.0} ha that the rational method is published for: have its peak worked out another way",
                self.catchment.in_square_metres() / 10_000.0,
                LARGEST / 10_000.0
            )));
        }
        if !(TABLE.0..=TABLE.1).contains(&self.coefficient) {
            notes.push(Note::new("water::unusual-runoff", format!(
                "a runoff coefficient of {:.2} lies outside the {:.2} to {:.2} published for woodland, pasture and cultivated ground",
                self.coefficient, TABLE.0, TABLE.1
            )));
        }
        notes
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{parse_area, parse_flow, parse_rain_rate};
    use proptest::prelude::*;

    fn storm(intensity: &str, catchment: &str, coefficient: f64) -> Storm {
        Storm {
            name: "25-year".to_owned(),
            intensity: parse_rain_rate(intensity).expect("a rate"),
            catchment: parse_area(catchment).expect("an area"),
            coefficient,
        }
    }

    /// 36 mm an hour is a hundredth of a millimetre a second: on a hectare 0.1 m3/s, half of which runs off.
    #[test]
    fn the_closed_form() {
        let peak = storm("36 mm/h", "1 ha", 0.5).peak().in_cubic_metres_per_second();
        assert!((peak - 0.05).abs() < 1e-12, "{peak}");
    }

    /// CIVE 445, midterm 2, problem 1: an effective intensity of 45.48 mm/h on 80 ha, printed 10.11 m3/s.
    #[test]
    fn a_published_example() {
        let peak = storm("45.48 mm/h", "80 ha", 1.0).peak().in_cubic_metres_per_second();
        assert!((peak - 10.11).abs() < 0.005, "{peak}");
    }

    /// An inch an hour on an acre is 43,560 / 12 / 3,600 = 1.0083 ft3/s, which the formula in feet takes as one.
    #[test]
    fn inches_and_acres_are_cubic_feet_a_second() {
        let peak = storm("1 in/h", "1 ac", 1.0).peak();
        let cubic_foot = parse_flow("1 ft3/s").expect("a flow").in_cubic_metres_per_second();
        let feet = peak.in_cubic_metres_per_second() / cubic_foot;
        assert!((feet - 43_560.0 / 43_200.0).abs() < 1e-9, "{feet}");
    }

    #[test]
    fn what_the_method_is_not_published_for_is_told() {
        let codes = |storm: &Storm| storm.notes().iter().map(|note| note.code.clone()).collect::<Vec<_>>();
        assert_eq!(codes(&storm("80 mm/h", "3.2 ha", 0.4)), ["water::storm"]);
        assert_eq!(codes(&storm("80 mm/h", "90 ha", 0.4)), ["water::storm", "water::large-catchment"]);
        assert_eq!(codes(&storm("80 mm/h", "3.2 ha", 0.95)), ["water::storm", "water::unusual-runoff"]);
        let told = &storm("80 mm/h", "3.2 ha", 0.4).notes()[0].text;
        for number in ["80.0 mm/h", "3.20 ha", "0.40", "0.284 m3/s"] {
            assert!(told.contains(number), "{told}");
        }
    }

    proptest! {
        /// Three hundred and sixtieth of C, mm/h and ha.
        #[test]
        fn it_is_the_metric_formula(c in 0.01f64..1.0, i in 1.0f64..300.0, a in 0.01f64..80.0) {
            let peak = storm(&format!("{i} mm/h"), &format!("{a} ha"), c).peak().in_cubic_metres_per_second();
            prop_assert!((peak / (c * i * a / 360.0) - 1.0).abs() < 1e-12);
        }
    }
}
