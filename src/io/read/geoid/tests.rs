//! Grids of PROJ's own tests with the values that PROJ prints for them.

use super::*;
use crate::frame::Geoids;
use std::path::PathBuf;

fn sample(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/oracle/geoid").join(name)
}

fn at(name: &str, longitude: f64, latitude: f64) -> f64 {
    height(&[name], longitude, latitude).unwrap_or_else(|error| panic!("{error}"))
}

/// By grids in order of preference.
fn height(names: &[&str], longitude: f64, latitude: f64) -> Result<f64, String> {
    let open = |name: &&str| open(&sample(name), name).unwrap_or_else(|error| panic!("{error}"));
    let grids = Geoids::new(names.iter().flat_map(open).collect());
    grids.height(longitude, latitude).map(|(height, _)| height).map_err(|error| error.to_string())
}

/// PROJ `test/gie/geotiff_grids.gie`: one grid in many writings, 11.5 m at 4.5 east, 52.5 north.
#[test]
fn geotiff_grids_of_proj() {
    for name in [
        "pixelispoint",
        "pixelisarea",
        "deflate",
        "deflate_floatingpointpredictor",
        "uint16_with_scale_offset",
        "int16",
        "float64",
        "in_second_channel",
        "bigtiff",
        "bigendian",
        "bottomup_with_scale",
        "bottomup_with_matrix",
        "with_overview",
        "with_subgrid",
    ] {
        let found = at(&format!("test_vgrid_{name}.tif"), 4.5, 52.5);
        assert!((found - 11.5).abs() < 1e-6, "{name}: {found}");
    }
}

/// PROJ 9.5.1 (`+proj=vgridshift`, asked through pyproj) on a file with a grid of half a degree inside one of a degree, and on lists
/// of files.
#[test]
fn grids_in_grids_and_lists_of_grids_as_proj_has_them() {
    let nested: &[&str] = &["test_vgrid_with_subgrid.tif"];
    let list: &[&str] = &["test_vgrid_pixelispoint.tif", "egm96_cut.gtx"];
    for (names, longitude, latitude, due) in [
        (nested, 4.5, 52.5, 11.5),
        (nested, 5.5, 53.5, 110.0),
        (nested, 5.25, 53.75, 85.0),
        (nested, 5.0, 54.0, 60.0),
        (nested, 4.9, 54.0, 5.9),
        (nested, 6.9, 52.1, 15.5),
        (list, 4.5, 52.5, 11.5),
        (list, 5.5, 53.5, 8.5),
        (list, 12.5, 55.5, 36.394_090_697),
    ] {
        let found = height(names, longitude, latitude).unwrap();
        assert!((found - due).abs() < 1e-6, "{names:?} {longitude} {latitude}: {found}, PROJ {due}");
    }
    let told = height(list, 30.0, 10.0).unwrap_err();
    assert!(
        told.contains("test_vgrid_pixelispoint.tif: it lies outside") && told.contains("; egm96_cut.gtx: "),
        "{told}"
    );
}

/// PROJ `test/gie/geotiff_grids.gie`: GEOID06 across 180 degrees.
#[test]
fn geoid_across_the_date_line() {
    let name = "us_noaa_geoid06_ak_subset_at_antimeridian.tif";
    for (longitude, height) in [
        (179.99, -2.2226),
        (-179.99, -2.3488),
        (179.999_999, -2.2872),
        (-179.999_999, -2.2872),
        (179.8, -0.7011),
        (180.183_333_3, -3.1933),
        (-179.816_666_7, -3.1933),
    ] {
        let found = at(name, longitude, 54.5);
        assert!((found - height).abs() < 1e-4, "{longitude}: {found}");
    }
    for outside in [179.799, 180.184, -179.816] {
        assert!(height(&[name], outside, 54.5).is_err(), "{outside}");
    }
}

/// PROJ `test/gie/more_builtins.gie` gives 36.394 m for EGM96 at 12.5 east, 55.5 north from its full grid; ours is thinned to
/// a degree, which is coarser than the geoid's bends.
#[test]
fn gtx_of_egm96() {
    let found = at("egm96_cut.gtx", 12.5, 55.5);
    assert!((found - 36.394_1).abs() < 0.25, "{found}");
    // A node of both: PROJ `test/gie/deformation.gie` takes 36.9960 m off a height at 12 east, 56 north (to 0.5 mm).
    let node = at("egm96_cut.gtx", 12.0, 56.0);
    assert!((node - 36.996_0).abs() < 5e-4, "{node}");
}

/// PROJ goes on with the nodes that are left (10 m at 4.05 east in `test/gie/4D-API_cs2cs-style.gie`); a hole in a geoid is
/// no place to guess, so here it is refused, and the node itself is not.
#[test]
fn a_hole_is_refused() {
    for name in ["test_nodata.gtx", "test_vgrid_nodata.tif"] {
        let told = height(&[name], 4.05, 52.1).unwrap_err();
        assert!(told.contains("no value beside it"), "{name}: {told}");
        assert!((at(name, 4.1, 52.1) - 10.0).abs() < 1e-6, "{name}");
    }
}

#[test]
fn what_is_no_geoid_grid_is_refused_with_a_reason() {
    let told = |name: &str| open(&sample(name), name).unwrap_err().to_string();
    assert!(
        told("test_vgrid_invalid_channel_type.tif").contains("channel"),
        "{}",
        told("test_vgrid_invalid_channel_type.tif")
    );
    assert!(told("test_vgrid_unsupported_byte.tif").contains("16 bits"));
    assert!(told("README.md").contains("not that of a GTX grid"), "{}", told("README.md"));
    assert!(told("absent.gtx").contains("absent.gtx"));
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("short.gtx");
    let whole = std::fs::read(sample("egm96_cut.gtx")).unwrap();
    for (length, part) in [(0, "empty"), (20, "shorter than a GTX header"), (200, "has 200 bytes")] {
        std::fs::write(&path, &whole[..length]).unwrap();
        let told = open(&path, "short.gtx").unwrap_err().to_string();
        assert!(told.contains(part), "{told}");
    }
    // A header that claims a world of nodes takes no memory.
    let mut absurd = whole.clone();
    absurd[32..36].copy_from_slice(&u32::MAX.to_be_bytes());
    std::fs::write(&path, &absurd).unwrap();
    assert!(open(&path, "short.gtx").is_err());
}
