//! Counterflow rinses, and what still drips when the hoist leaves.

use super::answer::Answer;
use super::basis;
use super::quantity::{Concentration, Flow, Input, Minutes, Rate, Ratio, Refusal, Volume, number};

/// Water flow.
pub const FLOW: Input<Flow> = Input::new("flow", 0.01, 100_000.0, "from a trickle to a large works' supply");
/// Drag-out, as a flow.
pub const DRAG_OUT: Input<Flow> =
    Input::new("dragout", 0.001, 10_000.0, "what the work carries over in an hour");
/// Dilution wanted.
pub const DILUTION: Input<Ratio> =
    Input::new("dilution", 1.01, 1e9, "bath concentration over that of the last rinse");
/// Concentration of the bath before.
pub const BATH: Input<Concentration> = Input::new("bath", 0.001, 2000.0, "no solution holds more");
/// Volume that clings to a load.
pub const CLINGING: Input<Volume> = Input::new("volume", 0.0, 100.0, "what clings to one load");
/// How fast it runs off.
pub const RUN_OFF: Input<Rate> = Input::new("rate", 0.001, 10.0, "most has run off within 10 to 30 s");
/// Most rinses in a row.
pub const MOST_STAGES: u32 = 9;

/// Dilution after `n` stages at a ratio `r` of water to drag-out: `1 + r + ... + r^n`.
pub fn dilution(stages: u32, ratio: f64) -> f64 {
    (0..stages).fold(1.0, |sum, _| sum * ratio + 1.0)
}

/// The ratio of water to drag-out that gives a dilution above 1 with so many stages, one at least.
pub fn ratio_for(stages: u32, wanted: f64) -> f64 {
    // The sum is between r^n and (1 + r)^n.
    let root = wanted.powf(1.0 / f64::from(stages));
    let (mut low, mut high) = ((root - 1.0).max(0.0), root);
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if dilution(stages, middle) < wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// What is known of a rinse: flow and drag-out give the dilution, dilution and drag-out the flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Given {
    /// Rinses in a row, the water going the other way.
    pub stages: u32,
    /// Water.
    pub flow: Option<Flow>,
    /// Drag-out.
    pub drag_out: Option<Flow>,
    /// Dilution wanted.
    pub dilution: Option<Ratio>,
    /// Concentration of the bath before.
    pub bath: Option<Concentration>,
}

/// The rinse worked out.
pub fn rinse(given: &Given) -> Result<Answer, Refusal> {
    let refuse = |found: &str, expected: &str| Refusal {
        what: "rinse",
        found: found.to_owned(),
        expected: expected.to_owned(),
    };
    if !(1..=MOST_STAGES).contains(&given.stages) {
        return Err(refuse(&format!("{} stages", given.stages), "1 to 9 (more are not built)"));
    }
    let mut answer = Answer::default();
    let stages = given.stages;
    let diluted = match (given.flow, given.drag_out, given.dilution) {
        (Some(flow), Some(drag_out), wanted) => {
            let ratio = flow.0 / drag_out.0;
            let got = dilution(stages, ratio);
            answer.figure("ratio", "water to drag-out", ratio, "1", &basis::RINSE);
            answer.figure("dilution", format!("dilution after {stages}"), got, "1", &basis::RINSE);
            if let Some(wanted) = wanted.filter(|w| w.0 > got) {
                let needed = ratio_for(stages, wanted.0) * drag_out.0;
                answer.figure("flow_l_h", "water needed", needed, "l/h", &basis::RINSE);
                answer.refuse(format!("The dilution is {}, not {}.", number(got), number(wanted.0)));
            }
            got
        }
        (None, drag_out, Some(wanted)) => {
            let ratio = ratio_for(stages, wanted.0);
            answer.figure("ratio", "water to drag-out", ratio, "1", &basis::RINSE);
            let short = wanted.0.powf(1.0 / f64::from(stages));
            answer.figure("ratio_short", "by the short form", short, "1", &basis::RINSE_SHORT);
            if let Some(drag_out) = drag_out {
                answer.figure("flow_l_h", "water needed", ratio * drag_out.0, "l/h", &basis::RINSE);
            }
            wanted.0
        }
        _ => return Err(refuse("too little", "flow and drag-out, or a dilution")),
    };
    if let Some(bath) = given.bath {
        let last = bath.0 / diluted;
        let also = format!("{} mg/l", number(last * 1000.0));
        answer.figure_also("last_g_l", "concentration of the last rinse", (last, "g/l"), also, &basis::RINSE);
    }
    answer.remark("Stirring and balance are taken for granted; a rinse that loads stand in, or that is not moved, does less.");
    Ok(answer)
}

/// What clings after a drip: the part that runs off, the part that stays, and how fast.
pub fn drip(start: Volume, end: Volume, rate: Rate, time: Minutes) -> Answer {
    let mut answer = Answer::default();
    let left = clinging(start, end, rate, time);
    answer.figure(
        "left_ml",
        format!("still clinging after {}", time.clock()),
        left.0 * 1000.0,
        "ml",
        &basis::DRIP,
    );
    let all = start.0 + end.0;
    if all > 0.0 {
        answer.figure("left_percent", "of what came up", left.0 / all * 100.0, "%", &basis::DRIP);
    }
    answer
}

/// Volume that still clings after a time.
pub fn clinging(start: Volume, end: Volume, rate: Rate, time: Minutes) -> Volume {
    Volume(start.0 * (-rate.0 * time.0 * 60.0).exp() + end.0)
}
