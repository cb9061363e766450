//! Promises of the mouse: it moves about like the arrows and numbers, and says nothing.

use crossterm::event::{KeyModifiers, MouseButton, MouseEvent, MouseEventKind};
use dwellhand::tui::action::Action;
use dwellhand::tui::app::{App, Pane, Screen, update};
use dwellhand::tui::desk::Part;
use dwellhand::tui::dialog::Dialog;
use dwellhand::tui::screens::{Look, paint};
use dwellhand::tui::{Depth, GlyphSet, Post, mouse};
use dwellhand::view::Board;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::scene;
use crate::screens::press;

const SMALL: Rect = Rect { x: 0, y: 0, width: 80, height: 24 };
const WIDE: Rect = Rect { x: 0, y: 0, width: 120, height: 40 };
const LARGE: Rect = Rect { x: 0, y: 0, width: 200, height: 60 };

fn begun(post: Post) -> (App, Board) {
    let scene = scene::trouble();
    let mut app = App::new(std::sync::Arc::new(scene.line.clone()), post, false, false);
    app.learn(&scene.line, &scene.history.state().book);
    let board = scene.board();
    app.see(&board);
    (app, board)
}

/// The symbols on the screen, row by row.
fn cells(app: &App, board: &Board, area: Rect) -> Vec<Vec<String>> {
    let mut buf = Buffer::empty(area);
    paint(&mut buf, area, board, app, &Look::new(Depth::Many, GlyphSet::Full));
    let row = |y| (0..area.width).map(|x| buf[(x, y)].symbol().to_owned()).collect();
    (0..area.height).map(row).collect()
}

/// The first place on the screen where these words stand.
fn place(app: &App, board: &Board, area: Rect, words: &str) -> Option<(u16, u16)> {
    let letters: Vec<String> = words.chars().map(String::from).collect();
    let cells = cells(app, board, area);
    let found = cells.iter().enumerate().find_map(|(y, row)| {
        let x = row.windows(letters.len()).position(|part| part == letters)?;
        Some((x, y))
    });
    found.map(|(x, y)| (x as u16, y as u16))
}

/// What the mouse asks for is done; nothing of it may say anything.
fn mouse(app: &mut App, board: &Board, area: Rect, kind: MouseEventKind, at: (u16, u16)) -> Vec<Action> {
    let event = MouseEvent { kind, column: at.0, row: at.1, modifiers: KeyModifiers::NONE };
    let actions = mouse::actions(event, app, board, area);
    for action in &actions {
        assert!(!action.speaks(), "{action:?}");
        assert_eq!(update(app, *action, board, board.now), []);
    }
    actions
}

fn click(app: &mut App, board: &Board, area: Rect, at: (u16, u16)) -> Vec<Action> {
    mouse(app, board, area, MouseEventKind::Down(MouseButton::Left), at)
}

fn click_on(app: &mut App, board: &Board, area: Rect, words: &str) {
    let (x, y) = place(app, board, area, words).unwrap_or_else(|| panic!("{words} is not there"));
    click(app, board, area, (x + 1, y));
}

#[test]
fn a_click_on_a_tab_goes_there() {
    let (mut app, board) = begun(Post::Supervisor);
    click_on(&mut app, &board, SMALL, " 1 Call ");
    assert_eq!(app.screen, Screen::Live);
    click_on(&mut app, &board, SMALL, " 4 What happened ");
    assert_eq!(app.pane, Pane::Log);
    click_on(&mut app, &board, WIDE, " 3 Next");
    assert_eq!(app.pane, Pane::Queue);
    press(&mut app, &board, "5");
    for (tab, screen) in
        [(" 6 Ways", Screen::Chart), (" 7 Tanks", Screen::Tanks), (" 5 Board", Screen::Board)]
    {
        click_on(&mut app, &board, LARGE, tab);
        assert_eq!(app.screen, screen);
    }
}

/// Where the pointer stands after so many arrows, from what is chosen on.
fn pointers(app: &App, board: &Board, area: Rect, arrows: usize) -> Vec<((u16, u16), App)> {
    let mut app = app.clone();
    let mut found = Vec::new();
    for _ in 0..arrows {
        press(&mut app, board, "Down");
        found.extend(place(&app, board, area, "▸").map(|at| (at, app.clone())));
    }
    found
}

fn rows_are_chosen(app: &App, board: &Board, arrows: usize) {
    for area in [SMALL, WIDE, LARGE] {
        let rows = pointers(app, board, area, arrows);
        assert!(rows.len() >= 3, "{area:?} has rows");
        let all: Vec<_> = rows.iter().map(|(at, _)| *at).collect();
        for (ix, ((x, y), there)) in rows.iter().enumerate() {
            // Rows that have scrolled stand where others stood.
            if all.iter().filter(|at| *at == &(*x, *y)).count() > 1 {
                continue;
            }
            let mut from = rows[(ix + 2) % rows.len()].1.clone();
            click(&mut from, board, area, (x + 5, *y));
            assert_eq!((from.chosen, &from.desk), (there.chosen, &there.desk), "{area:?} row {ix}");
        }
    }
}

#[test]
fn a_click_on_a_row_chooses_it() {
    let (mut app, board) = begun(Post::Operator);
    rows_are_chosen(&app, &board, 6);
    press(&mut app, &board, "4");
    rows_are_chosen(&app, &board, 4);
    press(&mut app, &board, "5");
    rows_are_chosen(&app, &board, 3);
    app.desk.part = Part::Tanks;
    rows_are_chosen(&app, &board, 9);
}

#[test]
fn a_click_beside_the_rows_chooses_none() {
    let (mut app, board) = begun(Post::Operator);
    press(&mut app, &board, "Down Down");
    let before = app.clone();
    for at in [(3, 0), (40, 5), (79, 23), (0, 23), (200, 200)] {
        assert_eq!(click(&mut app, &board, SMALL, at), []);
    }
    assert_eq!(app, before);
}

#[test]
fn the_wheel_goes_as_the_arrows_do() {
    let (mut app, board) = begun(Post::Operator);
    let (mut by_key, at) = (app.clone(), (10, 10));
    press(&mut by_key, &board, "Down Down Up");
    for kind in [MouseEventKind::ScrollDown, MouseEventKind::ScrollDown, MouseEventKind::ScrollUp] {
        mouse(&mut app, &board, SMALL, kind, at);
    }
    assert_eq!(app, by_key);
    press(&mut app, &board, "?");
    let help = app.dialog.clone();
    mouse(&mut app, &board, SMALL, MouseEventKind::ScrollDown, at);
    assert_ne!(app.dialog, help);
}

/// Wherever it brushes, in whatever is open: no question is answered, no time changed, nothing proposed or committed.
#[test]
fn the_mouse_says_nothing() {
    for (post, keys) in [
        (Post::Operator, ""),
        (Post::Operator, "l"),
        (Post::Operator, "x"),
        (Post::Operator, "u"),
        (Post::Operator, "s"),
        (Post::Operator, "e"),
        (Post::Operator, "="),
        (Post::Operator, "q"),
        (Post::Supervisor, ""),
        (Post::Supervisor, "w"),
        (Post::Supervisor, "w w"),
        (Post::Supervisor, "8"),
    ] {
        let (mut app, board) = begun(post);
        press(&mut app, &board, keys);
        let opened = app.clone();
        for n in 0..24 {
            let at = (n * 7 % 80, n);
            let mut brushed = opened.clone();
            click(&mut brushed, &board, SMALL, at);
            mouse(&mut brushed, &board, SMALL, MouseEventKind::Down(MouseButton::Right), at);
            mouse(&mut brushed, &board, SMALL, MouseEventKind::Moved, at);
            mouse(&mut brushed, &board, SMALL, MouseEventKind::ScrollDown, at);
            assert_eq!(brushed.dialog.is_some(), opened.dialog.is_some(), "{keys:?} at {at:?}");
            assert_eq!(brushed.changes.stack.len(), opened.changes.stack.len());
            if !matches!(opened.dialog, None | Some(Dialog::List(_))) {
                assert_eq!(brushed.dialog, opened.dialog, "{keys:?} at {at:?}");
            }
        }
    }
}
