//! Own letters of five by five cells, for consoles whose fonts have no quarter blocks.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

/// Cells from one letter to the next.
pub const ADVANCE: u16 = 6;

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
    ('O', [b".###.", b"#...#", b"#...#", b"#...#", b".###."]),
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
    ('0', [b".###.", b"#..##", b"#.#.#", b"##..#", b".###."]),
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
    u16::try_from(text.chars().count())
        .unwrap_or(u16::MAX / ADVANCE)
        .saturating_mul(ADVANCE)
        .saturating_sub(1)
}

/// True if every character has a letter.
pub fn has(text: &str) -> bool {
    text.chars().all(|c| letter(c).is_some())
}

fn letter(c: char) -> Option<&'static [&'static [u8; 5]; 5]> {
    let c = c.to_ascii_uppercase();
    LETTERS.iter().find(|(k, _)| *k == c).map(|(_, rows)| rows)
}

/// Paints the text. `block` is the ink; without one, reversed spaces, which need no glyph at all.
pub fn draw(buf: &mut Buffer, area: Rect, text: &str, block: Option<char>, style: Style) {
    let area = area.intersection(buf.area);
    let bare = spaces(style);
    for (i, c) in text.chars().enumerate() {
        let Some(rows) = letter(c) else { continue };
        let left = area.x.saturating_add(u16::try_from(i).unwrap_or(u16::MAX).saturating_mul(ADVANCE));
        for (y, row) in rows.iter().enumerate() {
            for (x, ink) in row.iter().enumerate() {
                let (x, y) = (left.saturating_add(x as u16), area.y.saturating_add(y as u16));
                if *ink != b'#' || x >= area.right() || y >= area.bottom() {
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
