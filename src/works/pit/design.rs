//! The design of a pit: floor, sides, shelf and ramp on the surface, and the water in it.

use super::beside::{Search, TRIALS};
use super::bowl::{Piece, Step, bowl, pieces};
use super::shape::{Outline, clockwise_from, ground_under, outline};
use super::spillway::{self, Rim};
use super::{Pit, PitDepth, PitWanted, PitWater, Purpose, Ramp, RampWanted};
use crate::geom::{Point, Point3, Polygon, Polyline};
use crate::ground::Ground;
use crate::notes::{Note, Reporter};
use crate::surface::{ComposeError, Composed, Locator, Tin, dig, spill_from, standing_to};
use crate::units::{Area, Batter, Elevation, Length, Station, Volume};
use crate::works::apply::{Failed, Laid, Owner, lay, on_surface, outline as outline_of};
use crate::works::balance;
use crate::works::limits::{LEAST_BATTER, POND_SIDE, RAMP};
use crate::works::plan::Storage;
use crate::works::solve::{Found, Sought, find};
use crate::works::spillway::Sized;
use crate::works::strip::{Profile, Sense};
use crate::works::unsurveyed;
use crate::works::work::{SitePlan, Subject};
use crate::works::{Topsoil, WorksError, tell};

/// How near water and earth must come to what was asked for, as a share of it.
const NEAR: f64 = 1e-5;
/// How often a depth is sought anew for what its spillway's cut gives.
const ROUNDS: usize = 8;
/// Least and greatest depth that is tried, metres.
const DEPTHS: (f64, f64) = (0.1, 12.0);
/// Tried first, metres.
const FIRST: f64 = 2.0;
/// Sides go this far above the highest ground near the floor at first, metres; higher where that is too little.
const ABOVE: f64 = 1.0;
/// Sides end on whole steps of this, so that corners of a floor on whole steps stay exact, metres.
const WHOLE: f64 = 0.25;
/// How often the sides are made higher before they are said never to meet the ground.
const TRIES: usize = 6;
/// A shelf is level with what the water is to be within this, metres.
const SHELF_NEAR: f64 = 0.002;
/// How far a ramp reaches in over the floor, and past the ground, metres.
const RAMP_LAP: f64 = 1.0;
/// Steps along a ramp in which the ground is looked for, and the longest ramp, metres.
const RAMP_STEP: f64 = 0.5;
const RAMP_LONGEST: f64 = 200.0;

/// Designs one pit on the surface that earlier works leave, where it was said or at the best place beside a work.
pub(in crate::works) fn design(
    ground: &Ground,
    before: &Tin,
    plan: &SitePlan,
    wanted: &PitWanted,
    reporter: &dyn Reporter,
    notes: &mut Vec<Note>,
) -> Result<(Pit, Tin), WorksError> {
    let Some(beside) = &wanted.beside else { return design_there(ground, before, plan, wanted, reporter, notes) };
    let bank = to_yield(ground, plan, wanted)?;
    let search = Search { ground, before, plan, wanted, beside, bank };
    let found = search.find()?;
    let mut refused: Option<WorksError> = None;
    for (k, candidate) in found.candidates.iter().enumerate().take(TRIALS) {
        reporter.checkpoint()?;
        let asked = PitWanted { floor: candidate.floor.clone(), ..wanted.clone() };
        let mut told = Vec::new();
        match design_there(ground, before, plan, &asked, reporter, &mut told) {
            Ok((mut pit, tin)) if search.keeps(pit.rim.points()) => {
                let placed = found.placed(k, beside);
                notes.push(placed.note(&Subject::new(wanted.kind(), &wanted.name), &pit, ground));
                notes.extend(told);
                pit.placed = Some(placed);
                return Ok((pit, tin));
            }
            Ok(_) => {}
            Err(stopped @ WorksError::Cancelled(_)) => return Err(stopped),
            Err(error) => {
                refused.get_or_insert(error);
            }
        }
    }
    Err(refused.unwrap_or_else(|| search.too_near()))
}

/// Designs one pit whose floor is said.
fn design_there(
    ground: &Ground,
    before: &Tin,
    plan: &SitePlan,
    wanted: &PitWanted,
    reporter: &dyn Reporter,
    notes: &mut Vec<Note>,
) -> Result<(Pit, Tin), WorksError> {
    let site = Site::new(ground, before, plan, wanted)?;
    let subject = || site.subject();
    let made = match &wanted.depth {
        PitDepth::Floor(level) => site.let_out(site.at_floor(level.in_metres())?)?,
        PitDepth::Below(depth) => site.let_out(site.at_floor(site.lowest.0 - depth.in_metres())?)?,
        PitDepth::ToHold(volume) => {
            let volume = volume.in_cubic_metres();
            match site.solved(volume, &|(pit, _)| pit.storage.volume.in_cubic_metres(), reporter)? {
                Found::Design(made) => made,
                Found::Nothing { tried: depth, gave: held } => {
                    return Err(WorksError::CannotHold { works: subject(), wanted: volume, held, depth });
                }
            }
        }
        PitDepth::ToYield(_) | PitDepth::FillOf(_) => {
            let bank = to_yield(ground, plan, wanted)?;
            let topsoil = Topsoil::new(&ground.tin, before, wanted.topsoil);
            match site.solved(bank, &|(_, tin)| topsoil.bank_dug(tin), reporter)? {
                Found::Design(made) => made,
                Found::Nothing { tried: depth, gave: yielded } => {
                    return Err(WorksError::CannotYield { works: subject(), wanted: bank, yielded, depth });
                }
            }
        }
    };
    site.tell(&made, notes);
    Ok(made)
}

/// Bank earth under the topsoil that the pit is to yield.
fn to_yield(ground: &Ground, plan: &SitePlan, wanted: &PitWanted) -> Result<f64, WorksError> {
    let works = || Subject::new(wanted.kind(), &wanted.name);
    match &wanted.depth {
        PitDepth::ToYield(volume) => Ok(volume.in_cubic_metres()),
        PitDepth::FillOf(named) => {
            let Some(short) = balance::short_of(ground, plan, named) else {
                let earlier: Vec<&str> = plan.shared().map(|work| work.name).collect();
                let earlier = if earlier.is_empty() { "none".to_owned() } else { earlier.join(", ") };
                return Err(WorksError::NoEarlierWork { works: works(), named: named.clone(), earlier });
            };
            if short <= 0.0 {
                return Err(WorksError::NothingToYield { works: works(), named: named.clone() });
            }
            Ok(short)
        }
        PitDepth::Floor(_) | PitDepth::Below(_) | PitDepth::ToHold(_) => Ok(0.0),
    }
}

/// A pit and where it is to be dug.
struct Site<'a> {
    ground: &'a Ground,
    before: &'a Tin,
    wanted: &'a PitWanted,
    outline: Outline,
    floor: Polygon,
    pieces: Vec<Piece>,
    /// Lowest and highest ground under the floor.
    lowest: (f64, Point),
    highest: f64,
    /// Its sill, and the fill of earlier works that its spillway keeps clear of.
    sill: Option<Sized>,
    fills: Vec<Polygon>,
}

/// Dug so far.
struct Dug {
    tin: Tin,
    footprint: Vec<Polygon>,
    largest_difference: f64,
}

impl<'a> Site<'a> {
    fn new(ground: &'a Ground, before: &'a Tin, plan: &SitePlan, wanted: &'a PitWanted) -> Result<Self, WorksError> {
        let outline = outline(wanted)?;
        let floor = Polygon::simple(outline.corners.clone());
        let natural = Locator::new(before);
        let off = |bare: Option<Point>| WorksError::PlaceOffSurvey {
            works: Subject::new(wanted.kind(), &wanted.name),
            what: "part of its floor".to_owned(),
            beyond: unsurveyed::at(ground, bare.unwrap_or(floor.outer[0])),
        };
        let [lowest, highest] = ground_under(before, &natural, &floor).map_err(off)?;
        let pieces = pieces(outline.corners.clone(), outline.batters.clone());
        let sill = spillway::sized(wanted)?;
        let fills = plan.shared().flat_map(|work| work.fill_footprint).cloned().collect();
        Ok(Self { ground, before, wanted, outline, floor, pieces, lowest, highest: highest.0, sill, fills })
    }

    fn spillway(&self) -> Option<Rim<'_>> {
        let (asked, sized) = self.wanted.spillway.as_ref().zip(self.sill)?;
        Some(Rim { ground: self.ground, wanted: self.wanted, asked, sized, fills: &self.fills })
    }

    /// The pit with its spillway, where it has one.
    fn let_out(&self, (pit, tin): (Pit, Tin)) -> Result<(Pit, Tin), WorksError> {
        match self.spillway() {
            Some(rim) => rim.cut(pit, &tin),
            None => Ok((pit, tin)),
        }
    }

    /// The pit at the depth at which the whole of it, its spillway's cut and all, gives what is wanted. The depth is sought
    /// without the cut, since a trial may leave no place for it; then again less what the cut gives, until both agree.
    fn solved(
        &self,
        wanted: f64,
        gives: &dyn Fn(&(Pit, Tin)) -> f64,
        reporter: &dyn Reporter,
    ) -> Result<Found<(Pit, Tin)>, WorksError> {
        let (mut by_cut, mut guess, mut gave) = (0.0, FIRST, 0.0);
        for _ in 0..ROUNDS {
            let sought =
                Sought { wanted: (wanted - by_cut).max(wanted * NEAR), near: NEAR / 2.0, guess, range: DEPTHS };
            let found = find(sought, &mut |depth| {
                reporter.checkpoint()?;
                let made = self.at_floor(self.lowest.0 - depth)?;
                let gave = gives(&made);
                Ok::<_, WorksError>(((made, gave, depth), gave))
            })?;
            let (made, without, depth) = match found {
                Found::Design(made) => made,
                Found::Nothing { tried, gave } => return Ok(Found::Nothing { tried, gave: gave + by_cut }),
            };
            let whole = self.let_out(made)?;
            gave = gives(&whole);
            if (gave - wanted).abs() <= NEAR * wanted {
                return Ok(Found::Design(whole));
            }
            (by_cut, guess) = (gave - without, depth);
        }
        Ok(Found::Nothing { tried: guess, gave })
    }

    fn subject(&self) -> Subject {
        Subject::new(self.wanted.kind(), &self.wanted.name)
    }

    fn owner(&self, part: &'static str) -> Owner<'a> {
        Owner { kind: self.wanted.kind(), name: &self.wanted.name, part, ground: self.ground }
    }

    /// The whole pit with its floor at a level.
    fn at_floor(&self, floor: f64) -> Result<(Pit, Tin), WorksError> {
        let (lowest, place) = self.lowest;
        if lowest <= floor {
            let (easting, northing) = self.ground.frame.to_frame(place);
            let above = floor - lowest;
            return Err(WorksError::FloorAboveGround { works: self.subject(), level: floor, above, easting, northing });
        }
        let seeds: Vec<Point> = self.pieces.iter().map(Piece::middle).collect();
        let mut shelf: Option<f64> = None;
        let mut rounds = 0;
        let (dug, ramp, water, spill) = loop {
            let step = shelf
                .zip(self.wanted.shelf)
                .map(|(level, asked)| Step { rise: level - floor, width: asked.width.in_metres() });
            let mut dug = self.dig(floor, step)?;
            let ramp = self.wanted.ramp.map(|asked| self.dig_ramp(&mut dug, asked, floor)).transpose()?;
            let spill = self.way_out(&dug, &seeds);
            let water = self.water(floor, spill)?;
            let Some(asked) = self.wanted.shelf else { break (dug, ramp, water, spill) };
            let level = water - asked.below_water.in_metres();
            if level <= floor {
                let why = format!(
                    "is less than the shelf's {:.2} m above the floor at {floor:.3} m: dig deeper, or leave the shelf out",
                    asked.below_water.in_metres()
                );
                return Err(WorksError::WaterLevelOff { works: self.subject(), water_level: water, why });
            }
            // A shelf moves the rim outwards, and so the water that it lies under.
            rounds += 1;
            if shelf.is_some_and(|old| (old - level).abs() <= SHELF_NEAR) || rounds > 12 {
                break (dug, ramp, water, spill);
            }
            shelf = Some(level);
        };
        let Dug { tin, footprint, largest_difference } = dug;
        let cut_footprint = outline_of(&footprint);
        let held = standing_to(&tin, &seeds, water);
        let spill_place = spill.1.map_or(seeds[0], Point3::plan);
        let largest = cut_footprint.iter().max_by(|a, b| a.area().total_cmp(&b.area()));
        let rim = largest
            .and_then(|outline| clockwise_from(&outline.outer, self.floor.outer[0]))
            .ok_or_else(|| WorksError::BadFloor { works: self.subject(), why: "leaves no rim".to_owned() })?;
        let surface = Locator::new(&tin);
        let daylight = cut_footprint.iter().flat_map(|polygon| on_surface(polygon, &surface)).collect();
        drop(surface);
        let batter = |&b: &f64| Batter::horizontal_per_vertical(b);
        let pit = Pit {
            wanted: self.wanted.clone(),
            floor: self.floor.clone(),
            batters: self.outline.batters.iter().map(batter).collect(),
            floor_level: Elevation::metres(floor),
            depth: Length::metres(lowest - floor),
            water_level: Elevation::metres(water),
            deepest_face: self.deepest_face(&rim, floor),
            rim,
            ramp,
            shelf: shelf.map(Elevation::metres),
            storage: Storage {
                volume: Volume::cubic_metres(held.volume),
                area: Area::square_metres(held.area),
                spill: Elevation::metres(spill.0),
                spill_place,
                at_sill: false,
            },
            placed: None,
            low_rim: (Elevation::metres(spill.0), spill_place),
            spillways: Vec::new(),
            seeds,
            cut_footprint,
            daylight,
            largest_difference,
        };
        Ok((pit, tin))
    }

    /// Digs floor and sides; the sides are made higher until they meet the ground.
    fn dig(&self, floor: f64, step: Option<Step>) -> Result<Dug, WorksError> {
        let mut height = self.highest - floor + ABOVE;
        for attempt in 0.. {
            let whole = (height / WHOLE).ceil() * WHOLE;
            let height_now = step.map_or(whole, |step| whole.max(step.rise + ABOVE));
            match self.dig_once(floor, step, height_now) {
                Err(Failed::Compose(ComposeError::RoofTooShort { .. })) if attempt < TRIES => height *= 1.6,
                Err(failed) => return Err(failed.told(self.owner("dig"))),
                Ok(dug) => return Ok(dug),
            }
        }
        unreachable!("the last attempt returns")
    }

    fn dig_once(&self, floor: f64, step: Option<Step>, height: f64) -> Result<Dug, Failed> {
        let mut tin: Option<Tin> = None;
        let (mut footprint, mut largest) = (Vec::new(), 0.0_f64);
        for piece in &self.pieces {
            let bowl = bowl(piece, floor, step, height)?;
            let seeds: Vec<Point> = piece.corners.iter().copied().chain([piece.middle()]).collect();
            let Composed { tin: after, footprint: new, largest_difference, .. } =
                dig(tin.as_ref().unwrap_or(self.before), &bowl, &seeds)?;
            footprint.extend(new);
            largest = largest.max(largest_difference);
            tin = Some(after);
        }
        let tin = tin.unwrap_or_else(|| self.before.clone());
        Ok(Dug { tin, footprint, largest_difference: largest })
    }

    /// Digs a ramp from the floor outwards through the middle of a side.
    fn dig_ramp(&self, dug: &mut Dug, asked: RampWanted, floor: f64) -> Result<Ramp, WorksError> {
        let corners = &self.outline.corners;
        let side = self.outline.side_of.get(asked.side).copied().unwrap_or(0);
        let (a, b) = (corners[side], corners[(side + 1) % corners.len()]);
        let (slope, batter) = (asked.slope.in_horizontal_per_vertical(), self.outline.batters[side]);
        if slope <= batter {
            return Err(WorksError::RampTooSteep { works: self.subject(), slope, batter });
        }
        let (foot, out) = (a.towards(b, 0.5), (b - a).unit().left() * -1.0);
        let natural = Locator::new(self.before);
        let mut run = 0.0;
        loop {
            let level = floor + run / slope;
            match natural.elevation(foot + out * run) {
                Some(z) if z > level && run < RAMP_LONGEST => run += RAMP_STEP,
                Some(z) if z <= level => break,
                found => {
                    let end = foot + out * run;
                    let (easting, northing) = self.ground.frame.to_frame(end);
                    let (works, part) = (self.subject(), "ramp");
                    return Err(match found {
                        None => {
                            let edge = self.ground.edge_near(end);
                            WorksError::LeavesSurvey { works, part, edge, easting, northing }
                        }
                        Some(_) => WorksError::NeverMeetsGround { works, part, easting, northing },
                    });
                }
            }
        }
        let line = |from: f64, to: f64| Polyline::new(vec![foot + out * from, foot, foot + out * to]);
        let off = || WorksError::BadFloor { works: self.subject(), why: "leaves no room for a ramp".to_owned() };
        let axis = line(-RAMP_LAP, run + RAMP_LAP).ok_or_else(off)?;
        let levels = [floor, floor, floor + (run + RAMP_LAP) / slope];
        let (half, height) = (asked.width.in_metres() / 2.0, self.highest - floor + ABOVE);
        let profile = Profile::even(Sense::Bowl, half, batter, height);
        let Laid { tin, footprint, largest_difference } = lay(&dug.tin, &axis, &levels, &profile, self.owner("ramp"))?;
        dug.tin = tin;
        dug.footprint.extend(footprint);
        dug.largest_difference = dug.largest_difference.max(largest_difference);
        let axis = Polyline::new(vec![foot, foot + out * run]).ok_or_else(off)?;
        Ok(Ramp { axis, slope: asked.slope, width: asked.width })
    }

    /// Where the water stands: between floor and lowest way out.
    fn water(&self, floor: f64, (spill, place): (f64, Option<Point3>)) -> Result<f64, WorksError> {
        let off = |water_level: f64, why: String| WorksError::WaterLevelOff { works: self.subject(), water_level, why };
        let water = match self.wanted.water {
            PitWater::Level(level) => level.in_metres(),
            PitWater::Freeboard(freeboard) => spill - freeboard.in_metres(),
        };
        if water > spill {
            let (easting, northing) = self.ground.frame.to_frame(place.map_or(self.lowest.1, Point3::plan));
            let why = format!("stands above the lowest way out, {spill:.3} m at E {easting:.2} N {northing:.2}");
            return Err(off(water, why));
        }
        if water <= floor {
            let why = format!("is not above its floor, {floor:.3} m, under the lowest way out at {spill:.3} m");
            return Err(off(water, why));
        }
        Ok(water)
    }

    /// The lowest way out. Of a borrow pit it is the lowest place of its rim, though a wall may hold water over that.
    fn way_out(&self, dug: &Dug, seeds: &[Point]) -> (f64, Option<Point3>) {
        let spill = spill_from(&dug.tin, seeds);
        if self.wanted.purpose == Purpose::Pond {
            return spill;
        }
        let surface = Locator::new(&dug.tin);
        let rim = outline_of(&dug.footprint);
        let places = rim.iter().flat_map(|polygon| on_surface(polygon, &surface)).flatten();
        let lowest = places.min_by(|a, b| a.z.total_cmp(&b.z));
        lowest.filter(|place| place.z < spill.0).map_or(spill, |place| (place.z, Some(place)))
    }

    /// The highest cut face: the ground at the rim above the floor.
    fn deepest_face(&self, rim: &Polyline, floor: f64) -> (Length, Station) {
        let natural = Locator::new(self.before);
        let heights =
            rim.points().iter().zip(rim.stations()).filter_map(|(&p, &s)| Some((natural.elevation(p)? - floor, s)));
        let (height, station) = heights.max_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or((0.0, 0.0));
        (Length::metres(height.max(0.0)), Station::metres(station))
    }

    fn tell(&self, (pit, surface): &(Pit, Tin), notes: &mut Vec<Note>) {
        let works = self.subject();
        let limit = match self.wanted.purpose {
            Purpose::Pond => POND_SIDE,
            Purpose::Borrow => LEAST_BATTER,
        };
        let steepest = self.outline.batters.iter().copied().fold(f64::INFINITY, f64::min);
        if steepest < limit - 1e-9 {
            notes.push(Note::new("works::steep-batter", format!(
                "{works}: a side of {steepest:.2} horizontal to 1 vertical is steeper than {limit}:1, and soil that is unproven may slump on it"
            )));
        }
        match &pit.ramp {
            Some(ramp) if ramp.slope.in_horizontal_per_vertical() < RAMP - 1e-9 => {
                notes.push(Note::new(
                    "works::steep-ramp",
                    format!("{works}: the ramp is steeper than the {RAMP}:1 that stock can use"),
                ));
            }
            None if self.outline.batters.iter().all(|&batter| batter < RAMP - 1e-9) => {
                notes.push(Note::new("works::no-way-out", format!(
                    "{works}: no side is as flat as {RAMP}:1 and it has no ramp: nothing that falls in walks out; give it one, or fence it"
                )));
            }
            _ => {}
        }
        tell::deep_face(&works, pit.deepest_face, notes);
        let solved = match &self.wanted.depth {
            PitDepth::ToHold(_) => Some(format!("so that it holds {:.1} m3", pit.storage.volume.in_cubic_metres())),
            PitDepth::ToYield(volume) => {
                Some(format!("so that it yields {:.1} m3 of bank earth", volume.in_cubic_metres()))
            }
            PitDepth::FillOf(named) => Some(format!("so that it yields the earth that `{named}` is short of")),
            PitDepth::Floor(_) | PitDepth::Below(_) => None,
        };
        if let Some(why) = solved {
            notes.push(Note::new(
                "works::depth-solved",
                format!(
                    "{works}: the floor lies at {:.3} m, {:.3} m below the lowest ground over it, {why}",
                    pit.floor_level.in_metres(),
                    pit.depth.in_metres()
                ),
            ));
        }
        if let Some(rim) = self.spillway() {
            rim.tell(pit, surface, notes);
        }
    }
}
