//! Orders as drivers know them: neighbour after neighbour, and lands.
//!
//! In both the lines come in a fixed sequence, and only the directions are free. A line in
//! several parts is worked from one end to the other. The directions are found exactly, by
//! dynamic programming along the sequence: after each line the least cost for each node that
//! the line may be left by.
//!
//! - **Neighbour**: line after line as numbered, from the first or from the last.
//! - **Lands**: the lines are shared out in blocks; a block of 2m lines is worked round, line
//!   1, m + 1, 2, m + 2 and so on, so that each turn spans m or m - 1 spacings. From one block
//!   to half as many blocks as lines are tried and the cheapest kept: narrow blocks need loops,
//!   wide ones long ways across, so the cost finds the width of two radii by itself.

use super::costs::{Costs, FORBIDDEN, Node};

/// Parts this near in offset are of one line, metres.
const SAME_LINE_M: f64 = 1e-3;

/// An order and its cost, tenths of a millimetre.
pub type Priced = (Vec<Node>, i64);

/// Line after line as numbered, from the side and with the directions that cost least;
/// `None` where that needs a link that cannot be driven.
#[must_use]
pub fn neighbour(costs: &Costs) -> Option<Priced> {
    let mut lines = lines_as_numbered(costs);
    let upwards = with_best_directions(costs, &lines);
    lines.reverse();
    cheaper(upwards, with_best_directions(costs, &lines))
}

/// Blocks worked round, of the number of blocks and with the directions that cost least;
/// `None` where each needs a link that cannot be driven.
#[must_use]
pub fn lands(costs: &Costs) -> Option<Priced> {
    let lines = lines_as_numbered(costs);
    let most = (lines.len() / 2).max(1);
    (1..=most)
        .flat_map(|blocks| {
            let mut sequence = in_lands(&lines, blocks);
            let upwards = with_best_directions(costs, &sequence);
            sequence.reverse();
            [upwards, with_best_directions(costs, &sequence)]
        })
        .fold(None, cheaper)
}

fn cheaper(one: Option<Priced>, other: Option<Priced>) -> Option<Priced> {
    match (one, other) {
        (Some(one), Some(other)) => Some(if other.1 < one.1 { other } else { one }),
        (one, other) => one.or(other),
    }
}

/// The lines: runs of parts of one offset, each with its parts in the order of their
/// position along.
fn lines_as_numbered(costs: &Costs) -> Vec<Vec<usize>> {
    let places = costs.places();
    let mut lines: Vec<Vec<usize>> = Vec::new();
    for (part, place) in places.iter().enumerate() {
        match lines.last_mut() {
            Some(line) if (places[line[0]].offset_m - place.offset_m).abs() < SAME_LINE_M => {
                line.push(part);
            }
            _ => lines.push(vec![part]),
        }
    }
    for line in &mut lines {
        line.sort_by(|&a, &b| places[a].position_m.total_cmp(&places[b].position_m));
    }
    lines
}

/// The lines block by block, each block worked round.
fn in_lands(lines: &[Vec<usize>], blocks: usize) -> Vec<Vec<usize>> {
    let mut sequence = Vec::with_capacity(lines.len());
    for block in 0..blocks {
        let share = |blocks_before: usize| lines.len() * blocks_before / blocks;
        let block = &lines[share(block)..share(block + 1)];
        let (first_half, second_half) = block.split_at(block.len().div_ceil(2));
        for (index, line) in first_half.iter().enumerate() {
            sequence.push(line.clone());
            sequence.extend(second_half.get(index).cloned());
        }
    }
    sequence
}

/// A way to have come so far: the node last driven, and where the way before it is noted.
#[derive(Clone, Copy)]
struct Arrival {
    node: Node,
    cost: i64,
    step: usize,
}

/// The directions that cost least for lines in this sequence, each worked from one end to
/// the other, either way.
fn with_best_directions(costs: &Costs, lines: &[Vec<usize>]) -> Option<Priced> {
    const FIRST: usize = usize::MAX;
    let mut steps: Vec<(Node, usize)> = Vec::new();
    let mut arrivals: Vec<Arrival> = Vec::new();
    let mut is_first = true;
    for line in lines {
        let mut next = Vec::with_capacity(4);
        let backwards: Vec<usize> = line.iter().rev().copied().collect();
        for parts in [line.as_slice(), backwards.as_slice()] {
            let mut here = arrivals.clone();
            let mut is_start = is_first;
            for &part in parts {
                let mut there = Vec::with_capacity(2);
                for node in [2 * part, 2 * part + 1] {
                    let best = if is_start {
                        Some((costs.start(node), FIRST))
                    } else {
                        let ways = here
                            .iter()
                            .map(|from| (from.cost + costs.cost(from.node, node), from.step));
                        ways.min()
                    };
                    if let Some((cost, from)) = best.filter(|best| best.0 < FORBIDDEN) {
                        steps.push((node, from));
                        let step = steps.len() - 1;
                        there.push(Arrival { node, cost, step });
                    }
                }
                is_start = false;
                here = there;
            }
            next.extend(here);
            if line.len() == 1 {
                break;
            }
        }
        is_first = false;
        arrivals = next;
    }
    let last = arrivals
        .iter()
        .map(|last| (last.cost + costs.end(last.node), last.step))
        .min();
    let Some((cost, mut step)) = last else {
        return lines.is_empty().then(|| (Vec::new(), 0));
    };
    if cost >= FORBIDDEN {
        return None;
    }
    let mut order = Vec::with_capacity(costs.parts());
    while step != FIRST {
        order.push(steps[step].0);
        step = steps[step].1;
    }
    order.reverse();
    Some((order, cost))
}
