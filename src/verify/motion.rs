//! How long things take and where a hoist is meanwhile, worked out again from the line's raw figures.

use crate::ids::{HoistId, Id, TankId};
use crate::line::{Lift, Line, Travel};
use crate::units::{Dur, Mm, Time};

/// The instants of one loaded move.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Instants {
    /// The hook, or the raise if the hoist is attached already.
    pub start: Time,
    /// The raise begins: the dwell that is left ends.
    pub lift: Time,
    /// The raise is done.
    pub clear: Time,
    /// The drip is done, travel begins.
    pub leave: Time,
    /// Travel is done.
    pub arrive: Time,
    /// The load hangs still, the lower begins.
    pub lower: Time,
    /// The lower is done: the next dwell begins.
    pub down: Time,
    /// The hoist is free again.
    pub end: Time,
}

/// A loaded move as seen by the hoist.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Job {
    /// The hoist.
    pub hoist: HoistId,
    /// Where it picks up.
    pub from: TankId,
    /// Where it puts down.
    pub to: TankId,
    /// Drip over `from`.
    pub drip: Dur,
    /// It takes hold first.
    pub attach: bool,
    /// It lets go at the end.
    pub release: bool,
}

fn whole_ms(seconds: f64) -> Dur {
    // A hair above: a value that is half a millisecond on paper must not depend on the last bit.
    Dur((seconds * 1000.0 + 1e-6).round() as i64)
}

/// Speeding up, cruising and braking times (s) and the top speed reached (m/s) over a distance (m).
fn legs(metres: f64, v: f64, a: f64, d: f64) -> (f64, f64, f64, f64) {
    if metres <= 0.0 {
        return (0.0, 0.0, 0.0, 0.0);
    }
    let peak = v.min((2.0 * metres * a * d / (a + d)).sqrt());
    let run_up = peak * peak / (2.0 * a);
    let run_out = peak * peak / (2.0 * d);
    let cruise = (metres - run_up - run_out).max(0.0) / peak;
    (peak / a, cruise, peak / d, peak)
}

/// Time to cover a distance from standstill to standstill; speeds in m/s, accelerations in m/s2.
pub fn ramp(distance: Mm, v: f64, a: f64, d: f64) -> Dur {
    let (up, cruise, out, _) = legs(distance.0.abs() as f64 / 1000.0, v, a, d);
    whole_ms(up + cruise + out)
}

/// Times of raise and lower.
pub fn stroke(line: &Line, hoist: HoistId) -> (Dur, Dur) {
    match line.hoists[hoist].lift {
        Lift::Fixed { raise, lower } => (raise, lower),
        Lift::Kinematic { height, speed, accel } => {
            let t = ramp(height, speed, accel, accel);
            (t, t)
        }
    }
}

/// True if the hoist can stand over the tank.
pub fn stands_over(line: &Line, hoist: HoistId, tank: TankId) -> bool {
    let h = &line.hoists[hoist];
    let x = line.tanks[tank].position;
    x >= h.reach_from && x <= h.reach_to
}

/// Empty travel; zero at the same tank, `None` where the table has no figure.
pub fn empty(line: &Line, hoist: HoistId, from: TankId, to: TankId) -> Option<Dur> {
    if from == to {
        return Some(Dur::ZERO);
    }
    match &line.hoists[hoist].travel {
        Travel::Kinematic { speed, accel, decel } => {
            Some(ramp(line.tanks[to].position - line.tanks[from].position, *speed, *accel, *decel))
        }
        Travel::Table { empty, .. } => *empty.get(from.ix())?.get(to.ix())?,
    }
}

/// The instants of a loaded move begun at `start`, `None` where the table has no figure.
pub fn loaded(line: &Line, job: &Job, start: Time) -> Option<Instants> {
    let h = &line.hoists[job.hoist];
    let (raise, low) = stroke(line, job.hoist);
    let (travel, settle) = match &h.travel {
        Travel::Kinematic { speed, accel, decel } => {
            let gone = line.tanks[job.to].position - line.tanks[job.from].position;
            (ramp(gone, *speed, *accel, *decel), h.settle)
        }
        // The surveyed figure is raise, travel, settling and lower together.
        Travel::Table { loaded, .. } => {
            let whole = (*loaded.get(job.from.ix())?.get(job.to.ix())?)?;
            (whole - raise - low, Dur::ZERO)
        }
    };
    let lift = if job.attach { start + h.hook } else { start };
    let clear = lift + raise;
    let leave = clear + job.drip;
    let arrive = leave + travel;
    let lower = arrive + settle;
    let down = lower + low;
    let end = if job.release { down + h.unhook } else { down };
    Some(Instants { start, lift, clear, leave, arrive, lower, down, end })
}

/// Part of a hoist's path with constant acceleration; milliseconds and millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Begin.
    pub from: f64,
    /// End.
    pub to: f64,
    /// Position at the begin.
    x: f64,
    /// Speed at the begin.
    v: f64,
    /// Acceleration.
    a: f64,
}

impl Piece {
    /// Standing at a position.
    pub fn still(from: Time, to: Time, at: Mm) -> Self {
        Self { from: from.0 as f64, to: to.0 as f64, x: at.0 as f64, v: 0.0, a: 0.0 }
    }

    /// Position at an instant of this piece.
    pub fn at(&self, t: f64) -> f64 {
        let dt = t - self.from;
        self.x + self.v * dt + self.a * dt * dt / 2.0
    }

    /// The instant inside `(from, to)` at which the distance to another piece is extreme, if there is one.
    pub fn nearest(&self, other: &Self) -> Option<f64> {
        let bend = other.a - self.a;
        if bend.abs() < 1e-12 {
            return None;
        }
        let slope_at_zero = (other.v - other.a * other.from) - (self.v - self.a * self.from);
        Some(-slope_at_zero / bend)
    }
}

/// The path of a loaded move. With table travel the hoist is taken to run at constant speed.
pub fn path(line: &Line, job: &Job, t: &Instants) -> Vec<Piece> {
    let (here, there) = (line.tanks[job.from].position, line.tanks[job.to].position);
    let mut pieces = vec![Piece::still(t.start, t.leave, here)];
    let sign = if there >= here { 1.0 } else { -1.0 };
    let gone = (there - here).0.abs() as f64;
    let mut add = |to: f64, x: f64, v: f64, a: f64| {
        let from = pieces[pieces.len() - 1].to;
        if to > from {
            pieces.push(Piece { from, to, x, v, a });
        }
    };
    let (begin, finish, x0) = (t.leave.0 as f64, t.arrive.0 as f64, here.0 as f64);
    match &line.hoists[job.hoist].travel {
        Travel::Kinematic { speed, accel, decel } => {
            // m/s equals mm/ms; m/s2 is a thousandth of it per ms.
            let (up, cruise, out, peak) = legs(gone / 1000.0, *speed, *accel, *decel);
            let (up, cruise, out) = (up * 1000.0, cruise * 1000.0, out * 1000.0);
            let (a, d) = (sign * accel / 1000.0, sign * decel / 1000.0);
            let v = sign * peak;
            add(begin + up, x0, 0.0, a);
            let x1 = x0 + v * up / 2.0;
            add(begin + up + cruise, x1, v, 0.0);
            add(begin + up + cruise + out, x1 + v * cruise, v, -d);
        }
        Travel::Table { .. } if finish > begin => {
            add(finish, x0, sign * gone / (finish - begin), 0.0);
        }
        Travel::Table { .. } => {}
    }
    add(t.end.0 as f64, there.0 as f64, 0.0, 0.0);
    pieces
}

/// The least time a hoist needs to get a distance away from standstill if it need not stop there: a lower bound.
pub fn flight(line: &Line, hoist: HoistId, distance: f64) -> f64 {
    match &line.hoists[hoist].travel {
        Travel::Kinematic { speed, accel, .. } => {
            let metres = distance.max(0.0) / 1000.0;
            let run_up = speed * speed / (2.0 * accel);
            let seconds = if metres <= run_up {
                (2.0 * metres / accel).sqrt()
            } else {
                speed / accel + (metres - run_up) / speed
            };
            seconds * 1000.0
        }
        // A table knows no positions in between, so no bound can be proven from it.
        Travel::Table { .. } => 0.0,
    }
}

/// The least time a hoist needs to come to a standstill from a distance if it may arrive at any speed.
pub fn approach(line: &Line, hoist: HoistId, distance: f64) -> f64 {
    match &line.hoists[hoist].travel {
        Travel::Kinematic { speed, decel, .. } => {
            let metres = distance.max(0.0) / 1000.0;
            let run_out = speed * speed / (2.0 * decel);
            let seconds = if metres <= run_out {
                (2.0 * metres / decel).sqrt()
            } else {
                speed / decel + (metres - run_out) / speed
            };
            seconds * 1000.0
        }
        Travel::Table { .. } => 0.0,
    }
}
