//! Pegs along lines of constant fall, with what the ground is off the line at each.
//!
//! Nothing is dug along such a line, else its stakes are a drain's, so a peg names the line itself: what is cut or filled there until the ground lies on its
//! even fall. Stations are those of stakes on a work's line.

use super::along::{stations, steps};
use super::ids::{Names, letters};
use super::settings::StakeSettings;
use super::stake::{Action, Target};
use super::writes::amount;
use crate::geom::Point;
use crate::ground::Ground;
use crate::notes::{Note, Noted, Place};
use crate::works::{FallLine, Shared, SitePlan};

/// A peg on a line of constant fall.
#[derive(Debug, Clone, PartialEq)]
pub struct Peg {
    /// Its short name, unique among the site's stakes too: letters and digits, at most 8.
    pub id: String,
    /// The line.
    pub line: String,
    /// Metres along it.
    pub station: f64,
    /// Where it stands, local metres.
    pub place: Point,
    /// Natural ground predicted there; `None` off the survey.
    pub predicted_ground: Option<f64>,
    /// The line's elevation there, metres.
    pub design_elevation: f64,
    /// From the predicted ground to the line.
    pub action: Option<Action>,
    /// What is written on it.
    pub writes: String,
    /// The work that is dug or heaped where it stands.
    pub within: Option<String>,
}

/// Steps along a line at which it is looked whether a work lies there, metres.
const STEP: f64 = 0.5;

/// The work that is dug or heaped at a place.
fn work_at(plan: &SitePlan, place: Point) -> Option<Shared<'_>> {
    plan.shared().find(|work| work.footprints().any(|region| region.contains(place)))
}

/// The works that a line runs through, each with the stations between which it does.
fn through(plan: &SitePlan, line: &FallLine) -> Vec<Note> {
    let name = &line.wanted.name;
    let stations = steps(0.0, line.line.length(), STEP);
    let told = plan.shared().filter_map(|work| {
        let inside =
            |&station: &f64| work.footprints().any(|region| region.contains(line.line.at(station)));
        let met: Vec<f64> = stations.iter().copied().filter(inside).collect();
        let (first, last) = (*met.first()?, *met.last()?);
        let text = format!(
            "line `{name}` runs through {} `{}`, first at station {first:.1} m and last at {last:.1} m: lead it round, end it before, or let it in there as you mean to",
            work.kind.name(),
            work.name
        );
        Some(Note::new("stakeout::line-through-work", text).at(Place::Station { works: name.clone(), station_m: first }))
    });
    told.collect()
}

/// The pegs of lines of constant fall. Their letters are none of those of the works' stakes.
#[must_use]
pub fn pegs(ground: &Ground, plan: &SitePlan, lines: &[FallLine], settings: &StakeSettings) -> Noted<Vec<Peg>> {
    // A line with a channel is among the works.
    let lines: Vec<&FallLine> = lines.iter().filter(|line| line.wanted.channel.is_none()).collect();
    let names: Vec<&str> =
        plan.shared().map(|work| work.name).chain(lines.iter().map(|line| line.wanted.name.as_str())).collect();
    let works = names.len() - lines.len();
    let (letters, notes) = letters(&names);
    let natural = ground.locator();
    let mut ids = Names::new(settings.figures);
    let mut pegs = Vec::new();
    for (line, letter) in lines.iter().zip(&letters[works..]) {
        let every =
            [settings.interval, settings.bend_interval, settings.bend_radius].map(crate::units::Length::in_metres);
        for station in stations(&line.line, every[0], every[1], every[2]) {
            let (place, design) = (line.line.at(station), line.elevation(station));
            let predicted_ground = natural.elevation(place);
            let action = predicted_ground.map(|ground| Action::between(ground, design));
            let writes = action.map_or_else(
                || "LINE".to_owned(),
                |action| match amount(action, Target::WaterLevel, settings.figures) {
                    grade if grade.starts_with("ON") => format!("{grade} FOR LINE"),
                    amount => format!("{amount} TO LINE"),
                },
            );
            pegs.push(Peg {
                id: ids.give(letter, station),
                line: line.wanted.name.clone(),
                station,
                place,
                predicted_ground,
                design_elevation: design,
                action,
                writes,
                within: work_at(plan, place).map(|work| work.name.to_owned()),
            });
        }
    }
    // Those of works are told with their stakes.
    let own = |note: &Note| lines.iter().any(|line| note.text.contains(&format!("`{}`", line.wanted.name)));
    let crossed = lines.iter().flat_map(|line| through(plan, line));
    Noted { value: pegs, notes: notes.into_iter().filter(own).chain(crossed).collect() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Polyline;
    use crate::units::{Elevation, Fall, Length};
    use crate::works::{FallWanted, fall_lines};

    /// A plane of 4 % and a line of 1 % on it: pegs every 20 m, each 0.2 m below the one before, on grade.
    #[test]
    fn pegs_stand_at_the_interval_on_the_even_fall() {
        let corners = [(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)];
        let points: Vec<_> = corners.iter().map(|&(x, y)| crate::geom::Point3::new(x, y, 430.0 + 0.04 * y)).collect();
        let ground = Ground::of_points(&points);
        let metres = Length::metres;
        let asked = FallWanted {
            name: "drain".to_owned(),
            from: (Point::new(20.0, 80.0), "the place".to_owned()),
            to: Point::new(190.0, 40.0),
            falls: (Fall::percent(1.0), Fall::percent(1.0)),
            length: Some(metres(70.0)),
            within: None,
            bend_radius: metres(5.0),
            obstacles: Vec::new(),
            clearance: metres(3.0),
            tolerance: metres(0.05),
            channel: None,
        };
        let mut lines = fall_lines(&ground, &[asked]).unwrap().value;
        let found = |lines: &[FallLine]| pegs(&ground, &SitePlan::default(), lines, &StakeSettings::default()).value;
        let level = found(&lines);
        let names: Vec<&str> = level.iter().map(|peg| peg.id.as_str()).collect();
        assert_eq!(names, ["D000", "D020", "D040", "D060", "D070"]);
        for peg in &level {
            assert!((peg.design_elevation - (433.2 - 0.01 * peg.station)).abs() < 1e-6, "{peg:?}");
            assert_eq!(peg.writes, "ON GRADE FOR LINE");
        }
        assert!(level.iter().all(|peg| peg.within.is_none()));
        // Through a work: the swale of the examples, its line moved across this one.
        let example = crate::earth::examples::plan();
        let mut across = lines.clone();
        across[0].line = Polyline::new(vec![Point::new(50.0, 8.0), Point::new(50.0, -30.0)]).unwrap();
        let through = pegs(&ground, &example, &across, &StakeSettings::default());
        let told: Vec<&Note> = through.notes.iter().filter(|n| n.code == "stakeout::line-through-work").collect();
        assert!(told.len() == 1 && told[0].text.contains("`drain` runs through swale `upper`"), "{told:?}");
        // A line put 0.1 m lower than the ground is cut to.
        let (first, last) = lines[0].ends;
        lines[0].ends = (first - metres(0.1), last - metres(0.1));
        assert!(found(&lines).iter().all(|peg| peg.writes == "CUT 0.10 TO LINE"));
        assert!(lines[0].ends.0 < Elevation::metres(433.2));
    }
}
