//! How a survey is judged: code table, limits, and the shots that the user puts back.

use super::Roles;
use crate::frame::Geographic;
use crate::units::Length;

/// What the checks of a survey go by. The defaults are common practice, no source, save where a field says otherwise.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// What a field code means.
    pub roles: Roles,
    /// Standard deviation of the ground under the pole tip. Default 25 mm: short pasture.
    pub roughness: Length,
    /// True when the user said so; else places shot twice may tell better. Default not.
    pub roughness_is_said: bool,
    /// Vertical standard deviation of a receiver whose file states none. Default 20 mm, and [`Self::vertical_ppm`] of 1:
    /// survey-grade receivers, quoted from the NGS single-base guidelines (Henning).
    pub vertical_sigma: Length,
    /// What the distance to the base adds to it, millionths.
    pub vertical_ppm: f64,
    /// A shot whose stated horizontal sigma is larger is set aside. Default 50 mm.
    pub horizontal_limit: Length,
    /// A shot whose stated vertical sigma is larger is set aside. Default 50 mm.
    pub vertical_limit: Length,
    /// A shot with a larger PDOP is set aside. Default 6, the widest class of the NGS single-base guidelines (Henning),
    /// from memory.
    pub pdop_limit: f64,
    /// A shot whose corrections were older is set aside, seconds. Default 30 s.
    pub age_limit: f64,
    /// Ground shots nearer to each other than this are repeats of one place. Default 0.10 m.
    pub repeat_distance: Length,
    /// A shot that is off its neighbours by more than this, alone, is set aside; by more than a third of it, it is told.
    /// Default 1.5 m: lone lows and highs of a metre are met on real ground, false fixes are mostly larger.
    pub gross: Length,
    /// How far a check shot may be from its mark in plan. Default 50 mm: the 95 % class for site grading of the NGS
    /// single-base guidelines (Henning), from memory.
    pub check_horizontal: Length,
    /// How far a check shot may be from its mark in height. Default 60 mm, same source.
    pub check_vertical: Length,
    /// Which latitude and longitude the files mean. Default the frame's own datum: corrections from a base or network in
    /// the national frame give positions in it.
    pub geographic: Geographic,
    /// Files that are moved as a whole: the name as the user gives it, and the step east, north and up in metres.
    pub shifts: Vec<(String, [f64; 3])>,
    /// Shots that the user leaves out, written as those of [`Self::keep`].
    pub drop: Vec<String>,
    /// Shots set aside that the user puts back: `file:point`, or `file:line` when no point has that number.
    pub keep: Vec<String>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            roles: Roles::default(),
            roughness: Length::metres(0.025),
            roughness_is_said: false,
            vertical_sigma: Length::metres(0.020),
            vertical_ppm: 1.0,
            horizontal_limit: Length::metres(0.05),
            vertical_limit: Length::metres(0.05),
            pdop_limit: 6.0,
            age_limit: 30.0,
            repeat_distance: Length::metres(0.10),
            gross: Length::metres(1.5),
            check_horizontal: Length::metres(0.05),
            check_vertical: Length::metres(0.06),
            geographic: Geographic::OwnDatum,
            shifts: Vec::new(),
            drop: Vec::new(),
            keep: Vec::new(),
        }
    }
}
