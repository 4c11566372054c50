//! `works/works.json`: the figures of every work, with the unit in each key.

use crate::frame::SiteFrame;
use crate::pipeline::rounded::number;
use crate::units::Length;
use crate::water::channel::Run;
use crate::works::dam::{Dam, WayOut};
use crate::works::pit::{Pit, Placed};
use crate::works::{FallLine, Outlet, Spillway, Swale};
use serde_json::{Value as Json, json as object};

pub(super) fn swale(swale: &Swale) -> Json {
    let crest = &swale.crest;
    let section = &swale.section;
    let spillways: Vec<Json> = swale.spillways.iter().map(spillway).collect();
    let ends: Vec<Json> = swale
        .ends
        .iter()
        .map(|end| {
            object!({
                "end": end.name.word(),
                "turned_length_m": number(end.turned_length.in_metres()),
                "closed": end.closed,
                "overflow": end.overflow,
            })
        })
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
    if let Some(together) = spillway.together {
        fields.insert("flow_of_its_pool_m3_s".to_owned(), number(together.in_cubic_metres_per_second()));
    }
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

pub(super) fn dam(dam: &Dam, frame: &SiteFrame) -> Json {
    let (crest, wanted) = (&dam.crest, &dam.wanted);
    object!({
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
        "beyond_farm_practice": dam.beyond,
        "largest_difference_m": number(dam.largest_difference),
    })
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

pub(super) fn pit(pit: &Pit, frame: &SiteFrame) -> Json {
    let batters = pit.batters.iter().map(|batter| number(batter.in_horizontal_per_vertical()));
    object!({
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
    })
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

pub(super) fn fall_line(line: &FallLine) -> Json {
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

/// A straight line has no least radius.
fn radius(metres: f64) -> Json {
    if metres.is_finite() { number(metres) } else { Json::Null }
}
