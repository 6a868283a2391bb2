//! Numbers around a picture: each stands at an edge, a line leads to what it names. Placed for the width of a telephone, and so wide enough
//! on anything wider.

use super::Writing;
use crate::geometry::{Point, Size};

/// What a number names.
pub struct Called {
    /// In thousandths of the shown picture: x, y.
    pub at: Point<i32>,
    pub label: String,
}

/// Width of a picture on a telephone, in CSS pixels.
const NARROW: i64 = 310;
/// From one number to the next.
const PITCH: i64 = 27;
/// Lines do not lead from corners.
const ROUNDS: usize = 60;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    Left,
    Top,
    Right,
    Bottom,
}

/// A place for a number: its side, and how far along it, in thousandths.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Slot {
    side: Side,
    along: i64,
}

pub struct Placed {
    slots: Vec<Slot>,
    /// Classes for the sides at which numbers stand.
    pub sides: String,
}

impl Slot {
    /// In thousandths of the picture.
    fn at(self) -> Point<i64> {
        match self.side {
            Side::Left => Point::new(0, self.along),
            Side::Right => Point::new(1000, self.along),
            Side::Top => Point::new(self.along, 0),
            Side::Bottom => Point::new(self.along, 1000),
        }
    }
}

/// Places numbers so that the lines are short together; lines of which the sum is least do not cross.
pub fn placed(called: &[Called], size: Size<u32>) -> Placed {
    let width = NARROW.min(i64::from(size.width.max(1)));
    let height = (width * i64::from(size.height) / i64::from(size.width.max(1))).max(1);
    let slots = all_slots(called.len(), [width, height]);
    let length = |called: &Called, slot: Slot| {
        let Point { x, y } = slot.at();
        let dx = (i64::from(called.at.x) - x) * width;
        let dy = (i64::from(called.at.y) - y) * height;
        (dx * dx + dy * dy).isqrt()
    };
    // First the nearest that is free, for those with the least choice first; then exchanges for as long as they shorten the sum.
    let mut order: Vec<usize> = (0..called.len()).collect();
    let nearest = |n: usize| slots.iter().map(|&slot| length(&called[n], slot)).min().unwrap_or(0);
    order.sort_by_key(|&n| (nearest(n), n));
    let mut free: Vec<bool> = vec![true; slots.len()];
    let mut taken = vec![0; called.len()];
    for n in order {
        let best = (0..slots.len()).filter(|&s| free[s]).min_by_key(|&s| (length(&called[n], slots[s]), s));
        taken[n] = best.unwrap_or(0);
        free[taken[n]] = false;
    }
    for _ in 0..ROUNDS {
        let mut better = false;
        for n in 0..called.len() {
            let own = length(&called[n], slots[taken[n]]);
            if let Some(s) = (0..slots.len()).filter(|&s| free[s]).min_by_key(|&s| (length(&called[n], slots[s]), s))
                && length(&called[n], slots[s]) < own
            {
                free[taken[n]] = true;
                free[s] = false;
                taken[n] = s;
                better = true;
            }
            for m in n + 1..called.len() {
                let now = length(&called[n], slots[taken[n]]) + length(&called[m], slots[taken[m]]);
                let then = length(&called[n], slots[taken[m]]) + length(&called[m], slots[taken[n]]);
                if then < now {
                    taken.swap(n, m);
                    better = true;
                }
            }
        }
        if !better {
            break;
        }
    }
    let slots: Vec<Slot> = taken.into_iter().map(|s| slots[s]).collect();
    let used = |side: Side| slots.iter().any(|slot| slot.side == side);
    let names = [(Side::Left, " at-left"), (Side::Top, " at-top"), (Side::Right, " at-right"), (Side::Bottom, " at-bottom")];
    let sides = names.into_iter().filter(|(side, _)| used(*side)).map(|(_, name)| name).collect();
    Placed { slots, sides }
}

/// Places along all four sides, at least as many as are needed.
fn all_slots(count: usize, [width, height]: [i64; 2]) -> Vec<Slot> {
    let around = (width + height) * 2;
    let pitch = PITCH.min(around / (count.max(1) as i64 + 4)).max(1);
    let mut slots = Vec::new();
    for (side, long) in [(Side::Left, height), (Side::Top, width), (Side::Right, height), (Side::Bottom, width)] {
        let places = long / pitch;
        slots.extend((0..places).map(|n| Slot { side, along: (n * 2 + 1) * 500 / places }));
    }
    while slots.len() < count.max(1) {
        slots.push(Slot { side: Side::Bottom, along: 500 });
    }
    slots
}

/// Thousandths as percent.
pub(super) fn percent(thousandths: i64) -> String {
    match thousandths % 10 {
        0 => format!("{}%", thousandths / 10),
        rest => format!("{}.{}%", thousandths / 10, rest),
    }
}

impl Writing<'_> {
    /// The lines and the numbers, over the picture.
    pub(super) fn marks(&mut self, called: &[Called], placed: &Placed) {
        if called.is_empty() {
            return;
        }
        self.figures += 1;
        self.most_called = self.most_called.max(called.len());
        self.page.open("svg", &[("class", "marks"), ("aria-hidden", "true"), ("focusable", "false")]);
        for (n, (called, slot)) in called.iter().zip(&placed.slots).enumerate() {
            let id = format!("m{}-{}", self.figures, n + 1);
            let Point { x, y } = slot.at().map(percent);
            let Point { x: tip_x, y: tip_y } = called.at.map(|side| percent(i64::from(side)));
            self.page.open("g", &[("id", &id)]);
            for class in ["halo", "leader"] {
                let ends = [("class", class), ("x1", &*x), ("y1", &*y), ("x2", &*tip_x), ("y2", &*tip_y)];
                self.page.element("line", &ends, "");
            }
            self.page.element("circle", &[("class", "tip"), ("cx", &tip_x), ("cy", &tip_y), ("r", "4")], "");
            let (out_x, out_y) = match slot.side {
                Side::Left => ("-13", "0"),
                Side::Right => ("13", "0"),
                Side::Top => ("0", "-13"),
                Side::Bottom => ("0", "13"),
            };
            self.page.open("svg", &[("x", &x), ("y", &y), ("class", "ball")]);
            self.page.element("circle", &[("cx", out_x), ("cy", out_y), ("r", "12")], "");
            let text = [("x", out_x), ("y", out_y), ("dy", ".36em"), ("text-anchor", "middle")];
            self.page.element("text", &text, &(n + 1).to_string());
            self.page.close();
            self.page.close();
        }
        self.page.close();
    }

    /// What the numbers stand for. Each leads to its mark, which shows itself.
    pub(super) fn legend(&mut self, called: &[Called]) {
        if called.is_empty() {
            return;
        }
        let short = called.len() > 3 && called.iter().all(|called| called.label.chars().count() <= 28);
        self.page.open("ol", &[("class", if short { "legend short" } else { "legend" }), ("role", "list")]);
        for (n, called) in called.iter().enumerate() {
            self.page.open("li", &[]);
            self.page.element("a", &[("href", &format!("#m{}-{}", self.figures, n + 1))], &called.label);
            self.page.close();
        }
        self.page.close();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whether two lines cross, by the signs of the areas that their ends span (computational geometry, common practice).
    fn cross(a: [Point<i64>; 2], b: [Point<i64>; 2]) -> bool {
        let area = |p: Point<i64>, q: Point<i64>, r: Point<i64>| (q - p).cross(r - p).signum();
        area(a[0], a[1], b[0]) * area(a[0], a[1], b[1]) < 0 && area(b[0], b[1], a[0]) * area(b[0], b[1], a[1]) < 0
    }

    #[test]
    fn no_line_crosses_another_and_no_place_is_taken_twice() {
        for count in [1, 2, 6, 12, 24] {
            for size in [[680, 680], [680, 160], [200, 680]].map(Size::from) {
                let at = |n: i32| Point::new((n * 379 + 83) % 1000, (n * 617 + 211) % 1000);
                let called: Vec<Called> = (0..count).map(|n| Called { at: at(n), label: String::new() }).collect();
                let placed = placed(&called, size);
                let lines: Vec<[Point<i64>; 2]> =
                    called.iter().zip(&placed.slots).map(|(called, slot)| [called.at.wide(), slot.at()]).collect();
                for (n, a) in lines.iter().enumerate() {
                    for b in &lines[n + 1..] {
                        assert!(!cross(*a, *b), "{count} on {size:?}: {a:?} and {b:?}");
                        assert_ne!(a[1], b[1], "{count} on {size:?}");
                    }
                }
            }
        }
    }
}
