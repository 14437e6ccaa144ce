//! The rules.

pub mod names;

use crate::finding::{Severity, Stake};

/// What is fixed about a rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Info {
    /// Its name, the only code it has.
    pub name: &'static str,
    /// What it does to the verdict.
    pub severity: Severity,
    /// What is at stake.
    pub stake: Stake,
    /// Its page.
    pub page: &'static str,
}
