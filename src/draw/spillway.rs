//! The drawings of a dam's or pond's spillway: across its sill, and along the middle of its cut.
//!
//! Invariant: heights are against the sill; the one along the cut says how many times taller than long it is drawn.

use super::base::{CONTOUR_LINE, CUT, SHEET_WIDTH, TWELVE_POINT};
use super::cut::{Cut, Named, cut_section};
use super::profile::{CREST, LongScale, NATURAL, level_names, station_axis};
use super::scene::{Fill, Scene, Spot, Text};
use super::section::capital;
use super::words::Words;
use crate::geom::Polyline;
use crate::ground::Ground;
use crate::surface::{Locator, Tin, profile};
use crate::units::{Figures, Length};
use crate::works::{Kind, Outlet, Shared, Spillway};

/// Ground shown beyond the sides of the cut at the sill, metres.
const BEYOND: f64 = 4.0;

/// The section across a sill, cut through natural ground and the designed surface.
#[must_use]
pub fn outlet_section(
    ground: &Ground,
    surface: &Tin,
    (work, spillway): (Shared<'_>, &Spillway),
    figures: Figures,
    words: &Words,
) -> Option<Scene> {
    let outlet = spillway.outlet.as_ref()?;
    let middle = f64::midpoint(outlet.sill.0, outlet.sill.1);
    let batter = outlet.batter.in_horizontal_per_vertical();
    let reach = outlet.width.in_metres() / 2.0 + outlet.deepest.in_metres() * batter + BEYOND;
    // The lip runs with the line of the wall: its first end is the nearer one beyond the wall's last. Beside a pond it is
    // seen as the water runs.
    let wall = work.kind == Kind::Dam;
    let after = wall && spillway.from.in_metres() > work.line.length() / 2.0;
    let along = |side: f64| outlet.axis.at_offset(middle, side * reach);
    let (near, away) = if after { (along(-1.0), along(1.0)) } else { (along(1.0), along(-1.0)) };
    let line = Polyline::new(vec![near, away])?;
    let sill = spillway.sill.in_metres();
    let flood = spillway.sill + spillway.head;
    let cut = Cut {
        title: format!("{} of {} at its spillway's sill", capital(words.cross_section), work.name),
        line: &line,
        zero: sill,
        levels: vec![
            Named {
                says: format!("FLOOD {}", figures.crest_against_sill(spillway.head)),
                elevation: flood.in_metres(),
                water: true,
            },
            Named { says: "SILL 0".to_owned(), elevation: sill, water: false },
        ],
        wet: vec![line.length() / 2.0],
        ticks: None,
        beyond: BEYOND,
        sides: if wall { ["TOWARDS THE WALL", "AWAY FROM IT"] } else { ["LEFT, AS THE WATER RUNS", "RIGHT"] },
    };
    Some(cut_section(&ground.tin, surface, &cut, figures))
}

/// The section along the middle of a cut: natural ground, the floor, the sill, and water when it is full.
#[must_use]
pub fn outlet_profile(
    ground: &Ground,
    (work, spillway): (Shared<'_>, &Spillway),
    figures: Figures,
    words: &Words,
) -> Option<Scene> {
    let outlet = spillway.outlet.as_ref()?;
    let sill = spillway.sill.in_metres();
    let (length, stations) = (outlet.axis.length(), outlet.axis.stations());
    let natural: Vec<(f64, f64)> = profile(&Locator::new(&ground.tin), &outlet.axis)
        .iter()
        .filter_map(|point| Some((point.station, point.elevation? - sill)))
        .collect();
    let floor: Vec<(f64, f64)> = stations.iter().zip(&outlet.levels).map(|(&s, z)| (s, z - sill)).collect();
    let last = floor.last().map_or(0.0, |&(_, z)| z);
    let levels = [
        (spillway.head.in_metres(), format!("flood {}", figures.crest_against_sill(spillway.head))),
        (0.0, "sill 0".to_owned()),
        (last, format!("outlet {}", figures.against_sill(Length::metres(last)))),
    ]
    .map(|(height, says)| (height, Text::new(Spot::new(0.0, 0.0), TWELVE_POINT, says).ending().bold()));
    let all = || natural.iter().chain(&floor).map(|&(_, z)| z);
    let (low, high) = (all().fold(0.0, f64::min), all().fold(spillway.head.in_metres(), f64::max));
    let LongScale { left, across, up, taller, zero } = LongScale::of(&levels, length, (low, high), 50.0);
    let title = format!("{} of the spillway of {}, as the water runs", capital(words.long_section), work.name);
    let mut scene = Scene::new(SHEET_WIDTH, zero + high * up + 12.0, title);
    let spot = |(station, height): (f64, f64)| Spot::new(left + station * across, zero + height * up);
    scene.area(vec![dug(outlet, sill, &natural).into_iter().map(spot).collect()], Some(Fill::Hatched(CUT)), None);
    scene.line(floor.iter().copied().map(spot).collect(), CREST);
    scene.straight(spot((0.0, 0.0)), spot((outlet.sill.1, 0.0)), CONTOUR_LINE);
    scene.line(natural.iter().copied().map(spot).collect(), NATURAL);
    level_names(&mut scene, left, zero, up, levels);
    station_axis(&mut scene, left, length, across, figures, words);
    let says = format!("drawn {taller:.0} times taller than long; dashed: natural ground, water when full");
    scene.text(Text::new(Spot::new(1.0, zero + high * up + 6.0), TWELVE_POINT, says).grey(0x44));
    Some(scene)
}

/// What is dug on the middle of a cut: from the floor to natural ground where that lies higher.
fn dug(outlet: &Outlet, sill: f64, natural: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let over = natural.iter().map(|&(station, z)| (station, z.max(outlet.floor_at(station) - sill)));
    let mut ring: Vec<(f64, f64)> = over.collect();
    ring.extend(outlet.axis.stations().iter().rev().map(|&station| (station, outlet.floor_at(station) - sill)));
    ring
}
