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
    /// While a crane stood, as far as somebody said so; by time. A crew that stands still does so once, however many stand.
    pub stops: Vec<Stop>,
    /// The same for each crane.
    pub stood: Vec<Stood>,
    /// What was said about the line and the orders meanwhile, by time.
    pub said: Vec<(Time, Command)>,
}

/// A crane that stood.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stood {
    /// Which.
    pub hoist: HoistId,
    /// From when on.
    pub from: Time,
    /// Up to when; as far as is known, where it goes on.
    pub until: Time,
    /// It still stands.
    pub goes_on: bool,
}

/// A stop that nothing has ended yet, with the end that was said.
struct Standing {
    hoist: HoistId,
    from: Time,
    said: Option<Time>,
}

impl Met {
    /// What the shift met with up to `now`.
    pub fn of(history: &History, now: Time) -> Self {
        let mut met = Self::default();
        let mut standing: Vec<Standing> = Vec::new();
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
                        Change::StopHoist { hoist, until, .. } => {
                            met.stops_at(&mut standing, *hoist, at, *until);
                        }
                        Change::RunHoist { hoist } => met.runs_again(&mut standing, *hoist, at),
                        _ => {}
                    }
                }
                Event::Lifted { hoist, .. } => met.runs_again(&mut standing, *hoist, at),
                _ => {}
            }
        }
        for Standing { hoist, from, said } in standing {
            let over = said.filter(|t| *t <= now);
            met.stood.push(Stood { hoist, from, until: over.unwrap_or(now), goes_on: over.is_none() });
        }
        met.said.sort_by_key(|(at, _)| *at);
        met.stood.sort_by_key(|s| s.from);
        met.stops = met.stood.iter().map(|s| Stop { from: s.from, until: s.until }).collect();
        met.stops.dedup_by(|next, stop| {
            let joins = next.from <= stop.until;
            if joins {
                stop.until = stop.until.max(next.until);
            }
            joins
        });
        met
    }

    /// A crane stops. One that stands already goes on to stand, with another end.
    fn stops_at(&mut self, standing: &mut Vec<Standing>, hoist: HoistId, at: Time, said: Option<Time>) {
        if let Some(stop) = standing.iter_mut().find(|s| s.hoist == hoist && s.said.is_none_or(|t| t >= at)) {
            stop.said = said;
        } else {
            self.runs_again(standing, hoist, at);
            standing.push(Standing { hoist, from: at, said });
        }
    }

    /// A crane runs, at the latest from `at` on.
    fn runs_again(&mut self, standing: &mut Vec<Standing>, hoist: HoistId, at: Time) {
        if let Some(k) = standing.iter().position(|s| s.hoist == hoist) {
            let Standing { from, said, .. } = standing.remove(k);
            let until = said.map_or(at, |said| said.min(at));
            self.stood.push(Stood { hoist, from, until, goes_on: false });
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
