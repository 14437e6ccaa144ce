//! As much of HTTP/1.1 (RFC 9112) as the board needs: one `GET` a connection, no body.

use std::io::{self, Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

/// The most that a request may be: no browser sends as much to a page without cookies.
const LARGEST: usize = 8 * 1024;

/// How long a request may take to arrive, and an answer to be taken.
const PATIENCE: Duration = Duration::from_secs(5);

/// A request that may be answered.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Request {
    /// The path, without the query.
    pub(super) path: String,
    /// False for `HEAD`.
    pub(super) wants_body: bool,
}

/// An answer.
#[derive(Debug)]
pub(super) struct Answer {
    head: String,
    body: Vec<u8>,
}

impl Answer {
    /// The status line and the headers of every answer, with the empty line.
    pub(super) fn head(status: &str, kind: &str, policy: &str) -> String {
        format!(
            "HTTP/1.1 {status}\r\n\
             Content-Type: {kind}\r\n\
             Content-Security-Policy: {policy}\r\n\
             Cross-Origin-Resource-Policy: same-origin\r\n\
             Cross-Origin-Opener-Policy: same-origin\r\n\
             X-Content-Type-Options: nosniff\r\n\
             Referrer-Policy: no-referrer\r\n\
             Cache-Control: no-store\r\n\
             Connection: close\r\n\r\n"
        )
    }

    pub(super) fn page(kind: &str, policy: &str, body: &str) -> Self {
        Self {
            head: Self::head("200 OK", kind, policy),
            body: body.as_bytes().to_vec(),
        }
    }

    pub(super) fn refusal(status: &str, words: &str) -> Self {
        Self {
            head: Self::head(status, "text/plain; charset=utf-8", "default-src 'none'"),
            body: format!("{words}\n").into_bytes(),
        }
    }

    pub(super) fn send(&self, stream: &mut TcpStream, body: bool) -> io::Result<()> {
        stream.write_all(self.head.as_bytes())?;
        if body {
            stream.write_all(&self.body)?;
        }
        stream.flush()
    }
}

/// Reads a request. `Err(Some(_))`: it is refused with this; `Err(None)`: there was none.
pub(super) fn read(stream: &mut TcpStream, hosts: &[String]) -> Result<Request, Option<Answer>> {
    let quiet = |_| None;
    stream.set_read_timeout(Some(PATIENCE)).map_err(quiet)?;
    stream.set_write_timeout(Some(PATIENCE)).map_err(quiet)?;
    // News must not wait for more to fill a packet.
    stream.set_nodelay(true).map_err(quiet)?;
    let begun = Instant::now();
    let mut bytes = Vec::new();
    let mut part = [0_u8; 1024];
    loop {
        let n = stream.read(&mut part).map_err(quiet)?;
        if n == 0 {
            return Err(None);
        }
        bytes.extend_from_slice(part.get(..n).unwrap_or_default());
        let whole = bytes.windows(4).any(|w| w == b"\r\n\r\n");
        // A little more than is answered is taken in, so that the refusal arrives: closing on words
        // that nobody read resets the connection.
        if bytes.len() > LARGEST && (whole || bytes.len() > 8 * LARGEST) {
            return Err(Some(Answer::refusal(
                "431 Request Header Fields Too Large",
                "the request is too long",
            )));
        }
        if whole {
            break;
        }
        if begun.elapsed() > PATIENCE {
            return Err(None);
        }
    }
    understand(&bytes, hosts).map_err(Some)
}

/// What the bytes ask for.
fn understand(bytes: &[u8], hosts: &[String]) -> Result<Request, Answer> {
    let bad = || Answer::refusal("400 Bad Request", "this is no request that is understood");
    let text = std::str::from_utf8(bytes).map_err(|_| bad())?;
    let (head, _) = text.split_once("\r\n\r\n").ok_or_else(bad)?;
    let mut lines = head.split("\r\n");
    let mut words = lines.next().unwrap_or_default().split(' ');
    let (Some(method), Some(target), Some("HTTP/1.1" | "HTTP/1.0"), None) =
        (words.next(), words.next(), words.next(), words.next())
    else {
        return Err(bad());
    };
    let mut host = None;
    for line in lines {
        let (name, value) = line.split_once(':').ok_or_else(bad)?;
        if name.eq_ignore_ascii_case("host") {
            // RFC 9112, section 3.2: more than one is an error.
            if host.is_some() {
                return Err(bad());
            }
            host = Some(value.trim().to_ascii_lowercase());
        }
    }
    let host = host.ok_or_else(bad)?;
    if !hosts.contains(&host) {
        return Err(Answer::refusal(
            "421 Misdirected Request",
            "this board does not go by that name; --board-name adds one",
        ));
    }
    let wants_body = match method {
        "GET" => true,
        "HEAD" => false,
        _ => {
            return Err(Answer::refusal(
                "405 Method Not Allowed",
                "this board is only read",
            ));
        }
    };
    let path = target.split('?').next().unwrap_or_default();
    // Every address is plain; anything else is somebody trying doors.
    let plain = |b: u8| b.is_ascii_alphanumeric() || b == b'/' || b == b'.';
    if !path.starts_with('/') || path.contains("..") || !path.bytes().all(plain) {
        return Err(bad());
    }
    Ok(Request {
        path: path.to_owned(),
        wants_body,
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn options(text: &str) -> Result<Request, String> {
        understand(text.as_bytes(), &["localhost:8420".to_owned()])
            .map_err(|a| a.head.lines().next().unwrap().to_owned())
    }

    #[test]
    fn a_plain_request_is_understood() {
        let get = options("GET /proof/ab12?v=3 HTTP/1.1\r\nHost: LocalHost:8420\r\n\r\n").unwrap();
        assert_eq!(get.path, "/proof/ab12");
        assert!(get.wants_body);
        let head = options("HEAD / HTTP/1.1\r\nhost:localhost:8420\r\n\r\n").unwrap();
        assert!(!head.wants_body);
    }

    #[test]
    fn everything_else_is_refused() {
        for (request, status) in [
            ("GET / HTTP/1.1\r\nHost: evil.example\r\n\r\n", "421"),
            ("GET / HTTP/1.1\r\nHost: localhost\r\n\r\n", "421"),
            (
                "GET / HTTP/1.1\r\nHost: localhost:8420.evil.example\r\n\r\n",
                "421",
            ),
            ("GET / HTTP/1.1\r\n\r\n", "400"),
            (
                "GET / HTTP/1.1\r\nHost: localhost:8420\r\nHost: evil\r\n\r\n",
                "400",
            ),
            (
                "GET /../etc/passwd HTTP/1.1\r\nHost: localhost:8420\r\n\r\n",
                "400",
            ),
            (
                "GET /proof/../../x HTTP/1.1\r\nHost: localhost:8420\r\n\r\n",
                "400",
            ),
            (
                "GET /proof/%2e%2e/x HTTP/1.1\r\nHost: localhost:8420\r\n\r\n",
                "400",
            ),
            (
                "GET http://evil/ HTTP/1.1\r\nHost: localhost:8420\r\n\r\n",
                "400",
            ),
            ("POST / HTTP/1.1\r\nHost: localhost:8420\r\n\r\n", "405"),
            ("GET / HTTP/2\r\nHost: localhost:8420\r\n\r\n", "400"),
            ("\r\n\r\n", "400"),
        ] {
            let refused = options(request).unwrap_err();
            assert!(refused.contains(status), "{request:?}: {refused}");
        }
    }
}
