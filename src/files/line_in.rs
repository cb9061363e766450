//! The line file: checks of its meaning, and the line built from it.

use super::common::{Names, at_most, join, label, look_up, names, number};
use super::shape::{
    FixedLiftShape, HoistShape, KindWord, KinematicLiftShape, KinematicTravelShape, LiftShape, LineFile,
    StationWord, TableShape, TravelShape,
};
use super::text::{Doc, Seg, at};
use super::usual;
use crate::ids::{Arena, Id as _, RectifierId, StageId, TankId};
use crate::line::{Hoist, Lift, Line, Rail, Rectifier, Role, Stage, StageKind, Tank, Travel};
use crate::units::{Dur, Mm, Watts};

/// Hoists are told apart by the bits of a byte when a recipe is tried out.
pub const MAX_HOISTS: usize = 8;
const MAX_TANKS: usize = 200;

/// Checks the file and builds the line without recipes; `None` if there were errors.
pub fn read(doc: &mut Doc<'_>, file: &LineFile) -> Option<Line> {
    at_most(doc, &at!["tanks"], file.tanks.len(), MAX_TANKS, "tanks");
    at_most(doc, &at!["stages"], file.stages.len(), MAX_TANKS, "stages");
    at_most(doc, &at!["rectifiers"], file.rectifiers.len(), MAX_TANKS, "rectifiers");
    at_most(doc, &at!["hoists"], file.hoists.len(), MAX_HOISTS, "hoists");
    if doc.has_errors() {
        return None;
    }
    label(doc, &at!["name"], &file.name);
    let rectifiers = names(doc, "rectifiers", file.rectifiers.iter().map(|r| r.name.as_str()));
    let stages = names(doc, "stages", file.stages.iter().map(|s| s.name.as_str()));
    let tanks = names(doc, "tanks", file.tanks.iter().map(|t| t.name.as_str()));
    names(doc, "hoists", file.hoists.iter().map(|h| h.name.as_str()));
    power(doc, file);
    super::limits_in::shop(doc, file);
    rail(doc, file);
    usual::gap(doc, file);
    let feeds = feeds(doc, file, &rectifiers);
    let roles = roles(doc, file, &stages);
    baths(doc, file, &roles);
    let homes: Vec<Option<usize>> = (file.hoists.iter().enumerate())
        .map(|(i, h)| look_up(doc, &at!["hoists", i, "home"], &h.home, &tanks, "tank"))
        .collect();
    for (i, hoist) in file.hoists.iter().enumerate() {
        self::hoist(doc, file, i, hoist, homes[i]);
        usual::hoist(doc, i, hoist);
    }
    hoists_together(doc, file, &homes);
    reached(doc, file);
    if doc.has_errors() {
        return None;
    }
    build(file, &feeds, &roles, &homes)
}

fn power(doc: &mut Doc<'_>, file: &LineFile) {
    if let Some(kw) = file.power_cap_kw {
        number(doc, &at!["power_cap_kw"], kw, 0.001..=100_000.0, "kW");
    }
    for (i, r) in file.rectifiers.iter().enumerate() {
        number(doc, &at!["rectifiers", i, "max_amps"], r.max_amps, 0.1..=1_000_000.0, "A");
        if let Some(kw) = r.max_kw {
            number(doc, &at!["rectifiers", i, "max_kw"], kw, 0.001..=100_000.0, "kW");
        }
    }
}

fn rail(doc: &mut Doc<'_>, file: &LineFile) {
    let rail = &file.rail;
    if rail.from_m.0 > rail.to_m.0 {
        let expected = format!("at least from_m, {}", rail.from_m.0);
        doc.error("rail-backwards", &at!["rail", "to_m"], &rail.to_m.0.to_string(), &expected);
    }
    if rail.gap_m.0 < Mm(0) {
        doc.error("out-of-range", &at!["rail", "gap_m"], &rail.gap_m.0.to_string(), "0 m or more");
    }
    if rail.from_m.0 > rail.to_m.0 {
        return;
    }
    for (i, tank) in file.tanks.iter().enumerate() {
        let at = tank.position_m.0;
        if at < rail.from_m.0 || at > rail.to_m.0 {
            let expected = format!("a place on the rail, {} to {}", rail.from_m.0, rail.to_m.0);
            doc.error("tank-off-rail", &at!["tanks", i, "position_m"], &at.to_string(), &expected);
        }
        let same = file.tanks[..i].iter().find(|t| t.position_m == tank.position_m);
        if let Some(other) = same {
            let found = format!("{at}, where {} stands too", other.name);
            doc.warn("same-position", &at!["tanks", i, "position_m"], &found, "a place for each tank");
        }
    }
    in_rail_order(doc, file);
}

/// Nearer than this two tanks are not, middle to middle: the walls and a bar's width are between.
const NARROWEST: Mm = Mm(200);

/// Slips of the tape or of a digit: tanks are written down along the rail, and each takes its room.
fn in_rail_order(doc: &mut Doc<'_>, file: &LineFile) {
    let steps: Vec<Mm> =
        file.tanks.windows(2).map(|pair| pair[1].position_m.0 - pair[0].position_m.0).collect();
    let (up, down) =
        (steps.iter().filter(|s| **s > Mm(0)).count(), steps.iter().filter(|s| **s < Mm(0)).count());
    for (i, step) in steps.iter().enumerate().filter(|(_, step)| **step != Mm(0)) {
        let (before, tank) = (&file.tanks[i], &file.tanks[i + 1]);
        let (path, here) = (at!["tanks", i + 1, "position_m"], tank.position_m.0);
        let back = (*step < Mm(0)) == (up > down) && up != down;
        let apart = Mm(step.0.abs());
        if back && up.min(down) <= up.max(down) / 2 {
            let found = format!("{here}, back from {} at {}", before.name, before.position_m.0);
            doc.warn(
                "out-of-rail-order",
                &path,
                &found,
                "tanks in rail order, each further on than the one before",
            );
        } else if apart < NARROWEST {
            let found = format!("{here}, {apart} from {}", before.name);
            let expected = format!("{NARROWEST} or more from middle to middle; positions are in metres");
            doc.warn("too-near", &path, &found, &expected);
        }
    }
}

fn feeds(doc: &mut Doc<'_>, file: &LineFile, rectifiers: &Names<'_>) -> Vec<Option<RectifierId>> {
    let mut feeds = Vec::new();
    for (i, stage) in file.stages.iter().enumerate() {
        label(doc, &at!["stages", i, "label"], stage.label.as_deref().unwrap_or_default());
        let fed = stage.rectifier.as_deref().and_then(|name| {
            look_up(doc, &at!["stages", i, "rectifier"], name, rectifiers, "rectifier").map(RectifierId::at)
        });
        feeds.push(fed);
    }
    feeds
}

fn roles(doc: &mut Doc<'_>, file: &LineFile, stages: &Names<'_>) -> Vec<Option<Role>> {
    let mut roles = Vec::new();
    let mut used = vec![false; file.stages.len()];
    let (mut loads, mut unloads) = (false, false);
    for (i, tank) in file.tanks.iter().enumerate() {
        let role = match (&tank.stage, tank.station) {
            (Some(stage), None) => {
                let ix = look_up(doc, &at!["tanks", i, "stage"], stage, stages, "stage");
                if let Some(ix) = ix {
                    used[ix] = true;
                }
                ix.map(|ix| Role::Bath(StageId::at(ix)))
            }
            (None, Some(word)) => {
                let load = matches!(word, StationWord::Load | StationWord::Both);
                let unload = matches!(word, StationWord::Unload | StationWord::Both);
                loads |= load;
                unloads |= unload;
                Some(Role::Station { load, unload })
            }
            (stage, _) => {
                let found =
                    if stage.is_some() { "both a stage and a station" } else { "neither stage nor station" };
                doc.error("tank-role", &at!["tanks", i], found, "either `stage` or `station`");
                None
            }
        };
        roles.push(role);
    }
    // A misspelt stage is reported where it stands, not once more as a stage without a tank.
    if roles.iter().any(Option::is_none) {
        return roles;
    }
    for (i, stage) in file.stages.iter().enumerate().filter(|(i, _)| !used[*i]) {
        let found = format!("the stage {} without a tank", stage.name);
        doc.error(
            "stage-without-tank",
            &at!["stages", i, "name"],
            &found,
            "at least one tank with this stage",
        );
    }
    if !loads {
        doc.error("no-load-station", &at!["tanks"], "no load station", "a tank with `station` load or both");
    }
    if !unloads {
        doc.error(
            "no-unload-station",
            &at!["tanks"],
            "no unload station",
            "a tank with `station` unload or both",
        );
    }
    roles
}

fn baths(doc: &mut Doc<'_>, file: &LineFile, roles: &[Option<Role>]) {
    for (i, tank) in file.tanks.iter().enumerate() {
        label(doc, &at!["tanks", i, "label"], tank.label.as_deref().unwrap_or_default());
        if tank.capacity == Some(0) {
            doc.error("out-of-range", &at!["tanks", i, "capacity"], "room for 0 carriers", "1 or more");
        }
        if let Some(out) = tank.out_after.filter(|out| out.0 <= tank.ready_after.0) {
            let found = format!("out of service after {}, ready after {}", out.0, tank.ready_after.0);
            doc.error("never-in-service", &at!["tanks", i, "out_after"], &found, "later than ready_after");
        }
        super::limits_in::check(doc, i, tank);
        let Some(celsius) = tank.temperature_c else { continue };
        let path = at!["tanks", i, "temperature_c"];
        let kind = match roles[i] {
            Some(Role::Bath(stage)) => Some(file.stages[stage.ix()].kind),
            _ => None,
        };
        let asked = (celsius - 32.0) / 1.8;
        let open_water = kind.is_some_and(|k| !matches!(k, KindWord::Dry));
        if open_water && celsius >= 100.0 {
            let expected =
                format!("less than 100 C in an open bath; was {celsius} F meant? That is {asked:.1} C");
            doc.error("bath-at-boiling", &path, &format!("{celsius} C"), &expected);
        } else if matches!(kind, Some(KindWord::Dye)) && celsius > 71.0 {
            // Handbooks give 40-60 C; the film begins to seal at about 60 C.
            let expected = format!(
                "at most 71 C, the film seals in a hotter dye; was {celsius} F meant? That is {asked:.1} C"
            );
            doc.warn("dye-too-hot", &path, &format!("{celsius} C"), &expected);
        } else {
            number(doc, &path, celsius, -50.0..=500.0, "C");
        }
    }
}

fn hoist(doc: &mut Doc<'_>, file: &LineFile, i: usize, hoist: &HoistShape, home: Option<usize>) {
    let rail = &file.rail;
    let (from, to) = reach(file, hoist);
    if from > to && hoist.reach_from_m.is_none() && hoist.reach_to_m.is_none() {
        return;
    }
    for (field, at) in [("reach_from_m", from), ("reach_to_m", to)] {
        if at < rail.from_m.0 || at > rail.to_m.0 {
            let expected = format!("a place on the rail, {} to {}", rail.from_m.0, rail.to_m.0);
            doc.error("reach-off-rail", &at!["hoists", i, field], &at.to_string(), &expected);
        }
    }
    if from > to {
        let expected = format!("at least reach_from_m, {from}");
        doc.error("reach-backwards", &at!["hoists", i, "reach_to_m"], &to.to_string(), &expected);
    }
    if let Some(tank) = home.map(|ix| &file.tanks[ix])
        && from <= to
        && !(from..=to).contains(&tank.position_m.0)
    {
        let found = format!("{} at {}, out of this hoist's reach", tank.name, tank.position_m.0);
        let expected = format!("a tank from {from} to {to}");
        doc.error("home-out-of-reach", &at!["hoists", i, "home"], &found, &expected);
    }
    let lift = at!["hoists", i, "lift"];
    let lift_time = match &hoist.lift {
        LiftShape::Kinematic(KinematicLiftShape { height_m, speed_m_s, accel_m_s2 }) => {
            let path = join(&lift, "kinematic");
            number(doc, &join(&path, "height_m"), height_m.0.0 as f64 / 1000.0, 0.0..=50.0, "m");
            number(doc, &join(&path, "speed_m_s"), *speed_m_s, 0.001..=10.0, "m/s");
            number(doc, &join(&path, "accel_m_s2"), *accel_m_s2, 0.001..=20.0, "m/s2");
            None
        }
        LiftShape::Fixed(FixedLiftShape { raise, lower }) => Some(raise.0 + lower.0),
    };
    match &hoist.travel {
        TravelShape::Kinematic(KinematicTravelShape { speed_m_s, accel_m_s2, decel_m_s2 }) => {
            let path = at!["hoists", i, "travel", "kinematic"];
            number(doc, &join(&path, "speed_m_s"), *speed_m_s, 0.001..=10.0, "m/s");
            number(doc, &join(&path, "accel_m_s2"), *accel_m_s2, 0.001..=20.0, "m/s2");
            if let Some(decel) = decel_m_s2 {
                number(doc, &join(&path, "decel_m_s2"), *decel, 0.001..=20.0, "m/s2");
            }
        }
        TravelShape::Table(table) => {
            let path = at!["hoists", i, "travel", "table"];
            square(doc, &join(&path, "empty"), &table.empty, file.tanks.len());
            square(doc, &join(&path, "loaded"), &table.loaded, file.tanks.len());
            loaded_holds_lift(doc, &path, table, &hoist.lift, lift_time);
        }
    }
}

fn square<T>(doc: &mut Doc<'_>, path: &[Seg], rows: &[Vec<T>], tanks: usize) {
    let expected = format!("{tanks}, one for each tank in file order");
    if rows.len() != tanks {
        doc.error("table-not-square", path, &format!("{} rows", rows.len()), &expected);
    }
    for (i, row) in rows.iter().enumerate().filter(|(_, row)| row.len() != tanks) {
        doc.error("table-not-square", &join(path, i), &format!("{} columns", row.len()), &expected);
    }
}

/// A measured loaded move holds raise and lower; a shorter one would mean travel of less than no time.
fn loaded_holds_lift(
    doc: &mut Doc<'_>,
    path: &[Seg],
    table: &TableShape,
    lift: &LiftShape,
    fixed: Option<Dur>,
) {
    let lift_time = fixed.unwrap_or_else(|| {
        let (raise, lower) = raise_lower(lift);
        raise + lower
    });
    for (i, row) in table.loaded.iter().enumerate() {
        for (j, cell) in row.iter().enumerate().filter(|(j, _)| *j != i) {
            if let Some(time) = cell.filter(|time| time.0 < lift_time) {
                let found = format!("{:.3} s for a loaded move", time.0.as_secs_f64());
                let expected =
                    format!("at least {:.3} s, the time of raise and lower", lift_time.as_secs_f64());
                doc.error(
                    "loaded-shorter-than-lift",
                    &join(&join(&join(path, "loaded"), i), j),
                    &found,
                    &expected,
                );
            }
        }
    }
}

fn raise_lower(lift: &LiftShape) -> (Dur, Dur) {
    match lift {
        LiftShape::Kinematic(k) if k.speed_m_s > 0.0 && k.accel_m_s2 > 0.0 => {
            let time = crate::line::ramp_time(k.height_m.0, k.speed_m_s, k.accel_m_s2, k.accel_m_s2);
            (time, time)
        }
        LiftShape::Kinematic(_) => (Dur::ZERO, Dur::ZERO),
        LiftShape::Fixed(f) => (f.raise.0, f.lower.0),
    }
}

fn hoists_together(doc: &mut Doc<'_>, file: &LineFile, homes: &[Option<usize>]) {
    if file.hoists.is_empty() {
        doc.error("no-hoist", &at!["hoists"], "no hoist", "at least one");
    }
    for i in 1..file.hoists.len() {
        let (low, high) = (&file.hoists[i - 1], &file.hoists[i]);
        let ((low_from, low_to), (high_from, high_to)) = (reach(file, low), reach(file, high));
        if low_from > high_from || low_to > high_to {
            let found = format!("{} after {}, whose reach lies higher on the rail", high.name, low.name);
            doc.error(
                "hoists-out-of-order",
                &at!["hoists", i],
                &found,
                "hoists from the low end of the rail to the high end",
            );
        }
        if let (Some(a), Some(b)) = (homes[i - 1], homes[i]) {
            let apart = file.tanks[b].position_m.0 - file.tanks[a].position_m.0;
            if apart < file.rail.gap_m.0 {
                let found = format!("a home {apart} above that of {}", low.name);
                let expected = format!("at least the gap of {}, hoists never pass", file.rail.gap_m.0);
                doc.error("homes-too-close", &at!["hoists", i, "home"], &found, &expected);
            }
        }
    }
}

fn reached(doc: &mut Doc<'_>, file: &LineFile) {
    // With a reach or rail the wrong way round every tank would be out of it; one finding says enough.
    let backwards = |h: &HoistShape| {
        let (from, to) = reach(file, h);
        from > to
    };
    if file.hoists.is_empty() || file.hoists.iter().any(backwards) {
        return;
    }
    for (i, tank) in file.tanks.iter().enumerate() {
        let reaches = |h: &HoistShape| {
            let (from, to) = reach(file, h);
            (from..=to).contains(&tank.position_m.0)
        };
        let at = tank.position_m.0;
        let on_rail = file.rail.from_m.0 <= at && at <= file.rail.to_m.0;
        if on_rail && !file.hoists.iter().any(reaches) {
            let found = format!("{} at {at}, out of every hoist's reach", tank.name);
            doc.error(
                "tank-out-of-reach",
                &at!["tanks", i, "position_m"],
                &found,
                "a place some hoist can serve",
            );
        }
    }
}

fn reach(file: &LineFile, hoist: &HoistShape) -> (Mm, Mm) {
    let from = hoist.reach_from_m.map_or(file.rail.from_m.0, |m| m.0);
    let to = hoist.reach_to_m.map_or(file.rail.to_m.0, |m| m.0);
    (from, to)
}

fn build(
    file: &LineFile,
    feeds: &[Option<RectifierId>],
    roles: &[Option<Role>],
    homes: &[Option<usize>],
) -> Option<Line> {
    let rail = Rail { from: file.rail.from_m.0, to: file.rail.to_m.0, gap: file.rail.gap_m.0 };
    let rectifiers = (file.rectifiers.iter())
        .map(|r| Rectifier { name: r.name.clone(), max_amps: r.max_amps, max_power: r.max_kw.map(watts) })
        .collect();
    let stages = (file.stages.iter().zip(feeds))
        .map(|(s, rectifier)| Stage {
            name: s.name.clone(),
            label: s.label.clone().unwrap_or_else(|| s.name.clone()),
            kind: kind(s.kind),
            rectifier: *rectifier,
        })
        .collect();
    let mut tanks = Arena::default();
    for (t, role) in file.tanks.iter().zip(roles) {
        let role = (*role)?;
        let room = if matches!(role, Role::Bath(_)) { 1 } else { u16::MAX };
        tanks.push(Tank {
            name: t.name.clone(),
            label: t.label.clone().unwrap_or_else(|| t.name.clone()),
            position: t.position_m.0,
            role,
            capacity: t.capacity.unwrap_or(room),
            temperature_c: t.temperature_c,
            limits: t.limits.iter().map(super::limits_in::limit).collect(),
            ready_after: t.ready_after.0,
            out_after: t.out_after.map_or(Dur::UNLIMITED, |s| s.0),
        });
    }
    let mut hoists = Arena::default();
    for (h, home) in file.hoists.iter().zip(homes) {
        let (reach_from, reach_to) = reach(file, h);
        hoists.push(Hoist {
            name: h.name.clone(),
            reach_from,
            reach_to,
            home: TankId::at((*home)?),
            hook: h.hook.0,
            unhook: h.unhook.0,
            settle: h.settle.0,
            lift: match &h.lift {
                LiftShape::Kinematic(k) => {
                    Lift::Kinematic { height: k.height_m.0, speed: k.speed_m_s, accel: k.accel_m_s2 }
                }
                LiftShape::Fixed(f) => Lift::Fixed { raise: f.raise.0, lower: f.lower.0 },
            },
            travel: match &h.travel {
                TravelShape::Kinematic(k) => Travel::Kinematic {
                    speed: k.speed_m_s,
                    accel: k.accel_m_s2,
                    decel: k.decel_m_s2.unwrap_or(k.accel_m_s2),
                },
                TravelShape::Table(t) => Travel::Table { empty: times(&t.empty), loaded: times(&t.loaded) },
            },
        });
    }
    Some(Line {
        rinsing: super::limits_in::rinsing(file),
        rework: super::limits_in::rework(file),
        name: file.name.clone(),
        rail,
        tanks,
        stages,
        hoists,
        rectifiers,
        power_cap: file.power_cap_kw.map(watts),
        recipes: Arena::default(),
    })
}

fn times(rows: &[Vec<Option<super::quantity::Seconds>>]) -> Vec<Vec<Option<Dur>>> {
    rows.iter().map(|row| row.iter().map(|cell| cell.map(|s| s.0)).collect()).collect()
}

fn watts(kw: f64) -> Watts {
    Watts((kw * 1000.0).round() as i64)
}

fn kind(word: KindWord) -> StageKind {
    match word {
        KindWord::Clean => StageKind::Clean,
        KindWord::Rinse => StageKind::Rinse,
        KindWord::Etch => StageKind::Etch,
        KindWord::Desmut => StageKind::Desmut,
        KindWord::Anodise => StageKind::Anodise,
        KindWord::Dye => StageKind::Dye,
        KindWord::Seal => StageKind::Seal,
        KindWord::Dry => StageKind::Dry,
        KindWord::Strip => StageKind::Strip,
        KindWord::Standby => StageKind::Standby,
    }
}
