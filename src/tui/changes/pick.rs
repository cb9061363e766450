//! Picking a change: what, whom, how much. Each row of a list leads to the next list, to a field, or to a proposal.

use std::collections::BTreeMap;

use super::{Figure, Selected, figures};
use crate::ids::{CarrierId, HoistId, Id as _, OrderId, RecipeId, RectifierId, StepNo, TankId};
use crate::line::{EntrySide, Line, Priority, Rectifier, Role, StageKind, Visit};
use crate::shift::{Change, Claim, Command, Place, StopCause, Whose};
use crate::tui::app::App;
use crate::tui::dialog::{Field, Item, List, Means};
use crate::units::{Dur, Time};
use crate::view::{Board, CarrierFact, Mark, Readiness, Spot, cause_word, visit_words};

/// How long things are out, in minutes, as offered.
const LASTING: [i64; 7] = [5, 10, 15, 20, 30, 45, 60];

/// Speeds of a hoist, in per cent, as offered.
const SPEEDS: [u8; 9] = [100, 90, 80, 70, 60, 50, 40, 30, 20];

/// The most carriers of a new order that are offered.
const MOST_NEW: usize = 12;

/// What can be changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A carrier stays where it is.
    Hold,
    /// It goes on.
    Release,
    /// A carrier goes into standby water.
    Park,
    /// It goes on.
    BringBack,
    /// A hoist does nothing.
    Stop,
    /// It runs again.
    Run,
    /// A hoist is slower.
    Slow,
    /// A tank is left, not entered.
    Quarantine,
    /// It may be entered.
    Free,
    /// A tank is out of service.
    TankOut,
    /// It is back.
    TankBack,
    /// An order matters more or less, or is promised for another time.
    Promise,
    /// What waits starts in another order.
    Reorder,
    /// One more order.
    Add,
    /// What has not started of an order does not start.
    Cancel,
    /// Some carriers of an order become one of their own.
    Split,
    /// Another window for a step.
    Dwell,
    /// Another load station.
    Entry,
    /// Strip and start again.
    Rework,
    /// Taken off the line by hand.
    Off,
    /// To a bench beside the line.
    Lend,
    /// Back from the bench.
    Back,
}

impl Kind {
    /// All, those wanted in a hurry first.
    const ALL: [Self; 22] = [
        Self::Hold,
        Self::Release,
        Self::Park,
        Self::BringBack,
        Self::Back,
        Self::Stop,
        Self::Run,
        Self::TankOut,
        Self::TankBack,
        Self::Quarantine,
        Self::Free,
        Self::Promise,
        Self::Reorder,
        Self::Dwell,
        Self::Rework,
        Self::Off,
        Self::Lend,
        Self::Slow,
        Self::Add,
        Self::Cancel,
        Self::Split,
        Self::Entry,
    ];

    /// As it is offered.
    fn words(self) -> &'static str {
        match self {
            Self::Hold => "hold a carrier where it is",
            Self::Release => "release a carrier that is held",
            Self::Park => "park a carrier in standby water",
            Self::BringBack => "bring back a parked carrier",
            Self::Stop => "stop a crane (break, fault)",
            Self::Run => "let a stopped crane run",
            Self::Slow => "slow a crane, or full speed again",
            Self::Quarantine => "quarantine a tank: leave it, do not enter",
            Self::Free => "free a tank from quarantine",
            Self::TankOut => "take a tank out of service",
            Self::TankBack => "put a tank back into service",
            Self::Promise => "rush an order, or another promise",
            Self::Reorder => "reorder what waits to start",
            Self::Add => "add an order",
            Self::Cancel => "cancel an order as far as not started",
            Self::Split => "split carriers from an order",
            Self::Dwell => "change a dwell inside the sheet's limits",
            Self::Entry => "enter the line somewhere else",
            Self::Rework => "send a carrier to rework: strip, start again",
            Self::Off => "take a carrier off the line by hand",
            Self::Lend => "take a carrier to a bench beside the line",
            Self::Back => "bring a carrier back from the bench",
        }
    }

    /// The question for whom.
    fn whom(self) -> &'static str {
        match self {
            Self::Hold
            | Self::Release
            | Self::Park
            | Self::BringBack
            | Self::Rework
            | Self::Off
            | Self::Lend
            | Self::Back => "Which carrier?",
            Self::Stop | Self::Run | Self::Slow => "Which crane?",
            Self::Quarantine | Self::Free | Self::TankOut | Self::TankBack => "Which tank?",
            Self::Reorder => "Which carrier starts earlier or later?",
            Self::Add => "An order like which one?",
            Self::Promise | Self::Cancel | Self::Split => "Which order?",
            Self::Dwell | Self::Entry => "For whom?",
        }
    }
}

/// What was picked so far.
#[derive(Debug, Clone, PartialEq)]
pub enum Pick {
    /// One of the ways out of trouble, as it was listed: others may rank there by the time it is taken.
    Way(Vec<Command>),
    /// What to change.
    Kind(Kind),
    /// Park this carrier.
    Park(CarrierId),
    /// This is away, for how long?
    Lasting(Wait),
    /// When it is back is typed.
    Until(Wait),
    /// Stop this hoist, why?
    Stop(HoistId),
    /// Slow this hoist, to what?
    Slow(HoistId),
    /// This order is promised, how?
    Promise(OrderId),
    /// Its time is typed.
    Due(OrderId, Priority),
    /// This carrier starts before which one?
    Move(CarrierId),
    /// A new order like this one, how many carriers?
    Like(OrderId),
    /// So many; the name is typed.
    New(OrderId, usize),
    /// These leave the order; who else?
    Split(OrderId, Vec<CarrierId>),
    /// Nobody else; the name is typed.
    SplitOff(OrderId, Vec<CarrierId>),
    /// Another dwell for these, in which step?
    Dwell(Whose),
    /// The window is typed.
    Window(Whose, StepNo),
    /// These enter somewhere else, where?
    Entry(Option<OrderId>),
    /// This carrier is sent to rework, by which recipe?
    Rework(CarrierId),
    /// This carrier goes to a bench; with which step does it go on?
    Lend(CarrierId),
    /// The bench and how long are typed.
    LendUntil(CarrierId, StepNo),
    /// This carrier comes back, where?
    Back(CarrierId),
    /// That is all.
    Do(Command),
    /// That is all of them.
    DoAll(Vec<Command>),
}

/// What is away for a while.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wait {
    /// A tank.
    Tank(TankId),
    /// All tanks that a rectifier feeds.
    Rectifier(RectifierId),
    /// A hoist, and why.
    Hoist(HoistId, StopCause),
}

/// Where a pick leads.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// Another list.
    List(List),
    /// Something is typed.
    Field(Field),
    /// Changes are proposed.
    Propose(Vec<Command>),
    /// Several changes are proposed in place of all others.
    Fill(Vec<Command>),
    /// There is nothing to pick.
    Nothing(&'static str),
}

/// The commands for something that is away until then; `None` if nobody knows.
pub(super) fn until(line: &Line, wait: Wait, until: Option<Time>) -> Vec<Command> {
    match wait {
        Wait::Tank(tank) => vec![Command::TankOut { tank, until, why: String::new() }],
        Wait::Rectifier(rectifier) => {
            let why = format!("rectifier {}", line.rectifiers[rectifier].name);
            fed_by(line, rectifier).map(|tank| Command::TankOut { tank, until, why: why.clone() }).collect()
        }
        Wait::Hoist(hoist, cause) => vec![plain(Change::StopHoist { hoist, cause, until })],
    }
}

fn fed_by(line: &Line, rectifier: RectifierId) -> impl Iterator<Item = TankId> {
    let feeds = move |tank: &TankId| match line.tanks[*tank].role {
        Role::Bath(stage) => line.stages[stage].rectifier == Some(rectifier),
        Role::Station { .. } => false,
    };
    line.tanks.ids().filter(feeds)
}

fn plain(change: Change) -> Command {
    Command::Change { change, why: String::new() }
}

fn item(text: impl Into<String>, pick: Pick) -> Item {
    Item { text: text.into(), means: Means::Pick(pick) }
}

fn list(title: impl Into<String>, items: Vec<Item>) -> Step {
    if items.is_empty() {
        Step::Nothing("There is nothing to pick from.")
    } else {
        Step::List(List::of(title, items))
    }
}

/// The first list: what can be changed, behind the ways out if there is trouble. They are one list, so that what is typed
/// finds both.
pub fn begin(app: &App, board: &Board) -> Step {
    let ways = &app.changes.ways;
    let at = board.clock_at(app.changes.ways_at);
    match &ways[..] {
        [] => list(all_title(app, board), all(app, board)),
        [nothing] if nothing.commands.is_empty() => {
            let about = format!("Looked for ways out at {at}: none is better than changing nothing.");
            Step::List(List::of(all_title(app, board), all(app, board)).about(about))
        }
        ways => {
            let rows = ways.iter().enumerate();
            let mut items: Vec<Item> = rows
                .map(|(n, way)| item(format!("{}. {}", n + 1, way.line()), Pick::Way(way.commands.clone())))
                .collect();
            items.extend(all(app, board));
            let about = format!("Worked out for {at}, and anew before one is committed. All changes follow.");
            Step::List(List::of("Ways out, the best first", items).about(about))
        }
    }
}

fn all_title(app: &App, board: &Board) -> String {
    let Selected { carrier, tank } = app.changes.selected;
    let carrier = carrier.and_then(|c| board.carrier(c)).map(|c| c.name.clone());
    let tank = tank.map(|t| app.line.tanks[t].name.clone());
    let chosen: Vec<String> = [carrier, tank].into_iter().flatten().collect();
    match chosen.join(", ") {
        none if none.is_empty() => "What to change?".to_owned(),
        some => format!("What to change? ({some} is offered first)"),
    }
}

fn all(app: &App, board: &Board) -> Vec<Item> {
    // Who looks for standby and finds none is told so.
    let has_standby = app.line.stages.iter().any(|(_, stage)| stage.kind == StageKind::Standby);
    let told = |kind| kind == Kind::Park && has_standby && board.carriers.iter().any(may_be_parked);
    let possible = Kind::ALL.into_iter().filter(|kind| told(*kind) || !whom(app, board, *kind).is_empty());
    possible.map(|kind| item(kind.words(), Pick::Kind(kind))).collect()
}

/// Where a pick leads.
pub fn follow(app: &App, board: &Board, pick: Pick, now: Time) -> Step {
    let name = |c: CarrierId| app.book.carriers[c].name.as_str();
    match pick {
        Pick::Way(commands) => Step::Fill(commands),
        Pick::Kind(kind) => match (list(kind.whom(), whom(app, board, kind)), kind) {
            (Step::List(list), Kind::Rework) => {
                Step::List(list.about(not_listed(board, |c| no_rework(app, c))))
            }
            (Step::List(list), Kind::Hold) => Step::List(list.about(not_listed(board, no_hold))),
            (Step::Nothing(_), Kind::Park) => {
                Step::Nothing("No standby that is free and near enough for any load.")
            }
            (Step::List(list), Kind::Park) => Step::List(list.about(not_listed(board, no_park))),
            (step, _) => step,
        },
        Pick::Park(carrier) => {
            let words = |tank: Option<TankId>| match tank {
                Some(tank) => Spot::of(&app.line, tank).words(),
                None => "any standby its sheet allows".to_owned(),
            };
            let parks = board.carrier(carrier).map_or_else(Vec::new, |c| c.parks.clone());
            let park = |tank| item(words(tank), Pick::Do(plain(Change::Park { carrier, tank })));
            let items = parks.into_iter().map(park).collect();
            list(format!("Where is {} to wait?", name(carrier)), items)
        }
        Pick::Stop(hoist) => {
            let causes = [StopCause::Break, StopCause::Fault];
            list(
                "Why does it stop?",
                causes.map(|c| item(cause_word(c), Pick::Lasting(Wait::Hoist(hoist, c)))).into(),
            )
        }
        Pick::Lasting(wait) => {
            let until = |t| Pick::DoAll(until(&app.line, wait, t));
            let mut items = vec![item("nobody knows", until(None))];
            items.extend(LASTING.map(|m| {
                let t = board.opening().whole_minute(now + Dur::from_mins(m));
                item(format!("{m} min, until {}", board.clock_minutes_at(t)), until(Some(t)))
            }));
            items.push(item("another time ...", Pick::Until(wait)));
            list("Until when?", items)
        }
        Pick::Until(wait) => Step::Field(Figure::Until(wait).field(app, board)),
        Pick::Slow(hoist) => {
            let items = SPEEDS.map(|percent| {
                let words = if percent == 100 { "full speed".to_owned() } else { format!("{percent} %") };
                item(words, Pick::Do(plain(Change::SlowHoist { hoist, percent })))
            });
            list("At what speed?", items.into())
        }
        Pick::Promise(order) => promise(app, order),
        Pick::Due(order, priority) => Step::Field(Figure::Due(order, priority).field(app, board)),
        Pick::Move(carrier) => reorder(app, board, carrier),
        Pick::Like(order) => {
            let recipe = &app.line.recipes[app.book.orders[order].recipe].name;
            let items = (1..=MOST_NEW).map(|n| item(format!("{n} of {recipe}"), Pick::New(order, n)));
            list("How many carriers?", items.collect())
        }
        Pick::New(order, count) => Step::Field(Figure::NewOrder(order, count).field(app, board)),
        Pick::Split(order, leaving) => split(app, board, order, &leaving),
        Pick::SplitOff(order, carriers) => Step::Field(Figure::SplitName(order, carriers).field(app, board)),
        Pick::Dwell(whose) => list("In which step?", steps(app, board, whose)),
        Pick::Window(whose, step) => Step::Field(Figure::Window(whose, step).field(app, board)),
        Pick::Entry(order) => entry(app, order),
        Pick::Rework(carrier) => {
            let fact = board.carrier(carrier);
            let items = fact.into_iter().flat_map(|c| rework_recipes(app, c)).map(|recipe| {
                let r = &app.line.recipes[recipe];
                item(format!("{}  {}", r.name, r.label), Pick::Do(plain(Change::Rework { carrier, recipe })))
            });
            list(format!("By which recipe is {} stripped and started again?", name(carrier)), items.collect())
        }
        Pick::Lend(carrier) => {
            let recipe = app.book.carriers[carrier].recipe;
            let first = board.carrier(carrier).and_then(|c| ahead(c.place)).unwrap_or(0);
            let items = (first..app.line.recipes[recipe].steps.len()).map(|n| {
                let what = visit_words(&app.line, recipe, Visit::Step(StepNo::at(n)));
                item(format!("{}. {what}", n + 1), Pick::LendUntil(carrier, StepNo::at(n)))
            });
            list(format!("With which step does {} go on afterwards?", name(carrier)), items.collect())
        }
        Pick::LendUntil(carrier, step) => Step::Field(Figure::Bench(carrier, step).field(app, board)),
        Pick::Back(carrier) => back(app, board, carrier),
        Pick::Do(command) => Step::Propose(vec![command]),
        Pick::DoAll(commands) => Step::Propose(commands),
    }
}

/// Everybody a change can be for; what was chosen on the screen before comes first.
fn whom(app: &App, board: &Board, kind: Kind) -> Vec<Item> {
    let marked = |c: &CarrierFact, marks: &[Mark]| c.marks.iter().any(|m| marks.contains(m));
    let simple = |change: fn(CarrierId) -> Change| move |c: CarrierId| Pick::Do(plain(change(c)));
    match kind {
        Kind::Hold => {
            let still =
                |c: &CarrierFact| matches!(c.place, Place::Queued | Place::InTank { hooked: None, .. });
            let fits = |c: &CarrierFact| still(c) && !marked(c, &[Mark::Held]);
            carriers(app, board, fits, simple(|carrier| Change::Hold { carrier }))
        }
        Kind::Release => {
            carriers(app, board, |c| marked(c, &[Mark::Held]), simple(|carrier| Change::Release { carrier }))
        }
        Kind::Park => {
            let fits = |c: &CarrierFact| may_be_parked(c) && !c.parks.is_empty();
            carriers(app, board, fits, Pick::Park)
        }
        Kind::BringBack => {
            let fits = |c: &CarrierFact| marked(c, &[Mark::Parked, Mark::ToPark]);
            carriers(app, board, fits, simple(|carrier| Change::BringBack { carrier }))
        }
        Kind::Rework => {
            let fits = |c: &CarrierFact| no_rework(app, c).is_none();
            carriers(app, board, fits, Pick::Rework)
        }
        Kind::Off => carriers(app, board, on_line, |carrier| {
            Pick::Do(Command::Correct { carrier, claim: Claim::OffLine })
        }),
        Kind::Lend => {
            let fits =
                |c: &CarrierFact| matches!(c.place, Place::Queued | Place::InTank { hooked: None, .. });
            carriers(app, board, fits, Pick::Lend)
        }
        Kind::Back => {
            let at_bench = |c: &CarrierFact| board.benches.iter().any(|b| b.carrier == c.id);
            carriers(app, board, at_bench, Pick::Back)
        }
        Kind::Reorder => {
            let fits = |c: &CarrierFact| c.place == Place::Queued && !marked(c, &[Mark::Held]);
            let items = carriers(app, board, fits, Pick::Move);
            if items.len() > 1 { items } else { Vec::new() }
        }
        Kind::Stop | Kind::Run | Kind::Slow => hoists(board, kind),
        Kind::Quarantine | Kind::Free | Kind::TankOut | Kind::TankBack => tanks(app, board, kind),
        Kind::Promise | Kind::Add | Kind::Cancel | Kind::Split => {
            orders(app, board, kind).into_iter().map(|(o, text)| item(text, order_pick(kind, o))).collect()
        }
        Kind::Dwell => {
            let ahead = |whose| !steps(app, board, whose).is_empty();
            let mut items =
                carriers(app, board, |c| ahead(Whose::Carrier(c.id)), |c| Pick::Dwell(Whose::Carrier(c)));
            let of_orders = orders(app, board, kind).into_iter().filter(|(o, _)| ahead(Whose::Order(*o)));
            items.extend(of_orders.map(|(o, text)| item(text, Pick::Dwell(Whose::Order(o)))));
            items
        }
        Kind::Entry if load_stations(app).count() < 2 => Vec::new(),
        Kind::Entry => {
            let mut items: Vec<Item> = orders(app, board, kind)
                .into_iter()
                .map(|(o, text)| item(text, Pick::Entry(Some(o))))
                .collect();
            if !items.is_empty() {
                items.insert(0, item("all orders", Pick::Entry(None)));
            }
            items
        }
    }
}

fn order_pick(kind: Kind, order: OrderId) -> Pick {
    match kind {
        Kind::Cancel => Pick::Do(plain(Change::CancelOrder { order })),
        Kind::Split => Pick::Split(order, Vec::new()),
        Kind::Add => Pick::Like(order),
        _ => Pick::Promise(order),
    }
}

fn carriers(
    app: &App,
    board: &Board,
    fits: impl Fn(&CarrierFact) -> bool,
    pick: impl Fn(CarrierId) -> Pick,
) -> Vec<Item> {
    let chosen = app.changes.selected.carrier;
    let mut facts: Vec<&CarrierFact> = board.carriers.iter().filter(|c| fits(c)).collect();
    let rank = |c: &CarrierFact| match c.place {
        Place::InTank { .. } | Place::OnHook { .. } => 0,
        Place::Queued => 1,
        Place::Finished { .. } | Place::OffLine => 2,
    };
    facts.sort_by_key(|c| (Some(c.id) != chosen, rank(c), c.id));
    facts
        .into_iter()
        .map(|c| {
            let order = &app.book.orders[app.book.carriers[c.id].order].name;
            let marks = c.marks.iter().flat_map(|m| ["  ", m.word()]).collect::<String>();
            item(format!("{}  {}  order {order}{marks}", c.name, c.whereabouts), pick(c.id))
        })
        .collect()
}

fn hoists(board: &Board, kind: Kind) -> Vec<Item> {
    let fits = |stopped: bool| match kind {
        Kind::Run => stopped,
        _ => true,
    };
    let hooks = board.hooks.iter().filter(|h| fits(h.stop.is_some()));
    hooks
        .map(|h| {
            let words = h.changed().unwrap_or_else(|| h.name.clone());
            let pick = match kind {
                Kind::Stop => Pick::Stop(h.hoist),
                Kind::Run => Pick::Do(plain(Change::RunHoist { hoist: h.hoist })),
                _ => Pick::Slow(h.hoist),
            };
            item(words, pick)
        })
        .collect()
}

fn tanks(app: &App, board: &Board, kind: Kind) -> Vec<Item> {
    let away = |r: &Readiness| matches!(r, Readiness::Out | Readiness::From(_) | Readiness::Heating(_));
    let fits = |bath: bool, r: &Readiness| match kind {
        Kind::Quarantine => bath && *r != Readiness::Quarantine,
        Kind::Free => *r == Readiness::Quarantine,
        Kind::TankBack => away(r),
        // One that is out may be given another time.
        _ => bath,
    };
    let mut rows: Vec<_> = board.tanks.iter().filter(|t| fits(t.station.is_none(), &t.readiness)).collect();
    rows.sort_by_key(|t| Some(t.tank) != app.changes.selected.tank);
    let mut items: Vec<Item> = rows
        .iter()
        .map(|t| {
            let who: Vec<&str> = t.held.iter().map(|h| h.name.as_str()).collect();
            let state = if who.is_empty() { t.readiness.word().to_owned() } else { who.join(" ") };
            let tank = t.tank;
            let pick = match kind {
                Kind::Quarantine => Pick::Do(plain(Change::Quarantine { tank })),
                Kind::Free => Pick::Do(plain(Change::Free { tank })),
                Kind::TankBack => Pick::Do(Command::TankBack { tank }),
                _ => Pick::Lasting(Wait::Tank(tank)),
            };
            item(format!("{} {}   {state}", t.name, t.label), pick)
        })
        .collect();
    let fits = |tank: TankId| rows.iter().any(|t| t.tank == tank);
    let after_the_chosen = usize::from(app.changes.selected.tank.is_some_and(fits));
    items.splice(after_the_chosen..after_the_chosen, rectifiers(app, kind, fits));
    items
}

/// The tanks of a rectifier go out and come back together.
fn rectifiers(app: &App, kind: Kind, fits: impl Fn(TankId) -> bool) -> Vec<Item> {
    let all = |rectifier| -> Vec<TankId> { fed_by(&app.line, rectifier).filter(|t| fits(*t)).collect() };
    let row = |(id, spec): (RectifierId, &Rectifier)| {
        let tanks = all(id);
        let pick = match kind {
            Kind::TankOut => Pick::Lasting(Wait::Rectifier(id)),
            Kind::TankBack => Pick::DoAll(tanks.iter().map(|&tank| Command::TankBack { tank }).collect()),
            _ => return None,
        };
        let names: Vec<&str> = tanks.iter().map(|t| app.line.tanks[*t].name.as_str()).collect();
        (tanks.len() > 1).then(|| item(format!("rectifier {}   {}", spec.name, names.join(" ")), pick))
    };
    app.line.rectifiers.iter().filter_map(row).collect()
}

/// Orders a change can be for, with what is said of them.
fn orders(app: &App, board: &Board, kind: Kind) -> Vec<(OrderId, String)> {
    let of = |order: OrderId| board.carriers.iter().filter(move |c| app.book.carriers[c.id].order == order);
    let chosen = app.changes.selected.carrier.map(|c| app.book.carriers[c].order);
    let mut ids: Vec<OrderId> = app
        .book
        .orders
        .ids()
        .filter(|o| {
            let waits = of(*o).any(|c| c.place == Place::Queued);
            let goes_on = of(*o).any(|c| !matches!(c.place, Place::Finished { .. } | Place::OffLine));
            match kind {
                Kind::Add => of(*o).next().is_some(),
                Kind::Cancel | Kind::Entry => waits,
                Kind::Split => of(*o).count() > 1 && goes_on,
                _ => goes_on,
            }
        })
        .collect();
    ids.sort_by_key(|o| (Some(*o) != chosen, *o));
    ids.into_iter()
        .map(|o| {
            let order = &app.book.orders[o];
            let waiting = of(o).filter(|c| c.place == Place::Queued).count();
            let rush = if order.priority == Priority::Rush { "  RUSH" } else { "" };
            let due = order.due.map_or_else(String::new, |t| format!("  due {}", board.clock_minutes_at(t)));
            let all = of(o).count();
            (o, format!("order {}  {}  {waiting} of {all} waiting{rush}{due}", order.name, order.label))
        })
        .collect()
}

fn promise(app: &App, order: OrderId) -> Step {
    let of = &app.book.orders[order];
    let choices = [
        (Priority::Rush, "rush: its lateness counts most"),
        (Priority::Normal, "normal"),
        (Priority::Low, "low: its lateness counts least"),
    ];
    let mut items: Vec<Item> = choices
        .into_iter()
        .filter(|(p, _)| *p != of.priority)
        .map(|(priority, words)| {
            item(words, Pick::Do(plain(Change::Promise { order, priority, due: of.due })))
        })
        .collect();
    items.push(item("promised for another time ...", Pick::Due(order, of.priority)));
    list(format!("Order {}", of.name), items)
}

/// The queue as planned, with one carrier somewhere else in it.
fn reorder(app: &App, board: &Board, carrier: CarrierId) -> Step {
    let free = |q: &&crate::view::QueueRow| !q.marks.contains(&Mark::Held);
    let queue: Vec<CarrierId> = board.queue.iter().filter(free).map(|q| q.id).collect();
    let others: Vec<CarrierId> = queue.iter().copied().filter(|c| *c != carrier).collect();
    let name = |c: CarrierId| app.book.carriers[c].name.as_str();
    let mut items = Vec::new();
    for at in 0..=others.len() {
        let mut carriers = others.clone();
        carriers.insert(at, carrier);
        if carriers == queue {
            continue;
        }
        let words = match (at, others.get(at)) {
            (0, Some(next)) => format!("first, before {}", name(*next)),
            (_, Some(next)) => format!("before {}", name(*next)),
            (_, None) => "last".to_owned(),
        };
        items.push(item(words, Pick::Do(plain(Change::Reorder { carriers }))));
    }
    list(format!("When does {} start?", name(carrier)), items)
}

/// Each row takes one more carrier along, or leaves it; the first one goes on.
fn split(app: &App, board: &Board, order: OrderId, leaving: &[CarrierId]) -> Step {
    let of: Vec<&CarrierFact> =
        board.carriers.iter().filter(|c| app.book.carriers[c.id].order == order).collect();
    let mut items = Vec::new();
    if !leaving.is_empty() && leaving.len() < of.len() {
        let names: Vec<&str> = leaving.iter().map(|c| app.book.carriers[*c].name.as_str()).collect();
        items.push(item(format!("go on with {}", names.join(", ")), Pick::SplitOff(order, leaving.to_vec())));
    }
    for c in of {
        let goes = leaving.contains(&c.id);
        let mut with: Vec<CarrierId> = leaving.iter().copied().filter(|l| *l != c.id).collect();
        if !goes {
            with.push(c.id);
        }
        let mark = if goes { "[x]" } else { "[ ]" };
        items.push(item(format!("{mark} {}  {}", c.name, c.whereabouts), Pick::Split(order, with)));
    }
    list(format!("Who leaves order {}?", app.book.orders[order].name), items)
}

/// Steps that are not over yet, with their windows.
fn steps(app: &App, board: &Board, whose: Whose) -> Vec<Item> {
    let concerned = |c: &&CarrierFact| match whose {
        Whose::Carrier(carrier) => c.id == carrier,
        Whose::Order(order) => app.book.carriers[c.id].order == order && !c.marks.contains(&Mark::Rework),
    };
    let Some((recipe, first)) = board
        .carriers
        .iter()
        .filter(concerned)
        .filter_map(|c| Some((c.recipe, ahead(c.place)?)))
        .min_by_key(|(_, n)| *n)
    else {
        return Vec::new();
    };
    (first..app.line.recipes[recipe].steps.len())
        .filter_map(|n| {
            let step = StepNo::at(n);
            let w = figures::window_of(app, whose, step)?;
            let what = visit_words(&app.line, recipe, Visit::Step(step));
            let window = format!("{} to {}, aim for {}", w.min, w.max, w.target);
            Some(item(format!("{}. {what}: {window}", n + 1), Pick::Window(whose, step)))
        })
        .collect()
}

/// The first step whose dwell can still be changed.
fn ahead(place: Place) -> Option<usize> {
    Some(match place {
        Place::Queued => 0,
        Place::InTank { visit, .. } => match visit {
            Visit::Load => 0,
            Visit::Step(n) => n.ix(),
            Visit::Hold(n) => n.ix() + 1,
            Visit::Stray { resume } => resume.ix(),
            Visit::Unload => return None,
        },
        Place::OnHook { leaves, .. } => match leaves {
            Visit::Load => 0,
            Visit::Step(n) | Visit::Hold(n) => n.ix() + 1,
            Visit::Stray { resume } => resume.ix(),
            Visit::Unload => return None,
        },
        Place::Finished { .. } | Place::OffLine => return None,
    })
}

fn entry(app: &App, order: Option<OrderId>) -> Step {
    let mut items =
        vec![item("any load station", Pick::Do(plain(Change::Entry { order, side: EntrySide::Any })))];
    items.extend(load_stations(app).map(|t| {
        let side = EntrySide::At(t);
        item(Spot::of(&app.line, t).words(), Pick::Do(plain(Change::Entry { order, side })))
    }));
    list("Where do they enter?", items)
}

/// Where a carrier can come back from the bench: into a tank of the step it goes on with, or to a load station.
fn back(app: &App, board: &Board, carrier: CarrierId) -> Step {
    let Some(row) = board.benches.iter().find(|b| b.carrier == carrier) else {
        return Step::Nothing("It is at no bench.");
    };
    let to = |tank| Pick::Do(plain(Change::Back { carrier, tank }));
    let mut items: Vec<Item> = row
        .tanks
        .iter()
        .map(|t| item(format!("by hand into {}", Spot::of(&app.line, *t).words()), to(Some(*t))))
        .collect();
    items.push(item("to a load station, for the crane", to(None)));
    list(format!("{} goes on with {}: where is it put?", row.name, row.next), items)
}

fn load_stations(app: &App) -> impl Iterator<Item = TankId> {
    let tanks = &app.line.tanks;
    tanks.ids().filter(|t| matches!(tanks[*t].role, Role::Station { load: true, .. }))
}

/// Why a load cannot be held; `None` if it can, or if nobody would look for it here.
fn no_hold(c: &CarrierFact) -> Option<&'static str> {
    match c.place {
        Place::OnHook { .. } | Place::InTank { hooked: Some(_), .. } => Some("on a hook"),
        _ => None,
    }
}

fn on_line(c: &CarrierFact) -> bool {
    matches!(c.place, Place::InTank { .. } | Place::OnHook { .. })
}

/// True for a load on the line that is not parked, nor on its way there.
fn may_be_parked(c: &CarrierFact) -> bool {
    on_line(c) && !c.marks.iter().any(|m| matches!(m, Mark::Parked | Mark::ToPark))
}

/// Why a load cannot be parked; `None` if it can, or if nobody would look for it here.
fn no_park(c: &CarrierFact) -> Option<&'static str> {
    (may_be_parked(c) && c.parks.is_empty()).then_some("no standby that is free and near enough")
}

/// Why a carrier cannot be sent to rework; `None` if it can.
fn no_rework(app: &App, c: &CarrierFact) -> Option<&'static str> {
    if c.marks.contains(&Mark::Cancelled) {
        Some("cancelled")
    } else if c.marks.contains(&Mark::Parked) {
        Some("parked, to be brought back first")
    } else {
        rework_recipes(app, c).next().is_none().then_some("no recipe strips it and starts its own again")
    }
}

/// How many carriers are not listed, which, and why; nothing if all are that anybody would look for.
fn not_listed(board: &Board, why_not: impl Fn(&CarrierFact) -> Option<&'static str>) -> String {
    let mut why: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for c in &board.carriers {
        if let Some(reason) = why_not(c) {
            why.entry(reason).or_default().push(&c.name);
        }
    }
    let count: usize = why.values().map(Vec::len).sum();
    let words: Vec<String> = why.into_iter().map(|(why, who)| format!("{}: {why}", some_of(&who))).collect();
    if count == 0 { String::new() } else { format!("{count} not listed. {}.", words.join("; ")) }
}

/// The first few names and how many more there are.
fn some_of(names: &[&str]) -> String {
    const FEW: usize = 4;
    let first = names[..names.len().min(FEW)].join(", ");
    match names.len().saturating_sub(FEW) {
        0 => first,
        more => format!("{first} and {more} more"),
    }
}

/// Recipes that strip a carrier and start its own again. Those that were made for one carrier, `strip for B07`, are
/// nobody else's.
pub fn rework_recipes(app: &App, carrier: &CarrierFact) -> impl Iterator<Item = RecipeId> {
    let (line, own) = (&app.line, carrier.sheet);
    let filed = move |r: &RecipeId| !line.recipes[*r].name.contains(" for ");
    line.recipes.ids().filter(filed).filter(move |r| line.restarts(*r, own))
}
