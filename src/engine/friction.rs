//! Friction mean effective pressure.

/// Published friction law.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FrictionLaw {
    /// Chen-Flynn form in peak pressure and piston speed.
    ChenFlynn,
    /// Quadratic in crank speed, motored, pumping included (Barnes-Moss 1975 by way of Heywood 1988).
    SpeedQuadratic,
}
