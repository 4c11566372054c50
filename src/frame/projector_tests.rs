//! Published conversions, round trips and refusals.
//!
//! *Published* values are printed in the document that the case names; *recomputed* ones came from the same PROJ library
//! in another program (pyproj 3.7.2 with PROJ 9.5.1) and show that we call it rightly, not that it is right.

use super::*;
use crate::frame::resolve;
use crate::units::LengthUnit;

fn projector(crs: &str, geographic: &Geographic) -> Projector {
    let frame = resolve(crs).unwrap().site_frame((0.0, 0.0), None);
    Projector::new(&frame, geographic).unwrap()
}

fn close(found: (f64, f64), wanted: (f64, f64), tolerance: f64, what: &str) {
    assert!(
        (found.0 - wanted.0).abs() <= tolerance && (found.1 - wanted.1).abs() <= tolerance,
        "{what}: found {found:?}, wanted {wanted:?} within {tolerance}"
    );
}

/// The worked examples of IOGP publication 373-7-2 (EPSG Guidance Note 7-2) and PROJ's own regression values.
#[test]
fn published_examples() {
    let check = |crs: &str, lon: f64, lat: f64, wanted: (f64, f64), tolerance: f64, source: &str| {
        let projector = projector(crs, &Geographic::OwnDatum);
        close(projector.forward(lon, lat).unwrap(), wanted, tolerance, source);
        close(projector.inverse(wanted.0, wanted.1).unwrap(), (lon, lat), tolerance * 1.2e-5, source);
    };
    // Published. The printed centimetres are 6 to 8 mm off the exact values of the next case.
    check(
        "+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996012717 +x_0=400000 +y_0=-100000 +ellps=airy",
        0.5,
        50.5,
        (577_274.99, 69_740.50),
        0.01,
        "IOGP 373-7-2, Transverse Mercator",
    );
    // Recomputed, not published.
    check(
        "+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996012717 +x_0=400000 +y_0=-100000 +ellps=airy",
        0.5,
        50.5,
        (577_274.983_8, 69_740.492_3),
        1e-4,
        "the same, recomputed with pyproj 3.7.2",
    );
    // Published: seen printed with its intermediate values.
    check(
        "+proj=lcc +lat_1=28d23 +lat_2=30d17 +lat_0=27d50 +lon_0=-99 +x_0=609601.2192024384 +y_0=0 +ellps=clrk66 +units=us-ft",
        -96.0,
        28.5,
        (2_963_503.91, 254_759.80),
        0.01,
        "IOGP 373-7-2, Lambert conic conformal (2SP), US survey feet",
    );
    // Published, and held by PROJ's own regression files to the tolerance given there.
    check(
        "+proj=lcc +ellps=clrk66 +lat_1=44d11N +lat_2=45d42N +x_0=609601.2192 +lon_0=84d20W +lat_0=43d19N +k_0=1.0000382 +units=us-ft",
        -83.0 - 10.0 / 60.0,
        43.75,
        (2_308_335.75, 160_210.48),
        0.016,
        "PROJ test/gie/more_builtins.gie, after IOGP 373-7-2, Lambert conic conformal (2SP Michigan)",
    );
    // Published, but quoted from memory; recomputed as 255966.5818, 142493.5110.
    check(
        "+proj=lcc +lat_1=18 +lat_0=18 +lon_0=-77 +k_0=1 +x_0=250000 +y_0=150000 +ellps=clrk66",
        -(76.0 + 56.0 / 60.0 + 37.26 / 3600.0),
        17.0 + 55.0 / 60.0 + 55.80 / 3600.0,
        (255_966.58, 142_493.51),
        0.01,
        "IOGP 373-7-2, Lambert conic conformal (1SP)",
    );
    // Published as regression values of the library itself, to the digits given there.
    check(
        "+proj=utm +zone=32 +ellps=GRS80",
        12.0,
        56.0,
        (687_071.439_109_44, 6_210_141.326_748_01),
        1e-6,
        "PROJ test/gie/builtins.gie",
    );
    // Five degrees beyond the zone.
    check(
        "+proj=utm +zone=30 +ellps=GRS80",
        2.0,
        1.0,
        (1_057_002.405_491_298, 110_955.141_175_949),
        1e-6,
        "PROJ test/gie/builtins.gie",
    );
    check(
        "EPSG:25832",
        12.0,
        55.0,
        (691_875.632_1, 6_098_907.825_0),
        1e-4,
        "PROJ test/gie/epsg_no_grid.gie, EPSG:4258 to EPSG:25832",
    );
}

/// IOGP 373-7-2, Local Orthographic (a turned and scaled site grid), as PROJ test/gie/builtins.gie quotes it
/// (August 2024, page 101): published. A turn by the azimuth and a scale of plane coordinates gives the same.
#[test]
fn published_site_grid() {
    let crs = "+proj=ortho +ellps=GRS80 +lat_0=37.628969166666664 +lon_0=-122.39394166666668 +k_0=0.9999968 +alpha=27.7927777777777";
    let projector = projector(crs, &Geographic::OwnDatum);
    let found = projector.forward(-122.384_638_888_888_9, 37.626_076_944_444_44).unwrap();
    close(found, (876.136_76, 98.974_06), 1e-5, "Local Orthographic");
}

/// GIGS test series 5101 and 5103, published: every point, both ways, within the tolerances in the files' headers.
#[test]
fn gigs_series() {
    let british_on_wgs84 =
        "+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996012717 +x_0=400000 +y_0=-100000 +datum=WGS84 +units=m";
    let series = [
        (british_on_wgs84, 0.03, include_str!("../../tests/oracle/gigs/GIGS_conv_5101_TM_output_part1_JHS.txt"), 59),
        ("EPSG:32631", 0.03, include_str!("../../tests/oracle/gigs/GIGS_conv_5101_TM_output_part2_JHS.txt"), 23),
        ("EPSG:28354", 0.03, include_str!("../../tests/oracle/gigs/GIGS_conv_5101_TM_output_part3_JHS.txt"), 23),
        ("EPSG:31370", 0.03, include_str!("../../tests/oracle/gigs/GIGS_conv_5103_LCC2_output_part1.txt"), 20),
        ("EPSG:2921", 0.1, include_str!("../../tests/oracle/gigs/GIGS_conv_5103_LCC2_output_part2.txt"), 10),
        ("EPSG:3568", 0.1, include_str!("../../tests/oracle/gigs/GIGS_conv_5103_LCC2_output_part3.txt"), 10),
    ];
    for (crs, tolerance, text, count) in series {
        let projector = projector(crs, &Geographic::OwnDatum);
        let mut seen = 0;
        for line in text.lines().filter(|line| !line.starts_with('#') && !line.trim().is_empty()) {
            let field = |at: usize| line.split('\t').nth(at).unwrap().trim().parse::<f64>().unwrap();
            let (lonlat, grid) = ((field(2), field(1)), (field(3), field(4)));
            close(projector.forward(lonlat.0, lonlat.1).unwrap(), grid, tolerance, line);
            // Tolerance of the headers, but for the printed millimetres near the pole (80 degrees: cosine 0.17).
            close(projector.inverse(grid.0, grid.1).unwrap(), lonlat, 3e-7, line);
            // The headers' round trips: 0.006 m (0.02 ft) and 6e-8 degree.
            let there = projector.forward(lonlat.0, lonlat.1).unwrap();
            let back = projector.inverse(there.0, there.1).unwrap();
            close(back, lonlat, 6e-8, line);
            close(projector.forward(back.0, back.1).unwrap(), there, 0.006, line);
            seen += 1;
        }
        assert_eq!(seen, count, "{crs}");
    }
}

#[test]
fn there_and_back_stays_within_a_hundredth_of_a_millimetre() {
    for (crs, near) in [
        ("EPSG:32755", (412_350.0, 6_187_220.0)),
        ("EPSG:2193", (1_750_000.0, 5_427_000.0)),
        ("EPSG:3568", (1_600_000.0, 3_527_000.0)),
        ("EPSG:2154", (300_000.0, 6_802_000.0)),
    ] {
        let frame = resolve(crs).unwrap().site_frame(near, None);
        for geographic in [Geographic::Wgs84, Geographic::OwnDatum] {
            let projector = Projector::new(&frame, &geographic).unwrap();
            for place in [Point::new(0.0, 0.0), Point::new(612.5, 433.25), Point::new(-3000.0, 4000.0)] {
                let (longitude, latitude) = projector.to_lonlat(place).unwrap();
                let back = projector.to_site(longitude, latitude).unwrap();
                assert!(back.distance(place) < 1e-5, "{crs} {geographic:?}: {place:?} came back as {back:?}");
            }
        }
    }
}

#[test]
fn northing_first_systems_come_out_easting_first() {
    // New Zealand Transverse Mercator: false origin 1 600 000 E, 10 000 000 N at 173 degrees east.
    let projector = projector("EPSG:2193", &Geographic::OwnDatum);
    let (easting, northing) = projector.to_grid(173.0, -41.0).unwrap();
    assert!((easting - 1_600_000.0).abs() < 1e-6, "the central meridian, found {easting}");
    assert!((5_400_000.0..5_500_000.0).contains(&northing), "found {northing}");
}

#[test]
fn a_place_outside_the_area_of_use_is_refused_with_the_area() {
    let frame = resolve("EPSG:32755").unwrap().site_frame((412_350.0, 6_187_220.0), None);
    let projector = Projector::new(&frame, &Geographic::Wgs84).unwrap();
    // Europe converts into zone 55 without a word, to an easting of -2.5 million.
    let told = projector.to_site(12.0, 55.0).unwrap_err().to_string();
    assert!(
        told.contains("longitude 12.00000, latitude 55.00000") && told.contains("144 to 150 degrees east"),
        "{told}"
    );
    // Easting and northing exchanged: far from the zone.
    let swapped = frame.to_local(6_187_220.0, 412_350.0);
    assert!(projector.to_lonlat(swapped).is_err());
    assert!(matches!(projector.to_site(147.0, 91.0), Err(FrameError::NotOnEarth { .. })));
    assert!(matches!(projector.to_site(f64::NAN, -35.0), Err(FrameError::NotOnEarth { .. })));
    assert!(projector.to_lonlat(Point::new(f64::NAN, 0.0)).is_err());
}

#[test]
fn an_unknown_datum_has_no_way_to_wgs_84_but_its_own_latitude_works() {
    let frame = resolve("+proj=utm +zone=32 +ellps=intl").unwrap().site_frame((500_000.0, 6_000_000.0), None);
    assert!(matches!(Projector::new(&frame, &Geographic::Wgs84), Err(FrameError::NoTrustedWay { .. })));
    assert!(Projector::new(&frame, &Geographic::OwnDatum).is_ok());
    let known = resolve("EPSG:28355").unwrap().site_frame((412_350.0, 6_187_220.0), None);
    let unknown = Geographic::Named("+proj=longlat +ellps=intl".into());
    assert!(matches!(Projector::new(&known, &unknown), Err(FrameError::NoTrustedWay { .. })));
    assert!(matches!(
        Projector::new(&FrameDefinition::local(LengthUnit::Feet).site_frame((0.0, 0.0), None), &Geographic::Wgs84),
        Err(FrameError::Local)
    ));
}

#[test]
fn a_named_datum_goes_through_the_registered_way() {
    // Neither published nor recomputed: a plausible range. GDA94 and GDA2020 are about 1.8 m apart (7 cm a year to the
    // north-east over 26 years).
    let frame = resolve("EPSG:28355").unwrap().site_frame((412_350.0, 6_187_220.0), None);
    let own = Projector::new(&frame, &Geographic::OwnDatum).unwrap();
    let other = Projector::new(&frame, &Geographic::Named("EPSG:7844".into())).unwrap();
    let apart = own.to_site(146.0, -34.5).unwrap().distance(other.to_site(146.0, -34.5).unwrap());
    assert!((1.5..2.1).contains(&apart), "found {apart} m ({})", other.steps());
}
