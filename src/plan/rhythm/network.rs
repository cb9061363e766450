//! Difference constraints whose bounds depend on the period: `y[to] - y[from] >= a - k * period`.
//!
//! A cycle of such constraints sums to `A - K * period <= 0`. One with `K > 0` asks for a period of at least `A / K`, one
//! with `K <= 0` and a positive sum cannot be mended by a longer one. Lifting the period from cycle to cycle until none is
//! left gives the least period exactly: every step is forced, and all numbers are whole.

/// One constraint; times in ms. Kept small: a search walks over millions of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Arc {
    a: i64,
    k: i32,
    from: u16,
    to: u16,
    /// What it stands for, when somebody asks what binds.
    pub why: Why,
}

/// Where a constraint comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Why {
    /// The hoist has to do one job after the other.
    Hoist,
    /// The shortest soak of a treatment.
    Soak(u16),
    /// The longest soak of a treatment.
    Window(u16),
    /// Another hoist is in the way.
    Rail,
}

impl Arc {
    /// `y[to] - y[from] >= a - k * period`.
    pub fn new(from: usize, to: usize, a: i64, k: i64, why: Why) -> Self {
        Self { a, k: k as i32, from: from as u16, to: to as u16, why }
    }

    /// The same with the time of `to` counted from the begin of a period so many later than that of `from`.
    pub fn later(self, periods: i64) -> Self {
        Self { k: self.k + periods as i32, ..self }
    }

    pub fn from(&self) -> usize {
        usize::from(self.from)
    }

    pub fn to(&self) -> usize {
        usize::from(self.to)
    }

    /// The least difference at a period.
    pub fn least(&self, period: i64) -> i64 {
        self.a - i64::from(self.k) * period
    }
}

/// Scratch that is kept between calls.
#[derive(Debug, Default)]
pub(super) struct Lifter {
    pred: Vec<usize>,
    seen: Vec<usize>,
    /// Arcs of the last cycle that lifted the period, as indices.
    pub critical: Vec<usize>,
}

const NONE: usize = usize::MAX;

impl Lifter {
    /// The least period not below `period` and below `cap` for which times exist; `y` then holds such times. `y` may start
    /// anywhere.
    pub fn least(&mut self, arcs: &[Arc], y: &mut [i64], mut period: i64, cap: i64) -> Option<i64> {
        if period >= cap {
            return None;
        }
        self.reset(y.len());
        loop {
            let mut changed = false;
            for (ix, arc) in arcs.iter().enumerate() {
                let least = y[arc.from()] + arc.least(period);
                if least > y[arc.to()] {
                    y[arc.to()] = least;
                    self.pred[arc.to()] = ix;
                    changed = true;
                }
            }
            if !changed {
                return Some(period);
            }
            let Some(on) = self.cycle(arcs) else { continue };
            let (a, k) = self.sum(arcs, on);
            if k <= 0 {
                return None;
            }
            period = a.div_euclid(k) + i64::from(a.rem_euclid(k) != 0);
            if period >= cap {
                return None;
            }
            self.reset(y.len());
        }
    }

    fn reset(&mut self, n: usize) {
        self.pred.clear();
        self.pred.resize(n, NONE);
    }

    /// A node on a cycle of the predecessors: proof that times only rise for ever.
    fn cycle(&mut self, arcs: &[Arc]) -> Option<usize> {
        let n = self.pred.len();
        self.seen.clear();
        self.seen.resize(n, NONE);
        for start in 0..n {
            let mut at = start;
            while self.seen[at] == NONE {
                self.seen[at] = start;
                if self.pred[at] == NONE {
                    break;
                }
                at = arcs[self.pred[at]].from();
            }
            if self.seen[at] == start && self.pred[at] != NONE {
                return Some(at);
            }
        }
        None
    }

    fn sum(&mut self, arcs: &[Arc], on: usize) -> (i64, i64) {
        let (mut a, mut k, mut at) = (0, 0, on);
        self.critical.clear();
        loop {
            let ix = self.pred[at];
            let arc = &arcs[ix];
            self.critical.push(ix);
            a += arc.a;
            k += i64::from(arc.k);
            at = arc.from();
            if at == on {
                return (a, k);
            }
        }
    }
}
