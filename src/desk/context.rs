//! What every answer needs, and how wishes are read and answered.

use std::sync::Arc;
use std::sync::atomic::AtomicU64;
use std::time::Duration;

use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use futures_util::StreamExt;
use percent_encoding::percent_decode_str;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use tokio::sync::{Semaphore, watch};

use super::editor::Editor;
use super::guard::Refusal;
use super::printing::Press;
use super::proofing::Bench;
use super::workshop::{PackingBench, Trouble, Workshop};

/// Largest wish, bytes.
pub const LARGEST_BODY: usize = 16 * 1024;
/// How much more of too large a body is read and thrown away, so that the refusal is heard.
const DRAINED: usize = 8 << 20;
/// How long a body may take.
pub const BODY: Duration = Duration::from_secs(10);
/// Pages that may be open at once.
pub const MOST_PAGES: usize = 32;

/// What every answer needs.
pub struct Context {
    pub workshop: Arc<dyn Workshop>,
    pub bench: Arc<Bench>,
    pub press: Arc<Press>,
    pub editor: Option<Editor>,
    pub packing: Option<Arc<dyn PackingBench>>,
    /// Nothing is written into the manual or beside it.
    pub read_only: bool,
    /// How often a gesture was tried: the last one is taken back when nothing follows.
    pub tries: AtomicU64,
    pub port: u16,
    /// Lets a browser in, once; then there is another.
    pub entrance: watch::Sender<String>,
    /// The cookie of a browser that was let in; new with every start.
    pub pass: String,
    /// Lets a page change something; new with every start.
    pub key: String,
    /// Names this start of the desk, so that a page of an earlier one notices.
    pub session: String,
    pub pages: Arc<Semaphore>,
}

pub type Shared = State<Arc<Context>>;

/// On a thread that may wait for the disk and for printers.
pub async fn waiting<T: Send + 'static>(work: impl FnOnce() -> Result<T, Trouble> + Send + 'static) -> Result<T, Trouble> {
    tokio::task::spawn_blocking(work).await.unwrap_or_else(|_| Err(Trouble::new("The program stumbled over this wish.")))
}

/// What came of a wish, as JSON; `{ "refused": trouble }` where it was understood and is not granted. That is an answer and no failure of
/// the request: a browser would write one into its console.
pub fn told(result: Result<Value, Trouble>) -> Response {
    let value = result.unwrap_or_else(|trouble| json!({ "refused": trouble }));
    let mut response = value.to_string().into_response();
    response.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static("application/json"));
    response
}

/// A body of at most [`LARGEST_BODY`], read as JSON.
pub async fn wish<T: DeserializeOwned>(body: Body) -> Result<T, Refusal> {
    wish_of(body, LARGEST_BODY).await
}

/// A body of at most so many bytes, read as JSON.
pub async fn wish_of<T: DeserializeOwned>(body: Body, most: usize) -> Result<T, Refusal> {
    let bytes = tokio::time::timeout(BODY, drain(body, most)).await.map_err(|_| {
        Refusal::new(StatusCode::REQUEST_TIMEOUT, format!("The wish took longer than {} seconds.", BODY.as_secs()))
    })?;
    let bytes = bytes.ok_or_else(|| Refusal::new(StatusCode::PAYLOAD_TOO_LARGE, format!("A wish has at most {most} bytes.")))?;
    serde_json::from_slice(&bytes).map_err(|error| bad(&format!("This wish cannot be read: {error}")))
}

/// The whole body if it has at most `most` bytes. What is more is thrown away, up to a limit, so that the other side has said its
/// piece and hears the answer.
pub async fn drain(body: Body, most: usize) -> Option<Vec<u8>> {
    let mut stream = body.into_data_stream();
    let (mut kept, mut size) = (Vec::new(), 0usize);
    while let Ok(Some(Ok(bytes))) = tokio::time::timeout(BODY, stream.next()).await {
        let bytes: Bytes = bytes;
        size += bytes.len();
        if size <= most {
            kept.extend_from_slice(&bytes);
        } else if size > DRAINED {
            break;
        }
    }
    (size <= most).then_some(kept)
}

pub fn bad(words: &str) -> Refusal {
    Refusal::new(StatusCode::BAD_REQUEST, words)
}

/// Names and values of a query.
pub fn pairs(query: &str) -> Result<Vec<(&str, String)>, Refusal> {
    let pair = |pair| {
        let (name, value): (&str, &str) = str::split_once(pair, '=').unwrap_or((pair, ""));
        let value = percent_decode_str(value).decode_utf8().map_err(|_| bad("The address is not UTF-8."))?;
        Ok((name, value.into_owned()))
    };
    query.split('&').filter(|pair| !pair.is_empty()).map(pair).collect()
}
