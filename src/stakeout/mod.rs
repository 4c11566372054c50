//! Stakes: where they stand, what they refer to, how far to it, and cut or fill from the stake's own ground.

mod settings;
mod stake;

pub use settings::StakeSettings;
pub use stake::{Action, AsBuiltShot, Stake, StakeKind, StakeList, Target};
