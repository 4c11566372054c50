//! Finding a shot by what a person writes: `day1.csv:117`, or `117` where only one file has it.

use super::{SetAside, Shot, Survey, SurveyError};

/// True when the user's name means the file: the same, or the end of its path.
pub(super) fn same_file(file: &str, named: &str) -> bool {
    file == named || file.strip_suffix(named).is_some_and(|front| front.ends_with(['/', '\\']))
}

impl Survey {
    /// The name of a shot's file.
    #[must_use]
    pub fn file_of(&self, shot: &Shot) -> &str {
        self.files.get(shot.file as usize).map_or("", String::as_str)
    }

    /// The shot that `day1.csv:117` or `117` names.
    ///
    /// # Errors
    /// [`SurveyError::Ambiguous`] lists all that have the number, [`SurveyError::SetAside`] says why it is not used, and
    /// [`SurveyError::NoSuchShot`] shows how to write one.
    pub fn find_shot(&self, wanted: &str) -> Result<&Shot, SurveyError> {
        let wanted = wanted.trim();
        let matches = |file: &str, id: &str| {
            id == wanted || wanted.rsplit_once(':').is_some_and(|(named, point)| id == point && same_file(file, named))
        };
        let found: Vec<&Shot> = self.shots.iter().filter(|shot| matches(self.file_of(shot), &shot.id)).collect();
        match found[..] {
            [shot] => {
                // The same number set aside in another file: which of the two is meant cannot be known.
                let other = |row: &&SetAside| matches(&row.file, &row.shot) && row.file != self.file_of(shot);
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
                Err(SurveyError::Ambiguous { wanted: wanted.to_owned(), found })
            }
            [] => Err(self.missing(wanted, matches)),
            _ => {
                let list: Vec<String> = found
                    .iter()
                    .map(|shot| format!("`{}:{}` (line {})", self.file_of(shot), shot.id, shot.line))
                    .collect();
                Err(SurveyError::Ambiguous { wanted: wanted.to_owned(), found: list.join(" and ") })
            }
        }
    }

    fn missing(&self, wanted: &str, matches: impl Fn(&str, &str) -> bool) -> SurveyError {
        if let Some(row) = self.set_aside.iter().find(|row| matches(&row.file, &row.shot)) {
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
        SurveyError::NoSuchShot { wanted: wanted.to_owned(), example }
    }
}
