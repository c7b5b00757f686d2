//! A cut across the parts, and why some link must cross it.
//!
//! Call each end of each part near or far. Along a closed tour near and far change an even
//! number of times; so if the parts that lead from near to far (or back) are odd in number, a
//! link between parts, or the way in or out, changes once more. That holds whatever is called
//! near; a cut square to the passes, in the middle of the ground, tells the most, for links
//! over it are long.

/// Which ends are far: of each part the end it begins at, driven along the heading, and the
/// other.
pub type FarEnds = Vec<[bool; 2]>;

/// The cut that most parts lead over, of those that an odd number does; `None` where there is
/// no such. `ends_m` are the positions of the two ends of each part along the heading, metres.
#[must_use]
pub fn odd_cut(ends_m: &[[f64; 2]]) -> Option<FarEnds> {
    let mut at_m: Vec<f64> = ends_m.iter().flatten().copied().collect();
    at_m.sort_by(f64::total_cmp);
    let far_ends = |cut_m: f64| -> FarEnds {
        let is_far = |ends_m: &[f64; 2]| ends_m.map(|end_m| end_m > cut_m);
        ends_m.iter().map(is_far).collect()
    };
    let middle_m = 0.5 * (at_m.first()? + at_m.last()?);
    let cuts = at_m.windows(2).map(|pair| 0.5 * (pair[0] + pair[1]));
    let odd = cuts.filter_map(|cut_m| {
        let count = crossing(&far_ends(cut_m));
        (count % 2 == 1).then_some((count, cut_m))
    });
    let best = odd.max_by(|a, b| {
        let off_m = |cut: &(usize, f64)| (cut.1 - middle_m).abs();
        a.0.cmp(&b.0).then(off_m(b).total_cmp(&off_m(a)))
    })?;
    Some(far_ends(best.1))
}

/// How many parts lead over the cut.
pub(super) fn crossing(far_ends: &[[bool; 2]]) -> usize {
    far_ends.iter().filter(|[a, b]| a != b).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cut_goes_where_most_parts_lead_over_it() {
        // Three long parts; one of them in two pieces with a gap about the middle.
        let ends_m = [[-50.0, 50.0], [-50.0, 50.0], [-50.0, -5.0], [5.0, 50.0]];
        let far = odd_cut(&ends_m).unwrap_or_default();
        assert_eq!(crossing(&far), 3);
    }

    #[test]
    fn an_even_number_of_like_parts_has_no_odd_cut() {
        assert_eq!(odd_cut(&[[-50.0, 50.0], [-50.0, 50.0]]), None);
        assert_eq!(odd_cut(&[]), None);
    }
}
