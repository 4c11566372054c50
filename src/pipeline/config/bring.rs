//! `[survey] geoid`, `inclined-plane` and `fit`: how shots come to the site's frame and heights.

use super::fault::{Fault, Located};
use super::keys::{self, Key};
use super::manner::{Manner, ShotFile};
use super::walk::{Table, number_of, shown};
use crate::frame::fit::HeightModel;
use crate::survey::InclinedPlane;
use crate::units::{Length, parse_length, parse_small_slope};

/// How shots come to the site.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BringAsked {
    /// Geoid grids, the first that covers a place rules there.
    pub geoids: Vec<Located<String>>,
    /// A plane added to every elevation.
    pub plane: Option<InclinedPlane>,
    /// A fit to known marks.
    pub fit: Option<FitFile>,
}

/// A fit to the marks of a file.
#[derive(Debug, Clone, PartialEq)]
pub struct FitFile {
    /// The file of known marks.
    pub marks: ShotFile,
    /// What may change in plan.
    pub plan: ScaleAsked,
    /// What may change in height; `None` keeps it.
    pub height: Option<HeightModel>,
    /// Standard deviation of a coordinate.
    pub sigma_plan: Length,
    /// Standard deviation of an elevation.
    pub sigma_height: Length,
    /// Marks left out.
    pub without: Vec<String>,
}

/// What may change in plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ScaleAsked {
    /// Nothing.
    Keep,
    /// The shift.
    Shift,
    /// Turn and shift at this scale.
    Turn(f64),
    /// Turn and shift at the site's combined factor.
    TurnAtCombinedFactor,
    /// Turn, scale and shift.
    Similarity,
}

pub(super) fn read(table: &Table<'_>, manner: &Manner) -> Option<BringAsked> {
    let geoids = table.texts(&keys::SURVEY_GEOID);
    let mut sound = true;
    if let Some(shape) = table.peek(&keys::SURVEY_GEOID).filter(|shape| shape.items().is_empty()) {
        let message = "`geoid` is an empty list: name a grid, or leave the key out".to_owned();
        let fault = Fault::new("pipeline::wrong-type", shape.span.clone(), message);
        shape.faults.add(fault.help(format!("write it as {}", shape.key.takes)));
        sound = false;
    }
    let plane = table.with(&keys::SURVEY_PLANE, |shape| {
        let list = shape.table("survey.inclined-plane");
        let plane = list.as_ref().and_then(read_plane);
        sound &= plane.is_some();
        table.keep(&keys::SURVEY_PLANE, list?.into_resolved());
        plane
    });
    let fit = table.with(&keys::SURVEY_FIT, |shape| {
        let list = shape.table("survey.fit");
        let fit = list.as_ref().and_then(|list| read_fit(list, manner));
        sound &= fit.is_some();
        table.keep(&keys::SURVEY_FIT, list?.into_resolved());
        fit
    });
    sound.then_some(BringAsked { geoids, plane, fit })
}

fn read_plane(table: &Table<'_>) -> Option<InclinedPlane> {
    let degrees = |key: &'static Key, limit: f64| {
        let value = table.number(key)?;
        if value.abs() <= limit {
            return Some(value);
        }
        table.out_of_range(key, "degrees are accepted");
        None
    };
    let latitude = degrees(&keys::PLANE_LATITUDE, 90.0);
    let longitude = degrees(&keys::PLANE_LONGITUDE, 180.0);
    let offset = table.quantity(&keys::PLANE_OFFSET, parse_length);
    let slope_latitude = table.quantity(&keys::PLANE_SLOPE_LATITUDE, parse_small_slope);
    let slope_longitude = table.quantity(&keys::PLANE_SLOPE_LONGITUDE, parse_small_slope);
    Some(InclinedPlane {
        latitude: latitude?,
        longitude: longitude?,
        offset: offset?.in_metres(),
        slope_latitude: slope_latitude?,
        slope_longitude: slope_longitude?,
    })
}

fn read_fit(table: &Table<'_>, manner: &Manner) -> Option<FitFile> {
    let marks = table.with(&keys::FIT_MARKS, |shape| manner.entry(shape));
    let scale = table.with(&keys::FIT_SCALE, |shape| {
        let scale = match (shape.value.as_str(), number_of(shape.value)) {
            (Some("combined-factor"), _) => Some(ScaleAsked::TurnAtCombinedFactor),
            (None, Some(scale)) if (0.9..=1.1).contains(&scale) => Some(ScaleAsked::Turn(scale)),
            _ => None,
        };
        if scale.is_none() {
            shape.not_a_choice(&shown(shape.value), "a number from 0.9 to 1.1, or `combined-factor`");
        }
        scale
    });
    let plan = table.choice(
        &keys::FIT_PLAN,
        &[
            ("turn", scale.unwrap_or(ScaleAsked::Turn(1.0))),
            ("similarity", ScaleAsked::Similarity),
            ("shift", ScaleAsked::Shift),
            ("keep", ScaleAsked::Keep),
        ],
    );
    if let (Some(ScaleAsked::Similarity | ScaleAsked::Shift | ScaleAsked::Keep), Some(_)) = (plan, scale) {
        table.faults().add(Fault::new(
            "pipeline::scale-without-turn",
            table.peek(&keys::FIT_SCALE).map(|shape| shape.span).unwrap_or_default(),
            "`scale` is fixed only with plan = \"turn\"",
        ));
    }
    let height = table.choice(
        &keys::FIT_HEIGHT,
        &[("shift", Some(HeightModel::Shift)), ("plane", Some(HeightModel::Plane)), ("keep", None)],
    );
    let sigma_plan = table.above_zero(&keys::FIT_SIGMA_PLAN, parse_length);
    let sigma_height = table.above_zero(&keys::FIT_SIGMA_HEIGHT, parse_length);
    let without = table.texts(&keys::FIT_WITHOUT).into_iter().map(|text| text.value).collect();
    Some(FitFile {
        marks: marks?,
        plan: plan?,
        height: height?,
        sigma_plan: sigma_plan?,
        sigma_height: sigma_height?,
        without,
    })
}
