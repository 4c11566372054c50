//! Sums that do not lose small parts: Neumaier's form of Kahan's compensated sum (Neumaier 1974).

/// A running sum with its compensation.
#[derive(Debug, Clone, Copy, Default)]
pub struct CompensatedSum {
    sum: f64,
    lost: f64,
}

impl CompensatedSum {
    /// Adds a value.
    pub fn add(&mut self, value: f64) {
        let sum = self.sum + value;
        self.lost += if self.sum.abs() >= value.abs() { (self.sum - sum) + value } else { (value - sum) + self.sum };
        self.sum = sum;
    }

    /// The sum so far.
    #[must_use]
    pub fn total(self) -> f64 {
        self.sum + self.lost
    }
}

impl FromIterator<f64> for CompensatedSum {
    fn from_iter<I: IntoIterator<Item = f64>>(values: I) -> Self {
        let mut sum = Self::default();
        values.into_iter().for_each(|value| sum.add(value));
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_parts_survive_a_large_one() {
        let sum: CompensatedSum = [1.0, 1e100, 1.0, -1e100].into_iter().collect();
        assert_eq!(sum.total(), 2.0);
    }
}
