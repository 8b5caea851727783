//! Lists of fixed size, without a way to panic.
//!
//! *Newest*: the last few of a row, the oldest going as a new one comes. The library's own ring and its way
//! of collecting into a list end in a panic where a bound is passed; these leave the rest out.

use heapless::Vec;

/// The newest `N` of a row, 255 at most.
#[derive(Debug, Clone)]
pub struct Newest<T, const N: usize> {
    kept: [T; N],
    /// Where the next goes.
    next: u8,
    full: bool,
}

impl<T: Copy + Default, const N: usize> Default for Newest<T, N> {
    fn default() -> Self {
        Self { kept: [T::default(); N], next: 0, full: false }
    }
}

impl<T, const N: usize> Newest<T, N> {
    /// Takes in the next, in place of the oldest if there are `N`.
    #[inline]
    pub fn push(&mut self, next: T) {
        // Of a power of two the compiler knows that it is within.
        let at = usize::from(self.next);
        let at = if N.is_power_of_two() { at & (N - 1) } else { at };
        if let Some(place) = self.kept.get_mut(at) {
            *place = next;
        }
        self.go_on(1);
    }

    #[inline]
    fn go_on(&mut self, count: u8) {
        self.next = self.next.wrapping_add(count);
        if usize::from(self.next) >= N {
            (self.next, self.full) = (0, true);
        }
    }

    /// Takes in as many of these as there is room for before the oldest place comes round again. How many.
    #[inline]
    pub fn push_some(&mut self, some: impl Iterator<Item = T>) -> usize {
        let mut count = 0;
        for (place, next) in
            self.kept.get_mut(usize::from(self.next)..).unwrap_or_default().iter_mut().zip(some)
        {
            *place = next;
            count += 1;
        }
        self.go_on(count as u8);
        count
    }

    /// Forgets all.
    pub fn clear(&mut self) {
        (self.next, self.full) = (0, false);
    }

    /// How many there are, `N` at most.
    pub fn len(&self) -> usize {
        if self.full { N } else { usize::from(self.next) }
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The one that came last.
    pub fn newest(&self) -> Option<&T> {
        self.back(0)
    }

    /// The one that came so many before the last.
    pub fn back(&self, back: usize) -> Option<&T> {
        let end = usize::from(self.next);
        let place = match end.checked_sub(back + 1) {
            Some(place) => place,
            None if self.full => (end + N).checked_sub(back + 1).filter(|place| *place >= end)?,
            None => return None,
        };
        self.kept.get(place)
    }

    /// All, the oldest first.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = &T> {
        (0..self.len()).rev().filter_map(|back| self.back(back))
    }
}

/// The first `N` of what comes.
pub fn gather<T, const N: usize>(values: impl IntoIterator<Item = T>) -> Vec<T, N> {
    let mut list = Vec::new();
    for value in values.into_iter().take(N) {
        let _ = list.push(value);
    }
    list
}

/// Puts the half from `half` on before the one that ends there.
pub fn swap_halves<T>(whole: &mut [T], half: usize) {
    if let Some((first, second)) = whole.split_at_mut_checked(half) {
        first.iter_mut().zip(second).for_each(|(one, other)| core::mem::swap(one, other));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_oldest_goes_as_a_new_one_comes() {
        let mut newest = Newest::<u8, 3>::default();
        for value in 1..=5 {
            newest.push(value);
        }
        assert!(newest.iter().eq(&[3, 4, 5]) && newest.newest() == Some(&5) && newest.len() == 3);
        newest.push(6);
        assert!(newest.iter().rev().eq(&[6, 5, 4]) && newest.newest() == Some(&6));
        newest.clear();
        assert!(newest.is_empty() && newest.newest().is_none() && newest.iter().next().is_none());
        newest.push(7);
        assert!(newest.iter().eq(&[7]) && newest.newest() == Some(&7) && newest.len() == 1);
    }

    #[test]
    fn what_is_too_much_is_left_out() {
        assert_eq!(gather::<_, 2>([7, 8, 9]).as_slice(), [7, 8]);
    }

    #[test]
    fn halves_change_places() {
        let mut whole = [1, 2, 3, 4];
        swap_halves(&mut whole, 2);
        assert_eq!(whole, [3, 4, 1, 2]);
    }
}
