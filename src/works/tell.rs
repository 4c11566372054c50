//! What is to be told of a designed swale: where it leaves its level, its slope, its sides, where its water runs.

use super::balance::{BatterFound, Raised};
use super::crossing::AT_SILL;
use super::keep::{Keep, Led};
use super::limits::{DRIVEN, DRIVEN_RAMP, LEAST_BATTER, NEARLY, NO_ENTRY, SLIDES, STEEP, WAY_OUT};
use super::line::at;
use super::plan::{ContourCheck, CrestLevels, Crossing, End, Haul, Spillway, Swale, SwalePool};
use super::section::Channel;
use super::sizes::Sizes;
use super::spillway::Sized;
use super::wanted::{LineEdge, SwaleWanted};
use super::work::{Kind, Subject};
use crate::geom::{Polygon, Polyline};
use crate::ground::Ground;
use crate::notes::{Note, Place};
use crate::soil::Placement;
use crate::units::{Fall, Flow, Length, Station};

/// A line this much nearer to an obstacle than asked is told, metres.
const TOO_NEAR: f64 = 0.1;

/// What a line is that something is to be told of.
pub(super) struct About {
    /// Such as "swale `upper`".
    pub subject: String,
    /// What it keeps to, such as "the water level".
    pub level: &'static str,
    /// Tightest bend asked for.
    pub bend_radius: Length,
}

impl About {
    /// The contour line of a swale.
    pub(super) fn swale(wanted: &SwaleWanted) -> Self {
        let subject = Subject::new(Kind::Swale, &wanted.name).to_string();
        Self { subject, level: "the water level", bend_radius: wanted.bend_radius }
    }
}

/// Where the line leaves its level or bends tighter than asked; beside it the bend that would keep it inside, and what
/// it is led round.
pub(super) fn line(
    ground: &Ground,
    about: &About,
    line: &Polyline,
    contour: &ContourCheck,
    (within_band, keep): (Option<f64>, &Keep),
    notes: &mut Vec<Note>,
) {
    let About { subject, level, bend_radius } = about;
    let bend_radius = bend_radius.in_metres();
    let worst = contour.stations.iter().max_by(|a, b| a.deviation.abs().total_cmp(&b.deviation.abs()));
    if let Some(worst) = worst.filter(|worst| worst.deviation.abs() > contour.tolerance) {
        let out = contour.stations.iter().filter(|station| station.deviation.abs() > contour.tolerance);
        let (from, to) = out.fold((f64::INFINITY, 0.0_f64), |(from, to), s| (from.min(s.station), to.max(s.station)));
        let instead = match within_band {
            Some(radius) => format!("a bend radius of {radius:.1} m would keep it inside"),
            None if !keep.beside(worst.place, 2.0 * bend_radius) => {
                "no bend that was tried keeps it inside: the ground bends sharper there, so end the line before it or fill and cut across"
                    .to_owned()
            }
            None => "it is led round what must stay; end it before that, or clear that".to_owned(),
        };
        notes.push(at(ground, worst.place, Note::new("works::off-contour", format!(
            "{subject}: under a bend radius of {bend_radius:.1} m the line leaves {level} by up to {:+.0} mm, at station {:.1} m (tolerance {:.0} mm, first left at {from:.1} m and last at {to:.1} m); {instead}",
            worst.deviation * 1000.0,
            worst.station,
            contour.tolerance * 1000.0
        ))));
    }
    let (radius, station) = contour.least_radius;
    if radius < bend_radius * 0.999 {
        notes.push(at(ground, line.at(station), Note::new("works::bend-too-tight", format!(
            "{subject}: the line still bends at {radius:.1} m radius at station {station:.1} m, tighter than the {bend_radius:.1} m asked for"
        ))));
    }
}

/// Where the line ends because of what must stay.
pub(super) fn led(ground: &Ground, about: &About, led: &Led, notes: &mut Vec<Note>) {
    let About { subject, level, .. } = about;
    for (cut, (end, which)) in led.cut.into_iter().zip([(led.line.first(), "first"), (led.line.last(), "last")]) {
        if cut > 0.0 {
            notes.push(at(
                ground,
                end,
                Note::new(
                    "works::end-near-obstacle",
                    format!("{subject}: its {which} end is cut back by {cut:.1} m, to keep clear of what must stay"),
                ),
            ));
        }
    }
    for blocked in &led.blocked {
        let off = if blocked.off.is_finite() {
            format!("leave {level} by {:.2} m, more than it is deep", blocked.off)
        } else {
            "leave the survey with its section".to_owned()
        };
        notes.push(at(ground, blocked.at, Note::new("works::blocked", format!(
            "{subject}: what must stay blocks its way: led round that, it would {off}; so it ends before it, and {:.1} m of the line traced are left out: clear what stands there, or dig what lies beyond as a work of its own",
            blocked.left
        ))));
    }
}

/// Where the line is nearer to what must stay than asked, or beyond its region.
pub(super) fn obstacles(ground: &Ground, about: &About, line: &Polyline, keep: &Keep, notes: &mut Vec<Note>) {
    let near = line.points().iter().filter_map(|&place| Some((keep.push(place)?.length(), place)));
    if let Some((missing, place)) = near.max_by(|a, b| a.0.total_cmp(&b.0)).filter(|(missing, _)| *missing > TOO_NEAR) {
        let station = line.foot(place).station;
        notes.push(at(ground, place, Note::new("works::too-near", format!(
            "{}: at station {station:.1} m the line comes {missing:.1} m nearer to what must stay, or to the edge of its region, than asked: no bend of {:.1} m leads past",
            about.subject,
            about.bend_radius.in_metres()
        ))));
    }
}

/// How the other edges of the channel stand to the water level when one follows the contour, on the mean cross slope.
pub(super) fn edges(wanted: &SwaleWanted, fall: f64, channel: &Channel, notes: &mut Vec<Note>) {
    let own = match wanted.line_edge {
        LineEdge::DownhillLip => "downhill lip",
        LineEdge::Centre => "centre",
        LineEdge::UphillEdge => "uphill edge",
    };
    let others: Vec<String> = [("downhill lip", channel.lip), ("centre", channel.bed), ("uphill edge", channel.top)]
        .into_iter()
        .filter(|(edge, _)| *edge != own)
        .map(|(edge, offset)| {
            let above = 1000.0 * fall * offset;
            let side = if above < 0.0 { "below" } else { "above" };
            format!("{:.0} mm {side} the water level at the {edge}", above.abs())
        })
        .collect();
    let text = format!(
        "swale `{}`: the {own} of the channel follows the contour; on a mean cross slope of {:.1} % natural ground stands {}",
        wanted.name,
        100.0 * fall,
        others.join(" and ")
    );
    notes.push(Note::new("works::line-edge", text));
}

/// Slopes on which contour works are unusual or dangerous: the mean, and the steepest place of the line.
pub(super) fn slope(wanted: &SwaleWanted, mean: f64, (steepest, station): (Fall, Station), notes: &mut Vec<Note>) {
    let worst = steepest.in_ratio();
    let (code, why) = if worst > SLIDES {
        (
            "works::too-steep",
            "water soaked into ground this steep can start a slide: take geotechnical advice before digging",
        )
    } else if worst > STEEP {
        ("works::steep", "contour banks are usual on 2 to 10 %")
    } else {
        return;
    };
    let text = format!(
        "swale `{}`: the ground falls {:.0} % across the line on average and {:.0} % at station {:.1} m; {why}",
        wanted.name,
        mean * 100.0,
        worst * 100.0,
        station.in_metres()
    );
    notes.push(Note::new(code, text).at(on(wanted, station)));
}

/// Sides that may slump, faces that can bury a person, fill that no machine can drive on.
pub(super) fn section(wanted: &SwaleWanted, (face, station): (Length, Station), notes: &mut Vec<Note>) {
    let name = &wanted.name;
    let mut told: Vec<(&str, f64)> = Vec::new();
    let sides = wanted.all_sizes().into_iter().flat_map(|(_, sizes)| {
        let channel = sizes
            .channel_sides(&wanted.shape)
            .map(|(side, key, batter)| (format!("the channel's {side}"), key, batter.in_horizontal_per_vertical()));
        let berm = sizes.berm_batter.in_horizontal_per_vertical();
        channel.into_iter().chain([("the berm's sides".to_owned(), "batter", berm)])
    });
    for (what, key, batter) in sides {
        if told.contains(&(key, batter)) {
            continue;
        }
        told.push((key, batter));
        if batter < LEAST_BATTER - 1e-9 {
            let turned = if batter < 1.0 && key != "top-width" {
                let meant = 1.0 / batter;
                format!(
                    "; the horizontal stands first, so if {meant:.1} along for 1 down is meant, write `{key} = \"{meant:.1}:1\"`"
                )
            } else {
                String::new()
            };
            notes.push(Note::new("works::steep-batter", format!(
                "swale `{name}`: {what}: {batter:.2} horizontal to 1 vertical is steeper than {LEAST_BATTER}:1, and soil that is unproven may slump on it{turned}"
            )));
        }
    }
    deep_face(&Subject::new(Kind::Swale, name), (face, station), notes);
    let (narrowest, too_narrow) = too_narrow_to_drive(wanted);
    let too_narrow = too_narrow.in_metres();
    if too_narrow > 0.0 {
        notes.push(Note::new("works::narrow-crest", format!(
            "swale `{name}`: the berm's crest is {:.2} m wide and placing is {}, but a machine needs about {DRIVEN} m to drive on: its top {too_narrow:.2} m cannot be driven over",
            narrowest.in_metres(),
            wanted.placement.name()
        )));
    }
}

/// Sills of one pool that were asked at different heads run at one.
pub(super) fn shared_flow(wanted: &SwaleWanted, sized: &[Sized], pools: &[usize], notes: &mut Vec<Note>) {
    for pool in 0..=wanted.crossings.len() {
        let beside = || sized.iter().zip(pools).filter(|(_, other)| **other == pool).map(|(sized, _)| sized);
        let Some(head) = beside().find(|sized| sized.together.is_some()).map(|sized| sized.head) else { continue };
        let flows: Vec<String> = beside().map(|s| format!("{:.3}", s.flow.in_cubic_metres_per_second())).collect();
        let which = if wanted.crossings.is_empty() {
            "its sills".to_owned()
        } else {
            format!("the sills of its pool {} of {} along the line", pool + 1, wanted.crossings.len() + 1)
        };
        notes.push(Note::new("works::sills-share", format!(
            "swale `{}`: {which} stand under one water, so the flow asked of them together runs over all of them {:.0} mm deep, each taking its share by length: {} m3/s in the order of the file",
            wanted.name,
            head.in_metres() * 1000.0,
            flows.join(", ")
        )));
    }
}

/// A key that reaches out from under its berm, or deep enough to bury a person.
pub(super) fn key(wanted: &SwaleWanted, seat: f64, notes: &mut Vec<Note>) {
    let Some(key) = wanted.key else { return };
    let across = super::key::top_width(key).in_metres();
    if across > seat {
        notes.push(Note::new("works::key-too-wide", format!(
            "swale `{}`: its key is {across:.2} m wide at the top and the berm's seat {seat:.2} m: what lies beside the seat is not covered by the berm",
            wanted.name
        )));
    }
    let face = (key.depth + wanted.topsoil).in_metres();
    if face >= WAY_OUT - NEARLY {
        notes.push(Note::new("works::deep-cut", format!(
            "swale `{}`: the faces of its key are {face:.2} m high; from {WAY_OUT} m there must be a way out, and from {NO_ENTRY} m nobody goes in unless it is held up or laid back",
            wanted.name
        )));
    }
}

/// A cut face that can bury a person.
pub(super) fn deep_face(works: &Subject, (face, station): (Length, Station), notes: &mut Vec<Note>) {
    let deep = face.in_metres();
    if deep >= WAY_OUT - NEARLY {
        let entry = if deep >= NO_ENTRY - NEARLY {
            format!(", and from {NO_ENTRY} m nobody goes in unless it is held up or laid back")
        } else {
            String::new()
        };
        notes.push(Note::new("works::deep-cut", format!(
            "{works}: the cut face is {deep:.2} m high at station {:.1} m; from {WAY_OUT} m there must be a way out{entry}",
            station.in_metres()
        )).at(Place::Station { works: works.name.clone(), station_m: station.in_metres() }));
    }
}

/// The narrowest crest, and the height of the berm's top there that is too narrow to be driven over where its fill is to be driven
/// over; else nothing.
#[must_use]
pub fn too_narrow_to_drive(wanted: &SwaleWanted) -> (Length, Length) {
    let top = |sizes: Sizes| {
        let missing = match wanted.placement {
            Placement::Tipped => 0.0,
            Placement::TrackWalked | Placement::LayeredRolled => DRIVEN - sizes.crest.in_metres(),
        };
        let height = (missing / (2.0 * sizes.berm_batter.in_horizontal_per_vertical())).max(0.0);
        (sizes.crest, Length::metres(height))
    };
    let all = wanted.all_sizes().into_iter().map(|(_, sizes)| top(sizes));
    all.max_by(|a, b| a.1.in_metres().total_cmp(&b.1.in_metres())).unwrap_or_default()
}

fn on(wanted: &SwaleWanted, station: Station) -> Place {
    Place::Station { works: wanted.name.clone(), station_m: station.in_metres() }
}

/// What a crest that follows the cut saves.
pub(super) fn haul(wanted: &SwaleWanted, raised: &Raised, found: Haul, notes: &mut Vec<Note>) {
    let text = if raised.crest.is_level() {
        format!(
            "swale `{}`: no crest that follows the cut was found to move less earth along the line than one crest does, {:.0} m3 m (bank): the crest is one level",
            wanted.name, found.level
        )
    } else {
        format!(
            "swale `{}`: the crest follows the cut: {:.0} m3 m (bank) are moved along the line, {:.0} with one crest; each peg has its own level to build to",
            wanted.name, found.following, found.level
        )
    };
    notes.push(Note::new("works::crest-follows", text));
}

/// The batter that was solved so that the fill takes the cut.
pub(super) fn batter(swale: &Swale, found: BatterFound, notes: &mut Vec<Note>) {
    let (name, batter) = (&swale.wanted.name, swale.section.berm_batter.in_horizontal_per_vertical());
    let text = match found {
        BatterFound::Balanced => {
            format!(
                "swale `{name}`: the berm's sides lie at {batter:.2}H:1V, so that its fill takes what the ditch gives"
            )
        }
        BatterFound::Flattest(share) => format!(
            "swale `{name}`: with sides of {batter:.2}H:1V, the flattest that are tried, the berm takes {:.0} % of what the ditch gives: the rest is left over; dig less, widen the crest, or use `berm = \"all-the-cut\"`",
            100.0 * share
        ),
        BatterFound::Steepest(share) => format!(
            "swale `{name}`: with sides of {batter:.2}H:1V, the steepest that are tried, the berm still takes {:.0} % of what the ditch gives: deepen or widen the ditch, or narrow the crest",
            100.0 * share
        ),
    };
    notes.push(Note::new("works::batter-to-balance", text));
}

/// Ends that are overflows, as asked or because the ground does not reach the crest.
pub(super) fn ends(
    ground: &Ground,
    wanted: &SwaleWanted,
    ends: &[End; 2],
    spillways: &[Spillway],
    notes: &mut Vec<Note>,
) {
    let beside = [spillways.first(), spillways.last()];
    for (end, sill) in ends.iter().zip(beside) {
        let which = end.name.word();
        if let Some(sill) = sill.filter(|_| end.overflow) {
            let flow = sill.flow.map_or(0.0, Flow::in_cubic_metres_per_second);
            notes.push(at(ground, end.place, Note::new("works::end-overflow", format!(
                "swale `{}`: the berm's {which} end is left open at its sill: {:.1} m of it pass {flow:.3} m3/s at {:.2} m; beside it natural ground along the line stands at the sill's level and carries some of it, so neither is to be dug, driven or grazed bare",
                wanted.name,
                sill.sill_length.in_metres(),
                sill.head.in_metres()
            ))));
        } else if !end.closed {
            notes.push(at(ground, end.place, Note::new("works::end-open", format!(
                "swale `{}`: the berm's {which} end cannot be turned up to crest elevation on surveyed ground; it is an overflow",
                wanted.name
            ))));
        }
    }
}

/// Pools that spill below their level, and those that a crossing leaves without a sill.
pub(super) fn pools(
    ground: &Ground,
    wanted: &SwaleWanted,
    pools: &[SwalePool],
    crest: &CrestLevels,
    notes: &mut Vec<Note>,
) {
    let water = crest.water_level.in_metres();
    let several = pools.len() > 1;
    for pool in pools {
        let spill = pool.storage.spill.in_metres();
        let stretch = if several {
            format!(" between stations {:.1} and {:.1} m", pool.from.in_metres(), pool.to.in_metres())
        } else {
            String::new()
        };
        if spill < water - AT_SILL {
            notes.push(at(ground, pool.storage.spill_place, Note::new("works::spills-low", format!(
                "swale `{}`{stretch} spills {:.0} mm below its water level, at {spill:.3} m: the water leaves there, not over the sill",
                wanted.name,
                (water - spill) * 1000.0
            ))));
        } else if let Some(rise) = pool.rise_over_sill(crest.water_level).map(Length::in_metres) {
            let left = crest.freeboard.in_metres() - rise;
            let then = if left >= 0.0 {
                format!(
                    "of the {:.2} m of freeboard {left:.2} m are left with the head over that",
                    crest.freeboard.in_metres()
                )
            } else {
                format!(
                    "head and freeboard do not hold: with the head over that the water stands {:.2} m above the settled crest",
                    -left
                )
            };
            notes.push(at(ground, pool.storage.spill_place, Note::new("works::sill-behind-higher-ground", format!(
                "swale `{}`{stretch}: ground beyond its sill stands higher than the sill, so that the water rises {rise:.3} m over it, to {spill:.3} m, before it leaves here; {then}: open that ground down to the sill's level, or move the sill",
                wanted.name
            ))));
        } else if several && !pool.has_sill {
            notes.push(at(ground, pool.storage.spill_place, Note::new("works::pool-without-sill", format!(
                "swale `{}`: the pool{stretch}, {:.1} m3 of it at the water level, is parted from every sill by a crossing: in a storm it rises to {spill:.3} m and leaves there; give it a sill of its own, or leave the crossing out",
                wanted.name,
                pool.storage.volume.in_cubic_metres()
            ))));
        }
    }
}

/// What crossings take, and ramps too steep to drive.
pub(super) fn crossings(wanted: &SwaleWanted, crossings: &[Crossing], notes: &mut Vec<Note>) {
    for crossing in crossings {
        let asked = &crossing.wanted;
        let station = asked.at;
        notes.push(Note::new("works::crossing", format!(
            "swale `{}`: the crossing at station {:.1} m parts it into pools at one level; no bed is dug from {:.1} to {:.1} m, and it takes {:.1} m3 placed beyond the berm",
            wanted.name,
            station.in_metres(),
            crossing.undug.0.in_metres(),
            crossing.undug.1.in_metres(),
            crossing.fill.in_cubic_metres()
        )).at(on(wanted, station)));
        let (ramp, width) = (asked.ramp.in_horizontal_per_vertical(), asked.width.in_metres());
        if ramp < DRIVEN_RAMP - 1e-9 || width < DRIVEN - 1e-9 {
            notes.push(Note::new("works::crossing-tight", format!(
                "swale `{}`: the crossing at station {:.1} m has ramps of {ramp:.1}H:1V and a top {width:.1} m wide: farm vehicles want {DRIVEN_RAMP}H:1V or flatter and {DRIVEN} m or more, about 4 m",
                wanted.name,
                station.in_metres()
            )).at(on(wanted, station)));
        }
    }
}

/// The water from a sill must not run along the berm's own toe.
pub(super) fn exits(wanted: &SwaleWanted, spillways: &[Spillway], fill: &[Polygon], notes: &mut Vec<Note>) {
    for spillway in spillways {
        let station_m = f64::midpoint(spillway.from.in_metres(), spillway.to.in_metres());
        let place = || Place::Station { works: wanted.name.clone(), station_m };
        let touches = spillway.exit.as_ref().is_some_and(|path| {
            path.stations().iter().any(|&s| s > 1.0 && fill.iter().any(|polygon| polygon.contains(path.at(s))))
        });
        if touches {
            notes.push(Note::new("works::exit-along-toe", format!(
                "swale `{}`: the water from the spillway runs against the toe of the berm: turn it away or move the spillway",
                wanted.name
            )).at(place()));
        }
    }
}
