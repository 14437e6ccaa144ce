//! Reads a source tree: which file takes something from which other.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use proc_macro2::{Delimiter, Group, TokenStream, TokenTree};

/// A module's path from the crate's root: `["rules", "tilted"]`; empty for the root itself.
pub(super) type Name = Vec<String>;

/// One place where a file names something of another file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Import {
    /// The line, from 1.
    pub(super) line: usize,
    /// The file that is named, as a module.
    pub(super) to: Name,
}

/// A source file.
#[derive(Debug, Clone)]
pub(super) struct File {
    /// Its path, as it is shown.
    pub(super) path: PathBuf,
    /// What it takes from others, in the order of its lines.
    pub(super) imports: Vec<Import>,
    /// The lines that take the whole crate, under another name or with `*`: what is named after that
    /// cannot be followed.
    pub(super) wholesale: Vec<usize>,
}

/// Every file of the program below `src`, by module. Code for tests alone is left out: a test may look
/// wherever it likes.
pub(super) fn read(src: &Path) -> BTreeMap<Name, File> {
    let mut texts: BTreeMap<Name, (PathBuf, TokenStream)> = BTreeMap::new();
    for path in rust_files(src) {
        let inside = path.strip_prefix(src).unwrap();
        let mut name: Name = inside
            .with_extension("")
            .iter()
            .map(|part| part.to_string_lossy().into_owned())
            .collect();
        if name.last().unwrap() == "mod" {
            name.pop();
        }
        // The roots only list the rooms.
        if name == ["lib"] || name == ["main"] {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let tokens: TokenStream = text
            .parse()
            .unwrap_or_else(|e| panic!("{} is no Rust: {e}", path.display()));
        let shown = Path::new(src.file_name().unwrap()).join(inside);
        texts.insert(name, (shown, tokens));
    }
    let mut walks: BTreeMap<Name, Walk> = BTreeMap::new();
    let modules: BTreeSet<Name> = texts.keys().cloned().collect();
    for (name, (_, tokens)) in &texts {
        let mut walk = Walk {
            modules: &modules,
            file: name.clone(),
            paths: Vec::new(),
            wholesale: Vec::new(),
            tests: Vec::new(),
        };
        walk.items(tokens.clone(), name);
        walks.insert(name.clone(), walk);
    }
    let tests: Vec<Name> = walks.values().flat_map(|w| w.tests.clone()).collect();
    let test_only = |name: &Name| tests.iter().any(|t| name.starts_with(t));
    texts
        .into_iter()
        .filter(|(name, _)| !test_only(name))
        .map(|(name, (path, _))| {
            let mut imports: Vec<Import> = walks[&name]
                .paths
                .iter()
                .filter_map(|(line, path)| {
                    let to = file_of(path, &modules)?;
                    (to != name && !test_only(&to)).then_some(Import { line: *line, to })
                })
                .collect();
            imports.sort();
            imports.dedup();
            let wholesale = walks[&name].wholesale.clone();
            (
                name,
                File {
                    path,
                    imports,
                    wholesale,
                },
            )
        })
        .collect()
}

/// The file that holds what a path names: the longest beginning of it that is a module. What the root
/// holds itself is in no room.
fn file_of(path: &[String], modules: &BTreeSet<Name>) -> Option<Name> {
    (1..=path.len())
        .rev()
        .map(|n| path[..n].to_vec())
        .find(|m| modules.contains(m))
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut out = Vec::new();
    let mut entries: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            out.extend(rust_files(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
    out
}

/// The paths that one file names.
struct Walk<'a> {
    modules: &'a BTreeSet<Name>,
    file: Name,
    /// Each from the crate's root, with its line.
    paths: Vec<(usize, Name)>,
    /// Lines that take the crate's root as a whole.
    wholesale: Vec<usize>,
    /// Modules of this file that are for tests alone.
    tests: Vec<Name>,
}

impl Walk<'_> {
    /// Reads tokens in the module `here`, which is this file's or one written inside it.
    fn items(&mut self, tokens: TokenStream, here: &Name) {
        let tokens: Vec<TokenTree> = tokens.into_iter().collect();
        let mut at = 0;
        while at < tokens.len() {
            if is_punct(&tokens[at], '#')
                && let Some(TokenTree::Group(g)) = tokens.get(at + 1)
                && g.delimiter() == Delimiter::Bracket
                && g.stream().to_string().replace(' ', "") == "cfg(test)"
            {
                at = self.skip_item(&tokens, at + 2, here);
                continue;
            }
            at = match &tokens[at] {
                TokenTree::Ident(word) if word == "mod" => self.module(&tokens, at, here),
                TokenTree::Ident(_) => self.path(&tokens, at, here),
                TokenTree::Group(g) => {
                    self.items(g.stream(), here);
                    at + 1
                }
                _ => at + 1,
            };
        }
    }

    /// Past an item that is for tests alone: to its semicolon or the end of its body.
    fn skip_item(&mut self, tokens: &[TokenTree], mut at: usize, here: &Name) -> usize {
        let is_use = matches!(tokens.get(at), Some(TokenTree::Ident(w)) if w == "use");
        while let Some(token) = tokens.get(at) {
            match token {
                TokenTree::Ident(word) if word == "mod" => {
                    if let Some(TokenTree::Ident(name)) = tokens.get(at + 1) {
                        self.tests.push(joined(here, &[name.to_string()]));
                    }
                }
                TokenTree::Group(g) if g.delimiter() == Delimiter::Brace && !is_use => {
                    return at + 1;
                }
                token if is_punct(token, ';') => return at + 1,
                _ => {}
            }
            at += 1;
        }
        at
    }

    /// `mod name;` or `mod name { … }`.
    fn module(&mut self, tokens: &[TokenTree], at: usize, here: &Name) -> usize {
        match (tokens.get(at + 1), tokens.get(at + 2)) {
            (Some(TokenTree::Ident(name)), Some(TokenTree::Group(body)))
                if body.delimiter() == Delimiter::Brace =>
            {
                self.items(body.stream(), &joined(here, &[name.to_string()]));
                at + 3
            }
            (Some(TokenTree::Ident(_)), _) => at + 2,
            _ => at + 1,
        }
    }

    /// A path that may start here; gives where to go on reading.
    fn path(&mut self, tokens: &[TokenTree], at: usize, here: &Name) -> usize {
        let mut parts = Vec::new();
        let end = spelled(tokens, at, &mut parts);
        let line = tokens[at].span().start().line;
        // Behind `::` it goes on from something that is no module.
        let goes_on = at >= 2 && is_punct(&tokens[at - 1], ':') && is_punct(&tokens[at - 2], ':');
        let Some(start) = self.root(&parts, here).filter(|_| !goes_on) else {
            return end;
        };
        if start.is_empty() && takes_all(tokens.get(end)) {
            self.wholesale.push(line);
        }
        match tokens.get(end) {
            Some(TokenTree::Group(list))
                if list.delimiter() == Delimiter::Brace && ends_in_colons(tokens, end) =>
            {
                self.list(list, &start);
                end + 1
            }
            _ => {
                // `super` alone is the reach of a `pub(super)`.
                let named = parts
                    .iter()
                    .any(|p| !["crate", "self", "super"].contains(&p.as_str()));
                if named || ends_in_colons(tokens, end) {
                    self.paths.push((line, start));
                }
                end
            }
        }
    }

    /// The names in the braces of a `use`.
    fn list(&mut self, list: &Group, start: &Name) {
        let tokens: Vec<TokenTree> = list.stream().into_iter().collect();
        let mut at = 0;
        while at < tokens.len() {
            let mut parts = Vec::new();
            let end = spelled(&tokens, at, &mut parts);
            let line = tokens[at].span().start().line;
            parts.retain(|p| p != "self");
            let whole = joined(start, &parts);
            if whole.is_empty() && takes_all(tokens.get(end)) {
                self.wholesale.push(line);
            }
            match tokens.get(end) {
                Some(TokenTree::Group(inner)) if ends_in_colons(&tokens, end) => {
                    self.list(inner, &whole);
                }
                _ if end > at => self.paths.push((line, whole)),
                _ => {}
            }
            // To behind the next comma; `as another` is in between.
            at = end.max(at);
            while at < tokens.len() && !is_punct(&tokens[at], ',') {
                at += 1;
            }
            at += 1;
        }
    }

    /// A path from the root, if it names something of this crate by `crate`, `super`, `self` or a
    /// module below this one.
    fn root(&self, parts: &[String], here: &Name) -> Option<Name> {
        let (first, rest) = parts.split_first()?;
        match first.as_str() {
            "crate" => Some(rest.to_vec()),
            "self" if !rest.is_empty() => Some(joined(here, rest)),
            "super" => {
                let ups = parts.iter().take_while(|p| *p == "super").count();
                let up = &here[..here.len().checked_sub(ups)?];
                Some(joined(up, &parts[ups..]))
            }
            _ => {
                let below = joined(here, std::slice::from_ref(first));
                let is_one = self.modules.contains(&below) && !rest.is_empty();
                (is_one && *here == self.file).then(|| joined(here, parts))
            }
        }
    }
}

/// Reads `a::b::c` from `at` on; gives the place behind it, behind a last `::` too.
fn spelled(tokens: &[TokenTree], mut at: usize, parts: &mut Vec<String>) -> usize {
    while let Some(TokenTree::Ident(word)) = tokens.get(at) {
        parts.push(word.to_string());
        at += 1;
        let colons = tokens.get(at).is_some_and(|t| is_punct(t, ':'))
            && tokens.get(at + 1).is_some_and(|t| is_punct(t, ':'));
        if !colons {
            break;
        }
        at += 2;
    }
    at
}

/// Whether a path goes on with another name for what it names (`as`, or `extern crate self`), or with `*`.
fn takes_all(next: Option<&TokenTree>) -> bool {
    match next {
        Some(TokenTree::Ident(word)) => word == "as" || word == "self",
        Some(token) => is_punct(token, '*'),
        None => false,
    }
}

fn ends_in_colons(tokens: &[TokenTree], end: usize) -> bool {
    end >= 2 && is_punct(&tokens[end - 1], ':') && is_punct(&tokens[end - 2], ':')
}

fn is_punct(token: &TokenTree, sign: char) -> bool {
    matches!(token, TokenTree::Punct(p) if p.as_char() == sign)
}

fn joined(start: &[String], rest: &[String]) -> Name {
    start.iter().chain(rest).cloned().collect()
}
