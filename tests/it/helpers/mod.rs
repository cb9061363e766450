//! Tiny lines, states and plans built in code.

use dwellhand::civil::Opening;
use dwellhand::ids::*;
use dwellhand::journal::{Header, StoredTexts};
use dwellhand::line::*;
use dwellhand::schedule::{Move, Schedule};
use dwellhand::shift::*;
use dwellhand::units::*;
use dwellhand::verify::{Breach, Rule, verify};

/// This test program, to be started again as a process of its own, also if it was built anew meanwhile.
pub fn this_program() -> std::path::PathBuf {
    let running = std::path::PathBuf::from(format!("/proc/{}/exe", std::process::id()));
    if running.exists() { running } else { std::env::current_exe().expect("a program that runs has a name") }
}

/// How often something is tried: as a variable of the environment says, or so often.
pub fn tries(variable: &str, otherwise: u64) -> u64 {
    std::env::var(variable).map_or(otherwise, |n| n.parse().expect("a count"))
}

/// The opening of a journal that was begun at six in the morning.
pub fn journal_header(practice: bool) -> Header {
    const SIX: &str = "2026-11-25T06:00:00+01:00";
    Header {
        texts: StoredTexts::default(),
        opening: Opening::parse(SIX).expect("a date"),
        zone: "+01:00".to_owned(),
        program: "dwellhand".to_owned(),
        practice,
        speed: 1.0,
        created: chrono::DateTime::parse_from_rfc3339(SIX).expect("a date"),
        forked_from: None,
    }
}

pub const H1: HoistId = HoistId(0);
pub const H2: HoistId = HoistId(1);
pub const A: CarrierId = CarrierId(0);
pub const B: CarrierId = CarrierId(1);

pub fn s(seconds: i64) -> Dur {
    Dur::from_secs(seconds)
}

pub fn t(seconds: i64) -> Time {
    Time::from_secs(seconds)
}

pub fn step_no(n: u16) -> Visit {
    Visit::Step(StepNo(n))
}

pub fn tank(name: &str, metres: f64, role: Role) -> Tank {
    Tank {
        limits: Vec::new(),
        name: name.to_owned(),
        label: String::new(),
        position: Mm((metres * 1000.0) as i64),
        role,
        capacity: 1,
        temperature_c: None,
        ready_after: Dur::ZERO,
        out_after: Time::FAR - Time::ZERO,
    }
}

pub fn station(name: &str, metres: f64, load: bool, unload: bool) -> Tank {
    tank(name, metres, Role::Station { load, unload })
}

pub fn bath(name: &str, metres: f64, stage: u16) -> Tank {
    tank(name, metres, Role::Bath(StageId(stage)))
}

pub fn stage(name: &str, kind: StageKind) -> Stage {
    Stage { name: name.to_owned(), label: name.to_owned(), kind, rectifier: None }
}

pub fn step(stage: u16, min: i64, max: i64) -> Step {
    Step {
        stage: StageId(stage),
        min: s(min),
        target: s(min),
        max: if max < 0 { Dur::UNLIMITED } else { s(max) },
        drip: Dur::ZERO,
        air_max: Dur::UNLIMITED,
        on_hook: false,
        over: Harm::Rework,
        under: Harm::Rework,
        air: Harm::Shade,
        hold: None,
        current: None,
    }
}

pub fn recipe(steps: Vec<Step>) -> Recipe {
    Recipe { strips_racks: false, name: "r".to_owned(), label: "r".to_owned(), steps, rework: false }
}

/// One order with carriers A, B, C ... that all run recipe 0 and are ready at once.
pub fn book(carriers: usize) -> OrderBook {
    let order = Order {
        toleranced: false,
        name: "O1".to_owned(),
        label: "O1".to_owned(),
        parts: 10,
        recipe: RecipeId(0),
        priority: Priority::Normal,
        due: None,
        ready: Time::ZERO,
        entry: EntrySide::Any,
    };
    let spec = |ix: usize| CarrierSpec {
        rack_name: None,
        height: None,
        name: char::from(b'A' + ix as u8).to_string(),
        order: OrderId(0),
        recipe: RecipeId(0),
        parts: 10,
        area_dm2: 100.0,
        rack: Rack::Aluminium,
        ready: Time::ZERO,
    };
    OrderBook {
        racks: Vec::new(),
        orders: Arena::new(vec![order]),
        carriers: (0..carriers).map(spec).collect(),
    }
}

/// A shift opened at 0 with these orders.
pub fn opened(line: &Line, book: OrderBook) -> History {
    let mut history = History::new(line);
    say(line, &mut history, t(0), &Command::Open { book }).expect("a new shift opens");
    history
}

/// A plan made at an instant.
pub fn plan_at(seconds: i64, moves: Vec<Move>) -> Schedule {
    Schedule::new(moves, t(seconds))
}

/// Says a command at an instant and records what it means.
pub fn say(line: &Line, history: &mut History, now: Time, command: &Command) -> Result<Vec<Event>, Refusal> {
    let decided = decide(line, history, command, now)?;
    let mut events = Vec::new();
    for (at, event) in decided {
        let seq = Seq(history.events().len() as u64 + 1);
        events.push(event.clone());
        history.push(line, Stamped { seq, at, entered: now, by: Who::Operator, event });
    }
    Ok(events)
}

/// Takes back what was said last.
pub fn undo(history: &History) -> Command {
    Command::Undo { seq: said_last(history) }
}

/// What was said last was so at another time.
pub fn retime(history: &History, at: Time) -> Command {
    Command::Retime { seq: said_last(history), at }
}

fn said_last(history: &History) -> Seq {
    history.last_physical().map_or(Seq(0), |last| last.seq)
}

pub fn lift(carrier: CarrierId, hoist: HoistId, from: TankId, at: Time) -> Command {
    Command::Lift { carrier, hoist, from, at }
}

pub fn lower(hoist: HoistId, to: TankId, at: Time) -> Command {
    Command::Lower { hoist, to, at }
}

/// A move with a hook and an unhook.
pub fn mv(carrier: CarrierId, hoist: HoistId, stops: (u16, u16), visits: (Visit, Visit), start: i64) -> Move {
    Move {
        carrier,
        hoist,
        from: TankId(stops.0),
        to: TankId(stops.1),
        leaves: visits.0,
        visit: visits.1,
        start: t(start),
        attach: true,
        release: true,
    }
}

/// The moves of a carrier that goes through tanks 1, 2, 3 ... of a line, one step each, from 0 to the last.
pub fn walk(carrier: CarrierId, stops: &[u16], starts: &[i64]) -> Vec<Move> {
    let last = starts.len() - 1;
    starts
        .iter()
        .enumerate()
        .map(|(k, start)| {
            let leaves = if k == 0 { Visit::Load } else { step_no(k as u16 - 1) };
            let visit = if k == last { Visit::Unload } else { step_no(k as u16) };
            mv(carrier, H1, (stops[k], stops[k + 1]), (leaves, visit), *start)
        })
        .collect()
}

/// The rules a schedule breaks, each once, in rule order.
pub fn broken(line: &Line, state: &State, schedule: &Schedule) -> Vec<Rule> {
    rules(&verify(line, state, schedule))
}

pub fn rules(breaches: &[Breach]) -> Vec<Rule> {
    let mut rules: Vec<Rule> = breaches.iter().map(|b| b.rule).collect();
    rules.sort();
    rules.dedup();
    rules
}

/// A hoist with measured times: a table over `n` tanks.
pub fn table_hoist(empty: Vec<Vec<Option<Dur>>>, loaded: Vec<Vec<Option<Dur>>>) -> Hoist {
    Hoist {
        name: "H1".to_owned(),
        reach_from: Mm(-1_000_000),
        reach_to: Mm(1_000_000),
        home: TankId(0),
        hook: Dur::ZERO,
        unhook: Dur::ZERO,
        settle: Dur::ZERO,
        lift: Lift::Fixed { raise: Dur::ZERO, lower: Dur::ZERO },
        travel: Travel::Table { empty, loaded },
    }
}

/// A row of tanks: a load station, one bath for each window, an unload station, and a table hoist with `empty` a step and
/// `loaded` for each move to the next.
pub fn row(windows: &[(i64, i64)], empty: i64, loaded: &[i64]) -> Line {
    let n = windows.len();
    let mut tanks = vec![station("L", 0.0, true, false)];
    tanks.extend((0..n).map(|k| bath(&format!("T{}", k + 1), k as f64 + 1.0, k as u16)));
    tanks.push(station("U", n as f64 + 1.0, false, true));
    let count = tanks.len();
    let apart = |i: usize, j: usize| Some(s(empty * i.abs_diff(j) as i64));
    let empties = (0..count).map(|i| (0..count).map(|j| apart(i, j)).collect()).collect();
    let next = |i: usize, j: usize| (j == i + 1).then(|| s(loaded[i]));
    let loads = (0..count).map(|i| (0..count).map(|j| next(i, j)).collect()).collect();
    Line {
        rework: dwellhand::line::Rework::default(),
        rinsing: dwellhand::line::Rinsing::default(),
        name: "row".to_owned(),
        rail: Rail { from: Mm(-1_000_000), to: Mm(1_000_000), gap: Mm(1) },
        tanks: Arena::new(tanks),
        stages: (0..n).map(|k| stage(&format!("s{}", k + 1), StageKind::Rinse)).collect(),
        hoists: Arena::new(vec![table_hoist(empties, loads)]),
        rectifiers: Arena::default(),
        power_cap: None,
        recipes: Arena::new(vec![recipe(
            windows.iter().enumerate().map(|(k, w)| step(k as u16, w.0, w.1)).collect(),
        )]),
    }
}

/// A kinematic hoist: 2.0 m stroke at 0.15 m/s, travel 0.75 m/s at 0.30 m/s2, hook 6 s, unhook 4 s, settle 3 s.
pub fn kinematic_hoist(name: &str) -> Hoist {
    Hoist {
        name: name.to_owned(),
        reach_from: Mm(-1000),
        reach_to: Mm(40_000),
        home: TankId(0),
        hook: s(6),
        unhook: s(4),
        settle: s(3),
        lift: Lift::Kinematic { height: Mm(2000), speed: 0.15, accel: 0.15 },
        travel: Travel::Kinematic { speed: 0.75, accel: 0.30, decel: 0.30 },
    }
}

/// A hoist with round times: hook 2, raise 5, lower 5, unhook 2, settle 1, and travel with no time lost to ramps worth
/// mentioning (1 m/s).
pub fn plain_hoist(name: &str, home: u16) -> Hoist {
    Hoist {
        name: name.to_owned(),
        reach_from: Mm(-1000),
        reach_to: Mm(40_000),
        home: TankId(home),
        hook: s(2),
        unhook: s(2),
        settle: s(1),
        lift: Lift::Fixed { raise: s(5), lower: s(5) },
        travel: Travel::Kinematic { speed: 1.0, accel: 1e6, decel: 1e6 },
    }
}

pub const LOAD: TankId = TankId(0);
pub const ETCH: TankId = TankId(1);
pub const RINSE: TankId = TankId(2);
pub const ANODISE: TankId = TankId(3);
pub const ANODISE_2: TankId = TankId(4);
pub const STANDBY: TankId = TankId(5);
pub const UNLOAD: TankId = TankId(6);

/// A small anodising line: load, etch, rinse, two anodise tanks, standby water, unload, 2 m apart.
///
/// Etch 60 to 90 s, drip 10, air at most 30 (scrap); rinse 20 to 60, standby allowed for 120 afterwards; anodise
/// 300 to 400 with 150 A at 16 V (100 dm2 at 1.5 A/dm2), ramp 60.
pub fn plant() -> Line {
    let etch = Step { drip: s(10), air_max: s(30), air: Harm::Scrap, over: Harm::Scrap, ..step(0, 60, 90) };
    let rinse = Step {
        over: Harm::Nuisance,
        under: Harm::Nuisance,
        hold: Some(Hold { stage: StageId(3), max: s(120), over: Harm::Rework }),
        ..step(1, 20, 60)
    };
    let anodise = Step {
        over: Harm::Shade,
        current: Some(Current { density: 1.5, volts: 16.0, ramp: s(60) }),
        ..step(2, 300, 400)
    };
    let mut stages = vec![
        stage("etch", StageKind::Etch),
        stage("rinse", StageKind::Rinse),
        stage("anodise", StageKind::Anodise),
        stage("hold", StageKind::Standby),
    ];
    stages[2].rectifier = Some(RectifierId(0));
    let tanks = vec![
        station("L", 0.0, true, false),
        bath("T1", 2.0, 0),
        Tank { label: "Rinse 1".to_owned(), ..bath("T2", 4.0, 1) },
        bath("T3", 6.0, 2),
        bath("T4", 8.0, 2),
        bath("W", 10.0, 3),
        station("U", 12.0, false, true),
    ];
    Line {
        rework: dwellhand::line::Rework::default(),
        rinsing: dwellhand::line::Rinsing::default(),
        name: "plant".to_owned(),
        rail: Rail { from: Mm(-1000), to: Mm(13_000), gap: Mm(1500) },
        tanks: Arena::new(tanks),
        stages: Arena::new(stages),
        hoists: Arena::new(vec![plain_hoist("H1", 0)]),
        rectifiers: Arena::new(vec![Rectifier {
            name: "R1".to_owned(),
            max_amps: 500.0,
            max_power: Some(Watts(8000)),
        }]),
        power_cap: Some(Watts(5000)),
        recipes: Arena::new(vec![recipe(vec![etch, rinse, anodise])]),
    }
}

/// A good plan for carrier A on [`plant`], by hand: load 0 (down at 15, free 17), etch until 77 (dwell 62), rinse from 100
/// to 132 (dwell 32), anodise from 145 to 452 (dwell 307), unload.
///
/// A move: hook 2, raise 5, drip (10 after the etch), travel 2 s a tank, settle 1, lower 5, unhook 2.
pub fn good_plan() -> Vec<Move> {
    walk(A, &[0, 1, 2, 3, 6], &[0, 75, 130, 450])
}

/// The same for carrier B in the other anodise tank, 160 s later: anodise from 307 to 612.
pub fn good_second() -> Vec<Move> {
    walk(B, &[0, 1, 2, 4, 6], &[160, 235, 290, 610])
}
