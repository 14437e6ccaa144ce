//! Where in the file something stands.

use std::borrow::Cow;
use std::ops::Range;
use std::sync::Arc;

/// Where a mark came from.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Origin {
    /// Bytes of the element in the decoded source.
    pub range: Range<usize>,
    /// The element's local name, "path" say.
    pub element: Cow<'static, str>,
    /// The element's id.
    pub id: Option<String>,
    /// Whether it is the page itself.
    pub root: bool,
    /// Layers around it, outermost first.
    pub layers: Arc<Vec<Layer>>,
    /// Byte ranges of the `use` elements that brought it here, outermost first.
    pub uses: Arc<Vec<Range<usize>>>,
}

/// A layer: a group that an editor marked as one.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Layer {
    /// The name that the editor shows.
    pub name: String,
    /// Whether the editor's lock is on.
    pub locked: bool,
}
