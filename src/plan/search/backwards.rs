//! The same problem with time running backwards: every order read from its end is an order of that one, and as good.
//!
//! Putting carriers in packs them towards the beginning, and there towards the end. What cannot be bettered the one way often
//! can the other, and stays so when it is read from the front again (forward-backward improvement and justification in
//! project scheduling: Li and Willis 1992; Valls, Ballestin and Quintanilla 2005; from memory).
//!
//! A haul runs from its tank to the one before; when it starts is when it ended. Only for lines on which nothing has started: what is
//! under way ends, backwards, at an instant that no end of the work moves. Due times mean nothing backwards, and where hoists
//! share the rail a haul within the time of another one may not turn; what came of it is judged forwards, as everything is.

use std::rc::Rc;

use super::core::{Core, Job, NEVER, Place};
use super::draft::{Draft, HEAD, NONE};
use super::route::{self, Stop};
use crate::ids::Id as _;
use crate::line::Visit;

/// The problem backwards, and which trip is which.
pub struct Mirror<'p, 's> {
    pub core: Core<'p, 's>,
    maps: Vec<Rc<Maps>>,
}

/// The trips of a job, by the stop they begin at and their number there, as they are the other way round.
#[derive(Default)]
struct Maps {
    there: Vec<Vec<(usize, usize)>>,
    back: Vec<Vec<(usize, usize)>>,
}

/// Who reads an order from its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Towards {
    /// It becomes one that runs backwards.
    Backwards,
    /// It becomes one that runs as time does.
    Forwards,
}

/// What begins later than this is told when to begin, and that cannot be told backwards.
const AT_ONCE: i64 = 60_000;

impl<'p, 's> Mirror<'p, 's> {
    /// `None` where something has started or may not start yet.
    pub fn of(core: &Core<'p, 's>) -> Option<Self> {
        let fixed = |j: usize| core.jobs[j].live || core.task(j).rank.is_some();
        if !core.under_way.is_empty() || (0..core.jobs.len()).any(fixed) {
            return None;
        }
        let mut jobs: Vec<Job> = Vec::with_capacity(core.jobs.len());
        let mut maps: Vec<Rc<Maps>> = Vec::with_capacity(core.jobs.len());
        for (j, job) in core.jobs.iter().enumerate() {
            let like = (0..j).find(|&k| Rc::ptr_eq(&core.jobs[k].stops, &job.stops));
            let (stops, map) = match like {
                Some(k) => (Rc::clone(&jobs[k].stops), Rc::clone(&maps[k])),
                None => turned(core, job)?,
            };
            let place = |s: &Stop| Place { visit: s.visit, tank: s.tank, lift: (core.problem.now.0, NEVER) };
            let places = stops.iter().take_while(|s| s.beginning).map(place).collect();
            jobs.push(Job { places, stops, due: None, ..job.clone() }.with_least());
            maps.push(map);
        }
        Some(Self { core: core.backwards(jobs), maps })
    }

    /// Sets a draft to what another one is, read from its end. False if that does not hold there; then it is of no use.
    pub fn turn(&self, from: &Draft, to: &mut Draft, towards: Towards) -> bool {
        to.clear();
        let mut hauls = Vec::new();
        let mut id = from.nodes[HEAD].next;
        while id != NONE {
            let node = &from.nodes[id];
            let map = &self.maps[node.job];
            let way = from.way(id);
            let (at, forth) = match towards {
                Towards::Backwards => (map.there[way.0][way.1], from.trip(id)),
                Towards::Forwards => {
                    let at = map.back[way.0][way.1];
                    (at, &to.core.jobs[node.job].stops[at.0].trips[at.1])
                }
            };
            hauls.push((node.start + forth.figures.total, node.job, at));
            id = node.next;
        }
        // Where hoists share the rail, what starts first need not end first.
        hauls.reverse();
        hauls.sort_by_key(|(end, ..)| std::cmp::Reverse(*end));
        let mut slot = HEAD;
        for (_, job, (stop, trip)) in hauls {
            if !to.insert(job, stop, trip, slot) {
                return false;
            }
            slot = to.last(job).unwrap_or(HEAD);
        }
        to.settle();
        true
    }
}

/// The stops of a job backwards, first where it begins, and which trip is which.
fn turned(core: &Core, job: &Job) -> Option<(Rc<[Stop]>, Rc<Maps>)> {
    let now = core.problem.now.0;
    let stops = &job.stops;
    let (ends, rest): (Vec<usize>, Vec<usize>) =
        (0..stops.len()).partition(|&i| stops[i].visit == Visit::Unload);
    // What ends in a bath has it for good, and backwards it would have to be there from the beginning.
    if ends.iter().any(|&i| !core.station[stops[i].tank.ix()]) {
        return None;
    }
    let mut at = vec![0; stops.len()];
    for (new, &old) in ends.iter().chain(&rest).enumerate() {
        at[old] = new;
    }
    let mut backwards: Vec<Stop> = ends.iter().chain(&rest).map(|&i| stops[i].backwards()).collect();
    let mut maps = Maps { there: vec![Vec::new(); stops.len()], back: vec![Vec::new(); stops.len()] };
    for (i, stop) in stops.iter().enumerate() {
        for (n, trip) in stop.trips.iter().enumerate() {
            if trip.figures.lower > now + AT_ONCE || trip.figures.upper < NEVER / 2 {
                return None;
            }
            let from = at[trip.to];
            let turned = trip.backwards(&backwards[from], at[i], stop.beginning, now);
            maps.there[i].push((from, backwards[from].trips.len()));
            maps.back[from].push((i, n));
            backwards[from].trips.push(turned);
        }
    }
    route::set_tails(&mut backwards);
    Some((backwards.into(), Rc::new(maps)))
}

#[cfg(test)]
mod tests {
    use super::super::cost::Cost;
    use super::super::load;
    use super::*;
    use crate::plan::basis::Basis;
    use crate::plan::problem::Problem;
    use crate::plan::{Reserve, Settings};
    use crate::shift::State;
    use crate::units::{Dur, Time};

    /// A plan of the demo's queue, all of it racked, read from its end and from its front again: the same hauls, as long either way
    /// but for the hoist's way to the first load.
    #[test]
    fn an_order_read_from_its_end_takes_as_long_and_turns_back_into_itself() {
        let (line, recipes, orders) = crate::files::demo();
        let mut line = crate::files::read_line(line, recipes).unwrap().value;
        line.power_cap = None;
        let mut book = crate::files::read_orders(orders, &line, None).unwrap().value.book;
        for n in 0..book.carriers.len() {
            book.carriers[crate::ids::CarrierId::at(n)].ready = Time::ZERO;
        }
        let state = State::opened(&line, book);
        // Past the heating of the baths.
        let now = Time::from_secs(3 * 3600);
        for reserve in [Reserve::NONE, Reserve::all(Dur::from_secs(10))] {
            let settings = Settings { reserve, ..Settings::default() };
            let moves = crate::plan::plan(&line, &state, now, &settings).moves;
            let basis = Basis::new(&line, &state, now, &settings, |_| false);
            let problem = Problem::new(&basis, now);
            let rules = crate::plan::way::Rules { reserve };
            let core = Core::new(&problem, rules, &moves).unwrap();
            let draft = load::load(&core, &moves).unwrap();
            let mirror = Mirror::of(&core).unwrap();
            let mut back = Draft::new(&mirror.core);
            assert!(mirror.turn(&draft, &mut back, Towards::Backwards));
            let mut again = Draft::new(&core);
            assert!(mirror.turn(&back, &mut again, Towards::Forwards));
            assert_eq!(Cost::of(&again), Cost::of(&draft));
            let to_first = core.first.iter().flatten().filter(|t| **t < NEVER / 2).max().unwrap() - now.0;
            let (forth, turned) = (Cost::of(&draft).end, Cost::of(&back).end);
            assert!((turned - forth).abs() <= to_first + reserve.longest().0, "{forth} and {turned}");
            let hauls = |d: &Draft| load::unload(d).len();
            assert_eq!(hauls(&draft), hauls(&again));
        }
    }

    /// Its baths still heat up, and some of its orders come later: what may not start yet cannot be told backwards.
    #[test]
    fn a_line_that_still_heats_up_has_no_mirror() {
        let (line, recipes, orders) = crate::files::demo();
        let line = crate::files::read_line(line, recipes).unwrap().value;
        let book = crate::files::read_orders(orders, &line, None).unwrap().value.book;
        let state = State::opened(&line, book);
        let settings = Settings::default();
        let basis = Basis::new(&line, &state, Time::ZERO, &settings, |_| false);
        let problem = Problem::new(&basis, Time::ZERO);
        let rules = crate::plan::way::Rules { reserve: settings.reserve };
        let core = Core::new(&problem, rules, &[]).unwrap();
        assert!(Mirror::of(&core).is_none());
    }
}
