//! Families of anodising lines with their orders, for judging plans: what varies is named, the rest comes from a seed.
//!
//! The order of treatments is the ordinary one of sulphuric anodising: clean, rinse, etch, two rinses, desmut, two
//! rinses, anodise, two rinses, perhaps dye and rinse, seal, dry. Short lines have one rinse where longer ones have
//! two; what is still left to fill becomes hot rinses, a second dye and second tanks of the slow stages. Figures are
//! invented, of the size a job shop would name. Targets are the shortest dwells, so that the best finish and the
//! dwells aimed for do not pull apart.

use std::fmt;

use super::lines::{opened, stage, step, tank};
use dwellhand::ids::{Arena, CarrierId, HoistId, Id as _, OrderId, RecipeId, StageId, StepNo, TankId};
use dwellhand::line::{
    CarrierSpec, EntrySide, Harm, Hoist, Hold, Lift, Line, Order, OrderBook, Priority, Rack, Rail, Recipe,
    Role, Stage, StageKind, Step, Tank, Travel, Visit,
};
use dwellhand::plan::{Reserve, Settings, plan};
use dwellhand::rng::Rng;
use dwellhand::units::{Dur, Mm, Time};
use dwellhand::verify::verify;

/// How far the longest rinse lies from the shortest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rinse {
    /// Eight times the shortest: parts may wait in a rinse.
    Loose,
    /// Three times the shortest.
    Medium,
    /// Half as long again: a rinse is no place to wait.
    Tight,
}

/// What is asked of a line and its orders. Its text form is the instance's id.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(clippy::struct_excessive_bools, reason = "a line has a thing or has it not")]
pub struct Family {
    /// Places on the line, stations included.
    pub tanks: usize,
    /// Rinse windows.
    pub rinse: Rinse,
    /// Carriers in the queue, all racked at the opening.
    pub carriers: usize,
    /// Recipes among them, 1 to 3, with different anodise times.
    pub recipes: usize,
    /// Anodise tanks.
    pub anodise: usize,
    /// A dip on the hook before anodise.
    pub dip: bool,
    /// A standby tank before anodise.
    pub standby: bool,
    /// Air limits after etch, desmut and dye.
    pub air: bool,
    /// Load and unload at the same end instead of at opposite ends.
    pub same_end: bool,
    /// Hoists on the rail.
    pub hoists: usize,
    /// Everything else.
    pub seed: u64,
}

/// Such as `24t-tight-6c-2r-3a-dsax-1h-17`: the letters are dip, standby, air limits, stations at the same end; an `o`
/// in their place if there are none.
impl fmt::Display for Family {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let rinse = match self.rinse {
            Rinse::Loose => "loose",
            Rinse::Medium => "medium",
            Rinse::Tight => "tight",
        };
        let flags = [(self.dip, 'd'), (self.standby, 's'), (self.air, 'a'), (self.same_end, 'x')].into_iter();
        let mut letters: String = flags.filter(|(on, _)| *on).map(|(_, c)| c).collect();
        if letters.is_empty() {
            letters.push('o');
        }
        write!(
            f,
            "{}t-{rinse}-{}c-{}r-{}a-{letters}-{}h-{}",
            self.tanks, self.carriers, self.recipes, self.anodise, self.hoists, self.seed
        )
    }
}

impl Family {
    /// Reads an id back. Panics on anything that is none.
    pub fn of(id: &str) -> Self {
        let parts: Vec<&str> = id.split('-').collect();
        let [tanks, rinse, carriers, recipes, anodise, letters, hoists, seed] = parts[..] else {
            panic!("{id}: an id has eight parts");
        };
        let figure = |part: &str, unit: char| -> usize {
            part.strip_suffix(unit).and_then(|n| n.parse().ok()).unwrap_or_else(|| panic!("{id}: {part}"))
        };
        Self {
            tanks: figure(tanks, 't'),
            rinse: match rinse {
                "loose" => Rinse::Loose,
                "medium" => Rinse::Medium,
                "tight" => Rinse::Tight,
                _ => panic!("{id}: {rinse}"),
            },
            carriers: figure(carriers, 'c'),
            recipes: figure(recipes, 'r'),
            anodise: figure(anodise, 'a'),
            dip: letters.contains('d'),
            standby: letters.contains('s'),
            air: letters.contains('a'),
            same_end: letters.contains('x'),
            hoists: figure(hoists, 'h'),
            seed: seed.parse().unwrap_or_else(|_| panic!("{id}: {seed}")),
        }
    }

    /// A family drawn from a seed: any of what the generator can do, with this many hoists.
    pub fn drawn(seed: u64, hoists: usize) -> Self {
        let mut rng = Rng::stream(seed, "family");
        let dip = rng.chance(0.4);
        let standby = rng.chance(0.3);
        let anodise = 1 + rng.below(4);
        let least = (CORE + anodise + usize::from(dip) + usize::from(standby)).max(14);
        Self {
            tanks: least + rng.below(36 - least),
            rinse: [Rinse::Loose, Rinse::Medium, Rinse::Tight][rng.below(3)],
            carriers: 3 + rng.below(14),
            recipes: 1 + rng.below(3),
            anodise,
            dip,
            standby,
            air: rng.chance(0.5),
            same_end: rng.chance(0.3),
            hoists,
            seed,
        }
    }
}

/// Places every line has besides its anodise tanks: two stations, clean, rinse, etch, rinse, desmut, rinse, rinse after
/// anodise, seal and dry.
const CORE: usize = 11;

/// The line and the orders of an id.
pub fn instance(id: &str) -> (Line, OrderBook) {
    build(&Family::of(id))
}

/// The stages in rail order, as far as the number of tanks allows.
struct Layout {
    stages: Vec<(Kind, usize)>,
}

/// What a stage is, in the order in which parts meet them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Clean,
    CleanRinse,
    Etch,
    EtchRinse,
    EtchRinse2,
    Desmut,
    DesmutRinse,
    DesmutRinse2,
    Dip,
    Standby,
    Anodise,
    AcidRinse,
    AcidRinse2,
    DyeA,
    DyeB,
    DyeRinse,
    Seal,
    HotRinse,
    Dry,
}

/// What more tanks are used for, first things first, over and over; a stage named again gets another tank.
const MORE: [Kind; 24] = [
    Kind::EtchRinse2,
    Kind::AcidRinse2,
    Kind::DesmutRinse2,
    Kind::DyeA,
    Kind::DyeRinse,
    Kind::HotRinse,
    Kind::Seal,
    Kind::DyeB,
    Kind::Clean,
    Kind::Dry,
    Kind::Etch,
    Kind::DyeA,
    Kind::Desmut,
    Kind::Seal,
    Kind::DyeRinse,
    Kind::AcidRinse,
    Kind::CleanRinse,
    Kind::Dry,
    Kind::HotRinse,
    Kind::EtchRinse,
    Kind::Clean,
    Kind::Seal,
    Kind::Etch,
    Kind::DesmutRinse,
];

impl Kind {
    fn role(self) -> StageKind {
        match self {
            Self::Clean => StageKind::Clean,
            Self::Etch => StageKind::Etch,
            Self::Desmut | Self::Dip => StageKind::Desmut,
            Self::Standby => StageKind::Standby,
            Self::Anodise => StageKind::Anodise,
            Self::DyeA | Self::DyeB => StageKind::Dye,
            Self::Seal => StageKind::Seal,
            Self::Dry => StageKind::Dry,
            _ => StageKind::Rinse,
        }
    }
}

impl Layout {
    fn new(family: &Family) -> Self {
        let core = [
            Kind::Clean,
            Kind::CleanRinse,
            Kind::Etch,
            Kind::EtchRinse,
            Kind::Desmut,
            Kind::DesmutRinse,
            Kind::AcidRinse,
            Kind::Seal,
            Kind::Dry,
        ];
        let mut stages: Vec<(Kind, usize)> = core.iter().map(|k| (*k, 1)).collect();
        stages.push((Kind::Anodise, family.anodise));
        stages.extend(family.dip.then_some((Kind::Dip, 1)));
        stages.extend(family.standby.then_some((Kind::Standby, 1)));
        let used: usize = stages.iter().map(|(_, n)| n).sum::<usize>() + 2;
        assert!(used <= family.tanks, "{family}: at least {used} places are needed");
        for kind in MORE.iter().cycle().take(family.tanks - used) {
            match stages.iter_mut().find(|(k, _)| k == kind) {
                Some((_, n)) => *n += 1,
                None => stages.push((*kind, 1)),
            }
        }
        stages.sort_unstable();
        Self { stages }
    }

    fn id(&self, kind: Kind) -> Option<StageId> {
        self.stages.iter().position(|(k, _)| *k == kind).map(StageId::at)
    }

    fn tanks(&self, same_end: bool) -> Vec<Tank> {
        let station = |load, unload| Role::Station { load, unload };
        let mut tanks = vec![tank("L", 0, station(true, false))];
        if same_end {
            tanks.push(tank("U", 0, station(false, true)));
        }
        for (id, (_, copies)) in self.stages.iter().enumerate() {
            for _ in 0..*copies {
                tanks.push(tank(&format!("T{:02}", tanks.len()), 0, Role::Bath(StageId::at(id))));
            }
        }
        if !same_end {
            tanks.push(tank("U", 0, station(false, true)));
        }
        tanks
    }

    /// The steps of a recipe: the first takes dye A, the second none, the third dye B if there is one.
    fn steps(&self, family: &Family, recipe: usize, rng: &mut Rng) -> Vec<Step> {
        let skips = match recipe {
            0 => [Kind::DyeB].as_slice(),
            1 => [Kind::DyeA, Kind::DyeB, Kind::DyeRinse].as_slice(),
            _ if self.id(Kind::DyeB).is_some() => [Kind::DyeA].as_slice(),
            _ => [].as_slice(),
        };
        let mut steps: Vec<Step> = Vec::new();
        for (id, (kind, _)) in self.stages.iter().enumerate() {
            if skips.contains(kind) {
                continue;
            }
            if *kind == Kind::Standby {
                let before = steps.last_mut().expect("standby is never first");
                before.hold =
                    Some(Hold { stage: StageId::at(id), max: Dur::from_mins(8), over: Harm::Rework });
                continue;
            }
            steps.push(one_step(*kind, id, family.rinse, recipe, rng));
        }
        // Permission to wait is given before the dip, not on the hook.
        if let Some(dip) = steps.iter().position(|s| s.on_hook)
            && let Some(hold) = steps[dip].hold.take()
        {
            steps[dip - 1].hold = Some(hold);
        }
        steps
    }
}

/// One step with figures in whole seconds: shortest, and longest by the kind of bath.
fn one_step(kind: Kind, id: usize, rinse: Rinse, recipe: usize, rng: &mut Rng) -> Step {
    let mut between =
        |from: i64, to: i64, grid: i64| from + grid * rng.below(((to - from) / grid + 1) as usize) as i64;
    let (min, max) = match kind {
        Kind::Clean => {
            let min = between(180, 360, 30);
            (min, min + between(120, 300, 60))
        }
        Kind::Etch => {
            let min = between(60, 240, 30) / if recipe == 2 { 2 } else { 1 };
            (min, min + between(20, 60, 10))
        }
        Kind::Desmut => {
            let min = between(45, 120, 15);
            (min, min + between(60, 240, 60))
        }
        Kind::Dip => (12, 30),
        Kind::Anodise => {
            let min = 60 * between(18, 34, 2) + 600 * recipe as i64;
            (min, min + between(60, 180, 30))
        }
        Kind::DyeA | Kind::DyeB => {
            let min = between(240, 600, 60);
            (min, min + between(30, 120, 30))
        }
        Kind::Seal => {
            let min = 60 * between(10, 20, 2);
            (min, min + between(180, 600, 60))
        }
        Kind::Dry => {
            let min = 60 * between(5, 10, 1);
            (min, min + 1200)
        }
        _ => {
            let min = between(30, 60, 10);
            let max = match rinse {
                Rinse::Loose => 8 * min,
                Rinse::Medium => 3 * min,
                Rinse::Tight => min + min / 2,
            };
            (min, max)
        }
    };
    let drip = match kind {
        Kind::Dip | Kind::Dry => 0,
        _ => between(4, 12, 2),
    };
    Step { drip: Dur::from_secs(drip), on_hook: kind == Kind::Dip, ..step(id, min, max) }
}

fn build(family: &Family) -> (Line, OrderBook) {
    let mut rng = Rng::stream(family.seed, "families");
    let layout = Layout::new(family);
    let mut tanks = layout.tanks(family.same_end);
    let mut at = 0;
    for t in &mut tanks {
        t.position = Mm(at);
        at += 900 + 50 * rng.below(13) as i64;
    }
    let end = tanks.last().expect("a line has places").position;
    let last = TankId::at(tanks.len() - 1);
    let crane = crane(&mut rng, end);
    let recipes: Vec<Recipe> = (0..family.recipes)
        .map(|r| {
            let steps = layout.steps(family, r, &mut rng);
            Recipe {
                strips_racks: false,
                name: format!("r{}", r + 1),
                label: String::new(),
                steps,
                rework: false,
            }
        })
        .collect();
    let of = |(kind, _): &(Kind, usize)| -> Stage { stage(&format!("{kind:?}").to_lowercase(), kind.role()) };
    let mut line = Line {
        rework: dwellhand::line::Rework::default(),
        rinsing: dwellhand::line::Rinsing::default(),
        name: family.to_string(),
        rail: Rail { from: Mm(-3000), to: end + Mm(3000), gap: Mm(1500) },
        tanks: Arena::new(tanks),
        stages: layout.stages.iter().map(of).collect(),
        hoists: (0..family.hoists)
            .map(|h| Hoist {
                name: format!("H{}", h + 1),
                home: if h == 0 { TankId::at(0) } else { last },
                ..crane.clone()
            })
            .collect::<Arena<HoistId, Hoist>>(),
        rectifiers: Arena::default(),
        power_cap: None,
        recipes: Arena::new(recipes),
    };
    if family.air {
        limit_air(&mut line, |kind| matches!(kind, StageKind::Etch | StageKind::Desmut | StageKind::Dye));
    }
    (line, orders(family))
}

/// A crane of everyday speed.
fn crane(rng: &mut Rng, end: Mm) -> Hoist {
    let pick = |rng: &mut Rng, from: f64, grid: f64, n: usize| from + grid * rng.below(n) as f64;
    let travel_accel = pick(rng, 0.2, 0.05, 5);
    Hoist {
        name: String::new(),
        reach_from: Mm(-3000),
        reach_to: end + Mm(3000),
        home: TankId::at(0),
        hook: Dur::from_secs(2 + rng.below(3) as i64),
        unhook: Dur::from_secs(2),
        settle: Dur::from_secs(1 + rng.below(2) as i64),
        lift: Lift::Kinematic { height: Mm(1800), speed: pick(rng, 0.15, 0.05, 4), accel: 0.25 },
        travel: Travel::Kinematic { speed: pick(rng, 0.5, 0.1, 6), accel: travel_accel, decel: travel_accel },
    }
}

/// Sets air limits after some kinds of treatment, such as what dries on or streaks: from every tank of the stage the
/// nearest next tank can be reached in time with 5 s to spare, a far one perhaps not.
pub fn limit_air(line: &mut Line, after: impl Fn(StageKind) -> bool) {
    let hoist = HoistId::at(0);
    for recipe in line.recipes.ids() {
        for n in 0..line.recipes[recipe].steps.len() {
            let no = StepNo(n as u16);
            if !after(line.stages[line.step(recipe, no).stage].kind) {
                continue;
            }
            let visit = Visit::Step(no);
            let next = line.next_visit(recipe, visit).expect("a step is not the end");
            let air = |from: TankId, to: TankId| {
                line.phases(hoist, from, to, line.drip(recipe, visit), true, true).map(|p| p.air())
            };
            let nearest =
                |from: TankId| line.places_for(recipe, next).into_iter().filter_map(|to| air(from, to)).min();
            let least = line.places_for(recipe, visit).into_iter().filter_map(nearest).max();
            let limit = least.expect("every step has a tank") + Dur::from_secs(5);
            line.recipes[recipe].steps[n].air_max = limit;
        }
    }
}

/// One order a recipe, the carriers shared out evenly, all racked at the opening.
fn orders(family: &Family) -> OrderBook {
    let order = |r: usize| Order {
        toleranced: false,
        name: format!("O{}", r + 1),
        label: String::new(),
        parts: 10,
        recipe: RecipeId::at(r),
        priority: Priority::Normal,
        due: None,
        ready: Time::ZERO,
        entry: EntrySide::Any,
    };
    let carrier = |i: usize| {
        let r = i * family.recipes / family.carriers;
        CarrierSpec {
            rack_name: None,
            height: None,
            name: format!("B{}", i + 1),
            order: OrderId::at(r),
            recipe: RecipeId::at(r),
            parts: 10,
            area_dm2: 100.0,
            rack: Rack::Titanium,
            ready: Time::ZERO,
        }
    };
    OrderBook {
        racks: Vec::new(),
        orders: (0..family.recipes).map(order).collect(),
        carriers: (0..family.carriers).map(carrier).collect(),
    }
}

/// Spread instances for comparing plans over sizes, tightness and what a line may have; one hoist.
pub fn spread() -> Vec<Family> {
    let mut found = Vec::new();
    for (i, carriers) in [3, 4, 6, 8, 10, 16].into_iter().enumerate() {
        for (j, rinse) in [Rinse::Tight, Rinse::Medium, Rinse::Loose].into_iter().enumerate() {
            let k = i + j;
            found.push(Family {
                tanks: [14, 24, 35][(i + 2 * j) % 3],
                rinse,
                carriers,
                recipes: 1 + k % 3,
                anodise: if (i + 2 * j) % 3 == 0 { 1 + i % 2 } else { 2 + k % 3 },
                dip: (i + 2 * j) % 3 != 0 && k % 2 == 0,
                standby: false,
                air: k % 2 == 1,
                same_end: k % 4 == 3,
                hoists: 1,
                seed: (3 * i + j) as u64,
            });
        }
        found.push(Family {
            tanks: [35, 24, 14][i % 3],
            rinse: [Rinse::Tight, Rinse::Tight, Rinse::Medium][i % 3],
            carriers,
            recipes: 1,
            anodise: if i % 3 == 2 { 2 } else { 3 },
            dip: false,
            standby: false,
            air: false,
            same_end: false,
            hoists: 1,
            seed: 100 + i as u64,
        });
    }
    found
}

fn alone(book: &OrderBook, carrier: CarrierId) -> OrderBook {
    OrderBook {
        racks: Vec::new(),
        orders: book.orders.clone(),
        carriers: Arena::new(vec![book.carriers[carrier].clone()]),
    }
}

/// Ids read back as what they were written from, and the same id is the same line and orders.
#[test]
fn an_id_stands_for_one_instance() {
    for seed in 0..50 {
        let family = Family::drawn(seed, 1 + usize::from(seed % 5 == 4));
        let id = family.to_string();
        assert_eq!(Family::of(&id), family, "{id}");
        assert_eq!(instance(&id), instance(&id), "{id}");
    }
}

/// A line on which a carrier cannot pass alone would judge nobody's planning: each kind of carrier of each family does.
#[test]
fn every_carrier_of_every_family_can_pass_alone() {
    let drawn = (0..60).map(|seed| Family::drawn(seed, 1 + usize::from(seed % 5 == 4)));
    for family in spread().into_iter().chain(drawn) {
        let (line, book) = build(&family);
        assert_eq!(line.tanks.len(), family.tanks, "{family}");
        for recipe in line.recipes.ids() {
            let (carrier, _) = book.carriers.iter().find(|(_, c)| c.recipe == recipe).unwrap();
            let history = opened(&line, alone(&book, carrier));
            let settings = Settings { reserve: Reserve::NONE, effort: 1, ..Settings::default() };
            let schedule = plan(&line, history.state(), Time::ZERO, &settings);
            assert!(!schedule.moves.is_empty(), "{family} {recipe:?}: no way alone");
            assert_eq!(verify(&line, history.state(), &schedule), [], "{family} {recipe:?}");
        }
    }
}

/// The spread covers the sizes it is meant to cover, and no id comes twice.
#[test]
fn the_spread_is_spread() {
    let all = spread();
    let mut ids: Vec<String> = all.iter().map(Family::to_string).collect();
    ids.sort();
    ids.dedup();
    assert_eq!(ids.len(), 24);
    for tanks in [14, 24, 35] {
        for rinse in [Rinse::Loose, Rinse::Medium, Rinse::Tight] {
            assert!(all.iter().any(|f| f.tanks == tanks && f.rinse == rinse), "{tanks} {rinse:?}");
        }
    }
}

/// One instance of a file for an outside solver.
#[derive(serde::Serialize)]
struct Named {
    id: String,
    #[serde(flatten)]
    numbers: super::dense::Dense,
}

/// Writes the spread as one JSON document to the file that `DWELLHAND_DUMP` names, for an outside solver.
#[test]
#[ignore = "writes a file; run it when one is wanted"]
fn dump() {
    let path = std::env::var_os("DWELLHAND_DUMP").expect("DWELLHAND_DUMP names the file");
    let all: Vec<Named> = spread()
        .iter()
        .map(|family| {
            let id = family.to_string();
            let (line, book) = instance(&id);
            Named { id, numbers: super::dense::Dense::new(&line, &book) }
        })
        .collect();
    std::fs::write(path, serde_json::to_string(&all).unwrap()).unwrap();
}
