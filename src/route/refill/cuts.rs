//! Where to refill along a drive whose order stands: the cuts of least cost, exactly.
//!
//! Dynamic programming over the places where a load may end, in the order driven. What a cut
//! costs hangs on its place alone, so the best way to end a load here is its cost and the best
//! way to have ended the load before anywhere that one hopper reaches from. Those places are a
//! window that only moves on, so its best is kept in a queue from which everything dearer than
//! a newcomer is dropped: the time grows with the number of places, whatever a hopper holds.

use std::collections::VecDeque;

/// A cost that stands for "no refill here", tenths of a millimetre.
pub(super) const NOT_HERE: i64 = i64::MAX / 4;

/// A load may hold this much more than the hopper, kilograms: the rounding of sums.
const ROUNDING_KG: f64 = 1e-6;

/// A place where a load may end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    /// What the drive has put down when it comes here, kilograms.
    pub put_down_kg: f64,
    /// What a refill here adds to the drive's cost, tenths of a millimetre, not below 0.
    pub cost: i64,
    /// Whether it lies within a part, so that the part is cut in two.
    pub is_inside: bool,
}

/// What plans are compared by, in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
struct Score {
    cost: i64,
    cuts: usize,
    inside: usize,
}

impl Score {
    const fn with(self, place: &Place) -> Self {
        Self {
            cost: self.cost + place.cost,
            cuts: self.cuts + 1,
            inside: self.inside + place.is_inside as usize,
        }
    }
}

/// The places to refill at for the least cost; of equal costs the fewest refills, of those the
/// fewest within parts, of those the latest. Places stand in the order driven, `all_kg` is what
/// the whole drive puts down and `hopper_kg` what one load holds. `None` where some stretch
/// between two places takes more than a hopper.
#[must_use]
pub(super) fn best_cuts(places: &[Place], all_kg: f64, hopper_kg: f64) -> Option<Vec<usize>> {
    /// A state: nothing cut yet, or cut last at a place.
    #[derive(Clone, Copy)]
    struct State {
        put_down_kg: f64,
        score: Score,
        place: Option<usize>,
    }
    let start = State {
        put_down_kg: 0.0,
        score: Score::default(),
        place: None,
    };
    let mut window: VecDeque<State> = VecDeque::from([start]);
    let mut before: Vec<Option<usize>> = vec![None; places.len()];
    let most_kg = hopper_kg + ROUNDING_KG;
    // The best load before one that ends here.
    let best = |window: &mut VecDeque<State>, put_down_kg: f64| {
        while window
            .front()
            .is_some_and(|state| put_down_kg - state.put_down_kg > most_kg)
        {
            window.pop_front();
        }
        window.front().copied()
    };
    for (index, place) in places.iter().enumerate() {
        let last = best(&mut window, place.put_down_kg)?;
        if place.cost >= NOT_HERE {
            continue;
        }
        before[index] = last.place;
        let state = State {
            put_down_kg: place.put_down_kg,
            score: last.score.with(place),
            place: Some(index),
        };
        while window.back().is_some_and(|back| back.score >= state.score) {
            window.pop_back();
        }
        window.push_back(state);
    }
    let mut cuts = Vec::new();
    let mut place = best(&mut window, all_kg)?.place;
    while let Some(index) = place {
        cuts.push(index);
        place = before[index];
    }
    cuts.reverse();
    Some(cuts)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Every set of cuts, plainly.
    fn by_enumeration(places: &[Place], all_kg: f64, hopper_kg: f64) -> Option<Score> {
        let mut least: Option<Score> = None;
        for set in 0_u32..1 << places.len() {
            let cuts = (0..places.len()).filter(|&i| set >> i & 1 == 1);
            let cuts: Vec<&Place> = cuts.map(|i| &places[i]).collect();
            let mut ends: Vec<f64> = vec![0.0];
            ends.extend(cuts.iter().map(|place| place.put_down_kg));
            ends.push(all_kg);
            let fits = ends
                .windows(2)
                .all(|pair| pair[1] - pair[0] <= hopper_kg + ROUNDING_KG);
            if fits && cuts.iter().all(|place| place.cost < NOT_HERE) {
                let score = cuts.iter().fold(Score::default(), |s, place| s.with(place));
                least = Some(least.map_or(score, |least| least.min(score)));
            }
        }
        least
    }

    fn any_places() -> impl Strategy<Value = (Vec<Place>, f64, f64)> {
        let place = (
            0..4_u32,
            prop_oneof![4 => 0..30_i64, 1 => Just(NOT_HERE)],
            any::<bool>(),
        );
        (prop::collection::vec(place, 0..11), 0..4_u32, 1..9_u32).prop_map(
            |(steps, last, hopper)| {
                // Whole kilograms, so that loads often end with an empty hopper.
                let mut put_down_kg = 0.0;
                let places = steps.into_iter().map(|(step, cost, is_inside)| {
                    put_down_kg += f64::from(step);
                    Place {
                        put_down_kg,
                        cost,
                        is_inside,
                    }
                });
                let places: Vec<Place> = places.collect();
                let all_kg = put_down_kg + f64::from(last);
                (places, all_kg, f64::from(hopper))
            },
        )
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(4_000))]

        #[test]
        fn cuts_cost_what_the_best_of_all_sets_costs((places, all_kg, hopper_kg) in any_places()) {
            let cuts = best_cuts(&places, all_kg, hopper_kg);
            let score = cuts.as_ref().map(|cuts| {
                cuts.iter().fold(Score::default(), |s, &cut| s.with(&places[cut]))
            });
            prop_assert_eq!(score, by_enumeration(&places, all_kg, hopper_kg));
            if let Some(cuts) = cuts {
                prop_assert!(cuts.windows(2).all(|pair| pair[0] < pair[1]));
                let mut ends = vec![0.0];
                ends.extend(cuts.iter().map(|&cut| places[cut].put_down_kg));
                ends.push(all_kg);
                for pair in ends.windows(2) {
                    prop_assert!(pair[1] - pair[0] <= hopper_kg + ROUNDING_KG);
                }
            }
        }
    }

    fn place(put_down_kg: f64, cost: i64, is_inside: bool) -> Place {
        Place {
            put_down_kg,
            cost,
            is_inside,
        }
    }

    #[test]
    fn a_hopper_that_lasts_is_never_filled_again() {
        let places = [place(1.0, 0, false), place(2.0, 0, false)];
        assert_eq!(best_cuts(&places, 3.0, 3.0), Some(Vec::new()));
    }

    #[test]
    fn where_nothing_costs_anything_loads_are_full_and_parts_whole() {
        let places = [
            place(1.0, 0, false),
            place(1.9, 0, true),
            place(2.0, 0, false),
            place(2.5, 0, true),
            place(4.0, 0, false),
        ];
        assert_eq!(best_cuts(&places, 4.5, 2.0), Some(vec![2, 4]));
    }

    #[test]
    fn a_stretch_that_takes_more_than_a_hopper_cannot_be_driven() {
        let places = [place(1.0, 0, false), place(4.0, 0, false)];
        assert_eq!(best_cuts(&places, 4.0, 2.0), None);
        assert_eq!(best_cuts(&[], 4.0, 2.0), None);
    }
}
