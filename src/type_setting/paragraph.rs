//! Setting a paragraph: a galley for each stretch between forced ends, its best breaks, its lines.

use unicode_bidi::Level;
use unicode_segmentation::UnicodeSegmentation;

use super::faces::{Faces, Look};
use super::galley::{Body, Galley, galleys, part_of};
use super::line::{Room, Spot, line};
use super::optimum::{Candidate, Rules, breaks};
use super::unit::{edge, whole_dots};
use super::{Family, Measure, Paragraph, Piece, hyphenation};
use crate::language::Language;

/// A hyphen that the writer did not type; one that was typed, and other places inside a word such as a slash; a break where
/// none is allowed. Penalties in the sense of The TeXbook, ch. 14.
const HYPHEN: i32 = 200;
const TYPED_HYPHEN: i32 = 50;
const NEED: i32 = 2000;
/// Without hyphens a paragraph is good enough when no line is worse than this.
const GOOD_ENOUGH: i64 = 200;

/// Sets pieces to a measure, or in one line for each forced end when there is none.
pub(super) fn set(faces: &Faces, pieces: &[Piece<'_>], measure: Option<&Measure>, language: Language) -> Paragraph {
    let (galleys, base) = galleys(faces, pieces, language, measure.is_some());
    let mut paragraph = Paragraph::default();
    for galley in &galleys {
        for slug in &galley.slugs {
            if let Body::Text { part, .. } = &slug.body {
                for &c in &part.unit.missing {
                    if !paragraph.missing.contains(&(c, slug.piece)) {
                        paragraph.missing.push((c, slug.piece));
                    }
                }
            }
        }
        if galley.slugs.is_empty() && galleys.len() == 1 {
            break;
        }
        match measure {
            None => {
                let room = Room { width: None, justified: false, base };
                paragraph.lines.push(line(faces, pieces, galley, Spot::start(), Spot::end(galley), &room));
            }
            Some(measure) => set_lines(faces, pieces, galley, measure, base, &mut paragraph),
        }
    }
    paragraph
}

fn set_lines(faces: &Faces, pieces: &[Piece<'_>], galley: &Galley, measure: &Measure, base: Level, paragraph: &mut Paragraph) {
    let first = if paragraph.lines.is_empty() { measure.first.unwrap_or(measure.width) } else { measure.width };
    if galley.slugs.is_empty() {
        let room = Room { width: Some(first), justified: false, base };
        paragraph.lines.push(line(faces, pieces, galley, Spot::start(), Spot::end(galley), &room));
        return;
    }
    let spots = spots(faces, galley, measure, first.0.min(measure.width.0));
    let candidates: Vec<Candidate> = spots.iter().map(|spot| spot.candidate).collect();
    let em = galley.slugs.iter().find_map(|slug| match &slug.body {
        Body::Text { look, .. } => Some(look.em),
        Body::Object { .. } => None,
    });
    let em = whole_dots(em.unwrap_or(16 * 64));
    let mut rules = Rules {
        first: first.0,
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
    let mut from = Spot::start();
    for (number, &at) in chosen.iter().enumerate() {
        let Some(to) = spots.get(at) else { continue };
        let width = if number == 0 { first } else { measure.width };
        let last = number + 1 == chosen.len();
        let room = Room { width: Some(width), justified: measure.justified && !last, base };
        paragraph.lines.push(line(faces, pieces, galley, from, *to, &room));
        from = *to;
    }
}

/// All places where a line may end, in order; the galley's end is the last.
fn spots(faces: &Faces, galley: &Galley, measure: &Measure, narrowest: i32) -> Vec<Spot> {
    let mut spots = Vec::with_capacity(galley.slugs.len() + 8);
    let mut index = 0;
    while index < galley.slugs.len() {
        // What no line may part: the slugs up to the next break.
        let mut last = index;
        while last + 1 < galley.slugs.len() && !galley.slugs[last].breakable {
            last += 1;
        }
        let (begin, end) = (&galley.slugs[index], &galley.slugs[last]);
        let width = end.at + end.body.ink() - begin.at + edge(begin.body.before()) + edge(end.body.after());
        let wide = width > narrowest;
        for within in index..=last {
            inside(faces, galley, within, measure, wide, &mut spots);
            if within < last && wide {
                spots.push(after(galley, within, NEED, true));
            }
        }
        let penalty = match galley.text_of(end).chars().next_back() {
            _ if end.spaces > 0 => 0,
            Some('-' | '\u{2010}' | '/' | '\u{2013}' | '\u{2014}') => TYPED_HYPHEN,
            _ => 0,
        };
        spots.push(after(galley, last, penalty, false));
        index = last + 1;
    }
    spots
}

/// The place after a slug.
fn after(galley: &Galley, index: usize, penalty: i32, forced: bool) -> Spot {
    let slug = &galley.slugs[index];
    let ink_end = slug.at + slug.body.ink();
    let start = galley.slugs.get(index + 1).map_or(ink_end, |next| next.at - edge(next.body.before()));
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
/// be parted because no line can hold it.
fn inside(faces: &Faces, galley: &Galley, index: usize, measure: &Measure, wide: bool, spots: &mut Vec<Spot>) {
    let slug = &galley.slugs[index];
    let Body::Text { part, look } = &slug.body else { return };
    let text = galley.text_of(slug);
    let divides = measure.hyphenate && look.family != Family::Mono;
    if !divides && !wide && galley.soft.is_empty() {
        return;
    }
    let lowest = galley.soft.partition_point(|&at| at <= slug.range.start);
    let soft: Vec<u32> =
        galley.soft[lowest..].iter().take_while(|&&at| at < slug.range.end).map(|&at| (at - slug.range.start) as u32).collect();
    let points: &[u32] = if !soft.is_empty() {
        &soft
    } else if divides {
        part.unit.points.get_or_init(|| hyphenation::points(text, look.language))
    } else {
        &[]
    };
    let within = Within { faces, galley, index, look, text, wide };
    let mut place = |at: usize, hyphen: bool| spots.extend(within.spot(at, hyphen));
    if !wide {
        points.iter().for_each(|&at| place(at as usize, true));
        return;
    }
    let mut points = points.iter().copied().peekable();
    for (at, _) in text.grapheme_indices(true).skip(1) {
        let hyphen = points.next_if(|&point| point as usize <= at).is_some_and(|point| point as usize == at);
        if part.unit.cuts_at(at as u32) {
            place(at, hyphen);
        }
    }
}

/// The slug that is parted, and what parting it needs.
struct Within<'a> {
    faces: &'a Faces,
    galley: &'a Galley,
    index: usize,
    look: &'a Look,
    text: &'a str,
    wide: bool,
}

impl Within<'_> {
    fn spot(&self, at: usize, hyphen: bool) -> Option<Spot> {
        let slug = &self.galley.slugs[self.index];
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
            penalty: if hyphen { HYPHEN } else { NEED },
            hyphen,
            same: if self.wide { 0 } else { self.index as u32 + 1 },
        };
        Some(Spot { slug: self.index, at, hyphen, forced: !hyphen, candidate })
    }
}
