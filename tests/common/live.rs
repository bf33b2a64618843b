//! Shared by the tests of `endgas live`: the program as it serves, and plain HTTP over a socket.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::{Ipv4Addr, TcpStream};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// The program serving on a free port, ended when dropped.
pub struct Served {
    pub child: Child,
    pub port: u16,
}

impl Served {
    pub fn start(arguments: &[&str]) -> Self {
        let mut child = Command::new(assert_cmd::cargo::cargo_bin!("endgas"))
            .args(["live", "--no-open"])
            .args(arguments)
            .env_remove("ENDGAS_FUELS")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut said = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut said).unwrap();
        let address = said.trim().strip_prefix("http://127.0.0.1:").and_then(|a| a.strip_suffix('/'));
        let port = address.expect("the address is printed").parse().unwrap();
        Self { child, port }
    }

    pub fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect((Ipv4Addr::LOCALHOST, self.port)).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        stream
    }

    /// What is said to some bytes.
    pub fn exchange(&self, sent: &str) -> Reply {
        let mut stream = self.connect();
        stream.write_all(sent.as_bytes()).unwrap();
        Reply::read(stream)
    }

    /// What is said to a question as JSON.
    pub fn ask(&self, route: &str, what: &serde_json::Value) -> Reply {
        self.send(route, what.to_string().as_bytes())
    }

    /// The same of any bytes.
    pub fn send(&self, route: &str, body: &[u8]) -> Reply {
        let mut stream = self.connect();
        write!(
            stream,
            "POST {route} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Type: application/json\r\nContent-Length: {}\r\n\r\n",
            self.port,
            body.len()
        )
        .unwrap();
        stream.write_all(body).unwrap();
        Reply::read(stream)
    }

    /// The build that the page begins with, as it is sent with every question.
    pub fn build(&self) -> serde_json::Value {
        serde_json::json!({ "text": self.get("/start.json").json()["text"] })
    }

    pub fn get(&self, target: &str) -> Reply {
        self.exchange(&format!("GET {target} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\n\r\n", self.port))
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// An answer.
#[derive(Debug)]
pub struct Reply {
    pub status: u16,
    pub head: String,
    pub body: String,
}

impl Reply {
    pub fn read(mut stream: TcpStream) -> Self {
        let mut text = String::new();
        stream.read_to_string(&mut text).unwrap();
        let (head, body) = text.split_once("\r\n\r\n").expect("an answer has a head");
        let status = head.split(' ').nth(1).unwrap().parse().unwrap();
        Self { status, head: head.to_owned(), body: body.to_owned() }
    }

    /// The body with its chunks put together.
    pub fn whole(&self) -> String {
        if !self.head.to_ascii_lowercase().contains("transfer-encoding: chunked") {
            return self.body.clone();
        }
        let (mut rest, mut whole) = (self.body.as_str(), String::new());
        while let Some((length, after)) = rest.split_once("\r\n") {
            let length = usize::from_str_radix(length.trim(), 16).unwrap();
            whole += &after[..length];
            rest = after[length..].trim_start_matches("\r\n");
        }
        whole
    }

    /// What a streamed answer ends with.
    pub fn done(&self) -> serde_json::Value {
        assert_eq!(self.status, 200, "{}", self.body);
        let whole = self.whole();
        let last = whole.lines().last().expect("it ends with a line");
        let last: serde_json::Value = serde_json::from_str(last).unwrap();
        assert!(last.get("done").is_some(), "{last}");
        last["done"].clone()
    }

    pub fn json(&self) -> serde_json::Value {
        assert_eq!(self.status, 200, "{}", self.body);
        serde_json::from_str(&self.body).unwrap()
    }
}
