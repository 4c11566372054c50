//! Finding a shot by what a person writes: `day1.csv:117`, or `117` where only one file has it, or `day1.csv:line 243`
//! where a file has its number twice.

use super::{SetAside, Shot, Survey, SurveyError};

/// True when the user's name means the file: the same, or the end of its path.
pub(super) fn same_file(file: &str, named: &str) -> bool {
    file == named || file.strip_suffix(named).is_some_and(|front| front.ends_with(['/', '\\']))
}

/// The line that `line 243` means.
pub(super) fn line_of(point: &str) -> Option<u64> {
    point.strip_prefix("line")?.trim().parse().ok()
}

impl Survey {
    /// The name of a shot's file.
    #[must_use]
    pub fn file_of(&self, shot: &Shot) -> &str {
        self.files.get(shot.file as usize).map_or("", String::as_str)
    }

    /// The shot that `day1.csv:117`, `117` or `day1.csv:line 243` names.
    ///
    /// # Errors
    /// [`SurveyError::Ambiguous`] lists all that have the number, [`SurveyError::SetAside`] says why it is not used, and
    /// [`SurveyError::NoSuchShot`] shows how to write one.
    pub fn find_shot(&self, wanted: &str) -> Result<&Shot, SurveyError> {
        let wanted = wanted.trim();
        let matches = |file: &str, id: &str, line: u64| {
            let in_file =
                |(named, point): (&str, &str)| (id == point || line_of(point) == Some(line)) && same_file(file, named);
            id == wanted || wanted.rsplit_once(':').is_some_and(in_file)
        };
        let found: Vec<&Shot> =
            self.shots.iter().filter(|shot| matches(self.file_of(shot), &shot.id, shot.line)).collect();
        match found[..] {
            [shot] => {
                // The same number set aside in another file: which of the two is meant cannot be known.
                let other = |row: &&SetAside| matches(&row.file, &row.shot, row.line) && row.file != self.file_of(shot);
                let Some(row) = self.set_aside.iter().find(other) else { return Ok(shot) };
                let found = format!(
                    "`{}:{}` (line {}) and `{}:{}` (line {}, set aside: {})",
                    self.file_of(shot),
                    shot.id,
                    shot.line,
                    row.file,
                    row.shot,
                    row.line,
                    row.reason
                );
                Err(SurveyError::Ambiguous { wanted: wanted.to_owned(), found, write: "`file:point`".to_owned() })
            }
            [] => Err(self.missing(wanted, matches)),
            _ => {
                let list: Vec<String> = found
                    .iter()
                    .map(|shot| format!("`{}:{}` (line {})", self.file_of(shot), shot.id, shot.line))
                    .collect();
                // Where one file has the number twice, only the line can tell them apart.
                let first = self.file_of(found[0]);
                let write = if found.iter().skip(1).any(|shot| self.file_of(shot) == first) {
                    let lines: Vec<String> =
                        found.iter().map(|shot| format!("`{}:line {}`", self.file_of(shot), shot.line)).collect();
                    lines.join(" or ")
                } else {
                    "`file:point`".to_owned()
                };
                Err(SurveyError::Ambiguous { wanted: wanted.to_owned(), found: list.join(" and "), write })
            }
        }
    }

    fn missing(&self, wanted: &str, matches: impl Fn(&str, &str, u64) -> bool) -> SurveyError {
        if let Some(row) = self.set_aside.iter().find(|row| matches(&row.file, &row.shot, row.line)) {
            return SurveyError::SetAside {
                wanted: wanted.to_owned(),
                file: row.file.clone(),
                line: row.line,
                reason: row.reason.clone(),
                value: row.value.clone(),
            };
        }
        let example = self.shots.iter().find(|shot| !shot.id.is_empty());
        let example = example.map_or("day1.csv:117".to_owned(), |shot| format!("{}:{}", self.file_of(shot), shot.id));
        SurveyError::NoSuchShot { wanted: wanted.to_owned(), held: self.held(wanted), example }
    }

    /// What there is of the file that a name means, or which files there are, for who has named a shot that is not there.
    fn held(&self, wanted: &str) -> String {
        let Some((named, _)) = wanted.rsplit_once(':') else { return "write `file:point`".to_owned() };
        let Some(at) = self.files.iter().position(|file| same_file(file, named)) else {
            return format!("there is no file `{named}` among {}", self.files.join(", "));
        };
        let ids: Vec<&str> =
            self.shots.iter().filter(|shot| shot.file as usize == at).map(|shot| shot.id.as_str()).collect();
        match (ids.first(), ids.last()) {
            (Some(first), Some(last)) => format!("the {} shots of {named} run from `{first}` to `{last}`", ids.len()),
            _ => format!("no shot of {named} is used"),
        }
    }
}
