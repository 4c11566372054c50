//! A site folder to run in, made by the program itself.

use assert_cmd::Command;
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// The program.
pub(crate) fn swalewright() -> Command {
    Command::new(env!("CARGO_BIN_EXE_swalewright"))
}

/// A folder that `new` laid out.
pub(crate) struct Site {
    folder: TempDir,
}

/// What a command came to.
pub(crate) struct Told {
    pub(crate) code: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Told {
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("stdout is no JSON ({error}): {}", self.out))
    }
}

impl Site {
    pub(crate) fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let site = Self { folder };
        let told = site.run(&["new", "."]);
        assert_eq!(told.code, 0, "{}", told.err);
        site
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Runs the program in the site's folder.
    pub(crate) fn run(&self, arguments: &[&str]) -> Told {
        let output = swalewright().current_dir(self.folder.path()).args(arguments).output().unwrap();
        Told {
            code: output.status.code().unwrap_or(-1),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    pub(crate) fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    pub(crate) fn json(&self, name: &str) -> Value {
        serde_json::from_str(&self.read(name)).unwrap()
    }

    pub(crate) fn write(&self, name: &str, text: &str) {
        std::fs::write(self.path(name), text).unwrap();
    }

    /// Puts other text in place of some of a file's.
    pub(crate) fn edit(&self, name: &str, old: &str, new: &str) {
        let text = self.read(name);
        assert!(text.contains(old), "{name} does not hold `{old}`");
        self.write(name, &text.replacen(old, new, 1));
    }
}

/// Every file below a folder with its bytes, but the cache and the times of the run.
pub(crate) fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fn walk(root: &Path, folder: &Path, into: &mut BTreeMap<String, Vec<u8>>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let name = path.strip_prefix(root).unwrap().to_string_lossy().into_owned();
            if name == ".cache" || name == "run-log.json" {
                continue;
            }
            if path.is_dir() {
                walk(root, &path, into);
            } else {
                into.insert(name, std::fs::read(&path).unwrap());
            }
        }
    }
    let mut found = BTreeMap::new();
    walk(folder, folder, &mut found);
    found
}
