//! One thing that goes wrong in the middle of a shift, drawn from a seed, to compare what is done about it. How long things
//! last is invented for practice, not measured.

use super::Stop;
use crate::ids::{CarrierId, Id as _, OrderId, StageId, TankId};
use crate::line::{CarrierSpec, EntrySide, Line, Order, OrderBook, Priority};
use crate::rng::Rng;
use crate::shift::{Change, Command, StopCause};
use crate::units::{Dur, Time};

/// What goes wrong.
#[derive(Debug, Clone, PartialEq)]
pub enum UpsetKind {
    /// The crane stops for 2 to 20 minutes; in half of the cases somebody knows at once for how long.
    Stop {
        /// True if the end is known.
        known: bool,
    },
    /// A tank that has others beside it is out for 20 to 90 minutes, as everybody knows.
    TankLost {
        /// The tank.
        tank: TankId,
    },
    /// The operator is away for 2 to 8 minutes, and nobody says so.
    Away,
    /// A rush order of two carriers comes in.
    Rush {
        /// The order.
        order: Order,
        /// Its carriers.
        carriers: Vec<CarrierSpec>,
    },
}

/// One thing that goes wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Upset {
    /// What.
    pub kind: UpsetKind,
    /// Since when.
    pub from: Time,
    /// Until when; the same instant for a rush order.
    pub until: Time,
}

impl Upset {
    /// What goes wrong under a seed in a shift of this length; the four kinds take turns.
    pub fn draw(line: &Line, book: &OrderBook, seed: u64, lasting: Dur) -> Self {
        let mut rng = Rng::stream(seed, "upset");
        let from = Time::ZERO + Dur::from_secs_f64(lasting.as_secs_f64() * (0.3 + 0.35 * rng.unit()));
        let mut minutes = |least: i64, most: i64| {
            Dur::from_secs(least * 60 + rng.below(((most - least) * 60 + 1) as usize) as i64)
        };
        let (kind, lasts) = match seed % 4 {
            0 => {
                let lasts = minutes(2, 20);
                (UpsetKind::Stop { known: rng.chance(0.5) }, lasts)
            }
            1 => {
                let lasts = minutes(20, 90);
                let tanks = with_others(line);
                match tanks.get(rng.below(tanks.len())) {
                    Some(tank) => (UpsetKind::TankLost { tank: *tank }, lasts),
                    None => (UpsetKind::Away, lasts),
                }
            }
            2 => (UpsetKind::Away, minutes(2, 8)),
            _ => (rush(line, book, from, &mut rng), Dur::ZERO),
        };
        Self { kind, from, until: from + lasts }
    }

    /// The word for it.
    pub fn word(&self) -> &'static str {
        match self.kind {
            UpsetKind::Stop { .. } => "crane stop",
            UpsetKind::TankLost { .. } => "tank lost",
            UpsetKind::Away => "operator away",
            UpsetKind::Rush { .. } => "rush order",
        }
    }

    /// While the crane does not move.
    pub fn stops(&self) -> Vec<Stop> {
        match self.kind {
            UpsetKind::Stop { .. } | UpsetKind::Away => vec![Stop { from: self.from, until: self.until }],
            UpsetKind::TankLost { .. } | UpsetKind::Rush { .. } => Vec::new(),
        }
    }

    /// What everybody is told who only looks at the line: not that the crane stands, that can be seen.
    pub fn told(&self) -> Vec<(Time, Command)> {
        let command = match &self.kind {
            UpsetKind::Stop { .. } | UpsetKind::Away => return Vec::new(),
            UpsetKind::TankLost { tank } => {
                Command::TankOut { tank: *tank, until: Some(self.until), why: String::new() }
            }
            UpsetKind::Rush { order, carriers } => {
                let change = Change::AddOrder { order: Box::new(order.clone()), carriers: carriers.clone() };
                Command::Change { change, why: "rush".to_owned() }
            }
        };
        vec![(self.from, command)]
    }

    /// What the program is told.
    pub fn said(&self, line: &Line) -> Vec<(Time, Command)> {
        let UpsetKind::Stop { known } = self.kind else { return self.told() };
        let change = |change| Command::Change { change, why: String::new() };
        let until = known.then_some(self.until);
        let stops = line
            .hoists
            .ids()
            .map(|hoist| (self.from, change(Change::StopHoist { hoist, cause: StopCause::Fault, until })));
        stops.chain(line.hoists.ids().map(|hoist| (self.until, change(Change::RunHoist { hoist })))).collect()
    }
}

/// Tanks that are not the only one of their stage.
fn with_others(line: &Line) -> Vec<TankId> {
    let several = |s: &StageId| line.tanks_of(*s).count() > 1;
    line.stages.ids().filter(several).flat_map(|s| line.tanks_of(s)).collect()
}

/// Two carriers like some of the book's, promised for little more than they need.
fn rush(line: &Line, book: &OrderBook, from: Time, rng: &mut Rng) -> UpsetKind {
    const A_MOVE: Dur = Dur::from_secs(60);
    let like = &book.carriers[CarrierId::at(rng.below(book.carriers.len()))];
    let recipe = &line.recipes[like.recipe];
    let needs: Dur = recipe.steps.iter().map(|s| s.target + A_MOVE).sum();
    let carriers = (1..=2).map(|n| CarrierSpec {
        name: format!("RUSH{n}"),
        order: OrderId::at(book.orders.len()),
        ready: from,
        rack_name: None,
        ..like.clone()
    });
    let order = Order {
        name: "RUSH".to_owned(),
        label: "Rush".to_owned(),
        parts: like.parts.saturating_mul(2),
        recipe: like.recipe,
        priority: Priority::Rush,
        due: Some(from + needs + Dur::from_mins(30)),
        ready: from,
        toleranced: false,
        entry: EntrySide::Any,
    };
    UpsetKind::Rush { order, carriers: carriers.collect() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_kinds_take_turns_and_keep_their_lengths() {
        let (line, recipes, orders) = crate::files::demo();
        let line = crate::files::read_line(line, recipes).unwrap().value;
        let book = crate::files::read_orders(orders, &line, None).unwrap().value.book;
        let lasting = Dur::from_secs(8 * 3600);
        for seed in 1..=100 {
            let upset = Upset::draw(&line, &book, seed, lasting);
            assert_eq!(upset, Upset::draw(&line, &book, seed, lasting));
            let (least, most) = match upset.kind {
                UpsetKind::Stop { .. } => (2, 20),
                UpsetKind::TankLost { .. } => (20, 90),
                UpsetKind::Away => (2, 8),
                UpsetKind::Rush { .. } => (0, 0),
            };
            let lasts = upset.until - upset.from;
            assert!(Dur::from_mins(least) <= lasts && lasts <= Dur::from_mins(most), "{seed}: {upset:?}");
            assert!(upset.from > Time::from_secs(2 * 3600) && upset.until < Time::ZERO + lasting);
            assert_eq!(upset.stops().is_empty(), !upset.told().is_empty());
        }
    }
}
