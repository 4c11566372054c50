//! Test pits in `works/`: what was met in each, and what they prove of the ground under each work.

use crate::frame::SiteFrame;
use crate::io::{Column, Geometry, GeometryKind, Layer};
use crate::pipeline::rounded::number;
use crate::units::Length;
use crate::works::{Extent, Odds, PartProof, PitWord, SitePlan, SoilProof, TestPit};
use serde_json::{Value as Json, json as object};

/// Every test pit with what was met in it.
pub(super) fn pits(plan: &SitePlan, frame: &SiteFrame) -> Json {
    let one = |pit: &TestPit| {
        let layers: Vec<Json> = pit
            .layers
            .iter()
            .map(|layer| {
                object!({ "soil": layer.met.name(), "to_m": number(layer.to.in_metres()), "ribbon_m": depth(layer.ribbon), "crumb": layer.crumb })
            })
            .collect();
        let mut json = object!({
            "name": pit.name,
            "depth_m": number(pit.depth.in_metres()),
            "layers": layers,
            "water_m": depth(pit.water),
            "rock_m": depth(pit.rock),
            "date": pit.date,
        });
        let (easting, northing) = frame.to_frame(pit.place);
        let unit = frame.unit.suffix();
        json[format!("easting_{unit}")] = number(easting);
        json[format!("northing_{unit}")] = number(northing);
        json
    };
    Json::Array(plan.test_pits.iter().map(one).collect())
}

/// What the pits prove of one work.
pub(super) fn proof(proof: &SoilProof) -> Json {
    object!({
        "standing": proof.standing(),
        "reach_m": number(proof.reach.in_metres()),
        "parts": proof.parts.iter().map(part).collect::<Vec<_>>(),
        "test_pits": proof.pits.iter().map(word).collect::<Vec<_>>(),
    })
}

fn part(part: &PartProof) -> Json {
    let unit = match part.by {
        Extent::Length => "m",
        Extent::Area => "m2",
    };
    let open: Vec<[Json; 2]> =
        part.open.iter().map(|(from, to)| [number(from.in_metres()), number(to.in_metres())]).collect();
    let mut json = object!({ "part": part.part, "open_stations_m": open });
    for (name, value) in [("whole", part.whole), ("proven", part.proven), ("not_as_taken", part.otherwise)] {
        json[format!("{name}_{unit}")] = number(value);
    }
    json
}

fn word(word: &PitWord) -> Json {
    let odds = word.odds.iter().map(|odds| match odds {
        Odds::Soil { met, from, to } => {
            object!({ "soil": met, "from_m": number(from.in_metres()), "to_m": number(to.in_metres()) })
        }
        Odds::Disperses { met, crumb, from, to } => {
            object!({ "disperses": met, "crumb": crumb, "from_m": number(from.in_metres()), "to_m": number(to.in_metres()) })
        }
        Odds::Rock(at) => object!({ "rock_m": number(at.in_metres()) }),
        Odds::Water(at) => object!({ "water_m": number(at.in_metres()) }),
    });
    object!({
        "name": word.pit,
        "away_m": number(word.away.in_metres()),
        "part": word.part,
        "station_m": number(word.station.in_metres()),
        "dug_m": number(word.dug.in_metres()),
        "dig_there_m": number(word.cut.in_metres()),
        "deep_enough": !word.too_shallow(),
        "not_as_taken": odds.collect::<Vec<_>>(),
    })
}

fn depth(depth: Option<Length>) -> Json {
    depth.map_or(Json::Null, |depth| number(depth.in_metres()))
}

/// The test pits as a layer of maps.
pub(super) fn layer(plan: &SitePlan) -> Option<Layer> {
    let columns = [
        Column::text("name"),
        Column::number("depth_m"),
        Column::text("met"),
        Column::number("water_m"),
        Column::number("rock_m"),
        Column::text("date"),
    ];
    let mut layer = Layer::new(
        "test_pits",
        "Test pits and what was met in them, depths below the ground.",
        GeometryKind::Point,
        false,
        columns.to_vec(),
    );
    for pit in &plan.test_pits {
        let met: Vec<String> =
            pit.layers.iter().map(|layer| format!("{} to {:.2} m", layer.met.name(), layer.to.in_metres())).collect();
        layer.push(
            Geometry::Point(pit.place.at(0.0)),
            vec![
                pit.name.as_str().into(),
                pit.depth.in_metres().into(),
                met.join(", ").as_str().into(),
                pit.water.map(Length::in_metres).into(),
                pit.rock.map(Length::in_metres).into(),
                pit.date.as_deref().unwrap_or("").into(),
            ],
        );
    }
    (!plan.test_pits.is_empty()).then_some(layer)
}
