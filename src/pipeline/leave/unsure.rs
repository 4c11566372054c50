//! Where the shots do not tell the ground well enough: the layers, figures, list and note of it that the survey leaves.

use super::{maps, number, works_tables};
use crate::geom::Point3;
use crate::ground::{Doubt, Ground, shoot_here, unseen};
use crate::io::Layer;
use crate::io::write::csv::Table;
use crate::notes::Note;
use crate::pipeline::PipelineError;
use crate::pipeline::values::Values;
use serde_json::{Value as Json, json as object};

/// Most places in the list of shots to take, the worst: about what a crew shoots in an hour or two. A choice of this program.
const MOST_LISTED: usize = 100;

/// What the shots leave unsure on a ground.
pub(super) struct Unsure<'a> {
    ground: &'a Ground,
    /// The triangles in doubt, worst first.
    doubts: &'a [Doubt],
    shoot: Vec<Doubt>,
    /// What the ground should be known to, metres.
    sure_to: f64,
}

impl<'a> Unsure<'a> {
    /// Of a run; nothing where the ground is too large to ask or made of clouds, and where the shots make no ground, which
    /// the ground's own stage tells.
    pub(super) fn of(values: &'a Values<'_>) -> Result<Option<Self>, PipelineError> {
        let Ok(ground) = values.ground().map(|ground| &ground.value) else { return Ok(None) };
        let Some(doubts) = values.doubts()?.as_deref() else { return Ok(None) };
        let sure_to = values.file.ground.sure_to.in_metres();
        Ok(Some(Self { ground, doubts, shoot: shoot_here(doubts, ground.spacing), sure_to }))
    }

    /// The triangles, and where to shoot more.
    pub(super) fn layers(&self) -> Vec<Layer> {
        maps::doubts(self.ground, self.doubts, &self.shoot)
    }

    /// How much of it, and how many more shots.
    pub(super) fn figures(&self) -> Json {
        object!({
            "sure_to_m": number(self.sure_to),
            "unsure_area_m2": number(self.area()),
            "where_to_shoot": self.shoot.len(),
        })
    }

    /// The worst places as a list for the rover, the worst first; nothing where there is none.
    pub(super) fn where_to_shoot(&self) -> Option<Table> {
        let locator = self.ground.locator();
        let mut table = works_tables::to_shoot();
        for (at, doubt) in self.shoot.iter().take(MOST_LISTED).enumerate() {
            table.push(vec![
                format!("G{:03}", at + 1).into(),
                "".into(),
                None.into(),
                None.into(),
                doubt.middle.x.into(),
                doubt.middle.y.into(),
                locator.elevation(doubt.middle).into(),
                "ground".into(),
                doubt.standard_error().into(),
                1.0.into(),
            ]);
        }
        (!self.shoot.is_empty()).then_some(table)
    }

    /// Tells it, where there is any.
    pub(super) fn notes(&self) -> Vec<Note> {
        self.in_doubt().into_iter().chain(self.unseen()).collect()
    }

    fn unseen(&self) -> Option<Note> {
        let gap = unseen(self.ground, self.doubts)?;
        let (easting, northing) = self.ground.frame.to_frame(gap.middle);
        let text = format!(
            "no shot stands within {:.0} m of E {easting:.1} N {northing:.1}, where shots stand {:.1} m apart: the ground round it is even, \
             so the map does not mark it, but nobody looked, and a bank, a hollow or a pool there would not show",
            gap.radius, self.ground.spacing
        );
        Some(Note::new("survey::unseen", text))
    }

    fn in_doubt(&self) -> Option<Note> {
        let worst = self.doubts.first()?;
        let (easting, northing) = self.ground.frame.to_frame(worst.middle);
        let listed = match self.shoot.len() {
            all if all > MOST_LISTED => format!("where-to-shoot.csv lists the worst {MOST_LISTED}"),
            _ => "where-to-shoot.csv lists them".to_owned(),
        };
        let text = format!(
            "between the shots the ground may be off by more than {:.2} m (95 %) on {:.0} m2 of {:.0} m2, worst {:.2} m at E \
             {easting:.1} N {northing:.1}: {} more shots would tell: {listed}, the worst first (layers `unsure` and `shoot_here` of shots.gpkg)",
            self.sure_to,
            self.area(),
            self.ground.tin.plan_area(),
            worst.hides,
            self.shoot.len()
        );
        Some(Note::new("survey::unsure", text))
    }

    /// Plan area of the triangles in doubt, square metres.
    fn area(&self) -> f64 {
        let plan = |doubt: &Doubt| {
            let [a, b, c] = self.ground.tin.corners(doubt.triangle).map(Point3::plan);
            (b - a).cross(c - a) / 2.0
        };
        self.doubts.iter().map(plan).sum()
    }
}
