//! The dig sheet as a whole: what must stand on it and what never may.

use super::*;
use crate::draw::hillside::{Hillside, METRIC, hillside};
use crate::notes::Note;
use crate::units::{Length, ReadingUnits};

fn input<'a>(site: &'a Hillside, figures: Figures, region: Region, notes: &'a [Note]) -> DigSheetInput<'a> {
    DigSheetInput {
        site: "Kestrel Flat",
        date: "2025-03-14",
        issue: 2,
        replaces: Some("issue 1 of 2025-03-02"),
        region,
        figures,
        stake_sides: StakeSides::default(),
        ground: &site.ground,
        survey: &site.survey,
        plan: &site.plan,
        quantities: &site.quantities,
        stakes: &site.stakes,
        roughness: Length::metres(0.025),
        notes,
    }
}

#[test]
#[ignore = "writes files to look at"]
fn write_samples() {
    for (name, length, figures, region) in [
        ("short-au", 110.0, METRIC, Region::Au),
        ("long-neutral", 320.0, METRIC, Region::Neutral),
        ("feet-us", 110.0, Figures { units: ReadingUnits::Feet, feet: FeetStyle::Tenths }, Region::Us),
        ("inches-us", 110.0, Figures { units: ReadingUnits::Feet, feet: FeetStyle::FeetAndInches }, Region::Us),
    ] {
        let site = hillside(length);
        let notes = [Note::new("survey::not-checked", "the survey is not checked")];
        let text = dig_sheet(&input(&site, figures, region, &notes));
        let folder = std::env::temp_dir().join("dig-sheets");
        std::fs::create_dir_all(&folder).expect("a folder");
        std::fs::write(folder.join(format!("{name}.html")), text).expect("a file");
        let look = crate::draw::survey_plan(
            &site.survey,
            &[crate::geom::Point::new(55.0, 33.0)],
            Some(&site.ground.tin),
            figures,
        );
        std::fs::write(folder.join(format!("{name}-survey.svg")), crate::draw::svg(&look)).expect("a file");
    }
}
