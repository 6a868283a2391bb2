//! Web addresses: which can be asked for, where a redirect leads, and where a forge keeps the raw file of a page about it.

use url::Url;

/// The address as it is sent, when it is one that can be asked for: http or https, with a host, without a name and password.
/// `//host/path` is asked by https.
pub(super) fn asked(address: &str) -> Option<String> {
    if address.chars().any(char::is_control) {
        return None;
    }
    let whole = if address.starts_with("//") { format!("https:{address}") } else { address.to_string() };
    clean(Url::parse(&whole).ok()?)
}

/// Where a redirect from `address` leads.
pub(super) fn onward(address: &str, location: &str) -> Option<String> {
    if location.is_empty() || location.chars().any(char::is_control) {
        return None;
    }
    clean(Url::parse(address).ok()?.join(location).ok()?)
}

fn clean(mut url: Url) -> Option<String> {
    let web = matches!(url.scheme(), "http" | "https") && url.host().is_some();
    if !web || !url.username().is_empty() || url.password().is_some() {
        return None;
    }
    // What stands after # is for the one who asks.
    url.set_fragment(None);
    Some(url.to_string())
}

/// The host of an address, with its port where it is said: what a person is asked to agree to.
pub fn host(address: &str) -> Option<String> {
    let url = Url::parse(&asked(address)?).ok()?;
    let host = url.host_str()?.to_string();
    Some(url.port().map_or(host.clone(), |port| format!("{host}:{port}")))
}

/// The raw file, for the address of a page about a file on a code forge: `…/OWNER/NAME/blob/BRANCH/PATH` becomes
/// `…/OWNER/NAME/raw/BRANCH/PATH`, which the forges answer themselves or send on. Any other address is itself.
pub fn raw(address: &str) -> String {
    let Some(mut url) = asked(address).and_then(|address| Url::parse(&address).ok()) else { return address.to_string() };
    let parts: Vec<&str> = url.path().split('/').collect();
    // "", OWNER, NAME, blob, BRANCH, PATH…; some forges put a hyphen before `blob`, some more than one folder.
    let Some(at) = parts.iter().skip(3).position(|part| *part == "blob").map(|at| at + 3) else { return address.to_string() };
    if parts.len() < at + 3 {
        return address.to_string();
    }
    let path: Vec<&str> = parts[..at].iter().chain(&["raw"]).chain(&parts[at + 1..]).copied().collect();
    let path = path.join("/");
    url.set_path(&path);
    // What is asked for besides is how the page shows it.
    url.set_query(None);
    url.to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_about_a_picture_is_asked_for_its_raw_file() {
        for (written, asked) in [
            ("https://forge.example/reed/heron/blob/main/img/a.jpg", "https://forge.example/reed/heron/raw/main/img/a.jpg"),
            ("https://forge.example/reed/heron/blob/main/a.jpg?raw=true", "https://forge.example/reed/heron/raw/main/a.jpg"),
            ("https://forge.example/a/b/-/blob/v1/c%20d.png#x", "https://forge.example/a/b/-/raw/v1/c%20d.png"),
            ("https://forge.example/reed/heron/blob/main", "https://forge.example/reed/heron/blob/main"),
            ("https://forge.example/blob/a/b/c.png", "https://forge.example/blob/a/b/c.png"),
            ("https://forge.example/reed/heron/raw/main/a.jpg", "https://forge.example/reed/heron/raw/main/a.jpg"),
        ] {
            assert_eq!(raw(written), asked);
        }
    }

    #[test]
    fn what_can_be_asked_for() {
        assert_eq!(asked("//Example.org/a b.png#c").as_deref(), Some("https://example.org/a%20b.png"));
        for bad in ["https://", "ftp://a/b", "https://name:word@a/b", "https://a/\u{7}", "file:///etc/passwd", "https://a\nb/c"] {
            assert_eq!(asked(bad), None, "{bad:?}");
        }
        assert_eq!(onward("https://a.example/b/c", "../d").as_deref(), Some("https://a.example/d"));
        for bad in ["", "file:///etc/passwd", "https://a:b@c/", "a\u{7}"] {
            assert_eq!(onward("https://a.example/b", bad), None, "{bad:?}");
        }
        assert_eq!(host("http://127.0.0.1:8000/a").as_deref(), Some("127.0.0.1:8000"));
    }
}
