//! What the design has to say to the crew, in the crew's words and the sheet's unit.
//!
//! Invariant: nothing here is copied from a stage's notes, which speak to the designer in metres, with file names and keys:
//! each sentence is made from the design itself, a note's code and place only say that it is due.

use super::html::Html;
use super::input::DigSheetInput;
use super::levels::about;
use crate::draw::batter_words;
use crate::geom::Point;
use crate::notes::{Note, Place};
use crate::stakeout::{Stake, StakeKind};
use crate::units::{Batter, Length};
use crate::works::{Shared, Spillway, Swale, clear_of, exits_onto_others, limits};

/// A stake nearer to the dig than this is told, metres. Common practice, no source.
const NEAR_DIG: f64 = 1.0;

/// What to look at before digging: bends, sides, ways out.
pub(super) fn before_digging(html: &mut Html, input: &DigSheetInput) {
    let mut says = Vec::new();
    for swale in input.plan.swales() {
        says.extend(bend(input, swale));
        says.extend(sides(swale));
    }
    says.extend(input.notes.iter().filter_map(|note| way_out(input, note)));
    says.extend(exits_onto_others(input.plan).into_iter().map(|(from, onto)| {
        format!(
            "{}, way out: its water runs onto the berm of {}. Lead it past, or into that channel.",
            from.name, onto.name
        )
    }));
    if !says.is_empty() {
        html.heading(2, "Look at these before digging");
        html.list(false, &says);
    }
}

fn bend(input: &DigSheetInput, swale: &Swale) -> Option<String> {
    let (radius, station) = swale.contour.least_radius;
    (radius < swale.wanted.bend_radius.in_metres() * 0.999).then(|| {
        format!(
            "{}, bend: it turns at {} radius at {} {}, tighter than was asked for.",
            swale.wanted.name,
            input.figures.length(Length::metres(radius)),
            input.words().station,
            input.figures.station(station)
        )
    })
}

/// Sides that may slump.
fn sides(swale: &Swale) -> Vec<String> {
    let wanted = &swale.wanted;
    let steep = |batter: Batter| batter.in_horizontal_per_vertical() < limits::LEAST_BATTER - 1e-9;
    let all = wanted.all_sizes().into_iter().flat_map(|(_, sizes)| {
        let channel = sizes.channel_sides(&wanted.shape).map(|(side, _, batter)| (side, batter));
        channel.into_iter().chain([("sides of the berm", sizes.berm_batter)])
    });
    let mut sides: Vec<(&str, Batter)> = Vec::new();
    for side in all {
        if !sides.contains(&side) {
            sides.push(side);
        }
    }
    sides
        .into_iter()
        .filter(|&(_, batter)| steep(batter))
        .map(|(what, batter)| {
            format!(
                "{}, STEEP {what}: {} is steeper than soil that nobody has proven may stand. Ask before digging.",
                wanted.name,
                batter_words(batter)
            )
        })
        .collect()
}

/// What a note says of the way out below a sill.
fn way_out(input: &DigSheetInput, note: &Note) -> Option<String> {
    let due = ["works::exit-cut", "works::exit-off-survey", "works::exit-along-toe"];
    if !due.contains(&note.code.as_str()) {
        return None;
    }
    let (work, spillway, place) = sill_of(input, note.place.as_ref()?)?;
    let name = work.name;
    let figures = input.figures;
    let far = Length::metres(spillway.lip.at(spillway.lip.length() / 2.0).distance(place));
    Some(match note.code.as_str() {
        "works::exit-cut" => format!(
            "{name}, way out: cut a channel {} wide from the sill for about {}, falling {:.1} %.",
            figures.length(spillway.sill_length),
            about(input, far),
            spillway.exit_fall.in_percent()
        ),
        "works::exit-off-survey" => format!(
            "{name}, way out: what the water does further than {} below the sill was not surveyed. Walk it before digging.",
            about(input, far)
        ),
        _ => format!("{name}, way out: water from the sill runs against the foot of the berm. Turn it away."),
    })
}

/// The sill that a place belongs to: the nearest one, and the place itself.
fn sill_of<'a>(input: &'a DigSheetInput, place: &Place) -> Option<(Shared<'a>, &'a Spillway, Point)> {
    let place = match place {
        Place::Ground { easting, northing } => input.ground.frame.to_local(*easting, *northing),
        Place::Station { works, station_m } => input.plan.named(works)?.line.at(*station_m),
        Place::File { .. } => return None,
    };
    let sills = input.plan.shared().flat_map(|work| work.spillways.iter().map(move |spillway| (work, spillway)));
    let far = |spillway: &Spillway| spillway.lip.foot(place).point.distance(place);
    let (work, spillway) = sills.min_by(|a, b| far(a.1).total_cmp(&far(b.1)))?;
    Some((work, spillway, place))
}

/// Stakes that are meant to stay and stand too near the dig.
pub(super) fn stakes_in_danger(html: &mut Html, input: &DigSheetInput) {
    let words = input.words();
    let mut says = Vec::new();
    for work in input.plan.shared() {
        let of_work = |stake: &&Stake| stake.works == work.name && stake.kind == StakeKind::Offset;
        let near = |stake: &Stake| clear_of(work, stake.place);
        let near: Vec<String> = input
            .stakes
            .stakes
            .iter()
            .filter(of_work)
            .filter(|stake| near(stake) > 0.0 && near(stake) < NEAR_DIG)
            .map(|stake| format!("{} ({})", stake.id, input.figures.length(Length::metres(near(stake)))))
            .collect();
        if !near.is_empty() {
            says.push(format!(
                "{}: these {} stand close to the dig and may not live: {}.",
                work.name,
                words.stakes,
                near.join(", ")
            ));
        }
    }
    for text in says {
        html.paragraph("warning", &text);
    }
}
