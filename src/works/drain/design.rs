//! The design of a drain: channel, run-out and berm on the surface that earlier works leave.
//!
//! The same section, rows and strips as a swale's; their level at each station is the line's even fall and not one water level.

use super::carry::{self, Sized};
use super::ending::{LetOut, LowerEnd};
use super::{BermBuilt, ChannelWanted, Drain, DrainBerm, Ending, Solved, Through, tell};
use crate::geom::{Point, Polygon, Polyline};
use crate::ground::Ground;
use crate::notes::{Note, Reporter};
use crate::surface::{Drainage, Locator, Tin};
use crate::units::{Fall, Flow, Length, Station};
use crate::works::along::CrestLine;
use crate::works::apply::{Owner, lay_rows, on_surface, outline as outline_of};
use crate::works::balance::{self, Earth, Heaped};
use crate::works::fall_line::FallLine;
use crate::works::layout::{self, Axis};
use crate::works::line::{Reach, back_from_rim};
use crate::works::section::{self, BermLine, Channel, Ditch};
use crate::works::sizes::Sizes;
use crate::works::slopes::{cross_slopes, steepest};
use crate::works::strip::Row;
use crate::works::swale::deepest_face;
use crate::works::work::{Kind, Shared, SitePlan, Subject};
use crate::works::{Topsoil, WorksError};

/// A berm of what there is is first tried so high above the line, metres.
const FIRST_CREST: f64 = 0.3;
/// The least crest above the line, metres.
const LEAST_CREST: f64 = balance::CREST_STEP;
/// Rounds in which a settled crest is found on its own seat.
const SETTLING: u32 = 24;
/// Shorter bed than this is none, metres.
const SHORTEST: f64 = 3.0;
/// Steps along a bed in which the ground at its lip is looked at, metres.
const LOOK_STEP: f64 = 0.5;
/// Stretches of a line shorter than this together are not told, metres.
const TURNED: f64 = 1.0;
/// A drain that ends in a work runs through it for less than this, metres.
const LEADS_IN: f64 = 5.0;
/// A berm is ended in steps of so much before the dig of an earlier work, metres.
const BACK_STEP: f64 = 0.5;

/// Everything of a drain that its parts are laid out on.
struct Site<'a> {
    ground: &'a Ground,
    line: &'a FallLine,
    wanted: &'a ChannelWanted,
    ditch: Ditch<'a>,
    sizes: Sizes,
    channel: Channel,
    /// Fall across the line, positive rising uphill.
    across: f64,
    /// One where uphill lies on the left, else minus one.
    left: f64,
}

/// The bed as dug.
struct Bed {
    from: f64,
    to: f64,
    axis: Polyline,
    levels: Vec<f64>,
}

/// A berm on the surface.
struct Raised {
    crest: f64,
    axis: Axis,
    levels: Vec<f64>,
    tin: Tin,
    footprint: Vec<Polygon>,
    largest_difference: f64,
}

impl Heaped for Raised {
    fn heaped(&self) -> (&Tin, f64) {
        (&self.tin, 0.0)
    }
}

/// Designs a drain along its line.
pub(in crate::works) fn design(
    ground: &Ground,
    before: &Tin,
    plan: &SitePlan,
    line: &FallLine,
    wanted: &ChannelWanted,
    reporter: &dyn Reporter,
    notes: &mut Vec<Note>,
) -> Result<(Drain, Tin), WorksError> {
    let works = Subject::new(Kind::Drain, &line.wanted.name);
    let natural = ground.locator();
    let mut slopes = cross_slopes(&line.line, &natural);
    let mean = slopes.iter().map(|s| s.1).sum::<f64>() / slopes.len().max(1) as f64;
    let left = if mean < 0.0 { -1.0 } else { 1.0 };
    slopes.iter_mut().for_each(|slope| slope.1 *= left);
    let catchment = Drainage::new(&natural).to_line(&line.line);
    let across = mean.abs();
    let Sized { sizes, shape, carries } =
        carry::Site { works: &works, wanted, fall: line.fall, across }.sized(catchment)?;
    let ditch = Ditch { kind: Kind::Drain, name: &works.name, line_edge: wanted.line_edge, shape, ledge: wanted.ledge };
    let channel = section::channel(ditch, &sizes, across);
    let site = Site { ground, line, wanted, ditch, sizes, channel, across, left };
    reporter.checkpoint()?;

    let of_size = |error: WorksError| of_found_size(error, wanted, &sizes, carries.runs());
    let (from, to, moved) = site.on_survey(&natural).map_err(of_size)?;
    let (bed, rows) = site.bed(from, to).map_err(of_size)?;
    let laid = lay_rows(before, &bed.axis, rows, site.owner("channel")).map_err(of_size)?;
    let (mut dug, mut cut, mut largest_difference) = (laid.tin, laid.footprint, laid.largest_difference);
    reporter.checkpoint()?;

    let flow = carries.runs();
    let deep = carries.run.map_or(Length::ZERO, |run| run.depth);
    let wet_width = Length::metres(carries.section.width(deep.in_metres()));
    let width = sizes.bed_width(&shape).max(wet_width * 0.5);
    let end = LowerEnd {
        before,
        plan,
        at: bed.axis.last(),
        level: bed.levels[bed.levels.len() - 1],
        fall: line.fall,
        width,
        batter: wanted.uphill_batter.in_horizontal_per_vertical(),
        flow,
        cover: wanted.cover,
    };
    let LetOut { tin, run_out, ending, below } = end.let_out(&dug, site.owner("run-out")).map_err(of_size)?;
    if let Some((tin, footprint, difference)) = tin {
        (dug, largest_difference) = (tin, largest_difference.max(difference));
        cut.extend(footprint);
    }
    reporter.checkpoint()?;

    let cut_footprint = outline_of(&cut);
    let free = wanted.uphill_batter.in_horizontal_per_vertical() * sizes.depth.in_metres() + width.in_metres() / 2.0;
    let clear = if run_out.is_some() { free } else { 0.0 };
    let raised = site.berm(before, &dug, &bed, clear, plan).map_err(of_size)?;
    let (after, fill_footprint, berm) = match raised {
        None => (dug, Vec::new(), None),
        Some(raised) => {
            largest_difference = largest_difference.max(raised.largest_difference);
            let section = site.berm_line(raised.crest);
            let built = BermBuilt {
                axis: raised.axis.line,
                levels: raised.levels,
                built: Length::metres(raised.crest),
                settled: Length::metres(site.settled(&section)),
                crest_offset: Length::metres(section.crest),
                toe_offset: Length::metres(section.toe),
            };
            (raised.tin, outline_of(&raised.footprint), Some(built))
        }
    };
    let bed_level = |station: f64| line.elevation(station) - sizes.depth.in_metres();
    let along_bed: Vec<Polygon> = outline_of(&cut);
    let face = deepest_face(&along_bed, &natural, &line.line, &bed_level);
    let surface = Locator::new(&after);
    let daylight =
        cut_footprint.iter().chain(&fill_footprint).flat_map(|polygon| on_surface(polygon, &surface)).collect();
    drop(surface);
    let mut drain = Drain {
        line: line.clone(),
        wanted: wanted.clone(),
        uphill_on_left: left > 0.0,
        sizes,
        cross_fall: Fall::ratio(across),
        steepest: steepest(&slopes),
        outline: section::outline(ditch, &sizes, &channel, across),
        lip_offset: Length::metres(channel.lip),
        bed_offset: Length::metres(channel.bed),
        top_offset: Length::metres(channel.top),
        bed: (Station::metres(bed.from), Station::metres(bed.to)),
        bed_axis: bed.axis,
        bed_levels: bed.levels,
        berm,
        run_out,
        ending,
        below,
        through: Vec::new(),
        turned_about: turned_about(&slopes),
        folds: ground.folds_across(&line.line).into_iter().map(Station::metres).collect(),
        carries,
        catchment,
        shallowest: site.shallowest(&natural, (from, to)),
        deepest_face: face,
        cut_footprint,
        fill_footprint,
        daylight,
        largest_difference,
    };
    drain.through = through(&drain, plan);
    tell::drain(ground, &drain, shape, moved, notes);
    Ok((drain, after))
}

/// Says with an error what size was found for the flow, where that is what cannot be laid out.
fn of_found_size(error: WorksError, wanted: &ChannelWanted, sizes: &Sizes, flow: Flow) -> WorksError {
    let size = match wanted.to_carry {
        _ if matches!(error, WorksError::Cancelled(_) | WorksError::CutsEarlierWork { .. }) => return error,
        None => return error,
        Some(Solved::Depth) => format!("its depth of {:.2} m", sizes.depth.in_metres()),
        Some(Solved::Width) => format!("its width of {:.2} m", sizes.width.in_metres()),
    };
    WorksError::OfFoundSize { error: Box::new(error), size, flow: flow.in_cubic_metres_per_second() }
}

/// The works before a drain that its bed runs through, but for the end of one that leads into the work it ends in.
fn through(drain: &Drain, plan: &SitePlan) -> Vec<Through> {
    let (from, to) = (drain.bed.0.in_metres(), drain.bed.1.in_metres());
    let met = |work: Shared<'_>| {
        let inside = |place| work.footprints().any(|region| region.contains(place));
        let stations = (0..).map(|k| from + f64::from(k) * LOOK_STEP).take_while(|station| *station < to);
        let mut within = stations.filter(|&station| inside(drain.place(station, drain.bed_offset.in_metres())));
        let first = within.next()?;
        let last = within.last().unwrap_or(first);
        let ends_there = matches!(&drain.ending, Ending::Into { works, .. } if works == work.name);
        let works = Subject::new(work.kind, work.name);
        (!ends_there || to - first >= LEADS_IN).then(|| Through {
            works,
            first: Station::metres(first),
            last: Station::metres(last),
        })
    };
    plan.shared().filter_map(met).collect()
}

/// First and last station at which the ground rises to the side that is downhill along most of a line.
fn turned_about(slopes: &[(f64, f64)]) -> Option<(Station, Station)> {
    let mut back = slopes.iter().filter(|slope| slope.1 < 0.0).map(|slope| slope.0);
    let first = back.next()?;
    let last = back.next_back()?;
    (last - first > TURNED).then(|| (Station::metres(first), Station::metres(last)))
}

impl Site<'_> {
    fn owner(&self, part: &'static str) -> Owner<'_> {
        Owner { kind: Kind::Drain, name: self.ditch.name, part, ground: self.ground }
    }

    fn place(&self, station: f64, uphill: f64) -> Point {
        self.line.line.at_offset(station, self.left * uphill)
    }

    /// Stations between which there is survey for the whole section, and how far each end was moved for that.
    fn on_survey(&self, natural: &Locator<'_>) -> Result<(f64, f64, [f64; 2]), WorksError> {
        let line = &self.line.line;
        let none = |why: String| WorksError::NoFallLine { line: self.ditch.name.to_owned(), why };
        let uphill = self.channel.top.max(self.channel.end);
        let downhill = match self.wanted.berm {
            None => -self.channel.lip,
            Some(DrainBerm::Fixed { height, .. }) => -self.berm_line(height.in_metres() * 1.3).toe,
            Some(DrainBerm::AllTheCut { .. }) => -self.berm_line(FIRST_CREST).toe,
        }
        .max(self.channel.end);
        let reach =
            if self.left > 0.0 { Reach { uphill, downhill } } else { Reach { uphill: downhill, downhill: uphill } };
        let (kept, moved) = back_from_rim(line, natural, reach)
            .ok_or_else(|| none("its channel runs too close to the edge of the survey".to_owned()))?;
        let (from, to) = (moved[0], moved[0] + kept.length());
        if to - from < SHORTEST {
            return Err(none(format!("its bed would be {:.1} m long only", to - from)));
        }
        Ok((from, to, moved))
    }

    /// The middle of the bed and its rows between two stations.
    fn bed(&self, from: f64, to: f64) -> Result<(Bed, Vec<Row>), WorksError> {
        let axis = self.axis(from, to, self.channel.bed)?;
        let row = |&station: &f64| {
            let level = self.line.elevation(station);
            self.turned(layout::channel_row(self.ditch, &self.sizes, &self.channel, self.across, level))
        };
        let rows: Vec<Row> = axis.at.iter().map(row).collect();
        let levels = rows.iter().map(|row| row.level).collect();
        Ok((Bed { from, to, axis: axis.line, levels }, rows))
    }

    fn turned(&self, row: Row) -> Row {
        if self.left > 0.0 { row } else { row.mirrored() }
    }

    /// An axis at an offset along the line.
    fn axis(&self, from: f64, to: f64, uphill: f64) -> Result<Axis, WorksError> {
        let places = layout::stations(from, to, &[]).map(|station| (station, self.place(station, uphill))).collect();
        Axis::new(places, &[]).ok_or_else(|| WorksError::NoFallLine {
            line: self.ditch.name.to_owned(),
            why: "its bends are tighter than its channel is wide: give it a wider bend-radius".to_owned(),
        })
    }

    fn berm_line(&self, crest: f64) -> BermLine {
        section::berm(self.ditch, &self.sizes, &self.channel, self.across, crest)
    }

    /// The crest above the line that is left of one when its fill has settled.
    fn settled(&self, berm: &BermLine) -> f64 {
        let seat = berm.above_water - berm.height;
        seat + berm.height / (1.0 + self.wanted.settlement)
    }

    /// The berm, with its ends clear of the run-out by `clear` and of what earlier works dig.
    fn berm(
        &self,
        before: &Tin,
        dug: &Tin,
        bed: &Bed,
        clear: f64,
        plan: &SitePlan,
    ) -> Result<Option<Raised>, WorksError> {
        let Some(asked) = self.wanted.berm else { return Ok(None) };
        let raise = |crest: &CrestLine| self.raise(dug, bed, crest.least(), clear, plan);
        let raised = match asked {
            DrainBerm::Fixed { height, .. } => {
                let settled = height.in_metres();
                let higher = |crest: f64| {
                    let berm = self.berm_line(crest);
                    let seat = berm.above_water - berm.height;
                    seat + (settled - seat) * (1.0 + self.wanted.settlement)
                };
                let built = (0..SETTLING).fold(settled, |crest, _| higher(crest));
                raise(&CrestLine::level(balance::round_up(built)))?
            }
            DrainBerm::AllTheCut { .. } => {
                let bank = Topsoil::new(&self.ground.tin, before, self.wanted.topsoil).bank_dug(dug);
                let earth = Earth { topsoil: self.wanted.topsoil, placed_per_bank: self.wanted.soil.placed_per_bank };
                balance::balanced(&raise, dug, earth, bank, FIRST_CREST, LEAST_CREST)?
            }
        };
        Ok(Some(raised))
    }

    fn raise(&self, dug: &Tin, bed: &Bed, crest: f64, clear: f64, plan: &SitePlan) -> Result<Raised, WorksError> {
        let berm = self.berm_line(crest);
        // Its own end reaches half its crest and a batter beyond its axis.
        let beyond = self.sizes.crest.in_metres() / 2.0
            + self.sizes.berm_batter.in_horizontal_per_vertical() * berm.height.max(crest);
        let meets = |station: f64| {
            let across = [berm.crest + beyond, berm.crest, berm.toe].map(|offset| self.place(station, offset));
            plan.shared().any(|work| work.cut_footprint.iter().any(|dug| across.iter().any(|&p| dug.contains(p))))
        };
        let (mut from, mut to) = (bed.from, bed.to - clear - if clear > 0.0 { beyond } else { 0.0 });
        while to - from > SHORTEST && meets(to + beyond) {
            to -= BACK_STEP;
        }
        while to - from > SHORTEST && meets(from - beyond) {
            from += BACK_STEP;
        }
        let to = to.max(from + 1.0);
        let axis = self.axis(from, to, berm.crest)?;
        let row = |&station: &f64| layout::berm_row(&self.sizes, &berm, self.across, self.line.elevation(station));
        let rows: Vec<Row> = axis.at.iter().map(row).collect();
        let levels = rows.iter().map(|row| row.level).collect();
        let laid = lay_rows(dug, &axis.line, rows, self.owner("berm"))?;
        let (tin, footprint, largest_difference) = (laid.tin, laid.footprint, laid.largest_difference);
        Ok(Raised { crest, axis, levels, tin, footprint, largest_difference })
    }

    /// Natural ground at the downhill lip over the bed where it is least.
    fn shallowest(&self, natural: &Locator<'_>, (from, to): (f64, f64)) -> (Length, Station) {
        let steps = ((to - from) / LOOK_STEP).ceil().max(1.0);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of steps along a line")]
        let count = steps as u32;
        let over = (0..=count).filter_map(|k| {
            let station = from + (to - from) * f64::from(k) / steps;
            let ground = natural.elevation(self.place(station, self.channel.lip))?;
            Some((ground - self.line.elevation(station) + self.sizes.depth.in_metres(), station))
        });
        let least = over.min_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or((0.0, from));
        (Length::metres(least.0), Station::metres(least.1))
    }
}
