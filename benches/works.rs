//! How long a swale takes on 5,000 shots: line, channel, sill, balanced berm and storage.

use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use swalewright::frame::SiteFrame;
use swalewright::geom::{Point, snap_point};
use swalewright::ground::Ground;
use swalewright::notes::Silent;
use swalewright::soil::{Placement, Soil};
use swalewright::surface::triangulate;
use swalewright::units::{Batter, Elevation, Length};
use swalewright::works::{Berm, SpillwayWanted, SwaleWanted, WaterLevel, design};

/// 5,000 shots on a waved hillside of 4 %, 250 m by 500 m.
fn ground() -> Ground {
    let points: Vec<_> = (0..5000u32)
        .map(|i| {
            let (column, row) = (f64::from(i % 100), f64::from(i / 100));
            let nudge = f64::from(i * 7919 % 1000) / 1000.0;
            let place = snap_point(Point::new(5.0 * column + nudge, 5.0 * row + 1.0 - nudge));
            let rough = (f64::from(i * 104_729 % 1000) / 1000.0 - 0.5) * 0.04;
            place.at(430.0 + 0.04 * place.y + 0.8 * (place.x / 40.0).sin() + rough)
        })
        .collect();
    Ground {
        tin: triangulate(&points, &[]).expect("a grid is a surface").tin,
        frame: SiteFrame::site_grid(),
        spacing: 5.0,
    }
}

fn wanted() -> SwaleWanted {
    SwaleWanted {
        between: Some((Point::new(100.0, 110.0), Point::new(350.0, 110.0))),
        berm: Berm::AllTheCut { crest: Length::metres(0.6), batter: Batter::horizontal_per_vertical(2.0) },
        spillways: vec![SpillwayWanted::usual(Length::metres(6.0))],
        ..SwaleWanted::usual(
            "upper",
            WaterLevel::Elevation(Elevation::metres(435.0)),
            Soil::named("loam", Placement::TrackWalked).expect("a soil of the table"),
        )
    }
}

fn swale(c: &mut Criterion) {
    let ground = ground();
    let asked = [wanted()];
    let mut group = c.benchmark_group("works");
    group.sample_size(10);
    group.bench_function("swale of 280 m on 5,000 shots", |b| {
        b.iter(|| design(black_box(&ground), &asked, &Silent).expect("a design"));
    });
    group.finish();
}

criterion_group!(benches, swale);
criterion_main!(benches);
