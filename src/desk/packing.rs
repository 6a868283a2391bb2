//! The packing page: lines of a scanner go to the bench behind it, and what the bench says comes back as it is said.
//!
//! It knows no unit and no printer: a [`PackingBench`] is handed to the desk, and the page shows its screen. The guard before it is the desk's.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::body::Body;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use futures_util::stream;
use serde::Deserialize;
use serde_json::{Value, json};

use super::context::{Context, Shared, told, waiting, wish};
use super::guard::Refusal;
use super::page;
use super::workshop::PackingBench;

/// A sign of life, so that neither side takes the other for gone.
const SIGN_OF_LIFE: Duration = Duration::from_secs(15);

pub fn router() -> Router<Arc<Context>> {
    Router::new()
        .route("/pack", get(front))
        .route("/pack/live", get(screens))
        .route("/pack/begin", post(begin))
        .route("/pack/scan", post(scan))
}

fn bench(context: &Context) -> Result<Arc<dyn PackingBench>, Refusal> {
    context.packing.clone().ok_or_else(|| {
        let words = "This desk does not pack. Start it with --units, --to and --ledger: then it can.";
        Refusal::new(StatusCode::NOT_FOUND, words)
    })
}

async fn front(State(context): Shared) -> Result<Response, Refusal> {
    bench(&context)?;
    let page = page::PACKING.replace(page::KEY_PLACE, &context.key);
    Ok(([(header::CONTENT_TYPE, "text/html; charset=utf-8")], page).into_response())
}

async fn begin(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let bench = bench(&context)?;
    let _: Value = wish(body).await?;
    Ok(told(waiting(move || bench.begin().map(|()| json!({}))).await))
}

#[derive(Deserialize)]
struct Scanned {
    line: String,
}

async fn scan(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let bench = bench(&context)?;
    let scanned: Scanned = wish(body).await?;
    Ok(told(bench.scan(&scanned.line).map(|()| json!({}))))
}

async fn screens(State(context): Shared) -> Result<Response, Refusal> {
    let mut screens = bench(&context)?.screens();
    let seat =
        context.pages.clone().try_acquire_owned().map_err(|_| {
            Refusal::new(StatusCode::SERVICE_UNAVAILABLE, "Too many pages of this desk are open. Close one first.")
        })?;
    screens.mark_changed();
    let events = stream::unfold((screens, seat), |(mut screens, seat)| async move {
        screens.changed().await.ok()?;
        let screen = screens.borrow_and_update().clone();
        Some((Ok::<Event, Infallible>(Event::default().event("screen").data(&*screen)), (screens, seat)))
    });
    Ok(Sse::new(events).keep_alive(KeepAlive::new().interval(SIGN_OF_LIFE)).into_response())
}
