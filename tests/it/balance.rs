//! Parts held one by one, by rules of their own, beside the ledger that only ever holds sums: whatever people say and in
//! whatever order, both say the same of every order and every carrier.

use std::collections::BTreeMap;

use super::changes::with_strip;
use super::lines::{Shape, does, opened};
use dwellhand::ids::{CarrierId, Id as _, OrderId, RecipeId, StepNo, TankId};
use dwellhand::line::{Line, OrderBook, Visit};
use dwellhand::rng::Rng;
use dwellhand::shift::ledger::{Count, Counts, Entry};
use dwellhand::shift::{Bench, Change, Claim, Command, History, decide};
use dwellhand::units::{Dur, Time};
use dwellhand::verify::history::{Law, possible};

/// Where one part is. What came off a carrier remembers in which of its runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Part {
    Waiting,
    On(CarrierId),
    Good(CarrierId, usize),
    Rework(CarrierId, usize),
    Scrap(CarrierId, usize),
    Lost(CarrierId, usize),
    Returned,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Seat {
    Queue,
    Line,
    Off,
}

#[derive(Debug, Clone)]
struct Shop {
    parts: Vec<(OrderId, Part)>,
    seats: BTreeMap<CarrierId, Seat>,
    order: BTreeMap<CarrierId, OrderId>,
    run: BTreeMap<CarrierId, usize>,
    counted: BTreeMap<CarrierId, bool>,
    /// Nobody knows of which carrier.
    found: BTreeMap<OrderId, usize>,
    /// Of what was run again, how many had been counted good.
    from_good: BTreeMap<CarrierId, usize>,
    /// Carriers that were cancelled while they waited, with how many parts were taken off them.
    cancelled: BTreeMap<CarrierId, usize>,
}

impl Shop {
    fn of(book: &OrderBook) -> Self {
        let mut parts = Vec::new();
        for (order, spec) in book.orders.iter() {
            parts.extend((0..spec.parts).map(|_| (order, Part::Waiting)));
        }
        let mut shop = Self {
            parts,
            seats: book.carriers.ids().map(|c| (c, Seat::Queue)).collect(),
            order: book.carriers.iter().map(|(c, spec)| (c, spec.order)).collect(),
            run: book.carriers.ids().map(|c| (c, 0)).collect(),
            counted: book.carriers.ids().map(|c| (c, false)).collect(),
            found: BTreeMap::new(),
            from_good: book.carriers.ids().map(|c| (c, 0)).collect(),
            cancelled: BTreeMap::new(),
        };
        for (c, spec) in book.carriers.iter() {
            assert!(shop.moves(spec.order, Part::Waiting, Part::On(c), spec.parts as usize));
        }
        shop
    }

    fn count(&self, order: OrderId, is: impl Fn(Part) -> bool) -> usize {
        self.parts.iter().filter(|(o, p)| *o == order && is(*p)).count()
    }

    /// Moves so many parts; nothing happens if there are not so many.
    fn moves(&mut self, order: OrderId, from: Part, to: Part, n: usize) -> bool {
        if self.count(order, |p| p == from) < n {
            return false;
        }
        let own = self.parts.iter_mut().filter(|(o, p)| *o == order && *p == from);
        own.take(n).for_each(|part| part.1 = to);
        true
    }

    /// Everything that came off a carrier in its present run.
    fn off(&self, c: CarrierId) -> impl Fn(Part) -> bool + use<> {
        let n = self.run[&c];
        move |p| [Part::Good(c, n), Part::Rework(c, n), Part::Scrap(c, n)].contains(&p)
    }

    fn says(&mut self, entry: &Entry) -> bool {
        match *entry {
            Entry::Received { order, parts } => self.received(order, parts as usize),
            Entry::Racked { carrier, parts } => self.racked(carrier, parts as usize),
            Entry::Unracked { carrier, count } => self.unracked(carrier, count),
            Entry::Found { order, parts, .. } => {
                let lost = self.count(order, |p| matches!(p, Part::Lost(..)));
                let found = self.found.entry(order).or_default();
                *found += parts as usize;
                *found <= lost
            }
            Entry::Returned { order, parts } => {
                self.moves(order, Part::Waiting, Part::Returned, parts as usize)
            }
            _ => panic!("{entry:?}"),
        }
    }

    fn received(&mut self, order: OrderId, n: usize) -> bool {
        let now = self.count(order, |_| true);
        if n < now {
            let gone = now - n;
            if self.count(order, |p| p == Part::Waiting) < gone {
                return false;
            }
            for _ in 0..gone {
                let k = self.parts.iter().position(|part| *part == (order, Part::Waiting)).unwrap();
                self.parts.swap_remove(k);
            }
        }
        self.parts.extend((now..n).map(|_| (order, Part::Waiting)));
        true
    }

    fn racked(&mut self, c: CarrierId, n: usize) -> bool {
        if self.cancelled.contains_key(&c) {
            return false;
        }
        let (order, run) = (self.order[&c], self.run[&c]);
        // Of a carrier that is counted out, more or fewer racked are more or fewer lost.
        let on = if self.counted[&c] { Part::Lost(c, run) } else { Part::On(c) };
        let off = self.count(order, self.off(c));
        let now = off + self.count(order, |p| p == on);
        if n < off || (n < now && !self.may_lose(order, -((now - n) as i64), self.counted[&c])) {
            return false;
        }
        if run == 0 {
            return if n < now {
                self.moves(order, on, Part::Waiting, now - n)
            } else {
                self.moves(order, Part::Waiting, on, n - now)
            };
        }
        // Run again: what hangs came from the pile for rework first, then from the good ones, and goes back the other way.
        let (good, rework) = (Part::Good(c, run - 1), Part::Rework(c, run - 1));
        if n < now {
            let of_good = self.from_good[&c].min(now - n);
            *self.from_good.get_mut(&c).unwrap() -= of_good;
            return self.moves(order, on, good, of_good) && self.moves(order, on, rework, now - n - of_good);
        }
        let of_rework = self.count(order, |p| p == rework).min(n - now);
        let of_good = n - now - of_rework;
        if self.count(order, |p| p == good) < of_good {
            return false;
        }
        *self.from_good.get_mut(&c).unwrap() += of_good;
        self.moves(order, rework, on, of_rework) && self.moves(order, good, on, of_good)
    }

    /// What was found cannot be more than what was lost.
    fn may_lose(&self, order: OrderId, more: i64, counted: bool) -> bool {
        let lost = self.count(order, |p| matches!(p, Part::Lost(..))) as i64;
        let found = self.found.get(&order).copied().unwrap_or(0) as i64;
        !counted || found == 0 || lost + more >= found
    }

    fn unracked(&mut self, c: CarrierId, count: Count) -> bool {
        let (order, n) = (self.order[&c], self.run[&c]);
        if self.seats[&c] != Seat::Off || self.cancelled.contains_key(&c) {
            return false;
        }
        let is_here = |p: Part, shop: &Self| p == Part::On(c) || shop.off(c)(p) || p == Part::Lost(c, n);
        let here: Vec<usize> = (0..self.parts.len())
            .filter(|k| self.parts[*k].0 == order && is_here(self.parts[*k].1, self))
            .collect();
        let kinds = [
            (count.good, Part::Good(c, n)),
            (count.rework, Part::Rework(c, n)),
            (count.scrap, Part::Scrap(c, n)),
        ];
        let short = here.len() as i64 - count.all();
        let before = self.count(order, |p| p == Part::Lost(c, n)) as i64;
        if short < 0 || !self.may_lose(order, short - before, true) {
            return false;
        }
        let new = kinds.into_iter().flat_map(|(k, part)| std::iter::repeat_n(part, k as usize));
        for (k, part) in here.iter().zip(new.chain(std::iter::repeat(Part::Lost(c, n)))) {
            self.parts[*k].1 = part;
        }
        self.counted.insert(c, true);
        true
    }

    fn run_again(&mut self, c: CarrierId) {
        if self.seats[&c] == Seat::Off {
            self.seats.insert(c, Seat::Queue);
        }
        if !self.counted[&c] {
            return;
        }
        let (order, n) = (self.order[&c], self.run[&c]);
        let rework = self.count(order, |p| p == Part::Rework(c, n));
        let again = if rework > 0 { Part::Rework(c, n) } else { Part::Good(c, n) };
        let all = self.count(order, |p| p == again);
        assert!(all > 0 && self.moves(order, again, Part::On(c), all));
        self.from_good.insert(c, if rework > 0 { 0 } else { all });
        self.run.insert(c, n + 1);
        self.counted.insert(c, false);
    }

    /// Whatever of an order waits to start is taken off again and goes back to where it came from.
    fn cancel(&mut self, order: OrderId) {
        let own = self.order.iter().filter(|(c, o)| **o == order && self.seats[*c] == Seat::Queue);
        for c in own.map(|(c, _)| *c).collect::<Vec<_>>() {
            let all = self.count(order, |p| p == Part::On(c));
            assert!(self.hang(c, all, false));
            self.cancelled.insert(c, all);
            self.seats.insert(c, Seat::Off);
        }
    }

    /// Hangs parts on a carrier, or takes them off, from or to the piles they belong to.
    fn hang(&mut self, c: CarrierId, parts: usize, hang: bool) -> bool {
        let (order, run) = (self.order[&c], self.run[&c]);
        if parts == 0 {
            // It was counted out already, and said to wait again.
            return true;
        }
        let good = if run > 0 { self.from_good[&c] } else { 0 };
        let piles = if run > 0 {
            [(Part::Good(c, run - 1), good), (Part::Rework(c, run - 1), parts - good)]
        } else {
            [(Part::Waiting, parts), (Part::Returned, 0)]
        };
        piles.into_iter().all(|(pile, n)| {
            let (from, to) = if hang { (pile, Part::On(c)) } else { (Part::On(c), pile) };
            self.moves(order, from, to, n)
        })
    }

    /// Somebody says where a carrier is: what is not off the line was not cancelled after all. False if its parts are gone.
    fn sits(&mut self, c: CarrierId, seat: Seat, off: bool) -> bool {
        self.seats.insert(c, seat);
        off || self.cancelled.remove(&c).is_none_or(|parts| self.hang(c, parts, true))
    }

    /// Carriers leave for a new order, and everything that ever hung on them.
    fn split(&mut self, carriers: &[CarrierId], to: OrderId) {
        for (order, part) in &mut self.parts {
            let (Part::On(c) | Part::Good(c, _) | Part::Rework(c, _) | Part::Scrap(c, _) | Part::Lost(c, _)) =
                *part
            else {
                continue;
            };
            if carriers.contains(&c) {
                *order = to;
            }
        }
        self.order.extend(carriers.iter().map(|c| (*c, to)));
    }

    fn counts(&self, order: OrderId) -> Counts {
        let n = |is: &dyn Fn(Part) -> bool| self.count(order, is) as i64;
        let found = self.found.get(&order).map_or(0, |n| *n as i64);
        let on = |seat: Seat| move |p: Part| matches!(p, Part::On(c) if self.seats[&c] == seat);
        Counts {
            received: n(&|_| true),
            waiting: n(&|p| p == Part::Waiting),
            to_start: n(&on(Seat::Queue)),
            on_line: n(&on(Seat::Line)),
            to_count: n(&on(Seat::Off)),
            good: n(&|p| matches!(p, Part::Good(..))),
            rework: n(&|p| matches!(p, Part::Rework(..))),
            scrap: n(&|p| matches!(p, Part::Scrap(..))),
            returned: n(&|p| p == Part::Returned),
            found,
            missing: n(&|p| matches!(p, Part::Lost(..))) - found,
        }
    }
}

/// What somebody may say, possible or not.
fn any(line: &Line, history: &History, rng: &mut Rng, now: Time) -> Command {
    let state = history.state();
    let order = OrderId::at(rng.below(state.book.orders.len()));
    let carrier = CarrierId::at(rng.below(state.carriers.len()));
    let (parts, few) = (rng.below(40) as u32, 1 + rng.below(4) as u32);
    let unload = line.tanks.find(|t| t.name == "U").unwrap_or(TankId::at(0));
    let enter = |entry| Command::Enter { entry, at: now };
    let change = |change| Command::Change { change, why: String::new() };
    let claim = |claim| Command::Correct { carrier, claim };
    let racked = state.ledger.racked(state, carrier) as u32;
    match rng.below(19) {
        0 => enter(Entry::Received { order, parts: parts * 4 }),
        1 => enter(Entry::Racked { carrier, parts }),
        2 | 3 => {
            let good = racked.saturating_sub(rng.below(5) as u32);
            enter(Entry::Unracked { carrier, count: Count { good, rework: 0, scrap: rng.below(3) as u32 } })
        }
        4 | 5 => {
            let good = rng.below(racked as usize + 1) as u32;
            let (rework, scrap) = (rng.below(6) as u32, rng.below(3) as u32);
            enter(Entry::Unracked { carrier, count: Count { good, rework, scrap } })
        }
        6 => enter(Entry::Found { order, tank: TankId::at(1), parts: few }),
        7 => enter(Entry::Returned { order, parts: few }),
        8 | 9 => claim(Claim::Finished { tank: unload }),
        10 => claim(Claim::OffLine),
        11 | 12 => {
            claim(Claim::InTank { tank: TankId::at(1), since: now, visit: Visit::Step(StepNo::at(0)) })
        }
        13 => change(Change::Rework { carrier, recipe: RecipeId(1) }),
        14 => {
            let (min, max) = (Dur::from_mins(1), Dur::from_mins(9));
            let bench = Bench { name: "K1".to_owned(), min, max, resume: StepNo::at(1) };
            change(Change::Lend { carrier, bench })
        }
        15 => change(Change::CancelOrder { order }),
        16 => claim(Claim::Queued),
        17 => {
            let name = format!("S{}", state.book.orders.len());
            change(Change::Split { order, carriers: vec![carrier], name })
        }
        _ => change(Change::Back { carrier, tank: None }),
    }
}

/// What the shop makes of it: `None` where only the program can say whether it can be.
fn makes(shop: &mut Shop, command: &Command, orders: usize) -> Option<bool> {
    match command {
        Command::Enter { entry, .. } => return Some(shop.says(entry)),
        Command::Correct { carrier, claim } => {
            let seat = match claim {
                Claim::Finished { .. } | Claim::OffLine => Seat::Off,
                Claim::Queued => Seat::Queue,
                Claim::InTank { .. } | Claim::OnHook { .. } => Seat::Line,
            };
            return Some(shop.sits(*carrier, seat, *claim == Claim::OffLine));
        }
        Command::Change { change: Change::CancelOrder { order }, .. } => shop.cancel(*order),
        Command::Change { change: Change::Split { carriers, .. }, .. } => {
            shop.split(carriers, OrderId::at(orders));
        }
        Command::Change { change: Change::Rework { carrier, .. }, .. } => shop.run_again(*carrier),
        Command::Change { change: Change::Lend { carrier, .. }, .. } => {
            shop.seats.insert(*carrier, Seat::Off);
        }
        Command::Change { change: Change::Back { carrier, .. }, .. } => {
            shop.seats.insert(*carrier, Seat::Queue);
        }
        other => panic!("{other:?}"),
    }
    None
}

#[derive(Debug, Default)]
struct Seen {
    entries: usize,
    refused: usize,
    again: usize,
    bench: usize,
    found: usize,
    undone: usize,
    counted_again: usize,
    cancelled: usize,
    uncancelled: usize,
    split: usize,
    taken_back: usize,
}

fn one_shift(seed: u64, seen: &mut Seen) {
    let (mut line, mut book) = with_strip(seed, Shape { steps: 5, carriers: 6, rinse: 3, hoists: 1 });
    line.rework.most = 3;
    let other = book.orders[OrderId::at(0)].clone();
    let other = book.orders.push(dwellhand::line::Order { name: "O2".to_owned(), ..other });
    for n in 0..book.carriers.len() {
        let spec = &mut book.carriers[CarrierId::at(n)];
        spec.parts = 20;
        spec.order = if n % 2 == 0 { OrderId::at(0) } else { other };
    }
    for order in [OrderId::at(0), other] {
        book.orders[order].parts = 20 * 3 + 15;
    }
    let mut history = opened(&line, book);
    let mut shop = Shop::of(&history.state().book);
    let mut rng = Rng::stream(seed, "parts");
    for n in 1..=160 {
        let now = Time::from_secs(n);
        let command = any(&line, &history, &mut rng, now);
        let mut next = shop.clone();
        let taken = decide(&line, &history, &command, now).is_ok();
        let orders = history.state().book.orders.len();
        if let Command::Enter { entry, .. } = &command {
            let zero = matches!(entry, Entry::Received { parts: 0, .. });
            // More racked than came in is told and not refused; the shop has no parts for it.
            let known = matches!(entry, Entry::Received { .. } | Entry::Racked { .. });
            let fits = makes(&mut next, &command, orders) == Some(true) && !zero;
            if known && taken && !fits {
                continue;
            }
            assert_eq!(
                taken,
                fits,
                "seed {seed}, {n}: {command:?}\n{:?}",
                decide(&line, &history, &command, now)
            );
            seen.refused += usize::from(!taken);
        }
        if !taken {
            continue;
        }
        let is_entry = matches!(command, Command::Enter { .. });
        // What was cancelled and is there after all needs its parts, which may have gone back to the customer.
        let was = next.cancelled.len();
        if !is_entry && makes(&mut next, &command, orders) == Some(false) {
            continue;
        }
        seen.uncancelled += was.saturating_sub(next.cancelled.len());
        does(&line, &mut history, &command, now);
        let back = match &command {
            Command::Correct { .. } => history.state().last_physical.map(|seq| Command::Undo { seq }),
            Command::Change { .. } => Some(Command::TakeBack { seq: history.state().seq }),
            _ => None,
        };
        match back.filter(|_| rng.below(4) == 0) {
            Some(back) if decide(&line, &history, &back, now).is_ok() => {
                does(&line, &mut history, &back, now);
                seen.undone += usize::from(matches!(back, Command::Undo { .. }));
                seen.taken_back += usize::from(matches!(back, Command::TakeBack { .. }));
            }
            _ => shop = next,
        }
        match &command {
            Command::Enter { entry, .. } => {
                seen.entries += 1;
                seen.found += usize::from(matches!(entry, Entry::Found { .. }));
                if let Entry::Unracked { carrier, .. } = entry {
                    seen.counted_again += usize::from(shop.run[carrier] > 0);
                }
            }
            Command::Change { change: Change::Rework { .. }, .. } => seen.again += 1,
            Command::Change { change: Change::Back { .. }, .. } => seen.bench += 1,
            Command::Change { change: Change::CancelOrder { .. }, .. } => seen.cancelled += 1,
            Command::Change { change: Change::Split { .. }, .. } => seen.split += 1,
            _ => {}
        }
        same(&shop, &history, seed, &command);
    }
    let again = History::of(&line, history.events().to_vec());
    assert_eq!(again.state(), history.state());
    // Whoever reads the journal with other code comes to the same places and the same counts.
    let faults = possible(&line, history.events(), history.state());
    let told: Vec<_> = faults.iter().filter(|f| matches!(f.law, Law::Counts | Law::Fold)).collect();
    assert!(told.is_empty(), "seed {seed}: {:?}", told.iter().map(|f| &f.text).collect::<Vec<_>>());
}

fn same(shop: &Shop, history: &History, seed: u64, command: &Command) {
    let state = history.state();
    for order in state.book.orders.ids() {
        let told = state.ledger.counts(state, order);
        assert_eq!(told, shop.counts(order), "seed {seed} after {command:?}");
    }
    for (carrier, order) in shop.order.iter().filter(|(c, _)| !shop.cancelled.contains_key(c)) {
        let run = shop.run[carrier];
        let lost = shop.count(*order, |p| p == Part::Lost(*carrier, run));
        let hangs = shop.count(*order, |p| p == Part::On(*carrier));
        let off = shop.count(*order, shop.off(*carrier));
        let told = state.ledger.racked(state, *carrier);
        assert_eq!(told, (hangs + off + lost) as i64, "seed {seed} {carrier:?} after {command:?}");
        let short = shop.counted[carrier].then_some(lost as i64);
        assert_eq!(state.ledger.short(state, *carrier), short, "seed {seed} {carrier:?} after {command:?}");
    }
}

/// Random shifts with rework, benches, found parts, orders cancelled and split, corrections, and all of it taken back: the ledger's sums are the parts, one by one.
#[test]
fn the_ledger_says_where_every_single_part_is() {
    let mut seen = Seen::default();
    for seed in 0..300 {
        one_shift(seed, &mut seen);
    }
    let Seen { entries, refused, again, bench, found, undone, counted_again, .. } = seen;
    assert!(
        entries > 5000 && refused > 1000 && again > 300 && bench > 100,
        "{entries} {refused} {again} {bench}"
    );
    assert!(found > 200 && undone > 500 && counted_again > 100, "{found} {undone} {counted_again}");
    let Seen { cancelled, uncancelled, split, taken_back, .. } = seen;
    assert!(
        cancelled > 200 && uncancelled > 100 && split > 200 && taken_back > 200,
        "{cancelled} {uncancelled} {split} {taken_back}"
    );
}
