//! `works/`: lines, sections and the designed surface, the contour check station by station, the figures of each swale.

use super::{Left, json, maps, no_lonlat_note, number};
use crate::asbuilt::Design;
use crate::geom::Point;
use crate::io::write::csv::Table;
use crate::io::write::tables::Tables;
use crate::io::write::{geojson, geopackage, landxml, tin};
use crate::io::{Column, ColumnKind};
use crate::pipeline::PipelineError;
use crate::pipeline::values::Values;
use crate::works::{ShotToTake, SitePlan, Swale, mark_fates, mark_notes, second_pass};
use serde_json::{Value as Json, json as object};
use std::path::Path;

pub(super) fn leave(values: &Values<'_>, folder: &Path) -> Result<Left, PipelineError> {
    let plan = values.plan()?;
    let context = values.context()?;
    let mut notes = plan.notes.clone();
    let layers = maps::works(&plan.value);
    geopackage::write(&folder.join("works.gpkg"), &layers, context)?;
    if context.projector.is_some() {
        geojson::write(&folder.join("works.geojson"), &layers, context)?;
    }
    notes.extend(no_lonlat_note(context, "works.geojson"));
    let surface = |tin| landxml::Surface { name: "works", description: "ground with all works on it, as built", tin };
    let surfaces: Vec<_> = plan.value.surfaces.last().map(surface).into_iter().collect();
    let alignments: Vec<_> = plan
        .value
        .swales
        .iter()
        .map(|swale| landxml::Alignment {
            name: &swale.wanted.name,
            description: "contour line of the swale, uphill on its left",
            line: swale.line.points(),
            start_station: 0.0,
            profile: &[],
        })
        .collect();
    let content = landxml::Content {
        project: &values.file.site.name,
        surfaces: &surfaces,
        alignments: &alignments,
        ..Default::default()
    };
    landxml::write(&folder.join("works.landxml"), &content, context)?;
    if let Some(surface) = plan.value.surfaces.last() {
        tin::write(&folder.join("works.tin"), surface, &context.frame)?;
    }
    let mut tables = Tables::new(folder, &context.frame);
    tables.table("contour-check.csv", &contour_check(&plan.value))?;
    let second_pass = second_pass(&values.ground()?.value, &plan.value);
    tables.table("where-to-shoot.csv", &where_to_shoot(&second_pass))?;
    tables.finish()?;

    let mut design = Design::from_plan(&plan.value);
    design.marks = values.marks()?;
    let marks: Vec<(String, Point)> = design.marks.iter().map(|mark| (mark.name.clone(), mark.place)).collect();
    let fates = mark_fates(&marks, &plan.value);
    notes.extend(mark_notes(&fates, &plan.value));
    let swales: Vec<Json> = plan.value.swales.iter().map(swale).collect();
    json(&folder.join("works.json"), object!({ "swales": swales, "marks": fates, "design": design }), &context.frame)?;

    let summary = plan.value.swales.iter().map(|swale| {
        format!(
            "{}: {:.1} m at {:.3} m, holds {:.1} m3, crest {:.3} m, line within {:.0} mm",
            swale.wanted.name,
            swale.line.length(),
            swale.water_level.in_metres(),
            swale.storage.volume.in_cubic_metres(),
            swale.crest.built.in_metres(),
            swale.contour.worst.abs() * 1000.0
        )
    });
    Ok(Left { summary: summary.collect::<Vec<_>>().join("; "), notes, ..Left::default() })
}

fn where_to_shoot(shots: &[ShotToTake]) -> Table {
    let mut table = Table::new(vec![
        Column::text("shot"),
        Column::text("works"),
        Column::number("station_m"),
        Column::number("offset_m"),
        Column::new("easting", ColumnKind::Easting),
        Column::new("northing", ColumnKind::Northing),
        Column::elevation("predicted_ground"),
        Column::text("code"),
    ]);
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
        ]);
    }
    table
}

fn contour_check(plan: &SitePlan) -> Table {
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
    for swale in &plan.swales {
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

fn swale(swale: &Swale) -> Json {
    let crest = &swale.crest;
    let section = &swale.section;
    let spillways: Vec<Json> = swale
        .spillways
        .iter()
        .map(|spillway| {
            object!({
                "from_station_m": number(spillway.from.in_metres()),
                "to_station_m": number(spillway.to.in_metres()),
                "sill_m": number(spillway.sill.in_metres()),
                "sill_length_m": number(spillway.sill_length.in_metres()),
                "sill_breadth_m": number(spillway.sill_breadth.in_metres()),
                "head_m": number(spillway.head.in_metres()),
                "flow_m3_s": spillway.flow.map_or(Json::Null, |flow| number(flow.in_cubic_metres_per_second())),
                "coefficient": number(spillway.coefficient),
                "highest_ground_above_sill_m": number(spillway.ground_above_sill.0.in_metres()),
                "lowest_ground_above_sill_m": number(spillway.ground_above_sill.1.in_metres()),
                "on_fill": spillway.on_fill,
                "exit_fall_percent": number(spillway.exit_fall.in_percent()),
                "natural_exit_fall_percent": number(spillway.natural_exit_fall.in_percent()),
            })
        })
        .collect();
    let ends: Vec<Json> = swale
        .ends
        .iter()
        .map(|end| object!({ "turned_length_m": number(end.turned_length.in_metres()), "closed": end.closed }))
        .collect();
    object!({
        "name": swale.wanted.name,
        "water_level_m": number(swale.water_level.in_metres()),
        "length_m": number(swale.line.length()),
        "storage_m3": number(swale.storage.volume.in_cubic_metres()),
        "water_area_m2": number(swale.storage.area.in_square_metres()),
        "spill_m": number(swale.storage.spill.in_metres()),
        "spills_at_sill": swale.storage.at_sill,
        "least_bend_radius_m": radius(swale.contour.least_radius.0),
        "bed_m": number(section.bed.in_metres()),
        "bottom_width_m": number(section.bottom_width.in_metres()),
        "cross_fall_percent": number(section.cross_fall.in_percent()),
        "head_m": number(crest.head.in_metres()),
        "freeboard_m": number(crest.freeboard.in_metres()),
        "settlement_m": number(crest.settlement.in_metres()),
        "crest_settled_required_m": number(crest.settled_required().in_metres()),
        "crest_built_required_m": number(crest.built_required().in_metres()),
        "crest_built_m": number(crest.built.in_metres()),
        "contour": {
            "worst_m": number(swale.contour.worst),
            "rms_m": number(swale.contour.rms),
            "tolerance_m": number(swale.contour.tolerance),
            "verdict": if swale.contour.worst.abs() <= swale.contour.tolerance { "pass" } else { "fail" },
        },
        "spillways": spillways,
        "ends": ends,
    })
}

/// A straight line has no least radius.
fn radius(metres: f64) -> Json {
    if metres.is_finite() { number(metres) } else { Json::Null }
}
