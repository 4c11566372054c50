//! `works/`: lines, sections and the designed surface, with what the stage tells of them; tables and figures are in files of their own.

use super::{Left, drain_figures, json, maps, no_lonlat_note, test_pits, unstable, works_figures, works_tables};
use crate::asbuilt::Design;
use crate::geom::Point;
use crate::io::write::tables::Tables;
use crate::io::write::{geojson, geopackage, landxml, tin};
use crate::pipeline::PipelineError;
use crate::pipeline::values::Values;
use crate::works::drain::{Alarm, Drain};
use crate::works::{
    FallLine, LineWithin, Outlet, SitePlan, SoilStanding, Spillway, Work, mark_fates, mark_notes, second_pass,
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
    let described: Vec<String> = plan.value.works.iter().map(|work| alignment_words(&plan.value, work)).collect();
    let beds: Vec<Vec<(f64, f64)>> = plan.value.works.iter().map(bed_profile).collect();
    let mut alignments: Vec<_> = plan
        .value
        .shared()
        .zip(&described)
        .zip(&beds)
        .map(|((work, description), bed)| landxml::Alignment {
            name: work.name,
            description,
            line: work.line.points(),
            start_station: 0.0,
            profile: bed,
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
    // The line of a drain is among the works, with the fall of its bed.
    let undug: Vec<&FallLine> = fall_lines.iter().filter(|line| line.wanted.channel.is_none()).collect();
    let profiles: Vec<Vec<(f64, f64)>> = undug.iter().map(|line| profile(line)).collect();
    alignments.extend(undug.iter().zip(&profiles).map(|(line, profile)| landxml::Alignment {
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
    tables.table("contour-check.csv", &works_tables::contour_check(&plan.value))?;
    let second_pass = second_pass(natural, &plan.value, fall_lines);
    tables.table("where-to-shoot.csv", &works_tables::where_to_shoot(&second_pass))?;
    if !plan.value.pits_to_dig.is_empty() {
        tables.table("where-to-dig.csv", &works_tables::where_to_dig(&plan.value))?;
    }
    if plan.value.swales().any(|swale| !swale.trials.is_empty()) {
        tables.table("places.csv", &works_tables::places(&plan.value))?;
    }
    if !fall_lines.is_empty() {
        tables.table("fall-lines.csv", &works_tables::fall_line_stations(fall_lines))?;
    }
    tables.finish()?;

    let mut design = Design::from_plan(&plan.value);
    design.marks = values.marks()?;
    let marks: Vec<(String, Point)> = design.marks.iter().map(|mark| (mark.name.clone(), mark.place)).collect();
    let fates = mark_fates(&marks, &plan.value);
    if !plan.value.works.is_empty() {
        notes.extend(mark_notes(&fates, &plan.value));
    }
    let (mut swales, mut pits, mut dams, mut drains) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for work in &plan.value.works {
        let (list, mut figures) = match work {
            Work::Swale(swale) => (&mut swales, works_figures::swale(swale)),
            Work::Pit(pit) => (&mut pits, works_figures::pit(pit, &context.frame)),
            Work::Drain(drain) => (&mut drains, drain_figures::drain(drain, &context.frame)),
            Work::Dam(dam) => (&mut dams, works_figures::dam(dam, &context.frame)),
        };
        figures["cautions"] = plan.value.cautions_of(work).into();
        figures["soil"] = plan.value.soil_of(work.shared().name).map_or(Json::Null, test_pits::proof);
        figures["unstable_ground"] = unstable::near(&plan.value, work.shared().name, &context.frame);
        list.push(figures);
    }
    json(
        &folder.join("works.json"),
        object!({ "swales": swales, "pits": pits, "dams": dams, "drains": drains, "fall_lines": fall_lines.iter().map(works_figures::fall_line).collect::<Vec<_>>(), "test_pits": test_pits::pits(&plan.value, &context.frame), "marks": fates, "design": design }),
        &context.frame,
    )?;

    let about = |work: &Work| match work {
        Work::Swale(swale) => format!(
            "{}: {:.1} m at {:.3} m, holds {:.1} m3, crest {:.3} m, line within {}{}",
            swale.wanted.name,
            swale.line.length(),
            swale.water_level.in_metres(),
            swale.storage.volume.in_cubic_metres(),
            swale.crest.built.in_metres(),
            within(swale.line_within()),
            with_cautions(&swale.cautions())
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
        Work::Drain(drain) => format!(
            "{}: drain {:.2} m deep, bed falling {:.2} % over {:.1} m, {}",
            drain.name(),
            drain.sizes.depth.in_metres(),
            drain.line.fall.in_percent(),
            drain.bed.1.in_metres() - drain.bed.0.in_metres(),
            carries(drain)
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
    };
    let summary = plan.value.works.iter().map(|work| about(work) + &of_the_ground(&plan.value, work));
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

/// What is grave, behind the figures of a work.
fn with_cautions(says: &[String]) -> String {
    says.iter().flat_map(|says| [", ", says]).collect()
}

/// What is grave about the ground under a work.
fn of_the_ground(plan: &SitePlan, work: &Work) -> String {
    let name = work.shared().name;
    let proof = plan.soil_of(name).filter(|proof| proof.standing() == SoilStanding::Contradicted);
    let soil = proof.map(|proof| if proof.disperses() { ", DISPERSIVE SOIL" } else { ", SOIL NOT AS TAKEN" });
    let unstable = plan.unstable_near(name).next().map(|_| ", UNSTABLE GROUND NEAR");
    soil.into_iter().chain(unstable).collect()
}

/// What a drain carries, and whether that is enough.
fn carries(drain: &Drain) -> String {
    let flow = |flow: crate::units::Flow| flow.in_cubic_metres_per_second();
    let capacity = format!("carries {:.3} m3/s", flow(drain.carries.capacity));
    let asked = match (drain.carries.enough(), drain.carries.flow) {
        (Some(true), Some(asked)) => format!("{capacity}, asked for {:.3} m3/s", flow(asked)),
        (Some(false), Some(asked)) => format!("{capacity}, TOO SMALL for {:.3} m3/s", flow(asked)),
        _ => capacity,
    };
    // What it carries says already that it is too small.
    let mut leads = drain.alarms().into_iter().filter(|alarm| !matches!(alarm, Alarm::TooSmall { .. }));
    let Some(gravest) = leads.next() else { return asked };
    let more = match leads.count() {
        0 => String::new(),
        more => format!(" and {more} more warned of"),
    };
    format!("{asked}, {}{more}", gravest.lead())
}

/// Stations and elevations of the bed of a drain along its line; none for works whose alignment is level or told elsewhere.
fn bed_profile(work: &Work) -> Vec<(f64, f64)> {
    let Work::Drain(drain) = work else { return Vec::new() };
    [drain.bed.0, drain.bed.1].map(|at| (at.in_metres(), drain.bed_at(at.in_metres()).in_metres())).to_vec()
}

/// Stations and elevations of a line of constant fall.
fn profile(line: &FallLine) -> Vec<(f64, f64)> {
    let length = line.line.length();
    [0.0, length].map(|station| (station, line.elevation(station))).to_vec()
}

/// What the line of a work is, with what no output of it may leave out.
fn alignment_words(plan: &SitePlan, work: &Work) -> String {
    let line = match work {
        Work::Swale(_) => "contour line of the swale, uphill on its left".to_owned(),
        Work::Pit(_) => "rim of the pit, the outside on its left".to_owned(),
        Work::Dam(_) => "middle of the crest, the water on its left".to_owned(),
        Work::Drain(drain) => {
            let side = if drain.uphill_on_left { "left" } else { "right" };
            let away = drain.bed_offset.in_metres();
            let where_it_lies = match away.abs() {
                near if near < 0.05 => "on the line".to_owned(),
                off => format!("{off:.2} m {} of the line", if away > 0.0 { "uphill" } else { "downhill" }),
            };
            format!(
                "line of the drain as its water runs, uphill on its {side}; the profile is its bed, the middle of which lies {where_it_lies}"
            )
        }
    };
    std::iter::once(line).chain(plan.cautions_of(work)).collect::<Vec<_>>().join("; ")
}

/// What a spillway sheds.
fn sheds(spillway: &Spillway) -> String {
    let flow = spillway.flow.map_or(0.0, crate::units::Flow::in_cubic_metres_per_second);
    format!("sill {:.1} m sheds {flow:.2} m3/s at {:.2} m", spillway.sill_length.in_metres(), spillway.head.in_metres())
}

/// How near natural ground on a line lies to its own elevation.
fn within(found: Option<LineWithin>) -> String {
    found.map_or_else(
        || "an unmeasured distance".to_owned(),
        |within| format!("{:.0} mm{}", within.distance.in_metres() * 1000.0, if within.at_95 { " (95 %)" } else { "" }),
    )
}
