//! What an open end must still pay at least: its cheapest link to a part yet to come.
//!
//! For each node and each set of multipliers the cheapest links out of it and into it are
//! kept in a short sorted list; as the sweep goes on, those to parts already passed are left
//! behind. Where the list is used up, the dearest in it is still a valid least.

use super::profile::NEVER;
use super::reduced::{PerSet, Reduced, SETS};
use super::table::NO_LINK;

/// Links kept for each node, way and set.
const LISTED: usize = 24;

/// The dues of all nodes, at one place of the sweep.
pub(super) struct Dues {
    /// By node, then way (out, into), then set.
    lists: Vec<List>,
    now: Vec<[PerSet<i64>; 2]>,
}

#[derive(Default, Clone)]
struct List {
    links: Vec<(i32, u32)>,
    passed: usize,
    is_whole: bool,
}

impl Dues {
    /// The dues before the first part; `place` is the place of each part in the sweep.
    pub(super) fn of(reduced: &Reduced, parts: usize, place: &[usize]) -> Self {
        let nodes = 2 * parts + 1;
        let mut lists = Vec::with_capacity(nodes * 2 * SETS);
        let mut links: Vec<(i32, u32)> = Vec::with_capacity(nodes);
        for node in 0..nodes {
            for is_out in [true, false] {
                for set in 0..SETS {
                    links.clear();
                    for other in 0..2 * parts {
                        let left = if is_out {
                            reduced.left(node, other)
                        } else {
                            reduced.left(other, node)
                        };
                        if left[set] != NO_LINK {
                            links.push((left[set], place[other / 2] as u32));
                        }
                    }
                    let is_whole = links.len() <= LISTED;
                    if !is_whole {
                        links.select_nth_unstable(LISTED - 1);
                        links.truncate(LISTED);
                    }
                    links.sort_unstable();
                    lists.push(List {
                        links: links.clone(),
                        passed: 0,
                        is_whole,
                    });
                }
            }
        }
        Self {
            lists,
            now: vec![[[NEVER; SETS]; 2]; nodes],
        }
    }

    /// Moves on: only parts after this place are yet to come.
    pub(super) fn pass(&mut self, place: usize) {
        for (index, list) in self.lists.iter_mut().enumerate() {
            while list
                .links
                .get(list.passed)
                .is_some_and(|link| link.1 as usize <= place)
            {
                list.passed += 1;
            }
            let due = match list.links.get(list.passed) {
                Some(link) => i64::from(link.0),
                None if list.is_whole => NEVER,
                None => list.links.last().map_or(NEVER, |last| i64::from(last.0)),
            };
            let (node, way, set) = (index / (2 * SETS), index / SETS % 2, index % SETS);
            self.now[node][way][set] = due;
        }
    }

    /// The least for a link out of a node to a part yet to come.
    pub(super) fn outward(&self, node: usize) -> PerSet<i64> {
        self.now[node][0]
    }

    /// The least for a link into a node from a part yet to come.
    pub(super) fn inward(&self, node: usize) -> PerSet<i64> {
        self.now[node][1]
    }
}
