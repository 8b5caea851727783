//! Reads the head of a value change dump: the time scale, and which codes stand for the signals sought.
//!
//! *Code*: the short name, of printable characters, that value changes use; one code may stand for
//! several names. *Path*: a signal's name behind those of its scopes, `bench.pickups.crank`. A signal may
//! be asked for by its name, by its path or by the end of its path. A name in several scopes is only
//! taken where one path, one code or one signal of a single bit is left: nothing is guessed.

use super::tokens::Tokens;
use crate::capture::error::quoted;
use crate::capture::time::Step;
use crate::capture::{BATTERY, CaptureError, Names};
use std::collections::HashSet;
use std::io::Read;

/// What the head of a dump says.
#[derive(Debug)]
pub(super) struct Declarations {
    /// What one unit of time is worth.
    pub(super) step: Step,
    /// The crank trigger's code.
    pub(super) crank: Vec<u8>,
    /// The spark clamp's code.
    pub(super) spark: Vec<u8>,
    /// The supply voltage's code.
    pub(super) battery: Option<Vec<u8>>,
    /// Every code declared.
    pub(super) codes: HashSet<Vec<u8>>,
    /// The file ends inside the declarations.
    pub(super) cut: bool,
}

/// A declared signal whose name may be one of those sought.
#[derive(Debug)]
struct Variable {
    path: String,
    code: Vec<u8>,
    kind: Vec<u8>,
    bits: u64,
    line: u64,
}

impl Variable {
    fn is_real(&self) -> bool {
        matches!(self.kind.as_slice(), b"real" | b"realtime" | b"shortreal")
    }
}

/// Reads up to and with `$enddefinitions $end`.
///
/// # Errors
/// A word that does not belong there, a time scale that is none, a signal that is missing, ambiguous or of
/// the wrong shape.
pub(super) fn read<R: Read>(tokens: &mut Tokens<R>, names: &Names) -> Result<Declarations, CaptureError> {
    let mut scopes: Vec<String> = Vec::new();
    let mut step = None;
    let mut codes = HashSet::new();
    let mut variables: Vec<Variable> = Vec::new();
    let sought = [names.crank.as_str(), &names.spark, names.battery.as_deref().unwrap_or(BATTERY)];
    let mut cut = true;
    let mut started = false;
    while let Some(token) = tokens.next()? {
        let (line, ended) = (token.line, token.ended);
        let command = token.text.to_vec();
        if !command.starts_with(b"$") {
            return Err(token.error(if started {
                "a declaration or $enddefinitions"
            } else {
                "a value change dump, which begins with a declaration such as $timescale"
            }));
        }
        if !ended && command != b"$end" {
            break;
        }
        started = true;
        let Some(words) = body(tokens, line)? else { break };
        match command.as_slice() {
            b"$timescale" if step.is_some() => {
                return Err(CaptureError::at(line, "a second $timescale", "one of them"));
            }
            b"$timescale" => step = Some(time_scale(&words, line)?),
            b"$scope" => scopes.push(words.last().map(|name| text(name)).unwrap_or_default()),
            b"$upscope" => {
                scopes.pop();
            }
            b"$var" => {
                let variable = variable(&words, &scopes, line)?;
                codes.insert(variable.code.clone());
                if sought.iter().any(|name| answers(&variable.path, name)) {
                    variables.push(variable);
                }
            }
            b"$enddefinitions" => {
                cut = false;
                break;
            }
            b"$dumpvars" | b"$dumpall" | b"$dumpon" | b"$dumpoff" => {
                return Err(CaptureError::at(line, quoted(&command), "$enddefinitions before it"));
            }
            // Dates, versions, comments, and what other writers add.
            _ => {}
        }
    }
    let line = tokens.line();
    let Some(step) = step else {
        return Err(CaptureError::at(line, end_of(cut), "a $timescale"));
    };
    let level = |name: &str| find(&variables, name, false, cut, line);
    let (crank, spark) = (level(&names.crank)?, level(&names.spark)?);
    let battery = match &names.battery {
        Some(name) => Some(find(&variables, name, true, cut, line)?),
        None if variables.iter().any(|variable| answers(&variable.path, BATTERY)) => {
            Some(find(&variables, BATTERY, true, cut, line)?)
        }
        None => None,
    };
    Ok(Declarations { step, crank, spark, battery, codes, cut })
}

fn end_of(cut: bool) -> String {
    let place = if cut { "the end of the file inside" } else { "the end of" };
    format!("{place} the declarations")
}

/// The words up to `$end`; `None` where the file ends first. A long comment is passed over.
fn body<R: Read>(tokens: &mut Tokens<R>, line: u64) -> Result<Option<Vec<Vec<u8>>>, CaptureError> {
    let mut words = Vec::new();
    while let Some(token) = tokens.next()? {
        if token.text == b"$end" {
            return Ok(Some(words));
        }
        if token.text.contains(&0) {
            return Err(CaptureError::at(line.max(token.line), token.quoted(), "text"));
        }
        if words.len() < 16 {
            words.push(token.text.to_vec());
        }
    }
    Ok(None)
}

fn time_scale(words: &[Vec<u8>], line: u64) -> Result<Step, CaptureError> {
    let joined = words.concat();
    let digits = joined.iter().take_while(|byte| byte.is_ascii_digit()).count();
    let (number, unit) = joined.split_at(digits);
    Step::from_parts(number, unit).ok_or_else(|| {
        let found = format!("a time scale of {}", quoted(&words.join(&b' ')));
        CaptureError::at(line, found, "1, 10 or 100 and one of s, ms, us, ns, ps, fs")
    })
}

fn variable(words: &[Vec<u8>], scopes: &[String], line: u64) -> Result<Variable, CaptureError> {
    let shape = || {
        let found = format!("$var {}", quoted(&words.join(&b' ')));
        CaptureError::at(line, found, "a type, a size in bits, a code and a name")
    };
    let [kind, size, code, name, ..] = words else { return Err(shape()) };
    let bits = std::str::from_utf8(size).ok().and_then(|size| size.parse().ok()).ok_or_else(shape)?;
    // A backslash makes any word a name, and is none of its letters.
    let name = name.strip_prefix(b"\\").unwrap_or(name);
    // A range of bits may be glued to the name: `crank[0:0]`.
    let name = text(name.split(|byte| *byte == b'[').next().filter(|name| !name.is_empty()).unwrap_or(name));
    let path = scopes.iter().cloned().chain([name]).collect::<Vec<_>>().join(".");
    Ok(Variable { path, code: code.clone(), kind: kind.clone(), bits, line })
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// Whether a signal of this path may be meant by this name.
fn answers(path: &str, name: &str) -> bool {
    path.strip_suffix(name).is_some_and(|before| before.is_empty() || before.ends_with('.'))
}

/// The code of the signal of this name.
fn find(
    variables: &[Variable],
    name: &str,
    real: bool,
    cut: bool,
    line: u64,
) -> Result<Vec<u8>, CaptureError> {
    let shape = if real { "a real signal" } else { "a 1-bit signal" };
    let fits = |variable: &&Variable| {
        if real { variable.is_real() } else { variable.bits == 1 && !variable.is_real() }
    };
    let all: Vec<&Variable> = variables.iter().filter(|variable| answers(&variable.path, name)).collect();
    let exact: Vec<&Variable> = all.iter().copied().filter(|variable| variable.path == name).collect();
    let named = if exact.is_empty() { all } else { exact };
    let fitting: Vec<&Variable> = named.iter().copied().filter(fits).collect();
    let quoted_name = quoted(name.as_bytes());
    match (fitting.as_slice(), named.as_slice()) {
        ([first, rest @ ..], _) => match rest.iter().find(|other| other.code != first.code) {
            None => Ok(first.code.clone()),
            Some(second) => {
                let paths = [first, second].map(|variable| quoted(variable.path.as_bytes())).join(" and ");
                let found = format!("{quoted_name} in several scopes ({paths})");
                Err(CaptureError::at(second.line, found, "its full name, with its scopes"))
            }
        },
        ([], [wrong, ..]) => {
            let kind = text(&wrong.kind);
            let found = format!("{quoted_name} as a {} of {} bits", quoted(kind.as_bytes()), wrong.bits);
            Err(CaptureError::at(wrong.line, found, shape))
        }
        ([], []) => {
            let found = format!("{} without {quoted_name}", end_of(cut));
            Err(CaptureError::at(line, found, format!("{shape} of that name")))
        }
    }
}
