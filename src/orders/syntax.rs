//! Quotes in an order list, after RFC 4180, section 2, rules 5 to 7.
//!
//! Table readers are lenient: one quote too many silently swallows every row to the end of the file.
//! Here that is an error.

/// Where the scan stands.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Field {
    /// At the start of a field.
    Start,
    /// In a field without quotes.
    Plain,
    /// Between quotes, opened on this line.
    Quoted(usize),
    /// After a quote in a quoted field: the end of it, or the first of two.
    Closing(usize),
}

/// Whether every quote opens a field, closes one, or is doubled inside one.
///
/// # Errors
///
/// The line on which it is not so, in words.
pub(super) fn check(text: &str, separator: u8) -> Result<(), String> {
    let mut state = Field::Start;
    let mut line = 1;
    let bytes = text.as_bytes();
    for (i, byte) in bytes.iter().copied().enumerate() {
        let end = byte == b'\n' || byte == b'\r';
        state = match (state, byte) {
            (Field::Start, b'"') => Field::Quoted(line),
            (Field::Quoted(from), b'"') => Field::Closing(from),
            (Field::Closing(from), b'"') | (Field::Quoted(from), _) => Field::Quoted(from),
            (_, b) if b == separator || end => Field::Start,
            (Field::Plain, b'"') => {
                return Err(format!(
                    "line {line} of the order list has a quote inside a field that does not start with one: put the whole field in quotes and double the inner ones"
                ));
            }
            (Field::Closing(_), _) => {
                return Err(format!(
                    "line {line} of the order list goes on after a closing quote: double the quotes that belong to the name"
                ));
            }
            (Field::Start | Field::Plain, _) => Field::Plain,
        };
        // A line ends at LF, at CR LF once, or at a lone CR.
        if byte == b'\n' || (byte == b'\r' && bytes.get(i + 1) != Some(&b'\n')) {
            line += 1;
        }
    }
    match state {
        Field::Quoted(from) => Err(format!(
            "line {from} of the order list opens a quote that is never closed"
        )),
        _ => Ok(()),
    }
}
