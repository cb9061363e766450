//! Screens: what is on them, in every look and at every size; and what keys do.

#![allow(clippy::unwrap_used, reason = "tests")]

mod fixture;

use std::fmt::Write as _;
use std::sync::Arc;

use dwellhand::tui::app::{App, Pane};
use dwellhand::tui::screens::{Look, paint};
use dwellhand::tui::{Depth, GlyphSet, Post};
use dwellhand::view::Board;
use fixture::Scene;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Color, Modifier};

fn app(scene: &Scene) -> App {
    App::new(Arc::new(scene.line.clone()), Post::Operator, false, false)
}

fn painted(board: &Board, app: &App, size: (u16, u16), look: &Look) -> Buffer {
    let area = Rect::new(0, 0, size.0, size.1);
    let mut buf = Buffer::empty(area);
    paint(&mut buf, area, board, app, look);
    buf
}

fn text(buf: &Buffer) -> String {
    let mut out = String::new();
    for y in 0..buf.area.height {
        let row: String = (0..buf.area.width).map(|x| buf[(x, y)].symbol()).collect();
        out.push_str(row.trim_end());
        out.push('\n');
    }
    out
}

fn ansi(buf: &Buffer) -> String {
    let mut out = String::new();
    let code = |c: Color, base: u8| match c {
        Color::Indexed(n) => format!("{base};5;{n}"),
        _ => format!("{}", base + 1),
    };
    for y in 0..buf.area.height {
        for x in 0..buf.area.width {
            let cell = &buf[(x, y)];
            out.push_str("\x1b[0");
            for (m, n) in [(Modifier::BOLD, 1), (Modifier::UNDERLINED, 4), (Modifier::REVERSED, 7)] {
                if cell.modifier.contains(m) {
                    write!(out, ";{n}").unwrap();
                }
            }
            write!(out, ";{};{}m{}", code(cell.fg, 38), code(cell.bg, 48), cell.symbol()).unwrap();
        }
        out.push_str("\x1b[0m\n");
    }
    out
}

/// Writes pictures of all scenes into the folder named by `DWELLHAND_SHOTS`, as text with colours.
#[test]
#[ignore = "for looking at"]
fn shots() {
    let Ok(folder) = std::env::var("DWELLHAND_SHOTS") else { return };
    let scenes = [
        ("calm", fixture::calm()),
        ("waiting", fixture::waiting()),
        ("hanging", fixture::hanging()),
        ("trouble", fixture::trouble()),
        ("finished", fixture::finished()),
    ];
    let looks = [
        ("", Look::new(Depth::Many, GlyphSet::Full)),
        ("-mono", Look::new(Depth::Mono, GlyphSet::Full)),
        ("-ascii", Look::new(Depth::Sixteen, GlyphSet::Ascii)),
        ("-console", Look::new(Depth::Sixteen, GlyphSet::Console)),
    ];
    for (name, scene) in &scenes {
        let board = scene.board();
        for (suffix, look) in &looks {
            for size in [(80, 24), (120, 40), (200, 60)] {
                let buf = painted(&board, &app(scene), size, look);
                let file = format!("{folder}/{name}{suffix}-{}x{}.ansi", size.0, size.1);
                std::fs::write(file, ansi(&buf)).unwrap();
                if name == &"trouble" {
                    for pane in Pane::ALL {
                        let mut app = app(scene);
                        app.pane = pane;
                        let buf = painted(&board, &app, size, look);
                        let file = format!("{folder}/{pane:?}{suffix}-{}x{}.ansi", size.0, size.1);
                        std::fs::write(file, ansi(&buf)).unwrap();
                    }
                }
            }
        }
    }
}

#[test]
fn dump() {
    let scene = fixture::calm();
    println!(
        "{}",
        text(&painted(&scene.board(), &app(&scene), (80, 24), &Look::new(Depth::Many, GlyphSet::Full)))
    );
}
