//! Small typed indices, and a vector that can only be indexed by its own kind.

use std::fmt;
use std::marker::PhantomData;
use std::ops::{Index, IndexMut};

/// A dense index that names one kind of thing.
pub trait Id: Copy + Eq + Ord + fmt::Debug {
    /// Makes the id of the `ix`-th thing.
    fn at(ix: usize) -> Self;
    /// The position of the thing in its arena.
    fn ix(self) -> usize;
}

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub u16);
        impl Id for $name {
            fn at(ix: usize) -> Self {
                Self(u16::try_from(ix).expect("files are limited to fewer than 65 536 of a kind"))
            }
            fn ix(self) -> usize {
                usize::from(self.0)
            }
        }
    };
}

id!(/** A tank or station on the line. */ TankId);
id!(/** A stage: interchangeable tanks for one treatment, or one kind of standby. */ StageId);
id!(/** A hoist (crane). */ HoistId);
id!(/** A rectifier. */ RectifierId);
id!(/** A recipe. */ RecipeId);
id!(/** An order. */ OrderId);
id!(/** A carrier (flight bar) of this shift. */ CarrierId);
id!(/** A step of a recipe, counted from 0. */ StepNo);

impl StepNo {
    /// The step after this one; it may lie past the recipe's end.
    #[must_use]
    pub fn next(self) -> Self {
        Self(self.0 + 1)
    }
}

/// The number of an event in its journal, counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Seq(pub u64);

/// Things of one kind, addressed by their id.
#[derive(Clone, PartialEq, Eq)]
pub struct Arena<I, T> {
    items: Vec<T>,
    kind: PhantomData<I>,
}

impl<I: Id, T> Arena<I, T> {
    /// Takes the things in id order.
    pub fn new(items: Vec<T>) -> Self {
        Self { items, kind: PhantomData }
    }
    /// Adds one more thing and says which id it got.
    pub fn push(&mut self, item: T) -> I {
        self.items.push(item);
        I::at(self.items.len() - 1)
    }
    /// How many there are.
    pub fn len(&self) -> usize {
        self.items.len()
    }
    /// True if there are none.
    pub fn is_empty(&self) -> bool {
        self.items.is_empty()
    }
    /// All ids in order.
    pub fn ids(&self) -> impl DoubleEndedIterator<Item = I> + use<I, T> {
        (0..self.items.len()).map(I::at)
    }
    /// All things with their ids, in id order.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (I, &T)> {
        self.items.iter().enumerate().map(|(ix, item)| (I::at(ix), item))
    }
    /// The thing, if the id is one of this arena's.
    pub fn get(&self, id: I) -> Option<&T> {
        self.items.get(id.ix())
    }
    /// The id of the first thing that fits.
    pub fn find(&self, fits: impl Fn(&T) -> bool) -> Option<I> {
        self.items.iter().position(fits).map(I::at)
    }
}

impl<I: Id, T> Default for Arena<I, T> {
    fn default() -> Self {
        Self::new(Vec::new())
    }
}
impl<I: Id, T> Index<I> for Arena<I, T> {
    type Output = T;
    fn index(&self, id: I) -> &T {
        &self.items[id.ix()]
    }
}
impl<I: Id, T> IndexMut<I> for Arena<I, T> {
    fn index_mut(&mut self, id: I) -> &mut T {
        &mut self.items[id.ix()]
    }
}
impl<I, T: fmt::Debug> fmt::Debug for Arena<I, T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_list().entries(&self.items).finish()
    }
}
impl<I: Id, T> FromIterator<T> for Arena<I, T> {
    fn from_iter<It: IntoIterator<Item = T>>(iter: It) -> Self {
        Self::new(iter.into_iter().collect())
    }
}
