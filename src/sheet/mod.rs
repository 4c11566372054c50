//! Sheets for people: the operator's dig sheet as one self-contained HTML document.
//!
//! Invariant: one file, no scripts, nothing fetched from elsewhere; every text from the field is escaped; no minus sign
//! in front of a cut or a fill; what is not proven is said to be unproven.

mod amounts;
mod build;
mod cautions;
mod dam;
mod dig;
mod drain;
mod html;
mod input;
mod levels;
mod marks;
mod order;
mod pit;
mod soil;
mod spillway;
mod stakes;
#[cfg(test)]
mod tests;
mod told;
mod unstable;

pub use crate::draw::Region;
pub use crate::units::{FeetStyle, Figures};
pub use dig::dig_sheet;
pub use input::{DigSheetInput, Issue, StakeSides};
