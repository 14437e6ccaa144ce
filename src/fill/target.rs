//! Where files go: only where nothing lies, or what this program wrote and nobody has changed since.

use std::path::Path;

use sha2::{Digest as _, Sha256};

/// Opens the seal: a comment that is the last line of a file. XML and HTML both have it.
const SEAL: &str = "<!-- written by jigwarden fill, ";

/// `text` with the seal below it: a digest of everything above.
pub(super) fn sealed(text: &str) -> Vec<u8> {
    format!("{text}{SEAL}{} -->\n", digest(text)).into_bytes()
}

fn digest(text: &str) -> String {
    Sha256::digest(text.as_bytes())
        .iter()
        .map(|b| format!("{b:02x}"))
        .collect()
}

/// Whether bytes are a file that this program wrote, as it wrote it.
fn unchanged(bytes: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return false;
    };
    text.rsplit_once(SEAL)
        .is_some_and(|(above, seal)| seal == format!("{} -->\n", digest(above)))
}

/// Whether `file` may be written.
///
/// # Errors
///
/// Why not, in words.
pub(super) fn may_write(file: &Path) -> Result<(), String> {
    match std::fs::read(file) {
        Ok(bytes) if unchanged(&bytes) => Ok(()),
        Ok(_) => Err(format!(
            "{} is there already and is not as this program wrote it: move it away, or name another folder with -o",
            file.display()
        )),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(()),
        Err(e) => Err(format!("{} cannot be looked at ({e})", file.display())),
    }
}

/// Files in `folder` that an earlier call wrote for this list and that are not among `now`.
pub(super) fn left_over(folder: &Path, stem: &str, now: &[std::path::PathBuf]) -> Vec<String> {
    let mut left: Vec<String> = std::fs::read_dir(folder)
        .into_iter()
        .flatten()
        .flatten()
        .map(|e| e.path())
        .filter(|p| !now.contains(p) && p.extension().is_some_and(|e| e == "svg"))
        .filter(|p| std::fs::read(p).is_ok_and(|bytes| unchanged(&bytes)))
        .filter_map(|p| Some(p.file_name()?.to_str()?.to_owned()))
        .filter(|name| {
            name.strip_prefix(stem)
                .is_some_and(|rest| rest.starts_with('-'))
        })
        .collect();
    left.sort();
    left
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn only_what_was_written_and_left_alone_is_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("a-1.svg");
        assert!(may_write(&file).is_ok());
        let bytes = sealed("<svg/>\n");
        std::fs::write(&file, &bytes).unwrap();
        assert!(may_write(&file).is_ok());
        assert_eq!(left_over(folder.path(), "a", &[]), ["a-1.svg"]);
        assert!(left_over(folder.path(), "a", std::slice::from_ref(&file)).is_empty());
        assert!(left_over(folder.path(), "b", &[]).is_empty());
        for other in [
            b"<svg/>\n".to_vec(),
            [b" ".to_vec(), bytes.clone()].concat(),
            [bytes, b" ".to_vec()].concat(),
            vec![0xff],
        ] {
            std::fs::write(&file, &other).unwrap();
            let said = may_write(&file).unwrap_err();
            assert!(said.contains("a-1.svg"), "{said}");
            assert!(left_over(folder.path(), "a", &[]).is_empty());
        }
    }
}
