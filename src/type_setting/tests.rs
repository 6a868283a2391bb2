//! The room's door: what a caller sees of lines, breaks, faces.

use proptest::prelude::*;
use unicode_segmentation::UnicodeSegmentation;

use super::optimum::{Candidate, Rules, WORST, badness, breaks};
use super::*;
use crate::lengths::Resolution;

fn sans(size: f64) -> Type {
    Type { size: Pt::new(size), ..Type::default() }
}

fn text(text: &str, look: Type) -> Piece<'_> {
    Piece { content: Content::Text { text, look, strike: false, rise: Dots(0), verbatim: false }, span: Span::new(0, text.len()) }
}

fn measure(width: i32) -> Measure {
    Measure {
        width: Dots(width),
        balanced: false,
        tabular: false,
        justified: false,
        hyphenate: true,
        language: Language::English,
    }
}

fn faces() -> &'static Faces {
    static FACES: std::sync::LazyLock<Faces> = std::sync::LazyLock::new(|| Faces::new(Resolution::EIGHT));
    &FACES
}

fn set(words: &str, width: i32) -> Paragraph {
    faces().set_paragraph(&[text(words, sans(9.0))], &measure(width))
}

fn texts(paragraph: &Paragraph) -> Vec<&str> {
    paragraph.lines.iter().map(|line| line.text.as_str()).collect()
}

/// The lines' text as one, hyphens that were not typed taken out.
fn joined(paragraph: &Paragraph) -> String {
    let mut all = String::new();
    for line in &paragraph.lines {
        let text = if line.hyphenated { line.text.strip_suffix('-').unwrap_or(&line.text) } else { &line.text };
        all.push_str(text);
        if !line.hyphenated && !line.forced {
            all.push(' ');
        }
    }
    all.trim_end().to_string()
}

fn glyphs(line: &Line) -> Vec<(i32, GlyphKey)> {
    let of = |fragment: &Fragment| match &fragment.ink {
        FragmentInk::Glyphs { glyphs, .. } => glyphs.iter().map(|glyph| (fragment.x.0 + glyph.x, glyph.key)).collect(),
        FragmentInk::Object { .. } => Vec::new(),
    };
    line.fragments.iter().flat_map(of).collect()
}

const SAMPLE: &str = "Before you fill the cup, check that the foot stands level and dry. Charge the battery with the cable \
supplied until the ring turns from amber to green, about ninety minutes. If the ring blinks five times, the hook is jammed: \
switch off, free the hook, and try again.";

#[test]
fn badness_is_100_times_the_cube_of_the_stretch_ratio_and_capped() {
    // 100 r^3 (r = stretch ratio), capped at 10000: The TeXbook ch. 14; Knuth and Plass 1981 (CHECKS.md, "Type").
    for (amount, give, expected) in
        [(0, 10, 0), (10, 10, 100), (5, 10, 12), (20, 10, 800), (30, 10, 2700), (46, 10, 9733), (47, 10, WORST)]
    {
        assert_eq!(badness(amount, give), expected, "{amount} of {give}");
    }
    assert_eq!(badness(1, 0), WORST);
    assert_eq!(badness(i64::MAX / 2, 1), WORST);
}

#[test]
fn english_words_divide_where_liang_divides_them() {
    // hy-phen-ation, con-cate-na-tion: Liang 1983 / The TeXbook app. H (CHECKS.md, "Type").
    let parts = |word: &str| {
        let mut points: Vec<usize> = hyphenation::points(word, Language::English).iter().map(|&at| at as usize).collect();
        points.push(word.len());
        let mut from = 0;
        let parts = points.into_iter().map(|at| &word[std::mem::replace(&mut from, at)..at]);
        parts.collect::<Vec<_>>().join("-")
    };
    assert_eq!(parts("hyphenation"), "hy-phen-ation");
    assert_eq!(parts("concatenation"), "con-cate-na-tion");
    assert_eq!(parts("(hyphenation),"), "(hy-phen-ation),");
    for whole in ["descaling.example.com", "HYPHENATION", "model2hyphenation", "until", "hyphen/ation"] {
        assert_eq!(parts(whole), whole);
    }
}

/// Total demerits of a set of breaks, worked out anew from the definition: Knuth and Plass 1981, with this program's weights.
fn cost(candidates: &[Candidate], chosen: &[usize], rules: &Rules) -> Option<i64> {
    let mut total = 0i64;
    let (mut start, mut give, mut hyphen, mut class, mut same) = (0, 0, false, 1i32, 0);
    for (number, &at) in chosen.iter().enumerate() {
        let to = &candidates[at];
        let last = at + 1 == candidates.len();
        let room = if number == 0 { rules.first } else { rules.width };
        let slack = i64::from(room - (to.end - start)) * 64;
        let spaces = i64::from(to.give_end - give).max(0);
        if same != 0 && same == to.same {
            return None;
        }
        let (bad, fit) = if rules.justified {
            if slack < 0 {
                if -slack > spaces / 3 {
                    return None;
                }
                let bad = badness(-slack, spaces / 3);
                (bad, if bad > 12 { 0 } else { 1 })
            } else if last {
                (0, 1)
            } else {
                let bad = badness(slack, spaces / 2);
                (
                    bad,
                    if bad > 99 {
                        3
                    } else if bad > 12 {
                        2
                    } else {
                        1
                    },
                )
            }
        } else if slack < 0 {
            return None;
        } else {
            (if last { 0 } else { badness(slack, i64::from(rules.rag) * 64) }, 1)
        };
        total += (10 + bad).pow(2) + i64::from(to.penalty).pow(2);
        total += if to.hyphen && hyphen { 10_000 } else { 0 };
        total += if last && hyphen { 40_000 } else { 0 };
        total += if (class - fit).abs() > 1 { 10_000 } else { 0 };
        total += if last && number > 0 && i64::from(rules.width) - slack / 64 < i64::from(rules.runt) { 4_000 } else { 0 };
        (start, give, hyphen, class, same) = (to.start, to.give_start, to.hyphen, fit, to.same);
    }
    Some(total)
}

fn subsets(candidates: &[Candidate]) -> impl Iterator<Item = Vec<usize>> + '_ {
    let free = candidates.len() - 1;
    (0..1u32 << free).map(move |mask| (0..free).filter(|at| mask & (1 << at) != 0).chain([free]).collect())
}

/// A paragraph of words (width, whether it divides in two) with spaces of 6 dots.
fn paragraph_of(words: &[(i32, bool)]) -> Vec<Candidate> {
    let (mut at, mut give) = (0, 0);
    let mut candidates = Vec::new();
    for (number, &(width, divides)) in words.iter().enumerate() {
        if divides {
            candidates.push(Candidate {
                end: at + width / 2 + 4,
                start: at + width / 2,
                give_end: give,
                give_start: give,
                penalty: 200,
                hyphen: true,
                same: number as u32 + 1,
            });
        }
        at += width;
        let before = give;
        give += 6 * 64;
        candidates.push(Candidate {
            end: at,
            start: at + 6,
            give_end: before,
            give_start: give,
            penalty: 0,
            hyphen: false,
            same: 0,
        });
        at += 6;
    }
    candidates
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_other_breaks_cost_less(
        words in prop::collection::vec((8..60i32, any::<bool>()), 1..8),
        width in 64..140i32,
        indent in 0..40i32,
        justified in any::<bool>(),
    ) {
        // Knuth and Plass 1981: the optimum over all sets of breaks, found here by trying every one.
        let candidates = paragraph_of(&words);
        let rules = Rules { first: width - indent, width, justified, rag: width / 6, runt: width / 5, hyphens: true };
        let (chosen, _) = breaks(&candidates, &rules);
        let least = subsets(&candidates).filter_map(|some| cost(&candidates, &some, &rules)).min();
        match least {
            Some(least) => prop_assert_eq!(cost(&candidates, &chosen, &rules), Some(least)),
            None => prop_assert_eq!(chosen.last(), Some(&(candidates.len() - 1))),
        }
    }

    #[test]
    fn every_word_stands_in_order_on_lines_no_wider_than_the_measure(
        words in prop::collection::vec("[a-zA-Zäöéñß0-9,.;:()/-]{1,14}", 0..40),
        width in 90..600i32,
        justified in any::<bool>(),
        size in 5..15i32,
    ) {
        let source = words.join(" ");
        let look = sans(f64::from(size));
        let paragraph = faces().set_paragraph(&[text(&source, look)], &Measure { justified, ..measure(width) });
        prop_assert_eq!(joined(&paragraph).replace(' ', ""), source.replace(' ', ""));
        for line in &paragraph.lines {
            prop_assert!(line.forced || line.width.0 <= width, "{} dots: {}", line.width.0, line.text);
            prop_assert!(!line.text.starts_with(' ') && !line.text.ends_with(' '));
        }
        prop_assert!(paragraph.missing.is_empty());
    }

    #[test]
    fn nothing_that_can_be_typed_is_lost_or_panics(source in "\\PC{0,60}", width in 1..300i32, justified in any::<bool>()) {
        let pieces = [text(&source, sans(8.0)), text("mono", Type { family: Family::Mono, ..sans(8.0) })];
        let paragraph = faces().set_paragraph(&pieces, &Measure { justified, ..measure(width) });
        let shown: String = paragraph.lines.iter().map(|line| line.text.as_str()).collect();
        prop_assert!(shown.replace('-', "").contains("mono") || width < 120);
        let line = faces().set_line(&pieces, Language::English);
        prop_assert_eq!(line.lines.len(), 1);
    }
}

#[test]
fn the_whole_paragraph_is_better_than_line_after_line() {
    // Worked by hand: words of 30, 14, 16, 40, 30 dots, spaces of 6, a measure of 72, 12 dots of rag count as badness 100.
    // First fit: 30 14 16 (slack 0) | 40 (slack 32: badness 1896) | 30, in all 10² + 1906² + 10² = 3 633 036.
    // Better: 30 14 (slack 22: 616) | 16 40 (slack 10: 57) | 30, in all 626² + 67² + 10² = 396 465.
    let candidates = paragraph_of(&[(30, false), (14, false), (16, false), (40, false), (30, false)]);
    let rules = Rules { first: 72, width: 72, justified: false, rag: 12, runt: 0, hyphens: false };
    assert_eq!(cost(&candidates, &[2, 3, 4], &rules), Some(3_633_036));
    assert_eq!(cost(&candidates, &[1, 3, 4], &rules), Some(396_465));
    assert_eq!(breaks(&candidates, &rules), (vec![1, 3, 4], 616));
}

#[test]
fn a_paragraph_is_not_hyphenated_where_it_need_not_be() {
    let paragraph = set(SAMPLE, 500);
    assert!(paragraph.lines.iter().all(|line| !line.hyphenated), "{:?}", texts(&paragraph));
    assert_eq!(joined(&paragraph), SAMPLE);
}

#[test]
fn a_narrow_column_hyphenates_and_prints_the_hyphen() {
    let words = "Manufacturing instructions concatenation hyphenation.";
    let paragraph = set(words, 190);
    let hyphenated: Vec<&Line> = paragraph.lines.iter().filter(|line| line.hyphenated).collect();
    assert!(!hyphenated.is_empty(), "{:?}", texts(&paragraph));
    let hyphen = set("-", 190);
    for line in hyphenated {
        assert!(line.text.ends_with('-') && !line.forced);
        assert_eq!(glyphs(line).last().map(|last| last.1), glyphs(&hyphen.lines[0]).last().map(|last| last.1));
    }
    assert_eq!(joined(&paragraph), words);
    let without = faces().set_paragraph(&[text(words, sans(9.0))], &Measure { hyphenate: false, ..measure(250) });
    assert!(without.lines.iter().all(|line| !line.hyphenated));
}

#[test]
fn soft_hyphens_are_the_only_places_of_their_word_and_are_not_printed() {
    let paragraph = set("Extraor\u{AD}dinarily long", 130);
    assert_eq!(texts(&paragraph), ["Extraor-", "dinarily", "long"]);
    let wide = set("Extraor\u{AD}dinarily", 500);
    assert_eq!(texts(&wide), ["Extraordinarily"]);
    assert_eq!(glyphs(&wide.lines[0]), glyphs(&set("Extraordinarily", 500).lines[0]));
}

#[test]
fn code_is_not_hyphenated() {
    let look = Type { family: Family::Mono, ..sans(9.0) };
    let paragraph = faces().set_paragraph(&[text("concatenation hyphenation manufacturing", look)], &measure(240));
    assert_eq!(texts(&paragraph), ["concatenation", "hyphenation", "manufacturing"]);
}

#[test]
fn spaces_run_together_and_those_that_hold_together_hold() {
    assert_eq!(texts(&set("  a \t b\n\nc  ", 500)), ["a b c"]);
    let paragraph = set("Press it for 250\u{A0}seconds\u{A0}or\u{A0}more", 190);
    assert!(texts(&paragraph).iter().any(|line| line.contains("250\u{A0}seconds")), "{:?}", texts(&paragraph));
}

#[test]
fn a_line_that_is_never_broken_keeps_its_spaces() {
    let mono = Type { family: Family::Mono, ..sans(9.0) };
    let line = faces().set_line(&[text("  if  x", mono)], Language::English).lines.remove(0);
    let cell = faces().cell(&mono).0;
    assert_eq!(line.text, "  if  x");
    assert_eq!(line.fragments[0].x.0, 2 * cell);
    assert_eq!(line.width.0, 7 * cell);
}

#[test]
fn a_word_too_long_for_any_line_is_parted_and_says_so() {
    let word = "x".repeat(100);
    let paragraph = set(&word, 300);
    assert!(paragraph.lines.len() > 3);
    assert!(paragraph.lines.iter().rev().skip(1).all(|line| line.forced && line.width.0 <= 300 && line.width.0 > 280));
    assert_eq!(joined(&paragraph), word);
}

#[test]
fn clusters_are_never_parted() {
    let family = "\u{1F469}\u{200D}\u{1F469}\u{200D}\u{1F467}e\u{301}";
    let paragraph = set(&family.repeat(12), 60);
    for line in &paragraph.lines {
        assert!(line.text.graphemes(true).all(|cluster| family.contains(cluster)), "{:?}", line.text);
        assert!(!line.text.starts_with(['\u{200D}', '\u{301}']));
    }
}

#[test]
fn length_costs_in_proportion() {
    let start = std::time::Instant::now();
    let word = "abcdefghij".repeat(2000);
    assert_eq!(joined(&set(&word, 400)), word);
    let pages = format!("{SAMPLE} ").repeat(2000);
    let paragraph = set(&pages, 576);
    assert_eq!(paragraph.lines.iter().map(|line| line.text.split(' ').count()).sum::<usize>(), pages.split_whitespace().count());
    assert!(start.elapsed().as_secs() < 120, "{:?}", start.elapsed());
}

#[test]
fn objects_stand_in_the_line_and_break_like_ideographs() {
    let object = |id| Piece {
        content: Content::Object { id, width: Dots(60), ascent: Dots(30), descent: Dots(6) },
        span: Span::new(90, 95),
    };
    let look = sans(9.0);
    let pieces = [text("Press ", look), object(0), text(". Then ", look), object(1), object(2), text(" again", look)];
    let paragraph = faces().set_paragraph(&pieces, &measure(180));
    assert_eq!(texts(&paragraph)[0], "Press \u{fffc}.");
    let ids: Vec<usize> = paragraph
        .lines
        .iter()
        .flat_map(|line| &line.fragments)
        .filter_map(|fragment| match fragment.ink {
            FragmentInk::Object { id } => Some(id),
            FragmentInk::Glyphs { .. } => None,
        })
        .collect();
    assert_eq!(ids, [0, 1, 2]);
    assert_eq!((paragraph.lines[0].ascent, paragraph.lines[0].descent), (Dots(30), Dots(6)));
    assert_eq!(paragraph.lines[0].span, Span::new(0, 95));
    assert!(paragraph.lines.iter().all(|line| line.width.0 <= 180));
}

#[test]
fn a_forced_end_ends_the_line_and_an_empty_one_has_height() {
    let look = sans(9.0);
    let pause = || Piece { content: Content::Break, span: Span::default() };
    let paragraph = faces()
        .set_paragraph(&[text("one ", look), pause(), text(" two", look), pause(), pause(), text("three", look)], &measure(400));
    assert_eq!(texts(&paragraph), ["one", "two", "", "three"]);
    assert!(faces().set_paragraph(&[], &measure(400)).lines.is_empty());
    assert!(set(" ", 400).lines.is_empty());
}

#[test]
fn a_value_in_another_direction_turns_no_paragraph_round() {
    // Direction of a paragraph is its language's: UAX #9, HL1.
    let paragraph = set("\u{2068}שלום\u{2069} is printed on the box.", 560);
    let first = paragraph.lines[0].fragments.iter().map(|fragment| fragment.x.0).min();
    assert!(first.is_some_and(|x| x < 4), "{first:?}");
    let plain = set("Shalom is printed on the box.", 560);
    assert_eq!(glyphs(&paragraph.lines[0]).last().map(|last| last.1), glyphs(&plain.lines[0]).last().map(|last| last.1));
}

#[test]
fn no_line_parts_a_number_from_what_it_counts() {
    for width in 100..400 {
        let paragraph = set("Hold the key for 3 seconds, lift it by 10 mm and wait for 25 minutes.", width);
        for line in &paragraph.lines {
            assert!(!line.text.ends_with(char::is_numeric), "{width} dots: {:?}", texts(&paragraph));
        }
    }
}

#[test]
fn a_word_too_long_for_its_line_is_divided_where_its_language_divides_it_and_as_seldom_as_can_be() {
    // Wol-ken-ku-ckucks-heim, Ge-burts-tags-über-ra-schung: the patterns' points (hypher); hyphenation is off.
    let german = |width| Measure { hyphenate: false, language: Language::German, ..measure(width) };
    for (word, whole) in [("Wolkenkuckucksheim", 300), ("GEBURTSTAGSÜBERRASCHUNG", 420)] {
        let width = faces().set_line(&[text(word, sans(9.0))], Language::German).lines[0].width.0;
        assert!(width < whole, "{width}");
        let paragraph = faces().set_paragraph(&[text(word, sans(9.0))], &german(width * 3 / 4));
        assert_eq!(paragraph.lines.len(), 2, "{:?}", texts(&paragraph));
        assert!(paragraph.lines[0].hyphenated && !paragraph.lines[0].forced, "{:?}", texts(&paragraph));
        assert_eq!(joined(&paragraph), word);
    }
}

#[test]
fn a_word_broken_in_the_middle_of_nowhere_shows_it_and_leaves_no_letter_alone() {
    let word = &"x".repeat(64);
    let measure = Measure { hyphenate: false, ..measure(120) };
    let paragraph = faces().set_paragraph(&[text(word, sans(9.0))], &measure);
    assert!(paragraph.lines.len() > 1);
    for line in &paragraph.lines[..paragraph.lines.len() - 1] {
        assert!(line.forced && line.text.ends_with('-'), "{:?}", texts(&paragraph));
    }
    assert!(paragraph.lines.iter().all(|line| line.text.chars().count() > 2), "{:?}", texts(&paragraph));
    assert_eq!(joined(&paragraph), *word);
    // What is typed as it stands gets none.
    let code = Piece {
        content: Content::Text { text: word, look: sans(9.0), strike: false, rise: Dots(0), verbatim: true },
        span: Span::default(),
    };
    let paragraph = faces().set_paragraph(&[code], &measure);
    assert_eq!(texts(&paragraph).concat(), *word);
}

#[test]
fn balanced_lines_are_no_more_and_more_even() {
    let words = "Unpack the lamp and look for damage on all sides now";
    let plain = set(words, 400);
    let even = faces().set_paragraph(&[text(words, sans(9.0))], &Measure { balanced: true, ..measure(400) });
    let widths = |paragraph: &Paragraph| paragraph.lines.iter().map(|line| line.width.0).collect::<Vec<_>>();
    assert_eq!(plain.lines.len(), even.lines.len());
    let spread = |widths: Vec<i32>| widths.iter().max().unwrap_or(&0) - widths.iter().min().unwrap_or(&0);
    assert!(spread(widths(&even)) < spread(widths(&plain)), "{:?} {:?}", texts(&plain), texts(&even));
    assert_eq!(joined(&even), words);
}

#[test]
fn figures_that_stand_under_each_other_are_of_one_width() {
    let wide = |figures: &str| {
        let measure = Measure { tabular: true, ..measure(400) };
        faces().set_paragraph(&[text(figures, sans(7.5))], &measure).lines[0].width
    };
    for figures in ["1.11", "7.77", "4.00", "0.14"] {
        assert_eq!(wide(figures), wide("2.22"), "{figures}");
    }
}

#[test]
fn a_line_is_as_high_as_what_stands_on_it_and_not_as_what_ended_the_line_before() {
    let tall =
        Piece { content: Content::Object { id: 0, width: Dots(150), ascent: Dots(90), descent: Dots(6) }, span: Span::default() };
    let paragraph = faces().set_paragraph(&[tall, text(" words", sans(9.0))], &measure(180));
    assert_eq!(paragraph.lines.len(), 2);
    assert_eq!(paragraph.lines[1].ascent, faces().vertical(&sans(9.0)).ascent);
}

#[test]
fn a_japanese_line_ends_at_a_space_before_it_ends_within_katakana() {
    let lines = |width| {
        let measure = Measure { language: Language::Japanese, ..measure(width) };
        let paragraph = faces().set_paragraph(&[text("スイッチ ライトコントロール", sans(9.0))], &measure);
        texts(&paragraph).iter().map(|line| line.to_string()).collect::<Vec<_>>()
    };
    let whole = faces().set_line(&[text("スイッチ ライトコントロール", sans(9.0))], Language::Japanese).lines[0].width.0;
    assert_eq!(lines(whole - 8), ["スイッチ", "ライトコントロール"]);
}

#[test]
fn justified_lines_end_together_but_for_the_last() {
    let paragraph = faces().set_paragraph(&[text(SAMPLE, sans(9.0))], &Measure { justified: true, ..measure(500) });
    let (last, lines) = paragraph.lines.split_last().expect("lines");
    for line in lines {
        assert!((497..=500).contains(&line.width.0), "{} dots: {}", line.width.0, line.text);
    }
    assert!(last.width.0 < 500);
    assert_eq!(joined(&paragraph), SAMPLE);
}

#[test]
fn the_same_two_letters_always_stand_equally_far_apart() {
    for size in [6.0, 7.0, 8.0, 9.0, 10.0, 14.0] {
        let line = faces().set_line(&[text("nnnnnnnnnnnnnnnnnnnn", sans(size))], Language::English).lines.remove(0);
        let steps: Vec<i32> = glyphs(&line).windows(2).map(|pair| pair[1].0 - pair[0].0).collect();
        assert!(steps.iter().all(|step| *step == steps[0]), "{size} pt: {steps:?}");
    }
}

#[test]
fn kerning_is_kept_and_letters_do_not_touch() {
    let width = |words: &str| faces().set_line(&[text(words, sans(24.0))], Language::English).lines[0].width.0;
    assert!(width("AV") < width("AH") + width("HV") - width("HH"));
    for size in [6.0, 7.0, 8.0, 9.0] {
        for words in ["rn", "tt", "ff", "fl", "ry", "AV", "Wa", "lI", "cl", "kt", "f)", "LT"] {
            let line = faces().set_line(&[text(words, sans(size))], Language::English).lines.remove(0);
            let pair = glyphs(&line);
            if pair.len() == 2 {
                let (left, right) = (faces().cut(pair[0].1), faces().cut(pair[1].1));
                let clear = left.clearance(&right, 0).map_or(1, |clear| clear + pair[1].0 - pair[0].0);
                assert!(clear >= 1, "{words} touch at {size} pt");
            }
        }
    }
}

#[test]
fn ligatures_and_marks_come_from_the_face() {
    let line = |words: &str| faces().set_line(&[text(words, sans(9.0))], Language::English).lines.remove(0);
    assert_eq!(glyphs(&line("e\u{301}")), glyphs(&line("\u{E9}")));
    assert!(glyphs(&line("ffi")).len() < 3, "the face's ligature is used");
    let marked = line("q\u{303}");
    assert_eq!(glyphs(&marked).len(), 2);
    assert!(marked.width.0 <= line("q").width.0 + 2);
}

#[test]
fn a_character_without_a_face_is_reported_and_shown() {
    let paragraph = faces().set_paragraph(&[text("a\u{65E5}b", sans(9.0)), text("\u{65E5}\u{E12}", sans(9.0))], &measure(500));
    assert_eq!(paragraph.missing, [('\u{65E5}', 0), ('\u{65E5}', 1), ('\u{E12}', 1)]);
    let shown = glyphs(&paragraph.lines[0]);
    let boxed = shown.iter().find(|(_, key)| key.id == 0x65E5).expect("a box");
    assert!(faces().dots(boxed.1).bitmap.black() > 20);
    assert!(set("naïve Žluťoučký Ωμέγα Жук ấ → ⚠ ✓ ☐ 🔋 אב عربي", 2000).missing.is_empty());
}

#[test]
fn a_wide_sign_without_a_face_is_set_in_its_narrow_form() {
    // U+FFE5 decomposes to U+00A5, U+FF21 to A (UnicodeData.txt, field 5, memory).
    let ids = |text: &str| -> Vec<_> {
        let lines = set(text, 500).lines;
        lines.iter().flat_map(|line| &line.fragments).map(|fragment| format!("{:?}", fragment.ink)).collect()
    };
    assert!(set("\u{FFE5}97.72", 500).missing.is_empty());
    assert_eq!(ids("\u{FFE5}"), ids("\u{A5}"));
    assert_eq!(ids("\u{FF21}"), ids("A"));
}

#[test]
fn joiners_and_selectors_are_no_missing_characters() {
    assert!(set("a\u{200B}b\u{2060}c\u{FE0F}d\u{200D}e\u{200E}", 500).missing.is_empty());
    assert!(set("\u{2764}\u{FE0F}", 500).missing.is_empty());
    assert_eq!(set("a\u{7}b", 500).missing, [('\u{7}', 0)]);
}

#[test]
fn right_to_left_lines_are_flush_right_and_in_visual_order() {
    let paragraph = faces().set_paragraph(
        &[text("\u{5D0}\u{5D1} abc (\u{5D2})", sans(9.0))],
        &Measure { language: Language::Hebrew, ..measure(300) },
    );
    let line = &paragraph.lines[0];
    assert!((297..=300).contains(&line.width.0), "ends at {}", line.width.0);
    assert_eq!(line.text, "\u{5D0}\u{5D1} abc (\u{5D2})");
    // Visual order, left to right: ( gimel ) mirrored, then abc, then bet, alef.
    let key = |c: &str| glyphs(&faces().set_line(&[text(c, sans(9.0))], Language::Hebrew).lines[0])[0].1;
    let hebrew: Vec<GlyphKey> = glyphs(line).into_iter().map(|(_, key)| key).collect();
    let place = |wanted: GlyphKey| hebrew.iter().position(|&key| key == wanted).expect("the glyph");
    assert!(place(key("\u{5D2}")) < place(key("\u{5D1}")));
    assert!(place(key("\u{5D1}")) < place(key("\u{5D0}")));
    let x: Vec<i32> = glyphs(line).iter().map(|glyph| glyph.0).collect();
    assert!(x.is_sorted());
}

#[test]
fn a_paragraph_runs_as_its_language_does() {
    // UAX #9, HL1: the direction of a paragraph is the caller's to say; here its language says it.
    let hebrew = "\u{5E9}\u{5DC}\u{5D5}\u{5DD}";
    for words in [format!("{hebrew} Heron"), format!("Heron {hebrew}")] {
        assert!(set(&words, 300).lines[0].fragments[0].x.0 < 5);
        let measure = Measure { language: Language::Hebrew, ..measure(300) };
        let paragraph = faces().set_paragraph(&[text(&words, sans(9.0))], &measure);
        assert!(paragraph.lines[0].indent().0 > 100);
    }
}

#[test]
fn ideographs_break_between_but_not_before_their_stops() {
    // UAX #14: class CL may not begin a line, class ID breaks on both sides.
    let paragraph = faces().set_paragraph(
        &[text("\u{65E5}\u{672C}\u{8A9E}\u{3002}\u{65E5}\u{672C}\u{8A9E}\u{3002}", sans(9.0))],
        &Measure { language: Language::Japanese, ..measure(50) },
    );
    assert_eq!(paragraph.lines.len(), 3, "{:?}", texts(&paragraph));
    assert!(paragraph.lines.iter().all(|line| !line.text.starts_with('\u{3002}') && !line.forced), "{:?}", texts(&paragraph));
}

#[test]
fn a_face_of_the_writers_sets_what_the_shipped_ones_lack() {
    let absent = '\u{1F7}';
    assert_eq!(
        Faces::new(Resolution::EIGHT).with_face("ja", b"no font".to_vec()).err(),
        Some(Error::NotAFont { tag: "ja".into() })
    );
    let bytes = include_bytes!("../../fonts/mono-regular.ttf").to_vec();
    let box_drawing = "\u{2554}";
    assert!(!set(box_drawing, 100).lines.is_empty());
    let mine = Faces::new(Resolution::EIGHT).with_face("en", bytes).expect("a font");
    let set = mine.set_line(&[text(box_drawing, sans(9.0))], Language::English);
    assert_eq!(glyphs(&set.lines[0])[0].1.face, FaceId(15), "the added face comes before the symbols");
    assert!(!set.missing.contains(&(absent, 0)));
}

#[test]
fn a_face_of_the_writers_stands_in_the_stead_of_a_shipped_one_where_it_has_the_letters() {
    let (mono, lettering) = (include_bytes!("../../fonts/mono-regular.ttf"), include_bytes!("../../fonts/lettering-bold.otf"));
    let mine = Faces::new(Resolution::EIGHT).with_face("sans", mono.to_vec()).expect("a font");
    let mine = mine.with_face("title", lettering.to_vec()).expect("a font");
    let key = |words: &str, look: Type| glyphs(&mine.set_line(&[text(words, look)], Language::English).lines[0])[0].1;
    let bold = Type { bold: true, ..sans(9.0) };
    assert_eq!(key("Heron", sans(9.0)).face, FaceId(15));
    assert_eq!(key("Heron", bold).face, FaceId(16), "its own strokes, made heavier");
    assert_eq!(key("Heron", Type { family: Family::Title, ..bold }).face, FaceId(17), "titles are as bold as their face");
    assert_eq!(key("Heron", Type { family: Family::Mono, ..sans(9.0) }).face, FaceId(4), "no other family");
    assert_eq!(key("\u{5e9}", sans(9.0)).face, FaceId(7), "a letter that it lacks");
    let ink = |look| mine.dots(key("H", look)).bitmap.black();
    assert!(ink(bold) > ink(sans(9.0)));
    assert_eq!((mine.tag_of(FaceId(16)), mine.tag_of(FaceId(4))), (Some("sans"), None));
}

#[test]
fn stressed_lettering_leans_over_and_is_heavier() {
    let of = |italic: bool| {
        let look = Type { family: Family::Lettering, bold: true, italic, size: Pt::new(12.0) };
        let set = faces().set_line(&[text("l", look)], Language::English);
        faces().dots(glyphs(&set.lines[0])[0].1)
    };
    let (plain, stressed) = (of(false), of(true));
    assert!(stressed.bitmap.width() > plain.bitmap.width() && stressed.bitmap.black() > plain.bitmap.black());
    // The foot of the stroke stands left of its head.
    let first = |row: u32| (0..stressed.bitmap.width() as i32).find(|&x| stressed.bitmap.get(x, row as i32));
    assert!(first(stressed.bitmap.height() - 1) < first(0));
}

#[test]
fn heights_follow_the_letters() {
    let vertical = faces().vertical(&sans(9.0));
    assert!(vertical.x_height < vertical.cap_height && vertical.cap_height <= vertical.ascent);
    // A capital of the face is 0.714 em high; 9 pt at 203.2 dpi = 25.4 dots (CHECKS.md, "Type").
    assert_eq!(vertical.cap_height, Dots(18));
    assert!(vertical.descent.0 >= 5);
    let struck = Piece {
        content: Content::Text { text: "old", look: sans(9.0), strike: true, rise: Dots(4), verbatim: false },
        span: Span::default(),
    };
    let line = faces().set_line(&[struck], Language::English).lines.remove(0);
    assert_eq!(line.ascent, vertical.ascent + Dots(4));
    assert!(
        matches!(line.fragments[0].ink, FragmentInk::Glyphs { strike: Some(strike), .. } if strike.top.0 < -4 && strike.thickness.0 >= 1)
    );
}

#[test]
fn no_fitted_glyph_loses_a_part_of_itself() {
    // A hinter may collapse a stroke at some size (the stem of the bold i at 7 pt and 180 dpi); "zero stems lost".
    for resolution in [Resolution::EIGHT, Resolution { dots_per_metre: 7087 }] {
        let faces = Faces::new(resolution);
        for size in [6.0, 7.0, 8.0, 9.0, 10.0, 12.0] {
            for (bold, italic) in [(false, false), (true, false), (false, true), (true, true)] {
                let look = Type { bold, italic, ..sans(size) };
                let line = faces.set_line(&[text("i j ä ! ? : ; % é ï ű", look)], Language::English).lines.remove(0);
                for (_, key) in glyphs(&line) {
                    let dots = faces.dots(key);
                    let blank = (0..dots.bitmap.height()).filter(|&y| dots.bitmap.row_is_blank(y)).count();
                    assert!(dots.bitmap.height() - blank as u32 >= 3, "{size} pt {look:?}: glyph {} {dots:?}", key.id);
                }
                let stem = faces.set_line(&[text("i", look)], Language::English).lines.remove(0);
                let dots = faces.dots(glyphs(&stem)[0].1);
                let x_height = faces.vertical(&look).x_height.0;
                assert!(dots.bitmap.height() as i32 > x_height, "{size} pt: the i is {} dots high", dots.bitmap.height());
                let lower = dots.bitmap.part(0, dots.bitmap.height() as i32 - x_height, dots.bitmap.width(), x_height as u32);
                assert!(lower.black() as i32 >= x_height, "{size} pt {look:?}: the stem of the i is lost");
            }
        }
    }
}

#[test]
fn strokes_are_never_one_dot_wide_and_bold_ones_are_wider() {
    for resolution in [Resolution::EIGHT, Resolution { dots_per_metre: 7087 }] {
        let faces = Faces::new(resolution);
        for size in [6.0, 7.0, 8.0, 9.0, 12.0] {
            let width = |bold| {
                let line = faces.set_line(&[text("l", Type { bold, ..sans(size) })], Language::English).lines.remove(0);
                faces.dots(glyphs(&line)[0].1).bitmap.width()
            };
            assert!(width(false) >= 2, "{size} pt");
            assert!(width(true) > width(false), "{size} pt");
        }
    }
}

#[test]
fn the_same_text_is_set_alike_by_many_threads_at_once() {
    let fresh = Faces::new(Resolution::EIGHT);
    let results: Vec<Paragraph> = std::thread::scope(|scope| {
        let threads: Vec<_> =
            (0..4).map(|_| scope.spawn(|| fresh.set_paragraph(&[text(SAMPLE, sans(8.0))], &measure(300)))).collect();
        threads.into_iter().map(|thread| thread.join().expect("a thread")).collect()
    });
    assert!(results.iter().all(|paragraph| *paragraph == results[0]));
    let expected = Faces::new(Resolution::EIGHT).set_paragraph(&[text(SAMPLE, sans(8.0))], &measure(300));
    assert_eq!(results[0], expected);
}
