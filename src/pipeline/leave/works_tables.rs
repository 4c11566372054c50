//! The tables of `works/`: stations of every line, lines compared by rank, shots that would prove a line.

use crate::io::write::csv::Table;
use crate::io::{Column, ColumnKind};
use crate::units::Length;
use crate::works::{FallLine, ShotToTake, SitePlan};

/// The columns of shots to take, of works and of the survey alike: one list loads as the other.
pub(super) fn to_shoot() -> Table {
    Table::new(vec![
        Column::text("shot"),
        Column::text("works"),
        Column::number("station_m"),
        Column::number("offset_m"),
        Column::new("easting", ColumnKind::Easting),
        Column::new("northing", ColumnKind::Northing),
        Column::elevation("predicted_ground"),
        Column::text("code"),
        Column::number("sigma_m"),
        Column::number("times"),
    ])
}

pub(super) fn where_to_shoot(shots: &[ShotToTake]) -> Table {
    let mut table = to_shoot();
    for shot in shots {
        table.push(vec![
            shot.id.as_str().into(),
            shot.works.as_str().into(),
            shot.station.into(),
            shot.offset.into(),
            shot.place.x.into(),
            shot.place.y.into(),
            shot.predicted_ground.into(),
            shot.code.into(),
            shot.sigma.into(),
            f64::from(shot.times).into(),
        ]);
    }
    table
}

/// Test pits to dig: where, how deep, and what each would prove.
pub(super) fn where_to_dig(plan: &SitePlan) -> Table {
    let mut table = Table::new(vec![
        Column::text("pit"),
        Column::text("works"),
        Column::text("part"),
        Column::number("station_m"),
        Column::new("easting", ColumnKind::Easting),
        Column::new("northing", ColumnKind::Northing),
        Column::number("depth_m"),
        Column::text("proves"),
        Column::text("put_back"),
    ]);
    for pit in &plan.pits_to_dig {
        let proves: Vec<String> = pit
            .proves
            .iter()
            .map(|(works, part, share)| format!("{part} of {works} {:.0} %", (100.0 * share).max(1.0)))
            .collect();
        table.push(vec![
            pit.name.as_str().into(),
            pit.works.as_str().into(),
            pit.part.into(),
            pit.station.in_metres().into(),
            pit.place.x.into(),
            pit.place.y.into(),
            pit.depth.in_metres().into(),
            proves.join("; ").as_str().into(),
            if pit.put_back { "in thin rolled layers" } else { "" }.into(),
        ]);
    }
    table
}

/// The lines among which the places of swales were chosen.
pub(super) fn places(plan: &SitePlan) -> Table {
    let mut table = Table::new(vec![
        Column::text("swale"),
        Column::text("rank"),
        Column::text("taken"),
        Column::elevation("water_level"),
        Column::number("length_m"),
        Column::number("mean_fall_percent"),
        Column::number("steepest_fall_percent"),
        Column::number("dug_m3"),
        Column::number("held_m3"),
        Column::number("held_per_dug"),
        Column::number("catches_m2"),
        Column::number("off_level_m"),
        Column::text("why_no_rank"),
    ]);
    for swale in plan.swales() {
        for trial in &swale.trials {
            let (held, dug) = (trial.held.in_cubic_metres(), trial.dug.in_cubic_metres());
            let (rank, why) = match &trial.rank {
                Ok(rank) => (rank.to_string(), ""),
                Err(why) => (String::new(), why.as_str()),
            };
            table.push(vec![
                swale.wanted.name.as_str().into(),
                rank.as_str().into(),
                if trial.taken { "yes" } else { "" }.into(),
                trial.water_level.in_metres().into(),
                trial.length.in_metres().into(),
                trial.falls.0.in_percent().into(),
                trial.falls.1.in_percent().into(),
                dug.into(),
                held.into(),
                if dug > 0.0 { held / dug } else { 0.0 }.into(),
                trial.catches.in_square_metres().into(),
                trial.off_level.map(Length::in_metres).into(),
                why.into(),
            ]);
        }
    }
    table
}

pub(super) fn contour_check(plan: &SitePlan) -> Table {
    let mut table = Table::new(vec![
        Column::text("line"),
        Column::number("station_m"),
        Column::new("easting", ColumnKind::Easting),
        Column::new("northing", ColumnKind::Northing),
        Column::elevation("ground"),
        Column::elevation("water_level"),
        Column::number("deviation_m"),
        Column::number("sigma_m"),
        Column::elevation("tin"),
    ]);
    for swale in plan.swales() {
        for station in &swale.contour.stations {
            table.push(vec![
                swale.wanted.name.as_str().into(),
                station.station.into(),
                station.place.x.into(),
                station.place.y.into(),
                station.ground.into(),
                swale.water_level.in_metres().into(),
                station.deviation.into(),
                station.sigma.into(),
                station.tin.into(),
            ]);
        }
    }
    table
}

/// Every station of the lines of constant fall: where, how high, and how far the ground is off that.
pub(super) fn fall_line_stations(lines: &[FallLine]) -> Table {
    let mut table = Table::new(vec![
        Column::text("line"),
        Column::number("station_m"),
        Column::new("easting", ColumnKind::Easting),
        Column::new("northing", ColumnKind::Northing),
        Column::elevation("design_elevation"),
        Column::elevation("ground"),
        Column::number("deviation_m"),
        Column::number("sigma_m"),
        Column::elevation("tin"),
    ]);
    for line in lines {
        for station in &line.check.stations {
            table.push(vec![
                line.wanted.name.as_str().into(),
                station.station.into(),
                station.place.x.into(),
                station.place.y.into(),
                line.elevation(station.station).into(),
                station.ground.into(),
                station.deviation.into(),
                station.sigma.into(),
                station.tin.into(),
            ]);
        }
    }
    table
}
