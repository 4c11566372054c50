//! SHA-256 of files and the keys of stages.

use sha2::{Digest, Sha256};
use std::io::Read;

/// SHA-256 of some bytes, in hexadecimal.
pub(super) fn of_bytes(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}

/// SHA-256 of all that a reader gives, in hexadecimal, and its length in bytes; a cloud of gigabytes passes through in pieces.
pub(super) fn of_reader(mut reader: impl Read) -> std::io::Result<(String, u64)> {
    let mut hash = Sha256::new();
    let mut piece = vec![0; 1 << 16];
    let mut bytes = 0;
    loop {
        match reader.read(&mut piece) {
            Ok(0) => return Ok((hexadecimal(&hash.finalize()), bytes)),
            Ok(read) => {
                hash.update(&piece[..read]);
                bytes += read as u64;
            }
            Err(error) if error.kind() == std::io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
}

/// Builds a key from named parts; each part's length goes in before it, so that no two lists of parts run together.
#[derive(Debug, Default)]
pub(super) struct KeyBuilder {
    hash: Sha256,
}

impl KeyBuilder {
    pub(super) fn part(mut self, name: &str, text: &str) -> Self {
        for piece in [name, text] {
            self.hash.update((piece.len() as u64).to_le_bytes());
            self.hash.update(piece.as_bytes());
        }
        self
    }

    pub(super) fn finish(self) -> String {
        hexadecimal(&self.hash.finalize())
    }
}

fn hexadecimal(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 16] = b"0123456789abcdef";
    bytes.iter().flat_map(|byte| [byte >> 4, byte & 15]).map(|digit| char::from(DIGITS[usize::from(digit)])).collect()
}

#[cfg(test)]
mod tests {
    use super::{KeyBuilder, of_bytes, of_reader};

    /// FIPS 180-4, example of the one-block message "abc".
    #[test]
    fn the_published_example() {
        assert_eq!(of_bytes(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn a_reader_gives_what_its_bytes_give() {
        let bytes = vec![7_u8; 200_000];
        assert_eq!(of_reader(bytes.as_slice()).expect("memory can be read"), (of_bytes(&bytes), 200_000));
    }

    #[test]
    fn parts_do_not_run_together() {
        let key = |a: &str, b: &str| KeyBuilder::default().part("x", a).part("x", b).finish();
        assert_ne!(key("ab", "c"), key("a", "bc"));
    }
}
