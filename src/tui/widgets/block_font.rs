//! Own letters of at most five by five cells, for consoles whose fonts have no quarter blocks.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

/// Rows of a letter.
pub const HEIGHT: u16 = 5;

/// Five rows of five cells, `#` is ink.
const LETTERS: &[(char, [&[u8; 5]; 5])] = &[
    ('A', [b".###.", b"#...#", b"#####", b"#...#", b"#...#"]),
    ('B', [b"####.", b"#...#", b"####.", b"#...#", b"####."]),
    ('C', [b".####", b"#....", b"#....", b"#....", b".####"]),
    ('D', [b"####.", b"#...#", b"#...#", b"#...#", b"####."]),
    ('E', [b"#####", b"#....", b"####.", b"#....", b"#####"]),
    ('F', [b"#####", b"#....", b"####.", b"#....", b"#...."]),
    ('G', [b".####", b"#....", b"#..##", b"#...#", b".####"]),
    ('H', [b"#...#", b"#...#", b"#####", b"#...#", b"#...#"]),
    ('I', [b".###.", b"..#..", b"..#..", b"..#..", b".###."]),
    ('J', [b"..###", b"...#.", b"...#.", b"#..#.", b".##.."]),
    ('K', [b"#...#", b"#..#.", b"###..", b"#..#.", b"#...#"]),
    ('L', [b"#....", b"#....", b"#....", b"#....", b"#####"]),
    ('M', [b"#...#", b"##.##", b"#.#.#", b"#...#", b"#...#"]),
    ('N', [b"#...#", b"##..#", b"#.#.#", b"#..##", b"#...#"]),
    ('O', [b"#####", b"#...#", b"#...#", b"#...#", b"#####"]),
    ('P', [b"####.", b"#...#", b"####.", b"#....", b"#...."]),
    ('Q', [b".###.", b"#...#", b"#.#.#", b"#..#.", b".##.#"]),
    ('R', [b"####.", b"#...#", b"####.", b"#..#.", b"#...#"]),
    ('S', [b".####", b"#....", b".###.", b"....#", b"####."]),
    ('T', [b"#####", b"..#..", b"..#..", b"..#..", b"..#.."]),
    ('U', [b"#...#", b"#...#", b"#...#", b"#...#", b".###."]),
    ('V', [b"#...#", b"#...#", b"#...#", b".#.#.", b"..#.."]),
    ('W', [b"#...#", b"#...#", b"#.#.#", b"##.##", b"#...#"]),
    ('X', [b"#...#", b".#.#.", b"..#..", b".#.#.", b"#...#"]),
    ('Y', [b"#...#", b".#.#.", b"..#..", b"..#..", b"..#.."]),
    ('Z', [b"#####", b"...#.", b"..#..", b".#...", b"#####"]),
    ('0', [b".###.", b"#...#", b"#...#", b"#...#", b".###."]),
    ('1', [b"..#..", b".##..", b"..#..", b"..#..", b".###."]),
    ('2', [b"####.", b"....#", b".###.", b"#....", b"#####"]),
    ('3', [b"####.", b"....#", b".###.", b"....#", b"####."]),
    ('4', [b"#..#.", b"#..#.", b"#####", b"...#.", b"...#."]),
    ('5', [b"#####", b"#....", b"####.", b"....#", b"####."]),
    ('6', [b".###.", b"#....", b"####.", b"#...#", b".###."]),
    ('7', [b"#####", b"....#", b"...#.", b"..#..", b"..#.."]),
    ('8', [b".###.", b"#...#", b".###.", b"#...#", b".###."]),
    ('9', [b".###.", b"#...#", b".####", b"....#", b".###."]),
    (':', [b".....", b"..#..", b".....", b"..#..", b"....."]),
    ('.', [b".....", b".....", b".....", b".....", b"..#.."]),
    ('-', [b".....", b".....", b".###.", b".....", b"....."]),
    ('+', [b".....", b"..#..", b".###.", b"..#..", b"....."]),
    ('>', [b".#...", b"..#..", b"...#.", b"..#..", b".#..."]),
    (' ', [b".....", b".....", b".....", b".....", b"....."]),
    ('/', [b"....#", b"...#.", b"..#..", b".#...", b"#...."]),
    ('?', [b".###.", b"....#", b"..##.", b".....", b"..#.."]),
    ('_', [b".....", b".....", b".....", b".....", b"#####"]),
];

/// Cells the text takes.
pub fn width(text: &str) -> u16 {
    let all: u16 = text.chars().filter_map(letter).map(|l| l.width + 1).sum();
    all.saturating_sub(1)
}

/// True if every character has a letter.
pub fn has(text: &str) -> bool {
    text.chars().all(|c| letter(c).is_some())
}

/// A letter without its empty columns. Figures keep theirs, so that nothing moves when one changes.
struct Letter {
    rows: &'static [&'static [u8; 5]; 5],
    skip: u16,
    width: u16,
}

fn letter(c: char) -> Option<Letter> {
    let c = c.to_ascii_uppercase();
    let (_, rows) = LETTERS.iter().find(|(k, _)| *k == c)?;
    let inked = |x: &usize| rows.iter().any(|r| r[*x] == b'#');
    let (first, last) = match ((0..5).find(inked), (0..5).rev().find(inked)) {
        (Some(first), Some(last)) if !c.is_ascii_digit() => (first, last),
        (None, _) => (0, 1),
        _ => (0, 4),
    };
    Some(Letter { rows, skip: first as u16, width: (last - first + 1) as u16 })
}

/// Paints the text. `block` is the ink; without one, reversed spaces, which need no glyph at all.
/// Each point of a letter is so many cells wide and high.
pub fn draw(buf: &mut Buffer, area: Rect, text: &str, block: Option<char>, times: u16, style: Style) {
    let area = area.intersection(buf.area);
    let bare = spaces(style);
    let mut left = area.x;
    for letter in text.chars().filter_map(letter) {
        for (y, down) in (area.y..area.bottom()).zip(0..HEIGHT * times) {
            let row = &letter.rows[usize::from(down / times)][usize::from(letter.skip)..];
            for (x, across) in (left..area.right()).zip(0..letter.width * times) {
                if row[usize::from(across / times)] != b'#' {
                    continue;
                }
                let cell = &mut buf[(x, y)];
                if let Some(block) = block {
                    cell.set_char(block).set_style(style);
                } else {
                    cell.reset();
                    cell.set_style(bare);
                }
            }
        }
        left = left.saturating_add((letter.width + 1) * times);
    }
}

/// The style in which a space stands out from a field of `style`.
fn spaces(style: Style) -> Style {
    match style.bg {
        Some(_) => Style::new().bg(style.fg.unwrap_or_default()),
        None if style.add_modifier.contains(Modifier::REVERSED) => Style::new(),
        None => style.add_modifier(Modifier::REVERSED),
    }
}
