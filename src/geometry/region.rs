//! Areas of the bed: what ink covers, what a zone allows.

use kurbo::Point;

/// A set of closed rings, filled by the non-zero rule.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Region {
    /// Closed rings; outer boundaries run one way, holes the other.
    pub rings: Vec<Vec<Point>>,
}
