//! A line of thirty tanks in the middle of a shift, at a fixed instant.

use dwellhand::civil::Opening;
use dwellhand::ids::{Arena, CarrierId, HoistId, OrderId, RecipeId, Seq, StageId, StepNo, TankId};
use dwellhand::line::{
    CarrierSpec, EntrySide, Harm, Hoist, Hold, Lift, Line, Order, OrderBook, Priority, Rack, Rail, Recipe,
    Role, Stage, StageKind, Step, Tank, Travel, Visit,
};
use dwellhand::plan::{Call, Reason};
use dwellhand::schedule::{Move, Schedule};
use dwellhand::shift::{AlarmKey, AlarmKind, AlarmLevel, Claim, Event, History, Stamped, Who, alarm};
use dwellhand::units::{Dur, Mm, Time};
use dwellhand::verify::{Breach, Rule};
use dwellhand::view::Board;

/// Everything a board is built from.
pub(crate) struct Scene {
    pub(crate) line: Line,
    pub(crate) opening: Opening,
    pub(crate) history: History,
    pub(crate) calls: Vec<Call>,
    pub(crate) breaches: Vec<Breach>,
    pub(crate) now: Time,
}

impl Scene {
    pub(crate) fn board(&self) -> Board {
        Board::build(
            &self.line,
            self.history.state(),
            &self.history,
            &self.calls,
            &self.breaches,
            &self.opening,
            self.now,
        )
    }
}

const STAGES: &[(&str, &str, StageKind, u16)] = &[
    ("clean", "soak clean", StageKind::Clean, 2),
    ("rinse-1", "rinse", StageKind::Rinse, 2),
    ("etch", "etch", StageKind::Etch, 2),
    ("rinse-2", "etch rinse", StageKind::Rinse, 2),
    ("desmut", "desmut", StageKind::Desmut, 1),
    ("rinse-3", "desmut rinse", StageKind::Rinse, 2),
    ("anodise", "anodise", StageKind::Anodise, 6),
    ("rinse-4", "acid rinse", StageKind::Rinse, 2),
    ("standby", "standby water", StageKind::Standby, 2),
    ("dye", "black dye", StageKind::Dye, 1),
    ("rinse-5", "dye rinse", StageKind::Rinse, 1),
    ("seal", "hot seal", StageKind::Seal, 3),
    ("rinse-6", "final rinse", StageKind::Rinse, 1),
    ("dry", "oven", StageKind::Dry, 1),
];

pub(crate) fn line() -> Line {
    let mut tanks = vec![tank("L1", "load", 0, Role::Station { load: true, unload: false })];
    for (ix, (_, label, _, count)) in STAGES.iter().enumerate() {
        for _ in 0..*count {
            let n = tanks.len();
            let stage = StageId(u16::try_from(ix).unwrap());
            tanks.push(tank(&format!("T{n:02}"), label, n, Role::Bath(stage)));
        }
    }
    let n = tanks.len();
    tanks.push(tank("U1", "unload", n, Role::Station { load: false, unload: true }));
    let hoist = Hoist {
        name: "H1".to_owned(),
        reach_from: Mm(0),
        reach_to: Mm(60_000),
        home: TankId(0),
        hook: Dur::from_secs(6),
        unhook: Dur::from_secs(5),
        settle: Dur::from_secs(3),
        lift: Lift::Fixed { raise: Dur::from_secs(14), lower: Dur::from_secs(14) },
        travel: Travel::Kinematic { speed: 0.75, accel: 0.3, decel: 0.3 },
    };
    Line {
        rework: dwellhand::line::Rework::default(),
        rinsing: dwellhand::line::Rinsing::default(),
        name: "Line 2, sulphuric".to_owned(),
        rail: Rail { from: Mm(0), to: Mm(60_000), gap: Mm(3000) },
        tanks: tanks.into_iter().collect(),
        stages: STAGES
            .iter()
            .map(|(name, label, kind, _)| Stage {
                name: (*name).to_owned(),
                label: (*label).to_owned(),
                kind: *kind,
                rectifier: None,
            })
            .collect(),
        hoists: Arena::new(vec![hoist]),
        rectifiers: Arena::default(),
        power_cap: None,
        recipes: Arena::new(vec![recipe("clear-10", false), recipe("black-18", true)]),
    }
}

fn tank(name: &str, label: &str, n: usize, role: Role) -> Tank {
    Tank {
        limits: Vec::new(),
        name: name.to_owned(),
        label: label.to_owned(),
        position: Mm(i64::try_from(n).unwrap() * 1400),
        role,
        capacity: 1,
        temperature_c: label.contains("etch").then_some(55.0),
        ready_after: if label == "hot seal" && n == 26 { Dur::from_mins(95) } else { Dur::ZERO },
        out_after: Dur::UNLIMITED,
    }
}

fn recipe(name: &str, dyed: bool) -> Recipe {
    let s = |stage: u16, min: i64, target: i64, max: i64, air: i64, over: Harm| Step {
        stage: StageId(stage),
        min: Dur::from_secs(min),
        target: Dur::from_secs(target),
        max: Dur::from_secs(max),
        drip: Dur::from_secs(8),
        air_max: Dur::from_secs(air),
        on_hook: false,
        over,
        under: Harm::Rework,
        air: Harm::Rework,
        hold: None,
        current: None,
    };
    let mut steps = vec![
        s(0, 120, 300, 600, 60, Harm::Nuisance),
        s(1, 30, 60, 300, 60, Harm::Nuisance),
        s(2, 30, 120, 180, 30, Harm::Scrap),
        s(3, 30, 60, 180, 30, Harm::Shade),
        s(4, 30, 120, 300, 45, Harm::Nuisance),
        s(5, 30, 60, 300, 60, Harm::Scrap),
        s(6, 1500, 1800, 2100, 60, Harm::Rework),
        s(7, 60, 120, 900, 60, Harm::Shade),
    ];
    if dyed {
        steps.push(s(9, 600, 900, 1800, 30, Harm::Shade));
        steps.push(s(10, 30, 60, 180, 60, Harm::Shade));
    } else {
        steps[7].hold = Some(Hold { stage: StageId(8), max: Dur::from_mins(30), over: Harm::Shade });
    }
    steps.push(s(11, 1200, 1500, 2400, 60, Harm::Nuisance));
    steps.push(s(12, 30, 60, 180, 60, Harm::Nuisance));
    steps.push(Step {
        max: Dur::UNLIMITED,
        air_max: Dur::UNLIMITED,
        ..s(13, 300, 600, 0, 0, Harm::Nuisance)
    });
    Recipe { strips_racks: false, name: name.to_owned(), label: String::new(), steps, rework: false }
}

pub(crate) fn book() -> OrderBook {
    let orders = [
        ("4711", "window rails", 0, Priority::Normal, 7_200),
        ("4712", "knobs, black", 1, Priority::Rush, 9_000),
        ("4713", "heat sinks", 0, Priority::Normal, 12_600),
        ("4714", "trim, black", 1, Priority::Low, 14_400),
    ];
    let mut carriers = Vec::new();
    for n in 0..14_u16 {
        let order = n / 4;
        carriers.push(CarrierSpec {
            rack_name: None,
            height: None,
            name: format!("B{:02}", n + 1),
            order: OrderId(order),
            recipe: RecipeId(order % 2),
            parts: 120,
            area_dm2: 400.0,
            rack: Rack::Titanium,
            ready: Time::ZERO,
        });
    }
    OrderBook {
        racks: Vec::new(),
        orders: orders
            .iter()
            .map(|(name, label, recipe, priority, due)| Order {
                toleranced: false,
                name: (*name).to_owned(),
                label: (*label).to_owned(),
                parts: 480,
                recipe: RecipeId(*recipe),
                priority: *priority,
                due: Some(Time::from_secs(*due)),
                ready: Time::ZERO,
                entry: EntrySide::Any,
            })
            .collect(),
        carriers: Arena::new(carriers),
    }
}

/// The tank of this name.
pub(crate) fn named(line: &Line, name: &str) -> TankId {
    line.tanks.find(|t| t.name == name).unwrap()
}

/// Where carriers are: carrier number, tank, step from 0, seconds in the tank.
const PLACES: &[(u16, &str, u16, i64)] = &[
    (1, "T25", 8, 1300),
    (2, "T18", 7, 400),
    (3, "T16", 6, 1620),
    (4, "T13", 6, 300),
    (5, "T24", 10, 200),
    (6, "T12", 6, 2000),
    (7, "T05", 2, 144),
    (8, "T10", 5, 70),
    (9, "T01", 0, 30),
];

pub(crate) const NOW: Time = Time::from_secs(4335);

fn mv(line: &Line, carrier: u16, from: &str, to: &str, leaves: Visit, visit: Visit, start: i64) -> Move {
    Move {
        carrier: CarrierId(carrier - 1),
        hoist: HoistId(0),
        from: named(line, from),
        to: named(line, to),
        leaves,
        visit,
        start: NOW + Dur::from_secs(start),
        attach: true,
        release: true,
    }
}

fn call(mv: Move, set_out: i64, latest: Option<i64>, reason: Reason) -> Call {
    let latest = latest.map(|s| NOW + Dur::from_secs(s));
    Call {
        mv,
        set_out: NOW + Dur::from_secs(set_out),
        latest_start: latest,
        slack: latest.map(|t| (t - mv.start).or_zero()),
        critical: true,
        air_max: Some(Dur::from_secs(30)),
        air: Dur::from_secs(19),
        reason,
        guess: false,
        instead: None,
    }
}

fn step(n: u16) -> Visit {
    Visit::Step(StepNo(n))
}

/// A quiet moment: a pick that may wait half a minute, nothing wrong.
pub(crate) fn calm() -> Scene {
    let line = line();
    let mut history = History::new(&line);
    let mut push = |at: i64, late: i64, by: Who, event: Event| {
        let seq = Seq(history.events().len() as u64 + 1);
        let at = Time::from_secs(at);
        let stamped = Stamped { seq, at, entered: at + Dur::from_secs(late), by, event };
        history.push(&line, stamped);
    };
    push(0, 0, Who::Supervisor, Event::Opened { book: book() });
    for (carrier, tank, n, secs) in PLACES {
        let claim =
            Claim::InTank { tank: named(&line, tank), since: NOW - Dur::from_secs(*secs), visit: step(*n) };
        push(60, 0, Who::Operator, Event::CarrierCorrected { carrier: CarrierId(carrier - 1), claim });
    }
    let n = |name| named(&line, name);
    let (b7, b8, h) = (CarrierId(6), CarrierId(7), HoistId(0));
    push(4100, 0, Who::Operator, Event::TankOut { tank: n("T14"), until: Time::FAR, why: String::new() });
    push(4133, 0, Who::Operator, Event::Lifted { carrier: b7, hoist: h, from: n("T05") });
    push(
        4191,
        38,
        Who::Operator,
        Event::Lowered { carrier: b7, hoist: h, to: n("T06"), visit: step(2), release: true },
    );
    push(4230, 0, Who::Operator, Event::Undone { seq: Seq(13) });
    push(
        4230,
        0,
        Who::Operator,
        Event::Lowered { carrier: b7, hoist: h, to: n("T05"), visit: step(2), release: true },
    );
    push(4241, 0, Who::Operator, Event::Lifted { carrier: b8, hoist: h, from: n("T09") });
    push(
        4265,
        0,
        Who::Operator,
        Event::Lowered { carrier: b8, hoist: h, to: n("T10"), visit: step(5), release: true },
    );
    let moves = vec![
        mv(&line, 7, "T05", "T07", step(2), step(3), 10),
        mv(&line, 8, "T10", "T15", step(5), step(6), 75),
        mv(&line, 7, "T07", "T09", step(3), step(4), 150),
        mv(&line, 6, "T12", "T19", step(6), step(7), 60),
        mv(&line, 3, "T16", "T18", step(6), step(7), 170),
        mv(&line, 9, "T01", "T03", step(0), step(1), 300),
        mv(&line, 10, "L1", "T02", Visit::Load, step(0), 420),
        mv(&line, 11, "L1", "T01", Visit::Load, step(0), 900),
        mv(&line, 10, "T28", "U1", step(10), Visit::Unload, 8800),
        mv(&line, 11, "T28", "U1", step(10), Visit::Unload, 8100),
    ];
    push(4266, 0, Who::Program, Event::PlanAdopted { plan: Schedule::new(moves.clone(), NOW).into() });
    let at = |secs: i64| NOW + Dur::from_secs(secs);
    let other = Some((b8, Dur::from_secs(11)));
    let before = Reason::Before { carrier: CarrierId(5), tank: n("T12"), closes: at(100) };
    let calls = vec![
        call(moves[0], 0, Some(38), Reason::Window { closes: at(75), other }),
        call(moves[3], 55, Some(95), Reason::Window { closes: at(100), other: None }),
        call(moves[1], 66, Some(140), before),
        call(moves[2], 145, None, Reason::Unlimited),
        call(moves[4], 160, Some(400), Reason::Window { closes: at(480), other: None }),
    ];
    Scene {
        line: line.clone(),
        opening: Opening::parse("2026-11-25T02:00:00+01:00").unwrap(),
        history,
        calls,
        breaches: Vec::new(),
        now: NOW,
    }
}

pub(crate) fn push_now(scene: &mut Scene, by: Who, event: Event) {
    let seq = Seq(scene.history.events().len() as u64 + 1);
    let stamped = Stamped { seq, at: scene.now, entered: scene.now, by, event };
    scene.history.push(&scene.line.clone(), stamped);
}

/// Nothing to do for more than a minute.
pub(crate) fn waiting() -> Scene {
    let mut scene = calm();
    scene.calls.remove(0);
    scene
}

/// The carrier hangs, and its air time runs.
pub(crate) fn hanging() -> Scene {
    let mut scene = calm();
    let from = named(&scene.line, "T05");
    push_now(&mut scene, Who::Operator, Event::Lifted { carrier: CarrierId(6), hoist: HoistId(0), from });
    scene.now += Dur::from_secs(30);
    let by = alarm::lower_by(&scene.line, scene.history.state(), CarrierId(6));
    scene.calls[0].reason = Reason::UnderWay { by };
    scene
}

/// Late, with alarms in several states and a plan that cannot keep everything.
pub(crate) fn trouble() -> Scene {
    let mut scene = calm();
    scene.now += Dur::from_secs(92);
    let key = |c: u16, n: u16| AlarmKey { carrier: CarrierId(c - 1), visit: step(n), kind: AlarmKind::Dwell };
    push_now(&mut scene, Who::Program, Event::AlarmRaised { key: key(7, 2), level: AlarmLevel::Over });
    push_now(&mut scene, Who::Program, Event::AlarmRaised { key: key(6, 6), level: AlarmLevel::Due });
    push_now(&mut scene, Who::Operator, Event::AlarmAcknowledged { key: key(6, 6) });
    push_now(&mut scene, Who::Program, Event::AlarmRaised { key: key(2, 7), level: AlarmLevel::Due });
    let until = scene.now + Dur::from_mins(10);
    let reason = "waiting for a tank".to_owned();
    push_now(&mut scene, Who::Operator, Event::AlarmShelved { key: key(2, 7), until, reason });
    scene.calls[0].reason = Reason::Broken { closes: NOW + Dur::from_secs(75) };
    scene.breaches = vec![
        Breach {
            rule: Rule::Over,
            harm: Some(Harm::Scrap),
            carrier: "B07".to_owned(),
            place: "T05".to_owned(),
            at: scene.now,
            by: Dur::from_secs(16),
            text: "B07 stays 0:16 too long in T05 etch.".to_owned(),
            open_ended: false,
        },
        Breach {
            rule: Rule::Over,
            harm: Some(Harm::Rework),
            carrier: "B06".to_owned(),
            place: "T12".to_owned(),
            at: scene.now + Dur::from_secs(70),
            by: Dur::from_secs(22),
            text: "B06 stays 0:22 too long in T12 anodise.".to_owned(),
            open_ended: false,
        },
    ];
    scene
}

/// A shift in which every carrier is finished.
pub(crate) fn finished() -> Scene {
    let mut scene = calm();
    let tank = named(&scene.line, "U1");
    for ix in 0..14 {
        let claim = Claim::Finished { tank };
        push_now(&mut scene, Who::Operator, Event::CarrierCorrected { carrier: CarrierId(ix), claim });
    }
    scene.calls.clear();
    scene
}

/// Two alarms that came to nothing, and nobody has seen them.
pub(crate) fn past_alarms() -> Scene {
    let mut scene = calm();
    for (carrier, n) in [(6, 6), (2, 7)] {
        let key = AlarmKey { carrier: CarrierId(carrier - 1), visit: step(n), kind: AlarmKind::Dwell };
        push_now(&mut scene, Who::Program, Event::AlarmRaised { key, level: AlarmLevel::Due });
        push_now(&mut scene, Who::Program, Event::AlarmCleared { key });
    }
    scene
}
