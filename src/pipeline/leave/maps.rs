//! The results as layers of maps: one description of each, for every map format.

use crate::ground::{Doubt, Ground};
use crate::io::{Column, ColumnKind, Geometry, GeometryKind, Layer};
use crate::stakeout::{Action, StakeKind, StakeList, Target};
use crate::surface::{ContourLine, Tin, TriangleId};
use crate::survey::Survey;
use crate::works::{FallLine, SitePlan, Work};

/// Every kept shot with what its neighbours say of it, the breaklines they make, and what was set aside.
pub(super) fn survey(survey: &Survey) -> Vec<Layer> {
    let mut shots = Layer::new(
        "shots",
        "Shots that are used.",
        GeometryKind::Point,
        true,
        vec![
            Column::text("shot"),
            Column::text("file"),
            Column::new("line", ColumnKind::Integer),
            Column::text("code"),
            Column::text("role"),
            Column::elevation("elevation"),
            Column::number("horizontal_sigma_m"),
            Column::number("vertical_sigma_m"),
            Column::number("off_neighbours_m"),
            Column::number("neighbours_sigma_m"),
            Column::number("unseen_below_m"),
            Column::new("doubtful", ColumnKind::Integer),
        ],
    );
    let doubtful: std::collections::BTreeSet<usize> = survey.doubtful.iter().map(|&index| index as usize).collect();
    for (index, shot) in survey.shots.iter().enumerate() {
        let among = survey.neighbours.get(index).copied().flatten();
        let file = survey.files.get(shot.file as usize).map_or("", String::as_str);
        shots.push(
            Geometry::Point(shot.point()),
            vec![
                shot.id.as_str().into(),
                file.into(),
                usize::try_from(shot.line).unwrap_or(usize::MAX).into(),
                shot.code.as_str().into(),
                shot.role.name().into(),
                shot.elevation.into(),
                shot.quality.horizontal_sigma.into(),
                shot.quality.vertical_sigma.into(),
                among.map(|among| among.off).into(),
                among.map(|among| among.sigma).into(),
                among.map(|among| among.detectable()).into(),
                usize::from(doubtful.contains(&index)).into(),
            ],
        );
    }
    let mut breaklines =
        Layer::new("breaklines", "Breaklines through shots.", GeometryKind::Line, true, vec![Column::text("code")]);
    for line in &survey.breaklines {
        let shots: Vec<_> = line.iter().filter_map(|&index| survey.shots.get(index as usize)).collect();
        if let (Some(first), true) = (shots.first(), shots.len() > 1) {
            breaklines.push(
                Geometry::Line(shots.iter().map(|shot| shot.point()).collect()),
                vec![first.code.as_str().into()],
            );
        }
    }
    let mut aside = Layer::new(
        "set_aside",
        "Lines of the point files that are not used.",
        GeometryKind::Point,
        true,
        ["shot", "file", "reason", "value", "keep"].map(Column::text).to_vec(),
    );
    for (row, point) in survey.set_aside.iter().filter_map(|row| Some((row, row.point?))) {
        let cells = [&row.shot, &row.file, &row.reason, &row.value, &row.keep_line()];
        aside.push(Geometry::Point(point), cells.map(|cell| cell.as_str().into()).to_vec());
    }
    vec![shots, breaklines, aside]
}

/// The triangles of the ground.
pub(super) fn ground(tin: &Tin) -> Vec<Layer> {
    let mut triangles = Layer::new(
        "triangles",
        "The triangulated ground.",
        GeometryKind::Polygon,
        true,
        vec![Column::new("triangle", ColumnKind::Integer)],
    );
    for (index, id) in tin.ids().enumerate() {
        triangles.push(Geometry::Polygon(vec![tin.corners(id).to_vec()]), vec![index.into()]);
    }
    let mut breaks = Layer::new("breaklines", "Edges that are breaklines.", GeometryKind::Line, true, Vec::new());
    for id in tin.ids() {
        for edge in 0..3 {
            let told_once = tin.neighbour(id, edge).is_none_or(|TriangleId(other)| other > id.0);
            if tin.is_break(id, edge) && told_once {
                let corners = tin.corners(id);
                breaks.push(Geometry::Line(vec![corners[edge], corners[(edge + 1) % 3]]), Vec::new());
            }
        }
    }
    vec![triangles, breaks]
}

/// Contour lines, exact on the triangles.
pub(super) fn contours(levels: &[(f64, Vec<ContourLine>)]) -> Layer {
    let columns = vec![Column::elevation("elevation")];
    let mut layer =
        Layer::new("contours", "Contour lines, higher ground on their left.", GeometryKind::Line, true, columns);
    for (level, lines) in levels {
        for line in lines {
            let again = line.closed.then(|| line.points.first()).flatten();
            let points: Vec<_> = line.points.iter().chain(again).copied().collect();
            layer.push(Geometry::line_at(&points, *level), vec![(*level).into()]);
        }
    }
    layer
}

/// Triangles whose ground is not known well enough, and where to shoot more.
pub(super) fn doubts(ground: &Ground, doubts: &[Doubt], shoot: &[Doubt]) -> Vec<Layer> {
    let hides = || vec![Column::number("hides_m")];
    let mut unsure = Layer::new(
        "unsure",
        "Triangles where the ground between shots may be off by so much (95 %).",
        GeometryKind::Polygon,
        true,
        hides(),
    );
    for doubt in doubts {
        unsure.push(Geometry::Polygon(vec![ground.tin.corners(doubt.triangle).to_vec()]), vec![doubt.hides.into()]);
    }
    let mut here = Layer::new("shoot_here", "Where one more shot tells most.", GeometryKind::Point, false, hides());
    for doubt in shoot {
        here.push(Geometry::Point(doubt.middle.at(0.0)), vec![doubt.hides.into()]);
    }
    vec![unsure, here]
}

/// Lines and outlines of the works.
pub(super) fn works(plan: &SitePlan) -> Vec<Layer> {
    let line_columns = || vec![Column::text("works"), Column::text("part"), Column::elevation("elevation")];
    let mut lines = Layer::new(
        "lines",
        "Contour line, bed, crest and sill of each work.",
        GeometryKind::Line,
        true,
        line_columns(),
    );
    let mut areas = Layer::new(
        "areas",
        "Outlines of what is dug and filled, and of the sill.",
        GeometryKind::Polygon,
        false,
        vec![Column::text("works"), Column::text("part"), Column::number("area_m2")],
    );
    let mut daylight = Layer::new(
        "daylight",
        "Where the works meet natural ground.",
        GeometryKind::Line,
        true,
        vec![Column::text("works")],
    );
    for work in &plan.works {
        add_lines(&mut lines, work);
        let work = work.shared();
        let name = work.name;
        let strips = work.spillways.iter().map(|spillway| ("sill", &spillway.strip));
        let cut = work.cut_footprint.iter().map(|region| ("cut", region));
        let fill = work.fill_footprint.iter().map(|region| ("fill", region));
        for (part, region) in cut.chain(fill).chain(strips) {
            areas.push(Geometry::polygon(region), vec![name.into(), part.into(), region.area().into()]);
        }
        for line in work.daylight.iter().filter(|line| line.len() > 1) {
            daylight.push(Geometry::Line(line.clone()), vec![name.into()]);
        }
    }
    let layers =
        [lines, areas, daylight].into_iter().chain(super::test_pits::layer(plan)).chain(super::unstable::layer(plan));
    layers.map(|layer| with_cautions(layer, plan)).collect()
}

/// A layer whose description says too what no output of its works may leave out.
pub(super) fn with_cautions(mut layer: Layer, plan: &SitePlan) -> Layer {
    for caution in plan.cautions() {
        layer.description = format!("{} {caution}.", layer.description);
    }
    layer
}

/// Lines of constant fall, with their elevations.
pub(super) fn fall_lines(lines: &[FallLine]) -> Layer {
    let mut layer = Layer::new(
        "fall_lines",
        "Lines of constant fall, from their start down, at their even fall.",
        GeometryKind::Line,
        true,
        vec![
            Column::text("name"),
            Column::number("fall_percent"),
            Column::number("length_m"),
            Column::elevation("start"),
            Column::elevation("end"),
        ],
    );
    for line in lines {
        let stations = line.line.points().iter().zip(line.line.stations());
        layer.push(
            Geometry::Line(stations.map(|(p, &station)| p.at(line.elevation(station))).collect()),
            vec![
                line.wanted.name.as_str().into(),
                line.fall.in_percent().into(),
                line.line.length().into(),
                line.ends.0.in_metres().into(),
                line.ends.1.in_metres().into(),
            ],
        );
    }
    layer
}

fn add_lines(lines: &mut Layer, work: &Work) {
    let name = work.shared().name;
    for line in work.lines() {
        let elevation = line.elevation();
        lines.push(Geometry::Line(line.points), vec![name.into(), line.part.into(), elevation.into()]);
    }
}

/// The stakes, with the columns of `stakes.csv`; every row says of which issue it is.
pub(super) fn stakes(list: &StakeList, issue: &str) -> Vec<Layer> {
    let mut layer = Layer::new(
        "stakes",
        "Stakes to set.",
        GeometryKind::Point,
        true,
        vec![
            Column::text("stake"),
            Column::text("works"),
            Column::text("kind"),
            Column::number("station_m"),
            Column::text("side"),
            Column::number("offset_m"),
            Column::new("easting", ColumnKind::Easting),
            Column::new("northing", ColumnKind::Northing),
            Column::elevation("predicted_ground"),
            Column::elevation("mark_elevation"),
            Column::text("refers_to"),
            Column::number("away_m"),
            Column::elevation("design_elevation"),
            Column::number("cut_m"),
            Column::number("fill_m"),
            Column::text("writes"),
            Column::text("issue"),
        ],
    );
    for stake in &list.stakes {
        let (cut, fill) = cut_or_fill(stake.action);
        layer.push(
            Geometry::Point(stake.place.at(stake.predicted_ground.unwrap_or(stake.design_elevation))),
            vec![
                stake.id.as_str().into(),
                stake.works.as_str().into(),
                kind_name(stake.kind).into(),
                stake.station.into(),
                stake.side.into(),
                stake.offset.into(),
                stake.place.x.into(),
                stake.place.y.into(),
                stake.predicted_ground.into(),
                stake.mark_elevation.into(),
                target_name(stake.refers_to).into(),
                stake.away.into(),
                stake.design_elevation.into(),
                cut.into(),
                fill.into(),
                stake.writes.as_str().into(),
                issue.into(),
            ],
        );
    }
    vec![layer]
}

/// Never below zero, one of them empty.
pub(super) const fn cut_or_fill(action: Option<Action>) -> (Option<f64>, Option<f64>) {
    match action {
        Some(Action::Cut(by)) => (Some(by), None),
        Some(Action::Fill(by)) => (None, Some(by)),
        Some(Action::OnGrade) => (Some(0.0), None),
        None => (None, None),
    }
}

const fn kind_name(kind: StakeKind) -> &'static str {
    match kind {
        StakeKind::Line => "line",
        StakeKind::Offset => "offset",
        StakeKind::Sill => "sill",
        StakeKind::Crest => "crest",
        StakeKind::Toe => "toe",
        StakeKind::Channel => "channel",
    }
}

pub(super) const fn target_name(target: Target) -> &'static str {
    match target {
        Target::Bed => "bed",
        Target::Sill => "sill",
        Target::Crest => "crest",
        Target::WaterLevel => "water-level",
    }
}
