//! As much of HTTP/1.1 (RFC 9112) as the board needs: one request a connection, and a body only where a
//! file is sent to be inspected.

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
    /// What comes with a `POST`.
    pub(super) sent: Option<Sent>,
}

/// A body that is on its way.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Sent {
    /// How long it is said to be.
    pub(super) length: usize,
    /// What the sender shows to be a page of this board.
    pub(super) token: String,
    /// What of it came with the head.
    begun: Vec<u8>,
}

/// The only address that takes a body.
const TAKES: &str = "/inspect";

/// How long a body may take to arrive.
const BODY_PATIENCE: Duration = Duration::from_mins(1);

impl Sent {
    /// The whole body; an error where it does not arrive.
    pub(super) fn read(self, stream: &mut TcpStream) -> io::Result<Vec<u8>> {
        let begun = Instant::now();
        let mut bytes = self.begun;
        let mut part = vec![0_u8; 1 << 16];
        while bytes.len() < self.length {
            let n = stream.read(&mut part)?;
            if n == 0 || begun.elapsed() > BODY_PATIENCE {
                return Err(io::ErrorKind::UnexpectedEof.into());
            }
            bytes.extend_from_slice(part.get(..n).unwrap_or_default());
        }
        bytes.truncate(self.length);
        Ok(bytes)
    }
}

/// Refuses what was asked, and what is still on its way. That is taken in for a while all the same, and not
/// kept: closing on words that nobody read resets the connection, and the refusal is lost.
pub(super) fn refuse_unread(stream: &mut TcpStream, refusal: &Answer) -> io::Result<()> {
    refusal.send(stream, true)?;
    stream.shutdown(std::net::Shutdown::Write)?;
    let begun = Instant::now();
    let mut part = vec![0_u8; 1 << 16];
    while begun.elapsed() < PATIENCE && stream.read(&mut part)? > 0 {}
    Ok(())
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
    let end = bytes.windows(4).position(|w| w == b"\r\n\r\n");
    let (head, begun) = end
        .and_then(|e| bytes.split_at_checked(e))
        .ok_or_else(bad)?;
    let head = std::str::from_utf8(head).map_err(|_| bad())?;
    let begun = begun.get(4..).unwrap_or_default();
    let mut lines = head.split("\r\n");
    let mut words = lines.next().unwrap_or_default().split(' ');
    let (Some(method), Some(target), Some("HTTP/1.1" | "HTTP/1.0"), None) =
        (words.next(), words.next(), words.next(), words.next())
    else {
        return Err(bad());
    };
    let (mut host, mut origin, mut length) = (None, None, None);
    let (mut token, mut chunked) = (String::new(), false);
    for line in lines {
        let (name, value) = line.split_once(':').ok_or_else(bad)?;
        let value = value.trim();
        match name.to_ascii_lowercase().as_str() {
            // RFC 9112, section 3.2: more than one is an error. So it is for the two that follow.
            "host" if host.is_some() => return Err(bad()),
            "origin" if origin.is_some() => return Err(bad()),
            "content-length" if length.is_some() => return Err(bad()),
            "host" => host = Some(value.to_ascii_lowercase()),
            "origin" => origin = Some(value.to_ascii_lowercase()),
            "content-length" => length = Some(value.to_owned()),
            "transfer-encoding" => chunked = true,
            "x-board-token" => value.clone_into(&mut token),
            _ => {}
        }
    }
    let host = host.ok_or_else(bad)?;
    if !hosts.contains(&host) {
        return Err(Answer::refusal(
            "421 Misdirected Request",
            "this board does not go by that name; --board-name adds one",
        ));
    }
    let path = target.split('?').next().unwrap_or_default();
    // Every address is plain; anything else is somebody trying doors.
    let plain = |b: u8| b.is_ascii_alphanumeric() || b == b'/' || b == b'.';
    if !path.starts_with('/') || path.contains("..") || !path.bytes().all(plain) {
        return Err(bad());
    }
    let takes = method == "POST" && path == TAKES;
    if !takes && method != "GET" && method != "HEAD" {
        return Err(Answer::refusal(
            "405 Method Not Allowed",
            "this board is only read",
        ));
    }
    // A browser names the page that asks (Fetch Standard, 3.2) wherever something is sent.
    let own = format!("http://{host}");
    if origin.as_ref().is_some_and(|o| *o != own) || (takes && origin.is_none()) {
        return Err(Answer::refusal(
            "403 Forbidden",
            "only a page of this board may ask for that",
        ));
    }
    let known = length.filter(|l| !chunked && l.bytes().all(|b| b.is_ascii_digit()));
    let sent = match known.and_then(|l| l.parse().ok()) {
        _ if !takes => None,
        Some(length) => Some(Sent {
            length,
            token,
            begun: begun.to_vec(),
        }),
        None => {
            return Err(Answer::refusal(
                "411 Length Required",
                "what is sent must say how long it is",
            ));
        }
    };
    Ok(Request {
        path: path.to_owned(),
        wants_body: method != "HEAD",
        sent,
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
    fn a_file_is_taken_from_a_page_of_this_board_alone() {
        let post = |path: &str, lines: &str| {
            options(&format!(
                "POST {path} HTTP/1.1\r\nHost: localhost:8420\r\n{lines}\r\nbody"
            ))
        };
        let own = "Origin: http://localhost:8420\r\n";
        let sent = post(
            "/inspect",
            &format!("{own}X-Board-Token: ab\r\nContent-Length: 4\r\n"),
        )
        .unwrap()
        .sent
        .unwrap();
        assert_eq!(
            (sent.length, sent.token.as_str(), sent.begun.as_slice()),
            (4, "ab", &b"body"[..])
        );
        for (path, lines, status) in [
            ("/inspect", "Content-Length: 4\r\n".to_owned(), "403"),
            (
                "/inspect",
                "Origin: http://evil.example\r\nContent-Length: 4\r\n".to_owned(),
                "403",
            ),
            (
                "/inspect",
                "Origin: null\r\nContent-Length: 4\r\n".to_owned(),
                "403",
            ),
            (
                "/inspect",
                "Origin: https://localhost:8420\r\nContent-Length: 4\r\n".to_owned(),
                "403",
            ),
            ("/inspect", own.to_owned(), "411"),
            ("/inspect", format!("{own}Content-Length: -4\r\n"), "411"),
            (
                "/inspect",
                format!("{own}Content-Length: 4\r\nContent-Length: 5\r\n"),
                "400",
            ),
            (
                "/inspect",
                format!("{own}Content-Length: 4\r\nTransfer-Encoding: chunked\r\n"),
                "411",
            ),
            ("/proof/ab", format!("{own}Content-Length: 4\r\n"), "405"),
        ] {
            let refused = post(path, &lines).unwrap_err();
            assert!(refused.contains(status), "{path} {lines}: {refused}");
        }
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
            ("PUT / HTTP/1.1\r\nHost: localhost:8420\r\n\r\n", "405"),
            (
                "GET / HTTP/1.1\r\nHost: localhost:8420\r\nOrigin: http://evil.example\r\n\r\n",
                "403",
            ),
            ("GET / HTTP/2\r\nHost: localhost:8420\r\n\r\n", "400"),
            ("\r\n\r\n", "400"),
        ] {
            let refused = options(request).unwrap_err();
            assert!(refused.contains(status), "{request:?}: {refused}");
        }
    }
}
