//! `works/`: lines, sections and the designed surface, the contour check station by station, the figures of each swale.

use super::{Left, json, maps, no_lonlat_note, number};
use crate::asbuilt::Design;
use crate::frame::SiteFrame;
use crate::geom::Point;
use crate::io::write::csv::Table;
use crate::io::write::tables::Tables;
use crate::io::write::{geojson, geopackage, landxml, tin};
use crate::io::{Column, ColumnKind};
use crate::pipeline::PipelineError;
use crate::pipeline::values::Values;
use crate::units::Length;
use crate::water::channel::Run;
use crate::works::dam::{Dam, WayOut};
use crate::works::pit::Placed;
use crate::works::{
    FallLine, LineWithin, Outlet, ShotToTake, SitePlan, Spillway, Swale, Work, mark_fates, mark_notes, second_pass,
};
use serde_json::{Value as Json, json as object};
use std::path::Path;

pub(super) fn leave(values: &Values<'_>, folder: &Path) -> Result<Left, PipelineError> {
    let plan = values.plan()?;
    let context = values.context()?;
    let mut notes = plan.notes.clone();
    let fall_lines = values.fall_lines()?;
    notes.extend(fall_lines.notes.iter().cloned());
    let fall_lines = &fall_lines.value;
    let mut layers = maps::works(&plan.value);
    if !fall_lines.is_empty() {
        layers.push(maps::fall_lines(fall_lines));
    }
    geopackage::write(&folder.join("works.gpkg"), &layers, context)?;
    if context.projector.is_some() {
        geojson::write(&folder.join("works.geojson"), &layers, context)?;
    }
    notes.extend(no_lonlat_note(context, "works.geojson"));
    let surface = |tin| landxml::Surface { name: "works", description: "ground with all works on it, as built", tin };
    let surfaces: Vec<_> = plan.value.surfaces.last().map(surface).into_iter().collect();
    let described: Vec<String> = plan.value.works.iter().map(alignment_words).collect();
    let mut alignments: Vec<_> = plan
        .value
        .shared()
        .zip(&described)
        .map(|(work, description)| landxml::Alignment {
            name: work.name,
            description,
            line: work.line.points(),
            start_station: 0.0,
            profile: &[],
        })
        .collect();
    let cuts: Vec<(String, &Outlet)> = plan
        .value
        .shared()
        .flat_map(|work| work.spillways.iter().filter_map(move |spillway| Some((work.name, spillway.outlet.as_ref()?))))
        .map(|(name, outlet)| (format!("{name} spillway"), outlet))
        .collect();
    let floors: Vec<Vec<(f64, f64)>> = cuts
        .iter()
        .map(|(_, outlet)| outlet.axis.stations().iter().copied().zip(outlet.levels.iter().copied()).collect())
        .collect();
    alignments.extend(cuts.iter().zip(&floors).map(|((name, outlet), floor)| landxml::Alignment {
        name,
        description: "middle of the floor of the spillway's cut, as the water runs",
        line: outlet.axis.points(),
        start_station: 0.0,
        profile: floor,
    }));
    let profiles: Vec<Vec<(f64, f64)>> = fall_lines.iter().map(profile).collect();
    alignments.extend(fall_lines.iter().zip(&profiles).map(|(line, profile)| landxml::Alignment {
        name: &line.wanted.name,
        description: "line of constant fall, from its start down, at its even fall",
        line: line.line.points(),
        start_station: 0.0,
        profile,
    }));
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
    let natural = values.natural()?;
    if values.fitted()?.is_some() {
        tin::write(&folder.join("natural.tin"), &natural.tin, &context.frame)?;
        let description = "natural ground that the works stand on, estimated from the shots near them";
        let surface = landxml::Surface { name: "natural", description, tin: &natural.tin };
        let content = landxml::Content { project: &values.file.site.name, surfaces: &[surface], ..Default::default() };
        landxml::write(&folder.join("natural.landxml"), &content, context)?;
    }
    let mut tables = Tables::new(folder, &context.frame);
    tables.table("contour-check.csv", &contour_check(&plan.value))?;
    let second_pass = second_pass(natural, &plan.value);
    tables.table("where-to-shoot.csv", &where_to_shoot(&second_pass))?;
    if plan.value.swales().any(|swale| !swale.trials.is_empty()) {
        tables.table("places.csv", &places(&plan.value))?;
    }
    if !fall_lines.is_empty() {
        tables.table("fall-lines.csv", &fall_line_stations(fall_lines))?;
    }
    tables.finish()?;

    let mut design = Design::from_plan(&plan.value);
    design.marks = values.marks()?;
    let marks: Vec<(String, Point)> = design.marks.iter().map(|mark| (mark.name.clone(), mark.place)).collect();
    let fates = mark_fates(&marks, &plan.value);
    if !plan.value.works.is_empty() {
        notes.extend(mark_notes(&fates, &plan.value));
    }
    let swales: Vec<Json> = plan.value.swales().map(swale).collect();
    let dams: Vec<Json> = plan.value.works.iter().filter_map(|work| dam(work, &context.frame)).collect();
    let pits: Vec<Json> = plan.value.works.iter().filter_map(|work| pit(work, &context.frame)).collect();
    json(
        &folder.join("works.json"),
        object!({ "swales": swales, "pits": pits, "dams": dams, "fall_lines": fall_lines.iter().map(fall_line).collect::<Vec<_>>(), "marks": fates, "design": design }),
        &context.frame,
    )?;

    let summary = plan.value.works.iter().map(|work| match work {
        Work::Swale(swale) => format!(
            "{}: {:.1} m at {:.3} m, holds {:.1} m3, crest {:.3} m, line within {}",
            swale.wanted.name,
            swale.line.length(),
            swale.water_level.in_metres(),
            swale.storage.volume.in_cubic_metres(),
            swale.crest.built.in_metres(),
            within(swale.line_within())
        ),
        Work::Pit(pit) => format!(
            "{}: floor {:.3} m, {:.2} m deep, full at {:.3} m, holds {:.1} m3{}",
            pit.wanted.name,
            pit.floor_level.in_metres(),
            pit.depth.in_metres(),
            pit.water_level.in_metres(),
            pit.storage.volume.in_cubic_metres(),
            pit.spillways.first().map_or_else(String::new, |spillway| format!(", {}", sheds(spillway)))
        ),
        Work::Dam(dam) => format!(
            "{}: wall {:.1} m long and {:.2} m high, full at {:.3} m, holds {:.0} m3, {}",
            dam.wanted.name,
            dam.line.length(),
            dam.height.0.in_metres(),
            dam.crest.water_level.in_metres(),
            dam.storage.volume.in_cubic_metres(),
            dam.spillways.iter().map(sheds).chain(dam.cautions()).collect::<Vec<_>>().join(", ")
        ),
    });
    let summary = summary.chain(fall_lines.iter().map(|line| {
        format!(
            "{}: {:.1} m falling {:.2} % from {:.3} m, line within {}",
            line.wanted.name,
            line.line.length(),
            line.fall.in_percent(),
            line.ends.0.in_metres(),
            within(line.check.within())
        )
    }));
    Ok(Left { summary: summary.collect::<Vec<_>>().join("; "), notes, ..Left::default() })
}

/// Stations and elevations of a line of constant fall.
fn profile(line: &FallLine) -> Vec<(f64, f64)> {
    let length = line.line.length();
    [0.0, length].map(|station| (station, line.elevation(station))).to_vec()
}

/// Every station of the lines of constant fall: where, how high, and how far the ground is off that.
fn fall_line_stations(lines: &[FallLine]) -> Table {
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

fn fall_line(line: &FallLine) -> Json {
    object!({
        "name": line.wanted.name,
        "fall_percent": number(line.fall.in_percent()),
        "length_m": number(line.line.length()),
        "start_m": number(line.ends.0.in_metres()),
        "end_m": number(line.ends.1.in_metres()),
        "misses_m": number(line.misses.in_metres()),
        "least_bend_radius_m": radius(line.check.least_radius.0),
        "worst_m": number(line.check.worst),
        "rms_m": number(line.check.rms),
        "tolerance_m": number(line.check.tolerance),
        "verdict": line.check.verdict().name(),
    })
}

/// What the line of a work is, with what no output of it may leave out.
fn alignment_words(work: &Work) -> String {
    match work {
        Work::Swale(_) => "contour line of the swale, uphill on its left".to_owned(),
        Work::Pit(_) => "rim of the pit, the outside on its left".to_owned(),
        Work::Dam(dam) => {
            let line = "middle of the crest, the water on its left".to_owned();
            std::iter::once(line).chain(dam.cautions()).collect::<Vec<_>>().join("; ")
        }
    }
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
        Column::number("sigma_m"),
        Column::number("times"),
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
            shot.sigma.into(),
            f64::from(shot.times).into(),
        ]);
    }
    table
}

/// The lines among which the places of swales were chosen.
fn places(plan: &SitePlan) -> Table {
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
                why.into(),
            ]);
        }
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

/// A way out of a reservoir beside its spillway.
fn way_out(dam: &Dam, way: &WayOut, frame: &SiteFrame) -> Json {
    let (easting, northing) = frame.to_frame(way.place);
    let unit = frame.unit.suffix();
    let mut json = object!({
        "level_m": number(way.level.in_metres()),
        "above_full_supply_m": number((way.level - dam.crest.water_level).in_metres()),
        "below_crest_m": number((dam.crest.settled_required() - way.level).in_metres()),
        "design_flood_over_it_m": number((dam.flood_level() - way.level).in_metres().max(0.0)),
        "at_survey_edge": way.at_survey_edge,
    });
    json[format!("easting_{unit}")] = number(easting);
    json[format!("northing_{unit}")] = number(northing);
    json
}

fn dam(work: &Work, frame: &SiteFrame) -> Option<Json> {
    let Work::Dam(dam) = work else { return None };
    let (crest, wanted) = (&dam.crest, &dam.wanted);
    Some(object!({
        "name": wanted.name,
        "water_level_m": number(crest.water_level.in_metres()),
        "flood_rise_m": number(dam.flood_rise.in_metres()),
        "wave_m": number(wanted.wave.in_metres()),
        "freeboard_m": number(crest.freeboard.in_metres()),
        "settlement_m": number(crest.settlement.in_metres()),
        "crest_settled_required_m": number(crest.settled_required().in_metres()),
        "crest_built_m": number(crest.built.in_metres()),
        "crest_width_m": number(dam.crest_width.in_metres()),
        "length_m": number(dam.line.length()),
        "height_m": number(dam.height.0.in_metres()),
        "height_station_m": number(dam.height.1.in_metres()),
        "carried_on_m": dam.carried_on.map(|length| number(length.in_metres())),
        "upstream_batter": number(wanted.upstream.in_horizontal_per_vertical()),
        "downstream_batter": number(wanted.downstream.in_horizontal_per_vertical()),
        "key_bank_m3": number(dam.key.in_cubic_metres()),
        "storage_m3": number(dam.storage.volume.in_cubic_metres()),
        "water_area_m2": number(dam.storage.area.in_square_metres()),
        "lowest_way_out_m": number(dam.storage.spill.in_metres()),
        "spillway": dam.spillways.first().map_or(Json::Null, spillway),
        "other_ways_out": dam.ways_out.iter().map(|way| way_out(dam, way, frame)).collect::<Vec<_>>(),
        "cautions": dam.cautions(),
        "beyond_farm_practice": dam.beyond,
        "largest_difference_m": number(dam.largest_difference),
    }))
}

/// How the place of a pit compares, where the program chose it.
fn placed(placed: &Placed, frame: &SiteFrame) -> Json {
    let unit = frame.unit.suffix();
    let mut json = object!({
        "beside": placed.beside,
        "haul_m3_m": number(placed.haul),
        "mean_haul_m": number(placed.mean.in_metres()),
        "runner_up_haul_m3_m": placed.runner_up.map_or(Json::Null, |(_, haul)| number(haul)),
        "middles_tried": placed.tried.0,
        "middles_with_room": placed.tried.1,
    });
    let places = [("", Some(placed.middle)), ("runner_up_", placed.runner_up.map(|(place, _)| place))];
    for (name, place) in places {
        let Some(place) = place else { continue };
        let (easting, northing) = frame.to_frame(place);
        json[format!("{name}easting_{unit}")] = number(easting);
        json[format!("{name}northing_{unit}")] = number(northing);
    }
    json
}

fn pit(work: &Work, frame: &SiteFrame) -> Option<Json> {
    let Work::Pit(pit) = work else { return None };
    let batters = pit.batters.iter().map(|batter| number(batter.in_horizontal_per_vertical()));
    Some(object!({
        "name": pit.wanted.name,
        "kind": pit.wanted.kind().name(),
        "floor_m": number(pit.floor_level.in_metres()),
        "floor_area_m2": number(pit.floor.area()),
        "depth_m": number(pit.depth.in_metres()),
        "batters": batters.collect::<Vec<_>>(),
        "water_level_m": number(pit.water_level.in_metres()),
        "storage_m3": number(pit.storage.volume.in_cubic_metres()),
        "water_area_m2": number(pit.storage.area.in_square_metres()),
        "spill_m": number(pit.storage.spill.in_metres()),
        "placed": pit.placed.as_ref().map_or(Json::Null, |chosen| placed(chosen, frame)),
        "low_rim_m": number(pit.low_rim.0.in_metres()),
        "spillway": pit.spillways.first().map_or(Json::Null, spillway),
        "shelf_m": pit.shelf.map_or(Json::Null, |level| number(level.in_metres())),
        "ramp_length_m": pit.ramp.as_ref().map_or(Json::Null, |ramp| number(ramp.axis.length())),
        "rim_length_m": number(pit.rim.length()),
        "deepest_face_m": number(pit.deepest_face.0.in_metres()),
        "largest_difference_m": number(pit.largest_difference),
    }))
}

fn spillway(spillway: &Spillway) -> Json {
    let mut json = object!({
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
    });
    let Some(fields) = json.as_object_mut() else { return json };
    if let Some(storm) = &spillway.storm {
        let stated = object!({
            "name": storm.name,
            "intensity_mm_h": number(storm.intensity.in_millimetres_per_hour()),
            "catchment_m2": number(storm.catchment.in_square_metres()),
            "runoff_coefficient": number(storm.coefficient),
            "peak_m3_s": number(storm.peak().in_cubic_metres_per_second()),
        });
        fields.insert("storm".to_owned(), stated);
    }
    if let Some(outlet) = &spillway.outlet {
        fields.insert("cut".to_owned(), cut(outlet));
    }
    json
}

/// The cut of a spillway: its floor, its earth, how near it comes to fill, how the water runs in it.
fn cut(outlet: &Outlet) -> Json {
    let length = |length: Option<Length>| length.map_or(Json::Null, |length| number(length.in_metres()));
    let run = |run: Option<Run>| {
        run.map_or(Json::Null, |run| {
            object!({
                "depth_m": number(run.depth.in_metres()),
                "needed_over_floor_m": number(run.energy.in_metres()),
                "speed_m_s": number(run.speed),
                "permissible_m_s": run.permissible.map_or(Json::Null, number),
                "too_fast": run.too_fast(),
            })
        })
    };
    object!({
        "width_m": number(outlet.width.in_metres()),
        "batter": number(outlet.batter.in_horizontal_per_vertical()),
        "approach_m": number(outlet.sill.0),
        "channel_m": number(outlet.axis.length() - outlet.sill.1),
        "holds_water_for_m": number((outlet.holds_to - outlet.sill.1).max(0.0)),
        "deepest_m": number(outlet.deepest.in_metres()),
        "bank_m3": number(outlet.bank.in_cubic_metres()),
        "clear_of_fill_m": length(outlet.clear),
        "water_clear_of_fill_m": length(outlet.clear_water),
        "cover": outlet.cover.name(),
        "approach_loss_m": number(outlet.approach_loss.in_metres()),
        "in_channel": run(outlet.run),
        "below_channel": run(outlet.below),
    })
}

fn swale(swale: &Swale) -> Json {
    let crest = &swale.crest;
    let section = &swale.section;
    let spillways: Vec<Json> = swale.spillways.iter().map(spillway).collect();
    let ends: Vec<Json> = swale
        .ends
        .iter()
        .map(|end| object!({ "turned_length_m": number(end.turned_length.in_metres()), "closed": end.closed, "overflow": end.overflow }))
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
        "shape": swale.wanted.shape.name(),
        "bottom_width_m": number(section.bottom_width.in_metres()),
        "water_width_m": number((section.wet_edge() - section.lip_offset).in_metres()),
        "key_bank_m3": number(swale.key.in_cubic_metres()),
        "cross_fall_percent": number(section.cross_fall.in_percent()),
        "head_m": number(crest.head.in_metres()),
        "freeboard_m": number(crest.freeboard.in_metres()),
        "settlement_m": number(crest.settlement.in_metres()),
        "crest_settled_required_m": number(crest.settled_required().in_metres()),
        "crest_built_required_m": number(crest.built_required().in_metres()),
        "crest_built_m": number(crest.built.in_metres()),
        "crest_highest_m": number(swale.highest_crest().in_metres()),
        "haul_along": swale.haul.map_or(Json::Null, |haul| {
            object!({ "one_crest_m3m": number(haul.level), "as_designed_m3m": number(haul.following) })
        }),
        "changes": changes(swale),
        "crossings": crossings(swale),
        "pools": pools(swale),
        "contour": {
            "worst_m": number(swale.contour.worst),
            "rms_m": number(swale.contour.rms),
            "tolerance_m": number(swale.contour.tolerance),
            "verdict": swale.contour.verdict().name(),
            "sigma_worst_m": swale.contour.stations.iter().filter_map(|s| s.sigma).reduce(f64::max).map_or(Json::Null, number),
            "unproven_stations_m": swale.contour.proof.unproven,
            "shots_too_far_apart_stations_m": swale.contour.proof.too_far_apart,
        },
        "spillways": spillways,
        "ends": ends,
    })
}

fn crossings(swale: &Swale) -> Json {
    let one = |crossing: &crate::works::Crossing| {
        object!({
            "station_m": number(crossing.wanted.at.in_metres()),
            "width_m": number(crossing.wanted.width.in_metres()),
            "ramp": number(crossing.wanted.ramp.in_horizontal_per_vertical()),
            "top_m": number(crossing.level().in_metres()),
            "undug_from_m": number(crossing.undug.0.in_metres()),
            "undug_to_m": number(crossing.undug.1.in_metres()),
            "fill_placed_m3": number(crossing.fill.in_cubic_metres()),
        })
    };
    Json::Array(swale.crossings.iter().map(one).collect())
}

/// The pools that crossings part it into.
fn pools(swale: &Swale) -> Json {
    let one = |pool: &crate::works::SwalePool| {
        object!({
            "from_m": number(pool.from.in_metres()),
            "to_m": number(pool.to.in_metres()),
            "has_sill": pool.has_sill,
            "storage_m3": number(pool.storage.volume.in_cubic_metres()),
            "spill_m": number(pool.storage.spill.in_metres()),
        })
    };
    Json::Array(swale.pools.iter().map(one).collect())
}

/// Each section that it changes to along the line, with the stations over which it does.
fn changes(swale: &Swale) -> Json {
    let sections = swale.sections().into_iter().skip(1);
    let one = |(change, (_, section)): (&crate::works::SectionChange, (_, crate::works::Section))| {
        object!({
            "from_m": number(change.from.in_metres()),
            "to_m": number(change.to().in_metres()),
            "bed_m": number(section.bed.in_metres()),
            "bottom_width_m": number(section.bottom_width.in_metres()),
            "water_width_m": number((section.wet_edge() - section.lip_offset).in_metres()),
            "uphill_batter": number(section.uphill_batter.in_horizontal_per_vertical()),
            "downhill_batter": number(section.downhill_batter.in_horizontal_per_vertical()),
            "crest_width_m": number(section.crest_width.in_metres()),
            "berm_batter": number(section.berm_batter.in_horizontal_per_vertical()),
        })
    };
    Json::Array(swale.wanted.changes.iter().zip(sections).map(one).collect())
}

/// What a spillway sheds.
fn sheds(spillway: &Spillway) -> String {
    let flow = spillway.flow.map_or(0.0, crate::units::Flow::in_cubic_metres_per_second);
    format!("sill {:.1} m sheds {flow:.2} m3/s at {:.2} m", spillway.sill_length.in_metres(), spillway.head.in_metres())
}

/// A straight line has no least radius.
fn radius(metres: f64) -> Json {
    if metres.is_finite() { number(metres) } else { Json::Null }
}

/// How near natural ground on a line lies to its own elevation.
fn within(found: Option<LineWithin>) -> String {
    found.map_or_else(
        || "an unmeasured distance".to_owned(),
        |within| format!("{:.0} mm{}", within.distance.in_metres() * 1000.0, if within.at_95 { " (95 %)" } else { "" }),
    )
}
