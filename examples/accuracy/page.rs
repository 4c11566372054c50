//! The page `docs/accuracy.md`: each section's table stands between two marks and nothing else is touched.

/// The page with a section's table put anew, and the command that made it.
pub(crate) fn replaced(page: &str, section: &str, table: &str) -> Result<String, String> {
    let (start, end) = (format!("<!-- {section}: measured -->"), format!("<!-- {section}: end -->"));
    let missing = |mark: &str| format!("docs/accuracy.md has no mark `{mark}`");
    let from = page.find(&start).ok_or_else(|| missing(&start))? + start.len();
    let to = from + page[from..].find(&end).ok_or_else(|| missing(&end))?;
    let body = format!("\n{}\n\nOn {}.\n", table.trim(), machine());
    Ok(format!("{}{body}{}", &page[..from], &page[to..]))
}

/// The machine in a few words, with what is known of it.
fn machine() -> String {
    let information = std::fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let model = information
        .lines()
        .find(|line| line.starts_with("model name"))
        .and_then(|line| line.split(':').nth(1))
        .map_or("a processor that does not tell its name", str::trim);
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let profile = if cfg!(debug_assertions) { "dev" } else { "release" };
    format!("{model}, {cores} cores, {} {}, {profile} profile", std::env::consts::OS, std::env::consts::ARCH)
}
