//! The stages in the order they run.

/// One stage of a run; each leaves one folder of its own name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// Shots read, checked and brought into one frame.
    Survey,
    /// The triangulated ground.
    Ground,
    /// Swales and spillways, and the surface they make.
    Works,
    /// Cut, fill, topsoil and storage.
    Earth,
    /// Stakes and the list of as-built shots.
    Stakes,
    /// What the crew reads.
    Sheets,
    /// As-built shots against the works.
    #[serde(rename = "asbuilt")]
    AsBuilt,
}

impl Stage {
    /// All of them, in order.
    pub const ALL: [Self; 7] =
        [Self::Survey, Self::Ground, Self::Works, Self::Earth, Self::Stakes, Self::Sheets, Self::AsBuilt];

    /// Its name: of its folder, in messages, for `--until`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Survey => "survey",
            Self::Ground => "ground",
            Self::Works => "works",
            Self::Earth => "earth",
            Self::Stakes => "stakes",
            Self::Sheets => "sheets",
            Self::AsBuilt => "asbuilt",
        }
    }

    /// From its name.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|stage| stage.name() == name)
    }

    /// The stages whose results it takes.
    #[must_use]
    pub const fn takes(self) -> &'static [Self] {
        match self {
            Self::Survey => &[],
            Self::Ground => &[Self::Survey],
            Self::Works => &[Self::Survey, Self::Ground],
            Self::Earth | Self::Stakes => &[Self::Ground, Self::Works],
            Self::Sheets => &[Self::Survey, Self::Ground, Self::Works, Self::Earth, Self::Stakes],
            // Stations of level books are names of stakes.
            Self::AsBuilt => &[Self::Survey, Self::Ground, Self::Works, Self::Stakes],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Stage;

    #[test]
    fn a_stage_takes_only_from_stages_before_it() {
        for stage in Stage::ALL {
            assert!(stage.takes().iter().all(|before| *before < stage), "{}", stage.name());
            assert_eq!(Stage::from_name(stage.name()), Some(stage));
        }
    }
}
