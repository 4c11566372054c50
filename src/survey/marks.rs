//! Check shots on known marks: how far each is from the mark's given place.
//!
//! A shot of role mark gives the mark's place: it comes from a list of control, or is the first shot on a mark of one's
//! own. A later shot of role mark with the same name, and every shot of role check, is an observation of it. A check shot
//! names its mark after its code (`check CP1`), by its string number (`chk1` for `cp1`), or by standing within five metres
//! of one. Of a survey that was fitted to known marks only those count here that the others check. A check shot before a file's first working shot opens the file, one after its last closes it.

use super::candidate::Candidate;
use super::{CheckAt, CheckShot, FitReport, Role, Settings};
use crate::notes::{Note, Place};
use std::collections::BTreeMap;

/// A check shot that names no mark belongs to one this near, metres.
const NEAR: f64 = 5.0;

/// A mark with its given place.
#[derive(Debug)]
struct Mark {
    index: usize,
    names: Vec<String>,
}

/// Compares check shots with their marks and tells the outcome for each file.
pub(super) fn checks(
    all: &[Candidate],
    files: &[String],
    settings: &Settings,
    fit: Option<&FitReport>,
    notes: &mut Vec<Note>,
) -> Vec<CheckShot> {
    let mut marks: Vec<Mark> = Vec::new();
    let mut observed: Vec<(usize, usize)> = Vec::new();
    for (i, candidate) in all.iter().enumerate().filter(|(_, c)| c.stands() && c.shot.role == Role::Mark) {
        let names = names(candidate);
        match marks.iter().position(|mark| mark.names.first() == names.first()) {
            Some(mark) => observed.push((i, mark)),
            None => marks.push(Mark { index: i, names }),
        }
    }
    let mut lost: BTreeMap<u32, Vec<String>> = BTreeMap::new();
    for (i, candidate) in all.iter().enumerate().filter(|(_, c)| c.stands() && c.shot.role == Role::Check) {
        match mark_of(candidate, all, &marks) {
            Some(mark) => observed.push((i, mark)),
            None => lost.entry(candidate.shot.file).or_default().push(shown(candidate)),
        }
    }
    observed.sort_unstable();
    for (file, shots) in lost {
        let text = format!("check shots on no known mark: {}", super::list_some(&shots, 6));
        notes.push(Note::new("survey::check-without-mark", text).at(whole(files, file)));
    }
    // What the survey was fitted to agrees with it whatever it is, unless other marks have a say.
    let rests_on = |mark: usize| fit.is_some_and(|fit| marks[mark].names.iter().any(|name| fit.rests_on(name)));
    let (resting, observed): (Vec<_>, Vec<_>) = observed.into_iter().partition(|&(_, mark)| rests_on(mark));
    let checks: Vec<CheckShot> =
        observed.into_iter().map(|(i, mark)| compare(all, files, i, &marks[mark], settings)).collect();
    for (index, file) in files.iter().enumerate() {
        let index = u32::try_from(index).unwrap_or(u32::MAX);
        if working(all, index).is_some() {
            let of_file: Vec<&CheckShot> = checks.iter().filter(|check| check.file == *file).collect();
            let mut rests: Vec<String> = Vec::new();
            for &(_, mark) in resting.iter().filter(|&&(i, _)| all[i].shot.file == index) {
                let name = mark_name(&all[marks[mark].index]);
                if !rests.contains(&name) {
                    rests.push(name);
                }
            }
            notes.push(verdict(file, &of_file, &rests, settings).at(whole(files, index)));
        }
    }
    checks
}

fn whole(files: &[String], file: u32) -> Place {
    Place::File { file: files[file as usize].clone(), line: 0, column: 0 }
}

fn shown(candidate: &Candidate) -> String {
    if candidate.shot.id.is_empty() { format!("line {}", candidate.shot.line) } else { candidate.shot.id.clone() }
}

/// What a mark is called: the words after its code, else code with string number, else its point number; then the
/// others, all in lower case.
fn names(candidate: &Candidate) -> Vec<String> {
    let read = &candidate.read;
    let numbered = if read.number.is_empty() { String::new() } else { format!("{}{}", read.word, read.number) };
    let first_word = read.rest.split_whitespace().next().unwrap_or_default().to_owned();
    [first_word, numbered, candidate.shot.id.clone()]
        .into_iter()
        .filter(|name| !name.is_empty())
        .map(|name| name.to_lowercase())
        .collect()
}

fn mark_of(check: &Candidate, all: &[Candidate], marks: &[Mark]) -> Option<usize> {
    let said = check.read.rest.to_lowercase();
    let by_name = |name: &str| marks.iter().position(|mark| mark.names.iter().any(|known| known == name));
    let named = said.split_whitespace().find_map(by_name);
    let numbered = || {
        let number = check.read.number.as_str();
        let mut same =
            marks.iter().enumerate().filter(|(_, m)| !number.is_empty() && all[m.index].read.number == number);
        let only = same.next().map(|(at, _)| at);
        only.filter(|_| same.next().is_none())
    };
    let by_id = || by_name(&check.shot.id.to_lowercase());
    let nearest = || {
        let distance = |mark: &Mark| all[mark.index].shot.place.distance(check.shot.place);
        let near = marks.iter().enumerate().map(|(at, mark)| (distance(mark), at));
        near.filter(|(d, _)| *d <= NEAR).min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, at)| at)
    };
    named.or_else(numbered).or_else(by_id).or_else(nearest)
}

/// Indices of the first and last shot of a file that is neither mark nor check; `None` without any.
fn working(all: &[Candidate], file: u32) -> Option<(usize, usize)> {
    let mut of_file =
        all.iter().enumerate().filter(|(_, c)| c.shot.file == file && !matches!(c.shot.role, Role::Mark | Role::Check));
    let first = of_file.next()?.0;
    Some((first, of_file.next_back().map_or(first, |(last, _)| last)))
}

fn compare(all: &[Candidate], files: &[String], i: usize, mark: &Mark, settings: &Settings) -> CheckShot {
    let (shot, given) = (&all[i].shot, &all[mark.index].shot);
    let step = shot.place - given.place;
    let rise = shot.elevation - given.elevation;
    let at = match working(all, shot.file) {
        Some((first, _)) if i < first => CheckAt::Opening,
        Some((_, last)) if i > last => CheckAt::Closing,
        Some(_) => CheckAt::During,
        None => CheckAt::Opening,
    };
    CheckShot {
        file: files[shot.file as usize].clone(),
        line: shot.line,
        shot: shot.id.clone(),
        mark: mark_name(&all[mark.index]),
        at,
        easting_m: step.x,
        northing_m: step.y,
        elevation_m: rise,
        within: step.length() <= settings.check_horizontal.in_metres()
            && rise.abs() <= settings.check_vertical.in_metres(),
    }
}

fn mark_name(candidate: &Candidate) -> String {
    let read = &candidate.read;
    match read.rest.split_whitespace().next() {
        Some(word) => word.to_owned(),
        None if !read.number.is_empty() => format!("{}{}", read.word, read.number),
        None => shown(candidate),
    }
}

/// One note for a file: checked, out, only half checked, or not checked.
fn verdict(file: &str, checks: &[&CheckShot], rests: &[String], settings: &Settings) -> Note {
    if checks.is_empty() && !rests.is_empty() {
        let text = format!(
            "{file} is not checked: its check shots stand on marks that the survey was fitted to and that the others hardly check \
             ({}), so a wrong one would not show",
            super::list_some(rests, 6)
        );
        return Note::new("survey::not-checked", text);
    }
    if checks.is_empty() {
        let text = format!(
            "{file} is not checked: no check shot of it could be compared with a known mark, so a wrong base would not show"
        );
        return Note::new("survey::not-checked", text);
    }
    let list: Vec<String> = checks
        .iter()
        .map(|c| {
            format!(
                "{} on {} dE {:+.3} dN {:+.3} dZ {:+.3} m",
                match c.at {
                    CheckAt::Opening => "opening",
                    CheckAt::During => "during",
                    CheckAt::Closing => "closing",
                },
                c.mark,
                c.easting_m,
                c.northing_m,
                c.elevation_m
            )
        })
        .collect();
    let list = super::list_some(&list, 6);
    let limits = format!(
        "limits {:.3} m in plan, {:.3} m in height",
        settings.check_horizontal.in_metres(),
        settings.check_vertical.in_metres()
    );
    if checks.iter().any(|check| !check.within) {
        return Note::new("survey::check-out", format!("{file}: check shots are out: {list}; {limits}"));
    }
    let has = |at: CheckAt| checks.iter().any(|check| check.at == at);
    match (has(CheckAt::Opening), has(CheckAt::Closing)) {
        (true, true) => Note::good("survey::checked", format!("{file} is checked: {list}; {limits}")),
        (opened, _) => {
            let open = if opened { "closed" } else { "opened" };
            Note::new("survey::check-one-end", format!("{file} is not {open} by a check shot: {list}; {limits}"))
        }
    }
}
