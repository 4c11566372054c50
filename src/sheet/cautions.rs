//! Cautions and hold points: what can hurt people, and where the work stops until somebody has signed.

use super::html::Html;
use super::input::DigSheetInput;
use super::levels;
use super::marks::{doomed, marks};
use crate::draw::service_runs;
use crate::geom::{Point, Polyline, segments_cross};
use crate::survey::Role;
use crate::units::{Length, ReadingUnits};
use crate::works::limits::{NEARLY, NO_ENTRY, SLIDES, STEEP, WAY_OUT};
use crate::works::{CLEAR_OF_WORKS, Kind, distance};

/// Limits of cut faces, metres: height that needs a way out, height that nobody enters unsupported, distance of spoil
/// from the edge. The feet are those of 29 CFR 1926.651 and 1926.652 (4, 5 and 2 ft), from memory; the metres are the
/// same limits as metric rules round them.
const METRIC_FACES: [f64; 3] = [WAY_OUT, NO_ENTRY, 0.6];
const FEET_FACES: [f64; 3] = [4.0, 5.0, 2.0];
/// A service nearer to the works than this is told, metres. Common practice, no source.
const NEAR_SERVICE: f64 = 10.0;

/// Every caution that this site calls for, lead-in and text.
pub(super) fn cautions(input: &DigSheetInput) -> Vec<String> {
    let (figures, words) = (input.figures, input.words());
    let length = |metres: f64| figures.length(Length::metres(metres));
    let kinds: Vec<Kind> = input.plan.shared().map(|work| work.kind).collect();
    let swales = kinds.contains(&Kind::Swale);
    let pits = kinds.iter().any(|kind| matches!(kind, Kind::Pond | Kind::Borrow));
    let walls = kinds.contains(&Kind::Dam);
    let mut says = vec![services(input)];
    if walls {
        let without = input.plan.shared().any(|work| work.kind == Kind::Dam && work.spillways.is_empty());
        says.push(format!("A wall that holds water: local dam law, and an engineer who answers for it, come before this sheet. Who lives, drives or camps below it is asked first.{}", if without { " It has NO SPILLWAY here." } else { "" }));
    }
    let cut = input.plan.shared().any(|work| work.kind != Kind::Swale && !work.spillways.is_empty());
    if cut {
        says.push("Spillway: it carries the flood it was sized for and no more. Never dammed, fenced across, planted with trees or raised with boards to hold more water. Its sill and grass are looked at after every flow; a step that eats back in the channel is filled and lined the same week.".to_owned());
    }
    if walls {
        says.push("Seepage: clear water at the foot is watched, muddy water is an alarm. Soil that goes cloudy and falls apart in a glass of water is a stop: ask before using it. No pipe goes through a wall without an engineer. No trees on wall, feet or spillway.".to_owned());
    }
    if kinds.contains(&Kind::Drain) {
        says.push("Drain: it brings the water of a whole slope to one place. Whose land it runs onto is asked first, and nothing is built, ploughed or parked where it leaves. It is looked at after every storm: silt taken out, a step that eats back lined the same week, its bed never levelled to hold water.".to_owned());
    }
    says.push(format!(
        "Overhead lines: look up before the boom does. Keep machine, tipping bodies and staffs {} away unless the line's owner says otherwise.",
        levels::about(input, Length::metres(10.0))
    ));
    says.push(format!(
        "People and machine: anyone coming near waits for eye contact and the bucket on the ground. Nobody in the swing or downhill of it. No {} go in while it works.",
        words.stakes
    ));
    let face = deepest_face(input);
    let [way_out, no_entry, back] = faces(input);
    if face >= way_out - NEARLY {
        let entry = if face >= no_entry - NEARLY {
            format!("At {} nobody goes in unless it is held up or laid back. ", length(no_entry))
        } else {
            String::new()
        };
        says.push(format!(
            "Cut faces: they reach about {} here. From {} there must be a way out. {entry}Heaped earth stays {} back from the edge.",
            length(face),
            length(way_out),
            length(back)
        ));
    }
    says.extend(super::unstable::caution(input));
    says.push(super::soil::left_open(input));
    if pits {
        says.push("Pits: water standing against a side that is drawn down fast makes it slump; nobody works under a face. Ground water, sand or running silt in the dig: stop and ask.".to_owned());
    }
    says.push("Roll-over: fresh fill edges give way; wet grass slides. The machine's own manual sets its slopes; work up and down, not across, where it is steep.".to_owned());
    if input.plan.swales().any(|swale| !swale.crossings.is_empty()) {
        says.push(format!("Crossings: nothing heavier than the machine that pressed it drives over one before its check. Straight over and slowly, not while it is soft from water standing against it; posts at the edges of its top. A pipe or cable under it carries wheels from now on: ask {} and its owner.", words.before_you_dig));
    }
    let steepest = input.plan.swales().map(|swale| (swale.steepest, swale.wanted.name.as_str()));
    let steepest = steepest.chain(input.plan.drains().map(|drain| (drain.steepest, drain.name())));
    let steepest = steepest.max_by(|a, b| a.0.0.in_ratio().total_cmp(&b.0.0.in_ratio()));
    if let Some(((fall, station), name)) = steepest {
        let (percent, station) = (fall.in_percent(), figures.station(station.in_metres()));
        let falls = format!("it falls {percent:.0} % across the line of {name} at {} {station}", words.station);
        if fall.in_ratio() > SLIDES {
            says.push(format!("STEEP GROUND: {falls}. Water soaked into such a slope can start a slide: get geotechnical advice before digging."));
        } else if fall.in_ratio() > STEEP {
            says.push(format!(
                "Steep ground: {falls}, more than {} are usually dug on.",
                if swales { "swales" } else { "drains" }
            ));
        }
    }
    says.extend([
        if swales {
            "Weather: stop for a storm while the sill is not open. Machine and fuel park out of the gully.".to_owned()
        } else {
            "Weather: stop for a storm. Machine and fuel park out of the gully and out of the pit.".to_owned()
        },
        "Finds: an old well, septic tank, fibre sheeting, bones or worked stone: stop and ask.".to_owned(),
        format!("Water: a full {} can drown a child or an animal. A way out no steeper than 4H:1V for people and stock, or a fence.", if walls || pits { "pond or pit" } else if swales { "swale" } else { "drain" }),
        if kinds.iter().all(|kind| *kind == Kind::Drain) {
            "First storms: look after each. Crack, slump, a step that eats back, or water over the berm: people out from below, and call.".to_owned()
        } else {
            "First filling: look every day. Muddy seep, crack, slump, or water over the crest: people out from below, and call. Let it down slowly, under a metre a week.".to_owned()
        },
        "Who to call: ______________________________________".to_owned(),
    ]);
    let lost: Vec<&str> =
        marks(input).into_iter().filter(|shot| doomed(input, shot.place)).map(|shot| shot.id.as_str()).collect();
    if !lost.is_empty() {
        says.push(format!(
            "Marks in danger: {} within {} of the dig. Carry each to a safe place first.",
            lost.join(", "),
            levels::about(input, Length::metres(CLEAR_OF_WORKS))
        ));
    }
    // One unit system a sheet: the metre of the rule above is said in feet where people read feet.
    if figures.unit() == "ft" {
        for caution in &mut says {
            *caution = caution.replace("under a metre a week", "under 3 ft a week");
        }
    }
    says
}

fn services(input: &DigSheetInput) -> String {
    let mut codes: Vec<&str> =
        input.survey.shots.iter().filter(|shot| shot.role == Role::Service).map(|shot| shot.code.as_str()).collect();
    codes.sort_unstable();
    codes.dedup();
    let known = if codes.is_empty() {
        "none was surveyed; that does not mean that none is there".to_owned()
    } else {
        format!("surveyed and drawn: {}; there may be others", codes.join(", "))
    };
    let crossings = crossings(input);
    let crossings = if crossings.is_empty() { near(input) } else { crossings };
    let known = if crossings.is_empty() { known } else { format!("{known}. {}", crossings.join(". ")) };
    format!(
        "Services: {known}. Ask {}, have them located, and dig by hand beside them. Located on (date): ____________",
        input.words().before_you_dig
    )
}

/// Where a surveyed service crosses a work's dig or berm.
fn crossings(input: &DigSheetInput) -> Vec<String> {
    let mut says = Vec::new();
    let runs = service_runs(&input.survey.shots);
    for work in input.plan.shared() {
        for (code, run) in &runs {
            for piece in run.windows(2) {
                let crossed =
                    work.line.points().windows(2).find(|edge| segments_cross(piece[0], piece[1], edge[0], edge[1]));
                if let Some(edge) = crossed {
                    let station = work.line.foot(crossing(piece, edge)).station;
                    says.push(format!(
                        "{code} CROSSES {} at {} {}",
                        work.name,
                        input.words().station,
                        input.figures.station(station)
                    ));
                }
            }
        }
    }
    says
}

/// Surveyed services that cross no line and come near the works, each with how near.
fn near(input: &DigSheetInput) -> Vec<String> {
    let areas = || input.plan.shared().flat_map(|work| work.cut_footprint.iter().chain(work.fill_footprint));
    service_runs(&input.survey.shots)
        .into_iter()
        .filter_map(|(code, run)| {
            let run = Polyline::new(run)?.resampled(1.0);
            let places = run.points().iter();
            let away =
                places.flat_map(|&place| areas().map(move |area| distance(area, place))).fold(f64::INFINITY, f64::min);
            (away < NEAR_SERVICE).then(|| {
                let away = input.figures.with_unit(input.figures.size_up(away));
                format!("{code} comes within {away} of the dig or berm")
            })
        })
        .collect()
}

/// Where two straight pieces that cross meet.
fn crossing(a: &[Point], b: &[Point]) -> Point {
    let (along, other) = (a[1] - a[0], b[1] - b[0]);
    let part = (b[0] - a[0]).cross(other) / along.cross(other);
    if part.is_finite() { a[0].towards(a[1], part) } else { a[0] }
}

/// The limits of cut faces in metres, round in the unit that people read.
fn faces(input: &DigSheetInput) -> [f64; 3] {
    match input.figures.units {
        ReadingUnits::Metric => METRIC_FACES,
        _ => FEET_FACES.map(|feet| feet * input.figures.metres_in_one()),
    }
}

/// Greatest height of a cut face.
/// Of the works and of the test pits that are wanted for them.
fn deepest_face(input: &DigSheetInput) -> f64 {
    let works = input.plan.shared().map(|work| work.deepest_face.0);
    works.chain(input.plan.pits_to_dig.iter().map(|pit| pit.depth)).map(Length::in_metres).fold(0.0, f64::max)
}

/// The table of hold points with room for a name and a date.
pub(super) fn hold_points(html: &mut Html, input: &DigSheetInput) {
    html.heading(2, "Hold points: the work stops until signed");
    let words = input.words();
    let points = ["Services located and marked".to_owned()];
    let mut points = points.to_vec();
    if input.plan.shared().any(|work| !work.fill_footprint.is_empty()) {
        points.push("Seat stripped and ripped; looked at before it is covered".to_owned());
    }
    if input.plan.shared().any(|work| !work.spillways.is_empty()) || input.plan.swales().count() > 0 {
        points.push(format!("Sill: shot, level from end to end, on natural ground, {} as drawn", words.elevation));
    }
    if input.plan.shared().any(|work| !work.fill_footprint.is_empty()) {
        points.push("Crest: shot, nowhere below BUILD TO".to_owned());
    }
    if input.plan.shared().any(|work| matches!(work.kind, Kind::Pond | Kind::Borrow)) {
        points.push("Pit: floor and sides looked at for sand, gravel and rock; shot, not deeper than drawn".to_owned());
    }
    if input.plan.shared().any(|work| work.kind == Kind::Dam) {
        points.push("Wall: leave under local dam law in hand, engineer named, spillway dug and shot".to_owned());
        points.push(
            "Cutoff: in tight ground over its whole length and up both ends, looked at before it is filled".to_owned(),
        );
    }
    if input.plan.drains().count() > 0 {
        points.push(
            "Drain: bed shot at every station and falling all the way; the way below its end looked at".to_owned(),
        );
    }
    points.push("As-built shots read, before the machine leaves".to_owned());
    let rows: Vec<Vec<String>> = points.into_iter().map(|point| vec![point, String::new(), String::new()]).collect();
    html.table("blanks", &["Hold point", "Name", "Date"], &rows);
}
