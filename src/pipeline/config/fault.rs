//! Faults of a pipeline file: every one with its place, what was found and what is accepted.
//!
//! Invariant: a file with several faults gives all of them at once, in the order of the file.

use std::cell::RefCell;
use std::ops::Range;
use std::path::PathBuf;

/// A stretch of the file's text, in bytes.
pub type Span = Range<usize>;

/// A value and where it stands in the file.
#[derive(Debug, Clone, PartialEq)]
pub struct Located<T> {
    /// The value.
    pub value: T,
    /// Where it stands; `None` for a default.
    pub span: Option<Span>,
}

impl<T> Located<T> {
    /// A value from the file.
    pub const fn new(value: T, span: Span) -> Self {
        Self { value, span: Some(span) }
    }

    /// The same place with another value.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Located<U> {
        Located { value: change(self.value), span: self.span }
    }
}

/// One fault of a pipeline file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Stable name, such as `pipeline::unknown-key`.
    pub code: &'static str,
    /// What is wrong, with what was found.
    pub message: String,
    /// What to write instead.
    pub help: Option<String>,
    /// Where in the text.
    pub span: Span,
    /// A second place that belongs to it, with a word on it.
    pub other: Option<(Span, String)>,
    /// Line of the place, from one.
    pub line: u64,
    /// Column of the place in characters, from one.
    pub column: u64,
}

/// All faults of one pipeline file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Faults {
    /// The file as the user named it.
    pub file: PathBuf,
    /// Its text.
    pub text: String,
    /// At least one, in the order of the file.
    pub faults: Vec<Fault>,
}

impl Faults {
    /// Faults of a text, sorted by place.
    #[must_use]
    pub fn new(file: PathBuf, text: &str, mut faults: Vec<Fault>) -> Self {
        faults.sort_by_key(|fault| fault.span.start);
        for fault in &mut faults {
            (fault.line, fault.column) = line_and_column(text, fault.span.start);
        }
        Self { file, text: text.to_owned(), faults }
    }
}

impl std::fmt::Display for Faults {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for (index, fault) in self.faults.iter().enumerate() {
            if index > 0 {
                writeln!(f)?;
            }
            write!(f, "{}:{}:{}: {}", self.file.display(), fault.line, fault.column, fault.message)?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}

impl Fault {
    /// A fault at a place.
    pub fn new(code: &'static str, span: Span, message: impl Into<String>) -> Self {
        Self { code, message: message.into(), help: None, span, other: None, line: 0, column: 0 }
    }

    /// With a word on what to write instead.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// With a second place that belongs to it.
    #[must_use]
    pub fn beside(mut self, span: Span, word: impl Into<String>) -> Self {
        self.other = Some((span, word.into()));
        self
    }
}

/// Gathers faults while a file is read.
#[derive(Debug, Default)]
pub(super) struct Gathered {
    faults: RefCell<Vec<Fault>>,
}

impl Gathered {
    pub(super) fn add(&self, fault: Fault) {
        self.faults.borrow_mut().push(fault);
    }

    pub(super) fn is_empty(&self) -> bool {
        self.faults.borrow().is_empty()
    }

    pub(super) fn finish(self, file: PathBuf, text: &str) -> Faults {
        Faults::new(file, text, self.faults.into_inner())
    }
}

/// Line and column of a byte in a text, from one; columns count characters.
#[must_use]
pub fn line_and_column(text: &str, byte: usize) -> (u64, u64) {
    let mut end = byte.min(text.len());
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    let before = &text[..end];
    let line = before.matches('\n').count() as u64 + 1;
    let column = before.rsplit('\n').next().unwrap_or("").chars().count() as u64 + 1;
    (line, column)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_characters_not_bytes() {
        let text = "a = 1\nbé = 2\n";
        assert_eq!(line_and_column(text, 0), (1, 1));
        assert_eq!(line_and_column(text, text.find("= 2").unwrap()), (2, 4));
        assert_eq!(line_and_column(text, 999), (3, 1));
    }
}
