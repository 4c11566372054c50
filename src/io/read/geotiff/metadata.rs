//! The metadata of a raster that stands in it as a small XML document: scale, unit and description of each channel.

use quick_xml::Reader;
use quick_xml::events::Event;

/// One item.
#[derive(Debug, Clone, PartialEq, Default)]
pub(in crate::io::read) struct Item {
    pub(in crate::io::read) name: String,
    pub(in crate::io::read) role: String,
    pub(in crate::io::read) sample: Option<usize>,
    pub(in crate::io::read) text: String,
}

pub(super) fn items(xml: &str) -> Result<Vec<Item>, String> {
    let mut reader = Reader::from_str(xml.trim_end_matches('\0'));
    let mut items = Vec::new();
    let mut open: Option<Item> = None;
    loop {
        match reader.read_event().map_err(|error| format!("its metadata cannot be read: {error}"))? {
            Event::Start(tag) if tag.name().as_ref() == "Item" => {
                let mut item = Item::default();
                for attribute in tag.attributes().flatten() {
                    let value = attribute.value.to_string();
                    match attribute.key.as_ref() {
                        "name" => item.name = value,
                        "role" => item.role = value,
                        "sample" => item.sample = value.parse().ok(),
                        _ => {}
                    }
                }
                open = Some(item);
            }
            Event::Text(text) => {
                if let Some(item) = &mut open {
                    item.text.push_str(&text);
                }
            }
            Event::End(tag) if tag.name().as_ref() == "Item" => items.extend(open.take()),
            Event::Eof => return Ok(items),
            _ => {}
        }
    }
}
