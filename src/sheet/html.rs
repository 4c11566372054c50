//! Small pieces of HTML; every text that goes through here is escaped.

use crate::draw::{Scene, escape, svg};
use std::fmt::Write as _;

/// A document under way.
#[derive(Debug, Default)]
pub(super) struct Html(String);

impl Html {
    /// The text so far.
    pub(super) fn into_text(self) -> String {
        self.0
    }

    /// Opens an element with a class.
    pub(super) fn open(&mut self, element: &str, class: &str) {
        let _ = writeln!(self.0, "<{element} class=\"{class}\">");
    }

    /// Closes an element.
    pub(super) fn close(&mut self, element: &str) {
        let _ = writeln!(self.0, "</{element}>");
    }

    /// A heading of the second or third rank.
    pub(super) fn heading(&mut self, rank: u8, says: &str) {
        let _ = writeln!(self.0, "<h{rank}>{}</h{rank}>", escape(says));
    }

    /// A paragraph; an empty class leaves it plain.
    pub(super) fn paragraph(&mut self, class: &str, says: &str) {
        let class = if class.is_empty() { String::new() } else { format!(" class=\"{class}\"") };
        let _ = writeln!(self.0, "<p{class}>{}</p>", escape(says));
    }

    /// A list; numbered when the order matters.
    pub(super) fn list<T: AsRef<str>>(&mut self, numbered: bool, points: &[T]) {
        let element = if numbered { "ol" } else { "ul" };
        let _ = writeln!(self.0, "<{element}>");
        for point in points {
            // A lead-in that ends in a colon is heavy, so that a list can be run through with the eye.
            match point.as_ref().split_once(": ") {
                Some((lead, rest)) if lead.len() < 48 => {
                    let _ = writeln!(self.0, "<li><b>{}:</b> {}</li>", escape(lead), escape(rest));
                }
                _ => {
                    let _ = writeln!(self.0, "<li>{}</li>", escape(point.as_ref()));
                }
            }
        }
        let _ = writeln!(self.0, "</{element}>");
    }

    /// A table with a head that repeats on every printed page.
    pub(super) fn table(&mut self, class: &str, head: &[&str], rows: &[Vec<String>]) {
        let _ = writeln!(self.0, "<table class=\"{class}\">");
        if !head.is_empty() {
            self.0.push_str("<thead><tr>");
            for cell in head {
                let _ = write!(self.0, "<th>{}</th>", escape(cell));
            }
            self.0.push_str("</tr></thead>\n");
        }
        self.0.push_str("<tbody>\n");
        for row in rows {
            self.0.push_str("<tr>");
            for cell in row {
                let _ = write!(self.0, "<td>{}</td>", escape(cell));
            }
            self.0.push_str("</tr>\n");
        }
        self.0.push_str("</tbody></table>\n");
    }

    /// A drawing with its caption above it.
    pub(super) fn drawing(&mut self, scene: &Scene) {
        let _ = write!(self.0, "<figure><figcaption>{}</figcaption>\n{}</figure>\n", escape(&scene.title), svg(scene));
    }

    /// The head of the document up to the body.
    pub(super) fn begin(title: &str, style: &str) -> Self {
        Self(format!(
            "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" \
             content=\"width=device-width, initial-scale=1\">\n<title>{}</title>\n<style>\n{style}</style>\n</head>\n\
             <body>\n",
            escape(title)
        ))
    }

    /// The end of the document.
    pub(super) fn end(&mut self) {
        self.0.push_str("</body>\n</html>\n");
    }
}
