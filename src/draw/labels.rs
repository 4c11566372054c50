//! Where labels go so that they do not stand on each other.
//!
//! Invariant: a label that was placed overlaps no label and no mark placed before it; those that matter most are placed
//! first, and one that finds no room is left out and counted.

use super::scene::{Anchor, Spot, Text};

/// The paper that is taken already, as slanted boxes.
#[derive(Debug, Clone, Default)]
pub(super) struct LabelBoard {
    taken: Vec<[Spot; 4]>,
    within: Option<(Spot, Spot)>,
    /// Labels that found no room.
    pub(super) left_out: usize,
}

impl LabelBoard {
    /// An empty board whose labels stay between a lower left and an upper right corner.
    pub(super) fn within(low: Spot, high: Spot) -> Self {
        Self { within: Some((low, high)), ..Self::default() }
    }

    /// True when a box stays on the board.
    fn holds(&self, outline: &[Spot; 4]) -> bool {
        self.within.is_none_or(|(low, high)| {
            outline.iter().all(|s| s.x >= low.x && s.x <= high.x && s.y >= low.y && s.y <= high.y)
        })
    }

    /// Keeps a mark free of labels.
    pub(super) fn keep_mark(&mut self, at: Spot, size: f64) {
        self.taken.push(of_mark(at, size));
    }

    /// The first of several ways to write a label that meets nothing placed before.
    pub(super) fn place(&mut self, ways: impl IntoIterator<Item = Text>) -> Option<Text> {
        self.place_off(ways, &[])
    }

    /// The same, off lesser marks as well where one of the [near](NEAR_WAYS) ways stands off them all: better across a dot than far
    /// from what it names.
    pub(super) fn place_off(&mut self, ways: impl IntoIterator<Item = Text>, dots: &[[Spot; 4]]) -> Option<Text> {
        let mut across = None;
        for (nth, text) in ways.into_iter().enumerate() {
            if nth >= NEAR_WAYS && across.is_some() {
                break;
            }
            let outline = outline(&text);
            if self.holds(&outline) && !self.taken.iter().any(|other| overlap(&outline, other)) {
                if !dots.iter().any(|dot| overlap(&outline, dot)) {
                    self.taken.push(outline);
                    return Some(text);
                }
                across = across.or(Some((text, outline)));
            }
        }
        if let Some((text, outline)) = across {
            self.taken.push(outline);
            return Some(text);
        }
        self.left_out += 1;
        None
    }
}

/// The box of a mark.
pub(super) fn of_mark(at: Spot, size: f64) -> [Spot; 4] {
    let half = size / 2.0;
    [(-half, -half), (half, -half), (half, half), (-half, half)].map(|(x, y)| at.moved(x, y))
}

/// Free paper at either end of a label, millimetres.
const AIR: f64 = 0.9;

/// How far a spot lies from a text's box, millimetres; upright texts only.
pub(super) fn away_from(text: &Text, spot: Spot) -> f64 {
    let [low, _, high, _] = outline(text);
    let outside = |low: f64, at: f64, high: f64| (low - at).max(at - high).max(0.0);
    outside(low.x, spot.x, high.x).hypot(outside(low.y, spot.y, high.y))
}

/// The middle of a text's box.
pub(super) fn middle_of(text: &Text) -> Spot {
    let corners = outline(text);
    let mean = |part: fn(&Spot) -> f64| corners.iter().map(part).sum::<f64>() / 4.0;
    Spot::new(mean(|spot| spot.x), mean(|spot| spot.y))
}

/// The corners of a text's box.
fn outline(text: &Text) -> [Spot; 4] {
    // A little air keeps two names from reading as one.
    let width = text.width() + 2.0 * AIR;
    let from = match text.anchor {
        Anchor::Start => -AIR,
        Anchor::Middle => -width / 2.0,
        Anchor::End => AIR - width,
    };
    let (sin, cos) = text.degrees.to_radians().sin_cos();
    let (low, high) = (-0.22 * text.size, 0.78 * text.size);
    [(from, low), (from + width, low), (from + width, high), (from, high)]
        .map(|(x, y)| text.at.moved(x * cos - y * sin, x * sin + y * cos))
}

/// True when two convex four-sided shapes share a place: no side of either parts them.
fn overlap(a: &[Spot; 4], b: &[Spot; 4]) -> bool {
    let parted_by = |a: &[Spot; 4], b: &[Spot; 4]| {
        (0..4).any(|i| {
            let (p, q) = (a[i], a[(i + 1) % 4]);
            let (nx, ny) = (p.y - q.y, q.x - p.x);
            let side = |s: &Spot| (s.x - p.x) * nx + (s.y - p.y) * ny;
            b.iter().all(|s| side(s) <= 0.0)
        })
    };
    !parted_by(a, b) && !parted_by(b, a)
}

/// So many of the ways [`around`] a mark are near it.
const NEAR_WAYS: usize = 16;

/// Ways to write a label round a mark: first towards `lean` (degrees), then ever further from it, near before far.
pub(super) fn around(at: Spot, gap: f64, lean: f64, text: &Text) -> Vec<Text> {
    let mut ways = Vec::new();
    for reach in [gap, gap * 2.5, gap * 5.0] {
        for turn in [0.0, 45.0, -45.0, 90.0, -90.0, 135.0, -135.0, 180.0] {
            let (sin, cos) = f64::to_radians(lean + turn).sin_cos();
            let mut way = text.clone();
            way.anchor = match cos {
                c if c > 0.38 => Anchor::Start,
                c if c < -0.38 => Anchor::End,
                _ => Anchor::Middle,
            };
            // The box's near side touches the reach, whichever side that is.
            way.at = at.moved(cos * reach, sin * reach - (0.28 - 0.5 * sin) * text.size);
            ways.push(way);
        }
    }
    ways
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_of_marks_that_crowd_do_not_overlap() {
        let mut board = LabelBoard::default();
        let spots: Vec<Spot> = (0..12).map(|i| Spot::new(50.0 + 3.0 * f64::from(i), 50.0)).collect();
        for &spot in &spots {
            board.keep_mark(spot, 1.5);
        }
        let placed: Vec<Text> = spots
            .iter()
            .enumerate()
            .filter_map(|(i, &spot)| board.place(around(spot, 2.0, 90.0, &Text::new(spot, 4.24, format!("U{i:03}")))))
            .collect();
        assert!(placed.len() >= 4, "{}", placed.len());
        assert_eq!(placed.len() + board.left_out, 12);
        for (i, a) in placed.iter().enumerate() {
            for b in &placed[i + 1..] {
                assert!(!overlap(&outline(a), &outline(b)), "{a:?} {b:?}");
            }
        }
    }

    #[test]
    fn slanted_boxes_part_only_when_they_are_apart() {
        let text = |x: f64, degrees: f64| outline(&Text::new(Spot::new(x, 0.0), 4.0, "12345").turned(degrees));
        assert!(overlap(&text(0.0, 0.0), &text(2.0, 30.0)));
        assert!(overlap(&text(0.0, 0.0), &text(0.0, 0.0)));
        assert!(!overlap(&text(0.0, 45.0), &text(8.0, 45.0)));
    }
}
