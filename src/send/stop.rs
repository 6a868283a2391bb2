//! How a person ends a run: once, and it ends when the strip under way is out; twice, and it ends at once.

use std::sync::Arc;
use std::sync::atomic::{AtomicU8, Ordering};

/// A shared wish to stop. Clones share it; every wait of the room looks at it many times a second.
#[derive(Clone, Debug, Default)]
pub struct Stop {
    asked: Arc<AtomicU8>,
}

impl Stop {
    pub fn new() -> Stop {
        Stop::default()
    }

    /// Asks once more. Returns how often it has been asked by now.
    pub fn ask(&self) -> u8 {
        let before = self.asked.fetch_update(Ordering::SeqCst, Ordering::SeqCst, |asked| Some(asked.saturating_add(1)));
        before.unwrap_or(u8::MAX).saturating_add(1)
    }

    /// The run ends before the next strip.
    pub fn after_this_strip(&self) -> bool {
        self.asked.load(Ordering::SeqCst) >= 1
    }

    /// The run ends now, in the middle of a strip if need be.
    pub fn at_once(&self) -> bool {
        self.asked.load(Ordering::SeqCst) >= 2
    }

    /// Turns every Ctrl-C of this process into one `ask`, and likewise every wish of the system or of a closing terminal that it end
    /// (SIGTERM, SIGHUP), on a thread of its own, and calls `heard` with the count so that the person gets an answer. The third ends
    /// the process with exit code 130: the ledger survives that as it survives a kill.
    ///
    /// # Errors
    /// When the system gives neither a thread nor a signal handler.
    pub fn listen(&self, mut heard: impl FnMut(u8) + Send + 'static) -> std::io::Result<()> {
        let stop = self.clone();
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
        let mut wishes = {
            // Handlers are set up within the runtime, and before this returns.
            let _entered = runtime.enter();
            Wishes::new()?
        };
        std::thread::Builder::new().name("stop".to_owned()).spawn(move || {
            runtime.block_on(async {
                while wishes.next().await {
                    let times = stop.ask();
                    heard(times);
                    if times >= 3 {
                        std::process::exit(130);
                    }
                }
            });
        })?;
        Ok(())
    }
}

/// The signals that ask a program to end.
#[cfg(unix)]
struct Wishes([tokio::signal::unix::Signal; 3]);

#[cfg(unix)]
impl Wishes {
    fn new() -> std::io::Result<Wishes> {
        use tokio::signal::unix::{SignalKind, signal};
        Ok(Wishes([signal(SignalKind::interrupt())?, signal(SignalKind::terminate())?, signal(SignalKind::hangup())?]))
    }

    async fn next(&mut self) -> bool {
        let [interrupt, terminate, hangup] = &mut self.0;
        tokio::select! {
            came = interrupt.recv() => came.is_some(),
            came = terminate.recv() => came.is_some(),
            came = hangup.recv() => came.is_some(),
        }
    }
}

#[cfg(not(unix))]
struct Wishes;

#[cfg(not(unix))]
impl Wishes {
    fn new() -> std::io::Result<Wishes> {
        Ok(Wishes)
    }

    async fn next(&mut self) -> bool {
        tokio::signal::ctrl_c().await.is_ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn once_is_after_the_strip_and_twice_is_at_once() {
        let stop = Stop::new();
        let shared = stop.clone();
        assert!(!stop.after_this_strip() && !stop.at_once());
        assert_eq!(shared.ask(), 1);
        assert!(stop.after_this_strip() && !stop.at_once());
        assert_eq!(shared.ask(), 2);
        assert!(stop.at_once());
    }
}
