//! Files moved as a whole, as the user says: a base set up on other coordinates, a pole height that was wrong all day.

use super::{places, projector_of};
use crate::frame::FrameDefinition;
use crate::survey::{PointFile, Position, Settings, SurveyError};

/// Moves the files that [`Settings::shifts`] names, before anything is fitted to them.
pub(super) fn apply(
    files: &mut [PointFile],
    settings: &Settings,
    definition: &FrameDefinition,
) -> Result<(), SurveyError> {
    for file in files {
        let Some((_, [east, north, up])) = settings.shifts.iter().find(|(name, _)| *name == file.name) else {
            continue;
        };
        let scale = file.unit.unwrap_or(definition.unit).metres();
        // Degrees that are not moved in plan stay degrees, and what the frame cannot take is left for later.
        let on_grid = projector_of(file, settings, definition)?.is_none();
        let places = places(std::slice::from_ref(file), settings, definition)?.concat();
        for (record, place) in file.records.iter_mut().zip(places) {
            if let Some(place) = place.filter(|_| on_grid || east.hypot(*north) > 0.0) {
                record.position =
                    Position::Grid { easting: (place.x + east) / scale, northing: (place.y + north) / scale };
            }
            record.elevation = record.elevation.map(|elevation| elevation + up / scale);
        }
    }
    Ok(())
}
