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

/// A run as the page sends it.
fn sent(name: &str, run: &[u8], loaded: &str, list: Option<(&str, &[u8], &str)>) -> Vec<u8> {
    let wanted = serde_json::json!({
        "name": name,
        "size": run.len(),
        "loaded": loaded,
        "list": list.map(|(name, bytes, column)| serde_json::json!({
            "name": name, "size": bytes.len(), "columns": [column], "quantity": ""
        })),
    });
    let list = list.map(|(_, bytes, _)| bytes).unwrap_or_default();
    [wanted.to_string().as_bytes(), b"\n", run, list].concat()
}

impl Board {
    fn token(&self) -> String {
        let answer = self.get("/token");
        assert!(answer.starts_with("HTTP/1.1 200 OK"), "{answer}");
        answer.split_once("\r\n\r\n").unwrap().1.trim().to_owned()
    }

    /// Sends a body as with these lines in its head; status and what is answered.
    fn post(&self, lines: &[String], body: &[u8]) -> (String, String) {
        let mut stream = TcpStream::connect(&self.host).unwrap();
        let head = format!(
            "POST /inspect HTTP/1.1\r\nHost: {}\r\nContent-Length: {}\r\n{}\r\n",
            self.host,
            body.len(),
            lines.iter().map(|l| format!("{l}\r\n")).collect::<String>()
        );
        stream.write_all(head.as_bytes()).unwrap();
        // What is refused is not read to its end.
        let _ = stream.write_all(body);
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        let (head, body) = answer.split_once("\r\n\r\n").unwrap();
        (head.split(' ').nth(1).unwrap().to_owned(), body.to_owned())
    }

    fn own(&self) -> Vec<String> {
        vec![
            format!("Origin: http://{}", self.host),
            format!("X-Board-Token: {}", self.token()),
        ]
    }

    fn dropped(&self, body: &[u8]) -> serde_json::Value {
        let (status, answer) = self.post(&self.own(), body);
        assert_eq!(status, "200", "{answer}");
        serde_json::from_str(&answer).unwrap()
    }
}

/// Every file below a folder with its bytes.
fn everything(folder: &std::path::Path) -> std::collections::BTreeMap<std::path::PathBuf, Vec<u8>> {
    let mut all = std::collections::BTreeMap::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            all.extend(everything(&path));
        } else {
            all.insert(path.clone(), std::fs::read(&path).unwrap());
        }
    }
    all
}

#[test]
fn a_dropped_run_is_inspected_in_memory_and_changes_nothing() {
    let shop = Workshop::new();
    shop.save("a.svg", &shop.clear(0));
    let mut watcher = shop.gate(&["--board", "0", "--record", "shop.jsonl"]);
    let board = Board::of(&mut watcher);
    watcher.verdict("CLEAR", "a.svg");
    let mut events = board.events();
    let before = events.find(|s| verdict_of(s, "a.svg").is_some()).unwrap();
    shop.waits("the copy and the record", || {
        shop.cleared().join("a.svg").exists() && shop.path().join("shop.jsonl").exists()
    });
    std::thread::sleep(Duration::from_secs(1));
    let files = everything(shop.path());

    let clear = board.dropped(&sent("b.svg", shop.clear(1).as_bytes(), "", None));
    assert_eq!(clear["verdict"], "clear", "{clear}");
    assert_eq!(clear["name"], "b.svg");
    let rests_on = clear["rests_on"].as_str().unwrap();
    assert!(rests_on.contains("all 12 pockets"), "{rests_on}");
    // The fixture fills the picture of a clear run; the bed around it is 600 mm wide.
    let picture = board.get(&format!("/picture/{}", clear["id"].as_str().unwrap()));
    let view = picture.split_once("viewBox=\"").unwrap().1;
    let wide: f64 = view.split(' ').nth(2).unwrap().parse().unwrap();
    assert!((200.0..300.0).contains(&wide), "{wide}");

    // The name of a file that is watched is no more than a name.
    let hold = board.dropped(&sent("../a.svg", shop.hold(2).as_bytes(), "", None));
    assert_eq!(hold["verdict"], "hold", "{hold}");
    assert_eq!(hold["name"], "a.svg");
    assert_eq!(hold["findings"][0]["pocket"], "A3");
    for form in ["picture", "proof"] {
        let drawn = board.get(&format!("/{form}/{}", hold["id"].as_str().unwrap()));
        assert!(drawn.starts_with("HTTP/1.1 200 OK") && drawn.contains("sandbox"));
        assert!(drawn.contains("Meadowsweet"), "{drawn}");
    }

    // The load and the list that are chosen count.
    let part = board.dropped(&sent("b.svg", shop.clear(1).as_bytes(), "A1-A5", None));
    assert_eq!(part["verdict"], "hold", "{part}");
    let names = b"Name\nBramble\nNobody\n";
    let list = Some(("orders.csv", &names[..], "Name"));
    let listed = board.dropped(&sent("b.svg", shop.clear(1).as_bytes(), "", list));
    assert_eq!(listed["verdict"], "hold", "{listed}");
    assert!(listed.to_string().contains("Nobody"), "{listed}");

    // What cannot be read is unread, never clear.
    for broken in [&b"<svg"[..], b"", b"\xff\xfe\x00", b"name,of\n"] {
        let unread = board.dropped(&sent("b.svg", broken, "", None));
        assert_eq!(unread["verdict"], "unread", "{unread}");
    }
    let no_column = Some(("orders.csv", &names[..], "Surname"));
    for (loaded, list) in [("Z9", None), ("", no_column)] {
        let unread = board.dropped(&sent("b.svg", shop.clear(1).as_bytes(), loaded, list));
        assert_eq!(unread["verdict"], "unread", "{unread}");
    }

    assert_eq!(everything(shop.path()), files);
    let after = board.events().next().unwrap();
    assert_eq!(after["runs"], before["runs"]);
}

#[test]
fn a_dropped_run_is_taken_from_this_boards_own_page_alone() {
    let shop = Workshop::new();
    let mut watcher = shop.watch(&["--board", "0"]);
    let board = Board::of(&mut watcher);
    let body = sent("b.svg", shop.clear(1).as_bytes(), "", None);
    let origin = format!("Origin: http://{}", board.host);
    let token = format!("X-Board-Token: {}", board.token());
    let wrong = format!("X-Board-Token: {}", "0".repeat(64));
    for lines in [
        vec![],
        vec![token.clone()],
        vec![origin.clone()],
        vec![origin.clone(), wrong],
        vec!["Origin: http://evil.example".to_owned(), token.clone()],
        vec!["Origin: null".to_owned(), token.clone()],
        vec![
            "Origin: http://localhost.evil.example".to_owned(),
            token.clone(),
        ],
    ] {
        let (status, said) = board.post(&lines, &body);
        assert_eq!(status, "403", "{lines:?}: {said}");
        assert!(!said.contains("verdict"), "{said}");
    }
    // The token is for this board's page: another page's request for it is refused.
    let asked = format!(
        "GET /token HTTP/1.1\r\nHost: {}\r\nOrigin: http://evil.example\r\n\r\n",
        board.host
    );
    assert!(board.raw(&asked).starts_with("HTTP/1.1 403 "));
    // Another watcher's token opens nothing.
    let mut other = shop.watch(&["--board", "0"]);
    let other = Board::of(&mut other);
    let (status, _) = board.post(
        &[origin.clone(), format!("X-Board-Token: {}", other.token())],
        &body,
    );
    assert_eq!(status, "403");

    let own = [origin, token];
    let large = vec![b' '; (64 << 20) + 1];
    let (status, said) = board.post(&own, &large);
    assert_eq!(status, "413");
    assert!(said.contains("64 MB"), "{said}");
    for malformed in [&b""[..], b"{}", b"{}\nabc", b"\xff\n"] {
        let (status, said) = board.post(&own, malformed);
        assert_eq!(status, "400", "{said}");
    }
    let mut cut = body.clone();
    cut.pop();
    assert_eq!(board.post(&own, &cut).0, "400");
    // And after all that, it still answers.
    assert_eq!(board.post(&own, &body).0, "200");
}
