//! The drawings of a dam: across the wall where it is highest, and along its crest.
//!
//! Invariant: heights are against full supply; the one along the crest says how many times taller than long it is drawn.

use super::base::{BERM, CONTOUR_LINE, SHEET_WIDTH, TWELVE_POINT};
use super::cut::{Cut, Named, cut_section};
use super::profile::{CREST, LongScale, NATURAL, level_names, station_axis};
use super::scene::{Fill, Pen, Scene, Spot, Text};
use super::section::capital;
use super::words::Words;
use crate::geom::Polyline;
use crate::ground::Ground;
use crate::surface::Tin;
use crate::units::{Elevation, Figures, Length};
use crate::works::dam::Dam;

/// Ground shown beyond the feet, metres.
const BEYOND: f64 = 12.0;
const SETTLED: Pen = Pen { width: 0.35, grey: 0, dashes: &[1.5, 1.0] };
const KEY: Pen = Pen { width: 0.35, grey: 0x22, dashes: &[0.8, 0.8] };

/// The section across a wall at its highest place, cut through natural ground and the built surface.
#[must_use]
pub fn wall_section(ground: &Ground, surface: &Tin, dam: &Dam, figures: Figures, words: &Words) -> Option<Scene> {
    let station = dam.height.1.in_metres();
    let reach = dam.toes.iter().flatten().map(|toe| dam.line.foot(*toe).offset.abs()).fold(0.0, f64::max) + BEYOND;
    let line = Polyline::new(vec![dam.line.at_offset(station, reach), dam.line.at_offset(station, -reach)])?;
    let full = dam.crest.water_level;
    let settled = dam.crest.settled_required();
    let foot = settled - dam.height.0;
    let against = |elevation: Elevation, up: bool| {
        if up { figures.crest_against_sill(elevation - full) } else { figures.against_sill(elevation - full) }
    };
    let named = |says: String, elevation: Elevation, water| Named { says, elevation: elevation.in_metres(), water };
    let cut = Cut {
        title: format!(
            "{} of {} at {} {}",
            capital(words.cross_section),
            dam.wanted.name,
            words.station,
            figures.station(station)
        ),
        line: &line,
        zero: full.in_metres(),
        levels: vec![
            named(format!("CREST, BUILD TO {}", against(dam.crest.built, true)), dam.crest.built, false),
            named(format!("SETTLED {}", against(settled, true)), settled, false),
            named("FULL 0".to_owned(), full, true),
            named(format!("FOOT {}", against(foot, false)), foot, false),
        ],
        wet: vec![
            dam.seeds
                .iter()
                .map(|&seed| line.foot(seed))
                .min_by(|a, b| a.offset.abs().total_cmp(&b.offset.abs()))?
                .station,
        ],
        ticks: None,
        beyond: super::cut::BEYOND,
        sides: ["WATER SIDE", "DRY SIDE"],
    };
    Some(cut_section(&ground.tin, surface, &cut, figures))
}

/// The section along the middle of a crest: natural ground, the crest as built and as it settles, full supply, and the
/// bottom of the cutoff.
#[must_use]
pub fn wall_profile(dam: &Dam, figures: Figures, words: &Words) -> Scene {
    let full = dam.crest.water_level.in_metres();
    let settled = dam.crest.settled_required().in_metres() - full;
    let length = dam.line.length();
    let stations = dam.line.stations();
    let natural: Vec<(f64, f64)> = stations.iter().zip(&dam.natural).map(|(&s, z)| (s, z - full)).collect();
    let built: Vec<(f64, f64)> = stations.iter().zip(&dam.built).map(|(&s, z)| (s, z - full)).collect();
    let under = dam.wanted.key.map_or(0.0, |key| (key.depth + dam.wanted.topsoil).in_metres());
    let crest = (dam.crest.built.in_metres()) - full;
    let foot = settled - dam.height.0.in_metres();
    let levels = [
        (crest, format!("crest {}", figures.crest_against_sill(Length::metres(crest)))),
        (0.0, "full 0".to_owned()),
        (foot, format!("ground {}", figures.against_sill(Length::metres(foot)))),
    ]
    .map(|(height, says)| (height, Text::new(Spot::new(0.0, 0.0), TWELVE_POINT, says).ending().bold()));
    let low = foot - under;
    let high = built.iter().chain(&natural).map(|&(_, z)| z).fold(crest, f64::max);
    let LongScale { left, across, up, taller, zero } = LongScale::of(&levels, length, (low, high), 60.0);
    let title = format!("{} of {}", capital(words.long_section), dam.wanted.name);
    let mut scene = Scene::new(SHEET_WIDTH, zero + high * up + 12.0, title);
    let spot = |(station, height): (f64, f64)| Spot::new(left + station * across, zero + height * up);
    let over: Vec<(f64, f64)> = built.iter().zip(&natural).map(|(&(s, b), &(_, n))| (s, b.max(n))).collect();
    let ring = over.iter().copied().chain(natural.iter().rev().copied()).map(spot).collect();
    scene.area(vec![ring], Some(Fill::Hatched(BERM)), None);
    scene.line(built.iter().copied().map(spot).collect(), CREST);
    scene.straight(spot((0.0, settled)), spot((length, settled)), SETTLED);
    let wet: Vec<f64> = natural.iter().filter(|&&(_, z)| z < 0.0).map(|&(s, _)| s).collect();
    if let (Some(&first), Some(&last)) = (wet.first(), wet.last()) {
        scene.straight(spot((first, 0.0)), spot((last, 0.0)), CONTOUR_LINE);
    }
    if under > 0.0 {
        scene.line(natural.iter().map(|&(s, z)| spot((s, z - under))).collect(), KEY);
    }
    scene.line(natural.iter().copied().map(spot).collect(), NATURAL);
    level_names(&mut scene, left, zero, up, levels);
    station_axis(&mut scene, left, length, across, figures, words);
    let key = if under > 0.0 { "; dotted: bottom of the cutoff" } else { "" };
    let says = format!("drawn {taller:.0} times taller than long; dashed: natural ground, settled crest{key}");
    scene.text(Text::new(Spot::new(1.0, zero + high * up + 6.0), TWELVE_POINT, says).grey(0x44));
    scene
}
