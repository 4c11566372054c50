//! What a fit to known marks came to.

use crate::frame::fit::{HeightChange, MarkTest, PlanChange, Standing};
use std::fmt::Write as _;

/// A fit to known marks, as `survey.json` tells it.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct FitReport {
    /// The file of known marks as the user named it.
    pub marks_file: String,
    /// The fit in plan; `None` when the survey's plan was kept.
    pub plan: Option<PlanReport>,
    /// The fit in height; `None` when the survey's heights were kept.
    pub height: Option<HeightReport>,
    /// Known marks that no shot observed.
    pub not_observed: Vec<String>,
}

/// The fit in plan.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct PlanReport {
    /// The change, metres in the site's grid.
    pub change: PlanChange,
    /// Shift of the middle of the marks to the east, metres.
    pub shift_east_m: f64,
    /// Shift of the middle of the marks to the north, metres.
    pub shift_north_m: f64,
    /// Turn, seconds of arc counter-clockwise.
    pub turn_seconds: f64,
    /// Given length over surveyed length.
    pub scale: f64,
    /// Spare observations.
    pub degrees_of_freedom: usize,
    /// Scatter against the given standard deviation; `None` with nothing spare.
    pub unit_sigma: Option<f64>,
    /// Every observed mark: easting and northing.
    pub marks: Vec<MarkTest>,
}

/// The fit in height.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct HeightReport {
    /// The change.
    pub change: HeightChange,
    /// Shift at the middle of the marks, metres.
    pub shift_m: f64,
    /// Rise of the shift towards the east, millimetres a kilometre.
    pub tilt_east_ppm: f64,
    /// Rise of the shift towards the north, millimetres a kilometre.
    pub tilt_north_ppm: f64,
    /// Standard error of the shift at the shot where it is worst, metres.
    pub worst_standard_error_m: f64,
    /// Spare observations.
    pub degrees_of_freedom: usize,
    /// Scatter against the given standard deviation; `None` with nothing spare.
    pub unit_sigma: Option<f64>,
    /// Every observed mark: elevation.
    pub marks: Vec<MarkTest>,
}

impl FitReport {
    /// Names of marks of one standing in plan or height, each once.
    fn names(&self, standing: Standing) -> Vec<&str> {
        let tests = self.plan.iter().flat_map(|plan| &plan.marks).chain(self.height.iter().flat_map(|h| &h.marks));
        let mut names: Vec<&str> = Vec::new();
        for test in tests.filter(|test| test.standing == standing) {
            if !names.contains(&test.mark.as_str()) {
                names.push(&test.mark);
            }
        }
        names
    }

    /// Number of marks that were observed.
    #[must_use]
    pub fn observed(&self) -> usize {
        let plan = self.plan.as_ref().map_or(0, |plan| plan.marks.len());
        plan.max(self.height.as_ref().map_or(0, |height| height.marks.len()))
    }

    /// The marks that are checked in everything that was fitted.
    #[must_use]
    pub fn checked(&self) -> Vec<&str> {
        let spoilt: Vec<&str> = [Standing::NotChecked, Standing::Doubtful, Standing::LeftOut]
            .into_iter()
            .flat_map(|standing| self.names(standing))
            .collect();
        self.names(Standing::Checked).into_iter().filter(|mark| !spoilt.contains(mark)).collect()
    }

    /// True of a mark that the fit rests on and that the others would hardly show to be wrong, in plan or in height: to agree
    /// with it says nothing.
    #[must_use]
    pub fn rests_on(&self, mark: &str) -> bool {
        self.names(Standing::NotChecked).iter().any(|name| name.eq_ignore_ascii_case(mark))
    }

    /// One sentence for the sheet's frame line.
    #[must_use]
    pub fn sentence(&self) -> String {
        let parts = match (&self.plan, &self.height) {
            (Some(_), Some(_)) => "plan and height",
            (Some(_), None) => "plan",
            (None, Some(_)) => "height",
            (None, None) => "nothing",
        };
        let mut sentence = format!(
            "{parts} fitted to {} {} of {}, {} of them checked by the others",
            self.observed(),
            if self.observed() == 1 { "mark" } else { "marks" },
            self.marks_file,
            self.checked().len()
        );
        let (out, doubtful) = (self.names(Standing::LeftOut), self.names(Standing::Doubtful));
        if !out.is_empty() {
            let _ = write!(sentence, "; {} left out, which disagrees", out.join(", "));
        }
        if !doubtful.is_empty() {
            let _ = write!(sentence, "; {} DISAGREE, too few marks to say which is wrong", doubtful.join(", "));
        }
        sentence
    }
}
