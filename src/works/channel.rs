//! What is asked for of a channel along a line of constant fall.

use super::wanted::{ChannelShape, LineEdge};
use crate::soil::{Placement, Soil};
use crate::units::{Area, Batter, Flow, Length, RainRate};
use crate::water::channel::Cover;

/// A channel along a line of constant fall as asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct ChannelWanted {
    /// Which edge of the channel follows the line.
    pub line_edge: LineEdge,
    /// The channel across; a width that is solved for is not looked at.
    pub shape: ChannelShape,
    /// Bed below the line; not looked at where it is solved for.
    pub depth: Length,
    /// The size that is found so that the flow is carried.
    pub to_carry: Option<Solved>,
    /// Side slope uphill of the bed.
    pub uphill_batter: Batter,
    /// Side slope downhill of the bed; a parabola has none.
    pub downhill_batter: Batter,
    /// What its earth is heaped to, on the downhill side; `None` carts it away.
    pub berm: Option<DrainBerm>,
    /// Undisturbed strip between cut and berm.
    pub ledge: Length,
    /// What is kept between the water at the design flow and natural ground at the downhill lip.
    pub freeboard: Length,
    /// What it is to carry; `None` tells what it can.
    pub flow: Option<FlowWanted>,
    /// What covers it.
    pub cover: Cover,
    /// Depth of topsoil stripped from cut and seat.
    pub topsoil: Length,
    /// The soil under the topsoil.
    pub soil: Soil,
    /// How fill is put down.
    pub placement: Placement,
    /// Height that fill loses, as a share of its settled height.
    pub settlement: f64,
}

/// A size that is solved for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Solved {
    /// The depth of the bed below the line.
    Depth,
    /// The width: of the bed, or of a parabola at the line's level.
    Width,
}

/// The berm of a drain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DrainBerm {
    /// As high as the dig's own earth makes it.
    AllTheCut {
        /// Crest width.
        crest: Length,
        /// Batter of both sides.
        batter: Batter,
    },
    /// So high above the line when it has settled, whatever the dig gives.
    Fixed {
        /// Settled crest above the line.
        height: Length,
        /// Crest width.
        crest: Length,
        /// Batter of both sides.
        batter: Batter,
    },
}

/// What a drain is to carry.
#[derive(Debug, Clone, PartialEq)]
pub enum FlowWanted {
    /// Said outright.
    Flow(Flow),
    /// The peak of a storm on what drains to it.
    Storm {
        /// Its name.
        name: String,
        /// Mean intensity of its rain.
        intensity: RainRate,
        /// What drains to it; `None` for the surveyed ground that does.
        catchment: Option<Area>,
        /// Share of the rain that runs off at the peak.
        coefficient: f64,
    },
}

/// How far a drain reaches from its line before anything of it is known, metres: as on ground of 10 % across.
pub(super) fn reach(wanted: &ChannelWanted) -> f64 {
    let width = match wanted.shape {
        ChannelShape::Trapezoid { bottom_width: width } | ChannelShape::Parabola { top_width: width } => width,
        ChannelShape::Triangle => Length::ZERO,
    };
    let sides = wanted.uphill_batter.in_horizontal_per_vertical() + wanted.downhill_batter.in_horizontal_per_vertical();
    let channel = width.in_metres() + 1.3 * sides * wanted.depth.in_metres();
    // What is dug is heaped on as much ground again.
    if wanted.berm.is_some() { 2.0 * channel + wanted.ledge.in_metres() } else { channel }
}
