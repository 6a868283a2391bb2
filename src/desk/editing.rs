//! A hand laid on the picture: what stands there, the picture itself in colour, and the gestures that are written into the manual.
//!
//! It knows no Markdown and no file: a gesture goes to the [`Workshop`](super::Workshop), which writes it or says why not.

use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::Duration;

use axum::Router;
use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

use super::context::{Context, LARGEST_BODY, Shared, bad, pairs, told, waiting, wish, wish_of};
use super::guard::Refusal;
use super::workshop::{Found, Hold, Looked, Shown, Trouble, View};
use crate::edit::{Change, Way};

pub fn router() -> Router<Arc<Context>> {
    Router::new()
        .route("/begin", post(begin))
        .route("/edit/look", post(look))
        .route("/edit/revision", post(revision))
        .route("/edit/picture", get(picture))
        .route("/edit/change", post(change))
        .route("/edit/try", post(try_out))
        .route("/edit/mend", post(mend))
        .route("/edit/drop", post(drop_picture))
        .route("/edit/undo", post(undo))
        .route("/edit/redo", post(redo))
}

#[derive(Deserialize)]
struct Place {
    view: View,
    file: String,
    line: u32,
}

#[derive(Deserialize)]
struct Begun {
    what: String,
}

async fn begin(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let begun: Begun = wish(body).await?;
    let done = move || {
        context.workshop.begin(&begun.what)?;
        context.bench.stir();
        Ok(json!({}))
    };
    Ok(told(waiting(done).await))
}

async fn look(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let place: Place = wish(body).await?;
    let looked = move || {
        let looked = context.workshop.look(&place.view, &place.file, place.line)?;
        Ok(as_json(&looked, &place, !context.read_only))
    };
    Ok(told(waiting(looked).await))
}

/// What a page is told, with the addresses of the pictures.
fn as_json(looked: &Looked, place: &Place, writes: bool) -> Value {
    let address = |shown: &Option<Shown>, panel: usize| {
        let said = |text: &str| utf8_percent_encode(text, NON_ALPHANUMERIC).to_string();
        let [unit, printer] = [&place.view.unit, &place.view.printer].map(|name| said(name.as_deref().unwrap_or_default()));
        let (file, line, content) = (said(&place.file), place.line, &shown.as_ref()?.content);
        Some(format!("/edit/picture?unit={unit}&printer={printer}&file={file}&line={line}&panel={panel}&content={content}"))
    };
    let panels: Vec<Value> = looked
        .panels
        .iter()
        .enumerate()
        .map(|(number, panel)| {
            let shown = panel.shown.as_ref();
            json!({
                "line": panel.line,
                "columns": panel.columns,
                "picture": address(&panel.shown, number),
                "width": shown.map(|shown| shown.width),
                "height": shown.map(|shown| shown.height),
            })
        })
        .collect();
    let writable = match (&looked.fixed, writes) {
        (_, false) => json!(READ_ONLY),
        (Some(words), _) => json!(words),
        (None, true) => json!(true),
    };
    let shown = looked.shown.as_ref();
    json!({
        "kind": looked.kind,
        "block": { "file": place.file, "first": looked.line, "last": looked.last },
        "revision": looked.revision,
        "picture": address(&looked.shown, 0),
        "width": shown.map(|shown| shown.width),
        "height": shown.map(|shown| shown.height),
        "mm": looked.mm,
        "column_mm": looked.column_mm,
        "screen": looked.screen,
        "background": looked.background,
        "crop": looked.crop,
        "view": looked.view,
        "callouts": looked.callouts.iter().map(|callout| json!({ "at": callout.at, "label": callout.label })).collect::<Vec<_>>(),
        "panel": looked.panel,
        "panels": panels,
        "balloons": looked.balloons.iter().map(|balloon| json!({
            "panel": balloon.panel, "kind": balloon.kind, "text": balloon.text, "at": balloon.at, "to": balloon.tail,
        })).collect::<Vec<_>>(),
        "writable": writable,
        "paste": looked.paste,
        "undo": looked.undo,
        "redo": looked.redo,
    })
}

#[derive(Deserialize)]
struct Text {
    view: View,
    file: String,
}

async fn revision(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let text: Text = wish(body).await?;
    let revision = move || context.workshop.revision(&text.view, &text.file).map(|revision| json!({ "revision": revision }));
    Ok(told(waiting(revision).await))
}

async fn picture(State(context): Shared, request: Request) -> Result<Response, Refusal> {
    let mut view = View::default();
    let (mut file, mut line, mut panel) = (String::new(), 0u32, 0usize);
    for (name, value) in pairs(request.uri().query().unwrap_or_default())? {
        let some = Some(value.clone()).filter(|value| !value.is_empty());
        match name {
            "unit" => view.unit = some,
            "printer" => view.printer = some,
            "file" => file = value,
            "line" => line = value.parse().map_err(|_| bad("A line is a number."))?,
            "panel" => panel = value.parse().map_err(|_| bad("A panel is a number."))?,
            // Another picture under the same name is another address.
            "content" => {}
            _ => return Err(bad("A picture is named by unit, printer, file, line and panel, and nothing else.")),
        }
    }
    match waiting(move || context.workshop.coloured(&view, &file, line, panel)).await {
        Ok(picture) => Ok(([(header::CONTENT_TYPE, picture.kind)], picture.bytes).into_response()),
        Err(trouble) => Ok(told(Err(trouble))),
    }
}

#[derive(Deserialize)]
struct Gesture {
    file: String,
    line: u32,
    revision: String,
    change: Change,
    /// What would be written is shown, and not written.
    #[serde(default)]
    show: bool,
}

/// Said wherever something would be written.
pub const READ_ONLY: &str = "This desk was opened with --read-only: it writes nothing.";

/// What changes a file is done on a thread that may wait, and not at all on a desk that only shows.
async fn write<T: Serialize + Send + 'static>(
    context: Arc<Context>,
    act: impl FnOnce(&Context) -> Result<T, Trouble> + Send + 'static,
) -> Response {
    if context.read_only {
        return told(Err(Trouble::new(READ_ONLY).hint("open it without --read-only to write from here")));
    }
    told(waiting(move || act(&context).map(|written| json!(written))).await)
}

async fn change(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let gesture: Gesture = wish(body).await?;
    let hold = Hold { file: gesture.file, line: gesture.line, revision: gesture.revision };
    if gesture.show {
        return Ok(write(context, move |context| context.workshop.difference(&hold, &gesture.change)).await);
    }
    Ok(write(context, move |context| context.workshop.change(&hold, &gesture.change)).await)
}

/// After so long without another a gesture that was tried is taken back: its page may be gone.
const TRIED: Duration = Duration::from_secs(10);

#[derive(Deserialize)]
struct Trial {
    file: String,
    line: u32,
    revision: String,
    change: Option<Change>,
}

/// What a hand is about to do, as the strip would be: while it moves, nothing is written.
async fn try_out(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let Trial { file, line, revision, change }: Trial = wish(body).await?;
    if context.read_only {
        return Ok(told(Err(Trouble::new(READ_ONLY))));
    }
    let hold = Hold { file, line, revision };
    let this = 1 + context.tries.fetch_add(1, Ordering::SeqCst);
    let trying = change.is_some();
    let shop = context.clone();
    let tried = waiting(move || shop.workshop.try_out(change.as_ref().map(|change| (&hold, change)))).await;
    context.bench.stir();
    if trying && tried.is_ok() {
        tokio::spawn(async move {
            tokio::time::sleep(TRIED).await;
            if context.tries.load(Ordering::SeqCst) == this && context.workshop.try_out(None).is_ok() {
                context.bench.stir();
            }
        });
    }
    Ok(told(tried.map(|()| json!({}))))
}

#[derive(Deserialize)]
struct Mending {
    view: View,
    finding: Found,
}

async fn mend(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let mending: Mending = wish(body).await?;
    if context.read_only {
        return Ok(told(Ok(json!([]))));
    }
    Ok(told(waiting(move || context.workshop.mends(&mending.view, &mending.finding).map(|mends| json!(mends))).await))
}

/// Largest picture that can be dropped, bytes.
const LARGEST_PICTURE: usize = 24 << 20;

#[derive(Deserialize)]
struct Dropped {
    file: String,
    line: u32,
    revision: String,
    name: String,
    /// Base64.
    data: String,
}

async fn drop_picture(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    // Four letters for three bytes, and the rest of the wish.
    let dropped: Dropped = wish_of(body, LARGEST_PICTURE / 3 * 4 + LARGEST_BODY).await?;
    let bytes = STANDARD.decode(&dropped.data).map_err(|_| bad("The picture is not written as base64."))?;
    let hold = Hold { file: dropped.file, line: dropped.line, revision: dropped.revision };
    Ok(write(context, move |context| context.workshop.put_picture(&hold, &dropped.name, &bytes)).await)
}

#[derive(Deserialize)]
struct Named {
    file: String,
}

async fn undo(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let named: Named = wish(body).await?;
    Ok(write(context, move |context| context.workshop.turn_back(&named.file, Way::Undo)).await)
}

async fn redo(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let named: Named = wish(body).await?;
    Ok(write(context, move |context| context.workshop.turn_back(&named.file, Way::Redo)).await)
}
