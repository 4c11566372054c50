//! `[site]`: the name, the frame, how people read it.

use super::fault::{Fault, Located};
use super::keys;
use super::walk::{Shape, Table, number_of, shown};
use crate::sheet::{Issue, Region};
use crate::units::{FeetStyle, Figures, ReadingUnits};

/// The site as the file describes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    /// Its name.
    pub name: String,
    /// The horizontal system.
    pub crs: Located<String>,
    /// How people read lengths.
    pub units: ReadingUnits,
    /// How feet are written.
    pub feet: FeetStyle,
    /// Whose words the sheets use.
    pub region: Region,
    /// The date on documents, `2026-03-14`.
    pub date: Option<String>,
    /// Which issue of sheet and stake list, from one.
    pub issue: u32,
    /// What this issue replaces, in the user's words.
    pub replaces: Option<String>,
    /// What elevations are above, in the user's words.
    pub height: Option<String>,
    /// Grid length over ground length.
    pub combined_factor: Option<Located<FactorAsked>>,
}

/// Where the combined factor comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FactorAsked {
    /// The user says it.
    Said(f64),
    /// From the projection and the mean elevation.
    Computed,
}

impl Site {
    /// How numbers are written on sheets and stakes.
    #[must_use]
    pub const fn figures(&self) -> Figures {
        Figures { units: self.units, feet: self.feet }
    }

    /// What sheets and stake lists say of their issue; without a date, paper leaves a blank for it.
    #[must_use]
    pub fn issue<'a>(&'a self, date: impl Into<Option<&'a str>>) -> Issue<'a> {
        Issue { number: self.issue, date: date.into(), replaces: self.replaces.as_deref() }
    }
}

pub(super) fn read(table: &Table<'_>) -> Option<Site> {
    let name = table.text(&keys::SITE_NAME);
    let crs = table.text(&keys::SITE_CRS);
    let units = table.choice(
        &keys::SITE_UNITS,
        &[
            ("metric", ReadingUnits::Metric),
            ("feet", ReadingUnits::Feet),
            ("us-survey-feet", ReadingUnits::UsSurveyFeet),
        ],
    );
    let region = table.choice(&keys::SITE_REGION, &Region::ALL.map(|region| (region.name(), region)));
    let feet =
        table.choice(&keys::SITE_FEET, &[("tenths", FeetStyle::Tenths), ("feet-and-inches", FeetStyle::FeetAndInches)]);
    let date = table.with(&keys::SITE_DATE, date);
    let issue = issue(table);
    let replaces = replaces(table, issue);
    let height = table.text(&keys::SITE_HEIGHT);
    let combined_factor = table.with(&keys::SITE_COMBINED_FACTOR, |shape| {
        let asked = match (shape.value.as_str(), number_of(shape.value)) {
            (Some("computed"), _) => Some(FactorAsked::Computed),
            // Projections and heights of land stay well within this.
            (None, Some(factor)) if (0.99..=1.01).contains(&factor) => Some(FactorAsked::Said(factor)),
            _ => None,
        };
        if asked.is_none() {
            shape.not_a_choice(&shown(shape.value), "a number from 0.99 to 1.01, or `computed`");
        }
        Some(Located::new(asked?, shape.span.clone()))
    });
    Some(Site {
        name: name?.value,
        crs: crs?,
        units: units?,
        feet: feet?,
        region: region?,
        date,
        issue: issue?,
        replaces,
        height: height.map(|text| text.value),
        combined_factor,
    })
}

/// Highest number of an issue; beyond it a date or a year was meant.
const MOST_ISSUES: f64 = 999.0;

/// A day of the calendar.
pub(super) fn date(shape: &Shape<'_>) -> Option<String> {
    let text = shape.value.as_str().map(str::to_owned).or_else(|| shape.value.as_datetime().map(ToString::to_string));
    let date = text.filter(|text| is_date(text));
    if date.is_none() {
        shape.faults.add(
            Fault::new("pipeline::not-a-date", shape.span.clone(), "`date` is not a day of the calendar")
                .help("write it as \"2026-03-14\", year, month, day"),
        );
    }
    date
}

fn issue(table: &Table<'_>) -> Option<u32> {
    if table.value(&keys::SITE_ISSUE).is_none() {
        return Some(1);
    }
    let number = table.number(&keys::SITE_ISSUE)?;
    if number.fract() != 0.0 || !(1.0..=MOST_ISSUES).contains(&number) {
        table.out_of_range(&keys::SITE_ISSUE, "it is a whole number from 1 to 999");
        return None;
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a whole number from 1 to 999")]
    let whole = number as u32;
    Some(whole)
}

/// A first issue replaces nothing, and nothing is replaced by an empty text.
fn replaces(table: &Table<'_>, issue: Option<u32>) -> Option<String> {
    let text = table.text(&keys::SITE_REPLACES)?.value;
    if text.trim().is_empty() {
        table.out_of_range(&keys::SITE_REPLACES, "it says nothing; leave the key away instead");
        return None;
    }
    if issue == Some(1) {
        table.out_of_range(&keys::SITE_REPLACES, "issue 1 replaces nothing: write `issue = 2` or higher beside it");
        return None;
    }
    Some(text)
}

/// True for `year-month-day` that exists.
fn is_date(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let [year, month, day] = parts.as_slice() else { return false };
    let whole = |part: &str, digits: usize| {
        (part.len() == digits && part.bytes().all(|b| b.is_ascii_digit())).then(|| part.parse::<u32>().ok()).flatten()
    };
    let (Some(year), Some(month), Some(day)) = (whole(year, 4), whole(month, 2), whole(day, 2)) else { return false };
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let days = match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 if leap => 29,
        2 => 28,
        _ => 0,
    };
    (1..=days).contains(&day)
}

#[cfg(test)]
mod tests {
    use super::is_date;

    #[test]
    fn days_that_exist() {
        assert!(is_date("2024-02-29"));
        assert!(!is_date("2026-02-29"));
        assert!(!is_date("2026-13-01"));
        assert!(!is_date("14/03/2026"));
    }
}
