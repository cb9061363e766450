//! What is taken already: hoist time, tank time and power, with the free gaps between.

use super::problem::{Haul, Problem};
use crate::ids::{Arena, CarrierId, HoistId, TankId};
use crate::line::{Line, Role};
use crate::units::{Dur, Time, Watts};

/// A hoist at work, from the first hook to the last unhook.
///
/// With several hoists on the rail only one carries a load at a time here; the others give way. That is always safe
/// and never the best.
#[derive(Debug, Clone, Copy)]
pub(super) struct Block {
    pub start: Time,
    pub end: Time,
    pub hoist: HoistId,
    pub from: TankId,
    pub to: TankId,
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
                let end = h.free_from.max(problem.now);
                Block { start: Time::PAST, end, hoist, from: h.at, to: h.at, carrier: None }
            })
            .collect();
        blocks.sort_by_key(|b| b.end);
        Self { blocks, tanks: problem.line.tanks.iter().map(|_| Vec::new()).collect(), power: Vec::new() }
    }

    /// Empty travel between two blocks' ends, or what a change of hoist costs.
    fn change(line: &Line, before: &Block, hoist: HoistId, to: TankId) -> Dur {
        if before.hoist == hoist {
            line.empty_travel(hoist, before.to, to).unwrap_or(Dur::UNLIMITED)
        } else {
            // The other hoist must first get out of the way: allow for the whole rail.
            line.tanks
                .ids()
                .filter_map(|t| line.empty_travel(hoist, t, to))
                .chain(line.tanks.ids().filter_map(|t| line.empty_travel(before.hoist, before.to, t)))
                .max()
                .unwrap_or(Dur::UNLIMITED)
        }
    }

    /// The spans in which a haul may start, each a gap between two blocks, within `within`.
    pub fn starts(&self, line: &Line, haul: &Haul, reserve: Dur, within: Span) -> impl Iterator<Item = Span> {
        let mut spans = Vec::new();
        // The last block that ends before anything of interest: gaps before it cannot matter.
        let first = self.blocks.partition_point(|b| b.end <= within.lo).saturating_sub(1);
        for (i, before) in self.blocks.iter().enumerate().skip(first) {
            if before.end > within.hi {
                break;
            }
            if before.carrier.is_none() && self.blocks.get(i + 1).is_some_and(|b| b.carrier.is_none()) {
                continue;
            }
            // Before anything has moved each hoist stands at its own place.
            let own = self.blocks.iter().take_while(|b| b.carrier.is_none()).find(|b| b.hoist == haul.hoist);
            let before = if before.carrier.is_none() { own.unwrap_or(before) } else { before };
            let after_move = if before.carrier.is_some() { reserve } else { Dur::ZERO };
            let lo = before.end + Self::change(line, before, haul.hoist, haul.first().from) + after_move;
            let hi = self.blocks.get(i + 1).map_or(Time::FAR, |next| {
                let own = Block {
                    start: Time::ZERO,
                    end: Time::ZERO,
                    hoist: haul.hoist,
                    from: haul.first().from,
                    to: haul.last().to,
                    carrier: None,
                };
                next.start - Self::change(line, &own, next.hoist, next.from) - haul.total - reserve
            });
            let span = Span { lo: lo.max(within.lo), hi: hi.min(within.hi) };
            if span.lo <= span.hi {
                spans.push(span);
            }
        }
        spans.into_iter()
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
            carrier: Some(carrier),
        };
        let at = self.blocks.partition_point(|b| b.start <= start);
        self.blocks.insert(at, block);
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
