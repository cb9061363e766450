//! Figures and names that are typed for a change.

use super::pick::{Step, Wait, until};
use crate::ids::{CarrierId, OrderId, StepNo};
use crate::line::{CarrierSpec, Order, Priority};
use crate::shift::{Bench, Change, Command, Whose, Window};
use crate::tui::app::App;
use crate::tui::dialog::{Asks, Field};
use crate::units::{Dur, Time};
use crate::view::Board;

/// What a typed figure is for.
#[derive(Debug, Clone, PartialEq)]
pub enum Figure {
    /// When a tank or a hoist is back.
    Until(Wait),
    /// When an order is promised.
    Due(OrderId, Priority),
    /// The window of a step.
    Window(Whose, StepNo),
    /// The bench a carrier goes to and how long, before it goes on with this step.
    Bench(CarrierId, StepNo),
    /// The name of a new order like another one, with so many carriers.
    NewOrder(OrderId, usize),
    /// The name of the order that carriers of another one become.
    SplitName(OrderId, Vec<CarrierId>),
}

impl Figure {
    /// The field that asks for it.
    pub fn field(self, app: &App, board: &Board) -> Field {
        let (title, hint, text) = match &self {
            Self::Until(_) => {
                ("Until when?", "a time of day such as 14:30, or so many minutes from now", String::new())
            }
            Self::Due(order, _) => {
                let due = app.book.orders[*order].due.map(|t| board.clock_minutes_at(t));
                (
                    "Promised for when?",
                    "a time of day such as 14:30; nothing: no promise",
                    due.unwrap_or_default(),
                )
            }
            Self::Window(whose, step) => {
                let text = window_of(app, *whose, *step).map_or_else(String::new, window_text);
                let hint =
                    "shortest, aim and longest as mm:ss; - for no limit. The process sheet's limits hold.";
                ("Which window?", hint, text)
            }
            Self::Bench(..) => (
                "Which bench, and for how long?",
                "its name, then shortest and longest as mm:ss, such as: K1 10:00 20:00; - for no limit",
                "K1 10:00 20:00".to_owned(),
            ),
            Self::NewOrder(like, _) => (
                "Name of the new order?",
                "a name no other order has; Ctrl-U clears this one",
                free_name(app, *like),
            ),
            Self::SplitName(order, _) => (
                "Name of the order that is split off?",
                "a name no other order has; Ctrl-U clears this one",
                free_name(app, *order),
            ),
        };
        Field { title: title.to_owned(), hint: hint.to_owned(), text, wrong: None, asks: Asks::Figure(self) }
    }

    /// What the text comes to, or what is wrong with it.
    pub fn read(&self, text: &str, app: &App, board: &Board, now: Time) -> Result<Step, String> {
        let text = text.trim();
        let change = |change| Step::propose(change);
        match self {
            Self::Until(wait) => {
                let t = instant(text, board, now).ok_or("say a time of day, 14:30, or minutes, 20")?;
                Ok(Step::Propose(until(&app.line, *wait, Some(t))))
            }
            Self::Due(order, priority) => {
                let was = app.book.orders[*order].due;
                let due = match text {
                    "" | "-" => None,
                    // One that has passed is not moved to tomorrow by leaving it as it was.
                    _ if was.is_some_and(|t| board.clock_minutes_at(t) == text) => was,
                    _ => Some(instant(text, board, now).ok_or("say a time of day, 14:30, or nothing")?),
                };
                Ok(change(Change::Promise { order: *order, priority: *priority, due }))
            }
            Self::Window(whose, step) => {
                let window =
                    window(text).ok_or("say three times: shortest, aim, longest, such as 1:30 2:00 3:00")?;
                Ok(change(Change::Dwell { whose: *whose, step: *step, window }))
            }
            Self::Bench(carrier, resume) => {
                let bench = bench(text, *resume).ok_or("say a name and two times, such as K1 10:00 20:00")?;
                Ok(change(Change::Lend { carrier: *carrier, bench }))
            }
            Self::NewOrder(like, count) => {
                let name = new_name(text, app)?;
                Ok(change(new_order(app, *like, *count, name, now)))
            }
            Self::SplitName(order, carriers) => {
                let name = new_name(text, app)?;
                Ok(change(Change::Split { order: *order, carriers: carriers.clone(), name }))
            }
        }
    }
}

impl Step {
    /// A change without a reason yet.
    pub(super) fn propose(change: Change) -> Self {
        Self::Propose(vec![Command::Change { change, why: String::new() }])
    }
}

/// A time of day, the next one after now, or minutes from now.
fn instant(text: &str, board: &Board, now: Time) -> Option<Time> {
    const DAY: Dur = Dur::from_mins(24 * 60);
    let Some((hour, minute)) = text.split_once(':') else {
        let minutes: i64 = text.parse().ok().filter(|m| (1..=1440).contains(m))?;
        return Some(now + Dur::from_mins(minutes));
    };
    let hour: u32 = hour.parse().ok().filter(|h| *h < 24)?;
    let minute: u32 = minute.parse().ok().filter(|m| *m < 60)?;
    let first = board.opening().next_time_of_day(hour, minute);
    let days = if first > now { 0 } else { (now - first).0 / DAY.0 + 1 };
    Some(first + DAY * days)
}

fn window(text: &str) -> Option<Window> {
    let parts: Vec<Dur> = text
        .split_whitespace()
        .map(|p| if p == "-" { Some(Dur::UNLIMITED) } else { Dur::parse(p) })
        .collect::<Option<_>>()?;
    let [min, target, max] = parts[..] else { return None };
    (min <= target && target <= max && !target.is_unlimited()).then_some(Window { min, target, max })
}

fn bench(text: &str, resume: StepNo) -> Option<Bench> {
    let mut words: Vec<&str> = text.split_whitespace().collect();
    let max = words.pop().and_then(|p| if p == "-" { Some(Dur::UNLIMITED) } else { Dur::parse(p) })?;
    let min = words.pop().and_then(Dur::parse)?;
    let name = words.join(" ");
    (!name.is_empty() && min <= max).then_some(Bench { name, min, max, resume })
}

fn window_text(w: Window) -> String {
    let max = if w.max.is_unlimited() { "-".to_owned() } else { w.max.to_string() };
    format!("{} {} {max}", w.min, w.target)
}

/// The window a step has now.
pub(super) fn window_of(app: &App, whose: Whose, step: StepNo) -> Option<Window> {
    let recipe = match whose {
        Whose::Carrier(carrier) => app.book.carriers[carrier].recipe,
        Whose::Order(order) => app.book.carriers.iter().find(|(_, c)| c.order == order)?.1.recipe,
    };
    let s = app.line.recipes[recipe].steps.get(crate::ids::Id::ix(step))?;
    Some(Window { min: s.min, target: s.target, max: s.max })
}

fn new_name(text: &str, app: &App) -> Result<String, String> {
    if text.is_empty() {
        return Err("it needs a name".to_owned());
    }
    let taken = app.book.orders.iter().any(|(_, o)| o.name == text);
    if taken { Err(format!("there is an order {text} already")) } else { Ok(text.to_owned()) }
}

/// `4711-2` for an order `4711`.
fn free_name(app: &App, like: OrderId) -> String {
    let base = &app.book.orders[like].name;
    let free = |name: &String| app.book.orders.iter().all(|(_, o)| o.name != *name);
    let most = app.book.orders.len() + 2;
    (2..=most).map(|n| format!("{base}-{n}")).find(free).unwrap_or_default()
}

/// An order like another one, to start from now on. Its carriers are numbered on from those there are.
fn new_order(app: &App, like: OrderId, count: usize, name: String, now: Time) -> Change {
    let book = &app.book;
    let order = &book.orders[like];
    let specs: Vec<&CarrierSpec> = book.carriers.iter().map(|(_, c)| c).filter(|c| c.order == like).collect();
    let names = free_carriers(app, specs.first().map_or("C", |c| c.name.as_str()), count);
    let carriers: Vec<CarrierSpec> = names
        .into_iter()
        .zip(specs.iter().cycle())
        .map(|(name, spec)| CarrierSpec {
            name,
            recipe: order.recipe,
            ready: now,
            rack_name: None,
            ..(*spec).clone()
        })
        .collect();
    let parts = carriers.iter().map(|c| c.parts).fold(0, u32::saturating_add);
    let order = Order { name, parts, due: None, ready: now, ..order.clone() };
    Change::AddOrder { order: Box::new(order), carriers }
}

/// Names with the letters of one that is there and the next free numbers: `B15`, `B16` after `B14`.
fn free_carriers(app: &App, like: &str, count: usize) -> Vec<String> {
    let letters = like.trim_end_matches(|c: char| c.is_ascii_digit());
    let width = like.len() - letters.len();
    let number = |name: &str| name.strip_prefix(letters)?.parse::<u64>().ok();
    let last = app.book.carriers.iter().filter_map(|(_, c)| number(&c.name)).max().unwrap_or(0);
    (last + 1..).take(count).map(|n| format!("{letters}{n:0width$}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_window_is_three_times_in_order() {
        let secs = Dur::from_secs;
        assert_eq!(
            window("1:30 2:00 3:00"),
            Some(Window { min: secs(90), target: secs(120), max: secs(180) })
        );
        assert_eq!(
            window("90 120 -"),
            Some(Window { min: secs(90), target: secs(120), max: Dur::UNLIMITED })
        );
        for wrong in ["", "1:30", "3:00 2:00 1:00", "1:30 - -", "a b c", "1 2 3 4"] {
            assert_eq!(window(wrong), None, "{wrong}");
        }
    }
}
