//! What no output of a drain may leave out, gravest first: one list for figures, maps, sheet and screen.

use super::{Drain, Ending, FlowWanted};
use crate::units::{Area, Batter, Fall, Flow, Length, Station};
use crate::water::channel::Run;
use crate::works::limits::{FLAT_BED, LEAST_BATTER, NEARLY, STEEP, WAY_OUT};
use crate::works::wanted::ChannelShape;

/// A bed that ends so little over the floor of a lower work drops into it no further, metres.
const DROP: f64 = 0.1;

/// One thing that is wrong or open with a drain.
#[derive(Debug, Clone, PartialEq)]
pub enum Alarm {
    /// Its bed ends so far below the ground and its water has no way out.
    Hole(Length),
    /// So soon below its end the ground is not known: what comes there, and how far on.
    WayUnknown(String, Length),
    /// It carries less than the flow asked for.
    TooSmall {
        /// What it carries.
        carries: Flow,
        /// The flow asked for, or none.
        asked: Flow,
    },
    /// Its water runs faster than its cover bears.
    WashesOut(Run),
    /// Over the ground below its end its water does.
    CutsBack(Run),
    /// It runs across folds of the ground that are breaklines, where water runs already.
    AcrossFolds(Vec<Station>),
    /// Between two stations the ground rises to its downhill side.
    TurnedAbout(Station, Station),
    /// Its bed runs through another work between two stations.
    ThroughWork(String, Station, Station),
    /// A face of its cut is so high that a person can be buried.
    DeepFace(Length, Station),
    /// More ground drains to it than its storm is counted on.
    CatchesMore {
        /// What drains to it.
        drains: Area,
        /// What is counted on.
        counted: Area,
    },
    /// Into a lower work, empty, its water drops so far.
    DropsInto(String, Length),
    /// Its bed falls too little to be built falling, or to be kept clean.
    Flat(Fall),
    /// The ground lies off its even fall: by so much, metres, positive above, and where.
    OffFall(f64, Station),
    /// The line bends at such a radius there, tighter than asked for.
    TightBend(Length, Station),
    /// The ground across it is steeper than such works are usually dug on.
    Steep(Fall, Station),
    /// A side lies steeper than unproven soil stands: which, and its batter.
    SteepSide(&'static str, Batter),
    /// The lip is lower over the bed than the water is deep.
    LowGround {
        /// The lip over the bed.
        lip: Length,
        /// The water over the bed.
        water: Length,
        /// Where.
        station: Station,
    },
    /// Its water runs faster than bare earth bears, until its cover stands.
    BareWashesOut(Run),
}

impl Alarm {
    /// Its few words.
    #[must_use]
    pub const fn lead(&self) -> &'static str {
        match self {
            Self::Hole(_) => "ENDS IN A HOLE",
            Self::WayUnknown(..) => "WAY OF ITS WATER NOT KNOWN",
            Self::TooSmall { .. } => "TOO SMALL",
            Self::WashesOut(_) => "WASHES OUT",
            Self::CutsBack(_) => "CUTS BACK BELOW ITS END",
            Self::AcrossFolds(_) => "ACROSS A GULLY",
            Self::TurnedAbout(..) => "DOWNHILL SIDE CHANGES",
            Self::ThroughWork(..) => "RUNS THROUGH ANOTHER WORK",
            Self::DeepFace(..) => "DEEP FACE",
            Self::SteepSide(..) => "STEEP SIDES",
            Self::CatchesMore { .. } => "MORE GROUND DRAINS TO IT",
            Self::DropsInto(..) => "DROPS INTO A LOWER WORK",
            Self::Flat(_) => "TOO FLAT",
            Self::OffFall(..) => "OFF ITS EVEN FALL",
            Self::TightBend(..) => "TIGHT BEND",
            Self::Steep(..) => "STEEP ACROSS",
            Self::LowGround { .. } => "LOW GROUND",
            Self::BareWashesOut(_) => "BARE IT WASHES OUT",
        }
    }

    /// It in one line, with its figures in metres.
    #[must_use]
    pub fn in_words(&self) -> String {
        let flow = |flow: &Flow| flow.in_cubic_metres_per_second();
        let at = |station: &Station| format!("at station {:.0} m", station.in_metres());
        let says = match self {
            Self::Hole(below) => {
                format!("its bed lies {:.2} m below the ground there and has no way out", below.in_metres())
            }
            Self::WayUnknown(edge, known) => format!("{edge} comes {:.1} m below its end", known.in_metres()),
            Self::TooSmall { carries, asked } => {
                format!("it carries {:.3} m3/s of {:.3} m3/s", flow(carries), flow(asked))
            }
            Self::WashesOut(run) | Self::CutsBack(run) => speed(*run, "its cover"),
            Self::BareWashesOut(run) => speed(*run, "bare earth"),
            Self::AcrossFolds(stations) => {
                let all: Vec<String> = stations.iter().map(|station| format!("{:.0}", station.in_metres())).collect();
                format!("what runs there is dammed or caught at stations {} m", all.join(", "))
            }
            Self::TurnedAbout(from, to) => {
                format!("between stations {:.0} and {:.0} m", from.in_metres(), to.in_metres())
            }
            Self::ThroughWork(works, from, to) => format!(
                "`{works}`, between stations {:.0} and {:.0} m, where their water is one",
                from.in_metres(),
                to.in_metres()
            ),
            Self::DeepFace(face, station) => format!("{:.2} m {}", face.in_metres(), at(station)),
            Self::SteepSide(side, batter) => {
                format!("its {side} {:.2}:1, and {LEAST_BATTER}:1 is the least", batter.in_horizontal_per_vertical())
            }
            Self::CatchesMore { drains, counted } => format!(
                "{:.0} m2, and its storm is counted on {:.0} m2",
                drains.in_square_metres(),
                counted.in_square_metres()
            ),
            Self::DropsInto(works, drop) => format!("{:.2} m down its side, `{works}` being empty", drop.in_metres()),
            Self::Flat(fall) => format!(
                "{:.2} %, {:.0} mm in 10 m: hard to build falling all the way, and it silts up",
                fall.in_percent(),
                10_000.0 * fall.in_ratio()
            ),
            Self::OffFall(off, station) => format!("the ground by {off:+.2} m {}", at(station)),
            Self::TightBend(radius, station) => format!("radius {:.1} m {}", radius.in_metres(), at(station)),
            Self::Steep(fall, station) => format!("{:.0} % {}", fall.in_percent(), at(station)),
            Self::LowGround { lip, water, station } => format!(
                "the lip {:.2} m over the bed, the water {:.2} m, {}",
                lip.in_metres(),
                water.in_metres(),
                at(station)
            ),
        };
        format!("{}: {says}", self.lead())
    }
}

fn speed(run: Run, what: &str) -> String {
    match run.permissible {
        Some(bears) => format!("{:.2} m/s, and {what} bears {bears:.2} m/s", run.speed),
        None => format!("{:.2} m/s, and {what} is not for so steep a fall", run.speed),
    }
}

impl Drain {
    /// Its sides that lie steeper than soil stands that nobody has proven.
    pub(super) fn steep_sides(&self) -> Vec<(&'static str, Batter)> {
        let mut sides = vec![("uphill side", self.sizes.uphill_batter), ("downhill side", self.sizes.downhill_batter)];
        if matches!(self.wanted.shape, ChannelShape::Parabola { .. }) {
            sides.pop();
        }
        if self.berm.is_some() {
            sides.push(("berm's sides", self.sizes.berm_batter));
        }
        sides.retain(|(_, batter)| batter.in_horizontal_per_vertical() < LEAST_BATTER - 1e-9);
        sides
    }

    /// What no output of it may leave out, gravest first.
    #[must_use]
    pub fn alarms(&self) -> Vec<Alarm> {
        let (carries, check) = (&self.carries, &self.line.check);
        let mut all = Vec::new();
        if let Ending::Hole { below, .. } = &self.ending {
            all.push(Alarm::Hole(*below));
        }
        if let Ending::Edge { known, edge, .. } = &self.ending {
            all.push(Alarm::WayUnknown(edge.clone(), *known));
        }
        if carries.run.is_none() || carries.enough() == Some(false) {
            all.push(Alarm::TooSmall { carries: carries.capacity, asked: carries.runs() });
        }
        all.extend(carries.run.filter(|run| run.too_fast()).map(Alarm::WashesOut));
        if !self.folds.is_empty() {
            all.push(Alarm::AcrossFolds(self.folds.clone()));
        }
        all.extend(self.turned_about.map(|(from, to)| Alarm::TurnedAbout(from, to)));
        all.extend(self.through.iter().map(|t| Alarm::ThroughWork(t.works.name.clone(), t.first, t.last)));
        let (face, station) = self.deepest_face;
        if face.in_metres() >= WAY_OUT - NEARLY {
            all.push(Alarm::DeepFace(face, station));
        }
        let drains = Area::square_metres(self.catchment.area);
        if let Some(FlowWanted::Storm { catchment: Some(counted), .. }) = &self.wanted.flow
            && counted.in_square_metres() < drains.in_square_metres()
        {
            all.push(Alarm::CatchesMore { drains, counted: *counted });
        }
        if let Ending::Ground { run: Some(run), .. } = &self.ending
            && run.too_fast()
        {
            all.push(Alarm::CutsBack(*run));
        }
        if let Ending::Into { works, drop, .. } = &self.ending
            && drop.in_metres() > DROP
        {
            all.push(Alarm::DropsInto(works.clone(), *drop));
        }
        if self.line.fall.in_ratio() < FLAT_BED {
            all.push(Alarm::Flat(self.line.fall));
        }
        if check.worst.abs() > check.tolerance {
            let worst = check.stations.iter().max_by(|a, b| a.deviation.abs().total_cmp(&b.deviation.abs()));
            all.extend(worst.map(|worst| Alarm::OffFall(worst.deviation, Station::metres(worst.station))));
        }
        let (radius, station) = check.least_radius;
        if radius < 0.999 * self.line.wanted.bend_radius.in_metres() {
            all.push(Alarm::TightBend(Length::metres(radius), Station::metres(station)));
        }
        let (steepest, station) = self.steepest;
        if steepest.in_ratio() > STEEP {
            all.push(Alarm::Steep(steepest, station));
        }
        all.extend(self.steep_sides().into_iter().map(|(side, batter)| Alarm::SteepSide(side, batter)));
        let (lip, station) = self.shallowest;
        if let Some(run) = carries.run.filter(|run| run.depth > lip) {
            all.push(Alarm::LowGround { lip: lip.max(Length::ZERO), water: run.depth, station });
        }
        if !carries.scours() {
            all.extend(carries.bare.filter(|run| run.too_fast()).map(Alarm::BareWashesOut));
        }
        all
    }
}
