//! Making up: galleys onto panels. Decides where the folds and the cuts fall, and nothing about how a block looks.

use std::sync::Arc;

use super::Panel;
use super::galley::{Chunk, Galley};
use crate::lengths::Dots;
use crate::manual::source::{Level, Remark, Span};

/// What is made up, in order.
pub enum Matter {
    Galley {
        galley: Arc<Galley>,
        /// Absolute start of its top-level block.
        base: u32,
        span: Span,
        /// Stands at the foot of the last panel.
        at_foot: bool,
        /// Belongs to what follows it: they share a panel.
        leads: bool,
    },
    Fold,
    Cut,
}

impl Matter {
    pub fn galley(&self) -> Option<&Arc<Galley>> {
        match self {
            Matter::Galley { galley, .. } => Some(galley),
            Matter::Fold | Matter::Cut => None,
        }
    }

    /// Puts another galley in the place of the one it holds.
    pub fn replace(&mut self, with: Arc<Galley>) {
        if let Matter::Galley { galley, .. } = self {
            *galley = with;
        }
    }
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
    /// What is left empty at the foot of each panel that ends with a fold, above its margin.
    pub white: Vec<Dots>,
    /// What all panels would leave empty if nothing were spread.
    pub empty: Dots,
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

/// A chunk of a galley, with the space above it.
struct Member<'a> {
    /// Of its galley.
    kind: &'static str,
    matter: usize,
    index: usize,
    chunk: &'a Chunk,
    height: Dots,
    above: Dots,
    /// Of its block, absolute.
    span: Span,
    base: u32,
    at_foot: bool,
    /// May it be parted from what follows: not, only where it must be, freely.
    tie: Tie,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Tie {
    Firm,
    Loose,
    None,
}

/// What stands between two ends that the writer asked for.
struct Stretch<'a> {
    members: Vec<Member<'a>>,
    cut: bool,
}

/// Members that share a panel, and by how many percent their pictures are drawn smaller for that.
struct Filled {
    members: std::ops::Range<usize>,
    less: i32,
}

/// What a panel costs, and what its end costs where it parts what belongs together: a piece that may be parted before others, any
/// other piece, and a chunk that is folded through. Each outweighs any number of those before that could be at stake. White costs the
/// square of its share of the panel in percent, and so does what pictures are drawn smaller.
const PANEL: i64 = 100_000;
const LOOSE: i64 = 2_000_000;
const FIRM: i64 = 20_000_000;
const FOLDED: i64 = 500_000_000;

/// What it costs to part a paragraph, or notes from what they belong to; and any other block, which is made of pieces that stand for
/// themselves: sooner a third of a panel is left white than a paragraph parted. A panel rather begins with a section than within one.
const PARAGRAPH: i64 = 1_500;
const BLOCK: i64 = 400;
const SECTION: i64 = 300;

/// How much the spaces of a panel grow at most, in percent, where it would else end far above its fold.
const SPREAD: i32 = 50;

/// What it costs to leave the last panel to what stands at its foot: less than a panel, more than any white.
const ALONE: i64 = 50_000;

/// Pictures without a width of their own are drawn at most so many percent smaller so that a panel is filled.
const SHRINKS: i32 = 30;

pub fn make_up(matter: &[Matter], pitch: Pitch) -> MadeUp {
    let mut maker = Maker { pitch, made: MadeUp::default(), top: Dots(0), y: pitch.top, empty: true };
    for stretch in stretches(matter) {
        match pitch.room() {
            None => stretch.members.iter().for_each(|member| maker.put(member)),
            Some(room) => maker.fill(&stretch.members, room),
        }
        maker.end_panel();
        // Its last panel ends where the writer wanted it to.
        maker.made.white.truncate(maker.made.panels.len().saturating_sub(1));
        maker.made.white.resize(maker.made.panels.len(), Dots(0));
        if stretch.cut && maker.y > maker.pitch.top {
            maker.made.cuts.push(maker.top);
        }
    }
    maker.finish()
}

/// In how many percent of its size the pictures of each item of matter should be drawn, so that panels are filled: 100 for nearly all.
pub fn sizes(matter: &[Matter], pitch: Pitch) -> Vec<u8> {
    let mut sizes = vec![100; matter.len()];
    let Some(room) = pitch.room() else { return sizes };
    for stretch in stretches(matter) {
        for filled in panels(&stretch.members, room, true) {
            for member in stretch.members[filled.members].iter().filter(|member| member.chunk.gives > Dots(0)) {
                sizes[member.matter] = (100 - filled.less as u8).min(sizes[member.matter]);
            }
        }
    }
    sizes
}

fn stretches(matter: &[Matter]) -> Vec<Stretch<'_>> {
    let mut stretches = vec![Stretch { members: Vec::new(), cut: false }];
    let mut below = Dots(0);
    for (index, item) in matter.iter().enumerate() {
        let (galley, base, span, at_foot, leads) = match item {
            Matter::Galley { galley, base, span, at_foot, leads } => (galley, *base, *span, *at_foot, *leads),
            Matter::Fold | Matter::Cut => {
                if let Some(last) = stretches.last_mut() {
                    last.cut = matches!(item, Matter::Cut);
                }
                stretches.push(Stretch { members: Vec::new(), cut: false });
                below = Dots(0);
                continue;
            }
        };
        let count = galley.chunks.len();
        for (n, chunk) in galley.chunks.iter().enumerate() {
            let above = if n == 0 { below.max(galley.above) } else { below };
            // What stands at the foot is set off by its own rule: it need not be far from what comes before.
            let above = if at_foot { above / 2 } else { above };
            let tie = match (chunk.keep, chunk.loose) {
                (true, false) => Tie::Firm,
                (true, true) => Tie::Loose,
                (false, _) if leads && n + 1 == count => Tie::Loose,
                (false, _) => Tie::None,
            };
            if let Some(last) = stretches.last_mut() {
                let (kind, height) = (galley.kind, chunk.height);
                last.members.push(Member { kind, matter: index, index: n, chunk, height, above, span, base, at_foot, tie });
            }
            below = if n + 1 < count { chunk.glue } else { galley.below };
        }
    }
    stretches
}

/// Where panels begin and end, so that as little as can be is parted, on as few panels as can be, with the white well spread.
/// The whole is weighed, as the breaks of a paragraph are (The TeXbook, ch. 14; Knuth and Plass 1981). `yielding` pictures may be drawn
/// smaller, as little as will do.
fn panels(members: &[Member], room: Dots, yielding: bool) -> Vec<Filled> {
    /// The cheapest way to end a panel before a member, and where that panel begins.
    #[derive(Clone, Copy)]
    struct Way {
        cost: i64,
        from: usize,
        less: i32,
    }
    let percent = |part: Dots| i64::from(part.0) * 100 / i64::from(room.0.max(1));
    let mut ways = vec![Way { cost: 0, from: 0, less: 0 }];
    for end in 1..=members.len() {
        let mut best = Way { cost: i64::MAX, from: end - 1, less: 0 };
        let last = &members[end - 1];
        let next = members.get(end);
        let parted = match (next, last.tie) {
            (None, _) | (_, Tie::None) => 0,
            (_, Tie::Loose) => LOOSE,
            (_, Tie::Firm) => FIRM,
        };
        let within = next.filter(|_| last.tie == Tie::None).map_or(0, |next| match (next.matter == last.matter, next.kind) {
            (true, "paragraph") | (false, "notes") => PARAGRAPH,
            (true, _) => BLOCK,
            (false, "heading") => 0,
            (false, _) => SECTION,
        });
        let (mut height, mut gives) = (Dots(0), Dots(0));
        for from in (0..end).rev() {
            height += members[from].height + members.get(from + 1).filter(|_| from + 1 < end).map_or(Dots(0), |next| next.above);
            gives += if yielding { members[from].chunk.gives } else { Dots(0) };
            let over = (height - room).max(Dots(0));
            let fits = over <= gives * SHRINKS / 100;
            if !fits && from + 1 < end {
                break;
            }
            let less = if over > Dots(0) && fits { (over.0 * 100 + gives.0 - 1) / gives.0.max(1) } else { 0 };
            let white = if next.is_some() { percent((room - height).max(Dots(0))) } else { 0 };
            let alone = from > 0 && members[from..end].iter().all(|member| member.at_foot);
            let cost = ways[from].cost
                + PANEL
                + within
                + parted
                + white * white
                + i64::from(less * less)
                + if fits { 0 } else { FOLDED }
                + if alone { ALONE } else { 0 };
            if cost < best.cost {
                best = Way { cost, from, less };
            }
        }
        ways.push(best);
    }
    let mut found = Vec::new();
    let mut end = members.len();
    while end > 0 {
        let Way { from, less, .. } = ways[end];
        found.push(Filled { members: from..end, less });
        end = from;
    }
    found.reverse();
    found
}

impl Maker {
    /// Puts a stretch onto panels.
    fn fill(&mut self, members: &[Member], room: Dots) {
        for Filled { members: range, .. } in panels(members, room, false) {
            self.end_panel();
            let foot = self.top + self.pitch.top + room;
            let here = &members[range.clone()];
            // What belongs together stays as near as it is.
            let gives = |n: usize| if n > 0 && here[n - 1].tie == Tie::None { here[n].above } else { Dots(0) };
            let gaps: Dots = (0..here.len()).map(gives).sum();
            let used: Dots = here.iter().map(|member| member.height + member.above).sum();
            let used = used - here.first().map_or(Dots(0), |first| first.above);
            // A panel that ends with a fold is spread a little, so that its foot stands nearer to the fold.
            let full = range.end == members.len() || here.iter().any(|member| member.at_foot);
            let spread = if full { Dots(0) } else { (room - used).max(Dots(0)).min(gaps * SPREAD / 100) };
            self.made.empty += (room - used).max(Dots(0));
            let (mut passed, mut given) = (Dots(0), Dots(0));
            for (n, member) in here.iter().enumerate() {
                if gaps > Dots(0) {
                    passed += gives(n);
                    let so_far = Dots((i64::from(spread.0) * i64::from(passed.0) / i64::from(gaps.0)) as i32);
                    self.y += so_far - given;
                    given = so_far;
                }
                if member.at_foot {
                    self.y = (foot - member.height).max(self.y);
                    self.empty = true;
                }
                self.put(member);
                if member.height > room {
                    self.fold_through(member, room);
                }
            }
        }
    }

    fn put(&mut self, member: &Member) {
        if !self.empty {
            self.y += member.above;
        }
        self.made.placed.push(Placed { y: self.y, matter: member.matter, chunk: member.index });
        self.y += member.height;
        self.empty = false;
    }

    /// A chunk higher than a panel takes the panels it needs, and that is said of what the writer wrote for it.
    fn fold_through(&mut self, member: &Member, room: Dots) {
        let fold = room + self.pitch.top + self.pitch.bottom;
        let written = member.chunk.boxes.iter().map(|boxed| boxed.span).filter(|span| span.end > span.start);
        let written = written.reduce(|a, b| Span { start: a.start.min(b.start), end: a.end.max(b.end) });
        self.made.remarks.push(Remark {
            rule: "panel-too-small",
            level: Level::Error,
            message: "this does not fit into one panel and is folded".into(),
            hint: Some("make it shorter, or the fold pitch in the header larger".into()),
            span: written.map_or(member.span, |span| span.from_base(member.base)),
        });
        while self.y > self.top + fold - self.pitch.bottom {
            let bottom = self.top + fold;
            self.made.panels.push(Panel { top: self.top, bottom });
            self.made.white.push(Dots(0));
            self.top = bottom;
        }
        self.y = self.y.max(self.top + self.pitch.top);
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
        self.made.white.push((bottom - self.pitch.bottom - self.y).max(Dots(0)));
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
        Matter::Galley { galley: Arc::new(galley), base: 0, span: Span::default(), at_foot: false, leads: false }
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

    fn foot(height: i32) -> Matter {
        let chunks = vec![Chunk { height: Dots(height), ..Chunk::default() }];
        let galley = Galley { chunks, above: Dots(20), ..Galley::default() };
        Matter::Galley { galley: Arc::new(galley), base: 0, span: Span::default(), at_foot: true, leads: false }
    }

    #[test]
    fn what_is_kept_together_is_parted_at_its_loosest_place_when_no_panel_holds_it() {
        // A heading, a picture that belongs to it, and a legend of three rows.
        let chunks = [(10, true, false), (60, true, true), (10, true, true), (10, true, true), (10, false, false)]
            .map(|(height, keep, loose)| Chunk { height: Dots(height), keep, loose, ..Chunk::default() });
        let galley = Galley { chunks: chunks.to_vec(), ..Galley::default() };
        let matter = [Matter::Galley { galley: Arc::new(galley), base: 0, span: Span::default(), at_foot: false, leads: false }];
        let made = make_up(&matter, FOLDED);
        assert_eq!(made.placed.iter().map(|placed| placed.y.0).collect::<Vec<_>>(), [5, 15, 75, 85, 105]);
        assert!(made.remarks.is_empty());
    }

    #[test]
    fn what_stands_at_the_foot_is_never_alone_where_it_can_have_company() {
        let made = make_up(&[block(&[40], false), block(&[40], false), foot(30)], FOLDED);
        assert_eq!(made.placed.iter().map(|placed| placed.y.0).collect::<Vec<_>>(), [5, 105, 165]);
        assert_eq!(make_up(&[block(&[50], false), foot(30)], FOLDED).panels.len(), 1);
    }

    #[test]
    fn what_is_folded_is_said_of_the_chunk_and_not_of_its_block() {
        let boxed = |start, end| crate::layout::Boxed {
            kind: "step",
            x: Dots(0),
            y: Dots(0),
            width: Dots(9),
            height: Dots(9),
            span: Span { start, end },
            text: String::new(),
        };
        let chunk = |height, start, end| Chunk { height: Dots(height), boxes: vec![boxed(start, end)], ..Chunk::default() };
        let galley = Galley { chunks: vec![chunk(20, 0, 9), chunk(150, 10, 30)], ..Galley::default() };
        let span = Span { start: 100, end: 130 };
        let made = make_up(&[Matter::Galley { galley: Arc::new(galley), base: 100, span, at_foot: false, leads: false }], FOLDED);
        assert_eq!(made.remarks.iter().map(|remark| remark.span).collect::<Vec<_>>(), [Span { start: 110, end: 130 }]);
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

    fn picture(height: i32) -> Matter {
        let chunk = Chunk { height: Dots(height), gives: Dots(height), ..Chunk::default() };
        let galley = Galley { chunks: vec![chunk], above: Dots(10), below: Dots(10), ..Galley::default() };
        Matter::Galley { galley: Arc::new(galley), base: 0, span: Span::default(), at_foot: false, leads: false }
    }

    #[test]
    fn a_picture_gives_way_where_that_fills_a_panel_and_nowhere_else() {
        // Ten dots too high for the rest of the panel: a quarter smaller, and nothing is left white.
        let matter = [block(&[50], false), picture(40), block(&[30], false)];
        assert_eq!(sizes(&matter, FOLDED), [100, 75, 100]);
        // Three tenths are the most.
        let matter = [block(&[60], false), picture(40), block(&[30], false)];
        assert_eq!(sizes(&matter, FOLDED), [100, 100, 100]);
        assert_eq!(sizes(&matter, Pitch { fold: None, ..FOLDED }), [100, 100, 100]);
    }

    #[test]
    fn white_is_counted_where_the_paper_is_folded_and_nowhere_else() {
        let matter = [block(&[60], false), block(&[40], false), Matter::Fold, block(&[20], false)];
        let made = make_up(&matter, FOLDED);
        assert_eq!(made.panels.len(), 3);
        assert_eq!(made.white, [30, 0, 0].map(Dots), "the second panel ends where the writer wanted it to");
    }

    #[test]
    fn what_leads_shares_a_panel_with_what_follows() {
        let mut matter = vec![block(&[60], false), block(&[15], false), block(&[30], false)];
        let first = |matter: &[Matter]| make_up(matter, FOLDED).placed.iter().filter(|placed| placed.y < Dots(100)).count();
        assert_eq!(first(&matter), 2);
        if let Matter::Galley { leads, .. } = &mut matter[1] {
            *leads = true;
        }
        assert_eq!(first(&matter), 1);
    }

    #[test]
    fn an_empty_manual_is_still_a_panel() {
        assert_eq!(make_up(&[], FOLDED).panels.len(), 1);
    }
}
