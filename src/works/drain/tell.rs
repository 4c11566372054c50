//! What is to be told of a drain: its section, what it carries and how fast, where its water goes, and where the ground is not
//! what its even fall asks for.

use super::{Alarm, Drain, Ending, FlowWanted, Solved, Through};
use crate::ground::Ground;
use crate::notes::{Note, Place};
use crate::water::channel::{Cover, Run, fall_for_speed};
use crate::works::limits::{FLAT_BED, LEAST_BATTER, SLIDES, STEEP};
use crate::works::line::at;
use crate::works::tell::deep_face;
use crate::works::wanted::ChannelShape;
use crate::works::work::{Kind, Subject};

/// Ground over a bed that is this much less than its depth is as deep as meant, metres.
const AS_MEANT: f64 = 0.02;

pub(super) fn drain(ground: &Ground, drain: &Drain, shape: ChannelShape, moved: [f64; 2], notes: &mut Vec<Note>) {
    let teller = Teller { ground, drain, works: Subject::new(Kind::Drain, drain.name()) };
    teller.section(shape, moved, notes);
    teller.flow(notes);
    teller.catchment(notes);
    teller.ends(notes);
    teller.shallow(notes);
    teller.slopes(notes);
    teller.folds(notes);
    teller.flat(notes);
    teller.batters(notes);
    teller.through(notes);
    deep_face(&teller.works, drain.deepest_face, notes);
}

struct Teller<'a> {
    ground: &'a Ground,
    drain: &'a Drain,
    works: Subject,
}

fn bears(cover: Cover, limit: Option<f64>) -> String {
    let cover = cover.name();
    limit.map_or_else(|| format!("{cover} is not for falls over 10 %"), |limit| format!("{cover} bears {limit:.2} m/s"))
}

impl Teller<'_> {
    fn station(&self, station: f64) -> Place {
        Place::Station { works: self.works.name.clone(), station_m: station }
    }

    fn section(&self, shape: ChannelShape, moved: [f64; 2], notes: &mut Vec<Note>) {
        let (drain, works) = (self.drain, &self.works);
        let (from, to) = drain.bed;
        let width = match shape {
            ChannelShape::Trapezoid { .. } => format!(", {:.2} m wide at the bed", drain.sizes.width.in_metres()),
            ChannelShape::Triangle => String::new(),
            ChannelShape::Parabola { .. } => {
                format!(", {:.2} m wide at the line's level", drain.sizes.width.in_metres())
            }
        };
        let solved = match drain.wanted.to_carry {
            None => "",
            Some(Solved::Depth) => " (the depth found for its flow)",
            Some(Solved::Width) => " (the width found for its flow)",
        };
        let levels = [from, to].map(|station| drain.bed_at(station.in_metres()).in_metres());
        notes.push(Note::new("works::drain", format!(
            "{works}: a {}{width}, its bed {:.2} m below the line{solved}, falls {:.2} % from {:.3} m at station {:.1} m to {:.3} m at {:.1} m",
            shape.name(),
            drain.sizes.depth.in_metres(),
            drain.line.fall.in_percent(),
            levels[0],
            from.in_metres(),
            levels[1],
            to.in_metres(),
        )));
        for (moved, station, end) in [(moved[0], from, "begins"), (moved[1], to, "ends")] {
            if moved > 0.0 {
                notes.push(Note::new("works::end-moved-back", format!(
                    "{works}: its bed {end} {moved:.1} m from that end of its line, so that its section stands on surveyed ground"
                )).at(self.station(station.in_metres())));
            }
        }
    }

    /// What it carries, how deep and how fast, and what would mend it.
    fn flow(&self, notes: &mut Vec<Note>) {
        let (drain, works) = (self.drain, &self.works);
        let (carries, wanted) = (&drain.carries, &drain.wanted);
        let cover = wanted.cover;
        let freeboard = wanted.freeboard.in_metres();
        let fall = drain.line.fall.in_percent();
        let capacity = carries.capacity.in_cubic_metres_per_second();
        let (smooth, rough) = cover.roughness();
        let Some(run) = carries.run else {
            notes.push(Note::new("works::drain-too-small", format!(
                "{works}: natural ground at its downhill lip stands {:.2} m over its bed, which leaves nothing under a freeboard of {freeboard:.2} m: it carries nothing; make it deeper, or its freeboard less",
                carries.bank.in_metres()
            )));
            return;
        };
        let asked = if carries.flow.is_some() { "the flow asked for" } else { "as much as it carries" };
        notes.push(Note::new("works::drain-flow", format!(
            "{works}: with {freeboard:.2} m of freeboard under natural ground at its downhill lip it carries {capacity:.3} m3/s at {fall:.2} % (Manning's n {rough:.3}); {:.3} m3/s, {asked}, run up to {:.2} m deep and up to {:.2} m/s fast (n {smooth:.3}); {}",
            carries.runs().in_cubic_metres_per_second(),
            run.depth.in_metres(),
            run.speed,
            bears(cover, run.permissible)
        )));
        if carries.enough() == Some(false) {
            let flow = carries.runs().in_cubic_metres_per_second();
            let left = (carries.bank - run.depth).in_metres();
            let over = if left < 0.0 {
                format!("{:.2} m over that ground", -left)
            } else {
                format!("{left:.2} m under it and not {freeboard:.2} m")
            };
            notes.push(Note::new("works::drain-too-small", format!(
                "{works}: it is too small: it carries {capacity:.3} m3/s of the {flow:.3} m3/s asked for; they would stand {:.2} m over its bed, {over}; `depth = \"to-carry\"` or `bottom-width = \"to-carry\"` finds the size that carries them",
                run.depth.in_metres()
            )));
        }
        if run.too_fast() {
            let gentler = fall_for_speed(carries.section, carries.runs(), cover).map_or_else(
                || "less fall, a wider bed or a stronger cover".to_owned(),
                |fall| {
                    format!(
                        "a fall of {:.1} % or less, a wider and shallower bed, or a stronger cover",
                        fall.in_percent()
                    )
                },
            );
            notes.push(Note::new(
                "works::drain-too-fast",
                format!(
                    "{works}: its water runs {:.2} m/s, and {}: it washes out; {gentler} would slow it",
                    run.speed,
                    bears(cover, run.permissible)
                ),
            ));
        } else if let Some(bare) = carries.bare.filter(|bare| bare.too_fast()) {
            notes.push(Note::new("works::drain-bare", format!(
                "{works}: until its {} stands the same water runs {:.2} m/s over bare earth, and {}: sow it and keep water out until it stands, or line it",
                cover.name(),
                bare.speed,
                bears(Cover::Bare, bare.permissible)
            )));
        }
    }

    /// The ground that drains to it beside what is counted on.
    fn catchment(&self, notes: &mut Vec<Note>) {
        let (drain, works) = (self.drain, &self.works);
        let surveyed = drain.catchment.area;
        let open = if drain.catchment.open >= 1.0 {
            format!("; over {:.0} m of the edge of the survey more may come in", drain.catchment.open)
        } else {
            String::new()
        };
        let Some(storm) = &drain.carries.storm else {
            notes.push(Note::new("works::drain-catches", format!(
                "{works}: {surveyed:.0} m2 of surveyed ground drain to its line, by steepest descent over the triangles{open}"
            )));
            return;
        };
        let said = match &drain.wanted.flow {
            Some(FlowWanted::Storm { catchment, .. }) => *catchment,
            _ => None,
        };
        let place = self.station(0.0);
        for mut note in storm.notes() {
            note.text = if note.code == "water::storm" && said.is_none() {
                format!(
                    "{works}: {}: rain and coefficient as you state them, the catchment is the surveyed ground that drains to its line{open}; the intensity must be that of a rain as long as the catchment takes to answer. A larger storm stands higher",
                    storm.in_words()
                )
            } else {
                format!("{works}: {}", note.text)
            };
            notes.push(note.at(place.clone()));
        }
        if let Some(said) = said.filter(|said| said.in_square_metres() < surveyed) {
            notes.push(Note::new("works::drain-catches-more", format!(
                "{works}: {surveyed:.0} m2 of surveyed ground drain to its line, more than the {:.0} m2 that its storm is counted on{open}",
                said.in_square_metres()
            )).at(place));
        }
    }

    fn ends(&self, notes: &mut Vec<Note>) {
        let (drain, works, wanted) = (self.drain, &self.works, &self.drain.wanted);
        let out = drain.run_out.as_ref().map_or_else(String::new, |out| {
            format!(
                "its bed runs out {:.1} m down the slope, {:.2} m wide at {:.2} %",
                out.axis.length(),
                out.width.in_metres(),
                drain.line.fall.in_percent()
            )
        });
        let end = drain.run_out.as_ref().map_or(drain.bed_axis.last(), |out| out.axis.last());
        let along = if out.is_empty() { "it ends".to_owned() } else { format!("{out} and ends") };
        match &drain.ending {
            Ending::Ground { at: place, fall, run } => {
                let runs = run.map_or_else(String::new, |run: Run| {
                    format!(
                        ", where its water as wide as the floor runs {:.2} m/s, and {}",
                        run.speed,
                        bears(wanted.cover, run.permissible)
                    )
                });
                notes.push(at(self.ground, *place, Note::new("works::drain-ends", format!(
                    "{works}: {along} on natural ground that falls {:.1} %{runs}; keep the way below grassed, undug and yours as far as the water runs",
                    fall.in_percent()
                ))));
                if run.is_some_and(Run::too_fast) {
                    notes.push(at(self.ground, *place, Note::new("works::outlet-too-fast", format!(
                        "{works}: below its end the water cuts back into it: spread it over a level sill, line the way, or bring it down in steps"
                    ))));
                }
                if fall.in_ratio() < 1e-3 {
                    notes.push(at(
                        self.ground,
                        *place,
                        Note::new(
                            "works::drain-ends-flat",
                            format!(
                                "{works}: the ground below its end falls {:.2} %: its water stands or spreads there",
                                fall.in_percent()
                            ),
                        ),
                    ));
                }
            }
            Ending::Edge { at: place, known, edge } => {
                notes.push(at(self.ground, *place, Note::new("works::drain-ends-at-edge", format!(
                    "{works}: {along} on natural ground, but {edge} comes {:.1} m below that end: how that ground falls and where the water goes from there is not known; survey on down the slope before it is dug",
                    known.in_metres()
                ))));
            }
            Ending::Into { works: into, stands, below, .. } => {
                let stands = match stands.map(crate::units::Length::in_metres) {
                    Some(over) if over > 0.0 => {
                        format!("; full, the water there stands {over:.2} m over the end of its bed and back into it")
                    }
                    Some(under) => format!("; full, the water there stands {:.2} m below the end of its bed", -under),
                    None => String::new(),
                };
                let on = if stands.is_empty() {
                    "that work must lead this water on too"
                } else {
                    "that work's own spillway must let this water out too"
                };
                let deeper = if below.in_metres() > AS_MEANT {
                    format!(
                        ", {:.2} m below what is dug there, so that its last stretch holds water",
                        below.in_metres()
                    )
                } else {
                    String::new()
                };
                notes.push(at(
                    self.ground,
                    end,
                    Note::new("works::drain-ends", format!("{works}: {along} in `{into}`{deeper}{stands}; {on}")),
                ));
                if let Some(Alarm::DropsInto(_, drop)) =
                    drain.alarms().into_iter().find(|alarm| matches!(alarm, Alarm::DropsInto(..)))
                {
                    notes.push(at(self.ground, end, Note::new("works::drain-drops", format!(
                        "{works}: while `{into}` is empty its water drops {:.2} m down the side of that, and eats back into bed and side: line the side, or bring it down at a slope that its cover bears",
                        drop.in_metres()
                    ))));
                }
            }
            Ending::Hole { below, at_rim } => {
                let why = if *at_rim {
                    "the survey ends before the ground lies at the floor of a run-out: survey farther down, or end it farther from the edge"
                } else {
                    "no way down is found on which the ground comes to lie at its floor: lead it to lower ground or into a work, or make it shallower"
                };
                notes.push(at(self.ground, end, Note::new("works::drain-ends-in-a-hole", format!(
                    "{works}: at its end the bed lies {:.2} m below the ground, and {why}; as drawn its water stands there until it runs over",
                    below.in_metres()
                ))));
            }
        }
    }

    /// Where natural ground at the lip is lower than its even fall asks for, against the water.
    fn shallow(&self, notes: &mut Vec<Note>) {
        let (drain, works) = (self.drain, &self.works);
        let (least, station) = drain.shallowest;
        let (least, meant) = (least.in_metres(), drain.carries.bank.in_metres());
        let Some(run) = drain.carries.run.filter(|_| least < meant - AS_MEANT) else { return };
        let deep = run.depth.in_metres();
        let kept = drain.wanted.freeboard.in_metres();
        if deep + kept <= least + 1e-6 {
            return;
        }
        let held = match (&drain.berm, deep > least) {
            (_, false) => format!(
                "the water at {deep:.2} m stays in it, with {:.2} m and not {kept:.2} m of freeboard",
                least - deep
            ),
            (Some(_), true) => format!(
                "the water stands {deep:.2} m deep and against its berm there, which must be placed in layers as a bank that holds water"
            ),
            (None, true) => format!("the water stands {deep:.2} m deep and runs over its downhill side there"),
        };
        notes.push(Note::new("works::drain-shallow", format!(
            "{works}: where the ground lies below its even fall its downhill lip is {least:.2} m over the bed, not {meant:.2} m: {held}"
        )).at(self.station(station.in_metres())));
    }

    fn slopes(&self, notes: &mut Vec<Note>) {
        let (drain, works) = (self.drain, &self.works);
        let (steepest, station) = drain.steepest;
        if steepest.in_ratio() > STEEP {
            let slide = if steepest.in_ratio() > SLIDES {
                "; water led into such a slope can start a slide: ask for geotechnical advice first"
            } else {
                ""
            };
            notes.push(Note::new("works::steep-ground", format!(
                "{works}: natural ground falls up to {:.1} % across the line, where contour works are unusual{slide}",
                steepest.in_percent()
            )).at(self.station(station.in_metres())));
        }
        if let Some((first, last)) = drain.turned_about {
            let (first, last) = (first.in_metres(), last.in_metres());
            let what = if drain.berm.is_some() {
                "its berm stands on the uphill side there, where it dams what should run in"
            } else {
                "its uphill side is the other one there"
            };
            notes.push(Note::new("works::drain-turned-about", format!(
                "{works}: between stations {first:.0} and {last:.0} m the ground rises to the side that is downhill along most of the line: {what}; end the line before, or lead it another way"
            )).at(self.station(first)));
        }
    }

    /// Where it crosses folds of the ground in which water runs already.
    fn folds(&self, notes: &mut Vec<Note>) {
        let (drain, works) = (self.drain, &self.works);
        let Some(&first) = drain.folds.first() else { return };
        let stations: Vec<String> = drain.folds.iter().map(|at| format!("{:.0}", at.in_metres())).collect();
        let what = if drain.berm.is_some() { "its berm dams what runs there" } else { "what runs there falls into it" };
        notes.push(Note::new("works::drain-across-gully", format!(
            "{works}: at stations {} m it crosses a breakline to which the ground falls from both sides: {what}, beside the flow it is asked to carry; end it there, or lead that water through on purpose",
            stations.join(", ")
        )).at(self.station(first.in_metres())));
    }

    fn flat(&self, notes: &mut Vec<Note>) {
        let (fall, works) = (self.drain.line.fall, &self.works);
        if fall.in_ratio() < FLAT_BED {
            notes.push(Note::new("works::drain-flat", format!(
                "{works}: its bed falls {:.2} %, {:.0} mm in 10 m: a machine hardly builds that falling all the way, and it silts up; {:.1} % or more is usual",
                fall.in_percent(),
                10_000.0 * fall.in_ratio(),
                100.0 * FLAT_BED
            )));
        }
    }

    fn batters(&self, notes: &mut Vec<Note>) {
        let (drain, works) = (self.drain, &self.works);
        for (what, batter) in drain.steep_sides() {
            notes.push(Note::new("works::steep-batter", format!(
                "{works}: its {what}: {:.2} horizontal to 1 vertical is steeper than {LEAST_BATTER}:1, and soil that is unproven may slump on it",
                batter.in_horizontal_per_vertical()
            )));
        }
    }

    /// The earlier works that it runs through.
    fn through(&self, notes: &mut Vec<Note>) {
        for Through { works, first, last } in &self.drain.through {
            let (first, last) = (first.in_metres(), last.in_metres());
            notes.push(Note::new("works::drain-through-work", format!(
                "{}: its bed runs through {works}, first at station {first:.1} m and last at {last:.1} m: their water is one there; lead it round, or end it there",
                self.works
            )).at(self.station(first)));
        }
    }
}
