//! Published reductions, closures, and what a book must not get away with.

use super::*;

fn row(line: u64, station: &str, backsight: f64, intermediate: f64, foresight: f64) -> LevelRow {
    let reading = |value: f64| (!value.is_nan()).then_some(value);
    LevelRow {
        line,
        station: station.to_owned(),
        backsight: reading(backsight),
        intermediate: reading(intermediate),
        foresight: reading(foresight),
        ..LevelRow::default()
    }
}

fn book(rows: Vec<LevelRow>) -> LevelBook {
    LevelBook { name: "levels.csv".to_owned(), unit: Some(LengthUnit::Metres), rows, notes: Vec::new() }
}

fn marks(list: &[(&str, f64)]) -> LevelSettings {
    let marks = list.iter().map(|(name, elevation)| ((*name).to_owned(), *elevation)).collect();
    LevelSettings { marks, ..LevelSettings::default() }
}

fn codes(notes: &[Note]) -> Vec<&str> {
    notes.iter().map(|note| note.code.as_str()).collect()
}

const NO: f64 = f64::NAN;

/// A bench mark at 100.00, backsight 4.20, foresight 6.50: height of instrument 104.20, elevation 97.70 (a public text on
/// levelling, in feet), and a grade rod of 108.5 - 95.00 = 13.50.
#[test]
fn published_single_setup() {
    let mut feet = book(vec![row(2, "BM", 4.20, NO, NO), row(3, "TP1", NO, NO, 6.50)]);
    feet.unit = Some(LengthUnit::Feet);
    feet.rows[0].elevation = Some(100.0);
    let run = reduce(&feet, &LevelSettings::default()).unwrap().value;
    assert!((run.points[1].elevation_m / 0.3048 - 97.70).abs() < 1e-9);
    assert!((run.sights_m / 0.3048 + 2.30).abs() < 1e-9 && (run.rises_m - run.sights_m).abs() < 1e-12);
    let laser =
        book(vec![LevelRow { collimation: Some(108.5), ..row(2, "", NO, NO, NO) }, row(3, "grade", NO, 13.50, NO)]);
    let run = reduce(&laser, &LevelSettings::default()).unwrap();
    assert!((run.value.points[0].elevation_m - 95.0).abs() < 1e-9);
    assert!(codes(&run.notes).contains(&"levels::not-closed"));
    assert!(!run.value.is_checked());
}

/// The book as it is kept by height of collimation (NAVEDTRA 14071): the height stands beside the backsight that makes it and is
/// carried down the lines under it. None of these opens a set-up of its own, so the run closes as it does without them.
#[test]
fn a_height_of_collimation_carried_along_opens_nothing() {
    let bare = vec![
        LevelRow { elevation: Some(100.0), ..row(2, "CP1", 4.20, NO, NO) },
        row(3, "a", NO, 3.0, NO),
        row(4, "TP1", 1.10, NO, 6.50),
        row(5, "CP2", NO, NO, 2.30),
    ];
    let known = marks(&[("CP1", 100.0), ("CP2", 96.5)]);
    let due = reduce(&book(bare.clone()), &known).unwrap();
    assert_eq!(due.value.closures.len(), 1);
    let mut kept = bare;
    for (row, height) in kept.iter_mut().zip([104.20, 104.20, 98.80, 98.80]) {
        row.collimation = Some(height);
    }
    let found = reduce(&book(kept.clone()), &known).unwrap();
    assert_eq!(found, due);
    // A slip beside a backsight is told, and the readings rule.
    kept[2].collimation = Some(98.70);
    kept[3].collimation = None;
    let told = reduce(&book(kept), &known).unwrap();
    assert_eq!(told.value, due.value);
    let slip = told.notes.iter().find(|note| note.code == "levels::arithmetic").unwrap();
    assert!(slip.text.contains("TP1 (line 4): book 98.700 m, reduced 98.800 m"), "{}", slip.text);
}

/// A laser moved between two readings: the height of collimation on a reading's own line is the one it stands under.
#[test]
fn a_reading_stands_under_the_height_of_its_own_line() {
    let under = |line, height, reading| LevelRow { collimation: Some(height), ..row(line, "peg", NO, reading, NO) };
    let run = reduce(&book(vec![under(2, 108.5, 13.5), under(3, 107.0, 2.0)]), &LevelSettings::default()).unwrap();
    let found: Vec<f64> = run.value.points.iter().map(|point| point.elevation_m).collect();
    assert_eq!(found, [95.0, 105.0]);
}

/// La Putt, Elementary Surveying, sample problem (inputs read, answers from memory and recomputed): a loop of 30.5 km from
/// 728.730 m that closes on 728.486 m; its observed elevations adjusted in proportion to distance. Every leg stands
/// for as many set-ups as it has half kilometres here, so set-ups and distance agree to 0.3 km.
#[test]
fn published_circuit() {
    let observed = [
        (0.0, 728.730),
        (5.245, 783.213),
        (11.271, 891.764),
        (17.718, 843.195),
        (21.964, 739.708),
        (25.247, 702.956),
        (30.5, 728.486),
    ];
    // One metre a set-up makes the proportion exact to 30500 parts; a book of one-metre sights is built from the text's
    // elevations.
    let mut rows = vec![row(2, "BM1", 0.0, NO, NO)];
    let mut line = 2;
    for pair in observed.windows(2) {
        let setups = ((pair[1].0 - pair[0].0) * 100.0_f64).round();
        let mut done = 0.0;
        let fall = (pair[0].1 - pair[1].1) / setups;
        while done < setups {
            done += 1.0;
            line += 1;
            let end = done == setups;
            let name = match (end, pair[1].0) {
                (true, 30.5) => "BM1".to_owned(),
                (true, km) => format!("km {km}"),
                (false, _) => format!("t{line}"),
            };
            let last = end && pair[1].0 == 30.5;
            rows.push(row(line, &name, if last { NO } else { 0.0 }, NO, fall));
        }
    }
    let settings = LevelSettings { per_root_setup: 1.0, ..marks(&[("BM1", 728.730)]) };
    let run = reduce(&book(rows.clone()), &settings).unwrap().value;
    assert!((run.closures[0].misclosure_m + 0.244).abs() < 1e-9 && run.closures[0].on_itself);
    for (km, adjusted) in [(5.245, 783.255), (11.271, 891.854), (17.718, 843.337), (21.964, 739.884), (25.247, 703.158)]
    {
        let name = format!("km {km}");
        let point = run.points.iter().find(|point| point.station == name).unwrap();
        assert!((point.elevation_m - adjusted).abs() < 6e-4, "{name}: {}", point.elevation_m);
    }
    // By the third-order limit, 12 mm times the root of 30.5 km, the circuit would be rejected: 66 mm.
    assert!((LevelLimit::PerRootKilometre(0.012).over(30_500.0, 1) - 0.066_27).abs() < 1e-5);
    let strict = LevelSettings { per_root_setup: 0.001, ..settings };
    let noted = reduce(&book(rows), &strict).unwrap();
    assert!(codes(&noted.notes).contains(&"levels::misclosure"));
    assert!(noted.value.points.iter().all(|point| point.elevation_m == point.read_m));
}

/// A book of the usual shape: start on CP1, intermediate sights on stakes, a turn, closed on CP2.
fn usual() -> LevelBook {
    book(vec![
        row(2, "CP1", 1.345, NO, NO),
        row(3, "U000", NO, 2.101, NO),
        row(4, "U020", NO, 2.113, NO),
        row(5, "TP1", 1.502, NO, 2.250),
        row(6, "U040", NO, 1.349, NO),
        row(7, "CP2", NO, NO, 0.433),
    ])
}

#[test]
fn a_run_between_two_marks_is_adjusted_and_checked() {
    let noted = reduce(&usual(), &marks(&[("cp1", 432.380), ("CP2", 432.540)])).unwrap();
    let run = &noted.value;
    let of = |station: &str| run.points.iter().find(|point| point.station == station).unwrap();
    // Height of collimation 433.725; TP1 431.475; then 432.977; CP2 432.544, 4 mm high.
    assert!((of("U000").read_m - 431.624).abs() < 1e-9);
    assert!((run.closures[0].misclosure_m - 0.004).abs() < 1e-9 && run.closures[0].within);
    assert!(run.is_checked(), "{:?}", run.closures);
    // The first set-up's sights hang on the mark itself, those of the second on a turn that takes half.
    assert!((of("U000").elevation_m - 431.624).abs() < 1e-9);
    assert!((of("TP1").elevation_m - 431.473).abs() < 1e-9);
    assert!((of("U040").elevation_m - (431.628 - 0.002)).abs() < 1e-9);
    assert!((of("CP2").elevation_m - 432.540).abs() < 1e-9);
    // Two readings of 2 mm; then those of the second set-up on a turn known to half of two set-ups.
    assert!((of("U000").sigma_m - 0.002 * 2.0_f64.sqrt()).abs() < 1e-12);
    assert!((of("U040").sigma_m - (8e-6_f64 * (2.0 * 0.25 + 1.0)).sqrt()).abs() < 1e-12);
    assert!((run.sights_m - (432.544 - 432.380)).abs() < 1e-9 && (run.rises_m - run.sights_m).abs() < 1e-9);
    assert!(codes(&noted.notes).contains(&"levels::closed"));
}

#[test]
fn a_misread_staff_is_told_and_nothing_is_smeared() {
    let mut slip = usual();
    slip.rows[3].foresight = Some(2.350);
    let noted = reduce(&slip, &marks(&[("CP1", 432.380), ("CP2", 432.540)])).unwrap();
    assert!(!noted.value.is_checked());
    assert!(codes(&noted.notes).contains(&"levels::misclosure"));
    let text = &noted.notes.iter().find(|note| note.code == "levels::misclosure").unwrap().text;
    assert!(text.contains("-96.0 mm over 2 set-ups"), "{text}");
    assert!(noted.value.points.iter().all(|point| point.elevation_m == point.read_m));
}

#[test]
fn sums_do_not_prove_a_reading_and_one_mark_does_not_prove_itself() {
    // Out and back to the same mark: closes, whatever the mark's elevation is.
    let mut loop_book = usual();
    loop_book.rows.last_mut().unwrap().station = "CP1".to_owned();
    loop_book.rows.last_mut().unwrap().foresight = Some(0.594);
    let noted = reduce(&loop_book, &marks(&[("CP1", 999.0)])).unwrap();
    assert!(noted.value.closures[0].within && noted.value.closures[0].on_itself);
    assert!(!noted.value.is_checked());
    assert!(codes(&noted.notes).contains(&"levels::one-mark"));
}

#[test]
fn a_spur_that_closes_on_nothing_is_not_checked() {
    let mut rows = usual().rows;
    rows.push(row(8, "CP1", 1.4, NO, NO));
    rows.push(row(9, "U060", NO, 2.0, NO));
    let noted = reduce(&book(rows), &marks(&[("CP1", 432.380), ("CP2", 432.540)])).unwrap();
    assert!(noted.value.open && !noted.value.is_checked());
    assert!(codes(&noted.notes).contains(&"levels::not-closed"));
    assert!((noted.value.points.last().unwrap().elevation_m - 431.780).abs() < 1e-9);
}

#[test]
fn elevations_reduced_by_hand_are_held_against_the_readings() {
    let mut by_hand = usual();
    by_hand.rows[0].elevation = Some(432.380);
    by_hand.rows[1].elevation = Some(431.624);
    by_hand.rows[2].elevation = Some(431.512); // should be 431.612
    let noted = reduce(&by_hand, &marks(&[("CP2", 432.540)])).unwrap();
    let text = &noted.notes.iter().find(|note| note.code == "levels::arithmetic").unwrap().text;
    assert!(text.contains("U020 (line 4): book 431.512 m, reduced 431.612 m") && !text.contains("U000"), "{text}");
}

#[test]
fn the_limit_goes_by_distance_where_sights_have_lengths() {
    let mut measured = usual();
    for row in &mut measured.rows {
        row.sight = Some(50.0);
    }
    // The turn's line holds a foresight and a backsight of one length each.
    let noted = reduce(&measured, &marks(&[("CP1", 432.380), ("CP2", 432.540)])).unwrap();
    let closure = &noted.value.closures[0];
    assert_eq!(closure.length_m, Some(200.0));
    assert!((closure.limit_m - 0.012 * 0.2_f64.sqrt()).abs() < 1e-12);
    measured.rows[1].sight = Some(75.0);
    measured.rows[0].sight = Some(80.0);
    let noted = reduce(&measured, &marks(&[("CP1", 432.380), ("CP2", 432.540)])).unwrap();
    assert!(codes(&noted.notes).contains(&"levels::long-sight"));
    assert!(codes(&noted.notes).contains(&"levels::uneven-sights"));
}

/// 60 m back and 40 m on, 40 and 40, 40 and 30: backsights of 140 m and foresights of 110 m.
#[test]
fn a_turning_points_length_is_that_of_both_its_sights() {
    let start = LevelRow { elevation: Some(100.0), sight: Some(60.0), ..row(2, "BM", 1.5, NO, NO) };
    let turn = |line, name| LevelRow { sight: Some(40.0), ..row(line, name, 1.5, NO, 1.5) };
    let end = LevelRow { sight: Some(30.0), ..row(5, "END", NO, NO, 1.5) };
    let noted = reduce(&book(vec![start, turn(3, "TP1"), turn(4, "TP2"), end]), &LevelSettings::default()).unwrap();
    let told = noted.notes.iter().find(|note| note.code == "levels::uneven-sights").unwrap();
    assert!(told.text.contains("backsights add up to 140 m and foresights to 110 m"), "{}", told.text);
}

/// 9 and 10 ft on a staff of 14 ft, taken for metres.
#[test]
fn readings_that_look_like_feet_are_asked_about() {
    let start = LevelRow { elevation: Some(100.0), ..row(2, "BM", 9.2, NO, NO) };
    let mut book = book(vec![start, row(3, "A", NO, 10.4, NO), row(4, "B", NO, NO, 9.9)]);
    let odd = |book: &LevelBook| {
        let noted = reduce(book, &LevelSettings::default()).unwrap();
        noted.notes.iter().find(|note| note.code == "levels::odd-reading").map(|note| note.text.clone())
    };
    assert!(odd(&book).unwrap().contains("feet read as metres"));
    book.unit = Some(LengthUnit::Feet);
    assert_eq!(odd(&book), None);
}

#[test]
fn what_cannot_be_reduced_is_refused_at_its_line() {
    let told = |rows: Vec<LevelRow>| reduce(&book(rows), &LevelSettings::default()).unwrap_err().to_string();
    assert!(told(vec![row(2, "CP1", 1.3, NO, NO)]).contains("levels.csv:2: the book starts on `CP1`"));
    assert!(told(vec![row(2, "U000", NO, 1.3, NO)]).contains("before any backsight"));
    let start = LevelRow { elevation: Some(100.0), ..row(2, "BM", 1.0, NO, NO) };
    assert!(told(vec![start.clone(), row(3, "A", NO, NO, 1.1), row(4, "B", 1.0, NO, NO)]).contains("levels.csv:4"));
    assert!(told(vec![start.clone(), row(3, "A", NO, 1.0, 1.1)]).contains("shares its line"));
    assert!(told(vec![start]).contains("no staff reading"));
}

/// Any walk over known heights reduces to them, closes to nothing, and rise and fall agree with the sums.
#[test]
fn a_perfect_book_comes_back_exactly() {
    use rand::{Rng, SeedableRng};
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(17);
    for _ in 0..50 {
        let mut heights = vec![("CP1".to_owned(), 430.0)];
        let mut rows = vec![];
        let mut line = 1;
        let mut at = 430.0;
        let setups = random.random_range(1..6);
        for setup in 0..setups {
            let collimation = at + random.random_range(0.3..3.5);
            line += 1;
            let name = heights.iter().rev().find(|(name, _)| !name.starts_with('i')).unwrap().0.clone();
            rows.push(row(line, &name, collimation - at, NO, NO));
            for side in 0..random.random_range(0..4) {
                let height = collimation - random.random_range(0.3..3.5);
                line += 1;
                heights.push((format!("i{setup}-{side}"), height));
                rows.push(row(line, &format!("i{setup}-{side}"), NO, collimation - height, NO));
            }
            at = collimation - random.random_range(0.3..3.5);
            line += 1;
            let name = if setup + 1 == setups { "CP2".to_owned() } else { format!("T{setup}") };
            rows.push(row(line, &name, NO, NO, collimation - at));
            heights.push((name, at));
        }
        let run = reduce(&book(rows), &marks(&[("CP1", 430.0), ("CP2", at)])).unwrap().value;
        assert!(run.is_checked() && run.closures[0].misclosure_m.abs() < 1e-9);
        assert!((run.sights_m - run.rises_m).abs() < 1e-9);
        for (name, height) in &heights {
            let found = run.points.iter().find(|point| point.station == *name).unwrap();
            assert!((found.elevation_m - height).abs() < 1e-9, "{name}");
        }
    }
}
