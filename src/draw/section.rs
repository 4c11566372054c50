//! Cross sections at one scale both ways: the typical section of a swale, and the one through a sill.
//!
//! Invariant: seen along increasing station, so uphill is on the left; every elevation is written against the sill, and
//! every slope of a side with its letters. The typical section stands on the mean cross slope; the section at a sill is
//! cut through the designed surface itself.

use super::base::{BERM, CUT, FINE, OUTLINE, SHEET_WIDTH, TWELVE_POINT, arrow_head, mark_size};
use super::scene::{Fill, Pen, Scene, Shape, Spot, Text};
use super::words::Words;
use crate::geom::Polyline;
use crate::ground::Ground;
use crate::surface::{Locator, Tin, profile};
use crate::units::Figures;
use crate::units::{Batter, Length, Station};
use crate::works::{ChannelShape, Section, Spillway, Swale};

pub(super) const GROUND: Pen = Pen { width: 0.4, grey: 0x55, dashes: &[2.0, 1.0] };
pub(super) const BUILT: Pen = Pen::solid(0.6, 0);
pub(super) const LEVEL: Pen = Pen { width: 0.25, grey: 0x33, dashes: &[5.0, 1.0, 1.0, 1.0] };
/// Size of the numbers that an operator digs by: 20 pt.
const BIG: f64 = 7.0;

/// From offset (positive uphill, drawn to the left) and height over the sill to the paper, one scale both ways.
#[derive(Debug, Clone, Copy)]
pub(super) struct Across {
    /// Offset at the paper's left edge.
    left: f64,
    /// Millimetres for one metre.
    scale: f64,
    /// Height of the sill on the paper.
    sill: f64,
}

impl Across {
    pub(super) fn fit(uphill: f64, downhill: f64) -> (Self, f64) {
        let span = uphill - downhill;
        let one_to = [20.0, 25.0, 40.0, 50.0, 60.0, 75.0, 100.0, 125.0, 150.0, 200.0, 250.0, 300.0, 400.0, 500.0]
            .into_iter()
            .find(|one_to| span * 1000.0 / one_to <= SHEET_WIDTH)
            .unwrap_or(1000.0);
        let scale = 1000.0 / one_to;
        // Stands in the middle of the paper's width.
        let spare = (SHEET_WIDTH / scale - span) / 2.0;
        (Self { left: uphill + spare.max(0.0), scale, sill: 0.0 }, one_to)
    }

    /// Millimetres for one metre.
    pub(super) const fn scale(&self) -> f64 {
        self.scale
    }

    /// Stands the sill at a height on the paper.
    pub(super) const fn stand(&mut self, sill: f64) {
        self.sill = sill;
    }

    pub(super) fn spot(&self, offset: f64, height: f64) -> Spot {
        Spot::new((self.left - offset) * self.scale, self.sill + height * self.scale)
    }
}

/// The cross sections of a swale away from its ends and spillways: the first, and each that it changes to. `stake` is the offset of
/// the stakes that stay.
#[must_use]
pub fn typical_sections(swale: &Swale, stake: Option<f64>, figures: Figures, words: &Words) -> Vec<Scene> {
    let name = format!("Typical {} of {}", words.cross_section, swale.wanted.name);
    let title = |from: Station| match from.in_metres() {
        from if from > 0.0 => format!("{name}, from {} {}", words.station, figures.station(from)),
        _ => name.clone(),
    };
    let all = swale.sections();
    all.iter()
        .map(|(from, section)| typical_section(swale, (*from, section), title(*from), stake, figures, words))
        .collect()
}

fn typical_section(
    swale: &Swale,
    (from, section): (Station, &Section),
    title: String,
    stake: Option<f64>,
    figures: Figures,
    words: &Words,
) -> Scene {
    let sill = swale.water_level;
    let ground = |offset: f64| section.cross_fall.in_ratio() * offset;
    let height = |elevation: crate::units::Elevation| (elevation - sill).in_metres();
    let crest = swale.crest_at(swale.line.at(from.in_metres()));
    let (bed, crest) = (height(section.bed), height(crest));
    let half_bed = section.bottom_width.in_metres() / 2.0;
    let half_crest = section.crest_width.in_metres() / 2.0;
    let (top, lip) = (section.top_offset.in_metres(), section.lip_offset.in_metres());
    let (bed_axis, crest_axis) = (section.bed_offset.in_metres(), section.crest_offset.in_metres());
    let heel = lip - section.ledge.in_metres();
    let toe = section.toe_offset.in_metres();

    let uphill = top.max(stake.unwrap_or(top)) + 0.8;
    let (mut across, one_to) = Across::fit(uphill, toe - 0.8);
    let key = swale.wanted.key.map_or(0.0, |key| (key.depth + swale.wanted.topsoil).in_metres());
    let below = bed.min(ground(toe - 0.8)).min(ground(crest_axis) - key) * across.scale;
    let above = crest.max(ground(uphill)) * across.scale;
    across.sill = 27.5 - below;
    // The words over crest and ground stand under the row that says which side is uphill.
    let top_row =
        across.sill + (above + 11.0).max(crest * across.scale + 16.5).max(ground(top).max(0.0) * across.scale + 17.5);
    let mut scene = Scene::new(SHEET_WIDTH, top_row + 5.0, title);
    let spot = |offset: f64, height: f64| across.spot(offset, height);

    let cut: Vec<Spot> = section.channel.iter().map(|corner| spot(corner.x, corner.y)).collect();
    let berm = vec![
        spot(heel, ground(heel)),
        spot(crest_axis + half_crest, crest),
        spot(crest_axis - half_crest, crest),
        spot(toe, ground(toe)),
    ];
    scene.area(vec![cut.clone()], Some(Fill::Hatched(CUT)), None);
    scene.area(vec![berm.clone()], Some(Fill::Hatched(BERM)), None);
    scene.straight(spot(uphill, ground(uphill)), spot(top, ground(top)), GROUND);
    scene.straight(spot(top, ground(top)), spot(lip, ground(lip)), GROUND);
    scene.straight(spot(lip, ground(lip)), spot(toe - 0.8, ground(toe - 0.8)), GROUND);
    scene.line(cut, BUILT);
    scene.line(berm, BUILT);

    if let Some(key) = swale.wanted.key {
        // Under the stripped seat.
        let seat = ground(crest_axis) - swale.wanted.topsoil.in_metres();
        let bottom = seat - key.depth.in_metres();
        let half = key.width.in_metres() / 2.0;
        let out = half + key.depth.in_metres() * key.batter.in_horizontal_per_vertical();
        let trench = [(out, seat), (half, bottom), (-half, bottom), (-out, seat)];
        scene.line(trench.map(|(aside, height)| spot(crest_axis + aside, height)).to_vec(), OUTLINE);
        let words = Text::new(spot(crest_axis, bottom).moved(0.0, -5.0), TWELVE_POINT, "key").centred();
        scene.text_on_paper(words);
    }
    let wet = section.wet_edge().in_metres();
    scene.straight(spot(wet, 0.0), spot(crest_axis - half_crest - 0.4, 0.0), LEVEL);
    water_sign(&mut scene, spot(bed_axis, 0.0));

    // What the operator digs by stands large beside its part.
    let bed_says = figures.against_sill(Length::metres(bed));
    let crest_says = figures.crest_against_sill(Length::metres(crest));
    let bed_spot = spot(bed_axis, bed);
    scene.text_on_paper(Text::new(bed_spot.moved(0.0, -7.5), BIG, format!("BED {bed_says}")).centred().bold());
    let crest_spot = spot(crest_axis, crest);
    let crest_text = on_paper(Text::new(crest_spot.moved(0.0, 2.5), BIG, crest_says).bold());
    let crest_left = crest_text.at.x - crest_text.width() / 2.0;
    scene.text_on_paper(crest_text);
    scene.text_on_paper(Text::new(crest_spot.moved(0.0, 10.0), TWELVE_POINT, "CREST, BUILD TO").centred().bold());
    let level_spot = spot(bed_axis, ground(top).max(0.0));
    let over_level = level_spot.y + 11.0 - spot(0.0, ground(0.0)).y;
    let level_text = Text::new(level_spot.moved(0.0, 5.0), TWELVE_POINT, "full, level with the sill: 0").ending();
    let right = (level_spot.x + level_text.width() / 2.0).min(crest_left - 2.0);
    // The leader of the contour line passes beside these words.
    let leader = spot(0.0, 0.0).x.min(crest_left - 3.0);
    let right = match leader {
        x if x >= level_spot.x - 0.01 => right.min(x - 1.5),
        x => right.max((x + 1.5 + level_text.width()).min(crest_left - 2.0)),
    };
    scene.text_on_paper(Text { at: Spot::new(right, level_text.at.y), ..level_text });

    let heights = |offset: f64| spot(offset, ground(offset));
    let channel = [
        (heights(top), spot(bed_axis + half_bed, bed), section.uphill_batter, Beside::LeftBelow),
        (spot(bed_axis - half_bed, bed), heights(lip), section.downhill_batter, Beside::RightBelow),
    ];
    let round = matches!(swale.wanted.shape, ChannelShape::Parabola { .. });
    // A round channel has no slope to write; its width at the full level says it.
    let berm = (spot(crest_axis - half_crest, crest), heights(toe), section.berm_batter, Beside::RightAbove);
    for (from, to, batter, beside) in channel.into_iter().filter(|_| !round).chain([berm]) {
        slope_label(&mut scene, from, to, &batter_words(batter), beside);
    }
    if let Some(offset) = stake {
        let at = spot(offset, ground(offset));
        scene.straight(at.moved(0.0, -2.0), at.moved(0.0, 7.0), Pen::solid(1.1, 0));
        let name = Text::new(at.moved(-1.6, 4.2), TWELVE_POINT, words.stake).ending();
        // At the paper's edge there is only room on the other side.
        let beside =
            if name.width() < at.x - 3.0 { name } else { Text::new(at.moved(1.6, 4.2), TWELVE_POINT, words.stake) };
        scene.text_on_paper(beside);
    }
    let line = spot(0.0, ground(0.0));
    scene.mark(line, Shape::Dot, mark_size(Shape::Dot));
    let label = Spot::new(line.x.min(crest_left - 3.0), line.y + over_level);
    scene.straight(line, label, FINE);
    scene.text_on_paper(Text::new(label.moved(1.0, 0.8), TWELVE_POINT, "contour line").ending());

    let mut stations = match swale.wanted.shape {
        ChannelShape::Trapezoid { .. } => vec![top, bed_axis + half_bed, bed_axis - half_bed],
        ChannelShape::Triangle => vec![top, bed_axis],
        ChannelShape::Parabola { .. } => vec![wet],
    };
    stations.extend([lip, heel, crest_axis + half_crest, crest_axis - half_crest, toe]);
    dimensions(&mut scene, &across, &stations, 12.0, figures);
    if let Some(offset) = stake.filter(|offset| offset.abs() > 0.01) {
        let (from, to) = if offset > 0.0 { (offset, 0.0) } else { (0.0, offset) };
        dimensions(&mut scene, &across, &[from, to], 2.5, figures);
    }
    ends(&mut scene, top_row, one_to);
    scene
}

/// A centred text moved so far that it stays on the paper.
fn on_paper(text: Text) -> Text {
    let half = text.width() / 2.0;
    let x = text.at.x.min(SHEET_WIDTH - half - 1.0).max(half + 1.0);
    Text { at: Spot::new(x, text.at.y), ..text.centred() }
}

/// The section through the middle of a sill, cut through natural ground and the designed surface.
#[must_use]
pub fn sill_section(
    ground: &Ground,
    surface: &Tin,
    swale: &Swale,
    spillway: &Spillway,
    figures: Figures,
    words: &Words,
) -> Scene {
    let sill = if swale.spillways.len() == 1 { "the sill".to_owned() } else { swale.sill_name(spillway) };
    let title = format!("{} through {sill} of {}", capital(words.cross_section), swale.wanted.name);
    let middle = f64::midpoint(spillway.from.in_metres(), spillway.to.in_metres());
    let sill = spillway.sill.in_metres();
    let offsets = || spillway.strip.outer.iter().map(|&p| swale.line.foot(p).offset);
    let strip_high = offsets().fold(f64::NEG_INFINITY, f64::max);
    let strip_low = offsets().fold(f64::INFINITY, f64::min);
    let beside = swale.section_at(Station::metres(middle));
    let uphill = beside.top_offset.in_metres().max(strip_high) + 1.5;
    let downhill = strip_low.min(0.0) - 5.0;
    let (mut across, one_to) = Across::fit(uphill, downhill);
    let cut = Polyline::new(vec![swale.line.at_offset(middle, uphill), swale.line.at_offset(middle, downhill)]);
    let heights = |tin: &Tin| -> Vec<(f64, f64)> {
        let points = cut.as_ref().map(|line| profile(&Locator::new(tin), line)).unwrap_or_default();
        points.iter().filter_map(|p| p.elevation.map(|z| (uphill - p.station, z - sill))).collect()
    };
    let (natural, built) = (heights(&ground.tin), heights(surface));
    let all = || natural.iter().chain(&built).map(|&(_, z)| z);
    let low = all().fold(0.0, f64::min) * across.scale;
    let high = all().fold(0.0, f64::max) * across.scale;
    across.sill = 18.0 - low;
    let mut scene = Scene::new(SHEET_WIDTH, across.sill + high + 19.0, title);
    let path = |heights: &[(f64, f64)]| -> Vec<Spot> { heights.iter().map(|&(o, z)| across.spot(o, z)).collect() };

    let mut between = path(&natural);
    between.extend(path(&built).into_iter().rev());
    scene.area(vec![between], Some(Fill::Hatched(CUT)), None);
    scene.line(path(&natural), GROUND);
    scene.line(path(&built), BUILT);
    scene.straight(across.spot(strip_high, 0.0), across.spot(strip_low, 0.0), Pen::solid(1.6, 0));
    // The channel swings uphill round a sill: its bed is where the surface is lowest uphill of the sill.
    let floor = built.iter().filter(|&&(o, _)| o > strip_high).map(|&(_, z)| z).fold(0.0, f64::min);
    let on_floor: Vec<f64> =
        built.iter().filter(|&&(o, z)| o > strip_high && z < floor + 0.005).map(|&(o, _)| o).collect();
    let wet = on_floor.iter().sum::<f64>() / on_floor.len().max(1) as f64;
    scene.straight(across.spot(uphill - 0.5, 0.0), across.spot(strip_high, 0.0), LEVEL);
    water_sign(&mut scene, across.spot(wet, 0.0));

    let middle_of_sill = across.spot(f64::midpoint(strip_high, strip_low), 0.0);
    scene.text_on_paper(Text::new(middle_of_sill.moved(0.0, 3.0), BIG, "SILL 0").centred().bold());
    let says = format!("level for {} along the line", figures.length(spillway.sill_length));
    scene.text_on_paper(Text::new(middle_of_sill.moved(0.0, 11.0), TWELVE_POINT, says).centred());
    let bed = (beside.bed - spillway.sill).in_metres();
    let bed_spot = across.spot(wet, bed);
    let says = format!("BED {}", figures.against_sill(Length::metres(bed)));
    scene.text_on_paper(Text::new(bed_spot.moved(0.0, -7.5), BIG, says).centred().bold());
    dimensions(&mut scene, &across, &[strip_high, strip_low], 3.0, figures);
    let out = across.spot(strip_low - 2.0, 0.0).moved(0.0, 3.0);
    scene.straight(out, out.moved(14.0, -1.5), OUTLINE);
    arrow_head(&mut scene, out, out.moved(14.0, -1.5), 2.6);
    ends(&mut scene, across.sill + high + 14.0, one_to);
    scene
}

/// A side slope with its letters: `2H:1V`.
#[must_use]
pub fn batter_words(batter: Batter) -> String {
    let text = format!("{:.2}", batter.in_horizontal_per_vertical());
    format!("{}H:1V", text.trim_end_matches('0').trim_end_matches('.'))
}

/// The same word with a capital letter.
#[must_use]
pub fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// The sign of a water surface: a small triangle on it with two short strokes below.
pub(super) fn water_sign(scene: &mut Scene, at: Spot) {
    scene.area(vec![vec![at, at.moved(-1.8, 3.0), at.moved(1.8, 3.0)]], Some(Fill::Grey(255)), Some(FINE));
    scene.straight(at.moved(-1.6, -0.9), at.moved(1.6, -0.9), FINE);
    scene.straight(at.moved(-0.8, -1.7), at.moved(0.8, -1.7), FINE);
}

/// Where a slope is written: on the outside of the earth that it bounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Beside {
    LeftBelow,
    RightBelow,
    RightAbove,
}

/// Writes a slope beside the middle of its line.
fn slope_label(scene: &mut Scene, from: Spot, to: Spot, says: &str, beside: Beside) {
    let middle = Spot::new(f64::midpoint(from.x, to.x), f64::midpoint(from.y, to.y));
    let text = Text::new(middle, TWELVE_POINT, says);
    scene.text(match beside {
        Beside::LeftBelow => Text { at: middle.moved(-2.0, -3.6), ..text.ending() },
        Beside::RightBelow => Text { at: middle.moved(2.0, -3.6), ..text },
        Beside::RightAbove => Text { at: middle.moved(2.5, 0.8), ..text },
    });
}

/// A chain of dimensions at a height on the paper; a number too wide for its part goes one row down.
pub(super) fn dimensions(scene: &mut Scene, across: &Across, offsets: &[f64], y: f64, figures: Figures) {
    let ticks: Vec<Spot> = offsets.iter().map(|&offset| Spot::new(across.spot(offset, 0.0).x, y)).collect();
    let (Some(&first), Some(&last)) = (ticks.first(), ticks.last()) else { return };
    scene.straight(first, last, FINE);
    let mut lowered = false;
    for (pair, parts) in ticks.windows(2).zip(offsets.windows(2)) {
        let middle = f64::midpoint(pair[0].x, pair[1].x);
        let text = Text::new(Spot::new(middle, y + 1.0), TWELVE_POINT, figures.size(parts[0] - parts[1])).centred();
        lowered = text.width() > (pair[1].x - pair[0].x) - 1.0 && !lowered;
        let at = if lowered { Spot::new(middle, y - 4.6) } else { text.at };
        scene.text(Text { at, ..text });
    }
    for tick in ticks {
        scene.straight(tick.moved(-0.9, -0.9), tick.moved(0.9, 0.9), OUTLINE);
        scene.straight(tick.moved(0.0, -1.2), tick.moved(0.0, 2.0), FINE);
    }
}

/// Which side is uphill, and the scale.
fn ends(scene: &mut Scene, y: f64, one_to: f64) {
    scene.text_on_paper(Text::new(Spot::new(1.0, y), TWELVE_POINT, "UPHILL").bold());
    scene.text_on_paper(Text::new(Spot::new(SHEET_WIDTH - 1.0, y), TWELVE_POINT, "DOWNHILL").ending().bold());
    let says = format!("true shape, 1:{one_to:.0}");
    scene.text_on_paper(Text::new(Spot::new(SHEET_WIDTH - 1.0, 1.6), TWELVE_POINT, says).ending().grey(0x44));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::hillside::{METRIC, hillside};
    use crate::draw::{Item, Region};

    fn built(scene: &Scene) -> Vec<Vec<Spot>> {
        let of_pen = |item: &Item| match item {
            Item::Line { through, pen } if *pen == BUILT => Some(through.clone()),
            _ => None,
        };
        scene.items.iter().filter_map(of_pen).collect()
    }

    #[test]
    fn the_typical_section_has_its_true_shape() {
        // Closed form: sides of 2H:1V are twice as wide as high on paper, and the bed is 1.2 m at the scale it says.
        let site = hillside(110.0);
        let scene = typical_sections(site.plan.swale(0), Some(6.0), METRIC, Region::Au.words()).remove(0);
        let lines = built(&scene);
        let (cut, berm) = (&lines[0], &lines[1]);
        for side in [[cut[0], cut[1]], [cut[2], cut[3]], [berm[0], berm[1]], [berm[2], berm[3]]] {
            let slope = (side[1].x - side[0].x).abs() / (side[1].y - side[0].y).abs();
            assert!((slope - 2.0).abs() < 0.01, "{slope}");
        }
        let says = scene.texts().find(|text| text.starts_with("true shape, 1:")).expect("its scale").to_owned();
        let one_to: f64 = says.trim_start_matches("true shape, 1:").parse().expect("a number");
        assert!((cut[2].x - cut[1].x - 1200.0 / one_to).abs() < 1e-9);
        assert!(cut[0].x < berm[0].x, "uphill is on the left");
    }

    #[test]
    fn no_word_of_the_typical_section_stands_on_another() {
        let inches = Figures { units: crate::units::ReadingUnits::Feet, feet: crate::units::FeetStyle::FeetAndInches };
        let site = hillside(110.0);
        for figures in [METRIC, inches] {
            let scene = typical_sections(site.plan.swale(0), Some(6.0), figures, Region::Us.words()).remove(0);
            let boxes: Vec<(String, [f64; 4])> = scene
                .items
                .iter()
                .filter_map(|item| match item {
                    // Dimensions have rows of their own.
                    Item::Text(text) if text.says.chars().any(char::is_alphabetic) => Some(text),
                    _ => None,
                })
                .map(|text| {
                    let width = text.width();
                    let left = match text.anchor {
                        crate::draw::Anchor::Start => text.at.x,
                        crate::draw::Anchor::Middle => text.at.x - width / 2.0,
                        crate::draw::Anchor::End => text.at.x - width,
                    };
                    (text.says.clone(), [left, left + width, text.at.y, text.at.y + 0.75 * text.size])
                })
                .collect();
            assert!(boxes.iter().any(|(says, _)| says == "DOWNHILL") && boxes.len() >= 8);
            for (i, (says, a)) in boxes.iter().enumerate() {
                for (other, b) in &boxes[i + 1..] {
                    let apart = a[1] <= b[0] || b[1] <= a[0] || a[3] <= b[2] || b[3] <= a[2];
                    assert!(apart, "{says} stands on {other}");
                }
            }
        }
    }

    #[test]
    fn dimensions_add_up_to_the_whole() {
        let site = hillside(110.0);
        let scene = typical_sections(site.plan.swale(0), None, METRIC, Region::Au.words()).remove(0);
        let numbers: Vec<f64> = scene.texts().filter_map(|text| text.parse().ok()).collect();
        let section = &site.plan.swale(0).section;
        let whole = (section.top_offset - section.toe_offset).in_metres();
        // Seven parts, each rounded to 10 mm.
        assert_eq!(numbers.len(), 7);
        assert!((numbers.iter().sum::<f64>() - whole).abs() <= 0.035, "{numbers:?} {whole}");
    }

    #[test]
    fn the_section_at_a_sill_is_level_over_its_breadth() {
        let site = hillside(110.0);
        let swale = site.plan.swale(0);
        let scene =
            sill_section(&site.ground, &site.plan.surfaces[0], swale, &swale.spillways[0], METRIC, Region::Us.words());
        let line = &built(&scene)[0];
        let longest_level = line
            .windows(2)
            .filter(|pair| (pair[0].y - pair[1].y).abs() < 0.02)
            .map(|pair| pair[1].x - pair[0].x)
            .fold(0.0, f64::max);
        assert!(longest_level > 10.0, "{longest_level}");
        assert!(scene.texts().any(|text| text == "1.50"), "its breadth");
        assert!(scene.texts().any(|text| text == "SILL 0"));
    }

    #[test]
    fn slopes_carry_their_letters() {
        assert_eq!(batter_words(Batter::horizontal_per_vertical(2.0)), "2H:1V");
        assert_eq!(batter_words(Batter::horizontal_per_vertical(2.5)), "2.5H:1V");
    }
}
