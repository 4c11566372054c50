//! What the check needs to know of a design, as a run leaves it on disk.

use crate::geom::{Point, Polygon, Polyline};
use crate::units::Station;
use crate::works::dam::Dam;
use crate::works::drain::Drain;
use crate::works::pit::Pit;
use crate::works::{SitePlan, Sizes, Spillway, Swale, Work};

/// The works to check against, in the local frame, metres. A wire type: the whole of it is written and read back.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Design {
    /// The works.
    #[serde(alias = "swales")]
    pub works: Vec<WorkDesign>,
    /// Known marks on which check shots open and close a file; empty when the site has none.
    #[serde(default)]
    pub marks: Vec<Mark>,
}

/// A known mark.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Mark {
    /// Its name.
    pub name: String,
    /// Where, local metres.
    pub place: Point,
    /// Its elevation.
    pub elevation_m: f64,
}

/// One work as built on the day: elevations before settling. What a kind of work does not have is empty.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct WorkDesign {
    /// Its name.
    pub name: String,
    /// The line that stations run along: uphill on its left, or a rim with the outside on its left.
    pub line: Vec<Point>,
    /// The elevation at which it stands full.
    pub water_level_m: f64,
    /// Its sills.
    pub sills: Vec<SillDesign>,
    /// Middle of the berm's crest, one piece on each side of every spillway.
    pub crest_axes: Vec<Vec<Point>>,
    /// The elevation to which the crest is built.
    pub crest_built_m: f64,
    /// The same for each place of each crest axis, where it is not one level.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub crest_levels_m: Vec<Vec<f64>>,
    /// Width of the crest.
    pub crest_width_m: f64,
    /// The same for each place of each crest axis, where it is not one width.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub crest_widths_m: Vec<Vec<f64>>,
    /// Middle of the channel's bed.
    pub bed_axis: Vec<Point>,
    /// Outline of a floor that is not a strip along an axis.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub floor: Vec<Point>,
    /// Outlines of what is dug and filled, where the work is wider than what lies beside its crest or bed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub outlines: Vec<Vec<Point>>,
    /// Elevation of bed or floor.
    pub bed_m: f64,
    /// The same for each place of the bed's axis, where it is not one level.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub bed_levels_m: Vec<f64>,
    /// Width of the bed.
    pub bottom_width_m: f64,
    /// The same for each place of the bed's axis, where it is not one width.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub bottom_widths_m: Vec<f64>,
    /// Head over the sill at the design flow.
    pub head_m: f64,
    /// Freeboard above that.
    pub freeboard_m: f64,
    /// Height that the berm will lose after the day of the check.
    pub settlement_m: f64,
    /// It leads water and holds none: its bed decides, and its crest is held to no water.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub leads_water: bool,
}

/// A level sill.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct SillDesign {
    /// Station of its start on the line.
    pub from_m: f64,
    /// Station of its end.
    pub to_m: f64,
    /// Its elevation.
    pub elevation_m: f64,
    /// Head over it at the design flow.
    pub head_m: f64,
    /// Its downhill edge, where water leaves.
    pub lip: Vec<Point>,
    /// Outline of the level strip.
    pub strip: Vec<Point>,
}

impl Design {
    /// The works of a plan; marks are added by the caller.
    #[must_use]
    pub fn from_plan(plan: &SitePlan) -> Self {
        Self { works: plan.works.iter().map(WorkDesign::of).collect(), marks: Vec::new() }
    }
}

impl SillDesign {
    fn of(spillway: &Spillway) -> Self {
        Self {
            from_m: spillway.from.in_metres(),
            to_m: spillway.to.in_metres(),
            elevation_m: spillway.sill.in_metres(),
            head_m: spillway.head.in_metres(),
            lip: spillway.lip.points().to_vec(),
            strip: spillway.strip.outer.clone(),
        }
    }
}

impl WorkDesign {
    fn of(work: &Work) -> Self {
        match work {
            Work::Swale(swale) => Self::from_swale(swale),
            Work::Pit(pit) => Self::from_pit(pit),
            Work::Dam(dam) => Self::from_dam(dam),
            Work::Drain(drain) => Self::from_drain(drain),
        }
    }

    /// It holds no water: the bed is held to its own fall, and the crest, which takes no part in what it carries, to its.
    fn from_drain(drain: &Drain) -> Self {
        let berm = drain.berm.as_ref();
        let lowest = |levels: &[f64]| levels.iter().copied().fold(f64::INFINITY, f64::min);
        Self {
            name: drain.name().to_owned(),
            line: drain.line.line.points().to_vec(),
            water_level_m: lowest(&drain.bed_levels),
            crest_axes: berm.iter().map(|berm| berm.axis.points().to_vec()).collect(),
            crest_built_m: berm.map_or(0.0, |berm| lowest(&berm.levels)),
            crest_levels_m: berm.iter().map(|berm| berm.levels.clone()).collect(),
            crest_width_m: drain.sizes.crest.in_metres(),
            outlines: outer(&drain.fill_footprint).into_iter().chain(outer(&drain.cut_footprint)).collect(),
            bed_axis: drain.bed_axis.points().to_vec(),
            bed_m: lowest(&drain.bed_levels),
            bed_levels_m: drain.bed_levels.clone(),
            bottom_width_m: drain.bottom_width().in_metres(),
            leads_water: true,
            settlement_m: berm.map_or(0.0, |berm| (berm.built - berm.settled).in_metres()),
            ..Self::default()
        }
    }

    fn from_dam(dam: &Dam) -> Self {
        Self {
            name: dam.wanted.name.clone(),
            line: dam.line.points().to_vec(),
            water_level_m: dam.crest.water_level.in_metres(),
            sills: dam.spillways.iter().map(SillDesign::of).collect(),
            crest_axes: vec![dam.line.points().to_vec()],
            outlines: outer(&dam.fill_footprint).into_iter().chain(outer(&dam.cut_footprint)).collect(),
            crest_built_m: dam.crest.built.in_metres(),
            crest_levels_m: vec![dam.built.clone()],
            crest_width_m: dam.crest_width.in_metres(),
            head_m: dam.crest.head.in_metres(),
            freeboard_m: dam.crest.freeboard.in_metres(),
            settlement_m: dam.crest.settlement.in_metres(),
            ..Self::default()
        }
    }

    fn from_pit(pit: &Pit) -> Self {
        Self {
            name: pit.wanted.name.clone(),
            line: pit.rim.points().to_vec(),
            water_level_m: pit.water_level.in_metres(),
            sills: pit.spillways.iter().map(SillDesign::of).collect(),
            head_m: pit.spillways.first().map_or(0.0, |spillway| spillway.head.in_metres()),
            floor: pit.floor.outer.clone(),
            outlines: outer(&pit.cut_footprint),
            bed_m: pit.floor_level.in_metres(),
            ..Self::default()
        }
    }

    fn from_swale(swale: &Swale) -> Self {
        let points = |line: &Polyline| line.points().to_vec();
        let changes = !swale.wanted.changes.is_empty();
        let sizes = |place: &Point| swale.wanted.sizes_at(Station::metres(swale.line.foot(*place).station));
        let along = |line: &Polyline, measure: &dyn Fn(Sizes) -> f64| -> Vec<f64> {
            let places = line.points().iter().filter(|_| changes);
            places.map(|place| measure(sizes(place))).collect()
        };
        let widths = |axis: &Polyline| -> Vec<f64> {
            axis.points().iter().map(|place| sizes(place).crest.in_metres()).collect()
        };
        // The top of a crossing is crest like the berm's, of its own width.
        let tops = swale.crossings.iter().map(|crossing| crossing.top().to_vec());
        let top_widths = swale.crossings.iter().map(|crossing| vec![crossing.wanted.width.in_metres(); 2]);
        let top_levels = swale.crossings.iter().map(|crossing| vec![crossing.level().in_metres(); 2]);
        let of_one_width = !changes && swale.crossings.is_empty();
        Self {
            name: swale.wanted.name.clone(),
            line: points(&swale.line),
            water_level_m: swale.water_level.in_metres(),
            sills: swale.spillways.iter().map(SillDesign::of).collect(),
            crest_axes: swale.crest_axes.iter().map(points).chain(tops).collect(),
            crest_built_m: swale.crest.built.in_metres(),
            crest_levels_m: if swale.crest_levels.is_empty() {
                Vec::new()
            } else {
                swale.crest_levels.iter().cloned().chain(top_levels).collect()
            },
            crest_width_m: swale.section.crest_width.in_metres(),
            crest_widths_m: if of_one_width {
                Vec::new()
            } else {
                swale.crest_axes.iter().map(widths).chain(top_widths).collect()
            },
            bed_axis: points(&swale.bed_axis),
            floor: Vec::new(),
            outlines: Vec::new(),
            bed_m: swale.section.bed.in_metres(),
            bed_levels_m: if changes { swale.bed_levels.clone() } else { Vec::new() },
            bottom_widths_m: along(&swale.bed_axis, &|sizes| sizes.bed_width(&swale.wanted.shape).in_metres()),
            bottom_width_m: swale.section.bottom_width.in_metres(),
            head_m: swale.crest.head.in_metres(),
            freeboard_m: swale.crest.freeboard.in_metres(),
            settlement_m: swale.crest.settlement.in_metres(),
            leads_water: false,
        }
    }
}

fn outer(footprint: &[Polygon]) -> Vec<Vec<Point>> {
    footprint.iter().map(|polygon| polygon.outer.clone()).collect()
}
