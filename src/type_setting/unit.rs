//! A stretch of text with no break inside (but at hyphens, or in need), shaped and set on whole dots.
//!
//! Spacing: not advances are rounded but the white between two neighbours' ink, once for each pair. So the same two letters
//! always stand equally far apart, whatever fitting to the grid did to their shapes, and no letter touches the next unless
//! its script joins them.
//!
//! Never knows of lines.

use std::ops::Range;
use std::sync::{Arc, OnceLock};

use unicode_script::Script;

use super::face::Shaped;
use super::glyph::Cut;
use super::hyphenation::Point;
use super::{FaceId, GlyphKey};

/// A glyph in its place. Whole dots run from the left edge of the unit's ink, 1/64 dots from its ideal origin.
#[derive(Clone, Debug)]
pub(super) struct Placed {
    pub key: GlyphKey,
    pub x: i32,
    pub y: i32,
    /// Byte offset of its cluster in the unit's text.
    pub at: u32,
    /// Ideal pen in front of it.
    pen: i32,
    /// Ink: whole dots and ideal.
    left: i32,
    right: i32,
    ideal_left: i32,
    ideal_right: i32,
}

impl Placed {
    pub fn is_blank(&self) -> bool {
        self.left == self.right
    }
}

/// A shaped stretch of text.
#[derive(Debug, Default)]
pub(super) struct Unit {
    /// In visual order.
    pub glyphs: Vec<Placed>,
    /// Ideal advance of the whole, in 1/64 dot.
    advance: i32,
    pub right_to_left: bool,
    /// Whether glyphs fill cells of equal width, white included.
    fixed: bool,
    pub missing: Vec<char>,
    /// Where it may be hyphenated; found when first asked for.
    pub points: OnceLock<Box<[Point]>>,
}

/// A part of a unit that stands on one line.
#[derive(Clone, Debug)]
pub(super) struct Part {
    pub unit: Arc<Unit>,
    pub glyphs: Range<usize>,
    /// Where its ink begins, in the unit's dots.
    pub left: i32,
    /// Width of its ink in dots.
    pub ink: i32,
    /// White that belongs to it before and after the ink, in logical order, in 1/64 dot.
    pub before: i32,
    pub after: i32,
}

/// What stands before a cut: where its ink ends in dots from the unit's begin, and the white that follows it in 1/64 dot.
pub(super) struct Left {
    pub ink_end: i32,
    pub white: i32,
}

/// What stands after a cut: where its ink begins, and the white in front of it.
pub(super) struct Right {
    pub ink_start: i32,
    pub white: i32,
}

/// Half up.
pub(super) fn whole_dots(sixtyfourths: i32) -> i32 {
    (sixtyfourths + 32) >> 6
}

/// White at the edge of a line: ink never stands out of the measure.
pub(super) fn edge(sixtyfourths: i32) -> i32 {
    whole_dots(sixtyfourths).max(0)
}

/// What a unit is put together from: shaped runs in visual order.
pub(super) struct Run {
    pub face: FaceId,
    pub script: Script,
    pub glyphs: Vec<Shaped>,
    /// Byte offset of the run in the unit's text.
    pub offset: u32,
}

impl Unit {
    /// Sets shaped runs on whole dots. `cell` is the width of a character in a face of fixed width; `figure` that of the figure at
    /// a byte of the text, where one stands there and figures are to stand under each other.
    pub fn set(
        runs: &[Run],
        em: i32,
        right_to_left: bool,
        cell: Option<i32>,
        missing: Vec<char>,
        cut: impl Fn(GlyphKey) -> Arc<Cut>,
        figure: impl Fn(FaceId, u32) -> Option<i32>,
    ) -> Unit {
        let mut setter = Setter { cell, ..Setter::default() };
        for run in runs {
            let joined = joins(run.script);
            for shaped in &run.glyphs {
                let key = GlyphKey { face: run.face, id: shaped.id, em };
                match figure(run.face, run.offset + shaped.cluster) {
                    Some(width) if shaped.advance > 0 => setter.place_figure(key, shaped, run.offset, width, &cut(key)),
                    _ => setter.place(key, shaped, run.offset, joined, &cut(key)),
                }
            }
        }
        let shift = if cell.is_some() { 0 } else { setter.first_ink.unwrap_or(0) };
        for placed in &mut setter.glyphs {
            placed.x -= shift;
            placed.left -= shift;
            placed.right -= shift;
        }
        Unit {
            glyphs: setter.glyphs,
            advance: setter.pen,
            right_to_left,
            fixed: cell.is_some(),
            missing,
            points: OnceLock::new(),
        }
    }

    /// All of it.
    pub fn whole(self: &Arc<Unit>) -> Part {
        self.slice(0..self.glyphs.len())
    }

    /// The part between two byte offsets of its text, or `None` when a cluster (a ligature) crosses one of them. Letters keep the
    /// forms they have in the whole: a joined script stays joined across a cut.
    pub fn part(self: &Arc<Unit>, from: u32, to: u32) -> Option<Part> {
        if !(self.cuts_at(from) && self.cuts_at(to)) {
            return None;
        }
        let inside = |placed: &Placed| placed.at >= from && placed.at < to;
        let first = self.glyphs.iter().position(inside)?;
        let last = self.glyphs.iter().rposition(inside)?;
        Some(self.slice(first..last + 1))
    }

    /// Whether a cluster begins at the byte at `at`. The end counts as one.
    pub fn cuts_at(&self, at: u32) -> bool {
        if at == 0 {
            return true;
        }
        // Clusters run monotonously, up or down.
        let index = if self.right_to_left {
            self.glyphs.partition_point(|placed| placed.at >= at).checked_sub(1)
        } else {
            Some(self.glyphs.partition_point(|placed| placed.at < at))
        };
        index.and_then(|index| self.glyphs.get(index)).is_none_or(|next| next.at == at)
    }

    /// What stands on both sides of a cut in front of the byte at `at`. Only the glyphs near the cut are looked at, so that
    /// cutting a long unit everywhere costs in proportion to its length.
    pub fn edges(&self, at: u32) -> Option<(Left, Right)> {
        const NEAR: usize = 8;
        let glyphs = &self.glyphs;
        let index = if self.right_to_left {
            glyphs.partition_point(|placed| placed.at >= at)
        } else {
            glyphs.partition_point(|placed| placed.at < at)
        };
        let pen = glyphs.get(index).map_or(self.advance, |placed| placed.pen);
        if self.fixed {
            let at = whole_dots(pen);
            return Some((Left { ink_end: at, white: 0 }, Right { ink_start: at, white: 0 }));
        }
        let inked = |placed: &&Placed| !placed.is_blank();
        let left = || glyphs[..index].iter().rev().filter(inked).take(NEAR);
        let right = || glyphs[index..].iter().filter(inked).take(NEAR);
        let left_ink = left().map(|placed| placed.right).max()?;
        let left_white = pen - left().map(|placed| placed.ideal_right).max()?;
        let right_ink = right().map(|placed| placed.left).min()?;
        let right_white = right().map(|placed| placed.ideal_left).min()? - pen;
        if self.right_to_left {
            let width = glyphs.iter().rev().filter(inked).take(NEAR).map(|placed| placed.right).max()?;
            let end = Left { ink_end: width - right_ink, white: right_white };
            return Some((end, Right { ink_start: width - left_ink, white: left_white }));
        }
        Some((Left { ink_end: left_ink, white: left_white }, Right { ink_start: right_ink, white: right_white }))
    }

    fn slice(self: &Arc<Unit>, range: Range<usize>) -> Part {
        let glyphs = &self.glyphs[range.clone()];
        let start = glyphs.first().map_or(0, |placed| placed.pen);
        let end = self.glyphs.get(range.end).map_or(self.advance, |placed| placed.pen);
        let mut part = Part { unit: self.clone(), glyphs: range, left: 0, ink: 0, before: 0, after: 0 };
        let inked = || glyphs.iter().filter(|placed| !placed.is_blank());
        if self.fixed {
            part.left = whole_dots(start);
            part.ink = whole_dots(end - start);
            return part;
        }
        let Some(first) = inked().next() else {
            part.ink = whole_dots(end - start);
            return part;
        };
        part.left = inked().map(|placed| placed.left).min().unwrap_or(first.left);
        part.ink = inked().map(|placed| placed.right).max().unwrap_or(first.right) - part.left;
        let left = inked().map(|placed| placed.ideal_left).min().unwrap_or(start) - start;
        let right = end - inked().map(|placed| placed.ideal_right).max().unwrap_or(end);
        (part.before, part.after) = if self.right_to_left { (right, left) } else { (left, right) };
        part
    }
}

#[derive(Default)]
struct Setter {
    glyphs: Vec<Placed>,
    /// Ideal pen; in a face of fixed width always on a whole dot.
    pen: i32,
    cell: Option<i32>,
    first_ink: Option<i32>,
    /// The last letter with ink: index.
    last: Option<(usize, Arc<Cut>)>,
}

impl Setter {
    /// A figure in the middle of its cell. The whole cell counts as its ink, so that columns of figures end on one dot.
    fn place_figure(&mut self, key: GlyphKey, shaped: &Shaped, offset: u32, width: i32, cut: &Arc<Cut>) {
        let left = match &self.last {
            Some((index, _)) => {
                let last = &self.glyphs[*index];
                last.right + whole_dots(self.pen - last.ideal_right)
            }
            None => whole_dots(self.pen),
        };
        self.first_ink = Some(self.first_ink.map_or(left, |first| first.min(left)));
        self.last = Some((self.glyphs.len(), cut.clone()));
        self.glyphs.push(Placed {
            key,
            x: left + (width - (cut.right - cut.left)).div_euclid(2) - cut.left,
            y: -whole_dots(shaped.y),
            at: offset + shaped.cluster,
            pen: self.pen,
            left,
            right: left + width,
            ideal_left: self.pen,
            ideal_right: self.pen + width * 64,
        });
        self.pen += width * 64;
    }

    fn place(&mut self, key: GlyphKey, shaped: &Shaped, offset: u32, joined: bool, cut: &Arc<Cut>) {
        let mark = shaped.advance == 0;
        let mut advance = shaped.advance;
        let mut origin = self.pen + shaped.x;
        if let Some(cell) = self.cell
            && !mark
        {
            // A glyph of another face takes as many cells as it needs, and stands in their middle.
            let cells = (advance - cell * 16).max(0) / (cell * 64) + 1;
            let room = cells * cell * 64;
            if (room - advance).abs() > 64 {
                origin += (room - advance) / 2;
            }
            advance = room;
        }
        let y = -whole_dots(shaped.y);
        let mut placed = Placed {
            key,
            x: whole_dots(origin),
            y,
            at: offset + shaped.cluster,
            pen: self.pen,
            left: 0,
            right: 0,
            ideal_left: origin + cut.ideal_left,
            ideal_right: origin + cut.ideal_right,
        };
        self.pen += advance;
        if cut.is_blank() {
            placed.ideal_left = placed.pen;
            placed.ideal_right = placed.pen;
            self.glyphs.push(placed);
            return;
        }
        if let Some((index, before)) = &self.last
            && (self.cell.is_none() || mark)
        {
            let last = &self.glyphs[*index];
            if mark {
                // A mark keeps its place over the middle of its letter.
                let apart = (placed.ideal_left + placed.ideal_right) - (last.ideal_left + last.ideal_right);
                placed.x = (last.left + last.right + whole_dots(apart) - cut.left - cut.right).div_euclid(2);
            } else {
                let white = whole_dots(placed.ideal_left - last.ideal_right);
                placed.x = last.right + white - cut.left;
                if !joined {
                    let clear = before.clearance(cut, last.y - placed.y).map_or(1, |clear| clear + placed.x - last.x);
                    placed.x += (1 - clear).clamp(0, 2);
                }
            }
        }
        placed.left = placed.x + cut.left;
        placed.right = placed.x + cut.right;
        self.first_ink = Some(self.first_ink.map_or(placed.left, |first| first.min(placed.left)));
        if !mark {
            self.last = Some((self.glyphs.len(), cut.clone()));
        }
        self.glyphs.push(placed);
    }
}

/// Scripts whose letters touch each other by design.
fn joins(script: Script) -> bool {
    matches!(
        script,
        Script::Arabic
            | Script::Syriac
            | Script::Mongolian
            | Script::Nko
            | Script::Devanagari
            | Script::Bengali
            | Script::Gurmukhi
            | Script::Mandaic
            | Script::Phags_Pa
            | Script::Adlam
    )
}
