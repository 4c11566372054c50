//! How stakes are set out, with the defaults of the trade.

use crate::units::{Figures, Length};

/// Where stakes stand and what is written on them.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct StakeSettings {
    /// Along the line. Default 20 m (50 ft in feet): a published road layout table stakes every 20 m.
    #[serde(rename = "interval_m")]
    pub interval: Length,
    /// Along bends. Default 10 m.
    #[serde(rename = "bend_interval_m")]
    pub bend_interval: Length,
    /// A bend is a stretch of line with a lesser radius than this. Default 30 m, common practice, no source.
    #[serde(rename = "bend_radius_m")]
    pub bend_radius: Length,
    /// Distance of the offset stakes from the line, uphill: one round number for the whole run. Default 5 m.
    #[serde(rename = "offset_m")]
    pub offset: Length,
    /// True where that was not said: for a work whose dig it does not clear, it is then the least whole metre (whole 5 ft) that does.
    pub offset_grows: bool,
    /// An offset stake nearer than this to the cut's edge is warned of. Default 1 m, common practice, no source.
    #[serde(rename = "clearance_m")]
    pub clearance: Length,
    /// Along a sill. Default 2 m.
    #[serde(rename = "sill_interval_m")]
    pub sill_interval: Length,
    /// As-built shots along a sill. Default 1 m.
    #[serde(rename = "as_built_sill_m")]
    pub as_built_sill: Length,
    /// As-built shots along crest and bed. Default 10 m.
    #[serde(rename = "as_built_interval_m")]
    pub as_built_interval: Length,
    /// As-built cross sections. Default 50 m.
    #[serde(rename = "as_built_section_m")]
    pub as_built_section: Length,
    /// What a sill must lie within; `None` takes the lesser of 15 mm and a tenth of the design head.
    #[serde(rename = "sill_tolerance_m")]
    pub sill_tolerance: Option<Length>,
    /// Standard deviation of a shot's height. Default 20 mm, as in the as-built check.
    #[serde(rename = "shot_sigma_m")]
    pub shot_sigma: Length,
    /// What the built surface adds to that under the pole. Default 5 mm, as in the as-built check.
    #[serde(rename = "built_roughness_m")]
    pub built_roughness: Length,
    /// How numbers are written on stakes: as on the sheet.
    pub figures: Figures,
}

impl Default for StakeSettings {
    fn default() -> Self {
        Self {
            interval: Length::metres(20.0),
            bend_interval: Length::metres(10.0),
            bend_radius: Length::metres(30.0),
            offset: Length::metres(5.0),
            offset_grows: false,
            clearance: Length::metres(1.0),
            sill_interval: Length::metres(2.0),
            as_built_sill: Length::metres(1.0),
            as_built_interval: Length::metres(10.0),
            as_built_section: Length::metres(50.0),
            sill_tolerance: None,
            shot_sigma: Length::metres(0.020),
            built_roughness: Length::metres(0.005),
            figures: Figures::default(),
        }
    }
}
