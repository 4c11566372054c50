//! The first lines of the answer, for the person who holds the machine.

use super::coverage::most_are_strange;
use super::grade::{Checked, FreeboardCheck, Gap, GradeCheck, Part, PutRight, PutRightAction};
use crate::stats::Verdict;
use crate::units::{Length, ReadingUnits};

/// What the machine is kept for or that nothing is left for it; then the crest over the sill, work by work.
pub(super) fn headlines(answer: &GradeCheck, units: ReadingUnits) -> Vec<String> {
    let mut lines = vec![first(answer, units)];
    lines.extend(answer.freeboard.iter().map(|check| crest_over_sill(check, units)));
    lines
}

fn first(answer: &GradeCheck, units: ReadingUnits) -> String {
    let jobs: Vec<String> =
        too_low(answer, units).chain(answer.put_right.iter().map(|job| in_words(job, units))).collect();
    let lacking = lacking(answer, units);
    let left = if jobs.is_empty() { String::new() } else { format!("; left for the machine: {}", jobs.join("; ")) };
    match (&answer.checked, answer.verdict) {
        (Checked::Missed { .. }, _) => {
            "NOT CHECKED: a known mark is missed, so no height here can be trusted; find out why first".to_owned()
        }
        (Checked::NotChecked { .. }, _) => {
            "NOT CHECKED: no known mark opens and closes the measuring, so nothing is proven in tolerance or out of it; \
             check on a mark before the machine goes"
                .to_owned()
        }
        (_, Verdict::Fail) => {
            let also = if lacking.is_empty() { String::new() } else { format!("; and {}", lacking.join("; ")) };
            format!("KEEP THE MACHINE: {}{also}", jobs.join("; "))
        }
        (_, Verdict::CannotTell) if !lacking.is_empty() => {
            format!("CANNOT TELL: {}: do not send the machine away{left}", lacking.join("; "))
        }
        (_, Verdict::Pass) if jobs.is_empty() => {
            format!("NOTHING LEFT FOR THE MACHINE: {} in tolerance", what_counts(answer))
        }
        (_, Verdict::Pass) => {
            format!("{} IN TOLERANCE; left for the machine: {}", what_counts(answer).to_uppercase(), jobs.join("; "))
        }
        (_, Verdict::CannotTell) => {
            format!(
                "CANNOT TELL: {} not found out of tolerance, but these shots cannot prove them in; keep the machine or \
                 take more shots{left}",
                what_counts(answer)
            )
        }
    }
}

/// Gaps told in the first line.
const GAPS: usize = 4;

/// What was not shot, and how much of what was measured stands nowhere.
fn lacking(answer: &GradeCheck, units: ReadingUnits) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let whole = |gap: &&Gap| !gap.shot;
    let mut works: Vec<&str> = answer.not_shot.iter().filter(whole).map(|gap| gap.works.as_str()).collect();
    works.dedup();
    for name in works {
        let of_work = answer.not_shot.iter().filter(whole).filter(|gap| gap.works == name);
        let parts: Vec<&str> = of_work.map(|gap| gap.part.name()).collect();
        let were = if parts.len() == 1 { "was" } else { "were" };
        words.push(format!("the {} of {name} {were} not shot", parts.join(" and the ")));
    }
    words.extend(answer.not_shot.iter().filter(|gap| gap.shot).map(|gap| {
        let part = format!("the {} of {}", gap.part.name(), gap.works);
        match gap.stretch_m {
            None => format!("{part} has too few shots"),
            Some(stretch) => {
                let [from, to] = stretch.map(|station| format!("{:.0}", units.length_number(Length::metres(station))));
                format!("{part} has too few shots from station {from} to {to} {}", units.length_unit())
            }
        }
    }));
    let more = words.len().saturating_sub(GAPS);
    if more > 0 {
        words.truncate(GAPS);
        words.push(format!("{more} more such"));
    }
    if most_are_strange(answer.shots.len(), &answer.unmatched) {
        let strange = answer.unmatched.iter().filter(|shot| shot.meant).count();
        let all = answer.shots.len() + strange;
        words.push(format!("{strange} of {all} measurements stand on no part of the works"));
    }
    words
}

/// What the verdict rests on, as the subject of a sentence.
fn what_counts(answer: &GradeCheck) -> &'static str {
    let has = |part: Part| answer.parts.iter().any(|check| check.part == part);
    // A drain has a bed and perhaps a crest, and no water to be held over a sill.
    if has(Part::Bed) && has(Part::Crest) && !has(Part::Sill) && answer.freeboard.is_empty() {
        return "bed and crest are";
    }
    if has(Part::Sill) || has(Part::Crest) || !has(Part::Bed) { "sill and crest are" } else { "beds and floors are" }
}

/// Crests too low over their sill that no stretch to raise speaks of.
fn too_low(answer: &GradeCheck, units: ReadingUnits) -> impl Iterator<Item = String> {
    let raised = |check: &FreeboardCheck| {
        let is_crest = |job: &&PutRight| job.works == check.works && job.part == Part::Crest;
        answer.put_right.iter().filter(is_crest).any(|job| job.action == PutRightAction::Raise)
    };
    answer.freeboard.iter().filter(move |check| check.verdict == Verdict::Fail && !raised(check)).map(move |check| {
        format!(
            "raise crest of {} by {} about station {:.0} {}",
            check.works,
            {
                let (spare, decimals) = shown_spare(check, units);
                units.length(Length::metres(-spare), decimals)
            },
            units.length_number(Length::metres(check.lowest_crest_station_m)),
            units.length_unit()
        )
    })
}

/// `raise crest of upper by 0.08 m from station 40 to 60 m`.
fn in_words(job: &PutRight, units: ReadingUnits) -> String {
    let height = |metres: f64| units.length(Length::metres(metres), 2);
    let station = |metres: f64| format!("{:.0}", units.length_number(Length::metres(metres)));
    let unit = units.length_unit();
    let (from, to) = (station(job.from_m), station(job.to_m));
    let by = if (job.by_from_m - job.by_to_m).abs() < 0.005 {
        height(job.by_from_m)
    } else {
        format!("{} running to {}", height(job.by_from_m), height(job.by_to_m))
    };
    let place =
        if from == to { format!("at station {from} {unit}") } else { format!("from station {from} to {to} {unit}") };
    format!("{} {} of {} by {by} {place}", job.action.name(), job.part.name(), job.works)
}

/// What a crest has to spare, metres, as the difference of the numbers that are shown, and the decimals that they are shown with:
/// a third where two would hide it.
fn shown_spare(check: &FreeboardCheck, units: ReadingUnits) -> (f64, usize) {
    let unit = units.length_number(Length::metres(1.0));
    let shown = |metres: f64, step: f64| (metres * unit / step).round() * step / unit;
    let spare = |step: f64| shown(check.height_m, step) - shown(check.required_m, step);
    let exact = check.height_m - check.required_m;
    if spare(0.01).abs() * unit < 0.005 && (exact * unit).abs() >= 0.001 { (spare(0.001), 3) } else { (spare(0.01), 2) }
}

fn crest_over_sill(check: &FreeboardCheck, units: ReadingUnits) -> String {
    let (spare, decimals) = shown_spare(check, units);
    let height = |metres: f64| units.length(Length::metres(metres), decimals);
    let amount = if spare < 0.0 { format!("{} short", height(-spare)) } else { format!("{} to spare", height(spare)) };
    let allowed = match check.allowed_short_m {
        allowed if allowed > 0.0 && spare < 0.0 => format!(", {} allowed by the crest's tolerance", height(allowed)),
        _ => String::new(),
    };
    let enough = match check.verdict {
        Verdict::Pass => format!("{amount}{allowed}"),
        Verdict::Fail => format!("{} SHORT{allowed}", height(-spare)),
        Verdict::CannotTell => format!("{amount}{allowed} by these shots, which cannot prove it"),
    };
    format!(
        "{}: lowest crest {} {} {} sill at station {:.0} {}; head, freeboard and settlement need {}: {enough}",
        check.works,
        height(check.height_m.abs()),
        if check.height_m < 0.0 { "BELOW" } else { "above" },
        if check.sill_shot { "the mean" } else { "the designed" },
        units.length_number(Length::metres(check.lowest_crest_station_m)),
        units.length_unit(),
        height(check.required_m),
    )
}
