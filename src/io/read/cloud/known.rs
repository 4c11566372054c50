//! LAS 1.5 for a reader that knows LAS 1.4: the points of formats 6 to 10 and all of the header that is used here are laid
//! out alike in both, so the one byte that says 5 is handed on as 4. What 1.5 adds (times of the first and last point, an
//! offset of times) is not used. Source: LAS 1.5 specification (ASPRS), from memory; held against an independent reader in
//! docs/accuracy.md.

use std::io::{Read, Result, Seek, SeekFrom};

/// Where the header says which 1.x it is.
const MINOR: u64 = 25;
const NEWER: u8 = 5;
const KNOWN: u8 = 4;

/// A source whose header says at most 1.4.
pub(super) struct AsKnown<R> {
    inner: R,
    at: u64,
}

impl<R: Read + Seek> AsKnown<R> {
    /// From the source's start.
    pub(super) fn new(mut inner: R) -> Result<Self> {
        inner.rewind()?;
        Ok(Self { inner, at: 0 })
    }

    /// The header itself says 1.5.
    pub(super) fn is_newer(mut source: R) -> Result<bool> {
        let mut minor = [0];
        source.seek(SeekFrom::Start(MINOR))?;
        Ok(source.read(&mut minor)? == 1 && minor[0] == NEWER)
    }
}

impl<R: Read> Read for AsKnown<R> {
    fn read(&mut self, buffer: &mut [u8]) -> Result<usize> {
        let count = self.inner.read(buffer)?;
        if let Some(minor) =
            MINOR.checked_sub(self.at).and_then(|skip| buffer[..count].get_mut(usize::try_from(skip).ok()?))
            && *minor == NEWER
        {
            *minor = KNOWN;
        }
        self.at += count as u64;
        Ok(count)
    }
}

impl<R: Seek> Seek for AsKnown<R> {
    fn seek(&mut self, to: SeekFrom) -> Result<u64> {
        self.at = self.inner.seek(to)?;
        Ok(self.at)
    }
}
