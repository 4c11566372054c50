//! `earth/`: how much is dug, filled and held.

use super::{Left, json, number};
use crate::earth::{QuantityRow, ThreeWays};
use crate::io::write::csv::Table;
use crate::io::write::tables::Tables;
use crate::io::{Column, ColumnKind};
use crate::pipeline::PipelineError;
use crate::pipeline::values::Values;
use serde_json::{Value as Json, json as object};
use std::path::Path;

pub(super) fn leave(values: &Values<'_>, folder: &Path) -> Result<Left, PipelineError> {
    let earth = values.earth()?;
    let frame = &values.context()?.frame;
    let found = &earth.value;
    let columns = [
        "topsoil_bank_m3",
        "cut_bank_m3",
        "key_bank_m3",
        "fill_placed_m3",
        "fill_bank_m3",
        "seat_refill_placed_m3",
        "surplus_bank_m3",
    ];
    let mut table =
        Table::new(std::iter::once(Column::text("works")).chain(columns.into_iter().map(Column::number)).collect());
    let plan = &values.plan()?.value;
    let soil = |name: &str| {
        let named = plan.named(name).zip(plan.soil_of(name));
        named.map_or_else(String::new, |(work, proof)| format!("{}, {}", work.soil.name, proof.standing().words()))
    };
    for row in found.works.iter().chain([&found.all]) {
        let mut cells = vec![row.works.as_str().into()];
        cells.extend(figures(row).map(Into::into));
        table.push(cells);
    }
    let mut tables = Tables::new(folder, frame);
    tables.table("cut-fill.csv", &table)?;

    let mut storage = Table::new(vec![
        Column::text("works"),
        Column::elevation("water_level"),
        Column::number("area_m2"),
        Column::number("volume_m3"),
        Column::number("volume_conic_m3"),
    ]);
    for pool in &found.storage {
        for stage in &pool.stages {
            storage.push(vec![
                pool.works.as_str().into(),
                stage.water_level_m.into(),
                stage.area_m2.into(),
                stage.volume_m3.into(),
                stage.volume_conic_m3.into(),
            ]);
        }
    }
    tables.table("stage-storage.csv", &storage)?;
    tables.table("three-ways.csv", &three_ways(&found.three_ways))?;
    tables.finish()?;

    let row = |row: &QuantityRow| {
        let mut object = serde_json::Map::new();
        object.insert("name".to_owned(), Json::from(row.works.as_str()));
        object.insert("soil".to_owned(), Json::from(soil(&row.works)));
        object.extend(columns.iter().zip(figures(row)).map(|(name, value)| ((*name).to_owned(), number(value))));
        object.insert("to_move_loose_m3".to_owned(), number(row.to_move_loose.in_cubic_metres()));
        object.insert("cut_area_m2".to_owned(), number(row.cut_area.in_square_metres()));
        object.insert("fill_area_m2".to_owned(), number(row.fill_area.in_square_metres()));
        Json::Object(object)
    };
    let all = &found.all;
    // Between ground and final surface as they stand: the topsoil under the seats is stripped and refilled in between.
    let seats = all.seat_refill_placed.in_cubic_metres();
    let cut = (all.topsoil_bank + all.cut_bank + all.key_bank).in_cubic_metres() - seats;
    let fill = all.fill_placed;
    json(
        &folder.join("earth.json"),
        object!({
            "cut_m3": number(cut),
            "fill_m3": number(fill.in_cubic_metres()),
            "works": found.works.iter().map(row).collect::<Vec<_>>(),
            "all": row(all),
            "three_ways": found.three_ways,
            "soil_as_met": found.soils,
        }),
        frame,
    )?;
    let surplus = all.surplus_bank.in_cubic_metres();
    Ok(Left {
        summary: format!(
            "cut {:.1} m3 bank{} and {:.1} m3 topsoil, fill {:.1} m3 placed, {} {:.1} m3 bank",
            all.cut_bank.in_cubic_metres(),
            match all.key_bank.in_cubic_metres() {
                key if key > 0.0 => format!(", {key:.1} m3 more for a key"),
                _ => String::new(),
            },
            all.topsoil_bank.in_cubic_metres(),
            fill.in_cubic_metres(),
            if surplus < 0.0 { "short of" } else { "left over" },
            surplus.abs()
        ),
        notes: earth.notes.clone(),
        ..Left::default()
    })
}

/// Cut and fill by overlay and by sections, and how far the sections are off the overlay.
fn three_ways(found: &[ThreeWays]) -> Table {
    let numbers = [
        "overlay_m3",
        "prismoidal_m3",
        "prismoidal_minus_overlay_m3",
        "of_it_curvature_m3",
        "end_area_m3",
        "end_area_minus_overlay_m3",
    ];
    let columns = [Column::text("works"), Column::text("part"), Column::new("sections", ColumnKind::Number(0))];
    let mut table = Table::new(columns.into_iter().chain(numbers.map(Column::number)).collect());
    for ways in found {
        for (part, by) in ways.cut.map(|cut| ("cut", cut)).into_iter().chain([("fill", ways.fill)]) {
            let mut cells = vec![ways.works.as_str().into(), part.into(), (ways.sections as f64).into()];
            let values = [
                by.overlay_m3,
                by.prismoidal_m3,
                by.prismoidal_m3 - by.overlay_m3,
                by.of_it_curvature_m3,
                by.end_area_m3,
                by.end_area_m3 - by.overlay_m3,
            ];
            cells.extend(values.map(Into::into));
            table.push(cells);
        }
    }
    table
}

fn figures(row: &QuantityRow) -> [f64; 7] {
    [
        row.topsoil_bank.in_cubic_metres(),
        row.cut_bank.in_cubic_metres(),
        row.key_bank.in_cubic_metres(),
        row.fill_placed.in_cubic_metres(),
        row.fill_bank.in_cubic_metres(),
        row.seat_refill_placed.in_cubic_metres(),
        row.surplus_bank.in_cubic_metres(),
    ]
}
