//! What the operator dug, as shot after the dig: the list of as-built shots that a run leaves, each with the operator's
//! error and the receiver's.
//!
//! The crest is built 30 to 60 mm high, as it should be, save on one stretch of 40 m where it lies 0.12 m low: that is
//! the fault that the check must find. The sill is within 3 mm, the bed within 15 mm. Receiver noise: 8 mm plan, 10 mm
//! height.

use crate::field;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use std::fmt::Write as _;

/// The stretch of low crest, metres along the swale's line, and how low.
pub(crate) const LOW_CREST: (f64, f64, f64) = (85.0, 125.0, 0.12);

/// One row of a run's list of as-built shots.
#[derive(Debug)]
pub(crate) struct Row {
    pub(crate) id: String,
    pub(crate) station: f64,
    pub(crate) easting: f64,
    pub(crate) northing: f64,
    pub(crate) design_elevation: f64,
    pub(crate) code: String,
}

/// Reads the list that a run leaves in `stakes/asbuilt-shots.csv`.
pub(crate) fn read(path: &std::path::Path) -> Result<Vec<Row>, Box<dyn std::error::Error>> {
    let mut reader = csv::Reader::from_path(path)?;
    let titles = reader.headers()?.clone();
    let column = |name: &str| {
        titles.iter().position(|title| title == name).ok_or_else(|| format!("{} has no column {name}", path.display()))
    };
    let columns = [
        column("shot")?,
        column("station_m")?,
        column("easting_m")?,
        column("northing_m")?,
        column("design_elevation_m")?,
        column("code")?,
    ];
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record?;
        let text = |index: usize| record[columns[index]].to_owned();
        let number = |index: usize| record[columns[index]].parse::<f64>();
        rows.push(Row {
            id: text(0),
            station: number(1)?,
            easting: number(2)?,
            northing: number(3)?,
            design_elevation: number(4)?,
            code: text(5),
        });
    }
    Ok(rows)
}

/// The point file of the shots after the dig; the same bytes for the same list.
pub(crate) fn shots(rows: &[Row]) -> String {
    let mut random = ChaCha8Rng::seed_from_u64(733);
    let mut text = String::from("point,easting,northing,elevation,code,fix,horizontal sigma,vertical sigma,time\n");
    let mut second = 50_400_u32;
    let mut store = |id: &str, (easting, northing, elevation): (f64, f64, f64), code: &str, random: &mut ChaCha8Rng| {
        let (easting, northing) = (easting + 0.008 * field::normal(random), northing + 0.008 * field::normal(random));
        let elevation = elevation + 0.010 * field::normal(random);
        let (hour, minute) = (second / 3600, second / 60 % 60);
        let _ = writeln!(
            text,
            "{id},{easting:.3},{northing:.3},{elevation:.3},{code},fixed,0.008,0.010,2026-04-02T{hour:02}:{minute:02}:{:02}",
            second % 60
        );
        second += 9;
    };
    store("chk1", field::mark("CP2"), "chk cp2", &mut random);
    for row in rows {
        let error = built_error(row, &mut random);
        store(&row.id, (row.easting, row.northing, row.design_elevation + error), &row.code, &mut random);
    }
    store("chk2", field::mark("CP2"), "chk cp2", &mut random);
    text
}

fn built_error(row: &Row, random: &mut ChaCha8Rng) -> f64 {
    let chance = field::normal(random).clamp(-2.0, 2.0) / 2.0;
    match row.code.as_str() {
        "sill" => 0.003 * chance,
        "crest" if (LOW_CREST.0..=LOW_CREST.1).contains(&row.station) => -LOW_CREST.2,
        "crest" => 0.045 + 0.015 * chance,
        _ => 0.015 * chance,
    }
}
