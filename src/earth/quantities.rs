//! The quantities of a site, one row for each work and one for all of them.

use crate::soil::{BankVolume, LooseVolume, PlacedVolume};
use crate::units::Area;

/// What one work moves. A serialised key carries its unit.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct QuantityRow {
    /// The work's name; `all` for the site.
    pub works: String,
    /// Topsoil stripped from cut and seat; never fill.
    #[serde(rename = "topsoil_bank_m3")]
    pub topsoil_bank: BankVolume,
    /// Cut below the topsoil.
    #[serde(rename = "cut_bank_m3")]
    pub cut_bank: BankVolume,
    /// Cut for a key under the seat of a wall or berm; pits have none.
    #[serde(rename = "key_bank_m3")]
    pub key_bank: BankVolume,
    /// Fill above natural ground, as placed.
    #[serde(rename = "fill_placed_m3")]
    pub fill_placed: PlacedVolume,
    /// Bank earth that the fill and the seat refill take.
    #[serde(rename = "fill_bank_m3")]
    pub fill_bank: BankVolume,
    /// Fill that replaces the topsoil stripped from the seat, and what was dug for a key under it, as placed.
    #[serde(rename = "seat_refill_placed_m3")]
    pub seat_refill_placed: PlacedVolume,
    /// Cut and key minus what the fill takes; below zero the work is short of earth.
    #[serde(rename = "surplus_bank_m3")]
    pub surplus_bank: BankVolume,
    /// Everything dug, topsoil and cut, as it swells in the bucket: what the machine moves.
    #[serde(rename = "to_move_loose_m3")]
    pub to_move_loose: LooseVolume,
    /// Area dug, in plan.
    #[serde(rename = "cut_area_m2")]
    pub cut_area: Area,
    /// Area filled, in plan: the seat that is stripped.
    #[serde(rename = "fill_area_m2")]
    pub fill_area: Area,
}

/// One volume by three methods, cubic metres.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct SectionVolumes {
    /// By exact overlay of the two surfaces.
    pub overlay_m3: f64,
    /// By the prismoidal formula between cross sections, with the curvature of the line.
    pub prismoidal_m3: f64,
    /// How much of that is curvature.
    pub of_it_curvature_m3: f64,
    /// By average end areas over the same sections, as if the line were straight.
    pub end_area_m3: f64,
}

/// Cut and fill of one work by three methods.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct ThreeWays {
    /// The work's name.
    pub works: String,
    /// How many sections; the prismoidal formula takes a middle one between each two.
    pub sections: usize,
    /// Cut with its topsoil; `None` for a wall, whose spillway is not dug along its line.
    pub cut: Option<SectionVolumes>,
    /// Fill over natural ground.
    pub fill: SectionVolumes,
}

/// One water level of a pool.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct PoolStage {
    /// Elevation of the water.
    pub water_level_m: f64,
    /// Water surface.
    pub area_m2: f64,
    /// Water held below that elevation, from the surface itself.
    pub volume_m3: f64,
    /// The same by the conic formula from the areas of this table: a second method.
    pub volume_conic_m3: f64,
}

/// Water level, area and volume of a work's pool from its bed to its full level.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct StageStorage {
    /// The work's name.
    pub works: String,
    /// Levels from the bed up.
    pub stages: Vec<PoolStage>,
}

/// What the dig of a work comes to with the soil that was taken, and with what test pits met. A serialised key carries its unit.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct SoilChange {
    /// The work's name.
    pub works: String,
    /// Its cut and key below the topsoil.
    #[serde(rename = "dug_bank_m3")]
    pub dug_bank: BankVolume,
    /// In the bucket, as taken.
    #[serde(rename = "loose_m3")]
    pub loose: LooseVolume,
    /// In the bucket, as met.
    #[serde(rename = "loose_as_met_m3")]
    pub loose_as_met: LooseVolume,
    /// In the fill, as taken.
    #[serde(rename = "placed_m3")]
    pub placed: PlacedVolume,
    /// In the fill, as met.
    #[serde(rename = "placed_as_met_m3")]
    pub placed_as_met: PlacedVolume,
    /// Of it under the rock that stopped a pit.
    #[serde(rename = "rock_bank_m3")]
    pub rock_bank: BankVolume,
}

/// All quantities of a site.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Quantities {
    /// One row for each work in the order applied: the surface before it against the surface after it.
    pub works: Vec<QuantityRow>,
    /// Ground against the final surface. Rows add up to it in net, not in cut or fill, where works overlap.
    pub all: QuantityRow,
    /// Cut and fill by three methods, one row for each work along a line.
    pub three_ways: Vec<ThreeWays>,
    /// What each work's pool holds, level by level.
    pub storage: Vec<StageStorage>,
    /// Each work whose ground test pits met otherwise than it is taken.
    pub soils: Vec<SoilChange>,
}
