//! The drawings of a drain: across it, along its line, and what a plan shows of it beyond its areas.
//!
//! Invariant: the section is cut through the ground and the designed surface themselves, its levels against the line there; the
//! long section stands against the upper end of the bed and says how many times taller than long it is drawn.

use super::base::{CONTOUR_LINE, CUT, EXIT, SHEET_WIDTH, TWELVE_POINT, arrow_head, way_off};
use super::cut::{Cut, Named, cut_section};
use super::profile::{CREST, LongScale, NATURAL, level_names, station_axis};
use super::scene::{Fill, Pen, Scene, Spot, Text};
use super::section::capital;
use super::view::View;
use super::words::Words;
use crate::geom::Polyline;
use crate::ground::Ground;
use crate::surface::Tin;
use crate::units::{Figures, Length, Station};
use crate::works::drain::Drain;

/// On a plan: the line, the way out of its lower end, and on the bed which way the water runs.
pub(super) fn drain_on_plan(scene: &mut Scene, view: &View, drain: &Drain) {
    view.line(scene, drain.line.line.points(), false, CONTOUR_LINE);
    if let Some(out) = &drain.run_out {
        view.line(scene, out.axis.points(), false, EXIT);
    }
    if let Some(below) = &drain.below {
        way_off(scene, view, below);
    }
    let axis = &drain.bed_axis;
    for share in [0.25, 0.5, 0.75] {
        let [before, tip] = [-0.5, 0.5].map(|step| axis.at(axis.length() * share + step));
        if view.shows(before) && view.shows(tip) {
            arrow_head(scene, view.spot(before), view.spot(tip), 3.0);
        }
    }
}

const BED: Pen = Pen::solid(0.6, 0);
/// Ground shown beyond what is dug or heaped, metres.
const BEYOND: f64 = 1.5;

/// The typical section, cut through the middle of the bed, with uphill on the left.
#[must_use]
pub fn drain_section(ground: &Ground, surface: &Tin, drain: &Drain, figures: Figures, words: &Words) -> Option<Scene> {
    let station = f64::midpoint(drain.bed.0.in_metres(), drain.bed.1.in_metres());
    let downhill = drain.berm.as_ref().map_or(drain.lip_offset, |berm| berm.toe_offset);
    let uphill = drain.top_offset.in_metres() + 2.0 * BEYOND;
    let ends = [uphill, downhill.in_metres() - 2.0 * BEYOND].map(|offset| drain.place(station, offset));
    let line = Polyline::new(ends.to_vec())?;
    let zero = drain.line.elevation(station);
    let named = |says: String, above: f64, water: bool| Named { says, elevation: zero + above, water };
    let depth = drain.sizes.depth.in_metres();
    let mut levels = Vec::new();
    if let Some(berm) = &drain.berm {
        let says = format!("CREST, BUILD TO {}", figures.crest_against_sill(berm.built));
        levels.push(named(says, berm.built.in_metres(), false));
    }
    levels.push(named("LINE 0".to_owned(), 0.0, false));
    if let Some(run) = drain.carries.run {
        let water = run.depth.in_metres() - depth;
        levels.push(named(format!("WATER {}", figures.against_sill(Length::metres(water))), water, true));
    }
    levels.push(named(format!("BED {}", figures.against_sill(Length::metres(-depth))), -depth, false));
    let at = figures.station(station);
    let cut = Cut {
        title: format!(
            "{} of {} at {} {at}, against its line",
            capital(words.cross_section),
            drain.name(),
            words.station
        ),
        line: &line,
        zero,
        levels,
        wet: vec![uphill - drain.bed_offset.in_metres()],
        ticks: (drain.wanted.shape.name() == "parabola").then(|| ticks(drain, uphill)),
        beyond: BEYOND,
        sides: ["UPHILL", "DOWNHILL"],
    };
    Some(cut_section(&ground.tin, surface, &cut, figures))
}

/// Where a round channel is measured between, which bends everywhere: its edges and its middle, and the berm's edges.
fn ticks(drain: &Drain, uphill: f64) -> Vec<f64> {
    let mut offsets = vec![drain.top_offset, drain.bed_offset, drain.lip_offset];
    if let Some(berm) = &drain.berm {
        let half = drain.sizes.crest * 0.5;
        let heel = drain.lip_offset - drain.wanted.ledge;
        offsets.extend([heel, berm.crest_offset + half, berm.crest_offset - half, berm.toe_offset]);
    }
    offsets.into_iter().map(|offset| uphill - offset.in_metres()).collect()
}

/// The long section: the bed and the line that it is dug from, natural ground on the line, the crest of the berm.
#[must_use]
pub fn drain_profile(drain: &Drain, figures: Figures, words: &Words) -> Scene {
    let [from, to] = [drain.bed.0, drain.bed.1].map(Station::in_metres);
    let zero_level = drain.bed_at(from).in_metres();
    let bed = |station: f64| drain.bed_at(station).in_metres() - zero_level;
    let line = |station: f64| drain.line.elevation(station) - zero_level;
    let length = drain.line.line.length();
    let stations = drain.line.check.stations.iter();
    let natural: Vec<(f64, f64)> = stations.map(|known| (known.station, known.ground - zero_level)).collect();
    let crest = drain.berm.as_ref().map(|berm| {
        let ends = [berm.axis.first(), berm.axis.last()].map(|end| drain.line.line.foot(end).station);
        ends.map(|station| (station, line(station) + berm.built.in_metres()))
    });
    let levels = [
        (line(from), format!("line {}", figures.against_sill(Length::metres(line(from))))),
        (0.0, "bed, upper end 0".to_owned()),
        (bed(to), format!("lower end {}", figures.against_sill(Length::metres(bed(to))))),
    ]
    .map(|(height, says)| (height, Text::new(Spot::new(0.0, 0.0), TWELVE_POINT, says).ending().bold()));
    let all = || natural.iter().map(|&(_, z)| z).chain(crest.iter().flatten().map(|&(_, z)| z));
    let (low, high) = (all().fold(bed(to), f64::min), all().fold(line(0.0), f64::max));
    let LongScale { left, across, up, taller, zero } = LongScale::of(&levels, length, (low, high), 55.0);
    let title = format!("{} of {}, as the water runs", capital(words.long_section), drain.name());
    let mut scene = Scene::new(SHEET_WIDTH, zero + high * up + 12.0, title);
    let spot = |(station, height): (f64, f64)| Spot::new(left + station * across, zero + height * up);
    let inside = natural.iter().copied().filter(|&(station, _)| station > from && station < to);
    let over = |station: f64| (station, line(station));
    let top = std::iter::once(over(from)).chain(inside.map(|(s, z)| (s, z.max(bed(s))))).chain([over(to)]);
    let dug: Vec<Spot> = top.chain([(to, bed(to)), (from, bed(from))]).map(spot).collect();
    scene.area(vec![dug], Some(Fill::Hatched(CUT)), None);
    scene.straight(spot((0.0, line(0.0))), spot((length, line(length))), CONTOUR_LINE);
    scene.straight(spot((from, bed(from))), spot((to, bed(to))), BED);
    if let Some([first, last]) = crest {
        scene.straight(spot(first), spot(last), CREST);
    }
    scene.line(natural.iter().copied().map(spot).collect(), NATURAL);
    let middle = f64::midpoint(from, to);
    let says = format!("falls {:.2} %", drain.line.fall.in_percent());
    scene.text_on_paper(Text::new(spot((middle, bed(middle))).moved(0.0, -6.0), TWELVE_POINT, says).centred().bold());
    level_names(&mut scene, left, zero, up, levels);
    station_axis(&mut scene, left, length, across, figures, words);
    let berm = if crest.is_some() { "; uppermost: the crest" } else { "" };
    let says = format!("drawn {taller:.0} times taller than long; dashed: natural ground on the line{berm}");
    scene.text(Text::new(Spot::new(1.0, zero + high * up + 6.0), TWELVE_POINT, says).grey(0x44));
    scene
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Region;
    use crate::draw::hillside::METRIC;
    use crate::draw::section::BUILT;
    use crate::works::drain::tests::drained;

    /// The bed is 0.6 m wide at the scale it says and uphill on the left, whichever side of the line that is.
    #[test]
    fn the_section_has_its_true_shape() {
        for uphill_on_left in [true, false] {
            let (ground, plan) = drained(uphill_on_left);
            let drain = plan.drains().next().unwrap();
            let scene = drain_section(&ground, &plan.surfaces[0], drain, METRIC, Region::Au.words()).unwrap();
            let says = scene.texts().find(|text| text.starts_with("true shape, 1:")).unwrap().to_owned();
            let one_to: f64 = says["true shape, 1:".len()..].split(';').next().unwrap().parse().unwrap();
            let built = &scene.lines_of(BUILT)[0];
            let bed = built.iter().map(|spot| spot.y).fold(f64::INFINITY, f64::min);
            let on_bed = || built.iter().filter(|spot| (spot.y - bed).abs() < 0.01).map(|spot| spot.x);
            let width = on_bed().fold(0.0, f64::max) - on_bed().fold(f64::INFINITY, f64::min);
            assert!((width - 600.0 / one_to).abs() < 0.05, "{width} at {one_to}");
            assert!(built[0].y > built[built.len() - 1].y && built[0].x < built[built.len() - 1].x);
            for says in ["LINE 0", "BED 0.40 BELOW", "WATER 0.10 BELOW"] {
                assert!(scene.texts().any(|text| text == says), "{says}");
            }
        }
    }

    /// The way below its end is drawn, with its word in the key.
    #[test]
    fn a_plan_shows_where_its_water_runs_off() {
        let site = crate::draw::hillside::hillside(110.0);
        let (ground, plan) = drained(true);
        let stakes = crate::stakeout::stakes(&ground, &plan, &crate::stakeout::StakeSettings::default()).value;
        let words = Region::Au.words();
        let input = crate::draw::PlanInput {
            ground: &ground,
            survey: &site.survey,
            plan: &plan,
            stakes: &stakes,
            figures: METRIC,
            words,
        };
        let scene = crate::draw::site_plan(&input);
        assert!(scene.texts().any(|text| text == "water runs off"));
        let drain = plan.drains().next().unwrap();
        assert!(drain.below.as_ref().is_some_and(|way| way.length() > 5.0));
        // The run-out, the way below it, and the key's own stroke.
        assert!(scene.lines_of(EXIT).len() >= 3, "{}", scene.lines_of(EXIT).len());
    }

    /// The bed falls 1 % drawn as many times taller as it says.
    #[test]
    fn the_long_section_falls_as_it_says() {
        let (_, plan) = drained(true);
        let drain = plan.drains().next().unwrap();
        let scene = drain_profile(drain, METRIC, Region::Au.words());
        let says = scene.texts().find(|text| text.contains("times taller")).unwrap().to_owned();
        let taller: f64 = says.split_whitespace().nth(1).unwrap().parse().unwrap();
        let bed = &scene.lines_of(BED)[0];
        let fall = (bed[0].y - bed[1].y) / (bed[1].x - bed[0].x) / taller;
        assert!((fall - 0.01).abs() < 1e-6, "{fall}");
        assert!(scene.texts().any(|text| text == "falls 1.00 %"));
    }
}
