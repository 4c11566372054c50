//! Files by hand with one fault each, and the closed form of an arc.

use super::*;
use crate::frame::resolve;
use crate::geom::Point;

const SOUND: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" date="2026-03-14" time="00:00:00" version="1.2">
 <Units><Imperial areaUnit="squareFoot" linearUnit="foot" volumeUnit="cubicYard" temperatureUnit="fahrenheit" pressureUnit="inHG" elevationUnit="feet"/></Units>
 <CoordinateSystem epsgCode="2921"/>
 <Alignments><Alignment name="a" length="20" staStart="100"><CoordGeom>
  <Line><Start>2000 1000</Start><End>2000 1010</End></Line>
  <Curve rot="ccw"><Start>2000 1010</Start><Center>2100 1010</Center><End>2100 1110</End></Curve>
 </CoordGeom></Alignment></Alignments>
 <Surfaces><Surface name="ground"><Definition surfType="TIN">
  <Pnts>
   <P id="1">2000 1000 100</P>
   <P id="5">2000 1010 100</P>
   <P id="9">2010 1010 100.5</P>
  </Pnts>
  <Faces><F>1 5 9</F></Faces>
 </Definition></Surface></Surfaces>
</LandXML>
"#;

/// A site grid with this local zero.
fn grid_at(origin: Point) -> crate::frame::SiteFrame {
    let mut frame = crate::frame::FrameDefinition::local(crate::units::LengthUnit::Metres).site_frame((0.0, 0.0), None);
    frame.origin = origin;
    frame
}

fn parsed(text: &str) -> Result<Noted<LandXml>, ReadError> {
    parse::parse(text, "g.landxml")
}

fn told(from: &str, to: &str) -> String {
    assert!(SOUND.contains(from), "nothing to change: {from}");
    let changed = SOUND.replace(from, to);
    match parsed(&changed) {
        Err(why) => why.to_string(),
        Ok(read) => {
            let surface = &read.value.surfaces[0];
            read.value
                .tin(surface, &grid_at(surface.origin()))
                .map_or_else(|why| why.to_string(), |_| "sound".to_owned())
        }
    }
}

#[test]
fn northing_comes_first_and_feet_become_metres() {
    let read = parsed(SOUND).unwrap().value;
    let surface = read.surface(None).unwrap();
    assert_eq!(surface.points[1], [1010.0 * 0.3048, 2000.0 * 0.3048, 100.0 * 0.3048]);
    assert_eq!(surface.faces, [[0, 1, 2]]);
    assert_eq!(read.crs.as_deref(), Some("EPSG:2921"));
    let tin = read.tin(surface, &grid_at(surface.origin())).unwrap();
    assert!((tin.plan_area() - 50.0 * 0.3048 * 0.3048).abs() < 1e-4);
    let metric = SOUND.replace("Imperial", "Metric").replace("linearUnit=\"foot\"", "linearUnit=\"meter\"");
    let metric = parsed(&metric.replace("elevationUnit=\"feet\"", "")).unwrap();
    assert_eq!(metric.value.surfaces[0].points[2], [1010.0, 2010.0, 100.5]);
    assert_eq!(metric.notes.len(), 1, "{:?}", metric.notes);
    assert!(
        metric.notes[0].text.contains("1 arcs in the alignments of g.landxml became chords, nowhere more than 5 mm")
    );
}

#[test]
fn elevations_among_feet_are_metres_unless_said() {
    let read = parsed(&SOUND.replace("elevationUnit=\"feet\"", "")).unwrap();
    assert_eq!(read.value.surfaces[0].points[0][2], 100.0);
    assert_eq!(read.notes[0].code, "landxml::elevations-in-metres");
    let survey = SOUND.replace("linearUnit=\"foot\"", "linearUnit=\"USSurveyFoot\"");
    let survey = parsed(&survey).unwrap().value;
    assert_eq!(survey.surfaces[0].points[0], [1000.0, 2000.0, 100.0].map(|feet| feet * (1200.0 / 3937.0)));
}

/// A quarter of a circle of 100 feet turning left: every corner on the arc, every chord within 5 mm of it.
#[test]
fn arcs_become_chords() {
    let read = parsed(SOUND).unwrap().value;
    let alignment = read.alignment(Some("a")).unwrap();
    assert!((alignment.start_station - 30.48).abs() < 1e-12);
    let radius = 100.0 * 0.3048;
    let center = [1010.0 * 0.3048, 2100.0 * 0.3048];
    let arc = &alignment.places[1..];
    for pair in arc.windows(2) {
        let off = |at: [f64; 2]| (at[0] - center[0]).hypot(at[1] - center[1]);
        assert!((off(pair[0]) - radius).abs() < 1e-9);
        let middle = [f64::midpoint(pair[0][0], pair[1][0]), f64::midpoint(pair[0][1], pair[1][1])];
        assert!(radius - off(middle) <= 0.005 + 1e-9, "sagitta {}", radius - off(middle));
        assert!(pair[1][0] >= pair[0][0] && pair[1][1] >= pair[0][1], "to the north-east all along");
    }
    let length: f64 =
        alignment.local(&grid_at(Point::new(0.0, 0.0))).windows(2).map(|pair| pair[0].distance(pair[1])).sum();
    let wanted = 10.0 * 0.3048 + radius * std::f64::consts::FRAC_PI_2;
    assert!((wanted - length).abs() < 0.01, "{length} for {wanted}");
    let clockwise = parsed(&SOUND.replace("ccw", "cw")).unwrap().value;
    assert!(clockwise.alignments[0].places.len() > 2 * alignment.places.len(), "three quarters the other way round");
}

#[test]
fn every_fault_names_its_line() {
    let cases = [
        (
            "<P id=\"5\">",
            "<P id=\"1\">",
            "g.landxml:12: found a second point with id 1, accepted is ids that are unique",
        ),
        ("<F>1 5 9</F>", "<F>1 5 7</F>", "g.landxml:15: found a face at point `7`"),
        ("<F>1 5 9</F>", "<F>1 5 5</F>", "three different points"),
        ("<F>1 5 9</F>", "<F>1 5 9 1</F>", "three different points"),
        ("<F>1 5 9</F>", "", "has 3 points and no face"),
        ("<F>1 5 9</F>", "<F i=\"1\">1 5 9</F>", "has 3 points and no face"),
        ("2010 1010 100.5", "2000 1020 100.5", "g.landxml:15: found a face whose three points stand on one line"),
        ("<F>1 5 9</F>", "<F b=\"8\">1 5 9</F>", "g.landxml:15: found breakline sides b=`8`, accepted is 0 to 7"),
        ("<F>1 5 9</F>", "<F>1 5 9</F><F>21 22 23</F>", "g.landxml:15: found a face at point `21`"),
        ("2010 1010 100.5", "2010 1010", "2 numbers in point 9"),
        ("2010 1010 100.5", "2010 NaN 100.5", "found `NaN`, accepted is a number"),
        ("2010 1010 100.5", "2010 1O10 100.5", "found `1O10`"),
        ("2010 1010 100.5", "2010000 1010 100.5", "more than 65 km from the site"),
        ("linearUnit=\"foot\"", "linearUnit=\"furlong\"", "linearUnit `furlong`"),
        ("elevationUnit=\"feet\"", "elevationUnit=\"USSurveyFoot\"", "elevationUnit `USSurveyFoot`"),
        ("surfType=\"TIN\"", "surfType=\"grid\"", "surfaces of type `TIN`"),
        ("<Line>", "<Spiral></Spiral><Line>", "g.landxml:6: found <Spiral> in an alignment"),
        ("<Start>2000 1010</Start>", "<Start>2000 1011</Start>", "a gap of 0.305 m before <Curve>"),
        ("<Center>2100 1010</Center>", "", "without a center"),
        (
            "<Center>2100 1010</Center>",
            "<Center>2101 1010</Center>",
            "whose ends stand 30.785 and 30.482 m from its center",
        ),
        (" rot=\"ccw\"", "", "g.landxml:7: found <Curve> without `rot`, accepted is rot=`cw` or rot=`ccw`"),
        ("rot=\"ccw\"", "rot=\"left\"", "g.landxml:7: found rot=`left`"),
        ("<End>2000 1010</End>", "", "without both ends"),
        ("</Faces>", "", "g.landxml:16: found"),
        ("</LandXML>", "", "the end of the file inside <LandXML>"),
        ("<LandXML xmlns", "<Land xmlns", "a document of <LandXML>"),
    ];
    for (from, to, wanted) in cases {
        let message = told(from, to);
        assert!(message.contains(wanted), "{from} -> {to}: `{message}`, wanted `{wanted}`");
    }
    let units = SOUND.lines().nth(2).unwrap();
    assert!(told(units, "").contains("before <Units>"), "{}", told(units, ""));
}

#[test]
fn three_faces_on_one_edge_are_no_surface() {
    let more = SOUND
        .replace("</Pnts>", "<P id=\"10\">2010 1000 100</P><P id=\"11\">2020 1005 100</P></Pnts>")
        .replace("<F>1 5 9</F>", "<F>1 5 9</F><F>1 9 10</F><F>1 9 11</F>");
    let read = parsed(&more).unwrap().value;
    let told = read.tin(&read.surfaces[0], &grid_at(Point::new(300.0, 600.0))).unwrap_err().to_string();
    assert!(told.contains("belongs to more than two triangles"), "{told}");
}

#[test]
fn the_frame_is_held_against_the_sites() {
    let read = parsed(SOUND).unwrap().value;
    let utah = resolve("EPSG:2921").unwrap().site_frame((1000.0, 2000.0), None);
    assert!(read.check_frame(&utah).unwrap().is_empty());
    let other = resolve("EPSG:3568").unwrap().site_frame((1000.0, 2000.0), None);
    assert!(read.check_frame(&other).unwrap_err().to_string().contains("convert it first"));
    let bare = parsed(&SOUND.replace("<CoordinateSystem epsgCode=\"2921\"/>", "")).unwrap().value;
    assert_eq!(bare.check_frame(&utah).unwrap()[0].code, "landxml::no-frame");
    assert!(read.surface(Some("works")).unwrap_err().to_string().contains("no surface `works` in it, but ground"));
}

#[test]
fn a_face_over_another_is_no_surface_and_says_where() {
    let more = SOUND
        .replace(
            "</Pnts>",
            "<P id=\"21\">2001 1006 90</P><P id=\"22\">2001 1009 90</P><P id=\"23\">2004 1008 90</P></Pnts>",
        )
        .replace("<F>1 5 9</F>", "<F>1 5 9</F>\n<F>21 22 23</F>");
    let read = parsed(&more).unwrap().value;
    let told = read.tin(&read.surfaces[0], &grid_at(Point::new(300.0, 600.0))).unwrap_err().to_string();
    assert!(told.contains("g.landxml:16: found a face that lies over the one in line 15"), "{told}");
}

#[test]
fn breakline_sides_and_the_height_system_are_kept() {
    let text = SOUND
        .replace("<F>1 5 9</F>", "<F b=\"5\">1 5 9</F>")
        .replace("epsgCode=\"2921\"", "epsgCode=\"2921\" verticalDatum=\"NAVD88\"");
    let read = parsed(&text).unwrap().value;
    assert_eq!(read.height.as_deref(), Some("NAVD88"));
    let tin = read.tin(&read.surfaces[0], &grid_at(Point::new(300.0, 600.0))).unwrap();
    let sides = [0, 1, 2].map(|side| tin.is_break(crate::surface::TriangleId(0), side));
    assert_eq!(sides, [true, false, true]);
    // Held against the site's, and never taken for a name when it says that nothing was said.
    let site = |height: &str| resolve("EPSG:2921").unwrap().site_frame((1000.0, 2000.0), Some(height));
    assert!(read.check_frame(&site("navd88")).unwrap().is_empty());
    assert_eq!(read.check_frame(&site("NGVD29")).unwrap()[0].code, "landxml::other-height-system");
    assert_eq!(parsed(&text.replace("NAVD88", crate::frame::HEIGHT_NOT_SAID)).unwrap().value.height, None);
}

#[test]
fn faces_that_run_both_ways_are_turned_and_told() {
    let two = SOUND.replace("</Pnts>", "<P id=\"10\">2010 1000 100</P></Pnts>");
    let (start, end) = (two.find(" <Alignments>").unwrap(), two.find(" <Surfaces>").unwrap());
    let two = format!("{}{}", &two[..start], &two[end..]);
    let read = |faces: &str| parsed(&two.replace("<F>1 5 9</F>", faces)).unwrap();
    assert!(read("<F>1 5 9</F><F>1 9 10</F>").notes.is_empty());
    assert!(read("<F>1 9 5</F><F>1 10 9</F>").notes.is_empty(), "all clockwise");
    let mixed = read("<F>1 5 9</F><F b=\"1\">1 10 9</F>");
    assert_eq!(mixed.notes[0].code, "landxml::mixed-winding");
    let tin = mixed.value.tin(&mixed.value.surfaces[0], &grid_at(Point::new(300.0, 600.0))).unwrap();
    crate::surface::sound::assert_sound(&tin);
    assert!(crate::surface::sound::has_break(&tin, 0, 3), "side 1 of the turned face runs from point 1 to point 10");
}
