//! How people really move, as it was learned from confirmed moves: what the plan reckons with in place of the line file.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::command::Refusal;
use super::state::State;
use crate::ids::HoistId;
use crate::line::{Hoist, Lift, Line, Travel};
use crate::units::Dur;

/// Learned pace.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Pace {
    /// How long loaded moves of a hoist take in the middle of all cases, in thousandths of what its file says. A hoist that
    /// has made too few is not in it.
    pub stretch: BTreeMap<HoistId, u16>,
    /// Time to keep free around a move with an air limit; `None` where too few were made. The same for the others.
    pub critical: Option<Dur>,
    /// Into a short window.
    pub short: Option<Dur>,
    /// All other moves.
    pub other: Option<Dur>,
}

/// What can be people's pace; anything else is a wrong file or a wrong clock.
const STRETCH: std::ops::RangeInclusive<u16> = 500..=3000;
const MOST_RESERVE: Dur = Dur::from_secs(600);

impl Pace {
    /// Says what is wrong with a pace on a line.
    pub fn checked(&self, line: &Line) -> Result<(), Refusal> {
        let no = |why: String| Err(Refusal::ImpossibleChange { why });
        for (hoist, stretch) in &self.stretch {
            if line.hoists.get(*hoist).is_none() {
                return no("the pace is that of another line".to_owned());
            }
            if !STRETCH.contains(stretch) {
                return no(format!("moves that take {stretch} thousandths of the model's time are no pace"));
            }
        }
        let reserves = [self.critical, self.short, self.other];
        match reserves.into_iter().flatten().find(|r| !(Dur::ZERO..=MOST_RESERVE).contains(r)) {
            Some(reserve) => no(format!("a reserve of {reserve} is no pace")),
            None => Ok(()),
        }
    }

    /// The hoist as people run it.
    pub fn run(&self, id: HoistId, hoist: &Hoist) -> Hoist {
        self.stretch.get(&id).map_or_else(|| hoist.clone(), |stretch| timed(hoist, *stretch))
    }
}

/// The hoist with every time of it longer by so many thousandths: speeds by the factor, accelerations by its square, so that
/// trapezoid and triangle both take exactly that much longer.
fn timed(hoist: &Hoist, stretch: u16) -> Hoist {
    let factor = f64::from(stretch) / 1000.0;
    let longer = |d: Dur| Dur((d.0 * i64::from(stretch) + 500).div_euclid(1000));
    let table =
        |rows: &[Vec<Option<Dur>>]| rows.iter().map(|r| r.iter().map(|d| d.map(longer)).collect()).collect();
    Hoist {
        hook: longer(hoist.hook),
        unhook: longer(hoist.unhook),
        settle: longer(hoist.settle),
        lift: match hoist.lift {
            Lift::Kinematic { height, speed, accel } => {
                Lift::Kinematic { height, speed: speed / factor, accel: accel / (factor * factor) }
            }
            Lift::Fixed { raise, lower } => Lift::Fixed { raise: longer(raise), lower: longer(lower) },
        },
        travel: match &hoist.travel {
            &Travel::Kinematic { speed, accel, decel } => Travel::Kinematic {
                speed: speed / factor,
                accel: accel / (factor * factor),
                decel: decel / (factor * factor),
            },
            Travel::Table { empty, loaded } => Travel::Table { empty: table(empty), loaded: table(loaded) },
        },
        ..hoist.clone()
    }
}

/// Takes up a pace: the hoists of the line file as people run them, slow ones still slow.
pub(super) fn apply(state: &mut State, filed: &Line, pace: &Pace) {
    state.pace = Some(pace.clone());
    let mut line = state.line(filed).clone();
    for (id, hoist) in filed.hoists.iter() {
        let own = pace.run(id, hoist);
        line.hoists[id] = match state.standing.slow.get_mut(&id) {
            Some((percent, full)) => {
                full.clone_from(&own);
                super::change::slowed(&own, *percent)
            }
            None => own,
        };
    }
    state.standing.set_line(Arc::new(line));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::{Id as _, TankId};

    #[test]
    fn every_time_of_a_hoist_is_longer_by_the_factor() {
        let (line, recipes, _) = crate::files::demo();
        let line = crate::files::read_line(line, recipes).unwrap().value;
        let id = HoistId::at(0);
        let pace = Pace { stretch: BTreeMap::from([(id, 1200)]), ..Pace::default() };
        let mut slower = line.clone();
        slower.hoists[id] = pace.run(id, &line.hoists[id]);
        for (from, to) in [(0, 1), (3, 20), (29, 0), (12, 13)] {
            let phases =
                |l: &Line| l.phases(id, TankId::at(from), TankId::at(to), Dur::ZERO, true, true).unwrap();
            let (was, is) = (phases(&line).total(), phases(&slower).total());
            assert!((is.0 * 10 - was.0 * 12).abs() <= 60, "{from} to {to}: {was} became {is}");
        }
    }

    #[test]
    fn what_is_no_pace_is_refused() {
        let (line, recipes, _) = crate::files::demo();
        let line = crate::files::read_line(line, recipes).unwrap().value;
        let of = |hoist, stretch| Pace {
            stretch: BTreeMap::from([(HoistId::at(hoist), stretch)]),
            ..Pace::default()
        };
        assert!(of(0, 1200).checked(&line).is_ok());
        assert!(of(0, 10).checked(&line).is_err());
        assert!(of(9, 1000).checked(&line).is_err());
        let long = Pace { critical: Some(Dur::from_secs(601)), ..Pace::default() };
        assert!(long.checked(&line).is_err());
    }
}
