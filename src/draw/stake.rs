//! This job's stake: what is written on which side of it.

use super::base::{FINE, OUTLINE, SHEET_WIDTH, TWELVE_POINT, arrow_head};
use super::scene::{Fill, Pen, Scene, Spot, Text};

/// What stands on the sides of a stake, line by line from the top.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StakeFaces {
    /// The side that faces the works.
    pub towards_works: Vec<String>,
    /// The side that faces away.
    pub away: Vec<String>,
    /// Where heights are measured from, such as `the line on the stake`.
    pub measured_from: String,
    /// What a stake is called here.
    pub stake: &'static str,
}

/// Both sides of a stake, large enough to copy.
#[must_use]
pub fn stake_drawing(faces: &StakeFaces) -> Scene {
    let lines = faces.towards_works.len().max(faces.away.len()) as f64;
    let body = lines * 8.0 + 6.0;
    let height = body + 27.0;
    let mut scene = Scene::new(SHEET_WIDTH, height, format!("What is written on a {}", faces.stake));
    for (left, title, says) in
        [(6.0, "SIDE TOWARDS THE WORKS", &faces.towards_works), (104.0, "SIDE AWAY FROM THE WORKS", &faces.away)]
    {
        let (width, foot) = (54.0, 18.0);
        let top = foot + body;
        // The pointed end stands in the ground.
        let ring = vec![
            Spot::new(left, foot),
            Spot::new(left + width / 2.0, 2.0),
            Spot::new(left + width, foot),
            Spot::new(left + width, top),
            Spot::new(left, top),
        ];
        scene.area(vec![ring], Some(Fill::Grey(255)), Some(OUTLINE));
        scene.straight(Spot::new(left - 4.0, 12.0), Spot::new(left + width + 4.0, 12.0), Pen::solid(0.5, 0x55));
        scene.text(Text::new(Spot::new(left, top + 3.0), TWELVE_POINT, title).bold());
        for (i, line) in says.iter().enumerate() {
            let at = Spot::new(left + width / 2.0, top - 8.0 * (i as f64 + 1.0));
            let text = Text { rim: false, ..Text::new(at, 6.0, line.as_str()).centred().bold() };
            let size = (6.0 * (width - 2.0) / text.width()).clamp(TWELVE_POINT, 6.0);
            scene.text(Text { size, ..text });
        }
        scene.straight(Spot::new(left, foot + 3.0), Spot::new(left + width, foot + 3.0), Pen::solid(0.9, 0));
    }
    let line = Spot::new(60.0, 21.0);
    scene.straight(line.moved(13.0, 6.0), line.moved(1.0, 0.3), FINE);
    arrow_head(&mut scene, line.moved(13.0, 6.0), line.moved(0.5, 0.1), 2.0);
    scene.text(Text::new(line.moved(4.0, 8.0), TWELVE_POINT, faces.measured_from.as_str()));
    scene
}
