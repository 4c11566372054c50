//! The design of a swale: line, channel, sills, berm, and what it holds.
//!
//! Order of work on the surface: the channel is dug, the sills are cut level, the exits are cut where natural ground
//! falls less than asked, then the berm is raised. The surface changes only inside the footprints of those parts.
//! With `berm = "all-the-cut"` the crest is solved so that the fill and the refill of the stripped seat take what the
//! channel and sills give, by the exact volumes between the surfaces (secant steps from the closed-form section).

use super::along::{Along, CrestLine};
use super::apply::{on_surface, outline};
use super::balance;
use super::layout::{self, Axis, Base, Bed, Sill};
use super::line::Room;
use super::parts::{Dug, Parts};
use super::plan::{CrestLevels, End, Spillway, Swale};
use super::section::BermLine;
use super::slopes::{cross_slopes, steepest};
use super::spillway::{self, Standing};
use super::swale_line::swale_line;
use super::topsoil::Topsoil;
use super::trial::Level;
use super::wanted::{Berm, Entry, LineEnd, SpillwayPlace, SwaleWanted};
use super::{WorksError, crossing, follow, hold, level, low_ground, section, tell};
use crate::geom::{Polygon, Polyline};
use crate::ground::Ground;
use crate::notes::{Note, Reporter};
use crate::surface::{Drainage, Locator, Tin};
use crate::units::{Elevation, Length, Station, Volume};

/// Rounds in which the crest that is required is found on its own seat; each leaves of the error the share that the fill settles, times
/// fall and batter.
const SETTLING: u32 = 24;

/// Line that is left between two sills, metres.
const BETWEEN_SILLS: f64 = 4.0;

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
    let drainage = Drainage::new(natural);
    let place = SitePlace { ground, natural, drainage: &drainage, before, level };
    let Some(volume) = wanted.to_hold else {
        let (swale, after) = at_batter(place, wanted, reporter, notes)?;
        return Ok((Swale { trials, ..swale }, after));
    };
    // Only the last trial's notes are about what is designed.
    let mut told = Vec::new();
    let found = hold::to_hold(&wanted.name, volume, wanted.depth, &mut |depth| {
        told.clear();
        at_batter(place, &SwaleWanted { depth, ..wanted.clone() }, reporter, &mut told)
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
    drainage: &'a Drainage<'a>,
    /// The surface with the works that stand before this one; natural ground is that of the survey.
    before: &'a Tin,
    level: Elevation,
}

/// Designs one swale at a place, with the berm's batter asked for or the one at which its fill takes its cut.
fn at_batter(
    place: SitePlace<'_>,
    wanted: &SwaleWanted,
    reporter: &dyn Reporter,
    notes: &mut Vec<Note>,
) -> Result<(Swale, Tin), WorksError> {
    let Berm::ToBalance { crest, batter } = wanted.berm else {
        return on_survey(place, wanted, reporter, notes);
    };
    let mut told = Vec::new();
    let (made, found) = balance::batter((&place.ground.tin, place.before), wanted, batter, &mut |batter| {
        told.clear();
        let berm = Berm::ToBalance { crest, batter };
        on_survey(place, &SwaleWanted { berm, ..wanted.clone() }, reporter, &mut told)
    })?;
    notes.append(&mut told);
    tell::batter(&made.0, found, notes);
    Ok(made)
}

/// Designs one swale at a place. Where its channel or berm would reach the edge of the survey, which is known only when they are
/// designed, its line is ended farther from that and it is designed again.
fn on_survey(
    place: SitePlace<'_>,
    wanted: &SwaleWanted,
    reporter: &dyn Reporter,
    notes: &mut Vec<Note>,
) -> Result<(Swale, Tin), WorksError> {
    let told_before = notes.len();
    let first = match at_depth(place, wanted, Room::AtEnds, reporter, notes) {
        Err(error) if leaves_survey(&error) => error,
        made => return made,
    };
    for room in Room::FARTHER.map(Room::AllAlong) {
        notes.truncate(told_before);
        match at_depth(place, wanted, room, reporter, notes) {
            Err(error) if leaves_survey(&error) => {}
            Err(WorksError::Cancelled(cancelled)) => return Err(cancelled.into()),
            Err(_) => break,
            made => return made,
        }
    }
    Err(first)
}

/// True where a line that ends sooner might do.
fn leaves_survey(error: &WorksError) -> bool {
    matches!(error, WorksError::LeavesSurvey { part: "channel" | "berm", .. })
}

/// Designs one swale at a place, on a line that is kept so far from the edge of the survey.
fn at_depth(
    place: SitePlace<'_>,
    wanted: &SwaleWanted,
    room: Room,
    reporter: &dyn Reporter,
    notes: &mut Vec<Note>,
) -> Result<(Swale, Tin), WorksError> {
    let SitePlace { ground, natural, drainage, before, level } = place;
    let (traced, contour) = swale_line(ground, natural, wanted, (level, room), notes)?;
    let (water, turned, line) = (level.in_metres(), traced.turned, traced.line);
    let sill_pools = spillway::pools(wanted, &line, turned);
    let sized = spillway::of_swale(wanted, &sill_pools)?;
    tell::shared_flow(wanted, &sized, &sill_pools, notes);
    let head = sized.iter().map(|s| s.head).fold(Length::ZERO, Length::max);
    let least_crest = (head + wanted.freeboard).in_metres();
    reporter.checkpoint()?;

    let slopes = cross_slopes(&line, natural);
    let fall = if slopes.is_empty() { 0.0 } else { slopes.iter().map(|s| s.1).sum::<f64>() / slopes.len() as f64 };
    let steepest = steepest(&slopes);
    tell::slope(wanted, fall, steepest, notes);
    let along = Along::new(wanted, fall)?;
    tell::edges(wanted, fall, &along.channel(0.0), notes);
    let base = Base { line: &line, natural, drainage, wanted, along };
    let required = |station: f64| {
        // The fill loses a share of its settled height, and a higher crest has its middle on lower ground: what it loses there.
        let higher = |crest: f64| {
            let settlement = wanted.settlement * (least_crest - water_to_seat(&along.berm(station, crest)));
            least_crest + settlement.max(0.0)
        };
        (0..SETTLING).fold(least_crest, |crest, _| higher(crest))
    };
    let required =
        wanted.all_sizes().into_iter().map(|(from, _)| required(from.in_metres())).fold(least_crest, f64::max);
    // Where the batter is solved a crest in steps would make the fill jump.
    let required = if let Berm::ToBalance { .. } = wanted.berm { required } else { balance::round_up(required) };
    let crest_guess = match wanted.berm {
        Berm::Fixed { .. } | Berm::ToBalance { .. } => required,
        Berm::AllTheCut { .. } => balance::section_balance(along, line.length()).max(required),
    };

    let open = overflows(wanted, turned)?;
    let room = |end: f64, open: bool| {
        if open { layout::open_room(along, end) } else { layout::end_room(along, end, crest_guess) }
    };
    let room = [room(0.0, open[0]), room(line.length(), open[1])];
    let needed = room[0] + room[1] + 4.0 + sized.iter().map(|s| s.length.in_metres()).sum::<f64>();
    if line.length() < needed {
        return Err(WorksError::LineTooShort { swale: wanted.name.clone(), found: line.length(), needed });
    }
    let bed = (room[0], line.length() - room[1]);
    changes_fit(wanted, line.length())?;
    let mut sills = Vec::new();
    let margin = along.greatest(|sizes| layout::wing_half_width(sizes, crest_guess));
    for (asked, sized) in wanted.spillways.iter().zip(&sized) {
        let margin = if wanted.ends.open_at(&asked.at) { 0.0 } else { margin };
        let (from, to) = spillway::place(asked, base, turned, sized.length.in_metres(), bed, margin)?;
        let mut sill = Sill { from, to, breadth: asked.sill_breadth.in_metres(), shift: 0.0 };
        sill.shift = spillway::shift(base, &sill, water, fall);
        sills.push(sill);
    }
    let order = in_order(&sills, wanted)?;
    changes_clear_of(&sills, wanted, 2.0 * margin)?;
    let standing: Vec<Standing> =
        sills.iter().map(|sill| spillway::stand(ground, base, sill, water)).collect::<Result<_, _>>()?;
    let sorted: Vec<Sill> = order.iter().map(|&i| sills[i]).collect();
    reporter.checkpoint()?;

    let too_short = || WorksError::LineTooShort { swale: wanted.name.clone(), found: line.length(), needed };
    let gaps = crossing::gaps(along, &sorted, crest_guess, bed)?;
    let pieces = crossing::pieces(bed, &gaps);
    let channel = layout::bed(base, &sorted, crest_guess, water, &pieces).ok_or_else(too_short)?;
    let parts = Parts { ground, base, water, settled_crest: water + least_crest, bed, open, sills: sorted, gaps };
    let mut dug = parts.channel(before, &channel)?.ok_or_else(too_short)?;
    for &i in &order {
        parts.sill(&mut dug, &sills[i], &standing[i])?;
    }
    for ((sill, standing), asked) in sills.iter().zip(&standing).zip(&wanted.spillways) {
        parts.exit(&mut dug, (sill, standing), asked, notes)?;
    }
    reporter.checkpoint()?;

    let Dug { tin: dug, footprint: cut_footprint } = dug;
    let raise = |crest: &CrestLine| parts.raise(&dug, crest);
    let mut haul = None;
    let raised = match wanted.berm {
        Berm::Fixed { .. } | Berm::ToBalance { .. } => raise(&CrestLine::level(required))?,
        Berm::AllTheCut { .. } => {
            let bank = Topsoil::new(&ground.tin, before, wanted.topsoil).bank_dug(&dug);
            let level = balance::balanced(&raise, &dug, wanted.earth(), bank, crest_guess, required)?;
            match wanted.follow {
                None => level,
                Some(over) => {
                    let site = follow::Site { line: &line, along, bed, before, dug: &dug, bank, required };
                    let (raised, found) = follow::cut(&site, &raise, level, over.in_metres())?;
                    tell::haul(wanted, &raised, found, notes);
                    haul = Some(found);
                    raised
                }
            }
        }
    };
    reporter.checkpoint()?;

    let cut_footprint = outline(&cut_footprint);
    let fill_footprint = outline(&raised.footprint);
    let crest_levels = raised.levels(water);
    let after = raised.tin;
    let deepest_face =
        deepest_face(&cut_footprint, natural, &line, &|station| water - along.sizes(station).depth.in_metres());
    tell::section(wanted, deepest_face, notes);
    let berms: Vec<BermLine> = wanted
        .all_sizes()
        .iter()
        .map(|(from, _)| along.berm(from.in_metres(), raised.crest.at(from.in_metres())))
        .collect();
    tell::key(wanted, berms.iter().map(|berm| berm.seat).fold(f64::INFINITY, f64::min), notes);
    // Where a crest follows the cut, what is required is held against the least of it: so is the settlement.
    let least = |(from, _): (Station, _)| water_to_seat(&along.berm(from.in_metres(), raised.crest.least()));
    let seat = wanted.all_sizes().into_iter().map(least).fold(f64::INFINITY, f64::min);
    let settlement = wanted.settlement * (least_crest - seat);
    let crest = CrestLevels {
        water_level: level,
        head,
        freeboard: wanted.freeboard,
        settlement: Length::metres(settlement.max(0.0)),
        built: level + Length::metres(raised.crest.least()),
    };
    let Bed { middle: bed_axis, levels: bed_levels, at: bed_at, .. } = channel;
    let pools = crossing::pools(&after, &bed_axis, &bed_at, &pieces, &parts.sills, water);
    let storage = crossing::together(&pools, bed_axis.first(), water);
    tell::pools(ground, wanted, &pools, &crest, notes);
    tell::crossings(wanted, &raised.crossings, notes);
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
    let names = LineEnd::along(turned);
    let end = |end: layout::TurnedEnd, overflow: bool, name: LineEnd| End {
        name,
        place: end.place,
        turned_length: Length::metres(end.length),
        closed: end.closed,
        overflow,
    };
    let ends = [end(raised.ends[0], open[0], names[0]), end(raised.ends[1], open[1], names[1])];
    tell::ends(ground, wanted, &ends, &spillways, notes);
    let surface = Locator::new(&after);
    let daylight =
        cut_footprint.iter().chain(&fill_footprint).flat_map(|polygon| on_surface(polygon, &surface)).collect();
    let crest_axes: Vec<Polyline> = raised.axes.into_iter().map(|axis: Axis| axis.line).collect();
    let low_ground = low_ground::look(
        (&line, &|station| along.channel(station).lip, bed),
        (&crest_axes, &crest_levels),
        (&crest, wanted.settlement),
        natural,
    );
    let swale = Swale {
        wanted: wanted.clone(),
        water_level: level,
        section: section::section(wanted.ditch(), &wanted.first_sizes(), level, fall, &along.channel(0.0), &berms[0]),
        line,
        contour,
        steepest,
        deepest_face,
        crest,
        bed_axis,
        bed_levels,
        key: Volume::cubic_metres(raised.key),
        crest_levels,
        haul,
        crest_axes,
        spillways,
        ends,
        crossings: raised.crossings,
        storage,
        pools,
        cut_footprint,
        fill_footprint,
        daylight,
        low_ground,
        trials: Vec::new(),
    };
    low_ground::tell(&swale, ground, notes);
    drop(surface);
    Ok((swale, after))
}

/// Ground at the middle of the crest, relative to the water level (negative downhill of the line).
fn water_to_seat(berm: &BermLine) -> f64 {
    berm.above_water - berm.height
}

/// The highest cut face: natural ground on the outline of the dig above the bed at its station.
pub(super) fn deepest_face(
    cut: &[Polygon],
    natural: &Locator<'_>,
    line: &Polyline,
    bed: &dyn Fn(f64) -> f64,
) -> (Length, Station) {
    let places = cut.iter().flat_map(|polygon| &polygon.outer);
    let heights = places.filter_map(|&p| {
        let station = line.foot(p).station;
        Some((natural.elevation(p)? - bed(station), station))
    });
    let highest = heights.max_by(|a, b| a.0.total_cmp(&b.0));
    highest.map_or((Length::ZERO, Station::metres(0.0)), |(height, station)| {
        (Length::metres(height), Station::metres(station))
    })
}

/// Which ends along the line are left open; refused where no spillway stands at such an end.
fn overflows(wanted: &SwaleWanted, turned: bool) -> Result<[bool; 2], WorksError> {
    for place in [SpillwayPlace::First, SpillwayPlace::Last] {
        if wanted.ends.open_at(&place) && !wanted.spillways.iter().any(|spillway| spillway.at == place) {
            let end = if place == SpillwayPlace::First { "first" } else { "last" };
            return Err(WorksError::OverflowWithoutSill { swale: wanted.name.clone(), end });
        }
    }
    Ok(LineEnd::along(turned).map(|end| wanted.ends.open(end)))
}

fn no_change(wanted: &SwaleWanted, number: usize, (from, to): (f64, f64), why: String) -> WorksError {
    let (swale, entry) = (wanted.name.clone(), Entry::Change(number));
    WorksError::PartDoesNotFit { swale, entry, what: "the section cannot change", from, to, why }
}

/// Changes of the section lie on the line, one after the other.
fn changes_fit(wanted: &SwaleWanted, length: f64) -> Result<(), WorksError> {
    let mut free = 0.0;
    let sizes = wanted.all_sizes();
    for (number, (change, (_, sizes))) in wanted.changes.iter().zip(&sizes[1..]).enumerate() {
        let [from, to] = [change.from, change.to()].map(Station::in_metres);
        let why = if from < free {
            format!("it begins before station {free:.1} m, where the change before it ends")
        } else if to > length {
            format!("the line ends at {length:.1} m")
        } else if sizes.depth <= Length::ZERO {
            format!("the bed would lie {:.2} m above the water level", -sizes.depth.in_metres())
        } else if to <= from {
            "a change needs a length to be made over".to_owned()
        } else {
            free = to;
            continue;
        };
        return Err(no_change(wanted, number, (from, to), why));
    }
    Ok(())
}

/// A sill keeps the section that it stands beside.
fn changes_clear_of(sills: &[Sill], wanted: &SwaleWanted, wing: f64) -> Result<(), WorksError> {
    for (number, change) in wanted.changes.iter().enumerate() {
        let [from, to] = [change.from, change.to()].map(Station::in_metres);
        if let Some(sill) = sills.iter().find(|sill| from < sill.to + wing && to > sill.from - wing) {
            let [low, high] = [sill.from - wing, sill.to + wing];
            let why = format!(
                "a sill and the ends of the berm beside it stand there, from {low:.1} to {high:.1} m; let the section change before or after"
            );
            return Err(no_change(wanted, number, (from, to), why));
        }
    }
    Ok(())
}

/// Sills by station; two that overlap with their wings do not fit.
fn in_order(sills: &[Sill], wanted: &SwaleWanted) -> Result<Vec<usize>, WorksError> {
    let mut order: Vec<usize> = (0..sills.len()).collect();
    order.sort_by(|&i, &j| sills[i].from.total_cmp(&sills[j].from));
    for pair in order.windows(2) {
        let (first, second) = (&sills[pair[0]], &sills[pair[1]]);
        if second.from - first.to < BETWEEN_SILLS {
            return Err(WorksError::PartDoesNotFit {
                swale: wanted.name.clone(),
                entry: Entry::Sill(pair[1]),
                what: "no sill can stand",
                from: second.from,
                to: second.to,
                why: format!(
                    "the sill before it ends at station {:.1} m, and the ends of the berm between two want {BETWEEN_SILLS} m",
                    first.to
                ),
            });
        }
    }
    Ok(order)
}
