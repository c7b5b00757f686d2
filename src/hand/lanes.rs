//! Mending in lanes after a match: who walks where, how long it takes, what has to wait.
//!
//! The ground is cut across the lanes into one share a person, side by side, all with the same
//! load: the same area, or the same expected damage (area times wear class, since worn ground
//! tears more). Each share is cut into lanes no wider than asked, which its person walks to and
//! fro. Time goes by load. Where minutes are short, each person takes the lanes first that hold
//! most for their area; what does not fit waits for another day, or altogether.

use geo::{BoundingRect, LineString, MapCoords, MultiPolygon, Polygon};

use super::lattice::Axes;
use crate::job::model::LaneWork;
use crate::region;
use crate::space::Xy;

/// Cuts are as exact as this, metres.
const CUT_M: f64 = 1e-12;

/// Lanes with less ground are rounding, square metres.
const LEAST_LANE_M2: f64 = 1e-6;

/// Lengths in lane widths are taken as whole where they are nearer than this.
const WHOLE: f64 = 1e-9;

/// Minutes are not short by less than this share of themselves.
const IN_TIME: f64 = 1e-9;

/// A minute in seconds.
const MINUTE_S: f64 = 60.0;

/// Ground with a load on each square metre.
#[derive(Debug, Clone)]
pub(super) struct Loaded {
    pub shape: MultiPolygon<f64>,
    pub per_m2: f64,
}

/// The plan of one mending.
#[derive(Debug, Clone, PartialEq)]
pub struct LanePlan {
    /// The zone word.
    pub zone: String,
    /// The ground: the zone less the obstacles, no-go places and goals themselves.
    pub ground: MultiPolygon<f64>,
    /// Its area, square metres.
    pub area_m2: f64,
    /// The lanes from left to right as seen by who sets out.
    pub lanes: Vec<Lane>,
    /// Seconds that the people take for all lanes.
    pub time_s: f64,
    /// Area of the lanes that fit no day, square metres.
    pub waits_m2: f64,
    /// Days that something is done on.
    pub days: u32,
}

/// One lane.
#[derive(Debug, Clone, PartialEq)]
pub struct Lane {
    /// Its number, from 1.
    pub number: usize,
    /// The person who walks it, from 1.
    pub person: u32,
    /// Its ground, pitch metres.
    pub shape: MultiPolygon<f64>,
    /// Its area, square metres, measured from `shape`.
    pub area_m2: f64,
    /// Its share of the load of all lanes, 0 to 1.
    pub load_share: f64,
    /// Seconds that it takes its person.
    pub time_s: f64,
    /// The day on which it is walked, from 1; `None`: it waits.
    pub day: Option<u32>,
    /// Where its person sets out on it, pitch metres.
    pub from: Xy,
    /// Where its person leaves it.
    pub to: Xy,
}

/// Plans a mending on ground; `loads` are disjoint and make up the ground.
pub(super) fn plan(
    work: &LaneWork,
    ground: MultiPolygon<f64>,
    loads: &[Loaded],
    axes: Axes,
    people: u32,
) -> LanePlan {
    let people = people.max(1);
    let area_m2 = region::area_m2(&ground);
    let load = Load::of(loads, axes);
    let shares = load.shares(people);
    let persons = (1..).zip(shares.windows(2));
    let cut = persons.flat_map(|(person, ends)| share_lanes(work, &ground, &load, (person, ends)));
    let mut lanes: Vec<Lane> = cut.filter(|lane| lane.area_m2 >= LEAST_LANE_M2).collect();
    let person_s = area_m2 / work.m2_per_person_h * 3600.0;
    for (index, lane) in lanes.iter_mut().enumerate() {
        lane.number = index + 1;
        lane.time_s = lane.load_share * person_s;
    }
    for person in 1..=people {
        let own = |lane: &&mut Lane| lane.person == person;
        let mut own: Vec<&mut Lane> = lanes.iter_mut().filter(own).collect();
        spread(work, &mut own);
        walk(&mut own);
    }
    let waiting = lanes.iter().filter(|lane| lane.day.is_none());
    LanePlan {
        zone: work.zone.clone(),
        ground,
        area_m2,
        time_s: person_s / f64::from(people),
        // Begun at 0: the sum of none is -0 otherwise.
        waits_m2: waiting.fold(0.0, |sum, lane| sum + lane.area_m2),
        days: lanes.iter().filter_map(|lane| lane.day).max().unwrap_or(0),
        lanes,
    }
}

/// The lanes of one person's share, not numbered or timed yet.
fn share_lanes(
    work: &LaneWork,
    ground: &MultiPolygon<f64>,
    load: &Load,
    (person, ends): (u32, &[f64]),
) -> Vec<Lane> {
    let (low, high) = load.reach(ends[0], ends[1]);
    let count = lane_count(high - low, work.width_m);
    let side = |index: u32| low + (high - low) * f64::from(index) / f64::from(count);
    let lane = |index: u32| {
        // The outer sides are the share's own, so that no hair is left between shares.
        let left = if index == 0 { ends[0] } else { side(index) };
        let right = if index + 1 == count {
            ends[1]
        } else {
            side(index + 1)
        };
        let strip = load.strip(left, right);
        let shape = region::intersection(ground, &MultiPolygon(vec![strip]));
        let area_m2 = region::area_m2(&shape);
        let (from, to) = load.line_through(&shape);
        Lane {
            number: 0,
            person,
            shape,
            area_m2,
            load_share: load.share_of(left, right),
            time_s: 0.0,
            day: Some(1),
            from,
            to,
        }
    };
    (0..count).map(lane).collect()
}

/// How many lanes of at most this width fill a breadth: one at least.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped: whole, at least 1
fn lane_count(breadth_m: f64, width_m: f64) -> u32 {
    (breadth_m / width_m - WHOLE).ceil().clamp(1.0, 1e5) as u32
}

/// Gives each lane of a person its day: those that hold most for their area first.
fn spread(work: &LaneWork, lanes: &mut [&mut Lane]) {
    let all_s: f64 = lanes.iter().map(|lane| lane.time_s).sum();
    let days = work.days.max(1);
    let a_day_s = work
        .minutes
        .map_or(all_s / f64::from(days), |minutes| minutes * MINUTE_S);
    let mut order: Vec<usize> = (0..lanes.len()).collect();
    let density = |lane: &Lane| lane.load_share / lane.area_m2;
    let densest = lanes.iter().map(|lane| density(lane)).fold(0.0, f64::max);
    // What differs by rounding only is alike, and goes by its number.
    let millionths = |lane: &Lane| (density(lane) / densest * 1e6).round();
    order.sort_by(|&a, &b| millionths(lanes[b]).total_cmp(&millionths(lanes[a])));
    let mut used = vec![0.0_f64; days as usize];
    let last = used.len() - 1;
    for index in order {
        let lane = &mut lanes[index];
        let fits = |used_s: f64| used_s + lane.time_s <= a_day_s * (1.0 + IN_TIME);
        let day = match used.iter().position(|&used_s| fits(used_s)) {
            Some(day) => Some(day),
            // Without a limit all is done by the last day.
            None if work.minutes.is_none() => Some(last),
            None => None,
        };
        lane.day = day.and_then(|day| u32::try_from(day + 1).ok());
        if let Some(day) = day {
            used[day] += lane.time_s;
        }
    }
}

/// Turns every second lane of a person's day round, so that it is walked back.
fn walk(lanes: &mut [&mut Lane]) {
    let last = lanes.iter().filter_map(|lane| lane.day).max().unwrap_or(0);
    for day in 1..=last {
        let of_day = lanes.iter_mut().filter(|lane| lane.day == Some(day));
        for lane in of_day.skip(1).step_by(2) {
            std::mem::swap(&mut lane.from, &mut lane.to);
        }
    }
}

/// How much load lies to the left of a line, on axes: x along the lanes, y to their right.
struct Load {
    axes: Axes,
    pieces: Vec<(f64, Vec<(Xy, Xy)>)>,
    low: Xy,
    high: Xy,
    all: f64,
}

impl Load {
    fn of(loads: &[Loaded], axes: Axes) -> Self {
        let turned = |loaded: &Loaded| loaded.shape.map_coords(|at| axes.coordinates(at));
        let all = MultiPolygon(loads.iter().flat_map(|loaded| turned(loaded).0).collect());
        let reach = all.bounding_rect();
        let (low, high) = reach.map_or_else(Default::default, |rect| (rect.min(), rect.max()));
        let pieces = loads.iter().map(|loaded| {
            let turned = turned(loaded);
            let edges = region::rings(&turned).flat_map(|ring| ring.lines());
            (
                loaded.per_m2,
                edges.map(|line| (line.start, line.end)).collect(),
            )
        });
        let mut load = Self {
            axes,
            pieces: pieces.collect(),
            low,
            high,
            all: 0.0,
        };
        load.all = load.left_of(high.y);
        load
    }

    /// The load to the left of the line at `y`: the boundary integral of min(y, line), taken from
    /// the least y, over x. The axes turn right, so it is positive as it stands.
    fn left_of(&self, y: f64) -> f64 {
        let line = y - self.low.y;
        let pieces = self.pieces.iter().map(|(per_m2, edges)| {
            let area: f64 = edges.iter().map(|&(a, b)| self.below(a, b, line)).sum();
            per_m2 * area
        });
        pieces.sum()
    }

    /// The integral of min(y, line) over x along an edge.
    fn below(&self, from: Xy, to: Xy, line: f64) -> f64 {
        let (y0, y1) = (from.y - self.low.y, to.y - self.low.y);
        let run = to.x - from.x;
        if y0.max(y1) <= line {
            run * (y0 + y1) / 2.0
        } else if y0.min(y1) >= line {
            run * line
        } else {
            // The share of the edge that lies below the line, and its mean height there.
            let share = (line - y0.min(y1)) / (y1 - y0).abs();
            run * (share * (y0.min(y1) + line) / 2.0 + (1.0 - share) * line)
        }
    }

    /// The sides of equal shares: one more than there are people.
    fn shares(&self, people: u32) -> Vec<f64> {
        let mut sides = vec![self.low.y];
        for person in 1..people {
            let wanted = self.all * f64::from(person) / f64::from(people);
            let (mut low, mut high) = (sides[sides.len() - 1], self.high.y);
            while high - low > CUT_M {
                let middle = f64::midpoint(low, high);
                // Far from the middle of the pitch no number may lie between the two.
                if middle <= low || middle >= high {
                    break;
                }
                if self.left_of(middle) < wanted {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            sides.push(high);
        }
        sides.push(self.high.y);
        sides
    }

    /// The share of all load between two sides.
    fn share_of(&self, left: f64, right: f64) -> f64 {
        if self.all > 0.0 {
            ((self.left_of(right) - self.left_of(left)) / self.all).max(0.0)
        } else {
            0.0
        }
    }

    /// What of two sides' ground is reached by any edge: gaps at both sides left out.
    fn reach(&self, left: f64, right: f64) -> (f64, f64) {
        let (mut low, mut high) = (right, left);
        for (a, b) in self.pieces.iter().flat_map(|(_, edges)| edges) {
            let (from, to) = (a.y.min(b.y), a.y.max(b.y));
            if to > left && from < right {
                low = low.min(from.max(left));
                high = high.max(to.min(right));
            }
        }
        if low < high {
            (low, high)
        } else {
            (left, right)
        }
    }

    /// The strip between two sides, pitch metres, a little longer than the ground.
    fn strip(&self, left: f64, right: f64) -> Polygon<f64> {
        /// How much longer, metres.
        const BEYOND_M: f64 = 1.0;
        let (from, to) = (self.low.x - BEYOND_M, self.high.x + BEYOND_M);
        // The outermost sides lie on the ground's own edge: none of it may be cut off there.
        let left = if left <= self.low.y {
            left - BEYOND_M
        } else {
            left
        };
        let right = if right >= self.high.y {
            right + BEYOND_M
        } else {
            right
        };
        let corners = [(from, left), (from, right), (to, right), (to, left)];
        let ring = corners.map(|(along, aside)| self.axes.place(along, aside));
        Polygon::new(LineString(ring.to_vec()), Vec::new())
    }

    /// The line a person walks through a lane: its middle, end to end.
    fn line_through(&self, shape: &MultiPolygon<f64>) -> (Xy, Xy) {
        let turned = shape.map_coords(|at| self.axes.coordinates(at));
        let Some(rect) = turned.bounding_rect() else {
            return (Xy::default(), Xy::default());
        };
        let middle = rect.center().y;
        (
            self.axes.place(rect.min().x, middle),
            self.axes.place(rect.max().x, middle),
        )
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::job::model::Balance;
    use crate::space::Angle;

    /// Lanes along x, from left to right: +y comes first.
    const AXES: Axes = Axes {
        along: Xy { x: 1.0, y: 0.0 },
        ahead: Xy { x: 0.0, y: -1.0 },
    };

    fn rectangle(x: (f64, f64), y: (f64, f64)) -> MultiPolygon<f64> {
        let ring = [(x.0, y.0), (x.1, y.0), (x.1, y.1), (x.0, y.1)];
        MultiPolygon(vec![Polygon::new(LineString::from(ring.to_vec()), vec![])])
    }

    fn work() -> LaneWork {
        LaneWork {
            zone: "all".to_owned(),
            angle: Angle::from_deg(0.0),
            width_m: 2.5,
            balance: Balance::Damage,
            m2_per_person_h: 600.0,
            minutes: None,
            days: 1,
            from: None,
        }
    }

    /// 100 x 60 m, the upper third worn three times as much as the rest.
    fn worn_third(work: &LaneWork, people: u32) -> LanePlan {
        let loads = [
            Loaded {
                shape: rectangle((-50.0, 50.0), (10.0, 30.0)),
                per_m2: 3.0,
            },
            Loaded {
                shape: rectangle((-50.0, 50.0), (-30.0, 10.0)),
                per_m2: 1.0,
            },
        ];
        plan(
            work,
            rectangle((-50.0, 50.0), (-30.0, 30.0)),
            &loads,
            AXES,
            people,
        )
    }

    #[test]
    fn every_person_has_the_same_load_and_no_lane_is_too_wide() {
        // By hand: the load is 3 x 20 + 40 = 100 for each metre of length, 50 a person. The first
        // has 50 / 3 = 16.67 m of the worn third: seven lanes; the second 3.33 m of it, which
        // holds 10, and all 40 m of the rest: 43.33 m, eighteen lanes.
        let plan = worn_third(&work(), 2);
        let own = |person: u32| plan.lanes.iter().filter(move |lane| lane.person == person);
        assert_eq!((own(1).count(), own(2).count()), (7, 18));
        for person in 1..=2 {
            let share: f64 = own(person).map(|lane| lane.load_share).sum();
            assert!((share - 0.5).abs() < 1e-12, "{share}");
        }
        let areas: f64 = plan.lanes.iter().map(|lane| lane.area_m2).sum();
        assert!((areas - 6000.0).abs() < 1e-6);
        assert!((own(1).map(|lane| lane.area_m2).sum::<f64>() - 5000.0 / 3.0).abs() < 1e-5);
        // 6000 m2 at 600 m2 a person and hour by two people: five hours.
        assert!((plan.time_s - 5.0 * 3600.0).abs() < 1e-6);
    }

    #[test]
    fn lanes_are_walked_to_and_fro_from_the_same_end() {
        let plan = worn_third(&work(), 3);
        for person in 1..=3 {
            let own = plan.lanes.iter().filter(|lane| lane.person == person);
            for (index, lane) in own.enumerate() {
                let sets_out = if index % 2 == 0 { -50.0 } else { 50.0 };
                assert!((lane.from.x - sets_out).abs() < 1e-6, "{lane:?}");
                assert!((lane.to.x + sets_out).abs() < 1e-6, "{lane:?}");
            }
        }
        // From left to right of who walks towards +x.
        assert!(plan.lanes[0].from.y > 28.0 && plan.lanes[0].number == 1);
    }

    #[test]
    fn short_minutes_take_the_most_worn_lanes_first_and_the_rest_waits() {
        let mut work = work();
        work.minutes = Some(60.0);
        let one = worn_third(&work, 2);
        // Person 2 has one lane that lies half in the worn third: it comes first.
        let first = one.lanes.iter().find(|lane| lane.person == 2).unwrap();
        assert_eq!(first.day, Some(1));
        assert!(one.waits_m2 > 0.0);
        for person in 1..=2 {
            let today = one
                .lanes
                .iter()
                .filter(|lane| lane.person == person && lane.day.is_some());
            let used_s: f64 = today.map(|lane| lane.time_s).sum();
            assert!(used_s <= 3600.0 + 1e-6 && used_s > 0.0);
        }
        // Five hours of two people fit six days of an hour; lanes are not cut in two, so not five.
        work.days = 8;
        let eight = worn_third(&work, 2);
        assert_eq!(eight.waits_m2, 0.0);
        // Without a limit the work is spread over the days, and nothing waits.
        work.minutes = None;
        work.days = 3;
        let three = worn_third(&work, 2);
        assert_eq!((three.days, three.waits_m2), (3, 0.0));
    }

    #[test]
    fn more_people_never_take_longer() {
        let mut before_s = f64::INFINITY;
        for people in 1..=12 {
            let plan = worn_third(&work(), people);
            assert!(plan.time_s <= before_s);
            let slowest = (1..=people).map(|person| {
                let own = plan.lanes.iter().filter(|lane| lane.person == person);
                own.map(|lane| lane.time_s).sum::<f64>()
            });
            let slowest_s = slowest.fold(0.0, f64::max);
            assert!((slowest_s - plan.time_s).abs() < 1e-6 * plan.time_s);
            before_s = plan.time_s;
        }
    }

    #[test]
    fn ground_with_a_gap_has_no_empty_lane() {
        let ground = MultiPolygon(
            [
                rectangle((0.0, 10.0), (-9.0, -6.0)),
                rectangle((0.0, 10.0), (6.0, 9.0)),
            ]
            .into_iter()
            .flatten()
            .collect(),
        );
        let loads = [Loaded {
            shape: ground.clone(),
            per_m2: 1.0,
        }];
        let plan = plan(&work(), ground, &loads, AXES, 2);
        assert_eq!(plan.lanes.len(), 4);
        assert!(
            plan.lanes
                .iter()
                .all(|lane| (lane.area_m2 - 15.0).abs() < 1e-6)
        );
    }
}
