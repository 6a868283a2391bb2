//! What becomes of it at its end: the crossed-out bin, what a user is told of it, and what single countries add.

use super::*;
use crate::lengths::Mm;

/// 2014/53/EU annex Ia names 7 mm for its own label; for the bin it is what the trade prints.
const BIN_HEIGHT: Mm = Mm::from_micrometres(7_000);

pub const DISPOSAL_MISSING: Rule = Rule {
    name: "disposal-missing",
    level: Level::Warning,
    what: "an electrical product for an EU or UK market, and nothing says what to do with it at its end",
    why: "it must not go into household waste, and the reader has to be told so",
    mend: "say where to bring it, why, and what the crossed-out bin means",
    source: "2012/19/EU art. 14(2), (3) (known)",
    check: Check::Looks(|index| {
        let Some(words) = index.words.filter(|_| asked(index)) else { return Vec::new() };
        unless(says(&index.lower, words.disposal), || Note::new(at_markets(index), "nothing says how to dispose of the product"))
    }),
};

pub const DISPOSAL_INCOMPLETE: Rule = Rule {
    name: "disposal-incomplete",
    level: Level::Advice,
    what: "an electrical product for an EU or UK market whose text about its end leaves out one of five things: not into household waste; where it is taken back; what is won by that; what its substances can do; what the bin means",
    why: "these five are what households have to be told; a country may ask the maker to tell them in the instructions",
    mend: "a sentence each is enough",
    source: "2012/19/EU art. 14(2) (a) to (e) (known)",
    check: Check::Looks(|index| {
        let Some(words) = index.words.filter(|_| asked(index)) else { return Vec::new() };
        if !says(&index.lower, words.disposal) {
            return Vec::new();
        }
        let things = [
            ("that it does not belong into household waste", words.law.household),
            ("where it is taken back", words.law.places),
            ("that it is used again or recycled", words.law.reuse),
            ("what harmful substances in it can do", words.law.substances),
            ("what the crossed-out bin means", words.law.bin),
        ];
        let missing = unsaid(&index.lower, &things);
        unless(missing.is_empty(), || Note::new(at_markets(index), format!("about its end nothing says {}", listed(&missing))))
    }),
};

pub const BIN_MISSING: Rule = Rule {
    name: "bin-missing",
    level: Level::Advice,
    what: "an electrical product for an EU or UK market whose manual does not show the crossed-out bin",
    why: "the bin belongs on the product itself, visible, legible and indelible: this paper fades and cannot be its only carrier. Only where the product is too small for it, or of no use with it, it stands on packaging, instructions and warranty instead. Shown here it says what the mark on the product means",
    mend: "mark the product, and show `![separate collection](sign:no-bin)` where you say what it means",
    source: "2012/19/EU art. 14(4), annex IX (known); EN 50419:2022 (known)",
    check: Check::Looks(|index| {
        unless(!asked(index) || index.signs.contains("no-bin"), || {
            Note::new(at_markets(index), "the separate-collection bin is shown nowhere")
        })
    }),
};

pub const BIN_SMALL: Rule = Rule {
    name: "bin-small",
    level: Level::Warning,
    what: "the separate-collection bin is shown, and nowhere as high as 7 mm",
    why: "its bar has to be at least 1 mm thick, and is so from 7 mm on",
    mend: "let it stand alone in a paragraph: `![separate collection](sign:no-bin)`, without a small `width`",
    source: "EN 50419:2022 for the bar (seen); the 7 mm are common practice, no source",
    check: Check::Looks(|index| {
        let bins: Vec<_> = index.entries.pictures.iter().filter(|picture| picture.address == "sign:no-bin").collect();
        let resolution = index.evidence.paper.resolution;
        let height = |span| {
            let boxes = index.evidence.boxes.iter().filter(|placed| placed.kind == "picture" && placed.span == span);
            boxes.map(|placed| resolution.mm(placed.height)).max()
        };
        let highest =
            bins.iter().filter_map(|bin| height(bin.span).map(|height| (height, bin.span))).max_by_key(|(height, _)| *height);
        match highest {
            Some((height, span)) if height < BIN_HEIGHT => {
                vec![Note::new(span, format!("the bin is {height} high; below {BIN_HEIGHT} its bar is thinner than 1 mm"))]
            }
            _ => Vec::new(),
        }
    }),
};

pub const DISPOSAL_DE_INCOMPLETE: Rule = Rule {
    name: "disposal-de-incomplete",
    level: Level::Warning,
    what: "an electrical product for Germany whose German manual leaves out what German law adds: that shops take it back; with a battery, that it is taken out before; with software, that one deletes one's data oneself",
    why: "these are the maker's to tell, in the instructions or beside them",
    mend: "a sentence each is enough",
    source: "ElektroG § 19a (seen)",
    check: Check::Looks(|index| {
        let Some(words) = index.words.filter(|words| words.tag == "de" && sold_in(index, &["DE"]) && electrical(index)) else {
            return Vec::new();
        };
        let law = words.law;
        let mut things: Vec<(&str, &[&str])> =
            vec![("that shops take it back", &["*händler", "*vertreiber", "handel", "*rücknahme", "400"])];
        if battery(index).is_some() {
            things.push(("that batteries are taken out before", law.take_out));
        }
        if index.evidence.document.header.product.software == Some(true) {
            things.push(("that one deletes one's own data before", law.erase));
        }
        let missing = unsaid(&index.lower, &things);
        unless(missing.is_empty(), || Note::new(at_markets(index), format!("sold in DE, and nothing says {}", listed(&missing))))
    }),
};

pub const SORTING_FR_MISSING: Rule = Rule {
    name: "sorting-fr-missing",
    level: Level::Advice,
    what: "an electrical product, one with a battery or a toy for France, and neither a picture nor a word of the mark for sorting",
    why: "the mark and the note how to sort go on the product, its packaging or the papers with it; where the others have no room, this paper has",
    mend: "if they stand on the product or its packaging, allow this rule and say so; else add them as your scheme gives them to you, with \"Triman\" in the alternative text",
    source: "Code de l'environnement art. L541-9-3 (seen)",
    check: Check::Looks(|index| {
        if !sold_in(index, &["FR"]) || !harmonised(index) {
            return Vec::new();
        }
        let marks: &[&str] = &["triman", "info-tri", "infotri"];
        let shown = |picture: &crate::preflight::passages::PictureSeen| {
            says(&picture.address.to_lowercase(), &["*triman", "*info-tri", "*infotri"])
                || says(&picture.alt.to_lowercase(), marks)
        };
        let there = index.entries.pictures.iter().any(shown) || says(&index.lower, marks);
        unless(there, || Note::new(at_markets(index), "sold in FR, and the mark for sorting is shown nowhere"))
    }),
};

/// Whether the law on electrical waste asks.
fn asked(index: &Index) -> bool {
    electrical(index) && in_europe(index)
}
