//! Lists put in order and maps gathered, in little code: the library's own sort is compiled anew for every type it
//! sorts, about 5 KB each, and collecting into a map sorts too.

use std::cmp::Ordering;

/// Puts a list in order; what compares as equal stays as it stood. As `slice::sort_by`, which is faster.
pub fn sort_by<T>(all: &mut [T], compare: impl Fn(&T, &T) -> Ordering) {
    let mut goes_to = vec![0; all.len()];
    for (to, from) in ordered(all.len(), &Compared { all, compare }).into_iter().enumerate() {
        if let Some(place) = goes_to.get_mut(from) {
            *place = to;
        }
    }
    for at in 0..all.len() {
        while let Some(&to) = goes_to.get(at).filter(|&&to| to != at) {
            all.swap(at, to);
            goes_to.swap(at, to);
        }
    }
}

/// Puts a list in the order of what `key` says of each; see [`sort_by`].
pub fn sort_by_key<T, K: Ord>(all: &mut [T], key: impl Fn(&T) -> K) {
    sort_by(all, |a, b| key(a).cmp(&key(b)));
}

/// A map or a set of what is given, of equal keys the last value. As `collect`, which sorts first.
pub fn gather<T, All: Default + Extend<T>>(given: impl IntoIterator<Item = T>) -> All {
    let mut all = All::default();
    all.extend(given);
    all
}

/// Whether one place of a list belongs after another.
trait After {
    fn after(&self, a: usize, b: usize) -> bool;
}

struct Compared<'a, T, F> {
    all: &'a [T],
    compare: F,
}

impl<T, F: Fn(&T, &T) -> Ordering> After for Compared<'_, T, F> {
    fn after(&self, a: usize, b: usize) -> bool {
        match (self.all.get(a), self.all.get(b)) {
            (Some(a), Some(b)) => (self.compare)(a, b).is_gt(),
            _ => false,
        }
    }
}

/// The places of a list in the order they belong: runs of one, then of two, four, … merged in pairs.
fn ordered(length: usize, list: &dyn After) -> Vec<usize> {
    let mut places: Vec<usize> = (0..length).collect();
    let mut run = 1;
    while run < length {
        let mut merged = Vec::with_capacity(length);
        for pair in places.chunks(2 * run) {
            let (mut left, mut right) = pair.split_at(run.min(pair.len()));
            // Two runs that follow each other are left as they are: most lists are nearly in order.
            let follow = match (left.last(), right.first()) {
                (Some(&a), Some(&b)) => !list.after(a, b),
                _ => true,
            };
            while let (false, [a, others_left @ ..], [b, others_right @ ..]) = (follow, left, right) {
                if list.after(*a, *b) {
                    merged.push(*b);
                    right = others_right;
                } else {
                    merged.push(*a);
                    left = others_left;
                }
            }
            merged.extend_from_slice(left);
            merged.extend_from_slice(right);
        }
        places = merged;
        run *= 2;
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::{BTreeMap, BTreeSet};

    proptest! {
        #[test]
        fn a_list_is_sorted_as_the_library_sorts_it(keys in proptest::collection::vec(0_u8..20, 0..300)) {
            // The place tells apart what compares as equal.
            let list: Vec<(u8, usize)> = keys.into_iter().zip(0..).collect();
            let (mut ours, mut theirs) = (list.clone(), list.clone());
            sort_by(&mut ours, |a, b| b.0.cmp(&a.0));
            theirs.sort_by_key(|a| std::cmp::Reverse(a.0));
            prop_assert_eq!(ours, theirs);
            let (mut ours, mut theirs) = (list.clone(), list);
            sort_by_key(&mut ours, |a| a.0);
            theirs.sort_by_key(|a| a.0);
            prop_assert_eq!(ours, theirs);
        }

        #[test]
        fn what_is_gathered_is_what_would_be_collected(pairs in proptest::collection::vec((0_u8..20, 0_u8..9), 0..60)) {
            let map: BTreeMap<u8, u8> = gather(pairs.clone());
            prop_assert_eq!(map, pairs.iter().copied().collect::<BTreeMap<u8, u8>>());
            let set: BTreeSet<(u8, u8)> = gather(pairs.clone());
            prop_assert_eq!(set, pairs.into_iter().collect::<BTreeSet<(u8, u8)>>());
        }
    }

    #[test]
    fn ten_thousand_are_sorted_in_few_comparisons() {
        for step in [1_usize, 7919, 9999] {
            // All numbers below 10000 once each: in order, mixed, and backwards.
            let mut list: Vec<usize> = (0..10_000).map(|i| i * step % 10_000).collect();
            let compared = std::cell::Cell::new(0);
            sort_by(&mut list, |a, b| {
                compared.set(compared.get() + 1);
                a.cmp(b)
            });
            assert!(list.is_sorted());
            // n log2 n, and one look for each pair of runs.
            assert!(compared.get() <= 10_000 * 14 + 10_000, "{}", compared.get());
        }
    }
}
