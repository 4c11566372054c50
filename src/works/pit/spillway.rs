//! The spillway of a pond: a level sill on natural ground beside its rim, at the level where the pond stands full.
//!
//! The approach leads from the pond's side to the sill, the return channel on to where natural ground falls away from it;
//! both are found and cut as beside a wall. Invariant: the head over the sill and what the approach takes are no more than the lowest place of the rim
//! stands over the full level, so that the flood leaves over the sill and nowhere else; water leaves first over the sill.

use super::{Pit, PitWanted};
use crate::geom::{Point, Point3, Polygon};
use crate::ground::Ground;
use crate::notes::Note;
use crate::surface::{Locator, Tin, pool, standing_to};
use crate::units::{Area, Elevation, Fall, Length, Station, Volume};
use crate::water::channel::{Run, Trapezoid, fall_for_head};
use crate::works::WorksError;
use crate::works::apply::{Owner, on_surface, outline};
use crate::works::line::at;
use crate::works::outflow::{Along, Outflow};
use crate::works::outlet::{CLEAR, FURTHER, Place, TOWARDS, nearest};
use crate::works::spillway::{DEFAULT_HEAD, Sized, size};
use crate::works::wanted::{SpillwayPlace, SpillwayWanted};
use crate::works::work::Subject;

/// Undisturbed ground between the rim and the inner edge of the sill at the middle, at least, metres.
const LEAST_RIM: f64 = 1.0;
/// Steps in which the sill is moved out from the rim, and how far, metres.
const STEP: f64 = 0.25;
const FARTHEST: f64 = 60.0;
/// How often the last step is halved.
const HALVINGS: usize = 20;
/// Places across the sill's inner edge that are held clear of the rim.
const ACROSS: u32 = 8;
/// A way out this much off the sill is another, metres.
const AT_LEVEL: f64 = 0.005;
/// A pool that is measured so much below its sill leaves the sill dry, metres.
const DRY: f64 = 1e-6;
/// Head and rim that differ by less than this agree, metres.
const AGREE: f64 = 1e-6;

/// The size of a pond's sill.
pub(super) fn sized(wanted: &PitWanted) -> Result<Option<Sized>, WorksError> {
    let Some(asked) = &wanted.spillway else { return Ok(None) };
    let works = Subject::new(wanted.kind(), &wanted.name);
    size(asked, &works, Some(Length::metres(DEFAULT_HEAD))).map(Some)
}

/// What a spillway is cut beside.
pub(super) struct Rim<'a> {
    pub ground: &'a Ground,
    pub wanted: &'a PitWanted,
    pub asked: &'a SpillwayWanted,
    pub sized: Sized,
    /// Fill of earlier works.
    pub fills: &'a [Polygon],
}

impl Rim<'_> {
    fn subject(&self) -> Subject {
        Subject::new(self.wanted.kind(), &self.wanted.name)
    }

    fn off(&self, what: &str) -> WorksError {
        WorksError::PlaceOffSurvey { works: self.subject(), what: what.to_owned(), beyond: "off the survey".to_owned() }
    }

    fn outflow<'b>(&'b self, natural: &'b Locator<'b>, exit_fall: Fall) -> Outflow<'b> {
        let (works, ground, asked, sized) = (self.subject(), self.ground, self.asked, self.sized);
        Outflow { works, ground, natural, asked, exit_fall, sized }
    }

    /// The falls of the channel that are tried, the best first. Where none is said: the least that lets the flow go without holding
    /// it up over the sill, where the cover bears that; then the usual one, for ground that does not fall so far.
    fn falls(&self) -> Vec<Fall> {
        let (asked, sized) = (self.asked, self.sized);
        let usual = asked.exit_fall_or_usual();
        if asked.exit_fall.is_some() {
            return vec![usual];
        }
        let section = Trapezoid { bottom: sized.length, batter: asked.batter };
        let bears = |fall: &Fall| Run::of(section, sized.flow, *fall, asked.cover).is_some_and(|run| !run.too_fast());
        let free = fall_for_head(section, sized.flow, sized.head, asked.cover);
        free.filter(|fall| *fall > usual && bears(fall)).into_iter().chain([usual]).collect()
    }

    /// Cuts the spillway of a pond that is dug; the pond as it is then.
    pub(super) fn cut(&self, mut pit: Pit, dug: &Tin) -> Result<(Pit, Tin), WorksError> {
        let full = pit.water_level.in_metres();
        let (low, low_place) = (pit.storage.spill.in_metres(), pit.storage.spill_place);
        let fits_under_rim = |head: Length| {
            let (head, room) = (head.in_metres(), low - full);
            let (easting, northing) = self.ground.frame.to_frame(low_place);
            let (works, over) = (self.subject(), head > room + AGREE);
            if over { Err(WorksError::HeadOverRim { works, head, room, low, easting, northing }) } else { Ok(()) }
        };
        fits_under_rim(self.sized.head)?;
        let surface = Locator::new(dug);
        let shore = pool(dug, &pit.seeds, full).shore;
        let in_water = |place: Point| shore.iter().filter(|ring| crate::geom::contains(ring, place)).count() % 2 == 1;
        let dig = outline(&pit.cut_footprint);
        let owner = Owner { kind: self.wanted.kind(), name: &self.wanted.name, part: "spillway", ground: self.ground };
        let mut refused: Option<WorksError> = None;
        let mut found = None;
        let tries = self.falls().into_iter().flat_map(|fall| FURTHER.map(|further| (fall, further)));
        for (fall, further) in tries {
            let outflow = self.outflow(&surface, fall);
            let tried = self.stand(&pit, &surface, &dig, &in_water, further).and_then(|(mut place, station)| {
                place.depth = outflow.run().map_or(0.0, |run| run.depth.in_metres());
                place.exit_fall = fall.in_ratio();
                let above = outflow.on_natural_ground(&place)?;
                Ok((place.cut(dug, owner)?, place, station, above, fall))
            });
            match tried {
                Ok(cut) => {
                    found = Some(cut);
                    break;
                }
                // What stands in the way of the nearest place is told, not of the farthest.
                Err(
                    error @ (WorksError::NoWayOut { .. }
                    | WorksError::SillOnFill { .. }
                    | WorksError::PlaceOffSurvey { .. }),
                ) => {
                    refused.get_or_insert(error);
                }
                Err(error) => return Err(error),
            }
        }
        let Some(((outlet, tin), place, station, above, fall)) = found else {
            return Err(refused.unwrap_or_else(|| self.off("part of its spillway")));
        };
        let half = self.sized.length.in_metres() / 2.0;
        let along = Along { outward: true, from: station - half, to: station + half };
        let spillway = self.outflow(&surface, fall).designed(&place, outlet, above, &along);
        fits_under_rim(spillway.flood_rise())?;
        let held = standing_to(&tin, &pit.seeds, full - DRY);
        // Nowhere lower, and a little over the sill the water is in the channel. Where that leads into another work's
        // hollow, the way on to the edge of the survey is higher, and not asked for.
        let over = pool(&tin, &pit.seeds, full + AT_LEVEL).shore;
        let end = spillway.outlet.as_ref().map_or(spillway.lip.first(), |outlet| outlet.axis.last());
        let runs = over.iter().filter(|ring| crate::geom::contains(ring, end)).count() % 2 == 1;
        let at_sill = held.spill >= full - AT_LEVEL && runs;
        if !spillway.on_fill && !at_sill {
            let place = held.spill_place.map_or(spillway.lip.first(), Point3::plan);
            let (easting, northing) = self.ground.frame.to_frame(place);
            let (works, sill, found) = (self.subject(), full, held.spill);
            return Err(WorksError::SillNotReached { works, sill, found, easting, northing });
        }
        pit.low_rim = (Elevation::metres(low), low_place);
        pit.storage.volume = Volume::cubic_metres(held.volume);
        pit.storage.area = Area::square_metres(held.area);
        pit.storage.spill = Elevation::metres(if at_sill { full } else { held.spill });
        let at_lip = spillway.lip.at(spillway.lip.length() / 2.0);
        pit.storage.spill_place = held.spill_place.filter(|_| !at_sill).map_or(at_lip, Point3::plan);
        pit.storage.at_sill = at_sill;
        if let Some(outlet) = &spillway.outlet {
            if outlet.deepest > pit.deepest_face.0 {
                pit.deepest_face = (outlet.deepest, Station::metres(spillway.from.in_metres().max(0.0)));
            }
            pit.cut_footprint.extend(outlet.footprint.iter().cloned());
            pit.cut_footprint = outline(&pit.cut_footprint);
        }
        let surface = Locator::new(&tin);
        pit.daylight = pit.cut_footprint.iter().flat_map(|polygon| on_surface(polygon, &surface)).collect();
        drop(surface);
        pit.spillways = vec![spillway];
        Ok((pit, tin))
    }

    /// Where the sill stands, and the station of the rim that it stands beside: as near to the rim as leaves it whole.
    fn stand<'b>(
        &'b self,
        pit: &Pit,
        surface: &'b Locator<'b>,
        dig: &'b [Polygon],
        in_water: &'b dyn Fn(Point) -> bool,
        further: f64,
    ) -> Result<(Place<'b>, f64), WorksError> {
        let rim = &pit.rim;
        let station = match self.asked.at {
            SpillwayPlace::LowRim => rim.foot(pit.storage.spill_place).station,
            SpillwayPlace::Through(place) => rim.foot(place).station,
            SpillwayPlace::Station(station) if (0.0..=rim.length()).contains(&station.in_metres()) => {
                station.in_metres()
            }
            SpillwayPlace::Station(_) => {
                let why = "that station is not on its rim: see the stakes on the rim for their stations";
                return Err(WorksError::NoSpillwayThere { works: self.subject(), why });
            }
            SpillwayPlace::First | SpillwayPlace::Last => {
                let why = "a pond has no ends: say `{ rim = \"lowest\" }`, a station of its rim, or a place";
                return Err(WorksError::NoSpillwayThere { works: self.subject(), why });
            }
        };
        let length = self.sized.length.in_metres();
        let round = |station: f64| rim.at(station.rem_euclid(rim.length()));
        // The rim as a whole over the sill's length, the outside on its left.
        let chord = round(station + length / 2.0) - round(station - length / 2.0);
        let outward = if chord.length() > 1e-6 { chord.unit() } else { rim.direction(station) };
        let flow = outward.left();
        let breadth = self.asked.sill_breadth.in_metres();
        let mut place = Place {
            works: self.subject(),
            ground: self.ground,
            natural: surface,
            fills: self.fills,
            dig,
            bends: [TOWARDS, TOWARDS],
            in_water,
            centre: round(station),
            outward,
            flow,
            level: pit.water_level.in_metres(),
            length,
            breadth,
            batter: self.asked.batter.in_horizontal_per_vertical(),
            approach_fall: self.asked.approach_fall.in_ratio(),
            exit_fall: 0.0,
            depth: 0.0,
        };
        // The lip keeps clear of the dig as its channel does.
        let least = LEAST_RIM.max(CLEAR - breadth) + further;
        let clear = |out: f64| {
            let inner =
                |k: u32| round(station) + flow * out + outward * (length * (f64::from(k) / f64::from(ACROSS) - 0.5));
            (0..=ACROSS).all(|k| nearest(dig, inner(k)) >= least)
        };
        let mut out = 0.0;
        while !clear(out) {
            out += STEP;
            if out > FARTHEST {
                return Err(self.off("the ground outside its rim where its spillway would stand"));
            }
        }
        // Not on a whole step: what the cut holds and yields is to follow the depth of the pond without a jump.
        let (mut near, mut far) = ((out - STEP).max(0.0), out);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(near, far);
            *(if clear(middle) { &mut far } else { &mut near }) = middle;
        }
        place.centre = round(station) + flow * (far + breadth / 2.0);
        Ok((place, station))
    }

    /// What is to be told of the spillway of a pond.
    pub(super) fn tell(&self, pit: &Pit, surface: &Tin, notes: &mut Vec<Note>) {
        let Some(spillway) = pit.spillways.first() else { return };
        self.outflow(&Locator::new(surface), spillway.exit_fall).tell(spillway, notes);
        if self.asked.exit_fall.is_none() && spillway.exit_fall > self.asked.exit_fall_or_usual() {
            notes.push(Note::new("works::exit-fall", format!(
                "{}: no exit-fall is said; its channel falls {:.1} %, the least at which it does not hold the flood up over the sill",
                self.subject(),
                spillway.exit_fall.in_percent()
            )));
        }
        let (low, place) = pit.low_rim;
        notes.push(at(self.ground, place, Note::new("works::rim-over-flood", format!(
            "{}: the flood stands {:.2} m over the sill's level; the lowest place of its rim, {:.3} m, is {:.2} m above that",
            self.subject(),
            spillway.flood_rise().in_metres(),
            low.in_metres(),
            (low - pit.water_level - spillway.flood_rise()).in_metres()
        ))));
    }
}
