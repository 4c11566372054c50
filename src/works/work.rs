//! A work of any kind: what every kind has in common, asked in one place.
//!
//! Invariant: the stages after the design ask [`Shared`] and its lines; only what is peculiar to a kind asks the kind.

use super::dam::Dam;
use super::drain::{Alarm, Drain};
use super::pit::Pit;
use super::plan::{Spillway, Storage, Swale};
use super::test_pit::{PitToDig, SoilProof, TestPit};
use super::unstable::{self, NearUnstable, UnstableGround};
use crate::geom::{Point, Point3, Polygon, Polyline, contains};
use crate::soil::{Placement, Soil};
use crate::surface::{Locator, Tin, pool};
use crate::units::{Elevation, Length, Station, Volume};

/// All works of a site in the order applied, and the surfaces that they make.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SitePlan {
    /// The works in the order of the pipeline file.
    pub works: Vec<Work>,
    /// The surface after each work, in the same order; the last is the designed surface of the site.
    pub surfaces: Vec<Tin>,
    /// The site's test pits.
    pub test_pits: Vec<TestPit>,
    /// What they prove of the ground under each work, in the same order; empty where that was not asked.
    pub soils: Vec<SoilProof>,
    /// Where test pits are still wanted.
    pub pits_to_dig: Vec<PitToDig>,
    /// Ground that is marked as unstable.
    pub unstable: Vec<UnstableGround>,
    /// Where a work comes near to it.
    pub near_unstable: Vec<NearUnstable>,
}

/// A work as designed.
#[derive(Debug, Clone, PartialEq)]
#[expect(clippy::large_enum_variant, reason = "a site has a handful of works, and most are swales")]
pub enum Work {
    /// A level swale with its berm.
    Swale(Swale),
    /// A pond or borrow pit.
    Pit(Pit),
    /// A dam.
    Dam(Dam),
    /// A diversion drain.
    Drain(Drain),
}

/// The kinds of work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A level swale.
    Swale,
    /// A pond.
    Pond,
    /// A borrow pit.
    Borrow,
    /// A dam.
    Dam,
    /// A diversion drain along a line of constant fall.
    Drain,
}

impl Kind {
    /// Its word; a drain is the channel of a `[[fall-line]]`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Swale => "swale",
            Self::Pond => "pond",
            Self::Borrow => "borrow",
            Self::Dam => "dam",
            Self::Drain => "drain",
        }
    }
}

/// Which work a message is about; written as kind and name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Subject {
    /// Its kind.
    pub kind: Kind,
    /// Its name.
    pub name: String,
}

impl Subject {
    pub(super) fn new(kind: Kind, name: &str) -> Self {
        Self { kind, name: name.to_owned() }
    }
}

impl std::fmt::Display for Subject {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} `{}`", self.kind.name(), self.name)
    }
}

/// What every kind of work has.
#[derive(Debug, Clone, Copy)]
pub struct Shared<'a> {
    /// Its kind.
    pub kind: Kind,
    /// Its name, unique on the site.
    pub name: &'a str,
    /// The line that its stations run along.
    pub line: &'a Polyline,
    /// Outline of everything dug.
    pub cut_footprint: &'a [Polygon],
    /// Outline of everything filled.
    pub fill_footprint: &'a [Polygon],
    /// Closed lines where it meets the ground.
    pub daylight: &'a [Vec<Point3>],
    /// Greatest height of a cut face, and where.
    pub deepest_face: (Length, Station),
    /// Depth of topsoil stripped from cut and seat.
    pub topsoil: Length,
    /// The soil under the topsoil.
    pub soil: &'a Soil,
    /// How its fill is put down.
    pub placement: Placement,
    /// Dug for a key under its seat and filled again.
    pub key: Volume,
    /// Where its water stands; `None` for one that only leads water.
    pub pool: Option<Pooled<'a>>,
    /// What its levels are told against: where it stands full; of a drain the upper end of its bed.
    pub zero: Elevation,
    /// Its spillways.
    pub spillways: &'a [Spillway],
    /// The way that its water takes from a lower end of its own, which only a drain has.
    pub below: Option<&'a Polyline>,
}

/// The water that a work holds.
#[derive(Debug, Clone, Copy)]
pub struct Pooled<'a> {
    /// The elevation at which it stands full.
    pub water_level: Elevation,
    /// The lowest place of the pool.
    pub bottom: Elevation,
    /// Places that lie under the water.
    pub seeds: &'a [Point],
    /// What it holds.
    pub storage: &'a Storage,
}

impl<'a> Pooled<'a> {
    /// Tells of a place whether it lies under this water when it stands full on a surface.
    pub(super) fn covers(self, surface: &'a Tin) -> impl Fn(Point) -> bool + 'a {
        let (level, ground) = (self.water_level.in_metres(), Locator::new(surface));
        let shore = pool(surface, self.seeds, level).shore;
        move |place| {
            let inside = shore.iter().filter(|ring| contains(ring, place)).count() % 2 == 1;
            inside && ground.elevation(place).is_some_and(|z| z < level)
        }
    }
}

/// A line of a work: bed, crest, sill, ramp.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkLine {
    /// What it is.
    pub part: &'static str,
    /// Its places.
    pub points: Vec<Point3>,
}

impl WorkLine {
    /// A line at one level.
    pub(super) fn level(part: &'static str, points: &[Point], elevation: Elevation) -> Self {
        Self { part, points: points.iter().map(|p| p.at(elevation.in_metres())).collect() }
    }

    /// The lines of a spillway with a cut: its sill and the middle of its floor.
    pub(super) fn of_spillway(spillway: &Spillway) -> Vec<Self> {
        let mut lines = vec![Self::level("sill", spillway.lip.points(), spillway.sill)];
        if let Some(outlet) = &spillway.outlet {
            let floor = outlet.axis.points().iter().zip(&outlet.levels).map(|(p, &z)| p.at(z));
            lines.push(Self { part: "spillway-floor", points: floor.collect() });
        }
        lines
    }

    /// Its elevation, where it is level.
    #[must_use]
    pub fn elevation(&self) -> Option<f64> {
        let first = self.points.first()?.z;
        self.points.iter().all(|p| p.z == first).then_some(first)
    }
}

impl Work {
    /// What every kind has.
    #[must_use]
    pub fn shared(&self) -> Shared<'_> {
        match self {
            Self::Swale(swale) => swale.shared(),
            Self::Pit(pit) => pit.shared(),
            Self::Dam(dam) => dam.shared(),
            Self::Drain(drain) => drain.shared(),
        }
    }

    /// Kind and name.
    #[must_use]
    pub fn subject(&self) -> Subject {
        Subject::new(self.kind(), self.shared().name)
    }

    /// Its kind.
    #[must_use]
    pub const fn kind(&self) -> Kind {
        match self {
            Self::Swale(_) => Kind::Swale,
            Self::Pit(pit) => pit.wanted.kind(),
            Self::Dam(_) => Kind::Dam,
            Self::Drain(_) => Kind::Drain,
        }
    }

    /// The earlier work whose fill it may be dug through.
    #[must_use]
    pub fn through(&self) -> Option<&str> {
        match self {
            Self::Swale(_) | Self::Dam(_) | Self::Drain(_) => None,
            Self::Pit(pit) => pit.wanted.through.as_deref(),
        }
    }

    /// The work for whose fill it is dug.
    #[must_use]
    pub fn yields_for(&self) -> Option<&str> {
        match self {
            Self::Pit(pit) => pit.wanted.yields_for(),
            Self::Swale(_) | Self::Dam(_) | Self::Drain(_) => None,
        }
    }

    /// Its lines with their elevations.
    #[must_use]
    pub fn lines(&self) -> Vec<WorkLine> {
        match self {
            Self::Swale(swale) => swale.lines(),
            Self::Pit(pit) => pit.lines(),
            Self::Dam(dam) => dam.lines(),
            Self::Drain(drain) => drain.lines(),
        }
    }
}

impl SitePlan {
    /// What every work has, in order.
    pub fn shared(&self) -> impl Iterator<Item = Shared<'_>> {
        self.works.iter().map(Work::shared)
    }

    /// The work of a name.
    #[must_use]
    pub fn named(&self, name: &str) -> Option<Shared<'_>> {
        self.shared().find(|work| work.name == name)
    }

    /// The pit that is dug for the fill of a work.
    #[must_use]
    pub fn fill_from(&self, name: &str) -> Option<Shared<'_>> {
        self.works.iter().find(|work| work.yields_for() == Some(name)).map(Work::shared)
    }

    /// The work under whose full water a place of another work lies when all are made; of several the one that stands highest.
    #[must_use]
    pub fn flooded_by(&self, own: &str, place: Point) -> Option<Shared<'_>> {
        let surface = self.surfaces.last()?;
        let covers = |work: &Shared<'_>| work.pool.is_some_and(|pool| pool.covers(surface)(place));
        let over = self.shared().filter(|work| work.name != own && covers(work));
        let stands = |work: &Shared<'_>| work.pool.map_or(f64::NEG_INFINITY, |pool| pool.water_level.in_metres());
        over.max_by(|a, b| stands(a).total_cmp(&stands(b)))
    }

    /// The work for whose fill a pit is dug.
    #[must_use]
    pub fn yields_for(&self, pit: &str) -> Option<&str> {
        self.works.iter().find(|work| work.shared().name == pit)?.yields_for()
    }

    /// The swales among the works, in order.
    pub fn swales(&self) -> impl Iterator<Item = &Swale> {
        self.works.iter().filter_map(|work| match work {
            Work::Swale(swale) => Some(swale),
            Work::Pit(_) | Work::Dam(_) | Work::Drain(_) => None,
        })
    }

    /// The drains among the works, in order.
    pub fn drains(&self) -> impl Iterator<Item = &Drain> {
        self.works.iter().filter_map(|work| match work {
            Work::Drain(drain) => Some(drain),
            Work::Swale(_) | Work::Pit(_) | Work::Dam(_) => None,
        })
    }

    /// What no output that has words may leave out, `wall: NO SPILLWAY`.
    #[must_use]
    pub fn cautions(&self) -> Vec<String> {
        let of = |work: &Work| {
            let name = work.shared().name.to_owned();
            self.cautions_of(work).into_iter().map(move |caution| format!("{name}: {caution}"))
        };
        self.works.iter().flat_map(of).collect()
    }

    /// What no output of one work may leave out.
    #[must_use]
    pub fn cautions_of(&self, work: &Work) -> Vec<String> {
        let mut says = match work {
            Work::Dam(dam) => dam.cautions(),
            Work::Drain(drain) => drain.alarms().iter().map(Alarm::in_words).collect(),
            Work::Swale(swale) => swale.cautions(),
            Work::Pit(_) => Vec::new(),
        };
        says.extend(self.unstable_near(work.shared().name).map(unstable::caution));
        says.extend(self.soil_of(work.shared().name).map(|proof| proof.caution(work.kind())));
        says
    }

    /// What works are led round, each outline once.
    #[must_use]
    pub fn obstacles(&self) -> Vec<&Polygon> {
        let of_works = self.works.iter().flat_map(|work| match work {
            Work::Swale(swale) => &swale.wanted.obstacles[..],
            Work::Drain(drain) => &drain.line.wanted.obstacles[..],
            Work::Pit(_) | Work::Dam(_) => &[],
        });
        let mut found: Vec<&Polygon> = Vec::new();
        for outline in of_works {
            if !found.contains(&outline) {
                found.push(outline);
            }
        }
        found
    }

    /// Where a work comes near to unstable ground: its parts that do, ground by ground.
    pub fn unstable_near(&self, name: &str) -> impl Iterator<Item = &[NearUnstable]> {
        let of_one = self.near_unstable.chunk_by(|a, b| a.works == b.works && a.ground == b.ground);
        of_one.filter(move |parts| parts.iter().all(|near| near.works == name))
    }

    /// What the test pits prove of the ground under a work.
    #[must_use]
    pub fn soil_of(&self, name: &str) -> Option<&SoilProof> {
        self.soils.iter().find(|proof| proof.works == name)
    }

    /// Puts a work and the surface that it leaves behind all others.
    pub fn push(&mut self, work: Work, surface: Tin) {
        self.works.push(work);
        self.surfaces.push(surface);
    }
}

impl Swale {
    fn shared(&self) -> Shared<'_> {
        Shared {
            kind: Kind::Swale,
            name: &self.wanted.name,
            line: &self.line,
            cut_footprint: &self.cut_footprint,
            fill_footprint: &self.fill_footprint,
            daylight: &self.daylight,
            deepest_face: self.deepest_face,
            topsoil: self.wanted.topsoil,
            soil: &self.wanted.soil,
            placement: self.wanted.placement,
            key: self.key,
            pool: Some(Pooled {
                water_level: self.water_level,
                bottom: self.lowest_bed(),
                seeds: self.bed_axis.points(),
                storage: &self.storage,
            }),
            zero: self.water_level,
            spillways: &self.spillways,
            below: None,
        }
    }

    fn lines(&self) -> Vec<WorkLine> {
        let line = |part, line: &Polyline, elevation| WorkLine::level(part, line.points(), elevation);
        let bed = self.bed_axis.points().iter().zip(&self.bed_levels).map(|(place, &z)| place.at(z)).collect();
        let mut lines = vec![line("line", &self.line, self.water_level), WorkLine { part: "bed", points: bed }];
        lines.extend(self.crossings.iter().map(|crossing| {
            let places = crossing.axis.points().iter().zip(&crossing.levels);
            WorkLine { part: "crossing", points: places.map(|(place, &z)| place.at(z)).collect() }
        }));
        if self.crest_levels.is_empty() {
            lines.extend(self.crest_axes.iter().map(|axis| line("crest", axis, self.crest.built)));
        }
        lines.extend(self.crest_axes.iter().zip(&self.crest_levels).map(|(axis, levels)| {
            let points = axis.points().iter().zip(levels).map(|(place, &z)| place.at(z)).collect();
            WorkLine { part: "crest", points }
        }));
        for spillway in &self.spillways {
            lines.push(line("sill", &spillway.lip, spillway.sill));
            lines.extend(spillway.exit.iter().map(|exit| line("exit", exit, spillway.sill)));
        }
        lines
    }
}

impl Shared<'_> {
    /// The ways that its water takes when it leaves.
    pub fn ways(&self) -> impl Iterator<Item = &Polyline> {
        self.spillways.iter().filter_map(|spillway| spillway.exit.as_ref()).chain(self.below)
    }

    /// Everything dug or filled.
    pub fn footprints(&self) -> impl Iterator<Item = &Polygon> {
        self.cut_footprint.iter().chain(self.fill_footprint)
    }
}

#[cfg(test)]
impl SitePlan {
    /// A swale of a plan under test.
    pub(crate) fn swale(&self, index: usize) -> &Swale {
        self.swales().nth(index).expect("a swale")
    }

    /// A swale of a plan under test, to change.
    pub(crate) fn swale_mut(&mut self, index: usize) -> &mut Swale {
        let swales = self.works.iter_mut().filter_map(|work| match work {
            Work::Swale(swale) => Some(swale),
            Work::Pit(_) | Work::Dam(_) | Work::Drain(_) => None,
        });
        swales.into_iter().nth(index).expect("a swale")
    }
}
