//! Ground and the rest of an unclassified cloud.
//!
//! The method is the simple morphological filter of Pingel, Clarke and McBride 2013: the lowest point of each cell, cells
//! whose height drops under openings with growing discs set aside as objects, the surface filled across them, and points
//! near that surface are ground. Four things differ from the paper, each measured (docs/accuracy.md): pits of lone low points
//! go first, by their depth against their width; cells at the upper edge of a bank or slope that continue the ground beside them
//! are given back; the openings look at cells near points only, so that a roof at the
//! cloud's edge is not drawn out into the void; and where points are dense, the distance that still counts as ground
//! follows the roughness found nearby, so that tufts of grass do not pass for ground.
//!
//! Invariant: the points are never held; they come again for each look ([`PointStream`]), and memory follows the area of
//! the cells alone, bounded by [`ClassifySettings::most_cells`]. The same points in another order give the same ground.

mod fill;
mod opening;
mod raster;
mod roughness;
mod segment;

use crate::geom::{Bounds, Point3};
use crate::notes::{Cancelled, Note, Noted, Reporter};
use raster::Raster;
use roughness::Roughness;

/// A point as the classifier looks at it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CloudPoint {
    /// Where it is, local metres.
    pub place: Point3,
    /// It is the last return of its pulse, or the only one: what stands before it cannot be ground.
    pub last: bool,
}

/// A cloud that can be gone through again and again, the same points each time.
pub trait PointStream {
    /// Why the points cannot be had.
    type Error;

    /// Hands over every point once.
    ///
    /// # Errors
    /// When the points cannot be had.
    fn pass(&self, take: &mut dyn FnMut(CloudPoint)) -> Result<(), Self::Error>;
}

/// How a cloud is told apart. The defaults are the one set of the paper's library use (cell 1 m, slope 0.15, widest disc 18 m,
/// 0.5 m and 1.25 times the slope), which the measurements in docs/accuracy.md confirm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClassifySettings {
    /// Side of a cell, metres.
    pub cell: f64,
    /// Rise per metre beyond which a drop is an object's edge.
    pub slope: f64,
    /// Radius of the widest disc, metres: objects up to twice as wide are found.
    pub widest: f64,
    /// Distance from the surface that is still ground where it is flat, metres.
    pub near: f64,
    /// What a slope of one adds to that distance, metres.
    pub near_slope: f64,
    /// Most cells in the rectangle around the cloud: about 40 bytes each are needed.
    pub most_cells: u64,
}

impl Default for ClassifySettings {
    fn default() -> Self {
        Self { cell: 1.0, slope: 0.15, widest: 18.0, near: 0.5, near_slope: 1.25, most_cells: 50_000_000 }
    }
}

/// Why a cloud cannot be told apart.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ClassifyError<E> {
    /// The points cannot be had.
    #[error(transparent)]
    Stream(E),
    /// Asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    /// No point is a last return.
    #[error("the cloud has no points that could be ground")]
    NoPoints,
    /// The rectangle around the cloud is too large for the memory allowed.
    #[error(
        "the rectangle around the cloud is {width_m:.0} m by {height_m:.0} m, {hectares:.0} ha; {most_hectares:.0} ha at most \
         are told apart at once: cut it to the site, look for stray points far off, or allow a larger area"
    )]
    TooLarge {
        /// Its width.
        width_m: f64,
        /// Its height.
        height_m: f64,
        /// Its area.
        hectares: f64,
        /// What is allowed.
        most_hectares: f64,
    },
}

/// What a point is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Ground.
    Ground,
    /// Above it, or doubtful.
    Other,
    /// So far below that it cannot be true.
    Low,
}

/// A point farther than this below the surface, beyond what is near, is a low outlier, metres; a choice of this program.
const LOW: f64 = 1.0;

/// The surface that tells ground from the rest.
#[derive(Debug, Clone, PartialEq)]
pub struct Classifier {
    surface: Raster,
    slope: Raster,
    roughness: Roughness,
    settings: ClassifySettings,
}

impl Classifier {
    /// What a point of the cloud is.
    #[must_use]
    pub fn verdict(&self, point: CloudPoint) -> Verdict {
        let (above, reach) = self.above(point.place);
        if above < -reach.max(LOW) {
            return Verdict::Low;
        }
        // Roughness only ever narrows: where it is great it may be the objects' own. On a slope the lowest point of a cell
        // stands up to half a cell's rise below the cell's middle.
        let leaning = self.settings.cell / 2.0 * self.slope.at(point.place.plan());
        let (lowest, highest) =
            self.roughness.limits(point.place.plan()).map_or((-reach, reach), |(lowest, highest)| {
                ((lowest - leaning).max(-reach), (highest + leaning).min(reach))
            });
        let near = above >= lowest && above <= highest;
        if near && point.last { Verdict::Ground } else { Verdict::Other }
    }

    /// Height above the surface, and how far from it may be ground.
    fn above(&self, place: Point3) -> (f64, f64) {
        let plan = place.plan();
        let reach = self.settings.near + self.settings.near_slope * self.slope.at(plan);
        (place.z - self.surface.at(plan), reach)
    }
}

/// Looks through a cloud and makes the surface that tells its ground.
///
/// # Errors
/// [`ClassifyError`] when the points cannot be had, there are none, they spread too far, or a stop is wanted.
pub fn classify<S: PointStream>(
    stream: &S,
    settings: &ClassifySettings,
    reporter: &dyn Reporter,
) -> Result<Noted<Classifier>, ClassifyError<S::Error>> {
    let pass = |take: &mut dyn FnMut(CloudPoint)| {
        reporter.checkpoint()?;
        stream.pass(take).map_err(ClassifyError::Stream)
    };
    let mut bounds: Option<Bounds> = None;
    pass(&mut |point| {
        if point.last {
            let place = point.place.plan();
            let corners = bounds.map(|known| [known.low, known.high]);
            bounds = Bounds::around(corners.into_iter().flatten().chain([place]));
        }
    })?;
    let bounds = bounds.ok_or(ClassifyError::NoPoints)?;
    let mut lowest = Raster::over(bounds, settings.cell, settings.most_cells).ok_or_else(|| {
        let (width_m, height_m) = (bounds.width(), bounds.height());
        let most_hectares = settings.most_cells as f64 * settings.cell * settings.cell / 1e4;
        ClassifyError::TooLarge { width_m, height_m, hectares: width_m * height_m / 1e4, most_hectares }
    })?;
    pass(&mut |point| {
        if point.last {
            lowest.lower(point.place);
        }
    })?;
    reporter.checkpoint()?;
    let cells = lowest.known();
    let (surface, found) = segment::surface(&lowest, settings);
    let slope = surface.slope();
    let roughness = Roughness::over(bounds);
    let mut made = Classifier { surface, slope, roughness, settings: *settings };
    let mut roughness = Roughness::over(bounds);
    pass(&mut |point| {
        let (above, reach) = made.above(point.place);
        if point.last && above.abs() <= reach {
            roughness.take(point.place.plan(), above);
        }
    })?;
    roughness.settle();
    made.roughness = roughness;
    let mut notes = Vec::new();
    if found.pits > 0 {
        let text = format!("{} of {cells} cells hold lone low points, which are left out", found.pits);
        notes.push(Note::new("classify::low-points", text));
    }
    Ok(Noted { value: made, notes })
}

#[cfg(test)]
mod tests;
