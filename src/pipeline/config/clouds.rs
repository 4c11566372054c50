//! What `[survey]` says of clouds: which classes are ground, and when ground is found here.

use super::keys;
use super::walk::{Shape, Table};
use crate::io::read::cloud::GROUND;
use crate::units::{Area, parse_area};

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
}

impl Default for CloudsAsked {
    fn default() -> Self {
        Self { ground_classes: vec![GROUND], classify: Classify::default(), largest: Area::square_metres(5e7) }
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
    Some(CloudsAsked { ground_classes, classify: classify?, largest: largest? })
}
