//! Grids of the ground against published figures: a lake's table, a pair of elevation models.

use assert_cmd::Command;
use std::path::{Path, PathBuf};
use swalewright::pipeline::{self, PointOptions};
use swalewright::surface;

fn sample(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/grids").join(name)
}

fn told(arguments: &[&str]) -> serde_json::Value {
    let output = Command::new(env!("CARGO_BIN_EXE_swalewright")).args(arguments).arg("--json").output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

/// The published table of the lake counts cells. The surface through the same nodes holds the same water to 0.6 % at every
/// level that holds a twentieth of it or more (tests/data/grids/README.md says where both come from); its shore differs by up to
/// 0.7 % in area, since the count jumps by whole cells where the bed is flat.
#[test]
fn a_lake_holds_what_its_published_table_says() {
    let lake = pipeline::open_surface(&sample("lake_bed.tif").display().to_string(), &PointOptions::default(), None);
    let lake = lake.unwrap().value;
    let table = std::fs::read_to_string(sample("lake_levels.csv")).unwrap();
    let (mut levels, mut worst_area, mut worst_volume) = (0, 0.0_f64, 0.0_f64);
    for row in table.lines().skip(1) {
        let numbers: Vec<f64> = row.split(',').skip(1).map(|cell| cell.parse().unwrap()).collect();
        let [level, area, volume] = numbers[..] else { panic!("{row}") };
        let water = surface::below(&lake.tin, level);
        if level > 333.1 {
            levels += 1;
            worst_area = worst_area.max((water.area / area - 1.0).abs());
            worst_volume = worst_volume.max((water.volume / volume - 1.0).abs());
        }
    }
    assert!(levels > 100 && worst_area < 0.007 && worst_volume < 0.006, "{levels} {worst_area} {worst_volume}");
}

/// What a landslide model moved, cell by cell: 22,542.77 m3 more, 26,406.60 m3 less. On two surfaces
/// with all diagonals one way the net is that of the cells; where gain and loss meet, a triangle between them counts neither in
/// full, so both are a little less.
#[test]
fn cut_and_fill_between_two_elevation_models() {
    let folder = tempfile::tempdir().unwrap();
    let before = std::fs::read_to_string(sample("before.asc")).unwrap();
    let change = std::fs::read_to_string(sample("difference.asc")).unwrap();
    let after: Vec<String> = before
        .lines()
        .zip(change.lines())
        .enumerate()
        .map(|(at, (before, change))| {
            if at < 6 {
                return before.to_owned();
            }
            let cells = before.split(' ').zip(change.split(' ')).map(|(z, dz)| {
                let (z, dz): (f64, f64) = (z.parse().unwrap(), dz.parse().unwrap());
                format!("{:.6}", if dz == -9999.0 { z } else { z + dz })
            });
            cells.collect::<Vec<_>>().join(" ")
        })
        .collect();
    let path = folder.path().join("after.asc");
    std::fs::write(&path, after.join("\n")).unwrap();
    let json =
        told(&["volume", &sample("before.asc").display().to_string(), &path.display().to_string(), "--crs", "local"]);
    let number = |key: &str| json[key].as_f64().unwrap();
    assert!((number("net_m3") - (22_542.77 - 26_406.60)).abs() < 0.01, "{json}");
    // Summed over the same triangles of the differences by a program of a few lines apart from this one.
    assert!((number("fill_m3") - 21_636.79).abs() < 0.01 && (number("cut_m3") - 25_500.62).abs() < 0.01, "{json}");
    assert_eq!(json["from"], "grid");
}
