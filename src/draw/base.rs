//! What every plan stands on: ground contours, breaklines, the frame with its grid ticks, north arrow, scale bar, key.
//!
//! Invariant: contours are at round levels of the reading unit; grid ticks stand at round coordinates of the site's own
//! frame, in the frame's own unit; every number is 12 pt or more.

use super::labels::LabelBoard;
use super::scene::{Fill, Hatch, Pen, Scene, Shape, Spot, Text};
use super::view::{View, round_step};
use crate::frame::SiteFrame;
use crate::geom::{Point, Polyline};
use crate::surface::{Tin, contour};
use crate::units::Figures;

/// 12 pt in millimetres, the least size of a number on a sheet.
pub(super) const TWELVE_POINT: f64 = 4.24;

/// Width of a drawing on the sheet: A4 and letter paper less their margins.
pub(super) const SHEET_WIDTH: f64 = 188.0;

pub(super) const CONTOUR: Pen = Pen::solid(0.13, 0x99);
pub(super) const INDEX_CONTOUR: Pen = Pen::solid(0.3, 0x88);
pub(super) const BREAKLINE: Pen = Pen { width: 0.25, grey: 0x55, dashes: &[3.0, 1.0, 0.4, 1.0] };
pub(super) const SERVICE: Pen = Pen { width: 0.5, grey: 0, dashes: &[6.0, 1.2, 1.2, 1.2, 1.2, 1.2] };
pub(super) const EDGE_OF_SURVEY: Pen = Pen { width: 0.2, grey: 0x66, dashes: &[0.5, 1.5] };
pub(super) const CONTOUR_LINE: Pen = Pen { width: 0.55, grey: 0, dashes: &[7.0, 1.2, 1.2, 1.2] };
pub(super) const OUTLINE: Pen = Pen::solid(0.3, 0);
pub(super) const SILL: Pen = Pen::solid(1.6, 0);
pub(super) const EXIT: Pen = Pen::dashed(0.6, &[2.5, 1.5]);
pub(super) const FINE: Pen = Pen::solid(0.2, 0);
pub(super) const CUT: Hatch = Hatch { degrees: 45.0, spacing: 2.2, pen: Pen::solid(0.2, 0x22) };
pub(super) const BERM: Hatch = Hatch { degrees: -45.0, spacing: 1.1, pen: Pen::solid(0.16, 0x44) };
pub(super) const UNSTABLE: Hatch =
    Hatch { degrees: 90.0, spacing: 1.8, pen: Pen { width: 0.25, grey: 0x44, dashes: &[] } };
pub(super) const UNSTABLE_RIM: Pen = Pen::dashed(0.5, &[1.2, 1.0]);
/// The outline of what works are led round.
pub(super) const OBSTACLE: Pen = Pen::dashed(0.5, &[2.4, 0.8, 0.4, 0.8]);

/// Lowest and highest of the ground that is shown; `None` when it is under a millimetre apart, which is no relief.
fn relief(tin: &Tin, shows: impl Fn(Point) -> bool) -> Option<(f64, f64)> {
    let seen = tin.vertices().iter().filter(|v| shows(v.plan())).map(|v| v.z);
    let (low, high) = seen.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), z| (low.min(z), high.max(z)));
    (high - low >= 0.001 && (high - low).is_finite()).then_some((low, high))
}

/// The interval of contours that suits what is shown, in the reading unit.
pub(super) fn contour_step(tin: &Tin, figures: Figures, shows: impl Fn(Point) -> bool) -> Option<f64> {
    relief(tin, shows).map(|(low, high)| round_step(figures.number(high - low), 12.0).max(0.05))
}

/// Draws ground contours, at `step` of the reading unit or one that suits the view, and gives their interval in metres and
/// their labels' ways, best first.
pub(super) fn contours(scene: &mut Scene, view: &View, tin: &Tin, figures: Figures, step: Option<f64>) -> Contours {
    let mut found = Contours { interval: 0.0, labels: Vec::new() };
    let shows = |place| view.shows(place);
    let Some((low, high)) = relief(tin, shows) else { return found };
    let Some(step) = step.or_else(|| contour_step(tin, figures, shows)) else { return found };
    let decimals = if step >= 0.999 {
        0
    } else if step >= 0.0999 {
        1
    } else {
        2
    };
    found.interval = step * figures.metres_in_one();
    let mut k = (figures.number(low) / step).ceil();
    while k * step <= figures.number(high) {
        let level = k * step * figures.metres_in_one();
        let pen = if k.rem_euclid(5.0) == 0.0 { INDEX_CONTOUR } else { CONTOUR };
        for line in contour(tin, level) {
            for piece in view.pieces(&line.points, line.closed) {
                found.labels.extend(label_ways(&piece, &format!("{:.decimals$}", k * step)));
                scene.line(piece, pen);
            }
        }
        k += 1.0;
    }
    found
}

/// Contours that were drawn.
#[derive(Debug)]
pub(super) struct Contours {
    /// Metres between them; zero when there are none.
    pub(super) interval: f64,
    labels: Vec<Vec<Text>>,
}

impl Contours {
    /// Writes the labels that find room; one without room is no loss, its neighbours tell the level.
    pub(super) fn label(self, scene: &mut Scene, board: &mut LabelBoard) {
        let left_out = board.left_out;
        for text in self.labels.into_iter().filter_map(|ways| board.place(ways)) {
            scene.text(text);
        }
        board.left_out = left_out;
    }
}

/// Labels along a contour at its middle, third and two thirds, turned along it; none on a piece too short to carry one.
fn label_ways(piece: &[Spot], says: &str) -> Option<Vec<Text>> {
    let length: f64 = piece.windows(2).map(|p| p[0].distance(p[1])).sum();
    if length < 30.0 {
        return None;
    }
    let ways = [0.5, 0.33, 0.67, 0.2, 0.8].into_iter().filter_map(|share| {
        let (mut left, half) = (share * length, 5.0);
        // The direction is taken over the label's own length: single facets turn too much.
        let at = |mut along: f64| {
            for pair in piece.windows(2) {
                let step = pair[0].distance(pair[1]);
                if along <= step && step > 0.0 {
                    let part = along / step;
                    return Some(pair[0].moved((pair[1].x - pair[0].x) * part, (pair[1].y - pair[0].y) * part));
                }
                along -= step;
            }
            None
        };
        left = left.clamp(half, length - half);
        let (from, middle, to) = (at(left - half)?, at(left)?, at(left + half)?);
        let degrees = upright((to.y - from.y).atan2(to.x - from.x).to_degrees());
        let down = 0.3 * TWELVE_POINT;
        let (sin, cos) = degrees.to_radians().sin_cos();
        let foot = middle.moved(sin * down, -cos * down);
        Some(Text::new(foot, TWELVE_POINT, says).centred().grey(0x55).turned(degrees))
    });
    Some(ways.collect())
}

/// A direction turned so that text along it is never upside down.
pub(super) fn upright(degrees: f64) -> f64 {
    if degrees > 90.0 {
        degrees - 180.0
    } else if degrees <= -90.0 {
        degrees + 180.0
    } else {
        degrees
    }
}

/// Draws the TIN's breaklines.
pub(super) fn breaklines(scene: &mut Scene, view: &View, lines: impl IntoIterator<Item = Vec<Point>>) {
    for line in lines {
        view.line(scene, &line, false, BREAKLINE);
    }
}

/// Draws the window's edge with ticks at round coordinates of the site's frame, labelled inside the edge.
pub(super) fn grid_frame(scene: &mut Scene, view: &View, frame: &SiteFrame, board: &mut LabelBoard) {
    let (low, high) = (view.corner, view.corner.moved(view.width(), view.height()));
    let ring = vec![low, Spot::new(high.x, low.y), high, Spot::new(low.x, high.y)];
    scene.area(vec![ring], None, Some(Pen::solid(0.35, 0)));
    let (west, south) = frame.to_frame(view.window.low);
    let (east, north) = frame.to_frame(view.window.high);
    // A label of a national northing needs some 30 mm of edge.
    let step = round_step(east - west, view.width() / 45.0);
    let ticks = |from: f64, to: f64| {
        let first = (from / step).ceil();
        let mut k = first;
        std::iter::from_fn(move || {
            let value = k * step;
            k += 1.0;
            (value <= to).then_some(value)
        })
    };
    let place = |easting: f64, northing: f64| view.spot(frame.to_local(easting, northing));
    for easting in ticks(west, east) {
        let x = place(easting, south).x;
        scene.straight(Spot::new(x, low.y), Spot::new(x, low.y + 2.0), FINE);
        scene.straight(Spot::new(x, high.y), Spot::new(x, high.y - 2.0), FINE);
        let text = Text::new(Spot::new(x, low.y + 2.8), TWELVE_POINT, format!("{easting:.0} E")).centred().grey(0x44);
        if x - text.width() / 2.0 > low.x + 6.0 && x + text.width() / 2.0 < high.x {
            scene.items.extend(board.place([text]).map(super::scene::Item::Text));
        }
    }
    for northing in ticks(south, north) {
        let y = place(west, northing).y;
        scene.straight(Spot::new(low.x, y), Spot::new(low.x + 2.0, y), FINE);
        scene.straight(Spot::new(high.x, y), Spot::new(high.x - 2.0, y), FINE);
        let text = Text::new(Spot::new(low.x + 6.0, y), TWELVE_POINT, format!("{northing:.0} N"))
            .centred()
            .grey(0x44)
            .turned(90.0);
        if y - text.width() / 2.0 > low.y + 7.0 && y + text.width() / 2.0 < high.y {
            scene.items.extend(board.place([text]).map(super::scene::Item::Text));
        }
        for easting in ticks(west, east) {
            let at = place(easting, northing);
            scene.straight(at.moved(-1.5, 0.0), at.moved(1.5, 0.0), CONTOUR);
            scene.straight(at.moved(0.0, -1.5), at.moved(0.0, 1.5), CONTOUR);
        }
    }
}

/// A board for labels that keeps them inside the view's frame.
pub(super) fn board_of(view: &View) -> LabelBoard {
    LabelBoard::within(view.corner.moved(0.5, 0.5), view.corner.moved(view.width() - 0.5, view.height() - 0.5))
}

/// Draws a north arrow with its foot at a spot, 12 mm high.
pub(super) fn north_arrow(scene: &mut Scene, foot: Spot) {
    let tip = foot.moved(0.0, 12.0);
    scene.area(vec![vec![tip, foot.moved(-2.6, 3.0), foot.moved(0.0, 4.6)]], Some(Fill::Grey(0)), Some(FINE));
    scene.area(vec![vec![tip, foot.moved(2.6, 3.0), foot.moved(0.0, 4.6)]], Some(Fill::Grey(255)), Some(FINE));
    scene.text(Text::new(foot.moved(4.0, 3.0), TWELVE_POINT, "N").bold());
}

/// Draws a scale bar from a spot to the right: true whatever the size of the print.
pub(super) fn scale_bar(scene: &mut Scene, from: Spot, view: &View, figures: Figures) {
    let metre = view.millimetres_a_metre();
    let unit = figures.metres_in_one() * metre;
    let step = round_step(7.0 / unit, 1.0);
    for i in 0..4u8 {
        let left = from.moved(f64::from(i) * step * unit, 0.0);
        let ring = vec![left, left.moved(step * unit, 0.0), left.moved(step * unit, 1.6), left.moved(0.0, 1.6)];
        scene.area(vec![ring], Some(Fill::Grey(if i % 2 == 0 { 0 } else { 255 })), Some(FINE));
    }
    for i in [0u8, 2, 4] {
        let number = step * f64::from(i);
        let says = if i == 4 { format!("{number} {}", figures.unit()) } else { format!("{number}") };
        let at = from.moved(number * unit, 2.6);
        scene.text(Text::new(at, TWELVE_POINT, says).centred());
    }
}

/// Draws a filled head of an arrow that points from one spot to another, its tip there.
pub(super) fn arrow_head(scene: &mut Scene, from: Spot, tip: Spot, size: f64) {
    let length = from.distance(tip);
    if length == 0.0 {
        return;
    }
    let (ux, uy) = ((tip.x - from.x) / length, (tip.y - from.y) / length);
    let side = |turn: f64| tip.moved(-ux * size - uy * turn * size * 0.35, -uy * size + ux * turn * size * 0.35);
    scene.area(vec![vec![tip, side(1.0), side(-1.0)]], Some(Fill::Grey(0)), None);
}

/// The way that water takes when it leaves a work, with an arrow where what is shown of it ends.
pub(super) fn way_off(scene: &mut Scene, view: &View, way: &Polyline) {
    let pieces = view.pieces(way.points(), false);
    if let Some([before, tip]) = pieces.last().and_then(|piece| piece.last_chunk::<2>()) {
        arrow_head(scene, *before, *tip, 3.0);
    }
    for piece in pieces {
        scene.line(piece, EXIT);
    }
}

/// One entry of a key: how a thing is drawn, and what it is.
#[derive(Debug, Clone)]
pub(super) enum Key {
    /// A hatched area.
    Area(Hatch, String),
    /// An area of one tone.
    Tone(u8, String),
    /// A line.
    Line(Pen, String),
    /// A mark.
    Mark(Shape, String),
}

/// Height of a row of the key, millimetres.
pub(super) const KEY_ROW: f64 = 6.5;

/// What stands before an entry's text.
const KEY_SAMPLE: f64 = 13.0;

impl Key {
    fn says(&self) -> &str {
        match self {
            Self::Area(_, says) | Self::Tone(_, says) | Self::Line(_, says) | Self::Mark(_, says) => says,
        }
    }
}

/// Where an entry stands: its column of three, its row, and its lines of text.
struct Entry {
    column: usize,
    row: usize,
    lines: Vec<String>,
}

/// The entries of a key in rows of three columns; one that is too long for its column takes the free ones beside it, and
/// one too long for a row takes several rows.
fn laid_out(width: f64, entries: &[Key]) -> (Vec<Entry>, usize) {
    let (mut column, mut row, mut placed) = (0, 0, Vec::with_capacity(entries.len()));
    for entry in entries {
        let long = |text: &str| Text::new(Spot::new(0.0, 0.0), TWELVE_POINT, text).width();
        let room = |columns: usize| columns as f64 * width / 3.0 - KEY_SAMPLE - 1.0;
        let columns = (1..=3).find(|&columns| long(entry.says()) <= room(columns)).unwrap_or(3);
        if column + columns > 3 {
            (column, row) = (0, row + 1);
        }
        let mut lines: Vec<String> = vec![String::new()];
        for word in entry.says().split_whitespace() {
            let line = lines.last_mut().expect("a line");
            if line.is_empty() {
                word.clone_into(line);
            } else if long(&format!("{line} {word}")) <= room(columns) {
                *line = format!("{line} {word}");
            } else {
                lines.push(word.to_owned());
            }
        }
        let rows = lines.len();
        placed.push(Entry { column, row, lines });
        column += columns;
        if rows > 1 || column >= 3 {
            (column, row) = (0, row + rows);
        }
    }
    (placed, if column == 0 { row } else { row + 1 })
}

/// Rows that a key takes.
pub(super) fn key_rows(entries: &[Key]) -> usize {
    laid_out(SHEET_WIDTH, entries).1
}

/// Draws a key as wide as a sheet, its upper left corner at a spot.
pub(super) fn key(scene: &mut Scene, corner: Spot, entries: &[Key]) {
    for (entry, placed) in entries.iter().zip(laid_out(SHEET_WIDTH, entries).0) {
        let right = placed.column as f64 * SHEET_WIDTH / 3.0;
        let at = corner.moved(right, -(placed.row as f64 + 0.5) * KEY_ROW);
        let swatch = || vec![at.moved(0.0, -2.2), at.moved(11.0, -2.2), at.moved(11.0, 2.2), at.moved(0.0, 2.2)];
        match entry {
            Key::Area(hatch, _) => scene.area(vec![swatch()], Some(Fill::Hatched(*hatch)), Some(OUTLINE)),
            Key::Tone(tone, _) => scene.area(vec![swatch()], Some(Fill::Grey(*tone)), Some(FINE)),
            Key::Line(pen, _) => scene.straight(at, at.moved(11.0, 0.0), *pen),
            Key::Mark(shape, _) => scene.mark(at.moved(5.5, 0.0), *shape, mark_size(*shape)),
        }
        for (down, line) in placed.lines.into_iter().enumerate() {
            scene.text(Text::new(at.moved(KEY_SAMPLE, -1.4 - down as f64 * KEY_ROW), TWELVE_POINT, line));
        }
    }
}

/// How large a mark is drawn, millimetres.
pub(super) const fn mark_size(shape: Shape) -> f64 {
    match shape {
        Shape::Dot | Shape::Ring => 1.6,
        Shape::Triangle => 4.0,
        _ => 2.2,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_entry_of_a_key_runs_off_the_paper_or_into_another() {
        let entry = |says: &str| Key::Line(OUTLINE, says.to_owned());
        let short = ["ground: 160", "mark: 3", "service: 5", "on a breakline: 7"].map(entry);
        assert_eq!(key_rows(&short), 2);
        let long = "set aside: 8, 1 more outside the plan";
        let longest = "set aside: ".to_owned() + &"far more words than one line of the sheet can hold ".repeat(3);
        for entries in [
            vec![entry("mark: 3"), entry("service: 5"), entry(long)],
            vec![entry("mark: 3"), entry(long), entry("service: 5")],
            vec![entry(long), entry(&longest), entry("mark: 3"), entry(long)],
        ] {
            let mut scene = Scene::new(SHEET_WIDTH + 2.0, 100.0, "");
            key(&mut scene, Spot::new(2.0, 90.0), &entries);
            let texts: Vec<&Text> = scene
                .items
                .iter()
                .filter_map(|item| if let super::super::Item::Text(text) = item { Some(text) } else { None })
                .collect();
            for (at, text) in texts.iter().enumerate() {
                assert!(text.at.x + text.width() <= SHEET_WIDTH + 2.0, "{text:?}");
                for other in texts[at + 1..].iter().filter(|other| other.at.y == text.at.y) {
                    let [left, right] = if text.at.x < other.at.x { [text, other] } else { [other, text] };
                    assert!(left.at.x + left.width() < right.at.x - KEY_SAMPLE + 1.0, "{left:?} {right:?}");
                }
            }
            let words = |texts: &[&Text]| texts.iter().map(|text| text.says.split_whitespace().count()).sum::<usize>();
            assert_eq!(
                words(&texts),
                entries.iter().map(|entry| entry.says().split_whitespace().count()).sum::<usize>()
            );
            let lowest = texts.iter().map(|text| text.at.y).fold(f64::INFINITY, f64::min);
            assert!(lowest > 90.0 - KEY_ROW * key_rows(&entries) as f64, "the rows that are counted hold it");
        }
    }
}
