//! Screens: what is on them, in every look and at every size; and what keys do.

use std::fmt::Write as _;
use std::sync::Arc;

use crate::scene::{self, Scene};
use dwellhand::clock::{Clock as _, ManualClock};
use dwellhand::ids::{CarrierId, HoistId};
use dwellhand::live::LiveShift;
use dwellhand::plan::Settings;
use dwellhand::shift::{AlarmAction, Command, Place, Who};
use dwellhand::tui::action::Action;
use dwellhand::tui::app::{App, Effect, Pane, Reckon, Screen, update};
use dwellhand::tui::dialog::{Ask, Consequence, Dialog};
use dwellhand::tui::keymap::{self, Key};
use dwellhand::tui::screens::{Look, paint};
use dwellhand::tui::{Depth, GlyphSet, Ground, Outcome, Post, board_of, perform};
use dwellhand::units::{Dur, Time};
use dwellhand::view::{Board, Wrong};
use proptest::prelude::*;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Color, Modifier};

pub(crate) fn app(scene: &Scene) -> App {
    App::new(Arc::new(scene.line.clone()), Post::Operator, false, false)
}

pub(crate) fn painted(board: &Board, app: &App, size: (u16, u16), look: &Look) -> Buffer {
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

/// Presses keys on the app alone and gives back what it wants done.
pub(crate) fn press(app: &mut App, board: &Board, keys: &str) -> Vec<Effect> {
    let mut effects = Vec::new();
    for key in keys.split_whitespace() {
        let key = named_key(key);
        if let Some(action) = keymap::action(app.context(), key) {
            effects.extend(update(app, action, board, board.now));
        }
    }
    effects
}

fn named_key(name: &str) -> Key {
    match name {
        "Space" => Key::Char(' '),
        "Enter" => Key::Enter,
        "Esc" => Key::Esc,
        "Tab" => Key::Tab,
        "Up" => Key::Up,
        "Down" => Key::Down,
        "Backspace" => Key::Backspace,
        "Ctrl-C" => Key::Ctrl('c'),
        other => Key::Char(other.chars().next().unwrap()),
    }
}

/// What is painted how: one line per run of cells that is not plain.
fn styles(buf: &Buffer) -> String {
    let mut out = String::new();
    for y in 0..buf.area.height {
        let style = |x: u16| {
            let c = &buf[(x, y)];
            (c.fg, c.bg, c.modifier)
        };
        let mut x = 0;
        while x < buf.area.width {
            let start = x;
            while x < buf.area.width && style(x) == style(start) {
                x += 1;
            }
            let (fg, bg, modifier) = style(start);
            if (fg, bg, modifier) != (Color::Reset, Color::Reset, Modifier::empty()) {
                writeln!(out, "row {y}, {start}..{x}: {fg} on {bg} {modifier:?}").unwrap();
            }
        }
    }
    out
}

const FULL: (Depth, GlyphSet) = (Depth::Many, GlyphSet::Full);

fn screen(scene: &Scene, size: (u16, u16), look: (Depth, GlyphSet), keys: &str) -> Buffer {
    let board = scene.board();
    let mut app = app(scene);
    app.see(&board);
    press(&mut app, &board, keys);
    painted(&board, &app, size, &Look::new(look.0, look.1))
}

#[test]
fn the_live_screen_at_three_sizes() {
    for (w, h) in [(80, 24), (120, 40), (200, 60)] {
        for (name, scene) in [("calm", scene::calm()), ("trouble", scene::trouble())] {
            insta::assert_snapshot!(format!("{name}_{w}x{h}"), text(&screen(&scene, (w, h), FULL, "")));
        }
    }
}

#[test]
fn the_supervisors_screens_at_three_sizes() {
    for (name, keys) in [("board", "5"), ("ways", "6 Tab"), ("tanks", "7 Tab")] {
        for (w, h) in [(80, 24), (120, 40), (200, 60)] {
            let buf = screen(&scene::calm(), (w, h), FULL, keys);
            insta::assert_snapshot!(format!("desk_{name}_{w}x{h}"), text(&buf));
        }
        let trouble = screen(&scene::trouble(), (80, 24), (Depth::Mono, GlyphSet::Ascii), keys);
        let ascii = format!("{}{}", text(&trouble), styles(&trouble));
        insta::assert_snapshot!(format!("desk_{name}_ascii"), ascii);
        let console = screen(&scene::trouble(), (80, 24), (Depth::Sixteen, GlyphSet::Console), keys);
        insta::assert_snapshot!(format!("desk_{name}_console"), text(&console));
    }
    for (name, keys) in
        [("tanks", "5 Tab"), ("queue", "5 Tab Tab Down"), ("found", "5 / k n o b s"), ("legend", "7")]
    {
        insta::assert_snapshot!(
            format!("desk_{name}"),
            text(&screen(&scene::trouble(), (80, 24), FULL, keys))
        );
    }
}

/// In the picture of the ways a load is read by the name of its row.
#[test]
fn no_load_stands_in_the_row_of_another_tank() {
    for scene in [scene::calm(), scene::trouble()] {
        let board = scene.board();
        for (keys, glyphs) in [("6", GlyphSet::Full), ("6", GlyphSet::Ascii), ("6 f f", GlyphSet::Full)] {
            let shown = text(&screen(&scene, (80, 24), (Depth::Mono, glyphs), keys));
            let picture: Vec<&str> = shown.lines().skip(4).take(17).collect();
            for load in &board.loads {
                let stands = |tank: &str| {
                    let stays = board.times.stays.iter().filter(|s| s.carrier == load.id);
                    stays
                        .map(|s| s.tank)
                        .any(|t| board.tanks.iter().any(|row| row.tank == t && row.name == tank))
                };
                for row in picture.iter().filter(|row| row.contains(&load.carrier)) {
                    let tank = row.split_whitespace().next().unwrap();
                    assert!(stands(tank), "{} in the row of {tank}\n{shown}", load.carrier);
                }
            }
        }
    }
}

/// What tells of the other keys, and the way out, are named however many keys there are.
#[test]
fn help_and_leaving_are_always_on_the_key_line() {
    let scene = scene::calm();
    let board = scene.board();
    for keys in ["5", "6", "7", "8", "9", "0", "w Esc"] {
        let mut app = App::new(Arc::new(scene.line.clone()), Post::Supervisor, false, false);
        app.learn(&scene.line, &scene.history.state().book);
        app.see(&board);
        press(&mut app, &board, keys);
        app.message = None;
        let shown = text(&painted(&board, &app, (80, 24), &Look::new(FULL.0, FULL.1)));
        let line = shown.lines().last().unwrap();
        assert!(line.contains("? keys") && line.ends_with("q quit"), "{keys}: {line}");
    }
}

/// Among cards and in the debrief the key for changes does what it does elsewhere.
#[test]
fn changes_are_proposed_while_reading_too() {
    let scene = scene::calm();
    let board = scene.board();
    for keys in ["9 w", "0 w"] {
        let mut app = App::new(Arc::new(scene.line.clone()), Post::Supervisor, false, false);
        app.learn(&scene.line, &scene.history.state().book);
        app.see(&board);
        press(&mut app, &board, keys);
        assert_eq!(app.screen, Screen::Changes, "{keys}");
        assert!(matches!(app.dialog, Some(Dialog::List(_))), "{keys}");
    }
}

/// A sum that is begun for somebody is longer than a row: from the first word to the last it is on the narrowest screen.
#[test]
fn what_is_typed_is_seen_whole() {
    let scene = scene::calm();
    let (board, mut app) = (scene.board(), app(&scene));
    app.see(&board);
    app.reckon = Some(Reckon(|line| vec![line.to_owned()]));
    let sum = "anodise--thickness17.5um--density1.35A/dm2--area180dm2--volts17.25--ramp60--cap18kW";
    assert!(sum.len() > 80);
    press(&mut app, &board, "=");
    let Some(Dialog::Field(field)) = &mut app.dialog else { panic!("{:?}", app.dialog) };
    sum.clone_into(&mut field.text);
    let shown = text(&painted(&board, &app, (80, 24), &Look::new(FULL.0, FULL.1)));
    let first = shown.lines().position(|l| l.contains("anodise--thick")).expect(&shown);
    let rows: String = shown.lines().skip(first).take(2).collect();
    let rows: String = rows.chars().filter(char::is_ascii_graphic).collect();
    assert_eq!(rows, format!("{sum}_"), "{shown}");
}

#[test]
fn other_moments() {
    let size = (80, 24);
    insta::assert_snapshot!("waiting", text(&screen(&scene::waiting(), size, FULL, "")));
    insta::assert_snapshot!("hanging", text(&screen(&scene::hanging(), size, FULL, "")));
    insta::assert_snapshot!("finished", text(&screen(&scene::finished(), size, FULL, "")));
    insta::assert_snapshot!("small", text(&screen(&scene::trouble(), (46, 12), FULL, "")));
    for (pane, key) in [("alarms", "2"), ("queue", "3"), ("log", "4")] {
        insta::assert_snapshot!(format!("pane_{pane}"), text(&screen(&scene::trouble(), size, FULL, key)));
    }
    let mut app = app(&scene::calm());
    app.screen = Screen::Caution;
    app.practice = true;
    app.practising.may_watch = true;
    let board = scene::calm().board();
    insta::assert_snapshot!("caution", text(&painted(&board, &app, size, &Look::new(FULL.0, FULL.1))));
}

#[test]
fn other_looks() {
    let size = (80, 24);
    let scene = scene::trouble();
    let mono = screen(&scene, size, (Depth::Mono, GlyphSet::Full), "");
    insta::assert_snapshot!("trouble_mono", format!("{}{}", text(&mono), styles(&mono)));
    let sixteen = screen(&scene, size, (Depth::Sixteen, GlyphSet::Console), "");
    insta::assert_snapshot!("trouble_console", format!("{}{}", text(&sixteen), styles(&sixteen)));
    let ascii = screen(&scene, size, (Depth::Mono, GlyphSet::Ascii), "");
    insta::assert_snapshot!("trouble_ascii", format!("{}{}", text(&ascii), styles(&ascii)));
    insta::assert_snapshot!("trouble_colours", styles(&screen(&scene, size, FULL, "")));
}

#[test]
fn dialogs() {
    let scene = scene::calm();
    for (name, keys) in [
        ("undo", "u"),
        ("late", "l 1 3 0"),
        ("late_other", "l Tab"),
        ("otherwise", "x"),
        ("otherwise_filtered", "x b 0 3"),
        ("wrong", "s"),
        ("wrong_where", "s Enter"),
        ("wrong_since", "s Enter Down Enter 4 5"),
        ("tank", "t t 0 5 Enter"),
        ("help", "?"),
        ("quit", "q"),
    ] {
        insta::assert_snapshot!(format!("dialog_{name}"), text(&screen(&scene, (80, 24), FULL, keys)));
    }
}

/// What has no size or ASCII of its own above.
#[test]
fn the_rest_in_ascii_and_on_large_screens() {
    let scene = scene::trouble();
    let ascii = (Depth::Mono, GlyphSet::Ascii);
    for (name, keys) in
        [("alarms", "2"), ("queue", "3"), ("log", "4"), ("list", "x"), ("late", "l"), ("undo", "u")]
    {
        insta::assert_snapshot!(format!("ascii_{name}"), text(&screen(&scene, (80, 24), ascii, keys)));
    }
    // The words leave no room for the figures beside them.
    let console = (Depth::Sixteen, GlyphSet::Console);
    let hanging = screen(&scene::hanging(), (80, 24), console, "");
    insta::assert_snapshot!("console_hanging", text(&hanging));
    // Nothing stands beside thin figures: it would look like one more.
    for y in 7..13 {
        assert_eq!((hanging[(79, y)].symbol(), hanging[(79, y)].style()), (" ", hanging[(40, 7)].style()));
    }
    for (name, keys) in [("list", "x"), ("tank", "t t 0 5 Enter"), ("help", "?")] {
        for (w, h) in [(120, 40), (200, 60)] {
            insta::assert_snapshot!(
                format!("dialog_{name}_{w}x{h}"),
                text(&screen(&scene, (w, h), FULL, keys))
            );
        }
    }
    let mut app = app(&scene);
    app.screen = Screen::Caution;
    for (w, h, look) in [(80, 24, ascii), (120, 40, FULL), (200, 60, FULL)] {
        let buf = painted(&scene.board(), &app, (w, h), &Look::new(look.0, look.1));
        let kind = if look == ascii { "_ascii" } else { "" };
        insta::assert_snapshot!(format!("caution_{w}x{h}{kind}"), text(&buf));
    }
}

/// However small the screen is, figures say what they count, and a standing alarm is named.
#[test]
fn the_smallest_screens_name_the_alarm_and_what_is_counted() {
    for (size, counted) in [((46, 12), "PAST LATEST START +"), ((20, 5), " over"), ((10, 3), " over")] {
        let told = text(&screen(&scene::trouble(), size, FULL, ""));
        assert!(told.contains(counted), "{size:?}:\n{told}");
        assert!(told.contains("OVER S B07") || told.contains("ALARM OVER S"), "{size:?}:\n{told}");
    }
}

/// What a screen that is too small says of alarms is what a large one says: one that is over is not called out.
#[test]
fn a_small_screen_tells_standing_alarms_from_past_ones() {
    let small = |scene: &Scene| text(&screen(scene, (60, 12), FULL, ""));
    let (standing, past) = (small(&scene::trouble()), small(&scene::past_alarms()));
    assert!(standing.contains("ALARM OVER S B07"), "{standing}");
    assert!(past.contains("No alarm now; 2 past, not seen yet") && !past.contains("ALARM"), "{past}");
}

/// Where there is no room for all that is wrong in full, the chosen row is read whole, and else what the strip does not tell.
#[test]
fn an_alarm_that_is_cut_is_read_whole_when_it_is_chosen() {
    let scene = scene::trouble();
    let alarms = &scene.board().alarms;
    let words = |told: &str| told.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    for height in [24, 25, 27, 30] {
        let count = |keys: &str, alarm: usize| {
            let shown = words(&text(&screen(&scene, (80, height), FULL, keys)));
            let wanted = words(&alarms[alarm].text);
            shown.windows(wanted.len()).filter(|w| *w == wanted).count()
        };
        assert_eq!(count("2 Down", 0), 1, "{height}");
        assert_eq!(count("2 Down Down", 1), 1, "{height}");
    }
    let shown = words(&text(&screen(&scene, (80, 24), FULL, "2")));
    assert!(shown.windows(5).any(|w| w == words("B07 comes first, then lift")), "{shown:?}");
}

/// A row that was chosen and is gone, and one that is no alarm: nothing breaks, and no other alarm is meant.
#[test]
fn what_is_chosen_among_the_alarms_is_what_is_meant() {
    let scene = scene::trouble();
    let board = scene.board();
    let mut app = app(&scene);
    app.pane = Pane::Alarms;
    for (row, wrong) in board.wrongs().enumerate() {
        app.chosen[Pane::Alarms as usize] = Some(row);
        let seen = update(&mut app, Action::Acknowledge, &board, scene.now);
        app.dialog = None;
        let aside = update(&mut app, Action::Shelve, &board, scene.now);
        let asked = app.dialog.take().is_some();
        match wrong {
            Wrong::Breach(_) => assert!(seen.is_empty() && aside.is_empty() && !asked, "{row}"),
            Wrong::Alarm(alarm) => assert_eq!(!seen.is_empty(), alarm.unseen, "{row}"),
        }
    }
    for row in [board.wrongs().count(), 99] {
        app.chosen[Pane::Alarms as usize] = Some(row);
        for size in [(80, 24), (120, 40), (200, 60)] {
            assert!(
                text(&painted(&board, &app, size, &Look::new(Depth::Many, GlyphSet::Full))).contains("B07")
            );
        }
    }
}

/// What is asked about is read whole, however long it is.
#[test]
fn the_alarm_that_is_set_aside_is_read_whole() {
    let scene = scene::trouble();
    let shown = text(&screen(&scene, (80, 24), FULL, "2 Down Down h"));
    assert!(shown.contains(" Set aside for 10 minutes, because ... "), "{shown}");
    let alarm = &scene.board().alarms[1].text;
    let words = shown.split_whitespace().filter(|w| w.chars().any(char::is_alphanumeric)).collect::<Vec<_>>();
    let wanted: Vec<&str> = alarm.split_whitespace().collect();
    assert!(words.windows(wanted.len()).any(|w| w == wanted), "{alarm}\n{shown}");
}

/// Beside next calls that fill the pane the queue shows a carrier, not only how many there are.
#[test]
fn a_carrier_of_the_queue_is_seen_in_the_smallest_pane() {
    let scene = scene::trouble();
    let first = scene.board().queue[0].carrier.clone();
    for height in 24..34 {
        let shown = text(&screen(&scene, (80, height), FULL, "3"));
        let row = shown.lines().rev().find(|l| l.contains(&format!(" {first} ")));
        assert!(row.is_some_and(|r| r.contains("03:19")), "{height}\n{shown}");
    }
}

/// What happened is broken, not cut, and nothing that is planned loses a figure at the size most terminals have.
#[test]
fn nothing_that_happened_is_cut() {
    let scene = scene::trouble();
    for size in [(80, 24), (120, 40)] {
        let shown = text(&screen(&scene, size, FULL, "4"));
        let log = shown.lines().skip_while(|l| !l.contains("4 What happened"));
        let cut = log.filter(|l| l.contains('…'));
        assert_eq!(cut.collect::<Vec<_>>(), Vec::<&str>::new(), "{size:?}");
    }
}

#[test]
fn a_recording_says_that_it_takes_nothing() {
    let scene = scene::trouble();
    let board = scene.board();
    let mut app = app(&scene);
    let point = dwellhand::replay::Point { at: board.now, ix: 1 };
    app.tape = Some(dwellhand::tui::tape::Tape {
        span: (board.now, board.now),
        marks: Arc::default(),
        point,
        events: 1,
        playing: false,
        speed: 0,
        learning: None,
    });
    for key in ["a", "l", "s", "e", "h"] {
        let action = app.wants(named_key(key)).unwrap_or_else(|| panic!("{key} does nothing"));
        assert_eq!(update(&mut app, action, &board, board.now), Vec::new());
        let said = app.message.take().unwrap();
        assert!(said.text.starts_with("Nothing is said in a recording"), "{key}: {}", said.text);
    }
}

#[test]
fn a_pick_is_confirmed_with_one_key() {
    let scene = scene::calm();
    let board = scene.board();
    let mut app = app(&scene);
    app.see(&board);
    let effects = press(&mut app, &board, "Space");
    let [Effect::Submit { command, .. }] = &effects[..] else { panic!("{effects:?}") };
    let from = scene::named(&scene.line, "T05");
    assert_eq!(*command, Command::Lift { carrier: CarrierId(6), hoist: HoistId(0), from, at: scene.now });
}

#[test]
fn a_press_meant_for_the_call_before_confirms_nothing() {
    let before = scene::calm();
    let mut app = app(&before);
    app.see(&before.board());
    let after = scene::hanging();
    let board = after.board();
    app.see(&board);
    assert_eq!(press(&mut app, &board, "Space"), Vec::new());
    assert!(app.message.as_ref().is_some_and(|m| m.tone.is_bad() && m.text.contains("just changed")));
    // A second later it is meant.
    let later = Scene { now: after.now + Dur::from_secs(1), ..after }.board();
    app.see(&later);
    assert_eq!(press(&mut app, &later, "Space").len(), 1);
}

#[test]
fn a_fast_practice_makes_nobody_read_faster() {
    let before = scene::calm();
    let mut app = app(&before);
    app.speed = 60.0;
    app.see(&before.board());
    let after = scene::hanging();
    app.see(&after.board());
    // Half a second of the wall is half a minute of the shift.
    let soon = Scene { now: after.now + Dur::from_secs(30), ..after }.board();
    app.see(&soon);
    assert_eq!(press(&mut app, &soon, "Space"), Vec::new());
    assert!(app.message.as_ref().is_some_and(|m| m.until == soon.now + Dur::from_mins(8)));
}

#[test]
fn a_pick_long_before_its_time_is_asked_about() {
    let scene = scene::waiting();
    let board = scene.board();
    let mut app = app(&scene);
    app.see(&board);
    assert_eq!(press(&mut app, &board, "Space"), Vec::new());
    assert!(matches!(app.dialog, Some(Dialog::Ask(_))));
    // A held space bar answers nothing.
    assert_eq!(press(&mut app, &board, "Space Space Space"), Vec::new());
    assert_eq!(press(&mut app, &board, "y").len(), 1);
}

#[test]
fn a_place_right_after_the_pick_is_asked_about() {
    let mut scene = scene::hanging();
    scene.now = scene::NOW + Dur::from_secs(2);
    let board = scene.board();
    let mut app = app(&scene);
    app.see(&board);
    assert_eq!(press(&mut app, &board, "Space"), Vec::new());
    assert!(matches!(app.dialog, Some(Dialog::Ask(_))));
}

#[test]
fn late_is_said_with_digits() {
    let scene = scene::calm();
    let board = scene.board();
    let mut app = app(&scene);
    app.see(&board);
    let effects = press(&mut app, &board, "l 4 5 Enter");
    let [Effect::Submit { command: Command::Lift { at, .. }, .. }] = &effects[..] else {
        panic!("{effects:?}")
    };
    assert_eq!(*at, scene.now - Dur::from_secs(45));
    let effects = press(&mut app, &board, "l Tab Up Enter y");
    let [Effect::Submit { command: Command::Retime { at, .. }, .. }] = &effects[..] else {
        panic!("{effects:?}")
    };
    assert_eq!(*at, Time::from_secs(4265 - 10));
}

#[test]
fn an_alarm_is_seen_with_one_key_and_scrap_is_never_set_aside() {
    let scene = scene::trouble();
    let board = scene.board();
    let mut app = app(&scene);
    let effects = press(&mut app, &board, "a");
    let [Effect::Submit { command: Command::Alarm { key, action: AlarmAction::Acknowledge }, .. }] =
        &effects[..]
    else {
        panic!("{effects:?}")
    };
    assert_eq!(key.carrier, CarrierId(6));
    // The Enter was meant for a list that did not open; it must not confirm the call either.
    assert_eq!(press(&mut app, &board, "h Enter"), Vec::new());
    assert!(app.message.as_ref().is_some_and(|m| m.tone.is_bad()));
    // The second alarm means rework: it may wait, with a reason.
    let effects = press(&mut app, &board, "2 Down Down h Enter");
    assert!(matches!(
        &effects[..],
        [Effect::Submit { command: Command::Alarm { action: AlarmAction::Shelve { .. }, .. }, .. }]
    ));
}

#[test]
fn alarms_that_came_to_nothing_are_seen_in_one_go() {
    let scene = scene::past_alarms();
    let board = scene.board();
    let mut app = app(&scene);
    assert_eq!(press(&mut app, &board, "a").len(), 2);
    assert!(text(&screen(&scene, (80, 24), FULL, "")).contains("No alarm now; 2 past"));
}

#[test]
fn somebody_who_watches_says_nothing() {
    let scene = scene::trouble();
    let board = scene.board();
    let mut app = App::new(Arc::new(scene.line.clone()), Post::Watch, false, false);
    assert_eq!(
        press(&mut app, &board, "Space u y l Enter x Enter Enter s Enter Enter Enter a h Enter"),
        Vec::new()
    );
}

/// A shift in memory with its app, driven by keys.
struct Driven {
    app: App,
    shift: LiveShift,
    clock: ManualClock,
}

impl Driven {
    fn new() -> Self {
        let line = Arc::new(scene::line());
        let clock = ManualClock::default();
        let opening = scene::calm().opening;
        let mut shift =
            LiveShift::in_memory(Arc::clone(&line), opening, Box::new(clock.clone()), Settings::default());
        shift.submit(&Command::Open { book: scene::book() }, Who::Supervisor).unwrap();
        Self { app: App::new(line, Post::Operator, false, false), shift, clock }
    }

    fn press(&mut self, keys: &str) -> Outcome {
        let mut outcome = Outcome::Go;
        for key in keys.split_whitespace() {
            let now = self.clock.now() + Dur::from_secs(2);
            self.clock.set(now);
            let board = board_of(&mut self.shift);
            self.app.see(&board);
            if let Some(action) = keymap::action(self.app.context(), named_key(key)) {
                let effects = update(&mut self.app, action, &board, now);
                outcome = perform(&mut self.app, &mut self.shift, effects);
            }
        }
        outcome
    }

    fn place(&self, carrier: u16) -> Place {
        self.shift.state().carriers[CarrierId(carrier - 1)].place
    }
}

#[test]
fn what_was_really_done_is_said_and_taken_back() {
    let mut d = Driven::new();
    d.press("x b 0 2 Enter Enter");
    assert!(matches!(d.place(2), Place::OnHook { .. }), "{:?}", d.place(2));
    let tank = scene::named(d.shift.line(), "T02");
    // So soon after the pick that it is asked about.
    d.press("x t 0 2 Enter 1 0 Enter y");
    assert!(matches!(d.place(2), Place::InTank { tank: t, .. } if t == tank), "{:?}", d.place(2));
    // Asking for the undo alone changes nothing.
    d.press("u n");
    assert!(matches!(d.place(2), Place::InTank { .. }));
    d.press("u y");
    assert!(matches!(d.place(2), Place::OnHook { .. }));
    d.press("u Enter");
    assert_eq!(d.place(2), Place::Queued);
}

#[test]
fn a_wrong_state_is_put_right() {
    let mut d = Driven::new();
    d.press("s b 0 5 Enter t 1 8 Enter 9 0 0 Enter");
    let tank = scene::named(d.shift.line(), "T18");
    // The shift is too young for nine minutes in a tank, but the claim may reach back before it.
    assert!(matches!(d.place(5), Place::InTank { tank: t, .. } if t == tank), "{:?}", d.place(5));
    d.press("s b 0 5 Enter o f f Enter");
    assert_eq!(d.place(5), Place::OffLine);
    d.press("u y");
    assert!(matches!(d.place(5), Place::InTank { .. }));
}

#[test]
fn refusals_are_shown_in_their_own_words() {
    let mut d = Driven::new();
    d.press("x b 0 1 Enter Enter");
    d.press("s h 1");
    d.press("Esc u y u y");
    assert_eq!(d.place(1), Place::Queued);
    d.press("u");
    let message = d.app.message.as_ref().unwrap();
    assert!(message.tone.is_bad(), "{message:?}");
}

#[test]
fn leaving_asks_and_control_c_twice_leaves() {
    let mut d = Driven::new();
    assert_eq!(d.press("q"), Outcome::Go);
    assert_eq!(d.press("q"), Outcome::Go);
    assert!(d.app.dialog.is_none());
    assert_eq!(d.press("q y"), Outcome::Quit);
    assert_eq!(d.press("Ctrl-C Ctrl-C"), Outcome::Quit);
}

fn any_key() -> impl Strategy<Value = Key> {
    prop_oneof![
        prop::char::range(' ', '~').prop_map(Key::Char),
        Just(Key::Enter),
        Just(Key::Esc),
        Just(Key::Tab),
        Just(Key::BackTab),
        Just(Key::Backspace),
        Just(Key::Up),
        Just(Key::Down),
        Just(Key::Left),
        Just(Key::Right),
        Just(Key::PageDown),
        Just(Key::End),
        Just(Key::Home),
        Just(Key::Ctrl('c')),
        Just(Key::F1),
    ]
}

fn nth_scene(n: usize) -> Scene {
    match n {
        0 => scene::calm(),
        1 => scene::waiting(),
        2 => scene::hanging(),
        3 => scene::trouble(),
        _ => scene::finished(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_keys_at_any_size_paint_something(
        scene in 0..5_usize,
        w in 1_u16..300,
        h in 1_u16..120,
        begin in "[1-7]",
        keys in prop::collection::vec(any_key(), 0..30),
    ) {
        let scene = nth_scene(scene);
        let board = scene.board();
        let mut app = app(&scene);
        app.see(&board);
        press(&mut app, &board, &begin);
        for key in keys {
            if let Some(action) = keymap::action(app.context(), key) {
                update(&mut app, action, &board, board.now);
            }
        }
        for (depth, set) in [(Depth::Many, GlyphSet::Full), (Depth::Mono, GlyphSet::Ascii), (Depth::Sixteen, GlyphSet::Console)] {
            let buf = painted(&board, &app, (w, h), &Look::new(depth, set));
            for cell in &buf.content {
                if depth == Depth::Mono {
                    prop_assert_eq!((cell.fg, cell.bg), (Color::Reset, Color::Reset));
                    prop_assert!(cell.symbol().bytes().all(|b| (0x20..=0x7e).contains(&b)), "{:?}", cell.symbol());
                }
            }
            if w >= 80 && h >= 24 && let Some(call) = &board.call {
                let plain = format!("{} {}", call.verb.word(), call.carrier);
                prop_assert!(text(&buf).contains(&plain), "{plain} is covered:\n{}", text(&buf));
            }
        }
    }

    #[test]
    fn nothing_is_taken_back_and_nobody_leaves_without_a_question(keys in prop::collection::vec(any_key(), 0..60)) {
        let scene = scene::trouble();
        let board = scene.board();
        let mut app = app(&scene);
        app.see(&board);
        for key in keys {
            let asked = matches!(app.dialog, Some(Dialog::Ask(_)));
            if let Some(action) = keymap::action(app.context(), key) {
                let effects = update(&mut app, action, &board, board.now);
                let grave = effects.iter().any(|e| {
                    matches!(e, Effect::Quit | Effect::Submit { command: Command::Undo { .. }, .. })
                });
                // Enter is an action of its own there.
                let yes = matches!(action, Action::Confirm | Action::Quit) || key == Key::Enter;
                prop_assert!(!grave || (asked && yes), "{key:?}");
            }
        }
    }
}

/// Enter leads to the question whether a move was really done, so a second one is no answer to it.
#[test]
fn enter_pressed_twice_does_not_answer_what_the_first_was_asked() {
    let scene = scene::trouble();
    let board = scene.board();
    let mut app = app(&scene);
    app.see(&board);
    let yes = Consequence::Say(board.call.as_ref().unwrap().said);
    app.dialog = Some(Dialog::Ask(Ask { title: "Done already?".to_owned(), lines: Vec::new(), yes }));
    let press = |app: &mut App, key| {
        let action = keymap::action(app.context(), key).unwrap();
        update(app, action, &board, board.now)
    };
    assert_eq!(press(&mut app, Key::Enter), []);
    assert!(matches!(app.dialog, Some(Dialog::Ask(_))));
    assert!(matches!(press(&mut app, Key::Char('y'))[..], [Effect::Submit { .. }]));
}

#[test]
fn the_smallest_and_the_largest_screens_paint() {
    for scene in [scene::calm(), scene::trouble(), scene::finished()] {
        let board = scene.board();
        for size in [(1, 1), (1, 200), (500, 1), (79, 24), (80, 23), (80, 24), (500, 200)] {
            for set in [GlyphSet::Full, GlyphSet::Console, GlyphSet::Ascii] {
                painted(&board, &app(&scene), size, &Look::new(Depth::Many, set));
            }
        }
    }
}

/// Times of day and durations on a screen: `03:12:53`, `1:15`.
fn figures(text: &str) -> std::collections::BTreeSet<String> {
    let runs = text.split(|c: char| !c.is_ascii_digit() && c != ':');
    runs.map(|r| r.trim_matches(':')).filter(|r| r.contains(':')).map(str::to_owned).collect()
}

#[test]
fn at_every_width_and_every_height_figures_are_whole_and_the_call_is_there() {
    let look = Look::new(FULL.0, FULL.1);
    for scene in [scene::trouble(), scene::hanging()] {
        let board = scene.board();
        let call = board.call.as_ref().unwrap();
        // Where there is more room than anything needs, nothing is cut.
        let mut whole = figures(&dwellhand::tui::widgets::countdown::big(call.count));
        for pane in Pane::ALL {
            let mut app = app(&scene);
            app.pane = pane;
            for size in [(500, 200), (300, 49)] {
                whole.extend(figures(&text(&painted(&board, &app, size, &look))));
            }
        }
        let widths = (1..=210).chain((220..=500).step_by(20)).flat_map(|w| [10, 24, 39, 51].map(|h| (w, h)));
        let heights = (1..=64).chain((70..=200).step_by(10)).flat_map(|h| [30, 80, 130, 200].map(|w| (w, h)));
        for (ix, size) in widths.chain(heights).enumerate() {
            let mut app = app(&scene);
            app.pane = Pane::ALL[ix % 4];
            let painted = text(&painted(&board, &app, size, &look));
            let cut: Vec<String> = figures(&painted).difference(&whole).cloned().collect();
            assert!(cut.is_empty(), "{cut:?} at {size:?}:\n{painted}");
            if size.0 >= 80 && size.1 >= 24 {
                assert!(
                    painted.contains(&format!("{} {}", call.verb.word(), call.carrier)),
                    "{size:?}:\n{painted}"
                );
            } else if size.0 >= 40 && size.1 >= 12 {
                assert!(
                    painted.contains("needs 80x24") && painted.contains(&call.carrier),
                    "{size:?}:\n{painted}"
                );
                assert!(board.first_alarm().is_none() || painted.contains("ALARM"), "{size:?}:\n{painted}");
            }
        }
    }
}

#[test]
fn the_call_is_large_at_the_least_size_in_every_glyph_set() {
    for scene in [scene::calm(), scene::waiting(), scene::hanging(), scene::trouble()] {
        for set in [GlyphSet::Full, GlyphSet::Console, GlyphSet::Ascii] {
            let buf = screen(&scene, (80, 24), (Depth::Many, set), "");
            let inked = |c: &&ratatui::buffer::Cell| {
                let block = c.symbol().chars().any(|c| ('▀'..='▟').contains(&c));
                block || (c.symbol() == " " && c.modifier.contains(Modifier::REVERSED))
            };
            let large = buf.content[2 * 80..13 * 80].iter().filter(inked).count();
            assert!(large > 120, "{large} cells of large letters with {set:?}:\n{}", text(&buf));
        }
    }
}

/// A name of wide characters takes two cells each; what stands beside it stays where it is.
#[test]
fn wide_characters_keep_the_columns() {
    let mut scene = scene::calm();
    let plain = text(&screen(&scene, (200, 60), FULL, ""));
    let tank = scene::named(&scene.line, "T05");
    scene.line.tanks[tank].label = "槽液".to_owned();
    let wide = text(&screen(&scene, (200, 60), FULL, ""));
    let row = |text: &str| text.lines().find(|l| l.trim_start().starts_with("T05")).unwrap().to_owned();
    let (plain, wide) = (row(&plain), row(&wide));
    assert!(wide.contains("槽 液"), "each takes two cells: {wide}");
    let cell = |row: &str, mark: &str| row.split(mark).next().unwrap().chars().count();
    for mark in ["B07", "ready", "1:15"] {
        assert_eq!(cell(&wide, mark), cell(&plain, mark), "{mark}:\n{plain}\n{wide}");
    }
}

#[test]
fn every_binding_is_in_the_help() {
    let lines: Vec<String> = dwellhand::tui::screens::help::lines().into_iter().map(|(l, _)| l).collect();
    let words: Vec<&str> = lines.iter().flat_map(|l| l.split_whitespace()).collect();
    let help = words.join(" ");
    for binding in keymap::Context::ALL.into_iter().flat_map(keymap::bindings) {
        assert!(help.contains(&format!("{} {}", binding.shown, binding.help)), "{binding:?}");
    }
}

/// Prints how long building and painting take.
#[test]
#[ignore = "for looking at"]
fn pace() {
    let scene = scene::trouble();
    let app = app(&scene);
    let look = Look::new(Depth::Many, GlyphSet::Full);
    for size in [(80, 24), (200, 60)] {
        let board = scene.board();
        let mut times: Vec<_> = (0..500)
            .map(|_| {
                let start = std::time::Instant::now();
                painted(&board, &app, size, &look);
                start.elapsed()
            })
            .collect();
        times.sort();
        println!("paint {size:?}: median {:?}, p99 {:?}", times[250], times[495]);
    }
    let start = std::time::Instant::now();
    for _ in 0..500 {
        scene.board();
    }
    println!("board: mean {:?}", start.elapsed() / 500);
}

/// Writes pictures of all scenes into the folder named by `DWELLHAND_SHOTS`, as text with colours.
#[test]
#[ignore = "for looking at"]
fn shots() {
    let Ok(folder) = std::env::var("DWELLHAND_SHOTS") else { return };
    let scenes = [
        ("calm", scene::calm()),
        ("waiting", scene::waiting()),
        ("hanging", scene::hanging()),
        ("trouble", scene::trouble()),
        ("finished", scene::finished()),
    ];
    let looks = [
        ("", Look::new(Depth::Many, GlyphSet::Full)),
        ("-dark", Look::new(Depth::Many, GlyphSet::Full).on(Ground::Dark)),
        ("-light", Look::new(Depth::Many, GlyphSet::Full).on(Ground::Light)),
        ("-mono", Look::new(Depth::Mono, GlyphSet::Full)),
        ("-ascii", Look::new(Depth::Sixteen, GlyphSet::Ascii)),
        ("-console", Look::new(Depth::Sixteen, GlyphSet::Console)),
    ];
    let write = |name: &str, buf: &Buffer| {
        std::fs::write(format!("{folder}/{name}-{}x{}.ansi", buf.area.width, buf.area.height), ansi(buf))
            .unwrap();
    };
    let sizes = [(80, 24), (120, 40), (200, 60)];
    for (suffix, look) in &looks {
        for (name, scene) in &scenes {
            for size in sizes {
                write(&format!("{name}{suffix}"), &painted(&scene.board(), &app(scene), size, look));
            }
        }
        let scene = scene::trouble();
        let board = scene.board();
        for (name, keys) in [
            ("alarms", "2"),
            ("queue", "3"),
            ("log", "4"),
            ("board", "5"),
            ("ways", "6 Tab"),
            ("tanks", "7 Tab"),
            ("help", "?"),
            ("list", "x"),
            ("late", "l"),
        ] {
            for size in sizes {
                let mut app = app(&scene);
                app.see(&board);
                press(&mut app, &board, keys);
                write(&format!("{name}{suffix}"), &painted(&board, &app, size, look));
            }
        }
    }
}

/// Beside a dialog nothing begins or ends in the middle: no half word on its left, no end of a sentence on its right.
#[test]
fn nothing_half_is_left_beside_a_dialog() {
    let scene = scene::trouble();
    let board = scene.board();
    let look = Look::new(Depth::Mono, GlyphSet::Full);
    let rows = |buf: &Buffer| text(buf).lines().map(|l| l.chars().collect::<Vec<char>>()).collect::<Vec<_>>();
    let mut looked_at = 0;
    for size in [(120, 40), (132, 43), (160, 50), (200, 60)] {
        for keys in ["x", "l", "?", "s", "="] {
            let mut app = app(&scene);
            app.see(&board);
            let before = rows(&painted(&board, &app, size, &look));
            press(&mut app, &board, keys);
            let after = rows(&painted(&board, &app, size, &look));
            for (row, under) in after.iter().zip(&before) {
                let wall = |c: &char| "│┌┐└┘".contains(*c);
                let Some(left) = row.iter().position(wall) else { continue };
                let right = row.len() - 1 - row.iter().rev().position(wall).unwrap();
                let cell = |x: usize| under.get(x).copied().filter(|c| *c != '─').unwrap_or(' ');
                if left > 0 && row[left - 1] != ' ' && row[left - 1] != '─' {
                    assert_eq!(cell(left), ' ', "{keys} {size:?}: {}", row.iter().collect::<String>());
                }
                let Some(next) = (right + 1..row.len()).find(|x| row[*x] != ' ' && row[*x] != '─') else {
                    continue;
                };
                looked_at += 1;
                let gap = cell(next - 1) == ' ' && cell(next - 2) == ' ';
                let ruled = under.get(next - 1) == Some(&'─') || under.get(next - 2) == Some(&'─');
                assert!(gap || ruled, "{keys} {size:?}: {}", row.iter().collect::<String>());
            }
        }
    }
    assert!(looked_at > 10, "{looked_at} rows beside dialogs");
}

/// Large letters leave few rows for the line: what presses is among them, whatever is only counted.
#[test]
fn what_presses_is_never_among_the_rows_that_are_only_counted() {
    let scene = scene::trouble();
    let board = scene.board();
    for set in [GlyphSet::Ascii, GlyphSet::Console] {
        let painted = text(&painted(&board, &app(&scene), (80, 24), &Look::new(Depth::Sixteen, set)));
        assert!(painted.contains(" more "), "some are counted:\n{painted}");
        for (tank, state) in [("T05", "OVER"), ("T12", "RISK"), ("T18", "RISK")] {
            let row = |l: &str| {
                l.split(tank).nth(1).is_some_and(|l| l.chars().take(18).collect::<String>().contains(state))
            };
            assert!(painted.lines().any(row), "{tank} {state}:\n{painted}");
        }
    }
}

/// Where there is room no alarm is cut, whichever is chosen.
#[test]
fn alarms_are_read_whole_where_there_is_room() {
    let scene = scene::trouble();
    let board = scene.board();
    let look = Look::new(Depth::Mono, GlyphSet::Full);
    let painted = text(&painted(&board, &app(&scene), (200, 60), &look));
    let from = painted.lines().position(|l| l.contains(" 2 Alarms ")).unwrap();
    let to = painted.lines().position(|l| l.contains(" 3 Next")).unwrap();
    let pane: Vec<String> =
        painted.lines().take(to).skip(from + 1).map(|l| l.chars().skip(100).collect()).collect();
    let words: Vec<&str> = pane.iter().flat_map(|l| l.split_whitespace()).collect();
    assert!(!words.iter().any(|w| w.contains('…')), "{pane:#?}");
    for alarm in &board.alarms {
        for word in alarm.text.split_whitespace() {
            assert!(words.contains(&word), "{word} of {} is not among {pane:#?}", alarm.text);
        }
    }
}

/// Cells back into bits: the figures painted are the ones of the font, not merely something large.
#[test]
fn the_big_figures_are_the_right_ones() {
    use dwellhand::tui::widgets::big::{self, Size};
    let ink = |text: &str, size: Size, set: GlyphSet| {
        let area = Rect::new(0, 0, size.width(text).max(1), size.height());
        let mut buf = Buffer::empty(area);
        let look = Look::new(Depth::Mono, set);
        big::draw(&mut buf, area, text, size, ratatui::style::Style::new(), &look);
        let reversed = |c: &ratatui::buffer::Cell| c.modifier.contains(Modifier::REVERSED);
        buf.content.iter().map(|c| c.symbol() != " " || reversed(c)).collect::<Vec<bool>>()
    };
    for (size, set) in [
        (Size::Full, GlyphSet::Full),
        (Size::Tall, GlyphSet::Full),
        (Size::Quarter, GlyphSet::Full),
        (Size::Block, GlyphSet::Console),
        (Size::Block, GlyphSet::Ascii),
    ] {
        let mut seen = Vec::new();
        for c in ('A'..='Z').chain('0'..='9').chain([':', '+', '-', '>']) {
            let bits = ink(&c.to_string(), size, set);
            assert!(bits.iter().any(|b| *b), "{c} is blank at {size:?}");
            seen.push((c, size.width(&c.to_string()), bits));
        }
        for (i, a) in seen.iter().enumerate() {
            for b in &seen[i + 1..] {
                let alike = size != Size::Quarter && a.1 == b.1 && a.2 == b.2;
                assert!(!alike, "{} looks like {} at {size:?}", a.0, b.0);
            }
        }
        assert_eq!(ink("0", size, set).len(), ink("1", size, set).len(), "figures keep their width");
    }
    let three = ink("3", Size::Block, GlyphSet::Ascii);
    let drawn: String = three.iter().map(|b| if *b { '#' } else { '.' }).collect();
    assert_eq!(drawn, "####.....#.###.....#####.");
}
