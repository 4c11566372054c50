//! What a cloud looks like, and what a surface looks like: shaded ground with its contours, and how dense the ground
//! points are.
//!
//! Invariant: shading and density are tones of grey, one tone an item, so a drawing grows with what the paper can show and
//! not with the cloud. Places that were measured without reaching the ground are dark: there nothing is known of it.

use super::base::{
    BREAKLINE, CONTOUR, EDGE_OF_SURVEY, FINE, KEY_ROW, Key, SHEET_WIDTH, TWELVE_POINT, board_of, contours, grid_frame,
    key, key_rows, north_arrow, scale_bar,
};
use super::scene::{Fill, Pen, Scene, Spot, Text};
use super::view::View;
use crate::frame::SiteFrame;
use crate::geom::{Bounds, Point};
use crate::ground::Sketch;
use crate::surface::{Tin, TriangleId};
use crate::units::Figures;

/// Tones between the darkest and the lightest slope.
const SHADES: [u8; 10] = [0x68, 0x7c, 0x90, 0xa2, 0xb2, 0xc0, 0xcd, 0xda, 0xe7, 0xf4];
/// No ground was reached.
const UNKNOWN: u8 = 0x10;
/// Densities against the mean: half of it, and so on; the darker the denser.
const DENSITIES: [(f64, u8); 5] = [(0.25, 0xf4), (0.5, 0xd8), (1.0, 0xb4), (2.0, 0x8c), (f64::INFINITY, 0x60)];

/// Between two drawings beside one another, millimetres.
const BETWEEN: f64 = 4.0;

/// A cloud as a drawing: its ground shaded with contours, and under it where ground points are thick and thin.
#[must_use]
pub fn cloud_plan(sketch: &Sketch, frame: &SiteFrame, figures: Figures) -> Scene {
    let far =
        sketch.low() + crate::geom::Vector::new(sketch.wide as f64 * sketch.cell, sketch.high as f64 * sketch.cell);
    let all = Bounds { low: sketch.low(), high: far };
    let margin = all.width().max(all.height()) * 0.02;
    let has_ground = sketch.has_ground();
    let mean = sketch.density().map_or(0.0, |density| density.ground);
    let mut keys = vec![Key::Line(CONTOUR, "contours".to_owned())];
    if has_ground {
        keys.push(Key::Tone(UNKNOWN, "no ground reached".to_owned()));
        let mut from = 0.0;
        for (times, tone) in DENSITIES {
            let to = mean * times;
            keys.push(Key::Tone(
                tone,
                if to.is_finite() { format!("{from:.2} to {to:.2} a m2") } else { format!("over {from:.2} a m2") },
            ));
            from = to;
        }
    }
    let foot = 18.0 + KEY_ROW * key_rows(&keys) as f64;
    let (title, heading) = (6.0, if has_ground { "ground, shaded" } else { "lowest points, shaded (no ground)" });
    // Two drawings on a sheet, or one: beside one another where the cloud is tall, else one over the other.
    let beside = has_ground && all.height() > 1.1 * all.width();
    let (width, most) = match (has_ground, beside) {
        (false, _) => (SHEET_WIDTH, 225.0),
        (true, false) => (SHEET_WIDTH, 108.0),
        (true, true) => ((SHEET_WIDTH - BETWEEN) / 2.0, 225.0),
    };
    let mut upper = View::fit(all.grown(margin), Spot::new(1.0, foot), width, 40.0, most);
    let mut lower = upper;
    let (mut top, mut right) = (foot + upper.height() + title, 1.0 + upper.width());
    if beside {
        lower.corner = Spot::new(right + BETWEEN, foot);
        right += BETWEEN + lower.width();
    } else if has_ground {
        upper.corner = Spot::new(1.0, top);
        top += lower.height() + title;
    }
    let mut scene = Scene::new(right + 1.0, top + 1.0, "The cloud from above");

    shade(&mut scene, &upper, sketch);
    let surface = sketch.surface();
    let drawn = surface.as_ref().map(|tin| contours(&mut scene, &upper, tin, figures, None));
    let mut board = board_of(&upper);
    grid_frame(&mut scene, &upper, frame, &mut board);
    let interval = drawn.as_ref().map_or(0.0, |drawn| drawn.interval);
    if let Some(drawn) = drawn {
        drawn.label(&mut scene, &mut board);
    }
    let head = |scene: &mut Scene, view: &View, says: String| {
        let at = view.corner.moved(1.0, view.height() + 1.4);
        scene.text(Text::new(at, TWELVE_POINT, says));
    };
    let every = if interval > 0.0 {
        format!("; contours every {} {}", short(figures.number(interval)), figures.unit())
    } else {
        String::new()
    };
    head(&mut scene, &upper, format!("{heading}{every}"));
    if has_ground {
        tones(&mut scene, &lower, sketch, |column, row| {
            let here = sketch.ground_density(column, row);
            let class = DENSITIES.iter().find(|(times, _)| here <= mean * times).map(|(_, tone)| *tone);
            if here > 0.0 { class } else { sketch.is_covered(column, row).then_some(UNKNOWN) }
        });
        grid_frame(&mut scene, &lower, frame, &mut board_of(&lower));
        head(&mut scene, &lower, format!("ground points, {mean:.2} a m2 on average"));
    }
    north_arrow(&mut scene, Spot::new(5.0, foot - 15.0));
    scale_bar(&mut scene, Spot::new(24.0, foot - 9.0), &lower, figures);
    key(&mut scene, Spot::new(2.0, foot - 16.0), &keys);
    scene
}

/// A step of contours without needless zeros.
fn short(step: f64) -> String {
    let text = format!("{step:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A surface as a drawing: contours, breaklines, rim.
#[must_use]
pub fn surface_plan(tin: &Tin, frame: &SiteFrame, figures: Figures) -> Scene {
    let all = tin.bounds().unwrap_or(Bounds { low: Point::new(0.0, 0.0), high: Point::new(1.0, 1.0) });
    let margin = (all.width().max(all.height()) * 0.03).max(1.0);
    let breaks = edges(tin, |t, k| tin.is_break(t, k) && tin.neighbour(t, k) > Some(t));
    let mut keys = vec![Key::Line(CONTOUR, "contours".to_owned()), Key::Line(EDGE_OF_SURVEY, "edge".to_owned())];
    if !breaks.is_empty() {
        keys.push(Key::Line(BREAKLINE, "breakline".to_owned()));
    }
    let foot = 18.0 + KEY_ROW * key_rows(&keys) as f64;
    let view = View::fit(all.grown(margin), Spot::new(1.0, foot), SHEET_WIDTH, 50.0, 225.0);
    let mut scene = Scene::new(view.width() + 2.0, view.height() + foot + 1.0, "Plan of the surface");
    let mut board = board_of(&view);
    let drawn = contours(&mut scene, &view, tin, figures, None);
    breaks.iter().for_each(|edge| view.line(&mut scene, edge, false, BREAKLINE));
    for edge in edges(tin, |t, k| tin.neighbour(t, k).is_none()) {
        view.line(&mut scene, &edge, false, EDGE_OF_SURVEY);
    }
    grid_frame(&mut scene, &view, frame, &mut board);
    drawn.label(&mut scene, &mut board);
    north_arrow(&mut scene, Spot::new(5.0, foot - 15.0));
    scale_bar(&mut scene, Spot::new(24.0, foot - 9.0), &view, figures);
    key(&mut scene, Spot::new(2.0, foot - 16.0), &keys);
    scene
}

fn edges(tin: &Tin, wanted: impl Fn(TriangleId, usize) -> bool) -> Vec<[Point; 2]> {
    let all = tin.ids().flat_map(|t| (0..3).map(move |k| (t, k)));
    all.filter(|&(t, k)| wanted(t, k))
        .map(|(t, k)| {
            let corners = tin.corners(t);
            [corners[k].plan(), corners[(k + 1) % 3].plan()]
        })
        .collect()
}

/// Shades the ground as if light fell from the north-west, 45 degrees high; slopes are drawn steeper than they are where
/// the ground is gentle, so that the steepest tenth of it spans the tones.
fn shade(scene: &mut Scene, view: &View, sketch: &Sketch) {
    let cells = || (0..sketch.high).flat_map(|row| (0..sketch.wide).map(move |column| (column, row)));
    let mut steepness: Vec<f64> =
        cells().filter_map(|(column, row)| sketch.slope(column, row)).map(|(east, north)| east.hypot(north)).collect();
    steepness.sort_by(f64::total_cmp);
    let steep = steepness.get(steepness.len() * 9 / 10).copied().unwrap_or_default();
    let taller = if steep > 0.0 { (0.7 / steep).clamp(1.0, 20.0) } else { 1.0 };
    tones(scene, view, sketch, |column, row| {
        if let Some((east, north)) = sketch.slope(column, row) {
            let (east, north) = (east * taller, north * taller);
            // Light from (-1, 1, sqrt 2) / 2 on the normal (-east, -north, 1).
            let light = (east - north + std::f64::consts::SQRT_2) / (2.0 * (1.0 + east * east + north * north).sqrt());
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the shades")]
            let at = (light.clamp(0.0, 0.999) * SHADES.len() as f64) as usize;
            return Some(SHADES[at]);
        }
        sketch.is_covered(column, row).then_some(UNKNOWN)
    });
}

/// Fills the cells, those of one tone as one area of runs along the rows; a thin outline of the same tone closes the hair
/// lines that a screen leaves between neighbours.
fn tones(scene: &mut Scene, view: &View, sketch: &Sketch, tone: impl Fn(usize, usize) -> Option<u8>) {
    let mut runs: std::collections::BTreeMap<u8, Vec<Vec<Spot>>> = std::collections::BTreeMap::new();
    let corner = |column: usize, row: usize| {
        let step = crate::geom::Vector::new(column as f64 * sketch.cell, row as f64 * sketch.cell);
        view.spot(sketch.low() + step)
    };
    for row in 0..sketch.high {
        let mut column = 0;
        while column < sketch.wide {
            let here = tone(column, row);
            let end = (column + 1..sketch.wide).find(|&other| tone(other, row) != here).unwrap_or(sketch.wide);
            if let Some(here) = here {
                let ring = vec![corner(column, row), corner(end, row), corner(end, row + 1), corner(column, row + 1)];
                runs.entry(here).or_default().push(ring);
            }
            column = end;
        }
    }
    for (tone, rings) in runs {
        scene.area(rings, Some(Fill::Grey(tone)), Some(Pen { width: 0.06, grey: tone, ..FINE }));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Item;
    use crate::draw::hillside::{METRIC, hillside};
    use crate::geom::Point3;

    fn sketch(fall: f64, ground: impl Fn(f64, f64) -> bool) -> Sketch {
        let bounds = Bounds { low: Point::new(0.0, 0.0), high: Point::new(100.0, 60.0) };
        let mut sketch = Sketch::over(bounds, 24_000);
        for at in 0..24_000_u32 {
            let (x, y) = (f64::from(at % 200) / 2.0 + 0.1, f64::from(at / 200) / 2.0 + 0.1);
            sketch.take(Point3::new(x, y, 430.0 + fall * y), ground(x, y));
        }
        sketch
    }

    fn area_of_tone(scene: &Scene, tone: u8) -> f64 {
        let rings = scene.items.iter().filter_map(|item| match item {
            Item::Area { rings, fill: Some(Fill::Grey(grey)), .. } if *grey == tone => Some(rings),
            _ => None,
        });
        rings.flatten().map(|ring| (ring[1].x - ring[0].x) * (ring[2].y - ring[1].y)).sum()
    }

    #[test]
    fn what_has_no_ground_is_dark_on_both_drawings() {
        let frame = hillside(60.0).ground.frame;
        let scene = cloud_plan(&sketch(0.04, |x, _| !(20.0..40.0).contains(&x)), &frame, METRIC);
        let texts: Vec<&str> = scene.texts().collect();
        assert!(texts.iter().any(|text| text.starts_with("ground, shaded; contours every")), "{texts:?}");
        assert!(texts.contains(&"no ground reached"), "{texts:?}");
        // 1:750 makes 100 m 133 mm: a fifth of the ground, twice, and the key's own swatch of 11 by 4.4 mm.
        let whole = 100.0 * 60.0 * (1000.0_f64 / 750.0).powi(2);
        let dark = area_of_tone(&scene, UNKNOWN) - 11.0 * 4.4;
        let scale = dark / (2.0 * 0.2 * whole);
        assert!((0.9..1.15).contains(&scale), "{dark} of {whole}");
    }

    #[test]
    fn a_cloud_without_ground_is_drawn_once_by_its_lowest_points() {
        let frame = hillside(60.0).ground.frame;
        let scene = cloud_plan(&sketch(0.0, |_, _| false), &frame, METRIC);
        let texts: Vec<&str> = scene.texts().collect();
        assert!(texts.iter().any(|text| text.starts_with("lowest points, shaded")), "{texts:?}");
        assert_eq!(area_of_tone(&scene, UNKNOWN), 0.0);
        // A level has one tone.
        let shaded = SHADES.iter().filter(|tone| area_of_tone(&scene, **tone) > 0.0).count();
        assert_eq!(shaded, 1);
    }

    #[test]
    fn a_surface_shows_contours_rim_and_an_empty_one_still_draws() {
        let site = hillside(60.0);
        let scene = surface_plan(&site.ground.tin, &site.ground.frame, METRIC);
        assert!(scene.texts().any(|text| text == "contours"));
        let pens = |pen: Pen| {
            scene.items.iter().filter(|item| matches!(item, Item::Line { pen: own, .. } if *own == pen)).count()
        };
        assert!(pens(CONTOUR) > 3 && pens(EDGE_OF_SURVEY) > 3);
        assert!(crate::draw::svg(&surface_plan(&Tin::default(), &site.ground.frame, METRIC)).starts_with("<svg"));
    }
}
