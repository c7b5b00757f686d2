//! In which order and direction the parts are driven, and how far that can be from the best.
//!
//! A clustered, directed travelling-salesman problem: each part is a pair of nodes of which
//! one is driven, the links cost what [`Costs`] says, start and end are free or at an
//! entrance. The way to an order and its proof:
//!
//! 1. [`exact_small`]: up to twelve parts by dynamic programming over subsets.
//! 2. A first tour: [`neighbour`], [`lands`] or what the caller has, changed for the better
//!    while that helps (`improve`). It is the first upper bound.
//! 3. Multipliers from a small linear programme over the links (`programme`, `interior`), some
//!    of its rows from odd sets of the parts' ends (`odd`), and the costs reduced by them in
//!    whole numbers (`reduced`): a first lower bound. They may be kept for the table as it is
//!    changed, or for a larger one (`kept`).
//! 4. Sweeps over the parts from side to side (`sweep`), of growing width, each with the
//!    profile of the one before (`profile`): better tours and better bounds, until they meet
//!    or the effort is spent.
//!
//! What is promised:
//! - an order takes each part once and uses drivable links only;
//! - `lower_bound` is at most the cost of any such order, whatever the costs: no symmetry and
//!   no triangle inequality is assumed, and all of it is computed in whole numbers;
//! - the same table and effort give the same order and bound: effort is counted in rounds and
//!   states, never in seconds, and nothing runs in threads.

pub mod costs;
mod dues;
pub mod habit;
mod improve;
mod interior;
mod kept;
mod layer;
mod links;
mod odd;
mod profile;
mod programme;
mod reduced;
mod skyline;
pub mod small;
mod solve;
mod sweep;
mod table;
#[cfg(test)]
mod trials;

pub use crate::job::model::Effort;
pub use costs::{Costs, FORBIDDEN, Node, Place};
pub use habit::{lands, neighbour};
pub use kept::KeptMultipliers;
pub use links::LinkBounds;
pub use odd::{FarEnds, odd_cuts};
pub use small::{SmallOrder, exact_small};
pub use solve::{Begin, BoundMethod, NoOrder, Solved, look_over, solve, solve_by, touched_up};
