//! A line small enough to do in the head, with one of everything the journal can speak of.

use std::sync::Arc;

use dwellhand::ids::{Arena, HoistId, OrderId, RecipeId, StageId, TankId};
use dwellhand::line::*;
use dwellhand::plan::Settings;
use dwellhand::schedule::{Move, Schedule};
use dwellhand::shift::{Place, State};
use dwellhand::units::{Dur, Mm, Time};

pub const LOAD: TankId = TankId(0);
pub const CLEAN: TankId = TankId(1);
pub const RINSE: TankId = TankId(2);
pub const ANODISE: TankId = TankId(3);
pub const WAIT: TankId = TankId(4);
pub const UNLOAD: TankId = TankId(5);
pub const PARK: TankId = TankId(6);

fn tank(name: &str, at: i64, role: Role) -> Tank {
    Tank {
        limits: Vec::new(),
        name: name.to_owned(),
        label: String::new(),
        position: Mm(at),
        role,
        capacity: 1,
        temperature_c: None,
        ready_after: Dur::ZERO,
        out_after: Dur::UNLIMITED,
    }
}

fn stage(name: &str, kind: StageKind) -> Stage {
    Stage { name: name.to_owned(), label: String::new(), kind, rectifier: None }
}

fn step(stage: u16, min: i64, max: i64, on_hook: bool, hold: Option<Hold>) -> Step {
    Step {
        stage: StageId(stage),
        min: Dur::from_secs(min),
        target: Dur::from_secs(min),
        max: Dur::from_secs(max),
        drip: Dur::from_secs(2),
        air_max: Dur::from_secs(40),
        on_hook,
        over: Harm::Scrap,
        under: Harm::Rework,
        air: Harm::Rework,
        hold,

        current: None,
    }
}

fn hoist(name: &str, home: TankId) -> Hoist {
    Hoist {
        name: name.to_owned(),
        reach_from: Mm(0),
        reach_to: Mm(14_000),
        home,
        hook: Dur::from_secs(2),
        unhook: Dur::from_secs(2),
        settle: Dur::from_secs(1),
        lift: Lift::Fixed { raise: Dur::from_secs(5), lower: Dur::from_secs(5) },
        travel: Travel::Kinematic { speed: 1.0, accel: 0.5, decel: 0.5 },
    }
}

/// Load, clean, rinse on the hook, anodise with standby after it, unload; two hoists.
pub fn line() -> Arc<Line> {
    let hold = Hold { stage: StageId(3), max: Dur::from_secs(600), over: Harm::Shade };
    let long = Recipe {
        strips_racks: false,
        name: "clear".to_owned(),
        label: String::new(),
        steps: vec![
            step(0, 60, 120, false, None),
            step(1, 10, 20, true, None),
            step(2, 300, 400, false, Some(hold)),
        ],
        rework: false,
    };
    let short = Recipe {
        strips_racks: false,
        name: "wash".to_owned(),
        label: String::new(),
        steps: vec![step(0, 30, 90, false, None)],
        rework: true,
    };
    Arc::new(Line {
        rework: dwellhand::line::Rework::default(),
        rinsing: dwellhand::line::Rinsing::default(),
        name: "small".to_owned(),
        rail: Rail { from: Mm(0), to: Mm(14_000), gap: Mm(500) },
        tanks: Arena::new(vec![
            tank("L", 0, Role::Station { load: true, unload: false }),
            tank("T1", 2000, Role::Bath(StageId(0))),
            tank("T2", 4000, Role::Bath(StageId(1))),
            tank("T3", 6000, Role::Bath(StageId(2))),
            tank("W", 8000, Role::Bath(StageId(3))),
            tank("U", 10_000, Role::Station { load: false, unload: true }),
            tank("P", 14_000, Role::Station { load: false, unload: true }),
        ]),
        stages: Arena::new(vec![
            stage("clean", StageKind::Clean),
            stage("rinse", StageKind::Rinse),
            stage("anodise", StageKind::Anodise),
            stage("wait", StageKind::Standby),
        ]),
        hoists: Arena::new(vec![hoist("H1", LOAD), hoist("H2", PARK)]),
        rectifiers: Arena::default(),
        power_cap: None,
        recipes: Arena::new(vec![long, short]),
    })
}

/// Three carriers of two orders.
pub fn book() -> OrderBook {
    let order = |name: &str, recipe: u16, priority, due, entry| Order {
        toleranced: false,
        name: name.to_owned(),
        label: "Hülsen, \"matt\"".to_owned(),
        parts: 40,
        recipe: RecipeId(recipe),
        priority,
        due,
        ready: Time::ZERO,
        entry,
    };
    let carrier = |name: &str, order: u16, recipe: u16, area_dm2, rack| CarrierSpec {
        rack_name: None,
        height: None,
        name: name.to_owned(),
        order: OrderId(order),
        recipe: RecipeId(recipe),
        parts: 20,
        area_dm2,
        rack,
        ready: Time::ZERO,
    };
    OrderBook {
        racks: Vec::new(),
        orders: Arena::new(vec![
            order("A-1", 0, Priority::Normal, Some(Time::from_secs(7200)), EntrySide::Any),
            order("A-2", 1, Priority::Rush, None, EntrySide::At(LOAD)),
        ]),
        carriers: Arena::new(vec![
            carrier("B1", 0, 0, 61.7, Rack::Titanium),
            carrier("B2", 0, 0, 0.1 + 0.2, Rack::Titanium),
            carrier("B3", 1, 1, 88.0, Rack::Aluminium),
        ]),
    }
}

/// One carrier after the other with the first hoist, each step for its shortest time: no good plan, but a plan.
pub fn one_by_one(line: &Line, state: &State, now: Time, _settings: &Settings) -> Schedule {
    let hoist = HoistId(0);
    let mut free = now.max(state.hoists[hoist].free_from);
    let mut at = state.hoists[hoist].at;
    let mut moves = Vec::new();
    let mut carriers: Vec<_> = state.carriers.ids().collect();
    carriers.sort_by_key(|c| matches!(state.carriers[*c].place, Place::Queued));
    for carrier in carriers {
        let recipe = state.book.carriers[carrier].recipe;
        let (mut from, mut leaves, mut attach, mut earliest) = match state.carriers[carrier].place {
            Place::Queued => (LOAD, Visit::Load, true, now),
            Place::InTank { tank, visit, since, hooked } => {
                (tank, visit, hooked.is_none(), since + line.window(recipe, visit).0)
            }
            Place::OnHook { from, leaves, .. } => (from, leaves, false, now),
            Place::Finished { .. } | Place::OffLine => continue,
        };
        while let Some(visit) = line.next_visit(recipe, leaves) {
            let to = line.places_for(recipe, visit)[0];
            let release = !line.on_hook(recipe, visit);
            let start = (free + line.empty_travel(hoist, at, from).unwrap()).max(earliest);
            let mv = Move { carrier, hoist, from, to, leaves, visit, start, attach, release };
            let phases = mv.phases(line, &state.book).unwrap();
            free = start + phases.total();
            earliest = start + phases.to_down() + line.window(recipe, visit).0;
            moves.push(mv);
            at = to;
            (from, leaves, attach) = (to, visit, release);
        }
    }
    Schedule::new(moves, now)
}
