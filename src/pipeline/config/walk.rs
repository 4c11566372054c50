//! Walks a parsed TOML table: every key is looked up by its declaration in [`super::keys`], so that a key that is not
//! declared is a fault, a default is written in one place, and the settings as resolved are kept for the manifest.
//!
//! Why not a derived reader: that stops at the first fault, and a file written by hand deserves all of them at once.

use super::fault::{Fault, Gathered, Located, Span};
use super::keys::{Fallback, KEYS, Key};
use crate::units::ParseError;
use serde_json::Value as Json;
use std::cell::RefCell;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// One table of the file while it is read.
pub(super) struct Table<'t> {
    /// Name in the declarations, such as `swale.berm`.
    name: &'static str,
    /// The place of its header.
    span: Span,
    entries: &'t DeTable<'t>,
    faults: &'t Gathered,
    resolved: RefCell<serde_json::Map<String, Json>>,
}

impl<'t> Table<'t> {
    /// A table whose keys are all declared; the others are faults.
    pub(super) fn new(name: &'static str, span: Span, entries: &'t DeTable<'t>, faults: &'t Gathered) -> Self {
        let known: Vec<&str> = KEYS.iter().filter(|key| key.table == name).map(|key| key.name).collect();
        for key in entries.keys() {
            if !known.contains(&key.get_ref().as_ref()) {
                let later = LATER.iter().find(|(table, word)| *table == name && word == key.get_ref());
                faults.add(if later.is_some() {
                    Fault::new(
                        "pipeline::not-in-this-version",
                        key.span(),
                        format!("`{}` is not in this version", key.get_ref()),
                    )
                } else {
                    Fault::new(
                        "pipeline::unknown-key",
                        key.span(),
                        format!("unknown key `{}` {}", key.get_ref(), place_of(name)),
                    )
                    .help(format!(
                        "{}accepted here: {}",
                        meant(key.get_ref(), &known),
                        known.join(", ")
                    ))
                });
            }
        }
        Self { name, span, entries, faults, resolved: RefCell::default() }
    }

    pub(super) const fn faults(&self) -> &'t Gathered {
        self.faults
    }

    pub(super) fn span(&self) -> Span {
        self.span.clone()
    }

    fn place(&self) -> String {
        place_of(self.name)
    }

    /// What was read, defaults filled in.
    pub(super) fn into_resolved(self) -> Json {
        Json::Object(self.resolved.into_inner())
    }

    /// Keeps a value that was resolved by other means than the methods here.
    pub(super) fn keep(&self, key: &Key, value: Json) {
        self.resolved.borrow_mut().insert(key.name.to_owned(), value);
    }

    /// The value as it stands, noted as missing when it must be there.
    pub(super) fn value(&self, key: &'static Key) -> Option<&'t Spanned<DeValue<'t>>> {
        debug_assert_eq!(key.table, self.name, "key {} belongs to another table", key.name);
        let found = self.entries.get(key.name);
        match found {
            Some(value) => self.keep(key, json_of(value.get_ref())),
            None => match key.fallback {
                Fallback::Required => self.faults.add(
                    Fault::new(
                        "pipeline::missing-key",
                        self.span(),
                        format!("`{}` is missing {}", key.name, self.place()),
                    )
                    .help(format!("write it as {}", key.takes)),
                ),
                Fallback::Value(text) => self.keep(key, Json::String(text.to_owned())),
                Fallback::Absent(_) => {}
            },
        }
        found
    }

    /// The value as it stands, without a word when it is missing.
    pub(super) fn peek(&self, key: &'static Key) -> Option<Shape<'t>> {
        let value = self.entries.get(key.name)?;
        Some(Shape { key, value: value.get_ref(), span: value.span(), faults: self.faults })
    }

    /// Reads a value of any shape with its own reader; `None` when it is absent or faulty.
    pub(super) fn with<T>(&self, key: &'static Key, read: impl FnOnce(&Shape<'t>) -> Option<T>) -> Option<T> {
        let value = self.value(key)?;
        read(&Shape { key, value: value.get_ref(), span: value.span(), faults: self.faults })
    }

    /// A text, or the declared default.
    pub(super) fn text(&self, key: &'static Key) -> Option<Located<String>> {
        match self.value(key) {
            Some(value) => Shape { key, value: value.get_ref(), span: value.span(), faults: self.faults }.text(),
            None => match key.fallback {
                Fallback::Value(text) => Some(Located { value: text.to_owned(), span: None }),
                _ => None,
            },
        }
    }

    /// A number with its unit, or the declared default.
    pub(super) fn quantity<T>(&self, key: &'static Key, parse: fn(&str) -> Result<T, ParseError>) -> Option<T> {
        match self.value(key) {
            Some(value) => {
                Shape { key, value: value.get_ref(), span: value.span(), faults: self.faults }.quantity(parse)
            }
            None => match key.fallback {
                Fallback::Value(text) => parse(text).ok(),
                _ => None,
            },
        }
    }

    /// A number with its unit that must not be below zero, or the declared default.
    pub(super) fn at_least_zero<T: PartialOrd + Default>(
        &self,
        key: &'static Key,
        parse: fn(&str) -> Result<T, ParseError>,
    ) -> Option<T> {
        let value = self.quantity(key, parse)?;
        if value >= T::default() {
            return Some(value);
        }
        self.out_of_range(key, "it may not be below zero");
        None
    }

    /// A number with its unit that must be above zero, or the declared default.
    pub(super) fn above_zero<T: PartialOrd + Default>(
        &self,
        key: &'static Key,
        parse: fn(&str) -> Result<T, ParseError>,
    ) -> Option<T> {
        let value = self.quantity(key, parse)?;
        if value > T::default() {
            return Some(value);
        }
        self.out_of_range(key, "it must be above zero");
        None
    }

    /// Notes that a value cannot be meant.
    pub(super) fn out_of_range(&self, key: &'static Key, why: &str) {
        if let Some(value) = self.entries.get(key.name) {
            let found = shown(value.get_ref());
            self.faults.add(Fault::new(
                "pipeline::out-of-range",
                value.span(),
                format!("`{}` is {found}: {why}", key.name),
            ));
        }
    }

    /// One of a few words, or the declared default.
    pub(super) fn choice<T: Clone>(&self, key: &'static Key, choices: &[(&str, T)]) -> Option<T> {
        let text = self.text(key)?;
        choose(&text.value, text.span, key, choices, self.faults)
    }

    /// True or false, or the declared default.
    pub(super) fn flag(&self, key: &'static Key) -> Option<bool> {
        let Some(value) = self.value(key) else {
            return Some(key.fallback == Fallback::Value("true"));
        };
        let flag = value.get_ref().as_bool();
        if flag.is_none() {
            self.wrong_type(key, "true or false");
        }
        flag
    }

    /// A bare number.
    pub(super) fn number(&self, key: &'static Key) -> Option<f64> {
        let value = self.value(key)?;
        let number = number_of(value.get_ref());
        if number.is_none() {
            self.wrong_type(key, "a number");
        }
        number
    }

    /// A list of texts; a single text counts as a list of one.
    pub(super) fn texts(&self, key: &'static Key) -> Vec<Located<String>> {
        self.with(key, |shape| Some(shape.items().iter().filter_map(Shape::text).collect())).unwrap_or_default()
    }

    /// Notes that the value of a key is of the wrong type.
    pub(super) fn wrong_type(&self, key: &'static Key, accepted: &str) {
        if let Some(value) = self.entries.get(key.name) {
            Shape { key, value: value.get_ref(), span: value.span(), faults: self.faults }.wrong_type(accepted);
        }
    }
}

/// A value of a key while it is read.
#[derive(Clone)]
pub(super) struct Shape<'t> {
    pub(super) key: &'static Key,
    pub(super) value: &'t DeValue<'t>,
    pub(super) span: Span,
    pub(super) faults: &'t Gathered,
}

impl<'t> Shape<'t> {
    /// Notes that the value is of the wrong type.
    pub(super) fn wrong_type(&self, accepted: &str) {
        self.faults.add(
            Fault::new(
                "pipeline::wrong-type",
                self.span.clone(),
                format!("`{}` is {}, not {accepted}", self.key.name, shown(self.value)),
            )
            .help(format!("write it as {}", self.key.takes)),
        );
    }

    /// The value as text.
    pub(super) fn text(&self) -> Option<Located<String>> {
        match self.value.as_str() {
            Some(text) if !text.trim().is_empty() => Some(Located::new(text.to_owned(), self.span.clone())),
            _ => {
                self.wrong_type("a text in quotes");
                None
            }
        }
    }

    /// The value as a number with its unit.
    pub(super) fn quantity<T>(&self, parse: fn(&str) -> Result<T, ParseError>) -> Option<T> {
        let text = match self.value {
            DeValue::String(text) => text.to_string(),
            DeValue::Integer(number) => number.to_string(),
            DeValue::Float(number) => number.to_string(),
            _ => {
                self.wrong_type("a number with its unit");
                return None;
            }
        };
        parse(&text)
            .map_err(|error| {
                let code = match error {
                    ParseError::NoUnit { .. } => "pipeline::missing-unit",
                    ParseError::UnknownUnit { .. } => "pipeline::unknown-unit",
                    ParseError::OutOfRange { .. } => "pipeline::out-of-range",
                    _ => "pipeline::not-a-quantity",
                };
                let message = format!("`{}`: {error}", self.key.name);
                self.faults
                    .add(Fault::new(code, self.span.clone(), message).help(format!("write it as {}", self.key.takes)));
            })
            .ok()
    }

    /// The value's entries, when it is a list, else the value itself as the only one.
    pub(super) fn items(&self) -> Vec<Self> {
        match self.value.as_array() {
            Some(list) => list
                .iter()
                .map(|item| Self { key: self.key, value: item.get_ref(), span: item.span(), faults: self.faults })
                .collect(),
            None => vec![self.clone()],
        }
    }

    /// The value as a table of the declarations.
    pub(super) fn table(&self, name: &'static str) -> Option<Table<'t>> {
        let Some(entries) = self.value.as_table() else {
            self.wrong_type("a table");
            return None;
        };
        Some(Table::new(name, self.span.clone(), entries, self.faults))
    }

    /// The number of a point class.
    pub(super) fn class(&self) -> Option<u8> {
        let class = number_of(self.value).filter(|number| number.fract() == 0.0 && (0.0..=255.0).contains(number));
        if class.is_none() {
            self.wrong_type("class numbers from 0 to 255");
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a whole number from 0 to 255")]
        class.map(|number| number as u8)
    }

    /// A pair of coordinates: easting, northing in the frame's units.
    pub(super) fn pair(&self) -> Option<Located<(f64, f64)>> {
        let numbers: Option<Vec<f64>> =
            self.value.as_array().map(|list| list.iter().filter_map(|item| number_of(item.get_ref())).collect());
        match numbers.as_deref() {
            Some(&[easting, northing]) if self.value.as_array().is_some_and(|list| list.len() == 2) => {
                Some(Located::new((easting, northing), self.span.clone()))
            }
            _ => {
                self.wrong_type("a pair of bare numbers, [easting, northing]");
                None
            }
        }
    }

    /// The only key of a one-key table; a fault when there are none or several.
    pub(super) fn only_key(&self) -> Option<(&'t str, Self)> {
        let entries = self.value.as_table()?;
        let mut found = entries.iter();
        if let (Some((name, value)), None) = (found.next(), found.next()) {
            let own = Self { key: self.key, value: value.get_ref(), span: value.span(), faults: self.faults };
            return Some((name.get_ref().as_ref(), own));
        }
        let message = format!("`{}` takes exactly one of its choices, found {}", self.key.name, entries.len());
        self.faults.add(
            Fault::new("pipeline::one-choice", self.span.clone(), message)
                .help(format!("write it as {}", self.key.takes)),
        );
        None
    }

    /// Notes a word that is none of the accepted ones.
    pub(super) fn not_a_choice(&self, found: &str, accepted: &str) {
        self.faults.add(
            Fault::new(
                "pipeline::unknown-choice",
                self.span.clone(),
                format!("`{}` cannot be `{found}`", self.key.name),
            )
            .help(format!("accepted: {accepted}")),
        );
    }
}

/// Keys and tables of a later version, told apart from misspelt ones.
const LATER: &[(&str, &str)] = &[("", "machine"), ("", "haul"), ("", "water"), ("", "rain"), ("", "places")];

fn place_of(table: &str) -> String {
    if table.is_empty() { "at the top of the file".to_owned() } else { format!("in [{table}]") }
}

fn choose<T: Clone>(text: &str, span: Option<Span>, key: &Key, choices: &[(&str, T)], faults: &Gathered) -> Option<T> {
    if let Some((_, value)) = choices.iter().find(|(word, _)| *word == text) {
        return Some(value.clone());
    }
    let accepted: Vec<&str> = choices.iter().map(|(word, _)| *word).collect();
    faults.add(
        Fault::new("pipeline::unknown-choice", span.unwrap_or(0..0), format!("`{}` cannot be `{text}`", key.name))
            .help(format!("accepted: {}", accepted.join(", "))),
    );
    None
}

/// A whole or decimal number; `None` for anything else, infinities and NaN included.
pub(super) fn number_of(value: &DeValue<'_>) -> Option<f64> {
    let number: f64 = match value {
        DeValue::Integer(number) if number.radix() == 10 => number.as_str().parse().ok()?,
        DeValue::Float(number) => number.as_str().parse().ok()?,
        _ => return None,
    };
    number.is_finite().then_some(number)
}

/// A value as a message shows it.
pub(super) fn shown(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("\"{text}\""),
        DeValue::Integer(number) => number.to_string(),
        DeValue::Float(number) => number.to_string(),
        DeValue::Boolean(flag) => flag.to_string(),
        DeValue::Datetime(date) => date.to_string(),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    }
}

/// A value for the manifest.
fn json_of(value: &DeValue<'_>) -> Json {
    match value {
        DeValue::String(text) => Json::String(text.to_string()),
        DeValue::Integer(_) | DeValue::Float(_) => {
            number_of(value).and_then(serde_json::Number::from_f64).map_or(Json::Null, Json::Number)
        }
        DeValue::Boolean(flag) => Json::Bool(*flag),
        DeValue::Datetime(date) => Json::String(date.to_string()),
        DeValue::Array(list) => Json::Array(list.iter().map(|item| json_of(item.get_ref())).collect()),
        DeValue::Table(table) => Json::Object(
            table.iter().map(|(name, value)| (name.get_ref().to_string(), json_of(value.get_ref()))).collect(),
        ),
    }
}

/// The key that was meant, where one differs in a few letters.
fn meant(found: &str, known: &[&str]) -> String {
    let near = known.iter().map(|name| (strsim::damerau_levenshtein(found, name), *name)).min();
    let near = near.filter(|(letters, name)| *letters * 3 <= name.len());
    near.map_or_else(String::new, |(_, name)| format!("did you mean `{name}`? "))
}
