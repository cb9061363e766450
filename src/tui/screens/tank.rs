//! One tank in words.

use crate::tui::widgets::countdown;
use crate::units::{Dur, many};
use crate::view::{Board, TankRow};

/// The lines of a tank's page.
pub(in crate::tui) fn lines(board: &Board, tank: &TankRow) -> Vec<String> {
    let mut lines = vec![format!("{} {}", tank.name, tank.label)];
    if let Some(c) = tank.temperature_c {
        lines.push(format!("set to {c:.0} C"));
    }
    lines.push(tank.readiness.words());
    if let Some(bath) = board.baths.iter().find(|b| b.tank == tank.tank) {
        let since = bath.changed.as_ref().map_or_else(
            || "since the shift began".to_owned(),
            |t| format!("since the bath was changed at {t}"),
        );
        lines.push(format!("{} {since}", many(bath.loads, "load")));
        lines.extend(bath.checks.iter().map(crate::view::CheckRow::words));
    }
    for held in &tank.held {
        let (k, n) = held.step;
        lines.push(String::new());
        lines.push(format!("{}: step {k} of {n}, {}", held.name, held.what));
        let before = match held.had {
            Dur::ZERO => String::new(),
            had => format!(", {had} of them before it was put back"),
        };
        lines.push(format!("in since {}, {} so far{before}", held.since, held.bar.elapsed));
        lines.push(format!("window {} to {}, aim for {}", held.bar.min, held.bar.max, held.bar.target));
        match held.bar.left() {
            Some(left) if left < Dur::ZERO => {
                lines.push(format!(
                    "OVER by {}: {} {}",
                    countdown::left(Some(left)),
                    held.harm,
                    held.harm_word
                ));
            }
            Some(left) => lines.push(format!("{left} left; too long means {}", held.harm_word)),
            None => lines.push("no limit".to_owned()),
        }
        lines.push(
            held.lift_at.as_ref().map_or_else(
                || "the plan does not lift it".to_owned(),
                |t| format!("the plan lifts it at {t}"),
            ),
        );
    }
    if tank.held.is_empty() && tank.station.is_none() {
        lines.push("empty".to_owned());
    }
    if let Some((carrier, at)) = &tank.next {
        lines.push(format!("next in: {carrier} at {at}"));
    }
    lines
}
