//! The user's code table, and how a field code is taken apart.
//!
//! A code is a word, an optional string number (`ridge1`, `ridge 1`), optional words that begin, end, close or bend a
//! line, and free text. Shots of one word and number form one string. All of these words are the user's own; the plain
//! role names and plain English words always work.

use super::Role;
use std::collections::BTreeMap;

/// What each field code means.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Roles {
    by_code: BTreeMap<String, Role>,
    by_word: BTreeMap<String, Figure>,
}

/// What a word of the code table means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meaning {
    /// A code has this role.
    Role(Role),
    /// A word after the code does this to the line.
    Line(Figure),
}

impl Meaning {
    /// From its name as the code table writes it; `None` when it is none of ours.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        let figure = Figure::NAMES.iter().find(|(_, known)| *known == name).map(|(figure, _)| Self::Line(*figure));
        Role::from_name(name).map(Self::Role).or(figure)
    }

    /// Every name of the code table.
    pub fn names() -> impl Iterator<Item = &'static str> {
        Role::NAMES.iter().map(|(_, name)| *name).chain(Figure::NAMES.iter().map(|(_, name)| *name))
    }
}

impl Default for Roles {
    fn default() -> Self {
        let plain = Role::NAMES.iter().map(|&(role, name)| (name.to_owned(), role));
        let words = [
            ("begin", Figure::Start),
            ("start", Figure::Start),
            ("end", Figure::End),
            ("stop", Figure::End),
            ("close", Figure::Close),
            ("arc", Figure::Arc),
            ("curve", Figure::Arc),
        ];
        Self {
            by_code: plain.chain([("control".to_owned(), Role::Mark)]).collect(),
            by_word: words.map(|(word, figure)| (word.to_owned(), figure)).into(),
        }
    }
}

impl Roles {
    /// Gives a code its meaning; a later word on the same code wins. Case does not matter.
    pub fn set(&mut self, code: &str, role: Role) {
        self.by_code.insert(code.trim().to_lowercase(), role);
    }

    /// Gives a word behind a code its meaning for lines. Case does not matter.
    pub fn set_word(&mut self, word: &str, figure: Figure) {
        self.by_word.insert(word.trim().to_lowercase(), figure);
    }

    /// Gives a word of the table its meaning.
    pub fn set_meaning(&mut self, word: &str, meaning: Meaning) {
        match meaning {
            Meaning::Role(role) => self.set(word, role),
            Meaning::Line(figure) => self.set_word(word, figure),
        }
    }

    /// The plain names with the user's own codes over them.
    #[must_use]
    pub fn with<'a>(codes: impl IntoIterator<Item = (Role, &'a str)>) -> Self {
        let mut roles = Self::default();
        codes.into_iter().for_each(|(role, code)| roles.set(code, role));
        roles
    }

    /// Takes a code apart.
    #[must_use]
    pub fn read(&self, code: &str) -> CodeRead {
        let mut words = code.split(|c: char| c.is_whitespace() || matches!(c, ',' | ';')).filter(|w| !w.is_empty());
        let Some(first) = words.next() else { return CodeRead::default() };
        let first = first.to_lowercase();
        let rest: Vec<&str> = words.collect();
        let stem = first.trim_end_matches(|c: char| c.is_ascii_digit());
        let (word, mut number) = if self.by_code.contains_key(&first) || stem.is_empty() {
            (first.clone(), String::new())
        } else {
            (stem.trim_end_matches(['-', '_', '.']).to_owned(), first[stem.len()..].to_owned())
        };
        let mut rest = rest.as_slice();
        if let (true, [next, others @ ..]) = (number.is_empty(), rest)
            && next.chars().all(|c| c.is_ascii_digit())
        {
            (*next).clone_into(&mut number);
            rest = others;
        }
        let (mut figure, mut arc) = (None, false);
        for text in rest {
            match self.by_word.get(&text.to_lowercase()) {
                Some(Figure::Arc) => arc = true,
                found => figure = figure.or(found.copied()),
            }
        }
        CodeRead { role: self.by_code.get(&word).copied(), word, number, figure, arc, rest: rest.join(" ") }
    }
}

/// What a word behind a code does to the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Figure {
    /// A new line begins here.
    Start,
    /// The line ends here.
    End,
    /// The line ends here and returns to its first shot.
    Close,
    /// The line bends here in an arc.
    Arc,
}

impl Figure {
    /// Each with its name as the code table writes it.
    pub const NAMES: [(Self, &'static str); 4] =
        [(Self::Start, "line-begin"), (Self::End, "line-end"), (Self::Close, "line-close"), (Self::Arc, "line-arc")];
}

/// A field code taken apart.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct CodeRead {
    /// Its role, `None` when the table does not know the word.
    pub role: Option<Role>,
    /// The word in lower case, without its number.
    pub word: String,
    /// The string number, empty when there is none.
    pub number: String,
    /// Whether it begins or ends a line.
    pub figure: Option<Figure>,
    /// True when the line bends here in an arc.
    pub arc: bool,
    /// What follows, as written.
    pub rest: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn roles() -> Roles {
        Roles::with([(Role::Breakline, "ridge"), (Role::Mark, "CP"), (Role::Ground, "gs"), (Role::Built, "t2")])
    }

    #[test]
    fn numbers_may_be_joined_or_apart() {
        for code in ["ridge1", "RIDGE 1", "ridge_1", "Ridge1, start by the tree"] {
            let read = roles().read(code);
            assert_eq!((read.role, read.word.as_str(), read.number.as_str()), (Some(Role::Breakline), "ridge", "1"));
        }
        assert_eq!(roles().read("ridge 1 begin").figure, Some(Figure::Start));
        assert_eq!(roles().read("ridge1 close").figure, Some(Figure::Close));
    }

    #[test]
    fn words_that_make_lines_are_the_users_own() {
        let mut roles = roles();
        assert_eq!(roles.read("TOB1 B").figure, None, "letters mean nothing unless the table says so");
        roles.set_meaning("B", Meaning::from_name("line-begin").unwrap());
        roles.set_meaning("e", Meaning::from_name("line-end").unwrap());
        roles.set_meaning("pc", Meaning::from_name("line-arc").unwrap());
        let told = |code: &str| {
            let read = roles.read(code);
            (read.word, read.number, read.figure, read.arc)
        };
        let line = |figure, arc| ("tob".to_owned(), "1".to_owned(), figure, arc);
        assert_eq!(told("TOB1 B"), line(Some(Figure::Start), false));
        assert_eq!(told("TOB1 PC B"), line(Some(Figure::Start), true));
        assert_eq!(told("tob 1 e"), line(Some(Figure::End), false));
        assert_eq!(told("tob1 curve"), line(None, true));
        assert_eq!(Meaning::from_name("line-wiggle"), None);
        assert_eq!(Meaning::names().count(), 17);
    }

    #[test]
    fn a_code_with_a_digit_of_its_own_beats_the_number() {
        assert_eq!(roles().read("t2").role, Some(Role::Built));
        assert_eq!(roles().read("t3").role, None);
        assert_eq!(roles().read("12").word, "12");
        assert_eq!(roles().read(""), CodeRead::default());
    }

    #[test]
    fn plain_role_names_always_work() {
        for (role, name) in Role::NAMES {
            assert_eq!(roles().read(name).role, Some(role), "{name}");
        }
        assert_eq!(roles().read("keep-out fig tree").rest, "fig tree");
    }
}
