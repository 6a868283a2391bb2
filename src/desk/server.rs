//! What is answered: the page, its stream, and the few wishes that change something. Every refusal says why.

use std::sync::Arc;

use axum::Router;
use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::request::Parts;
use axum::http::{StatusCode, header};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};
use serde::Deserialize;
use serde_json::{Value, json};

use super::context::{BODY, Context, MOST_PAGES, Shared, bad, drain, pairs, told, waiting, wish};
use super::guard::{self, Refusal, admit, harden};
use super::live;
use super::proofing::MOST_VIEWS;
use super::workshop::{Form, NamedStrip, Trouble, View, Wish};
use super::{editing, packing, page};
use crate::send::Verdict;
use crate::type_setting::font_file;

pub fn router(context: Arc<Context>) -> Router {
    let mut router = Router::new()
        .route("/", get(front))
        .route("/live", get(stream))
        .route("/copy.html", get(|context: Shared| copy(context, Form::Page)))
        .route("/copy.pdf", get(|context: Shared| copy(context, Form::Pdf)))
        .route("/open", post(open))
        .route("/samples", post(samples))
        .route("/turned", post(turned))
        .route("/gather/plan", post(lacking))
        .route("/gather/start", post(gather))
        .route("/print/plan", post(plan))
        .route("/print/start", post(start))
        .route("/print/stop", post(stop))
        .route("/print/settle", post(settle));
    for file in &page::FILES {
        router = router.route(file.path, get(async || ([(header::CONTENT_TYPE, file.kind)], file.text)));
    }
    for path in page::FACES {
        // They are the program's own, and large: a browser may keep them.
        let headers = [(header::CONTENT_TYPE, "font/sfnt"), (header::CACHE_CONTROL, "private, max-age=86400")];
        let bytes = font_file(&path[1..]).unwrap_or_default();
        router = router.route(path, get(async move || (headers, bytes)));
    }
    router
        .merge(packing::router())
        .merge(editing::router())
        .fallback(nothing)
        .method_not_allowed_fallback(async || Refusal::new(StatusCode::METHOD_NOT_ALLOWED, "This address is not asked that way."))
        .layer(middleware::from_fn_with_state(context.clone(), guarded))
        .with_state(context)
}

async fn guarded(State(context): Shared, request: Request, next: Next) -> Response {
    let (parts, body) = request.into_parts();
    match admit(&parts, context.port, &context.pass, &context.key) {
        Ok(()) if guard::entrance(&parts).is_some() => let_in(&context, &parts),
        Ok(()) => harden(next.run(Request::from_parts(parts, body)).await),
        Err(refusal) => {
            // What it still has to say is of no interest; that it is refused is.
            let _ = tokio::time::timeout(BODY, drain(body, 0)).await;
            refusal.into_response()
        }
    }
}

/// The first coming of a browser: the secret of the address is good for one, who gets the cookie and is led to the page.
fn let_in(context: &Context, parts: &Parts) -> Response {
    let brought = guard::entrance(parts).unwrap_or_default();
    let mut right = false;
    context.entrance.send_if_modified(|secret| {
        let fresh = if guard::same(brought.as_bytes(), secret.as_bytes()) { super::secret().ok() } else { None };
        right = fresh.is_some();
        fresh.map(|fresh| *secret = fresh).is_some()
    });
    if !right && !guard::known(&parts.headers, context.port, &context.pass) {
        let words =
            "This address was used already, or is of a desk that was closed. A new one stands in the terminal of the desk.";
        return Refusal::new(StatusCode::FORBIDDEN, words).into_response();
    }
    let cookie = format!("{}={}; HttpOnly; SameSite=Strict; Path=/", guard::pass_name(context.port), context.pass);
    harden((StatusCode::SEE_OTHER, [(header::LOCATION, "/".to_owned()), (header::SET_COOKIE, cookie)]).into_response())
}

async fn front(State(context): Shared) -> impl IntoResponse {
    let page = page::PAGE.replace(page::KEY_PLACE, &context.key).replace(page::PDF_PLACE, &page::pdf());
    ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], page)
}

/// The lasting copy, under the policy that it brings: it has its style in itself, its pictures too, and no script.
async fn copy(State(context): Shared, form: Form) -> Response {
    match waiting(move || context.workshop.copy(form)).await {
        Ok(file) => {
            let kind = match form {
                Form::Page => "text/html; charset=utf-8",
                Form::Pdf => "application/pdf",
            };
            // RFC 6266: looked at where it is; saved, it has the manual's name.
            let named = format!("inline; filename*=UTF-8''{}", utf8_percent_encode(&file.name, NON_ALPHANUMERIC));
            let headers = [
                (header::CONTENT_TYPE, kind),
                (header::CONTENT_SECURITY_POLICY, guard::POLICY_OF_COPIES),
                (header::CONTENT_DISPOSITION, &named),
            ];
            (headers, file.bytes).into_response()
        }
        Err(trouble) => {
            let words = [Some(trouble.message), trouble.hint].into_iter().flatten().collect::<Vec<_>>().join("\n");
            (StatusCode::CONFLICT, [(header::CONTENT_TYPE, "text/plain; charset=utf-8")], words).into_response()
        }
    }
}

async fn nothing() -> Refusal {
    Refusal::new(StatusCode::NOT_FOUND, "Nothing is here. The desk serves its own page and the strip, never a file by its path.")
}

async fn stream(State(context): Shared, request: Request) -> Result<Response, Refusal> {
    let view = view(request.uri().query().unwrap_or_default())?;
    let seat = context.pages.clone().try_acquire_owned().map_err(|_| {
        Refusal::new(StatusCode::SERVICE_UNAVAILABLE, format!("{MOST_PAGES} pages of this desk are open. Close one first."))
    })?;
    let show = context.bench.look(view).ok_or_else(|| {
        let words = format!("{MOST_VIEWS} different strips are being watched. Close a page of one first.");
        Refusal::new(StatusCode::SERVICE_UNAVAILABLE, words)
    })?;
    let hello = json!({ "session": context.session, "editor": context.editor.is_some(), "writes": !context.read_only });
    Ok(live::stream(show, context.press.news(), hello.to_string(), seat))
}

/// `unit=KEY&printer=NAME`, either left out or empty for the manual's own choice.
fn view(query: &str) -> Result<View, Refusal> {
    let mut view = View::default();
    for (name, value) in pairs(query)? {
        let value = Some(value).filter(|value| !value.is_empty());
        match name {
            "unit" => view.unit = value,
            "printer" => view.printer = value,
            _ => return Err(bad("A strip is chosen by unit and printer, nothing else.")),
        }
    }
    Ok(view)
}

#[derive(Deserialize)]
struct Place {
    file: String,
    line: u32,
}

async fn open(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let place: Place = wish(body).await?;
    let Some(editor) = context.editor.clone() else {
        let trouble = Trouble::new("No editor was named when the desk was started.")
            .hint("start the desk with --editor \"COMMAND {file} {line}\"");
        return Ok(told(Err(trouble)));
    };
    // Only what is on the desk can be opened, whatever path is asked for.
    let path = context.bench.names(&place.file).then(|| context.workshop.path_of(&place.file)).flatten();
    let Some(path) = path else {
        return Err(Refusal::new(StatusCode::NOT_FOUND, "No file of this name is part of the manual on the desk."));
    };
    Ok(told(waiting(move || editor.open(&path, place.line.max(1)).map(|()| json!({})).map_err(Trouble::new)).await))
}

#[derive(Deserialize)]
struct Picture {
    view: View,
    file: String,
    line: u32,
}

async fn samples(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let picture: Picture = wish(body).await?;
    let made = move || context.workshop.samples(&picture.view, &picture.file, picture.line).map(|samples| json!(samples));
    Ok(told(waiting(made).await))
}

#[derive(Deserialize)]
struct Model {
    view: View,
    file: String,
    line: u32,
    /// Turn and tilt, degrees.
    at: Option<[f64; 2]>,
}

async fn turned(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let model: Model = wish(body).await?;
    let made = move || context.workshop.turned(&model.view, &model.file, model.line, model.at).map(|turned| json!(turned));
    Ok(told(waiting(made).await))
}

#[derive(Deserialize)]
struct Looked {
    view: View,
}

async fn lacking(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let looked: Looked = wish(body).await?;
    Ok(told(waiting(move || context.workshop.lacking(&looked.view).map(|lacking| json!(lacking))).await))
}

#[derive(Deserialize)]
struct Gathering {
    view: View,
    ticket: String,
}

async fn gather(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let asked: Gathering = wish(body).await?;
    if context.read_only {
        return Ok(told(
            Err(Trouble::new(editing::READ_ONLY).hint("run stripling gather, or open the desk without --read-only")),
        ));
    }
    let gathered = move || context.workshop.gather(&asked.view, &asked.ticket).map(|ending| json!({ "words": ending.words }));
    Ok(told(waiting(gathered).await))
}

async fn plan(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let wish: Wish = wish(body).await?;
    let ticket =
        super::secret().map_err(|_| Refusal::new(StatusCode::INTERNAL_SERVER_ERROR, "The system gives no random numbers."))?;
    Ok(told(waiting(move || context.press.plan(wish, ticket)).await))
}

#[derive(Deserialize)]
struct Yes {
    ticket: String,
}

async fn start(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let yes: Yes = wish(body).await?;
    Ok(told(waiting(move || context.press.start(&yes.ticket).map(|()| json!({}))).await))
}

async fn stop(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let _: Value = wish(body).await?;
    let stopped = context.press.stop().then(|| json!({}));
    Ok(told(stopped.ok_or_else(|| Trouble::new("No run is on its way."))))
}

#[derive(Deserialize)]
struct Found {
    strips: Vec<NamedStrip>,
    printed: bool,
}

async fn settle(State(context): Shared, body: Body) -> Result<Response, Refusal> {
    let found: Found = wish(body).await?;
    let verdict = if found.printed { Verdict::Printed } else { Verdict::Missing };
    Ok(told(waiting(move || context.press.settle(&found.strips, verdict).map(|()| json!({}))).await))
}
