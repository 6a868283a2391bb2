//! Who may ask: pages that this desk itself has served, on this machine, and nobody else. Every refusal is in words.

use axum::body::Body;
use axum::http::header::{self, HeaderMap};
use axum::http::request::Parts;
use axum::http::{Method, StatusCode};
use axum::response::{IntoResponse, Response};

/// Longest request line that is looked at, bytes of path and query.
const LONGEST_ADDRESS: usize = 2048;

/// Header in which a page hands back the key it was served with.
pub const KEY_HEADER: &str = "x-desk-key";

/// A request that is not carried out, and why.
#[derive(Debug, PartialEq, Eq)]
pub struct Refusal {
    pub status: StatusCode,
    pub words: String,
}

impl Refusal {
    pub fn new(status: StatusCode, words: impl Into<String>) -> Refusal {
        Refusal { status, words: words.into() }
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        let kind = [(header::CONTENT_TYPE, "text/plain; charset=utf-8")];
        let mut response = (self.status, kind, self.words + "\n").into_response();
        if self.status == StatusCode::METHOD_NOT_ALLOWED {
            response.headers_mut().insert(header::ALLOW, header::HeaderValue::from_static("GET, HEAD, POST"));
        }
        harden(response)
    }
}

/// Of lasting copies: as strict as their own, which stands in them besides.
pub const POLICY_OF_COPIES: &str =
    "default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// The headers that every answer carries: nothing from outside is loaded, nothing is framed, kept or guessed. One that brings a policy or a
/// time to be kept of its own keeps that.
pub fn harden(mut response: Response<Body>) -> Response<Body> {
    const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; connect-src 'self'; \
                          base-uri 'none'; form-action 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types 'none'";
    const HEADERS: [(header::HeaderName, &str); 5] = [
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (header::HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ];
    let headers = response.headers_mut();
    for (name, value) in HEADERS {
        headers.insert(name, header::HeaderValue::from_static(value));
    }
    headers.entry(header::CACHE_CONTROL).or_insert(header::HeaderValue::from_static("no-store"));
    headers.entry(header::CONTENT_SECURITY_POLICY).or_insert(header::HeaderValue::from_static(POLICY));
    response
}

/// The query that brings the secret with which a browser is let in for the first time: `/?enter=…`.
pub const ENTRANCE: &str = "enter=";

/// The cookie that a browser was given when it was let in. Cookies know no ports: each desk has a name of its own.
pub fn pass_name(port: u16) -> String {
    format!("desk-{port}")
}

/// The secret that a request to come in brings.
pub fn entrance(parts: &Parts) -> Option<&str> {
    let query = parts.uri.query().filter(|_| parts.method == Method::GET && parts.uri.path() == "/")?;
    query.strip_prefix(ENTRANCE)
}

/// Who is let in: a browser that has the cookie. Any program on this machine, whosever it is, can ask; only the person who started the
/// desk has seen its address.
pub fn known(headers: &HeaderMap, port: u16, pass: &str) -> bool {
    let name = pass_name(port);
    let cookies = headers.get_all(header::COOKIE).iter().flat_map(|cookies| cookies.as_bytes().split(|&byte| byte == b';'));
    let mut ours = cookies.filter_map(|cookie| cookie.trim_ascii().strip_prefix(name.as_bytes())?.strip_prefix(b"="));
    ours.any(|brought| same(brought, pass.as_bytes()))
}

/// What a request must satisfy before anything else is looked at. `port` is the desk's own, `pass` the cookie without which nothing is
/// answered, `key` what changes of state must bring.
///
/// # Errors
/// The refusal to answer with.
pub fn admit(parts: &Parts, port: u16, pass: &str, key: &str) -> Result<(), Refusal> {
    let query = parts.uri.query().map_or(0, str::len);
    if parts.uri.path().len() + query > LONGEST_ADDRESS {
        return Err(Refusal::new(StatusCode::URI_TOO_LONG, format!("An address here has at most {LONGEST_ADDRESS} bytes.")));
    }
    if !matches!(parts.method, Method::GET | Method::HEAD | Method::POST) {
        let words = format!("{} is not a thing this desk does: it answers GET, HEAD and POST.", parts.method);
        return Err(Refusal::new(StatusCode::METHOD_NOT_ALLOWED, words));
    }
    host(parts, port)?;
    origin(&parts.headers, port)?;
    site(parts)?;
    if entrance(parts).is_some() {
        // Whether the secret is right is looked at where it is kept.
        return Ok(());
    }
    if !known(&parts.headers, port, pass) {
        let words = "This desk is open to the person who started it. Open the address that stands in its terminal.";
        return Err(Refusal::new(StatusCode::FORBIDDEN, words));
    }
    if parts.method == Method::POST {
        proven(&parts.headers, key)?;
    }
    Ok(())
}

/// Whether this is how a browser on this machine spells the desk.
fn is_ours(authority: &str, port: u16) -> bool {
    authority == format!("127.0.0.1:{port}") || authority.eq_ignore_ascii_case(&format!("localhost:{port}"))
}

/// A name that leads here only by a trick of name service is not ours, whatever address it leads to.
fn host(parts: &Parts, port: u16) -> Result<(), Refusal> {
    let refuse = |what: String| {
        let words = format!("{what} This desk answers only to http://127.0.0.1:{port}/ and http://localhost:{port}/.");
        Err(Refusal::new(StatusCode::MISDIRECTED_REQUEST, words))
    };
    let mut hosts = parts.headers.get_all(header::HOST).iter();
    let (Some(host), None) = (hosts.next(), hosts.next()) else {
        return refuse("The request must name one host.".into());
    };
    let host = String::from_utf8_lossy(host.as_bytes());
    if !is_ours(&host, port) {
        return refuse(format!("The request is for the host “{}”.", shown(&host)));
    }
    match parts.uri.authority() {
        Some(authority) if !is_ours(authority.as_str(), port) => {
            refuse(format!("The request is for the host “{}”.", shown(authority.as_str())))
        }
        _ => Ok(()),
    }
}

fn origin(headers: &HeaderMap, port: u16) -> Result<(), Refusal> {
    for origin in headers.get_all(header::ORIGIN) {
        let origin = String::from_utf8_lossy(origin.as_bytes());
        if !origin.strip_prefix("http://").is_some_and(|authority| is_ours(authority, port)) {
            let words = format!("A page of “{}” asked. This desk answers only its own page.", shown(&origin));
            return Err(Refusal::new(StatusCode::FORBIDDEN, words));
        }
    }
    Ok(())
}

/// Browsers say whether another site's page asks; only opening the desk itself in a tab may come from elsewhere.
fn site(parts: &Parts) -> Result<(), Refusal> {
    let said = |name: &str| parts.headers.get(name).map(|value| value.as_bytes());
    let opening =
        parts.uri.path() == "/" && said("sec-fetch-mode") == Some(b"navigate") && said("sec-fetch-dest") == Some(b"document");
    match said("sec-fetch-site") {
        None | Some(b"same-origin" | b"none") => Ok(()),
        Some(_) if opening && parts.method == Method::GET => Ok(()),
        Some(_) => Err(Refusal::new(StatusCode::FORBIDDEN, "A page of another site asked. This desk answers only its own page.")),
    }
}

/// A change of state brings the key, and is written as JSON, which no form of another site can send unasked.
fn proven(headers: &HeaderMap, key: &str) -> Result<(), Refusal> {
    let brought = headers.get(KEY_HEADER).map_or(&[][..], |value| value.as_bytes());
    if !same(brought, key.as_bytes()) {
        let words = "The key is missing or wrong. Reload the page: the desk may have been started anew since.";
        return Err(Refusal::new(StatusCode::FORBIDDEN, words));
    }
    let kind = headers.get(header::CONTENT_TYPE).map_or(&[][..], |value| value.as_bytes());
    if !kind.starts_with(b"application/json") {
        return Err(Refusal::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, "A wish is written as application/json."));
    }
    Ok(())
}

/// Equality that takes as long for a near miss as for a wild guess.
pub fn same(a: &[u8], b: &[u8]) -> bool {
    a.len() == b.len() && a.iter().zip(b).fold(0, |differing, (a, b)| differing | (a ^ b)) == 0
}

/// Outside text as it may be repeated: short, without control characters.
fn shown(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).take(80).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::http::Request;

    const KEY: &str = "0123456789abcdef";
    const PASS: &str = "fedcba9876543210";

    fn ask(method: &str, address: &str, headers: &[(&str, &str)]) -> Result<(), StatusCode> {
        let mut request = Request::builder().method(method).uri(address).header("cookie", format!("a=b; desk-4000={PASS}"));
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let (parts, ()) = request.body(()).expect("a request").into_parts();
        admit(&parts, 4000, PASS, KEY).map_err(|refusal| refusal.status)
    }

    #[test]
    fn only_this_machines_own_names_for_the_desk_are_answered() {
        for host in ["127.0.0.1:4000", "localhost:4000", "LOCALHOST:4000"] {
            assert_eq!(ask("GET", "/", &[("host", host)]), Ok(()));
        }
        for host in ["desk.example", "127.0.0.1", "127.0.0.1:80", "localhost.desk.example:4000", "0.0.0.0:4000", "127.1:4000", ""]
        {
            assert_eq!(ask("GET", "/", &[("host", host)]), Err(StatusCode::MISDIRECTED_REQUEST), "{host}");
        }
        assert_eq!(ask("GET", "/", &[]), Err(StatusCode::MISDIRECTED_REQUEST));
        let two = [("host", "127.0.0.1:4000"), ("host", "desk.example")];
        assert_eq!(ask("GET", "/", &two), Err(StatusCode::MISDIRECTED_REQUEST));
        assert_eq!(ask("GET", "http://desk.example/", &[("host", "127.0.0.1:4000")]), Err(StatusCode::MISDIRECTED_REQUEST));
    }

    #[test]
    fn pages_of_other_origins_are_refused() {
        let host = ("host", "127.0.0.1:4000");
        assert_eq!(ask("GET", "/live", &[host, ("origin", "http://127.0.0.1:4000")]), Ok(()));
        for origin in [
            "http://desk.example",
            "null",
            "https://127.0.0.1:4000",
            "http://127.0.0.1:4001",
            "http://127.0.0.1:4000.desk.example",
        ] {
            assert_eq!(ask("GET", "/live", &[host, ("origin", origin)]), Err(StatusCode::FORBIDDEN), "{origin}");
        }
        assert_eq!(ask("GET", "/live", &[host, ("sec-fetch-site", "cross-site")]), Err(StatusCode::FORBIDDEN));
        let opening = [host, ("sec-fetch-site", "cross-site"), ("sec-fetch-mode", "navigate"), ("sec-fetch-dest", "document")];
        assert_eq!(ask("GET", "/", &opening), Ok(()));
        assert_eq!(ask("GET", "/live", &opening), Err(StatusCode::FORBIDDEN));
    }

    #[test]
    fn what_changes_state_brings_the_key_and_json() {
        let (host, json) = (("host", "127.0.0.1:4000"), ("content-type", "application/json"));
        assert_eq!(ask("POST", "/open", &[host, json, (KEY_HEADER, KEY)]), Ok(()));
        assert_eq!(ask("POST", "/open", &[host, json]), Err(StatusCode::FORBIDDEN));
        assert_eq!(ask("POST", "/open", &[host, json, (KEY_HEADER, "0123456789abcdeF")]), Err(StatusCode::FORBIDDEN));
        let form = ("content-type", "application/x-www-form-urlencoded");
        assert_eq!(ask("POST", "/open", &[host, form, (KEY_HEADER, KEY)]), Err(StatusCode::UNSUPPORTED_MEDIA_TYPE));
        assert_eq!(ask("DELETE", "/", &[host]), Err(StatusCode::METHOD_NOT_ALLOWED));
        assert_eq!(ask("GET", &format!("/{}", "a".repeat(3000)), &[host]), Err(StatusCode::URI_TOO_LONG));
    }

    #[test]
    fn without_the_cookie_nothing_is_answered() {
        for (method, path) in [("GET", "/"), ("GET", "/desk.css"), ("GET", "/live"), ("POST", "/open"), ("GET", "/?unit=A-1")] {
            for cookie in
                ["", "desk-4000=", "desk-4000=fedcba9876543211", "desk-4001=fedcba9876543210", "xdesk-4000=fedcba9876543210"]
            {
                let request =
                    Request::builder().method(method).uri(path).header("host", "127.0.0.1:4000").header("cookie", cookie);
                let request = request.header(KEY_HEADER, KEY).header("content-type", "application/json");
                let (parts, ()) = request.body(()).expect("a request").into_parts();
                let refused = admit(&parts, 4000, PASS, KEY).map_err(|refusal| refusal.status);
                assert_eq!(refused, Err(StatusCode::FORBIDDEN), "{method} {path} {cookie}");
            }
        }
    }
}
