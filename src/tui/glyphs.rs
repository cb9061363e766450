//! The drawing characters, in three sets: full, console (what every console font has) and ASCII.

use ratatui::buffer::Buffer;

/// Which characters may be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum GlyphSet {
    /// Anything a terminal emulator shows.
    #[default]
    Full,
    /// ASCII, light box lines, full blocks and arrows: the plain console.
    Console,
    /// Only 0x20 to 0x7e.
    Ascii,
}

/// One set of drawing characters. Each is one cell wide.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Glyphs {
    /// Which set it is.
    pub set: GlyphSet,
    /// Time in the tank that is over.
    pub done: char,
    /// Time in the tank to come.
    pub ahead: char,
    /// Start of the window.
    pub min: char,
    /// End of the window.
    pub max: char,
    /// The dwell to aim for.
    pub target: char,
    /// Now.
    pub now: char,
    /// Now, past the end of the window.
    pub now_over: char,
    /// When the plan lifts.
    pub lift: char,
    /// A rule across the screen.
    pub rule: char,
    /// A rule down the screen.
    pub wall: char,
    /// Corners of a dialog: top left, top right, bottom left, bottom right.
    pub corners: [char; 4],
    /// From here to there.
    pub arrow: char,
    /// More above.
    pub up: char,
    /// More below.
    pub down: char,
    /// Text goes on.
    pub ellipsis: char,
    /// Between two small facts.
    pub dot: char,
    /// The row the keys act on.
    pub pointer: char,
    /// A carrier goes into a tank.
    pub into: char,
    /// A carrier may still wait.
    pub may: char,
    /// A tank may not be used.
    pub shut: char,
    /// A place in time.
    pub tick: char,
}

const FULL: Glyphs = Glyphs {
    set: GlyphSet::Full,
    done: '━',
    ahead: '╌',
    min: '[',
    max: ']',
    target: '+',
    now: '●',
    now_over: '▲',
    lift: '↑',
    rule: '─',
    wall: '│',
    corners: ['┌', '┐', '└', '┘'],
    arrow: '→',
    up: '↑',
    down: '↓',
    ellipsis: '…',
    dot: '·',
    pointer: '▸',
    into: '▐',
    may: '·',
    shut: '░',
    tick: '╷',
};

const CONSOLE: Glyphs = Glyphs {
    set: GlyphSet::Console,
    done: '=',
    ahead: '-',
    now: '■',
    now_over: '!',
    ellipsis: '~',
    dot: '-',
    pointer: '>',
    into: '*',
    shut: 'x',
    tick: '|',
    ..FULL
};

const ASCII: Glyphs = Glyphs {
    set: GlyphSet::Ascii,
    done: '=',
    ahead: '.',
    min: '[',
    max: ']',
    target: '+',
    now: '#',
    now_over: '!',
    lift: '^',
    rule: '-',
    wall: '|',
    corners: ['+', '+', '+', '+'],
    arrow: '>',
    up: '^',
    down: 'v',
    ellipsis: '~',
    dot: '-',
    pointer: '>',
    into: '*',
    may: ':',
    shut: 'x',
    tick: '|',
};

impl Glyphs {
    /// The characters of a set.
    pub fn of(set: GlyphSet) -> Self {
        match set {
            GlyphSet::Full => FULL,
            GlyphSet::Console => CONSOLE,
            GlyphSet::Ascii => ASCII,
        }
    }

    /// The last pass over a frame: names from files may hold characters the set does not have.
    pub fn finish(&self, buf: &mut Buffer) {
        if self.set == GlyphSet::Full {
            return;
        }
        for cell in &mut buf.content {
            let known = cell.symbol().chars().all(|c| self.has(c));
            if !known {
                cell.set_symbol("?");
            }
        }
    }

    fn has(&self, c: char) -> bool {
        let ascii = (' '..='~').contains(&c);
        match self.set {
            GlyphSet::Full => true,
            GlyphSet::Ascii => ascii,
            GlyphSet::Console => {
                ascii || "█■─│┌┐└┘├┤┬┴┼←↑→↓°±≥≤".contains(c) || ('\u{a1}'..='\u{ff}').contains(&c)
            }
        }
    }
}

/// Which set to use: what the person asked for, else what the terminal's name and the locale allow.
pub fn choose(asked: Option<GlyphSet>, term: &str, locale: &str) -> GlyphSet {
    let locale = locale.to_ascii_lowercase();
    let utf8 = locale.contains("utf-8") || locale.contains("utf8");
    asked.unwrap_or(match (utf8, term) {
        (false, _) => GlyphSet::Ascii,
        (true, "linux") => GlyphSet::Console,
        (true, _) => GlyphSet::Full,
    })
}
