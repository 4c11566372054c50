//! The operator's dig sheet: its pages in the order that a cab reads them.

use super::html::Html;
use super::input::DigSheetInput;
use super::marks::marks;
use super::{amounts, build, cautions, levels, order, stakes, told};
use crate::draw::{
    capital, crossing_sections, drain_profile, drain_section, ground_section, long_section, outlet_profile,
    outlet_section, pit_sections, plan_pieces, sill_section, site_plan, spillway_plan, typical_sections, wall_profile,
    wall_section,
};
use crate::stakeout::StakeKind;
use crate::units::{Elevation, ReadingUnits};
use crate::works::{Swale, Work};

/// The style of the sheet: black on white, nothing smaller than 12 pt.
const STYLE: &str = include_str!("style.css");

/// The dig sheet as one HTML document.
#[must_use]
pub fn dig_sheet(input: &DigSheetInput) -> String {
    let style = format!("@page {{ size: {} portrait; margin: 8mm 10mm; }}\n{STYLE}", input.words().paper);
    let title = format!("{}: dig sheet, issue {}", input.site, input.issue.number);
    let mut html = Html::begin(&title, &style);
    first_pages(&mut html, input);
    // One run of paper: a drawing or a table that does not fit goes to the next sheet, and nothing else leaves room behind.
    page(&mut html, input, |html| {
        html.open("div", "whole");
        html.heading(2, "Order of work");
        html.list(true, &order::order_of_work(input));
        html.close("div");
        told::before_digging(html, input);
        plans(html, input);
        input.plan.works.iter().for_each(|work| sections(html, input, work));
        stakes::stake_sample(html, input);
        stakes::stake_tables(html, input);
        html.heading(2, "Cautions");
        html.list(false, &cautions::cautions(input));
        html.open("div", "whole");
        cautions::hold_points(html, input);
        html.close("div");
        amounts::earth(html, input);
        amounts::water(html, input);
        amounts::promises(html, input);
        mark_table(html, input);
        notes(html, input);
        let foot = format!(
            "Made by swalewright {}. Drawings are true to scale when printed without fitting to the page; the scale bars are always true.",
            env!("CARGO_PKG_VERSION")
        );
        html.paragraph("foot", &foot);
    });
    html.end();
    html.into_text()
}

/// A page with the strip that says which sheet this is.
fn page(html: &mut Html, input: &DigSheetInput, body: impl FnOnce(&mut Html)) {
    html.open("section", "page");
    html.open("div", "strip");
    html.open("div", "");
    html.paragraph("", &format!("{}: dig sheet", input.site));
    html.paragraph("", &input.issue.to_string());
    html.close("div");
    html.close("div");
    body(html);
    html.close("section");
}

/// What to build, a page for each work; the first carries the title block.
fn first_pages(html: &mut Html, input: &DigSheetInput) {
    if input.plan.works.is_empty() {
        page(html, input, |html| {
            title_block(html, input);
            html.paragraph("warning", "NOTHING TO DIG: the plan holds no works.");
        });
    }
    for (i, work) in input.plan.works.iter().enumerate() {
        let sections = match work {
            Work::Swale(swale) => typical_sections(swale, stake_offset(input, swale), input.figures, input.words()),
            Work::Pit(_) | Work::Dam(_) | Work::Drain(_) => Vec::new(),
        };
        let (first, further) = sections.split_at(sections.len().min(1));
        page(html, input, |html| {
            if i == 0 {
                title_block(html, input);
            }
            build::build_box(html, input, work);
            first.iter().for_each(|scene| html.drawing(scene));
        });
        // Where the section changes along the line.
        for scenes in further.chunks(2) {
            page(html, input, |html| scenes.iter().for_each(|scene| html.drawing(scene)));
        }
    }
}

/// The one round offset of the stakes that stay.
fn stake_offset(input: &DigSheetInput, swale: &Swale) -> Option<f64> {
    let of_swale =
        |kind: StakeKind| move |stake: &&crate::stakeout::Stake| stake.works == swale.wanted.name && stake.kind == kind;
    input.stakes.stakes.iter().find(of_swale(StakeKind::Offset)).map(|stake| stake.offset)
}

fn title_block(html: &mut Html, input: &DigSheetInput) {
    html.open("header", "head");
    let names: Vec<&str> = input.plan.shared().map(|work| work.name).collect();
    let frame = &input.ground.frame;
    let units = match input.figures.units {
        ReadingUnits::Metric => "metres".to_owned(),
        _ => levels::unit_words(input).to_owned(),
    };
    let system = frame.system();
    let words = input.words();
    let agree = input.survey.checks.iter().filter(|check| check.within).count();
    let standing = match input.survey.checks.len() {
        0 => "not checked on a known mark".to_owned(),
        all => format!("{agree} of {all} shots on known marks agree"),
    };
    let (used, left) = (input.survey.shots.len(), input.survey.set_aside.len());
    let shots = match input.survey.cloud.len() {
        0 => format!("{used}, set aside {left}"),
        cloud => format!("{used} and {cloud} of a cloud, set aside {left}"),
    };
    let datum = format!("{} above", capital(words.elevation));
    let rows = [
        ["Works".to_owned(), names.join(", "), "Numbers in".to_owned(), units],
        ["Coordinates".to_owned(), format!("{system}, in {}", frame.unit.name()), datum, frame.height.clone()],
        ["Survey".to_owned(), standing, "Shots used".to_owned(), shots],
    ];
    let mut rows: Vec<Vec<String>> = rows.map(Vec::from).to_vec();
    let grid = (frame.combined_factor != 1.0)
        .then(|| format!("of the ground; on the grid they are {:.6} times that long", frame.combined_factor));
    let fit = input.survey.fit.as_ref().map(crate::survey::FitReport::sentence);
    if grid.is_some() || fit.is_some() {
        let lengths = grid.unwrap_or_else(|| "of the grid".to_owned());
        let fit = fit.map_or("none".to_owned(), |fit| capital(&fit));
        rows.push(["Lengths".to_owned(), lengths, "Fit to marks".to_owned(), fit].to_vec());
    }
    html.table("title", &[], &rows);
    for warning in survey_standing(input) {
        html.paragraph("warning", &warning);
    }
    html.close("header");
}

/// How the survey stands: one warning for each thing about it that an operator must know.
fn survey_standing(input: &DigSheetInput) -> Vec<String> {
    let has = |code: &str| input.notes.iter().any(|note| note.code == code);
    let mut says = Vec::new();
    if has("survey::not-checked") || (input.survey.checks.is_empty() && !has("survey::checked")) {
        says.push("SURVEY NOT CHECKED: no shot on a known mark opens and closes it. Check the sill against a mark before digging.".to_owned());
    }
    if has("survey::check-out") {
        says.push("SURVEY CHECK FAILED: check shots on known marks are out. Do not dig from this sheet.".to_owned());
    }
    if has("fit::marks-disagree") {
        says.push("SURVEY NOT PROVEN: the known marks disagree and none can be named as wrong. Check the sill against a mark before digging.".to_owned());
    }
    if has("survey::check-one-end") {
        says.push("SURVEY HALF CHECKED: a check shot is missing at its start or its end.".to_owned());
    }
    says
}

fn plans(html: &mut Html, input: &DigSheetInput) {
    let plan = input.plan_input();
    html.drawing(&site_plan(&plan));
    for work in input.plan.shared() {
        for piece in plan_pieces(&plan, work) {
            html.drawing(&piece);
        }
    }
}

fn sections(html: &mut Html, input: &DigSheetInput, work: &Work) {
    let (figures, words) = (input.figures, input.words());
    let surface = input.plan.surfaces.last();
    let swale = match work {
        Work::Swale(swale) => swale,
        Work::Pit(pit) => {
            if let Some(surface) = surface {
                pit_sections(input.ground, surface, pit, figures, words).iter().for_each(|scene| html.drawing(scene));
            }
            outlets(html, input, work);
            return;
        }
        Work::Drain(drain) => {
            if let Some(scene) = surface.and_then(|surface| drain_section(input.ground, surface, drain, figures, words))
            {
                html.drawing(&scene);
            }
            html.drawing(&drain_profile(drain, figures, words));
            return;
        }
        Work::Dam(dam) => {
            if let Some(scene) = surface.and_then(|surface| wall_section(input.ground, surface, dam, figures, words)) {
                html.drawing(&scene);
            }
            html.drawing(&wall_profile(dam, figures, words));
            outlets(html, input, work);
            return;
        }
    };
    for spillway in &swale.spillways {
        if let Some(surface) = surface {
            html.drawing(&sill_section(input.ground, surface, swale, spillway, figures, words));
        }
        html.drawing(&spillway_plan(&input.plan_input(), work.shared(), spillway));
    }
    if let Some(surface) = surface {
        for crossing in &swale.crossings {
            let scenes = crossing_sections((input.ground, surface), (swale, crossing), figures, words);
            scenes.iter().for_each(|scene| html.drawing(scene));
        }
    }
    html.drawing(&long_section(swale, figures, words));
    if let Some(ground) = ground_section(swale, figures, words) {
        html.drawing(&ground);
    }
}

/// The spillways of a dam or pond: across the sill, along the cut, in plan.
fn outlets(html: &mut Html, input: &DigSheetInput, work: &Work) {
    let (figures, words, shared) = (input.figures, input.words(), work.shared());
    for spillway in shared.spillways {
        let surface = input.plan.surfaces.last();
        let across =
            surface.and_then(|surface| outlet_section(input.ground, surface, (shared, spillway), figures, words));
        let along = outlet_profile(input.ground, (shared, spillway), figures, words);
        across.iter().chain(&along).for_each(|scene| html.drawing(scene));
        html.drawing(&spillway_plan(&input.plan_input(), shared, spillway));
    }
}

/// Marks with their coordinates, to set up on.
fn mark_table(html: &mut Html, input: &DigSheetInput) {
    let marks = marks(input);
    if marks.is_empty() {
        return;
    }
    let (frame, words) = (&input.ground.frame, input.words());
    let unit = frame.unit.suffix();
    // Elevations are worked with on the ground: the sheet's unit stands beside the frame's where they differ.
    let both = unit != input.figures.unit();
    html.heading(2, "Marks");
    let rows: Vec<Vec<String>> = marks
        .iter()
        .map(|shot| {
            let (easting, northing) = frame.to_frame(shot.place);
            let mut row = vec![
                shot.id.clone(),
                format!("{easting:.3}"),
                format!("{northing:.3}"),
                format!("{:.3}", frame.elevation_to_frame(shot.elevation)),
            ];
            row.extend(both.then(|| input.figures.elevation(Elevation::metres(shot.elevation))));
            row
        })
        .collect();
    let (easting, northing) = (format!("Easting, {unit}"), format!("Northing, {unit}"));
    let elevation = format!("{}, {unit}", capital(words.elevation));
    let in_sheet_unit = format!("{}, {}", capital(words.elevation), input.figures.unit());
    let head = ["Mark", &easting, &northing, &elevation, &in_sheet_unit];
    html.table("numbers", &head[..if both { 5 } else { 4 }], &rows);
}

/// How many notes of the run are for whoever designed it, not for the cab.
fn notes(html: &mut Html, input: &DigSheetInput) {
    if !input.notes.is_empty() {
        let says = format!(
            "{} notes on survey and design, for whoever designed this, are kept with the run.",
            input.notes.len()
        );
        html.paragraph("", &says);
    }
}
