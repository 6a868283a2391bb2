//! The stream of one page: what changed since the last thing it was sent, and nothing else.

use std::collections::{HashSet, VecDeque};
use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use futures_util::stream;
use tokio::sync::{OwnedSemaphorePermit, watch};

use super::proofing::{Laid, Show};
use super::tiles::{self, Name};

/// A sign of life, so that neither side takes the other for gone.
const SIGN_OF_LIFE: Duration = Duration::from_secs(15);

/// What a page was told last.
#[derive(Default)]
struct Told {
    held: HashSet<Name>,
    laid: Option<Arc<Laid>>,
    trouble: Option<Arc<str>>,
    press: Option<Arc<str>>,
}

struct Page {
    show: watch::Receiver<Show>,
    press: watch::Receiver<Arc<str>>,
    told: Told,
    queue: VecDeque<Event>,
    _seat: OwnedSemaphorePermit,
}

/// An endless answer. `hello` is told first, as JSON; `seat` is given back when the page is gone.
pub fn stream(
    show: watch::Receiver<Show>,
    press: watch::Receiver<Arc<str>>,
    hello: String,
    seat: OwnedSemaphorePermit,
) -> Response {
    let mut page = Page { show, press, told: Told::default(), queue: VecDeque::new(), _seat: seat };
    page.queue.push_back(Event::default().event("hello").data(hello));
    page.look();
    let events = stream::unfold(page, |mut page| async move {
        while page.queue.is_empty() {
            let gone = tokio::select! {
                seen = page.show.changed() => seen.is_err(),
                seen = page.press.changed() => seen.is_err(),
            };
            if gone {
                return None;
            }
            page.look();
        }
        page.queue.pop_front().map(|event| (Ok::<Event, Infallible>(event), page))
    });
    Sse::new(events).keep_alive(KeepAlive::new().interval(SIGN_OF_LIFE)).into_response()
}

impl Page {
    /// Queues what is new. The dots go first: they are what is waited for.
    fn look(&mut self) {
        let show = self.show.borrow_and_update().clone();
        if let Some(laid) = show.laid {
            self.lay(&laid);
        }
        let trouble = show.trouble.map(|(json, _)| json);
        if trouble != self.told.trouble {
            self.queue.push_back(Event::default().event("trouble").data(trouble.as_deref().unwrap_or("null")));
            self.told.trouble = trouble;
        }
        let press = self.press.borrow_and_update().clone();
        if self.told.press.as_ref() != Some(&press) {
            self.queue.push_back(Event::default().event("press").data(&*press));
            self.told.press = Some(press);
        }
    }

    fn lay(&mut self, laid: &Arc<Laid>) {
        let before = self.told.laid.replace(laid.clone());
        let before = before.as_deref();
        if before.is_some_and(|before| std::ptr::eq(before, &**laid)) {
            return;
        }
        if before.is_none_or(|before| before.slips != laid.slips || before.strip.resolution != laid.strip.resolution) {
            let per_metre = laid.strip.resolution.dots_per_metre;
            let parcel = tiles::parcel(&laid.strip.bitmap, per_metre, &laid.slips, &self.told.held);
            self.queue.push_back(Event::default().event("strip").data(parcel));
            self.told.held = laid.slips.iter().map(|slip| slip.name).collect();
        }
        let parts = |laid: &Laid| [laid.facts.clone(), laid.findings.clone(), laid.boxes.clone()];
        let told = before.map(parts);
        for (index, (name, part)) in ["facts", "findings", "boxes"].into_iter().zip(parts(laid)).enumerate() {
            if told.as_ref().is_none_or(|told| told[index] != part) {
                self.queue.push_back(Event::default().event(name).data(&*part));
            }
        }
    }
}
