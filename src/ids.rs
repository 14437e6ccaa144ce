//! Numbers that say what they count, and lists that are indexed by their own numbers only.
//!
//! The number of a pocket cannot be used for a mark. Indexing by a number that a list does not have
//! is a mistake of this program, and panics: the file is then UNREAD, which fails closed. Skipping it
//! would silently lose a pocket or a mark. What may rightly be absent is an `Option` where it is
//! looked up.

use std::collections::HashMap;
use std::marker::PhantomData;
use std::ops::{Index, IndexMut};

/// What stands at a place of a slice or a text that this program has worked out itself.
///
/// Where the place comes from a file or a person, or may lie past the end, ask `get` instead.
pub(crate) trait At {
    /// What is at `place`, an index or a range.
    ///
    /// # Panics
    ///
    /// If there is nothing. A caller that went on would lose a part of the file without a word.
    #[track_caller]
    fn at<I>(&self, place: I) -> &Self::Output
    where
        Self: Index<I>,
    {
        &self[place]
    }

    /// The same, to be changed.
    ///
    /// # Panics
    ///
    /// As [`At::at`].
    #[track_caller]
    fn at_mut<I>(&mut self, place: I) -> &mut Self::Output
    where
        Self: IndexMut<I>,
    {
        &mut self[place]
    }
}

impl<T> At for [T] {}

impl At for str {}

/// By a key that this program has put in itself.
impl<K, V, S> At for HashMap<K, V, S> {}

/// A number that says what it counts, from 0.
pub trait Id: Copy {
    /// The number as one of these.
    fn new(number: usize) -> Self;

    /// The bare number.
    fn number(self) -> usize;
}

macro_rules! ids {
    ($($(#[$doc:meta])* $shown:vis $name:ident;)+) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        $shown struct $name(usize);

        impl Id for $name {
            fn new(number: usize) -> Self {
                Self(number)
            }

            fn number(self) -> usize {
                self.0
            }
        }
    )+};
}

ids! {
    /// A locked outline of a fixture, in the order of the lock.
    pub OutlineId;
    /// A pocket of a fixture, A1 first.
    pub PocketId;
    /// A mark of a file, in the order of the file.
    pub MarkId;
    /// A piece of art of a run, in the order of the run.
    pub ArtId;
    /// A contour of a run that could be an outline of its fixture.
    pub ContourId;
    /// An element of a text that holds characters, in the order of the text.
    pub(crate) OwnerId;
    /// A curve that letters of a text follow.
    pub(crate) TrackId;
    /// A face that a text is set in.
    pub(crate) FontId;
}

/// A list that is indexed by numbers of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct IdVec<I, T> {
    items: Vec<T>,
    of: PhantomData<I>,
}

impl<I: Id, T> IdVec<I, T> {
    /// Adds an item, and gives its number.
    pub fn push(&mut self, item: T) -> I {
        self.items.push(item);
        I::new(self.items.len() - 1)
    }

    /// How many items there are.
    pub fn len(&self) -> usize {
        self.items.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.items.is_empty()
    }

    /// The items in order.
    pub fn iter(&self) -> std::slice::Iter<'_, T> {
        self.items.iter()
    }

    /// The items in order, to be changed.
    pub fn iter_mut(&mut self) -> std::slice::IterMut<'_, T> {
        self.items.iter_mut()
    }

    /// The numbers in order.
    pub fn ids(&self) -> impl DoubleEndedIterator<Item = I> + ExactSizeIterator + use<I, T> {
        (0..self.items.len()).map(I::new)
    }

    /// The items in order, each with its number.
    pub fn pairs(&self) -> impl DoubleEndedIterator<Item = (I, &T)> + ExactSizeIterator {
        self.items
            .iter()
            .enumerate()
            .map(|(i, item)| (I::new(i), item))
    }

    /// A list of the same numbers with `value` for each.
    pub fn each<U: Clone>(&self, value: U) -> IdVec<I, U> {
        vec![value; self.items.len()].into()
    }

    /// The items as a slice, for what has no use for numbers.
    pub fn as_slice(&self) -> &[T] {
        &self.items
    }
}

impl<I, T> Default for IdVec<I, T> {
    fn default() -> Self {
        Vec::new().into()
    }
}

impl<I, T> From<Vec<T>> for IdVec<I, T> {
    fn from(items: Vec<T>) -> Self {
        Self {
            items,
            of: PhantomData,
        }
    }
}

impl<I, T> FromIterator<T> for IdVec<I, T> {
    fn from_iter<S: IntoIterator<Item = T>>(items: S) -> Self {
        Vec::from_iter(items).into()
    }
}

impl<I, T> IntoIterator for IdVec<I, T> {
    type Item = T;
    type IntoIter = std::vec::IntoIter<T>;

    fn into_iter(self) -> Self::IntoIter {
        self.items.into_iter()
    }
}

impl<'a, I, T> IntoIterator for &'a IdVec<I, T> {
    type Item = &'a T;
    type IntoIter = std::slice::Iter<'a, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.items.iter()
    }
}

#[allow(clippy::indexing_slicing)] // As for slices.
impl<I: Id, T> Index<I> for IdVec<I, T> {
    type Output = T;

    #[track_caller]
    fn index(&self, id: I) -> &T {
        &self.items[id.number()]
    }
}

#[allow(clippy::indexing_slicing)] // As for slices.
impl<I: Id, T> IndexMut<I> for IdVec<I, T> {
    #[track_caller]
    fn index_mut(&mut self, id: I) -> &mut T {
        &mut self.items[id.number()]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_those_of_the_list() {
        let mut names: IdVec<PocketId, &str> = ["A1", "A2"].into_iter().collect();
        let third = names.push("A3");
        assert_eq!(names[third], "A3");
        assert_eq!(names.ids().next_back(), Some(third));
        let found: Vec<usize> = names.pairs().map(|(id, _)| id.number()).collect();
        assert_eq!(found, [0, 1, 2]);
        let mut loaded = names.each(false);
        loaded[third] = true;
        assert_eq!(loaded.into_iter().collect::<Vec<_>>(), [false, false, true]);
    }

    #[test]
    #[should_panic(expected = "index out of bounds")]
    fn a_number_that_the_list_does_not_have_is_never_passed_over() {
        let names: IdVec<PocketId, &str> = ["A1"].into_iter().collect();
        let _ = names[PocketId::new(1)];
    }

    #[test]
    fn a_slice_and_a_text_give_what_is_there() {
        let mut all = [1, 2, 3];
        *all.at_mut(1) += 5;
        assert_eq!(all.at(1..), [7, 3]);
        assert_eq!("pocket".at(..4), "pock");
    }

    #[test]
    #[should_panic(expected = "out of range")]
    fn a_range_past_the_end_is_never_passed_over() {
        let _ = [1, 2, 3].at(2..5);
    }
}
