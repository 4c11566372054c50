//! Several tiles as one cloud: the two tiles of the real valley, whose seam at easting 300000 runs through the site, give the
//! ground that their points give in one file.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use swalewright::frame::{SiteFrame, resolve};
use swalewright::geom::{Point, Point3};
use swalewright::ground::classify::{Classifier, ClassifySettings, PointStream, Verdict, classify};
use swalewright::ground::{Ground, GroundSettings, build};
use swalewright::io::read::cloud::{self, CloudFile, GROUND, Unclassified};
use swalewright::notes::{Noted, Silent};
use swalewright::survey::Survey;
use swalewright::units::Length;

const SEAM: f64 = 300_000.0;

fn tile(half: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("data-samples/real-valley/bocage_valley_{half}.laz"))
}

fn site() -> SiteFrame {
    resolve("EPSG:2154").unwrap().site_frame((SEAM, 6_801_480.0), None)
}

fn all(path: &Path) -> (las::Header, Vec<las::Point>) {
    let mut reader = las::Reader::from_path(path).unwrap();
    let points = reader.read_all().unwrap().points().collect::<las::Result<Vec<_>>>().unwrap();
    (reader.header().clone(), points)
}

/// Some points in one file, south to north, so that the two tiles lie mixed.
fn merged(path: &Path, mut points: Vec<las::Point>) -> PathBuf {
    points.sort_by(|a, b| a.y.total_cmp(&b.y).then(a.x.total_cmp(&b.x)).then(a.z.total_cmp(&b.z)));
    let (header, _) = all(&tile("west"));
    let mut builder = las::Builder::from(header);
    builder.vlrs.retain(|record| record.user_id != "laszip encoded");
    let mut writer = las::Writer::from_path(path, builder.into_header().unwrap()).unwrap();
    points.into_iter().for_each(|point| writer.write_point(point).unwrap());
    writer.close().unwrap();
    path.to_owned()
}

fn both() -> Vec<las::Point> {
    let mut points = all(&tile("west")).1;
    points.extend(all(&tile("east")).1);
    points
}

fn ground(paths: &[PathBuf]) -> Noted<Ground> {
    let frame = site();
    let mut survey = Survey::empty(frame.clone());
    for path in paths {
        let cloud = cloud::read(path, &[GROUND]).unwrap().value;
        survey.cloud.extend(cloud.in_frame(&frame).unwrap().value);
    }
    build(&survey, &GroundSettings::default()).unwrap()
}

/// A place to a millimetre, which the files keep: offsets of their own move its last bits.
#[expect(clippy::cast_possible_truncation, reason = "a few kilometres")]
fn millimetres(p: &Point3) -> [i64; 3] {
    [p.x, p.y, p.z].map(|value| (value * 1e3).round() as i64)
}

fn vertices(ground: &Ground) -> BTreeSet<[i64; 3]> {
    ground.tin.vertices().iter().map(millimetres).collect()
}

#[test]
fn the_ground_of_two_tiles_is_the_ground_of_their_points_in_one_file() {
    let folder = tempfile::tempdir().unwrap();
    let one = ground(&[merged(&folder.path().join("one.laz"), both())]).value;
    let two = ground(&[tile("west"), tile("east")]).value;
    assert_eq!(vertices(&one), vertices(&two), "no point is lost and none stands twice");
    assert_eq!(one.tin.triangles().len(), two.tin.triangles().len());
    assert!((one.tin.plan_area() - two.tin.plan_area()).abs() < 1e-6 * one.tin.plan_area());
    // Triangles reach across the seam, and the surface is the same there. Four points on a circle leave a choice of two
    // diagonals, so a few places may differ, by no more than the four are out of plane.
    let across = |ground: &Ground| {
        let seam = ground.frame.to_local(SEAM, 0.0).x;
        let sides = |t| ground.tin.corners(t).map(|corner| corner.x < seam);
        ground.tin.ids().filter(|&t| sides(t).iter().any(|west| *west) && sides(t).iter().any(|west| !*west)).count()
    };
    assert!(across(&one) > 100, "{}", across(&one));
    let (of_one, of_two) = (one.locator(), two.locator());
    let seam = one.frame.to_local(SEAM, 6_801_000.0);
    let (mut asked, mut apart) = (0, 0);
    for at in 0..40_000_u32 {
        let place = Point::new(seam.x - 2.0 + f64::from(at % 40) * 0.1, seam.y + f64::from(at / 40));
        if let Some(z) = of_one.elevation(place) {
            asked += 1;
            apart += i32::from(of_two.elevation(place).is_none_or(|other| (other - z).abs() > 1e-9));
        }
    }
    assert!(asked > 5_000 && f64::from(apart) < 0.002 * f64::from(asked), "{apart} of {asked}");
}

/// The bound of thinning, held at every ground point of both tiles and not only at those that became vertices.
#[test]
fn thinned_ground_stands_within_its_bound_of_every_point() {
    let frame = site();
    let mut survey = Survey::empty(frame.clone());
    for half in ["west", "east"] {
        survey.cloud.extend(cloud::read(&tile(half), &[GROUND]).unwrap().value.in_frame(&frame).unwrap().value);
    }
    for bound in [0.02, 0.10, 0.50] {
        let settings = GroundSettings { thin_to: Some(Length::metres(bound)), ..GroundSettings::default() };
        let made = build(&survey, &settings).unwrap();
        let locator = made.value.locator();
        let off = survey.cloud.iter().filter_map(|p| Some((locator.elevation(p.plan())? - p.z).abs()));
        let (count, worst) = off.fold((0, 0.0), |(count, worst), off| (count + 1, f64::max(worst, off)));
        assert!(count > 35_000, "{count} of {}", survey.cloud.len());
        assert!(worst <= bound + 1e-9 && worst > 0.9 * bound, "{worst} within {bound}");
        let told = made.notes.iter().find(|note| note.code == "ground::thinned").expect("told");
        assert!(
            told.text.contains(&format!("stands {:.1} mm off the ground", 1000.0 * worst)),
            "{} {worst}",
            told.text
        );
        assert!(made.value.tin.vertices().len() < 36_000);
    }
}

#[test]
fn a_strip_that_both_tiles_hold_is_told_and_not_doubled() {
    let folder = tempfile::tempdir().unwrap();
    let strip = all(&tile("west")).1.into_iter().filter(|point| point.x > SEAM - 3.0).collect::<Vec<_>>();
    let doubled = strip.iter().filter(|point| u8::from(point.classification) == GROUND).count();
    assert!(doubled > 50, "{doubled}");
    let mut east = all(&tile("east")).1;
    east.extend(strip);
    let east = merged(&folder.path().join("east.laz"), east);
    let made = ground(&[tile("west"), east]);
    assert_eq!(vertices(&made.value), vertices(&ground(&[tile("west"), tile("east")]).value));
    let told = made.notes.iter().find(|note| note.code == "ground::duplicates").expect("told");
    let number: usize = told.text.split(' ').next().unwrap().parse().unwrap();
    assert!(number >= doubled, "{}", told.text);
}

fn classified(paths: &[PathBuf]) -> (Unclassified, Classifier) {
    let files: Vec<CloudFile> = paths.iter().map(|path| CloudFile::open(path).unwrap().value).collect();
    let clouds = Unclassified { files, frame: site() };
    let found = classify(&clouds, &ClassifySettings::default(), &Silent).unwrap().value;
    (clouds, found)
}

fn verdicts((clouds, classifier): &(Unclassified, Classifier)) -> BTreeMap<[i64; 3], (u32, u32)> {
    let mut found: BTreeMap<[i64; 3], (u32, u32)> = BTreeMap::new();
    clouds
        .pass(&mut |point| {
            let count = found.entry(millimetres(&point.place)).or_default();
            count.0 += 1;
            count.1 += u32::from(classifier.verdict(point) == Verdict::Ground);
        })
        .unwrap();
    found
}

#[test]
fn ground_found_in_two_tiles_is_that_found_in_one() {
    let folder = tempfile::tempdir().unwrap();
    let one = classified(&[merged(&folder.path().join("one.laz"), both())]);
    let two = classified(&[tile("west"), tile("east")]);
    assert_eq!(verdicts(&one), verdicts(&two));
    // Beside the seam it errs against the producer's classes no more often than elsewhere.
    let (mut near, mut far) = ((0.0, 0.0), (0.0, 0.0));
    let (clouds, classifier) = &two;
    for file in &clouds.files {
        file.pass(&mut |record| {
            if let Some(point) = clouds.asked(&record) {
                let wrong = (classifier.verdict(point) == Verdict::Ground) != (record.class == GROUND);
                let side = if (record.place[0] - SEAM).abs() < 5.0 { &mut near } else { &mut far };
                side.0 += f64::from(u8::from(wrong));
                side.1 += 1.0;
            }
        })
        .unwrap();
    }
    assert!(near.1 > 1_000.0, "{near:?}");
    assert!(near.0 / near.1 < 1.5 * far.0 / far.1 + 0.01, "{near:?} {far:?}");
}
