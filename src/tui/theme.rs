//! Roles and their looks. A quiet field; colour only where a hand is needed, and never alone: every role that colours
//! something also has a word, a letter or a shape on the screen.
//!
//! Three grounds: the terminal's own colours, dark, light. `tests/it/looks.rs` works out the contrast of every pair of
//! ink and field on every screen (4.5:1 at least), and how far apart the fields are to colour-blind eyes.

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
    /// Any colour.
    Full,
}

/// What the screens are painted on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Ground {
    /// The terminal's own colours, whatever they are.
    #[default]
    Own,
    /// Light letters on black.
    Dark,
    /// Dark letters on white, for a bright hall.
    Light,
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

/// Looks for all roles at one colour depth on one ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Theme {
    /// How many colours may be used.
    pub depth: Depth,
    /// What they are painted on.
    pub ground: Ground,
}

/// One colour at three depths: any, nearest of 256, of sixteen.
#[derive(Clone, Copy)]
struct Hue(u32, u8, u8);

/// Letters and what is behind them.
#[derive(Clone, Copy)]
struct Field(Hue, Hue);

const BLACK: Hue = Hue(0x00_00_00, 16, 0);
const WHITE: Hue = Hue(0xff_ff_ff, 231, 15);

// Warm and cool hues that stay apart under all three kinds of colour blindness: Okabe and Ito's set, darkened for the
// light ground. Of the sixteen only the dark eight are sure to exist behind letters, and bold black is grey on a plain
// console: so white letters there.
const VERMILLION: Field = Field(Hue(0xd5_5e_00, 166, 1), BLACK);
const YELLOW: Field = Field(Hue(0xf0_e4_42, 221, 3), BLACK);
const SKY: Field = Field(Hue(0x56_b4_e9, 74, 4), BLACK);
const RUST: Field = Field(Hue(0xa3_47_00, 130, 1), WHITE);
const AMBER: Field = Field(Hue(0xf5_c7_10, 220, 3), BLACK);
const BLUE: Field = Field(Hue(0x00_5f_9e, 25, 4), WHITE);

/// Black, white and grey of the dark ground, and of the light one.
const NIGHT: Field = Field(Hue(0x12_12_12, 233, 0), Hue(0xd0_d0_d0, 252, 7));
const PAPER: Field = Field(Hue(0xff_ff_ff, 231, 7), Hue(0x1c_1c_1c, 234, 0));
const GREY_ON_NIGHT: Hue = Hue(0x8a_8a_8a, 245, 7);
const GREY_ON_PAPER: Hue = Hue(0x62_62_62, 241, 0);
/// The one grey that is 4.5:1 on black and on white.
const GREY_ON_BOTH: Hue = Hue(0x76_76_76, 243, 7);

impl Hue {
    fn at(self, depth: Depth) -> Color {
        match depth {
            Depth::Mono => Color::Reset,
            Depth::Sixteen => Color::Indexed(self.2),
            Depth::Many => Color::Indexed(self.1),
            Depth::Full => Color::from_u32(self.0),
        }
    }
}

impl Theme {
    /// The look of a role.
    pub fn style(self, role: Role) -> Style {
        let plain = Style::new();
        let bold = plain.add_modifier(Modifier::BOLD);
        let reverse = plain.add_modifier(Modifier::REVERSED);
        match role {
            Role::Text => plain,
            Role::Quiet => self.quiet(),
            Role::Strong | Role::Heading => self.strong(),
            Role::Focused => bold.add_modifier(Modifier::UNDERLINED),
            Role::Chosen => reverse,
            Role::Answer => self.field(if self.ground == Ground::Light { BLUE } else { SKY }),
            Role::Soon => self.field(if self.ground == Ground::Light { AMBER } else { YELLOW }),
            Role::Over => self.field(if self.ground == Ground::Light { RUST } else { VERMILLION }),
        }
    }

    fn strong(self) -> Style {
        let bold = Style::new().add_modifier(Modifier::BOLD);
        if self.depth == Depth::Sixteen && self.ground == Ground::Light {
            // Bold black may come out grey.
            return Style::new().fg(Color::Indexed(4));
        }
        bold
    }

    fn quiet(self) -> Style {
        let grey = match self.ground {
            Ground::Own => GREY_ON_BOTH,
            Ground::Dark => GREY_ON_NIGHT,
            Ground::Light => GREY_ON_PAPER,
        };
        match self.depth {
            // The grey of the sixteen is too dark to read on some terminals.
            Depth::Mono | Depth::Sixteen => Style::new(),
            depth => Style::new().fg(grey.at(depth)),
        }
    }

    fn field(self, Field(behind, ink): Field) -> Style {
        let bold = Style::new().add_modifier(Modifier::BOLD);
        match (self.depth, behind.2) {
            // The yellow of the sixteen is brown on a plain console.
            (Depth::Mono, _) | (Depth::Sixteen, 3) => Style::new().add_modifier(Modifier::REVERSED),
            (Depth::Sixteen, n) => bold.fg(WHITE.at(self.depth)).bg(Color::Indexed(n)),
            (depth, _) => bold.fg(ink.at(depth)).bg(behind.at(depth)),
        }
    }

    /// The last pass over a frame: lays the ground; without colour nothing coloured may be left, whoever painted it. Nor
    /// bold letters on a reversed field, which are grey on grey on a plain console.
    pub fn finish(self, buf: &mut Buffer) {
        for cell in &mut buf.content {
            if cell.modifier.contains(Modifier::REVERSED) && cell.symbol() != " " {
                cell.modifier.remove(Modifier::BOLD);
            }
        }
        if self.depth == Depth::Mono {
            for cell in &mut buf.content {
                cell.fg = Color::Reset;
                cell.bg = Color::Reset;
            }
            return;
        }
        let Field(behind, ink) = match self.ground {
            Ground::Own => return,
            Ground::Dark => NIGHT,
            Ground::Light => PAPER,
        };
        for cell in &mut buf.content {
            if cell.fg == Color::Reset {
                cell.fg = ink.at(self.depth);
            }
            if cell.bg == Color::Reset {
                cell.bg = behind.at(self.depth);
            }
        }
    }
}

/// How many colours to use, from what the person asked for and what the terminal says.
///
/// 1. `--color never` and `always`, and a depth by name, win.
/// 2. A set `NO_COLOR` means none.
/// 3. `dumb` has none.
/// 4. `COLORTERM` of `truecolor` or `24bit` has all, outside tmux and screen, which may not pass them on.
/// 5. A name with `256`, or any other `COLORTERM` outside tmux and screen, has many.
/// 6. Anything else has sixteen.
pub fn depth(asked: Option<Asked>, no_color: Option<&str>, term: &str, colorterm: Option<&str>) -> Depth {
    let silenced = no_color.is_some_and(|v| !v.is_empty());
    match asked {
        Some(Asked::Never) => return Depth::Mono,
        Some(Asked::Exactly(depth)) => return depth,
        None if silenced || term == "dumb" => return Depth::Mono,
        Some(Asked::Always) | None => {}
    }
    let inside = term.starts_with("screen") || term.starts_with("tmux");
    match colorterm.filter(|v| !v.is_empty() && !inside) {
        Some("truecolor" | "24bit") => Depth::Full,
        Some(_) => Depth::Many,
        None if term.contains("256") => Depth::Many,
        None => Depth::Sixteen,
    }
}

/// What a person asks for about colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// None.
    Never,
    /// As many as the terminal has, whatever else is set.
    Always,
    /// So many.
    Exactly(Depth),
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_person_asks_for_comes_before_what_the_terminal_says() {
        let xterm = "xterm-256color";
        assert_eq!(depth(Some(Asked::Never), None, xterm, None), Depth::Mono);
        assert_eq!(depth(Some(Asked::Always), Some("1"), xterm, None), Depth::Many);
        assert_eq!(depth(Some(Asked::Exactly(Depth::Sixteen)), Some("1"), xterm, None), Depth::Sixteen);
        assert_eq!(depth(None, Some("1"), xterm, None), Depth::Mono);
        assert_eq!(depth(None, Some(""), xterm, None), Depth::Many);
        assert_eq!(depth(None, None, xterm, Some("truecolor")), Depth::Full);
        assert_eq!(depth(None, None, "xterm", Some("yes")), Depth::Many);
        assert_eq!(depth(None, None, "linux", None), Depth::Sixteen);
        assert_eq!(depth(None, None, "screen", Some("truecolor")), Depth::Sixteen);
        assert_eq!(depth(None, None, "tmux-256color", Some("truecolor")), Depth::Many);
        assert_eq!(depth(None, None, "dumb", None), Depth::Mono);
    }
}
