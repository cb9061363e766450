//! Ways out of trouble: each kind where it is the best, none that scraps before one that does not, and a way back.

use crate::changes::with_strip;
use crate::lines::{Shape, does, opened};
use dwellhand::ids::*;
use dwellhand::line::*;
use dwellhand::plan::{Settings, calls, plan};
use dwellhand::rng::Rng;
use dwellhand::shift::*;
use dwellhand::sim::{Crew, Pace};
use dwellhand::units::{Dur, Time};
use dwellhand::verify::{is_possible, verify};
use dwellhand::view::way_rows;
use dwellhand::whatif::{Trouble, WayOut, What, trouble, ways_out};

const H1: HoistId = HoistId(0);
const TRIES: u64 = 2000;

fn settings() -> Settings {
    Settings { effort: 4, ..Settings::default() }
}

fn change(change: Change) -> Command {
    Command::Change { change, why: "test".to_owned() }
}

/// Lets a punctual crew follow plans made after each move, until an instant.
fn follow(line: &Line, history: &mut History, from: Time, until: Time) {
    let mut crew = Crew::new(Pace::PUNCTUAL, 1);
    let mut now = from;
    while now < until {
        let schedule = plan(line, history.state(), now, &settings());
        let shown = calls(line, history.state(), &schedule, now, 4);
        does(line, history, &Command::AdoptPlan { schedule }, now);
        let changed = history.state().line(line).clone();
        let next = crew.next(&changed, history.state(), &shown, now);
        let Some((at, command)) = next.filter(|(at, _)| *at <= until) else { break };
        now = now.max(at);
        does(line, history, &command, now);
    }
}

/// A busy line at an instant, upset by something.
fn upset(seed: u64) -> (Line, History, Time) {
    let mut rng = Rng::stream(seed, "ways out");
    let shape = Shape {
        steps: 6 + rng.below(5),
        carriers: 5 + rng.below(4),
        rinse: 2 + rng.below(3) as i64,
        hoists: 1,
    };
    let (mut line, book) = with_strip(seed, shape);
    for step in line.recipes[RecipeId(0)].steps.iter_mut().step_by(2) {
        step.over = Harm::Rework;
    }
    let mut history = opened(&line, book);
    let now = Time::from_secs(1200 + rng.below(3600) as i64);
    if rng.chance(0.3) {
        narrow(&line, &mut history);
    }
    follow(&line, &mut history, Time::ZERO, now);
    let minutes = Dur::from_mins(1 + rng.below(12) as i64);
    let long: Vec<TankId> =
        line.tanks_of(line.step(RecipeId(0), StepNo::at(shape.steps / 2)).stage).collect();
    let any = line.tanks.ids().filter(|t| matches!(line.tanks[*t].role, Role::Bath(_))).collect::<Vec<_>>();
    let command = match rng.below(4) {
        0 | 1 => change(Change::StopHoist {
            hoist: H1,
            cause: StopCause::Fault,
            until: rng.chance(0.7).then_some(now + minutes),
        }),
        2 => Command::TankOut {
            tank: long[rng.below(long.len())],
            until: Some(now + minutes * 4),
            why: String::new(),
        },
        _ => Command::TankOut {
            tank: any[rng.below(any.len())],
            until: Some(now + minutes),
            why: String::new(),
        },
    };
    does(&line, &mut history, &command, now);
    let schedule = plan(&line, history.state(), now, &settings());
    does(&line, &mut history, &Command::AdoptPlan { schedule }, now);
    (line, history, now)
}

/// The long step gets the upper half of its window.
fn narrow(line: &Line, history: &mut History) {
    let step = StepNo::at(line.recipes[RecipeId(0)].steps.len() / 2);
    let s = line.step(RecipeId(0), step);
    let half = Dur((s.max - s.min).0 / 2);
    let window = Window { min: s.min + half, target: s.min + half, max: s.max };
    does(line, history, &change(Change::Dwell { whose: Whose::Order(OrderId(0)), step, window }), Time::ZERO);
}

fn kind(what: &What) -> &'static str {
    match what {
        What::Nothing => "nothing",
        What::Gate { .. } => "gate",
        What::Park { .. } => "park",
        What::GoOn { .. } => "go on",
        What::First { .. } => "first",
        What::Rush { .. } => "rush",
        What::Dwell { .. } => "dwell",
        What::Rework { .. } => "rework",
        What::TakeOff { .. } => "take off",
        What::Both(..) => "both",
    }
}

fn ways(line: &Line, history: &History, now: Time) -> Vec<WayOut> {
    ways_out(line, history, now, &settings(), TRIES, &mut || false)
}

/// Two orders, the second of them promised so that it is late if it comes second.
fn promised(book: &mut OrderBook, priority: Priority, minutes: i64) {
    let due = Some(Time::ZERO + Dur::from_mins(minutes));
    let first = book.orders[OrderId(0)].clone();
    let second = book.orders.push(Order { name: "O2".to_owned(), priority, due, ..first });
    let carriers: Vec<CarrierId> = book.carriers.ids().collect();
    for carrier in carriers.into_iter().skip(book.carriers.len() / 2) {
        book.carriers[carrier].order = second;
    }
}

/// A line that runs by its calls, with a promise that is not going to be kept.
fn late(seed: u64) -> (Line, History, Time) {
    let mut rng = Rng::stream(seed, "late");
    let (line, mut book) = with_strip(seed, Shape { steps: 6, carriers: 6, rinse: 4, hoists: 1 });
    let priority = if seed.is_multiple_of(2) { Priority::Rush } else { Priority::Normal };
    promised(&mut book, priority, 40 + rng.below(40) as i64);
    let mut history = opened(&line, book);
    let carriers = vec![CarrierId(0), CarrierId(1), CarrierId(2), CarrierId(3)];
    if seed.is_multiple_of(2) {
        does(&line, &mut history, &change(Change::Reorder { carriers }), Time::ZERO);
    }
    let now = Time::from_secs(120);
    follow(&line, &mut history, Time::ZERO, now);
    if !seed.is_multiple_of(2) {
        let tank = line.tanks_of(line.step(RecipeId(0), StepNo(3)).stage).next().unwrap();
        does(
            &line,
            &mut history,
            &Command::TankOut { tank, until: Some(now + Dur::from_mins(5)), why: String::new() },
            now,
        );
    }
    let schedule = plan(&line, history.state(), now, &settings());
    does(&line, &mut history, &Command::AdoptPlan { schedule }, now);
    (line, history, now)
}

/// The tanks of the long step are shut until somebody says otherwise while a load is in the step before, after which it may wait in standby.
fn lost_for_good(seed: u64) -> Option<(Line, History, Time)> {
    let (line, book) = with_strip(seed, Shape { steps: 8, carriers: 4, rinse: 4, hoists: 1 });
    let mut history = opened(&line, book);
    let before = Visit::Step(StepNo(3));
    let mut now = Time::ZERO;
    let stands = |history: &History| {
        let places = history.state().carriers.iter().map(|(_, c)| c.place);
        let mut before = places.filter(|p| matches!(p, Place::InTank { visit, .. } if *visit == before));
        before.next().is_some() && history.state().hoists[H1].carrier.is_none()
    };
    while !stands(&history) {
        follow(&line, &mut history, now, now + Dur::from_secs(5));
        now += Dur::from_secs(5);
        if now > Time::from_secs(7200) {
            return None;
        }
    }
    for tank in line.tanks_of(line.step(RecipeId(0), StepNo(4)).stage).collect::<Vec<_>>() {
        let shut = Command::Change { change: Change::Quarantine { tank }, why: String::new() };
        does(&line, &mut history, &shut, now);
    }
    let schedule = plan(&line, history.state(), now, &settings());
    does(&line, &mut history, &Command::AdoptPlan { schedule }, now);
    Some((line, history, now))
}

fn best((line, history, now): (Line, History, Time)) -> &'static str {
    kind(&ways(&line, &history, now)[0].what)
}

#[test]
#[ignore = "prints what is best where, to choose cases by"]
fn which_is_best_where() {
    let told = |name: &str, seed: u64, case: (Line, History, Time)| {
        if trouble(&case.0, &case.1, case.2).is_some() {
            println!("{name} {seed} {}", best(case));
        }
    };
    (0..1200).for_each(|seed| told("late", seed, late(seed)));
    (0..200).for_each(|seed| told("upset", seed, upset(seed)));
}

#[test]
fn each_kind_is_the_best_where_it_should_be() {
    assert_eq!(best(lost_for_good(0).unwrap()), "park", "nowhere to go on to, and standby is allowed");
    assert_eq!(best(late(2)), "first", "a rush order behind another one");
    assert_eq!(best(late(1111)), "rush", "an order that will be late behind others");
    assert_eq!(best(late(301)), "nothing", "no promise is in danger");
    assert_eq!(best(late(10)), "gate", "a queue that keeps others from their promise");
    for (kind, seed) in [("dwell", 73), ("rework", 34), ("take off", 4)] {
        assert_eq!(best(upset(seed)), kind, "seed {seed}");
    }
}

/// The random upsets the promises are held against.
fn upsets() -> impl Iterator<Item = (u64, Line, History, Time)> {
    (0..60).map(|seed| {
        let (line, history, now) = upset(seed);
        (seed, line, history, now)
    })
}

#[test]
fn no_way_that_scraps_comes_before_one_that_does_not() {
    let (mut told, mut scrap) = (0, 0);
    for (seed, line, history, now) in upsets() {
        let ways = ways(&line, &history, now);
        assert_eq!(ways.is_empty(), trouble(&line, &history, now).is_none(), "seed {seed}");
        if ways.is_empty() {
            continue;
        }
        told += ways.len();
        assert_eq!(ways.iter().filter(|w| w.what == What::Nothing).count(), 1, "seed {seed}");
        let scraps = |w: &WayOut| w.prospect.breaches.iter().any(|b| b.harm == Some(Harm::Scrap));
        scrap += usize::from(scraps(ways.last().unwrap()));
        assert!(ways.is_sorted_by_key(scraps), "seed {seed}: {ways:#?}");
        for way in &ways {
            let p = &way.prospect;
            assert_eq!(verify(&line, &p.state, &p.schedule), p.breaches, "seed {seed}");
            assert!(is_possible(&p.breaches), "seed {seed}: {way:#?}");
            assert_eq!(way.commands, way.what.commands());
        }
        for pair in ways.windows(2).filter(|p| p[0].prospect.worth == p[1].prospect.worth) {
            assert!(pair[0].commands.len() <= pair[1].commands.len(), "seed {seed}: {pair:#?}");
        }
    }
    assert!(told > 100 && scrap > 3, "{told} ways, {scrap} with scrap");
}

#[test]
fn a_load_whose_window_closes_because_somebody_holds_it_is_let_go() {
    let (line, book) = with_strip(1, Shape { steps: 8, carriers: 3, rinse: 4, hoists: 1 });
    let mut history = opened(&line, book);
    let mut now = Time::ZERO;
    let (carrier, ends) = loop {
        follow(&line, &mut history, now, now + Dur::from_secs(5));
        now += Dur::from_secs(5);
        let state = history.state();
        let soaks = state.carriers.iter().find_map(|(id, c)| match c.place {
            Place::InTank { visit: visit @ Visit::Step(_), since, .. } => {
                Some((id, since + line.window(state.book.carriers[id].recipe, visit).1))
            }
            _ => None,
        });
        let on_hook = state.hoists[H1].carrier.is_some();
        if let Some(soaks) = soaks.filter(|(_, ends)| !on_hook && *ends < now + Dur::from_mins(30)) {
            break soaks;
        }
    };
    does(&line, &mut history, &change(Change::Hold { carrier }), now);
    let schedule = plan(&line, history.state(), now, &settings());
    does(&line, &mut history, &Command::AdoptPlan { schedule }, now);
    let ways = ways(&line, &history, now);
    let words = |w: &WayOut| w.what.words(&line, &history.state().book);
    let all: Vec<String> = ways.iter().map(words).collect();
    assert_eq!(ways[0].what, What::GoOn { carrier, parked: false }, "{ends}: {all:?}");
    // Nobody lifts it: that is no overrun of nothing.
    let nothing = ways.iter().position(|w| w.what == What::Nothing).unwrap();
    assert!(ways[nothing].prospect.worth.harm() > ways[0].prospect.worth.harm(), "{:#?}", ways[nothing]);
    let rows = way_rows(&line, history.state(), &ways);
    assert!(rows[nothing].line().contains(" without end;"), "{}", rows[nothing].line());
    assert!(rows[0].line().contains(": keeps every window;"), "{}", rows[0].line());
}

#[test]
fn the_same_trouble_has_the_same_ways_and_one_that_is_stopped_tells_what_it_has() {
    for (seed, line, history, now) in upsets().take(12) {
        let all = ways(&line, &history, now);
        assert_eq!(all, ways(&line, &history, now), "seed {seed}");
        let stopped = ways_out(&line, &history, now, &settings(), TRIES, &mut || true);
        let kinds: Vec<_> = stopped.iter().map(|w| kind(&w.what)).collect();
        assert_eq!(kinds, vec!["nothing"; all.len().min(1)], "seed {seed}");
    }
}

#[test]
fn what_is_taken_back_ten_minutes_later_leaves_a_plan_that_is_possible() {
    let (mut chosen, mut back) = (0, 0);
    for (seed, line, mut history, now) in upsets() {
        let best = ways(&line, &history, now).into_iter().find(|w| w.what != What::Nothing);
        let Some(best) = best else { continue };
        let known = history.events().len();
        for command in &best.commands {
            does(&line, &mut history, command, now);
        }
        chosen += 1;
        let said: Vec<Seq> = history.events()[known..].iter().map(|s| s.seq).collect();
        let later = now + Dur::from_mins(10);
        follow(&line, &mut history, now, later);
        for seq in said.into_iter().rev() {
            let Ok(events) = decide(&line, &history, &Command::TakeBack { seq }, later) else { continue };
            for (at, event) in events {
                let seq = Seq(history.state().seq.0 + 1);
                history.push(&line, Stamped { seq, at, entered: later, by: Who::Supervisor, event });
            }
            back += 1;
        }
        let schedule = plan(&line, history.state(), later, &settings());
        let breaches = verify(&line, history.state(), &schedule);
        assert!(is_possible(&breaches), "seed {seed}: {breaches:#?}");
    }
    assert!(chosen > 20 && back > 5, "{chosen} chosen, {back} taken back");
}

#[test]
fn trouble_is_the_stopped_hoist_before_the_lost_tank() {
    let (line, book) = with_strip(3, Shape { steps: 6, carriers: 3, rinse: 4, hoists: 1 });
    let mut history = opened(&line, book);
    let now = Time::from_secs(60);
    follow(&line, &mut history, Time::ZERO, now);
    assert_eq!(trouble(&line, &history, now), None);
    assert!(ways(&line, &history, now).is_empty());
    let tank = line.tanks_of(line.step(RecipeId(0), StepNo(3)).stage).next().unwrap();
    let back = now + Dur::from_mins(5);
    does(&line, &mut history, &Command::TankOut { tank, until: Some(back), why: String::new() }, now);
    assert_eq!(trouble(&line, &history, now), Some(Trouble::TankLost { tank, until: Some(back) }));
    assert_eq!(trouble(&line, &history, back), None, "it is back");
    let stop = Change::StopHoist { hoist: H1, cause: StopCause::Fault, until: None };
    does(&line, &mut history, &change(stop), now);
    assert_eq!(trouble(&line, &history, now), Some(Trouble::StoppedHoist { hoist: H1, until: None }));
}
