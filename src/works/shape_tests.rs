//! The channel's shapes on a plane, in closed form.

use super::tests::{hillside, wanted};
use super::*;
use crate::geom::{Point, Polygon};
use crate::notes::Silent;
use crate::surface::sound::assert_sound;
use crate::surface::{cut_and_fill, triangulate};
use crate::units::{Length, Volume};

/// 3 m wide at the water level.
fn parabola() -> ChannelShape {
    ChannelShape::Parabola { top_width: Length::metres(3.0) }
}

/// Four per cent down to the south; the line at 432 m runs east and west at y = 50.
fn plane() -> Ground {
    hillside(10, |_, y| 430.0 + 0.04 * y)
}

fn lid(level: f64) -> Tin {
    let corners = [(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)];
    triangulate(&corners.map(|(x, y)| Point::new(x, y).at(level)), &[]).unwrap().tin
}

/// Section of the channel below the water level, square metres, from 20 m of it clear of ends and sill.
fn below_water(surface: &Tin, width: f64) -> f64 {
    let stretch = [(60.0, 50.0), (80.0, 50.0), (80.0, 50.0 + width), (60.0, 50.0 + width)];
    let stretch = Polygon::simple(stretch.map(|(x, y)| Point::new(x, y)).to_vec());
    cut_and_fill(&lid(432.0), surface, Some(&stretch)).cut / 20.0
}

#[test]
fn a_triangle_and_a_parabola_have_the_area_of_their_formulas() {
    let ground = plane();
    for (shape, width) in [(ChannelShape::Triangle, 2.4), (parabola(), 3.0)] {
        let made = design(&ground, &[SwaleWanted { shape, ..wanted() }], &Silent).unwrap().value;
        let (swale, surface) = (made.swale(0), &made.surfaces[0]);
        assert_sound(surface);
        let area = below_water(surface, width);
        match shape {
            // w d / 2.
            ChannelShape::Triangle => assert!((area - 2.4 * 0.6 / 2.0).abs() < 1e-6, "{area}"),
            // 2/3 w d; six chords a side stand 0.6 / (4 x 36) m above it, which takes 1 / (4 x 36) of it.
            _ => assert!((area - 2.0 / 3.0 * 3.0 * 0.6 * (1.0 - 1.0 / 144.0)).abs() < 1e-6, "{area}"),
        }
        assert!((swale.section.bed_offset.in_metres() - width / 2.0).abs() < 1e-9);
        assert!((swale.section.wet_edge().in_metres() - width).abs() < 1e-9);
        assert!(swale.storage.at_sill && swale.ends.iter().all(|end| end.closed));
        // The drawing's outline is the section of the surface.
        let locator = Locator::new(surface);
        for corner in &swale.section.channel {
            let built = locator.elevation(Point::new(70.0, 50.0 + corner.x)).unwrap() - 432.0;
            assert!((built - corner.y).abs() < 0.006, "at {} built {built}, drawn {}", corner.x, corner.y);
        }
    }
}

#[test]
fn the_other_edges_of_a_parabola_lie_on_its_curve() {
    let ground = plane();
    for line_edge in [LineEdge::Centre, LineEdge::UphillEdge] {
        let made = design(&ground, &[SwaleWanted { shape: parabola(), line_edge, ..wanted() }], &Silent).unwrap().value;
        let section = &made.swale(0).section;
        let [lip, bed] = [section.lip_offset, section.bed_offset].map(Length::in_metres);
        assert!((bed - if line_edge == LineEdge::Centre { 0.0 } else { -1.5 }).abs() < 1e-9);
        let curve = 0.6 * ((lip - bed) / 1.5_f64).powi(2) - 0.6;
        assert!((curve - 0.04 * lip).abs() < 1e-9, "the lip is where the curve meets the ground");
        let uphill = section.top_offset.in_metres();
        assert!((0.04 * uphill - (uphill - bed - 1.5) / 2.0).abs() < 1e-9, "above the water level the batter");
    }
}

#[test]
fn every_shape_is_solved_to_hold() {
    let ground = plane();
    for (shape, asked) in [(ChannelShape::Triangle, 200.0), (parabola(), 150.0)] {
        let wanted = SwaleWanted { shape, to_hold: Some(Volume::cubic_metres(asked)), ..wanted() };
        let made = design(&ground, &[wanted], &Silent).unwrap().value;
        let (swale, surface) = (made.swale(0), &made.surfaces[0]);
        assert!((swale.storage.volume.in_cubic_metres() / asked - 1.0).abs() < 1e-3);
        // A second exact way: the overlay with a level lid inside the shore.
        let shore = crate::surface::pool(surface, swale.bed_axis.points(), 432.0 - 1e-6).shore;
        let outer = shore.into_iter().max_by_key(Vec::len).unwrap();
        let overlaid = cut_and_fill(surface, &lid(432.0), Some(&Polygon::simple(outer))).fill;
        assert!((overlaid / asked - 1.0).abs() < 1e-3, "asked {asked}, overlay {overlaid}");
    }
}

#[test]
fn round_sides_too_steep_for_unproven_soil_are_told() {
    let shape = ChannelShape::Parabola { top_width: Length::metres(1.8) };
    let notes = design(&plane(), &[SwaleWanted { shape, ..wanted() }], &Silent).unwrap().notes;
    let note = notes.iter().find(|note| note.code == "works::steep-batter").unwrap();
    // At the water level 4 d / w = 1.333 down for one along.
    assert!(note.text.contains("round sides at the water level: 0.75 horizontal to 1 vertical"), "{}", note.text);
}
