//! A drawing in paper millimetres: what stands where, with which pen, and nothing about any file format.
//!
//! Invariant: x runs right and y runs up from the lower left corner of the paper, so north is up when east is right.
//! Meaning is carried by line style, hatching and mark shape, never by a pair of colours: every pen is black or grey.

/// A place on the paper, millimetres from its lower left corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// To the right.
    pub x: f64,
    /// Up.
    pub y: f64,
}

impl Spot {
    /// From right and up, millimetres.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The same place moved right and up.
    #[must_use]
    pub const fn moved(self, right: f64, up: f64) -> Self {
        Self { x: self.x + right, y: self.y + up }
    }

    /// Distance to another place on the paper.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }
}

/// How a line is drawn: width in millimetres, grey from 0 (black) to 255 (white), dashes in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Width, millimetres.
    pub width: f64,
    /// Grey, 0 is black.
    pub grey: u8,
    /// Lengths of dash and gap in turn, millimetres; empty for a whole line.
    pub dashes: &'static [f64],
}

impl Pen {
    /// A whole line of so many millimetres and so much grey.
    #[must_use]
    pub const fn solid(width: f64, grey: u8) -> Self {
        Self { width, grey, dashes: &[] }
    }

    /// A dashed black line.
    #[must_use]
    pub const fn dashed(width: f64, dashes: &'static [f64]) -> Self {
        Self { width, grey: 0, dashes }
    }
}

/// Parallel lines that fill an area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hatch {
    /// Direction of the lines, degrees from the paper's right, anticlockwise.
    pub degrees: f64,
    /// Distance between them, millimetres.
    pub spacing: f64,
    /// How each is drawn.
    pub pen: Pen,
}

/// What an area is filled with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fill {
    /// Plain grey.
    Grey(u8),
    /// Parallel lines.
    Hatched(Hatch),
}

/// The shape of a mark at a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// A filled dot.
    Dot,
    /// An open ring.
    Ring,
    /// A filled square.
    Square,
    /// An open square.
    OpenSquare,
    /// A triangle with a dot in it: a control mark.
    Triangle,
    /// A filled triangle standing on its point.
    Wedge,
    /// An open diamond.
    Diamond,
    /// An upright cross.
    Plus,
    /// A slanted cross.
    Cross,
    /// An open square, its lower half filled: a hole in the ground.
    Pit,
}

/// Which part of a text stands at its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Anchor {
    /// Its left end.
    #[default]
    Start,
    /// Its middle.
    Middle,
    /// Its right end.
    End,
}

/// A line of text; its baseline runs through its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// Where it stands.
    pub at: Spot,
    /// What it says, unescaped.
    pub says: String,
    /// Height of its letters' body, millimetres (12 pt are 4.23 mm).
    pub size: f64,
    /// Which part of it stands at its place.
    pub anchor: Anchor,
    /// Heavy letters.
    pub bold: bool,
    /// Grey, 0 is black.
    pub grey: u8,
    /// Turned anticlockwise by so many degrees.
    pub degrees: f64,
    /// A white rim that keeps it apart from the lines under it.
    pub rim: bool,
}

impl Text {
    /// Plain black upright text.
    #[must_use]
    pub fn new(at: Spot, size: f64, says: impl Into<String>) -> Self {
        Self { at, says: says.into(), size, anchor: Anchor::Start, bold: false, grey: 0, degrees: 0.0, rim: true }
    }

    /// Standing at its middle.
    #[must_use]
    pub fn centred(mut self) -> Self {
        self.anchor = Anchor::Middle;
        self
    }

    /// Standing at its right end.
    #[must_use]
    pub fn ending(mut self) -> Self {
        self.anchor = Anchor::End;
        self
    }

    /// In heavy letters.
    #[must_use]
    pub fn bold(mut self) -> Self {
        self.bold = true;
        self
    }

    /// In grey.
    #[must_use]
    pub fn grey(mut self, grey: u8) -> Self {
        self.grey = grey;
        self
    }

    /// Turned anticlockwise.
    #[must_use]
    pub fn turned(mut self, degrees: f64) -> Self {
        self.degrees = degrees;
        self
    }

    /// Its width on the paper, estimated: a sans-serif letter is near 0.56 of its body's height, a heavy one 0.6.
    #[must_use]
    pub fn width(&self) -> f64 {
        let letter = if self.bold { 0.6 } else { 0.56 };
        self.says.chars().count() as f64 * self.size * letter
    }
}

/// One thing on the paper.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A line through places.
    Line {
        /// Its vertices.
        through: Vec<Spot>,
        /// How it is drawn.
        pen: Pen,
    },
    /// An area with holes by the even-odd rule.
    Area {
        /// Its rings, not repeated at the end.
        rings: Vec<Vec<Spot>>,
        /// What fills it; `None` leaves it open.
        fill: Option<Fill>,
        /// Its outline.
        outline: Option<Pen>,
    },
    /// A mark at a point.
    Mark {
        /// Its middle.
        at: Spot,
        /// Its shape.
        shape: Shape,
        /// Its width, millimetres.
        size: f64,
    },
    /// A line of text.
    Text(Text),
}

/// A drawing: a paper of some size, and what stands on it in the order drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// Width of the paper, millimetres.
    pub width: f64,
    /// Height of the paper, millimetres.
    pub height: f64,
    /// What it shows, for those who cannot see it.
    pub title: String,
    /// What stands on it; later things cover earlier ones.
    pub items: Vec<Item>,
}

impl Scene {
    /// The lines drawn with a pen, for tests.
    #[cfg(test)]
    pub(super) fn lines_of(&self, pen: Pen) -> Vec<Vec<Spot>> {
        let of_pen = |item: &Item| match item {
            Item::Line { through, pen: found } if *found == pen => Some(through.clone()),
            _ => None,
        };
        self.items.iter().filter_map(of_pen).collect()
    }

    /// An empty paper.
    #[must_use]
    pub fn new(width: f64, height: f64, title: impl Into<String>) -> Self {
        Self { width, height, title: title.into(), items: Vec::new() }
    }

    /// Draws a line; fewer than two places draw nothing.
    pub fn line(&mut self, through: Vec<Spot>, pen: Pen) {
        if through.len() > 1 {
            self.items.push(Item::Line { through, pen });
        }
    }

    /// Draws a straight line.
    pub fn straight(&mut self, from: Spot, to: Spot, pen: Pen) {
        self.line(vec![from, to], pen);
    }

    /// Draws an area; rings of fewer than three places are left out.
    pub fn area(&mut self, mut rings: Vec<Vec<Spot>>, fill: Option<Fill>, outline: Option<Pen>) {
        rings.retain(|ring| ring.len() > 2);
        if !rings.is_empty() {
            self.items.push(Item::Area { rings, fill, outline });
        }
    }

    /// Draws a mark.
    pub fn mark(&mut self, at: Spot, shape: Shape, size: f64) {
        self.items.push(Item::Mark { at, shape, size });
    }

    /// Writes a text.
    pub fn text(&mut self, text: Text) {
        self.items.push(Item::Text(text));
    }

    /// Writes a text, moved sideways as far as it takes to stay on the paper.
    pub fn text_on_paper(&mut self, mut text: Text) {
        let width = text.width();
        let left = match text.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => width / 2.0,
            Anchor::End => width,
        };
        text.at.x = text.at.x.min(self.width - (width - left)).max(left);
        self.text(text);
    }

    /// Every text on it, in the order drawn.
    pub fn texts(&self) -> impl Iterator<Item = &str> {
        self.items.iter().filter_map(|item| match item {
            Item::Text(text) => Some(text.says.as_str()),
            _ => None,
        })
    }
}
