//! A scene as SVG text: millimetres on paper, no scripts, no fonts from elsewhere, hatching as plain lines.
//!
//! Invariant: the same scene gives the same bytes; numbers carry two decimals of a millimetre; every text is escaped.
//! Hatching is worked out here as lines rather than left to a pattern, so that no two drawings on a page share a name
//! and a printer draws it as sharp as any other line.

use super::scene::{Anchor, Fill, Hatch, Item, Pen, Scene, Shape, Spot, Text};
use std::fmt::Write as _;

/// The scene as one `<svg>` element, whole in itself.
#[must_use]
pub fn svg(scene: &Scene) -> String {
    let mut out = String::new();
    let (width, height) = (number(scene.width), number(scene.height));
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
         viewBox=\"0 0 {width} {height}\" role=\"img\" font-family=\"Arial, Helvetica, 'Liberation Sans', 'DejaVu \
         Sans', sans-serif\" stroke-linecap=\"round\" stroke-linejoin=\"round\">\n<title>{}</title>\n",
        escape(&scene.title)
    );
    let _ = writeln!(out, "<rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>");
    for item in &scene.items {
        write_item(&mut out, item, scene.height);
    }
    out.push_str("</svg>\n");
    out
}

/// Text made safe for SVG, XML and HTML, in content and in quoted attributes; control characters are left out.
#[must_use]
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' | '\t' => out.push(' '),
            c if c.is_control() || c == '\u{fffe}' || c == '\u{ffff}' => {}
            c => out.push(c),
        }
    }
    out
}

/// Two decimals without trailing zeros, never `-0`.
fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn grey(level: u8) -> String {
    format!("#{level:02x}{level:02x}{level:02x}")
}

fn stroke(pen: Pen) -> String {
    let mut text = format!("stroke=\"{}\" stroke-width=\"{}\"", grey(pen.grey), number(pen.width));
    if !pen.dashes.is_empty() {
        let dashes: Vec<String> = pen.dashes.iter().map(|&d| number(d)).collect();
        // Round caps would close short gaps.
        let _ = write!(text, " stroke-dasharray=\"{}\" stroke-linecap=\"butt\"", dashes.join(" "));
    }
    text
}

fn path(out: &mut String, spots: &[Spot], height: f64) {
    for (i, spot) in spots.iter().enumerate() {
        let _ = write!(out, "{}{} {}", if i == 0 { "M" } else { "L" }, number(spot.x), number(height - spot.y));
    }
}

fn write_item(out: &mut String, item: &Item, height: f64) {
    match item {
        Item::Line { through, pen } => {
            out.push_str("<path fill=\"none\" d=\"");
            path(out, through, height);
            let _ = writeln!(out, "\" {}/>", stroke(*pen));
        }
        Item::Area { rings, fill, outline } => write_area(out, rings, *fill, *outline, height),
        Item::Mark { at, shape, size } => write_mark(out, *at, *shape, *size, height),
        Item::Text(text) => write_text(out, text, height),
    }
}

fn write_area(out: &mut String, rings: &[Vec<Spot>], fill: Option<Fill>, outline: Option<Pen>, height: f64) {
    if let Some(Fill::Hatched(hatch)) = fill {
        let lines = hatch_lines(rings, hatch);
        if !lines.is_empty() {
            out.push_str("<path fill=\"none\" d=\"");
            for line in &lines {
                path(out, line, height);
            }
            let _ = writeln!(out, "\" {}/>", stroke(hatch.pen));
        }
    }
    let plain = match fill {
        Some(Fill::Grey(level)) => Some(grey(level)),
        _ => None,
    };
    if plain.is_none() && outline.is_none() {
        return;
    }
    let _ = write!(out, "<path fill=\"{}\" fill-rule=\"evenodd\" d=\"", plain.as_deref().unwrap_or("none"));
    for ring in rings {
        path(out, ring, height);
        out.push('Z');
    }
    out.push('"');
    if let Some(pen) = outline {
        let _ = write!(out, " {}", stroke(pen));
    }
    out.push_str("/>\n");
}

/// Lines of a hatch inside rings, by the even-odd rule: each scan line is cut by every edge that it crosses, lower end
/// counted and upper end not, so a vertex on a scan line is counted once.
fn hatch_lines(rings: &[Vec<Spot>], hatch: Hatch) -> Vec<[Spot; 2]> {
    let (sin, cos) = hatch.degrees.to_radians().sin_cos();
    let turn = |s: Spot| Spot::new(s.x * cos + s.y * sin, s.y * cos - s.x * sin);
    let back = |s: Spot| Spot::new(s.x * cos - s.y * sin, s.x * sin + s.y * cos);
    let edges: Vec<(Spot, Spot)> = rings
        .iter()
        .flat_map(|ring| (0..ring.len()).map(|i| (turn(ring[i]), turn(ring[(i + 1) % ring.len()]))))
        .collect();
    let low = edges.iter().map(|(a, _)| a.y).fold(f64::INFINITY, f64::min);
    let high = edges.iter().map(|(a, _)| a.y).fold(f64::NEG_INFINITY, f64::max);
    let mut lines = Vec::new();
    // Scan lines stand at multiples of the spacing, so neighbouring areas hatch through.
    let mut k = (low / hatch.spacing).ceil();
    while k * hatch.spacing <= high {
        let y = k * hatch.spacing;
        let mut crossings: Vec<f64> = edges
            .iter()
            .filter(|(a, b)| (a.y <= y) != (b.y <= y))
            .map(|(a, b)| a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y))
            .collect();
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            if pair[1] - pair[0] > 0.05 {
                lines.push([back(Spot::new(pair[0], y)), back(Spot::new(pair[1], y))]);
            }
        }
        k += 1.0;
    }
    lines
}

fn write_mark(out: &mut String, at: Spot, shape: Shape, size: f64, height: f64) {
    let (x, y, half) = (at.x, height - at.y, size / 2.0);
    let pen = stroke(Pen::solid((size / 8.0).max(0.2), 0));
    let polygon = |corners: &[(f64, f64)]| {
        let corners: Vec<String> = corners
            .iter()
            .map(|(right, down)| format!("{},{}", number(x + right * half), number(y + down * half)))
            .collect();
        corners.join(" ")
    };
    let square = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
    let _ = match shape {
        Shape::Dot => writeln!(out, "<circle cx=\"{}\" cy=\"{}\" r=\"{}\"/>", number(x), number(y), number(half)),
        Shape::Ring => writeln!(
            out,
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"#fff\" {pen}/>",
            number(x),
            number(y),
            number(half)
        ),
        Shape::Square => writeln!(out, "<polygon points=\"{}\"/>", polygon(&square)),
        Shape::OpenSquare => writeln!(out, "<polygon points=\"{}\" fill=\"#fff\" {pen}/>", polygon(&square)),
        Shape::Pit => {
            let lower = [(-1.0, 0.0), (1.0, 0.0), (1.0, 1.0), (-1.0, 1.0)];
            writeln!(
                out,
                "<polygon points=\"{}\" fill=\"#fff\" {pen}/><polygon points=\"{}\"/>",
                polygon(&square),
                polygon(&lower)
            )
        }
        Shape::Triangle => writeln!(
            out,
            "<polygon points=\"{}\" fill=\"#fff\" {pen}/><circle cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
            polygon(&[(0.0, -1.15), (1.0, 0.6), (-1.0, 0.6)]),
            number(x),
            number(y),
            number(half / 4.0)
        ),
        Shape::Wedge => {
            writeln!(out, "<polygon points=\"{}\"/>", polygon(&[(0.0, 1.0), (0.9, -0.8), (-0.9, -0.8)]))
        }
        Shape::Diamond => writeln!(
            out,
            "<polygon points=\"{}\" fill=\"#fff\" {pen}/>",
            polygon(&[(0.0, -1.0), (1.0, 0.0), (0.0, 1.0), (-1.0, 0.0)])
        ),
        Shape::Plus | Shape::Cross => {
            let arm = if shape == Shape::Plus { [(half, 0.0), (0.0, half)] } else { [(half, half), (half, -half)] };
            let lines: Vec<String> = arm
                .iter()
                .map(|(dx, dy)| format!("M{} {}L{} {}", number(x - dx), number(y - dy), number(x + dx), number(y + dy)))
                .collect();
            writeln!(out, "<path fill=\"none\" d=\"{}\" {pen}/>", lines.concat())
        }
    };
}

fn write_text(out: &mut String, text: &Text, height: f64) {
    let (x, y) = (number(text.at.x), number(height - text.at.y));
    let _ = write!(out, "<text x=\"{x}\" y=\"{y}\" font-size=\"{}\" fill=\"{}\"", number(text.size), grey(text.grey));
    match text.anchor {
        Anchor::Start => {}
        Anchor::Middle => out.push_str(" text-anchor=\"middle\""),
        Anchor::End => out.push_str(" text-anchor=\"end\""),
    }
    if text.bold {
        out.push_str(" font-weight=\"bold\"");
    }
    if text.degrees != 0.0 {
        let _ = write!(out, " transform=\"rotate({} {x} {y})\"", number(-text.degrees));
    }
    if text.rim {
        let _ = write!(out, " stroke=\"#fff\" stroke-width=\"{}\" paint-order=\"stroke\"", number(text.size * 0.22));
    }
    let _ = writeln!(out, ">{}</text>", escape(&text.says));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(side: f64) -> Vec<Spot> {
        vec![Spot::new(0.0, 0.0), Spot::new(side, 0.0), Spot::new(side, side), Spot::new(0.0, side)]
    }

    #[test]
    fn hatching_fills_an_area_to_its_share() {
        // Closed form: total length of hatch lines times their spacing tends to the area, here 30 x 30 less 10 x 10.
        let hole: Vec<Spot> = square(10.0).iter().map(|s| s.moved(10.0, 10.0)).collect();
        for degrees in [0.0, 45.0, 90.0, 135.0, 20.0] {
            let hatch = Hatch { degrees, spacing: 0.05, pen: Pen::solid(0.1, 0) };
            let total: f64 =
                hatch_lines(&[square(30.0), hole.clone()], hatch).iter().map(|[a, b]| a.distance(*b)).sum();
            assert!((total * 0.05 - 800.0).abs() < 800.0 * 0.005, "{degrees}: {}", total * 0.05);
        }
    }

    #[test]
    fn text_from_the_field_cannot_leave_its_element() {
        let mut scene = Scene::new(10.0, 10.0, "a & b");
        scene.text(Text::new(Spot::new(1.0, 1.0), 4.0, "</text><script>\"'&"));
        let out = svg(&scene);
        assert!(out.contains("&lt;/text&gt;&lt;script&gt;&quot;&#39;&amp;"));
        assert!(out.contains("<title>a &amp; b</title>"));
        assert!(!out.contains("<script"));
    }

    #[test]
    fn north_is_up() {
        let mut scene = Scene::new(100.0, 50.0, "");
        scene.mark(Spot::new(10.0, 40.0), Shape::Dot, 2.0);
        assert!(svg(&scene).contains("cx=\"10\" cy=\"10\""));
    }

    #[test]
    fn no_number_is_a_negative_zero() {
        assert_eq!(number(-0.001), "0");
        assert_eq!(number(-0.25), "-0.25");
        assert_eq!(number(100.0), "100");
    }
}
