//! Numbered balls on a picture, a leader from each to what it names.
//!
//! Leaders never cross, never run over another number, and no ball hides what another names. Each callout has a set of places
//! where its ball may stand; a search that always takes the same course chooses one for each. All positions are in dots from the top left of the
//! picture, and may be negative: a crowded picture gets a margin.

use crate::bitmap::Bitmap;

/// A place on the picture, dots.
pub type At = [i32; 2];

/// Where a ball stands and what it names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ball {
    /// Index into the targets as given.
    pub target: usize,
    pub centre: At,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Placement {
    /// In the order of their numbers: clockwise from the top left corner.
    pub balls: Vec<Ball>,
    /// Room that the balls take beyond the picture: left and right, above and below.
    pub margin: At,
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
        let bounds = [rules.side.min(step * margin.max(1)), step * margin];
        let placed = search(picture, targets, rules, bounds);
        let better = best.as_ref().is_none_or(|best| placed.conflicts < best.conflicts);
        if better {
            best = Some(placed);
        }
        if best.as_ref().is_some_and(|best| best.conflicts == 0) {
            break;
        }
    }
    best.unwrap_or(Placement { balls: Vec::new(), margin: [0, 0], conflicts: 0 })
}

struct Candidate {
    centre: At,
    cost: i64,
}

fn search(picture: &Bitmap, targets: &[At], rules: Rules, bounds: At) -> Placement {
    let board =
        Board { targets, rules, candidates: targets.iter().map(|&target| candidates(picture, target, rules, bounds)).collect() };
    let mut chosen = board.first();
    let mut least = (board.conflicts(&chosen), chosen.clone());
    // Mend: a ball that is in somebody's way goes to the place where it is least so, or changes places with the other one. Which
    // ball, and which of equally good places, is drawn from a fixed sequence: the same picture always gets the same numbers.
    let mut dice = Dice(0x2545_F491_4F6C_DD1D);
    for _ in 0..ROUNDS {
        if least.0 == 0 {
            break;
        }
        let troubled: Vec<usize> = (0..targets.len()).filter(|&n| board.in_the_way(n, chosen[n], &chosen) > 0).collect();
        if troubled.is_empty() {
            break;
        }
        board.mend(troubled[dice.throw(troubled.len())], &mut chosen, &mut dice);
        let now = board.conflicts(&chosen);
        if now < least.0 {
            least = (now, chosen.clone());
        }
    }
    let (conflicts, mut chosen) = least;
    if conflicts == 0 {
        board.settle(&mut chosen);
    }
    let mut balls: Vec<Ball> = chosen.iter().enumerate().map(|(target, &centre)| Ball { target, centre }).collect();
    let middle = [picture.width() as i32 / 2, picture.height() as i32 / 2];
    balls.sort_by(|a, b| clockwise(a.centre, b.centre, middle).then(a.target.cmp(&b.target)));
    let reach = rules.radius + rules.halo;
    let side = |axis: usize, size: u32| {
        let places = || balls.iter().map(|ball| ball.centre[axis]);
        let (least, most) = (places().min().unwrap_or(reach), places().max().unwrap_or(size as i32 - reach));
        (reach - least).max(most + reach - size as i32).max(0)
    };
    let margin = [side(0, picture.width()), side(1, picture.height())];
    Placement { balls, margin, conflicts }
}

/// Steps of mending before the picture is given more margin.
const ROUNDS: usize = 600;

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

/// All targets and where their balls may stand. A state of the search is one place for each ball.
struct Board<'a> {
    targets: &'a [At],
    rules: Rules,
    candidates: Vec<Vec<Candidate>>,
}

impl Board<'_> {
    fn clash(&self, a: usize, ball_a: At, b: usize, ball_b: At) -> bool {
        clashes(self.targets[a], ball_a, self.targets[b], ball_b, self.rules)
    }

    /// How many of the others the ball of `n` would be in the way of.
    fn in_the_way(&self, n: usize, place: At, chosen: &[At]) -> usize {
        chosen.iter().enumerate().filter(|&(other, &at)| other != n && self.clash(n, place, other, at)).count()
    }

    fn conflicts(&self, chosen: &[At]) -> usize {
        (0..chosen.len()).map(|n| self.in_the_way(n, chosen[n], &chosen[..n])).sum()
    }

    /// One after the other, the most hemmed in first, each where it is least in the way of those before.
    fn first(&self) -> Vec<At> {
        let mut order: Vec<usize> = (0..self.targets.len()).collect();
        order.sort_by_key(|&n| (self.candidates[n].len(), n));
        let mut chosen: Vec<Option<At>> = vec![None; self.targets.len()];
        for n in order {
            let broken = |place: At| {
                let others = chosen.iter().enumerate().filter_map(|(other, at)| at.map(|at| (other, at)));
                others.filter(|&(other, at)| self.clash(n, place, other, at)).count()
            };
            let best = self.candidates[n].iter().min_by_key(|candidate| (broken(candidate.centre), candidate.cost));
            chosen[n] = Some(best.map_or(self.targets[n], |candidate| candidate.centre));
        }
        chosen.into_iter().flatten().collect()
    }

    fn mend(&self, n: usize, chosen: &mut [At], dice: &mut Dice) {
        let partners: Vec<usize> =
            (0..chosen.len()).filter(|&other| other != n && self.clash(n, chosen[n], other, chosen[other])).collect();
        // Two leaders that cross do not cross any more when their balls change places, and are shorter together.
        if !partners.is_empty() && dice.throw(3) == 0 {
            let other = partners[dice.throw(partners.len())];
            let far = |chosen: &[At]| distance(self.targets[n], chosen[n]) + distance(self.targets[other], chosen[other]);
            let mut changed = chosen.to_vec();
            changed.swap(n, other);
            if far(&changed) < far(chosen) {
                chosen.swap(n, other);
                return;
            }
        }
        if dice.throw(25) == 0 {
            chosen[n] = self.candidates[n][dice.throw(self.candidates[n].len())].centre;
            return;
        }
        let present = chosen[n];
        let mut best: (usize, Vec<At>) = (usize::MAX, Vec::new());
        for candidate in self.candidates[n].iter().filter(|candidate| candidate.centre != present) {
            let broken = self.in_the_way(n, candidate.centre, chosen);
            match broken.cmp(&best.0) {
                std::cmp::Ordering::Less => best = (broken, vec![candidate.centre]),
                std::cmp::Ordering::Equal => best.1.push(candidate.centre),
                std::cmp::Ordering::Greater => {}
            }
        }
        if !best.1.is_empty() {
            chosen[n] = best.1[dice.throw(best.1.len())];
        }
    }

    /// With nothing in the way any more, every ball takes the cheapest place that stays so.
    fn settle(&self, chosen: &mut [At]) {
        for _ in 0..4 {
            let before = chosen.to_vec();
            for n in 0..chosen.len() {
                let free = self.candidates[n].iter().filter(|candidate| self.in_the_way(n, candidate.centre, chosen) == 0);
                if let Some(best) = free.min_by_key(|candidate| candidate.cost) {
                    chosen[n] = best.centre;
                }
            }
            if before == chosen {
                break;
            }
        }
    }
}

fn candidates(picture: &Bitmap, target: At, rules: Rules, bounds: At) -> Vec<Candidate> {
    let (width, height) = (picture.width() as i32, picture.height() as i32);
    let reach = rules.radius + rules.halo;
    let (left, right) = (reach - bounds[0], width - reach + bounds[0]);
    let (top, bottom) = (reach - bounds[1], height - reach + bounds[1]);
    let mut found: Vec<Candidate> = Vec::new();
    let mut add = |centre: At| {
        let centre = [centre[0].clamp(left, right.max(left)), centre[1].clamp(top, bottom.max(top))];
        let far = distance(centre, target);
        if far < i64::from(rules.radius + rules.halo) || found.iter().any(|other| other.centre == centre) {
            return;
        }
        // White ground is worth a leader that much longer; so is staying on the picture.
        let covered = black_under(picture, centre, rules.radius);
        let outside = i64::from((-(centre[1] - reach)).max(centre[1] + reach - height).max(0)) * 2;
        found.push(Candidate { centre, cost: far + covered * 2 + outside });
    };
    for (n, ring) in RINGS.into_iter().enumerate() {
        let away = f64::from(rules.radius + rules.radius * ring / 2);
        let directions = 12 + n as i32 * 4;
        for direction in 0..directions {
            // Beginning up and to the right, where a hand would put it.
            let turn = (f64::from(direction) / f64::from(directions) - 0.125) * std::f64::consts::TAU;
            let (dx, dy) = (libm::round(away * libm::cos(turn)) as i32, libm::round(away * libm::sin(turn)) as i32);
            add([target[0] + dx, target[1] + dy]);
        }
    }
    // Along the edges, so that even a crowd in one corner can be spread.
    let step = (reach * 2 + 2).max(4);
    for x in (left..=right.max(left)).step_by(step as usize) {
        add([x, top]);
        add([x, bottom]);
    }
    for y in (top..=bottom.max(top)).step_by(step as usize) {
        add([left, y]);
        add([right, y]);
    }
    found
}

/// Share of black under a ball, in 1/64.
fn black_under(picture: &Bitmap, centre: At, radius: i32) -> i64 {
    let mut black = 0;
    for row in 0..8 {
        for column in 0..8 {
            let (x, y) = (centre[0] - radius + radius * column / 4, centre[1] - radius + radius * row / 4);
            black += i64::from(picture.get(x, y));
        }
    }
    black
}

fn distance(a: At, b: At) -> i64 {
    let (dx, dy) = (i64::from(a[0] - b[0]), i64::from(a[1] - b[1]));
    (dx * dx + dy * dy).isqrt()
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
    let (dx, dy) = (i64::from(to[0] - from[0]), i64::from(to[1] - from[1]));
    let (px, py) = (i64::from(point[0] - from[0]), i64::from(point[1] - from[1]));
    let length = dx * dx + dy * dy;
    let along = dx * px + dy * py;
    if length == 0 || along <= 0 {
        return px * px + py * py < clear * clear;
    }
    if along >= length {
        return distance(to, point) < clear;
    }
    let across = dx * py - dy * px;
    across * across < clear * clear * length
}

/// Whether two leaders cross or touch, but for leaders that begin at the same point.
pub fn crosses(a: At, b: At, c: At, d: At) -> bool {
    let side = |p: At, q: At, r: At| {
        let turn = i64::from(q[0] - p[0]) * i64::from(r[1] - p[1]) - i64::from(q[1] - p[1]) * i64::from(r[0] - p[0]);
        turn.signum()
    };
    let within = |p: At, q: At, r: At| {
        (p[0].min(q[0])..=p[0].max(q[0])).contains(&r[0]) && (p[1].min(q[1])..=p[1].max(q[1])).contains(&r[1])
    };
    if a == c {
        // From one point: they part at once unless one lies along the other.
        return side(a, b, d) == 0
            && (i64::from(b[0] - a[0]) * i64::from(d[0] - a[0]) + i64::from(b[1] - a[1]) * i64::from(d[1] - a[1])) > 0;
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

/// Order around `middle`, clockwise, beginning at the left a little above the middle, so that what stands in the top left
/// corner is first.
fn clockwise(a: At, b: At, middle: At) -> std::cmp::Ordering {
    // Turned so that the direction (-2, -1) becomes straight up.
    let turned = |p: At| {
        let (x, y) = (i64::from(p[0] - middle[0]), i64::from(p[1] - middle[1]));
        (x - 2 * y, 2 * x + y)
    };
    let (pa, pb) = (turned(a), turned(b));
    // Right half first (from straight up, clockwise), then the left half.
    let half = |(x, y): (i64, i64)| u8::from(x < 0 || (x == 0 && y > 0));
    half(pa).cmp(&half(pb)).then_with(|| (pb.0 * pa.1 - pb.1 * pa.0).cmp(&0))
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
        for (n, ball) in placed.balls.iter().enumerate() {
            let [mx, my] = placed.margin;
            prop_assert!(ball.centre[0] >= reach - mx && ball.centre[0] <= width as i32 - reach + mx);
            prop_assert!(ball.centre[1] >= reach - my && ball.centre[1] <= height as i32 - reach + my);
            prop_assert!(mx <= rules.side);
            for other in &placed.balls[n + 1..] {
                let (from, to) = (targets[ball.target], targets[other.target]);
                prop_assert!(!crosses(from, ball.centre, to, other.centre), "leaders cross");
                prop_assert!(!near(from, ball.centre, other.centre, i64::from(reach)), "a leader runs over a number");
                prop_assert!(!near(to, other.centre, ball.centre, i64::from(reach)), "a leader runs over a number");
                prop_assert!(distance(ball.centre, other.centre) >= i64::from(rules.radius * 2), "balls overlap");
            }
        }
        Ok(())
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn leaders_never_cross_at_72_mm(targets in prop::collection::vec((0..576i32, 0..430i32), 1..=20)) {
            let targets: Vec<At> = targets.into_iter().map(|(x, y)| [x, y]).collect();
            check(576, 430, &targets, RULES)?;
        }

        #[test]
        fn leaders_never_cross_at_48_mm(targets in prop::collection::vec((0..384i32, 0..288i32), 1..=20)) {
            let targets: Vec<At> = targets.into_iter().map(|(x, y)| [x, y]).collect();
            check(384, 288, &targets, RULES)?;
        }

        #[test]
        fn a_crowd_in_one_corner_is_spread(targets in prop::collection::vec((0..60i32, 0..60i32), 1..=12)) {
            let targets: Vec<At> = targets.into_iter().map(|(x, y)| [x, y]).collect();
            check(384, 288, &targets, RULES)?;
        }
    }

    #[test]
    fn numbers_run_clockwise_from_the_top_left() {
        let targets = [[500, 400], [60, 60], [500, 60], [60, 400]];
        let placed = place(&Bitmap::new(576, 460), &targets, RULES);
        assert_eq!(placed.balls.iter().map(|ball| ball.target).collect::<Vec<_>>(), [1, 2, 0, 3]);
    }

    #[test]
    fn targets_that_nearly_touch_fan_out() {
        let targets = [[3, 4], [4, 4], [21, 28], [1, 20], [0, 0]];
        let placed = place(&Bitmap::new(384, 288), &targets, RULES);
        assert_eq!(placed.conflicts, 0, "{placed:?}");
    }

    #[test]
    fn white_ground_is_preferred() {
        let mut picture = Bitmap::new(400, 200);
        picture.fill(200, 0, 200, 200, true);
        let placed = place(&picture, &[[200, 100]], RULES);
        assert!(placed.balls[0].centre[0] < 200 - RULES.radius);
    }
}
