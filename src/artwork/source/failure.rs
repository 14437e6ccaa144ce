//! Why a file could not be read, in words, and what to do about it.

use crate::paths::Printable as _;
use crate::wording::cut_to;
use std::io;
use std::path::{Path, PathBuf};

use roxmltree::Error as Xml;

use crate::artwork::limits::{
    DEEPEST, LARGEST, MAX_DEPTH, MAX_ELEMENTS, MAX_POINTS, MOST_ATTRIBUTES, MOST_EXPANDED,
    MOST_NODES,
};

const MB: u64 = 1024 * 1024;

/// A file that could not be read.
///
/// Its text is one sentence that begins with the file; [`ReadError::help`] is the way out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{} {trouble}", path.printable())]
pub struct ReadError {
    /// The file.
    pub path: PathBuf,
    /// What is wrong with it.
    pub trouble: Failure,
    /// Where in the decoded text, in bytes. `None` where there is no such place, or where it did not
    /// come to a text.
    pub at: Option<usize>,
}

/// What is wrong with a file: what follows its name in a sentence.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Failure {
    /// No such file.
    #[error("does not exist")]
    Missing,
    /// A folder.
    #[error("is a folder, not a file")]
    Folder,
    /// A device, a pipe.
    #[error("is not an ordinary file")]
    NotAFile,
    /// No permission.
    #[error("may not be read with your permissions")]
    Denied,
    /// Any other failure while reading, as the system words it.
    #[error("could not be read: {0}")]
    Io(String),
    /// Nothing in it.
    #[error("is empty")]
    Empty,
    /// Too many bytes.
    #[error("{} more than {} MB, the most that is read", if *unpacked { "unpacks to" } else { "has" }, LARGEST / MB)]
    TooLarge {
        /// Whether it is the unpacked text that is too large.
        unpacked: bool,
    },
    /// A compressed file that ends too early.
    #[error("is compressed, and ends before its contents do")]
    CutShort,
    /// A compressed file that does not unpack.
    #[error("is compressed, and its contents are damaged")]
    Damaged,
    /// A file of another kind, recognised by how it starts.
    #[error("is {0}, not an SVG drawing")]
    OtherKind(&'static str),
    /// Text without a tag.
    #[error("is not an SVG drawing: it does not begin with a tag")]
    NoTag,
    /// The declared encoding is not known.
    #[error("declares the encoding \"{0}\", which is not known")]
    UnknownEncoding(String),
    /// Bytes that the encoding has no character for.
    #[error("is not the {encoding} that it {}: byte {byte} is no part of it", if *declared { "claims to be" } else { "must be, as it names no encoding" })]
    Undecodable {
        /// The encoding's name.
        encoding: &'static str,
        /// Whether the file names it, by declaration or byte order mark.
        declared: bool,
        /// The first bad byte, counted from 0 in the unpacked file.
        byte: usize,
    },
    /// A NUL character.
    #[error("holds a NUL character at line {line}, column {column}")]
    Nul {
        /// The line, from 1.
        line: usize,
        /// The column, from 1.
        column: usize,
    },
    /// Nested too deeply.
    #[error("nests elements more than {DEEPEST} deep")]
    TooDeep,
    /// Clones of clones, too deep.
    #[error("repeats objects inside each other more than {} deep", MAX_DEPTH)]
    ClonesTooDeep,
    /// Clones that stand for too much.
    #[error("repeats objects until there are more than {}", MAX_ELEMENTS)]
    ClonesTooMany,
    /// Outlines of too many points, clones counted.
    #[error("draws outlines of more than {} points, clones counted", MAX_POINTS)]
    TooManyPoints,
    /// Too many attributes on one element.
    #[error("has an element with more than {MOST_ATTRIBUTES} attributes")]
    TooManyAttributes,
    /// Too many elements, comments and texts.
    #[error("has more than {MOST_NODES} elements and texts")]
    TooManyNodes,
    /// Entities that grow too large.
    #[error("has entities that grow to more than {} MB", MOST_EXPANDED / MB)]
    TooMuchExpanded,
    /// Entities that call themselves, or call too many others.
    #[error("has entities that call each other without an end")]
    EntityLoop,
    /// Attributes and namespaces that would take the parser too long.
    #[error(
        "has more attributes and namespaces on its elements than can be compared in a sensible time"
    )]
    TooMuchWork,
    /// Broken XML.
    #[error("is broken at line {line}, column {column}: {why}")]
    Broken {
        /// The line, from 1.
        line: usize,
        /// The column, from 1.
        column: usize,
        /// What is wrong there.
        why: String,
    },
    /// The root element is not `svg`.
    #[error("is not an SVG drawing: its outermost element is {0}")]
    Root(String),
}

impl ReadError {
    pub(super) fn new(path: &Path, trouble: Failure) -> Self {
        Self {
            path: path.to_owned(),
            trouble,
            at: None,
        }
    }

    /// What to do about it.
    pub fn help(&self) -> &'static str {
        match &self.trouble {
            Failure::Missing => "check the name and the folder",
            Failure::Folder => "name a file in it",
            Failure::NotAFile => "save the drawing as an ordinary file and name that",
            Failure::Denied => "ask whoever owns the file to let you read it, or save a copy",
            Failure::Io(_) => "copy the file to this machine and try again",
            Failure::Empty => "nothing was written into it, so export the drawing again",
            Failure::TooLarge { .. } | Failure::TooManyNodes => {
                "split the run, or embed smaller pictures and simpler paths"
            }
            Failure::CutShort | Failure::Damaged => {
                "export or copy the file again, best without compression"
            }
            Failure::OtherKind(_) | Failure::NoTag | Failure::Root(_) => {
                "export the drawing as SVG; renaming a file does not convert it"
            }
            Failure::UnknownEncoding(_) | Failure::Undecodable { .. } => "save the file as UTF-8",
            Failure::Nul { .. } | Failure::Broken { .. } => {
                "export the drawing again, or put the text right at that place"
            }
            Failure::ClonesTooDeep | Failure::ClonesTooMany | Failure::TooManyPoints => {
                "replace the clones by the objects themselves, and export again"
            }
            Failure::TooDeep => "ungroup nested groups and export again",
            Failure::TooManyAttributes | Failure::TooMuchWork => {
                "export as plain SVG, without the editor's own data"
            }
            Failure::TooMuchExpanded | Failure::EntityLoop => {
                "export as plain SVG, without entities"
            }
        }
    }
}

impl Failure {
    pub(super) fn from_io(error: &io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => Self::Missing,
            io::ErrorKind::PermissionDenied => Self::Denied,
            io::ErrorKind::IsADirectory => Self::Folder,
            _ => Self::Io(error.to_string()),
        }
    }
}

/// Where the parser stopped, as line and column from 1, where it says.
pub(super) fn position(error: &Xml) -> Option<(usize, usize)> {
    match error {
        Xml::NoRootNode
        | Xml::UnclosedRootNode
        | Xml::UnexpectedEndOfStream
        | Xml::NodesLimitReached
        | Xml::AttributesLimitReached
        | Xml::NamespacesLimitReached
        | Xml::DtdDetected => None,
        other => {
            let at = other.pos();
            Some((at.row as usize, at.col as usize))
        }
    }
}

/// The parser's error in our words.
pub(super) fn from_xml(error: &Xml, line: usize, column: usize) -> Failure {
    let cut = |name: &str| cut_to(name, 40);
    let why = match error {
        Xml::NodesLimitReached => return Failure::TooManyNodes,
        Xml::AttributesLimitReached | Xml::NamespacesLimitReached => return Failure::TooMuchWork,
        Xml::EntityReferenceLoop(_) => return Failure::EntityLoop,
        Xml::InvalidXmlPrefixUri(_)
        | Xml::UnexpectedXmlUri(_)
        | Xml::UnexpectedXmlnsUri(_)
        | Xml::InvalidElementNamePrefix(_) => "a reserved namespace is misused".to_owned(),
        Xml::DuplicatedNamespace(name, _) => {
            format!(
                "the namespace prefix \"{}\" is declared twice on one element",
                cut(name)
            )
        }
        Xml::UnknownNamespace(name, _) => {
            format!("the namespace prefix \"{}\" is not declared", cut(name))
        }
        Xml::UnexpectedCloseTag(open, close, _) => {
            format!(
                "\"{}\" is closed where \"{}\" is open",
                cut(close),
                cut(open)
            )
        }
        Xml::UnexpectedEntityCloseTag(_) => {
            "an entity closes an element that it did not open".to_owned()
        }
        Xml::UnknownEntityReference(name, _) => {
            format!("the entity \"{}\" is not defined in the file", cut(name))
        }
        Xml::MalformedEntityReference(_) => {
            "an \"&\" does not begin an entity; it is written \"&amp;\"".to_owned()
        }
        Xml::InvalidAttributeValue(_) => {
            "an attribute's value holds \"<\"; it is written \"&lt;\"".to_owned()
        }
        Xml::DuplicatedAttribute(name, _) => {
            format!(
                "the attribute \"{}\" is given twice on one element",
                cut(name)
            )
        }
        Xml::NoRootNode => "there is no element in it".to_owned(),
        Xml::UnclosedRootNode | Xml::UnexpectedEndOfStream => {
            "the text ends before every element is closed".to_owned()
        }
        Xml::UnexpectedDeclaration(_) => {
            "the XML declaration does not stand at the very beginning, or stands twice".to_owned()
        }
        Xml::DtdDetected | Xml::InvalidExternalID(_) | Xml::EntityResolver(..) => {
            "the document type declaration cannot be read".to_owned()
        }
        Xml::InvalidName(_) => "a name is missing or holds characters that no name may".to_owned(),
        Xml::NonXmlChar(c, _) => {
            format!("character U+{:04X} may not stand in XML", u32::from(*c))
        }
        Xml::InvalidChar(expected, actual, _) => {
            format!("{} stands where {} should", byte(*actual), byte(*expected))
        }
        Xml::InvalidChar2(expected, actual, _) => {
            format!("{} stands where {expected} should", byte(*actual))
        }
        Xml::InvalidString(expected, _) => format!("\"{expected}\" should stand here"),
        Xml::InvalidComment(_) => "a comment holds \"--\"".to_owned(),
        Xml::InvalidCharacterData(_) => "a text holds \"]]>\"".to_owned(),
        Xml::UnknownToken(_) => "this is not XML".to_owned(),
    };
    Failure::Broken { line, column, why }
}

fn byte(byte: u8) -> String {
    match byte {
        b' ' => "a space".to_owned(),
        b'\n' | b'\r' => "a line end".to_owned(),
        b'"' => "'\"'".to_owned(),
        byte if byte.is_ascii_graphic() => format!("\"{}\"", char::from(byte)),
        byte => format!("byte {byte}"),
    }
}
