//! What of a dig is topsoil: ground that an earlier work dug or filled has none left.
//!
//! Method: topsoil of depth t is off wherever a surface departs from natural ground, t deep or as deep as the cut where that is
//! less, so of a surface as a whole it is cut(natural, surface) - cut(natural - t, surface) + t times the area filled, exact
//! from overlays. A work strips what stands off after it less what did before it; works add up to the site that way.

use crate::surface::{CutFill, Tin, cut_and_fill};
use crate::units::Length;

/// Topsoil before a work.
pub(crate) struct Topsoil<'a> {
    natural: &'a Tin,
    before: &'a Tin,
    lowered: Tin,
    depth: f64,
    /// Off before the work.
    off: Off,
}

/// Topsoil that is off, cubic metres, and the area under fill, square metres.
#[derive(Debug, Clone, Copy, Default)]
struct Off {
    dug: f64,
    filled: f64,
}

/// What a work strips and digs, cubic metres.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stripped {
    /// Topsoil of its dig.
    pub dug: f64,
    /// Topsoil of its seat, which is filled again.
    pub seat: f64,
    /// Its dig under the topsoil.
    pub under: f64,
}

impl<'a> Topsoil<'a> {
    /// Of a depth on natural ground, before a work that stands on a surface.
    pub(crate) fn new(natural: &'a Tin, before: &'a Tin, depth: Length) -> Self {
        let depth = depth.in_metres().max(0.0);
        let found = Self { natural, before, lowered: natural.raised_by(-depth), depth, off: Off::default() };
        let off = if found.on_natural() { Off::default() } else { found.off(before, None) };
        Self { off, ..found }
    }

    fn on_natural(&self) -> bool {
        std::ptr::eq(self.natural, self.before)
    }

    fn off(&self, surface: &Tin, whole: Option<&CutFill>) -> Off {
        let whole = whole.copied().unwrap_or_else(|| cut_and_fill(self.natural, surface, None));
        let under = if self.depth > 0.0 { cut_and_fill(&self.lowered, surface, None).cut } else { whole.cut };
        Off { dug: whole.cut - under, filled: whole.fill_area }
    }

    /// What the work strips that leaves a surface; `whole` is what it moves.
    pub(crate) fn stripped(&self, after: &Tin, whole: &CutFill) -> Stripped {
        let off = self.off(after, self.on_natural().then_some(whole));
        let filled = self.depth * (off.filled - self.off.filled);
        // A dig through earlier fill leaves less under fill, and strips nothing: its topsoil went with the seat.
        let seat = filled.clamp(0.0, self.depth * whole.fill_area);
        let dug = (off.dug - self.off.dug + filled - seat).clamp(0.0, whole.cut);
        Stripped { dug, seat, under: whole.cut - dug }
    }

    /// Bank earth under the topsoil that a dig gives, cubic metres.
    pub(crate) fn bank_dug(&self, dug: &Tin) -> f64 {
        self.stripped(dug, &cut_and_fill(self.before, dug, None)).under
    }
}
