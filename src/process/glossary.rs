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
pub const GLOSSARY: [Term; 49] = [
    term(
        "720 rule",
        "Minutes to a thickness: 720 x mil / (A/ft2). An empirical yield; try `dwellhand calc anodise`.",
    ),
    term("air time", "Time a carrier is out of liquid between two immersions: drip, travel and settle."),
    term(
        "bloom",
        "A white veil on the metal or the film: caustic that dried on it, or a seal that went on too long.",
    ),
    term("call", "The next move, as it is shown to the operator."),
    term("carrier", "A flight bar with its racks and parts; what the hoist takes."),
    term("charge", "Current times time. Film follows it, not the clock; a ramp counts half."),
    term("critical transfer", "A loaded move with a limit on its air time: it is not stopped on the way."),
    term("current density", "Amperes on each square decimetre or square foot of surface."),
    term(
        "debrief",
        "A page about a shift: what broke, which calls were followed, and what others would have made of it.",
    ),
    term("dip on the hook", "A dwell so short that the hoist stays attached through it."),
    term("drag-out", "Bath that leaves with the work and ends in the rinse."),
    term(
        "drill",
        "A shift made for practice, on which something goes wrong by itself; `dwellhand drill` lists them.",
    ),
    term("drip", "The wait over a tank for most of that to run back."),
    term("dwell", "Time a carrier is immersed: from the end of the lower to the start of the raise."),
    term("empty move", "Travel of the hoist without a load."),
    term(
        "film",
        "The layer of oxide that the anodise makes of the metal; dye goes into its pores, the seal closes them.",
    ),
    term("flight bar", "The bar that racks hang from; with them it is a carrier."),
    term("gate release", "A carrier is not started until a whole way through the line is free for it."),
    term("harm", "What a broken window does: scrap, rework, shade or nuisance; the letters S, R, H and N."),
    term("hoist", "The crane that lifts and travels. A person drives it; this program never does."),
    term("immersion", "A stay in a liquid."),
    term("journal", "What was confirmed, in order. It only grows: a correction is a new entry."),
    term("loaded move", "Hook, raise, drip, travel, settle, lower, unhook; not interrupted."),
    term("mil", "A thousandth of an inch: 25.4 micrometres."),
    term("nuisance", "A harm that is wiped off, rinsed again or only costs time."),
    term("order", "What a customer wants done, on one or more carriers."),
    term("overrun", "A dwell past the longest its sheet allows."),
    term("pitting", "Small holes that an acid or a foul rinse eats into bare metal. They do not go away."),
    term("plan", "All moves to come with their times, judged by the verifier before it is shown."),
    term("quarantine", "A tank that may be left and not entered, until somebody frees it."),
    term(
        "rack",
        "What parts hang on and get their current from. Aluminium ones take a film too and are stripped; titanium ones are not.",
    ),
    term("ramp", "The time in which the current rises to its full value."),
    term("recipe", "The process sheet: steps with their windows."),
    term("rectifier", "The source of the direct current. It is off before a load is lifted."),
    term("reserve", "Seconds the plan keeps free before each loaded move, for human pace."),
    term(
        "rework",
        "A harm that is mended by stripping the film and starting again; it takes metal, so once or twice at the most.",
    ),
    term("rhythm", "The shortest cycle that repeats for one recipe."),
    term("scrap", "A harm that nothing mends: metal is gone, or the parts are lost."),
    term("shade", "A harm of looks: lighter or darker than the sample, or than the rest of its lot."),
    term(
        "shade lot",
        "Carriers of one order, to be kept alike in anodise and dye because colour is the product.",
    ),
    term("slack", "How long a move may still wait before something breaks."),
    term("smut", "The dark dust of alloying metals that an etch leaves behind."),
    term("stage", "Interchangeable tanks for one treatment."),
    term("station", "Where carriers are loaded, unloaded or both."),
    term("strict swap", "A tank is empty and the hoist free before the next carrier for it is lifted."),
    term("underrun", "A dwell short of the least its sheet asks for."),
    term(
        "upset",
        "What people did not choose: a crane that stops, a tank that is lost, a load in the wrong tank, an order that comes in.",
    ),
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
