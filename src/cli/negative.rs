//! Negative figures behind `calc`, which would be taken for options: `--area -4m2` is to be refused for what it is.

use std::ffi::OsString;

/// The words as the argument reader is to have them: a figure below nothing is tied to the option before it, and on its
/// own, as `convert` takes it, parted from its unit. A word that only looks like one, such as `-h`, is left.
pub fn tied(words: impl IntoIterator<Item = OsString>) -> Vec<OsString> {
    let mut out: Vec<OsString> = Vec::new();
    let mut calc = false;
    for word in words {
        calc |= word == "calc" && out.len() == 1;
        let Some(figure) = word.to_str().filter(|w| calc && is_below_nothing(w)) else {
            out.push(word);
            continue;
        };
        if let Some(option) = out.last_mut().filter(|last| is_open(last)) {
            option.push("=");
            option.push(figure);
        } else {
            let (number, unit) = figure.split_at(number_ends(figure));
            out.extend([number, unit].into_iter().filter(|w| !w.is_empty()).map(OsString::from));
        }
    }
    out
}

/// An option that has no value yet.
fn is_open(word: &OsString) -> bool {
    word.to_str().is_some_and(|w| w.len() > 2 && w.starts_with("--") && !w.contains('='))
}

fn is_below_nothing(word: &str) -> bool {
    let mut chars = word.strip_prefix('-').unwrap_or("").chars();
    matches!(chars.next(), Some(c) if c.is_ascii_digit() || (c == '.' && chars.next().is_some_and(|c| c.is_ascii_digit())))
}

fn number_ends(word: &str) -> usize {
    word.find(|c: char| !(c.is_ascii_digit() || matches!(c, '-' | '.'))).unwrap_or(word.len())
}
