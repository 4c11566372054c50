//! The parts of a swale laid on the surface: channel, sills and exits dug, then berm, key and crossings raised.
//!
//! Invariant: where each part lies is decided before; here the surface changes, in that order, only inside the footprint of each.

use super::WorksError;
use super::along::CrestLine;
use super::apply::{Owner, lay, lay_rows};
use super::balance::Raised;
use super::crossing::{self, Gap};
use super::key;
use super::layout::{self, Base, Bed, Sill};
use super::line::at;
use super::spillway::{self, Standing};
use super::strip::{Profile, Sense};
use super::wanted::SpillwayWanted;
use super::work::Kind;
use crate::geom::Polygon;
use crate::ground::Ground;
use crate::notes::Note;
use crate::surface::Tin;

/// Where the parts lie.
pub(super) struct Parts<'a> {
    pub ground: &'a Ground,
    pub base: Base<'a>,
    pub water: f64,
    /// The crest after settling, as an elevation: as far as this the ends turn up.
    pub settled_crest: f64,
    /// Stations between which there is bed.
    pub bed: (f64, f64),
    /// Ends that are left open.
    pub open: [bool; 2],
    /// Sills along the line.
    pub sills: Vec<Sill>,
    /// Stretches without a bed, one for each crossing.
    pub gaps: Vec<Gap>,
}

/// The surface with everything dug.
pub(super) struct Dug {
    pub tin: Tin,
    pub footprint: Vec<Polygon>,
}

impl Parts<'_> {
    fn owner(&self, part: &'static str) -> Owner<'_> {
        Owner { kind: Kind::Swale, name: &self.base.wanted.name, part, frame: &self.ground.frame }
    }

    /// Digs the channel between the crossings; `None` where it has no length somewhere.
    pub(super) fn channel(&self, before: &Tin, bed: &Bed) -> Result<Option<Dug>, WorksError> {
        let mut dug = Dug { tin: before.clone(), footprint: Vec::new() };
        for (from, to) in crossing::pieces(self.bed, &self.gaps) {
            let Some((axis, rows)) = bed.between(from, to) else { return Ok(None) };
            let laid = lay_rows(&dug.tin, &axis, rows, self.owner("channel"))?;
            dug.tin = laid.tin;
            dug.footprint.extend(laid.footprint);
        }
        Ok(Some(dug))
    }

    /// Cuts a sill level.
    pub(super) fn sill(&self, dug: &mut Dug, sill: &Sill, standing: &Standing) -> Result<(), WorksError> {
        let middle = &standing.middle;
        let floor = level_floor(sill.breadth / 2.0, 0.5);
        let middle = middle
            .between(floor.half_width.min(middle.length() / 4.0), middle.length())
            .unwrap_or_else(|| middle.clone());
        let levels = vec![self.water; middle.points().len()];
        let laid = lay(&dug.tin, &middle, &levels, &floor, self.owner("sill"))?;
        dug.tin = laid.tin;
        dug.footprint.extend(laid.footprint);
        Ok(())
    }

    /// Cuts the way out below a sill where natural ground falls less than asked, which is told.
    pub(super) fn exit(
        &self,
        dug: &mut Dug,
        (sill, standing): (&Sill, &Standing),
        asked: &SpillwayWanted,
        notes: &mut Vec<Note>,
    ) -> Result<(), WorksError> {
        let Base { wanted, natural, .. } = self.base;
        let Some(exit) = spillway::exit_floor(natural, standing, self.water, asked.exit_fall_or_usual().in_ratio())
        else {
            return Ok(());
        };
        let floor = level_floor((sill.to - sill.from) / 2.0, 1.0);
        let laid = lay(&dug.tin, &exit.axis, &exit.levels, &floor, self.owner("exit channel"))?;
        dug.tin = laid.tin;
        dug.footprint.extend(laid.footprint);
        notes.push(at(self.ground, exit.axis.last(), Note::new("works::exit-cut", format!(
            "swale `{}`: natural ground below the spillway falls less than the {:.1} % asked for, so an exit channel {:.1} m wide is cut for {:.1} m",
            wanted.name,
            asked.exit_fall_or_usual().in_percent(),
            sill.to - sill.from,
            exit.axis.length()
        ))));
        Ok(())
    }

    /// Raises the berm to a crest, over its key, and the crossings with it.
    pub(super) fn raise(&self, dug: &Tin, crest: &CrestLine) -> Result<Raised, WorksError> {
        let Base { wanted, natural, along, .. } = self.base;
        let (axes, ends) = layout::crest_axes(self.base, crest, &self.sills, self.settled_crest, self.bed, self.open);
        let key = match wanted.key {
            Some(key) => {
                let lines = axes.iter().map(|axis| &axis.line);
                key::bank(&dug.raised_by(-wanted.topsoil.in_metres()), lines, key, self.owner("key"))?
            }
            None => 0.0,
        };
        let mut tin = dug.clone();
        let mut footprint = Vec::new();
        for axis in &axes {
            let rows = layout::berm_rows(along, axis, crest, self.water);
            let laid = lay_rows(&tin, &axis.line, rows, self.owner("berm"))?;
            tin = laid.tin;
            footprint.extend(laid.footprint);
        }
        let mut crossings = Vec::new();
        for (asked, gap) in wanted.crossings.iter().zip(&self.gaps) {
            let above = crest.at(asked.at.in_metres());
            let (axis, levels) = crossing::axis(self.base, asked, above, self.water)?;
            let height = along.berm(asked.at.in_metres(), above).height;
            let laid = crossing::raise(&tin, asked, (&axis, &levels), height, self.owner("crossing"))?;
            crossings.push(crossing::finish(asked, (axis, levels), *gap, natural, [&tin, &laid.tin]));
            tin = laid.tin;
            footprint.extend(laid.footprint);
        }
        Ok(Raised { crest: crest.clone(), axes, ends, crossings, tin, footprint, key })
    }
}

/// A level floor cut for a sill or a way out, with sides of 2:1.
fn level_floor(half_width: f64, height: f64) -> Profile {
    Profile::even(Sense::Bowl, half_width, 2.0, height)
}
