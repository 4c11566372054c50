//! Lines of constant fall, for diversion drains and channels: traced on the ground, then faired like a contour line.
//!
//! Invariant: the line starts at the ground of its first place and falls evenly from end to end; it keeps its traced ends, its bend
//! radius and what must stay, and where the ground then leaves its even fall is in its check. A fall asked for as a range is the one
//! whose line passes the place that it is to lead to, found by halving; one that misses it from either side is the nearest limit.

use super::channel::ChannelWanted;
use super::check::even_check;
use super::fair::{self, Even, Limits};
use super::keep::{Keep, Parting};
use super::line::{at, clipped};
use super::plan::ContourCheck;
use super::{WorksError, tell};
use crate::geom::{Point, Polygon, Polyline};
use crate::ground::Ground;
use crate::notes::{Note, Noted};
use crate::surface::{Drainage, FallEnd, FallPath, Locator};
use crate::units::{Elevation, Fall, Length};

/// Halvings of a range of falls.
const HALVINGS: u32 = 50;
/// A line that ends at the rim is ended so much before it, metres, so that it may bend.
const BEFORE_RIM: f64 = 1.0;
/// Shorter than this is no line, metres.
const SHORTEST: f64 = 5.0;
/// A goal so near to the end of a line is reached, metres.
const ARRIVED: f64 = 0.5;
/// Stretches on flatter ground shorter than this together are not told, metres.
const TOLD: f64 = 1.0;

/// A line of constant fall as asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct FallWanted {
    /// Its name, unique on the site.
    pub name: String,
    /// Where it starts, and what that is, for the notes.
    pub from: (Point, String),
    /// Where it is to lead: which side of the slope it takes, and it ends where it is nearest.
    pub to: Point,
    /// Least and greatest fall along it; both the same for one that is said.
    pub falls: (Fall, Fall),
    /// Longest in plan; `None` for as far as it leads.
    pub length: Option<Length>,
    /// Where it may run; `None` for anywhere on the survey.
    pub within: Option<Polygon>,
    /// Tightest bend.
    pub bend_radius: Length,
    /// What must stay: the line is led round it.
    pub obstacles: Vec<Polygon>,
    /// By how much.
    pub clearance: Length,
    /// Allowed deviation of natural ground on the line from its even fall.
    pub tolerance: Length,
    /// What is dug along it; `None` for a line alone.
    pub channel: Option<ChannelWanted>,
}

/// A line of constant fall as designed.
#[derive(Debug, Clone, PartialEq)]
pub struct FallLine {
    /// What was asked for.
    pub wanted: FallWanted,
    /// The line, from its start down.
    pub line: Polyline,
    /// Its elevations at both ends; between them it falls evenly.
    pub ends: (Elevation, Elevation),
    /// Its fall.
    pub fall: Fall,
    /// How far natural ground at each station is off its even fall.
    pub check: ContourCheck,
    /// How far its end is from the place that it was to lead to.
    pub misses: Length,
}

impl FallLine {
    /// Its elevation at a station, metres.
    #[must_use]
    pub fn elevation(&self, station: f64) -> f64 {
        Even { first: self.ends.0.in_metres(), last: self.ends.1.in_metres() }.at(&self.line, station)
    }
}

/// Designs lines of constant fall on the ground.
///
/// # Errors
/// [`WorksError::NoFallLine`] for the first that cannot be traced.
pub fn fall_lines(ground: &Ground, wanted: &[FallWanted]) -> Result<Noted<Vec<FallLine>>, WorksError> {
    let natural = ground.locator();
    let mut notes = Vec::new();
    let lines = wanted.iter().map(|asked| fall_line(ground, &natural, asked, &mut notes)).collect::<Result<_, _>>()?;
    Ok(Noted { value: lines, notes })
}

fn fall_line(
    ground: &Ground,
    natural: &Locator<'_>,
    wanted: &FallWanted,
    notes: &mut Vec<Note>,
) -> Result<FallLine, WorksError> {
    let name = &wanted.name;
    let none = |why: &str| WorksError::NoFallLine { line: name.clone(), why: why.to_owned() };
    let traced = trace(natural, wanted)?;
    let keep = Keep::new(&wanted.obstacles, wanted.clearance.in_metres(), wanted.within.as_ref());
    let even = |line: &Polyline| -> Option<Even> {
        Some(Even { first: natural.elevation(line.first())?, last: natural.elevation(line.last())? })
    };
    let straight = even(&traced.line).ok_or_else(|| none("its ends lie off the survey"))?;
    let off = |place: Point| {
        let level = straight.at(&traced.line, traced.line.foot(place).station);
        natural.elevation(place).map_or(f64::INFINITY, |z| (z - level).abs())
    };
    // It has somewhere to lead, so only the edge of the survey ends it.
    let led = keep
        .led_round(&traced.line, fair::STEP, off, Parting { most: f64::MAX, first: true })
        .filter(|led| led.line.length() >= SHORTEST)
        .ok_or_else(|| none("what must stay leaves no room for it"))?;
    let about =
        tell::About { subject: format!("line `{name}`"), level: "its even fall", bend_radius: wanted.bend_radius };
    tell::led(ground, &about, &led, notes);
    let led = led.line;
    let level = even(&led).ok_or_else(|| none("its ends lie off the survey"))?;
    let limits = Limits { radius: wanted.bend_radius.in_metres(), band: wanted.tolerance.in_metres(), keep: &keep };
    let line = fair::fair(&led, natural, level, &limits);
    let check = even_check(&line, natural, level, limits.band).ok_or_else(|| none("it lies off the survey"))?;
    let fall = Fall::ratio((level.first - level.last) / line.length());
    let misses = Length::metres(line.last().distance(wanted.to));
    let gentler =
        (check.worst.abs() > check.tolerance).then(|| fair::bend_within_band(&led, natural, level, &limits)).flatten();
    let found = FallLine {
        wanted: wanted.clone(),
        line,
        ends: (Elevation::metres(level.first), Elevation::metres(level.last)),
        fall,
        check,
        misses,
    };
    tell_line(ground, &found, &traced, notes);
    tell::line(ground, &about, &found.line, &found.check, (gentler, &keep), notes);
    tell::obstacles(ground, &about, &found.line, &keep, notes);
    Ok(found)
}

/// A line as the ground leads it.
pub(super) struct Traced {
    pub line: Polyline,
    fall: f64,
    end: FallEnd,
    /// Length over which the ground falls otherwise than asked, the least and the greatest fall there, and the first such place.
    otherwise: Option<(f64, f64, f64, Point)>,
    /// True where it ends because it is nearest to where it is to lead.
    arrives: bool,
    /// True where it ends because its region does.
    leaves_region: bool,
}

/// Traces a line as far as it leads towards its goal.
pub(super) fn trace(natural: &Locator<'_>, wanted: &FallWanted) -> Result<Traced, WorksError> {
    let none = |why: String| WorksError::NoFallLine { line: wanted.name.clone(), why };
    let drainage = Drainage::new(natural);
    let (from, what) = (wanted.from.0, &wanted.from.1);
    let metres = wanted.length.map_or(f64::INFINITY, Length::in_metres);
    let (least, most) = (wanted.falls.0.in_ratio(), wanted.falls.1.in_ratio());
    let path = |fall: f64, left: bool| -> Option<(FallPath, Polyline)> {
        let path = drainage.fall_path(from, fall, left, metres)?;
        let line = Polyline::new(path.points.iter().map(|p| p.plan()).collect())?;
        Some((path, line))
    };
    let miss = |line: &Polyline| line.foot(wanted.to).point.distance(wanted.to);
    let [left, right] = [true, false].map(|left| path(least, left));
    let start = || {
        let why =
            if natural.elevation(from).is_some() { "the ground there is level" } else { "that is not on the survey" };
        none(format!("it cannot start at {what}: {why}"))
    };
    let on_left = match (&left, &right) {
        (Some(left), Some(right)) => miss(&left.1) <= miss(&right.1),
        (Some(_), None) => true,
        (None, Some(_)) => false,
        (None, None) => return Err(start()),
    };
    // How far uphill of the line its goal lies: the less it falls, the higher it runs.
    let uphill =
        |fall: f64| path(fall, on_left).map(|(_, line)| line.foot(wanted.to).offset * if on_left { 1.0 } else { -1.0 });
    let mut fall = least;
    if most > least && uphill(least).is_some_and(|off| off < 0.0) {
        let (mut low, mut high) = (least, most);
        if uphill(most).is_some_and(|off| off < 0.0) {
            low = most;
        } else {
            for _ in 0..HALVINGS {
                let middle = f64::midpoint(low, high);
                if uphill(middle).is_some_and(|off| off < 0.0) { low = middle } else { high = middle }
            }
        }
        fall = low;
    }
    let (path, whole) = path(fall, on_left).ok_or_else(start)?;
    let inside = match &wanted.within {
        None => whole.clone(),
        Some(region) => clipped(&whole, region)
            .into_iter()
            .next()
            .filter(|part| part.first().distance(from) < 1e-6)
            .ok_or_else(|| none(format!("{what} lies outside its region")))?,
    };
    let room = if path.end == FallEnd::Rim && inside.length() > whole.length() - 1e-6 {
        inside.length() - BEFORE_RIM
    } else {
        inside.length()
    };
    let foot = inside.foot(wanted.to);
    let length = foot.station.min(room);
    let line = (length >= SHORTEST).then(|| inside.between(0.0, length)).flatten().ok_or_else(|| {
        none(format!(
            "from {what} it leads {length:.1} m only towards the place asked for: is that place down the slope from it"
        ))
    })?;
    // At its own end it only stops short of a goal farther on.
    let arrives = foot.station < room - 1e-6 || foot.point.distance(wanted.to) < ARRIVED;
    let pieces = path.points.windows(2).zip(&path.other_falls).zip(whole.stations());
    let mut otherwise: Option<(f64, f64, f64, Point)> = None;
    for ((pair, other), &station) in pieces {
        if let Some(other) = other.filter(|_| station < length) {
            let run = pair[0].plan().distance(pair[1].plan());
            let (sum, low, high, first) = otherwise.unwrap_or((0.0, other, other, pair[0].plan()));
            otherwise = Some((sum + run, low.min(other), high.max(other), first));
        }
    }
    let leaves_region = inside.length() < whole.length() - 1e-6;
    Ok(Traced { line, fall, end: path.end, otherwise, arrives, leaves_region })
}

fn tell_line(ground: &Ground, found: &FallLine, traced: &Traced, notes: &mut Vec<Note>) {
    let (wanted, name) = (&found.wanted, &found.wanted.name);
    let (least, most) = (wanted.falls.0.in_percent(), wanted.falls.1.in_percent());
    let misses = found.misses.in_metres();
    let traced_at = 100.0 * traced.fall;
    let limit = if traced_at >= most { Some(most) } else { Some(least).filter(|_| traced_at <= least) };
    let range = match limit {
        _ if most <= least => String::new(),
        Some(limit) if misses > ARRIVED => {
            format!(" (the limit of {limit:.2} %: no fall between {least:.2} and {most:.2} % leads to the place)")
        }
        _ => format!(" (found between {least:.2} and {most:.2} %)"),
    };
    let end = found.line.last();
    let rim = format!("at {}", ground.edge_near(end));
    let why = match traced.end {
        _ if traced.arrives => "where it is nearest to the place asked for",
        _ if traced.leaves_region => "at the edge of its region",
        FallEnd::Length => "at the length asked for",
        FallEnd::Rim => &rim,
        FallEnd::Stuck => "where the ground leads no farther down",
    };
    notes.push(at(ground, end, Note::new("works::fall-line", format!(
        "line `{name}`: from {} at {:.3} m it falls {:.2} %{range} evenly over {:.1} m to {:.3} m; it ends {why}, {misses:.1} m off that place",
        wanted.from.1,
        found.ends.0.in_metres(),
        found.fall.in_percent(),
        found.line.length(),
        found.ends.1.in_metres()
    ))));
    if misses > found.line.length() / 2.0 && wanted.length.is_none() {
        notes.push(at(ground, end, Note::new("works::fall-line-elsewhere", format!(
            "line `{name}`: it does not lead to the place asked for: it ends {misses:.1} m from it, more than half of its own {:.1} m; say a place down the slope that it can reach, another fall, or another start",
            found.line.length()
        ))));
    }
    if let Some((length, low, high, first)) = traced.otherwise.filter(|other| other.0 > TOLD) {
        notes.push(at(ground, first, Note::new("works::falls-otherwise", format!(
            "line `{name}`: over {length:.1} m together the ground offers no fall of {:.2} %, but {:.2} to {:.2} %: there it was led the steepest way down or along a fold of the ground, and cut or fill must make up for it",
            100.0 * traced.fall,
            100.0 * low,
            100.0 * high
        ))));
    }
    // Round what must stay a line is longer, and so flatter.
    let fall = found.fall.in_percent();
    if fall < 0.98 * least || fall > 1.02 * most {
        notes.push(at(ground, end, Note::new("works::fall-off-asked", format!(
            "line `{name}`: with its ends held it falls {fall:.2} %, not the {} asked for: it was bent or led round, or the ground let it down otherwise",
            if most > least { format!("{least:.2} to {most:.2} %") } else { format!("{least:.2} %") }
        ))));
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::hillside;
    use super::*;
    use crate::geom::Vector;

    fn wanted(from: Point, to: Point, least: f64, most: f64) -> FallWanted {
        let metres = Length::metres;
        FallWanted {
            name: "drain".to_owned(),
            from: (from, "the place".to_owned()),
            to,
            falls: (Fall::percent(least), Fall::percent(most)),
            length: None,
            within: None,
            bend_radius: metres(5.0),
            obstacles: Vec::new(),
            clearance: metres(3.0),
            tolerance: metres(0.05),
            channel: None,
        }
    }

    fn designed(ground: &Ground, asked: FallWanted) -> Result<(FallLine, Vec<Note>), WorksError> {
        let found = fall_lines(ground, &[asked])?;
        Ok((found.value.into_iter().next().unwrap(), found.notes))
    }

    /// On a plane of 4 % a fall of 1 % runs asin(1 / 4) off the contour: to the east or the west, wherever it is to lead.
    #[test]
    fn on_a_plane_it_runs_straight_to_the_side_asked_for() {
        let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
        let from = Point::new(100.0, 80.0);
        for east in [1.0, -1.0] {
            let way = Vector::new(east * (1.0_f64 - 0.0625).sqrt(), -0.25);
            let goal = from + way * 60.0;
            let (line, notes) = designed(&ground, wanted(from, goal, 1.0, 1.0)).unwrap();
            assert!(line.line.last().distance(goal) < 1e-6, "{:?}", line.line.last());
            assert!(line.line.points().iter().all(|&p| (p - from).cross(way).abs() < 1e-6));
            assert!((line.fall.in_percent() - 1.0).abs() < 1e-6 && line.check.worst.abs() < 1e-6);
            assert!((line.elevation(30.0) - (433.2 - 0.3)).abs() < 1e-6 && line.misses.in_metres() < 1e-6);
            assert_eq!(notes.len(), 1, "{notes:?}");
            assert!(notes[0].text.contains("it falls 1.00 % evenly over 60.0 m to 432.600 m"), "{}", notes[0].text);
        }
    }

    /// Between two falls the one is found whose line meets the goal; a goal out of reach is missed by the nearest.
    #[test]
    fn a_range_of_falls_leads_to_the_place_asked_for() {
        let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
        let from = Point::new(60.0, 70.0);
        let to = |percent: f64| {
            let down = percent / 4.0;
            from + Vector::new((1.0 - down * down).sqrt(), -down) * 80.0
        };
        let (line, notes) = designed(&ground, wanted(from, to(0.7), 0.3, 1.0)).unwrap();
        assert!((line.fall.in_percent() - 0.7).abs() < 1e-6, "{:?}", line.fall);
        assert!(line.misses.in_metres() < 1e-6 && notes[0].text.contains("(found between 0.30 and 1.00 %)"));
        for (goal, nearest) in [(0.1, 0.3), (1.6, 1.0)] {
            let (line, _) = designed(&ground, wanted(from, to(goal), 0.3, 1.0)).unwrap();
            assert!((line.fall.in_percent() - nearest).abs() < 1e-6, "{goal}: {:?}", line.fall);
            assert!(line.misses.in_metres() > 3.0);
        }
    }

    /// A spur, shot coarsely enough to kink the traced line: the faired one keeps its ends, its bend and its band.
    #[test]
    fn round_a_spur_it_keeps_ends_bend_and_band() {
        let ground = hillside(4, |x, y| 440.0 - 0.05 * (x - 100.0).hypot(2.0 * (y - 60.0)) - 0.02 * (x - 100.0).abs());
        let from = Point::new(75.0, 45.0);
        let (line, _) = designed(&ground, wanted(from, Point::new(130.0, 38.0), 0.5, 0.5)).unwrap();
        assert!(line.line.first().distance(from) < 1e-9 && line.line.length() > 40.0);
        assert!(line.check.least_radius.0 >= 5.0 * 0.999, "{:?}", line.check.least_radius);
        assert!(line.check.worst.abs() <= 0.05 && line.check.rms < 0.02, "{} {}", line.check.worst, line.check.rms);
        assert!((line.fall.in_percent() - 0.5).abs() < 0.02, "{:?}", line.fall);
    }

    #[test]
    fn it_is_led_round_what_must_stay_and_ends_at_its_region_and_length() {
        let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
        let from = Point::new(40.0, 60.0);
        let square = |x: f64, y: f64, half: f64| {
            let corner = |dx: f64, dy: f64| Point::new(x + dx * half, y + dy * half);
            Polygon::simple(vec![corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)])
        };
        let goal = Point::new(190.0, 50.0);
        let tree = square(100.0, 53.0, 1.0);
        let asked = FallWanted { obstacles: vec![tree.clone()], ..wanted(from, goal, 0.5, 0.5) };
        let (line, notes) = designed(&ground, asked).unwrap();
        let nearest =
            line.line.points().iter().map(|&p| super::super::keep::nearest(&tree, p).1).fold(f64::INFINITY, f64::min);
        assert!(nearest > 2.9, "{nearest}");
        assert!(notes.iter().any(|note| note.code == "works::off-contour"), "{notes:?}");
        let asked = FallWanted { within: Some(square(60.0, 60.0, 30.0)), ..wanted(from, goal, 0.5, 0.5) };
        let (line, notes) = designed(&ground, asked).unwrap();
        assert!(
            (line.line.last().x - 90.0).abs() < 1e-6 && notes[0].text.contains("it ends at the edge of its region")
        );
        let asked = wanted(from, Point::new(2000.0, 50.0), 0.5, 0.5);
        let (_, notes) = designed(&ground, asked).unwrap();
        assert!(notes[0].text.contains("it ends at the edge of the survey, "), "{}", notes[0].text);
        let asked = FallWanted { length: Some(Length::metres(50.0)), ..wanted(from, goal, 0.5, 0.5) };
        let (line, notes) = designed(&ground, asked).unwrap();
        assert!((line.line.length() - 50.0).abs() < 1e-6 && notes[0].text.contains("at the length asked for"));
    }

    /// On a plane of 4 % from 100, 80: the place 60 m east and 2 m north lies above every line that falls.
    #[test]
    fn a_limit_and_a_line_that_leads_elsewhere_are_told() {
        let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
        let from = Point::new(100.0, 80.0);
        let told = |to, least, most| designed(&ground, wanted(from, to, least, most)).unwrap().1;
        let above = told(Point::new(160.0, 82.0), 0.5, 1.0);
        assert!(above[0].text.contains("the limit of 0.50 %: no fall between"), "{above:?}");
        let below = told(Point::new(150.0, 20.0), 0.5, 1.0);
        assert!(below[0].text.contains("the limit of 1.00 %: no fall between"), "{below:?}");
        let elsewhere = |notes: &[Note]| notes.iter().any(|note| note.code == "works::fall-line-elsewhere");
        assert!(elsewhere(&below) && !elsewhere(&above), "{below:?}");
    }

    #[test]
    fn a_line_that_cannot_be_is_refused_with_its_reason() {
        let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
        let goal = Point::new(150.0, 50.0);
        let refused = |asked| designed(&ground, asked).unwrap_err().to_string();
        let off = refused(wanted(Point::new(-40.0, 60.0), goal, 0.5, 0.5));
        assert!(off.contains("line `drain`: it cannot start at the place: that is not on the survey"), "{off}");
        let level =
            fall_lines(&hillside(10, |_, _| 430.0), &[wanted(Point::new(100.0, 60.0), goal, 0.5, 0.5)]).unwrap_err();
        assert!(level.to_string().contains("the ground there is level"), "{level}");
        let up = refused(wanted(Point::new(100.0, 40.0), Point::new(100.0, 90.0), 0.5, 0.5));
        assert!(up.contains("is that place down the slope from it"), "{up}");
    }
}
