//! The terminal: taken over on entry, given back on every way out.
//!
//! Own set-up instead of the library's, because its default writer sends a full frame in many pieces and its clear asks
//! the terminal a question that may never be answered.

use std::cell::RefCell;
use std::io::{self, Write};
use std::mem::ManuallyDrop;
use std::rc::Rc;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use crossterm::cursor::{Hide, Show};
use crossterm::event::{DisableBracketedPaste, EnableBracketedPaste};
use crossterm::style::{Print, force_color_output};
use crossterm::terminal::{
    BeginSynchronizedUpdate, EndSynchronizedUpdate, EnterAlternateScreen, LeaveAlternateScreen,
    disable_raw_mode, enable_raw_mode,
};
use crossterm::{execute, queue};
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::mouse::Mouse;
use crate::live::SEARCH_THREAD;

/// Room for one full frame of a large screen.
const FRAME_BYTES: usize = 64 * 1024;

/// Gathers a frame; flushing does nothing, so that the whole frame leaves in one write.
#[derive(Debug, Clone)]
struct Sink(Rc<RefCell<Vec<u8>>>);

impl Write for Sink {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.borrow_mut().extend_from_slice(bytes);
        Ok(bytes.len())
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// A terminal that shows our screen.
pub(super) struct Screen {
    // Not dropped: the library's own drop writes to a terminal that may be gone, and panics when it is.
    terminal: ManuallyDrop<Terminal<CrosstermBackend<Sink>>>,
    sink: Sink,
    entered: Arc<AtomicBool>,
    synchronised: bool,
    mouse: Mouse,
}

impl Screen {
    /// Takes the terminal over. A panic from here on gives it back before it speaks.
    pub(super) fn enter(synchronised: bool, mouse: Mouse) -> io::Result<Self> {
        // The library drops bold and reverse with the colours when NO_COLOR is set; we leave colours out ourselves.
        force_color_output(true);
        let entered = Arc::new(AtomicBool::new(false));
        let flag = Arc::clone(&entered);
        let before = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |info| {
            // A search that fails takes no call from the screen; the shift says so in a notice.
            if std::thread::current().name() == Some(SEARCH_THREAD) {
                return;
            }
            let _ = leave(&flag);
            before(info);
        }));
        let sink = Sink(Rc::new(RefCell::new(Vec::with_capacity(FRAME_BYTES))));
        take_over(&entered, mouse)?;
        let terminal = match Terminal::new(CrosstermBackend::new(sink.clone())) {
            Ok(terminal) => ManuallyDrop::new(terminal),
            Err(error) => {
                let _ = leave(&entered);
                return Err(error);
            }
        };
        Ok(Self { terminal, sink, entered, synchronised, mouse })
    }

    /// Draws one frame. Any error means the terminal is gone.
    pub(super) fn draw(&mut self, paint: impl FnOnce(&mut Buffer, Rect)) -> io::Result<()> {
        self.terminal.draw(|frame| {
            let area = frame.area();
            paint(frame.buffer_mut(), area);
        })?;
        if self.synchronised {
            self.bracket()?;
        }
        self.send()
    }

    /// Brackets what was gathered, but for the erase after a change of size: some terminals show nothing of a block that
    /// erases.
    fn bracket(&mut self) -> io::Result<()> {
        const ERASE: &[u8] = b"\x1b[2J";
        let mut bytes = self.sink.0.borrow_mut();
        let erase = bytes.windows(ERASE.len()).rposition(|w| w == ERASE);
        let rest = bytes.split_off(erase.map_or(0, |at| at + ERASE.len()));
        queue!(*bytes, BeginSynchronizedUpdate)?;
        bytes.extend_from_slice(&rest);
        queue!(*bytes, EndSynchronizedUpdate)
    }

    /// Takes up the size the terminal has now; cells across.
    pub(super) fn fit(&mut self) -> io::Result<u16> {
        self.terminal.autoresize()?;
        Ok(self.terminal.get_frame().area().width)
    }

    /// What the last frame covered.
    pub(super) fn area(&mut self) -> Rect {
        self.terminal.get_frame().area()
    }

    /// False once the terminal was given back behind the loop's back: another thread has panicked.
    pub(super) fn is_ours(&self) -> bool {
        self.entered.load(Ordering::SeqCst)
    }

    /// Makes the next frame a full one.
    pub(super) fn repaint(&mut self) -> io::Result<()> {
        let size = self.terminal.size()?;
        self.terminal.resize(Rect::new(0, 0, size.width, size.height))
    }

    /// Gives the terminal back; harmless if that was done already.
    pub(super) fn leave(&mut self) -> io::Result<()> {
        leave(&self.entered)
    }

    /// Takes it over again, after a stop.
    pub(super) fn enter_again(&mut self) -> io::Result<()> {
        take_over(&self.entered, self.mouse)?;
        self.repaint()
    }

    fn send(&mut self) -> io::Result<()> {
        let mut bytes = self.sink.0.borrow_mut();
        let mut out = io::stdout().lock();
        // The standard writer splits at line ends only what lacks one; a frame has none.
        let sent = out.write_all(&bytes).and_then(|()| out.flush());
        bytes.clear();
        sent
    }
}

/// Sends a bell or a note, which paint nothing.
pub(super) fn ring(bytes: &[u8]) -> io::Result<()> {
    if bytes.is_empty() {
        return Ok(());
    }
    let mut out = io::stdout().lock();
    out.write_all(bytes).and_then(|()| out.flush())
}

impl Drop for Screen {
    fn drop(&mut self) {
        let _ = leave(&self.entered);
    }
}

/// Presses and the wheel, without what moves in between, in the form that knows wide screens.
const MOUSE_ON: &str = "\x1b[?1000h\x1b[?1006h";
const MOUSE_OFF: &str = "\x1b[?1006l\x1b[?1000l";

fn take_over(entered: &AtomicBool, mouse: Mouse) -> io::Result<()> {
    enable_raw_mode()?;
    entered.store(true, Ordering::SeqCst);
    let mouse = Print(if mouse == Mouse::Ours { MOUSE_ON } else { "" });
    let taken = execute!(io::stdout(), EnterAlternateScreen, EnableBracketedPaste, mouse, Hide);
    if taken.is_err() {
        let _ = leave(entered);
    }
    taken
}

fn leave(entered: &AtomicBool) -> io::Result<()> {
    if !entered.swap(false, Ordering::SeqCst) {
        return Ok(());
    }
    // Turned off also where it was not on: that does nothing.
    let mouse = Print(MOUSE_OFF);
    let screen = execute!(
        io::stdout(),
        EndSynchronizedUpdate,
        mouse,
        DisableBracketedPaste,
        Show,
        LeaveAlternateScreen
    );
    disable_raw_mode().and(screen)
}
