//! One line of a point file to one record.

use super::{PointFileError, dialect};
use crate::notes::{Note, Place};
use crate::survey::{Column, Delimiter, Fix, Position, Quality, Record, Setup, Tilt};

/// How the lines of a file are laid out.
#[derive(Debug)]
pub(super) struct Layout<'a> {
    pub(super) file: &'a str,
    pub(super) columns: &'a [Column],
    /// Factor of each column into the file's unit.
    pub(super) factors: &'a [f64],
    pub(super) delimiter: Delimiter,
    pub(super) decimal_comma: bool,
    /// With a header each line has as many fields as the header; without, a description may hold delimiters.
    pub(super) strict: bool,
    pub(super) height_is_elevation: bool,
}

impl Layout<'_> {
    /// Reads a line.
    pub(super) fn record(&self, line: u64, text: &str) -> Result<Record, PointFileError> {
        let fields = self.fields(line, text)?;
        let at = |column: Column| self.columns.iter().position(|c| *c == column);
        let text = |column: Column| at(column).and_then(|i| fields.get(i)).map_or("", String::as_str);
        let wanted = |column: Column| match self.number(line, column, &fields)? {
            Some(value) => Ok(value),
            None => Err(self.not_a_number(line, column, "")),
        };
        let position = if at(Column::Easting).is_some() && at(Column::Northing).is_some() {
            Position::Grid { easting: wanted(Column::Easting)?, northing: wanted(Column::Northing)? }
        } else {
            let degrees = |column: Column, limit: f64, accepted: &'static str| {
                let value = wanted(column)?;
                if value.abs() <= limit {
                    Ok(value)
                } else {
                    Err(self.out_of_range(line, column, text(column), accepted))
                }
            };
            Position::Geographic {
                longitude: degrees(Column::Longitude, 180.0, "degrees from -180 to 180")?,
                latitude: degrees(Column::Latitude, 90.0, "degrees from -90 to 90")?,
            }
        };
        let height = if self.height_is_elevation { Column::Height } else { Column::Elevation };
        let not_negative = |column: Column| match self.number(line, column, &fields)? {
            Some(value) if value < 0.0 => Err(self.out_of_range(line, column, text(column), "zero or more")),
            value => Ok(value),
        };
        let axes = not_negative(Column::NorthSigma)?.zip(not_negative(Column::EastSigma)?);
        let quality = Quality {
            fix: read_fix(text(Column::Fix)).unwrap_or(Fix::Unknown),
            horizontal_sigma: not_negative(Column::HorizontalSigma)?.or(axes.map(|(north, east)| north.hypot(east))),
            vertical_sigma: not_negative(Column::VerticalSigma)?,
            pdop: not_negative(Column::Pdop)?,
            hdop: not_negative(Column::Hdop)?,
            satellites: not_negative(Column::Satellites)?.map(whole_number),
            age: not_negative(Column::Age)?,
            base_distance: not_negative(Column::BaseDistance)?,
            ratio: not_negative(Column::Ratio)?,
            epochs: not_negative(Column::Epochs)?.map(whole_number),
            antenna_height: self.number(line, Column::AntennaHeight, &fields)?,
            tilt: read_tilt(text(Column::Tilt)),
            ..Quality::default()
        };
        let setup = Setup {
            until: text(Column::EndTime).to_owned(),
            base: text(Column::Base).to_owned(),
            occupation: text(Column::Occupation).to_owned(),
            geoid: text(Column::Geoid).to_owned(),
            antenna: text(Column::Antenna).to_owned(),
        };
        let time = format!("{} {}", text(Column::Date), text(Column::Time));
        Ok(Record {
            line,
            id: text(Column::Point).to_owned(),
            position,
            elevation: self.number(line, height, &fields)?,
            ellipsoid_height: self.number(line, Column::Height, &fields)?,
            code: text(Column::Code).to_owned(),
            quality,
            time: Some(time.trim()).filter(|time| !time.is_empty()).map(str::to_owned),
            setup,
        })
    }

    /// The fields of a line, as many as there are columns.
    fn fields(&self, line: u64, text: &str) -> Result<Vec<String>, PointFileError> {
        let mut fields = dialect::fields(text, self.delimiter);
        let (found, expected) = (fields.len(), self.columns.len());
        while fields.len() > expected && fields.last().is_some_and(String::is_empty) {
            fields.pop();
        }
        let last_is_code = self.columns.last() == Some(&Column::Code);
        if fields.len() > expected && last_is_code && !self.strict {
            let joint = match self.delimiter {
                Delimiter::Comma => ", ",
                Delimiter::Semicolon => "; ",
                Delimiter::Tab | Delimiter::Space => " ",
            };
            let description = fields.split_off(expected - 1).join(joint);
            fields.push(description);
        }
        // Collectors leave an empty description out altogether; in a file parted by spaces it cannot even be shown.
        let loose = !self.strict || self.delimiter == Delimiter::Space;
        if fields.len() + 1 == expected && last_is_code && loose && self.number_stands_before_code(&fields) {
            fields.push(String::new());
        }
        if fields.len() == expected {
            return Ok(fields);
        }
        let names = self.columns.iter().map(|column| column.name()).collect::<Vec<_>>().join(", ");
        Err(PointFileError::ColumnCount { file: self.file.to_owned(), line, found, expected, names })
    }

    /// True unless the last field is a word where the columns want a number: then something else is missing.
    fn number_stands_before_code(&self, fields: &[String]) -> bool {
        let words = [Column::Point, Column::Fix, Column::Time, Column::Skip];
        let column = self.columns[fields.len() - 1];
        words.contains(&column) || fields.last().is_some_and(|field| is_number(field, self.decimal_comma))
    }

    /// The number in a column, `None` when the file has no such column or the field is empty or a dash.
    fn number(&self, line: u64, column: Column, fields: &[String]) -> Result<Option<f64>, PointFileError> {
        let Some(at) = self.columns.iter().position(|c| *c == column) else { return Ok(None) };
        let text = fields[at].as_str();
        if text.is_empty() || text == "-" {
            return Ok(None);
        }
        let Some(value) = parse_number(text, self.decimal_comma) else {
            return Err(self.not_a_number(line, column, text));
        };
        let value = value * self.factors[at];
        if value.is_finite() {
            return Ok(Some(value));
        }
        Err(PointFileError::NotFinite {
            file: self.file.to_owned(),
            line,
            column: at as u64 + 1,
            name: column.name(),
            found: text.to_owned(),
        })
    }

    fn field_number(&self, column: Column) -> u64 {
        self.columns.iter().position(|c| *c == column).map_or(0, |at| at as u64 + 1)
    }

    fn not_a_number(&self, line: u64, column: Column, found: &str) -> PointFileError {
        let comma = !self.decimal_comma && parse_number(found, true).is_some();
        let hint = match column {
            _ if comma => ": for a decimal comma say `decimal = \"comma\"` (--decimal-comma)",
            _ if found.is_empty() => ": a point needs one here",
            Column::Latitude | Column::Longitude => ": decimal degrees are accepted, south and west negative",
            _ => "",
        };
        let column_number = self.field_number(column);
        PointFileError::NotANumber {
            file: self.file.to_owned(),
            line,
            column: column_number,
            name: column.name(),
            found: found.to_owned(),
            hint,
        }
    }

    fn out_of_range(&self, line: u64, column: Column, found: &str, accepted: &'static str) -> PointFileError {
        PointFileError::OutOfRange {
            file: self.file.to_owned(),
            line,
            column: self.field_number(column),
            name: column.name(),
            found: found.to_owned(),
            accepted,
        }
    }
}

fn parse_number(text: &str, decimal_comma: bool) -> Option<f64> {
    if decimal_comma && text.contains(',') {
        return (text.matches(',').count() == 1 && !text.contains('.')).then(|| text.replace(',', ".").parse().ok())?;
    }
    text.parse().ok()
}

/// True when a field reads as a number.
pub(super) fn is_number(text: &str, decimal_comma: bool) -> bool {
    parse_number(text, decimal_comma).is_some()
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to be zero or more; saturates")]
fn whole_number(value: f64) -> u32 {
    value.round() as u32
}

/// Reads the kind of solution: words, or the numbers of NMEA 0183 GGA (4 fixed, 5 float; 1, 2, 3 and 6 coarse).
/// `None` for a word that is not known; an empty field is [`Fix::Unknown`].
fn read_fix(text: &str) -> Option<Fix> {
    let word: String = text.chars().filter(|c| c.is_alphanumeric()).collect::<String>().to_lowercase();
    Some(match word.as_str() {
        "" | "unknown" | "na" => Fix::Unknown,
        "fixed" | "fix" | "rtkfixed" | "rtkfix" | "fixedrtk" | "integer" | "int" | "4" | "networkfixed"
        | "rtnfixed" | "rtk" | "l1fixed" | "narrowint" => Fix::Fixed,
        "float" | "rtkfloat" | "floatrtk" | "flt" | "5" | "networkfloat" => Fix::Float,
        "single" | "autonomous" | "auto" | "dgps" | "dgnss" | "differential" | "sbas" | "standalone" | "code"
        | "none" | "nofix" | "invalid" | "estimated" | "ppp" | "spp" | "0" | "1" | "2" | "3" | "6" | "7" | "8" => {
            Fix::Coarse
        }
        _ => return None,
    })
}

/// Reads a tilt column: words for yes and no, or degrees off plumb. `None` when it says neither.
fn read_tilt(text: &str) -> Option<Tilt> {
    match text.trim().to_lowercase().as_str() {
        "yes" | "y" | "on" | "true" | "used" | "applied" => Some(Tilt::Used),
        "no" | "n" | "off" | "false" | "none" | "not used" => Some(Tilt::NotUsed),
        number => number.parse().ok().filter(|degrees: &f64| degrees.is_finite()).map(|d| Tilt::Angle(d.to_radians())),
    }
}

/// Where the order was assumed: in a UTM zone and its kin eastings have six figures and northings seven, so the other way
/// round is doubtful. `None` when nothing speaks against it.
pub(super) fn doubt_on_order(records: &[Record]) -> Option<Note> {
    let doubtful = |record: &Record| match record.position {
        Position::Grid { easting, northing } => easting.abs() > 1e6 && (1e5..1e6).contains(&northing),
        Position::Geographic { .. } => false,
    };
    let first = records.iter().find(|record| doubtful(record))?;
    let Position::Grid { easting, northing } = first.position else { return None };
    let most = 2 * records.iter().filter(|record| doubtful(record)).count() > records.len();
    let text = format!(
        "the assumed order makes easting {easting:.0} and northing {northing:.0}: if they are the other way round, say \
         columns = \"point, easting, northing, elevation, code\""
    );
    most.then(|| Note::new("points::order-doubtful", text))
}

/// Tells what was made of a fix column: words that are not known, and numbers.
pub(super) fn notes_on_fix(data: &[(u64, String)], layout: &Layout<'_>, whole: &Place, notes: &mut Vec<Note>) {
    let Some(at) = layout.columns.iter().position(|c| *c == Column::Fix) else { return };
    let words: Vec<String> =
        data.iter().filter_map(|(_, text)| dialect::fields(text, layout.delimiter).into_iter().nth(at)).collect();
    let mut unknown: Vec<&str> = words.iter().filter(|word| read_fix(word).is_none()).map(String::as_str).collect();
    unknown.sort_unstable();
    unknown.dedup();
    if !unknown.is_empty() {
        let list = unknown.join("`, `");
        let text =
            format!("fix column: `{list}` is not known and counts as unknown: known are fixed, float, single, 4, 5");
        notes.push(Note::new("points::fix-unknown", text).at(whole.clone()));
    }
    if words.iter().any(|word| word.parse::<u32>().is_ok()) {
        let text = "fix column: numbers are read as in NMEA 0183 GGA: 4 fixed, 5 float, others neither";
        notes.push(Note::new("points::fix-numbers", text).at(whole.clone()));
    }
}
