//! How our own surface files are laid out, for their reader and their writer.
//!
//! All numbers are little-endian whatever the machine. In order: [`MAGIC`]; the version (4 bytes); the length of the frame
//! (4 bytes) and the frame as JSON; the number of vertices and of triangles (8 bytes each); the vertices, each as two steps on
//! the lattice from the one before (whole numbers in as few bytes as they take) and an elevation in metres (double precision);
//! the triangles, each as the step of its first corner from that of the one before, times eight, with a bit for each edge that
//! is a breakline, and the steps from its first corner to the other two; last the SHA-256 of all before it.
//!
//! Whole numbers: seven bits a byte, lowest first, the eighth bit says that more follow; steps below zero are folded in
//! between (0, -1, 1, -2, ...).

use sha2::{Digest, Sha256};

/// What such a file begins with.
pub(super) const MAGIC: &[u8; 16] = b"swalewright tin\n";
/// The version that is written, and the only one that is read.
pub(super) const VERSION: u32 = 1;
/// Bytes of the check at the end.
pub(super) const CHECK: usize = 32;
/// Fewest bytes that a vertex and a triangle take.
pub(super) const LEAST: [usize; 2] = [10, 3];

pub(super) fn check_of(bytes: &[u8]) -> [u8; CHECK] {
    Sha256::digest(bytes).into()
}

/// Zero or above: 0, -1, 1, -2, ... are 0, 1, 2, 3, ...
#[expect(clippy::cast_sign_loss, reason = "the sign is folded in first")]
pub(super) const fn fold(step: i64) -> u64 {
    ((step << 1) ^ (step >> 63)) as u64
}

/// The way back.
#[expect(clippy::cast_possible_wrap, reason = "halved first")]
pub(super) const fn unfold(number: u64) -> i64 {
    (number >> 1) as i64 ^ -((number & 1) as i64)
}

pub(super) fn put(bytes: &mut Vec<u8>, mut number: u64) {
    while number >= 0x80 {
        bytes.push((number & 0x7f) as u8 | 0x80);
        number >>= 7;
    }
    bytes.push((number & 0x7f) as u8);
}

/// Takes a whole number off the front.
pub(super) fn take(bytes: &mut &[u8]) -> Option<u64> {
    let mut number = 0;
    for shift in (0..64).step_by(7) {
        let (&byte, rest) = bytes.split_first()?;
        *bytes = rest;
        // The tenth byte holds one bit.
        if shift == 63 && byte > 1 {
            return None;
        }
        number |= u64::from(byte & 0x7f) << shift;
        if byte < 0x80 {
            return Some(number);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn whole_numbers_come_back(steps in prop::collection::vec(any::<i64>(), 0..20)) {
            let mut bytes = Vec::new();
            steps.iter().for_each(|&step| put(&mut bytes, fold(step)));
            let mut left = &bytes[..];
            for step in steps {
                prop_assert_eq!(take(&mut left).map(unfold), Some(step));
            }
            prop_assert_eq!(take(&mut left), None);
        }
    }

    #[test]
    fn small_steps_take_a_byte_and_too_long_ones_are_none() {
        assert_eq!([0, -1, 1, -2, 63, -64].map(fold), [0, 1, 2, 3, 126, 127]);
        assert_eq!(take(&mut &[0xff; 9][..]), None);
        assert_eq!(take(&mut &[0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 2][..]), None);
        assert_eq!(take(&mut &[0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 1][..]), Some(u64::MAX));
    }
}
