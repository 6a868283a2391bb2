//! Slabs onto pages: two columns, even where something wide follows or the text ends; no heading alone at the foot of one.

use super::Body;
use super::slab::Slab;

/// A slab in its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    pub slab: usize,
    pub page: usize,
    pub x: f32,
    pub y: f32,
    /// It is set again, as the head of a table that goes on.
    pub again: bool,
    /// White before it that was left standing.
    pub gap: f32,
    /// Smaller than one, where no page is high enough for it.
    pub scale: f32,
}

struct Sheets<'a> {
    slabs: &'a [Slab],
    body: &'a Body,
    right_to_left: bool,
    placed: Vec<Placed>,
    page: usize,
    /// Where the next begins.
    y: f32,
}

/// Every slab in its place, page after page.
pub fn onto_pages(slabs: &[Slab], body: &Body, right_to_left: bool) -> Vec<Placed> {
    let mut sheets = Sheets { slabs, body, right_to_left, placed: Vec::new(), page: 0, y: 0.0 };
    let mut at = 0;
    while at < slabs.len() {
        let wide = slabs[at].wide;
        let end = (at..slabs.len()).find(|&n| slabs[n].wide != wide).unwrap_or(slabs.len());
        if wide {
            sheets.wide(at, end)
        } else {
            sheets.narrow(at, end)
        }
        at = end;
    }
    sheets.placed
}

/// Whether the last page holds less than a fifth of what it could, and is not the only one.
pub fn last_is_nearly_empty(slabs: &[Slab], placed: &[Placed], body: &Body) -> bool {
    let last = placed.last().map_or(0, |last| last.page);
    let low = placed.iter().filter(|placed| placed.page == last).map(|placed| placed.y + slabs[placed.slab].height);
    last > 0 && low.fold(0.0, f32::max) < body.height / 5.0
}

impl Sheets<'_> {
    /// From a slab to the last that has to stand with it, in steps that no column parts; what is higher than a column is parted.
    fn bound(&self, from: usize, end: usize) -> usize {
        let mut last = from;
        let mut height = self.height(from);
        while last + 1 < end && self.slabs[last].keep {
            height += self.slabs[last + 1].gap + self.slabs[last + 1].height;
            if height > self.body.height {
                return last;
            }
            last += 1;
        }
        last
    }

    /// Of a slab that no column can hold, as much as there is.
    fn height(&self, slab: usize) -> f32 {
        self.slabs[slab].height.min(self.body.height)
    }

    /// Fills one column of a height: slabs with the tops they get, and the first that has no room.
    fn column(&self, from: usize, end: usize, room: f32) -> (Vec<(usize, f32, bool)>, usize, f32) {
        let (mut at, mut y) = (from, 0.0f32);
        let mut set = Vec::new();
        while at < end {
            let last = self.bound(at, end);
            let mut top = y;
            let mut group = Vec::new();
            for slab in at..=last {
                let first = set.is_empty() && group.is_empty();
                if first && let Some(head) = self.slabs[slab].head {
                    group.push((head, top, true));
                    top += self.slabs[head].height;
                }
                let gap = if first { 0.0 } else { self.slabs[slab].gap };
                group.push((slab, top + gap, false));
                top += gap + self.height(slab);
            }
            if top > room + 0.01 && !set.is_empty() {
                break;
            }
            if top > room + 0.01 && room < self.body.height - 0.01 {
                break;
            }
            set.extend(group);
            (at, y) = (last + 1, top);
        }
        (set, at, y)
    }

    fn narrow(&mut self, from: usize, end: usize) {
        let mut at = from;
        let columns = self.body.columns;
        while at < end {
            let gap = if self.y > 0.0 { self.slabs[at].gap } else { 0.0 };
            let room = self.body.height - self.y - gap;
            // What is left of the page is of no use.
            if room < 60.0 && self.y > 0.0 {
                self.next_page();
                continue;
            }
            let fits = |room: f32| (0..columns).fold(at, |at, _| self.column(at, end, room).1) == end;
            let mut high = room;
            if fits(room) {
                // All of the rest: columns alike in height.
                let (mut low, mut enough) = (0.0, room);
                while enough - low > 1.0 {
                    let middle = (low + enough) / 2.0;
                    if fits(middle) { enough = middle } else { low = middle }
                }
                high = enough;
            }
            let (top, mut used, before) = (self.y + gap, 0.0f32, at);
            for column in 0..columns {
                let (set, next, height) = self.column(at, end, high);
                self.put(&set, self.left(column), top);
                used = used.max(height);
                at = next;
            }
            if at < end {
                // Nothing fitted below what stands here.
                if at == before && self.y == 0.0 {
                    let (set, next, _) = self.column(at, end, f32::MAX);
                    self.put(&set, self.left(0), top);
                    at = next.max(at + 1);
                }
                self.next_page();
            } else {
                self.y = top + used;
            }
        }
    }

    fn wide(&mut self, from: usize, end: usize) {
        let mut at = from;
        while at < end {
            let gap = if self.y > 0.0 { self.slabs[at].gap } else { 0.0 };
            let (set, next, height) = self.column(at, end, self.body.height - self.y - gap);
            if next == at {
                if self.y == 0.0 {
                    return;
                }
                self.next_page();
                continue;
            }
            self.put(&set, 0.0, self.y + gap);
            self.y += gap + height;
            at = next;
            if at < end {
                self.next_page();
            }
        }
    }

    fn next_page(&mut self) {
        self.page += 1;
        self.y = 0.0;
    }

    /// Left side of a column; where one reads from right to left the first is the right one.
    fn left(&self, column: usize) -> f32 {
        let place = if self.right_to_left { self.body.columns - 1 - column } else { column };
        place as f32 * (self.body.column + self.body.between)
    }

    fn put(&mut self, set: &[(usize, f32, bool)], x: f32, top: f32) {
        for (n, &(slab, y, again)) in set.iter().enumerate() {
            let own = &self.slabs[slab];
            let scale = (self.body.height / own.height.max(1.0)).min(1.0);
            let gap = if n == 0 { 0.0 } else { own.gap };
            self.placed.push(Placed { slab, page: self.page, x, y: top + y, again, gap, scale });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn body() -> Body {
        Body {
            width: 600.0,
            page_height: 800.0,
            left: 50.0,
            top: 50.0,
            full: 500.0,
            column: 240.0,
            between: 20.0,
            columns: 2,
            height: 700.0,
            size: 9.5,
            white: 1.0,
        }
    }

    fn slab(height: f32, keep: bool) -> Slab {
        Slab { height, keep, gap: 5.0, ..Slab::default() }
    }

    #[test]
    fn no_slab_is_lost_none_lies_on_another_and_what_is_kept_together_is() {
        // Heights from a small generator, so that many shapes come.
        let mut seed = 7u32;
        let mut next = |most: u32| {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (seed >> 8) % most.max(1)
        };
        for _ in 0..60 {
            let slabs: Vec<Slab> =
                (0..next(120) + 1).map(|_| Slab { wide: next(9) == 0, ..slab(4.0 + next(200) as f32, next(3) == 0) }).collect();
            let body = body();
            let placed = onto_pages(&slabs, &body, false);
            let order: Vec<usize> = placed.iter().map(|placed| placed.slab).collect();
            assert_eq!(order, (0..slabs.len()).collect::<Vec<_>>());
            for pair in placed.windows(2) {
                let (one, two) = (pair[0], pair[1]);
                let same =
                    one.page == two.page && one.x == two.x && !(slabs[one.slab].wide && !slabs[two.slab].wide && two.x > 0.0);
                if same && two.y < one.y + slabs[one.slab].height - 0.1 {
                    panic!("{one:?} {two:?}");
                }
                assert!(two.page >= one.page, "{one:?} {two:?}");
            }
            assert!(placed.iter().all(|placed| placed.y + slabs[placed.slab].height <= body.height + 0.1), "{placed:?}");
        }
    }

    #[test]
    fn a_heading_is_never_the_last_of_a_column() {
        let body = body();
        for before in 0..40 {
            let mut slabs: Vec<Slab> = (0..before).map(|_| slab(33.0, false)).collect();
            slabs.push(slab(20.0, true));
            slabs.extend((0..60).map(|_| slab(13.0, false)));
            let placed = onto_pages(&slabs, &body, false);
            let (heading, next) = (placed[before], placed[before + 1]);
            assert_eq!((heading.page, heading.x), (next.page, next.x), "{before}");
        }
    }

    #[test]
    fn the_head_of_a_table_is_set_again_where_it_goes_on() {
        let mut slabs = vec![Slab { height: 20.0, keep: true, ..Slab::default() }];
        slabs.extend((0..200).map(|_| Slab { height: 20.0, head: Some(0), ..Slab::default() }));
        let placed = onto_pages(&slabs, &body(), false);
        let columns = placed.windows(2).filter(|pair| pair[0].page != pair[1].page || pair[0].x != pair[1].x).count();
        assert!(columns > 2);
        assert_eq!(placed.iter().filter(|placed| placed.again).count(), columns);
    }
}
