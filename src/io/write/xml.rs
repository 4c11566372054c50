//! What XML cannot hold.

use std::borrow::Cow;

/// The text without the control characters that XML 1.0 forbids, each shown as a replacement character: field codes are
/// data and may hold anything.
pub(super) fn clean(text: &str) -> Cow<'_, str> {
    let forbidden =
        |c: char| (c.is_control() && !matches!(c, '\t' | '\n' | '\r')) || matches!(c, '\u{fffe}' | '\u{ffff}');
    if text.contains(forbidden) { Cow::Owned(text.replace(forbidden, "\u{fffd}")) } else { Cow::Borrowed(text) }
}
