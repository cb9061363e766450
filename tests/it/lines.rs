//! Lines made in code for tests: the tiny published-style cases and a generator of varied ones.

use dwellhand::ids::{Arena, HoistId, Id as _, OrderId, RecipeId, StageId, TankId};
use dwellhand::line::{
    CarrierSpec, EntrySide, Harm, Hoist, Hold, Lift, Line, Order, OrderBook, Priority, Rack, Rail, Recipe,
    Role, Stage, StageKind, Step, Tank, Travel,
};
use dwellhand::rng::Rng;
use dwellhand::shift::{Command, History, Stamped, Who, decide};
use dwellhand::units::{Dur, Mm, Time};

pub fn tank(name: &str, position: i64, role: Role) -> Tank {
    Tank {
        limits: Vec::new(),
        name: name.to_owned(),
        label: String::new(),
        position: Mm(position),
        role,
        capacity: 1,
        temperature_c: None,
        ready_after: Dur::ZERO,
        out_after: Dur::UNLIMITED,
    }
}

pub fn stage(name: &str, kind: StageKind) -> Stage {
    Stage { name: name.to_owned(), label: name.to_owned(), kind, rectifier: None }
}

pub fn step(stage: usize, min: i64, max: i64) -> Step {
    Step {
        stage: StageId::at(stage),
        min: Dur::from_secs(min),
        target: Dur::from_secs(min),
        max: Dur::from_secs(max),
        drip: Dur::ZERO,
        air_max: Dur::UNLIMITED,
        on_hook: false,
        over: Harm::Scrap,
        under: Harm::Rework,
        air: Harm::Rework,
        hold: None,
        current: None,
    }
}

pub fn book(carriers: &[(&str, Time)]) -> OrderBook {
    let order = Order {
        toleranced: false,
        name: "O1".to_owned(),
        label: String::new(),
        parts: 10,
        recipe: RecipeId::at(0),
        priority: Priority::Normal,
        due: None,
        ready: Time::ZERO,
        entry: EntrySide::Any,
    };
    let spec = |(name, ready): &(&str, Time)| CarrierSpec {
        rack_name: None,
        height: None,
        name: (*name).to_owned(),
        order: OrderId::at(0),
        recipe: RecipeId::at(0),
        parts: 10,
        area_dm2: 100.0,
        rack: Rack::Titanium,
        ready: *ready,
    };
    OrderBook {
        racks: Vec::new(),
        orders: Arena::new(vec![order]),
        carriers: carriers.iter().map(spec).collect(),
    }
}

/// L, T1, T2, U in a row; empty travel 1 s a tank, loaded move to the next 5 s (derived by hand, invented; the
/// `two_carriers` case of tests/data/published/small-cases.json).
pub fn two_carriers() -> Line {
    let far = |a: usize, b: usize| (a as i64 - b as i64).abs();
    let table = |f: &dyn Fn(usize, usize) -> Option<Dur>| {
        (0..4).map(|a| (0..4).map(|b| f(a, b)).collect()).collect::<Vec<Vec<_>>>()
    };
    let station = |load, unload| Role::Station { load, unload };
    Line {
        rework: dwellhand::line::Rework::default(),
        rinsing: dwellhand::line::Rinsing::default(),
        name: "two carriers".to_owned(),
        rail: Rail { from: Mm(0), to: Mm(3000), gap: Mm(0) },
        tanks: Arena::new(vec![
            tank("L", 0, station(true, false)),
            tank("T1", 1000, Role::Bath(StageId::at(0))),
            tank("T2", 2000, Role::Bath(StageId::at(1))),
            tank("U", 3000, station(false, true)),
        ]),
        stages: Arena::new(vec![stage("one", StageKind::Rinse), stage("two", StageKind::Rinse)]),
        hoists: Arena::new(vec![Hoist {
            name: "H1".to_owned(),
            reach_from: Mm(0),
            reach_to: Mm(3000),
            home: TankId::at(0),
            hook: Dur::ZERO,
            unhook: Dur::ZERO,
            settle: Dur::ZERO,
            lift: Lift::Fixed { raise: Dur::ZERO, lower: Dur::ZERO },
            travel: Travel::Table {
                empty: table(&|a, b| Some(Dur::from_secs(far(a, b)))),
                loaded: table(&|a, b| (b == a + 1).then_some(Dur::from_secs(5))),
            },
        }]),
        rectifiers: Arena::default(),
        power_cap: None,
        recipes: Arena::new(vec![Recipe {
            strips_racks: false,
            name: "r".to_owned(),
            label: String::new(),
            steps: vec![step(0, 20, 25), step(1, 10, 60)],
            rework: false,
        }]),
    }
}

/// What makes a generated line easy or hard.
#[derive(Debug, Clone, Copy)]
pub struct Shape {
    /// Steps of the recipe.
    pub steps: usize,
    /// Carriers in the queue.
    pub carriers: usize,
    /// Rinse windows: longest dwell over shortest.
    pub rinse: i64,
    /// Hoists on the rail.
    pub hoists: usize,
}

/// A line of varied lengths, windows, parallel tanks, a dip on the hook and standby water, under a seed.
pub fn varied(seed: u64, shape: Shape) -> (Line, OrderBook) {
    let mut rng = Rng::stream(seed, "varied line");
    let mut stages = Vec::new();
    let mut tanks = vec![tank("L", 0, Role::Station { load: true, unload: false })];
    let mut steps = Vec::new();
    let long = shape.steps / 2;
    let dip = if shape.steps > 5 { Some(2) } else { None };
    for n in 0..shape.steps {
        let id = stages.len();
        let is_long = n == long;
        let kind = if is_long { StageKind::Anodise } else { StageKind::Rinse };
        stages.push(stage(&format!("s{n}"), kind));
        let copies = if is_long { 2 + rng.below(3) } else { 1 };
        for _ in 0..copies {
            let name = format!("T{:02}", tanks.len());
            tanks.push(tank(&name, 0, Role::Bath(StageId::at(id))));
        }
        let mut s = if is_long {
            let min = 600 + 60 * rng.below(20) as i64;
            step(id, min, min + 120 + 60 * rng.below(4) as i64)
        } else {
            let min = 30 + 10 * rng.below(10) as i64;
            step(id, min, min * shape.rinse + rng.below(60) as i64)
        };
        s.drip = Dur::from_secs(5);
        if dip == Some(n) {
            s = Step {
                min: Dur::from_secs(10),
                target: Dur::from_secs(15),
                max: Dur::from_secs(30),
                on_hook: true,
                ..s
            };
            s.drip = Dur::ZERO;
            s.air_max = Dur::from_secs(30);
        }
        if is_long && n > 0 {
            let hold = StageId::at(stages.len());
            stages.push(stage("hold", StageKind::Standby));
            let name = format!("T{:02}", tanks.len());
            tanks.push(tank(&name, 0, Role::Bath(hold)));
            let before: &mut Step = steps.last_mut().expect("long steps are not first");
            before.hold = Some(Hold { stage: hold, max: Dur::from_mins(5), over: Harm::Rework });
        }
        steps.push(s);
    }
    tanks.push(tank("U", 0, Role::Station { load: false, unload: true }));
    for (i, t) in tanks.iter_mut().enumerate() {
        t.position = Mm(1300 * i as i64);
    }
    let end = Mm(1300 * (tanks.len() as i64 - 1));
    let count = tanks.len();
    let hoist = |i: usize| Hoist {
        name: format!("H{}", i + 1),
        reach_from: Mm(-3000),
        reach_to: end + Mm(3000),
        home: TankId::at(if i == 0 { 0 } else { count - 1 }),
        hook: Dur::from_secs(3),
        unhook: Dur::from_secs(2),
        settle: Dur::from_secs(1),
        lift: Lift::Kinematic { height: Mm(1800), speed: 0.25, accel: 0.25 },
        travel: Travel::Kinematic { speed: 0.75, accel: 0.3, decel: 0.3 },
    };
    let line = Line {
        rework: dwellhand::line::Rework::default(),
        rinsing: dwellhand::line::Rinsing::default(),
        name: format!("varied {seed}"),
        rail: Rail { from: Mm(-3000), to: end + Mm(3000), gap: Mm(1500) },
        tanks: Arena::new(tanks),
        stages: Arena::new(stages),
        hoists: (0..shape.hoists).map(hoist).collect::<Arena<HoistId, Hoist>>(),
        rectifiers: Arena::default(),
        power_cap: None,
        recipes: Arena::new(vec![Recipe {
            strips_racks: false,
            name: "r".to_owned(),
            label: String::new(),
            steps,
            rework: false,
        }]),
    };
    let names: Vec<String> = (0..shape.carriers).map(|i| format!("B{}", i + 1)).collect();
    let carriers: Vec<(&str, Time)> = names.iter().map(|n| (n.as_str(), Time::ZERO)).collect();
    (line, book(&carriers))
}

/// A shift that has just been opened.
pub fn opened(line: &Line, book: OrderBook) -> History {
    let mut history = History::new(line);
    does(line, &mut history, &Command::Open { book }, Time::ZERO);
    history
}

/// Decides and folds; panics on a refusal.
pub fn does(line: &Line, history: &mut History, command: &Command, now: Time) {
    for (at, event) in decide(line, history, command, now).expect("the test's command is allowed") {
        let seq = dwellhand::ids::Seq(history.events().len() as u64 + 1);
        history.push(line, Stamped { seq, at, entered: now, by: Who::Operator, event });
    }
}
