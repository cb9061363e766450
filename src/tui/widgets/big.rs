//! Letters that are read from three metres: the largest size that fits whole, else none at all.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::Line;
use ratatui::widgets::Widget;
use tui_big_text::{BigText, PixelSize};

use super::{block_font, text};
use crate::tui::glyphs::GlyphSet;
use crate::tui::screens::Look;

/// A size of letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Size {
    /// Eight cells wide and high, full blocks.
    Full,
    /// Four wide, eight high.
    Tall,
    /// Four wide and high.
    Quarter,
    /// Own letters, five by five.
    Block,
    /// The same, twice as large.
    Double,
}

impl Size {
    /// Rows of a letter.
    pub fn height(self) -> u16 {
        match self {
            Self::Full | Self::Tall => 8,
            Self::Quarter => 4,
            Self::Block => block_font::HEIGHT,
            Self::Double => 2 * block_font::HEIGHT,
        }
    }

    /// Cells a text takes.
    pub fn width(self, text: &str) -> u16 {
        let chars = text::width(text);
        match self {
            Self::Full => chars.saturating_mul(8),
            Self::Tall | Self::Quarter => chars.saturating_mul(4),
            Self::Block => block_font::width(text),
            Self::Double => 2 * block_font::width(text),
        }
    }

    /// True if every letter of the text exists at this size. Beyond ASCII the fonts have holes that show as blanks.
    pub fn has(self, text: &str) -> bool {
        match self {
            Self::Block | Self::Double => block_font::has(text),
            _ => text.chars().all(|c| (' '..='~').contains(&c)),
        }
    }
}

/// Paints a text in the area's top left corner. The caller has made sure that it fits.
pub fn draw(buf: &mut Buffer, area: Rect, text: &str, size: Size, style: Style, look: &Look) {
    let area = area.intersection(buf.area);
    if area.is_empty() {
        return;
    }
    let pixels = match size {
        Size::Full => PixelSize::Full,
        Size::Tall => PixelSize::HalfWidth,
        Size::Quarter => PixelSize::Quadrant,
        Size::Block | Size::Double => {
            let block = (look.glyphs.set != GlyphSet::Ascii).then_some('█');
            block_font::draw(buf, area, text, block, 1 + u16::from(size == Size::Double), style);
            return;
        }
    };
    BigText::builder()
        .pixel_size(pixels)
        .style(style)
        .lines(vec![Line::from(text)])
        .build()
        .render(area, buf);
}

/// How the call is laid out in big letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Plan {
    /// Size of the words.
    pub words: Size,
    /// Size of the figures.
    pub figures: Size,
    /// Words on one row, or verb and carrier above from and to.
    pub rows: u16,
    /// The row the figures stand in, from the top of the area.
    pub figures_y: u16,
    /// All of it, in rows of the screen.
    pub height: u16,
}

/// Space between words and figures.
pub const GAP: u16 = 2;

/// The largest arrangement in which `upper`, `lower` and `figures` are whole.
pub fn plan(area: Rect, upper: &str, lower: &str, figures: &str, set: GlyphSet) -> Option<Plan> {
    let one = format!("{upper} {lower}");
    let full = [
        (Size::Full, Size::Full, 1),
        (Size::Tall, Size::Full, 1),
        (Size::Tall, Size::Tall, 1),
        (Size::Quarter, Size::Full, 2),
        (Size::Quarter, Size::Tall, 2),
        (Size::Quarter, Size::Quarter, 2),
    ];
    let block = [
        (Size::Double, Size::Double, 1),
        (Size::Block, Size::Double, 1),
        (Size::Block, Size::Block, 1),
        (Size::Block, Size::Block, 2),
    ];
    let sizes: &[_] = if set == GlyphSet::Full { &full } else { &block };
    // Room for the plus sign is kept from the start, so that nothing moves when time runs over.
    let counted = if figures.is_empty() { "" } else { "+00:00" };
    sizes.iter().find_map(|&(words, fig, rows)| {
        let known = words.has(&one) && fig.has(figures);
        let beside = fig.width(figures).max(fig.width(counted)) + GAP;
        // Letters without a blank edge of their own need a row between them.
        let second = words.height() + u16::from(words == Size::Block);
        let (up, down) = (words.width(upper), words.width(lower));
        let (width, figures_y) = if rows == 1 {
            (words.width(&one) + beside, 0)
        } else if fig.height() > words.height() {
            (up.max(down) + beside, 0)
        } else if up + beside <= area.width {
            ((up + beside).max(down), 0)
        } else {
            ((down + beside).max(up), second)
        };
        let height = if rows == 1 { words.height() } else { second + words.height() }.max(fig.height());
        (known && width <= area.width && height <= area.height).then_some(Plan {
            words,
            figures: fig,
            rows,
            figures_y,
            height,
        })
    })
}
