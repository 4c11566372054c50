//! What a design that cannot be made is called for those who match on it, and whose it is.

use super::WorksError;

impl WorksError {
    /// A stable name, and the name of the work that cannot be made; `None` where the user stopped.
    #[must_use]
    pub fn code_and_work(&self) -> Option<(&'static str, &str)> {
        let (code, name): (_, &String) = match self {
            Self::WaterLevelOffGround { swale, .. } => ("works::water-level-off-ground", swale),
            Self::NoLineInRegion { swale, .. } => ("works::no-line-in-region", swale),
            Self::NoRoomForLine { swale, .. } => ("works::no-room-for-line", swale),
            Self::NoRoomAcross { swale, .. } => ("works::no-room-across", swale),
            Self::LineTooShort { swale, .. } => ("works::line-too-short", swale),
            Self::BatterNeverMeets { works, .. } => ("works::batter-never-meets", &works.name),
            Self::SillDoesNotFit { swale, .. } => ("works::sill-does-not-fit", swale),
            Self::OverflowWithoutSill { swale, .. } => ("works::overflow-without-sill", swale),
            Self::PartDoesNotFit { swale, .. } => ("works::part-does-not-fit", swale),
            Self::Weir { works, .. } => ("works::weir", &works.name),
            Self::NoFloodRise { works, .. } => ("works::no-flood-rise", &works.name),
            Self::HeadOverRise { works, .. } => ("works::head-over-rise", &works.name),
            Self::SpillwayOnWall { works, .. } => ("works::spillway-on-wall", &works.name),
            Self::NoSpillwayThere { works, .. } => ("works::no-spillway-there", &works.name),
            Self::HeadOverRim { works, .. } => ("works::head-over-rim", &works.name),
            Self::SpillwayTooNear { works, .. } => ("works::spillway-too-near", &works.name),
            Self::SillOnFill { works, .. } => ("works::sill-on-fill", &works.name),
            Self::LowRidge { works, .. } => ("works::low-ridge", &works.name),
            Self::NoWayOut { works, .. } => ("works::no-way-out", &works.name),
            Self::SillNotReached { works, .. } => ("works::sill-not-reached", &works.name),
            Self::PlaceOffSurvey { works, .. } => ("works::place-off-survey", &works.name),
            Self::CannotCatch { swale, .. } => ("works::cannot-catch", swale),
            Self::NoSuchPlace { swale, .. } => ("works::no-such-place", swale),
            Self::TooManyPlaces { swale, .. } => ("works::too-many-places", swale),
            Self::NoRoomBelow { swale, .. } => ("works::no-room-below", swale),
            Self::NoFallLine { line, .. } => ("works::no-fall-line", line),
            Self::CannotCarry { works, .. } => ("works::cannot-carry", &works.name),
            Self::CannotHold { works, .. } => ("works::cannot-hold", &works.name),
            Self::CutsEarlierWork { works, .. } => ("works::cuts-earlier-work", &works.name),
            Self::FillsEarlierDig { works, .. } => ("works::fills-earlier-dig", &works.name),
            Self::FloorAboveGround { works, .. } => ("works::floor-above-ground", &works.name),
            Self::BadFloor { works, .. } => ("works::bad-floor", &works.name),
            Self::RampTooSteep { works, .. } => ("works::ramp-too-steep", &works.name),
            Self::WaterLevelOff { works, .. } => ("works::water-level-off", &works.name),
            Self::NoRoomForPit { works, .. } => ("works::no-room-for-pit", &works.name),
            Self::CannotYield { works, .. } => ("works::cannot-yield", &works.name),
            Self::NoAbutment { works, .. } => ("works::no-abutment", &works.name),
            Self::ReservoirLeaks { works, .. } => ("works::reservoir-leaks", &works.name),
            Self::NoEarlierWork { works, .. } => ("works::no-earlier-work", &works.name),
            Self::NothingToYield { works, .. } => ("works::nothing-to-yield", &works.name),
            Self::LeavesSurvey { works, .. } => ("works::leaves-survey", &works.name),
            Self::NeverMeetsGround { works, .. } => ("works::never-meets-ground", &works.name),
            Self::Compose { works, .. } => ("works::compose", &works.name),
            Self::Shape { works, .. } => ("works::shape", &works.name),
            Self::OfFoundSize { error, .. } => return error.code_and_work(),
            Self::Cancelled(_) => return None,
        };
        Some((code, name))
    }
}
