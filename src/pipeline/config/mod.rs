//! The pipeline file: what a person writes, checked, with the place of every fault.
//!
//! Invariant: after [`read`] every quantity is in its type, every default is filled in, every name is unique and every
//! reference between tables holds; what needs the survey to be known (a shot's place) still carries its place in the
//! file, so that a later fault can point at it. Unknown keys are refused.

mod bring;
mod channel;
mod clouds;
mod crossing;
mod dam;
mod down_slope;
mod earth;
mod fall_line;
mod fault;
mod grids;
pub mod keys;
mod manner;
mod pit;
mod reference;
mod section;
mod site;
mod spillway;
mod storm;
mod survey;
mod swale;
mod test_pit;
mod unstable;
mod walk;
mod water_level;
mod works;

pub use bring::{BringAsked, FitFile, ScaleAsked};
pub use channel::{ChannelAsked, FlowAsked};
pub use clouds::{Classify, CloudHeights, CloudsAsked};
pub use dam::{AxisAsked, DamAsked};
pub use down_slope::DownSlope;
pub use earth::{AsBuiltAsked, EarthAsked};
pub use fall_line::{FallLineAsked, SpotAsked};
pub use fault::{Fault, Faults, Located, Span, line_and_column};
pub use grids::GridAsked;
pub use manner::ShotFile;
pub use pit::{FloorAsked, PitAsked};
pub use reference::reference_page;
pub use site::{FactorAsked, Site};
pub use spillway::{PlaceAsked, SillAsked, SpillwayAsked};
pub use survey::{GroundAsked, SurveyAsked};
pub use swale::{SwaleAsked, SwaleLevelAsked};
pub use test_pit::TestPitAsked;
pub use unstable::{UnstableAreaAsked, UnstableAsked};
pub use water_level::{ThingAsked, WaterLevelAsked};

use crate::sheet::StakeSides;
use crate::stakeout::StakeSettings;
use crate::units::Length;
use fault::Gathered;
use serde_json::{Map, Value as Json};
use std::path::{Path, PathBuf};
use toml::Spanned;
use toml::de::{DeTable, DeValue};
use walk::{Table, number_of};

/// A checked pipeline file.
#[derive(Debug, Clone, PartialEq)]
pub struct PipelineFile {
    /// The file as the user named it.
    pub path: PathBuf,
    /// Its text, to point into.
    pub text: String,
    /// `[site]`.
    pub site: Site,
    /// `[survey]`.
    pub survey: SurveyAsked,
    /// `[ground]`.
    pub ground: GroundAsked,
    /// `[[swale]]` with the `[[spillway]]` of each.
    pub swales: Vec<SwaleAsked>,
    /// `[[pond]]` and `[[borrow]]`.
    pub pits: Vec<PitAsked>,
    /// `[[dam]]`.
    pub dams: Vec<DamAsked>,
    /// `[[fall-line]]`.
    pub fall_lines: Vec<FallLineAsked>,
    /// `[[test-pit]]`.
    pub test_pits: Vec<TestPitAsked>,
    /// `[[unstable-ground]]`.
    pub unstable: Vec<UnstableAsked>,
    /// `[earth]`.
    pub earth: EarthAsked,
    /// `[stakes]`.
    pub stakes: StakeSettings,
    /// Which side of a stake says what.
    pub stake_sides: StakeSides,
    /// `[asbuilt]`, when there is one.
    pub asbuilt: Option<AsBuiltAsked>,
    /// Every setting as it was resolved, defaults included, table by table.
    pub resolved: Map<String, Json>,
}

impl PipelineFile {
    /// The file that a text of the pipeline file names: relative to the pipeline file.
    #[must_use]
    pub fn beside(&self, name: &str) -> PathBuf {
        self.path.parent().unwrap_or(Path::new("")).join(name)
    }

    /// True when it asks for any works.
    #[must_use]
    pub fn has_works(&self) -> bool {
        let drains = self.fall_lines.iter().any(|line| line.channel.is_some());
        drains || !(self.swales.is_empty() && self.pits.is_empty() && self.dams.is_empty())
    }

    /// The pipeline file with one fault in it, found after reading.
    #[must_use]
    pub fn fault(&self, fault: Fault) -> Faults {
        self.faults(vec![fault])
    }

    /// The pipeline file with one fault, found after reading, at the place of a value in it.
    #[must_use]
    pub fn fault_at<T>(&self, value: &Located<T>, code: &'static str, message: &str) -> Faults {
        self.fault(Fault::new(code, value.span.clone().unwrap_or_default(), message))
    }

    /// The pipeline file with several faults in it, found after reading.
    #[must_use]
    pub fn faults(&self, faults: Vec<Fault>) -> Faults {
        Faults::new(self.path.clone(), &self.text, faults)
    }
}

/// So many places that are not TOML speak for another kind of file.
const ANOTHER_KIND: usize = 8;

/// Checks the text of a pipeline file.
///
/// # Errors
/// All faults at once, each with its place.
pub fn read(path: &Path, text: &str) -> Result<PipelineFile, Faults> {
    let faults = Gathered::default();
    let (document, errors) = DeTable::parse_recoverable(text);
    // One bracket or quote that is missing makes more faults of what follows: only the first is surely one.
    let places = errors.len();
    if let Some(error) = errors.into_iter().next() {
        let fault = Fault::new("pipeline::not-toml", error.span().unwrap_or(0..0), error.message().replace('\n', ", "));
        faults.add(if places > ANOTHER_KIND {
            fault.help(format!("{places} places are not TOML: is this a pipeline file?"))
        } else {
            fault
        });
    }
    if !faults.is_empty() {
        return Err(faults.finish(path.to_owned(), text));
    }
    let checked = check(path, text, &document, &faults);
    match checked {
        Some(file) if faults.is_empty() => Ok(file),
        _ => Err(faults.finish(path.to_owned(), text)),
    }
}

fn check<'t>(
    path: &Path,
    text: &str,
    document: &'t Spanned<DeTable<'t>>,
    faults: &'t Gathered,
) -> Option<PipelineFile> {
    let root = Table::new("", 0..0, document.get_ref(), faults);
    check_format(&root);
    let mut resolved = Map::new();
    resolved.insert("format".to_owned(), 1.into());

    let site = section(&root, &keys::SITE, "site", &mut resolved, site::read);
    let survey = section(&root, &keys::SURVEY, "survey", &mut resolved, survey::read);
    let ground = section(&root, &keys::GROUND, "ground", &mut resolved, survey::read_ground);
    let swales = sections(&root, &keys::SWALE, "swale", &mut resolved, swale::read);
    let mut swales = works::spread(swales);
    let mut spillways = sections(&root, &keys::SPILLWAY, "spillway", &mut resolved, spillway::read);
    let mut pits = sections(&root, &keys::POND, "pond", &mut resolved, pit::read_pond);
    pits.extend(sections(&root, &keys::BORROW, "borrow", &mut resolved, pit::read_borrow));
    let mut dams = sections(&root, &keys::DAM, "dam", &mut resolved, dam::read);
    let storms = sections(&root, &keys::STORM, "storm", &mut resolved, storm::read);
    let mut fall_lines = sections(&root, &keys::FALL_LINE, "fall-line", &mut resolved, fall_line::read);
    let works_are_sound = faults.is_empty();
    storm::join(&storms, &mut spillways, &mut fall_lines, works_are_sound, faults);
    works::join(&mut swales, &mut dams, &mut pits, spillways, works_are_sound, faults);
    works::check_names(&swales, &pits, &dams, &fall_lines, faults);
    let earth = section(&root, &keys::EARTH, "earth", &mut resolved, earth::read);
    let test_pits =
        sections(&root, &keys::TEST_PIT, "test-pit", &mut resolved, |table| test_pit::read(table, earth.as_ref()));
    test_pit::check_names(&test_pits, faults);
    let unstable = sections(&root, &keys::UNSTABLE, "unstable-ground", &mut resolved, unstable::read);
    unstable::check_names(&unstable, faults);
    let stakes = section(&root, &keys::STAKES, "stakes", &mut resolved, |table| {
        let figures = site.as_ref().map(Site::figures).unwrap_or_default();
        earth::read_stakes(table, figures)
    });
    let asbuilt = match root.value(&keys::ASBUILT) {
        Some(_) => {
            let manner = survey.as_ref().map(|survey| survey.manner.clone()).unwrap_or_default();
            section(&root, &keys::ASBUILT, "asbuilt", &mut resolved, |table| earth::read_asbuilt(table, &manner))
        }
        None => None,
    };
    // What proves a sill is asked for by the same tolerance and scatter as it is checked by.
    let mut stakes = stakes?;
    if let Some(AsBuiltAsked { settings, .. }) = &asbuilt {
        stakes.0.sill_tolerance = settings.sill.map(|sill| Length::metres(sill.below_m.min(sill.above_m)));
        stakes.0.shot_sigma = Length::metres(settings.shot_sigma_m);
        stakes.0.built_roughness = Length::metres(settings.roughness_m);
    }
    Some(PipelineFile {
        path: path.to_owned(),
        text: text.to_owned(),
        site: site?,
        survey: survey?,
        ground: ground?,
        swales,
        pits,
        dams,
        fall_lines,
        test_pits,
        unstable,
        earth: earth?,
        stake_sides: stakes.1,
        stakes: stakes.0,
        asbuilt,
        resolved,
    })
}

fn check_format(root: &Table<'_>) {
    root.with(&keys::FORMAT, |shape| {
        if number_of(shape.value) != Some(1.0) {
            shape.not_a_choice(&walk::shown(shape.value), "1, the only format that this version reads");
        }
        Some(())
    });
}

/// Reads a table that stands once; one that is not written is read as an empty one, for its defaults.
fn section<T>(
    root: &Table<'_>,
    key: &'static keys::Key,
    name: &'static str,
    resolved: &mut Map<String, Json>,
    read: impl FnOnce(&Table<'_>) -> Option<T>,
) -> Option<T> {
    let empty = DeTable::default();
    let table = match root.value(key) {
        Some(value) => {
            let DeValue::Table(entries) = value.get_ref() else {
                root.wrong_type(key, "a table");
                return None;
            };
            Table::new(name, value.span(), entries, root.faults())
        }
        None if key.fallback == keys::Fallback::Required => return None,
        None => Table::new(name, 0..0, &empty, root.faults()),
    };
    let value = read(&table);
    resolved.insert(name.to_owned(), table.into_resolved());
    value
}

/// Reads tables that stand as often as wanted, `[[name]]`.
fn sections<T>(
    root: &Table<'_>,
    key: &'static keys::Key,
    name: &'static str,
    resolved: &mut Map<String, Json>,
    read: impl Fn(&Table<'_>) -> Option<T>,
) -> Vec<T> {
    let Some(value) = root.value(key) else { return Vec::new() };
    let Some(list) = value.get_ref().as_array() else {
        root.wrong_type(key, "a list of tables, written [[...]]");
        return Vec::new();
    };
    let mut kept = Vec::new();
    let mut all = Vec::new();
    for item in list {
        let Some(entries) = item.get_ref().as_table() else {
            root.wrong_type(key, "a list of tables, written [[...]]");
            continue;
        };
        let table = Table::new(name, item.span(), entries, root.faults());
        all.extend(read(&table));
        kept.push(table.into_resolved());
    }
    resolved.insert(name.to_owned(), Json::Array(kept));
    all
}

#[cfg(test)]
mod tests;
