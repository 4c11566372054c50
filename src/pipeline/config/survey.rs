//! `[survey]` and `[ground]`: which files, how they are written, what their codes mean, what is set aside.

use super::bring::{self, BringAsked};
use super::clouds::{self, CloudsAsked};
use super::fault::{Fault, Located};
use super::grids::{self, GridAsked};
use super::keys::{self, Key};
use super::manner::{Manner, OF_SURVEY, ShotFile};
use super::walk::Table;
use crate::frame::Geographic;
use crate::survey::{Figure, Meaning, Role, Roles, Settings};
use crate::units::{Length, parse_length};
use std::collections::BTreeMap;

/// `[survey]`.
#[derive(Debug, Clone, PartialEq)]
pub struct SurveyAsked {
    /// Point files.
    pub shots: Vec<ShotFile>,
    /// Clouds.
    pub clouds: Vec<Located<String>>,
    /// Grids of the ground.
    pub grids: Vec<GridAsked>,
    /// How their ground is told.
    pub clouds_asked: CloudsAsked,
    /// How the shots are judged.
    pub settings: Settings,
    /// The shots of its `drop`, each where it is written.
    pub drop: Vec<Located<String>>,
    /// How they are brought to the site's frame and heights.
    pub bring: BringAsked,
    /// How other point files of the site (as-built) are written unless they say otherwise.
    pub(super) manner: Manner,
}

/// `[ground]`.
#[derive(Debug, Clone, PartialEq)]
pub struct GroundAsked {
    /// Rim triangles with a longer edge are cut away; `None` for three times the spacing.
    pub longest_edge: Option<Length>,
    /// Triangles inside with a longer edge go too.
    pub gaps_are_holes: bool,
    /// Points nearer than this in plan are one.
    pub merge_within: Length,
    /// How well the ground should be known between shots, 95 %.
    pub sure_to: Length,
    /// A polygon file with the edge of the ground.
    pub boundary: Option<Located<String>>,
    /// Cloud points nearer than this to a shot give way.
    pub shots_rule_within: Length,
    /// The cloud's offset above the shots is taken off.
    pub correct_cloud: bool,
    /// How far the ground may stand off a point that is left out.
    pub thin_to: Option<Length>,
    /// Interval of contours in the map.
    pub contours: Option<Length>,
    /// How far the ground in maps and LandXML may stand off a large one.
    pub export_bound: Length,
    /// Clouds whose ground was found are left with their classes.
    pub classified: bool,
}

pub(super) fn read(table: &Table<'_>) -> Option<SurveyAsked> {
    let manner = Manner::read(table, &OF_SURVEY);
    let shots = table.with(&keys::SURVEY_SHOTS, |shape| {
        Some(shape.items().iter().filter_map(|item| manner.entry(item)).collect::<Vec<_>>())
    });
    let clouds = table.texts(&keys::SURVEY_CLOUDS);
    let grids = grids::read(table);
    let shots = shots.unwrap_or_default();
    if shots.is_empty() && clouds.is_empty() && grids.is_empty() {
        table.faults().add(
            Fault::new("pipeline::nothing-surveyed", table.span(), "[survey] names no file")
                .help("name at least one point file in `shots`, one cloud in `clouds` or one grid in `grids`"),
        );
    }
    let clouds_asked = clouds::read(table);
    let roles = read_roles(table);
    let keep = table.texts(&keys::SURVEY_KEEP).into_iter().map(|text| text.value).collect();
    let drop = table.texts(&keys::SURVEY_DROP);
    let roughness = table.at_least_zero(&keys::SURVEY_ROUGHNESS, parse_length);
    let vertical_sigma = table.above_zero(&keys::SURVEY_VERTICAL_SIGMA, parse_length);
    let vertical_ppm = table.number(&keys::SURVEY_VERTICAL_PPM);
    let horizontal_limit = table.above_zero(&keys::SURVEY_HORIZONTAL_LIMIT, parse_length);
    let vertical_limit = table.above_zero(&keys::SURVEY_VERTICAL_LIMIT, parse_length);
    let pdop_limit = table.number(&keys::SURVEY_PDOP_LIMIT);
    let age_limit = table.number(&keys::SURVEY_AGE_LIMIT);
    let repeat_distance = table.at_least_zero(&keys::SURVEY_REPEAT_DISTANCE, parse_length);
    let geographic = table.text(&keys::SURVEY_GEOGRAPHIC).map(|text| match text.value.as_str() {
        "own-datum" => Geographic::OwnDatum,
        "wgs84" => Geographic::Wgs84,
        other => Geographic::Named(other.to_owned()),
    });
    let gross = table.above_zero(&keys::SURVEY_GROSS, parse_length);
    let check_horizontal = table.above_zero(&keys::SURVEY_CHECK_HORIZONTAL, parse_length);
    let check_vertical = table.above_zero(&keys::SURVEY_CHECK_VERTICAL, parse_length);
    let shifts = shots.iter().filter_map(|shots| Some((shots.file.value.clone(), shots.shift?))).collect();
    let usual = Settings::default();
    let settings = Settings {
        roles,
        shifts,
        roughness: roughness?,
        roughness_is_said: table.peek(&keys::SURVEY_ROUGHNESS).is_some(),
        vertical_sigma: vertical_sigma?,
        vertical_ppm: vertical_ppm.unwrap_or(usual.vertical_ppm),
        horizontal_limit: horizontal_limit?,
        vertical_limit: vertical_limit?,
        pdop_limit: pdop_limit.unwrap_or(usual.pdop_limit),
        age_limit: age_limit.unwrap_or(usual.age_limit),
        repeat_distance: repeat_distance?,
        gross: gross?,
        check_horizontal: check_horizontal?,
        check_vertical: check_vertical?,
        geographic: geographic?,
        keep,
        drop: drop.iter().map(|text| text.value.clone()).collect(),
    };
    let bring = bring::read(table, &manner);
    Some(SurveyAsked { shots, clouds, grids, clouds_asked: clouds_asked?, settings, drop, bring: bring?, manner })
}

const MEANINGS: [(&Key, Meaning); 17] = [
    (&keys::ROLE_GROUND, Meaning::Role(Role::Ground)),
    (&keys::ROLE_BREAKLINE, Meaning::Role(Role::Breakline)),
    (&keys::ROLE_MARK, Meaning::Role(Role::Mark)),
    (&keys::ROLE_CHECK, Meaning::Role(Role::Check)),
    (&keys::ROLE_LINE, Meaning::Role(Role::Line)),
    (&keys::ROLE_WATER, Meaning::Role(Role::Water)),
    (&keys::ROLE_SERVICE, Meaning::Role(Role::Service)),
    (&keys::ROLE_BOUNDARY, Meaning::Role(Role::Boundary)),
    (&keys::ROLE_KEEP_OUT, Meaning::Role(Role::KeepOut)),
    (&keys::ROLE_SILL, Meaning::Role(Role::Sill)),
    (&keys::ROLE_CREST, Meaning::Role(Role::Crest)),
    (&keys::ROLE_BED, Meaning::Role(Role::Bed)),
    (&keys::ROLE_BUILT, Meaning::Role(Role::Built)),
    (&keys::ROLE_LINE_BEGIN, Meaning::Line(Figure::Start)),
    (&keys::ROLE_LINE_END, Meaning::Line(Figure::End)),
    (&keys::ROLE_LINE_CLOSE, Meaning::Line(Figure::Close)),
    (&keys::ROLE_LINE_ARC, Meaning::Line(Figure::Arc)),
];

/// The user's code table turned round: what each code means. A code under two roles is a fault.
fn read_roles(table: &Table<'_>) -> Roles {
    let mut codes: BTreeMap<String, (Meaning, Located<String>)> = BTreeMap::new();
    table.with(&keys::SURVEY_ROLES, |shape| {
        let list = shape.table("survey.roles")?;
        for (key, meaning) in MEANINGS {
            for code in list.texts(key) {
                let name = code.value.trim().to_lowercase();
                if let Some((_, first)) = codes.get(&name) {
                    list.faults().add(
                        Fault::new(
                            "pipeline::code-twice",
                            code.span.clone().unwrap_or_default(),
                            format!("the code `{}` already has a role", code.value),
                        )
                        .beside(first.span.clone().unwrap_or_default(), "first here"),
                    );
                } else {
                    codes.insert(name, (meaning, code));
                }
            }
        }
        table.keep(&keys::SURVEY_ROLES, list.into_resolved());
        Some(())
    });
    let mut roles = Roles::default();
    for (word, (meaning, _)) in &codes {
        roles.set_meaning(word, *meaning);
    }
    roles
}

pub(super) fn read_ground(table: &Table<'_>) -> Option<GroundAsked> {
    let longest_edge = table.above_zero(&keys::GROUND_LONGEST_EDGE, parse_length);
    let gaps_are_holes = table.choice(&keys::GROUND_GAPS, &[("filled", false), ("holes", true)]);
    let merge_within = table.at_least_zero(&keys::GROUND_MERGE_WITHIN, parse_length);
    let sure_to = table.above_zero(&keys::GROUND_SURE_TO, parse_length);
    let boundary = table.text(&keys::GROUND_BOUNDARY);
    let shots_rule_within = table.at_least_zero(&keys::GROUND_SHOTS_RULE, parse_length);
    let correct_cloud = table.choice(&keys::GROUND_CLOUD_OFFSET, &[("leave", false), ("correct", true)]);
    let classified = table.flag(&keys::GROUND_CLASSIFIED);
    let contours = table.above_zero(&keys::GROUND_CONTOURS, parse_length);
    let export_bound = table.above_zero(&keys::GROUND_EXPORT_BOUND, parse_length);
    let thin_to = table.above_zero(&keys::GROUND_THIN_TO, parse_length);
    Some(GroundAsked {
        longest_edge,
        gaps_are_holes: gaps_are_holes?,
        merge_within: merge_within?,
        sure_to: sure_to?,
        boundary,
        shots_rule_within: shots_rule_within?,
        correct_cloud: correct_cloud?,
        thin_to,
        contours,
        export_bound: export_bound?,
        classified: classified?,
    })
}
