//! What an order costs at least if it uses a given link.

use super::costs::{Costs, FORBIDDEN, Node};
use super::reduced::Reduced;
use super::table::{NO_LINK, Table};

/// For each link a figure that no order over it can be cheaper than.
///
/// A link whose figure reaches the cost of a known order is in no better one: it need not be
/// worked out further. The figures hold for the table they were made from, so also where some
/// of its entries are below the true ones.
#[derive(Debug)]
pub struct LinkBounds {
    reduced: Reduced,
    place_of: Vec<usize>,
}

impl LinkBounds {
    pub(super) fn new(reduced: Reduced, table: &Table, costs: &Costs) -> Self {
        let mut place_of = vec![0; costs.parts()];
        for place in 0..costs.parts() {
            place_of[table.outer(2 * place) / 2] = place;
        }
        Self { reduced, place_of }
    }

    /// The least that an order over this link can cost, tenths of a millimetre;
    /// [`FORBIDDEN`] where the link cannot be driven.
    #[must_use]
    pub fn at_least(&self, from: Node, to: Node) -> i64 {
        let inner = |node: Node| {
            let place = self.place_of.get(node / 2)?;
            Some(2 * place + node % 2)
        };
        match (inner(from), inner(to)) {
            (Some(from), Some(to)) if self.reduced.left(from, to)[0] != NO_LINK => {
                self.reduced.bound_with(from, to)
            }
            _ => FORBIDDEN,
        }
    }
}
