//! Numbered balls on a picture, a leader from each to what it names.
//!
//! Leaders never cross, never run over another number, and no ball hides what another names. Each callout has a set of places
//! where its ball may stand; a search that always takes the same course chooses one for each. All positions are in dots from the top left of the
//! picture, and may be negative: a crowded picture gets a margin.

use crate::bitmap::Bitmap;
use crate::geometry::{Point, Size};

/// A place on the picture, dots.
pub type At = Point<i32>;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Placement {
    /// The middle of each ball, in the order of the targets.
    pub balls: Vec<At>,
    /// Room that the balls take beyond the picture: left and right, above and below.
    pub margin: Size<i32>,
    /// Rules that could not be kept; 0 but for pictures too crowded for any placement.
    pub conflicts: usize,
}

/// What the search keeps to.
#[derive(Clone, Copy, Debug)]
pub struct Rules {
    /// Of a ball.
    pub radius: i32,
    /// White kept around balls and leaders.
    pub halo: i32,
    /// How far balls may stand outside the picture, left and right.
    pub side: i32,
}

/// Rings of places around a target: distance of the ball's edge from the target in ball radii, in halves.
const RINGS: [i32; 7] = [2, 4, 7, 11, 16, 24, 34];

/// Chooses a place for the ball of every target. `picture` is what the balls will stand on: white ground is preferred.
pub fn place(picture: &Bitmap, targets: &[At], rules: Rules) -> Placement {
    let mut best: Option<Placement> = None;
    let step = rules.radius * 2 + rules.halo * 2;
    for margin in 0..5 {
        let bounds = Size::new(rules.side.min(step * margin.max(1)), step * margin);
        let placed = search(picture, targets, rules, bounds);
        let better = best.as_ref().is_none_or(|best| placed.conflicts < best.conflicts);
        if better {
            best = Some(placed);
        }
        if best.as_ref().is_some_and(|best| best.conflicts == 0) {
            break;
        }
    }
    best.unwrap_or(Placement { balls: Vec::new(), margin: Size::new(0, 0), conflicts: 0 })
}

struct Candidate {
    callout: Placed,
    cost: i64,
}

/// A ball, its leader, and the rectangle around both: callouts whose rectangles are apart are in nobody's way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Placed {
    target: At,
    ball: At,
    least: At,
    most: At,
}

impl Placed {
    fn new(target: At, ball: At) -> Placed {
        let least = Point::new(target.x.min(ball.x), target.y.min(ball.y));
        let most = Point::new(target.x.max(ball.x), target.y.max(ball.y));
        Placed { target, ball, least, most }
    }

    fn clashes(&self, other: &Placed, rules: Rules) -> bool {
        let reach = rules.radius * 2 + rules.halo;
        let (before, after) = (self.least - other.most, other.least - self.most);
        let apart = before.x > reach || after.x > reach || before.y > reach || after.y > reach;
        !apart && clashes(self.target, self.ball, other.target, other.ball, rules)
    }
}

fn search(picture: &Bitmap, targets: &[At], rules: Rules, bounds: Size<i32>) -> Placement {
    let candidates = targets.iter().map(|&target| candidates(picture, target, rules, bounds)).collect();
    let mut board = Board::new(rules, candidates, targets);
    let mut least = (board.conflicts(), board.chosen.clone());
    // Mend: a ball that is in somebody's way goes to the place where it is least so, or changes places with the other one. Which
    // ball, and which of equally good places, is drawn from a fixed sequence: the same picture always gets the same places.
    let mut dice = Dice(0x2545_F491_4F6C_DD1D);
    for _ in 0..rounds(targets.len()) {
        let troubled: Vec<usize> = (0..targets.len()).filter(|&n| board.troubles[n] > 0).collect();
        if troubled.is_empty() {
            break;
        }
        board.mend(troubled[dice.throw(troubled.len())], &mut dice);
        let now = board.conflicts();
        if now < least.0 {
            least = (now, board.chosen.clone());
        }
    }
    let conflicts = least.0;
    if conflicts == 0 {
        board.settle();
        least.1 = board.chosen;
    }
    let balls: Vec<At> = least.1.iter().map(|placed| placed.ball).collect();
    let reach = rules.radius + rules.halo;
    let side = |at: fn(&At) -> i32, size: u32| {
        let places = || balls.iter().map(at);
        let (least, most) = (places().min().unwrap_or(reach), places().max().unwrap_or(size as i32 - reach));
        (reach - least).max(most + reach - size as i32).max(0)
    };
    let margin = Size::new(side(|ball| ball.x, picture.width()), side(|ball| ball.y, picture.height()));
    Placement { balls, margin, conflicts }
}

/// Steps of mending before the picture is given more margin. A crowd that no picture can bear is not turned over for ever.
fn rounds(callouts: usize) -> usize {
    600.min(18_000 / callouts.max(1))
}

/// A fixed sequence that looks drawn by lot (xorshift).
struct Dice(u64);

impl Dice {
    /// A whole number below `sides`.
    fn throw(&mut self, sides: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        ((self.0 >> 33) % sides.max(1) as u64) as usize
    }
}

/// A state of the search: for each callout where its ball may stand, where it stands, and how many others it is in the way of.
struct Board {
    rules: Rules,
    candidates: Vec<Vec<Candidate>>,
    chosen: Vec<Placed>,
    troubles: Vec<usize>,
}

impl Board {
    /// One after the other, the most hemmed in first, each where it is least in the way of those before.
    fn new(rules: Rules, candidates: Vec<Vec<Candidate>>, targets: &[At]) -> Board {
        let mut order: Vec<usize> = (0..targets.len()).collect();
        order.sort_by_key(|&n| (candidates[n].len(), n));
        let mut chosen: Vec<Placed> = targets.iter().map(|&target| Placed::new(target, target)).collect();
        let mut standing: Vec<Placed> = Vec::new();
        for n in order {
            let broken = |placed: &Placed| standing.iter().filter(|other| placed.clashes(other, rules)).count();
            let best = candidates[n].iter().min_by_key(|candidate| (broken(&candidate.callout), candidate.cost));
            if let Some(best) = best {
                chosen[n] = best.callout;
            }
            standing.push(chosen[n]);
        }
        let mut board = Board { rules, candidates, troubles: vec![0; chosen.len()], chosen };
        for n in 0..board.chosen.len() {
            board.troubles[n] = board.in_the_way(n, &board.chosen[n]);
        }
        board
    }

    /// How many of the others the ball of `n` would be in the way of.
    fn in_the_way(&self, n: usize, placed: &Placed) -> usize {
        self.chosen.iter().enumerate().filter(|&(other, at)| other != n && placed.clashes(at, self.rules)).count()
    }

    fn conflicts(&self) -> usize {
        self.troubles.iter().sum::<usize>() / 2
    }

    fn put(&mut self, n: usize, placed: Placed) {
        let before = std::mem::replace(&mut self.chosen[n], placed);
        let mut own = 0;
        for other in (0..self.chosen.len()).filter(|&other| other != n) {
            let (was, is) = (before.clashes(&self.chosen[other], self.rules), placed.clashes(&self.chosen[other], self.rules));
            self.troubles[other] = self.troubles[other] + usize::from(is) - usize::from(was);
            own += usize::from(is);
        }
        self.troubles[n] = own;
    }

    fn mend(&mut self, n: usize, dice: &mut Dice) {
        let present = self.chosen[n];
        let partners: Vec<usize> =
            (0..self.chosen.len()).filter(|&other| other != n && present.clashes(&self.chosen[other], self.rules)).collect();
        // Two leaders that cross do not cross any more when their balls change places, and are shorter together.
        if !partners.is_empty() && dice.throw(3) == 0 {
            let other = partners[dice.throw(partners.len())];
            let there = self.chosen[other];
            let length = |placed: &Placed| distance(placed.target, placed.ball);
            let swapped = [Placed::new(present.target, there.ball), Placed::new(there.target, present.ball)];
            if length(&swapped[0]) + length(&swapped[1]) < length(&present) + length(&there) {
                self.put(n, swapped[0]);
                self.put(other, swapped[1]);
                return;
            }
        }
        if dice.throw(25) == 0 {
            let place = self.candidates[n][dice.throw(self.candidates[n].len())].callout;
            self.put(n, place);
            return;
        }
        let mut best: (usize, Vec<Placed>) = (usize::MAX, Vec::new());
        for candidate in self.candidates[n].iter().filter(|candidate| candidate.callout != present) {
            let broken = self.in_the_way(n, &candidate.callout);
            match broken.cmp(&best.0) {
                std::cmp::Ordering::Less => best = (broken, vec![candidate.callout]),
                std::cmp::Ordering::Equal => best.1.push(candidate.callout),
                std::cmp::Ordering::Greater => {}
            }
        }
        if !best.1.is_empty() {
            self.put(n, best.1[dice.throw(best.1.len())]);
        }
    }

    /// With nothing in the way any more, every ball takes the cheapest place that stays so.
    fn settle(&mut self) {
        for _ in 0..4 {
            let before = self.chosen.clone();
            for n in 0..self.chosen.len() {
                let free = self.candidates[n].iter().filter(|candidate| self.in_the_way(n, &candidate.callout) == 0);
                if let Some(best) = free.min_by_key(|candidate| candidate.cost) {
                    self.chosen[n] = best.callout;
                }
            }
            if before == self.chosen {
                break;
            }
        }
    }
}

fn candidates(picture: &Bitmap, target: At, rules: Rules, bounds: Size<i32>) -> Vec<Candidate> {
    let (width, height) = (picture.width() as i32, picture.height() as i32);
    let reach = rules.radius + rules.halo;
    let (left, right) = (reach - bounds.width, width - reach + bounds.width);
    let (top, bottom) = (reach - bounds.height, height - reach + bounds.height);
    let mut found: Vec<Candidate> = Vec::new();
    let mut add = |centre: At| {
        let centre = Point::new(centre.x.clamp(left, right.max(left)), centre.y.clamp(top, bottom.max(top)));
        let far = distance(centre, target);
        if far < i64::from(rules.radius + rules.halo) || found.iter().any(|other| other.callout.ball == centre) {
            return;
        }
        // White ground is worth a leader that much longer; so is staying on the picture.
        let covered = black_under(picture, centre, rules.radius);
        let outside = i64::from((-(centre.y - reach)).max(centre.y + reach - height).max(0)) * 2;
        found.push(Candidate { callout: Placed::new(target, centre), cost: far + covered * 2 + outside });
    };
    for (n, ring) in RINGS.into_iter().enumerate() {
        let away = f64::from(rules.radius + rules.radius * ring / 2);
        let directions = 12 + n as i32 * 4;
        for direction in 0..directions {
            // Beginning up and to the right, where a hand would put it.
            let turn = (f64::from(direction) / f64::from(directions) - 0.125) * std::f64::consts::TAU;
            let (dx, dy) = (libm::round(away * libm::cos(turn)) as i32, libm::round(away * libm::sin(turn)) as i32);
            add(target + Point::new(dx, dy));
        }
    }
    // Along the edges, so that even a crowd in one corner can be spread.
    let step = (reach * 2 + 2).max(4);
    for x in (left..=right.max(left)).step_by(step as usize) {
        add(Point::new(x, top));
        add(Point::new(x, bottom));
    }
    for y in (top..=bottom.max(top)).step_by(step as usize) {
        add(Point::new(left, y));
        add(Point::new(right, y));
    }
    found
}

/// Share of black under a ball, in 1/64.
fn black_under(picture: &Bitmap, centre: At, radius: i32) -> i64 {
    let mut black = 0;
    for row in 0..8 {
        for column in 0..8 {
            let (x, y) = (centre.x - radius + radius * column / 4, centre.y - radius + radius * row / 4);
            black += i64::from(picture.get(x, y));
        }
    }
    black
}

fn distance(a: At, b: At) -> i64 {
    (a - b).wide().length()
}

/// Whether two callouts are in each other's way.
pub fn clashes(target_a: At, ball_a: At, target_b: At, ball_b: At, rules: Rules) -> bool {
    let apart = i64::from(rules.radius * 2 + rules.halo);
    let clear = i64::from(rules.radius + rules.halo);
    if distance(ball_a, ball_b) < apart {
        return true;
    }
    let same = distance(target_a, target_b) < clear;
    if !same && (distance(ball_a, target_b) < clear || distance(ball_b, target_a) < clear) {
        return true;
    }
    if same && (distance(ball_a, target_b) < i64::from(rules.radius) || distance(ball_b, target_a) < i64::from(rules.radius)) {
        return true;
    }
    near(target_a, ball_a, ball_b, clear) || near(target_b, ball_b, ball_a, clear) || crosses(target_a, ball_a, target_b, ball_b)
}

/// Whether `point` is nearer than `clear` to the straight line between two ends.
fn near(from: At, to: At, point: At, clear: i64) -> bool {
    let (way, off) = ((to - from).wide(), (point - from).wide());
    let (length, along) = (way.dot(way), way.dot(off));
    if length == 0 || along <= 0 {
        return off.dot(off) < clear * clear;
    }
    if along >= length {
        return distance(to, point) < clear;
    }
    let across = way.cross(off);
    across * across < clear * clear * length
}

/// Whether two leaders cross or touch, but for leaders that begin at the same point.
pub fn crosses(a: At, b: At, c: At, d: At) -> bool {
    let side = |p: At, q: At, r: At| (q - p).wide().cross((r - p).wide()).signum();
    let within =
        |p: At, q: At, r: At| (p.x.min(q.x)..=p.x.max(q.x)).contains(&r.x) && (p.y.min(q.y)..=p.y.max(q.y)).contains(&r.y);
    if a == c {
        // From one point: they part at once unless one lies along the other.
        return side(a, b, d) == 0 && (b - a).wide().dot((d - a).wide()) > 0;
    }
    let (abc, abd, cda, cdb) = (side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b));
    if abc != abd && cda != cdb && abc * abd <= 0 && cda * cdb <= 0 && (abc, abd, cda, cdb) != (0, 0, 0, 0) {
        return true;
    }
    (abc == 0 && within(a, b, c))
        || (abd == 0 && within(a, b, d))
        || (cda == 0 && within(c, d, a))
        || (cdb == 0 && within(c, d, b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const RULES: Rules = Rules { radius: 15, halo: 3, side: 0 };

    fn check(width: u32, height: u32, targets: &[At], rules: Rules) -> Result<(), TestCaseError> {
        let placed = place(&Bitmap::new(width, height), targets, rules);
        prop_assert_eq!(placed.conflicts, 0, "{:?}", targets);
        prop_assert_eq!(placed.balls.len(), targets.len());
        let reach = rules.radius + rules.halo;
        for (n, &ball) in placed.balls.iter().enumerate() {
            let Size { width: mx, height: my } = placed.margin;
            prop_assert!(ball.x >= reach - mx && ball.x <= width as i32 - reach + mx);
            prop_assert!(ball.y >= reach - my && ball.y <= height as i32 - reach + my);
            prop_assert!(mx <= rules.side);
            for (m, &other) in placed.balls[n + 1..].iter().enumerate() {
                let (from, to) = (targets[n], targets[n + 1 + m]);
                prop_assert!(!crosses(from, ball, to, other), "leaders cross");
                prop_assert!(!near(from, ball, other, i64::from(reach)), "a leader runs over a number");
                prop_assert!(!near(to, other, ball, i64::from(reach)), "a leader runs over a number");
                prop_assert!(distance(ball, other) >= i64::from(rules.radius * 2), "balls overlap");
            }
        }
        Ok(())
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn leaders_never_cross_at_72_mm(targets in prop::collection::vec((0..576i32, 0..430i32), 1..=20)) {
            let targets: Vec<At> = targets.into_iter().map(|(x, y)| Point::new(x, y)).collect();
            check(576, 430, &targets, RULES)?;
        }

        #[test]
        fn leaders_never_cross_at_48_mm(targets in prop::collection::vec((0..384i32, 0..288i32), 1..=20)) {
            let targets: Vec<At> = targets.into_iter().map(|(x, y)| Point::new(x, y)).collect();
            check(384, 288, &targets, RULES)?;
        }

        #[test]
        fn a_crowd_in_one_corner_is_spread(targets in prop::collection::vec((0..60i32, 0..60i32), 1..=12)) {
            let targets: Vec<At> = targets.into_iter().map(|(x, y)| Point::new(x, y)).collect();
            check(384, 288, &targets, RULES)?;
        }
    }

    #[test]
    fn targets_that_nearly_touch_fan_out() {
        let targets = [[3, 4], [4, 4], [21, 28], [1, 20], [0, 0]].map(Point::from);
        let placed = place(&Bitmap::new(384, 288), &targets, RULES);
        assert_eq!(placed.conflicts, 0, "{placed:?}");
    }

    #[test]
    fn white_ground_is_preferred() {
        let mut picture = Bitmap::new(400, 200);
        picture.fill(200, 0, 200, 200, true);
        let placed = place(&picture, &[Point::new(200, 100)], RULES);
        assert!(placed.balls[0].x < 200 - RULES.radius);
    }
}
