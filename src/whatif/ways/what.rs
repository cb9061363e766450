//! What a way out does, as data, with its commands and its words.

use crate::ids::{CarrierId, OrderId, RecipeId, StepNo};
use crate::line::{Line, OrderBook, Priority, Visit};
use crate::shift::{Change, Claim, Command, Whose, Window};
use crate::units::Time;

/// What is put down as the reason of a change that was chosen from the ways out.
const WHY: &str = "way out";

/// What a way out does.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// All goes on by the calls.
    Nothing,
    /// The next carriers of the queue are not started for a while.
    Gate {
        /// The carriers.
        carriers: Vec<CarrierId>,
        /// When they are to be released.
        until: Time,
    },
    /// A load waits in standby water its sheet allows for a while.
    Park {
        /// The carrier.
        carrier: CarrierId,
        /// When it is to be brought back, or as soon as it is there.
        until: Time,
    },
    /// A load that somebody has held or parked goes on.
    GoOn {
        /// The carrier.
        carrier: CarrierId,
        /// It is parked, or was to be.
        parked: bool,
    },
    /// Carriers of the queue start in this order.
    First {
        /// The carriers, the first to start first.
        carriers: Vec<CarrierId>,
    },
    /// An order goes before all that are no rush.
    Rush {
        /// The order.
        order: OrderId,
        /// When it is promised, as it was.
        due: Option<Time>,
    },
    /// A step gets a window that suits better, inside the one of its process sheet.
    Dwell {
        /// The carrier.
        carrier: CarrierId,
        /// The step.
        step: StepNo,
        /// Its window.
        window: Window,
    },
    /// A load that is spoiled in any case is stripped and starts again.
    Rework {
        /// The carrier.
        carrier: CarrierId,
        /// The recipe for rework.
        recipe: RecipeId,
    },
    /// A load that is spoiled in any case is taken off the line by hand.
    TakeOff {
        /// The carrier.
        carrier: CarrierId,
    },
    /// Two of them.
    Both(Box<What>, Box<What>),
}

impl What {
    /// What has to be said for it.
    pub fn commands(&self) -> Vec<Command> {
        let change = |change| Command::Change { change, why: WHY.to_owned() };
        match self {
            Self::Nothing => Vec::new(),
            Self::Gate { carriers, .. } => {
                carriers.iter().map(|&carrier| change(Change::Hold { carrier })).collect()
            }
            &Self::Park { carrier, .. } => vec![change(Change::Park { carrier, tank: None })],
            &Self::GoOn { carrier, parked: true } => vec![change(Change::BringBack { carrier })],
            &Self::GoOn { carrier, parked: false } => vec![change(Change::Release { carrier })],
            Self::First { carriers } => vec![change(Change::Reorder { carriers: carriers.clone() })],
            &Self::Rush { order, due } => {
                vec![change(Change::Promise { order, priority: Priority::Rush, due })]
            }
            &Self::Dwell { carrier, step, window } => {
                vec![change(Change::Dwell { whose: Whose::Carrier(carrier), step, window })]
            }
            &Self::Rework { carrier, recipe } => vec![change(Change::Rework { carrier, recipe })],
            &Self::TakeOff { carrier } => vec![Command::Correct { carrier, claim: Claim::OffLine }],
            Self::Both(one, two) => [one.commands(), two.commands()].concat(),
        }
    }

    /// Until when what lasts only for a while is to last, and what is said then. Nobody says it by itself.
    pub fn ends(&self) -> Vec<(Time, Command)> {
        let change = |change| Command::Change { change, why: WHY.to_owned() };
        match self {
            Self::Gate { carriers, until } => {
                carriers.iter().map(|&carrier| (*until, change(Change::Release { carrier }))).collect()
            }
            &Self::Park { carrier, until } => vec![(until, change(Change::BringBack { carrier }))],
            Self::Both(one, two) => [one.ends(), two.ends()].concat(),
            _ => Vec::new(),
        }
    }

    /// The same without what lasts only for a while.
    pub(super) fn for_good(&self) -> Vec<Command> {
        match self {
            Self::Gate { .. } | Self::Park { .. } => Vec::new(),
            Self::Both(one, two) => [one.for_good(), two.for_good()].concat(),
            _ => self.commands(),
        }
    }

    /// Loads that are given up: taken off, or sent back to start again.
    pub fn given_up(&self) -> Vec<CarrierId> {
        match self {
            Self::TakeOff { carrier } | Self::Rework { carrier, .. } => vec![*carrier],
            Self::Both(one, two) => [one.given_up(), two.given_up()].concat(),
            _ => Vec::new(),
        }
    }

    /// Loads that are taken off the line.
    pub fn taken_off(&self) -> usize {
        match self {
            Self::TakeOff { .. } => 1,
            Self::Both(one, two) => one.taken_off() + two.taken_off(),
            _ => 0,
        }
    }

    /// The carrier that is on the line and concerned.
    fn load(&self) -> Option<CarrierId> {
        match self {
            Self::Park { carrier, .. }
            | Self::GoOn { carrier, .. }
            | Self::Dwell { carrier, .. }
            | Self::Rework { carrier, .. }
            | Self::TakeOff { carrier } => Some(*carrier),
            _ => None,
        }
    }

    /// True if both can be meant at once: other loads, and not two words about the queue.
    pub(super) fn goes_with(&self, other: &Self) -> bool {
        let both = (self.load(), other.load());
        match both {
            (Some(one), Some(two)) => one != two,
            (None, None) => false,
            _ => true,
        }
    }

    /// One line for people.
    pub fn words(&self, line: &Line, book: &OrderBook) -> String {
        let name = |c: CarrierId| book.carriers[c].name.as_str();
        let names = |c: &[CarrierId]| c.iter().map(|c| name(*c)).collect::<Vec<_>>().join(", ");
        match self {
            Self::Nothing => "change nothing: go on by the calls".to_owned(),
            Self::Gate { carriers, .. } => format!("hold {} at the gate for a while", names(carriers)),
            Self::Park { carrier, .. } => format!("park {} in standby water for a while", name(*carrier)),
            Self::GoOn { carrier, parked: true } => format!("bring {} back", name(*carrier)),
            Self::GoOn { carrier, parked: false } => format!("let {} go on", name(*carrier)),
            Self::First { carriers } => format!("start in this order: {}", names(carriers)),
            Self::Rush { order, .. } => format!("make order {} a rush order", book.orders[*order].name),
            Self::Dwell { carrier, step, window } => {
                let recipe = book.carriers[*carrier].recipe;
                let place = line.places_for(recipe, Visit::Step(*step));
                let place = place.first().map_or(String::new(), |t| format!(" ({})", line.tanks[*t].label));
                let Window { min, target, max } = window;
                let step = Visit::Step(*step);
                format!("give {} {min} to {max} in {step}{place}, aim for {target}", name(*carrier))
            }
            Self::Rework { carrier, .. } => format!("send {} to rework", name(*carrier)),
            Self::TakeOff { carrier } => {
                format!("take {} off by hand, if that can be done safely", name(*carrier))
            }
            Self::Both(one, two) => format!("{}; {}", one.words(line, book), two.words(line, book)),
        }
    }
}
