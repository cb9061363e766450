//! Like dwell within one order: what it gains, that it costs nothing else, and that calls stay where they are.

use super::families::{Family, instance};
use super::lines::{Shape, does, opened, varied};
use dwellhand::ids::CarrierId;
use dwellhand::line::{Line, OrderBook, Priority, StageKind, Visit};
use dwellhand::plan::{Budget, Objective, Reserve, Settings, calls, follow, improve, plan, remaining};
use dwellhand::schedule::{Move, Schedule};
use dwellhand::shift::{Command, State};
use dwellhand::sim::{Crew, Pace};
use dwellhand::units::{Dur, Time};
use dwellhand::verify::{happened, verify};

/// The same line with nothing to be made alike: no stage is said to make colour.
fn colourless(line: &Line) -> Line {
    let mut line = line.clone();
    let stages = line.stages.ids().collect::<Vec<_>>();
    for s in stages {
        if matches!(line.stages[s].kind, StageKind::Anodise | StageKind::Dye) {
            line.stages[s].kind = StageKind::Clean;
        }
    }
    line
}

/// Room in the colour windows, as sheets have it, and a target inside.
fn roomy(line: &mut Line) {
    for r in line.recipes.ids().collect::<Vec<_>>() {
        for step in &mut line.recipes[r].steps {
            if matches!(line.stages[step.stage].kind, StageKind::Anodise | StageKind::Dye) {
                step.max = step.min + Dur::from_mins(8);
                step.target = step.min + Dur::from_mins(1);
            }
        }
    }
}

fn worth(line: &Line, state: &State, schedule: &Schedule) -> Objective {
    Objective::of(line, state, schedule, &[])
}

/// Everything that counts for more than colour.
fn first_parts(o: &Objective) -> (usize, [Dur; 4], usize, Dur, Time, Dur) {
    (o.scrap, o.excess, o.left, o.weighted_late, o.finish, o.idle)
}

fn same(a: &Move, b: &Move) -> bool {
    Move { start: b.start, ..*a } == *b
}

/// A plan as it was before dwells were made alike, and after.
fn before_and_after(line: &Line, state: &State, settings: &Settings, tries: u64) -> (Schedule, Schedule) {
    let made = |line: &Line| {
        let first = plan(line, state, Time::ZERO, settings);
        let mut budget = Budget { tries, stop: &mut || false };
        improve(line, state, &first, settings, 0, &mut budget).unwrap_or(first)
    };
    (made(&colourless(line)), made(line))
}

fn promise(book: &mut OrderBook, finish: Time) {
    for (n, o) in book.orders.ids().collect::<Vec<_>>().into_iter().enumerate() {
        book.orders[o].priority = [Priority::Rush, Priority::Normal, Priority::Low][n % 3];
        // Some can be kept and some cannot.
        book.orders[o].due = Some(Time(finish.0 * (2 + n as i64) / 4));
    }
}

/// On drawn families, with promises and without, with one hoist and with two, searched and not: nothing that counts for
/// more gets worse, the calls and their order are the same, and dwells are more alike in all.
#[test]
fn dwells_of_an_order_come_closer_and_nothing_else_gets_worse() {
    let (mut had, mut has) = (Dur::ZERO, Dur::ZERO);
    for seed in 300..320 {
        let family = Family::drawn(seed, 1 + usize::from(seed % 5 == 4));
        let (mut line, mut book) = instance(&family.to_string());
        roomy(&mut line);
        let reserve = if seed % 4 == 3 { Reserve::NONE } else { Reserve::all(Dur::from_secs(10)) };
        let settings = Settings { reserve, seed, effort: 2, ..Settings::default() };
        if seed % 3 == 0 {
            let free = plan(&line, opened(&line, book.clone()).state(), Time::ZERO, &settings);
            let finish = worth(&line, opened(&line, book.clone()).state(), &free).finish;
            promise(&mut book, finish);
        }
        let history = opened(&line, book);
        let state = history.state();
        let tries = if seed % 2 == 0 { 5000 } else { 0 };
        let (before, after) = before_and_after(&line, state, &settings, tries);
        assert_eq!(verify(&line, state, &after), [], "{family}");
        // Who of two hoists that are not in each other's way sets out first is open.
        for hoist in line.hoists.ids() {
            let of = |s: &Schedule| -> Vec<Move> {
                s.moves.iter().filter(|m| m.hoist == hoist).copied().collect()
            };
            let (old, new) = (of(&before), of(&after));
            assert!(old.iter().zip(&new).all(|(a, b)| same(a, b)), "{family}: another order");
        }
        let (old, new) = (worth(&line, state, &before), worth(&line, state, &after));
        assert_eq!(first_parts(&old), first_parts(&new), "{family}");
        assert!(new.spread <= old.spread, "{family}: {} after {}", new.spread, old.spread);
        println!(
            "{family}: spread {} -> {}, off target {} -> {}",
            old.spread, new.spread, old.off_target, new.off_target
        );
        had += old.spread;
        has += new.spread;
    }
    println!("in all {had} -> {has}");
    assert!(has * 8 <= had * 7, "{has} of {had}: less than an eighth gained");
}

/// A lift waits for colour only while the margin before the end of the window is whole: two minutes where too long means
/// scrap.
#[test]
fn no_lift_waits_into_the_margin() {
    let mut waited = 0;
    for seed in 300..320 {
        let (mut line, book) = instance(&Family::drawn(seed, 1).to_string());
        roomy(&mut line);
        let history = opened(&line, book);
        let settings = Settings { effort: 2, ..Settings::default() };
        let (before, after) = before_and_after(&line, history.state(), &settings, 0);
        let book = &history.state().book;
        let dwells = |s: &Schedule, c: CarrierId| -> Vec<(Visit, Dur)> {
            let own: Vec<Move> = s.of(c).copied().collect();
            let dwell = |p: &[Move]| {
                let down = p[0].start + p[0].phases(&line, book).unwrap().to_down();
                (p[1].leaves, p[1].start + p[1].phases(&line, book).unwrap().to_lift() - down)
            };
            own.windows(2).map(dwell).collect()
        };
        for (c, spec) in book.carriers.iter() {
            for ((_, was), (visit, is)) in dwells(&before, c).into_iter().zip(dwells(&after, c)) {
                let (min, max) = line.window(spec.recipe, visit);
                if is > was && !max.is_unlimited() {
                    waited += 1;
                    let kept = Dur::from_secs(120).min(Dur((max - min).0 / 2));
                    assert!(is <= max - kept, "seed {seed}: {is} of {max}");
                }
            }
        }
    }
    assert!(waited > 20, "only {waited} stays are longer: this says little");
}

/// What became of a shift.
#[derive(Debug, Default)]
struct Run {
    /// Plans that kept the order of the plan before.
    kept: usize,
    /// Those in which a start to come shifted by more than 20 s.
    shifted: usize,
    /// Spread inside shade lots in the end.
    spread: Dur,
    /// Windows broken in the end.
    broken: usize,
}

impl std::ops::AddAssign for Run {
    fn add_assign(&mut self, run: Self) {
        self.kept += run.kept;
        self.shifted += run.shifted;
        self.spread += run.spread;
        self.broken += run.broken;
    }
}

/// Runs a crew after the calls of plans for one line, made anew after every event; judged by another line.
fn run((line, judge): (&Line, &Line), book: OrderBook, pace: Pace, seed: u64) -> Run {
    let mut history = opened(line, book);
    let mut crew = Crew::new(pace, seed);
    let settings = Settings { effort: 2, ..Settings::default() };
    let (mut now, mut run) = (Time::ZERO, Run::default());
    let mut last: Option<Schedule> = None;
    loop {
        let state = history.state();
        let schedule = plan(line, state, now, &settings);
        if let Some(last) = &last {
            let left = remaining(state, last).moves;
            if left.len() == schedule.moves.len() && left.iter().zip(&schedule.moves).all(|(a, b)| same(a, b))
            {
                run.kept += 1;
                let far = |(a, b): (&Move, &Move)| (b.start - a.start).0.abs() > 20_000;
                run.shifted += usize::from(left.iter().zip(&schedule.moves).any(far));
            }
        }
        let calls = calls(line, state, &schedule, now, 4);
        last = Some(schedule.clone());
        does(line, &mut history, &Command::AdoptPlan { schedule }, now);
        let Some((press, command)) = crew.next(line, history.state(), &calls, now) else { break };
        now = now.max(press);
        does(line, &mut history, &command, now);
    }
    run.spread = worth(judge, history.state(), &Schedule::default()).spread;
    run.broken = happened(judge, history.state()).len();
    run
}

/// People on the line: dwells really come out more alike, hardly more plans shift than where there is no colour to be made
/// alike, and no more windows break.
#[test]
fn dwells_come_out_alike_and_calls_do_not_wander() {
    let [mut even, mut plain] = [Run::default(), Run::default()];
    for seed in 300..308 {
        let (mut line, book) = instance(&Family::drawn(seed, 1).to_string());
        roomy(&mut line);
        let without = colourless(&line);
        even += run((&line, &line), book.clone(), Pace::HUMAN, seed);
        plain += run((&without, &line), book, Pace::HUMAN, seed);
    }
    println!("alike: {even:?}, not: {plain:?}");
    assert!(even.spread * 10 <= plain.spread * 9);
    assert!(even.shifted * 100 <= plain.shifted * 100 + even.kept * 2);
    assert!(even.broken <= plain.broken);
}

/// A plan that is followed keeps what was made alike.
#[test]
fn a_plan_that_is_followed_stays_as_it_is() {
    let (mut line, book) = varied(5, Shape { steps: 12, carriers: 8, rinse: 4, hoists: 1 });
    roomy(&mut line);
    let history = opened(&line, book);
    let state = history.state();
    let settings = Settings::default();
    let first = plan(&line, state, Time::ZERO, &settings);
    assert_eq!(follow(&line, state, &first, Time::ZERO, &settings), Some(first));
}
