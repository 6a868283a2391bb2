//! Making up: galleys onto panels. Decides where the folds and the cuts fall, and nothing about how a block looks.

use std::sync::Arc;

use super::Panel;
use super::galley::{Chunk, Galley};
use crate::manual::source::{Level, Remark, Span};
use crate::units::Dots;

/// What is made up, in order.
pub enum Matter {
    Galley {
        galley: Arc<Galley>,
        /// Absolute start of its top-level block.
        base: u32,
        span: Span,
        /// Stands at the foot of the last panel.
        at_foot: bool,
    },
    Fold,
    Cut,
}

/// The room of a panel.
#[derive(Clone, Copy, Debug)]
pub struct Pitch {
    /// Distance of two folds; none makes one ribbon.
    pub fold: Option<Dots>,
    pub top: Dots,
    pub bottom: Dots,
}

impl Pitch {
    /// Height for blocks in one panel.
    pub fn room(&self) -> Option<Dots> {
        self.fold.map(|fold| fold - self.top - self.bottom)
    }
}

/// A chunk and the row its top stands in.
pub struct Placed {
    pub y: Dots,
    /// Index into the matter.
    pub matter: usize,
    pub chunk: usize,
}

#[derive(Default)]
pub struct MadeUp {
    pub placed: Vec<Placed>,
    pub panels: Vec<Panel>,
    pub cuts: Vec<Dots>,
    pub height: Dots,
    /// Absolute spans.
    pub remarks: Vec<Remark>,
}

struct Maker {
    pitch: Pitch,
    made: MadeUp,
    /// Top of the panel being filled.
    top: Dots,
    /// First free row.
    y: Dots,
    empty: bool,
}

/// A chunk of a galley, with the space above it and the span of its block.
struct Member<'a> {
    matter: usize,
    index: usize,
    chunk: &'a Chunk,
    above: Dots,
    span: Span,
}

/// Chunks that must stay together.
struct Group<'a> {
    members: Vec<Member<'a>>,
    at_foot: bool,
}

impl Group<'_> {
    fn height(&self) -> Dots {
        self.members.iter().enumerate().map(|(n, member)| member.chunk.height + if n > 0 { member.above } else { Dots(0) }).sum()
    }
}

pub fn make_up(matter: &[Matter], pitch: Pitch) -> MadeUp {
    let mut maker = Maker { pitch, made: MadeUp::default(), top: Dots(0), y: pitch.top, empty: true };
    let mut group: Option<Group> = None;
    let mut below = Dots(0);
    for (index, item) in matter.iter().enumerate() {
        let (galley, span, at_foot) = match item {
            Matter::Galley { galley, span, at_foot, .. } => (galley, *span, *at_foot),
            Matter::Fold | Matter::Cut => {
                maker.place(group.take());
                below = Dots(0);
                maker.end_panel();
                if matches!(item, Matter::Cut) && maker.y > maker.pitch.top {
                    maker.made.cuts.push(maker.top);
                }
                continue;
            }
        };
        for (n, chunk) in galley.chunks.iter().enumerate() {
            let above = if n == 0 { below.max(galley.above) } else { below };
            let joined = group.as_ref().is_some_and(|group| group.members.last().is_some_and(|last| last.chunk.keep));
            if !joined {
                maker.place(group.take());
            }
            let current = group.get_or_insert_with(|| Group { members: Vec::new(), at_foot });
            current.members.push(Member { matter: index, index: n, chunk, above, span });
            below = if n + 1 < galley.chunks.len() { chunk.glue } else { galley.below };
        }
    }
    maker.place(group.take());
    maker.finish()
}

impl Maker {
    fn place(&mut self, group: Option<Group>) {
        let Some(group) = group.filter(|group| !group.members.is_empty()) else { return };
        let (height, above) = (group.height(), group.members[0].above);
        if let (Some(fold), Some(room)) = (self.pitch.fold, self.pitch.room()) {
            let space = if self.empty { Dots(0) } else { above };
            let foot = self.top + fold - self.pitch.bottom;
            if self.y + space + height > foot && !self.empty {
                self.end_panel();
            }
            if height > room {
                self.overflow(group, room);
                return;
            }
            if group.at_foot {
                self.y = (self.top + fold - self.pitch.bottom - height).max(self.y);
                self.empty = true;
            }
        }
        group.members.iter().for_each(|member| self.put(member));
    }

    fn put(&mut self, member: &Member) {
        if !self.empty {
            self.y += member.above;
        }
        self.made.placed.push(Placed { y: self.y, matter: member.matter, chunk: member.index });
        self.y += member.chunk.height;
        self.empty = false;
    }

    /// A group higher than a panel: its chunks go where each fits; one that is higher than a panel itself is folded, and said so.
    fn overflow(&mut self, group: Group, room: Dots) {
        let fold = room + self.pitch.top + self.pitch.bottom;
        for member in &group.members {
            let (chunk, above) = (member.chunk, member.above);
            let foot = self.top + fold - self.pitch.bottom;
            let space = if self.empty { Dots(0) } else { above };
            if self.y + space + chunk.height > foot && !self.empty {
                self.end_panel();
            }
            self.put(member);
            if chunk.height > room {
                self.made.remarks.push(Remark {
                    rule: "panel-too-small",
                    level: Level::Error,
                    message: "this does not fit into one panel and is folded".into(),
                    hint: Some("make it shorter, or the fold pitch in the header larger".into()),
                    span: member.span,
                });
                while self.y > self.top + fold - self.pitch.bottom {
                    let bottom = self.top + fold;
                    self.made.panels.push(Panel { top: self.top, bottom });
                    self.top = bottom;
                }
                self.y = self.y.max(self.top + self.pitch.top);
            }
        }
    }

    fn end_panel(&mut self) {
        if self.empty && self.y <= self.top + self.pitch.top {
            return;
        }
        let bottom = match self.pitch.fold {
            Some(fold) => self.top + fold,
            None => self.y + self.pitch.bottom,
        };
        self.made.panels.push(Panel { top: self.top, bottom });
        self.top = bottom;
        self.y = bottom + self.pitch.top;
        self.empty = true;
    }

    fn finish(mut self) -> MadeUp {
        self.end_panel();
        if self.made.panels.is_empty() {
            let bottom = self.pitch.fold.unwrap_or(self.pitch.top + self.pitch.bottom).max(Dots(1));
            self.made.panels.push(Panel { top: Dots(0), bottom });
            self.top = bottom;
        }
        self.made.height = self.top;
        let end = self.top;
        self.made.cuts.retain(|&cut| cut < end && cut > Dots(0));
        self.made.cuts.dedup();
        self.made
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(heights: &[i32], keep: bool) -> Matter {
        let chunks = heights.iter().map(|&height| Chunk { height: Dots(height), keep, ..Chunk::default() }).collect();
        let galley = Galley { chunks, above: Dots(10), below: Dots(10), ..Galley::default() };
        Matter::Galley { galley: Arc::new(galley), base: 0, span: Span::default(), at_foot: false }
    }

    const FOLDED: Pitch = Pitch { fold: Some(Dots(100)), top: Dots(5), bottom: Dots(5) };

    #[test]
    fn a_ribbon_is_one_panel_with_its_margins() {
        let made = make_up(&[block(&[20], false), block(&[30], false)], Pitch { fold: None, ..FOLDED });
        assert_eq!(made.panels, [Panel { top: Dots(0), bottom: Dots(5 + 20 + 10 + 30 + 5) }]);
        assert_eq!(made.placed.iter().map(|placed| placed.y.0).collect::<Vec<_>>(), [5, 35]);
    }

    #[test]
    fn panels_are_equal_and_no_chunk_is_folded() {
        let made = make_up(&[block(&[40, 40, 40], false), block(&[60], false)], FOLDED);
        assert!(made.panels.iter().all(|panel| panel.bottom - panel.top == Dots(100)));
        assert_eq!(made.placed.iter().map(|placed| placed.y.0).collect::<Vec<_>>(), [5, 45, 105, 205]);
        assert!(made.remarks.is_empty());
    }

    #[test]
    fn a_heading_goes_over_the_fold_with_what_follows() {
        let made = make_up(&[block(&[60], false), block(&[10], true), block(&[40], false)], FOLDED);
        assert_eq!(made.placed.iter().map(|placed| placed.y.0).collect::<Vec<_>>(), [5, 105, 125]);
    }

    #[test]
    fn a_block_higher_than_a_panel_is_said_and_takes_the_panels_it_needs() {
        let made = make_up(&[block(&[150], false), block(&[20], false)], FOLDED);
        assert_eq!(made.remarks.len(), 1);
        assert_eq!(made.height.0 % 100, 0);
        assert!(made.placed[1].y.0 >= 155 + 10);
    }

    #[test]
    fn a_fold_block_starts_a_panel_and_a_cut_ends_the_strip() {
        let matter = [block(&[20], false), Matter::Fold, block(&[20], false), Matter::Cut, block(&[20], false)];
        let made = make_up(&matter, FOLDED);
        assert_eq!(made.panels.len(), 3);
        assert_eq!(made.cuts, [Dots(200)]);
        let ribbon = make_up(&matter, Pitch { fold: None, ..FOLDED });
        assert_eq!(ribbon.panels.len(), 3);
        assert_eq!(ribbon.cuts, [Dots(60)]);
    }

    #[test]
    fn an_empty_manual_is_still_a_panel() {
        assert_eq!(make_up(&[], FOLDED).panels.len(), 1);
    }
}
