//! From what the pipeline file asks for to what the works are designed from, once the survey is known.

use super::config::{
    AxisAsked, ChannelAsked, DamAsked, FallLineAsked, FloorAsked, FlowAsked, Located, PipelineFile, PitAsked,
    PlaceAsked, SillAsked, Span, SpillwayAsked, SpotAsked, SwaleAsked, SwaleLevelAsked, ThingAsked, UnstableAreaAsked,
    WaterLevelAsked,
};
use super::{PipelineError, foreign};
use crate::frame::SiteFrame;
use crate::geom::{LIMIT, Point, Polygon, Vector};
use crate::io::Geometry;
use crate::io::read::Shape;
use crate::survey::Survey;
use crate::units::{Elevation, Length};
use crate::water::rational::Storm;
use crate::works::dam::DamWanted;
use crate::works::drain::{ChannelWanted, FlowWanted};
use crate::works::pit::{Beside, PitWanted};
use crate::works::{
    FallLine, FallWanted, SillLength, SpillwayPlace, SpillwayWanted, SwaleLevel, SwaleWanted, TestPit, Thing,
    ThingHeight, UnstableArea, UnstableGround, Wanted, WaterLevel,
};

/// A placed pit's offset stakes stand so much clear of the wall's toe, where the file does not say how clear its rim is: metres.
const BEYOND_STAKES: f64 = 2.0;

/// All works in the order of the file, with the channels of `lines`; what cannot be found is told at once for all of them.
pub(super) fn works(file: &PipelineFile, survey: &Survey, lines: &[FallLine]) -> Result<Vec<Wanted>, PipelineError> {
    let place = |name: &Located<String>| name.span.as_ref().map_or(0, |span| span.start);
    let swales = file.swales.iter().map(|asked| Ok((place(&asked.name), Wanted::Swale(swale(file, asked, survey)?))));
    let pits = file.pits.iter().map(|asked| Ok((place(&asked.name), Wanted::Pit(pit(file, asked, survey)?))));
    let dams = file.dams.iter().map(|asked| Ok((place(&asked.name), Wanted::Dam(dam(file, asked, survey)?))));
    let traced = |name: &str| lines.iter().find(|line| line.wanted.name == name && line.wanted.channel.is_some());
    let drains = file.fall_lines.iter().filter_map(|asked| Some((place(&asked.name), traced(&asked.name.value)?)));
    let drains = drains.map(|(place, line)| Ok((place, Wanted::Drain(line.clone()))));
    let mut wanted = all(file, swales.chain(pits).chain(dams).chain(drains))?;
    wanted.sort_by_key(|(place, _)| *place);
    Ok(wanted.into_iter().map(|(_, work)| work).collect())
}

fn dam(file: &PipelineFile, asked: &DamAsked, survey: &Survey) -> Result<DamWanted, PipelineError> {
    let frame = &survey.frame;
    let axis = match &asked.axis.value {
        AxisAsked::Points(points) => points.iter().map(|&(e, n)| frame.to_local(e, n)).collect(),
        AxisAsked::Arc(three) => arc(three.map(|(e, n)| frame.to_local(e, n))),
        AxisAsked::File(name) => line(file, name, frame)?,
    };
    let earth = &file.earth;
    Ok(DamWanted {
        name: asked.name.value.clone(),
        axis,
        full_supply: water_level(file, &asked.full_supply, &asked.full_supply.value, survey)?,
        flood_rise: asked.flood_rise,
        wave: asked.wave,
        freeboard: asked.freeboard,
        crest_width: asked.crest_width,
        upstream: asked.upstream,
        downstream: asked.downstream,
        key: asked.key,
        spillway: asked.spillway.as_ref().map(|spillway| spillway_wanted(spillway, frame)),
        topsoil: earth.topsoil,
        soil: earth.soil.clone(),
        placement: earth.placement,
        settlement: earth.settlement,
    })
}

/// The one line of a map file.
fn line(file: &PipelineFile, name: &Located<String>, frame: &SiteFrame) -> Result<Vec<Point>, PipelineError> {
    let shapes = foreign::shapes(&file.beside(&name.value), frame)
        .map_err(|error| file.fault_at(name, "pipeline::unreadable-line", &error.to_string()))?
        .value;
    let lines: Vec<_> = shapes.iter().filter_map(Shape::as_line).collect();
    <[_; 1]>::try_from(lines).map(|[line]| line.points().to_vec()).map_err(|found| {
        let message = format!("`{}` must hold one line, found {}", name.value, found.len());
        file.fault_at(name, "pipeline::no-line", &message).into()
    })
}

/// Greatest distance between an arc and its chords, metres.
const ARC_ERROR: f64 = 0.01;

/// The arc from the first place through the second to the third; the three places where they stand in line.
fn arc([a, b, c]: [Point; 3]) -> Vec<Point> {
    let (u, v) = (b - a, c - a);
    let twice = 2.0 * u.cross(v);
    if twice.abs() < 1e-9 {
        return vec![a, b, c];
    }
    let (uu, vv) = (u.dot(u), v.dot(v));
    let centre = a + Vector::new((v.y * uu - u.y * vv) / twice, (u.x * vv - v.x * uu) / twice);
    let radius = centre.distance(a);
    let angle = |p: Point| (p.y - centre.y).atan2(p.x - centre.x);
    let full = std::f64::consts::TAU;
    let turned =
        |to: f64| if twice > 0.0 { (to - angle(a)).rem_euclid(full) } else { -(angle(a) - to).rem_euclid(full) };
    let sweep = turned(angle(c));
    let step = 2.0 * (1.0 - (ARC_ERROR / radius).min(1.0)).acos();
    let count = (sweep.abs() / step).ceil().max(2.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of chords")]
    let chords = count as u32;
    let mut points: Vec<Point> = (0..=chords)
        .map(|k| {
            let (sin, cos) = (angle(a) + sweep * f64::from(k) / count).sin_cos();
            centre + Vector::new(cos, sin) * radius
        })
        .collect();
    (points[0], points[chords as usize]) = (a, c);
    points
}

fn pit(file: &PipelineFile, asked: &PitAsked, survey: &Survey) -> Result<PitWanted, PipelineError> {
    let frame = &survey.frame;
    let floor = match &asked.floor.value {
        FloorAsked::Rectangle((easting, northing), length, width, bearing) => {
            let (sin, cos) = bearing.sin_cos();
            let along = Vector::new(sin, cos);
            let (out, aside) = (along * (length.in_metres() / 2.0), along.left() * (width.in_metres() / 2.0));
            let middle = frame.to_local(*easting, *northing);
            // From the right-hand end of the side that the bearing points to, anticlockwise.
            [out - aside, out + aside, aside - out, out * -1.0 - aside].map(|step| middle + step).to_vec()
        }
        FloorAsked::Corners(corners) => corners.iter().map(|&(e, n)| frame.to_local(e, n)).collect(),
        FloorAsked::File(name) => {
            let region = region(file, name, frame)?;
            if !region.holes.is_empty() {
                let message = format!("the polygon of `{}` has holes: a floor has none", name.value);
                return Err(file.fault_at(name, "pipeline::holes", &message).into());
            }
            region.outer
        }
        FloorAsked::Beside { .. } => Vec::new(),
    };
    let beside = match &asked.floor.value {
        FloorAsked::Beside { work, within, obstacles: stays, clear, deep } => Some(Beside {
            work: work.value.clone(),
            within: within.as_ref().map(|name| region(file, name, frame)).transpose()?,
            clear: clear.unwrap_or(file.stakes.offset + Length::metres(BEYOND_STAKES)),
            deep: *deep,
            obstacles: stays.as_ref().map(|name| obstacles(file, name, frame)).transpose()?.unwrap_or_default(),
        }),
        _ => None,
    };
    let sides = if beside.is_some() { 4 } else { floor.len() };
    if let Some(ramp) = asked.ramp.as_ref().filter(|ramp| ramp.value.side >= sides) {
        let message = format!("the ramp's side {} is none of the floor's {sides} sides", ramp.value.side + 1);
        return Err(file.fault_at(ramp, "pipeline::no-such-side", &message).into());
    }
    let earth = &file.earth;
    Ok(PitWanted {
        name: asked.name.value.clone(),
        purpose: asked.purpose,
        floor,
        beside,
        batters: asked.batters.clone(),
        depth: asked.depth.value.clone(),
        water: asked.water,
        ramp: asked.ramp.as_ref().map(|ramp| ramp.value),
        shelf: asked.shelf,
        through: asked.through.as_ref().map(|name| name.value.clone()),
        spillway: asked.spillway.as_ref().map(|spillway| spillway_wanted(spillway, frame)),
        topsoil: earth.topsoil,
        soil: earth.soil.clone(),
        placement: earth.placement,
    })
}

/// The lines of constant fall; what cannot be found is told at once for all of them.
pub(super) fn fall_lines(file: &PipelineFile, survey: &Survey) -> Result<Vec<FallWanted>, PipelineError> {
    all(file, file.fall_lines.iter().map(|asked| fall_line(file, asked, survey)))
}

fn fall_line(file: &PipelineFile, asked: &FallLineAsked, survey: &Survey) -> Result<FallWanted, PipelineError> {
    let frame = &survey.frame;
    let from = spot(file, &asked.from, survey)?;
    Ok(FallWanted {
        name: asked.name.value.clone(),
        from,
        to: frame.to_local(asked.to.0, asked.to.1),
        falls: asked.falls,
        length: asked.length,
        within: asked.within.as_ref().map(|name| region(file, name, frame)).transpose()?,
        bend_radius: asked.bend_radius,
        obstacles: asked.obstacles.as_ref().map(|name| obstacles(file, name, frame)).transpose()?.unwrap_or_default(),
        clearance: asked.clearance,
        tolerance: asked.tolerance,
        channel: asked.channel.as_ref().map(|channel| channel_wanted(file, channel)),
    })
}

fn channel_wanted(file: &PipelineFile, asked: &ChannelAsked) -> ChannelWanted {
    let earth = &file.earth;
    ChannelWanted {
        line_edge: asked.line_edge,
        shape: asked.shape,
        depth: asked.depth,
        to_carry: asked.to_carry,
        uphill_batter: asked.uphill_batter,
        downhill_batter: asked.downhill_batter,
        berm: asked.berm,
        ledge: asked.ledge,
        freeboard: asked.freeboard,
        flow: asked.flow.as_ref().map(|flow| match flow {
            FlowAsked::Flow(flow) => FlowWanted::Flow(*flow),
            FlowAsked::Storm { storm, intensity, catchment, coefficient } => FlowWanted::Storm {
                name: storm.value.clone(),
                intensity: *intensity,
                catchment: *catchment,
                coefficient: *coefficient,
            },
        }),
        cover: asked.cover,
        topsoil: earth.topsoil,
        soil: earth.soil.clone(),
        placement: earth.placement,
        settlement: earth.settlement,
    }
}

/// A place, and what it is called.
fn spot(file: &PipelineFile, asked: &Located<SpotAsked>, survey: &Survey) -> Result<(Point, String), PipelineError> {
    Ok(match &asked.value {
        SpotAsked::Place(easting, northing) => {
            (survey.frame.to_local(*easting, *northing), format!("the place E {easting} N {northing}"))
        }
        SpotAsked::Shot(name) => {
            let shot = survey
                .find_shot(name)
                .map_err(|error| file.fault_at(asked, "pipeline::no-such-shot", &error.to_string()))?;
            (shot.place, format!("shot {}:{}", survey.file_of(shot), shot.id))
        }
    })
}

/// A place that the user marks on the land: refused where the local frame ends, for it cannot be one of this site.
fn marked(file: &PipelineFile, asked: &Located<SpotAsked>, survey: &Survey) -> Result<Point, PipelineError> {
    let (place, called) = spot(file, asked, survey)?;
    if place.x.abs() <= LIMIT && place.y.abs() <= LIMIT {
        return Ok(place);
    }
    let message = format!("{called} lies more than 65 km from the site: it is written [easting, northing]");
    Err(file.fault_at(asked, "pipeline::far-off", &message).into())
}

/// The test pits; what cannot be found is told at once for all of them.
pub(super) fn test_pits(file: &PipelineFile, survey: &Survey) -> Result<Vec<TestPit>, PipelineError> {
    let pits = file.test_pits.iter().map(|asked| {
        let place = marked(file, &asked.at, survey)?;
        Ok(TestPit {
            name: asked.name.value.clone(),
            place,
            depth: asked.depth,
            layers: asked.layers.clone(),
            water: asked.water,
            rock: asked.rock,
            date: asked.date.clone(),
        })
    });
    all(file, pits)
}

/// Ground that is marked as unstable.
pub(super) fn unstable(file: &PipelineFile, survey: &Survey) -> Result<Vec<UnstableGround>, PipelineError> {
    let grounds = file.unstable.iter().map(|asked| {
        let area = match &asked.area {
            UnstableAreaAsked::Round(at, radius) => UnstableArea::Round(marked(file, at, survey)?, *radius),
            UnstableAreaAsked::File(name) => UnstableArea::Outlines(obstacles(file, name, &survey.frame)?),
        };
        Ok(UnstableGround { name: asked.name.value.clone(), kind: asked.kind, area, clearance: asked.clearance })
    });
    all(file, grounds)
}

/// All that is asked for, or all that is at fault in it.
fn all<T>(file: &PipelineFile, found: impl Iterator<Item = Result<T, PipelineError>>) -> Result<Vec<T>, PipelineError> {
    let mut faults = Vec::new();
    let mut kept = Vec::new();
    for one in found {
        match one {
            Ok(one) => kept.push(one),
            Err(PipelineError::File(found)) => faults.extend(found.faults),
            Err(other) => return Err(other),
        }
    }
    if faults.is_empty() { Ok(kept) } else { Err(file.faults(faults).into()) }
}

fn swale(file: &PipelineFile, asked: &SwaleAsked, survey: &Survey) -> Result<SwaleWanted, PipelineError> {
    let frame = &survey.frame;
    let within = asked.within.as_ref().map(|name| region(file, name, frame)).transpose()?;
    let between = asked.between.as_ref().map(|places| {
        let [first, last] = places.value.map(|(easting, northing)| frame.to_local(easting, northing));
        (first, last)
    });
    let earth = &file.earth;
    Ok(SwaleWanted {
        name: asked.name.value.clone(),
        water_level: swale_level(file, &asked.water_level, survey)?,
        line_edge: asked.line_edge,
        within,
        between,
        shape: asked.shape,
        depth: asked.depth,
        to_hold: asked.to_hold,
        uphill_batter: asked.uphill_batter,
        downhill_batter: asked.downhill_batter,
        berm: asked.berm,
        follow: asked.follow,
        changes: asked.changes.iter().map(|change| change.value).collect(),
        crossings: asked.crossings.iter().map(|crossing| crossing.value).collect(),
        key: asked.key,
        ledge: asked.ledge,
        freeboard: asked.freeboard,
        bend_radius: asked.bend_radius,
        obstacles: asked.obstacles.as_ref().map(|name| obstacles(file, name, frame)).transpose()?.unwrap_or_default(),
        clearance: asked.clearance,
        ends: asked.ends,
        tolerance: asked.tolerance,
        spillways: asked.spillways.iter().map(|spillway| spillway_wanted(spillway, frame)).collect(),
        topsoil: earth.topsoil,
        soil: earth.soil.clone(),
        placement: earth.placement,
        settlement: earth.settlement,
    })
}

fn swale_level(
    file: &PipelineFile,
    asked: &Located<SwaleLevelAsked>,
    survey: &Survey,
) -> Result<SwaleLevel, PipelineError> {
    Ok(match &asked.value {
        SwaleLevelAsked::From(from) => SwaleLevel::From(water_level(file, asked, from, survey)?),
        SwaleLevelAsked::ToCatch(area, near) => SwaleLevel::ToCatch {
            area: *area,
            near: near.map(|(easting, northing)| survey.frame.to_local(easting, northing)),
        },
        SwaleLevelAsked::Place(among) => SwaleLevel::Place(among.clone()),
        SwaleLevelAsked::Below(spacing, upper) => {
            SwaleLevel::Below { spacing: *spacing, upper: Box::new(swale(file, upper, survey)?) }
        }
    })
}

/// A level as it is asked for at a place in the file.
fn water_level<T>(
    file: &PipelineFile,
    asked: &Located<T>,
    from: &WaterLevelAsked,
    survey: &Survey,
) -> Result<WaterLevel, PipelineError> {
    let frame = &survey.frame;
    let shot = |name: &str| {
        let shot = survey
            .find_shot(name)
            .map_err(|error| file.fault_at(asked, "pipeline::no-such-shot", &error.to_string()))?;
        Ok::<_, PipelineError>((shot.place, format!("shot {}:{}", survey.file_of(shot), shot.id), shot.elevation))
    };
    let place_words = |easting: f64, northing: f64| format!("the place E {easting} N {northing}");
    Ok(match from {
        WaterLevelAsked::Elevation(elevation) => WaterLevel::Elevation(*elevation),
        WaterLevelAsked::Through(easting, northing) => WaterLevel::Through {
            place: frame.to_local(*easting, *northing),
            what: place_words(*easting, *northing),
            shot_elevation: None,
        },
        WaterLevelAsked::AtShot(name) => {
            let (place, what, elevation) = shot(name)?;
            WaterLevel::Through { place, what, shot_elevation: Some(elevation) }
        }
        WaterLevelAsked::Off(above, thing) => {
            let (what, place, height) = match thing {
                ThingAsked::Shot(name) => {
                    let (place, what, elevation) = shot(name)?;
                    (what, Some(place), ThingHeight::Known(Elevation::metres(elevation)))
                }
                ThingAsked::Elevation(elevation) => {
                    ("the elevation said".to_owned(), None, ThingHeight::Known(*elevation))
                }
                ThingAsked::Place(easting, northing) => (
                    format!("the ground at {}", place_words(*easting, *northing)),
                    Some(frame.to_local(*easting, *northing)),
                    ThingHeight::Ground,
                ),
                ThingAsked::Work(name) => {
                    let height = full_height(file, name, asked.span.as_ref(), survey)?;
                    (format!("the full water of `{}`", name.value), None, height)
                }
            };
            WaterLevel::Off { above: *above, thing: Thing { what, place, height } }
        }
    })
}

/// Where a swale or dam stands full that is before a place in the file.
fn full_height(
    file: &PipelineFile,
    name: &Located<String>,
    asked: Option<&Span>,
    survey: &Survey,
) -> Result<ThingHeight, PipelineError> {
    let start = |span: Option<&Span>| span.map_or(0, |span| span.start);
    // By the place of their levels: a work is not before itself.
    let swales = file.swales.iter().filter(|other| start(other.water_level.span.as_ref()) < start(asked));
    let dams = file.dams.iter().filter(|other| start(other.full_supply.span.as_ref()) < start(asked));
    if let Some(other) = swales.clone().find(|other| other.name.value == name.value) {
        return Ok(ThingHeight::Swale(Box::new(swale(file, other, survey)?)));
    }
    if let Some(other) = dams.clone().find(|other| other.name.value == name.value) {
        let level = water_level(file, &other.full_supply, &other.full_supply.value, survey)?;
        return Ok(ThingHeight::Level(Box::new(level)));
    }
    let names: Vec<String> = swales
        .map(|other| &other.name)
        .chain(dams.map(|other| &other.name))
        .map(|own| format!("`{}`", own.value))
        .collect();
    let found = if names.is_empty() { "none".to_owned() } else { names.join(", ") };
    let message =
        format!("no swale or dam before this one in the file is named `{}`: before it stand {found}", name.value);
    Err(file.fault_at(name, "pipeline::no-earlier-work", &message).into())
}

/// Half the side of the square that stands for a place, metres.
const PLACE: f64 = 0.05;

/// What stands in the way: the polygons and places of a map file.
fn obstacles(
    file: &PipelineFile,
    name: &super::config::Located<String>,
    frame: &SiteFrame,
) -> Result<Vec<Polygon>, PipelineError> {
    let shapes = foreign::shapes(&file.beside(&name.value), frame)
        .map_err(|error| file.fault_at(name, "pipeline::unreadable-obstacles", &error.to_string()))?
        .value;
    let found: Vec<Polygon> = shapes
        .iter()
        .filter_map(|shape| match &shape.geometry {
            Geometry::Point(place) => {
                let corners = [(-PLACE, -PLACE), (PLACE, -PLACE), (PLACE, PLACE), (-PLACE, PLACE)];
                Some(Polygon::simple(corners.map(|(x, y)| place.plan() + Vector { x, y }).to_vec()))
            }
            _ => shape.as_polygon(),
        })
        .collect();
    if found.len() < shapes.len() || found.is_empty() {
        let message = format!(
            "`{}` must hold polygons and places only, found {} of them among {} features",
            name.value,
            found.len(),
            shapes.len()
        );
        return Err(file.fault_at(name, "pipeline::no-obstacles", &message).into());
    }
    Ok(found)
}

/// The one polygon of a map file.
pub(super) fn region(file: &PipelineFile, name: &Located<String>, frame: &SiteFrame) -> Result<Polygon, PipelineError> {
    let shapes = foreign::shapes(&file.beside(&name.value), frame)
        .map_err(|error| file.fault_at(name, "pipeline::unreadable-region", &error.to_string()))?
        .value;
    let regions: Vec<Polygon> = shapes.iter().filter_map(Shape::as_polygon).collect();
    <[Polygon; 1]>::try_from(regions).map(|[region]| region).map_err(|found| {
        let message = format!("`{}` must hold one polygon, found {}", name.value, found.len());
        file.fault_at(name, "pipeline::no-region", &message).into()
    })
}

fn spillway_wanted(asked: &SpillwayAsked, frame: &SiteFrame) -> SpillwayWanted {
    SpillwayWanted {
        at: match asked.at.value {
            PlaceAsked::First => SpillwayPlace::First,
            PlaceAsked::Last => SpillwayPlace::Last,
            PlaceAsked::Station(station) => SpillwayPlace::Station(station),
            PlaceAsked::Through(easting, northing) => SpillwayPlace::Through(frame.to_local(easting, northing)),
            PlaceAsked::LowRim => SpillwayPlace::LowRim,
        },
        sill_length: match &asked.sill {
            SillAsked::Length(length) => SillLength::Length(*length),
            SillAsked::ForFlow(flow) => SillLength::ForFlow(*flow),
            SillAsked::ForStorm { storm, intensity, catchment, coefficient } => SillLength::ForStorm(Storm {
                name: storm.value.clone(),
                intensity: *intensity,
                catchment: *catchment,
                coefficient: *coefficient,
            }),
        },
        sill_breadth: asked.sill_breadth,
        head: asked.head,
        flow: asked.flow,
        exit_fall: asked.exit_fall,
        batter: asked.batter,
        approach_fall: asked.approach_fall,
        cover: asked.cover,
        lined_by_engineer: asked.lined_by_engineer,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::SiteFrame;
    use crate::soil::{Placement, Soil};
    use crate::units::Length;
    use std::path::Path;

    /// What the library calls usual is what a pipeline file asks for that leaves everything out.
    #[test]
    fn the_usual_swale_is_the_pipeline_files_default() {
        let text = "format = 1\n[site]\nname = \"Kestrel Flat\"\ncrs = \"local\"\n[survey]\nshots = [\"day1.csv\"]\n\
            [[swale]]\nname = \"upper\"\nwater-level = { elevation = \"431 m\" }\n\
            [[spillway]]\nof = \"upper\"\nat = { end = \"last\" }\nsill-length = \"6 m\"\nhead = \"0.1 m\"\n";
        let file = super::super::config::read(Path::new("site.toml"), text).unwrap();
        let asked = works(&file, &Survey::empty(SiteFrame::site_grid()), &[]).unwrap();
        let usual = SwaleWanted {
            spillways: vec![SpillwayWanted::usual(Length::metres(6.0))],
            ..SwaleWanted::usual(
                "upper",
                WaterLevel::Elevation(Elevation::metres(431.0)),
                Soil::named("loam", Placement::TrackWalked).unwrap(),
            )
        };
        assert_eq!(asked, [Wanted::Swale(usual)]);
    }

    #[test]
    fn a_level_is_measured_from_the_water_of_a_work_before_it_only() {
        let text = |first: &str, second: &str| {
            format!(
                "format = 1\n[site]\nname = \"Kestrel Flat\"\ncrs = \"local\"\n[survey]\nshots = [\"day1.csv\"]\n\
                 [[swale]]\nname = \"upper\"\nwater-level = {first}\n[[swale]]\nname = \"lower\"\nwater-level = {second}\n"
            )
        };
        let levels = |first: &str, second: &str| {
            let file = super::super::config::read(Path::new("site.toml"), &text(first, second)).unwrap();
            works(&file, &Survey::empty(SiteFrame::site_grid()), &[]).map_err(|error| error.to_string())
        };
        let said = "{ elevation = \"431 m\" }";
        let found = levels(said, "{ below = { by = \"1.2 m\", work = \"upper\" } }").unwrap();
        let Wanted::Swale(lower) = &found[1] else { panic!("a swale") };
        let thing = Thing {
            what: "the full water of `upper`".to_owned(),
            place: None,
            height: ThingHeight::Swale(Box::new(match &found[0] {
                Wanted::Swale(upper) => upper.clone(),
                _ => panic!("a swale"),
            })),
        };
        assert_eq!(lower.water_level, WaterLevel::Off { above: Length::metres(-1.2), thing }.into());
        let refused = levels("{ below = { by = \"1.2 m\", work = \"lower\" } }", said).unwrap_err();
        assert!(refused.contains("is named `lower`: before it stand none"), "{refused}");
    }
}
