//! Shots joined to lines: breaklines and the boundary.
//!
//! Shots of one code and string number (`ridge1`) form one line in the order they were recorded, whatever was shot
//! between them. Shots of a code without a number (`ridge`) form a line only while they follow each other: any other shot
//! ends it. A line stays within its file. `start` and `end` after the code begin and end a line, `close` returns to its
//! first shot. Shots set aside are passed over. `arc` bends nothing: lines are straight between shots, and [`arcs`] says
//! how far that is off.

use super::candidate::Candidate;
use super::{Figure, Role};
use crate::geom::Point;
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

/// Where lines are said to bend in an arc: how many such shots, and the greatest height of an arc over its chord (metres,
/// with the shot), by the circle through each such shot and its neighbours in the line.
pub(super) fn arcs(all: &[Candidate], lines: &[Vec<usize>]) -> Option<(usize, f64, usize)> {
    let mut found: Option<(usize, f64, usize)> = None;
    for line in lines {
        for (at, &shot) in line.iter().enumerate().filter(|(_, shot)| all[**shot].read.arc) {
            let place = |at: usize| line.get(at).map(|&i| all[i].shot.place);
            let around = at.checked_sub(1).and_then(place).zip(place(at + 1));
            let rise = around.map_or(0.0, |(before, after)| rise(before, all[shot].shot.place, after));
            let (count, greatest, where_it_is) = found.unwrap_or((0, 0.0, shot));
            found = Some(if rise > greatest { (count + 1, rise, shot) } else { (count + 1, greatest, where_it_is) });
        }
    }
    found
}

/// The height of the arc through three places over the longer of its two chords.
fn rise(a: Point, b: Point, c: Point) -> f64 {
    let (ab, bc, ca) = (a.distance(b), b.distance(c), c.distance(a));
    let twice_area = ((b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)).abs();
    if twice_area <= 1e-9 * ca * ca {
        return 0.0;
    }
    let radius = ab * bc * ca / (2.0 * twice_area);
    let half = ab.max(bc) / 2.0;
    radius - (radius * radius - half * half).max(0.0).sqrt()
}

#[cfg(test)]
mod tests {
    use super::super::candidate::Candidate;
    use super::super::{Quality, Roles, Setup, Shot};
    use super::*;

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
            Candidate { grid: Point::new(0.0, 0.0), shot, read, against: None, keep: false, spared: false }
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

    /// A quarter circle of 10 m shot at its ends and middle: each chord spans 45 degrees, so the arc stands
    /// 10 (1 - cos 22.5 deg) = 0.761 m over it.
    #[test]
    fn an_arc_stands_over_its_chords() {
        let mut all = shots(&[(0, "ridge1"), (0, "ridge1 arc"), (0, "ridge1")]);
        for (candidate, degrees) in all.iter_mut().zip([0.0_f64, 45.0, 90.0]) {
            let (sin, cos) = degrees.to_radians().sin_cos();
            candidate.shot.place = Point::new(10.0 * cos, 10.0 * sin);
        }
        let (count, rise, shot) = arcs(&all, &[vec![0, 1, 2]]).unwrap();
        assert_eq!((count, shot), (1, 1));
        assert!((rise - 10.0 * (1.0 - 22.5_f64.to_radians().cos())).abs() < 1e-6, "{rise}");
        assert_eq!(arcs(&shots(&[(0, "ridge1"), (0, "ridge1")]), &[vec![0, 1]]), None);
    }

    #[test]
    fn a_shot_set_aside_is_passed_over() {
        let mut all = shots(&[(0, "ridge"), (0, "gs"), (0, "ridge")]);
        all[1].set_aside("not fixed", "float".to_owned());
        assert_eq!(lines(&all, Role::Breakline), vec![vec![0, 2]]);
    }
}
