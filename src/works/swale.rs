//! The design of a swale: line, channel, sills, berm, and what it holds.
//!
//! Order of work on the surface: the channel is dug, the sills are cut level, the exits are cut where natural ground
//! falls less than asked, then the berm is raised. The surface changes only inside the footprints of those parts.
//! With `berm = "all-the-cut"` the crest is solved so that the fill and the refill of the stripped seat take what the
//! channel and sills give, by the exact volumes between the surfaces (secant steps from the closed-form section).

use super::apply::{Laid, Owner, lay, on_surface, outline};
use super::balance::{self, Raised};
use super::fair::Limits;
use super::keep::Keep;
use super::layout::{self, Base, Sill};
use super::line::{Traced, at, trace};
use super::plan::{ContourCheck, CrestLevels, End, Spillway, Storage, Swale};
use super::reach::reach;
use super::section::{self, BermLine};
use super::slopes::{cross_slopes, steepest};
use super::spillway::{self, Standing};
use super::strip::{Profile, Sense};
use super::trial::Level;
use super::wanted::{Berm, ChannelShape, SwaleWanted};
use super::work::{Kind, Subject};
use super::{WorksError, check, fair, hold, key, level, tell};
use crate::geom::{Point, Point3, Polygon, Polyline};
use crate::ground::Ground;
use crate::notes::{Note, Reporter};
use crate::surface::{Locator, Tin, pool};
use crate::units::{Area, Elevation, Length, Station, Volume};

/// A pool spills at the sill when the lowest way out is within this of it, metres.
const AT_SILL: f64 = 0.005;

/// Designs one swale on a surface, at the depth asked for or at the one that holds what is asked for.
pub(super) fn design(
    ground: &Ground,
    natural: &Locator<'_>,
    before: &Tin,
    wanted: &SwaleWanted,
    reporter: &dyn Reporter,
    notes: &mut Vec<Note>,
) -> Result<(Swale, Tin), WorksError> {
    let Level { level, trials } = level::of_swale(ground, natural, wanted, notes)?;
    let place = SitePlace { ground, natural, before, level };
    let Some(volume) = wanted.to_hold else {
        let (swale, after) = at_depth(place, wanted, reporter, notes)?;
        return Ok((Swale { trials, ..swale }, after));
    };
    // Only the last trial's notes are about what is designed.
    let mut told = Vec::new();
    let found = hold::to_hold(&wanted.name, volume, wanted.depth, &mut |depth| {
        told.clear();
        at_depth(place, &SwaleWanted { depth, ..wanted.clone() }, reporter, &mut told)
    })?;
    notes.append(&mut told);
    notes.push(Note::new(
        "works::depth-to-hold",
        format!(
            "swale `{}`: the bed lies {:.3} m below the water level, so that it holds {:.1} m3",
            wanted.name,
            found.0.wanted.depth.in_metres(),
            found.0.storage.volume.in_cubic_metres()
        ),
    ));
    let (swale, after) = found;
    Ok((Swale { trials, ..swale }, after))
}

/// Where a swale is to be dug, and how high it stands full.
#[derive(Debug, Clone, Copy)]
struct SitePlace<'a> {
    ground: &'a Ground,
    natural: &'a Locator<'a>,
    /// The surface with the works that stand before this one; natural ground is that of the survey.
    before: &'a Tin,
    level: Elevation,
}

/// Designs one swale at a place.
fn at_depth(
    place: SitePlace<'_>,
    wanted: &SwaleWanted,
    reporter: &dyn Reporter,
    notes: &mut Vec<Note>,
) -> Result<(Swale, Tin), WorksError> {
    let SitePlace { ground, natural, before, level } = place;
    let (traced, contour) = line(ground, natural, wanted, level, notes)?;
    let (water, turned, line) = (level.in_metres(), traced.turned, traced.line);
    let (sized, shared) = spillway::of_swale(wanted)?;
    if shared {
        tell::shared_flow(wanted, &sized, notes);
    }
    let head = sized.iter().map(|s| s.head).fold(Length::ZERO, Length::max);
    let least_crest = (head + wanted.freeboard).in_metres();
    reporter.checkpoint()?;

    let slopes = cross_slopes(&line, natural);
    let fall = if slopes.is_empty() { 0.0 } else { slopes.iter().map(|s| s.1).sum::<f64>() / slopes.len() as f64 };
    let steepest = steepest(&slopes);
    tell::slope(wanted, fall, steepest, notes);
    let channel = section::channel(wanted, fall)?;
    tell::edges(wanted, fall, &channel, notes);
    let base = Base { line: &line, natural, wanted, channel: &channel };
    let required = |berm: &BermLine| {
        // The seat's lowest place decides: the fill loses a share of its settled height there.
        let settled = least_crest + wanted.settlement * (least_crest - water_to_seat(berm));
        settled.max(least_crest)
    };
    let first_berm = section::berm(wanted, &channel, fall, least_crest)?;
    let required = balance::round_up(required(&first_berm));
    let crest_guess = match wanted.berm {
        Berm::Fixed { .. } => required,
        Berm::AllTheCut { .. } => balance::section_balance(wanted, &channel, fall)?.max(required),
    };

    let room = layout::end_room(wanted, &channel, crest_guess);
    let needed = 2.0 * room + 4.0 + sized.iter().map(|s| s.length.in_metres()).sum::<f64>();
    if line.length() < needed {
        return Err(WorksError::LineTooShort { swale: wanted.name.clone(), found: line.length(), needed });
    }
    let bed = (room, line.length() - room);
    let mut sills = Vec::new();
    let margin = layout::wing_half_width(wanted, crest_guess);
    for (asked, sized) in wanted.spillways.iter().zip(&sized) {
        let (from, to) = spillway::place(asked, base, turned, sized.length.in_metres(), bed, margin)?;
        let mut sill = Sill { from, to, breadth: asked.sill_breadth.in_metres(), shift: 0.0 };
        sill.shift = spillway::shift(base, &sill, water, fall);
        sills.push(sill);
    }
    let order = in_order(&sills, wanted)?;
    let standing: Vec<Standing> =
        sills.iter().map(|sill| spillway::stand(base, sill, water)).collect::<Result<_, _>>()?;
    let sorted: Vec<Sill> = order.iter().map(|&i| sills[i]).collect();
    reporter.checkpoint()?;

    // Channel and sills.
    let frame = &ground.frame;
    let owner = |part| Owner { kind: Kind::Swale, name: &wanted.name, part, frame };
    let bed_axis = layout::bed_axis(base, &sorted, crest_guess, bed).ok_or_else(|| WorksError::LineTooShort {
        swale: wanted.name.clone(),
        found: line.length(),
        needed,
    })?;
    let bed_level = water - wanted.depth.in_metres();
    let up = wanted.uphill_batter.in_horizontal_per_vertical();
    let (half_width, dish) = match wanted.shape {
        ChannelShape::Trapezoid { .. } | ChannelShape::Triangle => (wanted.shape.bottom_width().in_metres() / 2.0, 0.0),
        ChannelShape::Parabola { top_width } => (top_width.in_metres() / 2.0, wanted.depth.in_metres()),
    };
    let bowl = Profile {
        sense: Sense::Bowl,
        half_width,
        left: up,
        right: channel.downhill,
        end: channel.end_batter,
        height: channel.uphill_depth / (1.0 - fall.max(0.0) * up) * 1.3 + 0.3,
        dish,
        rounded: true,
    };
    let levels = vec![bed_level; bed_axis.points().len()];
    let Laid { mut tin, footprint: mut cut_footprint, .. } = lay(before, &bed_axis, &levels, &bowl, owner("channel"))?;
    for &i in &order {
        let (sill, middle) = (&sills[i], &standing[i].middle);
        let floor =
            Profile { half_width: sill.breadth / 2.0, left: 2.0, right: 2.0, end: 2.0, height: 0.5, dish: 0.0, ..bowl };
        let middle = middle
            .between(floor.half_width.min(middle.length() / 4.0), middle.length())
            .unwrap_or_else(|| middle.clone());
        let levels = vec![water; middle.points().len()];
        let laid = lay(&tin, &middle, &levels, &floor, owner("sill"))?;
        tin = laid.tin;
        cut_footprint.extend(laid.footprint);
    }
    for ((sill, standing), asked) in sills.iter().zip(&standing).zip(&wanted.spillways) {
        let fall = asked.exit_fall.in_ratio();
        if let Some(exit) = spillway::exit_floor(natural, standing, water, fall) {
            let floor = Profile {
                half_width: (sill.to - sill.from) / 2.0,
                left: 2.0,
                right: 2.0,
                end: 2.0,
                height: 1.0,
                dish: 0.0,
                ..bowl
            };
            let laid = lay(&tin, &exit.axis, &exit.levels, &floor, owner("exit channel"))?;
            tin = laid.tin;
            cut_footprint.extend(laid.footprint);
            notes.push(at(ground, exit.axis.last(), Note::new("works::exit-cut", format!(
                "swale `{}`: natural ground below the spillway falls less than the {:.1} % asked for, so an exit channel {:.1} m wide is cut for {:.1} m",
                wanted.name,
                asked.exit_fall.in_percent(),
                sill.to - sill.from,
                exit.axis.length()
            ))));
        }
    }
    reporter.checkpoint()?;

    // Berm.
    let dug = tin;
    let settled_crest = water + least_crest;
    let raise = |crest_above_water: f64| -> Result<Raised, WorksError> {
        let berm = section::berm(wanted, &channel, fall, crest_above_water)?;
        let (axes, ends) = layout::crest_axes(base, &berm, &sorted, settled_crest, bed);
        let batter = wanted.berm.batter();
        let roof = Profile {
            sense: Sense::Roof,
            half_width: wanted.berm.crest_width() / 2.0,
            left: batter,
            right: batter,
            end: batter,
            height: berm.height.max(crest_above_water) / (1.0 - fall.max(0.0) * batter) * 1.3 + 0.3,
            dish: 0.0,
            rounded: true,
        };
        let key = match wanted.key {
            Some(key) => key::bank(&dug.raised_by(-wanted.topsoil.in_metres()), &axes, key, owner("key"))?,
            None => 0.0,
        };
        let mut tin = dug.clone();
        let mut footprint = Vec::new();
        for axis in &axes {
            let levels = vec![water + crest_above_water; axis.points().len()];
            let laid = lay(&tin, axis, &levels, &roof, owner("berm"))?;
            tin = laid.tin;
            footprint.extend(laid.footprint);
        }
        Ok(Raised { crest_above_water, berm, axes, ends, tin, footprint, key })
    };
    let raised = match wanted.berm {
        Berm::Fixed { .. } => raise(required)?,
        Berm::AllTheCut { .. } => {
            let bank = balance::bank_dug(before, &dug, wanted.topsoil);
            balance::balanced(&raise, &dug, wanted, bank, crest_guess, required)?
        }
    };
    reporter.checkpoint()?;

    let cut_footprint = outline(&cut_footprint);
    let fill_footprint = outline(&raised.footprint);
    let after = raised.tin;
    let deepest_face = deepest_face(&cut_footprint, natural, &line, bed_level);
    tell::section(wanted, deepest_face, notes);
    tell::key(wanted, raised.berm.seat, notes);
    let settlement = wanted.settlement * (least_crest - water_to_seat(&raised.berm));
    let crest = CrestLevels {
        water_level: level,
        head,
        freeboard: wanted.freeboard,
        settlement: Length::metres(settlement.max(0.0)),
        built: level + Length::metres(raised.crest_above_water),
    };
    let storage = storage(ground, &after, wanted, &bed_axis, water, notes);
    let spillways: Vec<Spillway> = order
        .iter()
        .map(|&i| {
            let sill = (&sills[i], standing[i].clone());
            spillway::finish(&wanted.spillways[i], ground, base, sill, sized[i], water, notes)
        })
        .collect();
    tell::exits(wanted, &spillways, &fill_footprint, notes);
    if spillways.is_empty() {
        notes.push(Note::new(
            "works::no-spillway",
            format!(
                "swale `{}` has no spillway: when it is full it spills at its lowest place, wherever that is",
                wanted.name
            ),
        ));
    }
    let ends =
        raised.ends.map(|end| End { place: end.place, turned_length: Length::metres(end.length), closed: end.closed });
    for (end, which) in ends.iter().zip(["first", "last"]) {
        if !end.closed {
            notes.push(at(ground, end.place, Note::new("works::end-open", format!(
                "swale `{}`: the berm's {which} end cannot be turned up to crest elevation on surveyed ground; it is an overflow",
                wanted.name
            ))));
        }
    }
    let surface = Locator::new(&after);
    let daylight =
        cut_footprint.iter().chain(&fill_footprint).flat_map(|polygon| on_surface(polygon, &surface)).collect();
    let swale = Swale {
        wanted: wanted.clone(),
        water_level: level,
        section: section::section(wanted, level, fall, &channel, &raised.berm),
        line,
        contour,
        steepest,
        deepest_face,
        crest,
        bed_axis,
        key: Volume::cubic_metres(raised.key),
        crest_axes: raised.axes,
        spillways,
        ends,
        storage,
        cut_footprint,
        fill_footprint,
        daylight,
        trials: Vec::new(),
    };
    drop(surface);
    Ok((swale, after))
}

/// The line that a swale follows at a water level: the contour traced and faired, and its check.
pub(super) fn line(
    ground: &Ground,
    natural: &Locator<'_>,
    wanted: &SwaleWanted,
    level: Elevation,
    notes: &mut Vec<Note>,
) -> Result<(Traced, ContourCheck), WorksError> {
    let water = level.in_metres();
    let traced = trace(ground, natural, wanted, water, reach(wanted)?, notes)?;
    let reach = reach(wanted)?;
    let clear = wanted.clearance.in_metres() + reach.uphill.max(reach.downhill);
    let keep = Keep::new(&wanted.obstacles, clear, wanted.within.as_ref());
    let off_level = |place: Point| natural.elevation(place).map_or(f64::from(u16::MAX), |z| (z - water).abs());
    let led = keep.led_round(&traced.line, fair::STEP, off_level).ok_or_else(|| WorksError::NoLineInRegion {
        swale: wanted.name.clone(),
        water_level: water,
        why: "what must stay leaves no room for it".to_owned(),
    })?;
    let limits = Limits { radius: wanted.bend_radius.in_metres(), band: wanted.tolerance.in_metres(), keep: &keep };
    let line = fair::fair(&led, natural, water, &limits);
    let off = || WorksError::PlaceOffSurvey {
        works: Subject::new(Kind::Swale, &wanted.name),
        what: "the faired line".to_owned(),
    };
    let (_, contour) =
        check::contour_check(&line, natural, Some(water), wanted.tolerance.in_metres()).ok_or_else(off)?;
    let off_contour = contour.worst.abs() > contour.tolerance;
    let gentler = off_contour.then(|| fair::bend_within_band(&led, natural, water, &limits)).flatten();
    let about = tell::About::swale(wanted);
    tell::line(ground, &about, &line, &contour, (gentler, !wanted.obstacles.is_empty()), notes);
    tell::obstacles(ground, &about, &line, &keep, notes);
    Ok((Traced { line, ..traced }, contour))
}

/// Ground at the middle of the crest, relative to the water level (negative downhill of the line).
fn water_to_seat(berm: &BermLine) -> f64 {
    berm.above_water - berm.height
}

/// The highest cut face: natural ground on the outline of the dig above the bed.
fn deepest_face(cut: &[Polygon], natural: &Locator<'_>, line: &Polyline, bed: f64) -> (Length, Station) {
    let heights = cut.iter().flat_map(|polygon| &polygon.outer).filter_map(|&p| Some((natural.elevation(p)? - bed, p)));
    heights.max_by(|a, b| a.0.total_cmp(&b.0)).map_or((Length::ZERO, Station::metres(0.0)), |(height, place)| {
        (Length::metres(height), Station::metres(line.foot(place).station))
    })
}

/// Sills by station; two that overlap with their wings do not fit.
fn in_order(sills: &[Sill], wanted: &SwaleWanted) -> Result<Vec<usize>, WorksError> {
    let mut order: Vec<usize> = (0..sills.len()).collect();
    order.sort_by(|&i, &j| sills[i].from.total_cmp(&sills[j].from));
    for pair in order.windows(2) {
        let (first, second) = (&sills[pair[0]], &sills[pair[1]]);
        if second.from - first.to < 4.0 {
            return Err(WorksError::SillDoesNotFit {
                swale: wanted.name.clone(),
                sill_length: second.to - second.from,
                station: f64::midpoint(second.from, second.to),
                from: first.to + 4.0,
                to: f64::INFINITY,
            });
        }
    }
    Ok(order)
}

/// Water held below the lower of sill and true spill.
fn storage(
    ground: &Ground,
    after: &Tin,
    wanted: &SwaleWanted,
    bed_axis: &Polyline,
    water: f64,
    notes: &mut Vec<Note>,
) -> Storage {
    let seeds: Vec<Point> = bed_axis.points().to_vec();
    // A micrometre below, so that the sill itself, cut to exactly the water level, counts as dry.
    let full = pool(after, &seeds, water - 1e-6);
    let low = full.spill < water - AT_SILL;
    let held = if low { pool(after, &seeds, full.spill) } else { full };
    let spill_place = held.spill_place.map_or(bed_axis.first(), Point3::plan);
    if low {
        notes.push(at(ground, spill_place, Note::new("works::spills-low", format!(
            "swale `{}` spills {:.0} mm below its water level, at {:.3} m: the water leaves there, not over the sill",
            wanted.name,
            (water - held.spill) * 1000.0,
            held.spill
        ))));
    }
    let spill = if held.spill.is_finite() { held.spill } else { water };
    Storage {
        volume: Volume::cubic_metres(held.volume),
        area: Area::square_metres(held.area),
        spill: Elevation::metres(spill),
        spill_place,
        at_sill: !wanted.spillways.is_empty() && (spill - water).abs() <= AT_SILL,
    }
}
