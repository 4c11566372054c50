//! Tests of NMEA logs: checksums, odd talkers and times, heights, standing rovers, faulty logs.

use super::*;
use crate::survey::Epochs;
use proptest::prelude::*;

fn sentence(body: &str) -> String {
    format!("${body}*{:02X}\r\n", body.bytes().fold(0, |sum, byte| sum ^ byte))
}

fn every() -> FileSettings {
    FileSettings { epochs: Epochs::Every, ..FileSettings::default() }
}

fn read(text: &str, settings: &FileSettings) -> PointFile {
    parse(text.as_bytes(), "log.nmea", settings).unwrap()
}

fn codes(file: &PointFile) -> Vec<&str> {
    file.notes.iter().map(|note| note.code.as_str()).collect()
}

/// Two sentences that public decoders have in their documentation and tests.
#[test]
fn published_sentences() {
    let text = "$GPGGA,123519,4807.038,N,01131.324,E,1,08,0.9,545.4,M,46.9,M,,*42\n\
                $GNGGA,203415.000,6325.6138,N,01021.4290,E,1,8,2.42,72.5,M,41.5,M,,*7C\n";
    let file = read(text, &every());
    let [a, b] = file.records.as_slice() else { panic!() };
    let Position::Geographic { longitude, latitude } = a.position else { panic!() };
    assert!((latitude - (48.0 + 7.038 / 60.0)).abs() < 1e-12 && (longitude - (11.0 + 31.324 / 60.0)).abs() < 1e-12);
    assert_eq!((a.elevation, a.quality.satellites, a.quality.hdop), (Some(545.4), Some(8), Some(0.9)));
    // Ellipsoidal height = field 9 + field 11.
    assert!((a.ellipsoid_height.unwrap() - 592.3).abs() < 1e-9);
    assert!((b.ellipsoid_height.unwrap() - 114.0).abs() < 1e-9);
    assert_eq!(
        (a.quality.fix, a.time.as_deref(), b.time.as_deref()),
        (Fix::Coarse, Some("12:35:19"), Some("20:34:15.000"))
    );
    assert_eq!(file.heights, HeightsAre::ReceiverGeoid);
}

#[test]
fn sides_of_the_world_and_kinds_of_solution() {
    let gga = |time: u32, quality: u32| {
        sentence(&format!("GNGGA,{time:06},3430.0000000,S,07015.0000000,W,{quality},20,0.6,100.0,M,-5.5,M,1.2,0133"))
    };
    let text: String = (1..=8).map(|quality| gga(100_000 + quality, quality)).collect();
    let file = read(&text, &every());
    assert_eq!(file.records[0].position, Position::Geographic { longitude: -70.25, latitude: -34.5 });
    let fixes: Vec<Fix> = file.records.iter().map(|record| record.quality.fix).collect();
    let coarse = Fix::Coarse;
    assert_eq!(fixes, [coarse, coarse, coarse, Fix::Fixed, Fix::Float, coarse, coarse, coarse]);
    assert_eq!((file.records[3].quality.age, file.records[3].setup.base.as_str()), (Some(1.2), "0133"));
}

#[test]
fn sigmas_dilution_and_date_find_their_epoch() {
    let gga =
        |second: u32| sentence(&format!("GNGGA,0800{second:02}.00,3430.0,S,07015.0,W,4,20,0.6,100.0,M,-5.5,M,1.0,1"));
    let gst = |second: u32, up: f64| sentence(&format!("GNGST,0800{second:02}.00,1.0,,,,0.003,0.004,{up}"));
    let gsa = sentence("GNGSA,A,3,01,02,03,04,05,06,,,,,,,1.4,0.7,1.2");
    let rmc = sentence("GNRMC,080001.00,A,3430.0,S,07015.0,W,0.0,0.0,140326,,,R");
    // GST before its GGA, then behind; the date comes after the first epoch.
    let text = [gst(1, 0.010), gga(1), gsa, rmc, gga(2), gst(2, 0.020), gga(3), gst(9, 0.5)].concat();
    let file = read(&text, &every());
    let told: Vec<_> = file.records.iter().map(|r| (r.quality.vertical_sigma, r.quality.pdop)).collect();
    assert_eq!(told, [(Some(0.010), Some(1.4)), (Some(0.020), None), (None, None)]);
    assert!((file.records[0].quality.horizontal_sigma.unwrap() - 0.005).abs() < 1e-12);
    assert_eq!(file.records[0].time.as_deref(), Some("2026-03-14T08:00:01.00Z"));
    assert_eq!(file.records[1].time.as_deref(), Some("2026-03-14T08:00:02.00Z"));
}

#[test]
fn wrong_checksums_and_cut_sentences_are_left_out_and_counted() {
    let good = sentence("GNGGA,080001.00,3430.0,S,07015.0,W,4,20,0.6,100.0,M,-5.5,M,1.0,1");
    let wrong = good.replace("100.0", "190.0").replace("080001", "080002");
    let cut = &good[..40];
    let file = read(&format!("{good}{wrong}$GPGSV,cut\n{cut}\n"), &every());
    assert_eq!(file.records.len(), 1);
    assert_eq!(codes(&file), ["nmea::sentences-left-out", "nmea::epochs", "nmea::receiver-geoid"]);
    let note = &file.notes[0];
    assert!(note.text.starts_with("2 sentences are left out, the first with checksum "), "{}", note.text);
    assert_eq!(note.place.as_ref().unwrap().to_string(), "log.nmea:2");
}

#[test]
fn a_log_without_anything_usable_is_one_fault() {
    let message = |text: &str| parse(text.as_bytes(), "log.nmea", &FileSettings::default()).unwrap_err().to_string();
    let accepted = "accepted is sentences such as $GNGGA,...*61 with a checksum that fits";
    assert_eq!(
        message("$GNGGA,080001.00,3430.0,S,07015.0,W,4,20,0.6,100.0,M,-5.5,M,1.0,1*00\n"),
        format!(
            "log.nmea:1: found no sentence that can be used, the first with checksum 00 where 70 is due, {accepted}"
        )
    );
    assert_eq!(
        message(&sentence("GNGGA,080001.00,,,,,0,00,99.9,,M,,M,,")),
        format!("log.nmea: found 1 GGA sentences and none with a position, {accepted}")
    );
    let walking: String = (0..5)
        .map(|i| sentence(&format!("GNGGA,08000{i}.00,3430.00{i},S,07015.0,W,4,20,0.6,100.0,M,-5.5,M,1.0,1")))
        .collect();
    assert_eq!(
        message(&walking),
        "log.nmea: the rover of this NMEA 0183 log never stood still (within 50 mm for a second and three epochs) in 5 \
         epochs: to take every epoch as a shot say epochs = \"every\" (--epochs every)"
    );
}

#[test]
fn impossible_places_and_times_are_told() {
    for (body, due) in [
        ("GNGGA,080001.00,9130.0,S,07015.0,W,4,20,0.6,1,M,1,M,,", "`9130.0,S`, which is no place"),
        ("GNGGA,080001.00,3430.0,E,07015.0,W,4,20,0.6,1,M,1,M,,", "`3430.0,E`, which is no place"),
        ("GNGGA,080001.00,3460.0,S,07015.0,W,4,20,0.6,1,M,1,M,,", "`3460.0,S`, which is no place"),
        ("GNGGA,8:01,3430.0,S,07015.0,W,4,20,0.6,1,M,1,M,,", "`8:01`, which is no time hhmmss.ss"),
        ("GNGGA,080001.00,3430.0,S,07015.0,W,4,20,0.6,inf,M,1,M,,", "`inf`, which is no number"),
        ("GNGGA,080001.00,3430.0,S", "4 fields in GGA where 12 are due"),
    ] {
        let error = parse(sentence(body).as_bytes(), "f", &every()).unwrap_err().to_string();
        assert!(error.contains(due), "{error}");
    }
}

proptest! {
    #[test]
    fn any_bytes_end_in_a_file_or_a_fault(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        let _ = parse(&bytes, "f", &FileSettings::default());
    }

    /// Sentences whose fields are anything, with a right checksum.
    #[test]
    fn any_fields_end_in_a_file_or_a_fault(kind in "(GGA|GST|GSA|RMC|ZDA)", fields in "([0-9A-Zé.,-]{0,9},){0,20}") {
        let _ = parse(sentence(&format!("GN{kind},{fields}")).as_bytes(), "f", &FileSettings::default());
    }

    /// A place written in degrees and minutes reads back within half of its last digit.
    #[test]
    fn a_written_place_reads_back(latitude in -89.9..89.9f64, longitude in -179.9..179.9f64) {
        let minutes = |value: f64, width: usize| {
            let whole = value.abs().floor();
            format!("{whole:0width$}{:011.8}", (value.abs() - whole) * 60.0)
        };
        let (a, b) = (minutes(latitude, 2), minutes(longitude, 3));
        // Rounding may give 60 minutes, which is no minute.
        prop_assume!(!a.ends_with("60.00000000") && !b.ends_with("60.00000000"));
        let (n, e) = (if latitude < 0.0 { "S" } else { "N" }, if longitude < 0.0 { "W" } else { "E" });
        let file = read(&sentence(&format!("GNGGA,080001.00,{a},{n},{b},{e},4,20,0.6,1,M,1,M,,")), &every());
        let Position::Geographic { longitude: l, latitude: p } = file.records[0].position else { panic!() };
        prop_assert!((l - longitude).abs() < 1e-9 && (p - latitude).abs() < 1e-9);
    }
}
