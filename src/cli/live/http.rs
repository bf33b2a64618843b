//! Requests read from a socket and answers written to it. Everything is bounded in size and time.

use endgas::live::http::{Answer, MOST_HEAD, Request, Status};
use std::io::{ErrorKind, Read, Write};
use std::net::{Shutdown, TcpStream};
use std::time::{Duration, Instant};

/// Time within which the whole head must have come.
const HEAD_TIME: Duration = Duration::from_secs(5);
/// Time within which an answer must be taken.
const ANSWER_TIME: Duration = Duration::from_secs(5);
/// How long, and how much of, what a client still sends is taken in after an answer, so that it is not reset
/// before it has read the answer.
const LINGER_TIME: Duration = Duration::from_millis(300);
const LINGER_BYTES: usize = 256 * 1024;

/// Sends an answer and closes; a client that is gone is no error.
pub(super) fn send(answer: &Answer, mut stream: TcpStream, head_only: bool) {
    if write(answer, &mut stream, head_only).is_ok() && stream.shutdown(Shutdown::Write).is_ok() {
        linger(&mut stream);
    }
}

/// Sends an answer without waiting for anything, and closes.
pub(super) fn send_at_once(answer: &Answer, mut stream: TcpStream) {
    let _ = stream.set_nonblocking(true).and_then(|()| write(answer, &mut stream, false));
}

fn write(answer: &Answer, stream: &mut TcpStream, head_only: bool) -> std::io::Result<()> {
    stream.set_write_timeout(Some(ANSWER_TIME))?;
    stream.write_all(&answer.bytes(head_only))
}

/// Takes in what a client still sends, within bounds.
fn linger(stream: &mut TcpStream) {
    let end = Instant::now() + LINGER_TIME;
    let (mut taken, mut waste) = (0, [0; 4096]);
    while taken < LINGER_BYTES {
        match read_until(stream, &mut waste, end) {
            Ok(some) if some > 0 => taken += some,
            _ => break,
        }
    }
}

/// Reads once, waiting no longer than to a moment.
fn read_until(stream: &mut TcpStream, into: &mut [u8], end: Instant) -> std::io::Result<usize> {
    let left = end.saturating_duration_since(Instant::now());
    if left.is_zero() {
        return Err(ErrorKind::TimedOut.into());
    }
    stream.set_read_timeout(Some(left))?;
    stream.read(into)
}

/// Reads the head of a request and checks all that does not depend on its path.
///
/// # Errors
/// The answer that refuses it; none when the client is gone.
pub(super) fn read(stream: &mut TcpStream, port: u16) -> Result<Request, Option<Answer>> {
    let end = Instant::now() + HEAD_TIME;
    let refused = |status, why: &str| Some(Answer::refused(status, why));
    let mut head = Vec::with_capacity(1024);
    let mut part = [0; 2048];
    loop {
        match read_until(stream, &mut part, end) {
            Ok(0) => return Err(None),
            Ok(some) => head.extend_from_slice(&part[..some]),
            Err(error) if matches!(error.kind(), ErrorKind::TimedOut | ErrorKind::WouldBlock) => {
                return Err(refused(Status::RequestTimeout, "the request did not come in time"));
            }
            Err(error) if error.kind() == ErrorKind::Interrupted => continue,
            Err(_) => return Err(None),
        }
        if let Some(read) = Request::parse(&head, port).map_err(Some)? {
            return Ok(read);
        }
        if head.len() > MOST_HEAD {
            return Err(refused(Status::HeaderFieldsTooLarge, "the request is too long"));
        }
    }
}
