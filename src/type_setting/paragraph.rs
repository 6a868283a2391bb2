//! Setting a paragraph: the stretches between forced ends, its best breaks, its lines.

use unicode_bidi::Level;
use unicode_segmentation::UnicodeSegmentation;

use super::breaks::parts_katakana;
use super::faces::{Faces, Look};
use super::line::{Room, Spot, line};
use super::optimum::{Candidate, Rules, breaks};
use super::stretch::{Body, Manner, Stretch, part_of, stretches};
use super::unit::{edge, whole_dots};
use super::{Content, Family, Measure, Paragraph, Piece, hyphenation};
use crate::language::Language;

/// A hyphen that the writer did not type; one that was typed, and other places inside a word such as a slash; the middle of a
/// word of katakana. Penalties in the sense of The TeXbook, ch. 14.
const HYPHEN: i32 = 200;
const TYPED_HYPHEN: i32 = 50;
const KATAKANA: i32 = 10_500;
/// What no line can hold is parted as seldom as can be: each of these outweighs a line with nothing on it. Between a number and
/// what it counts; at a hyphenation point of a text that is not hyphenated; where no break is allowed; and there beside a single
/// letter.
const HELD: i32 = 11_000;
const HYPHEN_IN_NEED: i32 = 12_000;
const NEED: i32 = 20_000;
const NEED_OF_A_LETTER: i32 = 30_000;
/// Without hyphens a paragraph is good enough when no line is worse than this.
const GOOD_ENOUGH: i64 = 200;

impl Faces {
    /// Sets a text in one line that is never broken; spaces stay as they are.
    pub fn set_line(&self, pieces: &[Piece<'_>], language: Language) -> Paragraph {
        set(self, pieces, None, Manner { language, collapse: false, tabular: false })
    }

    /// Sets a text in lines of a given measure; runs of spaces count as one, at the ends of lines as none.
    pub fn set_paragraph(&self, pieces: &[Piece<'_>], measure: &Measure) -> Paragraph {
        let manner = Manner { language: measure.language, collapse: true, tabular: measure.tabular };
        set(self, pieces, Some(measure), manner)
    }
}

/// Sets pieces to a measure, or in one line for each forced end when there is none.
fn set(faces: &Faces, pieces: &[Piece<'_>], measure: Option<&Measure>, manner: Manner) -> Paragraph {
    let (stretches, base) = stretches(faces, pieces, manner);
    let mut paragraph = Paragraph::default();
    for stretch in &stretches {
        for slug in &stretch.slugs {
            if let Body::Text { part, .. } = &slug.body {
                for &c in &part.unit.missing {
                    if !paragraph.missing.contains(&(c, slug.piece)) {
                        paragraph.missing.push((c, slug.piece));
                    }
                }
            }
        }
        if stretch.slugs.is_empty() && stretches.len() == 1 {
            break;
        }
        match measure {
            None => {
                let room = Room { width: None, justified: false, base };
                paragraph.lines.push(line(faces, pieces, stretch, Spot::start(), Spot::end(stretch), &room));
            }
            Some(measure) => set_lines(faces, pieces, stretch, measure, base, &mut paragraph),
        }
    }
    paragraph
}

fn set_lines(faces: &Faces, pieces: &[Piece<'_>], stretch: &Stretch, measure: &Measure, base: Level, paragraph: &mut Paragraph) {
    if stretch.slugs.is_empty() {
        let room = Room { width: Some(measure.width), justified: false, base };
        paragraph.lines.push(line(faces, pieces, stretch, Spot::start(), Spot::end(stretch), &room));
        return;
    }
    let spots = spots(faces, pieces, stretch, measure);
    let candidates: Vec<Candidate> = spots.iter().map(|spot| spot.candidate).collect();
    let em = stretch.slugs.iter().find_map(|slug| match &slug.body {
        Body::Text { look, .. } => Some(look.em),
        Body::Object { .. } => None,
    });
    let em = whole_dots(em.unwrap_or(16 * 64));
    let mut rules = Rules {
        first: measure.width.0,
        width: measure.width.0,
        justified: measure.justified,
        rag: (3 * em).min(measure.width.0 / 6).max(1),
        runt: (measure.width.0 / 6).min(4 * em),
        hyphens: false,
    };
    let (mut chosen, worst) = breaks(&candidates, &rules);
    let needy = chosen.iter().any(|&at| spots.get(at).is_some_and(|spot| spot.forced));
    if (worst > GOOD_ENOUGH || needy) && candidates.iter().any(|candidate| candidate.hyphen) {
        rules.hyphens = true;
        chosen = breaks(&candidates, &rules).0;
    }
    if measure.balanced {
        chosen = balanced(&candidates, &rules, chosen);
    }
    drop(candidates);
    let chosen: Vec<Spot> = chosen.into_iter().filter_map(|at| spots.get(at).copied()).collect();
    drop(spots);
    let mut from = Spot::start();
    for (number, to) in chosen.iter().enumerate() {
        let last = number + 1 == chosen.len();
        let room = Room { width: Some(measure.width), justified: measure.justified && !last, base };
        paragraph.lines.push(line(faces, pieces, stretch, from, *to, &room));
        from = *to;
    }
}

/// As many lines as these, as even as they can be: the breaks for the narrowest measure that needs no further line. Where a word
/// had to be parted, or lines are many, they stay as they are.
fn balanced(candidates: &[Candidate], rules: &Rules, chosen: Vec<usize>) -> Vec<usize> {
    const MOST: usize = 6;
    let whole = |breaks: &[usize]| breaks.iter().all(|&at| candidates[at].penalty < HELD && !candidates[at].hyphen);
    let fits = |breaks: &[usize], width: i32| {
        let starts = std::iter::once(0).chain(breaks.iter().map(|&at| candidates[at].start));
        starts.zip(breaks).all(|(start, &at)| candidates[at].end - start <= width)
    };
    if !(2..=MOST).contains(&chosen.len()) || !whole(&chosen) {
        return chosen;
    }
    let count = chosen.len();
    let (mut low, mut high, mut best) = (rules.width / count as i32 / 2, rules.width, chosen);
    while low + 1 < high {
        let width = (low + high) / 2;
        let even = breaks(candidates, &Rules { first: width, width, rag: width, runt: 0, ..*rules }).0;
        if even.len() <= count && whole(&even) && fits(&even, width) {
            (high, best) = (width, even);
        } else {
            low = width;
        }
    }
    best
}

/// All places where a line may end, in order; the stretch's end is the last.
fn spots(faces: &Faces, pieces: &[Piece<'_>], stretch: &Stretch, measure: &Measure) -> Vec<Spot> {
    let mut spots = Vec::with_capacity(stretch.slugs.len() + 8);
    let mut index = 0;
    while index < stretch.slugs.len() {
        // What no line may part: the slugs up to the next break.
        let mut last = index;
        while last + 1 < stretch.slugs.len() && !stretch.slugs[last].breakable {
            last += 1;
        }
        let (begin, end) = (&stretch.slugs[index], &stretch.slugs[last]);
        let width = end.at + end.body.ink() - begin.at + edge(begin.body.before()) + edge(end.body.after());
        let wide = width > measure.width.0;
        for within in index..=last {
            inside(faces, pieces, stretch, within, measure, wide, &mut spots);
            if within < last && wide {
                let held = stretch.slugs[within].held;
                spots.push(after(stretch, within, if held { HELD } else { NEED }, !held));
            }
        }
        let penalty = match stretch.text_of(end).chars().next_back() {
            _ if end.spaces > 0 => 0,
            Some('-' | '\u{2010}' | '/' | '\u{2013}' | '\u{2014}') => TYPED_HYPHEN,
            _ if parts_katakana(&stretch.text, end.range.end) => KATAKANA,
            _ => 0,
        };
        spots.push(after(stretch, last, penalty, false));
        index = last + 1;
    }
    spots
}

/// The place after a slug.
fn after(stretch: &Stretch, index: usize, penalty: i32, forced: bool) -> Spot {
    let slug = &stretch.slugs[index];
    let ink_end = slug.at + slug.body.ink();
    let start = stretch.slugs.get(index + 1).map_or(ink_end, |next| next.at - edge(next.body.before()));
    let candidate = Candidate {
        end: ink_end + edge(slug.body.after()),
        start,
        give_end: slug.give,
        give_start: slug.give + slug.space,
        penalty,
        hyphen: false,
        same: 0,
    };
    Spot { slug: index, at: slug.range.len(), hyphen: false, forced, candidate }
}

/// Places inside a slug: after its soft hyphens, else where its language divides it; and after every character when it has to
/// be parted because no line can hold it. What is parted between two letters of a word gets a hyphen wherever that is.
fn inside(
    faces: &Faces,
    pieces: &[Piece<'_>],
    stretch: &Stretch,
    index: usize,
    measure: &Measure,
    wide: bool,
    spots: &mut Vec<Spot>,
) {
    let slug = &stretch.slugs[index];
    let Body::Text { part, look } = &slug.body else { return };
    let text = stretch.text_of(slug);
    let verbatim = matches!(pieces[slug.piece].content, Content::Text { verbatim: true, .. });
    let divides = measure.hyphenate && look.family != Family::Mono && !verbatim;
    let in_need;
    if !divides && !wide && stretch.soft.is_empty() {
        return;
    }
    let lowest = stretch.soft.partition_point(|&at| at <= slug.range.start);
    let soft: Vec<u32> =
        stretch.soft[lowest..].iter().take_while(|&&at| at < slug.range.end).map(|&at| (at - slug.range.start) as u32).collect();
    let points: &[u32] = if !soft.is_empty() {
        &soft
    } else if divides {
        part.unit.points.get_or_init(|| hyphenation::points(text, look.language))
    } else if wide && !verbatim {
        in_need = hyphenation::points_in_need(text, look.language);
        &in_need
    } else {
        &[]
    };
    let within = Within { faces, stretch, index, look, text, wide };
    let point = Place { penalty: if divides { HYPHEN } else { HYPHEN_IN_NEED }, hyphen: true, allowed: true };
    if !wide {
        spots.extend(points.iter().filter_map(|&at| within.spot(at as usize, point)));
        return;
    }
    let wordy = !verbatim && hyphenation::is_wordy(text);
    let mut points = points.iter().copied().peekable();
    let second = text.grapheme_indices(true).nth(2).map_or(text.len(), |(at, _)| at);
    let last_but_one = text.grapheme_indices(true).nth_back(1).map_or(0, |(at, _)| at);
    for (at, _) in text.grapheme_indices(true).skip(1) {
        let allowed = points.next_if(|&point| point as usize <= at).is_some_and(|point| point as usize == at);
        if part.unit.cuts_at(at as u32) {
            let lone = at < second || at > last_but_one;
            let penalty = if lone { NEED_OF_A_LETTER } else { NEED };
            let hyphen = wordy && hyphenation::takes_hyphen(text, at);
            let place = if allowed { point } else { Place { penalty, hyphen, allowed: false } };
            spots.extend(within.spot(at, place));
        }
    }
}

/// What a break inside a slug costs and shows, and whether its language allows it.
#[derive(Clone, Copy)]
struct Place {
    penalty: i32,
    hyphen: bool,
    allowed: bool,
}

/// The slug that is parted, and what parting it needs.
struct Within<'a> {
    faces: &'a Faces,
    stretch: &'a Stretch,
    index: usize,
    look: &'a Look,
    text: &'a str,
    wide: bool,
}

impl Within<'_> {
    fn spot(&self, at: usize, place: Place) -> Option<Spot> {
        let Place { penalty, hyphen, allowed } = place;
        let slug = &self.stretch.slugs[self.index];
        let Body::Text { part, .. } = &slug.body else { return None };
        let end_white = |white| if hyphen { whole_dots(white) } else { edge(white) };
        let whole = |from, to| part_of(self.faces, part, self.look, self.text, from, to);
        // Parts of a slug too wide for a line are cut out of it in place, so that each costs the same whatever its length.
        let (end, start) = if self.wide {
            let (left, right) = part.unit.edges(at as u32)?;
            (slug.at + left.ink_end + end_white(left.white), slug.at + right.ink_start - edge(right.white))
        } else {
            let (left, right) = (whole(0, at), whole(at, self.text.len()));
            let ink = slug.body.ink();
            (slug.at + left.ink + end_white(left.after), slug.at + ink - right.ink - edge(right.before))
        };
        let mut end = end;
        if hyphen {
            let mark = self.faces.kept(self.look).unit("-").whole();
            end += mark.ink + whole_dots(mark.before) + edge(mark.after);
        }
        let candidate = Candidate {
            end,
            start,
            give_end: slug.give,
            give_start: slug.give,
            penalty,
            // Places in need are there from the first.
            hyphen: allowed,
            same: if self.wide { 0 } else { self.index as u32 + 1 },
        };
        Some(Spot { slug: self.index, at, hyphen, forced: !allowed, candidate })
    }
}
