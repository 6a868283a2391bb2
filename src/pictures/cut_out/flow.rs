//! The minimum cut of a grid (Dinic 1970), in whole numbers.

/// The minimum cut: `true` on the side of the source. A cell's `pull` above 0 comes from the source, below 0 goes to the sink.
pub fn cut(next_to: impl Fn(usize, usize) -> Option<usize>, mut links: Vec<[i64; 8]>, mut pull: Vec<i64>) -> Vec<bool> {
    let count = pull.len();
    let mut level = vec![u32::MAX; count];
    let mut arc = vec![0u8; count];
    let mut queue: Vec<usize> = Vec::with_capacity(count);
    loop {
        level.fill(u32::MAX);
        queue.clear();
        queue.extend((0..count).filter(|&at| pull[at] > 0));
        queue.iter().for_each(|&at| level[at] = 0);
        let mut reached = false;
        let mut head = 0;
        while head < queue.len() {
            let at = queue[head];
            head += 1;
            reached |= pull[at] < 0;
            for (n, &link) in links[at].iter().enumerate() {
                if link > 0
                    && let Some(next) = next_to(at, n)
                    && level[next] == u32::MAX
                {
                    level[next] = level[at] + 1;
                    queue.push(next);
                }
            }
        }
        if !reached {
            return level.iter().map(|&level| level != u32::MAX).collect();
        }
        arc.fill(0);
        for source in 0..count {
            while pull[source] > 0 {
                // A way down the levels to a cell that the sink takes from.
                let mut way: Vec<(usize, usize)> = Vec::new();
                let mut at = source;
                let found = loop {
                    if pull[at] < 0 {
                        break true;
                    }
                    let mut moved = false;
                    while arc[at] < 8 {
                        let n = usize::from(arc[at]);
                        if links[at][n] > 0
                            && let Some(next) = next_to(at, n)
                            && level[next] == level[at] + 1
                        {
                            way.push((at, n));
                            at = next;
                            moved = true;
                            break;
                        }
                        arc[at] += 1;
                    }
                    if moved {
                        continue;
                    }
                    let Some((before, _)) = way.pop() else { break false };
                    arc[before] += 1;
                    at = before;
                };
                if !found {
                    break;
                }
                let most = way.iter().map(|&(at, n)| links[at][n]).min().unwrap_or(i64::MAX).min(pull[source]).min(-pull[at]);
                pull[source] -= most;
                pull[at] += most;
                for &(from, n) in &way {
                    links[from][n] -= most;
                    if let Some(to) = next_to(from, n) {
                        links[to][7 - n] += most;
                    }
                }
            }
        }
    }
}
