//! Curves between computed points.

/// Cubic (Lagrange's form) through the four nodes nearest to a place: the first of them, and the weight of each.
#[derive(Clone, Copy, Debug)]
pub struct NearestCubic {
    first: usize,
    weights: [f64; 4],
}

impl NearestCubic {
    /// The weights at `x` for at least four nodes that rise or fall throughout; outside them it extrapolates.
    #[inline]
    pub fn new(nodes: &[f64], x: f64) -> Self {
        let falls = nodes.first() > nodes.last();
        let before = nodes.iter().take_while(|node| if falls { **node > x } else { **node < x }).count();
        let first = before.saturating_sub(2).min(nodes.len().saturating_sub(4));
        let near = &nodes[first..(first + 4).min(nodes.len())];
        let mut weights = [0.0; 4];
        for (i, weight) in weights.iter_mut().enumerate().take(near.len()) {
            *weight = 1.0;
            for (j, other) in near.iter().enumerate() {
                if j != i {
                    *weight *= (x - other) / (near[i] - other);
                }
            }
        }
        Self { first, weights }
    }

    /// The nodes it goes through, each with its weight.
    pub fn weights(self) -> impl Iterator<Item = (usize, f64)> {
        self.weights.into_iter().enumerate().map(move |(i, weight)| (self.first + i, weight))
    }

    /// Value of a curve whose value at node `i` is `value(i)`.
    #[inline]
    pub fn of(&self, value: impl Fn(usize) -> f64) -> f64 {
        self.weights.iter().enumerate().map(|(i, weight)| weight * value(self.first + i)).sum()
    }
}

/// Value at `x` of the cubic through the four nearest of at least four nodes.
#[inline]
pub fn cubic_through_nearest(nodes: &[f64], values: &[f64], x: f64) -> f64 {
    NearestCubic::new(nodes, x).of(|i| values[i])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cubic_is_met_exactly_whichever_way_the_nodes_run() {
        let cubic = |x: f64| 1.0 - 2.0 * x + 0.5 * x * x - 0.25 * x.powi(3);
        let rising = [0.0, 1.0, 2.5, 3.0, 4.0, 6.0];
        let mut falling = rising;
        falling.reverse();
        for nodes in [rising, falling] {
            let values = nodes.map(cubic);
            for x in [-0.5, 0.0, 0.3, 2.5, 3.7, 5.9, 6.0, 6.5] {
                let found = cubic_through_nearest(&nodes, &values, x);
                assert!((found - cubic(x)).abs() < 1e-10, "{x}: {found}");
            }
        }
    }
}
