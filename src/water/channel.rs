//! Uniform flow in an earth channel (Manning), and how fast its cover lets water run.
//!
//! What an approach takes of the height of a flood is the same formula step by step along it (the standard step method, Chow
//! 1959).
//!
//! Invariant: SI throughout, `Q = A R^(2/3) S^(1/2) / n`. How deep water stands is reckoned with the roughest state of the
//! cover, how fast it runs with the smoothest, so that both are on the safe side.

use crate::units::{Batter, Fall, Flow, Length, METRES_PER_FOOT};

/// Standard gravity, metres a second squared.
const GRAVITY: f64 = 9.806_65;

/// The wetted part of a channel across, as a function of its depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Across {
    /// A level bottom, which may have no width, between two sides of their own batters.
    Sides {
        /// Width of the bottom.
        bottom: Length,
        /// Side slopes.
        batters: [Batter; 2],
    },
    /// A parabola, as wide as this at this depth and carried on above it.
    Parabola {
        /// Width at the depth.
        top: Length,
        /// The depth.
        depth: Length,
    },
}

impl Across {
    /// Wetted area at a depth, square metres.
    #[must_use]
    pub fn area(self, depth: f64) -> f64 {
        match self {
            Self::Sides { bottom, batters: [one, other] } => {
                let sides = one.in_horizontal_per_vertical() + other.in_horizontal_per_vertical();
                (bottom.in_metres() + 0.5 * sides * depth) * depth
            }
            Self::Parabola { .. } => 2.0 / 3.0 * self.width(depth) * depth,
        }
    }

    /// Width of the water's surface at a depth, metres.
    #[must_use]
    pub fn width(self, depth: f64) -> f64 {
        match self {
            Self::Sides { bottom, batters } => {
                bottom.in_metres() + batters.map(|side| side.in_horizontal_per_vertical() * depth).iter().sum::<f64>()
            }
            Self::Parabola { top, depth: full } => top.in_metres() * (depth / full.in_metres()).sqrt(),
        }
    }

    /// Wetted perimeter at a depth, metres; of a parabola its arc (Chow 1959, table 2-1, note).
    #[must_use]
    pub fn perimeter(self, depth: f64) -> f64 {
        match self {
            Self::Sides { bottom, batters } => {
                let side = |batter: Batter| depth * 1.0_f64.hypot(batter.in_horizontal_per_vertical());
                bottom.in_metres() + batters.map(side).iter().sum::<f64>()
            }
            Self::Parabola { .. } => {
                let width = self.width(depth);
                let steep = 4.0 * depth / width;
                width / 2.0 * (1.0_f64.hypot(steep) + steep.asinh() / steep)
            }
        }
    }

    /// Flow that runs uniformly at a depth down a fall; nothing without depth or fall.
    #[must_use]
    pub fn flow(self, depth: Length, fall: Fall, n: f64) -> Flow {
        let depth = depth.in_metres().max(0.0);
        if depth == 0.0 {
            return Flow::ZERO;
        }
        let radius = self.area(depth) / self.perimeter(depth);
        let slope = fall.in_ratio().max(0.0).sqrt();
        Flow::cubic_metres_per_second(self.area(depth) * radius.powf(2.0 / 3.0) * slope / n)
    }

    /// Depth at which a flow runs uniformly down a fall; `None` where the channel does not fall or nothing flows.
    #[must_use]
    pub fn depth(self, flow: Flow, fall: Fall, n: f64) -> Option<Length> {
        if flow <= Flow::ZERO || fall.in_ratio() <= 0.0 {
            return None;
        }
        // Flow grows with depth, so halving a bracket cannot miss.
        let carries = |depth: f64| self.flow(Length::metres(depth), fall, n);
        let mut high = 1.0;
        while carries(high) < flow {
            high *= 2.0;
        }
        let mut low = 0.0;
        for _ in 0..80 {
            let middle = f64::midpoint(low, high);
            if carries(middle) < flow {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(Length::metres(high))
    }

    /// Mean speed of a flow at a depth, metres a second.
    #[must_use]
    pub fn speed(self, flow: Flow, depth: Length) -> f64 {
        flow.in_cubic_metres_per_second() / self.area(depth.in_metres())
    }

    /// Depth and the height that its speed stands for: what must stand over the bottom for a flow to run at a depth.
    #[must_use]
    pub fn energy(self, flow: Flow, depth: Length) -> Length {
        Length::metres(depth.in_metres() + self.speed(flow, depth).powi(2) / (2.0 * GRAVITY))
    }
}

/// A channel with a level bottom and two equal sides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trapezoid {
    /// Width of the bottom.
    pub bottom: Length,
    /// Side slope.
    pub batter: Batter,
}

impl From<Trapezoid> for Across {
    fn from(section: Trapezoid) -> Self {
        Self::Sides { bottom: section.bottom, batters: [section.batter; 2] }
    }
}

/// Steps along an approach, metres.
const STEP: f64 = 0.1;

/// A channel that leads slow water to a sill at its end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Approach {
    /// Its section.
    pub section: Trapezoid,
    /// Fall of its floor away from the sill.
    pub fall: Fall,
    /// Its length.
    pub length: Length,
}

impl Approach {
    /// What its friction takes of the height of a flood: how much higher the water stands before it than the head over the
    /// sill asks for. The energy over the floor grows from the head at the sill by the friction slope of each step; bends and
    /// the entrance are left out. `n` is Manning's.
    #[must_use]
    pub fn loss(&self, flow: Flow, head: Length, n: f64) -> Length {
        let (length, fall) = (self.length.in_metres(), self.fall.in_ratio());
        if length <= 0.0 || flow <= Flow::ZERO {
            return Length::ZERO;
        }
        let steps = (length / STEP).ceil();
        let step = length / steps;
        // Energy over the sill's level, at each place from the sill.
        let slope = |from_sill: f64, energy: f64| self.friction(flow, energy + fall * from_sill, n);
        let (mut energy, mut k) = (head.in_metres(), 0.0);
        while k < steps {
            let here = slope(k * step, energy);
            let there = slope((k + 1.0) * step, energy + here * step);
            energy += f64::midpoint(here, there) * step;
            k += 1.0;
        }
        Length::metres(energy - head.in_metres())
    }

    /// The friction slope of a flow with an energy over the floor, running slower than critical.
    fn friction(&self, flow: Flow, energy: f64, n: f64) -> f64 {
        let q = flow.in_cubic_metres_per_second();
        let section = Across::from(self.section);
        // Slower than critical where Q^2 T < g A^3; deeper needs more energy there, so that halving finds the depth.
        let critical = |y: f64| q * q * section.width(y) >= GRAVITY * section.area(y).powi(3);
        let (mut low, mut high) = (0.0, energy);
        for _ in 0..60 {
            let y = f64::midpoint(low, high);
            if critical(y) || section.energy(flow, Length::metres(y)).in_metres() < energy {
                low = y;
            } else {
                high = y;
            }
        }
        let radius = section.area(high) / section.perimeter(high);
        (n * section.speed(flow, Length::metres(high))).powi(2) / radius.powf(4.0 / 3.0)
    }
}

/// What covers the bottom and sides of a channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cover {
    /// Bare earth.
    Bare,
    /// Bunch grasses and native grass in tufts.
    BunchGrass,
    /// A sod of mixed grasses.
    #[default]
    MixedGrass,
    /// A dense sod of one grass that spreads.
    SodGrass,
    /// A dense sod of a creeping, deeply rooted grass.
    CreepingGrass,
}

impl Cover {
    /// All covers and their words.
    pub const ALL: [(&'static str, Self); 5] = [
        ("bare", Self::Bare),
        ("bunch-grass", Self::BunchGrass),
        ("mixed-grass", Self::MixedGrass),
        ("sod-grass", Self::SodGrass),
        ("creeping-grass", Self::CreepingGrass),
    ];

    /// Its words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Bare => "bare earth",
            Self::BunchGrass => "bunch grass",
            Self::MixedGrass => "mixed grass",
            Self::SodGrass => "sod grass",
            Self::CreepingGrass => "creeping grass",
        }
    }

    /// Manning's n at its smoothest and at its roughest: excavated channels of Chow 1959, weathered earth and short grass
    /// with few weeds.
    #[must_use]
    pub const fn roughness(self) -> (f64, f64) {
        match self {
            Self::Bare => (0.018, 0.025),
            _ => (0.022, 0.033),
        }
    }

    /// How fast water may run over it on a fall, metres a second, on soil that washes easily; `None` where it is not to be
    /// used so steep. Grass by K.A.R. 5-40-56 (up to 5 % and up to 10 %), bare earth as firm loam in clear water (Fortier and
    /// Scobey 1926, from memory).
    #[must_use]
    pub fn permissible(self, fall: Fall) -> Option<f64> {
        let (gentle, steep) = match self {
            Self::Bare | Self::BunchGrass => (2.5, 2.5),
            Self::MixedGrass => (4.0, 3.0),
            Self::SodGrass => (5.0, 4.0),
            Self::CreepingGrass => (6.0, 5.0),
        };
        let percent = fall.in_percent();
        let feet = if percent <= 5.0 {
            gentle
        } else if percent <= 10.0 {
            steep
        } else {
            return None;
        };
        Some(feet * METRES_PER_FOOT)
    }
}

/// How a flow runs down a channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Its depth where the cover is roughest.
    pub depth: Length,
    /// What must stand over the bottom for that.
    pub energy: Length,
    /// Its speed where the cover is smoothest, metres a second.
    pub speed: f64,
    /// The speed that the cover bears on this fall, metres a second; `None` where it is too steep for it.
    pub permissible: Option<f64>,
}

impl Run {
    /// How a flow runs; `None` where nothing flows or the channel does not fall.
    #[must_use]
    pub fn of(section: impl Into<Across>, flow: Flow, fall: Fall, cover: Cover) -> Option<Self> {
        let section = section.into();
        let (smooth, rough) = cover.roughness();
        let depth = section.depth(flow, fall, rough)?;
        let speed = section.speed(flow, section.depth(flow, fall, smooth)?);
        Some(Self { depth, energy: section.energy(flow, depth), speed, permissible: cover.permissible(fall) })
    }

    /// True when it runs faster than its cover bears.
    #[must_use]
    pub fn too_fast(self) -> bool {
        self.permissible.is_none_or(|limit| self.speed > limit)
    }
}

/// The width of bottom at which a flow runs no faster than a cover bears; `None` where none up to 200 m is wide enough.
#[must_use]
pub fn width_for(flow: Flow, fall: Fall, batter: Batter, cover: Cover) -> Option<Length> {
    let limit = cover.permissible(fall)?;
    let slow = |width: f64| {
        Run::of(Trapezoid { bottom: Length::metres(width), batter }, flow, fall, cover)
            .is_some_and(|run| run.speed <= limit)
    };
    (1..=400).map(|half| f64::from(half) * 0.5).find(|&width| slow(width)).map(Length::metres)
}

/// The steepest fall, in tenths of a per cent, down which a flow runs no faster than a cover bears.
#[must_use]
pub fn fall_for_speed(section: impl Into<Across>, flow: Flow, cover: Cover) -> Option<Fall> {
    let section = section.into();
    let bears = |fall: &Fall| Run::of(section, flow, *fall, cover).is_some_and(|run| !run.too_fast());
    (1..=100).rev().map(|tenth| Fall::percent(f64::from(tenth) * 0.1)).find(bears)
}

/// The least fall, in tenths of a per cent, down which a flow needs no more over the bottom than a head.
#[must_use]
pub fn fall_for_head(section: Trapezoid, flow: Flow, head: Length, cover: Cover) -> Option<Fall> {
    let free = |fall: &Fall| Run::of(section, flow, *fall, cover).is_some_and(|run| run.energy <= head);
    (1..=200).map(|tenth| Fall::percent(f64::from(tenth) * 0.1)).find(free)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn trapezoid(bottom: f64, batter: f64) -> Trapezoid {
        Trapezoid { bottom: Length::metres(bottom), batter: Batter::horizontal_per_vertical(batter) }
    }

    fn across(bottom: f64, batter: f64) -> Across {
        trapezoid(bottom, batter).into()
    }

    /// Mott, problem 14.19, as run in the manual of the package iemisc: 3 m wide, sides 1.5:1, 1.5 m deep, slope 0.001,
    /// n 0.015 carry 15.892 m3/s at 2.018 m/s.
    #[test]
    fn a_published_trapezoid() {
        let section = across(3.0, 1.5);
        let (fall, depth) = (Fall::ratio(0.001), Length::metres(1.5));
        assert!((section.area(1.5) - 7.875).abs() < 1e-12 && (section.perimeter(1.5) - 8.408).abs() < 1e-3);
        let flow = section.flow(depth, fall, 0.015);
        assert!((flow.in_cubic_metres_per_second() - 15.892).abs() < 2e-3, "{flow:?}");
        assert!((section.speed(flow, depth) - 2.018).abs() < 1e-3);
        let back = section.depth(flow, fall, 0.015).unwrap();
        assert!((back.in_metres() - 1.5).abs() < 1e-9);
    }

    /// The manual of the R package hydraulics: n 0.013, sides 2:1, slope 0.0005, 1.83 m deep, 3 m wide carry 22.2 m3/s.
    #[test]
    fn a_second_published_trapezoid() {
        let flow = across(3.0, 2.0).flow(Length::metres(1.83), Fall::ratio(0.0005), 0.013);
        assert!((flow.in_cubic_metres_per_second() - 22.2).abs() < 0.05, "{flow:?}");
    }

    /// Bollrich, section 3.6.1.7, as run in the manual of the R package hydReng: the bed z = 0.1 x^2, 2 m deep, wets 11.92 m2 over
    /// 10.02 m (there on chords).
    #[test]
    fn a_published_parabola() {
        let section = Across::Parabola { top: Length::metres(2.0 * 20.0_f64.sqrt()), depth: Length::metres(2.0) };
        assert!((section.area(2.0) - 11.92).abs() < 0.01, "{}", section.area(2.0));
        assert!((section.perimeter(2.0) - 10.02).abs() < 0.01, "{}", section.perimeter(2.0));
    }

    /// Sides of 1:1 and 3:1 wet what 2:1 twice does, over a longer edge; a triangle is a trapezoid without a bottom.
    #[test]
    fn sides_of_two_batters_and_a_triangle_are_their_closed_forms() {
        let batters = [1.0, 3.0].map(Batter::horizontal_per_vertical);
        let two = Across::Sides { bottom: Length::metres(1.0), batters };
        assert!((two.area(0.5) - 1.0).abs() < 1e-12 && (two.width(0.5) - 3.0).abs() < 1e-12);
        assert!((two.perimeter(0.5) - (1.0 + 0.5 * (2.0_f64.sqrt() + 10.0_f64.sqrt()))).abs() < 1e-12);
        let triangle = Across::Sides { bottom: Length::ZERO, batters: [Batter::horizontal_per_vertical(2.0); 2] };
        // 2 y^2 over 2 y sqrt 5: R = y / sqrt 5.
        let flow = triangle.flow(Length::metres(0.6), Fall::percent(0.5), 0.03).in_cubic_metres_per_second();
        let closed = 0.72 * (0.6 / 5.0_f64.sqrt()).powf(2.0 / 3.0) * 0.005_f64.sqrt() / 0.03;
        assert!((flow / closed - 1.0).abs() < 1e-12);
    }

    #[test]
    fn covers_bear_what_is_published_and_none_beyond_ten_per_cent() {
        let feet = |cover: Cover, percent: f64| cover.permissible(Fall::percent(percent)).map(|v| v / METRES_PER_FOOT);
        assert!((feet(Cover::MixedGrass, 2.0).unwrap() - 4.0).abs() < 1e-12);
        assert!((feet(Cover::CreepingGrass, 8.0).unwrap() - 5.0).abs() < 1e-12);
        assert_eq!(feet(Cover::SodGrass, 10.5), None);
    }

    #[test]
    fn what_would_mend_a_channel_mends_it() {
        let flow = Flow::cubic_metres_per_second(2.0);
        let narrow = trapezoid(5.0, 2.0);
        let steep = Fall::percent(4.0);
        assert!(Run::of(narrow, flow, steep, Cover::MixedGrass).unwrap().too_fast());
        let width = width_for(flow, steep, narrow.batter, Cover::MixedGrass).unwrap();
        let wide = Trapezoid { bottom: width, ..narrow };
        assert!(!Run::of(wide, flow, steep, Cover::MixedGrass).unwrap().too_fast());
        let gentle = fall_for_speed(narrow, flow, Cover::MixedGrass).unwrap();
        assert!(gentle < steep && !Run::of(narrow, flow, gentle, Cover::MixedGrass).unwrap().too_fast());
        let head = Length::metres(0.3);
        let free = fall_for_head(trapezoid(8.0, 2.0), flow, head, Cover::MixedGrass).unwrap();
        assert!(Run::of(trapezoid(8.0, 2.0), flow, free, Cover::MixedGrass).unwrap().energy <= head);
    }

    /// Deep, slow water loses n^2 v^2 L / R^(4/3): 2.4 m3/s through a floor of 10 m, sides 1:1, 2 m deep, n 0.033, 50 m.
    #[test]
    fn a_deep_approach_is_its_closed_form() {
        let section = trapezoid(10.0, 1.0);
        let approach = Approach { section, fall: Fall::ratio(0.0), length: Length::metres(50.0) };
        let flow = Flow::cubic_metres_per_second(2.4);
        let energy = across(10.0, 1.0).energy(flow, Length::metres(2.0));
        let loss = approach.loss(flow, energy, 0.033).in_metres();
        let closed = (0.033_f64 * 0.1).powi(2) * 50.0 / (24.0 / (10.0 + 4.0 * 2.0_f64.sqrt())).powf(4.0 / 3.0);
        // The loss itself deepens the water by a third of a millimetre.
        assert!((loss / closed - 1.0).abs() < 5e-4, "{loss} {closed}");
        assert_eq!(Approach { length: Length::ZERO, ..approach }.loss(flow, energy, 0.033), Length::ZERO);
    }

    proptest! {
        /// The arc of a parabola by many chords, its area by the same, and the depth of a flow that is its flow.
        #[test]
        fn a_parabola_is_its_chords(top in 0.5f64..6.0, full in 0.1f64..1.5, share in 0.05f64..1.0) {
            let section = Across::Parabola { top: Length::metres(top), depth: Length::metres(full) };
            let depth = full * share;
            let edge = top / 2.0 * share.sqrt();
            let rise = |x: f64| full * (2.0 * x / top).powi(2);
            let (mut length, mut area) = (0.0, 0.0);
            let steps = 4000;
            for k in 0..steps {
                let [a, b] = [k, k + 1].map(|k| edge * f64::from(k) / f64::from(steps));
                length += 2.0 * (b - a).hypot(rise(b) - rise(a));
                area += 2.0 * (b - a) * (depth - f64::midpoint(rise(a), rise(b)));
            }
            prop_assert!((section.perimeter(depth) / length - 1.0).abs() < 1e-6);
            prop_assert!((section.area(depth) / area - 1.0).abs() < 1e-6);
            let flow = section.flow(Length::metres(depth), Fall::percent(0.5), 0.03);
            let back = section.depth(flow, Fall::percent(0.5), 0.03).unwrap();
            prop_assert!((back.in_metres() - depth).abs() < 1e-9);
        }

        /// The water line of gradually varied flow, dy/dx = (S0 - Sf) / (1 - F^2), by Runge and Kutta, loses the same.
        #[test]
        fn an_approach_is_the_water_line_of_its_equation(
            width in 2.0f64..20.0, head in 0.1f64..0.6, percent in 0.0f64..3.0, length in 1.0f64..40.0, batter in 1.0f64..3.0,
        ) {
            let section = across(width, batter);
            let flow = Flow::cubic_metres_per_second(1.5 * width * head.powf(1.5));
            let (q, n, fall) = (flow.in_cubic_metres_per_second(), 0.033, percent / 100.0);
            let approach = Approach { section: trapezoid(width, batter), fall: Fall::percent(percent), length: Length::metres(length) };
            let loss = approach.loss(flow, Length::metres(head), n).in_metres();
            // The depth at the sill: the greater root of y + v^2 / 2g = head.
            let (mut low, mut high) = (head * 2.0 / 3.0, head);
            for _ in 0..60 {
                let y = f64::midpoint(low, high);
                if section.energy(flow, Length::metres(y)).in_metres() < head { low = y } else { high = y }
            }
            // Away from the sill the floor falls, so the water deepens by fall + friction over 1 - F^2.
            let deepens = |y: f64| {
                let (area, top) = (section.area(y), width + 2.0 * batter * y);
                let friction = (n * q / area).powi(2) / (area / section.perimeter(y)).powf(4.0 / 3.0);
                (fall + friction) / (1.0 - q * q * top / (GRAVITY * area.powi(3)))
            };
            let steps = 4000;
            let (mut y, h) = (high, length / f64::from(steps));
            for _ in 0..steps {
                let k1 = deepens(y);
                let k2 = deepens(y + h * k1 / 2.0);
                let k3 = deepens(y + h * k2 / 2.0);
                let k4 = deepens(y + h * k3);
                y += h * (k1 + 2.0 * k2 + 2.0 * k3 + k4) / 6.0;
            }
            let found = section.energy(flow, Length::metres(y)).in_metres() - fall * length - head;
            prop_assert!((loss - found).abs() < 2e-4 + 2e-3 * found, "{loss} {found}");
        }

        /// A wide sheet has the closed form y = (q n / sqrt S)^(3/5), and no channel of that width runs shallower.
        #[test]
        fn depth_is_that_of_a_wide_sheet(q in 0.02f64..1.0, percent in 0.2f64..8.0, n in 0.015f64..0.06) {
            let width = 5_000.0;
            let fall = Fall::percent(percent);
            let sheet = (q * n / fall.in_ratio().sqrt()).powf(0.6);
            let flow = Flow::cubic_metres_per_second(q * width);
            let depth = across(width, 2.0).depth(flow, fall, n).unwrap().in_metres();
            prop_assert!((depth / sheet - 1.0).abs() < 2e-3, "{depth} {sheet}");
            let ten = across(10.0, 2.0).depth(Flow::cubic_metres_per_second(q * 10.0), fall, n).unwrap();
            let back = across(10.0, 2.0).flow(ten, fall, n).in_cubic_metres_per_second();
            prop_assert!((back / (q * 10.0) - 1.0).abs() < 1e-9);
        }
    }
}
