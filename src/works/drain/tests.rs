//! Drains on closed-form hillsides.

use super::*;
use crate::geom::Vector;
use crate::ground::Ground;
use crate::notes::{Note, Silent};
use crate::soil::{Placement, Soil};
use crate::surface::sound::assert_sound;
use crate::surface::{Drainage, Locator, cut_and_fill, pool};
use crate::units::Batter;
use crate::water::channel::Cover;
use crate::works::tests::{hillside, wanted as swale};
use crate::works::{ChannelShape, FallWanted, LineEdge, SitePlan, SwaleWanted, Wanted, WorksError, design, fall_lines};

const SLOPE: f64 = 0.04;
const FALL: f64 = 0.01;

fn batter(ratio: f64) -> Batter {
    Batter::horizontal_per_vertical(ratio)
}

fn channel() -> ChannelWanted {
    ChannelWanted {
        line_edge: LineEdge::DownhillLip,
        shape: ChannelShape::Trapezoid { bottom_width: Length::metres(0.6) },
        depth: Length::metres(0.4),
        to_carry: None,
        uphill_batter: batter(2.0),
        downhill_batter: batter(1.5),
        berm: None,
        ledge: Length::metres(0.4),
        freeboard: Length::metres(0.1),
        flow: None,
        cover: Cover::MixedGrass,
        topsoil: Length::metres(0.1),
        soil: Soil::named("loam", Placement::TrackWalked).unwrap(),
        placement: Placement::TrackWalked,
        settlement: 0.1,
    }
}

/// A line that falls 1 % on a plane of 4 %, to the east or the west from a place.
fn line(from: Point, east: f64, length: f64, channel: ChannelWanted) -> FallWanted {
    let across = (1.0 - (FALL / SLOPE).powi(2)).sqrt();
    let metres = Length::metres;
    FallWanted {
        name: "drain".to_owned(),
        from: (from, "the place".to_owned()),
        to: from + Vector::new(east * across, -FALL / SLOPE) * length,
        falls: (Fall::ratio(FALL), Fall::ratio(FALL)),
        length: None,
        within: None,
        bend_radius: metres(5.0),
        obstacles: Vec::new(),
        clearance: metres(3.0),
        tolerance: metres(0.05),
        channel: Some(channel),
    }
}

fn plane(spacing: u32) -> Ground {
    hillside(spacing, |_, y| 430.0 + SLOPE * y)
}

fn designed(
    ground: &Ground,
    before: &[SwaleWanted],
    asked: &FallWanted,
) -> Result<(Drain, SitePlan, Vec<Note>), WorksError> {
    let lines = fall_lines(ground, std::slice::from_ref(asked))?.value;
    let swales = before.iter().cloned().map(Wanted::Swale);
    let all: Vec<Wanted> = swales.chain(lines.into_iter().map(Wanted::Drain)).collect();
    let made = design(ground, &all, &Silent)?;
    let Some(crate::works::Work::Drain(drain)) = made.value.works.last().cloned() else { panic!("a drain") };
    Ok((drain, made.value, made.notes))
}

/// A drain with a berm of all its cut on the plane, uphill on its left, else on its right.
pub(crate) fn drained(uphill_on_left: bool) -> (Ground, SitePlan) {
    let berm = Some(DrainBerm::AllTheCut { crest: Length::metres(0.6), batter: batter(2.0) });
    let (east, from) = if uphill_on_left { (1.0, 60.0) } else { (-1.0, 140.0) };
    let ground = plane(10);
    let asked = line(Point::new(from, 70.0), east, 60.0, ChannelWanted { berm, ..channel() });
    let plan = designed(&ground, &[], &asked).unwrap().1;
    (ground, plan)
}

fn on_plane(channel: ChannelWanted) -> (Drain, SitePlan, Vec<Note>) {
    designed(&plane(10), &[], &line(Point::new(60.0, 70.0), 1.0, 60.0, channel)).unwrap()
}

/// Everything from 10 to 40 m along a drain, 8 m to both sides.
fn stretch(drain: &Drain) -> Polygon {
    Polygon::simple([(10.0, -8.0), (40.0, -8.0), (40.0, 8.0), (10.0, 8.0)].map(|(s, o)| drain.place(s, o)).to_vec())
}

fn text<'a>(notes: &'a [Note], code: &str) -> &'a str {
    &notes.iter().find(|note| note.code == code).unwrap_or_else(|| panic!("{code} in {notes:#?}")).text
}

/// The ground falls with the line, so that the section is one all along: area times length, cut across the slope that is left,
/// sqrt(0.04^2 - 0.01^2).
#[test]
fn on_a_plane_its_earth_is_area_times_length_whichever_side_is_uphill() {
    let across = (SLOPE * SLOPE - FALL * FALL).sqrt();
    let (d, b, down, up) = (0.4, 0.6, 1.5, 2.0);
    let edge = down * d + b;
    let top = (d + edge / up) / (1.0 / up - across);
    let beyond = top - edge;
    let area = across * top * top / 2.0 + down * d * d / 2.0 + b * d + d * beyond - beyond * beyond / (2.0 * up);
    let mut whole = Vec::new();
    for (spacing, east, from) in
        [(10, 1.0, Point::new(60.0, 70.0)), (10, -1.0, Point::new(140.0, 70.0)), (5, 1.0, Point::new(60.0, 70.0))]
    {
        let ground = plane(spacing);
        let (drain, plan, _) = designed(&ground, &[], &line(from, east, 60.0, channel())).unwrap();
        let surface = &plan.surfaces[0];
        assert_sound(surface);
        assert_eq!(drain.uphill_on_left, east > 0.0);
        let moved = cut_and_fill(&ground.tin, surface, Some(&stretch(&drain)));
        assert!((moved.cut / (30.0 * area) - 1.0).abs() < 1e-4, "{} of {}", moved.cut, 30.0 * area);
        assert!(moved.fill < 1e-6 && drain.largest_difference < 1e-3);
        let after = Locator::new(surface);
        for station in [5.0, 20.0, 45.0] {
            let z = after.elevation(drain.place(station, edge - b / 2.0)).unwrap();
            let bed = 430.0 + SLOPE * 70.0 - d - FALL * station;
            assert!((z - bed).abs() < 1e-5 && (drain.bed_at(station).in_metres() - bed).abs() < 1e-6);
        }
        whole.push(cut_and_fill(&ground.tin, surface, None).cut);
    }
    // Mirrored, and on ground of another triangulation, the same earth with ends and run-out.
    assert!(whole.iter().all(|cut| (cut / whole[0] - 1.0).abs() < 2e-4), "{whole:?}");
}

/// Q = A R^(2/3) S^(1/2) / n in the cut under the freeboard, by hand, at Manning's n 0.033.
#[test]
fn it_carries_what_manning_says() {
    let (drain, _, notes) = on_plane(ChannelWanted { cover: Cover::CreepingGrass, ..channel() });
    let y = 0.3;
    let area = (0.6 + 3.5 * y / 2.0) * y;
    let wet = 0.6 + y * (5.0_f64.sqrt() + 3.25_f64.sqrt());
    let flow = area * (area / wet).powf(2.0 / 3.0) * FALL.sqrt() / 0.033;
    let found = drain.carries.capacity.in_cubic_metres_per_second();
    assert!((found / flow - 1.0).abs() < 1e-6, "{found} {flow}");
    assert!(drain.carries.enough().is_none() && !drain.carries.scours());
    // As fast as it runs where its cover is smoothest, it stands shallower than that.
    let run = drain.carries.run.unwrap();
    assert!((run.depth.in_metres() - y).abs() < 1e-6 && run.speed > flow / area);
    assert!(text(&notes, "works::drain-flow").contains(&format!("it carries {flow:.3} m3/s at 1.00 %")));
    assert!(text(&notes, "works::drain-bare").contains("bare earth bears 0.76 m/s"));
}

/// The depth found keeps its freeboard, and 10 mm less does not; the same of a width; what cannot be found is refused.
#[test]
fn the_size_that_carries_a_flow_is_found() {
    let flow = Some(FlowWanted::Flow(Flow::cubic_metres_per_second(0.35)));
    let carries = |channel: ChannelWanted| on_plane(channel).0.carries.enough();
    for to_carry in [Solved::Depth, Solved::Width] {
        let (drain, _, notes) = on_plane(ChannelWanted { flow: flow.clone(), to_carry: Some(to_carry), ..channel() });
        assert_eq!(drain.carries.enough(), Some(true));
        let run = drain.carries.run.unwrap();
        assert!(run.depth + Length::metres(0.1) <= drain.carries.bank + Length::metres(1e-9));
        assert!(notes.iter().all(|note| note.code != "works::drain-too-small"));
        let (depth, width) = (drain.sizes.depth, drain.sizes.width);
        let (less_depth, less_width) = match to_carry {
            Solved::Depth => (depth - Length::metres(0.01), width),
            Solved::Width => (depth, width - Length::metres(0.05)),
        };
        let shape = ChannelShape::Trapezoid { bottom_width: less_width };
        assert_eq!(carries(ChannelWanted { flow: flow.clone(), depth: less_depth, shape, ..channel() }), Some(false));
    }
    let flood = Some(FlowWanted::Flow(Flow::cubic_metres_per_second(5000.0)));
    let asked = ChannelWanted { flow: flood, to_carry: Some(Solved::Depth), ..channel() };
    let refused = designed(&plane(10), &[], &line(Point::new(60.0, 70.0), 1.0, 60.0, asked)).unwrap_err();
    assert!(matches!(refused, WorksError::CannotCarry { .. }), "{refused}");
    // A flow that is carried by a drain too large for the survey says so with the depth that it asks for.
    let large = Some(FlowWanted::Flow(Flow::cubic_metres_per_second(60.0)));
    let berm = Some(DrainBerm::AllTheCut { crest: Length::metres(0.6), batter: batter(2.0) });
    let asked = ChannelWanted { flow: large, to_carry: Some(Solved::Depth), berm, ..channel() };
    let made = designed(&plane(10), &[], &line(Point::new(60.0, 25.0), 1.0, 60.0, asked));
    let refused = made.expect_err("its berm has no room");
    assert!(matches!(refused, WorksError::OfFoundSize { .. }), "{refused}");
    assert!(refused.to_string().contains(" m is what the flow of 60.000 m3/s asks for"), "{refused}");
    let (_, _, notes) =
        on_plane(ChannelWanted { flow: Some(FlowWanted::Flow(Flow::cubic_metres_per_second(2.0))), ..channel() });
    assert!(text(&notes, "works::drain-too-small").contains("of the 2.000 m3/s asked for"));
    assert!(text(&notes, "works::drain-too-fast").contains("it washes out"));
}

/// The ground above the line drains to it straight down the slope: 60 m of line seen across it, up to the edge of the survey.
#[test]
fn a_storm_falls_on_the_surveyed_ground_that_drains_to_it() {
    let rate = crate::units::parse_rain_rate("36 mm/h").unwrap();
    let storm =
        |catchment| FlowWanted::Storm { name: "25-year".to_owned(), intensity: rate, catchment, coefficient: 0.5 };
    let (drain, _, notes) = on_plane(ChannelWanted { flow: Some(storm(None)), ..channel() });
    let wide = drain.line.line.length() * (1.0 - 0.0625_f64).sqrt();
    let uphill = 30.0 + 0.25 * drain.line.line.length() / 2.0;
    assert!((drain.catchment.area / (wide * uphill) - 1.0).abs() < 1e-6, "{:?}", drain.catchment);
    // A hundredth of a millimetre a second on it, of which half runs off.
    let flow = drain.carries.flow.unwrap().in_cubic_metres_per_second();
    assert!((flow / (0.5e-5 * wide * uphill) - 1.0).abs() < 1e-6);
    assert!(text(&notes, "water::storm").contains("the catchment is the surveyed ground that drains to its line"));
    let said = crate::units::Area::square_metres(1000.0);
    let (drain, _, notes) = on_plane(ChannelWanted { flow: Some(storm(Some(said))), ..channel() });
    assert!(text(&notes, "works::drain-catches-more").contains("more than the 1000 m2"));
    assert!(drain.alarms().iter().any(|alarm| matches!(alarm, Alarm::CatchesMore { .. })), "{:?}", drain.alarms());
}

/// Its berm takes the dig to within a step of its crest over its seat, on the downhill side only, and falls with the line.
#[test]
fn a_berm_of_all_the_cut_takes_it() {
    let all = DrainBerm::AllTheCut { crest: Length::metres(0.6), batter: batter(2.0) };
    for (east, from) in [(1.0, Point::new(60.0, 70.0)), (-1.0, Point::new(140.0, 70.0))] {
        let ground = plane(10);
        let asked = line(from, east, 60.0, ChannelWanted { berm: Some(all), ..channel() });
        let (drain, plan, _) = designed(&ground, &[], &asked).unwrap();
        let surface = &plan.surfaces[0];
        assert_sound(surface);
        let volumes = cut_and_fill(&ground.tin, surface, None);
        let bank = cut_and_fill(&ground.tin.raised_by(-0.1), surface, None).cut;
        let needed = (volumes.fill + 0.1 * volumes.fill_area) / channel().soil.placed_per_bank;
        assert!((bank - needed).abs() < 0.006 * volumes.fill_area, "bank {bank} needed {needed}");
        let berm = drain.berm.as_ref().unwrap();
        let after = Locator::new(surface);
        for station in [10.0, 35.0] {
            let crest = after.elevation(drain.place(station, berm.crest_offset.in_metres())).unwrap();
            let level = 430.0 + SLOPE * 70.0 - FALL * station + berm.built.in_metres();
            assert!((crest - level).abs() < 1e-5, "{crest} {level}");
        }
        assert!(
            drain
                .fill_footprint
                .iter()
                .flat_map(|p| &p.outer)
                .all(|&p| { drain.left() * drain.line.line.foot(p).offset < -0.39 })
        );
    }
}

/// A crest of a height settles to it: of h above its seat h / 1.1 is left, and it is built to the next 5 mm.
#[test]
fn a_berm_of_a_height_is_built_higher_by_what_it_settles() {
    let fixed = DrainBerm::Fixed { height: Length::metres(0.3), crest: Length::metres(0.6), batter: batter(2.0) };
    let (drain, _, _) = on_plane(ChannelWanted { berm: Some(fixed), ..channel() });
    let berm = drain.berm.unwrap();
    let settled = berm.settled.in_metres();
    assert!((0.3..0.305).contains(&settled), "{settled}");
    assert!(berm.built > berm.settled + Length::metres(0.03));
}

/// The run-out falls 1 % from 0.4 m under ground that falls 4 %: it comes out after 0.4 / 0.03 m. From the upper end of the bed
/// the water runs all the way out on the designed surface.
#[test]
fn it_runs_out_onto_the_ground_and_its_water_leaves() {
    let (drain, plan, notes) = on_plane(channel());
    let out = drain.run_out.as_ref().unwrap();
    // From the middle of the bed, which lies under ground that is higher than the lip's.
    let over = 0.4 + drain.cross_fall.in_ratio() * drain.bed_offset.in_metres();
    let length = over / (SLOPE - FALL);
    assert!((out.axis.length() - length).abs() < 1.5, "{} {length}", out.axis.length());
    let Ending::Ground { at, fall, run } = &drain.ending else { panic!("{:?}", drain.ending) };
    assert!((fall.in_ratio() - SLOPE).abs() < 1e-6 && run.is_some());
    assert!(text(&notes, "works::drain-ends").contains("on natural ground that falls 4.0 %"));
    // From anywhere on the bed the lowest way to the edge of the survey rises nowhere.
    for along in [0.5, 20.0, drain.bed_axis.length()] {
        let bed = drain.bed_axis.interpolated(&drain.bed_levels, along);
        let spill = pool(&plan.surfaces[0], &[drain.bed_axis.at(along)], bed).spill;
        assert!((spill - bed).abs() < 1e-4, "{spill} {bed}");
    }
    let after = Locator::new(&plan.surfaces[0]);
    let way = Drainage::new(&after).way_from(out.axis.at(2.0), 500.0, 0.0).points;
    assert!(way.last().unwrap().y < at.y - 2.0, "{:?} {at:?}", way.last());
}

#[test]
fn where_the_survey_ends_first_it_ends_in_a_hole() {
    let (drain, _, notes) = designed(&plane(10), &[], &line(Point::new(60.0, 22.0), 1.0, 50.0, channel())).unwrap();
    let Ending::Hole { below, at_rim } = drain.ending else { panic!("{:?}", drain.ending) };
    assert!(at_rim && (below.in_metres() - 0.4).abs() < 0.05, "{below:?}");
    assert!(text(&notes, "works::drain-ends-in-a-hole").contains("the survey ends before"));
}

/// It comes out on the ground a few metres above the edge of the survey: a fall of nothing would be a lie.
#[test]
fn where_the_ground_ends_below_its_end_no_fall_is_told() {
    let (drain, _, notes) = designed(&plane(10), &[], &line(Point::new(60.0, 32.0), 1.0, 50.0, channel())).unwrap();
    let Ending::Edge { at, known, edge } = &drain.ending else { panic!("{:?}", drain.ending) };
    assert!(drain.alarms().contains(&Alarm::WayUnknown(edge.clone(), *known)), "{:?}", drain.alarms());
    assert!(known.in_metres() < 10.0 && (known.in_metres() - at.y).abs() < 1.0, "{known:?} {at:?}");
    assert_eq!(edge, "the edge of the survey");
    assert!(text(&notes, "works::drain-ends-at-edge").contains("is not known"));
    assert!(!notes.iter().any(|note| note.code == "works::drain-ends-flat"));
    let farther = line(Point::new(60.0, 60.0), 1.0, 50.0, channel());
    let (drain, _, _) = designed(&plane(10), &[], &farther).unwrap();
    assert!(matches!(drain.ending, Ending::Ground { .. }), "{:?}", drain.ending);
}

/// Into the channel of a swale below: no run-out, its berm stops before that channel, and the swale's berm stays whole.
#[test]
fn it_ends_in_a_swale() {
    let all = DrainBerm::AllTheCut { crest: Length::metres(0.6), batter: batter(2.0) };
    // The swale's line lies at y = 50; its channel reaches to about y = 53.9.
    let asked = line(Point::new(60.0, 67.0), 1.0, 56.0, ChannelWanted { berm: Some(all), ..channel() });
    let (drain, plan, notes) = designed(&plane(10), &[swale()], &asked).unwrap();
    let Ending::Into { works, stands, .. } = &drain.ending else { panic!("{:?}", drain.ending) };
    assert_eq!(works, "upper");
    assert!(stands.is_some() && drain.run_out.is_none());
    // While the swale is empty its water drops to the swale's bed.
    let drop = drain.bed_levels[drain.bed_levels.len() - 1] - plan.swale(0).lowest_bed().in_metres();
    assert!(drop > 0.1 && drain.alarms().contains(&Alarm::DropsInto("upper".to_owned(), Length::metres(drop))));
    assert!(text(&notes, "works::drain-drops").contains(&format!("its water drops {drop:.2} m")));
    assert!(text(&notes, "works::drain-ends").contains("in `upper`"));
    assert_sound(plan.surfaces.last().unwrap());
    let berm = drain.berm.unwrap();
    assert!(berm.axis.length() < drain.bed_axis.length() - 1.0);
    // Led on through the swale's berm it is refused, like any dig into the fill of another work.
    let through = line(Point::new(60.0, 67.0), 1.0, 100.0, channel());
    let refused = designed(&plane(10), &[swale()], &through).unwrap_err();
    assert!(matches!(refused, WorksError::CutsEarlierWork { .. }), "{refused}");
}

/// Where the ground dips 0.25 m under its even fall its lip is that much lower over the bed, and the water runs over.
#[test]
fn low_ground_at_its_lip_is_told() {
    let dip = |x: f64, y: f64| 430.0 + SLOPE * y - 0.25 * (-((x - 90.0) / 6.0).powi(2)).exp();
    let ground = hillside(2, dip);
    let asked = FallWanted {
        tolerance: Length::metres(0.5),
        bend_radius: Length::metres(60.0),
        ..line(Point::new(60.0, 70.0), 1.0, 60.0, channel())
    };
    let (drain, _, notes) = designed(&ground, &[], &asked).unwrap();
    let least = drain.shallowest.0.in_metres();
    assert!(least < 0.36, "{least}");
    // It is told with what it carries at its most, 0.3 m deep.
    assert!((drain.carries.run.unwrap().depth.in_metres() - 0.3).abs() < 1e-6);
    let told = text(&notes, "works::drain-shallow");
    assert!(told.contains(&format!("its downhill lip is {least:.2} m over the bed, not 0.40 m")), "{told}");
}

/// A berm of all the cut takes what the dig gives however large that is: 1.6 m deep its crest stands far from where it is first tried.
#[test]
fn a_berm_of_all_the_cut_balances_a_deep_drain() {
    let berm = Some(DrainBerm::AllTheCut { crest: Length::metres(0.6), batter: batter(2.0) });
    let (drain, plan, _) = on_plane(ChannelWanted { depth: Length::metres(1.6), berm, ..channel() });
    let (ground, asked) = (plane(10), channel());
    let volumes = cut_and_fill(&ground.tin, &plan.surfaces[0], None);
    let bank = cut_and_fill(&ground.tin.raised_by(-0.1), &plan.surfaces[0], None).cut;
    let needed = (volumes.fill + 0.1 * volumes.fill_area) / asked.soil.placed_per_bank;
    // Within one step of the crest over its seat.
    assert!((bank - needed).abs() < 0.006 * volumes.fill_area, "{bank} {needed}");
    assert!(drain.berm.unwrap().built > Length::metres(1.0));
    assert!(drain.deepest_face.0 > Length::metres(1.6));
}

/// Two drains that cross: the later one's bed runs through the dig of the earlier, which is told with its stations.
#[test]
fn a_bed_through_another_work_is_told() {
    let ground = plane(10);
    let lines = [(Point::new(60.0, 70.0), 1.0, "first"), (Point::new(118.0, 75.0), -1.0, "second")]
        .map(|(from, east, name)| FallWanted { name: name.to_owned(), ..line(from, east, 55.0, channel()) });
    let lines = fall_lines(&ground, &lines).unwrap().value;
    let made = design(&ground, &lines, &Silent).unwrap();
    let told = text(&made.notes, "works::drain-through-work");
    assert!(told.contains("drain `second`: its bed runs through drain `first`"), "{told}");
    let Some(crate::works::Work::Drain(second)) = made.value.works.last() else { panic!("a drain") };
    let cautions = made.value.cautions_of(&made.value.works[1]);
    assert!(matches!(&second.through[..], [one] if one.works.name == "first"), "{:?}", second.through);
    assert!(cautions.iter().any(|says| says.starts_with("RUNS THROUGH ANOTHER WORK: `first`")), "{cautions:?}");
    assert_sound(made.value.surfaces.last().unwrap());
}

/// Past x = 100 the ground falls to the other side of the line: what is downhill along most of it is uphill there.
#[test]
fn ground_that_falls_to_the_other_side_is_told() {
    let along = |x: f64| 431.0 - 0.01 * x;
    let ground = hillside(5, |x, y| along(x) + if x < 100.0 { 0.04 } else { -0.02 } * (y - 50.0));
    let berm = Some(DrainBerm::AllTheCut { crest: Length::metres(0.6), batter: batter(2.0) });
    let path = Polyline::new((20..=120).map(|x| Point::new(f64::from(x), 50.0)).collect()).unwrap();
    let wanted = line(Point::new(20.0, 50.0), 1.0, 100.0, ChannelWanted { berm, ..channel() });
    let mut traced =
        fall_lines(&plane(10), &[line(Point::new(60.0, 70.0), 1.0, 60.0, channel())]).unwrap().value.remove(0);
    (traced.wanted, traced.line, traced.fall) = (wanted, path, Fall::percent(1.0));
    traced.ends = (Elevation::metres(along(20.0)), Elevation::metres(along(120.0)));
    let made = design(&ground, &[traced], &Silent).unwrap();
    let told = text(&made.notes, "works::drain-turned-about");
    assert!(told.contains("and 120 m") || told.contains("and 100 m"), "{told}");
    assert!(told.contains("its berm stands on the uphill side there"), "{told}");
}

/// Across a gully of which the flow line was shot as a breakline, at x = 100: its water is dammed there. Of a ridge, from which
/// the ground falls to both sides, nothing is said.
#[test]
fn a_gully_that_it_crosses_is_told() {
    for (side, crossed) in [(0.06, 1), (-0.06, 0)] {
        let mut points: Vec<Point3> = Vec::new();
        let height = |x: f64, y: f64| 430.0 + SLOPE * y + side * (x - 100.0).abs();
        for x in (0..=200).step_by(10) {
            points.extend((0..=120).step_by(10).map(|y| {
                let place = Point::new(f64::from(x), f64::from(y));
                place.at(height(place.x, place.y))
            }));
        }
        let at = |x: f64| points.iter().position(|p| p.x == x).unwrap();
        let fold: Vec<u32> = (0..13).map(|k| u32::try_from(at(100.0) + k).unwrap()).collect();
        let mut ground = Ground::of_points(&points);
        ground.tin = crate::surface::triangulate(&points, &[fold]).unwrap().tin;
        let path = Polyline::new(vec![Point::new(60.0, 64.0), Point::new(140.0, 66.0)]).unwrap();
        let stations = ground.folds_across(&path);
        assert_eq!(stations.len(), crossed, "{stations:?}");
        assert!(stations.iter().all(|station| (station - path.length() / 2.0).abs() < 1e-9));
    }
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(8))]

    /// On any plane, with any section: area times length, a sound surface, and a bed that falls as its line.
    #[test]
    fn earth_is_area_times_length_on_any_plane(
        slope in 0.02..0.09f64, share in 0.05..0.4f64, d in 0.2..0.8f64, b in 0.3..2.0f64, up in 1.0..3.0f64, down in 1.0..3.0f64, left in 0..2u8,
    ) {
        let fall = slope * share;
        let ground = hillside(10, |_, y| 430.0 + slope * y);
        let east = if left == 0 { 1.0 } else { -1.0 };
        let from = Point::new(100.0 - 30.0 * east, 70.0);
        let way = Vector::new(east * (1.0 - share * share).sqrt(), -share);
        let section = ChannelWanted {
            shape: ChannelShape::Trapezoid { bottom_width: Length::metres(b) },
            depth: Length::metres(d),
            uphill_batter: batter(up),
            downhill_batter: batter(down),
            ..channel()
        };
        let asked = FallWanted {
            to: from + way * 60.0,
            falls: (Fall::ratio(fall), Fall::ratio(fall)),
            ..line(from, east, 60.0, section)
        };
        let (drain, plan, _) = designed(&ground, &[], &asked).unwrap();
        assert_sound(&plan.surfaces[0]);
        let across = (slope * slope - fall * fall).sqrt();
        let edge = down * d + b;
        let top = (d + edge / up) / (1.0 / up - across);
        let beyond = top - edge;
        let area = across * top * top / 2.0 + down * d * d / 2.0 + b * d + d * beyond - beyond * beyond / (2.0 * up);
        // Clear of the run-out, which is as wide as the bed with its sides.
        let to = drain.bed.1.in_metres() - b - (up + 1.0) * top;
        let place = |s: f64, o: f64| drain.place(s, o);
        let region = Polygon::simple(vec![place(8.0, -6.0), place(to, -6.0), place(to, 12.0), place(8.0, 12.0)]);
        let cut = cut_and_fill(&ground.tin, &plan.surfaces[0], Some(&region)).cut;
        proptest::prop_assert!((cut / ((to - 8.0) * area) - 1.0).abs() < 1e-4, "{cut} {}", (to - 8.0) * area);
        let after = Locator::new(&plan.surfaces[0]);
        let z = after.elevation(place(20.0, edge - b / 2.0)).unwrap();
        proptest::prop_assert!((z - (430.0 + slope * 70.0 - d - fall * 20.0)).abs() < 1e-5);
    }

    /// On rough ground a drain is a sound surface whose bed is where it is said, or is refused with a reason.
    #[test]
    fn on_rough_ground_it_is_sound_or_refused(
        seed in 0..1000u32, wave in 0.0..0.8f64, slope in 0.01..0.12f64, fall in 0.002..0.02f64, d in 0.2..0.7f64, shape in 0..3u8, berm in 0..3u8, edge in 0..3u8,
    ) {
        let turn = f64::from(seed);
        let ground = hillside(5, |x, y| {
            430.0 + slope * y + wave * ((x + turn) / 23.0).sin() * ((y - turn) / 31.0).cos() + 0.1 * wave * (x * 1.7 + turn).sin()
        });
        let metres = Length::metres;
        let section = ChannelWanted {
            shape: match shape {
                0 => ChannelShape::Trapezoid { bottom_width: metres(0.8) },
                1 => ChannelShape::Triangle,
                _ => ChannelShape::Parabola { top_width: metres(1.6) },
            },
            line_edge: [LineEdge::DownhillLip, LineEdge::Centre, LineEdge::UphillEdge][usize::from(edge)],
            depth: metres(d),
            berm: match berm {
                0 => None,
                1 => Some(DrainBerm::AllTheCut { crest: metres(0.6), batter: batter(2.0) }),
                _ => Some(DrainBerm::Fixed { height: metres(0.3), crest: metres(0.6), batter: batter(2.0) }),
            },
            ..channel()
        };
        let asked = FallWanted {
            to: Point::new(170.0, 40.0),
            falls: (Fall::ratio(fall), Fall::ratio(fall)),
            tolerance: metres(0.1),
            ..line(Point::new(40.0 + turn % 40.0, 60.0), 1.0, 60.0, section)
        };
        match designed(&ground, &[], &asked) {
            Ok((drain, plan, notes)) => {
                let surface = &plan.surfaces[0];
                assert_sound(surface);
                proptest::prop_assert!(notes.iter().all(|note| !note.text.contains("NaN") && !note.text.contains("inf ")), "{notes:?}");
                let after = Locator::new(surface);
                let middle = drain.bed_axis.at(drain.bed_axis.length() / 2.0);
                let bed = drain.bed_axis.interpolated(&drain.bed_levels, drain.bed_axis.length() / 2.0);
                let natural = ground.locator().elevation(middle).unwrap();
                let z = after.elevation(middle).unwrap();
                proptest::prop_assert!((z - bed.min(natural)).abs() < 0.02, "{z} {bed} {natural}");
            }
            Err(WorksError::NoFallLine { .. } | WorksError::LeavesSurvey { .. } | WorksError::BatterNeverMeets { .. }) => {}
            Err(other) => proptest::prop_assert!(false, "{other}"),
        }
    }
}
