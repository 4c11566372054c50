//! `stakes/`: the stake list in every form that goes to the field, and the shots to take after the dig.

use super::{Left, maps, no_lonlat_note};
use crate::io::write::csv::Table;
use crate::io::write::rover::RoverPoint;
use crate::io::write::tables::Tables;
use crate::io::write::{geojson, geopackage, kml, landxml};
use crate::io::{Column, ColumnKind};
use crate::pipeline::PipelineError;
use crate::pipeline::values::Values;
use crate::stakeout::{Peg, Stake, StakeKind, StakeList, Way};
use std::path::Path;

/// What lies nearer to its stake than this is at it, metres.
const AT_THE_STAKE: f64 = 0.05;

const SERIES: [(StakeKind, &str); 6] = [
    (StakeKind::Line, "rover-line.csv"),
    (StakeKind::Offset, "rover-offset.csv"),
    (StakeKind::Sill, "rover-sill.csv"),
    (StakeKind::Crest, "rover-crest.csv"),
    (StakeKind::Toe, "rover-toe.csv"),
    (StakeKind::Channel, "rover-channel.csv"),
];

pub(super) fn leave(values: &Values<'_>, folder: &Path) -> Result<Left, PipelineError> {
    let stakes = values.stakes()?;
    let context = values.context()?;
    let list = &stakes.value;
    let mut notes = stakes.notes.clone();

    let issue = values.file.site.issue(context.date.as_str()).to_string();
    let plan = &values.plan()?.value;
    let layers: Vec<_> = maps::stakes(list, &issue).into_iter().map(|layer| maps::with_cautions(layer, plan)).collect();
    let mut tables = Tables::new(folder, &context.frame);
    tables.table("stakes.csv", &Table::of_layer(&layers[0]))?;
    geopackage::write(&folder.join("stakes.gpkg"), &layers, context)?;
    if context.projector.is_some() {
        geojson::write(&folder.join("stakes.geojson"), &layers, context)?;
        kml::write(
            &folder.join("stakes.kml"),
            &format!("{} stakes, {issue}", values.file.site.name),
            &layers,
            context,
        )?;
    }
    notes.extend(no_lonlat_note(context, "stakes.geojson and stakes.kml"));
    let points: Vec<_> = list
        .stakes
        .iter()
        .map(|stake| landxml::CogoPoint {
            name: &stake.id,
            code: maps::target_name(stake.refers_to),
            description: &stake.writes,
            place: stake.place,
            elevation: Some(stake.design_elevation),
        })
        .collect();
    let project = format!("{}, {issue}", values.file.site.name);
    let content = landxml::Content { project: &project, points: &points, ..Default::default() };
    landxml::write(&folder.join("stakes.landxml"), &content, context)?;
    for (kind, name) in SERIES {
        let points: Vec<RoverPoint> = list
            .stakes
            .iter()
            .filter(|stake| stake.kind == kind)
            .map(|stake| RoverPoint {
                id: stake.id.clone(),
                place: stake.place,
                elevation: stake.design_elevation,
                description: rover_words(stake),
            })
            .collect();
        if !points.is_empty() {
            tables.rover(name, &points)?;
        }
    }
    tables.table("asbuilt-shots.csv", &as_built_shots(list, &issue))?;
    let pegs = values.pegs()?;
    notes.extend(pegs.notes);
    let mut summary = format!("{} stakes, {} as-built shots to take", list.stakes.len(), list.as_built_shots.len());
    if !pegs.value.is_empty() {
        tables.table("fall-line-pegs.csv", &fall_line_pegs(&pegs.value, &issue))?;
        let rover = pegs.value.iter().map(|peg| RoverPoint {
            id: peg.id.clone(),
            place: peg.place,
            elevation: peg.design_elevation,
            description: match &peg.within {
                Some(work) => format!("line {} IN {work}", peg.line),
                None => format!("line {}", peg.line),
            },
        });
        tables.rover("rover-fall-line.csv", &rover.collect::<Vec<_>>())?;
        summary = format!("{summary}, {} pegs on lines of constant fall", pegs.value.len());
    }
    tables.finish()?;
    Ok(Left { summary, notes, ..Left::default() })
}

/// What the level of a stake is of, and where that lies where it is not at the stake: `bed 0.92 up house`.
fn rover_words(stake: &Stake) -> String {
    let target = maps::target_name(stake.refers_to);
    if stake.away < AT_THE_STAKE {
        return format!("{target} {}", stake.works);
    }
    let way = match stake.way {
        Way::Uphill => "up",
        Way::Downhill => "down",
        Way::Outwards => "out",
        Way::Inwards => "in",
        Way::WaterSide => "wet side",
        Way::DrySide => "dry side",
        Way::Along => "along",
    };
    format!("{target} {:.2} {way} {}", stake.away, stake.works)
}

fn fall_line_pegs(pegs: &[Peg], issue: &str) -> Table {
    let mut table = Table::new(vec![
        Column::text("peg"),
        Column::text("line"),
        Column::number("station_m"),
        Column::new("easting", ColumnKind::Easting),
        Column::new("northing", ColumnKind::Northing),
        Column::elevation("predicted_ground"),
        Column::elevation("design_elevation"),
        Column::number("cut_m"),
        Column::number("fill_m"),
        Column::text("writes"),
        Column::text("issue"),
    ]);
    for peg in pegs {
        let (cut, fill) = maps::cut_or_fill(peg.action);
        table.push(vec![
            peg.id.as_str().into(),
            peg.line.as_str().into(),
            peg.station.into(),
            peg.place.x.into(),
            peg.place.y.into(),
            peg.predicted_ground.into(),
            peg.design_elevation.into(),
            cut.into(),
            fill.into(),
            peg.writes.as_str().into(),
            issue.into(),
        ]);
    }
    table
}

fn as_built_shots(list: &StakeList, issue: &str) -> Table {
    let mut table = Table::new(vec![
        Column::text("shot"),
        Column::text("works"),
        Column::text("part"),
        Column::number("station_m"),
        Column::new("easting", ColumnKind::Easting),
        Column::new("northing", ColumnKind::Northing),
        Column::elevation("design_elevation"),
        Column::text("code"),
        Column::text("issue"),
    ]);
    for shot in &list.as_built_shots {
        table.push(vec![
            shot.id.as_str().into(),
            shot.works.as_str().into(),
            shot.part.into(),
            shot.station.into(),
            shot.place.x.into(),
            shot.place.y.into(),
            shot.design_elevation.into(),
            shot.code.as_str().into(),
            issue.into(),
        ]);
    }
    table
}
