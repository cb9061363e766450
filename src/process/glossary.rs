//! The words of the trade and of this program.

/// A word and what it means here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Term {
    /// The word.
    pub word: &'static str,
    /// What it means.
    pub means: &'static str,
}

const fn term(word: &'static str, means: &'static str) -> Term {
    Term { word, means }
}

/// Every word, in the order of the alphabet.
pub const GLOSSARY: [Term; 33] = [
    term(
        "720 rule",
        "Minutes to a thickness: 720 x mil / (A/ft2). An empirical yield; try `dwellhand calc anodise`.",
    ),
    term("air time", "Time a carrier is out of liquid between two immersions: drip, travel and settle."),
    term("call", "The next move, as it is shown to the operator."),
    term("carrier", "A flight bar with its racks and parts; what the hoist takes."),
    term("charge", "Current times time. Film follows it, not the clock; a ramp counts half."),
    term("critical transfer", "A loaded move with a limit on its air time: it is not stopped on the way."),
    term("current density", "Amperes on each square decimetre or square foot of surface."),
    term("dip on the hook", "A dwell so short that the hoist stays attached through it."),
    term("drag-out", "Bath that leaves with the work and ends in the rinse."),
    term("drip", "The wait over a tank for most of that to run back."),
    term("dwell", "Time a carrier is immersed: from the end of the lower to the start of the raise."),
    term("empty move", "Travel of the hoist without a load."),
    term("flight bar", "The bar that racks hang from; with them it is a carrier."),
    term("gate release", "A carrier is not started until a whole way through the line is free for it."),
    term("harm", "What a broken window does: scrap, rework, shade or nuisance; the letters S, R, H and N."),
    term("hoist", "The crane that lifts and travels. A person drives it; this program never does."),
    term("immersion", "A stay in a liquid."),
    term("journal", "What was confirmed, in order. It only grows: a correction is a new entry."),
    term("loaded move", "Hook, raise, drip, travel, settle, lower, unhook; not interrupted."),
    term("order", "What a customer wants done, on one or more carriers."),
    term("overrun", "A dwell past the longest its sheet allows."),
    term("plan", "All moves to come with their times, judged by the verifier before it is shown."),
    term("recipe", "The process sheet: steps with their windows."),
    term("reserve", "Seconds the plan keeps free before each loaded move, for human pace."),
    term("rhythm", "The shortest cycle that repeats for one recipe."),
    term(
        "shade lot",
        "Carriers of one order, to be kept alike in anodise and dye because colour is the product.",
    ),
    term("slack", "How long a move may still wait before something breaks."),
    term("stage", "Interchangeable tanks for one treatment."),
    term("station", "Where carriers are loaded, unloaded or both."),
    term("strict swap", "A tank is empty and the hoist free before the next carrier for it is lifted."),
    term("underrun", "A dwell short of the least its sheet asks for."),
    term(
        "wet time",
        "Time one point of a rack is in the liquid; the bottom of a tall rack stays in longer than its top.",
    ),
    term("window", "Least, target and longest dwell of a step."),
];

#[cfg(test)]
mod tests {
    use super::GLOSSARY;

    #[test]
    fn words_are_in_order_and_once() {
        assert!(GLOSSARY.windows(2).all(|pair| pair[0].word < pair[1].word));
    }
}
