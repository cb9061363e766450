//! `pin`: the PIN that supervisor's actions ask for. Kept as a hash in a file for its owner only.

use std::io::{BufRead as _, ErrorKind, IsTerminal as _, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::time::Duration;

use etcetera::base_strategy::{BaseStrategy as _, Xdg};

use super::args::{Pin, PinTask};
use super::{Bad, Outcome, say};
use crate::clock::steady_now;
use crate::journal::{ensure_folder, owner_only};
use crate::live::{Lock, PinError, hash_pin};

/// How often a PIN is asked for.
const TRIES: usize = 3;

/// A hash takes about a hundred characters.
const LONGEST: u64 = 1000;

pub fn pin(args: &Pin) -> Result<Outcome, Bad> {
    let path = place();
    match args.task {
        PinTask::Status => match stored()? {
            Some(_) => say(&format!("a PIN is set; its hash is in {}\n", path.display())),
            None => say("no PIN is set; every terminal may take the supervisor's role\n"),
        },
        PinTask::Set => {
            known("the PIN so far: ")?;
            let new = ask("the new PIN: ")?;
            if std::io::stdin().is_terminal() && ask("the same again: ")? != new {
                return Err(Bad("the two are not the same; nothing was changed".to_owned()));
            }
            keep(&path, &hash_pin(&new)?)?;
            say("the PIN is set: --role supervisor, and changes after a while without a key, ask for it;\n\
                 what is open already does once it is opened again\n")
        }
        PinTask::Clear => {
            if stored()?.is_none() {
                return say("no PIN is set\n");
            }
            known("the PIN so far: ")?;
            std::fs::remove_file(&path)
                .map_err(|e| Bad(format!("{}: cannot remove: {e}", path.display())))?;
            say("no PIN is set any more\n")
        }
        PinTask::Check => {
            known("PIN: ")?;
            say("right\n")
        }
    }
}

/// The lock for one terminal, shut; `None` if no PIN is set.
pub fn lock(idle: Duration) -> Result<Option<Lock>, Bad> {
    let Some(hash) = stored()? else { return Ok(None) };
    let lock = Lock::new(&hash, idle).map_err(|e| Bad(format!("{}: {e}", place().display())))?;
    Ok(Some(lock))
}

/// The same, opened by whoever knows the PIN; `without` says what to do who does not.
pub fn opened(idle: Duration, question: &str, without: &str) -> Result<Option<Lock>, Bad> {
    let Some(mut lock) = lock(idle)? else { return Ok(None) };
    for _ in 0..TRIES {
        match lock.open(&ask(question)?, steady_now()) {
            Ok(()) => return Ok(Some(lock)),
            Err(PinError::Wrong) => super::plan::warn("that is not the PIN"),
            Err(e) => return Err(e.into()),
        }
        if !std::io::stdin().is_terminal() {
            break;
        }
    }
    Err(Bad(format!("the PIN is not known here; {without}")))
}

/// Goes on only for who knows the PIN, if one is set.
fn known(question: &str) -> Result<(), Bad> {
    opened(Duration::MAX, question, "nothing was changed").map(|_| ())
}

fn place() -> PathBuf {
    Xdg::new().map_or_else(|_| PathBuf::new(), |dirs| dirs.config_dir()).join("dwellhand").join("pin")
}

fn stored() -> Result<Option<String>, Bad> {
    let path = place();
    let bad = |what: &str| Bad(format!("{}: {what}", path.display()));
    let file = match std::fs::File::open(&path) {
        Ok(file) => file,
        Err(e) if matches!(e.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory) => return Ok(None),
        // Not readable is not the same as not set.
        Err(e) => return Err(bad(&format!("cannot read: {e}"))),
    };
    let mut text = String::new();
    file.take(LONGEST + 1).read_to_string(&mut text).map_err(|e| bad(&format!("cannot read: {e}")))?;
    if text.len() as u64 > LONGEST {
        return Err(bad("longer than 1000 bytes; that is not the hash of a PIN"));
    }
    Ok(Some(text.trim().to_owned()))
}

/// In one step: there is never half a hash.
fn keep(path: &Path, hash: &str) -> Result<(), Bad> {
    ensure_folder(path)?;
    let aside = path.with_extension(format!("new-{}", std::process::id()));
    let bad = |e: std::io::Error| Bad(format!("{}: cannot write: {e}", path.display()));
    let done = owner_only(std::fs::OpenOptions::new().write(true).create_new(true))
        .open(&aside)
        .and_then(|mut f| {
            f.write_all(hash.as_bytes()).and_then(|()| f.write_all(b"\n")).and_then(|()| f.sync_all())
        })
        .and_then(|()| std::fs::rename(&aside, path));
    if done.is_err() {
        let _ = std::fs::remove_file(&aside);
    }
    done.map_err(bad)
}

/// Asks without showing what is typed; a line of standard input where that is no terminal.
fn ask(question: &str) -> Result<String, Bad> {
    let typed = if std::io::stdin().is_terminal() {
        drop_typed_ahead();
        rpassword::prompt_password(question)
    } else {
        let mut text = String::new();
        std::io::stdin().lock().read_line(&mut text).map(|_| text)
    };
    let text = typed.map_err(|e| Bad(format!("cannot read the PIN: {e}")))?;
    Ok(text.trim_end_matches(['\n', '\r']).to_owned())
}

/// What was typed before the question stands on the screen for all to read, so it is not taken for a PIN.
fn drop_typed_ahead() {
    use rustix::termios::{QueueSelector, tcflush};
    // A terminal that cannot forget is asked all the same.
    let _ = tcflush(std::io::stdin(), QueueSelector::IFlush);
}
