//! Check shots on known marks: do they open and close every file, and do they hit.

use super::design::Design;
use super::grade::Checked;
use super::settings::GradeSettings;
use crate::survey::{Role, Survey};

/// How far in plan a check shot may stand from a mark to be taken as one on it, metres.
const ON_MARK: f64 = 1.0;

/// A check shot with its miss.
struct Hit {
    file: String,
    line: u64,
    mark: String,
    miss: f64,
    within: bool,
}

/// Looks at every file that has shots on the works. A check shot is one that the survey has compared already, or one
/// with the role of a check or mark that stands on a mark of the design.
pub(super) fn check_marks(design: &Design, survey: &Survey, settings: &GradeSettings) -> Checked {
    let hits = hits(design, survey, settings);
    let on_works = |shot: &&crate::survey::Shot| !matches!(shot.role, Role::Mark | Role::Check);
    for (index, file) in survey.files.iter().enumerate() {
        let lines =
            || survey.shots.iter().filter(|shot| shot.file as usize == index).filter(on_works).map(|shot| shot.line);
        let (Some(first), Some(last)) = (lines().min(), lines().max()) else { continue };
        let opens = hits.iter().any(|hit| hit.file == *file && hit.line < first);
        let closes = hits.iter().any(|hit| hit.file == *file && hit.line > last);
        let missing = match (opens, closes) {
            (true, true) => continue,
            (true, false) => "closes",
            (false, true) => "opens",
            (false, false) => "opens or closes",
        };
        let why = format!(
            "no check shot on a known mark {missing} {file}: whether its heights stand on the site's datum is not checked"
        );
        return missed(&hits, settings).unwrap_or(Checked::NotChecked { why });
    }
    missed(&hits, settings).unwrap_or_else(|| match worst(&hits) {
        Some(hit) => Checked::Checked { worst_m: hit.miss },
        None => Checked::NotChecked { why: "there are no shots on the works".to_owned() },
    })
}

fn hits(design: &Design, survey: &Survey, settings: &GradeSettings) -> Vec<Hit> {
    let mut hits: Vec<Hit> = survey
        .checks
        .iter()
        .map(|check| Hit {
            file: check.file.clone(),
            line: check.line,
            mark: check.mark.clone(),
            miss: check.elevation_m,
            within: check.within,
        })
        .collect();
    for shot in survey.shots.iter().filter(|shot| matches!(shot.role, Role::Mark | Role::Check)) {
        let Some(file) = survey.files.get(shot.file as usize) else { continue };
        if hits.iter().any(|hit| hit.file == *file && hit.line == shot.line) {
            continue;
        }
        let near = design
            .marks
            .iter()
            .filter(|mark| mark.place.distance(shot.place) <= ON_MARK)
            .min_by(|a, b| a.place.distance(shot.place).total_cmp(&b.place.distance(shot.place)));
        if let Some(mark) = near {
            let miss = shot.elevation - mark.elevation_m;
            let within = miss.abs() <= settings.check_limit_m;
            hits.push(Hit { file: file.clone(), line: shot.line, mark: mark.name.clone(), miss, within });
        }
    }
    hits
}

fn worst(hits: &[Hit]) -> Option<&Hit> {
    hits.iter().max_by(|a, b| a.miss.abs().total_cmp(&b.miss.abs()))
}

fn missed(hits: &[Hit], settings: &GradeSettings) -> Option<Checked> {
    let out: Vec<&Hit> = hits.iter().filter(|hit| !hit.within || hit.miss.abs() > settings.check_limit_m).collect();
    let hit = out.into_iter().max_by(|a, b| a.miss.abs().total_cmp(&b.miss.abs()))?;
    let why = format!(
        "the check shot at {}:{} misses mark {} by {:.3} m in height; accepted are {:.3} m: its file's heights cannot be \
         trusted, look at base, mark and pole",
        hit.file, hit.line, hit.mark, hit.miss, settings.check_limit_m
    );
    Some(Checked::Missed { why, worst_m: hit.miss })
}
