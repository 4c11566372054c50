//! `[earth]`, `[stakes]` and `[asbuilt]`.

use super::keys::{self, Key};
use super::manner::{Manner, ShotFile};
use super::walk::{Shape, Table};
use crate::asbuilt::{GradeSettings, Tolerance};
use crate::sheet::StakeSides;
use crate::soil::{Placement, Soil};
use crate::stakeout::StakeSettings;
use crate::units::{Figures, Length, parse_length, parse_percent};

/// `[earth]`.
#[derive(Debug, Clone, PartialEq)]
pub struct EarthAsked {
    /// The soil under the topsoil.
    pub soil: Soil,
    /// How fill is put down.
    pub placement: Placement,
    /// Depth of topsoil.
    pub topsoil: Length,
    /// Height that fill loses, as a share of its settled height.
    pub settlement: f64,
    /// How far a test pit speaks for the ground.
    pub test_pit_reach: Length,
}

/// `[asbuilt]`.
#[derive(Debug, Clone, PartialEq)]
pub struct AsBuiltAsked {
    /// Files of the shots taken after the dig.
    pub files: Vec<ShotFile>,
    /// What they are held to.
    pub settings: GradeSettings,
}

pub(super) fn read(table: &Table<'_>) -> Option<EarthAsked> {
    let placement = table.choice(
        &keys::EARTH_PLACEMENT,
        &[
            ("tipped", Placement::Tipped),
            ("track-walked", Placement::TrackWalked),
            ("layered-rolled", Placement::LayeredRolled),
        ],
    );
    let soil = soil(table, &keys::EARTH_SOIL, &[], placement.unwrap_or_default());
    let topsoil = table.at_least_zero(&keys::EARTH_TOPSOIL, parse_length);
    let settlement = table.at_least_zero(&keys::EARTH_SETTLEMENT, parse_percent);
    if settlement.is_some_and(|share| share >= 1.0) {
        table.out_of_range(&keys::EARTH_SETTLEMENT, "fill cannot lose all of its height");
    }
    let settlement = settlement.unwrap_or_else(|| placement.unwrap_or_default().settlement());
    table.keep(&keys::EARTH_SETTLEMENT, format!("{} %", (settlement * 1e6).round() / 1e4).into());
    let test_pit_reach = table.above_zero(&keys::EARTH_PIT_REACH, parse_length);
    Some(EarthAsked {
        soil: soil?,
        placement: placement?,
        topsoil: topsoil?,
        settlement,
        test_pit_reach: test_pit_reach?,
    })
}

/// A soil by its name, by the name of one of the site's own, or by its own factors.
pub(super) fn soil(table: &Table<'_>, key: &'static Key, own: &[&Soil], placement: Placement) -> Option<Soil> {
    let Some(shape) = table.peek(key).filter(|shape| shape.value.as_table().is_some()) else {
        let text = table.text(key)?;
        let named = own.iter().find(|soil| soil.name == text.value).map(|soil| (*soil).clone());
        let soil = named.or_else(|| Soil::named(&text.value, placement));
        if soil.is_none()
            && let Some(shape) = table.peek(key)
        {
            let mut names = vec!["sand", "loam", "clay"];
            let layer = key.table == keys::LAYER_SOIL.table;
            for name in own.iter().map(|soil| soil.name.as_str()).chain(layer.then_some("topsoil")) {
                if !names.contains(&name) {
                    names.push(name);
                }
            }
            let names = names.join(", ");
            let accepted = format!("{names}, or a table with loose-per-bank and placed-per-bank");
            shape.not_a_choice(&text.value, &accepted);
        }
        return soil;
    };
    let own = shape.table("earth.soil")?;
    let name = own.text(&keys::SOIL_NAME);
    let factor = |key| {
        let factor = own.number(key)?;
        if factor <= 0.0 || factor > 3.0 {
            own.out_of_range(key, "a factor between bank and other volumes lies above 0 and at most at 3");
            return None;
        }
        Some(factor)
    };
    let (loose, placed) = (factor(&keys::SOIL_LOOSE), factor(&keys::SOIL_PLACED));
    table.keep(key, own.into_resolved());
    Some(Soil { name: name?.value, loose_per_bank: loose?, placed_per_bank: placed? })
}

pub(super) fn read_stakes(table: &Table<'_>, figures: Figures) -> Option<(StakeSettings, StakeSides)> {
    let sides = table
        .choice(&keys::STAKES_SIDES, &[("work-towards", StakeSides::WorkTowards), ("work-away", StakeSides::WorkAway)]);
    let above_zero = |key| table.above_zero(key, parse_length);
    let interval = above_zero(&keys::STAKES_INTERVAL);
    let bend_interval = above_zero(&keys::STAKES_BEND_INTERVAL);
    let bend_radius = above_zero(&keys::STAKES_BEND_RADIUS);
    let offset_grows = table.peek(&keys::STAKES_OFFSET).is_none();
    let offset = above_zero(&keys::STAKES_OFFSET);
    let clearance = table.at_least_zero(&keys::STAKES_CLEARANCE, parse_length);
    let sill_interval = above_zero(&keys::STAKES_SILL_INTERVAL);
    let as_built_sill = above_zero(&keys::STAKES_AS_BUILT_SILL);
    let as_built_interval = above_zero(&keys::STAKES_AS_BUILT_INTERVAL);
    let as_built_section = above_zero(&keys::STAKES_AS_BUILT_SECTION);
    let settings = StakeSettings {
        interval: interval?,
        bend_interval: bend_interval?,
        bend_radius: bend_radius?,
        offset: offset?,
        offset_grows,
        clearance: clearance?,
        sill_interval: sill_interval?,
        as_built_sill: as_built_sill?,
        as_built_interval: as_built_interval?,
        as_built_section: as_built_section?,
        figures,
        ..StakeSettings::default()
    };
    Some((settings, sides?))
}

pub(super) fn read_asbuilt(table: &Table<'_>, manner: &Manner) -> Option<AsBuiltAsked> {
    let entry = |item: &Shape<'_>| manner.entry(item);
    let files =
        table.with(&keys::ASBUILT_FILES, |shape| Some(shape.items().iter().filter_map(entry).collect::<Vec<_>>()));
    let sill = table.above_zero(&keys::ASBUILT_SILL, parse_length);
    let crest_below = table.at_least_zero(&keys::ASBUILT_CREST_BELOW, parse_length);
    let crest_above = table.at_least_zero(&keys::ASBUILT_CREST_ABOVE, parse_length);
    let bed = table.above_zero(&keys::ASBUILT_BED, parse_length);
    let other = table.above_zero(&keys::ASBUILT_OTHER, parse_length);
    let shot_sigma = table.above_zero(&keys::ASBUILT_SHOT_SIGMA, parse_length);
    let staff_sigma = table.above_zero(&keys::ASBUILT_STAFF_SIGMA, parse_length);
    let roughness = table.at_least_zero(&keys::ASBUILT_ROUGHNESS, parse_length);
    let reach = table.above_zero(&keys::ASBUILT_REACH, parse_length);
    let check_limit = table.above_zero(&keys::ASBUILT_CHECK_LIMIT, parse_length);
    let files = files?;
    if files.is_empty() {
        table.out_of_range(&keys::ASBUILT_FILES, "it names no file");
    }
    let settings = GradeSettings {
        sill: sill.map(Tolerance::both),
        crest: Tolerance { below_m: crest_below?.in_metres(), above_m: crest_above?.in_metres() },
        bed: Tolerance::both(bed?),
        other: Tolerance::both(other?),
        shot_sigma_m: shot_sigma?.in_metres(),
        staff_sigma_m: staff_sigma?.in_metres(),
        roughness_m: roughness?.in_metres(),
        reach_m: reach?.in_metres(),
        check_limit_m: check_limit?.in_metres(),
        ..GradeSettings::default()
    };
    Some(AsBuiltAsked { files, settings })
}
