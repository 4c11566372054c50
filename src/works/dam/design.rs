//! The design of a dam: axis, crest, wall on the surface, cutoff, and the reservoir behind it.

use super::spillway::{self, Wall};
use super::{Dam, DamWanted, KeyWanted, ways_out};
use crate::geom::{Point, Point3, Polygon, Polyline};
use crate::ground::Ground;
use crate::notes::{Note, Reporter};
use crate::surface::{Locator, Pool, Tin, cut_and_fill, profile, standing_to};
use crate::units::{Area, Elevation, Length, Station, Volume};
use crate::works::apply::{Laid, Owner, lay, on_surface, outline};
use crate::works::limits::{
    COMBINED_BATTERS, DOWNSTREAM, HIGH_WALL, LEAST_FREEBOARD, LOW_HAZARD, UPSTREAM, crest_width,
};
use crate::works::line::at;
use crate::works::plan::{CrestLevels, Spillway, Storage};
use crate::works::spillway::Sized;
use crate::works::strip::{Profile, Sense};
use crate::works::wanted::SpillwayWanted;
use crate::works::work::{Kind, SitePlan, Subject, Work};
use crate::works::{WorksError, key, level, tell};
use geo::{LineString, Simplify};

/// Steps along the axis, metres.
const STEP: f64 = 2.0;
/// Places nearer to each other along it than this are one, metres.
const CLOSE: f64 = 0.25;
/// Bends of the ground along it less high than this are left out, metres.
const BEND: f64 = 0.005;
/// Places on either side of the axis whose ground tells where the water lies, and the steps between them, metres.
const BESIDE: u32 = 10;
const BESIDE_STEP: f64 = 3.0;
/// Steps in which an abutment is looked for, and how far it is looked for, metres.
const ABUTMENT_STEP: f64 = 0.25;
const ABUTMENT_FARTHEST: f64 = 300.0;
/// A way out this much below full supply is told, metres.
const AT_LEVEL: f64 = 0.005;
/// A pool that is measured so much below its sill leaves the sill dry, metres.
const DRY: f64 = 1e-6;
/// Losses of an approach that differ by less are the same, metres, and how often a wall is drawn anew for one.
const SAME_LOSS: f64 = 0.001;
const ROUNDS: usize = 8;
const FOOT: f64 = crate::units::METRES_PER_FOOT;
/// Cubic metres in an acre-foot: 43,560 cubic feet.
const ACRE_FOOT: f64 = 43_560.0 * FOOT * FOOT * FOOT;
/// Steps in which a foot is looked for, metres.
const TOE_STEP: f64 = 0.1;

/// Designs one dam on the surface that earlier works leave; the surface is that of the wall as built.
pub(in crate::works) fn design(
    ground: &Ground,
    before: &Tin,
    earlier: &SitePlan,
    wanted: &DamWanted,
    reporter: &dyn Reporter,
    notes: &mut Vec<Note>,
) -> Result<(Dam, Tin), WorksError> {
    let site = Site { ground, before, wanted, natural: Locator::new(before) };
    let full = site.full_supply(notes)?;
    // What the approach takes is known when it is cut, and where it is cut hangs on the crest.
    let mut loss = Length::ZERO;
    for _ in 0..ROUNDS {
        let sized = spillway::sized(wanted, loss)?;
        let mut told = Vec::new();
        let (dam, surface) = site.at(full, sized, earlier, reporter, &mut told)?;
        let found = dam.spillways.first().map_or(Length::ZERO, |spillway| spillway.flood_rise() - spillway.head);
        if (found - loss).abs().in_metres() <= SAME_LOSS {
            notes.extend(told);
            return Ok((dam, surface));
        }
        loss = found;
    }
    Err(WorksError::NoWayOut {
        works: site.subject(),
        what: "approach",
        why: format!(
            "what it takes of the flood, about {:.3} m, comes to no rest: say its place with `through`",
            loss.in_metres()
        ),
    })
}

impl Site<'_> {
    /// The dam with a sill so sized and a crest that counts on so much rise.
    fn at(
        &self,
        full: f64,
        (sill, flood_rise): (Option<Sized>, Length),
        earlier: &SitePlan,
        reporter: &dyn Reporter,
        notes: &mut Vec<Note>,
    ) -> Result<(Dam, Tin), WorksError> {
        let (site, before, wanted) = (self, self.before, self.wanted);
        let crest_level = full + (flood_rise + wanted.wave + wanted.freeboard).in_metres();
        let (line, carried_on) = site.line(full, crest_level)?;
        let natural: Vec<f64> =
            line.points().iter().map(|&p| site.natural.elevation(p).unwrap_or(crest_level)).collect();
        let lowest = (0..natural.len()).min_by(|&i, &j| natural[i].total_cmp(&natural[j])).unwrap_or(0);
        let height = crest_level - natural[lowest];
        let width = wanted.crest_width.unwrap_or_else(|| crest_width(Length::metres(height)));
        reporter.checkpoint()?;

        // The settled wall, the reservoir behind it, and the wall as it is built.
        let half = width.in_metres() / 2.0;
        let (up, down) = (wanted.upstream.in_horizontal_per_vertical(), wanted.downstream.in_horizontal_per_vertical());
        let roof = Profile {
            sense: Sense::Roof,
            half_width: half,
            left: up,
            right: down,
            end: up.max(down),
            height: height * 1.3 + 0.5,
            dish: 0.0,
            rounded: true,
        };
        let levels = vec![crest_level; line.points().len()];
        let Laid { tin: settled, footprint, largest_difference } =
            lay(before, &line, &levels, &roof, site.owner("wall"))?;
        let fill_footprint = outline(&footprint);
        let toes = [(half, up, 1.0), (half, down, -1.0)].map(|side| site.toes(&line, crest_level, side));
        let seeds: Vec<Point> =
            toes[0].iter().copied().filter(|&p| site.natural.elevation(p).is_some_and(|z| z < full)).collect();
        if seeds.is_empty() {
            let why = "is below the foot of the wall on its water side: it would hold nothing".to_owned();
            return Err(WorksError::WaterLevelOff { works: site.subject(), water_level: full, why });
        }
        let held = standing_to(&settled, &seeds, full);
        if held.spill < full - AT_LEVEL
            && let Some(place) = held.spill_place
        {
            return Err(site.leaks(full, place, &settled));
        }
        reporter.checkpoint()?;
        let (settled, spillways, held) = match wanted.spillway.as_ref().zip(sill) {
            Some(asked) => {
                // It keeps clear of what was heaped before, too.
                let fills: Vec<Polygon> = fill_footprint
                    .iter()
                    .chain(earlier.shared().flat_map(|work| work.fill_footprint))
                    .cloned()
                    .collect();
                let (settled, spillway) =
                    site.let_out(&settled, asked, &line, &fills, (full, crest_level), &held.shore, notes)?;
                let held = site.held_by_sill(&settled, &seeds, &spillway, full)?;
                (settled, vec![spillway], held)
            }
            None => (settled, Vec::new(), held),
        };
        reporter.checkpoint()?;
        let built: Vec<f64> =
            natural.iter().map(|&z| crest_level + wanted.settlement * (crest_level - z).max(0.0)).collect();
        let over = Overbuild { line: &line, built: &built, settled_crest: crest_level, share: wanted.settlement };
        let surface = over.of(&settled, &site.natural, &fill_footprint);
        let (key, trench) = match wanted.key {
            Some(key) => site.key(&line, &natural, key)?,
            None => (0.0, 0.0),
        };
        let settlement = built[lowest] - crest_level;
        let station = Station::metres(line.stations()[lowest]);
        let surfaces = Locator::new(&surface);
        let cut_footprint: Vec<Polygon> = spillways
            .iter()
            .filter_map(|spillway| spillway.outlet.as_ref())
            .flat_map(|outlet| outlet.footprint.clone())
            .collect();
        let daylight =
            fill_footprint.iter().chain(&cut_footprint).flat_map(|polygon| on_surface(polygon, &surfaces)).collect();
        let deepest = spillways.iter().filter_map(|spillway| spillway.outlet.as_ref()).map(|outlet| outlet.deepest);
        let deepest_face = deepest.fold((Length::metres(trench), station), |(face, at), deepest| {
            if deepest > face { (deepest, Station::metres(spillways[0].from.in_metres().max(0.0))) } else { (face, at) }
        });
        let spill_place = held.spill_place.map_or(seeds[0], Point3::plan);
        let bottom = seeds.iter().filter_map(|&p| site.natural.elevation(p)).fold(f64::INFINITY, f64::min);
        let dam = Dam {
            wanted: wanted.clone(),
            crest: CrestLevels {
                water_level: Elevation::metres(full),
                head: flood_rise + wanted.wave,
                freeboard: wanted.freeboard,
                settlement: Length::metres(settlement),
                built: Elevation::metres(built[lowest]),
            },
            built,
            natural,
            flood_rise,
            crest_width: width,
            height: (Length::metres(height), station),
            carried_on,
            toes,
            key: Volume::cubic_metres(key),
            storage: Storage {
                volume: Volume::cubic_metres(held.volume),
                area: Area::square_metres(held.area),
                spill: Elevation::metres(if held.spill.is_finite() { held.spill } else { full }),
                spill_place,
                at_sill: !spillways.is_empty() && (held.spill - full).abs() <= AT_LEVEL,
            },
            spillways,
            cut_footprint,
            shore: held.shore,
            seeds,
            bottom,
            deepest_face,
            fill_footprint,
            daylight,
            largest_difference,
            ways_out: Vec::new(),
            beyond: Vec::new(),
            line,
        };
        site.tell(&dam, notes);
        drop(surfaces);
        Ok((dam, surface))
    }
}

/// The line with places at even steps, at its own corners, and wherever the ground along it bends.
fn stepped(line: &Polyline, ground: &Locator<'_>) -> Polyline {
    let along: Vec<(f64, f64)> = profile(ground, line).iter().filter_map(|p| Some((p.station, p.elevation?))).collect();
    let bends = along.into_iter().collect::<LineString<f64>>().simplify(BEND);
    let steps = line.resampled(STEP);
    let mut stations: Vec<(f64, bool)> = line.stations().iter().map(|&s| (s, true)).collect();
    stations.extend(bends.coords().map(|c| (c.x, true)));
    stations.extend(steps.stations().iter().map(|&s| (s, false)));
    stations.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
    // An even step gives way to a place that must be there.
    let mut kept: Vec<(f64, bool)> = Vec::new();
    for next in stations {
        match kept.last_mut() {
            Some(last) if next.0 - last.0 < CLOSE => {
                if next.1 && !last.1 {
                    *last = next;
                }
            }
            _ => kept.push(next),
        }
    }
    Polyline::new(kept.into_iter().map(|(station, _)| line.at(station)).collect()).unwrap_or(steps)
}

struct Site<'a> {
    ground: &'a Ground,
    before: &'a Tin,
    wanted: &'a DamWanted,
    natural: Locator<'a>,
}

impl<'a> Site<'a> {
    fn subject(&self) -> Subject {
        Subject::new(Kind::Dam, &self.wanted.name)
    }

    fn owner(&self, part: &'static str) -> Owner<'a> {
        Owner { kind: Kind::Dam, name: &self.wanted.name, part, ground: self.ground }
    }

    fn full_supply(&self, notes: &mut Vec<Note>) -> Result<f64, WorksError> {
        Ok(level::find(&self.wanted.full_supply, self.ground, &self.natural, &self.subject(), notes)?.in_metres())
    }

    /// The axis from abutment to abutment, the water on its left, in steps.
    fn line(&self, full: f64, crest: f64) -> Result<(Polyline, [Length; 2]), WorksError> {
        let asked = Polyline::new(self.wanted.axis.clone()).ok_or_else(|| WorksError::PlaceOffSurvey {
            works: self.subject(),
            what: "its axis has no length and".to_owned(),
            beyond: "off the survey".to_owned(),
        })?;
        let asked = stepped(&asked, &self.natural);
        let ground_at = |place: Point| self.natural.elevation(place);
        let heights: Vec<f64> = asked
            .points()
            .iter()
            .map(|&p| {
                ground_at(p).ok_or_else(|| WorksError::PlaceOffSurvey {
                    works: self.subject(),
                    what: "part of its axis".to_owned(),
                    beyond: self.ground.beyond(p),
                })
            })
            .collect::<Result<_, _>>()?;
        let lowest = (0..heights.len()).min_by(|&i, &j| heights[i].total_cmp(&heights[j])).unwrap_or(0);
        if heights[lowest] >= full {
            let why = format!("is not above the ground on its axis, {:.3} m at its lowest", heights[lowest]);
            return Err(WorksError::WaterLevelOff { works: self.subject(), water_level: full, why });
        }
        let points = asked.points();
        // Out from the lowest place to natural ground at the crest, along the axis and straight on beyond its end.
        let mut halves = Vec::new();
        for forward in [false, true] {
            let order: Vec<usize> =
                if forward { (lowest..points.len()).collect() } else { (0..=lowest).rev().collect() };
            let mut half: Vec<Point> = Vec::new();
            let mut carried = 0.0;
            let met = order.iter().position(|&i| heights[i] >= crest);
            half.extend(order.iter().take(met.map_or(order.len(), |at| at + 1)).map(|&i| points[i]));
            if met.is_none() {
                let (end, out) = if forward {
                    (points[points.len() - 1], asked.direction(asked.length()))
                } else {
                    (points[0], asked.direction(0.0) * -1.0)
                };
                loop {
                    carried += ABUTMENT_STEP;
                    let place = end + out * carried;
                    match ground_at(place) {
                        Some(z) if z >= crest => {
                            half.push(place);
                            break;
                        }
                        Some(_) if carried < ABUTMENT_FARTHEST => {}
                        _ => return Err(self.no_abutment(end + out * (carried - ABUTMENT_STEP), crest)),
                    }
                }
            }
            // A little into the abutment, so that both edges of the crest are tied in.
            if let [.., before, last] = half[..] {
                let deeper = last + (last - before).unit() * 1.0;
                if ground_at(deeper).is_some_and(|z| z >= crest) {
                    half.push(deeper);
                }
            }
            halves.push((half, carried));
        }
        let (second, first) = (halves.pop().unwrap_or_default(), halves.pop().unwrap_or_default());
        let mut all: Vec<Point> = first.0.into_iter().rev().collect();
        all.extend(second.0.into_iter().skip(1));
        let line = Polyline::new(all).map(|line| stepped(&line, &self.natural));
        let line = line.ok_or_else(|| WorksError::PlaceOffSurvey {
            works: self.subject(),
            what: "its axis".to_owned(),
            beyond: "off the survey".to_owned(),
        })?;
        let mut carried = [Length::metres(first.1), Length::metres(second.1)];
        // The water lies where the ground beside the lowest place of the axis rises.
        let station = line.foot(points[lowest]).station;
        // By the ground of the survey: earlier digs beside it say nothing of the valley.
        let valley = Locator::new(&self.ground.tin);
        let rise: f64 = (1..=BESIDE)
            .filter_map(|k| {
                let far = f64::from(k) * BESIDE_STEP;
                let z = |offset: f64| valley.elevation(line.at_offset(station, offset));
                Some(z(far)? - z(-far)?)
            })
            .sum();
        if rise < 0.0 {
            carried.reverse();
            return Ok((line.reversed(), carried));
        }
        Ok((line, carried))
    }

    fn no_abutment(&self, place: Point, crest: f64) -> WorksError {
        let (easting, northing) = self.ground.frame.to_frame(place);
        let found = self.natural.elevation(place).unwrap_or(f64::NAN);
        WorksError::NoAbutment { works: self.subject(), crest, found, easting, northing }
    }

    /// The foot of one side at each place of the line where the wall stands above the ground.
    fn toes(&self, line: &Polyline, crest: f64, (half, batter, sign): (f64, f64, f64)) -> Vec<Point> {
        line.stations()
            .iter()
            .filter_map(|&station| {
                let mut out = half;
                loop {
                    let place = line.at_offset(station, sign * out);
                    let above = crest - (out - half) / batter - self.natural.elevation(place)?;
                    if above <= 0.0 {
                        return (out > half).then_some(place);
                    }
                    out += TOE_STEP.max(above * batter * 0.3);
                }
            })
            .collect()
    }

    /// Cuts the spillway beside the wall.
    fn let_out(
        &self,
        surface: &Tin,
        asked: (&SpillwayWanted, Sized),
        line: &Polyline,
        fill: &[Polygon],
        (full, crest): (f64, f64),
        shore: &[Vec<Point>],
        notes: &mut Vec<Note>,
    ) -> Result<(Tin, Spillway), WorksError> {
        let wall =
            Wall { ground: self.ground, wanted: self.wanted, natural: &self.natural, line, fill, shore, full, crest };
        let (spillway, tin) = wall.cut(surface, asked, notes)?;
        Ok((tin, spillway))
    }

    /// What stands behind the wall when the water leaves over its sill; refused where it leaves elsewhere, unless an
    /// engineer's fill is still to come there.
    fn held_by_sill(&self, settled: &Tin, seeds: &[Point], spillway: &Spillway, full: f64) -> Result<Pool, WorksError> {
        let held = standing_to(settled, seeds, full - DRY);
        if spillway.on_fill || (held.spill - full).abs() <= AT_LEVEL {
            return Ok(held);
        }
        let place = held.spill_place.map_or(spillway.lip.first(), Point3::plan);
        let (easting, northing) = self.ground.frame.to_frame(place);
        Err(WorksError::SillNotReached { works: self.subject(), sill: full, found: held.spill, easting, northing })
    }

    /// Water leaves below full supply: over the edge of the survey, or over a saddle.
    fn leaks(&self, full: f64, place: Point3, settled: &Tin) -> WorksError {
        let (easting, northing) = self.ground.frame.to_frame(place.plan());
        let at_rim = {
            let locator = Locator::new(settled);
            (0..8).any(|k| {
                let angle = f64::from(k) * std::f64::consts::FRAC_PI_4;
                locator.find(Point::new(place.x + 0.05 * angle.cos(), place.y + 0.05 * angle.sin())).is_none()
            })
        };
        let what = if at_rim {
            let edge = self.ground.edge_near(place.plan());
            format!("the water reaches {edge}: survey on to full supply and past it, or lower it")
        } else {
            "the water leaves over a saddle: lower full supply, or close the saddle with a wall of its own first"
                .to_owned()
        };
        WorksError::ReservoirLeaks { works: self.subject(), full, level: place.z, easting, northing, what }
    }

    /// The cutoff: bank volume under the stripped seat, and the greatest height of its faces.
    fn key(&self, line: &Polyline, natural: &[f64], key: KeyWanted) -> Result<(f64, f64), WorksError> {
        let topsoil = self.wanted.topsoil.in_metres();
        let stripped = self.before.raised_by(-topsoil);
        let depth = key.depth.in_metres();
        let levels: Vec<f64> = natural.iter().map(|z| z - topsoil - depth).collect();
        let dug = lay(&stripped, line, &levels, &key::profile(key), self.owner("cutoff trench"))?;
        Ok((cut_and_fill(&stripped, &dug.tin, None).cut, depth + topsoil))
    }

    fn tell(&self, dam: &Dam, notes: &mut Vec<Note>) {
        let works = self.subject();
        for (which, length) in ["first", "last"].into_iter().zip(dam.carried_on) {
            if length > Length::ZERO {
                let place = if which == "first" { dam.line.first() } else { dam.line.last() };
                notes.push(at(self.ground, place, Note::new("works::carried-on", format!(
                    "{works}: its {which} end is carried on {:.1} m beyond the axis asked for, to natural ground at the crest",
                    length.in_metres()
                ))));
            }
        }
        notes.push(Note::new("works::dam-law", format!(
            "{works}: a wall {:.2} m high with water behind it: dams are ruled by local law and need an engineer who answers for them; this is a drawing for that talk, not leave to build",
            dam.height.0.in_metres()
        )));
        if dam.spillways.is_empty() {
            notes.push(Note::new("works::no-spillway", format!(
                "{works} has NO SPILLWAY: water above full supply ({:.3} m) can only go over the wall or round it, and takes it away; a [[spillway]] on natural ground that carries the flood within {:.2} m is to be designed and built first",
                dam.crest.water_level.in_metres(),
                dam.flood_rise.in_metres()
            )));
        }
        let (up, down) =
            (self.wanted.upstream.in_horizontal_per_vertical(), self.wanted.downstream.in_horizontal_per_vertical());
        if up < UPSTREAM - 1e-9 || down < DOWNSTREAM - 1e-9 || up + down < COMBINED_BATTERS - 1e-9 {
            notes.push(Note::new("works::steep-wall", format!(
                "{works}: sides of {up:.2}:1 and {down:.2}:1 are steeper than published: at least {UPSTREAM}:1 on the water side, {DOWNSTREAM}:1 on the dry side, {COMBINED_BATTERS}:1 together"
            )));
        }
        if self.wanted.freeboard.in_metres() < LEAST_FREEBOARD - 1e-9 {
            notes.push(Note::new("works::little-freeboard", format!(
                "{works}: {:.2} m of freeboard above flood and waves is less than the {LEAST_FREEBOARD} m published for small ponds",
                self.wanted.freeboard.in_metres()
            )));
        }
        if self.wanted.key.is_none() {
            notes.push(Note::new(
                "works::no-cutoff",
                format!("{works} has no cutoff trench: water finds its way along the old surface under it"),
            ));
        }
        tell::deep_face(&works, dam.deepest_face, notes);
    }
}

/// What a wall passes of the limits of published small-dam practice.
fn beyond(dam: &Dam) -> Vec<String> {
    let (height, held) = (dam.height.0.in_metres(), dam.storage.volume.in_cubic_metres());
    let mut says = Vec::new();
    if height > HIGH_WALL {
        says.push(format!(
            "at {height:.1} m it is higher than the {HIGH_WALL} m up to which published crest widths for farm ponds go: an engineer's design, not this one, is to be built"
        ));
    }
    let product = height / FOOT * held / ACRE_FOOT;
    if product >= LOW_HAZARD {
        says.push(format!(
            "its height times what it holds is {product:.0} foot acre-feet, past the {LOW_HAZARD:.0} below which the published farm pond standard is valid: an engineer's design, not this one, is to be built"
        ));
    }
    says
}

/// How a wall is built higher than it settles to, in proportion to its local height.
struct Overbuild<'a> {
    line: &'a Polyline,
    built: &'a [f64],
    settled_crest: f64,
    share: f64,
}

impl Overbuild<'_> {
    /// The built surface: the crest at the levels built to, the faces by their own height above the ground, the feet as
    /// they are.
    fn of(&self, settled: &Tin, natural: &Locator<'_>, footprint: &[Polygon]) -> Tin {
        let inside = |p: Point| footprint.iter().any(|polygon| polygon.contains(p));
        settled.with_elevations(|vertex| {
            let place = vertex.plan();
            if !inside(place) {
                return vertex.z;
            }
            let ground = natural.elevation(place).unwrap_or(vertex.z);
            if vertex.z - ground <= 1e-6 {
                return vertex.z;
            }
            if (vertex.z - self.settled_crest).abs() < 1e-6 {
                return self.line.interpolated(self.built, self.line.foot(place).station);
            }
            vertex.z + self.share * (vertex.z - ground)
        })
    }
}

/// The final surface of a plan as its walls have settled: what storage is measured on.
#[must_use]
pub fn settled(ground: &Ground, plan: &SitePlan) -> Option<Tin> {
    let mut surface = plan.surfaces.last()?.clone();
    let natural = Locator::new(&ground.tin);
    for work in &plan.works {
        let Work::Dam(dam) = work else { continue };
        let inside = |p: Point| dam.fill_footprint.iter().any(|polygon| polygon.contains(p));
        let share = dam.wanted.settlement;
        surface = surface.with_elevations(|vertex| {
            let place = vertex.plan();
            let foot = dam.line.foot(place);
            let built = dam.built_at(foot.station);
            match inside(place).then(|| natural.elevation(place)).flatten() {
                Some(_) if (vertex.z - built).abs() < 1e-6 => dam.crest.settled_required().in_metres(),
                Some(ground) if vertex.z > ground => ground + (vertex.z - ground) / (1.0 + share),
                _ => vertex.z,
            }
        });
    }
    Some(surface)
}

/// Measures every reservoir on the final surface, since what was dug in it after the wall holds water too, looks for what
/// lets it out beside its spillway, and tells what it passes of small-dam practice.
pub(in crate::works) fn measure_again(ground: &Ground, plan: &mut SitePlan, notes: &mut Vec<Note>) {
    let first = plan.works.iter().position(|work| matches!(work, Work::Dam(_)));
    let Some((first, surface)) = first.zip(settled(ground, plan)) else { return };
    let later = first + 1 < plan.works.len();
    for work in &mut plan.works {
        let Work::Dam(dam) = work else { continue };
        if later {
            let dry = if dam.spillways.is_empty() { 0.0 } else { DRY };
            let held = standing_to(&surface, &dam.seeds, dam.crest.water_level.in_metres() - dry);
            dam.storage.volume = Volume::cubic_metres(held.volume);
            dam.storage.area = Area::square_metres(held.area);
            dam.shore = held.shore;
        }
        dam.ways_out = ways_out::beside_spillway(dam, &surface);
        ways_out::tell(ground, dam, notes);
        dam.beyond = beyond(dam);
        for beyond in &dam.beyond {
            notes.push(Note::new("works::beyond-small-dams", format!("dam `{}`: {beyond}", dam.wanted.name)));
        }
    }
}
