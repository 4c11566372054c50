//! `works/works.json`: the figures of a drain, with the unit in each key.

use crate::frame::SiteFrame;
use crate::pipeline::rounded::number;
use crate::water::channel::Run;
use crate::works::drain::{Drain, Ending};
use serde_json::{Value as Json, json as object};

/// The figures of a drain.
pub(super) fn drain(drain: &Drain, frame: &SiteFrame) -> Json {
    let sizes = &drain.sizes;
    let ratio = crate::units::Batter::in_horizontal_per_vertical;
    let berm = drain.berm.as_ref().map(|berm| {
        object!({
            "crest_width_m": number(sizes.crest.in_metres()),
            "batter": number(ratio(sizes.berm_batter)),
            "built_above_line_m": number(berm.built.in_metres()),
            "settled_above_line_m": number(berm.settled.in_metres()),
            "length_m": number(berm.axis.length()),
        })
    });
    let run_out = drain.run_out.as_ref().map(|out| {
        object!({
            "length_m": number(out.axis.length()),
            "width_m": number(out.width.in_metres()),
            "from_m": number(out.levels.first().copied().unwrap_or_default()),
            "to_m": number(out.levels.last().copied().unwrap_or_default()),
        })
    });
    let bed = [drain.bed.0, drain.bed.1].map(crate::units::Station::in_metres);
    object!({
        "name": drain.name(),
        "shape": drain.wanted.shape.name(),
        "width_m": number(sizes.width.in_metres()),
        "depth_m": number(sizes.depth.in_metres()),
        "uphill_batter": number(ratio(sizes.uphill_batter)),
        "downhill_batter": number(ratio(sizes.downhill_batter)),
        "fall_percent": number(drain.line.fall.in_percent()),
        "cross_fall_percent": number(drain.cross_fall.in_percent()),
        "uphill_on": if drain.uphill_on_left { "left" } else { "right" },
        "bed_from_station_m": number(bed[0]),
        "bed_to_station_m": number(bed[1]),
        "bed_from_m": number(drain.bed_at(bed[0]).in_metres()),
        "bed_to_m": number(drain.bed_at(bed[1]).in_metres()),
        "berm": berm,
        "run_out": run_out,
        "ends": ending(drain, frame),
        "carries": carries(drain),
        "catches_m2": number(drain.catchment.area),
        "catches_over_rim_m": number(drain.catchment.open),
        "least_lip_over_bed_m": number(drain.shallowest.0.in_metres()),
        "least_lip_station_m": number(drain.shallowest.1.in_metres()),
        "deepest_face_m": number(drain.deepest_face.0.in_metres()),
        "largest_difference_m": number(drain.largest_difference),
    })
}

fn ending(drain: &Drain, frame: &SiteFrame) -> Json {
    match &drain.ending {
        Ending::Ground { at, fall, run: runs } => {
            let unit = frame.unit.suffix();
            let (easting, northing) = frame.to_frame(*at);
            let mut json = object!({
                "where": "natural-ground",
                "fall_percent": number(fall.in_percent()),
                "runs": run(*runs),
            });
            json[format!("easting_{unit}")] = number(easting);
            json[format!("northing_{unit}")] = number(northing);
            json
        }
        Ending::Edge { at, known, edge } => {
            let unit = frame.unit.suffix();
            let (easting, northing) = frame.to_frame(*at);
            let mut json = object!({ "where": "edge", "edge": edge, "known_for_m": number(known.in_metres()) });
            json[format!("easting_{unit}")] = number(easting);
            json[format!("northing_{unit}")] = number(northing);
            json
        }
        Ending::Into { works, stands, below, drop } => object!({
            "where": "work",
            "works": works,
            "bed_below_dig_m": number(below.in_metres()),
            "drop_when_empty_m": number(drop.in_metres()),
            "water_over_bed_m": stands.map(|stands| number(stands.in_metres())),
        }),
        Ending::Hole { below, at_rim } => object!({
            "where": if *at_rim { "edge-of-survey" } else { "hole" },
            "bed_below_ground_m": number(below.in_metres()),
        }),
    }
}

fn carries(drain: &Drain) -> Json {
    let carries = &drain.carries;
    let flow = |flow: crate::units::Flow| number(flow.in_cubic_metres_per_second());
    object!({
        "lip_over_bed_m": number(carries.bank.in_metres()),
        "freeboard_m": number(drain.wanted.freeboard.in_metres()),
        "cover": drain.wanted.cover.name(),
        "capacity_m3_per_s": flow(carries.capacity),
        "flow_m3_per_s": carries.flow.map(flow),
        "storm": carries.storm.as_ref().map(|storm| storm.name.as_str()),
        "runs": run(carries.run),
        "runs_bare": run(carries.bare),
        "carries": carries.enough(),
        "washes_out": carries.scours(),
    })
}

fn run(run: Option<Run>) -> Json {
    let Some(run) = run else { return Json::Null };
    object!({
        "depth_m": number(run.depth.in_metres()),
        "speed_m_per_s": number(run.speed),
        "permissible_m_per_s": run.permissible.map(number),
    })
}
