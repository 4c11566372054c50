//! Which column holds what: from the user's `columns`, from a header line, or assumed.
//!
//! Header titles vary from collector to collector: case, spaces, underscores and a unit in brackets or as a last word
//! (`Easting (m)`, `easting_m`) do not matter. `x` is read as easting and `y` as northing, the mathematician's order.

use super::PointFileError;
use crate::survey::Column;
use crate::units::LengthUnit;

/// What is assumed of a file without header and without `columns`: the commonest order of point files.
pub(super) const ASSUMED: [Column; 5] =
    [Column::Point, Column::Northing, Column::Easting, Column::Elevation, Column::Code];

/// The title of the elevations in our own lists of what to stake and shoot: read, so that such a list opens as a point
/// file, and told, since nobody measured them.
pub(super) const DESIGNED: &str = "designelevation";

/// True for the title of designed elevations.
pub(super) fn is_designed(title: &str) -> bool {
    squeeze(&title.to_lowercase()).starts_with(DESIGNED)
}

/// The unit of one column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum TitleUnit {
    /// A unit of coordinates.
    Length(LengthUnit),
    /// Millimetres, met in sigma columns.
    Millimetres,
}

impl TitleUnit {
    fn from_name(name: &str) -> Option<Self> {
        match name {
            "mm" => Some(Self::Millimetres),
            _ => LengthUnit::from_name(name).map(Self::Length),
        }
    }

    pub(super) fn metres(self) -> f64 {
        match self {
            Self::Length(unit) => unit.metres(),
            Self::Millimetres => 0.001,
        }
    }
}

/// What one header title says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Title {
    pub(super) column: Option<Column>,
    pub(super) unit: Option<TitleUnit>,
}

/// Reads a header title.
pub(super) fn read_title(title: &str) -> Title {
    let lower = title.trim().trim_matches(['"', '\'']).to_lowercase();
    let mut name = lower.as_str();
    let mut unit = None;
    if let Some((before, inside)) = name.strip_suffix([')', ']']).and_then(|open| open.rsplit_once(['(', '['])) {
        unit = TitleUnit::from_name(inside.trim().trim_start_matches("int. "));
        name = before;
    } else if let Some((before, last)) = name.rsplit_once(['_', ' ', '.', '-'])
        && (known(&squeeze(name)).is_none() || matches!(last, "m" | "ft" | "usft" | "mm"))
        && TitleUnit::from_name(last).is_some()
    {
        unit = TitleUnit::from_name(last);
        name = before;
    }
    // A name has no unit: `station_m` is a distance along a line, `station` may be a point.
    Title { column: known(&squeeze(name)).filter(|column| *column != Column::Point || unit.is_none()), unit }
}

fn squeeze(name: &str) -> String {
    name.chars().filter(|c| c.is_alphanumeric()).collect()
}

fn known(squeezed: &str) -> Option<Column> {
    Some(match squeezed {
        "point" | "pointid" | "pointnumber" | "pointno" | "pointname" | "pt" | "ptid" | "ptno" | "ptnumber" | "p"
        | "id" | "name" | "number" | "no" | "num" | "shot" | "shotid" | "station" | "mark" | "stake" => Column::Point,
        "northing" | "north" | "n" | "y" | "northings" | "ycoord" | "localnorthing" | "gridnorthing" => {
            Column::Northing
        }
        "easting" | "east" | "e" | "x" | "eastings" | "xcoord" | "localeasting" | "grideasting" => Column::Easting,
        "elevation" | "elev" | "el" | "z" | "rl" | "reducedlevel" | "altitude" | "alt" | "zcoord" | "h"
        | "orthometricheight" | "groundelevation" | "level" | "ele" | DESIGNED => Column::Elevation,
        "code" | "description" | "desc" | "feature" | "featurecode" | "d" | "pointcode" | "rawdescription"
        | "remark" | "remarks" | "comment" | "note" | "codes" => Column::Code,
        "fix" | "fixtype" | "solution" | "solutiontype" | "status" | "fixstatus" | "solutionstatus" | "quality"
        | "fixquality" | "q" | "rtkstatus" => Column::Fix,
        "horizontalsigma"
        | "hsigma"
        | "hrms"
        | "hsd"
        | "horizontalrms"
        | "horizontalprecision"
        | "hprecision"
        | "hprec"
        | "horizontalaccuracy"
        | "hacc"
        | "haccuracy"
        | "horizontalsd"
        | "sigmahorizontal"
        | "sigmah"
        | "horizontalerror"
        | "lateralrms" => Column::HorizontalSigma,
        "verticalsigma" | "vsigma" | "vrms" | "vsd" | "verticalrms" | "verticalprecision" | "vprecision" | "vprec"
        | "verticalaccuracy" | "vacc" | "vaccuracy" | "verticalsd" | "sigmavertical" | "sigmav" | "sigmaz"
        | "verticalerror" | "elevationrms" | "heightrms" => Column::VerticalSigma,
        "northsigma" | "sdn" | "sdnorth" | "northsd" | "northrms" | "nrms" | "northprecision" | "northingsigma"
        | "northingsd" | "sigman" | "northingstderror" | "northingerror" => Column::NorthSigma,
        "eastsigma" | "sde" | "sdeast" | "eastsd" | "eastrms" | "erms" | "eastprecision" | "eastingsigma"
        | "eastingsd" | "sigmae" | "eastingstderror" | "eastingerror" => Column::EastSigma,
        "pdop" => Column::Pdop,
        "hdop" => Column::Hdop,
        "satellites" | "sats" | "sat" | "ns" | "numsats" | "nsat" | "nsats" | "satellitesused" | "satsused"
        | "numberofsatellites" | "svs" => Column::Satellites,
        "age" | "correctionage" | "ageofcorrections" | "ageofcorrection" | "diffage" | "rtkage" | "differentialage" => {
            Column::Age
        }
        "base" | "baseid" | "basestation" | "basename" | "reference" | "referencestation" | "referenceid" | "refid"
        | "stationid" | "mountpoint" => Column::Base,
        "basedistance" | "baseline" | "baselinelength" | "distancetobase" | "vectorlength" | "slopedistancetobase" => {
            Column::BaseDistance
        }
        "ratio" | "ambiguityratio" => Column::Ratio,
        "epochs" | "epoch" | "samples" | "observations" | "epochsaveraged" | "averagedepochs" | "numberofepochs"
        | "samplesaveraged" => Column::Epochs,
        "antennaheight" | "antheight" | "poleheight" | "rodheight" | "targetheight" | "antennah" | "instrheight" => {
            Column::AntennaHeight
        }
        "antenna" | "antennatype" | "antennamodel" => Column::Antenna,
        "tilt" | "tiltused" | "tiltangle" | "tiltcorrection" | "tiltcompensation" | "imu" => Column::Tilt,
        "geoid" | "geoidmodel" => Column::Geoid,
        "occupation" | "occupationid" | "session" | "sessionid" | "visit" => Column::Occupation,
        "date" | "day" | "localdate" | "utcdate" => Column::Date,
        "time" | "datetime" | "timestamp" | "utc" | "gpstime" | "gpst" | "utctime" | "localtime" | "averagingstart"
        | "starttime" | "start" | "timeofday" | "begin" => Column::Time,
        "endtime" | "end" | "averagingend" | "stoptime" | "finishtime" => Column::EndTime,
        "latitude" | "lat" => Column::Latitude,
        "longitude" | "lon" | "long" | "lng" => Column::Longitude,
        "height" | "ellipsoidalheight" | "ellipsoidheight" | "hae" | "hellipsoid" | "ellheight" | "ellipsheight" => {
            Column::Height
        }
        "skip" | "ignore" => Column::Skip,
        _ => return None,
    })
}

/// Reads `columns = "point, easting, northing, elevation, code"`.
pub(super) fn read_said(text: &str, file: &str) -> Result<Vec<Column>, PointFileError> {
    let columns: Vec<Column> = text
        .split([',', ';'])
        .map(|word| match word.trim() {
            "" | "-" | "_" => Ok(Column::Skip),
            name => read_title(name).column.ok_or_else(|| PointFileError::UnknownColumn {
                file: file.to_owned(),
                found: name.to_owned(),
                accepted: Column::NAMES.iter().map(|(_, name)| *name).collect::<Vec<_>>().join(", "),
            }),
        })
        .collect::<Result<_, _>>()?;
    complete(&columns, file, 0, text)?;
    Ok(columns)
}

/// Checks that a place and an elevation can be had, and that no column stands twice.
pub(super) fn complete(columns: &[Column], file: &str, line: u64, found: &str) -> Result<(), PointFileError> {
    let has = |column: Column| columns.contains(&column);
    let twice = columns.iter().enumerate().find(|(i, c)| **c != Column::Skip && columns[..*i].contains(c));
    if let Some((at, column)) = twice {
        return Err(PointFileError::ColumnTwice {
            file: file.to_owned(),
            line,
            column: at as u64 + 1,
            name: column.name().to_owned(),
        });
    }
    let placed = has(Column::Easting) && has(Column::Northing) || has(Column::Latitude) && has(Column::Longitude);
    let raised = has(Column::Elevation) || has(Column::Height);
    if placed && raised {
        return Ok(());
    }
    let missing = match (placed, raised) {
        (true, _) => "an elevation".to_owned(),
        (false, _) if has(Column::Easting) => "a northing".to_owned(),
        (false, _) if has(Column::Northing) => "an easting".to_owned(),
        (false, _) if has(Column::Latitude) => "a longitude".to_owned(),
        (false, _) if has(Column::Longitude) => "a latitude".to_owned(),
        (false, true) => "an easting and a northing".to_owned(),
        (false, false) => "an easting, a northing and an elevation".to_owned(),
    };
    Err(PointFileError::MissingColumn { file: file.to_owned(), line, missing, found: found.trim().to_owned() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn titles_of_many_spellings() {
        let metres = Some(TitleUnit::Length(LengthUnit::Metres));
        let cases = [
            ("Point", Some(Column::Point), None),
            ("PT_ID", Some(Column::Point), None),
            ("Easting (m)", Some(Column::Easting), metres),
            ("easting_m", Some(Column::Easting), metres),
            ("North [ft]", Some(Column::Northing), Some(TitleUnit::Length(LengthUnit::Feet))),
            ("elev_usft", Some(Column::Elevation), Some(TitleUnit::Length(LengthUnit::UsSurveyFeet))),
            ("Elevation (US survey feet)", Some(Column::Elevation), Some(TitleUnit::Length(LengthUnit::UsSurveyFeet))),
            ("\"R.L.\"", Some(Column::Elevation), None),
            ("H-RMS (mm)", Some(Column::HorizontalSigma), Some(TitleUnit::Millimetres)),
            ("vertical sigma", Some(Column::VerticalSigma), None),
            ("vertical_sigma_m", Some(Column::VerticalSigma), metres),
            ("Antenna Height", Some(Column::AntennaHeight), None),
            ("Lat", Some(Column::Latitude), None),
            ("antenna colour", None, None),
            ("Base ID", Some(Column::Base), None),
            ("sdn(m)", Some(Column::NorthSigma), metres),
            ("", None, None),
        ];
        for (title, column, unit) in cases {
            assert_eq!(read_title(title), Title { column, unit }, "{title}");
        }
    }

    #[test]
    fn every_column_name_reads_back() {
        for (column, name) in Column::NAMES {
            assert_eq!(read_title(name).column, Some(column), "{name}");
        }
    }
}
