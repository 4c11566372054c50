//! The check itself: shots compared, parts judged, freeboard first, and what to put right.

use super::bed_fall;
use super::coverage::{self, Piece};
use super::design::{Design, WorkDesign};
use super::grade::{
    Checked, FreeboardCheck, GradeCheck, Part, PartCheck, PutRight, PutRightAction, ShotCheck, Stretch,
};
use super::headline::headlines;
use super::level::check_part;
use super::levels;
use super::marks::check_marks;
use super::matching::{Matched, compare, is_works};
use super::measured::Measured;
use super::settings::GradeSettings;
use crate::notes::{Note, Noted, Place};
use crate::stakeout::MOST_SHOTS;
use crate::stats::{Verdict, mean, normal_quantile, root_mean_square};
use crate::surface::Tin;
use crate::survey::Role;
use crate::units::ReadingUnits;
use std::collections::BTreeMap;

/// Checks what was measured of the works against a design; `surface` is the designed surface, for shots beside sill, crest
/// and bed, and `units` those in which the first lines are written.
///
/// The verdict rests on sills, crests and freeboard, on the floors of pits and the beds of drains; other beds and batters are told beside it. It is a
/// pass only when all of them, of every work, were shot along their length and most of what was measured found its part.
/// Without check shots that open and close every file of shots and hit their marks, and a second mark that closes every
/// level book, nothing passes or fails, and nothing is to be put right.
#[must_use]
pub fn check(
    design: &Design,
    surface: Option<&Tin>,
    measured: &Measured<'_>,
    settings: &GradeSettings,
    units: ReadingUnits,
) -> Noted<GradeCheck> {
    let (survey, strangers) = levels::with_levels(measured);
    let survey = &survey;
    let (mut matched, mut unmatched) = compare(design, surface, survey, settings);
    unmatched.extend(strangers);
    let pieces = coverage::pieces(design, &matched, settings);
    let mut parts = parts(design, &matched, &pieces);
    let freeboards = design.works.iter().enumerate();
    let mut freeboard: Vec<FreeboardCheck> =
        freeboards.filter_map(|(i, work)| freeboard(work, i, &matched, &pieces, settings)).collect();
    let checked = levels::checked(check_marks(design, measured.survey, settings), measured);
    if !matches!(checked, Checked::Checked { .. }) {
        doubt(&mut parts, &mut freeboard, &mut matched);
    }
    let not_shot = coverage::lacking(design, &pieces);
    let mut put_right = put_right(&parts, &matched);
    let rises = bed_fall::rises(design, &matched);
    bed_fall::hold_against(&rises, &checked, &mut parts, &mut put_right);
    let verdict = match verdict(design, &parts, &freeboard) {
        Verdict::Pass if !not_shot.is_empty() || coverage::most_are_strange(matched.len(), &unmatched) => {
            Verdict::CannotTell
        }
        verdict => verdict,
    };
    let mut notes = notes(design, &parts, &freeboard, &checked, &matched);
    notes.extend(rises.iter().map(bed_fall::note));
    if measured.levels.is_empty() {
        notes.extend(setup_note(&parts, &checked));
    }
    let mut works = survey.shots.iter().filter(|shot| !matches!(shot.role, Role::Mark | Role::Check)).peekable();
    if works.peek().is_some() && !works.any(|shot| is_works(shot.role)) {
        let text = "no shot is coded as works (sill, crest, bed, built): shots that stand on a sill, crest or bed are taken \
                    for it, the others are not compared";
        notes.push(Note::new("asbuilt::no-codes", text));
    }
    let mut shots: Vec<ShotCheck> = matched.into_iter().map(|matched| matched.check).collect();
    shots.sort_by(|a, b| (&a.works, a.part).cmp(&(&b.works, b.part)).then_with(|| a.station_m.total_cmp(&b.station_m)));
    let differences: Vec<f64> = shots.iter().map(|shot| shot.difference_m).collect();
    let worst = differences.iter().copied().fold(0.0, |worst: f64, d| if d.abs() > worst.abs() { d } else { worst });
    let mut answer = GradeCheck {
        verdict,
        headlines: Vec::new(),
        worst_m: worst,
        rms_m: root_mean_square(&differences).unwrap_or(0.0),
        checked,
        freeboard,
        parts,
        not_shot,
        put_right,
        shots,
        unmatched,
    };
    answer.headlines = headlines(&answer, units);
    Noted { value: answer, notes }
}

/// Heights that are doubtful, or not checked on marks, say nothing of any part.
fn doubt(parts: &mut [PartCheck], freeboard: &mut [FreeboardCheck], matched: &mut [Matched]) {
    for part in parts {
        (part.verdict, part.shots_needed) = (Verdict::CannotTell, None);
        part.failing.clear();
    }
    for check in freeboard {
        check.verdict = Verdict::CannotTell;
    }
    for shot in matched {
        shot.check.verdict = Verdict::CannotTell;
    }
}

fn parts(design: &Design, matched: &[Matched], pieces: &[Piece]) -> Vec<PartCheck> {
    let mut shots: BTreeMap<(usize, Part, usize), Vec<&Matched>> = BTreeMap::new();
    for shot in matched.iter().filter(|shot| shot.check.part != Part::Other) {
        shots.entry((shot.work, shot.check.part, shot.piece)).or_default().push(shot);
    }
    let covered = |key: (usize, Part, usize)| {
        pieces.iter().filter(|piece| (piece.work, piece.part, piece.index) == key).all(Piece::is_covered)
    };
    let of_pieces = shots.into_iter().filter_map(|(key, shots)| {
        let (work, part, piece) = key;
        let mut check = check_part(&design.works[work].name, part, piece, &shots)?;
        if check.verdict == Verdict::Pass && !covered(key) {
            check.verdict = Verdict::CannotTell;
        }
        Some(check)
    });
    of_pieces.collect()
}

fn freeboard(
    work: &WorkDesign,
    index: usize,
    matched: &[Matched],
    pieces: &[Piece],
    settings: &GradeSettings,
) -> Option<FreeboardCheck> {
    if work.leads_water {
        return None;
    }
    let of = |part: Part| matched.iter().filter(move |shot| shot.work == index && shot.check.part == part);
    // Where the crest is overbuilt by its own height, the place that lacks most of that is the lowest.
    let lowest = of(Part::Crest).min_by(|a, b| a.check.difference_m.total_cmp(&b.check.difference_m))?;
    let crests = of(Part::Crest).count();
    // Of several sills the highest leaves the crest least: no water is counted on running over a lower one alone.
    let sill = (0..work.sills.len())
        .filter_map(|piece| {
            let shots: Vec<&Matched> = of(Part::Sill).filter(|shot| shot.piece == piece).collect();
            let level = mean(&shots.iter().map(|shot| shot.check.measured_m).collect::<Vec<_>>())?;
            let variance: f64 = shots.iter().map(|shot| shot.check.sigma_m.powi(2)).sum();
            Some((level, variance.sqrt() / shots.len() as f64))
        })
        .max_by(|a, b| a.0.total_cmp(&b.0));
    let (mean_sill, sill_error) = sill.unwrap_or((work.water_level_m, 0.0));
    let height = lowest.check.measured_m - mean_sill;
    let settled = work.water_level_m + work.head_m + work.freeboard_m;
    let settlement = if work.crest_levels_m.is_empty() {
        work.settlement_m
    } else {
        // A crest that is built higher than it must be settles no more for it.
        (lowest.check.design_elevation_m - settled).clamp(0.0, work.settlement_m.max(0.0))
    };
    let required = work.head_m + work.freeboard_m + settlement;
    let error = lowest.check.sigma_m.hypot(sill_error);
    // What the crest may lie low by its own tolerance cannot fail it here: nothing, unless a tolerance was said.
    let allowed_short = settings.crest.below_m;
    let spare = height - required + allowed_short;
    // The lowest of many shots is low by chance too: the more there are, the surer a failure must be.
    let sure = normal_quantile(1.0 - 0.025 / crests as f64);
    // The lowest place may be one that was not shot, and a sill that was not shot may be high.
    let covered = pieces.iter().filter(|piece| piece.work == index).all(Piece::is_covered);
    let verdict = if spare - normal_quantile(0.975) * error >= 0.0 && covered {
        Verdict::Pass
    } else if spare + sure * error < 0.0 {
        Verdict::Fail
    } else {
        Verdict::CannotTell
    };
    Some(FreeboardCheck {
        works: work.name.clone(),
        lowest_crest_station_m: lowest.check.station_m,
        lowest_crest_m: lowest.check.measured_m,
        mean_sill_m: mean_sill,
        sill_shot: sill.is_some(),
        height_m: height,
        required_m: required,
        allowed_short_m: allowed_short,
        standard_error_m: error,
        verdict,
    })
}

/// Sill, crest and freeboard decide; of a work that has neither its floor does, and of one that leads water its bed.
fn verdict(design: &Design, parts: &[PartCheck], freeboard: &[FreeboardCheck]) -> Verdict {
    let deciding = parts
        .iter()
        .filter(|part| match part.part {
            Part::Sill | Part::Crest => true,
            Part::Bed => {
                let decides = |work: &WorkDesign| !work.floor.is_empty() || work.leads_water;
                design.works.iter().any(|work| work.name == part.works && decides(work))
            }
            Part::Other => false,
        })
        .map(|part| part.verdict)
        .chain(freeboard.iter().map(|check| check.verdict));
    deciding.max().unwrap_or(Verdict::CannotTell)
}

fn put_right(parts: &[PartCheck], matched: &[Matched]) -> Vec<PutRight> {
    let mut list = Vec::new();
    for part in parts {
        let whole = ends_out(part, matched);
        let stretches = part.failing.iter().map(|stretch| from_stretch(part, stretch));
        if part.failing.is_empty() { list.extend(whole) } else { list.extend(stretches) }
    }
    list
}

fn from_stretch(part: &PartCheck, stretch: &Stretch) -> PutRight {
    PutRight {
        works: part.works.clone(),
        part: part.part,
        from_m: stretch.from_m,
        to_m: stretch.to_m,
        action: action(stretch.mean_m),
        by_from_m: stretch.mean_m.abs(),
        by_to_m: stretch.mean_m.abs(),
    }
}

/// A part that fails as a whole, tilted or off level: by how much at either end. Where the ends lie on different sides
/// of the design, the end that is worse off speaks and the other is left alone.
fn ends_out(part: &PartCheck, matched: &[Matched]) -> Option<PutRight> {
    if part.verdict != Verdict::Fail {
        return None;
    }
    let [first, last] = part.ends?.map(|end| end.difference_m);
    let on_part = matched
        .iter()
        .filter(|shot| shot.check.works == part.works && shot.check.part == part.part && shot.piece == part.piece);
    let by_place = |a: &&Matched, b: &&Matched| a.along.total_cmp(&b.along);
    let from = on_part.clone().min_by(by_place)?.check.station_m;
    let to = on_part.max_by(by_place)?.check.station_m;
    let worse = if first.abs() > last.abs() { first } else { last };
    let towards = |value: f64| if value.signum() == worse.signum() { value.abs() } else { 0.0 };
    let (mut from, mut to) = ((from, towards(first)), (to, towards(last)));
    if from.0 > to.0 {
        std::mem::swap(&mut from, &mut to);
    }
    Some(PutRight {
        works: part.works.clone(),
        part: part.part,
        from_m: from.0,
        to_m: to.0,
        action: action(worse),
        by_from_m: from.1,
        by_to_m: to.1,
    })
}

const fn action(difference: f64) -> PutRightAction {
    if difference < 0.0 { PutRightAction::Raise } else { PutRightAction::Lower }
}

fn notes(
    design: &Design,
    parts: &[PartCheck],
    freeboard: &[FreeboardCheck],
    checked: &Checked,
    matched: &[Matched],
) -> Vec<Note> {
    let mut notes = Vec::new();
    match checked {
        Checked::Checked { .. } => {}
        Checked::NotChecked { why } => notes.push(Note::new("asbuilt::not-checked", why.clone())),
        Checked::Missed { why, .. } => notes.push(Note::new("asbuilt::check-missed", why.clone())),
    }
    for work in &design.works {
        let shot = |part: Part| parts.iter().any(|check| check.works == work.name && check.part == part);
        for (part, there) in [
            (Part::Sill, !work.sills.is_empty()),
            (Part::Crest, !work.crest_axes.is_empty()),
            (Part::Bed, !(work.bed_axis.is_empty() && work.floor.is_empty())),
        ] {
            if there && !shot(part) {
                let text = format!("no shot lies on the {} of `{}`: it is not checked", part.name(), work.name);
                notes.push(Note::new("asbuilt::no-shots", text));
            }
        }
    }
    for check in freeboard.iter().filter(|check| !check.sill_shot) {
        let text = format!("the sill of `{}` was not shot: its crest is compared with the design level", check.works);
        notes.push(Note::new("asbuilt::sill-not-shot", text));
    }
    for part in parts {
        let Some(needed) = part.shots_needed else { continue };
        let text = format!(
            "{} shots on the {} of `{}` cannot prove {}: {}",
            part.shots,
            part.part.name(),
            part.works,
            within(part),
            advice(needed, part.shots)
        );
        notes.push(Note::new("asbuilt::too-few-shots", text));
    }
    if matches!(checked, Checked::Checked { .. }) {
        notes.extend(parts.iter().filter_map(|part| why_not_more(part, matched)));
    }
    for shot in matched.iter().filter(|shot| shot.check.part == Part::Crest) {
        let half = design.works[shot.work].crest_width_m / 2.0;
        if shot.aside > half + 0.3 {
            let text = format!(
                "shot {} is coded crest and lies {:.1} m off the crest's middle, whose half width is {half:.1} m",
                shot.check.shot, shot.aside
            );
            let place = Place::Station { works: shot.check.works.clone(), station_m: shot.check.station_m };
            notes.push(Note::new("asbuilt::off-the-crest", text).at(place));
        }
    }
    notes
}

/// An error of the setup moves every height alike: more shots do not show it, tilt and crest over sill are free of it.
fn setup_note(parts: &[PartCheck], checked: &Checked) -> Option<Note> {
    let Checked::Checked { worst_m: worst } = checked else { return None };
    let sills = parts.iter().filter(|part| part.part == Part::Sill);
    let tightest = sills.map(|part| part.tolerance.below_m.min(part.tolerance.above_m)).min_by(f64::total_cmp)?;
    (worst.abs() > tightest).then(|| {
        let text = format!(
            "the check shots miss their marks by up to {worst:.3} m, more than the {tightest:.3} m allowed on the sill: a base off by \
             as much moves every difference alike, whatever the number of shots; the sill's tilt and the crest's height \
             over it are free of that"
        );
        Note::new("asbuilt::setup", text)
    })
}

/// What to do where shots could not prove a part: more of them as long as somebody would take so many.
fn advice(needed: usize, shots: usize) -> String {
    if needed <= MOST_SHOTS {
        let more = needed - shots;
        format!(
            "about {needed} evenly spaced, {more} more, would, if it lies as these say; the surer the instrument, the fewer"
        )
    } else {
        format!(
            "take them again with a level or a laser, since about {needed} evenly spaced ones like these would be needed"
        )
    }
}

/// Why no number of shots more would prove a sill that cannot be told: it lies on its bound, or too near to it for what the
/// readings of a set-up share.
fn why_not_more(part: &PartCheck, matched: &[Matched]) -> Option<Note> {
    if (part.part, part.verdict, part.shots_needed) != (Part::Sill, Verdict::CannotTell, None) {
        return None;
    }
    let on_part = matched
        .iter()
        .filter(|shot| shot.check.works == part.works && shot.check.part == part.part && shot.piece == part.piece);
    let shared = normal_quantile(0.975) * on_part.map(|shot| shot.check.shared_m).fold(0.0, f64::max);
    let out = part.ends?.iter().map(|end| part.tolerance.excess(end.difference_m)).fold(f64::NEG_INFINITY, f64::max);
    let (name, allowed) = (&part.works, within(part));
    let text = if out >= 0.0 {
        format!(
            "the sill of `{name}` cannot be proven within {allowed}: an end of it lies {:.0} mm beyond that or on it, by shots that \
             cannot say so for sure; trim it, more shots will not do",
            out * 1000.0
        )
    } else if shared >= -out {
        format!(
            "the sill of `{name}` cannot be proven within {allowed}: what all readings of a set-up share is known to {:.0} mm at \
             95 %, and its worse end has {:.0} mm to spare; more readings will not do, level it with fewer set-ups from the mark or \
             trim it",
            shared * 1000.0,
            -out * 1000.0
        )
    } else {
        return None;
    };
    Some(Note::new("asbuilt::more-will-not-do", text))
}

fn within(part: &PartCheck) -> String {
    let (below, above) = (part.tolerance.below_m * 1000.0, part.tolerance.above_m * 1000.0);
    if below == above { format!("+-{below:.0} mm") } else { format!("-{below:.0} to +{above:.0} mm") }
}
