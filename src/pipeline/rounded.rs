//! Numbers as JSON tells them.
//!
//! Invariant: to a millionth (a micrometre, a square millimetre), so that the last bits of a sum do not show; never minus
//! zero. One rule for every file of a run and every answer of a command.

use serde_json::Value as Json;

/// A number for JSON; null when it is not finite.
pub(super) fn number(value: f64) -> Json {
    let rounded = (value * 1e6).round() / 1e6;
    serde_json::Number::from_f64(if rounded == 0.0 { 0.0 } else { rounded }).map_or(Json::Null, Json::Number)
}

/// The same object with every number that is not whole rounded.
#[must_use]
pub fn rounded(value: Json) -> Json {
    match value {
        Json::Number(found) if found.is_f64() => found.as_f64().map_or(Json::Null, number),
        Json::Array(items) => items.into_iter().map(rounded).collect(),
        Json::Object(keys) => Json::Object(keys.into_iter().map(|(key, value)| (key, rounded(value))).collect()),
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn numbers_are_plain() {
        assert_eq!(number(0.1 + 0.2).to_string(), "0.3");
        assert_eq!(number(-1e-9).to_string(), "0.0");
        assert!(number(f64::NAN).is_null());
    }

    #[test]
    fn every_number_of_an_object_is_rounded() {
        let long =
            json!({ "a_m": 0.1 + 0.2, "list": [1, 1.234_567_891, { "b_m": -1e-9 }], "text": "0.30000000000000004" });
        let short = json!({ "a_m": 0.3, "list": [1, 1.234_568, { "b_m": 0.0 }], "text": "0.30000000000000004" });
        assert_eq!(rounded(long), short);
    }
}
