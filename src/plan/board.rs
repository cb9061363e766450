//! What is taken already: hoist time, tank time and power, with the free gaps between.

use super::problem::{Haul, Problem};
use super::rail::PathId;
use crate::ids::{Arena, CarrierId, HoistId, TankId};
use crate::line::{Line, Role};
use crate::units::{Dur, Time, Watts};

/// A hoist at work, from the first hook to the last unhook.
#[derive(Debug, Clone, Copy)]
pub(super) struct Block {
    pub start: Time,
    pub end: Time,
    pub hoist: HoistId,
    pub from: TankId,
    pub to: TankId,
    pub path: PathId,
    pub carrier: Option<CarrierId>,
}

/// A span of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Span {
    pub lo: Time,
    pub hi: Time,
}

#[derive(Debug, Clone, Copy)]
struct Taken {
    span: Span,
    carrier: CarrierId,
}

/// Everything that planned carriers take up.
#[derive(Debug, Clone)]
pub(super) struct Board {
    blocks: Vec<Block>,
    tanks: Arena<TankId, Vec<Taken>>,
    power: Vec<(Taken, Watts)>,
}

impl Board {
    /// Nothing planned: hoists where they stand.
    pub fn new(problem: &Problem) -> Self {
        let mut blocks: Vec<Block> = problem
            .state
            .hoists
            .iter()
            .map(|(hoist, h)| {
                let end = problem.free_from(hoist).max(problem.now);
                let path = problem.stand(hoist).0;
                Block { start: Time::PAST, end, hoist, from: h.at, to: h.at, path, carrier: None }
            })
            .collect();
        blocks.sort_by_key(|b| b.end);
        Self { blocks, tanks: problem.line.tanks.iter().map(|_| Vec::new()).collect(), power: Vec::new() }
    }

    /// The spans within `within` in which a haul may start between what is planned.
    pub fn starts(&self, problem: &Problem, haul: &Haul, reserve: Dur, within: Span) -> Vec<Span> {
        if problem.rail.is_alone() {
            self.starts_alone(problem.line, haul, reserve, within)
        } else {
            self.starts_among_others(problem, haul, reserve, within)
        }
    }

    /// One hoist: each span is a gap between two blocks.
    fn starts_alone(&self, line: &Line, haul: &Haul, reserve: Dur, within: Span) -> Vec<Span> {
        let mut spans = Vec::new();
        // The last block that ends before anything of interest: gaps before it cannot matter.
        let first = self.blocks.partition_point(|b| b.end <= within.lo).saturating_sub(1);
        for (i, before) in self.blocks.iter().enumerate().skip(first) {
            if before.end > within.hi {
                break;
            }
            let after_move = if before.carrier.is_some() { reserve } else { Dur::ZERO };
            let lo = before.end + travel(line, haul.hoist, before.to, haul.first().from) + after_move;
            let hi = self.blocks.get(i + 1).map_or(Time::FAR, |next| {
                next.start - travel(line, haul.hoist, haul.last().to, next.from) - haul.total - reserve
            });
            let span = Span { lo: lo.max(within.lo), hi: hi.min(within.hi) };
            if span.lo <= span.hi {
                spans.push(span);
            }
        }
        spans
    }

    /// Several hoists: every block forbids the starts between the last one that comes before it and the first one that
    /// comes after.
    fn starts_among_others(&self, problem: &Problem, haul: &Haul, reserve: Dur, within: Span) -> Vec<Span> {
        let (line, rail) = (problem.line, &problem.rail);
        let (from, to) = (haul.first().from, haul.last().to);
        let mut taken: Vec<(Span, i64)> = Vec::new();
        // No block bears on starts further away than this.
        let reach = Dur(rail.longest_lag()) + reserve;
        let first = self.blocks.partition_point(|b| b.carrier.is_none() || b.start + reach <= within.lo);
        let last = self.blocks.partition_point(|b| b.start - reach <= within.hi);
        let stands = self.blocks.iter().take_while(|b| b.carrier.is_none());
        for block in stands.chain(&self.blocks[first..last.max(first)]) {
            let spare = if block.carrier.is_some() { reserve } else { Dur::ZERO };
            let (before, after) = if block.hoist == haul.hoist {
                let before = haul.total + travel(line, haul.hoist, to, block.from) + spare;
                (block.start - before, block.end + travel(line, haul.hoist, block.to, from) + spare)
            } else {
                let before = Dur(rail.lag(haul.path, block.path)) + spare;
                let start = if block.carrier.is_none() { problem.now } else { block.start };
                let after = Dur(rail.lag(block.path, haul.path)) + spare;
                (start - before.or_zero(), start + after.or_zero())
            };
            // What has happened cannot come later.
            let lo = if block.carrier.is_none() { Time::PAST } else { before + Dur(1) };
            if lo < after {
                taken.push((Span { lo, hi: after }, 1));
            }
        }
        let free = room(taken, 0).into_iter();
        let narrowed = free.map(|s| Span { lo: s.lo.max(within.lo), hi: (s.hi - Dur(1)).min(within.hi) });
        narrowed.filter(|s| s.lo <= s.hi).collect()
    }

    /// The spans in which `carrier` may have a tank, given what others take of it and of the power.
    pub fn free(
        &self,
        problem: &Problem,
        tank: TankId,
        carrier: CarrierId,
        power: Option<Watts>,
    ) -> Vec<Span> {
        let t = &problem.line.tanks[tank];
        if matches!(t.role, Role::Station { .. }) {
            return vec![Span { lo: Time::PAST, hi: Time::FAR }];
        }
        let others = self.tanks[tank].iter().filter(|x| x.carrier != carrier).map(|x| (x.span, 1_i64));
        let spans = room(others.collect(), i64::from(t.capacity) - 1);
        match (power, problem.line.power_cap) {
            (Some(own), Some(cap)) => {
                let others =
                    self.power.iter().filter(|(x, _)| x.carrier != carrier).map(|(x, w)| (x.span, w.0));
                intersect(&spans, &room(others.collect(), cap.0 - own.0))
            }
            _ => spans,
        }
    }

    /// Takes hoist time for a haul that starts at `start`.
    pub fn take_hoist(&mut self, haul: &Haul, start: Time, carrier: CarrierId) {
        let block = Block {
            start,
            end: start + haul.total,
            hoist: haul.hoist,
            from: haul.first().from,
            to: haul.last().to,
            path: haul.path,
            carrier: Some(carrier),
        };
        let at = self.blocks.partition_point(|b| b.start <= start);
        self.blocks.insert(at, block);
    }

    /// Takes the time of a hoist that holds on to a carrier over a tank and does nothing else.
    pub fn hang(&mut self, hoist: HoistId, over: TankId, span: Span, (carrier, path): (CarrierId, PathId)) {
        if span.lo < span.hi {
            let (start, end, carrier) = (span.lo, span.hi, Some(carrier));
            let at = self.blocks.partition_point(|b| b.start <= start);
            self.blocks.insert(at, Block { start, end, hoist, from: over, to: over, path, carrier });
        }
    }

    /// Takes a tank from the lift of the move that comes until the tank is clear again.
    pub fn take_tank(&mut self, tank: TankId, span: Span, carrier: CarrierId) {
        self.tanks[tank].push(Taken { span, carrier });
    }

    /// Takes power.
    pub fn take_power(&mut self, span: Span, carrier: CarrierId, watts: Watts) {
        self.power.push((Taken { span, carrier }, watts));
    }

    /// Gives back everything a carrier has taken.
    pub fn release(&mut self, carrier: CarrierId) {
        self.blocks.retain(|b| b.carrier != Some(carrier));
        for tank in self.tanks.ids() {
            self.tanks[tank].retain(|t| t.carrier != carrier);
        }
        self.power.retain(|(t, _)| t.carrier != carrier);
    }
}

/// Empty travel, never where a hoist cannot go.
fn travel(line: &Line, hoist: HoistId, from: TankId, to: TankId) -> Dur {
    line.empty_travel(hoist, from, to).unwrap_or(Dur::UNLIMITED)
}

/// The maximal spans in which the sum over `taken` stays at or below `limit`. Touching ends do not add up.
fn room(taken: Vec<(Span, i64)>, limit: i64) -> Vec<Span> {
    let mut edges: Vec<(Time, i64)> = taken.into_iter().flat_map(|(s, w)| [(s.lo, w), (s.hi, -w)]).collect();
    // At equal times what ends goes first.
    edges.sort_unstable();
    let mut spans = Vec::new();
    let mut level = 0;
    let mut open = (limit >= 0).then_some(Time::PAST);
    for (at, change) in edges {
        level += change;
        match open {
            Some(lo) if level > limit => {
                spans.push(Span { lo, hi: at });
                open = None;
            }
            None if level <= limit => open = Some(at),
            _ => {}
        }
    }
    spans.extend(open.map(|lo| Span { lo, hi: Time::FAR }));
    spans
}

fn intersect(a: &[Span], b: &[Span]) -> Vec<Span> {
    let mut both = Vec::new();
    for x in a {
        for y in b {
            let span = Span { lo: x.lo.max(y.lo), hi: x.hi.min(y.hi) };
            if span.lo < span.hi {
                both.push(span);
            }
        }
    }
    both
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn room_is_what_is_left_under_the_limit() {
        let span = |lo, hi| Span { lo: Time(lo), hi: Time(hi) };
        // Two things of weight 1 overlap in 5..7; under a limit of 1 only that is full.
        let spans = room(vec![(span(0, 7), 1), (span(5, 9), 1)], 1);
        assert_eq!(spans, [Span { lo: Time::PAST, hi: Time(5) }, Span { lo: Time(7), hi: Time::FAR }]);
        // Back to back leaves no room and no overlap either.
        let spans = room(vec![(span(0, 5), 1), (span(5, 9), 1)], 0);
        assert_eq!(spans.first(), Some(&Span { lo: Time::PAST, hi: Time(0) }));
        assert_eq!(spans.last(), Some(&Span { lo: Time(9), hi: Time::FAR }));
    }
}
