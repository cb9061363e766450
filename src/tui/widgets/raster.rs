//! Lines on a grid: eight dots a cell in braille where the terminal has it, one character a cell elsewhere.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use crate::tui::glyphs::GlyphSet;

/// How a line is drawn.
#[derive(Debug, Clone, Copy)]
pub struct Pen {
    /// Its look; the whole cell takes the look of the most important line in it.
    pub style: Style,
    /// How important it is.
    pub rank: u8,
    /// Of so many dots in a row, one is drawn; characters stand closer than dots.
    pub every: usize,
    /// The character for a level stretch where there are no dots.
    pub level: char,
    /// The character for a slope there; by its direction if there is none.
    pub slope: Option<char>,
}

/// A place on the grid, in cells from its upper left corner.
pub type Point = (f64, f64);

#[derive(Debug, Clone, Copy, Default)]
struct Cell {
    dots: u8,
    glyph: Option<char>,
    rank: u8,
    style: Style,
}

/// Lines on their way to the buffer.
#[derive(Debug)]
pub struct Raster {
    area: Rect,
    /// Dots a cell, across and down.
    fine: (i64, i64),
    cells: Vec<Cell>,
}

impl Raster {
    /// Nothing drawn yet.
    pub fn new(area: Rect, set: GlyphSet) -> Self {
        let fine = if set == GlyphSet::Full { (2, 4) } else { (1, 1) };
        let count = usize::from(area.width) * usize::from(area.height);
        Self { area, fine, cells: vec![Cell::default(); count] }
    }

    /// Draws a straight line; what lies outside is left out.
    pub fn line(&mut self, from: Point, to: Point, pen: &Pen) {
        let (across, down) = (self.fine.0 as f64, self.fine.1 as f64);
        let width = f64::from(self.area.width);
        if from.0.max(to.0) < 0.0 || from.0.min(to.0) >= width {
            return;
        }
        // Long level lines reach far out on both sides.
        let clip = |(x, y): Point, (ox, oy): Point| {
            let inside = x.clamp(-1.0, width + 1.0);
            if inside.total_cmp(&x).is_eq() {
                (x, y)
            } else {
                (inside, y + (oy - y) * (inside - x) / (ox - x))
            }
        };
        let (a, b) = (clip(from, to), clip(to, from));
        let (x0, y0) = ((a.0 * across).floor() as i64, (a.1 * down).floor() as i64);
        let (x1, y1) = ((b.0 * across).floor() as i64, (b.1 * down).floor() as i64);
        let (dx, dy) = (x1 - x0, y1 - y0);
        let steps = dx.abs().max(dy.abs());
        let glyph = match (dx, dy) {
            (_, 0) => pen.level,
            _ if pen.slope.is_some() => pen.slope.unwrap_or(pen.level),
            (0, _) => '|',
            (_, dy) if dy > 0 => '\\',
            _ => '/',
        };
        let every = if self.fine == (1, 1) { pen.every.div_ceil(3) } else { pen.every } as i64;
        for i in 0..=steps {
            let at = |start: i64, by: i64| {
                if steps == 0 { start } else { start + (by * i * 2 + steps) / (2 * steps) }
            };
            let (x, y) = (at(x0, dx), at(y0, dy));
            // Counted over the grid, so that dots stay where they are while a line grows.
            let place = if dx.abs() >= dy.abs() { x } else { y };
            if place.rem_euclid(every) == 0 {
                self.dot(x, y, glyph, pen);
            }
        }
    }

    fn dot(&mut self, x: i64, y: i64, glyph: char, pen: &Pen) {
        let (w, h) = (i64::from(self.area.width), i64::from(self.area.height));
        let (cx, cy) = (x.div_euclid(self.fine.0), y.div_euclid(self.fine.1));
        if !(0..w).contains(&cx) || !(0..h).contains(&cy) {
            return;
        }
        let cell = &mut self.cells[(cy * w + cx) as usize];
        cell.dots |= bit(x.rem_euclid(self.fine.0), y.rem_euclid(self.fine.1));
        if pen.rank >= cell.rank {
            (cell.rank, cell.style, cell.glyph) = (pen.rank, pen.style, Some(glyph));
        }
    }

    /// True if nothing is drawn there.
    pub fn is_blank(&self, x: u16, y: u16) -> bool {
        x >= self.area.width
            || y >= self.area.height
            || self.cells[usize::from(y) * usize::from(self.area.width) + usize::from(x)].glyph.is_none()
    }

    /// Puts everything into the buffer.
    pub fn paint(&self, buf: &mut Buffer) {
        let width = usize::from(self.area.width.max(1));
        for (ix, cell) in self.cells.iter().enumerate() {
            let Some(glyph) = cell.glyph else { continue };
            let at = (self.area.x + (ix % width) as u16, self.area.y + (ix / width) as u16);
            if let Some(target) = buf.cell_mut(at) {
                let c = if self.fine == (1, 1) { glyph } else { braille(cell.dots) };
                target.set_char(c).set_style(cell.style);
            }
        }
    }
}

/// The bit of a dot in Unicode's braille patterns: the first six dots go down two columns, the last two lie below.
fn bit(x: i64, y: i64) -> u8 {
    match (x, y) {
        (x, 3) => 0x40 << x,
        (0, y) => 1 << y,
        (_, y) => 8 << y,
    }
}

fn braille(dots: u8) -> char {
    char::from_u32(0x2800 + u32::from(dots)).unwrap_or(' ')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(set: GlyphSet, lines: &[(Point, Point)]) -> Vec<String> {
        let area = Rect::new(0, 0, 4, 2);
        let mut raster = Raster::new(area, set);
        let pen = Pen { style: Style::new(), rank: 1, every: 1, level: '-', slope: None };
        for (from, to) in lines {
            raster.line(*from, *to, &pen);
        }
        let mut buf = Buffer::empty(area);
        raster.paint(&mut buf);
        (0..2).map(|y| (0..4).map(|x| buf[(x, y)].symbol()).collect()).collect()
    }

    #[test]
    fn a_diagonal_goes_through_its_dots() {
        // From the upper left dot to the lower right one of 8 by 8.
        assert_eq!(drawn(GlyphSet::Full, &[((0.0, 0.0), (3.9, 1.9))]), ["⠑⢄  ", "  ⠑⢄"]);
        assert_eq!(drawn(GlyphSet::Ascii, &[((0.0, 0.0), (3.9, 1.9))]), ["\\\\  ", "  \\\\"]);
    }

    #[test]
    fn a_line_that_reaches_far_out_is_drawn_where_it_is_seen() {
        let far = [((-1e6, 0.5), (1e6, 0.5))];
        assert_eq!(drawn(GlyphSet::Ascii, &far), ["----", "    "]);
        assert_eq!(drawn(GlyphSet::Full, &far), ["⠤⠤⠤⠤", "    "]);
        assert_eq!(drawn(GlyphSet::Ascii, &[((5.0, 0.0), (9.0, 1.0))]), ["    ", "    "]);
    }
}
