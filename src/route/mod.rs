//! What the machine can drive: turns between walls, the order of the passes with its proof, and
//! the drive leg by leg. `drive::drive` is where to begin; `docs/routes.md` tells the methods.
//!
//! | file | question |
//! |---|---|
//! | `pose` | where the machine stands |
//! | `path` | what it drives: arcs and straights, their points and lengths |
//! | `machine` | what drives: radii, body, tool |
//! | `dubins`, `reeds_shepp` | the shortest path where no wall counts |
//! | `terrain` | whether a machine stays on allowed ground, metres on the pitch; by `edges` and what a piece `sweep`s; `past`: what it costs at least to get past the pitch |
//! | `way_out` | how far an end must be shortened, `mend` what would avoid that |
//! | `turn` | the cheapest turn between two ends; `stubs` begin and end it, `words` are its pieces in a row, `follow` drives one after another; `refine` moves it to its best, `bound` says what none can beat, `kind` names it |
//! | `runs` | a part driven one way: where its tool is lowered and lifted |
//! | `parts` | the parts of a direction with their runs |
//! | `links` | what it costs to get from part to part, worked out where asked for, into a `link_table`; `chains`: turns driven after the one before; `gates`: the ways in and out; `alike`: from which links an unknown one is guessed |
//! | `order` | from a table of costs to an order and a bound |
//! | `search` | the order of one direction on a table that is worked out as needed; `joint`: of several together |
//! | `memory`, `earlier` | what is kept of a drive to answer it again, and turns driven after earlier ones |
//! | `drive`, `tour`, `legs` | the drive of an operation, how it grows, and what is handed on of it |
//! | `refill` | where a machine that carries material refills, and the hauls between |
//! | `wheels` | how often wheels roll over each place |
//! | `told` | what a person is told about a drive |

mod alike;
pub mod between;
pub mod bound;
mod chains;
pub mod drive;
pub mod dubins;
mod earlier;
mod edges;
mod follow;
pub mod gates;
mod joint;
pub mod kind;
pub mod legs;
pub mod link_table;
pub mod links;
pub mod machine;
pub mod memory;
pub mod mend;
pub mod order;
mod parts;
mod past;
pub mod path;
pub mod pose;
pub mod reeds_shepp;
pub mod refill;
mod refine;
pub mod runs;
pub mod search;
mod spared;
mod stubs;
mod sweep;
pub mod terrain;
pub mod told;
mod tour;
pub mod turn;
pub mod way_out;
pub mod wheels;
pub mod words;
