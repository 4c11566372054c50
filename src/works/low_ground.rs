//! Where the ground under a swale's berm lies lower than its line: how high the full water stands over it there, held by the berm
//! alone, and how far the crest there settles below what head and freeboard ask for.
//!
//! The berm loses a share of its local height, so that one level crest settles most where the ground under it is lowest.

use super::plan::{CrestLevels, LowGround, Swale};
use crate::geom::{Point, Polyline};
use crate::ground::Ground;
use crate::notes::{Note, Place};
use crate::surface::Locator;
use crate::units::{Length, Station};

/// Water that stands higher than this over the ground, held by a berm, is told, metres. Common practice, no source.
const HELD: f64 = 0.3;
/// A crest that settles less than this below what is asked for is not told, metres: two steps of the crest's height.
const SHORT: f64 = 0.01;
/// Steps along line and crest, metres.
const STEP: f64 = 1.0;

/// Looks along the line of a swale between the ends of its bed, and along its crest.
pub(super) fn look(
    (line, lip, bed): (&Polyline, &dyn Fn(f64) -> f64, (f64, f64)),
    (axes, levels): (&[Polyline], &[Vec<f64>]),
    (crest, settlement): (&CrestLevels, f64),
    natural: &Locator<'_>,
) -> LowGround {
    let water = crest.water_level.in_metres();
    let steps = line.between(bed.0, bed.1).map(|part| part.resampled(STEP).stations().to_vec()).unwrap_or_default();
    let held = steps.into_iter().filter_map(|along| {
        let station = bed.0 + along;
        Some((water - natural.elevation(line.at_offset(station, lip(station)))?, station))
    });
    let needed = crest.settled_required().in_metres();
    let built: Vec<(Point, f64)> = if levels.is_empty() {
        let places = axes.iter().flat_map(|axis| axis.resampled(STEP).points().to_vec());
        places.map(|place| (place, crest.built.in_metres())).collect()
    } else {
        let places = axes.iter().zip(levels);
        places.flat_map(|(axis, levels)| axis.points().iter().copied().zip(levels.iter().copied())).collect()
    };
    let short = built.into_iter().filter_map(|(place, built)| {
        let ground = natural.elevation(place)?;
        let settled = ground + (built - ground).max(0.0) / (1.0 + settlement);
        Some((needed - settled, line.foot(place).station))
    });
    let most = |found: &mut dyn Iterator<Item = (f64, f64)>, least: f64| {
        let (by, station) = found.max_by(|a, b| a.0.total_cmp(&b.0)).filter(|most| most.0 > least)?;
        Some((Length::metres(by), Station::metres(station)))
    };
    LowGround { water_held: most(&mut held.into_iter(), HELD), settles_short: most(&mut short.into_iter(), SHORT) }
}

/// What is told of it.
pub(super) fn tell(swale: &Swale, ground: &Ground, notes: &mut Vec<Note>) {
    let name = &swale.wanted.name;
    let mut told = |station: Station, code: &'static str, text: String| {
        let (easting, northing) = ground.frame.to_frame(swale.line.at(station.in_metres()));
        notes.push(Note::new(code, text).at(Place::Ground { easting, northing }));
    };
    if let Some((held, station)) = swale.low_ground.water_held {
        let text = format!(
            "swale `{name}`: at station {:.1} m its full water stands {:.2} m over natural ground at the downhill lip, held by the berm alone: there it is a small dam, with what local rules and an engineer ask of one; lead the line uphill there, or end it before",
            station.in_metres(),
            held.in_metres()
        );
        told(station, "works::berm-holds-water", text);
    }
    if let Some((short, station)) = swale.low_ground.settles_short {
        let text = format!(
            "swale `{name}`: at station {:.1} m the ground under the berm is so low that its crest settles {:.0} mm below what head and freeboard ask for; build it that much and a tenth more higher there",
            station.in_metres(),
            1000.0 * short.in_metres()
        );
        told(station, "works::crest-settles-short", text);
    }
}

impl Swale {
    /// What no output that has words may leave out.
    #[must_use]
    pub fn cautions(&self) -> Vec<String> {
        let station = |station: Station| format!("station {:.1} m", station.in_metres());
        let mut says = Vec::new();
        if self.spillways.is_empty() {
            says.push(format!(
                "NO SILL: when full it runs over its lowest place, at {:.3} m",
                self.storage.spill.in_metres()
            ));
        } else {
            let shut = self.pools.iter().filter(|pool| self.pools.len() > 1 && !pool.has_sill);
            says.extend(
                shut.map(|pool| format!("POOL WITHOUT A SILL from {} to {}", station(pool.from), station(pool.to))),
            );
            if !self.storage.at_sill && self.storage.spill < self.water_level {
                let low = (self.water_level - self.storage.spill).in_metres();
                says.push(format!("WATER LEAVES ELSEWHERE FIRST, {:.0} mm below its sill", 1000.0 * low));
            }
        }
        for sill in self.spillways.iter().filter(|sill| sill.on_fill) {
            says.push(format!("SILL PARTLY ON FILL at {}", station(sill.from)));
        }
        for pool in &self.pools {
            let rise = pool.rise_over_sill(self.water_level);
            if let Some(rise) = rise.filter(|&rise| rise > self.crest.freeboard) {
                says.push(format!("SILL BEHIND HIGHER GROUND: the water rises {:.2} m over it", rise.in_metres()));
            }
        }
        if let Some((held, at)) = self.low_ground.water_held {
            says.push(format!("BERM HOLDS WATER {:.2} m over the ground at {}", held.in_metres(), station(at)));
        }
        if let Some((short, at)) = self.low_ground.settles_short {
            says.push(format!("CREST SETTLES {:.0} mm SHORT at {}", 1000.0 * short.in_metres(), station(at)));
        }
        for end in &self.ends {
            if !end.closed && !end.overflow {
                let name = end.name.word();
                says.push(format!("OPEN END: its {name} end does not reach ground as high as its crest"));
            }
        }
        says
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Polygon;
    use crate::notes::{Noted, Silent};
    use crate::units::Batter;
    use crate::works::tests::{hillside, wanted};
    use crate::works::{Berm, SitePlan, SwaleWanted, design};

    fn plan(asked: SwaleWanted) -> Noted<SitePlan> {
        let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
        design(&ground, &[asked], &Silent).unwrap()
    }

    fn told(plan: &Noted<SitePlan>, code: &str) -> bool {
        plan.notes.iter().any(|note| note.code == code)
    }

    /// A shed whose middle lies uphill of the line is passed below: there the lip's ground is as far under the water as the line says.
    #[test]
    fn water_held_by_a_berm_alone_is_told_everywhere() {
        let corners = [(90.0, 47.0), (110.0, 47.0), (110.0, 75.0), (90.0, 75.0)];
        let shed = Polygon::simple(corners.map(|(x, y)| Point::new(x, y)).to_vec());
        let plan = plan(SwaleWanted { obstacles: vec![shed], clearance: Length::metres(2.0), ..wanted() });
        let swale = plan.value.swale(0);
        let (held, station) = swale.low_ground.water_held.expect("a line led downhill");
        let lowest = swale.contour.stations.iter().map(|at| at.deviation).fold(f64::INFINITY, f64::min);
        assert!(lowest < -HELD && (held.in_metres() + lowest).abs() < 0.01, "{held:?} {lowest}");
        let place = swale.line.at(station.in_metres());
        assert!((432.0 - held.in_metres() - 430.0 - 0.04 * place.y).abs() < 1e-6, "{place:?}");
        assert!(told(&plan, "works::berm-holds-water"));
        let says = plan.value.cautions_of(&plan.value.works[0]).join("; ");
        assert!(says.contains("BERM HOLDS WATER"), "{says}");

        let level = self::plan(wanted());
        assert_eq!(level.value.swale(0).low_ground, LowGround::default());
        assert_eq!(level.value.swale(0).cautions(), [""; 0]);
    }

    /// Fill of height h over its ground loses a of its settled height: it settles to ground + h / (1 + a).
    #[test]
    fn a_crest_on_low_ground_settles_short_by_its_own_height() {
        let corners = [(90.0, 47.0), (110.0, 47.0), (110.0, 75.0), (90.0, 75.0)];
        let shed = Polygon::simple(corners.map(|(x, y)| Point::new(x, y)).to_vec());
        let berm = Berm::Fixed { crest: Length::metres(0.6), batter: Batter::horizontal_per_vertical(2.0) };
        let asked =
            SwaleWanted { berm, obstacles: vec![shed], clearance: Length::metres(2.0), settlement: 0.12, ..wanted() };
        let plan = plan(asked);
        let swale = plan.value.swale(0);
        let (short, _) = swale.low_ground.settles_short.expect("a high berm");
        let built = swale.crest.built.in_metres();
        let needed = swale.crest.settled_required().in_metres();
        // The lowest ground under the crest.
        let lowest = swale
            .crest_axes
            .iter()
            .flat_map(|axis| axis.resampled(1.0).points().to_vec())
            .map(|place| 430.0 + 0.04 * place.y)
            .fold(f64::INFINITY, f64::min);
        let by_hand = needed - (lowest + (built - lowest) / 1.12);
        assert!((short.in_metres() - by_hand).abs() < 1e-6 && by_hand > SHORT, "{short:?} {by_hand}");
        assert!(told(&plan, "works::crest-settles-short"));
    }
}
