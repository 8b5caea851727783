//! Puts a slice in order without any way to panic.
//!
//! The standard library's sorts may panic on an order that contradicts itself, so their code carries a panic
//! that a linker made to refuse panics would find. This is a heap sort: n log n steps whatever the input,
//! no memory beside the slice, every access checked.

/// Sorts so that no value comes before one that `before` puts ahead of it. Equal values in any order.
pub fn sort_by<T>(values: &mut [T], before: impl Fn(&T, &T) -> bool) {
    let count = values.len();
    for root in (0..count / 2).rev() {
        sink(values, root, count, &before);
    }
    for end in (1..count).rev() {
        swap(values, 0, end);
        sink(values, 0, end, &before);
    }
}

/// The value that would stand at `rank` (from 0) were the slice in order; all after it then come no sooner, all before
/// it no later. Some three steps a value, where a sort takes many more. `None` where there are not so many.
pub fn select_by<T: Copy>(values: &mut [T], rank: usize, before: impl Fn(&T, &T) -> bool) -> Option<T> {
    let (mut rest, mut rank) = (values, rank);
    loop {
        // Parted in three: before the one in the middle, like it, after it.
        let count = rest.len();
        let pivot = *rest.get(count / 2)?;
        let (mut low, mut at, mut high) = (0, 0, count);
        while at < high {
            let value = *rest.get(at)?;
            if before(&value, &pivot) {
                exchange(rest, low, at);
                low += 1;
                at += 1;
            } else if before(&pivot, &value) {
                high -= 1;
                exchange(rest, at, high);
            } else {
                at += 1;
            }
        }
        // An order that contradicts itself could go on for ever.
        if (low..high).contains(&rank) || low == count || high == 0 {
            return Some(pivot);
        }
        rest = if rank < low { rest.get_mut(..low)? } else { rest.get_mut(high..)? };
        rank = if rank < low { rank } else { rank - high };
    }
}

fn exchange<T: Copy>(values: &mut [T], one: usize, other: usize) {
    if let (Some(first), Some(second)) = (values.get(one).copied(), values.get(other).copied()) {
        for (index, value) in [(one, second), (other, first)] {
            if let Some(place) = values.get_mut(index) {
                *place = value;
            }
        }
    }
}

/// Lets the value at `root` sink below all that come after it, among the first `end` values.
fn sink<T>(values: &mut [T], mut root: usize, end: usize, before: &impl Fn(&T, &T) -> bool) {
    let precedes = |values: &[T], one: usize, other: usize| match (values.get(one), values.get(other)) {
        (Some(one), Some(other)) => before(one, other),
        _ => false,
    };
    loop {
        let mut child = 2 * root + 1;
        if child >= end {
            return;
        }
        if child + 1 < end && precedes(values, child, child + 1) {
            child += 1;
        }
        if !precedes(values, root, child) {
            return;
        }
        swap(values, root, child);
        root = child;
    }
}

fn swap<T>(values: &mut [T], one: usize, other: usize) {
    if let Ok([one, other]) = values.get_disjoint_mut([one, other]) {
        core::mem::swap(one, other);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    fn sort(values: &mut [f32]) {
        sort_by(values, |one, other| one.total_cmp(other).is_lt());
    }

    #[test]
    fn it_agrees_with_the_standard_librarys_sort() {
        let mut state = 1u32;
        for count in 0..200usize {
            let mut values: Vec<f32> = (0..count)
                .map(|_| {
                    state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    ((state >> 16) % 50) as f32 - 25.0
                })
                .collect();
            let mut expected = values.clone();
            expected.sort_by(f32::total_cmp);
            sort(&mut values);
            assert_eq!(values, expected);
        }
    }

    #[test]
    fn a_selected_value_is_the_one_that_sorting_puts_there() {
        let mut state = 7u32;
        for count in 1..90usize {
            let values: Vec<f32> = (0..count)
                .map(|_| {
                    state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    ((state >> 16) % (1 + count as u32)) as f32 - 25.0
                })
                .collect();
            let mut sorted = values.clone();
            sorted.sort_by(f32::total_cmp);
            for rank in [0, count / 3, count / 2, count - 1] {
                let mut parted = values.clone();
                let found = select_by(&mut parted, rank, |one, other| one.total_cmp(other).is_lt());
                assert_eq!(found, sorted.get(rank).copied());
                assert_eq!(parted[rank], sorted[rank]);
                assert!(parted[..rank].iter().all(|value| *value <= sorted[rank]));
                assert!(parted[rank..].iter().all(|value| *value >= sorted[rank]));
            }
        }
        assert_eq!(select_by(&mut [1, 2], 2, |one, other| one < other), None);
        assert!(select_by(&mut [1, 2, 3], 1, |_, _| true).is_some());
    }

    #[test]
    fn an_order_that_contradicts_itself_ends_in_some_order() {
        let mut values: Vec<u32> = (0..100).collect();
        sort_by(&mut values, |_, _| true);
        values.sort_unstable();
        assert!(values.iter().copied().eq(0..100));
    }

    #[test]
    fn values_that_are_no_numbers_go_to_the_ends() {
        let mut values = [1.0, f32::NAN, -f32::NAN, 0.0, f32::INFINITY];
        sort(&mut values);
        assert!(values[0].is_nan() && values[4].is_nan());
        assert_eq!(values[1..4], [0.0, 1.0, f32::INFINITY]);
    }
}
