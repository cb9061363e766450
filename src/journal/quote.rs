//! A record of one journal kept in another: its line, word for word.

use super::chain::Digest;
use super::record::Record;
use super::wire;
use crate::line::{Line, OrderBook};
use crate::shift::Event;

/// The line of a record in the journal where it stands behind `prev`; `book` is what carriers are called there before it.
/// Not for plans, which name the plan before them.
pub fn quote(record: &Record, prev: &Digest, line: &Line, book: &OrderBook) -> String {
    wire::write_event(&record.stamped, &record.written, prev, line, book, None)
}

/// Reads lines that were quoted one after the other, from what carriers are called at first. What cannot be read is left out:
/// it names what another shift has not.
pub fn unquote(quoted: &[String], line: &Line, book: &OrderBook) -> Vec<Record> {
    let mut book = book.clone();
    let mut records = Vec::new();
    for text in quoted {
        if let Ok((record, _)) = wire::read_event(text.as_bytes(), line, &book, None) {
            if matches!(record.stamped.event, Event::Changed { .. }) {
                wire::learn(&mut book, line, &record.stamped.event);
            }
            records.push(record);
        }
    }
    records
}
