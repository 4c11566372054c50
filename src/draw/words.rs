//! What a crew reads, by region: a table, no code.
//!
//! Invariant: one row a region, one word a thing; a side slope is always written with its letters (`2H:1V`), and the
//! word for a wall that holds water never stands for the water.

/// Whose trade words a sheet uses (`[site] region`).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Region {
    /// Australia and New Zealand.
    Au,
    /// United States.
    Us,
    /// Plain words for anywhere else.
    #[default]
    Neutral,
}

impl Region {
    /// Every region, in the order of the table.
    pub const ALL: [Self; 3] = [Self::Au, Self::Us, Self::Neutral];

    /// Its name in a pipeline file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Au => "au",
            Self::Us => "us",
            Self::Neutral => "neutral",
        }
    }

    /// Reads a region's name; `None` when it is none of ours.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|region| region.name() == name)
    }

    /// Its words.
    #[must_use]
    pub const fn words(self) -> &'static Words {
        match self {
            Self::Au => &AU,
            Self::Us => &US,
            Self::Neutral => &NEUTRAL,
        }
    }
}

/// One word, or one phrase, for each thing that regions call differently. Lower case, for the middle of a sentence.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Words {
    /// The slope of a side, horizontal to vertical.
    pub batter: &'static str,
    /// More than one of them.
    pub batters: &'static str,
    /// A height above datum.
    pub elevation: &'static str,
    /// Its short form before a number.
    pub elevation_short: &'static str,
    /// A distance along a line.
    pub station: &'static str,
    /// Its short form before a number.
    pub station_short: &'static str,
    /// What is driven into the ground.
    pub stake: &'static str,
    /// More than one of them.
    pub stakes: &'static str,
    /// One thickness of fill.
    pub layer: &'static str,
    /// More than one of them.
    pub layers: &'static str,
    /// The drawing along a line.
    pub long_section: &'static str,
    /// The drawing across a line.
    pub cross_section: &'static str,
    /// The level at which the work stands full.
    pub full_level: &'static str,
    /// The wall that holds water.
    pub wall: &'static str,
    /// The dark soil on top.
    pub topsoil: &'static str,
    /// Whom to ask about buried services.
    pub before_you_dig: &'static str,
    /// The usual sheet of paper, as a style sheet names it.
    pub paper: &'static str,
}

const AU: Words = Words {
    batter: "batter",
    batters: "batters",
    elevation: "RL",
    elevation_short: "RL",
    station: "chainage",
    station_short: "CH",
    stake: "peg",
    stakes: "pegs",
    layer: "layer",
    layers: "layers",
    long_section: "long section",
    cross_section: "cross section",
    full_level: "full supply level",
    wall: "dam wall",
    topsoil: "topsoil",
    before_you_dig: "the state's before-you-dig enquiry service",
    paper: "A4",
};

const US: Words = Words {
    batter: "side slope",
    batters: "side slopes",
    elevation: "elevation",
    elevation_short: "EL",
    station: "station",
    station_short: "STA",
    stake: "stake",
    stakes: "stakes",
    layer: "lift",
    layers: "lifts",
    long_section: "profile",
    cross_section: "cross section",
    full_level: "normal pool",
    wall: "embankment",
    topsoil: "topsoil",
    before_you_dig: "the state's one-call center",
    paper: "letter",
};

const NEUTRAL: Words = Words {
    batter: "side slope",
    batters: "side slopes",
    elevation: "elevation",
    elevation_short: "EL",
    station: "station",
    station_short: "ST",
    stake: "stake",
    stakes: "stakes",
    layer: "layer",
    layers: "layers",
    long_section: "long section",
    cross_section: "cross section",
    full_level: "full water level",
    wall: "wall",
    topsoil: "topsoil",
    before_you_dig: "the owners of every line in the ground",
    paper: "A4",
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_come_back() {
        for region in Region::ALL {
            assert_eq!(Region::from_name(region.name()), Some(region));
        }
        assert_eq!(Region::from_name("mars"), None);
    }

    #[test]
    fn no_region_says_dam_alone() {
        for region in Region::ALL {
            let all = format!("{:?}", region.words()).to_lowercase();
            assert_eq!(all.matches("dam").count(), all.matches("dam wall").count(), "{all}");
        }
    }
}
