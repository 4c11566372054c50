//! Setting out: which stakes a plan needs.
//!
//! Offsets are from the work's line, positive uphill. Four series: on the line, at one round distance uphill of it, on
//! the sill, on the crest. A stake speaks from its own mark: its cut or fill is from the ground predicted at the stake
//! to the elevation of what it names, and it says how far away that is.

use super::along::{stations, steps, with};
use super::asbuilt::{as_built_shots, proof_note};
use super::asked::Asked;
use super::ids::{Names, letters};
use super::setting::{Setting, Spot, sides};
use super::settings::StakeSettings;
use super::stake::{Stake, StakeKind, StakeList, Target, Way};
use super::{dam, drain, pit};
use crate::geom::{Point, Polygon, Polyline};
use crate::ground::Ground;
use crate::notes::{Note, Noted, Place};
use crate::surface::Locator;
use crate::units::{Length, METRES_PER_FOOT, ReadingUnits, Station};
use crate::works::{Kind, Shared, SitePlan, Spillway, Swale, Work};

/// An offset stake for the bed this near one for the end of a sill is left out, metres.
const NEAR_SILL: f64 = 1.0;
/// Offsets tried until one clears.
const OFFSETS: usize = 8;
/// A stake this much too near to a dig stands clear of it, metres.
const HAIR: f64 = 0.005;
/// A stake on a sill this near to its end is left out, metres.
const NEAR_END: f64 = 0.5;
/// A bed further along the line than this is not beside the stake, metres.
const ABREAST: f64 = 0.75;

/// Every stake of a plan, and the shots to take after the dig.
#[must_use]
pub fn stakes(ground: &Ground, plan: &SitePlan, settings: &StakeSettings) -> Noted<StakeList> {
    let names: Vec<&str> = plan.shared().map(|work| work.name).collect();
    let (letters, mut notes) = letters(&names);
    let natural = Locator::new(&ground.tin);
    let mut list = StakeList::default();
    let mut ids = Names::new(settings.figures);
    for (work, letter) in plan.works.iter().zip(&letters) {
        let shared = work.shared();
        let (own, own_settings);
        (own, ids, own_settings) = with_offset(work, &natural, settings, &ids, letter);
        if own_settings.offset > settings.offset {
            notes.push(offset_found(shared, &own_settings));
        }
        notes.extend(warnings(shared, &own, &own_settings));
        notes.extend(on_fill_of_others(plan, work, &own));
        list.stakes.extend(own);
    }
    let designed = plan.surfaces.last().map(Locator::new);
    for (work, letter) in plan.works.iter().zip(&letters) {
        let shared = work.shared();
        notes.extend(shared.spillways.iter().filter_map(|spillway| proof_note(shared, spillway, settings)));
        let asked = &mut Asked { work: shared, letter, ids: &mut ids, shots: &mut list.as_built_shots };
        match work {
            Work::Swale(swale) => as_built_shots(swale, designed.as_ref(), settings, asked),
            Work::Pit(pit) => pit::as_built_shots(pit, designed.as_ref(), settings, asked),
            Work::Dam(dam) => dam::as_built_shots(dam, designed.as_ref(), settings, asked),
            Work::Drain(drain) => drain::as_built_shots(drain, designed.as_ref(), settings, asked),
        }
    }
    Noted { value: list, notes }
}

/// The stakes of one work, and the names given out with theirs.
fn of_work(
    work: &Work,
    natural: &Locator<'_>,
    settings: &StakeSettings,
    ids: &Names,
    letter: &str,
) -> (Vec<Stake>, Names) {
    let mut ids = ids.clone();
    let mut setting = Setting { work: work.shared(), sides: sides(work), natural, settings, ids: &mut ids, letter };
    let own = match work {
        Work::Swale(swale) => {
            let mut own = setting.on_line(swale);
            own.extend(setting.offset(swale));
            own.extend(setting.on_sills(swale));
            own.extend(setting.on_crest(swale));
            own.extend(setting.on_crossings(swale));
            own
        }
        Work::Pit(pit) => pit::stakes(&mut setting, pit),
        Work::Dam(dam) => dam::stakes(&mut setting, dam),
        Work::Drain(drain) => drain::stakes(&mut setting, drain),
    };
    (own, ids)
}

/// The stakes of one work at the offset asked for; where none is, at the least round one from the usual on at which none stands too
/// near to the dig. Where none of those clears, the usual one stands and what is too near is told.
fn with_offset(
    work: &Work,
    natural: &Locator<'_>,
    settings: &StakeSettings,
    ids: &Names,
    letter: &str,
) -> (Vec<Stake>, Names, StakeSettings) {
    let step = if settings.figures.units == ReadingUnits::Metric { 1.0 } else { 5.0 * METRES_PER_FOOT };
    let round = |metres: f64| Length::metres((metres / step - 1e-9).ceil() * step);
    let mut tried = *settings;
    for _ in 0..if settings.offset_grows { OFFSETS } else { 0 } {
        let (stakes, names) = of_work(work, natural, &tried, ids, letter);
        let missing = stakes.iter().map(|stake| missing_clearance(work.shared(), stake, settings)).fold(0.0, f64::max);
        if missing <= 0.0 {
            return (stakes, names, tried);
        }
        tried.offset = round(tried.offset.in_metres() + missing);
    }
    let (stakes, names) = of_work(work, natural, settings, ids, letter);
    (stakes, names, *settings)
}

/// How much farther from a work's dig an offset stake would have to stand, metres; nothing for one that is clear.
fn missing_clearance(work: Shared<'_>, stake: &Stake, settings: &StakeSettings) -> f64 {
    let on_fill = || work.fill_footprint.iter().any(|region| region.contains(stake.place));
    if stake.kind != StakeKind::Offset || on_fill() {
        return 0.0;
    }
    let missing = settings.clearance.in_metres() - distance_outside(work.cut_footprint, stake.place);
    if missing > HAIR { missing } else { 0.0 }
}

fn offset_found(work: Shared<'_>, settings: &StakeSettings) -> Note {
    let offset = settings.figures.length(settings.offset);
    Note::new(
        "stakeout::offset-found",
        format!(
            "offset stakes of `{}` stand {offset} {}, the least round distance that keeps them {} clear of its dig",
            work.name,
            if matches!(work.kind, Kind::Pond | Kind::Borrow) { "outside its rim" } else { "uphill of its line" },
            settings.figures.length(settings.clearance)
        ),
    )
}

impl Setting<'_> {
    fn on_line(&mut self, swale: &Swale) -> Vec<Stake> {
        let spots: Vec<Spot> = self
            .stations(&swale.wanted.section_breaks())
            .into_iter()
            .map(|station| naming_bed_or_crest(swale, StakeKind::Line, station, swale.line.at(station)))
            .collect();
        spots.iter().map(|spot| self.stake(spot)).collect()
    }

    fn offset(&mut self, swale: &Swale) -> Vec<Stake> {
        let line = &swale.line;
        let offset = self.settings.offset.in_metres();
        let ends = |spillway: &Spillway| [spillway.from.in_metres(), spillway.to.in_metres()];
        let sill_ends: Vec<f64> = swale.spillways.iter().flat_map(ends).collect();
        // Beyond the ends of the bed the berm turns uphill over the line of offset stakes: the ends of the bed are staked.
        let bed_ends = [swale.bed_axis.first(), swale.bed_axis.last()].map(|end| line.foot(end).station);
        let breaks = swale.wanted.section_breaks();
        let mut stations: Vec<f64> = self.stations(&breaks).iter().map(|s| s.clamp(bed_ends[0], bed_ends[1])).collect();
        stations.dedup();
        let mut spots: Vec<Spot> = stations
            .into_iter()
            .filter(|station| !sill_ends.iter().any(|end| (end - station).abs() < NEAR_SILL))
            .map(|station| naming_bed_or_crest(swale, StakeKind::Offset, station, line.at_offset(station, offset)))
            .collect();
        for spillway in &swale.spillways {
            for station in ends(spillway) {
                let place = line.at_offset(station, offset);
                spots.push(Spot {
                    kind: StakeKind::Offset,
                    station,
                    place,
                    target: Target::Sill,
                    at: spillway.lip.foot(line.at(station)).point,
                    design: spillway.sill.in_metres(),
                    way: None,
                });
            }
        }
        spots.sort_by(|a, b| a.station.total_cmp(&b.station));
        spots.iter().map(|spot| self.stake(spot)).collect()
    }

    fn on_sills(&mut self, swale: &Swale) -> Vec<Stake> {
        swale.spillways.iter().flat_map(|spillway| self.on_sill(spillway)).collect()
    }

    pub(super) fn on_sill(&mut self, spillway: &Spillway) -> Vec<Stake> {
        let lip = &spillway.lip;
        let mut along = steps(0.0, lip.length(), self.settings.sill_interval.in_metres());
        // Two stakes at one end say the same: a lip is a little longer or shorter than its stations.
        if let [.., before, end] = along[..]
            && along.len() > 2
            && end - before < NEAR_END
        {
            along.remove(along.len() - 2);
        }
        along
            .into_iter()
            .map(|along| {
                let place = lip.at(along);
                let station = self.work.line.foot(place).station;
                let design = spillway.sill.in_metres();
                self.stake(&Spot {
                    kind: StakeKind::Sill,
                    station,
                    place,
                    target: Target::Sill,
                    at: place,
                    design,
                    way: None,
                })
            })
            .collect()
    }

    fn on_crest(&mut self, swale: &Swale) -> Vec<Stake> {
        (0..swale.crest_axes.len()).flat_map(|piece| self.on_crest_axis(swale, piece)).collect()
    }

    /// The corners of each crossing's level top, and the feet of its ramps.
    fn on_crossings(&mut self, swale: &Swale) -> Vec<Stake> {
        let spots = swale.crossings.iter().flat_map(|crossing| {
            let design = crossing.level().in_metres();
            let [uphill, downhill] = crossing.top();
            let corners = crossing.corners().map(|place| (StakeKind::Crest, place, place, design));
            let feet = crossing.feet.iter().zip([uphill, downhill]);
            let feet = feet.map(move |(&foot, top)| (StakeKind::Toe, foot, top, design));
            corners.into_iter().chain(feet)
        });
        spots
            .map(|(kind, place, at, design)| {
                let station = swale.line.foot(place).station;
                self.stake(&Spot { kind, station, place, target: Target::Crest, at, design, way: None })
            })
            .collect()
    }

    fn on_crest_axis(&mut self, swale: &Swale, piece: usize) -> Vec<Stake> {
        let (s, axis) = (self.settings, &swale.crest_axes[piece]);
        let even = stations(axis, s.interval.in_metres(), s.bend_interval.in_metres(), s.bend_radius.in_metres());
        with(even, &swale.crest_bends(piece), axis.length())
            .into_iter()
            .map(|along| {
                let place = axis.at(along);
                let station = self.work.line.foot(place).station;
                let design = swale.crest_at(place).in_metres();
                self.stake(&Spot {
                    kind: StakeKind::Crest,
                    station,
                    place,
                    target: Target::Crest,
                    at: place,
                    design,
                    way: None,
                })
            })
            .collect()
    }
}

/// A stake that names the bed's middle at its station; where the bed does not reach so far, at the ends where the
/// berm turns uphill, it names the nearest crest.
fn naming_bed_or_crest(swale: &Swale, kind: StakeKind, station: f64, place: Point) -> Spot {
    let Swale { line, crest_axes, .. } = swale;
    let section = swale.section_at(Station::metres(station));
    let middle = line.at_offset(station, section.bed_offset.in_metres());
    let feet = swale.bed_pieces().into_iter().map(|piece| piece.foot(middle).point);
    let bed = feet.min_by(|a, b| a.distance(middle).total_cmp(&b.distance(middle))).unwrap_or(middle);
    let nearest_crest =
        crest_axes.iter().map(|axis| axis.foot(place)).min_by(|a, b| a.offset.abs().total_cmp(&b.offset.abs()));
    // Beyond the bed at an end that is left open the sill is nearer than any crest.
    let nearest_sill = swale.spillways.iter().map(|spillway| (spillway.lip.foot(place), spillway.sill));
    let nearest_sill = nearest_sill.min_by(|a, b| a.0.offset.abs().total_cmp(&b.0.offset.abs()));
    let crest_away = nearest_crest.map_or(f64::INFINITY, |foot| foot.point.distance(place));
    let off_bed = (line.foot(bed).station - station).abs() > ABREAST;
    if let Some((foot, sill)) = nearest_sill.filter(|(foot, _)| off_bed && foot.point.distance(place) < crest_away) {
        let design = sill.in_metres();
        return Spot { kind, station, place, target: Target::Sill, at: foot.point, design, way: None };
    }
    match nearest_crest {
        Some(foot) if off_bed => {
            let design = swale.crest_at(foot.point).in_metres();
            Spot { kind, station, place, target: Target::Crest, at: foot.point, design, way: None }
        }
        _ => {
            let design = swale.bed_at(bed).in_metres();
            Spot { kind, station, place, target: Target::Bed, at: bed, design, way: None }
        }
    }
}

/// Stakes that will not stand: offset stakes on the works or too near the cut, and any stake off the survey.
fn warnings(work: Shared<'_>, stakes: &[Stake], settings: &StakeSettings) -> Vec<Note> {
    let at = |stake: &Stake| Place::Station { works: stake.works.clone(), station_m: stake.station };
    let mut notes = Vec::new();
    let clearance = settings.clearance.in_metres();
    let wanted = settings.offset.in_metres();
    let from_line = |beyond: bool| match (work.kind, beyond) {
        (Kind::Pond | Kind::Borrow, false) => "outside the rim",
        (Kind::Pond | Kind::Borrow, true) => "inside the rim",
        (_, false) => "uphill of the line",
        (_, true) => "downhill of the line",
    };
    // Uphill of a line or outside a rim, whichever side of the line that is.
    let outwards = |stake: &Stake| {
        let wrong = [Way::Downhill, Way::Inwards].iter().any(|way| way.side() == stake.side);
        if wrong { -stake.offset.abs() } else { stake.offset.abs() }
    };
    let mut more = 0.0_f64;
    for stake in stakes.iter().filter(|stake| stake.kind == StakeKind::Offset) {
        let on_fill = work.fill_footprint.iter().any(|region| region.contains(stake.place));
        let clear = distance_outside(work.cut_footprint, stake.place);
        let missing = missing_clearance(work, stake, settings);
        let text = if on_fill {
            format!("offset stake {} stands where fill will be: set it elsewhere and say where", stake.id)
        } else if missing > 0.0 {
            more = more.max(missing);
            format!(
                "offset stake {} stands {} the cut, and {clearance:.2} m clear of it is wanted",
                stake.id,
                if clear > 0.0 { format!("{clear:.2} m from") } else { "in".to_owned() }
            )
        } else if work.kind != Kind::Dam && outwards(stake) < wanted - 0.1 {
            format!(
                "offset stake {} stands {:.1} m {}, not {wanted:.1} m {}: the line bends back towards it",
                stake.id,
                stake.offset.abs(),
                from_line(outwards(stake) < 0.0),
                from_line(false)
            )
        } else {
            continue;
        };
        notes.push(Note::new("stakeout::offset-not-clear", text).at(at(stake)));
    }
    if more > 0.0 {
        let clear = (wanted + more).ceil();
        let text = format!("an offset of {clear:.0} m would keep the offset stakes of `{}` clear", work.name);
        notes.push(Note::new("stakeout::offset-that-clears", text));
    }
    for stake in stakes.iter().filter(|stake| stake.predicted_ground.is_none()) {
        let text =
            format!("stake {} stands off the survey: its ground is not known, so it says no cut or fill", stake.id);
        notes.push(Note::new("stakeout::off-the-survey", text).at(at(stake)));
    }
    notes
}

/// Stakes of a work that will be buried by the fill of another, one note for each such other; not of one dug through that fill.
fn on_fill_of_others(plan: &SitePlan, work: &Work, stakes: &[Stake]) -> Vec<Note> {
    let name = work.shared().name;
    let others = plan.shared().filter(|other| other.name != name && work.through() != Some(other.name));
    let told = others.filter_map(|other| {
        let buried = |stake: &&Stake| other.fill_footprint.iter().any(|region| region.contains(stake.place));
        let buried: Vec<&Stake> = stakes.iter().filter(buried).collect();
        let first = buried.first()?;
        let ids: Vec<&str> = buried.iter().map(|stake| stake.id.as_str()).collect();
        let text = format!(
            "of `{name}`, {} where the fill of `{}` will be: set elsewhere and say where, or set when that fill stands",
            if let [id] = ids[..] { format!("stake {id} stands") } else { format!("stakes {} stand", ids.join(", ")) },
            other.name
        );
        let at = Place::Station { works: name.to_owned(), station_m: first.station };
        Some(Note::new("stakeout::on-fill-of-another", text).at(at))
    });
    told.collect()
}

/// Distance from a place to regions: below zero inside one of them, by how deep; infinite without regions.
fn distance_outside(regions: &[Polygon], place: Point) -> f64 {
    regions.iter().map(|region| outside(region, place)).fold(f64::INFINITY, f64::min)
}

fn outside(region: &Polygon, place: Point) -> f64 {
    let rims = std::iter::once(&region.outer).chain(&region.holes);
    let nearest = rims
        .filter_map(|ring| Polyline::new(ring.iter().copied().chain(ring.first().copied()).collect()))
        .map(|rim| rim.foot(place).offset.abs())
        .fold(f64::INFINITY, f64::min);
    if region.contains(place) { -nearest } else { nearest }
}
