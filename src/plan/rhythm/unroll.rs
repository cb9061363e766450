//! The rhythm as an ordinary schedule, so that it can be judged like one.

use super::Rhythm;
use crate::ids::{CarrierId, Id as _};
use crate::line::Visit;
use crate::schedule::Move;
use crate::units::Time;

/// The moves of the first `carriers` carriers when the first one's load begins at `begin`. Before the first and after the last
/// there is nobody, so a schedule of them starts and ends on an empty line.
pub fn unroll(rhythm: &Rhythm, carriers: usize, begin: Time) -> Vec<Move> {
    let mut moves = Vec::with_capacity(carriers * rhythm.stops.len());
    for k in 0..carriers {
        let load = begin + rhythm.period * k as i64;
        let tank = |i: usize| {
            let stop = &rhythm.stops[i];
            stop.tanks[(k + stop.ahead) % stop.tanks.len()]
        };
        for (i, pair) in rhythm.stops.windows(2).enumerate() {
            let Some(leaves) = pair[0].leaves else { continue };
            moves.push(Move {
                carrier: CarrierId::at(k),
                hoist: pair[0].by,
                from: tank(i),
                to: tank(i + 1),
                leaves: pair[0].visit,
                visit: pair[1].visit,
                start: load + leaves,
                attach: !rhythm.is_on_hook(pair[0].visit),
                release: !rhythm.is_on_hook(pair[1].visit),
            });
        }
    }
    moves
}

impl Rhythm {
    fn is_on_hook(&self, visit: Visit) -> bool {
        self.on_hook.contains(&visit)
    }
}
