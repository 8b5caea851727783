//! Where the marks of an axis stand, and how many decimals they need.

/// Marks at round values, so that about so many fit between two ends.
pub(super) fn marks(low: f64, high: f64, about: usize) -> (Vec<f64>, usize) {
    let wanted = (high - low) / about.max(1) as f64;
    if !(wanted.is_finite() && wanted > 0.0) {
        return (vec![low], 0);
    }
    let power = 10f64.powf(wanted.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].map(|factor| factor * power);
    let step = step.into_iter().find(|step| *step >= wanted).unwrap_or(10.0 * power);
    let decimals = if step >= 1.0 { 0 } else { (-step.log10()).ceil() as usize };
    let first = (low / step).ceil() as i64;
    let last = (high / step).floor() as i64;
    // Adding zero makes one zero of the two.
    ((first..=last).map(|mark| mark as f64 * step + 0.0).collect(), decimals)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_round_and_lie_between_the_ends() {
        assert_eq!(marks(-12.3, 21.0, 6), (vec![-10.0, 0.0, 10.0, 20.0], 0));
        assert_eq!(marks(9.0, 11.0, 5), (vec![9.0, 9.5, 10.0, 10.5, 11.0], 1));
        assert_eq!(marks(580.0, 2150.0, 8).0, [600.0, 800.0, 1000.0, 1200.0, 1400.0, 1600.0, 1800.0, 2000.0]);
        assert_eq!(marks(3.0, 3.0, 5), (vec![3.0], 0));
    }
}
