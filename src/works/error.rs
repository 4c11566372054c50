//! Why works could not be designed. Each message names the work, the place, what was found and the limit.

use super::wanted::Entry;
use super::work::Subject;
use crate::notes::Cancelled;
use crate::surface::{ComposeError, TinError};
use crate::water::weir::WeirError;

/// A design that cannot be made as asked.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum WorksError {
    /// No ground stands at the water level.
    #[error(
        "swale `{swale}`: no ground stands at the water level {water_level:.3} m: the survey runs from {lowest:.3} m to {highest:.3} m"
    )]
    WaterLevelOffGround {
        /// The swale.
        swale: String,
        /// What was asked for, metres.
        water_level: f64,
        /// Lowest ground, metres.
        lowest: f64,
        /// Highest ground, metres.
        highest: f64,
    },
    /// A place that the work needs lies where there is no ground.
    #[error("{works}: {what} lies {beyond}, so the ground there is not known")]
    PlaceOffSurvey {
        /// The work.
        works: Subject,
        /// The shot or place.
        what: String,
        /// Off the survey, or in a hole of the ground: [`Ground::beyond`](crate::ground::Ground::beyond).
        beyond: String,
    },
    /// Nowhere along the line is there surveyed ground for the whole section.
    #[error(
        "swale `{swale}`: its section reaches {uphill:.1} m uphill and {downhill:.1} m downhill of the line at {water_level:.3} m, and nowhere along it, up to {edge}, is there ground for that: make it less deep or wide, survey more ground, or move the line"
    )]
    NoRoomAcross {
        /// The swale.
        swale: String,
        /// Metres.
        water_level: f64,
        /// Reach uphill, metres.
        uphill: f64,
        /// Reach downhill, metres.
        downhill: f64,
        /// What is in the way.
        edge: String,
    },
    /// The region or the two ends leave no contour line.
    #[error("swale `{swale}`: no contour line at {water_level:.3} m: {why}")]
    NoLineInRegion {
        /// The swale.
        swale: String,
        /// Metres.
        water_level: f64,
        /// What was found.
        why: String,
    },
    /// What must stay is nearer than asked all along the line.
    #[error(
        "swale `{swale}`: what must stay leaves no room for a line at {water_level:.3} m: all of it lies within {clear:.1} m of that, the {clearance:.1} m of `clearance` and what its works reach"
    )]
    NoRoomForLine {
        /// The swale.
        swale: String,
        /// Metres.
        water_level: f64,
        /// Kept between the line and what must stay, metres.
        clear: f64,
        /// Of that, between the works and what must stay, metres.
        clearance: f64,
    },
    /// The line that is left is too short for the section with its two ends.
    #[error(
        "swale `{swale}`: the contour line is {found:.1} m long: its two ends and the spillway need at least {needed:.1} m"
    )]
    LineTooShort {
        /// The swale.
        swale: String,
        /// Metres found.
        found: f64,
        /// Metres needed.
        needed: f64,
    },
    /// No contour line catches as much ground as asked for.
    #[error(
        "swale `{swale}`: no contour line catches {wanted:.0} m2 of surveyed ground: the most is {most:.0} m2, at {level:.3} m; ask for less, widen the region, or survey farther uphill"
    )]
    CannotCatch {
        /// The swale.
        swale: String,
        /// Square metres asked for.
        wanted: f64,
        /// Square metres caught at most.
        most: f64,
        /// At which level, metres.
        level: f64,
    },
    /// Not so many lines fit.
    #[error(
        "swale `{swale}`: there is no place number {rank}: of {tried} levels tried {found} have a line that fits{why}"
    )]
    NoSuchPlace {
        /// The swale.
        swale: String,
        /// Asked for.
        rank: u32,
        /// Lines that fit.
        found: usize,
        /// Levels tried.
        tried: usize,
        /// Why the highest of the others does not, behind a semicolon; empty where there is no other.
        why: String,
    },
    /// A step between levels makes more lines than are compared.
    #[error(
        "swale `{swale}`: a line every {every:.3} m makes more than {most} to compare: take a greater step, or say `from` and `to`"
    )]
    TooManyPlaces {
        /// The swale.
        swale: String,
        /// Metres.
        every: f64,
        /// At most.
        most: usize,
    },
    /// The survey ends before the next swale of a set.
    #[error(
        "swale `{swale}`: no way down from `{upper}` stays on the survey {what}: ask for fewer swales or a lesser spacing, or survey farther down"
    )]
    NoRoomBelow {
        /// The swale.
        swale: String,
        /// The one above it.
        upper: String,
        /// For how far.
        what: String,
    },
    /// No line of constant fall leads where it is to.
    #[error("line `{line}`: {why}")]
    NoFallLine {
        /// Its name.
        line: String,
        /// Why, with places and numbers.
        why: String,
    },
    /// No depth that can be tried holds the water asked for.
    #[error(
        "{works}: it cannot hold {wanted:.1} m3: at a depth of {depth:.2} m it holds {held:.1} m3; ask for another volume, or a longer line or wider bed"
    )]
    CannotHold {
        /// The work.
        works: Subject,
        /// Cubic metres asked for.
        wanted: f64,
        /// Cubic metres held at `depth`.
        held: f64,
        /// Metres.
        depth: f64,
    },
    /// No size that can be tried carries the flow asked for.
    #[error(
        "{works}: it cannot carry {flow:.3} m3/s: at a {what} of {most:.2} m it carries {carried:.3} m3/s with its freeboard; give it more fall or a wider bed, or part the flow"
    )]
    CannotCarry {
        /// The work.
        works: Subject,
        /// Cubic metres a second asked for.
        flow: f64,
        /// Which size.
        what: &'static str,
        /// The greatest that is tried, metres.
        most: f64,
        /// What it carries then, cubic metres a second.
        carried: f64,
    },
    /// A drain of a size found for its flow cannot be laid out.
    #[error("{error}; {size} is what the flow of {flow:.3} m3/s asks for: is that flow meant")]
    OfFoundSize {
        /// Why.
        error: Box<Self>,
        /// The size, in words.
        size: String,
        /// Cubic metres a second asked for.
        flow: f64,
    },
    /// A batter flatter than the ground never meets it.
    #[error(
        "{works}: the {side} batter {batter:.2}H:1V never meets ground that falls {fall:.1} % across the line: make it steeper than {limit:.2}H:1V"
    )]
    BatterNeverMeets {
        /// The work.
        works: Subject,
        /// Whose batter it is.
        entry: Entry,
        /// Which batter.
        side: &'static str,
        /// Horizontal for one vertical.
        batter: f64,
        /// Cross fall, per cent.
        fall: f64,
        /// The limit, horizontal for one vertical.
        limit: f64,
    },
    /// The spillway does not fit on the line.
    #[error(
        "swale `{swale}`: a sill of {sill_length:.2} m centred at station {station:.1} m does not fit between stations {from:.1} m and {to:.1} m"
    )]
    SillDoesNotFit {
        /// The swale.
        swale: String,
        /// Which sill.
        entry: Entry,
        /// Metres.
        sill_length: f64,
        /// Metres.
        station: f64,
        /// Metres.
        from: f64,
        /// Metres.
        to: f64,
    },
    /// An end is to be left open, and no sill stands there.
    #[error(
        "swale `{swale}`: its {end} end is left open as an overflow, and no sill stands there: add a [[spillway]] with `at = {{ end = \"{end}\" }}`, or let the end turn up"
    )]
    OverflowWithoutSill {
        /// The swale.
        swale: String,
        /// Which end.
        end: &'static str,
    },
    /// Something asked for along the line where it cannot be.
    #[error("swale `{swale}`: {what} between stations {from:.1} and {to:.1} m: {why}")]
    PartDoesNotFit {
        /// The swale.
        swale: String,
        /// Which change or crossing.
        entry: Entry,
        /// What cannot be.
        what: &'static str,
        /// Where it begins, metres.
        from: f64,
        /// Where it ends, metres.
        to: f64,
        /// Why, with what would mend it.
        why: String,
    },
    /// A work would dig into an earlier work's fill.
    #[error(
        "{works} digs into the fill of `{earlier}` at E {easting:.2} N {northing:.2}: move one of them; a pond or borrow pit may say `through = \"{earlier}\"` where that is meant"
    )]
    CutsEarlierWork {
        /// The work.
        works: Subject,
        /// The earlier one.
        earlier: String,
        /// In the frame's unit.
        easting: f64,
        /// In the frame's unit.
        northing: f64,
    },
    /// A berm or wall would stand in an earlier work's dig.
    #[error("{works} is heaped into the dig of `{earlier}` at E {easting:.2} N {northing:.2}: move one of them")]
    FillsEarlierDig {
        /// The work.
        works: Subject,
        /// The earlier one.
        earlier: String,
        /// In the frame's unit.
        easting: f64,
        /// In the frame's unit.
        northing: f64,
    },
    /// A floor stands above the ground somewhere.
    #[error(
        "{works}: its floor at {level:.3} m stands {above:.2} m above the ground at E {easting:.2} N {northing:.2}: lower it, or move it"
    )]
    FloorAboveGround {
        /// The work.
        works: Subject,
        /// The floor, metres.
        level: f64,
        /// Metres.
        above: f64,
        /// In the frame's unit.
        easting: f64,
        /// In the frame's unit.
        northing: f64,
    },
    /// The floor's outline is not one that can be dug.
    #[error("{works}: the outline of its floor {why}")]
    BadFloor {
        /// The work.
        works: Subject,
        /// What is wrong.
        why: String,
    },
    /// The ramp is not flatter than the side that it goes through.
    #[error(
        "{works}: a ramp of {slope:.2}H:1V is no flatter than the side it goes through, {batter:.2}H:1V: make it flatter, or leave it out"
    )]
    RampTooSteep {
        /// The work.
        works: Subject,
        /// Horizontal for one vertical.
        slope: f64,
        /// Horizontal for one vertical.
        batter: f64,
    },
    /// The water would not stand above the floor, or above the lowest place of the rim.
    #[error("{works}: its water level {water_level:.3} m {why}")]
    WaterLevelOff {
        /// The work.
        works: Subject,
        /// Metres.
        water_level: f64,
        /// What it is against.
        why: String,
    },
    /// No place beside a work has room for a pit.
    #[error("{works}: no room beside `{beside}` for a pit that yields {bank:.0} m3 in the bank: {why}")]
    NoRoomForPit {
        /// The work.
        works: Subject,
        /// The work that it is dug for.
        beside: String,
        /// Cubic metres in the bank that it is to yield.
        bank: f64,
        /// What stands in the way, and what would mend it.
        why: String,
    },
    /// No depth that can be tried yields the earth asked for.
    #[error(
        "{works}: it cannot yield {wanted:.1} m3 of earth: {depth:.2} m deep it yields {yielded:.1} m3; ask for less, or give it a larger floor"
    )]
    CannotYield {
        /// The work.
        works: Subject,
        /// Cubic metres in the bank asked for.
        wanted: f64,
        /// Cubic metres in the bank yielded at `depth`.
        yielded: f64,
        /// Metres.
        depth: f64,
    },
    /// Natural ground does not come up to the crest of a wall before the survey ends.
    #[error(
        "{works}: the ground never comes up to its crest, {crest:.3} m, along the axis carried on: it stands at {found:.3} m at E {easting:.2} N {northing:.2}, where the survey ends or the search does; survey on, turn the axis, or lower the crest"
    )]
    NoAbutment {
        /// The work.
        works: Subject,
        /// The settled crest, metres.
        crest: f64,
        /// The ground there, metres.
        found: f64,
        /// In the frame's unit.
        easting: f64,
        /// In the frame's unit.
        northing: f64,
    },
    /// Water leaves a reservoir below full supply.
    #[error(
        "{works}: below full supply, {full:.3} m, {what}; it gets away at {level:.3} m at E {easting:.2} N {northing:.2}"
    )]
    ReservoirLeaks {
        /// The work.
        works: Subject,
        /// Full supply, metres.
        full: f64,
        /// Where the water gets away, metres.
        level: f64,
        /// In the frame's unit.
        easting: f64,
        /// In the frame's unit.
        northing: f64,
        /// Over what, and what to do.
        what: String,
    },
    /// The work named is none of those before this one.
    #[error("{works} names `{named}`, which is no work before it in the file; before it stand: {earlier}")]
    NoEarlierWork {
        /// The work.
        works: Subject,
        /// What it names.
        named: String,
        /// Those that there are.
        earlier: String,
    },
    /// The work whose fill is to be yielded needs no earth.
    #[error("{works}: `{named}` needs no earth beyond its own dig")]
    NothingToYield {
        /// The work.
        works: Subject,
        /// The other work.
        named: String,
    },
    /// The sill's hydraulics do not work out.
    #[error("{works}: {cause}")]
    Weir {
        /// The work.
        works: Subject,
        /// Why.
        cause: WeirError,
    },
    /// Nothing says how far a flood stands over full supply.
    #[error("{works}: neither its flood-rise nor its spillway's head or flow is said: say one of them")]
    NoFloodRise {
        /// The work.
        works: Subject,
    },
    /// A spillway needs more head than the crest counts on.
    #[error(
        "{works}: its spillway needs a head of {head:.3} m for its flow and {loss:.3} m for the friction of its approach, more than its flood-rise of {rise:.3} m, so the flood would take its freeboard: make the sill longer, or flood-rise at least {:.3} m (or leave flood-rise out)",
        head + loss
    )]
    HeadOverRise {
        /// The work.
        works: Subject,
        /// Metres.
        head: f64,
        /// What the approach takes, as far as it is known, metres.
        loss: f64,
        /// Metres.
        rise: f64,
    },
    /// A spillway over the wall itself.
    #[error(
        "{works}: a spillway at station {station:.1} m would stand on the wall: put it at an abutment, `at = {{ end = \"first\" }}` or `{{ end = \"last\" }}`, or at a place on natural ground"
    )]
    SpillwayOnWall {
        /// The work.
        works: Subject,
        /// Metres.
        station: f64,
    },
    /// A spillway where its work has no such place.
    #[error("{works}: its spillway cannot stand there: {why}")]
    NoSpillwayThere {
        /// The work.
        works: Subject,
        /// Why, and what to say instead.
        why: &'static str,
    },
    /// A flood would leave over the rim of a pond before its sill carries it.
    #[error(
        "{works}: its spillway needs a flood {head:.3} m over its sill for its flow and its approach, and the lowest place of its rim, {low:.3} m at E {easting:.2} N {northing:.2}, stands only {room:.3} m above the full level: the flood would leave there; make the sill longer, or its freeboard at least {head:.3} m"
    )]
    HeadOverRim {
        /// The work.
        works: Subject,
        /// Metres.
        head: f64,
        /// Lowest place of the rim above the full level, metres.
        room: f64,
        /// Lowest place of the rim, metres.
        low: f64,
        /// In the frame's unit.
        easting: f64,
        /// In the frame's unit.
        northing: f64,
    },
    /// A spillway cuts too near to the wall's fill.
    #[error(
        "{works}: the cut of its spillway at E {easting:.2} N {northing:.2} would come within {clear:.1} m of fill, and {kept:.1} m are kept: move it away from the wall"
    )]
    SpillwayTooNear {
        /// The work.
        works: Subject,
        /// Metres.
        clear: f64,
        /// Metres.
        kept: f64,
        /// In the frame's unit.
        easting: f64,
        /// In the frame's unit.
        northing: f64,
    },
    /// Part of a sill would stand on fill.
    #[error(
        "{works}: natural ground lies up to {below:.2} m below its spillway's sill at {sill:.3} m about E {easting:.2} N {northing:.2}, so part of the sill would stand on fill and wash out: move it to higher ground, or say `lined = \"by-engineer\"` where an engineer's lined design carries it"
    )]
    SillOnFill {
        /// The work.
        works: Subject,
        /// Metres.
        sill: f64,
        /// Metres.
        below: f64,
        /// In the frame's unit.
        easting: f64,
        /// In the frame's unit.
        northing: f64,
    },
    /// Ground between a wall and its spillway lies below the crest.
    #[error(
        "{works}: between its end and its spillway the ground stands at {found:.3} m at E {easting:.2} N {northing:.2}, below the settled crest {crest:.3} m: a flood runs there too; put the spillway where the ground between stays up, or carry the wall on"
    )]
    LowRidge {
        /// The work.
        works: Subject,
        /// Metres.
        crest: f64,
        /// Metres.
        found: f64,
        /// In the frame's unit.
        easting: f64,
        /// In the frame's unit.
        northing: f64,
    },
    /// No way leads to or from a sill.
    #[error("{works}: its spillway's {what} has nowhere to go: {why}")]
    NoWayOut {
        /// The work.
        works: Subject,
        /// Which part.
        what: &'static str,
        /// Why, with numbers and what would mend it.
        why: String,
    },
    /// A spillway's sill is not where the water leaves.
    #[error(
        "{works}: the water does not leave over its spillway's sill at {sill:.3} m but at {found:.3} m at E {easting:.2} N {northing:.2}: move the spillway, so that its approach joins the water"
    )]
    SillNotReached {
        /// The work.
        works: Subject,
        /// Metres.
        sill: f64,
        /// Metres.
        found: f64,
        /// In the frame's unit.
        easting: f64,
        /// In the frame's unit.
        northing: f64,
    },
    /// A part of the works reaches beyond the survey.
    #[error(
        "{works}: the {part} reaches {edge} at E {easting:.2} N {northing:.2}: survey more ground there, or keep the works away from there"
    )]
    LeavesSurvey {
        /// The work.
        works: Subject,
        /// Which part.
        part: &'static str,
        /// What it reaches.
        edge: String,
        /// In the frame's unit.
        easting: f64,
        /// In the frame's unit.
        northing: f64,
    },
    /// The sides of a part never meet the ground.
    #[error(
        "{works}: the sides of the {part} do not meet the ground near E {easting:.2} N {northing:.2}: make its batter steeper, or move it off ground as steep as that"
    )]
    NeverMeetsGround {
        /// The work.
        works: Subject,
        /// Which part.
        part: &'static str,
        /// In the frame's unit.
        easting: f64,
        /// In the frame's unit.
        northing: f64,
    },
    /// A part of the works could not be laid on the ground.
    #[error("{works}: the {part} could not be laid on the ground: {cause}")]
    Compose {
        /// The work.
        works: Subject,
        /// Which part.
        part: &'static str,
        /// Why.
        cause: ComposeError,
    },
    /// A part of the works is not a surface.
    #[error("{works}: the {part} is not a surface: {cause}")]
    Shape {
        /// The work.
        works: Subject,
        /// Which part.
        part: &'static str,
        /// Why.
        cause: TinError,
    },
    /// The user asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}
