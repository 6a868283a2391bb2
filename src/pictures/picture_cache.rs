//! A bounded store: keeps what was made last and forgets the oldest. Knows nothing of what it keeps.

use std::collections::{HashMap, VecDeque};
use std::hash::Hash;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// What was made last, up to a number of bytes.
pub struct PictureCache<K, V> {
    kept: HashMap<K, (V, usize)>,
    order: VecDeque<K>,
    bytes: usize,
    limit: usize,
}

impl<K: Eq + Hash + Clone, V> PictureCache<K, V> {
    /// Empty, for at most `limit` bytes.
    pub fn new(limit: usize) -> PictureCache<K, V> {
        PictureCache { kept: HashMap::new(), order: VecDeque::new(), bytes: 0, limit }
    }

    /// What was put for the key, if it is still kept.
    pub fn get<Q: Eq + Hash + ?Sized>(&self, key: &Q) -> Option<&V>
    where
        K: std::borrow::Borrow<Q>,
    {
        self.kept.get(key).map(|(value, _)| value)
    }

    /// Keeps a value of so many bytes, and lets go of the oldest that are then too many.
    pub fn put(&mut self, key: K, value: V, bytes: usize) {
        match self.kept.insert(key.clone(), (value, bytes)) {
            Some((_, before)) => self.bytes -= before,
            None => self.order.push_back(key),
        }
        self.bytes += bytes;
        while self.bytes > self.limit {
            let Some(oldest) = self.order.pop_front() else { break };
            if let Some((_, freed)) = self.kept.remove(&oldest) {
                self.bytes -= freed;
            }
        }
    }
}

/// A store is whole after every change, so one that a panicking thread held is still good.
pub fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
