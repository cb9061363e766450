//! What the supervisor's screens show: which rows of the board, which stretch of time, which move. Pure.

use super::action::Action;
use super::app::Screen;
use super::changes::Selected;
use super::dialog::moved;
use crate::ids::{CarrierId, TankId};
use crate::units::{Dur, Time};
use crate::view::{Board, LoadRow, QueueRow, Run, Sort, TankRow, When, passes, sorted};

/// The parts of the board that scroll.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Part {
    /// Carriers.
    #[default]
    Loads,
    /// Tanks.
    Tanks,
    /// Carriers that wait to start.
    Queue,
}

impl Part {
    /// All, in the order of the Tab key.
    pub const ALL: [Self; 3] = [Self::Loads, Self::Tanks, Self::Queue];
}

/// Time per cell, closest first.
const SCALES: [Dur; 9] = [
    Dur::from_secs(2),
    Dur::from_secs(5),
    Dur::from_secs(10),
    Dur::from_secs(15),
    Dur::from_secs(30),
    Dur::from_mins(1),
    Dur::from_mins(2),
    Dur::from_mins(5),
    Dur::from_mins(10),
];

/// The scale to begin with: 30 s a cell, about half an hour on the narrowest screen.
const FIRST_SCALE: usize = 4;

/// Where now stands in a picture that was not moved, counted in fourths of its width.
const NOW_AT: i64 = 1;

/// The longest text that is looked for.
const LONGEST: usize = 40;

/// What the supervisor's screens show.
#[derive(Debug, Clone, PartialEq)]
pub struct Desk {
    /// The part of the board that has the keys.
    pub part: Part,
    /// What carriers are sorted by.
    pub sort: Sort,
    /// What rows must hold.
    pub filter: String,
    /// The filter is being typed.
    pub typing: bool,
    /// The chosen row of each part of the board.
    pub rows: [Option<usize>; 3],
    /// Which scale the pictures have.
    scale: usize,
    /// How far the pictures were moved, towards what is to come. They go on with now.
    moved: Dur,
    /// The chosen move.
    run: Option<(CarrierId, usize)>,
    /// The chosen tank.
    pub tank: Option<usize>,
    /// Cells across the terminal.
    pub cells: u16,
}

impl Default for Desk {
    fn default() -> Self {
        Self {
            part: Part::default(),
            sort: Sort::default(),
            filter: String::new(),
            typing: false,
            rows: [None; 3],
            scale: FIRST_SCALE,
            moved: Dur::ZERO,
            run: None,
            tank: None,
            cells: 80,
        }
    }
}

impl Desk {
    /// The carriers of the board that is shown: not those that wait, they have a part of their own.
    pub fn loads<'b>(&self, board: &'b Board) -> Vec<&'b LoadRow> {
        let mut rows = sorted(&board.loads, self.sort, &self.filter);
        rows.retain(|r| r.stage != crate::view::Stage::Waiting);
        rows
    }

    /// The tanks of the board that is shown.
    pub fn tanks<'b>(&self, board: &'b Board) -> Vec<&'b TankRow> {
        let fits = |t: &&TankRow| {
            let who: Vec<&str> = t.held.iter().map(|h| h.name.as_str()).collect();
            passes(&self.filter, &[&[t.name.as_str(), &t.label, t.readiness.word()], &who[..]].concat())
        };
        board.tanks.iter().filter(fits).collect()
    }

    /// The queue of the board that is shown.
    pub fn queue<'b>(&self, board: &'b Board) -> Vec<&'b QueueRow> {
        let fits = |q: &&QueueRow| {
            let mut texts = vec![q.carrier.as_str(), &q.order, &q.label, &q.recipe, "waiting"];
            texts.extend([(q.rush, "rush"), (q.late.is_some(), "late")].iter().filter(|m| m.0).map(|m| m.1));
            texts.extend(q.marks.iter().map(|m| m.word()));
            passes(&self.filter, &texts)
        };
        board.queue.iter().filter(fits).collect()
    }

    fn count(&self, board: &Board) -> usize {
        match self.part {
            Part::Loads => self.loads(board).len(),
            Part::Tanks => self.tanks(board).len(),
            Part::Queue => self.queue(board).len(),
        }
    }

    /// Time per cell.
    pub fn scale(&self) -> Dur {
        SCALES[self.scale]
    }

    /// The instant at the left edge of a picture of so many cells.
    pub fn first(&self, now: Time, cells: u16) -> Time {
        now + self.moved - Dur(self.scale().0 * i64::from(cells) * NOW_AT / 4)
    }

    /// True if the pictures show now where they show it by themselves.
    pub fn is_at_now(&self) -> bool {
        self.moved == Dur::ZERO
    }

    /// The chosen move.
    pub fn run<'b>(&self, board: &'b Board) -> Option<&'b Run> {
        board.times.runs.iter().find(|r| Some(r.key()) == self.run)
    }

    /// The carrier and the tank that are chosen on a screen.
    pub fn selected(&self, screen: Screen, board: &Board) -> Selected {
        let held = |tank: Option<TankId>| {
            let row = board.tanks.iter().find(|t| Some(t.tank) == tank);
            row.and_then(|t| t.held.first()).map(|h| h.carrier)
        };
        if screen != Screen::Board {
            let tank = self.tank.and_then(|ix| board.tanks.get(ix)).map(|t| t.tank);
            let run = self.run(board);
            return Selected {
                carrier: run.map(|r| r.carrier).or_else(|| held(tank)),
                tank: tank.or(run.map(|r| r.from)),
            };
        }
        let Some(row) = self.rows[self.part as usize] else { return Selected::default() };
        match self.part {
            Part::Loads => {
                Selected { carrier: self.loads(board).get(row).map(|l| l.id), tank: self.tank(screen, board) }
            }
            Part::Tanks => {
                let tank = self.tanks(board).get(row).map(|t| t.tank);
                Selected { carrier: held(tank), tank }
            }
            Part::Queue => Selected { carrier: self.queue(board).get(row).map(|q| q.id), tank: None },
        }
    }

    /// The tank that a key for details means.
    pub fn tank(&self, screen: Screen, board: &Board) -> Option<TankId> {
        if screen != Screen::Board {
            let of_run = || self.run(board).map(|r| r.from);
            return self.tank.and_then(|ix| board.tanks.get(ix)).map(|t| t.tank).or_else(of_run);
        }
        let row = self.rows[self.part as usize];
        match self.part {
            Part::Loads => {
                let rank = self.loads(board).get(row?)?.rank?;
                board.tanks.get(rank).map(|t| t.tank)
            }
            Part::Tanks => self.tanks(board).get(row.unwrap_or(0)).map(|t| t.tank),
            Part::Queue => None,
        }
    }

    /// What a key makes of it.
    pub fn act(&mut self, screen: Screen, action: Action, board: &Board) {
        match screen {
            Screen::Board if self.typing => self.edit(action),
            Screen::Board => self.on_board(action, board),
            _ => self.on_times(screen, action, board),
        }
    }

    fn edit(&mut self, action: Action) {
        match action {
            Action::Type(c) if self.filter.chars().count() < LONGEST && !c.is_control() => {
                self.filter.push(c);
            }
            Action::Erase => {
                self.filter.pop();
            }
            Action::Back => {
                self.filter.clear();
                self.typing = false;
            }
            _ => return,
        }
        self.rows = [None; 3];
    }

    fn on_board(&mut self, action: Action, board: &Board) {
        let parts = Part::ALL.len();
        match action {
            Action::Next => self.part = Part::ALL[(self.part as usize + 1) % parts],
            Action::Previous => self.part = Part::ALL[(self.part as usize + parts - 1) % parts],
            Action::Sort => {
                self.sort = self.sort.next();
                self.part = Part::Loads;
                self.rows[Part::Loads as usize] = None;
            }
            Action::Filter => self.typing = true,
            Action::Back if self.rows == [None; 3] => self.filter.clear(),
            Action::Back => self.rows = [None; 3],
            Action::Up | Action::Down | Action::PageUp | Action::PageDown | Action::First | Action::Last => {
                let count = self.count(board);
                step(&mut self.rows[self.part as usize], action, count);
            }
            _ => {}
        }
    }

    fn on_times(&mut self, screen: Screen, action: Action, board: &Board) {
        match (action, screen) {
            (Action::Closer, _) => self.scale = self.scale.saturating_sub(1),
            (Action::Wider, _) => self.scale = (self.scale + 1).min(SCALES.len() - 1),
            (Action::Earlier, _) => self.pan(-self.leap(), board),
            (Action::Later, _) => self.pan(self.leap(), board),
            (Action::ToNow, _) => self.moved = Dur::ZERO,
            (Action::Next, _) | (Action::Down, Screen::Chart) => self.choose(1, board),
            (Action::Previous, _) | (Action::Up, Screen::Chart) => self.choose(-1, board),
            (Action::Up | Action::Down | Action::PageUp | Action::PageDown, _) => {
                step(&mut self.tank, action, board.tanks.len());
            }
            (Action::Back, _) => (self.run, self.tank) = (None, None),
            _ => {}
        }
    }

    /// An eighth of the width.
    fn leap(&self) -> Dur {
        Dur(self.scale().0 * i64::from(self.cells / 8).max(1))
    }

    /// Moves the pictures, but not to where nothing is.
    fn pan(&mut self, by: Dur, board: &Board) {
        let ends = board.times.runs.iter().map(|r| r.end).max().unwrap_or(board.now).max(board.now);
        let (least, most) = (Time::ZERO - board.now, ends - board.now);
        self.moved = (self.moved + by).clamp(least.min(Dur::ZERO), most.max(Dur::ZERO));
    }

    /// Chooses the next move or the one before; first of all the first that is not over.
    fn choose(&mut self, by: isize, board: &Board) {
        let runs = &board.times.runs;
        let chosen = runs.iter().position(|r| Some(r.key()) == self.run);
        let to_come = runs.iter().position(|r| r.when != When::Past).unwrap_or(runs.len().saturating_sub(1));
        let ix = match chosen {
            Some(ix) => ix.saturating_add_signed(by).min(runs.len() - 1),
            None if by < 0 => to_come.saturating_sub(1),
            None => to_come,
        };
        let Some(run) = runs.get(ix) else { return };
        self.run = Some(run.key());
        self.tank = None;
        // Names stand at the left of a picture; so much of it is always there.
        let cells = self.cells / 4 * 3;
        let first = self.first(board.now, cells);
        if run.start < first + self.scale() || run.end > first + self.scale() * i64::from(cells) {
            self.moved = run.start - board.now;
        }
    }
}

/// Moves a cursor; the first press shows where it is.
fn step(cursor: &mut Option<usize>, action: Action, count: usize) {
    *cursor = match *cursor {
        _ if count == 0 => None,
        Some(ix) => Some(moved(ix, action, count)),
        None if action == Action::Last => Some(count - 1),
        None => Some(0),
    };
}
