//! The user's code table, and how a field code is taken apart.
//!
//! A code is a word, an optional string number (`ridge1`, `ridge 1`), optional words that begin, end or close a line,
//! and free text. Shots of one word and number form one string. The words are the user's own; the plain role names
//! always work.

use super::Role;
use std::collections::BTreeMap;

/// What each field code means.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Roles {
    by_code: BTreeMap<String, Role>,
}

impl Default for Roles {
    fn default() -> Self {
        let plain = Role::NAMES.iter().map(|&(role, name)| (name.to_owned(), role));
        Self { by_code: plain.chain([("control".to_owned(), Role::Mark)]).collect() }
    }
}

impl Roles {
    /// Gives a code its meaning; a later word on the same code wins. Case does not matter.
    pub fn set(&mut self, code: &str, role: Role) {
        self.by_code.insert(code.trim().to_lowercase(), role);
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
        let mut figure = None;
        for text in rest {
            figure = figure.or(match text.to_lowercase().as_str() {
                "start" | "begin" => Some(Figure::Start),
                "end" => Some(Figure::End),
                "close" => Some(Figure::Close),
                _ => None,
            });
        }
        CodeRead { role: self.by_code.get(&word).copied(), word, number, figure, rest: rest.join(" ") }
    }
}

/// A word in a code that begins or ends a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Figure {
    /// A new line begins here.
    Start,
    /// The line ends here.
    End,
    /// The line ends here and returns to its first shot.
    Close,
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
