//! Lines that a swale might follow, level by level, compared by what its section holds and moves on them.
//!
//! A trial is the section alone, in closed form on the ground's fall across the line every 5 m: channel below the water level for
//! what is held, channel below the ground for what is dug. Ends, sills, berm and works before it are left to the design. Lines are
//! faired in the order of their merit until enough of them keep to their level within the tolerance; those that do not stand behind.

use super::WorksError;
use super::line::{Room, trace};
use super::plan::Trial;
use super::reach::reach;
use super::slopes::{cross_slopes, steepest};
use super::swale_line::swale_line;
use super::wanted::{Entry, Measure, PlaceAmong, SwaleWanted};
use super::{line, section};
use crate::geom::{Point, area_of_ring};
use crate::ground::Ground;
use crate::notes::Note;
use crate::surface::{Drainage, Locator};
use crate::units::{Area, Elevation, Fall, Length, Station, Volume};

/// The water level of a swale, and the lines among which it was chosen.
pub(super) struct Level {
    pub level: Elevation,
    pub trials: Vec<Trial>,
}

/// Distance between the places where the ground's fall is taken, metres.
const STEP: f64 = 5.0;
/// Lines compared at most: each is traced, and what drains to it followed.
const MOST: usize = 200;

/// The line of the rank asked for among those of all levels.
pub(super) fn place(
    asked: &PlaceAmong,
    ground: &Ground,
    natural: &Locator<'_>,
    wanted: &SwaleWanted,
    notes: &mut Vec<Note>,
) -> Result<Level, WorksError> {
    let swale = || wanted.name.clone();
    let levels = levels(asked, ground);
    if levels.len() > MOST {
        return Err(WorksError::TooManyPlaces { swale: swale(), every: asked.every.in_metres(), most: MOST });
    }
    let drainage = Drainage::new(natural);
    let mut trials: Vec<Trial> = levels
        .iter()
        .rev()
        .map(|&level| trial(level, asked, ground, &drainage, natural, wanted))
        .collect::<Result<_, _>>()?;
    let mut fit: Vec<usize> = (0..trials.len()).filter(|&i| trials[i].rank.is_ok()).collect();
    // Of equals the higher one.
    fit.sort_by(|&i, &j| measure(&trials[j], asked.by).total_cmp(&measure(&trials[i], asked.by)).then(i.cmp(&j)));
    let fit = ranked(&mut trials, &fit, asked, ground, natural, wanted);
    for (rank, &i) in (1..).zip(&fit) {
        trials[i].rank = Ok(rank);
    }
    let Some(&taken) = fit.get(asked.rank as usize - 1) else {
        let most_told = |trial: &Trial| trial.rank.clone().err();
        let told = |why: String| format!("; the highest of the others does not, for {why}");
        return Err(WorksError::NoSuchPlace {
            swale: swale(),
            rank: asked.rank,
            found: fit.len(),
            tried: trials.len(),
            why: trials.iter().find_map(most_told).map_or_else(String::new, told),
        });
    };
    trials[taken].taken = true;
    let trial = &trials[taken];
    let (words, unit) = match asked.by {
        Measure::HeldPerDug => ("water held for each cubic metre dug", "m3/m3"),
        Measure::Held => ("water held", "m3"),
        Measure::Catches => ("surveyed ground that drains to it", "m2"),
    };
    let text = format!(
        "swale `{}`: the water level {:.3} m is number {} of {} lines that fit among {} tried, by {words}: {:.2} {unit}; {:.1} m long, it would hold {:.0} m3 for {:.0} m3 dug, by its section alone; works/places.csv has all of them",
        wanted.name,
        trial.water_level.in_metres(),
        asked.rank,
        fit.len(),
        trials.len(),
        measure(trial, asked.by),
        trial.length.in_metres(),
        trial.held.in_cubic_metres(),
        trial.dug.in_cubic_metres()
    );
    notes.push(Note::new("works::place", text));
    Ok(Level { level: trial.water_level, trials })
}

/// Lines in the order of their merit with those behind that a bend radius takes off their level by more than the tolerance: each
/// is faired until as many as the rank asked for hold, which is what costs.
fn ranked(
    trials: &mut [Trial],
    fit: &[usize],
    asked: &PlaceAmong,
    ground: &Ground,
    natural: &Locator<'_>,
    wanted: &SwaleWanted,
) -> Vec<usize> {
    let (mut level, mut off_level) = (Vec::new(), Vec::new());
    let mut waiting = fit.iter().copied();
    while level.len() < asked.rank as usize
        && let Some(i) = waiting.next()
    {
        let faired = swale_line(ground, natural, wanted, (trials[i].water_level, Room::AtEnds), &mut Vec::new());
        let check = faired.ok().map(|(_, check)| (check.worst.abs(), check.tolerance));
        trials[i].off_level = check.map(|(worst, _)| Length::metres(worst));
        let kept = check.is_some_and(|(worst, tolerance)| worst <= tolerance);
        if kept { &mut level } else { &mut off_level }.push(i);
    }
    level.into_iter().chain(waiting).chain(off_level).collect()
}

/// Every whole multiple of the step in the range, rising.
fn levels(asked: &PlaceAmong, ground: &Ground) -> Vec<f64> {
    let Some((lowest, highest)) = ground.tin.elevation_range() else { return Vec::new() };
    let from = asked.from.map_or(lowest, Elevation::in_metres).max(lowest);
    let to = asked.to.map_or(highest, Elevation::in_metres).min(highest);
    let every = asked.every.in_metres();
    let (first, last) = ((from / every - 1e-9).ceil(), (to / every + 1e-9).floor());
    let mut multiple = first;
    let mut levels = Vec::new();
    while multiple <= last && levels.len() <= MOST {
        // To the millimetre, as it will be written on stakes.
        levels.push((multiple * every * 1000.0).round() / 1000.0);
        multiple += 1.0;
    }
    levels
}

fn measure(trial: &Trial, by: Measure) -> f64 {
    let (held, dug) = (trial.held.in_cubic_metres(), trial.dug.in_cubic_metres());
    match by {
        Measure::HeldPerDug => held / dug.max(f64::MIN_POSITIVE),
        Measure::Held => held,
        Measure::Catches => trial.catches.in_square_metres(),
    }
}

fn trial(
    level: f64,
    asked: &PlaceAmong,
    ground: &Ground,
    drainage: &Drainage<'_>,
    natural: &Locator<'_>,
    wanted: &SwaleWanted,
) -> Result<Trial, WorksError> {
    let mut trial = Trial {
        water_level: Elevation::metres(level),
        length: Length::ZERO,
        falls: (Fall::ratio(0.0), Fall::ratio(0.0)),
        dug: Volume::ZERO,
        held: Volume::ZERO,
        catches: Area::ZERO,
        off_level: None,
        rank: Ok(0),
        taken: false,
    };
    let line::Traced { line, .. } =
        match trace(ground, natural, wanted, level, (reach(wanted)?, Room::AtEnds), &mut Vec::new()) {
            Ok(traced) => traced,
            Err(WorksError::NoLineInRegion { why, .. }) => return Ok(Trial { rank: Err(why), ..trial }),
            Err(WorksError::NoRoomAcross { edge, .. }) => {
                return Ok(Trial { rank: Err(format!("it runs too close to {edge}")), ..trial });
            }
            Err(_) => return Ok(Trial { rank: Err("no line runs at this level".to_owned()), ..trial }),
        };
    trial.length = Length::metres(line.length());
    trial.catches = Area::square_metres(drainage.to_line(&line).area);
    let slopes = cross_slopes(&line.resampled(STEP), natural);
    if slopes.is_empty() {
        return Ok(Trial { rank: Err("the ground beside the line is not surveyed".to_owned()), ..trial });
    }
    let count = slopes.len() as f64;
    let mean = slopes.iter().map(|slope| slope.1).sum::<f64>() / count;
    trial.falls = (Fall::ratio(mean), steepest(&slopes).0);
    let mut sums = (0.0, 0.0);
    for &(station, fall) in &slopes {
        let sizes = wanted.sizes_at(Station::metres(station));
        if let Err(error) = section::check(wanted.ditch(), Entry::Section, &sizes, fall) {
            return Ok(Trial { rank: Err(reason(&error)), ..trial });
        }
        let outline = section::outline(wanted.ditch(), &sizes, &section::channel(wanted.ditch(), &sizes, fall), fall);
        sums.0 += area_of_ring(&outline).abs();
        sums.1 += area_of_ring(&below_water(&outline)).abs();
    }
    trial.dug = Volume::cubic_metres(sums.0 / count * line.length());
    trial.held = Volume::cubic_metres(sums.1 / count * line.length());
    if trial.length < asked.least_length {
        let (found, least) = (trial.length.in_metres(), asked.least_length.in_metres());
        trial.rank = Err(format!("{found:.1} m long, less than {least:.1} m"));
    } else if trial.falls.1 > asked.steepest {
        let (found, most) = (trial.falls.1.in_percent(), asked.steepest.in_percent());
        trial.rank = Err(format!("the ground falls {found:.1} % across it, more than {most:.1} %"));
    }
    Ok(trial)
}

/// What an error says behind the name of the swale.
fn reason(error: &WorksError) -> String {
    let text = error.to_string();
    text.split_once("`: ").map_or(text.clone(), |(_, why)| why.to_owned())
}

/// The part of a channel's outline below the water level, closed along it and straight up from the lip.
fn below_water(outline: &[Point]) -> Vec<Point> {
    let mut ring = Vec::new();
    for pair in outline.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        if a.y <= 0.0 {
            ring.push(a);
        }
        if (a.y > 0.0) != (b.y > 0.0) {
            ring.push(a.towards(b, a.y / (a.y - b.y)));
        }
    }
    if let Some(&last) = outline.last() {
        ring.push(Point::new(last.x, last.y.min(0.0)));
        ring.push(Point::new(last.x, 0.0));
    }
    ring
}

#[cfg(test)]
mod tests {
    use super::super::tests::{hillside, wanted};
    use super::*;

    fn among(rank: u32) -> PlaceAmong {
        PlaceAmong { rank, every: Length::metres(0.5), least_length: Length::metres(30.0), ..PlaceAmong::default() }
    }

    /// 2 % below 431 m and 6 % above it: on the flatter ground the same section digs less for the same water. At a fall f the
    /// channel of 1.2 m and 0.6 m at 2:1 holds 1.44 m2 and digs that and the triangle of ground over it, f w (w + top) / 2.
    #[test]
    fn the_flatter_ground_is_the_better_place_and_the_table_says_why() {
        let ground = hillside(10, |_, y| if y <= 50.0 { 430.0 + 0.02 * y } else { 431.0 + 0.06 * (y - 50.0) });
        let natural = ground.locator();
        let mut notes = Vec::new();
        let found = place(&among(1), &ground, &natural, &wanted(), &mut notes).unwrap();
        assert_eq!(found.level, Elevation::metres(430.5), "{:?}", found.trials);
        let best = found.trials.iter().find(|trial| trial.taken).unwrap();
        assert_eq!(best.rank, Ok(1));
        let section = |fall: f64| {
            let top = 3.6 / (1.0 - 2.0 * fall);
            // The ground over the water, from the lip up to where the uphill batter meets it, less what that batter leaves.
            1.44 + fall * top * 3.6 / 2.0
        };
        let (held, dug) = (best.held.in_cubic_metres(), best.dug.in_cubic_metres());
        assert!((held / best.length.in_metres() - 1.44).abs() < 1e-9, "{best:?}");
        assert!((dug / best.length.in_metres() - section(0.02)).abs() < 1e-3, "{best:?}, {}", section(0.02));
        assert!(
            notes[0].text.contains("number 1 of") && notes[0].text.contains("works/places.csv"),
            "{}",
            notes[0].text
        );
        // The rest stand behind it, each with its rank or its reason; the levels fall.
        assert!(found.trials.windows(2).all(|pair| pair[0].water_level > pair[1].water_level));
        let second = place(&among(2), &ground, &natural, &wanted(), &mut notes).unwrap();
        assert!(second.level > found.level && second.trials.iter().filter(|trial| trial.taken).count() == 1);
        let none = place(&among(90), &ground, &natural, &wanted(), &mut notes).err().unwrap();
        assert!(matches!(none, WorksError::NoSuchPlace { rank: 90, .. }), "{none}");
    }

    /// On the flatter ground, better by its section, the contour swings by 20 m every 40 m: an arc of 30 m cannot follow it. The
    /// line on the even slope above goes before it, and without one the best that there is is taken all the same.
    #[test]
    fn a_line_whose_bends_cannot_be_dug_stands_behind_one_whose_can() {
        let swings = |x: f64| 20.0 * (x * std::f64::consts::TAU / 40.0).cos();
        let ground =
            hillside(10, |x, y| if y <= 50.0 { 429.5 + 0.02 * (y + swings(x)) } else { 431.0 + 0.06 * (y - 50.0) });
        let natural = ground.locator();
        let wide = SwaleWanted { bend_radius: Length::metres(30.0), ..wanted() };
        let found = place(&among(1), &ground, &natural, &wide, &mut Vec::new()).unwrap();
        assert!(found.level >= Elevation::metres(431.0), "{:?}", found.trials);
        let off = |trial: &&Trial| trial.off_level.is_some_and(|off| off > wide.tolerance);
        let swung = found.trials.iter().find(off).expect("one that was tried in vain");
        let best = found.trials.iter().find(|trial| trial.taken).unwrap();
        assert!(
            swung.held.in_cubic_metres() / swung.dug.in_cubic_metres()
                > best.held.in_cubic_metres() / best.dug.in_cubic_metres()
        );
        assert!(best.rank == Ok(1) && swung.rank.clone().is_ok_and(|rank| rank > 1), "{:?}", found.trials);
        let below = PlaceAmong { to: Some(Elevation::metres(430.5)), ..among(1) };
        let found = place(&below, &ground, &natural, &wide, &mut Vec::new()).unwrap();
        assert!(found.trials.iter().any(|trial| trial.taken && off(&trial)), "{:?}", found.trials);
    }

    #[test]
    fn lines_too_steep_or_too_short_have_no_rank() {
        let ground = hillside(10, |_, y| if y <= 50.0 { 430.0 + 0.02 * y } else { 431.0 + 0.06 * (y - 50.0) });
        let natural = ground.locator();
        let asked = PlaceAmong { steepest: Fall::percent(4.0), ..among(1) };
        let found = place(&asked, &ground, &natural, &wanted(), &mut Vec::new()).unwrap();
        let steep = found.trials.iter().find(|trial| trial.water_level == Elevation::metres(432.5)).unwrap();
        assert_eq!(steep.rank, Err("the ground falls 6.0 % across it, more than 4.0 %".to_owned()));
        let short = PlaceAmong { least_length: Length::metres(500.0), ..among(1) };
        assert!(place(&short, &ground, &natural, &wanted(), &mut Vec::new()).is_err());
        let fine = PlaceAmong { every: Length::metres(0.01), ..among(1) };
        assert!(matches!(
            place(&fine, &ground, &natural, &wanted(), &mut Vec::new()),
            Err(WorksError::TooManyPlaces { .. })
        ));
    }
}
