//! Every order and every period tried in turn. Shares nothing with the search but the words.

use dwellhand::plan::rhythm::Tables;
use dwellhand::rng::Rng;
use dwellhand::units::Dur;

/// A whole number from `lo` to `hi`.
pub fn pick(rng: &mut Rng, lo: i64, hi: i64) -> i64 {
    lo + rng.below((hi - lo + 1) as usize) as i64
}

/// Stations strewn over a rail; windows tight, loose or open by turns; now and then a window at the station.
pub fn random_tables(rng: &mut Rng, round: usize) -> Tables {
    let n = pick(rng, 1, 5) as usize;
    let place: Vec<i64> = (0..=n).map(|_| pick(rng, 0, 6)).collect();
    let at = |treatment: usize| place[treatment % (n + 1)];
    let min: Vec<Dur> = (0..n).map(|_| Dur(pick(rng, 0, 25))).collect();
    let max = min
        .iter()
        .map(|m| match round % 4 {
            0 => *m + Dur(pick(rng, 0, 3)),
            1 => *m + Dur(pick(rng, 0, 20)),
            2 => *m + Dur(pick(rng, 10, 60)),
            _ => Dur::UNLIMITED,
        })
        .collect();
    let loaded = (0..=n).map(|i| Dur(2 + (at(i + 1) - at(i)).abs() + pick(rng, 0, 2))).collect();
    let empty = (0..=n).map(|i| (0..=n).map(|j| Dur((at(i + 1) - at(j)).abs())).collect()).collect();
    let station = (round % 5 == 4).then(|| {
        let least = pick(rng, 0, 20);
        (Dur(least), Dur(least + pick(rng, 0, 30)))
    });
    Tables { min, max, loaded, empty, station }
}

/// The least period, by trying them all.
pub fn least_period(t: &Tables) -> Option<i64> {
    let alone: i64 = t.loaded.iter().chain(&t.min).map(|d| d.0).sum::<i64>() + 100;
    (1..=alone).find(|period| orders(t.loaded.len()).iter().any(|order| is_possible(t, order, *period)))
}

/// Every order of `0..n` that begins with 0.
pub fn orders(n: usize) -> Vec<Vec<usize>> {
    let mut orders = vec![vec![0]];
    for _ in 1..n {
        let longer = orders.iter().flat_map(|order: &Vec<usize>| {
            (1..n).filter(|i| !order.contains(i)).map(|i| [order.as_slice(), &[i]].concat())
        });
        orders = longer.collect();
    }
    orders
}

fn is_possible(t: &Tables, order: &[usize], period: i64) -> bool {
    let moves = t.loaded.len();
    let mut place = vec![0; moves];
    for (at, i) in order.iter().enumerate() {
        place[*i] = at;
    }
    // (from, to, least difference)
    let mut rules: Vec<(usize, usize, i64)> = Vec::new();
    for i in 0..moves {
        for j in (0..moves).filter(|j| *j != i) {
            let apart = t.loaded[i].0 + t.empty[i][j].0;
            rules.push((i, j, if place[i] < place[j] { apart } else { apart - period }));
        }
    }
    for i in 1..moves {
        let later = if place[i - 1] < place[i] { 0 } else { period };
        rules.push((i - 1, i, t.loaded[i - 1].0 + t.min[i - 1].0 - later));
        if !t.max[i - 1].is_unlimited() {
            rules.push((i, i - 1, later - t.loaded[i - 1].0 - t.max[i - 1].0));
        }
    }
    if let Some((least, most)) = t.station {
        rules.push((moves - 1, 0, t.loaded[moves - 1].0 + least.0 - period));
        rules.push((0, moves - 1, period - t.loaded[moves - 1].0 - most.0));
    }
    holds(moves, &rules)
}

/// True if times exist that keep all rules: no round of differences adds up to more than nothing.
pub fn holds(n: usize, rules: &[(usize, usize, i64)]) -> bool {
    let mut y = vec![0_i64; n];
    for _ in 0..=n {
        let mut still = true;
        for (i, j, d) in rules {
            if y[*i] + d > y[*j] {
                y[*j] = y[*i] + d;
                still = false;
            }
        }
        if still {
            return true;
        }
    }
    false
}
