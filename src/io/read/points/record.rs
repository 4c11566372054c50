//! One line of a point file to one record.

use super::columns::GEOCENTRIC;
use super::words::{is_number, parse_number, read_fix, read_tilt, whole_number};
use super::{PointFileError, Spot};
use crate::frame::Ellipsoid;
use crate::survey::{Column, Delimiter, Fix, Format, Position, Quality, Record, Setup};

/// How the lines of a file are laid out.
#[derive(Debug)]
pub(super) struct Layout<'a> {
    pub(super) file: &'a str,
    pub(super) format: Format,
    pub(super) columns: &'a [Column],
    /// Factor of each column into the file's unit, and of stated precisions into one sigma.
    pub(super) factors: &'a [f64],
    pub(super) decimal_comma: bool,
    /// True when a header says how many fields a line has; without one, a description may hold delimiters.
    pub(super) header: bool,
    pub(super) height_is_elevation: bool,
    /// The file's unit, metres.
    pub(super) unit_metres: f64,
}

impl Layout<'_> {
    /// Reads a line.
    pub(super) fn record(&self, line: u64, fields: &[String]) -> Result<Record, PointFileError> {
        let fields = self.fitted(line, fields)?;
        let at = |column: Column| self.columns.iter().position(|c| *c == column);
        let text = |column: Column| at(column).and_then(|i| fields.get(i)).map_or("", String::as_str);
        let wanted = |column: Column| match self.number(line, column, &fields)? {
            Some(value) => Ok(value),
            None => Err(self.not_a_number(line, column, "")),
        };
        let geocentric = self.geocentric(line, &fields)?;
        let position = if at(Column::Easting).is_some() && at(Column::Northing).is_some() {
            Position::Grid { easting: wanted(Column::Easting)?, northing: wanted(Column::Northing)? }
        } else if let Some((longitude, latitude, _)) = geocentric {
            Position::Geographic { longitude, latitude }
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
        let ellipsoid_height = self.number(line, Column::Height, &fields)?.or(geocentric.map(|(_, _, height)| height));
        let elevation = self.number(line, Column::Elevation, &fields)?;
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
            tilt: read_tilt(text(Column::Tilt), self.decimal_comma),
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
            elevation: if self.height_is_elevation { ellipsoid_height } else { elevation },
            ellipsoid_height,
            code: text(Column::Code).to_owned(),
            quality,
            time: Some(time.trim()).filter(|time| !time.is_empty()).map(str::to_owned),
            setup,
        })
    }

    /// Longitude, latitude and ellipsoidal height of geocentric coordinates; `None` when the file has none.
    fn geocentric(&self, line: u64, fields: &[String]) -> Result<Option<(f64, f64, f64)>, PointFileError> {
        if !GEOCENTRIC.into_iter().all(|column| self.columns.contains(&column)) {
            return Ok(None);
        }
        let mut place = [0.0; 3];
        for (value, column) in place.iter_mut().zip(GEOCENTRIC) {
            let found = self.number(line, column, fields)?.ok_or_else(|| self.not_a_number(line, column, ""))?;
            *value = found * self.unit_metres;
        }
        let found = Ellipsoid::WGS84.from_geocentric(place).filter(|(_, _, height)| height.abs() < 20_000.0);
        let Some((longitude, latitude, height)) = found else {
            let found = format!("{:.0}, {:.0}, {:.0}", place[0], place[1], place[2]);
            let accepted = "three geocentric coordinates of a place within 20 km of the ellipsoid";
            return Err(self.out_of_range(line, Column::GeocentricX, &found, accepted));
        };
        Ok(Some((longitude, latitude, height / self.unit_metres)))
    }

    /// The fields of a line, as many as there are columns.
    fn fitted(&self, line: u64, fields: &[String]) -> Result<Vec<String>, PointFileError> {
        let mut fields = fields.to_vec();
        let (found, expected) = (fields.len(), self.columns.len());
        while fields.len() > expected && fields.last().is_some_and(String::is_empty) {
            fields.pop();
        }
        let last_is_code = self.columns.last() == Some(&Column::Code);
        if fields.len() > expected && last_is_code && self.may_join(&fields[expected - 1]) {
            let description = fields.split_off(expected - 1).join(self.joint());
            fields.push(description);
        }
        // Collectors leave an empty description out altogether; in a file parted by spaces it cannot even be shown.
        let loose = !self.header || self.format == Format::Text(Delimiter::Space);
        if fields.len() + 1 == expected && last_is_code && loose && self.number_stands_before_code(&fields) {
            fields.push(String::new());
        }
        if fields.len() == expected {
            return Ok(fields);
        }
        let names = self.columns.iter().map(|column| column.name()).collect::<Vec<_>>().join(", ");
        Err(PointFileError::ColumnCount { spot: self.spot(line, None), found, expected, names })
    }

    /// True when the fields from the code on may be one description. Under a header a number there tells of a field too
    /// many before it, such as a decimal comma in a file parted by commas.
    fn may_join(&self, first: &str) -> bool {
        !self.header || !is_number(first, self.decimal_comma)
    }

    /// What stands between the parts of a description that was parted.
    pub(super) const fn joint(&self) -> &'static str {
        match self.format {
            Format::Text(Delimiter::Semicolon) => "; ",
            Format::Text(Delimiter::Tab | Delimiter::Space) => " ",
            _ => ", ",
        }
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
        Err(PointFileError::NotFinite { spot: self.spot(line, Some(column)), found: text.to_owned() })
    }

    fn spot(&self, line: u64, column: Option<Column>) -> Spot {
        let at = column.and_then(|column| self.columns.iter().position(|c| *c == column));
        Spot {
            file: self.file.to_owned(),
            line,
            column: at.map_or(0, |at| at as u64 + 1),
            name: column.map_or("", Column::name),
            format: self.format,
        }
    }

    fn not_a_number(&self, line: u64, column: Column, found: &str) -> PointFileError {
        let comma = !self.decimal_comma && parse_number(found, true).is_some();
        let hint = match column {
            _ if comma => ": for a decimal comma say `decimal = \"comma\"` (--decimal-comma)",
            _ if found.is_empty() => ": a point needs one here",
            Column::Latitude | Column::Longitude => ": decimal degrees are accepted, south and west negative",
            _ => "",
        };
        PointFileError::NotANumber { spot: self.spot(line, Some(column)), found: found.to_owned(), hint }
    }

    fn out_of_range(&self, line: u64, column: Column, found: &str, accepted: &'static str) -> PointFileError {
        PointFileError::OutOfRange { spot: self.spot(line, Some(column)), found: found.to_owned(), accepted }
    }
}
