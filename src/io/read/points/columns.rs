//! Which column holds what: from the user's `columns`, from a header line, or assumed.
//!
//! Header titles vary from collector to collector: case, spaces, underscores and a unit in brackets or as a last word
//! (`Easting (m)`, `easting_m`) do not matter. `x` is read as easting and `y` as northing, the mathematician's order.

use super::{Confidence, PointFileError, Spot};
use crate::survey::{Column, Delimiter, Format};
use crate::units::LengthUnit;

/// The title of the elevations in our own lists of what to stake and shoot: read, so that such a list opens as a point
/// file, and told, since nobody measured them.
pub(super) const DESIGNED: &str = "designelevation";

/// True for the title of designed elevations.
pub(super) fn is_designed(title: &str) -> bool {
    squeeze(&title.to_lowercase()).starts_with(DESIGNED)
}

/// The three that give a place on earth together.
pub(super) const GEOCENTRIC: [Column; 3] = [Column::GeocentricX, Column::GeocentricY, Column::GeocentricZ];

/// The unit of one column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum TitleUnit {
    /// A unit of coordinates.
    Length(LengthUnit),
    /// Millimetres, met in sigma columns.
    Millimetres,
    /// Centimetres, met in sigma columns.
    Centimetres,
    /// Kilometres, met in distances to the base.
    Kilometres,
}

impl TitleUnit {
    fn from_name(name: &str) -> Option<Self> {
        match name {
            "mm" => Some(Self::Millimetres),
            "cm" => Some(Self::Centimetres),
            "km" => Some(Self::Kilometres),
            _ => LengthUnit::from_name(name).map(Self::Length),
        }
    }

    pub(super) fn metres(self) -> f64 {
        match self {
            Self::Length(unit) => unit.metres(),
            Self::Millimetres => 0.001,
            Self::Centimetres => 0.01,
            Self::Kilometres => 1000.0,
        }
    }
}

/// What one header title says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Title {
    pub(super) column: Option<Column>,
    pub(super) unit: Option<TitleUnit>,
    /// What its precisions are, when the title says so.
    pub(super) confidence: Option<Confidence>,
}

/// What titles say of precisions, and what that means; the longer ones first.
const CONFIDENCES: [(&str, Confidence); 9] = [
    ("95 %", Confidence::NinetyFive),
    ("95%", Confidence::NinetyFive),
    ("95", Confidence::NinetyFive),
    ("2 sigma", Confidence::TwoSigma),
    ("2-sigma", Confidence::TwoSigma),
    ("2sigma", Confidence::TwoSigma),
    ("1 sigma", Confidence::OneSigma),
    ("1-sigma", Confidence::OneSigma),
    ("1sigma", Confidence::OneSigma),
];

/// Reads a header title.
pub(super) fn read_title(title: &str) -> Title {
    let mut lower = title.trim().trim_matches(['"', '\'']).to_lowercase();
    let stated = CONFIDENCES.iter().find(|(words, _)| lower.contains(words));
    if let Some((words, _)) = stated {
        lower = lower.replace(words, " ").replace("confidence", "").replace("()", "").replace("( )", "");
    }
    let mut name = lower.trim();
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
    let column = known(&squeeze(name)).filter(|column| *column != Column::Point || unit.is_none());
    Title { column, unit, confidence: stated.map(|(_, confidence)| *confidence) }
}

/// What a title stands for, whatever its unit.
pub(in crate::io::read) fn known_title(title: &str) -> Option<Column> {
    read_title(title).column
}

/// True when a title names a coordinate in plan.
pub(in crate::io::read) fn is_place(title: &str) -> bool {
    let places = [Column::Easting, Column::Northing, Column::Longitude, Column::Latitude];
    known_title(title).is_some_and(|column| places.contains(&column))
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
        | "verticalerror" | "elevationrms" | "heightrms" | "sdu" | "sdup" | "upsd" | "upsigma" | "elevationsigma"
        | "elevationsd" => Column::VerticalSigma,
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
        "geocentricx" | "ecefx" | "xecef" | "xgeocentric" => Column::GeocentricX,
        "geocentricy" | "ecefy" | "yecef" | "ygeocentric" => Column::GeocentricY,
        "geocentricz" | "ecefz" | "zecef" | "zgeocentric" => Column::GeocentricZ,
        "skip" | "ignore" => Column::Skip,
        _ => return None,
    })
}

/// The first and last character of a field of fixed width, from one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Characters {
    pub(super) first: usize,
    pub(super) last: usize,
}

/// A word of `columns = "..."` in its name and the characters behind it.
fn split_characters(word: &str) -> (&str, Option<(&str, &str)>) {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    match word.trim().rsplit_once(' ').map(|(name, range)| (name, range.split_once('-'))) {
        Some((name, Some((first, last)))) if digits(first) && digits(last) => (name.trim(), Some((first, last))),
        _ => (word.trim(), None),
    }
}

/// The characters of every column, when `columns` says them: all or none.
pub(super) fn characters(text: &str, file: &str) -> Result<Option<Vec<Characters>>, PointFileError> {
    let words: Vec<&str> = text.split([',', ';']).collect();
    let fault =
        |word: &str, why| PointFileError::Characters { file: file.to_owned(), found: word.trim().to_owned(), why };
    let mut all = Vec::new();
    for word in &words {
        let Some((first, last)) = split_characters(word).1 else { continue };
        match (first.parse(), last.parse()) {
            (Ok(first), Ok(last)) if first > 0 && first <= last && last <= 10_000 => {
                all.push(Characters { first, last });
            }
            _ => return Err(fault(word, "characters count from 1, the first before the last")),
        }
    }
    match all.len() {
        0 => Ok(None),
        count if count == words.len() => Ok(Some(all)),
        _ => {
            let bare = words.iter().find(|word| split_characters(word).1.is_none()).map_or("", |word| word.trim());
            Err(fault(bare, "has no characters although others have"))
        }
    }
}

/// Reads `columns = "point, easting, northing, elevation, code"`.
pub(super) fn read_said(text: &str, spot: &Spot) -> Result<Vec<Column>, PointFileError> {
    let columns: Vec<Column> = text
        .split([',', ';'])
        .map(|word| match split_characters(word).0 {
            "" | "-" | "_" => Ok(Column::Skip),
            name => read_title(name).column.ok_or_else(|| PointFileError::UnknownColumn {
                file: spot.file.clone(),
                found: name.to_owned(),
                accepted: Column::NAMES.iter().map(|(_, name)| *name).collect::<Vec<_>>().join(", "),
            }),
        })
        .collect::<Result<_, _>>()?;
    complete(&columns, spot, text)?;
    Ok(columns)
}

/// Checks what is said of columns before a file is read; the fault is in words without a file.
///
/// # Errors
/// What is wrong with it, and what is accepted.
pub fn check_said(text: &str) -> Result<(), String> {
    const NAME: &str = "columns";
    let spot = Spot { file: NAME.to_owned(), line: 0, column: 0, name: "", format: Format::Text(Delimiter::Comma) };
    let checked = characters(text, NAME).and_then(|_| read_said(text, &spot));
    checked.map(drop).map_err(|error| {
        let said = error.to_string();
        said.strip_prefix(&format!("{NAME}: ")).map_or(said.clone(), str::to_owned)
    })
}

/// Checks that a place and an elevation can be had, and that no column stands twice.
pub(super) fn complete(columns: &[Column], spot: &Spot, found: &str) -> Result<(), PointFileError> {
    let has = |column: Column| columns.contains(&column);
    let twice = columns.iter().enumerate().find(|(i, c)| **c != Column::Skip && columns[..*i].contains(c));
    if let Some((at, column)) = twice {
        return Err(PointFileError::ColumnTwice {
            spot: Spot { column: at as u64 + 1, ..spot.clone() },
            name: column.name().to_owned(),
        });
    }
    let geocentric = GEOCENTRIC.into_iter().all(has);
    let placed =
        has(Column::Easting) && has(Column::Northing) || has(Column::Latitude) && has(Column::Longitude) || geocentric;
    let raised = has(Column::Elevation) || has(Column::Height) || geocentric;
    if placed && raised {
        return Ok(());
    }
    let missing = match (placed, raised) {
        (true, _) => "an elevation".to_owned(),
        (false, _) if has(Column::Easting) => "a northing".to_owned(),
        (false, _) if has(Column::Northing) => "an easting".to_owned(),
        (false, _) if has(Column::Latitude) => "a longitude".to_owned(),
        (false, _) if has(Column::Longitude) => "a latitude".to_owned(),
        (false, _) if GEOCENTRIC.into_iter().any(has) => "one of the three geocentric coordinates".to_owned(),
        (false, true) => "an easting and a northing".to_owned(),
        (false, false) => "an easting, a northing and an elevation".to_owned(),
    };
    Err(PointFileError::MissingColumn { spot: spot.clone(), missing, found: found.trim().to_owned() })
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
            assert_eq!(read_title(title), Title { column, unit, confidence: None }, "{title}");
        }
    }

    #[test]
    fn titles_may_say_what_a_precision_is() {
        let metres = Some(TitleUnit::Length(LengthUnit::Metres));
        for (title, unit, confidence) in [
            ("H Prec (95%)", None, Confidence::NinetyFive),
            ("H Prec 95 % (m)", metres, Confidence::NinetyFive),
            ("h_precision_95_m", metres, Confidence::NinetyFive),
            ("hrms 1-sigma", None, Confidence::OneSigma),
            ("hrms 2 sigma [m]", metres, Confidence::TwoSigma),
        ] {
            let due = Title { column: Some(Column::HorizontalSigma), unit, confidence: Some(confidence) };
            assert_eq!(read_title(title), due, "{title}");
        }
    }

    #[test]
    fn every_column_name_reads_back() {
        for (column, name) in Column::NAMES {
            assert_eq!(read_title(name).column, Some(column), "{name}");
        }
    }
}
