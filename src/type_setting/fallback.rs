//! Which face each character of a text is set in, and what stands for a character that none has.
//!
//! Never changes the text: a character without a face is shown as a box and reported.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use unicode_script::{Script, UnicodeScript};
use unicode_segmentation::UnicodeSegmentation;

use super::face::{Manner, Shaped};
use super::faces::{Faces, Look};
use super::unit::{Run, Unit};
use super::{FaceId, Family, GlyphKey, shipped};

/// The narrow form of a letter or sign that is as wide as an ideograph, which a Latin face has where it lacks the wide one: "\u{FFE5}" of
/// an East Asian keyboard is "\u{A5}" (Unicode, block Halfwidth and Fullwidth Forms).
fn narrow(cluster: &str) -> Option<char> {
    let mut letters = cluster.chars();
    let (Some(wide), None) = (letters.next(), letters.next()) else { return None };
    match u32::from(wide) {
        code @ 0xFF01..=0xFF5E => char::from_u32(code - 0xFEE0),
        0xFFE0 => Some('\u{A2}'),
        0xFFE1 => Some('\u{A3}'),
        0xFFE2 => Some('\u{AC}'),
        0xFFE4 => Some('\u{A6}'),
        0xFFE5 => Some('\u{A5}'),
        0xFFE6 => Some('\u{20A9}'),
        _ => None,
    }
}

/// The face id of the boxes that stand for characters no face has; the glyph id is the character.
const MISSING: FaceId = FaceId(u16::MAX);

impl Faces {
    /// Shapes a text in which no line is broken.
    pub(super) fn shape(&self, text: &str, look: &Look) -> Unit {
        let chain = self.chain(look);
        let mut absent = Vec::new();
        let mut runs: Vec<Run> = Vec::new();
        let mut stretches: Vec<(FaceId, Script, Range<usize>)> = Vec::new();
        // What stands in for a character, by where it stands.
        let mut stand_ins: BTreeMap<usize, char> = BTreeMap::new();
        for (at, cluster) in text.grapheme_indices(true) {
            let end = at + cluster.len();
            let script = script_of(cluster);
            let before = stretches.last().map(|(face, ..)| *face);
            match self.choose(cluster, &chain, before) {
                Some(face) => match stretches.last_mut() {
                    Some((last, known, range))
                        if !stand_ins.contains_key(&range.start)
                            && *last == face
                            && (script == *known || is_neutral(script) || is_neutral(*known)) =>
                    {
                        range.end = end;
                        if is_neutral(*known) {
                            *known = script;
                        }
                    }
                    _ => stretches.push((face, script, at..end)),
                },
                None => {
                    let plain = narrow(cluster);
                    match plain.and_then(|plain| self.choose(plain.encode_utf8(&mut [0; 4]), &chain, before)).zip(plain) {
                        Some((face, plain)) => {
                            stand_ins.insert(at, plain);
                            stretches.push((face, script, at..end));
                        }
                        None => {
                            absent.extend(cluster.chars().filter(|&c| !ignorable(c)));
                            stretches.push((MISSING, script, at..end));
                        }
                    }
                }
            }
        }
        for (face, script, range) in stretches {
            let mut narrowed = [0; 4];
            let part = match stand_ins.get(&range.start) {
                Some(plain) => plain.encode_utf8(&mut narrowed),
                None => &text[range.clone()],
            };
            let glyphs = match self.face(face) {
                Some(found) => found.shape(part, look.em, script, look.right_to_left, look.language.tag()),
                None => self.boxes(part, look.em),
            };
            runs.push(Run { face, script, glyphs, offset: range.start as u32 });
        }
        if look.right_to_left {
            runs.reverse();
        }
        let cell =
            (look.family == Family::Mono).then(|| self.cell_of(self.primary(look.family, look.bold, look.italic), look.em));
        let figure = |face, at: u32| {
            let stands = look.tabular && text.as_bytes().get(at as usize).is_some_and(u8::is_ascii_digit);
            stands.then(|| self.figure_of(face, look.em)).flatten()
        };
        Unit::set(&runs, look.em, look.right_to_left, cell, absent, |key| self.cut(key), figure)
    }

    /// Characters of the text that no face has, when some of them belong to a writing that the shipped faces know nothing of;
    /// with those the signs around them that are lacking too. Nothing otherwise: a lacking sign is no lacking writing.
    pub fn foreign(&self, text: &str) -> BTreeSet<char> {
        let script = |c: &char| c.script();
        if text.is_ascii() || !text.chars().any(|c| !c.is_ascii() && is_foreign(script(&c))) {
            return BTreeSet::new();
        }
        let shows = |c: char| !c.is_ascii() && !c.is_control() && !c.is_whitespace() && !ignorable(c) && !is_wide_space(c);
        let candidates: BTreeSet<char> = text.chars().filter(|&c| shows(c)).collect();
        let mut lacking: BTreeSet<char> =
            candidates.into_iter().filter(|&c| !self.faces.iter().any(|face| face.covers(c))).collect();
        if !lacking.iter().any(|c| is_foreign(script(c))) {
            return BTreeSet::new();
        }
        lacking.retain(|c| {
            is_foreign(script(c)) || matches!(u32::from(*c), 0x2000..=0x206F | 0x3000..=0x303F | 0x30FC | 0xFF00..=0xFFEF)
        });
        lacking
    }

    /// Boxes for characters that no face has.
    fn boxes(&self, text: &str, em: i32) -> Vec<Shaped> {
        let shown = text.char_indices().filter(|&(_, c)| !ignorable(c));
        shown
            .map(|(at, c)| {
                let width = self.cut(GlyphKey { face: MISSING, id: c as u32, em }).right + 1;
                Shaped { id: c as u32, cluster: at as u32, advance: width * 64, x: 0, y: 0 }
            })
            .collect()
    }

    /// The faces a look is looked up in, best first.
    fn chain(&self, look: &Look) -> Vec<FaceId> {
        let mut chain = vec![self.primary(look.family, look.bold, look.italic)];
        if look.family == Family::Title {
            // What a face for titles lacks.
            chain.push(self.primary(Family::Sans, look.bold, look.italic));
        }
        chain.extend(shipped::letters(look.family, look.bold, look.italic));
        let tag = look.language.tag();
        let fits = |name: &str| {
            name.eq_ignore_ascii_case(tag) || tag.split('-').next().is_some_and(|main| name.eq_ignore_ascii_case(main))
        };
        let styled = |id: FaceId| if look.bold { shipped::emboldened(id) } else { id };
        chain.extend(self.added.iter().filter(|(name, _)| fits(name)).map(|(_, id)| styled(*id)));
        chain.extend(self.added.iter().filter(|(name, _)| !fits(name)).map(|(_, id)| styled(*id)));
        chain.extend(shipped::signs());
        chain
    }

    /// The first face that has the whole cluster; one that already sets the text before goes on with what belongs to no
    /// script of its own.
    fn choose(&self, cluster: &str, chain: &[FaceId], before: Option<FaceId>) -> Option<FaceId> {
        let has = |id: &FaceId| {
            self.face(*id).is_some_and(|face| cluster.chars().all(|c| ignorable(c) || is_wide_space(c) || face.covers(c)))
        };
        if let Some(before) = before
            && before != MISSING
            && is_neutral(script_of(cluster))
            && self.face(before).is_some_and(|face| face.manner != Manner::Sign)
            && has(&before)
        {
            return Some(before);
        }
        chain.iter().find(|id| has(id)).copied().or_else(|| {
            // A letter with marks that no face has together: the face of its letter, marks put on by shaping if it has them.
            let base: String = cluster.chars().take(1).collect();
            let only = cluster.chars().skip(1).all(ignorable);
            (only && !base.is_empty())
                .then(|| {
                    chain.iter().find(|id| self.face(**id).is_some_and(|face| base.chars().all(|c| face.covers(c)))).copied()
                })
                .flatten()
        })
    }
}

fn script_of(cluster: &str) -> Script {
    let scripts = cluster.chars().map(|c| c.script());
    scripts.into_iter().find(|script| !is_neutral(*script)).unwrap_or(Script::Common)
}

/// Whether a script is one that no shipped face is for.
fn is_foreign(script: Script) -> bool {
    let shipped = [Script::Latin, Script::Greek, Script::Cyrillic, Script::Hebrew, Script::Arabic];
    !is_neutral(script) && !shipped.contains(&script)
}

fn is_neutral(script: Script) -> bool {
    matches!(script, Script::Common | Script::Inherited | Script::Unknown)
}

/// Characters that show nothing and need no glyph: joiners, directional marks, variation selectors, soft hyphens.
pub(super) fn ignorable(c: char) -> bool {
    matches!(c, '\u{AD}' | '\u{34F}' | '\u{61C}' | '\u{180B}'..='\u{180F}' | '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}'
        | '\u{2060}'..='\u{206F}' | '\u{FE00}'..='\u{FE0F}' | '\u{FEFF}' | '\u{E0000}'..='\u{E0FFF}')
}

/// Spaces of a set width, which shaping makes from the plain space when a face lacks them.
fn is_wide_space(c: char) -> bool {
    matches!(c, '\u{A0}' | '\u{2000}'..='\u{200A}' | '\u{202F}' | '\u{205F}' | '\u{3000}')
}
