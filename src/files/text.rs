//! One JSON text with the place of every value in it, and the findings about it.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use jsonc_parser::ast::Value as Tree;
use jsonc_parser::common::{Range, Ranged as _};
use jsonc_parser::errors::ParseErrorKind;
use jsonc_parser::{CollectOptions, ParseOptions, parse_to_ast};
use serde::de::DeserializeOwned;
use serde_json::Value;
use serde_path_to_error::{Path, Segment};

use super::Source;
use crate::finding::{Finding, Origin, Severity};
use crate::plain::is_plain;

/// Larger texts are refused unread.
const MAX_BYTES: usize = 8 << 20;
/// Our deepest shape needs nine levels.
const MAX_DEPTH: usize = 32;
/// More findings of one severity than a person reads at a sitting, and a bound on the work a hostile file can cause.
const MAX_FINDINGS: usize = 100;
/// Bound on the bytes read again in order to report further structural findings.
const MAX_REREAD: usize = 64 << 20;

/// One step into the structure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Seg {
    /// A field.
    Key(String),
    /// An element of a list, counted from 0.
    Ix(usize),
}

impl From<&str> for Seg {
    fn from(key: &str) -> Self {
        Self::Key(key.to_owned())
    }
}
impl From<usize> for Seg {
    fn from(ix: usize) -> Self {
        Self::Ix(ix)
    }
}

/// A place in the structure: `at!["tanks", 3, "stage"]`.
macro_rules! at {
    ($($seg:expr),* $(,)?) => { [$($crate::files::text::Seg::from($seg)),*] };
}
pub(super) use at;

/// A text under examination.
pub struct Doc<'a> {
    name: &'a str,
    body: &'a str,
    /// Bytes of a byte order mark before the body.
    base: usize,
    lines: Vec<usize>,
    tree: Option<Tree<'a>>,
    findings: Vec<Finding>,
}

/// Where a finding points.
enum Spot {
    Whole,
    Bytes(Range),
}

impl<'a> Doc<'a> {
    /// Parses the text; what is wrong with it as JSON becomes a finding.
    pub fn open(source: Source<'a>) -> Self {
        let body = source.text.strip_prefix('\u{feff}').unwrap_or(source.text);
        let mut doc = Self {
            name: source.name,
            body,
            base: source.text.len() - body.len(),
            lines: Vec::new(),
            tree: None,
            findings: Vec::new(),
        };
        if body.len() > MAX_BYTES {
            doc.push(
                Severity::Error,
                "file-too-large",
                &Spot::Whole,
                &[],
                &format!("{} bytes", body.len()),
                "at most 8 MiB",
            );
            return doc;
        }
        doc.lines = std::iter::once(0).chain(body.match_indices('\n').map(|(at, _)| at + 1)).collect();
        if let Some(at) = too_deep(body) {
            let spot = Spot::Bytes(Range::new(at, at + 1));
            let found = format!("lists and objects nested more than {MAX_DEPTH} deep");
            doc.push(
                Severity::Error,
                "nested-too-deep",
                &spot,
                &[],
                &found,
                "a plain file as the schema describes it",
            );
            return doc;
        }
        match parse_to_ast(body, &CollectOptions::default(), &strict()) {
            Ok(parsed) => doc.tree = parsed.value,
            Err(e) => {
                let range = e.range();
                let message = lower_first(&e.kind().to_string());
                let (range, found, expected) =
                    match typographic(body, floor_boundary(body, range.start), &doc.lines) {
                        Some((at, quote)) => {
                            let found = format!("the typographic quote {quote}");
                            (Range::new(at, at + quote.len_utf8()), found, "the plain one, \"")
                        }
                        None => (range, message, syntax_hint(e.kind())),
                    };
                doc.push(Severity::Error, "syntax", &Spot::Bytes(range), &[], &found, expected);
                return doc;
            }
        }
        if doc.tree.is_none() {
            doc.push(Severity::Error, "syntax", &Spot::Whole, &[], "an empty file", "a JSON object");
        }
        doc
    }

    /// Reads the text into a shape. Goes on past a bad element, so that one reading reports what it can;
    /// `None` if anything was wrong.
    pub fn decode<T: DeserializeOwned>(&mut self) -> Option<T> {
        let tree = self.tree.take()?;
        let mut wrong = Vec::new();
        let mut value = plain(&tree, &mut Vec::new(), &mut wrong);
        self.tree = Some(tree);
        for (path, range, code, found, expected) in wrong {
            self.push(Severity::Error, code, &Spot::Bytes(range), &path, &found, expected);
        }
        if self.has_errors() {
            return None;
        }
        // The JSON reader everyone else uses must agree before a shape is read from our own tree.
        if let Err(e) = serde_json::from_str::<serde::de::IgnoredAny>(self.body) {
            let line = e.line().max(1) - 1;
            let start = self.lines.get(line).copied().unwrap_or(0) + e.column().saturating_sub(1);
            let start = floor_boundary(self.body, start);
            let found = lower_first(&e.to_string());
            self.push(
                Severity::Error,
                "syntax",
                &Spot::Bytes(Range::new(start, start)),
                &[],
                &found,
                "valid JSON",
            );
            return None;
        }
        let mut gone: BTreeMap<String, BTreeSet<usize>> = BTreeMap::new();
        for _ in 0..=(MAX_REREAD / self.body.len().max(1)).min(MAX_FINDINGS) {
            match serde_path_to_error::deserialize::<_, T>(&value) {
                Ok(shape) => return (!self.has_errors()).then_some(shape),
                Err(e) => {
                    let now = steps(e.path());
                    let path = original(&now, &gone);
                    let message = e.inner().to_string();
                    self.structural(&path, &message);
                    let go_on = if message.starts_with("unknown field") {
                        drop_field(&mut value, &now)
                    } else {
                        drop_element(&mut value, &now, &mut gone)
                    };
                    if !go_on {
                        return None;
                    }
                }
            }
        }
        None
    }

    /// Adds an error about the value at a path.
    pub fn error(&mut self, code: &'static str, path: &[Seg], found: &str, expected: &str) {
        let spot = Spot::Bytes(self.range(path, false));
        self.push(Severity::Error, code, &spot, path, found, expected);
    }

    /// Adds a warning about the value at a path.
    pub fn warn(&mut self, code: &'static str, path: &[Seg], found: &str, expected: &str) {
        let spot = Spot::Bytes(self.range(path, false));
        self.push(Severity::Warning, code, &spot, path, found, expected);
    }

    /// True if the text has a value at a path, null too.
    pub fn has(&self, path: &[Seg]) -> bool {
        let inner = |node, seg| property(node, seg).map(|(_, value)| value);
        self.tree.as_ref().and_then(|tree| path.iter().try_fold(tree, inner)).is_some()
    }

    /// True if anything stands in the way of using the file.
    pub fn has_errors(&self) -> bool {
        self.findings.iter().any(|f| f.severity == Severity::Error)
    }

    /// How many warnings there are so far.
    pub fn warnings(&self) -> usize {
        self.findings.iter().filter(|f| f.severity == Severity::Warning).count()
    }

    /// Gives up the findings, in the order of the text.
    pub fn into_findings(mut self) -> Vec<Finding> {
        self.findings.sort_by_key(|f| (f.line, f.column));
        self.findings
    }

    fn structural(&mut self, path: &[Seg], message: &str) {
        let (found, expected) = message.split_once(", expected ").unwrap_or((message, "another value"));
        let key = message.starts_with("unknown field");
        let range = self.range(path, key);
        let (code, found, expected) = if let Some(field) = found.strip_prefix("missing field ") {
            ("missing-field", format!("no field {field}"), format!("a field {field} here"))
        } else if key {
            let name = found.trim_start_matches("unknown field ").trim_matches('`');
            ("unknown-field", format!("the field `{name}`"), with_guess(name, expected))
        } else if let Some(word) = found.strip_prefix("unknown variant ") {
            ("unknown-word", format!("the word {word}"), with_guess(word.trim_matches('`'), expected))
        } else {
            let code = if found.starts_with("invalid type") { "wrong-type" } else { "bad-value" };
            let plain = found.trim_start_matches("invalid type: ").trim_start_matches("invalid value: ");
            let plain = match plain.split_once(' ') {
                Some(("integer", number)) => format!("the number {}", number.trim_matches('`')),
                Some(("floating", rest)) => {
                    format!("the number {}", rest.trim_start_matches("point ").trim_matches('`'))
                }
                Some(("string", text)) => format!("the text {text}"),
                Some(("boolean", word)) => word.trim_matches('`').to_owned(),
                _ => plain.to_owned(),
            };
            (code, plain, plain_type(expected))
        };
        self.push(Severity::Error, code, &Spot::Bytes(range), path, &found, &expected);
    }

    fn push(
        &mut self,
        severity: Severity,
        code: &'static str,
        spot: &Spot,
        path: &[Seg],
        found: &str,
        expected: &str,
    ) {
        // Counted apart: warnings must never crowd out the error that makes the file unusable.
        if self.findings.iter().filter(|f| f.severity == severity).count() >= MAX_FINDINGS {
            return;
        }
        let (line, column, origin) = match spot {
            Spot::Whole => (0, 0, Origin::default()),
            Spot::Bytes(range) => {
                let start = floor_boundary(self.body, range.start);
                let line = self.lines.partition_point(|l| *l <= start).max(1);
                let from = self.lines.get(line - 1).copied().unwrap_or(0);
                let column = self.body[from..start].chars().count() + 1;
                let end = range.end.max(start);
                (line, column, Origin { start: start + self.base, end: end + self.base })
            }
        };
        self.findings.push(Finding {
            severity,
            code,
            file: self.name.to_owned(),
            line,
            column,
            path: cut(&show(path), 200),
            found: cut(found, 160),
            expected: cut(expected, 600),
            origin,
        });
    }

    /// The bytes of the value at a path, or of the nearest thing around it; of the field's name if `key`.
    fn range(&self, path: &[Seg], key: bool) -> Range {
        let Some(mut node) = self.tree.as_ref() else { return Range::new(0, 0) };
        for (i, seg) in path.iter().enumerate() {
            match property(node, seg) {
                Some((Some(name), _)) if key && i + 1 == path.len() => return name,
                Some((_, inner)) => node = inner,
                None => break,
            }
        }
        let range = node.range();
        match node {
            // An object or list may run over many lines; its opening bracket is the place to look.
            Tree::Object(_) | Tree::Array(_) => Range::new(range.start, range.start + 1),
            _ => range,
        }
    }
}

/// What a step leads to, with the place of its name if it is a field.
fn property<'t, 'a>(node: &'t Tree<'a>, seg: &Seg) -> Option<(Option<Range>, &'t Tree<'a>)> {
    match (node, seg) {
        (Tree::Object(object), Seg::Key(name)) => {
            let field = object.properties.iter().find(|p| p.name.as_str() == name)?;
            Some((Some(field.name.range()), &field.value))
        }
        (Tree::Array(array), Seg::Ix(ix)) => Some((None, array.elements.get(*ix)?)),
        _ => None,
    }
}

/// Quotes what a person wrote, short and without control characters.
pub fn quote(text: &str) -> String {
    format!("\"{}\"", cut(text, 40))
}

/// The known word a person most likely meant, if one is near enough.
pub fn nearest<'n>(word: &str, known: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let chars: Vec<char> = word.chars().take(40).collect();
    // Of a word of one letter nothing would be left to recognise.
    let close = (chars.len() / 3 + 1).min(chars.len().saturating_sub(1));
    let far = |k: &str| if k.eq_ignore_ascii_case(word) { 0 } else { distance(&chars, k) };
    known.map(|k| (far(k), k)).filter(|(d, _)| *d <= close).min().map(|(_, k)| k)
}

/// Levenshtein distance over characters.
fn distance(a: &[char], b: &str) -> usize {
    let mut row: Vec<usize> = (0..=a.len()).collect();
    for (j, cb) in b.chars().take(40).enumerate() {
        let mut diagonal = row[0];
        row[0] = j + 1;
        for (i, ca) in a.iter().enumerate() {
            let above = row[i + 1];
            row[i + 1] = (above + 1).min(row[i] + 1).min(diagonal + usize::from(*ca != cb));
            diagonal = above;
        }
    }
    row[a.len()]
}

/// Adds the nearest known word to a list of choices.
fn with_guess(word: &str, expected: &str) -> String {
    match nearest(word, expected.split('`').skip(1).step_by(2)) {
        Some(guess) if expected.starts_with("one of") => format!("{expected}; did you mean `{guess}`?"),
        _ => expected.to_owned(),
    }
}

fn plain_type(expected: &str) -> String {
    match expected {
        "f64" => "a number".to_owned(),
        "u16" => "a whole number from 0 to 65535".to_owned(),
        "u32" => "a whole number from 0 to 4294967295".to_owned(),
        "a sequence" => "a list [...]".to_owned(),
        other if other.starts_with("struct ") => "an object {...}".to_owned(),
        other if other.starts_with("enum ") || other.ends_with("enum") => {
            "one of the words of the schema".to_owned()
        }
        other => other.to_owned(),
    }
}

/// Shortens a text for a message and shows control characters instead of sending them to a terminal.
fn cut(text: &str, longest: usize) -> String {
    let mut out = String::new();
    for (n, c) in text.chars().enumerate() {
        if n == longest {
            out.push_str("...");
            break;
        }
        if is_plain(c) {
            out.push(c);
        } else {
            out.extend(c.escape_default());
        }
    }
    out
}

fn lower_first(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_lowercase().chain(chars).collect())
}

fn floor_boundary(text: &str, at: usize) -> usize {
    let at = at.min(text.len());
    (0..=at).rev().find(|i| text.is_char_boundary(*i)).unwrap_or(0)
}

/// `tanks[3].stage`
fn show(path: &[Seg]) -> String {
    let mut out = String::new();
    for seg in path {
        match seg {
            Seg::Key(key) if out.is_empty() => out.push_str(key),
            Seg::Key(key) => {
                out.push('.');
                out.push_str(key);
            }
            Seg::Ix(ix) => {
                let _ = write!(out, "[{ix}]");
            }
        }
    }
    out
}

/// The first bracket past the allowed depth, brackets in strings not counted.
fn too_deep(text: &str) -> Option<usize> {
    let (mut depth, mut in_string, mut escaped) = (0_usize, false, false);
    for (at, b) in text.bytes().enumerate() {
        if in_string {
            in_string = escaped || b != b'"';
            escaped = !escaped && b == b'\\';
            continue;
        }
        match b {
            b'"' => in_string = true,
            b'{' | b'[' => depth += 1,
            b'}' | b']' => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth > MAX_DEPTH {
            return Some(at);
        }
    }
    None
}

/// The same language as plain JSON.
fn strict() -> ParseOptions {
    ParseOptions {
        allow_comments: false,
        allow_loose_object_property_names: false,
        allow_trailing_commas: false,
        allow_missing_commas: false,
        allow_single_quoted_strings: false,
        allow_hexadecimal_numbers: false,
        allow_unary_plus_numbers: false,
        allow_bare_decimal_point_numbers: false,
        allow_non_finite_numbers: false,
        allow_extended_string_escapes: false,
    }
}

/// The quote of an office program that is the fault, where there is one: at the fault itself, or before it on its line,
/// where it was to begin or end a text.
fn typographic(body: &str, fault: usize, lines: &[usize]) -> Option<(usize, char)> {
    let is_quote =
        |c: char| matches!(c, '\u{2018}'..='\u{201f}' | '\u{ab}' | '\u{bb}' | '\u{2032}' | '\u{2033}');
    let from = lines[lines.partition_point(|l| *l <= fault).max(1) - 1];
    let here = body[fault..].char_indices().take(1).map(|(at, c)| (fault + at, c));
    // A text that was begun with a plain quote ends at the next plain one, which may be lines further on.
    let to = body[fault..].find('\n').map_or(body.len(), |n| fault + n);
    let around = body[from..to].char_indices().map(|(at, c)| (from + at, c));
    let ends = |at: usize, c: char| {
        let (before, after) = (body[..at].trim_end(), body[at + c.len_utf8()..].trim_start());
        after.starts_with([',', ':', '}', ']']) || before.ends_with([',', ':', '{', '['])
    };
    here.chain(around.filter(|(at, c)| ends(*at, *c))).find(|(_, c)| is_quote(*c))
}

fn syntax_hint(kind: &ParseErrorKind) -> &'static str {
    match kind {
        ParseErrorKind::CommentsNotAllowed => "JSON without comments; remarks go into a `note` field",
        ParseErrorKind::TrailingCommasNotAllowed => "no comma after the last element",
        ParseErrorKind::ExpectedComma => "a comma between two values",
        ParseErrorKind::UnterminatedArray => "a closing ] for this list",
        ParseErrorKind::UnterminatedObject => "a closing } for this object",
        ParseErrorKind::UnexpectedWord => "a number, true, false, null, or text in double quotes",
        ParseErrorKind::SingleQuotedStringsNotAllowed => "text in double quotes",
        ParseErrorKind::MultipleRootJsonValues => "nothing after the end of the first object",
        _ => "valid JSON",
    }
}

type Wrong = (Vec<Seg>, Range, &'static str, String, &'static str);

/// The tree as a plain value. Fields given twice and numbers no machine holds are reported.
fn plain(tree: &Tree<'_>, path: &mut Vec<Seg>, wrong: &mut Vec<Wrong>) -> Value {
    match tree {
        Tree::StringLit(text) => Value::String(text.value.clone().into_owned()),
        Tree::NumberLit(number) => serde_json::from_str(number.value).unwrap_or_else(|_| {
            let found = format!("the number {}", cut(number.value, 40));
            wrong.push((path.clone(), number.range, "bad-number", found, "a plain number of ordinary size"));
            Value::Null
        }),
        Tree::BooleanLit(b) => Value::Bool(b.value),
        Tree::NullKeyword(_) => Value::Null,
        Tree::Array(array) => Value::Array(
            (array.elements.iter().enumerate())
                .map(|(ix, element)| {
                    path.push(Seg::Ix(ix));
                    let value = plain(element, path, wrong);
                    path.pop();
                    value
                })
                .collect(),
        ),
        Tree::Object(object) => {
            let mut map = serde_json::Map::new();
            for property in &object.properties {
                let key = property.name.as_str();
                path.push(Seg::from(key));
                let value = plain(&property.value, path, wrong);
                if map.insert(key.to_owned(), value).is_some() {
                    let found = format!("the field {} for the second time", quote(key));
                    wrong.push((
                        path.clone(),
                        property.name.range(),
                        "duplicate-field",
                        found,
                        "each field once",
                    ));
                }
                path.pop();
            }
            Value::Object(map)
        }
    }
}

fn steps(path: &Path) -> Vec<Seg> {
    path.iter()
        .filter_map(|seg| match seg {
            Segment::Seq { index } => Some(Seg::Ix(*index)),
            Segment::Map { key } => Some(Seg::Key(key.clone())),
            Segment::Enum { variant } => Some(Seg::Key(variant.clone())),
            Segment::Unknown => None,
        })
        .collect()
}

/// Undoes the shift of indices that dropped elements caused.
fn original(now: &[Seg], gone: &BTreeMap<String, BTreeSet<usize>>) -> Vec<Seg> {
    let mut path: Vec<Seg> = Vec::with_capacity(now.len());
    for seg in now {
        let seg = match seg {
            Seg::Ix(ix) => {
                let mut ix = *ix;
                for dropped in gone.get(&show(&path)).into_iter().flatten() {
                    if *dropped <= ix {
                        ix += 1;
                    }
                }
                Seg::Ix(ix)
            }
            Seg::Key(_) => seg.clone(),
        };
        path.push(seg);
    }
    path
}

fn find<'v>(value: &'v mut Value, path: &[Seg]) -> Option<&'v mut Value> {
    path.iter().try_fold(value, |value, seg| match seg {
        Seg::Key(key) => value.get_mut(key),
        Seg::Ix(ix) => value.get_mut(ix),
    })
}

fn drop_field(value: &mut Value, path: &[Seg]) -> bool {
    let Some((Seg::Key(key), parent)) = path.split_last() else { return false };
    let object = find(value, parent).and_then(Value::as_object_mut);
    object.is_some_and(|o| o.remove(key).is_some())
}

fn drop_element(value: &mut Value, now: &[Seg], gone: &mut BTreeMap<String, BTreeSet<usize>>) -> bool {
    let Some(last) = now.iter().rposition(|s| matches!(s, Seg::Ix(_))) else { return false };
    let Seg::Ix(ix) = now[last] else { return false };
    let Some(list) = find(value, &now[..last]).and_then(Value::as_array_mut) else { return false };
    if ix >= list.len() {
        return false;
    }
    list.remove(ix);
    let path = original(&now[..=last], gone);
    if let Some((Seg::Ix(was), parent)) = path.split_last() {
        gone.entry(show(parent)).or_default().insert(*was);
    }
    true
}
