//! GDAL as a second reader of the map files: the Python that has it.

use std::path::{Path, PathBuf};
use std::process::Command;

/// The Python with pyogrio: the one that `SWALEWRIGHT_PYTHON` names, else the one that `make test` sets up. `None` only
/// when `SWALEWRIGHT_SKIP_GDAL=1` says that these tests are not wanted, which is told.
///
/// # Panics
/// When there is none: a test that asked nobody must not look as if it had passed.
#[expect(clippy::print_stderr, reason = "a test that is skipped says so")]
fn python() -> Option<PathBuf> {
    if let Some(python) = std::env::var_os("SWALEWRIGHT_PYTHON") {
        return Some(python.into());
    }
    let set_up = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/python/bin/python");
    if set_up.exists() {
        return Some(set_up);
    }
    assert!(
        std::env::var_os("SWALEWRIGHT_SKIP_GDAL").is_some_and(|said| said == "1"),
        "GDAL was not asked: `.ci/setup test` makes target/python with it, or SWALEWRIGHT_PYTHON names a Python that has \
         pyogrio, or SWALEWRIGHT_SKIP_GDAL=1 leaves these tests out"
    );
    eprintln!("SKIPPED: GDAL was not asked, since SWALEWRIGHT_SKIP_GDAL=1");
    None
}

/// Lets GDAL read every map file below a folder; a warning of its is a failure.
pub(crate) fn reads(folder: &Path) {
    let Some(python) = python() else { return };
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/gdal_reads.py");
    let output = Command::new(python).arg(script).arg(folder).output().expect("Python runs");
    let said = [output.stdout, output.stderr].map(|said| String::from_utf8_lossy(&said).into_owned());
    assert!(output.status.success(), "{}{}", said[0], said[1]);
}
