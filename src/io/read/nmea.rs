//! Logs of NMEA 0183 sentences: GGA gives place, quality and height, GST the standard deviations, GSA the dilution of
//! precision, RMC and ZDA the date.
//!
//! Three sentences and a checksum are read here in fewer lines than a crate's glue would take, and every fault keeps its
//! line. Any talker is taken (`GP`, `GN`, `GL` ...). A sentence counts only with a checksum that fits: the exclusive or of
//! the characters between `$` and `*`. Field 9 of GGA is a height above the geoid model inside the receiver, field 11 that
//! model's height above the ellipsoid: their sum is the ellipsoidal height, from which another geoid model must start.
//! Sources: field order and quality numbers as the common open decoders document them; the standard itself is not free.

use super::epochs::from_epochs;
use super::points::{FileSettings, PointFileError, Spot};
use crate::notes::{Note, Place};
use crate::survey::{Column, ColumnsFrom, Fix, Format, HeightsAre, PointFile, Position, Quality, Record, Setup};
use crate::units::LengthUnit;

const ACCEPTED: &str = "sentences such as $GNGGA,...*61 with a checksum that fits";

/// True when a text holds GGA sentences.
pub(super) fn looks_like(bytes: &[u8]) -> bool {
    let head = &bytes[..bytes.len().min(20_000)];
    head.windows(7).any(|w| w[0] == b'$' && w[1..6].iter().all(u8::is_ascii_uppercase) && &w[3..] == b"GGA,")
}

/// Reads a log that is in memory.
pub(super) fn parse(bytes: &[u8], name: &str, settings: &FileSettings) -> Result<PointFile, PointFileError> {
    let mut log = Log::default();
    for (index, line) in bytes.split(|byte| *byte == b'\n').enumerate() {
        // Text before the first $ is a stamp of the logging program.
        if let Some(start) = line.iter().position(|byte| *byte == b'$') {
            log.sentence(index as u64 + 1, &String::from_utf8_lossy(&line[start + 1..]));
        }
    }
    let spot = |line| Spot { file: name.to_owned(), line, column: 0, name: "", format: Format::Nmea };
    if log.epochs.is_empty() {
        let (line, found) = match log.bad.first() {
            Some((line, why)) => (*line, format!("no sentence that can be used, the first with {why}")),
            None => (0, format!("{} GGA sentences and none with a position", log.without_position)),
        };
        return Err(PointFileError::Log { spot: spot(line), found, accepted: ACCEPTED });
    }
    let place = Place::File { file: name.to_owned(), line: 0, column: 0 };
    let mut notes = log.notes(name);
    let fixed = log.epochs.iter().filter(|epoch| epoch.quality.fix == Fix::Fixed).count();
    let (records, told) = from_epochs(log.epochs, settings.epochs, name, Format::Nmea)?;
    notes.extend(told.map(|text| Note::new("nmea::epochs", format!("{text}; {fixed} epochs are RTK fixed"))));
    let text = "elevations are the receiver's, above the geoid model inside it; with the geoid separation they give the \
                ellipsoidal height, from which a better model would start";
    notes.push(Note::new("nmea::receiver-geoid", text));
    Ok(PointFile {
        name: name.to_owned(),
        unit: Some(LengthUnit::Metres),
        format: Format::Nmea,
        crs: None,
        geographic: None,
        heights: HeightsAre::ReceiverGeoid,
        columns: vec![Column::Latitude, Column::Longitude, Column::Elevation, Column::Height, Column::Fix],
        titles: Vec::new(),
        columns_from: ColumnsFrom::Header,
        records,
        notes: notes.into_iter().map(|note| if note.place.is_none() { note.at(place.clone()) } else { note }).collect(),
    })
}

/// A log while it is read.
#[derive(Default)]
struct Log {
    epochs: Vec<Record>,
    /// Sentences that cannot be used, with why.
    bad: Vec<(u64, String)>,
    without_position: u64,
    repeated: u64,
    /// `2020-03-18`, once a sentence has told it.
    date: Option<String>,
    /// Clock, sigma in plan, sigma in height, of a GST that stands before its GGA.
    sigmas: Option<(String, Quality)>,
}

impl Log {
    fn sentence(&mut self, line: u64, text: &str) {
        let text = text.trim_end();
        let kind = text.get(2..5).unwrap_or_default().to_owned();
        if !matches!(kind.as_str(), "GGA" | "GST" | "GSA" | "RMC" | "ZDA") {
            return;
        }
        let read = checked(text).and_then(|body| {
            let fields: Vec<&str> = body.split(',').collect();
            match kind.as_str() {
                "GGA" => self.gga(line, &fields),
                "GST" => self.gst(&fields),
                "GSA" => self.gsa(&fields),
                "RMC" => self.dated(&fields, rmc_date(&fields)),
                _ => self.dated(&fields, zda_date(&fields)),
            }
        });
        if let Err(why) = read {
            self.bad.push((line, why));
        }
    }

    fn gga(&mut self, line: u64, fields: &[&str]) -> Result<(), String> {
        if fields.len() < 12 {
            return Err(format!("{} fields in GGA where 12 are due", fields.len()));
        }
        let quality_number = fields[6];
        if fields[2].is_empty() || fields[4].is_empty() || quality_number == "0" {
            self.without_position += 1;
            return Ok(());
        }
        let latitude = degrees(fields[2], fields[3], 2, ["N", "S"], 90.0)?;
        let longitude = degrees(fields[4], fields[5], 3, ["E", "W"], 180.0)?;
        let elevation = number(fields[9])?;
        let separation = number(fields[11])?;
        let clock = fields[1].to_owned();
        let time = self.time(&clock)?;
        if self.epochs.last().is_some_and(|last| last.time == time) {
            self.repeated += 1;
            return Ok(());
        }
        let mut quality = Quality {
            fix: match quality_number {
                "4" => Fix::Fixed,
                "5" => Fix::Float,
                _ => Fix::Coarse,
            },
            satellites: fields[7].parse().ok(),
            hdop: number(fields[8])?,
            age: fields.get(13).and_then(|age| age.parse().ok()).filter(|age: &f64| age.is_finite()),
            ..Quality::default()
        };
        if let Some((_, sigmas)) = self.sigmas.take().filter(|(of, _)| *of == clock) {
            quality.horizontal_sigma = sigmas.horizontal_sigma;
            quality.vertical_sigma = sigmas.vertical_sigma;
        }
        let base = fields.get(14).copied().unwrap_or_default().to_owned();
        self.epochs.push(Record {
            line,
            id: String::new(),
            position: Position::Geographic { longitude, latitude },
            elevation,
            ellipsoid_height: elevation.zip(separation).map(|(elevation, separation)| elevation + separation),
            code: String::new(),
            quality,
            time,
            setup: Setup { base, geoid: "inside the receiver".to_owned(), ..Setup::default() },
        });
        Ok(())
    }

    /// Fields 6 to 8: standard deviations of latitude, longitude and altitude, metres.
    fn gst(&mut self, fields: &[&str]) -> Result<(), String> {
        let &[_, clock, _, _, _, _, north, east, up, ..] = fields else {
            return Err(format!("{} fields in GST where 9 are due", fields.len()));
        };
        let (north, east, up) = (number(north)?, number(east)?, number(up)?);
        let sigmas = Quality {
            horizontal_sigma: north.zip(east).map(|(north, east)| north.hypot(east)),
            vertical_sigma: up,
            ..Quality::default()
        };
        let time = self.time(clock)?;
        match self.epochs.last_mut().filter(|last| last.time == time) {
            Some(last) => {
                last.quality.horizontal_sigma = sigmas.horizontal_sigma;
                last.quality.vertical_sigma = sigmas.vertical_sigma;
            }
            None => self.sigmas = Some((clock.to_owned(), sigmas)),
        }
        Ok(())
    }

    /// Field 15: dilution of precision in space. GSA has no time of its own and follows its GGA.
    fn gsa(&mut self, fields: &[&str]) -> Result<(), String> {
        if fields.len() < 18 {
            return Err(format!("{} fields in GSA where 18 are due", fields.len()));
        }
        let pdop = number(fields[15])?;
        if let Some(last) = self.epochs.last_mut() {
            last.quality.pdop = pdop.or(last.quality.pdop);
        }
        Ok(())
    }

    /// The day, which holds from here on and for an epoch of the same clock just before.
    fn dated(&mut self, fields: &[&str], date: Option<String>) -> Result<(), String> {
        let Some(date) = date else { return Ok(()) };
        let clock = clock(fields.get(1).copied().unwrap_or_default())?;
        if let Some(last) = self.epochs.last_mut().filter(|last| last.time == clock) {
            last.time = clock.map(|clock| format!("{date}T{clock}Z"));
        }
        self.date = Some(date);
        Ok(())
    }

    fn time(&self, text: &str) -> Result<Option<String>, String> {
        Ok(clock(text)?.map(|clock| match &self.date {
            Some(date) => format!("{date}T{clock}Z"),
            None => clock,
        }))
    }

    fn notes(&self, name: &str) -> Vec<Note> {
        let mut notes = Vec::new();
        if let Some((line, why)) = self.bad.first() {
            let text = format!("{} sentences are left out, the first with {why}", self.bad.len());
            let place = Place::File { file: name.to_owned(), line: *line, column: 0 };
            notes.push(Note::new("nmea::sentences-left-out", text).at(place));
        }
        if self.without_position > 0 {
            let text = format!("{} GGA sentences hold no position", self.without_position);
            notes.push(Note::new("nmea::no-position", text));
        }
        if self.repeated > 0 {
            let text = format!("{} GGA sentences repeat the time of the one before and are left out", self.repeated);
            notes.push(Note::new("nmea::repeated", text));
        }
        notes
    }
}

/// What stands between `$` and `*`, when the checksum behind it fits.
fn checked(text: &str) -> Result<&str, String> {
    let (body, sum) = text.split_once('*').ok_or("no checksum: the sentence is cut short")?;
    let due = body.bytes().fold(0, |sum, byte| sum ^ byte);
    match u8::from_str_radix(sum.get(..2).unwrap_or_default(), 16) {
        Ok(found) if found == due => Ok(body),
        _ => Err(format!("checksum {sum} where {due:02X} is due")),
    }
}

/// `ddmm.mmmm` or `dddmm.mmmm` with its side.
fn degrees(text: &str, side: &str, digits: usize, sides: [&str; 2], limit: f64) -> Result<f64, String> {
    let fault = || format!("`{text},{side}`, which is no place");
    let sign = match sides.iter().position(|known| *known == side).ok_or_else(fault)? {
        0 => 1.0,
        _ => -1.0,
    };
    let plain = text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    let (whole, minutes) = text.split_at_checked(digits).filter(|_| plain).ok_or_else(fault)?;
    let whole: f64 = whole.parse().map_err(|_| fault())?;
    let minutes: f64 = minutes.parse().map_err(|_| fault())?;
    let value = whole + minutes / 60.0;
    if minutes < 60.0 && value <= limit { Ok(sign * value) } else { Err(fault()) }
}

fn number(text: &str) -> Result<Option<f64>, String> {
    match text.parse::<f64>() {
        _ if text.is_empty() => Ok(None),
        Ok(number) if number.is_finite() => Ok(Some(number)),
        _ => Err(format!("`{text}`, which is no number")),
    }
}

/// `hhmmss.ss` as `hh:mm:ss.ss`.
fn clock(text: &str) -> Result<Option<String>, String> {
    if text.is_empty() {
        return Ok(None);
    }
    let plain = text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    if !plain || text.find('.').unwrap_or(text.len()) != 6 {
        return Err(format!("`{text}`, which is no time hhmmss.ss"));
    }
    Ok(Some(format!("{}:{}:{}", &text[..2], &text[2..4], &text[4..])))
}

/// Field 9 of RMC, `ddmmyy`; the standard was born in 1980, so years from 80 on are of that century.
fn rmc_date(fields: &[&str]) -> Option<String> {
    let text = fields.get(9).filter(|text| text.len() == 6 && text.bytes().all(|byte| byte.is_ascii_digit()))?;
    let year: u32 = text[4..].parse().ok()?;
    Some(format!("{}-{}-{}", if year < 80 { 2000 + year } else { 1900 + year }, &text[2..4], &text[..2]))
}

/// Fields 2 to 4 of ZDA: day, month, year.
fn zda_date(fields: &[&str]) -> Option<String> {
    let [day, month, year] = [2, 3, 4].map(|at| fields.get(at).and_then(|text| text.parse::<u32>().ok()));
    Some(format!("{:04}-{:02}-{:02}", year?, month?, day?))
}

#[cfg(test)]
#[path = "nmea_tests.rs"]
mod tests;
