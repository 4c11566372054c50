//! How far one swale of a set lies below the one before it.
//!
//! Distances down the slope are those of the ways that water takes from the upper line, from a place every 10 m of it, over the
//! triangles; the mean of the ways that stay on the survey decides, and their spread is told. The vertical interval of terraces,
//! x S + y, is that of the Engineering Field Handbook, chapter 8; S is the mean fall of these ways from the upper line to the
//! level sought, so the interval is found by halving.

use super::WorksError;
use super::line::{Room, trace};
use super::reach::reach;
use super::wanted::{Spacing, SwaleWanted};
use crate::geom::Point3;
use crate::ground::Ground;
use crate::notes::Note;
use crate::stats::mean;
use crate::surface::{Drainage, Locator};
use crate::units::Elevation;

/// Distance between the places of the upper line from which the way down is followed, metres.
const EVERY: f64 = 10.0;
/// Farthest that a way is followed for a vertical interval, metres.
const FARTHEST: f64 = 500.0;
/// The fall at which a vertical interval is looked for at most.
const STEEPEST: f64 = 100.0;

/// The water level so far below an upper swale at its level, and a note that says how it was found.
pub(super) fn below(
    spacing: Spacing,
    (upper, level): (&SwaleWanted, Elevation),
    ground: &Ground,
    natural: &Locator<'_>,
    wanted: &SwaleWanted,
    notes: &mut Vec<Note>,
) -> Result<Elevation, WorksError> {
    let above = level.in_metres();
    let no_room =
        |what: String| WorksError::NoRoomBelow { swale: wanted.name.clone(), upper: upper.name.clone(), what };
    let (drop, how) = match spacing {
        Spacing::Drop(drop) => (drop.in_metres(), String::new()),
        Spacing::AlongSlope(distance) => {
            let distance = distance.in_metres();
            let drops: Vec<f64> = ways(distance, (upper, level), ground, natural)?
                .iter()
                .filter_map(|way| Some(way[0].z - after(way, distance)?))
                .collect();
            let drop = mean(&drops).ok_or_else(|| no_room(format!("for {distance:.1} m over the ground")))?;
            let (least, most) = range(&drops);
            let count = drops.len();
            let how = format!(
                "; that is {distance:.1} m over the ground down the slope, the mean of {count} ways that water takes, which drop {least:.2} to {most:.2} m"
            );
            (drop, how)
        }
        Spacing::Terraces { x, y } => {
            let (x, y) = (x.in_metres(), y.in_metres());
            let ways = ways(FARTHEST, (upper, level), ground, natural)?;
            let falls = |drop: f64| -> Vec<f64> {
                ways.iter().filter_map(|way| Some(100.0 * drop / run_to(way, drop)?)).collect()
            };
            let (mut low, mut high) = (0.0, x.mul_add(STEEPEST, y));
            for _ in 0..60 {
                let middle = f64::midpoint(low, high);
                // Where no way drops so far on the survey, the interval is looked for above.
                let enough = mean(&falls(middle)).is_none_or(|fall| middle >= x.mul_add(fall, y));
                if enough { high = middle } else { low = middle }
            }
            let (drop, found) = (low, falls(low));
            let fall = mean(&found).filter(|fall| (x.mul_add(*fall, y) - drop).abs() < 1e-3);
            let fall = fall.ok_or_else(|| {
                no_room(format!("for a drop of {:.2} m, which the interval is at least", y.max(drop)))
            })?;
            let (least, most) = range(&found);
            let how = format!(
                "; that is x S + y with x {x:.3} m, y {y:.3} m and S {fall:.2} %, the mean fall of {} ways that water takes, which fall {least:.1} to {most:.1} %",
                found.len()
            );
            (drop, how)
        }
    };
    // To the millimetre, as it will be written on stakes.
    let found = ((above - drop) * 1000.0).round() / 1000.0;
    notes.push(Note::new(
        "works::spacing",
        format!(
            "swale `{}`: the water level {found:.3} m is {:.3} m below that of `{}`, {above:.3} m{how}",
            wanted.name,
            above - found,
            upper.name
        ),
    ));
    Ok(Elevation::metres(found))
}

/// The ways that water takes from a line, each from a place of it.
fn ways(
    metres: f64,
    (upper, level): (&SwaleWanted, Elevation),
    ground: &Ground,
    natural: &Locator<'_>,
) -> Result<Vec<Vec<Point3>>, WorksError> {
    let line = trace(ground, natural, upper, level.in_metres(), (reach(upper)?, Room::AtEnds), &mut Vec::new())?.line;
    let drainage = Drainage::new(natural);
    let places = line.resampled(EVERY);
    Ok(places
        .points()
        .iter()
        .map(|&place| drainage.way_from(place, metres, 0.0).points)
        .filter(|way| way.len() > 1)
        .collect())
}

/// The elevation of a way after so many metres over the ground.
fn after(way: &[Point3], metres: f64) -> Option<f64> {
    let mut run = 0.0;
    way.windows(2).find_map(|pair| {
        let length = pair[0].plan().distance(pair[1].plan()).hypot(pair[1].z - pair[0].z);
        let here = run;
        run += length;
        // What rounding leaves of a way that ends just there.
        (run >= metres - 1e-9 && length > 0.0)
            .then(|| pair[0].z + (pair[1].z - pair[0].z) * ((metres - here) / length).min(1.0))
    })
}

/// How far a way runs in plan until it has dropped so much.
fn run_to(way: &[Point3], drop: f64) -> Option<f64> {
    let mut run = 0.0;
    let level = way.first()?.z - drop;
    way.windows(2).find_map(|pair| {
        let length = pair[0].plan().distance(pair[1].plan());
        let here = run;
        run += length;
        (pair[1].z <= level && pair[1].z < pair[0].z)
            .then(|| here + length * ((pair[0].z - level) / (pair[0].z - pair[1].z)))
    })
}

fn range(values: &[f64]) -> (f64, f64) {
    values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), &value| (least.min(value), most.max(value)))
}

#[cfg(test)]
mod tests {
    use super::super::tests::{hillside, wanted};
    use super::super::wanted::{SwaleLevel, WaterLevel};
    use super::*;
    use crate::units::{Length, METRES_PER_FOOT};

    /// The level of the third of a set whose first stands at 433 m on a hillside of 4 %, or of another shape.
    fn third(spacing: Spacing, height: impl Fn(f64, f64) -> f64) -> Result<(f64, Vec<Note>), WorksError> {
        let ground = hillside(10, height);
        let mut swale = SwaleWanted { water_level: WaterLevel::Elevation(Elevation::metres(433.0)).into(), ..wanted() };
        for name in ["second", "third"] {
            let water_level = SwaleLevel::Below { spacing, upper: Box::new(swale) };
            swale = SwaleWanted { name: name.to_owned(), water_level, ..wanted() };
        }
        let mut notes = Vec::new();
        let level = super::super::level::of_swale(&ground, &ground.locator(), &swale, &mut notes)?.level;
        Ok((level.in_metres(), notes))
    }

    fn slope(_: f64, y: f64) -> f64 {
        430.0 + 0.04 * y
    }

    #[test]
    fn on_a_plane_every_rule_is_its_closed_form() {
        assert_eq!(third(Spacing::Drop(Length::metres(0.8)), slope).unwrap().0, 431.4);
        // 20 m over the ground at 4 %: 20 x 0.04 / sqrt(1.0016) = 0.79936 m upright, each time to the millimetre.
        let along = third(Spacing::AlongSlope(Length::metres(20.0)), slope).unwrap();
        assert_eq!(along.0, 431.402, "{:?}", along.1);
        // 0.5 x 4 + 0.6 = 2.6 ft = 0.792 m.
        let feet = |value: f64| Length::metres(value * METRES_PER_FOOT);
        let terraces = third(Spacing::Terraces { x: feet(0.5), y: feet(0.6) }, slope).unwrap();
        assert_eq!(terraces.0, 433.0 - 2.0 * 0.792, "{:?}", terraces.1);
        assert!(terraces.1[0].text.contains("S 4.00 %"), "{}", terraces.1[0].text);
    }

    /// The ground falls 6 % above 432 m and 2 % below it. From 433 m a drop v > 1 m runs 1 / 0.06 + (v - 1) / 0.02 in plan, so
    /// v = 20 v / (50 v - 33.33) + 0.5, that is 50 v^2 - 78.33 v + 16.67 = 0: v = 1.313 m.
    #[test]
    fn the_fall_is_that_of_the_ground_between_the_two_lines() {
        let broken = |_: f64, y: f64| if y <= 50.0 { 431.0 + 0.02 * y } else { 432.0 + 0.06 * (y - 50.0) };
        let ground = hillside(10, broken);
        let upper = SwaleWanted { water_level: WaterLevel::Elevation(Elevation::metres(433.0)).into(), ..wanted() };
        let (x, y) = (0.2, 0.5);
        let found = below(
            Spacing::Terraces { x: Length::metres(x), y: Length::metres(y) },
            (&upper, Elevation::metres(433.0)),
            &ground,
            &ground.locator(),
            &wanted(),
            &mut Vec::new(),
        )
        .unwrap()
        .in_metres();
        // The nudged grid frays the break a little.
        assert!((433.0 - found - 1.313).abs() < 0.02, "{found}");
    }

    #[test]
    fn a_set_that_runs_off_the_survey_is_told() {
        for spacing in
            [Spacing::AlongSlope(Length::metres(60.0)), Spacing::Terraces { x: Length::ZERO, y: Length::metres(4.0) }]
        {
            let error = third(spacing, slope).unwrap_err();
            assert!(matches!(error, WorksError::NoRoomBelow { .. }), "{error}");
        }
    }
}
