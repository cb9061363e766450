//! The screens without a screen: one line for each thing that changes, and words typed on a line instead of keys. For
//! screen readers, pipes and terminals that can do no more. What is said goes through the same [`update`] as a key.
//!
//! [`update`]: super::app::update

mod heard;
mod page;
mod quiz;
mod read;
mod tape;
mod tell;
mod told;

use std::io::{self, BufRead as _, Write as _};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};

use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};

use super::app::{App, Post, Screen};
use super::herald::{Calls, Herald};
use super::run::{
    Begin, Cautions, Ears, Exit, Live, Options, Outcome, Source as _, TuiError, Wake, next, signals,
};
use crate::clock::steady_now;
use crate::live::LiveShift;

pub use heard::{Means, Reads, Reply, WORDS, hear};
pub use page::spoken;
pub(super) use quiz::ask;
pub(super) use tape::replay;
pub use tape::words as replay_words;
pub use tell::Teller;

/// Runs until the person leaves, the input ends, or nobody reads any more.
pub(super) fn run(
    ears: &Ears,
    shift: &mut LiveShift,
    options: &Options,
    to_begin: &mut dyn FnMut(&mut LiveShift, Begin),
) -> Result<Exit, TuiError> {
    let mut app = begin(shift, options);
    let mut source = Live::of(shift, options, to_begin);
    let mut teller = Teller::default();
    let mut before: Vec<String> = Vec::new();
    let mut herald = Herald::new(Calls { note: false, ..options.calls });
    loop {
        let mut news: Vec<String> = Vec::new();
        source.go_on(&mut app, &mut |_, _, text, _| news.push(text));
        // A disk that stays full is told once.
        let mut said: Vec<String> = news.iter().filter(|text| !before.contains(text)).cloned().collect();
        before = news;
        let board = source.board();
        said.extend(app.message.take().map(|m| format!("{} {}", board.clock, m.text)));
        app.see(&board);
        said.extend(teller.tell(&board, &app));
        if app.screen == Screen::Reading {
            // The practice is over.
            app.screen = Screen::Live;
            said.extend(read::aloud(&mut app, &mut source, &board, Reads::Debrief));
        }
        let bell = herald.hear(&board, steady_now());
        if !write(&said, &bell).map_err(TuiError::Lost)? {
            return Ok(Exit::Quit);
        }
        let line = match next(&ears.wakes, source.wait(&board, options.refresh)) {
            None | Some(Wake::Input(_)) => continue,
            Some(Wake::Signal(signal)) => return Ok(Exit::Signal(signal)),
            Some(Wake::Line(line)) => line,
            Some(Wake::InputLost(_)) => return Ok(Exit::Quit),
        };
        source.touched();
        let board = source.board();
        app.see(&board);
        let now = source.now();
        let Reply { effects, lines, reads } = hear(&mut app, &line, &board, board.now.max(now));
        let spoke = !effects.is_empty();
        let outcome = source.perform(&mut app, effects);
        if spoke {
            teller.knows(source.seq());
        }
        let mut replies = lines;
        replies.extend(app.message.take().map(|m| m.text));
        if let Some(reads) = reads {
            let board = source.board();
            replies.extend(read::aloud(&mut app, &mut source, &board, reads));
        }
        if !write(&replies, &[]).map_err(TuiError::Lost)? || outcome == Outcome::Quit {
            return Ok(Exit::Quit);
        }
    }
}

/// Where a person begins: the cautions, or at once where nothing can be said.
fn begin(shift: &LiveShift, options: &Options) -> App {
    let mut app = App::new(
        Arc::new(shift.line().clone()),
        options.post,
        options.practice,
        options.cautions != Cautions::Read,
    );
    app.reckon = options.reckon;
    app.practising.speed = options.course.map_or(1.0, |course| course.speed);
    if options.post == Post::Watch || options.cautions == Cautions::Read {
        app.screen = Screen::Live;
    }
    app
}

/// Typed lines and signals.
pub(super) fn listen() -> io::Result<Receiver<Wake>> {
    let (send, wakes) = channel();
    signals(&[SIGTERM, SIGHUP, SIGINT], send.clone())?;
    std::thread::Builder::new().name("lines".to_owned()).spawn(move || read_lines(&send))?;
    Ok(wakes)
}

/// Lines of standard input, each on its way to the loop; then that there are no more.
fn read_lines(to_loop: &Sender<Wake>) {
    for line in io::stdin().lock().lines() {
        let wake = match line {
            Ok(line) => Wake::Line(line),
            Err(error) => Wake::InputLost(error),
        };
        if to_loop.send(wake).is_err() {
            return;
        }
    }
    let over = io::Error::new(io::ErrorKind::UnexpectedEof, "the input has ended");
    let _ = to_loop.send(Wake::InputLost(over));
}

/// Writes lines; false if nobody reads any more.
fn write(lines: &[String], bell: &[u8]) -> io::Result<bool> {
    if lines.is_empty() && bell.is_empty() {
        return Ok(true);
    }
    let mut text = String::new();
    for line in lines {
        // Nothing from a file may steer the terminal.
        text.extend(line.chars().filter(|c| !c.is_control()));
        text.push('\n');
    }
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.write_all(bell)).and_then(|()| out.flush()) {
        Err(e) if e.kind() == io::ErrorKind::BrokenPipe => Ok(false),
        Err(e) => Err(e),
        Ok(()) => Ok(true),
    }
}
