//! The reference page of the pipeline file, written from the declarations.

use super::keys::{Fallback, KEYS, of_table};
use std::fmt::Write as _;

/// `docs/reference/pipeline-file.md` as it must stand.
#[must_use]
pub fn reference_page() -> String {
    let mut page = String::from(
        "# The pipeline file\n\n\
         Every key that a pipeline file can hold, table by table. The file is TOML: `swalewright new` lays out one to start \
         from, and `run.json` prints every setting as it was used. A key that is not written has its default.\n\n\
         A number of any kind is written with its unit in quotes (`\"0.6 m\"`, `\"2 ft\"`, `\"2:1\"`, `\"0.5 %\"`); only \
         coordinate pairs and soil factors are bare. Files are named relative to the pipeline file. An unknown key is \
         an error. Region files (`within`, `boundary`) are [GeoJSON](../formats/geojson-and-kml.md) or \
         [GeoPackage](../formats/geopackage.md); point files are described [here](../formats/point-files.md), grids \
         [here](../formats/grids.md).\n",
    );
    let mut tables: Vec<&str> = KEYS.iter().map(|key| key.table).collect();
    tables.dedup();
    for table in tables {
        let heading = match table {
            "" => "Top of the file".to_owned(),
            "swale" | "spillway" | "storm" | "pond" | "borrow" | "dam" | "fall-line" | "test-pit"
            | "unstable-ground" => {
                format!("`[[{table}]]`")
            }
            _ if inline(table).is_some() => format!("`{table}`, a table in braces"),
            _ => format!("`[{table}]`"),
        };
        let words = inline(table).map(|example| format!("Written in place: `{example}`.\n\n")).unwrap_or_default();
        let _ = write!(page, "\n## {heading}\n\n{words}| key | written as | default | meaning |\n|---|---|---|---|\n");
        for key in of_table(table) {
            let standing = if key.standing.is_empty() { String::new() } else { format!(" ({})", key.standing) };
            let default = match key.fallback {
                Fallback::Required => "must be written".to_owned(),
                Fallback::Value(text) => format!("`{text}`{standing}"),
                Fallback::Absent(text) => format!("{text}{standing}"),
            };
            let _ = writeln!(page, "| `{}` | {} | {default} | {} |", key.name, key.takes, key.about);
        }
    }
    page
}

/// Tables that stand as a value in braces, each by example.
fn inline(table: &str) -> Option<&'static str> {
    Some(match table {
        "survey.shots" => r#"shots = [{ file = "day2.txt", delimiter = "tab" }]"#,
        "survey.grids" => r#"grids = [{ file = "dem.asc", no-data = 0 }]"#,
        "water-level.below" => r#"water-level = { below = { by = "0.3 m", at-shot = "day1.csv:41" } }"#,
        "water-level.to-catch" => r#"water-level = { to-catch = { area = "2 ha", near = [412350.0, 6187220.0] } }"#,
        "water-level.place" => r#"water-level = { place = { rank = 1, from = "430 m", to = "434 m" } }"#,
        "swale.down-slope" => r#"down-slope = { swales = 4, along-slope = "40 m" }"#,
        "swale.terraces" => r#"down-slope = { swales = 4, terraces = { x = "0.6 ft", y = "2 ft" } }"#,
        "swale.berm" => r#"berm = { crest = "1.0 m", batter = "2:1" }"#,
        "swale.ends" => r#"ends = { last = "overflow" }"#,
        "swale.crossings" => r#"crossings = [{ station = "80 m", width = "4 m", ramp = "8:1" }]"#,
        "swale.changes" => r#"changes = [{ from = "60 m", over = "10 m", bottom-width = "1.8 m", depth = "0.8 m" }]"#,
        "pit.floor" => r#"floor = { at = [412350.0, 6187220.0], length = "24 m", width = "15 m", turned = "30 deg" }"#,
        "pit.ramp" => r#"ramp = { side = 1, slope = "6:1", width = "4 m" }"#,
        "dam.cutoff" => r#"cutoff = { width = "2.5 m", depth = "0.6 m", batter = "1:1" }"#,
        "pond.shelf" => r#"shelf = { below-water = "0.4 m", width = "2 m" }"#,
        "fall-line.channel" => r#"channel = { bottom-width = "0.6 m", depth = "to-carry", flow = "0.25 m3/s" }"#,
        "fall-line.channel.berm" => r#"berm = { height = "0.4 m", crest = "0.6 m", batter = "2:1" }"#,
        "test-pit.layers" => r#"layers = [{ soil = "loam", to = "0.9 m" }, { soil = "clay" }]"#,
        "earth.soil" => r#"soil = { name = "our loam", loose-per-bank = 1.25, placed-per-bank = 0.9 }"#,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::reference_page;

    #[test]
    fn reference_page_is_up_to_date() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/reference/pipeline-file.md");
        if std::env::var_os("UPDATE_DOCS").is_some() {
            std::fs::create_dir_all(concat!(env!("CARGO_MANIFEST_DIR"), "/docs/reference")).unwrap();
            std::fs::write(path, reference_page()).unwrap();
        }
        let found = std::fs::read_to_string(path).expect("docs/reference/pipeline-file.md stands in the repository");
        assert_eq!(found, reference_page(), "write it again with UPDATE_DOCS=1 cargo test reference_page");
    }
}
