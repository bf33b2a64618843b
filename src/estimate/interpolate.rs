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
            *weight = lagrange_weight(near, i, x);
        }
        Self { first, weights }
    }

    /// The nodes it goes through, each with its weight.
    pub fn weights(self) -> impl Iterator<Item = (usize, f64)> + Clone {
        self.weights.into_iter().enumerate().map(move |(i, weight)| (self.first + i, weight))
    }

    /// Value of a curve whose value at node `i` is `value(i)`.
    #[inline]
    pub fn of(&self, value: impl Fn(usize) -> f64) -> f64 {
        self.weights.iter().enumerate().map(|(i, weight)| weight * value(self.first + i)).sum()
    }
}

/// Weight of node `i` at `x` in the polynomial through all nodes, by Lagrange's form.
#[inline]
fn lagrange_weight(nodes: &[f64], i: usize, x: f64) -> f64 {
    let (mut here, mut there) = (1.0, 1.0);
    for (j, other) in nodes.iter().enumerate() {
        if j != i {
            here *= x - other;
            there *= nodes[i] - other;
        }
    }
    here / there
}

/// Weight of each node at `x` in the polynomial through all of them.
pub fn lagrange_weights<const N: usize>(nodes: &[f64; N], x: f64) -> [f64; N] {
    std::array::from_fn(|i| lagrange_weight(nodes, i, x))
}

/// The cubic of [`NearestCubic`] between two neighbouring nodes, in Newton's form: cheap to ask many times.
#[derive(Clone, Copy, Debug)]
pub struct CubicPiece {
    nodes: [f64; 4],
    divided: [f64; 4],
}

impl CubicPiece {
    /// The piece that ends at node `end` of at least four, from the one before it.
    pub fn to_node<const N: usize>(nodes: &[f64; N], values: &[f64; N], end: usize) -> Self {
        let first = end.saturating_sub(2).min(N - 4);
        let nodes: [f64; 4] = std::array::from_fn(|i| nodes[first + i]);
        let mut divided: [f64; 4] = std::array::from_fn(|i| values[first + i]);
        for order in 1..4 {
            for i in (order..4).rev() {
                divided[i] = (divided[i] - divided[i - 1]) / (nodes[i] - nodes[i - order]);
            }
        }
        Self { nodes, divided }
    }

    /// Its value at a place.
    #[inline]
    pub fn at(&self, x: f64) -> f64 {
        let [a, b, c, d] = self.divided;
        a + (x - self.nodes[0]) * (b + (x - self.nodes[1]) * (c + (x - self.nodes[2]) * d))
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

    #[test]
    fn a_piece_is_the_cubic_through_the_nearest() {
        let nodes = [8.0, 3.0, -2.0, -7.0, -13.0, -20.0];
        let values = [0.3, 1.7, 1.1, -0.4, 0.9, 2.2];
        for end in 1..6 {
            let piece = CubicPiece::to_node(&nodes, &values, end);
            for share in [0.01, 0.4, 0.99] {
                let x = nodes[end] + share * (nodes[end - 1] - nodes[end]);
                assert!((piece.at(x) - cubic_through_nearest(&nodes, &values, x)).abs() < 1e-12, "{x}");
            }
        }
    }
}
