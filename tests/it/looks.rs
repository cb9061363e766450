//! Contrast and colour blindness, worked out cell by cell from what is painted.
#![allow(clippy::unreadable_literal, reason = "six digits are how a colour is written")]

use super::scene::{self, Scene};
use super::screens::{app, painted, press};
use dwellhand::tui::screens::Look;
use dwellhand::tui::theme::{Role, Theme};
use dwellhand::tui::{Depth, GlyphSet, Ground};
use ratatui::buffer::Cell;
use ratatui::style::{Color, Modifier};

type Rgb = [f64; 3];

/// What a terminal makes of colours: its first sixteen, letters and ground where nothing is said, and whether bold
/// brightens the dark eight.
struct Palette {
    name: &'static str,
    sixteen: [u32; 16],
    letters: u32,
    ground: u32,
    bold_is_bright: bool,
}

/// Defaults of xterm, of the Linux console and of the Windows console, as their sources and manuals give them; from
/// memory.
const XTERM: [u32; 16] = [
    0x000000, 0xcd0000, 0x00cd00, 0xcdcd00, 0x0000ee, 0xcd00cd, 0x00cdcd, 0xe5e5e5, 0x7f7f7f, 0xff0000,
    0x00ff00, 0xffff00, 0x5c5cff, 0xff00ff, 0x00ffff, 0xffffff,
];
const LINUX: [u32; 16] = [
    0x000000, 0xaa0000, 0x00aa00, 0xaa5500, 0x0000aa, 0xaa00aa, 0x00aaaa, 0xaaaaaa, 0x555555, 0xff5555,
    0x55ff55, 0xffff55, 0x5555ff, 0xff55ff, 0x55ffff, 0xffffff,
];
const WINDOWS: [u32; 16] = [
    0x0c0c0c, 0xc50f1f, 0x13a10e, 0xc19c00, 0x0037da, 0x881798, 0x3a96dd, 0xcccccc, 0x767676, 0xe74856,
    0x16c60c, 0xf9f1a5, 0x3b78ff, 0xb4009e, 0x61d6d6, 0xf2f2f2,
];

const PALETTES: [Palette; 4] = [
    Palette {
        name: "xterm, dark",
        sixteen: XTERM,
        letters: 0xe5e5e5,
        ground: 0x000000,
        bold_is_bright: false,
    },
    Palette {
        name: "xterm, light",
        sixteen: XTERM,
        letters: 0x000000,
        ground: 0xffffff,
        bold_is_bright: false,
    },
    Palette {
        name: "Linux console",
        sixteen: LINUX,
        letters: 0xaaaaaa,
        ground: 0x000000,
        bold_is_bright: true,
    },
    Palette {
        name: "Windows console",
        sixteen: WINDOWS,
        letters: 0xcccccc,
        ground: 0x0c0c0c,
        bold_is_bright: false,
    },
];

fn rgb(hex: u32) -> Rgb {
    [16, 8, 0].map(|shift| f64::from((hex >> shift) & 0xff) / 255.0)
}

impl Palette {
    /// The 256 colours: the sixteen, a cube of six steps, greys.
    fn indexed(&self, n: u8) -> Rgb {
        const STEPS: [u32; 6] = [0, 95, 135, 175, 215, 255];
        let cube = |n: u8| STEPS[usize::from(n % 6)];
        rgb(match n {
            0..16 => self.sixteen[usize::from(n)],
            16..232 => (cube((n - 16) / 36) << 16) | (cube((n - 16) / 6) << 8) | cube(n - 16),
            232.. => (8 + 10 * u32::from(n - 232)) * 0x01_01_01,
        })
    }

    fn color(&self, color: Color, otherwise: u32) -> Rgb {
        match color {
            Color::Reset => rgb(otherwise),
            Color::Indexed(n) => self.indexed(n),
            Color::Rgb(r, g, b) => [r, g, b].map(|c| f64::from(c) / 255.0),
            other => panic!("{other:?} is not one of the colours of the theme"),
        }
    }

    /// Letters and what is behind them as the eye sees them.
    fn seen(&self, cell: &Cell) -> (Rgb, Rgb) {
        let brightened = |color: Color| match color {
            Color::Indexed(n @ 0..8) => Color::Indexed(n + 8),
            Color::Reset if self.letters == self.sixteen[7] => Color::Indexed(15),
            other => other,
        };
        let reversed = cell.modifier.contains(Modifier::REVERSED);
        let (mut fg, mut bg) = (cell.fg, cell.bg);
        let (mut ink, mut behind) = (self.letters, self.ground);
        if reversed {
            (fg, bg, ink, behind) = (bg, fg, behind, ink);
            if fg == Color::Reset && self.bold_is_bright {
                fg = Color::Indexed(0);
            }
        }
        if self.bold_is_bright && cell.modifier.contains(Modifier::BOLD) {
            fg = brightened(fg);
        }
        (self.color(fg, ink), self.color(bg, behind))
    }
}

fn linear(c: f64) -> f64 {
    if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
}

/// Relative luminance and contrast as in WCAG 2.2.
fn luminance(c: Rgb) -> f64 {
    let [r, g, b] = c.map(linear);
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

fn contrast(a: Rgb, b: Rgb) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// What a colour looks like to an eye without one kind of cone: Machado, Oliveira and Fernandes (2009), severity 1.
const EYES: [(&str, [Rgb; 3]); 4] = [
    ("all cones", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
    (
        "protan",
        [
            [0.152_286, 1.052_583, -0.204_868],
            [0.114_503, 0.786_281, 0.099_216],
            [-0.003_882, -0.048_116, 1.051_998],
        ],
    ),
    (
        "deutan",
        [
            [0.367_322, 0.860_646, -0.227_968],
            [0.280_085, 0.672_501, 0.047_413],
            [-0.011_820, 0.042_940, 0.968_881],
        ],
    ),
    (
        "tritan",
        [
            [1.255_528, -0.076_749, -0.178_779],
            [-0.078_411, 0.930_809, 0.147_602],
            [0.004_733, 0.691_367, 0.303_900],
        ],
    ),
];

/// CIE L*a*b* under D65, as that eye sees it.
fn lab(color: Rgb, eye: &[Rgb; 3]) -> Rgb {
    const XYZ: [Rgb; 3] = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]];
    const WHITE: Rgb = [0.9505, 1.0, 1.089];
    let dot = |row: &Rgb, v: &Rgb| row.iter().zip(v).map(|(p, q)| p * q).sum::<f64>();
    let light = color.map(linear);
    let seen = eye.each_ref().map(|row| dot(row, &light).clamp(0.0, 1.0));
    let curve = |t: f64| if t > 0.008_856 { t.cbrt() } else { 7.787 * t + 16.0 / 116.0 };
    let [x, y, z] = [0, 1, 2].map(|i| curve(dot(&XYZ[i], &seen) / WHITE[i]));
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

fn apart(a: Rgb, b: Rgb, eye: &[Rgb; 3]) -> f64 {
    let (a, b) = (lab(a, eye), lab(b, eye));
    a.iter().zip(b).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt()
}

const DEPTHS: [Depth; 4] = [Depth::Mono, Depth::Sixteen, Depth::Many, Depth::Full];
const GROUNDS: [Ground; 3] = [Ground::Own, Ground::Dark, Ground::Light];

/// Screens on which every role appears, with the keys that lead there.
fn screens() -> Vec<(Scene, &'static str)> {
    let keys = ["", "2 Down", "3 Down", "4", "5", "6 Tab", "7 Tab", "x", "l", "?", "q", "h", "u"];
    let mut all: Vec<(Scene, &'static str)> = keys.into_iter().map(|k| (scene::trouble(), k)).collect();
    all.extend([
        (scene::calm(), ""),
        (scene::waiting(), ""),
        (scene::hanging(), ""),
        (scene::finished(), ""),
    ]);
    all
}

/// What the quiet grey reaches on the terminal's own ground: 4.5 on black and on white; on a ground between them, which
/// the program cannot know, no grey reaches it on both sides. It frames and dims, and is never needed.
const QUIET_ON_UNKNOWN: f64 = 4.3;

#[test]
fn every_letter_stands_out_from_what_is_behind_it() {
    let mut least = f64::INFINITY;
    for (scene, keys) in screens() {
        let board = scene.board();
        let mut app = app(&scene);
        app.see(&board);
        press(&mut app, &board, keys);
        for (depth, ground) in DEPTHS.into_iter().flat_map(|d| GROUNDS.map(|g| (d, g))) {
            let look = Look::new(depth, GlyphSet::Full).on(ground);
            for size in [(80, 24), (200, 60)] {
                let buf = painted(&board, &app, size, &look);
                for palette in &PALETTES {
                    for cell in buf.content.iter().filter(|c| c.symbol() != " ") {
                        let (ink, behind) = palette.seen(cell);
                        let ratio = contrast(ink, behind);
                        let (fg, bg, how) = (cell.fg, cell.bg, cell.modifier);
                        let unknown =
                            ground == Ground::Own && ![0x00_00_00, 0xff_ff_ff].contains(&palette.ground);
                        let quiet =
                            fg == look.style(Role::Quiet).fg.unwrap_or(Color::Reset) && fg != Color::Reset;
                        let enough = if unknown && quiet { QUIET_ON_UNKNOWN } else { 4.5 };
                        assert!(
                            ratio >= enough,
                            "{ratio:.1}:1 for {:?}, {fg} on {bg} {how:?}; {depth:?} {ground:?} on {}; keys {keys:?}",
                            cell.symbol(),
                            palette.name
                        );
                        least = least.min(ratio);
                    }
                }
            }
        }
    }
    println!("least contrast {least:.2}:1");
}

/// The field a role paints, as a cell of its own.
fn field(theme: Theme, role: Role) -> Cell {
    let mut buf = ratatui::buffer::Buffer::empty(ratatui::layout::Rect::new(0, 0, 1, 1));
    buf.set_string(0, 0, "x", theme.style(role));
    theme.finish(&mut buf);
    buf[(0, 0)].clone()
}

#[test]
fn what_is_over_what_is_soon_and_what_is_quiet_stay_apart_for_every_eye() {
    // A difference of 2.3 is just noticed side by side.
    const FAR: f64 = 20.0;
    let mut least = f64::INFINITY;
    for (depth, ground) in
        [Depth::Sixteen, Depth::Many, Depth::Full].into_iter().flat_map(|d| GROUNDS.map(|g| (d, g)))
    {
        let theme = Theme { depth, ground };
        for palette in &PALETTES {
            let behind = |role| palette.seen(&field(theme, role)).1;
            let fields =
                [("quiet", behind(Role::Text)), ("soon", behind(Role::Soon)), ("over", behind(Role::Over))];
            for (eye, cones) in &EYES {
                for (i, (a, one)) in fields.iter().enumerate() {
                    for (b, other) in &fields[i + 1..] {
                        let d = apart(*one, *other, cones);
                        assert!(
                            d >= FAR,
                            "{a} and {b}: {d:.0}; {depth:?} {ground:?} on {}, {eye}",
                            palette.name
                        );
                        least = least.min(d);
                    }
                }
            }
        }
    }
    println!("least distance {least:.0}");
}

/// The arithmetic against figures anyone can look up: black on white is 21:1, `#767676` on white 4.54:1 (WCAG's own
/// example), and red and green of equal lightness come together for an eye without one of the two cones.
#[test]
fn the_arithmetic_is_right() {
    assert!((contrast(rgb(0), rgb(0xff_ff_ff)) - 21.0).abs() < 1e-9);
    assert!((contrast(rgb(0x76_76_76), rgb(0xff_ff_ff)) - 4.54).abs() < 0.005);
    let [white, ..] = lab(rgb(0xff_ff_ff), &EYES[0].1);
    assert!((white - 100.0).abs() < 0.1);
    let (red, green) = (rgb(0xd0_50_40), rgb(0x70_90_30));
    for (eye, cones) in &EYES[1..3] {
        let (seen, full) = (apart(red, green, cones), apart(red, green, &EYES[0].1));
        assert!(seen < full / 2.0, "{eye}: {seen:.0} of {full:.0}");
    }
}
