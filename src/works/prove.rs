//! What the shots prove of a line on contour: how sure the ground is at each station, and where more shots are needed.

use super::fall_line::FallLine;
use super::line::{Room, at};
use super::plan::{ContourCheck, ContourStation, Proof};
use super::swale_line::swale_line;
use super::wanted::SwaleWanted;
use super::work::{SitePlan, Work};
use super::{WorksError, level};
use crate::geom::Polyline;
use crate::ground::{Fitted, Ground};
use crate::notes::{Note, Noted};
use crate::stats::Verdict;
use crate::surface::Locator;

/// Stretches nearer to each other than this are one, metres.
const ONE_STRETCH: f64 = 5.0;

/// Puts beside every station of a plan how sure the ground is there and what the bare triangles between the shots say, and
/// tells where more shots are needed.
pub fn prove(plan: &mut Noted<SitePlan>, fitted: &Fitted, bare: &Ground) {
    let (natural, triangles) = (fitted.ground.locator(), bare.locator());
    for work in &mut plan.value.works {
        let Work::Swale(swale) = work else { continue };
        proven(&mut swale.contour, fitted, (&natural, &triangles));
        let named = (format!("swale `{}`", swale.wanted.name), "is on contour");
        tell(named, &swale.contour, &swale.line, bare, &mut plan.notes);
    }
}

/// The same for lines of constant fall.
pub fn prove_fall_lines(lines: &mut Noted<Vec<FallLine>>, fitted: &Fitted, bare: &Ground) {
    let (natural, triangles) = (fitted.ground.locator(), bare.locator());
    for line in &mut lines.value {
        proven(&mut line.check, fitted, (&natural, &triangles));
        let named = (format!("line `{}`", line.wanted.name), "falls evenly");
        tell(named, &line.check, &line.line, bare, &mut lines.notes);
    }
}

/// The line alone that a swale follows on estimated ground, with its check.
///
/// # Errors
/// [`WorksError`] when no line can be traced as asked.
pub fn contour_line(
    fitted: &Fitted,
    bare: &Ground,
    wanted: &SwaleWanted,
) -> Result<Noted<(Polyline, ContourCheck)>, WorksError> {
    let (natural, mut notes) = (fitted.ground.locator(), Vec::new());
    let level = level::of_swale(&fitted.ground, &natural, wanted, &mut notes)?.level;
    let (line, mut check) = swale_line(&fitted.ground, &natural, wanted, (level, Room::AtEnds), &mut notes)?;
    proven(&mut check, fitted, (&natural, &bare.locator()));
    Ok(Noted { value: (line.line, check), notes })
}

fn proven(check: &mut ContourCheck, fitted: &Fitted, (natural, bare): (&Locator<'_>, &Locator<'_>)) {
    for station in &mut check.stations {
        station.sigma = fitted.standard_error(natural, station.place);
        station.tin = bare.elevation(station.place).unwrap_or(station.ground);
    }
    let unsure = |station: &ContourStation| station.verdict(check.tolerance) == Verdict::CannotTell;
    let apart = |station: &ContourStation| fitted.hides(natural, station.place).is_none_or(|hides| hides > 1.0);
    check.proof = Proof {
        unproven: stretches(&check.stations, unsure),
        // Shorter than the shots are apart, it is one place between two of them.
        too_far_apart: stretches(&check.stations, apart)
            .into_iter()
            .filter(|(from, to)| to - from > fitted.ground.spacing)
            .collect(),
        shot_sigma: Some(fitted.shot_sigma),
    };
}

/// Runs of stations of which something is true.
fn stretches(stations: &[ContourStation], is: impl Fn(&ContourStation) -> bool) -> Vec<(f64, f64)> {
    let mut found: Vec<(f64, f64)> = Vec::new();
    for station in stations.iter().filter(|station| is(station)).map(|station| station.station) {
        match found.last_mut() {
            Some(last) if station - last.1 <= ONE_STRETCH => last.1 = station,
            _ => found.push((station, station)),
        }
    }
    found
}

fn tell((subject, is): (String, &str), check: &ContourCheck, line: &Polyline, ground: &Ground, notes: &mut Vec<Note>) {
    let where_to = |what: &str| format!("; where-to-shoot.csv says where{what}");
    let list = |stretches: &[(f64, f64)]| {
        let named: Vec<String> = stretches.iter().take(4).map(|(from, to)| format!("{from:.0} to {to:.0} m")).collect();
        let more = if stretches.len() > named.len() { " and further on" } else { "" };
        format!("{}{more}", named.join(", "))
    };
    if let Some(first) = check.proof.too_far_apart.first() {
        let text = format!(
            "{subject}: shots too far apart at stations {}: the ground bends within their spacing of {:.0} m, and between \
             them no estimate is better than the next shot{}",
            list(&check.proof.too_far_apart),
            ground.spacing,
            where_to("")
        );
        notes.push(at(ground, line.at(first.0), Note::new("works::shots-too-far-apart", text)));
    }
    if let Some(first) = check.proof.unproven.first() {
        let text = format!(
            "{subject}: the shots do not prove that the line {is} within {:.0} mm (95 %) at stations {}{}",
            1000.0 * check.tolerance,
            list(&check.proof.unproven),
            where_to(" to shoot and how often")
        );
        notes.push(at(ground, line.at(first.0), Note::new("works::contour-unproven", text)));
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::wanted;
    use super::super::{WaterLevel, design, natural_ground, second_pass};
    use super::*;
    use crate::geom::Point;
    use crate::ground::fitted_tests::survey;
    use crate::ground::{GroundSettings, build};
    use crate::notes::Silent;
    use crate::survey::Settings;
    use crate::units::{Elevation, Length};

    fn station(deviation: f64, sigma: f64) -> ContourStation {
        let place = Point::new(0.0, 0.0);
        ContourStation { station: 0.0, place, ground: 0.0, deviation, sigma: Some(sigma), tin: 0.0 }
    }

    #[test]
    fn a_station_is_judged_with_95_percent_and_says_how_many_shots_prove_it() {
        assert_eq!(station(0.0, 0.0255).verdict(0.05), Verdict::Pass);
        assert_eq!(station(0.0, 0.0256).verdict(0.05), Verdict::CannotTell);
        assert_eq!(station(-0.08, 0.0153).verdict(0.05), Verdict::Fail);
        assert_eq!(station(-0.08, 0.0154).verdict(0.05), Verdict::CannotTell);
        // Room 14.7 mm / 1.96 = 7.5 mm; 20 mm known, 15 mm a shot: 225 (1 / 56.25 - 1 / 400) = 3.44 shots.
        assert_eq!(station(0.0, 0.020).shots_to_prove(0.0147, 0.015), 4);
        assert_eq!(station(0.0, 0.007).shots_to_prove(0.0147, 0.015), 0, "proven as it is");
        assert_eq!(station(0.06, 0.007).shots_to_prove(0.05, 0.015), 0, "no shot moves the line");
    }

    fn proven(sigma: f64, height: impl Fn(f64, f64) -> f64) -> Noted<SitePlan> {
        let survey = survey(height, &[]);
        let settings =
            Settings { vertical_sigma: Length::metres(sigma), roughness: Length::metres(0.0), ..Settings::default() };
        let ground = build(&survey, &GroundSettings::default()).unwrap().value;
        let wanted = super::super::SwaleWanted {
            water_level: WaterLevel::Elevation(Elevation::metres(432.4)).into(),
            tolerance: Length::metres(0.05),
            ..wanted()
        };
        let fitted = natural_ground(&ground, &survey, &settings, &[wanted.clone().into()], &[]).unwrap().unwrap();
        let mut plan = design(&fitted.ground, &[wanted], &Silent).unwrap();
        prove(&mut plan, &fitted, &ground);
        plan
    }

    #[test]
    fn a_line_on_well_shot_ground_is_proven() {
        let plan = proven(0.015, |_, y| 430.0 + 0.04 * y);
        let check = &plan.value.swales().next().unwrap().contour;
        assert_eq!(check.verdict(), Verdict::Pass);
        assert!(check.stations.iter().all(|station| station.sigma.is_some_and(|sigma| sigma < 0.02)));
        assert_eq!((check.proof.unproven.len(), check.proof.too_far_apart.len()), (0, 0));
        assert!(plan.notes.iter().all(|note| !note.code.contains("unproven") && !note.code.contains("apart")));
    }

    #[test]
    fn ground_that_bends_within_the_spacing_is_told_and_where_to_shoot_how_often() {
        // Humps of 17 m on shots 10 m apart, taken with 15 mm.
        let humps = |x: f64, y: f64| 430.0 + 0.04 * y + 0.10 * (x / 2.7).sin() * (y / 2.7).cos();
        let plan = proven(0.015, humps);
        let swale = plan.value.swales().next().unwrap();
        assert_ne!(swale.contour.verdict(), Verdict::Pass);
        assert!(!swale.contour.proof.unproven.is_empty() && !swale.contour.proof.too_far_apart.is_empty());
        for code in ["works::contour-unproven", "works::shots-too-far-apart"] {
            assert!(plan.notes.iter().any(|note| note.code == code), "{code}");
        }
        let ground = build(&survey(humps, &[]), &GroundSettings::default()).unwrap().value;
        let shots = second_pass(&ground, &plan.value, &[]);
        assert!(shots.iter().any(|shot| shot.offset == 0.0 && shot.sigma.is_some_and(|sigma| sigma > 0.015)));
        assert!(shots.iter().all(|shot| shot.times >= 1));
    }
}
