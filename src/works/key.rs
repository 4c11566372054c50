//! A key: the trench dug under the seat of a berm or wall and filled again, so that the fill does not stand on a smooth plane.
//!
//! Invariant: it is measured on the stripped ground and changes no surface, since it is filled again.

use super::WorksError;
use super::apply::{Owner, lay};
use super::dam::KeyWanted;
use super::strip::{Profile, Sense};
use crate::geom::Polyline;
use crate::surface::{Locator, Tin, cut_and_fill};
use crate::units::Length;

/// Steps along a line between which its bottom runs straight, metres.
const STEP: f64 = 1.0;

/// Bank volume of a key dug along lines into stripped ground, cubic metres.
pub(super) fn bank<'a>(
    stripped: &Tin,
    lines: impl Iterator<Item = &'a Polyline>,
    key: KeyWanted,
    owner: Owner<'_>,
) -> Result<f64, WorksError> {
    let ground = Locator::new(stripped);
    let mut total = 0.0;
    for line in lines {
        let line = line.resampled(STEP);
        // A line ends on surveyed ground: its berm stands there.
        let depth = key.depth.in_metres();
        let levels: Option<Vec<f64>> =
            line.points().iter().map(|&place| Some(ground.elevation(place)? - depth)).collect();
        let Some(levels) = levels else { continue };
        let dug = lay(stripped, &line, &levels, &profile(key), owner)?;
        total += cut_and_fill(stripped, &dug.tin, None).cut;
    }
    Ok(total)
}

/// The trench across.
pub(super) fn profile(key: KeyWanted) -> Profile {
    let batter = key.batter.in_horizontal_per_vertical();
    let height = key.depth.in_metres() * 1.5 + 0.5;
    Profile::even(Sense::Bowl, key.width.in_metres() / 2.0, batter, height)
}

/// Its width where it leaves the stripped ground.
pub(super) fn top_width(key: KeyWanted) -> Length {
    key.width + key.depth * (2.0 * key.batter.in_horizontal_per_vertical())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::SiteFrame;
    use crate::geom::Point;
    use crate::notes::Silent;
    use crate::surface::triangulate;
    use crate::units::Batter;
    use crate::works::tests::{hillside, wanted};
    use crate::works::work::Kind;
    use crate::works::{SwaleWanted, design};
    use std::f64::consts::PI;

    fn asked(width: f64, depth: f64) -> KeyWanted {
        let batter = Batter::horizontal_per_vertical(1.0);
        KeyWanted { width: Length::metres(width), depth: Length::metres(depth), batter }
    }

    #[test]
    fn a_key_in_a_plane_is_its_closed_form() {
        // A plane that falls along the trench: the bottom falls with it.
        let corners = [(-20.0, -20.0), (120.0, -20.0), (120.0, 20.0), (-20.0, 20.0)];
        let plane = triangulate(&corners.map(|(x, y)| Point::new(x, y).at(50.0 - 0.02 * x)), &[]).unwrap().tin;
        let line = Polyline::new(vec![Point::new(0.0, 0.0), Point::new(100.0, 0.0)]).unwrap();
        let frame = SiteFrame::site_grid();
        let owner = Owner { kind: Kind::Swale, name: "upper", part: "key", frame: &frame };
        let found = bank(&plane, [line].iter(), asked(0.6, 0.4), owner).unwrap();
        let prism = 100.0 * 0.4 * (0.6 + 0.4);
        let (bottom, top) = (0.3, 0.7);
        let round_ends = PI * 0.4 / 3.0 * (bottom * bottom + bottom * top + top * top);
        // The round ends are facets, and stand level on ground that falls.
        assert!((found - prism - round_ends).abs() < 0.1 * round_ends, "{found} {prism} {round_ends}");
        assert!((top_width(asked(0.6, 0.4)).in_metres() - 1.4).abs() < 1e-12);
    }

    #[test]
    fn a_berm_of_all_the_cut_fills_its_key_too() {
        let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
        let with = |key| SwaleWanted { key, depth: Length::metres(0.8), ..wanted() };
        let made = design(&ground, &[with(Some(asked(0.6, 0.3)))], &Silent).unwrap().value;
        let swale = made.swale(0);
        let key = swale.key.in_cubic_metres();
        let along: f64 = swale.crest_axes.iter().map(Polyline::length).sum();
        assert!((key / (along * 0.3 * 0.9) - 1.0).abs() < 0.05, "{key} over {along} m");
        // What the key takes more than it gives is missing on the berm, within a step of the crest.
        let after = &made.surfaces[0];
        let whole = cut_and_fill(&ground.tin, after, None);
        let dug = cut_and_fill(&ground.tin.raised_by(-0.1), after, None).cut;
        let taken = (whole.fill + 0.1 * whole.fill_area + key) / wanted().soil.placed_per_bank;
        assert!((dug + key - taken).abs() < 0.006 * whole.fill_area, "gives {dug} and {key}, takes {taken}");
        let without = design(&ground, &[with(None)], &Silent).unwrap().value;
        assert_eq!(without.swale(0).key.in_cubic_metres(), 0.0);
        let built = |plan: &crate::works::SitePlan| plan.swale(0).crest.built.in_metres();
        assert!(built(&made) <= built(&without));
    }

    #[test]
    fn a_key_wider_than_the_seat_is_told() {
        let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
        let asked = SwaleWanted { key: Some(asked(3.0, 0.8)), ..wanted() };
        let notes = design(&ground, &[asked], &Silent).unwrap().notes;
        assert!(notes.iter().any(|note| note.code == "works::key-too-wide"), "{notes:#?}");
    }
}
