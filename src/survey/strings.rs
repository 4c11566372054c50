//! Shots joined to lines: breaklines and the boundary.
//!
//! Shots of one code and string number (`ridge1`) form one line in the order they were recorded, whatever was shot
//! between them. Shots of a code without a number (`ridge`) form a line only while they follow each other: any other shot
//! ends it. A line stays within its file. `start` and `end` after the code begin and end a line, `close` returns to its
//! first shot. Shots set aside are passed over.

use super::candidate::Candidate;
use super::{Figure, Role};
use std::collections::BTreeMap;

/// The lines of one role: at least two shots each, as indices into the candidates, in the order of their first shots.
pub(super) fn lines(all: &[Candidate], role: Role) -> Vec<Vec<usize>> {
    let mut done: Vec<Vec<usize>> = Vec::new();
    let mut open: BTreeMap<(&str, &str), Vec<usize>> = BTreeMap::new();
    let mut running: Option<(&str, &str)> = None;
    let mut file = None;
    for (i, candidate) in all.iter().enumerate().filter(|(_, c)| c.stands()) {
        let key = (candidate.read.word.as_str(), candidate.read.number.as_str());
        if file != Some(candidate.shot.file) {
            file = Some(candidate.shot.file);
            running = None;
            done.extend(std::mem::take(&mut open).into_values());
        }
        // A line without a number ends where another code is shot.
        if let Some(before) = running.filter(|&before| before != key && before.1.is_empty()) {
            done.extend(open.remove(&before));
        }
        running = Some(key);
        if candidate.shot.role != role {
            continue;
        }
        if candidate.read.figure == Some(Figure::Start) {
            done.extend(open.remove(&key));
        }
        let line = open.entry(key).or_default();
        line.push(i);
        if let Some(figure @ (Figure::End | Figure::Close)) = candidate.read.figure {
            if figure == Figure::Close && line.len() > 2 {
                line.push(line[0]);
            }
            done.extend(open.remove(&key));
        }
    }
    done.extend(open.into_values());
    done.sort_by_key(|line| line[0]);
    done
}

#[cfg(test)]
mod tests {
    use super::super::candidate::Candidate;
    use super::super::{Quality, Roles, Setup, Shot};
    use super::*;
    use crate::geom::Point;

    fn shots(codes: &[(u32, &str)]) -> Vec<Candidate> {
        let roles = Roles::with([(Role::Breakline, "ridge"), (Role::Ground, "gs"), (Role::Breakline, "drain")]);
        let candidate = |&(file, code): &(u32, &str)| {
            let read = roles.read(code);
            let shot = Shot {
                id: String::new(),
                file,
                line: 1,
                place: Point::new(0.0, 0.0),
                elevation: 0.0,
                code: code.to_owned(),
                role: read.role.unwrap(),
                quality: Quality::default(),
                time: None,
                setup: Setup::default(),
                ellipsoid_height: None,
            };
            Candidate { shot, read, against: None, keep: false }
        };
        codes.iter().map(candidate).collect()
    }

    #[test]
    fn numbered_strings_join_over_other_shots_and_bare_ones_do_not() {
        let all = shots(&[
            (0, "ridge1"),
            (0, "gs"),
            (0, "ridge 1"),
            (0, "ridge2"),
            (0, "drain"),
            (0, "drain"),
            (0, "gs"),
            (0, "drain"),
            (0, "ridge2"),
            (1, "ridge1"),
            (1, "ridge1"),
        ]);
        assert_eq!(lines(&all, Role::Breakline), vec![vec![0, 2], vec![3, 8], vec![4, 5], vec![7], vec![9, 10]]);
    }

    #[test]
    fn figures_begin_end_and_close() {
        let all = shots(&[
            (0, "ridge1"),
            (0, "ridge1 start"),
            (0, "ridge1"),
            (0, "ridge1 end"),
            (0, "ridge1"),
            (0, "ridge1"),
            (0, "ridge1 close"),
        ]);
        assert_eq!(lines(&all, Role::Breakline), vec![vec![0], vec![1, 2, 3], vec![4, 5, 6, 4]]);
    }

    #[test]
    fn a_shot_set_aside_is_passed_over() {
        let mut all = shots(&[(0, "ridge"), (0, "gs"), (0, "ridge")]);
        all[1].set_aside("not fixed", "float".to_owned());
        assert_eq!(lines(&all, Role::Breakline), vec![vec![0, 2]]);
    }
}
