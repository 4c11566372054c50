//! A spillway that is cut through natural ground, as designed and as told: of a dam beside its wall, of a pond beside its
//! rim. Where it stands is for its work to say; the cut is [`super::outlet`]'s.
//!
//! Invariant: part of a sill that would stand on fill is refused, unless an engineer's lined design is declared.

use super::WorksError;
use super::below::way_below;
use super::line::at;
use super::outlet::{self, Place};
use super::plan::{Outlet, Spillway};
use super::spillway::{FILL_LIMIT, Sized, tell_storm};
use super::wanted::SpillwayWanted;
use super::work::Subject;
use crate::geom::{Polygon, Polyline};
use crate::ground::Ground;
use crate::notes::{Note, Place as NotePlace};
use crate::surface::{Drainage, Locator};
use crate::units::{Elevation, Fall, Length, Station};
use crate::water::channel::{Approach, Run, Trapezoid, fall_for_head, fall_for_speed, width_for};
use crate::water::weir;

/// A loss less than this is called little, metres; common practice, no source.
const LITTLE: f64 = 0.01;
/// Natural ground below a channel counts over this length, metres.
const NEAR: f64 = 10.0;

/// What is asked of a spillway, and the ground that it is cut through.
pub(super) struct Outflow<'a> {
    pub works: Subject,
    pub ground: &'a Ground,
    pub natural: &'a Locator<'a>,
    pub asked: &'a SpillwayWanted,
    /// Fall of its channel.
    pub exit_fall: Fall,
    pub sized: Sized,
}

/// Where a sill stands along the line of its work.
pub(super) struct Along {
    /// The lip runs as the sill's outward direction does, else against it.
    pub outward: bool,
    /// Stations of its two ends, in order.
    pub from: f64,
    pub to: f64,
}

impl Outflow<'_> {
    const fn section(&self) -> Trapezoid {
        Trapezoid { bottom: self.sized.length, batter: self.asked.batter }
    }

    /// How the design flow runs in the channel.
    pub(super) fn run(&self) -> Option<Run> {
        Run::of(self.section(), self.sized.flow, self.exit_fall, self.asked.cover)
    }

    /// Least and greatest natural ground over the sill; refused where part of it would stand on fill that no engineer lines.
    pub(super) fn on_natural_ground(&self, place: &Place<'_>) -> Result<(f64, f64), WorksError> {
        let above = place.above_sill().ok_or_else(|| place.sill_off_survey())?;
        if above.0 < -FILL_LIMIT && !self.asked.lined_by_engineer {
            let (easting, northing) = self.ground.frame.to_frame(place.centre);
            return Err(WorksError::SillOnFill {
                works: self.works.clone(),
                sill: place.level,
                below: -above.0,
                easting,
                northing,
            });
        }
        Ok(above)
    }

    /// The spillway as designed, from its place and its cut; `above` is least and greatest natural ground over the sill.
    pub(super) fn designed(&self, place: &Place<'_>, mut outlet: Outlet, above: (f64, f64), along: &Along) -> Spillway {
        let exit = way_below(&Drainage::new(self.natural), outlet.axis.last(), outlet::BELOW).path;
        let natural_fall = exit.as_ref().and_then(|path| {
            let length = path.length().min(NEAR);
            let fall = self.natural.elevation(path.first())? - self.natural.elevation(path.at(length))?;
            Some(Fall::ratio((fall / length).max(0.0)))
        });
        outlet.run = self.run();
        outlet.cover = self.asked.cover;
        let (section, fall) = (self.section(), self.asked.approach_fall);
        let approach = Approach { section, fall, length: Length::metres(outlet.sill.0) };
        let (_, rough) = self.asked.cover.roughness();
        outlet.approach_loss = approach.loss(self.sized.flow, self.sized.head, rough);
        outlet.below = natural_fall.and_then(|fall| Run::of(self.section(), self.sized.flow, fall, self.asked.cover));
        let edge = |along: f64, across: f64| {
            place.centre + place.outward * (place.length * along / 2.0) + place.flow * (place.breadth * across / 2.0)
        };
        let (from, to) = if along.outward { (-1.0, 1.0) } else { (1.0, -1.0) };
        let lip = Polyline::new(vec![edge(from, 1.0), edge(to, 1.0)]).unwrap_or_else(|| outlet.axis.clone());
        Spillway {
            from: Station::metres(along.from),
            to: Station::metres(along.to),
            sill: Elevation::metres(place.level),
            sill_length: self.sized.length,
            sill_breadth: self.asked.sill_breadth,
            head: self.sized.head,
            flow: Some(self.sized.flow),
            together: None,
            coefficient: weir::Coefficient::default().value(),
            lip,
            strip: Polygon::simple(vec![edge(from, 1.0), edge(to, 1.0), edge(to, -1.0), edge(from, -1.0)]),
            ground_above_sill: (Length::metres(above.1), Length::metres(above.0)),
            on_fill: above.0 < -FILL_LIMIT,
            exit,
            exit_fall: self.exit_fall,
            natural_exit_fall: natural_fall.unwrap_or(Fall::ratio(0.0)),
            storm: self.asked.storm().cloned(),
            outlet: Some(outlet),
        }
    }

    fn place(&self, spillway: &Spillway) -> NotePlace {
        NotePlace::Station { works: self.works.name.clone(), station_m: spillway.from.in_metres().max(0.0) }
    }

    /// What is to be told of it, whatever it lets out.
    pub(super) fn tell(&self, spillway: &Spillway, notes: &mut Vec<Note>) {
        let works = &self.works;
        let Some(outlet) = &spillway.outlet else { return };
        let mut keeps: Vec<String> = Vec::new();
        keeps.extend(outlet.clear.map(|clear| format!("the cut keeps {:.1} m from fill", clear.in_metres())));
        keeps.extend(outlet.clear_water.map(|clear| format!("the water below it {:.1} m", clear.in_metres())));
        let keeps = if keeps.is_empty() { "no fill stands near it".to_owned() } else { keeps.join(", ") };
        notes.push(at(self.ground, outlet.axis.last(), Note::new("works::spillway-cut", format!(
            "{works}: its spillway is cut into natural ground, {:.2} m wide and up to {:.2} m deep, {:.0} m3 in the bank: {:.1} m of approach, {:.2} m of level sill at {:.3} m, {:.1} m of channel; {keeps}",
            outlet.width.in_metres(),
            outlet.deepest.in_metres(),
            outlet.bank.in_cubic_metres(),
            outlet.sill.0,
            spillway.sill_breadth.in_metres(),
            spillway.sill.in_metres(),
            outlet.axis.length() - outlet.sill.1,
        ))));
        let loss = outlet.approach_loss.in_metres();
        notes.push(Note::new("works::approach-loss", format!(
            "{works}: {:.1} m of approach take {loss:.3} m of the flood's height by friction (Manning's n {:.3}){}: the water stands {:.3} m over the sill's level before it",
            outlet.sill.0,
            self.asked.cover.roughness().1,
            if loss < LITTLE { ", which is little" } else { "" },
            spillway.head.in_metres() + loss
        )));
        tell_storm(works, spillway, &self.place(spillway), notes);
        if spillway.on_fill {
            notes.push(Note::new("works::sill-on-fill", format!(
                "{works}: natural ground lies up to {:.2} m below the sill of its spillway. That part stands on fill, which the engineer's lined design says how to build; it is no part of this drawing",
                -spillway.ground_above_sill.1.in_metres()
            )).at(self.place(spillway)));
        }
        for mut note in
            weir::notes(spillway.sill_length, spillway.head, spillway.sill_breadth, weir::Coefficient::default())
        {
            note.text = format!("{works}: {}", note.text);
            notes.push(note.at(self.place(spillway)));
        }
        self.tell_flow(spillway, outlet, notes);
    }

    /// How the water runs in the channel and below it, and what would mend it.
    fn tell_flow(&self, spillway: &Spillway, outlet: &Outlet, notes: &mut Vec<Note>) {
        let asked = self.asked;
        let (works, cover) = (&self.works, asked.cover.name());
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
            spillway.exit_fall.in_percent(),
            run.depth.in_metres(),
            run.speed,
            bears(run.permissible)
        )));
        if run.too_fast() {
            let gentler = fall_for_speed(section, flow, asked.cover)
                .map(|fall| format!("an exit-fall of {:.1} %", fall.in_percent()))
                .unwrap_or_default();
            let mends: Vec<String> =
                [gentler, wider(spillway.exit_fall)].into_iter().filter(|mend| !mend.is_empty()).collect();
            notes.push(Note::new("works::channel-too-fast", format!(
                "{works}: the water in the spillway's channel runs {:.2} m/s, and {}: it washes out; {} would slow it, or a stronger cover",
                run.speed,
                bears(run.permissible),
                if mends.is_empty() { "a wider and flatter channel".to_owned() } else { mends.join(" or ") }
            )).at(self.place(spillway)));
        }
        if run.energy > spillway.head {
            let steeper = fall_for_head(section, flow, spillway.head, asked.cover).map_or_else(
                || "a wider one".to_owned(),
                |fall| format!("an exit-fall of {:.1} % or a wider one", fall.in_percent()),
            );
            notes.push(Note::new("works::channel-holds-back", format!(
                "{works}: the spillway's channel holds the water up: at {:.2} % it needs {:.2} m over its floor for the flow, more than the {:.2} m over the sill that is counted on, so the flood stands higher than the weir formula says; {steeper} lets it go",
                spillway.exit_fall.in_percent(),
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
