//! Which hoist does which job: every way that could be shorter than what is known, the most promising first.

use super::plant::{Choice, Plant, is_short, round};
use super::team::Team;
use crate::ids::HoistId;
use crate::units::Dur;

/// No more ways to deal out the jobs are tried; the bound allows for the others.
const MOST: usize = 4096;
/// No more ways are looked at.
const MOST_LOOKED_AT: usize = 100_000;

/// Every way that is worth a search.
pub(super) struct Crews {
    /// With a bound each, the least first.
    pub ways: Vec<(i64, Choice, Team)>,
    /// No other way is shorter than this.
    pub rest: i64,
}

struct Way {
    bound: i64,
    /// How often a carrier changes hoists.
    changes: usize,
    choice: usize,
    by: Vec<HoistId>,
}

/// All ways with at least two hoists at work and a bound below `cap`.
pub(super) fn crews(plant: &Plant<'_>, cap: i64) -> Crews {
    let (mut choices, all) = plant.choices();
    let mut rest = if all { cap } else { 0 };
    choices.retain(is_short);
    let mut ways: Vec<Way> = Vec::new();
    for (at, choice) in choices.iter().enumerate() {
        let before = ways.len();
        let least = deal(plant, choice, at, cap, &mut ways);
        if ways.len() >= MOST_LOOKED_AT {
            ways.truncate(before);
            rest = rest.min(least);
        }
    }
    ways.sort_by_key(|w| (w.bound, w.changes));
    if let Some(first) = ways.get(MOST) {
        rest = rest.min(first.bound);
        ways.truncate(MOST);
    }
    let mut found = Vec::new();
    for way in ways {
        let choice = Choice { by: way.by, ..choices[way.choice].clone() };
        match plant.team(&choice) {
            Ok(team) => {
                let bound = team.floor().max(way.bound);
                if bound < cap {
                    found.push((bound, choice, team));
                }
            }
            // Tables that say nothing of some empty way: another order might do without it.
            Err(super::NoRhythm::NoWay { .. }) => rest = rest.min(way.bound),
            Err(_) => {}
        }
    }
    // A stable sort: fewer changes of hoist first among equals.
    found.sort_by_key(|(bound, ..)| *bound);
    Crews { ways: found, rest }
}

/// Adds the ways to deal out the jobs with these tanks. Gives a period that none of them is shorter than.
fn deal(plant: &Plant<'_>, choice: &Choice, at: usize, cap: i64, ways: &mut Vec<Way>) -> i64 {
    let jobs = plant.jobs();
    let work: Vec<Vec<Option<i64>>> = jobs
        .iter()
        .map(|j| plant.hoists.iter().map(|h| work(plant, choice, j.first..=j.last, *h)).collect())
        .collect();
    let least = |of: &Vec<Option<i64>>| of.iter().flatten().min().copied().unwrap_or(cap);
    let shared = work.iter().map(least).sum::<i64>().div_euclid(plant.hoists.len() as i64);
    let least = plant.least_stay(choice).max(shared);
    let mut load = vec![0; plant.hoists.len()];
    let mut taken: Vec<usize> = Vec::new();
    let mut next = 0;
    // Depth first, hoist after hoist for each job.
    loop {
        let job = taken.len();
        let way = (job < jobs.len())
            .then(|| (next..load.len()).find_map(|h| Some((h, work[job][h].filter(|w| load[h] + w < cap)?))))
            .flatten();
        if let Some((hoist, more)) = way {
            load[hoist] += more;
            taken.push(hoist);
            next = 0;
            continue;
        }
        if job == jobs.len() && taken.iter().any(|h| *h != taken[0]) && least < cap {
            let mut by = choice.by.clone();
            for (job, hoist) in jobs.iter().zip(&taken) {
                by[job.first..=job.last].fill(plant.hoists[*hoist]);
            }
            let changes = taken.windows(2).filter(|p| p[0] != p[1]).count();
            ways.push(Way { bound: load.iter().copied().fold(least, i64::max), changes, choice: at, by });
            if ways.len() >= MOST_LOOKED_AT {
                return least;
            }
        }
        let Some(last) = taken.pop() else { return least };
        load[last] -= work[taken.len()][last].unwrap_or(0);
        next = last + 1;
    }
}

/// The least time the hoist is busy with a job; `None` if it cannot do it.
fn work(
    plant: &Plant<'_>,
    choice: &Choice,
    moves: std::ops::RangeInclusive<usize>,
    hoist: HoistId,
) -> Option<i64> {
    let mut total = Dur::ZERO;
    for i in moves {
        let tank = |i: usize, k: usize| plant.places[choice.turns[i].slot(k)];
        let mut least = Dur::UNLIMITED;
        for k in 0..round(choice) {
            least = least.min(plant.phases(i, hoist, tank(i, k), tank(i + 1, k)).ok()?.total());
        }
        total += least;
    }
    Some(total.0)
}
