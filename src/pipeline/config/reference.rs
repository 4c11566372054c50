//! The reference page of the pipeline file, written from the declarations.

use super::keys::{Fallback, KEYS, of_table};
use std::fmt::Write as _;

/// `docs/reference/pipeline-file.md` as it must stand.
#[must_use]
pub fn reference_page() -> String {
    let mut page = String::from(
        "# The pipeline file\n\n\
         Written from `src/pipeline/config/keys.rs`; a test fails when the two differ. `UPDATE_DOCS=1 cargo test \
         reference_page` writes it again.\n\n\
         A number of any kind is written with its unit in quotes (`\"0.6 m\"`, `\"2 ft\"`, `\"2:1\"`, `\"0.5 %\"`); only \
         coordinate pairs and soil factors are bare. Files are named relative to the pipeline file. An unknown key is \
         an error.\n",
    );
    let mut tables: Vec<&str> = KEYS.iter().map(|key| key.table).collect();
    tables.dedup();
    for table in tables {
        let heading = match table {
            "" => "Top of the file".to_owned(),
            "swale" | "spillway" => format!("`[[{table}]]`"),
            _ => format!("`[{table}]`"),
        };
        let _ = write!(page, "\n## {heading}\n\n| key | written as | default | meaning |\n|---|---|---|---|\n");
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
