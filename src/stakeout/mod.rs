//! Stakes: where they stand, what they refer to, how far to it, and cut or fill from the stake's own ground.

mod along;
mod asbuilt;
mod asked;
mod dam;
mod drain;
mod ids;
mod peg;
mod pit;
mod set;
#[cfg(test)]
mod set_tests;
mod setting;
mod settings;
mod spillway;
mod stake;
mod writes;

pub use asbuilt::MOST_SHOTS;
pub use ids::work_of_line_stake;
pub use peg::{Peg, pegs};
pub use set::stakes;
pub use settings::StakeSettings;
pub use stake::{Action, AsBuiltShot, Stake, StakeKind, StakeList, Target, Way};
pub use writes::{amount, words};
