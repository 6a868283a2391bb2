//! The words of a balloon, set: in how many lines, how wide, and what shape goes around them.
//!
//! Japanese has no spaces: its lines end where a phrase ends.

use std::borrow::Cow;
use std::ops::Range;

use super::balloons::{self, Outline};
use super::staging::Shape;
use crate::geometry::Size;
use crate::language::Language;
use crate::layout::context::Context;
use crate::layout::galley::{Chunk, Galley, Mark};
use crate::layout::text::{self, Setting};
use crate::lengths::Dots;
use crate::manual::document::{Balloon, BalloonKind, Inline, InlineKind};
use crate::manual::source::Remark;
use crate::type_setting::{Family, Type};

/// Most ways to set a balloon that are tried in a panel.
const WAYS: usize = 4;

/// Most lines more than it must have that a balloon is tried in.
const LINES: usize = 11;

/// A balloon set in one way.
pub struct Way {
    pub lines: Vec<Lettered>,
    /// Distance of two lines.
    pub pitch: Dots,
    /// Half of the curve around the lines, before anything is drawn on it.
    pub inner: Size<i32>,
    /// Without the tail.
    pub outline: Outline,
    pub shape: Shape,
    /// Of its lettering, dots.
    pub x_height: i32,
}

/// A line of a balloon; where its ink begins in its chunk, and how wide it is.
pub struct Lettered {
    pub chunk: Chunk,
    pub left: Dots,
    pub width: Dots,
}

/// The hand that all lettering of a comic is in. The shipped one is bold and leans over where it is stressed; what is set in squares has
/// nothing that leans, so there the plain face speaks and the bold one is the stress.
pub fn hand(context: &Context) -> Type {
    let squares = matches!(
        context.language,
        Language::Japanese | Language::SimplifiedChinese | Language::TraditionalChinese | Language::Korean
    );
    Type { family: Family::Lettering, bold: !squares, italic: false, size: context.size(context.style.type_.lettering) }
}

/// How what is said that way is lettered.
pub fn look(context: &Context, balloon: &Balloon) -> Type {
    let hand = hand(context);
    let size = match balloon.kind {
        BalloonKind::Sound => hand.size.percent(i32::from(balloon.sound.size)).max(context.style.type_.minimum.0),
        BalloonKind::Shout => hand.size.percent(112),
        BalloonKind::Whisper => hand.size.percent(90).max(context.style.type_.minimum.0),
        BalloonKind::Speech | BalloonKind::Thought => hand.size,
    };
    Type { size, italic: balloon.kind == BalloonKind::Sound, ..hand }
}

/// The ways to set a balloon on a stage so wide, the best first; never none. Lettering is set smaller only where a word would else be
/// torn where its language has no point, down to the least of the style.
pub fn ways(context: &Context, balloon: &Balloon, stage: i32) -> (Vec<Way>, Vec<Remark>) {
    let asked = look(context, balloon);
    let least = context.style.type_.minimum.0.min(asked.size);
    let words = if context.language == Language::Japanese {
        Cow::Owned(phrased(&balloon.words, &mut None))
    } else {
        Cow::Borrowed(&balloon.words[..])
    };
    let mut setter = Setter { context, balloon, words, look: asked, most: stage - 8 };
    let mut found = setter.all();
    if matches!(setter.words, Cow::Owned(_)) && found.iter().all(|(_, galley)| setter.is_torn(galley)) {
        // A phrase is wider than the stage.
        setter.words = Cow::Borrowed(&balloon.words);
        found = setter.all();
    }
    let mut size = asked.size;
    while found.iter().all(|(_, galley)| setter.is_torn(galley)) && size > least {
        size = size.percent(94).max(least);
        setter.look.size = size;
        let smaller = setter.all();
        if smaller.iter().any(|(_, galley)| !setter.is_torn(galley)) {
            found = smaller;
        }
    }
    if found.iter().any(|(_, galley)| !setter.is_torn(galley)) {
        found.retain(|(_, galley)| !setter.is_torn(galley));
    }
    let least = found.iter().map(|(way, _)| way.shape.cost).min().unwrap_or(0);
    found.iter_mut().for_each(|(way, _)| way.shape.cost -= least);
    found.sort_by_key(|(way, _)| way.shape.cost);
    found.truncate(WAYS);
    let remarks = found.first_mut().map(|(_, galley)| std::mem::take(&mut galley.remarks)).unwrap_or_default();
    (found.into_iter().map(|(way, _)| way).collect(), remarks)
}

struct Setter<'a> {
    context: &'a Context<'a>,
    balloon: &'a Balloon,
    words: Cow<'a, [Inline]>,
    look: Type,
    /// Widest that a balloon may be with all that is drawn.
    most: i32,
}

impl Setter<'_> {
    fn x_height(&self) -> i32 {
        self.context.faces.vertical(&self.look).x_height.0
    }

    /// Whether a word was parted that should not be: anywhere in what is said, at all in a sound.
    fn is_torn(&self, galley: &Galley) -> bool {
        is_broken(galley) || self.balloon.kind == BalloonKind::Sound && has_hyphens(galley)
    }

    /// For each number of lines the narrowest setting, as far as it fits the stage.
    fn all(&self) -> Vec<(Way, Galley)> {
        let open = self.set(i32::from(i16::MAX), false);
        let lines = open.chunks.len();
        let widths = || open.chunks.iter().map(ink).map(|ink| (ink.end - ink.start).0);
        let (all, widest) = (widths().sum::<i32>(), widths().max().unwrap_or(1).max(1));
        let mut found: Vec<(Way, Galley)> = Vec::new();
        let mut parted = Vec::new();
        let own = has_breaks(&self.words);
        for count in lines..=lines + LINES {
            // Too wide in any case; and more ways than are tried.
            if all / count as i32 > self.most {
                continue;
            }
            if found.len().max(parted.len()) > WAYS {
                break;
            }
            let Some(galley) =
                (if count == lines { Some(self.set(widest + self.x_height() / 2, false)) } else { self.narrowest(all, count) })
            else {
                continue;
            };
            // Words that are parted where their language has a point: only where no setting has them whole.
            let found = if has_hyphens(&galley) { &mut parted } else { &mut found };
            if is_broken(&galley) || found.last().is_some_and(|(way, _)| way.lines.len() == galley.chunks.len()) {
                continue;
            }
            let mut way = self.way(&galley);
            if own && count > lines {
                way.shape.cost += REBROKEN;
            }
            if way.shape.half.width * 2 <= self.most {
                found.push((way, galley));
            }
        }
        if let Some(found) = [found, parted].into_iter().find(|found| !found.is_empty()) {
            return found;
        }
        // A word wider than the stage: divided where its language divides it, in as few places as can be.
        let mut width = self.most;
        let mut least: Option<(Way, Galley)> = None;
        while width > self.x_height() * 2 {
            let galley = self.set(width, true);
            let way = self.way(&galley);
            let half = way.shape.half.width;
            if least.as_ref().is_none_or(|(least, _)| half < least.shape.half.width) {
                least = Some((way, galley));
            }
            if half * 2 <= self.most {
                break;
            }
            width = width * 15 / 16;
        }
        vec![least.unwrap_or_else(|| {
            let galley = self.set(self.most.max(1), true);
            (self.way(&galley), galley)
        })]
    }

    /// The narrowest setting of so many lines. None when that is no different from fewer.
    fn narrowest(&self, all: i32, count: usize) -> Option<Galley> {
        let (mut least, mut most) = (all / count as i32, all / count as i32 * 3 / 2 + self.x_height() * 4);
        let mut best = self.set(most, false);
        if best.chunks.len() > count || is_broken(&best) {
            return None;
        }
        for _ in 0..3 {
            let width = (least + most) / 2;
            let galley = self.set(width, false);
            if galley.chunks.len() <= count && !is_broken(&galley) {
                (best, most) = (galley, width);
            } else {
                least = width;
            }
        }
        Some(best)
    }

    fn set(&self, width: i32, hyphenate: bool) -> Galley {
        let setting = Setting {
            hyphenate,
            white: self.balloon.reverse,
            ..Setting::label("balloon", self.look, Dots(width), self.balloon.text_span)
        };
        let mut galley = text::inlines(self.context, &self.words, &setting);
        if self.context.language.is_rtl() {
            // Inside a panel everything stands as it will be seen.
            galley.mirror(setting.width);
        }
        galley
    }

    fn way(&self, galley: &Galley) -> Way {
        let lines: Vec<Lettered> = galley
            .chunks
            .iter()
            .map(|chunk| {
                let ink = ink(chunk);
                Lettered { chunk: chunk.clone(), left: ink.start, width: ink.end - ink.start }
            })
            .collect();
        let pitch = galley.chunks.iter().map(|chunk| chunk.height).max().unwrap_or(Dots(1));
        let widths: Vec<i32> = lines.iter().map(|line| line.width.0).collect();
        let x_height = self.x_height();
        let (inner, outline, half) = if self.balloon.kind == BalloonKind::Sound {
            let widest = widths.iter().copied().max().unwrap_or(0);
            let rise = (widest * i32::from(self.balloon.sound.rise) / 100).abs();
            let half = Size::new(widest / 2 + halo(x_height) + 1, (pitch.0 * lines.len() as i32 + rise) / 2 + 3);
            (half, Outline::new(), half)
        } else {
            let shaped = |narrow: bool| {
                let inner = balloons::inner(&widths, pitch.0, (x_height * 3 / 4).max(8), narrow);
                let outline = balloons::outline(self.balloon.kind, inner, x_height);
                let half = balloons::reach(&outline);
                (inner, outline, half)
            };
            let round = shaped(false);
            if round.2.width * 2 <= self.most { round } else { shaped(true) }
        };
        // Little room is best, then few lines; neither a stripe nor a tower.
        let stripe = i64::from((half.width * 10 / half.height.max(1) - 40).max(0));
        let tower = i64::from((11 - half.width * 10 / half.height.max(1)).max(0));
        let cost =
            i64::from(half.width) * i64::from(half.height) / 8 + lines.len() as i64 * 150 + (stripe * stripe + tower * tower) * 4;
        let root = if self.balloon.kind == BalloonKind::Shout { x_height } else { x_height * 5 / 4 }.clamp(9, 22);
        Way { lines, pitch, inner, outline, shape: Shape { half, inner, root, cost }, x_height }
    }
}

/// What it costs to break lines beside the letterer's own ends, in squares of the dots that a balloon would rather be moved.
const REBROKEN: i64 = 40_000;

fn has_breaks(words: &[Inline]) -> bool {
    words.iter().any(|inline| match &inline.kind {
        InlineKind::HardBreak => true,
        InlineKind::Strong(inner) | InlineKind::Emphasis(inner) => has_breaks(inner),
        _ => false,
    })
}

/// Words in which a line may end only where a phrase does. `before` is the character that stands before them.
fn phrased(words: &[Inline], before: &mut Option<char>) -> Vec<Inline> {
    let phrase = |inline: &Inline| {
        let kind = match &inline.kind {
            InlineKind::Text(text) => {
                let mut joined = String::with_capacity(text.len() * 2);
                for c in text.chars() {
                    if before.is_some_and(|before| is_within_phrase(before, c)) {
                        joined.push('\u{2060}');
                    }
                    joined.push(c);
                    *before = Some(c);
                }
                InlineKind::Text(joined)
            }
            InlineKind::Strong(inner) => InlineKind::Strong(phrased(inner, before)),
            InlineKind::Emphasis(inner) => InlineKind::Emphasis(phrased(inner, before)),
            other => {
                *before = None;
                other.clone()
            }
        };
        Inline { kind, span: inline.span }
    };
    words.iter().map(phrase).collect()
}

/// Whether two characters of Japanese belong to one phrase: a phrase begins with a Chinese character, with katakana or a bracket, and ends
/// with hiragana, which holds its particles and endings, or with a point (common practice of line breaking by phrases, no source).
fn is_within_phrase(a: char, b: char) -> bool {
    let is_hiragana = |c: char| matches!(c, '\u{3041}'..='\u{309F}');
    let is_mark = |c: char| matches!(c, '\u{3001}'..='\u{3003}' | '\u{3008}'..='\u{3011}' | '\u{30FB}' | '\u{FF00}'..='\u{FF0F}' | '\u{FF1A}'..='\u{FF1F}');
    let is_square = |c: char| matches!(c, '\u{3005}' | '\u{3041}'..='\u{30FF}' | '\u{3400}'..='\u{9FFF}');
    let begins = is_hiragana(a) && !is_hiragana(b) && !matches!(a, 'お' | 'ご');
    is_square(a) && is_square(b) && !is_mark(a) && !is_mark(b) && !begins
}

fn has_hyphens(galley: &Galley) -> bool {
    let hyphenated = |mark: &Mark| matches!(mark, Mark::Text { line, .. } if line.hyphenated);
    galley.chunks.iter().flat_map(|chunk| &chunk.marks).any(hyphenated)
}

fn is_broken(galley: &Galley) -> bool {
    galley.remarks.iter().any(|remark| remark.rule == "broken-word")
}

/// How far the white reaches around free lettering with this x-height, dots: small eyes of its letters hold nothing of what is drawn.
pub fn halo(x_height: i32) -> i32 {
    (x_height / 3).clamp(5, 11)
}

/// From where to where the ink of a line reaches.
fn ink(chunk: &Chunk) -> Range<Dots> {
    chunk.boxes.iter().find(|boxed| boxed.kind == "line").map_or(Dots(0)..Dots(0), |line| line.x..line.x + line.width)
}
