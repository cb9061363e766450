//! Strict swap: a carrier is lifted for a tank only once the tank has room for it.

use super::story::{Soak, Story};
use super::{Breach, Rule, figure};
use crate::units::{Dur, Time};

pub fn judge(story: &Story, found: &mut Vec<Breach>) {
    let mut by_tank: Vec<&Soak> = story.soaks.iter().filter(|s| !story.is_station(s.tank)).collect();
    by_tank.sort_by_key(|s| (s.tank, s.claimed));
    for soaks in by_tank.chunk_by(|a, b| a.tank == b.tank) {
        one_tank(story, found, soaks);
    }
}

/// Judges the soaks in one tank, in the order they claim it.
fn one_tank(story: &Story, found: &mut Vec<Breach>, soaks: &[&Soak]) {
    for (k, &soak) in soaks.iter().enumerate() {
        if soak.already {
            continue;
        }
        let capacity = usize::from(story.line.tanks[soak.tank].capacity);
        let in_the_way: Vec<&Soak> = soaks[..k]
            .iter()
            .filter(|other| other.carrier != soak.carrier && takes_room(other, soak))
            .copied()
            .collect();
        if in_the_way.len() < capacity {
            continue;
        }
        let last = in_the_way
            .iter()
            .max_by_key(|o| o.out.map_or(Time::FAR, |out| out.clear))
            .expect("a capacity of at least one is exceeded");
        let other = story.carrier(last.carrier);
        let name = story.carrier(soak.carrier);
        let tank = story.tank_in_words(soak.tank);
        let (by, until) = match last.out {
            Some(out) => (out.clear - soak.claimed, format!("has it until {}", out.clear)),
            None => (Dur::ZERO, "stays there".to_owned()),
        };
        let text = format!(
            "{name} is lifted for {tank} at {}, but {other} {until}: strict swap broken by {}",
            soak.claimed,
            figure(by)
        );
        let place = story.tank(soak.tank);
        found.push(story.breach(Rule::Swap, None, soak.carrier, place, (soak.claimed, by), text));
    }
}

/// True if the tank is still taken by `other` when `soak` claims it.
fn takes_room(other: &Soak, soak: &Soak) -> bool {
    let Some(out) = other.out else { return true };
    if out.clear == soak.claimed {
        // On the stroke: the tank is empty, but is the hoist that emptied it out of the way? One hoist alone cannot do
        // both, and its own rule says so.
        return soak.by != Some(out.by) && out.free > soak.claimed;
    }
    out.clear > soak.claimed
}
