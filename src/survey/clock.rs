//! Times as files write them, so far that the span between two shots can be told.
//!
//! Invariant: a text that could mean two different times gives none. Offsets from UTC are allowed for when written; a
//! time without one is taken as its file's own clock, so spans hold within one file or between files of one clock.

/// A time of day, with its day where the text says it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Days since 1970-01-01.
    pub day: Option<i64>,
    /// Seconds since midnight.
    pub seconds: f64,
}

const DAY: f64 = 86_400.0;

impl Moment {
    /// Reads `2026-03-14T08:20:00Z`, `2026/03/14 08:20:00.0`, `14.03.2026 8:20`, `08:20:00`, with or without `am` and
    /// `pm`. A date such as `03/04/2026`, which is March to some and April to others, gives nothing.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let text = text.trim().to_ascii_lowercase();
        let text = text.trim_end_matches(['z']).trim_end_matches("utc").trim_end();
        let (text, half) = match text.strip_suffix("am").map(|rest| (rest, 0.0)) {
            Some((rest, _)) => (rest.trim_end(), Some(0.0)),
            None => text.strip_suffix("pm").map_or((text, None), |rest| (rest.trim_end(), Some(12.0))),
        };
        let mut parts = text.split(['t', ' ']).filter(|part| !part.is_empty());
        let (first, second, more) = (parts.next()?, parts.next(), parts.next());
        if more.is_some() {
            return None;
        }
        match second {
            Some(time) => {
                let (clock, offset) = offset_of(time)?;
                let seconds = of_day(clock, half)? - offset;
                let day = day_of(first)?;
                Some(Self { day: Some(day), seconds })
            }
            None if first.contains(':') => Some(Self { day: None, seconds: of_day(first, half)? }),
            None => Some(Self { day: Some(day_of(first)?), seconds: 0.0 }),
        }
    }

    /// Seconds from an earlier moment to this one; without days the shorter way round midnight. `None` when only one of
    /// them says its day.
    #[must_use]
    pub fn since(&self, earlier: &Self) -> Option<f64> {
        let span = self.seconds - earlier.seconds;
        match (self.day, earlier.day) {
            #[expect(clippy::cast_precision_loss, reason = "days of a calendar")]
            (Some(day), Some(before)) => Some(span + (day - before) as f64 * DAY),
            (None, None) => Some(span - (span / DAY).round() * DAY),
            _ => None,
        }
    }
}

/// A time of day and its offset from UTC in seconds.
fn offset_of(time: &str) -> Option<(&str, f64)> {
    let Some(at) = time.rfind(['+', '-']) else { return Some((time, 0.0)) };
    let (clock, offset) = time.split_at(at);
    let sign = if offset.starts_with('-') { -1.0 } else { 1.0 };
    let digits: String = offset[1..].chars().filter(|c| *c != ':').collect();
    let number: u32 = digits.parse().ok()?;
    let (hours, minutes) = if digits.len() > 2 { (number / 100, number % 100) } else { (number, 0) };
    (hours <= 14 && minutes < 60).then(|| (clock, sign * f64::from(hours * 3600 + minutes * 60)))
}

fn of_day(text: &str, half: Option<f64>) -> Option<f64> {
    let mut parts = text.split(':');
    let mut hours: f64 = plain(parts.next()?)?;
    let minutes: f64 = plain(parts.next()?)?;
    let seconds: f64 = parts.next().map_or(Some(0.0), plain)?;
    if let Some(half) = half {
        hours = if hours == 12.0 { half } else { hours + half };
    }
    let sound = parts.next().is_none() && hours < 24.0 && minutes < 60.0 && seconds < 61.0;
    sound.then_some(hours * 3600.0 + minutes * 60.0 + seconds)
}

/// Digits with or without a decimal point.
fn plain(text: &str) -> Option<f64> {
    let sound = !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    text.parse().ok().filter(|_| sound)
}

fn day_of(text: &str) -> Option<i64> {
    let parts: Vec<i64> = text.split(['-', '/', '.']).map(|part| part.parse().ok()).collect::<Option<_>>()?;
    let &[a, b, c] = parts.as_slice() else { return None };
    let (year, month, day) = match (a, b, c) {
        (1900.., ..) => (a, b, c),
        (_, _, 1900..) if text.contains('.') => (c, b, a),
        (13.., ..=12, 1900..) => (c, b, a),
        (..=12, 13.., 1900..) => (c, a, b),
        (a, b, 1900..) if a == b => (c, a, b),
        _ => return None,
    };
    day_number(year, month, day)
}

/// Days since 1970-01-01 of a date of the Gregorian calendar; `None` when there is no such date.
#[must_use]
pub fn day_number(year: i64, month: i64, day: i64) -> Option<i64> {
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let lengths = [31, if leap { 29 } else { 28 }, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    let index = usize::try_from(month - 1).ok()?;
    let sound = (1900..2200).contains(&year) && lengths.get(index).is_some_and(|length| (1..=*length).contains(&day));
    if !sound {
        return None;
    }
    let years = year - 1;
    let before = years * 365 + years / 4 - years / 100 + years / 400;
    // Days from 0001-01-01 to 1970-01-01.
    Some(before + lengths[..index].iter().sum::<i64>() + day - 1 - 719_162)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_of_the_calendar() {
        assert_eq!(day_number(1970, 1, 1), Some(0));
        // 1 January 2000 is day 10957, as every clock that counts seconds since 1970 has it (946684800 / 86400).
        assert_eq!(day_number(2000, 1, 1), Some(10_957));
        assert_eq!(day_number(2024, 2, 29), Some(19_782));
        assert_eq!(day_number(2023, 2, 29), None);
        assert_eq!(day_number(2023, 13, 1), None);
    }

    #[test]
    fn the_same_moment_in_many_spellings() {
        let due = Some(Moment { day: Some(20_526), seconds: 30_000.5 });
        for text in [
            "2026-03-14T08:20:00.5",
            "2026-03-14T08:20:00.5Z",
            "2026/03/14 08:20:00.50",
            "14/03/2026 8:20:00.5 AM",
            "03/14/2026 08:20:00.5",
            "14.03.2026 08:20:00.5 UTC",
            "2026-03-14T18:20:00.5+10:00",
        ] {
            assert_eq!(Moment::read(text), due, "{text}");
        }
        assert_eq!(Moment::read("12:05 pm").unwrap().seconds, 43_500.0);
        assert_eq!(Moment::read("12:05 am").unwrap().seconds, 300.0);
    }

    #[test]
    fn what_could_mean_two_things_gives_nothing() {
        for text in ["03/04/2026 08:00", "", "noon", "25:00", "08:61", "2026-02-30", "1.5", "a b c", "2026-03-14T+"] {
            assert_eq!(Moment::read(text), None, "{text}");
        }
    }

    #[test]
    fn spans() {
        let span = |a: &str, b: &str| Moment::read(b).unwrap().since(&Moment::read(a).unwrap());
        assert_eq!(span("23:59:58", "00:00:01"), Some(3.0));
        assert_eq!(span("2026-02-28 12:00", "2026-03-01 11:00"), Some(82_800.0));
        assert_eq!(span("2026-02-28 12:00", "11:00"), None);
    }
}
