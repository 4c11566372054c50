//! What `[survey]` says of clouds: which classes are ground, and when ground is found here.

use super::keys;
use super::walk::{Shape, Table};
use crate::io::read::cloud::GROUND;
use crate::units::{Area, parse_area, parse_memory};

/// When the ground of a cloud is found anew.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Classify {
    /// When the file calls no point ground.
    #[default]
    WhenUnclassified,
    /// Whatever the file calls ground.
    Always,
    /// Never: a file without ground is refused.
    Never,
}

/// What is asked of clouds.
#[derive(Debug, Clone, PartialEq)]
pub struct CloudsAsked {
    /// Classes that are ground. Default 2.
    pub ground_classes: Vec<u8>,
    /// When ground is found anew.
    pub classify: Classify,
    /// Greatest rectangle in which ground is found anew; memory follows it. Default 5000 ha.
    pub largest: Area,
    /// Most memory for their ground points and the surface made of these, bytes. Default 8 GB.
    pub memory: f64,
    /// What their elevations are above.
    pub heights: CloudHeights,
}

/// What the elevations of clouds are above.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CloudHeights {
    /// The height system of the site.
    #[default]
    AsGiven,
    /// The ellipsoid: the geoid grid and the inclined plane of the site are applied to them as to the shots.
    Ellipsoidal,
}

/// Memory that a ground point takes in a run, bytes: itself in the lists it goes through, its share of the surface and of what is
/// written of that; measured at 3.1 million points (656 each), see docs/performance.md.
const BYTES_A_POINT: f64 = 700.0;

impl CloudsAsked {
    /// Ground points that the memory allows.
    #[must_use]
    pub fn most_points(&self) -> u64 {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "above zero")]
        let points = (self.memory / BYTES_A_POINT) as u64;
        points
    }

    /// Why so many ground points are too many.
    #[must_use]
    pub fn too_many(&self, points: u64) -> String {
        let bytes = |bytes: f64| match bytes {
            few if few < 1e9 => format!("{:.1} MB", few / 1e6),
            many => format!("{:.2} GB", many / 1e9),
        };
        format!(
            "{points} ground points of clouds and the ground made of them need about {}, [survey] cloud-memory allows {}: cut the \
             clouds to the site, or allow more",
            bytes(points as f64 * BYTES_A_POINT),
            bytes(self.memory)
        )
    }
}

impl Default for CloudsAsked {
    fn default() -> Self {
        Self {
            ground_classes: vec![GROUND],
            classify: Classify::default(),
            largest: Area::square_metres(5e7),
            memory: 8e9,
            heights: CloudHeights::default(),
        }
    }
}

pub(super) fn read(table: &Table<'_>) -> Option<CloudsAsked> {
    let choices =
        [("when-unclassified", Classify::WhenUnclassified), ("always", Classify::Always), ("never", Classify::Never)];
    let classify = table.choice(&keys::SURVEY_CLASSIFY, &choices);
    let largest = table.above_zero(&keys::SURVEY_CLASSIFY_AREA, parse_area);
    // Not written: class 2. Written but faulty: told by the shape, and the default does no harm then.
    let ground_classes = table
        .with(&keys::SURVEY_CLOUD_GROUND, |shape| shape.items().iter().map(Shape::class).collect::<Option<Vec<u8>>>())
        .unwrap_or_else(|| vec![GROUND]);
    let memory = table.above_zero(&keys::SURVEY_CLOUD_MEMORY, parse_memory);
    let heights = table.choice(
        &keys::SURVEY_CLOUD_HEIGHTS,
        &[("as-given", CloudHeights::AsGiven), ("ellipsoidal", CloudHeights::Ellipsoidal)],
    );
    Some(CloudsAsked { ground_classes, classify: classify?, largest: largest?, memory: memory?, heights: heights? })
}
