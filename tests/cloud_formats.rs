//! Clouds of every version and point format: small files of others, their counts as an independent reader (laspy 2.7 with
//! lazrs 0.8) gives them. `make accuracy` compares larger ones file by file.

use std::path::{Path, PathBuf};
use swalewright::io::read::cloud;

fn data() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/clouds")
}

fn classes(path: &Path) -> (u64, u64, Vec<(u8, u64)>) {
    let read = cloud::read(path, &[2]).unwrap_or_else(|why| panic!("{why}")).value;
    assert_eq!(read.ground.len() as u64, read.classes.get(&2).copied().unwrap_or_default());
    (read.points(), read.withheld, read.classes.into_iter().collect())
}

/// Ten points (0, 0, 0) to (9, 9, 9); in formats 0 to 5 of classes 0 to 9, in 6 to 10 four of them are withheld.
#[test]
fn every_point_format_loose_and_packed() {
    for format in 0..=10 {
        for ending in ["las", "laz"] {
            let path = data().join(format!("formats/10_points_format_{format}.{ending}"));
            if ending == "laz" && format > 8 {
                // The file's own fault: its record of how points are packed forgets their waveforms. No reader reads it.
                let why = cloud::read(&path, &[2]).unwrap_err().to_string();
                assert!(why.contains("are packed as"), "{why}");
                continue;
            }
            let found = classes(&path);
            let wanted = if format < 6 {
                (10, 0, (0..10).map(|class| (class, 1)).collect())
            } else {
                (6, 4, [0, 1, 2, 3, 8, 9].map(|class| (class, 1)).to_vec())
            };
            assert_eq!(found, wanted, "{}", path.display());
            let read = cloud::read(&path, &[2]).unwrap().value;
            assert!(read.file.format.contains(&format!("point format {format}")), "{}", read.file.format);
            assert_eq!(read.bounds, Some([[0.0; 3], [9.0; 3]]));
            assert_eq!(read.file.not_written.is_some(), matches!(format, 4 | 5 | 9 | 10));
        }
    }
}

#[test]
fn the_versions_before_1_3() {
    for name in ["1.0_0", "1.0_1", "1.1_0", "1.1_1", "1.2_0", "1.2_1", "1.2_2", "1.2_3"] {
        let path = data().join(format!("formats/{name}.las"));
        assert_eq!(classes(&path), (1, 0, vec![(2, 1)]), "{name}");
        let read = cloud::read(&path, &[2]).unwrap().value;
        let [x, y, z] = read.ground[0];
        assert!((x - 470_692.44).abs() < 1e-6 && (y - 4_602_888.9).abs() < 1e-6 && (z - 16.0).abs() < 1e-9, "{name}");
        assert_eq!(read.file.format, format!("LAS {}, point format {}", &name[..3], &name[4..]));
    }
    // It claims 1065 points and holds none.
    let short = cloud::read(&data().join("formats/1.2-no-points.las"), &[2]).unwrap_err().to_string();
    assert!(short.contains("the header says 1065 points of 34 bytes, the file has room for 0"), "{short}");
    assert_eq!(classes(&data().join("no-points.las")), (0, 0, vec![]));
    assert_eq!(classes(&data().join("1.2-empty-geotiff-vlrs.las")), (43, 0, vec![(0, 43)]));
}

/// LAS 1.5 keeps the points of formats 6 to 10 and the header up to its own additions: a file that says 1.5 reads as the
/// same file that says 1.4, and is not written again.
#[test]
fn the_newest_version_reads_as_the_one_before() {
    let folder = tempfile::tempdir().unwrap();
    for format in 6..=10 {
        let known = data().join(format!("formats/10_points_format_{format}.las"));
        let mut bytes = std::fs::read(&known).unwrap();
        assert_eq!(bytes[24..26], [1, 4]);
        bytes[25] = 5;
        let newer = folder.path().join("newer.las");
        std::fs::write(&newer, &bytes).unwrap();
        assert_eq!(classes(&newer), classes(&known));
        let read = cloud::read(&newer, &[2]).unwrap().value;
        assert_eq!(read.file.format, format!("LAS 1.5, point format {format}"));
        assert!(read.file.not_written.is_some());
        bytes[25] = 6;
        std::fs::write(&newer, &bytes).unwrap();
        assert!(cloud::read(&newer, &[2]).unwrap_err().to_string().contains("newer.las"));
    }
}
