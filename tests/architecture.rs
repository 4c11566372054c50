//! The house rules that a compiler does not hold: layers, file heads, where files and terminals may be touched, sources.
//!
//! The rules run over a tree of files given as data, so that each is also tried on a small bad tree and must catch it.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use swalewright::sources;

/// A layer may import only layers above it in this list. A layer that has no room yet stands here all the same.
const LAYERS: &[&str] = &[
    "units", "sources", "notes", "geom", "stats", "frame", "soil", "survey", "surface", "ground", "water", "works",
    "earth", "storm", "places", "haul", "stakeout", "asbuilt", "lessons", "draw", "sheet", "io", "pipeline", "bin",
];

/// Lines that a file of product code may have, its own `mod tests` not counted.
const LONGEST_FILE: usize = 600;

/// Layers that may touch files. The pipeline reads what it was pointed at and keeps its cache.
const MAY_TOUCH_FILES: &[&str] = &["io", "pipeline", "bin"];

/// Path inside the package (such as `src/geom/mod.rs`) to text.
type Tree = BTreeMap<String, String>;

#[test]
fn every_file_imports_only_layers_above_its_own() {
    assert_none(&upward_imports(&tree(&["src"])));
}

#[test]
fn every_file_opens_with_what_it_holds() {
    assert_none(&files_without_head(&tree(&["src", "tests", "examples", "benches"])));
}

#[test]
fn files_and_terminals_are_touched_only_where_allowed() {
    assert_none(&forbidden_words(&tree(&["src"])));
}

#[test]
fn files_stay_short() {
    assert_none(&long_files(&tree(&["src"])));
}

#[test]
fn modules_form_no_cycle() {
    assert_none(&cycles(&tree(&["src"])));
}

#[test]
fn every_source_is_cited_and_listed() {
    let cited_in = tree(&["src", "tests"]);
    let list = std::fs::read_to_string(root().join("docs/sources.md")).expect("docs/sources.md is there");
    assert_none(&sources_not_cited(&cited_in, sources::ALL));
    assert_none(&sources_not_listed(&list, sources::ALL));
}

#[test]
fn every_dependency_says_why_it_is_here() {
    let manifest: toml::Table =
        std::fs::read_to_string(root().join("Cargo.toml")).expect("a manifest").parse().expect("TOML");
    let reasons = std::fs::read_to_string(root().join("docs/dependencies.md")).expect("docs/dependencies.md is there");
    let missing: Vec<String> = ["dependencies", "dev-dependencies", "build-dependencies"]
        .iter()
        .filter_map(|table| manifest.get(*table).and_then(toml::Value::as_table))
        .flat_map(toml::Table::keys)
        .filter(|name| !reasons.contains(&format!("| {name} |")))
        .map(|name| format!("docs/dependencies.md has no row for `{name}`"))
        .collect();
    assert_none(&missing);
}

#[test]
fn the_layer_list_knows_every_room() {
    let strangers: Vec<String> = tree(&["src"])
        .keys()
        .filter(|path| path.as_str() != "src/lib.rs")
        .filter(|path| !LAYERS.contains(&layer_of(path)))
        .map(|path| format!("{path} belongs to no layer"))
        .collect();
    assert_none(&strangers);
}

/// The rules themselves: a bad tree must be caught, each fault by name.
#[test]
fn a_bad_tree_is_caught() {
    let bad: Tree = [
        ("src/geom/mod.rs", "//! Points.\nuse crate::surface::Tin;\nuse crate::units::{Length, Area};\n"),
        ("src/geom/point.rs", "use std::collections::HashMap;\nfn show() { println!(\"x\"); }\n"),
        ("src/surface/mod.rs", "//! TIN.\nuse super::ground::Ground;\nfn read() { std::fs::read(\"x\"); }\n"),
        ("src/ground/mod.rs", "//! Ground.\nuse crate::{geom, pipeline::Run};\n/// See [`crate::works`].\nfn f() {}\n"),
        ("src/works/a.rs", "//! A.\nuse super::b::B;\n"),
        ("src/works/b.rs", "//! B.\nuse crate::works::a::A;\n"),
        (
            "src/bin/swalewright/main.rs",
            "//! Program.\nfn main() { let _ = crate::args(); swalewright::units::f(); }\n",
        ),
    ]
    .into_iter()
    .map(|(path, text)| (path.to_owned(), text.to_owned()))
    .collect();

    let imports = upward_imports(&bad).join("\n");
    for fault in
        ["src/geom/mod.rs imports surface", "src/surface/mod.rs imports ground", "src/ground/mod.rs imports pipeline"]
    {
        assert!(imports.contains(fault), "`{fault}` was not caught:\n{imports}");
    }
    for innocent in ["units", "imports geom", "imports works", "src/bin"] {
        assert!(!imports.contains(innocent), "`{innocent}` was caught wrongly:\n{imports}");
    }
    assert_eq!(files_without_head(&bad), ["src/geom/point.rs does not open with //!"]);
    let words = forbidden_words(&bad).join("\n");
    for fault in ["src/geom/point.rs:1: HashMap", "src/geom/point.rs:2: println!", "src/surface/mod.rs:3: std::fs"] {
        assert!(words.contains(fault), "`{fault}` was not caught:\n{words}");
    }
    assert_eq!(cycles(&bad), ["src/works/a.rs -> src/works/b.rs -> src/works/a.rs"]);

    let long: Tree = [("src/geom/mod.rs".to_owned(), "x\n".repeat(LONGEST_FILE + 1))].into();
    assert_eq!(long_files(&long).len(), 1);
    let tested: Tree =
        [("src/geom/mod.rs".to_owned(), format!("x\n#[cfg(test)]\nmod tests {{\n{}}}\n", "x\n".repeat(LONGEST_FILE)))]
            .into();
    assert_none(&long_files(&tested));
}

#[test]
fn a_source_that_nobody_cites_is_caught() {
    let one = [("NOTE_1", sources::Source { id: "note-1", cited_as: "Note 1", ..sources::SP_811 })];
    let cites_it = [("src/units/mod.rs".to_owned(), "//! From sources::NOTE_1.\n".to_owned())].into();
    let names_it = [("src/units/mod.rs".to_owned(), "/// After Note 1, page 3.\n".to_owned())].into();
    let cites_another = [("src/units/mod.rs".to_owned(), "//! From sources::NOTE_11.\n".to_owned())].into();
    assert_none(&sources_not_cited(&cites_it, &one));
    assert_none(&sources_not_cited(&names_it, &one));
    assert_eq!(sources_not_cited(&cites_another, &one).len(), 1);
    assert_eq!(sources_not_listed("| other |", &one).len(), 1);
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// All Rust files of some folders of this package.
fn tree(folders: &[&str]) -> Tree {
    fn walk(folder: &Path, into: &mut Tree) {
        let Ok(entries) = std::fs::read_dir(folder) else { return };
        for path in entries.map(|entry| entry.expect("a readable folder").path()) {
            if path.is_dir() {
                walk(&path, into);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                let name = path.strip_prefix(root()).expect("inside the package").to_string_lossy().replace('\\', "/");
                into.insert(name, std::fs::read_to_string(&path).expect("a readable file"));
            }
        }
    }
    let mut files = Tree::new();
    for folder in folders {
        walk(&root().join(folder), &mut files);
    }
    files
}

fn assert_none(faults: &[String]) {
    assert!(faults.is_empty(), "{} fault(s):\n{}", faults.len(), faults.join("\n"));
}

/// `src/geom/point.rs` is of layer `geom`, `src/sources.rs` of `sources`; `lib.rs` only declares and has none.
fn layer_of(path: &str) -> &str {
    let inside = path.trim_start_matches("src/");
    inside.split('/').next().unwrap_or(inside).trim_end_matches(".rs")
}

/// A file with the unit tests of its neighbour.
fn holds_only_tests(path: &str) -> bool {
    path.ends_with("_tests.rs") || path.ends_with("/tests.rs")
}

/// A file's module path in the library, such as `["geom", "point"]`.
fn module_of(path: &str) -> Vec<&str> {
    let inside = path.trim_start_matches("src/").trim_end_matches(".rs").trim_end_matches("/mod");
    inside.split('/').filter(|part| *part != "lib").collect()
}

/// Code lines with their numbers: comments cut off, and with `with_tests` false nothing from `#[cfg(test)]` on.
fn code_lines(text: &str, with_tests: bool) -> impl Iterator<Item = (usize, &str)> {
    text.lines()
        .take_while(move |line| with_tests || line.trim() != "#[cfg(test)]")
        .enumerate()
        .map(|(index, line)| (index + 1, line.split("//").next().unwrap_or("")))
        .filter(|(_, line)| !line.trim().is_empty())
}

/// Absolute module paths that a file's code names through `crate::`, `super::` or `self::`.
fn named_paths(path: &str, text: &str) -> BTreeSet<Vec<String>> {
    let code: String = code_lines(text, true).flat_map(|(_, line)| [line, "\n"]).collect();
    let here = module_of(path);
    let mut found = BTreeSet::new();
    for (start, root) in
        code.match_indices("crate::").chain(code.match_indices("super::")).chain(code.match_indices("self::"))
    {
        let before = code[..start].chars().next_back().unwrap_or(' ');
        if before.is_alphanumeric() || before == '_' || before == ':' || before == '$' {
            continue;
        }
        let mut base: Vec<String> = here.iter().map(|part| (*part).to_owned()).collect();
        let mut rest = &code[start + root.len()..];
        match root {
            "crate::" => base.clear(),
            "super::" => {
                base.pop();
                while let Some(further) = rest.strip_prefix("super::") {
                    base.pop();
                    rest = further;
                }
            }
            _ => {}
        }
        for tail in expand(rest) {
            found.insert(base.iter().cloned().chain(tail).collect());
        }
    }
    found
}

/// The paths of one use tree: `{a, b::c}` gives `a` and `b::c`; `a::b` gives itself.
fn expand(text: &str) -> Vec<Vec<String>> {
    let text = text.trim_start();
    if let Some(inside) = text.strip_prefix('{') {
        let mut depth = 0_usize;
        let (mut start, mut parts) = (0, Vec::new());
        for (at, c) in inside.char_indices() {
            match c {
                '{' => depth += 1,
                '}' if depth > 0 => depth -= 1,
                ',' | '}' if depth == 0 => {
                    parts.extend(expand(&inside[start..at]));
                    start = at + 1;
                    if c == '}' {
                        break;
                    }
                }
                _ => {}
            }
        }
        return parts;
    }
    let name: String = text.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
    if name.is_empty() {
        return Vec::new();
    }
    match text[name.len()..].strip_prefix("::") {
        Some(rest) => {
            let tails = expand(rest);
            if tails.is_empty() {
                vec![vec![name]]
            } else {
                tails.into_iter().map(|tail| std::iter::once(name.clone()).chain(tail).collect()).collect()
            }
        }
        None => vec![vec![name]],
    }
}

/// Imports of a layer that is not above the file's own. The program is a crate of its own: it sees the library only as
/// `swalewright::`, so its `crate::` is itself.
fn upward_imports(files: &Tree) -> Vec<String> {
    let rank = |layer: &str| LAYERS.iter().position(|known| *known == layer);
    let mut faults = Vec::new();
    for (path, text) in files {
        let own = layer_of(path);
        let Some(own_rank) = rank(own).filter(|_| own != "bin") else { continue };
        let layers: BTreeSet<String> =
            named_paths(path, text).into_iter().filter_map(|found| found.into_iter().next()).collect();
        for layer in layers.iter().filter(|layer| layer.as_str() != own) {
            if rank(layer).is_some_and(|rank| rank > own_rank) {
                faults.push(format!("{path} imports {layer}, which stands below {own}"));
            }
        }
    }
    faults
}

fn files_without_head(files: &Tree) -> Vec<String> {
    files
        .iter()
        .filter(|(_, text)| !text.starts_with("//! "))
        .map(|(path, _)| format!("{path} does not open with //!"))
        .collect()
}

/// Words that product code may hold only in some layers, or nowhere.
fn forbidden_words(files: &Tree) -> Vec<String> {
    const NOWHERE: &[&str] = &["HashMap", "HashSet", "SystemTime", "todo!(", "unimplemented!("];
    const ONLY_IN_THE_PROGRAM: &[&str] = &[
        "println!(",
        "eprintln!(",
        "print!(",
        "eprint!(",
        "stdin()",
        "stdout()",
        "stderr()",
        "process::exit",
        "process::Command",
    ];
    const FILES: &[&str] = &["std::fs", "File::open", "File::create"];
    let mut faults = Vec::new();
    for (path, text) in files.iter().filter(|(path, _)| !holds_only_tests(path)) {
        let layer = layer_of(path);
        let banned = NOWHERE
            .iter()
            .chain(ONLY_IN_THE_PROGRAM.iter().filter(|_| layer != "bin"))
            .chain(FILES.iter().filter(|_| !MAY_TOUCH_FILES.contains(&layer)));
        for word in banned {
            for (number, _) in code_lines(text, false).filter(|(_, line)| line.contains(word)) {
                faults.push(format!("{path}:{number}: {word}"));
            }
        }
    }
    faults
}

fn long_files(files: &Tree) -> Vec<String> {
    files
        .iter()
        .filter(|(path, _)| !holds_only_tests(path))
        .map(|(path, text)| (path, text.lines().take_while(|line| line.trim() != "#[cfg(test)]").count()))
        .filter(|(_, lines)| *lines > LONGEST_FILE)
        .map(|(path, lines)| format!("{path} has {lines} lines, {LONGEST_FILE} at most: which two jobs does it do?"))
        .collect()
}

/// Files of one layer that import each other in a ring. `mod.rs` re-exports its parts, so a part that names its own
/// parent is no cycle; a ring among the parts is.
fn cycles(files: &Tree) -> Vec<String> {
    let file_of: BTreeMap<Vec<String>, &String> = files
        .keys()
        .filter(|path| !path.ends_with("mod.rs") && layer_of(path) != "bin")
        .map(|path| (module_of(path).into_iter().map(str::to_owned).collect(), path))
        .collect();
    let arrows: BTreeMap<&String, BTreeSet<&String>> = files
        .iter()
        .filter(|(path, _)| file_of.values().any(|file| file == path))
        .map(|(path, text)| {
            let before_tests: String = code_lines(text, false).flat_map(|(_, line)| [line, "\n"]).collect();
            let to = named_paths(path, &before_tests)
                .into_iter()
                .filter_map(|named| (1..=named.len()).rev().find_map(|length| file_of.get(&named[..length]).copied()))
                .filter(|other| *other != path)
                .collect();
            (path, to)
        })
        .collect();
    let mut found = BTreeSet::new();
    for start in arrows.keys() {
        let mut way = vec![*start];
        follow(&arrows, &mut way, &mut BTreeSet::new(), &mut found);
    }
    found.into_iter().collect()
}

fn follow<'a>(
    arrows: &BTreeMap<&'a String, BTreeSet<&'a String>>,
    way: &mut Vec<&'a String>,
    seen: &mut BTreeSet<&'a String>,
    found: &mut BTreeSet<String>,
) {
    let last = way[way.len() - 1];
    for next in arrows.get(last).into_iter().flatten() {
        if *next == way[0] {
            // Told once, from its first file in the order of names.
            if way.iter().all(|file| *file >= way[0]) {
                let names: Vec<&str> = way.iter().chain([next]).map(|file| file.as_str()).collect();
                found.insert(names.join(" -> "));
            }
        } else if seen.insert(next) {
            way.push(next);
            follow(arrows, way, seen, found);
            way.pop();
        }
    }
}

fn sources_not_cited(files: &Tree, all: &[(&str, sources::Source)]) -> Vec<String> {
    let names_it = |text: &str, name: &str| {
        text.match_indices(name).any(|(start, _)| {
            let after = text[start + name.len()..].chars().next().unwrap_or(' ');
            !(after.is_alphanumeric() || after == '_')
        })
    };
    all.iter()
        .filter(|(name, source)| {
            !files
                .iter()
                .filter(|(path, _)| path.as_str() != "src/sources.rs")
                .any(|(_, text)| names_it(text, &format!("sources::{name}")) || names_it(text, source.cited_as))
        })
        .map(|(name, _)| format!("sources::{name} is cited nowhere"))
        .collect()
}

fn sources_not_listed(list: &str, all: &[(&str, sources::Source)]) -> Vec<String> {
    all.iter()
        .filter(|(_, source)| {
            let row = format!(
                "| {} | {} | {} | {} | {} | {} |",
                source.id,
                source.title,
                source.publisher,
                source.year,
                source.used_for,
                source.standing.words()
            );
            !list.contains(&row)
        })
        .map(|(name, source)| {
            format!(
                "docs/sources.md lacks the row of sources::{name}:\n| {} | {} | {} | {} | {} | {} |",
                source.id,
                source.title,
                source.publisher,
                source.year,
                source.used_for,
                source.standing.words()
            )
        })
        .collect()
}
