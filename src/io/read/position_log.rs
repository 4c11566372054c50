//! Position logs of post-processing: a header behind `%`, then one epoch a line in columns parted by spaces.
//!
//! The last `%` line names the columns. The time takes two fields (a date or week, then the time). `Q` counts its own way,
//! not as NMEA does, and the header says how (`Q=1:fix,2:float,...`). Heights are above the ellipsoid. The place of the
//! base, where the header has it, gives the distance to it.

use super::epochs::from_epochs;
use super::points::{FileSettings, Header, PointFileError, Row, Spot, Table, decode, fields};
use crate::notes::{Note, Place};
use crate::survey::{Column, Delimiter, Fix, Format, PointFile, Position, step};
use crate::units::LengthUnit;

/// True when a text opens with `%` lines of which one names latitude and longitude, or the three axes of a position.
pub(super) fn looks_like(bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(&bytes[..bytes.len().min(20_000)]);
    let mut head = text.trim_start_matches('\u{feff}').lines().take_while(|line| line.starts_with('%')).peekable();
    head.peek().is_some()
        && head.any(|line| line.contains("latitude(") || line.contains("x-ecef(") || is_baseline(line))
}

fn is_baseline(line: &str) -> bool {
    line.contains("e-baseline(")
}

/// Reads a log that is in memory.
pub(super) fn parse(bytes: &[u8], name: &str, settings: &FileSettings) -> Result<PointFile, PointFileError> {
    let (text, _) = decode(bytes, name)?;
    let mut head = Head::default();
    let mut rows = Vec::new();
    for (index, line) in text.lines().enumerate() {
        let number = index as u64 + 1;
        match line.strip_prefix('%') {
            Some(comment) => head.read(number, comment),
            None if line.trim().is_empty() => {}
            None => rows.push(Row { line: number, fields: fields(line, Delimiter::Space) }),
        }
    }
    let spot = |line| Spot { file: name.to_owned(), line, column: 0, name: "", format: Format::PositionLog };
    let Some((line, titles)) = head.titles.take() else {
        let found = "no header that names latitude and longitude".to_owned();
        let accepted = "a log in latitude, longitude and ellipsoidal height";
        return Err(PointFileError::Log { spot: spot(0), found, accepted });
    };
    if !titles.iter().any(|title| title.starts_with("latitude(deg")) {
        let accepted = "latitude(deg), longitude(deg), height(m): write the log in degrees";
        return Err(PointFileError::Log { spot: spot(line), found: format!("columns {}", titles.join(" ")), accepted });
    }
    if rows.is_empty() {
        let found = "a header and no epoch behind it".to_owned();
        return Err(PointFileError::Log {
            spot: spot(line),
            found,
            accepted: "one epoch a line: is the log cut short?",
        });
    }
    let due = titles.len() + 1;
    for row in &mut rows {
        if row.fields.len() != due {
            let found = format!("{} fields", row.fields.len());
            let spot = spot(row.line);
            let accepted = "as many as the header names, the time in two: is the log cut short?";
            return Err(PointFileError::Log { spot, found, accepted });
        }
        let time = row.fields.remove(1);
        row.fields[0] = format!("{} {time}", row.fields[0]);
    }
    // Only the columns that mean something to a survey; the velocities and covariances behind them are no fault.
    let header = Some(Header { line, titles });
    let table = Table { name: name.to_owned(), format: Format::PositionLog, header, rows, notes: Vec::new() };
    let words = table.column("Q");
    let mut file =
        table.into_file(&FileSettings { columns: None, unit: Some(LengthUnit::Metres), ..settings.clone() })?;
    file.notes.retain(|note| !matches!(note.code.as_str(), "points::fix-numbers" | "points::columns-not-read"));
    file.unit = Some(LengthUnit::Metres);
    for (record, word) in file.records.iter_mut().zip(&words) {
        record.quality.fix = head.fix(word);
        record.quality.base_distance = head.base.map(|base| {
            let [east, north] = step(base, record.position);
            east.hypot(north)
        });
    }
    let fixed = file.records.iter().filter(|record| record.quality.fix == Fix::Fixed).count();
    let (records, told) = from_epochs(file.records, settings.epochs, name, Format::PositionLog)?;
    file.records = records;
    let whole = Place::File { file: name.to_owned(), line: 0, column: 0 };
    file.notes.extend(
        told.map(|text| {
            Note::new("position-log::epochs", format!("{text}; {fixed} epochs are fixed")).at(whole.clone())
        }),
    );
    if !file.columns.contains(&Column::Fix) {
        let text = "the log has no column Q: what kind of solution each epoch is stays unknown";
        file.notes.push(Note::new("position-log::no-quality", text).at(whole));
    }
    Ok(file)
}

/// What the `%` lines say.
#[derive(Default)]
struct Head {
    titles: Option<(u64, Vec<String>)>,
    /// What the numbers of column Q mean.
    fixes: Vec<(String, Fix)>,
    base: Option<Position>,
}

impl Head {
    fn read(&mut self, line: u64, text: &str) {
        if let Some((_, list)) = text.split_once("Q=") {
            let entries = list.trim_end_matches(')').split(',').filter_map(|entry| entry.split_once(':'));
            self.fixes = entries.map(|(number, word)| (number.trim().to_owned(), Self::kind(word.trim()))).collect();
        } else if text.contains("latitude(") || text.contains("x-ecef(") || is_baseline(text) {
            self.titles = Some((line, fields(text, Delimiter::Space)));
        } else if let Some((key, value)) = text.split_once(':')
            && key.trim() == "ref pos"
        {
            let numbers: Vec<f64> = value.split_whitespace().filter_map(|word| word.parse().ok()).collect();
            if let [latitude, longitude, _] = numbers[..]
                && latitude.abs() <= 90.0
                && longitude.abs() <= 180.0
            {
                self.base = Some(Position::Geographic { longitude, latitude });
            }
        }
    }

    fn kind(word: &str) -> Fix {
        match word {
            "fix" | "fixed" => Fix::Fixed,
            "float" => Fix::Float,
            _ => Fix::Coarse,
        }
    }

    /// By the header's own list; without one 1 is fixed and 2 float, as such logs count.
    fn fix(&self, number: &str) -> Fix {
        match self.fixes.iter().find(|(known, _)| known == number) {
            Some((_, fix)) => *fix,
            None => match number {
                "1" => Fix::Fixed,
                "2" => Fix::Float,
                "" => Fix::Unknown,
                _ => Fix::Coarse,
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::Epochs;
    use proptest::prelude::*;

    const HEAD: &str = "% ref pos   : -34.500000000  147.250000000   104.8530\n\
                        % (lat/lon/height=WGS84/ellipsoidal,Q=1:fix,2:float,3:sbas,4:dgps,5:single,6:ppp,ns=# of satellites)\n\
                        %  GPST                  latitude(deg) longitude(deg)  height(m)   Q  ns   sdn(m)   sde(m)   sdu(m)  sdne(m) age(s)  ratio\n";

    fn line(second: u32, latitude: f64, quality: u32) -> String {
        format!(
            "2024/06/24 08:20:{second:02}.000   {latitude:.9}  147.250000000   104.8619   {quality}  42   0.0030   0.0040   \
             0.0069   0.0008   0.50   12.0\n"
        )
    }

    fn read(text: &str, epochs: Epochs) -> Result<PointFile, String> {
        let settings = FileSettings { epochs, ..FileSettings::default() };
        parse(text.as_bytes(), "a.pos", &settings).map_err(|error| error.to_string())
    }

    #[test]
    fn an_epoch_with_all_that_it_says() {
        let text = format!("{HEAD}{}{}", line(0, -34.499, 1), line(1, -34.499, 2));
        let file = read(&text, Epochs::Every).unwrap();
        let [fixed, float] = file.records.as_slice() else { panic!() };
        assert_eq!(fixed.position, Position::Geographic { longitude: 147.25, latitude: -34.499 });
        assert_eq!((fixed.ellipsoid_height, fixed.elevation), (Some(104.8619), Some(104.8619)));
        let quality = fixed.quality;
        assert_eq!((quality.fix, float.quality.fix), (Fix::Fixed, Fix::Float));
        assert!((quality.horizontal_sigma.unwrap() - 0.005).abs() < 1e-12);
        assert_eq!((quality.vertical_sigma, quality.satellites), (Some(0.0069), Some(42)));
        assert_eq!((quality.age, quality.ratio), (Some(0.5), Some(12.0)));
        // A thousandth of a degree of latitude at 34.5 degrees south is 110.93 m.
        assert!((quality.base_distance.unwrap() - 110.93).abs() < 0.01);
        assert_eq!(fixed.time.as_deref(), Some("2024/06/24 08:20:00.000"));
    }

    #[test]
    fn the_header_says_how_solutions_are_counted() {
        let other = HEAD.replace("Q=1:fix,2:float", "Q=1:float,2:fix");
        let file = read(&format!("{other}{}", line(0, -34.499, 2)), Epochs::Every).unwrap();
        assert_eq!(file.records[0].quality.fix, Fix::Fixed);
    }

    #[test]
    fn faults_name_their_line() {
        let cut = format!("{HEAD}{}{}", line(0, -34.499, 1), &line(1, -34.499, 1)[..60]);
        assert_eq!(
            read(&cut, Epochs::Every).unwrap_err(),
            "a.pos:5: found 5 fields, accepted is as many as the header names, the time in two: is the log cut short?"
        );
        let text = HEAD.replace("latitude(deg)", "x-ecef(m)").replace("longitude(deg)", "y-ecef(m)");
        let error = read(&format!("{text}{}", line(0, 1.0, 1)), Epochs::Every).unwrap_err();
        assert!(error.starts_with("a.pos:3: found columns GPST x-ecef(m) y-ecef(m)"), "{error}");
        assert_eq!(
            read(HEAD, Epochs::Every).unwrap_err(),
            "a.pos:3: found a header and no epoch behind it, accepted is one epoch a line: is the log cut short?"
        );
        let text = format!("{HEAD}{}", line(0, -34.499, 1).replace("104.8619", "1o4.8619"));
        assert_eq!(read(&text, Epochs::Every).unwrap_err(), "a.pos:4: column 4 (height): `1o4.8619` is not a number");
    }

    proptest! {
        #[test]
        fn any_text_ends_in_a_file_or_a_fault(text in "(% ?[a-z:(),=0-9 ]{0,30}\n){0,4}([0-9./: -]{0,40}\n){0,6}") {
            let _ = read(&format!("{HEAD}{text}"), Epochs::Standing);
            let _ = read(&text, Epochs::Standing);
        }
    }
}
