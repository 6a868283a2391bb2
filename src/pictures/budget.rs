//! A budget of memory for what is under way: who wants much waits until there is room. Knows nothing of what it is spent on.
//!
//! Whoever holds a share must not use the thread pool: a thread of the pool that waits there could be the one that is waited for.

use std::sync::{Condvar, Mutex, PoisonError};

pub struct Budget {
    all: u64,
    free: Mutex<u64>,
    given_back: Condvar,
}

/// Given back when dropped.
pub struct Share<'b> {
    budget: &'b Budget,
    bytes: u64,
}

impl Budget {
    /// Of so many bytes.
    pub fn new(all: u64) -> Budget {
        Budget { all, free: Mutex::new(all), given_back: Condvar::new() }
    }

    /// Waits until there is room for so many bytes. What is larger than the budget has it all, and is alone.
    pub fn take(&self, bytes: u64) -> Share<'_> {
        let bytes = bytes.min(self.all);
        let free = self.free.lock().unwrap_or_else(PoisonError::into_inner);
        let mut free = self.given_back.wait_while(free, |free| *free < bytes).unwrap_or_else(PoisonError::into_inner);
        *free -= bytes;
        Share { budget: self, bytes }
    }
}

impl Drop for Share<'_> {
    fn drop(&mut self) {
        *self.budget.free.lock().unwrap_or_else(PoisonError::into_inner) += self.bytes;
        self.budget.given_back.notify_all();
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicU64, Ordering};

    use super::*;

    #[test]
    fn never_more_is_under_way_than_the_budget_has() {
        let budget = Budget::new(100);
        let (now, most) = (AtomicU64::new(0), AtomicU64::new(0));
        std::thread::scope(|scope| {
            for thread in 0..8 {
                let (budget, now, most) = (&budget, &now, &most);
                scope.spawn(move || {
                    for turn in 0..200 {
                        let bytes = (thread * 37 + turn * 11) % 140;
                        let share = budget.take(bytes);
                        most.fetch_max(now.fetch_add(share.bytes, Ordering::SeqCst) + share.bytes, Ordering::SeqCst);
                        std::thread::yield_now();
                        now.fetch_sub(share.bytes, Ordering::SeqCst);
                    }
                });
            }
        });
        let most = most.into_inner();
        assert!((50..=100).contains(&most), "{most}");
        assert_eq!(*budget.free.lock().unwrap(), 100, "all was given back");
    }
}
