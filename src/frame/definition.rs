//! What PROJ knows of a frame: name, unit, axes, area of use, read from the definition that PROJ gives as JSON.
//!
//! Invariant: a [`FrameDefinition`] is either a site grid or a projected system whose axes run east and north in
//! metres, feet or US survey feet, both axes in one unit.
//! Source: PROJJSON schema 0.7 (proj.org/schemas), OGC 18-010r7 for the terms.

use super::{Ellipsoid, FrameError, HEIGHT_NOT_SAID, SiteFrame};
use crate::units::LengthUnit;
use proj::Proj;
use serde_json::Value;

/// The box in which a frame is meant to be used, degrees.
#[derive(Debug, Clone, PartialEq)]
pub struct AreaOfUse {
    /// Western edge; greater than `east` when the area crosses 180 degrees.
    pub west: f64,
    /// Southern edge.
    pub south: f64,
    /// Eastern edge.
    pub east: f64,
    /// Northern edge.
    pub north: f64,
    /// The area in words.
    pub name: String,
}

impl AreaOfUse {
    /// True when the place lies in the box, with a margin in degrees around it.
    #[must_use]
    pub fn contains(&self, longitude: f64, latitude: f64, margin: f64) -> bool {
        let in_longitude = if self.west <= self.east {
            (self.west - margin..=self.east + margin).contains(&longitude)
        } else {
            longitude >= self.west - margin || longitude <= self.east + margin
        };
        in_longitude && (self.south - margin..=self.north + margin).contains(&latitude)
    }

    /// The middle of the box.
    #[must_use]
    pub fn middle(&self) -> (f64, f64) {
        let longitude = if self.west <= self.east { f64::midpoint(self.west, self.east) } else { 180.0 };
        (longitude, f64::midpoint(self.south, self.north))
    }
}

/// A frame that a site can stand in.
#[derive(Debug, Clone, PartialEq)]
pub struct FrameDefinition {
    /// How it is named in the pipeline file and in every output: a code such as `EPSG:32755` where it has one.
    pub crs: String,
    /// Its name for people.
    pub name: String,
    /// Authority and code, such as `("EPSG", "32755")`; `None` without.
    pub id: Option<(String, String)>,
    /// The unit of its coordinates.
    pub unit: LengthUnit,
    /// What the elevations are above, when the definition says so.
    pub height: Option<String>,
    /// Where it may be used; `None` when it does not say.
    pub area: Option<AreaOfUse>,
    /// Its datum's name; `None` for a site grid.
    pub datum: Option<String>,
    /// The ellipsoid under it; `None` for a site grid.
    pub ellipsoid: Option<Ellipsoid>,
    /// Its definition as WKT 2 (ISO 19162:2019); `None` for a site grid.
    pub wkt: Option<String>,
    /// True when PROJ gives the northing first.
    pub(super) northing_first: bool,
    /// The geographic system under it, as PROJ reads it; `None` for a site grid.
    pub(super) base: Option<String>,
    /// True when its datum is a registered one, so that PROJ can know a way to others.
    pub(super) datum_known: bool,
}

impl FrameDefinition {
    /// A site grid in this unit, tied to nothing.
    #[must_use]
    pub fn local(unit: LengthUnit) -> Self {
        Self {
            crs: "local".to_owned(),
            name: "site grid".to_owned(),
            id: None,
            unit,
            height: None,
            area: None,
            datum: None,
            ellipsoid: None,
            wkt: None,
            northing_first: false,
            base: None,
            datum_known: false,
        }
    }

    /// The site frame around a place in it (easting and northing in the frame's unit), with what the elevations are
    /// above in the user's words.
    #[must_use]
    pub fn site_frame(&self, near: (f64, f64), height: Option<&str>) -> SiteFrame {
        let height = height.or(self.height.as_deref()).unwrap_or(HEIGHT_NOT_SAID);
        SiteFrame {
            crs: self.crs.clone(),
            name: self.name.clone(),
            height: height.to_owned(),
            unit: self.unit,
            origin: SiteFrame::origin_near(near.0 * self.unit.metres(), near.1 * self.unit.metres()),
            combined_factor: 1.0,
        }
    }

    /// The EPSG code; `None` when it has none.
    #[must_use]
    pub fn epsg(&self) -> Option<u32> {
        self.id.as_ref().filter(|(authority, _)| authority == "EPSG").and_then(|(_, code)| code.parse().ok())
    }
}

/// Finds a frame by its code, name, WKT or PROJ definition; `local` is a site grid in metres (see
/// [`FrameDefinition::local`] for feet). A compound system gives its horizontal part, and its height's name.
///
/// # Errors
/// [`FrameError`] when PROJ does not know it, or when it is no system with an easting and a northing in metres, feet or
/// US survey feet.
pub fn resolve(crs: &str) -> Result<FrameDefinition, FrameError> {
    if crs.trim() == "local" {
        return Ok(FrameDefinition::local(LengthUnit::Metres));
    }
    resolve_known(crs).map(|(definition, _)| definition)
}

/// The definition with the system that PROJ opened for it: opening one reads the database, so it is not done twice.
pub(super) fn resolve_known(crs: &str) -> Result<(FrameDefinition, Proj), FrameError> {
    let asked = crs.trim();
    let Known { json, system } = look_up(asked)?;
    let found = || short(asked);
    match json["type"].as_str().unwrap_or_default() {
        "ProjectedCRS" => Ok((projected(asked, &json, None, &system)?, system)),
        "CompoundCRS" => {
            let part = |kind: &str| {
                json["components"].as_array().and_then(|parts| parts.iter().find(|part| part["type"] == kind))
            };
            let (Some(horizontal), Some(vertical)) = (part("ProjectedCRS"), part("VerticalCRS")) else {
                let kind = "compound without a projected part".to_owned();
                return Err(FrameError::NotProjected { found: found(), kind });
            };
            // Inside a compound the part carries no area of use, so it is looked up again by its own code.
            let Known { json: own, system } = look_up(&code_of(horizontal).unwrap_or_else(|| horizontal.to_string()))?;
            Ok((projected(asked, &own, Some(vertical), &system)?, system))
        }
        "GeographicCRS" => Err(FrameError::Geographic { found: found(), name: text(&json["name"]) }),
        "" => Err(FrameError::Unknown { found: found() }),
        other => Err(FrameError::NotProjected { found: found(), kind: plain(other).to_owned() }),
    }
}

/// A system that PROJ knows, and what it says of it.
pub(super) struct Known {
    pub(super) json: Value,
    pub(super) system: Proj,
}

pub(super) fn look_up(crs: &str) -> Result<Known, FrameError> {
    let unknown = || FrameError::Unknown { found: short(crs) };
    let crs = complete(crs);
    if crs.is_empty() || crs.contains('\0') {
        return Err(unknown());
    }
    let system = Proj::new(&crs).map_err(|_| unknown())?;
    let json = system.to_projjson(Some(false), None, None).map_err(|_| unknown())?;
    Ok(Known { json: serde_json::from_str(&json).map_err(|_| unknown())?, system })
}

/// A PROJ definition is an operation unless it says that it is a system.
pub(super) fn complete(crs: &str) -> String {
    let crs = crs.trim();
    let operation = crs.starts_with('+') && !crs.contains("+type=crs");
    if operation { format!("{crs} +type=crs") } else { crs.to_owned() }
}

fn projected(
    asked: &str,
    json: &Value,
    vertical: Option<&Value>,
    system: &Proj,
) -> Result<FrameDefinition, FrameError> {
    let found = || short(asked);
    let crs = code_of(json).unwrap_or_else(|| if vertical.is_some() { json.to_string() } else { asked.to_owned() });
    let axes: Vec<&Value> =
        json["coordinate_system"]["axis"].as_array().map(|a| a.iter().collect()).unwrap_or_default();
    let directions: Vec<&str> = axes.iter().map(|axis| axis["direction"].as_str().unwrap_or("nowhere")).collect();
    let northing_first = match directions[..] {
        ["east", "north"] => false,
        ["north", "east"] => true,
        _ => return Err(FrameError::Axes { found: found(), axes: directions.join(" and ") }),
    };
    let unit = unit_of(&axes[0]["unit"]).map_err(|unit| FrameError::Unit { found: found(), unit })?;
    let mut height = None;
    if let Some(vertical) = vertical {
        let unit_up = unit_of(&vertical["coordinate_system"]["axis"][0]["unit"])
            .map_err(|unit| FrameError::Unit { found: found(), unit })?;
        if unit_up != unit {
            return Err(FrameError::MixedUnits { found: found(), horizontal: unit.name(), vertical: unit_up.name() });
        }
        height = Some(text(&vertical["name"]));
    }
    let area = system.area_of_use().ok().and_then(|(area, name)| {
        let name = name.unwrap_or_else(|| "as its definition says".to_owned());
        area.map(|a| AreaOfUse { west: a.west, south: a.south, east: a.east, north: a.north, name })
    });
    let base = &json["base_crs"];
    let datum = if base["datum"].is_object() { &base["datum"] } else { &base["datum_ensemble"] };
    let name = text(&json["name"]);
    Ok(FrameDefinition {
        name: if name.is_empty() || name == "unknown" { short(asked) } else { name },
        id: id_of(json),
        unit,
        height,
        area,
        datum: Some(text(&datum["name"])),
        ellipsoid: ellipsoid_of(&datum["ellipsoid"]),
        wkt: system.as_wkt(None, None).ok(),
        northing_first,
        base: Some(code_of(base).unwrap_or_else(|| base.to_string())),
        datum_known: id_of(base).is_some() || id_of(datum).is_some(),
        crs,
    })
}

/// PROJJSON gives a unit as a name, or as an object with its size in metres.
fn unit_of(unit: &Value) -> Result<LengthUnit, String> {
    let name = unit.as_str().map_or_else(|| text(&unit["name"]), str::to_owned);
    let metres = unit["conversion_factor"].as_f64().or((name == "metre").then_some(1.0));
    // Foot and US survey foot are 2 millionths apart; definitions print 12 digits or more.
    [LengthUnit::Metres, LengthUnit::Feet, LengthUnit::UsSurveyFeet]
        .into_iter()
        .find(|ours| metres.is_some_and(|metres| (metres / ours.metres() - 1.0).abs() < 1e-9))
        .ok_or(name)
}

/// PROJJSON gives a semi-major axis with the inverse flattening or the semi-minor axis, in metres, or one radius.
fn ellipsoid_of(json: &Value) -> Option<Ellipsoid> {
    let number = |name: &str| json[name].as_f64().or_else(|| json[name]["value"].as_f64());
    if let Some(radius) = number("radius") {
        return Some(Ellipsoid { semi_major: radius, flattening: 0.0 });
    }
    let semi_major = number("semi_major_axis")?;
    let inverse = number("inverse_flattening").map(f64::recip);
    let flattening = inverse.or_else(|| number("semi_minor_axis").map(|minor| 1.0 - minor / semi_major))?;
    Some(Ellipsoid { semi_major, flattening })
}

fn id_of(json: &Value) -> Option<(String, String)> {
    let id = &json["id"];
    let code = id["code"].as_u64().map(|code| code.to_string()).or_else(|| id["code"].as_str().map(str::to_owned));
    Some((id["authority"].as_str()?.to_owned(), code?))
}

fn code_of(json: &Value) -> Option<String> {
    id_of(json).map(|(authority, code)| format!("{authority}:{code}"))
}

fn text(json: &Value) -> String {
    json.as_str().unwrap_or_default().to_owned()
}

fn plain(kind: &str) -> &'static str {
    match kind {
        "GeodeticCRS" => "geocentric system",
        "VerticalCRS" => "height system",
        "EngineeringCRS" => "engineering system",
        "BoundCRS" => "system bound to a transformation",
        "DerivedProjectedCRS" => "derived projected system",
        _ => "definition without an easting and a northing",
    }
}

/// Long definitions are cut in messages.
pub(super) fn short(crs: &str) -> String {
    let mut characters = crs.trim().chars();
    let head: String = characters.by_ref().take(60).collect();
    if characters.next().is_some() { format!("{head}...") } else { head }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_names_and_areas_come_from_the_definition() {
        let of = |crs: &str| resolve(crs).unwrap();
        assert_eq!(of("EPSG:32755").name, "WGS 84 / UTM zone 55S");
        assert_eq!(of("EPSG:32755").unit, LengthUnit::Metres);
        assert_eq!(of("EPSG:32755").epsg(), Some(32755));
        let area = of("EPSG:32755").area.unwrap();
        assert_eq!((area.west, area.south, area.east, area.north), (144.0, -80.0, 150.0, 0.0));
        assert_eq!(of("EPSG:2921").unit, LengthUnit::Feet);
        assert_eq!(of("EPSG:3568").unit, LengthUnit::UsSurveyFeet);
        assert_eq!(of(" EPSG:2154 ").crs, "EPSG:2154");
        assert!(of("EPSG:2154").wkt.unwrap().starts_with("PROJCRS[\"RGF93"));
    }

    #[test]
    fn names_and_definitions_resolve_to_the_code() {
        assert_eq!(resolve("WGS 84 / UTM zone 55S").unwrap().crs, "EPSG:32755");
        let wkt = resolve("EPSG:32755").unwrap().wkt.unwrap();
        assert_eq!(resolve(&wkt).unwrap().crs, "EPSG:32755");
        let own = resolve("+proj=utm +zone=32 +ellps=GRS80 +units=us-ft").unwrap();
        assert_eq!((own.unit, own.id, own.area), (LengthUnit::UsSurveyFeet, None, None));
    }

    #[test]
    fn a_compound_system_gives_its_horizontal_part_and_its_height() {
        let both = resolve("EPSG:25832+7837").unwrap();
        assert_eq!(both.crs, "EPSG:25832");
        assert_eq!(both.height.as_deref(), Some("DHHN2016 height"));
        assert!(both.area.is_some());
        assert_eq!(both.site_frame((300_000.0, 5_744_000.0), Some("mark M1 = 100")).height, "mark M1 = 100");
        // NAD83 / Texas South Central in US survey feet with NAVD88 height in metres.
        assert!(matches!(resolve("EPSG:2278+5703"), Err(FrameError::MixedUnits { .. })));
    }

    #[test]
    fn what_cannot_be_a_site_frame_is_refused_with_advice() {
        let told = |crs: &str| resolve(crs).unwrap_err().to_string();
        assert!(told("EPSG:99999").contains("unknown frame `EPSG:99999`"), "{}", told("EPSG:99999"));
        assert!(told("").contains("accepted are"), "{}", told(""));
        assert!(told("nul\0byte").contains("unknown frame"));
        assert!(told("EPSG:4326").contains("geographic system in degrees"), "{}", told("EPSG:4326"));
        assert!(told("EPSG:4978").contains("geocentric"), "{}", told("EPSG:4978"));
        assert!(told("EPSG:5703").contains("height system"), "{}", told("EPSG:5703"));
        assert!(told("EPSG:2048").contains("west and south"), "{}", told("EPSG:2048"));
        // Clarke's foot, 0.3047972654 m: one of the many feet that are none of ours.
        assert!(told("EPSG:2314").contains("Clarke's foot"), "{}", told("EPSG:2314"));
    }

    #[test]
    fn a_site_grid_needs_nothing() {
        let frame = FrameDefinition::local(LengthUnit::Feet).site_frame((5000.0, 10000.0), None);
        assert!(frame.is_local());
        assert_eq!(frame.to_frame(frame.to_local(5000.0, 10000.0)), (5000.0, 10000.0));
    }

    #[test]
    fn an_area_across_the_date_line() {
        let area = AreaOfUse { west: 174.0, south: -50.0, east: -174.0, north: -30.0, name: String::new() };
        assert!(area.contains(179.0, -40.0, 0.0) && area.contains(-179.0, -40.0, 0.0));
        assert!(!area.contains(0.0, -40.0, 0.0));
        assert_eq!(area.middle(), (180.0, -40.0));
    }
}
