//! The values of the stages, each computed once and only when something asks for it.
//!
//! A stage that is up to date is never computed, unless a stale one after it needs its value: then it is computed in
//! memory and its folder is left alone.

use super::built::{known_names, levelled, survey_of_built};
use super::config::{CloudHeights, PipelineFile, ShotFile};
use super::foreign::middle_of_cloud;
use super::{PipelineError, blame, bring, clouds, resolve};
use crate::asbuilt::{self, Design, GradeCheck, Mark, Measured, NamedPlace};
use crate::earth::{self, Quantities};
use crate::frame::{self, FrameDefinition, SiteFrame};
use crate::ground::{self, Fitted, Ground, GroundSettings};
use crate::io::read::cloud::Cloud;
use crate::io::read::grid::{self, GridFile};
use crate::io::read::{level_book, points};
use crate::io::write::MapContext;
use crate::notes::{Note, Noted, Reporter};
use crate::stakeout::{self, Peg, StakeList};
use crate::survey::{self, HeightsAre, PointFile, Role, Survey};
use crate::works::{self, FallLine, SitePlan};
use std::cell::OnceCell;
use std::path::PathBuf;

/// The values of one run.
pub(super) struct Values<'a> {
    pub(super) file: &'a PipelineFile,
    reporter: &'a dyn Reporter,
    survey: OnceCell<Noted<Survey>>,
    /// What found the ground of clouds, set with the survey.
    cloud_ground: OnceCell<Option<clouds::Found>>,
    context: OnceCell<MapContext>,
    ground: OnceCell<Noted<Ground>>,
    doubts: OnceCell<Option<Vec<ground::Doubt>>>,
    fitted: OnceCell<Option<Fitted>>,
    plan: OnceCell<Noted<SitePlan>>,
    fall_lines: OnceCell<Noted<Vec<FallLine>>>,
    earth: OnceCell<Noted<Quantities>>,
    stakes: OnceCell<Noted<StakeList>>,
    asbuilt: OnceCell<Noted<GradeCheck>>,
}

/// `OnceCell::get_or_try_init`, which is not in stable Rust.
fn once<T>(cell: &OnceCell<T>, make: impl FnOnce() -> Result<T, PipelineError>) -> Result<&T, PipelineError> {
    if cell.get().is_none() {
        let made = make()?;
        let _ = cell.set(made);
    }
    cell.get().ok_or_else(|| PipelineError::Fault { what: "a value asked for itself".to_owned() })
}

impl<'a> Values<'a> {
    pub(super) fn new(file: &'a PipelineFile, reporter: &'a dyn Reporter) -> Self {
        Self {
            file,
            reporter,
            survey: OnceCell::new(),
            cloud_ground: OnceCell::new(),
            context: OnceCell::new(),
            ground: OnceCell::new(),
            doubts: OnceCell::new(),
            fitted: OnceCell::new(),
            plan: OnceCell::new(),
            fall_lines: OnceCell::new(),
            earth: OnceCell::new(),
            stakes: OnceCell::new(),
            asbuilt: OnceCell::new(),
        }
    }

    pub(super) fn survey(&self) -> Result<&Noted<Survey>, PipelineError> {
        once(&self.survey, || {
            let asked = &self.file.survey;
            let files = read_points(self.file, &asked.shots)?;
            let definition = definition(self.file)?;
            let mut notes = Vec::new();
            let read = read_clouds(self.file, &mut notes)?;
            let grids = read_grids(self.file, &mut notes)?;
            let brought = bring::survey_files(self.file, files, &definition)?.drain_into(&mut notes);
            let (files, fit) = (brought.files, brought.fit);
            let middle = match survey::middle(&files, &asked.settings, &definition)? {
                Some(middle) => Some(middle),
                None => match (read.iter().find_map(middle_of_cloud), grids.first()) {
                    (None, Some(grid)) => Some(grid.middle_in(&definition)?),
                    (cloud, _) => cloud,
                },
            };
            let height = height_words(self.file, &files);
            let mut frame = definition.site_frame(middle.unwrap_or_default(), height.as_deref());
            bring::ground_lengths(self.file, &files, &definition, &mut frame, &mut notes)?;
            self.reporter.checkpoint()?;
            let mut found = if files.is_empty() {
                Noted::plain(Survey::empty(frame.clone()))
            } else {
                survey::check_told(&files, &asked.settings, &frame, fit, self.reporter)
                    .map_err(|error| bring::at_key(self.file, error))?
            };
            found.notes.splice(0..0, notes);
            found.value.files.extend(read.iter().map(|cloud| cloud.path().to_owned()));
            let ground = clouds::ground(read, &asked.clouds_asked, &frame, self.reporter)?.drain_into(&mut found.notes);
            found.value.cloud = ground.points;
            found.notes.extend(bring::cloud_heights(self.file, &frame, &mut found.value.cloud)?);
            for grid in &grids {
                found.value.files.push(grid.path.clone());
                found.value.cloud.extend(grid.in_frame(&frame)?.drain_into(&mut found.notes).points());
            }
            let _ = self.cloud_ground.set(ground.found);
            Ok(found)
        })
    }

    /// What found the ground of clouds, when some came without.
    pub(super) fn cloud_ground(&self) -> Result<Option<&clouds::Found>, PipelineError> {
        self.survey()?;
        Ok(self.cloud_ground.get().and_then(Option::as_ref))
    }

    /// What map files need to know of the frame, with the date that documents carry.
    pub(super) fn context(&self) -> Result<&MapContext, PipelineError> {
        once(&self.context, || {
            let survey = &self.survey()?.value;
            let date = self.date()?;
            Ok(MapContext::new(&survey.frame, date.as_deref().unwrap_or("1970-01-01"))?)
        })
    }

    /// The date that documents carry: what the site says, else the day of the newest shot, else none.
    pub(super) fn date(&self) -> Result<Option<String>, PipelineError> {
        let survey = &self.survey()?.value;
        Ok(self.file.site.date.clone().or_else(|| newest_day(survey)))
    }

    pub(super) fn ground(&self) -> Result<&Noted<Ground>, PipelineError> {
        once(&self.ground, || {
            let survey = &self.survey()?.value;
            let settings = ground_settings(self.file, &survey.frame)?;
            self.reporter.checkpoint()?;
            Ok(ground::build(survey, &settings)?)
        })
    }

    /// Where the ground between shots is not known well enough; nothing for a ground too large to ask.
    pub(super) fn doubts(&self) -> Result<&Option<Vec<ground::Doubt>>, PipelineError> {
        once(&self.doubts, || {
            let (survey, made) = (&self.survey()?.value, &self.ground()?.value);
            self.reporter.checkpoint()?;
            Ok(ground::doubts(made, survey, &self.file.survey.settings, self.file.ground.sure_to.in_metres()))
        })
    }

    /// The ground with estimated heights near the works; nothing where it is not made of shots alone.
    pub(super) fn fitted(&self) -> Result<&Option<Fitted>, PipelineError> {
        once(&self.fitted, || {
            let (survey, ground) = (&self.survey()?.value, &self.ground()?.value);
            let wanted = resolve::works(self.file, survey, &[])?;
            self.reporter.checkpoint()?;
            let lines = resolve::fall_lines(self.file, survey)?;
            Ok(works::natural_ground(ground, survey, &self.file.survey.settings, &wanted, &lines)?)
        })
    }

    /// The ground that works stand on.
    pub(super) fn natural(&self) -> Result<&Ground, PipelineError> {
        Ok(match self.fitted()? {
            Some(fitted) => &fitted.ground,
            None => &self.ground()?.value,
        })
    }

    pub(super) fn plan(&self) -> Result<&Noted<SitePlan>, PipelineError> {
        once(&self.plan, || {
            let wanted = resolve::works(self.file, &self.survey()?.value, &self.fall_lines()?.value)?;
            let mut plan = works::design(self.natural()?, &wanted, self.reporter)
                .map_err(|error| blame::works_fault(self.file, &error))?;
            if let Some(fitted) = self.fitted()? {
                works::prove(&mut plan, fitted, &self.ground()?.value);
            }
            let pits = resolve::test_pits(self.file, &self.survey()?.value)?;
            works::prove_soil(&mut plan, self.natural()?, &pits, self.file.earth.test_pit_reach);
            let unstable = resolve::unstable(self.file, &self.survey()?.value)?;
            works::tell_unstable(&mut plan, self.natural()?, unstable);
            Ok(plan)
        })
    }

    /// Lines of constant fall.
    pub(super) fn fall_lines(&self) -> Result<&Noted<Vec<FallLine>>, PipelineError> {
        once(&self.fall_lines, || {
            let wanted = resolve::fall_lines(self.file, &self.survey()?.value)?;
            self.reporter.checkpoint()?;
            let mut lines =
                works::fall_lines(self.natural()?, &wanted).map_err(|error| blame::works_fault(self.file, &error))?;
            if let Some(fitted) = self.fitted()? {
                works::prove_fall_lines(&mut lines, fitted, &self.ground()?.value);
            }
            Ok(lines)
        })
    }

    pub(super) fn earth(&self) -> Result<&Noted<Quantities>, PipelineError> {
        once(&self.earth, || {
            let (ground, plan) = (self.natural()?, &self.plan()?.value);
            self.reporter.checkpoint()?;
            Ok(earth::quantities(ground, plan))
        })
    }

    pub(super) fn stakes(&self) -> Result<&Noted<StakeList>, PipelineError> {
        once(&self.stakes, || {
            let (ground, plan) = (self.natural()?, &self.plan()?.value);
            self.reporter.checkpoint()?;
            Ok(stakeout::stakes(ground, plan, &self.file.stakes))
        })
    }

    /// Pegs along lines of constant fall.
    pub(super) fn pegs(&self) -> Result<Noted<Vec<Peg>>, PipelineError> {
        let (ground, plan, lines) = (self.natural()?, &self.plan()?.value, &self.fall_lines()?.value);
        Ok(stakeout::pegs(ground, plan, lines, &self.file.stakes))
    }

    /// Known marks of the survey, for check shots of as-built files.
    pub(super) fn marks(&self) -> Result<Vec<Mark>, PipelineError> {
        let survey = &self.survey()?.value;
        let marks = survey.shots.iter().filter(|shot| shot.role == Role::Mark);
        Ok(marks.map(|shot| Mark { name: shot.id.clone(), place: shot.place, elevation_m: shot.elevation }).collect())
    }

    pub(super) fn asbuilt(&self) -> Result<&Noted<GradeCheck>, PipelineError> {
        once(&self.asbuilt, || {
            let Some(asked) = &self.file.asbuilt else {
                return Err(PipelineError::Fault { what: "an as-built check that nobody asked for".to_owned() });
            };
            let plan = &self.plan()?.value;
            let survey = &self.survey()?.value;
            let frame = &survey.frame;
            let mut notes = Vec::new();
            let mut design = Design::from_plan(plan);
            design.marks = self.marks()?;
            let path = |shots: &ShotFile| self.file.beside(&shots.file.value);
            let (books, shots): (Vec<&ShotFile>, Vec<&ShotFile>) =
                asked.files.iter().partition(|shots| level_book::is_one_at(&path(shots)));
            let built = if shots.is_empty() {
                Survey::empty(frame.clone())
            } else {
                let files = read_points(self.file, shots)?;
                let files = bring::later_files(self.file, files, &definition(self.file)?, survey.fit.as_ref())?;
                let files = files.drain_into(&mut notes);
                survey_of_built(&files, &self.file.survey.settings, frame)?.drain_into(&mut notes)
            };
            let names = if books.is_empty() { Vec::new() } else { NamedPlace::of(&self.stakes()?.value) };
            let mut levels = Vec::new();
            for book in books {
                let run = levelled(&path(book), &book.settings, frame, &design.marks, &asked.settings)?;
                known_names(&path(book), &run.value, &names)?;
                levels.push(run.drain_into(&mut notes));
            }
            self.reporter.checkpoint()?;
            let measured = Measured { survey: &built, levels: &levels, names: &names };
            let settings = asked.settings.asked_every(&self.file.stakes);
            let check = asbuilt::check(&design, plan.surfaces.last(), &measured, &settings, self.file.site.units);
            Ok(Noted { value: check.drain_into(&mut notes), notes })
        })
    }
}

/// Reads point files, named relative to the pipeline file.
pub(super) fn read_points<'s>(
    file: &PipelineFile,
    shots: impl IntoIterator<Item = &'s ShotFile>,
) -> Result<Vec<PointFile>, PipelineError> {
    shots
        .into_iter()
        .map(|shots| Ok(points::read_measured(&file.beside(&shots.file.value), &shots.settings)?))
        .collect()
}

fn definition(file: &PipelineFile) -> Result<FrameDefinition, PipelineError> {
    let crs = &file.site.crs;
    if crs.value.trim() == "local" {
        let unit = file.survey.shots.iter().find_map(|shots| shots.settings.unit).unwrap_or_default();
        return Ok(FrameDefinition::local(unit));
    }
    frame::resolve(&crs.value).map_err(|error| file.fault_at(crs, "pipeline::unknown-frame", &error.to_string()).into())
}

fn read_clouds(file: &PipelineFile, notes: &mut Vec<Note>) -> Result<Vec<Cloud>, PipelineError> {
    let asked = &file.survey;
    let paths: Vec<PathBuf> = asked.clouds.iter().map(|name| file.beside(&name.value)).collect();
    Ok(clouds::read(&paths, &asked.clouds_asked)?.drain_into(notes))
}

fn read_grids(file: &PipelineFile, notes: &mut Vec<Note>) -> Result<Vec<GridFile>, PipelineError> {
    let grids = file.survey.grids.iter();
    grids
        .map(|asked| {
            Ok(grid::read(&file.beside(&asked.file.value), &asked.file.value, &asked.settings)?.drain_into(notes))
        })
        .collect()
}

/// What the elevations are above: the user's words, with what made them where the files' own elevations did not.
fn height_words(file: &PipelineFile, files: &[PointFile]) -> Option<String> {
    let bring = &file.survey.bring;
    let of = |heights: HeightsAre| -> Vec<&str> {
        files.iter().filter(|file| file.heights == heights).map(|file| file.name.as_str()).collect()
    };
    let mut made = Vec::new();
    let clouds = !file.survey.clouds.is_empty() && file.survey.clouds_asked.heights == CloudHeights::Ellipsoidal;
    if clouds || !of(HeightsAre::ByGeoid).is_empty() {
        let grids: Vec<&str> = bring.geoids.iter().map(|grid| grid.value.as_str()).collect();
        made.push(format!("ellipsoidal height minus geoid height by {}", grids.join(", else ")));
    }
    if bring.plane.is_some() {
        made.push("an inclined plane added".to_owned());
    }
    // A fit in height brings them to what the marks are above.
    if bring.fit.as_ref().is_none_or(|fit| fit.height.is_none()) {
        let others = [
            (HeightsAre::Ellipsoidal, "the ellipsoid"),
            (HeightsAre::ReceiverGeoid, "the geoid model inside the receiver"),
        ];
        for (names, above) in
            others.map(|(heights, above)| (of(heights), above)).into_iter().filter(|(n, _)| !n.is_empty())
        {
            made.push(format!("{above} in {}", names.join(", ")));
        }
    }
    let made = made.join("; ");
    match (file.site.height.as_deref(), made.is_empty()) {
        (own, true) => own.map(str::to_owned),
        (Some(own), false) => Some(format!("{own} ({made})")),
        (None, false) => Some(made),
    }
}

fn ground_settings(file: &PipelineFile, frame: &SiteFrame) -> Result<GroundSettings, PipelineError> {
    let asked = &file.ground;
    let boundary = asked.boundary.as_ref().map(|name| resolve::region(file, name, frame)).transpose()?;
    Ok(GroundSettings {
        longest_edge: asked.longest_edge,
        gaps_are_holes: asked.gaps_are_holes,
        merge_within: asked.merge_within,
        boundary,
        shots_rule_within: asked.shots_rule_within,
        correct_cloud: asked.correct_cloud,
        thin_to: asked.thin_to,
    })
}

fn newest_day(survey: &Survey) -> Option<String> {
    survey.shots.iter().filter_map(|shot| day_in(shot.time.as_deref()?)).max()
}

/// The first `2026-03-14` in a text.
fn day_in(text: &str) -> Option<String> {
    let bytes = text.as_bytes();
    (0..bytes.len().saturating_sub(9)).find_map(|start| {
        let day = text.get(start..start + 10)?;
        let fits = day.bytes().enumerate().all(|(at, byte)| match at {
            4 | 7 => byte == b'-',
            _ => byte.is_ascii_digit(),
        });
        fits.then(|| day.to_owned())
    })
}

#[cfg(test)]
mod tests {
    use super::day_in;

    #[test]
    fn a_day_is_found_in_a_time() {
        assert_eq!(day_in("2026-03-14T08:15:30Z").as_deref(), Some("2026-03-14"));
        assert_eq!(day_in("taken 2025-12-01 09:00").as_deref(), Some("2025-12-01"));
        assert_eq!(day_in("08:15:30"), None);
        assert_eq!(day_in("\u{e9}\u{e9}\u{e9}\u{e9}\u{e9}\u{e9}"), None);
    }
}
