//! Faults as a person reads them, or as JSON. The only file that knows the diagnostics library.

use crate::exit::Exit;
use miette::{GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, SourceCode};
use serde_json::{Value as Json, json};
use std::fmt::{self, Write as _};
use std::io::{IsTerminal, Write as _};
use swalewright::notes::{Note, Place, Tidings};
use swalewright::pipeline::PipelineError;
use swalewright::pipeline::config::{Fault, Faults};

const WIDTH: usize = 110;

/// A line for a person who watches. That nobody reads it any more (a closed pipe) is no fault.
pub(crate) fn tell(text: &str) {
    let _ = writeln!(std::io::stderr().lock(), "{text}");
}

/// Tells an error on stderr, or as one JSON object on stdout.
pub(crate) fn error(error: &PipelineError, as_json: bool) {
    if as_json {
        print(&format!("{:#}", error_json(error)));
        return;
    }
    match error {
        PipelineError::File(faults) => tell(render(faults, std::io::stderr().is_terminal()).trim_end()),
        other => {
            let mut text = format!("error: {other}");
            if let Some((file, ..)) = other.place()
                && !text.contains(&file)
            {
                let _ = write!(text, " ({file})");
            }
            tell(&printable(&text));
        }
    }
}

/// Tells what is wrong with the arguments, or prints the help that was asked for.
pub(crate) fn usage(error: &clap::Error) -> Exit {
    if !error.use_stderr() {
        let _ = error.print();
        return Exit::Done;
    }
    if std::env::args_os().any(|argument| argument == "--json") {
        let text = error.to_string();
        let text = text.trim_start_matches("error: ").split("\n\n").next().unwrap_or_default().trim().to_owned();
        let told = json!({ "code": "usage", "message": text, "file": null, "line": null, "column": null });
        print(&format!("{:#}", json!({ "error": told })));
    } else {
        let _ = error.print();
    }
    Exit::BadInput
}

/// A line of the result. Whoever reads it may have gone away (a pipe to `head`): that is no fault.
pub(crate) fn print(line: &str) {
    let _ = writeln!(std::io::stdout().lock(), "{line}");
}

/// Text without control characters: names and codes come from the field and must not steer a terminal.
pub(crate) fn printable(text: &str) -> String {
    text.chars().map(|c| if c.is_control() && c != '\n' && c != '\t' { '?' } else { c }).collect()
}

/// A note in one line, with its place where its text does not name it.
pub(crate) fn note(note: &Note) -> String {
    let head = match note.tidings {
        Tidings::Doubt => "note: ",
        Tidings::Good => "",
    };
    let text = &note.text;
    match &note.place {
        Some(Place::File { file, line, .. }) if text.contains(file.as_str()) => {
            if *line == 0 || text.contains(&format!("{file}:{line}")) {
                format!("{head}{text}")
            } else {
                format!("{head}{text} (line {line})")
            }
        }
        Some(place) => format!("{head}{text} ({place})"),
        None => format!("{head}{text}"),
    }
}

fn error_json(error: &PipelineError) -> Json {
    let (file, line, column) = error.place().map_or((None, 0, 0), |(file, line, column)| (Some(file), line, column));
    let whole = |number: u64| if number == 0 { Json::Null } else { number.into() };
    let message = match error {
        PipelineError::File(faults) => faults.faults.first().map(|fault| fault.message.clone()).unwrap_or_default(),
        other => other.to_string(),
    };
    let mut told = json!({
        "code": error.code(), "message": message, "file": file, "line": whole(line), "column": whole(column),
    });
    if let PipelineError::File(faults) = error
        && faults.faults.len() > 1
    {
        told["more"] = faults.faults[1..]
            .iter()
            .map(|fault| {
                json!({ "code": fault.code, "message": fault.message, "line": fault.line, "column": fault.column })
            })
            .collect();
    }
    json!({ "error": told })
}

/// The faults of a pipeline file with the lines they stand in; a fixed look without colour off a terminal.
fn render(faults: &Faults, on_a_terminal: bool) -> String {
    let theme = if on_a_terminal && std::env::var_os("NO_COLOR").is_none() {
        GraphicalTheme::unicode()
    } else {
        GraphicalTheme::none()
    };
    let handler = GraphicalReportHandler::new_themed(theme).with_width(WIDTH).with_links(false);
    let source = NamedSource::new(faults.file.display().to_string(), faults.text.clone());
    let mut text = String::new();
    for fault in &faults.faults {
        let _ = writeln!(text, "error: {}:{}:{}: {}", faults.file.display(), fault.line, fault.column, fault.message);
        let _ = handler.render_report(&mut text, &Shown { fault, source: &source });
    }
    if faults.faults.len() > 1 {
        let _ = writeln!(text, "{} faults in {}", faults.faults.len(), faults.file.display());
    }
    text
}

/// One fault with the text it stands in.
#[derive(Debug)]
struct Shown<'a> {
    fault: &'a Fault,
    source: &'a NamedSource<String>,
}

impl fmt::Display for Shown<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.fault.code)
    }
}

impl std::error::Error for Shown<'_> {}

impl miette::Diagnostic for Shown<'_> {
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.fault.help.as_ref().map(|help| Box::new(help) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(self.source)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let own = LabeledSpan::new_primary_with_span(Some("here".to_owned()), self.fault.span.clone());
        let other =
            self.fault.other.iter().map(|(span, word)| LabeledSpan::new_with_span(Some(word.clone()), span.clone()));
        Some(Box::new(std::iter::once(own).chain(other)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_names_its_file_once_and_good_news_is_no_note() {
        let in_line = |line: u64| Place::File { file: "day1.csv".into(), line, column: 0 };
        let at = |text: &str, line: u64| note(&Note::new("a::b", text).at(in_line(line)));
        assert_eq!(at("2 shots set aside", 7), "note: 2 shots set aside (day1.csv:7)");
        assert_eq!(at("day1.csv is not checked", 0), "note: day1.csv is not checked");
        assert_eq!(at("shot 5 of day1.csv is odd", 7), "note: shot 5 of day1.csv is odd (line 7)");
        assert_eq!(at("day1.csv:7 is odd", 7), "note: day1.csv:7 is odd");
        assert_eq!(note(&Note::good("a::b", "day1.csv is checked").at(in_line(0))), "day1.csv is checked");
        let ground = Place::Ground { easting: 1.0, northing: 2.0 };
        assert_eq!(note(&Note::new("a::b", "steep").at(ground)), "note: steep (E 1.000 N 2.000)");
    }
}
