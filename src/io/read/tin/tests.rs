//! What was written comes back to the last bit; what was changed, cut off or made up ends in a message.

use super::*;
use crate::frame::{FrameDefinition, resolve};
use crate::io::tin_layout::put;
use crate::io::write;
use crate::surface::triangulate;
use crate::units::LengthUnit;
use proptest::prelude::*;

fn frame() -> SiteFrame {
    resolve("EPSG:32755").unwrap().site_frame((412_350.0, 6_187_220.0), Some("mark M1"))
}

fn some_tin() -> Tin {
    let points: Vec<Point3> = (0..60_u32)
        .map(|i| Point3::new(f64::from(i * 37 % 101), f64::from(i * 53 % 97), f64::from(i).sqrt()))
        .collect();
    triangulate(&points, &[vec![0, 7, 20], vec![3, 50]]).unwrap().tin
}

fn written(tin: &Tin, frame: &SiteFrame) -> Vec<u8> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("g.tin");
    write::tin::write(&path, tin, frame).unwrap();
    std::fs::read(path).unwrap()
}

proptest! {
    #[test]
    fn any_surface_comes_back(
        places in prop::collection::vec((-65_000.0..65_000.0_f64, -65_000.0..65_000.0_f64, -1e4..1e4_f64), 3..60),
        line in prop::collection::vec(0..60_usize, 0..6),
        scale in prop::sample::select(vec![1.0, 1e-3, 1e-4]),
        factor in 0.9..1.1_f64,
    ) {
        let points: Vec<Point3> = places.iter().map(|&(x, y, z)| Point3::new(x * scale, y * scale, z)).collect();
        let line = line.iter().map(|at| u32::try_from(at % points.len()).unwrap()).collect();
        let Ok(made) = triangulate(&points, &[line]) else { return Ok(()) };
        let mut frame = frame();
        frame.combined_factor = factor;
        let (own, tin) = parse(&written(&made.tin, &frame)).unwrap();
        prop_assert_eq!(&tin, &made.tin);
        prop_assert_eq!(&own, &frame);
        // On another origin it is the same surface, to a lattice step.
        let file = TinFile { path: String::new(), frame: own, tin };
        let mut there = frame.clone();
        there.origin = Point::new(frame.origin.x - 200.0, frame.origin.y + 100.0);
        let moved = file.in_frame(&there);
        if let Ok(moved) = moved {
            for (v, w) in moved.vertices().iter().zip(made.tin.vertices()) {
                let (e, n) = there.to_frame(v.plan());
                let (own_e, own_n) = frame.to_frame(w.plan());
                prop_assert!((e - own_e).hypot(n - own_n) < 2e-6 && v.z == w.z);
            }
        }
    }

    #[test]
    fn no_changed_byte_and_no_cut_goes_unseen(at in 0..4000_usize, bit in 0..8_u8) {
        let whole = written(&some_tin(), &frame());
        let mut changed = whole.clone();
        let at = at % whole.len();
        changed[at] ^= 1 << bit;
        prop_assert!(parse(&changed).is_err());
        prop_assert!(parse(&whole[..at]).is_err());
    }

    /// A file with a right check over anything at all ends in a message or in a sound mesh.
    #[test]
    fn made_up_content_does_no_harm(
        counts in (any::<u64>(), any::<u64>(), prop::bool::ANY),
        content in prop::collection::vec(any::<u8>(), 0..300),
    ) {
        let counts = if counts.2 { [counts.0 % 20, counts.1 % 20] } else { [counts.0, counts.1] };
        if let Ok((_, tin)) = parse(&sealed(counts, &content)) {
            crate::surface::sound::assert_sound(&tin);
        }
    }
}

/// A file with these counts and this content, and a check that fits.
fn sealed(counts: [u64; 2], content: &[u8]) -> Vec<u8> {
    let json = serde_json::to_vec(&frame()).unwrap();
    let mut bytes = MAGIC.to_vec();
    bytes.extend(VERSION.to_le_bytes());
    bytes.extend(u32::try_from(json.len()).unwrap().to_le_bytes());
    bytes.extend(json);
    counts.iter().for_each(|count| bytes.extend(count.to_le_bytes()));
    bytes.extend(content);
    let check = check_of(&bytes);
    bytes.extend(check);
    bytes
}

fn vertices(places: &[(i64, i64, f64)]) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut before = (0, 0);
    for &(x, y, z) in places {
        put(&mut bytes, crate::io::tin_layout::fold(x - before.0));
        put(&mut bytes, crate::io::tin_layout::fold(y - before.1));
        bytes.extend(z.to_le_bytes());
        before = (x, y);
    }
    bytes
}

#[test]
fn every_fault_is_told() {
    let whole = written(&some_tin(), &frame());
    let told = |bytes: &[u8]| parse(bytes).map_or_else(|why| why, |_| "sound".to_owned());
    assert_eq!(told(&whole), "sound");
    assert_eq!(told(b"x,y,z\n1,2,3\n"), "it does not begin as one");
    assert_eq!(told(&whole[..18]), "it is cut off");
    let mut later = whole.clone();
    later[16] = 2;
    assert!(told(&later).contains("version 2, this program reads version 1"), "{}", told(&later));
    let triangle = vertices(&[(0, 0, 1.0), (1 << 20, 0, 1.0), (0, 1 << 20, 2.0)]);
    let face = [0, 2, 4];
    assert_eq!(told(&sealed([3, 1], &[&triangle[..], &face].concat())), "sound");
    let absurd = told(&sealed([u64::MAX, u64::MAX], &[]));
    assert!(absurd.contains("vertices and") && absurd.contains("in 0 bytes"), "{absurd}");
    assert!(told(&sealed([1 << 40, 1], &triangle)).contains("1099511627776 vertices and 1 triangles"));
    assert!(told(&sealed([3, 1], &[&triangle[..], &face, &[0]].concat())).contains("1 bytes follow"));
    assert!(told(&sealed([3, 1], &[&triangle[..], &[0, 2, 6]].concat())).contains("not a triangle"));
    assert!(told(&sealed([3, 1], &[&triangle[..], &[0, 2, 1]].concat())).contains("a corner that is not there"));
    assert!(told(&sealed([3, 2], &[&triangle[..], &face, &face].concat())).contains("more than two triangles"));
    let far = vertices(&[(0, 0, 1.0), (1 << 50, 0, 1.0), (0, 1, 2.0)]);
    assert!(told(&sealed([3, 0], &far)).contains("vertex 1 lies out"));
    let high = vertices(&[(0, 0, f64::NAN)]);
    assert!(told(&sealed([1, 0], &high)).contains("vertex 0 lies out"));
}

#[test]
fn a_surface_of_another_system_is_refused() {
    let file = TinFile { path: "g.tin".to_owned(), frame: frame(), tin: some_tin() };
    let local = FrameDefinition::local(LengthUnit::Metres).site_frame((0.0, 0.0), None);
    let why = file.clone().in_frame(&local).unwrap_err().to_string();
    assert!(why.contains("g.tin: it stands in EPSG:32755") && why.contains("convert it first"), "{why}");
    let far = resolve("EPSG:32755").unwrap().site_frame((512_350.0, 6_187_220.0), None);
    assert!(file.in_frame(&far).unwrap_err().to_string().contains("65 km"));
    let off = Tin::from_triangles(
        vec![Point3::new(0.1, 0.0, 1.0), Point3::new(1.0, 0.0, 1.0), Point3::new(0.0, 1.0, 1.0)],
        vec![[0, 1, 2]],
    );
    let folder = tempfile::tempdir().unwrap();
    let why = write::tin::write(&folder.path().join("g.tin"), &off.unwrap(), &frame()).unwrap_err().to_string();
    assert!(why.contains("does not stand on the lattice"), "{why}");
}
