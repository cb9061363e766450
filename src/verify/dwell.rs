//! Every dwell ends inside its window. A dwell that never ends is a dead end, which `chain` reports.

use super::story::Story;
use super::{Breach, Rule};

pub fn judge(story: &Story, found: &mut Vec<Breach>) {
    for soak in &story.soaks {
        let Some(out) = soak.out else { continue };
        let Some(window) = story.sheet(soak.carrier).and_then(|s| s.window(soak.visit)) else { continue };
        if out.lift < soak.down {
            // Lifted before it is down: `chain` reports that.
            continue;
        }
        let dwell = out.lift - soak.down + soak.dwelled;
        let what = format!("{} in {}", story.carrier(soak.carrier), story.tank_in_words(soak.tank));
        if let Some((rule, harm, by, text)) = window.broken_by(dwell) {
            let at = if rule == Rule::Under { out.lift } else { out.lift - by };
            let place = story.tank(soak.tank);
            found.push(story.breach(
                rule,
                Some(harm),
                soak.carrier,
                place,
                (at, by),
                format!("{what}: {text}"),
            ));
        }
    }
}
