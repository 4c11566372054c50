//! SHA-256 of files and the keys of stages.

use sha2::{Digest, Sha256};

/// SHA-256 of some bytes, in hexadecimal.
pub(super) fn of_bytes(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
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
    use super::{KeyBuilder, of_bytes};

    /// FIPS 180-4, example of the one-block message "abc".
    #[test]
    fn the_published_example() {
        assert_eq!(of_bytes(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn parts_do_not_run_together() {
        let key = |a: &str, b: &str| KeyBuilder::default().part("x", a).part("x", b).finish();
        assert_ne!(key("ab", "c"), key("a", "bc"));
    }
}
