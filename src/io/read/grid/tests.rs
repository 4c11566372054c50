//! Text grids by hand with one fault each; rasters in every packing, written here by the decoder's own library.

use super::*;
use ::tiff::encoder::{Compression, DeflateLevel, TiffEncoder, TiffValue, colortype};
use ::tiff::tags::Tag;
use proptest::prelude::*;
use std::path::PathBuf;

const SOUND: &str = "ncols 3\nNROWS 2\nxllcorner 500.0\nyllcorner 1000\ncellsize 10\nNODATA_value -9999\n\
                     1 2 3\n4 -9999\n6\n";

fn parsed(text: &str) -> Result<GridFile, ReadError> {
    ascii::parse(text, "g.asc", None)
}

#[test]
fn rows_come_from_the_north_and_corners_are_half_a_cell_off() {
    let grid = parsed(SOUND).unwrap();
    assert_eq!((grid.low, grid.step, grid.columns, grid.rows()), ([505.0, 1005.0], [10.0, 10.0], 3, 2));
    assert_eq!(grid.elevations[..1], [4.0]);
    assert!(grid.elevations[1].is_nan());
    assert_eq!(grid.elevations[2..], [6.0, 1.0, 2.0, 3.0]);
    let center = SOUND.replace("xllcorner", "xllcenter").replace("cellsize 10", "dx 10\ndy 20");
    let grid = parsed(&center).unwrap();
    assert_eq!((grid.low, grid.step), ([500.0, 1010.0], [10.0, 20.0]));
    assert_eq!(ascii::parse(SOUND, "g.asc", Some(3.0)).unwrap().nodes(), 4, "a value said beside the file's own");
    assert!(ascii::begins_so(b"NCOLS 3") && !ascii::begins_so(b"easting,northing") && !ascii::begins_so(b""));
}

#[test]
fn every_fault_of_a_text_grid_has_its_place() {
    let cases = [
        ("1 2 3", "1 2,5 3", "g.asc:7:2: found `2,5`, accepted is an elevation"),
        ("1 2 3", "1 2", "found 5 values, accepted is 6, 2 rows of 3"),
        ("6\n", "6 7\n", "g.asc:9:2: found `7` after the last node"),
        ("ncols 3", "ncols 3.5", "g.asc:1:2: found `ncols` 3.5"),
        ("ncols 3", "ncols 1", "two or more"),
        ("ncols 3", "ncols", "found `` as `ncols`"),
        ("ncols 3", "columns 3", "found `columns`, accepted is ncols"),
        ("ncols 3\n", "", "lacks `ncols`"),
        ("cellsize 10", "cellsize 0", "0 wide"),
        ("cellsize 10", "dx 10", "lacks `cellsize` (or `dy`)"),
        ("xllcorner 500.0\n", "", "lacks `xllcorner` (or `xllcenter`)"),
        ("NROWS 2", "NROWS 200000000", "cut it to the site"),
        ("NROWS 2", "NROWS 4000", "12000 nodes, in a file of"),
    ];
    for (from, to, wanted) in cases {
        assert!(SOUND.contains(from), "{from}");
        let told = parsed(&SOUND.replacen(from, to, 1)).map_or_else(|why| why.to_string(), |_| "sound".to_owned());
        assert!(told.contains(wanted), "{from} -> {to}: `{told}`, wanted `{wanted}`");
    }
}

fn checked(values: &str, settings: &GridSettings) -> Result<Option<Note>, ReadError> {
    let text = format!("ncols 3\nnrows 2\nxllcorner 0\nyllcorner 0\ncellsize 1\n{values}\n");
    let mut grid = ascii::parse(&text, "g.asc", settings.no_data)?;
    grid.unit = settings.unit;
    grid.check()
}

#[test]
fn values_that_no_land_has_are_refused_and_lonely_zeros_told() {
    let usual = GridSettings::default();
    let told = checked("310 311 -9999 -9999 312 313", &usual).unwrap_err().to_string();
    assert!(told.contains("2 of its nodes say -9999") && told.contains("--no-data -9999"), "{told}");
    assert!(checked("310 311 -9999 -9999 312 313", &GridSettings { no_data: Some(-9999.0), ..usual }).is_ok());
    // Twelve thousand feet is a mountain, twelve thousand metres is none.
    assert!(checked("12000 12001 12002 12003 12004 12005", &usual).is_err());
    let feet = GridSettings { unit: Some(LengthUnit::Feet), ..usual };
    assert!(checked("12000 12001 12002 12003 12004 12005", &feet).is_ok());
    let note = checked("1700 1701 0 0 1702 1703", &usual).unwrap().unwrap();
    assert_eq!(note.code, "grid::zeros");
    assert!(checked("1 2 0 0 3 4", &usual).unwrap().is_none(), "zero may be an elevation");
    assert!(checked("0 0 0 0 0 0", &usual).unwrap().is_none());
    assert!(checked("nan nan nan nan nan nan", &usual).unwrap_err().to_string().contains("none of its nodes"));
}

/// A raster of 5 by 4 in a projected system of metres, its north-western corner at 1000, 2000, cells of 2 m.
struct Sample {
    packing: Compression,
    keys: Vec<u16>,
    texts: &'static str,
    no_data: Option<&'static str>,
    metadata: Option<&'static str>,
}

const AREA: [u16; 16] = [1, 1, 0, 3, 1024, 0, 1, 1, 1025, 0, 1, 1, 3072, 0, 1, 32755];

impl Default for Sample {
    fn default() -> Self {
        Self { packing: Compression::Uncompressed, keys: AREA.to_vec(), texts: "", no_data: None, metadata: None }
    }
}

impl Sample {
    fn write<C: colortype::ColorType>(&self, folder: &Path, data: &[C::Inner]) -> PathBuf
    where
        [C::Inner]: TiffValue,
    {
        let path = folder.join("dem.tif");
        let file = std::fs::File::create(&path).unwrap();
        let mut tiff = TiffEncoder::new(file).unwrap().with_compression(self.packing);
        let mut image = tiff.new_image::<C>(5, 4).unwrap();
        image.rows_per_strip(2).unwrap();
        let tags = image.encoder();
        tags.write_tag(Tag::Unknown(33550), &[2.0, 2.0, 0.0][..]).unwrap();
        tags.write_tag(Tag::Unknown(33922), &[0.0, 0.0, 0.0, 1000.0, 2000.0, 0.0][..]).unwrap();
        tags.write_tag(Tag::Unknown(34735), &self.keys[..]).unwrap();
        if !self.texts.is_empty() {
            tags.write_tag(Tag::Unknown(34737), self.texts).unwrap();
        }
        if let Some(no_data) = self.no_data {
            tags.write_tag(Tag::Unknown(42113), no_data).unwrap();
        }
        if let Some(metadata) = self.metadata {
            tags.write_tag(Tag::Unknown(42112), metadata).unwrap();
        }
        image.write_data(data).unwrap();
        path
    }

    fn read<C: colortype::ColorType>(&self, data: &[C::Inner], settings: &GridSettings) -> Result<GridFile, ReadError>
    where
        [C::Inner]: TiffValue,
    {
        let folder = tempfile::tempdir().unwrap();
        read(&self.write::<C>(folder.path(), data), "dem.tif", settings).map(|read| read.value)
    }
}

fn ramp() -> Vec<f32> {
    (0..20_u8).map(|node| 400.0 + f32::from(node)).collect()
}

fn from_south(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let values: Vec<f64> = values.collect();
    values.chunks(5).rev().flatten().copied().collect()
}

#[test]
fn every_packing_and_kind_of_number_gives_the_same() {
    let usual = GridSettings::default();
    let wanted = from_south((0..20).map(|node| 400.0 + f64::from(node)));
    for packing in [
        Compression::Uncompressed,
        Compression::Lzw,
        Compression::Deflate(DeflateLevel::Balanced),
        Compression::Packbits,
    ] {
        let sample = Sample { packing, ..Sample::default() };
        let grid = sample.read::<colortype::Gray32Float>(&ramp(), &usual).unwrap();
        assert_eq!(grid.elevations, wanted);
        assert_eq!((grid.low, grid.step, grid.columns), ([1001.0, 1993.0], [2.0, 2.0], 5));
        assert_eq!(grid.crs.as_deref(), Some("EPSG:32755"));
        let double: Vec<f64> = ramp().iter().map(|z| f64::from(*z)).collect();
        assert_eq!(sample.read::<colortype::Gray64Float>(&double, &usual).unwrap().elevations, wanted);
        let whole: Vec<i16> = (400..420).collect();
        assert_eq!(sample.read::<colortype::GrayI16>(&whole, &usual).unwrap().elevations, wanted);
        let long: Vec<u32> = (400..420).collect();
        assert_eq!(sample.read::<colortype::Gray32>(&long, &usual).unwrap().elevations, wanted);
    }
}

#[test]
fn nodes_units_scales_and_no_data_as_the_file_says() {
    let usual = GridSettings::default();
    let mut keys = AREA.to_vec();
    keys[11] = 2;
    let nodes = Sample { keys: keys.clone(), ..Sample::default() };
    assert_eq!(nodes.read::<colortype::Gray32Float>(&ramp(), &usual).unwrap().low, [1000.0, 1994.0]);
    keys[3] = 4;
    keys.extend([4099, 0, 1, 9003]);
    let feet = Sample { keys, ..Sample::default() };
    let grid = feet.read::<colortype::Gray32Float>(&ramp(), &usual).unwrap();
    assert_eq!(grid.unit, Some(LengthUnit::UsSurveyFeet));
    let frame = resolve("EPSG:32755").unwrap().site_frame(grid.middle(), None);
    let local = grid.in_frame(&frame).unwrap();
    assert!(local.notes.is_empty());
    assert!((local.value.elevations[15] - 400.0 * 1200.0 / 3937.0).abs() < 1e-9);
    let scaled = Sample {
        metadata: Some(
            "<GDALMetadata><Item name=\"SCALE\" sample=\"0\" role=\"scale\">0.5</Item><Item name=\"OFFSET\" sample=\"0\" \
             role=\"offset\">10</Item><Item name=\"UNITTYPE\" sample=\"0\" role=\"unittype\">ft</Item></GDALMetadata>",
        ),
        no_data: Some("419"),
        ..Sample::default()
    };
    let grid = scaled.read::<colortype::Gray32Float>(&ramp(), &usual).unwrap();
    assert_eq!((grid.elevations[15], grid.unit, grid.nodes()), (210.0, Some(LengthUnit::Feet), 19));
    let said = GridSettings { no_data: Some(400.0), unit: Some(LengthUnit::Metres) };
    let grid = scaled.read::<colortype::Gray32Float>(&ramp(), &said).unwrap();
    assert_eq!((grid.nodes(), grid.unit), (18, Some(LengthUnit::Metres)));
    // A system of the file's own, as WKT in a citation.
    let keys = vec![1, 1, 0, 3, 1024, 0, 1, 1, 3072, 0, 1, 32767, 3073, 34737, 14, 0];
    let own = Sample { keys, texts: "x PROJCS[\"y\"]|", ..Sample::default() };
    assert_eq!(own.read::<colortype::Gray32Float>(&ramp(), &usual).unwrap().crs.as_deref(), Some("PROJCS[\"y\"]"));
}

#[test]
fn rasters_that_are_no_elevations_are_refused_with_a_reason() {
    let usual = GridSettings::default();
    let told = |found: Result<GridFile, ReadError>| found.map_or_else(|why| why.to_string(), |_| "sound".to_owned());
    let sample = Sample::default();
    let grey = told(sample.read::<colortype::Gray8>(&[7; 20], &usual));
    assert!(grey.contains("fewer than 16 bits"), "{grey}");
    let picture = told(sample.read::<colortype::RGB16>(&[700; 60], &usual));
    assert!(picture.contains("3 channels"), "{picture}");
    // In degrees that are none of the site's.
    let keys = vec![1, 1, 0, 2, 1024, 0, 1, 2, 2048, 0, 1, 4326];
    let degrees = Sample { keys, ..Sample::default() };
    let grid = degrees.read::<colortype::Gray32Float>(&ramp(), &usual).unwrap();
    let frame = resolve("EPSG:32755").unwrap().site_frame((500_000.0, 6_000_000.0), None);
    let why = grid.in_frame(&frame).unwrap_err().to_string();
    assert!(why.contains("dem.tif: ") && why.contains("1001"), "{why}");
    let local = crate::frame::FrameDefinition::local(LengthUnit::Metres).site_frame((0.0, 0.0), None);
    let why = grid.in_frame(&local).unwrap_err().to_string();
    assert!(why.contains("in degrees: a site needs a projected one"), "{why}");
    let other = resolve("EPSG:2154").unwrap().site_frame((1000.0, 2000.0), None);
    let grid = sample.read::<colortype::Gray32Float>(&ramp(), &usual).unwrap();
    assert!(grid.in_frame(&other).unwrap_err().to_string().contains("convert it first"));
    let far = resolve("EPSG:32755").unwrap().site_frame((100_000.0, 2000.0), None);
    assert!(grid.in_frame(&far).unwrap_err().to_string().contains("more than 65 km"));
    let folder = tempfile::tempdir().unwrap();
    let path = sample.write::<colortype::Gray32Float>(folder.path(), &ramp());
    let whole = std::fs::read(&path).unwrap();
    for length in [0, 3, 8, 40, whole.len() / 2, whole.len() - 4] {
        std::fs::write(&path, &whole[..length]).unwrap();
        let why = read(&path, "dem.tif", &usual).unwrap_err().to_string();
        assert!(why.contains("dem.tif"), "{length}: {why}");
    }
}

/// A header that claims a continent takes no memory.
#[test]
fn an_absurd_size_is_refused_before_memory_is_taken() {
    let folder = tempfile::tempdir().unwrap();
    let path = Sample::default().write::<colortype::Gray32Float>(folder.path(), &ramp());
    let mut bytes = std::fs::read(&path).unwrap();
    let word = |bytes: &[u8], at: usize| usize::from(u16::from_le_bytes([bytes[at], bytes[at + 1]]));
    let directory = word(&bytes, 4) + (word(&bytes, 6) << 16);
    for entry in (0..word(&bytes, directory)).map(|k| directory + 2 + 12 * k) {
        // Width, height and rows in each of the two strips: tag, kind, count, value.
        let absurd: u32 = match word(&bytes, entry) {
            256 | 257 => 3_100,
            278 => 1_550,
            _ => continue,
        };
        bytes[entry + 2..entry + 4].copy_from_slice(&4_u16.to_le_bytes());
        bytes[entry + 8..entry + 12].copy_from_slice(&absurd.to_le_bytes());
    }
    std::fs::write(&path, &bytes).unwrap();
    let why = read(&path, "dem.tif", &GridSettings::default()).unwrap_err().to_string();
    assert!(why.contains("3100 columns and 3100 rows, in a file of"), "{why}");
}

proptest! {
    #[test]
    fn any_grid_comes_back(
        columns in 2..7_usize,
        values in prop::collection::vec(prop::option::weighted(0.9, -900.0..9_000.0_f64), 14..60),
        low in (-1e6..1e7_f64, -1e6..1e7_f64),
        step in 0.01..100.0_f64,
    ) {
        let rows = values.len() / columns;
        let from_north: Vec<f64> = values.iter().take(rows * columns).map(|z| z.unwrap_or(-9999.0)).collect();
        let mut text = format!(
            "ncols {columns}\r\nnrows {rows}\r\nxllcenter {}\r\nyllcenter {}\r\ncellsize {step}\r\nnodata_value -9999\r\n",
            low.0, low.1
        );
        for z in &from_north {
            text.push_str(&z.to_string());
            text.push(' ');
        }
        let grid = ascii::parse(&text, "g.asc", None).unwrap();
        let there = |z: &f64| if *z == -9999.0 { None } else { Some(*z) };
        let wanted: Vec<Option<f64>> = from_north.chunks(columns).rev().flatten().map(there).collect();
        let found: Vec<Option<f64>> = grid.elevations.iter().map(|z| z.is_finite().then_some(*z)).collect();
        prop_assert_eq!(found, wanted);
        prop_assert_eq!((grid.low, grid.step, grid.rows()), ([low.0, low.1], [step, step], rows));
    }

    #[test]
    fn any_raster_comes_back_and_any_damage_ends_in_a_message(
        values in prop::collection::vec(-900.0..9_000.0_f64, 20),
        packed in prop::bool::ANY,
        at in any::<prop::sample::Index>(),
        byte in any::<u8>(),
    ) {
        let packing = if packed { Compression::Deflate(DeflateLevel::Fast) } else { Compression::Uncompressed };
        let sample = Sample { packing, ..Sample::default() };
        let folder = tempfile::tempdir().unwrap();
        let path = sample.write::<colortype::Gray64Float>(folder.path(), &values);
        let grid = read(&path, "dem.tif", &GridSettings::default()).unwrap().value;
        prop_assert_eq!(grid.elevations, from_south(values.into_iter()));
        // A changed byte is an error or another grid, never a panic.
        let mut bytes = std::fs::read(&path).unwrap();
        let at = at.index(bytes.len());
        bytes[at] = byte;
        std::fs::write(&path, &bytes).unwrap();
        if let Ok(read) = read(&path, "dem.tif", &GridSettings::default()) {
            prop_assert!(read.value.elevations.len() <= MOST_NODES);
        }
        // A file cut short says so, in words for the one who copied it.
        bytes.truncate(at);
        std::fs::write(&path, &bytes).unwrap();
        let told = read(&path, "dem.tif", &GridSettings::default()).unwrap_err().to_string();
        prop_assert!(told.contains("dem.tif") && !told.contains("buffer"), "{}", told);
    }
}

/// Places of the nodes by pyproj (PROJ 9.5.1), GDA94 to MGA zone 55.
#[test]
fn a_grid_in_degrees_is_brought_node_by_node() {
    let text =
        "ncols 3\nnrows 2\nxllcenter 146.043\nyllcenter -34.4502\ndx 0.0002\ndy 0.0001\n431 432 433\n434 435 436\n";
    let mut grid = ascii::parse(text, "dem.asc", None).unwrap();
    grid.crs = Some("EPSG:4283".to_owned());
    let definition = resolve("EPSG:28355").unwrap();
    let middle = grid.middle_in(&definition).unwrap();
    assert!((middle.0 - 412_108.92).abs() < 0.01 && (middle.1 - 6_187_515.29).abs() < 0.01, "{middle:?}");
    let frame = definition.site_frame(middle, None);
    let brought = grid.in_frame(&frame).unwrap();
    assert!(
        brought.notes[0].text.contains("each node is brought to the site's frame by itself"),
        "{:?}",
        brought.notes
    );
    let due = [
        (412_090.600_35, 6_187_509.572_13, 434.0),
        (412_108.972_84, 6_187_509.745_72, 435.0),
        (412_127.345_33, 6_187_509.919_28, 436.0),
        (412_090.495_57, 6_187_520.661_31, 431.0),
        (412_108.868_08, 6_187_520.834_90, 432.0),
        (412_127.240_59, 6_187_521.008_46, 433.0),
    ];
    for (node, (easting, northing, elevation)) in brought.value.points().zip(due) {
        let (e, n) = frame.to_frame(node.plan());
        assert!((e - easting).abs() < 1e-4 && (n - northing).abs() < 1e-4 && node.z == elevation, "{e} {n} {}", node.z);
    }
    let tin = brought.value.tin().unwrap();
    crate::surface::sound::assert_sound(&tin);
    // Two cells of 18.3732 m by 11.0899 m, sheared by the turn of the meridian.
    assert!((tin.plan_area() - 2.0 * 203.76).abs() < 0.02, "{}", tin.plan_area());
    // Even on paper, but too far from the site.
    let far = definition.site_frame((512_000.0, 6_187_000.0), None);
    assert!(grid.in_frame(&far).unwrap_err().to_string().contains("more than 65 km"));
}
