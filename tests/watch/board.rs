//! The board, as a browser and as somebody who tries doors.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::time::Duration;

use crate::watch::workshop::{Watcher, Workshop};

struct Board {
    host: String,
}

impl Board {
    fn of(watcher: &mut Watcher) -> Self {
        let (_, line) = watcher.until("the board", |l| l.contains("the board is at http://"));
        let (_, rest) = line.split_once("http://").unwrap();
        Self {
            host: rest.trim_end_matches('/').to_owned(),
        }
    }

    fn raw(&self, request: &str) -> String {
        let mut stream = TcpStream::connect(&self.host).unwrap();
        stream.write_all(request.as_bytes()).unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        answer
    }

    fn get(&self, path: &str) -> String {
        self.raw(&format!(
            "GET {path} HTTP/1.1\r\nHost: {}\r\n\r\n",
            self.host
        ))
    }

    /// The data of events, one after the other.
    fn events(&self) -> impl Iterator<Item = serde_json::Value> + use<> {
        let mut stream = TcpStream::connect(&self.host).unwrap();
        stream
            .set_read_timeout(Some(Duration::from_secs(30)))
            .unwrap();
        write!(
            stream,
            "GET /events HTTP/1.1\r\nHost: {}\r\n\r\n",
            self.host
        )
        .unwrap();
        BufReader::new(stream)
            .lines()
            .map_while(Result::ok)
            .filter_map(|line| serde_json::from_str(line.strip_prefix("data: ")?).ok())
    }
}

fn verdict_of(state: &serde_json::Value, name: &str) -> Option<String> {
    state["runs"]
        .as_array()?
        .iter()
        .find(|run| run["name"] == name && run["working"] == false)
        .and_then(|run| run["verdict"].as_str().map(str::to_owned))
}

#[test]
fn the_board_shows_each_run_with_its_proof_and_hears_of_saves() {
    let shop = Workshop::new();
    shop.save("a.svg", &shop.clear(0));
    let mut watcher = shop.watch(&["--board", "0"]);
    let board = Board::of(&mut watcher);
    watcher.verdict("CLEAR", "a.svg");

    let page = board.get("/");
    assert!(page.starts_with("HTTP/1.1 200 OK\r\n"), "{page}");
    assert!(page.contains("Content-Security-Policy: default-src 'none'"));
    for part in ["/board.css", "/board.js"] {
        assert!(page.contains(part));
        assert!(board.get(part).starts_with("HTTP/1.1 200 OK"), "{part}");
    }
    for outside in ["http://", "https://", "@import", "url("] {
        for part in ["/", "/board.css", "/board.js"] {
            let text = board.get(part);
            let (_, body) = text.split_once("\r\n\r\n").unwrap();
            assert!(!body.contains(outside), "{part} reaches for {outside}");
        }
    }

    let mut events = board.events();
    let first = events.find(|s| verdict_of(s, "a.svg").is_some()).unwrap();
    assert_eq!(verdict_of(&first, "a.svg").unwrap(), "clear");
    let rests_on = first["runs"][0]["rests_on"].as_str().unwrap();
    assert!(rests_on.starts_with("names not compared"), "{rests_on}");
    shop.save("a.svg", &shop.hold(1));
    let next = events
        .find(|s| {
            verdict_of(s, "a.svg").as_deref() != Some("clear") && verdict_of(s, "a.svg").is_some()
        })
        .unwrap();
    assert_eq!(verdict_of(&next, "a.svg").unwrap(), "hold");
    assert!(!next["runs"][0]["findings"].as_array().unwrap().is_empty());

    let id = next["runs"][0]["id"].as_str().unwrap();
    let proof = board.get(&format!("/proof/{id}?v=1"));
    assert!(proof.starts_with("HTTP/1.1 200 OK"), "{proof}");
    assert!(proof.contains("sandbox"));
    assert!(proof.to_lowercase().contains("hold"), "{proof}");
}

#[test]
fn the_board_refuses_other_names_and_other_paths() {
    let shop = Workshop::new();
    let mut watcher = shop.watch(&["--board", "0", "--board-name", "bench.example"]);
    let board = Board::of(&mut watcher);
    let port = board.host.rsplit(':').next().unwrap().to_owned();
    let status = |request: &str| {
        let answer = board.raw(request);
        answer.split(' ').nth(1).unwrap_or_default().to_owned()
    };
    for host in ["localhost", "127.0.0.1", "[::1]", "bench.example"] {
        let request = format!("GET / HTTP/1.1\r\nHost: {host}:{port}\r\n\r\n");
        assert_eq!(status(&request), "200", "{host}");
    }
    for host in [
        "evil.example",
        "evil.example:80",
        "127.0.0.1",
        "127.0.0.1:1",
        "",
    ] {
        let request = format!("GET / HTTP/1.1\r\nHost: {host}\r\n\r\n");
        assert_eq!(status(&request), "421", "{host}");
    }
    let host = &board.host;
    for path in [
        "/../fixture.toml",
        "/proof/../../fixture.toml",
        "/proof/..%2f..%2ffixture.toml",
        "//etc/passwd",
        "/proof/",
        "/proof/0123456789abcdef",
        "/runs/a.svg",
        "/proof//etc/passwd",
    ] {
        let answer = board.get(path);
        let code = answer.split(' ').nth(1).unwrap();
        assert!(["400", "404"].contains(&code), "{path}: {answer}");
        assert!(!answer.contains("[fixture]") && !answer.contains("root:"));
    }
    let post = format!("POST / HTTP/1.1\r\nHost: {host}\r\n\r\n");
    assert_eq!(status(&post), "405");
    let long = format!(
        "GET / HTTP/1.1\r\nHost: {host}\r\nX: {}\r\n\r\n",
        "x".repeat(9000)
    );
    assert_eq!(status(&long), "431");
}

#[test]
fn the_board_is_for_this_machine_unless_told_otherwise() {
    let shop = Workshop::new();
    let mut refused = shop.watch(&["--board", "0.0.0.0:0"]);
    assert_eq!(refused.child.wait().unwrap().code(), Some(2));
    let mut meant = shop.watch(&["--board", "0.0.0.0:0", "--board-network"]);
    meant.until("the board", |l| l.contains("the board is at"));
}
