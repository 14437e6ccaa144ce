//! Limits of what is read. A file that exceeds one of them is refused, and the limit is named.

/// The largest file that is read, in bytes, and the largest text that it may unpack to. Artwork with
/// pictures inside reaches tens of megabytes; beyond this a small compressed file could fill the
/// memory.
pub(crate) const LARGEST: u64 = 256 * 1024 * 1024;

/// How deep elements may nest. Drawings nest some ten deep; libraries that walk a tree by calling
/// themselves run out of stack in the thousands.
pub const DEEPEST: usize = 1_000;

/// How many attributes an element may have. The parser compares each with each other one: 70,000 take
/// it seconds.
pub const MOST_ATTRIBUTES: usize = 2_000;

/// How many elements, texts and comments a file may have. At some 90 bytes each this is 360 MB.
pub(crate) const MOST_NODES: u32 = 4_000_000;

/// How many bytes entities may grow to, all uses together.
pub(crate) const MOST_EXPANDED: u64 = 64 * 1024 * 1024;

/// How many comparisons of attribute and namespace names the parser may be put to: some seconds.
pub(crate) const MOST_WORK: u64 = 1_000_000_000;

/// Nesting, `use` included, beyond which a file is refused. Each level takes a few kilobytes of
/// stack; the pipeline runs on a thread that has them.
pub(crate) const MAX_DEPTH: usize = 2_000;

/// Elements after `use` expansion beyond which a file is refused: a few nested `use` can stand for
/// billions.
pub(crate) const MAX_ELEMENTS: usize = 2_000_000;

/// Points of outlines, `use` expansion counted, beyond which a file is refused: a clone of a large
/// outline costs as much memory as the outline. At some 60 bytes each this is over half a gigabyte.
pub(crate) const MAX_POINTS: usize = 10_000_000;
