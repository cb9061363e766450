//! How the screens look: flag, environment, file, what the terminal says; in this order.

use std::fmt::Write as _;
use std::path::PathBuf;

use super::args::{Color, Glyphs, Looks, Preferences, Theme};
use super::{Bad, Outcome, inputs, say, say_json};
use crate::files::Source;
use crate::finding::Finding;
use crate::journal::config_path;
use crate::tui::herald::Calls;
use crate::tui::{Asked, Depth, GlyphSet, Ground, Mouse, theme};

/// The file. Every field may be left out.
#[derive(Debug, Clone, Default, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(rename = "format")]
    _format: Format,
    #[serde(rename = "note", default)]
    _note: Option<String>,
    #[serde(default)]
    theme: Option<Theme>,
    #[serde(default)]
    color: Option<Color>,
    #[serde(default)]
    glyphs: Option<Glyphs>,
    #[serde(default)]
    bell: Option<bool>,
    #[serde(default)]
    notify: Option<bool>,
    #[serde(default)]
    mouse: Option<bool>,
    #[serde(default)]
    plain: Option<bool>,
}

#[derive(Debug, Clone, Copy, Default, serde::Deserialize)]
enum Format {
    #[default]
    #[serde(rename = "dwellhand-preferences/1")]
    V1,
}

/// Where a setting comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum From {
    Flag,
    Environment,
    File,
    Otherwise,
}

impl From {
    fn word(self) -> &'static str {
        match self {
            Self::Flag => "flag",
            Self::Environment => "environment",
            Self::File => "file",
            Self::Otherwise => "default",
        }
    }
}

/// The settings that hold, each with where it comes from.
pub struct Chosen {
    theme: (Theme, From),
    color: (Color, From),
    glyphs: (Glyphs, From),
    bell: (bool, From),
    notify: (bool, From),
    mouse: (bool, From),
    plain: (bool, From),
}

/// Settles everything. A file that is named must be there; that in the configuration folder need not.
pub fn chosen(looks: &Looks) -> Result<Chosen, Bad> {
    let file = read(looks)?;
    Ok(Chosen {
        theme: first("THEME", looks.theme, file.theme),
        color: first("COLOR", looks.color, file.color),
        glyphs: first("GLYPHS", looks.glyphs, file.glyphs),
        bell: first("BELL", looks.bell, file.bell),
        notify: first("NOTIFY", looks.notify, file.notify),
        mouse: first("MOUSE", looks.mouse, file.mouse),
        plain: first("PLAIN", looks.plain, file.plain),
    })
}

/// The argument parser has read flag and environment; which of the two it was shows in the environment.
fn first<T: Default>(name: &str, said: Option<T>, file: Option<T>) -> (T, From) {
    let in_environment = std::env::var_os(format!("DWELLHAND_{name}")).is_some();
    match (said, file) {
        (Some(value), _) if in_environment => (value, From::Environment),
        (Some(value), _) => (value, From::Flag),
        (None, Some(value)) => (value, From::File),
        (None, None) => (T::default(), From::Otherwise),
    }
}

/// Where the preferences are kept if nobody says otherwise.
pub fn default_path() -> PathBuf {
    config_path("preferences.json")
}

fn read(looks: &Looks) -> Result<File, Bad> {
    let path = match &looks.preferences {
        Some(path) => path.clone(),
        None => default_path(),
    };
    if looks.preferences.is_none() && !path.exists() {
        return Ok(File::default());
    }
    let text = inputs::read(&path)?;
    file(text.source()).map_err(|findings| Bad(inputs::listed(&findings, &[&text])))
}

fn file(source: Source<'_>) -> Result<File, Vec<Finding>> {
    crate::files::read_shape(source)
}

/// What is wrong with the text of a preferences file.
pub fn judge(source: Source<'_>) -> Result<(), Vec<Finding>> {
    file(source).map(|_| ())
}

impl Chosen {
    pub fn ground(&self) -> Ground {
        match self.theme.0 {
            Theme::Auto => Ground::Own,
            Theme::Dark => Ground::Dark,
            Theme::Light => Ground::Light,
        }
    }

    /// How many colours, with what the terminal says of itself.
    pub fn depth(&self) -> Depth {
        let asked = match self.color.0 {
            Color::Auto => None,
            Color::Always => Some(Asked::Always),
            Color::Never => Some(Asked::Never),
            Color::Sixteen => Some(Asked::Exactly(Depth::Sixteen)),
            Color::Many => Some(Asked::Exactly(Depth::Many)),
            Color::Rgb => Some(Asked::Exactly(Depth::Full)),
        };
        let var = |name: &str| std::env::var(name).ok();
        let term = var("TERM").unwrap_or_default();
        theme::depth(asked, var("NO_COLOR").as_deref(), &term, var("COLORTERM").as_deref())
    }

    /// Which drawing characters, with what terminal and locale say.
    pub fn glyph_set(&self) -> GlyphSet {
        let var = |name: &str| std::env::var(name).ok().filter(|v| !v.is_empty());
        let asked = match self.glyphs.0 {
            Glyphs::Auto => None,
            Glyphs::Full => Some(GlyphSet::Full),
            Glyphs::Console => Some(GlyphSet::Console),
            Glyphs::Ascii => Some(GlyphSet::Ascii),
        };
        let locale = ["LC_ALL", "LC_CTYPE", "LANG"].iter().find_map(|n| var(n));
        let term = var("TERM").unwrap_or_default();
        crate::tui::glyphs::choose(asked, &term, locale.as_deref().unwrap_or_default())
    }

    pub fn calls(&self) -> Calls {
        Calls { bell: self.bell.0, note: self.notify.0 }
    }

    pub fn mouse(&self) -> Mouse {
        if self.mouse.0 { Mouse::Ours } else { Mouse::Terminals }
    }

    pub fn plain(&self) -> bool {
        self.plain.0
    }
}

/// `preferences`: each setting, its value and where it comes from.
pub fn preferences(args: &Preferences) -> Result<Outcome, Bad> {
    let c = chosen(&args.looks)?;
    let word = |value: &dyn std::fmt::Debug| format!("{value:?}").to_lowercase();
    let yes = |b: bool| if b { "yes" } else { "no" }.to_owned();
    let color = match c.color.0 {
        Color::Sixteen => "16".to_owned(),
        Color::Many => "256".to_owned(),
        other => word(&other),
    };
    let rows = [
        ("theme", word(&c.theme.0), c.theme.1),
        ("color", color, c.color.1),
        ("glyphs", word(&c.glyphs.0), c.glyphs.1),
        ("bell", yes(c.bell.0), c.bell.1),
        ("notify", yes(c.notify.0), c.notify.1),
        ("mouse", yes(c.mouse.0), c.mouse.1),
        ("plain", yes(c.plain.0), c.plain.1),
    ];
    let (depth, glyphs) = (depth_word(c.depth()), word(&c.glyph_set()));
    if args.json {
        let settings: serde_json::Map<String, serde_json::Value> = rows
            .into_iter()
            .map(|(name, value, from)| {
                (name.to_owned(), serde_json::json!({"value": value, "from": from.word()}))
            })
            .collect();
        return say_json(&serde_json::json!({
            "format": "dwellhand-preferences-report/1",
            "settings": settings,
            "here": {"colors": depth, "glyphs": glyphs},
        }));
    }
    let mut out = String::new();
    for (name, value, from) in rows {
        let _ = writeln!(out, "{name:<7} {value:<8} {}", from.word());
    }
    let _ = writeln!(out, "\nIn this terminal that means: {depth}, glyphs {glyphs}.");
    say(&out)
}

fn depth_word(depth: Depth) -> &'static str {
    match depth {
        Depth::Mono => "no colour",
        Depth::Sixteen => "16 colours",
        Depth::Many => "256 colours",
        Depth::Full => "any colour",
    }
}
