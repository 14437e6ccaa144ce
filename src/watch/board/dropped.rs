//! A run that is dropped on the board's page: inspected in memory, and no part of what is watched.
//!
//! It is taken from this computer alone, from a page of this board, which shows so by its origin (`http`)
//! and by a token that no other page can read. What arrives is one line of JSON ([`Wanted`]), then the
//! bytes of the run, then those of the order list. Nothing of it is written anywhere.

use std::io;
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use serde::Deserialize;

use super::http::{self, Answer, Sent};
use super::proofs::{Drawn, Proofs};
use super::shown;
use crate::abandon::{self, Task};
use crate::inspect::{Inspector, Options};
use crate::orders::Named;
use crate::report::Run;
use crate::watch::input_digest::FixtureSource;

/// The most that a run and its list may be together, in bytes: four times the largest traced art that was
/// met. What is larger is inspected by `jigwarden inspect`.
const LARGEST: usize = 64 << 20;

/// The same in words.
const LARGEST_WORDS: &str = "64 MB";

/// Takes runs from the board's page.
#[derive(Debug)]
pub(super) struct Dropped {
    /// The watched folder: where a run would be saved.
    root: PathBuf,
    options: Options,
    /// What a page shows that sends a run; a page elsewhere cannot read it.
    token: String,
    /// Held while a run is taken in and inspected, so that there is one in memory at a time.
    one: Mutex<()>,
}

impl Dropped {
    /// Nothing is taken yet.
    ///
    /// # Errors
    ///
    /// No token, in words.
    pub(super) fn new(root: &Path, options: &Options) -> Result<Self, String> {
        let mut random = [0_u8; 32];
        getrandom::fill(&mut random).map_err(|e| {
            format!("the board has no token for its page: the system gives no random numbers ({e})")
        })?;
        Ok(Self {
            root: root.to_path_buf(),
            options: options.clone(),
            token: crate::fixture::code::digest(&random),
            one: Mutex::default(),
        })
    }

    /// The token, for a page on this computer.
    pub(super) fn token(&self, stream: &TcpStream) -> Answer {
        match from_here(stream) {
            Ok(()) => Answer::page("text/plain; charset=utf-8", PLAIN, &self.token),
            Err(refusal) => refusal,
        }
    }

    /// Takes in a run, and answers with what came of it.
    pub(super) fn take(
        &self,
        mut stream: TcpStream,
        sent: Sent,
        proofs: &Proofs,
    ) -> io::Result<()> {
        let refused = match from_here(&stream) {
            Err(refusal) => Some(refusal),
            Ok(()) if sent.token != self.token => Some(Answer::refusal(
                "403 Forbidden",
                "only a page of this board may ask for that: load the page again",
            )),
            Ok(()) if sent.length > LARGEST => Some(Answer::refusal(
                "413 Content Too Large",
                &format!(
                    "the run and its order list are over {LARGEST_WORDS} together: inspect them with `jigwarden inspect`"
                ),
            )),
            Ok(()) => None,
        };
        if let Some(refusal) = refused {
            return http::refuse_unread(&mut stream, &refusal);
        }
        let _one = self.one.lock().unwrap_or_else(PoisonError::into_inner);
        let bytes = sent.read(&mut stream)?;
        let bad = |words: &str| Answer::refusal("400 Bad Request", words);
        let answer = match inspect(&bytes, &self.root, &self.options) {
            Err(words) => bad(&words),
            Ok((run, drawn)) => {
                let id = shown::id_of(&bytes);
                match shown::dropped(&id, &run) {
                    Ok(text) => {
                        proofs.keep(&id, drawn);
                        Answer::page("application/json", PLAIN, &text)
                    }
                    Err(e) => bad(&e.to_string()),
                }
            }
        };
        answer.send(&mut stream, true)
    }
}

/// What an answer that is no page may load.
const PLAIN: &str = "default-src 'none'";

/// Whether the other end is on this computer: a file goes no farther.
fn from_here(stream: &TcpStream) -> Result<(), Answer> {
    let here = match (stream.peer_addr(), stream.local_addr()) {
        (Ok(peer), Ok(own)) => peer.ip().is_loopback() || peer.ip() == own.ip(),
        _ => false,
    };
    here.then_some(()).ok_or_else(|| {
        Answer::refusal(
            "403 Forbidden",
            "files are taken only on the computer that the board runs on",
        )
    })
}

/// What is asked for.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Wanted {
    /// The run's file name.
    name: String,
    /// How many bytes of what follows are the run.
    size: usize,
    /// The pockets that hold a blank; empty: as the watch has it.
    loaded: String,
    /// The order list; without it, the one of the watch, if it has one.
    list: Option<WantedList>,
}

/// An order list with its columns.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct WantedList {
    name: String,
    size: usize,
    columns: Vec<String>,
    /// Empty: each row is one.
    quantity: String,
}

/// What was sent, taken apart.
#[derive(Debug)]
struct Parts<'a> {
    wanted: Wanted,
    run: &'a [u8],
    list: &'a [u8],
}

/// Inspects what was sent as if it were saved in the folder `root`.
///
/// # Errors
///
/// What is wrong with the request, for people.
fn inspect(sent: &[u8], root: &Path, options: &Options) -> Result<(Run, Drawn), String> {
    let Parts { wanted, run, list } = parts(sent)?;
    let mut options = options.clone();
    let mut file = root.join(own_name(&wanted.name)?);
    if let FixtureSource::Settings(settings) = FixtureSource::of(&file, &options) {
        options.fixture = Some(settings);
        // Messages must not name a place where the file is not.
        file = PathBuf::from(own_name(&wanted.name)?);
    }
    if !wanted.loaded.trim().is_empty() {
        options.loaded = Some(wanted.loaded.trim().to_owned());
    }
    if let Some(wanted) = wanted.list {
        let full = |c: &String| !c.trim().is_empty();
        if !wanted.columns.iter().any(full) {
            return Err("say which column of the order list holds the names".to_owned());
        }
        options.names = Some(Named {
            file: PathBuf::from(own_name(&wanted.name)?),
            bytes: Some(Arc::from(list)),
            columns: wanted.columns.into_iter().filter(full).collect(),
            quantity: Some(wanted.quantity).filter(full),
            ..Named::default()
        });
    }
    let inspector = Inspector::new(options);
    // A page must not keep the other cores from inspecting.
    let (run, drawn) = abandon::for_task(Some(Task::on_one_core()), || {
        inspector.inspect_bytes(&file, run.to_vec(), Drawn::of)
    });
    let drawn = drawn.unwrap_or_else(|| Drawn::unread(&run));
    Ok((run, drawn))
}

fn parts(sent: &[u8]) -> Result<Parts<'_>, String> {
    let broken =
        || "what was sent is not what this board's page sends: load the page again".to_owned();
    let end = sent.iter().position(|b| *b == b'\n').ok_or_else(broken)?;
    let (line, rest) = sent.split_at_checked(end).ok_or_else(broken)?;
    let wanted: Wanted = serde_json::from_slice(line).map_err(|_| broken())?;
    let rest = rest.get(1..).ok_or_else(broken)?;
    let (run, list) = rest.split_at_checked(wanted.size).ok_or_else(broken)?;
    if list.len() != wanted.list.as_ref().map_or(0, |l| l.size) {
        return Err(broken());
    }
    Ok(Parts { wanted, run, list })
}

/// A file name without any folder.
fn own_name(name: &str) -> Result<&str, String> {
    let own = name.rsplit(['/', '\\', ':']).next().unwrap_or_default();
    let odd = own.is_empty() || own == "." || own == ".." || own.chars().any(char::is_control);
    if odd {
        return Err("the file has no name that can be used: give it another one".to_owned());
    }
    Ok(own)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_the_page_sends_is_understood() {
        let fine = b"{\"name\":\"a.svg\",\"size\":3,\"loaded\":\"\",\"list\":null}\nabc";
        assert!(parts(fine).is_ok_and(|p| p.run == b"abc" && p.list.is_empty()));
        for wrong in [
            &b""[..],
            b"abc",
            b"{}\nabc",
            b"{\"name\":\"a.svg\",\"size\":4,\"loaded\":\"\",\"list\":null}\nabc",
            b"{\"name\":\"a.svg\",\"size\":2,\"loaded\":\"\",\"list\":null}\nabc",
            b"{\"name\":\"a.svg\",\"size\":3,\"loaded\":\"\",\"list\":null,\"more\":1}\nabc",
            b"{\"name\":\"a.svg\",\"size\":18446744073709551615,\"loaded\":\"\",\"list\":null}\nabc",
        ] {
            assert!(parts(wrong).is_err(), "{}", String::from_utf8_lossy(wrong));
        }
    }

    #[test]
    fn a_name_leads_nowhere() {
        for (name, own) in [
            ("a.svg", Some("a.svg")),
            ("../../etc/a.svg", Some("a.svg")),
            ("C:\\runs\\a.svg", Some("a.svg")),
            ("", None),
            ("..", None),
            ("runs/", None),
            ("a\n.svg", None),
        ] {
            assert_eq!(own_name(name).ok(), own, "{name}");
        }
    }
}
