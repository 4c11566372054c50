//! Setting out: which stakes a plan needs.
//!
//! Offsets are from the work's line, positive uphill. Four series: on the line, at one round distance uphill of it, on
//! the sill, on the crest. A stake speaks from its own mark: its cut or fill is from the ground predicted at the stake
//! to the elevation of what it names, and it says how far away that is.

use super::along::{stations, steps};
use super::asbuilt::{as_built_shots, proof_note};
use super::ids::{Names, letters};
use super::settings::StakeSettings;
use super::stake::{Action, Stake, StakeKind, StakeList, Target};
use super::writes::words;
use crate::geom::{Point, Polygon, Polyline};
use crate::ground::Ground;
use crate::notes::{Note, Noted, Place};
use crate::surface::Locator;
use crate::works::{SitePlan, Spillway, Swale};

/// An offset stake for the bed this near one for the end of a sill is left out, metres.
const NEAR_SILL: f64 = 1.0;
/// A stake on a sill this near to its end is left out, metres.
const NEAR_END: f64 = 0.5;
/// A bed further along the line than this is not beside the stake, metres.
const ABREAST: f64 = 0.75;
/// Closer to the line than this a stake stands on it, metres.
const ON_LINE: f64 = 0.05;

/// Every stake of a plan, and the shots to take after the dig.
#[must_use]
pub fn stakes(ground: &Ground, plan: &SitePlan, settings: &StakeSettings) -> Noted<StakeList> {
    let names: Vec<&str> = plan.swales.iter().map(|swale| swale.wanted.name.as_str()).collect();
    let (letters, mut notes) = letters(&names);
    let natural = Locator::new(&ground.tin);
    let mut list = StakeList::default();
    let mut ids = Names::new(settings.figures);
    for (swale, letter) in plan.swales.iter().zip(&letters) {
        let mut setting = Setting { swale, natural: &natural, settings, ids: &mut ids, letter };
        let mut own = setting.on_line();
        own.extend(setting.offset());
        own.extend(setting.on_sills());
        own.extend(setting.on_crest());
        notes.extend(warnings(swale, &own, settings));
        list.stakes.extend(own);
    }
    let designed = plan.surfaces.last().map(Locator::new);
    for (swale, letter) in plan.swales.iter().zip(&letters) {
        notes.extend(swale.spillways.iter().filter_map(|spillway| proof_note(&swale.wanted.name, spillway, settings)));
        list.as_built_shots.extend(as_built_shots(swale, designed.as_ref(), settings, letter, &mut ids));
    }
    Noted { value: list, notes }
}

/// One swale being staked.
struct Setting<'a> {
    swale: &'a Swale,
    natural: &'a Locator<'a>,
    settings: &'a StakeSettings,
    ids: &'a mut Names,
    letter: &'a str,
}

/// Where a stake stands and what it names, before it has a name and words.
struct Spot {
    kind: StakeKind,
    station: f64,
    place: Point,
    target: Target,
    /// The nearest place of the target.
    at: Point,
    design: f64,
}

impl Setting<'_> {
    fn stake(&mut self, spot: &Spot) -> Stake {
        let series = match spot.kind {
            StakeKind::Line => "",
            StakeKind::Offset => "X",
            StakeKind::Sill => "S",
            StakeKind::Crest => "C",
        };
        let foot = self.swale.line.foot(spot.place);
        let predicted_ground = self.natural.elevation(spot.place);
        let action = predicted_ground.map(|ground| Action::between(ground, spot.design));
        let away = spot.place.distance(spot.at);
        let uphill = self.swale.line.foot(spot.at).offset > foot.offset;
        Stake {
            id: self.ids.give(&format!("{}{series}", self.letter), spot.station),
            works: self.swale.wanted.name.clone(),
            kind: spot.kind,
            station: spot.station,
            side: side(foot.offset),
            offset: foot.offset,
            place: spot.place,
            predicted_ground,
            mark_elevation: None,
            refers_to: spot.target,
            away,
            design_elevation: spot.design,
            action,
            writes: words(action, spot.target, away, uphill, self.settings.figures),
        }
    }

    /// The line's stations; the sills' own are added to them for offset stakes.
    fn stations(&self) -> Vec<f64> {
        let s = self.settings;
        stations(&self.swale.line, s.interval.in_metres(), s.bend_interval.in_metres(), s.bend_radius.in_metres())
    }

    fn on_line(&mut self) -> Vec<Stake> {
        let spots: Vec<Spot> = self
            .stations()
            .into_iter()
            .map(|station| self.naming_bed_or_crest(StakeKind::Line, station, self.swale.line.at(station)))
            .collect();
        spots.iter().map(|spot| self.stake(spot)).collect()
    }

    fn offset(&mut self) -> Vec<Stake> {
        let line = &self.swale.line;
        let offset = self.settings.offset.in_metres();
        let ends = |spillway: &Spillway| [spillway.from.in_metres(), spillway.to.in_metres()];
        let sill_ends: Vec<f64> = self.swale.spillways.iter().flat_map(ends).collect();
        // Beyond the ends of the bed the berm turns uphill over the line of offset stakes: the ends of the bed are staked.
        let bed_ends = [self.swale.bed_axis.first(), self.swale.bed_axis.last()].map(|end| line.foot(end).station);
        let mut stations: Vec<f64> = self.stations().iter().map(|s| s.clamp(bed_ends[0], bed_ends[1])).collect();
        stations.dedup();
        let mut spots: Vec<Spot> = stations
            .into_iter()
            .filter(|station| !sill_ends.iter().any(|end| (end - station).abs() < NEAR_SILL))
            .map(|station| self.naming_bed_or_crest(StakeKind::Offset, station, line.at_offset(station, offset)))
            .collect();
        for spillway in &self.swale.spillways {
            for station in ends(spillway) {
                let place = line.at_offset(station, offset);
                spots.push(Spot {
                    kind: StakeKind::Offset,
                    station,
                    place,
                    target: Target::Sill,
                    at: spillway.lip.foot(line.at(station)).point,
                    design: spillway.sill.in_metres(),
                });
            }
        }
        spots.sort_by(|a, b| a.station.total_cmp(&b.station));
        spots.iter().map(|spot| self.stake(spot)).collect()
    }

    /// A stake that names the bed's middle at its station; where the bed does not reach so far, at the ends where the
    /// berm turns uphill, it names the nearest crest.
    fn naming_bed_or_crest(&self, kind: StakeKind, station: f64, place: Point) -> Spot {
        let Swale { section, line, bed_axis, crest_axes, crest, .. } = self.swale;
        let bed = bed_axis.foot(line.at_offset(station, section.bed_offset.in_metres())).point;
        let nearest_crest =
            crest_axes.iter().map(|axis| axis.foot(place)).min_by(|a, b| a.offset.abs().total_cmp(&b.offset.abs()));
        match nearest_crest {
            Some(foot) if (line.foot(bed).station - station).abs() > ABREAST => {
                let design = crest.built.in_metres();
                Spot { kind, station, place, target: Target::Crest, at: foot.point, design }
            }
            _ => Spot { kind, station, place, target: Target::Bed, at: bed, design: section.bed.in_metres() },
        }
    }

    fn on_sills(&mut self) -> Vec<Stake> {
        let swale = self.swale;
        swale.spillways.iter().flat_map(|spillway| self.on_sill(spillway)).collect()
    }

    fn on_sill(&mut self, spillway: &Spillway) -> Vec<Stake> {
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
                let station = self.swale.line.foot(place).station;
                let design = spillway.sill.in_metres();
                self.stake(&Spot { kind: StakeKind::Sill, station, place, target: Target::Sill, at: place, design })
            })
            .collect()
    }

    fn on_crest(&mut self) -> Vec<Stake> {
        let swale = self.swale;
        swale.crest_axes.iter().flat_map(|axis| self.on_crest_axis(axis)).collect()
    }

    fn on_crest_axis(&mut self, axis: &Polyline) -> Vec<Stake> {
        let s = self.settings;
        stations(axis, s.interval.in_metres(), s.bend_interval.in_metres(), s.bend_radius.in_metres())
            .into_iter()
            .map(|along| {
                let place = axis.at(along);
                let station = self.swale.line.foot(place).station;
                let design = self.swale.crest.built.in_metres();
                self.stake(&Spot { kind: StakeKind::Crest, station, place, target: Target::Crest, at: place, design })
            })
            .collect()
    }
}

fn side(offset: f64) -> &'static str {
    if offset.abs() < ON_LINE {
        "on line"
    } else if offset > 0.0 {
        "uphill"
    } else {
        "downhill"
    }
}

/// Stakes that will not stand: offset stakes on the works or too near the cut, and any stake off the survey.
fn warnings(swale: &Swale, stakes: &[Stake], settings: &StakeSettings) -> Vec<Note> {
    let at = |stake: &Stake| Place::Station { works: stake.works.clone(), station_m: stake.station };
    let mut notes = Vec::new();
    let clearance = settings.clearance.in_metres();
    let wanted = settings.offset.in_metres();
    let mut more = 0.0_f64;
    for stake in stakes.iter().filter(|stake| stake.kind == StakeKind::Offset) {
        let on_fill = swale.fill_footprint.iter().any(|region| region.contains(stake.place));
        let clear = distance_outside(&swale.cut_footprint, stake.place);
        let text = if on_fill {
            format!("offset stake {} stands where the berm will be: set it elsewhere and say where", stake.id)
        } else if clear < clearance {
            more = more.max(clearance - clear);
            format!(
                "offset stake {} stands {} the cut, and {clearance:.2} m clear of it is wanted",
                stake.id,
                if clear > 0.0 { format!("{clear:.2} m from") } else { "in".to_owned() }
            )
        } else if stake.offset < wanted - 0.1 {
            format!(
                "offset stake {} stands {:.1} m from the line, not {wanted:.1}: the line bends back towards it",
                stake.id, stake.offset
            )
        } else {
            continue;
        };
        notes.push(Note::new("stakeout::offset-not-clear", text).at(at(stake)));
    }
    if more > 0.0 {
        let clear = (wanted + more).ceil();
        let text = format!("an offset of {clear:.0} m would keep the offset stakes of `{}` clear", swale.wanted.name);
        notes.push(Note::new("stakeout::offset-that-clears", text));
    }
    for stake in stakes.iter().filter(|stake| stake.predicted_ground.is_none()) {
        let text =
            format!("stake {} stands off the survey: its ground is not known, so it says no cut or fill", stake.id);
        notes.push(Note::new("stakeout::off-the-survey", text).at(at(stake)));
    }
    notes
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
