//! What a drain carries on its fall, and the depth or width at which it carries what is asked.
//!
//! Uniform flow (Manning) in the cut below natural ground at the downhill lip, less the freeboard, with the roughest state of its
//! cover: [`crate::water::channel`].

use super::{Carries, ChannelWanted, FlowWanted, Solved};
use crate::surface::Catchment;
use crate::units::{Area, Fall, Flow, Length};
use crate::water::channel::{Across, Cover, Run};
use crate::water::rational::Storm;
use crate::works::WorksError;
use crate::works::section::{self, Ditch};
use crate::works::sizes::Sizes;
use crate::works::wanted::{ChannelShape, Entry};
use crate::works::work::Subject;

/// Least and greatest depth that is tried, and whole steps of it, metres.
const DEPTHS: (f64, f64, f64) = (0.05, 5.0, 0.01);
/// The same of widths.
const WIDTHS: (f64, f64, f64) = (0.2, 30.0, 0.05);

/// A drain's section with what it carries.
pub(super) struct Sized {
    pub sizes: Sizes,
    pub shape: ChannelShape,
    pub carries: Carries,
}

/// What stands round the reckoning.
#[derive(Clone, Copy)]
pub(super) struct Site<'a> {
    pub works: &'a Subject,
    pub wanted: &'a ChannelWanted,
    /// Fall along the line.
    pub fall: Fall,
    /// Fall of the ground across it.
    pub across: f64,
}

/// The wetted section of a channel.
fn wetted(shape: &ChannelShape, sizes: &Sizes) -> Across {
    let batters = [sizes.uphill_batter, sizes.downhill_batter];
    match shape {
        ChannelShape::Trapezoid { .. } | ChannelShape::Triangle => Across::Sides { bottom: sizes.width, batters },
        ChannelShape::Parabola { .. } => Across::Parabola { top: sizes.width, depth: sizes.depth },
    }
}

impl Site<'_> {
    fn sizes(&self, width: f64, depth: f64) -> Sizes {
        let (crest, berm_batter) = match self.wanted.berm {
            Some(super::DrainBerm::AllTheCut { crest, batter } | super::DrainBerm::Fixed { crest, batter, .. }) => {
                (crest, batter)
            }
            None => (Length::ZERO, self.wanted.downhill_batter),
        };
        Sizes {
            width: Length::metres(width),
            depth: Length::metres(depth),
            uphill_batter: self.wanted.uphill_batter,
            downhill_batter: self.wanted.downhill_batter,
            crest,
            berm_batter,
        }
    }

    fn ditch(&self, shape: ChannelShape) -> Ditch<'_> {
        let (kind, name) = (self.works.kind, self.works.name.as_str());
        Ditch { kind, name, line_edge: self.wanted.line_edge, shape, ledge: self.wanted.ledge }
    }

    /// Natural ground at the lip over the bed.
    fn bank(&self, shape: ChannelShape, sizes: &Sizes) -> Length {
        let lip = section::channel(self.ditch(shape), sizes, self.across).lip;
        sizes.depth + Length::metres(self.across * lip)
    }

    fn capacity(&self, shape: ChannelShape, sizes: &Sizes) -> Flow {
        let (_, rough) = self.wanted.cover.roughness();
        let deep = self.bank(shape, sizes) - self.wanted.freeboard;
        wetted(&shape, sizes).flow(deep, self.fall, rough)
    }

    /// What is asked of it, with the storm that it is of.
    fn flow(&self, catchment: Catchment) -> (Option<Flow>, Option<Storm>) {
        match &self.wanted.flow {
            None => (None, None),
            Some(FlowWanted::Flow(flow)) => (Some(*flow), None),
            Some(FlowWanted::Storm { name, intensity, catchment: said, coefficient }) => {
                let storm = Storm {
                    name: name.clone(),
                    intensity: *intensity,
                    catchment: said.unwrap_or_else(|| Area::square_metres(catchment.area)),
                    coefficient: *coefficient,
                };
                (Some(storm.peak()), Some(storm))
            }
        }
    }

    /// The section as said, or with the size that carries the flow, rounded up to a step that can be dug and staked.
    pub(super) fn sized(&self, catchment: Catchment) -> Result<Sized, WorksError> {
        let wanted = self.wanted;
        let (flow, storm) = self.flow(catchment);
        let said = match wanted.shape {
            ChannelShape::Trapezoid { bottom_width: width } | ChannelShape::Parabola { top_width: width } => width,
            ChannelShape::Triangle => Length::ZERO,
        };
        let (said, depth) = (said.in_metres(), wanted.depth.in_metres());
        let shaped = |width: f64| match wanted.shape {
            ChannelShape::Trapezoid { .. } => ChannelShape::Trapezoid { bottom_width: Length::metres(width) },
            ChannelShape::Triangle => ChannelShape::Triangle,
            ChannelShape::Parabola { .. } => ChannelShape::Parabola { top_width: Length::metres(width) },
        };
        let (width, depth) = match (wanted.to_carry, flow) {
            (None, _) | (_, None) => (said, depth),
            (Some(Solved::Depth), Some(flow)) => {
                let carries = |depth: f64| self.capacity(wanted.shape, &self.sizes(said, depth));
                (said, self.least("depth", DEPTHS, flow, &carries)?)
            }
            (Some(Solved::Width), Some(flow)) => {
                let carries = |width: f64| self.capacity(shaped(width), &self.sizes(width, depth));
                (self.least("width", WIDTHS, flow, &carries)?, depth)
            }
        };
        let (shape, sizes) = (shaped(width), self.sizes(width, depth));
        section::check(self.ditch(shape), Entry::Section, &sizes, self.across)?;
        let (section, capacity) = (wetted(&shape, &sizes), self.capacity(shape, &sizes));
        let runs = flow.unwrap_or(capacity);
        let run = Run::of(section, runs, self.fall, wanted.cover);
        let bare = (wanted.cover != Cover::Bare).then(|| Run::of(section, runs, self.fall, Cover::Bare)).flatten();
        let bank = self.bank(shape, &sizes);
        Ok(Sized { sizes, shape, carries: Carries { section, bank, capacity, flow, storm, run, bare } })
    }

    /// The least size in whole steps that carries a flow. All are tried: where another edge than the lip follows the line, a
    /// wider bed lowers the lip, so that it may carry less.
    fn least(
        &self,
        what: &'static str,
        (least, most, step): (f64, f64, f64),
        flow: Flow,
        carries: &dyn Fn(f64) -> Flow,
    ) -> Result<f64, WorksError> {
        let sizes = || (0..).map(|k| least + f64::from(k) * step).take_while(|&size| size <= most + step / 2.0);
        sizes().find(|&size| carries(size) >= flow).ok_or_else(|| {
            let all = sizes().map(|size| (size, carries(size).in_cubic_metres_per_second()));
            let (at, carried) = all.max_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((most, 0.0));
            let (works, flow) = (self.works.clone(), flow.in_cubic_metres_per_second());
            WorksError::CannotCarry { works, flow, what, most: at, carried }
        })
    }
}
