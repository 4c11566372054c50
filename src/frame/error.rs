//! Why a frame cannot be used, or a place cannot be brought into it.

/// Why a frame cannot be used, or a place cannot be brought into it.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FrameError {
    /// PROJ does not know the text.
    #[error(
        "unknown frame `{found}`: accepted are a projected system by its code such as `EPSG:32755`, its name, a WKT or \
         PROJ definition, or `local` for a site grid"
    )]
    Unknown {
        /// The text as found.
        found: String,
    },
    /// Longitude and latitude are no frame to measure metres in.
    #[error(
        "`{found}` ({name}) is a geographic system in degrees: a site needs a projected one, such as the UTM zone it lies \
         in (EPSG:326nn north, EPSG:327nn south of the equator) or the national grid"
    )]
    Geographic {
        /// The text as found.
        found: String,
        /// Its name.
        name: String,
    },
    /// Known to PROJ, but neither projected nor a compound of a projected system and a height.
    #[error("`{found}` is a {kind}: a site needs a projected system (easting and northing) or `local`")]
    NotProjected {
        /// The text as found.
        found: String,
        /// What it is.
        kind: String,
    },
    /// Its axes do not run east and north.
    #[error("the axes of `{found}` point {axes}: accepted are systems with an easting and a northing")]
    Axes {
        /// The text as found.
        found: String,
        /// Where its axes point.
        axes: String,
    },
    /// Its unit is none of ours.
    #[error("the unit of `{found}` is {unit}: accepted are metre, foot and US survey foot")]
    Unit {
        /// The text as found.
        found: String,
        /// Its unit.
        unit: String,
    },
    /// Its elevations are in another unit than its coordinates.
    #[error("`{found}` has coordinates in {horizontal} and elevations in {vertical}: both must be in one unit")]
    MixedUnits {
        /// The text as found.
        found: String,
        /// Unit of the coordinates.
        horizontal: &'static str,
        /// Unit of the elevations.
        vertical: &'static str,
    },
    /// A site grid has no tie to the earth.
    #[error("a `local` site grid has no longitude and latitude: give the site a projected frame to use them")]
    Local,
    /// No trusted way between the two datums.
    #[error(
        "no trusted way is known from `{from}` to `{to}`: only an approximate one, which can be wrong by hundreds of \
         metres"
    )]
    NoTrustedWay {
        /// From this system.
        from: String,
        /// To this system.
        to: String,
    },
    /// The place lies where the frame is not meant to be used.
    #[error(
        "longitude {longitude:.5}, latitude {latitude:.5} lies outside the area of use of {frame}: {area} \
         ({west} to {east} degrees east, {south} to {north} degrees north)"
    )]
    OutsideArea {
        /// The frame's name.
        frame: String,
        /// Degrees east.
        longitude: f64,
        /// Degrees north.
        latitude: f64,
        /// The area in words.
        area: String,
        /// Western edge, degrees.
        west: f64,
        /// Southern edge, degrees.
        south: f64,
        /// Eastern edge, degrees.
        east: f64,
        /// Northern edge, degrees.
        north: f64,
    },
    /// A longitude or latitude that cannot be one.
    #[error(
        "longitude {longitude}, latitude {latitude} is no place on earth: accepted are -180 to 180 and -90 to 90 degrees"
    )]
    NotOnEarth {
        /// As found.
        longitude: f64,
        /// As found.
        latitude: f64,
    },
    /// A coordinate that is not a number, or that PROJ cannot convert.
    #[error("the place {first}, {second} cannot be converted by {frame}: {why}")]
    NotConverted {
        /// The frame's name.
        frame: String,
        /// Easting or longitude.
        first: f64,
        /// Northing or latitude.
        second: f64,
        /// What went wrong.
        why: String,
    },
    /// A geoid grid that gives no height at a place.
    #[error("the geoid grid {grid} gives no height at longitude {longitude:.5}, latitude {latitude:.5}: {why}")]
    Geoid {
        /// The grid.
        grid: String,
        /// Degrees east.
        longitude: f64,
        /// Degrees north.
        latitude: f64,
        /// Why.
        why: String,
    },
}

impl FrameError {
    /// Stable name of the fault, for programs to recognise.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Unknown { .. } => "frame::unknown",
            Self::Geographic { .. } => "frame::geographic",
            Self::NotProjected { .. } => "frame::not-projected",
            Self::Axes { .. } => "frame::axes",
            Self::Unit { .. } => "frame::unit",
            Self::MixedUnits { .. } => "frame::mixed-units",
            Self::Local => "frame::local",
            Self::NoTrustedWay { .. } => "frame::no-trusted-way",
            Self::OutsideArea { .. } => "frame::outside-area",
            Self::NotOnEarth { .. } => "frame::not-on-earth",
            Self::NotConverted { .. } => "frame::not-converted",
            Self::Geoid { .. } => "frame::geoid",
        }
    }
}
