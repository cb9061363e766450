//! Carriers that wait to start, and what is promised for them.

use super::At;
use super::marks::{self, Mark};
use super::words::clean;
use crate::ids::CarrierId;
use crate::line::Priority;
use crate::shift::Place;
use crate::units::{Dur, Time};

/// One carrier that waits to start.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QueueRow {
    /// Which carrier.
    pub id: CarrierId,
    /// Its name.
    pub carrier: String,
    /// Its order.
    pub order: String,
    /// What the order is, for people.
    pub label: String,
    /// The recipe.
    pub recipe: String,
    /// Before everything else.
    pub rush: bool,
    /// When the plan starts it, time of day.
    pub release: Option<String>,
    /// When it is promised, time of day.
    pub due: Option<String>,
    /// When the plan finishes it, time of day.
    pub finish: Option<String>,
    /// By how much the plan finishes it after it is due.
    pub late: Option<Dur>,
    /// What was changed about it.
    pub marks: Vec<Mark>,
}

/// By how much something is late: at the end the plan has for it, or by now where it has none.
pub(super) fn late(due: Option<Time>, end: Option<Time>, now: Time) -> Option<Dur> {
    due.map(|due| end.unwrap_or(now) - due).filter(|by| *by > Dur::ZERO)
}

pub(super) fn rows(at: At<'_>) -> Vec<QueueRow> {
    let mut rows: Vec<(Time, QueueRow)> = at
        .state
        .carriers
        .iter()
        .filter(|(_, c)| c.place == Place::Queued)
        .map(|(id, _)| {
            let spec = &at.state.book.carriers[id];
            let order = &at.state.book.orders[spec.order];
            let release = at.state.plan.as_ref().and_then(|p| p.of(id).next()).map(|m| m.start);
            let finish = super::runs::finish(at, id);
            let row = QueueRow {
                id,
                carrier: at.carrier_name(id),
                order: clean(&order.name),
                label: clean(&order.label),
                recipe: clean(&at.line.recipes[spec.recipe].name),
                rush: order.priority == Priority::Rush,
                release: release.map(|t| at.minutes(t)),
                due: order.due.map(|t| at.minutes(t)),
                finish: finish.map(|t| at.minutes(t)),
                marks: marks::of(at, id),
                late: late(order.due, finish, at.now),
            };
            (release.unwrap_or(Time::FAR), row)
        })
        .collect();
    rows.sort_by_key(|(release, row)| (*release, row.id));
    rows.into_iter().map(|(_, row)| row).collect()
}
