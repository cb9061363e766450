//! Roles and their looks. A quiet field in the terminal's own colours; colour only where a hand is needed, and never
//! alone: every role that colours something also has a word, a letter or a shape on the screen.

use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier, Style};

/// How many colours may be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Depth {
    /// None: bold, reverse and words only.
    Mono,
    /// The sixteen every terminal has.
    Sixteen,
    /// The 256-colour palette.
    #[default]
    Many,
}

/// What a piece of the screen means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// Ordinary text.
    Text,
    /// Frames, rules and what may be missed; never anything that is needed.
    Quiet,
    /// What the eye should find first.
    Strong,
    /// A heading.
    Heading,
    /// The heading of the pane that has the keys.
    Focused,
    /// The row the keys act on.
    Chosen,
    /// Something wants a hand soon.
    Soon,
    /// Something is over its limit.
    Over,
    /// An answer of the program.
    Answer,
}

/// Looks for all roles at one colour depth.
///
/// Whether the terminal is dark or light is not known, so a colour is a field under black text, never the colour of
/// text itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Theme {
    /// How many colours may be used.
    pub depth: Depth,
}

/// Warm and cool hues that stay apart under all three kinds of colour blindness (Okabe and Ito's set, nearest of 256).
const VERMILLION: Color = Color::Indexed(208);
const YELLOW: Color = Color::Indexed(221);
const SKY: Color = Color::Indexed(74);
const GREY: Color = Color::Indexed(244);
const INK: Color = Color::Indexed(16);

impl Theme {
    /// The look of a role.
    pub fn style(self, role: Role) -> Style {
        let plain = Style::new();
        let bold = plain.add_modifier(Modifier::BOLD);
        let reverse = plain.add_modifier(Modifier::REVERSED);
        match role {
            Role::Text => plain,
            Role::Quiet => match self.depth {
                Depth::Mono => plain,
                Depth::Sixteen => plain.fg(Color::Indexed(8)),
                Depth::Many => plain.fg(GREY),
            },
            Role::Strong | Role::Heading => bold,
            Role::Focused => bold.add_modifier(Modifier::UNDERLINED),
            Role::Chosen => reverse,
            Role::Answer => match self.depth {
                Depth::Mono => reverse,
                Depth::Sixteen => bold.fg(Color::Indexed(0)).bg(Color::Indexed(14)),
                Depth::Many => bold.fg(INK).bg(SKY),
            },
            Role::Soon => match self.depth {
                Depth::Mono => reverse.add_modifier(Modifier::BOLD),
                Depth::Sixteen => bold.fg(Color::Indexed(0)).bg(Color::Indexed(11)),
                Depth::Many => bold.fg(INK).bg(YELLOW),
            },
            Role::Over => match self.depth {
                Depth::Mono => reverse.add_modifier(Modifier::BOLD),
                Depth::Sixteen => bold.fg(Color::Indexed(0)).bg(Color::Indexed(9)),
                Depth::Many => bold.fg(INK).bg(VERMILLION),
            },
        }
    }

    /// The last pass over a frame: without colour nothing coloured may be left, whoever painted it.
    pub fn finish(self, buf: &mut Buffer) {
        if self.depth == Depth::Mono {
            for cell in &mut buf.content {
                cell.fg = Color::Reset;
                cell.bg = Color::Reset;
            }
        }
    }
}

/// How many colours to use, from what the person asked for and what the terminal says.
///
/// 1. `--color never` and `always` win.
/// 2. A set `NO_COLOR` means none.
/// 3. `dumb` has none.
/// 4. A name with `256`, or a `COLORTERM` outside tmux and screen, has many.
/// 5. Anything else has sixteen.
pub fn depth(asked: Option<bool>, no_color: Option<&str>, term: &str, colorterm: Option<&str>) -> Depth {
    let silenced = no_color.is_some_and(|v| !v.is_empty());
    match asked {
        Some(false) => return Depth::Mono,
        None if silenced || term == "dumb" => return Depth::Mono,
        _ => {}
    }
    let rich = colorterm.is_some_and(|v| !v.is_empty());
    if term.contains("256") || (rich && !term.starts_with("screen") && !term.starts_with("tmux")) {
        Depth::Many
    } else {
        Depth::Sixteen
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_person_asks_for_comes_before_what_the_terminal_says() {
        assert_eq!(depth(Some(false), None, "xterm-256color", None), Depth::Mono);
        assert_eq!(depth(Some(true), Some("1"), "xterm-256color", None), Depth::Many);
        assert_eq!(depth(None, Some("1"), "xterm-256color", None), Depth::Mono);
        assert_eq!(depth(None, Some(""), "xterm-256color", None), Depth::Many);
        assert_eq!(depth(None, None, "linux", None), Depth::Sixteen);
        assert_eq!(depth(None, None, "screen", Some("truecolor")), Depth::Sixteen);
        assert_eq!(depth(None, None, "dumb", None), Depth::Mono);
    }
}
