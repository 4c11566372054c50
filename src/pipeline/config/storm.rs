//! `[[storm]]`: a storm as the user states it, and the sills and channels that are sized for one.

use super::channel::FlowAsked;
use super::fall_line::FallLineAsked;
use super::fault::{Fault, Gathered, Located};
use super::keys;
use super::spillway::{SillAsked, SpillwayAsked};
use super::walk::Table;
use crate::units::{RainRate, parse_rain_rate};

/// A storm as the file states it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct StormAsked {
    /// Its name, such as `25-year`.
    pub name: Located<String>,
    /// Mean intensity of its rain.
    pub intensity: RainRate,
}

pub(super) fn read(table: &Table<'_>) -> Option<StormAsked> {
    let name = table.text(&keys::STORM_NAME);
    let intensity = table.above_zero(&keys::STORM_INTENSITY, parse_rain_rate);
    Some(StormAsked { name: name?, intensity: intensity? })
}

/// Every storm has a name of its own, and every sill and channel that is sized for one finds it.
pub(super) fn join(
    storms: &[StormAsked],
    spillways: &mut [SpillwayAsked],
    fall_lines: &mut [FallLineAsked],
    sound: bool,
    faults: &Gathered,
) {
    for (index, storm) in storms.iter().enumerate() {
        if let Some(first) = storms[..index].iter().find(|other| other.name.value == storm.name.value) {
            faults.add(
                Fault::new(
                    "pipeline::name-twice",
                    storm.name.span.clone().unwrap_or_default(),
                    format!("two storms are named `{}`", storm.name.value),
                )
                .beside(first.name.span.clone().unwrap_or_default(), "the first one"),
            );
        }
    }
    let sills = spillways.iter_mut().filter_map(|spillway| match &mut spillway.sill {
        SillAsked::ForStorm { storm, intensity, .. } => Some((storm, intensity)),
        SillAsked::Length(_) | SillAsked::ForFlow(_) => None,
    });
    let channels = fall_lines.iter_mut().filter_map(|line| match line.channel.as_mut()?.flow.as_mut()? {
        FlowAsked::Storm { storm, intensity, .. } => Some((storm, intensity)),
        FlowAsked::Flow(_) => None,
    });
    for (storm, intensity) in sills.chain(channels) {
        match storms.iter().find(|stated| stated.name.value == storm.value) {
            Some(stated) => *intensity = stated.intensity,
            None if sound => {
                let names: Vec<&str> = storms.iter().map(|stated| stated.name.value.as_str()).collect();
                let help = if names.is_empty() {
                    "state it: [[storm]] with its name and its intensity, such as \"80 mm/h\"".to_owned()
                } else {
                    format!("storms of this file: {}", names.join(", "))
                };
                faults.add(
                    Fault::new(
                        "pipeline::unknown-storm",
                        storm.span.clone().unwrap_or_default(),
                        format!("no storm is named `{}`", storm.value),
                    )
                    .help(help),
                );
            }
            None => {}
        }
    }
}
