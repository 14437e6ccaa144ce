//! The commands that are run when a verdict changes.

use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{self, Sender};
use std::time::{Duration, Instant};

use super::{Message, start_thread};
use crate::report::Verdict;

/// How long a command may take. The next one waits for it; one that hangs must not stop the others
/// for ever.
const PATIENCE: Duration = Duration::from_secs(30);

/// Runs commands one after the other, on a thread of their own.
#[derive(Debug)]
pub(crate) struct Calls {
    on_hold: Option<PathBuf>,
    on_clear: Option<PathBuf>,
    to: Sender<Call>,
}

#[derive(Debug)]
struct Call {
    program: PathBuf,
    file: PathBuf,
    verdict: Verdict,
    finding: String,
}

impl Calls {
    /// `on_hold` is run for runs that hold or cannot be read, `on_clear` for those that are clear.
    /// Each is a program, not a line for a shell: nothing in a file's name can become a command.
    pub(crate) fn start(
        on_hold: Option<PathBuf>,
        on_clear: Option<PathBuf>,
        back: Sender<Message>,
    ) -> Self {
        let (to, calls) = mpsc::channel::<Call>();
        let supervisor = back.clone();
        start_thread("the commands", &supervisor, move || {
            for call in calls {
                if let Err(why) = run(&call) {
                    let words = format!("{} {why}", call.program.display());
                    if back.send(Message::Notice(words)).is_err() {
                        return;
                    }
                }
            }
        });
        Self {
            on_hold,
            on_clear,
            to,
        }
    }

    /// Runs what is to be run for this verdict; `finding` is the first thing found, or empty.
    pub(crate) fn changed(&self, file: PathBuf, verdict: Verdict, finding: String) {
        let program = match verdict {
            Verdict::Clear => &self.on_clear,
            Verdict::Hold | Verdict::Unread => &self.on_hold,
        };
        if let Some(program) = program {
            let _ = self.to.send(Call {
                program: program.clone(),
                file,
                verdict,
                finding,
            });
        }
    }
}

fn run(call: &Call) -> Result<(), String> {
    let mut child = Command::new(&call.program)
        .arg(&call.file)
        .arg(call.verdict.word())
        .env("JIGWARDEN_FILE", &call.file)
        .env("JIGWARDEN_VERDICT", call.verdict.word())
        .env("JIGWARDEN_FINDING", &call.finding)
        // Its output would disturb the screen.
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .map_err(|e| format!("cannot be run: {e}"))?;
    wait(&mut child)
}

fn wait(child: &mut Child) -> Result<(), String> {
    let begun = Instant::now();
    loop {
        match child.try_wait() {
            Err(e) => return Err(format!("cannot be waited for: {e}")),
            Ok(Some(status)) if status.success() => return Ok(()),
            Ok(Some(status)) => return Err(format!("failed ({status})")),
            Ok(None) if begun.elapsed() > PATIENCE => {
                let _ = child.kill();
                let _ = child.wait();
                return Err(format!(
                    "took more than {} seconds and was stopped",
                    PATIENCE.as_secs()
                ));
            }
            Ok(None) => std::thread::sleep(Duration::from_millis(20)),
        }
    }
}
