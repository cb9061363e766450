//! The order file: checks of its meaning against the line, and the order book built from it.

use super::Orders;
use super::common::{Names, at_most, join, label, look_up, name_is_new, names, number};
use super::shape::{CarrierShape, OrderShape, OrdersFile, PriorityWord, RackShape, RackWord};
use super::text::{Doc, Seg, at, quote};
use super::usual;
use crate::civil::Opening;
use crate::ids::{Id as _, OrderId, RecipeId, TankId};
use crate::line::{CarrierSpec, EntrySide, Line, NamedRack, Order, OrderBook, Priority, Rack};
use crate::units::{Dur, Time, many};

const MAX_ORDERS: usize = 5000;
const MAX_CARRIERS: usize = 10_000;
/// A time of day this long after the opening is rather one shortly before it.
const TILL_FAR: Dur = Dur::from_mins(18 * 60);
const HALF_A_DAY: Dur = Dur::from_mins(12 * 60);
const DAY: Dur = Dur::from_mins(24 * 60);

/// How the times of day of an orders file lie on the shift's axis.
#[derive(Clone, Copy)]
pub(super) struct Day {
    opening: Opening,
    /// All of them lie in the 24 hours from here on.
    from: Time,
    /// What is later than this is rather shortly before the opening of the file.
    far: Time,
}

impl Day {
    /// The day from the opening on.
    pub fn from(opening: Opening) -> Self {
        Self::of(opening, Some(opening))
    }

    /// The day of a file that opens at `opens`, in a shift that may be begun up to 18 hours later or 6 hours earlier. A
    /// file that does not say when it opens may mean times before the opening as well as after it: the nearer one counts.
    fn of(opening: Opening, opens: Option<Opening>) -> Self {
        let Some(opens) = opens else {
            return Self { opening, from: Time::ZERO - HALF_A_DAY, far: Time::ZERO + HALF_A_DAY };
        };
        let from = opening.last_like(&opens, Time::ZERO + (DAY - TILL_FAR));
        Self { opening, from, far: from + TILL_FAR }
    }

    fn instant(self, hour: u32, minute: u32) -> Time {
        let first = self.opening.next_time_of_day(hour, minute);
        self.from + Dur((first - self.from).0.rem_euclid(DAY.0))
    }
}

/// Checks the orders and builds the book; `None` if there were errors. Without a line, what can be judged without one.
pub fn read(
    doc: &mut Doc<'_>,
    file: &OrdersFile,
    line: Option<&Line>,
    opening: Option<Opening>,
) -> Option<Orders> {
    at_most(doc, &at!["orders"], file.orders.len(), MAX_ORDERS, "orders");
    let all = file.orders.iter().map(|o| o.carriers.len()).sum();
    at_most(doc, &at!["orders"], all, MAX_CARRIERS, "carriers in all orders");
    if doc.has_errors() {
        return None;
    }
    let opens = file.opens.as_deref().and_then(Opening::parse);
    let opening = opening.or_else(|| said_opening(doc, file.opens.as_deref()));
    let day = opening.map(|opening| Day::of(opening, opens));
    names(doc, "orders", file.orders.iter().map(|o| o.name.as_str()));
    let plant = line.map(Plant::of);
    let racks = names(doc, "racks", file.racks.iter().map(|r| r.name.as_str()));
    let mut known = Names::new();
    let mut areas = Vec::new();
    let mut book = OrderBook { racks: file.racks.iter().map(named_rack).collect(), ..OrderBook::default() };
    for (i, order) in file.orders.iter().enumerate() {
        let path = at!["orders", i];
        label(doc, &join(&path, "label"), order.label.as_deref().unwrap_or_default());
        let (recipe, entry) = plant.as_ref().map_or((None, None), |plant| plant.of_order(doc, &path, order));
        let due = due(doc, &join(&path, "due"), order.due.as_deref(), day);
        let ready = order.ready.as_deref().and_then(|t| time_of_day(doc, &join(&path, "ready"), t, day));
        let soon = |t: &Time| day.is_some_and(|day| *t <= day.far);
        let ready = ready.filter(soon).map_or(Time::ZERO, |t| t.max(Time::ZERO));
        parts(doc, &path, order);
        let id = OrderId::at(i);
        for (j, carrier) in order.carriers.iter().enumerate() {
            let path = join(&join(&path, "carriers"), j);
            let ix = known.len();
            name_is_new(doc, &join(&path, "name"), &carrier.name, ix, &mut known);
            number(doc, &join(&path, "area_dm2"), carrier.area_dm2, 0.01..=100_000.0, "dm2");
            if let Some(height) = carrier.height_m {
                number(doc, &join(&path, "height_m"), height.0.0 as f64 / 1000.0, 0.01..=10.0, "m");
            }
            let metal = rack_of(doc, &path, carrier, file, &racks);
            // Empty racks are as small as they are.
            if !recipe.zip(line).is_some_and(|(recipe, line)| line.recipes[recipe].strips_racks) {
                areas.push((join(&path, "area_dm2"), carrier));
            }
            let Some((recipe, line)) = recipe.zip(line) else { continue };
            power(doc, &path, carrier, line, recipe);
            book.carriers.push(CarrierSpec {
                name: carrier.name.clone(),
                order: id,
                recipe,
                parts: carrier.parts,
                area_dm2: carrier.area_dm2,
                rack: metal,
                rack_name: carrier.rack_name.clone(),
                height: carrier.height_m.map(|h| h.0),
                ready,
            });
        }
        if let (Some(recipe), Some(entry)) = (recipe, entry) {
            book.orders.push(Order {
                name: order.name.clone(),
                label: order.label.clone().unwrap_or_else(|| order.name.clone()),
                parts: order.parts,
                recipe,
                priority: priority(order.priority),
                due,
                ready,
                toleranced: order.toleranced,
                entry,
            });
        }
    }
    usual::areas(doc, &areas);
    if doc.has_errors() || line.is_none() { None } else { opening.map(|opening| Orders { book, opening }) }
}

/// What of a line orders may name.
struct Plant<'a> {
    recipes: Names<'a>,
    stations: Names<'a>,
}

impl<'a> Plant<'a> {
    fn of(line: &'a Line) -> Self {
        let station = |id: TankId| (line.tanks[id].name.as_str(), id.ix());
        Self {
            recipes: line.recipes.iter().map(|(id, r)| (r.name.as_str(), id.ix())).collect(),
            stations: line.load_stations().map(station).collect(),
        }
    }

    fn of_order(
        &self,
        doc: &mut Doc<'_>,
        path: &[Seg],
        order: &OrderShape,
    ) -> (Option<RecipeId>, Option<EntrySide>) {
        let recipe = look_up(doc, &join(path, "recipe"), &order.recipe, &self.recipes, "recipe");
        let entry = match order.entry.as_deref() {
            None | Some("any") => Some(EntrySide::Any),
            Some(name) => look_up(doc, &join(path, "entry"), name, &self.stations, "load station")
                .map(|ix| EntrySide::At(TankId::at(ix))),
        };
        (recipe.map(RecipeId::at), entry)
    }
}

fn said_opening(doc: &mut Doc<'_>, text: Option<&str>) -> Option<Opening> {
    let expected = "RFC 3339 with the plant's offset, such as \"2026-11-25T06:00:00+01:00\"";
    let Some(text) = text else {
        doc.error("no-opening", &[], "no field `opens`, and no opening given otherwise", expected);
        return None;
    };
    let opening = Opening::parse(text);
    if opening.is_none() {
        doc.error("bad-time", &at!["opens"], &quote(text), expected);
    }
    opening
}

/// When an order is promised. What has passed when the shift opens stays as it is: it is late, and is said.
fn due(doc: &mut Doc<'_>, path: &[Seg], text: Option<&str>, day: Option<Day>) -> Option<Time> {
    let text = text?;
    let due = time_of_day(doc, path, text, day)?;
    let day = day?;
    if due < Time::ZERO {
        let found = format!("{}, {} before the shift opens", quote(text), words(Time::ZERO - due));
        doc.warn("due-passed", path, &found, "a time still to come; the order is late from the start");
    } else if due > day.far {
        let found = format!("{}, {} after the opening", quote(text), words(due - day.from));
        doc.warn("due-far-off", path, &found, "a time in this shift; it is taken as tomorrow's");
    }
    Some(due)
}

/// `17 hours`, or the minutes of less than one.
fn words(length: Dur) -> String {
    match length.whole_secs() / 60 {
        minutes if minutes < 60 => many(minutes as usize, "minute"),
        minutes => many((minutes / 60) as usize, "hour"),
    }
}

pub(super) fn time_of_day(doc: &mut Doc<'_>, path: &[Seg], text: &str, day: Option<Day>) -> Option<Time> {
    let Some((hour, minute)) = hour_minute(text) else {
        doc.error("bad-time", path, &quote(text), "a time of day such as \"14:30\"");
        return None;
    };
    day.map(|day| day.instant(hour, minute))
}

/// Reads `6:30` and `06:30`.
fn hour_minute(text: &str) -> Option<(u32, u32)> {
    let (hour, minute) = text.split_once(':')?;
    let digits = |t: &str, least| (least..=2).contains(&t.len()) && t.bytes().all(|b| b.is_ascii_digit());
    if !digits(hour, 1) || !digits(minute, 2) {
        return None;
    }
    let (hour, minute) = (hour.parse().ok()?, minute.parse().ok()?);
    (hour < 24 && minute < 60).then_some((hour, minute))
}

fn parts(doc: &mut Doc<'_>, path: &[Seg], order: &OrderShape) {
    if order.carriers.is_empty() {
        doc.error(
            "no-carrier",
            &join(path, "carriers"),
            "no carrier",
            "at least one, with the order's parts on it",
        );
        return;
    }
    for (i, _) in order.carriers.iter().enumerate().filter(|(_, c)| c.parts == 0) {
        let expected = "1 or more; racks that go through empty count as parts";
        doc.error("no-parts", &join(&join(&join(path, "carriers"), i), "parts"), "0 parts", expected);
    }
    let racked: u64 = order.carriers.iter().map(|c| u64::from(c.parts)).sum();
    if racked != u64::from(order.parts) {
        let found = format!("{} parts in the order, {racked} on its carriers", order.parts);
        doc.error("parts-do-not-add-up", &join(path, "parts"), &found, "the sum of the carriers' parts");
    }
}

/// Current is area times density; the racks are in the area.
fn power(doc: &mut Doc<'_>, path: &[Seg], carrier: &CarrierShape, line: &Line, recipe: RecipeId) {
    let path = join(path, "area_dm2");
    for (n, step) in line.recipes[recipe].steps.iter().enumerate() {
        let Some(current) = step.current else { continue };
        let amps = current.density * carrier.area_dm2;
        let watts = amps * current.volts;
        let what =
            format!("{} dm2: {amps:.0} A, {:.1} kW in step {}", carrier.area_dm2, watts / 1000.0, n + 1);
        if let Some(rectifier) = line.stages[step.stage].rectifier.map(|id| &line.rectifiers[id]) {
            if amps > rectifier.max_amps {
                let expected =
                    format!("at most the {:.0} A of rectifier {}", rectifier.max_amps, rectifier.name);
                doc.error("rectifier-too-small", &path, &what, &expected);
            } else if let Some(most) = rectifier.max_power.filter(|most| watts > most.0 as f64) {
                let expected =
                    format!("at most the {:.1} kW of rectifier {}", most.0 as f64 / 1000.0, rectifier.name);
                doc.error("rectifier-too-small", &path, &what, &expected);
            }
        }
        if let Some(cap) = line.power_cap.filter(|cap| watts > cap.0 as f64) {
            let expected = format!("at most the line's power cap of {:.1} kW", cap.0 as f64 / 1000.0);
            doc.error("over-power-cap", &path, &what, &expected);
        }
    }
}

fn priority(word: PriorityWord) -> Priority {
    match word {
        PriorityWord::Rush => Priority::Rush,
        PriorityWord::Normal => Priority::Normal,
        PriorityWord::Low => Priority::Low,
    }
}

/// The metal of a carrier's rack: what it says, or what its named rack is of.
fn rack_of(
    doc: &mut Doc<'_>,
    path: &[Seg],
    carrier: &CarrierShape,
    file: &OrdersFile,
    racks: &Names<'_>,
) -> Rack {
    let Some(name) = &carrier.rack_name else { return rack(carrier.rack.unwrap_or_default()) };
    let found = look_up(doc, &join(path, "rack_name"), name, racks, "rack");
    let Some(named) = found.map(|ix| &file.racks[ix]) else { return Rack::Titanium };
    if carrier.rack.is_some_and(|said| said != named.material) {
        let expected = format!("the metal of {}, as `racks` has it", quote(name));
        doc.error("other-metal", &join(path, "rack"), "another metal than that of its rack", &expected);
    }
    rack(named.material)
}

fn named_rack(shape: &RackShape) -> NamedRack {
    NamedRack {
        name: shape.name.clone(),
        metal: rack(shape.material),
        cycles: shape.cycles,
        spoiled: shape.spoiled,
    }
}

fn rack(word: RackWord) -> Rack {
    match word {
        RackWord::Titanium => Rack::Titanium,
        RackWord::Aluminium => Rack::Aluminium,
    }
}
