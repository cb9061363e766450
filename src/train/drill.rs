//! Drills: a shift made for practice, with what happens on it by itself.
//!
//! What happens is read off a list by time. Some of it waits for its moment: a stop until a load is where it hurts, a load
//! in the wrong tank until one is put down. Nothing is drawn, so the same deeds meet with the same.

use super::Brief;
use crate::ids::{CarrierId, HoistId, StageId, TankId};
use crate::line::{CarrierSpec, Line, Order, OrderBook, Role, Visit};
use crate::shift::ledger::{Count, Entry};
use crate::shift::{
    Change, Claim, Command, Event, History, Place, Stamped, State, StopCause, Who, visit_on_arrival,
};
use crate::units::{Dur, Time, many};

/// A shift made for practice.
#[derive(Debug, Clone, PartialEq)]
pub struct Drill {
    /// Short unique name.
    pub name: String,
    /// What it is called.
    pub title: String,
    /// What there is to learn.
    pub about: String,
    /// 1 plain, 2 tight, 3 upset.
    pub difficulty: u8,
    /// How long it lasts.
    pub lasting: Dur,
    /// Seed of plans and of a simulated crew.
    pub seed: u64,
    /// The orders it begins with.
    pub book: OrderBook,
    /// What happens, by time.
    pub happens: Vec<Happening>,
}

impl Drill {
    /// What is said of it to people.
    pub fn brief(&self) -> Brief {
        Brief {
            name: self.name.clone(),
            title: self.title.clone(),
            about: self.about.clone(),
            lasting: Some(self.lasting),
            taken_over: None,
        }
    }
}

/// One thing that happens by itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Happening {
    /// Not before this instant.
    pub at: Time,
    /// Only while a load stands in a bath of this stage; after [`PATIENCE`] in any case.
    pub within: Option<StageId>,
    /// What.
    pub what: Happens,
}

/// What happens.
#[derive(Debug, Clone, PartialEq)]
pub enum Happens {
    /// A hoist stops for a while.
    Stop {
        /// The hoist.
        hoist: HoistId,
        /// For how long.
        lasting: Dur,
        /// True if everybody knows for how long.
        known: bool,
    },
    /// A tank goes out of service for a while that everybody knows.
    TankOut {
        /// The tank.
        tank: TankId,
        /// For how long.
        lasting: Dur,
        /// Why, as people are told; empty if nobody says.
        why: String,
    },
    /// An order comes in.
    Order {
        /// The order.
        order: Order,
        /// Its carriers.
        carriers: Vec<CarrierSpec>,
    },
    /// The next load that is put down turns out to be in the tank beside.
    WrongTank,
    /// A carrier that has come out is counted some parts short.
    Short {
        /// The carrier.
        carrier: CarrierId,
        /// How many parts are missing.
        parts: u32,
        /// Where somebody sees them a while later; entering that is left to the people. `None`: nobody sees them.
        lie_in: Option<TankId>,
    },
}

impl Happens {
    /// What comes of it by itself, if it happened at `from`.
    fn then(&self, line: &Line, book: &OrderBook, from: Time) -> Option<Later> {
        match *self {
            Self::Stop { hoist, lasting, .. } => {
                let run = Command::Change { change: Change::RunHoist { hoist }, why: "repaired".to_owned() };
                Some((from + lasting, run, "The crane runs again.".to_owned()))
            }
            Self::Short { carrier, parts, lie_in: Some(tank) } => {
                let (name, tank) = (&book.carriers[carrier].name, &line.tanks[tank]);
                let text = format!("{} of {name} in {} {}", many(parts, "part"), tank.name, tank.label);
                let words = format!("{text}. e enters what was found.");
                Some((from + SEEN, Command::Note { text }, words))
            }
            _ => None,
        }
    }

    /// True if an event says that this happened.
    fn is(&self, event: &Event) -> bool {
        match (self, event) {
            (
                Self::Stop { hoist, .. },
                Event::Changed { change: Change::StopHoist { hoist: said, .. }, .. },
            ) => hoist == said,
            (Self::TankOut { tank, .. }, Event::TankOut { tank: said, .. }) => tank == said,
            (
                Self::Order { order, .. },
                Event::Changed { change: Change::AddOrder { order: said, .. }, .. },
            ) => order.name == said.name,
            (Self::WrongTank, Event::CarrierCorrected { .. }) => true,
            (
                Self::Short { carrier, .. },
                Event::Entered { entry: Entry::Unracked { carrier: said, .. }, .. },
            ) => carrier == said,
            _ => false,
        }
    }
}

/// True if an event says what a command asked for.
fn says(command: &Command, event: &Event) -> bool {
    match (command, event) {
        (
            Command::Change { change: Change::RunHoist { hoist }, .. },
            Event::Changed { change: Change::RunHoist { hoist: said }, .. },
        ) => hoist == said,
        (Command::Note { text }, Event::Noted { text: said }) => text == said,
        _ => false,
    }
}

/// How long something waits for its moment.
pub const PATIENCE: Dur = Dur::from_mins(30);

/// When something is said by itself, and in which words.
type Later = (Time, Command, String);

/// After so long missing parts are seen.
const SEEN: Dur = Dur::from_mins(3);

/// Lets the things of a drill happen.
#[derive(Debug, Clone)]
pub struct Director {
    left: Vec<Happening>,
    /// What comes of something by itself, and when.
    ends: Vec<Later>,
}

impl Director {
    /// Everything on a list.
    pub fn new(happens: Vec<Happening>) -> Self {
        Self { left: happens, ends: Vec::new() }
    }

    /// What is left of a list on a shift that is taken up again: what happened on it before happens no more, even if it was
    /// taken back, and what began by itself ends by itself.
    pub fn resumed(line: &Line, happens: Vec<Happening>, history: &History) -> Self {
        let book = &history.state().book;
        let said = history.events().iter().filter(|s| s.by == Who::Supervisor);
        let mut said: Vec<&Stamped> = said.collect();
        let mut director = Self::new(Vec::new());
        for due in happens {
            let met = said.iter().position(|s| s.entered >= due.at && due.what.is(&s.event));
            match met.map(|k| said.remove(k)) {
                None => director.left.push(due),
                // Somebody may have said already what comes of it.
                Some(met) => director.ends.extend(due.what.then(line, book, met.entered).filter(|then| {
                    !history.events().iter().any(|s| s.seq > met.seq && says(&then.1, &s.event))
                })),
            }
        }
        director
    }

    /// True if nothing more will happen.
    pub fn is_done(&self) -> bool {
        self.left.is_empty() && self.ends.is_empty()
    }

    /// The next thing that is to be said now, with a sentence for people; ask again until there is none.
    pub fn next(&mut self, line: &Line, state: &State, now: Time) -> Option<(Command, String)> {
        if let Some(k) = self.ends.iter().position(|(at, ..)| *at <= now) {
            let (_, command, words) = self.ends.remove(k);
            return Some((command, words));
        }
        for k in 0..self.left.len() {
            let due = &self.left[k];
            if due.at > now {
                continue;
            }
            let waits = due.within.is_some_and(|stage| !is_in(line, state, stage)) && now < due.at + PATIENCE;
            let Some((command, words)) = (if waits { None } else { self.happen(line, state, k, now) }) else {
                continue;
            };
            self.left.remove(k);
            return Some((command, words));
        }
        None
    }

    /// The next instant at which time alone makes something happen.
    pub fn wakes(&self, now: Time) -> Option<Time> {
        let due = self.left.iter().flat_map(|h| [h.at, h.at + PATIENCE]);
        due.chain(self.ends.iter().map(|(at, ..)| *at)).filter(|at| *at > now).min()
    }

    fn happen(&mut self, line: &Line, state: &State, k: usize, now: Time) -> Option<(Command, String)> {
        let change = |change, why: &str| Command::Change { change, why: why.to_owned() };
        match &self.left[k].what {
            &Happens::Stop { hoist, lasting, known } => {
                self.ends.extend(self.left[k].what.then(line, &state.book, now));
                let until = known.then_some(now + lasting);
                let stop = change(Change::StopHoist { hoist, cause: StopCause::Fault, until }, "fault");
                Some((stop, format!("Crane {} stops.", line.hoists[hoist].name)))
            }
            Happens::TankOut { tank, lasting, why } => {
                let (tank, lasting, name) = (*tank, *lasting, &line.tanks[*tank].name);
                let said = if why.is_empty() { String::new() } else { format!(": {why}") };
                let words = format!("{name} is out of service for {lasting}{said}.");
                let until = Some(now + lasting);
                Some((Command::TankOut { tank, until, why: why.clone() }, words))
            }
            Happens::Order { order, carriers } => {
                let words = format!("A new order: {} {}.", order.name, order.label);
                let order = Order { ready: now, ..order.clone() };
                let carriers = carriers.iter().map(|c| CarrierSpec { ready: now, ..c.clone() }).collect();
                Some((change(Change::AddOrder { order: Box::new(order), carriers }, "came in"), words))
            }
            Happens::WrongTank => wrong_tank(line, state, self.left[k].at),
            &Happens::Short { carrier, parts, .. } => {
                let finished = matches!(state.carriers[carrier].place, Place::Finished { .. });
                let spec = &state.book.carriers[carrier];
                let good = spec.parts.saturating_sub(parts);
                let count = Count { good, rework: 0, scrap: 0 };
                let words =
                    format!("{} was counted, {} short. Look for them.", spec.name, many(parts, "part"));
                let then = self.left[k].what.then(line, &state.book, now);
                self.ends.extend(then.filter(|_| finished));
                finished
                    .then_some((Command::Enter { entry: Entry::Unracked { carrier, count }, at: now }, words))
            }
        }
    }
}

fn is_in(line: &Line, state: &State, stage: StageId) -> bool {
    let holds =
        |place| matches!(place, Place::InTank { tank, .. } if line.tanks[tank].role == Role::Bath(stage));
    state.carriers.iter().any(|(_, c)| holds(c.place))
}

/// A load that was put down since `from` is said to be in the nearest free bath where it should not be.
fn wrong_tank(line: &Line, state: &State, from: Time) -> Option<(Command, String)> {
    state.carriers.iter().find_map(|(carrier, c)| {
        let Place::InTank { tank, visit: Visit::Step(_), since, hooked: None } = c.place else { return None };
        let leaves = c.stays.last().map_or(Visit::Load, |s| s.visit);
        if since < from {
            return None;
        }
        let recipe = state.book.carriers[carrier].recipe;
        let strays = |to: &TankId| {
            matches!(line.tanks[*to].role, Role::Bath(_))
                && state.carriers_in(*to).next().is_none()
                && matches!(visit_on_arrival(line, recipe, leaves, *to), Visit::Stray { .. })
        };
        let near = |to: &TankId| (line.tanks[*to].position - line.tanks[tank].position).abs();
        let to = line.tanks.ids().filter(strays).min_by_key(near)?;
        let visit = visit_on_arrival(line, recipe, leaves, to);
        let (name, hangs) = (&state.book.carriers[carrier].name, &line.tanks[to].name);
        let words =
            format!("{name} hangs in {hangs}, not in {}: it was put down wrong.", line.tanks[tank].name);
        Some((Command::Correct { carrier, claim: Claim::InTank { tank: to, since, visit } }, words))
    })
}
