//! Hoists on one rail never pass and keep the gap, at every instant.
//!
//! 1. Two hoists that both have to be somewhere (loaded moves, dips on the hook) are compared exactly: their paths are
//!    pieces of parabolas, and the distance of two such pieces is least at an end or at the one bend between.
//! 2. A hoist with nothing to do gives way. That is possible only if the rail has room beyond, and if it can have got
//!    away in time and be back in time. The time asked for is the least one, so no possible plan is refused here. Where
//!    it is when the plan is made follows from what was done last: a hoist that worked where another one had been before
//!    found the way clear, so that one has given way since.

use super::motion::{self, Piece};
use super::story::{Leg, Story};
use super::{Breach, Rule, change};
use crate::ids::{CarrierId, HoistId, Id, TankId};
use crate::units::{Dur, Mm, Time};

/// Millimetres that rounding to whole milliseconds may cost.
const HAIR: f64 = 1.0;

/// A stretch of time in which a hoist has to be somewhere.
struct Duty {
    hoist: HoistId,
    /// What hangs on it; nothing on one that is stopped.
    carrier: Option<CarrierId>,
    start: Time,
    end: Time,
    first: TankId,
    last: TankId,
    path: Vec<Piece>,
}

pub fn judge(story: &Story, found: &mut Vec<Breach>) {
    if story.line.hoists.len() < 2 {
        return;
    }
    let duties: Vec<Duty> =
        standing(story).into_iter().chain(story.legs.iter().map(|l| duty(story, l))).collect();
    for (k, one) in duties.iter().enumerate() {
        for other in &duties[k + 1..] {
            if one.hoist < other.hoist {
                meet(story, found, one, other);
            } else if other.hoist < one.hoist {
                meet(story, found, other, one);
            }
        }
        room_beyond(story, found, one);
    }
    for hoist in story.line.hoists.ids() {
        idle(story, found, hoist, &duties);
    }
}

fn duty(story: &Story, leg: &Leg) -> Duty {
    let drip = story.sheet(leg.mv.carrier).map_or(Dur::ZERO, |s| s.drip(leg.mv.leaves));
    let mut path = motion::path(story.line, &leg.job(drip), &leg.t);
    let bound = story.bound_until(leg);
    if bound > leg.t.end {
        path.push(Piece::still(leg.t.end, bound, story.line.tanks[leg.mv.to].position));
    }
    Duty {
        hoist: leg.mv.hoist,
        carrier: Some(leg.mv.carrier),
        start: leg.mv.start,
        end: bound,
        first: leg.mv.from,
        last: leg.mv.to,
        path,
    }
}

/// Hoists that stand where they are because a carrier hangs on them now.
fn standing(story: &Story) -> Vec<Duty> {
    let mut duties = Vec::new();
    for (hoist, now) in story.state.hoists.iter() {
        let Some(carrier) = now.carrier else {
            duties.extend(stopped(story, hoist));
            continue;
        };
        let end = story.legs_of(carrier).first().map_or(Time::FAR, |l| l.mv.start);
        if end > story.made_at {
            let still = Piece::still(story.made_at, end, story.line.tanks[now.at].position);
            let (start, path) = (story.made_at, vec![still]);
            let carrier = Some(carrier);
            duties.push(Duty { hoist, carrier, start, end, first: now.at, last: now.at, path });
        }
    }
    duties
}

/// A hoist that is stopped with nothing on it stands where it has come to stand.
fn stopped(story: &Story, hoist: HoistId) -> Option<Duty> {
    let end = change::runs_from(story, hoist).filter(|end| *end > story.made_at)?;
    let (start, at) = (story.made_at, story.state.hoists[hoist].at);
    let path = vec![Piece::still(start, end, Mm(given_way(story, hoist).round() as i64))];
    Some(Duty { hoist, carrier: None, start, end, first: at, last: at, path })
}

impl Duty {
    /// The hoist and what it does, for a sentence.
    fn words(&self, story: &Story) -> String {
        let hoist = story.hoist(self.hoist);
        self.carrier
            .map_or_else(|| format!("{hoist}, stopped,"), |c| format!("{hoist} with {}", story.carrier(c)))
    }
}

fn gap_between(story: &Story, low: HoistId, high: HoistId) -> f64 {
    (story.line.rail.gap.0 * (high.ix() - low.ix()) as i64) as f64
}

/// Compares two duties of different hoists; `low` is nearer the rail's low end.
fn meet(story: &Story, found: &mut Vec<Breach>, low: &Duty, high: &Duty) {
    let gap = gap_between(story, low.hoist, high.hoist);
    let mut worst: Option<(f64, f64)> = None;
    let mut span: Option<(f64, f64)> = None;
    for a in &low.path {
        for b in &high.path {
            let from = a.from.max(b.from).max(story.made_at.0 as f64);
            let to = a.to.min(b.to);
            if from >= to {
                continue;
            }
            let bend = a.nearest(b).filter(|t| *t > from && *t < to);
            for t in [Some(from), bend, Some(to)].into_iter().flatten() {
                let apart = b.at(t) - a.at(t);
                if apart < gap - HAIR {
                    if worst.is_none_or(|(least, _)| apart < least) {
                        worst = Some((apart, t));
                    }
                    span = Some(span.map_or((t, t), |(s, e)| (s.min(t), e.max(t))));
                }
            }
        }
    }
    if let (Some((apart, _)), Some((from, to))) = (worst, span) {
        let at = Time(from.floor() as i64);
        let how = if apart <= 0.0 {
            "would have to pass".to_owned()
        } else {
            format!("come within {}", Mm(apart as i64))
        };
        let text = format!(
            "{} and {} {how} from {at} on; the gap is {}",
            low.words(story),
            high.words(story),
            Mm(gap as i64)
        );
        let when = (at, Dur((to - from) as i64));
        let Some(carrier) = high.carrier.or(low.carrier) else { return };
        found.push(story.breach(Rule::Rail, None, carrier, story.hoist(high.hoist), when, text));
    }
}

/// Between a duty and the rail's ends there must be room for the hoists beyond it.
fn room_beyond(story: &Story, found: &mut Vec<Breach>, duty: &Duty) {
    let Some(carrier) = duty.carrier.filter(|_| duty.end >= story.made_at) else { return };
    let rail = &story.line.rail;
    let below = duty.hoist.ix() as i64;
    let above = story.line.hoists.len() as i64 - 1 - below;
    let mut places = vec![duty.first];
    if duty.last != duty.first {
        places.push(duty.last);
    }
    for tank in places {
        let x = story.line.tanks[tank].position;
        let lack = (rail.gap.0 * below - (x - rail.from).0).max(rail.gap.0 * above - (rail.to - x).0);
        if lack > 0 {
            let text = format!(
                "{} at {} with {} leaves the other hoists {} too little rail",
                story.hoist(duty.hoist),
                story.tank_in_words(tank),
                story.carrier(carrier),
                Mm(lack)
            );
            let place = story.hoist(duty.hoist);
            let when = (duty.start, Dur::ZERO);
            found.push(story.breach(Rule::Rail, None, carrier, place, when, text));
        }
    }
}

/// A hoist between two duties must be able to get out of everybody's way and to its next duty in time.
fn idle(story: &Story, found: &mut Vec<Breach>, hoist: HoistId, duties: &[Duty]) {
    let mut own: Vec<&Duty> = duties.iter().filter(|d| d.hoist == hoist && d.carrier.is_some()).collect();
    own.sort_by_key(|d| (d.start, d.end));
    let now = &story.state.hoists[hoist];
    let mut since = (story.made_at.max(now.free_from), now.at, given_way(story, hoist));
    if now.carrier.is_some() {
        since.0 = story.made_at;
    } else if let Some(back) = change::runs_from(story, hoist) {
        since.0 = since.0.max(back);
    }
    for next in own.iter().map(|d| Some(*d)).chain([None]) {
        for other in duties.iter().filter(|d| d.hoist != hoist) {
            if give_way(story, found, hoist, since, next, other) {
                break;
            }
        }
        if let Some(duty) = next {
            since = (duty.end, duty.last, story.line.tanks[duty.last].position.0 as f64);
        }
    }
}

/// Where a hoist is when the plan is made: at its last tank, or pushed on by those that worked after it, the last to work
/// being surely where it worked.
fn given_way(story: &Story, hoist: HoistId) -> f64 {
    let mut at: Vec<(Time, HoistId, f64)> = Vec::new();
    for (id, h) in story.state.hoists.iter() {
        at.push((h.free_from, id, story.line.tanks[h.at].position.0 as f64));
    }
    at.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    for k in 1..at.len() {
        for j in 0..k {
            let (one, theirs, x) = (at[k].1, at[j].1, at[j].2);
            at[k].2 = if one < theirs {
                at[k].2.min(x - gap_between(story, one, theirs))
            } else {
                at[k].2.max(x + gap_between(story, theirs, one))
            };
        }
    }
    at.iter().find(|(_, id, _)| *id == hoist).map_or(0.0, |(_, _, x)| *x)
}

/// True if a breach was found.
fn give_way(
    story: &Story,
    found: &mut Vec<Breach>,
    hoist: HoistId,
    (since, at, x): (Time, TankId, f64),
    next: Option<&Duty>,
    other: &Duty,
) -> bool {
    let until = next.map_or(Time::FAR, |d| d.start);
    let (low, high) = if hoist < other.hoist { (hoist, other.hoist) } else { (other.hoist, hoist) };
    let gap = gap_between(story, low, high);
    let away = |x: f64, theirs: f64| {
        // How far the hoist at x is short of being clear.
        if hoist < other.hoist { x - (theirs - gap) } else { theirs + gap - x }
    };
    for piece in &other.path {
        for t in [piece.from, piece.to] {
            if t < since.0 as f64 || t > until.0 as f64 || t < story.made_at.0 as f64 {
                continue;
            }
            let theirs = piece.at(t);
            let get_out = away(x, theirs) - HAIR;
            let late = motion::flight(story.line, hoist, get_out) - (t - since.0 as f64);
            let cannot_leave = get_out > 0.0 && late > 1.0;
            let cannot_return = next.is_some_and(|d| {
                let come_back = away(story.line.tanks[d.first].position.0 as f64, theirs) - HAIR;
                let late = motion::approach(story.line, hoist, come_back) - (until.0 as f64 - t);
                come_back > 0.0 && late > 1.0
            });
            if cannot_leave || cannot_return {
                let moment = Time(t as i64);
                let text = format!(
                    "{} cannot be clear of {} at {moment}: it {}",
                    story.hoist(hoist),
                    other.words(story),
                    if cannot_leave {
                        format!("is at {} until {since}", story.tank_in_words(at))
                    } else {
                        format!(
                            "has to be at {} by {until}",
                            next.map_or(String::new(), |d| story.tank_in_words(d.first))
                        )
                    }
                );
                let place = story.hoist(hoist);
                let Some(carrier) = other.carrier.or(next.and_then(|d| d.carrier)) else { return false };
                found.push(story.breach(Rule::Rail, None, carrier, place, (moment, Dur::ZERO), text));
                return true;
            }
        }
    }
    false
}
