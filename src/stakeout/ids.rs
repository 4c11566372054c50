//! Short names: at most eight letters and digits, unique on the site, starting with the work's letter.
//!
//! A stake is the work's letter, the series' letter (none on the line, X offset, S sill, C crest, T toe, A
//! as-built) and the station in whole metres, or whole feet where the sheet is in feet: `U040`, `UX040`.

use crate::notes::Note;
use crate::units::Figures;
use std::collections::BTreeSet;

/// Longest name that every controller takes.
const LONGEST: usize = 8;
/// Letters that begin a series' part of a name, so that no work's second letter can be one.
const SERIES: &str = "XSCTA";
/// Letters that are read as digits on a stake, so that no work begins with one.
const LIKE_DIGITS: [char; 2] = ['I', 'O'];

/// A letter (two when the alphabet is used up) for each work: its own first letter where it is free, then another of
/// its name, then any. What is not the first letter is told.
pub(super) fn letters(names: &[&str]) -> (Vec<String>, Vec<Note>) {
    let mut taken: BTreeSet<String> = BTreeSet::new();
    let mut notes = Vec::new();
    let letters = names
        .iter()
        .map(|name| {
            let own: Vec<char> =
                name.chars().filter(char::is_ascii_alphabetic).map(|c| c.to_ascii_uppercase()).collect();
            let plain = || ('A'..='Z').filter(|letter| !LIKE_DIGITS.contains(letter));
            let of_name = own.iter().copied().filter(|letter| !LIKE_DIGITS.contains(letter));
            let singles = of_name.chain(plain()).map(String::from);
            let pairs =
                plain().flat_map(|a| plain().filter(|b| !SERIES.contains(*b)).map(move |b| format!("{a}{b}")));
            let letter = singles.chain(pairs).find(|letter| !taken.contains(letter)).unwrap_or_default();
            if own.first().map(char::to_string).as_ref() != Some(&letter) {
                notes.push(Note::new(
                    "stakeout::letter",
                    format!(
                        "stakes of `{name}` begin with {letter}: its own first letter is taken, not one of A to Z, or read as a digit (I, O)"
                    ),
                ));
            }
            taken.insert(letter.clone());
            letter
        })
        .collect();
    (letters, notes)
}

/// The letters of the work on whose line a stake of this name stands; `None` for a stake of another series.
#[must_use]
pub fn work_of_line_stake(id: &str) -> Option<&str> {
    let letters = &id[..id.find(|c: char| !c.is_ascii_uppercase())?];
    match letters.len() {
        1 => Some(letters),
        2 if !letters.ends_with(|c| SERIES.contains(c)) => Some(letters),
        _ => None,
    }
}

/// Gives out names and keeps them apart.
#[derive(Clone)]
pub(super) struct Names {
    taken: BTreeSet<String>,
    /// As the sheet writes stations: a stake's name and the station beside it say the same.
    figures: Figures,
}

impl Names {
    pub(super) fn new(figures: Figures) -> Self {
        Self { taken: BTreeSet::new(), figures }
    }

    /// The name for a station in metres: the letters and whole metres or feet; where that is taken a letter after it,
    /// where it is too long a running number.
    pub(super) fn give(&mut self, letters: &str, station: f64) -> String {
        let plain = format!("{letters}{:03.0}", self.figures.number(station.max(0.0)).round());
        let with_letter = ('A'..='Z').map(|c| format!("{plain}{c}"));
        let running = (1..1_000_000).map(|n| format!("{letters}{n}"));
        let name = std::iter::once(plain.clone())
            .chain(with_letter)
            .chain(running)
            .find(|name| name.len() <= LONGEST && !self.taken.contains(name))
            .unwrap_or(plain);
        self.taken.insert(name.clone());
        name
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::ReadingUnits;

    #[test]
    fn stakes_of_a_line_are_known_by_their_names() {
        let works = ["U040", "AB005", "UX040", "US120", "UC001", "UA003", "ABX040", "040", ""].map(work_of_line_stake);
        assert_eq!(works, [Some("U"), Some("AB"), None, None, None, None, None, None, None]);
    }

    #[test]
    fn works_of_one_initial_stay_apart() {
        let (letters, notes) = letters(&["upper", "under the ridge", "UU", "42", "Übergang"]);
        assert_eq!(letters, ["U", "N", "A", "B", "E"]);
        assert_eq!(notes.len(), 4);
    }

    #[test]
    fn no_work_begins_with_a_letter_that_is_read_as_a_digit() {
        let (letters, notes) = letters(&["outlet", "inlet", "io"]);
        assert_eq!(letters, ["U", "N", "A"]);
        assert_eq!(notes.len(), 3);
    }

    #[test]
    fn a_hundred_works_have_letters_of_their_own() {
        let names: Vec<String> = (0..100).map(|i| format!("swale {i}")).collect();
        let (letters, _) = letters(&names.iter().map(String::as_str).collect::<Vec<_>>());
        let all: BTreeSet<&String> = letters.iter().collect();
        assert_eq!(all.len(), 100);
        assert!(letters.iter().all(|l| l.len() == 1 || !SERIES.contains(&l[1..])));
    }

    #[test]
    fn names_are_short_and_unique() {
        let mut names = Names::new(Figures::default());
        assert_eq!(names.give("U", 40.2), "U040");
        assert_eq!(names.give("U", 39.6), "U040A");
        assert_eq!(names.give("UX", 0.0), "UX000");
        assert_eq!(names.give("UAS", 12_345.0), "UAS12345");
        assert_eq!(names.give("UAS", 12_345.4), "UAS1", "no room for a letter");
        assert_eq!(names.give("UAS", 1_234_567.0), "UAS2");
    }

    #[test]
    fn a_name_in_feet_says_the_station_in_feet() {
        let mut names = Names::new(Figures { units: ReadingUnits::Feet, ..Figures::default() });
        assert_eq!(names.give("U", 15.24), "U050", "50 ft are 15.24 m exactly");
    }
}
