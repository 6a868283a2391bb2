//! Where the lines of a paragraph end: the set of breaks with the least total demerits over the whole paragraph (Knuth and
//! Plass 1981, "Breaking paragraphs into lines").
//!
//! Knows no text: only where a line may end and how wide it would be. Whole numbers throughout.

/// A place where a line may end. Positions are dots along the paragraph set as one endless line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Candidate {
    /// Where a line that ends here has its last dot, a hyphen included.
    pub end: i32,
    /// Where a line begins that follows a break here.
    pub start: i32,
    /// Width of all spaces that may give, from the paragraph's begin to here, in 1/64 dot: as a line's end, as a line's start.
    pub give_end: i32,
    pub give_start: i32,
    pub penalty: i32,
    /// Ends with a hyphen.
    pub hyphen: bool,
    /// A line must not begin and end at two places that carry the same mark (other than 0).
    pub same: u32,
}

/// What a good paragraph is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Rules {
    pub first: i32,
    pub width: i32,
    pub justified: bool,
    /// Ragged: how much white at a line's end counts as badness 100, in dots.
    pub rag: i32,
    /// A last line shorter than this is a runt, in dots.
    pub runt: i32,
    pub hyphens: bool,
}

/// Badness no line exceeds (The TeXbook, ch. 14).
pub(super) const WORST: i64 = 10_000;
/// Added to every line's badness, so that fewer lines are better.
const LINE: i64 = 10;
/// Two lines in a row that end with a hyphen.
const HYPHENS_IN_A_ROW: i64 = 10_000;
/// The last line but one ends with a hyphen.
const HYPHEN_BEFORE_THE_END: i64 = 40_000;
/// Neighbouring lines whose spaces differ by more than one class of tightness.
const UNEVEN: i64 = 10_000;
/// The last line is a runt.
const RUNT: i64 = 4_000;
/// A line wider than its measure, where nothing else can be done.
const OVERFULL: i64 = 1_000_000_000;

/// 100 (amount / give)^3, capped (The TeXbook, ch. 14; Knuth and Plass 1981).
pub(super) fn badness(amount: i64, give: i64) -> i64 {
    if amount <= 0 {
        return 0;
    }
    if give <= 0 || amount >= give.saturating_mul(5) {
        return WORST;
    }
    let (amount, give) = (i128::from(amount), i128::from(give));
    ((100 * amount * amount * amount / (give * give * give)) as i64).min(WORST)
}

/// How tight the spaces of a line are (The TeXbook, ch. 14: tight, decent, loose, very loose).
type Fitness = u8;
const DECENT: Fitness = 1;

/// Badness and tightness of one line, `None` when it does not fit. All lengths in 1/64 dot.
fn judge(slack: i64, give: i64, last: bool, rules: &Rules) -> Option<(i64, Fitness)> {
    if !rules.justified {
        if slack < 0 {
            return None;
        }
        let bad = if last { 0 } else { badness(slack, i64::from(rules.rag) * 64) };
        return Some((bad, DECENT));
    }
    if slack < 0 {
        if -slack > give / 3 {
            return None;
        }
        let bad = badness(-slack, give / 3);
        return Some((bad, if bad > 12 { 0 } else { DECENT }));
    }
    if last {
        return Some((0, DECENT));
    }
    let bad = badness(slack, give / 2);
    Some((
        bad,
        if bad > 99 {
            3
        } else if bad > 12 {
            2
        } else {
            DECENT
        },
    ))
}

#[derive(Clone, Copy)]
struct Node {
    /// The candidate it breaks at, or `None` for the paragraph's begin.
    at: Option<usize>,
    before: usize,
    fitness: Fitness,
    hyphen: bool,
    demerits: i64,
}

/// The best breaks, ascending; the last candidate is the paragraph's end and always among them. The worst badness of a line
/// but the last comes along.
pub(super) fn breaks(candidates: &[Candidate], rules: &Rules) -> (Vec<usize>, i64) {
    let mut nodes = vec![Node { at: None, before: usize::MAX, fitness: DECENT, hyphen: false, demerits: 0 }];
    let mut active = vec![0usize];
    let mut dropped: Option<usize> = None;
    for (index, candidate) in candidates.iter().enumerate() {
        let last = index + 1 == candidates.len();
        if candidate.hyphen && !rules.hyphens {
            continue;
        }
        let mut best: [Option<Node>; 4] = [None; 4];
        active.retain(|&node| {
            let from = nodes[node];
            let Some((slack, give, same)) = span(candidates, from.at, candidate, rules) else {
                return true;
            };
            match judge(slack, give, last, rules) {
                Some(_) if same => true,
                Some((bad, fitness)) => {
                    let demerits = from.demerits + demerits(bad, candidate, &from, fitness, last, slack, rules);
                    let place = &mut best[usize::from(fitness)];
                    if place.is_none_or(|known| demerits < known.demerits) {
                        *place = Some(Node { at: Some(index), before: node, fitness, hyphen: candidate.hyphen, demerits });
                    }
                    true
                }
                None => {
                    dropped = Some(node);
                    false
                }
            }
        });
        if active.is_empty()
            && best.iter().all(Option::is_none)
            && let Some(node) = dropped
        {
            // What cannot fit is set all the same, as little of it as possible.
            best[usize::from(DECENT)] = Some(Node {
                at: Some(index),
                before: node,
                fitness: DECENT,
                hyphen: candidate.hyphen,
                demerits: nodes[node].demerits + OVERFULL,
            });
        }
        if last {
            let winner = best.iter().flatten().min_by_key(|node| node.demerits).copied();
            return trace(&nodes, winner, candidates, rules);
        }
        for node in best.into_iter().flatten() {
            active.push(nodes.len());
            nodes.push(node);
        }
    }
    (Vec::new(), 0)
}

/// Slack and give of the line between two breaks in 1/64 dot, and whether it lies within one mark.
fn span(candidates: &[Candidate], from: Option<usize>, to: &Candidate, rules: &Rules) -> Option<(i64, i64, bool)> {
    let (start, give, same, measure) = match from {
        None => (0, 0, 0, rules.first),
        Some(at) => {
            let from = candidates.get(at)?;
            (from.start, from.give_start, from.same, rules.width)
        }
    };
    let slack = i64::from(measure) - i64::from(to.end - start);
    Some((slack * 64, i64::from(to.give_end - give).max(0), same != 0 && same == to.same))
}

fn demerits(bad: i64, to: &Candidate, from: &Node, fitness: Fitness, last: bool, slack: i64, rules: &Rules) -> i64 {
    let mut sum = (LINE + bad) * (LINE + bad) + i64::from(to.penalty) * i64::from(to.penalty);
    if to.hyphen && from.hyphen {
        sum += HYPHENS_IN_A_ROW;
    }
    if last && from.hyphen {
        sum += HYPHEN_BEFORE_THE_END;
    }
    if fitness.abs_diff(from.fitness) > 1 {
        sum += UNEVEN;
    }
    if last && from.at.is_some() && i64::from(rules.width) - slack / 64 < i64::from(rules.runt) {
        sum += RUNT;
    }
    sum
}

/// The breaks that lead to `winner`, and the worst badness among its lines but the last.
fn trace(nodes: &[Node], winner: Option<Node>, candidates: &[Candidate], rules: &Rules) -> (Vec<usize>, i64) {
    let mut breaks = Vec::new();
    let mut worst = 0;
    let mut node = winner;
    while let Some(Node { at: Some(at), before, .. }) = node {
        let from = nodes.get(before).copied();
        if !breaks.is_empty()
            && let Some((slack, give, _)) = span(candidates, from.and_then(|from| from.at), &candidates[at], rules)
        {
            worst = worst.max(judge(slack, give, false, rules).map_or(WORST, |(bad, _)| bad));
        }
        breaks.push(at);
        node = from;
    }
    breaks.reverse();
    (breaks, worst)
}
