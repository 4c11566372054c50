//! What `--help` says, and that the manual says the same.

use crate::site::swalewright;
use std::collections::BTreeSet;

const COMMANDS: [&str; 6] = ["new", "run", "look", "on-contour", "volume", "check"];

fn help(arguments: &[&str]) -> String {
    let output = swalewright().args(arguments).arg("--help").output().unwrap();
    assert!(output.status.success());
    String::from_utf8(output.stdout).unwrap()
}

/// Options in a text, such as `--until`.
fn options(text: &str) -> BTreeSet<String> {
    let word = |c: char| c.is_ascii_lowercase() || c == '-';
    text.match_indices("--")
        .filter(|(at, _)| !text[..*at].ends_with(['-', '|']))
        .map(|(at, _)| text[at..].chars().take_while(|&c| word(c)).collect::<String>())
        .filter(|option| option.len() > 3 && !option.ends_with('-'))
        .collect()
}

#[test]
fn help_lists_the_commands_that_are_built() {
    let text = help(&[]);
    for command in COMMANDS {
        assert!(text.lines().any(|line| line.trim_start().starts_with(command)), "{command} is not listed:\n{text}");
    }
    for later in ["staked", "places", "calc", "lessons"] {
        assert!(!text.contains(later), "{later} is not built yet");
    }
}

#[test]
fn the_manual_tells_every_command_and_option_and_no_other() {
    let page = include_str!("../../docs/reference/command-line.md");
    let mut typed = options(&help(&[]));
    for command in COMMANDS {
        assert!(page.contains(&format!("swalewright {command}")), "{command} is not in the manual");
        typed.extend(options(&help(&[command])));
    }
    assert!(typed.contains("--until") && typed.contains("--decimal-comma"), "{typed:?}");
    assert_eq!(typed, options(page));
}
