//! The board: a page for the bench's screen with each run, its verdict and its proof, kept up to date
//! by server-sent events (HTML Living Standard, section 9.2).
//!
//! It answers on loopback unless told otherwise, only to the names it is reached by, and only with
//! its own page and the proofs of the runs it shows: no path of a request ever becomes a path on the
//! disk. Proofs are drawn when they are asked for.
//!
//! A run that is dropped on the page is inspected in memory ([`dropped`]), and changes nothing of what is
//! watched.

mod dropped;
mod http;
mod proofs;
mod shown;

use std::collections::BTreeMap;
use std::io::{self, Write};
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::Sender;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use self::dropped::Dropped;
use self::http::{Answer, Request};
use self::proofs::Proofs;
use self::shown::{Shown, id};
use super::summary::Entry;
use super::{Message, start_thread};
use crate::inspect::Options;

const PAGE: &str = include_str!("board/page.html");
const STYLE: &str = include_str!("board/board.css");
const SCRIPT: &str = include_str!("board/board.js");
const NAMES: &str = include_str!("board/names.js");
const DROPPED: &str = include_str!("board/dropped.js");

/// What the board's page may load: its own style, script, events and pictures.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// Connections at one time: every open page holds one.
const MOST: usize = 32;

/// How often a page without news hears that the watcher is still there, and how long the coordinator may
/// stand still before pages hear nothing any more. A page gives up on the watcher after three times as
/// long (see `board.js`).
const BEAT: Duration = Duration::from_secs(2);

/// How soon a page that lost the watcher tries again.
const RETRY_MS: u32 = 500;

/// `--board` and what belongs to it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct BoardOptions {
    /// A port, or an address with a port.
    pub address: String,
    /// Whether an address beyond loopback is meant.
    pub beyond: bool,
    /// Further names that the board is reached by.
    pub names: Vec<String>,
}

/// The running board.
#[derive(Debug)]
pub(crate) struct Board {
    shared: Arc<Shared>,
    address: SocketAddr,
}

/// What connections look at.
#[derive(Debug)]
struct Shared {
    state: Mutex<BoardState>,
    news: Condvar,
    hosts: Vec<String>,
    open: AtomicUsize,
    proofs: Proofs,
    /// Takes runs that are dropped on the page.
    dropped: Dropped,
    /// Tells this watcher from the one before it.
    epoch: u64,
    /// Where a thread that fails says so.
    to: Sender<Message>,
}

#[derive(Debug)]
struct BoardState {
    version: u64,
    /// When the coordinator last came by: threads that know nothing of it must not tell a page that all
    /// is well.
    turned: Instant,
    page: Arc<str>,
    runs: BTreeMap<String, PathBuf>,
    notices: Vec<String>,
}

impl BoardState {
    /// Whether what is shown may be out of date.
    fn stands_still(&self) -> bool {
        self.turned.elapsed() > BEAT
    }
}

impl Board {
    /// Begins to answer.
    ///
    /// # Errors
    ///
    /// Words for people: an address that is none, lies beyond loopback without being meant to, or is
    /// taken.
    pub(crate) fn start(
        board_options: &BoardOptions,
        root: &Path,
        options: &Options,
        to: &Sender<Message>,
    ) -> Result<Self, String> {
        let wanted = address(&board_options.address)?;
        if !wanted.ip().is_loopback() && !board_options.beyond {
            return Err(format!(
                "--board {wanted} would answer to other machines, who could then see every run: use 127.0.0.1, or add --board-network if that is meant"
            ));
        }
        let taken = |e: io::Error| format!("the board cannot answer at {wanted}: {e}");
        let listener = TcpListener::bind(wanted).map_err(taken)?;
        let address = listener.local_addr().map_err(taken)?;
        let shared = Arc::new(Shared {
            state: Mutex::new(BoardState {
                version: 0,
                turned: Instant::now(),
                page: Arc::from(""),
                runs: BTreeMap::new(),
                notices: Vec::new(),
            }),
            news: Condvar::new(),
            hosts: hosts(address, &board_options.names),
            open: AtomicUsize::new(0),
            proofs: Proofs::new(options.clone()),
            dropped: Dropped::new(root, options)?,
            epoch: SystemTime::now()
                .duration_since(UNIX_EPOCH)
                // Milliseconds: within what JavaScript's numbers hold exactly.
                .map_or(0, |d| u64::try_from(d.as_millis()).unwrap_or(0)),
            to: to.clone(),
        });
        let board = Self { shared, address };
        board.show(&[]);
        let shared = Arc::clone(&board.shared);
        start_thread("the board", to, move || {
            for stream in listener.incoming() {
                match stream {
                    Ok(stream) => receive(stream, &shared),
                    // Out of handles, say: no reason to spin.
                    Err(_) => std::thread::sleep(Duration::from_millis(50)),
                }
            }
        });
        Ok(board)
    }

    /// Where it answers, to be opened in a browser.
    pub(crate) fn address(&self) -> String {
        format!("http://{}/", self.address)
    }

    /// The coordinator came by.
    pub(crate) fn turn(&self) {
        let mut state = self.shared.lock();
        let stood_still = state.stands_still();
        state.turned = Instant::now();
        drop(state);
        if stood_still {
            self.shared.news.notify_all();
        }
    }

    /// Shows the runs, newest first.
    pub(crate) fn show(&self, entries: &[(&Path, &Entry)]) {
        let mut state = self.shared.lock();
        let shown = Shown::of(self.shared.epoch, entries, &state.notices);
        // It holds strings and numbers only, which serde_json never refuses; should it ever, the page
        // stops hearing of news and says so.
        let Ok(page) = serde_json::to_string(&shown) else {
            return;
        };
        state.page = Arc::from(page);
        state.runs = entries
            .iter()
            .map(|(path, e)| (id(&e.name), path.to_path_buf()))
            .collect();
        state.version += 1;
        drop(state);
        self.shared.news.notify_all();
    }

    /// Keeps words for people; they are sent with the next news.
    pub(crate) fn notice(&self, words: &str) {
        const KEPT: usize = 3;
        let mut state = self.shared.lock();
        state.notices.push(words.to_owned());
        if state.notices.len() > KEPT {
            state.notices.remove(0);
        }
    }
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, BoardState> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The address that is meant.
fn address(text: &str) -> Result<SocketAddr, String> {
    if let Ok(port) = text.parse::<u16>() {
        return Ok(SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), port));
    }
    let numbers = text
        .strip_prefix("localhost:")
        .map_or_else(|| text.to_owned(), |port| format!("127.0.0.1:{port}"));
    numbers.parse().map_err(|_| {
        format!("--board {text} is no address: give a port (8420), or an address of numbers with a port (127.0.0.1:8420, [::1]:8420)")
    })
}

/// The values of `Host` that are answered. A page elsewhere that points its own name at this machine
/// sends its own name, and gets nothing.
fn hosts(address: SocketAddr, names: &[String]) -> Vec<String> {
    let mut hosts: Vec<String> = names.to_vec();
    if address.ip().is_loopback() || address.ip().is_unspecified() {
        hosts.extend(["localhost", "127.0.0.1", "[::1]"].map(str::to_owned));
    }
    if !address.ip().is_unspecified() {
        hosts.push(match address.ip() {
            IpAddr::V4(ip) => ip.to_string(),
            IpAddr::V6(ip) => format!("[{ip}]"),
        });
    }
    let port = address.port();
    let mut all: Vec<String> = hosts
        .iter()
        .map(|h| format!("{}:{port}", h.to_ascii_lowercase()))
        .collect();
    // A browser leaves out the port that http has of itself.
    if port == 80 {
        all.extend(hosts.iter().map(|h| h.to_ascii_lowercase()));
    }
    all
}

/// Answers one connection on a thread of its own.
fn receive(stream: TcpStream, shared: &Arc<Shared>) {
    if shared.open.fetch_add(1, Ordering::SeqCst) >= MOST {
        shared.open.fetch_sub(1, Ordering::SeqCst);
        // Closed without an answer: there is no thread to give one on.
        return;
    }
    let shared = Arc::clone(shared);
    let to = shared.to.clone();
    start_thread("a page of the board", &to, move || {
        // A peer that went away is no trouble of ours.
        let _ = serve(stream, &shared);
        shared.open.fetch_sub(1, Ordering::SeqCst);
    });
}

fn serve(mut stream: TcpStream, shared: &Shared) -> io::Result<()> {
    let request = match http::read(&mut stream, &shared.hosts) {
        Ok(request) => request,
        Err(Some(refusal)) => return http::refuse_unread(&mut stream, &refusal),
        Err(None) => return Ok(()),
    };
    let body = request.wants_body;
    if let Some(sent) = request.sent {
        return shared.dropped.take(stream, sent, &shared.proofs);
    }
    match request.path.as_str() {
        "/" => Answer::page("text/html; charset=utf-8", POLICY, PAGE).send(&mut stream, body),
        "/board.css" => {
            Answer::page("text/css; charset=utf-8", POLICY, STYLE).send(&mut stream, body)
        }
        "/board.js" => script(SCRIPT).send(&mut stream, body),
        "/dropped.js" => script(DROPPED).send(&mut stream, body),
        "/names.js" => script(NAMES).send(&mut stream, body),
        "/token" => shared.dropped.token(&stream).send(&mut stream, body),
        "/events" => events(&mut stream, body, shared),
        _ => drawn(&request, shared).send(&mut stream, body),
    }
}

fn script(text: &str) -> Answer {
    Answer::page("text/javascript; charset=utf-8", POLICY, text)
}

/// The picture or the proof of a run that is shown; nothing else has an address.
fn drawn(request: &Request, shared: &Shared) -> Answer {
    let (form, id) = match request.path.trim_start_matches('/').split_once('/') {
        Some((form @ ("picture" | "proof"), id)) => (form, id),
        _ => ("", ""),
    };
    let path = shared.lock().runs.get(id).cloned();
    let drawn = match path {
        Some(path) if !form.is_empty() => Some(shared.proofs.of(&path)),
        _ => shared.proofs.dropped(id),
    };
    let Some(drawn) = drawn else {
        return Answer::refusal("404 Not Found", "there is nothing here");
    };
    match form {
        "picture" => Answer::page("image/svg+xml", proofs::POLICY, &drawn.picture),
        _ => Answer::page("text/html; charset=utf-8", proofs::POLICY, &drawn.proof),
    }
}

/// The events: the whole state after each change, and a beat in between.
fn events(stream: &mut TcpStream, body: bool, shared: &Shared) -> io::Result<()> {
    stream.write_all(Answer::head("200 OK", "text/event-stream", POLICY).as_bytes())?;
    if !body {
        return Ok(());
    }
    stream.write_all(format!("retry: {RETRY_MS}\n\n").as_bytes())?;
    let mut seen = None;
    loop {
        let state = shared.lock();
        let (state, _) = shared
            .news
            .wait_timeout_while(state, BEAT, |s| Some(s.version) == seen || s.stands_still())
            .unwrap_or_else(PoisonError::into_inner);
        if state.stands_still() {
            continue;
        }
        let (version, page) = (state.version, Arc::clone(&state.page));
        drop(state);
        let text = if Some(version) == seen {
            "event: beat\ndata: -\n\n".to_owned()
        } else {
            // JSON on one line: no line break can end the event early.
            format!("event: state\ndata: {page}\n\n")
        };
        seen = Some(version);
        stream.write_all(text.as_bytes())?;
        stream.flush()?;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_a_port_or_numbers() {
        let is = |text: &str, wanted: &str| {
            assert_eq!(
                address(text),
                Ok(wanted.parse().unwrap_or_else(|_| unreachable!()))
            );
        };
        is("8420", "127.0.0.1:8420");
        is("localhost:8420", "127.0.0.1:8420");
        is("[::1]:8420", "[::1]:8420");
        is("0.0.0.0:80", "0.0.0.0:80");
        for wrong in ["", "bench", "bench.example:80", "127.0.0.1", "99999"] {
            assert!(address(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn beyond_loopback_must_be_meant() {
        let options = BoardOptions {
            address: "0.0.0.0:0".to_owned(),
            ..BoardOptions::default()
        };
        let (to, _) = std::sync::mpsc::channel();
        let refused = Board::start(&options, Path::new("runs"), &Options::default(), &to);
        assert!(refused.is_err_and(|e| e.contains("--board-network")));
    }

    #[test]
    fn a_page_hears_nothing_while_the_coordinator_stands_still() -> io::Result<()> {
        let options = BoardOptions {
            address: "0".to_owned(),
            ..BoardOptions::default()
        };
        let (to, _from) = std::sync::mpsc::channel();
        let board = Board::start(&options, Path::new("runs"), &Options::default(), &to)
            .map_err(io::Error::other)?;
        let mut page = TcpStream::connect(board.address)?;
        write!(
            page,
            "GET /events HTTP/1.1\r\nHost: {}\r\n\r\n",
            board.address
        )?;
        page.set_read_timeout(Some(BEAT * 2))?;
        let mut heard = |wanted: &str| -> io::Result<bool> {
            let mut all = Vec::new();
            let mut part = [0; 4096];
            while !String::from_utf8_lossy(&all).contains(wanted) {
                match io::Read::read(&mut page, &mut part) {
                    Ok(n) if n > 0 => all.extend_from_slice(part.get(..n).unwrap_or_default()),
                    Ok(_) => return Ok(false),
                    Err(e) if e.kind() == io::ErrorKind::WouldBlock => return Ok(false),
                    Err(e) => return Err(e),
                }
            }
            Ok(true)
        };
        assert!(heard("event: state")?);
        // Nobody turns: no beat comes, however long the page waits.
        assert!(!heard("event: beat")?);
        board.turn();
        assert!(heard("event: beat")?);
        Ok(())
    }

    #[test]
    fn only_names_that_it_is_reached_by_are_answered() {
        let at = |text: &str| address(text).unwrap_or_else(|_| unreachable!());
        assert_eq!(
            hosts(at("8420"), &[]),
            [
                "localhost:8420",
                "127.0.0.1:8420",
                "[::1]:8420",
                "127.0.0.1:8420"
            ]
        );
        assert_eq!(
            hosts(at("192.0.2.7:80"), &["Bench.local".to_owned()]),
            ["bench.local:80", "192.0.2.7:80", "bench.local", "192.0.2.7"]
        );
    }
}
