//! Unstable ground in `works/`: where it is marked, and what comes near it.

use crate::frame::SiteFrame;
use crate::io::{Column, Geometry, GeometryKind, Layer};
use crate::pipeline::rounded::number;
use crate::works::{NearUnstable, SitePlan};
use serde_json::{Value as Json, json as object};

/// Where a work comes near to unstable ground.
pub(super) fn near(plan: &SitePlan, works: &str, frame: &SiteFrame) -> Json {
    let one = |near: &NearUnstable| {
        let mut json = object!({
            "ground": near.ground,
            "kind": near.kind,
            "by": near.by,
            "away_m": number(near.away.in_metres()),
            "station_m": number(near.station.in_metres()),
            "means": near.kind.means(near.by),
        });
        let (easting, northing) = frame.to_frame(near.place);
        let unit = frame.unit.suffix();
        json[format!("easting_{unit}")] = number(easting);
        json[format!("northing_{unit}")] = number(northing);
        json
    };
    Json::Array(plan.unstable_near(works).flatten().map(one).collect())
}

/// The ground that is marked, as a layer of maps.
pub(super) fn layer(plan: &SitePlan) -> Option<Layer> {
    let columns = [Column::text("name"), Column::text("kind"), Column::number("clearance_m")];
    let mut layer = Layer::new(
        "unstable_ground",
        "Slips, springs, soft and filled ground as marked by the user.",
        GeometryKind::Polygon,
        false,
        columns.to_vec(),
    );
    for ground in &plan.unstable {
        for outline in ground.area.outlines() {
            let clearance = ground.clearance.in_metres();
            let cells = vec![ground.name.as_str().into(), ground.kind.name().into(), clearance.into()];
            layer.push(Geometry::polygon(&outline), cells);
        }
    }
    (!plan.unstable.is_empty()).then_some(layer)
}
