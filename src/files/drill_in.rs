//! The drill file: its orders are read like those of a shift, and what happens is checked against line and orders.

use super::Orders;
use super::common::{Names, at_most, join, look_up, number};
use super::orders_in::{self, Day, time_of_day};
use super::shape::{DrillFile, HappensShape, HappensWord, OrdersFile, OrdersFormat};
use super::text::{Doc, Seg, at, quote};
use crate::civil::Opening;
use crate::ids::{CarrierId, HoistId, Id as _, OrderId, StageId, TankId};
use crate::line::{CarrierSpec, Line, OrderBook};
use crate::train::{Drill, Happening, Happens};
use crate::units::Dur;

const MAX_HAPPENS: usize = 200;

/// Checks the drill and builds it; `None` if there were errors.
pub fn read(doc: &mut Doc<'_>, file: &DrillFile, line: &Line) -> Option<(Drill, Opening)> {
    at_most(doc, &at!["happens"], file.happens.len(), MAX_HAPPENS, "things that happen");
    number(doc, &at!["hours"], file.hours, 0.1..=24.0, "hours");
    number(doc, &at!["difficulty"], f64::from(file.difficulty), 1.0..=3.0, "a step of 1 to 3");
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if file.name.is_empty() || file.name.len() > 40 || !file.name.chars().all(plain) {
        let expected = "small letters, digits and hyphens, such as \"rush-order\"";
        doc.error("bad-name", &at!["name"], &quote(&file.name), expected);
    }
    let orders = OrdersFile {
        schema: None,
        format: OrdersFormat::V1,
        note: None,
        opens: Some(file.opens.clone()),
        racks: Vec::new(),
        orders: file.orders.clone(),
    };
    let Orders { book, opening } = orders_in::read(doc, &orders, Some(line), None)?;
    let late = late_orders(file, &book);
    let names = Known::of(line, &book);
    let mut happens = Vec::new();
    for (i, shape) in file.happens.iter().enumerate() {
        happens.extend(happening(doc, &at!["happens", i], shape, &names, (&book, opening)));
    }
    happens.sort_by_key(|h: &Happening| h.at);
    if doc.has_errors() {
        return None;
    }
    let (book, happens) = parted(&book, &late, happens);
    let drill = Drill {
        name: file.name.clone(),
        title: file.title.clone(),
        about: file.about.clone(),
        difficulty: file.difficulty,
        lasting: Dur::from_secs_f64(file.hours * 3600.0),
        seed: file.seed.unwrap_or(1),
        book,
        happens,
    };
    Some((drill, opening))
}

/// Orders that come in later.
fn late_orders(file: &DrillFile, book: &OrderBook) -> Vec<OrderId> {
    let named = |name: &String| book.orders.iter().find(|(_, o)| o.name == *name).map(|(id, _)| id);
    file.happens.iter().filter_map(|h| h.order.as_ref()).filter_map(named).collect()
}

/// What may be named.
struct Known<'a> {
    hoists: Names<'a>,
    tanks: Names<'a>,
    stages: Names<'a>,
    orders: Names<'a>,
    carriers: Names<'a>,
}

impl<'a> Known<'a> {
    fn of(line: &'a Line, book: &'a OrderBook) -> Self {
        Self {
            hoists: line.hoists.iter().map(|(id, h)| (h.name.as_str(), id.ix())).collect(),
            tanks: line.tanks.iter().map(|(id, t)| (t.name.as_str(), id.ix())).collect(),
            stages: line.stages.iter().map(|(id, s)| (s.name.as_str(), id.ix())).collect(),
            orders: book.orders.iter().map(|(id, o)| (o.name.as_str(), id.ix())).collect(),
            carriers: book.carriers.iter().map(|(id, c)| (c.name.as_str(), id.ix())).collect(),
        }
    }
}

fn happening(
    doc: &mut Doc<'_>,
    path: &[Seg],
    shape: &HappensShape,
    names: &Known<'_>,
    (book, opening): (&OrderBook, Opening),
) -> Option<Happening> {
    let at = time_of_day(doc, &join(path, "at"), &shape.at, Some(Day::from(opening)));
    let within = match &shape.within {
        Some(name) => Some(StageId::at(look_up(doc, &join(path, "within"), name, &names.stages, "stage")?)),
        None => None,
    };
    let what = match shape.what {
        HappensWord::Stop => Happens::Stop {
            hoist: HoistId::at(named(doc, path, "hoist", shape.hoist.as_deref(), &names.hoists)?),
            lasting: minutes(doc, path, shape)?,
            known: shape.known,
        },
        HappensWord::TankOut => Happens::TankOut {
            tank: TankId::at(named(doc, path, "tank", shape.tank.as_deref(), &names.tanks)?),
            lasting: minutes(doc, path, shape)?,
            why: shape.why.clone().unwrap_or_default(),
        },
        HappensWord::Order => {
            let order = OrderId::at(named(doc, path, "order", shape.order.as_deref(), &names.orders)?);
            let carriers = book.carriers.iter().filter(|(_, c)| c.order == order).map(|(_, c)| c.clone());
            Happens::Order { order: book.orders[order].clone(), carriers: carriers.collect() }
        }
        HappensWord::WrongTank => Happens::WrongTank,
        HappensWord::CountShort => {
            let carrier = named(doc, path, "carrier", shape.carrier.as_deref(), &names.carriers)?;
            let parts = shape.parts.unwrap_or(0);
            let most = book.carriers[CarrierId::at(carrier)].parts;
            if parts == 0 || parts > most {
                let expected = format!("1 to the {most} parts that are on it");
                doc.error("bad-parts", path, &format!("{parts} parts"), &expected);
            }
            let lie_in = match shape.tank.as_deref() {
                Some(name) => Some(TankId::at(named(doc, path, "tank", Some(name), &names.tanks)?)),
                None => None,
            };
            Happens::Short { carrier: CarrierId::at(carrier), parts, lie_in }
        }
    };
    Some(Happening { at: at?, within, what })
}

fn named(
    doc: &mut Doc<'_>,
    path: &[Seg],
    field: &'static str,
    name: Option<&str>,
    known: &Names<'_>,
) -> Option<usize> {
    let Some(name) = name else {
        let (found, expected) = (format!("no field `{field}`"), format!("the name of a {field}"));
        doc.error("missing-field", path, &found, &expected);
        return None;
    };
    look_up(doc, &join(path, field), name, known, field)
}

fn minutes(doc: &mut Doc<'_>, path: &[Seg], shape: &HappensShape) -> Option<Dur> {
    let Some(minutes) = shape.minutes else {
        doc.error("missing-field", path, "no field `minutes`", "how many minutes it lasts");
        return None;
    };
    number(doc, &join(path, "minutes"), minutes, 0.5..=600.0, "minutes");
    Some(Dur::from_secs_f64(minutes * 60.0))
}

/// The book without the orders that come in later, and what happens in terms of it.
fn parted(book: &OrderBook, late: &[OrderId], happens: Vec<Happening>) -> (OrderBook, Vec<Happening>) {
    let mut first = OrderBook::default();
    let mut renamed = Vec::new();
    for (id, order) in book.orders.iter().filter(|(id, _)| !late.contains(id)) {
        renamed.push(id);
        first.orders.push(order.clone());
    }
    let mut moved = Vec::new();
    for (id, spec) in book.carriers.iter() {
        if let Some(order) = renamed.iter().position(|o| *o == spec.order) {
            moved.push(id);
            first.carriers.push(CarrierSpec { order: OrderId::at(order), ..spec.clone() });
        }
    }
    // Those that come in later get their numbers then, in the order in which they come.
    for h in &happens {
        if let Happens::Order { carriers, .. } = &h.what {
            let own = |name: &str| book.carriers.iter().find(|(_, c)| c.name == name).map(|(id, _)| id);
            moved.extend(carriers.iter().filter_map(|c| own(&c.name)));
        }
    }
    let happens = happens.into_iter().map(|h| match h.what {
        Happens::Short { carrier, parts, lie_in } => {
            let carrier = moved.iter().position(|c| *c == carrier).map_or(carrier, CarrierId::at);
            Happening { what: Happens::Short { carrier, parts, lie_in }, ..h }
        }
        _ => h,
    });
    let happens = happens.collect();
    (first, happens)
}
