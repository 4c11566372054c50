//! What a pool holds at each water level, from the designed surface.

use super::formulas::conic;
use super::quantities::{PoolStage, StageStorage};
use crate::surface::{Tin, stage_storage};
use crate::works::{Shared, SitePlan};

/// Levels between bed and full in one table.
const STEPS: u32 = 10;

/// A table for every work of the plan that holds water, on the surface that all works make.
pub(super) fn storage(plan: &SitePlan, surface: &Tin) -> Vec<StageStorage> {
    plan.shared().filter_map(|work| of_work(work, surface)).collect()
}

fn of_work(work: Shared<'_>, surface: &Tin) -> Option<StageStorage> {
    let pool = work.pool?;
    let bed = pool.bottom.in_metres();
    let full = pool.storage.spill.in_metres().min(pool.water_level.in_metres());
    let levels: Vec<f64> = (0..=STEPS).map(|step| bed + (full - bed) * f64::from(step) / f64::from(STEPS)).collect();
    // A flat bed has no water exactly at its own level; a tenth of a millimetre over it, the water covers it.
    let levels: Vec<f64> =
        levels.into_iter().enumerate().map(|(i, level)| if i == 0 { level + 1e-4 } else { level }).collect();
    let mut stages: Vec<PoolStage> = Vec::new();
    for stage in stage_storage(surface, pool.seeds, &levels) {
        let volume_conic_m3 = stages.last().map_or(stage.volume, |below| {
            below.volume_conic_m3 + conic(stage.level - below.water_level_m, below.area_m2, stage.area)
        });
        stages.push(PoolStage {
            water_level_m: stage.level,
            area_m2: stage.area,
            volume_m3: stage.volume,
            volume_conic_m3,
        });
    }
    Some(StageStorage { works: work.name.to_owned(), stages })
}
