//! Step cards: what each kind of bath does, why its window is there, and what goes wrong on either side of it.
//!
//! General background for a trainee. The shop's process sheet, the suppliers' sheets and the site's safety officer win.

/// One kind of bath explained.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Card {
    /// The word it is asked for by, as line files write it.
    pub word: &'static str,
    /// Its title.
    pub title: &'static str,
    /// What it does.
    pub does: &'static str,
    /// Why its window is there.
    pub window: &'static str,
    /// What too short a stay does.
    pub under: &'static str,
    /// What too long a stay does.
    pub over: &'static str,
    /// The caution that goes with it.
    pub caution: &'static str,
    /// Usual figures, and what they rest on.
    pub usual: &'static str,
}

impl Card {
    /// Its paragraphs with a word in front of each, in the order in which they are read.
    pub fn parts(&self) -> [(&'static str, &'static str); 6] {
        [
            ("Does", self.does),
            ("Window", self.window),
            ("Too short", self.under),
            ("Too long", self.over),
            ("Caution", self.caution),
            ("Usual", self.usual),
        ]
    }
}

/// Soak clean.
pub const CLEAN: Card = Card {
    word: "clean",
    title: "Soak clean",
    does: "Lifts oil and shop dirt off with a mild, warm, alkaline bath that does not etch.",
    window: "Everything after it needs a surface on which water lies as an unbroken film.",
    under: "Oil stays on: marks and a patchy etch; strip and start again. Poor cleaning is behind more rejects than any \
            other step.",
    over: "A slight etch, and cleaner that dries on the hot metal; mostly wiped or rinsed off.",
    caution: "Hot alkali: goggles, gloves, apron.",
    usual: "2 to 10 min (common practice), 45-71 C by product (published and from memory).",
};

/// Water rinse.
pub const RINSE: Card = Card {
    word: "rinse",
    title: "Rinse",
    does: "Takes the last bath off before it reaches the next one, usually twice, the second rinse the cleaner one.",
    window: "Long enough to dilute the film that clings; how long is too long depends on the bath before.",
    under: "The bath before goes on working or is carried into the next: stains, a spoiled bath, dye that will not take.",
    over: "After the clean, next to nothing. After the desmut, pits: the first, fouled rinse is no place to wait for a free \
           anodise tank, least of all with alloys of the 2000 and 7000 series. After the anodise or the dye, a slow change of \
           shade.",
    caution: "A fouled rinse is a weak bath of whatever was before it. Treat it so. Before a dye never a warm one: warm water \
              starts to close the film.",
    usual: "30 s to 3 min, 5 min at the most after the desmut (common practice; the pitting is published).",
};

/// Caustic etch.
pub const ETCH: Card = Card {
    word: "etch",
    title: "Caustic etch",
    does: "Dissolves the old skin of the metal with hot caustic soda: a flash to wake the surface, minutes for a matt one.",
    window: "It takes metal from the first second to the last, also in the air on the way to the rinse.",
    under: "Old skin is left and the finish is patchy; strip and start again.",
    over: "Metal is gone for good: size, threads, gloss. That is scrap, not rework. Lifted and left to drip, the hot film \
           bites on and dries to a white bloom.",
    caution: "Hot caustic burns and blinds. It gives off hydrogen and mist: ventilation on, no flame. Fines or a full load in \
              fresh hot caustic can run away. Never hot water into caustic; caustic into water, slowly.",
    usual: "Flash 1 to 2 min, matt 8 to 15 min, 49-66 C (published); flash from 10 s, matt from 5 min, and on the way to the \
            rinse 15 s out of liquid, 30 s at the most (common practice).",
};

/// Desmut.
pub const DESMUT: Card = Card {
    word: "desmut",
    title: "Desmut",
    does: "Takes off the dark smut of alloying metals that the etch leaves, in nitric acid or a ferric mix.",
    window: "The smut must be gone before the anodise; the clean, active metal that is left wants to get there wet and soon.",
    under: "Smut under the film: streaks; strip and start again.",
    over: "In nitric acid mild. In mixes with fluoride it pits the metal: scrap.",
    caution: "Brown fumes are nitrogen dioxide: leave, and see a doctor even if well, for the lungs can fail hours later. Keep \
              caustic, chlorides, organics and cyanide away.",
    usual: "30 s to 5 min at shop temperature (common practice; one mix published with 2 to 5 min).",
};

/// Anodise.
pub const ANODISE: Card = Card {
    word: "anodise",
    title: "Anodise",
    does: "Turns the surface into oxide under direct current in sulphuric acid. Thickness follows ampere-minutes, not the \
           clock.",
    window: "From the thickness that was ordered, by the 720 rule; the acid dissolves the film from outside all the while.",
    under: "Too thin: it wears, seals badly and takes dye weakly; black turns blue or purple. Strip and start again.",
    over: "With the current on, thicker and darker, mild until about twice the time, then a matter of size. With the current \
           off, the acid softens the film within minutes.",
    caution: "Current off before the lift; thousands of amperes burn and draw arcs. Acid mist and hydrogen: ventilation on, no \
              flame. Acid into water only. After an interruption a person decides whether it may go on.",
    usual: "165-220 g/l, 18-22 C, 1.0 to 2.0 A/dm2, 12 to 45 min (published); -5 % and +10 % of the charge, 2 to 5 min \
            in the acid without current (common practice).",
};

/// Dye.
pub const DYE: Card = Card {
    word: "dye",
    title: "Dye",
    does: "Fills the open pores of the film with colour.",
    window: "Shade grows with time; one lot is one shade only if its bars stay alike.",
    under: "Light and uneven from top to bottom. While wet it can go back in.",
    over: "Darker than the sample; blacks saturate and forgive it. Only stripping mends it.",
    caution: "Warm bath; some dyes harm skin and lungs: read the supplier's sheet. Above about 60 C the film starts to close instead of filling.",
    usual: "Pastels 30 s to 3 min, black 10 to 30 min (common practice; 10 to 30 min published), 40-60 C (published).",
};

/// Seal.
pub const SEAL: Card = Card {
    word: "seal",
    title: "Seal",
    does: "Closes the pores: hot water or a metal salt swells the oxide, cold seals plug it.",
    window: "The thicker the film the longer it takes.",
    under: "The film stains, bleeds dye and fails the seal test. While wet and unhandled it can be sealed again.",
    over: "A powdery bloom that wipes off, fine cracks in thick films. In cold fluoride seals the film is attacked: rework.",
    caution: "Near-boiling water scalds. Nickel salts are suspected to cause cancer; cold seals hold fluoride: know where the \
              calcium gluconate is.",
    usual: "Hot water 2 to 3 min/um, mid-temperature 1 to 2, cold 0.8 to 1.2 (from memory); hot nickel acetate 10 to 30 min \
            (from memory).",
};

/// Dry.
pub const DRY: Card = Card {
    word: "dry",
    title: "Dry",
    does: "Takes the water off before anyone touches the parts.",
    window: "Until dry; too hot is worse than too long.",
    under: "Water marks.",
    over: "Too hot, fine cracks and a change of colour.",
    caution: "Hot racks and hot air. A load in the oven looks like a cold one.",
    usual: "5 to 15 min (common practice), 60-70 C (published).",
};

/// Strip.
pub const STRIP: Card = Card {
    word: "strip",
    title: "Strip",
    does: "Takes a spoiled film off in caustic so that the parts can run again; also frees aluminium racks of theirs.",
    window: "From the moment the film is gone the bath eats metal.",
    under: "Blotches of film stay and etch unevenly. Sealed or thick films soften first in the desmut acid.",
    over: "Metal is gone for good. The film itself took about two thirds of its thickness \
           from the metal (worked out from the 720 rule; published figures go from a third to two thirds).",
    caution: "As for the etch: hot caustic, hydrogen, mist. Parts with tolerances need a word with the customer first.",
    usual: "Seconds to a few minutes, 49-66 C (published); one rework for a part, two at the most (common practice).",
};

/// Standby water.
pub const STANDBY: Card = Card {
    word: "standby",
    title: "Standby water",
    does: "A clean place to wait, wet, when the next tank is taken. Waiting in air is worse than any of them.",
    window: "Water is slower than a bath, not harmless.",
    under: "Nothing: it is a place to wait, not to be treated.",
    over: "Before the anodise the metal pits: back to the desmut and the rinse, not straight on. After the anodise dye takes \
           less well; after the dye it bleeds.",
    caution: "The kinds are not interchangeable: a dyed load in the water for clear work taints the next load.",
    usual: "Before the anodise 5 min, after it 30 min undyed, after the dye 5 min, after the seal 60 min (common practice).",
};

/// All cards, in the order of the line.
pub const CARDS: [&Card; 10] =
    [&CLEAN, &RINSE, &ETCH, &DESMUT, &ANODISE, &DYE, &SEAL, &DRY, &STRIP, &STANDBY];
