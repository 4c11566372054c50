//! Stakes: where they stand, what they refer to, how far to it, and cut or fill from the stake's own ground.

mod stake;

pub use stake::{Action, AsBuiltShot, Stake, StakeKind, StakeList, Target};
