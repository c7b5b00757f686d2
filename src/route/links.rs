//! The table of links of one direction, worked out only where it is asked for.
//!
//! Every link has a cost that nothing can be cheaper than, the shortest path where no wall
//! counts ([`super::bound`]), and that is all that most links ever need. Where the shortest
//! path is free of walls and costs just that, the link is known without a search. The others
//! are worked out ([`super::turn`]) when an order uses them; until then their cost is guessed
//! from links alike: near the same sides, driven the same ways, as many lines apart.

use std::collections::{BTreeMap, BTreeSet};

use geo::{BoundingRect, Rect};
use rayon::prelude::*;

use super::alike::{Class, Lie, Ratio, Sides};
use super::bound;
use super::dubins;
use super::machine::Machine;
use super::order::{Costs, FORBIDDEN, Node, Place};
use super::path::{self, Path, Piece};
use super::pose::Pose;
use super::reeds_shepp;
use super::runs::Run;
use super::terrain::Terrain;
use super::turn::{End, Turn, Weights, best_turn};

/// Tenths of a millimetre in a metre.
const PER_M: f64 = 1e4;

/// Lines further apart than this are all alike.
const FAR_LINES: usize = 12;

/// Ends of links that lie alike meet within this, metres and radians: less than what joins two
/// legs as written.
const LIKE_M: f64 = 1e-6;
const LIKE_RAD: f64 = 1e-8;

/// Of so many links that lie alike one is worked out beforehand.
const LEAST_ALIKE: usize = 3;

/// A cost in whole tenths of a millimetre, rounded down.
#[must_use]
#[expect(clippy::cast_possible_truncation, reason = "saturates")]
pub fn tenths(cost_m: f64) -> i64 {
    (cost_m * PER_M).floor() as i64
}

/// A cost in metres.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "far below 2^53")]
pub fn metres(cost: i64) -> f64 {
    cost as f64 / PER_M
}

/// From one node to another.
pub type Link = (Node, Node);

/// What drives where, at which cost.
#[derive(Debug, Clone, Copy)]
pub struct Drive<'a> {
    /// The machine.
    pub machine: &'a Machine,
    /// The ground.
    pub terrain: &'a Terrain,
    /// What a metre and a change of direction cost.
    pub weights: &'a Weights,
}

/// One end of a route: from where it comes in, or to where it goes out.
#[derive(Debug, Clone, PartialEq)]
pub enum Gate {
    /// Anywhere, at no cost.
    Free,
    /// At one of these poses, where no work begins or ends.
    At(Vec<Pose>),
    /// From the end of this run of another direction.
    After(Box<Run>),
}

/// The links of the parts of one direction.
#[derive(Debug)]
pub struct Links<'a> {
    drive: Drive<'a>,
    /// By node; `None` where a part cannot be driven that way.
    runs: Vec<Option<Run>>,
    /// By node: the side of the ground each end lies at.
    sides: Vec<Sides>,
    /// By part: which line it is on, counted.
    lines: Vec<usize>,
    /// What no link can be cheaper than.
    least: Costs,
    /// Links whose least cost is their cost.
    exact: BTreeSet<Link>,
    /// Links worked out; `None`: cannot be driven.
    known: BTreeMap<Link, Option<Turn>>,
    /// Ways in and out worked out.
    ways_in: BTreeMap<Node, Option<Turn>>,
    ways_out: BTreeMap<Node, Option<Turn>>,
    gates: (Gate, Gate),
}

impl<'a> Links<'a> {
    /// The links of parts at these places, both ways of each (`None`: cannot be driven that
    /// way), with the route's way in and out.
    #[must_use]
    pub fn new(
        drive: Drive<'a>,
        places: Vec<Place>,
        runs: Vec<Option<Run>>,
        gates: (Gate, Gate),
    ) -> Self {
        let rows: Vec<Vec<(i64, bool)>> = (0..runs.len())
            .into_par_iter()
            .map(|from| {
                let row = (0..runs.len()).map(|to| least_link(drive, &runs, from, to));
                row.collect()
            })
            .collect();
        let mut exact = BTreeSet::new();
        for (from, row) in rows.iter().enumerate() {
            let known = row
                .iter()
                .enumerate()
                .filter(|(_, (_, is_exact))| *is_exact);
            exact.extend(known.map(|(to, _)| (from, to)));
        }
        let lines = lines_of(&places);
        let mut least = Costs::by_rule(places, |from, to| rows[from][to].0);
        for (node, run) in runs.iter().enumerate() {
            if run.is_none() {
                least.set_start(node, FORBIDDEN);
                least.set_end(node, FORBIDDEN);
            }
        }
        let extent = drive.terrain.allowed().bounding_rect();
        let sides = runs
            .iter()
            .map(|run| sides_of(run.as_ref(), extent))
            .collect();
        let mut links = Self {
            drive,
            runs,
            sides,
            lines,
            least,
            exact,
            known: BTreeMap::new(),
            ways_in: BTreeMap::new(),
            ways_out: BTreeMap::new(),
            gates,
        };
        links.set_least_gates();
        links
    }

    /// A way in or out is at least as long as the straight.
    fn set_least_gates(&mut self) {
        for (node, run) in self.runs.iter().enumerate() {
            let Some(run) = run else { continue };
            let straight = |gate: &Gate, pose: Pose| match gate {
                Gate::Free => 0,
                Gate::At(poses) => self.drive.least_way(poses, pose),
                Gate::After(run) => self.drive.least_way(&[run.lifted], pose),
            };
            self.least
                .set_start(node, straight(&self.gates.0, run.lowered));
            self.least
                .set_end(node, straight(&self.gates.1, run.lifted));
        }
    }

    /// The run of a node.
    #[must_use]
    pub fn run(&self, node: Node) -> Option<&Run> {
        self.runs.get(node)?.as_ref()
    }

    /// The table of what is known; the rest at its least cost, so that a bound for it is one
    /// for the true costs.
    #[must_use]
    pub fn lowered(&self) -> Costs {
        let mut costs = self.least.clone();
        self.set_known(&mut costs);
        costs
    }

    /// The table of what is known; the rest guessed, and on the dear side: an order that can
    /// do with known links should.
    #[must_use]
    pub fn guessed(&self) -> Costs {
        /// So much dearer than links alike.
        const DEARER: f64 = 1.5;
        let mut costs = self.least.clone();
        let ratios = self.ratios();
        let all = Ratio::of(ratios.values());
        let nodes = self.runs.len();
        for from in 0..nodes {
            for to in 0..nodes {
                let least = costs.cost(from, to);
                if least < FORBIDDEN && !self.is_known((from, to)) {
                    let ratio = ratios.get(&self.class(from, to)).unwrap_or(&all);
                    costs.set(from, to, tenths(metres(least) * DEARER * ratio.mean()));
                }
            }
        }
        self.set_known(&mut costs);
        costs
    }

    fn set_known(&self, costs: &mut Costs) {
        let cost = |turn: &Option<Turn>| turn.as_ref().map_or(FORBIDDEN, |t| tenths(t.cost_m));
        for (&(from, to), turn) in &self.known {
            costs.set(from, to, cost(turn));
        }
        for (&node, turn) in &self.ways_in {
            costs.set_start(node, cost(turn));
        }
        for (&node, turn) in &self.ways_out {
            costs.set_end(node, cost(turn));
        }
    }

    /// Works out the links between near lines, as far as that is quick: of those whose ends
    /// lie alike the one nearest to the middle, and the others by driving the same where that
    /// is free.
    pub fn sample(&mut self) {
        let groups = self.alike();
        let firsts: Vec<Link> = groups.iter().map(|links| links[0]).collect();
        self.work_out(&firsts);
        let ways = self.ways_of(&firsts);
        let (drive, runs, known) = (self.drive, &self.runs, &self.known);
        let found: Vec<(Link, Turn)> = groups
            .par_iter()
            .flat_map_iter(|links| {
                let ways = &ways;
                links.iter().filter_map(move |&(from, to)| {
                    let (a, b) = (runs[from].as_ref()?, runs[to].as_ref()?);
                    let ways = ways.get(&Lie::of(a.lifted, b.lowered))?;
                    let turns = ways.iter().filter_map(|way| drive.like(a, b, way));
                    let own = known.get(&(from, to)).cloned().flatten();
                    let turns = own.into_iter().chain(turns);
                    let best = turns.reduce(|best, turn| {
                        if turn.cost_m < best.cost_m - 1e-9 {
                            turn
                        } else {
                            best
                        }
                    })?;
                    Some(((from, to), best))
                })
            })
            .collect();
        self.known
            .extend(found.into_iter().map(|(link, turn)| (link, Some(turn))));
    }

    /// Unknown links between near lines, in groups whose ends lie alike at the same sides, the
    /// one nearest to the middle first.
    fn alike(&self) -> Vec<Vec<Link>> {
        let mut alike: BTreeMap<(Lie, Sides), Vec<Link>> = BTreeMap::new();
        let middle = self.runs.len() / 2;
        for from in 0..self.runs.len() {
            for to in 0..self.runs.len() {
                if self.is_known((from, to)) || self.least.cost(from, to) >= FORBIDDEN {
                    continue;
                }
                let class = self.class(from, to);
                if let (Some(a), Some(b)) = (&self.runs[from], &self.runs[to])
                    && class.apart < FAR_LINES
                {
                    let key = (Lie::of(a.lifted, b.lowered), (class.from.0, class.to.0));
                    alike.entry(key).or_default().push((from, to));
                }
            }
        }
        let groups = alike.into_values();
        groups
            .filter(|links| links.len() >= LEAST_ALIKE)
            .map(|mut links| {
                links.sort_by_key(|(from, _)| (from.abs_diff(middle), *from));
                links
            })
            .collect()
    }

    /// How links are driven, by how their ends lie: what was found at one side may be driven at
    /// another, and in the mirror.
    fn ways_of(&self, links: &[Link]) -> BTreeMap<Lie, Vec<Vec<Piece>>> {
        let mut ways: BTreeMap<Lie, Vec<Vec<Piece>>> = BTreeMap::new();
        let radii = self.drive.machine.radii;
        for &(from, to) in links {
            let turn = self.known.get(&(from, to)).and_then(Option::as_ref);
            let (Some(turn), Some(a), Some(b)) = (turn, &self.runs[from], &self.runs[to]) else {
                continue;
            };
            let lie = Lie::of(a.lifted, b.lowered);
            let pieces = turn.path.pieces.clone();
            if radii.left_m == radii.right_m {
                let mirrored = pieces.iter().map(|piece| Piece {
                    bend: piece.bend.other(),
                    ..*piece
                });
                let mirrored = mirrored.collect();
                ways.entry(lie.mirrored()).or_default().push(mirrored);
            }
            ways.entry(lie).or_default().push(pieces);
        }
        ways
    }

    /// The links of an order that are not known yet.
    #[must_use]
    pub fn unknown_of(&self, order: &[Node]) -> Vec<Link> {
        let pairs = order.windows(2).map(|pair| (pair[0], pair[1]));
        pairs.filter(|link| !self.is_known(*link)).collect()
    }

    /// Whether the cost of a link is known.
    #[must_use]
    pub fn is_known(&self, link: Link) -> bool {
        self.exact.contains(&link) || self.known.contains_key(&link)
    }

    /// Works out links, on all cores; which core takes which changes nothing.
    pub fn work_out(&mut self, links: &[Link]) {
        let (drive, runs) = (self.drive, &self.runs);
        let turns: Vec<Option<Turn>> = links
            .par_iter()
            .map(|&(from, to)| {
                let (from, to) = (runs[from].as_ref()?, runs[to].as_ref()?);
                turn_between(drive, from, to)
            })
            .collect();
        self.known.extend(links.iter().copied().zip(turns));
    }

    /// Works out the ways in to a node and out of another; says whether anything was new.
    pub fn work_out_gates(&mut self, first: Node, last: Node) -> bool {
        let mut is_new = false;
        if self.gates.0 != Gate::Free && !self.ways_in.contains_key(&first) {
            let drive = self.drive;
            let way = self.runs[first].as_ref().and_then(|run| {
                let to = coming_in(run);
                match &self.gates.0 {
                    Gate::Free => None,
                    Gate::After(before) => drive.turn(&leaving(before), &to),
                    Gate::At(poses) => {
                        let ends = poses
                            .iter()
                            .map(|&pose| (drive.wall_free_m(&gate(pose), &to), pose));
                        cheapest_of(ends.collect(), |pose| drive.turn(&gate(pose), &to))
                    }
                }
            });
            self.ways_in.insert(first, way);
            is_new = true;
        }
        if let (Gate::At(poses), false) = (&self.gates.1, self.ways_out.contains_key(&last)) {
            let drive = self.drive;
            let way = self.runs[last].as_ref().and_then(|run| {
                let from = leaving(run);
                let ends = poses
                    .iter()
                    .map(|&pose| (drive.wall_free_m(&from, &gate(pose)), pose));
                cheapest_of(ends.collect(), |pose| drive.turn(&from, &gate(pose)))
            });
            self.ways_out.insert(last, way);
            is_new = true;
        }
        is_new
    }

    /// Works out the ways in and out of an order.
    pub fn work_out_gates_of(&mut self, order: &[Node]) {
        if let (Some(&first), Some(&last)) = (order.first(), order.last()) {
            self.work_out_gates(first, last);
        }
    }

    /// The turn of a link, the way in to a node, the way out of one; `None` where there is
    /// none or it was not worked out.
    #[must_use]
    pub fn turn(&self, from: Node, to: Node) -> Option<Turn> {
        match self.known.get(&(from, to)) {
            Some(turn) => turn.clone(),
            None => {
                let (from, to) = (self.run(from)?, self.run(to)?);
                self.drive.direct(&leaving(from), &coming_in(to))
            }
        }
    }

    /// The way in to a node; `None` where it may begin anywhere.
    #[must_use]
    pub fn way_in(&self, node: Node) -> Option<Turn> {
        self.ways_in.get(&node)?.clone()
    }

    /// The way out of a node; `None` where it may end anywhere.
    #[must_use]
    pub fn way_out(&self, node: Node) -> Option<Turn> {
        self.ways_out.get(&node)?.clone()
    }

    fn class(&self, from: Node, to: Node) -> Class {
        let apart = self.lines[from / 2].abs_diff(self.lines[to / 2]);
        let is_up = self.lines[to / 2] > self.lines[from / 2];
        Class {
            from: (self.sides[from].1, from % 2 == 1),
            to: (self.sides[to].0, to % 2 == 1),
            apart: apart.min(FAR_LINES),
            is_up,
        }
    }

    fn ratios(&self) -> BTreeMap<Class, Ratio> {
        let mut ratios: BTreeMap<Class, Ratio> = BTreeMap::new();
        for (&(from, to), turn) in &self.known {
            let (Some(turn), least) = (turn, self.least.cost(from, to)) else {
                continue;
            };
            if least > 0 && least < FORBIDDEN {
                let ratio = ratios.entry(self.class(from, to)).or_default();
                ratio.sum += turn.cost_m / metres(least);
                ratio.count += 1.0;
            }
        }
        ratios
    }
}

/// What a link costs at least, and whether that is its cost: where the shortest path is free
/// of walls and costs no more.
fn least_link(drive: Drive<'_>, runs: &[Option<Run>], from: Node, to: Node) -> (i64, bool) {
    let (Some(a), Some(b)) = (&runs[from], &runs[to]) else {
        return (FORBIDDEN, false);
    };
    if from / 2 == to / 2 {
        return (FORBIDDEN, false);
    }
    let (from, to) = (leaving(a), coming_in(b));
    let least_m = bound::least_cost_m(&from, &to, drive.machine, drive.terrain, drive.weights);
    let is_exact = drive
        .direct(&from, &to)
        .is_some_and(|turn| turn.cost_m <= least_m + 1e-9);
    (tenths(least_m), is_exact)
}

fn turn_between(drive: Drive<'_>, from: &Run, to: &Run) -> Option<Turn> {
    drive.turn(&leaving(from), &coming_in(to))
}

fn leaving(run: &Run) -> End<'_> {
    End {
        pose: run.lifted,
        way: Some(&run.way_out.path),
        of_work: true,
    }
}

fn coming_in(run: &Run) -> End<'_> {
    End {
        pose: run.lowered,
        way: Some(&run.way_in.path),
        of_work: true,
    }
}

/// A pose at which no work begins or ends.
const fn gate(pose: Pose) -> End<'static> {
    End {
        pose,
        way: None,
        of_work: false,
    }
}

impl Drive<'_> {
    /// What a way between any of some poses and another costs at least: the straight, all of
    /// it on the pitch where that is the cheaper.
    #[must_use]
    pub fn least_way(self, poses: &[Pose], other: Pose) -> i64 {
        let ways_m = poses.iter().map(|pose| pose.distance_m(other));
        let least_m = ways_m.fold(f64::INFINITY, f64::min);
        tenths(least_m * self.weights.on_pitch.min(1.0))
    }

    fn wall_free_m(self, from: &End<'_>, to: &End<'_>) -> f64 {
        bound::wall_free_m(from, to, self.machine, self.weights.change_m)
    }

    /// The cheapest turn between two ends.
    fn turn(self, from: &End<'_>, to: &End<'_>) -> Option<Turn> {
        best_turn(from, to, self.machine, self.terrain, self.weights)
    }

    /// The shortest path between two ends where it stays on allowed ground.
    fn direct(self, from: &End<'_>, to: &End<'_>) -> Option<Turn> {
        let machine = self.machine;
        let word = if machine.can_reverse {
            let changes = reeds_shepp::Changes {
                each_m: self.weights.change_m,
                forwards_before: from.of_work,
                forwards_after: to.of_work,
            };
            reeds_shepp::cheapest(from.pose, to.pose, machine.radii, &changes)
        } else {
            dubins::shortest(from.pose, to.pose, machine.radii)
        };
        self.priced(from, to, &word)
    }

    /// Pieces driven from one end to another, where they stay on allowed ground.
    fn priced(self, from: &End<'_>, to: &End<'_>, pieces: &[Piece]) -> Option<Turn> {
        let machine = self.machine;
        if !self.terrain.allows(machine, from.pose, pieces) {
            return None;
        }
        let length_m: f64 = pieces.iter().map(|piece| piece.length_m).sum();
        let on_pitch_m = self.terrain.on_pitch_m(machine.radii, from.pose, pieces);
        let changes = path::changes(pieces, from.of_work, to.of_work);
        let cost_m = length_m
            + (self.weights.on_pitch - 1.0) * on_pitch_m
            + self.weights.change_m * changes as f64;
        Some(Turn {
            path: Path::new(from.pose, machine.radii, pieces.iter().copied()),
            cost_m,
            length_m,
            on_pitch_m,
            changes,
        })
    }

    /// The turn of a link that lies to its ends as another does: the same pieces driven from
    /// here, where they end at the other end and stay on allowed ground.
    fn like(self, from: &Run, to: &Run, pieces: &[Piece]) -> Option<Turn> {
        let (from, to) = (leaving(from), coming_in(to));
        let turn = self.priced(&from, &to, pieces)?;
        let end = turn.path.end();
        let is_there =
            end.distance_m(to.pose) < LIKE_M && end.heading_difference_rad(to.pose) < LIKE_RAD;
        is_there.then_some(turn)
    }
}

/// The cheapest of the turns that are the shortest where no wall counts; a few are tried.
fn cheapest_of(mut ends: Vec<(f64, Pose)>, turn: impl Fn(Pose) -> Option<Turn>) -> Option<Turn> {
    const TRIED: usize = 4;
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let turns = ends.iter().filter_map(|(_, pose)| turn(*pose)).take(TRIED);
    turns.reduce(|best, turn| {
        if turn.cost_m < best.cost_m {
            turn
        } else {
            best
        }
    })
}

/// Counted lines: parts of one offset are on one.
fn lines_of(places: &[Place]) -> Vec<usize> {
    let mut offsets: Vec<f64> = places.iter().map(|place| place.offset_m).collect();
    offsets.sort_by(f64::total_cmp);
    offsets.dedup_by(|a, b| (*a - *b).abs() < 1e-3);
    let line = |place: &Place| offsets.partition_point(|offset| *offset < place.offset_m - 5e-4);
    places.iter().map(line).collect()
}

/// The sides of the ground's box that the two ends of a run are nearest to: 0 to 3.
fn sides_of(run: Option<&Run>, extent: Option<Rect<f64>>) -> Sides {
    let (Some(run), Some(extent)) = (run, extent) else {
        return (0, 0);
    };
    let side = |pose: Pose| {
        let (low, high, at) = (extent.min(), extent.max(), pose.at);
        let off_m = [at.x - low.x, high.x - at.x, at.y - low.y, high.y - at.y];
        let nearest =
            (0_u8..4).min_by(|&a, &b| off_m[usize::from(a)].total_cmp(&off_m[usize::from(b)]));
        nearest.unwrap_or(0)
    };
    (side(run.lowered), side(run.lifted))
}
