//! Every key of the pipeline file, declared once: what it takes, its default and that default's standing.
//!
//! Invariant: the reader looks a key up only through its declaration here, an undeclared key is a fault, and
//! `docs/reference/pipeline-file.md` is written from this list (a test holds the two together).

/// What stands for a key that is not written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fallback {
    /// It must be written.
    Required,
    /// This text, read as if it were written.
    Value(&'static str),
    /// Nothing; the text says what that means.
    Absent(&'static str),
}

/// A key of the pipeline file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Key {
    /// The table it stands in, such as `swale.berm`; empty for the file itself.
    pub table: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What is written, by example.
    pub takes: &'static str,
    /// What stands for it when it is not written.
    pub fallback: Fallback,
    /// Where the default comes from.
    pub standing: &'static str,
    /// What it means, one or two sentences.
    pub about: &'static str,
}

const PRACTICE: &str = "common practice, no source";
const CHOICE: &str = "a choice of this program";

macro_rules! keys {
    ($($constant:ident = $table:literal, $name:literal, $takes:literal, $fallback:expr, $standing:expr, $about:literal;)*) => {
        $(#[doc = $about]
        pub const $constant: Key = Key {
            table: $table, name: $name, takes: $takes, fallback: $fallback, standing: $standing, about: $about,
        };)*
        /// All of them, table by table.
        pub const KEYS: &[Key] = &[$($constant),*];
    };
}

use Fallback::{Absent, Required, Value};

keys! {
    FORMAT = "", "format", "`1`", Required, "", "Version of this file's format; this program reads format 1.";
    SITE = "", "site", "a table", Required, "", "The site: its name, its frame, how people read it.";
    SURVEY = "", "survey", "a table", Required, "", "What was shot and how the files are written.";
    GROUND = "", "ground", "a table", Absent("all defaults"), "", "How the ground is made from the survey.";
    SWALE = "", "swale", "one or more `[[swale]]`", Absent("no works are designed"), "", "A level swale with its berm. Works are applied in the order of the file.";
    SPILLWAY = "", "spillway", "one or more `[[spillway]]`", Absent("swales and dams have no outlet, which is told; a pond runs over the lowest place of its rim"), "", "A level sill that lets the storm out of a swale, a dam or a pond.";
    STORM = "", "storm", "one or more `[[storm]]`", Absent("none"), "", "A storm that sills are sized for, as you state it.";
    POND = "", "pond", "one or more `[[pond]]`", Absent("none"), "", "A pond dug for its water.";
    BORROW = "", "borrow", "one or more `[[borrow]]`", Absent("none"), "", "A pit dug for its earth.";
    DAM = "", "dam", "one or more `[[dam]]`", Absent("none"), "", "A wall across a gully with water behind it. Without a `[[spillway]]` of its own every output says NO SPILLWAY.";
    FALL_LINE = "", "fall-line", "one or more `[[fall-line]]`", Absent("none"), "", "A line that falls evenly over the ground, for a diversion drain or a channel: traced, faired, checked and written for map and rover. With a `channel` it is a drain: designed, measured, staked and drawn like other works.";
    TEST_PIT = "", "test-pit", "one or more `[[test-pit]]`", Absent("the soil is unproven, which every output says"), "", "A hole dug to see the ground: what was met in it is held against what the works take the ground to be.";
    UNSTABLE = "", "unstable-ground", "one or more `[[unstable-ground]]`", Absent("none is marked, and none is looked for but by its slope"), "", "A slip, a spring, soft or filled ground that you know of: works and water that come near it are told in every output.";
    EARTH = "", "earth", "a table", Absent("all defaults"), "", "Soil, topsoil, how fill is placed.";
    STAKES = "", "stakes", "a table", Absent("all defaults"), "", "Which stakes are set, and where.";
    ASBUILT = "", "asbuilt", "a table", Absent("nothing is checked by the run"), "", "Shots taken after the dig, and the tolerances they are held against.";

    SITE_NAME = "site", "name", "`\"Kestrel Flat\"`", Required, "", "The site's name, as it stands on every sheet.";
    SITE_CRS = "site", "crs", "`\"EPSG:32755\"` or `\"local\"`", Required, "", "The horizontal system of the site: any projected system that PROJ knows, or `local` for a site grid.";
    SITE_UNITS = "site", "units", "`\"metric\"`, `\"feet\"` or `\"us-survey-feet\"`", Value("metric"), CHOICE, "How people read lengths on the sheets and in what a check says to do; the screen's figures are metric; the frame's own unit is the system's.";
    SITE_FEET = "site", "feet-style", "`\"tenths\"` or `\"feet-and-inches\"`", Value("tenths"), CHOICE, "How feet are written, where people read feet; never both in one table.";
    SITE_REGION = "site", "region", "`\"au\"`, `\"us\"` or `\"neutral\"`", Value("neutral"), CHOICE, "Which trade words the sheets use.";
    SITE_DATE = "site", "date", "`\"2026-03-14\"`", Absent("the date of the newest shot; else a blank on the sheet and 1970-01-01 in files"), CHOICE, "The date that documents carry.";
    SITE_ISSUE = "site", "issue", "`2`", Absent("1, a first issue"), CHOICE, "Which issue of sheet and stake list this is, counted from 1: raise it whenever paper or stakes that are out are to be thrown away.";
    SITE_REPLACES = "site", "replaces", "`\"issue 1 of 2026-03-02\"`", Absent("the issue before, if there was one"), CHOICE, "What this issue replaces, as it is told on every sheet and stake list.";
    SITE_HEIGHT = "site", "height", "`\"site datum, mark CP1 = 432.108 m\"`", Absent("as the survey gives them"), "", "What elevations are above, in your own words; printed on every sheet.";

    SITE_COMBINED_FACTOR = "site", "combined-factor", "`0.99957` or `\"computed\"`", Absent("lengths, areas and volumes are those of the grid; the difference is told"), CHOICE, "Grid length over ground length. Said or computed from the projection and the mean elevation, it makes every length, area and volume one of the ground; coordinates stay those of the grid.";

    SURVEY_SHOTS = "survey", "shots", "`[\"day1.csv\", { file = \"day2.txt\", delimiter = \"tab\" }]`", Absent("no point files"), "", "Point files, relative to this file.";
    SURVEY_CLOUDS = "survey", "clouds", "`[\"paddock.laz\"]`", Absent("no clouds"), "", "LAS or LAZ clouds; their ground class is used where they have one.";
    SURVEY_GRIDS = "survey", "grids", "`[\"dem.tif\", { file = \"dem.asc\", no-data = 0 }]`", Absent("no grids"), "", "Grids of the ground (GeoTIFF or text), relative to this file. Their nodes join the ground like points of a cloud, and give way to shots.";
    SURVEY_CLOUD_GROUND = "survey", "cloud-ground", "`[2]`", Value("[2]"), "LAS 1.4 specification, table 17", "The classes of a cloud that are ground, as numbers; a producer's own classes can be named here.";
    SURVEY_CLASSIFY = "survey", "classify", "`\"when-unclassified\"`, `\"always\"` or `\"never\"`", Value("when-unclassified"), CHOICE, "When the ground of a cloud is found here: when the file calls no point ground, whatever it says, or never (such a file is then refused).";
    SURVEY_CLASSIFY_AREA = "survey", "classify-area", "`\"5000 ha\"`", Value("5000 ha"), CHOICE, "Greatest rectangle around the clouds in which ground is found; memory follows it, about 0.5 GB for each 1000 ha.";
    SURVEY_CLOUD_MEMORY = "survey", "cloud-memory", "`\"8 GB\"`", Value("8 GB"), CHOICE, "Most memory that the ground points of clouds and the ground made of them may take, at 700 bytes a point; clouds that need more are refused with how much they need.";
    SURVEY_CLOUD_HEIGHTS = "survey", "cloud-heights", "`\"as-given\"` or `\"ellipsoidal\"`", Value("as-given"), CHOICE, "What the elevations of clouds are above: the site's height system, or the ellipsoid; ellipsoidal ones become elevations by `geoid` and `inclined-plane`, as those of shots.";
    SURVEY_COLUMNS = "survey", "columns", "`\"point, easting, northing, elevation, code\"`", Absent("read from the header line"), "", "The columns of the point files, in order.";
    SURVEY_DELIMITER = "survey", "delimiter", "`\"comma\"`, `\"semicolon\"`, `\"tab\"` or `\"space\"`", Absent("found from the file"), "", "What stands between two columns.";
    SURVEY_DECIMAL = "survey", "decimal", "`\"point\"` or `\"comma\"`", Value("point"), CHOICE, "The decimal mark in numbers; a decimal comma is never guessed.";
    SURVEY_UNITS = "survey", "units", "`\"metres\"`, `\"feet\"` or `\"us-survey-feet\"`", Absent("the unit of the site's frame"), CHOICE, "The unit of coordinates and elevations in the point files.";
    SURVEY_SIGMAS = "survey", "sigmas", "`\"one-sigma\"`, `\"95-percent\"` or `\"two-sigma\"`", Absent("what the titles say, else one sigma"), CHOICE, "What the precisions in the point files are; 95 % figures are brought to one sigma.";
    SURVEY_EPOCHS = "survey", "epochs", "`\"standing\"` or `\"every\"`", Absent("standing"), CHOICE, "What is made of the epochs of a log (NMEA, post-processing): a shot wherever the rover stood still, or a shot from every epoch.";
    SURVEY_GEOGRAPHIC = "survey", "geographic", "`\"own-datum\"`, `\"wgs84\"` or a code such as `\"EPSG:7844\"`", Value("own-datum"), CHOICE, "Which latitude and longitude the point files mean, when they hold any: on the datum of the site's frame, as a receiver shows them beside its grid coordinates, or another.";
    SURVEY_ROUGHNESS = "survey", "roughness", "`\"25 mm\"`", Value("25 mm"), PRACTICE, "How rough the ground is under the pole, one standard deviation: pasture 20-30 mm, tussock or plough 50 mm. Not said: what eight places shot twice or more show, else 25 mm.";
    SURVEY_VERTICAL_SIGMA = "survey", "vertical-sigma", "`\"20 mm\"`", Value("20 mm"), "NGS single-base guidelines (Henning), as quoted by others", "The receiver's vertical standard deviation where a file states none.";
    SURVEY_VERTICAL_PPM = "survey", "vertical-ppm", "`1.0`", Absent("1.0"), "NGS single-base guidelines (Henning), as quoted by others", "What the distance to the base adds to it, millionths, where a file gives that distance.";
    SURVEY_HORIZONTAL_LIMIT = "survey", "horizontal-limit", "`\"50 mm\"`", Value("50 mm"), PRACTICE, "Shots with a larger horizontal standard deviation are set aside.";
    SURVEY_VERTICAL_LIMIT = "survey", "vertical-limit", "`\"50 mm\"`", Value("50 mm"), PRACTICE, "Shots with a larger vertical standard deviation are set aside.";
    SURVEY_PDOP_LIMIT = "survey", "pdop-limit", "`6`", Absent("6"), "widest class of the NGS single-base guidelines (Henning), from memory", "Shots with a larger position dilution of precision are set aside, where a file gives it.";
    SURVEY_AGE_LIMIT = "survey", "age-limit", "`30`", Absent("30"), PRACTICE, "Shots with corrections older than so many seconds are set aside, where a file gives their age.";
    SURVEY_REPEAT_DISTANCE = "survey", "repeat-distance", "`\"0.10 m\"`", Value("0.10 m"), PRACTICE, "Ground shots nearer than this are repeats of one place and are compared.";
    SURVEY_GROSS = "survey", "gross", "`\"1.5 m\"`", Value("1.5 m"), PRACTICE, "A shot off its neighbours by more than this, alone, is set aside; by more than a third of it, it is told.";
    SURVEY_CHECK_HORIZONTAL = "survey", "check-horizontal", "`\"50 mm\"`", Value("50 mm"), "95 % class for site grading of the NGS single-base guidelines (Henning), from memory", "How far a check shot may be from its mark in plan.";
    SURVEY_CHECK_VERTICAL = "survey", "check-vertical", "`\"60 mm\"`", Value("60 mm"), "95 % class for site grading of the NGS single-base guidelines (Henning), from memory", "How far a check shot may be from its mark in elevation.";
    SURVEY_GEOID = "survey", "geoid", "`\"geoid.gtx\"`, `\"geoid.tif\"` or a list of them", Absent("heights are used as the files give them"), "", "A geoid grid of your own, GTX or GeoTIFF as PROJ's grids are kept: elevations are then ellipsoidal height minus geoid height. Of a list the first that covers a shot rules there.";
    SURVEY_PLANE = "survey", "inclined-plane", "a table", Absent("none"), "", "A vertical offset and slope that is added to every elevation, as a height system's authority publishes it.";
    SURVEY_FIT = "survey", "fit", "a table", Absent("the survey is used as it is"), "", "How the survey is fitted to known marks.";
    SURVEY_KEEP = "survey", "keep", "`[\"day1.csv:212\"]`", Absent("none"), "", "Shots set aside that are put back; written as file and point number (or line, when no point has that number), as set-aside.csv lists them.";
    SURVEY_DROP = "survey", "drop", "`[\"day1.csv:212\"]`", Absent("none"), "", "Shots that are left out whatever the checks say of them, written as in `keep`; one that is in both is refused.";
    SURVEY_ROLES = "survey", "roles", "a table", Absent("the plain role names"), CHOICE, "What a field code means; the codes are your own, and the plain role names always work.";

    GRID_FILE = "survey.grids", "file", "`\"dem.asc\"`", Required, "", "The grid, relative to this file.";
    GRID_NO_DATA = "survey.grids", "no-data", "`0`", Absent("what the file says"), "", "The value that stands where there is no elevation, beside the one that the file names.";
    GRID_UNITS = "survey.grids", "units", "`\"metres\"`, `\"feet\"` or `\"us-survey-feet\"`", Absent("what the file says, else the frame's, which is told where that is not metres"), "", "The unit of its elevations.";

    SHOTS_FILE = "survey.shots", "file", "`\"day2.txt\"`", Required, "", "The point file, relative to this file.";
    SHOTS_COLUMNS = "survey.shots", "columns", "`\"point, northing, easting, elevation, code\"`", Absent("as `[survey]` says"), "", "The columns of this file, in order.";
    SHOTS_DELIMITER = "survey.shots", "delimiter", "`\"tab\"`", Absent("as `[survey]` says"), "", "What stands between two columns of this file.";
    SHOTS_DECIMAL = "survey.shots", "decimal", "`\"comma\"`", Absent("as `[survey]` says"), "", "The decimal mark in this file.";
    SHOTS_UNITS = "survey.shots", "units", "`\"feet\"`", Absent("as `[survey]` says"), "", "The unit of this file.";
    SHOTS_SIGMAS = "survey.shots", "sigmas", "`\"95-percent\"`", Absent("as `[survey]` says"), "", "What the precisions in this file are.";
    SHOTS_EPOCHS = "survey.shots", "epochs", "`\"every\"`", Absent("as `[survey]` says"), "", "What is made of the epochs of this log.";

    FIT_MARKS = "survey.fit", "marks", "`\"marks.csv\"` or a table as in `shots`", Required, "", "A point file with the known marks in the site's frame; shots of role mark or check that bear a mark's name observe it.";
    FIT_PLAN = "survey.fit", "plan", "`\"turn\"`, `\"similarity\"`, `\"shift\"` or `\"keep\"`", Value("turn"), CHOICE, "What may change in plan: turn and shift at a fixed scale, also the scale, the shift alone, or nothing.";
    FIT_SCALE = "survey.fit", "scale", "`1.0` or `\"combined-factor\"`", Absent("one"), CHOICE, "The fixed scale of `plan = \"turn\"`, given length over surveyed length; the site's combined factor where ground lengths were surveyed and the marks stand on the grid.";
    FIT_HEIGHT = "survey.fit", "height", "`\"shift\"`, `\"plane\"` or `\"keep\"`", Value("shift"), CHOICE, "What may change in height: one shift, a shift with a tilt, or nothing.";
    FIT_SIGMA_PLAN = "survey.fit", "sigma-plan", "`\"15 mm\"`", Value("15 mm"), PRACTICE, "Standard deviation of a coordinate of a mark against the survey, mark and observation together.";
    FIT_SIGMA_HEIGHT = "survey.fit", "sigma-height", "`\"20 mm\"`", Value("20 mm"), PRACTICE, "Standard deviation of an elevation of a mark against the survey, mark and observation together.";
    FIT_WITHOUT = "survey.fit", "without", "`[\"CP4\"]`", Absent("none"), "", "Marks that take no part in the fit.";

    PLANE_LATITUDE = "survey.inclined-plane", "latitude", "`46.916667`", Required, "", "Latitude of the point about which the plane is given, decimal degrees.";
    PLANE_LONGITUDE = "survey.inclined-plane", "longitude", "`8.183333`", Required, "", "Longitude of that point, decimal degrees.";
    PLANE_OFFSET = "survey.inclined-plane", "offset", "`\"-0.245 m\"`", Required, "", "What is added to an elevation there.";
    PLANE_SLOPE_LATITUDE = "survey.inclined-plane", "slope-latitude", "`\"-0.210 arcsec\"` or `\"1.2 ppm\"`", Value("0 ppm"), CHOICE, "Slope along the meridian, rising to the north.";
    PLANE_SLOPE_LONGITUDE = "survey.inclined-plane", "slope-longitude", "`\"-0.032 arcsec\"` or `\"1.2 ppm\"`", Value("0 ppm"), CHOICE, "Slope along the parallel, rising to the east.";

    SHOTS_SHIFT = "survey.shots", "shift", "`[\"-0.80 m\", \"0 m\", \"-0.40 m\"]`", Absent("not moved"), "", "Moves the whole file: east, north, up. For a base that stood on other coordinates, once check shots have shown by how much.";

    ROLE_GROUND = "survey.roles", "ground", "`[\"gs\"]`", Absent("none"), "", "Natural ground.";
    ROLE_BREAKLINE = "survey.roles", "breakline", "`[\"ridge\", \"drain\"]`", Absent("none"), "", "Vertices of breaklines; consecutive shots of one code are joined.";
    ROLE_MARK = "survey.roles", "mark", "`[\"cp\"]`", Absent("none"), "", "Known marks.";
    ROLE_CHECK = "survey.roles", "check", "`[\"chk\"]`", Absent("none"), "", "Check shots on known marks.";
    ROLE_LINE = "survey.roles", "line", "`[\"ln\"]`", Absent("none"), "", "Shots along a line to be judged.";
    ROLE_WATER = "survey.roles", "water", "`[\"wl\"]`", Absent("none"), "", "Edge or surface of water.";
    ROLE_SERVICE = "survey.roles", "service", "`[\"elec\"]`", Absent("none"), "", "Services: overhead lines, buried pipes and cables.";
    ROLE_BOUNDARY = "survey.roles", "boundary", "`[\"bdy\"]`", Absent("none"), "", "The edge of what was surveyed.";
    ROLE_KEEP_OUT = "survey.roles", "keep-out", "`[\"tree\"]`", Absent("none"), "", "Places that nothing may touch.";
    ROLE_SILL = "survey.roles", "sill", "`[\"sil\"]`", Absent("none"), "", "As-built shots on a sill.";
    ROLE_CREST = "survey.roles", "crest", "`[\"cre\"]`", Absent("none"), "", "As-built shots on a crest.";
    ROLE_BED = "survey.roles", "bed", "`[\"bed\"]`", Absent("none"), "", "As-built shots on a channel's bed.";
    ROLE_LINE_BEGIN = "survey.roles", "line-begin", "`[\"b\"]`", Absent("begin and start"), "", "Words behind a code that begin a line here; the plain words always work.";
    ROLE_LINE_END = "survey.roles", "line-end", "`[\"e\"]`", Absent("end and stop"), "", "Words behind a code that end a line here.";
    ROLE_LINE_CLOSE = "survey.roles", "line-close", "`[\"cl\"]`", Absent("close"), "", "Words behind a code that end a line and return it to its first shot.";
    ROLE_LINE_ARC = "survey.roles", "line-arc", "`[\"pc\"]`", Absent("arc and curve"), "", "Words behind a code that say that a line bends here in an arc; the line stays straight between shots, and how far that is off is told.";
    ROLE_BUILT = "survey.roles", "built", "`[\"ab\"]`", Absent("none"), "", "As-built shots on anything else of the works.";

    GROUND_LONGEST_EDGE = "ground", "longest-edge", "`\"30 m\"`", Absent("three times the median spacing of the points"), CHOICE, "Triangles on the rim with a longer edge are cut away.";
    GROUND_GAPS = "ground", "gaps", "`\"filled\"` or `\"holes\"`", Value("filled"), CHOICE, "What lies between points that stand farther apart than `longest-edge` inside the survey: triangles all the same, or holes of the ground, each told.";
    GROUND_MERGE_WITHIN = "ground", "merge-within", "`\"20 mm\"`", Value("20 mm"), PRACTICE, "Points nearer than this in plan are one point; each merger is told.";
    GROUND_CLASSIFIED = "ground", "classified", "`true` or `false`", Value("false"), CHOICE, "Leaves the clouds whose ground was found here as `ground/classified.laz`, ground as class 2.";
    GROUND_SURE_TO = "ground", "sure-to", "`\"0.10 m\"`", Value("0.10 m"), PRACTICE, "Where the ground between shots may be off by more than this (95 %), survey/shots.gpkg marks it and says where to shoot.";
    GROUND_BOUNDARY = "ground", "boundary", "`\"edge.geojson\"`", Absent("the shots of role boundary, else the longest edge decides"), "", "The edge of the ground, as a polygon.";
    GROUND_SHOTS_RULE = "ground", "shots-rule-within", "`\"1 m\"`", Value("1 m"), PRACTICE, "Points of clouds and grids nearer than this to a ground shot give way to it.";
    GROUND_CLOUD_OFFSET = "ground", "cloud-offset", "`\"leave\"` or `\"correct\"`", Value("leave"), CHOICE, "What is done about the offset of the cloud above the shots, which is told with its standard error where five shots or more have cloud round them.";
    GROUND_CONTOURS = "ground", "contours", "`\"0.5 m\"`", Absent("no contours in ground.gpkg; the plans choose their own"), "", "Interval of the contour lines that ground.gpkg holds.";
    GROUND_EXPORT_BOUND = "ground", "export-bound", "`\"20 mm\"`", Value("20 mm"), CHOICE, "Above 200,000 triangles ground.gpkg and ground.landxml hold the ground thinned to this height; ground.tin holds all of it.";
    GROUND_THIN_TO = "ground", "thin-to", "`\"20 mm\"`", Absent("every point is kept"), "", "The ground keeps only as many points as hold it within this height of all of them; shots on breaklines and points on the rim stay.";

    SWALE_NAME = "swale", "name", "`\"upper\"`", Required, "", "Its name, unique on the site.";
    SWALE_WATER_LEVEL = "swale", "water-level", "`{ at-shot = \"day1.csv:117\" }`, `{ elevation = \"431.25 m\" }`, `{ through = [412350.0, 6187220.0] }`, `{ below = { by = \"0.3 m\", at-shot = \"day1.csv:41\" } }`, `{ to-catch = \"2 ha\" }` or `{ place = 1 }`", Required, "", "The elevation at which it stands full: the ground at a shot or a place, said outright, so far `above` or `below` a thing, the highest at which the line catches so much surveyed ground uphill of it, or that of a rank among lines at many levels. A number that a file gives twice is named by its line, `\"day1.csv:line 243\"`.";
    SWALE_LINE = "swale", "line", "`\"downhill-lip\"`, `\"centre\"` or `\"uphill-edge\"`", Value("downhill-lip"), CHOICE, "Which edge of the channel follows the contour. The downhill lip is where it would spill.";
    SWALE_DOWN_SLOPE = "swale", "down-slope", "`{ swales = 4, drop = \"1.2 m\" }`", Absent("one swale"), "", "More swales like this one below it, named in order: `hill` becomes `hill-1` at its own water level, `hill-2` below it, and so on. Each is a swale like any other; a spillway of `hill` is one for each.";
    SWALE_WITHIN = "swale", "within", "`\"paddock.geojson\"`", Absent("anywhere on the survey"), "", "A polygon in which the line runs.";
    SWALE_BETWEEN = "swale", "between", "`[[412300.0, 6187200.0], [412500.0, 6187260.0]]`", Absent("the whole contour line"), "", "Two places between which the line runs, easting and northing in the frame's units.";
    SWALE_SHAPE = "swale", "shape", "`\"trapezoid\"`, `\"triangle\"` or `\"parabola\"`", Value("trapezoid"), CHOICE, "The channel across: a flat bed between two batters, two batters that meet, or a round bowl as a bucket leaves it.";
    SWALE_BOTTOM_WIDTH = "swale", "bottom-width", "`\"1.2 m\"`", Value("1.2 m"), PRACTICE, "Width of the channel's bed, of a trapezoid.";
    SWALE_TOP_WIDTH = "swale", "top-width", "`\"3.0 m\"`", Value("3.0 m"), PRACTICE, "Width of a parabola at the water level.";
    SWALE_DEPTH = "swale", "depth", "`\"0.6 m\"` or `{ to-hold = \"300 m3\" }`", Value("0.6 m"), PRACTICE, "Bed (of a triangle or parabola its lowest line) below water level; or the water that the swale is to hold, and the depth is solved for it.";
    SWALE_UPHILL_BATTER = "swale", "uphill-batter", "`\"2:1\"`", Value("2:1"), PRACTICE, "Side slope uphill of the bed, horizontal to vertical; of a parabola above the water level.";
    SWALE_DOWNHILL_BATTER = "swale", "downhill-batter", "`\"2:1\"`", Value("2:1"), PRACTICE, "Side slope downhill of the bed, horizontal to vertical; a parabola has none.";
    SWALE_BERM = "swale", "berm", "`\"all-the-cut\"`, `{ all-the-cut = { crest = \"1.0 m\", follow = \"20 m\" } }` or `{ crest = \"1.0 m\", batter = \"2:1\" }`", Value("all-the-cut"), PRACTICE, "The mound on the low side: as high as the ditch's own earth makes it, or of a fixed crest at head and freeboard.";
    SWALE_CHANGES = "swale", "changes", "a list of tables in braces", Absent("one section all along"), "", "Where the section changes along the line, in the order of the stations: from a station, evenly over a length, to another bed, depth, batter or crest.";
    SWALE_CROSSINGS = "swale", "crossings", "a list of tables in braces", Absent("none"), "", "Where vehicles drive over it: a solid top at built crest elevation with ramps, which parts the swale into pools; each wants a sill.";
    SWALE_KEY = "swale", "key", "a table in braces", Absent("no key is dug"), "", "A trench under the middle of the berm, dug into the stripped seat and filled again with the berm's own earth, so that the berm does not stand on a smooth plane.";
    SWALE_LEDGE = "swale", "ledge", "`\"0.4 m\"`", Value("0.4 m"), PRACTICE, "Undisturbed strip between the cut and the berm's toe.";
    SWALE_FREEBOARD = "swale", "freeboard", "`\"0.3 m\"`", Value("0.3 m"), PRACTICE, "Settled crest above the head at the design flow.";
    SWALE_BEND_RADIUS = "swale", "bend-radius", "`\"5 m\"`", Value("5 m"), PRACTICE, "Tightest bend the machine should dig: an excavator follows 3-5 m, a blade about 12 m.";
    SWALE_OBSTACLES = "swale", "obstacles", "`\"trees.geojson\"`", Absent("nothing stands in the way"), "", "Polygons or places that must stay, such as trees: the line is led round them and leaves its level there, which is told.";
    SWALE_CLEARANCE = "swale", "clearance", "`\"3 m\"`", Value("3 m"), PRACTICE, "What is kept free between the works and an obstacle.";
    SWALE_ENDS = "swale", "ends", "`\"turn-up\"`, `\"overflow\"` or `{ last = \"overflow\" }`", Value("turn-up"), CHOICE, "The berm returns uphill at both ends until natural ground stands at crest elevation; or an end is left open at sill elevation as an overflow, and the berm stops at the `[[spillway]]` that stands at that end.";
    SWALE_TOLERANCE = "swale", "tolerance", "`\"50 mm\"`", Value("50 mm"), PRACTICE, "Allowed deviation of natural ground on the line from the water level.";

    LEVEL_BY = "water-level.below", "by", "`\"0.3 m\"`", Required, "", "How far below the thing (under `above`: above it), upright.";
    LEVEL_AT_SHOT = "water-level.below", "at-shot", "`\"day1.csv:41\"`", Absent("one of the other three says the thing"), "", "A shot on the thing itself: the sill of a trough, the inlet of a tank, a floor. The shot's own height counts, not the ground under it.";
    LEVEL_THROUGH = "water-level.below", "through", "`[412350.0, 6187220.0]`", Absent("one of the other three says the thing"), "", "The ground at a place, easting and northing in the frame's units.";
    LEVEL_ELEVATION = "water-level.below", "elevation", "`\"432.10 m\"`", Absent("one of the other three says the thing"), "", "The thing's elevation, said outright.";
    LEVEL_WORK = "water-level.below", "work", "`\"upper\"`", Absent("one of the other three says the thing"), "", "A swale or dam before it in the file: where its water stands full.";

    CATCH_AREA = "water-level.to-catch", "area", "`\"2 ha\"`", Required, "", "Surveyed ground that is to drain to the line, by steepest descent.";
    CATCH_NEAR = "water-level.to-catch", "near", "`[412350.0, 6187220.0]`", Absent("the longest piece of contour, or the one nearest to both ends of `between`"), "", "The line is the piece of contour nearest to this place.";

    PLACE_RANK = "water-level.place", "rank", "`1`", Absent("1"), CHOICE, "Which of the lines is meant, 1 the best. `works/places.csv` has all of them; run again with another to see it designed.";
    PLACE_BY = "water-level.place", "by", "`\"held-per-dug\"`, `\"held\"` or `\"catches\"`", Value("held-per-dug"), CHOICE, "What they are ranked by, the more the better: water held for each cubic metre dug, water held, surveyed ground that drains to the line.";
    PLACE_FROM = "water-level.place", "from", "`\"430 m\"`", Absent("the lowest ground"), "", "Lowest level compared.";
    PLACE_TO = "water-level.place", "to", "`\"434 m\"`", Absent("the highest ground"), "", "Highest level compared.";
    PLACE_EVERY = "water-level.place", "every", "`\"0.5 m\"`", Value("0.5 m"), CHOICE, "Step between two levels; its whole multiples are compared, 200 at most.";
    PLACE_LEAST_LENGTH = "water-level.place", "least-length", "`\"30 m\"`", Value("30 m"), PRACTICE, "Shorter lines have no rank.";
    PLACE_STEEPEST = "water-level.place", "steepest", "`\"15 %\"`", Value("15 %"), PRACTICE, "Lines across which the ground falls more, over 10 m of line, have no rank: what your machine can work on, and what soaked water leaves standing.";
    ENDS_FIRST = "swale.ends", "first", "`\"turn-up\"` or `\"overflow\"`", Value("turn-up"), CHOICE, "The end at the first place of `between`; without it, where one starts walking with uphill on the left. Stations run with uphill on the left either way.";
    ENDS_LAST = "swale.ends", "last", "`\"turn-up\"` or `\"overflow\"`", Value("turn-up"), CHOICE, "The other end.";

    CROSSING_STATION = "swale.crossings", "station", "`\"80 m\"`", Required, "", "The station of the line at which its middle stands.";
    CROSSING_WIDTH = "swale.crossings", "width", "`\"4 m\"`", Value("4 m"), PRACTICE, "Width of its running top, along the line.";
    CROSSING_RAMP = "swale.crossings", "ramp", "`\"8:1\"`", Value("8:1"), PRACTICE, "Slope of both ramps along the way over it, horizontal to vertical.";
    CROSSING_BATTER = "swale.crossings", "batter", "`\"2:1\"`", Value("2:1"), PRACTICE, "Side slope of its fill.";

    CHANGE_FROM = "swale.changes", "from", "`\"60 m\"`", Required, "", "The station of the line at which the change begins.";
    CHANGE_OVER = "swale.changes", "over", "`\"10 m\"`", Absent("10 m; of a step alone twice its height"), PRACTICE, "The length over which it is made.";
    CHANGE_BOTTOM_WIDTH = "swale.changes", "bottom-width", "`\"1.8 m\"`", Absent("as before"), "", "Width of the bed from there on, of a trapezoid.";
    CHANGE_TOP_WIDTH = "swale.changes", "top-width", "`\"4.0 m\"`", Absent("as before"), "", "Width at the water level from there on, of a parabola.";
    CHANGE_DEPTH = "swale.changes", "depth", "`\"0.8 m\"`", Absent("as before"), "", "Bed below water level from there on. The water level stays the sill's.";
    CHANGE_STEP_DOWN = "swale.changes", "step-down", "`\"0.2 m\"`", Absent("as before"), "", "Instead of a depth: the level bed steps down by this much.";
    CHANGE_STEP_UP = "swale.changes", "step-up", "`\"0.2 m\"`", Absent("as before"), "", "Instead of a depth: the level bed steps up by this much.";
    CHANGE_UPHILL_BATTER = "swale.changes", "uphill-batter", "`\"3:1\"`", Absent("as before"), "", "Side slope uphill of the bed from there on.";
    CHANGE_DOWNHILL_BATTER = "swale.changes", "downhill-batter", "`\"3:1\"`", Absent("as before"), "", "Side slope downhill of the bed from there on; a parabola has none.";
    CHANGE_CREST = "swale.changes", "crest", "`\"3.0 m\"`", Absent("as before"), "", "Width of the berm's crest from there on.";
    CHANGE_BATTER = "swale.changes", "batter", "`\"4:1\"`", Absent("as before"), "", "Batter of both sides of the berm from there on.";

    KEY_WIDTH = "swale.key", "width", "`\"0.6 m\"`", Value("0.6 m"), PRACTICE, "Width of its bottom: a bucket's.";
    KEY_DEPTH = "swale.key", "depth", "`\"0.3 m\"`", Value("0.3 m"), PRACTICE, "Depth under the stripped seat, into firm ground.";
    KEY_BATTER = "swale.key", "batter", "`\"1:1\"`", Value("1:1"), PRACTICE, "Side slope of the trench, horizontal to vertical.";

    DOWN_SWALES = "swale.down-slope", "swales", "`4`", Required, "", "How many, the first one counted; 20 at most.";
    DOWN_DROP = "swale.down-slope", "drop", "`\"1.2 m\"`", Absent("`along-slope` or `terraces` says the spacing"), "", "Upright distance from one water level to the next.";
    DOWN_ALONG = "swale.down-slope", "along-slope", "`\"40 m\"`", Absent("`drop` or `terraces` says the spacing"), "", "Distance over the ground from one line to the next, the way the water runs; the mean along the line.";
    DOWN_TERRACES = "swale.down-slope", "terraces", "a table in braces", Absent("`drop` or `along-slope` says the spacing"), "", "The vertical interval of terraces against erosion, x S + y, S the fall of the ground from one line to the next in per cent.";

    TERRACES_X = "swale.terraces", "x", "`\"0.6 ft\"`", Required, "", "For each per cent of fall, by climate: 0.4 to 0.8 ft (NRCS Engineering Field Handbook, chapter 8, from memory).";
    TERRACES_Y = "swale.terraces", "y", "`\"2 ft\"`", Required, "", "On level ground, by soil and cover: 1 ft on soil that washes easily and lies bare, to 4 ft on soil that does not and stays covered (NRCS Engineering Field Handbook, chapter 8, from memory).";

    BERM_CREST = "swale.berm", "crest", "`\"1.0 m\"`", Value("1.0 m"), PRACTICE, "Width of the berm's crest.";
    BERM_BATTER = "swale.berm", "batter", "`\"2:1\"` or `\"to-balance\"`", Value("2:1"), PRACTICE, "Side slope of the berm, both sides, horizontal to vertical; or, of a fixed crest, solved so that the fill takes what the ditch gives.";
    BERM_FOLLOW = "swale.berm", "follow", "`\"20 m\"`", Absent("one crest for the whole berm"), "", "Of a berm of all the cut: its crest follows the local cut, balanced over stretches of this length, never below what head, freeboard and settlement need.";

    SPILLWAY_OF = "spillway", "of", "`\"upper\"`", Required, "", "The swale, dam or pond that it lets out. A dam or pond has one at most.";
    SPILLWAY_AT = "spillway", "at", "`{ end = \"last\" }`, `{ station = \"120 m\" }`, `{ through = [412350.0, 6187220.0] }` or, of a pond, `{ rim = \"lowest\" }`", Required, "", "Its place along the swale. Beside a wall: beyond its first or last end (of the axis as written), or centred at a place on natural ground. Beside a pond: at the lowest place of its rim, at a station of the rim, or nearest to a place.";
    SPILLWAY_SILL_LENGTH = "spillway", "sill-length", "`\"6 m\"`, `{ for-flow = \"0.25 m3/s\" }` or `{ for-storm = \"25-year\" }`", Required, "", "Length of the sill along the line, or the flow it is to be made long enough for: said, or the peak of a `[[storm]]` on its `catchment`, Q = C i A (rational method).";
    SPILLWAY_SILL_BREADTH = "spillway", "sill-breadth", "`\"1.5 m\"`", Value("1.5 m"), PRACTICE, "Breadth of the level sill along the flow. The broad-crested formula holds for 2 to 20 times the head.";
    SPILLWAY_HEAD = "spillway", "head", "`\"0.10 m\"`", Absent("of a swale or pond 0.10 m (common practice, no source), of a dam its flood-rise; solved where both sill length and flow are given"), "", "Head over the sill at the design flow.";
    SPILLWAY_FLOW = "spillway", "flow", "`\"0.25 m3/s\"`", Absent("what the sill passes at its head"), "", "Design flow of a sill of a given length; the head is solved from it.";
    SPILLWAY_EXIT_FALL = "spillway", "exit-fall", "`\"0.5 %\"` or `\"1 in 200\"`", Absent("0.5 %; of a pond the least fall from there on at which the channel does not hold the flood up over the sill, where its cover bears that and the ground falls so far"), PRACTICE, "Fall of the exit channel, of a dam's or pond's spillway from the sill to where natural ground falls away from it.";
    SPILLWAY_BATTER = "spillway", "batter", "`\"2:1\"`", Value("2:1"), PRACTICE, "Side slope of the cut of a dam's or pond's spillway, horizontal to vertical.";
    SPILLWAY_APPROACH_FALL = "spillway", "approach-fall", "`\"1 %\"`", Value("1 %"), PRACTICE, "Fall of a dam's or pond's spillway from its sill back into the water, so that the sill and nothing before it holds the water.";
    SPILLWAY_COVER = "spillway", "cover", "`\"bare\"`, `\"bunch-grass\"`, `\"mixed-grass\"`, `\"sod-grass\"` or `\"creeping-grass\"`", Value("mixed-grass"), CHOICE, "What covers the channel of a dam's or pond's spillway: how rough it is (Chow 1959) and how fast water may run over it (grass by K.A.R. 5-40-56 on soil that washes easily; bare earth Fortier and Scobey, from memory).";
    SPILLWAY_LINED = "spillway", "lined", "`\"by-engineer\"`", Absent("a dam's or pond's sill that would stand on fill is refused"), "", "An engineer's lined design carries the part of a dam's or pond's sill that would stand on fill. This program does not design it, and says so.";
    SPILLWAY_CATCHMENT = "spillway", "catchment", "`\"3.2 ha\"`", Absent("written with `for-storm`"), "", "What drains to this sill. Where several sills share a catchment, the part of it that this one is to let out.";
    SPILLWAY_RUNOFF = "spillway", "runoff-coefficient", "`0.40`", Absent("written with `for-storm`"), "", "Share of the rain that runs off it at the peak, C. For farm land see the table in docs/works.md (NRCS Hydrology Training Module 206D).";

    STORM_NAME = "storm", "name", "`\"25-year\"`", Required, "", "Its name, as `for-storm` says it and the sheet promises it.";
    STORM_INTENSITY = "storm", "intensity", "`\"80 mm/h\"` or `\"3.1 in/h\"`", Required, "", "Mean intensity of the rain over the time in which the catchment answers (time of concentration), from your weather service's tables.";

    POND_NAME = "pond", "name", "`\"house tank\"`", Required, "", "Its name, unique on the site.";
    POND_FLOOR = "pond", "floor", "a table in braces", Required, "", "The outline of its level floor.";
    POND_BATTERS = "pond", "batters", "`\"3:1\"` or `[\"3:1\", \"2:1\", \"3:1\", \"4:1\"]`", Value("3:1"), PRACTICE, "Side slope outside every side of the floor, horizontal to vertical; or one for each side in the order of the outline.";
    POND_DEPTH = "pond", "depth", "`\"2.5 m\"`, `{ floor = \"98.20 m\" }`, `{ to-hold = \"900 m3\" }`, `{ to-yield = \"700 m3\" }` or `{ to-yield = { fill-of = \"wall\" } }`", Required, "", "How far the floor lies below the lowest ground over it, or its elevation; or the water that it is to hold, the bank earth under the topsoil that it is to yield, or the earlier work whose shortage of earth it is to yield, and the depth is solved for that.";
    POND_WATER_LEVEL = "pond", "water-level", "`\"99.10 m\"`", Absent("a freeboard below the lowest place of the rim"), "", "The elevation at which it stands full.";
    POND_FREEBOARD = "pond", "freeboard", "`\"0.3 m\"`", Value("0.3 m"), PRACTICE, "How far below the lowest place of its rim it stands full.";
    POND_RAMP = "pond", "ramp", "a table in braces", Absent("no ramp"), "", "A way down to the floor for stock and people, and out of the water.";
    POND_SHELF = "pond", "shelf", "a table in braces", Absent("no shelf"), "", "A level step in all sides, under water.";
    POND_THROUGH = "pond", "through", "`\"wall\"`", Absent("through no fill"), "", "The work before it in the file whose fill it may be dug through; without it that is refused.";

    BORROW_NAME = "borrow", "name", "`\"pit 1\"`", Required, "", "Its name, unique on the site.";
    BORROW_FLOOR = "borrow", "floor", "a table in braces", Required, "", "The outline of its level floor.";
    BORROW_BATTERS = "borrow", "batters", "`\"2:1\"` or one for each side, as in a pond", Value("2:1"), PRACTICE, "Side slope outside the floor, horizontal to vertical.";
    BORROW_DEPTH = "borrow", "depth", "as in a pond", Required, "", "How deep it is dug, or what it is to yield.";
    BORROW_RAMP = "borrow", "ramp", "a table in braces", Absent("no ramp"), "", "A way down to the floor.";
    BORROW_THROUGH = "borrow", "through", "`\"wall\"`", Absent("through no fill"), "", "The work before it in the file whose fill it may be dug through.";

    FLOOR_AT = "pit.floor", "at", "`[412350.0, 6187220.0]`", Absent("`corners`, `file` or `beside` says the outline"), "", "The middle of a rectangle, easting and northing in the frame's units.";
    FLOOR_LENGTH = "pit.floor", "length", "`\"24 m\"`", Absent("written with `at`"), "", "Length of the rectangle.";
    FLOOR_WIDTH = "pit.floor", "width", "`\"15 m\"`", Absent("written with `at`"), "", "Width of the rectangle.";
    FLOOR_TURNED = "pit.floor", "turned", "`\"30 deg\"`", Value("0 deg"), CHOICE, "Bearing of its length on the grid, clockwise from north. Side 1 is the one at the end that it points to; the others follow anticlockwise.";
    FLOOR_CORNERS = "pit.floor", "corners", "`[[412350.0, 6187220.0], [412370.0, 6187220.0], [412360.0, 6187235.0]]`", Absent("`at` or `file` says the outline"), "", "Its corners in order, either way round; side 1 runs from the first to the second.";
    FLOOR_FILE = "pit.floor", "file", "`\"tank.geojson\"`", Absent("`at` or `corners` says the outline"), "", "A map file with one polygon.";

    FLOOR_BESIDE = "pit.floor", "beside", "`\"gully wall\"`", Absent("`at`, `corners` or `file` says the outline"), "", "The program places the floor: the rectangle beside this earlier work with the shortest haul to its fill, turned and sized to yield what `depth` asks for.";
    FLOOR_WITHIN = "pit.floor", "within", "`\"paddock.geojson\"`", Absent("anywhere on the survey"), "", "A map file with the polygon in which a placed pit lies, rim and all.";
    FLOOR_OBSTACLES = "pit.floor", "obstacles", "`\"trees.geojson\"`", Absent("nothing stands in the way"), "", "A map file with polygons or places that a placed pit keeps clear of.";
    FLOOR_CLEAR = "pit.floor", "clear", "`\"7 m\"`", Absent("the stakes' `offset` and 2 m more, so that its offset stakes stand outside"), PRACTICE, "Kept free between the rim of a placed pit and the toe of the wall, every other work, the water from their spillways, and obstacles.";
    FLOOR_DEEP = "pit.floor", "deep", "`\"1.5 m\"`", Value("1.5 m"), PRACTICE, "About how far below the lowest ground over it the floor of a placed pit is to lie: no deeper than the clay that was proven.";

    RAMP_SIDE = "pit.ramp", "side", "`1`", Absent("1"), CHOICE, "The side of the floor that it goes out through, at its middle, counted from 1.";
    RAMP_SLOPE = "pit.ramp", "slope", "`\"6:1\"`", Value("6:1"), PRACTICE, "Its slope along, horizontal to vertical; stock want 4:1 or flatter.";
    RAMP_WIDTH = "pit.ramp", "width", "`\"4 m\"`", Value("4 m"), PRACTICE, "Its width.";

    SHELF_BELOW = "pond.shelf", "below-water", "`\"0.4 m\"`", Value("0.4 m"), PRACTICE, "How far under the full water level it lies.";
    SHELF_WIDTH = "pond.shelf", "width", "`\"2 m\"`", Value("2 m"), PRACTICE, "Its width.";

    DAM_NAME = "dam", "name", "`\"gully wall\"`", Required, "", "Its name, unique on the site.";
    DAM_AXIS = "dam", "axis", "`{ points = [[412300.0, 6187200.0], [412380.0, 6187230.0]] }`, `{ arc = [...] }` of three places or `{ file = \"wall.geojson\" }`", Required, "", "The middle of its crest: straight from place to place, the arc through three places, or the one line of a map file. It is carried on straight at both ends until natural ground stands at the settled crest.";
    DAM_FULL_SUPPLY = "dam", "full-supply", "`{ elevation = \"431.25 m\" }`, `{ at-shot = \"day1.csv:117\" }` `{ through = [412350.0, 6187220.0] }` or `{ below = { by = \"1.5 m\", at-shot = \"day1.csv:41\" } }`", Required, "", "The elevation at which it stands full.";
    DAM_FLOOD_RISE = "dam", "flood-rise", "`\"0.5 m\"`", Absent("the head of its spillway"), "", "How far the design flood stands above full supply. Without a spillway it must be said; a spillway that needs more is refused.";
    DAM_WAVE = "dam", "wave", "`\"0.2 m\"`", Value("0 m"), CHOICE, "Height of waves above that, where the water is long.";
    DAM_FREEBOARD = "dam", "freeboard", "`\"0.3 m\"`", Value("0.3 m"), "NRCS Code 378, Colorado edition: 1 ft", "Settled crest above flood and waves.";
    DAM_CREST_WIDTH = "dam", "crest-width", "`\"3 m\"`", Absent("by height: 6 ft up to 6 ft (a Wisconsin conservation leaflet), 8, 10, 12 ft up to 15, 20, 25 ft (NRCS Code 378, Colorado edition)"), "", "Width of the crest.";
    DAM_UPSTREAM = "dam", "upstream-batter", "`\"3:1\"`", Value("3:1"), "pond guide of the Kansas Department of Wildlife and Parks", "Side slope on the water side, horizontal to vertical, when it has settled.";
    DAM_DOWNSTREAM = "dam", "downstream-batter", "`\"2.5:1\"`", Value("2.5:1"), "pond guide of the Kansas Department of Wildlife and Parks", "Side slope on the dry side, horizontal to vertical, when it has settled.";
    DAM_CUTOFF = "dam", "cutoff", "a table in braces, or `\"none\"`", Absent("2.5 m wide, 0.6 m deep, 1:1"), "", "The trench of tight fill along the axis and up both abutments.";

    CUTOFF_WIDTH = "dam.cutoff", "width", "`\"2.5 m\"`", Value("2.5 m"), "NRCS Code 378, from memory", "Width of its bottom: wide enough for the machine.";
    CUTOFF_DEPTH = "dam.cutoff", "depth", "`\"0.6 m\"`", Value("0.6 m"), "NRCS Code 378, from memory", "Depth under the stripped seat, into tight ground. What is tight is known when it is dug.";
    CUTOFF_BATTER = "dam.cutoff", "batter", "`\"1:1\"`", Value("1:1"), "NRCS Code 378, from memory", "Side slope of the trench, horizontal to vertical.";

    FALL_NAME = "fall-line", "name", "`\"house drain\"`", Required, "", "Its name, unique on the site.";
    FALL_FROM = "fall-line", "from", "`[412350.0, 6187220.0]` or `\"day1.csv:117\"`", Required, "", "Where it starts: a place, easting and northing in the frame's units, or a shot. It starts at the ground there.";
    FALL_TO = "fall-line", "to", "`[412480.0, 6187190.0]`", Required, "", "Where it is to lead: it takes the side of the slope that comes nearer, and ends where it is nearest.";
    FALL_FALL = "fall-line", "fall", "`\"0.5 %\"`, `\"1 in 200\"` or `[\"0.3 %\", \"1 %\"]`", Required, "", "How it falls along its length; of two the least and the greatest, and the one is found that leads it to its place.";
    FALL_LENGTH = "fall-line", "length", "`\"120 m\"`", Absent("as far as it leads"), "", "Longest in plan.";
    FALL_WITHIN = "fall-line", "within", "`\"paddock.geojson\"`", Absent("anywhere on the survey"), "", "A polygon in which it runs.";
    FALL_BEND_RADIUS = "fall-line", "bend-radius", "`\"5 m\"`", Value("5 m"), PRACTICE, "Tightest bend the machine should dig: an excavator follows 3-5 m, a blade about 12 m.";
    FALL_OBSTACLES = "fall-line", "obstacles", "`\"trees.geojson\"`", Absent("nothing stands in the way"), "", "Polygons or places that must stay, such as trees: the line is led round them and leaves its fall there, which is told.";
    FALL_CLEARANCE = "fall-line", "clearance", "`\"3 m\"`", Value("3 m"), PRACTICE, "What is kept free between the line and an obstacle.";
    FALL_CHANNEL = "fall-line", "channel", "a table", Absent("a line alone; nothing is dug on it"), "", "The channel that is dug along it, so that it is a diversion drain. Its bed falls as the line does.";
    FALL_TOLERANCE = "fall-line", "tolerance", "`\"50 mm\"`", Value("50 mm"), PRACTICE, "Allowed deviation of natural ground on the line from its even fall.";

    CHANNEL_LINE = "fall-line.channel", "line", "`\"downhill-lip\"`, `\"centre\"` or `\"uphill-edge\"`", Value("downhill-lip"), CHOICE, "Which edge of the channel follows the line.";
    CHANNEL_SHAPE = "fall-line.channel", "shape", "`\"trapezoid\"`, `\"triangle\"` or `\"parabola\"`", Value("trapezoid"), CHOICE, "The channel across: a flat bed between two batters, two batters that meet, or a round bowl.";
    CHANNEL_BOTTOM_WIDTH = "fall-line.channel", "bottom-width", "`\"0.6 m\"` or `\"to-carry\"`", Value("0.6 m"), PRACTICE, "Width of the bed, of a trapezoid: said, or the least in steps of 50 mm that carries `flow`.";
    CHANNEL_TOP_WIDTH = "fall-line.channel", "top-width", "`\"2.0 m\"` or `\"to-carry\"`", Value("2.0 m"), PRACTICE, "Width of a parabola at the line's level: said, or the least in steps of 50 mm that carries `flow`.";
    CHANNEL_DEPTH = "fall-line.channel", "depth", "`\"0.4 m\"` or `\"to-carry\"`", Value("0.4 m"), PRACTICE, "Bed (of a triangle or parabola its lowest line) below the line, the same all along: said, or the least in steps of 10 mm that carries `flow`.";
    CHANNEL_UPHILL_BATTER = "fall-line.channel", "uphill-batter", "`\"2:1\"`", Value("2:1"), PRACTICE, "Side slope uphill of the bed, horizontal to vertical; of a parabola above the line's level.";
    CHANNEL_DOWNHILL_BATTER = "fall-line.channel", "downhill-batter", "`\"2:1\"`", Value("2:1"), PRACTICE, "Side slope downhill of the bed; a parabola has none.";
    CHANNEL_BERM = "fall-line.channel", "berm", "`\"all-the-cut\"`, `\"none\"` or `{ height = \"0.4 m\", crest = \"0.6 m\", batter = \"2:1\" }`", Value("all-the-cut"), PRACTICE, "The mound on the downhill side: as high as the dig's own earth makes it, of a settled `height` above the line, or none. Nothing of what the channel carries is counted on it.";
    CHANNEL_LEDGE = "fall-line.channel", "ledge", "`\"0.4 m\"`", Value("0.4 m"), PRACTICE, "Undisturbed strip between the cut and the berm's toe.";
    CHANNEL_FREEBOARD = "fall-line.channel", "freeboard", "`\"0.10 m\"`", Value("0.10 m"), PRACTICE, "What is kept between the water at the design flow and natural ground at the downhill lip.";
    CHANNEL_FLOW = "fall-line.channel", "flow", "`\"0.25 m3/s\"` or `{ for-storm = \"25-year\" }`", Absent("what it can carry is told"), "", "What it is to carry: said, or the peak of a `[[storm]]` on its `catchment`, Q = C i A (rational method).";
    CHANNEL_CATCHMENT = "fall-line.channel", "catchment", "`\"3.2 ha\"`", Absent("with `for-storm`: the surveyed ground that drains to the line"), "", "What drains to it. Ground beyond the survey is only in it when it is said here.";
    CHANNEL_RUNOFF = "fall-line.channel", "runoff-coefficient", "`0.40`", Absent("written with `for-storm`"), "", "Share of the rain that runs off at the peak, C.";
    CHANNEL_COVER = "fall-line.channel", "cover", "`\"bare\"`, `\"bunch-grass\"`, `\"mixed-grass\"`, `\"sod-grass\"` or `\"creeping-grass\"`", Value("mixed-grass"), CHOICE, "What covers it: how rough it is and how fast water may run over it, as for the channel of a spillway. While grass does not stand yet, the same water over bare earth is told.";

    CHANNEL_BERM_HEIGHT = "fall-line.channel.berm", "height", "`\"0.4 m\"`", Absent("as high as the dig's own earth makes it"), "", "Crest above the line when it has settled.";
    CHANNEL_BERM_CREST = "fall-line.channel.berm", "crest", "`\"0.6 m\"`", Value("0.6 m"), PRACTICE, "Width of its crest.";
    CHANNEL_BERM_BATTER = "fall-line.channel.berm", "batter", "`\"2:1\"`", Value("2:1"), PRACTICE, "Side slope of both sides, horizontal to vertical.";

    PIT_NAME = "test-pit", "name", "`\"TP1\"`", Required, "", "Its name, as the plan and the notes have it; unique among test pits.";
    PIT_AT = "test-pit", "at", "`[412350.0, 6187220.0]` or `\"day1.csv:117\"`", Required, "", "Where it was dug: a place, easting and northing in the frame's units, or a shot.";
    PIT_DEPTH = "test-pit", "depth", "`\"1.6 m\"`", Required, "", "How deep it was dug below the ground there.";
    PIT_LAYERS = "test-pit", "layers", "`[{ soil = \"topsoil\", to = \"0.15 m\" }, { soil = \"loam\", to = \"0.9 m\" }, { soil = \"clay\" }]`", Required, "", "What was met, from the top down.";
    PIT_WATER = "test-pit", "water", "`\"1.3 m\"`", Absent("no water stood in it"), "", "Depth at which water stood in it.";
    PIT_ROCK = "test-pit", "rock", "`\"1.6 m\"`", Absent("no rock stopped it"), "", "Depth at which rock stopped it, which is its bottom.";
    PIT_DATE = "test-pit", "date", "`\"2026-03-02\"`", Absent("not said"), "", "The day it was dug: water stands otherwise in another season.";

    LAYER_SOIL = "test-pit.layers", "soil", "`\"topsoil\"`, `\"sand\"`, `\"loam\"`, `\"clay\"`, the name of the soil of `[earth]`, or a table as that one's", Required, "", "What the layer is. Topsoil below the depth that is stripped is no fill.";
    LAYER_TO = "test-pit.layers", "to", "`\"0.9 m\"`", Absent("of the last layer the bottom of the pit; of another it must be written"), "", "Depth of the bottom of the layer.";
    LAYER_RIBBON = "test-pit.layers", "ribbon", "`\"60 mm\"`", Absent("not said"), "", "How long a ribbon its moist soil makes between thumb and finger before it breaks: the longer, the more clay. Carried along, not judged.";
    LAYER_CRUMB = "test-pit.layers", "crumb", "`\"clear\"`, `\"hazy\"`, `\"cloudy\"`", Absent("not said"), "", "How the water looks round a crumb of it that has lain in a cup of still rain water: `cloudy` is soil that disperses, a stop; `hazy` may.";

    UNSTABLE_NAME = "unstable-ground", "name", "`\"old slip\"`", Required, "", "Its name, as the plan and the cautions have it; unique.";
    UNSTABLE_KIND = "unstable-ground", "kind", "`\"slip\"`, `\"spring\"`, `\"soft\"` or `\"filled\"`", Required, "", "What is wrong with it: it slid or creeps, water comes out of it, it is soft, or somebody tipped or filled it.";
    UNSTABLE_AT = "unstable-ground", "at", "`[412350.0, 6187220.0]` or `\"day1.csv:117\"`", Absent("`outline` says where"), "", "Its middle: a place, easting and northing in the frame's units, or a shot.";
    UNSTABLE_RADIUS = "unstable-ground", "radius", "`\"8 m\"`", Absent("written with `at`"), "", "How far it reaches round its middle.";
    UNSTABLE_OUTLINE = "unstable-ground", "outline", "`\"slip.geojson\"`", Absent("`at` and `radius` say where"), "", "A map file with its polygons, or places.";
    UNSTABLE_CLEARANCE = "unstable-ground", "clearance", "`\"20 m\"`", Value("20 m"), CHOICE, "Dig, fill, standing water and the water from a sill that come nearer than this are told. What distance will do is for someone licensed to judge such ground.";

    EARTH_SOIL = "earth", "soil", "`\"loam\"`, `\"sand\"`, `\"clay\"` or `{ name = \"pit 3\", loose-per-bank = 1.25, placed-per-bank = 0.9 }`", Value("loam"), "multiplier table of FM 5-434 (2000), Table 1-1, from memory", "The soil under the topsoil. It is unproven until test pits show it.";
    EARTH_PLACEMENT = "earth", "placement", "`\"tipped\"`, `\"track-walked\"` or `\"layered-rolled\"`", Value("track-walked"), PRACTICE, "How the berm's fill is put down.";
    EARTH_TOPSOIL = "earth", "topsoil-depth", "`\"0.10 m\"`", Value("0.10 m"), PRACTICE, "Depth of topsoil, stripped from cut and seat and never used as fill.";
    EARTH_SETTLEMENT = "earth", "settlement", "`\"12 %\"`", Absent("by placement: tipped 20 %, track-walked 12 % (common practice, no source), layered-rolled 5 % (NRCS Code 378, from memory)"), "", "Height that the fill loses, as a share of its settled height.";

    EARTH_PIT_REACH = "earth", "test-pit-reach", "`\"25 m\"`", Value("25 m"), CHOICE, "How far from where it was dug a test pit speaks for the ground.";

    SOIL_NAME = "earth.soil", "name", "`\"pit 3\"`", Value("own factors"), CHOICE, "The soil's name for people.";
    SOIL_LOOSE = "earth.soil", "loose-per-bank", "`1.25`", Required, "", "Loose cubic metres from one bank cubic metre.";
    SOIL_PLACED = "earth.soil", "placed-per-bank", "`0.90`", Required, "", "Placed cubic metres from one bank cubic metre, in the placement class asked for.";

    STAKES_INTERVAL = "stakes", "interval", "`\"20 m\"`", Value("20 m"), PRACTICE, "Distance between stakes along the line.";
    STAKES_BEND_INTERVAL = "stakes", "bend-interval", "`\"10 m\"`", Value("10 m"), PRACTICE, "Distance between stakes where the line bends.";
    STAKES_SILL_INTERVAL = "stakes", "sill-interval", "`\"2 m\"`", Value("2 m"), PRACTICE, "Distance between stakes along a sill; both its ends are always staked.";
    STAKES_OFFSET = "stakes", "offset", "`\"5 m\"`", Value("5 m"), PRACTICE, "Distance of the offset stakes uphill of the line, one round number for the whole run. Where it is not said, a work whose dig it does not clear by `clearance` has the least whole metre (whole 5 ft) that does, which is told.";
    STAKES_SIDES = "stakes", "sides", "`\"work-towards\"` or `\"work-away\"`", Value("work-towards"), CHOICE, "Which side of a stake says what to do: the one that faces the works, or the other.";
    STAKES_BEND_RADIUS = "stakes", "bend-radius", "`\"30 m\"`", Value("30 m"), PRACTICE, "A stretch of line with a lesser radius is a bend.";
    STAKES_CLEARANCE = "stakes", "clearance", "`\"1 m\"`", Value("1 m"), PRACTICE, "An offset stake nearer than this to the cut's edge is warned of.";
    STAKES_AS_BUILT_SILL = "stakes", "as-built-sill", "`\"1 m\"`", Value("1 m"), PRACTICE, "Distance between as-built shots along a sill.";
    STAKES_AS_BUILT_INTERVAL = "stakes", "as-built-interval", "`\"10 m\"`", Value("10 m"), PRACTICE, "Distance between as-built shots along crest and bed.";
    STAKES_AS_BUILT_SECTION = "stakes", "as-built-section", "`\"50 m\"`", Value("50 m"), PRACTICE, "Distance between as-built cross sections.";

    ASBUILT_FILES = "asbuilt", "files", "`[\"asbuilt.csv\"]`", Required, "", "Point files of the shots taken after the dig, and level books, written as in `[survey] shots`.";
    ASBUILT_SILL = "asbuilt", "sill", "`\"15 mm\"`", Absent("the lesser of 15 mm and 10 % of the design head (common practice, no source)"), "", "Allowed difference of a sill, both ways.";
    ASBUILT_CREST_BELOW = "asbuilt", "crest-below", "`\"0 mm\"`", Value("0 mm"), PRACTICE, "How far the crest may lie below what is to be built.";
    ASBUILT_CREST_ABOVE = "asbuilt", "crest-above", "`\"200 mm\"`", Value("200 mm"), PRACTICE, "How far the crest may lie above what is to be built.";
    ASBUILT_BED = "asbuilt", "bed", "`\"50 mm\"`", Value("50 mm"), PRACTICE, "Allowed difference of a bed, both ways.";
    ASBUILT_OTHER = "asbuilt", "other", "`\"100 mm\"`", Value("100 mm"), PRACTICE, "Allowed difference of batters and everything else, both ways.";
    ASBUILT_SHOT_SIGMA = "asbuilt", "shot-sigma", "`\"20 mm\"`", Value("20 mm"), "NGS single-base guidelines give 2-4 cm at 95 % for their best class, from memory", "Standard deviation of an as-built elevation where its file gives none.";
    ASBUILT_STAFF_SIGMA = "asbuilt", "staff-sigma", "`\"2 mm\"`", Value("2 mm"), PRACTICE, "Standard deviation of one staff reading of a level book.";
    ASBUILT_ROUGHNESS = "asbuilt", "roughness", "`\"5 mm\"`", Value("5 mm"), PRACTICE, "What the built surface adds under the pole, one standard deviation.";
    ASBUILT_REACH = "asbuilt", "reach", "`\"3 m\"`", Value("3 m"), PRACTICE, "Greatest distance of a coded shot from the part that its code names.";
    ASBUILT_CHECK_LIMIT = "asbuilt", "check-limit", "`\"60 mm\"`", Value("60 mm"), PRACTICE, "How far a check shot may miss its mark in elevation before its file is doubted.";
}

/// The keys of one table, in the order declared.
pub fn of_table(table: &str) -> impl Iterator<Item = &'static Key> + '_ {
    KEYS.iter().filter(move |key| key.table == table)
}
