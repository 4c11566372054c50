//! Writes the demo's sample of the invented farm Kestrel Flat:
//!
//! ```text
//! cargo run --release --example kestrel_flat -- shots FOLDER
//! cargo run --release --example kestrel_flat -- asbuilt RUN FOLDER
//! cargo run --release --example kestrel_flat -- many COUNT FOLDER
//! ```
//!
//! `shots` writes marks.csv, day1.csv, day2.txt and planted.csv (which blunders the shots hold). `asbuilt` takes the list
//! of as-built shots from a run's folder and writes asbuilt.csv, with one stretch of low crest. `many` writes a site of its own with about so many
//! clean shots, to measure how long a run takes. The same bytes each time.

mod dug;
mod field;
mod truth;

use std::path::Path;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["shots", folder] => {
            let sample = field::sample();
            std::fs::create_dir_all(folder)?;
            let files = [
                ("marks.csv", &sample.marks),
                ("day1.csv", &sample.day1),
                ("day2.txt", &sample.day2),
                ("planted.csv", &sample.planted),
            ];
            for (name, text) in files {
                std::fs::write(Path::new(folder).join(name), text)?;
            }
            Ok(())
        }
        ["asbuilt", run, folder] => {
            let rows = dug::read(&Path::new(run).join("stakes/asbuilt-shots.csv"))?;
            std::fs::write(Path::new(folder).join("asbuilt.csv"), dug::shots(&rows))?;
            Ok(())
        }
        ["many", count, folder] => {
            let (shots, pipeline) = field::many(count.parse()?);
            std::fs::create_dir_all(folder)?;
            std::fs::write(Path::new(folder).join("shots.csv"), shots)?;
            std::fs::write(Path::new(folder).join("site.toml"), pipeline)?;
            Ok(())
        }
        _ => {
            Err("use: kestrel_flat shots FOLDER, kestrel_flat asbuilt RUN FOLDER, or kestrel_flat many COUNT FOLDER"
                .into())
        }
    }
}
