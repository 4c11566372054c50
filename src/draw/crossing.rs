//! The sections of a vehicle crossing: along the way over it, and along the channel that it parts.
//!
//! Invariant: both are cut through natural ground and the designed surface; heights are against the sill.

use super::cut::{Cut, Named, cut_section};
use super::scene::Scene;
use super::section::{batter_words, capital};
use super::words::Words;
use crate::geom::Polyline;
use crate::ground::Ground;
use crate::surface::Tin;
use crate::units::{Elevation, Figures, Station};
use crate::works::{Crossing, LineEnd, Swale};

/// Ground shown beyond the feet of the ramps, and channel beyond the crossing, metres.
const BEYOND: f64 = 6.0;
/// Steps along the channel, metres.
const STEP: f64 = 0.5;

/// The two sections of a crossing.
#[must_use]
pub fn crossing_sections(
    (ground, surface): (&Ground, &Tin),
    (swale, crossing): (&Swale, &Crossing),
    figures: Figures,
    words: &Words,
) -> Vec<Scene> {
    let full = swale.water_level;
    let named = |says: String, elevation: Elevation, water| Named { says, elevation: elevation.in_metres(), water };
    let top = || {
        let says = format!("TOP, BUILD TO {}", figures.crest_against_sill(crossing.level() - full));
        named(says, crossing.level(), false)
    };
    let at = crossing.wanted.at;
    let station = figures.station(at.in_metres());
    let name = format!(
        "{} through the crossing of {} at {} {station}",
        capital(words.cross_section),
        swale.wanted.name,
        words.station
    );
    let draw = |title: String, line: &Polyline, levels, wet, sides| {
        let cut =
            Cut { title, line, zero: full.in_metres(), levels, wet, ticks: None, beyond: super::cut::BEYOND, sides };
        cut_section(&ground.tin, surface, &cut, figures)
    };
    let mut scenes = Vec::new();
    let over = crossing.axis.points();
    if let ([first, .., last], Some(line)) = (over, Polyline::new(over.to_vec())) {
        let (into, out) = (line.direction(0.0), line.direction(line.length()));
        let longer = Polyline::new(vec![*first + into * -BEYOND, *first, *last, *last + out * BEYOND]);
        scenes.extend(longer.map(|line| {
            let title = format!("{name}: along the way over it, ramps {}", batter_words(crossing.wanted.ramp));
            let sill = named("SILL 0".to_owned(), full, false);
            draw(title, &line, vec![top(), sill], Vec::new(), ["UPHILL", "DOWNHILL"])
        }));
    }
    // The channel on both sides with its pools.
    let bed = |station: f64| {
        let section = swale.section_at(Station::metres(station));
        swale.line.at_offset(station, section.bed_offset.in_metres())
    };
    let from = (crossing.undug.0.in_metres() - BEYOND).max(0.0);
    let to = (crossing.undug.1.in_metres() + BEYOND).min(swale.line.length());
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of steps")]
    let count = ((to - from) / STEP).ceil().max(1.0) as u32;
    let places = (0..=count).map(|k| bed(from + (to - from) * f64::from(k) / f64::from(count))).collect();
    scenes.extend(Polyline::new(places).map(|line| {
        let title = format!("{name}: along the channel, sides {}", batter_words(crossing.wanted.batter));
        let below = swale.bed_at(line.first());
        let levels = vec![
            top(),
            named("FULL 0, a pool on either side".to_owned(), full, true),
            named(format!("BED {}", figures.against_sill(below - full)), below, false),
        ];
        let wet = vec![STEP, line.length() - STEP];
        draw(title, &line, levels, wet, swale.ends.map(|end| towards(end.name)))
    }));
    scenes
}

const fn towards(end: LineEnd) -> &'static str {
    match end {
        LineEnd::First => "TOWARDS THE FIRST END",
        LineEnd::Last => "TOWARDS THE LAST END",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::hillside::METRIC;
    use crate::draw::section::{BUILT, LEVEL};
    use crate::draw::{Item, Region, Spot};
    use crate::geom::{Point, snap_point};
    use crate::notes::Silent;
    use crate::soil::Soil;
    use crate::units::{Batter, Length};
    use crate::works::{CrossingWanted, SwaleWanted, WaterLevel, design};

    /// Ramps of 8:1 are eight times as long as high on paper, the top as wide as the crest and what lies under it; along the channel
    /// water stands on both sides.
    #[test]
    fn ramps_have_their_slope_and_water_stands_on_both_sides() {
        let place = |i: u32, j: u32| snap_point(Point::new(f64::from(i) * 10.0, f64::from(j) * 10.0));
        let points: Vec<_> =
            (0..=20).flat_map(|i| (0..=12).map(move |j| place(i, j))).map(|p| p.at(430.0 + 0.04 * p.y)).collect();
        let ground = Ground::of_points(&points);
        let crossing = CrossingWanted {
            at: Station::metres(100.0),
            width: Length::metres(4.0),
            ramp: Batter::horizontal_per_vertical(8.0),
            batter: Batter::horizontal_per_vertical(2.0),
        };
        let level = WaterLevel::Elevation(Elevation::metres(432.4));
        let asked = SwaleWanted { crossings: vec![crossing], ..SwaleWanted::usual("upper", level, Soil::of_tests()) };
        let plan = design(&ground, &[asked], &Silent).unwrap().value;
        let swale = plan.swale(0);
        let both = (swale, &swale.crossings[0]);
        let scenes = crossing_sections((&ground, &plan.surfaces[0]), both, METRIC, Region::Au.words());
        let lines = |scene: &Scene, wanted: crate::draw::Pen| -> Vec<Vec<Spot>> {
            let of_pen = |item: &Item| match item {
                Item::Line { through, pen } if *pen == wanted => Some(through.clone()),
                _ => None,
            };
            scene.items.iter().filter_map(of_pen).collect()
        };
        let [over, along] = &scenes[..] else { panic!("two sections") };
        let built = &lines(over, BUILT)[0];
        let steep: Vec<f64> =
            built.windows(2).filter(|p| p[1].x - p[0].x > 1.0).map(|p| (p[1].y - p[0].y) / (p[1].x - p[0].x)).collect();
        for slope in [0.125, -0.125] {
            assert!(steep.iter().any(|found| (found - slope).abs() < 1e-6), "{slope} among {steep:?}");
        }
        assert!(over.texts().any(|text| text.starts_with("TOP, BUILD TO ")));
        assert!(lines(over, LEVEL).is_empty(), "no water on the way over it");
        assert_eq!(lines(along, LEVEL).len(), 2);
    }
}
