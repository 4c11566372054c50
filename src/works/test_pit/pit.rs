//! One test pit, and what it says of a dig of some depth.
//!
//! Invariant: a pit says nothing of what lies deeper than it was dug, but for the rock that stopped it.

use crate::geom::Point;
use crate::soil::Soil;
use crate::units::Length;

/// Depths that differ by less than this are not told apart, metres; a choice of this program: layers in a pit are read off a staff on
/// a broken face.
pub(super) const READ_TO: f64 = 0.05;

/// A test pit as it was dug.
#[derive(Debug, Clone, PartialEq)]
pub struct TestPit {
    /// Its name, unique among the site's test pits.
    pub name: String,
    /// Where it was dug.
    pub place: Point,
    /// How deep it was dug below the ground there.
    pub depth: Length,
    /// What was met, from the top; the last layer ends at the bottom of the pit.
    pub layers: Vec<Layer>,
    /// Depth at which water stood in it.
    pub water: Option<Length>,
    /// Depth at which rock stopped it, its bottom.
    pub rock: Option<Length>,
    /// The day it was dug, `2026-03-02`.
    pub date: Option<String>,
}

/// A layer met in a test pit.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// What it is.
    pub met: Met,
    /// Depth of its bottom.
    pub to: Length,
    /// Length of the ribbon that its moist soil makes between thumb and finger before it breaks.
    pub ribbon: Option<Length>,
    /// What a crumb of it does in still water.
    pub crumb: Option<Crumb>,
}

/// What the water looks like in which a crumb of soil has lain still: the crumb test, ASTM D6572, whose grades are 1, 2, and 3 and
/// 4; from memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Crumb {
    /// Clear, whether the crumb falls apart or not: it does not disperse.
    Clear,
    /// A haze hangs about the crumb: it may disperse.
    Hazy,
    /// A cloud spreads over the bottom of the cup or through it: it disperses.
    Cloudy,
}

impl Crumb {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Clear, Self::Hazy, Self::Cloudy];

    /// Its word, as the pipeline file has it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Clear => "clear",
            Self::Hazy => "hazy",
            Self::Cloudy => "cloudy",
        }
    }

    /// What it says of the soil.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Clear => "that does not disperse in water (its crumb left it clear)",
            Self::Hazy => "that may disperse in water (its crumb made it hazy)",
            Self::Cloudy => "that disperses in water (its crumb made it cloudy)",
        }
    }
}

/// What a layer is.
#[derive(Debug, Clone, PartialEq)]
pub enum Met {
    /// Topsoil, which is stripped and never fill.
    Topsoil,
    /// A soil with its factors.
    Soil(Soil),
}

impl Met {
    /// Its name.
    #[must_use]
    pub fn name(&self) -> &str {
        match self {
            Self::Topsoil => "topsoil",
            Self::Soil(soil) => &soil.name,
        }
    }
}

/// What a test pit met that is not as the works take it.
#[derive(Debug, Clone, PartialEq)]
pub enum Odds {
    /// Another soil than the one taken, within the dig.
    Soil {
        /// Its name.
        met: String,
        /// Depth of its top, or of the stripped topsoil where that is deeper.
        from: Length,
        /// Depth of its bottom, or of the dig where that is less.
        to: Length,
    },
    /// Soil that goes into suspension in still water, or may: water carries it out of a bank from within.
    Disperses {
        /// Its name.
        met: String,
        /// What the crumb test showed.
        crumb: Crumb,
        /// Depth of its top, or of the stripped topsoil where that is deeper.
        from: Length,
        /// Depth of its bottom, or of the dig where that is less.
        to: Length,
    },
    /// Rock above the bottom of the dig.
    Rock(Length),
    /// Water that stood above the bottom of the dig.
    Water(Length),
}

/// What a pit says of a dig.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Says {
    /// As taken, down to its bottom.
    AsTaken,
    /// As taken as deep as it was dug, which is not deep enough.
    NotDeepEnough,
    /// Not as taken.
    Otherwise(Vec<Odds>),
}

impl TestPit {
    /// What it says of a dig of some depth that takes the ground under the topsoil to be one soil.
    pub(super) fn says(&self, taken: &Soil, topsoil: Length, dig: f64) -> Says {
        let mut odds = Vec::new();
        for (from, to, layer) in
            self.layers_between(topsoil.in_metres(), dig).filter(|(from, to, _)| to - from > READ_TO)
        {
            let as_taken = matches!(&layer.met, Met::Soil(soil) if soil == taken);
            let met = layer.met.name().to_owned();
            let (from, to) = (Length::metres(from), Length::metres(to));
            match layer.crumb.filter(|&crumb| crumb != Crumb::Clear) {
                Some(crumb) => odds.push(Odds::Disperses { met, crumb, from, to }),
                None if !as_taken => odds.push(Odds::Soil { met, from, to }),
                None => {}
            }
        }
        let above = |depth: &Length| depth.in_metres() < dig - READ_TO;
        odds.extend(self.rock.filter(above).map(Odds::Rock));
        odds.extend(self.water.filter(above).map(Odds::Water));
        if !odds.is_empty() {
            Says::Otherwise(odds)
        } else if self.depth.in_metres() < dig - READ_TO {
            Says::NotDeepEnough
        } else {
            Says::AsTaken
        }
    }

    /// The layers between two depths, each with the depths of its part between them.
    pub(super) fn layers_between(&self, from: f64, to: f64) -> impl Iterator<Item = (f64, f64, &Layer)> {
        let tops = std::iter::once(0.0).chain(self.layers.iter().map(|layer| layer.to.in_metres()));
        tops.zip(&self.layers)
            .map(move |(top, layer)| (top.max(from), layer.to.in_metres().min(to), layer))
            .filter(|(top, bottom, _)| bottom > top)
    }
}
