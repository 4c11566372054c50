//! What the system says of a file, in plain words: its own text speaks to programmers.

use std::io::{Error, ErrorKind};

/// Why a file or folder cannot be read or written, for a person; lower case, no full stop.
#[must_use]
pub fn reason(error: &Error) -> String {
    let known = match error.kind() {
        ErrorKind::NotFound => "there is no such file or folder",
        ErrorKind::PermissionDenied => "no permission",
        ErrorKind::IsADirectory => "it is a folder, not a file",
        ErrorKind::NotADirectory => "a part of its path is a file, not a folder",
        ErrorKind::AlreadyExists => "a file of that name stands there",
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => "the disk is full",
        ErrorKind::ReadOnlyFilesystem => "the disk is read-only",
        ErrorKind::InvalidFilename => "the system does not take such a name",
        ErrorKind::UnexpectedEof => CUT_SHORT,
        ErrorKind::InvalidData => "it is not text in UTF-8",
        _ => return error.to_string(),
    };
    known.to_owned()
}

const CUT_SHORT: &str = "it ends where more is due: it is cut short";

/// What a library that unpacks a format says of a file, with what it passes on of the system in plain words.
#[must_use]
pub(crate) fn of_library(error: &impl std::fmt::Display) -> String {
    let text = error.to_string();
    // The standard library's own words for `UnexpectedEof`, which libraries wrap in errors of theirs.
    let ends = ["failed to fill whole buffer", "unexpected end of file"].iter().any(|words| text.contains(words));
    if ends { CUT_SHORT.to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::{CUT_SHORT, of_library, reason};
    use std::fs;

    #[test]
    fn no_words_of_the_system() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("a.csv");
        fs::write(&file, b"\xff\xfe").unwrap();
        let told = |error: std::io::Error| reason(&error);
        assert_eq!(told(fs::read_to_string(folder.path()).unwrap_err()), "it is a folder, not a file");
        assert_eq!(told(fs::read(file.join("b")).unwrap_err()), "a part of its path is a file, not a folder");
        assert_eq!(told(fs::read(folder.path().join("b")).unwrap_err()), "there is no such file or folder");
        assert_eq!(told(fs::read_to_string(&file).unwrap_err()), "it is not text in UTF-8");
        let short = std::io::Read::read_exact(&mut &b"ab"[..], &mut [0; 3]).unwrap_err();
        assert_eq!(of_library(&tiff::TiffError::IoError(std::io::Error::from(short.kind()))), CUT_SHORT);
        assert_eq!(of_library(&short), CUT_SHORT);
        assert_eq!(of_library(&tiff::TiffError::IoError(short)), CUT_SHORT);
        assert_eq!(of_library(&"no such tag"), "no such tag");
    }
}
