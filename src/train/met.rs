//! What came from outside on a shift, whoever decides: orders, tanks out, cranes that stand. What a supervisor decided by
//! himself (who is held, parked, reordered, another dwell) is not among it.

use crate::ids::HoistId;
use crate::line::OrderBook;
use crate::shift::{Change, Command, Event, History, counting};
use crate::sim::Stop;
use crate::units::Time;

/// What a shift met with.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Met {
    /// The orders it was opened with.
    pub book: OrderBook,
    /// While a crane stood, as far as somebody said so; by time.
    pub stops: Vec<Stop>,
    /// What was said about the line and the orders meanwhile, by time.
    pub said: Vec<(Time, Command)>,
}

impl Met {
    /// What the shift met with up to `now`.
    pub fn of(history: &History, now: Time) -> Self {
        let mut met = Self::default();
        let mut standing: Vec<(HoistId, Time)> = Vec::new();
        for (stamped, at) in counting(history.events()) {
            match &stamped.event {
                Event::Opened { book } => met.book = book.clone(),
                Event::TankOut { tank, until, why } => {
                    let until = Some(*until).filter(|t| *t < Time::FAR);
                    met.said.push((at, Command::TankOut { tank: *tank, until, why: why.clone() }));
                }
                Event::TankBack { tank } => met.said.push((at, Command::TankBack { tank: *tank })),
                Event::Changed { change, why } if change.comes_from_outside() => {
                    met.said.push((at, Command::Change { change: change.clone(), why: why.clone() }));
                    match change {
                        Change::StopHoist { hoist, .. } => standing.push((*hoist, at)),
                        Change::RunHoist { hoist } => met.runs_again(&mut standing, *hoist, at),
                        _ => {}
                    }
                }
                Event::Lifted { hoist, .. } => met.runs_again(&mut standing, *hoist, at),
                _ => {}
            }
        }
        for (hoist, _) in standing.clone() {
            met.runs_again(&mut standing, hoist, now);
        }
        met.said.sort_by_key(|(at, _)| *at);
        met.stops.sort_by_key(|s| s.from);
        // A crew that stands still does so once, however many hoists stand.
        met.stops.dedup_by(|next, stop| {
            let joins = next.from <= stop.until;
            if joins {
                stop.until = stop.until.max(next.until);
            }
            joins
        });
        met
    }

    fn runs_again(&mut self, standing: &mut Vec<(HoistId, Time)>, hoist: HoistId, at: Time) {
        if let Some(k) = standing.iter().position(|(h, _)| *h == hoist) {
            self.stops.push(Stop { from: standing.remove(k).1, until: at });
        }
    }

    /// The same for people without a program: nobody needs to be told that a crane stands.
    pub fn seen(&self) -> Vec<(Time, Command)> {
        let about_a_crane = |c: &Command| {
            matches!(c, Command::Change { change: Change::StopHoist { .. } | Change::RunHoist { .. }, .. })
        };
        self.said.iter().filter(|(_, c)| !about_a_crane(c)).cloned().collect()
    }
}
