//! What was made once and is kept. Never lets what it hands out depend on which thread came first.

use std::collections::HashMap;
use std::hash::{BuildHasher, Hash, RandomState};
use std::sync::RwLock;

/// A table that many threads read and few write, in parts so that they seldom wait for each other.
pub(super) struct Memo<K, V> {
    parts: Vec<RwLock<HashMap<K, V>>>,
    hasher: RandomState,
}

impl<K: Eq + Hash, V: Clone> Memo<K, V> {
    pub fn new() -> Memo<K, V> {
        Memo { parts: (0..16).map(|_| RwLock::default()).collect(), hasher: RandomState::new() }
    }

    /// What stands under `key`, made when nothing does. Two threads may make the same thing at once; both get what the first
    /// put down.
    pub fn get_or_make(&self, key: K, make: impl FnOnce() -> V) -> V {
        let part = &self.parts[self.hasher.hash_one(&key) as usize % self.parts.len()];
        if let Ok(part) = part.read()
            && let Some(value) = part.get(&key)
        {
            return value.clone();
        }
        let value = make();
        match part.write() {
            Ok(mut part) => part.entry(key).or_insert(value).clone(),
            Err(_) => value,
        }
    }
}
