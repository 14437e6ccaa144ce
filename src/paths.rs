//! Reads files only where that cannot block, writes them whole or not at all, and prints their names
//! so that no character in a name can be mistaken for another.

use std::io::{self, Write as _};
use std::path::Path;

/// Whether `c` changes how other text shows: control characters, and those that set the direction
/// of writing or are invisible (Unicode Bidirectional Algorithm, UAX 9, section 2; tag characters).
pub fn disturbs(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}')
        || matches!(c, '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}')
        || matches!(c, '\u{e0000}'..='\u{e007f}')
}

/// A path in words.
pub(crate) trait Printable {
    /// The path for a message: on one line, each sign that would disturb it as `\u{…}`, each byte that
    /// is no text as `\x…`.
    fn printable(&self) -> String;
}

impl<T: AsRef<Path> + ?Sized> Printable for T {
    fn printable(&self) -> String {
        let mut out = String::new();
        for chunk in self.as_ref().as_os_str().as_encoded_bytes().utf8_chunks() {
            for c in chunk.valid().chars() {
                if disturbs(c) {
                    out.extend(c.escape_unicode());
                } else {
                    out.push(c);
                }
            }
            for byte in chunk.invalid() {
                out.push_str(&format!("\\x{byte:02x}"));
            }
        }
        out
    }
}

/// Words of several lines, with each sign that would disturb them as `\u{…}`.
pub(crate) fn lines(text: &str) -> String {
    let lines: Vec<String> = text.split('\n').map(Printable::printable).collect();
    lines.join("\n")
}

/// The path for a script: as it is where it is text; else as [`Printable::printable`] has it, which
/// names every byte.
pub(crate) fn exact(path: &Path) -> String {
    path.to_str()
        .map_or_else(|| path.printable(), str::to_owned)
}

/// The path with every byte that RFC 3986 does not let stand as `%…`, where the path is no text.
pub(crate) fn percent(path: &Path) -> Option<String> {
    if path.to_str().is_some() {
        return None;
    }
    let plain = |b: &u8| b.is_ascii_alphanumeric() || b"-._~/".contains(b);
    let bytes = path.as_os_str().as_encoded_bytes();
    Some(
        bytes
            .iter()
            .map(|b| {
                if plain(b) {
                    char::from(*b).to_string()
                } else {
                    format!("%{b:02X}")
                }
            })
            .collect(),
    )
}

/// JSON with every sign that would disturb a terminal or an editor as `\u…`. Such signs stand in
/// strings only, where both forms mean the same (RFC 8259, section 7).
pub(crate) fn escaped(json: &str) -> String {
    let mut out = String::with_capacity(json.len());
    for c in json.chars() {
        if disturbs(c) && c != '\n' {
            for unit in c.encode_utf16(&mut [0; 2]) {
                out.push_str(&format!("\\u{unit:04x}"));
            }
        } else {
            out.push(c);
        }
    }
    out
}

/// Reads an ordinary file. Anything else is refused before it is opened: opening a pipe blocks until
/// somebody writes to it.
///
/// # Errors
///
/// As of [`std::fs::read`], and [`io::ErrorKind::InvalidInput`] for what is no ordinary file.
pub(crate) fn read(path: &Path) -> io::Result<Vec<u8>> {
    ordinary(path)?;
    std::fs::read(path)
}

/// Writes to a temporary file beside the target and renames it, so that a crash leaves either the old
/// file or the new one. The caller must know that `target` may be written.
///
/// # Errors
///
/// What the folder refuses.
pub(crate) fn replace(target: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = match target.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    let mut file = tempfile::NamedTempFile::new_in(folder)?;
    file.write_all(bytes)?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // Temporary files are readable by their owner only; the result is for others to read too.
        std::fs::set_permissions(file.path(), std::fs::Permissions::from_mode(0o644))?;
    }
    file.persist(target).map_err(|e| e.error)?;
    Ok(())
}

/// Whether two names lead to one ordinary file: a link, or a longer path. To compare them they are opened,
/// so anything else is refused first, as in [`read`].
///
/// # Errors
///
/// As of [`read`].
pub(crate) fn same(a: &Path, b: &Path) -> io::Result<bool> {
    ordinary(a)?;
    ordinary(b)?;
    same_file::is_same_file(a, b)
}

/// What one file is known by under all its names: two names that lead to it have this in common.
#[cfg(unix)]
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) struct Identity(u64, u64);

/// What one file is known by under all its names but hard links, which this system does not tell.
#[cfg(not(unix))]
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) struct Identity(std::path::PathBuf);

/// The identity of what a name leads to; `None` where it leads nowhere.
pub(crate) fn identity(path: &Path) -> Option<Identity> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt as _;
        let about = std::fs::metadata(path).ok()?;
        Some(Identity(about.dev(), about.ino()))
    }
    #[cfg(not(unix))]
    Some(Identity(std::fs::canonicalize(path).ok()?))
}

/// Refuses what is no ordinary file, links followed.
///
/// # Errors
///
/// As of [`read`].
pub(crate) fn ordinary(path: &Path) -> io::Result<std::fs::Metadata> {
    let about = std::fs::metadata(path)?;
    if about.is_dir() {
        return Err(io::Error::new(
            io::ErrorKind::IsADirectory,
            "it is a folder",
        ));
    }
    if !about.is_file() {
        return Err(io::Error::new(
            io::ErrorKind::InvalidInput,
            "it is no ordinary file",
        ));
    }
    Ok(about)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_cannot_pass_for_a_line_of_a_report() {
        let path = Path::new("a\u{1b}[2K\nCLEAR b.svg\u{202e}");
        assert_eq!(path.printable(), "a\\u{1b}[2K\\u{a}CLEAR b.svg\\u{202e}");
        assert_eq!(Path::new("Grüße.svg").printable(), "Grüße.svg");
    }

    #[cfg(unix)]
    #[test]
    fn a_name_that_is_no_text_names_every_byte() {
        use std::os::unix::ffi::OsStrExt as _;
        let path = Path::new(std::ffi::OsStr::from_bytes(b"caf\xe9 1.svg"));
        assert_eq!(exact(path), "caf\\xe9 1.svg");
        assert_eq!(percent(path).as_deref(), Some("caf%E9%201.svg"));
        assert_eq!(percent(Path::new("café.svg")), None);
    }

    #[test]
    fn json_keeps_its_meaning() {
        let text = "{\n \"a\": \"\u{9b}\u{7f}\u{202e}ü\"}";
        assert_eq!(escaped(text), "{\n \"a\": \"\\u009b\\u007f\\u202eü\"}");
    }
}
