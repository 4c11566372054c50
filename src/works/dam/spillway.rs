//! The spillway of a dam: at an abutment beyond the wall's end, cut into natural ground to full supply.
//!
//! Invariant: the head over its sill is no more than the flood rise that the crest counts on; the sill stands on natural
//! ground that is nowhere below it; between it and the wall natural ground stands at the settled crest.

use super::DamWanted;
use crate::geom::{Point, Polygon, Polyline, Vector};
use crate::ground::Ground;
use crate::notes::{Note, Place as NotePlace};
use crate::surface::{Locator, Tin};
use crate::units::{Elevation, Fall, Length, Station};
use crate::water::channel::{Run, Trapezoid, fall_for_head, fall_for_speed, width_for};
use crate::water::weir;
use crate::works::WorksError;
use crate::works::apply::Owner;
use crate::works::line::at;
use crate::works::outlet::{CLEAR, Place, descent};
use crate::works::plan::{Outlet, Spillway};
use crate::works::spillway::{FILL_LIMIT, Sized, size};
use crate::works::wanted::{SpillwayPlace, SpillwayWanted};
use crate::works::work::{Kind, Subject};

/// Ground this much under the crest between wall and spillway is none, metres.
const AT_CREST: f64 = 0.005;
/// Flood rise and head that differ by less than this agree, metres.
const AGREE: f64 = 0.005;
/// How far beyond a wall's end its spillway is looked for, metres, and the steps.
const FARTHEST: f64 = 60.0;
const STEP: f64 = 0.25;
/// How much further from a wall than asked its spillway is tried where no way is clear of it, metres.
const FURTHER: [f64; 6] = [0.25, 1.0, 2.0, 4.0, 8.0, 14.0];
/// Natural ground below a channel counts over this length, metres.
const BELOW: f64 = 10.0;

/// What a dam asks of its spillway before it is placed: its size, and the rise that the crest counts on.
pub(super) fn sized(wanted: &DamWanted) -> Result<(Option<Sized>, Length), WorksError> {
    let works = Subject::new(Kind::Dam, &wanted.name);
    let Some(spillway) = &wanted.spillway else {
        return match wanted.flood_rise {
            Some(rise) => Ok((None, rise)),
            None => Err(WorksError::NoFloodRise { works }),
        };
    };
    let sized = size(spillway, &works, wanted.flood_rise)?;
    let (head, rise) = (sized.head, wanted.flood_rise.unwrap_or(sized.head));
    if head.in_metres() > rise.in_metres() + AGREE {
        return Err(WorksError::HeadOverRise { works, head: head.in_metres(), rise: rise.in_metres() });
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
        let section = Trapezoid { bottom: sized.length, batter: asked.batter };
        let run = Run::of(section, sized.flow, asked.exit_fall, asked.cover);
        let in_water =
            |place: Point| self.shore.iter().filter(|ring| crate::geom::contains(ring, place)).count() % 2 == 1;
        let frame = &self.ground.frame;
        let owner = Owner { kind: Kind::Dam, name: &self.wanted.name, part: "spillway", frame };
        let mut tries = FURTHER.into_iter();
        let (end, place, above, (mut outlet, tin)) = loop {
            let further = tries.next().unwrap_or(0.0);
            let (end, mut place) = self.stand(asked, sized, &in_water, further)?;
            place.depth = run.map_or(0.0, |run| run.depth.in_metres());
            let above = self.on_natural_ground(asked, &place)?;
            self.ridge(end, &place)?;
            match place.cut(surface, owner) {
                Ok(cut) => break (end, place, above, cut),
                // A little further from the wall a way may be clear of it; a place that was said stays where it is.
                Err(WorksError::NoWayOut { .. })
                    if !matches!(asked.at, SpillwayPlace::Through(_)) && !tries.as_slice().is_empty() => {}
                Err(refused) => return Err(refused),
            }
        };
        let exit = Polyline::new(descent(self.natural, outlet.axis.last()));
        let natural_fall = exit.as_ref().and_then(|path| {
            let length = path.length().min(BELOW);
            let fall = self.natural.elevation(path.first())? - self.natural.elevation(path.at(length))?;
            Some(Fall::ratio((fall / length).max(0.0)))
        });
        outlet.run = run;
        outlet.cover = asked.cover;
        outlet.below = natural_fall.and_then(|fall| Run::of(section, sized.flow, fall, asked.cover));
        let edge = |along: f64, across: f64| {
            place.centre + place.outward * (place.length * along / 2.0) + place.flow * (place.breadth * across / 2.0)
        };
        // The lip runs as the wall's line does, so that the water leaves to its right.
        let last = place.outward.cross(place.flow) < 0.0;
        let (from, to) = if last { (-1.0, 1.0) } else { (1.0, -1.0) };
        let lip = Polyline::new(vec![edge(from, 1.0), edge(to, 1.0)]).unwrap_or_else(|| self.line.clone());
        let beyond = |along: f64| {
            let out = (place.centre - end).dot(place.outward) + place.length * along / 2.0;
            Station::metres(if last { self.line.length() + out } else { -out })
        };
        let spillway = Spillway {
            from: beyond(from),
            to: beyond(to),
            sill: Elevation::metres(self.full),
            sill_length: sized.length,
            sill_breadth: asked.sill_breadth,
            head: sized.head,
            flow: Some(sized.flow),
            coefficient: weir::Coefficient::default().value(),
            lip,
            strip: Polygon::simple(vec![edge(from, 1.0), edge(to, 1.0), edge(to, -1.0), edge(from, -1.0)]),
            ground_above_sill: (Length::metres(above.1), Length::metres(above.0)),
            on_fill: above.0 < -FILL_LIMIT,
            exit,
            exit_fall: asked.exit_fall,
            natural_exit_fall: natural_fall.unwrap_or(Fall::ratio(0.0)),
            outlet: Some(outlet),
        };
        self.tell(asked, &spillway, notes);
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
        };
        let last = end == ends[1].0;
        // Out of the water, across the sill.
        let flow: Vector = if last { along.left() * -1.0 } else { along.left() };
        let length = sized.length.in_metres();
        let mut place = Place {
            works: self.subject(),
            frame: &self.ground.frame,
            natural: self.natural,
            fills: self.fill,
            in_water,
            centre: end,
            outward: along,
            flow,
            level: self.full,
            length,
            breadth: asked.sill_breadth.in_metres(),
            batter: asked.batter.in_horizontal_per_vertical(),
            approach_fall: asked.approach_fall.in_ratio(),
            exit_fall: asked.exit_fall.in_ratio(),
            depth: 0.0,
        };
        let off =
            || WorksError::PlaceOffSurvey { works: self.subject(), what: "part of its spillway's sill".to_owned() };
        let too_near = |centre: Point, clear: f64| {
            let (easting, northing) = self.ground.frame.to_frame(centre);
            WorksError::SpillwayTooNear { works: self.subject(), clear, kept: CLEAR, easting, northing }
        };
        if let SpillwayPlace::Through(centre) = asked.at {
            place.centre = centre;
            let clear = place.clear_at_sill().ok_or_else(off)?;
            if clear < CLEAR {
                return Err(too_near(centre, clear));
            }
            return Ok((end, place));
        }
        let mut out = CLEAR + further;
        loop {
            place.centre = end + along * (out + length / 2.0);
            if place.clear_at_sill().ok_or_else(off)? >= CLEAR + further {
                return Ok((end, place));
            }
            out += STEP;
            if out > FARTHEST {
                return Err(too_near(place.centre, place.clear_at_sill().unwrap_or(0.0)));
            }
        }
    }

    /// Least and greatest natural ground over the sill; refused where part of it would stand on fill that no engineer lines.
    fn on_natural_ground(&self, asked: &SpillwayWanted, place: &Place<'_>) -> Result<(f64, f64), WorksError> {
        let off =
            || WorksError::PlaceOffSurvey { works: self.subject(), what: "part of its spillway's sill".to_owned() };
        let above = place.above_sill().ok_or_else(off)?;
        if above.0 < -FILL_LIMIT && !asked.lined_by_engineer {
            let (easting, northing) = self.ground.frame.to_frame(place.centre);
            return Err(WorksError::SillOnFill {
                works: self.subject(),
                sill: self.full,
                below: -above.0,
                easting,
                northing,
            });
        }
        Ok(above)
    }

    /// Natural ground between wall and spillway stands at the crest, or a flood runs there too.
    fn ridge(&self, end: Point, place: &Place<'_>) -> Result<(), WorksError> {
        let off = || WorksError::PlaceOffSurvey {
            works: self.subject(),
            what: "the ground between it and its spillway".to_owned(),
        };
        let (found, place) = place.ridge(end).ok_or_else(off)?;
        if found < self.crest - AT_CREST {
            let (easting, northing) = self.ground.frame.to_frame(place);
            return Err(WorksError::LowRidge { works: self.subject(), crest: self.crest, found, easting, northing });
        }
        Ok(())
    }

    fn tell(&self, asked: &SpillwayWanted, spillway: &Spillway, notes: &mut Vec<Note>) {
        let works = self.subject();
        let Some(outlet) = &spillway.outlet else { return };
        let place =
            || NotePlace::Station { works: self.wanted.name.clone(), station_m: spillway.from.in_metres().max(0.0) };
        let clear =
            |length: Option<Length>| length.map_or_else(String::new, |clear| format!(" {:.1} m", clear.in_metres()));
        notes.push(at(self.ground, outlet.axis.last(), Note::new("works::spillway-cut", format!(
            "{works}: its spillway is cut into natural ground, {:.2} m wide and up to {:.2} m deep, {:.0} m3 in the bank: {:.1} m of approach, {:.2} m of level sill at {:.3} m, {:.1} m of channel; the cut keeps{} from fill, the water below it{}",
            outlet.width.in_metres(),
            outlet.deepest.in_metres(),
            outlet.bank.in_cubic_metres(),
            outlet.sill.0,
            spillway.sill_breadth.in_metres(),
            spillway.sill.in_metres(),
            outlet.axis.length() - outlet.sill.1,
            clear(outlet.clear),
            clear(outlet.clear_water)
        ))));
        if let Some(rise) = self.wanted.flood_rise.filter(|rise| (*rise - spillway.head).in_metres() > AGREE) {
            notes.push(Note::new("works::rise-over-head", format!(
                "{works}: its flood-rise is {:.3} m and its spillway needs {:.3} m for its flow: the crest keeps to the flood-rise, {:.3} m higher than this flow asks",
                rise.in_metres(),
                spillway.head.in_metres(),
                (rise - spillway.head).in_metres()
            )));
        }
        if spillway.on_fill {
            notes.push(Note::new("works::sill-on-fill", format!(
                "{works}: natural ground lies up to {:.2} m below the sill of its spillway. That part stands on fill, which the engineer's lined design says how to build; it is no part of this drawing",
                -spillway.ground_above_sill.1.in_metres()
            )).at(place()));
        }
        for mut note in
            weir::notes(spillway.sill_length, spillway.head, spillway.sill_breadth, weir::Coefficient::default())
        {
            note.text = format!("{works}: {}", note.text);
            notes.push(note.at(place()));
        }
        self.tell_flow(asked, spillway, outlet, notes);
    }

    /// How the water runs in the channel and below it, and what would mend it.
    fn tell_flow(&self, asked: &SpillwayWanted, spillway: &Spillway, outlet: &Outlet, notes: &mut Vec<Note>) {
        let (works, cover) = (self.subject(), asked.cover.name());
        let (Some(run), Some(flow)) = (outlet.run, spillway.flow) else { return };
        let section = Trapezoid { bottom: outlet.width, batter: outlet.batter };
        let bears = |limit: Option<f64>| {
            limit.map_or_else(
                || format!("{cover} is not for falls over 10 %"),
                |limit| format!("{cover} bears {limit:.2} m/s"),
            )
        };
        let wider = |fall: Fall| {
            width_for(flow, fall, outlet.batter, asked.cover)
                .map_or_else(String::new, |width| format!("a sill and channel {:.1} m wide", width.in_metres()))
        };
        notes.push(Note::new("works::channel-flow", format!(
            "{works}: {:.3} m3/s run down the spillway's channel at {:.2} % up to {:.2} m deep and up to {:.2} m/s fast; {}",
            flow.in_cubic_metres_per_second(),
            asked.exit_fall.in_percent(),
            run.depth.in_metres(),
            run.speed,
            bears(run.permissible)
        )));
        if run.too_fast() {
            let gentler = fall_for_speed(section, flow, asked.cover)
                .map(|fall| format!("an exit-fall of {:.1} %", fall.in_percent()))
                .unwrap_or_default();
            let mends: Vec<String> =
                [gentler, wider(asked.exit_fall)].into_iter().filter(|mend| !mend.is_empty()).collect();
            notes.push(Note::new("works::channel-too-fast", format!(
                "{works}: the water in the spillway's channel runs {:.2} m/s, and {}: it washes out; {} would slow it, or a stronger cover",
                run.speed,
                bears(run.permissible),
                if mends.is_empty() { "a wider and flatter channel".to_owned() } else { mends.join(" or ") }
            )).at(NotePlace::Station { works: self.wanted.name.clone(), station_m: spillway.from.in_metres().max(0.0) }));
        }
        if run.energy > spillway.head {
            let steeper = fall_for_head(section, flow, spillway.head, asked.cover).map_or_else(
                || "a wider one".to_owned(),
                |fall| format!("an exit-fall of {:.1} % or a wider one", fall.in_percent()),
            );
            notes.push(Note::new("works::channel-holds-back", format!(
                "{works}: the spillway's channel holds the water up: at {:.2} % it needs {:.2} m over its floor for the flow, more than the {:.2} m over the sill that the crest counts on, so the flood stands higher than the weir formula says; {steeper} lets it go",
                asked.exit_fall.in_percent(),
                run.energy.in_metres(),
                spillway.head.in_metres()
            )));
        }
        if let Some(below) = outlet.below.filter(|below| below.too_fast()) {
            let fall = spillway.natural_exit_fall;
            let wide = wider(fall);
            notes.push(at(self.ground, outlet.axis.last(), Note::new("works::outlet-too-fast", format!(
                "{works}: below the channel natural ground falls {:.1} %, where the same water {} wide runs {:.2} m/s, and {}: it cuts back into the channel; spread it, line it or bring it down in steps{}",
                fall.in_percent(),
                format_args!("{:.1} m", outlet.width.in_metres()),
                below.speed,
                bears(below.permissible),
                if wide.is_empty() { String::new() } else { format!("; {wide} would slow it") }
            ))));
        }
    }
}
