//! How point files are written, as `[survey]` or a `shots` entry says it.

use super::fault::{Fault, Located};
use super::keys::{self, Key};
use super::walk::{Shape, Table};
use crate::io::read::points::{Confidence, FileSettings, check_said};
use crate::survey::{Delimiter, Epochs};
use crate::units::{Length, LengthUnit, parse_length};

/// A point file and how it is written.
#[derive(Debug, Clone, PartialEq)]
pub struct ShotFile {
    /// As the pipeline file names it.
    pub file: Located<String>,
    /// How it is written, as far as the pipeline file says.
    pub settings: FileSettings,
    /// How the whole file is moved: east, north, up, metres.
    pub shift: Option<[f64; 3]>,
}

/// How point files are written, as far as a table says.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Manner {
    columns: Option<String>,
    delimiter: Option<Delimiter>,
    decimal_comma: Option<bool>,
    unit: Option<LengthUnit>,
    sigmas: Option<Confidence>,
    epochs: Option<Epochs>,
}

pub(super) struct MannerKeys {
    columns: &'static Key,
    delimiter: &'static Key,
    decimal: &'static Key,
    units: &'static Key,
    sigmas: &'static Key,
    epochs: &'static Key,
}

pub(super) const OF_SURVEY: MannerKeys = MannerKeys {
    columns: &keys::SURVEY_COLUMNS,
    delimiter: &keys::SURVEY_DELIMITER,
    decimal: &keys::SURVEY_DECIMAL,
    units: &keys::SURVEY_UNITS,
    sigmas: &keys::SURVEY_SIGMAS,
    epochs: &keys::SURVEY_EPOCHS,
};

const OF_FILE: MannerKeys = MannerKeys {
    columns: &keys::SHOTS_COLUMNS,
    delimiter: &keys::SHOTS_DELIMITER,
    decimal: &keys::SHOTS_DECIMAL,
    units: &keys::SHOTS_UNITS,
    sigmas: &keys::SHOTS_SIGMAS,
    epochs: &keys::SHOTS_EPOCHS,
};

pub(super) const UNITS: [(&str, LengthUnit); 4] = [
    ("metres", LengthUnit::Metres),
    ("metric", LengthUnit::Metres),
    ("feet", LengthUnit::Feet),
    ("us-survey-feet", LengthUnit::UsSurveyFeet),
];

impl Manner {
    pub(super) fn read(table: &Table<'_>, keys: &MannerKeys) -> Self {
        let delimiters = [
            ("comma", Delimiter::Comma),
            ("semicolon", Delimiter::Semicolon),
            ("tab", Delimiter::Tab),
            ("space", Delimiter::Space),
        ];
        Self {
            columns: table.text(keys.columns).map(|text| {
                if let Err(why) = check_said(&text.value) {
                    table.faults().add(Fault::new("pipeline::columns", text.span.unwrap_or_default(), why));
                }
                text.value
            }),
            delimiter: table.choice(keys.delimiter, &delimiters),
            decimal_comma: table.choice(keys.decimal, &[("point", false), ("comma", true)]),
            unit: table.choice(keys.units, &UNITS),
            sigmas: table.choice(keys.sigmas, &Confidence::NAMES),
            epochs: table.choice(keys.epochs, &Epochs::NAMES),
        }
    }

    /// A file written in this manner unless it says otherwise itself.
    fn file(&self, file: Located<String>, own: Self) -> ShotFile {
        let settings = FileSettings {
            name: Some(file.value.clone()),
            columns: own.columns.or_else(|| self.columns.clone()),
            delimiter: own.delimiter.or(self.delimiter),
            unit: own.unit.or(self.unit),
            decimal_comma: own.decimal_comma.or(self.decimal_comma).unwrap_or_default(),
            sigmas: own.sigmas.or(self.sigmas),
            epochs: own.epochs.or(self.epochs).unwrap_or_default(),
        };
        ShotFile { file, settings, shift: None }
    }

    /// A `shots` entry: a file's name, or a table with how it is written.
    pub(super) fn entry(&self, shape: &Shape<'_>) -> Option<ShotFile> {
        if shape.value.as_str().is_some() {
            return Some(self.file(shape.text()?, Self::default()));
        }
        if shape.value.as_table().is_none() {
            shape.wrong_type("a file name or a table with `file`");
            return None;
        }
        let table = shape.table("survey.shots")?;
        let file = table.text(&keys::SHOTS_FILE);
        let own = Self::read(&table, &OF_FILE);
        let shift = table.with(&keys::SHOTS_SHIFT, |shape| {
            let steps: Vec<f64> =
                shape.items().iter().filter_map(|item| item.quantity(parse_length)).map(Length::in_metres).collect();
            let three = <[f64; 3]>::try_from(steps).ok();
            if three.is_none() {
                shape.wrong_type("three lengths: east, north, up");
            }
            three
        });
        Some(ShotFile { shift, ..self.file(file?, own) })
    }
}
