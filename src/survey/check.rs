//! Point files to a checked survey.
//!
//! The order matters: first what a line says against itself, then what all say together, then neighbours without those
//! already out, then repeats, then each shot against its neighbours with itself left out; lines are joined from what is
//! left.

use super::candidate::{Candidate, candidates, name_of};
use super::leave_out::{self, LeftOut, leave_out};
use super::neighbours::{Doubtful, gross, still_doubtful};
use super::surroundings::Surroundings;
use super::{
    AmongNeighbours, FitReport, PointFile, Repeats, Role, Scatter, SetAside, Settings, Shot, Survey, SurveyError,
    between_files, gate, list_some, marks, repeats, sigma, signatures, strings,
};
use crate::frame::SiteFrame;
use crate::geom::{Point, ring_is_simple};
use crate::notes::{Note, Noted, Reporter, Silent};
use crate::stats::{mad, median};
use crate::units::Length;
use std::collections::BTreeMap;

/// The stage whose progress is told.
const STAGE: &str = "survey";

/// Checks point files and joins them to one survey in the frame. The notes of the files come first.
///
/// # Errors
/// [`SurveyError`] when a file contradicts the frame, or when nothing is left to use.
pub fn check(files: &[PointFile], settings: &Settings, frame: &SiteFrame) -> Result<Noted<Survey>, SurveyError> {
    check_told(files, settings, frame, None, &Silent)
}

/// As [`check`], of files that were fitted to known marks, telling how far it is and stopping when that is wanted.
///
/// # Errors
/// As [`check`], and [`SurveyError::Cancelled`].
pub fn check_told(
    files: &[PointFile],
    settings: &Settings,
    frame: &SiteFrame,
    fit: Option<FitReport>,
    reporter: &dyn Reporter,
) -> Result<Noted<Survey>, SurveyError> {
    let noted = judge(files, settings, frame, fit, reporter)?;
    let survey = &noted.value;
    if survey.shots.is_empty() {
        let reasons = survey.figures().set_aside_by_reason;
        let commonest = reasons.into_iter().max_by_key(|(_, count)| *count).map_or(String::new(), |(reason, _)| reason);
        return Err(SurveyError::NothingKept { read: survey.set_aside.len(), reason: commonest });
    }
    Ok(noted)
}

/// As [`check`], but a survey with every shot set aside is a result too.
pub(super) fn judge(
    files: &[PointFile],
    settings: &Settings,
    frame: &SiteFrame,
    fit: Option<FitReport>,
    reporter: &dyn Reporter,
) -> Result<Noted<Survey>, SurveyError> {
    let names: Vec<String> = files.iter().map(|file| file.name.clone()).collect();
    let mut notes: Vec<Note> = files.iter().flat_map(|file| file.notes.iter().cloned()).collect();
    let mut all = candidates(files, settings, frame, &mut notes)?;
    if all.is_empty() {
        return Err(SurveyError::NoShots { files: names.join(", ") });
    }
    gate::gate(&mut all, settings);
    let lines = strings::lines(&all, Role::Breakline);
    let doubtful = gross(&mut all, &lines, settings);
    let repeats = repeats::repeats(&mut all, &names, settings, &mut notes);
    let lines = strings::lines(&all, Role::Breakline);
    let settings = &reckoned(settings, repeats);
    let variances = sigma::variances(&all, settings);
    let standing: Vec<Option<&Shot>> = all.iter().map(|c| c.stands().then_some(&c.shot)).collect();
    let mut surroundings = Surroundings::new(&standing, &lines, &variances, None);
    surroundings.learn((reporter, STAGE))?;
    let offsets = between_files::offsets(&all, names.len(), &surroundings);
    let facts = signatures::Facts::of(&all);
    between_files::tell_offsets(&offsets, &facts, &names, &mut notes);
    let keep: Vec<bool> = all.iter().map(|c| c.keep).collect();
    let left_out = leave_out(&surroundings, &keep, reporter)?;
    let learned = surroundings.learned().clone();
    signatures::tell(&left_out, &facts, &all, &names, frame, &mut notes);
    let scatter = scatter(&left_out, &all, &variances, settings, repeats, &mut notes);
    let among = set_aside_by_neighbours(&mut all, &left_out);
    kept_for_nothing(&all, &names, &mut notes);
    let doubtful = still_doubtful(doubtful, &all, &strings::lines(&all, Role::Breakline), settings);
    let doubtful = doubtful_notes(&doubtful, &left_out, &all, &names, &mut notes);
    let checks = marks::checks(&all, &names, settings, fit.as_ref(), &mut notes);
    between_files::tell_checks(&all, &checks, &facts, &names, &mut notes);
    between_files::tell_common(&all, &checks, &names, settings, &mut notes);
    let lines = breaklines(&all, &names, &mut notes);
    let boundary = boundary(&all, &names, &mut notes);

    let mut survey =
        Survey { files: names, checks, repeats, scatter, fit, learned: Some(learned), ..Survey::empty(frame.clone()) };
    let mut kept_index = vec![None; all.len()];
    for (i, candidate) in all.into_iter().enumerate() {
        let Candidate { shot, against, .. } = candidate;
        if let Some(against) = against {
            let point = against.has_place.then(|| shot.point());
            survey.set_aside.push(SetAside {
                file: survey.files[shot.file as usize].clone(),
                line: shot.line,
                shot: shot.id,
                reason: against.reason.to_owned(),
                value: against.value,
                point,
            });
        } else {
            kept_index[i] = u32::try_from(survey.shots.len()).ok();
            if doubtful.contains(&i) {
                survey.doubtful.extend(kept_index[i]);
            }
            survey.shots.push(shot);
            survey.neighbours.push(among.get(&i).copied());
        }
    }
    let kept = |line: Vec<usize>| line.into_iter().filter_map(|i| kept_index[i]).collect();
    survey.breaklines = lines.into_iter().map(kept).collect();
    survey.boundary = kept(boundary);
    set_aside_note(&survey, &mut notes);
    Ok(Noted { value: survey, notes })
}

/// Fewest shots that a roughness is told from.
const FEWEST_ROUGH: usize = 50;

/// The settings with the roughness that is reckoned with: what the user said, else what places shot twice show, else the
/// default.
pub(super) fn reckoned(settings: &Settings, repeats: Repeats) -> Settings {
    let roughness = match repeats.roughness_m.filter(|_| !settings.roughness_is_said) {
        Some(shown) => Length::metres(shown),
        None => settings.roughness,
    };
    Settings { roughness, ..settings.clone() }
}

/// How rough the ground under the pole is: the scatter of shots whose neighbours know the ground better than the shot
/// does, what the receivers state taken off.
fn scatter(
    found: &LeftOut,
    all: &[Candidate],
    variances: &[f64],
    settings: &Settings,
    repeats: Repeats,
    notes: &mut Vec<Note>,
) -> Scatter {
    let told = |step: &&leave_out::Step| step.unsure < 1.0 && !found.off.contains(&step.index);
    let sure: Vec<&leave_out::Step> = found.steps.iter().filter(told).collect();
    // The scatter of a shot is the step's without the share of the ground's own uncertainty.
    let relative: Vec<f64> =
        sure.iter().map(|step| step.off / (variances[step.index] * (1.0 + step.unsure)).sqrt()).collect();
    let instruments: Vec<f64> =
        sure.iter().map(|step| sigma::instrument(&all[step.index].shot.quality, settings)).collect();
    let usual: Vec<f64> = sure.iter().map(|step| variances[step.index].sqrt()).collect();
    let roughness_m = (sure.len() >= FEWEST_ROUGH)
        .then(|| {
            let total = mad(&relative)? * median(&usual)?;
            let instrument = median(&instruments)?;
            Some((total * total - instrument * instrument).max(0.0).sqrt())
        })
        .flatten();
    let reckoned = settings.roughness.in_metres();
    let mm = |metres: f64| format!("{:.0} mm", 1000.0 * metres);
    let from_pairs = repeats.roughness_m.filter(|_| !settings.roughness_is_said);
    if let Some(shown) = from_pairs {
        let text = format!(
            "the ground is reckoned to be {} rough under the pole: {} places shot twice show it; [survey] roughness says otherwise",
            mm(shown),
            repeats.pairs
        );
        notes.push(Note::good("survey::roughness-estimated", text));
    }
    if let Some(rough) = roughness_m.filter(|rough| (rough - reckoned).abs() > 0.5 * reckoned.max(0.01)) {
        let text = format!(
            "{} shots on even ground scatter as if it were {} rough under the pole; {} is reckoned with: say `roughness = \"{}\"` \
             when that is what it looks like",
            sure.len(),
            mm(rough),
            mm(reckoned),
            mm(rough)
        );
        notes.push(Note::new("survey::roughness", text));
    } else if roughness_m.is_none() && from_pairs.is_none() && !settings.roughness_is_said && !found.steps.is_empty() {
        let text = format!(
            "how rough is the ground under the pole? The shots cannot tell (too few stand close enough on even ground), so {} is \
             reckoned with: say it as [survey] roughness, or shoot eight places twice, less than {} apart, taking the pole up between",
            mm(reckoned),
            mm(settings.repeat_distance.in_metres())
        );
        notes.push(Note::new("survey::roughness-unknown", text));
    }
    Scatter { widening: found.widening, roughness_m }
}

/// Sets aside what stands off its neighbours; gives how each shot stands among them.
fn set_aside_by_neighbours(all: &mut [Candidate], found: &LeftOut) -> BTreeMap<usize, AmongNeighbours> {
    for step in &found.steps {
        let kept = all[step.index].keep && (step.off / step.sigma).abs() > leave_out::ASIDE;
        if kept || found.off.contains(&step.index) {
            let value = format!(
                "{:+.2} m, {:.1} standard deviations of {:.3} m, limit {}",
                step.off,
                (step.off / step.sigma).abs(),
                step.sigma,
                leave_out::ASIDE
            );
            all[step.index].set_aside("off its neighbours", value);
        }
    }
    found
        .steps
        .iter()
        .map(|step| (step.index, AmongNeighbours { off: step.off, sigma: step.sigma, ground: step.ground }))
        .collect()
}

/// Tells of shots that `keep` names and nothing speaks against: another one was meant, by its line perhaps.
fn kept_for_nothing(all: &[Candidate], files: &[String], notes: &mut Vec<Note>) {
    for candidate in all.iter().filter(|candidate| candidate.keep && candidate.stands() && !candidate.spared) {
        let (shot, file) = (&candidate.shot, &files[candidate.shot.file as usize]);
        let meant = all
            .iter()
            .find(|other| other.shot.file == shot.file && other.shot.line.to_string() == shot.id && !other.stands());
        let meant = meant.map_or_else(String::new, |other| {
            format!("; the one in line {}, which is set aside, is `{file}:line {}`", shot.id, shot.id)
                + &if other.shot.id.is_empty() { String::new() } else { format!(" or `{file}:{}`", other.shot.id) }
        });
        let text = format!(
            "keep names {}, in line {} of its file, which was not set aside: that changes nothing{meant}",
            name_of(candidate, files),
            shot.line
        );
        notes.push(Note::new("survey::keep-for-nothing", text));
    }
}

/// Tells what stands off its neighbours and is used all the same: by much, or in a run of its own kind.
fn doubtful_notes(
    gross: &[Doubtful],
    fine: &LeftOut,
    all: &[Candidate],
    files: &[String],
    notes: &mut Vec<Note>,
) -> Vec<usize> {
    let off = |index: usize| fine.steps.iter().find(|step| step.index == index).map_or(0.0, |step| step.off);
    let few = fine.doubtful.iter().map(|&index| Doubtful { index, off: off(index), company: false });
    let in_runs = fine.together.iter().map(|&index| Doubtful { index, off: off(index), company: true });
    let told = |index: &usize| fine.together.contains(index) || fine.doubtful.contains(index);
    // A plane through twelve neighbours knows less than neighbours whose scatter has been learned: of a shot for itself
    // these speak last. Of a bank without a breakline both are told, for it wants one.
    let agreed = |index: usize| {
        fine.steps.iter().any(|step| step.index == index && (step.off / step.sigma).abs() < leave_out::LIMIT)
    };
    let others = gross.iter().copied().filter(|shot| !told(&shot.index) && (shot.company || !agreed(shot.index)));
    let doubtful: Vec<Doubtful> = others.chain(few).chain(in_runs).filter(|shot| all[shot.index].stands()).collect();
    let (together, alone): (Vec<&Doubtful>, Vec<&Doubtful>) = doubtful.iter().partition(|shot| shot.company);
    let list = |shots: &[&Doubtful]| {
        let mut shots = shots.to_vec();
        shots.sort_by(|a, b| b.off.abs().total_cmp(&a.off.abs()));
        let named: Vec<String> =
            shots.iter().map(|shot| format!("{} ({:+.2} m)", name_of(&all[shot.index], files), shot.off)).collect();
        list_some(&named, 6)
    };
    if !alone.is_empty() {
        let text = format!(
            "used, but off their neighbours: {}; chance, a hollow or a bank shot once, or a blunder: look at them on the map, and leave one out with `drop`",
            list(&alone)
        );
        notes.push(Note::new("survey::off-neighbours", text));
    }
    if !together.is_empty() {
        let text = format!(
            "used, but off their neighbours together: {}; a bank or gully (its edge wants a breakline), or a run of false \
             fixes",
            list(&together)
        );
        notes.push(Note::new("survey::off-neighbours-together", text));
    }
    alone.iter().map(|shot| shot.index).collect()
}

/// The breaklines of two shots or more; single ones are told.
fn breaklines(all: &[Candidate], files: &[String], notes: &mut Vec<Note>) -> Vec<Vec<usize>> {
    let (lines, single): (Vec<_>, Vec<_>) =
        strings::lines(all, Role::Breakline).into_iter().partition(|line| line.len() > 1);
    if !single.is_empty() {
        let list: Vec<String> = single.iter().map(|line| name_of(&all[line[0]], files)).collect();
        let text = format!(
            "breakline shots that stand alone and make no line: {}; a string number (ridge1) joins shots over others \
             between them",
            list_some(&list, 8)
        );
        notes.push(Note::new("survey::breakline-of-one", text));
    }
    if let Some((count, rise, shot)) = strings::arcs(all, &lines) {
        let text = format!(
            "{count} shots say that their line bends in an arc; lines are straight between shots, off by up to {rise:.2} m \
             at {}: shoot arcs closer where that matters",
            name_of(&all[shot], files)
        );
        notes.push(Note::new("survey::arc-as-chords", text));
    }
    lines
}

/// The edge of the survey: the longest boundary line that is a ring without crossings. A boundary that was shot without
/// a number counts as one line even where other shots stand between.
fn boundary(all: &[Candidate], files: &[String], notes: &mut Vec<Note>) -> Vec<usize> {
    let mut rings: BTreeMap<(u32, &str, &str), Vec<usize>> = BTreeMap::new();
    for (i, candidate) in all.iter().enumerate().filter(|(_, c)| c.stands() && c.shot.role == Role::Boundary) {
        let key = (candidate.shot.file, candidate.read.word.as_str(), candidate.read.number.as_str());
        rings.entry(key).or_default().push(i);
    }
    let mut told = Vec::new();
    let mut rings: Vec<Vec<usize>> = rings.into_values().collect();
    rings.sort_by_key(|ring| std::cmp::Reverse(ring.len()));
    let mut chosen = Vec::new();
    for mut ring in rings {
        let place = |i: usize| all[i].shot.place;
        // Closed by shooting its first place again.
        if ring.len() > 3 && place(ring[0]).distance(place(ring[ring.len() - 1])) < 0.5 {
            ring.pop();
        }
        let points: Vec<Point> = ring.iter().map(|&i| place(i)).collect();
        let first = name_of(&all[ring[0]], files);
        if ring.len() < 3 || !ring_is_simple(&points) {
            told.push(format!("the boundary from {first} ({} shots) is no ring without crossings", ring.len()));
        } else if chosen.is_empty() {
            chosen = ring;
        } else {
            told.push(format!("a second boundary from {first} ({} shots)", ring.len()));
        }
    }
    if !told.is_empty() {
        let text = format!("{}: not used as the edge of the survey", told.join("; "));
        notes.push(Note::new("survey::boundary-not-used", text));
    }
    chosen
}

/// Shots set aside that a note names, as `keep` takes them.
const MOST_NAMED: usize = 6;

fn set_aside_note(survey: &Survey, notes: &mut Vec<Note>) {
    let figures = survey.figures();
    if figures.shots_set_aside == 0 {
        return;
    }
    let reasons: Vec<String> =
        figures.set_aside_by_reason.iter().map(|(reason, count)| format!("{reason} {count}")).collect();
    let named: Vec<String> = survey.set_aside.iter().map(|row| format!("`{}`", row.keep_line())).collect();
    let all_in = if named.len() > MOST_NAMED { ", in set-aside.csv" } else { "" };
    let text = format!(
        "{} of {} shots set aside: {}: {}{all_in}",
        figures.shots_set_aside,
        figures.shots_read,
        reasons.join(", "),
        list_some(&named, MOST_NAMED)
    );
    notes.push(Note::new("survey::set-aside", text));
}
