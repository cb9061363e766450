//! Promises of the live screens, kept by the real program in a real pseudo-terminal.
#![cfg(unix)]

use std::io::{Read as _, Write as _};
use std::num::NonZeroU16;
use std::path::{Path, PathBuf};
use std::process::Command as Process;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};

use dwellhand::files;
use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

/// Longer than anything here takes, even on a busy machine.
const LIMIT: Duration = Duration::from_secs(20);

/// What the terminal has been told so far.
pub(crate) struct Seen {
    parser: vt100::Parser,
    raw: Vec<u8>,
    closed: bool,
}

impl Seen {
    pub(crate) fn text(&self) -> String {
        self.parser.screen().contents()
    }
    pub(crate) fn has(&self, words: &str) -> bool {
        self.text().contains(words)
    }
    /// The screen's rows as text with colours, as long as the screen is wide.
    pub(crate) fn rows(&self) -> Vec<String> {
        let screen = self.parser.screen();
        let (rows, cols) = screen.size();
        let row = |y: u16| (0..cols.get()).filter_map(|x| screen.cell(y, x)).map(painted).collect();
        (0..rows.get()).map(row).collect()
    }
    /// The shift's clock in the first row, in seconds.
    pub(crate) fn clock(&self) -> Option<i64> {
        let text = self.text();
        let last = text.lines().next()?.split_whitespace().last()?.to_owned();
        let parts: Vec<i64> = last.split(':').map(str::parse).collect::<Result<_, _>>().ok()?;
        (parts.len() == 3).then(|| parts[0] * 3600 + parts[1] * 60 + parts[2])
    }
    fn cells(&self) -> Vec<vt100::Cell> {
        let screen = self.parser.screen();
        let (rows, cols) = screen.size();
        let at = |y: u16| (0..cols.get()).filter_map(move |x| screen.cell(y, x).cloned());
        (0..rows.get()).flat_map(at).collect()
    }
}

/// A cell as text with its looks.
fn painted(cell: &vt100::Cell) -> String {
    if cell.is_wide_continuation() {
        return String::new();
    }
    let mut looks = vec!["0".to_owned()];
    let marks = [(cell.bold(), "1"), (cell.dim(), "2"), (cell.underline(), "4"), (cell.inverse(), "7")];
    looks.extend(marks.iter().filter(|(is, _)| *is).map(|(_, mark)| (*mark).to_owned()));
    for (color, base) in [(cell.fgcolor(), 30), (cell.bgcolor(), 40)] {
        match color {
            vt100::Color::Default => {}
            vt100::Color::Idx(n) if n < 8 => looks.push((base + i32::from(n)).to_string()),
            vt100::Color::Idx(n) => looks.push(format!("{};5;{n}", base + 8)),
            vt100::Color::Rgb(r, g, b) => looks.push(format!("{};2;{r};{g};{b}", base + 8)),
        }
    }
    let text = if cell.contents().is_empty() { " " } else { cell.contents() };
    format!("\x1b[{}m{text}", looks.join(";"))
}

/// Tanks and what is in them, as far as the screen shows them: `T01 B01`.
fn loads(seen: &Seen) -> Vec<String> {
    let text = seen.text();
    let table = text.lines().skip_while(|l| !l.contains(" 1 Line "));
    let named = |word: &str, letter: char| word.len() == 3 && word.starts_with(letter);
    let mut found = Vec::new();
    for line in table {
        let mut tank = None;
        for word in line.split_whitespace() {
            if named(word, 'T') {
                tank = Some(word);
            } else if let Some(tank) = tank.take_if(|_| named(word, 'B')) {
                found.push(format!("{tank} {word}"));
            }
        }
    }
    found
}

/// The program in a terminal of its own.
pub(crate) struct Terminal {
    seen: Arc<(Mutex<Seen>, Condvar)>,
    master: Box<dyn MasterPty + Send>,
    keys: Box<dyn std::io::Write + Send>,
    child: Option<Box<dyn Child + Send + Sync>>,
    deaf: Arc<AtomicBool>,
}

fn size(rows: u16, cols: u16) -> PtySize {
    PtySize { rows, cols, pixel_width: 0, pixel_height: 0 }
}

fn parser(rows: u16, cols: u16) -> vt100::Parser {
    vt100::Parser::new(NonZeroU16::new(rows).unwrap(), NonZeroU16::new(cols).unwrap(), 0)
}

impl Terminal {
    pub(crate) fn run(home: &Path, args: &[&str], vars: &[(&str, &str)]) -> Self {
        Self::run_as(home, args, vars, true)
    }

    /// `leads`: the program is told with a signal when the terminal goes away.
    fn run_as(home: &Path, args: &[&str], vars: &[(&str, &str)], leads: bool) -> Self {
        Self::start(Path::new(env!("CARGO_BIN_EXE_dwellhand")), home, args, vars, leads)
    }

    fn start(program: &Path, home: &Path, args: &[&str], vars: &[(&str, &str)], leads: bool) -> Self {
        let pair = native_pty_system().openpty(size(24, 80)).unwrap();
        let mut command = CommandBuilder::new(program);
        command.args(args);
        command.cwd(home);
        command.set_controlling_tty(leads);
        command.env_clear();
        let plain = [("TERM", "xterm-256color"), ("LANG", "C.UTF-8"), ("TZ", "UTC")];
        for (name, value) in plain.iter().chain(vars) {
            command.env(name, value);
        }
        for name in ["HOME", "XDG_STATE_HOME"] {
            command.env(name, home);
        }
        let child = pair.slave.spawn_command(command).unwrap();
        // With this end open the terminal would never close.
        drop(pair.slave);
        let mut source = pair.master.try_clone_reader().unwrap();
        let keys = pair.master.take_writer().unwrap();
        let seen = Arc::new((
            Mutex::new(Seen { parser: parser(24, 80), raw: Vec::new(), closed: false }),
            Condvar::new(),
        ));
        let deaf = Arc::new(AtomicBool::new(false));
        let (to_tell, stop) = (Arc::clone(&seen), Arc::clone(&deaf));
        std::thread::spawn(move || {
            let mut piece = [0; 8192];
            loop {
                let n = source.read(&mut piece).unwrap_or(0);
                let Ok(mut seen) = to_tell.0.lock() else { break };
                seen.raw.extend_from_slice(&piece[..n]);
                seen.parser.process(&piece[..n]);
                seen.closed = n == 0;
                to_tell.1.notify_all();
                if n == 0 || stop.load(Ordering::SeqCst) {
                    break;
                }
            }
        });
        Self { seen, master: pair.master, keys, child: Some(child), deaf }
    }

    /// Waits until something is so, and gives back what `look` says of that moment.
    fn wait_for<T>(&self, what: &str, look: impl Fn(&Seen) -> Option<T>) -> T {
        let until = Instant::now() + LIMIT;
        let mut seen = self.seen.0.lock().unwrap();
        loop {
            if let Some(found) = look(&seen) {
                return found;
            }
            let left = until.saturating_duration_since(Instant::now());
            assert!(!left.is_zero(), "waited for {what}; the screen is\n{}", seen.text());
            seen = self.seen.1.wait_timeout(seen, left).unwrap().0;
        }
    }

    fn wait(&self, what: &str, is_so: impl Fn(&Seen) -> bool) {
        self.wait_for(what, |seen| is_so(seen).then_some(()));
    }

    fn shows(&self, words: &str) {
        self.wait(words, |seen| seen.has(words));
    }

    pub(crate) fn look<T>(&self, look: impl FnOnce(&Seen) -> T) -> T {
        look(&self.seen.0.lock().unwrap())
    }

    pub(crate) fn press(&mut self, keys: &str) {
        self.keys.write_all(keys.as_bytes()).unwrap();
    }

    /// Lets the shift's clock go on, so that a key is no bounce of the one before.
    fn let_pass(&self, seconds: i64) {
        let now = self.wait_for("a clock", Seen::clock);
        self.wait("the clock to go on", |seen| seen.clock().is_some_and(|t| t >= now + seconds));
    }

    /// The exit code, once the program is gone.
    fn ends(&mut self) -> u32 {
        self.wait("the end", |seen| seen.closed);
        self.child.take().unwrap().wait().unwrap().exit_code()
    }

    /// Closes the terminal's other end and gives back the exit code, if the program ends soon.
    fn lose(mut self) -> Option<u32> {
        let mut child = self.child.take().unwrap();
        let mut killer = child.clone_killer();
        let (send, receive) = std::sync::mpsc::channel();
        std::thread::spawn(move || send.send(child.wait().map(|status| status.exit_code())));
        // The reading thread lets go after the next frame, then nobody holds this end.
        self.deaf.store(true, Ordering::SeqCst);
        drop(self);
        let code = receive.recv_timeout(LIMIT);
        let _ = killer.kill();
        code.ok().map(Result::unwrap)
    }

    fn signal(&self, name: &str) {
        let pid = self.child.as_ref().unwrap().process_id().unwrap().to_string();
        assert!(Process::new("kill").args(["-s", name, &pid]).status().unwrap().success());
    }

    fn resize(&self, rows: u16, cols: u16) {
        let mut seen = self.seen.0.lock().unwrap();
        let (r, c) = (NonZeroU16::new(rows).unwrap(), NonZeroU16::new(cols).unwrap());
        seen.parser.screen_mut().set_size(r, c);
        self.master.resize(size(rows, cols)).unwrap();
    }

    /// The terminal is as it was before the program came.
    fn is_given_back(&self) {
        self.look(|seen| {
            let screen = seen.parser.screen();
            assert!(!screen.alternate_screen() && !screen.hide_cursor() && !screen.bracketed_paste());
            assert_eq!(screen.mouse_protocol_mode(), vt100::MouseProtocolMode::None);
            let raw = String::from_utf8_lossy(&seen.raw);
            assert_eq!(raw.matches("\u{1b}[?2004h").count(), raw.matches("\u{1b}[?2004l").count());
            assert!(!raw.contains("\u{1b}[?1000h"), "the mouse belongs to the terminal");
        });
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        if let Some(mut child) = self.child.take() {
            let _ = child.kill();
            let _ = child.wait();
        }
    }
}

/// A folder with the demo line heated up already, its recipes and orders.
struct Plant {
    _dir: tempfile::TempDir,
    home: PathBuf,
}

impl Plant {
    fn new() -> Self {
        let dir = tempfile::tempdir().unwrap();
        let home = dir.path().to_owned();
        let (line, recipes, orders) = files::demo();
        let mut text = line.text.to_owned();
        for after in ["10:00", "15:00", "20:00", "40:00"] {
            text = text.replace(&format!(", \"ready_after\": \"{after}\""), "");
        }
        assert!(!text.contains("ready_after"));
        std::fs::write(home.join("line.json"), text).unwrap();
        std::fs::write(home.join("recipes.json"), recipes.text).unwrap();
        std::fs::write(home.join("orders.json"), orders.text).unwrap();
        Self { _dir: dir, home }
    }

    /// Opens the screens of a new shift on this line, past the cautions.
    fn shift(&self, speed: &str, more: &[&str], vars: &[(&str, &str)]) -> Terminal {
        let mut args =
            vec!["run", "--line", "line.json", "--recipes", "recipes.json", "--orders", "orders.json"];
        args.extend(["--shift", "shift.jsonl", "--speed", speed]);
        args.extend(more);
        let mut terminal = Terminal::run(&self.home, &args, vars);
        Self::past_the_cautions(&mut terminal);
        terminal
    }

    /// Opens another screen on the journal of that shift.
    fn again(&self, more: &[&str]) -> Terminal {
        let mut args = vec!["run", "--shift", "shift.jsonl"];
        args.extend(more);
        let mut terminal = Terminal::run(&self.home, &args, &[]);
        Self::past_the_cautions(&mut terminal);
        terminal
    }

    fn past_the_cautions(terminal: &mut Terminal) {
        terminal.shows("Before the first move, read this.");
        terminal.press("\r");
        terminal.wait("a screen", |seen| seen.has("What happened") || seen.has("5 Board"));
    }

    fn journal(&self) -> Vec<u8> {
        std::fs::read(self.home.join("shift.jsonl")).unwrap()
    }
}

/// A second terminal joins a practice: it goes by the first one's clock, each sees what the other confirms, and only the
/// first says how fast time goes.
#[test]
fn two_terminals_share_a_practice_and_its_clock() {
    let plant = Plant::new();
    let mut first = plant.shift("60", &[], &[]);
    first.shows("PICK B01 from West");
    let mut quick = Terminal::run(&plant.home, &["run", "--shift", "shift.jsonl", "--speed", "5"], &[]);
    quick.shows("another terminal runs this practice at speed 60: leave --speed to it");
    assert_eq!(quick.ends(), 2);

    let mut second = plant.again(&[]);
    second.shows("PICK B01 from West");
    // A second of the wall is a minute here, and each screen is painted when it likes.
    assert!(gap(&first, &second) < 90, "the clocks differ by {} s", gap(&first, &second));
    first.let_pass(A_WHILE);
    first.press(" ");
    second.shows("PLACE B01");
    second.let_pass(A_WHILE);
    second.press(" ");
    first.wait("the place to be confirmed", |seen| !seen.has("PLACE B01"));
}

/// The first is killed while another goes on: whoever comes back joins it, and the clocks do not part.
#[test]
fn a_practice_that_lost_its_first_terminal_keeps_its_clock() {
    let plant = Plant::new();
    let mut first = plant.shift("60", &[], &[]);
    first.shows("PICK B01 from West");
    first.let_pass(A_WHILE);
    first.press(" ");
    let second = plant.again(&[]);
    second.shows("PLACE B01");
    first.signal("KILL");
    let _ = first.ends();
    second.let_pass(300);
    let back = plant.again(&[]);
    back.shows("PLACE B01");
    assert!(gap(&second, &back) < 90, "the clocks differ by {} s", gap(&second, &back));
}

/// Seconds of the shift between the clocks of two terminals.
fn gap(a: &Terminal, b: &Terminal) -> i64 {
    (a.wait_for("a clock", Seen::clock) - b.wait_for("a clock", Seen::clock)).abs()
}

/// Both press for the same call at the same moment: it is stored once, and the slower one is told what happened instead.
#[test]
fn when_both_press_at_once_one_is_told_what_happened_instead() {
    let plant = Plant::new();
    let mut first = plant.shift("60", &[], &[]);
    let mut second = plant.again(&["--role", "supervisor"]);
    second.press("1");
    first.shows("PICK B01 from West");
    second.shows("PICK B01 from West");
    first.let_pass(A_WHILE);
    second.let_pass(A_WHILE);
    first.press(" ");
    second.press(" ");
    let told = |t: &Terminal| {
        t.wait_for("an answer", |seen| {
            if seen.has("Said: picked B01") {
                return Some(true);
            }
            let instead = ["B01 is ", "has just changed", "Nothing was said"];
            instead.iter().any(|words| seen.has(words)).then_some(false)
        })
    };
    assert!(told(&first) != told(&second), "one was first, and only one");
    first.shows("PLACE B01");
    second.shows("PLACE B01");
    let journal = String::from_utf8(plant.journal()).unwrap();
    assert_eq!(journal.matches("\"lifted\"").count(), 1, "{journal}");
}

/// Seconds of a shift at speed 60 after which a press counts as meant: 0.7 s of the wall, and then some.
const A_WHILE: i64 = 50;

#[test]
fn the_cautions_come_first_and_then_the_call() {
    let home = tempfile::tempdir().unwrap();
    let mut t = Terminal::run(home.path(), &[], &[]);
    t.shows("It advises.");
    t.look(|seen| {
        assert!(seen.has("Hot caustic") && seen.has("Others decide.") && seen.has("watch a simulated crew"));
        assert!(!seen.has("What happened"));
        assert!(seen.parser.screen().alternate_screen() && seen.parser.screen().bracketed_paste());
    });
    t.press("\r");
    t.shows("PICK B01 from West");
    // Waited for one by one: a frame may arrive in pieces.
    t.shows("PRACTICE");
    t.shows("heats till 06:20");
    let kept = std::fs::read_dir(home.path().join("dwellhand")).unwrap().map(|f| f.unwrap().path());
    let journals = kept.filter(|p| p.extension().is_some_and(|e| e == "jsonl")).count();
    assert_eq!(journals, 1, "one journal in the state folder");
}

/// Who reads the cautions for a while has lost nothing of a practice: its time begins after them.
#[test]
fn a_practice_begins_when_the_cautions_are_read() {
    let plant = Plant::new();
    let mut args = vec!["run", "--line", "line.json", "--recipes", "recipes.json", "--orders", "orders.json"];
    args.extend(["--shift", "shift.jsonl", "--speed", "60"]);
    let mut t = Terminal::run(&plant.home, &args, &[]);
    t.shows("Before the first move, read this.");
    // Five minutes of the practice, if it went on.
    std::thread::sleep(std::time::Duration::from_secs(5));
    t.press("\r");
    let clock = t.wait_for("a clock", Seen::clock);
    let opened = 6 * 3600;
    assert!((opened..opened + 240).contains(&clock), "{clock}");
}

#[test]
fn a_pick_and_a_place_are_confirmed_with_one_key_each() {
    let plant = Plant::new();
    let mut t = plant.shift("60", &[], &[]);
    t.shows("PICK B01 from West");
    t.let_pass(A_WHILE);
    t.press(" ");
    t.shows("Said: picked B01 from West at 06:");
    t.shows("PLACE B01 in T01");
    t.let_pass(A_WHILE);
    t.press(" ");
    t.shows("Said: placed B01 in T01 at 06:");
    t.shows("1 on line");
    assert_eq!(t.look(loads), ["T01 B01"]);
}

#[test]
fn a_wrong_put_down_is_said_and_taken_back_and_the_journal_keeps_it_all() {
    let plant = Plant::new();
    let mut t = plant.shift("60", &[], &[]);
    t.shows("PICK B01 from West");
    t.let_pass(A_WHILE);
    t.press(" ");
    t.shows("PLACE B01 in T01");
    t.let_pass(A_WHILE);
    t.press("x");
    t.shows("What did you do?");
    t.press("T03");
    t.wait("the narrowed list", |seen| seen.has("narrow: T03_") && seen.has("placed B01 in T03"));
    t.press("\r");
    t.shows("How long ago?");
    t.let_pass(A_WHILE);
    t.press("\r");
    t.shows("Said: placed B01 in T03");
    t.wait("the load in the other tank", |seen| loads(seen) == ["T03 B01"]);
    t.let_pass(A_WHILE);
    t.press("u");
    t.shows("Take back the last thing said?");
    t.let_pass(A_WHILE);
    t.press("y");
    t.shows("Taken back: placed B01 in T03");
    t.shows("PLACE B01 in T01");
    t.let_pass(A_WHILE);
    t.press(" ");
    t.shows("Said: placed B01 in T01");
    t.wait("the load in its tank", |seen| loads(seen) == ["T01 B01"]);

    // Pasted text says nothing, whatever is in it.
    t.press("\u{1b}[200~ qyq\r\r\u{1b}[201~");
    t.let_pass(A_WHILE);
    assert!(!t.look(|seen| seen.has("Leave dwellhand?")));
    t.press("q");
    t.shows("Leave dwellhand?");
    t.press("n");
    t.wait("the question to go", |seen| !seen.has("Leave dwellhand?"));
    t.press("q");
    t.shows("Leave dwellhand?");
    t.press("y");
    assert_eq!(t.ends(), 0);
    t.is_given_back();
    t.shows("Go on with: dwellhand run --shift shift.jsonl");
    drop(t);

    let mut t = plant.again(&[]);
    t.wait("the same load in the same tank", |seen| loads(seen) == ["T01 B01"]);
    t.press("4");
    // Tall enough for all that happened.
    t.resize(34, 80);
    for said in [
        "left the screens",
        "placed B01 in T01",
        "placed B01 in T03",
        "picked B01 from West",
        "shift opened, 15 carriers",
    ] {
        t.shows(said);
    }
    t.let_pass(A_WHILE);
    t.press("q");
    t.shows("Leave dwellhand?");
    t.press("y");
    assert_eq!(t.ends(), 0);
}

#[test]
fn a_signal_ends_it_with_the_terminal_as_it_was() {
    let plant = Plant::new();
    for (name, code) in [("TERM", 143), ("HUP", 129), ("INT", 130)] {
        let _ = std::fs::remove_file(plant.home.join("shift.jsonl"));
        let mut t = plant.shift("60", &[], &[]);
        t.signal(name);
        assert_eq!(t.ends(), code, "{name}");
        t.is_given_back();
    }
}

#[test]
fn any_size_will_do_and_a_small_one_is_called_small() {
    let plant = Plant::new();
    let t = plant.shift("60", &[], &[]);
    t.shows("PICK B01 from West");
    t.resize(8, 40);
    t.shows("Too small: needs 80x24, has 40x8");
    t.look(|seen| assert!(seen.has("PICK B01")));
    t.resize(1, 1);
    for _ in 0..3 {
        let drawn = t.look(|seen| seen.raw.len());
        t.wait("another frame", |seen| seen.raw.len() > drawn);
    }
    t.resize(24, 80);
    t.shows("PICK B01 from West");
    t.shows("What happened");
    t.resize(60, 200);
    t.wait("all panes", |seen| seen.has("shift opened, 15 carriers") && seen.has("T28"));
}

#[test]
fn without_colour_bold_and_reverse_stay() {
    let plant = Plant::new();
    let t = plant.shift("60", &[], &[("NO_COLOR", "1")]);
    t.shows("PICK B01 from West");
    t.let_pass(A_WHILE);
    let cells = t.look(Seen::cells);
    let plain =
        |c: &vt100::Cell| c.fgcolor() == vt100::Color::Default && c.bgcolor() == vt100::Color::Default;
    assert!(cells.iter().all(plain));
    assert!(cells.iter().any(vt100::Cell::bold) && cells.iter().any(vt100::Cell::inverse));
    drop(t);

    std::fs::remove_file(plant.home.join("shift.jsonl")).unwrap();
    let t = plant.shift("60", &[], &[]);
    t.shows("PICK B01 from West");
    assert!(!t.look(Seen::cells).iter().all(plain), "there is colour where it is not unwanted");
}

#[test]
fn ascii_means_ascii() {
    let plant = Plant::new();
    for (args, vars) in [(&["--glyphs", "ascii"][..], &[][..]), (&[], &[("LANG", "C")])] {
        let _ = std::fs::remove_file(plant.home.join("shift.jsonl"));
        let mut t = plant.shift("60", args, vars);
        t.shows("PICK B01 from West");
        t.let_pass(A_WHILE);
        t.press(" ");
        t.shows("PLACE B01 in T01");
        t.let_pass(A_WHILE);
        for (key, words) in [("?", "On the live screen"), ("\u{1b}", "What happened"), ("t", "Which tank?")] {
            t.press(key);
            t.shows(words);
        }
        t.look(|seen| {
            assert!(seen.raw.is_ascii());
            for cell in seen.cells() {
                assert!(cell.contents().bytes().all(|b| (0x20..=0x7e).contains(&b)), "{:?}", cell.contents());
            }
        });
    }
}

#[test]
fn nobody_runs_on_without_a_terminal() {
    let plant = Plant::new();
    let t = plant.shift("60", &[], &[]);
    assert_eq!(t.lose(), Some(129));
    // No signal says so here; the program must find out by itself.
    let args = ["run", "--shift", "shift.jsonl"];
    let t = Terminal::run_as(&plant.home, &args, &[], false);
    t.shows("Before the first move, read this.");
    assert_eq!(t.lose(), Some(129));
}

#[test]
fn a_simulated_crew_moves_by_itself() {
    let plant = Plant::new();
    let mut t = plant.shift("200", &["--crew", "simulated"], &[]);
    t.press("4");
    t.shows("crew picked B01 from West");
    t.shows("crew placed B01 in T01");
}

#[test]
fn a_practice_can_be_left_to_a_crew_on_the_first_screen() {
    let plant = Plant::new();
    let mut args = vec!["run", "--line", "line.json", "--recipes", "recipes.json", "--orders", "orders.json"];
    args.extend(["--shift", "shift.jsonl", "--speed", "200"]);
    let mut t = Terminal::run(&plant.home, &args, &[]);
    t.shows("watch a simulated crew run it");
    t.press("w");
    t.shows("What happened");
    t.press("4");
    t.shows("crew placed B01 in T01");

    // The demo runs at the wall's pace until a crew is watched.
    let mut t = Terminal::run(&plant.home, &[], &[]);
    t.shows("watch a simulated crew run it");
    t.press("w");
    t.shows("What happened");
    t.let_pass(25);
}

#[test]
fn whoever_watches_sees_what_is_said_and_says_nothing() {
    let plant = Plant::new();
    let mut operator = plant.shift("60", &[], &[]);
    operator.shows("PICK B01 from West");
    let mut watcher = plant.again(&["--role", "watch"]);
    watcher.shows("WATCHING ONLY");
    watcher.wait("no key that says anything", |seen| !seen.has("Space done") && seen.has("? keys"));
    watcher.shows("PICK B01 from West");
    watcher.let_pass(A_WHILE);
    watcher.press(" ");
    watcher.shows("This screen only watches.");
    operator.let_pass(A_WHILE);
    operator.press(" ");
    operator.shows("PLACE B01 in T01");
    watcher.shows("PLACE B01 in T01");
    operator.press("q");
    operator.shows("Leave dwellhand?");
    operator.press("\u{3}");
    assert_eq!(operator.ends(), 0);

    // Nobody looks after the shift now; the watcher still writes nothing, not even when it comes anew.
    let kept = plant.journal();
    let late = plant.again(&["--role", "watch"]);
    late.shows("PLACE B01 in T01");
    late.let_pass(120);
    for key in ["x", "u", "s", "l", "a", "h", "\r"] {
        watcher.press(key);
    }
    watcher.let_pass(A_WHILE);
    watcher.press("q");
    watcher.shows("Leave dwellhand?");
    watcher.press("y");
    assert_eq!(watcher.ends(), 0);
    watcher.is_given_back();
    assert!(plant.journal() == kept, "a watcher wrote to the journal");
}

#[test]
fn a_watcher_needs_something_to_watch() {
    let plant = Plant::new();
    let mut t = Terminal::run(&plant.home, &["run", "--role", "watch"], &[]);
    assert_eq!(t.ends(), 2);
    t.shows("--role watch needs --shift");
    let mut t = Terminal::run(&plant.home, &["run", "--role", "watch", "--shift", "none.jsonl"], &[]);
    assert_eq!(t.ends(), 2);
    t.shows("none.jsonl");
    let args = ["run", "--role", "watch", "--shift", "x.jsonl", "--crew", "simulated"];
    let mut t = Terminal::run(&plant.home, &args, &[]);
    assert_eq!(t.ends(), 2);
    t.shows("only looks");
    assert!(!plant.home.join("none.jsonl").exists() && !plant.home.join("x.jsonl").exists());
}

/// Presses Enter as a person does: not so soon after the last one that it counts as a bounce.
fn enter(terminal: &mut Terminal) {
    std::thread::sleep(Duration::from_millis(200));
    terminal.press("\r");
}

#[test]
fn what_a_supervisor_holds_another_terminal_shows_at_once_and_it_can_be_taken_back() {
    let plant = Plant::new();
    let mut args = vec!["run", "--line", "line.json", "--recipes", "recipes.json", "--orders", "orders.json"];
    args.extend(["--shift", "shift.jsonl"]);
    let mut operator = Terminal::run(&plant.home, &args, &[]);
    Plant::past_the_cautions(&mut operator);
    // The queue on the board.
    operator.press("5\t\t");
    let mut supervisor =
        Terminal::run(&plant.home, &["run", "--shift", "shift.jsonl", "--role", "supervisor"], &[]);
    supervisor.shows("Before the first move, read this.");
    supervisor.press("\r");
    supervisor.shows("w Changes");
    supervisor.press("w");
    supervisor.shows("What to change?");
    supervisor.press("hold");
    enter(&mut supervisor);
    supervisor.shows("Which carrier?");
    supervisor.press("B03");
    supervisor.wait("B03 alone", |seen| seen.has("B03  in the queue") && !seen.has("B04  in the queue"));
    enter(&mut supervisor);
    supervisor.shows("Proposed 1");
    supervisor.shows("order, finished at");
    enter(&mut supervisor);
    supervisor.shows("Why?");
    supervisor.press("hook bent");
    enter(&mut supervisor);
    let said = Instant::now();
    operator.wait("B03 held", |seen| seen.text().lines().any(|l| l.contains("HELD") && l.contains("B03")));
    // One look at the journal a second, and a busy machine.
    assert!(said.elapsed() < Duration::from_secs(2), "it took {:?}", said.elapsed());
    supervisor.shows("hook bent");
    supervisor.press("t");
    supervisor.shows("take back: B03 held");
    supervisor.shows("order, finished at");
    enter(&mut supervisor);
    supervisor.shows("Why?");
    supervisor.press("straight again");
    enter(&mut supervisor);
    operator.wait("B03 goes on", |seen| !seen.has("HELD"));
    supervisor.shows("Changes that stand 0");
}

#[test]
fn a_shift_is_looked_at_again_taken_over_and_held_against_the_practice() {
    let home = tempfile::tempdir().unwrap();
    let path = home.path().join("shift.jsonl");
    std::fs::write(&path, files::demo_shift().text).unwrap();
    let mut t = Terminal::run(home.path(), &["replay", "shift.jsonl"], &[]);
    t.shows("REPLAY");
    // Keys that say something on a running shift say nothing here.
    for key in ["\r", "l", "s", "h"] {
        t.press(key);
    }
    t.press("x");
    t.shows("broken: B01 in T02");
    t.press("u");
    t.shows("not as called: picked B05");
    t.press("y");
    t.shows("NOT what the call said");
    t.press("q");
    t.press("d");
    t.shows("Go to which time?");
    t.press("10:17:20\r");
    t.wait("the time", |s| s.clock() == Some(10 * 3600 + 17 * 60 + 20));
    t.press("T");
    t.shows("Take over at 10:17:20");
    // An Enter so soon after the one before is taken for a bounce.
    std::thread::sleep(Duration::from_secs(1));
    t.press("\r");
    t.shows("PRACTICE");
    t.press("q");
    t.shows("Leave dwellhand?");
    t.press("y");
    t.shows("What happened beside the practice");
    t.press("q");
    t.wait("the recording again", |s| s.has("REPLAY") && !s.has("beside the practice"));
    t.press("q");
    t.shows("Leave the replay?");
    t.press("y");
    assert_eq!(t.ends(), 0);
    assert_eq!(std::fs::read(&path).unwrap(), files::demo_shift().text.as_bytes());
    let kept = std::fs::read_dir(home.path().join("dwellhand")).unwrap();
    let practices: Vec<_> =
        kept.filter(|f| f.as_ref().unwrap().path().extension() == Some("jsonl".as_ref())).collect();
    assert_eq!(practices.len(), 1);
}

/// A replay that asks what comes next: on to a moment, the call hidden, an answer, its price, and on.
#[test]
fn a_replay_asks_what_comes_next_and_says_what_the_answer_would_have_cost() {
    let home = tempfile::tempdir().unwrap();
    std::fs::write(home.path().join("shift.jsonl"), files::demo_shift().text).unwrap();
    let args = ["replay", "shift.jsonl", "--initials", "ab"];
    let mut t = Terminal::run(home.path(), &args, &[]);
    t.shows("REPLAY");
    t.press("d");
    t.shows("Go to which time?");
    t.press("08:20\r");
    t.wait("the time", |s| s.clock() == Some(8 * 3600 + 20 * 60));
    t.press("n");
    t.shows("the call is hidden");
    let first = t.wait_for("a time", Seen::clock);
    t.wait("no call", |s| !s.has("PICK ") && !s.has("then "));
    // Looking around says nothing.
    t.press("\tt");
    t.shows("Which tank?");
    t.press("\x03");
    t.press("9");
    t.shows("Choose a move: 1 to");
    t.press("1");
    t.shows("Best: pick");
    t.shows("1 right.");
    std::thread::sleep(Duration::from_secs(1));
    t.press("\r");
    t.shows("the call is hidden");
    t.wait("a later moment", |s| s.clock().is_some_and(|c| c > first));
    t.press("N");
    t.shows("No more questions: ");
    t.press("q");
    t.shows("Leave the replay?");
    // A yes so soon after the Enter would be taken for a bounce.
    std::thread::sleep(Duration::from_secs(1));
    t.press("y");
    assert_eq!(t.ends(), 0);
    let kept = std::fs::read_to_string(home.path().join("dwellhand/progress.jsonl")).unwrap();
    assert!(kept.contains("what next shift.jsonl") && kept.contains("\"asked\":1"), "{kept}");
}

/// The shipped shift: to an alarm, taken over by a crew, its debrief read, held against what happened.
#[test]
fn a_shift_is_taken_over_at_an_alarm_finished_and_looked_back_upon() {
    let home = tempfile::tempdir().unwrap();
    let mut t = Terminal::run(home.path(), &["replay", "--budget", "500"], &[]);
    t.shows("REPLAY");
    t.press("d");
    t.shows("Go to which time?");
    t.press("12:00\r");
    t.wait("the time", |s| s.clock() == Some(12 * 3600));
    t.press("W");
    t.shows("alarm: ");
    let at = t.wait_for("a time", Seen::clock);
    assert!(at < 12 * 3600, "{at}");
    t.press("d");
    t.shows("Go to which time?");
    std::thread::sleep(Duration::from_secs(1));
    t.press("12:15\r");
    t.wait("the time", |s| s.clock() == Some(12 * 3600 + 15 * 60));
    t.press("T");
    t.shows("Take over at 12:15:00");
    t.press("120");
    std::thread::sleep(Duration::from_secs(1));
    t.press("\r");
    // It ends where the recording does, with its debrief on the screen.
    t.wait("the end", |s| s.has("The practice is over") && s.has("Debrief: taken over from"));
    t.press("q");
    t.shows("Leave dwellhand?");
    t.press("y");
    t.shows("beside the practice");
    t.shows("broken: scrap");
    t.press("q");
    t.press("0");
    t.wait("the debrief of what happened", |s| s.has("REPLAY") && s.has("Windows broken, by harm"));
    t.press("q");
    t.shows("Leave the replay?");
    t.press("y");
    assert_eq!(t.ends(), 0);
}

/// Time is up while somebody is saying something: that stays; then the debrief, and nothing is said any more.
#[test]
fn a_drill_that_is_over_says_so_and_takes_nothing_more() {
    let home = tempfile::tempdir().unwrap();
    let drill = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/drills/normal-morning.json");
    let text = std::fs::read_to_string(drill).unwrap().replace("\"hours\": 2.5", "\"hours\": 0.1");
    std::fs::write(home.path().join("short.json"), text).unwrap();
    let mut t = Terminal::run(home.path(), &["drill", "short.json", "--speed", "60"], &[]);
    let enter = |t: &mut Terminal| {
        // So soon after another one it would be taken for a bounce.
        std::thread::sleep(Duration::from_secs(1));
        t.press("\r");
    };
    t.shows("on to what this practice is about");
    enter(&mut t);
    t.shows("A normal morning");
    t.shows("through the line and when there is time");
    t.shows("60 times faster");
    enter(&mut t);
    t.wait("what it is, in the head", |s| {
        s.text()
            .lines()
            .next()
            .is_some_and(|l| l.contains("PRACTICE") && l.contains("A normal morning") && l.contains("x60"))
    });
    t.press("x");
    t.shows("What did you do?");
    t.shows("Time is up");
    t.shows("What did you do?");
    t.press("\x1b");
    t.shows("Debrief: A normal morning");
    t.shows("The drill is over");
    t.press("1");
    t.shows("nothing is called any more");
    std::thread::sleep(Duration::from_secs(1));
    t.press(" ");
    t.shows("nothing is said any more");
    t.press("q");
    t.shows("The drill is over.");
    // A yes so soon after the Space would be taken for a bounce.
    std::thread::sleep(Duration::from_secs(1));
    t.press("y");
    assert_eq!(t.ends(), 0);
    let kept = std::fs::read_dir(home.path().join("dwellhand")).unwrap().filter_map(Result::ok);
    let journal = kept.map(|e| e.path()).find(|p| p.extension().is_some_and(|e| e == "jsonl")).unwrap();
    let kept = std::fs::read_to_string(journal).unwrap();
    assert!(!kept.contains("\"event\":\"lifted\"") && kept.contains("the drill is over"), "{kept}");
}

/// A drill that was left goes on with what is still to happen, and with nothing a second time.
#[test]
fn a_drill_that_is_opened_again_goes_on_with_its_troubles() {
    let home = tempfile::tempdir().unwrap();
    let drill = |args: &[&str]| {
        let mut t = Terminal::run(home.path(), args, &[]);
        t.shows("Before the first move, read this.");
        t.press("\r");
        t.shows("The rectifier of a tank is lost");
        t.shows("begin: a simulated crew runs the line");
        // A second Enter so soon would be taken for a bounce.
        std::thread::sleep(Duration::from_secs(1));
        t.press("\r");
        t.shows("PRACTICE");
        t
    };
    let shift = ["--shift", "d.jsonl", "--crew", "simulated", "--speed", "600"];
    let leave = |mut t: Terminal| {
        t.press("q");
        t.shows("Leave");
        // A yes so soon after the Enter would be taken for a bounce.
        std::thread::sleep(Duration::from_secs(1));
        t.press("y");
        assert_eq!(t.ends(), 0);
        let text = std::fs::read_to_string(home.path().join("d.jsonl")).unwrap();
        text.matches("\"event\":\"tank-out\"").count()
    };
    let t = drill(&[&["drill", "rectifier-lost", "--initials", "ab"], &shift[..]].concat());
    t.wait("the first trouble", |s| s.text().lines().any(|l| l.contains("T12") && l.contains("OUT")));
    let before = leave(t);
    assert!((1..=2).contains(&before), "{before}");
    let t = drill(&[&["run"], &shift[..]].concat());
    t.wait("the second trouble", |s| s.clock().is_some_and(|c| c > 7 * 3600 + 20 * 60));
    assert_eq!(leave(t), 2, "after {before}");
    let kept = std::fs::read_to_string(home.path().join("dwellhand/progress.jsonl")).unwrap();
    assert_eq!(kept.lines().filter(|l| l.contains("\"AB\"")).count(), 2, "{kept}");
}

/// In another process, with its own terminal: see the test below.
#[test]
#[ignore = "run by another test"]
fn a_screen_that_panics() {
    use dwellhand::live::LiveShift;
    if std::env::var_os("DWELLHAND_PANICS").is_none() {
        return;
    }
    let line = Arc::new(super::scene::line());
    let clock = dwellhand::clock::ManualClock::default();
    let opening = super::scene::calm().opening;
    let mut shift =
        LiveShift::in_memory(line, opening, Box::new(clock), dwellhand::plan::Settings::default());
    let ears = dwellhand::tui::Ears::listen(false).unwrap();
    let options = dwellhand::tui::Options { practice: true, ..Default::default() };
    let _ =
        dwellhand::tui::run(&ears, &mut shift, &options, &mut |_, _| panic!("the crew fell into the tank"));
}

#[test]
fn a_panic_gives_the_terminal_back_before_it_speaks() {
    let home = tempfile::tempdir().unwrap();
    let this = std::env::current_exe().unwrap();
    let args = ["--ignored", "--exact", "--nocapture", "pty::a_screen_that_panics"];
    let mut t = Terminal::start(&this, home.path(), &args, &[("DWELLHAND_PANICS", "1")], true);
    t.shows("Before the first move, read this.");
    t.look(|seen| assert!(seen.parser.screen().alternate_screen()));
    t.press("w");
    assert_eq!(t.ends(), 101);
    t.is_given_back();
    t.look(|seen| {
        assert!(seen.has("the crew fell into the tank"), "{}", seen.text());
        // The words stand on the screen that was there before, not on the one that is gone.
        let raw = String::from_utf8_lossy(&seen.raw);
        let (left, spoke) = (raw.rfind("\u{1b}[?1049l").unwrap(), raw.find("the crew fell").unwrap());
        assert!(left < spoke);
    });
}

/// The letter of a process's state: `T` is stopped.
fn state(pid: u32) -> Option<char> {
    let stat = std::fs::read_to_string(format!("/proc/{pid}/stat")).ok()?;
    stat.rsplit(") ").next()?.chars().next()
}

#[test]
fn stopped_and_continued_it_lets_go_of_the_terminal_and_takes_it_again() {
    let plant = Plant::new();
    let mut t = plant.shift("60", &[], &[]);
    t.shows("PICK B01 from West");
    let pid = t.child.as_ref().unwrap().process_id().unwrap();
    for _ in 0..2 {
        t.press("\u{1a}");
        t.wait("the screen to be left", |seen| !seen.parser.screen().alternate_screen());
        let until = Instant::now() + LIMIT;
        while state(pid) != Some('T') {
            assert!(Instant::now() < until, "it is {:?}, not stopped", state(pid));
            std::thread::sleep(Duration::from_millis(5));
        }
        t.is_given_back();
        t.signal("CONT");
        t.wait("the whole screen", |seen| {
            seen.parser.screen().alternate_screen() && seen.has("PICK B01 from West")
        });
        t.shows("What happened");
    }
    t.press("q");
    t.shows("Leave dwellhand?");
    t.let_pass(A_WHILE);
    t.press("y");
    assert_eq!(t.ends(), 0);
    t.is_given_back();
}

/// Two hundred sizes one after the other, faster than they can be drawn.
#[test]
fn a_storm_of_sizes_leaves_the_screen_whole() {
    let plant = Plant::new();
    let mut t = plant.shift("60", &[], &[]);
    t.shows("PICK B01 from West");
    let mut random = 7_u64;
    let mut below = |n: u64| {
        random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (random >> 33) % n + 1
    };
    for n in 0..200 {
        t.resize(below(200) as u16, below(500) as u16);
        if n % 20 == 0 {
            t.press("\t");
        }
        std::thread::sleep(Duration::from_millis(2));
    }
    t.resize(24, 80);
    t.press("r");
    t.shows("PICK B01 from West");
    t.shows("1 Line");
    // Synchronised frames come in pairs, and nothing is erased inside one.
    t.let_pass(A_WHILE);
    t.look(|seen| {
        let raw = String::from_utf8_lossy(&seen.raw);
        let frames: Vec<&str> = raw.split("\u{1b}[?2026h").skip(1).collect();
        assert!(frames.len() > 3);
        for frame in &frames[..frames.len() - 1] {
            let (inside, _) = frame.split_once("\u{1b}[?2026l").expect("a frame has an end");
            assert!(!inside.contains("\u{1b}[2J"), "erased inside a frame");
        }
    });
    t.signal("TERM");
    assert_eq!(t.ends(), 143);
    t.is_given_back();
}

/// Threads that do nothing as fast as they can, until this is dropped.
struct Busy(Arc<AtomicBool>);

impl Busy {
    fn with(threads: usize) -> Self {
        let over = Arc::new(AtomicBool::new(false));
        for _ in 0..threads {
            let over = Arc::clone(&over);
            std::thread::spawn(move || while !over.load(Ordering::Relaxed) {});
        }
        Busy(over)
    }
}

impl Drop for Busy {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// Crossterm's own source of events is told only once of what can be read, so that a key that comes with a resize waited for
/// the next key: a few in 300 on a busy machine. Hence its feature `use-dev-tty`.
#[test]
fn a_key_at_the_moment_of_a_resize_is_seen() {
    let plant = Plant::new();
    let mut t = plant.shift("1", &[], &[]);
    t.shows("PICK B01 from West");
    let _busy = Busy::with(6);
    for round in 0..300 {
        t.resize(24 + round % 2, 80);
        t.press("q");
        t.shows("Leave dwellhand?");
        t.press("n");
        t.wait("the question to go", |seen| !seen.has("Leave dwellhand?"));
    }
}

#[test]
fn light_and_dark_lay_their_own_ground() {
    let plant = Plant::new();
    for (theme, ground) in [("light", vt100::Color::Idx(231)), ("dark", vt100::Color::Idx(233))] {
        let _ = std::fs::remove_file(plant.home.join("shift.jsonl"));
        let t = plant.shift("60", &["--theme", theme], &[]);
        t.shows("PICK B01 from West");
        t.let_pass(A_WHILE);
        let cells = t.look(Seen::cells);
        let grounded = cells.iter().filter(|c| c.bgcolor() == ground).count();
        assert!(grounded > 1500, "{theme}: {grounded} of {} cells", cells.len());
        assert!(cells.iter().all(|c| c.bgcolor() != vt100::Color::Default), "{theme}: no hole in the ground");
    }
}

#[test]
fn a_dumb_terminal_gets_lines_and_the_call() {
    let plant = Plant::new();
    let args = [
        "run",
        "--line",
        "line.json",
        "--recipes",
        "recipes.json",
        "--orders",
        "orders.json",
        "--speed",
        "60",
    ];
    let mut t = Terminal::run(&plant.home, &args, &[("TERM", "dumb")]);
    t.shows("Enter: I have read it.");
    t.press("\r");
    t.shows("CALL PICK B01 from West");
    t.press("quit\r");
    t.shows("Leave dwellhand?");
    t.press("y\r");
    assert_eq!(t.ends(), 0);
    t.look(|seen| assert!(!seen.raw.contains(&0x1b), "no escape on a dumb terminal"));
}

/// Nanoseconds on a processor so far, resident kilobytes, open files.
fn used(pid: u32) -> (u64, u64, usize) {
    let tasks = std::fs::read_dir(format!("/proc/{pid}/task")).unwrap();
    let on = |task: std::fs::DirEntry| {
        let stat = std::fs::read_to_string(task.path().join("schedstat")).unwrap_or_default();
        stat.split_whitespace().next().and_then(|n| n.parse::<u64>().ok()).unwrap_or(0)
    };
    let busy = tasks.map(|t| on(t.unwrap())).sum();
    let status = std::fs::read_to_string(format!("/proc/{pid}/status")).unwrap();
    let resident = status.lines().find_map(|l| l.strip_prefix("VmRSS:")).unwrap();
    let resident = resident.trim().trim_end_matches(" kB").parse().unwrap();
    (busy, resident, std::fs::read_dir(format!("/proc/{pid}/fd")).unwrap().count())
}

/// A minute of the demo at the wall's pace, with nobody at the keys: what redrawing the clock costs.
#[test]
#[ignore = "a minute long; prints figures"]
fn what_idling_costs() {
    for (rows, cols) in [(24, 80), (60, 200)] {
        let home = tempfile::tempdir().unwrap();
        let mut t = Terminal::run(home.path(), &["run", "--budget", "0"], &[]);
        t.shows("Before the first move, read this.");
        t.press("\r");
        t.resize(rows, cols);
        t.shows("What happened");
        let pid = t.child.as_ref().unwrap().process_id().unwrap();
        std::thread::sleep(Duration::from_secs(3));
        let (busy, ..) = used(pid);
        let drawn = t.look(|seen| seen.raw.len());
        std::thread::sleep(Duration::from_secs(30));
        let (after, resident, files) = used(pid);
        let bytes = t.look(|seen| seen.raw.len()) - drawn;
        let share = (after - busy) as f64 / 30e9 * 100.0;
        println!(
            "{cols}x{rows}: {share:.3} % of a core, {} bytes/s, {resident} kB, {files} files",
            bytes / 30
        );
        assert!(share < 3.0);
    }
}

/// Twelve hours of the long day, 67 carriers still waiting: from the start of the program to the call on the screen.
#[test]
#[ignore = "a minute long; prints figures"]
fn how_soon_a_long_shift_is_back() {
    let home = tempfile::tempdir().unwrap();
    let orders = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/orders-day.json");
    let made = Process::new(env!("CARGO_BIN_EXE_dwellhand"))
        .args(["simulate", "--hours", "12", "--seed", "7", "--out", "day.jsonl", "--orders"])
        .arg(orders)
        .current_dir(home.path())
        .output()
        .unwrap();
    assert!(made.status.success());
    // Opened once before: a shift that people work on knows their pace.
    let opened = Process::new(env!("CARGO_BIN_EXE_dwellhand"))
        .args(["run", "--shift", "day.jsonl", "--plain"])
        .current_dir(home.path())
        .stdin(std::process::Stdio::null())
        .output()
        .unwrap();
    assert!(opened.status.success());
    let whole = std::fs::read(home.path().join("day.jsonl")).unwrap();
    let mut took: Vec<Duration> = (0..9)
        .map(|n| {
            let name = format!("{n}.jsonl");
            std::fs::write(home.path().join(&name), &whole).unwrap();
            let begun = Instant::now();
            let mut t = Terminal::run(home.path(), &["run", "--shift", &name], &[]);
            // Typed ahead: past the cautions.
            t.press("\r");
            t.wait("the call", |seen| seen.has("PICK D") || seen.has("PLACE D"));
            begun.elapsed()
        })
        .collect();
    took.sort();
    let lines = String::from_utf8_lossy(&whole).lines().count();
    println!(
        "{lines} lines, {} bytes: {:?} at best, {:?} in the middle of nine",
        whole.len(),
        took[0],
        took[4]
    );
    assert!(took[0] < Duration::from_secs(5));
}

/// Runs a shift for so many minutes, the screens changed all the while; resident kilobytes and open files every ten seconds.
#[expect(clippy::print_stdout, reason = "the figures are what one runs this for")]
fn soaked(args: &[&str], minutes: u64) -> Vec<(u64, usize)> {
    let home = tempfile::tempdir().unwrap();
    let mut t = Terminal::run(home.path(), args, &[]);
    t.shows("Before the first move, read this.");
    t.press("\r");
    t.resize(60, 200);
    let pid = t.child.as_ref().unwrap().process_id().unwrap();
    let begun = Instant::now();
    let mut samples = Vec::new();
    while begun.elapsed() < Duration::from_secs(60 * minutes) {
        std::thread::sleep(Duration::from_secs(8));
        for key in ["\t", "5", "6", "7", "1", "?", "\u{1b}"] {
            t.press(key);
            std::thread::sleep(Duration::from_millis(300));
        }
        let (_, resident, files) = used(pid);
        println!(
            "{:4} s: clock {:?}, {resident} kB, {files} files",
            begun.elapsed().as_secs(),
            t.look(Seen::clock)
        );
        samples.push((resident, files));
    }
    t.press("q");
    t.shows("Leave dwellhand?");
    t.press("y");
    assert_eq!(t.ends(), 0);
    samples
}

/// Hours of a shift under a crew in minutes: memory and files stay as they are.
#[test]
#[ignore = "minutes long; prints figures"]
fn a_long_shift_takes_no_more_and_no_more() {
    let minutes: u64 = std::env::var("DWELLHAND_SOAK_MIN").ok().and_then(|m| m.parse().ok()).unwrap_or(6);
    let args = ["run", "--crew", "simulated", "--speed", "80", "--shift", "s.jsonl", "--budget", "2000"];
    let samples = soaked(&args, minutes);
    let third = samples.len() / 3;
    let most = |part: &[(u64, usize)]| part.iter().map(|s| s.0).max().unwrap();
    let (early, late) = (most(&samples[third..2 * third]), most(&samples[2 * third..]));
    assert!(late <= early + 2048, "{early} kB in the middle, {late} kB at the end");
    assert!(samples.iter().all(|s| s.1 == samples[third].1), "files are left open");
}

/// A day and a night of a hundred bars in an hour. Every plan is kept, and these are long ones: what they
/// add is little beside what the program needs to run.
#[test]
#[ignore = "an hour long; prints figures"]
fn a_day_and_a_night_in_an_hour() {
    let orders = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/orders-day.json");
    let orders = orders.to_str().unwrap();
    let mut args = vec!["run", "--crew", "simulated", "--speed", "24", "--shift", "s.jsonl"];
    args.extend(["--budget", "2000", "--orders", orders]);
    let samples = soaked(&args, 60);
    assert!(samples.iter().skip(12).all(|s| s.1 == samples[12].1), "files are left open");
    let (third, last) = (samples[samples.len() / 3].0, samples[samples.len() - 1].0);
    assert!(last <= third + 4096, "{third} kB after a third, {last} kB at the end");
}

/// What is typed before the question is asked stands on the screen: it is no PIN.
#[test]
fn what_is_typed_before_the_pin_is_asked_for_is_no_pin() {
    let dir = tempfile::tempdir().unwrap();
    let program = env!("CARGO_BIN_EXE_dwellhand");
    let set = assert_cmd::Command::new(program)
        .args(["pin", "set"])
        .env("HOME", dir.path())
        .env_remove("XDG_CONFIG_HOME")
        .write_stdin("2580\n")
        .output();
    assert!(set.unwrap().status.success());
    let late = format!("sleep 1; exec {program} pin check");
    let mut t = Terminal::start(Path::new("/bin/sh"), dir.path(), &["-c", &late], &[], true);
    t.press("1234\n");
    t.shows("PIN: ");
    // Whatever was to be read has been by now.
    std::thread::sleep(Duration::from_millis(500));
    assert!(!t.look(|seen| seen.has("not the PIN")), "{}", t.look(Seen::text));
    t.press("2580\n");
    t.shows("right");
    assert_eq!(t.ends(), 0);
    assert!(!t.look(|seen| seen.has("2580") || seen.has("not the PIN")), "{}", t.look(Seen::text));
}
