//! A turn that is driven much as a known one: some of its first pieces and of its last are kept,
//! with one word between them.

use super::path::Piece;
use super::pose::Stance;
use super::stubs::Side;
use super::turn::{Best, Gap, LEAST_GAIN_M, Task};

/// So many pieces are replaced by a word: it takes three to get to any place under any heading.
const REPLACED: usize = 3;

impl Task<'_> {
    /// The beginnings and ends of a known turn, driven from here, with one word between them.
    pub(super) fn follow(&self, shape: &[Piece], best: &mut Best) {
        let firsts = self.walked(shape.iter().copied(), Side::Exit);
        let lasts = self.walked(shape.iter().rev().copied(), Side::Entry);
        let mut gaps = Vec::new();
        for (before, (exit, out_m)) in firsts.iter().enumerate() {
            for (after, (entry, in_m)) in lasts.iter().enumerate() {
                let Some(replaced) = shape.len().checked_sub(before + after) else {
                    break;
                };
                if replaced != REPLACED.min(shape.len()) {
                    continue;
                }
                let gap = Gap {
                    from: exit.pose,
                    to: entry.pose,
                    before: &shape[..before],
                    after: &shape[shape.len() - after..],
                    spent_m: out_m + in_m,
                    goes_on: false,
                    one_sense: false,
                };
                let least_m = gap.spent_m + self.least_m(self.apart_m(gap.from, gap.to));
                gaps.push((least_m, gap));
            }
        }
        gaps.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut words = Vec::new();
        for (least_m, gap) in gaps {
            if least_m >= best.cost_m - LEAST_GAIN_M {
                break;
            }
            self.join(&gap, &mut words, best);
        }
    }

    /// Where the pieces of a turn lead, one after the other, as far as they can be driven, and
    /// what they cost.
    fn walked(&self, pieces: impl Iterator<Item = Piece>, side: Side) -> Vec<(Stance, f64)> {
        let mut at = Stance::of(match side {
            Side::Exit => self.from,
            Side::Entry => self.to,
        });
        let mut cost_m = 0.0;
        let mut all = vec![(at, cost_m)];
        for piece in pieces {
            let walked = match side {
                Side::Exit => piece,
                Side::Entry => piece.turned_back(),
            };
            let Some((more_m, end)) = self.driven(&at, &walked) else {
                break;
            };
            cost_m += more_m;
            at = end;
            all.push((at, cost_m));
        }
        all
    }
}
