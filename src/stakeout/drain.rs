//! Stakes and as-built shots of a drain: on its line and uphill of it for the bed, each with its own level; on the crest of its
//! berm, and on the middle of its run-out.

use super::along::{stations, steps};
use super::asked::Asked;
use super::setting::{Setting, Spot};
use super::settings::StakeSettings;
use super::stake::{Stake, StakeKind, Target};
use crate::geom::{Point, Polyline};
use crate::surface::Locator;
use crate::works::drain::Drain;

/// Cross sections stand at least this far from the ends of the bed, metres.
const CLEAR_OF_END: f64 = 1.0;
/// A station this near to an end of the bed is that end, metres.
const SAME: f64 = 0.5;

/// Every stake of a drain.
pub(super) fn stakes(setting: &mut Setting<'_>, drain: &Drain) -> Vec<Stake> {
    let mut spots: Vec<Spot> = Vec::new();
    let along = beside_bed(setting, drain);
    let offset = setting.settings.offset.in_metres();
    for (kind, uphill) in [(StakeKind::Line, 0.0), (StakeKind::Offset, offset)] {
        spots.extend(along.iter().map(|&station| Spot {
            kind,
            station,
            place: drain.place(station, uphill),
            target: Target::Bed,
            at: drain.place(station, drain.bed_offset.in_metres()),
            design: drain.bed_at(station).in_metres(),
            way: None,
        }));
    }
    let s = setting.settings;
    let every = |axis: &Polyline| {
        stations(axis, s.interval.in_metres(), s.bend_interval.in_metres(), s.bend_radius.in_metres())
    };
    let on = |kind, target, axis: &Polyline, levels: &[f64], at: f64, station| {
        let (place, design) = (axis.at(at), axis.interpolated(levels, at));
        Spot { kind, station, place, target, at: place, design, way: None }
    };
    if let Some(berm) = &drain.berm {
        spots.extend(every(&berm.axis).into_iter().map(|at| {
            let station = drain.line.line.foot(berm.axis.at(at)).station;
            on(StakeKind::Crest, Target::Crest, &berm.axis, &berm.levels, at, station)
        }));
    }
    if let Some(out) = &drain.run_out {
        let along = steps(0.0, out.axis.length(), s.bend_interval.in_metres());
        spots.extend(along.into_iter().map(|at| on(StakeKind::Channel, Target::Bed, &out.axis, &out.levels, at, at)));
    }
    spots.iter().map(|spot| setting.stake(spot)).collect()
}

/// The line's stations where there is bed, with both ends of it.
fn beside_bed(setting: &Setting<'_>, drain: &Drain) -> Vec<f64> {
    let (from, to) = (drain.bed.0.in_metres(), drain.bed.1.in_metres());
    let inside = |station: &f64| (from + SAME..=to - SAME).contains(station);
    let mut along = vec![from];
    along.extend(setting.stations(&[]).into_iter().filter(inside));
    along.push(to);
    along
}

/// The shots to take after the dig: along bed, run-out and crest, and across at sections.
pub(super) fn as_built_shots(
    drain: &Drain,
    designed: Option<&Locator<'_>>,
    settings: &StakeSettings,
    asked: &mut Asked<'_>,
) {
    let every = |axis: &Polyline, levels: &[f64]| -> Vec<(Point, f64)> {
        let along = steps(0.0, axis.length(), settings.as_built_interval.in_metres());
        along.into_iter().map(|at| (axis.at(at), axis.interpolated(levels, at))).collect()
    };
    for (place, level) in every(&drain.bed_axis, &drain.bed_levels) {
        asked.add("bed", "B", "bed", place, level);
    }
    if let Some(berm) = &drain.berm {
        for (place, level) in every(&berm.axis, &berm.levels) {
            asked.add("crest", "C", "crest", place, level);
        }
    }
    let Some(designed) = designed else { return };
    let (from, to) = (drain.bed.0.in_metres() + CLEAR_OF_END, drain.bed.1.in_metres() - CLEAR_OF_END);
    for station in steps(from, to.max(from), settings.as_built_section.in_metres()) {
        let mut offsets = vec![drain.top_offset, drain.lip_offset];
        offsets.extend(drain.berm.iter().map(|berm| berm.toe_offset));
        for offset in offsets {
            let place = drain.place(station, offset.in_metres());
            if let Some(elevation) = designed.elevation(place) {
                asked.add("section", "X", "built", place, elevation);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::stakeout::{Action, StakeKind, StakeSettings, Target, stakes};
    use crate::works::drain::tests::drained;

    /// On a plane the ground at a stake on the line is the line, 0.4 m over the bed; 5 m uphill of it higher by the cross slope.
    /// Whichever side of the line uphill is, the stakes that stay stand there and say that the bed is downhill.
    #[test]
    fn every_stake_tells_the_bed_at_its_own_station() {
        for uphill_on_left in [true, false] {
            let (ground, plan) = drained(uphill_on_left);
            let settings = StakeSettings::default();
            let made = stakes(&ground, &plan, &settings);
            let drain = plan.drains().next().unwrap();
            let of = |kind: StakeKind| made.value.stakes.iter().filter(move |stake| stake.kind == kind);
            assert!(of(StakeKind::Line).count() >= 4);
            for stake in of(StakeKind::Line).chain(of(StakeKind::Offset)) {
                assert!((stake.design_elevation - (432.8 - 0.4 - 0.01 * stake.station)).abs() < 1e-5, "{stake:?}");
                assert_eq!(stake.refers_to, Target::Bed);
            }
            assert!(
                of(StakeKind::Line).all(|s| matches!(s.action, Some(Action::Cut(cut)) if (cut - 0.4).abs() < 1e-5))
            );
            let higher = 0.4 + drain.cross_fall.in_ratio() * settings.offset.in_metres();
            for stake in of(StakeKind::Offset) {
                assert_eq!((stake.side, stake.way.name()), ("uphill", "downhill"), "{stake:?}");
                assert!(matches!(stake.action, Some(Action::Cut(cut)) if (cut - higher).abs() < 1e-5), "{stake:?}");
            }
            assert!(made.notes.iter().all(|note| !note.text.contains("bends back")), "{:?}", made.notes);
            let built = drain.berm.as_ref().unwrap().built.in_metres();
            for stake in of(StakeKind::Crest) {
                assert!((stake.design_elevation - (432.8 - 0.01 * stake.station + built)).abs() < 2e-3, "{stake:?}");
            }
            // Down the run-out the floor falls from the end of the bed.
            let out: Vec<f64> = of(StakeKind::Channel).map(|stake| stake.design_elevation).collect();
            assert!(out.len() >= 2 && out.windows(2).all(|pair| pair[1] < pair[0]), "{out:?}");
            let ids: std::collections::BTreeSet<&str> = made.value.stakes.iter().map(|s| s.id.as_str()).collect();
            assert_eq!(ids.len(), made.value.stakes.len());
        }
    }
}
