//! `[[pond]]` and `[[borrow]]`: what is dug for water or for earth.

use super::fault::{Fault, Located, Span};
use super::keys::{self, Key};
use super::spillway::SpillwayAsked;
use super::walk::{Shape, Table, number_of};
use crate::units::{
    Batter, Elevation, Length, Volume, parse_batter, parse_bearing, parse_elevation, parse_length, parse_volume,
};
use crate::works::pit::{PitDepth, PitWater, Purpose, RampWanted, ShelfWanted};

/// The outline of a floor, before the survey is known; places in the frame's unit.
#[derive(Debug, Clone, PartialEq)]
pub enum FloorAsked {
    /// A rectangle about a place: the place, length, width, and the bearing of its length in radians.
    Rectangle((f64, f64), Length, Length, f64),
    /// Its corners.
    Corners(Vec<(f64, f64)>),
    /// The one polygon of a map file.
    File(Located<String>),
    /// Placed by the program beside an earlier work.
    Beside {
        /// The work for whose fill it is dug.
        work: Located<String>,
        /// A map file with the polygon in which it may lie.
        within: Option<Located<String>>,
        /// A map file with what must stay.
        obstacles: Option<Located<String>>,
        /// Kept free between its rim and all that; `None` for what its offset stakes need.
        clear: Option<Length>,
        /// About how deep it is to be.
        deep: Length,
    },
}

/// A pond or borrow pit as the file asks for it.
#[derive(Debug, Clone, PartialEq)]
pub struct PitAsked {
    /// Its name.
    pub name: Located<String>,
    /// For water or for earth.
    pub purpose: Purpose,
    /// The outline of its floor.
    pub floor: Located<FloorAsked>,
    /// One batter, or one a side.
    pub batters: Vec<Batter>,
    /// How deep.
    pub depth: Located<PitDepth>,
    /// Where its water stands.
    pub water: PitWater,
    /// Where that is said.
    pub water_at: Option<Span>,
    /// A way down.
    pub ramp: Option<Located<RampWanted>>,
    /// A level step.
    pub shelf: Option<ShelfWanted>,
    /// An earlier work whose fill it may be dug through.
    pub through: Option<Located<String>>,
    /// The spillway of a pond.
    pub spillway: Option<SpillwayAsked>,
}

/// The keys of one of the two tables; what a borrow pit does not have is `None`.
struct PitKeys {
    purpose: Purpose,
    name: &'static Key,
    floor: &'static Key,
    batters: &'static Key,
    depth: &'static Key,
    ramp: &'static Key,
    through: &'static Key,
    water: Option<[&'static Key; 3]>,
}

const OF_POND: PitKeys = PitKeys {
    purpose: Purpose::Pond,
    name: &keys::POND_NAME,
    floor: &keys::POND_FLOOR,
    batters: &keys::POND_BATTERS,
    depth: &keys::POND_DEPTH,
    ramp: &keys::POND_RAMP,
    through: &keys::POND_THROUGH,
    water: Some([&keys::POND_WATER_LEVEL, &keys::POND_FREEBOARD, &keys::POND_SHELF]),
};

const OF_BORROW: PitKeys = PitKeys {
    purpose: Purpose::Borrow,
    name: &keys::BORROW_NAME,
    floor: &keys::BORROW_FLOOR,
    batters: &keys::BORROW_BATTERS,
    depth: &keys::BORROW_DEPTH,
    ramp: &keys::BORROW_RAMP,
    through: &keys::BORROW_THROUGH,
    water: None,
};

pub(super) fn read_pond(table: &Table<'_>) -> Option<PitAsked> {
    read(table, &OF_POND)
}

pub(super) fn read_borrow(table: &Table<'_>) -> Option<PitAsked> {
    read(table, &OF_BORROW)
}

fn read(table: &Table<'_>, keys: &PitKeys) -> Option<PitAsked> {
    let name = table.text(keys.name);
    let floor = table.with(keys.floor, floor);
    let batters = batters(table, keys.batters);
    let depth = table.with(keys.depth, depth);
    if let (Some(FloorAsked::Beside { .. }), Some(depth)) = (floor.as_ref().map(|floor| &floor.value), &depth)
        && !matches!(depth.value, PitDepth::ToYield(_) | PitDepth::FillOf(_))
    {
        table.faults().add(
            Fault::new(
                "pipeline::not-to-yield",
                depth.span.clone().unwrap_or_default(),
                "a floor that is placed `beside` a work is sized for the earth that it yields",
            )
            .help("write depth = { to-yield = { fill-of = \"wall\" } } or { to-yield = \"700 m3\" }, and about how deep as `deep` of the floor"),
        );
        return None;
    }
    let ramp = table.with(keys.ramp, |shape| {
        let list = shape.table("pit.ramp")?;
        let side = side(&list);
        let slope = list.quantity(&keys::RAMP_SLOPE, parse_batter);
        let width = list.above_zero(&keys::RAMP_WIDTH, parse_length);
        Some(Located::new(RampWanted { side: side?, slope: slope?, width: width? }, shape.span.clone()))
    });
    let through = table.text(keys.through);
    let (mut water, mut water_at, mut shelf) = (Some(PitWater::Freeboard(Length::ZERO)), None, None);
    if let Some([level_key, freeboard_key, shelf_key]) = keys.water {
        let level = table.peek(level_key).map(|shape| shape.span);
        water = match &level {
            Some(span) => {
                if let Some(both) = table.peek(freeboard_key) {
                    table.faults().add(
                        Fault::new(
                            "pipeline::two-levels",
                            span.clone(),
                            "`water-level` and `freeboard` both say where the water stands",
                        )
                        .beside(both.span, "the other one"),
                    );
                }
                table.quantity(level_key, parse_elevation).map(PitWater::Level)
            }
            None => table.at_least_zero(freeboard_key, parse_length).map(PitWater::Freeboard),
        };
        water_at = level;
        shelf = table.with(shelf_key, |shape| {
            let list = shape.table("pond.shelf")?;
            let below_water = list.above_zero(&keys::SHELF_BELOW, parse_length);
            let width = list.above_zero(&keys::SHELF_WIDTH, parse_length);
            Some(ShelfWanted { below_water: below_water?, width: width? })
        });
    }
    Some(PitAsked {
        name: name?,
        purpose: keys.purpose,
        floor: floor?,
        batters: batters?,
        depth: depth?,
        water: water?,
        water_at,
        ramp,
        shelf,
        through,
        spillway: None,
    })
}

fn floor(shape: &Shape<'_>) -> Option<Located<FloorAsked>> {
    let list = shape.table("pit.floor")?;
    let given = [&keys::FLOOR_AT, &keys::FLOOR_CORNERS, &keys::FLOOR_FILE, &keys::FLOOR_BESIDE]
        .map(|key| list.peek(key).is_some());
    if given.iter().filter(|&&given| given).count() != 1 {
        shape.wrong_type("one of a place (`at`), `corners`, a `file` or `beside` a work");
        return None;
    }
    let placed = [&keys::FLOOR_WITHIN, &keys::FLOOR_OBSTACLES, &keys::FLOOR_CLEAR, &keys::FLOOR_DEEP];
    if !given[3]
        && let Some(extra) = placed.into_iter().find_map(|key| list.peek(key))
    {
        list.faults().add(Fault::new(
            "pipeline::not-both",
            extra.span,
            format!("`{}` belongs to a floor that is placed `beside` a work", extra.key.name),
        ));
        return None;
    }
    let rectangle = [&keys::FLOOR_LENGTH, &keys::FLOOR_WIDTH, &keys::FLOOR_TURNED];
    if !given[0]
        && let Some(extra) = rectangle.into_iter().find_map(|key| list.peek(key))
    {
        list.faults().add(Fault::new(
            "pipeline::not-both",
            extra.span,
            format!("`{}` belongs to a rectangle, which is placed by `at`", extra.key.name),
        ));
        return None;
    }
    let asked = if given[0] {
        let at = list.with(&keys::FLOOR_AT, Shape::pair);
        let length = list.above_zero(&keys::FLOOR_LENGTH, parse_length);
        let width = list.above_zero(&keys::FLOOR_WIDTH, parse_length);
        let turned = list.quantity(&keys::FLOOR_TURNED, parse_bearing);
        for (key, value) in [(&keys::FLOOR_LENGTH, length), (&keys::FLOOR_WIDTH, width)] {
            if value.is_none() && list.peek(key).is_none() {
                shape.wrong_type("a rectangle with `length` and `width`");
                return None;
            }
        }
        FloorAsked::Rectangle(at?.value, length?, width?, turned?)
    } else if given[1] {
        let corners = list.with(&keys::FLOOR_CORNERS, |shape| {
            let pairs: Option<Vec<(f64, f64)>> =
                shape.items().iter().map(|item| item.pair().map(|pair| pair.value)).collect();
            let pairs = pairs?;
            if pairs.len() < 3 {
                shape.wrong_type("three corners or more");
                return None;
            }
            Some(pairs)
        });
        FloorAsked::Corners(corners?)
    } else if given[2] {
        FloorAsked::File(list.text(&keys::FLOOR_FILE)?)
    } else {
        let work = list.text(&keys::FLOOR_BESIDE);
        let (within, obstacles) = (list.text(&keys::FLOOR_WITHIN), list.text(&keys::FLOOR_OBSTACLES));
        let clear = list.at_least_zero(&keys::FLOOR_CLEAR, parse_length);
        let deep = list.above_zero(&keys::FLOOR_DEEP, parse_length);
        FloorAsked::Beside { work: work?, within, obstacles, clear, deep: deep? }
    };
    Some(Located::new(asked, shape.span.clone()))
}

fn batters(table: &Table<'_>, key: &'static Key) -> Option<Vec<Batter>> {
    match table.peek(key).filter(|shape| shape.value.as_array().is_some()) {
        Some(shape) => {
            table.value(key);
            shape.items().iter().map(|item| item.quantity(parse_batter)).collect()
        }
        None => table.quantity(key, parse_batter).map(|batter| vec![batter]),
    }
}

fn depth(shape: &Shape<'_>) -> Option<Located<PitDepth>> {
    let place = |depth| Some(Located::new(depth, shape.span.clone()));
    if shape.value.as_table().is_none() {
        let depth = shape.quantity(parse_length)?;
        if depth <= Length::ZERO {
            shape.wrong_type("a depth above zero");
            return None;
        }
        return place(PitDepth::Below(depth));
    }
    let (name, value) = shape.only_key()?;
    match name {
        "floor" => place(PitDepth::Floor(value.quantity::<Elevation>(parse_elevation)?)),
        "to-hold" => place(PitDepth::ToHold(above_zero(&value)?)),
        "to-yield" if value.value.as_table().is_some() => {
            let (name, of) = value.only_key()?;
            if name != "fill-of" {
                value.not_a_choice(name, "a volume, or { fill-of = \"wall\" }");
                return None;
            }
            place(PitDepth::FillOf(of.text()?.value))
        }
        "to-yield" => place(PitDepth::ToYield(above_zero(&value)?)),
        other => {
            shape.not_a_choice(other, "a depth, floor, to-hold, to-yield");
            None
        }
    }
}

fn above_zero(shape: &Shape<'_>) -> Option<Volume> {
    let volume = shape.quantity(parse_volume)?;
    if volume > Volume::ZERO {
        return Some(volume);
    }
    shape.wrong_type("a volume above zero");
    None
}

/// A side's number, which people count from one.
fn side(list: &Table<'_>) -> Option<usize> {
    if list.peek(&keys::RAMP_SIDE).is_none() {
        list.value(&keys::RAMP_SIDE);
        return Some(0);
    }
    list.with(&keys::RAMP_SIDE, |shape| {
        let number = number_of(shape.value).filter(|n| n.fract() == 0.0 && (1.0..=999.0).contains(n));
        if number.is_none() {
            shape.wrong_type("the number of a side, counted from 1");
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a whole number from 1 to 999")]
        number.map(|n| n as usize - 1)
    })
}
