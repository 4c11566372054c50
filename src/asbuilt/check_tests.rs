//! As-built checks of a straight swale whose errors are known because they were planted.

use super::check::check;
use super::design::{Design, Mark};
use super::grade::{Checked, GradeCheck, Part, PartCheck, PutRightAction};
use super::measured::Measured;
use super::settings::{GradeSettings, Tolerance};
use crate::earth::examples::{CREST, ground, plan};
use crate::geom::Point;
use crate::notes::Noted;
use crate::stats::Verdict;
use crate::stats::points_to_prove;
use crate::survey::{Quality, Role, Setup, Shot, Survey};
use crate::units::{Length, ReadingUnits};
use proptest::prelude::*;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};

const SIGMA: f64 = 0.010;

/// Shots of a swale as dug, in file order, with check shots round them.
struct Book {
    rows: Vec<(Role, Point, f64)>,
    marks: [Option<f64>; 2],
}

impl Book {
    fn new() -> Self {
        Self { rows: Vec::new(), marks: [Some(0.0), Some(0.0)] }
    }

    /// Shots along a part of the example, at even steps, with their difference from the design.
    fn along(mut self, part: Part, from: f64, to: f64, count: u32, difference: impl Fn(f64) -> f64) -> Self {
        let design = plan();
        let swale = design.swale(0);
        let (role, y, level) = match part {
            Part::Sill => (Role::Sill, -0.75, 100.0),
            Part::Crest => (Role::Crest, swale.section.crest_offset.in_metres(), CREST),
            Part::Bed => (Role::Bed, 1.8, 99.4),
            Part::Other => unreachable!("no axis"),
        };
        for i in 0..count {
            let x = from + (to - from) * f64::from(i) / f64::from(count - 1);
            self.rows.push((role, Point::new(x, y), level + difference(x)));
        }
        self
    }

    fn true_crest(self, difference: impl Fn(f64) -> f64) -> Self {
        self.along(Part::Crest, 0.0, 78.0, 40, &difference).along(Part::Crest, 88.0, 100.0, 7, &difference)
    }

    fn survey(&self) -> Survey {
        let mut survey = Survey::empty(ground().frame);
        survey.files.push("asbuilt.csv".to_owned());
        let mut add = |role: Role, place: Point, elevation: f64| {
            let line = survey.shots.len() as u64 + 2;
            survey.shots.push(Shot {
                id: format!("{line}"),
                file: 0,
                line,
                place,
                elevation,
                code: String::new(),
                role,
                quality: Quality { vertical_sigma: Some(SIGMA), ..Quality::default() },
                time: None,
                setup: Setup::default(),
                ellipsoid_height: None,
            });
        };
        let mark = Point::new(50.0, 15.0);
        if let Some(miss) = self.marks[0] {
            add(Role::Check, mark, 101.0 + miss);
        }
        for &(role, place, elevation) in &self.rows {
            add(role, place, elevation);
        }
        if let Some(miss) = self.marks[1] {
            add(Role::Check, mark, 101.0 + miss);
        }
        survey
    }

    fn checked(&self) -> Noted<GradeCheck> {
        self.checked_with(&settings())
    }

    fn checked_with(&self, settings: &GradeSettings) -> Noted<GradeCheck> {
        check(&design(), plan().surfaces.last(), &Measured::shots(&self.survey()), settings, ReadingUnits::Metric)
    }
}

fn settings() -> GradeSettings {
    GradeSettings { roughness_m: 0.0, ..GradeSettings::default() }
}

fn design() -> Design {
    let mut design = Design::from_plan(&plan());
    design.marks.push(Mark { name: "M1".to_owned(), place: Point::new(50.0, 15.0), elevation_m: 101.0 });
    design
}

fn noise(seed: u64, sigma: f64) -> impl Fn(f64) -> f64 {
    let rng = std::cell::RefCell::new(ChaCha8Rng::seed_from_u64(seed));
    let normal = Normal::new(0.0, sigma).unwrap();
    move |_| normal.sample(&mut *rng.borrow_mut())
}

fn part(answer: &GradeCheck, part: Part) -> &PartCheck {
    answer.parts.iter().find(|check| check.part == part).unwrap()
}

#[test]
fn a_true_sill_with_enough_shots_passes() {
    let book = Book::new().along(Part::Sill, 80.0, 86.0, 61, |_| 0.0).true_crest(|_| 0.06).along(
        Part::Bed,
        0.0,
        100.0,
        11,
        |_| -0.01,
    );
    let answer = book.checked();
    assert_eq!(answer.notes, []);
    let answer = answer.value;
    assert_eq!(answer.verdict, Verdict::Pass, "{:#?}", answer.parts);
    assert_eq!(answer.checked, Checked::Checked { worst_m: 0.0 });
    assert!(answer.put_right.is_empty());
    assert_eq!(answer.headlines[0], "NOTHING LEFT FOR THE MACHINE: sill and crest are in tolerance");
    assert_eq!(
        answer.headlines[1],
        "upper: lowest crest 0.56 m above the mean sill at station 0 m; head, freeboard and settlement need 0.50 m: \
         0.06 m to spare"
    );
    assert!((answer.worst_m - 0.06).abs() < 1e-9);
    assert_eq!(part(&answer, Part::Sill).shots, 61);
}

/// One by one, no shot of 10 mm sigma proves 10 mm; together they do.
#[test]
fn shots_alone_cannot_tell() {
    let book = Book::new().along(Part::Sill, 80.0, 86.0, 61, |_| 0.0).true_crest(|_| 0.06);
    let answer = book.checked().value;
    let sills = answer.shots.iter().filter(|shot| shot.part == Part::Sill);
    assert!(sills.clone().count() == 61 && sills.clone().all(|shot| shot.verdict == Verdict::CannotTell));
    assert_eq!(part(&answer, Part::Sill).verdict, Verdict::Pass);
}

#[test]
fn few_shots_cannot_prove_a_sill_and_say_how_many_would() {
    let book = Book::new().along(Part::Sill, 80.0, 86.0, 7, |_| 0.0).true_crest(|_| 0.06);
    let answer = book.checked();
    assert_eq!(answer.value.verdict, Verdict::CannotTell);
    let sill = part(&answer.value, Part::Sill);
    // 10 mm sigma for 10 mm is the same as 15 for 15.
    let needed = sill.shots_needed.unwrap();
    assert!((33..=37).contains(&needed), "{needed}");
    assert!(answer.notes.iter().any(|note| note.text.contains(&format!("about {needed} evenly spaced"))));
}

#[test]
fn a_planted_low_stretch_is_found_where_it_is() {
    let error = |x: f64| if (40.0..=52.0).contains(&x) { -0.08 } else { 0.05 };
    for seed in 0..20 {
        let jitter = noise(seed, SIGMA);
        let book = Book::new()
            .along(Part::Sill, 80.0, 86.0, 61, noise(100 + seed, SIGMA))
            .true_crest(|x| error(x) + jitter(x));
        let answer = book.checked().value;
        assert_eq!(answer.verdict, Verdict::Fail);
        let low: Vec<_> = answer.put_right.iter().filter(|job| job.part == Part::Crest).collect();
        assert_eq!(low.len(), 1, "seed {seed}: {:?}", answer.put_right);
        assert_eq!(low[0].action, PutRightAction::Raise);
        assert!(
            (low[0].from_m - 39.0).abs() <= 2.01 && (low[0].to_m - 53.0).abs() <= 2.01,
            "seed {seed}: {:?}",
            low[0]
        );
        assert!((low[0].by_from_m - 0.08).abs() < 0.015, "{:?}", low[0]);
        assert!(
            answer.headlines[0].starts_with("KEEP THE MACHINE: raise crest of upper by 0.0"),
            "{}",
            answer.headlines[0]
        );
    }
}

/// A part that is true is called wrong in fewer than one check of twenty: the promise of the stretches.
#[test]
fn a_true_part_is_seldom_called_wrong() {
    let wrong = (0..400)
        .filter(|&seed| {
            let book = Book::new().along(Part::Sill, 80.0, 86.0, 40, noise(seed, SIGMA));
            part(&book.checked().value, Part::Sill).verdict == Verdict::Fail
        })
        .count();
    assert!(wrong <= 20, "{wrong} of 400");
}

/// A levelled sill shares the error of its set-up's line of sight. Reckoned with, a true sill is seldom called wrong; taken for
/// each reading's own, it would be.
#[test]
fn what_the_readings_of_a_set_up_share_is_not_pooled_away() {
    let (own, shared) = (0.003, 0.006);
    let wrong = |told: bool| {
        (0..400)
            .filter(|&seed| {
                let sight = noise(1000 + seed, shared)(0.0);
                let jitter = noise(seed, own);
                let book = Book::new().along(Part::Sill, 80.0, 86.0, 40, |x| sight + jitter(x));
                let mut survey = book.survey();
                for shot in &mut survey.shots {
                    shot.quality.vertical_sigma = Some(if told { own.hypot(shared) } else { own });
                    shot.quality.shared_sigma = told.then_some(shared);
                }
                let settings = GradeSettings { sill: Some(Tolerance { below_m: 0.005, above_m: 0.005 }), ..settings() };
                let measured = Measured::shots(&survey);
                let answer = check(&design(), plan().surfaces.last(), &measured, &settings, ReadingUnits::Metric).value;
                part(&answer, Part::Sill).verdict == Verdict::Fail
            })
            .count()
    };
    assert!(wrong(true) <= 20, "{} of 400", wrong(true));
    assert!(wrong(false) > 40, "{} of 400", wrong(false));
}

/// Where what a set-up's readings share is as much as the room that is left, no number of readings proves the sill.
#[test]
fn readings_that_share_too_much_say_so() {
    let mut survey = Book::new().along(Part::Sill, 80.0, 86.0, 40, |_| 0.004).survey();
    for shot in &mut survey.shots {
        shot.quality.vertical_sigma = Some(0.005);
        shot.quality.shared_sigma = Some(0.004);
    }
    let answer = check(&design(), plan().surfaces.last(), &Measured::shots(&survey), &settings(), ReadingUnits::Metric);
    assert_eq!(part(&answer.value, Part::Sill).verdict, Verdict::CannotTell);
    // 10 mm less 4 mm are left of it, and 1.96 times 4 mm are not known.
    let note = answer.notes.iter().find(|note| note.code == "asbuilt::more-will-not-do").unwrap();
    assert!(note.text.contains("known to 8 mm at 95 %, and its worse end has 6 mm to spare"), "{}", note.text);
}

/// The number of shots asked for gives a true sill about an even chance of being proven, as said.
#[test]
fn the_shots_asked_for_prove_a_true_sill_about_half_the_time() {
    let needed = points_to_prove(SIGMA, 0.010).unwrap();
    let count = u32::try_from(needed).unwrap();
    let proven = (0..400)
        .filter(|&seed| {
            let book = Book::new().along(Part::Sill, 80.0, 86.0, count, noise(1000 + seed, SIGMA));
            part(&book.checked().value, Part::Sill).verdict == Verdict::Pass
        })
        .count();
    assert!((150..=260).contains(&proven), "{proven} of 400 with {needed} shots");
}

/// 15 mm at 15 mm sigma: some 35 shots. Half the sigma, a quarter of the shots.
#[test]
fn shots_needed_follow_the_square_law() {
    let needed = |sigma: f64| points_to_prove(sigma, 0.015).unwrap();
    assert!((33..=36).contains(&needed(0.015)), "{}", needed(0.015));
    assert!((needed(0.030) as f64 / needed(0.015) as f64 - 4.0).abs() < 0.2);
    assert_eq!(points_to_prove(0.01, 0.0), None);
}

#[test]
fn a_tilted_sill_fails_and_says_how_to_level_it() {
    // 30 mm high at its start, true at its end.
    let book = Book::new().along(Part::Sill, 80.0, 86.0, 13, |x| 0.03 * (86.0 - x) / 6.0).true_crest(|_| 0.1);
    let answer = book.checked().value;
    let sill = part(&answer, Part::Sill);
    assert_eq!((answer.verdict, sill.verdict), (Verdict::Fail, Verdict::Fail));
    let trend = sill.trend.unwrap();
    assert!((trend.slope_m_per_m + 0.005).abs() < 1e-12 && sill.waviness_m == 0.0);
    assert!((sill.spread_m - 0.03).abs() < 1e-9);
    let job = &answer.put_right[0];
    assert_eq!((job.part, job.action), (Part::Sill, PutRightAction::Lower));
    assert!(job.from_m <= 80.5 && job.by_from_m > 0.015, "{job:?}");
}

#[test]
fn waviness_is_told_apart_from_tilt() {
    let wave = |x: f64| 0.04 * (std::f64::consts::TAU * (x - 80.0) / 1.5).sin();
    let book = Book::new().along(Part::Sill, 80.0, 86.0, 61, wave).true_crest(|_| 0.1);
    let sill = part(&book.checked().value, Part::Sill).clone();
    // Root mean square of the wave less the shots' own scatter.
    let closed = (0.04_f64.powi(2) / 2.0 - SIGMA * SIGMA).sqrt();
    assert!((sill.waviness_m - closed).abs() < 2e-3, "{} {closed}", sill.waviness_m);
    assert!(sill.trend.unwrap().slope_m_per_m.abs() < 5e-3);
}

#[test]
fn the_crest_is_one_sided() {
    let book = |high: f64| Book::new().along(Part::Sill, 80.0, 86.0, 61, |_| 0.0).true_crest(move |_| high);
    assert_eq!(book(0.15).checked().value.verdict, Verdict::Pass, "high is in tolerance");
    assert_eq!(book(-0.05).checked().value.verdict, Verdict::Fail, "low is not");
    assert_eq!(book(0.0).checked().value.verdict, Verdict::CannotTell, "on the line cannot be proven");
    let low = book(-0.05).checked().value;
    assert_eq!(low.freeboard[0].verdict, Verdict::Fail);
    assert!(low.headlines[1].ends_with("0.05 m SHORT"), "{}", low.headlines[1]);
}

/// Nothing passes, nothing fails, nothing is to be put right.
fn says_nothing(answer: &GradeCheck) {
    assert_eq!(answer.verdict, Verdict::CannotTell);
    let parts = answer.parts.iter().map(|part| part.verdict);
    let freeboard = answer.freeboard.iter().map(|check| check.verdict);
    let shots = answer.shots.iter().map(|shot| shot.verdict);
    assert!(parts.chain(freeboard).chain(shots).all(|verdict| verdict == Verdict::CannotTell), "{answer:#?}");
    assert!(answer.parts.iter().all(|part| part.failing.is_empty() && part.shots_needed.is_none()));
    assert!(answer.put_right.is_empty(), "{:?}", answer.put_right);
    assert!(answer.headlines[0].starts_with("NOT CHECKED"), "{}", answer.headlines[0]);
}

#[test]
fn without_check_shots_nothing_is_in_tolerance_or_out_of_it() {
    let mut book = Book::new().along(Part::Sill, 80.0, 86.0, 61, |_| 0.0).true_crest(|_| 0.06);
    let mut low = Book::new().along(Part::Sill, 80.0, 86.0, 61, |_| 0.1).true_crest(|_| -0.3);
    assert_eq!(low.checked().value.verdict, Verdict::Fail);
    for marks in [[None, None], [Some(0.0), None], [None, Some(0.0)]] {
        low.marks = marks;
        says_nothing(&low.checked().value);
        book.marks = marks;
        let answer = book.checked();
        says_nothing(&answer.value);
        assert!(matches!(answer.value.checked, Checked::NotChecked { .. }));
        assert!(answer.value.headlines[0].starts_with("NOT CHECKED"));
        assert!(answer.notes.iter().any(|note| note.code == "asbuilt::not-checked"));
    }
}

/// Check shots that miss by less than the limit but by more than the sill's tolerance: told, and tilt is still known.
#[test]
fn a_setup_that_may_be_off_is_told() {
    let mut book = Book::new().along(Part::Sill, 80.0, 86.0, 61, |_| 0.0).true_crest(|_| 0.06);
    book.marks = [Some(0.02), Some(0.005)];
    let answer = book.checked();
    assert!(matches!(answer.value.checked, Checked::Checked { worst_m } if (worst_m - 0.02).abs() < 1e-9));
    assert!(answer.notes.iter().any(|note| note.code == "asbuilt::setup" && note.text.contains("0.020 m")));
}

/// A sill that nobody shot, a stretch of crest, a whole swale: each is named, and nothing passes without it.
#[test]
fn what_was_not_shot_is_named_and_cannot_pass() {
    let sill = || Book::new().along(Part::Sill, 80.0, 86.0, 61, |_| 0.0);
    let first = |book: &Book| {
        let answer = book.checked().value;
        assert_eq!(answer.verdict, Verdict::CannotTell, "{:?}", answer.headlines);
        assert!(answer.freeboard.iter().all(|check| check.verdict == Verdict::CannotTell));
        answer.headlines[0].clone()
    };
    let no_sill = Book::new().true_crest(|_| 0.06);
    assert_eq!(first(&no_sill), "CANNOT TELL: the sill of upper was not shot: do not send the machine away");
    assert_eq!(first(&sill()), "CANNOT TELL: the crest of upper was not shot: do not send the machine away");
    assert_eq!(
        first(&Book::new()),
        "CANNOT TELL: the sill and the crest of upper were not shot: do not send the machine away"
    );
    // The crest beside one end of the sill only.
    let half = sill().along(Part::Crest, 0.0, 78.0, 40, |_| 0.06);
    assert_eq!(
        first(&half),
        "CANNOT TELL: the crest of upper has too few shots from station 87 to 100 m: do not send the machine away"
    );
    let parted = sill().along(Part::Crest, 0.0, 20.0, 11, |_| 0.06).along(Part::Crest, 60.0, 78.0, 9, |_| 0.06);
    let parted = parted.along(Part::Crest, 88.0, 100.0, 7, |_| 0.06);
    assert!(first(&parted).contains("crest of upper has too few shots from station 20 to 60 m"), "{}", first(&parted));
    let piece =
        |answer: &GradeCheck, i| answer.parts.iter().find(|p| (p.part, p.piece) == (Part::Crest, i)).unwrap().verdict;
    let answer = parted.checked().value;
    assert_eq!((piece(&answer, 0), piece(&answer, 1)), (Verdict::CannotTell, Verdict::Pass));
    // Half a sill, however many shots there are on it.
    let half = Book::new().along(Part::Sill, 80.0, 82.0, 61, |_| 0.0).true_crest(|_| 0.06);
    assert!(first(&half).contains("the sill of upper has too few shots from station 82 to 86 m"), "{}", first(&half));
    // What fails keeps the machine, and what was not shot is told all the same.
    let low = Book::new().true_crest(|_| -0.2).checked().value;
    assert_eq!(low.verdict, Verdict::Fail);
    assert!(low.headlines[0].starts_with("KEEP THE MACHINE: raise crest"), "{}", low.headlines[0]);
    assert!(low.headlines[0].ends_with("; and the sill of upper was not shot"), "{}", low.headlines[0]);
}

/// A list most of which stands beside the works is of other works: it proves nothing. Natural ground among coded shots is
/// meant to be passed over.
#[test]
fn a_list_that_stands_nowhere_cannot_pass() {
    let with = |role: Role| {
        let mut book = Book::new().along(Part::Sill, 80.0, 86.0, 61, |_| 0.0).true_crest(|_| 0.06);
        book.rows.extend((0..150).map(|i| (role, Point::new(f64::from(i % 100), 50.0), 102.0)));
        book.checked().value
    };
    let strange = with(Role::Built);
    assert_eq!(strange.verdict, Verdict::CannotTell);
    assert_eq!(
        strange.headlines[0],
        "CANNOT TELL: 150 of 258 measurements stand on no part of the works: do not send the machine away"
    );
    assert_eq!(with(Role::Ground).verdict, Verdict::Pass);
}

/// Sill and crest each in their own tolerance, and yet the crest stands too low over the sill.
#[test]
fn a_crest_too_low_over_a_high_sill_keeps_the_machine() {
    let wide = GradeSettings { sill: Some(Tolerance::both(Length::metres(0.2))), ..settings() };
    let book = Book::new().along(Part::Sill, 80.0, 86.0, 61, |_| 0.15).true_crest(|_| 0.05);
    let answer = book.checked_with(&wide).value;
    assert!(answer.parts.iter().all(|part| part.verdict == Verdict::Pass));
    assert_eq!(answer.verdict, Verdict::Fail);
    assert_eq!(answer.headlines[0], "KEEP THE MACHINE: raise crest of upper by 0.10 m about station 0 m");
}

/// A base that was set anew: everything 0.15 m low, the check shots as well. No verdict on the works.
#[test]
fn a_check_shot_that_misses_its_mark_stops_every_verdict() {
    let mut book = Book::new().along(Part::Sill, 80.0, 86.0, 61, |_| -0.15).true_crest(|_| -0.09);
    assert_eq!(book.checked().value.verdict, Verdict::Fail);
    book.marks = [Some(-0.15), Some(-0.15)];
    let answer = book.checked().value;
    says_nothing(&answer);
    assert!(
        matches!(&answer.checked, Checked::Missed { why, .. } if why.contains("M1 by -0.150 m")),
        "{:?}",
        answer.checked
    );
}

#[test]
fn shots_find_their_part_by_code_or_by_place() {
    let crest = plan().swale(0).section.crest_offset.in_metres();
    let mut book = Book::new();
    book.rows = vec![
        (Role::Built, Point::new(83.0, -0.7), 100.0),
        (Role::Built, Point::new(30.0, crest + 0.2), CREST),
        (Role::Built, Point::new(30.0, 1.5), 99.4),
        (Role::Built, Point::new(30.0, 3.0), 99.75),
        (Role::Sill, Point::new(10.0, 10.0), 100.0),
        (Role::Built, Point::new(30.0, 14.0), 101.0),
        (Role::Ground, Point::new(30.0, crest), CREST - 0.3),
        (Role::Ground, Point::new(30.0, 8.0), 90.0),
    ];
    let answer = book.checked().value;
    let parts: Vec<Part> = answer.shots.iter().map(|shot| shot.part).collect();
    assert_eq!(parts, [Part::Sill, Part::Crest, Part::Bed, Part::Other]);
    // On the uphill batter the designed surface speaks: 99.4 + (3.0 - 2.4) / 2 = 99.7.
    assert!((answer.shots[3].difference_m - 0.05).abs() < 1e-9);
    assert_eq!(answer.shots[2].offset_m, 1.5);
    let reasons: Vec<&str> = answer.unmatched.iter().map(|shot| shot.reason.as_str()).collect();
    assert_eq!(reasons.len(), 4, "{reasons:?}");
    assert!(reasons[1].contains("beside the works"), "{reasons:?}");
    assert!(reasons[2].contains("coded as ground") && reasons[3].contains("coded as ground"), "{reasons:?}");
    assert!(answer.unmatched[0].reason.contains("its code says sill"), "{:?}", answer.unmatched);
}

/// A book without works codes: what stands on a sill, crest or bed counts, and natural ground beside them does not.
#[test]
fn without_codes_the_place_speaks_and_it_is_told() {
    let crest = plan().swale(0).section.crest_offset.in_metres();
    let mut book = Book::new();
    book.rows = vec![
        (Role::Ground, Point::new(30.0, crest), CREST - 0.3),
        (Role::Ground, Point::new(30.0, 1.5), 99.4),
        (Role::Ground, Point::new(30.0, 8.0), 90.0),
    ];
    let answer = book.checked();
    let parts: Vec<Part> = answer.value.shots.iter().map(|shot| shot.part).collect();
    assert_eq!(parts, [Part::Crest, Part::Bed]);
    assert_eq!(answer.value.unmatched.len(), 1);
    assert!(answer.notes.iter().any(|note| note.code == "asbuilt::no-codes"), "{:?}", answer.notes);
}

/// Advice to take more shots stands only where more shots of the same would prove it.
#[test]
fn more_shots_are_asked_for_only_where_they_would_help() {
    // On the bound itself: no number of shots proves it.
    let on_the_line = Book::new().along(Part::Sill, 80.0, 86.0, 40, |_| 0.010).checked().value;
    let sill = part(&on_the_line, Part::Sill);
    assert_eq!((sill.verdict, sill.shots_needed), (Verdict::CannotTell, None));
    let told = |book: &Book| {
        let notes = book.checked().notes;
        notes.into_iter().find(|note| note.code == "asbuilt::more-will-not-do").map(|note| note.text)
    };
    let line = Book::new().along(Part::Sill, 80.0, 86.0, 40, |_| 0.010);
    assert!(told(&line).unwrap().contains("trim it, more shots will not do"));
    assert_eq!(told(&Book::new().along(Part::Sill, 80.0, 86.0, 7, |_| 0.0)), None);
    // Inside by 3 mm: as many as bring the ends' half width to 3 mm, and with so many it is proven.
    let inside = Book::new().along(Part::Sill, 80.0, 86.0, 40, |_| 0.007).checked().value;
    let needed = part(&inside, Part::Sill).shots_needed.unwrap();
    assert!(needed > 40);
    let more = Book::new().along(Part::Sill, 80.0, 86.0, u32::try_from(needed).unwrap(), |_| 0.007).checked().value;
    assert_eq!(part(&more, Part::Sill).verdict, Verdict::Pass, "{needed}");
    // A crest never low: in the middle of what is allowed three shots do, near its lower bound many more.
    let low = Book::new().along(Part::Crest, 0.0, 78.0, 8, |_| 0.004).checked().value;
    let needed = part(&low, Part::Crest).shots_needed.unwrap();
    assert!(needed > 8, "{needed}");
}

#[test]
fn one_tolerance_for_every_part() {
    let wide = settings().with_tolerance(Length::metres(0.2));
    let book = Book::new().along(Part::Sill, 80.0, 86.0, 7, |_| 0.05).true_crest(|_| 0.1);
    let answer = book.checked_with(&wide).value;
    // A crest within a tolerance that was asked for does not fail over its sill by less than that.
    let low = Book::new().along(Part::Sill, 80.0, 86.0, 61, |_| 0.0).true_crest(|_| -0.08);
    let found = low.checked_with(&wide).value;
    assert_eq!(
        (found.verdict, found.freeboard[0].verdict, found.freeboard[0].allowed_short_m),
        (Verdict::Pass, Verdict::Pass, 0.2)
    );
    assert_eq!(low.checked().value.verdict, Verdict::Fail);
    assert!(
        found.headlines[1].ends_with("0.08 m short, 0.20 m allowed by the crest's tolerance"),
        "{}",
        found.headlines[1]
    );
    assert!(answer.shots.iter().all(|shot| shot.verdict == Verdict::Pass && shot.tolerance.below_m == 0.2));
}

#[test]
fn an_empty_book_is_not_checked() {
    let answer = Book::new().checked();
    assert_eq!(answer.value.verdict, Verdict::CannotTell);
    assert_eq!((answer.value.worst_m, answer.value.rms_m), (0.0, 0.0));
    assert_eq!(answer.notes.iter().filter(|note| note.code == "asbuilt::no-shots").count(), 3);
}

#[test]
fn a_design_comes_back_from_disk() {
    let design = design();
    let text = serde_json::to_string(&design).unwrap();
    assert_eq!(serde_json::from_str::<Design>(&text).unwrap(), design);
    let answer = Book::new().true_crest(|_| 0.01).checked().value;
    let text = serde_json::to_string(&answer).unwrap();
    let read: GradeCheck = serde_json::from_str(&text).unwrap();
    // Numbers come back to the last bit but one.
    assert_eq!(
        (read.verdict, &read.headlines, read.shots.len()),
        (answer.verdict, &answer.headlines, answer.shots.len())
    );
    assert!((read.worst_m - answer.worst_m).abs() < 1e-12);
}

proptest! {
    /// Raising every shot raises every difference by as much, and changes neither tilt nor waviness.
    #[test]
    fn a_shift_of_all_shots_shifts_all_differences(shift in -0.5..0.5_f64, seed in 0..1000_u64) {
        let book = |up: f64| {
            let jitter = noise(seed, 0.02);
            Book::new().along(Part::Sill, 80.0, 86.0, 9, move |x| jitter(x) + up).checked().value
        };
        let (level, raised) = (book(0.0), book(shift));
        for (a, b) in level.shots.iter().zip(&raised.shots) {
            prop_assert!((b.difference_m - a.difference_m - shift).abs() < 1e-9);
        }
        let (a, b) = (part(&level, Part::Sill), part(&raised, Part::Sill));
        prop_assert!((b.mean_m - a.mean_m - shift).abs() < 1e-9);
        prop_assert!((b.trend.unwrap().slope_m_per_m - a.trend.unwrap().slope_m_per_m).abs() < 1e-9);
        prop_assert!((b.waviness_m - a.waviness_m).abs() < 1e-6);
        prop_assert!((b.spread_m - a.spread_m).abs() < 1e-9);
    }

    /// A verdict never turns from fail to pass when the tolerance shrinks.
    #[test]
    fn a_tighter_tolerance_is_never_kinder(value in -0.1..0.1_f64, half in 0.001..0.05_f64, wide in 0.0..0.1_f64, less in 0.0..1.0_f64) {
        let judge = |t: f64| super::matching::judge(value, half, Tolerance::both(Length::metres(t)));
        prop_assert!(judge(wide * less) >= judge(wide));
    }
}
