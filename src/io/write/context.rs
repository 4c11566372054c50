//! What every map file of a site is written with: its frame, the frame's definition, the way to longitude and
//! latitude, and the site's date.

use crate::frame::{FrameDefinition, FrameError, Geographic, Projector, SiteFrame};

/// Made once a run: opening PROJ's database for each file would cost more than writing it.
#[derive(Debug)]
pub struct MapContext {
    /// The site's frame.
    pub frame: SiteFrame,
    /// What is known of it.
    pub definition: FrameDefinition,
    /// To longitude and latitude; `None` for a site grid.
    pub projector: Option<Projector>,
    /// `YYYY-MM-DD`: the site's date, never the clock's.
    pub date: String,
}

impl MapContext {
    /// The context of a site. A `date` that is not `YYYY-MM-DD` becomes `1970-01-01`.
    ///
    /// # Errors
    /// [`FrameError`] when the frame is not known, or has no trusted way to longitude and latitude.
    pub fn new(frame: &SiteFrame, date: &str) -> Result<Self, FrameError> {
        let projector = if frame.is_local() { None } else { Some(Projector::new(frame, &Geographic::Wgs84)?) };
        let definition = projector
            .as_ref()
            .map_or_else(|| FrameDefinition::local(frame.unit), |projector| projector.definition().clone());
        let date = if is_date(date) { date } else { "1970-01-01" };
        Ok(Self { frame: frame.clone(), definition, projector, date: date.to_owned() })
    }
}

fn is_date(text: &str) -> bool {
    text.len() == 10
        && text.bytes().enumerate().all(|(at, byte)| match at {
            4 | 7 => byte == b'-',
            _ => byte.is_ascii_digit(),
        })
}
