//! The spillway of a dam: at an abutment beyond the wall's end, cut into natural ground to full supply.
//!
//! Invariant: the head over its sill is no more than the flood rise that the crest counts on; the sill stands on natural
//! ground that is nowhere below it; between it and the wall natural ground stands at the settled crest.

use super::DamWanted;
use crate::geom::{Point, Polygon, Polyline, Vector};
use crate::ground::Ground;
use crate::notes::Note;
use crate::surface::{Locator, Tin};
use crate::units::Length;
use crate::works::WorksError;
use crate::works::apply::Owner;
use crate::works::outflow::{Along, Outflow};
use crate::works::outlet::{AWAY, CLEAR, FURTHER, Place, TOWARDS};
use crate::works::plan::Spillway;
use crate::works::spillway::{Sized, size};
use crate::works::unsurveyed::unsurveyed;
use crate::works::wanted::{SpillwayPlace, SpillwayWanted};
use crate::works::work::{Kind, Subject};

/// Ground this much under the crest between wall and spillway is none, metres.
const AT_CREST: f64 = 0.005;
/// Flood rise and head that differ by less than this agree, metres.
const AGREE: f64 = 0.005;
/// How far beyond a wall's end its spillway is looked for, metres, and the steps.
const FARTHEST: f64 = 60.0;
const STEP: f64 = 0.25;

/// What a dam asks of its spillway before it is placed: its size, and the rise that the crest counts on, which is the head
/// over the sill and what the approach takes.
pub(super) fn sized(wanted: &DamWanted, loss: Length) -> Result<(Option<Sized>, Length), WorksError> {
    let works = Subject::new(Kind::Dam, &wanted.name);
    let Some(spillway) = &wanted.spillway else {
        return match wanted.flood_rise {
            Some(rise) => Ok((None, rise)),
            None => Err(WorksError::NoFloodRise { works }),
        };
    };
    let sized = size(spillway, &works, wanted.flood_rise.map(|rise| rise - loss))?;
    let (head, rise) = (sized.head, wanted.flood_rise.unwrap_or(sized.head + loss));
    if (head + loss).in_metres() > rise.in_metres() + AGREE {
        let [head, loss, rise] = [head, loss, rise].map(Length::in_metres);
        return Err(WorksError::HeadOverRise { works, head, loss, rise });
    }
    Ok((Some(sized), rise))
}

/// What the spillway is placed against.
pub(super) struct Wall<'a> {
    pub ground: &'a Ground,
    pub wanted: &'a DamWanted,
    /// The surface before the wall.
    pub natural: &'a Locator<'a>,
    /// The crest's middle, the water on its left.
    pub line: &'a Polyline,
    pub fill: &'a [Polygon],
    pub shore: &'a [Vec<Point>],
    pub full: f64,
    /// The settled crest.
    pub crest: f64,
}

impl Wall<'_> {
    fn subject(&self) -> Subject {
        Subject::new(Kind::Dam, &self.wanted.name)
    }

    /// Cuts the spillway into a surface on which the wall stands.
    pub(super) fn cut(
        &self,
        surface: &Tin,
        (asked, sized): (&SpillwayWanted, Sized),
        notes: &mut Vec<Note>,
    ) -> Result<(Spillway, Tin), WorksError> {
        let exit_fall = asked.exit_fall_or_usual();
        let (works, ground, natural) = (self.subject(), self.ground, self.natural);
        let outflow = Outflow { works, ground, natural, asked, exit_fall, sized };
        let depth = outflow.run().map_or(0.0, |run| run.depth.in_metres());
        let in_water =
            |place: Point| self.shore.iter().filter(|ring| crate::geom::contains(ring, place)).count() % 2 == 1;
        let owner = Owner { kind: Kind::Dam, name: &self.wanted.name, part: "spillway", ground: self.ground };
        let mut tries = FURTHER.into_iter();
        let (end, place, above, (outlet, tin)) = loop {
            let further = tries.next().unwrap_or(0.0);
            let (end, mut place) = self.stand(asked, sized, &in_water, further)?;
            place.depth = depth;
            let above = outflow.on_natural_ground(&place)?;
            self.ridge(end, &place)?;
            match place.cut(surface, owner) {
                Ok(cut) => break (end, place, above, cut),
                // A little further from the wall a way may be clear of it; a place that was said stays where it is.
                Err(WorksError::NoWayOut { .. })
                    if !matches!(asked.at, SpillwayPlace::Through(_)) && !tries.as_slice().is_empty() => {}
                Err(refused) => return Err(refused),
            }
        };
        // The lip runs as the wall's line does, so that the water leaves to its right.
        let last = place.outward.cross(place.flow) < 0.0;
        let beyond = |along: f64| {
            let out = (place.centre - end).dot(place.outward) + place.length * along / 2.0;
            if last { self.line.length() + out } else { -out }
        };
        let (from, to) = if last { (-1.0, 1.0) } else { (1.0, -1.0) };
        let along = Along { outward: last, from: beyond(from), to: beyond(to) };
        let spillway = outflow.designed(&place, outlet, above, &along);
        outflow.tell(&spillway, notes);
        self.tell(&spillway, notes);
        Ok((spillway, tin))
    }

    /// The wall's end beside which the spillway stands, and where it stands.
    fn stand<'a>(
        &'a self,
        asked: &SpillwayWanted,
        sized: Sized,
        in_water: &'a dyn Fn(Point) -> bool,
        further: f64,
    ) -> Result<(Point, Place<'a>), WorksError> {
        let line = self.line;
        let ends = [(line.first(), line.direction(0.0) * -1.0), (line.last(), line.direction(line.length()))];
        // The line runs with the water on its left, the axis as it was written: its ends are asked for.
        let turned =
            self.wanted.axis.first().is_some_and(|&first| ends[1].0.distance(first) < ends[0].0.distance(first));
        let (end, along) = match asked.at {
            SpillwayPlace::First => ends[usize::from(turned)],
            SpillwayPlace::Last => ends[usize::from(!turned)],
            SpillwayPlace::Through(place) => {
                let near = ends[0].0.distance(place) < ends[1].0.distance(place);
                let (end, _) = ends[usize::from(!near)];
                (end, (place - end).unit())
            }
            SpillwayPlace::Station(station) => {
                return Err(WorksError::SpillwayOnWall { works: self.subject(), station: station.in_metres() });
            }
            SpillwayPlace::LowRim => {
                let why = "a wall has no rim: say one of its ends, or a place on natural ground";
                return Err(WorksError::NoSpillwayThere { works: self.subject(), why });
            }
        };
        let last = end == ends[1].0;
        // Out of the water, across the sill.
        let flow: Vector = if last { along.left() * -1.0 } else { along.left() };
        let length = sized.length.in_metres();
        let mut place = Place {
            works: self.subject(),
            ground: self.ground,
            natural: self.natural,
            fills: self.fill,
            dig: &[],
            bends: [TOWARDS, AWAY],
            in_water,
            centre: end,
            outward: along,
            flow,
            level: self.full,
            length,
            breadth: asked.sill_breadth.in_metres(),
            batter: asked.batter.in_horizontal_per_vertical(),
            approach_fall: asked.approach_fall.in_ratio(),
            exit_fall: asked.exit_fall_or_usual().in_ratio(),
            depth: 0.0,
        };
        let off = |place: &Place<'_>| place.sill_off_survey();
        let too_near = |centre: Point, clear: f64| {
            let (easting, northing) = self.ground.frame.to_frame(centre);
            WorksError::SpillwayTooNear { works: self.subject(), clear, kept: CLEAR, easting, northing }
        };
        if let SpillwayPlace::Through(centre) = asked.at {
            place.centre = centre;
            let clear = place.clear_at_sill().ok_or_else(|| off(&place))?;
            if clear < CLEAR {
                return Err(too_near(centre, clear));
            }
            return Ok((end, place));
        }
        let mut out = CLEAR + further;
        loop {
            place.centre = end + along * (out + length / 2.0);
            if place.clear_at_sill().ok_or_else(|| off(&place))? >= CLEAR + further {
                return Ok((end, place));
            }
            out += STEP;
            if out > FARTHEST {
                return Err(too_near(place.centre, place.clear_at_sill().unwrap_or(0.0)));
            }
        }
    }

    /// Natural ground between wall and spillway stands at the crest, or a flood runs there too.
    fn ridge(&self, end: Point, place: &Place<'_>) -> Result<(), WorksError> {
        let between = (0..=100).map(|k| end.towards(place.centre, f64::from(k) / 100.0));
        let off = || WorksError::PlaceOffSurvey {
            works: self.subject(),
            what: "the ground between it and its spillway".to_owned(),
            beyond: unsurveyed(self.ground, self.natural, between),
        };
        let (found, place) = place.ridge(end).ok_or_else(off)?;
        if found < self.crest - AT_CREST {
            let (easting, northing) = self.ground.frame.to_frame(place);
            return Err(WorksError::LowRidge { works: self.subject(), crest: self.crest, found, easting, northing });
        }
        Ok(())
    }

    fn tell(&self, spillway: &Spillway, notes: &mut Vec<Note>) {
        let needed = spillway.flood_rise();
        if let Some(rise) = self.wanted.flood_rise.filter(|rise| (*rise - needed).in_metres() > AGREE) {
            notes.push(Note::new("works::rise-over-head", format!(
                "{}: its flood-rise is {:.3} m and its spillway needs {:.3} m for its flow: the crest keeps to the flood-rise, {:.3} m higher than this flow asks",
                self.subject(),
                rise.in_metres(),
                needed.in_metres(),
                (rise - needed).in_metres()
            )));
        }
    }
}
