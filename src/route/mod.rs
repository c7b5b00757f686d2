//! Turns that a machine can drive: poses and paths, shortest words, ground, ways out, turns.
//!
//! | file | question |
//! |---|---|
//! | `pose` | where the machine stands |
//! | `path` | what it drives: arcs and straights, their points and lengths |
//! | `machine` | what drives: radii, body, tool |
//! | `dubins`, `reeds_shepp` | the shortest path where no wall counts |
//! | `terrain` | whether a machine stays on allowed ground, metres on the pitch |
//! | `way_out` | how far an end must be shortened, `mend` what would avoid that |
//! | `turn` | the cheapest turn between two ends; `refine` moves it to its best, `bound` says what none can beat, `kind` names it |

pub mod bound;
pub mod drive;
pub mod dubins;
mod edges;
pub mod kind;
pub mod links;
pub mod machine;
pub mod mend;
pub mod order;
pub mod path;
pub mod pose;
pub mod reeds_shepp;
mod refine;
pub mod runs;
pub mod search;
mod stubs;
mod sweep;
pub mod terrain;
pub mod told;
pub mod turn;
pub mod way_out;
pub mod wheels;
pub mod words;
