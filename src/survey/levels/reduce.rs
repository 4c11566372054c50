//! From staff readings to elevations: the walk through the book, closures, adjustment, and what is to be told.

use super::{Closure, LevelBook, LevelError, LevelKind, LevelLimit, LevelPoint, LevelRow, LevelRun, LevelSettings};
use crate::notes::{Note, Noted, Place};
use crate::units::LengthUnit;

/// An elevation written in the book may differ from the reduced one by rounding.
const ROUNDING: f64 = 0.0015;

/// Backsights and foresights may differ so much in length altogether, metres: what a level out of adjustment adds grows
/// with the difference. Common practice, no source.
const UNEVEN: f64 = 20.0;

/// Reduces a level book.
///
/// # Errors
/// [`LevelError`] with the line that cannot be reduced.
pub fn reduce(book: &LevelBook, settings: &LevelSettings) -> Result<Noted<LevelRun>, LevelError> {
    let scale = book.unit.unwrap_or_default().metres();
    let mut notes = book.notes.clone();
    if book.unit.is_none() {
        let text = "no unit said in the level book: readings are taken as metres";
        notes.push(Note::new("levels::unit-assumed", text).at(place(book, 0)));
    }
    let mut walk = Walk::new(book, settings);
    for row in &book.rows {
        walk.row(&metric(row, scale))?;
    }
    if walk.points.iter().all(|point| point.kind == LevelKind::Start) {
        return Err(LevelError::Empty { file: book.name.clone() });
    }
    let closures = walk.close();
    notes.append(&mut walk.notes);
    notes.extend(arithmetic_by_hand(book, &walk, scale));
    notes.extend(verdict(book, &closures, &walk));
    let run = LevelRun {
        file: book.name.clone(),
        closures,
        sights_m: walk.backsights - walk.foresights,
        rises_m: walk.rises,
        open: walk.open,
        points: walk.points,
    };
    Ok(Noted { value: run, notes })
}

fn place(book: &LevelBook, line: u64) -> Place {
    Place::File { file: book.name.clone(), line, column: 0 }
}

fn metric(row: &LevelRow, scale: f64) -> LevelRow {
    let mut row = row.clone();
    for value in [
        &mut row.backsight,
        &mut row.intermediate,
        &mut row.foresight,
        &mut row.collimation,
        &mut row.elevation,
        &mut row.sight,
    ] {
        *value = value.map(|value| value * scale);
    }
    row
}

/// The instrument where it stands.
struct Setup {
    collimation: f64,
    /// The reading before, for rise and fall.
    before: Option<f64>,
}

/// The run from its last known elevation.
struct Run {
    from: String,
    /// Index of the first point that belongs to it.
    first: usize,
    setups: usize,
    length: Option<f64>,
    /// False from a said height of collimation: there is nothing to close against.
    from_mark: bool,
}

struct Walk<'a> {
    book: &'a LevelBook,
    settings: &'a LevelSettings,
    points: Vec<LevelPoint>,
    setup: Option<Setup>,
    run: Option<Run>,
    closed: Vec<(Closure, std::ops::Range<usize>)>,
    notes: Vec<Note>,
    backsights: f64,
    foresights: f64,
    rises: f64,
    back_length: f64,
    fore_length: f64,
    long: Vec<String>,
    odd: Vec<String>,
    /// Heights of collimation written beside a backsight that makes another.
    slips: Vec<String>,
    /// Some points hang on one mark alone.
    open: bool,
}

impl<'a> Walk<'a> {
    const fn new(book: &'a LevelBook, settings: &'a LevelSettings) -> Self {
        Self {
            book,
            settings,
            points: Vec::new(),
            setup: None,
            run: None,
            closed: Vec::new(),
            notes: Vec::new(),
            backsights: 0.0,
            foresights: 0.0,
            rises: 0.0,
            back_length: 0.0,
            fore_length: 0.0,
            long: Vec::new(),
            odd: Vec::new(),
            slips: Vec::new(),
            open: false,
        }
    }

    fn file(&self) -> String {
        self.book.name.clone()
    }

    fn row(&mut self, row: &LevelRow) -> Result<(), LevelError> {
        let fault = |why| LevelError::Row { file: self.book.name.clone(), line: row.line, why };
        if row.intermediate.is_some() && (row.foresight.is_some() || row.backsight.is_some()) {
            return Err(fault(
                "an intermediate sight shares its line with another: a line holds an intermediate sight, or a foresight and the next backsight",
            ));
        }
        self.look_at(row);
        // Books carry the height of collimation along: beside the backsight that makes it, or down the lines under it.
        let same = |setup: &Setup, collimation: f64| (setup.collimation - collimation).abs() <= ROUNDING;
        let carried = row.collimation.filter(|said| self.setup.as_ref().is_some_and(|setup| same(setup, *said)));
        // A foresight ends the set-up before the backsight or the height of collimation on the same line opens the next.
        if let Some(reading) = row.foresight {
            self.sight(row, reading, LevelKind::Turn)?;
        }
        if let Some(collimation) = row.collimation.filter(|_| carried.is_none() && row.backsight.is_none()) {
            self.leave_run();
            self.setup = Some(Setup { collimation, before: None });
            self.run = Some(Run {
                from: if row.station.is_empty() { "height of collimation".to_owned() } else { row.station.clone() },
                first: self.points.len(),
                setups: 1,
                length: None,
                from_mark: false,
            });
        }
        if let Some(reading) = row.intermediate {
            self.sight(row, reading, LevelKind::Intermediate)?;
        }
        if let Some(reading) = row.backsight {
            self.backsight(row, reading)?;
            if let (Some(said), Some(setup)) = (row.collimation, &self.setup)
                && !same(setup, said)
            {
                let (line, made) = (row.line, setup.collimation);
                self.slips.push(format!("{} (line {line}): book {said:.3} m, reduced {made:.3} m", row.station));
            }
        }
        Ok(())
    }

    /// The run ends without having reached a known mark.
    fn leave_run(&mut self) {
        let run = self.run.take();
        self.open |= run.is_some_and(|run| self.points.len() > run.first);
    }

    /// Sights and readings that a careful crew avoids.
    fn look_at(&mut self, row: &LevelRow) {
        let name = format!("{} (line {})", row.station, row.line);
        if row.sight.is_some_and(|sight| sight > self.settings.longest_sight) {
            self.long.push(name.clone());
        }
        let readings = [row.backsight, row.intermediate, row.foresight];
        if readings.into_iter().flatten().any(|reading| !(0.0..=5.5).contains(&reading)) {
            self.odd.push(name);
        }
        if let Some(sight) = row.sight {
            // A turning point's line holds a sight each way, of this length both.
            self.back_length += if row.backsight.is_some() { sight } else { 0.0 };
            self.fore_length += if row.foresight.is_some() { sight } else { 0.0 };
        }
    }

    fn known(&self, row: &LevelRow) -> Option<f64> {
        let name = row.station.trim();
        let mark = self.settings.marks.iter().find(|(mark, _)| mark.eq_ignore_ascii_case(name));
        mark.map(|(_, elevation)| *elevation)
    }

    fn sight(&mut self, row: &LevelRow, reading: f64, kind: LevelKind) -> Result<(), LevelError> {
        let Some(setup) = &mut self.setup else {
            let (file, line, station) = (self.file(), row.line, row.station.clone());
            return Err(LevelError::NoSetup { file, line, station });
        };
        let read = setup.collimation - reading;
        self.rises += setup.before.map_or(0.0, |before| before - reading);
        setup.before = Some(reading);
        let run = self.run.as_mut();
        let setups = run.as_ref().map_or(1, |run| run.setups);
        if kind == LevelKind::Turn {
            self.foresights += reading;
            self.setup = None;
            if let Some(run) = run {
                run.length = run.length.zip(row.sight).map(|(sum, sight)| sum + sight);
            }
        }
        self.points.push(LevelPoint {
            line: row.line,
            station: row.station.clone(),
            kind,
            read_m: read,
            elevation_m: read,
            sigma_m: 0.0,
            shared_m: 0.0,
            setups,
            remark: row.remark.clone(),
        });
        let known = self.known(row).or_else(|| self.same_as_start(row));
        match (known, kind) {
            (Some(known), LevelKind::Turn) => self.reached(row, read, known),
            (Some(known), LevelKind::Intermediate) => self.passed(row, read - known, setups),
            _ => {}
        }
        Ok(())
    }

    /// An intermediate sight on a known mark closes nothing, since the run goes on without it; but it must hit.
    fn passed(&mut self, row: &LevelRow, miss: f64, setups: usize) {
        let limit = LevelLimit::PerRootSetup(self.settings.per_root_setup).over(0.0, setups);
        if miss.abs() > limit {
            let text = format!(
                "the intermediate sight on the known mark {} reads {:+.1} mm off it, limit {:.1} mm",
                row.station,
                miss * 1000.0,
                limit * 1000.0
            );
            self.notes.push(Note::new("levels::mark-missed", text).at(place(self.book, row.line)));
        }
    }

    /// A run that comes back to where it started, though the start is no mark of the site.
    fn same_as_start(&self, row: &LevelRow) -> Option<f64> {
        let start = self.points.first().filter(|point| point.kind == LevelKind::Start)?;
        (!row.station.is_empty() && start.station.eq_ignore_ascii_case(&row.station)).then_some(start.read_m)
    }

    /// A foresight on a known elevation closes the run; the next backsight there starts another.
    fn reached(&mut self, row: &LevelRow, read: f64, known: f64) {
        let Some(run) = self.run.take() else { return };
        if !run.from_mark {
            self.open = true;
            return;
        }
        let limit = match run.length {
            Some(length) => LevelLimit::PerRootKilometre(self.settings.per_root_kilometre).over(length, run.setups),
            None => LevelLimit::PerRootSetup(self.settings.per_root_setup).over(0.0, run.setups),
        };
        let misclosure = read - known;
        let closure = Closure {
            on_itself: run.from.eq_ignore_ascii_case(&row.station),
            from: run.from,
            to: row.station.clone(),
            line: row.line,
            misclosure_m: misclosure,
            limit_m: limit,
            setups: run.setups,
            length_m: run.length,
            within: misclosure.abs() <= limit,
        };
        self.closed.push((closure, run.first..self.points.len()));
    }

    fn backsight(&mut self, row: &LevelRow, reading: f64) -> Result<(), LevelError> {
        let first = self.points.is_empty();
        // A known mark rules; else the turning point just reached; else, at the start, what the book says.
        let turned = self.points.iter().rev().find(|point| point.station.eq_ignore_ascii_case(&row.station));
        let reached = turned.filter(|point| point.kind == LevelKind::Turn || !row.station.is_empty());
        let known = self.known(row).or_else(|| first.then_some(row.elevation).flatten());
        let Some(elevation) = known.or_else(|| reached.map(|point| point.read_m)) else {
            let (file, line, station) = (self.file(), row.line, row.station.clone());
            return Err(if first {
                LevelError::NoStart { file, line, station }
            } else {
                LevelError::BacksightNowhere { file, line, station }
            });
        };
        if known.is_some() && reached.is_none() {
            self.points.push(LevelPoint {
                line: row.line,
                station: row.station.clone(),
                kind: LevelKind::Start,
                read_m: elevation,
                elevation_m: elevation,
                sigma_m: 0.0,
                shared_m: 0.0,
                setups: 0,
                remark: row.remark.clone(),
            });
        }
        self.setup = Some(Setup { collimation: elevation + reading, before: Some(reading) });
        self.backsights += reading;
        match &mut self.run {
            Some(run) if known.is_none() => {
                run.setups += 1;
                run.length = run.length.zip(row.sight).map(|(sum, sight)| sum + sight);
            }
            _ => {
                self.leave_run();
                self.run = Some(Run {
                    from: row.station.clone(),
                    first: self.points.len(),
                    setups: 1,
                    length: row.sight,
                    from_mark: true,
                });
            }
        }
        Ok(())
    }

    /// Adjusts what closed, gives every point its sigma, and hands out the closures.
    fn close(&mut self) -> Vec<Closure> {
        self.leave_run();
        let reading = self.settings.reading_sigma;
        // Each set-up has a backsight and a foresight.
        let per_setup = 2.0 * reading * reading;
        for point in &mut self.points {
            let behind = match point.kind {
                LevelKind::Start => 0.0,
                LevelKind::Intermediate | LevelKind::Turn => per_setup * point.setups as f64,
            };
            point.sigma_m = behind.sqrt();
        }
        for (closure, range) in &self.closed {
            if !closure.within {
                continue;
            }
            let all = closure.setups as f64;
            for point in &mut self.points[range.clone()] {
                // An intermediate sight hangs on the backsight of its set-up, which carries the share before it.
                let share = match point.kind {
                    LevelKind::Intermediate => (point.setups - 1) as f64 / all,
                    LevelKind::Start | LevelKind::Turn => point.setups as f64 / all,
                };
                point.elevation_m = point.read_m - share * closure.misclosure_m;
                let own = if point.kind == LevelKind::Intermediate { per_setup } else { 0.0 };
                point.sigma_m = (per_setup * all * share * (1.0 - share) + own).sqrt();
            }
        }
        for point in self.points.iter_mut().filter(|point| point.kind != LevelKind::Start) {
            point.shared_m = (point.sigma_m * point.sigma_m - reading * reading).max(0.0).sqrt();
        }
        let odd = if self.book.unit.unwrap_or_default() == LengthUnit::Metres {
            "staff readings below zero or above 5.5 m (an upside-down staff, a slip, or feet read as metres: a title such as \
             `backsight (ft)`, or the unit given with the file, says so)"
        } else {
            "staff readings below zero or above 5.5 m (an upside-down staff, or a slip)"
        };
        let told = [
            (
                &self.long,
                "levels::long-sight",
                "sights longer than the limit, where the reading and the curve of the earth cost accuracy",
            ),
            (&self.odd, "levels::odd-reading", odd),
            (
                &self.slips,
                "levels::arithmetic",
                "heights of collimation in the book differ from its readings, which are used",
            ),
        ];
        for (list, code, text) in told {
            if !list.is_empty() {
                let text = format!("{text}: {}", super::super::list_some(list, 6));
                self.notes.push(Note::new(code, text).at(place(self.book, 0)));
            }
        }
        if (self.back_length - self.fore_length).abs() > UNEVEN {
            let text = format!(
                "backsights add up to {:.0} m and foresights to {:.0} m: a level out of adjustment adds an error that even sights \
                 cancel",
                self.back_length, self.fore_length
            );
            self.notes.push(Note::new("levels::uneven-sights", text).at(place(self.book, 0)));
        }
        std::mem::take(&mut self.closed).into_iter().map(|(closure, _)| closure).collect()
    }
}

impl LevelLimit {
    /// The limit in metres of a run of so many metres and set-ups.
    #[must_use]
    pub fn over(self, length_m: f64, setups: usize) -> f64 {
        match self {
            Self::PerRootKilometre(limit) => limit * (length_m / 1000.0).sqrt(),
            Self::PerRootSetup(limit) => limit * (setups as f64).sqrt(),
        }
    }
}

/// Elevations that the book holds beside the readings, reduced by hand: where they differ there is a slip.
fn arithmetic_by_hand(book: &LevelBook, walk: &Walk<'_>, scale: f64) -> Option<Note> {
    let slips: Vec<String> = book
        .rows
        .iter()
        .filter_map(|row| {
            let written = row.elevation? * scale;
            let point = walk.points.iter().find(|point| point.line == row.line && point.kind != LevelKind::Start)?;
            let near = |value: f64| (value - written).abs() <= ROUNDING * scale.max(1.0);
            (!near(point.read_m) && !near(point.elevation_m)).then(|| {
                format!("{} (line {}): book {written:.3} m, reduced {:.3} m", row.station, row.line, point.read_m)
            })
        })
        .collect();
    (!slips.is_empty()).then(|| {
        let text = format!("elevations in the book differ from its readings: {}", super::super::list_some(&slips, 6));
        Note::new("levels::arithmetic", text).at(place(book, 0))
    })
}

fn verdict(book: &LevelBook, closures: &[Closure], walk: &Walk<'_>) -> Vec<Note> {
    let list = |closures: &[&Closure]| {
        super::super::list_some(&closures.iter().map(|closure| closure.sentence()).collect::<Vec<_>>(), 4)
    };
    let (good, bad): (Vec<&Closure>, Vec<&Closure>) = closures.iter().partition(|closure| closure.within);
    let mut notes = Vec::new();
    let mut note = |code, text: String| notes.push(Note::new(code, text).at(place(book, 0)));
    if !bad.is_empty() {
        note(
            "levels::misclosure",
            format!("the level book does not close: {}; its elevations are left as read", list(&bad)),
        );
    } else if !good.is_empty() {
        note("levels::closed", format!("the level book closes: {}", list(&good)));
    }
    if !good.is_empty() && good.iter().all(|closure| closure.on_itself) {
        note(
            "levels::one-mark",
            "the level book closes on the mark it started from: a wrong elevation of that mark would not show"
                .to_owned(),
        );
    }
    if walk.open {
        note(
            "levels::not-closed",
            "part of the level book hangs on one known elevation and closes on none: it is not checked".to_owned(),
        );
    }
    notes
}
