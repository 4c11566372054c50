//! What to dig: a drain in words, and its bed station by station.

use super::html::Html;
use super::input::DigSheetInput;
use super::levels::{about, allowed_words, placement_words, unit_words, zero_words};
use super::stakes::action_words;
use crate::draw::{batter_words, capital};
use crate::stakeout::StakeKind;
use crate::units::{Elevation, Flow, Length, Station};
use crate::works::drain::{Alarm, Drain, Ending};
use crate::works::{ChannelShape, Kind, LineEdge};

/// The box of a drain: what it is, what is open about it, its bed.
pub(super) fn drain_box(html: &mut Html, input: &DigSheetInput, drain: &Drain) {
    html.heading(2, &format!("Dig: drain \"{}\"", drain.name()));
    for warning in warnings(input, drain) {
        html.paragraph("warning", &warning);
    }
    html.list(false, &in_words(input, drain));
    stations(html, input, drain);
}

fn in_words(input: &DigSheetInput, drain: &Drain) -> Vec<String> {
    let (figures, words) = (input.figures, input.words());
    let edge = match drain.wanted.line_edge {
        LineEdge::DownhillLip => "the downhill lip of the channel",
        LineEdge::Centre => "the middle of the channel",
        LineEdge::UphillEdge => "the uphill edge of the channel",
    };
    let [uphill, downhill] = [drain.sizes.uphill_batter, drain.sizes.downhill_batter].map(batter_words);
    let batter = words.batter;
    let depth = figures.length(drain.sizes.depth);
    let channel = match drain.wanted.shape {
        ChannelShape::Trapezoid { .. } => format!(
            "Channel: bed {} wide and {depth} below the line, uphill {batter} {uphill}, downhill {batter} {downhill}.",
            figures.length(drain.sizes.width)
        ),
        ChannelShape::Triangle => format!(
            "Channel: a V without a flat bed, {depth} below the line, uphill {batter} {uphill}, downhill {batter} {downhill}."
        ),
        ChannelShape::Parabola { .. } => format!(
            "Channel: a round bowl {} wide at the level of the line and {depth} deep in the middle. Above that uphill {batter} {uphill}.",
            figures.length(drain.sizes.width)
        ),
    };
    let side = if drain.uphill_on_left { "left" } else { "right" };
    let length = Length::metres((drain.bed.1.in_metres() - drain.bed.0.in_metres()).max(0.0));
    let mut says = vec![
        format!(
            "Line: {} along the {}, {edge} on it. Uphill is on the {side} as the water runs. The bed FALLS all the way, {:.2} in 100: no level and no rising stretch.",
            about(input, length),
            words.stakes,
            drain.line.fall.in_percent()
        ),
        channel,
    ];
    says.push(match &drain.berm {
        None => "Earth: none of it is heaped beside the channel. It goes where it was agreed, never on the uphill side and never where the water leaves.".to_owned(),
        Some(berm) => format!(
            "Berm: on the downhill side only, {} clear of the lip, crest {} wide and {} above the line, falling with it, both {} {}, {}. No part of what the drain carries rests on it.",
            figures.length(drain.wanted.ledge),
            figures.length(drain.sizes.crest),
            figures.with_unit(figures.size_up(berm.built.in_metres())),
            words.batters,
            batter_words(drain.sizes.berm_batter),
            placement_words(drain.wanted.placement, words.layers)
        ),
    });
    says.extend(drain.run_out.as_ref().map(|out| {
        format!(
            "Run-out: dug FIRST. From the lower end of the bed {} down the slope, {} wide, with the same fall, until its floor comes out on the ground.",
            about(input, Length::metres(out.axis.length())),
            figures.length(out.width)
        )
    }));
    says.push(ending_words(input, drain));
    says.push(carries_words(input, drain));
    says
}

/// Where the water goes.
fn ending_words(input: &DigSheetInput, drain: &Drain) -> String {
    match &drain.ending {
        Ending::Ground { at, fall, .. } => {
            let (easting, northing) = input.ground.frame.to_frame(*at);
            format!(
                "Ends: on natural ground at E {easting:.1} N {northing:.1} that falls {:.1} %. It stays grassed and undug as far as the water runs.",
                fall.in_percent()
            )
        }
        Ending::Edge { at, known, edge } => {
            let (easting, northing) = input.ground.frame.to_frame(*at);
            format!(
                "Ends: on natural ground at E {easting:.1} N {northing:.1}; {edge} comes {} below, and where the water goes from there is NOT KNOWN. Ask before digging.",
                about(input, *known)
            )
        }
        Ending::Into { works, .. } => {
            let spillways = input.plan.named(works).map_or(&[][..], |work| work.spillways);
            let sheds = spillways.iter().filter_map(|spillway| spillway.flow).map(Flow::in_cubic_metres_per_second);
            let sheds = match sheds.fold(0.0, |sum, flow| sum + flow) {
                sum if sum > 0.0 => flow_words(input, Flow::cubic_metres_per_second(sum)),
                _ => "no flow that was asked for".to_owned(),
            };
            format!(
                "Ends: in \"{works}\". That is made first, with its own way out open, which must let this water out too: up to {} from here; it is sized for {sheds} in all.",
                flow_words(input, drain.carries.runs())
            )
        }
        Ending::Hole { .. } => "Ends: see ENDS IN A HOLE.".to_owned(),
    }
}

fn flow_words(input: &DigSheetInput, flow: Flow) -> String {
    input.figures.units.flow(flow).replace("m3", "m³").replace("ft3", "ft³")
}

fn carries_words(input: &DigSheetInput, drain: &Drain) -> String {
    let (figures, carries) = (input.figures, &drain.carries);
    let flow = |flow: Flow| flow_words(input, flow);
    let of = match (&carries.storm, carries.flow) {
        (Some(storm), _) => format!("the storm \"{}\"", storm.name),
        (None, Some(_)) => "the flow asked for".to_owned(),
        (None, None) => "its most".to_owned(),
    };
    let Some(run) = carries.run else { return "Carries: nothing, see TOO SMALL.".to_owned() };
    format!(
        "Carries: up to {} under a freeboard of {} to natural ground at the lip. For {of}, {}, the water stands up to {} deep on {}.",
        flow(carries.capacity),
        figures.length(drain.wanted.freeboard),
        flow(carries.runs()),
        figures.with_unit(figures.size_up(run.depth.in_metres())),
        drain.wanted.cover.name()
    )
}

/// What is wrong or open with it, said before anyone digs.
fn warnings(input: &DigSheetInput, drain: &Drain) -> Vec<String> {
    let mut says: Vec<String> = drain.alarms().iter().map(|alarm| warning(input, drain, alarm)).collect();
    says.extend(super::unstable::warnings(input, drain.name()));
    says.extend(super::soil::warning(input, drain.name()));
    says
}

fn warning(input: &DigSheetInput, drain: &Drain, alarm: &Alarm) -> String {
    let (figures, words) = (input.figures, input.words());
    let length = |length: Length| figures.length(length);
    let at = |station: Station| format!("{} {}", words.station, figures.station(station.in_metres()));
    let cover = drain.wanted.cover.name();
    let says = match alarm {
        Alarm::Hole(below) => format!(
            "at its lower end the bed lies {} below the ground and the water has no way out. Do not dig it before it has one.",
            length(*below)
        ),
        Alarm::WayUnknown(edge, known) => {
            format!("{edge} comes {} below its end. Ask where the water goes before digging.", about(input, *known))
        }
        Alarm::TooSmall { carries, asked } => format!(
            "it carries {} of the {} asked for. Do not dig it before it is drawn larger.",
            flow_words(input, *carries),
            flow_words(input, *asked)
        ),
        Alarm::WashesOut(_) => format!(
            "the water runs faster than {cover} bears. Ask for a line with less fall, a wider bed or a lining before digging."
        ),
        Alarm::CutsBack(_) => format!(
            "over the ground there the water runs faster than {cover} bears, and a step eats back into the drain. A level sill to spread it, a lined way or steps are drawn before water is let in."
        ),
        Alarm::AcrossFolds(stations) => {
            let stations: Vec<String> = stations.iter().map(|station| figures.station(station.in_metres())).collect();
            format!(
                "at {} {} water runs down the ground already, and {}. Ask how it is let through before digging there.",
                words.station,
                stations.join(", "),
                if drain.berm.is_some() { "the berm dams it" } else { "it falls into the drain" }
            )
        }
        Alarm::TurnedAbout(from, to) => format!(
            "from {} to {} the ground rises to what is downhill elsewhere{}. End it before, or ask.",
            at(*from),
            figures.station(to.in_metres()),
            if drain.berm.is_some() { ", and the berm stands uphill there and dams what should run in" } else { "" }
        ),
        Alarm::CatchesMore { drains, counted } => format!(
            "{}, and its storm is counted on {}. In that storm more comes than it was drawn for. Ask before digging.",
            figures.area(*drains),
            figures.area(*counted)
        ),
        Alarm::DropsInto(works, drop) => format!(
            "while \"{works}\" is empty the water drops {} down its side and eats back. The side is lined there, or the bed brought down at a slope, before water is let in.",
            length(*drop)
        ),
        Alarm::Flat(fall) => format!(
            "the bed falls {:.2} in 100, hard to dig falling all the way, and it silts up. Ask for more fall, or dig it by level shot by shot.",
            fall.in_percent()
        ),
        Alarm::OffFall(off, station) => format!(
            "natural ground is {} too {} for the line at {}: the cut is {} there than drawn across. Look at that stretch before digging.",
            figures.at_most(*off),
            if *off < 0.0 { "low" } else { "high" },
            at(*station),
            if *off < 0.0 { "shallower" } else { "deeper" }
        ),
        Alarm::TightBend(radius, station) => format!(
            "radius {} at {}. The water washes the outside of it: lined there, or the line led wider.",
            length(*radius),
            at(*station)
        ),
        Alarm::Steep(fall, station) => {
            format!("the ground falls {:.0} % across the line at {}. See Cautions.", fall.in_percent(), at(*station))
        }
        Alarm::ThroughWork(works, from, to) => format!(
            "from {} to {} it is dug through \"{works}\", and their water is one there. Ask which of them is meant to carry it.",
            at(*from),
            figures.station(to.in_metres())
        ),
        Alarm::DeepFace(face, station) => format!(
            "the cut face is {} high at {}. See Cautions.",
            figures.with_unit(figures.size_up(face.in_metres())),
            at(*station)
        ),
        Alarm::SteepSide(side, batter) => format!(
            "its {side} at {} {}. Soil that nobody has proven may slump on it.",
            words.batter,
            batter_words(*batter)
        ),
        Alarm::LowGround { lip, water, station } => {
            return format!(
                "{} at {}: the lip is {} over the bed and the water {} deep. {}",
                alarm.lead(),
                at(*station),
                length(*lip),
                figures.with_unit(figures.size_up(water.in_metres())),
                if drain.berm.is_some() {
                    "There the berm holds it: press it in layers."
                } else {
                    "There it runs over."
                }
            );
        }
        Alarm::BareWashesOut(_) => format!("no water is let in before the {cover} stands."),
    };
    format!("{}: {says}", alarm.lead())
}

/// The bed at every stake of the line: against its upper end, its elevation, and what is dug there.
fn stations(html: &mut Html, input: &DigSheetInput, drain: &Drain) {
    let (figures, words) = (input.figures, input.words());
    let zero = drain.bed_at(drain.bed.0.in_metres());
    let of_drain = input.stakes.stakes.iter().filter(|stake| stake.works == drain.name());
    let on_line: Vec<_> = of_drain.filter(|stake| stake.kind == StakeKind::Line).collect();
    let before = std::iter::once(None).chain(on_line.iter().map(|stake| Some(stake.design_elevation)));
    let rows: Vec<Vec<String>> = on_line
        .iter()
        .zip(before)
        .map(|(stake, before)| {
            let bed = Elevation::metres(stake.design_elevation);
            let falls = before.map_or_else(String::new, |before| figures.size(before - stake.design_elevation));
            let mut row = vec![
                stake.id.clone(),
                figures.station(stake.station),
                figures.against_sill(bed - zero),
                falls,
                action_words(stake, figures),
            ];
            // One way of writing feet a table.
            row.extend((!figures.in_inches()).then(|| figures.elevation(bed)));
            row
        })
        .collect();
    if !rows.is_empty() {
        let against = format!("Bed, against {}", zero_words(Kind::Drain));
        let falls = format!("Falls, from the {} before", words.stake);
        let elevation = format!("Bed, {}", words.elevation_short);
        let head =
            [&capital(words.stake), &capital(words.station), &against, &falls, "From the line to the bed", &elevation];
        let columns = if figures.in_inches() { 5 } else { 6 };
        html.table("stakes", &head.map(|text: &str| text)[..columns], &rows);
    }
    html.paragraph("", &format!(
        "All in {}. Between two {} the bed falls straight. Allowed at the check: bed {}, and nowhere higher than above it along the drain. Sides never steeper than drawn.",
        unit_words(input),
        words.stakes,
        allowed_words(figures, input.tolerances.bed)
    ));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Region;
    use crate::draw::hillside::{METRIC, hillside};
    use crate::geom::Point;
    use crate::sheet::{Issue, StakeSides};
    use crate::stakeout::{StakeSettings, stakes};
    use crate::units::Batter;
    use crate::water::channel::Run;
    use crate::works::drain::Through;
    use crate::works::drain::tests::drained;
    use crate::works::{Approach, NearUnstable, SitePlan, Subject, Unstable, Work};

    fn page(change: impl FnOnce(&mut Drain)) -> String {
        page_of(|plan| {
            let Work::Drain(drain) = &mut plan.works[0] else { panic!("a drain") };
            change(drain);
        })
    }

    fn page_of(change: impl FnOnce(&mut SitePlan)) -> String {
        page_with(change, |_| ())
    }

    fn page_with(change: impl FnOnce(&mut SitePlan), moved: impl Fn(&mut Point)) -> String {
        let mut site = hillside(110.0);
        let marks = site.survey.shots.iter_mut().filter(|shot| shot.role == crate::survey::Role::Mark);
        marks.for_each(|shot| moved(&mut shot.place));
        let (ground, mut plan) = drained(false);
        let quantities = crate::earth::quantities(&ground, &plan).value;
        let list = stakes(&ground, &plan, &StakeSettings::default()).value;
        change(&mut plan);
        let input = DigSheetInput {
            site: "Kestrel Flat",
            issue: Issue { number: 1, date: Some("2026-03-14"), replaces: None },
            region: Region::Au,
            figures: METRIC,
            stake_sides: StakeSides::default(),
            ground: &ground,
            survey: &site.survey,
            plan: &plan,
            quantities: &quantities,
            stakes: &list,
            tolerances: crate::asbuilt::GradeSettings::default(),
            roughness: Length::metres(0.025),
            notes: &[],
        };
        crate::sheet::dig_sheet(&input)
    }

    #[test]
    fn a_drain_has_a_page_with_its_bed_at_every_stake() {
        let page = page(|_| ());
        for says in [
            "Dig: drain &quot;drain&quot;",
            "Uphill is on the right as the water runs.",
            "The bed FALLS all the way, 1.00 in 100",
            "Run-out:</b> dug FIRST.",
            "<td>0.20 BELOW</td><td>0.20</td><td>CUT 0.40</td><td>432.200</td>",
            "the bed from there UP",
            "bed shot at every station",
            "it brings the water of a whole slope to one place",
            "= UPPER END OF BED",
        ] {
            assert!(page.contains(says), "{says}");
        }
        // It holds no water, so nothing is said of that.
        assert!(!page.contains("Water held") && !page.contains("NaN"));
        for warning in ["TOO SMALL", "ENDS IN A HOLE"] {
            assert!(!page.contains(warning), "{warning}");
        }
    }

    #[test]
    fn what_is_wrong_with_a_drain_stands_first() {
        let page = page(|drain| {
            drain.carries.flow = Some(Flow::cubic_metres_per_second(2.0));
            drain.ending = Ending::Hole { below: Length::metres(0.4), at_rim: true };
        });
        assert!(page.contains("TOO SMALL: it carries"), "{page}");
        assert!(page.contains("ENDS IN A HOLE: at its lower end the bed lies 0.40 m below the ground"));
    }

    /// Marks 120 m from its upper end and 60 m from its lower end are near to it; 101 m beyond its dig they are not.
    #[test]
    fn a_mark_is_near_to_a_drain_wherever_it_lies_along_it() {
        let mut ends = Vec::new();
        page_of(|plan| ends.extend(plan.drains().map(|drain| (drain.bed_axis.first(), drain.bed_axis.last()))));
        let (upper, lower) = ends[0];
        let along = (lower - upper) * (1.0 / upper.distance(lower));
        let told =
            |beyond: f64| page_with(|_| (), |place| *place = lower + along * beyond).contains("No mark stands within");
        assert!(upper.distance(lower + along * 60.0) > 100.0 && !told(60.0));
        assert!(told(130.0));
    }

    /// What stands in the cautions of a drain stands on its page, each under the same few words.
    #[test]
    fn every_alarm_is_a_box_on_its_page() {
        let mut alarms = Vec::new();
        let page = page_of(|plan| {
            let Work::Drain(drain) = &mut plan.works[0] else { panic!("a drain") };
            let fast = Run { speed: 3.0, permissible: Some(0.9), ..drain.carries.run.expect("it runs") };
            let Ending::Ground { run, .. } = &mut drain.ending else { panic!("on the ground") };
            (*run, drain.carries.run) = (Some(fast), Some(fast));
            drain.folds = vec![Station::metres(12.0)];
            drain.turned_about = Some((Station::metres(20.0), Station::metres(26.0)));
            (drain.line.check.worst, drain.line.check.least_radius) = (0.8, (1.6, 30.0));
            drain.line.check.stations[1].deviation = 0.8;
            drain.line.fall = crate::units::Fall::percent(0.1);
            drain.deepest_face = (Length::metres(1.6), Station::metres(30.0));
            drain.sizes.uphill_batter = Batter::horizontal_per_vertical(1.0);
            let works = Subject { kind: Kind::Swale, name: "upper".to_owned() };
            drain.through = vec![Through { works, first: Station::metres(5.0), last: Station::metres(9.0) }];
            alarms = drain.alarms();
            plan.near_unstable = vec![NearUnstable {
                works: "drain".to_owned(),
                ground: "toe slip".to_owned(),
                kind: Unstable::Slip,
                by: Approach::End,
                away: Length::ZERO,
                place: Point::new(100.0, 50.0),
                station: Station::metres(60.0),
            }];
        });
        let leads: Vec<&str> = alarms.iter().map(Alarm::lead).collect();
        for lead in ["WASHES OUT", "CUTS BACK BELOW ITS END", "ACROSS A GULLY", "DOWNHILL SIDE CHANGES", "TOO FLAT"] {
            assert!(leads.contains(&lead), "{lead} in {leads:?}");
        }
        for lead in ["RUNS THROUGH ANOTHER WORK", "DEEP FACE", "STEEP SIDES"] {
            assert!(leads.contains(&lead), "{lead} in {leads:?}");
        }
        assert!(leads.contains(&"OFF ITS EVEN FALL") && leads.contains(&"TIGHT BEND"), "{leads:?}");
        for lead in leads.into_iter().chain(["UNSTABLE GROUND: slip &quot;toe slip&quot;"]) {
            assert!(page.contains(&format!("<p class=\"warning\">{lead}")), "{lead}");
        }
    }
}
