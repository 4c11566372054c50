//! Files whole or not at all: a temporary name in the same folder, flush, rename. Folders are swapped by rename.

use super::WriteError;
use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

/// Writes these bytes.
///
/// # Errors
/// [`WriteError::File`]; nothing is left behind then, and an earlier file of the name stands as it was.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    write_with(path, |out| out.write_all(bytes))
}

/// Writes what `fill` gives.
///
/// # Errors
/// As [`write`].
pub fn write_with(path: &Path, fill: impl FnOnce(&mut dyn Write) -> std::io::Result<()>) -> Result<(), WriteError> {
    replace(path, |temporary| {
        let fault = |source| WriteError::file(path, source);
        let mut out = BufWriter::with_capacity(1 << 16, File::create(temporary).map_err(fault)?);
        fill(&mut out).map_err(fault)?;
        let file = out.into_inner().map_err(|whole| fault(whole.into_error()))?;
        file.sync_all().map_err(fault)
    })
}

/// Lets `make` create a file under a temporary name beside `path`, then moves it there.
pub(super) fn replace(path: &Path, make: impl FnOnce(&Path) -> Result<(), WriteError>) -> Result<(), WriteError> {
    let temporary = beside(path, "part");
    // A part left behind by a run that was killed.
    let _ = fs::remove_file(&temporary);
    let done =
        make(&temporary).and_then(|()| fs::rename(&temporary, path).map_err(|source| WriteError::file(path, source)));
    if done.is_err() {
        let _ = fs::remove_file(&temporary);
    }
    done
}

/// Waits until a file that another library wrote is on the disk.
pub(super) fn flush(path: &Path) -> std::io::Result<()> {
    File::open(path)?.sync_all()
}

/// Makes a folder with all above it.
///
/// # Errors
/// [`WriteError::File`].
pub fn make_folder(path: &Path) -> Result<(), WriteError> {
    fs::create_dir_all(path).map_err(|source| WriteError::file(path, source))
}

/// Removes a file; one that is not there is no fault.
///
/// # Errors
/// [`WriteError::File`].
pub fn remove_file(path: &Path) -> Result<(), WriteError> {
    match fs::remove_file(path) {
        Err(source) if source.kind() != std::io::ErrorKind::NotFound => Err(WriteError::file(path, source)),
        _ => Ok(()),
    }
}

/// Removes a folder with all in it; one that is not there is no fault.
///
/// # Errors
/// [`WriteError::File`].
pub fn remove_folder(path: &Path) -> Result<(), WriteError> {
    match fs::remove_dir_all(path) {
        Err(source) if source.kind() != std::io::ErrorKind::NotFound => Err(WriteError::file(path, source)),
        _ => Ok(()),
    }
}

/// Moves a file or folder within one disk.
///
/// # Errors
/// [`WriteError::File`].
pub fn rename(from: &Path, to: &Path) -> Result<(), WriteError> {
    fs::rename(from, to).map_err(|source| WriteError::file(from, source))
}

/// An empty folder under a temporary name beside `path`, to be filled and given to [`swap_folder`].
///
/// # Errors
/// [`WriteError::File`].
pub fn new_folder(path: &Path) -> Result<PathBuf, WriteError> {
    let temporary = beside(path, "part");
    remove_folder(&temporary)?;
    make_folder(&temporary)?;
    Ok(temporary)
}

/// Puts a filled folder in the place of `path`; what stood there is removed once the new one stands.
///
/// # Errors
/// [`WriteError::File`]; the old folder is put back then.
pub fn swap_folder(filled: &Path, path: &Path) -> Result<(), WriteError> {
    let old = beside(path, "old");
    remove_folder(&old)?;
    let had = match fs::rename(path, &old) {
        Ok(()) => true,
        Err(source) if source.kind() == std::io::ErrorKind::NotFound => false,
        Err(source) => return Err(WriteError::file(path, source)),
    };
    if let Err(source) = fs::rename(filled, path) {
        if had {
            let _ = fs::rename(&old, path);
        }
        return Err(WriteError::file(path, source));
    }
    remove_folder(&old)
}

/// Removes what a run that was killed left under temporary names in a folder.
///
/// # Errors
/// [`WriteError::File`].
pub fn remove_leftovers(folder: &Path) -> Result<(), WriteError> {
    let fault = |source| WriteError::file(folder, source);
    for entry in fs::read_dir(folder).map_err(fault)? {
        let path = entry.map_err(fault)?.path();
        let hidden = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
        if hidden && path.extension().is_some_and(|ending| ending == "part" || ending == "old") {
            if path.is_dir() { remove_folder(&path)? } else { remove_file(&path)? }
        }
    }
    Ok(())
}

/// `folder/name` becomes `folder/.name.part`.
fn beside(path: &Path, ending: &str) -> PathBuf {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    path.with_file_name(format!(".{name}.{ending}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failed_write_leaves_the_earlier_file_and_no_part() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("stakes.csv");
        write(&path, b"first").unwrap();
        let failed = write_with(&path, |out| {
            out.write_all(b"half")?;
            Err(std::io::Error::other("disk full"))
        });
        assert_eq!(failed.unwrap_err().to_string(), format!("cannot write {}: disk full", path.display()));
        assert_eq!(fs::read(&path).unwrap(), b"first");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_folder_is_swapped_whole() {
        let folder = tempfile::tempdir().unwrap();
        let stage = folder.path().join("works");
        for text in ["one", "two"] {
            let filled = new_folder(&stage).unwrap();
            write(&filled.join(text), text.as_bytes()).unwrap();
            swap_folder(&filled, &stage).unwrap();
        }
        assert!(!stage.join("one").exists(), "nothing of the old folder is left in the new one");
        assert_eq!(fs::read(stage.join("two")).unwrap(), b"two");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_missing_folder_is_told_with_its_path() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("nowhere/stakes.csv");
        let told = write(&path, b"").unwrap_err().to_string();
        assert!(told.contains("nowhere/stakes.csv") && told.contains("there is no such file or folder"), "{told}");
    }
}
