//! `[survey] grids`: grids of the ground, and what their files do not say.

use super::fault::Located;
use super::keys;
use super::manner::UNITS;
use super::walk::{Shape, Table};
use crate::io::read::grid::GridSettings;

/// A grid and what is said of it.
#[derive(Debug, Clone, PartialEq)]
pub struct GridAsked {
    /// As the pipeline file names it.
    pub file: Located<String>,
    /// What its file does not say.
    pub settings: GridSettings,
}

pub(super) fn read(table: &Table<'_>) -> Vec<GridAsked> {
    table.with(&keys::SURVEY_GRIDS, |shape| Some(shape.items().iter().filter_map(entry).collect())).unwrap_or_default()
}

/// A file's name, or a table with what is said of it.
fn entry(shape: &Shape<'_>) -> Option<GridAsked> {
    if shape.value.as_str().is_some() {
        return Some(GridAsked { file: shape.text()?, settings: GridSettings::default() });
    }
    if shape.value.as_table().is_none() {
        shape.wrong_type("a file name or a table with `file`");
        return None;
    }
    let table = shape.table("survey.grids")?;
    let settings =
        GridSettings { no_data: table.number(&keys::GRID_NO_DATA), unit: table.choice(&keys::GRID_UNITS, &UNITS) };
    Some(GridAsked { file: table.text(&keys::GRID_FILE)?, settings })
}
